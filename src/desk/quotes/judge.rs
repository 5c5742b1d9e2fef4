//! A draft is saved when an estimate can be made of it: what only the bill can tell is told before.

use estimate::estimate::Reason;
use estimate::job::{Fault, FaultCode, Faults};
use estimate::quote::change::Change;
use estimate::quote::draft::Draft;
use serde_json::Value;

use crate::desk::DeskFault;
use crate::desk::read_request::Basis;

impl Basis<'_> {
    /// Prices a draft that was read, and every alternate of it.
    ///
    /// # Errors
    /// Every fault that the estimates have, with its place in the draft. Alternates are judged where the request itself
    /// can be priced.
    pub(super) fn can_price(&self, draft: &Draft) -> Result<(), DeskFault> {
        let mut faults = self.unpriced(&draft.request, |pointer| format!("/request{pointer}"))?;
        if faults.is_empty() {
            for (index, alternate) in draft.alternates.iter().enumerate() {
                let at = format!("/alternates/{index}/change");
                faults.extend(self.unpriced_change(&draft.request, &alternate.change, &at)?);
            }
        }
        refuse(faults)
    }

    /// The same of a change to a request that can be priced; `at` is where the change stands.
    pub(super) fn can_price_change(
        &self,
        request: &Value,
        change: &Change,
        at: &str,
    ) -> Result<(), DeskFault> {
        refuse(self.unpriced_change(request, change, at)?)
    }

    fn unpriced_change(&self, request: &Value, change: &Change, at: &str) -> Result<Vec<Fault>, DeskFault> {
        self.unpriced(&change.apply(request), |pointer| {
            format!("{at}{}", change.place(request, pointer))
        })
    }

    /// Why a request that has no fault of its form cannot be priced.
    fn unpriced(&self, request: &Value, place: impl Fn(&str) -> String) -> Result<Vec<Fault>, DeskFault> {
        let request = self.reader().read(request)?;
        let fault = match self.estimate(&request, false, |_| ()) {
            Ok(()) => return Ok(Vec::new()),
            Err(DeskFault::Estimate(fault)) => fault,
            Err(other) => return Err(other),
        };
        let told = fault.reasons().into_iter().map(|reason| match reason {
            Reason::Request(fault) => Fault {
                pointer: place(&fault.pointer),
                ..fault
            },
            Reason::Job(message) => Fault {
                pointer: place(""),
                code: FaultCode::DoesNotFit,
                came: "a job that cannot be priced".to_owned(),
                allowed: "a job that can be priced".to_owned(),
                message,
            },
        });
        Ok(told.collect())
    }
}

fn refuse(list: Vec<Fault>) -> Result<(), DeskFault> {
    match list.is_empty() {
        true => Ok(()),
        false => Err(DeskFault::Input(Faults { list })),
    }
}
