//! Surveys: kept as far as they go, told what is missing, landed once, and priced when they are whole. And the form that
//! they follow.

use serde_json::{Value, json};

use crate::harness::{Engine, Office};
use crate::quotes_desk::{customer_and_site, job, new_quote, post, put, send};

/// The pointers of what is told.
fn pointers(told: &Value) -> Vec<&str> {
    told.as_array()
        .unwrap()
        .iter()
        .map(|fault| fault["pointer"].as_str().unwrap())
        .collect()
}

on_both_engines! {
    fn a_survey_is_kept_as_far_as_it_goes_and_priced_when_it_is_whole(office) {
        let (_, site) = customer_and_site(office);
        let whole = job("alderwick-closet")["job"].clone();
        let id = "0190f3a2-7b1c-7cde-8a00-3c5a1f0e9d11";
        let mut begun = whole.clone();
        let unit = begun["unit"].as_object_mut().unwrap();
        unit.remove("mounting");
        unit.insert("framing".to_owned(), json!("bamboo"));
        begun.as_object_mut().unwrap().remove("condenser");
        let body = json!({"id": id, "site": site, "job": begun});
        let made = post(office, "/v1/surveys", &body);
        let survey = made.expect(201);
        assert_eq!(made.header("location"), Some(format!("/v1/surveys/{id}").as_str()));
        assert_eq!((&survey["job"], &survey["site"], &survey["complete"]), (&begun, &json!(site), &json!(false)));
        assert_eq!(survey["title"], whole["title"]);
        let missing = pointers(&survey["missing"]);
        assert!(missing.contains(&"/job/unit/mounting"), "{missing:?}");
        assert!(missing.iter().any(|place| place.starts_with("/job/condenser")), "{missing:?}");
        assert_eq!(pointers(&survey["faults"]), ["/job/unit/framing"]);
        let message = survey["faults"][0]["message"].as_str().unwrap();
        assert!(message.contains("bamboo") || message.contains("Framing"), "{message}");
        // Sent again without having heard the answer, it has landed once.
        post(office, "/v1/surveys", &body).problem(409, "already-there");
        let listed = office.get("/v1/surveys").expect(200);
        assert_eq!(listed["data"].as_array().unwrap().len(), 1);
        assert_eq!(listed["data"][0]["missing"], json!(missing.len()));
        // Under the tag that was read it goes on; under an older one it does not.
        let path = format!("/v1/surveys/{id}");
        let read = office.get(&path);
        assert_eq!(read.expect(200), survey);
        let tag = read.header("etag").unwrap();
        assert_eq!(office.ask("GET", &path, &[("if-none-match", tag)], b"").status, 304);
        let done = put(office, &path, tag, &json!({"site": site, "job": whole}));
        let survey = done.expect(200);
        assert_eq!((&survey["complete"], &survey["missing"], &survey["faults"]), (&json!(true), &json!([]), &json!([])));
        put(office, &path, tag, &json!({"job": {}})).problem(412, "precondition-failed");
        send(office, "A", "PUT", &path, &[], &json!({"job": {}})).problem(428, "precondition-required");
        // What is whole is priced as it is, and goes into a quote.
        let request = json!({"job": survey["job"]});
        office.post("/v1/estimates", &request).expect(200);
        post(office, "/v1/quotes", &new_quote(office, &json!({"request": request}))).expect(201);
        post(office, &format!("{path}/archive"), &json!({"archived": true})).expect(200);
        assert_eq!(office.get("/v1/surveys").expect(200)["data"], json!([]));
        assert_eq!(office.get("/v1/surveys?archived=true").expect(200)["data"][0]["complete"], true);
    }

    fn an_empty_survey_says_all_that_is_missing(office) {
        let survey = post(office, "/v1/surveys", &json!({"job": {}})).expect(201);
        assert_eq!(survey["faults"], json!([]));
        // Exactly what an estimate of the same job would refuse it for.
        let refused = office.post("/v1/estimates", &json!({"job": {}})).problem(422, "invalid-input");
        assert_eq!(pointers(&survey["missing"]), pointers(&refused["errors"]));
        assert!(survey["missing"].as_array().unwrap().len() > 10);
        // Digits stay as they came.
        let kept = json!({"cellar": {"length": {"value": "12.50", "unit": "ft"}}});
        let survey = post(office, "/v1/surveys", &json!({"job": kept})).expect(201);
        assert_eq!(survey["job"], kept);
    }

    fn what_is_no_survey_is_told(office) {
        let told = post(office, "/v1/surveys", &json!({"id": "7", "job": [], "colour": "red"}));
        let mut places = pointers(&told.problem(422, "invalid-input")["errors"]).join(" ");
        places.make_ascii_lowercase();
        assert_eq!(places.split(' ').collect::<std::collections::BTreeSet<_>>(), ["/colour", "/id", "/job"].into());
        let nowhere = json!({"site": "0190f3a2-7b1c-7cde-8a00-3c5a1f0e9d99", "job": {}});
        let told = post(office, "/v1/surveys", &nowhere).problem(422, "invalid-input");
        assert_eq!(pointers(&told["errors"]), ["/site"]);
        office.get("/v1/surveys/nothing").problem(404, "not-found");
        let version_four = "7d444840-9dc0-41d1-b245-5ffdce74fad2";
        post(office, "/v1/surveys", &json!({"id": version_four, "job": {}})).problem(422, "invalid-input");
    }

    /// PostgreSQL keeps the sign U+0000 in no text, and so nothing that a data file keeps has it either.
    fn the_sign_that_no_database_keeps_is_refused_at_the_door(office) {
        let mut named = json!({"job": {"cellar": {}}});
        named["job"]["cellar"]["a\0b"] = json!(1);
        for (body, place) in [
            (json!({"job": {"title": "a\0b"}}), "/job/title"),
            (json!({"job": {"inputs": [1, {"a/b": "\0"}]}}), "/job/inputs/1/a~1b"),
            (named, "/job/cellar"),
        ] {
            let told = post(office, "/v1/surveys", &body).problem(422, "invalid-input");
            assert_eq!(pointers(&told["errors"]), [place]);
        }
        // A backslash before it, and it is a text like any other.
        let made = post(office, "/v1/surveys", &json!({"job": {"title": "a\\u0000b"}}));
        let path = made.header("location").unwrap().to_owned();
        let tag = made.header("etag").unwrap_or_default().to_owned();
        let told = put(office, &path, &tag, &json!({"job": {"title": "\0"}})).problem(422, "invalid-input");
        assert_eq!(pointers(&told["errors"]), ["/job/title"]);
        let told = post(office, "/v1/customers", &json!({"name": "O", "address": {"lines": ["\0"]}}));
        assert_eq!(pointers(&told.problem(422, "invalid-input")["errors"]), ["/address/lines/0"]);
        // Text that is kept though it is faulty: the rules of a draft.
        let draft = post(office, "/v1/rulebook-drafts", &json!({}));
        let (path, tag) = (draft.header("location").unwrap(), draft.header("etag").unwrap());
        put(office, path, tag, &json!({"text": "a = \"\0\""})).problem(422, "invalid-input");
        let toml = [("content-type", "text/plain"), ("if-match", tag)];
        office.ask("PUT", path, &toml, b"a = \"\0\"").problem(422, "invalid-input");
    }

    fn a_page_of_surveys_ends_and_goes_on(office) {
        for _ in 0..103 {
            post(office, "/v1/surveys", &json!({"job": {}})).expect(201);
        }
        let (mut count, mut after) = (Vec::new(), String::new());
        loop {
            let page = office.get(&format!("/v1/surveys?limit=500{after}")).expect(200);
            count.push(page["data"].as_array().unwrap().len());
            match page["next"].as_str() {
                Some(next) => after = format!("&after={next}"),
                None => break,
            }
        }
        assert_eq!(count, [100, 3]);
        let page = office.get("/v1/surveys?limit=2").expect(200);
        assert_eq!(page["data"].as_array().unwrap().len(), 2);
        assert_eq!(page["next"], page["data"][1]["id"]);
    }
}

/// A question that the office adds stands in the form, and in what a survey lacks, without another program.
#[test]
fn a_new_question_is_asked_at_once() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let whole = job("alderwick-closet")["job"].clone();
    let survey = post(&office, "/v1/surveys", &json!({"job": &whole}));
    assert_eq!(survey.expect(201)["complete"], true);
    let form = office.get("/v1/job-spec-form");
    assert_eq!(
        form.expect(200)["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    let path = "/v1/rulebooks/hollowmoor-standard";
    let read = office.get(path);
    let text = read.expect(200)["text"].as_str().unwrap().to_owned();
    let question = "\n[[input]]\nname = \"crane_width\"\ntitle = \"Width of the gate for the crane\"\ntype = \"quantity\"\n\
        unit = \"ft\"\nmin = \"3\"\nmax = \"60\"\n";
    let place = text.find("\n[[input]]").unwrap_or(text.len());
    let more = format!("{}{question}{}", &text[..place], &text[place..]);
    // Worked examples do not know the answer to it.
    let bare: String = more.split("\n[[example]]").next().unwrap().to_owned();
    let headers = [
        ("content-type", "application/toml"),
        ("if-match", read.header("etag").unwrap()),
    ];
    let published = office.ask("PUT", path, &headers, bare.as_bytes());
    assert_eq!(published.status, 200, "{}", published.text);
    let again = office.ask(
        "GET",
        "/v1/job-spec-form",
        &[("if-none-match", form.header("etag").unwrap())],
        b"",
    );
    let asked = &again.expect(200)["$defs"]["job"]["properties"]["extra"]["properties"]["crane_width"];
    assert_eq!(
        (&asked["title"], &asked["x-unit"], &asked["x-needed"]),
        (
            &json!("Width of the gate for the crane"),
            &json!("ft"),
            &json!(true)
        )
    );
    let path = survey.header("location").unwrap();
    let kept = survey.header("etag").unwrap();
    let now = office
        .ask("GET", path, &[("if-none-match", kept)], b"")
        .expect(200);
    assert_eq!(pointers(&now["missing"]), ["/job/extra/crane_width"]);
    assert_eq!(now["complete"], false);
    office
        .post("/v1/estimates", &json!({"job": whole}))
        .problem(422, "invalid-input");
    // A phone that was away saves under the tag that it has: nobody wrote the survey. Then somebody has.
    let mut begun = whole.clone();
    begun["title"] = json!("Closet under the stairs");
    let saved = put(&office, path, kept, &json!({"job": begun}));
    assert_eq!(saved.expect(200)["title"], begun["title"]);
    let stale = put(&office, path, kept, &json!({"job": whole}));
    stale.problem(412, "precondition-failed");
    let now = saved.header("etag").unwrap();
    assert_eq!(stale.header("etag"), Some(now));
    assert_eq!(
        office.ask("GET", path, &[("if-none-match", now)], b"").status,
        304
    );
    put(&office, path, &format!("\"0\", {now}"), &json!({"job": whole})).expect(200);
}

/// Telephones differ in the letters of a UUID: those of either case name the same, kept in lower case.
#[test]
fn keys_of_either_case_name_the_same() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let (customer, site, survey) = (
        "0190F3A2-7B1C-7CDE-8A00-3C5A1F0E9D21",
        "0190F3A2-7B1C-7CDE-8A00-3C5A1F0E9D22",
        "0190F3A2-7B1C-7CDE-8A00-3C5A1F0E9D23",
    );
    let place = json!({"lines": ["3 Low Row"]});
    let bodies = [
        (
            "/v1/customers",
            customer,
            json!({"id": customer, "name": "Wren Aldous", "address": place}),
        ),
        (
            "/v1/sites",
            site,
            json!({"id": site, "customer": customer, "name": "Cellar", "address": place}),
        ),
        (
            "/v1/surveys",
            survey,
            json!({"id": survey, "site": site, "job": {}}),
        ),
    ];
    for (path, key, body) in bodies {
        let made = post(&office, path, &body);
        let kept = key.to_lowercase();
        assert_eq!(made.expect(201)["id"], kept);
        assert_eq!(made.header("location"), Some(format!("{path}/{kept}").as_str()));
        assert_eq!(office.get(&format!("{path}/{key}")).expect(200)["id"], kept);
        let again =
            json!({"id": kept, "name": "Wren Aldous", "address": place, "customer": customer, "job": {}});
        let wanted: Vec<&String> = body.as_object().unwrap().keys().collect();
        let again: Value = again
            .as_object()
            .unwrap()
            .iter()
            .filter(|(name, _)| wanted.contains(name))
            .map(|(name, value)| (name.clone(), value.clone()))
            .collect::<serde_json::Map<_, _>>()
            .into();
        post(&office, path, &again).problem(409, "already-there");
    }
    assert_eq!(
        office.get(&format!("/v1/surveys/{survey}")).expect(200)["site"],
        site.to_lowercase()
    );
    assert_eq!(
        office.get(&format!("/v1/sites?customer={customer}")).expect(200)["data"][0]["id"],
        site.to_lowercase()
    );
    let quote = "0190F3A2-7B1C-7CDE-8A00-3C5A1F0E9D24";
    let body = json!({"id": quote, "customer": customer, "site": site, "draft": {"request": job("alderwick-closet")}});
    post(&office, "/v1/quotes", &body).expect(201);
    assert_eq!(
        office.get(&format!("/v1/quotes/{quote}")).expect(200)["id"],
        quote.to_lowercase()
    );
    // Another variant than that of RFC 9562, another version, another spelling.
    for other in [
        "0190f3a2-7b1c-7cde-ca00-3c5a1f0e9d21",
        "0190f3a2-7b1c-7cde-0a00-3c5a1f0e9d21",
        "0190f3a2-7b1c-4cde-8a00-3c5a1f0e9d21",
        "0190f3a27b1c7cde8a003c5a1f0e9d21",
        "{0190f3a2-7b1c-7cde-8a00-3c5a1f0e9d21}",
        "urn:uuid:0190f3a2-7b1c-7cde-8a00-3c5a1f0e9d21",
    ] {
        post(&office, "/v1/surveys", &json!({"id": other, "job": {}})).problem(422, "invalid-input");
    }
}

/// Every question of the form has its title and its place; units, choices and what matters when stand beside.
#[test]
fn the_form_is_enough_to_ask_by() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let form = office.get("/v1/job-spec-form").expect(200);
    let mut seen = 0;
    let job = &form["$defs"]["job"];
    let mut walk = vec![(String::new(), &form), ("/job".to_owned(), job)];
    while let Some((place, schema)) = walk.pop() {
        if let Some(items) = schema.get("items") {
            walk.push((format!("{place}/*"), items));
        }
        // A quantity or an amount is one answer.
        let is_one = |name: &str| schema["properties"].get(name).is_some();
        let is_answer = is_one("value") && is_one("unit") || is_one("amount") && is_one("currency");
        let Some(members) = schema["properties"].as_object().filter(|_| !is_answer) else {
            continue;
        };
        let mut places: Vec<u64> = Vec::new();
        for (name, member) in members {
            assert!(
                member["title"].as_str().is_some_and(|title| !title.is_empty()),
                "{place}/{name}"
            );
            places.push(
                member["x-order"]
                    .as_u64()
                    .unwrap_or_else(|| panic!("{place}/{name}: {member}")),
            );
            seen += 1;
            walk.push((format!("{place}/{name}"), member));
        }
        places.sort_unstable();
        assert!(
            places.iter().copied().eq(1..=places.len() as u64),
            "{place}: {places:?}"
        );
    }
    assert!(seen > 60, "{seen}");
    let unit = &job["properties"]["unit"]["properties"];
    assert_eq!(unit["ceiling_void"]["x-needed"]["when"], "mounting");
    // What the office asks beside has its condition by answers of the survey, and as it is written.
    let extra = &job["properties"]["extra"]["properties"];
    assert_eq!(
        extra["parking_cost"]["x-matters"],
        json!({"formula": "site.parking = paid", "all": [{"when": "/site/parking", "is": ["paid"]}]})
    );
    let classes = office.get("/v1/equipment").expect(200);
    for class in classes["data"].as_array().unwrap() {
        let words = unit["class"]["enum"].as_array().unwrap();
        assert!(words.contains(&class["class"]), "{class}");
    }
}
