//! The report of a period: what happened to offers, and which acceptances the ledger has.

use chrono::{DateTime, NaiveDate, Utc};
use estimate::handoff::csv;
use estimate::handoff::reconciliation::{Happening, ReceiptStanding, Reconciliation, reconcile};
use estimate::quote::life::State;
use estimate::quote::validity::{Validity, Zone};
use serde_json::{Value, json};

use super::feed::amounts;
use crate::desk::{Desk, DeskFault, moment};
use crate::store::{HappeningRow, StoreFault};

/// The moment at which a day begins: when the one before it ends.
fn beginning(day: NaiveDate, time_zone: Zone) -> DateTime<Utc> {
    match day.pred_opt() {
        Some(until) => Validity { until, time_zone }.ends(),
        None => DateTime::<Utc>::MIN_UTC,
    }
}

impl Desk {
    /// The report of the days from `from` to `to`, both of them in it.
    ///
    /// # Errors
    /// The first day is later than the last.
    pub fn reconciliation(&self, from: NaiveDate, to: NaiveDate) -> Result<Value, DeskFault> {
        let company = &self.office()?.company;
        let report = self.report(from, to)?;
        Ok(json!({
            "from": from,
            "to": to,
            "time_zone": company.time_zone,
            "currency": company.currency,
            "states": report.states,
            "months": report.months,
            "estimators": report.estimators,
            "receipts": report.receipts,
        }))
    }

    /// The same as CSV, one row a sum.
    ///
    /// # Errors
    /// As [`Desk::reconciliation`].
    pub fn reconciliation_as_csv(&self, from: NaiveDate, to: NaiveDate) -> Result<Vec<u8>, DeskFault> {
        let currency = self.office()?.company.currency;
        Ok(csv::report(&self.report(from, to)?, currency).into_bytes())
    }

    fn report(&self, from: NaiveDate, to: NaiveDate) -> Result<Reconciliation, DeskFault> {
        if from > to {
            return Err(DeskFault::Period { from, to });
        }
        let office = self.office()?;
        let (zone, currency) = (office.zone()?, office.company.currency);
        let end = Validity {
            until: to,
            time_zone: zone,
        };
        let rows = self
            .store
            .happenings(&moment(beginning(from, zone)), &moment(end.ends()))?;
        let bad = |message: String| {
            DeskFault::Store(StoreFault::Corrupt {
                table: "accounting_feed",
                key: String::new(),
                message,
            })
        };
        let happening = |row: HappeningRow| {
            Ok(Happening {
                state: State::of_word(&row.state).ok_or_else(|| bad(row.state.clone()))?,
                at: row.at.parse().map_err(|_| bad(row.at.clone()))?,
                amounts: amounts(currency, (row.net, row.tax, row.total)),
                receipt: match (row.receipt, row.refused) {
                    (Some(_), _) => ReceiptStanding::WithReceipt,
                    (None, true) => ReceiptStanding::Refused,
                    (None, false) => ReceiptStanding::WithoutReceipt,
                },
                estimator: row.estimator,
            })
        };
        let happenings = rows
            .into_iter()
            .map(happening)
            .collect::<Result<Vec<_>, DeskFault>>()?;
        Ok(reconcile(&happenings, currency, zone)?)
    }
}
