//! The tables, entry by entry, each beside its source.

use super::*;
use crate::metrology::testing::grams;
use AccuracyClass::{I, Ii, Iii, IiiL, Iiii};
use Rules::{Hb44, R76};
use rstest::rstest;

fn step(text: &str) -> Division {
    Division::parse(text).unwrap()
}

/// OIML R 76-1:2006 table 3 (read) and NIST Handbook 44 table 3 (read second-hand), with its table 8 for the
/// least load (from memory). The range of e, n min, n max, Min in intervals.
#[rstest]
#[case::r76_1(R76, I, "0.001", None, 50_000, None, 100)]
#[case::r76_2_fine(R76, Ii, "0.001", Some("0.05"), 100, Some(100_000), 20)]
#[case::r76_2(R76, Ii, "0.1", None, 5_000, Some(100_000), 50)]
#[case::r76_3_fine(R76, Iii, "0.1", Some("2"), 100, Some(10_000), 20)]
#[case::r76_3(R76, Iii, "5", None, 500, Some(10_000), 20)]
#[case::r76_4(R76, Iiii, "5", None, 100, Some(1_000), 10)]
#[case::hb44_1(Hb44, I, "0.001", None, 50_000, None, 100)]
#[case::hb44_2_fine(Hb44, Ii, "0.001", Some("0.05"), 100, Some(100_000), 20)]
#[case::hb44_2(Hb44, Ii, "0.1", None, 5_000, Some(100_000), 50)]
#[case::hb44_3_fine(Hb44, Iii, "0.1", Some("2"), 100, Some(10_000), 20)]
#[case::hb44_3(Hb44, Iii, "5", None, 500, Some(10_000), 20)]
#[case::hb44_3l_from_memory(Hb44, IiiL, "2000", None, 2_000, Some(10_000), 50)]
#[case::hb44_4(Hb44, Iiii, "5", None, 100, Some(1_200), 10)]
fn table_3(
    #[case] rules: Rules,
    #[case] class: AccuracyClass,
    #[case] from: &str,
    #[case] to: Option<&str>,
    #[case] n_min: u32,
    #[case] n_max: Option<u32>,
    #[case] min: u32,
) {
    let expected = ClassRow { e_from: grams(from), e_to: to.map(grams), n_min, n_max, min };
    assert_eq!(class.row(rules, step(from)), Some(&expected));
    let last = to.unwrap_or("5000");
    assert_eq!(class.row(rules, step(last)), Some(&expected), "the largest e of the line");
}

#[test]
fn the_tables_have_no_other_lines() {
    let lines = |rules| AccuracyClass::ALL.map(|class: AccuracyClass| class.rows(rules).len());
    assert_eq!(lines(R76), [1, 2, 2, 0, 1]);
    assert_eq!(lines(Hb44), [1, 2, 2, 1, 1]);
    // Between and below the lines there is no class.
    for (class, e) in [(I, "0.0005"), (Ii, "0.0005"), (Iii, "0.05"), (Iiii, "2")] {
        assert_eq!(class.row(R76, step(e)), None, "{class} {e}");
    }
}

/// OIML R 76-1:2006 table 6 (read), maximum permissible errors at verification in e, and in service twice as
/// much (read). Each band at its first and its last load; beyond n max nothing is allowed.
#[rstest]
#[case(I, &[(0, 50_000, "0.5"), (50_001, 200_000, "1.0"), (200_001, 10_000_000, "1.5")], None)]
#[case(Ii, &[(0, 5_000, "0.5"), (5_001, 20_000, "1.0"), (20_001, 100_000, "1.5")], Some(100_001))]
#[case(Iii, &[(0, 500, "0.5"), (501, 2_000, "1.0"), (2_001, 10_000, "1.5")], Some(10_001))]
#[case(Iiii, &[(0, 50, "0.5"), (51, 200, "1.0"), (201, 1_000, "1.5")], Some(1_001))]
fn r_76_table_6(
    #[case] class: AccuracyClass,
    #[case] bands: &[(u32, u32, &str)],
    #[case] beyond: Option<u32>,
) {
    let e = step("1");
    let load = |intervals: u32| Grams::new(Decimal::from(intervals));
    for &(first, last, allowed) in bands {
        for intervals in [first, last] {
            let at = format!("class {class} at {intervals} e");
            assert_eq!(class.at_verification(R76, e, load(intervals)), Some(grams(allowed)), "{at}");
            let doubled = grams(allowed).times(Decimal::TWO);
            assert_eq!(class.in_service(R76, e, load(intervals)), Some(doubled), "{at}");
        }
    }
    // The table says "more than 5 000": just above the last load of a band the next one begins.
    for pair in bands.windows(2) {
        let above = class.at_verification(R76, e, load(pair[0].1) + grams("0.001"));
        assert_eq!(above, Some(grams(pair[1].2)), "class {class} just above {} e", pair[0].1);
    }
    if let Some(beyond) = beyond {
        assert_eq!(class.in_service(R76, e, load(beyond)), None);
    }
    assert_eq!(IiiL.in_service(R76, e, load(1)), None, "a class of Handbook 44 alone");
}

/// NIST Handbook 44 table 6, maintenance tolerances in divisions. Class III above 2 000 read second-hand; all
/// else from memory. Acceptance is half of it (from memory).
#[rstest]
#[case::from_memory(I, &[(0, 50_000, 1), (50_001, 200_000, 2), (200_001, 5_000_000, 3)])]
#[case::from_memory(Ii, &[(0, 5_000, 1), (5_001, 20_000, 2), (20_001, 100_000, 3)])]
#[case::from_memory(Iii, &[(0, 500, 1), (501, 2_000, 2)])]
#[case::read_second_hand(Iii, &[(2_001, 4_000, 3), (4_001, 10_000, 5)])]
#[case::from_memory(Iiii, &[(0, 50, 1), (51, 200, 2), (201, 400, 3), (401, 1_200, 5)])]
#[case::from_memory(IiiL, &[(0, 500, 1), (501, 1_000, 2), (1_001, 1_500, 3), (1_501, 2_000, 4), (9_501, 10_000, 20)])]
fn hb_44_table_6(#[case] class: AccuracyClass, #[case] bands: &[(u32, u32, u32)]) {
    let load = |intervals: u32| Grams::new(Decimal::from(intervals));
    for &(first, last, divisions) in bands {
        for intervals in [first, last] {
            let allowed = class.in_service(Hb44, step("1"), load(intervals));
            assert_eq!(allowed, Some(load(divisions)), "class {class} at {intervals} d");
            let accepted = class.at_verification(Hb44, step("1"), load(intervals));
            assert_eq!(accepted.map(|half| half.times(Decimal::TWO)), allowed);
        }
    }
}

/// A weigh-module handbook's figures for class III acceptance (read second-hand).
#[rstest]
#[case("1000", "1.0")]
#[case("3000", "1.5")]
#[case("10000", "2.5")]
fn hb_44_acceptance(#[case] load: &str, #[case] allowed: &str) {
    assert_eq!(Iii.at_verification(Hb44, step("1"), grams(load)), Some(grams(allowed)));
}

/// Where the two differ for class III (worked out here): the same up to 4 000 intervals, above it 3 and 5.
#[test]
fn where_the_two_differ() {
    let both = |load: &str| [R76, Hb44].map(|rules| Iii.in_service(rules, step("1"), grams(load)).unwrap());
    for load in ["1", "500", "501", "2000", "2001", "4000"] {
        let [r76, hb44] = both(load);
        assert_eq!(r76, hb44, "{load}");
    }
    assert_eq!(both("4001"), [grams("3"), grams("5")]);
}

/// Limits follow e, whatever the display counts by, and the sign of a load says nothing.
#[test]
fn limits_are_counted_in_e() {
    assert_eq!(Ii.in_service(R76, step("0.1"), grams("500")), Some(grams("0.1")));
    assert_eq!(Ii.in_service(R76, step("0.1"), grams("500.01")), Some(grams("0.2")));
    assert_eq!(Ii.in_service(R76, step("0.1"), grams("-500.01")), Some(grams("0.2")));
    assert_eq!(Ii.in_service(R76, step("0.01"), grams("500")), Some(grams("0.03")));
}
