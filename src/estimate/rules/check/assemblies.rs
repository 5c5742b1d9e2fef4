//! Assemblies and their lines: items, labour classes, units, factors.

use super::super::outcome::{AmountKind, AssemblyHead, LineHead};
use super::super::program::{
    AssemblyRule, ChargeCostRule, ChargeRule, Choice, ChoiceOp, FactorRule, Formula, ITEMS, ItemNeed,
    ItemRule, LineRule, LineRuleKind, Scale, Table,
};
use super::super::rulebook::{Assembly, Charge, ChargeCost, Factor, ItemSource, Line, LineKind, Text};
use super::compiler::{At, Compiler};
use crate::quantity::fact::WordNumber;
use crate::quantity::nearest;
use crate::quantity::unit::Unit;
use std::collections::BTreeSet;
use std::sync::Arc;

impl Compiler<'_, '_> {
    pub(super) fn factors(&mut self, factors: &[Factor]) -> Vec<FactorRule> {
        self.unique("labour factor", "name", factors.iter().map(|factor| &factor.name));
        let mut made = Vec::new();
        for factor in factors {
            let part = format!("labour factor {}", factor.name.as_str());
            let when = self.flag(At::new(&part, "when"), &factor.when);
            let add = self.number(At::new(&part, "add"), &factor.add, Unit::ONE);
            let (name, title) = (factor.name.shared(), factor.title.shared());
            made.extend(when.zip(add).map(|(when, add)| FactorRule {
                name,
                title,
                when,
                add,
            }));
        }
        made
    }

    pub(super) fn assemblies(
        &mut self,
        assemblies: &[Assembly],
        factors: &[Factor],
        tables: &[Table<WordNumber>],
    ) -> Vec<AssemblyRule> {
        self.unique(
            "assembly",
            "code",
            assemblies.iter().map(|assembly| &assembly.code),
        );
        let mut made = Vec::new();
        for (place, assembly) in assemblies.iter().enumerate() {
            let part = format!("assembly {}", assembly.code.as_str());
            if assembly.lines.is_empty() {
                let flaw = assembly.code.whole("empty", "the assembly has no lines");
                self.findings.warning(&part, "line", flaw);
            }
            let tasks = assembly.lines.iter().filter_map(|line| match &line.kind {
                LineKind::Labour { task, .. } => Some(task),
                _ => None,
            });
            self.unique(&format!("task in {part}"), "task", tasks);
            let when = self.maybe_condition(At::new(&part, "when"), assembly.when.as_ref());
            let head = Arc::new(AssemblyHead {
                place,
                code: assembly.code.shared(),
                title: assembly.title.shared(),
                section: assembly.section.shared(),
            });
            let mut lines = Vec::new();
            for (line, number) in assembly.lines.iter().zip(1..) {
                let part = format!("{part}, line {number}");
                let head = LineHead {
                    assembly: Arc::clone(&head),
                    number,
                    note: line.note.as_ref().map(Text::shared),
                };
                lines.extend(self.line(&part, head, line, factors, tables));
            }
            made.extend(when.map(|when| AssemblyRule { head, when, lines }));
        }
        made
    }

    fn line(
        &mut self,
        part: &str,
        head: LineHead,
        line: &Line,
        factors: &[Factor],
        tables: &[Table<WordNumber>],
    ) -> Option<LineRule> {
        let at = At::new(part, "when");
        let when = self.maybe_condition(at, line.when.as_ref());
        let kind = match &line.kind {
            LineKind::Material {
                item,
                quantity,
                waste,
                one_piece,
            } => {
                let need = self.item_need(at, item, quantity, tables);
                let waste = self.maybe_number(at.field("waste"), waste.as_ref(), Unit::ONE);
                let one_piece = *one_piece;
                need.zip(waste).map(|(need, waste)| LineRuleKind::Material {
                    need,
                    waste,
                    one_piece,
                })
            }
            LineKind::Labour {
                task,
                title,
                class,
                hours,
                crew,
                factors: exposed,
            } => {
                let class_place = self.labour_class(at.field("class"), class);
                let hours = self.number(at.field("hours"), hours, Unit::H);
                let crew = self.maybe_number(at.field("crew"), crew.as_ref(), Unit::ONE);
                let places = self.factor_places(at.field("factors"), exposed, factors);
                match (class_place, hours, crew) {
                    (Some(class_place), Some(hours), Some(crew)) => Some(LineRuleKind::Labour {
                        task: task.shared(),
                        title: title.shared(),
                        class: class.shared(),
                        class_place,
                        hours,
                        crew,
                        factors: places,
                    }),
                    _ => None,
                }
            }
            LineKind::Subcontract { trade, charge } => {
                self.charge(at, AmountKind::Subcontract, trade.as_ref(), charge, tables)
            }
            LineKind::Fee { charge } => self.charge(at, AmountKind::Fee, None, charge, tables),
        };
        Some(LineRule {
            head,
            when: when?,
            kind: kind?,
        })
    }

    fn factor_places(&mut self, at: At<'_>, exposed: &[Text], factors: &[Factor]) -> Vec<usize> {
        let mut places = Vec::new();
        for name in exposed {
            match factors.iter().position(|factor| factor.name == *name) {
                Some(place) if places.contains(&place) => {
                    self.error(
                        at,
                        name.whole(
                            "duplicate",
                            format!("the factor `{}` stands twice", name.as_str()),
                        ),
                    );
                }
                Some(place) => {
                    self.scope.uses(&format!("factor {}", name.as_str()));
                    places.push(place);
                }
                None => {
                    let near = nearest::name(name, factors.iter().map(|factor| &*factor.name));
                    let message = format!("there is no labour factor `{}`", name.as_str());
                    self.error(at, name.whole("unknown_factor", message).suggest(near));
                }
            }
        }
        places
    }

    fn charge(
        &mut self,
        at: At<'_>,
        kind: AmountKind,
        trade: Option<&Text>,
        charge: &Charge,
        tables: &[Table<WordNumber>],
    ) -> Option<LineRuleKind> {
        self.cost_code(at.field("cost_code"), &charge.cost_code);
        self.tax_category(at.field("tax_category"), &charge.tax_category);
        let cost = match &charge.cost {
            ChargeCost::Money { amount } => self
                .number(at.field("amount"), amount, Unit::MONEY)
                .map(ChargeCostRule::Money),
            ChargeCost::Item { item, quantity } => self
                .item_need(at, item, quantity, tables)
                .map(ChargeCostRule::Item),
        };
        Some(LineRuleKind::Charge(ChargeRule {
            kind,
            trade: trade.map(Text::shared),
            title: charge.title.shared(),
            cost_code: charge.cost_code.shared(),
            tax_category: charge.tax_category.shared(),
            cost: cost?,
        }))
    }

    fn item_need(
        &mut self,
        at: At<'_>,
        source: &ItemSource,
        quantity: &Text,
        tables: &[Table<WordNumber>],
    ) -> Option<ItemNeed> {
        match source {
            ItemSource::Code(code) => {
                let found = self.item(at.field("item"), code);
                // The quantity is checked even when the item is unknown, as far as that goes.
                let Some((place, unit)) = found else {
                    self.any(at.field("quantity"), quantity);
                    return None;
                };
                let quantity = self.number(at.field("quantity"), quantity, unit)?;
                Some(ItemNeed {
                    item: ItemRule::One {
                        code: code.shared(),
                        place: WordNumber::at(place),
                    },
                    quantity,
                })
            }
            ItemSource::Formula(text) => {
                let formula = self.choice(at.field("item_from"), text, ITEMS);
                let Some(formula) = formula else {
                    self.any(at.field("quantity"), quantity);
                    return None;
                };
                self.found_item(at, text, formula, quantity, tables)
            }
        }
    }

    /// Every item that the formula may find must be counted in a unit of the quantity's dimension.
    fn found_item(
        &mut self,
        at: At<'_>,
        text: &Text,
        formula: Formula<Choice>,
        quantity: &Text,
        tables: &[Table<WordNumber>],
    ) -> Option<ItemNeed> {
        let mut possible = BTreeSet::new();
        possible_items(&formula.tree, tables, &mut possible);
        let unit_of = |item: WordNumber| {
            self.names
                .items
                .get(item.place())
                .map(|(code, unit)| (code, *unit))
        };
        let units: Vec<(WordNumber, &str, Unit)> = possible
            .iter()
            .filter_map(|item| unit_of(*item).map(|(code, unit)| (*item, &**code, unit)))
            .collect();
        let Some((_, first_code, first)) = units.first().copied() else {
            // The tables that it looks up have been told wrong.
            self.any(at.field("quantity"), quantity);
            return None;
        };
        let mut scales = Vec::new();
        for (item, code, unit) in units {
            if unit == first {
                continue;
            }
            match Scale::between(&first, &unit).filter(|_| first.same_dimension(&unit)) {
                Some(scale) => scales.push((item, scale)),
                None => {
                    let message = "the items that this may find are not counted in units of one dimension";
                    let flaw = text
                        .whole("dimension", message)
                        .found(format!("{first_code} by {first}, {code} by {unit}"))
                        .expected("units that convert into one another");
                    self.error(at.field("item_from"), flaw);
                    return None;
                }
            }
        }
        let quantity = self.number(at.field("quantity"), quantity, first)?;
        Some(ItemNeed {
            item: ItemRule::Found { formula, scales },
            quantity,
        })
    }
}

/// Every item that a tree may give.
fn possible_items(tree: &Choice, tables: &[Table<WordNumber>], found: &mut BTreeSet<WordNumber>) {
    match &tree.op {
        ChoiceOp::Given(item) => {
            found.insert(*item);
        }
        ChoiceOp::If(_, branches) => {
            for branch in branches.iter() {
                possible_items(branch, tables, found);
            }
        }
        ChoiceOp::Cell(table, _) => {
            found.extend(tables.get(*table).into_iter().flat_map(|table| &table.values))
        }
        // No fact and no derived value is an item.
        ChoiceOp::Fact(_) | ChoiceOp::Derived(_) => {}
    }
}
