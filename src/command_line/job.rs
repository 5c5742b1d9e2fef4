//! Pricing and sizing a job from a file, without a server.

use std::fs;
use std::io::{self, Read};
use std::path::Path;
use std::sync::Arc;

use estimate::handoff::house_style::HouseStyle;
use estimate::handoff::ledger::LedgerSettings;
use serde_json::Value;
use tallyrule::config::DataArgs;
use tallyrule::desk::{Desk, Office, STANDARD_STYLE, strict_json, unreadable};
use tallyrule::print;
use tallyrule::store::Location;

use super::data::told;
use super::papers::PaperArgs;
use super::{Told, data};

/// How a result is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Format {
    /// For a person.
    Table,
    /// As over REST.
    Json,
}

/// What stands for standard input.
const STANDARD_INPUT: &str = "-";

/// Which job, on which data, printed how.
#[derive(Debug, clap::Args)]
pub struct JobArgs {
    /// The estimate request: a JSON file with the job spec in it, or - for standard input
    job: std::path::PathBuf,
    /// How the result is printed
    #[arg(long, value_enum, default_value = "table")]
    format: Format,
    /// Folder of seed data to work with, instead of a database
    #[arg(long, value_name = "DIR", conflicts_with_all = ["data", "database_url"])]
    seed: Option<std::path::PathBuf>,
    #[command(flatten)]
    data: DataArgs,
}

/// Prices the job, and writes the papers of it that are asked for.
pub fn price(args: &JobArgs, explain: bool, papers: &PaperArgs) -> Result<String, Told> {
    let (request, office, style) = opened(args)?;
    papers.write(&office, &request, style)?;
    let shown = office.estimate_job(&request, explain, |estimate| match args.format {
        Format::Table => Ok(print::estimate(estimate, explain)),
        Format::Json => serde_json::to_string_pretty(estimate).map(|text| text + "\n"),
    });
    Ok(shown.map_err(|fault| told(&fault))??)
}

/// Sizes the job.
pub fn size(args: &JobArgs) -> Result<String, Told> {
    let (request, office, _) = opened(args)?;
    let shown = office.size_job(&request, |sized| match args.format {
        Format::Table => Ok(print::sized_job(sized)),
        Format::Json => serde_json::to_string_pretty(sized).map(|text| text + "\n"),
    });
    Ok(shown.map_err(|fault| told(&fault))??)
}

/// The request, the office that prices it, and how that office's papers look.
fn opened(args: &JobArgs) -> Result<(Value, Arc<Office>, HouseStyle), Told> {
    let (file, bytes) = if args.job == Path::new(STANDARD_INPUT) {
        let mut bytes = Vec::new();
        let read = io::stdin().lock().read_to_end(&mut bytes);
        ("standard input".to_owned(), read.map(|_| bytes))
    } else {
        (args.job.display().to_string(), fs::read(&args.job))
    };
    let bytes = bytes.map_err(|fault| Told(format!("{file}: {}", unreadable(&fault))))?;
    let request = strict_json::read(&bytes).map_err(|fault| {
        Told(format!(
            "{file}:{}:{}: {}",
            fault.line, fault.column, fault.message
        ))
    })?;
    let (office, style) = office(args.seed.as_deref(), &args.data)?;
    Ok((request, office, style))
}

/// Where an office comes from.
enum Source {
    Folder(std::path::PathBuf),
    Database(Location),
}

/// The folder of seed data that is named, or else the database; where there is neither, the demonstration.
fn source(seed: Option<&Path>, data: &DataArgs) -> Result<Source, Told> {
    if let Some(seed) = seed {
        return Ok(Source::Folder(seed.to_owned()));
    }
    let location = data.location()?;
    let demonstration = Path::new(data::DEMONSTRATION);
    if location.exists() {
        Ok(Source::Database(location))
    } else if data.is_usual() && demonstration.is_dir() {
        eprintln!(
            "there is no data file {location} yet: working with the demonstration in {}",
            data::DEMONSTRATION
        );
        Ok(Source::Folder(demonstration.to_owned()))
    } else {
        Err(Told(format!(
            "there is no data file {location}: make one with `tallyrule seed DIR`, or name a folder with --seed DIR"
        )))
    }
}

fn of_database(location: Location) -> Result<(Arc<Office>, HouseStyle), Told> {
    let desk = Desk::new(data::open(&location, 1, false)?);
    let office = desk.office().map_err(|fault| told(&fault))?;
    let style = desk
        .house_style(STANDARD_STYLE, None)
        .map_err(|fault| told(&fault))?;
    Ok((office, style.style))
}

fn office(seed: Option<&Path>, data: &DataArgs) -> Result<(Arc<Office>, HouseStyle), Told> {
    match source(seed, data)? {
        Source::Database(location) => of_database(location),
        Source::Folder(path) => {
            let mut seed = data::seed_folder(&path)?;
            let style = seed.house_style.take().unwrap_or_default();
            let office = data::office_of(&path, seed).map(Arc::new)?;
            data::tell_what_is_open(&path, &office);
            Ok((office, style))
        }
    }
}

/// The office that the rulebook in `file` is checked against, and its ledger. The rules in a folder are those that count,
/// unless they are the file itself or have faults of their own.
pub fn office_to_check(
    seed: Option<&Path>,
    data: &DataArgs,
    file: &Path,
) -> Result<(Arc<Office>, LedgerSettings), Told> {
    match source(seed, data)? {
        Source::Database(location) => {
            let desk = Desk::new(data::open(&location, 1, false)?);
            let office = desk.office().map_err(|fault| told(&fault))?;
            let ledger = desk.ledger().map_err(|fault| told(&fault))?;
            Ok((office, ledger.settings))
        }
        Source::Folder(path) => {
            let mut seed = data::seed_folder(&path)?;
            let ledger = seed.ledger.take().unwrap_or_default();
            let rules = seed.rulebook_file.canonicalize();
            let is_other = rules.is_ok_and(|rules| file.canonicalize().is_ok_and(|file| file != rules));
            let with_rules = is_other.then(|| Office::of_seed(seed.clone()).ok()).flatten();
            let office = match with_rules {
                Some(office) => office,
                None => Office::of_seed_without_rules(seed).map_err(|fault| told(&fault))?,
            };
            Ok((Arc::new(office), ledger))
        }
    }
}
