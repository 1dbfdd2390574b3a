//! Where on a drawn outline of the body a place lies.

/// Place, front or back, across for the left side, down. A leading `@` stands for either side.
const PLACES: [(&str, bool, f32, f32); 30] = [
    ("@fingertips", true, 0.200, 0.545),
    ("@thumb", true, 0.158, 0.505),
    ("@finger-pads", true, 0.192, 0.525),
    ("@palm", true, 0.182, 0.500),
    ("@back-of-hand", false, 0.184, 0.510),
    ("@wrist", true, 0.172, 0.468),
    ("@eye", true, 0.017, 0.058),
    ("nostrils", true, 0.000, 0.078),
    ("lips", true, 0.000, 0.095),
    ("@cheek", true, 0.029, 0.080),
    ("forehead", true, 0.000, 0.035),
    ("chin", true, 0.000, 0.114),
    ("@ear", true, 0.048, 0.070),
    ("hair-top", true, 0.000, 0.008),
    ("hair-back", false, 0.000, 0.060),
    ("neck-front", true, 0.000, 0.140),
    ("neck-back", false, 0.000, 0.138),
    ("@shoulder", true, 0.100, 0.185),
    ("@upper-arm", true, 0.128, 0.265),
    ("@forearm", true, 0.155, 0.400),
    ("chest", true, 0.000, 0.230),
    ("abdomen", true, 0.000, 0.370),
    ("upper-back", false, 0.000, 0.230),
    ("lower-back", false, 0.000, 0.370),
    ("@thigh", true, 0.050, 0.580),
    ("@lower-leg", true, 0.048, 0.790),
    ("@shoe-upper", true, 0.050, 0.955),
    ("@shoe-sole", true, 0.050, 0.985),
    ("@shoe", true, 0.050, 0.960),
    ("hair", true, 0.000, 0.010),
];

/// Where a place lies: true on the front view, across with the left side positive, and down, as shares of the height.
pub fn place_on_body(place: &str) -> Option<(bool, f32, f32)> {
    let (side, bare) = match (place.strip_prefix("left-"), place.strip_prefix("right-")) {
        (Some(bare), _) => (1.0, bare),
        (_, Some(bare)) => (-1.0, bare),
        _ => (1.0, place),
    };
    PLACES
        .iter()
        .find(|(id, ..)| id.strip_prefix('@').map_or(*id == place, |id| id == bare))
        .map(|&(_, front, x, y)| (front, x * side, y))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_of_the_body_has_a_position() {
        let content = crate::content::Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        for place in &content.library.places {
            let (_, x, y) =
                place_on_body(&place.id).unwrap_or_else(|| panic!("{} is nowhere on the outline", place.id));
            assert!(
                (-0.25..=0.25).contains(&x) && (0.0..=1.0).contains(&y),
                "{}",
                place.id
            );
        }
    }
}
