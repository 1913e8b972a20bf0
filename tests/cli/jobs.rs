//! A repair from its opening to its sheet, by the real program, in a book of its own.

use crate::job_mixes::sprayed;
use crate::program::*;
use pourbook::book::{Opened, SqliteStore, Store as _};
use pourbook::catalogue::Role;
use pourbook::units::Stamp;
use std::fs;
use std::path::Path;
use std::process::Output;

pub(crate) fn with_book(folder: &Path, args: &[&str]) -> Output {
    let mut command = program();
    command.arg("--demo-shop").arg("--book").arg(folder.join("book.sqlite")).arg("job").args(args);
    command.output().unwrap()
}

/// A job of three layers in a book of its own.
pub(crate) fn opened() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let args = [
        "open",
        "26-118 tailgate",
        "--colour",
        "gannet",
        "--vehicle",
        "van, white",
        "--panel",
        "bonnet",
        "--panel",
        "door, left=0.9 m2",
        "--layer",
        "ground, coats=2, flash-off=5, bake=10",
        "--layer",
        "pearl, asked=350 mL, product=P-1",
        "--without",
        "undercoat",
        "--without",
        "blender",
        "--by",
        "Robin",
    ];
    assert_eq!(
        told(&with_book(folder.path(), &args)),
        "26-118 tailgate: opened, PB-3140 Gannet White (three-stage): ground, pearl, clear\n\
         next: make spray-out cards of the pearl coat, one for each count of coats\n"
    );
    folder
}

#[test]
fn a_repair_from_its_card_to_its_close() {
    let folder = opened();
    let run = |args: &[&str]| with_book(folder.path(), args);
    let refused = |args: &[&str], says: &str| {
        let output = run(args);
        assert_eq!(code(&output), 1, "{args:?}: {}", out(&output));
        assert!(err(&output).contains(says), "{args:?}: {}", err(&output));
        assert_eq!(out(&output), "", "{args:?}");
    };
    // The pearl is not mixed for the car before a card was chosen; for the cards it is.
    sprayed(&folder.path().join("book.sqlite"), Role::Pearl, None);
    refused(&["mix", "26-118", "1"], "no card of the pearl coat was chosen yet");
    refused(&["mix", "26-118", "1"], "--overrule \"REASON\"");
    told(&run(&["mix", "26-118", "1", "--for-cards"]));
    assert!(
        told(&run(&["card", "26-118", "--coats", "2", "--note", "over the ground"]))
            .contains("card 1: 2 coats")
    );
    told(&run(&["card", "26-118", "--coats", "3", "--mix", "1"]));
    told(&run(&["compare", "26-118", "2", "side tone, sun: match"]));
    refused(&["compare", "26-118", "9", "x"], "this job has no card 9");
    assert_eq!(
        told(&run(&["choose", "26-118", "--coats", "3", "--card", "2"])),
        "26-118 tailgate: the car gets 3 coats of the pearl coat (card 2)\nnext: mix the ground coat\n"
    );
    // A coat is not put on what has not flashed off, unless somebody says why.
    let first = run(&["coat", "26-118", "ground", "--ago", "4"]);
    assert_eq!(err(&first), "note: no mix of the ground coat was joined to this job\n");
    assert!(told(&first).contains("coat 1 of the ground coat is on\nnext: wait for the flash-off"));
    refused(&["coat", "26-118", "ground"], "the flash-off of the ground coat is not over: ");
    let overruled =
        json(&run(&["coat", "26-118", "ground", "--ago", "4", "--overrule", "the booth is hot", "--json"]));
    assert_eq!(keys(&overruled), ["job", "job_id", "next", "next_layer", "warnings", "written"]);
    let kinds: Vec<_> = overruled["written"]
        .as_array()
        .unwrap()
        .iter()
        .map(|event| event["kind"].as_str().unwrap())
        .collect();
    assert_eq!(kinds, ["job/timer-overruled", "job/coat-sprayed"]);
    assert_eq!(
        (overruled["next"].as_str(), overruled["next_layer"].as_str()),
        (Some("wait"), Some("ground"))
    );
    // Times began when it is said that they did.
    let stop = ["timer", "26-118", "stop", "flash-off", "--layer", "ground"];
    refused(&stop, "--reason \"REASON\"");
    told(&run(&[&stop[..], &["--reason", "the lamp is on it"]].concat()));
    refused(&["timer", "26-118", "stop", "flash-off", "--layer", "ground"], "does not run");
    told(&run(&["timer", "26-118", "start", "bake", "--layer", "ground", "--ago", "3"]));
    refused(&["coat", "26-118", "pearl"], "the bake of the ground coat is not over: ");
    told(&run(&["timer", "26-118", "overrule", "bake", "--layer", "ground", "--reason", "hard already"]));
    refused(&["timer", "26-118", "start", "clearance"], "--minutes N");
    let output = run(&["timer", "26-118", "start", "bake"]);
    assert!(code(&output) == 2 && err(&output).contains("--layer"), "{}", err(&output));
    // More coats than the chosen count is said, and is no error.
    refused(&["coat", "26-118", "pearl"], "the time before the next layer on the ground coat is not over");
    told(&run(&["coat", "26-118", "pearl", "--overrule", "hard already"]));
    for _ in 0..2 {
        told(&run(&["coat", "26-118", "pearl"]));
    }
    let fourth = run(&["coat", "26-118", "pearl"]);
    assert!(err(&fourth).contains("that is coat 4 of the pearl coat, and the chosen card asks for 3"));
    assert!(told(&fourth).contains("coat 4 of the pearl coat is on"));
    for layer in ["ground", "pearl"] {
        told(&run(&["finish", "26-118", layer]));
    }
    told(&run(&["note", "26-118", "a run on the edge"]));
    let shown = told(&run(&["show", "26-118"]));
    assert!(
        shown.contains("bonnet (1.5 m²); door, left (0.9 m²)") && shown.contains("4 of 3 (card 2)"),
        "{shown}"
    );
    assert!(shown.contains("a run on the edge") && shown.ends_with("next: mix the clear\n"), "{shown}");
    told(&run(&["amend", "26-118", "--without", "clear", "--vehicle", "van, silver"]));
    let closed = run(&["close", "26-118"]);
    assert_eq!(told(&closed), "26-118 tailgate: closed\nnext: nothing: the job is closed\n");
    assert_eq!(told(&run(&["list"])), "No job is open.\n");
    refused(&["coat", "26-118", "pearl"], "is closed: open it again first");
    told(&run(&["reopen", "26-118 tailgate"]));
    let listed = json(&run(&["list", "--json"]));
    assert_eq!(listed["jobs"][0]["vehicle"], "van, silver");
    let checked = program()
        .args(["--demo-shop", "--book"])
        .arg(folder.path().join("book.sqlite"))
        .arg("check")
        .output()
        .unwrap();
    assert!(
        out(&checked).contains("1 mixes,") && out(&checked).contains("every gram accounted for"),
        "{}",
        out(&checked)
    );
}

#[test]
fn a_name_is_used_once_and_may_be_written_short() {
    let folder = opened();
    let run = |args: &[&str]| with_book(folder.path(), args);
    let twice = run(&["open", "26-118 tailgate", "--colour", "PB-3140"]);
    assert!(code(&twice) == 1 && err(&twice).contains("a name is used once"), "{}", err(&twice));
    told(&run(&["open", "26-118 bonnet", "--colour", "PB-3140"]));
    let short = run(&["show", "26-118"]);
    assert!(
        err(&short).contains("could be any of 2 jobs")
            && err(&short).contains("26-118 bonnet; 26-118 tailgate")
    );
    assert!(told(&run(&["show", "26-118 T"])).starts_with("26-118 tailgate\n"));
    let unknown = run(&["show", "27"]);
    assert!(code(&unknown) == 1 && err(&unknown).contains("there is no job '27'"), "{}", err(&unknown));
    assert!(err(&unknown).contains("Open are: 26-118 bonnet; 26-118 tailgate."), "{}", err(&unknown));
    // One that is closed is found, too, where no other is meant.
    told(&run(&["close", "26-118 tailgate"]));
    told(&run(&["reopen", "26-118 tail"]));
    for (args, says) in [
        (&["open", "x", "--colour", "PB-3140", "--panel", "door=1"][..], "no unit"),
        (&["open", "x", "--colour", "PB-3140", "--layer", "top"], "one of undercoat"),
        (&["open", "x", "--colour", "PB-3140", "--layer", "pearl, coat=2"], "coats="),
        (&["choose", "26-118 b"], "--coats"),
        (&["coat", "26-118 b", "lacquer"], "one of undercoat"),
        (&["amend", "26-118 b"], "say what is to change"),
    ] {
        let output = run(args);
        assert_eq!(code(&output), 2, "{args:?}");
        assert!(err(&output).contains(says), "{args:?}: {}", err(&output));
    }
}

/// While a bench has the book open, jobs are looked at and not written.
#[test]
fn while_a_bench_has_the_book_nothing_is_written() {
    let folder = opened();
    let book = folder.path().join("book.sqlite");
    let Ok(Opened::ToWrite(store)) = SqliteStore::open(&book, Stamp(1)) else { panic!("nobody else has it") };
    let events = store.count().unwrap();
    for args in [&["note", "26-118", "x"][..], &["open", "y", "--colour", "PB-3140"], &["close", "26-118"]] {
        let output = with_book(folder.path(), args);
        assert_eq!(code(&output), 1, "{args:?}");
        assert!(err(&output).contains("Close the other Pourbook"), "{}", err(&output));
    }
    assert!(told(&with_book(folder.path(), &["list"])).contains("26-118 tailgate"));
    assert!(told(&with_book(folder.path(), &["sheet", "26-118"])).contains("Layers"));
    assert_eq!(store.count().unwrap(), events);
}

#[test]
fn the_sheet_has_all_of_it_on_a_page_that_a_strict_reader_takes() {
    let folder = opened();
    let run = |args: &[&str]| with_book(folder.path(), args);
    sprayed(&folder.path().join("book.sqlite"), Role::Ground, Some("26-118 tailgate"));
    told(&run(&["mix", "26-118", "1"]));
    told(&run(&["activate", "26-118", "1", "--pot-life", "60", "--ago", "90"]));
    let late = run(&["coat", "26-118", "ground"]);
    assert!(err(&late).contains("the pot life of the ground coat is over for 3"), "{}", err(&late));
    told(&run(&["note", "26-118", "<b>a run</b> & <script>x</script>"]));
    let text = told(&run(&["sheet", "26-118"]));
    for said in
        ["colour   PB-3140 Gannet White, standard, three-stage", "Tins and lots", "a tin without a label"]
    {
        assert!(text.contains(said), "{said}: {text}");
    }
    let file = folder.path().join("sheet.html");
    let name = file.to_str().unwrap();
    assert_eq!(told(&run(&["sheet", "26-118", "--html", name])), format!("written to {name}\n"));
    let again = run(&["sheet", "26-118", "--html", name]);
    assert!(code(&again) == 1 && err(&again).contains("--force"), "{}", err(&again));
    told(&run(&["sheet", "26-118", "--html", name, "--force"]));
    let page = fs::read_to_string(&file).unwrap();
    for never in ["<script", "<b>", "href=", "src=", "@import", "http:", "https:"] {
        assert!(!page.contains(never), "{never}");
    }
    let (start, end) = (page.find("<body>").unwrap(), page.find("</body>").unwrap() + "</body>".len());
    let document = roxmltree::Document::parse(page.get(start..end).unwrap()).unwrap();
    let cells = |id: &str| -> Vec<Vec<String>> {
        let section = document.descendants().find(|node| node.attribute("id") == Some(id));
        let rows = section.unwrap().descendants().filter(|node| node.has_tag_name("tr"));
        rows.map(|row| {
            let cells = row.children().filter(roxmltree::Node::is_element);
            cells.map(|cell| cell.text().unwrap_or_default().to_owned()).collect()
        })
        .collect()
    };
    // What is on the page is what stands in the book: a tenth of what was mixed is kept, the rest sprayed.
    let [head, ground, ..] = &cells("amounts")[..] else { panic!("{page}") };
    let at = |title: &str| -> f64 {
        ground[head.iter().position(|cell| cell.starts_with(title)).unwrap()].parse().unwrap()
    };
    let (mixed, sprayed, kept) = (at("mixed"), at("sprayed"), at("kept"));
    assert!(mixed > 100.0 && (sprayed + kept - mixed).abs() < 0.15, "{ground:?}");
    assert!((kept * 10.0 - mixed).abs() < 1.0, "{ground:?}");
    let poured: f64 = cells("parts").iter().skip(1).map(|row| row[4].parse::<f64>().unwrap()).sum();
    assert!((poured - mixed).abs() < 1.0, "{poured} {mixed}");
    assert_eq!(cells("mixes")[1][..2], ["1", "ground coat"]);
    assert_eq!(cells("coats").len(), 2);
    assert_eq!(cells("notes")[1][1], "<b>a run</b> & <script>x</script>");
    // The page and the text say the same, row by row.
    for row in ["amounts", "how-much", "used", "ready", "products", "mixes", "parts", "times"]
        .iter()
        .flat_map(|id| cells(id))
    {
        // A cell that is too wide goes on below, word by word.
        let mut words = row.iter().flat_map(|cell| cell.split(' '));
        assert!(words.all(|word| text.contains(word)), "{row:?}");
    }
}

/// Cards made, looked at, measured, typed and from a file; what comes out of it, on the sheet too.
#[test]
fn cards_are_held_against_the_car_by_eye_and_by_instrument() {
    let folder = opened();
    let run = |args: &[&str]| with_book(folder.path(), args);
    let events = || {
        let shown = told(&run(&["show", "26-118", "--json"]));
        shown.matches("\"at\":").count()
    };
    for coats in ["2", "3"] {
        told(&run(&[
            "card",
            "26-118",
            "--coats",
            coats,
            "--over",
            "G3",
            "--gun",
            "tip=1.3 mm, pressure=2 bar",
        ]));
    }
    let eye = |card: &str, view: &str, light: &str, is: &str| {
        run(&["compare", "26-118", card, "--view", view, "--light", light, "--is", is])
    };
    told(&eye("1", "face", "sun", "a little lighter"));
    told(&eye("2", "face", "sun", "match"));
    told(&eye("2", "side tone", "booth light", "a little darker, coarser"));
    // The car has L* 50: card 1 is 2 above, card 2 is 3 below; a line between them crosses at two fifths.
    let typed = run(&["compare", "26-118", "1", "--measured", "45: car 50 0 0 card 52 0 0"]);
    assert!(
        told(&typed).starts_with("26-118 tailgate: card 1 was compared, ΔE00 45° 1.99\n"),
        "{}",
        out(&typed)
    );
    let file = folder.path().join("readings.csv");
    let name = file.to_str().unwrap();
    // Wrong in one cell, or of a card that is not there: nothing of it is written.
    let before = events();
    for (text, says) in [
        (
            "sample,angle,L,a,b\ncar,45,50,0,0\n1,45,52,0,0\n2,45,4 7,0,0\n",
            "readings.csv: line 4, column L: '4 7' is not a number",
        ),
        (
            "sample,angle,L,a,b\ncar,45,50,0,0\n1,45,52,0,0\n7,45,47,0,0\n",
            "line 4, column sample: this job has no card 7",
        ),
    ] {
        fs::write(&file, text).unwrap();
        let output = run(&["compare", "26-118", "--csv", name]);
        assert_eq!(code(&output), 1, "{}", out(&output));
        assert!(
            err(&output).contains(says) && err(&output).contains("Nothing was written."),
            "{}",
            err(&output)
        );
        assert_eq!(events(), before);
    }
    fs::write(&file, "sample,angle,L,a,b\ncar,45,50,0,0\ncar,110,30,0,0\n1,45,52,0,0\n2,45,47,0,0\n")
        .unwrap();
    let from_file = run(&["compare", "26-118", "--csv", name]);
    assert!(
        told(&from_file).starts_with(
            "26-118 tailgate: card 1 was compared, ΔE00 45° 1.99; card 2 was compared, ΔE00 45° "
        ),
        "{}",
        out(&from_file)
    );
    assert!(err(&from_file).contains("the car was measured at 110°, and no card"), "{}", err(&from_file));
    let shown = told(&run(&["show", "26-118"]));
    for says in [
        "card 1: 2 coats of the pearl coat; over G3; tip 1.3 mm, pressure 2 bar; face, sun: a little lighter; ΔE00 45° 1.99",
        "the pearl coat against the car:",
        "  By measure card 1 (2 coats) is nearest: ΔE00 1.99 at 45°, its worst angle.",
        "  Between 2 and 3 coats, about 2.4, which is no promise: spray 2, look, and put coat 3 on thinner if it wants more.",
        "  By eye card 2 (3 coats) matches most often: in 1 of 2 views; worst: side tone, booth light: a little darker, coarser.",
        "  Card 1 was not looked at in all of these views.",
        "  Instrument and eye do not agree: look again",
    ] {
        assert!(shown.contains(says), "{says}: {shown}");
    }
    let document = json(&run(&["show", "26-118", "--json"]));
    let [compared] = &document["comparisons"].as_array().unwrap()[..] else { panic!("{document}") };
    assert_eq!((compared["layer"].as_str(), compared["count"].as_str()), (Some("pearl"), Some("2.4")));
    assert_eq!(compared["cards"][0]["de00"][0]["de00"], "1.99");
    assert_eq!((&compared["best_by_measure"][0], &compared["best_by_eye"][0]), (&1.into(), &2.into()));
    let card = &document["cards"][0];
    assert_eq!((card["over"].as_str(), card["gun"]["tip"].as_str()), (Some("G3"), Some("1.3 mm")));
    assert!((decimal(&card["measured"][0]["card"]["L"]) - 52.0).abs() < 1e-9);
    let page = folder.path().join("sheet.html");
    told(&run(&["sheet", "26-118", "--html", page.to_str().unwrap()]));
    let sheet = fs::read_to_string(page).unwrap();
    assert!(sheet.contains("Cards against the car") && sheet.contains("1.99 at 45°"), "{sheet}");
    assert!(
        sheet.contains("about 2.4, which is no promise: spray 2, look")
            && sheet.contains("angles are never averaged"),
        "{sheet}"
    );
}

/// The ground coat alone is something to compare with: a count may lie between it and a card with coats, and it is never
/// chosen. On the grey axis 48 and 53 have the car's 50 at two fifths of the way.
#[test]
fn a_card_without_a_coat_is_there_to_compare_with() {
    let folder = opened();
    let run = |args: &[&str]| with_book(folder.path(), args);
    let made = told(&run(&["card", "26-118", "--coats", "0"]));
    let says = "26-118 tailgate: card 1: 0 coats of the pearl coat\nnext: make spray-out cards of the pearl coat, one";
    assert!(made.starts_with(says), "{made}");
    told(&run(&["card", "26-118", "--coats", "1"]));
    for (card, readings) in [("1", "45: car 50 0 0 card 48 0 0"), ("2", "45: car 50 0 0 card 53 0 0")] {
        told(&run(&["compare", "26-118", card, "--measured", readings]));
    }
    let document = json(&run(&["show", "26-118", "--json"]));
    assert_eq!(document["comparisons"][0]["count"], "0.4");
    assert_eq!(document["comparisons"][0]["best_by_measure"][0], 1);
    let shown = told(&run(&["show", "26-118"]));
    assert!(
        shown.contains("about 0.4, which is no promise: spray 1 thinner than on the cards, and look"),
        "{shown}"
    );
    let refused = run(&["choose", "26-118", "--coats", "0", "--card", "1"]);
    assert_eq!(code(&refused), 1);
    assert!(
        err(&refused).contains("it gets 1 coat or more, or the layer is taken out of the job")
            && err(&refused).contains("Nothing was written."),
        "{}",
        err(&refused)
    );
    told(&run(&["choose", "26-118", "--coats", "1", "--card", "2"]));
    assert_eq!(code(&run(&["card", "26-118", "--coats", "21"])), 1);
}

/// What has to be looked at again is said, and what cannot be is refused.
#[test]
fn a_comparison_that_cannot_be_is_refused() {
    let folder = opened();
    let run = |args: &[&str]| with_book(folder.path(), args);
    for coats in ["2", "3"] {
        told(&run(&["card", "26-118", "--coats", coats]));
    }
    told(&run(&["compare", "26-118", "2", "--measured", "45: car 50 0 0 card 47 0 0"]));
    let name = "readings.csv";
    let bright = run(&["compare", "26-118", "1", "--measured", "15: car 120 0 0 card 118 0 0"]);
    assert!(err(&bright).contains("note: card 1 at 15°: an L* is not between 0 and 100"), "{}", err(&bright));
    assert!(told(&run(&["show", "26-118"])).contains("Card 2 was not measured at 15° and is left out"));
    for (args, says) in [
        (&["compare", "26-118", "1"][..], "say what was seen"),
        (&["compare", "26-118"], "CARD"),
        (&["compare", "26-118", "1", "--csv", name], "cannot be used with"),
        (&["compare", "26-118", "1", "--view", "face", "--is", "match"], "--light"),
        (
            &["compare", "26-118", "1", "--view", "face", "--light", "moon", "--is", "match"],
            "one of sun, shade, booth",
        ),
        (
            &["compare", "26-118", "1", "--view", "face", "--light", "sun", "--is", "pinker"],
            "'pinker' is not known",
        ),
        (&["compare", "26-118", "1", "--measured", "45: car nan 0 0 card 1 0 0"], "'nan' is not a number"),
        (&["card", "26-118", "--coats", "2", "--gun", "needle=1"], "one of tip="),
    ] {
        let output = run(args);
        assert_eq!(code(&output), 2, "{args:?}: {}", err(&output));
        assert!(err(&output).contains(says), "{args:?}: {}", err(&output));
    }
}

/// The whole book as text and back: the jobs are in it.
#[test]
fn jobs_go_along_with_the_book() {
    let folder = opened();
    told(&with_book(folder.path(), &["card", "26-118", "--coats", "2"]));
    let file = folder.path().join("all.jsonl");
    let elsewhere = tempfile::tempdir().unwrap();
    for (book, what) in [(&folder, "export"), (&elsewhere, "import")] {
        let mut command = program();
        command.arg("--demo-shop").arg("--book").arg(book.path().join("book.sqlite"));
        let output = command.args(["book", what]).arg(&file).output().unwrap();
        assert_eq!(code(&output), 0, "{}", err(&output));
    }
    let shown = |folder: &Path| told(&with_book(folder, &["show", "26-118", "--json"]));
    assert_eq!(shown(elsewhere.path()), shown(folder.path()));
    assert!(shown(elsewhere.path()).contains("\"card\":1"));
}

#[test]
fn what_the_papers_do_not_have_is_said_when_a_job_is_opened() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| with_book(folder.path(), args);
    let opened = run(&[
        "open", "26-203", "--colour", "PB-3140", "--panel", "spoiler", "--panel", "Roof", "--body", "van",
    ]);
    told(&opened);
    assert!(err(&opened).contains("note: how large the panel 'spoiler' is is not known"), "{}", err(&opened));
    let shown = told(&run(&["show", "26-203"]));
    assert!(shown.contains("spoiler; Roof (4.6 m²)"), "{shown}");
    assert!(shown.contains("clear: how large the panel 'spoiler' is is not known: say it with"), "{shown}");
    let job = json(&run(&["show", "26-203", "--json"]));
    let [undercoat, ground] = [&job["layers"][0], &job["layers"][1]];
    assert_eq!((undercoat["shade"].as_str(), undercoat["product"].as_str()), (Some("G2"), Some("UC-1")));
    assert_eq!((ground["coats_wanted"].as_u64(), ground["product"].as_str()), (Some(2), Some("GC-2")));
    let sized = run(&["open", "26-204", "--colour", "PB-3140", "--panel", "roof", "--body", "huge"]);
    assert_eq!(code(&sized), 1);
    assert!(err(&sized).contains("It has small, middle, large, van."), "{}", err(&sized));
    told(&run(&["amend", "26-203", "--panel", "roof", "--body", "small"]));
    assert!(told(&run(&["show", "26-203"])).contains("roof (1.5 m²)"));
}
