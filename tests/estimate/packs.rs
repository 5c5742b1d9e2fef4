//! The choice of packs against worked cases, and against trying everything.

use estimate::bill::packs::{Choice, Offer, PackFault, TooLong, choose, choose_joined};
use proptest::prelude::*;
use rust_decimal::Decimal;

fn dec(text: &str) -> Decimal {
    text.parse().unwrap()
}

fn offers(list: &[(&str, &str)]) -> Vec<Offer> {
    list.iter()
        .map(|(size, cost)| Offer {
            size: dec(size),
            cost: dec(cost),
        })
        .collect()
}

fn bought(offers: &[Offer], choice: &Choice) -> Vec<(String, u64)> {
    choice
        .counts
        .iter()
        .map(|(place, count)| (offers[*place].size.to_string(), *count))
        .collect()
}

fn check(list: &[(&str, &str)], divisible: &str, pieces: &[&str], expected: &[(&str, u64)], cost: &str) {
    let offers = offers(list);
    let pieces: Vec<_> = pieces.iter().map(|piece| dec(piece)).collect();
    let choice = choose(offers.iter().copied(), dec(divisible), &pieces).unwrap();
    let expected: Vec<_> = expected
        .iter()
        .map(|(size, count)| ((*size).to_owned(), *count))
        .collect();
    assert_eq!(
        bought(&offers, &choice),
        expected,
        "{divisible} and {pieces:?} from {list:?}"
    );
    assert_eq!(choice.cost, dec(cost));
}

/// Invented prices: the longer the coil, the cheaper the foot.
const COILS: &[(&str, &str)] = &[("15", "16.50"), ("25", "25.00"), ("35", "33.25"), ("50", "45.00")];

#[test]
fn a_need_of_62_ft_from_coils_of_15_25_35_and_50() {
    // 50 + 15: 61.50 for 65 ft; 35 + 35: 66.50; 25 + 25 + 15: 66.50; 50 + 25: 70.00.
    check(COILS, "62", &[], &[("50", 1), ("15", 1)], "61.50");
}

#[test]
fn a_need_of_62_ft_in_one_piece_has_no_coil() {
    let fault = choose(offers(COILS), Decimal::ZERO, &[dec("62")]).unwrap_err();
    assert_eq!(
        fault,
        PackFault::PieceTooLong {
            piece: dec("62.000000"),
            largest: dec("50.000000")
        }
    );
}

/// What cannot be whole is joined as cheaply as a divisible need, and what can be whole stays so.
#[test]
fn a_piece_longer_than_every_coil_is_joined_and_told() {
    let offers = offers(COILS);
    let (choice, long) = choose_joined(offers.clone(), Decimal::ZERO, &[dec("62")]).unwrap();
    assert_eq!(
        bought(&offers, &choice),
        [("50".to_owned(), 1), ("15".to_owned(), 1)]
    );
    let expected = TooLong {
        piece: dec("62"),
        count: 1,
        largest: dec("50"),
    };
    assert_eq!(long, Some(expected));
    // 40 ft stay whole, from a coil of 50.
    let (choice, long) = choose_joined(offers.clone(), Decimal::ZERO, &[dec("40"), dec("62")]).unwrap();
    assert!(choice.total >= dec("102"));
    assert!(
        choice
            .counts
            .iter()
            .any(|(place, _)| offers[*place].size >= dec("40"))
    );
    assert_eq!(long, Some(expected));
    let (_, long) = choose_joined(offers, dec("62"), &[dec("50")]).unwrap();
    assert_eq!(long, None);
}

#[test]
fn nothing_needed_buys_nothing() {
    check(COILS, "0", &[], &[], "0");
    check(COILS, "0", &["0"], &[], "0");
}

#[test]
fn one_pack_size_is_a_division_rounded_up() {
    // Trade digest, insulation in lengths of 6 ft: 43 ft and 4 ft together take 8, apart 8 + 1 = 9.
    check(&[("6", "4.80")], "47", &[], &[("6", 8)], "38.40");
    check(&[("6", "4.80")], "43", &[], &[("6", 8)], "38.40");
    check(&[("6", "4.80")], "4", &[], &[("6", 1)], "4.80");
    check(&[("6", "4.80")], "48.000001", &[], &[("6", 9)], "43.20");
}

#[test]
fn pieces_share_a_coil_and_its_end_serves_the_rest() {
    // Two whole pieces of 20 ft and 8 ft of short ends: one coil of 50 holds all.
    check(COILS, "8", &["20", "20"], &[("50", 1)], "45.00");
    // A whole piece of 30 ft and 10 ft beside it: a 35 leaves 5 and needs 15 more (49.75); a 50 leaves 20.
    check(COILS, "10", &["30"], &[("50", 1)], "45.00");
    // Two pieces of 30 ft cannot come from one 50: two 35.
    check(COILS, "0", &["30", "30"], &[("35", 2)], "66.50");
}

#[test]
fn ties_go_to_less_left_over_then_fewer_then_larger_packs() {
    // All at 1.00 a foot of pack: 60 ft as 50 + 10 and as 30 + 30 leave nothing and are two packs each.
    let flat = &[("10", "10"), ("30", "30"), ("50", "50")];
    check(flat, "60", &[], &[("50", 1), ("10", 1)], "60");
    // 50 and 40 cost the same for a need of 40: the 40 leaves nothing.
    check(&[("50", "9"), ("40", "9")], "40", &[], &[("40", 1)], "9");
    // One pack of 20 and two of 10 are the same money and the same length: one pack.
    check(&[("10", "5"), ("20", "10")], "20", &[], &[("20", 1)], "10");
}

#[test]
fn a_free_pack_and_a_size_that_is_there_twice() {
    check(&[("10", "0"), ("30", "7")], "25", &[], &[("10", 3)], "0");
    let twice = offers(&[("10", "5"), ("10", "4")]);
    let choice = choose(twice, dec("10"), &[]).unwrap();
    assert_eq!(choice.counts, [(1, 1)]);
}

#[test]
fn large_needs_stay_exact() {
    // A million feet: 20,000 coils of 50 leave nothing and no coil is cheaper by the foot.
    check(COILS, "1000000", &[], &[("50", 20_000)], "900000.00");
    // 3 ft more: with a 15 (16.50) 900,016.50; with two coils fewer and three 35 (99.75) 900,009.75.
    check(COILS, "1000003", &[], &[("50", 19_998), ("35", 3)], "900009.75");
    // Sizes with six decimals and no common step worth the name.
    let odd = &[
        ("7.919001", "7.919001"),
        ("7.907003", "7.907003"),
        ("31.337", "31.337"),
    ];
    check(odd, "500.5", &[], &[("31.337", 16)], "501.392");
}

/// Costs in proportion to sizes that share no step: every near miss is a tie for the branches, and the table
/// over totals must answer. The least total, and the fewest
/// packs for it, are known from the totals that can be reached at all.
#[test]
fn a_need_that_the_branches_cannot_finish_is_still_exact() {
    let sizes = [1009_usize, 1013, 1019, 1021, 1031];
    let need = 100_000;
    let mut fewest: Vec<Option<u64>> = vec![None; need + 1031];
    fewest[0] = Some(0);
    for total in 1..fewest.len() {
        let before = sizes.iter().filter_map(|size| fewest[total.checked_sub(*size)?]);
        fewest[total] = before.min().map(|count| count + 1);
    }
    let least = (need..).find(|total| fewest[*total].is_some()).unwrap();
    let list = sizes.map(|size| Offer {
        size: Decimal::from(size),
        cost: Decimal::from(size),
    });
    let choice = choose(list, Decimal::from(need), &[]).unwrap();
    assert_eq!(choice.total, Decimal::from(least));
    assert_eq!(
        Some(choice.counts.iter().map(|(_, count)| count).sum::<u64>()),
        fewest[least]
    );
}

#[test]
fn what_cannot_be_packed_is_a_typed_fault() {
    let none: Vec<Offer> = Vec::new();
    assert_eq!(choose(none, dec("1"), &[]), Err(PackFault::NoOffer));
    for (size, cost) in [
        ("0", "1"),
        ("-5", "1"),
        ("5", "-1"),
        ("0.0000001", "1"),
        ("99999999999999", "1"),
    ] {
        let fault = choose(offers(&[(size, cost)]), dec("1"), &[]).unwrap_err();
        assert!(
            matches!(fault, PackFault::OutOfRange(_)),
            "{size} at {cost}: {fault:?}"
        );
    }
    assert!(matches!(
        choose(offers(COILS), dec("-1"), &[]),
        Err(PackFault::OutOfRange(_))
    ));
    // A grain of a millionth at nine billion each, nine billion times: no decimal holds the cost.
    let grain = offers(&[("0.000001", "9000000000")]);
    assert_eq!(choose(grain, dec("9000000000"), &[]), Err(PackFault::TooLarge));
    // Forty different pieces are more than any search of ours may try: said, not guessed.
    let many: Vec<_> = (1..=40).map(|n| dec("11.3") + Decimal::new(n * 37, 2)).collect();
    assert_eq!(
        choose(offers(COILS), Decimal::ZERO, &many),
        Err(PackFault::TooLarge)
    );
}

/// Every multiset of at most `most` packs that holds the need, tried in turn: the slow and certain way.
fn try_everything(packs: &[(i64, i64)], divisible: i64, pieces: &[i64], most: u64) -> Option<Vec<u64>> {
    let mut sizes: Vec<_> = packs.to_vec();
    sizes.sort_by_key(|pack| -pack.0);
    let mut best: Option<((i64, i64, u64), Vec<u64>)> = None;
    let mut counts = vec![0_u64; sizes.len()];
    loop {
        let count: u64 = counts.iter().sum();
        let sum = |of: fn(&(i64, i64)) -> i64| -> i64 {
            sizes
                .iter()
                .zip(&counts)
                .map(|(pack, n)| of(pack) * i64::try_from(*n).unwrap())
                .sum()
        };
        let (total, cost) = (sum(|pack| pack.0), sum(|pack| pack.1));
        let needed = divisible + pieces.iter().sum::<i64>();
        if count <= most && total >= needed {
            let mut rooms: Vec<i64> = Vec::new();
            for (pack, n) in sizes.iter().zip(&counts) {
                rooms.extend(std::iter::repeat_n(pack.0, usize::try_from(*n).unwrap()));
            }
            let merit = (cost, total, count);
            let better = best
                .as_ref()
                .is_none_or(|(best, known)| (merit, known) < (*best, &counts));
            if better && can_cut(&mut rooms, pieces) {
                best = Some((merit, counts.clone()));
            }
        }
        let Some(at) = counts.iter().position(|n| *n < most) else {
            break;
        };
        counts[..at].fill(0);
        counts[at] += 1;
    }
    best.map(|(_, counts)| counts)
}

fn can_cut(rooms: &mut Vec<i64>, pieces: &[i64]) -> bool {
    let Some((piece, others)) = pieces.split_first() else {
        return true;
    };
    (0..rooms.len()).any(|at| {
        if rooms[at] < *piece {
            return false;
        }
        rooms[at] -= piece;
        let can = can_cut(rooms, others);
        rooms[at] += piece;
        can
    })
}

fn agree(packs: &[(i64, i64)], divisible: i64, pieces: &[i64], most: u64) {
    let list: Vec<_> = packs
        .iter()
        .map(|(size, cost)| Offer {
            size: Decimal::from(*size),
            cost: Decimal::from(*cost),
        })
        .collect();
    let whole: Vec<_> = pieces.iter().map(|piece| Decimal::from(*piece)).collect();
    let largest = packs.iter().map(|pack| pack.0).max().unwrap();
    let answer = choose(list.iter().copied(), Decimal::from(divisible), &whole);
    if pieces.iter().any(|piece| *piece > largest) {
        assert!(matches!(answer, Err(PackFault::PieceTooLong { .. })));
        return;
    }
    let answer = answer.unwrap();
    let mut sizes: Vec<_> = packs.iter().copied().enumerate().collect();
    sizes.sort_by_key(|(_, pack)| -pack.0);
    let counts: Vec<u64> = sizes
        .iter()
        .map(|(place, _)| {
            answer
                .counts
                .iter()
                .find(|(at, _)| at == place)
                .map_or(0, |(_, count)| *count)
        })
        .collect();
    // One pack more than what was found is enough room for anything cheaper or tighter to show itself.
    let certain = try_everything(packs, divisible, pieces, most.max(counts.iter().sum()));
    assert_eq!(Some(counts), certain, "{divisible} and {pieces:?} from {packs:?}");
}

/// Up to three different sizes of 1 to 9 with costs of 0 to 12.
fn few_packs() -> impl Strategy<Value = Vec<(i64, i64)>> {
    prop::collection::btree_map(1_i64..10, 0_i64..13, 1..4).prop_map(|sizes| sizes.into_iter().collect())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn a_divisible_need_is_met_as_by_trying_everything(packs in few_packs(), need in 0_i64..14) {
        agree(&packs, need, &[], 14);
    }

    #[test]
    fn pieces_are_cut_as_by_trying_everything(
        packs in few_packs(),
        need in 0_i64..5,
        pieces in prop::collection::vec(1_i64..8, 1..4),
    ) {
        agree(&packs, need, &pieces, 9);
    }

    #[test]
    fn what_is_bought_holds_what_is_needed(
        packs in prop::collection::btree_map(1_i64..5000, 1_i64..100_000, 1..6),
        need in 0_i64..1_000_000,
        cents in 0_u32..3,
    ) {
        let list: Vec<_> = packs
            .iter()
            .map(|(size, cost)| Offer { size: Decimal::new(*size, cents), cost: Decimal::new(*cost, 2) })
            .collect();
        let need = Decimal::new(need, cents);
        let choice = choose(list.iter().copied(), need, &[]).unwrap();
        prop_assert!(choice.total >= need);
        let sum = |of: fn(&Offer) -> Decimal| -> Decimal {
            choice.counts.iter().map(|(place, count)| of(&list[*place]) * Decimal::from(*count)).sum()
        };
        prop_assert_eq!(sum(|offer| offer.size), choice.total);
        prop_assert_eq!(sum(|offer| offer.cost), choice.cost);
        // No single size alone is cheaper.
        for offer in &list {
            let alone = (need / offer.size).ceil() * offer.cost;
            prop_assert!(choice.cost <= alone);
        }
    }

    #[test]
    fn scale_and_order_of_the_list_do_not_matter(packs in few_packs(), need in 0_i64..200) {
        let at = |scale: u32| -> Vec<Offer> {
            packs.iter().map(|(size, cost)| Offer { size: Decimal::new(*size, scale), cost: Decimal::from(*cost) }).collect()
        };
        let plain = choose(at(0), Decimal::from(need), &[]).unwrap();
        let fine = choose(at(6), Decimal::new(need, 6), &[]).unwrap();
        prop_assert_eq!(&plain.counts, &fine.counts);
        let mut turned = at(0);
        turned.reverse();
        let other = choose(turned, Decimal::from(need), &[]).unwrap();
        prop_assert_eq!((plain.cost, plain.total), (other.cost, other.total));
    }
}
