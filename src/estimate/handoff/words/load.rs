//! The parts of a cellar's load in Spanish; in English sizing itself names them.

/// English, Spanish.
const PARTS: [(&str, &str); 12] = [
    ("walls", "paredes"),
    ("doors", "puertas"),
    ("glazing", "acristalamiento"),
    ("ceiling", "techo"),
    ("floor", "suelo"),
    ("infiltration", "aire que entra"),
    ("doorway", "aire por la puerta"),
    ("lights", "luces"),
    ("people", "personas"),
    ("fans", "ventiladores"),
    ("bottles coming in", "botellas que entran"),
    ("first fill", "primer llenado"),
];

/// The Spanish of a part.
pub fn spanish(english: &str) -> Option<&'static str> {
    let found = PARTS.iter().find(|(known, _)| *known == english);
    found.map(|(_, spanish)| *spanish)
}
