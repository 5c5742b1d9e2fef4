//! Offers of the demonstration's jobs, and the odd ones that a paper must stand.

use std::sync::LazyLock;

use chrono::NaiveDate;
use estimate::handoff::house_style::HouseStyle;
use estimate::handoff::measures::Measures;
use estimate::handoff::offer::{Alternative, Offer, Party};
use estimate::handoff::rule_sentences::RuleSentences;
use estimate::quote::estimated::Estimated;
use serde_json::{Value, json};

use crate::demo::Demo;

pub static DEMO: LazyLock<Demo> = LazyLock::new(Demo::load);

/// The estimate of a request.
pub fn estimated(request: &Value) -> Estimated {
    let request = DEMO.read(request);
    let prices = DEMO.prices(&request);
    let made = DEMO.estimate(&request, &prices, false).unwrap();
    Estimated::of(&made).unwrap()
}

pub fn style(changes: Value) -> HouseStyle {
    HouseStyle::read(&changes).unwrap()
}

/// An issued offer of a demonstration job.
pub fn issued(job: &str, changes: Value) -> Offer {
    let offer = draft(&Demo::job(job), changes);
    Offer {
        name: Some("2025-00042-R2".to_owned()),
        valid_until: NaiveDate::from_ymd_opt(2025, 5, 14),
        customer: Party {
            name: "Mr and Mrs Tarn-Hestley".to_owned(),
            contact: Some("O. Tarn-Hestley".to_owned()),
            telephone: None,
            address: vec!["7 Pinfold Rise".to_owned(), "Nettlemoor".to_owned()],
        },
        ..offer
    }
}

pub fn draft(request: &Value, changes: Value) -> Offer {
    let measures = Measures::of(request);
    let offer =
        Offer::of_estimate(estimated(request), DEMO.company.clone(), style(changes), measures).unwrap();
    Offer {
        rules: RuleSentences::of(DEMO.workbook.rulebook()),
        ..offer
    }
}

/// The job with one thing changed, as an alternate.
pub fn alternate(job: &str, title: &str, pointer: &str, value: Value) -> Alternative {
    let mut request = Demo::job(job);
    *request.pointer_mut(pointer).unwrap() = value;
    Alternative {
        title: title.to_owned(),
        note: None,
        estimated: estimated(&request),
    }
}

/// An estimate changed behind the back of pricing, to have what no job of the demonstration has.
pub fn bent(offer: Offer, bend: impl FnOnce(&mut Value)) -> Offer {
    let mut tree = offer.estimated.tree().clone();
    bend(&mut tree);
    Offer {
        estimated: Estimated::read(tree).unwrap(),
        ..offer
    }
}

pub fn money(amount: &str) -> Value {
    json!({"amount": amount, "currency": "USD"})
}
