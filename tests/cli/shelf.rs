//! The shelf, as the stores manager asks for it.

use crate::program::*;
use crate::weighed::{WHITE, from_tin, recipe, start, weighed};
use pourbook::book::{By, Envelope, Ids, SqliteStore, Store as _};
use pourbook::catalogue::{Catalogue, Role, TonerCode};
use pourbook::stock::{Receipt, StockEvent, TinName, receive};
use pourbook::units::{Decimal, Grams, Stamp, parse_decimal};
use std::path::PathBuf;
use std::process::Output;

const DAY: i64 = 86_400_000_000;

fn g(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

struct Tin {
    label: &'static str,
    toner: &'static str,
    net: &'static str,
    days_ago: i64,
    expires: Option<&'static str>,
    item: Option<&'static str>,
    supplier: Option<&'static str>,
}

/// A book with three tins, of which one was found to hold little.
fn stocked() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    let now = jiff::Timestamp::now().as_microsecond();
    let mut store = SqliteStore::open(&path, Stamp(now)).unwrap().into_parts().0;
    let by = By { bench: "bench 1".into(), operator: "Robin".into() };
    let mut ids = Ids::counted(1);
    let tins = [
        Tin {
            label: "24-031",
            toner: "W10",
            net: "1482",
            days_ago: 40,
            expires: Some("2999-12-31"),
            item: Some("=cmd"),
            supplier: Some("North, East"),
        },
        Tin {
            label: "24-032",
            toner: "W10",
            net: "1482",
            days_ago: 30,
            expires: None,
            item: Some("-7"),
            supplier: Some("North, East"),
        },
        Tin {
            label: "@old",
            toner: "K05",
            net: "500",
            days_ago: 30,
            expires: Some("2020-01-31"),
            item: None,
            supplier: None,
        },
    ];
    for tin in tins {
        let receipt = Receipt {
            tin: TinName { label: tin.label.into(), toner: TonerCode::new(tin.toner) },
            net: g(tin.net),
            empty: None,
            size: (tin.toner == "W10").then(|| "=1 L".into()),
            lot: Some("L=1".into()),
            expires: tin.expires.map(str::to_owned),
            price: None,
            item: tin.item.map(str::to_owned),
            supplier: tin.supplier.map(str::to_owned),
        };
        let event = receive(&receipt, None).unwrap();
        let at = Stamp(now - tin.days_ago * DAY);
        store.append(&event.envelope(ids.event(at), at, &by).unwrap()).unwrap();
    }
    for envelope in poured(&mut ids, now, &by) {
        store.append(&envelope).unwrap();
    }
    let row = pourbook::stock::tin(&store, "24-031").unwrap().unwrap();
    let count = pourbook::stock::count(&row, None, None, g("148.2"), Some("spilt")).unwrap();
    assert!(matches!(count, StockEvent::Counted(_)));
    let at = Stamp(now - DAY);
    store.append(&count.envelope(ids.event(at), at, &by).unwrap()).unwrap();
    (folder, path)
}

/// Mixes that pour white from the first tin: one on each of twenty days, the last one only begun.
fn poured(ids: &mut Ids, now: i64, by: &By) -> Vec<Envelope> {
    let label = |toner: &str| if toner == "W10" { "24-031".to_owned() } else { format!("other{toner}") };
    let one = |day: i64| {
        let start = start(recipe(&Catalogue::demo(), WHITE, Role::Ground), "100", "21.8");
        let mut all =
            weighed(start, (Stamp(now - day * DAY), 1_000_000), ids, by, |session| from_tin(session, label));
        if day == 1 {
            all.truncate(1);
        }
        all
    };
    (1..=20).rev().flat_map(one).collect()
}

/// A decimal of the answer, to its last digit.
fn exact(value: &serde_json::Value) -> Decimal {
    parse_decimal(value.as_str().unwrap()).unwrap()
}

fn shelf(book: &std::path::Path, args: &[&str]) -> Output {
    program().arg("--shop").arg(demo_shop()).arg("--book").arg(book).arg("shelf").args(args).output().unwrap()
}

#[test]
fn the_shelf_says_what_is_there_how_long_it_lasts_and_what_to_order() {
    let (_folder, book) = stocked();
    let value = json(&shelf(&book, &["--json"]));
    let toner = |code: &str| {
        let toners = value["toners"].as_array().unwrap();
        toners.iter().find(|one| one["toner"] == code).unwrap_or_else(|| panic!("no {code}")).clone()
    };
    let white = toner("W10");
    // 148.2 g of the first tin and 1482 g of the second.
    assert_eq!(exact(&white["holds_g"]), parse_decimal("1630.2").unwrap());
    assert_eq!(exact(&white["level"]), parse_decimal("0.55").unwrap());
    assert!(decimal(&white["used_g"]) > 0.0 && white["used_days"] == 40, "{white}");
    // The mix that is not done needs as much white as each of the others did.
    let needed = decimal(&white["needed_g"]);
    assert!((needed * 19.0 - decimal(&white["used_g"])).abs() < 19.0 * 0.06, "{white}");
    assert!(decimal(&white["lasts_days"]) > 1.0);
    let states: Vec<_> = white["tins"]
        .as_array()
        .unwrap()
        .iter()
        .map(|tin| (tin["tin"].as_str().unwrap(), tin["state"].as_str().unwrap()))
        .collect();
    assert_eq!(states, [("24-031", "open"), ("24-032", "unopened")]);
    // What has expired is not on the shelf, however full.
    let black = toner("K05");
    assert_eq!(exact(&black["holds_g"]), parse_decimal("0.0").unwrap());
    assert_eq!(black["tins"][0]["state"], "weigh it", "{black}");
    assert_eq!(black["tins"][1]["state"], "expired", "{black}");
    assert!(black["order"]["tins"].as_u64().unwrap() >= 1, "{black}");
    assert_eq!(exact(&black["order"]["tin_g"]), parse_decimal("500.0").unwrap());
}

#[test]
fn as_text_with_bars_of_plain_signs() {
    let (_folder, book) = stocked();
    let plain = |args: &[&str]| {
        let mut command = program();
        command.arg("--shop").arg(demo_shop()).arg("--book").arg(&book).arg("shelf").args(args);
        command.env("LC_ALL", "C").output().unwrap()
    };
    let output = plain(&[]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let text = out(&output);
    assert!(text.is_ascii(), "{text}");
    let white = text.lines().find(|line| line.starts_with("W10")).unwrap();
    assert!(
        white.contains("######....") && white.contains("1630.2") && white.contains("2999-12-31"),
        "{white}"
    );
    let black = text.lines().find(|line| line.starts_with("K05")).unwrap();
    assert!(black.contains("1 tin of 500 g"), "{black}");
    assert!(!text.contains("violet") && text.contains("more toners of the shop there is no tin"), "{text}");
    assert!(text.contains("By the book nothing is left in tin"), "{text}");
    let output = plain(&["w10"]);
    let text = out(&output);
    assert!(text.contains("time to order at") && text.contains("needed by mixes"), "{text}");
    let tin = text.lines().find(|line| line.starts_with("24-031")).unwrap();
    assert!(tin.contains("#.........  ") && tin.contains("148.2") && tin.contains("L=1"), "{text}");
    let output = plain(&["none"]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("'none'") && err(&output).contains("lists them all"), "{}", err(&output));
}

#[test]
fn an_order_can_be_sent_and_no_spreadsheet_runs_it() {
    let (_folder, book) = stocked();
    let output = shelf(&book, &["--order"]);
    assert_eq!(code(&output), 0);
    assert!(
        out(&output).lines().any(|line| line.contains("of 500 g") && line.contains("K05")),
        "{}",
        out(&output)
    );
    assert!(err(&output).contains("on order already"), "{}", err(&output));
    // Orders that take half a year want white too.
    let folder = tempfile::tempdir().unwrap();
    let settings = folder.path().join("settings.toml");
    std::fs::write(&settings, "[order]\nlead-days = 180\nservice = \"99 %\"\n").unwrap();
    let mut command = program();
    command.arg("--settings").arg(&settings).arg("--shop").arg(demo_shop()).arg("--book").arg(&book);
    let csv = out(&command.args(["shelf", "--order", "--csv"]).output().unwrap());
    let lines: Vec<&str> = csv.split("\r\n").collect();
    assert_eq!(lines[0], "toner,name,item,supplier,tins,tin_g,mass_g,for_jobs_g,whole_g,size");
    let white = lines.iter().find(|line| line.starts_with("W10,")).unwrap();
    assert!(white.contains(",'-7,\"North, East\",") && white.ends_with(",'=1 L"), "{white}");
    let tins = out(&shelf(&book, &["K05", "--csv"]));
    assert!(tins.contains("K05,'@old,500.000000,500.000000,1,expired,2020-01-31,"), "{tins}");
    let all = out(&shelf(&book, &["--csv"]));
    let width = all.lines().next().unwrap().split(',').count();
    assert!(all.lines().all(|line| line.contains('"') || line.split(',').count() == width), "{all}");
}

#[test]
fn without_a_book_it_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let output = shelf(&folder.path().join("none.sqlite"), &[]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("there is no book yet"), "{}", err(&output));
    assert_eq!(code(&shelf(&folder.path().join("none.sqlite"), &["--order", "W10"])), 2);
    assert_eq!(code(&shelf(&folder.path().join("none.sqlite"), &["--days", "3"])), 2);
}
