//! Which answers a job needs: an answer that it does not need may be unknown without a word.

use super::super::program::{NeededRule, Program};
use super::super::trace::Place;
use super::machine::Machine;
use super::{Run, answers};
use crate::quantity::fact::FactValue;

impl Program {
    /// Those of `pointers` that the job of these facts does not need, by the conditions of unknown answers and of extra
    /// inputs.
    ///
    /// # Errors
    /// The first condition without a result; or facts that are not [`Program::facts`].
    pub fn not_needed<'a>(&self, facts: &[FactValue], pointers: &[&'a str]) -> Run<Vec<&'a str>> {
        self.admit(facts)?;
        let mut machine = Machine::<false>::new(self, facts);
        let unknowns = self.unknowns.iter().map(|rule| ("unknown answer", rule));
        let inputs = self.inputs.iter().map(|rule| ("input", rule));
        let rules: Vec<(&str, &NeededRule)> = unknowns.chain(inputs).collect();
        let mut spared = Vec::new();
        for pointer in pointers {
            for (of, rule) in rules.iter().filter(|(_, rule)| answers(&rule.answer, pointer)) {
                let place = || Place::Condition {
                    of,
                    code: &rule.answer,
                };
                if let Some(when) = &rule.when
                    && !machine.flag_of(when, place)?
                {
                    spared.push(*pointer);
                    break;
                }
            }
        }
        Ok(spared)
    }
}
