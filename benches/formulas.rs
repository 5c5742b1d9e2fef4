//! 150 formulas on one job: a compiled rulebook against a bare loop of the same decimal operations
//! and against a general expression engine with decimals. Prints medians and ratios.
//!
//! `cargo bench -p estimate --bench formulas`

use estimate::quantity::fact::{Domain, FactDef, FactSource, FactValue, WordNumber};
use estimate::quantity::unit::Unit;
use estimate::rules::{Names, Program, RunInput, check_toml};
use rhai::{AST, Dynamic, Engine, Scope};
use rust_decimal::{Decimal, dec};
use std::hint::black_box;
use std::time::{Duration, Instant};

/// Groups of a condition, a quantity and hours: three formulas each.
const GROUPS: usize = 50;
const ROUNDS: usize = 400;

const MOUNTING: [&str; 3] = ["exposed", "partly_recessed", "flush"];

/// The facts of the job, once for every contestant.
#[derive(Clone, Copy)]
struct Job {
    length: Decimal,
    rise: Decimal,
    height: Decimal,
    count: Decimal,
    volume: Decimal,
    occupied: bool,
    mounting: u16,
}

const JOB: Job = Job {
    length: dec!(62.5),
    rise: dec!(14),
    height: dec!(9.5),
    count: dec!(2),
    volume: dec!(912.25),
    occupied: true,
    mounting: 2,
};

fn main() {
    let (names, facts) = (names(), facts(JOB));
    let text = rulebook();
    let started = Instant::now();
    let program = match check_toml(&text, &names) {
        Ok((_, checked)) => checked.program,
        Err(findings) => {
            eprint!("{}", estimate::rules::render(&findings, "bench", &text));
            std::process::exit(1);
        }
    };
    println!(
        "check and compile {} formulas, {} lines: {:?}",
        program.formula_count(),
        program.line_count(),
        started.elapsed()
    );
    let general = General::new();
    let ours: Decimal = run(&program, &facts, false);
    assert_eq!(ours, bare(JOB), "the bare loop computes something else");
    assert_eq!(
        ours,
        general.run(JOB),
        "the general engine computes something else"
    );

    let loop_time = median(|| bare(black_box(JOB)));
    let plain = median(|| run(black_box(&program), black_box(&facts), false));
    let explained = median(|| run(black_box(&program), black_box(&facts), true));
    let engine = median(|| general.run(black_box(JOB)));
    let row = |name: &str, time: Duration| {
        println!(
            "{name:<42} {time:>10.2?}   {:>6.2} x the bare loop",
            time.as_secs_f64() / loop_time.as_secs_f64()
        );
    };
    row("bare loop of decimal operations", loop_time);
    row("compiled rulebook", plain);
    row("compiled rulebook, explained", explained);
    row("general expression engine, no units", engine);
    println!(
        "the general engine takes {:.2} x the compiled rulebook",
        engine.as_secs_f64() / plain.as_secs_f64()
    );
}

fn median(mut once: impl FnMut() -> Decimal) -> Duration {
    for _ in 0..ROUNDS / 10 {
        black_box(once());
    }
    let mut times: Vec<Duration> = (0..ROUNDS)
        .map(|_| {
            let started = Instant::now();
            black_box(once());
            started.elapsed()
        })
        .collect();
    times.sort_unstable();
    times[ROUNDS / 2]
}

fn names() -> Names {
    Names {
        facts: definitions(),
        items: vec![("TUBE".into(), Unit::FT)],
        labour_classes: vec!["lead".into()],
        ..Names::default()
    }
}

fn definitions() -> Vec<FactDef> {
    let mounting = Domain::new("mounting", MOUNTING);
    let number = |name: &str, unit: Unit| FactDef::number(name, unit, FactSource::Job, "");
    vec![
        number("line_set.length", Unit::FT),
        number("line_set.rise", Unit::FT),
        number("site.ceiling_height", Unit::FT),
        number("unit.count", Unit::EACH),
        number("cellar.volume", Unit::FT3),
        FactDef::flag("site.occupied", FactSource::Job, ""),
        FactDef::choice("unit.mounting", &mounting, FactSource::Job, ""),
    ]
}

fn facts(job: Job) -> Vec<FactValue> {
    let numbers = [job.length, job.rise, job.height, job.count, job.volume];
    let numbers = numbers.into_iter().map(FactValue::Number);
    numbers
        .chain([
            FactValue::Flag(job.occupied),
            FactValue::Choice(WordNumber::at(job.mounting.into())),
        ])
        .collect()
}

/// Each group of the rulebook, written by hand for each contestant below.
fn rulebook() -> String {
    let mut text = String::from(
        "[rulebook]\nid = 'bench'\ntitle = 'Bench'\n\
         [[table]]\nname = 'mount_hours'\nvalue = 'h'\n\
         keys = [{ name = 'm', of = 'unit.mounting' }, { name = 'height', unit = 'ft', match = 'up_to' }]\n\
         rows = [['exposed','9','3'], ['exposed','12','4'], ['exposed','above','5'], ['partly_recessed','above','4.25'],\n\
         ['flush','9','4.5'], ['flush','above','5.5']]\n",
    );
    for group in 0..GROUPS {
        let (when, quantity, hours) = match group % 5 {
            0 => (
                "site.occupied and line_set.length > 50 ft",
                "round_up(line_set.length * 1.05 + 2 ft, 6 ft)",
                "mount_hours[unit.mounting, site.ceiling_height] * 1.1",
            ),
            1 => (
                "unit.mounting = flush or line_set.rise > 20 ft",
                "unit.count / 1 each * (line_set.rise + 6 ft)",
                "if unit.mounting = flush then 6 h else 4 h",
            ),
            2 => (
                "not (site.ceiling_height <= 9 ft)",
                "max(line_set.length - 15 ft, 0 ft)",
                "line_set.length * 0.12 h/ft + line_set.rise * 0.2 h/ft",
            ),
            3 => (
                "line_set.length + line_set.rise >= 72 in",
                "clamp(cellar.volume / 100 ft2, 1 ft, 40 ft) + 18 in",
                "unit.count * 0.75 h/each + 0.5 h",
            ),
            _ => (
                "cellar.volume < 2000 ft3 and unit.count >= 1 each",
                "min(line_set.length / 4, 25 ft, line_set.rise * 3)",
                "round_up(line_set.length / 40 ft, 1) * 0.5 h",
            ),
        };
        text += &format!(
            "[[assembly]]\ncode = 'A{group}'\ntitle = 'A'\nsection = 'S'\nwhen = '{when}'\n\
             [[assembly.line]]\nkind = 'material'\nitem = 'TUBE'\nquantity = '{quantity}'\n\
             [[assembly.line]]\nkind = 'labour'\ntask = 't'\ntitle = 'T'\nclass = 'lead'\nhours = '{hours}'\n"
        );
    }
    text
}

/// One run of the program; the sum of all quantities and hours.
fn run(program: &Program, facts: &[FactValue], explain: bool) -> Decimal {
    let outcome = match program.run(RunInput {
        facts,
        unknown: &[],
        explain,
    }) {
        Ok(outcome) => outcome,
        Err(fault) => {
            eprintln!("{fault}");
            std::process::exit(1);
        }
    };
    let quantities: Decimal = outcome.needs.iter().map(|need| need.quantity).sum();
    quantities + outcome.labour.iter().map(|need| need.hours).sum::<Decimal>()
}

fn up(value: Decimal, step: Decimal) -> Decimal {
    (value / step).round_dp(20).ceil() * step
}

fn mount_hours(mounting: u16, height: Decimal) -> Decimal {
    match mounting {
        0 if height <= dec!(9) => dec!(3),
        0 if height <= dec!(12) => dec!(4),
        0 => dec!(5),
        1 => dec!(4.25),
        _ if height <= dec!(9) => dec!(4.5),
        _ => dec!(5.5),
    }
}

/// The same operations, written out.
fn bare(job: Job) -> Decimal {
    let mut sum = Decimal::ZERO;
    for group in 0..GROUPS {
        let job = black_box(job);
        let Job {
            length,
            rise,
            height,
            count,
            volume,
            occupied,
            mounting,
        } = job;
        let (when, quantity, hours): (bool, Decimal, Decimal) = match group % 5 {
            0 => (
                occupied && length > dec!(50),
                up(length * dec!(1.05) + dec!(2), dec!(6)),
                mount_hours(mounting, height) * dec!(1.1),
            ),
            1 => (
                mounting == 2 || rise > dec!(20),
                count / dec!(1) * (rise + dec!(6)),
                if mounting == 2 { dec!(6) } else { dec!(4) },
            ),
            2 => (
                height > dec!(9),
                (length - dec!(15)).max(dec!(0)),
                length * dec!(0.12) + rise * dec!(0.2),
            ),
            3 => (
                length + rise >= dec!(6),
                (volume / dec!(100)).max(dec!(1)).min(dec!(40)) + dec!(1.5),
                count * dec!(0.75) + dec!(0.5),
            ),
            _ => (
                volume < dec!(2000) && count >= dec!(1),
                (length / dec!(4)).min(dec!(25)).min(rise * dec!(3)),
                up(length / dec!(40), dec!(1)) * dec!(0.5),
            ),
        };
        if when {
            sum += quantity + hours;
        }
    }
    sum
}

/// The same formulas in a general engine; its numbers are decimals and it knows no units.
struct General {
    engine: Engine,
    groups: Vec<[AST; 3]>,
}

impl General {
    fn new() -> Self {
        let mut engine = Engine::new();
        engine.register_fn("up", up);
        engine.register_fn("most", |a: Decimal, b: Decimal| a.max(b));
        engine.register_fn("least", |a: Decimal, b: Decimal| a.min(b));
        engine.register_fn("mount_hours", |m: i64, height: Decimal| {
            mount_hours(u16::try_from(m).unwrap_or(0), height)
        });
        let compile = |text: &str| match engine.compile_expression(text) {
            Ok(tree) => tree,
            Err(fault) => {
                eprintln!("{text}: {fault}");
                std::process::exit(1);
            }
        };
        let groups = (0..GROUPS)
            .map(|group| {
                let texts = match group % 5 {
                    0 => [
                        "occupied && length > 50.0",
                        "up(length * 1.05 + 2.0, 6.0)",
                        "mount_hours(mounting, height) * 1.1",
                    ],
                    1 => [
                        "mounting == 2 || rise > 20.0",
                        "count / 1.0 * (rise + 6.0)",
                        "if mounting == 2 { 6.0 } else { 4.0 }",
                    ],
                    2 => [
                        "!(height <= 9.0)",
                        "most(length - 15.0, 0.0)",
                        "length * 0.12 + rise * 0.2",
                    ],
                    3 => [
                        "length + rise >= 6.0",
                        "least(most(volume / 100.0, 1.0), 40.0) + 1.5",
                        "count * 0.75 + 0.5",
                    ],
                    _ => [
                        "volume < 2000.0 && count >= 1.0",
                        "least(least(length / 4.0, 25.0), rise * 3.0)",
                        "up(length / 40.0, 1.0) * 0.5",
                    ],
                };
                texts.map(compile)
            })
            .collect();
        Self { engine, groups }
    }

    fn run(&self, job: Job) -> Decimal {
        let mut scope = Scope::new();
        scope
            .push("length", job.length)
            .push("rise", job.rise)
            .push("height", job.height);
        scope
            .push("count", job.count)
            .push("volume", job.volume)
            .push("occupied", job.occupied);
        scope.push("mounting", i64::from(job.mounting));
        let mut sum = Decimal::ZERO;
        for [when, quantity, hours] in &self.groups {
            if self.value::<bool>(&mut scope, when) {
                sum += self.value::<Decimal>(&mut scope, quantity) + self.value::<Decimal>(&mut scope, hours);
            }
        }
        sum
    }

    fn value<T: Clone + Send + Sync + 'static>(&self, scope: &mut Scope<'_>, tree: &AST) -> T {
        match self
            .engine
            .eval_ast_with_scope::<Dynamic>(scope, tree)
            .map(Dynamic::cast::<T>)
        {
            Ok(value) => value,
            Err(fault) => {
                eprintln!("{fault}");
                std::process::exit(1);
            }
        }
    }
}
