//! Opening the database, and loading seed data.

use std::path::Path;

use estimate::estimate::Reason;
use estimate::job::Fault;
use estimate::quantity::counted;
use estimate::rules::{Finding, Severity, render};
use tallyrule::config::DataArgs;
use tallyrule::desk::{Desk, DeskFault, Office, SeedFolder};
use tallyrule::store::{Hand, Loaded, Location, Store};

use super::Told;

/// The folder of the demonstration, where this program is started in the project.
pub const DEMONSTRATION: &str = "seed-data";

/// The file of the rules in a folder of seed data.
const RULEBOOK: &str = "rulebook.toml";

/// Opens the database; a data file is made where `make` says so. A fault names it.
pub fn open(location: &Location, connections: u32, make: bool) -> Result<Store, Told> {
    Store::open(location.clone(), connections, make).map_err(|fault| of_place(location, &fault))
}

/// A fault with the place of the data in it.
pub fn of_place(location: &Location, fault: &dyn std::error::Error) -> Told {
    let (place, fault) = (location.to_string(), fault.to_string());
    let named = fault.contains(&place);
    Told(if named { fault } else { format!("{place}: {fault}") })
}

/// Loads `dir` into the database, which is made when it is a data file that does not exist. What is wrong with the
/// folder is told before, so that no data file is left behind.
pub fn seed(dir: &Path, data: &DataArgs) -> Result<String, Told> {
    let location = data.location()?;
    let seed = sound_folder(dir)?;
    let desk = Desk::new(open(&location, 1, true)?.by(Hand::program("seed")));
    Ok(match desk.load_seed(seed).map_err(|fault| told(&fault))? {
        Loaded::Now => format!("loaded {} into {location}\n", dir.display()),
        Loaded::Before => format!(
            "{location} holds {} already; nothing was changed\n",
            dir.display()
        ),
    })
}

/// Reads a folder of seed data.
pub fn seed_folder(dir: &Path) -> Result<SeedFolder, Told> {
    if !dir.is_dir() {
        return Err(Told(format!(
            "there is no folder {} here; the project has the data of the demonstration in {DEMONSTRATION}: \
             name it with --seed DIR, or start the program in the project's folder",
            dir.display()
        )));
    }
    SeedFolder::read(dir).map_err(|faults| told(&DeskFault::Seed(faults)))
}

/// A folder of seed data that an office can be made of.
pub fn sound_folder(dir: &Path) -> Result<SeedFolder, Told> {
    let seed = seed_folder(dir)?;
    office_of(dir, seed.clone())?;
    Ok(seed)
}

/// The office of a folder of seed data. Rules that could not be published count for nothing: what is wrong with them is
/// told with its place in that file.
pub fn office_of(dir: &Path, seed: SeedFolder) -> Result<Office, Told> {
    if let Some(found) = faults_of_rulebook(dir, seed.clone()) {
        return Err(found);
    }
    Office::of_seed(seed).map_err(|fault| told(&fault))
}

/// The errors of the file as it stands in the folder: what is priced by has the jobs of its examples in it. What has no
/// price today may have had one on the day of a job, and is not asked here.
fn faults_of_rulebook(dir: &Path, seed: SeedFolder) -> Option<Told> {
    let file = dir.join(RULEBOOK);
    let text = std::fs::read_to_string(&file).ok()?;
    let office = Office::of_seed_without_rules(seed).ok()?;
    let Err(DeskFault::Rulebook(findings)) = office.compile(&text, 1) else {
        return None;
    };
    let Told(found) = findings_told(&findings, &file, &text);
    Some(Told(format!(
        "{found}\nRules with errors cannot be published, and nothing is priced by them; `tallyrule check {} --seed {}` \
         looks at them again.",
        file.display(),
        dir.display()
    )))
}

/// Says on standard error what else keeps the rules of a folder from being published: examples that do not come out, and
/// what has no price today.
pub fn tell_what_is_open(dir: &Path, office: &Office) {
    let file = dir.join(RULEBOOK);
    let Ok(version) = office.rulebook(None) else {
        return;
    };
    let unpriced = version.workbook.unpriced(&office.prices_on(office.today())).len();
    let tried = office.try_examples(&version.workbook, |job| super::check::read_job(&[dir], job));
    let wrong = tried.iter().filter(|tried| !tried.fits).count();
    let mut open = Vec::new();
    if unpriced > 0 {
        open.push(format!(
            "{} of what has no price today",
            counted(unpriced, "error")
        ));
    }
    if wrong > 0 {
        open.push(format!(
            "{} that {} not come out",
            counted(wrong, "worked example"),
            if wrong == 1 { "does" } else { "do" }
        ));
    }
    if !open.is_empty() {
        eprintln!(
            "these rules cannot be published as they are: {}; see `tallyrule check {} --seed {}`",
            open.join(" and "),
            file.display(),
            dir.display()
        );
    }
}

/// Every finding with its place in the file, and how many there are.
pub fn findings_told(findings: &[Finding], file: &Path, text: &str) -> Told {
    let name = file.display().to_string();
    let is_error = |finding: &&Finding| finding.severity == Severity::Error;
    let errors = findings.iter().filter(is_error).count();
    Told(format!(
        "{}{name}: {}, {}",
        render(findings, &name, text),
        counted(errors, "error"),
        counted(findings.len().saturating_sub(errors), "warning")
    ))
}

/// A fault with everything that belongs to it, a line each.
pub fn told(fault: &DeskFault) -> Told {
    let mut text = match fault {
        DeskFault::Estimate(fault) => format!(
            "{} why the job cannot be priced:\n",
            counted(fault.reasons().len(), "reason")
        ),
        other => format!("{other}\n"),
    };
    let mut line = |one: &dyn std::fmt::Display| text.push_str(&format!("  {one}\n"));
    match fault {
        DeskFault::Seed(faults) => faults.iter().for_each(|one| line(one)),
        DeskFault::Catalogue(faults) => faults.iter().for_each(|one| line(one)),
        DeskFault::Policy { faults, .. } => faults.iter().for_each(|one| line(one)),
        DeskFault::Input(faults) => faults.list.iter().for_each(|one| line(&of_input(one))),
        DeskFault::Estimate(fault) => fault.reasons().iter().for_each(|reason| match reason {
            Reason::Request(one) => line(&of_input(one)),
            Reason::Job(message) => line(message),
        }),
        DeskFault::Rulebook(findings) => findings.iter().for_each(|one| {
            line(&format!(
                "line {}, column {}, {}: {}",
                one.line, one.column, one.part, one.message
            ));
        }),
        DeskFault::Examples(tried) => tried.iter().for_each(|one| {
            for difference in one.differences() {
                line(&format!("{}: {difference}", one.title));
            }
        }),
        _ => {}
    }
    Told(text)
}

/// A fault of what was sent, with its place.
fn of_input(fault: &Fault) -> String {
    let place = match fault.pointer.as_str() {
        "" => "the whole",
        pointer => pointer,
    };
    format!("{place}: {}", fault.message)
}
