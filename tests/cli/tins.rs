//! A clear that has no formula and comes out of the tin, from the order to the job sheet, by the real program.

use crate::program::*;
use pourbook::book::{By, Ids, JobsOf, Journal, Ledger as _, Opened, SqliteStore, Store as _};
use pourbook::catalogue::{Catalogue, Role};
use pourbook::job::{Job, JobJournal, readied};
use pourbook::mix::{Ending, Event, How, Limits, Recipe, Start, Vessel, order};
use pourbook::units::{Decimal, Division, Grams, Millilitres, Stamp};
use serde_json::Value;
use std::path::Path;

/// What the program says of a book of the shop in that folder, or else of the invented one.
fn run(folder: &Path, args: &[&str]) -> String {
    let mut command = program();
    let shop = folder.join("shop");
    if shop.exists() {
        command.arg("--shop").arg(shop);
    } else {
        command.arg("--demo-shop");
    }
    command.arg("--book").arg(folder.join("book.sqlite")).args(args);
    let output = command.output().unwrap();
    assert_eq!(code(&output), 0, "{args:?}: {}", err(&output));
    // Of a layer of which nobody knows what it needs the order says so.
    assert!(!err(&output).contains("not counted in"), "{args:?}: {}", err(&output));
    out(&output)
}

fn told(folder: &Path, args: &[&str]) -> Value {
    serde_json::from_str(&run(folder, args)).unwrap()
}

/// A job of the shop's tailgate, 1.3 m², with these layers alone.
fn opened(folder: &Path, name: &str, colour: &str, without: &[&str]) {
    let mut args = vec!["job", "open", name, "--colour", colour, "--panel", "tailgate"];
    args.extend(without.iter().flat_map(|role| ["--without", role]));
    run(folder, &args);
}

const ALL_BUT_CLEAR: [&str; 4] = ["undercoat", "ground", "pearl", "blender"];

fn number(value: &Value) -> Decimal {
    value.as_str().unwrap().parse().unwrap()
}

fn near(value: &Value, expected: Decimal) {
    assert!((number(value) - expected).abs() < Decimal::new(1, 4), "{value}: {expected}");
}

/// By the sheet: 1.3 m² in two coats of 27.5 µm of 45 %, 60 % of it on the car, and 40 mL in the gun, 304.81 mL; 2 : 1 :
/// 0.3 by volume.
#[test]
fn jobs_have_amounts_of_a_clear_and_the_order_has_its_tin() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    opened(folder, "26-301", "PB-3140", &ALL_BUT_CLEAR);
    let amounts = told(folder, &["job", "amounts", "26-301", "--json"]);
    let clear = &amounts["layers"][0];
    assert_eq!((clear["layer"].as_str(), clear["product"].as_str()), (Some("clear"), Some("CC-6")));
    assert_eq!(clear["estimate_ml"], "304.814815");
    assert_eq!((clear["mix_ml"].as_str(), clear["lacks"].as_str()), (Some("305.000000"), None));
    near(&clear["colour_ml"], Decimal::from(305 * 2) / Decimal::new(33, 1));
    assert!(run(folder, &["job", "amounts", "26-301"]).contains("clear: 305 mL: the estimate alone"));

    let shop = Catalogue::demo();
    let order = told(folder, &["shelf", "--order", "--json"]);
    let rows = order["toners"].as_array().unwrap();
    for (toner, parts) in [("V90", "2"), ("H60", "1"), ("T70", "0.3")] {
        let row = rows.iter().find(|row| row["toner"] == toner).unwrap();
        let volume = Decimal::from(305) * parts.parse::<Decimal>().unwrap() / Decimal::new(33, 1);
        let mass = shop.toner(toner).unwrap().density.mass_of(Millilitres::new(volume));
        near(&row["for_jobs_g"], mass.decimal());
    }
    let needed = rows.iter().filter(|row| row["for_jobs_g"] != "0.000000");
    assert_eq!(needed.count(), 3, "nothing else is needed");
}

#[test]
fn the_other_finishes_have_amounts_for_every_layer_too() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    opened(folder, "26-302", "PB-2219", &["undercoat", "blender"]);
    opened(folder, "26-303", "PB-1121", &["undercoat"]);
    for (job, products) in [("26-302", vec!["BC-3", "CC-6"]), ("26-303", vec!["SS-7"])] {
        let amounts = told(folder, &["job", "amounts", job, "--json"]);
        let layers = amounts["layers"].as_array().unwrap();
        let of = |key: &str| layers.iter().map(|layer| layer[key].as_str()).collect::<Vec<_>>();
        assert_eq!(of("product"), products.into_iter().map(Some).collect::<Vec<_>>());
        assert!(of("colour_ml").iter().all(Option::is_some) && of("lacks").iter().all(Option::is_none));
    }
}

#[test]
fn what_to_weigh_of_a_clear() {
    let command = ["targets", "PB-3140", "--layer", "clear", "--volume", "330 mL", "--ready", "--json"];
    let folder = tempfile::tempdir().unwrap();
    let targets = told(folder.path(), &command);
    let pours = targets["pours"].as_array().unwrap().iter();
    let shown: Vec<_> =
        pours.map(|pour| (pour["toner"].as_str().unwrap(), pour["shown_g"].as_str().unwrap())).collect();
    assert_eq!(shown, [("V90", "195.2"), ("H60", "106.4"), ("T70", "26.0")]);
    let unknown = program()
        .args(["--demo-shop", "targets", "PB-3140", "--layer", "base", "--volume", "330 mL"])
        .output()
        .unwrap();
    assert_eq!(code(&unknown), 1);
    let said = err(&unknown);
    assert!(said.contains("has no base coat") && said.contains("tin = \"…\""), "{said}");
}

/// The job's clear as the bench begins it.
fn clear_of(store: &SqliteStore, shop: &Catalogue, name: &str) -> Recipe {
    let row = store.jobs(JobsOf::Open).unwrap().into_iter().next().unwrap();
    let journal = JobJournal::fold(row.job, &store.events(row.job.subject()).unwrap()).unwrap();
    let job: &Job = journal.job();
    assert_eq!(job.name, name);
    let plan = job.plan().iter().find(|plan| plan.role == Role::Clear).unwrap();
    readied(job, plan, shop).unwrap().unwrap()
}

/// The clear weighed for that job out of that tin, to the scale's division; 40 g of it are thrown away in the end. The month
/// in which that was.
fn sprayed(folder: &Path, shop: &Catalogue, name: &str, tin: &str) -> String {
    let path = folder.join("book.sqlite");
    let Ok(Opened::ToWrite(mut store)) = SqliteStore::open(&path, Stamp(1)) else {
        panic!("nobody else has it")
    };
    let recipe = clear_of(&store, shop, name);
    let toner = recipe.lines()[0].toner.clone();
    let start = Start {
        order: order::formula_order(&recipe),
        version: None,
        job: Some(name.to_owned()),
        recipe,
        volume: Millilitres::parse("330").unwrap(),
        vessel: Vessel { name: "600".into(), brim: Millilitres::parse("600").unwrap(), tare: Grams::ZERO },
        limits: Limits { division: Division::TENTH, capacity: None },
    };
    let now = jiff::Timestamp::now();
    let at = Stamp(now.as_microsecond());
    let by = By { bench: "bench 1".into(), operator: "Robin".into() };
    let mut ids = Ids::fresh();
    let (mut journal, first) =
        Journal::begin(ids.mix(at), &Event::Started(start), ids.event(at), at, &by).unwrap();
    store.append(&first).unwrap();
    let mut tell = |journal: &mut Journal, event: &Event| {
        store.append(&journal.record(event, ids.event(at), at, &by).unwrap()).unwrap();
    };
    tell(&mut journal, &Event::TinTaken { toner, tin: tin.to_owned(), marks: None });
    while journal.session().goal().is_some() {
        let pour = journal.session().take(journal.session().shown_stop().unwrap(), How::Scale).unwrap();
        tell(&mut journal, &pour);
    }
    let done = journal.session().finish().unwrap();
    tell(&mut journal, &done);
    let ending = Ending {
        left: Grams::parse("40").unwrap(),
        reason: Some("pot life over".to_owned()),
        job: Some(name.to_owned()),
        ..Ending::default()
    };
    let emptied = journal.session().empty(ending, How::Scale).unwrap();
    tell(&mut journal, &emptied);
    now.strftime("%Y-%m").to_string()
}

/// 330 mL out of a tin of lot 77: 195.2 g of clear, 106.4 of hardener, 26.0 of thinner.
#[test]
fn what_was_poured_of_it_is_in_the_whole_book() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    opened(folder, "26-304", "PB-3140", &ALL_BUT_CLEAR);
    run(folder, &["receive", "26-901", "V90", "4880", "--lot", "77"]);
    let month = sprayed(folder, &Catalogue::demo(), "26-304", "26-901");
    let joined = run(folder, &["job", "mix", "26-304", "1"]);
    assert!(joined.contains("26-304"), "{joined}");

    // The tin gave it, its lot is traced to the job, and the job needs no more of it.
    let shelf = told(folder, &["shelf", "--json"]);
    let rows = shelf["toners"].as_array().unwrap();
    let row = rows.iter().find(|row| row["toner"] == "V90").unwrap();
    near(&row["holds_g"], Decimal::new(46_848, 1));
    assert!(rows.iter().all(|row| row["for_jobs_g"] == "0.000000"));
    let trace = run(folder, &["trace", "lot", "77"]);
    assert!(trace.contains("26-901") && trace.contains("26-304"), "{trace}");
    let trace = run(folder, &["trace", "job", "26-304"]);
    assert!(trace.contains("V90") && trace.contains("77"), "{trace}");
    let waste = run(folder, &["waste", "--by", "layer"]);
    assert!(waste.lines().any(|line| line.contains("clear")), "{waste}");

    // By hand: (200 · 468 + 100 · 398 + 30 · 868) / 330 = 483.15 g/L, at what the scale showed 483.10.
    let voc = told(folder, &["voc", "1", "--json"]);
    assert_eq!(voc["mixes"][0]["product"], "CC-6", "{voc}");
    let litres = [("195.2", "0.976", 468), ("106.4", "1.064", 398), ("26.0", "0.868", 868)];
    let (mut solvent, mut all) = (Decimal::ZERO, Decimal::ZERO);
    for (mass, density, voc) in litres {
        let volume = mass.parse::<Decimal>().unwrap() / density.parse::<Decimal>().unwrap();
        (solvent, all) = (solvent + volume * Decimal::from(voc), all + volume);
    }
    let figure = number(&voc["mixes"][0]["actual_g_per_l"]);
    assert!((figure - solvent / all).abs() < Decimal::new(1, 3), "{figure}");
    assert_eq!(figure.round(), Decimal::from(483));
    let month = told(folder, &["voc", "--month", &month, "--json"]);
    assert_eq!((month["is_complete"].as_bool(), month["unknown_g"].as_str()), (Some(true), Some("0.000000")));
    let label = run(folder, &["label", "1"]);
    assert!(label.contains("clear") && label.contains("CC-6"), "{label}");
    let sheet = run(folder, &["job", "sheet", "26-304"]);
    assert!(sheet.contains("26-901") && sheet.contains("77") && sheet.contains("V90"), "{sheet}");
    // What was used of it is the next job's record.
    opened(folder, "26-305", "PB-2219", &["undercoat", "base", "blender"]);
    run(folder, &["job", "close", "26-304"]);
    let next = told(folder, &["job", "amounts", "26-305", "--json"]);
    assert_eq!(
        (next["layers"][0]["layer"].as_str(), next["layers"][0]["past_mixes"].as_u64()),
        (Some("clear"), Some(1))
    );
}

/// A second clear, of another tin: what a job names is mixed for it, ordered and judged, and not the first of its kind.
#[test]
fn a_job_may_name_another_clear() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let shop = folder.join("shop");
    std::fs::create_dir_all(shop.join("colours")).unwrap();
    let second = "[[product]]\ncode = \"CC-9\"\nname = \"clear, sprayed as it comes\"\nroles = [\"clear\"]\n\
                  tin = \"V99\"\nvoc = \"400\"\nsolids = \"45 %\"\nfilm = \"27.5\"\ncoats = 2\n";
    let tin = "[[toner]]\ncode = \"V99\"\nname = \"clear, thin\"\nkind = \"supplied\"\ndensity = \"1\"\n";
    for (path, text) in pourbook::catalogue::demo::FILES {
        let more = match *path {
            "products.toml" => second,
            "toners.toml" => tin,
            _ => "",
        };
        std::fs::write(shop.join(path), format!("{text}\n{more}")).unwrap();
    }
    let mut args = vec!["job", "open", "26-306", "--colour", "PB-3140", "--panel", "tailgate"];
    args.extend(["--layer", "clear, product=CC-9"]);
    args.extend(ALL_BUT_CLEAR.iter().flat_map(|role| ["--without", role]));
    run(folder, &args);
    let amounts = told(folder, &["job", "amounts", "26-306", "--json"]);
    let clear = &amounts["layers"][0];
    // Nothing goes in: all of it comes out of the tin.
    assert_eq!((clear["product"].as_str(), &clear["mix_ml"]), (Some("CC-9"), &clear["colour_ml"]));
    let order = told(folder, &["shelf", "--json"]);
    let needed = |toner: &str| {
        let rows = order["toners"].as_array().unwrap();
        rows.iter().find(|row| row["toner"] == toner).unwrap()["for_jobs_g"].as_str().unwrap().to_owned()
    };
    assert_eq!((needed("V99").as_str(), needed("V90").as_str()), ("305.000000", "0.000000"));

    run(folder, &["receive", "26-902", "V99", "1000"]);
    sprayed(folder, &Catalogue::load(&shop), "26-306", "26-902");
    run(folder, &["job", "mix", "26-306", "1"]);
    let voc = told(folder, &["voc", "1", "--json"]);
    assert_eq!(voc["mixes"][0]["product"], "CC-9");
    assert_eq!(number(&voc["mixes"][0]["actual_g_per_l"]), Decimal::from(400));
}
