//! The questions of the survey in Spanish; in English the form itself says them.

use super::choices;

/// The Spanish of a question, or of the name of a group, and the list of its words; none where it is the office's own.
pub fn spanish(title: &str) -> Option<(&'static str, Option<&'static str>)> {
    let row = QUESTIONS.iter().find(|(english, ..)| *english == title)?;
    Some((row.1, row.2))
}

/// What is said of an answer in a few words, in Spanish; `domain` is the list of its words.
pub fn answer_in_spanish(domain: Option<&str>, word: &str) -> Option<&'static str> {
    let listed = domain.and_then(|domain| choices::spanish(domain, word));
    let said = || SAID.iter().find(|(english, _)| *english == word);
    listed.or_else(|| said().map(|(_, spanish)| *spanish))
}

macro_rules! questions {
    ($($english:literal $spanish:literal $($domain:literal)?;)+) => {
        &[$(($english, $spanish, questions!(@ $($domain)?)),)+]
    };
    (@ $domain:literal) => { Some($domain) };
    (@) => { None };
}

/// What takes the place of an answer, where it is no value.
const SAID: &[(&str, &str)] = &[
    ("yes", "sí"),
    ("no", "no"),
    ("none", "no hay"),
    ("as given", "según lo indicado"),
    ("not given", "no indicado"),
    ("not known", "no se sabe"),
    (
        "not known, and taken as freezing",
        "no se sabe y se toma como helada",
    ),
    ("as beyond the walls", "como al otro lado de las paredes"),
    (
        "the weakest that is used for framing",
        "la más débil que se usa en estructuras",
    ),
    ("no warmer than the rooms", "no más caliente que las habitaciones"),
    ("as the pricing policy says", "como dice la política de precios"),
    ("auto", "automática"),
];

/// English, Spanish, and the list of its words.
const QUESTIONS: &[(&str, &str, Option<&str>)] = questions! {
    "Customer" "Cliente";
    "Site" "Lugar de la obra";
    "Cellar" "Cava";
    "Inside length" "Largo interior";
    "Inside width" "Ancho interior";
    "Inside height" "Altura interior";
    "Inside volume" "Volumen interior";
    "Wanted air temperature" "Temperatura del aire deseada";
    "Wanted relative humidity, percent" "Humedad relativa deseada, por ciento";
    "Use" "Uso" "cellar_use";
    "Vapour barrier" "Barrera de vapor" "vapour_barrier";
    "Bottles it holds" "Botellas que caben";
    "Bottles brought in each week" "Botellas que entran por semana";
    "Temperature of bottles brought in" "Temperatura de las botellas que entran";
    "Door openings a day" "Aperturas de la puerta al día";
    "Area of the doors" "Superficie de las puertas";
    "R-value of the doors" "Valor R de las puertas";
    "U-value of the doors" "Valor U de las puertas";
    "Temperature beyond the doors" "Temperatura al otro lado de las puertas";
    "Area of the glazing" "Superficie acristalada";
    "U-value of the glazing" "Valor U del acristalamiento";
    "Temperature beyond the glazing" "Temperatura al otro lado del acristalamiento";
    "R-value of the walls, air films included" "Valor R de las paredes, con las capas de aire";
    "R-value of the ceiling, air films included" "Valor R del techo, con las capas de aire";
    "R-value of the floor, air films included" "Valor R del suelo, con las capas de aire";
    "Temperature beyond the walls" "Temperatura al otro lado de las paredes";
    "Temperature beyond the ceiling" "Temperatura al otro lado del techo";
    "Temperature beyond the floor" "Temperatura al otro lado del suelo";
    "Doors" "Puertas";
    "Glazing" "Acristalamiento";
    "Construction of a rectangular cellar" "Construcción de una cava rectangular";
    "Name" "Nombre";
    "Kind" "Clase" "surface_kind";
    "Area" "Superficie";
    "R-value, air films included" "Valor R, con las capas de aire";
    "U-value" "Valor U";
    "Temperature on the other side" "Temperatura al otro lado";
    "Surfaces one by one" "Superficies una por una";
    "Temperature of the air that comes in" "Temperatura del aire que entra";
    "Relative humidity of the air that comes in, percent" "Humedad relativa del aire que entra, por ciento";
    "Air that comes in" "Aire que entra";
    "Power of the lights" "Potencia de las luces";
    "Hours a day that they burn" "Horas al día que están encendidas";
    "Lights" "Luces";
    "People inside" "Personas dentro";
    "Hours a day that they stay" "Horas al día que permanecen";
    "People" "Personas";
    "A liquid-temperature probe is wanted" "Se desea una sonda de temperatura del líquido";
    "Length of the probe's route" "Longitud del recorrido de la sonda";
    "Where the controller hangs" "Dónde va el controlador" "controller_location";
    "Length of the cable's route" "Longitud del recorrido del cable";
    "The cable is fished through finished walls" "El cable se pasa por paredes acabadas";
    "Probe" "Sonda";
    "Controller" "Controlador";
    "The humidity option is wanted" "Se desea el módulo de humedad";
    "Length to the soft-water supply" "Distancia a la toma de agua blanda";
    "Hardness of the water" "Dureza del agua";
    "Humidity option" "Módulo de humedad";
    "Supply voltage" "Tensión de suministro" "supply_voltage";
    "Length of the circuit from the panel" "Longitud del circuito desde el tablero";
    "Connection" "Conexión" "connection";
    "Wiring method" "Tendido" "wiring_method";
    "The panel has space for the breaker" "El tablero tiene sitio para el interruptor";
    "There is a service receptacle within reach of the condensing unit" "Hay un tomacorriente de servicio al alcance de la unidad condensadora";
    "Who does the electrical work" "Quién hace la parte eléctrica" "electrical_by";
    "Electrical" "Parte eléctrica";
    "What is painted" "Qué se pinta" "painted_part";
    "Coats" "Manos";
    "Who paints" "Quién pinta" "painter";
    "Area of the ceiling to paint" "Superficie de techo por pintar";
    "Area to patch" "Superficie por reparar";
    "Texture of the ceiling" "Textura del techo" "texture";
    "Decorative trim" "Moldura decorativa" "trim";
    "Colour of the trim" "Color de la moldura" "trim_colour";
    "Painting" "Pintura";
    "Ceiling patch" "Reparación del techo";
    "Finishes" "Acabados";
    "Which way it goes" "Hacia dónde va" "direction";
    "Length" "Longitud";
    "Space that it passes through" "Espacio por el que pasa" "space";
    "Right-angle bends on it" "Curvas en ángulo recto";
    "What is penetrated" "Qué se perfora" "penetration_construction";
    "Fire-rated" "Resistente al fuego";
    "How many" "Cuántas";
    "Legs of the route" "Tramos del recorrido";
    "Copper tube" "Tubo de cobre" "tube";
    "Penetrations" "Perforaciones";
    "Line set" "Línea frigorífica";
    "Fall available along the leg" "Caída disponible a lo largo del tramo";
    "Where it discharges" "Dónde descarga" "discharge";
    "How far the discharge lies below the outlet of the pan" "Cuánto queda la descarga por debajo de la salida de la bandeja";
    "Drain" "Desagüe";
    "Height of the ceiling that we work at" "Altura del techo en que se trabaja";
    "Storeys of the building" "Plantas del edificio";
    "What the ceiling is made of" "De qué es el techo" "ceiling_construction";
    "Year in which the building was built" "Año de construcción del edificio";
    "The building is occupied while we work" "El edificio está ocupado durante la obra";
    "Working hours allowed" "Horario de trabajo permitido" "working_hours";
    "Travel time, one way" "Tiempo de viaje, ida";
    "Distance, one way" "Distancia, ida";
    "Parking" "Estacionamiento" "parking";
    "Height above the sea" "Altura sobre el mar";
    "Coldest air outdoors" "Aire más frío al exterior";
    "Temperature of the attic while we work" "Temperatura del ático durante la obra";
    "Distance from the van to the work" "Distancia de la furgoneta al trabajo";
    "The ceiling is still open, before drywall" "El techo aún está abierto, antes de los paneles";
    "An old unit is taken out" "Se retira una unidad vieja";
    "Treatment of sales tax" "Tratamiento del impuesto sobre la venta" "tax_treatment";
    "Number of the exemption certificate" "Número del certificado de exención";
    "Tax" "Impuesto";
    "Class of unit" "Clase de unidad";
    "How many units" "Cuántas unidades";
    "Mounting" "Montaje" "mounting";
    "Service access" "Acceso para servicio" "service_access";
    "Clear depth above the ceiling" "Altura libre sobre el techo";
    "Spacing of the framing, centre to centre" "Separación de la estructura, entre ejes";
    "Framing above the ceiling" "Estructura sobre el techo" "framing";
    "Wood of the framing" "Madera de la estructura" "framing_species";
    "Ceiling unit" "Unidad de techo";
    "Where it stands" "Dónde está" "condenser_location";
    "What carries it" "Qué la sostiene" "condenser_support";
    "Warmest air at the condensing unit" "Aire más caliente en la unidad condensadora";
    "Coldest air at the condensing unit" "Aire más frío en la unidad condensadora";
    "Volume of the room that it stands in" "Volumen del cuarto en que está";
    "Condensing unit" "Unidad condensadora";
    "Extra inputs of the rulebook" "Datos adicionales de las reglas";
};
