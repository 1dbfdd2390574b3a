//! The built-in model is whole: enough sites, every pair of materials, every number with a basis, every measured
//! basis with a source.

use std::collections::BTreeSet;

use smirch::model::{Class, Effect, Efficiencies, Status};

use crate::fixture::{content, setup};

#[test]
fn a_full_kit_has_at_least_a_hundred_sites_each_with_its_own_id() {
    for scenario in &content().library.scenarios {
        let setup = setup(&scenario.id);
        let ids: BTreeSet<&str> = setup.sites.iter().map(|s| s.id.as_str()).collect();
        assert_eq!(
            ids.len(),
            setup.sites.len(),
            "`{}` has two sites with one id",
            scenario.id
        );
        for site in &setup.sites {
            assert!(
                site.area > 0.0 && site.area.is_finite(),
                "`{}` has area {}",
                site.id,
                site.area
            );
        }
    }
    for full in ["respiratory-room", "double-gloves"] {
        let sites = setup(full).sites.len();
        assert!(
            sites >= 100,
            "`{full}` has {sites} sites; a full kit needs at least 100"
        );
    }
}

#[test]
fn what_others_touch_next_is_marked_and_can_be_reached() {
    let library = &content().library;
    let marked: Vec<&str> = library
        .furniture
        .iter()
        .filter(|f| f.others)
        .map(|f| f.id.as_str())
        .collect();
    assert_eq!(
        marked,
        [
            "door-handle-inside",
            "door-handle-outside",
            "chair",
            "phone",
            "pen",
            "id-badge"
        ],
        "the room marks other pieces as touched next by others"
    );
    for piece in library.furniture.iter().filter(|f| f.others) {
        assert!(
            !piece.at.is_empty(),
            "`{}` is for others to touch but cannot be reached from anywhere, so it can never be soiled here",
            piece.id
        );
    }
}

#[test]
fn the_three_mucosae_can_be_reached_when_nothing_covers_them() {
    let setup = setup("respiratory-room");
    let mucosae: Vec<&str> = setup
        .sites
        .iter()
        .filter(|s| s.mucosa)
        .map(|s| s.id.as_str())
        .collect();
    assert_eq!(mucosae, ["left-eye", "right-eye", "nostrils", "lips"]);
}

#[test]
fn every_pair_of_materials_has_efficiencies_for_every_class_of_organism() {
    let library = &content().library;
    for (word, class) in Class::ALL {
        let table = Efficiencies::new(library, class)
            .unwrap_or_else(|(from, to)| panic!("{word}: no transfer efficiency from `{from}` to `{to}`"));
        for (f, from) in library.materials.iter().enumerate() {
            for (t, to) in library.materials.iter().enumerate() {
                for wet in [true, false] {
                    let law = table.get(f, t, wet, false);
                    let beta = law.sd * law.sd < law.mean * (1.0 - law.mean) || law.sd == 0.0;
                    assert!(
                        law.mean > 0.0 && law.mean < 1.0 && beta,
                        "{word}, {} to {}, wet {wet}: no Beta law has mean {} and SD {}",
                        from.id,
                        to.id,
                        law.mean,
                        law.sd
                    );
                }
            }
        }
    }
}

#[test]
fn every_product_says_what_it_does_to_every_class_of_organism() {
    for product in &content().library.products {
        for (word, class) in Class::ALL {
            assert!(
                product.reductions.iter().any(|r| r.class == class),
                "{}: nothing about {word}",
                product.id
            );
        }
    }
}

/// Every basis that something names, with what names it.
fn named_bases() -> Vec<(String, String)> {
    let library = &content().library;
    let mut named: Vec<(String, String)> = Vec::new();
    let mut name = |what: String, basis: &str| named.push((what, basis.to_owned()));
    library
        .places
        .iter()
        .for_each(|x| name(format!("place {}", x.id), &x.basis));
    library
        .furniture
        .iter()
        .for_each(|x| name(format!("furniture {}", x.id), &x.basis));
    library
        .organisms
        .iter()
        .for_each(|x| name(format!("organism {}", x.id), &x.basis));
    library
        .transfers
        .iter()
        .for_each(|x| name(format!("transfer {:?} to {:?}", x.from, x.to), &x.basis));
    name("slide".to_owned(), &library.slide.1);
    for product in &library.products {
        name(format!("product {}", product.id), &product.basis);
        name(format!("product {}, mixing", product.id), &product.mixing.basis);
        for r in &product.reductions {
            name(format!("product {}, {:?}", product.id, r.class), &r.basis);
        }
    }
    library
        .faults
        .iter()
        .for_each(|x| name(format!("fault {}", x.id), &x.basis));
    for fault in &library.faults {
        if let Effect::Brings { basis, .. } | Effect::Loads { basis, .. } = &fault.effect {
            name(format!("fault {}, effect", fault.id), basis);
        }
    }
    library
        .items
        .iter()
        .for_each(|x| name(format!("item {}", x.id), &x.basis));
    library
        .techniques
        .iter()
        .for_each(|x| name(format!("technique {}", x.id), &x.basis));
    for technique in &library.techniques {
        for feel in &technique.feels {
            name(format!("technique {}, finds", technique.id), &feel.finds_basis);
            if feel.alarms > 0.0 {
                let what = format!("technique {}, false alarms", technique.id);
                name(what, &feel.alarms_basis);
            }
        }
    }
    for sequence in &library.sequences {
        name(format!("sequence {}", sequence.id), &sequence.basis);
        for step in &sequence.steps {
            name(format!("sequence {}, step {}", sequence.id, step.id), &step.basis);
        }
    }
    library
        .scenarios
        .iter()
        .for_each(|x| name(format!("scenario {}", x.id), &x.basis));
    name("manners".to_owned(), &library.manners.basis);
    name("face touches".to_owned(), &library.face_touches.basis);
    name("ways on".to_owned(), &library.ways_on.basis);
    for trainee in &library.trainees {
        for slips in &trainee.dressing {
            name(format!("trainee {}, {:?}", trainee.id, slips.slip), &slips.basis);
        }
    }
    let studies = &library.studies;
    studies
        .counts
        .iter()
        .for_each(|x| name(format!("count {}", x.id), &x.basis));
    studies
        .searched
        .iter()
        .for_each(|x| name(format!("searched {}", x.name), &x.basis));
    if let Some(search) = &studies.search {
        name("search".to_owned(), &search.basis);
    }
    for comparison in &studies.comparisons {
        name(format!("comparison {}", comparison.id), &comparison.basis);
        if let Some(published) = &comparison.published {
            name(
                format!("comparison {}, published", comparison.id),
                &published.basis,
            );
        }
    }
    named
}

#[test]
fn every_constant_names_a_basis_that_exists() {
    let library = &content().library;
    for (what, basis) in named_bases() {
        assert!(
            library.basis(&basis).is_some(),
            "{what} names the basis `{basis}`, which does not exist"
        );
    }
}

#[test]
fn every_measured_basis_has_a_source_that_exists_and_every_basis_says_what_it_is() {
    let library = &content().library;
    for basis in &library.bases {
        assert!(
            !basis.what.is_empty(),
            "basis `{}` does not say what its numbers mean",
            basis.id
        );
        if basis.status == Status::Measured {
            assert!(
                !basis.sources.is_empty(),
                "basis `{}` is called measured but names no source",
                basis.id
            );
        }
        for source in &basis.sources {
            let source = library
                .source(source)
                .unwrap_or_else(|| panic!("basis `{}` names the unknown source `{source}`", basis.id));
            assert!(!source.cite.is_empty(), "source `{}` has no citation", source.id);
        }
        if let Some((low, high)) = basis.range {
            assert!(low <= high, "basis `{}` has the range {low} to {high}", basis.id);
        }
    }
}

#[test]
fn the_means_of_measured_transfer_rows_lie_in_the_range_of_their_basis() {
    let library = &content().library;
    for row in &library.transfers {
        let Some(basis) = library.basis(&row.basis) else {
            continue;
        };
        let Some((low, high)) = basis.range else { continue };
        for (word, law) in [("wet", row.wet), ("dry", row.dry)] {
            assert!(
                (low..=high).contains(&law.mean),
                "transfer {:?} to {:?}: the {word} mean {} is outside {low} to {high}, the range of `{}`",
                row.from,
                row.to,
                law.mean,
                basis.id
            );
        }
    }
}
