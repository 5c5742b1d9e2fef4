//! Tokens to a tree, by precedence.

use super::Flaw;
use super::token::{Token, tokens};
use super::tree::{Call, Compare, Expr, Function, Join, Node, Sum};
use crate::quantity::decimal::{self, DecimalFault};
use crate::quantity::nearest;
use crate::quantity::unit::{Unit, UnitFault};
use crate::rules::span::Span;
use rust_decimal::Decimal;

/// The longest formula, in bytes.
pub const MAX_LENGTH: usize = 4_000;
/// The most parts of a formula.
pub const MAX_NODES: usize = 500;
/// The most levels of a formula.
pub const MAX_DEPTH: usize = 100;
/// The most decimals of a number in a formula.
const NUMBER_SCALE: u32 = 12;

/// Words that have a meaning of their own.
pub(crate) const KEYWORDS: [&str; 8] = ["if", "then", "else", "and", "or", "not", "true", "false"];

/// How tightly an operator binds; higher is tighter.
mod binding {
    pub(super) const LOOSEST: u8 = 0;
    pub(super) const OR: u8 = 1;
    pub(super) const AND: u8 = 2;
    pub(super) const NOT: u8 = 3;
    pub(super) const COMPARISON: u8 = 4;
    pub(super) const SUM: u8 = 5;
    pub(super) const PRODUCT: u8 = 6;
    pub(super) const SIGN: u8 = 7;
}

/// Reads a formula.
///
/// # Errors
/// The first thing that is not in the grammar, or a bound that is passed.
pub fn parse(text: &str) -> Result<Expr, Flaw> {
    if text.len() > MAX_LENGTH {
        let flaw = Flaw::new(
            Span::new(0, 0),
            "too_long",
            "the formula is too long; name parts of it as derived values",
        );
        return Err(flaw
            .found(format!("{} bytes", text.len()))
            .expected(format!("at most {MAX_LENGTH}")));
    }
    let tokens = tokens(text)?;
    let mut parser = Parser {
        text,
        tokens: &tokens,
        at: 0,
        nodes: 0,
        level: 0,
    };
    let expr = parser.expression(binding::LOOSEST)?;
    match parser.peek() {
        None => Ok(expr),
        Some((token, span)) => Err(parser.unexpected(token, span, "an operator or the end of the formula")),
    }
}

enum Infix {
    Sum(Sum),
    Compare(Compare),
    Join(Join),
}

struct Parser<'t> {
    text: &'t str,
    tokens: &'t [(Token<'t>, Span)],
    at: usize,
    nodes: usize,
    level: usize,
}

impl<'t> Parser<'t> {
    fn peek(&self) -> Option<(Token<'t>, Span)> {
        self.tokens.get(self.at).copied()
    }

    fn next(&mut self) -> Option<(Token<'t>, Span)> {
        let next = self.peek();
        self.at += 1;
        next
    }

    fn end(&self) -> Span {
        Span::new(self.text.len(), self.text.len())
    }

    /// Takes a sign or keyword, or says that it is missing.
    fn expect(&mut self, wanted: &'static str) -> Result<Span, Flaw> {
        match self.peek() {
            Some((Token::Sign(text) | Token::Word(text), span)) if text == wanted => {
                self.at += 1;
                Ok(span)
            }
            Some((token, span)) => Err(self.unexpected(token, span, &format!("`{wanted}`"))),
            None => {
                Err(Flaw::new(self.end(), "syntax", "the formula ends too early")
                    .expected(format!("`{wanted}`")))
            }
        }
    }

    fn takes(&mut self, wanted: &str) -> bool {
        let there = matches!(self.peek(), Some((Token::Sign(text), _)) if text == wanted);
        self.at += usize::from(there);
        there
    }

    fn unexpected(&self, token: Token<'_>, span: Span, expected: &str) -> Flaw {
        let hint = match (
            token,
            self.tokens.get(self.at.wrapping_sub(1)).map(|(before, _)| before),
        ) {
            (Token::Sign("="), Some(Token::Sign("="))) => Some("write a single ="),
            (Token::Sign("<" | "<=" | ">" | ">=" | "=" | "<>"), _) => {
                Some("comparisons are not chained: join two of them with `and`")
            }
            (Token::Sign(","), Some(Token::Number(_))) => {
                Some("write a decimal point, and nothing between thousands")
            }
            (Token::Sign("%"), _) => Some("only a plain number has a percent sign: write 5 % or x / 100"),
            _ => None,
        };
        Flaw::new(span, "syntax", "this is not expected here")
            .found(format!("`{}`", span.of(self.text)))
            .expected(expected)
            .suggest(hint)
    }

    fn node(&mut self, span: Span, node: Node) -> Result<Expr, Flaw> {
        self.nodes += 1;
        let expr = Expr::new(span, node);
        if self.nodes > MAX_NODES || expr.depth > MAX_DEPTH {
            return Err(self.too_large(span));
        }
        Ok(expr)
    }

    fn too_large(&self, span: Span) -> Flaw {
        Flaw::new(
            span,
            "too_large",
            "the formula has too many parts; name some of them as derived values",
        )
        .expected(format!("at most {MAX_NODES} parts and {MAX_DEPTH} levels"))
    }

    /// An expression whose operators bind at least as tightly as `least`.
    fn expression(&mut self, least: u8) -> Result<Expr, Flaw> {
        self.level += 1;
        if self.level > MAX_DEPTH {
            let span = self.peek().map_or(self.end(), |(_, span)| span);
            return Err(self.too_large(span));
        }
        let mut left = self.prefix(least)?;
        let mut compared = false;
        while let Some((infix, binds)) = self.infix().filter(|(_, binds)| *binds >= least) {
            if binds == binding::COMPARISON && compared {
                break;
            }
            compared = binds == binding::COMPARISON;
            self.at += 1;
            let right = self.expression(binds + 1)?;
            let span = left.span.to(right.span);
            let sides = Box::new([left, right]);
            let node = match infix {
                Infix::Sum(sum) => Node::Arithmetic(sum, sides),
                Infix::Compare(compare) => Node::Comparison(compare, sides),
                Infix::Join(join) => Node::Logic(join, sides),
            };
            left = self.node(span, node)?;
        }
        self.level -= 1;
        Ok(left)
    }

    fn infix(&self) -> Option<(Infix, u8)> {
        let (token, _) = self.peek()?;
        Some(match token {
            Token::Sign("+") => (Infix::Sum(Sum::Add), binding::SUM),
            Token::Sign("-") => (Infix::Sum(Sum::Subtract), binding::SUM),
            Token::Sign("*") => (Infix::Sum(Sum::Multiply), binding::PRODUCT),
            Token::Sign("/") => (Infix::Sum(Sum::Divide), binding::PRODUCT),
            Token::Sign("=") => (Infix::Compare(Compare::Equal), binding::COMPARISON),
            Token::Sign("<>") => (Infix::Compare(Compare::Unequal), binding::COMPARISON),
            Token::Sign("<") => (Infix::Compare(Compare::Less), binding::COMPARISON),
            Token::Sign("<=") => (Infix::Compare(Compare::AtMost), binding::COMPARISON),
            Token::Sign(">") => (Infix::Compare(Compare::More), binding::COMPARISON),
            Token::Sign(">=") => (Infix::Compare(Compare::AtLeast), binding::COMPARISON),
            Token::Word("and") => (Infix::Join(Join::And), binding::AND),
            Token::Word("or") => (Infix::Join(Join::Or), binding::OR),
            _ => return None,
        })
    }

    fn prefix(&mut self, least: u8) -> Result<Expr, Flaw> {
        let Some((token, span)) = self.next() else {
            return Err(Flaw::new(self.end(), "syntax", "the formula ends too early").expected("a value"));
        };
        match token {
            Token::Number(digits) => self.number(digits, span),
            Token::Quoted(word) => self.node(span, Node::Quoted(word.to_owned())),
            Token::Word("if") => self.choice(span),
            Token::Word("not") if least <= binding::NOT => {
                let inner = self.expression(binding::NOT)?;
                self.node(span.to(inner.span), Node::Not(Box::new(inner)))
            }
            Token::Word("true") => self.node(span, Node::Truth(true)),
            Token::Word("false") => self.node(span, Node::Truth(false)),
            Token::Word(word) if !KEYWORDS.contains(&word) => self.word(word, span),
            Token::Sign("-") => {
                let inner = self.expression(binding::SIGN)?;
                self.node(span.to(inner.span), Node::Negate(Box::new(inner)))
            }
            Token::Sign("(") => {
                let mut inner = self.expression(binding::LOOSEST)?;
                inner.span = span.to(self.expect(")")?);
                Ok(inner)
            }
            Token::Word(_) | Token::Sign(_) => {
                self.at -= 1;
                Err(self.unexpected(token, span, "a value"))
            }
        }
    }

    fn choice(&mut self, start: Span) -> Result<Expr, Flaw> {
        let condition = self.expression(binding::LOOSEST)?;
        self.expect("then")?;
        let yes = self.expression(binding::LOOSEST)?;
        self.expect("else")?;
        let no = self.expression(binding::LOOSEST)?;
        self.node(start.to(no.span), Node::If(Box::new([condition, yes, no])))
    }

    fn number(&mut self, digits: &str, span: Span) -> Result<Expr, Flaw> {
        let value = decimal::parse(digits, NUMBER_SCALE).map_err(|fault| {
            let hint = match fault {
                DecimalFault::Grammar => Some("write 0.5, not .5 or 5. or 05"),
                DecimalFault::TooLarge | DecimalFault::TooFine { .. } => None,
            };
            Flaw::new(span, "number", format!("`{digits}` {fault}")).suggest(hint)
        })?;
        if let Some((Token::Sign("%"), percent)) = self.peek() {
            self.at += 1;
            let value = value.checked_mul(Decimal::new(1, 2)).unwrap_or_default();
            return self.node(
                span.to(percent),
                Node::Number {
                    value,
                    percent: true,
                    unit: None,
                },
            );
        }
        let Some((Token::Word(word), unit_span)) = self.peek() else {
            return self.node(
                span,
                Node::Number {
                    value,
                    percent: false,
                    unit: None,
                },
            );
        };
        if KEYWORDS.contains(&word) {
            return self.node(
                span,
                Node::Number {
                    value,
                    percent: false,
                    unit: None,
                },
            );
        }
        self.at += 1;
        let unit_span = self.unit_behind(unit_span);
        let unit = Unit::parse(unit_span.of(self.text)).map_err(|fault| {
            let (code, suggestion) = match &fault {
                UnitFault::Unknown { nearest, .. } => ("unknown_unit", *nearest),
                _ => ("unit", None),
            };
            let message = match fault {
                UnitFault::Unknown { .. } => format!("there is no unit `{word}`"),
                other => other.to_string(),
            };
            Flaw::new(unit_span, code, message)
                .found(format!("`{}` behind a number", unit_span.of(self.text)))
                .expected("a unit, an operator or the end")
                .suggest(suggestion)
        })?;
        let node = Node::Number {
            value,
            percent: false,
            // Of `ft/ft` nothing is left.
            unit: Some(unit).filter(|unit| *unit != Unit::ONE),
        };
        self.node(span.to(unit_span), node)
    }

    /// Behind a number, units joined by * and / without a space are one unit: `x / 250 ft2/gal` divides
    /// by a coverage. With a space, as in `x / 6 ft * each`, they are operators like any other.
    fn unit_behind(&mut self, first: Span) -> Span {
        let mut unit = first;
        while let [
            (Token::Sign("*" | "/"), sign),
            (Token::Word(word), span),
            rest @ ..,
        ] = self.tokens.get(self.at..).unwrap_or_default()
        {
            let joined = unit.end == sign.start && sign.end == span.start;
            let applied = matches!(rest, [(Token::Sign("(" | "["), _), ..]);
            if !joined || applied || Unit::parse(word).is_err() {
                break;
            }
            unit = unit.to(*span);
            self.at += 2;
        }
        unit
    }

    fn word(&mut self, word: &str, span: Span) -> Result<Expr, Flaw> {
        if self.takes("(") {
            let Some(function) = Function::ALL.into_iter().find(|function| function.name() == word) else {
                let nearest = nearest::name(word, Function::ALL.map(Function::name));
                return Err(
                    Flaw::new(span, "unknown_function", format!("there is no function `{word}`"))
                        .expected(Function::ALL.map(Function::name).join(", "))
                        .suggest(nearest),
                );
            };
            let (arguments, end) = self.list(")")?;
            return self.node(span.to(end), Node::Call(Call { function, arguments }));
        }
        if self.takes("[") {
            let (keys, end) = self.list("]")?;
            return self.node(
                span.to(end),
                Node::Lookup {
                    table: word.to_owned(),
                    name_span: span,
                    keys,
                },
            );
        }
        match Unit::parse(word) {
            Ok(unit) => self.node(span, Node::Unit(unit)),
            Err(_) => self.node(span, Node::Name(word.to_owned())),
        }
    }

    /// Expressions with commas between, up to and with the closing sign.
    fn list(&mut self, close: &'static str) -> Result<(Vec<Expr>, Span), Flaw> {
        let mut items = Vec::new();
        loop {
            items.push(self.expression(binding::LOOSEST)?);
            if !self.takes(",") {
                return Ok((items, self.expect(close)?));
            }
        }
    }
}
