//! UBL documents: their figures by the rules of EN 16931, their codes, their escapes. The documents are written to a
//! folder as well, where the official schemas are held against them.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use estimate::handoff::accepted::Accepted;
use estimate::handoff::codes::{TaxScheme, UNIT_CODES, unit_code};
use estimate::handoff::fault::HandoffFault;
use estimate::handoff::instalments::instalments;
use estimate::handoff::ubl_invoice::invoice;
use estimate::handoff::ubl_quotation::{Seller, quotation};
use estimate::quantity::Currency;
use estimate::quantity::unit::Unit;
use estimate::quote::country::is_country;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::en16931_rules::hold;
use crate::handoff_case::{ShortLine, accepted, changed, day, made_up, moved, seller, taxed_job};
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
        let xml = invoice(accepted, &all, one, &seller, Some(day("2031-06-30"))).unwrap();
        let kind = if one.is_credit() { "credit-note" } else { "invoice" };
        keep(&format!("{name}-{kind}-{}", one.number), &xml);
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
    let (_, order) = changed(&taxed_job(), omitted());
    assert!(order.amounts.total.minor() < 0);
    keep_all("omission", &order);
}

fn omitted() -> Value {
    json!({"job": {"controller": {"probe": {"wanted": false, "route": null}}}})
}

/// The text of the first element of this name.
fn first(xml: &str, name: &str) -> String {
    let document = roxmltree::Document::parse(xml).unwrap();
    let found = document.descendants().find(|node| node.tag_name().name() == name);
    found
        .unwrap_or_else(|| panic!("no {name}: {xml}"))
        .text()
        .unwrap()
        .to_owned()
}

fn text(xml: Vec<u8>) -> String {
    String::from_utf8(xml).unwrap()
}

#[test]
fn a_quotation_of_a_change_order_is_what_it_moves() {
    let (offer, order) = changed(&taxed_job(), omitted());
    let xml = text(quotation(&order, &seller()).unwrap());
    assert_eq!(first(&xml, "PayableAmount"), order.amounts.total.text());
    assert_eq!(first(&xml, "TaxExclusiveAmount"), order.amounts.net.text());
    let after = order.change.as_ref().unwrap().after.total;
    let note = format!(
        "with it the contract 2031-00042 comes to {after}, and came to {} before",
        offer.amounts.total
    );
    assert!(xml.contains(&note), "{xml}");
    // The probe goes: what is taken away has a quantity below nothing, at a price above it.
    let probe = offer
        .sheet
        .lines
        .iter()
        .find(|line| !order.sheet.lines.iter().any(|other| other.key == line.key));
    let probe = probe.unwrap();
    let gone = format!("<cbc:Name>{}</cbc:Name>", probe.description);
    let line = xml
        .split("<cac:QuotationLine>")
        .find(|line| line.contains(&gone))
        .unwrap();
    assert!(line.contains("<cbc:Quantity unitCode=\"EA\">-"), "{line}");
    let price = line.split("<cbc:PriceAmount currencyID=\"USD\">").nth(1).unwrap();
    assert!(!price.starts_with('-'), "{line}");
    // What stays as it was is not on it.
    assert!(xml.matches("<cac:QuotationLine>").count() < order.sheet.lines.len());
    assert!(xml.contains("<cac:Contract>"));
}

#[test]
fn a_line_that_is_taxed_otherwise_goes_and_comes_anew() {
    let categories = [("S", "6.25"), ("E", "0")];
    let order = moved(
        &[(10_000, 0, 0), (5_000, 500, 0)],
        &[(10_000, 0, 1), (5_000, 500, 0)],
        &categories,
    );
    let xml = quotation(&order, &seller()).unwrap();
    hold(&xml);
    let xml = text(xml);
    assert_eq!(xml.matches("<cac:QuotationLine>").count(), 2, "{xml}");
    assert_eq!(first(&xml, "PayableAmount"), order.amounts.total.text());
    assert_eq!(order.amounts.total.text(), "-6.25");
}

#[test]
fn a_change_order_that_moves_no_money_has_a_document_too() {
    let lines = [(10_000, 0, 0), (5_000, 0, 1)];
    let order = moved(&lines, &lines, &[("S", "6.25"), ("O", "0")]);
    let xml = quotation(&order, &seller()).unwrap();
    hold(&xml);
    assert_eq!(first(&text(xml), "PayableAmount"), "0.00");
    assert_eq!(instalments(&order).unwrap().list, []);
}

#[test]
fn what_goes_back_to_the_customer_is_a_credit_note() {
    let (_, order) = changed(&taxed_job(), omitted());
    let all = instalments(&order).unwrap();
    for one in &all.list {
        assert!(one.is_credit() && one.code() == "381");
        let xml = text(invoice(&order, &all, one, &seller(), None).unwrap());
        assert!(
            xml.contains("<CreditNote ") && xml.contains("<cbc:CreditNoteTypeCode>381<"),
            "{xml}"
        );
        let back = one.amount.text();
        assert_eq!(first(&xml, "PayableAmount"), back.strip_prefix('-').unwrap());
        assert_eq!(first(&xml, "IssueDate"), order.accepted_on.to_string());
        assert!(xml.contains("Goes against instalment"), "{xml}");
    }
}

#[test]
fn a_document_has_the_day_of_its_schedule_or_the_one_that_is_told() {
    let mut offer = accepted(&taxed_job());
    offer.sheet.payment_schedule[0].due_after_days = Some(0);
    offer.sheet.payment_schedule[1].due_after_days = Some(30);
    offer.sheet.payment_schedule[2].due_after_days = None;
    let all = instalments(&offer).unwrap();
    let days = |place: usize, told: Option<&str>| {
        let xml = text(invoice(&offer, &all, &all.list[place], &seller(), told.map(day))?);
        let due = xml.contains("<cbc:DueDate>").then(|| first(&xml, "DueDate"));
        Ok::<_, HandoffFault>((first(&xml, "IssueDate"), due.unwrap_or_default()))
    };
    let both = |issued: &str, due: &str| Ok((issued.to_owned(), due.to_owned()));
    assert_eq!(days(0, None), both("2031-03-04", "2031-03-04"));
    assert_eq!(days(1, None), both("2031-04-03", "2031-04-03"));
    assert_eq!(days(1, Some("2031-03-20")), both("2031-03-20", "2031-04-03"));
    assert_eq!(days(1, Some("2031-05-20")), both("2031-05-20", "2031-05-20"));
    assert_eq!(
        days(2, None),
        Err(HandoffFault::NoDay("After commissioning".to_owned()))
    );
    assert_eq!(days(2, Some("2031-05-20")), both("2031-05-20", ""));
    let early = HandoffFault::EarlyDay {
        day: day("2031-03-03"),
        accepted_on: day("2031-03-04"),
    };
    assert_eq!(days(2, Some("2031-03-03")), Err(early));
}

#[test]
fn an_invoice_says_of_the_seller_what_en_16931_asks_for() {
    let (taxed, untaxed) = (accepted(&taxed_job()), accepted(&job("alderwick-closet")));
    let bare = Seller {
        country: None,
        tax_registration: None,
        register_number: None,
        ..seller()
    };
    let made = |offer: &Accepted, by: &Seller| {
        let all = instalments(offer).unwrap();
        invoice(offer, &all, &all.list[0], by, Some(day("2031-06-30"))).map(drop)
    };
    let lacks = |names: &[&'static str]| Err(HandoffFault::SellerLacks(names.to_vec()));
    assert_eq!(made(&taxed, &bare), lacks(&["country", "tax_registration"]));
    assert_eq!(made(&untaxed, &bare), lacks(&["country", "register_number"]));
    let registered = Seller {
        country: Some("US".to_owned()),
        register_number: Some("7".to_owned()),
        ..bare
    };
    assert_eq!(made(&untaxed, &registered), Ok(()));
    assert_eq!(made(&taxed, &registered), lacks(&["tax_registration"]));
    // EN 16931 knows value added tax alone: with another tax a document does not say that it is of it.
    let elsewhere = Seller {
        tax_scheme: TaxScheme::StateSales,
        ..registered.clone()
    };
    let all = instalments(&taxed).unwrap();
    let xml = text(invoice(&taxed, &all, &all.list[0], &elsewhere, Some(day("2031-06-30"))).unwrap());
    assert!(!xml.contains("CustomizationID"), "{xml}");
    // A Quotation is no invoice: it goes out with what is known.
    assert!(quotation(&taxed, &registered).is_ok());
}

/// ISO 3166-1 and ISO 4217, as the files' heads say where they were found.
#[test]
fn countries_and_currencies_are_those_of_the_lists() {
    let listed: BTreeSet<String> = rows(include_str!("../reference/iso_3166.csv"))
        .iter()
        .map(|row| row.text("code").to_owned())
        .collect();
    assert_eq!(listed.len(), 249);
    let digits: BTreeMap<String, String> = rows(include_str!("../reference/iso_4217.csv"))
        .iter()
        .map(|row| (row.text("code").to_owned(), row.text("digits").to_owned()))
        .collect();
    let letters = || ('A'..='Z').map(String::from);
    for first in letters() {
        for second in letters() {
            let code = format!("{first}{second}");
            assert_eq!(is_country(&code), listed.contains(&code), "{code}");
            for third in letters() {
                let code = format!("{code}{third}");
                let ours = Currency::parse(&code)
                    .ok()
                    .map(|currency| currency.minor_digits().to_string());
                assert_eq!(ours.as_ref(), digits.get(&code), "{code}");
            }
        }
    }
    for other in ["us", "USA", "", "U", "U ", "ZZ"] {
        assert!(!is_country(other), "{other}");
    }
}

#[test]
fn an_address_has_three_lines_at_most() {
    let mut offer = accepted(&taxed_job());
    offer.customer.address.lines = ["a", "b", "c", "d"].map(str::to_owned).to_vec();
    let xml = text(quotation(&offer, &seller()).unwrap());
    assert!(
        xml.contains("<cbc:Line>c, d</cbc:Line>") && xml.contains("<cbc:StreetName>a</cbc:StreetName>"),
        "{xml}"
    );
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
            match invoice(&offer, &all, one, &seller(), Some(day("2031-06-30"))) {
                Ok(xml) => hold(&xml),
                // An instalment of a cent or two may be all rounding: there is nothing to write a line for.
                Err(fault) => prop_assert_eq!(fault, HandoffFault::Empty),
            }
        }
    }

    #[test]
    fn any_change_order_obeys_en_16931(before in lines(), after in lines()) {
        let order = moved(&before, &after, &CATEGORIES);
        let xml = quotation(&order, &seller()).unwrap();
        hold(&xml);
        prop_assert_eq!(first(&text(xml), "PayableAmount"), order.amounts.total.text());
    }
}
