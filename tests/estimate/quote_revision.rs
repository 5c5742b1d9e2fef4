//! Frozen revisions, acceptances and change orders.

use estimate::quote::acceptance::{Acceptance, AcceptanceFault, Word};
use estimate::quote::alternates::{AlternateFault, price_alternates};
use estimate::quote::canonical::{Digest, Frozen};
use estimate::quote::change_order::{Contract, ContractFault, PricedChange};
use estimate::quote::draft::{ChangeOrder, Draft};
use estimate::quote::moved::MovedFault;
use estimate::quote::revision::{FORMAT, Revision, RevisionFault};
use serde_json::{Value, json};

use crate::quote_office::{Office, Versions, job, moment};

fn draft(office: &Office) -> Draft {
    office.draft(&json!({
        "request": job("alderwick-closet"),
        "alternates": [
            {"name": "conduit", "title": "Conduit", "change": {"job": {"electrical": {"method": "conduit"}}}},
            {"name": "long-run", "title": "Longer run", "change": {"job": {"electrical": {"panel_length": {"value": "75", "unit": "ft"}}}}},
        ],
        "exclusions": ["Moving the washing machine."],
        "wording": {"closing": "With kind regards"},
    }))
}

fn issued(office: &Office, name: &str) -> (Revision, Frozen) {
    let draft = draft(office);
    let base = office.estimate(&draft.request).unwrap();
    let alternates =
        price_alternates(&draft.request, &base, &draft.alternates, |r| office.estimate(r)).unwrap();
    let mut revision = Revision::new(office.issue(name), &draft, &base, &alternates).unwrap();
    let frozen = revision.freeze().unwrap();
    assert_eq!(
        frozen,
        Frozen::of(&revision).unwrap(),
        "written in parts it has the same bytes"
    );
    (revision, frozen)
}

fn word(chosen: &[&str]) -> Word {
    Word {
        accepted_by: "Odalie Brackwater".to_owned(),
        reference: Some("PO-118".to_owned()),
        chosen: chosen.iter().map(|name| (*name).to_owned()).collect(),
        at: moment(),
        recorded_by: "Ines Calloway".to_owned(),
    }
}

#[test]
fn a_revision_is_read_back_as_it_was_issued() {
    let office = Office::usual();
    let (revision, frozen) = issued(office, "2031-00042-R1");
    let mut read = Revision::read(frozen.bytes(), frozen.digest()).unwrap();
    assert_eq!(read, revision);
    assert_eq!(
        read.freeze().unwrap(),
        frozen,
        "the same content makes the same bytes"
    );
    assert_eq!((read.to_draft(), read.to_change_order()), (draft(office), None));
    assert_eq!(
        read.estimated().unwrap(),
        office.estimate(&job("alderwick-closet")).unwrap()
    );
    assert_eq!(
        issued(office, "2031-00042-R1").1,
        frozen,
        "and so does issuing it again"
    );
    let text = String::from_utf8(frozen.into_bytes()).unwrap();
    assert!(text.starts_with("{\"alternates\":[{\"alternate\":{\"change\""));
    assert!(
        text.contains("\"name\":\"2031-00042-R1\"")
            && text.contains("\"issued_at\":\"2031-03-04T20:00:00Z\"")
    );
}

#[test]
fn a_changed_byte_a_newer_format_and_something_else_are_told_apart() {
    let office = Office::usual();
    let (_, frozen) = issued(office, "2031-00042-R1");
    let mut bytes = frozen.bytes().to_vec();
    let place = bytes.len() / 2;
    bytes[place] ^= 1;
    match Revision::read(&bytes, frozen.digest()) {
        Err(RevisionFault::Tampered { kept, found }) => {
            assert!(kept == frozen.digest() && found == Digest::of(&bytes))
        }
        other => panic!("{other:?}"),
    }
    let read = |tree: Value| {
        let frozen = Frozen::of(&tree).unwrap();
        Revision::read(frozen.bytes(), frozen.digest())
    };
    assert_eq!(
        read(json!({"format": FORMAT + 1})),
        Err(RevisionFault::NewerFormat(FORMAT + 1))
    );
    assert!(matches!(
        read(json!({"format": FORMAT})),
        Err(RevisionFault::Unreadable(_))
    ));
    assert!(matches!(read(json!([])), Err(RevisionFault::Unreadable(_))));
    let torn = &frozen.bytes()[..100];
    assert!(matches!(
        Revision::read(torn, Digest::of(torn)),
        Err(RevisionFault::Unreadable(_))
    ));
}

#[test]
fn verifying_finds_what_is_computed_otherwise() {
    let office = Office::usual();
    let (mut revision, _) = issued(office, "2031-00042-R1");
    assert_eq!(revision.verify(|request| office.estimate(request)), Ok(vec![]));
    revision.estimate["lines"][3]["description"] = json!("Cover");
    revision.alternates[1].estimate["totals"]["margin"] = json!("0.5");
    let found = revision.verify(|request| office.estimate(request)).unwrap();
    let places: Vec<_> = found.iter().map(|place| place.pointer.as_str()).collect();
    assert_eq!(
        places,
        [
            "/estimate/lines/3/description",
            "/alternates/1/estimate/totals/margin"
        ]
    );
    assert_eq!(revision.verify(|_| Err("gone")), Err("gone"));
}

#[test]
fn a_stop_and_wrong_sources_refuse_the_issue() {
    let office = Office::usual();
    let stopped = office.draft(&json!({"request": job("wickerlamp-first-scheme")}));
    let base = office.estimate(&stopped.request).unwrap();
    assert!(!base.figures().may_be_issued);
    match Revision::new(office.issue("2031-00042-R1"), &stopped, &base, &[]) {
        Err(RevisionFault::Stops(stops)) => assert!(stops.iter().any(|stop| !stop.is_empty())),
        other => panic!("{other:?}"),
    }
    let draft = draft(office);
    let base = office.estimate(&draft.request).unwrap();
    let mut issue = office.issue("2031-00042-R1");
    issue.made_from.rulebook.version = 2;
    match Revision::new(issue, &draft, &base, &[]) {
        Err(RevisionFault::MadeFrom {
            part,
            estimate,
            record,
        }) => {
            assert_eq!(part, "rulebook");
            assert!(estimate.ends_with("version 1") && record.ends_with("version 2"));
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn acceptance_records_the_combined_job() {
    let office = Office::usual();
    let (revision, frozen) = issued(office, "2031-00042-R1");
    let estimate = |request: &Value| office.estimate(request);
    let (record, choice) = Acceptance::new(
        &revision,
        frozen.digest(),
        word(&["long-run", "conduit"]),
        estimate,
    )
    .unwrap();
    assert_eq!(record.chosen, ["conduit", "long-run"]);
    assert_eq!(record.revision, frozen.digest());
    assert_eq!(record.estimated().unwrap(), choice.estimated);
    assert!(!choice.beyond.is_nothing());
    let kept = record.freeze().unwrap();
    assert_eq!(Acceptance::read(kept.bytes(), kept.digest()).unwrap(), record);
    let unknown = Acceptance::new(&revision, frozen.digest(), word(&["attic"]), estimate).unwrap_err();
    assert_eq!(
        unknown,
        AcceptanceFault::Choice(AlternateFault::Unknown("attic".to_owned()))
    );
    // Accepted under other rules than were offered: refused.
    let mut other = revision.clone();
    other.made_from.policy.version = 9;
    assert!(matches!(
        Acceptance::new(&other, frozen.digest(), word(&[]), estimate),
        Err(AcceptanceFault::Revision(RevisionFault::MadeFrom {
            part: "policy",
            ..
        }))
    ));
}

/// A contract, and the office that it was made by.
fn contract(office: &Office) -> Contract {
    let (revision, frozen) = issued(office, "2031-00042-R1");
    let (record, _) = Acceptance::new(&revision, frozen.digest(), word(&["conduit"]), |r| {
        office.estimate(r)
    })
    .unwrap();
    Contract::new(&record, record.freeze().unwrap().digest()).unwrap()
}

fn order(office: &Office, contract: &Contract, change: Value) -> (ChangeOrder, PricedChange) {
    let tree = json!({"title": "As agreed on site", "change": change});
    let workbook = office.workbook();
    let order = ChangeOrder::read(&tree, contract.request(), workbook.reader(None)).unwrap();
    let priced = contract
        .price(&order.change, |request| {
            office.estimate(request).map_err(|_| MovedFault::Hours)
        })
        .unwrap();
    (order, priced)
}

fn accept(office: &Office, revision: &Revision) -> (Acceptance, Digest) {
    let digest = Frozen::of(revision).unwrap().digest();
    let (record, _) = Acceptance::new(revision, digest, word(&[]), |r| office.estimate(r)).unwrap();
    let kept = record.freeze().unwrap().digest();
    (record, kept)
}

#[test]
fn change_orders_add_and_omit_and_the_contract_adds_up() {
    let office = Office::usual();
    let contract = contract(office);
    let original = contract.total();
    let changes = [
        (
            "2031-00042-C1-R1",
            json!({"job": {"electrical": {"panel_length": {"value": "75", "unit": "ft"}}}}),
            1,
        ),
        (
            "2031-00042-C2-R1",
            json!({"job": {"controller": {"probe": {"wanted": false, "route": null}}}}),
            -1,
        ),
        (
            "2031-00042-C3-R1",
            json!({"manual_lines": [{
                "kind": "fee", "description": "Key of the gate", "quantity": {"value": "1", "unit": "each"},
                "unit_cost": "12", "cost_code": "FEE", "tax_category": "pass_through", "reason": "lost",
            }]}),
            1,
        ),
    ];
    let mut standing = contract;
    for (name, change, sign) in changes {
        let (order, priced) = order(office, &standing, change);
        assert_eq!(priced.moved.total.from, standing.total());
        assert_eq!(priced.moved.total.moved.minor().signum(), sign, "{name}");
        let mut revision = order.revision(office.issue(name), &standing, &priced).unwrap();
        let frozen = revision.freeze().unwrap();
        assert_eq!(Revision::read(frozen.bytes(), frozen.digest()).unwrap(), revision);
        let before = revision.change.as_ref().unwrap();
        assert_eq!(
            (before.total_before, before.net_before),
            (priced.moved.total.from, priced.moved.net.from)
        );
        assert_eq!(revision.to_change_order(), Some(order));
        let (record, kept) = accept(office, &revision);
        standing = standing.with(&revision, &record, kept).unwrap();
        assert_eq!(standing.total(), priced.moved.total.to);
    }
    assert_eq!(standing.original(), original);
    let sum = standing
        .changes()
        .iter()
        .fold(original, |sum, change| sum.plus(change.moved).unwrap());
    assert_eq!(sum, standing.total());
    assert_eq!(
        standing.request()["job"]["electrical"]["method"],
        "conduit",
        "the accepted alternate stays"
    );
}

#[test]
fn a_change_order_on_another_state_of_the_contract_is_refused() {
    let office = Office::usual();
    let contract = contract(office);
    let offer = |name: &str, feet: &str| {
        let change = json!({"job": {"electrical": {"panel_length": {"value": feet, "unit": "ft"}}}});
        let (order, priced) = order(office, &contract, change);
        order.revision(office.issue(name), &contract, &priced).unwrap()
    };
    let (first, second) = (offer("2031-00042-C1-R1", "60"), offer("2031-00042-C2-R1", "70"));
    let (record, kept) = accept(office, &first);
    let standing = contract.clone().with(&first, &record, kept).unwrap();
    let (record, kept) = accept(office, &second);
    assert_eq!(
        standing.with(&second, &record, kept),
        Err(ContractFault::Overtaken("2031-00042-C2-R1".to_owned()))
    );
    assert!(matches!(
        Contract::new(&record, kept),
        Err(ContractFault::Order(_))
    ));
    let (revision, _) = issued(office, "2031-00042-R2");
    let (record, kept) = accept(office, &revision);
    assert!(matches!(
        contract.with(&revision, &record, kept),
        Err(ContractFault::Order(_))
    ));
}

#[test]
fn a_change_order_has_the_name_of_one_and_an_offer_has_not() {
    let office = Office::usual();
    let contract = contract(office);
    let (order, priced) = order(office, &contract, json!({"job": {"site": {"occupied": true}}}));
    assert!(matches!(
        order.revision(office.issue("2031-00042-R2"), &contract, &priced),
        Err(RevisionFault::Name(..))
    ));
    let draft = draft(office);
    let base = office.estimate(&draft.request).unwrap();
    assert!(matches!(
        Revision::new(office.issue("2031-00042-C1-R1"), &draft, &base, &[]),
        Err(RevisionFault::Name(..))
    ));
}

#[test]
fn a_change_priced_under_other_rules_than_the_contract_is_refused() {
    let office = Office::usual();
    let contract = contract(office);
    let later = Office::of(Versions {
        rulebook: (2, crate::demo::text("rulebook.toml")),
        ..Versions::default()
    });
    let (order, priced) = order(&later, &contract, json!({"job": {"site": {"occupied": true}}}));
    assert!(matches!(
        order.revision(later.issue("2031-00042-C1-R1"), &contract, &priced),
        Err(RevisionFault::MadeFrom { part: "rulebook", .. })
    ));
}
