//! Names and codes that the office gives.

use super::super::formula::KEYWORDS;
use super::super::rulebook::{LineKind, Rulebook, Text};
use super::compiler::{At, Compiler};
use crate::quantity::unit::Unit;

/// The most characters of a name or code.
const LONGEST: usize = 60;

impl Compiler<'_, '_> {
    /// Names stand in formulas: lower-case letters, digits and underscores, and no word that has a
    /// meaning of its own there.
    pub(super) fn own_name(&mut self, part: &str, name: &Text) {
        let letters = name
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
        let begins = name.starts_with(|c: char| c.is_ascii_lowercase());
        if !letters || !begins || name.len() > LONGEST {
            let flaw = name
                .whole("name", format!("`{}` is not a name", shortened(name)))
                .expected(format!(
                    "lower-case letters, digits and _, a letter first, at most {LONGEST}"
                ));
            self.error(At::new(part, "name"), flaw);
        } else if KEYWORDS.contains(&name.as_str()) || Unit::parse(name).is_ok() {
            let message = format!("`{}` has a meaning of its own in formulas", name.as_str());
            self.error(
                At::new(part, "name"),
                name.whole("name", message).expected("another name"),
            );
        }
    }

    /// Codes stand in the keys of lines and in addresses: they are held to letters that need no
    /// escape there.
    pub(super) fn codes(&mut self, rulebook: &Rulebook) {
        self.code("rulebook", "id", &rulebook.id);
        for assembly in &rulebook.assemblies {
            let part = format!("assembly {}", shortened(&assembly.code));
            self.code(&part, "code", &assembly.code);
            for line in &assembly.lines {
                if let LineKind::Labour { task, .. } = &line.kind {
                    self.code(&part, "task", task);
                }
            }
        }
        let checks = rulebook.checks.iter().map(|check| ("check", &check.code));
        let exclusions = rulebook.exclusions.iter().map(|one| ("exclusion", &one.code));
        let subjects = rulebook
            .completeness
            .iter()
            .map(|one| ("completeness", &one.code));
        for (sort, code) in checks.chain(exclusions).chain(subjects) {
            self.code(&format!("{sort} {}", shortened(code)), "code", code);
        }
    }

    fn code(&mut self, part: &str, field: &str, code: &Text) {
        let letters = code
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'));
        let begins = code.starts_with(|c: char| c.is_ascii_alphanumeric());
        if !letters || !begins || code.len() > LONGEST {
            let flaw = code
                .whole("name", format!("`{}` is not a code", shortened(code)))
                .expected(format!(
                    "letters, digits, -, _ and ., a letter or digit first, at most {LONGEST}"
                ));
            self.error(At::new(part, field), flaw);
        }
    }
}

fn shortened(text: &str) -> String {
    text.chars().take(LONGEST).collect()
}
