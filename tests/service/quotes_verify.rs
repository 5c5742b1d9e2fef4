//! Everything issued is computed again: what was tampered with is told, by the command and at every read.

use serde_json::json;
use tallyrule::desk::{Desk, Verified};
use tallyrule::store::{Location, Store};

use crate::harness::{Office, row_counts};
use crate::quotes_desk::{accepted, draft, draft_with_alternates, issued, post, tamper};

fn verify(office: &Office) -> Verified {
    let store = Store::open(office.location().clone(), 1, false).unwrap();
    Desk::new(store).verify().unwrap()
}

#[track_caller]
fn tells(office: &Office, word: &str) {
    let found = verify(office);
    assert!(
        found.faults.iter().any(|fault| fault.contains(word)),
        "{word} is not in {:?}",
        found.faults
    );
}

on_both_engines! {
    fn what_was_not_touched_verifies(office) {
        let path = issued(office, &draft_with_alternates());
        post(office, &format!("{path}/revisions"), &json!({"from": 1})).expect(201);
        post(office, &format!("{path}/issue"), &json!({"revision": 2})).expect(200);
        let word = json!({"revision": 2, "accepted_by": "O", "alternates": ["conduit"]});
        post(office, &format!("{path}/accept"), &word).expect(200);
        // Prices and rules may move on: what was issued is computed from its snapshots.
        let item = office.get("/v1/items?limit=1").expect(200)["data"][0].clone();
        let price = json!({"pack": item["packs"][0]["size"], "valid_from": "2025-04-13", "amount": "777", "source": "offer"});
        office.post(&format!("/v1/items/{}/prices?accept=factor", item["code"].as_str().unwrap()), &price).expect(201);
        let found = verify(office);
        assert_eq!(found, Verified { quotes: 1, revisions: 2, acceptances: 1, audit_entries: 10, faults: Vec::new() });
    }

    fn a_price_that_changes_does_not_keep_the_whole_catalogue_once_more(office) {
        let kept = || -> (i64, i64) {
            let rows = row_counts(office.location());
            (rows["snapshots"], rows["snapshot_parts"])
        };
        issued(office, &draft());
        let (snapshots, parts) = kept();
        assert!(parts >= 4, "the catalogue of the demonstration has {parts} parts");
        for turn in 1..=3 {
            let item = office.get("/v1/items?limit=1").expect(200)["data"][0].clone();
            let day = format!("20{}-04-13", 30 + turn);
            let price = json!({"pack": item["packs"][0]["size"], "valid_from": day, "amount": "777", "source": "offer"});
            office.post(&format!("/v1/items/{}/prices?accept=factor", item["code"].as_str().unwrap()), &price).expect(201);
            issued(office, &draft());
            let (more_snapshots, more_parts) = kept();
            assert_eq!(more_snapshots, snapshots + turn);
            assert!(more_parts <= parts + 2 * turn, "{more_parts} after {parts}");
        }
        let found = verify(office);
        assert_eq!((found.quotes, found.revisions, found.faults), (4, 4, Vec::new()));
    }

    fn a_changed_or_missing_part_of_a_snapshot_is_told(office) {
        issued(office, &draft());
        tamper(office.location(), "snapshot_parts", "UPDATE snapshot_parts SET content = content || ' '");
        tells(office, "a text that is not the one that was kept");
        tamper(office.location(), "snapshot_parts", "UPDATE snapshot_parts SET digest = 'x' || substr(digest, 2)");
        tells(office, "it is not there");
    }

    /// As programs wrote it before long snapshots had parts.
    fn a_snapshot_that_was_kept_whole_is_read_as_ever(office) {
        issued(office, &draft());
        let whole = match office.location() {
            Location::File(_) => "UPDATE snapshots SET content = (WITH RECURSIVE places (place) AS \
                (SELECT 1 UNION ALL SELECT place + 64 FROM places WHERE place + 64 < length(snapshots.parts)) \
                SELECT group_concat(p.content, '' ORDER BY place) FROM places \
                JOIN snapshot_parts p ON p.digest = substr(snapshots.parts, place, 64)), parts = '' WHERE parts <> ''",
            Location::Server(_) => "UPDATE snapshots SET content = (SELECT string_agg(p.content, '' ORDER BY place) \
                FROM generate_series(1, length(snapshots.parts), 64) AS place \
                JOIN snapshot_parts p ON p.digest = substr(snapshots.parts, place, 64)), parts = '' WHERE parts <> ''",
        };
        tamper(office.location(), "snapshots", whole);
        issued(office, &draft());
        let found = verify(office);
        assert_eq!((found.quotes, found.revisions, found.faults), (2, 2, Vec::new()));
    }

    fn a_changed_document_is_told_and_not_read(office) {
        let path = issued(office, &draft());
        tamper(office.location(), "issued_revisions",
            "UPDATE issued_revisions SET document = replace(document, 'Fallowmere', 'Elsewhere')");
        tells(office, "the digest");
        office.get(&format!("{path}/revisions/1")).problem(500, "internal");
        office.get(&format!("{path}/revisions/1/document")).problem(500, "internal");
    }

    fn a_changed_figure_with_a_new_digest_is_told(office) {
        issued(office, &draft());
        let row = by_digest(office);
        let (document, digest) = forged(&row);
        tamper(office.location(), "issued_revisions",
            &format!("UPDATE issued_revisions SET document = '{}', digest = '{digest}'", document.replace('\'', "''")));
        tells(office, "is computed otherwise");
    }

    /// What earlier programs did not tell, or told in other words, is no fault; another figure is.
    fn a_document_of_an_earlier_program_verifies_by_its_figures(office) {
        issued(office, &draft_with_alternates());
        let whole = by_digest(office);
        let put = |document: &str| {
            let digest = digest_of(document);
            tamper(office.location(), "issued_revisions",
                &format!("UPDATE issued_revisions SET document = '{}', digest = '{digest}'", document.replace('\'', "''")));
        };
        let computed = || -> Vec<String> {
            verify(office).faults.into_iter().filter(|fault| fault.contains("computed otherwise")).collect()
        };
        let earlier = earlier(&whole, 1);
        assert_ne!(earlier, whole);
        put(&earlier);
        assert_eq!(computed(), Vec::<String>::new());
        let (forged, _) = forged(&earlier);
        put(&forged);
        assert_eq!(computed().len(), 1, "{:?}", computed());
        // A document of today has no excuse.
        put(&earlier.replacen("\"format\":1", "\"format\":2", 1));
        assert!(computed().len() >= 4, "{:?}", computed());
    }

    fn a_changed_snapshot_is_told(office) {
        issued(office, &draft());
        tamper(office.location(), "snapshots", "UPDATE snapshots SET content = content || ' ' WHERE kind = 'policy'");
        tells(office, "snapshots");
    }

    fn a_changed_state_and_a_gap_are_told(office) {
        accepted(office, &draft());
        tamper(office.location(), "revisions", "UPDATE revisions SET state = 'declined'");
        tells(office, "the moves on record lead to accepted");
        tamper(office.location(), "quote_counters", "UPDATE quote_counters SET counter = counter + 1");
        tells(office, "the counter is 2");
        tells(office, "-00002 is missing");
    }
}

fn by_digest(office: &Office) -> String {
    let list = office.get("/v1/quotes").expect(200);
    let id = list["data"][0]["id"].as_str().unwrap().to_owned();
    office.get(&format!("/v1/quotes/{id}/revisions/1/document")).text
}

/// The document as the program wrote it in an earlier format: without the lists that came later, its job in round
/// hours, its sentences in other words.
fn earlier(document: &str, format: u32) -> String {
    let mut tree: serde_json::Value = serde_json::from_str(document).unwrap();
    tree["format"] = json!(format);
    let strip = |estimate: &mut serde_json::Value| {
        let members = estimate.as_object_mut().unwrap();
        for name in ["not_measured", "usual_answers"] {
            assert!(members.shift_remove(name).is_some(), "no {name}");
        }
        let message = &mut estimate["cautions"][0]["message"];
        *message = json!(format!("{} (as it was)", message.as_str().unwrap()));
    };
    strip(&mut tree["estimate"]);
    for alternate in tree["alternates"].as_array_mut().unwrap() {
        strip(&mut alternate["estimate"]);
    }
    tree.to_string()
}

fn digest_of(document: &str) -> String {
    use sha2::{Digest, Sha256};
    let digest = Sha256::digest(document.as_bytes());
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The document with another total tax, and its digest: what somebody would write who knows the format.
fn forged(document: &str) -> (String, String) {
    let at = document.find("\"unit_cost\":{\"amount\":\"").unwrap() + "\"unit_cost\":{\"amount\":\"".len();
    let end = document[at..].find('"').unwrap() + at;
    let forged = format!("{}1234.5{}", &document[..at], &document[end..]);
    let digest = digest_of(&forged);
    (forged, digest)
}
