//! TOML to rulebook: every fault of shape in one pass.

use super::super::finding::{Finding, Findings};
use super::super::formula::Flaw;
use super::super::outcome::Level;
use super::super::span::{Span, Standing};
use super::fields::Fields;
use super::read_examples::example;
use super::read_lines::assembly;
use super::{
    AllowanceRule, Check, Completeness, Derived, Exclusion, Factor, Input, Key, Matching, Row, Rulebook,
    Table, Text, Unknown,
};
use crate::job::Treat;
use toml::de::DeTable;

/// The longest rulebook, in bytes.
pub const MAX_FILE: usize = 1_000_000;

/// Reads a rulebook from TOML.
///
/// # Errors
/// Every fault of TOML or of shape, each with its place in the file.
pub fn parse_toml(text: &str) -> Result<Rulebook, Vec<Finding>> {
    let mut findings = Findings::new(text);
    if text.len() > MAX_FILE {
        let flaw = Flaw::new(Span::new(0, 0), "too_large", "the file is too large")
            .found(format!("{} bytes", text.len()))
            .expected(format!("at most {MAX_FILE}"));
        findings.error("", "", flaw);
        return Err(findings.sorted());
    }
    let (document, faults) = DeTable::parse_recoverable(text);
    for fault in &faults {
        let span = fault.span().unwrap_or(0..0);
        let flaw = Flaw::new(
            Span::new(span.start, span.end),
            "toml",
            fault.message().to_owned(),
        );
        findings.error("", "", flaw);
    }
    if findings.has_errors() {
        // What could be read of a broken file would only give findings that follow from the break.
        return Err(findings.sorted());
    }
    let mut fields = Fields::new(document.get_ref(), Span::new(0, 0), "");
    let rulebook = rulebook(&mut fields, &mut findings);
    fields.finish(&mut findings);
    match rulebook {
        Some(rulebook) if !findings.has_errors() => Ok(rulebook),
        _ => Err(findings.sorted()),
    }
}

fn rulebook(file: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Rulebook> {
    let head = file.maybe_table(findings, "rulebook");
    if head.is_none() && !file.has("rulebook") {
        file.missing(findings, "rulebook");
    }
    let head = head.map(|mut head| {
        let read = (
            head.text(findings, "id"),
            head.text(findings, "title"),
            head.texts(findings, "adopted_codes"),
            head.texts(findings, "shared_items"),
        );
        head.finish(findings);
        read
    });
    let max_factor = file.maybe_table(findings, "labour").and_then(|mut labour| {
        let max = labour.maybe_value(findings, "max_factor");
        labour.finish(findings);
        max
    });
    let rest = Rulebook {
        id: Text::new("", Span::default()),
        title: Text::new("", Span::default()),
        adopted_codes: Vec::new(),
        shared_items: Vec::new(),
        max_factor,
        inputs: each(file, findings, "input", input),
        tables: each(file, findings, "table", table),
        derived: each(file, findings, "derived", derived),
        factors: each(file, findings, "factor", factor),
        assemblies: each(file, findings, "assembly", assembly),
        checks: each(file, findings, "check", check),
        unknowns: each(file, findings, "unknown", unknown),
        completeness: each(file, findings, "completeness", completeness),
        exclusions: each(file, findings, "exclusion", exclusion),
        examples: each(file, findings, "example", example),
        file: findings.file().into(),
    };
    let (id, title, adopted_codes, shared_items) = head?;
    Some(Rulebook {
        id: id?,
        title: title?,
        adopted_codes,
        shared_items,
        ..rest
    })
}

/// Reads each table of a list; what cannot be read has been told and is left out.
pub(super) fn each<T>(
    fields: &mut Fields<'_>,
    findings: &mut Findings<'_>,
    name: &'static str,
    read: impl Fn(&mut Fields<'_>, &mut Findings<'_>) -> Option<T>,
) -> Vec<T> {
    let mut all = Vec::new();
    for mut one in fields.tables(findings, name) {
        all.extend(read(&mut one, findings));
        one.finish(findings);
    }
    all
}

/// Takes the text that names a part and names the part by it in findings.
pub(super) fn name(
    fields: &mut Fields<'_>,
    findings: &mut Findings<'_>,
    field: &'static str,
    sort: &str,
) -> Option<Text> {
    let name = fields.text(findings, field);
    if let Some(name) = &name {
        fields.named(format!("{sort} {}", name.as_str()));
    }
    name
}

fn input(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Input> {
    let name = name(fields, findings, "name", "input");
    let (title, kind) = (fields.text(findings, "title"), fields.text(findings, "type"));
    let unit = fields.maybe_text(findings, "unit");
    let (min, max) = (
        fields.maybe_value(findings, "min"),
        fields.maybe_value(findings, "max"),
    );
    let default = fields.maybe_value(findings, "default");
    let words = fields.texts(findings, "words");
    let when = fields.maybe_value(findings, "when");
    Some(Input {
        name: name?,
        title: title?,
        kind: kind?,
        unit,
        min,
        max,
        default,
        words,
        when,
    })
}

fn table(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Table> {
    let name = name(fields, findings, "name", "table");
    let title = fields.maybe_text(findings, "title");
    let value = fields.text(findings, "value");
    let keys = each(fields, findings, "keys", key);
    let rows = fields.rows(findings, "rows");
    let rows = rows
        .into_iter()
        .map(|(span, cells)| Row { cells, span })
        .collect();
    let source = fields.maybe_text(findings, "source");
    Some(Table {
        name: name?,
        title,
        value: value?,
        keys,
        rows,
        source,
    })
}

fn key(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Key> {
    let name = fields.text(findings, "name");
    let (of, unit) = (
        fields.maybe_text(findings, "of"),
        fields.maybe_text(findings, "unit"),
    );
    let matched = fields.maybe_text(findings, "match");
    let has_clamp = fields.has("clamp");
    let clamp = fields.flag(findings, "clamp");
    let matching = match (matched.as_deref(), of, unit) {
        (None | Some("equal"), Some(of), None) if !has_clamp => Matching::Equal { of },
        (Some("up_to"), None, Some(unit)) if !has_clamp => Matching::UpTo { unit },
        (Some("interpolate"), None, Some(unit)) => Matching::Interpolate { unit, clamp },
        (None | Some("equal" | "up_to"), _, _) if has_clamp => {
            let message = "clamp is of a key with match = \"interpolate\" only";
            let flaw = Flaw::new(fields.span(), "key", message).expected("this key without clamp");
            findings.error(fields.part(), "keys", flaw);
            return None;
        }
        _ => {
            let expected = "either of = \"a choice\", or unit = \"a unit\" with match = \"up_to\" or \"interpolate\" \
                            (and clamp = true where the ends hold beyond)";
            let flaw =
                Flaw::new(fields.span(), "key", "it is not clear how this key is matched").expected(expected);
            findings.error(fields.part(), "keys", flaw);
            return None;
        }
    };
    Some(Key {
        name: name?,
        matching,
    })
}

fn derived(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Derived> {
    let name = name(fields, findings, "name", "derived value");
    let title = fields.maybe_text(findings, "title");
    let (unit, formula) = (fields.text(findings, "unit"), fields.value(findings, "formula"));
    let source = fields.maybe_text(findings, "source");
    Some(Derived {
        name: name?,
        title,
        unit: unit?,
        formula: formula?,
        source,
    })
}

fn factor(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Factor> {
    let name = name(fields, findings, "name", "labour factor");
    let title = fields.text(findings, "title");
    let (when, add) = (fields.value(findings, "when"), fields.value(findings, "add"));
    Some(Factor {
        name: name?,
        title: title?,
        when: when?,
        add: add?,
    })
}

fn check(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Check> {
    let code = name(fields, findings, "code", "check");
    let level = fields
        .text(findings, "level")
        .and_then(|level| match level.as_str() {
            "caution" => Some(Level::Caution),
            "stop" => Some(Level::Stop),
            other => {
                let flaw = level
                    .whole("unknown_word", format!("`{other}` is no level"))
                    .expected("caution or stop");
                findings.error(fields.part(), "level", flaw);
                None
            }
        });
    let (when, message) = (fields.value(findings, "when"), fields.text(findings, "message"));
    let source = fields.maybe_text(findings, "source");
    Some(Check {
        code: code?,
        level: level?,
        when: when?,
        message: message?,
        source,
    })
}

fn unknown(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Unknown> {
    let answer = name(fields, findings, "answer", "unknown answer");
    let treat = fields
        .text(findings, "treat")
        .and_then(|treat| match treat.as_str() {
            "assume" => Some(Treat::Assume),
            "allowance" => Some(Treat::Allowance),
            "stop" => Some(Treat::Stop),
            other => {
                let flaw = treat.whole(
                    "unknown_word",
                    format!("`{other}` is no way to treat an unknown answer"),
                );
                findings.error(fields.part(), "treat", flaw.expected("assume, allowance or stop"));
                None
            }
        });
    let (when, wording) = (
        fields.maybe_value(findings, "when"),
        fields.text(findings, "wording"),
    );
    let value_at = fields.span_of("value");
    let value = fields.json("value");
    let wants_money = treat == Some(Treat::Allowance);
    let allowance = if wants_money || fields.has("amount") {
        let amount = fields.value(findings, "amount");
        let (cost_code, tax_category) = (
            fields.text(findings, "cost_code"),
            fields.text(findings, "tax_category"),
        );
        Some(AllowanceRule {
            amount: amount?,
            cost_code: cost_code?,
            tax_category: tax_category?,
        })
    } else {
        None
    };
    let answer = answer?;
    Some(Unknown {
        value_at: Standing(value_at.unwrap_or(answer.span())),
        answer,
        treat: treat?,
        when,
        value,
        wording: wording?,
        allowance,
    })
}

fn completeness(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Completeness> {
    let code = name(fields, findings, "code", "completeness");
    let title = fields.text(findings, "title");
    let covered_by = fields.texts(findings, "covered_by");
    let (when, wording) = (
        fields.maybe_value(findings, "when"),
        fields.maybe_text(findings, "wording"),
    );
    Some(Completeness {
        code: code?,
        title: title?,
        covered_by,
        when,
        wording,
    })
}

fn exclusion(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Exclusion> {
    let code = name(fields, findings, "code", "exclusion");
    let (text, when) = (
        fields.text(findings, "text"),
        fields.maybe_value(findings, "when"),
    );
    Some(Exclusion {
        code: code?,
        text: text?,
        when,
    })
}
