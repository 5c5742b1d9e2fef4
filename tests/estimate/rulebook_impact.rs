//! What another rulebook does to one job.

use super::demo::{Demo, text};
use estimate::catalogue::prices::PriceBook;
use estimate::quote::impact::{Trial, TrialFault};
use estimate::quote::moved::LineFate;
use estimate::workbook::Workbook;
use serde_json::json;

#[test]
fn lines_and_totals_before_and_after_are_told() {
    let demo = Demo::load();
    let request = Demo::job("pinfold-basement.json");
    let read = demo.read(&request);
    let prices: PriceBook = demo.prices(&read);
    let trial = Trial {
        request: &request,
        catalogue: &demo.catalogue,
        prices: &prices,
        policy: demo.policy(&read),
        policy_version: 1,
    };
    let seed = text("rulebook.toml");
    let other = |text: &str| {
        Workbook::compile(text, 2, &demo.catalogue, &[]).unwrap_or_else(|findings| panic!("{findings:#?}"))
    };

    let same = trial.impact(&demo.workbook, &other(&seed)).unwrap();
    let comparison = same.comparison.unwrap();
    assert!(comparison.moved.lines.is_empty() && comparison.moved.total.moved.is_zero());

    // One more line, of which the catalogue's price is known.
    let more = format!(
        "{seed}\n[[assembly]]\ncode = 'MORE'\ntitle = 'More'\nsection = 'Unit'\n\
         [[assembly.line]]\nkind = 'fee'\ntitle = 'One more fee'\ncost_code = 'PERMIT'\n\
         tax_category = 'services'\namount = '100 money'\n"
    );
    let impact = trial.impact(&demo.workbook, &other(&more)).unwrap();
    let moved = impact.comparison.unwrap().moved;
    let [line] = moved
        .lines
        .iter()
        .filter(|line| line.fate == LineFate::Added)
        .collect::<Vec<_>>()[..]
    else {
        panic!("{:#?}", moved.lines);
    };
    assert_eq!((line.key.as_str(), line.cost.to), ("fee:MORE/1", line.cost.moved));
    assert_eq!(moved.cost.moved, line.cost.to);
    assert!(impact.before.unwrap().totals().total.minor() < impact.after.unwrap().totals().total.minor());

    // Rules that ask for an answer which the request has not.
    let asks = format!(
        "{seed}\n[[input]]\nname = 'asked'\ntitle = 'Asked'\ntype = 'number'\nmin = '0'\nmax = '9'\n"
    );
    let impact = trial.impact(&demo.workbook, &other(&asks)).unwrap();
    assert!(impact.before.is_ok() && impact.comparison.is_none());
    assert!(matches!(impact.after, Err(TrialFault::Request(_))));
    assert_eq!(request["job"]["inputs"]["asked"], json!(null));
}
