//! New labour classes, and new dated rates of those that are there.

use estimate::catalogue::LabourClass;
use estimate::catalogue::check;
use estimate::catalogue::labour::LabourRate;
use estimate::catalogue::labour_limits::{beyond_reason, suspicious_beside};

use super::act::Told;
use super::{Desk, DeskFault, Meant, Office};
use crate::store::{RequestKey, StoreFault};

impl Desk {
    /// Adds a labour class with its rates, once for `key`. `tell` makes the answer of it.
    ///
    /// # Errors
    /// Every fault of the class, [`DeskFault::Taken`] when there is one with this code, or the database.
    pub fn add_labour_class(
        &self,
        key: Option<&RequestKey>,
        class: &LabourClass,
        tell: impl Fn(&LabourClass) -> Result<Told, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(key, || {
            let office = self.office()?;
            let mut faults = office.labour_faults(class);
            for (place, rate) in class.rates.iter().enumerate() {
                let found = beyond_reason(rate, office.company.currency);
                faults.extend(
                    found
                        .into_iter()
                        .map(|(at, message)| (format!("/rates/{place}{at}"), message)),
                );
            }
            let unknown = self.unknown_cost_code(&office, &class.cost_code)?;
            faults.extend(unknown.map(|message| ("/cost_code".to_owned(), message)));
            if !faults.is_empty() {
                return Err(DeskFault::Members(faults));
            }
            let answer = tell(&in_order(class.clone()))?.text()?;
            let added = self.store.add_labour_class(key, class, &answer);
            added.map_err(|fault| match fault {
                StoreFault::Exists => DeskFault::taken("labour class", &class.code),
                other => DeskFault::Store(other),
            })
        })
    }

    /// Adds a dated rate to the labour class `code`, once for `key`; days that are over keep what they cost unless it is
    /// `meant`. `matches` says whether the caller has seen the class
    /// of this tag; `tell` makes the answer of the class, with its tag.
    ///
    /// # Errors
    /// Every fault of the rate, no such class, [`DeskFault::Changed`] when it is another by now, or the database.
    pub fn add_labour_rate(
        &self,
        key: Option<&RequestKey>,
        code: &str,
        (rate, meant): (&LabourRate, Meant),
        matches: impl Fn(&str) -> bool,
        tell: impl Fn(&LabourClass) -> Result<Told, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(key, || {
            let office = self.office()?;
            let class = office.labour_class(code)?;
            if !tell(class)?.tag.is_some_and(|tag| matches(&tag)) {
                return Err(DeskFault::Changed);
            }
            let mut faults = check::rate(rate);
            let same_day = |other: &LabourRate| other.valid_from == rate.valid_from;
            if class.rates.iter().any(same_day) {
                let message = format!(
                    "a rate from {} on is there already; a rate is never overwritten",
                    rate.valid_from
                );
                faults.push(("/valid_from".to_owned(), message));
            } else if let Some(message) = office.labour_rate_begins(class, rate, meant) {
                faults.push(("/valid_from".to_owned(), message));
            }
            if faults.is_empty() {
                faults = beyond_reason(rate, office.company.currency);
                let before = class.rate_on(rate.valid_from).filter(|_| !meant.factor);
                let beside = before.and_then(|before| suspicious_beside(rate, before));
                faults.extend(beside.map(|message| ("/wage".to_owned(), message)));
            }
            if !faults.is_empty() {
                return Err(DeskFault::Members(faults));
            }
            let mut after = class.clone();
            after.rates.push(rate.clone());
            let answer = tell(&in_order(after))?.text()?;
            let known = class.rates.len();
            let added = self.store.add_labour_rate(key, code, rate, known, &answer);
            added.map_err(|fault| match fault {
                StoreFault::Changed | StoreFault::Exists => DeskFault::Changed,
                StoreFault::Missing => DeskFault::unknown("labour class", code),
                other => DeskFault::Store(other),
            })
        })
    }
}

/// The class with its rates in the order in which they are read.
fn in_order(mut class: LabourClass) -> LabourClass {
    class.rates.sort_by_key(|rate| rate.valid_from);
    class
}

impl Office {
    /// The labour class of this code.
    ///
    /// # Errors
    /// There is none.
    pub fn labour_class(&self, code: &str) -> Result<&LabourClass, DeskFault> {
        let place = self.catalogue.labour_place(code);
        let class = place.and_then(|place| self.catalogue.labour().get(place));
        class.ok_or_else(|| DeskFault::unknown("labour class", code))
    }

    /// Why a rate may not hold from its day on.
    fn labour_rate_begins(&self, class: &LabourClass, rate: &LabourRate, meant: Meant) -> Option<String> {
        let newest = class.rates.iter().map(|rate| rate.valid_from).max()?;
        self.cannot_begin(newest, rate.valid_from, meant)
    }

    /// Every fault of a class that is to be added.
    fn labour_faults(&self, class: &LabourClass) -> Vec<(String, String)> {
        let mut faults = check::labour(class);
        faults.extend(self.policies.iter().filter_map(|version| {
            let policy = version.policy.policy();
            let categories = &policy.tax.categories;
            let known = categories
                .iter()
                .any(|category| category.code == class.tax_category);
            let message = format!(
                "{} is not a tax category of the policy {}",
                class.tax_category, policy.id
            );
            (!known).then(|| ("/tax_category".to_owned(), message))
        }));
        faults.dedup();
        faults
    }
}
