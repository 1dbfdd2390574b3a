//! Shapes made by our own code from signed-distance fields: the person, the kit, the room.

pub mod apron;
pub mod bin;
pub mod body;
pub mod bundle;
pub mod cuff;
pub mod doorway;
pub mod eyewear;
pub mod field;
pub mod figure;
pub mod furniture;
pub mod glove;
pub mod gown;
pub mod hand;
pub mod head;
pub mod masks;
pub mod model;
pub mod nets;
pub mod overshoe;
pub mod person;
pub mod plate;
pub mod ribbon;
pub mod room;
pub mod solid;
pub mod surf;
