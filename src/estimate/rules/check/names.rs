//! What a rulebook may refer to outside of itself.

use crate::catalogue::Catalogue;
use crate::quantity::fact::{Domain, FactDef};
use crate::quantity::unit::Unit;
use std::sync::Arc;

/// Names that the formulas and lines of a rulebook may use.
#[derive(Debug, Clone, Default)]
pub struct Names {
    /// Facts of the job, the sizing report and the equipment, in the order of their values at a run.
    /// Extra inputs of the rulebook (`input.…`) may be among them.
    pub facts: Vec<FactDef>,
    /// Lists of words that no fact has, but that tables may be keyed by.
    pub domains: Vec<Domain>,
    /// Items by code, each with the unit in which its needs are counted.
    pub items: Vec<(Arc<str>, Unit)>,
    /// Codes of labour classes.
    pub labour_classes: Vec<Arc<str>>,
    /// Cost codes; when empty, any is taken.
    pub cost_codes: Vec<Arc<str>>,
    /// Tax categories; when empty, any is taken.
    pub tax_categories: Vec<Arc<str>>,
    /// JSON Pointers of the answers of a job spec, `*` for any place of a list; when empty, any is taken.
    pub answers: Vec<Arc<str>>,
    /// Those of them that may be left out.
    pub may_be_left_out: Vec<Arc<str>>,
}

impl Names {
    /// These facts, and the items and labour classes of a catalogue in its order.
    pub fn new(facts: Vec<FactDef>, catalogue: &Catalogue) -> Self {
        Self {
            facts,
            items: catalogue
                .items()
                .iter()
                .map(|item| (item.code.as_str().into(), item.unit))
                .collect(),
            labour_classes: catalogue
                .labour()
                .iter()
                .map(|class| class.code.as_str().into())
                .collect(),
            ..Self::default()
        }
    }
}
