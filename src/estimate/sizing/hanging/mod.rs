//! Hanging the unit: its weight in service, what each screw carries and may carry, the blocking.
//!
//! In: weights, bracket, screws, framing. Out: one report. It checks the screws' pull-out only; that
//! the joists and the ceiling bear the weight is for an engineer where there is any doubt.

pub mod blocking;
pub mod screw;

use self::blocking::{Blocking, BracketPattern, Joists, blocking};
use self::screw::{Screw, WITHDRAWAL_SOURCE, Withdrawal};
use super::finding::Finding;
use super::finite::{Finite, NotFinite};
use super::range::{InputFault, within};

/// How the hanging is worked out.
pub const METHOD: &str = "weight in service × handling factor, shared by rigid-body statics with the centre of gravity \
     off the middle; lag-screw withdrawal 1,800 G^1.5 D^0.75 × thread × factors";

/// Caution to print with every hanging.
pub const HAZARD: &str = "Overhead load: lift with two persons or a rated lift, nobody below. Ladders and attics: footing on \
     framing only. Old ceilings: sample for asbestos and lead before cutting. Never cut a truss or an I-joist. Any doubt \
     about the framing goes to an engineer; local code governs.";

const LOAD_SOURCE: &str = "common practice, no source: operating weight × 2 for handling";
const FRAMING_SOURCE: &str = "common practice, no source: framing of a ceiling alone may be made for 10 lb/ft² (from memory); \
     over 75 lb, or in any doubt, an engineer decides";
const LIFT_SOURCE: &str = "common practice, no source: two persons or a lift from 50 lb overhead";
const OLD_SOURCE: &str = "EPA lead-safe rule for housing before 1978; old textured ceilings and plaster before about 1980 are \
     sampled for asbestos";

/// What is told of a ceiling that may hold asbestos or lead.
pub const OLD_CEILING: &str = "hanging.old_ceiling";

/// A load is mentioned from this share of what the screws may hold.
const CAUTION_SHARE: f64 = 0.80;
const TWO_PERSONS_FROM_LB: f64 = 50.0;
const ENGINEER_FROM_LB: f64 = 75.0;
const OLD_BEFORE_YEAR: u16 = 1980;

/// What the ceiling is framed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Framing {
    /// Joists under a floor.
    FloorJoists,
    /// Joists that carry a ceiling and nothing else.
    CeilingJoists,
    /// Trusses.
    Trusses,
    /// I-joists.
    IJoists,
    /// Concrete: no lag screws.
    Concrete,
    /// Not known.
    Unknown,
}

/// All that the hanging depends on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HangingInput {
    /// Weight of the unit, lb.
    pub unit_lb: f64,
    /// Weight of the bracket or rods, lb.
    pub bracket_lb: f64,
    /// Weight of the water that the pan may hold, lb.
    pub water_lb: f64,
    /// Weight of grille, frame and trim, lb.
    pub trim_lb: f64,
    /// Factor on the weight in service: 2 for handling is usual, or the safety factor that the bracket's
    /// maker asks for where it is greater.
    pub handling_factor: f64,
    /// Centre of gravity off the bracket's middle along the unit: a share of the half length.
    pub off_centre_along: f64,
    /// The same across the unit.
    pub off_centre_across: f64,
    /// The bracket.
    pub pattern: BracketPattern,
    /// The screws.
    pub screw: Screw,
    /// Framing of the ceiling.
    pub framing: Framing,
    /// The joists.
    pub joists: Joists,
    /// Screws at each end of a block; 4 to 6 are usual.
    pub screws_per_block_end: u32,
    /// Year in which the house was built; none where not known.
    pub built_year: Option<u16>,
    /// Nobody knows that year: it was assumed.
    pub year_assumed: bool,
}

/// The hanging.
#[derive(Clone, Debug, PartialEq)]
pub struct HangingReport {
    /// Weight in service, lb.
    pub service_lb: Finite,
    /// Weight for which the screws are taken: in service with the handling factor, lb.
    pub design_lb: Finite,
    /// Load on the worst hang point, lb.
    pub worst_point_lb: Finite,
    /// Load on the worst screw, lb.
    pub worst_screw_lb: Finite,
    /// What a screw may hold.
    pub withdrawal: Withdrawal,
    /// What a screw may hold less what the worst one carries, lb.
    pub margin_lb: Finite,
    /// What the worst screw carries over what it may hold.
    pub used: Finite,
    /// What the worst screw may hold over what it carries in service, without the factor.
    pub safety_factor: Finite,
    /// Thread in the wood that the worst screw needs at least, in.
    pub thread_needed_in: Finite,
    /// Screws of the bracket.
    pub bracket_screws: u32,
    /// Screws of the blocking.
    pub blocking_screws: u32,
    /// Blocking; none in concrete.
    pub blocking: Option<Blocking>,
    /// Persons to lift it.
    pub persons_to_lift: u32,
    /// Cautions and stops.
    pub findings: Vec<Finding>,
    /// How it was worked out.
    pub method: &'static str,
    /// Where the figures come from.
    pub source: &'static str,
    /// Caution to print.
    pub hazard: &'static str,
}

/// Why the hanging could not be worked out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error(transparent)]
pub struct HangingFault(#[from] InputFault);

impl From<NotFinite> for HangingFault {
    fn from(fault: NotFinite) -> Self {
        HangingFault(InputFault::NotFinite(fault))
    }
}

/// Works out how a unit hangs.
///
/// # Errors
/// [`HangingFault`] for an input outside the method's range.
pub fn hang(input: &HangingInput) -> Result<HangingReport, HangingFault> {
    check(input)?;
    let service_lb = input.unit_lb + input.bracket_lb + input.water_lb + input.trim_lb;
    let design_lb = service_lb * input.handling_factor;
    let pattern = &input.pattern;
    let uneven = 1.0
        + end_share(pattern.along, input.off_centre_along)?
        + end_share(pattern.across, input.off_centre_across)?;
    let point_lb = design_lb / f64::from(pattern.points()) * uneven;
    let screw_lb = point_lb / f64::from(pattern.screws_per_point);
    let withdrawal = input.screw.withdrawal()?;
    let blocking = match input.framing {
        Framing::Concrete => None,
        _ => Some(blocking(&input.joists, pattern, input.screw.diameter_in)?),
    };
    let pieces = blocking.map_or(0, |blocking| blocking.pieces);
    let mut report = HangingReport {
        service_lb: Finite::new(service_lb, "weight in service")?,
        design_lb: Finite::new(design_lb, "design weight")?,
        worst_point_lb: Finite::new(point_lb, "load on a hang point")?,
        worst_screw_lb: Finite::new(screw_lb, "load on a screw")?,
        margin_lb: Finite::new(withdrawal.holds_lb.get() - screw_lb, "margin of a screw")?,
        used: Finite::new(screw_lb / withdrawal.holds_lb.get(), "use of a screw")?,
        safety_factor: Finite::new(
            withdrawal.holds_lb.get() * input.handling_factor / screw_lb,
            "safety factor of a screw",
        )?,
        thread_needed_in: Finite::new(screw_lb / withdrawal.adjusted_lb_per_in.get(), "thread needed")?,
        withdrawal,
        bracket_screws: pattern.screws(),
        blocking_screws: pieces
            .saturating_mul(2)
            .saturating_mul(input.screws_per_block_end),
        blocking,
        persons_to_lift: if service_lb > TWO_PERSONS_FROM_LB { 2 } else { 1 },
        findings: Vec::new(),
        method: METHOD,
        source: WITHDRAWAL_SOURCE,
        hazard: HAZARD,
    };
    report.findings = tell(input, &report);
    Ok(report)
}

fn check(input: &HangingInput) -> Result<(), InputFault> {
    within("weight of the unit", input.unit_lb, (1.0, 2_000.0), "lb")?;
    within("weight of the bracket", input.bracket_lb, (0.0, 500.0), "lb")?;
    within("weight of the water", input.water_lb, (0.0, 500.0), "lb")?;
    within("weight of the trim", input.trim_lb, (0.0, 500.0), "lb")?;
    within("handling factor", input.handling_factor, (1.0, 10.0), "")?;
    within(
        "centre of gravity along the unit",
        input.off_centre_along,
        (0.0, 1.0),
        "of the half length",
    )?;
    within(
        "centre of gravity across the unit",
        input.off_centre_across,
        (0.0, 1.0),
        "of the half width",
    )?;
    within(
        "screws at a block's end",
        f64::from(input.screws_per_block_end),
        (1.0, 20.0),
        "screws",
    )?;
    within("thread in the wood", input.screw.thread_in, (0.1, 12.0), "in")?;
    input.pattern.check()
}

/// Extra share of the end points of `count` equal, equally spaced supports of a rigid body whose
/// weight acts at `off` of the half length: 3 (count − 1) / (count + 1) × off.
fn end_share(count: u32, off: f64) -> Result<f64, InputFault> {
    if count > 1 {
        return Ok(3.0 * f64::from(count - 1) / f64::from(count + 1) * off);
    }
    if off == 0.0 {
        return Ok(0.0);
    }
    Err(InputFault::Unusable {
        field: "bracket",
        why: "one line of points cannot hold a weight beside it",
    })
}

fn tell(input: &HangingInput, report: &HangingReport) -> Vec<Finding> {
    let mut findings = Vec::new();
    tell_screws(input, report, &mut findings);
    tell_framing(input, report, &mut findings);
    if report
        .blocking
        .is_some_and(|blocking| blocking.needed && !blocking.set_out)
    {
        findings.push(Finding::caution(
            "hanging.not_set_out",
            "The place of the hangers against the joists is not known: blocking is taken at every hanger."
                .to_owned(),
            blocking::BLOCKING_SOURCE,
        ));
    }
    if report.persons_to_lift > 1 {
        findings.push(Finding::caution(
            "hanging.two_persons",
            format!(
                "{:.0} lb go overhead: two persons or a rated lift.",
                report.service_lb.get()
            ),
            LIFT_SOURCE,
        ));
    }
    if input.built_year.is_none_or(|year| year < OLD_BEFORE_YEAR) {
        let message = match input.built_year {
            Some(year) if input.year_assumed => format!(
                "Nobody knows when the house was built; {year} is assumed: sample the ceiling for asbestos and lead before \
                 it is cut."
            ),
            Some(year) => {
                format!("The house is of {year}: sample the ceiling for asbestos and lead before it is cut.")
            }
            None => "The age of the ceiling is not known: take it as old, and sample it before it is cut."
                .to_owned(),
        };
        findings.push(Finding::caution(OLD_CEILING, message, OLD_SOURCE));
    }
    findings
}

fn tell_screws(input: &HangingInput, report: &HangingReport, findings: &mut Vec<Finding>) {
    if input.framing == Framing::Concrete {
        return;
    }
    let (carries, holds) = (report.worst_screw_lb.get(), report.withdrawal.holds_lb.get());
    if carries > holds {
        findings.push(Finding::stop(
            "hanging.screws_pull_out",
            format!(
                "The worst screw carries {carries:.0} lb, {:.0} lb over the {holds:.0} lb it may hold; {:.2} in of thread would do.",
                carries - holds,
                report.thread_needed_in.get()
            ),
            WITHDRAWAL_SOURCE,
        ));
    } else if carries >= CAUTION_SHARE * holds {
        findings.push(Finding::caution(
            "hanging.screws_near_limit",
            format!(
                "The worst screw carries {carries:.0} lb of the {holds:.0} lb it may hold ({LOAD_SOURCE})."
            ),
            WITHDRAWAL_SOURCE,
        ));
    }
}

fn tell_framing(input: &HangingInput, report: &HangingReport, findings: &mut Vec<Finding>) {
    let service_lb = report.service_lb.get();
    let message = match input.framing {
        Framing::FloorJoists => return,
        Framing::CeilingJoists if service_lb <= ENGINEER_FROM_LB => return,
        Framing::CeilingJoists => format!(
            "{service_lb:.0} lb hang from joists that carry a ceiling alone, {:.0} lb over {ENGINEER_FROM_LB:.0} lb: an engineer decides.",
            service_lb - ENGINEER_FROM_LB
        ),
        Framing::Trusses => {
            "The unit hangs from trusses: hang points only as the truss maker or an engineer allows, nothing cut.".to_owned()
        }
        Framing::IJoists => {
            "The unit hangs from I-joists: web blocking as their maker shows, flanges neither cut nor drilled; an engineer decides."
                .to_owned()
        }
        Framing::Concrete => {
            "The ceiling is concrete: anchors by their listing and an engineer; the lag-screw figures do not apply.".to_owned()
        }
        Framing::Unknown => "The framing above the ceiling is not known: open and look before it is hung.".to_owned(),
    };
    findings.push(Finding::caution("hanging.framing", message, FRAMING_SOURCE));
}
