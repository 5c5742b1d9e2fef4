//! What the worked examples of a draft come to now becomes what is expected of them.

use estimate::rules::rulebook::{PartKind, put_part};

use super::try_rules::not_here;
use crate::desk::act::{Act, Told};
use crate::desk::{Desk, DeskFault};

impl Desk {
    /// Writes the figures that come out into the worked examples of these titles, or into all. A person has looked at
    /// them and means the change.
    ///
    /// # Errors
    /// There is no example of a title, the rules have errors, a job cannot be estimated, or another draft stands than was
    /// seen.
    pub fn take_example_figures(
        &self,
        act: &Act,
        id: &str,
        titles: Option<&[String]>,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        let office = self.office()?;
        self.write_rulebook_draft(act, id, matches, |text| {
            let workbook = office.compile(text, 1)?;
            let rules = workbook.rulebook();
            let there = |title: &String| rules.examples.iter().any(|example| *example.title == **title);
            if let Some(title) = titles.and_then(|titles| titles.iter().find(|title| !there(title))) {
                return Err(DeskFault::unknown("worked example", title).at("/examples"));
            }
            let wanted = |title: &String| titles.is_none_or(|titles| titles.contains(title));
            let tried = office.try_examples(&workbook, not_here);
            let tried: Vec<_> = tried.into_iter().filter(|tried| wanted(&tried.title)).collect();
            if tried.iter().any(|tried| tried.fault.is_some()) {
                return Err(DeskFault::Examples(tried));
            }
            let mut text = text.to_owned();
            for tried in tried.iter().filter(|tried| !tried.fits) {
                let Some(example) = rules.part(PartKind::Example, &tried.title) else {
                    continue;
                };
                text = put_part(&text, PartKind::Example, &tried.title, &tried.corrected(example))?;
            }
            Ok(text)
        })
    }
}
