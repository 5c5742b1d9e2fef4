//! Figures as a person writes them: grouped digits, units of the trade, ratios in percent.

use estimate::handoff::figure::grouped;
use estimate::quantity::rounding::{Mode, to_scale};
use estimate::quantity::unit::Unit;
use estimate::quantity::{Currency, Decimal, Money, Quantity, decimal};

/// Decimals of a quantity on paper; the JSON has them all.
const SHOWN_SCALE: u32 = 2;

/// A number with at most two decimals.
pub fn digits(value: Decimal) -> String {
    grouped(&decimal::plain(to_scale(value, SHOWN_SCALE, Mode::HalfUp)))
}

/// A number with at most two decimals, in its unit; pieces and plain numbers have none.
pub fn in_unit(value: Decimal, unit: Unit) -> String {
    with_unit(digits(value), unit)
}

/// Hours of a class, each with two decimals; the JSON has them all.
pub fn hours(value: Decimal) -> String {
    let mut shown = to_scale(value, SHOWN_SCALE, Mode::HalfUp);
    shown.rescale(SHOWN_SCALE);
    grouped(&shown.to_string())
}

/// A quantity with all its decimals.
pub fn quantity(quantity: &Quantity) -> String {
    with_unit(grouped(&decimal::plain(quantity.value)), quantity.unit)
}

/// An amount without its currency, which stands over the table.
pub fn money(amount: Money) -> String {
    grouped(&amount.text())
}

/// An amount that was not yet rounded to money, with at least the decimals of its currency.
pub fn amount(value: Decimal, unit: Unit, currency: Currency) -> String {
    let (digits, unit) = currency.told(value, unit);
    format!("{} {unit}", grouped(&digits))
}

/// A fraction in percent: `0.0172` as `1.72 %`.
pub fn percent(fraction: Decimal) -> String {
    let percent = fraction.checked_mul(Decimal::ONE_HUNDRED);
    percent
        .map(|percent| format!("{} %", decimal::plain(percent)))
        .unwrap_or_default()
}

/// Digits and the unit as a person writes it: degrees have their sign, pieces and plain numbers no unit.
pub fn with_unit(digits: String, unit: Unit) -> String {
    if unit == Unit::EACH || unit == Unit::ONE {
        return digits;
    }
    let unit = unit.to_string();
    let unit = ["F_diff", "degF"]
        .iter()
        .fold(unit, |unit, name| unit.replace(name, "°F"));
    format!("{digits} {}", unit.replace("degC", "°C"))
}
