//! What the crew works from. There is no price in it.

mod facts;
mod rows;

use serde::Serialize;

use super::figure::Reader;
use super::head::Head;
use super::offer::Offer;
use super::paper::{Kind, Paper};
use super::paper_fault::PaperFault;
use super::routes;
use super::survey::{Survey, units};
use super::words::Words;
use crate::quantity::Quantity;
use facts::{Facts, Group};
use rows::{LegRow, Load, TaskSection};

/// The contents of a job sheet.
#[derive(Debug, Serialize)]
struct JobSheet {
    words: &'static Words,
    head: Head,
    stops: Vec<String>,
    groups: Vec<Group>,
    drawing_alt: String,
    line_set: Vec<LegRow>,
    drain: Vec<LegRow>,
    penetrations_title: String,
    penetrations: Vec<[String; 3]>,
    tasks: Vec<TaskSection>,
    hours: Vec<[String; 2]>,
    other_works: Vec<String>,
    permits_and_hires: Vec<String>,
    material: Vec<Load>,
    hints: Vec<String>,
    assumptions: Vec<String>,
    told_answers: Vec<String>,
    usual_answers: Vec<String>,
    not_in_scope: Vec<String>,
    cautions: Vec<String>,
    record: Vec<&'static str>,
    /// The units, where there are several: each has a column of its own to fill in.
    units: Vec<String>,
    as_built: Vec<[String; 2]>,
}

/// Makes the job sheet.
///
/// # Errors
/// The estimate does not read.
pub fn job_sheet(offer: &Offer) -> Result<Paper, PaperFault> {
    let words = offer.words();
    let (tree, reader) = (offer.estimated.tree(), offer.reader());
    let survey = Survey::read(tree)?;
    let drawing = offer.drawing()?;
    let lines = tree["lines"].as_array().map_or(&[][..], Vec::as_slice);
    let content = JobSheet {
        words,
        head: Head::of(offer, &survey),
        stops: rows::cautions(&tree["cautions"], true, offer),
        groups: Facts {
            tree,
            survey: &survey,
            reader,
            words,
        }
        .groups()?,
        drawing_alt: drawing.alt.clone(),
        line_set: rows::legs("L", &survey.line_set.legs, reader)?,
        drain: rows::legs("D", &survey.drain.legs, reader)?,
        penetrations_title: facts::each_of(tree, words.penetrations, words),
        penetrations: rows::penetrations(&survey, reader.language),
        tasks: rows::tasks(lines, words),
        hours: rows::hours(offer),
        other_works: rows::other_works(lines),
        permits_and_hires: rows::permits_and_hires(lines),
        material: rows::material(lines, reader)?,
        hints: rows::hints(lines),
        assumptions: rows::texts(&tree["assumptions"], "wording"),
        told_answers: rows::told_answers(tree, reader)?,
        usual_answers: rows::usual_answers(tree, reader)?,
        not_in_scope: rows::texts(&tree["exclusions"], "text")
            .into_iter()
            .chain(offer.exclusions.iter().cloned())
            .collect(),
        cautions: rows::cautions(&tree["cautions"], false, offer),
        record: record(words),
        units: numbered(units(tree), words),
        as_built: as_built(&survey, reader)?,
    };
    offer.paper(Kind::JobSheet, words.job_sheet, drawing, &content)
}

fn numbered(count: u64, words: &'static Words) -> Vec<String> {
    let all = (1..=count).filter(|_| count > 1);
    all.map(|number| format!("{} {number}", words.unit_of_measure))
        .collect()
}

fn record(words: &'static Words) -> Vec<&'static str> {
    vec![
        words.rec_serials,
        words.rec_nitrogen,
        words.rec_pressure,
        words.rec_vacuum,
        words.rec_leak,
        words.rec_charge,
        words.rec_electric,
        words.rec_pressures,
        words.rec_superheat,
        words.rec_subcooling,
        words.rec_pump_down,
        words.rec_temperatures,
        words.rec_humidity,
        words.rec_drain,
        words.rec_setpoint,
        words.rec_alarm,
        words.rec_photos,
        words.rec_technician,
        words.rec_owner,
    ]
}

fn as_built(survey: &Survey, reader: Reader) -> Result<Vec<[String; 2]>, PaperFault> {
    let words = reader.words();
    let shown = |sum: Option<Quantity>| sum.map(|sum| reader.quantity(&sum)).unwrap_or_default();
    let controller = &survey.controller;
    let mut rows = vec![
        [
            words.line_set.to_owned(),
            shown(routes::total(&survey.line_set.legs)?),
        ],
        [words.drain.to_owned(), shown(routes::total(&survey.drain.legs)?)],
        [
            words.cable_route.to_owned(),
            reader.quantity(&controller.cable_route),
        ],
        [
            words.circuit.to_owned(),
            reader.quantity(&survey.electrical.panel_length),
        ],
    ];
    if let Some(route) = controller.probe.route.filter(|_| controller.probe.wanted) {
        rows.push([
            format!("{}, {}", words.probe, words.lead.to_lowercase()),
            reader.quantity(&route),
        ]);
    }
    Ok(rows)
}
