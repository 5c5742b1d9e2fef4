//! The unit's own limits of length and climb.

use crate::sizing::finding::Finding;
use crate::sizing::finite::Finite;
use crate::sizing::range::{InputFault, within};

const LIMIT_SOURCE: &str =
    "the unit's data sheet; caution from 80 % of a limit by common practice, no source";
/// A limit is mentioned from this share of it.
const CAUTION_SHARE: f64 = 0.80;

/// How far the unit's maker allows the lines to go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnitLimits {
    /// Longest line, ft.
    pub longest_ft: f64,
    /// Greatest equivalent length, ft, where the data sheet has one.
    pub longest_equivalent_ft: Option<f64>,
    /// Highest that the lines may climb above the evaporator, ft.
    pub highest_above_evaporator_ft: f64,
    /// Highest that the lines may climb above the condensing unit, ft.
    pub highest_above_condenser_ft: f64,
}

/// A measure beside its limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitUse {
    /// The measure, ft.
    pub value_ft: Finite,
    /// The limit, ft.
    pub limit_ft: Finite,
    /// Limit less measure, ft; negative when over.
    pub margin_ft: Finite,
}

/// The route against the unit's limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitUses {
    /// Measured length.
    pub length: LimitUse,
    /// Equivalent length of the suction line, where the data sheet limits it.
    pub equivalent_length: Option<LimitUse>,
    /// Climb from the evaporator to the highest place.
    pub above_evaporator: LimitUse,
    /// Climb from the condensing unit to the highest place.
    pub above_condenser: LimitUse,
}

/// The four measures of a route, ft.
pub(super) struct Measures {
    pub length_ft: f64,
    pub equivalent_ft: f64,
    pub above_evaporator_ft: f64,
    pub above_condenser_ft: f64,
}

impl UnitLimits {
    pub(super) fn compare(
        &self,
        measures: &Measures,
        findings: &mut Vec<Finding>,
    ) -> Result<LimitUses, InputFault> {
        let mut against = |code, what, value_ft, limit_ft| {
            let used = compare_one(value_ft, limit_ft)?;
            findings.extend(tell(code, what, &used));
            Ok::<LimitUse, InputFault>(used)
        };
        Ok(LimitUses {
            length: against(
                "line_set.too_long",
                "Line length",
                measures.length_ft,
                self.longest_ft,
            )?,
            equivalent_length: self
                .longest_equivalent_ft
                .map(|limit_ft| {
                    let what = "Equivalent length of the suction line";
                    against(
                        "line_set.equivalent_too_long",
                        what,
                        measures.equivalent_ft,
                        limit_ft,
                    )
                })
                .transpose()?,
            above_evaporator: against(
                "line_set.too_high_above_evaporator",
                "Climb above the evaporator",
                measures.above_evaporator_ft,
                self.highest_above_evaporator_ft,
            )?,
            above_condenser: against(
                "line_set.too_high_above_condenser",
                "Climb above the condensing unit",
                measures.above_condenser_ft,
                self.highest_above_condenser_ft,
            )?,
        })
    }
}

fn compare_one(value_ft: f64, limit_ft: f64) -> Result<LimitUse, InputFault> {
    within("limit of the unit", limit_ft, (0.0, 10_000.0), "ft")?;
    Ok(LimitUse {
        value_ft: Finite::new(value_ft, "measure of the route")?,
        limit_ft: Finite::new(limit_ft, "limit of the unit")?,
        margin_ft: Finite::new(limit_ft - value_ft, "margin to the unit's limit")?,
    })
}

fn tell(code: &'static str, what: &str, used: &LimitUse) -> Option<Finding> {
    let (value, limit) = (used.value_ft.get(), used.limit_ft.get());
    if value > limit {
        let message = format!(
            "{what} is {value:.1} ft, {:.1} ft over the {limit:.1} ft that the unit allows.",
            value - limit
        );
        return Some(Finding::stop(code, message, LIMIT_SOURCE));
    }
    if value > 0.0 && value >= CAUTION_SHARE * limit {
        let message = format!(
            "{what} is {value:.1} ft, {:.0} % of the {limit:.1} ft that the unit allows.",
            100.0 * value / limit
        );
        return Some(Finding::caution(code, message, LIMIT_SOURCE));
    }
    None
}
