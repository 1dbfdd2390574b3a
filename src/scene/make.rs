//! The worn shape of each item as the scene has it: built, and thinned with the care that suits it.

use super::shape::model::Model;
use super::shape::{apron, eyewear, glove, gown, masks, overshoe};
use super::thin::{self, thinned};

/// For edges and ties of garments: a pixel and a half in the close views on a screen of 720 lines.
const TRIMS: thin::Care = thin::Care::near(0.0007, 0.960);

/// The worn shape of an item, on the left if it has a side; `None` for one that the scene does not know.
///
/// What is looked at closely keeps more triangles than wide cloth; folds of masks are finer than thinning keeps.
pub(super) fn made_left(model: &str, undone: &[String]) -> Option<Model> {
    let close = |m: Model| thinned(&m, thin::CLOSE);
    let garment = |cloth: Model, trims: Model| {
        let mut m = thinned(&cloth, thin::BODY);
        m.join(&thinned(&trims, TRIMS));
        m
    };
    Some(match model {
        "glove" => close(glove::glove(false)),
        "inner-glove" => close(glove::glove(true)),
        "gown" => garment(gown::cloth(), gown::trims(undone)),
        "apron" => garment(apron::cloth(undone), apron::trims(undone)),
        "goggles" => close(eyewear::goggles(undone)),
        "visor" => close(eyewear::visor(undone)),
        "respirator" => masks::respirator(undone),
        "surgical-mask" => masks::looped(undone),
        "tied-mask" => masks::tied(undone),
        "overshoe" => close(overshoe::overshoe()),
        _ => return None,
    })
}
