//! A house style on trial: one page with its letterhead, its colour and its wording, printed before the style is saved.

use serde_json::json;

use super::house_style::HouseStyle;
use super::paper::{Kind, Paper, Picture};
use super::paper_fault::PaperFault;
use crate::catalogue::Company;

/// Makes the page, dated `date`.
///
/// # Errors
/// The logo is not base 64.
pub fn proof(style: &HouseStyle, company: &Company, date: chrono::NaiveDate) -> Result<Paper, PaperFault> {
    let words = style.language.words();
    let wording = &style.wording;
    let content = json!({
        "words": words,
        "head": {
            "company": company.name,
            "company_address": company.address,
            "company_reach": [company.telephone, company.mail],
            "licences": company.licences,
            "logo_alt": style.logo.as_ref().map(|logo| &logo.alt),
            "name": words.draft,
        },
        "introduction": wording.introduction,
        "warranty": wording.warranty,
        "terms": wording.terms,
        "acceptance": wording.acceptance,
        "cautions": style.cautions.iter().map(|own| &own.text).collect::<Vec<_>>(),
    });
    Ok(Paper {
        kind: Kind::Proof,
        title: words.proposal.to_owned(),
        language: style.language,
        date,
        sheet: style.paper,
        accent: style.accent.as_str().to_owned(),
        logo: Picture::of(style)?,
        drawing: String::new(),
        content,
    })
}
