//! Facts of the job: definitions and values belong together, and the sums are right.

use std::collections::{HashMap, HashSet};

use estimate::job::{Form, facts};
use estimate::quantity::Decimal;
use estimate::quantity::decimal::{QUANTITY_SCALE, parse, plain};
use estimate::quantity::fact::{FactKind, FactValue};
use serde_json::json;

use crate::job_samples::{classes, extra_inputs, form, rules, sample, set};

/// The facts of a sample as texts: a number in digits, a flag, a word.
fn told(name: &str) -> HashMap<String, String> {
    let mut job = sample(name);
    set(
        &mut job,
        "/extra",
        json!({"rack_height": {"value": "2.4384", "unit": "m"}, "rack_wood": "metal"}),
    );
    let spec = form().read(&job, &rules()).expect("no faults").spec;
    let definitions = facts::definitions(&extra_inputs());
    let values = facts::values(&spec);
    assert_eq!(definitions.len(), values.len());
    definitions
        .iter()
        .zip(&values)
        .map(|(definition, value)| {
            assert!(
                definition.admits(value) && definition.is_within(value),
                "{}: {value:?}",
                definition.name
            );
            let text = match (&definition.kind, value) {
                (FactKind::Choice(domain), FactValue::Choice(word)) => {
                    domain.word(*word).expect("a word").to_owned()
                }
                (_, FactValue::Number(number)) => plain(*number),
                (_, FactValue::Flag(flag)) => flag.to_string(),
                other => panic!("{other:?}"),
            };
            (definition.name.to_string(), text)
        })
        .collect()
}

#[test]
fn names_are_unique_dotted_and_explained() {
    let definitions = facts::definitions(&extra_inputs());
    let names: HashSet<&str> = definitions.iter().map(|d| &*d.name).collect();
    assert_eq!(names.len(), definitions.len());
    for definition in &definitions {
        let plain_word =
            |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_lowercase() || b == b'_');
        assert!(
            definition.name.contains('.') && definition.name.split('.').all(plain_word),
            "{}",
            definition.name
        );
        assert!(definition.meaning.len() > 5, "{}", definition.name);
    }
}

#[test]
fn domains_of_one_name_have_the_same_words() {
    let mut domains = HashMap::new();
    for definition in facts::definitions(&extra_inputs()) {
        if let FactKind::Choice(domain) = &definition.kind {
            let words = domain.words.clone();
            let before = domains.insert(domain.name.to_string(), words.clone());
            assert!(before.is_none_or(|before| before == words), "{}", domain.name);
        }
    }
}

#[test]
fn facts_of_the_samples() {
    let expect = |facts: &HashMap<String, String>, rows: &[(&str, &str)]| {
        for (name, value) in rows {
            assert_eq!(facts.get(*name).map(String::as_str), Some(*value), "{name}");
        }
    };
    expect(
        &told("simple"),
        &[
            ("cellar.volume", "384"),
            ("cellar.floor_area", "48"),
            ("cellar.wall_area", "224"),
            ("cellar.door_area", "20"),
            ("cellar.glazing_area", "0"),
            ("cellar.wall_r", "15"),
            ("cellar.humidity", "0.6"),
            ("unit.mounting", "exposed"),
            ("unit.class_named", "false"),
            ("unit.framing_species", "spruce_pine_fir"),
            ("unit.ceiling_void", "0"),
            ("unit.ceiling_void_given", "false"),
            ("line_set.length", "26"),
            ("line_set.rise", "1"),
            ("line_set.drop", "9"),
            ("line_set.vertical", "10"),
            ("line_set.bends", "5"),
            ("line_set.segments", "4"),
            ("line_set.length_in_attic", "15"),
            ("line_set.length_in_outdoors", "10"),
            ("line_set.length_in_cellar", "1"),
            ("penetrations.wood", "2"),
            ("penetrations.total", "2"),
            ("drain.length", "18"),
            ("drain.fall", "7"),
            ("probe.route", "8"),
            ("humidity.supply_length_given", "false"),
            ("site.ceiling_open", "true"),
            ("site.built_year", "2030"),
            ("painting.ceiling_coats", "0"),
            ("painting.ceiling_by", "none"),
            ("tax.treatment", "by_policy"),
            ("basis.assumed_count", "1"),
            ("basis.unknown_count", "0"),
            ("input.rack_height", "8"),
            ("input.rack_wood", "metal"),
            ("input.racks_fixed", "false"),
        ],
    );
    expect(
        &told("medium"),
        &[
            ("cellar.construction_given", "false"),
            ("cellar.door_area", "21"),
            ("cellar.glazing_area", "28"),
            ("unit.framing_species", "not_given"),
            ("unit.ceiling_void", "9.25"),
            ("unit.ceiling_void_given", "true"),
            ("condenser.room_volume", "3600"),
            ("penetrations.masonry", "1"),
            ("penetrations.fire_rated", "1"),
            ("drain.rise", "1.5"),
            ("drain.drop", "5"),
            ("drain.discharge_below_outlet", "3.5"),
            ("electrical.panel_length", "40"),
            ("finishes.patch_area", "6"),
            ("finishes.patch_texture", "textured"),
            ("painting.ceiling_area", "108"),
            ("painting.ceiling_by", "painter"),
            ("basis.unknown_count", "1"),
        ],
    );
}

#[test]
fn a_cellar_of_another_shape_has_the_areas_that_are_listed() {
    let mut job = sample("medium");
    for side in ["length", "width", "height"] {
        crate::job_samples::remove(&mut job, &format!("/cellar/{side}"));
    }
    set(&mut job, "/cellar/volume", json!({"value": 900, "unit": "ft3"}));
    let cellar = Form::new(&classes(), &[])
        .read(&job, &rules())
        .expect("no faults")
        .spec
        .cellar;
    let decimal = |text: &str| parse(text, QUANTITY_SCALE).expect("a decimal");
    let areas: [Decimal; 3] =
        [cellar.floor_area(), cellar.ceiling_area(), cellar.wall_area()].map(|area| area.value());
    // Walls 102 + 76.5 + 53 + 76.5, glass 28, door 21: 357 ft2, as 2 (12 + 9) 8.5.
    assert_eq!(areas, ["108", "108", "357"].map(decimal));
    assert_eq!(cellar.volume().value(), decimal("900"));
}
