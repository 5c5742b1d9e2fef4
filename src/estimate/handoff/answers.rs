//! Answers of the survey in sentences: those that were left out and are taken as is usual, and those that nobody
//! measured.

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::figure::Reader;
use super::paper_fault::PaperFault;
use crate::job::choices::Known;
use crate::job::{NotMeasured, UsualAnswer};
use crate::quantity::Quantity;

/// Entries of one group of the survey.
struct Group<'a> {
    title: &'a str,
    answers: Vec<Said<'a>>,
}

/// A question and its answer, and at which entries of its list it stands.
struct Said<'a> {
    title: &'a str,
    value: String,
    entries: Vec<usize>,
}

/// The list `name` of an estimate; one that an earlier program made has none.
///
/// # Errors
/// It is not of that shape.
pub fn read<T: DeserializeOwned>(estimate: &Value, name: &str) -> Result<Vec<T>, PaperFault> {
    match estimate.get(name) {
        None => Ok(Vec::new()),
        Some(list) => {
            serde_json::from_value(list.clone()).map_err(|fault| PaperFault::unreadable("answers", fault))
        }
    }
}

/// What was taken as is usual, a sentence a group of the survey.
pub fn usual<'a>(answers: impl Iterator<Item = &'a UsualAnswer>, reader: Reader) -> Vec<String> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    for answer in answers {
        let value = shown(&answer.title, answer.value.as_ref(), &answer.in_words, reader);
        let entry = entry_of(&answer.answer);
        let place = groups.iter().position(|group| group.title == answer.group);
        let place = place.unwrap_or_else(|| {
            groups.push(Group {
                title: &answer.group,
                answers: Vec::new(),
            });
            groups.len() - 1
        });
        let Some(group) = groups.get_mut(place) else {
            continue;
        };
        let same = |said: &&mut Said<'_>| said.title == answer.title && said.value == value;
        match group.answers.iter_mut().find(same) {
            Some(said) => said.entries.extend(entry),
            None => group.answers.push(Said {
                title: &answer.title,
                value,
                entries: entry.into_iter().collect(),
            }),
        }
    }
    groups.iter().map(|group| group.sentence(reader)).collect()
}

/// An answer by itself.
pub fn value(answer: &NotMeasured, reader: Reader) -> String {
    shown(&answer.title, answer.value.as_ref(), &answer.in_words, reader)
}

/// An answer that was told or assumed: `Electrical, Length of the circuit from the panel: 60 ft`.
pub fn answered(answer: &NotMeasured, reader: Reader) -> String {
    let value = value(answer, reader);
    let language = reader.language;
    let (group, title) = (language.group(&answer.group), language.question(&answer.title));
    if group == title {
        return format!("{title}: {value}");
    }
    let entry = entry_of(&answer.answer).map(|entry| number(&[entry], reader));
    format!("{group}, {title}{}: {value}", entry.unwrap_or_default())
}

/// How an answer is known, in one word.
pub fn known(known: Known, reader: Reader) -> &'static str {
    let words = reader.words();
    match known {
        Known::Measured => words.measured,
        Known::Told => words.told,
        Known::Assumed => words.assumed,
        Known::Unknown => words.not_known,
    }
}

impl Group<'_> {
    fn sentence(&self, reader: Reader) -> String {
        let told = self.answers.iter().map(|said| {
            let (title, value) = (reader.language.question(said.title), &said.value);
            format!("{title}: {value}{}", number(&said.entries, reader))
        });
        let told: Vec<String> = told.collect();
        format!("{} – {}", reader.language.group(self.title), told.join("; "))
    }
}

/// What a person reads above an answer; of a list's entries, their numbers with it.
pub(super) fn title(answer: &str, title: &str, reader: Reader) -> String {
    let entries = answer.split('/').filter_map(|token| token.parse::<u32>().ok());
    entries.fold(reader.language.question(title).to_owned(), |title, at| {
        format!("{title}, {}", at.saturating_add(1))
    })
}

/// Whether an answer is money, or money a day or the like.
pub(super) fn is_money(value: Option<&Value>) -> bool {
    value.and_then(Quantity::of_money).is_some()
}

/// A quantity in the reader's measures, else what is said of the answer: of money, the amount in the company's currency.
pub(super) fn shown(title: &str, value: Option<&Value>, in_words: &str, reader: Reader) -> String {
    match value {
        Some(Value::Array(entries)) if !entries.is_empty() => {
            let words = reader.words();
            let name = if entries.len() == 1 {
                words.entry
            } else {
                words.entries
            };
            format!("{} {name}", entries.len())
        }
        Some(Value::String(word)) => reader.language.said(title, word, in_words).to_owned(),
        Some(value @ Value::Object(members)) if members.contains_key("unit") && !is_money(Some(value)) => {
            reader.value(value).unwrap_or_else(|| in_words.to_owned())
        }
        _ => reader.language.said(title, "", in_words).to_owned(),
    }
}

/// At which entry of a list an answer stands, counted from 1.
fn entry_of(pointer: &str) -> Option<usize> {
    let place = pointer.split('/').find_map(|token| token.parse::<usize>().ok())?;
    place.checked_add(1)
}

/// ` (entries 1, 3)`; nothing where there is no entry.
fn number(entries: &[usize], reader: Reader) -> String {
    if entries.is_empty() {
        return String::new();
    }
    let words = reader.words();
    let name = if entries.len() == 1 {
        words.entry
    } else {
        words.entries
    };
    let entries: Vec<String> = entries.iter().map(usize::to_string).collect();
    format!(" ({name} {})", entries.join(", "))
}
