//! Who does the work and what an hour of it costs the company.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::quantity::rounding::{Mode, to_scale};

/// A class of labour with its dated rates.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LabourClass {
    /// The company's own code, unique.
    pub code: String,
    /// What the class is called.
    pub title: String,
    /// The cost code of job costing.
    pub cost_code: String,
    /// The tax category of the policy.
    pub tax_category: String,
    /// Dated rates, never overwritten.
    pub rates: Vec<LabourRate>,
}

/// What a year of one person costs, and how much of it is productive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LabourRate {
    /// The first day on which it holds.
    pub valid_from: NaiveDate,
    /// Wage an hour paid.
    #[serde(with = "rust_decimal::serde::str")]
    pub wage: Decimal,
    /// Hours paid a year.
    #[serde(with = "rust_decimal::serde::str")]
    pub paid_hours: Decimal,
    /// What the company pays beside the wage.
    pub burden: Vec<Burden>,
    /// Hours paid in which nobody works on a job.
    pub non_productive: Vec<NonProductive>,
    /// Where the figures come from.
    pub source: String,
}

/// One cost beside the wage, a year.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind", deny_unknown_fields)]
pub enum Burden {
    /// A percentage of the wage paid, or of its first part only.
    Percent {
        /// What it is for.
        name: String,
        /// What group of cost it is of.
        #[serde(default)]
        group: BurdenGroup,
        /// Percent of the wage.
        #[serde(with = "rust_decimal::serde::str")]
        percent: Decimal,
        /// The part of a year's wage that it is counted on, where it has a ceiling.
        #[serde(
            default,
            with = "rust_decimal::serde::str_option",
            skip_serializing_if = "Option::is_none"
        )]
        on_first: Option<Decimal>,
    },
    /// A fixed amount a year.
    Yearly {
        /// What it is for.
        name: String,
        /// What group of cost it is of.
        #[serde(default)]
        group: BurdenGroup,
        /// Amount a year.
        #[serde(with = "rust_decimal::serde::str")]
        amount: Decimal,
    },
}

/// What group of cost a burden is of.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BurdenGroup {
    /// Taxes and contributions on the payroll.
    PayrollTax,
    /// Insurance that is counted on the payroll: workers' compensation, liability.
    Insurance,
    /// What the person gets beside the wage: health plan, retirement.
    Benefits,
    /// Anything else: tools, protective gear, fees.
    #[default]
    Other,
}

/// Paid hours a year in which nobody works on a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NonProductive {
    /// Holiday, vacation, training, shop time.
    pub name: String,
    /// Hours a year.
    #[serde(with = "rust_decimal::serde::str")]
    pub hours: Decimal,
}

/// The loaded cost an hour, with every part that it is made of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LoadedRate {
    /// Wage a year.
    #[serde(with = "rust_decimal::serde::str")]
    pub wage_a_year: Decimal,
    /// Each burden with its amount a year, rounded to the cent.
    pub burden: Vec<BurdenPart>,
    /// Wage and burden together, a year.
    #[serde(with = "rust_decimal::serde::str")]
    pub cost_a_year: Decimal,
    /// Hours a year that are worked on jobs.
    #[serde(with = "rust_decimal::serde::str")]
    pub productive_hours: Decimal,
    /// Cost an hour worked, rounded to the cent.
    #[serde(with = "rust_decimal::serde::str")]
    pub cost_an_hour: Decimal,
}

/// One burden and what it comes to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BurdenPart {
    /// What it is for.
    pub name: String,
    /// Amount a year.
    #[serde(with = "rust_decimal::serde::str")]
    pub amount: Decimal,
}

/// Decimals of a loaded rate: cents, as a worked rate is stated (common practice, no source).
pub(super) const CENTS: u32 = 2;

impl LabourRate {
    /// Works the loaded cost out: (wage + burden) a year over productive hours a year. `None` where no
    /// productive hour is left or a figure does not fit.
    pub fn loaded(&self) -> Option<LoadedRate> {
        let wage_a_year = cents(self.wage.checked_mul(self.paid_hours)?);
        let mut burden = Vec::with_capacity(self.burden.len());
        let mut cost_a_year = wage_a_year;
        for part in &self.burden {
            let (name, amount) = part.a_year(wage_a_year)?;
            cost_a_year = cost_a_year.checked_add(amount)?;
            burden.push(BurdenPart {
                name: name.to_owned(),
                amount,
            });
        }
        let idle = self
            .non_productive
            .iter()
            .try_fold(Decimal::ZERO, |sum, n| sum.checked_add(n.hours))?;
        let productive_hours = self.paid_hours.checked_sub(idle)?;
        if productive_hours <= Decimal::ZERO {
            return None;
        }
        let cost_an_hour = cents(cost_a_year.checked_div(productive_hours)?);
        Some(LoadedRate {
            wage_a_year,
            burden,
            cost_a_year,
            productive_hours,
            cost_an_hour,
        })
    }
}

impl Burden {
    fn a_year(&self, wage: Decimal) -> Option<(&str, Decimal)> {
        match self {
            Self::Percent {
                name,
                percent,
                on_first,
                ..
            } => {
                let base = on_first.map_or(wage, |first| wage.min(first));
                Some((
                    name,
                    cents(base.checked_mul(*percent)?.checked_div(Decimal::ONE_HUNDRED)?),
                ))
            }
            Self::Yearly { name, amount, .. } => Some((name, cents(*amount))),
        }
    }
}

/// Rounded to the cent and written with both digits.
pub(super) fn cents(value: Decimal) -> Decimal {
    let mut cents = to_scale(value, CENTS, Mode::HalfUp);
    cents.rescale(CENTS);
    cents
}

impl LabourClass {
    /// The first day on which it has a rate; none where it never has.
    pub fn first_day(&self) -> Option<NaiveDate> {
        self.rates.iter().map(|rate| rate.valid_from).min()
    }

    /// The rate that holds on `day`: the newest that is not younger.
    pub fn rate_on(&self, day: NaiveDate) -> Option<&LabourRate> {
        self.rates
            .iter()
            .filter(|r| r.valid_from <= day)
            .max_by_key(|r| r.valid_from)
    }
}
