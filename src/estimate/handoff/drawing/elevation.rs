//! What is drawn, in mm of the building: x from the middle of the ceiling unit, y from the cellar's floor.

use serde_json::Value;

use crate::handoff::paper_fault::PaperFault;
use crate::handoff::routes::{self, Place, Run};
use crate::handoff::survey::{Survey, sized, sizing_input, units};
use crate::job::choices::{ControllerLocation, Mounting};
use crate::quantity::Quantity;

/// Height at which a unit is drawn, mm: the sizing report does not say how high one is.
const UNIT_HEIGHT: i64 = 380;
/// Length of a unit where the report does not say it, mm.
const UNIT_LENGTH: i64 = 760;
/// Sides of a condensing unit's symbol, mm.
const CONDENSER: (i64, i64) = (900, 700);
/// Height of a controller above the floor, mm; common practice, no source.
const CONTROLLER_HEIGHT: i64 = 1_400;

/// A rectangle that stands upright.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    pub left: i64,
    pub right: i64,
    pub bottom: i64,
    pub top: i64,
}

/// A leg, from place to place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    pub from: Place,
    pub to: Place,
}

/// Everything that is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Elevation {
    /// How many units there are; one is drawn.
    pub units: u64,
    pub cellar: Block,
    pub unit: Block,
    pub line_set: Vec<Stretch>,
    pub drain: Vec<Stretch>,
    pub condenser: Block,
    /// The highest place of a pumped drain that needs the device.
    pub antisiphon: Option<Place>,
    pub discharge: Place,
    pub controller: Place,
    pub probe: Option<Place>,
    /// Height of the pan's outlet, from which heights of the drain are told.
    pub outlet: i64,
    /// Height at which the line set leaves the unit.
    pub connection: i64,
}

impl Elevation {
    /// Puts the job together.
    pub fn of(estimate: &Value, survey: &Survey) -> Result<Self, PaperFault> {
        let (width, height) = routes::cellar(survey)?;
        let cellar = Block {
            left: -width / 2,
            right: width / 2,
            bottom: 0,
            top: height,
        };
        let unit = unit(estimate, survey, &cellar)?;
        let connection = (unit.bottom + unit.top) / 2;
        let outlet = unit.bottom + UNIT_HEIGHT / 8;
        let start = |x, y| Place { x, y };
        let line_set = placed(
            &routes::unfold(&survey.line_set.legs)?,
            start(unit.right, connection),
            1,
        );
        let drain = placed(&routes::unfold(&survey.drain.legs)?, start(unit.left, outlet), -1);
        let end = |route: &[Stretch], or: Place| route.last().map_or(or, |last| last.to);
        let stands = end(&line_set, start(unit.right, connection));
        let discharge = end(&drain, start(unit.left, outlet));
        let needed = sized(estimate, "drain", "drain.antisiphon_needed") == Some(&Value::Bool(true));
        let highest = drain.iter().map(|stretch| stretch.to).max_by_key(|place| place.y);
        let inside = match survey.controller.location {
            ControllerLocation::Inside => 1,
            ControllerLocation::Outside => -1,
        };
        Ok(Self {
            units: units(estimate),
            cellar,
            unit,
            condenser: Block {
                left: stands.x,
                right: stands.x + CONDENSER.0,
                bottom: stands.y - CONDENSER.1 / 2,
                top: stands.y + CONDENSER.1 / 2,
            },
            antisiphon: highest.filter(|_| needed),
            discharge,
            controller: start(
                cellar.left + inside * (width / 12).clamp(80, 160),
                CONTROLLER_HEIGHT.min(height / 2),
            ),
            probe: survey
                .controller
                .probe
                .wanted
                .then(|| start(cellar.right - width / 4, height / 2)),
            outlet,
            connection,
            line_set,
            drain,
        })
    }

    /// The rectangle around all of it.
    pub fn bounds(&self) -> Block {
        let around = |place: Place| Block {
            left: place.x,
            right: place.x,
            bottom: place.y,
            top: place.y,
        };
        let stretches = self.line_set.iter().chain(&self.drain);
        let places = stretches
            .flat_map(|stretch| [stretch.from, stretch.to])
            .chain([self.controller]);
        let blocks = [self.unit, self.condenser].into_iter();
        let all = blocks.chain(places.map(around));
        all.fold(self.cellar, |sum, block| Block {
            left: sum.left.min(block.left),
            right: sum.right.max(block.right),
            bottom: sum.bottom.min(block.bottom),
            top: sum.top.max(block.top),
        })
    }
}

/// The unit in its mounting position, in the middle of the cellar.
fn unit(estimate: &Value, survey: &Survey, cellar: &Block) -> Result<Block, PaperFault> {
    let length = sizing_input(estimate, "mounting", "body_length")
        .and_then(|value| serde_json::from_value::<Quantity>(value.clone()).ok());
    let length = match length {
        Some(length) => routes::millimetres(&length)?,
        None => UNIT_LENGTH,
    };
    let half = length.min(cellar.right - cellar.left) / 2;
    let top = cellar.top
        + match survey.unit.mounting {
            Mounting::Exposed => -UNIT_HEIGHT / 8,
            Mounting::PartlyRecessed => UNIT_HEIGHT / 2,
            Mounting::Flush => UNIT_HEIGHT * 15 / 16,
        };
    Ok(Block {
        left: -half,
        right: half,
        bottom: top - UNIT_HEIGHT,
        top,
    })
}

/// The runs from `start`, to the right or mirrored to the left.
fn placed(runs: &[Run<'_>], start: Place, side: i64) -> Vec<Stretch> {
    let moved = |place: Place| Place {
        x: start.x + side * place.x,
        y: start.y + place.y,
    };
    runs.iter()
        .map(|run| Stretch {
            from: moved(run.from),
            to: moved(run.to),
        })
        .collect()
}
