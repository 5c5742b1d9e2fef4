//! The stages in a line: a request that was understood becomes a priced estimate.
//!
//! In: the request, the office's rules compiled against its catalogue, the prices of a day and the policy.
//! Out: an [`Estimate`], or the faults of the stage that could not do its work. The same inputs give the
//! same bytes on every machine.

use chrono::NaiveDate;
use serde::Serialize;
use serde_json::Value;
use thiserror::Error;

use crate::bill::{self, BillCaution, BillFault, Unbilled};
use crate::catalogue::Catalogue;
use crate::catalogue::facts as equipment_facts;
use crate::catalogue::prices::PriceBook;
use crate::job::{Assumption, Fault, NotMeasured, Request, Treat, UsualAnswer, facts as job_facts};
use crate::pricing::{self, CheckedPolicy, Document, Origins, Priced, PricingFault, Terms};
use crate::quantity::Currency;
use crate::quantity::fact::{FactDef, FactValue};
use crate::rules::outcome::{Count, Exclusion, Level, Missing, Raised};
use crate::rules::{RunFault, RunInput};
use crate::sizing::finding;
use crate::sizing::{self, SizingFault, SizingReport};
use crate::workbook::Workbook;

/// What an estimate is made from.
#[derive(Debug, Clone, Copy)]
pub struct Inputs<'a> {
    /// The request that was understood.
    pub request: &'a Request,
    /// The rulebook, compiled against the catalogue.
    pub workbook: &'a Workbook,
    /// Items, labour classes and equipment.
    pub catalogue: &'a Catalogue,
    /// The prices of the day, read out of the same catalogue.
    pub prices: &'a PriceBook,
    /// The pricing policy.
    pub policy: &'a CheckedPolicy,
    /// The policy's version.
    pub policy_version: u32,
    /// Where each line is to say how it came about.
    pub explain: Option<Since>,
}

/// Since when the documents of the office are its word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Since {
    /// This version of the rulebook.
    pub rulebook: NaiveDate,
    /// This version of the policy.
    pub policy: NaiveDate,
}

/// A priced bill of materials and labour hours, with all that the office must know of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Estimate<'a> {
    /// The rulebook that was used.
    pub rulebook: Version<'a>,
    /// The policy that was used.
    pub policy: Version<'a>,
    /// The day whose prices were used.
    pub priced_on: NaiveDate,
    /// The currency of every amount.
    pub currency: Currency,
    /// The job as it was understood, defaults filled in.
    pub job: &'a Value,
    /// What physics says of the job.
    pub sizing: SizingReport,
    /// Lines, hours, totals and instalments.
    #[serde(flatten)]
    pub priced: Priced<'a>,
    /// Cautions and stops of every stage.
    pub cautions: Vec<Caution<'a>>,
    /// False while a stop stands: the offer must not go out.
    pub may_be_issued: bool,
    /// What took the place of answers that nobody knows.
    pub assumptions: &'a [Assumption],
    /// Answers that nobody measured, and how they are known.
    pub not_measured: &'a [NotMeasured],
    /// Answers that were left out, and what is taken in their place.
    pub usual_answers: &'a [UsualAnswer],
    /// What an offer usually contains and this one does not price.
    pub not_priced: Vec<Missing<'a>>,
    /// What the rules count in wholes, such as working days.
    #[serde(skip)]
    pub counts: Vec<Count<'a>>,
    /// What the facts mean that formulas may read.
    #[serde(skip)]
    pub facts: &'a [FactDef],
    /// What the offer does not contain.
    pub exclusions: Vec<Exclusion<'a>>,
    /// Codes and standards that the rulebook was written for.
    pub adopted_codes: Vec<&'a str>,
}

/// A document of the office and which version of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Version<'a> {
    /// Its name.
    pub id: &'a str,
    /// Its version.
    pub version: u32,
}

/// A caution or a stop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Caution<'a> {
    /// Caution or stop.
    pub level: Level,
    /// Its stable code.
    pub code: &'a str,
    /// In plain words, with the figure that is out and by how much.
    pub message: String,
    /// Where the limit or the rule comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<&'a str>,
}

/// Why there is no estimate: the stage that could not do its work, and why.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum EstimateFault {
    /// The job asks for a unit that cannot be sized.
    #[error(transparent)]
    Sizing(#[from] SizingFault),
    /// A formula of the rulebook has no result on this job.
    #[error(transparent)]
    Rules(#[from] Box<RunFault>),
    /// The bill cannot be made or priced.
    #[error("{}", sentences(bill, pricing))]
    Unfit {
        /// What is wrong with the bill.
        bill: Vec<BillFault>,
        /// What is wrong with its prices.
        pricing: Vec<PricingFault>,
    },
}

/// One reason why there is no estimate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// A member of the request does not fit.
    Request(Fault),
    /// It lies in the job as a whole, or in the office's data.
    Job(String),
}

fn sentences(bill: &[BillFault], pricing: &[PricingFault]) -> String {
    let told: Vec<String> = unfit_for(bill, pricing)
        .into_iter()
        .map(|reason| match reason {
            Reason::Request(fault) => fault.message,
            Reason::Job(message) => message,
        })
        .collect();
    told.join("; ")
}

/// Every reason by itself; what has no price yet is one.
fn unfit_for(bill: &[BillFault], pricing: &[PricingFault]) -> Vec<Reason> {
    let reason = |of_request: Option<Fault>, fault: &dyn std::fmt::Display| {
        of_request.map_or_else(|| Reason::Job(fault.to_string()), Reason::Request)
    };
    let early = BillFault::not_yet_priced(bill).map(Reason::Request);
    let bill = bill.iter().filter(|fault| fault.not_yet().is_none());
    let bill = bill.map(|fault| reason(fault.of_request(), fault));
    let pricing = pricing.iter().map(|fault| reason(fault.of_request(), fault));
    early.into_iter().chain(bill).chain(pricing).collect()
}

impl EstimateFault {
    /// Every reason by itself.
    pub fn reasons(&self) -> Vec<Reason> {
        match self {
            Self::Unfit { bill, pricing } => unfit_for(bill, pricing),
            whole => vec![Reason::Job(whole.to_string())],
        }
    }
}

/// Makes an estimate.
///
/// # Errors
/// See [`EstimateFault`].
pub fn estimate<'a>(inputs: Inputs<'a>) -> Result<Estimate<'a>, EstimateFault> {
    let Inputs {
        request,
        workbook,
        catalogue,
        prices,
        policy,
        ..
    } = inputs;
    let job = &request.job;
    let report = sizing::size(&job.spec, catalogue)?;
    let facts = facts(request, &report, catalogue);
    let unknown: Vec<&str> = job.assumptions.iter().map(|a| a.answer.as_str()).collect();
    let run = RunInput {
        facts: &facts,
        unknown: &unknown,
        explain: inputs.explain.is_some(),
    };
    let ran = workbook.program().run(run);
    let mut outcome = ran.map_err(|fault| fault.placed(workbook.rulebook().source()))?;
    let terms = Terms {
        discount: request.discount,
        treatment: job.spec.tax.treatment,
    };
    let mut bill = bill::assemble(
        &outcome,
        catalogue,
        prices,
        &request.manual_lines,
        &request.overrides,
    )
    .map_err(|unbilled| unfit(unbilled, policy, &terms))?;
    let not_priced = std::mem::take(&mut bill.missing);
    let billed = std::mem::take(&mut bill.cautions);
    let mut priced = pricing::price(bill, policy, &terms).map_err(|pricing| EstimateFault::Unfit {
        bill: Vec::new(),
        pricing,
    })?;
    if let Some(since) = inputs.explain {
        pricing::explain(&mut priced, policy, &inputs.origins(since));
    }
    let raised = std::mem::take(&mut outcome.raised);
    let cautions = cautions(&report, raised, billed, &priced, &job.assumptions);
    Ok(Estimate {
        rulebook: workbook.version(),
        policy: Version {
            id: &policy.policy().id,
            version: inputs.policy_version,
        },
        priced_on: prices.day(),
        currency: policy.currency(),
        job: &job.tree,
        may_be_issued: cautions.iter().all(|caution| caution.level != Level::Stop),
        assumptions: &job.assumptions,
        not_measured: &job.not_measured,
        usual_answers: &job.usual_answers,
        not_priced,
        counts: outcome.counts,
        facts: workbook.facts(),
        exclusions: outcome.exclusions,
        adopted_codes: workbook.program().adopted_codes().collect(),
        sizing: report,
        priced,
        cautions,
    })
}

impl<'a> Inputs<'a> {
    fn origins(&self, since: Since) -> Origins<'a> {
        let Version { id, version } = self.workbook.version();
        Origins {
            rulebook: Document {
                id,
                version,
                since: since.rulebook,
            },
            policy: Document {
                id: &self.policy.policy().id,
                version: self.policy_version,
                since: since.policy,
            },
            day: self.prices.day(),
        }
    }
}

/// What is wrong with the bill, and beside it what pricing would say of the bill without the changes that do not fit.
fn unfit(unbilled: Unbilled<'_>, policy: &CheckedPolicy, terms: &Terms) -> EstimateFault {
    let bill = unbilled.without;
    EstimateFault::Unfit {
        pricing: bill.map_or_else(Vec::new, |bill| pricing::unfit(&bill, policy, terms)),
        bill: unbilled.faults,
    }
}

/// The values of every fact, in the order of [`Workbook::facts`].
pub fn facts(request: &Request, report: &SizingReport, catalogue: &Catalogue) -> Vec<FactValue> {
    let mut facts = job_facts::values(&request.job.spec);
    facts.extend(sizing::facts::values(report));
    if let Some(equipment) = catalogue.equipment().get(report.equipment_place()) {
        facts.extend(equipment_facts::values(equipment));
    }
    facts
}

/// What every stage has to say, in the order of the stages.
fn cautions<'a>(
    report: &SizingReport,
    raised: Vec<Raised<'a>>,
    billed: Vec<BillCaution>,
    priced: &Priced<'_>,
    assumptions: &[Assumption],
) -> Vec<Caution<'a>> {
    let unknown = assumptions
        .iter()
        .filter(|assumption| assumption.treat == Treat::Stop);
    let unknown = unknown.map(|assumption| Caution {
        level: Level::Stop,
        code: "unknown_answer",
        message: format!("{}: {}", assumption.answer, assumption.wording),
        source: None,
    });
    let sized = report.findings.iter().map(|finding| Caution {
        level: level(finding.level),
        code: finding.code,
        message: finding.message.clone(),
        source: Some(finding.source),
    });
    let raised = raised.into_iter().map(|raised| Caution {
        level: raised.level,
        code: raised.code,
        message: raised.message,
        source: raised.source,
    });
    let billed = billed.into_iter().map(|caution| Caution {
        level: caution.level,
        code: caution.code,
        message: caution.message,
        source: Some(caution.source),
    });
    let priced = priced.cautions.iter().map(|caution| Caution {
        level: caution.level,
        code: caution.code,
        message: caution.message.clone(),
        source: Some(caution.source),
    });
    unknown
        .chain(sized)
        .chain(raised)
        .chain(billed)
        .chain(priced)
        .collect()
}

fn level(level: finding::Level) -> Level {
    match level {
        finding::Level::Caution => Level::Caution,
        finding::Level::Stop => Level::Stop,
    }
}
