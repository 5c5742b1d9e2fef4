//! Assemblies and their lines.

use super::super::finding::Findings;
use super::super::formula::Flaw;
use super::fields::Fields;
use super::read::{each, name};
use super::{Assembly, Charge, ChargeCost, ItemSource, Line, LineKind};

pub(super) fn assembly(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Assembly> {
    let code = name(fields, findings, "code", "assembly");
    let (title, section) = (fields.text(findings, "title"), fields.text(findings, "section"));
    let (when, note) = (
        fields.maybe_value(findings, "when"),
        fields.maybe_text(findings, "note"),
    );
    let lines = each(fields, findings, "line", line);
    Some(Assembly {
        code: code?,
        title: title?,
        section: section?,
        when,
        note,
        lines,
    })
}

fn line(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Line> {
    let sort = fields.text(findings, "kind");
    let (when, note) = (
        fields.maybe_value(findings, "when"),
        fields.maybe_text(findings, "note"),
    );
    let sort = sort?;
    let kind = match sort.as_str() {
        "material" => material(fields, findings),
        "labour" => labour(fields, findings),
        "subcontract" => {
            let trade = fields.maybe_text(findings, "trade");
            charge(fields, findings).map(|charge| LineKind::Subcontract { trade, charge })
        }
        "fee" => charge(fields, findings).map(|charge| LineKind::Fee { charge }),
        other => {
            let kinds = ["material", "labour", "subcontract", "fee"];
            let flaw = sort
                .whole("unknown_word", format!("`{other}` is no kind of line"))
                .expected(kinds.join(", "))
                .suggest(crate::quantity::nearest::name(other, kinds));
            findings.error(fields.part(), "kind", flaw);
            fields.leave_open();
            None
        }
    };
    Some(Line {
        kind: kind?,
        when,
        note,
    })
}

fn material(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<LineKind> {
    let item = item(fields, findings);
    let quantity = fields.value(findings, "quantity");
    let waste = fields.maybe_value(findings, "waste");
    let one_piece = fields.flag(findings, "one_piece");
    Some(LineKind::Material {
        item: item?,
        quantity: quantity?,
        waste,
        one_piece,
    })
}

fn labour(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<LineKind> {
    let (task, title) = (fields.text(findings, "task"), fields.text(findings, "title"));
    let (class, hours) = (fields.text(findings, "class"), fields.value(findings, "hours"));
    let crew = fields.maybe_value(findings, "crew");
    let factors = fields.texts(findings, "factors");
    Some(LineKind::Labour {
        task: task?,
        title: title?,
        class: class?,
        hours: hours?,
        crew,
        factors,
    })
}

fn charge(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Charge> {
    let title = fields.text(findings, "title");
    let (cost_code, tax_category) = (
        fields.text(findings, "cost_code"),
        fields.text(findings, "tax_category"),
    );
    let by_item = fields.has("item") || fields.has("item_from") || fields.has("quantity");
    let cost = if by_item {
        let (item, quantity) = (item(fields, findings), fields.value(findings, "quantity"));
        item.zip(quantity)
            .map(|(item, quantity)| ChargeCost::Item { item, quantity })
    } else {
        fields
            .value(findings, "amount")
            .map(|amount| ChargeCost::Money { amount })
    };
    Some(Charge {
        title: title?,
        cost_code: cost_code?,
        tax_category: tax_category?,
        cost: cost?,
    })
}

/// Exactly one of `item` and `item_from`.
fn item(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<ItemSource> {
    let code = fields.maybe_text(findings, "item");
    let formula = fields.maybe_value(findings, "item_from");
    match (code, formula) {
        (Some(code), None) => Some(ItemSource::Code(code)),
        (None, Some(formula)) => Some(ItemSource::Formula(formula)),
        (None, None) => {
            if !fields.has("item") && !fields.has("item_from") {
                fields.missing(findings, "item");
            }
            None
        }
        (Some(code), Some(_)) => {
            let flaw = Flaw::new(code.span(), "ambiguous", "`item` and `item_from` are both given")
                .expected("one of the two");
            findings.error(fields.part(), "item", flaw);
            None
        }
    }
}
