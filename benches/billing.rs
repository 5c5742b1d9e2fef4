//! How long the bill and its price take for a job of 90 lines: 60 items (a sixth of them from four pack sizes, a
//! few without a joint), 20 tasks of three classes, 10 amounts. `cargo bench -p estimate --bench billing`.

#![allow(clippy::unwrap_used, reason = "a bench stops when its case is wrong")]

use divan::{Bencher, black_box};
use estimate::bill::{assemble, packs};
use estimate::catalogue::item::{Item, ItemGroup, Pack, Price};
use estimate::catalogue::labour::{LabourClass, LabourRate};
use estimate::catalogue::{Catalogue, PriceBook};
use estimate::pricing::policy::{
    Freight, HoursRounding, HoursTowards, Instalment, LineCodes, Policy, PolicyLines, Profit, TaxCategory,
    TaxPolicy, TaxTreatment,
};
use estimate::pricing::{CheckedPolicy, Terms, price};
use estimate::quantity::rounding::Mode;
use estimate::quantity::unit::Unit;
use estimate::quantity::{Currency, Decimal};
use estimate::rules::outcome::{
    AmountCost, AmountKind, AmountNeed, AppliedFactor, AssemblyHead, LabourNeed, LineHead, MaterialNeed,
    Outcome,
};

fn main() {
    divan::main();
}

const DAY: &str = "2031-02-01";
const ITEMS: usize = 60;

fn item(number: usize) -> Item {
    let pack = |size: i64, cents: i64| Pack {
        size: Decimal::from(size),
        name: "coil".to_owned(),
        prices: vec![Price {
            valid_from: "2031-01-01".parse().unwrap(),
            amount: Decimal::new(cents, 2),
            source: "list".to_owned(),
        }],
    };
    let packs = match number % 6 {
        0 => vec![pack(15, 1650), pack(25, 2500), pack(35, 3325), pack(50, 4500)],
        _ => vec![pack(6, 480)],
    };
    Item {
        code: format!("ITEM-{number}"),
        description: format!("item {number}"),
        unit: Unit::FT,
        group: ItemGroup::Material,
        cost_code: "MAT".to_owned(),
        tax_category: "goods".to_owned(),
        supplier: "Fenwold Supply".to_owned(),
        part_number: None,
        lead_days: 2,
        one_piece: number.is_multiple_of(18),
        packs,
    }
}

fn class(code: &str, rate: i64) -> LabourClass {
    let rate = LabourRate {
        valid_from: "2031-01-01".parse().unwrap(),
        wage: Decimal::new(rate, 2),
        paid_hours: Decimal::ONE,
        burden: Vec::new(),
        non_productive: Vec::new(),
        source: "payroll".to_owned(),
    };
    LabourClass {
        code: code.to_owned(),
        title: code.to_owned(),
        cost_code: "LAB".to_owned(),
        tax_category: "services".to_owned(),
        rates: vec![rate],
    }
}

fn catalogue() -> Catalogue {
    let classes = vec![class("lead", 5346), class("mate", 3490), class("sparks", 6125)];
    Catalogue::new((0..ITEMS).map(item).collect(), classes, Vec::new()).unwrap()
}

fn line(place: usize, number: usize) -> &'static LineHead {
    let assembly = AssemblyHead {
        place,
        code: "ASSEMBLY".into(),
        title: "assembly".into(),
        section: "section".into(),
    };
    Box::leak(Box::new(LineHead {
        assembly: assembly.into(),
        number,
        note: None,
    }))
}

fn outcome(catalogue: &Catalogue) -> Outcome<'_> {
    let needs = catalogue
        .items()
        .iter()
        .enumerate()
        .map(|(place, item)| MaterialNeed {
            line: line(place / 3, place % 3),
            item: &item.code,
            item_place: place,
            quantity: Decimal::new(900 + 131 * i64::try_from(place).unwrap() % 3_800, 2),
            waste: Decimal::new(5, 2),
            one_piece: false,
        });
    let factor = |name: &'static str, add: i64| AppliedFactor {
        name,
        title: name,
        add: Decimal::new(add, 2),
    };
    let labour = (0..20_usize).map(|place| LabourNeed {
        line: line(place, 4),
        task: "task",
        title: "task",
        class: ["lead", "mate", "sparks"][place % 3],
        class_place: place % 3,
        hours: Decimal::new(137, 2),
        crew: Decimal::from(2),
        factors: vec![factor("height", 10), factor("occupied", 10)],
    });
    let amounts = (0..10_usize).map(|place| AmountNeed {
        line: line(place, 5),
        kind: if place % 2 == 0 {
            AmountKind::Subcontract
        } else {
            AmountKind::Fee
        },
        trade: None,
        title: "amount",
        cost_code: "SUB",
        tax_category: "services",
        cost: AmountCost::Money(Decimal::new(16_500, 2)),
    });
    Outcome {
        needs: needs.collect(),
        labour: labour.collect(),
        amounts: amounts.collect(),
        max_factor: Some(Decimal::from(2)),
        assemblies: Vec::new(),
        raised: Vec::new(),
        counts: Vec::new(),
        exclusions: Vec::new(),
        missing: Vec::new(),
        allowances: Vec::new(),
        trace: None,
    }
}

fn policy() -> CheckedPolicy {
    let codes = || LineCodes {
        cost_code: "CON".to_owned(),
        tax_category: "goods".to_owned(),
    };
    let category = |code: &str, letter: &str, percent: i64| TaxCategory {
        code: code.to_owned(),
        title: code.to_owned(),
        uncl5305: letter.to_owned(),
        percent: Decimal::new(percent, 2),
    };
    let policy = Policy {
        id: "bench".to_owned(),
        title: "bench".to_owned(),
        rounding: Mode::HalfUp,
        hours: HoursRounding {
            step: Decimal::new(25, 2),
            towards: HoursTowards::Up,
        },
        freight: Freight::Percent {
            percent: Decimal::new(25, 1),
        },
        consumables_percent: Decimal::from(3),
        lines: PolicyLines {
            freight: codes(),
            consumables: codes(),
            use_tax: codes(),
        },
        subcontract_markup_percent: Decimal::TEN,
        contingency_percent: Decimal::from(4),
        overhead_percent: Decimal::from(18),
        profit: Profit::Margin {
            percent: Decimal::from(12),
        },
        warranty_reserve_percent: Decimal::ONE,
        tax: TaxPolicy {
            treatment: TaxTreatment::ContractorPays,
            categories: vec![category("goods", "S", 625), category("services", "E", 0)],
        },
        schedule: [40, 40, 20]
            .map(|share| Instalment {
                label: "part".to_owned(),
                share: Decimal::from(share),
                due_after_days: None,
            })
            .to_vec(),
        deposit_limit: None,
        retainage: None,
        validity_days: 30,
        price_age_days: 60,
        least_margin_percent: Decimal::ZERO,
        approval: None,
    };
    CheckedPolicy::new(policy, Currency::parse("USD").unwrap()).unwrap()
}

#[divan::bench]
fn bill_of_90_lines(bencher: Bencher<'_, '_>) {
    let catalogue = catalogue();
    let prices = PriceBook::on(DAY.parse().unwrap(), &catalogue);
    let outcome = outcome(&catalogue);
    bencher.bench_local(|| assemble(black_box(&outcome), &catalogue, &prices, &[], &[]).unwrap());
}

#[divan::bench]
fn bill_and_price_of_90_lines(bencher: Bencher<'_, '_>) {
    let catalogue = catalogue();
    let prices = PriceBook::on(DAY.parse().unwrap(), &catalogue);
    let outcome = outcome(&catalogue);
    let policy = policy();
    let terms = Terms::default();
    bencher.bench_local(|| {
        let bill = assemble(black_box(&outcome), &catalogue, &prices, &[], &[]).unwrap();
        price(bill, &policy, &terms).unwrap()
    });
}

#[divan::bench]
fn packs_of_four_sizes(bencher: Bencher<'_, '_>) {
    let sizes = [(15, 1650), (25, 2500), (35, 3325), (50, 4500)];
    let offers = sizes.map(|(size, cents)| packs::Offer {
        size: Decimal::from(size),
        cost: Decimal::new(cents, 2),
    });
    bencher.bench_local(|| packs::choose(black_box(offers), Decimal::from(62), &[]).unwrap());
}
