//! Tins received, counted and traced, by the real program, in a book of its own.

use crate::figures::{body, browser, complaints, page_cells};
use crate::program::*;
use crate::weighed::{WHITE, from_tin, put, recipe, robin, sprayed_on, start, weighed};
use pourbook::book::{Ids, Ledger as _, MixId, Store as _};
use pourbook::catalogue::{Catalogue, Role};
use pourbook::units::{Grams, Stamp};
use std::fs;
use std::path::Path;
use std::process::Output;

fn with_book(folder: &Path, args: &[&str]) -> Output {
    program().arg("--demo-shop").arg("--book").arg(folder.join("book.sqlite")).args(args).output().unwrap()
}

#[test]
fn a_tin_is_received_once_and_counted() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| with_book(folder.path(), args);
    let args = ["receive", "24-1", "w10", "1000", "--lot", "L1", "--empty", "110.5", "--by", "Robin"];
    assert_eq!(told(&run(&args)), "tin 24-1: W10, 1000 g, lot L1\n");
    let again = run(&args);
    assert_eq!(code(&again), 1);
    assert!(err(&again).contains("tin 24-1 was received before: a label is used once"), "{}", err(&again));
    let unknown = run(&["receive", "24-2", "W99", "1000"]);
    assert!(code(&unknown) == 1 && err(&unknown).contains("toner 'W99' is not in the shop's toners"));
    let day = run(&["receive", "24-2", "W10", "1000", "--expires", "31.12.2026"]);
    assert!(code(&day) == 1 && err(&day).contains("'31.12.2026' is no day"), "{}", err(&day));

    // 600.5 g with a tin of 110.5 g.
    let counted = run(&["count", "24-1", "--gross", "600.5", "--why", "spilt"]);
    assert_eq!(told(&counted), "tin 24-1 (W10): 490 g, the book said 1000 g: 510 g are missing\n");
    let counted = json(&run(&["count", "24-1", "--found", "500", "--json"]));
    assert_eq!(keys(&counted), ["booked_g", "found_g", "label", "missing_g", "toner", "unnamed_g"]);
    assert_eq!(
        (counted["found_g"].as_str(), counted["missing_g"].as_str()),
        (Some("500.000000"), Some("-10.000000"))
    );
    let other = run(&["count", "24-1", "--found", "0", "--toner", "K05"]);
    assert!(
        code(&other) == 1 && err(&other).contains("by the book tin 24-1 holds W10, not K05"),
        "{}",
        err(&other)
    );
    let unknown = run(&["count", "99", "--found", "0"]);
    assert!(code(&unknown) == 1 && err(&unknown).contains("--toner CODE"), "{}", err(&unknown));
    assert_eq!(
        told(&run(&["count", "99", "--found", "0", "--toner", "k05"])),
        "tin 99 (K05): 0 g, the book said 0 g: as it should be\n"
    );
    assert_eq!(code(&run(&["count", "24-1"])), 2);

    let store = pourbook::book::open_to_look(&folder.path().join("book.sqlite")).unwrap();
    let held: Vec<_> = store
        .balances()
        .unwrap()
        .iter()
        .map(|balance| format!("{} {} {}", balance.account, balance.toner, balance.micrograms))
        .collect();
    assert_eq!(
        held,
        [
            "difference: W10 -10000000",
            "difference:spilt W10 510000000",
            "supplier: W10 -1000000000",
            "tin:24-1 W10 500000000"
        ]
    );
    // One receipt, three counts.
    let checked = out(&run(&["check"]));
    assert!(checked.contains("0 mixes, 4 events, every gram accounted for"), "{checked}");
}

/// What was poured without a tin's name is found by the count of the tin that lacks it: it is poured once, and missing is only
/// what nobody poured.
#[test]
fn a_count_finds_what_was_poured_without_a_name() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    let run = |args: &[&str]| with_book(folder.path(), args);
    // So much white, each time, out of a tin that nobody names.
    let pour = || {
        let at = Stamp(jiff::Timestamp::now().as_microsecond());
        let start = start(recipe(&Catalogue::demo(), WHITE, Role::Ground), "350", "0");
        put(&book, &weighed(start, (at, 0), &mut Ids::fresh(), &robin(), |_| None));
        let shelf = json(&run(&["shelf", "--json"]));
        let rows = shelf["toners"].as_array().unwrap().clone();
        Grams::parse(rows.iter().find(|row| row["toner"] == "W10").unwrap()["unnamed_g"].as_str().unwrap())
            .unwrap()
    };
    told(&run(&["receive", "26-1", "W10", "2000", "--empty", "110.5"]));
    let once = pour();
    assert!(once > Grams::parse("100").unwrap(), "{once}");
    let g = |text: &str| Grams::parse(text).unwrap();
    let left = g("2000") - once - g("4.3");
    let counted = json(&run(&["count", "26-1", "--found", &left.to_string(), "--json"]));
    let mass = |key: &str| Grams::parse(counted[key].as_str().unwrap()).unwrap();
    assert_eq!((mass("unnamed_g"), mass("missing_g"), mass("booked_g")), (once, g("4.3"), g("2000")));
    let daily = |what: &str| {
        let store = pourbook::book::open_to_look(&book).unwrap();
        let daily = store.daily(i64::MIN, i64::MAX).unwrap().into_iter();
        daily.filter(|row| row.what == what && row.toner.as_str() == "W10").map(|row| row.mass).sum::<Grams>()
    };
    assert_eq!((daily("poured"), daily("missing")), (once, g("4.3")));
    assert_eq!(pour(), once);
    let now = left - once - g("2");
    let lacks = once + g("2");
    assert_eq!(
        told(&run(&["count", "26-1", "--found", &now.to_string()])),
        format!(
            "tin 26-1 (W10): {now} g, the book said {left} g: of {lacks} g, {once} g were poured without a tin's name; 2 g are \
             missing\n"
        )
    );
    assert_eq!(pour(), once);
    let rest = now - once;
    assert_eq!(
        told(&run(&["count", "26-1", "--found", &rest.to_string()])),
        format!(
            "tin 26-1 (W10): {rest} g, the book said {now} g: {once} g were poured without a tin's name\n"
        )
    );
    // Said to be empty, as an empty tin is: what it lacks is a pour, and the rest a difference. Said twice, it is said once.
    assert_eq!(pour(), once);
    let empty = told(&run(&["tin", "emptied", "26-1", "26-1"]));
    let first = format!(
        "tin 26-1 (W10): empty, the book said {rest} g, {once} g of that poured without a tin's name\n"
    );
    assert_eq!(empty, format!("{first}tin 26-1 (W10): empty, the book said 0 g\n"));
    let missing = g("6.3") + rest - once;
    assert_eq!((daily("poured"), daily("missing")), (once + once + once + once, missing));
    let checked = out(&run(&["check"]));
    assert!(checked.contains("every gram accounted for"), "{checked}");
    let store = pourbook::book::open_to_look(&book).unwrap();
    let unnamed = store.held("tin?").unwrap();
    assert!(unnamed.iter().all(|held| held.toner.as_str() != "W10"), "{unnamed:?}");
}

#[test]
fn a_delivery_is_received_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    let table = folder.path().join("delivery.csv");
    let run = |args: &[&str]| with_book(folder.path(), args);
    let path = table.to_str().unwrap();
    fs::write(&table, "label;toner;net;lot\n24-1;W10;1000;L1\n24-2;W99;500;L2\n24-3;K05;much;L3\n").unwrap();
    let wrong = run(&["receive", "--csv", path]);
    assert_eq!(code(&wrong), 1);
    let said = err(&wrong);
    assert!(
        said.contains("nothing was written")
            && said.contains("line 3: toner 'W99'")
            && said.contains("line 4: net: 'much'"),
        "{said}"
    );
    assert!(
        pourbook::book::open_to_look(&folder.path().join("book.sqlite"))
            .unwrap()
            .balances()
            .unwrap()
            .is_empty()
    );
    fs::write(&table, "label;toner;net;lot\n24-1;W10;1000;L1\n24-3;K05;0,5 kg;L3\n").unwrap();
    let done = json(&run(&["receive", "--csv", path, "--json"]));
    let received = done["received"].as_array().unwrap();
    assert_eq!(received.len(), 2);
    assert_eq!((received[1]["label"].as_str(), received[1]["net"].as_str()), (Some("24-3"), Some("500.0")));
    let again = run(&["receive", "--csv", path]);
    assert!(err(&again).contains("line 2: tin 24-1 was received before"), "{}", err(&again));
    assert_eq!(code(&run(&["receive", "--csv", "no-such.csv"])), 1);
    assert_eq!(code(&run(&["receive", "24-9"])), 2);
}

/// A mix of the invented shop, poured from tins named after their toners, and sprayed on a repair.
fn sprayed(book: &Path, job: &str) -> MixId {
    let start = start(recipe(&Catalogue::demo(), WHITE, Role::Ground), "350", "0");
    let all = weighed(start, (Stamp(1_750_000_000_000_000), 0), &mut Ids::fresh(), &robin(), |session| {
        from_tin(session, |toner| format!("T-{toner}")).or_else(|| sprayed_on(session, Some(job)))
    });
    put(book, &all);
    all[0].subject
}

/// What a person reads is as it is set, 28.349523125 g an ounce (NIST Handbook 44, appendix C); what another program reads
/// is not.
#[test]
fn masses_are_said_as_they_are_set_and_json_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let settings = folder.path().join("settings.toml");
    std::fs::write(&settings, "decimal = \"comma\"\nmass = \"ounces\"\n").unwrap();
    let settings = settings.to_str().unwrap();
    let run = |args: &[&str]| with_book(folder.path(), &[args, &["--settings", settings]].concat());
    sprayed(&folder.path().join("book.sqlite"), "R-7");
    let received = told(&run(&["receive", "T-W10", "W10", "1000", "--lot", "L1"]));
    assert_eq!(received, "tin T-W10: W10, 35,274 oz, lot L1\n");
    let lot = run(&["trace", "lot", "L1"]);
    let poured =
        json(&run(&["trace", "lot", "L1", "--json"]))["uses"][0]["mass_g"].as_str().unwrap().to_owned();
    let ounce = Grams::parse("28.349523125").unwrap();
    let ounces = Grams::parse(&poured).unwrap().decimal() / ounce.decimal();
    let ounces = Grams::new(ounces).with_decimals(4).replace('.', ",");
    assert!(told(&lot).contains("ounces") && told(&lot).contains(&ounces), "{ounces}: {}", told(&lot));
    assert!(!told(&lot).contains("grams"), "{}", told(&lot));
    told(&run(&["receive", "24-2", "W10", "1000"]));
    assert_eq!(
        told(&run(&["count", "24-2", "--found", "500"])),
        "tin 24-2 (W10): 17,637 oz, the book said 35,274 oz: 17,637 oz are missing\n"
    );
    let counted = json(&run(&["count", "24-2", "--found", "600", "--json"]));
    assert_eq!(
        (counted["found_g"].as_str(), counted["missing_g"].as_str()),
        (Some("600.000000"), Some("-100.000000"))
    );
}

#[test]
fn a_lot_is_followed_to_the_repair_and_back() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| with_book(folder.path(), args);
    let none = run(&["trace", "lot", "L1"]);
    assert!(code(&none) == 1 && err(&none).contains("there is no book yet"), "{}", err(&none));
    let mix = sprayed(&folder.path().join("book.sqlite"), "R-7");
    told(&run(&["receive", "T-W10", "W10", "1000", "--lot", "L1", "--expires", "2026-12-31"]));
    let text = told(&run(&["trace", "lot", "L1"]));
    let lines: Vec<_> = text.lines().collect();
    assert_eq!(lines[0], "tin    toner  lot  use until");
    assert_eq!(lines[1], "T-W10  W10    L1   2026-12-31");
    assert!(
        lines[3].starts_with("mix  begun") && lines[4].contains("PB-3140") && lines[4].ends_with("tin T-W10"),
        "{text}"
    );
    assert!(lines[4].contains("  R-7  ") && lines.len() == 5, "{text}");
    let lot = json(&run(&["trace", "lot", "L1", "--json"]));
    assert_eq!(keys(&lot), ["jobs", "lots", "tins", "uses"]);
    assert_eq!(lot["jobs"][0], "R-7");
    let of_mix = json(&run(&["trace", "mix", "1", "--json"]));
    let of_job = json(&run(&["trace", "job", "R-7", "--json"]));
    assert_eq!(of_mix, of_job);
    let used = of_mix["uses"].as_array().unwrap().iter().find(|used| used["toner"] == "W10").unwrap().clone();
    assert_eq!(used, lot["uses"][0]);
    assert_eq!(
        (used["mix_id"].as_str(), used["from"].as_str()),
        (Some(mix.to_string().as_str()), Some("tin:T-W10"))
    );
    assert!(decimal(&used["mass_g"]) > 100.0);
    // As it is typed at the bench: other capitals, and a job by how its name begins.
    assert_eq!(told(&run(&["trace", "lot", "l1"])), text);
    told(&run(&["job", "open", "R-7", "--colour", "gannet", "--panel", "bonnet"]));
    assert_eq!(json(&run(&["trace", "job", "r-", "--json"])), of_job);
    let by_toner = |code: &str| run(&["use", "--last", "9999d", "--by", "week", "--toner", code]);
    assert!(told(&by_toner("w10")).contains("W10"), "{}", told(&by_toner("w10")));
    assert_eq!(told(&by_toner("w10")), told(&by_toner("W10")));
    let nobodys = by_toner("NOPE");
    assert!(code(&nobodys) == 1 && err(&nobodys).contains("toner 'NOPE' is neither"), "{}", err(&nobodys));
    for (args, said, ends) in [
        (["trace", "lot", "L9"], "there is no tin of lot L9", 1),
        (["trace", "job", "R-9"], "there is no mix that was sprayed on R-9", 1),
        (["trace", "mix", "9"], "there is no mix 9", 1),
        (["trace", "mix", "x"], "'x' is no mix: write its number, as 12", 2),
    ] {
        let output = run(&args);
        assert!(code(&output) == ends && err(&output).contains(said), "{}", err(&output));
    }
}

#[test]
fn what_happens_to_tins_and_lots_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| with_book(folder.path(), args);
    assert_eq!(told(&run(&["tin", "stirred"])), "no open tin is on the rack: nothing to stir\n");
    for (label, toner) in [("24-1", "W10"), ("24-2", "K05"), ("24-3", "B15")] {
        told(&run(&["receive", label, toner, "1000", "--lot", "L1"]));
    }
    let unknown = run(&["tin", "opened", "24-1", "24-9"]);
    assert!(code(&unknown) == 1 && err(&unknown).contains("nothing of a tin 24-9"), "{}", err(&unknown));
    // Of all of them or of none: the first was not opened either.
    assert_eq!(told(&run(&["tin", "stirred"])), "no open tin is on the rack: nothing to stir\n");
    assert_eq!(
        told(&run(&["tin", "opened", "24-1", "24-2"])),
        "tin 24-1 (W10): open\ntin 24-2 (K05): open\n"
    );
    assert_eq!(told(&run(&["tin", "stirred"])), "tin 24-1 (W10): stirred\ntin 24-2 (K05): stirred\n");
    assert_eq!(told(&run(&["tin", "stirred", "24-3", "--by", "Robin"])), "tin 24-3 (B15): stirred\n");
    assert_eq!(told(&run(&["tin", "emptied", "24-2"])), "tin 24-2 (K05): empty, the book said 1000 g\n");
    assert_eq!(code(&run(&["tin", "discarded", "24-3"])), 2);
    let json = json(&run(&["tin", "discarded", "24-3", "--why", "dried up", "--json"]));
    assert_eq!(json["told"][0]["reason"], "dried up");
    let gone = run(&["tin", "stirred", "24-3"]);
    assert!(code(&gone) == 1 && err(&gone).contains("tin 24-3 was thrown away"), "{}", err(&gone));
    let recalled = run(&["tin", "recalled", "L1", "--toner", "w10", "--why", "specks"]);
    assert_eq!(told(&recalled), "lot L1 of W10: called back\n");
    let shelf = told(&run(&["shelf", "W10", "--csv"]));
    assert!(shelf.contains(",called back,"), "{shelf}");
    let store = pourbook::book::open_to_look(&folder.path().join("book.sqlite")).unwrap();
    let held: Vec<_> = store
        .balances()
        .unwrap()
        .iter()
        .filter(|balance| !balance.account.to_string().starts_with("supplier"))
        .map(|balance| format!("{} {} {}", balance.account, balance.toner, balance.micrograms))
        .collect();
    assert_eq!(
        held,
        [
            "difference:said to be empty K05 1000000000",
            "tin:24-1 W10 1000000000",
            "waste:tin:dried up B15 1000000000"
        ]
    );
}

/// The shelf, one toner of it, an order and a trace are pages too: well-formed, with the numbers of their JSON, and no browser
/// complains of them.
#[test]
fn the_shelf_and_a_trace_as_pages() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| with_book(folder.path(), args);
    told(&run(&["receive", "T-W10", "W10", "1000", "--lot", "L1", "--expires", "2030-12-31"]));
    sprayed(&folder.path().join("book.sqlite"), "R-7");
    let page = |args: &[&str]| {
        let file = folder.path().join(format!("{}.html", args.join("-")));
        let name = file.display().to_string();
        told(&run(&[args, &["--html", &name]].concat()));
        if let Some(browser) = browser() {
            let seen = browser.look(&["--dump-dom"], &file);
            assert!(seen.status.success() && complaints(&seen).is_empty(), "{args:?}: {}", err(&seen));
        }
        std::fs::read_to_string(&file).unwrap()
    };
    let shown = |exact: &serde_json::Value| {
        pourbook::units::Grams::parse(exact.as_str().unwrap()).unwrap().with_decimals(1)
    };
    let row_of = |page: &str, section: &str, key: &str| {
        let cells = page_cells(body(page));
        cells[section].iter().find(|row| row.iter().any(|cell| cell == key)).unwrap().clone()
    };
    let rects = |page: &str| page.matches("<rect class=\"part ").count();

    let shelf = page(&["shelf"]);
    let of_json = json(&run(&["shelf", "--json"]));
    let white =
        of_json["toners"].as_array().unwrap().iter().find(|one| one["toner"] == "W10").unwrap().clone();
    assert!(row_of(&shelf, "toners", "W10").contains(&shown(&white["holds_g"])), "{white}");
    assert!(rects(&shelf) >= 2, "what is left of it, and what is gone");
    let tins = page(&["shelf", "W10"]);
    assert!(row_of(&tins, "tins", "T-W10").contains(&shown(&white["tins"][0]["holds_g"])), "{white}");
    assert!(row_of(&tins, "tins", "T-W10").contains(&"1000.0".to_owned()));
    page(&["shelf", "--order"]);

    let lot = json(&run(&["trace", "lot", "L1", "--json"]));
    let traced = page(&["trace", "lot", "L1"]);
    let row = row_of(&traced, "uses", "W10");
    assert!(row.contains(&shown(&lot["uses"][0]["mass_g"])) && row.contains(&"L1".to_owned()), "{row:?}");
    assert!(row.contains(&"R-7".to_owned()) && rects(&traced) == 1, "{row:?}");
    let csv = told(&run(&["trace", "lot", "L1", "--csv"]));
    let cells: Vec<&str> = csv.lines().nth(1).unwrap().split(',').collect();
    assert_eq!(cells.len(), csv.lines().next().unwrap().split(',').count());
    assert!(cells.contains(&lot["uses"][0]["mass_g"].as_str().unwrap()) && cells.contains(&"T-W10"), "{csv}");
    // Never over what is there, unless it is said.
    let there = folder.path().join("shelf.html").display().to_string();
    assert!(err(&run(&["shelf", "--html", &there])).contains("--force"));
    told(&run(&["shelf", "--html", &there, "--force"]));
}
