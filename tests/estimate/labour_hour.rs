//! The loaded cost of an hour, part by part.

use estimate::catalogue::labour::LabourRate;
use estimate::quantity::Decimal;
use proptest::prelude::*;

fn rate(text: &str) -> LabourRate {
    toml::from_str(text).unwrap()
}

/// A published worked example (costcalculator.calculator.city, "How to calculate fully burdened labor rate"): 30.00 an
/// hour for 2,080 hours, payroll taxes of 12 %, benefits of 10,000 and overhead of 4,000 a year, 160 hours of paid time
/// off: 83,888 over 1,920 hours. The hourly parts by hand: 7,488 ÷ 2,080 = 3.60; 10,000 ÷ 2,080 = 4.8077; 4,000 ÷ 2,080
/// = 1.9231; 83,888 × 160 ÷ 2,080 ÷ 1,920 = 3.3609; together 43.6917.
#[test]
fn a_published_example_comes_out_part_by_part() {
    let rate = rate(
        r#"
valid_from = "2031-01-01"
wage = "30"
paid_hours = "2080"
source = "example"
burden = [
  { kind = "percent", name = "Payroll taxes", group = "payroll_tax", percent = "12" },
  { kind = "yearly", name = "Benefits", group = "benefits", amount = "10000" },
  { kind = "yearly", name = "Overhead", amount = "4000" },
]
non_productive = [ { name = "Paid time off", hours = "160" } ]
"#,
    );
    assert_eq!(rate.loaded().unwrap().cost_a_year.to_string(), "83888.00");
    let hour = rate.hour().unwrap();
    assert_eq!(hour.cost_an_hour.to_string(), "43.69");
    let parts: Vec<_> = hour
        .parts
        .iter()
        .map(|part| (part.name.as_str(), part.an_hour.to_string()))
        .collect();
    let wanted = [
        ("Wage", "30.00"),
        ("Payroll taxes", "3.60"),
        ("Benefits", "4.81"),
        ("Overhead", "1.92"),
        ("Paid time off", "3.36"),
    ];
    assert_eq!(parts, wanted.map(|(name, amount)| (name, amount.to_owned())));
    assert_eq!(hour.parts[0].reckoning, "30 an hour for 2080 hours paid");
    assert_eq!(hour.parts[1].reckoning, "12 % of the wage of 62400");
    assert_eq!(
        hour.parts[4].reckoning,
        "160 of 2080 hours paid, at the cost of the year, over 1920 hours worked"
    );
}

/// By hand, the wage of 34.00 that comes to 53.46 in the demonstration data: 0.6 % of 7,000 is 42.00 a year, 42.00 ÷
/// 2,080 = 0.0202 an hour.
#[test]
fn a_ceiling_of_the_wage_is_told_and_groups_add_up() {
    let rate = rate(
        r#"
valid_from = "2031-01-01"
wage = "34"
paid_hours = "2080"
source = "example"
burden = [
  { kind = "percent", name = "Federal unemployment", group = "payroll_tax", percent = "0.6", on_first = "7000" },
  { kind = "percent", name = "Social security and Medicare", group = "payroll_tax", percent = "7.65", on_first = "99999" },
]
non_productive = []
"#,
    );
    let hour = rate.hour().unwrap();
    assert_eq!(hour.parts[1].reckoning, "0.6 % of the first 7000 of the wage");
    assert_eq!(hour.parts[2].reckoning, "7.65 % of the wage of 70720");
    let groups: Vec<String> = hour
        .groups
        .iter()
        .map(|group| group.an_hour.to_string())
        .collect();
    assert_eq!(
        (groups.as_slice(), hour.cost_an_hour.to_string().as_str()),
        (["34.00".to_owned(), "2.62".to_owned()].as_slice(), "36.62")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// The parts add up to the loaded cost to the cent, whatever they are; and each is within a cent of its exact share.
    #[test]
    fn the_parts_add_up(
        wage in 1_i64..20_000, paid in 1_i64..4_000, percents in prop::collection::vec(0_i64..5_000, 0..5),
        yearly in prop::collection::vec(0_i64..3_000_000, 0..4), idle in prop::collection::vec(0_i64..300, 0..4),
    ) {
        let mut text = format!(
            "valid_from = \"2031-01-01\"\nsource = \"x\"\nwage = \"{}\"\npaid_hours = \"{paid}\"\nburden = [", Decimal::new(wage, 2)
        );
        for percent in percents {
            text.push_str(&format!("{{ kind = \"percent\", name = \"p\", percent = \"{}\" }},", Decimal::new(percent, 2)));
        }
        for amount in yearly {
            text.push_str(&format!("{{ kind = \"yearly\", name = \"y\", amount = \"{}\" }},", Decimal::new(amount, 2)));
        }
        text.push_str("]\nnon_productive = [");
        for hours in &idle {
            text.push_str(&format!("{{ name = \"i\", hours = \"{hours}\" }},"));
        }
        text.push(']');
        let rate = rate(&text);
        match (rate.loaded(), rate.hour()) {
            (Some(loaded), Some(hour)) => {
                let sum: Decimal = hour.parts.iter().map(|part| part.an_hour).sum();
                prop_assert_eq!((sum, hour.cost_an_hour), (loaded.cost_an_hour, loaded.cost_an_hour));
                let groups: Decimal = hour.groups.iter().map(|group| group.an_hour).sum();
                prop_assert_eq!(groups, sum);
                for part in hour.parts.iter().take(1 + loaded.burden.len()) {
                    let exact = part.a_year / Decimal::from(paid);
                    prop_assert!((part.an_hour - exact).abs() <= Decimal::new(2, 2), "{part:?}");
                }
            }
            (None, None) => prop_assert!(idle.iter().sum::<i64>() >= paid),
            other => prop_assert!(false, "{other:?}"),
        }
    }
}
