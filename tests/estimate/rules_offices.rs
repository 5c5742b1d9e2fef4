//! Generated rulebooks for the laws of the rules: such as fit, by the sort of value each place asks
//! for, and pieces of the language in any order.

use super::rules_sample::{quoted, with_head};
use proptest::prelude::*;

/// The sorts of values that formulas are generated for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sort {
    Plain,
    Length,
    Time,
    Count,
    Point,
    Difference,
    Flag,
    Mounting,
    Size,
}

use Sort::{Count, Difference, Flag, Length, Mounting, Plain, Point, Size, Time};

/// Whether derived values may be read: they may not in their own formulas.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum May {
    ReadDerived,
    ReadFacts,
}

fn leaves(sort: Sort) -> &'static [&'static str] {
    match sort {
        Plain => &[
            "2.5",
            "5 %",
            "line_set.rise / 1 ft",
            "lift_share[site.ceiling_height]",
            "d_plain",
        ],
        Length => &[
            "3 ft",
            "18 in",
            "1.2 m",
            "line_set.length",
            "line_set.rise",
            "site.ceiling_height",
            "d_length",
        ],
        Time => &[
            "2 h",
            "30 min",
            "mount_hours[unit.mounting, site.ceiling_height]",
            "patch_hours[16 ft2]",
            "patch_hours[clamp(cellar.volume / 1 ft, 4 ft2, 64 ft2)]",
            "d_time",
        ],
        Count => &["2 each", "each", "unit.count", "input.bottles", "d_count"],
        Point => &[
            "75 degF",
            "20 degC",
            "-40 degF",
            "site.attic_temperature",
            "d_point",
        ],
        Difference => &["4 F_diff", "5 K", "F_diff", "d_difference"],
        Flag => &[
            "true",
            "site.occupied",
            "needs_lift[site.occupied, unit.mounting]",
            "d_flag",
        ],
        Mounting => &["unit.mounting", "d_mounting"],
        Size => &[
            "line_set.suction_size",
            "size_up[line_set.suction_size]",
            "d_size",
        ],
    }
}

/// A formula of a sort, of at most so many levels.
fn of(sort: Sort, may: May, levels: u32) -> BoxedStrategy<String> {
    // The last leaf of each sort is its derived value.
    let leaves = leaves(sort);
    let usable = leaves.len() - usize::from(may == May::ReadFacts);
    let leaf = prop::sample::select(&leaves[..usable]).prop_map(str::to_owned);
    let Some(below) = levels.checked_sub(1) else {
        return leaf.boxed();
    };
    let part = |sort| of(sort, may, below);
    let two = |sort, shape: fn(String, String) -> String| {
        (part(sort), part(sort)).prop_map(move |(a, b)| shape(a, b))
    };
    let choose =
        (part(Flag), part(sort), part(sort)).prop_map(|(c, a, b)| format!("(if {c} then {a} else {b})"));
    match sort {
        Flag => prop_oneof![
            leaf,
            choose,
            two(Flag, |a, b| format!("({a} and {b})")),
            two(Flag, |a, b| format!("({a} or not {b})")),
            two(Flag, |a, b| format!("({a}) = ({b})")),
            two(Length, |a, b| format!("({a} > {b})")),
            two(Time, |a, b| format!("({a} <= {b})")),
            two(Point, |a, b| format!("({a} < {b})")),
            two(Count, |a, b| format!("({a} <> {b})")),
            two(Mounting, |a, b| format!("({a} = {b})")),
            two(Size, |a, b| format!("({a} <> {b})")),
            part(Mounting).prop_map(|a| format!("({a} = flush)")),
            part(Size).prop_map(|a| format!("(\"5/8\" = {a})")),
            (part(Flag), part(Mounting)).prop_map(|(a, b)| format!("needs_lift[{a}, {b}]")),
        ]
        .boxed(),
        Mounting => prop_oneof![
            leaf,
            choose,
            part(Flag).prop_map(|c| format!("(if {c} then flush else unit.mounting)"))
        ]
        .boxed(),
        Size => prop_oneof![leaf, choose, part(Size).prop_map(|a| format!("size_up[{a}]"))].boxed(),
        Point => prop_oneof![
            leaf,
            choose,
            two(Point, |a, b| format!("min({a}, {b})")),
            (part(Point), part(Difference)).prop_map(|(a, b)| format!("({a} + {b})")),
            (part(Point), part(Difference)).prop_map(|(a, b)| format!("({a} - {b})")),
            (part(Difference), part(Point)).prop_map(|(a, b)| format!("({a} + {b})")),
        ]
        .boxed(),
        Plain | Length | Time | Count | Difference => {
            let own = match sort {
                Plain => two(Length, |a, b| format!("({a}) / (max({b}, 0 ft) + 1 cm)")).boxed(),
                Length => part(Time).prop_map(|a| format!("({a}) * 3 ft/h")).boxed(),
                Time => (part(Mounting), part(Length))
                    .prop_map(|(a, b)| format!("mount_hours[{a}, {b}]"))
                    .boxed(),
                Count => part(Length)
                    .prop_map(|a| format!("round_up(({a}) / 6 ft * each, 1 each)"))
                    .boxed(),
                _ => two(Point, |a, b| format!("({a} - {b})")).boxed(),
            };
            // A divisor is as it comes, kept away from zero, or asked about before.
            let divided = prop::sample::select(vec![
                (|a, b| format!("({a}) / ({b})")) as fn(&str, &str) -> String,
                |a, b| format!("({a}) / (abs({b}) + 1)"),
                |a, b| format!("({a}) / clamp({b}, 1, 9)"),
                |a, b| format!("({a}) / max({b}, 0.5)"),
                |a, b| format!("(if {b} > 0 then ({a}) / ({b}) else {a})"),
                |a, b| format!("(if {b} <> 0 then ({a}) / ({b}) else {a})"),
            ]);
            prop_oneof![
                leaf,
                choose,
                own,
                two(sort, |a, b| format!("({a} + {b})")),
                two(sort, |a, b| format!("({a} - {b})")),
                two(sort, |a, b| format!("max({a}, {b})")),
                two(sort, |a, b| format!("clamp({a}, {b}, {b} * 2)")),
                part(sort).prop_map(|a| format!("-abs({a})")),
                (part(sort), part(Plain)).prop_map(|(a, b)| format!("({a}) * ({b})")),
                (part(sort), part(Plain), divided).prop_map(|(a, b, shape)| shape(&a, &b)),
                (part(sort), part(sort))
                    .prop_map(|(a, b)| format!("(if {a} > {b} then {a} - {b} else {b} - {b})")),
            ]
            .boxed()
        }
    }
}

/// A rulebook each of whose formulas fits where it stands.
pub fn office() -> impl Strategy<Value = String> {
    let derived = [
        (Plain, "plain", "1"),
        (Length, "length", "in"),
        (Time, "time", "h"),
        (Count, "count", "each"),
        (Point, "point", "degC"),
        (Difference, "difference", "F_diff"),
        (Flag, "flag", "flag"),
        (Mounting, "mounting", "mounting"),
        (Size, "size", "tube_size"),
    ];
    let derived: Vec<_> = derived
        .into_iter()
        .map(|(sort, name, unit)| of(sort, May::ReadFacts, 3).prop_map(move |formula| (name, unit, formula)))
        .collect();
    let part = |sort| of(sort, May::ReadDerived, 2);
    // Mostly kept from being negative, as an office does that has been told.
    let some =
        |sort| prop_oneof![1 => part(sort), 5 => part(sort).prop_map(|formula| format!("abs({formula})"))];
    let lines = (part(Size), some(Length), some(Plain), some(Time), some(Count));
    let rest = (part(Flag), part(Flag), some(Plain), part(Point));
    (derived, lines, rest).prop_map(|(derived, (size, length, waste, hours, count), (when, applies, add, shown))| {
        let mut more = String::new();
        for (name, unit, formula) in &derived {
            more += &format!("[[derived]]\nname = 'd_{name}'\nunit = '{unit}'\nformula = {}\n", quoted(formula));
        }
        more += &format!(
            "[[factor]]\nname = 'f'\ntitle = 'F'\nwhen = {}\nadd = {}\n\
             [[assembly]]\ncode = 'A'\ntitle = 'A'\nsection = 'S'\nwhen = {}\n\
             [[assembly.line]]\nkind = 'labour'\ntask = 't'\ntitle = 'T'\nclass = 'apprentice'\nhours = {}\nfactors = ['f']\n\
             [[assembly.line]]\nkind = 'material'\nitem_from = {}\nquantity = {}\nwaste = {}\n\
             [[assembly.line]]\nkind = 'fee'\ntitle = 'F'\ncost_code = 'SUB'\ntax_category = 'goods'\namount = {}\n\
             [[check]]\ncode = 'c'\nlevel = 'caution'\nwhen = 'true'\nmessage = {}\n",
            quoted(&applies),
            quoted(&add),
            quoted(&when),
            quoted(&hours),
            quoted(&format!("tube[{size}]")),
            quoted(&length),
            quoted(&waste),
            quoted(&format!("({count}) * 12.5 money/each")),
            quoted(&format!("At {{{shown}}}.")),
        );
        with_head(&more)
    })
}

/// A rulebook that fits but for one word or sign of its formulas, exchanged for another.
pub fn nearly_right() -> impl Strategy<Value = String> {
    let words = vec![
        "site.occupied",
        "line_set.rise",
        "unit.count",
        "unit.mounting",
        "flush",
        "exposed",
        "true",
        "d_length",
        "d_time",
        "d_flag",
        "2",
        "0",
        "ft",
        "h",
        "each",
        "degF",
        "in",
        "max",
        "min",
        "mount_hours",
        "size_up",
    ];
    let signs = vec![
        "+", "-", "+", "-", "*", "/", "<", ">", "<", ">=", "=", "<>", "and",
    ];
    let change = (
        any::<prop::sample::Index>(),
        prop::sample::select(words),
        prop::sample::select(signs),
    );
    (office(), change).prop_map(|(text, (at, word, sign))| {
        let head = text.find("[[derived]]\nname = 'd_").unwrap_or(0);
        let (mut before, mut after) = (text[..head].to_owned(), text[head..].to_owned());
        let parts = parts(&after);
        let (start, end, is_sign) = parts[at.index(parts.len())];
        after.replace_range(start..end, if is_sign { sign } else { word });
        before.push_str(&after);
        before
    })
}

/// Words and signs in the formulas of a text: where each begins and ends, and whether it is a sign.
fn parts(text: &str) -> Vec<(usize, usize, bool)> {
    let mut parts: Vec<(usize, usize, bool)> = Vec::new();
    let mut formula = false;
    let mut line = 0;
    for (at, c) in text.char_indices() {
        if c == '\n' {
            line = at + 1;
        }
        let field = text[line..].split(" = ").next().unwrap_or_default();
        if c == '\'' {
            formula = !formula
                && ["formula", "when", "add", "hours", "quantity", "waste", "amount"].contains(&field);
            continue;
        }
        let is_sign = "+-*/<>=".contains(c);
        if !formula || !(is_sign || c.is_ascii_alphanumeric() || "_.".contains(c)) {
            continue;
        }
        match parts.last_mut() {
            Some((_, end, sign)) if *end == at && *sign == is_sign => *end = at + 1,
            _ => parts.push((at, at + 1, is_sign)),
        }
    }
    parts
}

/// Formula text that is seldom right: pieces of the language in any order.
pub fn nearly() -> impl Strategy<Value = String> {
    let pieces = vec![
        "1",
        "2.5",
        "0",
        "5 %",
        "3 ft",
        "18 in",
        "2 h",
        "90 degF",
        "4 F_diff",
        "2 each",
        "ft",
        "h/each",
        "each",
        "line_set.length",
        "line_set.rise",
        "site.occupied",
        "unit.mounting",
        "flush",
        "exposed",
        "\"5/8\"",
        "line_set.suction_size",
        "site.attic_temperature",
        "unit.count",
        "lines",
        "input.bottles",
        "true",
        "mount_hours[unit.mounting, site.ceiling_height]",
        "needs_lift[site.occupied, unit.mounting]",
        "size_up[line_set.suction_size]",
        "lift_share[site.ceiling_height]",
        "patch_hours[16 ft2]",
        "patch_hours[cellar.volume / 1 ft]",
    ];
    let joins = vec![
        " + ", " - ", " * ", " / ", " = ", " <> ", " < ", " >= ", " and ", " or ",
    ];
    let leaf = prop::sample::select(pieces).prop_map(str::to_owned);
    leaf.prop_recursive(3, 12, 3, move |inner| {
        let join = prop::sample::select(joins.clone());
        prop_oneof![
            4 => (inner.clone(), join, inner.clone()).prop_map(|(a, op, b)| format!("{a}{op}{b}")),
            1 => inner.clone().prop_map(|a| format!("({a})")),
            1 => inner.clone().prop_map(|a| format!("not {a}")),
            1 => inner.clone().prop_map(|a| format!("-{a}")),
            1 => (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("max({a}, {b})")),
            1 => (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("clamp({b}, {a}, {a})")),
            1 => inner.clone().prop_map(|a| format!("round_up({a}, 6 ft)")),
            1 => (inner.clone(), inner.clone(), inner)
                .prop_map(|(a, b, c)| format!("(if {a} then {b} else {c})")),
        ]
    })
}
