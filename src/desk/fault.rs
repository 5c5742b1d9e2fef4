//! Why the desk cannot do what was asked.

use estimate::catalogue::CatalogueFault;
use estimate::catalogue::price_list::{MappingFault, Trouble};
use estimate::estimate::EstimateFault;
use estimate::examples::Tried;
use estimate::handoff::fault::HandoffFault;
use estimate::job::{Faults, JobFault};
use estimate::pricing::PolicyFault;
use estimate::quantity::{Money, counted};
use estimate::quote::approval::{ApprovalFault, ApprovalReason};
use estimate::quote::life::{IssueFault, MoveFault};
use estimate::rules::Finding;
use estimate::rules::rulebook::TreeFault;
use thiserror::Error;

use super::access::Denied;
use super::{SeedFault, price_list};
use crate::store::StoreFault;

/// Why the desk cannot do what was asked.
#[derive(Debug, Error)]
pub enum DeskFault {
    /// Somebody is not let in.
    #[error(transparent)]
    Denied(#[from] Denied),
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreFault),
    /// Nothing has been loaded yet.
    #[error(
        "the database is empty: load seed data first, with `tallyrule seed DIR` or `tallyrule serve --demo`"
    )]
    Empty,
    /// There is no such thing.
    #[error("there is no {what} {name}")]
    Unknown {
        /// What kind of thing.
        what: &'static str,
        /// The name that was given.
        name: String,
    },
    /// A price for that day is there already.
    #[error("the pack has a price from {0} on already; a price is never overwritten")]
    PriceExists(chrono::NaiveDate),
    /// The database holds other data than the seed data.
    #[error("the database holds other data already; seed data goes into an empty one only")]
    NotEmpty,
    /// Files of seed data.
    #[error("the seed data has {}", counted(.0.len(), "fault"))]
    Seed(Vec<SeedFault>),
    /// Items, labour classes or equipment do not hold together.
    #[error("the catalogue has {}", counted(.0.len(), "fault"))]
    Catalogue(Vec<CatalogueFault>),
    /// A word about the company cannot stand.
    #[error("company, {field}: {message}")]
    Company {
        /// Which.
        field: &'static str,
        /// What is wrong.
        message: String,
    },
    /// A policy cannot be priced by.
    #[error("policy {id} has {}", counted(faults.len(), "fault"))]
    Policy {
        /// The policy.
        id: String,
        /// Every one.
        faults: Vec<PolicyFault>,
    },
    /// A rulebook has errors in it.
    #[error("the rulebook has {}", counted(.0.len(), "finding"))]
    Rulebook(Vec<Finding>),
    /// A rulebook has no such version.
    #[error("the rulebook {rulebook} has no version {version}; its versions: {there}")]
    UnknownVersion {
        /// Where it was named, where a member of what was sent named it.
        pointer: Option<&'static str>,
        /// The rulebook.
        rulebook: String,
        /// The version that was named.
        version: u32,
        /// Those that there are.
        there: String,
    },
    /// A rulebook or a part of one has not its shape, as JSON.
    #[error("it has {} faults", .0.len())]
    Tree(Vec<TreeFault>),
    /// Worked examples of a rulebook do not come out.
    #[error("{} of its worked examples do not come out", .0.iter().filter(|tried| !tried.fits).count())]
    Examples(Vec<Tried>),
    /// The text is of another rulebook than the one to be changed.
    #[error("the text is of the rulebook {named}, not of {wanted}")]
    OtherName {
        /// The one to be changed.
        wanted: String,
        /// The one in the text.
        named: String,
    },
    /// Somebody else was quicker.
    #[error("it has been changed in the meantime: read it again and look at both")]
    Changed,
    /// What a price list comes to is not what was agreed to.
    #[error("{0}")]
    NotAgreed(&'static str),
    /// Something of this kind and name is there already.
    #[error("{what} {name} is there already")]
    Taken {
        /// What kind of thing.
        what: &'static str,
        /// The name that was given.
        name: String,
    },
    /// A new version of a policy cannot be priced by.
    #[error("the policy has {}", counted(.0.len(), "fault"))]
    NewPolicy(Vec<PolicyFault>),
    /// A mapping cannot be read by.
    #[error("the mapping has {}", counted(.0.len(), "fault"))]
    Mapping(Vec<MappingFault>),
    /// A supplier's file cannot be read as a price list.
    #[error(transparent)]
    File(#[from] price_list::IntakeFault),
    /// Rows of a price list are in trouble.
    #[error("the price list has {} in trouble", counted(.0.len(), "row"))]
    ListTroubles(Vec<Trouble>),
    /// Every price of a list is there already.
    #[error("there is nothing to apply: every price is there already")]
    NothingToApply,
    /// As many files are being read as may be at once.
    #[error("other price lists are being read; try again")]
    TooManyFiles,
    /// A member of what was sent does not fit.
    #[error("{pointer}: {message}")]
    Member {
        /// JSON Pointer of the member.
        pointer: &'static str,
        /// What is wrong.
        message: String,
    },
    /// What was sent has faults.
    #[error("the input has {}", counted(.0.list.len(), "fault"))]
    Input(Faults),
    /// A member of what was sent names something that is not there.
    #[error("{pointer}: there is no {what} {name}")]
    Named {
        /// JSON Pointer of the member.
        pointer: &'static str,
        /// What kind of thing.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// The input is sound, but the job cannot be priced.
    #[error(transparent)]
    Estimate(#[from] EstimateFault),
    /// The revision's state does not allow the move.
    #[error(transparent)]
    Move(#[from] MoveFault),
    /// The offer has been accepted.
    #[error(transparent)]
    Accepted(#[from] IssueFault),
    /// A stop stands in the estimate.
    #[error("a stop stands, and the offer must not go out: {}", .0.join("; "))]
    Stops(Vec<String>),
    /// Another person has to approve the draft.
    #[error("{fault}")]
    Approval {
        /// What is wrong with the approvals.
        fault: ApprovalFault,
        /// Why one is needed.
        reasons: Vec<ApprovalReason>,
    },
    /// What was read is not what stands now.
    #[error("it has been changed in the meantime: read it again and look at both")]
    Stale {
        /// The tag of what stands now.
        tag: String,
    },
    /// It is there already.
    #[error("{what} {name} is there already")]
    Exists {
        /// What kind of thing.
        what: &'static str,
        /// Its key.
        name: String,
    },
    /// What stands does not allow it.
    #[error("{0}")]
    Conflict(String),
    /// An alternate, or a choice of them, has no price.
    #[error("{0}")]
    Alternate(String),
    /// No paper can be made of what stands.
    #[error("it cannot be put on paper: {0}")]
    Paper(String),
    /// This program was built without documents.
    #[error("this program was built without documents: it makes no PDF")]
    NoDocuments,
    /// Members of what was sent do not fit: JSON Pointer and words of each fault.
    #[error("it has {}", counted(.0.len(), "fault"))]
    Members(Vec<(String, String)>),
    /// What was accepted cannot be handed over in this form.
    #[error(transparent)]
    Handoff(#[from] HandoffFault),
    /// The ledger has an acceptance with another total.
    #[error("the ledger has {theirs}, and {ours} was accepted")]
    ReceiptDiffers {
        /// What was accepted.
        ours: Money,
        /// What the ledger has.
        theirs: Money,
    },
    /// A period ends before it begins.
    #[error("the period from {from} to {to} ends before it begins")]
    Period {
        /// The first day.
        from: chrono::NaiveDate,
        /// The last day.
        to: chrono::NaiveDate,
    },
    /// A defect of this program.
    #[error("a defect of this program: {0}")]
    Defect(String),
}

impl DeskFault {
    pub(crate) fn unknown(what: &'static str, name: &str) -> Self {
        Self::Unknown {
            what,
            name: name.chars().take(80).collect(),
        }
    }

    pub(crate) fn taken(what: &'static str, name: &str) -> Self {
        Self::Taken {
            what,
            name: name.chars().take(80).collect(),
        }
    }

    /// The same, where a member of what was sent gave the name.
    pub(crate) fn at(self, pointer: &'static str) -> Self {
        match self {
            Self::Unknown { what, name } => Self::Named { pointer, what, name },
            other => other,
        }
    }

    /// The same, where a member of what was sent gave the version.
    pub(super) fn at_version(self, place: &'static str) -> Self {
        match self {
            Self::UnknownVersion {
                rulebook,
                version,
                there,
                ..
            } => Self::UnknownVersion {
                pointer: Some(place),
                rulebook,
                version,
                there,
            },
            other => other,
        }
    }
}

impl From<JobFault> for DeskFault {
    fn from(fault: JobFault) -> Self {
        match fault {
            JobFault::Faults(faults) => Self::Input(faults),
            JobFault::Mismatch(defect) => Self::Defect(defect.to_string()),
        }
    }
}
