//! The sentences of cautions with their figures between braces: a row each, its code, English as sizing and the bill write it,
//! Spanish.

macro_rules! cautions {
    ($($code:literal $english:literal $spanish:literal;)+) => { &[$(($code, $english, $spanish),)+] };
}

macro_rules! parts {
    ($($english:literal $spanish:literal;)+) => { &[$(($english, $spanish),)+] };
}

/// Code, English, Spanish. A name between braces stands for what differs from job to job.
pub const CAUTIONS: &[(&str, &str, &str)] = cautions! {
    "cellar_load.below_air_table"
        "the air-change table begins at {least}; for {volume} as much air is counted as for a {room} room, which is on the safe side"
        "La tabla de renovaciones de aire empieza en {least}; para {volume} se cuenta tanto aire como para un cuarto de {room}, del lado seguro.";
    "cellar_load.cold_behind_face"
        "{face}: {behind} behind it is colder than the cellar by {by}; it is counted as no gain, never as cooling"
        "{face}: detrás hay {behind}, más frío que la cava en {by}; se cuenta como ninguna ganancia, nunca como enfriamiento.";
    "cellar_load.door_use"
        "{openings} door openings a day of {open} s let in {heat}, {more} more than the air changes that are in the load; count the use as heavier or keep the door shut."
        "{openings} aperturas de la puerta al día, de {open} s, dejan entrar {heat}, {more} más que las renovaciones de aire de la carga: cuente un uso más intenso o mantenga la puerta cerrada.";
    "cellar_load.unusual_per_volume"
        "the cellar asks for {found} Btu/h per ft³; {low} to {high} is usual: {hint}"
        "La cava pide {found} Btu/h por ft³; lo usual es de {low} a {high}: {hint}.";
    "cellar_load.unusual_per_volume"
        "the cellar asks for {found}; {low} to {high} is usual: {hint}"
        "La cava pide {found}; lo usual es de {low} a {high}: {hint}.";
    "charge_limit.highly_flammable"
        "{charge} of a highly flammable (A3) refrigerant in piping joined on site: the supplier or an engineer must decide"
        "{charge} de un refrigerante muy inflamable (A3) en tubería unida en obra: decide el proveedor o un ingeniero.";
    "charge_limit.near"
        "{charge} of {class} refrigerant is {share} of the screening limit of {limit}; a longer line may go over it"
        "{charge} de refrigerante {class} son el {share} del límite de revisión de {limit}; una línea más larga puede superarlo.";
    "charge_limit.over"
        "{charge} of {class} refrigerant is {over} over the screening limit of {limit} for the smallest room of {room} ({needed} would be needed): the supplier or an engineer must decide"
        "{charge} de refrigerante {class} superan en {over} el límite de revisión de {limit} para el cuarto más pequeño, de {room} (harían falta {needed}): decide el proveedor o un ingeniero.";
    "class.capacity_estimated"
        "{unit}: no capacity table; {rated} at {at} was reduced by {loss} per °F to {to}. Ask the supplier for the capacity at that temperature"
        "{unit}: no hay tabla de capacidad; {rated} a {at} se redujo en {loss} por °F hasta {to}. Pida al proveedor la capacidad a esa temperatura.";
    "class.cellar_over_limit"
        "The unit taken, {unit}, is limited to {limit} and the cellar has {volume}, {over} over."
        "La unidad tomada, {unit}, llega hasta {limit} y la cava tiene {volume}, {over} de más.";
    "class.for_figuring_only"
        "No class could be chosen. {unit} is taken for figuring only: lines and prices that depend on it are no offer."
        "No se pudo elegir una clase. Se toma {unit} solo para calcular: las líneas y precios que dependen de ella no son oferta.";
    "class.outside_rating"
        "The unit taken, {unit}, has no capacity data for a {what} of {job}: it covers {low} to {high}, {off} {side}."
        "La unidad tomada, {unit}, no tiene datos de capacidad para una {what} de {job}: abarcan de {low} a {high}, {off} {side}.";
    "class.oversize"
        "{unit} can do {times} times what is needed; it will run in short bursts and dry the air"
        "{unit} puede {times} veces lo necesario: funcionará a ratos cortos y secará el aire.";
    "class.oversize_smallest"
        "{unit} can do {times} times what is needed; it is the smallest class there is"
        "{unit} puede {times} veces lo necesario; es la clase más pequeña que hay.";
    "class.several_units"
        "One unit will not do; {count} units of class {class} are taken."
        "Una unidad no basta: se toman {count} de la clase {class}.";
    "class.tight"
        "{unit} covers the need by {spare}; little is left for a hotter day"
        "{unit} cubre lo necesario con un {spare} de reserva: poco para un día más caluroso.";
    "class.too_small"
        "The unit taken, {unit}, does {has} where {needs} are needed, {short} short."
        "La unidad tomada, {unit}, da {has} donde hacen falta {needs}: faltan {short}.";
    "condensate.fall_not_measured"
        "Level runs of the drain need {fall} of fall that was not measured; it is taken from the drops. Check that there is room to pitch them."
        "Los tramos a nivel del desagüe necesitan {fall} de caída que no se midió; se toma de las bajadas. Compruebe que hay sitio para darles pendiente.";
    "condensate.no_pump_does"
        "The drain must be pumped ({why}) over {lift}, and no pump is listed."
        "El desagüe debe bombearse ({why}) sobre {lift} y no figura ninguna bomba.";
    "condensate.no_pump_does"
        "The drain must be pumped ({why}) and no pump does: {reasons}."
        "El desagüe debe bombearse ({why}) y ninguna bomba basta: {reasons}.";
    "condensate.pipe_beyond_table"
        "The pan outlet of {outlet} is larger than the {largest} at which the pipe table ends."
        "La salida de bandeja de {outlet} es mayor que {largest}, donde acaba la tabla de tubos.";
    "condensate.pump_flow_tight"
        "The pump moves {times} times what falls; {usual} times is usual."
        "La bomba mueve {times} veces lo que cae; lo usual son {usual}.";
    "condensate.pump_lift_tight"
        "The pump reaches {reach}, {less} less than {times} times the head of {head}."
        "La bomba llega a {reach}, {less} menos que {times} veces la altura de {head}.";
    "condensate.pump_replaced"
        "A stronger pump is needed: {reasons}."
        "Hace falta una bomba más potente: {reasons}.";
    "condensate.rises_behind_break"
        "The tube rises again behind the anti-siphon device at {distance} along the route: water would stand there. Let it fall all the way."
        "El tubo vuelve a subir detrás del dispositivo antisifón, a {distance} del recorrido: ahí quedaría agua. Hágalo caer hasta el final.";
    "condensate.separate_pump"
        "The drain must be pumped over {lift} and class {class} has no pump: a separate one for a head of {head} is needed."
        "El desagüe debe bombearse sobre {lift} y la clase {class} no tiene bomba: hace falta una aparte para una altura de {head}.";
    "condensate.separate_pump"
        "The drain must be pumped over {lift}, a head of {head} with its reserve; the unit's own pump reaches {reach}, {short} short: a separate pump is needed."
        "El desagüe debe bombearse sobre {lift}, una altura de {head} con su reserva; la bomba de la unidad llega a {reach}, faltan {short}: hace falta una bomba aparte.";
    "condensate.separate_pump"
        "The unit's own pump moves too little at {lift} of lift: {rate} fall, and it should move {times} times as much. A separate pump is needed."
        "La bomba de la unidad mueve demasiado poco con {lift} de elevación: caen {rate} y debería mover {times} veces eso. Hace falta una bomba aparte.";
    "condenser.heat_stays_indoors"
        "The condensing unit stands indoors: about {heat} must leave its room, or its air grows warmer than the {air} that this sizing is for."
        "La unidad condensadora está en el interior: unos {heat} deben salir de su cuarto, o su aire se calentará más que los {air} de este cálculo.";
    "condenser.heat_stays_indoors"
        "The condensing unit stands indoors: about {heat} must leave the room of {room}, or its air grows warmer than the {air} that this sizing is for."
        "La unidad condensadora está en el interior: unos {heat} deben salir del cuarto de {room}, o su aire se calentará más que los {air} de este cálculo.";
    "condenser.low_ambient_needed"
        "The air at the condenser falls to {coldest}, {under} under the {limit} of the data sheet: it needs a low-ambient kit."
        "El aire de la condensadora baja a {coldest}, {under} menos que los {limit} de la hoja de datos: necesita un equipo para baja temperatura.";
    "condenser.too_hot"
        "The air at the condenser reaches {air}, {over} over the {limit} in which class {class} works."
        "El aire de la condensadora llega a {air}, {over} más que los {limit} en que trabaja la clase {class}.";
    "condenser.winter_not_known"
        "The coldest air at the condenser is not known; under {limit} this unit needs a low-ambient kit."
        "No se sabe cuánto enfría el aire de la condensadora; bajo {limit} la unidad necesita un equipo para baja temperatura.";
    "controls.little_slack"
        "The included controller cable leaves {spare} over the measured route; {usual} for slack and the ends is usual. Measure again before it is relied on."
        "El cable incluido del controlador deja {spare} sobre el recorrido medido; lo usual son {usual} para holgura y extremos. Mida otra vez antes de contar con ello.";
    "controls.separation_unknown"
        "Keep the controller cable {distance} from power wiring and out of its raceways; the route was not surveyed for it."
        "Mantenga el cable del controlador a {distance} de los cables de potencia y fuera de sus canalizaciones; el recorrido no se revisó para ello.";
    "controls.separation_unknown"
        "Keep the probe lead {distance} from power wiring and out of its raceways; the route was not surveyed for it."
        "Mantenga el cable de la sonda a {distance} de los cables de potencia y fuera de sus canalizaciones; el recorrido no se revisó para ello.";
    "controls.shares_raceway"
        "The {what} shares a raceway, box or cable with power conductors: give it a way of its own or a barrier."
        "El {what} comparte canalización, caja o cable con conductores de potencia: déle un camino propio o una barrera.";
    "controls.too_long"
        "The {what} needs {needed}, {over} over the {limit} that the maker allows."
        "El {what} necesita {needed}, {over} más que los {limit} que el fabricante admite.";
    "controls.too_long"
        "The {what} needs {needed}, {share} of the {limit} that the maker allows."
        "El {what} necesita {needed}, el {share} de los {limit} que el fabricante admite.";
    "controls.too_near_power"
        "The {what} runs {distance} from power wiring, {nearer} nearer than {least}; cross it at a right angle."
        "El {what} va a {distance} de los cables de potencia, {nearer} más cerca que {least}; crúcelos en ángulo recto.";
    "hanging.framing"
        "{weight} hang from joists that carry a ceiling alone, {over} over {limit}: an engineer decides."
        "{weight} cuelgan de viguetas que solo llevan un techo, {over} más que {limit}: decide un ingeniero.";
    "hanging.framing"
        "The unit hangs from trusses: hang points only as the truss maker or an engineer allows, nothing cut."
        "La unidad cuelga de cerchas: puntos de cuelgue solo como los admite su fabricante o un ingeniero, sin cortar nada.";
    "hanging.framing"
        "The unit hangs from I-joists: web blocking as their maker shows, flanges neither cut nor drilled; an engineer decides."
        "La unidad cuelga de viguetas en I: refuerzo del alma como lo muestra su fabricante, alas sin cortar ni taladrar; decide un ingeniero.";
    "hanging.framing"
        "The ceiling is concrete: anchors by their listing and an engineer; the lag-screw figures do not apply."
        "El techo es de hormigón: anclajes según su homologación y un ingeniero; las cifras de los tirafondos no valen.";
    "hanging.framing"
        "The framing above the ceiling is not known: open and look before it is hung."
        "No se conoce la estructura sobre el techo: abra y mire antes de colgar la unidad.";
    "hanging.old_ceiling"
        "Nobody knows when the house was built; {year} is assumed: sample the ceiling for asbestos and lead before it is cut."
        "No se sabe de cuándo es la casa; se supone {year}: tome muestras del techo, por amianto y plomo, antes de cortarlo.";
    "hanging.old_ceiling"
        "The house is of {year}: sample the ceiling for asbestos and lead before it is cut."
        "La casa es de {year}: tome muestras del techo, por amianto y plomo, antes de cortarlo.";
    "hanging.old_ceiling"
        "The age of the ceiling is not known: take it as old, and sample it before it is cut."
        "No se conoce la edad del techo: délo por antiguo y tome muestras antes de cortarlo.";
    "hanging.screws_near_limit"
        "The worst screw carries {carries} of the {holds} it may hold ({basis})."
        "El tirafondo más cargado lleva {carries} de las {holds} que puede llevar.";
    "hanging.screws_pull_out"
        "The worst screw carries {carries}, {over} over the {holds} it may hold; {thread} of thread would do."
        "El tirafondo más cargado lleva {carries}, {over} más que las {holds} que puede llevar; bastarían {thread} de rosca.";
    "hanging.two_persons"
        "{weight} go overhead: two persons or a rated lift."
        "{weight} van por encima de la cabeza: dos personas o un elevador homologado.";
    "line_set.equivalent_too_long"
        "Equivalent length of the suction line is {value}, {over} over the {limit} that the unit allows."
        "La longitud equivalente de la succión es de {value}, {over} más que los {limit} que la unidad admite.";
    "line_set.equivalent_too_long"
        "Equivalent length of the suction line is {value}, {share} of the {limit} that the unit allows."
        "La longitud equivalente de la succión es de {value}, el {share} de los {limit} que la unidad admite.";
    "line_set.liquid_flashes"
        "The liquid boils on its way: {subcooling} of subcooling, {lost} lost to friction and a climb of {climb}, {over} too much."
        "El líquido hierve en el camino: {subcooling} de subenfriamiento, {lost} perdidos por fricción y una subida de {climb}, {over} de más.";
    "line_set.liquid_no_size_fits"
        "No liquid size does: {figures}. Ask the unit's data sheet."
        "Ningún diámetro de líquido sirve: {figures}. Consulte la hoja de datos de la unidad.";
    "line_set.liquid_not_stub_size"
        "Liquid line in {size} instead of the unit's size: {figures}."
        "Línea de líquido en {size} en lugar del diámetro de la unidad: {figures}.";
    "line_set.little_subcooling"
        "Only {left} of subcooling left after friction and a climb of {climb}, {under} under the usual {usual}."
        "Quedan solo {left} de subenfriamiento tras la fricción y una subida de {climb}, {under} menos que los {usual} usuales.";
    "line_set.loss_beyond_method"
        "The suction line loses {share} of its pressure; the method takes the gas as of one density and holds to {limit}."
        "La succión pierde el {share} de su presión; el método toma el gas con una sola densidad y vale hasta el {limit}.";
    "line_set.receiver_too_small"
        "The receiver holds {holds} at its rated fill, {less} less than the total charge of {charge}."
        "El recipiente guarda {holds} a su llenado nominal, {less} menos que la carga total de {charge}.";
    "line_set.receiver_too_small"
        "Pump-down stores the whole charge of {charge} on the high side and no receiver is listed."
        "Al vaciar la línea, toda la carga de {charge} queda en el lado de alta y no figura ningún recipiente.";
    "line_set.riser_reduced"
        "Risers in {riser} instead of {size}: in {same} the gas would rise at {speed}, under {least}."
        "Subidas en {riser} en lugar de {size}: en {same} el gas subiría a {speed}, menos que {least}.";
    "line_set.suction_no_size_fits"
        "No suction size does; in {size} the {reasons}. Ask the unit's data sheet."
        "Ningún diámetro de succión sirve; en {size} {reasons}. Consulte la hoja de datos de la unidad.";
    "line_set.suction_not_stub_size"
        "Suction line in {size} instead of the unit's {stub}: there the {reasons}."
        "Línea de succión en {size} en lugar de {stub}, el diámetro de la unidad: con ese {reasons}.";
    "line_set.too_high_above_condenser"
        "Climb above the condensing unit is {value}, {over} over the {limit} that the unit allows."
        "La subida sobre la condensadora es de {value}, {over} más que los {limit} que la unidad admite.";
    "line_set.too_high_above_condenser"
        "Climb above the condensing unit is {value}, {share} of the {limit} that the unit allows."
        "La subida sobre la condensadora es de {value}, el {share} de los {limit} que la unidad admite.";
    "line_set.too_high_above_evaporator"
        "Climb above the evaporator is {value}, {over} over the {limit} that the unit allows."
        "La subida sobre la unidad de techo es de {value}, {over} más que los {limit} que la unidad admite.";
    "line_set.too_high_above_evaporator"
        "Climb above the evaporator is {value}, {share} of the {limit} that the unit allows."
        "La subida sobre la unidad de techo es de {value}, el {share} de los {limit} que la unidad admite.";
    "line_set.too_long"
        "Line length is {value}, {over} over the {limit} that the unit allows."
        "La línea mide {value}, {over} más que los {limit} que la unidad admite.";
    "line_set.too_long"
        "Line length is {value}, {share} of the {limit} that the unit allows."
        "La línea mide {value}, el {share} de los {limit} que la unidad admite.";
    "mounting.bay_not_measured"
        "The spacing of the framing is not known: whether a body of {width} with its play goes between it must be measured before the ceiling is cut."
        "No se conoce la separación de la estructura: antes de cortar el techo, mida si cabe entre ella un cuerpo de {width} con su juego.";
    "mounting.larger_than_ceiling"
        "The body of class {class} is {length} by {width} and the ceiling of the cellar only {long} by {short}."
        "El cuerpo de la clase {class} mide {length} por {width} y el techo de la cava solo {long} por {short}.";
    "mounting.not_possible"
        "Class {class} is not made for this mounting: {mounting}."
        "La clase {class} no se fabrica para este montaje: {mounting}.";
    "mounting.void_not_measured"
        "Class {class} needs {needed} of clear depth above the ceiling, which was not measured."
        "La clase {class} necesita {needed} libres sobre el techo, que no se midieron.";
    "mounting.void_short"
        "Class {class} needs {needed} of clear depth above the ceiling in this mounting and there are {found}, {short} short."
        "La clase {class} necesita {needed} libres sobre el techo en este montaje y hay {found}: faltan {short}.";
    "mounting.wider_than_bay"
        "The body and its play are {width} wide and the clear bay is {bay}, {narrow} too narrow: no framing may be cut. A furred soffit, a void below the framing or another mounting."
        "El cuerpo con su juego mide {width} de ancho y la luz libre es de {bay}, {narrow} de menos: no se corta estructura. Un faldón, un hueco bajo la estructura u otro montaje.";
    "piece_too_long"
        "{item}: {piece} are needed in one piece{others}, the longest pack holds {longest}: a joint would be needed"
        "{item}: hacen falta {piece} en una pieza{others}, el paquete más largo tiene {longest}: haría falta una unión.";
    "sweating.barrier_seasons"
        "vapour is driven {cooling} in the cooling season and {cold} in the cold season: never put a barrier on both sides; ask a building-science professional"
        "El vapor va {cooling} en la temporada de calor y {cold} en la de frío: nunca ponga barrera en ambas caras; pregunte a un profesional de la edificación.";
    "sweating.barrier_wrong_side"
        "The vapour barrier is on the cellar side, and vapour is driven in from the other by {pressure}: wet insulation, mould and an iced coil may follow. No unit makes up for it."
        "La barrera de vapor está en la cara de la cava y el vapor entra desde la otra por {pressure}: pueden seguir aislamiento mojado, moho y hielo en la batería. Ninguna unidad lo compensa.";
    "sweating.barrier_wrong_side"
        "The vapour barrier is missing, and vapour is driven into the insulation by {pressure}: wet insulation, mould and an iced coil may follow. No unit makes up for it."
        "Falta la barrera de vapor y el vapor entra en el aislamiento por {pressure}: pueden seguir aislamiento mojado, moho y hielo en la batería. Ninguna unidad lo compensa.";
    "sweating.barrier_wrong_side"
        "The vapour barrier is not on the cellar side, and in air as dry as surveyed vapour is driven out of the cellar by {pressure}: wet insulation, mould and an iced coil may follow. No unit makes up for it."
        "La barrera de vapor no está en la cara de la cava y, con aire tan seco como el medido, el vapor sale de la cava por {pressure}: pueden seguir aislamiento mojado, moho y hielo en la batería. Ninguna unidad lo compensa.";
    "sweating.face_at_risk"
        "{face}: its warm side is at {surface}, {above} above the dew point of {dew}; {remedy}"
        "{face}: su cara cálida está a {surface}, {above} por encima del punto de rocío de {dew}; {remedy}.";
    "sweating.face_sweats"
        "{face}: its warm side is at {surface}, {below} below the dew point of {dew}; {remedy}"
        "{face}: su cara cálida está a {surface}, {below} por debajo del punto de rocío de {dew}; {remedy}.";
    "sweating.line_too_cold"
        "a line at {line} in air of {air} with a dew point of {dew}: {needed}, {thickest} is the thickest sold. Dry the air around the line or move it"
        "Una línea a {line} en aire de {air} con punto de rocío de {dew}: {needed}, y {thickest} es lo más grueso a la venta. Seque el aire de alrededor o llévela por otro lado.";
    "unknown_answer"
        "{answer}: {wording}"
        "Falta una respuesta ({answer}) y sin ella no hay oferta: {wording}";
    "wiring.beyond_table"
        "No conductor to 6 AWG carries {current} behind a {breaker} breaker at {share} of its table ampacity."
        "Ningún conductor hasta 6 AWG lleva {current} tras un interruptor de {breaker} al {share} de su capacidad de tabla.";
    "wiring.no_breaker"
        "No standard breaker lies between the nameplate's minimum of {least} and maximum of {most}; {breaker} is {short} short."
        "Ningún interruptor normalizado cae entre el mínimo de {least} y el máximo de {most} de la placa; a {breaker} le faltan {short}.";
    "wiring.thickened_for_voltage"
        "{size} instead of {ampacity} keeps the voltage drop over {length} at {share}; the ground becomes {ground} (NEC Table 250.122 and 250.122(B))."
        "{size} en lugar de {ampacity} mantiene la caída de tensión en {length} en el {share}; la tierra pasa a {ground} (NEC, tabla 250.122 y 250.122(B)).";
    "wiring.voltage_differs"
        "The unit is made for {unit} and the supply has {supply}, {off} off; {most} is the most."
        "La unidad es para {unit} y el suministro tiene {supply}, {off} de diferencia; lo más es {most}.";
    "wiring.voltage_drop"
        "Voltage drops by {drop} over {length} even in {size}, {over} points over the {limit} advised."
        "La tensión cae {drop} en {length} aun con {size}, {over} puntos más que el {limit} aconsejado.";
};

/// English, Spanish: what stands in such a sentence for a name and is not a figure.
pub const PARTS: &[(&str, &str)] = parts! {
    "controller cable"
        "cable del controlador";
    "probe lead"
        "cable de la sonda";
    "Class {class}"
        "la clase {class}";
    "{units} × class {class}"
        "{units} × clase {class}";
    "cellar temperature"
        "temperatura de la cava";
    "condenser air temperature"
        "temperatura del aire de la condensadora";
    "above"
        "por encima";
    "below"
        "por debajo";
    "single glass, leaks or a very small room do that"
        "vidrio sencillo, fugas o un cuarto muy pequeño lo explican";
    "check areas, temperatures behind the faces and air exchange"
        "revise superficies, temperaturas detrás de ellas y renovaciones de aire";
    "leg {leg} goes up"
        "el tramo {leg} sube";
    "leg {leg} lacks {fall} of fall"
        "al tramo {leg} le faltan {fall} de caída";
    "the route lacks {fall} of fall"
        "al recorrido le faltan {fall} de caída";
    "The unit's own pump lifts {most} at most, {less} less than the {lift} here"
        "la bomba de la unidad eleva {most} como máximo, {less} menos que los {lift} de aquí";
    "The unit's own pump moves {flow} at {lift} of lift and {friction} of friction, no more than the {rate} that fall"
        "la bomba de la unidad mueve {flow} con {lift} de elevación y {friction} de fricción, no más que los {rate} que caen";
    "{size} loses {loss} of subcooling ({allowed} allowed) at {speed} ({most} allowed)"
        "en {size} se pierden {loss} de subenfriamiento (se admiten {allowed}) a {speed} (se admiten {most})";
    "line loses {loss} of saturated temperature, {over} over the {allowed} allowed"
        "la línea pierde {loss} de temperatura saturada, {over} más que los {allowed} admitidos";
    "gas runs level at {speed}, {under} under the {least} that carry the oil"
        "el gas va a nivel a {speed}, {under} menos que los {least} que arrastran el aceite";
    "gas rises at {speed}, {under} under the {least} that carry the oil"
        "el gas sube a {speed}, {under} menos que los {least} que arrastran el aceite";
    "gas runs at {speed}, {over} over the {most} that are quiet"
        "el gas va a {speed}, {over} más que los {most} que no hacen ruido";
    "Fully exposed below the ceiling"
        "a la vista bajo el techo";
    "Partly recessed into the ceiling"
        "parcialmente empotrada en el techo";
    "Flush: only the grille shows"
        "empotrada: solo se ve la rejilla";
    " (another piece is too long as well)"
        " (otra pieza también es demasiado larga)";
    " ({more} more pieces are too long as well)"
        " (otras {more} piezas también son demasiado largas)";
    "into the cellar by {pressure}"
        "hacia la cava por {pressure}";
    "out of the cellar by {pressure}"
        "fuera de la cava por {pressure}";
    "a U of {u} or less keeps {margin}"
        "una U de {u} o menos guarda {margin}";
    "no insulation helps in air so near its dew point; dry that air"
        "ningún aislamiento sirve con aire tan cerca de su punto de rocío: seque ese aire";
    "{thickness} would be needed"
        "harían falta {thickness}";
    "not even {thickness} would do"
        "no bastarían ni {thickness}";
};
