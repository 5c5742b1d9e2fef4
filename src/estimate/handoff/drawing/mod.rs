//! The elevation: cellar, ceiling unit in its mounting position, line set and drain to scale, with lengths and
//! heights, as an SVG that reads in black and white.
//!
//! In: an estimate. Out: the same bytes for the same estimate. Coordinates on paper are whole hundredths of a mm.
//! No word of a user stands in it but the figures of the survey.

mod columns;
mod elevation;
pub mod labels;
mod lettering;
pub mod plane;
mod scale;
mod settle;
mod sheet;
mod spots;
mod svg;
mod wanted;

pub(super) use lettering::width as text_width;

use serde_json::Value;

use super::figure::Reader;
use super::paper_fault::PaperFault;
use super::survey::Survey;
use labels::Label;

/// Width of the drawing on paper, mm: it fits both Letter and A4 between their margins.
pub const WIDTH_MM: u32 = 172;

/// A drawing, and what it shows in words for who cannot see it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawing {
    /// The picture.
    pub svg: String,
    /// In words.
    pub alt: String,
    /// Where its labels stand and what each one names, in hundredths of a mm; numbers where it has a key.
    pub labels: Vec<Label>,
}

/// Draws the elevation of an estimate's job.
///
/// # Errors
/// The job does not read, or is beyond what can be drawn.
pub fn draw(estimate: &Value, reader: Reader) -> Result<Drawing, PaperFault> {
    let survey = Survey::read(estimate)?;
    let elevation = elevation::Elevation::of(estimate, &survey)?;
    let sheet = sheet::lay_out(&elevation, &survey, reader)?;
    Ok(Drawing {
        svg: svg::write(&sheet, reader.language),
        alt: in_words(&survey, elevation.units, reader),
        labels: sheet.labels,
    })
}

fn in_words(survey: &Survey, units: u64, reader: Reader) -> String {
    let (language, words) = (reader.language, reader.words());
    let legs = |mark: &str, legs: &[super::survey::Leg]| {
        let told = legs.iter().enumerate().map(|(at, leg)| {
            let direction = language.choice(leg.direction).to_lowercase();
            format!("{mark}{} {} {direction}", at + 1, reader.quantity(&leg.length))
        });
        told.collect::<Vec<_>>().join(", ")
    };
    format!(
        "{}. {}: {}. {}: {}. {}: {}. {}: {}.",
        words.drawing,
        wanted::counted(units, words.ceiling_unit),
        language.choice(survey.unit.mounting),
        words.line_set,
        legs("L", &survey.line_set.legs),
        words.drain,
        legs("D", &survey.drain.legs),
        wanted::counted(units, words.condensing_unit),
        language.choice(survey.condenser.location),
    )
}
