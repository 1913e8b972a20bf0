//! The shop's `scale.toml` from outside: what is read, what is refused, and how that is said.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    reason = "a test that cannot go on says so and stops"
)]

use pourbook::catalogue::{Catalogue, Problem, ScaleSheet, Severity};
use pourbook::metrology::{AccuracyClass, CheckPlan, Every, Rules, WeightClass, WhenOverdue};
use pourbook::units::{Division, Grams};
use proptest::prelude::*;
use rstest::rstest;

const SCALE: &str = r#"[scale]
name = "mixing bench"
max = "7500"
d = "0.1"
class = "II"

[[weight]]
id = "big"
nominal = 2000
class = "F2"
value = "2000.010"
"#;

/// A shop that has this file and else nothing that is wrong.
fn shop_with(text: &str) -> (Option<ScaleSheet>, Vec<Problem>) {
    let demo = pourbook::catalogue::demo::FILES.iter().copied();
    let files = demo.filter(|(path, _)| *path != "scale.toml").chain([("scale.toml", text)]);
    let shop = Catalogue::from_files("shop", files);
    assert!(shop.colours.len() > 10, "a mistake about the scale costs no colour");
    (shop.scale, shop.problems)
}

fn read(text: &str) -> ScaleSheet {
    let (sheet, problems) = shop_with(text);
    assert_eq!(problems, []);
    sheet.unwrap()
}

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

#[test]
fn what_is_not_written_has_its_usual_value() {
    let sheet = read(SCALE);
    let scale = &sheet.scale;
    assert_eq!((scale.name.as_str(), scale.max), ("mixing bench", grams("7500")));
    assert_eq!((scale.d, scale.e), (Division::TENTH, Division::TENTH));
    assert_eq!((scale.class, scale.rules, scale.own_limit), (Some(AccuracyClass::Ii), Rules::R76, None));
    assert_eq!(sheet.plan, CheckPlan { every: Every::WorkingDay, when_overdue: WhenOverdue::Say });
    assert_eq!(sheet.usual_load, grams("750"));
    let [weight] = &sheet.weights[..] else { panic!("{:?}", sheet.weights) };
    assert_eq!((weight.id.as_str(), weight.nominal, weight.class), ("big", grams("2000"), WeightClass::F2));
    assert_eq!(weight.value.unwrap().to_string(), "2000.01");
    assert_eq!(
        sheet.check_weight().map(|(weight, limit)| (weight.id.as_str(), limit)),
        Ok(("big", grams("0.2")))
    );
}

#[test]
fn everything_can_be_written() {
    let more = "class = \"III\"\nd = \"0.01\"\ne = \"0.1\"\nrules = \"HB 44\"\nlimit = \"0.25\"\nusual_load = 420\n\
                check_every = \"7 days\"\nwhen_overdue = \"refuse\"\n";
    let text = SCALE.replace("7500", "1000").replace("d = \"0.1\"\nclass = \"II\"\n", more);
    let sheet = read(&text);
    assert_eq!((sheet.scale.class, sheet.scale.rules), (Some(AccuracyClass::Iii), Rules::Hb44));
    assert_eq!((sheet.scale.d.to_string(), sheet.scale.e.to_string()), ("0.01".into(), "0.1".into()));
    assert_eq!((sheet.scale.own_limit, sheet.usual_load), (Some(grams("0.25")), grams("420")));
    assert_eq!(sheet.plan, CheckPlan { every: Every::Days(7), when_overdue: WhenOverdue::Refuse });
}

#[test]
fn a_limit_of_ones_own_stands_in_for_a_class() {
    let sheet = read(&SCALE.replace("class = \"II\"", "limit = \"0.2\""));
    assert_eq!((sheet.scale.class, sheet.scale.limit_at(grams("7000"))), (None, Some(grams("0.2"))));
}

#[test]
fn a_shop_needs_no_such_file_and_weights_are_not_needed_either() {
    let files = pourbook::catalogue::demo::FILES.iter().filter(|(path, _)| *path != "scale.toml").copied();
    let shop = Catalogue::from_files("shop", files);
    assert_eq!((shop.scale, shop.problems), (None, vec![]));
    let sheet = read(SCALE.split("\n[[weight]]").next().unwrap());
    assert_eq!(sheet.weights, []);
    assert!(sheet.check_weight().unwrap_err().to_string().contains("The shop has no check weight"));
}

/// Where, how bad, what is said, and what is left out.
#[rstest]
#[case::no_scale(
    "[[weight]]\nid = \"a\"\nnominal = 1\nclass = \"M1\"\n",
    "1:3",
    "error",
    "this file of a scale has no 'scale'. Add it, like [scale]",
    "scale"
)]
#[case::unknown_table(&SCALE.replace("[[weight]]", "[[wieght]]"), "7:3", "error",
    "'wieght' is not a key of a file of a scale. Expected one of scale, weight. Did you mean 'weight'?", "scale")]
#[case::unknown_key(&SCALE.replace("max", "maxx"), "3:1", "error",
    "'maxx' is not a key of a scale. Expected one of name, max, d, e, class, rules, limit, usual_load, check_every, when_overdue. Did you mean 'max'?", "scale")]
#[case::no_division(&SCALE.replace("d = \"0.1\"\n", ""), "1:1", "error",
    "this scale has no 'd'. Add it, like d = \"0.1\"", "scale")]
#[case::division_of_nothing(&SCALE.replace("\"0.1\"", "0"), "4:5", "error",
    "'d' is 0. Expected a number of grams, more than zero.", "scale")]
#[case::scale_is_text("scale = \"II\"\n", "1:9", "error", "'scale' is text. Expected a table.", "scale")]
#[case::class(&SCALE.replace("\"II\"", "\"2\""), "5:9", "error",
    "'2' is not an accuracy class. Expected one of I, II, III, III L, IIII. Did you mean 'II'?", "scale")]
#[case::class_iv(&SCALE.replace("\"II\"", "\"iv\""), "5:9", "error",
    "'iv' is not an accuracy class. Expected one of I, II, III, III L, IIII. Did you mean 'IIII'?", "scale")]
#[case::rules(&SCALE.replace("class = \"II\"", "class = \"II\"\nrules = \"R76\""), "6:9", "error",
    "'R76' is not a set of rules. Expected one of R 76, HB 44. Did you mean 'R 76'?", "scale")]
#[case::every(&SCALE.replace("class = \"II\"", "class = \"II\"\ncheck_every = \"workday\""), "6:15", "error",
    "'check_every' is 'workday'. Expected \"working day\", or a number of days from 1 to 366 like \"7 days\". Did you mean 'working day'?", "scale")]
#[case::every_no_day(&SCALE.replace("class = \"II\"", "class = \"II\"\ncheck_every = \"0 days\""), "6:15", "error",
    "'check_every' is '0 days'. Expected \"working day\", or a number of days from 1 to 366 like \"7 days\".", "scale")]
#[case::overdue(&SCALE.replace("class = \"II\"", "class = \"II\"\nwhen_overdue = \"refused\""), "6:16", "error",
    "'refused' is not what the bench can do. Expected one of say, refuse. Did you mean 'refuse'?", "scale")]
#[case::neither_class_nor_limit(&SCALE.replace("class = \"II\"\n", ""), "1:1", "error",
    "nothing says how far this scale may be off. Add its class, like class = \"II\", or a limit of your own in grams, like limit = \"0.2\".", "scale")]
#[case::no_such_class(&SCALE.replace("\"II\"", "\"III L\""), "5:9", "error",
    "OIML R 76-1:2006 has no class III L.", "scale")]
#[case::e_and_d(&SCALE.replace("class = \"II\"", "class = \"II\"\ne = \"5\""), "6:5", "error",
    "e is 5 g and d is 0.1 g: e is d, or where there is an extra digit more than d and at most 10 d.", "scale")]
#[case::load(&SCALE.replace("class = \"II\"", "class = \"II\"\nusual_load = 8000"), "6:14", "error",
    "'usual_load' is 8000 g, and the scale takes 7500 g at most.", "scale")]
#[case::not_of_its_class(&SCALE.replace("7500", "400"), "5:9", "warning",
    "400 g in steps of 0.1 g are 4000 intervals: class II has from 5000 to 100000 (OIML R 76-1:2006, table 3). Compare with the scale's plate; its limits depend on it.", "")]
#[case::odd_step(&SCALE.replace("0.1", "0.3"), "4:5", "warning",
    "a scale counts by 1, 2 or 5 and a power of ten, not by 0.3 g (OIML R 76-1:2006).", "")]
#[case::fine_limit(&SCALE.replace("class = \"II\"", "class = \"II\"\nlimit = 0.05"), "6:9", "warning",
    "a limit of 0.05 g is less than the 0.1 g the scale counts by. A single step of the display will fail the check.", "")]
#[case::nominal(&SCALE.replace("2000\n", "3000\n"), "9:11", "error",
    "'nominal' is 3000. Expected what is written on the weight, in grams: one of 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000.", "weight")]
#[case::weight_class(&SCALE.replace("F2", "F3"), "10:9", "error",
    "'F3' is not a class of weights. Expected one of E2, F1, F2, M1.", "weight")]
#[case::weight_class_in_small(&SCALE.replace("F2", "f2"), "10:9", "error",
    "'f2' is not a class of weights. Expected one of E2, F1, F2, M1. Did you mean 'F2'?", "weight")]
#[case::weight_key(&SCALE.replace("value", "vallue"), "11:1", "error",
    "'vallue' is not a key of a weight. Expected one of id, nominal, class, value. Did you mean 'value'?", "weight")]
#[case::no_id(&SCALE.replace("id = \"big\"\n", ""), "7:1", "error",
    "this weight has no 'id'. Add it, like id = \"500 g\"", "weight")]
#[case::value_in_another_unit(&SCALE.replace("2000.010", "2.000010"), "11:9", "warning",
    "a weight of 2000 g that weighs 2.00001 g is not of class F2 (OIML R 111-1:2004, table 1). It is not used for checking. Compare with its certificate: 'value' is in grams.", "")]
#[case::two_weights(&format!("{SCALE}[[weight]]\nid = \"BIG\"\nnominal = 1\nclass = \"M1\"\n"), "13:6", "error",
    "there are two weights with the id 'BIG'. The first is at shop/scale.toml:8:6. Give one another id.", "weight")]
#[case::no_toml(
    "[scale\n",
    "1:7",
    "error",
    "this cannot be read as TOML: unclosed table, expected `]`.",
    "file"
)]
fn every_mistake_is_named_with_its_place(
    #[case] text: &str,
    #[case] place: &str,
    #[case] severity: &str,
    #[case] said: &str,
    #[case] left_out: &str,
) {
    let (_, problems) = shop_with(text);
    let at = |problem: &&Problem| problem.location() == format!("shop/scale.toml:{place}");
    let first = problems.iter().find(at).unwrap_or_else(|| panic!("{problems:#?}"));
    assert_eq!(first.severity.to_string(), severity);
    assert_eq!(first.sentence(), said);
    assert_eq!(first.left_out.unwrap_or_default(), left_out);
}

#[test]
fn a_mistake_in_a_weight_costs_no_more_than_the_weight() {
    let text = format!("{SCALE}\n[[weight]]\nid = \"small\"\nnominal = 500\nclass = \"M9\"\n");
    let (sheet, problems) = shop_with(&text);
    assert_eq!(sheet.unwrap().weights.len(), 1);
    assert_eq!((problems.len(), problems[0].severity), (1, Severity::Error));
}

/// The demo's scale is the virtual bench's.
#[test]
fn the_demo_shops_scale_fits_the_virtual_bench() {
    let sheet = Catalogue::demo().scale.unwrap();
    let spec = pourbook::scale::Spec::default();
    assert_eq!((sheet.scale.max, sheet.scale.d), (spec.capacity, spec.division));
    let (weight, limit) = sheet.check_weight().unwrap();
    assert_eq!((weight.id.as_str(), limit), ("invented 500 g", grams("0.1")));
    let coarse = sheet.weights.iter().find(|weight| weight.id.contains("coarse")).unwrap();
    assert!(pourbook::metrology::limit_if_fit(&sheet.scale, coarse).is_err());
}

proptest! {
    #[test]
    fn no_text_is_a_panic(text in "(?s)[\\[\\]{}=\"'#.,\\\\ \nscalewightdmxy0-9\\PC]{0,120}") {
        let _ = shop_with(&text);
    }

    #[test]
    fn no_damage_is_a_panic(at in 0_usize..150, with in any::<u8>()) {
        let mut bytes = SCALE.as_bytes().to_vec();
        if let Some(byte) = bytes.get_mut(at) {
            *byte = with;
        }
        let shop = Catalogue::from_files("shop", [("scale.toml", bytes)]);
        prop_assert!(!shop.problems.is_empty(), "there are no toners");
    }
}
