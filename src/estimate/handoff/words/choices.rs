//! Answers of the survey in Spanish; in English the form itself says them.

/// The Spanish of `word` in the list `domain`; none where papers never print the list.
pub fn spanish(domain: &str, word: &str) -> Option<&'static str> {
    let list = LISTS.iter().find(|(name, _)| *name == domain)?.1;
    list.iter().find(|(one, _)| *one == word).map(|(_, text)| *text)
}

type List = (&'static str, &'static [(&'static str, &'static str)]);

/// Every list that a paper prints.
const LISTS: &[List] = &[
    (
        "mounting",
        &[
            ("exposed", "A la vista, bajo el techo"),
            ("partly_recessed", "Parcialmente empotrada en el techo"),
            ("flush", "Empotrada: solo se ve la rejilla"),
        ],
    ),
    (
        "service_access",
        &[
            ("above", "Desde arriba, por un ático o una trampilla"),
            ("below", "Desde abajo, dentro de la cava"),
        ],
    ),
    (
        "framing",
        &[
            ("joist", "Viguetas macizas"),
            ("truss", "Cerchas"),
            ("i_joist", "Viguetas en I"),
            ("concrete", "Hormigón"),
        ],
    ),
    (
        "condenser_location",
        &[
            ("outdoors", "Al exterior"),
            ("attic", "En el ático"),
            ("basement", "En el sótano"),
            ("plant_room", "En un cuarto técnico"),
        ],
    ),
    (
        "condenser_support",
        &[
            ("ground", "Una base en el suelo"),
            ("wall", "Soportes de pared"),
            ("roof", "Una bancada en la cubierta"),
            ("floor", "El piso de un cuarto, ático o balcón"),
        ],
    ),
    (
        "direction",
        &[
            ("level", "A nivel"),
            ("rise", "Hacia arriba"),
            ("drop", "Hacia abajo"),
        ],
    ),
    (
        "space",
        &[
            ("cellar", "La propia cava"),
            ("attic", "Ático"),
            ("crawl", "Espacio bajo piso"),
            ("finished", "Dentro de paredes o techos acabados"),
            ("open", "Estructura abierta o sótano sin acabar"),
            ("outdoors", "Exterior"),
            ("plenum", "Sobre un techo suspendido"),
        ],
    ),
    (
        "tube",
        &[
            ("soft", "Rollos blandos, doblados a mano"),
            ("hard", "Tramos rígidos con accesorios"),
        ],
    ),
    (
        "penetration_construction",
        &[
            ("wood", "Estructura de madera y tablero"),
            ("masonry", "Mampostería u hormigón"),
            ("roof", "Cubierta"),
        ],
    ),
    (
        "discharge",
        &[
            ("floor_drain", "Sumidero de piso"),
            ("sink_tail", "Tubo de salida de un fregadero"),
            ("outdoors", "Exterior"),
            ("condensate_receptor", "Receptor de condensado"),
            ("laundry_standpipe", "Tubo vertical de lavandería"),
        ],
    ),
    (
        "controller_location",
        &[("inside", "Dentro de la cava"), ("outside", "Fuera de la cava")],
    ),
    ("supply_voltage", &[("v115", "115 V"), ("v230", "230 V")]),
    (
        "connection",
        &[
            ("hard_wired", "Conexión fija"),
            ("receptacle", "Cable y tomacorriente"),
        ],
    ),
    (
        "wiring_method",
        &[("cable", "Cable"), ("conduit", "Tubo conduit")],
    ),
    (
        "electrical_by",
        &[
            ("us", "Nosotros"),
            ("electrician", "Un electricista con licencia, por nuestra cuenta"),
            ("owner", "El electricista del propietario"),
        ],
    ),
    (
        "trim",
        &[
            ("none", "Sin moldura"),
            ("frame", "Un marco alrededor de la abertura"),
            ("cover", "Una cubierta sobre la carcasa"),
        ],
    ),
    (
        "trim_colour",
        &[
            ("standard", "Un color de serie"),
            ("custom", "Un color por encargo"),
        ],
    ),
    (
        "painted_part",
        &[
            ("housing", "La carcasa"),
            ("bracket", "El soporte"),
            ("grille", "La rejilla"),
            ("ceiling", "El techo"),
        ],
    ),
    (
        "painter",
        &[
            ("us", "Nosotros"),
            ("painter", "Un pintor, por nuestra cuenta"),
            ("owner", "El propietario"),
        ],
    ),
    ("texture", &[("smooth", "Lisa"), ("textured", "Texturizada")]),
    (
        "cellar_use",
        &[
            ("long_storage", "Guarda larga: la puerta se abre poco"),
            ("normal", "Cava de casa o de exposición"),
            ("heavy", "Servicio de restaurante o tienda"),
        ],
    ),
    (
        "vapour_barrier",
        &[
            ("warm_side", "En el lado caliente del aislamiento"),
            ("cold_side", "En el lado de la cava"),
            ("none", "No hay"),
        ],
    ),
    (
        "surface_kind",
        &[
            ("wall", "Pared, sin sus puertas ni acristalamiento"),
            ("ceiling", "Techo"),
            ("floor", "Suelo"),
            ("door", "Puerta"),
            ("glazing", "Acristalamiento"),
        ],
    ),
    (
        "framing_species",
        &[
            ("southern_pine", "Pino del sur"),
            ("douglas_fir_larch", "Abeto Douglas y alerce"),
            ("hem_fir", "Tsuga y abeto"),
            ("spruce_pine_fir", "Pícea, pino y abeto"),
        ],
    ),
    (
        "ceiling_construction",
        &[
            ("drywall", "Placa de yeso"),
            ("plaster", "Enlucido"),
            ("tile", "Placas suspendidas"),
            ("wood", "Madera"),
            ("concrete", "Hormigón"),
        ],
    ),
    (
        "tax_treatment",
        &[
            ("tax_on_sale", "Se cobra impuesto sobre la venta"),
            (
                "contractor_pays",
                "El contratista paga el impuesto de los materiales",
            ),
            ("exempt", "La venta está exenta, con certificado"),
        ],
    ),
    (
        "working_hours",
        &[
            ("day", "Toda la jornada"),
            ("limited", "Horas limitadas del día"),
            ("night", "Solo de noche"),
        ],
    ),
    (
        "parking",
        &[
            ("on_site", "En la propiedad"),
            ("street", "En la calle"),
            ("paid", "Estacionamiento de pago"),
        ],
    ),
];
