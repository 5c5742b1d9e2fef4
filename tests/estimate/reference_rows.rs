//! Reads a file of `tests/reference/`: lines with `#` name the source, then a header row, then rows.

#![expect(
    clippy::expect_used,
    reason = "a faulty reference file fails the test that reads it"
)]
#![expect(
    clippy::panic,
    reason = "a faulty reference file fails the test that reads it"
)]

use std::collections::HashMap;

pub struct Row {
    cells: HashMap<String, String>,
}

impl Row {
    pub fn text(&self, column: &str) -> &str {
        self.cells
            .get(column)
            .unwrap_or_else(|| panic!("no column {column}"))
    }

    pub fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse()
            .unwrap_or_else(|_| panic!("{column} is not a number: {text:?}"))
    }
}

/// Every row of the file; at least one, or the test that asked has nothing to check.
pub fn rows(file: &str) -> Vec<Row> {
    let mut lines = file
        .lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty());
    let header = split(lines.next().expect("a header row"));
    let rows: Vec<Row> = lines
        .map(|line| {
            let cells = split(line);
            assert_eq!(cells.len(), header.len(), "{line}");
            Row {
                cells: header.iter().cloned().zip(cells).collect(),
            }
        })
        .collect();
    assert!(!rows.is_empty());
    rows
}

fn split(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            _ => cells.last_mut().expect("one cell at least").push(c),
        }
    }
    cells
}

/// `found` is within `share` of `expected`.
#[track_caller]
pub fn within(what: &str, found: f64, expected: f64, share: f64) {
    let apart = (found - expected).abs();
    assert!(
        apart <= share * expected.abs(),
        "{what}: {found} is {:.4} % off {expected}",
        100.0 * apart / expected.abs()
    );
}

/// `found` differs from `expected` by no more than `step`.
#[track_caller]
pub fn near(what: &str, found: f64, expected: f64, step: f64) {
    assert!(
        (found - expected).abs() <= step,
        "{what}: {found} is more than {step} off {expected}"
    );
}
