//! The program's own cautions in Spanish, by their codes. The figures of a job stand behind the sentence.

const SPANISH: [(&str, &str); 88] = [
    (
        "cellar_load.below_air_table",
        "La cava es menor que la menor de la tabla de renovaciones de aire: se cuenta el aire de esa.",
    ),
    (
        "cellar_load.cold_behind_face",
        "Detrás de una superficie hace más frío que en la cava: se cuenta como ninguna ganancia, nunca como enfriamiento.",
    ),
    (
        "cellar_load.door_use",
        "Las aperturas de la puerta dejan entrar más calor que las renovaciones de aire contadas.",
    ),
    (
        "cellar_load.not_worked_out",
        "No se pudo calcular la carga de la cava.",
    ),
    (
        "cellar_load.surrounding_below_cellar",
        "El aire de alrededor es más frío o más seco que el de la cava: esa parte se cuenta como cero, y una cava en tal aire puede necesitar humedad o calor.",
    ),
    (
        "cellar_load.unusual_per_volume",
        "La carga por volumen está fuera de lo usual: revise superficies, temperaturas detrás de ellas y renovaciones de aire.",
    ),
    (
        "charge_limit.highly_flammable",
        "Refrigerante muy inflamable (A3) en tubería unida en obra: decide el proveedor o un ingeniero.",
    ),
    (
        "charge_limit.near",
        "La carga de refrigerante está cerca de su límite para el cuarto más pequeño; una línea más larga puede superarlo.",
    ),
    (
        "charge_limit.not_worked_out",
        "No se pudo comprobar el límite de carga de refrigerante.",
    ),
    (
        "charge_limit.over",
        "La carga de refrigerante supera su límite para el cuarto más pequeño: decide el proveedor o un ingeniero.",
    ),
    (
        "class.capacity_estimated",
        "No hay tabla de capacidad: se redujo la nominal. Pida al proveedor la capacidad a esa temperatura.",
    ),
    (
        "class.cellar_over_limit",
        "La cava es mayor que el límite de la unidad tomada.",
    ),
    (
        "class.for_figuring_only",
        "No se pudo elegir una clase de unidad: la tomada sirve solo para calcular y lo que depende de ella no es oferta.",
    ),
    ("class.not_worked_out", "No se pudo elegir la clase de la unidad."),
    (
        "class.outside_rating",
        "La unidad tomada trabajaría fuera de los datos de su fabricante.",
    ),
    (
        "class.oversize",
        "La unidad puede bastante más de lo necesario: funcionará a ratos cortos y secará el aire.",
    ),
    (
        "class.oversize_smallest",
        "La unidad puede bastante más de lo necesario; es la clase más pequeña que hay.",
    ),
    ("class.several_units", "Una unidad no basta: se toman varias."),
    (
        "class.tight",
        "La unidad cubre lo necesario con poca reserva para un día más caluroso.",
    ),
    (
        "class.too_small",
        "La unidad tomada no cubre la carga de la cava.",
    ),
    (
        "condensate.fall_not_measured",
        "Los tramos a nivel del desagüe necesitan una caída que no se midió; se toma de las bajadas. Compruebe que hay sitio para darles pendiente.",
    ),
    (
        "condensate.may_freeze",
        "El desagüe pasa por un espacio que se hiela: llévelo por otro lado, o aíslelo y caliéntelo.",
    ),
    (
        "condensate.no_pump_does",
        "El desagüe debe bombearse y ninguna bomba de la lista sirve.",
    ),
    ("condensate.not_worked_out", "No se pudo calcular el desagüe."),
    (
        "condensate.outdoors",
        "La descarga al exterior no debe mojar calle, acera ni vecino, y puede helarse o manchar.",
    ),
    (
        "condensate.pipe_beyond_table",
        "La salida de la bandeja es mayor que el último tubo de la tabla.",
    ),
    (
        "condensate.pump_flow_tight",
        "La bomba mueve poco más de lo que cae; es usual más reserva.",
    ),
    (
        "condensate.pump_lift_tight",
        "La bomba eleva con menos reserva de la usual.",
    ),
    ("condensate.pump_replaced", "Hace falta una bomba más potente."),
    (
        "condensate.rises_behind_break",
        "El tubo vuelve a subir detrás del dispositivo antisifón y ahí quedaría agua: hágalo caer en todo su recorrido.",
    ),
    (
        "condensate.separate_pump",
        "El desagüe debe bombearse y la bomba de la unidad falta o no basta: se toma una aparte.",
    ),
    (
        "condensate.sink_tail_by_local_code",
        "Algunas autoridades rechazan un ramal de condensado en el desagüe de un fregadero: pregunte antes de darlo por resuelto.",
    ),
    (
        "condenser.heat_stays_indoors",
        "La unidad condensadora está en el interior: su calor debe salir de ese cuarto, o su aire se calentará más de lo calculado.",
    ),
    (
        "condenser.low_ambient_needed",
        "El aire de la condensadora baja más que el límite de su hoja de datos: necesita un equipo para baja temperatura.",
    ),
    (
        "condenser.not_worked_out",
        "No se pudo calcular la unidad condensadora.",
    ),
    (
        "condenser.too_hot",
        "El aire de la condensadora se calienta más de lo que la unidad admite.",
    ),
    (
        "condenser.winter_not_known",
        "No se sabe cuánto enfría el aire de la condensadora en invierno; bajo el límite necesita un equipo para baja temperatura.",
    ),
    (
        "controls.little_slack",
        "El cable incluido del controlador deja poca holgura sobre el recorrido medido.",
    ),
    (
        "controls.not_worked_out",
        "No se pudieron calcular los cables de control.",
    ),
    (
        "controls.separation_unknown",
        "Mantenga los cables de control apartados de los de potencia y fuera de sus canalizaciones; el recorrido no se revisó para ello.",
    ),
    (
        "controls.shares_raceway",
        "Un cable de control comparte canalización, caja o cable con conductores de potencia: déle un camino propio o una barrera.",
    ),
    (
        "controls.too_long",
        "Un cable de control llega, o casi, al mayor largo que el fabricante admite.",
    ),
    (
        "controls.too_near_power",
        "Un cable de control va demasiado cerca de los de potencia; crúcelos en ángulo recto.",
    ),
    (
        "hanging.framing",
        "La estructura del techo no basta por sí sola o no se conoce: decide un ingeniero; no corte ni taladre cerchas ni viguetas, y en hormigón use anclajes según su homologación.",
    ),
    (
        "hanging.not_set_out",
        "No se conoce el lugar de los soportes respecto a las viguetas: se cuentan refuerzos en cada uno.",
    ),
    ("hanging.not_worked_out", "No se pudo calcular la suspensión."),
    (
        "hanging.old_ceiling",
        "El techo es antiguo o de edad desconocida: tome muestras de amianto y plomo antes de cortarlo.",
    ),
    (
        "hanging.screws_near_limit",
        "El tirafondo más cargado está cerca de lo que aguanta.",
    ),
    (
        "hanging.screws_pull_out",
        "El tirafondo más cargado lleva más de lo que aguanta: hace falta más rosca.",
    ),
    (
        "hanging.two_persons",
        "Peso por encima de la cabeza: dos personas o un elevador homologado.",
    ),
    (
        "insulation.not_worked_out",
        "No se pudo calcular el aislamiento de la línea.",
    ),
    (
        "line_set.equivalent_too_long",
        "La longitud equivalente de la línea de succión llega, o casi, al límite de la unidad.",
    ),
    (
        "line_set.liquid_flashes",
        "El líquido hierve en el camino: pierde más subenfriamiento del que tiene.",
    ),
    (
        "line_set.liquid_no_size_fits",
        "Ningún diámetro de la línea de líquido sirve. Consulte la hoja de datos de la unidad.",
    ),
    (
        "line_set.liquid_not_stub_size",
        "La línea de líquido lleva otro diámetro que la conexión de la unidad.",
    ),
    (
        "line_set.little_subcooling",
        "Queda poco subenfriamiento tras la fricción y la subida.",
    ),
    (
        "line_set.loss_beyond_method",
        "La pérdida en la línea de succión es mayor de lo que abarca el método.",
    ),
    (
        "line_set.not_worked_out",
        "No se pudo calcular la línea frigorífica.",
    ),
    (
        "line_set.receiver_too_small",
        "El recipiente de líquido no guarda toda la carga al vaciar la línea.",
    ),
    (
        "line_set.riser_reduced",
        "Las subidas van en un tubo menor, para que el gas arrastre el aceite.",
    ),
    (
        "line_set.suction_no_size_fits",
        "Ningún diámetro de la línea de succión sirve. Consulte la hoja de datos de la unidad.",
    ),
    (
        "line_set.suction_not_stub_size",
        "La línea de succión lleva otro diámetro que la conexión de la unidad.",
    ),
    (
        "line_set.too_high_above_condenser",
        "La subida sobre la condensadora llega, o casi, al límite de la unidad.",
    ),
    (
        "line_set.too_high_above_evaporator",
        "La subida sobre la unidad de techo llega, o casi, al límite de la unidad.",
    ),
    (
        "line_set.too_long",
        "La línea llega, o casi, a la mayor longitud que la unidad admite.",
    ),
    (
        "manual_code_near_item",
        "Una línea puesta a mano lleva un código que no es de ningún artículo y se parece al de uno del catálogo.",
    ),
    (
        "mounting.bay_not_measured",
        "No se conoce la separación de la estructura: mida si el cuerpo cabe entre ella antes de cortar el techo.",
    ),
    (
        "mounting.larger_than_ceiling",
        "El cuerpo de la unidad es mayor que el techo de la cava.",
    ),
    (
        "mounting.made_framing",
        "La unidad va entre cerchas o viguetas prefabricadas: no se cortan ni taladran, y su fabricante o un ingeniero dice qué puede colgar de ellas.",
    ),
    (
        "mounting.not_possible",
        "Esta clase no se fabrica para este montaje.",
    ),
    ("mounting.not_worked_out", "No se pudo comprobar el montaje."),
    (
        "mounting.void_not_measured",
        "No se midió la altura libre sobre el techo que la unidad necesita.",
    ),
    (
        "mounting.void_short",
        "Falta altura libre sobre el techo para este montaje.",
    ),
    (
        "mounting.wider_than_bay",
        "El cuerpo con su juego es más ancho que la luz libre: no se corta estructura; un faldón bajo ella o un montaje a la vista.",
    ),
    (
        "piece_too_long",
        "Una pieza es más larga que el paquete más largo: haría falta una unión.",
    ),
    (
        "sweating.barrier_seasons",
        "El vapor empuja en un sentido en verano y en el otro en invierno: nunca ponga barrera en ambas caras; pregunte a un profesional.",
    ),
    (
        "sweating.barrier_wrong_side",
        "La barrera de vapor falta o está en la cara equivocada: pueden seguir aislamiento mojado, moho y hielo. Ninguna unidad lo compensa.",
    ),
    (
        "sweating.face_at_risk",
        "La cara cálida de una superficie está apenas sobre el punto de rocío: necesita más aislamiento o aire más seco.",
    ),
    (
        "sweating.face_sweats",
        "La cara cálida de una superficie está bajo el punto de rocío y sudará: necesita más aislamiento o aire más seco.",
    ),
    (
        "sweating.line_too_cold",
        "Ningún aislamiento a la venta basta para esta línea: seque el aire o llévela por otro lado.",
    ),
    (
        "sweating.not_worked_out",
        "No se pudo comprobar la condensación en las superficies.",
    ),
    (
        "unknown_answer",
        "Una respuesta que falta impide la oferta; vea lo supuesto.",
    ),
    (
        "wiring.beyond_table",
        "Ningún conductor de la tabla lleva esta corriente.",
    ),
    (
        "wiring.no_breaker",
        "No hay interruptor normalizado entre el mínimo y el máximo de la placa.",
    ),
    ("wiring.not_worked_out", "No se pudo calcular el circuito."),
    (
        "wiring.thickened_for_voltage",
        "El conductor es más grueso de lo que pide la corriente, para mantener la tensión; la tierra crece con él.",
    ),
    (
        "wiring.voltage_differs",
        "La tensión del suministro no es la de la unidad.",
    ),
    ("wiring.voltage_drop", "La caída de tensión supera la aconsejada."),
];

/// The sentence of a caution of this code; none of one that a rulebook has.
pub fn spanish(code: &str) -> Option<&'static str> {
    let found = SPANISH.binary_search_by_key(&code, |(known, _)| known);
    found.ok().and_then(|at| SPANISH.get(at)).map(|(_, text)| *text)
}
