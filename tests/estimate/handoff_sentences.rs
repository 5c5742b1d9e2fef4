//! Sentences of rules and of sizing on papers: in the reader's measures and language, and whole.

use std::sync::LazyLock;

use estimate::handoff::job_sheet;
use estimate::handoff::measures::Measures;
use estimate::handoff::offer::Offer;
use estimate::handoff::rule_sentences::RuleSentences;
use estimate::handoff::words::Language;
use estimate::quote::estimated::Estimated;
use estimate::rules::parse_toml;
use serde_json::{Value, json};

use crate::demo::Demo;
use crate::handoff_papers::{codes_of_findings, list, offer};

static DEMO: LazyLock<Demo> = LazyLock::new(Demo::load);

/// The cautions of a job of the demonstration but those of its price, which no crew reads.
fn cautions_of(file: &str) -> Vec<Value> {
    let request = DEMO.read(&Demo::job(file));
    let prices = DEMO.prices(&request);
    let estimate = serde_json::to_value(DEMO.estimate(&request, &prices, false).unwrap()).unwrap();
    let mut cautions = estimate["cautions"].as_array().unwrap().clone();
    cautions.retain(|caution| caution["source"] != "pricing policy");
    cautions
}

/// A caution as an estimate keeps it.
fn caution(code: &str, message: &str) -> Value {
    json!({"level": "caution", "code": code, "message": message, "source": "here"})
}

/// An offer to say cautions with, in this language.
fn speaker(language: &str) -> Offer {
    offer(
        &Demo::job("pinfold-basement.json"),
        &json!({"language": language}),
    )
}

/// What a job sheet says of `cautions`, in these measures.
fn told(speaker: &Offer, measures: Measures, rules: RuleSentences, cautions: &[Value]) -> Vec<String> {
    let mut tree = speaker.estimated.tree().clone();
    // Stops stand in a list of their own.
    let level = |told: &Value| json!({"level": "caution", "code": told["code"], "message": told["message"], "source": told["source"]});
    tree["cautions"] = cautions.iter().map(level).collect();
    let offer = Offer {
        measures,
        rules,
        estimated: Estimated::read(tree).unwrap(),
        ..speaker.clone()
    };
    list(&job_sheet::job_sheet(&offer).unwrap().content, "cautions")
}

fn rules(checks: &[(&str, &str)]) -> RuleSentences {
    let mut text = "[rulebook]\nid = \"r\"\ntitle = \"R\"\n".to_owned();
    for (code, message) in checks {
        text += &format!(
            "[[check]]\ncode = \"{code}\"\nlevel = \"caution\"\nwhen = \"true\"\nmessage = \"{message}\"\n"
        );
    }
    RuleSentences::of(&parse_toml(&text).unwrap())
}

/// 1 ft is 0.3048 m, 1 in 25.4 mm, 1 ft² 0.09290304 m², 1 lb 0.45359237 kg, 1 Btu/h 0.2930711 W, °C are (°F − 32)/1.8:
/// NIST SP 811, appendix B.
#[test]
fn values_in_a_sentence_of_the_rules_have_the_measures_of_the_paper_and_its_own_figures_stay() {
    let table = [
        (
            "a",
            "The riser is {rise}, over 35 ft; hoist with 100 ft of rope.",
            "The riser is 33 ft, over 35 ft; hoist with 100 ft of rope.",
            "The riser is 10.06 m, over 35 ft; hoist with 100 ft of rope.",
        ),
        (
            "b",
            "{long} {wide} {deep}",
            "33 ft 12 in 2.5 ft",
            "10.06 m 305 mm 762 mm",
        ),
        (
            "c",
            "{area} at {warm}.",
            "20 ft2 at 95 degF.",
            "1.86 m² at 35 °C.",
        ),
        (
            "d",
            "{heat} by {weight}: {count} in all",
            "5000 Btu/h by 81.5 lb: 3 in all",
            "1,465 W by 37 kg: 3 in all",
        ),
        (
            "e",
            "A pipe of {drain.tube_size} on {breaker}",
            "A pipe of 0.75 in on 20 A",
            "A pipe of 0.75 in on 20 A",
        ),
        (
            "f",
            "{mounting} and {wet}, {rise}",
            "partly recessed and yes, 3 ft",
            "partly recessed and yes, 914 mm",
        ),
        ("g", "{a}, {b}.", "3 ft, 7 lb.", "914 mm, 3.2 kg."),
        // Not the sentence of these rules: an estimate of others keeps it.
        (
            "h",
            "The way is {rise}.",
            "The route is 33 ft.",
            "The route is 33 ft.",
        ),
        ("i", "No value in 12 ft", "No value in 12 ft", "No value in 12 ft"),
    ];
    let cautions = table.map(|(code, _, message, _)| caution(code, message)).to_vec();
    let of_rules = || rules(&table.map(|(code, sentence, ..)| (code, sentence)));
    for language in ["en", "es"] {
        let speaker = speaker(language);
        let metric = told(&speaker, Measures::Metric, of_rules(), &cautions);
        assert_eq!(metric, table.map(|(.., wanted)| wanted), "{language}");
        let customary = told(&speaker, Measures::Customary, of_rules(), &cautions);
        assert_eq!(customary, table.map(|(_, _, message, _)| message), "{language}");
    }
}

/// The demonstration's own rules, on every job of it as if it were surveyed in metres.
#[test]
fn no_value_of_a_job_stands_in_feet_on_a_paper_in_metres() {
    let book = DEMO.workbook.rulebook();
    let speaker = speaker("en");
    let mut values = 0;
    for file in crate::demo::job_files() {
        let cautions = cautions_of(&file);
        let said = told(&speaker, Measures::Metric, RuleSentences::of(book), &cautions);
        for (caution, said) in cautions.iter().zip(said) {
            let mut checks = book.checks.iter();
            if let Some(check) = checks.find(|check| check.code.as_str() == caution["code"]) {
                let feet = |text: &str| text.matches(" ft").count() + text.matches(" degF").count();
                let own = feet(check.message.as_str());
                assert_eq!(feet(&said), own, "{file}: {said}");
                values += feet(caution["message"].as_str().unwrap()) - own;
            }
        }
    }
    assert!(values >= 3, "{values}");
}

/// Numbers of a sentence that have one unit between them. 1 Btu/h per ft³ is 10.35 W/m³ (NIST SP 811, appendix B).
#[test]
fn figures_of_one_caution_are_all_in_one_measure() {
    let table = [
        (
            "class.too_small",
            "The unit taken, 30, does 3000 Btu/h where 4000 are needed, 1000 short.",
            "The unit taken, 30, does 879 W where 1,172 W are needed, 293 W short.",
        ),
        (
            "class.cellar_over_limit",
            "The unit taken, 30, is limited to 1000 ft³ and the cellar has 1500, 500 over.",
            "The unit taken, 30, is limited to 28.32 m³ and the cellar has 42.48 m³, 14.16 m³ over.",
        ),
        (
            "cellar_load.door_use",
            "120 door openings a day of 15 s let in 900 Btu/h, 300 more than the air changes that are in the load; count the use as heavier or keep the door shut.",
            "120 door openings a day of 15 s let in 264 W, 88 W more than the air changes that are in the load; count the use as heavier or keep the door shut.",
        ),
        (
            "cellar_load.unusual_per_volume",
            "the cellar asks for 9.5 Btu/h per ft³; 2 to 7 is usual: single glass, leaks or a very small room do that",
            "the cellar asks for 98.3 W/m³; 20.7 W/m³ to 72.4 W/m³ is usual: single glass, leaks or a very small room do that",
        ),
        (
            "mounting.larger_than_ceiling",
            "The body of class 30 is 50.0 by 20.0 in and the ceiling of the cellar only 48.0 by 18.0 in.",
            "The body of class 30 is 1.27 m by 508 mm and the ceiling of the cellar only 1.22 m by 457 mm.",
        ),
        (
            "condensate.separate_pump",
            "The unit's own pump moves too little at 10.0 ft of lift: 1.20 gal/h fall, and it should move 1.5 times as much. A separate pump is needed.",
            "The unit's own pump moves too little at 3.05 m of lift: 4.54 L/h fall, and it should move 1.5 times as much. A separate pump is needed.",
        ),
        (
            "piece_too_long",
            "CT-EXT: 120 ft are needed in one piece, the longest pack holds 100 ft: a joint would be needed",
            "CT-EXT: 36.58 m are needed in one piece, the longest pack holds 30.48 m: a joint would be needed",
        ),
        // The office's words behind an answer.
        (
            "unknown_answer",
            "/line_set/legs: Measure the way of the line set. Figured with 40 ft.",
            "/line_set/legs: Measure the way of the line set. Figured with 40 ft.",
        ),
    ];
    let cautions = table.map(|(code, message, _)| caution(code, message)).to_vec();
    let said = told(
        &speaker("en"),
        Measures::Metric,
        RuleSentences::default(),
        &cautions,
    );
    assert_eq!(said, table.map(|(.., wanted)| wanted));
    let spanish = told(
        &speaker("es"),
        Measures::Metric,
        RuleSentences::default(),
        &cautions,
    );
    let wanted = [
        "La unidad tomada, 30, da 879 W donde hacen falta 1,172 W: faltan 293 W.",
        "La unidad tomada, 30, llega hasta 28.32 m³ y la cava tiene 42.48 m³, 14.16 m³ de más.",
        "120 aperturas de la puerta al día, de 15 s, dejan entrar 264 W, 88 W más que las renovaciones de aire de la carga: cuente un uso más intenso o mantenga la puerta cerrada.",
        "La cava pide 98.3 W/m³; lo usual es de 20.7 W/m³ a 72.4 W/m³: vidrio sencillo, fugas o un cuarto muy pequeño lo explican.",
        "El cuerpo de la clase 30 mide 1.27 m por 508 mm y el techo de la cava solo 1.22 m por 457 mm.",
        "La bomba de la unidad mueve demasiado poco con 3.05 m de elevación: caen 4.54 L/h y debería mover 1.5 veces eso. Hace falta una bomba aparte.",
        "CT-EXT: hacen falta 36.58 m en una pieza, el paquete más largo tiene 30.48 m: haría falta una unión.",
        "Falta una respuesta (/line_set/legs) y sin ella no hay oferta: Measure the way of the line set. Figured with 40 ft.",
    ];
    assert_eq!(spanish, wanted);
}

/// Words of the program inside a caution are in Spanish too, several reasons one behind the other.
#[test]
fn a_spanish_caution_is_spanish_within() {
    let table = [
        (
            "condensate.no_pump_does",
            "The drain must be pumped (leg 2 lacks 1.25 in of fall) and no pump does: The unit's own pump lifts 12.0 ft at most, 3.0 ft less than the 15.0 ft here.",
            "El desagüe debe bombearse (al tramo 2 le faltan 1.25 in de caída) y ninguna bomba basta: la bomba de la unidad eleva 12.0 ft como máximo, 3.0 ft menos que los 15.0 ft de aquí.",
        ),
        (
            "line_set.suction_not_stub_size",
            "Suction line in 7/8 instead of the unit's 5/8: there the line loses 3.1 °F of saturated temperature, 1.1 °F over the 2.0 °F allowed; gas runs at 4200 ft/min, 200 ft/min over the 4000 ft/min that are quiet.",
            "Línea de succión en 7/8 en lugar de 5/8, el diámetro de la unidad: con ese la línea pierde 3.1 °F de temperatura saturada, 1.1 °F más que los 2.0 °F admitidos; el gas va a 4200 ft/min, 200 ft/min más que los 4000 ft/min que no hacen ruido.",
        ),
        (
            "sweating.face_sweats",
            "walls: its warm side is at 54.0 °F, 1.8 °F below the dew point of 55.8 °F; no insulation helps in air so near its dew point; dry that air",
            "paredes: su cara cálida está a 54.0 °F, 1.8 °F por debajo del punto de rocío de 55.8 °F; ningún aislamiento sirve con aire tan cerca de su punto de rocío: seque ese aire.",
        ),
        (
            "controls.too_long",
            "The probe lead needs 45.0 ft, 90 % of the 50.0 ft that the maker allows.",
            "El cable de la sonda necesita 45.0 ft, el 90 % de los 50.0 ft que el fabricante admite.",
        ),
        (
            "class.for_figuring_only",
            "No class could be chosen. 2 × class 45 is taken for figuring only: lines and prices that depend on it are no offer.",
            "No se pudo elegir una clase. Se toma 2 × clase 45 solo para calcular: las líneas y precios que dependen de ella no son oferta.",
        ),
        (
            "piece_too_long",
            "CT-EXT: 120 ft are needed in one piece (2 more pieces are too long as well), the longest pack holds 100 ft: a joint would be needed",
            "CT-EXT: hacen falta 120 ft en una pieza (otras 2 piezas también son demasiado largas), el paquete más largo tiene 100 ft: haría falta una unión.",
        ),
    ];
    let cautions = table.map(|(code, message, _)| caution(code, message)).to_vec();
    let said = told(
        &speaker("es"),
        Measures::Customary,
        RuleSentences::default(),
        &cautions,
    );
    assert_eq!(said, table.map(|(.., wanted)| wanted));
}

/// What is written between quotes in a source, without the breaks of its lines.
fn quoted(source: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut signs = source.chars().peekable();
    while let Some(sign) = signs.next() {
        if sign != '"' {
            continue;
        }
        let mut text = String::new();
        while let Some(sign) = signs.next() {
            match sign {
                '"' => break,
                '\\' if signs.next_if_eq(&'\n').is_some() => {
                    while signs.next_if(|sign| sign.is_whitespace()).is_some() {}
                }
                '\\' => text.extend(signs.next()),
                sign => text.push(sign),
            }
        }
        found.push(text);
    }
    found
}

/// Of how many pieces of `written` a text is put together, each as long as may be.
fn pieces(text: &str, written: &str) -> usize {
    let (mut rest, mut count) = (text, 0);
    while !rest.is_empty() {
        let mut ends = rest.char_indices().map(|(at, sign)| at + sign.len_utf8()).rev();
        let longest = ends.find(|end| written.contains(&rest[..*end]));
        rest = &rest[longest.unwrap_or(rest.len())..];
        count += if longest.is_some() { 1 } else { 9 };
    }
    count
}

fn sources(folder: &std::path::Path, all: &mut String) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, all);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            all.push_str(&std::fs::read_to_string(&path).unwrap());
        }
    }
}

/// The sentences that are looked for are those that sizing and the bill write today, and no caution of the program that has
/// figures is told short: what does not depend on the job has no sentence with names.
#[test]
fn every_sentence_of_the_program_has_its_whole_spanish() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let rows = std::fs::read_to_string(root.join("handoff/words/told_rows.rs")).unwrap();
    let rows = quoted(
        rows.split("cautions! {")
            .nth(1)
            .unwrap()
            .split("\n};")
            .next()
            .unwrap(),
    );
    let mut written = String::new();
    for room in ["sizing", "bill"] {
        sources(&root.join(room), &mut written);
    }
    let written = quoted(&written).join("\n");
    let mut codes = Vec::new();
    for row in rows.chunks(3) {
        let [code, english, _] = row else {
            panic!("{row:?}")
        };
        codes.push(code.clone());
        if code == "unknown_answer" {
            continue;
        }
        for words in english.split(['{', '}']).step_by(2) {
            let pieces = pieces(words, &written);
            assert!(pieces <= 3, "{code}: nobody writes {words:?}");
        }
    }
    let fixed = [
        "not_worked_out",
        "cellar_load.surrounding_below_cellar",
        "condensate.may_freeze",
        "condensate.outdoors",
        "condensate.sink_tail_by_local_code",
        "hanging.not_set_out",
        "mounting.made_framing",
    ];
    let short: Vec<String> = codes_of_findings()
        .into_iter()
        .filter(|code| Language::is_of_the_program(code) && !codes.contains(code))
        .filter(|code| !fixed.iter().any(|word| code.ends_with(word)))
        .collect();
    assert_eq!(short, Vec::<String>::new());
}

/// On every job of the demonstration, in both measures.
#[test]
fn no_spanish_caution_of_the_program_ends_in_bare_figures() {
    let speaker = speaker("es");
    for file in crate::demo::job_files() {
        let cautions = cautions_of(&file);
        for measures in [Measures::Customary, Measures::Metric] {
            let said = told(&speaker, measures, RuleSentences::default(), &cautions);
            for (caution, said) in cautions.iter().zip(said) {
                let (code, message) = (
                    caution["code"].as_str().unwrap(),
                    caution["message"].as_str().unwrap(),
                );
                let figures = message.contains(|sign: char| sign.is_ascii_digit());
                if let Some(fixed) = Language::Es.caution(code).filter(|_| figures) {
                    assert!(!said.starts_with(fixed.trim_end_matches('.')), "{file}: {said}");
                }
            }
        }
    }
}
