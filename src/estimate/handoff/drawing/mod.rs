//! The elevation: cellar, ceiling unit in its mounting position, line set and drain to scale, with lengths and
//! heights, as an SVG that reads in black and white.
//!
//! In: an estimate. Out: the same bytes for the same estimate. Coordinates on paper are whole hundredths of a mm.
//! No word of a user stands in it but the figures of the survey.

mod elevation;
mod labels;
mod lettering;
mod sheet;
mod svg;

pub(super) use lettering::width as text_width;
pub(super) use svg::escaped;

use serde_json::Value;

use super::figure;
use super::paper_fault::PaperFault;
use super::survey::Survey;
use super::words::Language;

/// Width of the drawing on paper, mm: it fits both Letter and A4 between their margins.
pub const WIDTH_MM: u32 = 172;

/// A drawing, and what it shows in words for who cannot see it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawing {
    /// The picture.
    pub svg: String,
    /// In words.
    pub alt: String,
}

/// Draws the elevation of an estimate's job.
///
/// # Errors
/// The job does not read, or is beyond what can be drawn.
pub fn draw(estimate: &Value, language: Language) -> Result<Drawing, PaperFault> {
    let survey = Survey::read(estimate)?;
    let elevation = elevation::Elevation::of(estimate, &survey)?;
    let sheet = sheet::lay_out(&elevation, &survey, language)?;
    Ok(Drawing {
        svg: svg::write(&sheet, language),
        alt: in_words(&survey, language),
    })
}

fn in_words(survey: &Survey, language: Language) -> String {
    let words = language.words();
    let legs = |mark: &str, legs: &[super::survey::Leg]| {
        let told = legs.iter().enumerate().map(|(at, leg)| {
            let direction = language.choice(leg.direction).to_lowercase();
            format!("{mark}{} {} {direction}", at + 1, figure::quantity(&leg.length))
        });
        told.collect::<Vec<_>>().join(", ")
    };
    format!(
        "{}. {}: {}. {}: {}. {}: {}. {}: {}.",
        words.drawing,
        words.ceiling_unit,
        language.choice(survey.unit.mounting),
        words.line_set,
        legs("L", &survey.line_set.legs),
        words.drain,
        legs("D", &survey.drain.legs),
        words.condensing_unit,
        language.choice(survey.condenser.location),
    )
}
