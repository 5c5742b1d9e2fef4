//! Sweeps over REST: points, breaks, and faults with their places.

use std::fs;

use serde_json::{Value, json};

use crate::harness::project;

fn sweep(vary: Value) -> Value {
    let file = project().join("seed-data/jobs/pinfold-basement.json");
    let request: Value = serde_json::from_str(&fs::read_to_string(file).unwrap()).unwrap();
    json!({"request": request, "vary": vary})
}

fn ft(value: u32) -> Value {
    json!({"value": value.to_string(), "unit": "ft"})
}

on_both_engines! {
    fn a_price_curve_agrees_with_estimates_made_one_by_one(office) {
        let answer = "/electrical/panel_length";
        let body = sweep(json!([{"answer": answer, "from": ft(20), "to": ft(120), "step": ft(50)}]));
        let made = office.post("/v1/estimates/sweeps", &body).expect(200);
        let points = made["points"].as_array().unwrap();
        assert_eq!(points.len(), 3);
        for point in points {
            let mut request = body["request"].clone();
            request["job"]["electrical"]["panel_length"] = point["at"][0].clone();
            let alone = office.post("/v1/estimates", &request).expect(200);
            for name in ["net", "total", "hours", "cost"] {
                assert_eq!(point[name], alone["totals"][name]);
            }
        }
        let breaks = made["breaks"].as_array().unwrap();
        assert!(breaks.iter().any(|found| found["jumps"].to_string().contains("wiring.conductor")));
        let again = office.post("/v1/estimates/sweeps", &body);
        assert_eq!(again.expect(200), made);
    }

    fn faults_of_a_sweep_are_told_with_their_places(office) {
        let mut body = sweep(json!([{"answer": "/electrical/panel", "values": [1]}]));
        body["request"]["priced_on"] = json!("soon");
        body["colour"] = json!("red");
        let problem = office.post("/v1/estimates/sweeps", &body).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/colour");
        body.as_object_mut().unwrap().shift_remove("colour");
        let problem = office.post("/v1/estimates/sweeps", &body).problem(422, "invalid-input");
        let told: Vec<_> = problem["errors"].as_array().unwrap().iter().map(|one| one["pointer"].clone()).collect();
        assert_eq!(told, ["/request/priced_on", "/vary/0/answer"]);
        body["request"]["priced_on"] = json!("2025-04-14");
        body["request"]["rulebook"] = json!("nobody's");
        let problem = office.post("/v1/estimates/sweeps", &body).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/request/rulebook");
        let mut body = sweep(json!([{"answer": "/electrical/panel_length", "values": [ft(20)]}]));
        body["request"]["job"]["site"].as_object_mut().unwrap().shift_remove("parking");
        let problem = office.post("/v1/estimates/sweeps", &body).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/request/job/site/parking");
    }
}

#[test]
fn a_point_that_cannot_be_estimated_says_why() {
    let office = crate::harness::Office::open(crate::harness::Engine::Sqlite).unwrap();
    let body = sweep(
        json!([{"answer": "/site/ceiling_height", "values": [ft(9), ft(30)]},
        {"answer": "/unit/mounting", "values": ["exposed", "flush"]}]),
    );
    let mut body = body;
    body["request"]["job"]["unit"]["mounting"] = json!("exposed");
    body["request"]["job"]["unit"]
        .as_object_mut()
        .unwrap()
        .shift_remove("ceiling_void");
    let made = office.post("/v1/estimates/sweeps", &body).expect(200);
    let points = made["points"].as_array().unwrap();
    assert_eq!(points.len(), 4);
    assert_eq!(
        points[1]["fault"]["errors"][0]["pointer"],
        "/request/job/unit/ceiling_void"
    );
}
