//! Drafts: what is read, and where each fault is told.

use estimate::job::{FaultCode, JobFault};
use estimate::quote::draft::{ChangeOrder, Draft};
use serde_json::{Value, json};

use crate::quote_office::{Office, job};

fn conduit() -> Value {
    json!({"name": "conduit", "title": "Circuit in conduit", "change": {"job": {"electrical": {"method": "conduit"}}}})
}

/// A JSON number of just these digits.
fn digits(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn shelf(reason: &str) -> Value {
    json!({
        "kind": "material", "description": "Oak shelf", "quantity": {"value": digits("1.50"), "unit": "m"},
        "unit_cost": "80.00", "cost_code": "FIN", "tax_category": "goods", "reason": reason,
    })
}

fn draft() -> Value {
    json!({
        "request": job("alderwick-closet"),
        "alternates": [
            conduit(),
            {
                "name": "shelf", "title": "A shelf below the unit", "note": "Oak, oiled.",
                "change": {"manual_lines": [shelf("asked for on site")], "extra": {"labour_cover_years": {"value": "4", "unit": "each"}}},
            },
        ],
        "exclusions": ["Moving the washing machine."],
        "wording": {"introduction": "Thank you for showing us the cellar.", "notes": ["Two visits."], "closing": "With kind regards"},
        "validity_days": 45,
    })
}

fn faults(office: &Office, tree: &Value) -> Vec<(String, FaultCode)> {
    match Draft::read(tree, office.workbook().reader(None)) {
        Err(JobFault::Faults(faults)) => faults
            .list
            .into_iter()
            .map(|fault| (fault.pointer, fault.code))
            .collect(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_draft_is_read_as_it_was_written() {
    let office = Office::usual();
    let read = office.draft(&draft());
    assert_eq!(read.request, job("alderwick-closet"));
    assert_eq!(read.alternates.len(), 2);
    assert_eq!(read.validity_days, Some(45));
    // A number with decimals is kept by its digits, as text: 1.50 stays 1.50.
    assert_eq!(
        read.alternates[1].change.manual_lines[0]["quantity"]["value"],
        "1.50"
    );
    // What is stored reads back as the same draft, with the same bytes.
    let frozen = read.frozen().unwrap();
    let again = office.draft(&serde_json::from_slice(frozen.bytes()).unwrap());
    assert_eq!(again, read);
    assert_eq!(again.frozen().unwrap(), frozen);
}

#[test]
fn every_fault_is_told_at_once_in_its_place() {
    let office = Office::usual();
    let mut tree = draft();
    tree["validity_days"] = json!(0);
    tree["exclusions"] = json!(["", "fine"]);
    tree["colour"] = json!("red");
    tree["alternates"][0]["title"] = json!(7);
    tree["alternates"][1]["name"] = json!("conduit");
    tree["request"]["job"]["unit"]["mounting"] = json!("upside_down");
    tree["request"]["job"]["electrical"]["panel_length"]["unit"] = json!("h");
    let mut found = faults(office, &tree);
    found.sort();
    let at = |pointer: &str, code| (pointer.to_owned(), code);
    assert_eq!(
        found,
        [
            at("/alternates/0/title", FaultCode::WrongType),
            at("/alternates/1/name", FaultCode::NamedTwice),
            at("/colour", FaultCode::UnknownField),
            at("/exclusions/0", FaultCode::BadText),
            at(
                "/request/job/electrical/panel_length/unit",
                FaultCode::WrongDimension
            ),
            at("/request/job/unit/mounting", FaultCode::UnknownWord),
            at("/validity_days", FaultCode::OutOfBounds),
        ]
    );
}

#[test]
fn faults_of_a_changed_job_are_told_in_the_change() {
    let office = Office::usual();
    let cases = [
        (
            json!({"job": {"unit": {"mounting": "upside_down"}}}),
            "/job/unit/mounting",
            FaultCode::UnknownWord,
        ),
        (
            json!({"job": {"unit": {"mounting": null}}}),
            "/job/unit/mounting",
            FaultCode::Missing,
        ),
        (json!({"job": {"roof": {}}}), "/job/roof", FaultCode::UnknownField),
        (
            json!({"extra": {"crane_hours": {"value": "41", "unit": "h"}}}),
            "/extra/crane_hours",
            FaultCode::OutOfBounds,
        ),
        (
            json!({"job": {"extra": {"no_such": "1"}}}),
            "/job/extra/no_such",
            FaultCode::UnknownField,
        ),
        (
            json!({"manual_lines": [shelf("first"), {"kind": "labour"}]}),
            "/manual_lines/1/description",
            FaultCode::Missing,
        ),
        (
            json!({"overrides": [{"line": "material:PR-FILM", "reason": "r"}]}),
            "/overrides/0",
            FaultCode::Contradiction,
        ),
        (json!({"job": []}), "/job", FaultCode::WrongType),
        (json!({}), "", FaultCode::Missing),
        (json!({"prices": {}}), "/prices", FaultCode::UnknownField),
    ];
    let mut tree = draft();
    tree["request"]["manual_lines"] = json!([shelf("in the base job already")]);
    for (change, place, code) in cases {
        tree["alternates"][0]["change"] = change.clone();
        let found = faults(office, &tree);
        let wanted = (format!("/alternates/0/change{place}"), code);
        assert!(found.contains(&wanted), "{change}: {found:?}");
        assert!(
            found
                .iter()
                .all(|(pointer, _)| pointer.starts_with("/alternates/0/change")),
            "{found:?}"
        );
    }
}

#[test]
fn a_faulty_request_is_not_told_again_for_every_alternate() {
    let office = Office::usual();
    let mut tree = draft();
    tree["request"]["job"]["unit"]["mounting"] = json!("upside_down");
    assert_eq!(
        faults(office, &tree),
        [("/request/job/unit/mounting".to_owned(), FaultCode::UnknownWord)]
    );
    for wrong in [
        json!(null),
        json!([]),
        json!("x"),
        json!({"request": 5}),
        json!({}),
    ] {
        assert!(!faults(office, &wrong).is_empty());
    }
}

#[test]
fn a_change_order_is_read_against_the_request_of_the_contract() {
    let office = Office::usual();
    let request = job("alderwick-closet");
    let read = |tree: &Value| {
        let workbook = office.workbook();
        ChangeOrder::read(tree, &request, workbook.reader(None))
    };
    let order =
        json!({"title": "Conduit after all", "change": {"job": {"electrical": {"method": "conduit"}}}});
    let sound = read(&order).unwrap();
    assert_eq!(sound.title, "Conduit after all");
    let mut wrong = order.clone();
    wrong["change"]["job"]["electrical"]["method"] = json!("string");
    wrong["title"] = json!("");
    let Err(JobFault::Faults(told)) = read(&wrong) else {
        panic!("no fault")
    };
    let places: Vec<_> = told.list.iter().map(|fault| fault.pointer.as_str()).collect();
    assert_eq!(places, ["/title", "/change/job/electrical/method"]);
}

#[test]
fn schemas_name_every_member() {
    let offer = Draft::schema();
    for member in ["request", "alternates", "exclusions", "wording", "validity_days"] {
        assert!(offer["properties"][member].is_object(), "{member}");
    }
    assert_eq!(offer["required"], json!(["request"]));
    assert_eq!(ChangeOrder::schema()["required"], json!(["title", "change"]));
}
