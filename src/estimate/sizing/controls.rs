//! Control cable and probe lead: what the route needs, what comes with the unit, what must be added.

use super::finding::Finding;
use super::finite::Finite;
use super::range::{InputFault, within};

/// How the lengths are worked out.
pub const METHOD: &str =
    "length needed = route with its slack; extension = what the included length does not cover";

/// Where the lengths come from.
pub const SOURCE: &str = "common practice, no source; included and longest length from the unit's data sheet";

const SEPARATION_SOURCE: &str = "NEC 725.136, read second-hand; 2 in from open power wiring, from memory";
const USE_SOURCE: &str = "the unit's data sheet; caution from 80 % of a limit by common practice, no source";

/// Least distance between a control cable and open power wiring, in (from memory).
pub const LEAST_SEPARATION_IN: f64 = 2.0;
/// A longest length is mentioned from this share of it.
const CAUTION_SHARE: f64 = 0.80;

/// What is added to a measured route.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Slack {
    /// Nothing: the measured length holds it already.
    AsMeasured,
    /// A share of the route and a length at each end; usual are 10 % and 2 ft.
    Added {
        /// Share of the route.
        share: f64,
        /// At each of the two ends, ft.
        each_end_ft: f64,
    },
}

impl Slack {
    /// A tenth of the route and 2 ft at each end (common practice, no source).
    pub const USUAL: Slack = Slack::Added {
        share: 0.10,
        each_end_ft: 2.0,
    };

    fn length_ft(self, route_ft: f64) -> Result<f64, InputFault> {
        match self {
            Slack::AsMeasured => Ok(route_ft),
            Slack::Added { share, each_end_ft } => {
                within("slack as a share of the route", share, (0.0, 1.0), "")?;
                within("slack at each end", each_end_ft, (0.0, 50.0), "ft")?;
                Ok(route_ft * (1.0 + share) + 2.0 * each_end_ft)
            }
        }
    }
}

/// How a control cable runs beside power wiring.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NearMains {
    /// No power wiring along the route.
    None,
    /// In the same raceway, box or cable as power conductors.
    SharedRaceway,
    /// Beside open power wiring at this distance, in.
    Beside {
        /// Least distance, in.
        distance_in: f64,
    },
    /// Not surveyed.
    Unknown,
}

/// One lead: a control cable or the lead of a probe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeadInput {
    /// What it is, as a person reads it: "controller cable".
    pub what: &'static str,
    /// Measured route, ft.
    pub route_ft: f64,
    /// What is added to the route.
    pub slack: Slack,
    /// Length that comes with the unit, ft.
    pub included_ft: f64,
    /// Longest that the maker allows with extensions, ft; none where the data sheet is silent.
    pub longest_ft: Option<f64>,
    /// Power wiring along the route.
    pub near_mains: NearMains,
}

/// What one lead needs.
#[derive(Clone, Debug, PartialEq)]
pub struct LeadReport {
    /// Length needed with its slack, ft.
    pub needed_ft: Finite,
    /// Length that comes with the unit, ft.
    pub included_ft: Finite,
    /// Length that must be added at least, ft; zero where the included length does.
    pub extension_ft: Finite,
    /// Included less needed, ft; negative where an extension is needed.
    pub margin_ft: Finite,
    /// Longest allowed less needed, ft.
    pub longest_margin_ft: Option<Finite>,
    /// Cautions and stops.
    pub findings: Vec<Finding>,
    /// How it was worked out.
    pub method: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

/// Why a lead could not be worked out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{what}: {fault}")]
pub struct LeadFault {
    /// Which lead.
    pub what: &'static str,
    /// What is wrong.
    pub fault: InputFault,
}

/// Works out a control cable or a probe's lead.
///
/// # Errors
/// [`LeadFault`] for lengths under zero or over 2,000 ft, or slack out of reason.
pub fn lead(input: &LeadInput) -> Result<LeadReport, LeadFault> {
    work(input).map_err(|fault| LeadFault {
        what: input.what,
        fault,
    })
}

fn work(input: &LeadInput) -> Result<LeadReport, InputFault> {
    within("route", input.route_ft, (0.0, 2_000.0), "ft")?;
    within("included length", input.included_ft, (0.0, 2_000.0), "ft")?;
    let needed_ft = if input.route_ft > 0.0 {
        input.slack.length_ft(input.route_ft)?
    } else {
        0.0
    };
    let mut findings = Vec::new();
    let longest_margin_ft = input
        .longest_ft
        .map(|longest_ft| against_longest(input.what, needed_ft, longest_ft, &mut findings))
        .transpose()?;
    separation(input, &mut findings)?;
    Ok(LeadReport {
        needed_ft: Finite::new(needed_ft, "length needed")?,
        included_ft: Finite::new(input.included_ft, "length included")?,
        extension_ft: Finite::new((needed_ft - input.included_ft).max(0.0), "extension")?,
        margin_ft: Finite::new(input.included_ft - needed_ft, "margin of the included length")?,
        longest_margin_ft,
        findings,
        method: METHOD,
        source: SOURCE,
    })
}

fn against_longest(
    what: &str,
    needed_ft: f64,
    longest_ft: f64,
    findings: &mut Vec<Finding>,
) -> Result<Finite, InputFault> {
    within("longest length", longest_ft, (0.0, 10_000.0), "ft")?;
    if needed_ft > longest_ft {
        let message = format!(
            "The {what} needs {needed_ft:.1} ft, {:.1} ft over the {longest_ft:.1} ft that the maker allows.",
            needed_ft - longest_ft
        );
        findings.push(Finding::stop("controls.too_long", message, USE_SOURCE));
    } else if needed_ft > 0.0 && needed_ft >= CAUTION_SHARE * longest_ft {
        let message = format!(
            "The {what} needs {needed_ft:.1} ft, {:.0} % of the {longest_ft:.1} ft that the maker allows.",
            100.0 * needed_ft / longest_ft
        );
        findings.push(Finding::caution("controls.too_long", message, USE_SOURCE));
    }
    Ok(Finite::new(
        longest_ft - needed_ft,
        "margin to the longest length",
    )?)
}

fn separation(input: &LeadInput, findings: &mut Vec<Finding>) -> Result<(), InputFault> {
    let what = input.what;
    match input.near_mains {
        NearMains::None => {}
        NearMains::SharedRaceway => findings.push(Finding::stop(
            "controls.shares_raceway",
            format!("The {what} shares a raceway, box or cable with power conductors: give it a way of its own or a barrier."),
            SEPARATION_SOURCE,
        )),
        NearMains::Beside { distance_in } => {
            within("distance from power wiring", distance_in, (0.0, 1_000.0), "in")?;
            if distance_in < LEAST_SEPARATION_IN {
                findings.push(Finding::caution(
                    "controls.too_near_power",
                    format!(
                        "The {what} runs {distance_in:.1} in from power wiring, {:.1} in nearer than {LEAST_SEPARATION_IN:.0} in; cross it at a right angle.",
                        LEAST_SEPARATION_IN - distance_in
                    ),
                    SEPARATION_SOURCE,
                ));
            }
        }
        NearMains::Unknown if input.route_ft > 0.0 => findings.push(Finding::caution(
            "controls.separation_unknown",
            format!(
                "Keep the {what} {LEAST_SEPARATION_IN:.0} in from power wiring and out of its raceways; the route was not surveyed for it."
            ),
            SEPARATION_SOURCE,
        )),
        NearMains::Unknown => {}
    }
    Ok(())
}
