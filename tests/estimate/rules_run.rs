//! What a run gives: needs, hours, amounts, what is told with them, and its faults.

use super::rules_sample::{decimal, names, program, reopened, run, values, with_head};
use estimate::quantity::fact::FactValue;
use estimate::rules::outcome::{AmountCost, AmountKind, Level};
use estimate::rules::{RunInput, RunReason};

fn office() -> String {
    with_head(
        r#"
[labour]
max_factor = "1.5"

[[factor]]
name = "occupied"
title = "Occupied home"
when = "site.occupied"
add = "10 %"

[[factor]]
name = "height"
title = "Ceiling height"
when = "site.ceiling_height > 9 ft"
add = "lift_share[site.ceiling_height]"

[[factor]]
name = "quiet"
title = "Quiet hours"
when = "not site.occupied"
add = "50 %"

[[assembly]]
code = "LINES"
title = "Line set"
section = "Refrigerant"

[[assembly.line]]
kind = "material"
item_from = "tube[line_set.suction_size]"
quantity = "lines + line_set.rise"
waste = "10 %"
one_piece = true
note = "no joint in the wall"

[[assembly.line]]
kind = "material"
item = "CLAMP"
quantity = "round_up(lines / 6 ft, 1) * each"

[[assembly.line]]
kind = "material"
item = "GAS"
quantity = "max(0.21 oz/ft * (lines - 100 ft), 0 oz)"

[[assembly.line]]
kind = "material"
item_from = 'if line_set.length > 50 ft then "TUBE-M" else "TUBE-58"'
quantity = "10 ft"

[[assembly.line]]
kind = "labour"
task = "run"
title = "Run lines"
class = "lead_mechanic"
hours = "lines * 0.1 h/ft"
crew = "2"
factors = ["height", "quiet", "occupied"]

[[assembly.line]]
kind = "labour"
task = "rise"
title = "Run the riser"
class = "lead_mechanic"
hours = "line_set.rise * 0.2 h/ft"

[[assembly]]
code = "ROOF"
title = "Roof"
section = "Refrigerant"
when = "line_set.rise > 10 ft"

[[assembly.line]]
kind = "fee"
title = "Crane"
cost_code = "SUB"
tax_category = "services"
amount = "400 money"

[[assembly]]
code = "PAPERS"
title = "Papers"
section = "Papers"

[[assembly.line]]
kind = "fee"
title = "Permit"
cost_code = "PERMIT"
tax_category = "services"
amount = "165 money + 12.5 money/each * (unit.count - 1 each)"

[[assembly.line]]
kind = "subcontract"
trade = "Painter"
title = "Paint"
cost_code = "SUB"
tax_category = "services"
item = "PAINT"
quantity = "200 ft2 / 250 ft2/gal"
when = "unit.mounting = flush"

[[check]]
code = "no-trap"
level = "caution"
when = "line_set.rise > 15 ft"
message = "A riser of {line_set.rise} wants a trap."

[[check]]
code = "old-ceiling"
level = "stop"
when = "site.occupied"
message = "Stop."
source = "local code"

[[exclusion]]
code = "paint"
text = "Painting."
when = "unit.mounting = exposed"

[[exclusion]]
code = "power"
text = "Utility work."

[[completeness]]
code = "permit"
title = "Permit"
covered_by = ["PAPERS"]

[[completeness]]
code = "gas"
title = "Refrigerant"
covered_by = ["GAS"]
wording = "None was needed."

[[completeness]]
code = "crane"
title = "Crane"
covered_by = ["ROOF"]
when = "line_set.rise > 10 ft"

[[unknown]]
answer = "/line_set/legs/*/length"
treat = "allowance"
value = { value = "20", unit = "ft" }
wording = "Twenty feet are allowed for."
amount = "lines * 3 money/ft"
cost_code = "SUB"
tax_category = "goods"
"#,
    )
}

#[test]
fn material_comes_in_its_items_unit_and_nothing_is_left_out_but_nothing() {
    let (program, values) = (program(&office()), values());
    let outcome = run(&program, &values).unwrap();
    let needs: Vec<(&str, String, String, usize)> = outcome
        .needs
        .iter()
        .map(|need| {
            (
                need.item,
                need.quantity.normalize().to_string(),
                need.waste.to_string(),
                need.line.number,
            )
        })
        .collect();
    assert_eq!(
        needs,
        [
            ("TUBE-58", "62".into(), "0.10".into(), 1),
            ("CLAMP", "11".into(), "0".into(), 2),
            ("TUBE-M", "3.048".into(), "0".into(), 4),
        ]
    );
    assert!(outcome.needs[0].one_piece && !outcome.needs[1].one_piece);
    assert_eq!(
        outcome.needs[0].line.note.as_deref(),
        Some("no joint in the wall")
    );
    for need in &outcome.needs {
        assert_eq!(&*names().items[need.item_place].0, need.item);
    }
    let codes: Vec<&str> = outcome
        .assemblies
        .iter()
        .map(|assembly| &*assembly.code)
        .collect();
    assert_eq!(codes, ["LINES", "PAPERS"]);
    assert_eq!(outcome.max_factor, Some(decimal("1.5")));
}

#[test]
fn labour_names_the_factors_that_apply_and_what_each_adds() {
    let (program, values) = (program(&office()), values());
    let outcome = run(&program, &values).unwrap();
    let [labour] = &outcome.labour[..] else {
        panic!("one task")
    };
    assert_eq!(
        (labour.task, labour.class, labour.class_place),
        ("run", "lead_mechanic", 0)
    );
    assert_eq!((labour.hours, labour.crew), (decimal("6.2"), decimal("2")));
    let factors: Vec<(&str, String)> = labour
        .factors
        .iter()
        .map(|factor| (factor.name, factor.add.normalize().to_string()))
        .collect();
    assert_eq!(
        factors,
        [("height", "0.175".to_owned()), ("occupied", "0.1".to_owned())]
    );
}

#[test]
fn amounts_are_money_or_an_item() {
    let (program, values) = (program(&office()), values());
    let outcome = run(&program, &values).unwrap();
    let [permit, paint] = &outcome.amounts[..] else {
        panic!("two amounts")
    };
    assert_eq!(
        (permit.kind, permit.cost),
        (AmountKind::Fee, AmountCost::Money(decimal("165.0")))
    );
    assert_eq!(
        (paint.kind, paint.trade, paint.line.number),
        (AmountKind::Subcontract, Some("Painter"), 2)
    );
    let AmountCost::Item { item, quantity, .. } = paint.cost else {
        panic!("an item")
    };
    assert_eq!((item, quantity.normalize()), ("PAINT", decimal("0.8")));
}

#[test]
fn checks_exclusions_and_what_is_missing_are_told() {
    let program = program(&office());
    let mut values = values();
    let outcome = run(&program, &values).unwrap();
    let raised: Vec<_> = outcome
        .raised
        .iter()
        .map(|raised| (raised.code, raised.level, raised.source))
        .collect();
    assert_eq!(raised, [("old-ceiling", Level::Stop, Some("local code"))]);
    let exclusions: Vec<&str> = outcome
        .exclusions
        .iter()
        .map(|exclusion| exclusion.code)
        .collect();
    assert_eq!(exclusions, ["power"]);
    let missing: Vec<_> = outcome
        .missing
        .iter()
        .map(|missing| (missing.code, missing.wording))
        .collect();
    assert_eq!(missing, [("gas", Some("None was needed."))]);
    // With a riser the crane comes, and the charge that the line set's length asks for.
    values[1] = FactValue::Number(decimal("20"));
    values[0] = FactValue::Number(decimal("110"));
    let outcome = run(&program, &values).unwrap();
    assert_eq!(outcome.raised[0].message, "A riser of 20 ft wants a trap.");
    assert!(outcome.missing.is_empty());
    assert!(
        outcome
            .needs
            .iter()
            .any(|need| need.item == "GAS" && need.quantity == decimal("2.1"))
    );
}

#[test]
fn an_allowance_counts_only_where_its_answer_is_unknown() {
    let (program, values) = (program(&office()), values());
    let with = |unknown: &[&str]| {
        let input = RunInput {
            facts: &values,
            unknown,
            explain: false,
        };
        program
            .run(input)
            .unwrap()
            .allowances
            .into_iter()
            .map(|allowance| allowance.amount)
            .collect::<Vec<_>>()
    };
    assert!(with(&[]).is_empty());
    assert!(
        with(&[
            "/electrical/panel_length",
            "/line_set/legs/x/length",
            "/line_set/legs/1"
        ])
        .is_empty()
    );
    assert_eq!(with(&["/line_set/legs/12/length"]), [decimal("186")]);
    assert_eq!(
        with(&["/line_set/legs/0/length", "/line_set/legs/1/length"]),
        [decimal("186")]
    );
}

#[test]
fn an_answer_is_not_needed_where_its_condition_does_not_hold() {
    let spared = |condition: &str| {
        let answer = "treat = \"allowance\"\n";
        let text = office().replace(answer, &format!("{answer}when = \"{condition}\"\n"));
        let program = program(&text);
        let pointers = ["/line_set/legs/3/length", "/electrical/panel_length"];
        let spared = program.not_needed(&values(), &pointers).unwrap();
        spared.into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(spared("lines > 100000 ft"), ["/line_set/legs/3/length"]);
    assert!(spared("lines > 0 ft").is_empty());
}

#[test]
fn a_run_without_explanation_gives_the_same() {
    let (program, values) = (program(&office()), values());
    let explained = run(&program, &values).unwrap();
    let plain = program
        .run(RunInput {
            facts: &values,
            unknown: &[],
            explain: false,
        })
        .unwrap();
    assert!(plain.trace.is_none());
    assert_eq!(plain.needs, explained.needs);
    assert_eq!(plain.labour, explained.labour);
    assert_eq!(plain.amounts, explained.amounts);
    assert_eq!(plain.raised, explained.raised);
    let trace = explained.trace.unwrap();
    let fields: Vec<String> = trace
        .formulas
        .iter()
        .map(|formula| formula.place.to_string())
        .filter(|place| place.starts_with("assembly LINES, line 1,"))
        .collect();
    assert_eq!(
        fields,
        [
            "assembly LINES, line 1, quantity",
            "assembly LINES, line 1, item_from",
            "assembly LINES, line 1, waste"
        ]
    );
    // A condition that does not hold is told too: it says why the assembly is absent.
    assert!(
        trace
            .formulas
            .iter()
            .any(|formula| formula.place.to_string() == "assembly ROOF, when")
    );
}

#[test]
fn faults_name_assembly_line_field_and_formula() {
    let line = |line: &str| {
        with_head(&format!(
            "[[assembly]]\ncode = 'A'\ntitle = 'A'\nsection = 'S'\n[[assembly.line]]\n{line}\n"
        ))
    };
    let fault = |text: &str| {
        let (program, values) = (reopened(text), values());
        run(&program, &values).map(|_| ()).unwrap_err()
    };
    let negative = fault(&line(
        "kind = 'material'\nitem = 'CLAMP'\nquantity = '1 each - unit.count * 2'",
    ));
    assert_eq!(
        negative.to_string(),
        "assembly A, line 1, quantity: the result -1 is negative, at `1 each - unit.count * 2` in `1 each - unit.count * 2`"
    );
    assert_eq!(
        (negative.assembly.as_deref(), negative.line),
        (Some("A"), Some(1))
    );
    let waste = fault(&line(
        "kind = 'material'\nitem = 'CLAMP'\nquantity = '1 each'\nwaste = '5 % - 10 % * unit.count / 1 each'",
    ));
    assert!(matches!(waste.reason, RunReason::Negative { .. }));
    let zero = fault(&line(
        "kind = 'labour'\ntask='t'\ntitle='T'\nclass='apprentice'\nhours = '8 h / (line_set.rise / 1 ft)'",
    ));
    assert_eq!(
        (zero.reason, zero.part.as_str()),
        (RunReason::DivisionByZero, "8 h / (line_set.rise / 1 ft)")
    );
    let factor = "[[factor]]\nname = 'f'\ntitle = 'F'\nwhen = 'true'\nadd = '-1'\n";
    let labour = "kind = 'labour'\ntask='t'\ntitle='T'\nclass='apprentice'\nhours = '8 h'\nfactors = ['f']";
    let factor = fault(&line(labour).replace("[[assembly]]", &format!("{factor}[[assembly]]")));
    assert_eq!(factor.place, "labour factor f, add");
    let derived = "[[derived]]\nname = 'd'\nunit = 'each'\nformula = '1 each / (2 - 2)'\n[[assembly]]";
    let derived =
        fault(&line("kind = 'material'\nitem = 'CLAMP'\nquantity = 'd'").replace("[[assembly]]", derived));
    assert_eq!(
        (derived.place.as_str(), derived.part.as_str()),
        ("derived value d", "1 each / (2 - 2)")
    );
}

/// A fault of a run tells line and column of the failing part, also past an escape.
#[test]
fn a_fault_of_a_run_is_found_in_the_file() {
    let text = with_head(
        "[[assembly]]\ncode = 'A'\ntitle = 'T'\nsection = 'S'\n[[assembly.line]]\nkind = 'labour'\ntask='t'\n\
         title='T'\nclass='apprentice'\nhours = \"1 h\\t+ 8 h / (line_set.rise / 1 ft)\"\n",
    );
    let (program, values) = (reopened(&text), values());
    let fault = run(&program, &values).unwrap_err().placed(&text);
    let before = text.find("8 h / (").unwrap();
    let line = text[..before].matches('\n').count() + 1;
    assert_eq!(fault.position, Some((line, 17)));
    assert_eq!(
        fault.to_string(),
        format!(
            "line {line}, column 17 of the rulebook, assembly A, line 1, hours: division by zero, at `8 h / (line_set.rise / \
             1 ft)` in `1 h\t+ 8 h / (line_set.rise / 1 ft)`"
        )
    );
}

/// The bound on levels is one that a thread's usual stack holds, also without optimisation.
#[test]
fn a_chain_of_values_as_deep_as_allowed_runs() {
    let mut text = "[[derived]]\nname = 'v0'\nunit = '1'\nformula = '1'\n".to_owned();
    for at in 1..80 {
        text += &format!(
            "[[derived]]\nname = 'v{at}'\nunit = '1'\nformula = 'v{}'\n",
            at - 1
        );
    }
    text += "[[check]]\ncode = 'c'\nlevel = 'caution'\nwhen = 'v79 = 1'\nmessage = 'Deep.'\n";
    let (program, values) = (program(&with_head(&text)), values());
    assert_eq!(run(&program, &values).unwrap().raised.len(), 1);
    // The same depth in one formula: each level of brackets counts.
    let nested = format!("{}1{}", "abs(".repeat(98), ")".repeat(98));
    let text =
        format!("[[check]]\ncode = 'c'\nlevel = 'caution'\nwhen = '{nested} = 1'\nmessage = 'Deep.'\n");
    let (program, values) = (
        super::rules_sample::program(&with_head(&text)),
        super::rules_sample::values(),
    );
    assert_eq!(run(&program, &values).unwrap().raised.len(), 1);
}
