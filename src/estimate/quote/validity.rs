//! How long an offer holds: to the end of a day in the company's time zone.

use std::fmt;

use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, TimeZone as _, Utc};
use chrono_tz::Tz;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use thiserror::Error;

/// A time zone by its IANA name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Zone(Tz);

/// The name is not in the IANA time zone database.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{0} is not a time zone of the IANA database, such as America/New_York")]
pub struct UnknownZone(String);

/// The last day would lie outside the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("{days} days from {from} are beyond the calendar")]
pub struct BeyondCalendar {
    /// The day on which the offer is made.
    from: NaiveDate,
    /// Days that it would hold.
    days: u32,
}

impl Zone {
    /// Looks `name` up, spelled as the database spells it.
    ///
    /// # Errors
    /// There is no such zone.
    pub fn parse(name: &str) -> Result<Self, UnknownZone> {
        name.parse()
            .map(Self)
            .map_err(|_| UnknownZone(name.chars().take(60).collect()))
    }

    /// The day that it is in this zone at `moment`.
    pub fn day(self, moment: DateTime<Utc>) -> NaiveDate {
        moment.with_timezone(&self.0).date_naive()
    }

    /// The first moment of `day` in this zone. Where clocks skip midnight, the first moment after the gap.
    fn beginning(self, day: NaiveDate) -> DateTime<Utc> {
        let midnight = day.and_time(NaiveTime::MIN);
        // No clock has been set forward by more than a day; a quarter of an hour divides every change in use.
        let later = (0..=96).map(|quarters| midnight.checked_add_signed(TimeDelta::minutes(15 * quarters)));
        later
            .flatten()
            .find_map(|local| self.0.from_local_datetime(&local).earliest())
            .map_or_else(|| midnight.and_utc(), |local| local.to_utc())
    }
}

impl fmt::Display for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0.name())
    }
}

impl Serialize for Zone {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Zone {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(deserializer)?).map_err(de::Error::custom)
    }
}

/// The last day of an offer, and whose day it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Validity {
    /// The last day on which the offer may be accepted.
    pub until: NaiveDate,
    /// The zone in which that day ends.
    pub time_zone: Zone,
}

impl Validity {
    /// An offer made at `issued` that holds `days` days: the day of issue does not count.
    ///
    /// # Errors
    /// The calendar does not reach so far.
    pub fn of_days(issued: DateTime<Utc>, days: u32, time_zone: Zone) -> Result<Self, BeyondCalendar> {
        let from = time_zone.day(issued);
        let until = from
            .checked_add_days(Days::new(days.into()))
            .ok_or(BeyondCalendar { from, days })?;
        Ok(Self { until, time_zone })
    }

    /// The first moment at which the offer holds no longer.
    pub fn ends(&self) -> DateTime<Utc> {
        match self.until.succ_opt() {
            Some(next) => self.time_zone.beginning(next),
            None => DateTime::<Utc>::MAX_UTC,
        }
    }

    /// Whether the offer still holds at `moment`.
    pub fn holds(&self, moment: DateTime<Utc>) -> bool {
        moment < self.ends()
    }
}
