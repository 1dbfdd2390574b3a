//! The building of one scenario, and from where what is in it can be reached.

use super::{Building, Fixture, Furniture, Library, Scenario, Whereabouts};

impl Building {
    /// The building of a scenario: what it says itself, else what is usual, and with that whatever the sequences that it
    /// can be judged by say theirs has. None where the room says nothing of buildings: then all stands where it can.
    pub fn of(library: &Library, scenario: &Scenario) -> Option<Building> {
        let usual = library.building.as_ref()?;
        let own = &scenario.building;
        let mut building = Building {
            basins: own.basins.clone().unwrap_or_else(|| usual.basins.clone()),
            dispensers: own.dispensers.clone().unwrap_or_else(|| usual.dispensers.clone()),
            taps: own.taps.unwrap_or(usual.taps),
            pumps: own.pumps.unwrap_or(usual.pumps),
            ..usual.clone()
        };
        let sequences = std::iter::once(&scenario.sequence).chain(&scenario.also);
        for theirs in sequences
            .filter_map(|id| library.sequence(id))
            .map(|s| &s.building)
        {
            building.basins.extend(theirs.basins.iter().flatten());
            building.dispensers.extend(theirs.dispensers.iter().flatten());
        }
        for places in [&mut building.basins, &mut building.dispensers] {
            places.sort_unstable();
            places.dedup();
        }
        Some(building)
    }

    /// From where a piece of furniture can be reached in this building.
    pub fn reach(&self, piece: &Furniture) -> Vec<Whereabouts> {
        let among = match piece.fixture {
            None => return piece.at.clone(),
            Some(Fixture::Basin | Fixture::Tap | Fixture::Soap) => &self.basins,
            Some(Fixture::Rub) => &self.dispensers,
        };
        piece.at.iter().copied().filter(|at| among.contains(at)).collect()
    }
}
