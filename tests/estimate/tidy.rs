//! The arrows between rooms, lengths and banned words that the compiler does not hold.

use std::fs;
use std::path::{Path, PathBuf};

/// The rooms of the pure package in the order in which a job passes through them.
const ROOMS: &[&str] = &[
    "quantity",
    "job",
    "catalogue",
    "sizing",
    "rules",
    "bill",
    "pricing",
    "quote",
    "handoff",
];
/// Longest source file, in lines.
const FILE_LINES: usize = 420;
/// Longest function, in lines.
const FUNCTION_LINES: usize = 75;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .canonicalize()
        .unwrap()
}

fn sources(folder: &Path, ending: &str, found: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, ending, found);
        } else if path.extension().is_some_and(|e| e == ending) {
            found.push(path);
        }
    }
}

fn rust_under(folder: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    sources(&root().join(folder), "rs", &mut found);
    assert!(!found.is_empty(), "no source under {folder}");
    found.sort();
    let name = |p: &Path| p.strip_prefix(root()).unwrap().display().to_string();
    found
        .iter()
        .map(|p| (name(p), fs::read_to_string(p).unwrap()))
        .collect()
}

#[test]
fn a_room_uses_only_the_rooms_above_it() {
    let mut wrong = Vec::new();
    for (position, room) in ROOMS.iter().enumerate() {
        for (file, text) in rust_under(&format!("src/estimate/{room}")) {
            for below in &ROOMS[position + 1..] {
                let arrow = format!("crate::{below}");
                let code = text.lines().filter(|l| !l.trim_start().starts_with("//"));
                if code.clone().any(|line| line.contains(&arrow)) {
                    wrong.push(format!("{file} uses {below}"));
                }
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn binary_floats_stay_inside_sizing() {
    let float = |line: &str| {
        let code = line.split("//").next().unwrap_or_default();
        code.contains("f64") || code.contains("f32")
    };
    let mut wrong = Vec::new();
    for room in ROOMS.iter().filter(|room| **room != "sizing") {
        for (file, text) in rust_under(&format!("src/estimate/{room}")) {
            wrong.extend(
                text.lines()
                    .filter(|l| float(l))
                    .map(|l| format!("{file}: {}", l.trim())),
            );
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn only_the_rounding_module_rounds_money_and_quantities() {
    let rounds = [
        ".round_dp",
        ".round()",
        ".round_sf",
        ".trunc()",
        ".ceil()",
        ".floor()",
    ];
    let mut wrong = Vec::new();
    for room in ["quantity", "job", "catalogue", "bill", "pricing", "handoff"] {
        for (file, text) in rust_under(&format!("src/estimate/{room}")) {
            if file.ends_with("rounding.rs") {
                continue;
            }
            let lines = text.lines().filter(|l| rounds.iter().any(|r| l.contains(r)));
            wrong.extend(lines.map(|l| format!("{file}: {}", l.trim())));
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn files_and_functions_stay_short() {
    let mut wrong = Vec::new();
    for (file, text) in rust_under("src") {
        let length = text.lines().count();
        if length > FILE_LINES {
            wrong.push(format!("{file} has {length} lines"));
        }
        let mut start: Option<(usize, String, usize)> = None;
        for (number, line) in text.lines().enumerate() {
            let indent = line.len() - line.trim_start().len();
            let opens = line.contains("fn ") && line.trim_end().ends_with('{');
            match &start {
                None if opens => start = Some((indent, line.trim().to_owned(), number)),
                Some((at, name, from)) if indent == *at && line.trim() == "}" => {
                    if number - from > FUNCTION_LINES {
                        wrong.push(format!("{file}: {name} has {} lines", number - from));
                    }
                    start = None;
                }
                _ => {}
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn no_vague_rooms_and_nothing_left_open() {
    let vague = [
        "utils", "util", "common", "helpers", "helper", "models", "services", "misc",
    ];
    let open = [
        "todo!(",
        "unimplemented!(",
        concat!("TO", "DO"),
        concat!("FIX", "ME"),
        concat!("X", "XX"),
    ];
    let mut wrong = Vec::new();
    for (file, text) in rust_under("src") {
        let parts = file.split(['/', '.']);
        wrong.extend(
            parts
                .filter(|p| vague.contains(p))
                .map(|p| format!("{file}: a room called {p}")),
        );
        wrong.extend(
            open.iter()
                .filter(|o| text.contains(**o))
                .map(|o| format!("{file}: {o}")),
        );
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn the_core_depends_on_no_web_and_no_database() {
    let lock = fs::read_to_string(root().join("src/estimate/Cargo.toml")).unwrap();
    let kept_out = [
        "actix", "diesel", "tokio", "reqwest", "utoipa", "rand", "uuid", "tracing",
    ];
    let dependencies = lock.split("[dev-dependencies]").next().unwrap();
    let wrong: Vec<_> = kept_out
        .iter()
        .filter(|name| dependencies.contains(**name))
        .collect();
    assert_eq!(wrong, Vec::<&&str>::new());
}

#[test]
fn reference_files_name_their_source() {
    let mut found = Vec::new();
    sources(&root().join("tests/reference"), "csv", &mut found);
    let sourceless = |path: &&PathBuf| !fs::read_to_string(path).unwrap().starts_with('#');
    let wrong: Vec<_> = found.iter().filter(sourceless).collect();
    assert_eq!(wrong, Vec::<&PathBuf>::new());
}
