//! What is wrong with one entry of a file of seed data: all of it, though the reader stops at its first fault.

use estimate::quantity::nearest;
use estimate::rules::span::line_and_column;
use serde::de::DeserializeOwned;

use crate::desk::shape_words::{named, plain};

/// Faults of one entry that are told.
const MOST: usize = 20;
/// What may stand for a field that is missing, so that the next one that is missing is told too.
const STAND_INS: [&str; 8] = [
    "\"1\"",
    "\"2000-01-01\"",
    "\"each\"",
    "1",
    "true",
    "[]",
    "{}",
    "\"material\"",
];

/// A fault: line and column, and what is wrong.
pub(super) type Found = (Option<(usize, usize)>, String);

/// An entry while it is read again and again.
struct Entry {
    text: String,
    /// Fields whose line was left out, since it has a fault that is told.
    left_out: Vec<String>,
    /// Lines put in behind the head.
    put_in: usize,
    found: Vec<Found>,
}

/// Every fault of an entry, which stands alone in `text` at its own lines.
pub(super) fn faults<T: DeserializeOwned>(text: String) -> Vec<Found> {
    let mut entry = Entry {
        text,
        left_out: Vec::new(),
        put_in: 0,
        found: Vec::new(),
    };
    for _ in 0..MOST {
        let Err(fault) = toml::from_str::<T>(&entry.text) else {
            break;
        };
        let missing = named(fault.message(), "missing field ").map(|(field, _)| field.to_owned());
        let goes_on = match missing {
            Some(field) => {
                if !entry.left_out.contains(&field) {
                    entry.tell(&fault);
                }
                entry.put_in::<T>(&field)
            }
            None => {
                entry.tell(&fault);
                entry.leave_out(&fault)
            }
        };
        if !goes_on {
            break;
        }
    }
    entry.found
}

impl Entry {
    fn tell(&mut self, fault: &toml::de::Error) {
        let place = fault.span().map(|span| {
            let (line, column) = line_and_column(&self.text, span.start);
            let head = line_and_column(&self.text, self.head()).0;
            let put_in = if line > head { self.put_in } else { 0 };
            (line.saturating_sub(put_in), column)
        });
        self.found.push((place, plain(fault.message())));
    }

    /// Where the head of the entry begins.
    fn head(&self) -> usize {
        self.text.find(|sign: char| sign != '\n').unwrap_or_default()
    }

    /// Puts in something for a field that is missing; false where nothing fits.
    fn put_in<T: DeserializeOwned>(&mut self, field: &str) -> bool {
        let end = self.text.get(self.head()..).and_then(|text| text.find('\n'));
        let Some(at) = end.map(|end| self.head() + end + 1) else {
            return false;
        };
        for value in STAND_INS {
            let line = format!("{field} = {value}\n");
            let mut text = self.text.clone();
            text.insert_str(at, &line);
            let fits = match toml::from_str::<T>(&text) {
                Ok(_) => true,
                Err(fault) => fault
                    .span()
                    .is_none_or(|span| !(at..at + line.len()).contains(&span.start)),
            };
            if fits {
                self.text = text;
                self.put_in += 1;
                return true;
            }
        }
        false
    }

    /// Leaves out the line that has the fault; false where it cannot be.
    fn leave_out(&mut self, fault: &toml::de::Error) -> bool {
        let Some(line) = fault.span().and_then(|span| line_around(&self.text, span.start)) else {
            return false;
        };
        let field = self.text.get(line.clone()).and_then(|line| line.split_once('='));
        let Some((field, _)) = field else { return false };
        self.left_out.push(field.trim().to_owned());
        if let Some((name, known)) = named(fault.message(), "unknown field ") {
            // The field that was meant is there, in other letters.
            self.left_out
                .extend(nearest::name(name, known).map(str::to_owned));
        }
        self.text.replace_range(line, "");
        // What is left must still be TOML, or its faults are those of the cut.
        toml::from_str::<toml::Table>(&self.text).is_ok()
    }
}

/// The line around this place, without its end.
fn line_around(text: &str, at: usize) -> Option<std::ops::Range<usize>> {
    let (before, behind) = text.split_at_checked(at)?;
    let start = before.rfind('\n').map_or(0, |end| end + 1);
    let end = behind.find('\n').map_or(text.len(), |end| at + end);
    Some(start..end)
}
