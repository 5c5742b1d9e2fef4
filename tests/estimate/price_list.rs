//! Price lists held against a small catalogue: each row has one outcome, applying adds what was told, and a later list
//! takes it back.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::NaiveDate;
use estimate::catalogue::item::Price;
use estimate::catalogue::price_list::csv::Reader;
use estimate::catalogue::price_list::{
    AppliedRow, Cell, Choices, Comparison, ListFault, Mapping, Reading, RowsRead, TroubleKind, additions,
    compare, undo,
};
use estimate::catalogue::{Catalogue, Item};
use estimate::quantity::decimal::plain;
use estimate::quantity::{Currency, Decimal};
use proptest::prelude::*;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Invented goods of two suppliers.
const ITEMS: &str = r#"
[[item]]
code = "TUBE"
description = "Soft tube"
unit = "ft"
cost_code = "MAT"
tax_category = "goods"
supplier = "Marl Supply"
packs = [
  { size = "50", name = "coil", prices = [
    { valid_from = "2025-01-01", amount = "100.00", source = "list" },
    { valid_from = "2026-01-01", amount = "110.00", source = "list" } ] },
  { size = "100", name = "coil", prices = [ { valid_from = "2025-01-01", amount = "190", source = "list" } ] },
]

[[item]]
code = "TRAP"
description = "Trap"
unit = "each"
cost_code = "MAT"
tax_category = "goods"
supplier = "Marl Supply"
packs = [ { size = "1", name = "piece", prices = [ { valid_from = "2025-01-01", amount = "8.40", source = "list" } ] } ]

[[item]]
code = "HANGER"
description = "Hanger"
unit = "each"
cost_code = "MAT"
tax_category = "goods"
supplier = "Marl Supply"
packs = [ { size = "25", name = "box", prices = [] } ]

[[item]]
code = "PUMP"
description = "Pump"
unit = "each"
cost_code = "MAT"
tax_category = "goods"
supplier = "Another House"
packs = [ { size = "1", name = "piece", prices = [ { valid_from = "2025-01-01", amount = "200", source = "list" } ] } ]
"#;

fn catalogue() -> Catalogue {
    let items: BTreeMap<String, Vec<Item>> = toml::from_str(ITEMS).unwrap();
    Catalogue::new(items["item"].clone(), Vec::new(), Vec::new()).unwrap()
}

const MAPPING: &str = r#"
id = "marl"
title = "Marl Supply"
supplier = "Marl Supply"

[columns]
code = { title = "Code" }
price = { title = "Price" }
pack_size = { title = "Pack" }
unit = { title = "Unit" }
currency = { title = "Currency" }
valid_from = { title = "From" }
description = { title = "Goods" }

[units]
FT = "ft"
EA = "each"

[codes]
"7714" = "TRAP"
"#;

fn mapping(more: &str) -> Mapping {
    // Keys of the head must stand in front of the tables.
    let (head, tables) = more.split_once("===").unwrap_or((more, ""));
    let mapping: Mapping = toml::from_str(&format!("{head}\n{MAPPING}\n{tables}")).unwrap();
    assert_eq!(mapping.faults(), []);
    mapping
}

fn usd() -> Currency {
    Currency::parse("USD").unwrap()
}

fn read(mapping: Mapping, list: &str) -> Result<RowsRead, ListFault> {
    let mut reading = Reading::new(Arc::new(mapping), usd(), day("2026-03-01"));
    let mut reader = Reader::new(b',');
    let mut take = |row, record: &estimate::catalogue::price_list::csv::Record| {
        let cells: Vec<Cell<'_>> = record.cells().collect();
        reading.row(row, &cells)
    };
    reader.feed(list, &mut take)?;
    reader.finish(&mut take)?;
    reading.finish()
}

fn compared(more: &str, list: &str, choices: &Choices) -> Comparison {
    let list = format!("Code,Pack,Unit,Price,Currency,From,Goods\n{list}");
    compare(&read(mapping(more), &list).unwrap(), &catalogue(), choices)
}

/// What became of the rows, a line each.
fn told(comparison: &Comparison) -> Vec<String> {
    let entries = comparison.entries.iter().map(|entry| {
        (
            entry.row,
            format!(
                "{} {} {} {}",
                entry.row,
                entry.kind.word(),
                entry.code,
                plain(entry.amount)
            ),
        )
    });
    let troubles = comparison.troubles.iter().map(|trouble| {
        let cell = trouble.cell.as_deref().unwrap_or("-");
        (
            trouble.row,
            format!("{} {} {cell}", trouble.row, trouble.kind.word()),
        )
    });
    let mut lines: Vec<_> = entries.chain(troubles).collect();
    lines.sort();
    lines.into_iter().map(|(_, line)| line).collect()
}

#[test]
fn every_row_has_its_outcome() {
    let list = "\
TUBE,50,FT,115.50,USD,,
TUBE,100,FT,190.00,USD,,
7714,1,EA,9,,,
HANGER,25,EA,4.10,USD,2026-04-01,
VALVE,1,EA,12,USD,,
TUBE,200,FT,360,USD,,
";
    let comparison = compared("", list, &Choices::default());
    assert_eq!(
        told(&comparison),
        [
            "2 changed TUBE 115.5",
            "3 unchanged TUBE 190",
            "4 changed TRAP 9",
            "5 first_price HANGER 4.1",
            "6 not_held VALVE 12",
            "7 not_held TUBE 360",
        ]
    );
    assert!(comparison.can_be_applied());
    assert_eq!((comparison.rows, comparison.vanished.len()), (6, 0));
    let change = |row: usize| match &comparison.entries[row].kind {
        estimate::catalogue::price_list::EntryKind::Changed(change) => *change,
        other => panic!("{other:?}"),
    };
    // By hand: 115.50 after 110 is 5 % more; 9 after 8.40 is 0.60 / 8.40 = 7.142857… %.
    assert_eq!(change(0).percent.unwrap().to_string(), "5.00");
    assert_eq!(
        (change(0).before.to_string(), change(0).since),
        ("110.00".to_owned(), day("2026-01-01"))
    );
    assert_eq!(change(2).percent.unwrap().to_string(), "7.14");
    assert_eq!(comparison.entries[3].valid_from, day("2026-04-01"));
}

/// A code in other capitals is no other item, whether new items are taken or not.
#[test]
fn a_code_in_other_letters_is_a_slip() {
    let list = "tube,50,FT,115.50,USD,,\nvalve,1,EA,12,USD,,\n";
    let comparison = compared("", list, &Choices::default());
    assert_eq!(told(&comparison), ["2 code A2", "3 not_held valve 12"]);
    assert_eq!(
        comparison.troubles[0].message,
        "there is no item tube; did you mean TUBE?"
    );
    assert!(!comparison.can_be_applied());
}

#[test]
fn every_trouble_is_told_with_its_cell() {
    let list = "\
TUBE,50,FT,550.00,USD,,
TUBE,100,FT,38.00,USD,,
TRAP,1,FT,9,USD,,
HANGER,25,EA,4.10,EUR,,
HANGER,25,EA,4.10,usd,,
PUMP,1,EA,\"1,950.00\",USD,,
,1,EA,3,USD,,
PUMP,1,EA,-3,USD,,
PUMP,0,EA,3,USD,,
PUMP,1,EA,,USD,,
PUMP,1,EA,call us,USD,31/04/2026,
PUMP,1,Stk,3,USD,,
PUMP,1,EA,3,USD,2026-02-30,
";
    let comparison = compared("", list, &Choices::default());
    assert_eq!(
        told(&comparison),
        [
            "2 factor D2",
            "3 factor D3",
            "4 unit C4",
            "5 currency E5",
            "6 currency E6",
            "7 number D7",
            "8 code A8",
            "9 number D9",
            "10 number B10",
            "11 number D11",
            "12 date F12",
            "12 number D12",
            "13 unit C13",
            "14 date F14",
        ]
    );
    assert!(!comparison.can_be_applied());
    assert_eq!(comparison.rows, 13);
    let message = |row: u32| {
        &comparison
            .troubles
            .iter()
            .find(|one| one.row == row)
            .unwrap()
            .message
    };
    assert_eq!(
        message(2),
        "550 after 110 since 2026-01-01: a factor of 5 or more"
    );
    assert_eq!(message(4), "the list counts in ft, the item TRAP in each");
    assert_eq!(message(5), "the price is in EUR, the company's currency is USD");
}

#[test]
fn a_factor_just_under_five_is_a_change_and_five_is_not() {
    for (price, word) in [
        ("549.999999", "changed"),
        ("550", "factor"),
        ("22.000001", "changed"),
        ("22", "factor"),
        ("0", "zero"),
    ] {
        let comparison = compared("", &format!("TUBE,50,FT,{price},USD,,\n"), &Choices::default());
        assert!(told(&comparison)[0].starts_with(&format!("2 {word}")), "{price}");
    }
    let accepted = Choices {
        accept_factor: true,
        ..Choices::default()
    };
    let comparison = compared("", "TUBE,50,FT,550,USD,,\n", &accepted);
    assert_eq!(told(&comparison), ["2 changed TUBE 550"]);
}

#[test]
fn a_new_pack_is_held_against_the_others_of_its_item_unit_for_unit() {
    for (row, expected) in [
        ("TUBE,200,FT,360,USD,,", "2 new_pack TUBE 360"),
        ("TUBE,200,FT,1,USD,,", "2 factor D2"),
        ("TUBE,1,FT,11,USD,,", "2 factor D2"),
        // Dear beside one of two packs, and not beside the other.
        ("TUBE,1,FT,9.6,USD,,", "2 new_pack TUBE 9.6"),
    ] {
        let comparison = compared(ADDS, &format!("{row}\n"), &Choices::default());
        assert_eq!(told(&comparison), [expected], "{row}");
    }
}

#[test]
fn the_same_pack_from_the_same_day_twice_is_a_trouble_of_both_rows() {
    let list = "TUBE,50,FT,111,USD,,\nTRAP,1,EA,9,USD,,\nTUBE,50.0,FT,112,USD,,\nTUBE,50,FT,113,USD,2026-06-01,\n7714,1,EA,9,USD,,\n";
    let comparison = compared("", list, &Choices::default());
    assert_eq!(
        told(&comparison),
        [
            "2 duplicate -",
            "3 duplicate -",
            "4 duplicate -",
            "5 changed TUBE 113",
            "6 duplicate -"
        ]
    );
    let rows: Vec<&str> = comparison
        .troubles
        .iter()
        .map(|one| one.message.as_str())
        .collect();
    assert_eq!(rows[0], "the pack of 50 of TUBE is in row 4 too");
    assert_eq!(rows[3], "the pack of 1 of TRAP is in row 3 too");
}

#[test]
fn what_the_supplier_no_longer_lists_is_told_and_others_are_not() {
    let comparison = compared(
        "",
        "TUBE,50,FT,111,USD,,\nTRAP,1,EA,oops,USD,,\n",
        &Choices::default(),
    );
    let gone: Vec<_> = comparison
        .vanished
        .iter()
        .map(|gone| (gone.code.as_str(), plain(gone.pack)))
        .collect();
    // The trap is in the list, if in trouble; the hanger never had a price; the pump is another supplier's.
    assert_eq!(gone, [("TUBE", "100".to_owned())]);
    assert_eq!(
        (plain(comparison.vanished[0].amount), comparison.vanished[0].since),
        ("190".to_owned(), day("2025-01-01"))
    );
}

#[test]
fn a_price_of_the_same_day_is_there_already_or_a_trouble() {
    let list = "TUBE,50,FT,110.00,USD,2026-01-01,\nTUBE,100,FT,191,USD,2025-01-01,\nTUBE,50,FT,109,USD,2025-06-01,\n";
    let comparison = compared("", list, &Choices::default());
    assert_eq!(
        told(&comparison),
        ["2 already_there TUBE 110", "3 day_taken D3", "4 changed TUBE 109"]
    );
    assert_eq!(comparison.entries[1].until, Some(day("2026-01-01")));
}

#[test]
fn a_row_is_left_out_only_when_all_it_is_in_is_left_out() {
    let list = "TRAP,1,EA,oops,EUR,,\nPUMP,1,EA,oops,USD,,\nTUBE,50,FT,111,USD,,\n";
    let leave_out = |kinds: &[TroubleKind]| Choices {
        leave_out: kinds.iter().copied().collect(),
        ..Choices::default()
    };
    let some = compared("", list, &leave_out(&[TroubleKind::Number]));
    let open: Vec<u32> = some.open_troubles().map(|one| one.row).collect();
    assert_eq!(open, [2, 2]);
    let all = compared(
        "",
        list,
        &leave_out(&[TroubleKind::Number, TroubleKind::Currency]),
    );
    assert!(all.can_be_applied());
    assert_eq!(all.entries.len(), 1);
}

#[test]
fn prices_for_units_and_discounts_come_out_by_hand() {
    // 50 ft at 236.00 a hundred feet less 12.5 %: 50 × 236 ÷ 100 × 0.875 = 103.25.
    let more = "price_for = \"unit\"\ndiscount_percent = \"12.5\"\n===[usual]\nunit = \"ft\"";
    let text = MAPPING
        .replace(
            "currency = { title = \"Currency\" }",
            "price_per = { title = \"Per\" }",
        )
        .replace("unit = { title = \"Unit\" }\n", "");
    let (head, tables) = more.split_once("===").unwrap();
    let mapping: Mapping = toml::from_str(&format!("{head}{text}{tables}")).unwrap();
    assert_eq!(mapping.faults(), []);
    let list = "Code,Pack,Price,Per,From,Goods\nTUBE,50,236.00,100,,\nTUBE,100,1.7,,,\n";
    let comparison = compare(&read(mapping, list).unwrap(), &catalogue(), &Choices::default());
    assert_eq!(
        told(&comparison),
        ["2 changed TUBE 103.25", "3 changed TUBE 148.75"]
    );
}

#[test]
fn a_price_that_needs_more_than_six_decimals_is_rounded_half_away_from_zero() {
    // By hand: 0.33 × 0.5 ÷ 1000 = 0.000165; 0.333 × … = 0.0001665, which is 0.000167 to six decimals.
    let text = MAPPING.replace(
        "currency = { title = \"Currency\" }",
        "price_per = { title = \"Per\" }",
    );
    let mapping: Mapping = toml::from_str(&format!("price_for = \"unit\"\n{text}")).unwrap();
    let list =
        "Code,Pack,Unit,Price,Per,From,Goods\nX,0.5,EA,0.33,1000,,\nY,0.5,EA,0.333,1000,,\nZ,1,EA,1,3,,\n";
    let comparison = compare(&read(mapping, list).unwrap(), &catalogue(), &Choices::default());
    assert_eq!(
        told(&comparison),
        [
            "2 not_held X 0.000165",
            "3 not_held Y 0.000167",
            "4 not_held Z 0.333333"
        ]
    );
}

#[test]
fn digits_that_cannot_be_kept_and_prices_of_no_pack_are_told() {
    let mapping = mapping("price_for = \"unit\"");
    let list = "Code,Pack,Unit,Price,Currency,From,Goods\n\
        X,123456789012345.654321,EA,123456789012345.654321,,,\nY,500000001,EA,2,,,\nZ,500000000,EA,2,,,\n";
    let comparison = compare(&read(mapping, list).unwrap(), &catalogue(), &Choices::default());
    assert_eq!(
        told(&comparison),
        ["2 number D2", "3 number D3", "4 not_held Z 1000000000"]
    );
    assert_eq!(
        comparison.troubles[1].message,
        "1000000002 is more than any pack costs; at most 1000000000.00 USD is taken"
    );
}

const ADDS: &str = "===[new_items]\ncost_code = \"MAT\"\ntax_category = \"goods\"";

#[test]
fn applying_adds_items_packs_and_prices_once() {
    let list = "\
VALVE,1,EA,12,USD,,Ball valve
VALVE,10,EA,100,USD,,Ball valve
VALVE,10,EA,104,USD,2026-09-01,Ball valve
TUBE,200,FT,360,USD,,
TRAP,1,EA,8.40,USD,,
TUBE,50,FT,110,USD,2026-01-01,
REEL,30,FT,9,USD,,
REEL,60,EA,9,USD,,
";
    let leave_out = Choices {
        leave_out: [TroubleKind::Unit].into(),
        ..Choices::default()
    };
    let comparison = compared(ADDS, list, &leave_out);
    assert_eq!(
        told(&comparison),
        [
            "2 new_item VALVE 12",
            "3 new_item VALVE 100",
            "4 new_item VALVE 104",
            "5 new_pack TUBE 360",
            "6 unchanged TRAP 8.4",
            "7 already_there TUBE 110",
            "8 new_item REEL 9",
            "9 unit -",
        ]
    );
    let catalogue = catalogue();
    let added = additions(&comparison, &mapping(ADDS), &catalogue);
    let sizes = |item: &Item| {
        item.packs
            .iter()
            .map(|pack| plain(pack.size))
            .collect::<Vec<_>>()
            .join(" ")
    };
    let items: Vec<_> = added
        .items
        .iter()
        .map(|item| format!("{} {} {}", item.code, item.description, sizes(item)))
        .collect();
    assert_eq!(items, ["VALVE Ball valve 1 10", "REEL REEL 30"]);
    let anew: Vec<_> = added
        .packed_anew
        .iter()
        .map(|item| format!("{} {}", item.code, sizes(item)))
        .collect();
    assert_eq!(anew, ["TUBE 50 100 200"]);
    let rows: Vec<u32> = added.prices.iter().map(|price| price.row).collect();
    assert_eq!(rows, [2, 3, 4, 5, 6, 8]);
    let after = with(&catalogue, &added.items, &added.packed_anew, &added.prices);
    let price = |code: &str, pack: usize, on: &str| {
        after.item(code).unwrap().packs[pack]
            .price_on(day(on))
            .map(|price| plain(price.amount))
    };
    assert_eq!(price("VALVE", 1, "2026-08-31").as_deref(), Some("100"));
    assert_eq!(price("VALVE", 1, "2026-09-01").as_deref(), Some("104"));
    assert_eq!(price("TUBE", 2, "2026-03-01").as_deref(), Some("360"));
    let again = compare(
        &read(
            mapping(ADDS),
            &format!("Code,Pack,Unit,Price,Currency,From,Goods\n{list}"),
        )
        .unwrap(),
        &after,
        &leave_out,
    );
    assert!(
        again
            .entries
            .iter()
            .all(|entry| entry.kind.word() == "already_there"),
        "{:?}",
        told(&again)
    );
}

/// The catalogue after a list was applied.
fn with(before: &Catalogue, new: &[Item], anew: &[Item], prices: &[AppliedRow]) -> Catalogue {
    let mut items = before.items().to_vec();
    for item in anew {
        let known = items.iter_mut().find(|known| known.code == item.code).unwrap();
        known
            .packs
            .extend(item.packs.get(known.packs.len()..).unwrap().iter().cloned());
    }
    items.extend(new.iter().cloned());
    for row in prices {
        let item = items.iter_mut().find(|item| item.code == row.code).unwrap();
        let pack = item.packs.iter_mut().find(|pack| pack.size == row.pack).unwrap();
        pack.prices.push(Price {
            valid_from: row.valid_from,
            amount: row.amount,
            source: "list".to_owned(),
        });
    }
    Catalogue::new(items, Vec::new(), Vec::new()).unwrap()
}

#[test]
fn a_later_list_takes_a_list_back() {
    let catalogue = catalogue();
    let comparison = compared(
        ADDS,
        "TUBE,50,FT,120,USD,,\nTRAP,1,EA,8.40,USD,,\nVALVE,1,EA,12,USD,,\nTUBE,100,FT,150,USD,,\n",
        &Choices::default(),
    );
    let added = additions(&comparison, &mapping(ADDS), &catalogue);
    let mut after = with(&catalogue, &added.items, &added.packed_anew, &added.prices);
    let later = AppliedRow {
        valid_from: day("2026-03-10"),
        amount: Decimal::from(155),
        ..added.prices[3].clone()
    };
    after = with(&after, &[], &[], &[later]);
    let early = undo(&added.prices, &after, day("2026-03-01")).unwrap_err();
    assert_eq!(early.latest, day("2026-03-01"));
    let plan = undo(&added.prices, &after, day("2026-03-20")).unwrap();
    assert_eq!(
        (
            plan.superseded,
            plan.unchanged,
            plan.first_prices.len(),
            plan.rows.len()
        ),
        (1, 1, 1, 1)
    );
    let back = with(&after, &[], &[], &plan.rows);
    let price = |on: &str| {
        plain(
            back.item("TUBE").unwrap().packs[0]
                .price_on(day(on))
                .unwrap()
                .amount,
        )
    };
    assert_eq!(
        [
            price("2026-02-28"),
            price("2026-03-01"),
            price("2026-03-19"),
            price("2026-03-20")
        ],
        ["110", "120", "120", "110"]
    );
}

#[test]
fn a_list_that_is_not_the_mapping_s_is_told_whole() {
    let fault = |list: &str| read(mapping(""), list).unwrap_err();
    let head = "Code,Pack,Unit,Prize,Currency,From,Goods\nTUBE,50,FT,1,USD,,\n";
    assert_eq!(
        fault(head).to_string(),
        "row 1 has no column called `Price` (`Prize` is near); its titles are Code, Pack, Unit, Prize, Currency, From, Goods"
    );
    let twice = "Code,Pack,Unit,Price,Currency,From,Goods,Price\n";
    assert!(
        matches!(fault(twice), ListFault::TwoColumns { first, second, .. } if (first.as_str(), second.as_str()) == ("D", "H"))
    );
    assert_eq!(fault(""), ListFault::NoRows);
    assert_eq!(
        fault("Code,Pack,Unit,Price,Currency,From,Goods\n,,\n\n"),
        ListFault::NoRows
    );
}

#[test]
fn titles_may_stand_lower_or_nowhere() {
    let lower = read(
        mapping("title_row = 3"),
        "Marl Supply\n,\nCode,Pack,Unit,Price,Currency,From,Goods\nTUBE,50,FT,1,,,\n",
    )
    .unwrap();
    assert_eq!((lower.count, lower.rows[0].row), (1, 4));
    let mut bare: Mapping = toml::from_str(&format!(
        "title_row = 0\n{}",
        MAPPING
            .replace("title = \"Code\"", "letters = \"B\"")
            .replace("title = \"Price\"", "letters = \"D\"")
            .replace("unit = { title = \"Unit\" }\n", "")
    ))
    .unwrap();
    bare.columns.pack_size = None;
    bare.columns.currency = None;
    bare.columns.valid_from = None;
    bare.columns.description = None;
    assert_eq!(bare.faults(), []);
    let comparison = compare(
        &read(bare, "x,TRAP,x,9\nx,TUBE,x,9\n").unwrap(),
        &catalogue(),
        &Choices::default(),
    );
    assert_eq!(told(&comparison), ["1 changed TRAP 9", "2 pack -"]);
}

#[test]
fn a_mapping_s_faults_are_told_at_once() {
    let text = MAPPING.replace("id = \"marl\"", "id = \"Marl Supply\"\ndiscount_percent = \"100\"\ntitle_row = 0")
        .replace("title = \"Price\"", "letters = \"XFE\"")
        .replace("[columns]", "[numbers]\nthousands = \"point\"\ncurrency_sign = \"1\"\n[columns]\nprice_per = { title = \"Pack\" }")
        .replace("\"7714\" = \"TRAP\"", "\"7714\" = \"TRAP\"\n\"8\" = \"TRAP\"\n\" 9\" = \"X\"");
    let mapping: Mapping = toml::from_str(&text).unwrap();
    let pointers: Vec<String> = mapping.faults().into_iter().map(|fault| fault.pointer).collect();
    assert_eq!(
        pointers,
        [
            "/id",
            "/numbers/thousands",
            "/numbers/currency_sign",
            "/discount_percent",
            "/columns/price_per",
            "/columns/code",
            "/columns/price",
            "/columns/pack_size",
            "/columns/unit",
            "/columns/currency",
            "/columns/valid_from",
            "/columns/description",
            "/columns/price_per",
            "/columns/price_per",
            "/codes/ 9",
            "/codes/8",
        ]
    );
}

#[test]
fn dates_are_read_in_the_order_that_the_mapping_names() {
    for (order, text, wanted) in [
        ("year_month_day", "2026-04-05", Some("2026-04-05")),
        ("year_month_day", "2026/4/5", Some("2026-04-05")),
        ("day_month_year", "05.04.2026", Some("2026-04-05")),
        ("month_day_year", "04/05/2026", Some("2026-04-05")),
        ("month_day_year", "13/05/2026", None),
        ("day_month_year", "05.04.26", None),
        ("year_month_day", "2026-02-29", None),
        ("year_month_day", "2026-04/05", None),
        ("year_month_day", "2026-04-05-", None),
        ("year_month_day", "+2026-4-5", None),
    ] {
        let list = format!("Code,Pack,Unit,Price,Currency,From,Goods\nTRAP,1,EA,9,,{text},\n");
        let rows = read(mapping(&format!("dates = \"{order}\"")), &list).unwrap();
        let found = rows.rows.first().and_then(|row| row.valid_from);
        assert_eq!(found, wanted.map(day), "{order} {text}");
    }
}

fn any_row() -> impl Strategy<Value = String> {
    let code = prop_oneof![
        Just("TUBE"),
        Just("TRAP"),
        Just("7714"),
        Just("PUMP"),
        Just("VALVE"),
        Just(""),
        Just("X\u{7}")
    ];
    let pack = prop_oneof![
        Just("50"),
        Just("100"),
        Just("1"),
        Just("1.0"),
        Just("x"),
        Just(""),
        Just("-1")
    ];
    let unit = prop_oneof![Just("FT"), Just("EA"), Just("each"), Just("parsec"), Just("")];
    let price = prop_oneof![
        "[0-9]{1,4}(\\.[0-9]{1,7})?".prop_map(|text| text),
        Just("110".to_owned()),
        Just("call".to_owned()),
        Just(String::new())
    ];
    let currency = prop_oneof![Just("USD"), Just("EUR"), Just("")];
    let from = prop_oneof![
        Just(""),
        Just("2025-01-01"),
        Just("2026-01-01"),
        Just("2027-01-01"),
        Just("soon")
    ];
    (code, pack, unit, price, currency, from).prop_map(|(code, pack, unit, price, currency, from)| {
        format!("{code},{pack},{unit},{price},{currency},{from},\n")
    })
}

#[test]
fn a_price_of_nothing_is_looked_at_before_it_counts() {
    let list = "TRAP,1,EA,0.00,USD,,\nTUBE,50,FT,0,USD,,\n";
    let refused = compared("", list, &Choices::default());
    let told: Vec<_> = refused
        .open_troubles()
        .map(|one| (one.row, one.kind, one.cell.as_deref()))
        .collect();
    assert_eq!(
        told,
        [
            (2, TroubleKind::Zero, Some("D2")),
            (3, TroubleKind::Zero, Some("D3"))
        ]
    );
    let meant = Choices {
        accept_zero: true,
        ..Choices::default()
    };
    let taken = compared("", list, &meant);
    assert!(taken.can_be_applied());
    assert!(taken.entries.iter().all(|entry| entry.amount.is_zero()));
}

#[test]
fn a_column_by_letters_that_no_row_has_is_told() {
    let mut mapping = mapping("");
    mapping.columns.price = estimate::catalogue::price_list::mapping::Column::Letters("Z".to_owned());
    let fault = read(
        mapping,
        "Code,Pack,Unit,Price,Currency,From,Goods\nTRAP,1,EA,8.40,USD,,\n",
    )
    .unwrap_err();
    assert_eq!(
        fault.to_string(),
        "the list has no column Z, which the mapping names for price; its last one is G"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Each row is an entry once or a trouble, never both; what is applied makes a sound catalogue in which every
    /// price of the list holds from its day; and the same list again changes nothing.
    #[test]
    fn any_list_is_accounted_for_and_applies(list in prop::collection::vec(any_row(), 1..25), accept in any::<bool>()) {
        let list = list.concat();
        let everything = TroubleKind::ALL.iter().map(|(kind, _)| *kind).collect();
        let choices = Choices { accept_factor: accept, accept_zero: accept, leave_out: everything };
        let text = format!("Code,Pack,Unit,Price,Currency,From,Goods\n{list}");
        let Ok(rows) = read(mapping(ADDS), &text) else {
            prop_assert!(list.lines().all(|line| line.trim_matches(',').is_empty()));
            return Ok(());
        };
        let before = catalogue();
        let comparison = compare(&rows, &before, &choices);
        prop_assert!(comparison.can_be_applied());
        let mut numbers: Vec<u32> = comparison.troubles.iter().map(|one| one.row).collect();
        numbers.dedup();
        numbers.extend(comparison.entries.iter().map(|entry| entry.row));
        numbers.sort_unstable();
        let distinct = { let mut all = numbers.clone(); all.dedup(); all.len() };
        prop_assert_eq!((numbers.len(), distinct), (comparison.rows, comparison.rows));
        let added = additions(&comparison, &mapping(ADDS), &before);
        let after = with(&before, &added.items, &added.packed_anew, &added.prices);
        for entry in &comparison.entries {
            let item = after.item(&entry.code).unwrap();
            let pack = item.packs.iter().find(|pack| pack.size == entry.pack).unwrap();
            prop_assert_eq!(pack.price_on(entry.valid_from).unwrap().amount, entry.amount);
        }
        // A row that was left out since its item was not held may be read once another row has made the item.
        let written = |one: &Comparison| -> Vec<u32> {
            one.entries.iter().filter(|entry| entry.kind.is_written()).map(|entry| entry.row).collect()
        };
        let again = compare(&read(mapping(ADDS), &text).unwrap(), &after, &choices);
        let first = written(&comparison);
        prop_assert!(written(&again).iter().all(|row| !first.contains(row)), "{:?}", told(&again));
    }
}
