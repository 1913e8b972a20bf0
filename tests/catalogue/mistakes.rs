//! A mistake is said with its place, and costs no more than its own entry.

use super::{COLOUR, GANNET, TONERS, shop_with, shown};
use pourbook::catalogue::Severity;
use rstest::rstest;

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
