//! The cellar's load against hand-worked cellars, published resistances and the sense of the thing.

use estimate::sizing::air::{MoistAir, SEA_LEVEL_PA};
use estimate::sizing::cellar_load::{
    AirExchangeBasis, BOTTLE_J_K, Bottles, CellarLoad, CellarLoadInput, FirstFill, Gain, LoadKind, People,
    Surface, cellar_load,
};
use estimate::sizing::envelope::{Construction, Face, FarSide, Layer, transmittance};
use estimate::sizing::infiltration::{
    AirExchange, Doorway, air_changes, exchange_by_changes, exchange_by_doorway,
};
use estimate::sizing::range::InputFault;
use proptest::prelude::*;

use crate::reference_rows::{Row, near, rows, within};

const CELLARS: &str = include_str!("../reference/cellar_loads.csv");
const FACES: &str = include_str!("../reference/cellar_load_faces.csv");

fn celsius(t_f: f64) -> f64 {
    (t_f - 32.0) / 1.8
}

fn face(name: &str) -> Face {
    match name {
        "ceiling" | "d" => Face::Ceiling,
        "floor" | "u" => Face::Floor,
        _ => Face::Wall,
    }
}

fn surface(row: &Row) -> Surface {
    let construction = if row.text("u").is_empty() {
        Construction::EffectiveR {
            r_ft2hf_btu: row.number("r"),
        }
    } else {
        Construction::OverallU {
            u_btu_hft2f: row.number("u"),
        }
    };
    Surface {
        name: row.text("name").to_owned(),
        face: face(row.text("face")),
        area_ft2: row.number("area_ft2"),
        construction,
        behind_c: celsius(row.number("behind_f")),
    }
}

fn cellar(row: &Row) -> CellarLoadInput {
    let faces = rows(FACES);
    CellarLoadInput {
        cellar_c: celsius(55.0),
        cellar_rh: 0.60,
        altitude_m: 0.0,
        volume_ft3: row.number("volume_ft3"),
        surfaces: faces
            .iter()
            .filter(|f| f.text("case") == row.text("case"))
            .map(surface)
            .collect(),
        surrounding_c: celsius(row.number("air_f")),
        surrounding_rh: row.number("air_rh"),
        air_exchange: AirExchangeBasis::ByVolume {
            use_factor: row.number("use_factor"),
        },
        doorway: None,
        lights: Gain {
            power_w: row.number("lights_w"),
            hours_per_day: row.number("lights_h"),
        },
        fans: Gain {
            power_w: row.number("fan_w"),
            hours_per_day: 24.0,
        },
        people: People {
            count: row.number("people"),
            hours_per_day: row.number("people_h"),
            latent_share: 0.0,
        },
        intake: Bottles {
            count: row.number("bottles_day"),
            arriving_c: celsius(75.0),
            heat_j_k: BOTTLE_J_K,
        },
        first_fill: None,
        safety_share: 0.10,
        run_hours_per_day: 18.0,
    }
}

fn case(name: &str) -> CellarLoadInput {
    let cellars = rows(CELLARS);
    cellar(cellars.iter().find(|row| row.text("case") == name).unwrap())
}

/// A load with a part of each kind.
pub fn with_every_part() -> CellarLoad {
    let mut input = cellar(&rows(CELLARS)[0]);
    input.doorway = Some(Doorway {
        width_ft: 3.0,
        height_ft: 7.0,
        openings_per_day: 60.0,
        open_s: 10.0,
        held_back_share: 0.0,
    });
    input.first_fill = Some(FirstFill {
        bottles: input.intake,
        over_h: 48.0,
        in_load: true,
    });
    cellar_load(&input).unwrap()
}

/// Btu/h of every part of one kind.
fn part(load: &CellarLoad, kind: LoadKind) -> f64 {
    load.components
        .iter()
        .filter(|c| c.kind == kind)
        .map(|c| c.total.btu_h().get())
        .sum()
}

/// Hand-worked loads, see the head of `cellar_loads.csv`: 2 %.
#[test]
fn hand_worked_cellars_come_out() {
    for row in rows(CELLARS) {
        let id = row.text("case");
        let load = cellar_load(&cellar(&row)).unwrap();
        within(
            id,
            load.required_capacity.btu_h().get(),
            row.number("required_btu_h"),
            0.02,
        );
        within(
            id,
            part(&load, LoadKind::Infiltration),
            row.number("infiltration_btu_h"),
            0.02,
        );
        if row.text("average_btu_h").is_empty() {
            continue;
        }
        within(id, load.average.btu_h().get(), row.number("average_btu_h"), 0.02);
        within(
            id,
            load.with_safety.btu_h().get(),
            row.number("with_safety_btu_h"),
            0.02,
        );
        let largest = load
            .components
            .iter()
            .find(|c| c.name == row.text("largest_face"))
            .unwrap();
        within(
            id,
            largest.total.btu_h().get(),
            row.number("largest_face_btu_h"),
            0.005,
        );
    }
}

/// 64 ft² of R 15 from 75 to 55 °F: U 1/15, heat 64 × 20 / 15 = 85.3 Btu/h.
#[test]
fn a_face_tells_what_it_lets_through() {
    let load = cellar_load(&case("A")).unwrap();
    let north = &load.components[0];
    near("heat", north.total.btu_h().get(), 85.33, 0.01);
    near(
        "U",
        north.transmittance.unwrap().u_btu_hft2f.get(),
        1.0 / 15.0,
        1e-9,
    );
    assert!(
        load.components
            .iter()
            .all(|c| c.transmittance.is_some() == (c.kind == LoadKind::Conduction))
    );
}

/// ISO 6946:2017 arithmetic, see the head of the file: 1e-6 of the six printed digits.
#[test]
fn conduction_agrees_with_iso_6946() {
    for row in rows(include_str!("../reference/conduction.csv")) {
        let id = row.text("id");
        let layers = row.text("layers").split('|').map(|layer| {
            let numbers: Vec<f64> = layer.split(':').skip(1).map(|n| n.parse().unwrap()).collect();
            Layer::Material {
                thickness_m: numbers[0],
                conductivity_w_mk: numbers[1],
            }
        });
        let far_side = if row.text("rs_warm") == "0.04" {
            FarSide::Outdoors
        } else {
            FarSide::Indoors
        };
        let build_up = Construction::Layers {
            layers: layers.collect(),
            far_side,
        };
        let found = transmittance(&build_up, face(row.text("direction"))).unwrap();
        within(id, found.cellar_film_m2k_w.get(), row.number("rs_cold"), 1e-12);
        within(id, found.far_film_m2k_w.get(), row.number("rs_warm"), 1e-12);
        within(id, found.r_total_m2k_w.get(), row.number("r_total_m2k_w"), 1e-6);
        within(id, found.u_w_m2k.get(), row.number("u_w_m2k"), 1e-6);
        within(id, found.r_ft2hf_btu.get(), row.number("r_ft2hf_btu"), 1e-5);
        within(id, found.u_btu_hft2f.get(), row.number("u_btu_hft2f"), 1e-5);
        let flow = found.u_w_m2k.get() * (row.number("t_warm_c") - row.number("t_cold_c"));
        within(id, flow, row.number("q_w_m2"), 1e-6);
    }
}

/// Published worked wall: 15 % studs of R 7.12 and 85 % cavity of R 13.73, both with films, give
/// 1/(0.15/7.12 + 0.85/13.73) = 12.05 (training text on parallel heat flow, read).
#[test]
fn framing_and_cavity_conduct_side_by_side() {
    let films = (0.13 + 0.04) / 0.176_110_183_68;
    let wall = Construction::Framed {
        framing_share: 0.15,
        framing: vec![Layer::Resistance {
            r_ft2hf_btu: 7.12 - films,
        }],
        cavity: vec![Layer::Resistance {
            r_ft2hf_btu: 13.73 - films,
        }],
        far_side: FarSide::Outdoors,
    };
    let found = transmittance(&wall, Face::Wall).unwrap();
    near("assembly R", found.r_ft2hf_btu.get(), 12.05, 0.005);
}

/// A single pane: glass itself has next to no resistance, so its U comes from the films. ASHRAE films of
/// 0.68 and 0.17 ft²·h·°F/Btu give 1/0.85 = 1.18; ISO's 0.13 and 0.04 m²·K/W (0.97) with 3 mm of glass give 1.03,
/// the handbook's centre-of-glass 1.04 (read).
#[test]
fn single_glass_is_nothing_but_films() {
    let pane = Construction::Layers {
        layers: vec![Layer::Material {
            thickness_m: 0.003,
            conductivity_w_mk: 1.0,
        }],
        far_side: FarSide::Outdoors,
    };
    let u = transmittance(&pane, Face::Wall).unwrap().u_btu_hft2f.get();
    within("single glass", u, 1.04, 0.03);
}

/// Dossat's table at its own volumes, see the head of the file.
#[test]
fn air_changes_hit_the_table() {
    for row in rows(include_str!("../reference/air_changes.csv")) {
        let found = air_changes(row.number("volume_ft3")).unwrap();
        within(
            "air changes",
            found.per_24h.get(),
            row.number("changes_24h_above_32f"),
            1e-9,
        );
        assert!(!found.below_table);
    }
}

/// A second, metric table (read in another source): changes in 24 h by m³, within 5 %.
#[test]
fn air_changes_agree_with_a_metric_table() {
    for (volume_m3, changes) in [
        (10.0, 33.0),
        (20.0, 22.0),
        (40.0, 15.0),
        (100.0, 9.0),
        (300.0, 4.8),
    ] {
        let found = air_changes(volume_m3 / 0.028_316_846_592).unwrap();
        within("air changes", found.per_24h.get(), changes, 0.05);
    }
}

#[test]
fn a_room_below_the_table_exchanges_as_much_air_as_the_smallest_in_it() {
    let found = air_changes(100.0).unwrap();
    assert!(found.below_table);
    near("100 ft³", found.per_24h.get(), 88.0, 1e-9);
    let mut small = case("A");
    small.volume_ft3 = 150.0;
    let load = cellar_load(&small).unwrap();
    assert!(
        load.findings
            .iter()
            .any(|f| f.code == "cellar_load.below_air_table")
    );
}

fn exchange_of(row: &Row) -> AirExchange {
    let outside =
        MoistAir::from_relative_humidity(row.number("t_out_c"), row.number("rh_out"), SEA_LEVEL_PA).unwrap();
    let inside =
        MoistAir::from_relative_humidity(row.number("t_in_c"), row.number("rh_in"), SEA_LEVEL_PA).unwrap();
    let volume_ft3 = row.number("vol_m3") / 0.028_316_846_592;
    exchange_by_changes(volume_ft3, row.number("ach_per_h") * 24.0, &outside, &inside).unwrap()
}

/// PsychroLib 2.5.0, see the head of the file: 0.1 %.
#[test]
fn moisture_brought_in_agrees_with_psychrolib() {
    for row in rows(include_str!("../reference/condensate.csv")) {
        let id = row.text("id");
        let found = exchange_of(&row);
        within(id, found.dry_air_kg_h.get(), row.number("m_da_kg_h"), 0.001);
        within(id, found.water_kg_h.get(), row.number("water_kg_h"), 0.001);
        within(id, found.latent.watts().get(), row.number("q_latent_w"), 0.001);
        let total = found.latent.watts().get() + found.sensible.watts().get();
        within(id, total, row.number("q_total_w"), 0.001);
    }
}

/// Heat of a cubic foot of room air brought to 55 °F 60 %, Btu/ft³ (worked out apart with the ASHRAE formulas).
#[test]
fn heat_of_a_cubic_foot_of_room_air() {
    let inside = MoistAir::from_relative_humidity(celsius(55.0), 0.6, SEA_LEVEL_PA).unwrap();
    for (t_f, rh, heat) in [
        (70.0, 0.5, 0.45),
        (75.0, 0.5, 0.65),
        (75.0, 0.6, 0.80),
        (78.0, 0.55, 0.86),
        (95.0, 0.5, 1.62),
    ] {
        let outside = MoistAir::from_relative_humidity(celsius(t_f), rh, SEA_LEVEL_PA).unwrap();
        // 1,000 ft³ once an hour: Btu/h divided by 1,000 is Btu per ft³.
        let found = exchange_by_changes(1_000.0, 24.0, &outside, &inside).unwrap();
        let per_ft3 = (found.sensible.btu_h().get() + found.latent.btu_h().get()) / 1_000.0;
        near(&format!("{t_f} °F"), per_ft3, heat, 0.01);
    }
}

/// Worked examination item (read): 15 × 20 × 10 ft, 9.5 changes, 50 % more for use, 0.0751 lb/ft³, enthalpies 28.3
/// and 11.3 Btu/lb: 3000 × 9.5 × 1.5 × 0.0751 × 17.0 = 54,579 Btu in 24 h, 2,274 Btu/h. The enthalpies are met by
/// 75 °F 50.6 % and 33 °F 80 %. The item's density is that of colder air; air of 75 °F 50 % has 13.68 ft³ per lb of dry
/// air (psychrometric chart, from memory), 0.0731 lb/ft³, which makes it 2,274 × 0.0731/0.0751 = 2,213 Btu/h.
#[test]
fn examination_item_on_air_change_load() {
    let outside = MoistAir::from_relative_humidity(celsius(75.0), 0.506, SEA_LEVEL_PA).unwrap();
    let inside = MoistAir::from_relative_humidity(celsius(33.0), 0.80, SEA_LEVEL_PA).unwrap();
    let drop = outside.enthalpy_j_kg().unwrap().get() - inside.enthalpy_j_kg().unwrap().get();
    within("enthalpy difference", drop / 2_326.0, 17.0, 0.01);
    let found = exchange_by_changes(3_000.0, 9.5 * 1.5, &outside, &inside).unwrap();
    within(
        "load",
        found.sensible.btu_h().get() + found.latent.btu_h().get(),
        2_213.0,
        0.01,
    );
}

/// By hand with the doorway formula: 0.9 × 2.0 m, 20 °C 50 % against 13 °C 60 %.
/// Densities of moist air: (1 + 0.007262)/0.84016 = 1.19889 and (1 + 0.005566)/0.81788 = 1.22947 kg/m³ (volumes and
/// ratios of the psychrometric file). F = (2/(1 + (1.22947/1.19889)^(1/3)))^1.5 = 0.99370.
/// V = 0.221 × 1.8 × √(1 − 0.97513) × √(9.80665 × 2) × 0.99370 = 0.27608 m³/s of cellar air.
/// Open 60 × 10 s a day: 0.27608 × 600/86400 × 3600 × 1.22947/1.19889 = 7.0778 m³/h of outside air.
#[test]
fn doorway_exchange_by_hand() {
    let outside = MoistAir::from_relative_humidity(20.0, 0.5, SEA_LEVEL_PA).unwrap();
    let inside = MoistAir::from_relative_humidity(13.0, 0.6, SEA_LEVEL_PA).unwrap();
    let door = Doorway {
        width_ft: 0.9 / 0.3048,
        height_ft: 2.0 / 0.3048,
        openings_per_day: 60.0,
        open_s: 10.0,
        held_back_share: 0.0,
    };
    let found = exchange_by_doorway(&door, &outside, &inside).unwrap();
    within("air", found.dry_air_kg_h.get(), 7.0778 / 0.840_156_3, 0.001);
    let curtain = Doorway {
        held_back_share: 0.93,
        ..door
    };
    let held = exchange_by_doorway(&curtain, &outside, &inside).unwrap();
    within(
        "behind a curtain",
        held.dry_air_kg_h.get(),
        found.dry_air_kg_h.get() * 0.07,
        1e-9,
    );
}

/// 1,000 bottles from 75 to 55 °F: 1.8 × 1,000 × 20 = 36,000 Btu, over 48 h 750 Btu/h.
#[test]
fn first_fill_is_told_and_counted_only_when_asked() {
    let mut input = case("A");
    let plain = cellar_load(&input).unwrap();
    let bottles = Bottles {
        count: 1_000.0,
        arriving_c: celsius(75.0),
        heat_j_k: BOTTLE_J_K,
    };
    input.first_fill = Some(FirstFill {
        bottles,
        over_h: 48.0,
        in_load: false,
    });
    let told = cellar_load(&input).unwrap();
    let fill = told.first_fill.unwrap();
    within("heat", fill.heat_btu.get(), 36_000.0, 1e-9);
    within("average", fill.average.btu_h().get(), 750.0, 1e-9);
    assert_eq!(told.required_capacity, plain.required_capacity);
    input.first_fill = Some(FirstFill {
        bottles,
        over_h: 48.0,
        in_load: true,
    });
    let counted = cellar_load(&input).unwrap();
    let more = counted.average.btu_h().get() - plain.average.btu_h().get();
    within("counted", more, 750.0, 1e-9);
}

/// 4 bottles a day: 4 × 1.8 × 20 / 24 = 6 Btu/h. Lights: 40 W × 3.412 × 4/24 = 22.75. Fans: 30 × 3.412 = 102.4.
/// One person for an hour at 55 °F: the older °F form 1295 − 11.5 × 55 = 662.5, a 24th of it 27.6, within 1 %.
#[test]
fn internal_gains_by_hand() {
    let load = cellar_load(&case("A")).unwrap();
    near("intake", part(&load, LoadKind::Intake), 6.0, 1e-6);
    near("lights", part(&load, LoadKind::Lights), 22.75, 0.01);
    near("fans", part(&load, LoadKind::Fans), 102.4, 0.05);
    within("people", part(&load, LoadKind::People), 27.6, 0.01);
}

#[test]
fn cold_behind_a_face_is_told_and_never_counted_as_cooling() {
    let mut input = case("A");
    let before = cellar_load(&input).unwrap();
    let slab_heat = before
        .components
        .iter()
        .find(|c| c.name == "slab")
        .unwrap()
        .total
        .btu_h()
        .get();
    input
        .surfaces
        .iter_mut()
        .find(|s| s.name == "slab")
        .unwrap()
        .behind_c = celsius(50.0);
    let after = cellar_load(&input).unwrap();
    let lost = before.average.btu_h().get() - after.average.btu_h().get();
    near("the slab's share only", lost, slab_heat, 1e-6);
    let told = after
        .findings
        .iter()
        .find(|f| f.code == "cellar_load.cold_behind_face")
        .unwrap();
    assert!(
        told.message.contains("slab: 50.0 °F") && told.message.contains("by 5.0 °F"),
        "{}",
        told.message
    );
}

/// Single glass asks for 7.8 Btu/h per ft³ (hand-worked), above what a sound cellar asks for.
#[test]
fn an_unusual_answer_is_told() {
    let sound = cellar_load(&case("C")).unwrap();
    assert!(sound.findings.is_empty(), "{:?}", sound.findings);
    let glass = cellar_load(&case("C-single-glass")).unwrap();
    near("Btu/h per ft³", glass.required_btu_h_ft3.get(), 7.8, 0.1);
    assert!(
        glass
            .findings
            .iter()
            .any(|f| f.code == "cellar_load.unusual_per_volume")
    );
}

#[test]
fn an_input_outside_its_range_is_named() {
    type Spoil = fn(&mut CellarLoadInput);
    let cases: [(Spoil, &str); 7] = [
        (|i| i.cellar_c = 25.0, "cellar temperature"),
        (|i| i.volume_ft3 = f64::NAN, "volume of the cellar"),
        (|i| i.run_hours_per_day = 0.0, "run time of the unit"),
        (|i| i.surfaces[0].area_ft2 = -1.0, "area of a face"),
        (|i| i.lights.hours_per_day = 25.0, "hours of light"),
        (|i| i.surrounding_rh = 60.0, "relative humidity"),
        (
            |i| i.surfaces[0].construction = Construction::EffectiveR { r_ft2hf_btu: 0.0 },
            "effective R of a face",
        ),
    ];
    for (spoil, expected) in cases {
        let mut input = case("A");
        spoil(&mut input);
        match cellar_load(&input) {
            Err(InputFault::OutOfRange { field, .. }) => assert_eq!(field, expected),
            other => panic!("{expected}: {other:?}"),
        }
    }
}

#[test]
fn no_load_without_a_difference_and_without_gains() {
    let mut input = case("B");
    for surface in &mut input.surfaces {
        surface.behind_c = input.cellar_c;
    }
    input.surrounding_c = input.cellar_c;
    input.surrounding_rh = input.cellar_rh;
    input.lights.power_w = 0.0;
    input.fans.power_w = 0.0;
    input.people.count = 0.0;
    input.intake.count = 0.0;
    let load = cellar_load(&input).unwrap();
    near("average", load.average.watts().get(), 0.0, 1e-9);
    near("required", load.required_capacity.watts().get(), 0.0, 1e-9);
    near("water", load.water_kg_h.get(), 0.0, 1e-12);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn more_insulation_never_raises_the_load(r in 1.0..60.0f64, more in 0.0..40.0f64, which in 0..7usize) {
        let mut input = case("A");
        input.surfaces[which].construction = Construction::EffectiveR { r_ft2hf_btu: r };
        let before = cellar_load(&input).unwrap();
        input.surfaces[which].construction = Construction::EffectiveR { r_ft2hf_btu: r + more };
        let after = cellar_load(&input).unwrap();
        prop_assert!(after.required_capacity <= before.required_capacity);
    }

    #[test]
    fn the_parts_add_up_to_the_whole(
        cellar_f in 50.0..60.0f64, air_f in 40.0..100.0f64, rh in 0.2..0.9f64, altitude in 0.0..3000.0f64,
        safety in 0.0..0.3f64, hours in 12.0..24.0f64, latent in 0.0..1.0f64
    ) {
        let mut input = case("B");
        input.cellar_c = celsius(cellar_f);
        input.surrounding_c = celsius(air_f);
        input.surrounding_rh = rh;
        input.altitude_m = altitude;
        input.safety_share = safety;
        input.run_hours_per_day = hours;
        input.people.latent_share = latent;
        let load = cellar_load(&input).unwrap();
        let watts: f64 = load.components.iter().map(|c| c.total.watts().get()).sum();
        prop_assert!((watts - load.average.watts().get()).abs() < 1e-6 * watts.max(1.0));
        let (sensible, latent) = (load.sensible.watts().get(), load.latent.watts().get());
        prop_assert!((sensible + latent - load.average.watts().get()).abs() < 1e-6 * watts.max(1.0));
        for part in &load.components {
            prop_assert!(part.sensible.watts().get() >= 0.0 && part.latent.watts().get() >= 0.0);
        }
        // Energy over the day: what the unit removes while it runs is the load with its margin all day.
        let removed = load.required_capacity.watts().get() * hours;
        prop_assert!((removed - load.with_safety.watts().get() * 24.0).abs() < 1e-6 * removed.max(1.0));
        // Mass: the latent heat of air is its water times the heat of vaporisation.
        let air: f64 = load.components.iter().filter(|c| c.kind == LoadKind::Infiltration)
            .map(|c| c.latent.watts().get()).sum();
        prop_assert!((air - load.water_kg_h.get() * 2_501_000.0 / 3_600.0).abs() < 1e-6 * air.max(1.0));
    }

    #[test]
    fn a_larger_room_exchanges_fewer_times_but_more_air(volume in 30.0..90_000.0f64, more in 1.0..5_000.0f64) {
        let (small, large) = (air_changes(volume).unwrap(), air_changes(volume + more).unwrap());
        prop_assert!(large.per_24h <= small.per_24h);
        prop_assert!(large.per_24h.get() * (volume + more) >= small.per_24h.get() * volume * (1.0 - 1e-9));
    }

    #[test]
    fn warmer_surroundings_never_lower_the_load(t in 56.0..100.0f64, more in 0.0..20.0f64) {
        let mut input = case("A");
        input.surrounding_c = celsius(t);
        let before = cellar_load(&input).unwrap();
        input.surrounding_c = celsius(t + more);
        prop_assert!(cellar_load(&input).unwrap().average >= before.average);
    }

    #[test]
    fn no_input_panics(a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), d in any::<f64>()) {
        let mut input = case("A");
        input.surrounding_c = a;
        input.surfaces[0].area_ft2 = b;
        input.surfaces[0].behind_c = c;
        input.volume_ft3 = d;
        let door = Doorway {
            width_ft: a, height_ft: b, openings_per_day: c, open_s: d, held_back_share: a,
        };
        input.doorway = Some(door);
        if let Ok(load) = cellar_load(&input) {
            prop_assert!(load.required_capacity.watts().get().is_finite());
        }
    }
}
