//! Which answers a job needs: an answer that it does not need may be unknown without a word.

use super::super::program::{NeededRule, Program};
use super::super::trace::Place;
use super::Run;
use super::machine::Machine;
use crate::job::is_rule_for;
use crate::quantity::fact::FactValue;

impl Program {
    /// Those of `pointers` that the job of these facts does not need, by the conditions of unknown answers and of extra
    /// inputs.
    ///
    /// # Errors
    /// The first condition without a result; or facts that are not [`Program::facts`].
    pub fn not_needed<'p, 'a>(&'p self, facts: &[FactValue], pointers: &[&'a str]) -> Run<Vec<&'a str>> {
        self.admit(facts)?;
        let mut machine = Machine::<false>::new(self, facts);
        let unknowns = self.unknowns.iter().map(|rule| ("unknown answer", rule));
        let inputs = self.inputs.iter().map(|rule| ("input", rule));
        let conditional =
            |(of, rule): (&'static str, &'p NeededRule)| Some((of, &rule.answer, rule.when.as_ref()?));
        let rules: Vec<_> = unknowns.chain(inputs).filter_map(conditional).collect();
        let mut spared = Vec::new();
        for pointer in pointers {
            for (of, code, when) in rules.iter().filter(|(_, answer, _)| is_rule_for(answer, pointer)) {
                if !machine.flag_of(when, || Place::Condition { of, code })? {
                    spared.push(*pointer);
                    break;
                }
            }
        }
        Ok(spared)
    }
}
