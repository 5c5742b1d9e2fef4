//! Stable names of lines: the same line of the same job has the same key after every change.

use std::fmt;

use serde::{Serialize, Serializer};

use crate::catalogue::Catalogue;
use crate::rules::Rulebook;
use crate::rules::rulebook::LineKind;

/// The name by which an override finds its line. Written `material:TUBE-3/8`, `labour:HANG/hang_unit`,
/// `subcontract:CIRCUIT/3`, `fee:PERMIT/1`, `allowance:/electrical/panel_length`, `manual:1`,
/// `policy:freight`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LineKey<'a> {
    /// An item, whichever assemblies need it.
    Material {
        /// The item's code.
        item: &'a str,
    },
    /// A task of an assembly.
    Labour {
        /// The assembly's code.
        assembly: &'a str,
        /// The task's code.
        task: &'a str,
    },
    /// Work of another firm.
    Subcontract {
        /// The assembly's code.
        assembly: &'a str,
        /// The line's number within its assembly, as the rulebook counts, from 1.
        number: usize,
    },
    /// A charge.
    Fee {
        /// The assembly's code.
        assembly: &'a str,
        /// The line's number within its assembly, as the rulebook counts, from 1.
        number: usize,
    },
    /// Money set aside for an answer that nobody knows.
    Allowance {
        /// JSON Pointer of the answer, as the rulebook names it.
        answer: &'a str,
    },
    /// A line put in by hand.
    Manual {
        /// Its number in the request, from 1.
        number: usize,
    },
    /// A line that the policy makes.
    Policy(PolicyLine),
}

/// Lines that come from the policy and not from the rulebook.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PolicyLine {
    /// Freight on goods.
    Freight,
    /// Small parts that nobody counts.
    Consumables,
    /// Tax that the contractor owes on what it buys.
    UseTax,
}

impl PolicyLine {
    /// Every one, in the order in which they stand on the bill.
    pub const ALL: [PolicyLine; 3] = [PolicyLine::Freight, PolicyLine::Consumables, PolicyLine::UseTax];

    /// The word in the line's key.
    pub fn word(self) -> &'static str {
        match self {
            PolicyLine::Freight => "freight",
            PolicyLine::Consumables => "consumables",
            PolicyLine::UseTax => "use_tax",
        }
    }

    /// The policy line that `key` names, if it names one.
    pub fn of_key(key: &str) -> Option<PolicyLine> {
        let word = key.strip_prefix("policy:")?;
        PolicyLine::ALL.into_iter().find(|line| line.word() == word)
    }
}

impl LineKey<'_> {
    /// Whether `text` is this key as it is written.
    pub fn is_written(&self, text: &str) -> bool {
        use fmt::Write;
        let mut rest = Rest(text);
        write!(rest, "{self}").is_ok() && rest.0.is_empty()
    }
}

/// Keys of every line that a bill under this rulebook and catalogue can have, but for those put in by hand; in
/// the order of the texts.
pub fn possible_keys(rulebook: &Rulebook, catalogue: &Catalogue) -> Vec<String> {
    let materials = catalogue
        .items()
        .iter()
        .map(|item| LineKey::Material { item: &item.code });
    let assemblies = rulebook.assemblies.iter().flat_map(|assembly| {
        let code = assembly.code.as_str();
        let numbered = (1..).zip(&assembly.lines);
        numbered.filter_map(move |(number, line)| match &line.kind {
            LineKind::Material { .. } => None,
            LineKind::Labour { task, .. } => Some(LineKey::Labour {
                assembly: code,
                task: task.as_str(),
            }),
            LineKind::Subcontract { .. } => Some(LineKey::Subcontract {
                assembly: code,
                number,
            }),
            LineKind::Fee { .. } => Some(LineKey::Fee {
                assembly: code,
                number,
            }),
        })
    });
    let set_aside = rulebook
        .unknowns
        .iter()
        .filter(|unknown| unknown.allowance.is_some());
    let allowances = set_aside.map(|unknown| LineKey::Allowance {
        answer: unknown.answer.as_str(),
    });
    let policy = PolicyLine::ALL.into_iter().map(LineKey::Policy);
    let mut keys: Vec<String> = materials
        .chain(assemblies)
        .chain(allowances)
        .chain(policy)
        .map(|key| key.to_string())
        .collect();
    keys.sort_unstable();
    keys
}

/// What is left of a text that is compared while another one is written.
struct Rest<'t>(&'t str);

impl fmt::Write for Rest<'_> {
    fn write_str(&mut self, part: &str) -> fmt::Result {
        self.0 = self.0.strip_prefix(part).ok_or(fmt::Error)?;
        Ok(())
    }
}

impl fmt::Display for LineKey<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LineKey::Material { item } => write!(f, "material:{item}"),
            LineKey::Labour { assembly, task } => write!(f, "labour:{assembly}/{task}"),
            LineKey::Subcontract { assembly, number } => write!(f, "subcontract:{assembly}/{number}"),
            LineKey::Fee { assembly, number } => write!(f, "fee:{assembly}/{number}"),
            LineKey::Allowance { answer } => write!(f, "allowance:{answer}"),
            LineKey::Manual { number } => write!(f, "manual:{number}"),
            LineKey::Policy(line) => write!(f, "policy:{}", line.word()),
        }
    }
}

impl Serialize for LineKey<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
