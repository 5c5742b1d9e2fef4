//! One table of the file, its fields taken one by one; what is missing, of the wrong sort or not
//! known is told, and reading goes on.

use super::super::finding::Findings;
use super::super::formula::Flaw;
use super::super::span::Span;
use super::Text;
use crate::quantity::nearest;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The most entries of any list in a rulebook.
pub const MAX_ENTRIES: usize = 2_000;

/// A table of the file and which part of the rulebook it is.
pub(super) struct Fields<'d> {
    table: &'d DeTable<'d>,
    span: Span,
    part: String,
    known: Vec<&'static str>,
    /// Whether it is not known what belongs here, so that no field is told to be foreign.
    open: bool,
}

fn span<T>(spanned: &Spanned<T>) -> Span {
    let range = spanned.span();
    Span::new(range.start, range.end)
}

/// A text, or a number or boolean by the letters with which it is written.
fn scalar(value: &Spanned<DeValue<'_>>, only_text: bool) -> Option<Text> {
    let at = span(value);
    match value.get_ref() {
        DeValue::String(text) => Some(Text::new(text, at)),
        DeValue::Integer(number) if !only_text && number.radix() == 10 => {
            Some(Text::new(number.as_str(), at))
        }
        DeValue::Float(number) if !only_text => Some(Text::new(number.as_str(), at)),
        DeValue::Boolean(true) if !only_text => Some(Text::new("true", at)),
        DeValue::Boolean(false) if !only_text => Some(Text::new("false", at)),
        _ => None,
    }
}

impl<'d> Fields<'d> {
    pub(super) fn new(table: &'d DeTable<'d>, span: Span, part: impl Into<String>) -> Self {
        Self {
            table,
            span,
            part: part.into(),
            known: Vec::new(),
            open: false,
        }
    }

    /// It cannot be told what belongs here: fields that nobody asks for are not told.
    pub(super) fn leave_open(&mut self) {
        self.open = true;
    }

    pub(super) fn part(&self) -> &str {
        &self.part
    }

    /// Names the part more closely, once its own name has been read.
    pub(super) fn named(&mut self, part: String) {
        self.part = part;
    }

    pub(super) fn span(&self) -> Span {
        self.span
    }

    pub(super) fn has(&self, field: &str) -> bool {
        self.table.contains_key(field)
    }

    /// Where a field's value stands.
    pub(super) fn span_of(&self, field: &str) -> Option<Span> {
        self.table.get(field).map(span)
    }

    fn take(&mut self, field: &'static str) -> Option<&'d Spanned<DeValue<'d>>> {
        self.known.push(field);
        self.table.get(field)
    }

    fn wrong(&self, findings: &mut Findings<'_>, field: &str, value: &Spanned<DeValue<'_>>, expected: &str) {
        let flaw = Flaw::new(span(value), "wrong_sort", format!("`{field}` is not {expected}"))
            .found(value.get_ref().type_str())
            .expected(expected);
        findings.error(&self.part, field, flaw);
    }

    /// Tells that a field is missing.
    pub(super) fn missing(&self, findings: &mut Findings<'_>, field: &str) {
        let flaw = Flaw::new(self.span, "missing_field", format!("`{field}` is missing"));
        findings.error(&self.part, field, flaw);
    }

    /// A text that must be there; quoted.
    pub(super) fn text(&mut self, findings: &mut Findings<'_>, field: &'static str) -> Option<Text> {
        let text = self.maybe_text(findings, field);
        if text.is_none() && !self.has(field) {
            self.missing(findings, field);
        }
        text
    }

    /// A text that may be there; quoted.
    pub(super) fn maybe_text(&mut self, findings: &mut Findings<'_>, field: &'static str) -> Option<Text> {
        self.one(findings, field, true)
    }

    /// A formula or figure that must be there; quoted, or a bare number or boolean.
    pub(super) fn value(&mut self, findings: &mut Findings<'_>, field: &'static str) -> Option<Text> {
        let text = self.maybe_value(findings, field);
        if text.is_none() && !self.has(field) {
            self.missing(findings, field);
        }
        text
    }

    /// A formula or figure that may be there; quoted, or a bare number or boolean.
    pub(super) fn maybe_value(&mut self, findings: &mut Findings<'_>, field: &'static str) -> Option<Text> {
        self.one(findings, field, false)
    }

    fn one(&mut self, findings: &mut Findings<'_>, field: &'static str, only_text: bool) -> Option<Text> {
        let value = self.take(field)?;
        let text = scalar(value, only_text);
        if text.is_none() {
            self.wrong(
                findings,
                field,
                value,
                if only_text {
                    "a text in quotes"
                } else {
                    "a text or a number"
                },
            );
        }
        text
    }

    /// A boolean; false when absent.
    pub(super) fn flag(&mut self, findings: &mut Findings<'_>, field: &'static str) -> bool {
        let Some(value) = self.take(field) else {
            return false;
        };
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            self.wrong(findings, field, value, "true or false");
        }
        flag.unwrap_or(false)
    }

    /// Any value, as JSON: numbers by their digits.
    pub(super) fn json(&mut self, field: &'static str) -> Option<serde_json::Value> {
        self.take(field).map(|value| json(value.get_ref()))
    }

    /// A table that may be there, as a JSON object.
    pub(super) fn tree(
        &mut self,
        findings: &mut Findings<'_>,
        field: &'static str,
    ) -> Option<serde_json::Value> {
        let value = self.take(field)?;
        if !value.get_ref().is_table() {
            self.wrong(findings, field, value, "a table");
            return None;
        }
        Some(json(value.get_ref()))
    }

    fn array(&mut self, findings: &mut Findings<'_>, field: &'static str) -> &'d [Spanned<DeValue<'d>>] {
        let Some(value) = self.take(field) else { return &[] };
        let DeValue::Array(array) = value.get_ref() else {
            self.wrong(findings, field, value, "a list");
            return &[];
        };
        if array.len() > MAX_ENTRIES {
            let flaw = Flaw::new(
                span(value),
                "too_large",
                format!("`{field}` has too many entries"),
            )
            .found(array.len().to_string())
            .expected(format!("at most {MAX_ENTRIES}"));
            findings.error(&self.part, field, flaw);
        }
        array.get(..array.len().min(MAX_ENTRIES)).unwrap_or_default()
    }

    /// A list of texts; empty when absent.
    pub(super) fn texts(&mut self, findings: &mut Findings<'_>, field: &'static str) -> Vec<Text> {
        let mut texts = Vec::new();
        for value in self.array(findings, field) {
            match scalar(value, true) {
                Some(text) => texts.push(text),
                None => self.wrong(findings, field, value, "a list of texts in quotes"),
            }
        }
        texts
    }

    /// A list of lists of figures, each with its place; empty when absent.
    pub(super) fn rows(
        &mut self,
        findings: &mut Findings<'_>,
        field: &'static str,
    ) -> Vec<(Span, Vec<Text>)> {
        let mut rows = Vec::new();
        for row in self.array(findings, field) {
            let DeValue::Array(values) = row.get_ref() else {
                self.wrong(findings, field, row, "a list of rows");
                continue;
            };
            let mut cells = Vec::new();
            for value in values.iter() {
                match scalar(value, false) {
                    Some(cell) => cells.push(cell),
                    None => self.wrong(findings, field, value, "a text, a number, true or false"),
                }
            }
            rows.push((span(row), cells));
        }
        rows
    }

    /// A list of tables; empty when absent.
    pub(super) fn tables(&mut self, findings: &mut Findings<'_>, field: &'static str) -> Vec<Fields<'d>> {
        let mut tables = Vec::new();
        for (value, number) in self.array(findings, field).iter().zip(1_usize..) {
            match value.get_ref() {
                DeValue::Table(table) => {
                    let part = match self.part.as_str() {
                        "" => format!("{field} {number}"),
                        part => format!("{part}, {field} {number}"),
                    };
                    tables.push(Fields::new(table, span(value), part));
                }
                _ => self.wrong(findings, field, value, "a list of tables"),
            }
        }
        tables
    }

    /// A table that may be there.
    pub(super) fn maybe_table(
        &mut self,
        findings: &mut Findings<'_>,
        field: &'static str,
    ) -> Option<Fields<'d>> {
        let value = self.take(field)?;
        match value.get_ref() {
            DeValue::Table(table) => Some(Fields::new(table, span(value), field)),
            _ => {
                self.wrong(findings, field, value, "a table");
                None
            }
        }
    }

    /// Tells of every field that nobody asked for.
    pub(super) fn finish(self, findings: &mut Findings<'_>) {
        if self.open {
            return;
        }
        for key in self
            .table
            .keys()
            .filter(|key| !self.known.contains(&key.get_ref().as_ref()))
        {
            let name: String = key.get_ref().chars().take(60).collect();
            let flaw = Flaw::new(
                span(key),
                "unknown_field",
                format!("there is no field `{name}` here"),
            )
            .expected(self.known.join(", "))
            .suggest(nearest::name(&name, self.known.iter().copied()));
            findings.error(&self.part, &name, flaw);
        }
    }
}

fn json(value: &DeValue<'_>) -> serde_json::Value {
    use serde_json::Value;
    match value {
        DeValue::String(text) => Value::String(text.to_string()),
        // A count stays a number; any other number is a text with its digits, which the job form reads as well.
        DeValue::Integer(number) => match number.as_str().parse::<i64>() {
            Ok(count) if number.radix() == 10 => Value::from(count),
            _ => Value::String(number.as_str().to_owned()),
        },
        DeValue::Float(number) => Value::String(number.as_str().to_owned()),
        DeValue::Boolean(flag) => Value::Bool(*flag),
        DeValue::Datetime(time) => Value::String(time.to_string()),
        DeValue::Array(values) => values.iter().map(|value| json(value.get_ref())).collect(),
        DeValue::Table(table) => table
            .iter()
            .map(|(key, value)| (key.get_ref().to_string(), json(value.get_ref())))
            .collect::<serde_json::Map<_, _>>()
            .into(),
    }
}
