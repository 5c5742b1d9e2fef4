//! Types and units of a formula: a tree of any shape becomes a tree of one type, or is told wrong.

use super::super::formula::{Compare, Expr, Flaw, Join, Node};
use super::super::program::{
    Choice, ChoiceOp, DomainId, Flag, FlagOp, KeyValue, Kind, Note, NoteId, Number, NumberOp, Sort, Typed,
};
use super::super::span::Span;
use super::scope::{Scope, Source, Value};
use crate::quantity::nearest;
use crate::quantity::unit::Unit;
use rust_decimal::Decimal;

/// Checks one formula. Flaws are collected; a part that has one gives nothing.
pub(super) struct Checker<'s> {
    pub(super) scope: &'s Scope,
    pub(super) notes: Vec<Note>,
    pub(super) flaws: Vec<Flaw>,
    /// Places in the rulebook of the derived values that it reads.
    pub(super) reads: Vec<usize>,
}

impl<'s> Checker<'s> {
    pub(super) fn new(scope: &'s Scope) -> Self {
        Self {
            scope,
            notes: Vec::new(),
            flaws: Vec::new(),
            reads: Vec::new(),
        }
    }

    pub(super) fn note(&mut self, span: Span, kind: Kind, sort: Sort) -> NoteId {
        self.notes.push(Note { span, kind, sort });
        NoteId::try_from(self.notes.len() - 1).unwrap_or(NoteId::MAX)
    }

    pub(super) fn flaw<T>(&mut self, flaw: Flaw) -> Option<T> {
        self.flaws.push(flaw);
        None
    }

    pub(super) fn made(&mut self, span: Span, unit: Unit, op: NumberOp) -> (Number, Unit) {
        let sort = match op {
            NumberOp::Fact(_) => Sort::Fact,
            NumberOp::Derived(_) => Sort::Derived,
            NumberOp::Convert(..) => Sort::Conversion,
            _ => Sort::Result,
        };
        (
            Number {
                note: self.note(span, Kind::Number(unit), sort),
                op,
            },
            unit,
        )
    }

    pub(super) fn made_flag(&mut self, span: Span, op: FlagOp) -> Flag {
        let sort = match op {
            FlagOp::Fact(_) => Sort::Fact,
            FlagOp::Derived(_) => Sort::Derived,
            _ => Sort::Result,
        };
        Flag {
            note: self.note(span, Kind::Flag, sort),
            op,
        }
    }

    pub(super) fn made_choice(&mut self, span: Span, domain: DomainId, op: ChoiceOp) -> Choice {
        let sort = match op {
            ChoiceOp::Fact(_) => Sort::Fact,
            ChoiceOp::Derived(_) => Sort::Derived,
            _ => Sort::Result,
        };
        Choice {
            note: self.note(span, Kind::Choice(domain), sort),
            op,
        }
    }

    /// The tree of a part, of whatever type it has. A bare word is one of `words`, where given.
    pub(super) fn infer(&mut self, expr: &Expr, words: Option<DomainId>) -> Option<Typed> {
        let span = expr.span;
        match &expr.node {
            Node::Number { .. } | Node::Unit(_) | Node::Negate(_) | Node::Arithmetic(..) | Node::Call(_) => {
                let (number, unit) = self.arithmetic(expr)?;
                Some(Typed::Number(number, unit))
            }
            Node::Truth(truth) => Some(Typed::Flag(self.made_flag(span, FlagOp::Given(*truth)))),
            Node::Quoted(word) => self.quoted(word, span, words),
            Node::Name(name) => self.name(name, span, words),
            Node::Not(part) => {
                let part = self.flag(part)?;
                Some(Typed::Flag(self.made_flag(span, FlagOp::Not(Box::new(part)))))
            }
            Node::Logic(join, sides) => self.logic(span, *join, sides),
            Node::Comparison(compare, sides) => self.comparison(span, *compare, sides),
            Node::If(parts) => self.branches(span, parts, words),
            Node::Lookup {
                table,
                name_span,
                keys,
            } => self.lookup(span, table, *name_span, keys),
        }
    }

    /// A part that must be yes or no.
    pub(super) fn flag(&mut self, expr: &Expr) -> Option<Flag> {
        match self.infer(expr, None)? {
            Typed::Flag(flag) => Some(flag),
            other => self.wrong_type(expr.span, &other, "a condition: yes or no"),
        }
    }

    /// A part that must be a number of any unit.
    pub(super) fn number(&mut self, expr: &Expr) -> Option<(Number, Unit)> {
        match self.infer(expr, None)? {
            Typed::Number(number, unit) => Some((number, unit)),
            other => self.wrong_type(expr.span, &other, "a number"),
        }
    }

    /// A part that must be a number, in this unit.
    pub(super) fn number_in(&mut self, expr: &Expr, unit: Unit) -> Option<Number> {
        let (number, own) = self.number(expr)?;
        self.convert(number, own, unit, expr.span)
    }

    /// A part that must be a word of this domain.
    pub(super) fn choice(&mut self, expr: &Expr, domain: DomainId) -> Option<Choice> {
        match self.infer(expr, Some(domain))? {
            Typed::Choice(choice, own) if own == domain => Some(choice),
            other => {
                let expected = self.scope.describe(Kind::Choice(domain));
                let expected = format!("{expected}: {}", self.scope.word_list(domain));
                self.wrong_type(expr.span, &other, &expected)
            }
        }
    }

    pub(super) fn kind_of(typed: &Typed) -> Kind {
        match typed {
            Typed::Number(_, unit) => Kind::Number(*unit),
            Typed::Flag(_) => Kind::Flag,
            Typed::Choice(_, domain) => Kind::Choice(*domain),
        }
    }

    pub(super) fn wrong_type<T>(&mut self, span: Span, typed: &Typed, expected: &str) -> Option<T> {
        let found = self.scope.describe(Self::kind_of(typed));
        self.flaw(
            Flaw::new(span, "type", "this is not what is needed here")
                .found(found)
                .expected(expected),
        )
    }

    /// Whether a part is a word that means something only beside a choice.
    fn is_word(&self, expr: &Expr) -> bool {
        match &expr.node {
            Node::Quoted(_) => true,
            // Names of facts have a dot in them: what has one is a mistyped fact.
            Node::Name(name) => !name.contains('.') && !self.scope.values.contains_key(name.as_str()),
            Node::If(parts) => self.is_word(&parts[1]) && self.is_word(&parts[2]),
            _ => false,
        }
    }

    fn quoted(&mut self, word: &str, span: Span, words: Option<DomainId>) -> Option<Typed> {
        let Some(domain) = words else {
            let flaw = Flaw::new(
                span,
                "type",
                "a word in quotes means something only beside a choice",
            );
            return self.flaw(
                flaw.found(format!("\"{word}\""))
                    .expected("a number, a condition or a name"),
            );
        };
        match self.scope.number(domain, word) {
            Some(number) => Some(Typed::Choice(
                self.made_choice(span, domain, ChoiceOp::Given(number)),
                domain,
            )),
            None => self.unknown_word(word, span, domain),
        }
    }

    fn name(&mut self, name: &str, span: Span, words: Option<DomainId>) -> Option<Typed> {
        // Beside a choice, one of its words is that word, even where a value has the same name.
        if let Some(domain) = words
            && let Some(number) = self.scope.number(domain, name)
        {
            return Some(Typed::Choice(
                self.made_choice(span, domain, ChoiceOp::Given(number)),
                domain,
            ));
        }
        match (self.scope.values.get(name).copied(), words) {
            (Some(value), _) => Some(self.value(name, span, value)),
            (None, _) if self.scope.is_broken(name) => None,
            (None, Some(domain)) => self.unknown_word(name, span, domain),
            (None, None) => self.unknown_name(name, span),
        }
    }

    fn value(&mut self, name: &str, span: Span, value: Value) -> Typed {
        self.scope.uses(name);
        if let Source::Derived { place, .. } = value.source {
            self.reads.push(place);
        }
        match (value.kind, value.source) {
            (Kind::Number(unit), Source::Fact(slot)) => {
                Typed::Number(self.made(span, unit, NumberOp::Fact(slot)).0, unit)
            }
            (Kind::Number(unit), Source::Derived { slot, .. }) => {
                Typed::Number(self.made(span, unit, NumberOp::Derived(slot)).0, unit)
            }
            (Kind::Flag, Source::Fact(slot)) => Typed::Flag(self.made_flag(span, FlagOp::Fact(slot))),
            (Kind::Flag, Source::Derived { slot, .. }) => {
                Typed::Flag(self.made_flag(span, FlagOp::Derived(slot)))
            }
            (Kind::Choice(domain), Source::Fact(slot)) => {
                Typed::Choice(self.made_choice(span, domain, ChoiceOp::Fact(slot)), domain)
            }
            (Kind::Choice(domain), Source::Derived { slot, .. }) => {
                Typed::Choice(self.made_choice(span, domain, ChoiceOp::Derived(slot)), domain)
            }
        }
    }

    fn unknown_word<T>(&mut self, word: &str, span: Span, domain: DomainId) -> Option<T> {
        let words = self
            .scope
            .domains
            .get(domain.0)
            .map(|known| (&known.name, &known.words));
        let (name, words) = words?;
        let flaw = Flaw::new(span, "unknown_word", format!("`{word}` is no word of {name}"))
            .expected(self.scope.word_list(domain))
            .suggest(
                self.scope
                    .input_called(word)
                    .or_else(|| nearest::name(word, words.iter().map(AsRef::as_ref))),
            );
        self.flaw(flaw)
    }

    fn unknown_name<T>(&mut self, name: &str, span: Span) -> Option<T> {
        let near = self.scope.nearest_value(name);
        let mut flaw = Flaw::new(span, "unknown_name", format!("nothing is called `{name}`")).suggest(near);
        if self.scope.tables.contains_key(name) {
            flaw = flaw.expected(format!("keys behind the name of a table: {name}[…]"));
        } else if self.scope.is_word(name) {
            flaw = flaw.expected("a value; a word of a choice only beside that choice");
        }
        self.flaw(flaw)
    }

    fn logic(&mut self, span: Span, join: Join, sides: &[Expr; 2]) -> Option<Typed> {
        let (left, right) = (self.flag(&sides[0]), self.flag(&sides[1]));
        let sides = Box::new([left?, right?]);
        Some(Typed::Flag(self.made_flag(span, FlagOp::Logic(join, sides))))
    }

    fn comparison(&mut self, span: Span, compare: Compare, sides: &[Expr; 2]) -> Option<Typed> {
        let same = match compare {
            Compare::Equal => Some(true),
            Compare::Unequal => Some(false),
            _ => None,
        };
        // A bare word takes its meaning from the other side.
        let swap = self.is_word(&sides[0]) && !self.is_word(&sides[1]);
        let (first, second) = if swap {
            (&sides[1], &sides[0])
        } else {
            (&sides[0], &sides[1])
        };
        let op = match self.infer(first, None)? {
            Typed::Number(number, unit) => {
                let other = self.number_in(second, unit)?;
                let sides = if swap { [other, number] } else { [number, other] };
                FlagOp::Compare(compare, Box::new(sides))
            }
            Typed::Flag(flag) => {
                let other = self.flag(second)?;
                FlagOp::SameFlag(self.only_same(span, same)?, Box::new([flag, other]))
            }
            Typed::Choice(choice, domain) => {
                let other = self.choice(second, domain)?;
                FlagOp::SameWord(self.only_same(span, same)?, Box::new([choice, other]))
            }
        };
        Some(Typed::Flag(self.made_flag(span, op)))
    }

    fn only_same(&mut self, span: Span, same: Option<bool>) -> Option<bool> {
        if same.is_none() {
            let flaw = Flaw::new(span, "type", "words and conditions have no order").expected("= or <>");
            return self.flaw(flaw);
        }
        same
    }

    fn branches(&mut self, span: Span, parts: &[Expr; 3], words: Option<DomainId>) -> Option<Typed> {
        let [condition, yes, no] = parts;
        let condition = self.flag(condition);
        let swap = words.is_none() && self.is_word(yes);
        let (first, second) = if swap { (no, yes) } else { (yes, no) };
        match self.infer(first, words)? {
            Typed::Number(number, unit) => {
                let other = self.number_in(second, unit)?;
                let branches = if swap { [other, number] } else { [number, other] };
                let op = NumberOp::If(Box::new(condition?), Box::new(branches));
                Some(Typed::Number(self.made(span, unit, op).0, unit))
            }
            Typed::Flag(flag) => {
                let other = self.flag(second)?;
                let (yes, no) = if swap { (other, flag) } else { (flag, other) };
                let op = FlagOp::If(Box::new([condition?, yes, no]));
                Some(Typed::Flag(self.made_flag(span, op)))
            }
            Typed::Choice(choice, domain) => {
                let other = self.choice(second, domain)?;
                let branches = if swap { [other, choice] } else { [choice, other] };
                let op = ChoiceOp::If(Box::new(condition?), Box::new(branches));
                Some(Typed::Choice(self.made_choice(span, domain, op), domain))
            }
        }
    }

    fn lookup(&mut self, span: Span, name: &str, name_span: Span, keys: &[Expr]) -> Option<Typed> {
        let scope = self.scope;
        let Some(head) = scope.tables.get(name) else {
            if scope.is_broken(name) {
                return None;
            }
            let near = nearest::name(name, scope.tables.keys().map(AsRef::as_ref));
            return self.flaw(
                Flaw::new(name_span, "unknown_table", format!("there is no table `{name}`")).suggest(near),
            );
        };
        scope.uses(name);
        if keys.len() != head.keys.len() {
            let names: Vec<&str> = head.keys.iter().map(|(name, _)| &**name).collect();
            let flaw = Flaw::new(span, "keys", format!("table `{name}` has another number of keys"))
                .found(keys.len().to_string())
                .expected(format!("{}: {}", names.len(), names.join(", ")));
            return self.flaw(flaw);
        }
        let mut values = Vec::new();
        let mut at = None;
        let mut complete = true;
        for (place, (expr, (_, kind))) in keys.iter().zip(&head.keys).enumerate() {
            let value = match kind {
                Kind::Number(unit) => self.number_in(expr, *unit).map(KeyValue::Number),
                Kind::Flag => self.flag(expr).map(KeyValue::Flag),
                Kind::Choice(domain) => self.choice(expr, *domain).map(KeyValue::Choice),
            };
            match value {
                Some(KeyValue::Number(number)) if head.curve == Some(place) => at = Some(number),
                Some(value) => values.push(value),
                None => complete = false,
            }
        }
        if !complete {
            return None;
        }
        let note = self.note(span, head.value, Sort::Cell(head.place));
        Some(match (head.value, at) {
            (Kind::Number(unit), Some(at)) => {
                let op = NumberOp::Curve(head.slot, values, Box::new(at));
                Typed::Number(Number { note, op }, unit)
            }
            (Kind::Number(unit), None) => Typed::Number(
                Number {
                    note,
                    op: NumberOp::Cell(head.slot, values),
                },
                unit,
            ),
            (Kind::Flag, _) => Typed::Flag(Flag {
                note,
                op: FlagOp::Cell(head.slot, values),
            }),
            (Kind::Choice(domain), _) => Typed::Choice(
                Choice {
                    note,
                    op: ChoiceOp::Cell(head.slot, values),
                },
                domain,
            ),
        })
    }

    pub(super) fn given(&mut self, span: Span, value: Decimal, unit: Unit) -> (Number, Unit) {
        self.made(span, unit, NumberOp::Given(value))
    }
}
