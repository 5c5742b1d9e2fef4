//! The life of a revision: which state follows which, and what is refused.
//!
//! Only drafts are edited. Every state other than draft and issued is final: what was accepted, declined,
//! withdrawn, let lapse or replaced stays so, and a new revision says what comes next.

use std::fmt;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::validity::Validity;

/// The state of a revision.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// Being written; may be edited.
    Draft,
    /// With the customer; never changed again.
    Issued,
    /// The customer took it.
    Accepted,
    /// The customer said no.
    Declined,
    /// The office took it back.
    Withdrawn,
    /// Its last day is over.
    Expired,
    /// A newer revision was issued in its place.
    Superseded,
}

/// What happens to a revision.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Event {
    /// The draft goes to the customer.
    Issue,
    /// The customer takes the offer.
    Accept,
    /// The customer says no.
    Decline,
    /// The office takes the offer back.
    Withdraw,
    /// The last day ends.
    Expire,
    /// A newer revision is issued.
    Supersede,
}

impl State {
    /// Every state.
    pub const ALL: [State; 7] = [
        State::Draft,
        State::Issued,
        State::Accepted,
        State::Declined,
        State::Withdrawn,
        State::Expired,
        State::Superseded,
    ];

    /// The word for it, as in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Draft => "draft",
            Self::Issued => "issued",
            Self::Accepted => "accepted",
            Self::Declined => "declined",
            Self::Withdrawn => "withdrawn",
            Self::Expired => "expired",
            Self::Superseded => "superseded",
        }
    }

    /// The state of this word.
    pub fn of_word(word: &str) -> Option<State> {
        Self::ALL.into_iter().find(|state| state.word() == word)
    }

    /// What may happen in this state.
    pub fn moves(self) -> &'static [Event] {
        match self {
            Self::Draft => &[Event::Issue],
            Self::Issued => &[
                Event::Accept,
                Event::Decline,
                Event::Withdraw,
                Event::Expire,
                Event::Supersede,
            ],
            Self::Accepted | Self::Declined | Self::Withdrawn | Self::Expired | Self::Superseded => &[],
        }
    }

    /// What somebody may ask for in this state: an offer expires by itself, and is superseded by issuing another.
    pub fn asked_for(self) -> Vec<Event> {
        let moves = self.moves().iter().copied();
        moves
            .filter(|event| !matches!(event, Event::Expire | Event::Supersede))
            .collect()
    }

    /// Whether the content may be edited.
    pub fn may_be_edited(self) -> bool {
        self == Self::Draft
    }

    /// Whether nothing can happen any more.
    pub fn is_final(self) -> bool {
        self.moves().is_empty()
    }

    /// The state after `event`, time left aside.
    ///
    /// # Errors
    /// The event cannot happen in this state.
    pub fn after(self, event: Event) -> Result<State, IllegalMove> {
        if self.moves().contains(&event) {
            return Ok(event.leads_to());
        }
        Err(IllegalMove {
            state: self,
            event,
            allowed: self.asked_for(),
        })
    }
}

impl Event {
    /// Every event.
    pub const ALL: [Event; 6] = [
        Event::Issue,
        Event::Accept,
        Event::Decline,
        Event::Withdraw,
        Event::Expire,
        Event::Supersede,
    ];

    /// The word for it, as in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Issue => "issue",
            Self::Accept => "accept",
            Self::Decline => "decline",
            Self::Withdraw => "withdraw",
            Self::Expire => "expire",
            Self::Supersede => "supersede",
        }
    }

    /// The event of this word.
    pub fn of_word(word: &str) -> Option<Event> {
        Self::ALL.into_iter().find(|event| event.word() == word)
    }

    fn leads_to(self) -> State {
        match self {
            Self::Issue => State::Issued,
            Self::Accept => State::Accepted,
            Self::Decline => State::Declined,
            Self::Withdraw => State::Withdrawn,
            Self::Expire => State::Expired,
            Self::Supersede => State::Superseded,
        }
    }
}

/// A move that the state does not allow, and those that it does.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{} cannot happen to a revision that is {}; allowed: {}", .event.word(), .state.word(), Words(.allowed))]
pub struct IllegalMove {
    /// The state that it is in.
    pub state: State,
    /// What was asked for.
    pub event: Event,
    /// What may be asked for.
    pub allowed: Vec<Event>,
}

struct Words<'a>(&'a [Event]);

impl fmt::Display for Words<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_empty() {
            return f.write_str("nothing");
        }
        for (index, event) in self.0.iter().enumerate() {
            let comma = if index == 0 { "" } else { ", " };
            write!(f, "{comma}{}", event.word())?;
        }
        Ok(())
    }
}

/// A revision in time: its stored state, and how long its offer holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// A draft: no offer yet.
    Draft,
    /// An offer that was issued.
    Offer {
        /// The state that was stored last. Never a draft's.
        state: OfferState,
        /// How long it holds.
        validity: Validity,
    },
}

/// The states of what was issued.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OfferState(State);

impl OfferState {
    /// The state of an issued revision.
    ///
    /// # Errors
    /// A draft's state comes back.
    pub fn new(state: State) -> Result<Self, State> {
        match state {
            State::Draft => Err(state),
            issued => Ok(Self(issued)),
        }
    }

    /// The state.
    pub fn get(self) -> State {
        self.0
    }
}

/// Why a move is refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MoveFault {
    /// The state does not allow it.
    #[error(transparent)]
    Illegal(#[from] IllegalMove),
    /// The offer holds still.
    #[error("the offer holds until the end of {}; it has not expired", .0.until)]
    HoldsStill(Validity),
}

impl Standing {
    /// The state at `now`: an issued offer whose last day is over has expired, whether or not that was stored.
    pub fn state(&self, now: DateTime<Utc>) -> State {
        match self {
            Self::Draft => State::Draft,
            Self::Offer { state, validity } if state.0 == State::Issued && !validity.holds(now) => {
                State::Expired
            }
            Self::Offer { state, .. } => state.0,
        }
    }

    /// Whether the expiry is yet to be stored at `now`.
    pub fn expiry_is_due(&self, now: DateTime<Utc>) -> bool {
        matches!(self, Self::Offer { state, .. } if state.0 == State::Issued)
            && self.state(now) == State::Expired
    }

    /// The state after `event` at `now`.
    ///
    /// # Errors
    /// The event cannot happen in the state of that moment. What has expired cannot be accepted; what holds
    /// still does not expire.
    pub fn after(&self, event: Event, now: DateTime<Utc>) -> Result<State, MoveFault> {
        if event == Event::Expire && self.expiry_is_due(now) {
            return Ok(State::Expired);
        }
        let state = self.state(now);
        let next = state.after(event)?;
        match self {
            Self::Offer { validity, .. } if event == Event::Expire => Err(MoveFault::HoldsStill(*validity)),
            _ => Ok(next),
        }
    }
}

/// Why no further revision of an offer can be issued.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum IssueFault {
    /// The offer has been accepted. What changes after that is a change order.
    #[error("revision {revision} has been accepted; a change after that is a change order")]
    Accepted {
        /// Which revision.
        revision: u32,
    },
}

/// The revisions, of all those of one offer, that issuing another one supersedes: those that are with the
/// customer at `now`.
///
/// # Errors
/// One of them has been accepted.
pub fn superseded_by_issue(
    revisions: impl IntoIterator<Item = (u32, Standing)>,
    now: DateTime<Utc>,
) -> Result<Vec<u32>, IssueFault> {
    let mut superseded = Vec::new();
    for (revision, standing) in revisions {
        match standing.state(now) {
            State::Accepted => return Err(IssueFault::Accepted { revision }),
            State::Issued => superseded.push(revision),
            _ => {}
        }
    }
    Ok(superseded)
}
