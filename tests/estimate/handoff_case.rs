//! Accepted offers and change orders for the tests of the hand-off.

use chrono::NaiveDate;
use estimate::handoff::accepted::{Accepted, ChangedContract};
use estimate::handoff::amounts::Amounts;
use estimate::handoff::codes::TaxScheme;
use estimate::handoff::sheet::Sheet;
use estimate::handoff::ubl_quotation::Seller;
use estimate::pricing::tax;
use estimate::quantity::rounding::{Mode, share_out};
use estimate::quantity::{Currency, Decimal, Money};
use estimate::quote::acceptance::{Acceptance, Word};
use estimate::quote::canonical::{Digest, Frozen};
use estimate::quote::change_order::Contract;
use estimate::quote::draft::ChangeOrder;
use estimate::quote::revision::Revision;
use serde_json::{Value, json};

use crate::quote_office::{Office, job, moment};

/// A job of the demonstration on which tax is charged, with a discount.
pub fn taxed_job() -> Value {
    let mut request = job("alderwick-closet");
    request["job"]["tax"] = json!({"treatment": "tax_on_sale"});
    request["discount"] = json!({"percent": "3.5"});
    request
}

fn record(office: &Office, revision: &Revision) -> (Acceptance, Digest) {
    let digest = Frozen::of(revision).unwrap().digest();
    let word = Word {
        accepted_by: "Odalie Brackwater".to_owned(),
        reference: Some("PO-118".to_owned()),
        chosen: Vec::new(),
        at: moment(),
        recorded_by: "Ines Calloway".to_owned(),
    };
    let (record, _) = Acceptance::new(revision, digest, word, |request| office.estimate(request)).unwrap();
    let kept = record.freeze().unwrap().digest();
    (record, kept)
}

/// `request`, accepted as it was offered.
pub fn accepted(request: &Value) -> Accepted {
    both(request, None).0
}

/// `request`, accepted, and a change order on it, accepted too.
pub fn changed(request: &Value, change: Value) -> (Accepted, Accepted) {
    let (offer, order) = both(request, Some(change));
    (offer, order.unwrap())
}

fn both(request: &Value, change: Option<Value>) -> (Accepted, Option<Accepted>) {
    let office = Office::usual();
    let draft = office.draft(&json!({"request": request}));
    let base = office.estimate(&draft.request).unwrap();
    let revision = Revision::new(office.issue("2031-00042-R1"), &draft, &base, &[]).unwrap();
    let (offer, digest) = record(office, &revision);
    let accepted = Accepted::of(&revision, &offer, digest, None).unwrap();
    let order = change.map(|change| {
        let contract = Contract::new(&offer, digest).unwrap();
        let content = json!({"title": "As agreed on site", "change": change});
        let workbook = office.workbook();
        let order = ChangeOrder::read(&content, contract.request(), workbook.reader(None));
        let order = order.unwrap();
        let priced = contract
            .price(&order.change, |request| estimated(office, request))
            .unwrap();
        let revision = order
            .revision(office.issue("2031-00042-C1-R1"), &contract, &priced)
            .unwrap();
        let (record, kept) = record(office, &revision);
        assert!(
            Accepted::of(&revision, &record, kept, None).is_err(),
            "it needs its contract"
        );
        Accepted::of(&revision, &record, kept, Some((&offer, digest))).unwrap()
    });
    (accepted, order)
}

fn estimated(
    office: &Office,
    request: &Value,
) -> Result<estimate::quote::estimated::Estimated, estimate::quote::moved::MovedFault> {
    Ok(office.estimate(request).unwrap())
}

/// The demonstration company as a seller.
pub fn seller() -> Seller {
    Seller {
        name: "Hollowmoor Cellar Cooling".to_owned(),
        address: vec!["18 Tannery Reach".to_owned(), "Fallowmere".to_owned()],
        country: Some("US".to_owned()),
        telephone: "555-0142".to_owned(),
        mail: "office@hollowmoor.example".to_owned(),
        tax_registration: Some("HM 42-0001".to_owned()),
        tax_scheme: TaxScheme::ValueAdded,
        register_number: Some("HM-1187".to_owned()),
    }
}

/// Price, discount and place of the tax category.
pub type ShortLine = (i64, i64, usize);

/// An acceptance of lines and tax categories (letter and rate), paid in these shares. All amounts in minor units.
pub fn made_up(currency: &str, lines: &[ShortLine], categories: &[(&str, &str)], shares: &[i64]) -> Accepted {
    let sheet = sheet(Currency::parse(currency).unwrap(), lines, categories, shares);
    let mut accepted = accepted(&job("alderwick-closet"));
    accepted.amounts = Amounts {
        net: sheet.totals.net,
        tax: sheet.totals.tax,
        total: sheet.totals.total,
    };
    accepted.sheet = sheet;
    accepted
}

/// A change order in USD that takes a contract of some lines to one of others.
pub fn moved(before: &[ShortLine], after: &[ShortLine], categories: &[(&str, &str)]) -> Accepted {
    let old = made_up("USD", before, categories, &[1]);
    let mut order = made_up("USD", after, categories, &[1]);
    order.change = Some(ChangedContract {
        title: "As agreed on site".to_owned(),
        before: old.amounts,
        after: order.amounts,
        sheet_before: old.sheet,
    });
    order.amounts = order.amounts.minus(old.amounts).unwrap();
    order
}

fn sheet(currency: Currency, lines: &[ShortLine], categories: &[(&str, &str)], shares: &[i64]) -> Sheet {
    let money = |minor: i64| currency.minor(minor);
    let total = |of: fn(&ShortLine) -> i64| money(lines.iter().map(of).sum());
    let taxes: Vec<(usize, Money, Money, Decimal)> = (0..categories.len())
        .filter(|place| lines.iter().any(|line| line.2 == *place))
        .map(|place| {
            let base = lines
                .iter()
                .filter(|line| line.2 == place)
                .map(|line| line.0 - line.1);
            let (base, rate) = (money(base.sum()), categories[place].1.parse().unwrap());
            (place, base, tax::on_base(base, rate, Mode::HalfUp).unwrap(), rate)
        })
        .collect();
    let tax = Money::sum(currency, taxes.iter().map(|(.., tax, _)| *tax)).unwrap();
    let net = total(|line| line.0 - line.1);
    let whole = net.plus(tax).unwrap();
    let payments = share_out(whole, shares.iter().copied()).unwrap();
    let line = |(index, line): (usize, &ShortLine)| {
        json!({
            "position": index + 1, "key": format!("manual:{}", index + 1), "kind": "fee",
            "description": format!("Line {}", index + 1), "cost_code": format!("C{}", index % 3),
            "tax_category": format!("T{}", line.2), "cost": money(line.0 / 2),
            "price": money(line.0), "discount": money(line.1),
        })
    };
    let cost = total(|line| line.0 / 2);
    let hours = json!({"value": "0", "unit": "h"});
    let tree = json!({
        "currency": currency,
        "lines": lines.iter().enumerate().map(line).collect::<Vec<_>>(),
        "totals": {
            "cost": cost, "contingency": money(0), "overhead": money(0), "full_cost": cost,
            "price": total(|line| line.0), "discount": total(|line| line.1), "net": net,
            "taxes": taxes.iter().map(|(place, base, tax, rate)| json!({
                "category": format!("T{place}"), "title": format!("Category {place}"),
                "uncl5305": categories[*place].0, "rate": rate, "base": base, "amount": tax,
            })).collect::<Vec<_>>(),
            "tax": tax, "total": whole, "hours": hours,
        },
        "payment_schedule": payments.iter().enumerate().map(|(index, amount)| json!({
            "label": format!("Part {}", index + 1), "share": "10", "amount": amount,
        })).collect::<Vec<_>>(),
    });
    Sheet::read(&tree).unwrap()
}

/// A day.
pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}
