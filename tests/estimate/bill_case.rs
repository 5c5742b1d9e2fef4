//! A small catalogue and what rules might ask of it, for tests of bills and prices. All figures invented.

use chrono::NaiveDate;
use estimate::bill::{self, Bill, BillFault};
use estimate::catalogue::item::{Item, ItemGroup, Pack, Price};
use estimate::catalogue::labour::{LabourClass, LabourRate};
use estimate::catalogue::{Catalogue, PriceBook};
use estimate::job::{BoughtKind, ManualLine, ManualWork, Override, Replaced};
use estimate::pricing::policy::{
    Freight, HoursRounding, HoursTowards, Instalment, LineCodes, Policy, PolicyLines, Profit, TaxCategory,
    TaxPolicy, TaxTreatment,
};
use estimate::pricing::{CheckedPolicy, Priced, PricingFault, Terms, price};
use estimate::quantity::measure::Hours;
use estimate::quantity::rounding::Mode;
use estimate::quantity::unit::Unit;
use estimate::quantity::{Currency, Decimal, Money, Quantity};
use estimate::rules::outcome::{
    AmountCost, AmountKind, AmountNeed, AssemblyHead, LabourNeed, LineHead, MaterialNeed, Outcome,
};

pub fn dec(text: &str) -> Decimal {
    text.parse().unwrap()
}

pub fn usd(text: &str) -> Money {
    Currency::parse("USD").unwrap().amount(text).unwrap()
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub fn feet(value: &str) -> Quantity {
    Quantity {
        value: dec(value),
        unit: Unit::FT,
    }
}

/// An item with packs of `(size, price)`; a price of `-` is none.
pub fn item(code: &str, unit: Unit, packs: &[(&str, &str)]) -> Item {
    let prices = |amount: &str| match amount {
        "-" => Vec::new(),
        amount => vec![Price {
            valid_from: day("2031-01-10"),
            amount: dec(amount),
            source: "list of January".to_owned(),
        }],
    };
    Item {
        code: code.to_owned(),
        description: format!("item {code}"),
        unit,
        group: ItemGroup::Material,
        cost_code: "MAT".to_owned(),
        tax_category: "goods".to_owned(),
        supplier: "Fenwold Supply".to_owned(),
        part_number: None,
        lead_days: 2,
        one_piece: false,
        packs: packs
            .iter()
            .map(|(size, amount)| Pack {
                size: dec(size),
                name: "pack".to_owned(),
                prices: prices(amount),
            })
            .collect(),
    }
}

/// A labour class whose loaded rate is `rate`: nothing beside the wage, every paid hour worked.
pub fn class(code: &str, rate: &str) -> LabourClass {
    LabourClass {
        code: code.to_owned(),
        title: format!("class {code}"),
        cost_code: "LAB".to_owned(),
        tax_category: "services".to_owned(),
        rates: vec![LabourRate {
            valid_from: day("2031-01-01"),
            wage: dec(rate),
            paid_hours: Decimal::ONE,
            burden: Vec::new(),
            non_productive: Vec::new(),
            source: "payroll".to_owned(),
        }],
    }
}

pub fn catalogue(items: Vec<Item>, classes: Vec<LabourClass>) -> Catalogue {
    Catalogue::new(items, classes, Vec::new()).unwrap()
}

pub fn outcome() -> Outcome<'static> {
    Outcome {
        needs: Vec::new(),
        labour: Vec::new(),
        amounts: Vec::new(),
        max_factor: None,
        assemblies: Vec::new(),
        raised: Vec::new(),
        exclusions: Vec::new(),
        missing: Vec::new(),
        allowances: Vec::new(),
        counts: Vec::new(),
        trace: None,
    }
}

/// Line `number` of the assembly at `place`: assemblies are called A0, A1, …, two to a section.
pub fn from(place: usize, number: usize) -> &'static LineHead {
    const SECTIONS: [&str; 3] = ["Unit", "Lines", "Site"];
    from_section(place, number, SECTIONS[place / 2])
}

/// The same, of an assembly that stands in this section.
pub fn from_section(place: usize, number: usize, section: &str) -> &'static LineHead {
    let assembly = AssemblyHead {
        place,
        code: format!("A{place}").into(),
        title: "assembly".into(),
        section: section.into(),
    };
    Box::leak(Box::new(LineHead {
        assembly: assembly.into(),
        number,
        note: None,
    }))
}

pub fn need(
    line: &'static LineHead,
    item: &'static str,
    quantity: &str,
    waste: &str,
) -> MaterialNeed<'static> {
    MaterialNeed {
        line,
        item,
        item_place: 0,
        quantity: dec(quantity),
        waste: dec(waste),
        one_piece: false,
    }
}

pub fn work(
    line: &'static LineHead,
    task: &'static str,
    class: &'static str,
    hours: &str,
) -> LabourNeed<'static> {
    LabourNeed {
        line,
        task,
        title: task,
        class,
        class_place: 0,
        hours: dec(hours),
        crew: Decimal::ONE,
        factors: Vec::new(),
    }
}

pub fn charge(
    line: &'static LineHead,
    kind: AmountKind,
    category: &'static str,
    amount: &str,
) -> AmountNeed<'static> {
    AmountNeed {
        line,
        kind,
        trade: None,
        title: "charge",
        cost_code: "AMT",
        tax_category: category,
        cost: AmountCost::Money(dec(amount)),
    }
}

pub fn manual(kind: BoughtKind, category: &str, quantity: &str, unit_cost: &str) -> ManualLine {
    ManualLine {
        code: None,
        description: "by hand".to_owned(),
        work: ManualWork::Bought {
            kind,
            quantity: Quantity {
                value: dec(quantity),
                unit: Unit::EACH,
            },
            unit_cost: dec(unit_cost),
        },
        cost_code: "MAN".to_owned(),
        tax_category: category.to_owned(),
        reason: "seen on site".to_owned(),
    }
}

pub fn manual_hours(class: &str, hours: &str) -> ManualLine {
    ManualLine {
        work: ManualWork::Labour {
            hours: Hours(dec(hours)),
            class: class.to_owned(),
        },
        ..manual(BoughtKind::Fee, "services", "1", "1")
    }
}

pub fn change(line: &str, replaced: Replaced) -> Override {
    Override {
        line: line.to_owned(),
        replaced,
        reason: "the office knows better".to_owned(),
    }
}

/// A policy that adds nothing: price is cost, no tax, one instalment.
pub fn plain_policy() -> Policy {
    let codes = |cost_code: &str| LineCodes {
        cost_code: cost_code.to_owned(),
        tax_category: "goods".to_owned(),
    };
    let category = |code: &str, letter: &str, percent: &str| TaxCategory {
        code: code.to_owned(),
        title: code.to_owned(),
        uncl5305: letter.to_owned(),
        percent: dec(percent),
    };
    Policy {
        id: "plain".to_owned(),
        title: "Adds nothing".to_owned(),
        rounding: Mode::HalfUp,
        hours: HoursRounding {
            step: dec("0.25"),
            towards: HoursTowards::Up,
        },
        freight: Freight::Fixed {
            amount: Decimal::ZERO,
        },
        consumables_percent: Decimal::ZERO,
        lines: PolicyLines {
            freight: codes("FRT"),
            consumables: codes("CON"),
            use_tax: codes("TAX"),
        },
        subcontract_markup_percent: Decimal::ZERO,
        contingency_percent: Decimal::ZERO,
        overhead_percent: Decimal::ZERO,
        profit: Profit::Margin {
            percent: Decimal::ZERO,
        },
        warranty_reserve_percent: Decimal::ZERO,
        tax: TaxPolicy {
            treatment: TaxTreatment::TaxOnSale,
            categories: vec![category("goods", "S", "6.25"), category("services", "E", "0")],
        },
        schedule: vec![Instalment {
            label: "when done".to_owned(),
            share: Decimal::ONE_HUNDRED,
            due_after_days: None,
        }],
        deposit_limit: None,
        retainage: None,
        validity_days: 30,
        price_age_days: 60,
        least_margin_percent: Decimal::ZERO,
        approval: None,
    }
}

pub fn checked(policy: Policy) -> CheckedPolicy {
    CheckedPolicy::new(policy, Currency::parse("USD").unwrap()).unwrap()
}

/// A job: what the rules ask for, what a person changed, on a day, under a policy.
#[derive(Debug)]
pub struct Case {
    pub catalogue: Catalogue,
    pub outcome: Outcome<'static>,
    pub prices: PriceBook,
    pub manual: Vec<ManualLine>,
    pub overrides: Vec<Override>,
    pub policy: CheckedPolicy,
    pub terms: Terms,
}

impl Case {
    pub fn new(catalogue: Catalogue, outcome: Outcome<'static>) -> Self {
        let prices = PriceBook::on(day("2031-02-01"), &catalogue);
        let (manual, overrides, terms) = (Vec::new(), Vec::new(), Terms::default());
        Self {
            catalogue,
            outcome,
            prices,
            manual,
            overrides,
            policy: checked(plain_policy()),
            terms,
        }
    }

    /// A job that is all lines by hand.
    pub fn by_hand(policy: Policy, manual: Vec<ManualLine>) -> Self {
        let catalogue = catalogue(Vec::new(), vec![class("lead", "50.00"), class("mate", "30.00")]);
        Self {
            manual,
            policy: checked(policy),
            ..Self::new(catalogue, outcome())
        }
    }

    pub fn bill(&self) -> Result<Bill<'_>, Vec<BillFault>> {
        bill::assemble(
            &self.outcome,
            &self.catalogue,
            &self.prices,
            &self.manual,
            &self.overrides,
        )
        .map_err(|unbilled| unbilled.faults)
    }

    pub fn priced(&self) -> Result<Priced<'_>, Vec<PricingFault>> {
        price(self.bill().unwrap(), &self.policy, &self.terms)
    }
}
