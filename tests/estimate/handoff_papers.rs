//! What papers say before anybody prints them: their contents as texts.

use estimate::handoff::contrast::on_white;
use estimate::handoff::house_style::HouseStyle;
use estimate::handoff::measures::Measures;
use estimate::handoff::offer::{Changed, Offer};
use estimate::handoff::words::Language;
use estimate::handoff::{job_sheet, proposal};
use estimate::quote::estimated::Estimated;
use serde_json::{Value, json};

use crate::demo::Demo;

fn estimated(request: &Value) -> Estimated {
    let demo = Demo::load();
    let request = demo.read(request);
    let prices = demo.prices(&request);
    Estimated::of(&demo.estimate(&request, &prices, false).unwrap()).unwrap()
}

pub fn offer(request: &Value, style: &Value) -> Offer {
    let style = HouseStyle::read(style).unwrap();
    Offer::of_estimate(
        estimated(request),
        Demo::load().company,
        style,
        Measures::of(request),
    )
    .unwrap()
}

fn texts(tree: &Value, found: &mut Vec<String>) {
    match tree {
        Value::String(text) => found.push(text.clone()),
        Value::Array(entries) => entries.iter().for_each(|entry| texts(entry, found)),
        Value::Object(members) => members.values().for_each(|member| texts(member, found)),
        _ => {}
    }
}

pub fn list(content: &Value, name: &str) -> Vec<String> {
    let entries = content[name].as_array().unwrap();
    entries
        .iter()
        .map(|text| text.as_str().unwrap().to_owned())
        .collect()
}

/// Contrast on white worked out from the formula of WCAG 2.2 ("contrast ratio", "relative luminance") in binary floats,
/// outside this project; the grey pair is either side of 4.5.
#[test]
fn contrast_is_that_of_the_guidelines() {
    for (colour, wanted) in [
        ([0x00, 0x00, 0x00], 21.0),
        ([0xff, 0xff, 0xff], 1.0),
        ([0x77, 0x77, 0x77], 4.478_089),
        ([0x76, 0x76, 0x76], 4.542_225),
        ([0xff, 0x00, 0x00], 3.998_477),
        ([0x00, 0x00, 0xff], 8.592_471),
        ([0x0a, 0x0a, 0x0a], 19.798_146),
        ([0x0b, 0x0b, 0x0b], 19.682_628),
        ([0x27, 0x42, 0x4f], 10.614_340),
    ] {
        let [red, green, blue] = colour;
        let found = f64::from(on_white(red, green, blue)) / 100.0;
        assert!(
            (found - wanted).abs() < 0.011,
            "{colour:?}: {found}, wanted {wanted}"
        );
    }
}

#[test]
fn an_accent_that_does_not_read_on_white_is_refused() {
    for accent in ["#FFFFFF", "#777777", "#ff0000"] {
        let told = HouseStyle::read(&json!({"accent": accent})).unwrap_err();
        assert_eq!(told.list[0].pointer, "/accent");
        assert!(
            told.list[0].message.contains("contrast"),
            "{}",
            told.list[0].message
        );
    }
    HouseStyle::read(&json!({"accent": "#767676"})).unwrap();
}

#[test]
fn a_reader_of_metres_finds_no_feet_but_in_the_offices_own_words() {
    let request = Demo::job("quarrow-metric.json");
    for language in ["en", "es"] {
        let offer = offer(&request, &json!({"prices": "all_lines", "language": language}));
        let pages = [
            proposal::proposal(&offer).unwrap().content,
            job_sheet::job_sheet(&offer).unwrap().content,
        ];
        let own: Vec<String> = {
            let mut own = Vec::new();
            for part in ["cautions", "assumptions", "exclusions", "not_priced"] {
                texts(offer.estimated.part(part), &mut own);
            }
            for line in offer.estimated.part("lines").as_array().unwrap() {
                texts(&line["description"], &mut own);
                texts(&line["note"], &mut own);
            }
            own
        };
        for page in pages {
            let mut said = Vec::new();
            texts(&page, &mut said);
            for text in said {
                let of_the_office = own.iter().any(|own| text.contains(own.as_str()));
                let foot = [" ft", " lb", "°F"].iter().any(|unit| text.contains(unit));
                assert!(of_the_office || !foot, "{language}: {text}");
            }
        }
    }
    let offer = offer(&request, &json!({}));
    let cautions = list(&job_sheet::job_sheet(&offer).unwrap().content, "cautions");
    // 61 lb are 27.7 kg, 3002 ft³ are 85.01 m³ and 2 in are 51 mm: NIST SP 811, appendix B.
    for wanted in [
        "27.7 kg go overhead",
        "85.01 m³",
        "Keep the controller cable 51 mm",
    ] {
        assert!(
            cautions.iter().any(|text| text.contains(wanted)),
            "{wanted}: {cautions:#?}"
        );
    }
}

/// Sentences of the program, each kind that speaks of degrees, speeds or transmittances. By NIST SP 811, appendix B: °C are
/// (°F − 32)/1.8 and a difference of 1 °F is 1/1.8 K; 1 ft/min is 0.00508 m/s; 1 Btu/(h·ft²·°F) is 5.678 W/(m²·K).
#[test]
fn degrees_of_a_caution_are_told_in_the_readers_measures() {
    let table = [
        (
            "The air at the condenser reaches 110.0 °F, 5.0 °F over the 105.0 °F in which class 45 works.",
            "The air at the condenser reaches 43.3 °C, 2.8 K over the 40.6 °C in which class 45 works.",
        ),
        (
            "The air at the condenser falls to -5.0 °F, 25.0 °F under the 20.0 °F of the data sheet.",
            "The air at the condenser falls to -20.6 °C, 13.9 K under the -6.7 °C of the data sheet.",
        ),
        (
            "has no capacity data for a cellar of 48 °F: it covers 50 to 60 °F, 2 °F below",
            "has no capacity data for a cellar of 8.9 °C: it covers 10 °C to 15.6 °C, 1.1 K below",
        ),
        (
            "north wall: 50.0 °F behind it is colder than the cellar by 5.4 °F; it is counted as no gain",
            "north wall: 10 °C behind it is colder than the cellar by 3 K; it is counted as no gain",
        ),
        (
            "3/8 loses 2.7 °F of subcooling (1.8 °F allowed) at 310 ft/min (300 ft/min allowed)",
            "3/8 loses 1.5 K of subcooling (1 K allowed) at 1.57 m/s (1.52 m/s allowed)",
        ),
        (
            "Only 3.6 °F of subcooling left after friction and a climb of 10.0 ft, 1.8 °F under the usual 5.4 °F.",
            "Only 2 K of subcooling left after friction and a climb of 3.05 m, 1 K under the usual 3 K.",
        ),
        (
            "slab: its warm side is at 54.0 °F, 1.8 °F below the dew point of 55.8 °F; a U of 0.05 Btu/(h·ft²·°F) or less keeps 3 °F",
            "slab: its warm side is at 12.2 °C, 1 K below the dew point of 13.2 °C; a U of 0.28 W/m²/K or less keeps 1.7 K",
        ),
    ];
    let offer = offer(&Demo::job("quarrow-metric.json"), &json!({}));
    let mut tree = offer.estimated.tree().clone();
    let cautions = table.map(|(message, _)| json!({"code": "a.b", "message": message, "source": "here"}));
    tree["cautions"] = Value::Array(cautions.to_vec());
    let offer = Offer {
        estimated: Estimated::read(tree).unwrap(),
        ..offer
    };
    let told = list(&job_sheet::job_sheet(&offer).unwrap().content, "cautions");
    assert_eq!(told, table.map(|(_, wanted)| wanted));
}

#[test]
fn a_change_order_that_moves_nothing_says_so() {
    let request = Demo::job("pinfold-basement.json");
    let mut offer = offer(&request, &json!({}));
    offer.change = Some(Changed {
        title: "Nothing after all".to_owned(),
        before: offer.estimated.clone(),
    });
    let content = proposal::proposal(&offer).unwrap().content;
    assert_eq!(content["unchanged"], "Work and price stay as they are.");
    let mut request = request;
    request["discount"] = json!({"percent": "2"});
    offer.change.as_mut().unwrap().before = estimated(&request);
    offer.style.prices = estimate::handoff::house_style::Prices::LumpSum;
    let content = proposal::proposal(&offer).unwrap().content;
    assert_eq!(
        content["unchanged"],
        "The work stays as it is; only the price changes."
    );
}

#[test]
fn works_in_one_sentence_have_no_full_stops_and_sizes_have_their_inches_once() {
    for file in crate::demo::job_files() {
        let offer = offer(&Demo::job(&file), &json!({}));
        let page = proposal::proposal(&offer).unwrap().content;
        for section in page["sections"].as_array().unwrap() {
            for work in list(section, "works") {
                assert!(!work.ends_with('.'), "{file}: {work}");
            }
        }
        assert!(!page["assumptions"].to_string().contains("degF"), "{file}");
        let sheet = job_sheet::job_sheet(&offer).unwrap().content;
        let facts = sheet["groups"].as_array().unwrap().iter();
        let facts = facts.flat_map(|group| group["rows"].as_array().unwrap());
        let mut sizes = 0;
        for fact in facts {
            let (label, value) = (fact[0].as_str().unwrap(), fact[1].as_str().unwrap());
            assert!(!label.ends_with(", in"), "{file}: {label}");
            assert!(
                !["0 ft", "0 in", "0 m"].contains(&value),
                "{file}: {label} {value}"
            );
            sizes += usize::from(value.ends_with("/4 in") || value.ends_with("/8 in"));
        }
        assert!(sizes > 2, "{file}: {sizes} sizes in parts of an inch");
    }
}

/// The words of a code of a finding in the sources of sizing, wherever one is made.
pub fn codes_of_findings() -> Vec<String> {
    let mut codes = Vec::new();
    let mut folders = vec![std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sizing")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            let makes = text.matches("Finding::").count() > 0 || text.contains("tell(");
            let quoted = text.split('"').skip(1).step_by(2);
            let groups = [
                "cellar_load",
                "charge_limit",
                "class",
                "condensate",
                "condenser",
                "controls",
                "hanging",
                "line_set",
                "mounting",
                "sweating",
                "wiring",
            ];
            let is_code = |word: &&str| {
                let parts = word.split_once('.');
                parts.is_some_and(|(group, name)| {
                    groups.contains(&group)
                        && !name.is_empty()
                        && name.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'_')
                })
            };
            if makes {
                codes.extend(quoted.filter(is_code).map(str::to_owned));
            }
        }
    }
    codes
}

#[test]
fn every_caution_of_the_program_has_its_spanish() {
    // Facts are called like codes; these are told by sizing and are no cautions.
    let facts: Vec<String> = {
        let estimate = estimated(&Demo::job("pinfold-basement.json"));
        let mut names = Vec::new();
        for question in estimate.tree()["sizing"]["questions"].as_array().unwrap() {
            for result in question["results"].as_array().unwrap() {
                names.push(result["name"].as_str().unwrap().to_owned());
            }
        }
        names
    };
    let codes = codes_of_findings();
    assert!(codes.iter().any(|code| code == "hanging.two_persons"));
    let silent: Vec<&String> = codes
        .iter()
        .filter(|code| !facts.contains(code) && Language::Es.caution(code).is_none())
        .collect();
    assert_eq!(silent, Vec::<&String>::new());
}

#[test]
fn a_spanish_job_sheet_says_its_cautions_in_spanish() {
    let own = json!([
        {"code": "hot-work", "text": "Soldadura: retire lo que pueda arder, nitrógeno en el tubo y extintor a mano."},
    ]);
    for file in crate::demo::job_files() {
        let request = Demo::job(&file);
        let offer = offer(&request, &json!({"language": "es", "cautions": own}));
        let said = list(&job_sheet::job_sheet(&offer).unwrap().content, "cautions");
        for caution in offer.estimated.part("cautions").as_array().unwrap() {
            let (code, message) = (
                caution["code"].as_str().unwrap(),
                caution["message"].as_str().unwrap(),
            );
            let ours = code.contains('.') || code == "hot-work";
            assert!(
                !ours || !said.iter().any(|text| text == message),
                "{file}: {message}"
            );
        }
        if file.starts_with("pinfold") {
            let wanted = "83 lb van por encima de la cabeza: dos personas o un elevador homologado.";
            assert!(said.iter().any(|text| text == wanted), "{said:#?}");
            assert!(
                said.iter().any(|text| text.starts_with("Soldadura: retire")),
                "{said:#?}"
            );
        }
    }
}

/// What the crew reads of a device, a surface and a pack says of what each figure is.
#[test]
fn the_crews_figures_say_of_what_they_are() {
    let mut request = Demo::job("quarrow-metric.json");
    request["job"]["finishes"]["ceiling_patch"] =
        json!({"area": {"value": "0.6", "unit": "m2"}, "texture": "textured"});
    let offer = offer(&request, &json!({"language": "es"}));
    let scope = list(&proposal::proposal(&offer).unwrap().content, "scope").join(" ");
    assert!(scope.contains("0.6 m² de techo, acabado texturizado."), "{scope}");
    let sheet = job_sheet::job_sheet(&offer).unwrap().content;
    let packs: Vec<&str> = sheet["material"]
        .as_array()
        .unwrap()
        .iter()
        .map(|load| load["packs"].as_str().unwrap())
        .collect();
    let cuts: Vec<&&str> = packs
        .iter()
        .filter(|pack| pack.contains("× cut") && !pack.starts_with("1 ×"))
        .collect();
    assert!(
        !cuts.is_empty()
            && cuts
                .iter()
                .all(|cut| cut.contains("× cut: ") && cut.ends_with(" m")),
        "{packs:?}"
    );
    let mut facts = Vec::new();
    for file in crate::demo::job_files() {
        let sheet = job_sheet::job_sheet(&self::offer(&Demo::job(&file), &json!({})))
            .unwrap()
            .content;
        let groups = sheet["groups"].as_array().unwrap().iter();
        facts.extend(groups.flat_map(|group| group["rows"].as_array().unwrap().clone()));
    }
    assert!(facts.iter().all(|fact| fact[0] != "Site"), "the head has it");
    let devices: Vec<&Value> = facts
        .iter()
        .filter(|fact| fact[0] == "Anti-siphon device")
        .collect();
    assert!(!devices.is_empty(), "{facts:#?}");
    for device in devices {
        let told = device[1].as_str().unwrap();
        assert!(
            told.contains(" above the outlet; ") && told.ends_with(" along the route"),
            "{told}"
        );
    }
}

/// The figures of a caution keep their sense in Spanish, in both kinds of measures.
#[test]
fn a_spanish_caution_has_its_figures_in_its_sentence() {
    let table = [
        (
            "hanging.framing",
            "102 lb hang from joists that carry a ceiling alone, 27 lb over 75 lb: an engineer decides.",
            "102 lb cuelgan de viguetas que solo llevan un techo, 27 lb más que 75 lb: decide un ingeniero.",
        ),
        (
            "condenser.low_ambient_needed",
            "The air at the condenser falls to -5.0 °F, 25.0 °F under the 20.0 °F of the data sheet: it needs a low-ambient kit.",
            "El aire de la condensadora baja a -5.0 °F, 25.0 °F menos que los 20.0 °F de la hoja de datos: necesita un equipo para baja temperatura.",
        ),
        (
            "hanging.framing",
            "The unit hangs from beams of an older program: ask an engineer.",
            "La estructura del techo no basta por sí sola o no se conoce: decide un ingeniero; no corte ni taladre cerchas ni viguetas, y en hormigón use anclajes según su homologación.",
        ),
    ];
    let told = |job: &str| {
        let offer = offer(&Demo::job(job), &json!({"language": "es"}));
        let mut tree = offer.estimated.tree().clone();
        let cautions =
            table.map(|(code, message, _)| json!({"code": code, "message": message, "source": "here"}));
        tree["cautions"] = Value::Array(cautions.to_vec());
        let offer = Offer {
            estimated: Estimated::read(tree).unwrap(),
            ..offer
        };
        list(&job_sheet::job_sheet(&offer).unwrap().content, "cautions")
    };
    assert_eq!(told("pinfold-basement.json"), table.map(|(.., wanted)| wanted));
    assert_eq!(
        told("quarrow-metric.json")[1],
        "El aire de la condensadora baja a -20.6 °C, 13.9 K menos que los -6.7 °C de la hoja de datos: necesita un equipo para baja temperatura."
    );
}

#[test]
fn the_scope_says_how_a_length_is_known() {
    let mut request = Demo::job("pinfold-basement.json");
    for (known, words) in [
        ("measured", "46 ft as measured, and seal"),
        ("told", "46 ft as we were told, and seal"),
        ("assumed", "46 ft as assumed, and seal"),
    ] {
        request["job"]["basis"] = json!([{"answer": "/line_set/legs", "known": known}]);
        let scope = list(
            &proposal::proposal(&offer(&request, &json!({}))).unwrap().content,
            "scope",
        );
        assert!(
            scope.iter().any(|text| text.contains(words)),
            "{known}: {scope:#?}"
        );
    }
    request["job"]["basis"] = json!([]);
    let scope = list(
        &proposal::proposal(&offer(&request, &json!({}))).unwrap().content,
        "scope",
    );
    assert!(
        scope.iter().any(|text| text.contains("46 ft, and seal")),
        "{scope:#?}"
    );
}

#[test]
fn what_a_person_put_in_has_a_section_of_its_own() {
    let mut request = Demo::job("pinfold-basement.json");
    request["manual_lines"] = json!([{
        "kind": "fee", "code": "GATE", "description": "Gate key of the estate", "unit_cost": "61.37",
        "quantity": {"value": "1", "unit": "each"}, "cost_code": "MSC", "tax_category": "services", "reason": "asked for"
    }]);
    let content = proposal::proposal(&offer(&request, &json!({}))).unwrap().content;
    let sections = content["sections"].as_array().unwrap();
    let section = sections
        .iter()
        .find(|section| section["title"] == "Further items")
        .unwrap();
    assert_eq!(section["works"], json!(["Gate key of the estate"]));
    let other = sections
        .iter()
        .find(|section| section["title"] == "Delivery, small material and charges")
        .unwrap();
    assert!(
        !other["works"]
            .as_array()
            .unwrap()
            .contains(&json!("Gate key of the estate"))
    );
}

/// Rows of what a change does come to what the contract rises by, with discount and tax; what the house says in front of
/// an offer is not said again.
#[test]
fn the_rows_of_a_change_add_up_with_discount_and_tax() {
    let mut before = Demo::job("alderwick-closet.json");
    before["job"]["tax"] = json!({"treatment": "tax_on_sale"});
    before["discount"] = json!({"percent": "3.5"});
    let mut now = before.clone();
    now["job"]["electrical"]["panel_length"] = json!({"value": "95", "unit": "ft"});
    for detail in ["all_lines", "by_section"] {
        let style = json!({"prices": detail, "wording": {"introduction": ["Thank you for your visit."]}});
        let mut offer = offer(&now, &style);
        offer.change = Some(Changed {
            title: "Panel moved".to_owned(),
            before: estimated(&before),
        });
        let content = proposal::proposal(&offer).unwrap().content;
        assert_eq!(list(&content, "introduction"), ["Panel moved"]);
        let groups = content["changes"].as_array().unwrap();
        let last = groups.last().unwrap();
        assert_eq!(last["title"], "Discount and tax", "{last}");
        assert_eq!(last["rows"].as_array().unwrap().len(), 2, "{last}");
        let rows = groups.iter().flat_map(|group| group["rows"].as_array().unwrap());
        let sum: i64 = rows.map(|row| amount(&row["difference"])).sum();
        let mut totals = content["totals"].as_array().unwrap().iter();
        let this = totals.find(|row| row["label"] == "This change").unwrap();
        assert_eq!(sum, amount(&this["amount"]));
    }
}

/// A change order with a longer line set, a cover in the place of a frame, and no probe.
fn changed(detail: &str) -> Value {
    let before = Demo::job("pinfold-basement.json");
    let mut now = before.clone();
    now["job"]["line_set"]["legs"][0]["length"] = json!({"value": "31", "unit": "ft"});
    now["job"]["finishes"]["trim"] = json!("cover");
    let mut offer = offer(&now, &json!({"prices": detail}));
    offer.name = Some("2025-00042-C1-R1".to_owned());
    offer.change = Some(Changed {
        title: "A longer way for the lines".to_owned(),
        before: estimated(&before),
    });
    proposal::proposal(&offer).unwrap().content
}

fn rows(content: &Value, title: &str) -> Vec<Value> {
    let groups = content["changes"].as_array().unwrap();
    let group = groups.iter().find(|group| group["title"] == title);
    group.map_or_else(Vec::new, |group| group["rows"].as_array().unwrap().clone())
}

fn amount(text: &Value) -> i64 {
    text.as_str()
        .unwrap()
        .replace([',', '.', '+'], "")
        .parse()
        .unwrap()
}

#[test]
fn a_change_order_says_what_it_adds_omits_and_changes() {
    let lines = changed("all_lines");
    let titles = |rows: &[Value]| -> Vec<String> {
        rows.iter()
            .map(|row| row["title"].as_str().unwrap().to_owned())
            .collect()
    };
    let (added, omitted, moved) = (
        rows(&lines, "Added"),
        rows(&lines, "Omitted"),
        rows(&lines, "Changed"),
    );
    assert!(
        !added.is_empty() && !omitted.is_empty(),
        "{added:#?} {omitted:#?}"
    );
    assert!(
        titles(&omitted)
            .iter()
            .any(|title| title.contains("frame") || title.contains("Frame")),
        "{omitted:#?}"
    );
    let tube = moved
        .iter()
        .find(|row| row["title"].as_str().unwrap().starts_with("Soft copper tube"))
        .unwrap();
    assert!(tube["detail"].as_str().unwrap().contains("until now"), "{tube}");
    // The moves of the lines come to the move of the price before discount and tax; none of either here.
    let sum: i64 = [&added, &omitted, &moved]
        .into_iter()
        .flatten()
        .map(|row| amount(&row["difference"]))
        .sum();
    let totals = lines["totals"].as_array().unwrap();
    let this = totals.iter().find(|row| row["label"] == "This change").unwrap();
    assert_eq!(sum, amount(&this["amount"]));
    let works = changed("by_section");
    let sum: i64 = ["Added", "Omitted", "Changed"]
        .iter()
        .flat_map(|title| rows(&works, title))
        .map(|row| amount(&row["difference"]))
        .sum();
    assert_eq!(sum, amount(&this["amount"]));
    let silent = changed("lump_sum");
    assert!(
        ["Added", "Omitted", "Changed"]
            .iter()
            .flat_map(|title| rows(&silent, title))
            .all(|row| row["difference"].is_null())
    );
}

/// The crew checks on site what nobody answered or measured; twenty lines of it are nothing for the customer.
#[test]
fn the_crew_reads_what_was_left_out_or_told_and_the_customer_does_not() {
    let mut request = Demo::job("pinfold-basement.json");
    let legs = request["job"]["line_set"]["legs"].as_array_mut().unwrap();
    for leg in [0, 2] {
        legs[leg].as_object_mut().unwrap().shift_remove("bends");
    }
    request["job"]["site"]
        .as_object_mut()
        .unwrap()
        .shift_remove("carry_distance");
    for (language, told, usual) in [
        (
            "en",
            "Cellar, Vapour barrier: On the warm side of the insulation (told; told by the builder, not seen)",
            [
                "Line set, Legs of the route – Right-angle bends on it: 0 (entries 1, 3)",
                "Line set, Penetrations – Fire-rated: no (entries 1, 2); How many: 1 (entry 2)",
                "Distance from the van to the work: 50 ft",
            ],
        ),
        (
            "es",
            "Cava, Barrera de vapor: En el lado caliente del aislamiento (dicho; told by the builder, not seen)",
            [
                "Línea frigorífica, Tramos del recorrido – Curvas en ángulo recto: 0 (entradas 1, 3)",
                "Línea frigorífica, Perforaciones – Resistente al fuego: no (entradas 1, 2); Cuántas: 1 (entrada 2)",
                "Distancia de la furgoneta al trabajo: 50 ft",
            ],
        ),
    ] {
        let offer = offer(&request, &json!({"language": language}));
        let sheet = job_sheet::job_sheet(&offer).unwrap().content;
        assert_eq!(list(&sheet, "told_answers"), [told]);
        let found = list(&sheet, "usual_answers");
        for wanted in usual {
            assert!(
                found.iter().any(|line| line.contains(wanted)),
                "{wanted}: {found:#?}"
            );
        }
        let none = |text: &str| !found.iter().any(|line| line.contains(text));
        assert!(
            none("money") && none("sales tax") && none("Impuesto"),
            "{found:#?}"
        );
        let customer = proposal::proposal(&offer).unwrap().content.to_string();
        assert!(!customer.contains("Distance from the van") && !customer.contains("furgoneta"));
    }
}

/// Estimates of earlier programs have no such lists.
#[test]
fn a_job_sheet_of_an_earlier_estimate_is_printed_without_them() {
    let request = Demo::job("pinfold-basement.json");
    let mut offer = offer(&request, &json!({}));
    let mut tree = offer.estimated.tree().clone();
    for name in ["not_measured", "usual_answers"] {
        tree.as_object_mut().unwrap().shift_remove(name).unwrap();
    }
    offer.estimated = Estimated::read(tree).unwrap();
    let sheet = job_sheet::job_sheet(&offer).unwrap().content;
    assert!(list(&sheet, "told_answers").is_empty() && list(&sheet, "usual_answers").is_empty());
}
