//! How wide a text is in the drawing, to place it where nothing else stands.

/// Height of the letters, hundredths of a mm.
pub const SIZE: i64 = 250;
/// Height of a line of text with its air.
pub const LINE: i64 = 330;

/// Advance of the letters from space to tilde, thousandths of their size, read from the font's own table.
const ADVANCE: [i64; 95] = [
    260, 269, 408, 646, 572, 831, 732, 225, 300, 300, 551, 572, 268, 322, 268, 372, 572, 572, 572, 572, 572,
    572, 572, 572, 572, 572, 268, 268, 572, 572, 572, 434, 899, 639, 650, 632, 730, 556, 519, 728, 741, 339,
    273, 619, 524, 907, 760, 781, 605, 781, 622, 549, 556, 731, 600, 930, 586, 566, 572, 329, 372, 329, 572,
    444, 281, 561, 615, 480, 615, 564, 344, 615, 618, 258, 258, 534, 258, 935, 618, 605, 615, 615, 413, 479,
    361, 618, 508, 786, 529, 510, 470, 380, 551, 380, 572,
];

/// Letters of the fixed words beyond those, and the letter that is as wide.
const AS_WIDE: [(char, char); 11] = [
    ('á', 'a'),
    ('é', 'e'),
    ('í', 'i'),
    ('ó', 'o'),
    ('ú', 'u'),
    ('ü', 'u'),
    ('ñ', 'n'),
    ('²', '-'),
    ('³', '-'),
    ('×', '+'),
    ('°', '-'),
];

/// Advance of every other letter: more than that of any that the fixed words have.
const OTHER: i64 = 800;

/// Width of `text`, hundredths of a mm.
pub fn width(text: &str) -> i64 {
    let advance = |sign: char| {
        let same = AS_WIDE.iter().find(|(one, _)| *one == sign);
        let place = u32::from(same.map_or(sign, |(_, same)| *same)).checked_sub(32);
        let place = place.and_then(|place| usize::try_from(place).ok());
        place
            .and_then(|place| ADVANCE.get(place))
            .copied()
            .unwrap_or(OTHER)
    };
    text.chars().map(advance).sum::<i64>() * SIZE / 1_000
}
