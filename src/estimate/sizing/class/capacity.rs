//! Capacity of one unit at a condenser and a cellar temperature, from the equipment's own data.

use std::fmt;

use crate::sizing::heat_rate::fahrenheit;
use crate::sizing::range::{InputFault, within};

/// A temperature may lie beyond the edge of the data by this much and count as on it, K: conversion
/// between °F and °C moves the last digits.
const EDGE_K: f64 = 1e-6;
/// A rated point still holds when the cellar is colder than at rating by this much, K (1 °F).
const RATED_CELLAR_SLACK_K: f64 = 1.0 / 1.8;
/// Btu/h that one unit may have.
const CAPACITY_BTU_H: (f64, f64) = (1.0, 1.0e6);
const AXIS_C: (f64, f64) = (-40.0, 80.0);

/// What is known of a class's capacity.
#[derive(Clone, Debug, PartialEq)]
pub enum Capacity {
    /// A table over both temperatures.
    Table(CapacityTable),
    /// One rated point and a rate of loss.
    Rated(RatedPoint),
}

/// Capacity of one unit in Btu/h over condenser air temperature and cellar temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct CapacityTable {
    condenser_air_c: Vec<f64>,
    cellar_c: Vec<f64>,
    /// Row by row of the condenser temperatures.
    btu_h: Vec<f64>,
}

/// One rating, for equipment whose data has no table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatedPoint {
    /// Btu/h.
    pub capacity_btu_h: f64,
    /// Condenser air temperature at rating, °C.
    pub condenser_air_c: f64,
    /// Cellar temperature at rating, °C.
    pub cellar_c: f64,
    /// Share of the rated capacity that is lost per kelvin above the rating temperature; 0.018 (1 % per °F)
    /// is common practice without a source.
    pub loss_per_k: f64,
    /// Highest condenser air temperature at which the unit may run, °C.
    pub highest_condenser_air_c: f64,
}

/// The job's temperatures lie outside the data.
#[derive(Clone, Debug, PartialEq)]
pub struct OutsideRating {
    /// Which temperature.
    pub what: &'static str,
    /// The job's, °C.
    pub job_c: f64,
    /// Lowest in the data, °C.
    pub low_c: f64,
    /// Highest in the data, °C.
    pub high_c: f64,
}

impl fmt::Display for OutsideRating {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [job, low, high] = [self.job_c, self.low_c, self.high_c].map(fahrenheit);
        let (off, side) = if job < low {
            (low - job, "below")
        } else {
            (job - high, "above")
        };
        write!(
            f,
            "has no capacity data for a {} of {job:.0} °F: it covers {low:.0} to {high:.0} °F, {off:.0} °F {side}",
            self.what
        )
    }
}

impl CapacityTable {
    /// A table with one row per condenser temperature and one column per cellar temperature, both rising.
    ///
    /// # Errors
    /// Fewer than one temperature on an axis, temperatures that do not rise or lie outside −40 to 80 °C, a
    /// row of another length, or a capacity outside 1 to 1,000,000 Btu/h.
    pub fn new(
        condenser_air_c: Vec<f64>,
        cellar_c: Vec<f64>,
        rows_btu_h: &[Vec<f64>],
    ) -> Result<Self, InputFault> {
        let unusable = |why| InputFault::Unusable {
            field: "capacity table",
            why,
        };
        for axis in [&condenser_air_c, &cellar_c] {
            for t in axis {
                within("temperature of a capacity table", *t, AXIS_C, "°C")?;
            }
            if axis.is_empty() {
                return Err(unusable("an axis has no temperature"));
            }
            if axis.windows(2).any(|pair| pair[0] >= pair[1]) {
                return Err(unusable("the temperatures of an axis must rise"));
            }
        }
        if rows_btu_h.len() != condenser_air_c.len() {
            return Err(unusable("there must be one row for each condenser temperature"));
        }
        if rows_btu_h.iter().any(|row| row.len() != cellar_c.len()) {
            return Err(unusable(
                "each row must have one capacity for each cellar temperature",
            ));
        }
        let btu_h: Vec<f64> = rows_btu_h.concat();
        for capacity in &btu_h {
            within("capacity of a class", *capacity, CAPACITY_BTU_H, "Btu/h")?;
        }
        Ok(CapacityTable {
            condenser_air_c,
            cellar_c,
            btu_h,
        })
    }

    fn at(&self, condenser_air_c: f64, cellar_c: f64) -> Result<f64, OutsideRating> {
        let row = locate(
            &self.condenser_air_c,
            condenser_air_c,
            "condenser air temperature",
        )?;
        let column = locate(&self.cellar_c, cellar_c, "cellar temperature")?;
        let cell = |r: usize, c: usize| {
            self.btu_h
                .get(r * self.cellar_c.len() + c)
                .copied()
                .unwrap_or(f64::NAN)
        };
        let along = |r: usize| mix(cell(r, column.lower), cell(r, column.upper), column.share);
        Ok(mix(along(row.lower), along(row.upper), row.share))
    }
}

impl Capacity {
    /// Btu/h of one unit, or why the data does not tell it.
    pub(in crate::sizing) fn at(
        &self,
        condenser_air_c: f64,
        cellar_c: f64,
    ) -> Result<Result<f64, OutsideRating>, InputFault> {
        match self {
            Capacity::Table(table) => Ok(table.at(condenser_air_c, cellar_c)),
            Capacity::Rated(point) => point.at(condenser_air_c, cellar_c),
        }
    }
}

impl RatedPoint {
    fn at(&self, condenser_air_c: f64, cellar_c: f64) -> Result<Result<f64, OutsideRating>, InputFault> {
        let rated = within(
            "capacity of a class",
            self.capacity_btu_h,
            CAPACITY_BTU_H,
            "Btu/h",
        )?;
        let rated_at = within(
            "condenser air temperature at rating",
            self.condenser_air_c,
            AXIS_C,
            "°C",
        )?;
        let rated_cellar = within("cellar temperature at rating", self.cellar_c, AXIS_C, "°C")?;
        let highest = within(
            "highest condenser air temperature",
            self.highest_condenser_air_c,
            AXIS_C,
            "°C",
        )?;
        let loss = within("loss of capacity", self.loss_per_k, (0.0, 0.1), "per K")?;
        let outside = |what, job_c, low_c, high_c| {
            Ok(Err(OutsideRating {
                what,
                job_c,
                low_c,
                high_c,
            }))
        };
        if condenser_air_c > highest + EDGE_K {
            return outside("condenser air temperature", condenser_air_c, AXIS_C.0, highest);
        }
        let coldest = rated_cellar - RATED_CELLAR_SLACK_K;
        if cellar_c < coldest - EDGE_K {
            return outside("cellar temperature", cellar_c, coldest, AXIS_C.1);
        }
        // Cooler air than at rating earns no credit: its gain is not known.
        let left = 1.0 - loss * (condenser_air_c - rated_at).max(0.0);
        if left <= 0.0 {
            return outside(
                "condenser air temperature",
                condenser_air_c,
                AXIS_C.0,
                rated_at + 1.0 / loss,
            );
        }
        Ok(Ok(rated * left))
    }
}

/// Between which two nodes of an axis a value lies, and how far along.
struct Between {
    lower: usize,
    upper: usize,
    share: f64,
}

fn locate(axis: &[f64], value: f64, what: &'static str) -> Result<Between, OutsideRating> {
    let (low_c, high_c) = match axis {
        [only] => (*only, *only),
        [first, .., last] => (*first, *last),
        [] => (f64::NAN, f64::NAN),
    };
    let inside = value >= low_c - EDGE_K && value <= high_c + EDGE_K;
    if !inside {
        return Err(OutsideRating {
            what,
            job_c: value,
            low_c,
            high_c,
        });
    }
    let value = value.clamp(low_c, high_c);
    let upper = axis
        .partition_point(|node| *node < value)
        .min(axis.len().saturating_sub(1));
    let lower = upper.saturating_sub(1);
    match (axis.get(lower), axis.get(upper)) {
        (Some(a), Some(b)) if b > a => Ok(Between {
            lower,
            upper,
            share: (value - a) / (b - a),
        }),
        _ => Ok(Between {
            lower: upper,
            upper,
            share: 0.0,
        }),
    }
}

fn mix(a: f64, b: f64, share: f64) -> f64 {
    a + (b - a) * share
}
