//! A printed paper as its reader has it: text and the places of words, by the PDF tools of the machine.

use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};

use estimate::handoff::offer::Offer;
use estimate::handoff::paper::Paper;
use estimate::handoff::{job_sheet, proposal};

static COUNT: AtomicUsize = AtomicUsize::new(0);

/// A word and where it stands, in points, on which page.
#[derive(Debug, Clone)]
pub struct Word {
    pub page: usize,
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
    pub text: String,
}

pub fn proposal(offer: &Offer) -> Vec<u8> {
    printed(&proposal::proposal(offer).unwrap())
}

pub fn job_sheet(offer: &Offer) -> Vec<u8> {
    printed(&job_sheet::job_sheet(offer).unwrap())
}

fn printed(paper: &Paper) -> Vec<u8> {
    papers::print(paper).unwrap().bytes
}

/// Keeps the file where `PAPERS_OUT` names a folder, to be looked at.
pub fn keep(name: &str, pdf: &[u8]) {
    if let Some(folder) = std::env::var_os("PAPERS_OUT") {
        std::fs::write(std::path::Path::new(&folder).join(name), pdf).unwrap();
    }
}

fn tool(pdf: &[u8], arguments: &[&str]) -> Option<String> {
    let number = COUNT.fetch_add(1, Ordering::Relaxed);
    let file = std::env::temp_dir().join(format!("paper-{}-{number}.pdf", std::process::id()));
    std::fs::write(&file, pdf).unwrap();
    let run = Command::new("pdftotext")
        .args(arguments)
        .arg(&file)
        .arg("-")
        .output();
    std::fs::remove_file(&file).unwrap();
    match run {
        Ok(output) => {
            assert!(
                output.status.success(),
                "{}",
                String::from_utf8_lossy(&output.stderr)
            );
            Some(String::from_utf8(output.stdout).unwrap())
        }
        Err(fault) => {
            assert!(std::env::var_os("CI").is_none(), "pdftotext is needed: {fault}");
            eprintln!("pdftotext is not on this machine: the text was not looked at");
            None
        }
    }
}

/// The text as it is laid out; none where the machine has no tool to read it.
pub fn text(pdf: &[u8]) -> Option<String> {
    tool(pdf, &["-layout"])
}

/// Every word with its place.
pub fn words(pdf: &[u8]) -> Option<Vec<Word>> {
    let listed = tool(pdf, &["-bbox"])?;
    let mut page = 0;
    let mut words = Vec::new();
    for line in listed.lines().map(str::trim) {
        if line.starts_with("<page") {
            page += 1;
        }
        let Some(rest) = line.strip_prefix("<word ") else {
            continue;
        };
        let value = |name: &str| -> f64 {
            let from = rest.find(name).unwrap() + name.len() + 2;
            let text = &rest[from..];
            text[..text.find('"').unwrap()].parse().unwrap()
        };
        let from = rest.find('>').unwrap() + 1;
        words.push(Word {
            page,
            left: value("xMin"),
            top: value("yMin"),
            right: value("xMax"),
            bottom: value("yMax"),
            text: rest[from..rest.rfind("</word>").unwrap()].to_owned(),
        });
    }
    Some(words)
}

/// Pairs of words that stand on one another, and words that stand over the edge of the sheet. A word's box is as high
/// as its line; a quarter of it is air on either side.
pub fn clashes(words: &[Word], width: f64) -> Vec<String> {
    let mut found = Vec::new();
    for (at, one) in words.iter().enumerate() {
        if one.left < 30.0 || one.right > width - 30.0 {
            found.push(format!("page {}: {} stands over the edge", one.page, one.text));
        }
        for other in &words[at + 1..] {
            let air = |word: &Word| (word.bottom - word.top) * 0.3;
            let meets = one.page == other.page
                && one.left + 0.3 < other.right
                && other.left + 0.3 < one.right
                && one.top + air(one) < other.bottom - air(other)
                && other.top + air(other) < one.bottom - air(one);
            if meets {
                found.push(format!("page {}: {} on {}", one.page, one.text, other.text));
            }
        }
    }
    found
}
