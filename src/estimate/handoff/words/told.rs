//! Cautions that carry figures, in Spanish: the figures are found in the English sentence and stand in the Spanish one
//! under the same names.

/// Code, the sentence as sizing writes it, and in Spanish. A name between braces stands for what differs from job to job.
const TOLD: &[(&str, &str, &str)] = &[
    (
        "cellar_load.below_air_table",
        "the air-change table begins at {least}; for {volume} as much air is counted as for a {room} room, which is on the safe side",
        "La tabla de renovaciones de aire empieza en {least}; para {volume} se cuenta tanto aire como para un cuarto de {room}, del lado seguro.",
    ),
    (
        "cellar_load.cold_behind_face",
        "{face}: {behind} behind it is colder than the cellar by {by}; it is counted as no gain, never as cooling",
        "{face}: detrás hay {behind}, más frío que la cava en {by}; se cuenta como ninguna ganancia, nunca como enfriamiento.",
    ),
    (
        "cellar_load.door_use",
        "{openings} door openings a day of {open} s let in {heat}, {more} more than the air changes that are in the load; count the use as heavier or keep the door shut.",
        "{openings} aperturas de la puerta al día, de {open} s, dejan entrar {heat}, {more} más que las renovaciones de aire de la carga: cuente un uso más intenso o mantenga la puerta cerrada.",
    ),
    (
        "cellar_load.unusual_per_volume",
        "the cellar asks for {found} per ft³; {low} to {high} is usual: {hint}",
        "La cava pide {found} por ft³; lo usual es de {low} a {high}: revise superficies, temperaturas detrás de ellas y renovaciones de aire.",
    ),
    (
        "charge_limit.highly_flammable",
        "{charge} of a highly flammable (A3) refrigerant in piping joined on site: the supplier or an engineer must decide",
        "{charge} de un refrigerante muy inflamable (A3) en tubería unida en obra: decide el proveedor o un ingeniero.",
    ),
    (
        "charge_limit.near",
        "{charge} of {class} refrigerant is {share} of the screening limit of {limit}; a longer line may go over it",
        "{charge} de refrigerante {class} son el {share} del límite de revisión de {limit}; una línea más larga puede superarlo.",
    ),
    (
        "charge_limit.over",
        "{charge} of {class} refrigerant is {over} over the screening limit of {limit} for the smallest room of {room} ({needed} would be needed): the supplier or an engineer must decide",
        "{charge} de refrigerante {class} superan en {over} el límite de revisión de {limit} para el cuarto más pequeño, de {room} (harían falta {needed}): decide el proveedor o un ingeniero.",
    ),
    (
        "class.capacity_estimated",
        "{unit}: no capacity table; {rated} at {at} was reduced by {loss} per °F to {to}. Ask the supplier for the capacity at that temperature",
        "{unit}: no hay tabla de capacidad; {rated} a {at} se redujo en {loss} por °F hasta {to}. Pida al proveedor la capacidad a esa temperatura.",
    ),
    (
        "class.cellar_over_limit",
        "The unit taken, {unit}, is limited to {limit} and the cellar has {volume}, {over} over.",
        "La unidad tomada, {unit}, llega hasta {limit} y la cava tiene {volume}, {over} de más.",
    ),
    (
        "class.oversize",
        "{unit} can do {times} times what is needed; it will run in short bursts and dry the air",
        "{unit} puede {times} veces lo necesario: funcionará a ratos cortos y secará el aire.",
    ),
    (
        "class.oversize_smallest",
        "{unit} can do {times} times what is needed; it is the smallest class there is",
        "{unit} puede {times} veces lo necesario; es la clase más pequeña que hay.",
    ),
    (
        "class.several_units",
        "One unit will not do; {count} units of class {class} are taken.",
        "Una unidad no basta: se toman {count} de la clase {class}.",
    ),
    (
        "class.tight",
        "{unit} covers the need by {spare}; little is left for a hotter day",
        "{unit} cubre lo necesario con un {spare} de reserva: poco para un día más caluroso.",
    ),
    (
        "class.too_small",
        "The unit taken, {unit}, does {has} where {needs} are needed, {short} short.",
        "La unidad tomada, {unit}, da {has} donde hacen falta {needs}: faltan {short}.",
    ),
    (
        "condenser.heat_stays_indoors",
        "The condensing unit stands indoors: about {heat} must leave its room, or its air grows warmer than the {air} that this sizing is for.",
        "La unidad condensadora está en el interior: unos {heat} deben salir de su cuarto, o su aire se calentará más que los {air} de este cálculo.",
    ),
    (
        "condenser.heat_stays_indoors",
        "The condensing unit stands indoors: about {heat} must leave the room of {room}, or its air grows warmer than the {air} that this sizing is for.",
        "La unidad condensadora está en el interior: unos {heat} deben salir del cuarto de {room}, o su aire se calentará más que los {air} de este cálculo.",
    ),
    (
        "condenser.low_ambient_needed",
        "The air at the condenser falls to {coldest}, {under} under the {limit} of the data sheet: it needs a low-ambient kit.",
        "El aire de la condensadora baja a {coldest}, {under} menos que los {limit} de la hoja de datos: necesita un equipo para baja temperatura.",
    ),
    (
        "condenser.winter_not_known",
        "The coldest air at the condenser is not known; under {limit} this unit needs a low-ambient kit.",
        "No se sabe cuánto enfría el aire de la condensadora; bajo {limit} la unidad necesita un equipo para baja temperatura.",
    ),
    (
        "hanging.framing",
        "{weight} hang from joists that carry a ceiling alone, {over} over {limit}: an engineer decides.",
        "{weight} cuelgan de viguetas que solo llevan un techo, {over} más que {limit}: decide un ingeniero.",
    ),
    (
        "hanging.screws_near_limit",
        "The worst screw carries {carries} of the {holds} it may hold ({basis}).",
        "El tirafondo más cargado lleva {carries} de las {holds} que puede llevar.",
    ),
    (
        "hanging.screws_pull_out",
        "The worst screw carries {carries}, {over} over the {holds} it may hold; {thread} of thread would do.",
        "El tirafondo más cargado lleva {carries}, {over} más que las {holds} que puede llevar; bastarían {thread} de rosca.",
    ),
    (
        "hanging.two_persons",
        "{weight} go overhead: two persons or a rated lift.",
        "{weight} van por encima de la cabeza: dos personas o un elevador homologado.",
    ),
];

/// The Spanish of a caution with its figures in place; none where its sentence is not of that shape.
pub fn spanish(code: &str, message: &str) -> Option<String> {
    let rows = TOLD.iter().filter(|(known, ..)| *known == code);
    rows.into_iter().find_map(|(_, english, spanish)| {
        let named = found(english, message)?;
        Some(named.iter().fold((*spanish).to_owned(), |text, (name, figure)| {
            text.replace(&format!("{{{name}}}"), figure)
        }))
    })
}

/// What stands in `message` for each name in `pattern`.
fn found<'t>(pattern: &'t str, message: &'t str) -> Option<Vec<(&'t str, &'t str)>> {
    let mut pieces = pattern.split('{');
    let mut rest = message.strip_prefix(pieces.next().unwrap_or_default())?;
    let mut named = Vec::new();
    for piece in pieces {
        let (name, behind) = piece.split_once('}')?;
        let (figure, after) = if behind.is_empty() {
            (rest, "")
        } else {
            rest.split_once(behind)?
        };
        named.push((name, figure));
        rest = after;
    }
    rest.is_empty().then_some(named)
}
