//! How well a colour reads on white paper: relative luminance and contrast ratio of W3C, Web Content Accessibility
//! Guidelines (WCAG) 2.2, "Terms", in whole numbers.

/// 1 in the numbers here.
const ONE: u128 = 100_000;
/// Least contrast of text on its ground, hundredths: WCAG 2.2, success criterion 1.4.3, level AA.
pub const LEAST_FOR_TEXT: u32 = 450;

/// Contrast of a colour on white, hundredths: 2100 is black, 100 is white.
pub fn on_white(red: u8, green: u8, blue: u8) -> u32 {
    let [red, green, blue] = [red, green, blue].map(linear);
    let luminance = (2_126 * red + 7_152 * green + 722 * blue) / 10_000;
    let ratio = 105 * ONE / (luminance + ONE / 20);
    u32::try_from(ratio).unwrap_or(u32::MAX)
}

/// A channel without its gamma: under 0.04045 of the whole a 12.92th, else ((c + 0.055) / 1.055) to the power of 2.4.
fn linear(channel: u8) -> u128 {
    let channel = u128::from(channel);
    if channel <= 10 {
        return channel * ONE * 100 / (255 * 1_292);
    }
    let (over, under) = (1_000 * channel + 14_025, 1_055 * 255);
    // The power of 2.4 is the square times the fifth root of the square.
    let square = (over * over, under * under);
    square.0 * fifth_root(square) / square.1
}

/// The greatest whole number whose fifth power is no more than that of the fifth root, in parts of [`ONE`].
fn fifth_root((over, under): (u128, u128)) -> u128 {
    let wanted = over * ONE.pow(5);
    let (mut least, mut most) = (0, ONE + 1);
    while least + 1 < most {
        let middle = least.midpoint(most);
        if middle.pow(5) * under <= wanted {
            least = middle;
        } else {
            most = middle;
        }
    }
    least
}
