//! A program on the facts of one job.

mod closing;
mod compute;
mod fault;
mod machine;
mod needed;
mod record;

use super::outcome::{
    AmountCost, AmountNeed, AppliedFactor, AssemblyHead, LabourNeed, LineHead, MaterialNeed, Outcome,
};
use super::program::MOST_WASTE;
use super::program::{
    AssemblyRule, ChargeCostRule, ChargeRule, Flag, Formula, ItemNeed, ItemRule, LineRule, LineRuleKind,
    Number, Program,
};
use super::trace::{Place, Trace};
use crate::quantity::fact::FactValue;
use compute::settled;
pub use fault::{RunFault, RunReason};
use machine::{Machine, place_fault};
use rust_decimal::Decimal;

/// What a run takes.
#[derive(Debug, Clone, Copy)]
pub struct RunInput<'a> {
    /// One value for each of [`Program::facts`], in that order.
    pub facts: &'a [FactValue],
    /// JSON Pointers of the answers that are unknown on this job and that it needs.
    pub unknown: &'a [&'a str],
    /// Whether to keep how each result came about.
    pub explain: bool,
}

type Run<T> = Result<T, Box<RunFault>>;

impl Program {
    /// What the rulebook asks for on one job.
    ///
    /// # Errors
    /// The first formula without a result: an overflow, a division by zero, a negative quantity, a
    /// look-up outside of a table that does not hold there; or facts that are not [`Program::facts`].
    pub fn run<'p>(&'p self, input: RunInput<'_>) -> Result<Outcome<'p>, Box<RunFault>> {
        self.admit(input.facts)?;
        if input.explain {
            Job::<true>::new(self, input.facts).run(input.unknown)
        } else {
            Job::<false>::new(self, input.facts).run(input.unknown)
        }
    }

    fn admit(&self, facts: &[FactValue]) -> Run<()> {
        let wrong = self
            .facts
            .iter()
            .zip(facts)
            .find(|(def, value)| !def.admits(value))
            .map(|(def, _)| def);
        let lacking = self.facts.get(facts.len());
        let surplus = facts.len() > self.facts.len();
        let name = match (wrong.or(lacking), surplus) {
            (Some(def), _) => def.name.to_string(),
            (None, true) => "one too many".to_owned(),
            (None, false) => return Ok(()),
        };
        Err(Box::new(RunFault {
            place: "facts".to_owned(),
            assembly: None,
            line: None,
            formula: String::new(),
            position: None,
            written: None,
            part: String::new(),
            reason: RunReason::WrongFacts { name },
        }))
    }
}

/// One run as it goes on.
struct Job<'p, 'f, const EXPLAIN: bool> {
    machine: Machine<'p, 'f, EXPLAIN>,
    program: &'p Program,
    /// Labour factors, once something is exposed to them: whether they apply and what they add.
    factors: Vec<Option<Option<Decimal>>>,
    /// Which assemblies made a line, and which items were needed.
    made_assemblies: Vec<bool>,
    made_items: Vec<bool>,
    out: Outcome<'p>,
}

impl<'p, 'f, const EXPLAIN: bool> Job<'p, 'f, EXPLAIN> {
    fn new(program: &'p Program, facts: &'f [FactValue]) -> Self {
        Self {
            machine: Machine::new(program, facts),
            program,
            factors: vec![None; program.factors.len()],
            made_assemblies: vec![false; program.assemblies.len()],
            made_items: vec![false; program.item_count()],
            out: Outcome {
                needs: Vec::with_capacity(program.line_count),
                labour: Vec::with_capacity(program.line_count),
                amounts: Vec::new(),
                max_factor: program.max_factor,
                assemblies: Vec::with_capacity(program.assemblies.len()),
                raised: Vec::new(),
                exclusions: Vec::new(),
                missing: Vec::new(),
                allowances: Vec::new(),
                counts: Vec::new(),
                trace: None,
            },
        }
    }

    fn run(mut self, unknown: &[&str]) -> Run<Outcome<'p>> {
        let program = self.program;
        for assembly in &program.assemblies {
            self.assembly(assembly)?;
        }
        self.close(unknown)?;
        self.out.counts = self.machine.counts();
        if EXPLAIN {
            self.out.trace = Some(Trace {
                formulas: self.machine.recorder.formulas,
            });
        }
        Ok(self.out)
    }

    /// Whether a condition holds; one that is absent always does.
    fn holds(&mut self, when: Option<&'p Formula<Flag>>, place: impl Fn() -> Place<'p>) -> Run<bool> {
        match when {
            Some(when) => self.machine.flag_of(when, place),
            None => Ok(true),
        }
    }

    fn not_negative(&mut self, formula: &'p Formula<Number>, place: impl Fn() -> Place<'p>) -> Run<Decimal> {
        let value = self.machine.number_of(formula, &place)?;
        if value.is_sign_negative() {
            // What rounding leaves of a difference is no quantity.
            if settled(value).is_zero() {
                return Ok(Decimal::ZERO);
            }
            let reason = RunReason::Negative {
                value: value.normalize(),
            };
            return Err(Box::new(place_fault(formula, formula.tree.note, place(), reason)));
        }
        Ok(value)
    }

    fn waste(&mut self, formula: &'p Formula<Number>, place: impl Fn() -> Place<'p>) -> Run<Decimal> {
        let value = self.not_negative(formula, &place)?;
        if value > MOST_WASTE {
            let reason = RunReason::TooMuchWaste { value };
            return Err(Box::new(place_fault(formula, formula.tree.note, place(), reason)));
        }
        Ok(value)
    }

    fn assembly(&mut self, rule: &'p AssemblyRule) -> Run<()> {
        let assembly: &'p AssemblyHead = &rule.head;
        if !self.holds(rule.when.as_ref(), || Place::Assembly { assembly })? {
            return Ok(());
        }
        self.out.assemblies.push(assembly);
        for line in &rule.lines {
            self.line(line)?;
        }
        Ok(())
    }

    fn line(&mut self, rule: &'p LineRule) -> Run<()> {
        let line = &rule.head;
        if !self.holds(rule.when.as_ref(), || Place::of_line(line, "when"))? {
            return Ok(());
        }
        match &rule.kind {
            LineRuleKind::Material {
                need,
                waste,
                one_piece,
            } => {
                if let Some((item, item_place, quantity)) = self.item_need(line, need)? {
                    let waste = match waste {
                        Some(waste) => self.waste(waste, || Place::of_line(line, "waste"))?,
                        None => Decimal::ZERO,
                    };
                    let one_piece = *one_piece;
                    mark(&mut self.made_assemblies, line.assembly.place);
                    self.out.needs.push(MaterialNeed {
                        line,
                        item,
                        item_place,
                        quantity,
                        waste,
                        one_piece,
                    });
                }
            }
            LineRuleKind::Labour {
                task,
                title,
                class,
                class_place,
                hours,
                crew,
                factors,
            } => {
                let hours = self.not_negative(hours, || Place::of_line(line, "hours"))?;
                let crew = match crew {
                    Some(crew) => self.not_negative(crew, || Place::of_line(line, "crew"))?,
                    None => Decimal::ONE,
                };
                if !hours.is_zero() && !crew.is_zero() {
                    let factors = self.applied(factors)?;
                    let class_place = *class_place;
                    mark(&mut self.made_assemblies, line.assembly.place);
                    self.out.labour.push(LabourNeed {
                        line,
                        task,
                        title,
                        class,
                        class_place,
                        hours,
                        crew,
                        factors,
                    });
                }
            }
            LineRuleKind::Charge(charge) => self.charge(line, charge)?,
        }
        Ok(())
    }

    /// The item, its place and how much of it; nothing when that is zero.
    fn item_need(
        &mut self,
        line: &'p LineHead,
        need: &'p ItemNeed,
    ) -> Run<Option<(&'p str, usize, Decimal)>> {
        let quantity = self.not_negative(&need.quantity, || Place::of_line(line, "quantity"))?;
        if quantity.is_zero() {
            return Ok(None);
        }
        let found = match &need.item {
            ItemRule::One { code, place } => (&**code, place.place(), quantity),
            ItemRule::Found { formula, scales } => {
                let place = || Place::of_line(line, "item_from");
                let number = self.machine.choice_of(formula, place)?;
                let scale = scales.iter().find(|(item, _)| *item == number);
                let quantity = scale
                    .map_or(Some(quantity), |(_, scale)| scale.apply(quantity))
                    .ok_or_else(|| {
                        let place = Place::of_line(line, "quantity");
                        place_fault(
                            &need.quantity,
                            need.quantity.tree.note,
                            place,
                            RunReason::Overflow,
                        )
                    })?;
                (self.program.item_code(number), number.place(), quantity)
            }
        };
        mark(&mut self.made_items, found.1);
        Ok(Some(found))
    }

    fn charge(&mut self, line: &'p LineHead, rule: &'p ChargeRule) -> Run<()> {
        let cost = match &rule.cost {
            ChargeCostRule::Money(amount) => {
                let amount = self.not_negative(amount, || Place::of_line(line, "amount"))?;
                (!amount.is_zero()).then_some(AmountCost::Money(amount))
            }
            ChargeCostRule::Item(need) => {
                self.item_need(line, need)?
                    .map(|(item, item_place, quantity)| AmountCost::Item {
                        item,
                        item_place,
                        quantity,
                    })
            }
        };
        if let Some(cost) = cost {
            mark(&mut self.made_assemblies, line.assembly.place);
            self.out.amounts.push(AmountNeed {
                line,
                kind: rule.kind,
                trade: rule.trade.as_deref(),
                title: &rule.title,
                cost_code: &rule.cost_code,
                tax_category: &rule.tax_category,
                cost,
            });
        }
        Ok(())
    }

    /// Those of the factors that apply on this job.
    fn applied(&mut self, places: &'p [usize]) -> Run<Vec<AppliedFactor<'p>>> {
        let program = self.program;
        let mut applied = Vec::with_capacity(places.len());
        for place in places {
            let (Some(rule), Some(known)) = (program.factors.get(*place), self.factors.get(*place).copied())
            else {
                continue;
            };
            let add = match known {
                Some(add) => add,
                None => self.factor(*place)?,
            };
            applied.extend(add.map(|add| AppliedFactor {
                name: &rule.name,
                title: &rule.title,
                add,
            }));
        }
        Ok(applied)
    }

    /// Computes a factor, once a job.
    fn factor(&mut self, place: usize) -> Run<Option<Decimal>> {
        let Some(rule) = self.program.factors.get(place) else {
            return Ok(None);
        };
        let named = |field| Place::Factor {
            name: &rule.name,
            field,
        };
        let mut add = None;
        if self.machine.flag_of(&rule.when, || named("when"))? {
            let value = self.machine.number_of(&rule.add, || named("add"))?;
            if value <= Decimal::NEGATIVE_ONE {
                let reason = RunReason::Negative {
                    value: value.normalize(),
                };
                return Err(Box::new(place_fault(
                    &rule.add,
                    rule.add.tree.note,
                    named("add"),
                    reason,
                )));
            }
            add = Some(value);
        }
        if let Some(known) = self.factors.get_mut(place) {
            *known = Some(add);
        }
        Ok(add)
    }
}

fn mark(list: &mut [bool], place: usize) {
    if let Some(made) = list.get_mut(place) {
        *made = true;
    }
}
