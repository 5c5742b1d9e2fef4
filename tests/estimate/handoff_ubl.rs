//! UBL documents: their figures by the rules of EN 16931, their codes, their escapes. The documents are written to a
//! folder as well, where the official schemas are held against them.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use estimate::handoff::accepted::Accepted;
use estimate::handoff::codes::{TaxScheme, UNIT_CODES, unit_code};
use estimate::handoff::fault::HandoffFault;
use estimate::handoff::instalments::instalments;
use estimate::handoff::ubl_invoice::invoice;
use estimate::handoff::ubl_quotation::quotation;
use estimate::quantity::unit::Unit;
use proptest::prelude::*;
use serde_json::json;

use crate::en16931_rules::hold;
use crate::handoff_case::{ShortLine, accepted, changed, made_up, seller, taxed_job};
use crate::quote_office::job;
use crate::reference_rows::rows;

/// Writes a document for the schemas, once its figures hold.
fn keep(name: &str, xml: &[u8]) {
    hold(xml);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("ubl");
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join(format!("{name}.xml")), xml).unwrap();
}

fn keep_all(name: &str, accepted: &Accepted) {
    let seller = seller();
    keep(
        &format!("{name}-quotation"),
        &quotation(accepted, &seller).unwrap(),
    );
    let all = instalments(accepted).unwrap();
    assert!(!all.list.is_empty());
    for one in &all.list {
        let xml = invoice(accepted, &all, one, &seller).unwrap();
        keep(&format!("{name}-invoice-{}", one.number), &xml);
    }
}

#[test]
fn documents_of_jobs_obey_en_16931() {
    keep_all("contractor-pays", &accepted(&job("alderwick-closet")));
    keep_all("taxed", &accepted(&taxed_job()));
    keep_all("exempt", &accepted(&job("saltgate-replacement")));
    let longer = json!({"job": {"electrical": {"panel_length": {"value": "75", "unit": "ft"}}}});
    let (_, order) = changed(&taxed_job(), longer);
    assert!(order.amounts.total.minor() > 0);
    keep_all("change-order", &order);
    let omitted = json!({"job": {"controller": {"probe": {"wanted": false, "route": null}}}});
    let (_, order) = changed(&taxed_job(), omitted);
    assert!(order.amounts.total.minor() < 0);
    keep_all("omission", &order);
}

#[test]
fn a_quotation_is_the_customers_side_and_says_why_there_is_no_tax() {
    let offer = accepted(&job("alderwick-closet"));
    let mut dearer = offer.clone();
    for line in &mut dearer.sheet.lines {
        line.cost = line.cost.plus(line.price).unwrap();
    }
    dearer.sheet.totals.overhead = dearer.sheet.totals.cost;
    let xml = quotation(&offer, &seller()).unwrap();
    assert_eq!(quotation(&dearer, &seller()).unwrap(), xml, "no cost is in it");
    let xml = String::from_utf8(xml).unwrap();
    assert!(xml.contains("<cbc:TaxExemptionReason>Outside the scope of the tax on this sale: "));
    assert!(!xml.contains("PartyTaxScheme"), "BR-O-02");
    let taxed = accepted(&taxed_job());
    let xml = String::from_utf8(quotation(&taxed, &seller()).unwrap()).unwrap();
    assert!(xml.contains("<cbc:CompanyID>HM 42-0001</cbc:CompanyID>"));
    assert!(xml.contains("<cbc:AllowanceChargeReasonCode>95</cbc:AllowanceChargeReasonCode>"));
    // What is outside the scope cannot stand beside what is taxed (BR-O-11): it is exempt there.
    assert!(!xml.contains("<cbc:ID>O</cbc:ID>") && xml.contains("<cbc:ID>E</cbc:ID>"));
    let total = format!(
        "<cbc:PayableAmount currencyID=\"USD\">{}</cbc:PayableAmount>",
        taxed.amounts.total.text()
    );
    assert!(xml.contains(&total));
}

#[test]
fn an_exemption_names_its_certificate() {
    let exempt = accepted(&job("saltgate-replacement"));
    let xml = String::from_utf8(quotation(&exempt, &seller()).unwrap()).unwrap();
    assert!(
        xml.contains("Exemption certificate EX-2025-0417 (demonstration); no tax is charged on: "),
        "{xml}"
    );
}

#[test]
fn signs_that_xml_does_not_have_are_replaced_and_others_escaped() {
    let mut offer = accepted(&taxed_job());
    offer.customer.name = "Brackwater & <Sons> \"of\u{1}\u{ffff} old\"\r\n]]>".to_owned();
    let xml = quotation(&offer, &seller()).unwrap();
    hold(&xml);
    let text = String::from_utf8(xml).unwrap();
    let document = roxmltree::Document::parse(&text).unwrap();
    let names: BTreeSet<_> = document
        .descendants()
        .filter(|node| node.tag_name().name() == "RegistrationName")
        .filter_map(|node| node.text())
        .collect();
    assert!(
        names.contains("Brackwater & <Sons> \"of\u{fffd}\u{fffd} old\"\r\n]]>"),
        "{names:?}"
    );
}

/// Codes of UN/ECE Recommendation 20, as the file's head says where they were found.
#[test]
fn units_have_the_codes_of_recommendation_20() {
    let rows = rows(include_str!("../reference/unit_codes.csv"));
    let told: Vec<_> = rows
        .iter()
        .map(|row| (row.text("unit"), row.text("code")))
        .collect();
    assert_eq!(told, UNIT_CODES);
    for (symbol, code) in UNIT_CODES {
        assert_eq!(unit_code(Unit::parse(symbol).unwrap()), Some(*code));
    }
    assert_eq!(unit_code(Unit::BTU_PER_H), None);
}

/// UN/EDIFACT 5153, directory D.22A: these codes are in it.
#[test]
fn taxes_have_the_codes_of_edifact_5153() {
    for (code, scheme) in [
        ("VAT", TaxScheme::ValueAdded),
        ("GST", TaxScheme::GoodsAndServices),
        ("STT", TaxScheme::StateSales),
        ("LOC", TaxScheme::LocalSales),
        ("OTH", TaxScheme::Other),
    ] {
        assert_eq!(scheme.to_string(), code);
        assert_eq!(serde_json::to_value(scheme).unwrap(), json!(code));
    }
}

#[test]
fn a_currency_of_three_decimals_is_refused_and_one_without_is_not() {
    let offer = |currency: &str| made_up(currency, &[(100_000, 0, 0)], &[("S", "5")], &[1, 1]);
    let fault = quotation(&offer("KWD"), &seller()).unwrap_err();
    assert!(matches!(fault, HandoffFault::TooFine(currency) if currency.code() == "KWD"));
    keep_all("yen", &offer("JPY"));
}

#[test]
fn a_document_without_lines_is_refused() {
    let offer = made_up("USD", &[], &[], &[1]);
    assert_eq!(quotation(&offer, &seller()), Err(HandoffFault::Empty));
}

/// Two categories of one rate become one breakdown; the cent that their taxes were rounded apart is the rounding.
#[test]
fn categories_of_one_rate_are_one_breakdown() {
    let offer = made_up(
        "USD",
        &[(104, 0, 0), (104, 0, 1)],
        &[("S", "6.25"), ("S", "6.25")],
        &[1],
    );
    assert_eq!(offer.amounts.tax.text(), "0.14", "0.065 twice, each rounded up");
    let xml = quotation(&offer, &seller()).unwrap();
    hold(&xml);
    let xml = String::from_utf8(xml).unwrap();
    assert_eq!(xml.matches("<cac:TaxSubtotal>").count(), 1);
    assert!(xml.contains("<cbc:TaxInclusiveAmount currencyID=\"USD\">2.21</cbc:TaxInclusiveAmount>"));
    assert!(xml.contains("<cbc:PayableRoundingAmount currencyID=\"USD\">0.01</cbc:PayableRoundingAmount>"));
    assert!(xml.contains("<cbc:PayableAmount currencyID=\"USD\">2.22</cbc:PayableAmount>"));
}

const CATEGORIES: [(&str, &str); 6] = [
    ("S", "6.25"),
    ("S", "21"),
    ("Z", "0"),
    ("E", "0"),
    ("O", "0"),
    ("S", "6.25"),
];

fn lines() -> impl Strategy<Value = Vec<ShortLine>> {
    let line = (-40_000_i64..400_000, 0_i64..90, 0_usize..6)
        .prop_map(|(price, percent, place)| (price, price * percent / 100, place));
    prop::collection::vec(line, 1..9)
}

proptest! {
    #[test]
    fn any_document_obeys_en_16931(lines in lines(), shares in prop::collection::vec(1_i64..60, 1..5)) {
        let offer = made_up("USD", &lines, &CATEGORIES, &shares);
        hold(&quotation(&offer, &seller()).unwrap());
        let all = instalments(&offer).unwrap();
        for one in &all.list {
            match invoice(&offer, &all, one, &seller()) {
                Ok(xml) => hold(&xml),
                // An instalment of a cent or two may be all rounding: there is nothing to write a line for.
                Err(fault) => prop_assert_eq!(fault, HandoffFault::Empty),
            }
        }
    }
}
