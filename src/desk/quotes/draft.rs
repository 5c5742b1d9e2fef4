//! Drafts: made, edited, estimated, begun anew from an older revision, brought up to date.

use estimate::job::{Fault, FaultCode, Faults, Request};
use estimate::quote::alternates::PricedAlternate;
use estimate::quote::draft::{ChangeOrder, Draft};
use estimate::quote::revision::Sources;
use serde_json::{Value, json};

use super::change::{Decided, Present, standing, state};
use super::create::{new_row, snapshots};
use super::notices::fixed_day;
use super::view::{tag, tree};
use super::work::{Figures, Priced, authors, sources};
use super::{Act, At, Told};
use crate::desk::{Desk, DeskFault, Office, moment};
use crate::store::{RevisionRow, StoredQuote, Write};

/// Where the request in a draft names the version of its rulebook.
const OF_DRAFT: &str = "/request/rulebook_version";

/// A revision that is to be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NewRevision {
    /// The revision whose content it begins with.
    pub from: u32,
}

impl DeskFault {
    /// The same, where the faulty document is the member `place` of what was sent.
    pub(super) fn within(self, place: &str) -> Self {
        match self {
            Self::Input(faults) => {
                let mut list = faults.list;
                for fault in &mut list {
                    fault.pointer = format!("{place}{}", fault.pointer);
                }
                Self::Input(Faults { list })
            }
            Self::Named { pointer, what, name } => Self::Input(Faults {
                list: vec![Fault {
                    pointer: format!("{place}{pointer}"),
                    code: FaultCode::UnknownName,
                    allowed: format!("a known {what}"),
                    message: format!("there is no {what} {name}"),
                    came: name,
                }],
            }),
            Self::UnknownVersion {
                pointer: Some(pointer),
                ref version,
                ref there,
                ..
            } => Self::Input(Faults {
                list: vec![Fault {
                    pointer: format!("{place}{pointer}"),
                    code: FaultCode::UnknownName,
                    came: version.to_string(),
                    allowed: there.clone(),
                    message: self.to_string(),
                }],
            }),
            other => other,
        }
    }
}

/// The canonical text of a draft.
pub(super) fn text(
    frozen: Result<estimate::quote::canonical::Frozen, impl std::fmt::Display>,
) -> Result<String, DeskFault> {
    let frozen = frozen.map_err(|fault| DeskFault::Defect(fault.to_string()))?;
    String::from_utf8(frozen.into_bytes()).map_err(|fault| DeskFault::Defect(fault.to_string()))
}

impl Office {
    pub(super) fn read_draft(&self, draft: &Value) -> Result<Draft, DeskFault> {
        let request = draft.get("request").unwrap_or(&Value::Null);
        let basis = self.basis(request).map_err(|fault| fault.at_version(OF_DRAFT))?;
        let draft = basis.read_with(request, "/request", |reader| Draft::read(draft, reader))?;
        basis.can_price(&draft)?;
        Ok(draft)
    }
}

impl Desk {
    /// Writes a draft anew. `matches` says whether the caller has seen the draft of this tag.
    ///
    /// # Errors
    /// Every fault of the draft, another draft than was seen, or a revision that is no draft any more.
    pub fn edit_draft(
        &self,
        act: &Act,
        at: &At,
        content: &Value,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        self.change(act, &at.quote, |present| {
            let row = editable(present, at, &matches)?;
            let before = sources(row)?;
            let (text, sources, kept) = if at.change_order == 0 {
                let draft = present.office.read_draft(content)?;
                let now = present.office.sources(&draft.request, before.priced_on);
                let (now, kept) = now.map_err(|fault| fault.within("/request"))?;
                let sources = pinned(&draft.request, &before, now);
                (text(draft.frozen())?, sources, kept)
            } else {
                (
                    self.read_change(present.stored, content, &before)?,
                    before,
                    Vec::new(),
                )
            };
            let after = RevisionRow {
                draft: text,
                sources: tree(&sources)?.to_string(),
                ..written(row, present)?
            };
            let mut rows: Vec<Write> = snapshots(kept).collect();
            rows.push(Write::Change(after));
            Ok(Decided {
                rows,
                told: Some(at.clone()),
                ..Decided::default()
            })
        })
    }

    /// The canonical text of a change order's draft, once it has no fault on the contract as it stands.
    pub(super) fn read_change(
        &self,
        stored: &StoredQuote,
        content: &Value,
        made_from: &Sources,
    ) -> Result<String, DeskFault> {
        let contract = self.contract(stored)?;
        let contract = contract.ok_or_else(|| DeskFault::Conflict("there is no contract".to_owned()))?;
        let office = self.past(made_from)?;
        let basis = office.basis_on(contract.request(), made_from.priced_on)?;
        let read = ChangeOrder::read(content, contract.request(), basis.reader())?;
        basis.can_price_change(contract.request(), &read.change, "/change")?;
        text(read.frozen())
    }

    /// Begins a further revision with the content of an older one.
    ///
    /// # Errors
    /// The offer has been accepted, or there is no such revision.
    pub fn add_revision(&self, act: &Act, of: &At, new: NewRevision) -> Result<Told, DeskFault> {
        self.change(act, &of.quote, |present| {
            let from = present.row(&At {
                revision: new.from,
                ..of.clone()
            })?;
            let track = present
                .stored
                .revisions
                .iter()
                .filter(|row| row.change_order == from.change_order);
            let mut next = 1;
            for row in track {
                if row.state == "accepted" {
                    let what = "it has been accepted; what changes after that is a change order";
                    return Err(DeskFault::Conflict(what.to_owned()));
                }
                next = row.revision.saturating_add(1);
            }
            let place = (from.change_order, next);
            let who = (present.person, present.now);
            let mut row = new_row(&of.quote, place, from.draft.clone(), &sources(from)?, who)?;
            // Who wrote what it starts from has written it too, and cannot approve it.
            let mut wrote = authors(from)?;
            if wrote.iter().all(|author| author != present.person) {
                wrote.push(present.person.to_owned());
            }
            row.authors = json!(wrote).to_string();
            let told = At {
                revision: u32::try_from(next).unwrap_or_default(),
                ..of.clone()
            };
            Ok(Decided {
                rows: vec![Write::Revision(row)],
                told: Some(told),
                ..Decided::default()
            })
        })
    }

    /// What a revision comes to: its estimate, what each alternate moves, and whether an approval is needed.
    ///
    /// # Errors
    /// The draft cannot be priced, or what is stored is not what was issued.
    pub fn revision_estimate(&self, at: &At) -> Result<Value, DeskFault> {
        let stored = self.stored(&at.quote)?;
        let row = super::change::row(&stored, at)?;
        if !state(row)?.may_be_edited() {
            let (revision, ..) = self.document(at)?;
            let base = revision
                .estimated()
                .map_err(|fault| super::work::refused(fault.into()))?;
            let offered = revision.alternates.iter().map(|offered| offered.priced(&base));
            let offered = offered
                .collect::<Result<Vec<_>, _>>()
                .map_err(super::work::refused)?;
            return Ok(json!({
                "estimate": base.tree(),
                "alternates": alternates(&offered)?,
                "change": tree(&revision.change)?,
                "approval_reasons": [],
            }));
        }
        let from = sources(row)?;
        let office = self.past(&from)?;
        let priced = self.priced(&stored, row, &office, &from)?;
        let reasons = priced.approval_reasons(office.policy(None)?.policy.policy());
        let (offered, moved) = match &priced {
            Priced::Offer { alternates, .. } => (alternates.as_slice(), Value::Null),
            Priced::Change { priced, .. } => (&[][..], tree(&priced.moved)?),
        };
        Ok(json!({
            "estimate": priced.estimated().tree(),
            "alternates": alternates(offered)?,
            "change": moved,
            "approval_reasons": tree(&reasons)?,
        }))
    }

    /// A draft under the rulebook, the prices and the policy of now: a preview.
    ///
    /// # Errors
    /// The revision is no draft, or cannot be priced.
    pub fn refresh_preview(&self, at: &At) -> Result<Value, DeskFault> {
        let stored = self.stored(&at.quote)?;
        let row = super::change::row(&stored, at)?;
        let before = self.figures(&stored, at)?;
        if !state(row)?.may_be_edited() || at.change_order != 0 {
            return Err(no_refresh());
        }
        let office = self.office()?;
        let today = office.today();
        let (now, _) = office.sources(&before.request, today)?;
        let fixed = fixed_day(&before.request, &now, today);
        let after = self.figures_from(&stored, row, now)?;
        let mut told = self.compared(&before, &after)?;
        if let (Some(day), Value::Object(members)) = (fixed, &mut told) {
            let free = without_day(&before.request);
            let (now, _) = office.sources(&free, today)?;
            let free = self.figures_from(&stored, row, now)?;
            let moved = self.compared(&before, &free)?;
            members.insert(
                "fixed_day".to_owned(),
                json!({"priced_on": day, "today": today, "with_today": moved}),
            );
        }
        Ok(told)
    }

    fn figures_from(
        &self,
        stored: &StoredQuote,
        row: &RevisionRow,
        from: Sources,
    ) -> Result<Figures, DeskFault> {
        let priced = self.priced(stored, row, &*self.past(&from)?, &from)?;
        Ok(Figures::of(priced, from))
    }

    /// Brings a draft under the rulebook, the prices and the policy of now.
    ///
    /// # Errors
    /// Another draft than was seen, or no draft.
    pub fn refresh(&self, act: &Act, at: &At, matches: impl Fn(&str) -> bool) -> Result<Told, DeskFault> {
        self.change(act, &at.quote, |present| {
            let row = editable(present, at, &matches)?;
            if at.change_order != 0 {
                return Err(no_refresh());
            }
            let request = super::work::offer_draft(row)?.request;
            let (now, kept) = present.office.sources(&request, present.office.today())?;
            let after = RevisionRow {
                sources: tree(&now)?.to_string(),
                ..written(row, present)?
            };
            let mut rows: Vec<Write> = snapshots(kept).collect();
            rows.push(Write::Change(after));
            Ok(Decided {
                rows,
                told: Some(at.clone()),
                ..Decided::default()
            })
        })
    }
}

/// A request that leaves its day to the present one.
fn without_day(request: &Value) -> Value {
    let mut free = request.clone();
    if let Value::Object(members) = &mut free {
        members.shift_remove("priced_on");
    }
    free
}

fn no_refresh() -> DeskFault {
    let what =
        "only the draft of an offer is brought up to date; a change order is priced as its contract was";
    DeskFault::Conflict(what.to_owned())
}

/// Each alternate with what it comes to and what it moves.
fn alternates(priced: &[PricedAlternate]) -> Result<Value, DeskFault> {
    let one = |priced: &PricedAlternate| {
        Ok(json!({
            "name": priced.alternate.name,
            "title": priced.alternate.title,
            "estimate": priced.estimated.tree(),
            "moved": tree(&priced.moved)?,
        }))
    };
    priced
        .iter()
        .map(one)
        .collect::<Result<Vec<_>, DeskFault>>()
        .map(Value::Array)
}

/// The row of a draft that the caller has seen as it is.
fn editable<'a>(
    present: &'a Present<'_>,
    at: &At,
    matches: impl Fn(&str) -> bool,
) -> Result<&'a RevisionRow, DeskFault> {
    let row = present.row(at)?;
    let tag = tag(present.stored, row, present.now)?;
    if !matches(&tag) {
        return Err(DeskFault::Stale { tag });
    }
    if !state(row)?.may_be_edited() {
        let state = standing(row)?.state(present.now).word();
        return Err(DeskFault::Conflict(format!(
            "the revision is {state}; only a draft is edited"
        )));
    }
    Ok(row)
}

/// The row one version on, with its new author.
fn written(row: &RevisionRow, present: &Present<'_>) -> Result<RevisionRow, DeskFault> {
    let mut authors = authors(row)?;
    if !authors.iter().any(|author| author == present.person) {
        authors.push(present.person.to_owned());
    }
    Ok(RevisionRow {
        version: row.version.saturating_add(1),
        authors: json!(authors).to_string(),
        changed_at: moment(present.now),
        changed_by: present.person.to_owned(),
        ..row.clone()
    })
}

/// What an edited draft is estimated from: what it was before, but for what it names now. A draft that names another day is
/// moved to that day: it gets the prices and the policy that hold then by what the office knows now, as it would if it were
/// made anew. Its rules have no day, and stay, unless another version is named.
fn pinned(request: &Value, before: &Sources, now: Sources) -> Sources {
    let other_version =
        Request::named_version(request).is_some_and(|version| version != before.rulebook.version);
    let rulebook = if before.rulebook.id == now.rulebook.id && !other_version {
        before.rulebook.clone()
    } else {
        now.rulebook
    };
    if before.priced_on != now.priced_on {
        return Sources { rulebook, ..now };
    }
    let policy = if before.policy.id == now.policy.id {
        before.policy.clone()
    } else {
        now.policy
    };
    Sources {
        rulebook,
        policy,
        catalogue: before.catalogue,
        ..now
    }
}
