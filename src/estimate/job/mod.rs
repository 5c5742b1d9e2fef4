//! The job spec: from the survey as it was written to a typed, checked spec.
//!
//! In: JSON, the form (with the rulebook's extra inputs in it) and the office's rules for unknown
//! answers. Out: a [`Spec`], the job as understood, the assumptions made, and the facts that formulas may
//! read; or every fault at once. Deliberately absent: physics, prices, and what the catalogue says of a
//! class of unit.

mod answers;
mod basis;
pub mod choices;
mod contradictions;
mod extra;
pub mod facts;
mod fault;
pub mod form;
mod matters;
mod read;
mod request;
mod schema;
pub mod spec;
mod understand;

pub use answers::{Answered, NotMeasured, UsualAnswer};
pub(crate) use basis::is_rule_for;
pub use basis::{Assumption, BasisEntry, Treat, UnknownRule};
pub use extra::{ExtraInput, ExtraKind};
pub(crate) use fault::Gathered;
pub use fault::{Fault, FaultCode, Faults};
pub use form::Form;
pub use matters::{Beside, FactTest, Matters, Test};
pub use request::{
    BoughtKind, Discount, ManualLine, ManualWork, Names, Override, Replaced, Request, RequestReader,
    SoundPart,
};
pub use spec::Spec;
pub use understand::{JobFault, Understood};
