//! The answers of a job that are not measured: told, assumed or unknown, and those that were left out.

use estimate::handoff::answers as said;
use estimate::handoff::figure::Reader;
use estimate::job::choices::Known;
use estimate::job::{Assumption, NotMeasured, UsualAnswer};

use super::list;

/// Both lists under their headings.
pub fn answers(not_measured: &[NotMeasured], assumed: &[&Assumption], usual: &[&UsualAnswer]) -> String {
    let reader = Reader::default();
    let mut out = String::new();
    let told = not_measured
        .iter()
        .map(|answer| not_measured_line(answer, assumed, reader));
    list(&mut out, "Not measured", told);
    list(
        &mut out,
        "Left out, and taken as usual",
        said::usual(usual.iter().copied(), reader).into_iter(),
    );
    out
}

/// Of an answer that nobody knows, what the offer says of it.
fn not_measured_line(answer: &NotMeasured, assumed: &[&Assumption], reader: Reader) -> String {
    let rule = assumed.iter().find(|one| one.answer == answer.answer);
    let what = match rule.filter(|_| answer.known == Known::Unknown) {
        Some(rule) if answer.value.is_some() => {
            format!("{} ({})", rule.wording, said::value(answer, reader))
        }
        Some(rule) => rule.wording.clone(),
        None => said::answered(answer, reader),
    };
    let note = answer.note.iter().map(|note| format!("; note: {note}"));
    let known = said::known(answer.known, reader);
    format!("{known} {}: {what}{}", answer.answer, note.collect::<String>())
}
