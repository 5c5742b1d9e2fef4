//! Exact ratios of whole numbers, for the sizes of units.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{Signed, ToPrimitive, Zero};
use rust_decimal::Decimal;

/// Places kept of a value that does not end (1 ft in yards).
pub(crate) const ENDLESS_PLACES: u32 = 10;
/// The most places that a Decimal holds.
const MAX_PLACES: u32 = 28;

/// A ratio of two whole numbers in lowest terms, the denominator above zero.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Ratio {
    num: BigInt,
    den: BigInt,
}

impl Ratio {
    pub(crate) fn one() -> Self {
        Self::new(1.into(), 1.into())
    }

    /// `den` is never zero: it comes from tables of constants or from a number that is not zero.
    pub(crate) fn new(num: BigInt, den: BigInt) -> Self {
        let gcd = num.gcd(&den);
        if gcd.is_zero() {
            return Self {
                num: 0.into(),
                den: 1.into(),
            };
        }
        let (num, den) = (num / &gcd, den / &gcd);
        if den.is_negative() {
            Self { num: -num, den: -den }
        } else {
            Self { num, den }
        }
    }

    pub(crate) fn of_decimal(value: Decimal) -> Self {
        Self::new(value.mantissa().into(), BigInt::from(10).pow(value.scale()))
    }

    pub(crate) fn times(&self, other: &Self) -> Self {
        Self::new(&self.num * &other.num, &self.den * &other.den)
    }

    /// `self / other`; `other` is a unit's size and never zero.
    pub(crate) fn over(&self, other: &Self) -> Self {
        Self::new(&self.num * &other.den, &self.den * &other.num)
    }

    pub(crate) fn plus(&self, other: &Self) -> Self {
        Self::new(
            &self.num * &other.den + &other.num * &self.den,
            &self.den * &other.den,
        )
    }

    pub(crate) fn minus(&self, other: &Self) -> Self {
        Self::new(
            &self.num * &other.den - &other.num * &self.den,
            &self.den * &other.den,
        )
    }

    pub(crate) fn power(&self, power: i8) -> Self {
        let up = u32::from(power.unsigned_abs());
        let (num, den) = (self.num.pow(up), self.den.pow(up));
        if power < 0 {
            Self::new(den, num)
        } else {
            Self::new(num, den)
        }
    }

    /// Numerator and denominator, when both fit a Decimal.
    pub(crate) fn parts(&self) -> Option<(Decimal, Decimal)> {
        let fit = |n: &BigInt| Decimal::try_from_i128_with_scale(n.to_i128()?, 0).ok();
        Some((fit(&self.num)?, fit(&self.den)?))
    }

    /// The exact value, when it ends and a Decimal holds all of its digits.
    pub(crate) fn exact_decimal(&self) -> Option<Decimal> {
        let (mut rest, mut twos, mut fives) = (self.den.clone(), 0_u32, 0_u32);
        for (prime, count) in [(2, &mut twos), (5, &mut fives)] {
            let prime = BigInt::from(prime);
            while *count <= MAX_PLACES {
                let (quotient, left) = rest.div_rem(&prime);
                if !left.is_zero() {
                    break;
                }
                rest = quotient;
                *count += 1;
            }
        }
        let places = twos.max(fives);
        if rest != BigInt::from(1) || places > MAX_PLACES {
            return None;
        }
        let mantissa = &self.num * BigInt::from(10).pow(places) / &self.den;
        Decimal::try_from_i128_with_scale(mantissa.to_i128()?, places)
            .ok()
            .map(|d| d.normalize())
    }

    /// The value rounded half away from zero to `places`; nothing when it is too large for a Decimal.
    pub(crate) fn rounded_decimal(&self, places: u32) -> Option<Decimal> {
        let scaled = &self.num.abs() * BigInt::from(10).pow(places);
        let (mut mantissa, left) = scaled.div_rem(&self.den);
        if left * 2 >= self.den {
            mantissa += 1;
        }
        if self.num.is_negative() {
            mantissa = -mantissa;
        }
        Decimal::try_from_i128_with_scale(mantissa.to_i128()?, places)
            .ok()
            .map(|d| d.normalize())
    }

    /// The value with as many places as a Decimal can hold.
    pub(crate) fn nearest_decimal(&self) -> Option<Decimal> {
        self.exact_decimal().or_else(|| {
            (0..=MAX_PLACES)
                .rev()
                .find_map(|places| self.rounded_decimal(places))
        })
    }
}
