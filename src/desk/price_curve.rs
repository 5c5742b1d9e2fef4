//! How the price of a job moves with one of its answers, as a chart.

use estimate::handoff::charts;
use estimate::handoff::figure::Reader;
use estimate::handoff::measures::Measures;
use estimate::handoff::words::Language;
use serde_json::Value;

use super::sweep_job::Wanted;
use super::{Desk, DeskFault, STANDARD_STYLE, StyleChoice};

impl Desk {
    /// The curve of a sweep over one answer, SVG, in `language` or else in that of the house style.
    ///
    /// # Errors
    /// Those of a sweep; two answers vary, no point has a price, or there is no such style.
    pub fn price_curve(
        &self,
        body: &Value,
        style: &StyleChoice,
        language: Option<Language>,
    ) -> Result<String, DeskFault> {
        let id = style.id.as_deref().unwrap_or(STANDARD_STYLE);
        let styled = self.house_style(id, style.version)?.style.language;
        let reader = Reader {
            language: language.unwrap_or(styled),
            measures: Measures::of(&body["request"]),
        };
        self.office()?.sweep_job(body, Wanted::Points, |sweep| {
            let [varied] = sweep.vary.as_slice() else {
                return Err(DeskFault::Member {
                    pointer: "/vary",
                    message: "a curve is of one answer that varies".to_owned(),
                });
            };
            Ok(charts::price_curve(varied, &sweep.points, reader)?)
        })?
    }
}
