//! Bevy only: mannequin, garments, room, lamp, camera, pointing.
