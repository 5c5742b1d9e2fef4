//! Where a curve crosses zero between two places on either side of it.

/// Steps after which a search ends; the curves of this room need about eight.
const MOST_STEPS: usize = 200;

/// The place between `low` and `high` where `height` changes its sign, to `step`. Regula falsi in the Illinois form:
/// an end that stays twice counts half. Where both ends are on one side, the end that is nearer to zero.
pub(super) fn crossing(mut low: f64, mut high: f64, step: f64, height: impl Fn(f64) -> f64) -> f64 {
    if high - low <= step {
        return f64::midpoint(low, high);
    }
    let (mut at_low, mut at_high) = (height(low), height(high));
    if at_low * at_high > 0.0 {
        return if at_low.abs() < at_high.abs() { low } else { high };
    }
    let mut moved_low = None;
    for _ in 0..MOST_STEPS {
        let place = low + at_low / (at_low - at_high) * (high - low);
        let here = height(place);
        if here == 0.0 {
            return place;
        }
        if here * at_low > 0.0 {
            (low, at_low) = (place, here);
            if moved_low == Some(true) {
                at_high /= 2.0;
            }
            moved_low = Some(true);
        } else {
            (high, at_high) = (place, here);
            if moved_low == Some(false) {
                at_low /= 2.0;
            }
            moved_low = Some(false);
        }
        if high - low <= step {
            break;
        }
    }
    f64::midpoint(low, high)
}
