//! Question: the line set and its charge.

use super::practice;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step::{self, celsius, float};
use super::survey::{Survey, direction};
use super::unanswered::Unanswered;
use super::unit_class::Taken;
use crate::catalogue::Equipment;
use crate::job::choices::Tube as Copper;
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;
use crate::sizing::facts::{Row, TUBE_SIZES, number, rows, tube};
use crate::sizing::heat_rate::BTU_H_W;
use crate::sizing::line_set::charge::{Receiver, UnitCharge};
use crate::sizing::line_set::flow::RefrigerantFlow;
use crate::sizing::line_set::limits::UnitLimits;
use crate::sizing::line_set::tube::{Tube, TubeKind, TubeSize, b280};
use crate::sizing::line_set::{self, LineSetInput, LineSetReport, Targets};
use crate::sizing::refrigerant::Refrigerant;
use crate::sizing::route::Leg;

const CARD: Card = Card {
    name: "line_set",
    title: "Line set and charge",
    method: line_set::METHOD,
    source: "ASTM B280 tube as reprinted; Darcy–Weisbach with Colebrook; CoolProp 8.0.0 equations of state; oil-return velocities \
             of trade articles; lengths, climbs and charge from the unit's data sheet",
    hazard: Some(line_set::HAZARD),
    unanswered: "line_set.not_worked_out",
};

/// What formulas may know of the line set of one unit.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::sizing) struct LineFigures {
    suction: TubeSize,
    liquid: TubeSize,
    riser: TubeSize,
    equivalent_length: Decimal,
    elevation: Decimal,
    highest: Decimal,
    traps: Decimal,
    joints: Decimal,
    suction_loss: Decimal,
    riser_velocity: Decimal,
    subcooling_left: Decimal,
    charge_per_foot: Decimal,
    extra_charge: Decimal,
    pub(super) total_charge: Decimal,
    receiver_needed: bool,
    /// Outside diameter of the suction line, in.
    pub(super) suction_od_in: f64,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "line_set.suction_size" Tube, "suction line, level and falling", |f| tube(f.lines.suction);
    "line_set.riser_size" Tube, "suction line, rising; as the rest where it need not be smaller",
        |f| tube(f.lines.riser);
    "line_set.riser_reduced" Flag, "the suction risers are smaller than the rest, to carry the oil",
        |f| FactValue::Flag(f.lines.riser != f.lines.suction);
    "line_set.liquid_size" Tube, "liquid line", |f| tube(f.lines.liquid);
    "line_set.equivalent_length" Number(Unit::FT), "straight suction line with the same friction",
        |f| number(f.lines.equivalent_length);
    "line_set.elevation" Number(Unit::FT), "condensing unit above the ceiling unit; below zero when it stands lower",
        |f| number(f.lines.elevation);
    "line_set.highest" Number(Unit::FT), "highest place of the route above the ceiling unit",
        |f| number(f.lines.highest);
    "line_set.traps" Number(Unit::EACH), "oil traps of one suction line", |f| number(f.lines.traps);
    "line_set.joints" Number(Unit::EACH), "brazed joints of both lines of one unit, those of oil traps not counted",
        |f| number(f.lines.joints);
    "line_set.suction_loss" Number(Unit::F_DIFF), "saturated temperature that the suction line costs",
        |f| number(f.lines.suction_loss);
    "line_set.riser_velocity" Number(Unit::FT_PER_MIN), "least velocity of gas in the suction risers; 0 without a riser",
        |f| number(f.lines.riser_velocity);
    "line_set.subcooling_left" Number(Unit::F_DIFF), "least subcooling left on the liquid's way",
        |f| number(f.lines.subcooling_left);
    "line_set.charge_per_length" Number(Unit::OZ_PER_FT), "refrigerant in the liquid line",
        |f| number(f.lines.charge_per_foot);
    "line_set.extra_charge" Number(Unit::OZ), "refrigerant of one unit to add to the factory charge",
        |f| number(f.lines.extra_charge);
    "line_set.total_charge" Number(Unit::OZ), "refrigerant of one unit, factory charge and line",
        |f| number(f.lines.total_charge);
    "line_set.receiver_needed" Flag, "the unit's receiver does not hold the charge when it is pumped down",
        |f| FactValue::Flag(f.lines.receiver_needed);
};

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>) -> Answer<LineFigures> {
    answer(&CARD, stand_in(survey, taken.equipment), |sheet| {
        let equipment = taken.equipment;
        let (kind, piece_length_ft) = match survey.spec.line_set.tube {
            Copper::Soft => (TubeKind::CoilAnnealed, practice::COIL_FT),
            Copper::Hard => (TubeKind::StraightDrawn, practice::PIECE_FT),
        };
        let legs = legs(survey);
        sheet.input(
            "length",
            "measured length",
            step::LENGTH,
            legs.iter().map(|leg| leg.length_ft).sum(),
        )?;
        sheet.input(
            "piece",
            "length of a coil or piece",
            step::LENGTH,
            piece_length_ft,
        )?;
        let report = line_set::size(&LineSetInput {
            legs: &legs,
            kind,
            tubes: known_tubes(kind),
            piece_length_ft,
            suction_stub: stub(&equipment.stubs.suction)?,
            liquid_stub: stub(&equipment.stubs.liquid)?,
            flow: flow(survey, taken, sheet)?,
            limits: limits(equipment),
            charge: charge(equipment),
            targets: Targets::default(),
        })?;
        tell(&report, sheet)?;
        figures(&report)
    })
}

/// Stub sizes and the factory charge, where nothing better is known.
fn stand_in(survey: &Survey<'_>, equipment: &Equipment) -> LineFigures {
    let parsed = |text: &str| TubeSize::parse(text).unwrap_or(TubeSize::ThreeEighths);
    let suction = parsed(&equipment.stubs.suction).min(TubeSize::OneAndEighth);
    let known = b280(TubeKind::CoilAnnealed)
        .iter()
        .find(|tube| tube.size() == suction);
    LineFigures {
        suction,
        riser: suction,
        liquid: parsed(&equipment.stubs.liquid).min(TubeSize::OneAndEighth),
        equivalent_length: survey.spec.line_set.sums().length,
        elevation: Decimal::ZERO,
        highest: Decimal::ZERO,
        traps: Decimal::ZERO,
        joints: Decimal::ZERO,
        suction_loss: Decimal::ZERO,
        riser_velocity: Decimal::ZERO,
        subcooling_left: Decimal::ZERO,
        charge_per_foot: Decimal::ZERO,
        extra_charge: Decimal::ZERO,
        total_charge: equipment.factory_charge.0,
        receiver_needed: false,
        suction_od_in: known.map_or(0.5, Tube::outer_in),
    }
}

fn legs(survey: &Survey<'_>) -> Vec<Leg> {
    let legs = survey.spec.line_set.legs.iter();
    legs.map(|leg| Leg {
        direction: direction(leg.direction),
        length_ft: float(leg.length.0),
        bends: leg.bends,
    })
    .collect()
}

/// The standard's tubes up to the largest that formulas know.
fn known_tubes(kind: TubeKind) -> &'static [Tube] {
    let all = b280(kind);
    let known = all
        .iter()
        .take_while(|tube| TUBE_SIZES.contains(&tube.size()))
        .count();
    all.get(..known).unwrap_or(all)
}

fn stub(text: &str) -> Result<TubeSize, Unanswered> {
    let size = TubeSize::parse(text);
    size.ok_or_else(|| {
        Unanswered::Other(format!(
            "the catalogue's stub size `{text}` is no size of copper tube"
        ))
    })
}

fn limits(equipment: &Equipment) -> UnitLimits {
    let limits = &equipment.line_limits;
    UnitLimits {
        longest_ft: float(limits.length.0),
        longest_equivalent_ft: Some(float(limits.equivalent_length.0)),
        highest_above_evaporator_ft: float(limits.rise.0),
        highest_above_condenser_ft: float(limits.drop.0),
    }
}

/// Every system is pumped down by a solenoid valve, and the allowance for its filter-drier is the data
/// sheet's to state.
fn charge(equipment: &Equipment) -> UnitCharge {
    UnitCharge {
        factory_oz: float(equipment.factory_charge.0),
        covered_ft: float(equipment.covered_length.0),
        accessories_oz: 0.0,
        pump_down: true,
        receiver: equipment.receiver_holds.map(|holds| Receiver::Rated {
            holds_oz: float(holds.0),
        }),
    }
}

/// The refrigerant at the working point: evaporating below the cellar's air, condensing above the warmest
/// air at the condenser. A condenser hotter than the unit's own range is taken at the end of that range;
/// the question of the condensing unit stops it.
fn flow(survey: &Survey<'_>, taken: &Taken<'_>, sheet: &mut Sheet) -> Result<RefrigerantFlow, Unanswered> {
    let equipment = taken.equipment;
    let refrigerant: Refrigerant = equipment.refrigerant.parse()?;
    let evaporating_f = survey.cellar_f - practice::COIL_BELOW_CELLAR_F;
    let air_f = survey.condenser_f.min(float(equipment.condenser_air.highest.0));
    let condensing_f = air_f + practice::CONDENSING_ABOVE_AIR_F;
    sheet.input_text("refrigerant", "refrigerant", refrigerant.designation());
    sheet.input(
        "evaporating",
        "evaporating temperature",
        step::TEMPERATURE,
        evaporating_f,
    )?;
    sheet.input(
        "condensing",
        "condensing temperature",
        step::TEMPERATURE,
        condensing_f,
    )?;
    sheet.input(
        "superheat",
        "superheat of the suction gas",
        step::DIFFERENCE,
        practice::SUPERHEAT_F,
    )?;
    sheet.input(
        "subcooling",
        "subcooling of the liquid",
        step::DIFFERENCE,
        practice::SUBCOOLING_F,
    )?;
    sheet.input(
        "least_capacity",
        "output on the hottest day, for the oil",
        step::HEAT,
        taken.capacity_btu_h,
    )?;
    sheet.input(
        "greatest_capacity",
        "output on a cool day, for the friction",
        step::HEAT,
        taken.greatest_btu_h,
    )?;
    let (evaporating_c, condensing_c) = (celsius(evaporating_f), celsius(condensing_f));
    let gas = refrigerant.suction_gas(evaporating_c, practice::SUPERHEAT_F / 1.8)?;
    let liquid = refrigerant.liquid(condensing_c, practice::SUBCOOLING_F / 1.8)?;
    let dew_slope = refrigerant.saturation(evaporating_c)?.dew_dt_dp_k_pa;
    let bubble_slope = refrigerant.saturation(condensing_c)?.bubble_dt_dp_k_pa;
    Ok(RefrigerantFlow {
        greatest_capacity_w: taken.greatest_btu_h * BTU_H_W,
        least_capacity_w: taken.capacity_btu_h * BTU_H_W,
        suction_pressure_pa: gas.pressure_pa.get(),
        suction_density_kg_m3: gas.density_kg_m3.get(),
        suction_viscosity_pa_s: gas.viscosity_pa_s.get(),
        suction_enthalpy_j_kg: gas.enthalpy_j_kg.get(),
        dew_slope_k_per_pa: dew_slope.get(),
        liquid_density_kg_m3: liquid.density_kg_m3.get(),
        liquid_viscosity_pa_s: liquid.viscosity_pa_s.get(),
        liquid_enthalpy_j_kg: liquid.enthalpy_j_kg.get(),
        bubble_slope_k_per_pa: bubble_slope.get(),
        subcooling_k: practice::SUBCOOLING_F / 1.8,
    })
}

fn tell(report: &LineSetReport, sheet: &mut Sheet) -> Result<(), Unanswered> {
    sheet.findings.extend(report.findings.iter().cloned());
    let (suction, liquid, limits) = (&report.suction.chosen, &report.liquid.chosen, &report.limits);
    sheet.detail(
        "level_velocity",
        "least velocity of gas in level runs",
        step::SPEED,
        suction.level_velocity_fpm.get(),
    )?;
    sheet.detail(
        "greatest_velocity",
        "greatest velocity of gas",
        step::SPEED,
        suction.greatest_velocity_fpm.get(),
    )?;
    sheet.detail(
        "liquid_velocity",
        "velocity of the liquid",
        step::SPEED,
        liquid.velocity_fpm.get(),
    )?;
    sheet.detail(
        "liquid_loss",
        "subcooling that friction costs",
        step::DIFFERENCE,
        liquid.loss_k.get() * 1.8,
    )?;
    for (name, title, used) in [
        ("length_limit", "length that the unit allows", Some(limits.length)),
        (
            "equivalent_limit",
            "equivalent length that the unit allows",
            limits.equivalent_length,
        ),
        (
            "rise_limit",
            "climb above the ceiling unit that it allows",
            Some(limits.above_evaporator),
        ),
        (
            "drop_limit",
            "climb above the condensing unit that it allows",
            Some(limits.above_condenser),
        ),
    ] {
        if let Some(used) = used {
            sheet.detail(name, title, step::LENGTH, used.limit_ft.get())?;
        }
    }
    if let Some(holds) = report.charge.receiver_holds_oz {
        sheet.detail(
            "receiver_holds",
            "charge that the receiver holds",
            step::CHARGE,
            holds.get(),
        )?;
    }
    let length = &limits.length;
    sheet.margin(
        "measured length",
        (Side::AtMost, step::LENGTH),
        length.value_ft.get(),
        length.limit_ft.get(),
    )?;
    sheet.note("A filter-drier's own charge is not in the extra charge; the data sheet states it.");
    sheet.note("Evaporating 12 °F below the cellar, condensing 20 °F above the air, 10 °F superheat and subcooling: common practice, no source; the unit's data sheet governs.");
    Ok(())
}

fn figures(report: &LineSetReport) -> Result<LineFigures, Unanswered> {
    let (suction, charge) = (&report.suction.chosen, &report.charge);
    let traps = 2 * report.oil_traps;
    let joints = report.suction_joints.brazed().saturating_sub(traps) + report.liquid_joints.brazed();
    Ok(LineFigures {
        suction: suction.main.size(),
        riser: suction.riser.size(),
        liquid: report.liquid.chosen.tube.size(),
        equivalent_length: step::LENGTH.decimal(suction.equivalent_length_ft.get())?,
        elevation: step::LENGTH.decimal(report.condenser_above_ft.get())?,
        highest: step::LENGTH.decimal(report.highest.height_ft.get())?,
        traps: report.oil_traps.into(),
        joints: joints.into(),
        suction_loss: step::DIFFERENCE.decimal(suction.loss_k.get() * 1.8)?,
        riser_velocity: step::SPEED.decimal(suction.riser_velocity_fpm.map_or(0.0, f64::from))?,
        subcooling_left: step::DIFFERENCE.decimal(report.liquid.subcooling_left_k.get() * 1.8)?,
        charge_per_foot: step::CHARGE_PER_LENGTH.decimal(charge.per_foot_oz.get())?,
        extra_charge: step::CHARGE.decimal(charge.extra_oz.get())?,
        total_charge: step::CHARGE.decimal(charge.total_oz.get())?,
        receiver_needed: charge.receiver_needed,
        suction_od_in: suction.main.outer_in(),
    })
}
