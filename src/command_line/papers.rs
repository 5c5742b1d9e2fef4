//! Papers of a job that is priced from a file: written beside the bill, without a server.

use std::fs;
use std::path::{Path, PathBuf};

use estimate::handoff::house_style::HouseStyle;
use estimate::handoff::measures::Measures;
use estimate::handoff::offer::Offer;
use estimate::handoff::paper::Paper;
use estimate::handoff::purchase_list::{Source, purchase_list};
use estimate::handoff::{charts, job_sheet, proposal, unprintable};
use estimate::quote::estimated::Estimated;
use serde_json::Value;
use tallyrule::desk::{Office, Press, strict_json, unreadable};
use tallyrule::print;

use super::Told;
use super::data::told;

/// How papers are printed: none where this program was built without it.
pub const PRESS: Option<Press> = press();

#[cfg(feature = "documents")]
const fn press() -> Option<Press> {
    Some(Press {
        print: |paper| papers::print(paper).map_err(|fault| fault.to_string()),
        unprintable: papers::unprintable,
    })
}

#[cfg(not(feature = "documents"))]
const fn press() -> Option<Press> {
    None
}

/// The papers that are written.
#[derive(Debug, clap::Args)]
pub struct PaperArgs {
    /// Write the proposal, as PDF, marked as a draft
    #[arg(long, value_name = "FILE")]
    proposal: Option<PathBuf>,
    /// Write the crew's job sheet, as PDF
    #[arg(long, value_name = "FILE")]
    job_sheet: Option<PathBuf>,
    /// Write the elevation, as SVG
    #[arg(long, value_name = "FILE")]
    drawing: Option<PathBuf>,
    /// Write the purchase list: CSV, or a workbook where the name ends in .xlsx
    #[arg(long, value_name = "FILE")]
    purchase_list: Option<PathBuf>,
    /// Write the chart of what the price is made of, as SVG: for the office alone, since costs are in it
    #[arg(long, value_name = "FILE")]
    cost_breakdown: Option<PathBuf>,
    /// Write the chart of what loads the cellar, as SVG
    #[arg(long, value_name = "FILE")]
    cellar_load: Option<PathBuf>,
    /// Print a box for each letter that no font of the papers has, where there would be no paper otherwise
    #[arg(long)]
    replace_unprintable: bool,
    /// House style of the papers, where it is not the office's own: a JSON file, as /v1/house-styles takes it
    #[arg(long, value_name = "FILE")]
    style: Option<PathBuf>,
}

impl PaperArgs {
    /// Writes what is asked for.
    pub fn write(&self, office: &Office, request: &Value, standard: HouseStyle) -> Result<(), Told> {
        let asked = [
            &self.proposal,
            &self.job_sheet,
            &self.drawing,
            &self.purchase_list,
            &self.cost_breakdown,
            &self.cellar_load,
        ];
        let files: Vec<&PathBuf> = asked.into_iter().flatten().collect();
        if files.is_empty() {
            return Ok(());
        }
        each_its_own(&files)?;
        let estimated = office.estimate_job(request, false, |estimate| Estimated::of(estimate));
        let estimated = estimated.map_err(|fault| told(&fault))??;
        let offer = Offer {
            rules: office.rule_sentences(request).map_err(|fault| told(&fault))?,
            ..Offer::of_estimate(
                estimated,
                office.company.clone(),
                self.style(standard)?,
                Measures::of(request),
            )?
        };
        if let Some(file) = &self.proposal {
            write(file, &self.printed(&proposal::proposal(&offer)?)?)?;
        }
        if let Some(file) = &self.job_sheet {
            write(file, &self.printed(&job_sheet::job_sheet(&offer)?)?)?;
        }
        if let Some(file) = &self.drawing {
            write(file, offer.drawing()?.svg.as_bytes())?;
        }
        if let Some(file) = &self.purchase_list {
            write(file, &list(file, office, &offer)?)?;
        }
        if let Some(file) = &self.cost_breakdown {
            let chart = charts::cost_breakdown(&offer.estimated, offer.language())?;
            write(file, chart.as_bytes())?;
        }
        if let Some(file) = &self.cellar_load {
            let chart = charts::cellar_load(offer.estimated.tree(), offer.reader())?;
            write(file, chart.as_bytes())?;
        }
        Ok(())
    }

    fn printed(&self, paper: &Paper) -> Result<Vec<u8>, Told> {
        let press = PRESS.ok_or_else(|| {
            Told("this program was built without documents: build it with the feature `documents`".to_owned())
        })?;
        let printed = (press.print)(paper).map_err(Told)?;
        if !printed.unprintable.is_empty() && !self.replace_unprintable {
            return Err(Told(format!(
                "{}: {}; --replace-unprintable prints a box for each",
                paper.title,
                unprintable::told(&printed.unprintable)
            )));
        }
        for note in printed.notes() {
            eprintln!("{}: {note}", paper.title);
        }
        Ok(printed.bytes)
    }

    fn style(&self, standard: HouseStyle) -> Result<HouseStyle, Told> {
        let Some(file) = &self.style else {
            return Ok(standard);
        };
        let name = file.display();
        let bytes = fs::read(file).map_err(|fault| Told(format!("{name}: {}", unreadable(&fault))))?;
        let tree = strict_json::read(&bytes).map_err(|fault| Told(format!("{name}: {fault}")))?;
        HouseStyle::read(&tree).map_err(|faults| Told(format!("{name}:\n{faults}")))
    }
}

/// Every paper goes into a file of its own: none is written over another, and none among what is printed.
fn each_its_own(files: &[&PathBuf]) -> Result<(), Told> {
    for (at, file) in files.iter().enumerate() {
        let name = file.display();
        if file.as_os_str() == "-" {
            return Err(Told(
                "papers are written into files, since the bill is what is printed: name a file in the place of -".to_owned(),
            ));
        }
        if files.iter().take(at).any(|other| other == file) {
            return Err(Told(format!(
                "{name}: two papers cannot be written into one file"
            )));
        }
    }
    Ok(())
}

fn list(file: &Path, office: &Office, offer: &Offer) -> Result<Vec<u8>, Told> {
    let title = offer.estimated.part("job")["title"].as_str().unwrap_or_default();
    let source = Source {
        name: title,
        estimate: offer.estimated.tree(),
    };
    let list = purchase_list(
        &[source],
        &office.catalogue,
        &office.prices_on(offer.date),
        offer.date,
    )?;
    let language = offer.language();
    let workbook = file
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("xlsx"));
    if workbook {
        return Ok(print::purchase_workbook(&list, language)?);
    }
    Ok(print::purchase_csv(&list, language).into_bytes())
}

fn write(file: &Path, bytes: &[u8]) -> Result<(), Told> {
    let name = file.display();
    fs::write(file, bytes).map_err(|fault| Told(format!("{name}: cannot be written: {fault}")))?;
    eprintln!("wrote {name}");
    Ok(())
}
