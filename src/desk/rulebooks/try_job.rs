//! What other rules say and do: two rulebooks compared by meaning, and one job under both.

use estimate::job::Request;
use estimate::quote::estimated::Estimated;
use estimate::quote::impact::{Trial, TrialFault};
use estimate::rules::comparison::RulebookComparison;
use estimate::rules::{Rulebook, parse_toml};
use estimate::workbook::Workbook;
use serde_json::{Value, json};

use super::{Which, With};
use crate::desk::{Desk, DeskFault, Office};

impl From<TrialFault> for DeskFault {
    fn from(fault: TrialFault) -> Self {
        match fault {
            TrialFault::Request(fault) => fault.into(),
            TrialFault::Estimate(fault) => fault.into(),
            TrialFault::Shape(fault) => Self::Defect(fault.to_string()),
        }
    }
}

impl Desk {
    /// In what a draft or version differs by meaning from another draft, or from a version of its rulebook: of a draft
    /// its base when nothing is named, of a version the one that is current today.
    ///
    /// # Errors
    /// There is no such thing.
    pub fn compare_rulebooks(&self, which: &Which, with: &With) -> Result<Value, DeskFault> {
        let office = self.office()?;
        let after = self.text_of(&office, which)?;
        let id = &after.rulebook;
        let before = match (with, &after.base) {
            (With::Draft(draft), _) => Which::Draft(draft.clone()),
            (With::Version(version), _) | (With::Usual, Some(version)) => {
                Which::Version(id.clone(), *version)
            }
            (With::Usual, None) => Which::Version(id.clone(), office.rulebook(Some(id))?.stored.head.version),
        };
        let before = self.text_of(&office, &before)?;
        let changes = RulebookComparison::between(&read(&before.text)?, &read(&after.text)?);
        Ok(json!({
            "from": before.name,
            "to": after.name,
            "changes": tree(&changes)?,
        }))
    }

    /// What a draft or version does to a job: the estimate under a version of its rulebook, the one that is current on
    /// the day of the prices when none is named, and under the draft or version.
    ///
    /// # Errors
    /// There is no such thing; the draft has errors in it; or the job cannot be priced under the version before.
    pub fn rulebook_impact(
        &self,
        which: &Which,
        with: Option<u32>,
        request: &Value,
    ) -> Result<Value, DeskFault> {
        let office = self.office()?;
        let after = self.text_of(&office, which)?;
        let day = Request::named_day(request).unwrap_or_else(|| office.today());
        let before = office.rulebook_on(Some(&after.rulebook), with, day)?;
        let named = request.get("policy").and_then(Value::as_str);
        let policy = office
            .policy_on(named, day)
            .map_err(|fault| fault.at("/policy"))?;
        let prices = office.prices_on(day);
        let trial = Trial {
            request,
            catalogue: &office.catalogue,
            prices: &prices,
            policy: &policy.policy,
            policy_version: policy.version,
        };
        let number = before.stored.head.version.saturating_add(1);
        let drafted;
        let workbook: &Workbook = match which {
            Which::Version(id, version) => &office.rulebook_on(Some(id), Some(*version), day)?.workbook,
            Which::Draft(_) => {
                drafted = office.compile(&after.text, number)?;
                &drafted
            }
        };
        let impact = trial.impact(&before.workbook, workbook)?;
        let estimated = impact.before?;
        let head = &before.stored.head;
        let outcome = match impact.after {
            Ok(estimated) => side(after.name, &estimated),
            Err(fault) => json!({"rules": after.name, "fault": told(fault)}),
        };
        Ok(json!({
            "priced_on": day,
            "before": side(json!({"id": head.id, "version": head.version}), &estimated),
            "after": outcome,
            "comparison": tree(&impact.comparison)?,
        }))
    }

    fn text_of(&self, office: &Office, which: &Which) -> Result<RulesText, DeskFault> {
        match which {
            Which::Draft(id) => {
                let stored = self.stored_draft(id)?;
                Ok(RulesText {
                    name: json!({"draft": stored.head.id}),
                    rulebook: stored.head.rulebook,
                    base: u32::try_from(stored.head.base_version).ok(),
                    text: stored.text,
                })
            }
            Which::Version(id, version) => Ok(RulesText {
                name: json!({"id": id, "version": version}),
                rulebook: id.clone(),
                base: None,
                text: office.shelf.text(id, *version)?.text,
            }),
        }
    }
}

/// The text of a draft or version, and what it is of.
struct RulesText {
    /// How it is named in what is told.
    name: Value,
    rulebook: String,
    base: Option<u32>,
    text: String,
}

fn read(text: &str) -> Result<Rulebook, DeskFault> {
    parse_toml(text).map_err(DeskFault::Rulebook)
}

fn tree(value: &impl serde::Serialize) -> Result<Value, DeskFault> {
    serde_json::to_value(value).map_err(|fault| DeskFault::Defect(fault.to_string()))
}

/// What a job comes to under some rules.
fn side(rules: Value, estimated: &Estimated) -> Value {
    json!({
        "rules": rules,
        "lines": estimated.part("lines"),
        "labour": estimated.part("labour"),
        "totals": estimated.part("totals"),
        "cautions": estimated.part("cautions"),
    })
}

/// Why a job cannot be priced, with every place.
fn told(fault: TrialFault) -> String {
    match fault {
        TrialFault::Request(estimate::job::JobFault::Faults(faults)) => {
            let told = faults.list.iter();
            let told: Vec<String> = told
                .map(|fault| format!("{}: {}", fault.pointer, fault.message))
                .collect();
            told.join("; ")
        }
        other => other.to_string(),
    }
}
