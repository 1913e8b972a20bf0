//! `waste` and `use`: the owner's figures of an invented autumn.

use crate::program::*;
use pourbook::book::{Account, By, Envelope, Ids, Journal, Opened, SqliteStore, Store, moved};
use pourbook::catalogue::{Catalogue, TonerCode};
use pourbook::mix::{Ending, Event, How, Limits, Phase, Recipe, Session, Start, Vessel, Way};
use pourbook::units::{Decimal, Division, Grams, Millilitres, Stamp};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// 2026-09-01, noon in UTC.
const FIRST: i64 = 1_788_264_000_000_000;
const DAY: i64 = 86_400_000_000;
const DAYS: [&str; 4] = ["--since", "2026-09-01", "--until", "2026-11-30"];
/// What a spreadsheet would run, and what a page would.
const NASTY: &str = "=HYPERLINK(\"http://x\",\"<b>&'\")";
const PAINTERS: [&str; 3] = ["Robin", "Kim", "<Sam & \"Co\">"];

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// The same numbers every time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

struct Bench {
    store: SqliteStore,
    ids: Ids,
    at: Stamp,
    by: By,
}

impl Bench {
    fn later(&mut self) -> Stamp {
        self.at.0 += 20_000_000;
        self.at
    }

    fn receive(&mut self, label: &str, toner: &TonerCode, price: Option<&str>) {
        let at = self.later();
        let price = price.map(|price| format!(",\"price\":\"{price}\"")).unwrap_or_default();
        let body = format!("{{\"label\":\"{label}\",\"toner\":\"{toner}\",\"net\":\"9000\"{price}}}");
        let (from, to) = (Account::Supplier("invented".into()), Account::Tin(label.to_owned()));
        let postings = moved(&from, &to, [(toner.clone(), grams("9000"))]).unwrap();
        let event = Envelope::alone("tin/received", body, postings, self.ids.event(at), at, &self.by);
        self.store.append(&event).unwrap();
    }

    fn record(&mut self, journal: &mut Journal, event: &Event) {
        let at = self.later();
        let envelope = journal.record(event, self.ids.event(at), at, &self.by).unwrap();
        self.store.append(&envelope).unwrap();
    }

    /// The next thing a painter does who pours too much now and then.
    fn step(dice: &mut Dice, mix: &Session) -> Event {
        match mix.phase() {
            Phase::Over(_) | Phase::Fouled => {
                let ways = mix.ways();
                let best = ways.iter().find(|choice| choice.way != Way::Restart).unwrap();
                mix.steer(best).unwrap()
            }
            Phase::Drawing => mix.take_drawn(mix.draw_to().unwrap(), How::Scale).unwrap(),
            Phase::Complete => mix.finish().unwrap(),
            _ => {
                let stop = mix.limits().division.round(mix.goal().unwrap().stop);
                let slip = if dice.below(12) == 0 { 5 + dice.below(20) } else { 0 };
                let slip = Grams::new(Decimal::new(i64::try_from(slip).unwrap(), 1));
                mix.take((stop + slip).max(mix.holds() + grams("0.1")), How::Scale).unwrap()
            }
        }
    }

    fn mix(&mut self, dice: &mut Dice, start: Start, number: u64) {
        let at = self.later();
        let begun = Event::Started(start);
        let (mix, id) = (self.ids.mix(at), self.ids.event(at));
        let (mut journal, first) = Journal::begin(mix, &begun, id, at, &self.by).unwrap();
        self.store.append(&first).unwrap();
        let lines: Vec<_> =
            journal.session().recipe().lines().iter().map(|line| line.toner.clone()).collect();
        for toner in lines {
            let tin = format!("T-{toner}");
            self.record(&mut journal, &Event::TinTaken { toner, tin, marks: None });
        }
        while journal.session().phase() != Phase::Finished {
            if number % 17 == 5 && journal.session().pours().len() == 2 {
                let event = journal.session().abandon("spilt on the floor").unwrap();
                return self.record(&mut journal, &event);
            }
            let event = Self::step(dice, journal.session());
            self.record(&mut journal, &event);
        }
        if number == 38 {
            return;
        }
        let part = Decimal::new(i64::try_from(dice.below(26)).unwrap(), 2);
        let keep = number.is_multiple_of(4);
        let reasons = ["mixed too much", "colour did not match", NASTY];
        let ending = Ending {
            left: journal.session().holds().times(part),
            keep,
            reason: Some(reasons[usize::try_from(number % 7 / 3).unwrap()].to_owned()).filter(|_| !keep),
            job: Some(format!("R-{}", 100 + number / 3)),
            ..Ending::default()
        };
        let event = journal.session().empty(ending, How::Scale).unwrap();
        self.record(&mut journal, &event);
    }
}

/// Forty mixes of the invented shop's colours, two days apart.
fn autumn() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    let Opened::ToWrite(store) = SqliteStore::open(&path, Stamp(FIRST)).unwrap() else {
        panic!("it is free")
    };
    let by = By { bench: "bench 1".into(), operator: "Robin".into() };
    let mut bench = Bench { store, ids: Ids::counted(7), at: Stamp(FIRST), by };
    let shop = Catalogue::demo();
    for (place, toner) in shop.toners.iter().enumerate() {
        let price = (place % 3 > 0).then_some("310.50");
        bench.receive(&format!("T-{}", toner.code), &toner.code, price);
    }
    let mut dice = Dice(3);
    for number in 0..40_u64 {
        bench.at = Stamp(FIRST + i64::try_from(number).unwrap() * 2 * DAY);
        PAINTERS[usize::try_from(number % 3).unwrap()].clone_into(&mut bench.by.operator);
        let colour = &shop.colours[usize::try_from(number).unwrap() % shop.colours.len()];
        let layer = &colour.layers[usize::try_from(number).unwrap() % colour.layers.len()];
        let recipe = Recipe::of_layer(&shop, colour, layer).unwrap();
        let order = (0..recipe.lines().len()).collect();
        let start = Start {
            recipe,
            volume: Millilitres::new(Decimal::from(200 + dice.below(6) * 50)),
            vessel: Vessel {
                name: "600".into(),
                brim: Millilitres::parse("650").unwrap(),
                tare: grams("21.8"),
            },
            limits: Limits { division: Division::TENTH, capacity: Some(grams("7500")) },
            order,
            version: None,
            job: None,
        };
        bench.mix(&mut dice, start, number);
    }
    (folder, path)
}

fn ask(book: &Path, args: &[&str]) -> Output {
    program()
        .env("TZ", "UTC")
        .arg("--demo-shop")
        .arg("--book")
        .arg(book)
        .args(args)
        .args(DAYS)
        .output()
        .unwrap()
}

fn said(book: &Path, args: &[&str]) -> String {
    let output = ask(book, args);
    assert_eq!((code(&output), err(&output).as_str()), (0, ""));
    out(&output)
}

fn told(book: &Path, args: &[&str]) -> Value {
    serde_json::from_str(&said(book, &[args, &["--json"]].concat())).unwrap()
}

fn mass(value: &Value) -> Grams {
    grams(value.as_str().unwrap_or_else(|| panic!("{value} is not text")))
}

const FATES: [&str; 6] = ["sprayed", "kept", "in_cup", "drawn_off", "thrown", "abandoned"];

#[test]
fn whatever_it_is_told_apart_by_the_rows_add_up() {
    let (_folder, book) = autumn();
    let mut totals = Vec::new();
    for by in ["day", "week", "month", "layer", "reason", "painter", "colour"] {
        let it = told(&book, &["waste", "--by", by]);
        let rows = it["rows"].as_array().unwrap();
        for part in [&["mixed", "wasted"][..], &FATES].concat() {
            for unit in ["mass_g", "cost"] {
                let sum: Grams = rows.iter().map(|row| mass(&row[part][unit])).sum();
                assert_eq!(sum, mass(&it["total"][part][unit]), "{by} {part} {unit}");
            }
        }
        let parts: Grams = FATES.iter().map(|fate| mass(&it["total"][*fate]["mass_g"])).sum();
        assert_eq!(parts, mass(&it["total"]["mixed"]["mass_g"]));
        assert!(
            FATES.iter().all(|fate| mass(&it["total"][*fate]["mass_g"]).is_positive()),
            "{}",
            it["total"]
        );
        totals.push(it["total"].clone());
    }
    totals.dedup();
    assert_eq!(totals.len(), 1);
    assert_eq!(totals[0]["mixes"], 40);
    let it = told(&book, &["waste"]);
    assert_eq!(it["unreadable"], 0);
    assert!(it["corrections"]["times"].as_u64().unwrap() > 5, "{}", it["corrections"]);
    assert!(mass(&it["corrections"]["against_growing"]["saved_g"]).is_positive());
    // Outside of these days there is nothing.
    let none = program()
        .env("TZ", "UTC")
        .args(["waste", "--json", "--since", "2020-01-01", "--until", "2020-12-31", "--book"])
        .arg(&book)
        .output()
        .unwrap();
    let none = json(&none);
    assert_eq!((none["total"]["mixes"].as_u64(), none["rows"].as_array().unwrap().len()), (Some(0), 53));
}

/// Every cell by its row and its column.
fn cells(csv: &str) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    reader.deserialize().map(Result::unwrap).collect()
}

#[test]
fn a_spreadsheet_has_plain_numbers_and_runs_nothing() {
    let (_folder, book) = autumn();
    let csv = said(&book, &["waste", "--by", "reason", "--csv"]);
    let rows = cells(&csv);
    assert!(rows.iter().any(|row| row["reason"] == format!("thrown away: {NASTY}")), "{csv}");
    let csv = said(&book, &["waste", "--by", "painter", "--csv"]);
    let it = told(&book, &["waste", "--by", "painter"]);
    let sum: Grams = cells(&csv).iter().map(|row| grams(&row["mixed_g"])).sum();
    assert_eq!(sum, mass(&it["total"]["mixed"]["mass_g"]));
    let csv = said(&book, &["waste", "--costs", "--csv"]);
    assert_eq!(cells(&csv).len(), 40);
    // A name that a spreadsheet would run is guarded; a number below nothing is none of those.
    let mut nasty = Bench {
        store: match SqliteStore::open(&book, Stamp(FIRST)).unwrap() {
            Opened::ToWrite(store) => store,
            Opened::ToLook { .. } => panic!("it is free"),
        },
        ids: Ids::counted(99),
        at: Stamp(FIRST),
        by: By { bench: "bench 1".into(), operator: "Robin".into() },
    };
    let at = nasty.later();
    let (tin, gone) = (Account::Tin("T-W10".into()), Account::Difference("counted".into()));
    let postings = moved(&gone, &tin, [(TonerCode::new("+W10"), grams("2.5"))]).unwrap();
    let event = Envelope::alone("tin/counted", "{}".into(), postings, nasty.ids.event(at), at, &nasty.by);
    nasty.store.append(&event).unwrap();
    drop(nasty);
    let csv = said(&book, &["use", "--csv"]);
    assert!(csv.contains("\r\n'+W10,,0.000000,0.000000,0.000000,-2.500000,0.000000\r\n"), "{csv}");
}

#[test]
fn use_is_told_apart_by_anything_and_adds_up() {
    let (_folder, book) = autumn();
    let all = told(&book, &["use"]);
    let poured = mass(&all["all"]["total"]["poured_g"]);
    let by_toner: Grams =
        all["all"]["toners"].as_object().unwrap().values().map(|own| mass(&own["poured_g"])).sum();
    assert_eq!(by_toner, poured);
    for by in ["day", "week", "month", "layer", "painter", "colour"] {
        let it = told(&book, &["use", "--by", by]);
        let sum: Grams =
            it["rows"].as_array().unwrap().iter().map(|row| mass(&row["total"]["poured_g"])).sum();
        assert_eq!(sum, poured, "{by}");
    }
    let white = told(&book, &["use", "--toner", "W10"]);
    assert_eq!(white["all"]["total"], all["all"]["toners"]["W10"]);
    let text = said(&book, &["use"]);
    assert!(text.contains("titanium white") && text.contains("days are those of UTC"), "{text}");
}

#[test]
fn the_text_says_it_in_signs_and_units_that_are_set() {
    let (folder, book) = autumn();
    let text = said(&book, &["waste"]);
    for says in ["2026-W36", "Toners that went over", "What was done about it", "Held against", "wasted"] {
        assert!(text.contains(says), "{says} in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().all(|c| !c.is_control())));
    // By reason a bar says what share of everything it is.
    let reasons = said(&book, &["waste", "--by", "reason"]);
    let it = told(&book, &["waste"]);
    let share = |part: &str| {
        let share =
            mass(&it["total"][part]["mass_g"]).share_of(mass(&it["total"]["mixed"]["mass_g"])).unwrap();
        share.percent(1)
    };
    for (says, part) in [("sprayed", "sprayed"), ("drawn off", "drawn_off"), ("kept", "kept")] {
        let mut lines = reasons.lines().filter(|line| line.trim_start().starts_with(&format!("{says}  ")));
        let line = lines.next().unwrap();
        assert!(line.contains(&share(part)), "{part}: {line}");
    }
    let settings = folder.path().join("settings.toml");
    fs::write(&settings, "decimal = \"comma\"\nmass = \"ounces\"\nsymbols = \"ascii\"\n").unwrap();
    let settings = settings.to_str().unwrap().to_owned();
    let text = said(&book, &["waste", "--settings", &settings]);
    assert!(text.contains("Masses are in oz") && text.contains("# sprayed") && !text.contains('█'), "{text}");
    let it = told(&book, &["waste"]);
    let ounces = mass(&it["total"]["mixed"]["mass_g"]).decimal() / grams("28.349523125").decimal();
    assert!(text.contains(&Grams::new(ounces).with_decimals(3).replace('.', ",")), "{text}");
    // Files are for programs: a point and grams.
    assert_eq!(told(&book, &["waste", "--settings", &settings]), it);
}

#[test]
fn what_cannot_be_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("none.sqlite");
    let output = ask(&book, &["waste"]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("there is no book yet"), "{}", err(&output));
    assert!(!book.exists());
    for (args, says) in [
        (&["waste", "--since", "2026-10-02", "--until", "2026-10-01"][..], "comes after the last"),
        (&["waste", "--since", "1.10.2026"], "is no day"),
        (&["use", "--last", "3h"], "is no length of time"),
        (&["use", "--last", "3d", "--since", "2026-10-01"], "cannot be used with"),
        (&["waste", "--json", "--csv"], "cannot be used with"),
        (&["waste", "--force"], "--html"),
    ] {
        let output = run(args);
        assert_eq!(code(&output), 2, "{args:?}: {}", err(&output));
        assert!(err(&output).contains(says), "{args:?}: {}", err(&output));
    }
}

/// The page's cells by section, row and column, from the one parse that a strict reader of XML makes of its body.
pub(crate) fn page_cells(body: &str) -> BTreeMap<String, Vec<Vec<String>>> {
    let document = roxmltree::Document::parse(body).unwrap();
    let mut found = BTreeMap::new();
    for section in document.descendants().filter(|node| node.has_tag_name("section")) {
        let rows = section.descendants().filter(|node| node.has_tag_name("tr"));
        let text = |node: roxmltree::Node<'_, '_>| {
            node.descendants()
                .filter_map(|inner| inner.text().filter(|_| inner.is_text()))
                .collect::<String>()
        };
        let row = |row: roxmltree::Node<'_, '_>| {
            row.children().filter(roxmltree::Node::is_element).map(text).collect()
        };
        found.insert(section.attribute("id").unwrap().to_owned(), rows.map(row).collect());
    }
    found
}

pub(crate) fn body(page: &str) -> &str {
    let start = page.find("<body>").unwrap();
    let end = page.find("</body>").unwrap() + "</body>".len();
    page.get(start..end).unwrap()
}

/// The rows of the sheet of a job, cell after cell: on the page no line is too long for a cell. `run` writes it.
pub(crate) fn sheet_rows(folder: &Path, run: impl FnOnce(&str)) -> (String, Vec<String>) {
    let file = folder.join("rows-of-sheet.html");
    run(&file.display().to_string());
    let page = fs::read_to_string(&file).unwrap();
    fs::remove_file(&file).unwrap();
    let rows = page_cells(body(&page)).into_values().flatten().map(|row| row.join("  ")).collect();
    (page, rows)
}

/// What the page's tables say must be what the JSON says, rounded as the page rounds.
fn holds_the_numbers(cells: &BTreeMap<String, Vec<Vec<String>>>, it: &Value) {
    let rows = &cells["rows"];
    let head = rows.first().unwrap();
    let told = it["rows"].as_array().unwrap().iter().chain([&it["total"]]);
    let shown: Vec<_> = rows.iter().skip(1).collect();
    assert_eq!(shown.len(), told.clone().count());
    let columns = [
        ("mixed, g", "mixed"),
        ("sprayed, g", "sprayed"),
        ("kept, g", "kept"),
        ("in the cup, g", "in_cup"),
        ("drawn off, g", "drawn_off"),
        ("thrown away, g", "thrown"),
        ("given up, g", "abandoned"),
        ("wasted, g", "wasted"),
    ];
    for (row, told) in shown.into_iter().zip(told) {
        assert_eq!(row[0], told["key"].as_str().unwrap());
        for (title, name) in columns {
            let place =
                head.iter().position(|cell| cell == title).unwrap_or_else(|| panic!("{title} in {head:?}"));
            assert_eq!(row[place], mass(&told[name]["mass_g"]).with_decimals(1), "{title} of {}", row[0]);
        }
    }
    let reasons = it["reasons"].as_array().unwrap();
    let names: Vec<_> = cells["reasons"].iter().skip(1).map(|row| row[0].as_str()).collect();
    let told: Vec<_> = reasons.iter().map(|row| row["key"].as_str().unwrap()).chain(["mixed"]).collect();
    assert_eq!(names, told);
    let over = it["toners"].as_array().unwrap().iter().filter(|toner| toner["over"] != 0).count();
    assert_eq!(cells["overs"].len(), over + 1);
}

#[test]
fn the_page_is_well_formed_and_holds_the_numbers_of_the_json() {
    let (folder, book) = autumn();
    let file = folder.path().join("waste.html");
    let name = file.to_str().unwrap();
    assert_eq!(said(&book, &["waste", "--by", "painter", "--html", name]), format!("written to {name}\n"));
    let page = fs::read_to_string(&file).unwrap();
    holds_the_numbers(&page_cells(body(&page)), &told(&book, &["waste", "--by", "painter"]));
    for never in ["<script", "<b>", "href=", "src=", "@import", "<Sam"] {
        assert!(!page.contains(never), "{never}");
    }
    // A namespace is no address; nothing else looks like one but what was typed.
    assert!(!page.replace("http://x", "").contains("http:"));
    let document = roxmltree::Document::parse(body(&page)).unwrap();
    let drawn = document.descendants().filter(|node| node.attribute("role") == Some("img"));
    assert_eq!(drawn.count(), 3);
    // Never over what is there, unless it is said.
    fs::write(&file, "a letter").unwrap();
    let output = ask(&book, &["waste", "--html", name]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("--force"), "{}", err(&output));
    assert_eq!(fs::read_to_string(&file).unwrap(), "a letter");
    said(&book, &["use", "--by", "week", "--html", name, "--force"]);
    let page = fs::read_to_string(&file).unwrap();
    let cells = page_cells(body(&page));
    assert_eq!(cells["rows"].len(), 1 + 14 + 1);
    let it = told(&book, &["use"]);
    assert_eq!(cells["toners"].last().unwrap()[2], mass(&it["all"]["total"]["received_g"]).with_decimals(1));
}

/// The browser of this machine; none if it has none, which is said, and is a fault where it was said to be there.
pub(crate) fn browser() -> Option<Browser> {
    let names = ["chromium", "chromium-browser", "google-chrome"];
    let path = std::env::var_os("PATH").unwrap_or_default();
    let folders: Vec<_> = std::env::split_paths(&path).collect();
    let found = names
        .iter()
        .flat_map(|name| folders.iter().map(move |folder| folder.join(name)))
        .find(|path| path.is_file());
    if found.is_none() {
        assert!(
            !std::env::var("POURBOOK_MUST_RUN").is_ok_and(|names| names.contains("chromium")),
            "there is no Chromium to look at the page with, and it was said to be there"
        );
        println!("not run: there is no Chromium on this machine");
    }
    Some(Browser { program: found?, profile: tempfile::tempdir().unwrap() })
}

/// A browser without a window, with a profile of its own.
pub(crate) struct Browser {
    program: PathBuf,
    profile: tempfile::TempDir,
}

impl Browser {
    pub(crate) fn look(&self, more: &[&str], file: &Path) -> Output {
        let flags = ["--headless", "--no-sandbox", "--disable-gpu", "--enable-logging=stderr", "--v=0"];
        let profile = format!("--user-data-dir={}", self.profile.path().display());
        let address = format!("file://{}", file.display());
        Command::new(&self.program).args(flags).args(more).arg(profile).arg(address).output().unwrap()
    }
}

/// What the page made the browser complain of.
pub(crate) fn complaints(output: &Output) -> Vec<String> {
    err(output).lines().filter(|line| line.contains("CONSOLE")).map(str::to_owned).collect()
}

#[test]
fn a_browser_shows_the_page_without_a_complaint() {
    let Some(browser) = browser() else { return };
    let (folder, book) = autumn();
    let file = folder.path().join("waste.html");
    said(&book, &["waste", "--by", "week", "--html", file.to_str().unwrap()]);
    let look = |more: &[&str], file: &Path| browser.look(more, file);
    let output = look(&["--dump-dom"], &file);
    assert!(output.status.success(), "{}", err(&output));
    assert_eq!(complaints(&output), [""; 0]);
    let seen = out(&output);
    holds_the_numbers(&page_cells(body(&seen)), &told(&book, &["waste", "--by", "week"]));
    assert!(seen.matches("<rect class=\"part ").count() > 40, "{seen}");
    // What would complain is heard.
    let bad = folder.path().join("bad.html");
    fs::write(&bad, "<!DOCTYPE html><title>x</title><script>console.error('heard')</script>").unwrap();
    assert_eq!(complaints(&look(&["--dump-dom"], &bad)).len(), 1);
    let picture = folder.path().join("page.png");
    let output = look(&[&format!("--screenshot={}", picture.display()), "--window-size=1000,1400"], &file);
    assert!(output.status.success(), "{}", err(&output));
    assert!(fs::read(&picture).unwrap().starts_with(b"\x89PNG"));
}
