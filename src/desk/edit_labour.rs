//! New labour classes, and new dated rates of those that are there.

use estimate::catalogue::LabourClass;
use estimate::catalogue::check;
use estimate::catalogue::labour::LabourRate;

use super::{Desk, DeskFault};
use crate::store::StoreFault;

impl Desk {
    /// Adds a labour class with its rates.
    ///
    /// # Errors
    /// Every fault of the class, [`DeskFault::Taken`] when there is one with this code, or the database.
    pub fn add_labour_class(&self, class: &LabourClass) -> Result<(), DeskFault> {
        let office = self.office()?;
        let mut faults = check::labour(class);
        faults.extend(office.policies.iter().filter_map(|version| {
            let policy = version.policy.policy();
            let known = policy
                .tax
                .categories
                .iter()
                .any(|category| category.code == class.tax_category);
            let message = format!(
                "{} is not a tax category of the policy {}",
                class.tax_category, policy.id
            );
            (!known).then(|| ("/tax_category".to_owned(), message))
        }));
        faults.dedup();
        if !faults.is_empty() {
            return Err(DeskFault::NewLabour(faults));
        }
        self.store.add_labour_class(class).map_err(|fault| match fault {
            StoreFault::Exists => DeskFault::taken("labour class", &class.code),
            other => DeskFault::Store(other),
        })
    }

    /// Adds a dated rate to the labour class `code`, which had `known` rates when it was read.
    ///
    /// # Errors
    /// Every fault of the rate, no such class, [`DeskFault::Changed`] when it has more rates by now, or the database.
    pub fn add_labour_rate(&self, code: &str, rate: &LabourRate, known: usize) -> Result<(), DeskFault> {
        let office = self.office()?;
        let place = office.catalogue.labour_place(code);
        let class = place.and_then(|place| office.catalogue.labour().get(place));
        let class = class.ok_or_else(|| DeskFault::unknown("labour class", code))?;
        let mut faults = check::rate(rate);
        if class
            .rates
            .iter()
            .any(|other| other.valid_from == rate.valid_from)
        {
            let message = format!(
                "a rate from {} on is there already; a rate is never overwritten",
                rate.valid_from
            );
            faults.push(("/valid_from".to_owned(), message));
        }
        if !faults.is_empty() {
            return Err(DeskFault::NewLabour(faults));
        }
        self.store
            .add_labour_rate(code, rate, known)
            .map_err(|fault| match fault {
                StoreFault::Changed | StoreFault::Exists => DeskFault::Changed,
                StoreFault::Missing => DeskFault::unknown("labour class", code),
                other => DeskFault::Store(other),
            })
    }
}
