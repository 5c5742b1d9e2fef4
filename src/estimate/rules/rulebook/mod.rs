//! The rulebook as the office writes it: every text with its place in the file, nothing checked but
//! its shape. As JSON it has the same fields as in TOML.

mod comments;
mod edit;
mod fields;
mod format;
mod lines;
mod part;
mod read;
mod read_examples;
mod read_lines;
mod read_tree;
mod write;

pub use super::outcome::Level;
use super::span::Standing;
pub use super::text::Text;
use crate::job::Treat;
pub use edit::{EditFault, put_part, remove_part};
pub use fields::MAX_ENTRIES;
pub use format::{format_toml, to_toml};
pub use lines::{Assembly, Charge, ChargeCost, ItemSource, Line, LineKind};
pub use part::{PartKind, PartName};
pub use read::{MAX_FILE, parse_toml};
pub use read_tree::{TreeFault, parse_tree};
use serde::Serialize;
use std::sync::Arc;

/// Assemblies, tables, derived values, extra inputs, checks and worked examples.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Rulebook {
    /// What it is called by requests.
    pub id: Text,
    /// What a person calls it.
    pub title: Text,
    /// Codes and standards that it was written for, printed with every result.
    pub adopted_codes: Vec<Text>,
    /// Codes of items that several assemblies may buy on one job, such as screws and tape.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub shared_items: Vec<Text>,
    /// The highest product of labour factors; a plain number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_factor: Option<Text>,
    /// Questions that it adds to the job spec.
    pub inputs: Vec<Input>,
    /// Tables.
    pub tables: Vec<Table>,
    /// Values computed once and used by name.
    pub derived: Vec<Derived>,
    /// Labour factors.
    pub factors: Vec<Factor>,
    /// Groups of lines.
    pub assemblies: Vec<Assembly>,
    /// Cautions and stops.
    pub checks: Vec<Check>,
    /// What becomes of unknown answers.
    pub unknowns: Vec<Unknown>,
    /// What an offer usually contains.
    pub completeness: Vec<Completeness>,
    /// What an offer does not contain.
    pub exclusions: Vec<Exclusion>,
    /// Jobs with known results.
    pub examples: Vec<Example>,
    /// The file.
    #[serde(skip)]
    pub(crate) file: Arc<str>,
}

impl Rulebook {
    /// The text that the rulebook was read from.
    pub fn source(&self) -> &str {
        &self.file
    }
}

/// A question that the rulebook adds to the job spec; the fact `input.<name>`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Input {
    /// Lower-case name.
    pub name: Text,
    /// What a person reads.
    pub title: Text,
    /// `quantity`, `number`, `flag` or `choice`.
    #[serde(rename = "type")]
    pub kind: Text,
    /// Unit of a quantity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<Text>,
    /// Least value of a number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub min: Option<Text>,
    /// Greatest value of a number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max: Option<Text>,
    /// Value when it is left out; without one it must be answered.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub default: Option<Text>,
    /// Words of a choice.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<Text>,
    /// On which jobs the answer matters; on all, when absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Text>,
}

/// A table that formulas look up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Table {
    /// Lower-case name.
    pub name: Text,
    /// What a person reads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub title: Option<Text>,
    /// A unit, `flag`, `item`, or the name of a list of words.
    pub value: Text,
    /// What it is looked up by.
    pub keys: Vec<Key>,
    /// Cells: one a key, then the value. The first row that applies counts.
    pub rows: Vec<Row>,
    /// Where its figures come from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<Text>,
}

/// What a table is looked up by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Key {
    /// What it is called.
    pub name: Text,
    /// How it is matched.
    #[serde(flatten)]
    pub matching: Matching,
}

/// How a key's cells are matched.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "match", rename_all = "snake_case")]
pub enum Matching {
    /// The cell is the word itself, or `any`.
    Equal {
        /// A choice or flag fact, or the name of a list of words.
        of: Text,
    },
    /// The cell is the highest number to which the row applies, or `above`.
    UpTo {
        /// Unit of the cells.
        unit: Text,
    },
    /// The cell is a point; between two points the value is on the straight line.
    Interpolate {
        /// Unit of the cells.
        unit: Text,
        /// Whether the first and last values hold beyond the ends; else a number there is refused.
        clamp: bool,
    },
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Row {
    /// One cell a key, then the value.
    pub cells: Vec<Text>,
    /// Where it stands.
    #[serde(skip)]
    pub span: super::span::Span,
}

/// A value that is computed once a job and used by name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Derived {
    /// Lower-case name.
    pub name: Text,
    /// What a person reads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub title: Option<Text>,
    /// A unit, `flag`, or the name of a list of words.
    pub unit: Text,
    /// The formula.
    pub formula: Text,
    /// Where it comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<Text>,
}

/// A labour factor: what makes work slower on this job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Factor {
    /// Lower-case name.
    pub name: Text,
    /// What a person reads.
    pub title: Text,
    /// When it applies.
    pub when: Text,
    /// What it adds, as a fraction of the hours.
    pub add: Text,
}

/// A condition that is told with the result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Check {
    /// The code, unique.
    pub code: Text,
    /// Caution or stop.
    pub level: Level,
    /// When it is told.
    pub when: Text,
    /// What is told; `{name}` stands for the value of a fact or derived value.
    pub message: Text,
    /// Where the rule comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<Text>,
}

/// What becomes of an unknown answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unknown {
    /// JSON Pointer of the answer in the job spec; `*` stands for any place in a list.
    pub answer: Text,
    /// What becomes of it.
    pub treat: Treat,
    /// On which jobs the answer is needed; on all, when absent. Where it is not, nobody misses it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Text>,
    /// What is put in its place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<serde_json::Value>,
    /// Where that stands, or else the answer.
    #[serde(skip)]
    pub value_at: Standing,
    /// What the offer says of it.
    pub wording: Text,
    /// What is set aside, and where it is booked; for an allowance.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub allowance: Option<AllowanceRule>,
}

/// The money that an allowance sets aside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AllowanceRule {
    /// How much.
    pub amount: Text,
    /// The cost code of job costing.
    pub cost_code: Text,
    /// The tax category of the policy.
    pub tax_category: Text,
}

/// Something usual: told as not priced when no line covers it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Completeness {
    /// The code, unique.
    pub code: Text,
    /// What it is.
    pub title: Text,
    /// Codes of assemblies and items any of which covers it, and answers whose allowances do while they are unknown.
    pub covered_by: Vec<Text>,
    /// When it is usual; always, when absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Text>,
    /// What to say of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wording: Option<Text>,
}

/// A sentence on what the offer does not contain.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Exclusion {
    /// The code, unique.
    pub code: Text,
    /// The sentence.
    pub text: Text,
    /// When it is said; always, when absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Text>,
}

/// A job with known results, computed again before a rulebook may count.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Example {
    /// What it shows.
    pub title: Text,
    /// The job that is estimated.
    #[serde(flatten)]
    pub job: ExampleJob,
    /// What must come out.
    pub expect: Vec<Expectation>,
}

/// Where the job of an example stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub enum ExampleJob {
    /// In a file; its path, relative to the rulebook's file. Only the command line reads files.
    #[serde(rename = "job")]
    File(Text),
    /// In the rulebook itself: an estimate request.
    #[serde(rename = "request")]
    Request(serde_json::Value),
}

/// One thing that must come out of an example. Figures are texts, compared by value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub enum Expectation {
    /// A line has this quantity.
    Quantity {
        /// The line's key.
        line: Text,
        /// How much.
        quantity: Text,
        /// In which unit.
        unit: Text,
    },
    /// A labour line has these hours.
    Hours {
        /// The line's key.
        line: Text,
        /// Labour hours.
        hours: Text,
    },
    /// A line is sold for this.
    Price {
        /// The line's key.
        line: Text,
        /// Before discount and tax, in units of the company's currency.
        price: Text,
    },
    /// There is such a line.
    Present {
        /// The line's key.
        present: Text,
    },
    /// There is no such line.
    Absent {
        /// The line's key.
        absent: Text,
    },
    /// All labour adds up to this.
    TotalHours {
        /// Labour hours.
        total_hours: Text,
    },
    /// The whole adds up to this, tax included.
    Total {
        /// In units of the company's currency.
        total: Text,
    },
    /// This caution is told.
    Caution {
        /// The check's code.
        caution: Text,
    },
    /// This stop is told.
    Stop {
        /// The check's code.
        stop: Text,
    },
    /// This is told as not priced.
    Missing {
        /// The code of the completeness list.
        missing: Text,
    },
}
