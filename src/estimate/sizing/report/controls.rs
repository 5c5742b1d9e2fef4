//! Question: the controller's cable and the probe's lead.

use super::practice;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step::{self, float};
use super::survey::Survey;
use super::unanswered::Unanswered;
use super::unit_class::Taken;
use crate::quantity::Decimal;
use crate::quantity::unit::Unit;
use crate::sizing::controls::{self, LeadInput, LeadReport, NearMains, Slack, lead};
use crate::sizing::facts::{Row, number, rows};
use crate::sizing::finding::Finding;

const CARD: Card = Card {
    name: "controls",
    title: "Controller and probe",
    method: controls::METHOD,
    source: controls::SOURCE,
    hazard: None,
    unanswered: "controls.not_worked_out",
};

/// What formulas may know of the leads of one unit, ft.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::sizing) struct ControlFigures {
    cable_needed: Decimal,
    cable_included: Decimal,
    extension: Decimal,
    probe_needed: Decimal,
    probe_extension: Decimal,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "controller.cable_needed" Number(Unit::FT), "controller cable along its route",
        |f| number(f.controls.cable_needed);
    "controller.cable_included" Number(Unit::FT), "controller cable that comes with the unit",
        |f| number(f.controls.cable_included);
    "controller.extension" Number(Unit::FT), "controller cable that must be added at least",
        |f| number(f.controls.extension);
    "probe.needed" Number(Unit::FT), "probe lead along its route; 0 without a probe", |f| number(f.controls.probe_needed);
    "probe.extension" Number(Unit::FT), "probe lead that must be added at least", |f| number(f.controls.probe_extension);
};

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>) -> Answer<ControlFigures> {
    answer(&CARD, ControlFigures::default(), |sheet| {
        let controller = &survey.spec.controller;
        let cable_ft = float(taken.equipment.cable_included.0);
        let longest_ft = float(taken.equipment.cable_maximum.0);
        let lead_ft = float(taken.equipment.probe_lead_included.0);
        let probe_ft = controller
            .probe
            .route
            .filter(|_| controller.probe.wanted)
            .unwrap_or_default();
        let cable = lead(&LeadInput {
            what: "controller cable",
            route_ft: float(controller.cable_route.0),
            slack: Slack::AsMeasured,
            included_ft: cable_ft,
            longest_ft: Some(longest_ft),
            near_mains: NearMains::Unknown,
        })?;
        let probe = lead(&LeadInput {
            what: "probe lead",
            route_ft: float(probe_ft.0),
            slack: Slack::AsMeasured,
            included_ft: lead_ft,
            longest_ft: None,
            // It runs inside the cellar, from the controller's side of the wall to the racks.
            near_mains: NearMains::None,
        })?;
        sheet.input(
            "cable_route",
            "controller cable, measured",
            step::LENGTH,
            float(controller.cable_route.0),
        )?;
        sheet.input(
            "cable_longest",
            "longest controller cable",
            step::LENGTH,
            longest_ft,
        )?;
        sheet.input(
            "probe_route",
            "probe lead, measured",
            step::LENGTH,
            float(probe_ft.0),
        )?;
        sheet.input(
            "probe_included",
            "probe lead that comes with the unit",
            step::LENGTH,
            lead_ft,
        )?;
        for report in [&cable, &probe] {
            sheet.findings.extend(report.findings.iter().cloned());
        }
        tell_slack(&cable, sheet);
        let needed_ft = cable.needed_ft.get();
        sheet.margin(
            "controller cable",
            (Side::AtMost, step::LENGTH),
            needed_ft,
            longest_ft,
        )?;
        sheet.note("Lengths are as measured, drops in them; slack is not added.");
        figures(&cable, &probe)
    })
}

/// An included cable that just reaches leaves nothing for the ends.
fn tell_slack(cable: &LeadReport, sheet: &mut Sheet) {
    let (needed_ft, spare_ft) = (cable.needed_ft.get(), cable.margin_ft.get());
    let (share, each_end_ft) = practice::CABLE_SLACK;
    let usual_ft = needed_ft * share + 2.0 * each_end_ft;
    if needed_ft > 0.0 && spare_ft >= 0.0 && spare_ft < usual_ft {
        let message = format!(
            "The included controller cable leaves {spare_ft:.1} ft over the measured route; {usual_ft:.1} ft for slack and the \
             ends is usual. Measure again before it is relied on."
        );
        sheet.findings.push(Finding::caution(
            "controls.little_slack",
            message,
            controls::SOURCE,
        ));
    }
}

fn figures(cable: &LeadReport, probe: &LeadReport) -> Result<ControlFigures, Unanswered> {
    Ok(ControlFigures {
        cable_needed: step::LENGTH.decimal(cable.needed_ft.get())?,
        cable_included: step::LENGTH.decimal(cable.included_ft.get())?,
        extension: step::LENGTH.decimal(cable.extension_ft.get())?,
        probe_needed: step::LENGTH.decimal(probe.needed_ft.get())?,
        probe_extension: step::LENGTH.decimal(probe.extension_ft.get())?,
    })
}
