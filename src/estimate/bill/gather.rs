//! From needs to lines: the same item is added up over all assemblies, each task and amount is a line.

use rust_decimal::Decimal;

use super::fault::BillFault;
use super::key::LineKey;
use super::line::{BillLine, Content, FactorHours, Goods, LineKind, Share, Sum, Work};
use crate::catalogue::item::ItemGroup;
use crate::catalogue::prices::PriceBook;
use crate::catalogue::{Catalogue, Item, LabourClass};
use crate::quantity::decimal::QUANTITY_SCALE;
use crate::quantity::rounding::{Mode, to_scale};
use crate::rules::outcome::{
    Allowance, AmountCost, AmountKind, AmountNeed, LabourNeed, LineHead, MaterialNeed, Outcome,
};

/// Decimals of hours.
pub(super) const HOURS_SCALE: u32 = 4;

/// Lines whose packs are not chosen yet.
pub(super) struct Gathered<'a> {
    pub(super) lines: Vec<BillLine<'a>>,
    /// What is to be cut, for each line of goods.
    pub(super) cuts: Vec<Cut>,
    pub(super) faults: Vec<BillFault>,
    catalogue: &'a Catalogue,
    prices: &'a PriceBook,
    /// For each place of the catalogue, the line of that item and its cut, once there is one.
    by_item: Vec<Option<(usize, usize)>>,
    max_factor: Option<Decimal>,
}

/// What the packs of a line must hold.
pub(super) struct Cut {
    /// Place of the line.
    pub(super) line: usize,
    /// What may be pieced together.
    pub(super) divisible: Decimal,
    /// What must come out of one pack each.
    pub(super) pieces: Vec<Decimal>,
    /// A cost of one unit that a person gave in place of the catalogue's prices.
    pub(super) unit_cost: Option<Decimal>,
    /// Whether the trade wants no joint in the item.
    pub(super) one_piece: bool,
}

enum Need<'o, 'a> {
    Material(&'o MaterialNeed<'a>),
    Labour(&'o LabourNeed<'a>),
    Amount(&'o AmountNeed<'a>),
}

/// Makes the lines of everything that the rules ask for, in the order of the rulebook, with room for so `many_more`.
pub(super) fn gather<'a>(
    outcome: &Outcome<'a>,
    catalogue: &'a Catalogue,
    prices: &'a PriceBook,
    many_more: usize,
) -> Gathered<'a> {
    let count = outcome.needs.len() + outcome.labour.len() + outcome.amounts.len();
    let mut needs = Vec::with_capacity(count);
    let at = |line: &LineHead| (line.assembly.place, line.number);
    needs.extend(
        outcome
            .needs
            .iter()
            .map(|need| (at(need.line), Need::Material(need))),
    );
    needs.extend(
        outcome
            .labour
            .iter()
            .map(|need| (at(need.line), Need::Labour(need))),
    );
    needs.extend(
        outcome
            .amounts
            .iter()
            .map(|need| (at(need.line), Need::Amount(need))),
    );
    needs.sort_by_key(|(place, _)| *place);

    let mut gathered = Gathered {
        lines: Vec::with_capacity(count + outcome.allowances.len() + many_more),
        cuts: Vec::with_capacity(outcome.needs.len()),
        faults: Vec::new(),
        catalogue,
        prices,
        by_item: vec![None; catalogue.items().len()],
        max_factor: outcome.max_factor,
    };
    for (_, need) in &needs {
        let done = match need {
            Need::Material(need) => gathered.material(need),
            Need::Labour(need) => gathered.labour(need),
            Need::Amount(need) => gathered.amount(need),
        };
        if let Err(fault) = done {
            gathered.faults.push(fault);
        }
    }
    for allowance in &outcome.allowances {
        gathered.allowance(allowance);
    }
    gathered
}

/// A quantity as it stands on a bill.
pub(super) fn at_border(value: Decimal) -> Decimal {
    to_scale(value, QUANTITY_SCALE, Mode::HalfUp)
}

fn hours_at_border(value: Decimal) -> Decimal {
    to_scale(value, HOURS_SCALE, Mode::HalfUp)
}

impl<'a> Gathered<'a> {
    fn item(&self, place: usize, code: &str) -> Result<(usize, &'a Item), BillFault> {
        let at_place = self.catalogue.items().get(place).filter(|item| item.code == code);
        let found = match at_place {
            Some(item) => Some((place, item)),
            None => self.catalogue.item_place(code).zip(self.catalogue.item(code)),
        };
        found.ok_or_else(|| BillFault::NoItem {
            item: code.to_owned(),
        })
    }

    fn material(&mut self, need: &MaterialNeed<'a>) -> Result<(), BillFault> {
        let (place, item) = self.item(need.item_place, need.item)?;
        let key = LineKey::Material { item: &item.code };
        let share = share(need, item).ok_or_else(|| too_large(key))?;
        if share.quantity.is_zero() && share.waste.is_zero() {
            return Ok(());
        }
        let known = self.by_item.get(place).copied().flatten();
        if let Some((line, cut)) = known {
            if let (Some(line), Some(cut)) = (self.lines.get_mut(line), self.cuts.get_mut(cut)) {
                add_share(line, cut, share).ok_or_else(|| too_large(key))?;
            }
            return Ok(());
        }
        if let Some(slot) = self.by_item.get_mut(place) {
            *slot = Some((self.lines.len(), self.cuts.len()));
        }
        let new = goods_line(key, LineKind::Material, place, item, share);
        self.push_goods(new, item, share)
    }

    /// Adds a line of goods with its first share.
    fn push_goods(&mut self, line: BillLine<'a>, item: &Item, share: Share<'a>) -> Result<(), BillFault> {
        let mut cut = Cut {
            line: self.lines.len(),
            divisible: Decimal::ZERO,
            pieces: Vec::new(),
            unit_cost: None,
            one_piece: item.one_piece,
        };
        cut.add(share).ok_or_else(|| too_large(line.key))?;
        self.cuts.push(cut);
        self.lines.push(line);
        Ok(())
    }

    fn labour(&mut self, need: &LabourNeed<'a>) -> Result<(), BillFault> {
        let key = LineKey::Labour {
            assembly: &need.line.assembly.code,
            task: need.task,
        };
        let at_place = self
            .catalogue
            .labour()
            .get(need.class_place)
            .filter(|class| class.code == need.class);
        let place = match at_place {
            Some(_) => Some(need.class_place),
            None => self.catalogue.labour_place(need.class),
        };
        let found = place.and_then(|place| Some((place, self.catalogue.labour().get(place)?)));
        let (place, class) = found.ok_or_else(|| BillFault::NoClass {
            class: need.class.to_owned(),
        })?;
        let work = factored(need, (place, class), self.max_factor).ok_or_else(|| too_large(key))?;
        if work.hours.is_zero() {
            return Ok(());
        }
        self.lines.push(BillLine {
            code: Some(need.task),
            description: need.title,
            cost_code: &class.cost_code,
            tax_category: &class.tax_category,
            ..line(key, LineKind::Labour, Some(need.line), Content::Work(work))
        });
        Ok(())
    }

    fn amount(&mut self, need: &AmountNeed<'a>) -> Result<(), BillFault> {
        let (assembly, number) = (&*need.line.assembly.code, need.line.number);
        let (kind, key) = match need.kind {
            AmountKind::Subcontract => (LineKind::Subcontract, LineKey::Subcontract { assembly, number }),
            AmountKind::Fee => (LineKind::Fee, LineKey::Fee { assembly, number }),
        };
        let named = |line: BillLine<'a>| BillLine {
            code: need.trade,
            description: need.title,
            cost_code: need.cost_code,
            tax_category: need.tax_category,
            ..line
        };
        match need.cost {
            AmountCost::Money(amount) => {
                let sum = Content::Sum(Sum {
                    quantity: None,
                    unit_cost: amount,
                });
                self.lines.push(named(line(key, kind, Some(need.line), sum)));
            }
            AmountCost::Item {
                item: code,
                item_place,
                quantity,
            } => {
                let (place, item) = self.item(item_place, code)?;
                let share = Share {
                    line: need.line,
                    quantity: at_border(quantity),
                    waste: Decimal::ZERO,
                    one_piece: item.one_piece,
                };
                self.push_goods(named(goods_line(key, kind, place, item, share)), item, share)?;
            }
        }
        Ok(())
    }

    fn allowance(&mut self, allowance: &Allowance<'a>) {
        if allowance.amount.is_zero() {
            return;
        }
        let key = LineKey::Allowance {
            answer: allowance.answer,
        };
        let sum = Content::Sum(Sum {
            quantity: None,
            unit_cost: allowance.amount,
        });
        self.lines.push(BillLine {
            description: allowance.wording,
            cost_code: allowance.cost_code,
            tax_category: allowance.tax_category,
            ..line(key, LineKind::Fee, None, sum)
        });
    }

    /// Puts the day's rates to the hours.
    pub(super) fn rate_hours(&mut self) {
        for line in &mut self.lines {
            let Content::Work(work) = &mut line.content else {
                continue;
            };
            if let Some(hour) = self.prices.hour(work.place) {
                work.rate = hour.cost;
                work.source = Some(&hour.source);
            }
        }
    }
}

fn too_large(key: LineKey<'_>) -> BillFault {
    BillFault::TooLarge {
        line: key.to_string(),
    }
}

/// A line with nothing said of it but where it comes from.
pub(super) fn line<'a>(
    key: LineKey<'a>,
    kind: LineKind,
    from: Option<&'a LineHead>,
    content: Content<'a>,
) -> BillLine<'a> {
    BillLine {
        key,
        kind,
        from,
        code: None,
        description: "",
        cost_code: "",
        tax_category: "",
        reason: None,
        content,
        replaced: Vec::new(),
        fixed: None,
        explanation: None,
    }
}

fn goods_line<'a>(
    key: LineKey<'a>,
    kind: LineKind,
    place: usize,
    item: &'a Item,
    share: Share<'a>,
) -> BillLine<'a> {
    let goods = Goods {
        place,
        item,
        quantity: share.quantity,
        waste: share.waste,
        shares: vec![share],
        packs: Vec::new(),
        bought: Decimal::ZERO,
        left_over: Decimal::ZERO,
        cost: Decimal::ZERO,
        source: None,
    };
    let mut line = line(key, kind, Some(share.line), Content::Goods(goods));
    line.code = Some(&item.code);
    line.description = &item.description;
    line.cost_code = &item.cost_code;
    line.tax_category = &item.tax_category;
    line
}

fn share<'a>(need: &MaterialNeed<'a>, item: &Item) -> Option<Share<'a>> {
    let quantity = at_border(need.quantity);
    Some(Share {
        line: need.line,
        quantity,
        waste: at_border(quantity.checked_mul(need.waste)?),
        one_piece: need.one_piece || item.one_piece,
    })
}

fn add_share<'a>(line: &mut BillLine<'a>, cut: &mut Cut, share: Share<'a>) -> Option<()> {
    if let Content::Goods(goods) = &mut line.content {
        goods.quantity = goods.quantity.checked_add(share.quantity)?;
        goods.waste = goods.waste.checked_add(share.waste)?;
        cut.add(share)?;
        goods.shares.push(share);
    }
    Some(())
}

impl Cut {
    fn add(&mut self, share: Share<'_>) -> Option<()> {
        let whole = share.quantity.checked_add(share.waste)?;
        if share.one_piece {
            self.pieces.push(whole);
        } else {
            self.divisible = self.divisible.checked_add(whole)?;
        }
        Some(())
    }
}

/// Labour hours of a task: clock hours × crew, each factor on top of those before it, all factors together
/// at most the rulebook's limit. What the parts add up to is the whole, to the fourth decimal.
fn factored<'a>(
    need: &LabourNeed<'a>,
    (place, class): (usize, &'a LabourClass),
    max_factor: Option<Decimal>,
) -> Option<Work<'a>> {
    let base = need.hours.checked_mul(need.crew)?;
    let mut so_far = hours_at_border(base);
    let mut product = Decimal::ONE;
    let mut capped = false;
    let mut factors = Vec::with_capacity(need.factors.len());
    for factor in &need.factors {
        product = product.checked_mul(Decimal::ONE.checked_add(factor.add)?)?;
        let limited = max_factor.map_or(product, |most| product.min(most));
        capped |= limited < product;
        let with = hours_at_border(base.checked_mul(limited)?);
        factors.push(FactorHours {
            name: factor.name,
            title: factor.title,
            add: factor.add,
            hours: with.checked_sub(so_far)?,
        });
        so_far = with;
    }
    Some(Work {
        place,
        class,
        clock_hours: hours_at_border(need.hours),
        crew: at_border(need.crew),
        factors,
        capped,
        hours: so_far,
        rate: Decimal::ZERO,
        source: None,
    })
}

/// Group of goods of a line; none for a line that is not goods of the company's own buying.
pub fn group(line: &BillLine<'_>) -> Option<ItemGroup> {
    match (&line.content, line.kind) {
        (Content::Goods(goods), LineKind::Material) => Some(goods.item.group),
        (Content::Sum(_), LineKind::Material) => Some(ItemGroup::Material),
        _ => None,
    }
}
