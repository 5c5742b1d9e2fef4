//! Rulebooks in versions: which one is current when, drafts that become versions, and estimates in between.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use serde_json::{Value, json};

use crate::harness::{Answer, Engine, Office, seed, try_ask};
use crate::quotes_desk::{PERSON, customer_and_site, job, post, send};

const RULEBOOK: &str = "hollowmoor-standard";
const VERSIONS: &str = "/v1/rulebooks/hollowmoor-standard/versions";
const DRAFTS: &str = "/v1/rulebook-drafts";
const TRAIN: &str = "parts/line/TRAIN%2F1";

/// A draft: its address and the tag of it.
struct Draft<'o> {
    office: &'o Office,
    path: String,
    tag: String,
}

impl<'o> Draft<'o> {
    fn of(office: &'o Office, from: &Value) -> Self {
        let made = post(office, DRAFTS, from);
        let head = made.expect(201);
        let path = format!("{DRAFTS}/{}", head["id"].as_str().unwrap());
        assert_eq!(made.header("location"), Some(path.as_str()));
        let tag = made.header("etag").unwrap().to_owned();
        Self { office, path, tag }
    }

    fn send(&self, method: &str, below: &str, tag: &str, body: &Value) -> Answer {
        let path = format!("{}/{below}", self.path);
        let path = path.trim_end_matches('/');
        send(self.office, PERSON, method, path, &[("if-match", tag)], body)
    }

    fn done(&mut self, method: &str, below: &str, body: &Value) -> Value {
        let answer = self.send(method, below, &self.tag, body);
        let told = answer.expect(200);
        self.tag = answer.header("etag").unwrap().to_owned();
        told
    }

    fn get(&self, below: &str) -> Answer {
        self.office
            .get(format!("{}/{below}", self.path).trim_end_matches('/'))
    }

    /// Makes the training of the owner take this long: a line that no worked example names, and hours that they do.
    fn train_for(&mut self, hours: &str) {
        let mut line = self.get(TRAIN).expect(200);
        line["hours"] = json!(hours);
        self.done("PUT", TRAIN, &line);
    }

    /// Takes over what the worked examples come to now.
    fn take_figures(&mut self) {
        self.done("POST", "examples", &json!({}));
    }
}

fn encoded(text: &str) -> String {
    text.bytes().map(|byte| format!("%{byte:02X}")).collect()
}

fn priced(office: &Office, request: &Value) -> Value {
    office.post("/v1/estimates", request).expect(200)
}

/// A request for today, under a version where one is named.
fn today(version: Option<u32>) -> Value {
    let mut request = job("pinfold-basement");
    request.as_object_mut().unwrap().remove("priced_on");
    if let Some(version) = version {
        request["rulebook_version"] = json!(version);
    }
    request
}

fn day(offset: i64) -> String {
    (chrono::Utc::now().date_naive() + chrono::TimeDelta::days(offset)).to_string()
}

on_both_engines! {
    fn a_rule_is_edited_tried_and_published_and_both_versions_stay_usable(office) {
        let before = priced(office, &today(None));
        assert_eq!(before["rulebook"]["version"], 1);
        let mut draft = Draft::of(office, &json!({}));
        let whole = draft.get("").expect(200);
        assert_eq!(whole["text"], seed().rulebook);
        assert_eq!((&whole["rulebook"], &whole["base_version"]), (&json!(RULEBOOK), &json!(1)));
        draft.train_for("3.5 h");
        // A draft counts for nothing yet.
        assert_eq!(priced(office, &today(None))["totals"], before["totals"]);
        let difference = draft.get("comparison").expect(200);
        let changes = difference["changes"].as_array().unwrap();
        assert_eq!(changes.len(), 1, "{difference}");
        assert_eq!((&changes[0]["part"], &changes[0]["assembly"]), (&json!("line"), &json!("TRAIN")));
        assert_eq!(changes[0]["fields"][0]["after"], "3.5 h");
        let impact = office.post(&format!("{}/impact", draft.path), &today(None)).expect(200);
        assert_eq!(impact["before"]["totals"], before["totals"]);
        let lines = impact["comparison"]["lines"].as_array().unwrap();
        assert!(lines.iter().any(|line| line["key"] == "labour:TRAIN/train"), "{}", impact["comparison"]);
        // Every worked example trains the owner: none comes out, and each says how.
        let tried = draft.get("examples").expect(200);
        assert_eq!(tried["fits"], false);
        let refused = draft.send("POST", "publish", &draft.tag, &json!({})).problem(422, "worked-examples");
        let examples = refused["examples"].as_array().unwrap();
        assert!(examples.len() >= 10, "{}", examples.len());
        let hours = |example: &Value| example["figures"].as_array().unwrap().iter().find(|figure| figure["what"] == "hours in all").cloned();
        let missed = examples.iter().find_map(hours).unwrap();
        assert_eq!(missed["fits"], false);
        assert!(missed["trace"]["hours"].is_object() && missed["came"] != missed["expected"], "{missed}");
        draft.take_figures();
        let place = format!("parts/example/{}", encoded(examples[0]["title"].as_str().unwrap()));
        let sound = draft.get(&place).expect(200);
        let mut wrong = sound.clone();
        let hang = wrong["expect"].as_array_mut().unwrap().iter_mut().find(|one| one["line"] == "labour:MOUNT/hang").unwrap();
        hang["hours"] = json!("99");
        draft.done("PUT", &place, &wrong);
        let tried = draft.get("examples").expect(200);
        let missed = tried["examples"][0]["figures"].as_array().unwrap().iter().find(|figure| figure["fits"] == false).unwrap();
        assert_eq!((&missed["expected"], &missed["came"]), (&json!("99"), &json!("1.5")));
        assert!(missed["trace"]["explanation"].is_array(), "the line says how it came about: {missed}");
        draft.done("PUT", &place, &sound);
        assert_eq!(draft.get("examples").expect(200)["fits"], true);
        assert_eq!(draft.get("findings").expect(200)["publishable"], true);
        let published = draft.send("POST", "publish", &draft.tag, &json!({}));
        let told = published.expect(200);
        assert_eq!((&told["version"], &told["examples"]), (&json!(2), &json!(10)));
        draft.get("").problem(404, "not-found");
        let after = priced(office, &today(None));
        assert_eq!(after["rulebook"], json!({"id": RULEBOOK, "version": 2}));
        assert_eq!(after["totals"]["hours"]["value"], impact["after"]["totals"]["hours"]["value"]);
        assert_ne!(after["totals"]["total"], before["totals"]["total"]);
        let old = priced(office, &today(Some(1)));
        assert_eq!((&old["rulebook"]["version"], &old["totals"]), (&json!(1), &before["totals"]));
        // Jobs of earlier days are priced by what was current then.
        assert_eq!(priced(office, &job("pinfold-basement"))["rulebook"]["version"], 1);
        let versions = office.get(VERSIONS).expect(200);
        assert_eq!(versions["current"], 2);
        let states: Vec<_> = versions["versions"].as_array().unwrap().iter().map(|one| one["state"].as_str().unwrap()).collect();
        assert_eq!(states, ["published", "current"]);
        assert_eq!(versions["calendar"][1]["entered_by"], PERSON);
        let between = office.get(&format!("{VERSIONS}/2/comparison?with=1")).expect(200);
        assert!(between["changes"].as_array().unwrap().iter().any(|change| change["assembly"] == "TRAIN"), "{between}");
        let back = office.post(&format!("{VERSIONS}/1/impact?with=2"), &today(None)).expect(200);
        assert_eq!((&back["before"]["totals"], &back["after"]["totals"]), (&after["totals"], &before["totals"]));
    }

    fn a_version_is_exported_as_text_and_as_a_tree_and_comes_back_the_same(office) {
        let version = format!("{VERSIONS}/1");
        let tree = office.get(&version).expect(200);
        let text = office.ask("GET", &version, &[("accept", "application/toml")], b"");
        assert_eq!((text.status, text.header("content-type")), (200, Some("application/toml")));
        assert_eq!(text.text, tree["text"].as_str().unwrap());
        let mut draft = Draft::of(office, &json!({"rulebook": RULEBOOK, "version": 1}));
        draft.done("PUT", "", &tree["model"]);
        assert_eq!(draft.get("").expect(200)["model"], tree["model"], "through JSON");
        let headers = [("content-type", "application/toml"), ("if-match", draft.tag.as_str()), ("acting-person", PERSON)];
        let put = office.ask("PUT", &draft.path, &headers, text.text.as_bytes());
        put.expect(200);
        draft.tag = put.header("etag").unwrap().to_owned();
        let back = office.ask("GET", &draft.path, &[("accept", "application/toml")], b"");
        assert_eq!(back.text, text.text, "through TOML, byte for byte");
        draft.done("POST", "format", &Value::Null);
        let formatted = draft.get("").expect(200);
        assert_eq!(formatted["model"], tree["model"]);
        assert!(formatted["text"].as_str().unwrap().contains("# Every hour, rate and waste figure"), "comments stay");
        assert_eq!(draft.get("comparison").expect(200)["changes"], json!([]));
        let mut other = Draft::of(office, &json!({}));
        other.train_for("9 h");
        let key = other.path.rsplit_once('/').unwrap().1;
        let between = draft.get(&format!("comparison?with_draft={key}")).expect(200);
        assert_eq!(between["from"], json!({"draft": key}));
        assert_eq!(between["changes"][0]["fields"][0]["before"], "9 h");
        draft.get(&format!("comparison?with=1&with_draft={key}")).problem(400, "invalid-parameter");
    }

    fn a_version_that_is_not_current_yet_may_be_retired(office) {
        let mut draft = Draft::of(office, &json!({}));
        draft.train_for("3.5 h");
        draft.take_figures();
        draft.send("POST", "publish", &draft.tag, &json!({"current_from": "9999-12-31"})).expect(200);
        post(office, &format!("{VERSIONS}/2/retire"), &json!({"reason": "a slip"})).expect(200);
        let mut then = today(None);
        then["priced_on"] = json!("2199-12-31");
        assert_eq!(priced(office, &then)["rulebook"]["version"], 1);
        let versions = office.get(VERSIONS).expect(200);
        assert_eq!((&versions["versions"][0]["state"], &versions["versions"][1]["state"]), (&json!("current"), &json!("retired")));
    }

    fn a_version_becomes_current_on_its_day_and_is_retired_when_another_has_taken_its_place(office) {
        let mut draft = Draft::of(office, &json!({}));
        draft.train_for("3.5 h");
        draft.take_figures();
        let yesterday = json!({"current_from": day(-3)});
        draft.send("POST", "publish", &draft.tag, &yesterday).problem(422, "invalid-input");
        let later = json!({"current_from": day(30)});
        draft.send("POST", "publish", &draft.tag, &later).expect(200);
        assert_eq!(priced(office, &today(None))["rulebook"]["version"], 1);
        let mut then = today(None);
        then["priced_on"] = json!(day(30));
        assert_eq!(priced(office, &then)["rulebook"]["version"], 2);
        then["priced_on"] = json!(day(28));
        assert_eq!(priced(office, &then)["rulebook"]["version"], 1);
        let states = |office: &Office| {
            let versions = office.get(VERSIONS).expect(200);
            let states = versions["versions"].as_array().unwrap().iter();
            states.map(|one| one["state"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
        };
        assert_eq!(states(office), ["current", "upcoming"]);
        let current = office.get("/v1/rulebooks/hollowmoor-standard");
        let headers = [("content-type", "application/toml"), ("if-match", current.header("etag").unwrap()), ("acting-person", PERSON)];
        let text = current.expect(200)["text"].as_str().unwrap().to_owned();
        let refused = office.ask("PUT", "/v1/rulebooks/hollowmoor-standard", &headers, text.as_bytes());
        refused.problem(409, "conflict");
        let reason = json!({"reason": "superseded"});
        post(office, &format!("{VERSIONS}/1/retire"), &reason).problem(409, "conflict");
        let now = json!({"version": 2});
        post(office, "/v1/rulebooks/hollowmoor-standard/calendar", &now).expect(201);
        assert_eq!(states(office), ["published", "current"]);
        assert_eq!(priced(office, &today(None))["rulebook"]["version"], 2);
        post(office, &format!("{VERSIONS}/1/retire"), &reason).expect(200);
        assert_eq!(states(office), ["retired", "current"]);
        post(office, &format!("{VERSIONS}/1/retire"), &reason).problem(409, "conflict");
        post(office, "/v1/rulebooks/hollowmoor-standard/calendar", &json!({"version": 1})).problem(409, "conflict");
        // It is not offered any more, and stays what it was on earlier days and where it is named.
        assert_eq!(priced(office, &job("pinfold-basement"))["rulebook"]["version"], 1);
        let mut named = job("pinfold-basement");
        named["rulebook_version"] = json!(1);
        assert_eq!(priced(office, &named)["rulebook"]["version"], 1);
        office.get(&format!("{VERSIONS}/1")).expect(200);
    }

    fn a_quote_is_made_by_the_version_of_its_day_and_refreshed_by_the_current_one(office) {
        let (customer, site) = customer_and_site(office);
        let draft = json!({"request": today(None)});
        let quote = post(office, "/v1/quotes", &json!({"customer": customer, "site": site, "draft": draft})).expect(201);
        let path = format!("/v1/quotes/{}/revisions/1", quote["id"].as_str().unwrap());
        let made_from = |office: &Office| office.get(&format!("{path}/estimate")).expect(200)["estimate"]["rulebook"]["version"].clone();
        assert_eq!(made_from(office), 1);
        let mut rules = Draft::of(office, &json!({}));
        rules.train_for("3.5 h");
        rules.take_figures();
        rules.send("POST", "publish", &rules.tag, &json!({"current_from": day(40)})).expect(200);
        let revision = office.get(&path);
        let refreshed = send(office, PERSON, "POST", &format!("{path}/refresh"), &[("if-match", revision.header("etag").unwrap())], &Value::Null);
        refreshed.expect(200);
        assert_eq!(made_from(office), 1, "the newest version is not the current one yet");
        post(office, "/v1/rulebooks/hollowmoor-standard/calendar", &json!({"version": 2})).expect(201);
        let tag = refreshed.header("etag").unwrap();
        let refreshed = send(office, PERSON, "POST", &format!("{path}/refresh"), &[("if-match", tag)], &Value::Null);
        refreshed.expect(200);
        assert_eq!(made_from(office), 2);
        let pinned = json!({"request": today(Some(1))});
        send(office, PERSON, "PUT", &path, &[("if-match", refreshed.header("etag").unwrap())], &pinned).expect(200);
        assert_eq!(made_from(office), 1, "a version that the request names is taken");
        let unknown = json!({"request": today(Some(9))});
        let problem = post(office, "/v1/quotes", &json!({"customer": customer, "site": site, "draft": unknown})).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/draft/request/rulebook_version", "{problem}");
    }

    fn a_draft_that_others_overtook_is_told_so(office) {
        let mut first = Draft::of(office, &json!({}));
        let mut second = Draft::of(office, &json!({}));
        for draft in [&mut first, &mut second] {
            draft.take_figures();
        }
        let again = [("if-match", first.tag.as_str()), ("idempotency-key", "publish-once")];
        let path = format!("{}/publish", first.path);
        let published = send(office, PERSON, "POST", &path, &again, &json!({})).expect(200);
        assert_eq!(send(office, PERSON, "POST", &path, &again, &json!({})).expect(200), published, "sent again");
        second.send("POST", "publish", &second.tag, &json!({})).problem(409, "conflict");
        second.send("POST", "publish", &second.tag, &json!({"instead_of": 1})).problem(409, "conflict");
        let told = second.send("POST", "publish", &second.tag, &json!({"instead_of": 2})).expect(200);
        assert_eq!(told["version"], 3);
        let third = Draft::of(office, &json!({}));
        third.send("PUT", TRAIN, "\"7\"", &json!({})).problem(412, "precondition-failed");
        let line = third.get(TRAIN).expect(200);
        let path = format!("{}/{TRAIN}", third.path);
        send(office, PERSON, "PUT", &path, &[], &line).problem(428, "precondition-required");
        office.ask_by(Some(office.key()), "DELETE", &third.path, &[("if-match", &third.tag)], b"").problem(400, "acting-person-required");
        let key = [("idempotency-key", "draft-once")];
        let made = send(office, PERSON, "POST", DRAFTS, &key, &json!({})).expect(201);
        assert_eq!(send(office, PERSON, "POST", DRAFTS, &key, &json!({})).expect(201), made);
        let page = office.get(&format!("{DRAFTS}?limit=1&rulebook={RULEBOOK}")).expect(200);
        let next = page["next"].as_str().unwrap();
        let rest = office.get(&format!("{DRAFTS}?after={next}")).expect(200);
        assert_eq!(rest["data"].as_array().unwrap().len(), 1);
        third.send("DELETE", "", "\"7\"", &Value::Null).problem(412, "precondition-failed");
        assert_eq!(third.send("DELETE", "", &third.tag, &Value::Null).status, 204);
        third.get("").problem(404, "not-found");
    }

    fn five_hundred_estimates_during_a_publication_are_whole_each(office) {
        let (old, new) = (priced(office, &today(None)), {
            let mut draft = Draft::of(office, &json!({}));
            draft.train_for("3.5 h");
            draft.take_figures();
            let impact = office.post(&format!("{}/impact", draft.path), &today(None)).expect(200);
            (impact, draft)
        });
        let (impact, draft) = new;
        let totals = [old["totals"].clone(), impact["after"]["totals"].clone()];
        assert_ne!(totals[0], totals[1]);
        let other = office.another();
        let answered = AtomicUsize::new(0);
        let versions: Vec<u64> = thread::scope(|scope| {
            let ask = |number: usize| {
                let door = if number.is_multiple_of(2) { office } else { &other };
                let (answered, totals) = (&answered, &totals);
                scope.spawn(move || {
                    let estimate = estimate_at(door);
                    answered.fetch_add(1, Ordering::Relaxed);
                    let version = estimate["rulebook"]["version"].as_u64().unwrap();
                    let whole = &totals[usize::try_from(version).unwrap() - 1];
                    assert_eq!(&estimate["totals"], whole, "rules of version {version}");
                    version
                })
            };
            let mut asked: Vec<_> = (0..250).map(ask).collect();
            while answered.load(Ordering::Relaxed) < 20 && !asked.iter().all(|one| one.is_finished()) {
                thread::sleep(std::time::Duration::from_millis(5));
            }
            draft.send("POST", "publish", &draft.tag, &json!({})).expect(200);
            asked.extend((250..500).map(ask));
            asked.into_iter().map(|one| one.join().unwrap()).collect()
        });
        assert_eq!(versions.len(), 500);
        assert!(versions.contains(&1) && versions.contains(&2), "both versions were used");
        assert_eq!(priced(&other, &today(None))["rulebook"]["version"], 2);
    }
}

/// An estimate of today's job; asked again while the service says that it is busy.
fn estimate_at(door: &Office) -> Value {
    let body = today(None).to_string();
    let bearer = format!("Bearer {}", door.key());
    let headers = [
        ("content-type", "application/json"),
        ("authorization", bearer.as_str()),
    ];
    loop {
        let answer = try_ask(door.address(), "POST", "/v1/estimates", &headers, body.as_bytes()).unwrap();
        // On a machine that is busy elsewhere some are told to ask again, and some connections time out.
        if ![408, 503].contains(&answer.status) {
            return answer.expect(200);
        }
        thread::sleep(std::time::Duration::from_millis(200));
    }
}

fn office() -> Office {
    Office::open(Engine::Sqlite).unwrap()
}

#[test]
fn what_is_not_there_is_told_with_what_there_is() {
    let office = office();
    let problem = office.get(&format!("{VERSIONS}/7")).problem(404, "not-found");
    assert!(
        problem["detail"].as_str().unwrap().contains("its versions: 1"),
        "{problem}"
    );
    office
        .get("/v1/rulebooks/another/versions")
        .problem(404, "not-found");
    office
        .get(&format!("{VERSIONS}/first"))
        .problem(400, "invalid-parameter");
    let problem = office
        .post("/v1/estimates", &today(Some(7)))
        .problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["pointer"], "/rulebook_version");
    assert_eq!(problem["errors"][0]["allowed"], "1");
    let mut odd = today(None);
    odd["rulebook_version"] = json!("first");
    let problem = office.post("/v1/estimates", &odd).problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["pointer"], "/rulebook_version");
    let problem = post(&office, DRAFTS, &json!({"rulebook": "another"})).problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["pointer"], "/rulebook");
    let problem = post(&office, DRAFTS, &json!({"version": 7})).problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["pointer"], "/version");
    let problem = post(&office, DRAFTS, &json!({"version": "1", "ruls": 5})).problem(422, "invalid-input");
    assert_eq!(problem["errors"].as_array().unwrap().len(), 2, "{problem}");
    let draft = Draft::of(&office, &json!({}));
    draft.get("parts/line/TRAIN%2F9").problem(404, "not-found");
    draft.get("parts/song/TRAIN").problem(404, "not-found");
    draft
        .send("DELETE", "parts/assembly/NOBODY", &draft.tag, &Value::Null)
        .problem(404, "not-found");
    draft
        .send("POST", "publish", &draft.tag, &json!({"from": day(1)}))
        .problem(422, "invalid-input");
    post(&office, &format!("{VERSIONS}/1/retire"), &json!({"reason": ""})).problem(422, "invalid-input");
    post(&office, &format!("{VERSIONS}/7/retire"), &json!({"reason": "-"})).problem(404, "not-found");
    let calendar = "/v1/rulebooks/hollowmoor-standard/calendar";
    post(&office, calendar, &json!({"version": 7})).problem(422, "invalid-input");
    post(&office, calendar, &json!({"version": 1, "current_from": day(-5)})).problem(422, "invalid-input");
    assert_eq!(
        office.get(&format!("{VERSIONS}/1/examples")).expect(200)["fits"],
        true
    );
}

#[test]
fn parts_are_put_and_taken_out_and_faults_have_their_pointers() {
    let office = office();
    let mut draft = Draft::of(&office, &json!({}));
    let text = |draft: &Draft<'_>| draft.get("").expect(200)["text"].as_str().unwrap().to_owned();
    let before = text(&draft);
    let check = json!({"code": "very-long-run", "level": "caution", "when": "line_set.length > 120 ft", "message": "A long run."});
    draft.done("PUT", "parts/check/very-long-run", &check);
    assert_eq!(draft.get("parts/check/very-long-run").expect(200), check);
    let added = text(&draft);
    assert_eq!(
        added.len(),
        before.len()
            + added
                .lines()
                .filter(|line| !before.contains(line))
                .map(|line| line.len() + 1)
                .sum::<usize>()
            + "level = \"caution\"\n[[check]]\n\n".len()
    );
    draft.done("DELETE", "parts/check/very-long-run", &Value::Null);
    assert_eq!(text(&draft), before, "nothing else has moved");
    let answer = encoded("/drain/legs");
    let parts = draft.get("parts").expect(200);
    let names = parts["data"].as_array().unwrap();
    let unknown = names.iter().find(|part| part["kind"] == "unknown").unwrap();
    draft
        .get(&format!(
            "parts/unknown/{}",
            encoded(unknown["name"].as_str().unwrap())
        ))
        .expect(200);
    draft
        .send(
            "PUT",
            &format!("parts/unknown/{answer}"),
            &draft.tag,
            &json!({"treat": "guess"}),
        )
        .problem(422, "invalid-input");
    let faulty = json!({"kind": "labour", "task": "train", "title": 5, "class": "lead_mechanic"});
    let problem = draft
        .send("PUT", TRAIN, &draft.tag, &faulty)
        .problem(422, "invalid-input");
    let pointers: Vec<&str> = problem["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|error| error["pointer"].as_str().unwrap())
        .collect();
    assert_eq!(pointers, ["/hours", "/title"], "{problem}");
    let mut tree = draft.get("").expect(200)["model"].clone();
    tree["assemblies"][0]["sektion"] = json!("x");
    let problem = draft
        .send("PUT", "", &draft.tag, &tree)
        .problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["pointer"], "/assemblies/0/sektion");
    tree["assemblies"][0].as_object_mut().unwrap().remove("sektion");
    tree["id"] = json!("another");
    draft
        .send("PUT", "", &draft.tag, &tree)
        .problem(422, "invalid-input");
    // A draft may hold rules that its check refuses; it is not published.
    let mut line = draft.get(TRAIN).expect(200);
    line["hours"] = json!("3 ft");
    draft.done("PUT", TRAIN, &line);
    let check = draft.get("findings").expect(200);
    assert_eq!(check["publishable"], false);
    let finding = &check["findings"][0];
    let told = text(&draft);
    let place = told
        .lines()
        .nth(finding["line"].as_u64().unwrap() as usize - 1)
        .unwrap();
    assert!(place.contains("3 ft"), "{finding}");
    draft
        .send("POST", "publish", &draft.tag, &json!({}))
        .problem(422, "rulebook-findings");
    draft.get("examples").problem(422, "rulebook-findings");
}
