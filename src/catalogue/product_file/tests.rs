//! What is read of data sheets and panels, exactly; what is refused, and how that is said.

use crate::catalogue::{Catalogue, RatioBy, Role, Severity, Signal, demo};
use crate::units::{Area, Decimal};
use rstest::rstest;

const TONERS: &str = r#"[[toner]]
code = "W10"
name = "white"
kind = "solid"
density = "1.482"

[[toner]]
code = "H60"
name = "hardener"
kind = "hardener"
density = "1.064"
voc = "398.5"
water = 1
exempt = "20"
exempt-density = "1.344"
solids = "56 %"
isocyanates = "yes"
flammable = true

[[toner]]
code = "T70"
name = "thinner"
kind = "thinner"
density = "0.868"

[[toner]]
code = "V90"
name = "clear"
kind = "supplied"
density = "0.976"
"#;

const PRODUCTS: &str = r#"[[product]]
code = "GC-2"
name = "ground coat"
roles = ["ground", "blender"]
voc = "548"
colour-solids = "34 %"
solids = "28 %"
film = "12.50"
coats = 2
flash-off = 5
before-next = 10
bake = { minutes = 10, celsius = 40 }
pot-life = 120
viscosity = { seconds = "18.5", cup = "DIN 4 mm" }
efficiency = "60 %"
coverage = "hides in two coats"
isocyanates = true
flammable = true
target-hap = false
sds = "folder 1"
sheet = "folder 2"

[product.ratio]
by = "volume"
colour = "10"
hardener = "1"
hardeners = ["h60"]
thinner = "3.5"
thinners = ["T70"]

[product.hazards]
signal = "danger"
statements = ["H225 Highly flammable."]
cautions = ["air-fed breathing apparatus"]
pictograms = ["GHS02"]

[product.categories]
us = "multi-stage"
"our own rule" = "second"
"#;

const COLOUR: &str = r#"code = "X"
name = "x"
finish = "three-stage"
[[layer]]
role = "ground"
product = "gc-2"
shade = "G2"
pours = [{ toner = "W10", parts = 1 }]
[[layer]]
role = "pearl"
pours = [{ toner = "W10", parts = 1 }]
"#;

fn shop(toners: &str, products: &str, panels: Option<&str>, colour: &str) -> Catalogue {
    let cups = "[[cup]]\nname = \"600\"\nbrim = 600\n";
    let files = [("toners.toml", toners), ("cups.toml", cups), ("colours/x.toml", colour)];
    let papers = [("products.toml", products)];
    let panels = panels.map(|text| ("panels.toml", text));
    Catalogue::from_files("shop", files.into_iter().chain(papers).chain(panels))
}

fn said(shop: &Catalogue) -> Vec<String> {
    let mark = |severity| if severity == Severity::Error { "" } else { "warning: " };
    let problems = shop.problems.iter();
    problems.map(|each| format!("{}{} {}", mark(each.severity), each.location(), each.sentence())).collect()
}

/// The one thing that is wrong with the products once `from` is `to` in their file.
fn with(from: &str, to: &str) -> String {
    assert_eq!(PRODUCTS.matches(from).count(), 1, "{from}");
    let shop = shop(TONERS, &PRODUCTS.replace(from, to), None, &COLOUR.replace("product = \"gc-2\"\n", ""));
    let said = said(&shop);
    assert_eq!(said.len(), 1, "{said:?}");
    assert_eq!(shop.products.is_empty(), !said[0].starts_with("warning"), "{said:?}");
    said[0].replace("shop/products.toml:", "")
}

#[test]
fn a_data_sheet_is_read_exactly_as_written() {
    let shop = shop(TONERS, PRODUCTS, None, COLOUR);
    assert_eq!(said(&shop), [""; 0]);
    let ground = shop.product("gc-2").unwrap();
    assert_eq!((ground.code.as_str(), ground.name.as_str()), ("GC-2", "ground coat"));
    assert_eq!(ground.roles, [Role::Ground, Role::Blender]);
    let ratio = ground.ratio.as_ref().unwrap();
    assert_eq!((ratio.by, ratio.colour), (RatioBy::Volume, Decimal::TEN));
    let (hardener, thinner) = (ratio.hardener.as_ref().unwrap(), ratio.thinner.as_ref().unwrap());
    assert_eq!((hardener.parts.to_string(), thinner.parts.to_string()), ("1".into(), "3.5".into()));
    assert_eq!((hardener.toners[0].as_str(), thinner.toners[0].as_str()), ("H60", "T70"));
    assert_eq!(ground.film_um.unwrap().to_string(), "12.50");
    assert_eq!((ground.coats, ground.flash_off, ground.before_next), (Some(2), Some(5), Some(10)));
    let bake = ground.bake.unwrap();
    assert_eq!((bake.minutes, bake.celsius, ground.pot_life), (10, 40, Some(120)));
    let viscosity = ground.viscosity.as_ref().unwrap();
    assert_eq!((viscosity.seconds.to_string(), viscosity.cup.as_str()), ("18.5".into(), "DIN 4 mm"));
    let shares = [ground.solids, ground.colour_solids, ground.efficiency];
    assert_eq!(shares.map(|share| share.unwrap().percent(0)), ["28 %", "34 %", "60 %"]);
    assert_eq!(ground.colour.unwrap().total, Decimal::from(548));
    assert_eq!(
        (ground.isocyanates, ground.flammable, ground.target_hap),
        (Some(true), Some(true), Some(false))
    );
    assert_eq!(ground.hazards.signal, Some(Signal::Danger));
    assert_eq!(ground.hazards.statements, ["H225 Highly flammable."]);
    assert_eq!(ground.hazards.cautions, ["air-fed breathing apparatus"]);
    assert_eq!(ground.hazards.pictograms, ["GHS02"]);
    assert_eq!(ground.categories["us"], "multi-stage");
    assert_eq!(ground.categories["our own rule"], "second");
    assert_eq!((ground.sds.as_deref(), ground.sheet.as_deref()), (Some("folder 1"), Some("folder 2")));
    assert_eq!(ground.coverage.as_deref(), Some("hides in two coats"));

    let hardener = shop.toner("H60").unwrap();
    let volatiles = hardener.volatiles.unwrap();
    assert_eq!(volatiles.total.to_string(), "398.5");
    assert_eq!(volatiles.counted().to_string(), "377.5");
    assert_eq!(volatiles.exempt_density.unwrap().to_string(), "1.344");
    assert_eq!((hardener.isocyanates, hardener.counts_as_isocyanate()), (Some(true), true));
    let thinner = shop.toner("T70").unwrap();
    assert_eq!((thinner.volatiles, thinner.isocyanates, thinner.counts_as_isocyanate()), (None, None, false));
}

#[test]
fn a_hardener_of_which_nothing_is_said_is_handled_as_isocyanate() {
    let of = |line: &str| {
        let toners = TONERS.replace("isocyanates = \"yes\"\n", line);
        shop(&toners, PRODUCTS, None, COLOUR).toner("H60").unwrap().counts_as_isocyanate()
    };
    assert!(of(""));
    assert!(!of("isocyanates = \"no\"\n"));
}

#[test]
fn a_layer_has_the_product_it_names_or_the_first_that_is_for_it() {
    let shop = shop(TONERS, PRODUCTS, None, COLOUR);
    let colour = shop.colour("X").unwrap();
    let ground = colour.layer(Role::Ground).unwrap();
    assert_eq!(ground.product.as_ref().unwrap().as_str(), "GC-2", "in the product's own spelling");
    assert_eq!(ground.shade.as_deref(), Some("G2"));
    assert_eq!(shop.product_for(ground).unwrap().code.as_str(), "GC-2");
    assert_eq!(shop.product_for(colour.layer(Role::Pearl).unwrap()), None);
    let mut blender = ground.clone();
    (blender.role, blender.product) = (Role::Blender, None);
    assert_eq!(shop.product_for(&blender).unwrap().code.as_str(), "GC-2");
    let demo = Catalogue::demo();
    let named = demo.colour("PB-1121").unwrap().layer(Role::Base).unwrap();
    let first = demo.colour("PB-2219").unwrap().layer(Role::Base).unwrap();
    assert_eq!(demo.product_for(named).unwrap().code.as_str(), "SS-7");
    assert_eq!(demo.product_for(first).unwrap().code.as_str(), "BC-3");
}

#[rstest]
#[case(
    "solids = \"28 %\"",
    "solidz = \"28 %\"",
    "7:1 'solidz' is not a key of a product. Expected one of code"
)]
#[case("flash-off = 5", "flash_off = 5", "Did you mean 'flash-off'?")]
#[case(
    "flash-off = 5",
    "flash-off = 5.5",
    "10:13 'flash-off' is 5.5. Expected a whole number of minutes, 0 or more."
)]
#[case("coats = 2", "coats = 0", "9:9 'coats' is 0. Expected a whole number of coats, 1 or more.")]
#[case("coats = 2", "coats = \"two\"", "9:9 'coats' cannot be read")]
#[case(
    "film = \"12.50\"",
    "film = 0",
    "8:8 'film' is 0. Expected a number of micrometres of dry film a coat, more than zero."
)]
#[case(
    "solids = \"28 %\"",
    "solids = \"128 %\"",
    "7:10 'solids' is '128 %'. Expected more than 0 % and at most 100 %."
)]
#[case(
    "\"blender\"]",
    "\"blendr\"]",
    "4:20 'blendr' is not a role of a layer. Expected one of undercoat, ground, base, blender, pearl, clear. Did you mean 'blender'?"
)]
#[case(
    "voc = \"548\"",
    "tin = \"V9O\"",
    "5:7 there is no toner with the code 'V9O'. Expected a code from toners.toml. Did you mean 'V90' (clear)?"
)]
#[case(
    "voc = \"548\"",
    "tin = \"W10\"",
    "5:7 the toner 'W10' is of the kind 'solid'. Expected one of the kind 'supplied'."
)]
#[case("voc = \"548\"", "tin = 90", "5:7 'tin' is a whole number. Expected text in quotes.")]
#[case(
    "[\"h60\"]",
    "[\"V90\"]",
    "the toner 'V90' is of the kind 'supplied'. Expected one of the kind 'hardener'."
)]
#[case("[\"ground\", \"blender\"]", "[]", "4:9 'roles' is empty.")]
#[case("roles = [\"ground\", \"blender\"]\n", "", "1:1 this product has no 'roles'.")]
#[case(
    "by = \"volume\"",
    "by = \"weight\"",
    "24:6 'weight' is not a way to count parts. Expected one of volume, mass."
)]
#[case("by = \"volume\"\n", "", "this ratio has no 'by'.")]
#[case(
    "colour = \"10\"",
    "colour = \"-1\"",
    "25:10 'colour' is -1. Expected a number of parts, more than zero."
)]
#[case(
    "[\"h60\"]",
    "[\"H6O\"]",
    "27:14 there is no toner with the code 'H6O'. Expected a code from toners.toml. Did you mean 'H60' (hardener)?"
)]
#[case(
    "[\"h60\"]",
    "[\"T70\"]",
    "27:14 the toner 'T70' is of the kind 'thinner'. Expected one of the kind 'hardener'."
)]
#[case("hardeners = [\"h60\"]\n", "", "26:12 there is 'hardener', but no toner for it.")]
#[case("thinner = \"3.5\"\n", "", "28:12 there is 'thinners', but not how many parts.")]
#[case(
    "\"DIN 4 mm\"",
    "\"4 mm\"",
    "14:39 '4 mm' could be more than one cup. Expected the cup's standard and size"
)]
#[case("celsius = 40", "celsius = 104", "warning: 12:34 104 °C is hotter than a refinish oven.")]
#[case("pot-life = 120\n", "", "warning: 1:1 this product takes hardener, but its pot life is not said.")]
#[case(
    "signal = \"danger\"",
    "signal = \"poison\"",
    "'poison' is not a signal word. Expected one of danger, warning."
)]
#[case("voc = \"548\"", "water = \"548\"", "5:9 it is said what of its volatiles is water or exempt")]
#[case(
    "voc = \"548\"",
    "voc = \"548\"\nwater = 549",
    "5:7 'voc' is 548, less than 'water' and 'exempt' together."
)]
#[case(
    "voc = \"548\"",
    "voc = \"548\"\nexempt = 5",
    "6:10 there are exempt compounds, but not how dense they are."
)]
#[case("voc = \"548\"", "voc = -1", "5:7 'voc' is -1. Expected grams a litre")]
#[case("target-hap = false", "target-hap = \"never\"", "'target-hap' is text. Expected true or false.")]
#[case("us = \"multi-stage\"", "us = 5", "'us' is a whole number. Expected text in quotes.")]
fn a_mistake_is_named_where_it_stands(#[case] from: &str, #[case] to: &str, #[case] expected: &str) {
    let said = with(from, to);
    assert!(said.contains(expected), "{said}");
    assert!(said.trim_start_matches("warning: ").starts_with(|c: char| c.is_ascii_digit()), "{said}");
}

#[test]
fn every_mistake_of_a_sheet_is_named_at_once_and_the_others_still_load() {
    let wrong = "[[product]]\ncode = \"A\"\nroles = [\"x\"]\ncoats = 0\n[[product]]\ncode = \"a\"\nname = \"b\"\nroles = [\"clear\"]\n";
    let shop = shop(TONERS, &(PRODUCTS.to_owned() + wrong), None, &COLOUR.replace("gc-2", "A"));
    let said = said(&shop).join("\n");
    for expected in ["no 'name'", "'x' is not a role", "'coats' is 0", "two products with the code 'a'"] {
        assert!(said.contains(expected), "{expected}: {said}");
    }
    assert!(
        said.contains("warning: shop/colours/x.toml:6:11 the product 'A' is there, but left out itself."),
        "{said}"
    );
    assert_eq!((shop.products.len(), shop.colours.len()), (1, 1));
}

#[test]
fn a_litre_weighs_at_least_what_it_gives_off() {
    let toners = TONERS.replace("density = \"0.868\"", "density = \"0.868\"\nvoc = \"868.1\"");
    let said = said(&shop(&toners, PRODUCTS, None, &COLOUR.replace("product = \"gc-2\"\n", ""))).join("\n");
    assert!(said.contains("'voc' is 868.1 g/L, more than a litre weighs. Expected at most 868 g"), "{said}");
}

#[rstest]
#[case(
    "GC-3",
    "there is no product with the code 'GC-3'. Expected a code from products.toml. Did you mean 'GC-2' (ground coat)?"
)]
#[case("none such", "Add the product there, or correct the code here.")]
fn a_product_that_is_not_there_is_warned_of_and_the_colour_stays(#[case] code: &str, #[case] expected: &str) {
    let shop = shop(TONERS, PRODUCTS, None, &COLOUR.replace("gc-2", code));
    let said = said(&shop);
    assert!(said.len() == 1 && said[0].starts_with("warning: shop/colours/x.toml:6:11"), "{said:?}");
    assert!(said[0].contains(expected), "{said:?}");
    let ground = shop.colours[0].layer(Role::Ground).unwrap();
    assert_eq!(shop.product_for(ground), None, "no other is taken in its place");
}

#[test]
fn a_product_for_other_layers_is_warned_of() {
    let colour = COLOUR.replace("role = \"pearl\"\n", "role = \"pearl\"\nproduct = \"GC-2\"\n");
    let said = said(&shop(TONERS, PRODUCTS, None, &colour));
    assert!(said.len() == 1 && said[0].contains("the product 'GC-2' is not for a pearl coat."), "{said:?}");
}

#[test]
fn panels_have_an_area_for_each_body() {
    let text = "[[panel]]\nname = \"bonnet\"\narea = 1.50\nbodies = { small = \"1.2\", \"long van\" = 1.9 }\n[[panel]]\nname = \"step\"\nbodies = { van = \"0.4\" }\n";
    let shop = shop(TONERS, PRODUCTS, Some(text), COLOUR);
    assert_eq!(said(&shop), [""; 0]);
    let of = |panel: &str, body| shop.panel(panel).unwrap().area_on(body).map(|area: Area| area.to_string());
    assert_eq!(of("Bonnet", None), Some("1.5".into()));
    assert_eq!(of("bonnet", Some("Long Van")), Some("1.9".into()));
    assert_eq!(of("bonnet", Some("coach")), Some("1.5".into()));
    assert_eq!((of("step", Some("van")), of("step", None)), (Some("0.4".into()), None));
    assert_eq!(shop.panels.iter().map(|panel| panel.name.as_str()).collect::<Vec<_>>(), ["bonnet", "step"]);
}

#[rstest]
#[case("name = \"a\"", "1:1 this panel has no area. Add area = \"1.5\" in square metres")]
#[case("name = \"a\"\narea = 0", "3:8 'area' is 0. Expected a number of square metres, more than zero.")]
#[case(
    "name = \"a\"\naera = 1",
    "3:1 'aera' is not a key of a panel. Expected one of name, area, bodies. Did you mean 'area'?"
)]
#[case("area = 1", "1:1 this panel has no 'name'.")]
#[case("name = \"a\"\nbodies = { van = 1, Van = 2 }", "3:21 the body 'Van' stands twice in this panel.")]
#[case(
    "name = \"a\"\narea = 1\n[[panel]]\nname = \"A\"\narea = 1",
    "5:8 there are two panels with the name 'A'."
)]
#[case("name = \"a\"\narea = 15000", "3:8 15000 m² is far from any panel's.")]
fn a_mistake_of_a_panel_is_named_where_it_stands(#[case] text: &str, #[case] expected: &str) {
    let said = said(&shop(TONERS, PRODUCTS, Some(&format!("[[panel]]\n{text}\n")), COLOUR)).join("\n");
    assert!(said.contains(&format!("shop/panels.toml:{expected}")), "{said}");
}

#[test]
fn both_files_may_be_missing_and_a_broken_one_leaves_the_colours() {
    let bare = Catalogue::from_files(
        "",
        [("toners.toml", TONERS), ("colours/x.toml", &COLOUR.replace("product = \"gc-2\"\n", ""))],
    );
    let files: Vec<_> = bare.problems.iter().map(|problem| problem.file.as_str()).collect();
    assert_eq!(files, ["cups.toml"], "only the missing cups are spoken of");
    let broken = shop(TONERS, "[[product]\n", Some("x = \n"), COLOUR);
    let files: Vec<_> = broken.problems.iter().map(|problem| problem.file.as_str()).collect();
    assert_eq!(
        files,
        ["shop/products.toml", "shop/panels.toml"],
        "nothing is said of the product that is named"
    );
    assert_eq!((broken.colours.len(), broken.products.len(), broken.panels.len()), (1, 0, 0));
}

#[test]
fn the_invented_papers_are_whole_and_say_that_they_are_invented() {
    let demo = Catalogue::demo();
    assert!(demo.problems.is_empty(), "{:?}", demo.problems);
    assert!(demo.products.len() >= 7 && demo.panels.len() >= 10);
    for layer in demo.colours.iter().flat_map(|colour| &colour.layers) {
        assert!(demo.product_for(layer).is_some(), "{layer:?}");
    }
    for (path, text) in demo::FILES.iter().filter(|(path, _)| ["products.toml", "panels.toml"].contains(path))
    {
        assert!(text.starts_with("# Invented"), "{path}");
    }
}
