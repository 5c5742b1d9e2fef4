//! The tree of a formula, each part with its place in the text.

use crate::quantity::unit::Unit;
use crate::rules::span::Span;
use rust_decimal::Decimal;

/// A formula or a part of one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expr {
    /// Where it stands.
    pub span: Span,
    /// How many levels it has.
    pub depth: usize,
    /// What it is.
    pub node: Node,
}

/// The sorts of parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Node {
    /// A number as written, without a sign; `5 %` is 0.05.
    Number {
        /// The value; hundredths already taken where `percent`.
        value: Decimal,
        /// Whether `%` followed.
        percent: bool,
        /// The unit behind it.
        unit: Option<Unit>,
    },
    /// A unit by itself: one of it.
    Unit(Unit),
    /// `true` or `false`.
    Truth(bool),
    /// A fact, a derived value, an input or a bare word of a choice.
    Name(String),
    /// A word of a choice in quotes.
    Quoted(String),
    /// `-x`.
    Negate(Box<Expr>),
    /// `not x`.
    Not(Box<Expr>),
    /// `x + y` and its kin.
    Arithmetic(Sum, Box<[Expr; 2]>),
    /// `x < y` and its kin.
    Comparison(Compare, Box<[Expr; 2]>),
    /// `x and y`, `x or y`.
    Logic(Join, Box<[Expr; 2]>),
    /// `if a then b else c`.
    If(Box<[Expr; 3]>),
    /// A function.
    Call(Call),
    /// A table look-up.
    Lookup {
        /// The table's name.
        table: String,
        /// Where the name stands.
        name_span: Span,
        /// The keys.
        keys: Vec<Expr>,
    },
}

/// A function and its arguments.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// Which function.
    pub function: Function,
    /// Its arguments, as many as were written.
    pub arguments: Vec<Expr>,
}

/// The operations of arithmetic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sum {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`
    Divide,
}

/// The comparisons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compare {
    /// `=`
    Equal,
    /// `<>`
    Unequal,
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
}

impl Compare {
    /// The same with its sides exchanged.
    pub fn mirrored(self) -> Self {
        match self {
            Self::Less => Self::More,
            Self::AtMost => Self::AtLeast,
            Self::More => Self::Less,
            Self::AtLeast => Self::AtMost,
            same @ (Self::Equal | Self::Unequal) => same,
        }
    }

    /// What holds where it does not.
    pub fn opposite(self) -> Self {
        match self {
            Self::Equal => Self::Unequal,
            Self::Unequal => Self::Equal,
            Self::Less => Self::AtLeast,
            Self::AtMost => Self::More,
            Self::More => Self::AtMost,
            Self::AtLeast => Self::Less,
        }
    }
}

/// How two conditions are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Join {
    /// Both.
    And,
    /// Either or both.
    Or,
}

/// The functions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Function {
    /// The least of its arguments.
    Min,
    /// The greatest of its arguments.
    Max,
    /// Without its sign.
    Abs,
    /// `clamp(x, low, high)`: `x`, but not below `low` nor above `high`.
    Clamp,
    /// `round_up(x, step)`: the next multiple upward.
    RoundUp,
    /// `round_down(x, step)`: the next multiple downward.
    RoundDown,
    /// `round_to(x, step)`: the nearest multiple, half away from zero.
    RoundTo,
}

impl Function {
    /// Every function.
    pub const ALL: [Function; 7] = [
        Function::Min,
        Function::Max,
        Function::Abs,
        Function::Clamp,
        Function::RoundUp,
        Function::RoundDown,
        Function::RoundTo,
    ];

    /// As it is written.
    pub fn name(self) -> &'static str {
        match self {
            Function::Min => "min",
            Function::Max => "max",
            Function::Abs => "abs",
            Function::Clamp => "clamp",
            Function::RoundUp => "round_up",
            Function::RoundDown => "round_down",
            Function::RoundTo => "round_to",
        }
    }
}

impl Sum {
    /// As it is written.
    pub fn sign(self) -> &'static str {
        match self {
            Sum::Add => "+",
            Sum::Subtract => "-",
            Sum::Multiply => "*",
            Sum::Divide => "/",
        }
    }
}

impl Compare {
    /// As it is written.
    pub fn sign(self) -> &'static str {
        match self {
            Compare::Equal => "=",
            Compare::Unequal => "<>",
            Compare::Less => "<",
            Compare::AtMost => "<=",
            Compare::More => ">",
            Compare::AtLeast => ">=",
        }
    }
}

impl Join {
    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            Join::And => "and",
            Join::Or => "or",
        }
    }
}

impl Expr {
    /// A part with its depth counted from its own parts.
    pub(super) fn new(span: Span, node: Node) -> Self {
        let depth = 1 + node.parts().map(|part| part.depth).max().unwrap_or(0);
        Self { span, depth, node }
    }

    /// Calls `visit` for this part and every part below it.
    pub fn walk<'e>(&'e self, visit: &mut impl FnMut(&'e Expr)) {
        visit(self);
        for part in self.node.parts() {
            part.walk(visit);
        }
    }
}

impl Node {
    /// The parts directly below.
    pub fn parts(&self) -> impl Iterator<Item = &Expr> {
        let parts: &[Expr] = match self {
            Node::Number { .. } | Node::Unit(_) | Node::Truth(_) | Node::Name(_) | Node::Quoted(_) => &[],
            Node::Negate(part) | Node::Not(part) => std::slice::from_ref(part),
            Node::Arithmetic(_, parts) | Node::Comparison(_, parts) | Node::Logic(_, parts) => &parts[..],
            Node::If(parts) => &parts[..],
            Node::Call(call) => &call.arguments,
            Node::Lookup { keys, .. } => keys,
        };
        parts.iter()
    }
}
