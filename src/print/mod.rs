//! Results as plain text for a person: within 100 columns, figures on the right; and lists as spreadsheets.
//!
//! In: results of the desk. Out: text. Deliberately absent: arithmetic; every figure is printed as it was computed.

mod answers;
mod bill;
mod estimate;
mod explanation;
mod figure;
mod purchase_list;
mod sizing;
mod table;

use table::{WIDTH, wrapped};

pub use estimate::estimate;
pub use purchase_list::{purchase_csv, purchase_workbook};
pub use sizing::sized_job;

/// A heading with a line under it, after an empty line.
fn heading(out: &mut String, text: &str) {
    out.push_str(&format!("\n{text}\n{}\n", "=".repeat(text.chars().count())));
}

/// A list under its heading; nothing where there is nothing in it.
fn list(out: &mut String, title: &str, entries: impl Iterator<Item = String>) {
    let mut entries = entries.peekable();
    if entries.peek().is_none() {
        return;
    }
    heading(out, title);
    for entry in entries {
        let text = wrapped(&entry, "  ", WIDTH);
        out.push_str(&text.replacen("  ", "- ", 1));
    }
}
