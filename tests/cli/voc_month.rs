//! `voc --month`: how much solvent went up in a month, by the product each mix was made with.

use crate::program::*;
use crate::voc::{DAY, OCTOBER, OTHER, Shop, mix};
use crate::weighed::put;
use pourbook::book::Ids;
use pourbook::catalogue::{Catalogue, Role};
use pourbook::units::Stamp;
use serde_json::Value;
use std::fs;

/// October: binder 100 g with 50 g in it, white 75 g with 15, pearl 100 g with 70 by the product; 60 g of which nobody knows.
#[test]
fn a_month() {
    let shop = Shop::new();
    let value = json(&shop.voc(&["--month", "2026-10", "--json"]));
    let toners = value["toners"].as_array().unwrap();
    let of =
        |code: &str| toners.iter().find(|one| one["toner"] == code).unwrap_or_else(|| panic!("no {code}"));
    assert_eq!(of("B1")["voc_g"], "50.000000");
    assert_eq!(of("W1")["voc_g"], "15.000000");
    assert_eq!(of("P1")["voc_g"], "70.000000");
    assert_eq!((&of("X1")["voc_g"], &of("X1")["poured_g"]), (&Value::Null, &Value::from("60.000000")));
    assert!(toners.iter().all(|one| one["toner"] != "C1"), "that was in November");
    assert_eq!(value["voc_g"], "135.000000");
    assert_eq!(value["unknown_g"], "60.000000");
    assert_eq!(value["is_complete"], false);

    let text = out(&shop.voc(&["--month", "2026-10"]));
    // 135 g / 453.59237
    assert!(text.contains("VOC: at least 0.135 kg (0.298 lb)"), "{text}");
    assert!(text.contains("UNKNOWN, and not counted as nothing: 60.0 g poured."), "{text}");
    assert!(text.contains("  X1: 60.0 g in mixes 1: no VOC data"), "{text}");
    // The undercoat has no product in this shop; that the pearl is of the first for pearls is a guess.
    let products: Vec<(&str, &str, &str)> = value["products"]
        .as_array()
        .unwrap()
        .iter()
        .map(|of| {
            (
                of["product"].as_str().unwrap_or("?"),
                of["voc_g"].as_str().unwrap(),
                of["poured_g"].as_str().unwrap(),
            )
        })
        .collect();
    let expected = [
        ("?", "25.000000", "110.000000"),
        ("GC", "40.000000", "125.000000"),
        ("PC", "70.000000", "100.000000"),
    ];
    assert_eq!(products, expected);
    assert!(text.contains("2 of 3 mixes do not say with what product they were made"), "{text}");
    let csv = out(&shop.voc(&["--month", "2026-11", "--csv"]));
    assert_eq!(
        csv,
        "toner,name,poured_g,volume_ml,voc_g,exempt_g,unknown_g,unknown\r\nC1,clear binder,100.000000,100.000000,48.000000,0.000000,0.000000,\r\n"
    );
    assert!(out(&shop.voc(&["--month", "2026-09"])).contains("Nothing was poured"));
    assert_eq!(code(&shop.voc(&["--month", "2026-9"])), 2);
}

/// The pearl's sheet speaks of it in a pearl coat, 700 g/L, and not in a ground coat whose product says nothing.
#[test]
fn a_toner_in_two_products() {
    let shop = Shop::new();
    // The other colour, with pearl alone in its ground coat.
    let colour = OTHER.replace("PB-2", "PB-3").replace("\"B1\"", "\"P1\"");
    fs::write(shop.path("shop").join("colours/pb-3.toml"), colour).unwrap();
    shop.mixed_too("PB-3", Role::Ground, "30");
    shop.mixed_too("PB-3", Role::Pearl, "20");
    let value = json(&shop.voc(&["--month", "2026-11", "--json"]));
    let pearl = value["toners"].as_array().unwrap().iter().find(|one| one["toner"] == "P1").unwrap();
    assert_eq!((&pearl["poured_g"], &pearl["voc_g"]), (&Value::from("50.000000"), &Value::from("14.000000")));
    assert_eq!(
        (&pearl["unknown_g"], &pearl["unknown_in_mixes"]),
        (&Value::from("30.000000"), &serde_json::json!([5]))
    );
    let text = out(&shop.voc(&["--month", "2026-11"]));
    assert!(text.contains("at least 14.0") && text.contains("P1: 30.0 g in mixes 5: no VOC data"), "{text}");
    assert_eq!(value["is_complete"], false);
}

/// Half an hour before midnight by UTC is half an hour into November where the clocks are an hour on.
#[test]
fn a_month_ends_by_the_clock_on_the_wall() {
    let shop = Shop::new();
    let catalogue = Catalogue::load(&shop.path("shop"));
    let late = Stamp(OCTOBER + 16 * DAY + 41_400_000_000);
    put(&shop.path("book.sqlite"), &mix(&catalogue, ("PB-1", Role::Clear, "10"), late, &mut Ids::fresh()));
    let clear = |zone: &str, month: &str| {
        let mut program = program();
        program
            .env("TZ", zone)
            .arg("--shop")
            .arg(shop.path("shop"))
            .arg("--book")
            .arg(shop.path("book.sqlite"));
        let output = program.args(["voc", "--month", month, "--json"]).output().unwrap();
        let value = json(&output);
        let toners = value["toners"].as_array().unwrap();
        toners.iter().find(|one| one["toner"] == "C1").map(|one| one["poured_g"].as_str().unwrap().to_owned())
    };
    assert_eq!(clear("UTC", "2026-10").as_deref(), Some("10.000000"));
    assert_eq!(clear("UTC", "2026-11").as_deref(), Some("100.000000"));
    assert_eq!(clear("CET-1", "2026-10"), None);
    assert_eq!(clear("CET-1", "2026-11").as_deref(), Some("110.000000"));
}
