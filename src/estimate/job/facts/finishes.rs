//! Facts of trim, painting and patching.

use super::Kind::{Choice, ChoiceOr, Number};
use super::{Row, View, choice, choice_or_absent, count, number, rows};
use crate::job::choices::{Choice as _, PaintedBy, PaintedPart, Painter, Texture, Trim, TrimColour};
use crate::job::spec::Painting;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;

pub(super) const ROWS: &[Row] = rows! {
    "finishes.trim" Choice(Trim::DOMAIN, Trim::WORDS), "the decorative trim", |v| choice(v.spec.finishes.trim);
    "finishes.trim_colour" Choice(TrimColour::DOMAIN, TrimColour::WORDS), "colour of the trim",
        |v| choice(v.spec.finishes.trim_colour);
    "finishes.patch_area" Number(Unit::FT2), "area of ceiling to patch; 0 when there is none",
        |v| number(v.spec.finishes.ceiling_patch.as_ref().map_or_else(Default::default, |patch| patch.area.0));
    "finishes.patch_texture" ChoiceOr(Texture::DOMAIN, Texture::WORDS, "none"),
        "texture of the ceiling to patch, or none", |v| {
            choice_or_absent(v.spec.finishes.ceiling_patch.as_ref().map(|patch| patch.texture))
        };
    "painting.housing_coats" Number(Unit::EACH), "coats on the housing; 0 when it is not painted",
        |v| coats(v, PaintedPart::Housing);
    "painting.bracket_coats" Number(Unit::EACH), "coats on the bracket; 0 when it is not painted",
        |v| coats(v, PaintedPart::Bracket);
    "painting.grille_coats" Number(Unit::EACH), "coats on the grille; 0 when it is not painted",
        |v| coats(v, PaintedPart::Grille);
    "painting.ceiling_coats" Number(Unit::EACH), "coats on the ceiling; 0 when it is not painted",
        |v| coats(v, PaintedPart::Ceiling);
    "painting.ceiling_area" Number(Unit::FT2), "area of ceiling to paint; 0 when it is not painted", |v| {
        number(painting(v, PaintedPart::Ceiling).and_then(|part| part.area).unwrap_or_default().0)
    };
    "painting.housing_by" Choice(PaintedBy::DOMAIN, PaintedBy::WORDS), "who paints the housing",
        |v| by(v, PaintedPart::Housing);
    "painting.bracket_by" Choice(PaintedBy::DOMAIN, PaintedBy::WORDS), "who paints the bracket",
        |v| by(v, PaintedPart::Bracket);
    "painting.grille_by" Choice(PaintedBy::DOMAIN, PaintedBy::WORDS), "who paints the grille",
        |v| by(v, PaintedPart::Grille);
    "painting.ceiling_by" Choice(PaintedBy::DOMAIN, PaintedBy::WORDS), "who paints the ceiling",
        |v| by(v, PaintedPart::Ceiling);
};

fn painting<'a>(view: &View<'a>, part: PaintedPart) -> Option<&'a Painting> {
    view.spec
        .finishes
        .painting
        .iter()
        .find(|painting| painting.part == part)
}

fn coats(view: &View<'_>, part: PaintedPart) -> FactValue {
    count(painting(view, part).map_or(0, |painting| painting.coats))
}

fn by(view: &View<'_>, part: PaintedPart) -> FactValue {
    choice(match painting(view, part).map(|painting| painting.by) {
        None => PaintedBy::None,
        Some(Painter::Us) => PaintedBy::Us,
        Some(Painter::Painter) => PaintedBy::Painter,
        Some(Painter::Owner) => PaintedBy::Owner,
    })
}
