//! Numbers as suppliers write them, read by a strict grammar under the signs that the mapping names.

use std::borrow::Cow;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::cell::{Cell, is_blank};
use crate::quantity::decimal::{self, DecimalFault, UNIT_PRICE_SCALE};
use crate::quantity::rounding::{Mode, to_scale};

/// How the list writes numbers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct NumberSigns {
    /// In front of the decimals.
    pub decimal: DecimalSign,
    /// Between groups of three digits; a number without groups is read as well.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thousands: Option<ThousandsSign>,
    /// A sign or word that may stand before or behind a price, such as `$`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub currency_sign: Option<String>,
}

impl Default for NumberSigns {
    fn default() -> Self {
        Self {
            decimal: DecimalSign::Point,
            thousands: None,
            currency_sign: None,
        }
    }
}

/// The sign in front of the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DecimalSign {
    /// `12.50`
    Point,
    /// `12,50`
    Comma,
}

/// The sign between groups of three digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ThousandsSign {
    /// `1.234`
    Point,
    /// `1,234`
    Comma,
    /// `1 234`, with a common, hard or narrow space.
    Space,
    /// `1'234`
    Apostrophe,
}

impl DecimalSign {
    fn sign(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }
}

impl ThousandsSign {
    fn is(self, letter: char) -> bool {
        match self {
            Self::Point => letter == '.',
            Self::Comma => letter == ',',
            Self::Space => matches!(letter, ' ' | '\u{a0}' | '\u{202f}'),
            Self::Apostrophe => matches!(letter, '\'' | '\u{2019}'),
        }
    }
}

impl NumberSigns {
    /// Whether the two signs can be told apart.
    pub(super) fn can_be_told_apart(&self) -> bool {
        !matches!(
            (self.decimal, self.thousands),
            (DecimalSign::Point, Some(ThousandsSign::Point))
                | (DecimalSign::Comma, Some(ThousandsSign::Comma))
        )
    }

    /// Reads a cell as a decimal with at most six decimals; text by these signs, a number by its digits.
    ///
    /// # Errors
    /// The cell holds no such number. An empty cell is a fault of grammar too.
    pub fn read(&self, cell: &Cell<'_>) -> Result<Decimal, DecimalFault> {
        match cell {
            Cell::Number { digits, .. } => decimal::parse(digits, UNIT_PRICE_SCALE),
            Cell::Text(text) => self.read_text(text),
            Cell::Empty | Cell::Date(_) | Cell::Other(_) => Err(DecimalFault::Grammar),
        }
    }

    fn read_text(&self, text: &str) -> Result<Decimal, DecimalFault> {
        let text = self.without_currency(text.trim_matches(is_blank));
        let (minus, digits) = match text.strip_prefix('-') {
            Some(digits) => ("-", digits),
            None => ("", text),
        };
        let (whole, fraction) = match digits.split_once(self.decimal.sign()) {
            Some((whole, fraction)) => (whole, Some(fraction)),
            None => (digits, None),
        };
        let whole = self.without_groups(whole).ok_or(DecimalFault::Grammar)?;
        let plain = match fraction {
            // A second sign, of either kind, is refused here: decimals are digits only.
            Some(fraction) if fraction.bytes().all(|byte| byte.is_ascii_digit()) => {
                format!("{minus}{whole}.{fraction}")
            }
            Some(_) => return Err(DecimalFault::Grammar),
            None => format!("{minus}{whole}"),
        };
        decimal::parse(&plain, UNIT_PRICE_SCALE)
    }

    fn without_currency<'a>(&self, text: &'a str) -> &'a str {
        let Some(sign) = self.currency_sign.as_deref().filter(|sign| !sign.is_empty()) else {
            return text;
        };
        text.strip_prefix(sign)
            .or_else(|| text.strip_suffix(sign))
            .map_or(text, |rest| rest.trim_matches(is_blank))
    }

    /// The digits of a whole number; `None` when the groups are not of three.
    fn without_groups(&self, whole: &str) -> Option<String> {
        let Some(sign) = self
            .thousands
            .filter(|sign| whole.contains(|letter| sign.is(letter)))
        else {
            return whole
                .bytes()
                .all(|byte| byte.is_ascii_digit())
                .then(|| whole.to_owned());
        };
        let mut digits = String::with_capacity(whole.len());
        for (place, group) in whole.split(|letter| sign.is(letter)).enumerate() {
            let fits = if place == 0 {
                (1..=3).contains(&group.len())
            } else {
                group.len() == 3
            };
            if !fits || !group.bytes().all(|byte| byte.is_ascii_digit()) {
                return None;
            }
            digits.push_str(group);
        }
        Some(digits)
    }
}

/// The cell of a number that a workbook keeps in binary: `shortest` is the shortest decimal text that reads back to
/// the same binary number, without an exponent. More than six decimals are rounded to six, half away from zero, and
/// the cell says from what.
pub fn binary_cell(shortest: &str) -> Cell<'static> {
    let decimals = shortest.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let kept = if decimals <= UNIT_PRICE_SCALE as usize {
        Some((shortest.to_owned(), None))
    } else {
        let exact = shortest.parse::<Decimal>().ok();
        exact.map(|exact| {
            let rounded = to_scale(exact, UNIT_PRICE_SCALE, Mode::HalfUp);
            (decimal::plain(rounded), Some(Cow::Owned(shortest.to_owned())))
        })
    };
    match kept {
        Some((digits, rounded_from)) => Cell::Number {
            digits: digits.into(),
            rounded_from,
        },
        None => Cell::Other(shortest.to_owned().into()),
    }
}
