//! A shop's files from outside: what is read, exactly; what is refused, and how that is said; what is found.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    reason = "a test that cannot go on says so and stops"
)]

use pourbook::catalogue::{
    Catalogue, Finish, Found, Place, Problem, Role, Severity, Swatch, TonerKind, Word as _, demo, find,
};
use pourbook::units::{Decimal, Share};
use proptest::prelude::*;
use rstest::rstest;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

const TONERS: &str = r##"[[toner]]
code = "W10"
name = "titanium white"
kind = "solid"
density = "1.482"
price = "38.50"
tolerance = "0.5 %"
swatch = "#f2f1ec"
place = "first"

[[toner]]
code = "K05"
name = "carbon black"
kind = "solid"
density = 1.020
"##;

const CUPS: &str = r#"[[cup]]
name = "600"
tare = "21.8"
brim = 600
"#;

const COLOUR: &str = r#"code = "PB-3140"
name = "Gannet White"
finish = "two-stage"

[[layer]]
role = "base"
pours = [
  { toner = "W10", parts = "812.40" },
  { toner = "K05", parts = 3.150 },
]
"#;

const GANNET: &str = "colours/gannet-white.toml";

/// The good shop with one file replaced or added.
fn shop_with(path: &str, text: &[u8]) -> Catalogue {
    let mut files: BTreeMap<&str, &[u8]> = BTreeMap::from([
        ("toners.toml", TONERS.as_bytes()),
        ("cups.toml", CUPS.as_bytes()),
        (GANNET, COLOUR.as_bytes()),
    ]);
    files.insert(path, text);
    Catalogue::from_files("shop", files)
}

fn shown(problems: &[Problem]) -> String {
    problems.iter().flat_map(|problem| [problem.to_string(), "\n".to_owned()]).collect()
}

#[test]
fn everything_is_read_exactly_as_written() {
    let shop = shop_with(GANNET, COLOUR.as_bytes());
    assert_eq!(shown(&shop.problems), "");
    assert!(!shop.has_errors());

    let white = shop.toner("W10").unwrap();
    assert_eq!((white.name.as_str(), white.kind), ("titanium white", TonerKind::Solid));
    assert_eq!(white.density.decimal().to_string(), "1.482");
    assert_eq!(white.price.unwrap().decimal().to_string(), "38.50");
    assert_eq!(white.tolerance, Some(Share::new(Decimal::new(5, 3))));
    assert_eq!(white.swatch, Some(Swatch { red: 0xf2, green: 0xf1, blue: 0xec }));
    assert_eq!(white.place, Some(Place::First));

    let black = shop.toner("K05").unwrap();
    // A bare number keeps its last nought, which no float could.
    assert_eq!(black.density.decimal().to_string(), "1.020");
    assert_eq!((black.price, black.tolerance), (None, None));
    assert_eq!((black.swatch, black.place), (None, None));

    let cup = shop.cup("600").unwrap();
    assert_eq!((cup.tare.unwrap().to_string(), cup.brim.to_string()), ("21.8".into(), "600".into()));

    let colour = shop.colour("PB-3140").unwrap();
    assert_eq!((colour.finish, colour.variant.as_str()), (Finish::TwoStage, "standard"));
    let parts: Vec<_> = colour.layer(Role::Base).unwrap().pours.iter().collect();
    let written: Vec<_> = parts.iter().map(|part| (part.toner.as_str(), part.parts.to_string())).collect();
    assert_eq!(written, [("W10", "812.40".into()), ("K05", "3.150".into())]);
}

#[rstest]
#[case::text_with_noughts("\"1.10\"", "1.10")]
#[case::bare_with_noughts("1.10", "1.10")]
#[case::whole("7", "7")]
#[case::plus("+7.5", "7.5")]
#[case::more_digits_than_a_float("123456789.123456789012", "123456789.123456789012")]
#[case::text_without_a_nought("\".5\"", "0.5")]
fn a_number_is_read_digit_for_digit(#[case] written: &str, #[case] read: &str) {
    let shop = shop_with(GANNET, COLOUR.replace("3.150", written).as_bytes());
    assert_eq!(shown(&shop.problems), "");
    assert_eq!(shop.colours[0].layers[0].pours[1].parts.to_string(), read);
}

#[rstest]
#[case::exponent(
    "1e3",
    "'parts' cannot be read: '1e3' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::exponent_in_text(
    "\"1e3\"",
    "'parts' cannot be read: '1e3' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::grouped(
    "1_000",
    "'parts' cannot be read: '1_000' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::comma(
    "\"1,5\"",
    "'parts' cannot be read: '1,5' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::hexadecimal(
    "0x10",
    "'parts' cannot be read: '0x10' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::not_a_number(
    "nan",
    "'parts' cannot be read: 'nan' is not a number: write digits with a decimal point, like 12.5."
)]
#[case::too_fine(
    "0.1234567890123",
    "'parts' cannot be read: '0.1234567890123' has more than 12 decimals and would have to be rounded."
)]
#[case::too_large(
    "1000000001",
    "'parts' cannot be read: '1000000001' is too large: the most that can be used is 1000000000."
)]
#[case::nothing("0", "'parts' is 0. Expected a number of parts by mass, more than zero.")]
#[case::nothing_less("-0.0", "'parts' is 0.0. Expected a number of parts by mass, more than zero.")]
#[case::negative("-3.15", "'parts' is -3.15. Expected a number of parts by mass, more than zero.")]
#[case::negative_text("\"-3.15\"", "'parts' is -3.15. Expected a number of parts by mass, more than zero.")]
#[case::empty("\"\"", "'parts' cannot be read: a number was expected, but nothing is there.")]
#[case::truth("true", "'parts' is true or false. Expected a number.")]
fn a_number_that_could_be_misread_is_refused(#[case] written: &str, #[case] sentence: &str) {
    let shop = shop_with(GANNET, COLOUR.replace("3.150", written).as_bytes());
    let [problem] = shop.problems.as_slice() else { panic!("{}", shown(&shop.problems)) };
    assert_eq!(problem.location(), "shop/colours/gannet-white.toml:9:28");
    assert_eq!(problem.sentence(), sentence);
    assert!(shop.colours.is_empty());
}

/// One file with one mistake in it, in a shop that is otherwise right: where it is, what is said, what is left
/// out. The line it shows is checked against the file itself.
#[rstest]
// toners
#[case::syntax(
    "toners.toml",
    "[[toner]]\ncode = W10\n",
    "2:8",
    "error",
    "this cannot be read as TOML: string values must be quoted, expected literal string.",
    "file"
)]
#[case::no_toner(
    "toners.toml",
    "# nothing yet\n",
    "1:1",
    "error",
    "this file of toners has no 'toner'. Add it, like [[toner]]",
    "toner"
)]
#[case::missing_key(
    "toners.toml",
    "[[toner]]\ncode = \"W10\"\nkind = \"solid\"\ndensity = 1.5\n",
    "1:1",
    "error",
    "this toner has no 'name'. Add it, like name = \"titanium white\"",
    "toner"
)]
#[case::missing_density(
    "toners.toml",
    "# x\n\n  [[toner]]\ncode = \"W10\"\nname = \"w\"\nkind = \"solid\"\n",
    "3:3",
    "error",
    "this toner has no 'density'. Add it, like density = \"1.482\"",
    "toner"
)]
#[case::missing_code(
    "toners.toml",
    "[[toner]]\nname = \"w\"\nkind = \"solid\"\ndensity = 1.5\n",
    "1:1",
    "error",
    "this toner has no 'code'. Add it, like code = \"W10\"",
    "toner"
)]
#[case::unknown_key("toners.toml", &format!("{TONERS}tolerence = \"1 %\"\n"), "16:1", "error",
    "'tolerence' is not a key of a toner. Expected one of code, name, kind, density, price, tolerance, swatch, place, codes, voc, water, exempt, exempt-density, solids, isocyanates, flammable. Did you mean 'tolerance'?", "toner")]
#[case::unknown_key_near_none("toners.toml", &format!("{TONERS}shelf_life = 3\n"), "16:1", "error",
    "'shelf_life' is not a key of a toner. Expected one of code, name, kind, density, price, tolerance, swatch, place, codes, voc, water, exempt, exempt-density, solids, isocyanates, flammable.", "toner")]
#[case::unknown_table("toners.toml", &format!("{TONERS}[[tonner]]\n"), "16:3", "error",
    "'tonner' is not a key of a file of toners. Expected one of toner. Did you mean 'toner'?", "toner")]
#[case::wrong_type("toners.toml", &TONERS.replace("\"carbon black\"", "5"), "13:8", "error",
    "'name' is a whole number. Expected text in quotes.", "toner")]
#[case::not_a_list(
    "toners.toml",
    "[toner]\ncode = \"W10\"\n",
    "1:1",
    "error",
    "'toner' is a table. Expected a list of tables.",
    "toner"
)]
#[case::empty_name("toners.toml", &TONERS.replace("carbon black", "  "), "13:8", "error",
    "'name' is empty. Expected at least one character.", "toner")]
#[case::control_character("toners.toml", &TONERS.replace("carbon black", "carbon\\u001b[2Jblack"), "13:8", "error",
    "'name' holds a control character: 'carbon\u{fffd}[2Jblack'. Expected characters that can be printed. Write it again by hand; it may have been pasted along.", "toner")]
#[case::turned_text("toners.toml", &TONERS.replace("carbon black", "carbon \u{202e}black"), "13:8", "error",
    "'name' holds a control character: 'carbon \u{fffd}black'. Expected characters that can be printed. Write it again by hand; it may have been pasted along.", "toner")]
#[case::unknown_kind("toners.toml", &TONERS.replacen("solid", "sollid", 1), "4:8", "error",
    "'sollid' is not a kind of toner. Expected one of solid, pearl, metallic, binder, blender, supplied, hardener, thinner. Did you mean 'solid'?", "toner")]
#[case::unknown_place("toners.toml", &TONERS.replacen("\"first\"", "\"start\"", 1), "9:9", "error",
    "'start' is not a place in the pour order. Expected one of first, last.", "toner")]
#[case::no_density("toners.toml", &TONERS.replace("1.020", "0.000"), "15:11", "error",
    "'density' is 0.000. Expected a number of grams per millilitre, more than zero.", "toner")]
#[case::negative_density("toners.toml", &TONERS.replace("1.020", "-1.020"), "15:11", "error",
    "'density' is -1.020. Expected a number of grams per millilitre, more than zero.", "toner")]
#[case::negative_price("toners.toml", &TONERS.replace("\"38.50\"", "-1"), "6:9", "error",
    "'price' is -1. Expected what a litre costs, zero or more; without the line the price is not known.", "toner")]
#[case::tolerance_without_percent("toners.toml", &TONERS.replace("0.5 %", "0.5"), "7:13", "error",
    "'tolerance' has no percent sign: '0.5'. Expected a percentage in quotes, like \"1 %\".", "toner")]
#[case::bare_tolerance("toners.toml", &TONERS.replace("\"0.5 %\"", "1.0"), "7:13", "error",
    "'tolerance' has no percent sign: '1.0'. Expected a percentage in quotes, like \"1 %\".", "toner")]
#[case::no_tolerance("toners.toml", &TONERS.replace("0.5 %", "0 %"), "7:13", "error",
    "'tolerance' is '0 %'. Expected more than 0 % and at most 100 %.", "toner")]
#[case::negative_tolerance("toners.toml", &TONERS.replace("0.5 %", "-1 %"), "7:13", "error",
    "'tolerance' is '-1 %'. Expected more than 0 % and at most 100 %.", "toner")]
#[case::huge_tolerance("toners.toml", &TONERS.replace("0.5 %", "100.1 %"), "7:13", "error",
    "'tolerance' is '100.1 %'. Expected more than 0 % and at most 100 %.", "toner")]
#[case::tolerance_no_number("toners.toml", &TONERS.replace("0.5 %", "half %"), "7:13", "error",
    "'tolerance' cannot be read: 'half' is not a number: write digits with a decimal point, like 12.5.", "toner")]
#[case::bad_swatch("toners.toml", &TONERS.replace("#f2f1ec", "white"), "8:10", "error",
    "'white' is not a swatch. Expected # and six hexadecimal digits, like \"#f2f1ec\".", "toner")]
#[case::duplicate_code("toners.toml", &TONERS.replace("K05", "w10"), "12:8", "error",
    "there are two toners with the code 'w10'. The first is at shop/toners.toml:2:8. Give one another code.", "toner")]
#[case::density_in_another_unit("toners.toml", &TONERS.replace("1.020", "1020"), "15:11", "warning",
    "a density of 1020 g/mL is far from any paint's. Expected grams per millilitre: 1.482, not 1482 (g/L) nor 12.37 (lb/gal).", "")]
// cups
#[case::cup_without_brim(
    "cups.toml",
    "[[cup]]\nname = \"600\"\n",
    "1:1",
    "error",
    "this cup has no 'brim'. Add it, like brim = \"600\"",
    "cup"
)]
#[case::cup_holds_nothing(
    "cups.toml",
    "[[cup]]\nname = \"600\"\nbrim = 0\n",
    "3:8",
    "error",
    "'brim' is 0. Expected a number of millilitres, more than zero.",
    "cup"
)]
#[case::cup_with_unit(
    "cups.toml",
    "[[cup]]\nname = \"600\"\nbrim = \"600 mL\"\n",
    "3:8",
    "error",
    "'brim' cannot be read: '600 mL' is not a number: write digits with a decimal point, like 12.5.",
    "cup"
)]
#[case::cup_weighs_nothing(
    "cups.toml",
    "[[cup]]\nname = \"600\"\ntare = \"0\"\nbrim = 600\n",
    "3:8",
    "error",
    "'tare' is 0. Expected a number of grams, more than zero.",
    "cup"
)]
#[case::two_cups(
    "cups.toml",
    "[[cup]]\nname = \"Big\"\nbrim = 9\n[[cup]]\nname = \"big\"\nbrim = 8\n",
    "5:8",
    "error",
    "there are two cups with the name 'big'. The first is at shop/cups.toml:2:8. Give one another name.",
    "cup"
)]
// colours
#[case::unknown_finish(GANNET, &COLOUR.replace("two-stage", "2-stage"), "3:10", "error",
    "'2-stage' is not a finish. Expected one of single-stage, two-stage, three-stage.", "colour")]
#[case::near_finish(GANNET, &COLOUR.replace("two-stage", "Two Stage"), "3:10", "error",
    "'Two Stage' is not a finish. Expected one of single-stage, two-stage, three-stage. Did you mean 'two-stage'?", "colour")]
#[case::unknown_role(GANNET, &COLOUR.replace("\"base\"", "\"bass\""), "6:8", "error",
    "'bass' is not a role of a layer. Expected one of undercoat, ground, base, blender, pearl, clear. Did you mean 'base'?", "colour")]
#[case::missing_finish(GANNET, &COLOUR.replace("finish = \"two-stage\"", ""), "1:1", "error",
    "this colour has no 'finish'. Add it, like finish = \"two-stage\"", "colour")]
#[case::no_layer(
    GANNET,
    "code = \"PB-1\"\nname = \"x\"\nfinish = \"two-stage\"\n",
    "1:1",
    "error",
    "this colour has no 'layer'. Add it, like [[layer]]",
    "colour"
)]
#[case::empty_layers(
    GANNET,
    "code = \"PB-1\"\nname = \"x\"\nfinish = \"two-stage\"\nlayer = []\n",
    "4:9",
    "error",
    "this colour has no layers. Add a [[layer]].",
    "colour"
)]
#[case::layer_without_pours(
    GANNET,
    "code = \"PB-1\"\nname = \"x\"\nfinish = \"two-stage\"\n[[layer]]\nrole = \"base\"\n",
    "4:1",
    "error",
    "this layer has no 'pours'. Add it, like pours = [ { toner = \"W10\", parts = \"1\" } ]",
    "colour"
)]
#[case::empty_pours(
    GANNET,
    "code = \"PB-1\"\nname = \"x\"\nfinish = \"two-stage\"\n[[layer]]\nrole = \"base\"\npours = []\n",
    "6:9",
    "error",
    "this layer has no pours. Expected at least one, like { toner = \"W10\", parts = \"1\" }.",
    "colour"
)]
#[case::pour_is_no_table(GANNET, &COLOUR.replace("{ toner = \"K05\", parts = 3.150 }", "\"K05\""), "9:3", "error",
    "this pour is text. Expected a table in braces.", "colour")]
#[case::pour_without_parts(GANNET, &COLOUR.replace(", parts = 3.150", ""), "9:3", "error",
    "this pour has no 'parts'. Add it, like parts = \"3.15\"", "colour")]
#[case::unknown_key_in_pour(GANNET, &COLOUR.replace("parts = 3.150", "parts = 3, part = 3"), "9:31", "error",
    "'part' is not a key of a pour. Expected one of toner, parts. Did you mean 'parts'?", "colour")]
#[case::unknown_toner(GANNET, &COLOUR.replace("K05", "K5"), "9:13", "error",
    "there is no toner with the code 'K5'. Expected a code from toners.toml. Did you mean 'K05' (carbon black)?", "colour")]
#[case::toner_near_none(GANNET, &COLOUR.replace("K05", "Z-900"), "9:13", "error",
    "there is no toner with the code 'Z-900'. Expected a code from toners.toml. Add the toner there, or correct the code here.", "colour")]
#[case::toner_twice(GANNET, &COLOUR.replace("K05", "w10"), "9:13", "error",
    "'w10' is poured twice in this layer. The first is at shop/colours/gannet-white.toml:8:13. Add the two together.", "colour")]
#[case::role_twice(GANNET, &format!("{COLOUR}[[layer]]\nrole = \"base\"\npours = [ {{ toner = \"W10\", parts = 1 }} ]\n"), "12:8", "error",
    "this colour has two layers with the role 'base'. The first is at shop/colours/gannet-white.toml:6:8. Take one of them out.", "colour")]
#[case::key_twice(GANNET, &COLOUR.replace("finish", "name"), "3:1", "error",
    "this cannot be read as TOML: duplicate key.", "file")]
#[case::syntax_at_the_end(
    GANNET,
    "code = \"PB-1\"\nname = ",
    "2:8",
    "error",
    "this cannot be read as TOML: string values must be quoted, expected literal string.",
    "file"
)]
fn each_mistake_is_its_own_clear_error(
    #[case] path: &str,
    #[case] text: &str,
    #[case] at: &str,
    #[case] severity: &str,
    #[case] sentence: &str,
    #[case] left_out: &str,
) {
    let shop = shop_with(path, text.as_bytes());
    let shown = shown(&shop.problems);
    // A toner that is left out takes the colour that needs it along; that is said after it.
    let in_file: Vec<_> = shop.problems.iter().filter(|problem| problem.file.ends_with(path)).collect();
    let problem = in_file[0];
    assert!(in_file.len() == 1 || path == "toners.toml", "{shown}");
    assert_eq!(problem.location(), format!("shop/{path}:{at}"), "{shown}");
    assert_eq!(problem.severity.to_string(), severity, "{shown}");
    assert_eq!(problem.sentence(), sentence, "{shown}");
    assert_eq!(problem.left_out.unwrap_or_default(), left_out, "{shown}");
    let line: usize = at.split(':').next().unwrap().parse().unwrap();
    let in_file = text.lines().nth(line - 1).unwrap().replace('\u{202e}', "\u{fffd}");
    assert_eq!(problem.spot.as_ref().unwrap().excerpt, in_file);
}

#[test]
fn a_mistake_costs_no_more_than_its_own_entry() {
    let shop = shop_with("toners.toml", TONERS.replacen("\"solid\"", "\"solidd\"", 1).as_bytes());
    assert!(shop.toner("W10").is_none() && shop.toner("K05").is_some() && shop.cup("600").is_some());
    let shop = shop_with("cups.toml", b"[[cup]]\nname = \"a\"\n[[cup]]\nname = \"b\"\nbrim = 1\n");
    assert!(shop.cup("a").is_none() && shop.cup("b").is_some() && shop.colour("PB-3140").is_some());
    let shop = shop_with("colours/other.toml", b"code = ");
    assert_eq!((shop.problems.len(), shop.colours.len()), (1, 1));
}

#[test]
fn two_colours_of_one_code_and_variant_are_told_with_both_places() {
    let text = COLOUR.replace("PB-", "pb-").replace("Gannet", "Other");
    let shop = shop_with("colours/other.toml", text.as_bytes());
    let [problem] = shop.problems.as_slice() else { panic!("{}", shown(&shop.problems)) };
    assert_eq!(problem.location(), "shop/colours/other.toml:1:8");
    assert_eq!(
        problem.sentence(),
        "there are two colours 'pb-3140' with the variant 'standard'. The first is at \
         shop/colours/gannet-white.toml:1:8. Give one another code or variant."
    );
    assert_eq!(shop.colours.len(), 1);

    let variant = format!("variant = \"warmer\"\n{text}");
    let shop = shop_with("colours/a.toml", variant.as_bytes());
    assert_eq!(shown(&shop.problems), "");
    assert_eq!(shop.variants("PB-3140").count(), 2);
    assert_eq!(shop.colour("pb-3140").unwrap().name, "Gannet White", "the standard one before the other");
    assert_eq!(shop.colour_variant("PB-3140", "Warmer").unwrap().name, "Other White");
}

/// (finish, roles, what is warned of with its line)
#[rstest]
#[case("single-stage", &["base"], &[])]
#[case("single-stage", &["undercoat", "base", "blender"], &[])]
#[case("single-stage", &["base", "clear"], &[
    "9: a single-stage colour has no place for a layer with the role 'clear'. Its layers are those of a two-stage colour."])]
#[case("two-stage", &["base", "clear"], &[])]
#[case("two-stage", &["ground", "pearl"], &[
    "3: this two-stage colour has no base coat. Its layers are those of a three-stage colour.",
    "5: a two-stage colour has no place for a layer with the role 'ground'. Its layers are those of a three-stage colour.",
    "9: a two-stage colour has no place for a layer with the role 'pearl'. Its layers are those of a three-stage colour."])]
#[case("three-stage", &["undercoat", "ground", "pearl", "blender", "clear"], &[])]
#[case("three-stage", &["ground"], &[
    "3: this three-stage colour has no pearl coat. Correct the finish or the layers."])]
#[case("three-stage", &["base", "pearl"], &[
    "3: this three-stage colour has no ground coat. Correct the finish or the layers.",
    "5: a three-stage colour has no place for a layer with the role 'base'. Correct the finish or the layers."])]
fn layers_that_do_not_fit_the_finish_are_warned_of_and_kept(
    #[case] finish: &str,
    #[case] roles: &[&str],
    #[case] warnings: &[&str],
) {
    let mut text = format!("code = \"PB-1\"\nname = \"x\"\nfinish = \"{finish}\"\n");
    for role in roles {
        text.push_str("[[layer]]\nrole = \"");
        text.push_str(role);
        text.push_str("\"\npours = [ { toner = \"W10\", parts = 1 } ]\n\n");
    }
    let shop = shop_with("colours/x.toml", text.as_bytes());
    let said: Vec<_> = shop
        .problems
        .iter()
        .map(|problem| format!("{}: {}", problem.spot.as_ref().unwrap().line, problem.sentence()))
        .collect();
    assert_eq!(said, warnings);
    assert!(shop.problems.iter().all(|problem| problem.severity == Severity::Warning));
    assert_eq!(shop.colour("PB-1").unwrap().layers.len(), roles.len());
}

#[test]
fn lists_may_be_written_either_way() {
    let text = r#"
layer = [ { role = "base", pours = [ { toner = "K05", parts = "1" } ] } ]
code = "PB-1"
name = "x"
finish = "single-stage"
"#;
    let inline = shop_with("colours/x.toml", text.as_bytes());
    let text = r#"
code = "PB-1"
name = "x"
finish = "single-stage"
[[layer]]
role = "base"
[[layer.pours]]
toner = "k05"
parts = "1"
"#;
    let long = shop_with("colours/x.toml", text.as_bytes());
    assert_eq!(shown(&inline.problems), "");
    assert!(says_the_same(&inline, &long));
    assert_eq!(
        long.colour("pb-1").unwrap().layers[0].pours[0].toner.as_str(),
        "K05",
        "the toner's own spelling"
    );
}

/// Whether both hold the same, though their files differ.
fn says_the_same(a: &Catalogue, b: &Catalogue) -> bool {
    let without_files = |shop: &Catalogue| {
        let mut shop = shop.clone();
        shop.colours.iter_mut().for_each(|colour| colour.source = None);
        shop
    };
    without_files(a) == without_files(b)
}

#[test]
fn a_file_from_another_editor_is_read_or_told_about() {
    let dos = format!("\u{feff}{}", COLOUR.replace('\n', "\r\n"));
    assert!(says_the_same(&shop_with(GANNET, dos.as_bytes()), &shop_with(GANNET, COLOUR.as_bytes())));
    let wrong = dos.replace("K05", "Q05");
    assert_eq!(shop_with(GANNET, wrong.as_bytes()).problems[0].location(), format!("shop/{GANNET}:9:13"));

    let mut latin = COLOUR.replace("Gannet White", "F?hn").into_bytes();
    let at = latin.iter().position(|&byte| byte == b'?').unwrap();
    latin[at] = 0xf6;
    let shop = shop_with(GANNET, &latin);
    let expected = "shop/colours/gannet-white.toml:2:10: error, this file is left out\n  \
                    name = \"F\u{fffd}hn\"\n           ^\n  \
                    the byte 0xf6 is not UTF-8. Save the file again with the encoding UTF-8.\n";
    assert_eq!(shown(&shop.problems), expected);
}

#[test]
fn without_its_toners_a_shop_says_so_once() {
    let shop = shop_with("toners.toml", b"[[toner\n");
    assert_eq!(shop.problems.len(), 2, "{}", shown(&shop.problems));
    assert_eq!(
        shop.problems[1].to_string(),
        "shop/toners.toml: error\n  without toners none of the 1 colours can be used. Put this file right first."
    );
    assert!(shop.colours.is_empty() && shop.cups.len() == 1);

    let shop = Catalogue::from_files("", [("README.md", "no shop at all")]);
    let files: Vec<_> =
        shop.problems.iter().map(|problem| (problem.file.as_str(), problem.severity)).collect();
    let expected =
        [("toners.toml", Severity::Error), ("cups.toml", Severity::Warning), ("colours", Severity::Warning)];
    assert_eq!(files, expected);
}

#[test]
fn a_folder_full_of_mistakes_says_them_all_and_loads_the_rest() {
    let shop = Catalogue::load(Path::new("tests/bad-shops/several"));
    let toners: Vec<_> = shop.toners.iter().map(|toner| toner.code.as_str()).collect();
    assert_eq!(toners, ["W10", "Y41"]);
    let cups: Vec<_> = shop.cups.iter().map(|cup| cup.name.as_str()).collect();
    assert_eq!(cups, ["350"]);
    let colours: Vec<_> = shop.colours.iter().map(|colour| colour.name.as_str()).collect();
    assert_eq!(colours, ["Right"]);
    let expected = include_str!("bad-shops/several/expected.txt").replace("\r\n", "\n");
    assert_eq!(shown(&shop.problems), expected);
}

#[test]
fn a_folder_that_cannot_be_read_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("nowhere");
    let shop = Catalogue::load(&missing);
    assert_eq!(
        shown(&shop.problems),
        format!(
            "{}: error\n  this folder is not there. Make it, or name the one that holds your toners.toml.\n",
            missing.display()
        )
    );

    let file = folder.path().join("toners.toml");
    fs::write(&file, TONERS).unwrap();
    assert_eq!(Catalogue::load(&file).problems[0].what, "this is a file, not a folder");

    // no cups; a folder and a link to nowhere where colours should be
    fs::create_dir_all(folder.path().join("colours/folder.toml")).unwrap();
    fs::write(folder.path().join("colours/good.toml"), COLOUR).unwrap();
    fs::write(folder.path().join("colours/.good.toml"), "left by an editor").unwrap();
    fs::write(folder.path().join("colours/good.toml~"), "left by an editor").unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink("nowhere", folder.path().join("colours/link.toml")).unwrap();
    let shop = Catalogue::load(folder.path());
    let said: Vec<_> = shop
        .problems
        .iter()
        .map(|problem| {
            let file = Path::new(&problem.file).strip_prefix(folder.path()).unwrap();
            (file.display().to_string(), problem.severity, problem.what.clone())
        })
        .collect();
    assert_eq!(said[0], ("cups.toml".to_owned(), Severity::Warning, "this file is not there".to_owned()));
    assert_eq!(said[1], ("colours/folder.toml".to_owned(), Severity::Error, "this is not a file".to_owned()));
    #[cfg(unix)]
    {
        assert_eq!((said[2].0.as_str(), said[2].1), ("colours/link.toml", Severity::Error));
        assert!(said[2].2.starts_with("this file cannot be read: "), "{}", said[2].2);
        assert_eq!(said.len(), 3);
    }
    assert_eq!(shop.colours.len(), 1);
}

#[test]
fn the_demo_shop_is_all_there_and_all_right() {
    let shop = Catalogue::demo();
    assert_eq!(shown(&shop.problems), "");
    assert!(shop.colours.len() >= 12, "{}", shop.colours.len());
    let three_stage = shop.colours.iter().filter(|colour| colour.finish == Finish::ThreeStage).count();
    assert!(three_stage >= 4, "{three_stage}");
    assert!((28..=38).contains(&shop.toners.len()), "{}", shop.toners.len());
    for finish in [Finish::SingleStage, Finish::TwoStage] {
        assert!(shop.colours.iter().any(|colour| colour.finish == finish), "{finish}");
    }
    for &kind in TonerKind::ALL {
        assert!(shop.toners.iter().any(|toner| toner.kind == kind), "{kind}");
    }
    assert!(shop.toners.iter().all(|toner| toner.price.is_some() && toner.swatch.is_some()));
    assert!(
        shop.colours.iter().all(|colour| colour.code.as_str().starts_with("PB-") && colour.swatch.is_some())
    );

    let layers = shop.colours.iter().flat_map(|colour| &colour.layers);
    let poured = layers.flat_map(|layer| &layer.pours).map(|part| &part.toner);
    let ratios = shop.products.iter().filter_map(|product| product.ratio.as_ref());
    let added = ratios.flat_map(|ratio| [&ratio.hardener, &ratio.thinner]).flatten();
    let tins = shop.products.iter().filter_map(|product| product.tin.as_ref());
    let used: BTreeSet<_> = poured.chain(added.flat_map(|addition| &addition.toners)).chain(tins).collect();
    let idle: Vec<_> = shop.toners.iter().filter(|toner| !used.contains(&toner.code)).collect();
    assert_eq!(idle, Vec::<&pourbook::catalogue::Toner>::new(), "a toner in no formula, no ratio and no tin");

    // The formula that the documents show.
    let gannet = shop.colour("PB-3140").unwrap();
    assert_eq!((gannet.name.as_str(), gannet.finish), ("Gannet White", Finish::ThreeStage));
    let ground = gannet.layer(Role::Ground).unwrap();
    assert_eq!(ground.pours.len(), 6);
    for (code, parts) in [("W10", "812.40"), ("K05", "3.15")] {
        let part = ground.pours.iter().find(|part| part.toner.as_str() == code).unwrap();
        assert_eq!(part.parts.to_string(), parts);
    }
    for code in ["Y41", "B15"] {
        assert!(ground.pours.iter().any(|part| part.toner.as_str() == code), "{code}");
    }
}

/// Undercoats, colours and clears lie between water-thin solvent and heavy primer: common practice, no source.
#[test]
fn the_demo_shops_layers_have_a_paints_density() {
    let shop = Catalogue::demo();
    for colour in &shop.colours {
        for layer in &colour.layers {
            let mut mass = Decimal::ZERO;
            let mut volume = Decimal::ZERO;
            for part in &layer.pours {
                let density = shop.toner(part.toner.as_str()).unwrap().density.decimal();
                mass = mass.checked_add(part.parts).unwrap();
                volume = volume.checked_add(part.parts.checked_div(density).unwrap()).unwrap();
            }
            assert_eq!(mass, Decimal::ONE_THOUSAND, "{} {}: parts per thousand", colour.name, layer.role);
            let density = mass.checked_div(volume).unwrap();
            let plausible = Decimal::new(90, 2)..Decimal::new(150, 2);
            assert!(plausible.contains(&density), "{} {}: {density}", colour.name, layer.role);
        }
    }
}

#[test]
fn the_demo_shop_in_the_program_is_the_one_in_the_folder() {
    let folder = Path::new(demo::SHOP);
    let mut on_disk = BTreeMap::new();
    for path in [folder.to_owned(), folder.join("colours")] {
        for entry in fs::read_dir(path).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                let inside = path.strip_prefix(folder).unwrap().to_str().unwrap().replace('\\', "/");
                on_disk.insert(inside, fs::read_to_string(path).unwrap());
            }
        }
    }
    let embedded: BTreeMap<_, _> =
        demo::FILES.iter().map(|&(path, text)| (path.to_owned(), text.to_owned())).collect();
    assert_eq!(embedded, on_disk);
    assert_eq!(Catalogue::demo(), Catalogue::load(folder));
    for (path, text) in demo::FILES {
        assert!(
            text.lines().take(3).any(|line| line.contains("nvented") || line.contains("made up")),
            "{path}"
        );
    }
}

fn names(shop: &Catalogue, found: &[Found]) -> Vec<String> {
    found
        .iter()
        .map(|found| {
            let colour = &shop.colours[found.colour];
            format!("{} {}", colour.name, colour.variant)
        })
        .collect()
}

#[test]
fn nothing_typed_gives_all_in_order_of_name() {
    let shop = Catalogue::demo();
    let all = names(&shop, &find(&shop, "  ", usize::MAX));
    let mut sorted = all.clone();
    sorted.sort_by_key(|name| name.to_lowercase());
    assert_eq!(all, sorted);
    assert_eq!(all.len(), shop.colours.len());
    assert_eq!(find(&shop, "", 3).len(), 3);
    assert_eq!(find(&shop, "", 0), []);
}

#[rstest]
#[case::name("gannet", "Gannet White standard")]
#[case::part_of_a_name("nnet", "Gannet White standard")]
#[case::scattered("gtwh", "Gannet White standard")]
#[case::capitals("GANNET", "Gannet White standard")]
#[case::code("PB-3188", "Sulphur Lichen standard")]
#[case::code_without_its_start("3188", "Sulphur Lichen standard")]
#[case::any_order("white gannet", "Gannet White standard")]
#[case::across_fields("three 3171", "Bluethroat standard")]
#[case::variant("coarser shale", "Shale Drizzle coarser")]
#[case::the_standard_one("shale standard", "Shale Drizzle standard")]
#[case::accent_left_out("fohn", "Föhn Wall standard")]
#[case::accent_typed("Föhn", "Föhn Wall standard")]
#[case::finish_and_name("single tit", "Coal Tit standard")]
fn the_best_comes_first(#[case] query: &str, #[case] first: &str) {
    let shop = Catalogue::demo();
    assert_eq!(names(&shop, &find(&shop, query, 1)), [first]);
}

#[test]
fn every_word_must_be_found() {
    let shop = Catalogue::demo();
    assert_eq!(find(&shop, "gannet single", 9), []);
    assert_eq!(find(&shop, "zzz", 9), []);
    let three = find(&shop, "three-stage", usize::MAX);
    assert!(three.iter().all(|found| shop.colours[found.colour].finish == Finish::ThreeStage));
    assert_eq!(three.len(), 5);
}

#[test]
fn what_was_matched_can_be_marked() {
    let shop = Catalogue::demo();
    let found = &find(&shop, "fohn 2240 wa", 1)[0];
    let colour = &shop.colours[found.colour];
    let name: Vec<_> = found.name.iter().map(|range| colour.name.get(range.clone()).unwrap()).collect();
    assert_eq!(name, ["Föhn", "Wa"]);
    assert_eq!(found.code.iter().map(|range| (range.start, range.end)).collect::<Vec<_>>(), [(3, 7)]);
    assert_eq!((found.variant.len(), found.finish.len()), (0, 0));
}

/// A file of the demo shop with some of its bytes cut out, put in twice or changed.
fn damaged() -> impl Strategy<Value = (String, Vec<u8>)> {
    let damage = (any::<prop::sample::Index>(), 0_usize..40, prop::collection::vec(any::<u8>(), 0..6));
    (0..demo::FILES.len(), prop::collection::vec(damage, 1..4)).prop_map(|(file, damages)| {
        let (path, text) = demo::FILES[file];
        let mut bytes = text.as_bytes().to_vec();
        for (at, cut, put) in damages {
            let at = at.index(bytes.len().max(1)).min(bytes.len());
            let end = (at + cut).min(bytes.len());
            bytes.splice(at..end, put);
        }
        (path.to_owned(), bytes)
    })
}

/// What holds for every catalogue, whatever the files were.
fn check(shop: &Catalogue) {
    for problem in &shop.problems {
        let text = problem.to_string();
        assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
    }
    for colour in &shop.colours {
        assert!(!colour.layers.is_empty());
        for layer in &colour.layers {
            assert!(!layer.pours.is_empty());
            for part in &layer.pours {
                assert!(part.parts > Decimal::ZERO);
                let toner = shop.toner(part.toner.as_str()).map(|toner| &toner.code);
                assert_eq!(toner, Some(&part.toner));
            }
        }
    }
    for toner in &shop.toners {
        assert!(toner.tolerance.is_none_or(|own| own.is_positive() && own <= Share::ONE));
    }
}

proptest! {
    #[test]
    fn no_damage_is_a_panic((path, bytes) in damaged()) {
        let mut files: BTreeMap<String, Vec<u8>> =
            demo::FILES.iter().map(|(path, text)| ((*path).to_owned(), (*text).into())).collect();
        files.insert(path, bytes);
        check(&Catalogue::from_files("shop", files));
    }

    #[test]
    fn no_text_is_a_panic(text in "(?s)[\\[\\]{}=\"'#.,\\\\ \ncodetnrlayps0-9\\PC]{0,120}") {
        for path in ["toners.toml", "cups.toml", GANNET] {
            check(&shop_with(path, text.as_bytes()));
        }
    }

    #[test]
    fn no_query_is_a_panic(query in "(?s).{0,30}") {
        let shop = Catalogue::demo();
        for found in find(&shop, &query, usize::MAX) {
            let colour = &shop.colours[found.colour];
            for range in &found.name {
                prop_assert!(colour.name.get(range.clone()).is_some());
            }
        }
    }

    #[test]
    fn what_is_written_is_what_is_read(units in 1_i64..1_000_000_000_000_000, scale in 6_u32..=12, quoted: bool) {
        let written = Decimal::new(units, scale).to_string();
        let in_file = if quoted { format!("\"{written}\"") } else { written.clone() };
        let shop = shop_with(GANNET, COLOUR.replace("3.150", &in_file).as_bytes());
        prop_assert_eq!(shown(&shop.problems), "");
        prop_assert_eq!(shop.colours[0].layers[0].pours[1].parts.to_string(), written);
    }
}
