//! The recipes of the documentation, run as they stand there, and what they say comes out.

use std::fmt::Write as _;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

use tallyrule::store::Location;

use crate::harness::{Engine, empty_location, fresh_name, project, scratch};
use crate::process::Process;

/// A call, and the text that says what it prints.
struct Step<'a> {
    call: &'a str,
    told: Option<&'a str>,
}

/// The fenced blocks of a page: each `sh` with the `text` that follows it, where there is one.
fn steps(page: &str) -> Vec<Step<'_>> {
    let mut found: Vec<Step<'_>> = Vec::new();
    let mut rest = page;
    while let Some((_, after)) = rest.split_once("\n```") {
        let (kind, after) = after.split_once('\n').unwrap();
        let (block, after) = after.split_once("\n```\n").unwrap();
        match (kind, found.last_mut()) {
            ("sh", _) => found.push(Step {
                call: block,
                told: None,
            }),
            ("text", Some(step)) => assert!(
                step.told.replace(block).is_none(),
                "two texts after one call: {block}"
            ),
            (other, _) => panic!("a block of kind `{other}`"),
        }
        rest = after;
    }
    found
}

/// What the page calls the server, the data file and the database that the calls are run with.
struct Places {
    address: String,
    data: PathBuf,
    database: Option<String>,
}

/// Runs the calls one after the other in one shell, in a folder that has the demonstration's, and gives what each printed.
fn run(steps: &[Step<'_>], places: &Places, folder: &Path) -> Vec<String> {
    let mut script = "set -euo pipefail\n".to_owned();
    let database = places.database.as_deref().unwrap_or_default();
    let program = Path::new(env!("CARGO_BIN_EXE_tallyrule")).parent().unwrap();
    let path = env::var("PATH").unwrap();
    for (place, step) in steps.iter().enumerate() {
        let call = step.call.replace("localhost:8080", &places.address);
        let call = call.replace("postgres://tally@db.example/tally", database);
        writeln!(script, "{{\n{call}\n}} > printed-{place}").unwrap();
    }
    let shell = Command::new("bash")
        .args(["-c", &script])
        .env("PATH", format!("{}:{path}", program.display()))
        .env("TALLYRULE_DATA", &places.data)
        .current_dir(folder)
        .output()
        .unwrap();
    let printed =
        |place: usize| fs::read_to_string(folder.join(format!("printed-{place}"))).unwrap_or_default();
    let all: Vec<String> = (0..steps.len()).map(printed).collect();
    assert!(
        shell.status.success(),
        "{}\n{all:#?}",
        String::from_utf8_lossy(&shell.stderr)
    );
    all
}

/// With `UPDATE=1` in the environment what is printed is written into the page instead.
#[test]
fn the_recipes_do_what_they_say() {
    for tool in ["bash", "curl", "jq"] {
        assert!(
            Command::new(tool).arg("--version").output().is_ok(),
            "the recipes need {tool}"
        );
    }
    let file = project().join("docs/recipes.md");
    let page = fs::read_to_string(&file).unwrap();
    let data = scratch().join(fresh_name("recipes")).with_extension("sqlite");
    let process = Process::start(&Location::File(data.clone()));
    let database = empty_location(Engine::Postgresql).and_then(|location| match location {
        Location::Server(url) => Some(url),
        Location::File(_) => None,
    });
    let places = Places {
        address: process.address.to_string(),
        data,
        database,
    };
    // What needs the typesetting library is left out where the program was built without it, and what needs another
    // database where there is none.
    let steps: Vec<Step<'_>> = steps(&page)
        .into_iter()
        .filter(|step| cfg!(feature = "documents") || !step.call.contains("proposal.pdf"))
        .filter(|step| places.database.is_some() || !step.call.contains("$database"))
        .collect();
    assert!(steps.len() > 10);
    let folder = scratch().join(fresh_name("recipes"));
    fs::create_dir_all(&folder).unwrap();
    symlink(project().join("seed-data"), folder.join("seed-data")).unwrap();
    let printed = run(&steps, &places, &folder);
    let mut wrong = Vec::new();
    let mut updated = page.clone();
    for (step, printed) in steps.iter().zip(&printed) {
        let (told, printed) = (step.told.unwrap_or_default(), printed.trim_end());
        if told != printed {
            wrong.push(format!(
                "{}\n  prints {printed:?}\n  and the page says {told:?}",
                step.call
            ));
            updated = updated.replacen(
                &format!("{}\n```\n\n```text\n{told}\n", step.call),
                &format!("{}\n```\n\n```text\n{printed}\n", step.call),
                1,
            );
        }
    }
    if env::var("UPDATE").is_ok() {
        fs::write(&file, updated).unwrap();
        return;
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}
