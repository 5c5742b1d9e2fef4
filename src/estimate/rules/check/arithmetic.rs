//! Units of numbers: what may be added, multiplied, compared, and where a conversion goes in.

use super::super::formula::{Call, Expr, Flaw, Function, Node, Sum};
use super::super::program::{Kind, Number, NumberOp, Scale};
use super::super::span::Span;
use super::expression::Checker;
use crate::quantity::Quantity;
use crate::quantity::decimal::plain;
use crate::quantity::rounding::Towards;
use crate::quantity::unit::{Ratio, Unit};
use rust_decimal::Decimal;

impl Checker<'_> {
    /// A part that is a number by its shape.
    pub(super) fn arithmetic(&mut self, expr: &Expr) -> Option<(Number, Unit)> {
        let span = expr.span;
        match &expr.node {
            Node::Number { value, unit, .. } => Some(self.given(span, *value, unit.unwrap_or(Unit::ONE))),
            Node::Unit(unit) if unit.dimension().is_point() => {
                let flaw = Flaw::new(
                    span,
                    "temperature",
                    "a temperature without a number means nothing",
                )
                .suggest(unit.degree_difference().map(|difference| difference.symbol()));
                self.flaw(flaw)
            }
            Node::Unit(unit) => Some(self.given(span, Decimal::ONE, *unit)),
            Node::Negate(part) => self.negate(span, part),
            Node::Arithmetic(sum, sides) => {
                let (left, right) = (self.number(&sides[0]), self.number(&sides[1]));
                let (left, right) = (left?, right?);
                match sum {
                    Sum::Add | Sum::Subtract => self.sum(span, *sum, left, right, &sides[1]),
                    Sum::Multiply | Sum::Divide => self.product(span, *sum, left, right, sides),
                }
            }
            Node::Call(call) => self.call(span, call),
            _ => None,
        }
    }

    /// The sign of a temperature belongs to its number: -10 degF is a point, -(10 degF) is nothing else.
    fn negate(&mut self, span: Span, part: &Expr) -> Option<(Number, Unit)> {
        if let Node::Number { value, unit, .. } = &part.node {
            return Some(self.given(span, -*value, unit.unwrap_or(Unit::ONE)));
        }
        let (number, unit) = self.number(part)?;
        self.no_point(unit, part.span)?;
        Some(self.made(span, unit, NumberOp::Negate(Box::new(number))))
    }

    /// Refuses a temperature where only a difference, or another quantity, makes sense.
    fn no_point(&mut self, unit: Unit, span: Span) -> Option<()> {
        let Some(difference) = unit.degree_difference() else {
            return Some(());
        };
        let flaw = Flaw::new(
            span,
            "temperature",
            "a temperature cannot be multiplied, summed or turned about",
        )
        .found(self.scope.describe(Kind::Number(unit)))
        .expected(format!(
            "a difference ({difference}); the difference of two temperatures is one"
        ));
        self.flaw(flaw)
    }

    /// 1 h + 5 % says nothing of what the five hundredths are of.
    fn share_of_nothing<T>(&mut self, span: Span, sum: Sum, value: Decimal) -> Option<T> {
        let whole = match sum {
            Sum::Subtract => Decimal::ONE.checked_sub(value),
            _ => Decimal::ONE.checked_add(value),
        };
        let percent = whole.and_then(|whole| whole.checked_mul(Decimal::ONE_HUNDRED));
        let instead = percent.map(|percent| format!("* {} %", plain(percent)));
        let message = "a percentage is a plain number, not a part of what stands before it";
        let flaw = Flaw::new(span, "dimension", message)
            .expected("a product where a part of the same is added or taken away");
        self.flaw(flaw.suggest(instead))
    }

    fn sum(
        &mut self,
        span: Span,
        sum: Sum,
        (left, left_unit): (Number, Unit),
        (right, right_unit): (Number, Unit),
        right_expr: &Expr,
    ) -> Option<(Number, Unit)> {
        // The unit of the result and the unit that the right side must have for it.
        let (result, wanted) = match (left_unit.degree_difference(), right_unit.degree_difference(), sum) {
            (Some(difference), Some(_), Sum::Subtract) => (difference, left_unit),
            (Some(_), Some(_), _) => {
                self.no_point(right_unit, right_expr.span)?;
                return None;
            }
            (Some(difference), None, _) => (left_unit, difference),
            (None, Some(difference), Sum::Add) => {
                let left = self.convert(left, left_unit, difference, span)?;
                let op = NumberOp::Arithmetic(sum, Box::new([left, right]));
                return Some(self.made(span, right_unit, op));
            }
            (None, Some(_), _) => {
                self.no_point(right_unit, right_expr.span)?;
                return None;
            }
            (None, None, _) => (left_unit, left_unit),
        };
        if let (
            Node::Number {
                value, percent: true, ..
            },
            false,
        ) = (&right_expr.node, wanted.same_dimension(&Unit::ONE))
        {
            return self.share_of_nothing(right_expr.span, sum, *value);
        }
        let right = self.convert(right, right_unit, wanted, right_expr.span)?;
        Some(self.made(span, result, NumberOp::Arithmetic(sum, Box::new([left, right]))))
    }

    fn product(
        &mut self,
        span: Span,
        sum: Sum,
        (left, left_unit): (Number, Unit),
        (right, right_unit): (Number, Unit),
        sides: &[Expr; 2],
    ) -> Option<(Number, Unit)> {
        let fine = (
            self.no_point(left_unit, sides[0].span),
            self.no_point(right_unit, sides[1].span),
        );
        let ((), ()) = (fine.0?, fine.1?);
        if sum == Sum::Divide && matches!(right.op, NumberOp::Given(value) if value.is_zero()) {
            return self.flaw(Flaw::new(
                sides[1].span,
                "division_by_zero",
                "this divides by zero",
            ));
        }
        let power = if sum == Sum::Divide { -1 } else { 1 };
        let unit = match left_unit.times(&right_unit, power) {
            Ok(unit) => unit,
            Err(fault) => return self.flaw(Flaw::new(span, "unit", fault.to_string())),
        };
        let made = self.made(span, unit, NumberOp::Arithmetic(sum, Box::new([left, right])));
        // ft/in measures nothing: from here on it is a plain number.
        if unit.dimension().is_plain() && unit != Unit::ONE {
            let number = self.convert(made.0, unit, Unit::ONE, span)?;
            return Some((number, Unit::ONE));
        }
        Some(made)
    }

    /// The number in another unit; a number that is written out is converted once and for all.
    pub(super) fn convert(&mut self, number: Number, from: Unit, to: Unit, span: Span) -> Option<Number> {
        if from == to {
            return Some(number);
        }
        if !from.same_dimension(&to) {
            let expected = self.scope.describe(Kind::Number(to));
            let mut flaw = Flaw::new(
                span,
                "dimension",
                "this measures something else than is needed here",
            )
            .found(self.scope.describe(Kind::Number(from)))
            .expected(expected);
            if let (Unit::ONE, NumberOp::Given(value)) = (from, &number.op) {
                flaw = flaw.suggest(Some(format!("{value} {to}")));
            }
            return self.flaw(flaw);
        }
        if let NumberOp::Given(value) = number.op {
            let above_zero = Ratio::of_decimal(value).plus(&from.zero()).times(&from.scale());
            let value = above_zero.over(&to.scale()).minus(&to.zero()).nearest_decimal();
            if let Some(value) = value {
                return Some(Number {
                    note: number.note,
                    op: NumberOp::Given(value),
                });
            }
        }
        let Some(scale) = Scale::between(&from, &to) else {
            let flaw = Flaw::new(
                span,
                "unit",
                format!("{from} and {to} are too far apart to convert"),
            );
            return self.flaw(flaw);
        };
        Some(self.made(span, to, NumberOp::Convert(scale, Box::new(number))).0)
    }

    fn call(&mut self, span: Span, call: &Call) -> Option<(Number, Unit)> {
        let count = call.arguments.len();
        let (least, most, shape) = match call.function {
            Function::Min | Function::Max => (2, usize::MAX, "two or more numbers"),
            Function::Abs => (1, 1, "one number"),
            Function::Clamp => (3, 3, "a number, the lowest and the highest"),
            Function::RoundUp | Function::RoundDown | Function::RoundTo => (1, 2, "a number and a step"),
        };
        if count < least || count > most {
            let name = call.function.name();
            let flaw = Flaw::new(span, "arguments", format!("`{name}` takes {shape}"))
                .found(format!("{count} of them"));
            return self.flaw(flaw);
        }
        let [first, rest @ ..] = call.arguments.as_slice() else {
            return None;
        };
        match call.function {
            Function::RoundUp => self.step(span, Towards::Up, first, rest.first()),
            Function::RoundDown => self.step(span, Towards::Down, first, rest.first()),
            Function::RoundTo => self.step(span, Towards::Nearest, first, rest.first()),
            Function::Abs => {
                let (number, unit) = self.number(first)?;
                self.no_point(unit, first.span)?;
                Some(self.made(span, unit, NumberOp::Absolute(Box::new(number))))
            }
            Function::Min | Function::Max | Function::Clamp => {
                let (number, unit) = self.number(first)?;
                let others: Vec<Option<Number>> =
                    rest.iter().map(|part| self.number_in(part, unit)).collect();
                let others: Vec<Number> = others.into_iter().collect::<Option<_>>()?;
                let op = match call.function {
                    Function::Min => NumberOp::Least(Box::new(number), others),
                    Function::Max => NumberOp::Greatest(Box::new(number), others),
                    _ => {
                        let Ok([low, high]) = <[Number; 2]>::try_from(others) else {
                            return None;
                        };
                        self.in_order(span, &low, &high, unit)?;
                        NumberOp::Clamp(Box::new([number, low, high]))
                    }
                };
                Some(self.made(span, unit, op))
            }
        }
    }

    /// Bounds that are written out must leave something between them.
    fn in_order(&mut self, span: Span, low: &Number, high: &Number, unit: Unit) -> Option<()> {
        let (NumberOp::Given(low), NumberOp::Given(high)) = (&low.op, &high.op) else {
            return Some(());
        };
        if low <= high {
            return Some(());
        }
        let [low, high] = [low, high].map(|bound| Quantity { value: *bound, unit }.to_string());
        let flaw = Flaw::new(span, "arguments", "the lowest is above the highest")
            .found(format!("{low} as the lowest, {high} as the highest"))
            .expected(format!("the other way about: {high}, {low}"));
        self.flaw(flaw)
    }

    /// The step is a number that is written out, so that it is known to be above zero.
    fn step(
        &mut self,
        span: Span,
        towards: Towards,
        part: &Expr,
        step: Option<&Expr>,
    ) -> Option<(Number, Unit)> {
        let number = self.number(part);
        let (size, unit, step_span) = match step {
            None => {
                let (_, unit) = number.as_ref()?;
                if *unit != Unit::ONE && *unit != Unit::EACH {
                    let flaw = Flaw::new(span, "arguments", "it is not clear to which step this is rounded")
                        .found(self.scope.describe(Kind::Number(*unit)))
                        .expected(format!("a step, such as 1 {unit}"));
                    return self.flaw(flaw);
                }
                (Decimal::ONE, *unit, span)
            }
            Some(step) => match &step.node {
                Node::Number { value, unit, .. } if !value.is_zero() => {
                    (*value, unit.unwrap_or(Unit::ONE), step.span)
                }
                Node::Unit(unit) => (Decimal::ONE, *unit, step.span),
                _ => {
                    let flaw = Flaw::new(
                        step.span,
                        "step",
                        "the step is not written out as a number above zero",
                    )
                    .expected("a number above zero, such as 6 ft");
                    return self.flaw(flaw);
                }
            },
        };
        let (number, own) = number?;
        self.no_point(own, part.span)?;
        // The result is a multiple of the step, and so is best given in the step's unit.
        if own.same_dimension(&unit) {
            let number = self.convert(number, own, unit, part.span)?;
            return Some(self.made(span, unit, NumberOp::Step(towards, Box::new(number), size)));
        }
        let flaw = Flaw::new(
            step_span,
            "dimension",
            "the step measures something else than what is rounded",
        )
        .found(self.scope.describe(Kind::Number(unit)))
        .expected(self.scope.describe(Kind::Number(own)));
        self.flaw(flaw)
    }
}
