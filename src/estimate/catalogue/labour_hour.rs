//! The loaded cost of an hour, explained part by part: wage, what is paid beside it, and hours that nobody works.

use rust_decimal::Decimal;
use serde::Serialize;

use super::labour::{Burden, BurdenGroup, CENTS, LabourRate, cents};
use crate::quantity::decimal::plain;
use crate::quantity::rounding::{Mode, share_out_minor, to_scale};

/// What an hour that is worked on a job costs, and of what.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LabourHour {
    /// The parts; their hourly amounts add up to the cost of an hour.
    pub parts: Vec<HourPart>,
    /// Each group of parts with what it adds to an hour.
    pub groups: Vec<HourGroup>,
    /// Cost of an hour worked, to the cent.
    #[serde(with = "rust_decimal::serde::str")]
    pub cost_an_hour: Decimal,
}

/// One part of an hour's cost.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HourPart {
    /// What kind of cost it is.
    pub group: CostGroup,
    /// What it is for.
    pub name: String,
    /// How it is reckoned, in words and figures.
    pub reckoning: String,
    /// Amount a year; for hours that nobody works, what of the year's cost falls on them.
    #[serde(with = "rust_decimal::serde::str")]
    pub a_year: Decimal,
    /// What it adds to an hour worked; rounded so that the parts add up.
    #[serde(with = "rust_decimal::serde::str")]
    pub an_hour: Decimal,
}

/// A group of parts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HourGroup {
    /// The group.
    pub group: CostGroup,
    /// What it adds to an hour worked.
    #[serde(with = "rust_decimal::serde::str")]
    pub an_hour: Decimal,
}

/// What kind of cost a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CostGroup {
    /// The wage.
    Wage,
    /// Taxes and contributions on the payroll.
    PayrollTax,
    /// Insurance that is counted on the payroll.
    Insurance,
    /// What the person gets beside the wage.
    Benefits,
    /// Anything else that is paid beside the wage.
    Other,
    /// Hours that are paid and not worked on a job.
    NonProductive,
}

impl From<BurdenGroup> for CostGroup {
    fn from(group: BurdenGroup) -> Self {
        match group {
            BurdenGroup::PayrollTax => Self::PayrollTax,
            BurdenGroup::Insurance => Self::Insurance,
            BurdenGroup::Benefits => Self::Benefits,
            BurdenGroup::Other => Self::Other,
        }
    }
}

impl LabourRate {
    /// Explains the loaded cost. Wage and burden count by the hour paid; what the hours that nobody works have cost is
    /// spread over those that are worked. By algebra: with cost C, paid hours P and idle hours I a year, C ÷ P for each
    /// hour and C × I ÷ P ÷ (P − I) for the idle ones make C ÷ (P − I). `None` where [`LabourRate::loaded`] is, or
    /// where a figure does not fit.
    pub fn hour(&self) -> Option<LabourHour> {
        let loaded = self.loaded()?;
        let mut parts = vec![(
            CostGroup::Wage,
            "Wage".to_owned(),
            format!(
                "{} an hour for {} hours paid",
                plain(self.wage),
                plain(self.paid_hours)
            ),
            loaded.wage_a_year,
            loaded.wage_a_year.checked_mul(loaded.productive_hours)?,
        )];
        for (burden, part) in self.burden.iter().zip(&loaded.burden) {
            let weight = part.amount.checked_mul(loaded.productive_hours)?;
            let (group, reckoning) = burden.reckoning(loaded.wage_a_year);
            parts.push((group, part.name.clone(), reckoning, part.amount, weight));
        }
        for idle in &self.non_productive {
            let weight = loaded.cost_a_year.checked_mul(idle.hours)?;
            let a_year = cents(weight.checked_div(self.paid_hours)?);
            let reckoning = format!(
                "{} of {} hours paid, at the cost of the year, over {} hours worked",
                plain(idle.hours),
                plain(self.paid_hours),
                plain(loaded.productive_hours)
            );
            parts.push((
                CostGroup::NonProductive,
                idle.name.clone(),
                reckoning,
                a_year,
                weight,
            ));
        }
        let weights: Option<Vec<i64>> = parts.iter().map(|part| in_cents(part.4)).collect();
        let hours = share_out_minor(in_cents(loaded.cost_an_hour)?, weights?).ok()?;
        let parts: Vec<HourPart> = parts
            .into_iter()
            .zip(hours)
            .map(|((group, name, reckoning, a_year, _), an_hour)| HourPart {
                group,
                name,
                reckoning,
                a_year,
                an_hour: Decimal::new(an_hour, CENTS),
            })
            .collect();
        Some(LabourHour {
            groups: groups(&parts)?,
            parts,
            cost_an_hour: loaded.cost_an_hour,
        })
    }
}

impl Burden {
    fn reckoning(&self, wage: Decimal) -> (CostGroup, String) {
        match self {
            Self::Percent {
                group,
                percent,
                on_first: Some(first),
                ..
            } if *first < wage => {
                let reckoning = format!("{} % of the first {} of the wage", plain(*percent), plain(*first));
                ((*group).into(), reckoning)
            }
            Self::Percent { group, percent, .. } => (
                (*group).into(),
                format!("{} % of the wage of {}", plain(*percent), plain(wage)),
            ),
            Self::Yearly { group, amount, .. } => ((*group).into(), format!("{} a year", plain(*amount))),
        }
    }
}

/// Hundredths, as a whole number.
fn in_cents(value: Decimal) -> Option<i64> {
    let hundred = to_scale(value, CENTS, Mode::HalfUp).checked_mul(Decimal::ONE_HUNDRED)?;
    i64::try_from(hundred).ok()
}

/// What each group adds up to, in the order in which groups first occur.
fn groups(parts: &[HourPart]) -> Option<Vec<HourGroup>> {
    let mut groups: Vec<HourGroup> = Vec::new();
    for part in parts {
        match groups.iter_mut().find(|known| known.group == part.group) {
            Some(known) => known.an_hour = known.an_hour.checked_add(part.an_hour)?,
            None => groups.push(HourGroup {
                group: part.group,
                an_hour: part.an_hour,
            }),
        }
    }
    Some(groups)
}
