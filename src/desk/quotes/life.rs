//! The moves of a revision: issued, accepted, declined, withdrawn; and approved before it goes out.

use estimate::pricing::policy::ApprovalLimits;
use estimate::quote::acceptance::{Acceptance, AcceptanceFault, Word};
use estimate::quote::alternates::{AlternateFault, Clash, thinnest};
use estimate::quote::approval::{self, Approval, ApprovalFault};
use estimate::quote::canonical::Digest;
use estimate::quote::estimated::Estimated;
use estimate::quote::life::{Event, superseded_by_issue};
use estimate::quote::number::RevisionName;
use estimate::quote::party::{Customer, Site};
use estimate::quote::revision::{Issue, Revision, Sources};
use estimate::quote::validity::Validity;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::change::{Decided, Present, end, standing, state};
use super::sources::PROGRAM;
use super::view::{given, name};
use super::work::{Priced, authors, no_choice, no_contract, refused, sources, unreadable};
use super::{Act, At, Told};
use crate::desk::{Desk, DeskFault, Office, moment};
use crate::store::{AcceptanceRow, ApprovalRow, IssuedRow, PartyKind, PartyRow, RevisionRow, Write};

/// The customer's word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WordOfCustomer {
    /// Who accepted on the customer's side.
    pub accepted_by: String,
    /// Their reference, such as the number of a purchase order.
    pub reference: Option<String>,
    /// Names of the alternates that they chose.
    pub alternates: Vec<String>,
}

/// The document of a customer or a site as a record holds it.
pub(super) fn party<T: DeserializeOwned>(row: &PartyRow) -> Result<T, DeskFault> {
    let bad = |fault: serde_json::Error| unreadable("customers", &row.id, fault);
    let mut members: Map<String, Value> = serde_json::from_str(&row.body).map_err(bad)?;
    members.remove("customer");
    members.insert("id".to_owned(), Value::String(row.id.clone()));
    serde_json::from_value(Value::Object(members)).map_err(bad)
}

/// The number of moves that are in `rows`, and one.
fn next(rows: &[Write]) -> usize {
    let moves = rows.iter().filter(|row| matches!(row, Write::Transition(_)));
    moves.count().saturating_add(1)
}

impl Present<'_> {
    /// Adds a move of `row` to what is written.
    fn add_move(
        &self,
        rows: &mut Vec<Write>,
        row: &RevisionRow,
        event: Event,
        reason: Option<&str>,
    ) -> Result<(), DeskFault> {
        let (after, record) = self.moved(row, event, reason, next(rows))?;
        rows.extend([Write::Change(after), Write::Transition(record)]);
        Ok(())
    }
}

impl Desk {
    /// Issues a draft: it is frozen, and what is with the customer in its place is superseded.
    ///
    /// # Errors
    /// It is no draft, the offer has been accepted, a stop stands, an approval is missing, or it cannot be priced.
    pub fn issue(&self, act: &Act, at: &At, reason: Option<&str>) -> Result<Told, DeskFault> {
        self.change(act, &at.quote, |present| {
            let row = present.row(at)?;
            standing(row)?.after(Event::Issue, present.now)?;
            let track = || {
                let rows = present.stored.revisions.iter();
                rows.filter(|other| other.change_order == row.change_order && other.revision != row.revision)
            };
            let others = track()
                .map(|other| {
                    Ok((
                        u32::try_from(other.revision).unwrap_or_default(),
                        standing(other)?,
                    ))
                })
                .collect::<Result<Vec<_>, DeskFault>>()?;
            let superseded = superseded_by_issue(others, present.now)?;
            let mut revision = self.frozen_revision(present, row)?;
            let frozen = revision.freeze().map_err(|fault| refused(fault.into()))?;
            let paper_notes = self.paper_notes(present.stored, &revision)?;
            let after = RevisionRow {
                ends_at: Some(end(&revision.validity)),
                ..row.clone()
            };
            let mut rows = Vec::new();
            // The end is known only now; the move itself asks the draft.
            let (moved, record) = present.moved(row, Event::Issue, reason, next(&rows))?;
            rows.push(Write::Change(RevisionRow {
                ends_at: after.ends_at,
                ..moved
            }));
            rows.push(Write::Issued(IssuedRow {
                quote_id: row.quote_id.clone(),
                change_order: row.change_order,
                revision: row.revision,
                digest: frozen.digest().to_string(),
                previous: revision.previous.map(|digest| digest.to_string()),
                issued_at: moment(present.now),
                issued_by: present.person.to_owned(),
                catalogue: revision.made_from.catalogue.to_string(),
                rulebook: revision.made_from.rulebook.digest.to_string(),
                policy: revision.made_from.policy.digest.to_string(),
                document: String::from_utf8(frozen.into_bytes())
                    .map_err(|fault| DeskFault::Defect(fault.to_string()))?,
            }));
            rows.push(Write::Transition(record));
            let instead = format!("{} was issued", name(present.stored, row));
            for other in track().filter(|other| superseded.iter().any(|one| other.revision == *one as i32)) {
                present.add_move(&mut rows, other, Event::Supersede, Some(&instead))?;
            }
            Ok(Decided {
                rows,
                told: Some(at.clone()),
                paper_notes,
            })
        })
    }

    /// The revision that a draft becomes now.
    fn frozen_revision(&self, present: &Present<'_>, row: &RevisionRow) -> Result<Revision, DeskFault> {
        let stored = present.stored;
        let made_from = Sources {
            program: PROGRAM.to_owned(),
            ..sources(row)?
        };
        if made_from.priced_on > present.office.today() {
            return Err(DeskFault::Conflict(format!(
                "the draft is priced on {}, which has not come: nobody knows the prices of that day",
                made_from.priced_on
            )));
        }
        let office = self.past(&made_from)?;
        let priced = self.priced(stored, row, &office, &made_from)?;
        let policy = office.policy(None)?.policy.policy();
        let content = priced.content();
        let days = content.validity_days.unwrap_or(policy.validity_days);
        let validity = Validity::of_days(present.now, days, present.zone);
        let before = stored
            .issued
            .iter()
            .rfind(|issued| issued.change_order == row.change_order);
        let previous = before.map(|issued| Digest::parse(&issued.digest)).transpose();
        let name = RevisionName::parse(&name(stored, row));
        let issue = Issue {
            name: name.map_err(|fault| DeskFault::Defect(fault.to_string()))?,
            previous: previous.map_err(|fault| unreadable("issued_revisions", &row.quote_id, fault))?,
            at: present.now,
            by: present.person.to_owned(),
            validity: validity.map_err(|fault| DeskFault::Conflict(fault.to_string()))?,
            customer: party::<Customer>(&self.party_row(PartyKind::Customer, &stored.quote.customer_id)?)?,
            site: party::<Site>(&self.party_row(PartyKind::Site, &stored.quote.site_id)?)?,
            // Where a stop stands, nobody's approval lets the offer out.
            approval: if priced.estimated().figures().may_be_issued {
                self.approved(present, row, &office, &priced)?
            } else {
                None
            },
            made_from,
        };
        match &priced {
            Priced::Offer {
                draft,
                base,
                alternates,
                ..
            } => Revision::new(issue, draft, base, alternates),
            Priced::Change {
                order,
                contract,
                priced,
            } => order.revision(issue, contract, priced),
        }
        .map_err(refused)
    }

    /// Approves a draft, for exactly what it is and comes to now.
    ///
    /// # Errors
    /// The person wrote at it, or it is no draft.
    pub fn approve(&self, act: &Act, at: &At, note: Option<&str>) -> Result<Told, DeskFault> {
        self.change(act, &at.quote, |present| {
            let row = present.row(at)?;
            if !state(row)?.may_be_edited() {
                return Err(DeskFault::Conflict("only a draft is approved".to_owned()));
            }
            let people = self.people(&row.quote_id)?;
            let own = approval::may_approve(present.person, &authors(row)?, |one, other| {
                people.are_one(one, other)
            });
            own.map_err(|fault| DeskFault::Approval {
                fault,
                reasons: Vec::new(),
            })?;
            let from = sources(row)?;
            let priced = self.priced(present.stored, row, &*self.past(&from)?, &from)?;
            let subject = approval::subject(&priced.content(), priced.estimated());
            let subject = subject.map_err(|fault| DeskFault::Defect(fault.to_string()))?;
            let before = given(present.stored, row).count();
            let approval = ApprovalRow {
                quote_id: row.quote_id.clone(),
                change_order: row.change_order,
                revision: row.revision,
                position: i32::try_from(before.saturating_add(1)).unwrap_or(i32::MAX),
                subject: subject.to_string(),
                given_at: moment(present.now),
                given_by: present.person.to_owned(),
                note: note.map(str::to_owned),
            };
            Ok(Decided {
                rows: vec![Write::Approval(approval)],
                told: Some(at.clone()),
                ..Decided::default()
            })
        })
    }

    /// Records that the customer took an offer, with the alternates that they chose: the accepted totals are those of
    /// the combined job, estimated by the rules and prices that were offered.
    ///
    /// # Errors
    /// It is not with the customer, an alternate is not on offer, or a change order is of a contract that has changed.
    pub fn accept(
        &self,
        act: &Act,
        at: &At,
        word: &WordOfCustomer,
        reason: Option<&str>,
    ) -> Result<Told, DeskFault> {
        self.change(act, &at.quote, |present| {
            let row = present.row(at)?;
            standing(row)?.after(Event::Accept, present.now)?;
            let (revision, digest, _) = self.document(at)?;
            let office = self.past(&revision.made_from)?;
            let word = Word {
                accepted_by: word.accepted_by.clone(),
                reference: word.reference.clone(),
                chosen: word.alternates.clone(),
                at: present.now,
                recorded_by: present.person.to_owned(),
            };
            let day = revision.made_from.priced_on;
            let chosen = word.chosen.clone();
            let as_offered = chosen.is_empty();
            let estimate = |request: &Value| match as_offered {
                true => office.price_issued(request, day),
                false => office.price_on(request, day),
            };
            let made = Acceptance::new(&revision, digest, word, estimate);
            let (record, choice) = made.map_err(|fault| match fault {
                AcceptanceFault::Choice(fault) => no_choice_of(&chosen, fault),
                AcceptanceFault::Clash(clashes) => not_together(&clashes),
                AcceptanceFault::Revision(fault) => refused(fault),
            })?;
            let policy = office.policy(None)?.policy.policy();
            if let (Some(limits), true) = (&policy.approval, record.chosen.len() > 1) {
                within_approval(limits, &revision, &choice.estimated, estimate)?;
            }
            let frozen = record.freeze().map_err(|fault| refused(fault.into()))?;
            if at.change_order > 0 {
                let contract = self.contract(present.stored)?;
                let contract =
                    contract.ok_or_else(|| DeskFault::Conflict("there is no contract".to_owned()))?;
                contract
                    .with(&revision, &record, frozen.digest())
                    .map_err(no_contract)?;
            }
            let mut rows = Vec::new();
            present.add_move(&mut rows, row, Event::Accept, reason)?;
            rows.push(Write::Acceptance(AcceptanceRow {
                quote_id: row.quote_id.clone(),
                change_order: row.change_order,
                revision: row.revision,
                digest: frozen.digest().to_string(),
                accepted_at: moment(present.now),
                document: String::from_utf8(frozen.into_bytes())
                    .map_err(|fault| DeskFault::Defect(fault.to_string()))?,
            }));
            Ok(Decided {
                rows,
                told: Some(at.clone()),
                ..Decided::default()
            })
        })
    }

    /// Records that the customer said no, or that the office took the offer back.
    ///
    /// # Errors
    /// It is not with the customer.
    pub fn end_offer(
        &self,
        act: &Act,
        at: &At,
        event: Event,
        reason: Option<&str>,
    ) -> Result<Told, DeskFault> {
        self.change(act, &at.quote, |present| {
            let mut rows = Vec::new();
            present.add_move(&mut rows, present.row(at)?, event, reason)?;
            Ok(Decided {
                rows,
                told: Some(at.clone()),
                ..Decided::default()
            })
        })
    }
}

/// Holds what the customer chose together against what was approved, or needed no approval, when the offer went out.
fn within_approval(
    limits: &ApprovalLimits,
    revision: &Revision,
    chosen: &Estimated,
    estimate: impl FnMut(&Value) -> Result<Estimated, DeskFault>,
) -> Result<(), DeskFault> {
    let base = revision.estimated().map_err(|fault| refused(fault.into()))?;
    let offered = revision.alternates.iter().map(|offered| offered.priced(&base));
    let offered = offered.collect::<Result<Vec<_>, _>>().map_err(refused)?;
    let together = thinnest(&revision.request, &base, &offered, estimate);
    let singles = offered.iter().map(|offered| &offered.estimated);
    let shown: Vec<&Estimated> = [&base].into_iter().chain(singles).chain(&together).collect();
    let reasons = approval::reasons_of_choice(limits, &shown, revision.approval.is_some(), chosen);
    if reasons.is_empty() {
        return Ok(());
    }
    Err(DeskFault::Approval {
        fault: ApprovalFault::Combination,
        reasons,
    })
}

/// As [`no_choice`], with the place of a name that stands twice among those that were `chosen`.
fn no_choice_of(chosen: &[String], fault: AlternateFault<DeskFault>) -> DeskFault {
    match &fault {
        AlternateFault::Twice(name) => {
            let place = chosen.iter().rposition(|other| other == name).unwrap_or_default();
            DeskFault::Members(vec![(format!("/alternates/{place}"), fault.to_string())])
        }
        AlternateFault::Unknown(name) => {
            let place = chosen.iter().position(|other| other == name).unwrap_or_default();
            DeskFault::Members(vec![(format!("/alternates/{place}"), fault.to_string())])
        }
        _ => no_choice(fault),
    }
}

/// Alternates of which the customer can take only one.
fn not_together(clashes: &[Clash]) -> DeskFault {
    let one = |clash: &Clash| {
        let Clash { first, then, places } = clash;
        let places = places.join(", ");
        let message =
            format!("{first} and {then} cannot be taken together: both set {places}, each to something else");
        ("/alternates".to_owned(), message)
    };
    DeskFault::Members(clashes.iter().map(one).collect())
}

impl Desk {
    /// The approval under which a draft may go out; none where none is needed.
    fn approved(
        &self,
        present: &Present<'_>,
        row: &RevisionRow,
        office: &Office,
        priced: &Priced,
    ) -> Result<Option<Approval>, DeskFault> {
        let reasons = priced.approval_reasons(office.policy(None)?.policy.policy());
        if reasons.is_empty() {
            return Ok(None);
        }
        let subject = approval::subject(&priced.content(), priced.estimated());
        let subject = subject.map_err(|fault| DeskFault::Defect(fault.to_string()))?;
        let read = |given: &ApprovalRow| {
            let bad = |fault: &dyn std::fmt::Display| unreadable("approvals", &row.quote_id, fault);
            Ok(Approval {
                subject: Digest::parse(&given.subject).map_err(|fault| bad(&fault))?,
                by: given.given_by.clone(),
                at: given.given_at.parse().map_err(|fault| bad(&fault))?,
                note: given.note.clone(),
            })
        };
        let all = given(present.stored, row)
            .map(read)
            .collect::<Result<Vec<_>, DeskFault>>()?;
        let people = self.people(&row.quote_id)?;
        let are_one = |one: &str, other: &str| people.are_one(one, other);
        match approval::counting(subject, &authors(row)?, &all, are_one) {
            Ok(counts) => Ok(Some(counts.clone())),
            Err(fault) => Err(DeskFault::Approval { fault, reasons }),
        }
    }
}
