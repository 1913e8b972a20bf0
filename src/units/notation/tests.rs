use super::*;
use crate::units::TypedError;
use proptest::prelude::*;
use rstest::rstest;

const COMMA: Notation = Notation { decimal: DecimalSign::Comma, ..Notation::METRIC };
const OUNCES: Notation = Notation { mass: MassShown::Ounces, ..Notation::METRIC };
const US: Notation = Notation { volume: VolumeShown::Us, ..Notation::METRIC };
const IMPERIAL: Notation = Notation { volume: VolumeShown::Imperial, ..Notation::METRIC };

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

fn ml(text: &str) -> Millilitres {
    Millilitres::parse(text).unwrap()
}

fn division(text: &str) -> Division {
    Division::parse(text).unwrap()
}

/// 1 oz = 28.349523125 g, 1 lb = 16 oz = 453.59237 g: the exact values of NIST SP 811 (2008), appendix B.8, and NIST
/// Handbook 44, appendix C. The numbers of other weights are quotients of those.
#[rstest]
#[case("453.59237", "0.1", "16.000 oz")]
#[case("28.349523125", "0.01", "1.0000 oz")]
#[case("28.3", "0.1", "0.998 oz")]
#[case("28.4", "0.1", "1.002 oz")]
#[case("1", "1", "0.04 oz")]
#[case("2", "1", "0.07 oz")]
#[case("0.05", "0.05", "0.002 oz")]
#[case("-0.1", "0.1", "-0.004 oz")]
#[case("-0.04", "0.1", "0.000 oz")]
#[case("100", "50", "4 oz")]
fn ounces_by_their_definition(#[case] mass: &str, #[case] d: &str, #[case] written: &str) {
    assert_eq!(OUNCES.mass(grams(mass), division(d)), written);
}

/// 1 US fl oz = 29.5735295625 mL, 1 imperial fl oz = 28.4130625 mL; 32 US fl oz are a US quart, 20 imperial ones an
/// imperial pint: NIST Handbook 44, appendix C, and NIST SP 811 (2008), appendix B.8.
#[rstest]
#[case(US, "946.352946", "32.00 US fl oz")]
#[case(US, "350", "11.83 US fl oz")]
#[case(US, "29.5735295625", "1.00 US fl oz")]
#[case(IMPERIAL, "568.26125", "20.00 imp fl oz")]
#[case(IMPERIAL, "350", "12.32 imp fl oz")]
#[case(Notation::METRIC, "350.5", "350 mL")]
#[case(COMMA, "350.5", "350 mL")]
fn volumes_by_their_definition(#[case] notation: Notation, #[case] volume: &str, #[case] written: &str) {
    assert_eq!(notation.volume(ml(volume), 0), written);
}

#[test]
fn a_step_is_still_told_from_the_next() {
    for (d, decimals) in [("0.001", 5), ("0.01", 4), ("0.02", 4), ("0.05", 3), ("0.1", 3), ("1", 2), ("5", 1)]
    {
        let d = division(d);
        let text = OUNCES.weight(d.grams(), d);
        assert_eq!(text.split_once('.').map(|(_, rest)| rest.len()), Some(decimals), "{d}: {text}");
    }
}

/// A division, a limit or a weight's nominal value is not one that a scale shows: a decimal more.
#[test]
fn what_was_given_keeps_what_it_says() {
    assert_eq!(OUNCES.given_mass(grams("0.1")), "0.0035 oz");
    assert_eq!(OUNCES.given_mass(grams("500")), "17.637 oz");
    assert_eq!(OUNCES.given_mass(grams("28.349523125")), "1 oz");
    assert_eq!(US.given_volume(ml("354.88235475")), "12 US fl oz");
    assert_eq!(US.given_volume(ml("600")), "20.29 US fl oz");
    assert_eq!(Notation { decimal: DecimalSign::Comma, ..US }.given_volume(ml("100")), "3,38 US fl oz");
}

/// Two pours of 50 g: each alone is 1.764 oz, and both are 3.527 oz.
#[test]
fn numbers_below_each_other_add_up() {
    let (half, all, tenth) = (grams("50"), grams("100"), Division::TENTH);
    assert_eq!((OUNCES.weight(half, tenth), OUNCES.weight(all, tenth)), ("1.764".into(), "3.527".into()));
    assert_eq!(OUNCES.step(Grams::ZERO, half, tenth), "1.764");
    assert_eq!(OUNCES.step(half, all, tenth), "1.763");
    assert_eq!(COMMA.step(half, grams("100.1"), tenth), "50,1");
}

#[test]
fn the_sign_is_the_persons_own() {
    let tenth = Division::TENTH;
    assert_eq!(COMMA.mass(grams("1350.1"), tenth), "1350,1 g");
    assert_eq!(COMMA.signed(grams("0.2"), tenth), "+0,2");
    assert_eq!(COMMA.asked(grams("0.235"), tenth), "0,24");
    assert_eq!(COMMA.given_mass(grams("500.012")), "500,012 g");
    assert_eq!(COMMA.given_volume(ml("350.25")), "350,25 mL");
    assert_eq!(COMMA.percent(Share::new(Decimal::new(162, 4)), 1), "1,6 %");
    assert_eq!(COMMA.signed_percent(Share::new(Decimal::new(162, 4)), 1), "+1,6 %");
    assert_eq!(COMMA.money(Money::new(Decimal::new(1441, 2))), "14,41");
    assert_eq!(COMMA.number(Decimal::new(1_4820, 4)), "1,482");
}

/// As it always was: what screens and texts said before there was a choice.
#[test]
fn metric_is_as_the_quantities_write_themselves() {
    let metric = Notation::METRIC;
    for text in ["0", "-0.04", "12.25", "12.35", "-3", "1350.149"] {
        let (mass, volume) = (grams(text), ml(text));
        for d in ["0.1", "0.05", "1"] {
            let d = division(d);
            assert_eq!(metric.weight(mass, d), mass.shown(d));
            assert_eq!(metric.asked(mass, d), mass.with_decimals(d.decimals() + 1));
        }
        assert_eq!(metric.given_mass(mass), format!("{mass} g"));
        assert_eq!(metric.given_volume(volume), format!("{volume} mL"));
    }
    assert_eq!(metric.signed(grams("0.24"), Division::TENTH), "+0.2");
    assert_eq!(metric.signed(grams("-0.3"), Division::TENTH), "-0.3");
    assert_eq!(metric.signed(grams("0.04"), Division::TENTH), "0.0");
    assert_eq!(metric.asked(grams("0.235"), Division::TENTH), "0.24");
}

#[test]
fn what_has_to_suffice_is_rounded_up() {
    assert_eq!(Notation::METRIC.volume_up(ml("600.01")), "601 mL");
    // 600.01 mL are 20.2888 US fl oz.
    assert_eq!(US.volume_up(ml("600.01")), "20.29 US fl oz");
    assert!(US.read_volume(&US.volume_up(ml("600.01"))).unwrap() >= ml("600.01"));
}

#[rstest]
#[case(US, "12", "354.88235475")]
#[case(US, "12.5", "369.66911953125")]
#[case(US, "12,5", "369.66911953125")]
#[case(US, "350 mL", "350")]
#[case(US, "1 qt", "946.352946")]
#[case(IMPERIAL, "12", "340.95675")]
#[case(IMPERIAL, "12 fl oz", "340.95675")]
#[case(IMPERIAL, "12 US fl oz", "354.88235475")]
#[case(Notation::METRIC, "350", "350")]
#[case(Notation::METRIC, "12 fl oz", "354.88235475")]
#[case(COMMA, "1,234 L", "1234")]
#[case(Notation::METRIC, "1.234 L", "1234")]
#[case(Notation::METRIC, "0,500 L", "500")]
#[case(COMMA, "0.500 L", "500")]
fn volumes_as_typed(#[case] notation: Notation, #[case] typed: &str, #[case] millilitres: &str) {
    assert_eq!(notation.read_volume(typed).unwrap().to_string(), millilitres);
}

#[rstest]
#[case(Notation::METRIC, "12.5", "12.5")]
#[case(COMMA, "12.5", "12.5")]
#[case(COMMA, "12,5", "12.5")]
#[case(OUNCES, "1", "28.349523125")]
#[case(OUNCES, "1 g", "1")]
#[case(Notation::METRIC, "1 oz", "28.349523125")]
#[case(COMMA, "1,234", "1.234")]
#[case(Notation::METRIC, "1.234", "1.234")]
fn masses_as_typed(#[case] notation: Notation, #[case] typed: &str, #[case] mass: &str) {
    assert_eq!(notation.read_mass(typed).unwrap().to_string(), mass);
}

#[rstest]
#[case(Notation::METRIC, "1,234", "'1,234' can be read in two ways: write 1234, or 1.234")]
#[case(COMMA, "1.234", "'1.234' can be read in two ways: write 1234, or 1,234")]
#[case(COMMA, "1.234,5", "'1.234,5' is not a number: write digits with a decimal comma, like 12,5")]
#[case(
    Notation::METRIC,
    "1,234.5",
    "'1,234.5' is not a number: write digits with a decimal point, like 12.5"
)]
#[case(OUNCES, "12,500", "'12,500' can be read in two ways: write 12500, or 12.500")]
#[case(OUNCES, "12,500 g", "'12,500' can be read in two ways: write 12500, or 12.500")]
fn what_may_be_a_thousand_times_off_is_refused(
    #[case] notation: Notation,
    #[case] typed: &str,
    #[case] sentence: &str,
) {
    assert_eq!(notation.told(&notation.read_mass(typed).unwrap_err()), sentence);
    let volume = notation.read_volume(typed);
    assert!(volume.is_err(), "{volume:?}");
}

#[test]
fn a_bare_number_of_millilitres_is_a_whole_one() {
    assert!(matches!(Notation::METRIC.read_volume("0.5"), Err(TypedError::NoUnit(..))));
    assert!(matches!(US.read_volume("0"), Err(TypedError::NotPositive(_))));
}

fn notation() -> impl Strategy<Value = Notation> {
    let of = |at: usize| Notation {
        decimal: DecimalSign::ALL[at % 2],
        mass: MassShown::ALL[at / 2 % 2],
        volume: VolumeShown::ALL[at / 4],
    };
    (0_usize..12).prop_map(of)
}

/// Half of the last digit of a number that is written, in the unit it is written in.
fn half_a_digit(text: &str) -> Decimal {
    let decimals = text.split_once(['.', ',']).map_or(0, |(_, rest)| rest.len());
    Decimal::new(5, u32::try_from(decimals).unwrap() + 1)
}

proptest! {
    /// What a scale shows is written so that it is read back to within half a last digit, and is the same weight again
    /// at the scale's division.
    #[test]
    fn a_weight_is_read_back(
        notation in notation(),
        steps in 1_i64..2_000_000,
        (digit, decimals) in (prop::sample::select(vec![1_i64, 2, 5]), 0_u32..4),
    ) {
        let d = Division::new(Decimal::new(digit, decimals)).unwrap();
        let mass = d.grams().times(Decimal::from(steps));
        let text = notation.weight(mass, d);
        let read = notation.read_mass(&text).unwrap();
        let half = Grams::from_unit(half_a_digit(&text), notation.mass.unit());
        prop_assert!((read - mass).abs() <= half, "{} is {read}", text);
        prop_assert_eq!(d.round(read), mass);
        prop_assert_eq!(notation.weight(read, d), text);
        prop_assert_eq!(notation.read_mass(&notation.mass(mass, d)).unwrap(), read);
    }

    #[test]
    fn a_volume_is_read_back(notation in notation(), microlitres in 50_000_i64..10_000_000_000) {
        let volume = Millilitres::new(Decimal::new(microlitres, 3));
        let text = notation.volume(volume, 0);
        let read = notation.read_volume(&text).unwrap();
        let number = notation.volume_number(volume, 0);
        let half = Millilitres::from_unit(half_a_digit(&number), notation.volume.unit());
        prop_assert!((read - volume).abs() <= half, "{} is {read}", text);
        prop_assert_eq!(notation.volume(read, 0), text);
        prop_assert_eq!(notation.read_volume(&notation.volume_number(read, 0)).unwrap(), read);
        prop_assert!(notation.read_volume(&notation.volume_up(volume)).unwrap() >= volume);
    }

    /// What is proposed to be typed again is the same volume, to the last digit.
    #[test]
    fn a_volume_typed_again_is_the_same(notation in notation(), hundredths in 1_i64..100_000, of_ounces: bool) {
        let unit = if of_ounces { notation.volume.unit() } else { VolumeUnit::Millilitre };
        let volume = Millilitres::from_unit(Decimal::new(hundredths, 2), unit);
        prop_assert_eq!(notation.read_volume(&notation.typed_volume(volume)).unwrap(), volume);
    }
}

/// A square foot is 0.3048² = 0.09290304 m²: 0.9 m² are 9.6875 of them, 1.3 m² 13.9931.
#[test]
fn areas_are_square_feet_beside_us_measures() {
    let area = |text: &str| Area::parse(text).unwrap();
    let comma = Notation { decimal: DecimalSign::Comma, ..Notation::METRIC };
    assert_eq!(
        (Notation::METRIC.area(area("1.3")), comma.area(area("1.3"))),
        ("1.3 m²".into(), "1,3 m²".into())
    );
    assert_eq!((US.area(area("0.9")), US.area(area("1.3"))), ("9.69 ft²".into(), "13.99 ft²".into()));
    assert_eq!((US.area_number(area("0.9290304")), US.area_unit()), ("10".into(), "ft²"));
    assert_eq!(
        (US.typed_area(area("0.9290304")), US.typed_area(area("0.9"))),
        ("10 ft2".into(), "0.9 m2".into())
    );
    for (notation, typed, metres) in [
        (US, "3 ft2", "0.27870912"),
        (US, "3", "0.27870912"),
        (US, "0.9 m2", "0.9"),
        (Notation::METRIC, "3 ft2", "0.27870912"),
        (Notation::METRIC, "0,9", "0.9"),
        (comma, "1,234 m²", "1.234"),
    ] {
        assert_eq!(notation.read_area(typed), Ok(area(metres)), "{typed}");
    }
    assert!(matches!(Notation::METRIC.read_area("1,234 m2"), Err(TypedError::TwoWays { .. })));
}

/// What suffices is written the same with its unit and without: 208 mL are 7.0333 US fl oz.
#[test]
fn what_suffices_is_rounded_in_one_way() {
    let volume = Millilitres::parse("208").unwrap();
    assert_eq!((US.volume_up(volume), US.volume_number_up(volume)), ("7.04 US fl oz".into(), "7.04".into()));
    assert_eq!(US.given_volume_number(Millilitres::parse("354.88235475").unwrap()), "12");
}
