//! The form: one description of every question that a job spec may answer.
//!
//! Reading, the check of a rulebook's rules for unknown answers, the list of answers and the JSON
//! Schema all follow from it. Each group of questions is a file of its own, in the order of the survey.

mod asked;
mod cellar;
mod electrical;
mod finishes;
mod left_out;
mod line_set;
pub mod request;
mod site;
mod unit;

pub use asked::Instead;
pub use left_out::{Around, LeftOut};
pub(super) use unit::AUTO;

use std::borrow::Cow;
use std::sync::Arc;

use serde_json::Value;

use super::choices::{Choice, Known};
use super::extra::ExtraInput;
use crate::quantity::{Decimal, unit::Unit};

/// Most characters of a title, a name or a note.
pub(crate) const LINE: usize = 200;
/// Most characters of a longer text.
pub(crate) const PARAGRAPH: usize = 2000;
/// Most entries of `basis`.
pub(super) const BASIS_ENTRIES: usize = 300;

/// A text of the form: fixed, or from a rulebook's extra input.
pub type Text = Cow<'static, str>;

/// One question of the form.
#[derive(Debug, Clone)]
pub struct Field {
    /// The member's name in JSON.
    pub name: Text,
    /// What a person reads.
    pub title: Text,
    /// What an answer looks like.
    pub shape: Shape,
    /// Whether it must be answered.
    pub need: Need,
    /// More about the question; may be empty.
    pub help: Text,
    /// What is told of it when it is left out.
    pub left_out: LeftOut,
    /// What may be given in its place.
    pub instead: Instead,
}

/// What an answer looks like.
#[derive(Debug, Clone)]
pub enum Shape {
    /// Free text of at most so many characters.
    Text {
        /// Most characters.
        max: usize,
    },
    /// A code: letters, digits and `. _ - / :`.
    Code {
        /// Most characters.
        max: usize,
    },
    /// A calendar date, `2031-03-04`.
    Date,
    /// A quantity object in any unit of the dimension; kept in `unit`.
    Measure {
        /// The form's unit.
        unit: Unit,
        /// Least value, in `unit`.
        min: Decimal,
        /// Greatest value, in `unit`.
        max: Decimal,
    },
    /// A quantity object in any unit in which goods and work are counted; kept as it came.
    AnyQuantity {
        /// Least value.
        min: Decimal,
        /// Greatest value.
        max: Decimal,
    },
    /// A plain decimal number.
    Number {
        /// Least value.
        min: Decimal,
        /// Greatest value.
        max: Decimal,
        /// Most decimals.
        scale: u32,
    },
    /// An amount of money in a currency of ISO 4217.
    Money {
        /// Whether it may be below zero.
        credit: bool,
    },
    /// What one unit costs: an amount of money with up to six decimals, or, as it was before, its digits alone.
    UnitCost {
        /// Least amount.
        min: Decimal,
        /// Greatest amount.
        max: Decimal,
    },
    /// A whole number.
    Count {
        /// Least value.
        min: u32,
        /// Greatest value.
        max: u32,
    },
    /// `true` or `false`.
    Flag,
    /// One of a list of words.
    Choice(Words),
    /// An object with named members.
    Group(Vec<Field>),
    /// An array.
    List {
        /// What each entry looks like.
        item: Box<Shape>,
        /// Least entries.
        min: usize,
        /// Most entries.
        max: usize,
    },
    /// A whole job spec: read by the job form, not by the form that holds it.
    Job,
    /// An object that is kept as it came: what may stand in it is for another form to say.
    Open,
}

/// The words of a choice, each with what a person reads for it.
#[derive(Debug, Clone)]
pub enum Words {
    /// Words fixed by the program.
    Fixed(&'static [(&'static str, &'static str)]),
    /// Words that come with the catalogue or the rulebook.
    Given(Arc<[Arc<str>]>),
}

impl Words {
    /// The words in order.
    pub fn iter(&self) -> Box<dyn Iterator<Item = &str> + '_> {
        match self {
            Self::Fixed(words) => Box::new(words.iter().map(|(word, _)| *word)),
            Self::Given(words) => Box::new(words.iter().map(AsRef::as_ref)),
        }
    }

    /// Place of `word` in the list.
    pub fn position(&self, word: &str) -> Option<usize> {
        match self {
            Self::Fixed(words) => words.iter().position(|(known, _)| *known == word),
            Self::Given(words) => words.iter().position(|known| **known == *word),
        }
    }
}

/// Whether a question must be answered.
#[derive(Debug, Clone)]
pub enum Need {
    /// It must be. A group that must be there may be left out when all of its members may.
    Required,
    /// It takes this value, in normal form, when it is left out.
    Default(Value),
    /// It may be left out.
    Optional,
    /// It must be answered when `sibling`, a choice or flag of the same group, is one of `is`.
    When {
        /// Name of the sibling.
        sibling: &'static str,
        /// Its words, or `true`.
        is: &'static [&'static str],
    },
}

impl Field {
    pub(crate) fn new(name: &'static str, title: &'static str, shape: Shape) -> Self {
        Self {
            name: name.into(),
            title: title.into(),
            shape,
            need: Need::Required,
            help: "".into(),
            left_out: LeftOut::Silent,
            instead: Instead::default(),
        }
    }

    pub(crate) fn optional(mut self) -> Self {
        self.need = Need::Optional;
        self
    }

    /// What it takes when it is left out, which is told wherever the question arises.
    pub(crate) fn or(mut self, default: impl Into<Value>) -> Self {
        self.need = Need::Default(default.into());
        self.left_out = LeftOut::usual();
        self
    }

    /// A default measure, in the form's own unit.
    fn or_value(self, value: &str) -> Self {
        let unit = match &self.shape {
            Shape::Measure { unit, .. } => unit.symbol(),
            _ => String::new(),
        };
        self.or(serde_json::json!({"value": value, "unit": unit}))
    }

    fn when(mut self, sibling: &'static str, is: &'static [&'static str]) -> Self {
        self.need = Need::When { sibling, is };
        self
    }

    pub(crate) fn help(mut self, help: &'static str) -> Self {
        self.help = help.into();
        self
    }
}

fn measure(unit: Unit, min: impl Into<Decimal>, max: impl Into<Decimal>) -> Shape {
    Shape::Measure {
        unit,
        min: min.into(),
        max: max.into(),
    }
}

fn number(min: impl Into<Decimal>, max: impl Into<Decimal>, scale: u32) -> Shape {
    Shape::Number {
        min: min.into(),
        max: max.into(),
        scale,
    }
}

pub(crate) fn count(min: u32, max: u32) -> Shape {
    Shape::Count { min, max }
}

fn choice<C: Choice>() -> Shape {
    Shape::Choice(Words::Fixed(C::WORDS))
}

pub(crate) fn list(item: Shape, min: usize, max: usize) -> Shape {
    Shape::List {
        item: Box::new(item),
        min,
        max,
    }
}

/// `mantissa` hundredths: a bound such as 0.05.
fn hundredths(mantissa: i64) -> Decimal {
    Decimal::new(mantissa, 2)
}

/// The forms of a job spec and of an estimate request, for one catalogue and one rulebook.
#[derive(Debug, Clone)]
pub struct Form {
    pub(super) job: Shape,
    pub(super) request: Shape,
    pub(super) extra: Arc<[ExtraInput]>,
}

impl Form {
    /// The form, with the catalogue's equipment classes and the rulebook's extra inputs in it.
    pub fn new(classes: &[Arc<str>], extra: &[ExtraInput]) -> Self {
        Self {
            job: Shape::Group(job_groups(classes, extra)),
            request: Shape::Group(request::fields()),
            extra: extra.into(),
        }
    }

    /// The extra inputs, in the rulebook's order.
    pub fn extra(&self) -> &[ExtraInput] {
        &self.extra
    }

    /// The shape of the answer at `pointer` (RFC 6901) of a job spec; `*` stands for any entry of a
    /// list. `None` when there is no such answer.
    pub fn answer(&self, pointer: &str) -> Option<&Shape> {
        self.titled(pointer).map(|(_, shape)| shape)
    }

    /// The same, with what a person reads above it.
    pub fn titled(&self, pointer: &str) -> Option<(&str, &Shape)> {
        let (field, shape) = self.question(pointer)?;
        Some((&field.title, shape))
    }

    /// Whether a job spec may do without the answer at `pointer`, whatever its other answers are.
    pub fn may_be_left_out(&self, pointer: &str) -> bool {
        let question = self.question(pointer);
        question.is_some_and(|(field, _)| matches!(field.need, Need::Default(_) | Need::Optional))
    }

    /// The question in whose answer `pointer` ends.
    pub(super) fn field(&self, pointer: &str) -> Option<&Field> {
        Some(self.question(pointer)?.0)
    }

    /// The question in whose answer `pointer` ends, and the shape of what stands there.
    fn question(&self, pointer: &str) -> Option<(&Field, &Shape)> {
        let (mut question, mut shape) = (None, &self.job);
        for token in pointer.strip_prefix('/')?.split('/') {
            shape = match shape {
                Shape::Group(fields) => {
                    let field = fields.iter().find(|f| f.name == token)?;
                    question = Some(field);
                    &field.shape
                }
                Shape::List { item, .. } if is_index(token) => item,
                _ => return None,
            };
        }
        let about_the_job = pointer != "/title" && !pointer.starts_with("/basis");
        Some((question.filter(|_| about_the_job)?, shape))
    }

    /// Pointers of all answers, groups and lists included; entries of a list as `*`.
    pub fn answers(&self) -> Vec<String> {
        let mut found = Vec::new();
        collect(&self.job, &mut String::new(), &mut found);
        found.retain(|pointer| self.answer(pointer).is_some());
        found
    }
}

fn is_index(token: &str) -> bool {
    token == "*" || (!token.is_empty() && token.len() <= 4 && token.bytes().all(|b| b.is_ascii_digit()))
}

fn collect(shape: &Shape, at: &mut String, found: &mut Vec<String>) {
    let length = at.len();
    match shape {
        Shape::Group(fields) => {
            for field in fields {
                at.push('/');
                at.push_str(&field.name);
                found.push(at.clone());
                collect(&field.shape, at, found);
                at.truncate(length);
            }
        }
        Shape::List { item, .. } => {
            at.push_str("/*");
            collect(item, at, found);
            at.truncate(length);
        }
        _ => {}
    }
}

fn job_groups(classes: &[Arc<str>], extra: &[ExtraInput]) -> Vec<Field> {
    vec![
        Field::new("title", "Title of the job", Shape::Text { max: LINE }),
        Field::new("customer", "Customer", Shape::Text { max: LINE }).optional(),
        Field::new("site_name", "Name of the site", Shape::Text { max: LINE }).optional(),
        cellar::group(),
        unit::indoor(classes),
        unit::condenser(),
        line_set::line_set(),
        line_set::drain(),
        electrical::controller(),
        electrical::humidity(),
        electrical::electrical(),
        finishes::group(),
        site::group(),
        site::tax(),
        Field::new(
            "extra",
            "Extra inputs of the rulebook",
            Shape::Group(extra.iter().map(ExtraInput::field).collect()),
        ),
        basis(),
    ]
}

fn basis() -> Field {
    let entry = vec![
        Field::new("answer", "Which answer", Shape::Text { max: LINE })
            .help("JSON Pointer into the job spec, such as /electrical/panel_length."),
        Field::new("known", "How it is known", choice::<Known>()),
        Field::new("note", "Note", Shape::Text { max: PARAGRAPH }).optional(),
    ];
    Field::new(
        "basis",
        "How the answers are known",
        list(Shape::Group(entry), 0, BASIS_ENTRIES),
    )
    .or(Value::Array(Vec::new()))
    .help("An unknown answer is left out of the job spec and named here. Answers not named here were told.")
}
