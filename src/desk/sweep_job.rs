//! One or two answers of a job varied: a price curve, and where it jumps.

use estimate::sweep::{Ask, Sweep, SweepInputs, sweep};
use serde_json::Value;

use super::{Desk, DeskFault, Office};

/// Where the request in a sweep names its rulebook and the version.
const OF_REQUEST: [&str; 2] = ["/request/rulebook", "/request/rulebook_version"];

/// How much of a sweep is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wanted {
    /// All that is asked for.
    AsAsked,
    /// The points alone; breaks are not looked for.
    Points,
}

impl Desk {
    /// Works out a sweep and shows the result to `show`.
    ///
    /// # Errors
    /// Every fault of what is asked, or those of the request where no point can be read.
    pub fn sweep_job<T>(&self, body: &Value, show: impl FnOnce(&Sweep<'_>) -> T) -> Result<T, DeskFault> {
        self.office()?.sweep_job(body, Wanted::AsAsked, show)
    }
}

impl Office {
    pub(super) fn sweep_job<T>(
        &self,
        body: &Value,
        wanted: Wanted,
        show: impl FnOnce(&Sweep<'_>) -> T,
    ) -> Result<T, DeskFault> {
        let request = body.get("request").unwrap_or(&Value::Null);
        let workbook = &self.named_at(request, OF_REQUEST)?.workbook;
        let mut ask = Ask::read(workbook.form(), body).map_err(DeskFault::Input)?;
        ask.breaks &= wanted == Wanted::AsAsked;
        let day = ask.priced_on.unwrap_or_else(|| self.today());
        let policy = self
            .policy_on(ask.policy.as_deref(), day)
            .map_err(|fault| fault.at("/request/policy"))?;
        let prices = self.prices_on(day);
        let inputs = SweepInputs {
            workbook,
            catalogue: &self.catalogue,
            prices: &prices,
            policy: &policy.policy,
            policy_version: policy.version,
        };
        sweep(&ask, inputs)
            .map(|sweep| show(&sweep))
            .map_err(DeskFault::Input)
    }
}
