//! Dose-response curves.

use crate::model::{Curve, Law, Library};

use super::record::Record;
use super::refer;
use super::substance::basis;

pub(super) fn curves(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let curves = r.list("curves", |d, node| {
        let mut r = d.record(node, "curve");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "curve");
        let label = r.text("label");
        let endpoint = r.text("endpoint");
        let unit = r.text("unit");
        let law = r.value("law", |d, n| {
            let law = d.variant(n, "law", &["Exponential", "BetaPoisson"])?;
            let mut r = law.record();
            Some(if law.name == "Exponential" {
                Law::Exponential {
                    k: r.number("k", 1e-9..=1e12),
                }
            } else {
                Law::BetaPoisson {
                    a: r.number("a", 1e-3..=1e6),
                    n50: r.number("n50", 1e-9..=1e12),
                }
            })
        });
        let basis = basis(&mut r, library);
        Some(Curve {
            id: id.value,
            label,
            endpoint,
            unit,
            law: law?,
            basis,
        })
    });
    for curve in curves {
        refer::put(&mut library.curves, curve, |c| &c.id);
    }
}
