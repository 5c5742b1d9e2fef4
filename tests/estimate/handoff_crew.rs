//! What the crew reads: of several units, of a stop, of fees and goods that are no task, and of sizes; and what the
//! customer reads of the same.

use estimate::handoff::offer::{Changed, Offer};
use estimate::handoff::{job_sheet, proposal};
use estimate::quote::canonical::Frozen;
use estimate::quote::estimated::Estimated;
use serde_json::{Value, json};

use crate::demo::Demo;
use crate::handoff_papers::{list, offer};

fn sheet(offer: &Offer) -> Value {
    job_sheet::job_sheet(offer).unwrap().content
}

fn customers(offer: &Offer) -> Value {
    proposal::proposal(offer).unwrap().content
}

fn fact(sheet: &Value, group: &str, label: &str) -> Option<String> {
    let mut groups = sheet["groups"].as_array().unwrap().iter();
    let rows = groups.find(|one| one["title"] == group)?["rows"].as_array()?;
    let row = rows.iter().find(|row| row[0] == label)?;
    row[1].as_str().map(str::to_owned)
}

fn titles(sheet: &Value) -> Vec<&str> {
    let groups = sheet["groups"].as_array().unwrap().iter();
    groups.map(|group| group["title"].as_str().unwrap()).collect()
}

/// Routes, holes and circuits are surveyed once and made for each unit.
#[test]
fn what_each_of_two_units_gets_is_told_so() {
    let restaurant = offer(&Demo::job("wickerlamp-restaurant.json"), &json!({}));
    let crew = sheet(&restaurant);
    let of_each = |title: &str| format!("{title}, each of 2 units");
    for group in ["Mounting", "Line set", "Drain", "Circuit", "Controller and probe"] {
        assert!(
            titles(&crew).contains(&of_each(group).as_str()),
            "{group}: {:?}",
            titles(&crew)
        );
    }
    assert_eq!(crew["penetrations_title"], "Penetrations, each of 2 units");
    assert_eq!(list(&crew, "units"), ["Unit 1", "Unit 2"]);
    let scope = list(&customers(&restaurant), "scope").join(" ");
    for wanted in [
        "Hang each ceiling unit flush",
        "62 ft as measured for each of 2 units, and seal every penetration (3 for each of 2 units)",
        "condensate drain, 75 ft as measured for each of 2 units",
        "55 ft of cable for each of 2 units",
        "120 ft from the panel as measured for each of 2 units",
    ] {
        assert!(scope.contains(wanted), "{wanted}: {scope}");
    }
    let drawing = restaurant.drawing().unwrap();
    for wanted in [
        "2 × Ceiling unit",
        "2 × Condensing unit",
        "2 × Controller",
        "2 × Probe",
        "2 × Anti-siphon device",
    ] {
        assert!(drawing.svg.contains(wanted), "{wanted}: {}", drawing.svg);
    }
    assert!(drawing.alt.contains("2 × Ceiling unit: Flush"), "{}", drawing.alt);
    let one = offer(&Demo::job("pinfold-basement.json"), &json!({}));
    let crew = sheet(&one);
    assert!(titles(&crew).contains(&"Line set") && list(&crew, "units").is_empty());
    assert!(one.drawing().unwrap().svg.contains(">Ceiling unit<"));
}

#[test]
fn a_stop_stands_first_for_the_crew_and_without_its_reason_for_the_customer() {
    let stopped = offer(&Demo::job("wickerlamp-first-scheme.json"), &json!({}));
    let crew = sheet(&stopped);
    let stops = list(&crew, "stops");
    assert_eq!(stops.len(), 2, "{stops:?}");
    let cautions = list(&crew, "cautions");
    assert!(
        !cautions.is_empty() && stops.iter().all(|stop| !cautions.contains(stop)),
        "{cautions:?}"
    );
    let page = customers(&stopped);
    assert_eq!(
        page["not_ready"],
        "This draft is not to be issued: something in it has to be settled first."
    );
    assert!(stops.iter().all(|stop| !page.to_string().contains(stop.as_str())));
    let mut sound = offer(&Demo::job("wickerlamp-restaurant.json"), &json!({}));
    assert!(list(&sheet(&sound), "stops").is_empty() && customers(&sound)["not_ready"].is_null());
    // An alternate that cannot be issued keeps its offer back as well.
    sound.alternates = vec![estimate::handoff::offer::Alternative {
        title: "One unit".to_owned(),
        note: None,
        estimated: stopped.estimated.clone(),
    }];
    assert!(customers(&sound)["not_ready"].is_string());
}

#[test]
fn the_crew_reads_set_points_water_and_the_colour_of_the_trim() {
    let restaurant = Demo::job("wickerlamp-restaurant.json");
    let crew = sheet(&offer(&restaurant, &json!({})));
    let wanted = [
        (
            "Controller and probe, each of 2 units",
            "Set points",
            "55 °F; 60 % relative humidity",
        ),
        ("Equipment and place", "Line from the soft water", "30 ft"),
        ("Equipment and place", "Hardness of the water", "239.65 mg/L"),
        (
            "Mounting, each of 2 units",
            "Colour of the trim",
            "A colour made to order",
        ),
    ];
    for (group, label, value) in wanted {
        assert_eq!(
            fact(&crew, group, label).as_deref(),
            Some(value),
            "{:#}",
            crew["groups"]
        );
    }
    // 55 °F are 12.8 °C and 3/8 in of tube is no 0.38 in.
    let mut metric = Demo::job("quarrow-metric.json");
    metric["job"]["cellar"]["air_temperature"] = json!({"value": "13", "unit": "degC"});
    let crew = sheet(&offer(&metric, &json!({"language": "es"})));
    let told = fact(&crew, "Controlador y sonda", "Consignas").unwrap();
    assert!(told.starts_with("13 °C; "), "{told}");
    let mut sizes = Vec::new();
    for file in crate::demo::job_files() {
        let crew = sheet(&offer(&Demo::job(&file), &json!({})));
        let title = titles(&crew).into_iter().find(|title| title.starts_with("Drain"));
        sizes.extend(fact(&crew, title.unwrap(), "Pipe or tube"));
    }
    assert!(sizes.iter().any(|size| size == "3/8 in"), "{sizes:?}");
    assert!(sizes.iter().all(|size| !size.contains('.')), "{sizes:?}");
}

#[test]
fn permits_hires_and_goods_fitted_with_other_work_are_told() {
    let mut request = Demo::job("wickerlamp-restaurant.json");
    let line = json!({"kind": "fee", "description": "Lift table hired", "unit_cost": "90", "quantity": {"value": "1", "unit": "each"},
        "cost_code": "RNT", "tax_category": "services", "reason": "asked for on site"});
    request["manual_lines"].as_array_mut().unwrap().push(line);
    let crew = sheet(&offer(&request, &json!({})));
    let told = list(&crew, "permits_and_hires");
    for wanted in [
        "Lift table hired",
        "Hot work permit of the building",
        "Electrical permit",
    ] {
        assert!(told.iter().any(|one| one == wanted), "{wanted}: {told:?}");
    }
    assert!(
        !told.iter().any(|one| one.contains("Consumables")),
        "what the policy adds is no work: {told:?}"
    );
    let tasks = |section: &str| -> Vec<Value> {
        let mut sections = crew["tasks"].as_array().unwrap().iter();
        let found = sections.find(|one| one["title"] == section).unwrap();
        found["tasks"].as_array().unwrap().clone()
    };
    let lines = tasks("Refrigerant lines");
    let liquid = json!(["Insulation of the liquid line in hot spaces", "", ""]);
    assert_eq!(
        lines.iter().filter(|task| **task == liquid).count(),
        1,
        "{lines:#?}"
    );
    assert!(
        lines.iter().all(|task| task[0] != "Brazing"),
        "it has tasks of its own: {lines:#?}"
    );
}

/// A line by hand without a section stands under a heading that begins like one.
#[test]
fn work_by_hand_has_a_heading() {
    let mut request = Demo::job("pinfold-basement.json");
    request["manual_lines"] = json!([{"kind": "labour", "description": "Move the piano", "hours": {"value": "1", "unit": "h"},
        "labour_class": "apprentice", "tax_category": "services", "cost_code": "LAB", "reason": "it stands in the way"}]);
    let crew = sheet(&offer(&request, &json!({})));
    let last = crew["tasks"].as_array().unwrap().last().unwrap();
    assert_eq!(last["title"], "Further items", "{last:#}");
}

/// The sentence of an allowance stands among the assumptions; among the works it would be no work.
#[test]
fn an_allowance_is_no_work_of_the_charges() {
    let open = offer(
        &Demo::job("marlcombe-unknowns.json"),
        &json!({"prices": "by_section"}),
    );
    let page = customers(&open);
    let sections = page["sections"].as_array().unwrap();
    let titled = |title: &str| sections.iter().find(|section| section["title"] == title).unwrap();
    let allowances = titled("Allowances, for what is assumed below");
    assert_eq!(
        (
            list(allowances, "works").len(),
            allowances["lines"].as_array().unwrap().len()
        ),
        (0, 3),
        "{allowances:#}"
    );
    let assumed = list(&page, "assumptions");
    for line in allowances["lines"].as_array().unwrap() {
        assert!(
            assumed.iter().any(|text| line["description"] == **text),
            "{line}: {assumed:?}"
        );
    }
    assert!(list(titled("Delivery, small material and charges"), "works").is_empty());
}

/// A stored contract has its members in the order of RFC 8785, an estimate that was just made in another.
#[test]
fn a_contract_that_was_stored_is_the_same_as_it_was() {
    let request = Demo::job("pinfold-basement.json");
    for prices in ["all_lines", "by_section"] {
        let mut changed = offer(&request, &json!({"prices": prices}));
        let stored = Frozen::of(changed.estimated.tree()).unwrap();
        let stored: Value = serde_json::from_slice(stored.bytes()).unwrap();
        changed.change = Some(Changed {
            title: "Nothing yet".to_owned(),
            before: Estimated::read(stored).unwrap(),
        });
        let page = customers(&changed);
        assert_eq!(page["changes"], json!([]), "{prices}");
        assert_eq!(page["unchanged"], "Work and price stay as they are.");
    }
}
