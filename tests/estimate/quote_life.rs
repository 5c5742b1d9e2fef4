//! The life of a revision, in states and in time.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use estimate::quote::life::{Event, IssueFault, MoveFault, OfferState, Standing, State, superseded_by_issue};
use estimate::quote::validity::{Validity, Zone};
use proptest::prelude::*;
use proptest::sample::select;

fn time(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn until(day: &str, zone: &str) -> Validity {
    Validity {
        until: day.parse().unwrap(),
        time_zone: Zone::parse(zone).unwrap(),
    }
}

fn offer(state: State, validity: Validity) -> Standing {
    Standing::Offer {
        state: OfferState::new(state).unwrap(),
        validity,
    }
}

#[test]
fn the_table_of_moves() {
    use Event::*;
    let lives = |state, event| match (state, event) {
        (State::Draft, Issue) => Some(State::Issued),
        (State::Issued, Accept) => Some(State::Accepted),
        (State::Issued, Decline) => Some(State::Declined),
        (State::Issued, Withdraw) => Some(State::Withdrawn),
        (State::Issued, Expire) => Some(State::Expired),
        (State::Issued, Supersede) => Some(State::Superseded),
        _ => None,
    };
    for state in State::ALL {
        for event in Event::ALL {
            match (state.after(event), lives(state, event)) {
                (Ok(next), wanted) => assert_eq!(Some(next), wanted, "{state:?} {event:?}"),
                (Err(fault), None) => {
                    assert_eq!((fault.state, fault.event), (state, event));
                    assert!(fault.allowed.iter().all(|event| state.after(*event).is_ok()));
                }
                (Err(fault), Some(_)) => panic!("{fault}"),
            }
        }
    }
}

#[test]
fn an_illegal_move_says_what_is_allowed() {
    let fault = State::Draft.after(Event::Accept).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "accept cannot happen to a revision that is draft; allowed: issue"
    );
    let fault = State::Accepted.after(Event::Withdraw).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "withdraw cannot happen to a revision that is accepted; allowed: nothing"
    );
}

#[test]
fn words_are_those_of_json() {
    for state in State::ALL {
        assert_eq!(serde_json::to_value(state).unwrap(), state.word());
        assert_eq!(State::of_word(state.word()), Some(state));
    }
    for event in Event::ALL {
        assert_eq!(serde_json::to_value(event).unwrap(), event.word());
        assert_eq!(Event::of_word(event.word()), Some(event));
    }
}

/// Offsets and changes of clocks by the IANA time zone database: New York is 5 h behind UTC in winter and 4 h
/// in summer, Kiritimati 14 h ahead; in Asunción clocks were set forward at midnight of 1 October 2023, so that
/// day began at 01:00, 4 h then 3 h behind UTC; in Apia there was no 30 December 2011.
#[test]
fn a_day_ends_in_the_zone_of_the_company() {
    let cases = [
        ("2031-01-15", "America/New_York", "2031-01-16T05:00:00Z"),
        ("2031-07-15", "America/New_York", "2031-07-16T04:00:00Z"),
        ("2031-01-15", "Pacific/Kiritimati", "2031-01-15T10:00:00Z"),
        ("2031-01-15", "UTC", "2031-01-16T00:00:00Z"),
        ("2023-09-30", "America/Asuncion", "2023-10-01T04:00:00Z"),
        ("2011-12-29", "Pacific/Apia", "2011-12-30T10:00:00Z"),
    ];
    for (day, zone, ends) in cases {
        let validity = until(day, zone);
        assert_eq!(validity.ends(), time(ends), "{day} {zone}");
        let last = validity.ends() - TimeDelta::nanoseconds(1);
        assert!(validity.holds(last));
        assert!(!validity.holds(validity.ends()));
        assert_eq!(offer(State::Issued, validity).state(last), State::Issued);
        assert_eq!(
            offer(State::Issued, validity).state(validity.ends()),
            State::Expired
        );
    }
    assert!(Zone::parse("America/Fallowmere").is_err());
    assert!(Zone::parse("").is_err());
}

#[test]
fn the_day_of_issue_does_not_count() {
    let zone = Zone::parse("America/New_York").unwrap();
    // 23:30 on the 4th in New York is the 5th in UTC.
    let validity = Validity::of_days(time("2031-03-05T04:30:00Z"), 30, zone).unwrap();
    assert_eq!(validity.until, NaiveDate::from_ymd_opt(2031, 4, 3).unwrap());
    assert!(Validity::of_days(DateTime::<Utc>::MAX_UTC, 1, Zone::parse("UTC").unwrap()).is_err());
}

#[test]
fn what_has_expired_is_not_accepted_and_what_holds_does_not_expire() {
    let validity = until("2031-01-15", "America/New_York");
    let standing = offer(State::Issued, validity);
    let (before, after) = (time("2031-01-16T04:59:59Z"), time("2031-01-16T05:00:00Z"));
    assert_eq!(standing.after(Event::Accept, before), Ok(State::Accepted));
    assert_eq!(
        standing.after(Event::Expire, before),
        Err(MoveFault::HoldsStill(validity))
    );
    assert_eq!(standing.after(Event::Expire, after), Ok(State::Expired));
    assert!(standing.expiry_is_due(after) && !standing.expiry_is_due(before));
    match standing.after(Event::Accept, after) {
        Err(MoveFault::Illegal(fault)) => {
            assert_eq!((fault.state, fault.allowed), (State::Expired, Vec::new()))
        }
        other => panic!("{other:?}"),
    }
    // Stored as accepted, it stays so after its day.
    assert_eq!(offer(State::Accepted, validity).state(after), State::Accepted);
    assert!(OfferState::new(State::Draft).is_err());
}

#[test]
fn issuing_supersedes_what_is_with_the_customer_and_nothing_after_acceptance() {
    let holds = until("2031-01-15", "UTC");
    let now = time("2031-01-10T00:00:00Z");
    let of = |state| offer(state, holds);
    let revisions = [
        (1, of(State::Declined)),
        (2, of(State::Issued)),
        (3, Standing::Draft),
        (4, of(State::Withdrawn)),
    ];
    assert_eq!(superseded_by_issue(revisions, now), Ok(vec![2]));
    assert_eq!(
        superseded_by_issue(revisions, holds.ends()),
        Ok(vec![]),
        "an expired offer stays expired"
    );
    let accepted = [(1, of(State::Superseded)), (2, of(State::Accepted))];
    assert_eq!(
        superseded_by_issue(accepted, now),
        Err(IssueFault::Accepted { revision: 2 })
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    /// Whatever happens in whatever order: only a draft is ever editable, what is final stays, and no way leads
    /// back to a draft or from one accepted state to any other.
    #[test]
    fn no_sequence_of_events_undoes_a_final_state(
        events in prop::collection::vec((select(Event::ALL.to_vec()), 0_i64..200), 0..30),
    ) {
        let validity = until("2031-03-01", "America/New_York");
        let start = time("2031-02-01T12:00:00Z");
        let mut standing = Standing::Draft;
        let mut hours = 0;
        let mut seen_final = None;
        for (event, later) in events {
            hours += later;
            let now = start + TimeDelta::hours(hours);
            let before = standing.state(now);
            let moved = standing.after(event, now);
            if let Some(state) = seen_final {
                prop_assert_eq!(before, state);
                // Storing an expiry that time has brought already is no change.
                prop_assert!(moved.is_err() || (state == State::Expired && moved == Ok(State::Expired)));
            }
            prop_assert_eq!(before.may_be_edited(), before == State::Draft);
            if let Ok(next) = moved {
                prop_assert!(next != State::Draft);
                prop_assert!(next != State::Accepted || validity.holds(now));
                standing = offer(next, validity);
            }
            let state = standing.state(now);
            if state.is_final() {
                seen_final = Some(state);
            }
        }
    }
}
