//! Papers as PDF: tagged (PDF/UA-1), for keeping (PDF/A-2a), fonts embedded, the same bytes for the same paper.
//!
//! In: a [`Paper`], whose every word and figure is decided. Out: the file. Whatever a user wrote reaches the
//! templates as data and never as markup. No clock, no file and no network: the templates and the fonts are in
//! the program, and a template can reach nothing else. Papers are printed beside one another; nothing is locked
//! while one is laid out.

mod lettering;
mod world;

use chrono::Datelike;
use estimate::handoff::house_style::{LogoKind, Sheet};
use estimate::handoff::paper::{Kind, Paper, Printed};
use estimate::handoff::unprintable::Unprintable;
use serde_json::json;
use thiserror::Error;
use typst::foundations::{Datetime, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use world::{Files, Press};

/// How many papers ago something must have been of use to be kept at hand.
const KEPT: usize = 4;

/// Why a paper cannot be printed.
#[derive(Debug, Error)]
pub enum PaperFault {
    /// The templates and the paper do not go together, or a picture cannot be read.
    #[error("the paper cannot be laid out: {0}")]
    Layout(String),
    /// The file would not be of the standard.
    #[error("the paper cannot be written: {0}")]
    Standard(String),
}

/// Prints a paper. One whose logo cannot be read is printed without it and says so.
///
/// # Errors
/// It cannot be laid out or written: a defect of this program.
pub fn print(paper: &Paper) -> Result<Printed, PaperFault> {
    let printed = with_logo(paper).or_else(|fault| match &paper.logo {
        None => Err(fault),
        Some(_) => without_logo(paper, &fault),
    });
    comemo::evict(KEPT);
    printed
}

/// The texts of a paper with letters that no font has, for each of which a box would be printed.
pub fn unprintable(paper: &Paper) -> Vec<Unprintable> {
    let mut found = Vec::new();
    lettering::make_printable(&mut paper.content.clone(), &mut Vec::new(), &mut found);
    found
}

fn without_logo(paper: &Paper, fault: &PaperFault) -> Result<Printed, PaperFault> {
    let plain = Paper {
        logo: None,
        ..paper.clone()
    };
    Ok(Printed {
        logo_left_out: Some(fault.to_string()),
        ..with_logo(&plain)?
    })
}

fn with_logo(paper: &Paper) -> Result<Printed, PaperFault> {
    let mut unprintable = Vec::new();
    let document = laid_out(paper, &mut unprintable)?;
    Ok(Printed {
        bytes: written(paper, &document)?,
        logo_left_out: None,
        unprintable,
    })
}

fn laid_out(paper: &Paper, unprintable: &mut Vec<Unprintable>) -> Result<PagedDocument, PaperFault> {
    let look = json!({
        "title": paper.title,
        "lang": paper.language.code(),
        "sheet": match paper.sheet { Sheet::Letter => "us-letter", Sheet::A4 => "a4" },
        "accent": paper.accent,
        "logo": paper.logo.as_ref().map(|logo| match logo.kind {
            LogoKind::Png => world::LOGO_PNG,
            LogoKind::Svg => world::LOGO_SVG,
        }),
        "year": paper.date.year(),
        "month": paper.date.month(),
        "day": paper.date.day(),
    });
    let mut content = paper.content.clone();
    lettering::make_printable(&mut content, &mut Vec::new(), unprintable);
    let data = json!({"look": look, "content": content});
    let press = Press::new(Files {
        main: match paper.kind {
            Kind::Proposal => world::PROPOSAL,
            Kind::JobSheet => world::JOB_SHEET,
            Kind::Proof => world::PROOF,
        },
        data: data.to_string(),
        drawing: lettering::printable(&paper.drawing).0,
        logo: paper.logo.as_ref().map(|logo| logo.bytes.clone()),
    })
    .map_err(|fault| PaperFault::Layout(fault.to_string()))?;
    let made = typst::compile::<PagedDocument>(&press);
    made.output
        .map_err(|faults| PaperFault::Layout(told(faults.iter().map(|fault| fault.message.as_str()))))
}

fn written(paper: &Paper, document: &PagedDocument) -> Result<Vec<u8>, PaperFault> {
    let standards = PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1])
        .map_err(|fault| PaperFault::Standard(fault.message().to_string()))?;
    let day = Datetime::from_ymd_hms(
        paper.date.year(),
        u8::try_from(paper.date.month()).unwrap_or(1),
        u8::try_from(paper.date.day()).unwrap_or(1),
        0,
        0,
        0,
    );
    let options = PdfOptions {
        ident: Smart::Custom(paper.title.clone()),
        creator: Smart::Custom(Some("Tallyrule".to_owned())),
        timestamp: day.map(Timestamp::new_utc),
        standards,
        ..PdfOptions::default()
    };
    typst_pdf::pdf(document, &options)
        .map_err(|faults| PaperFault::Standard(told(faults.iter().map(|fault| fault.message.as_str()))))
}

fn told<'m>(messages: impl Iterator<Item = &'m str>) -> String {
    messages.collect::<Vec<_>>().join("; ")
}
