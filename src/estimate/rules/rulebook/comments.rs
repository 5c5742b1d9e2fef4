//! Comments of a rulebook's text: gathered from where they stand, put back above or behind the same part.
//!
//! A comment inside a list or table that is written in one line goes above that line; one in front of a closing
//! bracket goes above the last entry.

use toml_edit::{DocumentMut, InlineTable, Item, RawString, Table, Value};

use super::part::PartKind;
use super::write::{Line, child};

/// Comments by the JSON Pointer of what they belong to.
#[derive(Debug, Default)]
pub(super) struct Comments {
    above: Vec<(String, Vec<String>)>,
    behind: Vec<(String, String)>,
    /// At the end of the text.
    pub(super) end: Vec<String>,
}

impl Comments {
    /// Every comment of a text.
    pub(super) fn of(document: &DocumentMut) -> Self {
        let mut comments = Self::default();
        for (name, item) in document.iter() {
            let listed = PartKind::lists().find(|(kind, _)| kind.word() == name);
            let place = match (name, listed) {
                ("rulebook", _) => String::new(),
                ("labour", _) => "/max_factor".to_owned(),
                (_, Some((_, list))) => format!("/{list}"),
                (other, None) => child("", other),
            };
            comments.item(item, &place);
        }
        comments.end = lines_of(raw(document.trailing()));
        comments
    }

    /// The comments inside one table of a text; that above its header is not among them.
    pub(super) fn inside(table: &Table, of: &str) -> Self {
        let mut comments = Self::default();
        comments.around(table.decor().suffix(), Some(of), of);
        comments.table(table, of);
        comments
    }

    fn item(&mut self, item: &Item, of: &str) {
        match item {
            Item::None => {}
            Item::Value(value) => self.value(value, of),
            Item::Table(table) => self.headed(table, of),
            Item::ArrayOfTables(tables) => {
                for (index, table) in tables.iter().enumerate() {
                    self.headed(table, &format!("{of}/{index}"));
                }
            }
        }
    }

    fn headed(&mut self, table: &Table, of: &str) {
        self.add_above(of, lines_of(table.decor().prefix().map_or("", raw)));
        self.around(table.decor().suffix(), Some(of), of);
        self.table(table, of);
    }

    fn table(&mut self, table: &Table, of: &str) {
        for (name, item) in table.iter() {
            let place = child(of, name);
            if let Some(key) = table.key(name) {
                self.around(key.leaf_decor().prefix(), None, &place);
            }
            self.item(item, &place);
        }
    }

    fn inline(&mut self, table: &InlineTable, of: &str) {
        for (name, value) in table.iter() {
            let place = child(of, name);
            if let Some(key) = table.key(name) {
                self.around(key.leaf_decor().prefix(), None, &place);
            }
            self.value(value, &place);
        }
        self.around(Some(table.trailing()), Some(of), of);
    }

    fn value(&mut self, value: &Value, of: &str) {
        self.around(value.decor().suffix(), Some(of), of);
        match value {
            Value::Array(entries) => {
                let mut before = of.to_owned();
                for (index, entry) in entries.iter().enumerate() {
                    let place = format!("{of}/{index}");
                    self.around(entry.decor().prefix(), Some(&before), &place);
                    self.value(entry, &place);
                    before = place;
                }
                self.around(Some(entries.trailing()), Some(&before), &before);
            }
            Value::InlineTable(table) => self.inline(table, of),
            _ => {}
        }
    }

    /// What stands between two values: up to the line break it belongs to what is before, the rest to what is after.
    fn around(&mut self, text: Option<&RawString>, before: Option<&str>, after: &str) {
        let text = text.map_or("", raw);
        let Some(before) = before else {
            return self.add_above(after, lines_of(text));
        };
        let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
        if first.trim_start().starts_with('#') {
            self.behind.push((before.to_owned(), first.trim().to_owned()));
        }
        self.add_above(after, lines_of(rest));
    }

    fn add_above(&mut self, of: &str, lines: Vec<String>) {
        if !lines.is_empty() {
            self.above.push((of.to_owned(), lines));
        }
    }

    /// Puts each comment to the line that writes what it belongs to, or the nearest around it.
    pub(super) fn put(self, lines: &mut [Line]) {
        for (of, comment) in self.behind {
            let Some(line) = nearest(lines, &of) else { continue };
            match line.behind {
                None => line.behind = Some(comment),
                Some(_) => line.above.push(comment),
            }
        }
        for (of, comments) in self.above {
            if let Some(line) = nearest(lines, &of) {
                line.above.extend(comments);
            }
        }
    }
}

fn raw(text: &RawString) -> &str {
    text.as_str().unwrap_or_default()
}

/// The comment lines of what stands between two values; an empty line between or behind them is kept as one.
fn lines_of(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    // What stands behind the last line break is the indentation of what follows.
    let (above, rest) = text.rsplit_once('\n').unwrap_or(("", text));
    let last = rest.trim_start().starts_with('#').then_some(rest);
    for line in above.lines().chain(last).map(str::trim) {
        let empty_before = lines.last().is_none_or(String::is_empty);
        if line.starts_with('#') || (line.is_empty() && !empty_before) {
            lines.push(line.to_owned());
        }
    }
    lines
}

/// The line that writes `of`, or the narrowest thing around it.
fn nearest<'l>(lines: &'l mut [Line], of: &str) -> Option<&'l mut Line> {
    let around = |line: &&mut Line| of == line.of || of.starts_with(&format!("{}/", line.of));
    let around = lines.iter_mut().filter(around);
    // Of several lines that write the same the first is meant.
    around.fold(None, |best: Option<&mut Line>, line| match best {
        Some(best) if best.of.len() >= line.of.len() => Some(best),
        _ => Some(line),
    })
}
