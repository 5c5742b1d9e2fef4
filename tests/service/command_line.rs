//! The command line as a person uses it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tallyrule::store::Location;

use crate::harness::{fresh_name, project, scratch};

/// Runs the program in an empty folder of its own, so that nothing but what is named is found.
pub fn run_in(folder: &Path, arguments: &[&str]) -> Output {
    program_in(folder, arguments).output().unwrap()
}

/// The same with this on standard input.
pub fn piped_in(folder: &Path, arguments: &[&str], input: &str) -> Output {
    use std::io::Write;
    let mut command = program_in(folder, arguments);
    let piped = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = piped.spawn().unwrap();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

fn program_in(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tallyrule"));
    command.args(arguments).current_dir(folder);
    for name in ["TALLYRULE_DATA", "TALLYRULE_DATABASE_URL", "TALLYRULE_SEED"] {
        command.env_remove(name);
    }
    command
}

pub fn folder() -> PathBuf {
    let folder = scratch().join(fresh_name("folder"));
    fs::create_dir_all(&folder).unwrap();
    folder
}

pub fn seed() -> String {
    project().join("seed-data").display().to_string()
}

pub fn job(name: &str) -> String {
    project()
        .join(format!("seed-data/jobs/{name}.json"))
        .display()
        .to_string()
}

/// Puts the jobs of the worked examples beside a rulebook.
pub fn copy_jobs(folder: &Path) {
    let jobs = folder.join("jobs");
    fs::create_dir_all(&jobs).unwrap();
    for entry in fs::read_dir(project().join("seed-data/jobs")).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), jobs.join(entry.file_name())).unwrap();
    }
}

pub fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn told(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

#[test]
fn without_arguments_it_says_what_to_do_next() {
    let output = run_in(&folder(), &[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(told(&output).contains("tallyrule serve --demo"));
    assert_eq!(out(&output), "");
    assert_eq!(run_in(&folder(), &["prise"]).status.code(), Some(2));
    let help = run_in(&folder(), &["--help"]);
    assert_eq!(help.status.code(), Some(0));
    for command in ["price", "size", "check", "serve", "seed", "openapi"] {
        assert!(out(&help).contains(command));
    }
}

#[test]
fn a_job_is_priced_as_a_table_that_fits_a_sheet_of_paper() {
    let output = run_in(
        &folder(),
        &[
            "price",
            &job("wickerlamp-restaurant"),
            "--seed",
            &seed(),
            "--explain",
        ],
    );
    assert_eq!(output.status.code(), Some(0), "{}", told(&output));
    let text = out(&output);
    for heading in [
        "\nBill\n",
        "\nLabour\n",
        "\nTotals\n",
        "\nPayment schedule\n",
        "\nCautions\n",
        "\nNot priced\n",
    ] {
        assert!(text.contains(heading), "{heading}");
    }
    let widest = text.lines().map(|line| line.chars().count()).max().unwrap();
    assert!(widest <= 100, "{widest} columns");
    assert!(
        text.lines().all(|line| line.trim_end() == line),
        "no line ends in a space"
    );
}

#[test]
fn the_data_file_gives_what_the_folder_gives() {
    let folder = folder();
    let missing = run_in(&folder, &["price", &job("pinfold-basement")]);
    assert_eq!(missing.status.code(), Some(1));
    assert!(
        told(&missing).contains("tallyrule seed DIR"),
        "{}",
        told(&missing)
    );
    assert!(
        fs::read_dir(&folder).unwrap().next().is_none(),
        "pricing makes no data file"
    );
    let seeded = run_in(&folder, &["seed", &seed()]);
    assert_eq!(seeded.status.code(), Some(0), "{}", told(&seeded));
    let again = run_in(&folder, &["seed", &seed()]);
    assert!(out(&again).contains("nothing was changed"));
    for format in ["json", "table"] {
        let arguments = |more: &[&str]| -> Vec<String> {
            let job = job("pinfold-basement");
            ["price", &job, "--format", format]
                .iter()
                .chain(more)
                .map(|word| (*word).to_owned())
                .collect()
        };
        let of_file = arguments(&[]);
        let of_file = run_in(&folder, &of_file.iter().map(String::as_str).collect::<Vec<_>>());
        let seed = seed();
        let of_folder = arguments(&["--seed", &seed]);
        let of_folder = run_in(&folder, &of_folder.iter().map(String::as_str).collect::<Vec<_>>());
        assert!(
            of_file.status.success() && out(&of_file) == out(&of_folder),
            "{}",
            told(&of_file)
        );
    }
}

#[test]
fn every_fault_of_a_job_is_told_with_its_pointer() {
    let folder = folder();
    let text = fs::read_to_string(job("pinfold-basement")).unwrap();
    let mut job: serde_json::Value = serde_json::from_str(&text).unwrap();
    job["job"]["unit"]["mounting"] = "flushh".into();
    job["job"]["site"]["colour"] = "red".into();
    fs::write(folder.join("job.json"), job.to_string()).unwrap();
    let output = run_in(&folder, &["price", "job.json", "--seed", &seed()]);
    assert_eq!(output.status.code(), Some(1));
    assert!(told(&output).contains("/job/unit/mounting: ") && told(&output).contains("/job/site/colour: "));
    fs::write(folder.join("job.json"), "{\n\"job\": {,}\n}").unwrap();
    for command in ["price", "size"] {
        let output = run_in(&folder, &[command, "job.json", "--seed", &seed()]);
        assert_eq!(output.status.code(), Some(1));
        assert!(told(&output).starts_with("job.json:2:9: "), "{}", told(&output));
    }
    let output = run_in(&folder, &["price", "nowhere.json", "--seed", &seed()]);
    assert!(output.status.code() == Some(1) && told(&output).contains("nowhere.json"));
}

#[test]
fn a_rulebook_is_checked_with_the_place_of_every_finding() {
    let folder = folder();
    let text = fs::read_to_string(project().join("seed-data/rulebook.toml")).unwrap();
    fs::write(folder.join("rulebook.toml"), &text).unwrap();
    copy_jobs(&folder);
    let sound = run_in(&folder, &["check", "rulebook.toml", "--seed", &seed()]);
    assert_eq!(sound.status.code(), Some(0), "{}{}", out(&sound), told(&sound));
    let faulty = text.replacen("line_set.length", "line_set.lenght", 1);
    let line = faulty.lines().position(|line| line.contains("lenght")).unwrap() + 1;
    fs::write(folder.join("rulebook.toml"), &faulty).unwrap();
    let output = run_in(&folder, &["check", "rulebook.toml", "--seed", &seed()]);
    assert_eq!(output.status.code(), Some(1));
    let told = told(&output);
    assert!(
        told.contains(&format!("rulebook.toml:{line}:")) && told.contains('^'),
        "{told}"
    );
    assert!(
        told.contains("line_set.length"),
        "the nearest name is told: {told}"
    );
}

#[test]
fn worked_examples_are_run_by_the_check() {
    let folder = folder();
    let text = fs::read_to_string(project().join("seed-data/rulebook.toml")).unwrap();
    let job = job("pinfold-basement");
    let priced = run_in(&folder, &["price", &job, "--seed", &seed(), "--format", "json"]);
    let estimate: serde_json::Value = serde_json::from_str(&out(&priced)).unwrap();
    let lines = estimate["lines"].as_array().unwrap();
    let goods = lines
        .iter()
        .find(|line| line["quantity"]["unit"] == "ft" && line.get("bought").is_some())
        .unwrap();
    let work = lines.iter().find(|line| line.get("hours").is_some()).unwrap();
    let example = |quantity: &str, unit: &str, absent: &str, total: &str| {
        format!(
            "[[example]]\ntitle = \"basement\"\njob = '{job}'\nexpect = [\n\
             {{ line = {}, quantity = \"{quantity}\", unit = \"{unit}\" }},\n{{ line = {}, hours = {} }},\n\
             {{ absent = \"{absent}\" }},\n{{ total = \"{total}\" }},\n{{ total_hours = {} }},\n{{ caution = \"{}\" }},\n]\n",
            goods["key"],
            work["key"],
            work["hours"]["value"],
            estimate["totals"]["hours"]["value"],
            estimate["cautions"][0]["code"].as_str().unwrap(),
        )
    };
    let feet: estimate::quantity::Decimal = goods["quantity"]["value"].as_str().unwrap().parse().unwrap();
    let total = estimate["totals"]["total"]["amount"].as_str().unwrap();
    let check = |example: &str| {
        fs::write(folder.join("rulebook.toml"), format!("{text}\n{example}")).unwrap();
        run_in(&folder, &["check", "rulebook.toml", "--seed", &seed()])
    };
    let own = text.lines().filter(|line| *line == "[[example]]").count();
    copy_jobs(&folder);
    // 1 ft is 12 in: the quantity is expected in another unit than it is counted in.
    let inches = (feet * estimate::quantity::Decimal::from(12))
        .normalize()
        .to_string();
    let sound = check(&example(&inches, "in", "material:NO-SUCH", total));
    assert_eq!(sound.status.code(), Some(0), "{}", told(&sound));
    assert!(
        out(&sound).contains(&format!("{} worked examples come out", own + 1)),
        "{}",
        out(&sound)
    );
    let wrong = check(&example("1", "in", goods["key"].as_str().unwrap(), "1.00"));
    assert_eq!(wrong.status.code(), Some(1));
    let told = told(&wrong);
    assert_eq!(told.matches("is expected").count(), 3, "{told}");
    assert!(
        told.contains(&format!("1 of {} worked examples do not come out", own + 1)),
        "{told}"
    );
    assert!(
        told.contains(&format!("total: 1.00 is expected, {total} came")),
        "{told}"
    );
}

/// A copy of the rulebook elsewhere finds its jobs in the folder that is named with --seed.
#[test]
fn the_jobs_of_a_copied_rulebook_are_found_in_the_seed_folder() {
    let folder = folder();
    fs::copy(
        project().join("seed-data/rulebook.toml"),
        folder.join("copy.toml"),
    )
    .unwrap();
    let checked = run_in(&folder, &["check", "copy.toml", "--seed", &seed()]);
    assert_eq!(checked.status.code(), Some(0), "{}", told(&checked));
    assert!(
        out(&checked).contains("worked examples come out"),
        "{}",
        out(&checked)
    );
}

#[test]
fn what_cannot_be_opened_is_named() {
    let folder = folder();
    fs::write(
        folder.join("notes.txt"),
        "these are notes and no database".repeat(40),
    )
    .unwrap();
    for command in [
        vec!["price", &job("pinfold-basement"), "--data", "notes.txt"],
        vec!["verify", "--data", "notes.txt"],
        vec!["seed", &seed(), "--data", "notes.txt"],
    ] {
        let output = run_in(&folder, &command);
        assert_eq!(output.status.code(), Some(1));
        assert!(
            told(&output).starts_with("notes.txt: "),
            "{command:?}: {}",
            told(&output)
        );
    }
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap().to_string();
    let output = run_in(&folder, &["serve", "--data", "new.sqlite", "--listen", &address]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        told(&output).contains(&format!("cannot listen on {address}: ")),
        "{}",
        told(&output)
    );
}

/// Every fault of a request in one go, one to a line, counted in plain English.
#[test]
fn every_fault_of_a_request_is_printed_with_its_place() {
    let folder = folder();
    let text = fs::read_to_string(job("alderwick-closet")).unwrap();
    let mut request: serde_json::Value = serde_json::from_str(&text).unwrap();
    let price = |request: &serde_json::Value| {
        fs::write(folder.join("job.json"), request.to_string()).unwrap();
        let output = run_in(&folder, &["price", "job.json", "--seed", &seed()]);
        assert_eq!(output.status.code(), Some(1));
        told(&output)
    };
    request["overrides"] =
        serde_json::json!([{"line": "material:CT-EXT", "unit_cost": "1", "reason": "a test"}]);
    let alone = price(&request);
    assert!(
        alone.starts_with(
            "1 reason why the job cannot be priced:\n  /overrides/0/line: this job has no line "
        ),
        "{alone}"
    );
    request["policy"] = serde_json::json!("nobody");
    request["job"]["unit"]["count"] = serde_json::json!(5);
    let both = price(&request);
    assert_eq!(
        both.lines().next().unwrap().trim(),
        "the input has 2 faults",
        "{both}"
    );
    assert!(both.contains("\n  /policy: there is no policy nobody"), "{both}");
    assert!(
        both.contains("\n  /job/unit/count: How many units: 5; allowed is 1 to 4"),
        "{both}"
    );
}

#[test]
fn a_rulebook_is_formatted_with_its_comments_and_its_jobs() {
    let folder = folder();
    let text = fs::read_to_string(project().join("seed-data/rulebook.toml")).unwrap();
    let file = folder.join("rulebook.toml");
    fs::write(&file, &text).unwrap();
    copy_jobs(&folder);
    let printed = run_in(&folder, &["format", "rulebook.toml"]);
    let formatted = out(&printed);
    assert_eq!(printed.status.code(), Some(0), "{}", told(&printed));
    assert!(formatted.starts_with("# The office's rules"), "comments stay");
    assert_eq!(
        fs::read_to_string(&file).unwrap(),
        text,
        "printing changes no file"
    );
    let whole = run_in(&folder, &["format", "rulebook.toml", "--write", "--with-jobs"]);
    assert_eq!(whole.status.code(), Some(0), "{}", told(&whole));
    let written = fs::read_to_string(&file).unwrap();
    assert!(
        !written.contains("jobs/pinfold-basement.json"),
        "the job stands in the text"
    );
    let again = run_in(&folder, &["format", "rulebook.toml", "--write"]);
    assert!(out(&again).contains("canonical"), "{}", out(&again));
    fs::remove_dir_all(folder.join("jobs")).unwrap();
    let alone = run_in(&folder, &["check", "rulebook.toml", "--seed", &seed()]);
    assert_eq!(
        alone.status.code(),
        Some(0),
        "it needs no files beside it: {}",
        told(&alone)
    );
    fs::write(&file, "[rulebook]\nid = 5\n").unwrap();
    let faulty = run_in(&folder, &["format", "rulebook.toml"]);
    assert_eq!(faulty.status.code(), Some(1));
    assert!(told(&faulty).contains("rulebook.toml:2:"), "{}", told(&faulty));
}

#[test]
fn a_job_is_sized_without_being_priced() {
    let output = run_in(
        &folder(),
        &["size", &job("osierby-long-riser"), "--seed", &seed()],
    );
    assert_eq!(output.status.code(), Some(0), "{}", told(&output));
    let text = out(&output);
    assert!(text.contains("Cooling load") && text.contains("Source: ") && !text.contains("Totals"));
    assert!(text.lines().all(|line| line.chars().count() <= 100));
}

/// Answers that nobody gave or measured stand under the bill and under the sizes, one way.
#[test]
fn answers_that_nobody_gave_or_measured_are_printed() {
    for command in ["price", "size"] {
        let output = run_in(
            &folder(),
            &[command, &job("marlcombe-unknowns"), "--seed", &seed()],
        );
        assert_eq!(output.status.code(), Some(0), "{}", told(&output));
        let text = out(&output);
        for wanted in [
            "\nNot measured\n",
            "- unknown /site/carry_distance: A carry of 150 ft is assumed. (150 ft)\n",
            "- told /line_set/legs: Line set, Legs of the route: 3 entries\n",
            "\nLeft out, and taken as usual\n",
            "- Line set, Penetrations – Fire-rated: no (entry 1)\n",
            "- Site – Working hours allowed: The whole working day; ",
        ] {
            assert!(text.contains(wanted), "{command}: {wanted:?} is not in {text}");
        }
        assert!(text.lines().all(|line| line.chars().count() <= 100));
    }
}

#[test]
fn the_contract_is_printed_as_it_is_committed() {
    let committed = fs::read_to_string(project().join("openapi/openapi.json")).unwrap();
    assert!(out(&run_in(&folder(), &["openapi"])) == committed);
}

#[test]
fn papers_are_written_beside_the_bill() {
    let folder = folder();
    let (job, seed) = (job("pinfold-basement"), seed());
    let style = folder.join("style.json");
    fs::write(&style, r#"{"language": "es", "paper": "a4"}"#).unwrap();
    let price = ["price", &job, "--seed", &seed, "--style", "style.json"];
    let lists = ["--drawing", "drawing.svg", "--purchase-list", "list.csv"];
    let output = run_in(&folder, &[&price[..], &lists[..]].concat());
    assert!(output.status.success(), "{}", told(&output));
    assert!(told(&output).contains("wrote drawing.svg"), "{}", told(&output));
    let read = |name: &str| fs::read(folder.join(name)).unwrap();
    assert!(
        String::from_utf8(read("drawing.svg"))
            .unwrap()
            .contains("Unidad de techo")
    );
    assert!(
        String::from_utf8(read("list.csv"))
            .unwrap()
            .starts_with("Proveedor,")
    );
    let list = String::from_utf8(read("list.csv")).unwrap();
    assert!(
        list.contains(": 1 pieza") && list.contains(",pieza,") && !list.contains("each"),
        "{list}"
    );
    let charts = ["--cost-breakdown", "cost.svg", "--cellar-load", "load.svg"];
    let output = run_in(&folder, &[&price[..], &charts[..]].concat());
    assert!(output.status.success(), "{}", told(&output));
    for (file, title) in [
        ("cost.svg", "De qué se compone el precio: "),
        ("load.svg", "Carga de la cava por componente"),
    ] {
        let chart = String::from_utf8(read(file)).unwrap();
        assert!(chart.starts_with("<svg ") && chart.contains(title), "{chart}");
    }
    let output = run_in(&folder, &[&price[..], &["--purchase-list", "list.xlsx"]].concat());
    assert!(output.status.success() && read("list.xlsx").starts_with(b"PK"));
    let output = run_in(
        &folder,
        &[&price[..], &["--purchase-list", "UPPER.XLSX"]].concat(),
    );
    assert!(output.status.success() && read("UPPER.XLSX").starts_with(b"PK"));
    for (wrong, word) in [
        (["--drawing", "-", "--purchase-list", "x.csv"], "name a file"),
        (["--drawing", "same", "--purchase-list", "same"], "one file"),
    ] {
        let output = run_in(&folder, &[&price[..], &wrong].concat());
        assert_eq!(output.status.code(), Some(1));
        assert!(told(&output).contains(word), "{}", told(&output));
        assert!(!folder.join("x.csv").exists() && !folder.join("same").exists());
    }
    let output = run_in(
        &folder,
        &[
            &price[..],
            &["--proposal", "proposal.pdf", "--job-sheet", "sheet.pdf"],
        ]
        .concat(),
    );
    if cfg!(feature = "documents") {
        assert!(read("proposal.pdf").starts_with(b"%PDF-") && read("sheet.pdf").starts_with(b"%PDF-"));
    } else {
        assert!(
            told(&output).contains("built without documents"),
            "{}",
            told(&output)
        );
    }
    let strange = r#"{"wording": {"terms": ["\u6f22\u5b57 of the house"]}}"#;
    fs::write(&style, strange).unwrap();
    let asked = [&price[..], &["--proposal", "strange.pdf"]].concat();
    if cfg!(feature = "documents") {
        let output = run_in(&folder, &asked);
        assert_eq!(output.status.code(), Some(1));
        let said = told(&output);
        assert!(said.contains("漢 U+6F22") && said.contains("the terms"), "{said}");
        assert!(!folder.join("strange.pdf").exists());
        let output = run_in(&folder, &[&asked[..], &["--replace-unprintable"]].concat());
        assert!(output.status.success() && read("strange.pdf").starts_with(b"%PDF-"));
        assert!(told(&output).contains("U+6F22"), "{}", told(&output));
    }
    fs::write(&style, r#"{"language": "de"}"#).unwrap();
    let output = run_in(&folder, &[&price[..], &lists[..]].concat());
    assert_eq!(output.status.code(), Some(1));
    assert!(told(&output).contains("/language"), "{}", told(&output));
}

/// A data file that a newer program has brought further.
#[test]
fn a_data_file_of_a_newer_program_is_refused_in_words_by_every_command() {
    let folder = folder();
    let file = folder.join("office.sqlite");
    let seeded = run_in(&folder, &["seed", &seed(), "--data", "office.sqlite"]);
    assert_eq!(seeded.status.code(), Some(0), "{}", told(&seeded));
    let newer = "INSERT INTO __diesel_schema_migrations (version) VALUES ('9999')";
    crate::database::by_hand(&Location::File(file), newer).unwrap();
    let job = job("pinfold-basement");
    let commands: [&[&str]; 4] = [&["verify"], &["serve"], &["price", &job], &["seed", &seed()]];
    for command in commands {
        let output = run_in(&folder, &[command, &["--data", "office.sqlite"]].concat());
        assert_eq!(output.status.code(), Some(1), "{command:?}");
        let told = told(&output);
        assert!(
            told.contains("schema step 9999, which this program does not know: use a newer program"),
            "{told}"
        );
    }
}

/// Where the folder of seed data is not there, or not sound, no data file is left behind, and what to do is told.
#[test]
fn a_seed_that_fails_leaves_no_data_file() {
    let folder = folder();
    for command in [&["serve", "--demo"][..], &["seed", "seed-data"]] {
        let output = run_in(&folder, command);
        assert_eq!(output.status.code(), Some(1), "{command:?}");
        assert!(
            told(&output).contains("--seed DIR"),
            "{command:?}: {}",
            told(&output)
        );
        assert!(
            fs::read_dir(&folder).unwrap().next().is_none(),
            "{command:?} left something"
        );
    }
    let broken = folder.join("broken");
    copy_seed(&broken);
    fs::write(broken.join("items.toml"), "item = 3\n").unwrap();
    for command in [&["serve", "--demo", "--seed", "broken"][..], &["seed", "broken"]] {
        let output = run_in(&folder, command);
        assert_eq!(output.status.code(), Some(1), "{command:?}");
        assert!(
            told(&output).contains("broken/items.toml:1:"),
            "{}",
            told(&output)
        );
        assert_eq!(
            fs::read_dir(&folder).unwrap().count(),
            1,
            "{command:?} left something"
        );
    }
}

pub fn copy_seed(to: &Path) {
    fs::create_dir(to).unwrap();
    for file in fs::read_dir(project().join("seed-data")).unwrap() {
        let path = file.unwrap().path();
        if path.is_file() {
            fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
        }
    }
    copy_jobs(to);
}

/// A folder of seed data with faults: each is told with file, line and column, those of one file together.
#[test]
fn faults_of_a_seed_folder_have_their_places() {
    let folder = folder();
    let broken = folder.join("broken");
    copy_seed(&broken);
    let seed = |file: &str| fs::read_to_string(project().join("seed-data").join(file)).unwrap();
    let price = || {
        let output = run_in(&folder, &["price", &job("alderwick-closet"), "--seed", "broken"]);
        assert_eq!(output.status.code(), Some(1));
        told(&output)
    };
    // The last part of the text, so that the jobs of the examples stand before it in what is checked.
    let rules = seed("rulebook.toml");
    let faulty = format!(
        "{rules}\n[[check]]\ncode = \"late\"\nlevel = \"caution\"\nwhen = \"line_set.lenght > 1 ft\"\nmessage = \"m\"\n"
    );
    let line = faulty.lines().position(|line| line.contains("lenght")).unwrap() + 1;
    fs::write(broken.join("rulebook.toml"), &faulty).unwrap();
    let text = price();
    assert!(
        text.contains(&format!("broken/rulebook.toml:{line}:9: error[")) && text.contains("line_set.length"),
        "{text}"
    );
    fs::write(broken.join("rulebook.toml"), &rules).unwrap();
    let items = seed("items.toml");
    let faulty = items.replace("unit = \"ft\"", "unit = \"foot\"");
    let lines = faulty.lines().zip(1..);
    let bad: Vec<usize> = lines
        .filter(|(line, _)| line.contains("\"foot\""))
        .map(|(_, at)| at)
        .collect();
    assert!(bad.len() > 10);
    fs::write(broken.join("items.toml"), &faulty).unwrap();
    let text = price();
    for line in &bad {
        assert!(
            text.contains(&format!(
                "broken/items.toml:{line}:8: unknown unit `foot`; did you mean `ft`?"
            )),
            "{line}: {text}"
        );
    }
    assert_eq!(text.matches("items.toml").count(), bad.len(), "{text}");
}

/// A waste of ten times the quantity is a slip, and is told with its line.
#[test]
fn a_waste_over_all_bounds_is_found_by_the_check() {
    let folder = folder();
    let text = fs::read_to_string(project().join("seed-data/rulebook.toml")).unwrap();
    copy_jobs(&folder);
    let faulty = text.replacen("waste = \"10 %\"", "waste = \"10\"", 1);
    let line = faulty.lines().position(|line| line == "waste = \"10\"").unwrap() + 1;
    fs::write(folder.join("rulebook.toml"), &faulty).unwrap();
    let output = run_in(&folder, &["check", "rulebook.toml", "--seed", &seed()]);
    let told = told(&output);
    assert!(
        told.contains(&format!("rulebook.toml:{line}:9: error[always_too_much_waste]"))
            && told.contains("did you mean: 10 %"),
        "{told}"
    );
}

/// A line of work is a row or two of the printed bill, and no job is wider than a sheet of paper.
#[test]
fn every_bill_of_the_demonstration_reads_well() {
    let folder = folder();
    for file in fs::read_dir(project().join("seed-data/jobs")).unwrap() {
        let job = file.unwrap().path();
        let output = run_in(&folder, &["price", job.to_str().unwrap(), "--seed", &seed()]);
        let text = out(&output);
        let (_, rest) = text.split_once("\nBill\n").unwrap();
        let (bill, _) = rest.split_once("\nLabour\n").unwrap();
        assert!(text.lines().all(|line| line.chars().count() <= 100), "{job:?}");
        let rows: Vec<&str> = bill.lines().collect();
        let figures = rows[1].find("Needed").unwrap();
        let work = |row: &str| {
            row.starts_with("        ") && row.get(figures..).is_some_and(|row| row.contains(" h  "))
        };
        for (at, row) in rows.iter().enumerate().filter(|(_, row)| work(row)) {
            // The class of the work stands beside its hours, and only the description goes on.
            let further = rows[at + 1..].iter().take_while(|row| {
                row.starts_with("        ") && !row.ends_with(|c: char| c.is_ascii_digit())
            });
            for more in further {
                assert!(more.chars().count() <= figures, "{job:?}: {row} {more}");
            }
        }
    }
}
