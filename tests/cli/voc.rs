//! `voc`: what was poured in an invented shop, against the limits; the tables, and the records.

use crate::figures::sheet_rows;
use crate::program::*;
use crate::weighed::{put, recipe, robin, start, weighed};
use pourbook::book::{Envelope, Ids};
use pourbook::catalogue::{Catalogue, Role};
use pourbook::units::Stamp;
use serde_json::Value;
use std::fs;
use std::path::PathBuf;
use std::process::Output;

/// 2026-10-15, noon in UTC.
pub(crate) const OCTOBER: i64 = 1_792_065_600_000_000;
pub(crate) const DAY: i64 = 86_400_000_000;

/// An invented shop: made so that every figure can be reckoned by hand.
const TONERS: &str = r#"
[[toner]]
code = "B1"
name = "binder"
kind = "binder"
density = "1"
voc = "500"
flammable = true

[[toner]]
code = "W1"
name = "white"
kind = "solid"
density = "1.5"
voc = "300"

[[toner]]
code = "P1"
name = "pearl"
kind = "pearl"
density = "1"

[[toner]]
code = "C1"
name = "clear binder"
kind = "binder"
density = "1"
voc = "480"
isocyanates = true

[[toner]]
code = "X1"
name = "nobody knows"
kind = "solid"
density = "1.2"

[[toner]]
code = "T1"
name = "thinner"
kind = "thinner"
density = "0.88"
voc = "880"
"#;

const PRODUCTS: &str = r#"
[[product]]
code = "GC"
name = "ground"
roles = ["ground"]
categories = { us = "topcoat", eu = "topcoat" }

[[product]]
code = "PC"
name = "pearl"
roles = ["pearl"]
voc = "700"
categories = { us = "topcoat", eu = "topcoat" }

[[product]]
code = "CC"
name = "clear"
roles = ["clear"]
categories = { us = "topcoat", eu = "topcoat" }
hazards = { cautions = ["air-fed breathing apparatus"] }
"#;

const COLOUR: &str = r#"
code = "PB-1"
name = "Invented"
finish = "three-stage"

[[layer]]
role = "undercoat"
pours = [{ toner = "X1", parts = "60" }, { toner = "B1", parts = "50" }]

[[layer]]
role = "ground"
pours = [{ toner = "B1", parts = "50" }, { toner = "W1", parts = "75" }]

[[layer]]
role = "pearl"
pours = [{ toner = "P1", parts = "100" }]

[[layer]]
role = "clear"
pours = [{ toner = "C1", parts = "100" }]
"#;

/// Another white of binder alone, for a ground coat that is mixed a second time.
pub(crate) const OTHER: &str = r#"
code = "PB-2"
name = "Invented again"
finish = "three-stage"

[[layer]]
role = "ground"
pours = [{ toner = "B1", parts = "100" }]

[[layer]]
role = "pearl"
pours = [{ toner = "P1", parts = "100" }]
"#;

pub(crate) struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    /// Four mixes of 100 mL: 1 the undercoat, 2 the ground, 3 the pearl, 4 the clear; the last in November.
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let shop = folder.path().join("shop");
        fs::create_dir_all(shop.join("colours")).unwrap();
        for (name, text) in [
            ("cups.toml", "[[cup]]\nname = \"600\"\ntare = \"21.8\"\nbrim = \"600\"\n"),
            ("toners.toml", TONERS),
            ("products.toml", PRODUCTS),
            ("colours/pb-1.toml", COLOUR),
            ("colours/pb-2.toml", OTHER),
        ] {
            fs::write(shop.join(name), text).unwrap();
        }
        let catalogue = Catalogue::load(&shop);
        assert_eq!(catalogue.problems, []);
        let book = folder.path().join("book.sqlite");
        let mut ids = Ids::counted(1);
        let mixes = [(Role::Undercoat, 0), (Role::Ground, 0), (Role::Pearl, 15), (Role::Clear, 17)];
        for (role, days) in mixes {
            let at = Stamp(OCTOBER + days * DAY);
            put(&book, &mix(&catalogue, ("PB-1", role, "100"), at, &mut ids));
        }
        Self { folder }
    }

    /// Another mix of that many millilitres.
    pub(crate) fn mixed_too(&self, code: &str, role: Role, volume: &str) {
        let catalogue = Catalogue::load(&self.path("shop"));
        let at = Stamp(OCTOBER + 20 * DAY);
        let all = mix(&catalogue, (code, role, volume), at, &mut Ids::fresh());
        put(&self.path("book.sqlite"), &all);
    }

    /// A job in three stages, of the mixes 2 (ground coat), 3 (pearl coat) and 4 (clear). What it is mixed of besides: the
    /// ground coat again (5), 25 mL that hold more, the pearl coat for cards alone (6), and one that was not its own (7).
    fn mixed_twice() -> Self {
        let shop = Self::new();
        shop.mixed_too("PB-2", Role::Ground, "25");
        shop.mixed_too("PB-2", Role::Pearl, "50");
        shop.mixed_too("PB-2", Role::Pearl, "50");
        let job = |args: &[&str]| {
            let output = shop.run("job", args);
            assert_eq!(code(&output), 0, "{args:?}: {}", err(&output));
        };
        job(&["open", "wing", "--colour", "PB-1"]);
        job(&["choose", "wing", "--no-card", "the car is a test"]);
        for number in ["2", "3", "4"] {
            job(&["mix", "wing", number]);
        }
        job(&["mix", "wing", "7", "--overrule", "the nearest there is"]);
        job(&["mix", "wing", "5", "--layer", "ground", "--overrule", "the nearest there is"]);
        job(&["mix", "wing", "6", "--for-cards", "--overrule", "to compare"]);
        job(&["part", "wing", "7", "it was for another"]);
        shop
    }

    fn run(&self, command: &str, args: &[&str]) -> Output {
        let settings = self.path("settings.toml");
        fs::write(&settings, "limits = \"us\"\n").unwrap();
        let mut program = program();
        program.arg("--shop").arg(self.path("shop")).arg("--book").arg(self.path("book.sqlite"));
        program.arg("--settings").arg(settings).arg(command).args(args).output().unwrap()
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn voc(&self, args: &[&str]) -> Output {
        let mut program = program();
        program.arg("--shop").arg(self.path("shop")).arg("--book").arg(self.path("book.sqlite"));
        program.arg("voc").args(args).output().unwrap()
    }
}

/// A mix of so many millilitres of a layer of that colour.
pub(crate) fn mix(
    shop: &Catalogue,
    (code, role, volume): (&str, Role, &str),
    at: Stamp,
    ids: &mut Ids,
) -> Vec<Envelope> {
    weighed(start(recipe(shop, code, role), volume, "21.8"), (at, 1_000_000), ids, &robin(), |_| None)
}

fn judged(value: &Value) -> Vec<(&str, &str)> {
    let all = value["judged"].as_array().unwrap();
    all.iter()
        .map(|one| (one["verdict"].as_str().unwrap(), one["by_g_per_l"].as_str().unwrap_or("-")))
        .collect()
}

/// Ground: 50 mL with 500 g/L and 50 mL with 300 g/L are 40 g in 100 mL; pearl by its product 700 g/L; clear 480 g/L. Judged
/// together as the US federal rule does: (400 + 700 + 2 · 480) / 4 = 515 against 630; each alone in Europe, against 420.
#[test]
fn the_coats_of_a_job_against_the_limits() {
    let shop = Shop::new();
    let us = json(&shop.voc(&["2", "3", "4", "--table", "us", "--json"]));
    let figures: Vec<&str> = us["mixes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|mix| mix["regulatory_g_per_l"].as_str().unwrap())
        .collect();
    assert_eq!(figures, ["400.000000", "700.000000", "480.000000"]);
    assert_eq!(us["mixes"][0]["voc_g"], "40.000000");
    assert_eq!(us["judged"][0]["figure_g_per_l"], "515.000000");
    assert_eq!(judged(&us), [("within", "115.000000")]);
    assert_eq!(us["judged"][0]["known"], "from memory");

    let eu = json(&shop.voc(&["2", "3", "4", "--table", "eu", "--json"]));
    assert_eq!(judged(&eu), [("within", "20.000000"), ("over", "280.000000"), ("over", "60.000000")]);
    // A pearl in a single layer would be a special finish.
    let as_special = json(&shop.voc(&["3", "--table", "eu", "--as", "special", "--json"]));
    assert_eq!(judged(&as_special), [("within", "140.000000")]);
}

#[test]
fn a_person_reads_the_same() {
    let shop = Shop::new();
    let output = shop.voc(&["2", "3", "4", "--table", "us"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let text = out(&output);
    for expected in [
        "Mix 2: PB-1 ground coat",
        "VOC, regulatory: less water and exempt compounds: 400 g/L (3.34 lb/gal)",
        "mix 2 (ground coat), mix 3 (pearl coat), mix 4 (clear) together: within by 115 g/L: 515 g/L against 630 g/L for \
         'topcoat of more than two stages', FROM MEMORY and not looked up",
        "Water is reckoned as 0.995 g/mL (COMAR 26.11.19.02).",
        "An aid, not a ruling",
        "CC clear, as entered from its sheet:\n  air-fed breathing apparatus",
        "Only air-fed breathing apparatus protects who sprays",
        "Bond can and container",
    ] {
        assert!(text.contains(expected), "{expected}\nis not in\n{text}");
    }
    // Nothing with isocyanates in it is in the ground coat.
    let ground = out(&shop.voc(&["2"]));
    assert!(!ground.contains("air-fed") && ground.contains("Bond can"), "{ground}");
    assert!(ground.contains("Against no limits"), "{ground}");
}

/// By hand: the ground coat's mixes hold 400 g/L in 100 mL and, of binder alone, 500 g/L in 25 mL. The highest is 500, their
/// average (100 · 400 + 25 · 500) / 125 = 420; the composite (500 + 700 + 2 · 480) / 4 = 540, by the average 520.
#[test]
fn a_layer_mixed_twice_is_one_stage_of_the_composite() {
    let shop = Shop::mixed_twice();
    let voc = json(&shop.run("voc", &["wing", "--json"]));
    let left_out: Vec<_> = voc["mixes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|mix| (mix["mix"].as_u64().unwrap(), mix["left_out"].as_str()))
        .collect();
    let for_cards = Some("for spray-out cards alone, and not for the car");
    assert_eq!(left_out, [(2, None), (3, None), (4, None), (5, None), (6, for_cards)]);
    // Each alone.
    let alone = |place: usize| voc["mixes"][place]["regulatory_g_per_l"].as_str().unwrap();
    assert_eq!([0, 1, 2, 3].map(alone), ["400.000000", "700.000000", "480.000000", "500.000000"]);
    assert_eq!(judged(&voc), [("within", "90.000000")]);
    let all = &voc["judged"][0];
    assert_eq!(all["figure_g_per_l"], "540.000000");
    assert_eq!(all["figure_by_averages_g_per_l"], "520.000000");
    let stages = all["stages"].as_array().unwrap();
    let of = |key: &str| stages.iter().map(|stage| stage[key].clone()).collect::<Vec<_>>();
    assert_eq!(of("layer"), ["ground coat", "pearl coat", "clear"]);
    assert_eq!(of("taken_g_per_l"), ["500.000000", "700.000000", "480.000000"]);
    assert_eq!(of("average_g_per_l"), [Value::from("420.000000"), Value::Null, Value::Null]);
    assert_eq!(stages[0]["mixes"][1]["mix"], "mix 5");
    assert_eq!(stages[0]["mixes"][1]["counted_ml"], "25.000000");

    let text = out(&shop.run("voc", &["wing"]));
    for says in [
        "mix 2 (ground coat), mix 3 (pearl coat), mix 4 (clear), mix 5 (ground coat) together: within by 90 g/L: 540 g/L",
        "    ground coat: 500 g/L, the highest of 2 mixes (mix 2: 400 g/L in 100.0 mL; mix 5: 500 g/L in 25.0 mL); by \
         volume they average 420 g/L\n    pearl coat: 700 g/L, mix 3\n    clear: 480 g/L, mix 4\n",
        "    (500 + 700 + 2 × 480) / 4 = 540 g/L; with the averages of the mixes 520 g/L\n",
        "no rule that was read lets the mixes of a stage be averaged",
        "  Not judged: for spray-out cards alone, and not for the car",
    ] {
        assert!(text.contains(says), "{says}\nis not in\n{text}");
    }
    // In Europe each mix is held against the limit.
    let eu = json(&shop.run("voc", &["wing", "--table", "eu", "--json"]));
    assert_eq!(judged(&eu).len(), 4);
    assert_eq!(eu["judged"][3]["stages"], Value::Array(Vec::new()));
}

/// What it was made ready to spray with stands in the mix: whatever the shop's files have in front later, that is taken.
#[test]
fn a_mix_is_judged_by_the_product_it_was_made_with() {
    let shop = Shop::new();
    let other = "[[product]]\ncode = \"P0\"\nname = \"newer pearl\"\nroles = [\"pearl\"]\nvoc = \"100\"\n\n";
    let catalogue = Catalogue::load(&shop.path("shop"));
    let colour_alone = recipe(&catalogue, "PB-1", Role::Pearl);
    let product = catalogue.product("PC").unwrap();
    let ready = colour_alone.activated(&catalogue, product, pourbook::mix::Additions::default()).unwrap();
    let at = Stamp(OCTOBER + 20 * DAY);
    let events = weighed(start(ready, "100", "21.8"), (at, 1_000_000), &mut Ids::fresh(), &robin(), |_| None);
    put(&shop.path("book.sqlite"), &events);
    fs::write(shop.path("shop").join("products.toml"), format!("{other}{PRODUCTS}")).unwrap();
    let voc = json(&shop.voc(&["5", "3", "--json"]));
    let said = |place: usize| {
        let mix = &voc["mixes"][place];
        ["product", "product_known_by", "regulatory_g_per_l"].map(|key| mix[key].as_str().unwrap().to_owned())
    };
    assert_eq!(said(0), ["PC", "mix", "700.000000"]);
    assert_eq!(said(1), ["P0", "usual", "100.000000"], "nobody wrote down with what it was made");
    let text = out(&shop.voc(&["5", "3"]));
    assert!(text.contains("Product: PC pearl\n"), "{text}");
    assert!(text.contains("Product: P0 newer pearl (guessed: neither mix nor formula says"), "{text}");
    // Its entry is gone: no other product's content is taken for it.
    fs::write(shop.path("shop").join("products.toml"), other).unwrap();
    let gone = json(&shop.voc(&["5", "--json"]));
    assert_eq!(gone["mixes"][0]["product_is_gone"], true);
    assert_eq!(gone["mixes"][0]["regulatory_g_per_l"], Value::Null);
    let text = out(&shop.voc(&["5"]));
    assert!(text.contains("Product: PC (not in the shop's files any more)"), "{text}");
}

/// The plan of the job names the product where the mix does not; the ground coat is not judged without the pearl.
#[test]
fn a_job_names_the_product_and_is_judged_when_its_stages_are_mixed() {
    let shop = Shop::mixed_twice();
    let done = |args: &[&str]| {
        let output = shop.run("job", args);
        assert_eq!(code(&output), 0, "{args:?}: {}", err(&output));
    };
    done(&["open", "door", "--colour", "PB-1"]);
    done(&["part", "wing", "2", "it was for the door"]);
    done(&["mix", "door", "2"]);
    let text = out(&shop.run("voc", &["door"]));
    let says = "mix 2 (ground coat): not complete: the pearl coat and the clear are not mixed (limit 630 g/L";
    assert!(text.contains(says), "{text}");
    let voc = json(&shop.run("voc", &["door", "--json"]));
    assert_eq!(judged(&voc), [("not complete", "-")]);
    let (_, sheet) = sheet_rows(shop.folder.path(), |file| done(&["sheet", "door", "--html", file]));
    assert!(sheet.iter().any(|row| row.contains("not complete: the pearl coat")), "{sheet:?}");
}

/// The same on the job's sheet.
#[test]
fn the_sheet_says_what_the_composite_took() {
    let shop = Shop::mixed_twice();
    let (page, rows) = sheet_rows(shop.folder.path(), |file| {
        assert_eq!(code(&shop.run("job", &["sheet", "wing", "--html", file])), 0);
    });
    let row = |begins: &str, says: &str| {
        let line = rows.iter().find(|line| line.starts_with(begins) && line.contains(says));
        line.unwrap_or_else(|| panic!("{begins}: {says}\nis not in\n{rows:#?}")).to_owned()
    };
    for mix in ["mix 2 (ground coat)", "mix 5 (ground coat)", "mix 3 (pearl coat)", "mix 4 (clear)"] {
        row(mix, "counted in below, with the other stages");
    }
    let ground = row("ground coat", "taken: 500 g/L, the highest of 2 mixes");
    assert!(ground.contains("by volume they average 420 g/L"), "{ground}");
    let all = row("all stages together", "within by 90 g/L");
    assert!(
        all.contains("; (500 + 700 + 2 × 480) / 4 = 540 g/L; with the averages of the mixes 520 g/L"),
        "{all}"
    );
    row("mix 6 (pearl coat)", "not judged: for spray-out cards alone");
    let note = page.split("<p>").find(|note| note.contains("A stage that was mixed more than once"));
    assert!(note.is_some_and(|note| note.contains("211.1670")), "{note:?}");
    assert!(!page.contains("mix 7 (pearl coat)"), "{page}");
}

/// What is named by numbers: mixes of one layer of a colour are one stage, of two colours two of them.
#[test]
fn mixes_by_their_numbers_are_stages_too() {
    let shop = Shop::mixed_twice();
    // The pearl coat of two colours is two midcoats: (400 + 700 + 700 + 2 · 480) / 5 = 552.
    let two = json(&shop.voc(&["2", "3", "6", "4", "--table", "us", "--json"]));
    assert_eq!(two["judged"][0]["figure_g_per_l"], "552.000000");
    // Of one colour it is one: (400 + 700 + 2 · 480) / 4 = 515.
    shop.mixed_too("PB-1", Role::Pearl, "30");
    let again = json(&shop.voc(&["2", "3", "8", "4", "--table", "us", "--json"]));
    assert_eq!(again["judged"][0]["figure_g_per_l"], "515.000000");
    let text = out(&shop.voc(&["2", "5", "3", "4", "--table", "us"]));
    let says = "mix 2 (ground coat of PB-1), mix 5 (ground coat of PB-2), mix 3 (pearl coat of PB-1), mix 4 (clear of PB-1) \
                together: cannot say";
    assert!(text.contains(says), "{text}");
}

#[test]
fn a_toner_without_data_is_unknown_and_not_nothing() {
    let shop = Shop::new();
    let value = json(&shop.voc(&["1", "--table", "eu", "--as", "primer", "--json"]));
    assert_eq!(value["mixes"][0]["regulatory_g_per_l"], Value::Null);
    assert_eq!(value["mixes"][0]["unknown"][0]["toner"], "X1");
    assert_eq!(judged(&value), [("cannot say", "-")]);
    let text = out(&shop.voc(&["1", "--table", "eu", "--as", "primer"]));
    assert!(text.contains("X1: no VOC data"), "{text}");
    assert!(text.contains("cannot say: mix 1 (undercoat): not known of X1"), "{text}");
}

/// The ground may take y mL of a thinner of 880 g/L: 420 = (40 + 0.88·y) / (0.1 + y/1000), y = 2/0.46 = 4.347826….
#[test]
fn how_much_thinner_a_mix_may_take() {
    let shop = Shop::new();
    let value = json(&shop.voc(&["2", "3", "--table", "eu", "--thinner", "T1", "--json"]));
    assert_eq!(value["mixes"][0]["thinner"]["up_to_ml"], "4.347826");
    assert_eq!(value["mixes"][1]["thinner"], "never");
    let text = out(&shop.voc(&["2", "--table", "eu", "--thinner", "T1"]));
    assert!(text.contains("Thinner: 4.3 mL more of it at most"), "{text}");
}

#[test]
fn the_limits_are_printed_saved_and_edited() {
    let shop = Shop::new();
    let printed = out(&shop.voc(&["--limits"]));
    let file = shop.path("shop").join("limits.toml");
    let own = printed.replacen(
        "name = \"topcoat (d)\", limit = \"420\"",
        "name = \"topcoat (d)\", limit = \"399\"",
        1,
    );
    assert_ne!(own, printed);
    fs::write(&file, own).unwrap();
    let judged_now = json(&shop.voc(&["2", "--table", "eu", "--json"]));
    assert_eq!(judged(&judged_now), [("over", "1.000000")]);
    let tables = json(&shop.voc(&["--limits", "--json"]));
    let ids: Vec<&str> =
        tables["tables"].as_array().unwrap().iter().map(|one| one["id"].as_str().unwrap()).collect();
    assert_eq!(ids, ["us", "us-virginia", "us-california", "eu", "uk", "canada"]);

    // A mistake is named by its place, and its table is not judged by.
    fs::write(&file, printed.replacen("limit = \"850\"", "limit = \"8.5.0\"", 1)).unwrap();
    let output = shop.voc(&["2", "--table", "eu"]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("limits.toml:"), "{}", err(&output));
    assert!(err(&output).contains("there are no limits called 'eu'"), "{}", err(&output));
}

#[test]
fn the_records_say_what_is_missing() {
    let shop = Shop::new();
    let none = shop.voc(&["--records"]);
    assert_eq!(code(&none), 1);
    assert!(err(&none).contains("[[painter]]"), "{}", err(&none));
    let now = jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::system());
    let yesterday = now.date().yesterday().unwrap();
    let text = format!(
        "other_guns = \"no\"\n[[painter]]\nname = \"Robin\"\ntrained = \"2001-05-02\"\n\
         [[painter]]\nname = \"Kim\"\ntrained = \"2001-05-02\"\nrefreshed = \"{yesterday}\"\n\
         [[document]]\nkind = \"filter\"\nname = \"booth 1\"\ndated = \"2026-01-20\"\n"
    );
    fs::write(shop.path("shop").join("painters.toml"), text).unwrap();
    let said = out(&shop.voc(&["--records"]));
    assert!(said.contains("OVERDUE     training of Robin, with its certificate [40 CFR 63.11177(a)], by 2006-05-02 (the time is from memory)"), "{said}");
    assert!(said.contains("4 of 7 want something done"), "{said}");
    let value = json(&shop.voc(&["--records", "--json"]));
    let words: Vec<&str> =
        value["records"].as_array().unwrap().iter().map(|one| one["standing"].as_str().unwrap()).collect();
    assert_eq!(words, ["overdue", "there", "there", "not needed", "missing", "say", "say"]);
}

#[test]
fn what_it_cannot_do_it_says() {
    let shop = Shop::new();
    for (args, ends, what) in [
        (&["9"][..], 1, "there is no mix 9"),
        (&["9"][..], 1, "a job is named as"),
        (&["wing"][..], 1, "there is no job 'wing'"),
        (&["2", "wing"][..], 2, "numbers of mixes were expected, or one job"),
        (&[][..], 2, "MIX"),
        (&["2", "--month", "2026-10"][..], 2, "cannot be used with"),
        (&["2", "--table", "mars"][..], 1, "There are: us, us-virginia"),
        (&["2", "--as", "topcoat"][..], 2, "without limits"),
        (&["2", "3", "4", "--table", "eu", "--as", "a", "--as", "b"][..], 2, "2 categories for 3 mixes"),
        (&["2", "--table", "eu", "--thinner", "Z9"][..], 1, "there is no toner 'Z9'"),
        (&["2", "--table", "eu", "--thinner", "X1"][..], 1, "no VOC data"),
    ] {
        let output = shop.voc(args);
        assert_eq!(code(&output), ends, "{args:?}: {}", err(&output));
        assert!(err(&output).contains(what), "{args:?}: {}", err(&output));
    }
    let csv = out(&shop.voc(&["2", "--csv"]));
    let mut lines = csv.lines();
    assert!(lines.next().unwrap().starts_with("mix,toner,"));
    assert_eq!(lines.next().unwrap(), "2,B1,50.000000,50.000000,500.000000,0.000000,0.000000");
}
