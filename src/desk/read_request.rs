//! What a request is read and priced by: the rulebook, the policy and the day that it names, or the company's own.

use chrono::NaiveDate;
use estimate::estimate::{Estimate, Inputs, Reason, Since, Version, estimate};
use estimate::job::{Fault, FaultCode, Faults, JobFault, Request, RequestReader};
use estimate::workbook::Workbook;
use serde_json::Value;

use super::office::PolicyVersion;
use super::{DeskFault, Office, RulebookVersion};

/// What a request is read and priced by. Where it names something that is not there, the company's own takes its
/// place, so that every other fault is told beside that one.
pub(super) struct Basis<'a> {
    office: &'a Office,
    pub(super) workbook: &'a Workbook,
    pub(super) policy: &'a PolicyVersion,
    pub(super) day: NaiveDate,
    /// An offer was issued on the request.
    pub(super) settled: bool,
    rulebook_fault: Option<Fault>,
    policy_fault: Option<Fault>,
}

impl Office {
    /// The basis of a request, with the day that it names, or today.
    pub(super) fn basis(&self, request: &Value) -> Result<Basis<'_>, DeskFault> {
        self.basis_on(request, self.day_of(request))
    }

    /// The basis of a request that is priced on `day`.
    pub(super) fn basis_on(&self, request: &Value, day: NaiveDate) -> Result<Basis<'_>, DeskFault> {
        let (rulebook, fault) = match self.named(request) {
            Ok(rulebook) => (rulebook, None),
            Err(DeskFault::Named { name, .. }) => {
                (self.rulebook_on(None, None, day)?, Some(self.no_rulebook(&name)))
            }
            Err(other) => return Err(other),
        };
        let basis = self.basis_under(&rulebook.workbook, request, day)?;
        Ok(Basis {
            rulebook_fault: fault,
            ..basis
        })
    }

    /// The basis of a request under rules that need not be those that it names.
    pub(super) fn basis_under<'a>(
        &'a self,
        workbook: &'a Workbook,
        request: &Value,
        day: NaiveDate,
    ) -> Result<Basis<'a>, DeskFault> {
        let named = Request::named_policy(request);
        let (policy, fault) = match self.policy_on(named, day) {
            Ok(policy) => (policy, None),
            Err(_) => (self.some_policy(day)?, Some(self.no_policy(named, day, request))),
        };
        Ok(Basis {
            office: self,
            workbook,
            policy,
            day,
            settled: false,
            rulebook_fault: None,
            policy_fault: fault,
        })
    }

    /// The day whose prices a request asks for.
    pub(super) fn day_of(&self, request: &Value) -> NaiveDate {
        let named = request.get("priced_on").and_then(Value::as_str);
        named
            .and_then(|day| day.parse().ok())
            .unwrap_or_else(|| self.today())
    }

    /// The rulebook that a request names: known before the request is read, since its extra inputs are part of the
    /// form.
    pub(super) fn named(&self, request: &Value) -> Result<&RulebookVersion, DeskFault> {
        self.named_at(request, ["/rulebook", "/rulebook_version"])
    }

    /// The same, where the request names rulebook and version at these places of what was sent.
    pub(super) fn named_at(
        &self,
        request: &Value,
        [rulebook, version]: [&'static str; 2],
    ) -> Result<&RulebookVersion, DeskFault> {
        let named = (Request::named_rulebook(request), Request::named_version(request));
        self.rulebook_on(named.0, named.1, self.day_of(request))
            .map_err(|fault| fault.at(rulebook).at_version(version))
    }

    fn no_rulebook(&self, name: &str) -> Fault {
        let known = self.shelf.ids();
        Fault::unknown_name("/rulebook".to_owned(), "rulebook", name, known)
    }

    /// A policy to judge the rest by: the company's own, or its first one on a day before all of them.
    fn some_policy(&self, day: NaiveDate) -> Result<&PolicyVersion, DeskFault> {
        let first = self.policy_versions(&self.company.policy).next();
        self.policy_on(None, day).or_else(|fault| first.ok_or(fault))
    }

    fn no_policy(&self, named: Option<&str>, day: NaiveDate, request: &Value) -> Fault {
        let id = named.unwrap_or(&self.company.policy);
        let Some(first) = self.policy_versions(id).next() else {
            let mut known: Vec<&str> = self
                .policies
                .iter()
                .map(|version| version.policy.policy().id.as_str())
                .collect();
            known.dedup();
            return Fault::unknown_name("/policy".to_owned(), "policy", id, known.into_iter());
        };
        let pointer = if request.get("priced_on").is_some() {
            "/priced_on"
        } else {
            "/policy"
        };
        Fault {
            pointer: pointer.to_owned(),
            code: FaultCode::DoesNotFit,
            came: day.to_string(),
            allowed: format!("{} or later", first.valid_from),
            message: format!("policy {id} holds from {} on, and not on {day}", first.valid_from),
        }
    }
}

impl Basis<'_> {
    /// What the request is read by. What belongs to a rulebook or policy that is not there is not judged.
    pub(super) fn reader(&self) -> RequestReader<'_> {
        let policy = self.policy_fault.is_none().then_some(&self.policy.policy);
        let mut reader = self.workbook.reader(policy);
        reader.names.currency = Some(self.office.company.currency);
        reader.today = Some(self.office.today());
        reader.settled = self.settled;
        if self.rulebook_fault.is_some() {
            reader.names.lines = None;
            reader.names.cost_codes = None;
        }
        reader
    }

    /// Reads the request.
    ///
    /// # Errors
    /// Every fault at once: of what it names, of its form, and, where its job has none, of its changes on the bill.
    pub(super) fn read(&self, request: &Value) -> Result<Request, DeskFault> {
        self.read_with(request, "", |reader| reader.read(request))
    }

    /// The same for a document that has the request at `place` in it, read by `read`.
    pub(super) fn read_with<T>(
        &self,
        request: &Value,
        place: &str,
        read: impl FnOnce(RequestReader<'_>) -> Result<T, JobFault>,
    ) -> Result<T, DeskFault> {
        let named = self.rulebook_fault.iter().chain(&self.policy_fault);
        let within = |fault: Fault| Fault {
            pointer: format!("{place}{}", fault.pointer),
            ..fault
        };
        let mut told: Vec<Fault> = named.cloned().map(within).collect();
        match read(self.reader()) {
            Ok(read) if told.is_empty() => return Ok(read),
            Ok(_) => {}
            Err(JobFault::Faults(faults)) => {
                told.extend(
                    faults
                        .list
                        .into_iter()
                        .filter(|fault| self.is_of_any_rulebook(fault)),
                );
                told.extend(self.of_the_bill(request)?.into_iter().map(within));
            }
            Err(other) => return Err(other.into()),
        }
        Err(DeskFault::Input(Faults { list: told }))
    }

    /// Whether a fault would stand under another rulebook too.
    fn is_of_any_rulebook(&self, fault: &Fault) -> bool {
        let by_rule = matches!(
            fault.code,
            FaultCode::UnknownWithoutRule | FaultCode::UnknownRefused | FaultCode::NotAnAnswer
        );
        self.rulebook_fault.is_none() || !(by_rule || fault.pointer.contains("/job/extra"))
    }

    /// What only the bill can tell of a request that has other faults, where its job has none.
    fn of_the_bill(&self, request: &Value) -> Result<Vec<Fault>, DeskFault> {
        let part = match self.rulebook_fault {
            Some(_) => None,
            None => self.reader().sound_part(request)?,
        };
        let Some(part) = part else {
            return Ok(Vec::new());
        };
        let Err(DeskFault::Estimate(fault)) = self.estimate(&part.request, false, |_| ()) else {
            return Ok(Vec::new());
        };
        // An amount may be out of bounds only because other entries were left out.
        let told = fault.reasons().into_iter().filter_map(|reason| match reason {
            Reason::Request(fault) if fault.code != FaultCode::OutOfBounds => Some(Fault {
                pointer: part.place(&fault.pointer),
                ..fault
            }),
            _ => None,
        });
        Ok(told.collect())
    }

    /// Prices a request that was read, and shows the result to `show`.
    pub(super) fn estimate<T>(
        &self,
        request: &Request,
        explain: bool,
        show: impl FnOnce(&Estimate<'_>) -> T,
    ) -> Result<T, DeskFault> {
        let prices = self.office.prices_on(self.day);
        let made = estimate(Inputs {
            request,
            workbook: self.workbook,
            catalogue: &self.office.catalogue,
            prices: &prices,
            policy: &self.policy.policy,
            policy_version: self.policy.version,
            explain: explain.then(|| self.since()),
        })?;
        Ok(show(&made))
    }

    /// Since when rulebook and policy are the office's word; of rules that are not published, since today.
    fn since(&self) -> Since {
        let Version { id, version } = self.workbook.version();
        let rulebook = self.office.shelf.since(id, version, self.day);
        Since {
            rulebook: rulebook.unwrap_or_else(|| self.office.today()),
            policy: self.policy.valid_from,
        }
    }
}
