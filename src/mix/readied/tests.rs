//! Ratios against worked examples and exact rationals; a whole mix of a readied recipe.

use super::*;
use crate::catalogue::{Role, TonerKind};
use crate::mix::{How, Limits, Phase, Session, Start, Targets, Vessel};
use crate::units::{Density, Division, Share, VolumeUnit, parse_decimal};
use num_bigint::BigInt;
use num_rational::BigRational;
use proptest::prelude::*;

/// A shop with a colour of these parts and densities, and one product of that ratio.
struct Shop {
    catalogue: Catalogue,
    recipe: Recipe,
}

impl Shop {
    /// `colour` are parts by mass and density; `ratio` the product's table below its heading.
    fn of(colour: &[(&str, &str)], hardener: &str, thinner: &str, ratio: &str) -> Self {
        let entry = |code: &str, kind: TonerKind, density: &str| {
            format!(
                "[[toner]]\ncode = \"{code}\"\nname = \"{code}\"\nkind = \"{kind}\"\ndensity = \"{density}\"\n"
            )
        };
        let mut toners: String = [("H1", TonerKind::Hardener, hardener), ("H2", TonerKind::Hardener, "1.2")]
            .iter()
            .chain(&[("T1", TonerKind::Thinner, thinner)])
            .map(|(code, kind, density)| entry(code, *kind, density))
            .collect();
        let mut file =
            "code = \"X\"\nname = \"x\"\nfinish = \"two-stage\"\n[[layer]]\nrole = \"base\"\npours = [\n"
                .to_owned();
        for ((parts, density), code) in colour.iter().zip('A'..) {
            toners += &entry(&code.to_string(), TonerKind::Solid, density);
            let line = format!("  {{ toner = \"{code}\", parts = \"{parts}\" }},\n");
            file.push_str(&line);
        }
        let product = format!(
            "[[product]]\ncode = \"P\"\nname = \"p\"\nroles = [\"base\"]\npot-life = 90\ncoats = 2\n[product.ratio]\n{ratio}"
        );
        let files = [
            ("toners.toml", toners),
            ("cups.toml", "[[cup]]\nname = \"600\"\nbrim = 600\n".to_owned()),
            ("products.toml", product),
            ("colours/x.toml", file + "]\n"),
        ];
        let catalogue = Catalogue::from_files("", files);
        assert!(catalogue.problems.is_empty(), "{:?}", catalogue.problems);
        let colour = catalogue.colour("X").unwrap();
        let recipe = Recipe::of_layer(&catalogue, colour, colour.layer(Role::Base).unwrap()).unwrap();
        Self { catalogue, recipe }
    }

    fn activated(&self, chosen: Additions<'_>) -> Result<Recipe, RecipeError> {
        self.recipe.activated(&self.catalogue, self.catalogue.product("P").unwrap(), chosen)
    }

    fn usual(&self) -> Recipe {
        self.activated(Additions::default()).unwrap()
    }
}

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

fn pour(session: &mut Session, reading: &str) -> Event {
    let event = session.take(grams(reading), How::Scale).unwrap();
    session.apply(&event).unwrap();
    event
}

const BOTH: &str = "by = \"volume\"\ncolour = 4\nhardener = 1\nhardeners = [\"H1\", \"H2\"]\nthinner = 1\nthinners = [\"T1\"]\n";

fn one_to_one(colour: &str) -> String {
    format!("by = \"volume\"\ncolour = {colour}\nhardener = 1\nhardeners = [\"H1\"]\n")
}

/// Worked by hand (derived): 4 : 1 : 1 by volume, 600 mL, densities 0.98 / 1.08 / 0.87.
#[test]
fn four_to_one_to_one() {
    // The parts of the formula are of any size; its volume is what the ratio counts.
    let shop = Shop::of(&[("73.5", "0.98")], "1.08", "0.87", BOTH);
    let recipe = shop.usual();
    let volume = Millilitres::parse("600").unwrap();
    let targets = Targets::new(&recipe, volume, Division::TENTH, &[0, 1, 2]);
    let cumulative: Vec<_> = targets.pours.iter().map(|target| target.cumulative.to_book()).collect();
    assert_eq!(cumulative, [grams("392"), grams("500"), grams("587")]);
    assert_eq!(targets.mass.to_book(), grams("587"));
    let parts: Vec<_> = recipe.lines().iter().map(|line| line.part).collect();
    assert_eq!(parts, [LinePart::Colour, LinePart::Hardener, LinePart::Thinner]);
    let ratio: Vec<_> = recipe
        .lines()
        .iter()
        .map(|line| line.parts.checked_div(recipe.lines()[0].parts).unwrap() * parse_decimal("3.92").unwrap())
        .map(|parts| parts.round_dp(15).normalize().to_string())
        .collect();
    assert_eq!(ratio, ["3.92", "1.08", "0.87"]);
    let density = Density::of(targets.mass, volume).unwrap();
    assert_eq!(density.decimal().round_dp(6).to_string(), "0.978333");
    assert_eq!(
        (recipe.colour_mass() * Share::new(Decimal::from(587))).rounded(9).decimal().normalize(),
        Decimal::from(392)
    );
}

/// A painting inspector's training exercise (`BGas Exercise`, page 5): density of a mix by volume parts; and 16.5 L at
/// 1.45, which weigh 23.925 kg, mixed 1 : 1 with a hardener as dense.
#[test]
fn worked_examples_of_density() {
    // 1 : 1 by volume, 1.4 and 0.9: 1.15. 6 : 1, 1.3 and 0.9: 8.7/7 = 1.24. 3 : 1, 1.4 and 0.9: 1.275 [derived].
    for (colour, density, expected) in [("1", "1.4", "1.15"), ("6", "1.3", "1.2429"), ("3", "1.4", "1.275")] {
        let shop = Shop::of(&[("10", density)], "0.9", "0.87", &one_to_one(colour));
        let litre = Millilitres::from_unit(Decimal::ONE, VolumeUnit::Litre);
        let mass = shop.usual().mass_for(litre).times(Decimal::new(1, 3));
        assert_eq!(mass.with_decimals(4).trim_end_matches('0'), expected);
    }
    let shop = Shop::of(&[("1", "1.45")], "1.45", "0.87", &one_to_one("1"));
    let litres = Millilitres::from_unit(parse_decimal("16.5").unwrap(), VolumeUnit::Litre);
    assert_eq!(shop.usual().mass_for(litres).to_book(), grams("23925"));
}

/// The demo's clear out of the tin, made ready: 2 : 1 : 0.3 by volume.
fn clear() -> Recipe {
    let shop = Catalogue::demo();
    let colour = shop.colour("PB-3140").unwrap();
    let alone = Recipe::of_role(&shop, colour, Role::Clear, None).unwrap().unwrap();
    assert_eq!((alone.lines().len(), alone.total_parts()), (1, Decimal::ONE_HUNDRED));
    alone.activated(&shop, shop.product("CC-6").unwrap(), Additions::default()).unwrap()
}

/// By hand: 330 mL are 200 mL at 0.976, 100 mL at 1.064 and 30 mL at 0.868 g/mL.
#[test]
fn a_clear_out_of_the_tin() {
    let recipe = clear();
    let codes: Vec<_> = recipe.lines().iter().map(|line| (line.toner.as_str(), line.part)).collect();
    assert_eq!(codes, [("V90", LinePart::Colour), ("H60", LinePart::Hardener), ("T70", LinePart::Thinner)]);
    let targets =
        Targets::new(&recipe, Millilitres::parse("330").unwrap(), Division::TENTH, &order_of(&recipe));
    let exact: Vec<_> = targets.pours.iter().map(|target| target.exact.to_book()).collect();
    assert_eq!(exact, [grams("195.2"), grams("106.4"), grams("26.04")]);
    assert_eq!(recipe.readied.unwrap().pot_life, Some(90));
}

fn order_of(recipe: &Recipe) -> Vec<usize> {
    crate::mix::order::formula_order(recipe)
}

/// The clear of 330 mL, ten grams too much of it poured.
fn clear_over() -> Session {
    let volume = Millilitres::parse("330").unwrap();
    let mut mix = Session::begin(Start { volume, ..start(clear()) }).unwrap();
    pour(&mut mix, "205.2");
    assert_eq!(mix.phase(), Phase::Over(0));
    mix
}

fn steered(mix: &mut Session, way: crate::mix::Way) -> crate::mix::Choice {
    let choice = mix.ways().into_iter().find(|choice| choice.way == way).unwrap();
    let event = mix.steer(&choice).unwrap();
    mix.apply(&event).unwrap();
    choice
}

/// Pours what is left to pour, exactly.
fn poured_out(mix: &mut Session) {
    while let Some(goal) = mix.goal() {
        let event = mix.take(goal.stop, How::Scale).unwrap();
        mix.apply(&event).unwrap();
    }
    assert_eq!(mix.phase(), Phase::Complete);
}

/// By hand: of 205.2 g the hardener is 205.2 · 106.4 / 195.2 and the thinner 205.2 · 26.04 / 195.2.
#[test]
fn over_in_its_only_colour_line_hardener_and_thinner_follow() {
    let mut mix = clear_over();
    let choice = steered(&mut mix, crate::mix::Way::Exact);
    let shown: Vec<_> = choice.add.iter().map(|mass| mass.with_decimals(3)).collect();
    assert_eq!(shown, ["0.000", "111.851", "27.374"]);
    poured_out(&mut mix);
    let held: Vec<_> = (0..3).map(|line| mix.poured(line).with_decimals(3)).collect();
    assert_eq!(held, ["205.200", "111.851", "27.374"]);
    assert_eq!(mix.end_volume().with_decimals(1), "346.9");
}

/// By hand: the others can give 2 % of 106.4 and of 26.04 g, so that 195.2 + 2.128 + 0.5208 = 197.8488 g of 205.2 may
/// stay: 7.4 g out, to the scale's division. The whole stays as it was ordered.
#[test]
fn over_in_its_only_colour_line_it_can_be_drawn_off() {
    let mut mix = clear_over();
    let choice = steered(&mut mix, crate::mix::Way::DrawOff);
    assert_eq!((choice.draw_off, mix.draw_to()), (grams("7.4"), Some(grams("197.8"))));
    let drawn = mix.take_drawn(grams("197.8"), How::Scale).unwrap();
    mix.apply(&drawn).unwrap();
    assert_eq!(mix.phase(), Phase::Weighing);
    poured_out(&mut mix);
    assert_eq!((mix.poured(0), mix.total().to_book()), (grams("197.8"), grams("327.64")));
    assert!((mix.holds() - grams("327.64")).abs() < grams("0.1"), "{}", mix.holds());
}

/// Without hardener and thinner, as a product without a ratio: whatever is in the cup is right, or too much of it.
#[test]
fn one_line_alone_is_made_more_or_drawn_off() {
    let shop = Catalogue::demo();
    let alone = Recipe::of_role(&shop, shop.colour("PB-3140").unwrap(), Role::Clear, None).unwrap().unwrap();
    let begin = || {
        let volume = Millilitres::parse("100").unwrap();
        let mut mix = Session::begin(Start { volume, ..start(alone.clone()) }).unwrap();
        pour(&mut mix, "103.6");
        assert_eq!(mix.phase(), Phase::Over(0));
        mix
    };
    let mut mix = begin();
    // More of all is nothing more here.
    assert_eq!(steered(&mut mix, crate::mix::Way::Smallest).add, [Grams::ZERO]);
    assert_eq!((mix.phase(), mix.total()), (Phase::Complete, grams("103.6")));
    let mut mix = begin();
    // Down to the 97.6 g that were ordered.
    assert_eq!(steered(&mut mix, crate::mix::Way::DrawOff).draw_off, grams("6"));
    let drawn = mix.take_drawn(grams("97.6"), How::Scale).unwrap();
    mix.apply(&drawn).unwrap();
    assert_eq!(mix.phase(), Phase::Complete);
}

#[test]
fn a_ratio_by_mass_does_not_look_at_densities() {
    let ratio = "by = \"mass\"\ncolour = 100\nhardener = 25\nhardeners = [\"H1\"]\nthinner = 10\nthinners = [\"T1\"]\n";
    let recipe = Shop::of(&[("300", "1.4"), ("100", "0.9")], "1.1", "0.87", ratio).usual();
    let parts: Vec<_> = recipe.lines().iter().map(|line| line.parts.to_string()).collect();
    assert_eq!(parts, ["300", "100", "100", "40"]);
}

#[test]
fn which_hardener_is_for_the_painter_to_say_and_nothing_else_goes_in() {
    let shop = Shop::of(&[("1", "1")], "1.08", "0.87", BOTH);
    let other = TonerCode::new("H2");
    let chosen = shop.activated(Additions { hardener: Some(&other), thinner: None }).unwrap();
    assert_eq!(chosen.lines()[1].toner, other);
    assert_eq!(chosen.lines()[1].parts.to_string(), "0.3", "a quarter of a millilitre at 1.2 g/mL");
    assert!(chosen.is_hardener(&other) && !chosen.is_hardener(&TonerCode::new("H1")));
    let wrong = TonerCode::new("A");
    let refused = shop.activated(Additions { hardener: None, thinner: Some(&wrong) });
    assert!(matches!(refused, Err(RecipeError::NotOffered { toner, .. }) if toner == wrong));
    let readied = shop.usual().readied.unwrap();
    assert_eq!((readied.product.as_str(), readied.pot_life, readied.coats), ("P", Some(90), Some(2)));
    let again =
        shop.usual().activated(&shop.catalogue, shop.catalogue.product("P").unwrap(), Additions::default());
    assert!(matches!(again, Err(RecipeError::Readied(_))));
}

#[test]
fn a_product_is_for_its_layers_and_one_without_hardener_has_no_pot_life() {
    let thinned = "by = \"volume\"\ncolour = 2\nthinner = 1\nthinners = [\"T1\"]\n";
    let shop = Shop::of(&[("2", "1")], "1.08", "0.87", BOTH);
    let mut product = shop.catalogue.product("P").unwrap().clone();
    product.roles = vec![Role::Clear];
    let refused = shop.recipe.activated(&shop.catalogue, &product, Additions::default());
    assert!(matches!(refused, Err(RecipeError::NotFor { role: Role::Base, .. })));
    product.roles = vec![Role::Base];
    product.ratio = None;
    let bare = shop.recipe.activated(&shop.catalogue, &product, Additions::default()).unwrap();
    assert_eq!(bare.lines(), shop.recipe.lines());
    assert_eq!(bare.readied.unwrap().pot_life, None);
    product.ratio = Shop::reading(thinned);
    let thin = shop.recipe.activated(&shop.catalogue, &product, Additions::default()).unwrap();
    assert_eq!(thin.lines()[1].parts.to_string(), "0.87");
    assert_eq!(thin.readied.unwrap().pot_life, None);
}

impl Shop {
    fn reading(ratio: &str) -> Option<crate::catalogue::Ratio> {
        let text =
            format!("[[product]]\ncode = \"P\"\nname = \"p\"\nroles = [\"base\"]\n[product.ratio]\n{ratio}");
        let toners = "[[toner]]\ncode = \"T1\"\nname = \"t\"\nkind = \"thinner\"\ndensity = 0.87\n";
        let read = Catalogue::from_files("", [("toners.toml", toners), ("products.toml", text.as_str())]);
        read.product("P").unwrap().ratio.clone()
    }
}

#[test]
fn journals_from_before_read_the_same_and_new_ones_keep_what_it_was() {
    let shop = Shop::of(&[("1", "1.3"), ("2", "1")], "1.08", "0.87", BOTH);
    let plain = serde_json::to_string(&shop.recipe).unwrap();
    assert!(!plain.contains("part\":") && !plain.contains("readied"), "{plain}");
    assert_eq!(serde_json::from_str::<Recipe>(&plain).unwrap(), shop.recipe);
    let readied = shop.usual();
    let json = serde_json::to_string(&readied).unwrap();
    assert!(json.contains("\"part\":\"hardener\"") && json.contains("\"part\":\"thinner\""), "{json}");
    assert_eq!(serde_json::from_str::<Recipe>(&json).unwrap(), readied);
}

fn start(recipe: Recipe) -> Start {
    Start {
        order: (0..recipe.lines().len()).collect(),
        version: None,
        job: None,
        recipe,
        volume: Millilitres::parse("600").unwrap(),
        vessel: Vessel { name: "600".into(), brim: Millilitres::parse("700").unwrap(), tare: grams("21.4") },
        limits: Limits { division: Division::TENTH, capacity: Some(grams("7500")) },
    }
}

#[test]
fn a_mix_of_it_tells_when_the_pot_life_began() {
    let shop = Shop::of(&[("1", "0.98"), ("1", "0.98")], "1.08", "0.87", BOTH);
    let mut mix = Session::begin(start(shop.usual())).unwrap();
    let mut events = vec![(0, Event::Started(mix.start().clone()))];
    let stops = [("196", None), ("392", None), ("500", Some(2)), ("587", Some(2))];
    for ((stop, first), at) in stops.into_iter().zip(1..) {
        events.push((at, pour(&mut mix, stop)));
        assert_eq!(mix.first_hardener(), first, "{stop}");
        assert_eq!(mix.is_activated(), first.is_some());
    }
    assert_eq!(mix.phase(), Phase::Complete);
    let recipe = shop.usual();
    let when = |events: &[(i32, Event)]| {
        activated_at(events.iter().map(|(at, event)| (*at, event)), |toner| recipe.is_hardener(toner))
    };
    assert_eq!(when(&events), Some(3));
    assert_eq!(when(&events[..3]), None);
    // The first pour was hardener after all: it has been in since then, whenever that is found out.
    let was = crate::mix::Rebooked { pour: 0, toner: TonerCode::new("H1"), tin: None };
    events.push((9, Event::Rebooked(was)));
    assert_eq!(when(&events), Some(1));
    // A leftover that was activated brings its hardener along.
    let parts = vec![(TonerCode::new("A"), grams("1")), (TonerCode::new("H1"), grams("1"))];
    let leftover = crate::mix::LeftoverAdded {
        from: String::new(),
        before: Grams::ZERO,
        after: grams("2"),
        how: How::Scale,
        parts,
    };
    events.insert(1, (0, Event::LeftoverAdded(leftover)));
    assert_eq!(when(&events), Some(0));
}

/// A leftover with hardener would begin the pot life anew, which runs since the mix it is left of: it is not taken. One that
/// an older book has is read all the same, so that its mix is what it was.
#[test]
fn a_leftover_with_hardener_is_not_taken() {
    let shop = Shop::of(&[("1", "0.98")], "1.08", "0.87", BOTH);
    let mut mix = Session::begin(start(shop.usual())).unwrap();
    let made_of =
        |toner: &str| vec![(TonerCode::new("A"), grams("40")), (TonerCode::new(toner), grams("10"))];
    let take =
        |mix: &Session, toner: &str| mix.take_leftover("old", &made_of(toner), grams("50"), How::Scale);
    assert_eq!(take(&mix, "H1"), Err(crate::mix::Refusal::HardenerIn));
    let Event::LeftoverAdded(thinned) = take(&mix, "T1").unwrap() else { panic!("thinner alone is taken") };
    let older = crate::mix::LeftoverAdded { parts: made_of("H1"), ..thinned };
    mix.apply(&Event::LeftoverAdded(older)).unwrap();
    assert!(mix.is_activated());
}

/// Too much hardener is put right by more of everything, the colour too.
#[test]
fn too_much_hardener_is_put_right_with_the_ratio_kept() {
    let shop = Shop::of(&[("1", "0.98")], "1.08", "0.87", BOTH);
    let mut mix = Session::begin(start(shop.usual())).unwrap();
    pour(&mut mix, "392");
    pour(&mut mix, "512");
    assert_eq!(mix.phase(), Phase::Over(1));
    let exact = mix.every_way().into_iter().find(|choice| choice.way == crate::mix::Way::Exact).unwrap();
    // 120 g where 108 were asked for: all of it grows by a ninth.
    assert_eq!(exact.final_mass.decimal().round_dp(3), parse_decimal("652.222").unwrap());
}

fn rational(number: Decimal) -> BigRational {
    BigRational::new(BigInt::from(number.mantissa()), BigInt::from(10).pow(number.scale()))
}

proptest! {
    /// Against exact rationals: the volumes of colour, hardener and thinner are as the ratio has them.
    #[test]
    fn the_ratio_is_kept_to_a_part_in_a_quadrillion(
        colour in prop::collection::vec((1_i64..10_000_000, 500_i64..3_000), 1..12),
        (hardener, thinner) in (500_i64..2_000, 500_i64..2_000),
        ratio in prop::array::uniform3(1_i64..1_000),
    ) {
        let text = |number: i64, places| Decimal::new(number, places).to_string();
        let colour: Vec<_> = colour.iter().map(|(parts, density)| (text(*parts, 3), text(*density, 3))).collect();
        let lent: Vec<_> = colour.iter().map(|(parts, density)| (parts.as_str(), density.as_str())).collect();
        let [c, h, t] = ratio.map(|parts| text(parts, 1));
        let table = format!("by = \"volume\"\ncolour = {c}\nhardener = {h}\nhardeners = [\"H1\"]\nthinner = {t}\nthinners = [\"T1\"]\n");
        // Densities of half a gram are right at the edge of what is warned of.
        let shop = Shop::of(&lent, &text(hardener, 3), &text(thinner, 3), &table);
        let recipe = shop.usual();
        let volume = |line: &Line| rational(line.parts) / rational(line.density.decimal());
        let (last, own) = recipe.lines().split_at(lent.len());
        let filled: BigRational = last.iter().map(volume).sum();
        let near = |found: BigRational, expected: BigRational| {
            let off = &found / &expected - BigRational::from_integer(1.into());
            let bound = BigRational::new(1.into(), BigInt::from(10).pow(15));
            off < bound && off > -bound
        };
        let of = |index: usize| BigRational::new(BigInt::from(ratio[index]), BigInt::from(ratio[0]));
        prop_assert!(near(volume(&own[0]), &filled * of(1)));
        prop_assert!(near(volume(&own[1]), &filled * of(2)));
        // And the volume that comes out is the one that was asked for, colour in its share.
        let asked = Millilitres::parse("500").unwrap();
        let mass = rational(recipe.mass_for(asked).decimal());
        let total = rational(recipe.total_parts());
        let back: BigRational = recipe.lines().iter().map(volume).sum();
        prop_assert!(near(mass * back / total, BigRational::from_integer(500.into())));
    }
}
