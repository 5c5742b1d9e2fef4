//! The canonical text of a rulebook: every part and field in one order and one spelling.
//!
//! A rulebook's tree becomes lines; each line knows which part of the tree it writes, so that a comment finds its
//! line again and a fault in the text finds its place in the tree.

use serde_json::{Map, Value};

use super::part::PartKind;

/// The longest list that is written in one line, in characters.
const LINE_WIDTH: usize = 100;

/// A part of a line and what it writes: its place in the line in bytes, and the JSON Pointer of it.
#[derive(Debug, Clone)]
struct Spot {
    start: usize,
    end: usize,
    of: String,
}

/// A line of the text; a list of rows has a line of its own for each.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// JSON Pointer of what it writes.
    pub(super) of: String,
    /// The text, without a line break at its end.
    pub(super) text: String,
    /// Whether it is a header, with an empty line in front.
    pub(super) header: bool,
    /// Comment lines above it; an empty one is an empty line.
    pub(super) above: Vec<String>,
    /// The comment behind it.
    pub(super) behind: Option<String>,
    spots: Vec<Spot>,
}

/// What can be written as text, or cannot.
#[derive(Debug, Default)]
pub(super) struct Written {
    /// The lines.
    pub(super) lines: Vec<Line>,
    /// JSON Pointers of what TOML has no word for: null.
    pub(super) nothing: Vec<String>,
    /// Whether what says nothing is written too: false, and empty lists.
    whole: bool,
}

/// Text with what each place of it writes.
#[derive(Debug, Default)]
pub(super) struct Composed {
    /// The text.
    pub(super) text: String,
    spots: Vec<Spot>,
}

impl Composed {
    /// The JSON Pointer of what is written at `at`: of the narrowest place there.
    pub(super) fn pointer(&self, at: usize) -> &str {
        let around = self
            .spots
            .iter()
            .filter(|spot| (spot.start..=spot.end).contains(&at));
        let narrowest = around.min_by_key(|spot| (spot.end.saturating_sub(spot.start), spot.start));
        narrowest.map_or("", |spot| &spot.of)
    }
}

/// The canonical lines of a rulebook's tree.
pub(super) fn rulebook(tree: &Map<String, Value>) -> Written {
    let mut written = Written::default();
    written.rulebook(tree);
    written
}

/// The lines of a tree that has not been read yet: nothing is left out.
pub(super) fn unread(tree: &Map<String, Value>) -> Written {
    let mut written = Written {
        whole: true,
        ..Written::default()
    };
    written.rulebook(tree);
    written
}

/// The canonical lines of one part; those of a line stand under its assembly's header.
pub(super) fn part(kind: PartKind, tree: &Value, of: &str) -> Written {
    let mut written = Written::default();
    if let Some(members) = tree.as_object() {
        let header = match kind {
            PartKind::Line => "assembly.line",
            other => other.word(),
        };
        written.listed(header, of, members);
    }
    written
}

/// Lines become text: an empty line in front of each header, comments where they were.
pub(super) fn compose(lines: &[Line], end: &[String]) -> Composed {
    let mut out = Composed::default();
    for line in lines {
        if line.header && !out.text.is_empty() {
            out.text.push('\n');
        }
        for comment in line.above.iter().filter(|text| line.header || !text.is_empty()) {
            let indent = if line.text.starts_with("  ") { "  " } else { "" };
            let indent = if comment.is_empty() { "" } else { indent };
            out.text.push_str(&format!("{indent}{comment}\n"));
        }
        let start = out.text.len();
        let moved = line.spots.iter().map(|spot| Spot {
            start: spot.start + start,
            end: spot.end + start,
            of: spot.of.clone(),
        });
        out.spots.extend(moved);
        out.text.push_str(&line.text);
        out.spots.push(Spot {
            start,
            end: out.text.len(),
            of: line.of.clone(),
        });
        if let Some(comment) = &line.behind {
            out.text.push_str(&format!(" {comment}"));
        }
        out.text.push('\n');
    }
    if !end.is_empty() {
        out.text.push('\n');
        end.iter()
            .for_each(|comment| out.text.push_str(&format!("{comment}\n")));
    }
    out
}

impl Written {
    fn rulebook(&mut self, tree: &Map<String, Value>) {
        self.header("[rulebook]", "");
        for name in ["id", "title", "adopted_codes", "shared_items"] {
            let value = tree.get(name);
            if let Some(value) = value.filter(|value| self.whole || !says_nothing("rulebook", name, value)) {
                self.field(name, value, "");
            }
        }
        if let Some(max) = tree.get("max_factor") {
            self.header("[labour]", "/max_factor");
            self.field("max_factor", max, "");
        }
        for (kind, list) in PartKind::lists() {
            let parts = tree.get(list).and_then(Value::as_array);
            for (index, part) in parts.into_iter().flatten().enumerate() {
                if let Some(members) = part.as_object() {
                    self.listed(kind.word(), &format!("/{list}/{index}"), members);
                }
            }
        }
    }

    fn push(&mut self, of: &str, text: String, header: bool, spots: Vec<Spot>) {
        self.lines.push(Line {
            of: of.to_owned(),
            text,
            header,
            above: Vec::new(),
            behind: None,
            spots,
        });
    }

    fn header(&mut self, text: &str, of: &str) {
        self.push(of, text.to_owned(), true, Vec::new());
    }

    fn listed(&mut self, header: &str, of: &str, members: &Map<String, Value>) {
        self.header(&format!("[[{header}]]"), of);
        self.table(header, of, members);
    }

    /// The fields of a table, then the tables under it.
    fn table(&mut self, header: &str, of: &str, members: &Map<String, Value>) {
        let own = members.iter().filter(|(name, value)| !under(header, name, value));
        for (name, value) in own {
            if self.whole || !says_nothing(header, name, value) {
                match flag_of(header, name, members) {
                    Some(flag) => self.field(name, &Value::Bool(flag), of),
                    None => self.field(name, value, of),
                }
            }
        }
        for (name, value) in members.iter().filter(|(name, value)| under(header, name, value)) {
            let (below, place) = (format!("{header}.{}", key(name)), child(of, name));
            match value {
                Value::Object(members) => {
                    self.header(&format!("[{below}]"), &place);
                    self.table(&below, &place, members);
                }
                Value::Array(entries) => {
                    for (index, members) in entries.iter().filter_map(Value::as_object).enumerate() {
                        self.listed(&below, &format!("{place}/{index}"), members);
                    }
                }
                _ => {}
            }
        }
    }

    fn field(&mut self, name: &str, value: &Value, of: &str) {
        let place = child(of, name);
        let mut text = format!("{} = ", key(name));
        let mut spots = Vec::new();
        let entries = match value {
            Value::Array(entries) if in_lines(entries) => entries,
            _ => {
                self.inline(value, &place, &mut text, &mut spots);
                return self.push(&place, text, false, spots);
            }
        };
        let mut rows = Vec::with_capacity(entries.len());
        for (index, entry) in entries.iter().enumerate() {
            let (mut row, mut spots) = (String::from("  "), Vec::new());
            let place = format!("{place}/{index}");
            self.inline(entry, &place, &mut row, &mut spots);
            row.push(',');
            rows.push((place, row, spots));
        }
        if let [(_, row, _)] = rows.as_slice()
            && text.len() + row.len() <= LINE_WIDTH
        {
            self.inline(value, &place, &mut text, &mut spots);
            return self.push(&place, text, false, spots);
        }
        text.push('[');
        self.push(&place, text, false, Vec::new());
        for (place, row, spots) in rows {
            self.push(&place, row, false, spots);
        }
        self.push(&place, "]".to_owned(), false, Vec::new());
    }

    fn inline(&mut self, value: &Value, of: &str, out: &mut String, spots: &mut Vec<Spot>) {
        let start = out.len();
        match value {
            Value::Null => {
                self.nothing.push(of.to_owned());
                out.push_str("\"\"");
            }
            Value::Bool(flag) => out.push_str(if *flag { "true" } else { "false" }),
            Value::Number(number) => out.push_str(&number.to_string()),
            Value::String(text) => quote(text, out),
            Value::Array(entries) => {
                out.push('[');
                for (index, entry) in entries.iter().enumerate() {
                    out.push_str(if index == 0 { "" } else { ", " });
                    self.inline(entry, &format!("{of}/{index}"), out, spots);
                }
                out.push(']');
            }
            Value::Object(members) if members.is_empty() => out.push_str("{}"),
            Value::Object(members) => {
                out.push('{');
                for (index, (name, value)) in members.iter().enumerate() {
                    out.push_str(if index == 0 { " " } else { ", " });
                    let (from, place) = (out.len(), child(of, name));
                    out.push_str(&format!("{} = ", key(name)));
                    self.inline(value, &place, out, spots);
                    spots.push(Spot {
                        start: from,
                        end: out.len(),
                        of: place,
                    });
                }
                out.push_str(" }");
            }
        }
        spots.push(Spot {
            start,
            end: out.len(),
            of: of.to_owned(),
        });
    }
}

/// Whether a member stands in tables of its own below its table's header: the lines of an assembly, and the job of
/// an example down to the groups of the survey.
fn under(header: &str, name: &str, value: &Value) -> bool {
    match (header, value) {
        ("assembly", Value::Array(lines)) => name == "line" && lines.iter().all(Value::is_object),
        ("example", Value::Object(_)) => name == "request",
        ("example.request" | "example.request.job", Value::Object(_)) => true,
        _ => false,
    }
}

/// The default of an input that is a flag: written as the word that it is, without quotes.
fn flag_of(header: &str, name: &str, members: &Map<String, Value>) -> Option<bool> {
    let is_default = header == "input" && name == "default" && members.get("type")?.as_str()? == "flag";
    match members.get(name)?.as_str()? {
        "true" if is_default => Some(true),
        "false" if is_default => Some(false),
        _ => None,
    }
}

/// Whether a member may be left out: false, and an empty list. In answers to a survey it may not.
fn says_nothing(header: &str, name: &str, value: &Value) -> bool {
    if name == "value" || header.starts_with("example.request") {
        return false;
    }
    match value {
        Value::Bool(flag) => !flag,
        Value::Array(entries) => entries.is_empty(),
        _ => false,
    }
}

/// Whether a list gets a line for each entry: rows and tables, and what is too long for one line.
fn in_lines(entries: &[Value]) -> bool {
    let nested = entries.iter().any(|entry| entry.is_array() || entry.is_object());
    let length = |entry: &Value| entry.as_str().map_or(8, |text| text.chars().count() + 4);
    nested || entries.iter().map(length).sum::<usize>() > LINE_WIDTH
}

/// The pointer of a member (RFC 6901, section 3).
pub(super) fn child(of: &str, name: &str) -> String {
    format!("{of}/{}", name.replace('~', "~0").replace('/', "~1"))
}

/// A key as TOML writes it: bare where it can be.
fn key(name: &str) -> String {
    let bare = |sign: char| sign.is_ascii_alphanumeric() || sign == '_' || sign == '-';
    if !name.is_empty() && name.chars().all(bare) {
        return name.to_owned();
    }
    let mut out = String::new();
    one_line(name, &mut out);
    out
}

/// A text in quotes; one of several lines keeps them.
fn quote(text: &str, out: &mut String) {
    if !text.contains('\n') {
        return one_line(text, out);
    }
    out.push_str("\"\"\"\n");
    for (index, line) in text.split('\n').enumerate() {
        if index > 0 {
            out.push('\n');
        }
        escaped(line, out);
    }
    out.push_str("\"\"\"");
}

fn one_line(text: &str, out: &mut String) {
    out.push('"');
    escaped(text, out);
    out.push('"');
}

fn escaped(text: &str, out: &mut String) {
    for sign in text.chars() {
        match sign {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            '\r' => out.push_str("\\r"),
            sign if sign.is_control() => out.push_str(&format!("\\U{:08X}", u32::from(sign))),
            sign => out.push(sign),
        }
    }
}
