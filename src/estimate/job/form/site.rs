//! Questions about the site and how its sales tax is treated.

use super::{Field, LINE, Shape, choice, count, measure};
use crate::job::choices::{CeilingConstruction, Parking, TaxTreatment, WorkingHours};
use crate::quantity::unit::Unit;

pub(super) fn group() -> Field {
    let fields = vec![
        Field::new(
            "ceiling_height",
            "Height of the ceiling that we work at",
            measure(Unit::FT, 4, 60),
        ),
        Field::new("storeys", "Storeys of the building", count(1, 150)),
        Field::new(
            "ceiling_construction",
            "What the ceiling is made of",
            choice::<CeilingConstruction>(),
        ),
        Field::new(
            "built_year",
            "Year in which the building was built",
            count(1500, 2200),
        ),
        Field::new("occupied", "The building is occupied while we work", Shape::Flag),
        Field::new("hours", "Working hours allowed", choice::<WorkingHours>()).or("day"),
        Field::new("travel_time", "Travel time, one way", measure(Unit::H, 0, 12)),
        Field::new("distance", "Distance, one way", measure(Unit::MI, 0, 1000)),
        Field::new("parking", "Parking", choice::<Parking>()),
        Field::new(
            "altitude",
            "Height above the sea",
            measure(Unit::FT, -1500, 15_000),
        )
        .or_value("0"),
        winter_temperature(),
        Field::new(
            "attic_temperature",
            "Temperature of the attic while we work",
            measure(Unit::DEG_F, -40, 180),
        )
        .or_words("no warmer than the rooms")
        .told_where(|around| around.route_in("attic") || around.job["unit"]["service_access"] == "above"),
        Field::new(
            "carry_distance",
            "Distance from the van to the work",
            measure(Unit::FT, 0, 5000),
        )
        .or_value("50"),
        Field::new(
            "ceiling_open",
            "The ceiling is still open, before drywall",
            Shape::Flag,
        )
        .or(false)
        .told_where(|around| {
            let patched = !around.job["finishes"]["ceiling_patch"].is_null();
            !patched && around.beside_is_not("ceiling_construction", "concrete")
        }),
        Field::new("replaces_old_unit", "An old unit is taken out", Shape::Flag).or(false),
    ];
    Field::new("site", "Site", Shape::Group(fields))
}

/// A condensing unit that stands outdoors says it too.
fn winter_temperature() -> Field {
    Field::new(
        "winter_temperature",
        "Coldest air outdoors",
        measure(Unit::DEG_F, -60, 100),
    )
    .or_words("not known, and taken as freezing")
    .told_where(|around| {
        let condenser = &around.job["condenser"];
        let told_there = condenser["location"] == "outdoors" && !condenser["winter_temperature"].is_null();
        !told_there && ["outdoors", "attic", "crawl"].iter().any(|space| around.drain_in(space))
    })
    .help("For a drain that passes the cold, where no condensing unit stands outdoors whose coldest air is given.")
}

pub(super) fn tax() -> Field {
    let fields = vec![
        Field::new("treatment", "Treatment of sales tax", choice::<TaxTreatment>())
            .or_words("as the pricing policy says")
            .help("As the policy says when it is left out."),
        Field::new(
            "exemption_certificate",
            "Number of the exemption certificate",
            Shape::Text { max: LINE },
        )
        .when("treatment", &["exempt"]),
    ];
    Field::new("tax", "Tax", Shape::Group(fields))
}
