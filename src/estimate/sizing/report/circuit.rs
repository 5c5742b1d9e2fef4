//! Question: the branch circuit of one unit.

use super::practice;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step::{self, celsius, float};
use super::survey::Survey;
use super::unanswered::Unanswered;
use super::unit_class::Taken;
use crate::catalogue::equipment::SupplyVoltage as Nameplate;
use crate::job::choices::{SupplyVoltage, WiringMethod};
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;
use crate::sizing::facts::{Row, number, rows, wire};
use crate::sizing::wiring::conductor::{Column, WireSize};
use crate::sizing::wiring::voltage::{Impedance, Strand};
use crate::sizing::wiring::{self, CircuitInput, CircuitReport, SmallConductorRule, circuit};

const CARD: Card = Card {
    name: "wiring",
    title: "Branch circuit",
    method: wiring::METHOD,
    source: wiring::conductor::AMPACITY_SOURCE,
    hazard: Some(wiring::HAZARD),
    unanswered: "wiring.not_worked_out",
};

/// What formulas may know of the circuit of one unit.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::sizing) struct CircuitFigures {
    conductor: WireSize,
    ground: WireSize,
    breaker: Decimal,
    voltage_drop: Decimal,
    upsized: bool,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "wiring.breaker" Number(Unit::A), "breaker", |f| number(f.circuit.breaker);
    "wiring.conductor" Wire, "conductors, copper", |f| wire(f.circuit.conductor);
    "wiring.ground" Wire, "equipment ground, copper", |f| wire(f.circuit.ground);
    "wiring.voltage_drop" Number(Unit::ONE), "voltage drop over the supply voltage", |f| number(f.circuit.voltage_drop);
    "wiring.upsized" Flag, "the conductors are thicker than their ampacity asks for, to hold the voltage",
        |f| FactValue::Flag(f.circuit.upsized);
};

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>) -> Answer<CircuitFigures> {
    let stand_in = CircuitFigures {
        conductor: WireSize::Awg6,
        ground: WireSize::Awg6,
        breaker: taken.equipment.maximum_overcurrent.0,
        voltage_drop: Decimal::ZERO,
        upsized: false,
    };
    answer(&CARD, stand_in.clone(), |sheet| {
        let input = input(survey, taken);
        tell_inputs(&input, sheet)?;
        let report = circuit(&input)?;
        sheet.findings.extend(report.findings.iter().cloned());
        if taken.for_figuring_only {
            sheet.note("The supply is taken at the voltage of the class that is there for figuring only.");
        } else {
            tell_mismatch(survey, taken, sheet);
        }
        tell(&report, sheet)?;
        let breaker = step::CURRENT.decimal(report.breaker_a.get())?;
        let Some(conductors) = &report.conductors else {
            return Ok(CircuitFigures { breaker, ..stand_in });
        };
        Ok(CircuitFigures {
            conductor: conductors.size,
            ground: conductors.ground,
            breaker,
            voltage_drop: step::SHARE.decimal(conductors.drop.share.get())?,
            upsized: conductors.size > conductors.size_by_ampacity,
        })
    })
}

fn input(survey: &Survey<'_>, taken: &Taken<'_>) -> CircuitInput {
    let electrical = &survey.spec.electrical;
    let unit_v = match taken.equipment.supply_voltage {
        Nameplate::V115 => 115.0,
        Nameplate::V230 => 230.0,
    };
    let minimum_ampacity_a = float(taken.equipment.minimum_circuit_ampacity.0);
    let strand = match electrical.method {
        WiringMethod::Cable => Strand::Solid,
        WiringMethod::Conduit => Strand::Stranded,
    };
    CircuitInput {
        unit_v,
        supply_v: match electrical.supply_voltage {
            // A class that nobody chose is no reason to change the supply.
            _ if taken.for_figuring_only => unit_v,
            SupplyVoltage::V115 => 115.0,
            SupplyVoltage::V230 => 230.0,
        },
        minimum_ampacity_a,
        maximum_device_a: float(taken.equipment.maximum_overcurrent.0),
        // The nameplate has no other current in the catalogue; the running current is a little less.
        running_a: minimum_ampacity_a,
        length_ft: float(electrical.panel_length.0),
        terminals: Column::C60,
        insulation: Column::C90,
        ambient_c: celsius(survey.condenser_f.max(practice::CIRCUIT_AIR_F)),
        current_carrying: practice::CURRENT_CARRYING,
        impedance: Impedance::DirectCurrent { strand },
        small_conductor: SmallConductorRule::Applies,
        drop_limit: practice::VOLTAGE_DROP,
    }
}

fn tell_inputs(input: &CircuitInput, sheet: &mut Sheet) -> Result<(), Unanswered> {
    sheet.input("unit_voltage", "voltage of the unit", step::VOLTAGE, input.unit_v)?;
    sheet.input(
        "supply_voltage",
        "voltage of the supply",
        step::VOLTAGE,
        input.supply_v,
    )?;
    sheet.input(
        "ampacity",
        "minimum circuit ampacity of the nameplate",
        step::CURRENT,
        input.minimum_ampacity_a,
    )?;
    sheet.input(
        "device",
        "maximum overcurrent device of the nameplate",
        step::CURRENT,
        input.maximum_device_a,
    )?;
    sheet.input(
        "length",
        "one-way length from the panel",
        step::LENGTH,
        input.length_ft,
    )?;
    sheet.input(
        "ambient",
        "warmest air along the circuit",
        step::TEMPERATURE,
        super::step::degrees_f(input.ambient_c),
    )?;
    sheet.input(
        "drop_limit",
        "voltage drop advised",
        step::SHARE,
        input.drop_limit,
    )?;
    sheet.note("Copper with 90 °C insulation on 60 °C terminals, two current-carrying conductors; the adopted code and the nameplate govern.");
    Ok(())
}

/// The other voltage is another circuit altogether: the class that fits it is named.
fn tell_mismatch(survey: &Survey<'_>, taken: &Taken<'_>, sheet: &mut Sheet) {
    let unit = taken.equipment.supply_voltage;
    let fits = matches!(
        (unit, survey.spec.electrical.supply_voltage),
        (Nameplate::V115, SupplyVoltage::V115) | (Nameplate::V230, SupplyVoltage::V230)
    );
    if fits {
        return;
    }
    let others: Vec<&str> = survey
        .equipment
        .iter()
        .filter(|class| class.supply_voltage != unit)
        .map(|class| class.class.as_str())
        .collect();
    if !others.is_empty() {
        sheet.note(format!(
            "Classes for the supply as surveyed: {}.",
            others.join(", ")
        ));
    }
}

fn tell(report: &CircuitReport, sheet: &mut Sheet) -> Result<(), Unanswered> {
    sheet.detail(
        "correction",
        "share of the table's ampacity left by warm air",
        step::SHARE,
        report.correction.get(),
    )?;
    let Some(conductors) = &report.conductors else {
        return Ok(());
    };
    sheet.detail(
        "ampacity_corrected",
        "ampacity of the conductors",
        step::CURRENT,
        conductors.ampacity_a.get(),
    )?;
    if let Some(longest) = conductors.longest_ft {
        sheet.detail(
            "longest",
            "longest run in this size at the voltage drop advised",
            step::LENGTH,
            longest.get(),
        )?;
    }
    sheet.detail_text(
        "by_ampacity",
        "conductors by ampacity alone",
        conductors.size_by_ampacity.gauge(),
    );
    let share = conductors.drop.share.get();
    sheet.margin(
        "voltage drop",
        (Side::AtMost, step::SHARE),
        share,
        practice::VOLTAGE_DROP,
    )?;
    Ok(())
}
