//! Surveys, kept as far as they go: what is still missing for a price, and what cannot stand, is told each time.

use estimate::job::{Fault, JobFault};
use estimate::quote::canonical::Digest;
use serde_json::{Map, Value, json};

use super::act::{Act, Told};
use super::parties::{new_row, rewritten};
use super::{Desk, DeskFault, Office, PartyPage};
use crate::store::{PartyFilter, PartyKind, PartyRow, StoreFault};

/// What such a thing is called.
const WHAT: &str = "survey";

/// What the rules of today say of a survey.
struct Judged {
    missing: Vec<Fault>,
    faults: Vec<Fault>,
}

fn judge(office: &Office, job: &Value) -> Result<Judged, DeskFault> {
    let request = json!({"job": job});
    let told = match office.basis(&request)?.reader().read(&request) {
        Ok(_) => Vec::new(),
        Err(JobFault::Faults(faults)) => faults.list,
        Err(defect) => return Err(defect.into()),
    };
    let (missing, faults) = told.into_iter().partition(Fault::is_missing);
    Ok(Judged { missing, faults })
}

fn body(row: &PartyRow) -> Result<Map<String, Value>, DeskFault> {
    serde_json::from_str(&row.body).map_err(|fault| DeskFault::Defect(format!("{WHAT} {}: {fault}", row.id)))
}

/// The site that a survey is of, where it says one.
pub(super) fn site_of(row: &PartyRow) -> Option<String> {
    let body: Value = serde_json::from_str(&row.body).ok()?;
    body.get("site").and_then(Value::as_str).map(str::to_owned)
}

/// The survey with what is known of its row, and what is said of it today.
fn view(office: &Office, row: &PartyRow, with_job: bool) -> Result<Value, DeskFault> {
    let mut body = body(row)?;
    let job = body.remove("job").unwrap_or_default();
    let judged = judge(office, &job)?;
    let mut members = Map::new();
    members.insert("id".to_owned(), json!(row.id));
    members.extend(body);
    let title = job.get("title").and_then(Value::as_str).unwrap_or_default();
    members.insert("title".to_owned(), json!(title));
    let complete = judged.missing.is_empty() && judged.faults.is_empty();
    members.insert("complete".to_owned(), json!(complete));
    if with_job {
        members.insert("job".to_owned(), job);
        members.insert("missing".to_owned(), json!(judged.missing));
        members.insert("faults".to_owned(), json!(judged.faults));
    } else {
        members.insert("missing".to_owned(), json!(judged.missing.len()));
        members.insert("faults".to_owned(), json!(judged.faults.len()));
    }
    for (name, value) in [
        ("archived", json!(row.archived)),
        ("created_at", json!(row.created_at)),
        ("created_by", json!(row.created_by)),
        ("changed_at", json!(row.changed_at)),
        ("changed_by", json!(row.changed_by)),
    ] {
        members.insert(name.to_owned(), value);
    }
    Ok(Value::Object(members))
}

/// The tag has two parts with a point between them. In front stands what was written, by which a survey is written anew;
/// behind it what is told, since the rules may say something else of the same survey tomorrow.
fn told(office: &Office, row: &PartyRow) -> Result<Told, DeskFault> {
    let body = view(office, row, true)?;
    let bytes = serde_json::to_vec(&body).map_err(|fault| DeskFault::Defect(fault.to_string()))?;
    let digest = Digest::of(&bytes).to_string();
    Ok(Told {
        tag: Some(format!("\"{}.{digest}\"", row.version)),
        body,
    })
}

impl Desk {
    /// Keeps a survey. `id` is the caller's own key, under which it lands once.
    ///
    /// # Errors
    /// The key is taken, or the site is not there.
    pub fn add_survey(&self, act: &Act, id: Option<String>, body: &Value) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || {
            let office = self.office()?;
            self.demand_site(body)?;
            let row = new_row(act, id.clone(), body);
            let answer = told(&office, &row)?.text()?;
            let key = act.key.as_ref();
            let added = self.store.add_party(key, PartyKind::Survey, &row, None, &answer);
            added.map_err(|fault| match fault {
                StoreFault::Exists => DeskFault::Exists {
                    what: WHAT,
                    name: row.id,
                },
                other => other.into(),
            })
        })
    }

    /// A survey, and what is missing in it.
    ///
    /// # Errors
    /// There is none of this key.
    pub fn survey(&self, id: &str) -> Result<Told, DeskFault> {
        told(&*self.office()?, &self.survey_row(id)?)
    }

    /// A page of surveys.
    ///
    /// # Errors
    /// The database.
    pub fn surveys(&self, filter: &PartyFilter) -> Result<PartyPage, DeskFault> {
        let office = self.office()?;
        let most = usize::try_from(filter.limit).unwrap_or(usize::MAX);
        let (mut rows, mut one) = (
            Vec::new(),
            PartyFilter {
                limit: 1,
                ..filter.clone()
            },
        );
        // One after the other: a survey may be large, and what is told of it is small.
        while let Some(row) = self.store.parties(PartyKind::Survey, &one)?.pop() {
            if rows.len() == most {
                return Ok(PartyPage {
                    rows,
                    next: one.after,
                });
            }
            rows.push(view(&office, &row, false)?);
            one.after = Some(row.id);
        }
        Ok(PartyPage { rows, next: None })
    }

    /// Writes a survey anew. `matches` says whether the caller has seen the one of this tag; what the rules of today say of it
    /// does not count.
    ///
    /// # Errors
    /// There is none of this key, it is another by now, or the site is not there or not that of its quotes.
    pub fn change_survey(
        &self,
        act: &Act,
        id: &str,
        body: &Value,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        let (office, before) = (self.office()?, self.survey_row(id)?);
        let seen = told(&office, &before)?.tag.unwrap_or_default();
        if !matches(&seen) {
            return Err(DeskFault::Stale { tag: seen });
        }
        self.demand_site(body)?;
        self.demand_site_of_quotes(id, body)?;
        self.write_survey(act, &office, rewritten(before, body))
    }

    /// Puts a survey away, or takes it out again.
    ///
    /// # Errors
    /// There is none of this key, or it was changed at the same moment.
    pub fn archive_survey(&self, act: &Act, id: &str, archived: bool) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || {
            let (office, before) = (self.office()?, self.survey_row(id)?);
            let row = PartyRow { archived, ..before };
            self.write_survey(act, &office, row)?.text()
        })
    }

    fn survey_row(&self, id: &str) -> Result<PartyRow, DeskFault> {
        self.party_row(PartyKind::Survey, id)
    }

    fn demand_site(&self, body: &Value) -> Result<(), DeskFault> {
        let Some(site) = body.get("site").and_then(Value::as_str) else {
            return Ok(());
        };
        self.party_row(PartyKind::Site, site)
            .map(drop)
            .map_err(|fault| fault.at("/site"))
    }

    /// What quotes come from stays at their site.
    fn demand_site_of_quotes(&self, id: &str, body: &Value) -> Result<(), DeskFault> {
        let Some(site) = body.get("site").and_then(Value::as_str) else {
            return Ok(());
        };
        let Some(number) = self.store.quote_of_survey_elsewhere(id, site)? else {
            return Ok(());
        };
        let word = format!("the quote {number} comes from this survey and is of another site");
        Err(DeskFault::Members(vec![("/site".to_owned(), word)]))
    }

    fn write_survey(&self, act: &Act, office: &Office, before: PartyRow) -> Result<Told, DeskFault> {
        let id = before.id.clone();
        self.write_row(
            PartyKind::Survey,
            act,
            before,
            |row| told(office, row),
            || self.survey(&id),
        )
    }
}
