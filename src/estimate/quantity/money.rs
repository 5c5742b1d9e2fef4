//! Money: an integer count of a currency's minor unit. One currency per company.

use std::fmt;

use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de, ser::SerializeStruct};
use thiserror::Error;

use super::decimal;
use super::unit::Unit;

/// The most of one amount that a person gives, in minor units: 1,000,000,000.00 where the currency has cents.
pub const GIVEN_MOST: i64 = 100_000_000_000;
/// The most of any amount of an estimate, in minor units: 10,000,000,000.00 where the currency has cents.
pub const ESTIMATE_MOST: i64 = 1_000_000_000_000;

/// Why two amounts cannot be put together, or a text is not an amount.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MoneyFault {
    /// The sum does not fit.
    #[error("the amount is too large")]
    Overflow,
    /// The code is not a currency of ISO 4217 with a minor unit.
    #[error("{0} is not an ISO 4217 currency code")]
    UnknownCurrency(String),
    /// The text is not a decimal with at most the currency's minor digits.
    #[error("the amount {text} {fault}")]
    Amount {
        /// The text that came.
        text: String,
        /// What is wrong with it.
        fault: decimal::DecimalFault,
    },
}

/// ISO 4217 codes whose minor unit is not two digits: `(code, digits)`. Source: ISO 4217 list one,
/// as published 2026-01-01. Codes without a minor unit, of metals, funds and tests, are no currency here.
const OTHER_MINOR_UNITS: &[(&str, u32)] = &[
    ("BHD", 3),
    ("BIF", 0),
    ("CLF", 4),
    ("CLP", 0),
    ("DJF", 0),
    ("GNF", 0),
    ("IQD", 3),
    ("ISK", 0),
    ("JOD", 3),
    ("JPY", 0),
    ("KMF", 0),
    ("KRW", 0),
    ("KWD", 3),
    ("LYD", 3),
    ("OMR", 3),
    ("PYG", 0),
    ("RWF", 0),
    ("TND", 3),
    ("UGX", 0),
    ("UYI", 0),
    ("UYW", 4),
    ("VND", 0),
    ("VUV", 0),
    ("XAF", 0),
    ("XOF", 0),
    ("XPF", 0),
];

/// ISO 4217 codes with two minor digits. Source as above.
const TWO_DIGITS: &str = "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD \
    CAD CDF CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD \
    HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU \
    MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK \
    SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER \
    ZAR ZMW ZWG";

/// A currency of ISO 4217 and the number of digits of its minor unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Currency {
    code: [u8; 3],
    minor_digits: u32,
}

impl Currency {
    /// Looks `code` up in ISO 4217.
    pub fn parse(code: &str) -> Result<Self, MoneyFault> {
        let unknown = || MoneyFault::UnknownCurrency(code.chars().take(12).collect());
        let bytes: [u8; 3] = code.as_bytes().try_into().map_err(|_| unknown())?;
        let minor_digits = OTHER_MINOR_UNITS
            .iter()
            .find(|(other, _)| *other == code)
            .map(|(_, digits)| *digits)
            .or_else(|| TWO_DIGITS.split(' ').any(|two| two == code).then_some(2))
            .ok_or_else(unknown)?;
        Ok(Self {
            code: bytes,
            minor_digits,
        })
    }

    /// The three letters.
    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.code).unwrap_or_default()
    }

    /// Digits of the minor unit: 2 for USD, 0 for JPY, 3 for KWD.
    pub fn minor_digits(&self) -> u32 {
        self.minor_digits
    }

    /// `minor` minor units of this currency.
    pub fn minor(self, minor: i64) -> Money {
        Money {
            minor,
            currency: self,
        }
    }

    /// The most of one amount that a person gives.
    pub fn given_most(self) -> Money {
        self.minor(GIVEN_MOST)
    }

    /// The most of any amount of an estimate.
    pub fn estimate_most(self) -> Money {
        self.minor(ESTIMATE_MOST)
    }

    /// An amount that need not be whole minor units, or a rate such as money a day: its digits, with at least the decimals
    /// of this currency, and its unit with the currency in it.
    pub fn told(self, value: Decimal, unit: Unit) -> (String, String) {
        let mut value = value.normalize();
        if value.scale() < self.minor_digits {
            value.rescale(self.minor_digits);
        }
        let money = Unit::MONEY.symbol();
        (value.to_string(), unit.signs().replace(&money, self.code()))
    }

    /// Reads an amount with at most this currency's decimals.
    pub fn amount(self, text: &str) -> Result<Money, MoneyFault> {
        let fault = |fault| MoneyFault::Amount {
            text: text.chars().take(40).collect(),
            fault,
        };
        let value = decimal::parse(text, self.minor_digits).map_err(fault)?;
        let scaled = value
            .checked_mul(power_of_ten(self.minor_digits))
            .ok_or(MoneyFault::Overflow)?;
        i64::try_from(scaled)
            .map(|minor| self.minor(minor))
            .map_err(|_| MoneyFault::Overflow)
    }
}

pub(crate) fn power_of_ten(digits: u32) -> Decimal {
    Decimal::from(10_i64.pow(digits.min(18)))
}

/// An amount of money: minor units of one currency.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Money {
    minor: i64,
    currency: Currency,
}

impl Money {
    /// The count of minor units.
    pub fn minor(self) -> i64 {
        self.minor
    }

    /// The currency.
    pub fn currency(self) -> Currency {
        self.currency
    }

    /// The amount as a decimal with the currency's own number of decimals.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.minor, self.currency.minor_digits)
    }

    /// The canonical text, e.g. `1234.50`.
    pub fn text(self) -> String {
        self.decimal().to_string()
    }

    /// Whether it is further from nothing than `most`.
    pub fn exceeds(self, most: Money) -> bool {
        self.minor.unsigned_abs() > most.minor.unsigned_abs()
    }

    /// True for an amount of nothing.
    pub fn is_zero(self) -> bool {
        self.minor == 0
    }

    /// The sum, when both are of one currency and it fits.
    pub fn plus(self, other: Self) -> Result<Self, MoneyFault> {
        debug_assert!(self.currency == other.currency, "one currency per company");
        self.minor
            .checked_add(other.minor)
            .map(|minor| self.currency.minor(minor))
            .ok_or(MoneyFault::Overflow)
    }

    /// The difference, when it fits.
    pub fn minus(self, other: Self) -> Result<Self, MoneyFault> {
        debug_assert!(self.currency == other.currency, "one currency per company");
        self.minor
            .checked_sub(other.minor)
            .map(|minor| self.currency.minor(minor))
            .ok_or(MoneyFault::Overflow)
    }

    /// The counts of minor units of `amounts`.
    pub(crate) fn minors(amounts: &[Money]) -> impl Iterator<Item = i64> + Clone {
        amounts.iter().map(|amount| amount.minor)
    }

    /// The sum of `amounts`, starting from nothing in `currency`.
    pub fn sum(currency: Currency, amounts: impl IntoIterator<Item = Money>) -> Result<Self, MoneyFault> {
        amounts.into_iter().try_fold(currency.minor(0), Money::plus)
    }
}

impl fmt::Debug for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.decimal(), self.currency.code())
    }
}

impl Serialize for Money {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut out = serializer.serialize_struct("Money", 2)?;
        out.serialize_field("amount", &self.text())?;
        out.serialize_field("currency", self.currency.code())?;
        out.end()
    }
}

impl<'de> Deserialize<'de> for Money {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Wire {
            amount: String,
            currency: String,
        }
        let wire = Wire::deserialize(deserializer)?;
        Currency::parse(&wire.currency)
            .and_then(|c| c.amount(&wire.amount))
            .map_err(de::Error::custom)
    }
}

impl Serialize for Currency {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code())
    }
}

impl<'de> Deserialize<'de> for Currency {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Currency::parse(&String::deserialize(deserializer)?).map_err(de::Error::custom)
    }
}
