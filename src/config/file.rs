//! The file of settings: TOML, one name a line.

use std::fs;
use std::path::Path;

use toml::de::{DeTable, DeValue};

use super::given::{Given, SettingFault};

/// What a file says, each with its place.
pub(super) fn read(path: &Path) -> Result<Vec<Given>, Vec<SettingFault>> {
    let name = path.display();
    let whole = |message: String| {
        vec![SettingFault {
            place: name.to_string(),
            message,
        }]
    };
    let text = fs::read_to_string(path).map_err(|fault| whole(format!("cannot be read: {fault}")))?;
    let place = |at: usize| {
        let before = text.get(..at).unwrap_or(&text);
        let line = before.matches('\n').count().saturating_add(1);
        let column = before
            .rsplit('\n')
            .next()
            .map_or(0, |rest| rest.chars().count())
            .saturating_add(1);
        format!("{name}:{line}:{column}")
    };
    let (document, faults) = DeTable::parse_recoverable(&text);
    if !faults.is_empty() {
        let told = faults.iter().map(|fault| SettingFault {
            place: place(fault.span().map_or(0, |span| span.start)),
            message: fault.message().to_owned(),
        });
        return Err(told.collect());
    }
    let (mut given, mut wrong) = (Vec::new(), Vec::new());
    for (key, value) in document.get_ref() {
        let at = place(key.span().start);
        match plain(value.get_ref()) {
            Some(values) => given.push(Given {
                name: key.get_ref().to_string(),
                values,
                place: at,
            }),
            None => wrong.push(SettingFault {
                place: at,
                message: format!(
                    "{}: a text, a whole number or a list of texts is asked for",
                    key.get_ref()
                ),
            }),
        }
    }
    if wrong.is_empty() { Ok(given) } else { Err(wrong) }
}

/// The values as a flag would have them.
fn plain(value: &DeValue<'_>) -> Option<Vec<String>> {
    match value {
        DeValue::String(text) => Some(vec![text.to_string()]),
        DeValue::Integer(number) if number.radix() == 10 => Some(vec![number.as_str().replace('_', "")]),
        DeValue::Array(values) => values
            .iter()
            .map(|value| match value.get_ref() {
                DeValue::String(text) => Some(text.to_string()),
                _ => None,
            })
            .collect(),
        _ => None,
    }
}
