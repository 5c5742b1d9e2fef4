//! Worked examples that test nothing.

use super::super::finding::{Finding, Findings};
use super::super::rulebook::{Expectation, Rulebook, Text};
use crate::quantity::nearest;

/// Kinds of lines whose keys are all known before any job is.
const KNOWN_KINDS: [&str; 4] = ["material:", "labour:", "subcontract:", "fee:"];

/// Warnings for a rulebook without examples, for examples that expect nothing, and for lines that are expected to be
/// absent and are none of `lines`: those that a job may have.
pub fn untested(rulebook: &Rulebook, lines: &[String]) -> Vec<Finding> {
    let mut findings = Findings::new(&rulebook.file);
    if rulebook.examples.is_empty() {
        let message = "there is no worked example: nothing shows that the rules come to what is meant";
        let flaw = rulebook.title.whole("no_example", message);
        findings.warning(
            "rulebook",
            "example",
            flaw.expected("a job and what must come out of it"),
        );
    }
    for example in &rulebook.examples {
        let part = format!("example {}", example.title.as_str());
        if example.expect.is_empty() {
            let flaw = example.title.whole(
                "expects_nothing",
                "nothing is expected of this example: it tests nothing",
            );
            findings.warning(&part, "expect", flaw.expected("a figure, a line or a caution"));
        }
        for expected in &example.expect {
            if let Expectation::Absent { absent } = expected
                && !may_be(absent, lines)
            {
                let message = format!(
                    "`{}` is absent from every job: there is no such line",
                    absent.as_str()
                );
                let near = nearest::name(absent, lines.iter().map(String::as_str));
                findings.warning(
                    &part,
                    "absent",
                    absent.whole("unknown_line", message).suggest(near),
                );
            }
        }
    }
    findings.sorted()
}

/// Whether some job may have the line.
fn may_be(key: &Text, lines: &[String]) -> bool {
    let known_kind = KNOWN_KINDS.iter().any(|kind| key.starts_with(kind));
    !known_kind || lines.iter().any(|line| *line == **key)
}
