//! From JSON to a spec: the steps in order.

use std::collections::HashSet;

use serde_json::Value;
use thiserror::Error;

use super::answers::{NotMeasured, UsualAnswer};
use super::basis::{Assumption, UnknownRule, fill};
use super::contradictions;
use super::fault::Faults;
use super::form::{Form, Shape};
use super::read::{Deeper, Reader};
use super::spec::{Spec, SpecMismatch};

/// Why there is no spec.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum JobFault {
    /// What was sent has faults.
    #[error(transparent)]
    Faults(#[from] Faults),
    /// A defect of this program: what was understood does not fit its type.
    #[error(transparent)]
    Mismatch(#[from] SpecMismatch),
}

/// A job spec that was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Understood {
    /// The typed spec, with the rules' values in the place of unknown answers.
    pub spec: Spec,
    /// The job as understood: in the form's units (but for times that are no round number of hours, which stay as they
    /// came), defaults filled in, unknown answers left out. Reading it again gives the same spec and tree.
    pub tree: Value,
    /// Unknown answers and what took their place.
    pub assumptions: Vec<Assumption>,
    /// Those of the unknown answers about which this job has no question.
    pub spared: Vec<String>,
    /// Answers that were left out, and what is usual in their place.
    pub usual_answers: Vec<UsualAnswer>,
    /// Answers that nobody measured.
    pub not_measured: Vec<NotMeasured>,
}

impl Form {
    /// Reads a job spec.
    ///
    /// # Errors
    /// Every fault at once, with pointers into `job`.
    pub fn read(&self, job: &Value, rules: &[UnknownRule]) -> Result<Understood, JobFault> {
        self.read_at(job, rules, "", false)
    }

    /// Reads a job spec that stands at `prefix` of what was sent. Answers of one that is `settled` are not held against
    /// one another.
    pub(super) fn read_at(
        &self,
        job: &Value,
        rules: &[UnknownRule],
        prefix: &str,
        settled: bool,
    ) -> Result<Understood, JobFault> {
        let mut filled = fill(self, job, rules, prefix);
        let by_rule = filled.by_rule();
        let deeper = Deeper::of("", &self.job);
        let reader = Reader::of_job(prefix, &filled.excused, &by_rule, &deeper);
        let read = reader.read(&self.job, filled.job.as_ref().unwrap_or(job));
        let (mut tree, mut faults) = (read.tree, read.faults);
        if !settled {
            let known = filled.known(&tree);
            contradictions::find(&known, prefix, &mut faults);
            for fault in self.known_but_missing(job, prefix) {
                faults.push(fault);
            }
        }
        faults.append(std::mem::take(&mut filled.faults));
        faults.into_result()?;
        let spec = Spec::of_tree(&tree, &self.extra)?;
        let mut spared = filled.by_rule();
        spared.retain(|answer| !self.arises(&tree, answer));
        let usual_answers = self.usual_answers(&tree, &read.left_out);
        for (pointer, came) in read.as_came {
            if let Some(kept) = tree.pointer_mut(&pointer) {
                *kept = came;
            }
        }
        let not_measured = self.not_measured(job, &tree, &spec);
        filled.take_out(&mut tree);
        Ok(Understood {
            spec,
            tree,
            assumptions: filled.assumptions,
            spared: spared.into_iter().collect(),
            usual_answers,
            not_measured,
        })
    }

    /// The spec of a job as if those of its unknown answers that are `spared` had been left out without a word; none where
    /// it cannot do without any of them.
    pub(crate) fn without(&self, job: &Understood, rules: &[UnknownRule], spared: &[&str]) -> Option<Spec> {
        let left_out = |answer: &str| {
            let idle = job.spared.iter().any(|one| one == answer);
            spared.contains(&answer) && (idle || self.may_be_left_out(answer))
        };
        let mut unknown = job.assumptions.iter();
        if !unknown.any(|assumed| left_out(&assumed.answer)) {
            return None;
        }
        let mut tree = job.tree.clone();
        if let Some(basis) = tree.get_mut("basis").and_then(Value::as_array_mut) {
            basis.retain(|entry| !entry.get("answer").and_then(Value::as_str).is_some_and(left_out));
        }
        let read = self.read_at(&tree, rules, "", true).ok()?;
        Some(read.spec)
    }

    /// Whether `value` could stand at `answer`, a pointer into a job spec that may have `*` for an
    /// entry of a list: what a rule for an unknown answer must pass.
    ///
    /// # Errors
    /// The faults of the value, with pointers that begin with `answer`; one fault when there is no
    /// such answer.
    pub fn check_answer(&self, answer: &str, value: &Value) -> Result<(), Faults> {
        let Some((title, shape)) = self.titled(answer) else {
            return Err(Faults::no_such_answer(answer));
        };
        let (none, nowhere) = (HashSet::new(), Deeper::default());
        let reader = Reader::elsewhere(answer, &none, &nowhere);
        reader.read_as(title, shape, value).faults.into_result()
    }

    /// Reads what an estimate request that stands at `at` asks for beside its job.
    ///
    /// # Errors
    /// Every fault at once; the job is not looked at.
    pub(crate) fn read_frame(&self, request: &Value, at: &str) -> Result<Value, Faults> {
        self.read_part(&self.request, request, at)
    }

    /// Reads a value that stands at `at` by a shape: its normal form.
    ///
    /// # Errors
    /// Every fault at once.
    pub(crate) fn read_part(&self, shape: &Shape, value: &Value, at: &str) -> Result<Value, Faults> {
        let (tree, faults) = shape.read(value, at);
        faults.into_result().map(|()| tree)
    }
}
