//! Rules of EN 16931 on a UBL document, by the names that the standard gives them. Source: the rules as the validation
//! artefacts of the European Commission state them (eInvoicing-EN16931, EN16931-UBL-model.sch, commit 03751831fbd5), read
//! there and written here anew.

use estimate::quantity::Decimal;
use estimate::quote::country::is_country;
use roxmltree::{Document, Node};

fn child<'a>(node: Node<'a, 'a>, name: &str) -> Option<Node<'a, 'a>> {
    node.children().find(|child| child.tag_name().name() == name)
}

fn children<'a>(node: Node<'a, 'a>, name: &'a str) -> impl Iterator<Item = Node<'a, 'a>> {
    node.children()
        .filter(move |child| child.tag_name().name() == name)
}

fn text<'a>(node: Node<'a, 'a>, path: &[&str]) -> Option<&'a str> {
    let mut at = node;
    for name in path {
        at = child(at, name)?;
    }
    at.text()
}

fn number(node: Node<'_, '_>, path: &[&str]) -> Option<Decimal> {
    let mut at = node;
    for name in path {
        at = at.children().find(|child| child.tag_name().name() == *name)?;
    }
    Some(at.text()?.parse().unwrap())
}

fn sum(numbers: impl Iterator<Item = Decimal>) -> Decimal {
    numbers.sum()
}

/// Letter and rate of a tax category, which tell the groups apart.
fn group<'a>(category: Node<'a, 'a>) -> (&'a str, Option<Decimal>) {
    (text(category, &["ID"]).unwrap(), number(category, &["Percent"]))
}

/// Half away from zero to two decimals, as BR-CO-17 has it; written with whole numbers, not with our rounding.
fn two_decimals(value: Decimal) -> Decimal {
    let scaled = value * Decimal::from(1_000_000_000_000_i64);
    let units: i128 = scaled.trunc().to_string().parse().unwrap();
    let cent = 10_000_000_000_i128;
    let (whole, rest) = (units / cent, units % cent);
    let away = if rest.abs() * 2 >= cent { units.signum() } else { 0 };
    Decimal::new(i64::try_from(whole + away).unwrap(), 2)
}

/// Every rule, on a Quotation, an Invoice or a CreditNote.
pub fn hold(xml: &[u8]) {
    let text_of = std::str::from_utf8(xml).unwrap();
    let document = Document::parse(text_of).unwrap_or_else(|fault| panic!("{fault}: {text_of}"));
    let root = document.root_element();
    let (totals, line, quantity, code) = match root.tag_name().name() {
        "Invoice" => (
            "LegalMonetaryTotal",
            "InvoiceLine",
            "InvoicedQuantity",
            "InvoiceTypeCode",
        ),
        "CreditNote" => (
            "LegalMonetaryTotal",
            "CreditNoteLine",
            "CreditedQuantity",
            "CreditNoteTypeCode",
        ),
        "Quotation" => ("QuotedMonetaryTotal", "QuotationLine", "Quantity", ""),
        other => panic!("{other}"),
    };
    let invoice = !code.is_empty();
    let totals = child(root, totals).unwrap();
    let total = |name: &str| number(totals, &[name]).unwrap_or_default();
    let lines: Vec<Node<'_, '_>> = children(root, line)
        .map(|line| {
            if invoice {
                line
            } else {
                child(line, "LineItem").unwrap()
            }
        })
        .collect();
    assert!(!lines.is_empty(), "BR-16");
    document_totals(root, &lines, &total);
    taxes(root, &lines);
    decimals_and_codes(root);
    prices(&lines, quantity);
    if invoice {
        let due = child(root, "DueDate").is_some() || child(root, "PaymentTerms").is_some();
        assert!(total("PayableAmount") <= Decimal::ZERO || due, "BR-CO-25");
        let kind = text(root, &[code]).unwrap();
        let kinds: &[&str] = if code == "CreditNoteTypeCode" {
            &["381"]
        } else {
            &["326", "380", "386"]
        };
        assert!(kinds.contains(&kind), "BR-CL-01 {kind}");
        assert!(text(root, &["CustomizationID"]).is_some(), "BR-01");
        party(root);
    }
}

/// Who sells and who buys, as every invoice says it.
fn party(root: Node<'_, '_>) {
    for (party, rule) in [
        ("AccountingSupplierParty", "BR-09"),
        ("AccountingCustomerParty", "BR-11"),
    ] {
        let country = ["Party", "PostalAddress", "Country", "IdentificationCode"];
        let country = text(child(root, party).unwrap(), &country);
        assert!(country.is_some_and(is_country), "{rule}, BR-CL-14 {country:?}");
    }
    let seller = child(child(root, "AccountingSupplierParty").unwrap(), "Party").unwrap();
    let known =
        text(seller, &["PartyIdentification", "ID"]).or(text(seller, &["PartyLegalEntity", "CompanyID"]));
    assert!(known.is_some(), "BR-CO-26");
}

fn document_totals(root: Node<'_, '_>, lines: &[Node<'_, '_>], total: &dyn Fn(&str) -> Decimal) {
    let amounts = lines
        .iter()
        .map(|line| number(*line, &["LineExtensionAmount"]).unwrap());
    assert_eq!(total("LineExtensionAmount"), sum(amounts), "BR-CO-10");
    let of = |charge: &'static str| {
        let all = root
            .children()
            .filter(|child| child.tag_name().name() == "AllowanceCharge");
        let of_kind = all.filter(move |one| {
            let indicator = one
                .children()
                .find(|child| child.tag_name().name() == "ChargeIndicator");
            indicator.unwrap().text() == Some(charge)
        });
        sum(of_kind.map(|one| number(one, &["Amount"]).unwrap()))
    };
    assert_eq!(total("AllowanceTotalAmount"), of("false"), "BR-CO-11");
    assert_eq!(total("ChargeTotalAmount"), of("true"), "BR-CO-12");
    let exclusive = total("LineExtensionAmount") - total("AllowanceTotalAmount") + total("ChargeTotalAmount");
    assert_eq!(total("TaxExclusiveAmount"), exclusive, "BR-CO-13");
    let tax = number(root, &["TaxTotal", "TaxAmount"]).unwrap();
    assert_eq!(total("TaxInclusiveAmount"), exclusive + tax, "BR-CO-15");
    let payable = total("TaxInclusiveAmount") - total("PrepaidAmount") + total("PayableRoundingAmount");
    assert_eq!(total("PayableAmount"), payable, "BR-CO-16");
}

fn taxes(root: Node<'_, '_>, lines: &[Node<'_, '_>]) {
    let find =
        |node: Node<'_, '_>, name: &str| node.children().position(|child| child.tag_name().name() == name);
    assert!(find(root, "TaxTotal").is_some(), "BR-CO-18");
    let total = root
        .children()
        .find(|child| child.tag_name().name() == "TaxTotal")
        .unwrap();
    let subtotals: Vec<Node<'_, '_>> = total
        .children()
        .filter(|child| child.tag_name().name() == "TaxSubtotal")
        .collect();
    let tax = sum(subtotals.iter().map(|one| number(*one, &["TaxAmount"]).unwrap()));
    assert_eq!(number(total, &["TaxAmount"]).unwrap(), tax, "BR-CO-14");
    let mut seen = Vec::new();
    for subtotal in &subtotals {
        let category = child(*subtotal, "TaxCategory").unwrap();
        let group = group(category);
        let (letter, rate) = group;
        assert!(
            !seen.contains(&group),
            "BR-S-08, BR-E-08: one breakdown for each category and rate"
        );
        seen.push(group);
        let base = number(*subtotal, &["TaxableAmount"]).unwrap();
        let amount = number(*subtotal, &["TaxAmount"]).unwrap();
        let exact = base * rate.unwrap_or_default() / Decimal::ONE_HUNDRED;
        assert_eq!(amount, two_decimals(exact), "BR-CO-17 {letter} {rate:?}");
        let of_lines = lines.iter().filter(|line| group_of_item(**line) == group);
        let of_lines = sum(of_lines.map(|line| number(*line, &["LineExtensionAmount"]).unwrap()));
        let allowances = sum(root
            .children()
            .filter(|child| child.tag_name().name() == "AllowanceCharge")
            .filter(|one| self::group(child(*one, "TaxCategory").unwrap()) == group)
            .map(|one| {
                let amount = number(one, &["Amount"]).unwrap();
                if text(one, &["ChargeIndicator"]) == Some("true") {
                    -amount
                } else {
                    amount
                }
            }));
        assert_eq!(
            base,
            of_lines - allowances,
            "BR-S-08, BR-E-08, BR-O-08, BR-Z-08 {letter}"
        );
        let reason = child(category, "TaxExemptionReason").is_some();
        match letter {
            "S" => assert!(rate.unwrap() > Decimal::ZERO && !reason, "BR-S-05, BR-S-10"),
            "Z" => assert!(rate == Some(Decimal::ZERO) && !reason, "BR-Z-05, BR-Z-10"),
            "E" => assert!(rate == Some(Decimal::ZERO) && reason, "BR-E-05, BR-E-10"),
            "O" => {
                assert!(rate.is_none() && reason, "BR-O-05, BR-O-10");
                assert_eq!(subtotals.len(), 1, "BR-O-11");
                assert!(
                    !root
                        .descendants()
                        .any(|node| node.tag_name().name() == "PartyTaxScheme"),
                    "BR-O-02"
                );
            }
            other => panic!("BR-CL-17 {other}"),
        }
    }
    for line in lines {
        assert!(
            seen.contains(&group_of_item(*line)),
            "BR-S-01, BR-E-01, BR-O-01, BR-Z-01"
        );
    }
}

fn group_of_item<'a>(line: Node<'a, 'a>) -> (&'a str, Option<Decimal>) {
    group(child(child(line, "Item").unwrap(), "ClassifiedTaxCategory").unwrap())
}

fn decimals_and_codes(root: Node<'_, '_>) {
    for node in root.descendants() {
        if let Some(currency) = node.attribute("currencyID") {
            assert_eq!(currency.len(), 3, "BR-CL-03");
            let value: Decimal = node.text().unwrap().parse().unwrap();
            assert!(value.scale() <= 2, "BR-DEC {} {value}", node.tag_name().name());
        }
        if let Some(unit) = node.attribute("unitCode") {
            let known = unit == "LS"
                || estimate::handoff::codes::UNIT_CODES
                    .iter()
                    .any(|(_, code)| *code == unit);
            assert!(known, "BR-CL-23 {unit}");
        }
    }
}

fn prices(lines: &[Node<'_, '_>], quantity: &str) {
    for line in lines {
        let price = number(*line, &["Price", "PriceAmount"]).unwrap();
        let per = number(*line, &["Price", "BaseQuantity"]).unwrap();
        assert!(price >= Decimal::ZERO && per > Decimal::ZERO, "BR-27");
        let amount = number(*line, &["LineExtensionAmount"]).unwrap();
        let exact = number(*line, &[quantity]).unwrap() * price;
        assert_eq!(amount * per, exact, "BT-131: quantity x price / base quantity");
    }
}
