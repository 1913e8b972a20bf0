//! `label`: what stands on a mixed cup, in every form; printing by a program of the shop's own; and the code on it.

use crate::program::*;
use crate::weighed::{WHITE, put, recipe, robin, start, weighed};
use pourbook::book::{By, Ids, MixId};
use pourbook::catalogue::{Catalogue, Role};
use pourbook::mix::Additions;
use pourbook::units::Stamp;
use std::fs;
use std::path::PathBuf;
use std::process::Output;

/// 2026-10-15, noon in UTC.
const BEGAN: i64 = 1_792_065_600_000_000;

struct Book {
    folder: tempfile::TempDir,
    mix: MixId,
}

impl Book {
    /// One mix of the demo's ground coat, ready to spray and done, by somebody whose name a shell would mind.
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let shop = Catalogue::demo();
        let product = shop.product_for(shop.colour(WHITE).unwrap().layer(Role::Ground).unwrap()).unwrap();
        let colour = recipe(&shop, WHITE, Role::Ground);
        let mut recipe = colour.activated(&shop, product, Additions::default()).unwrap();
        "'; touch injected; --x \"<b>".clone_into(&mut recipe.name);
        let by = By { operator: "$(touch injected)".into(), ..robin() };
        let clock = (Stamp(BEGAN), 60_000_000);
        let all = weighed(start(recipe, "100", "21.8"), clock, &mut Ids::counted(1), &by, |_| None);
        put(&folder.path().join("book.sqlite"), &all);
        let mix = all[0].subject;
        Self { folder, mix }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, args: &[&str]) -> Output {
        let mut program = program();
        program
            .current_dir(self.folder.path())
            .env("TZ", "UTC")
            .env("POURBOOK_SETTINGS", self.path("settings.toml"));
        program.env("TMPDIR", self.path("files"));
        program.arg("--demo-shop").arg("--book").arg(self.path("book.sqlite")).args(args).output().unwrap()
    }

    fn code(&self) -> String {
        format!("PB:M:{}", self.mix.to_string().replace('-', "").to_uppercase())
    }
}

#[test]
fn the_label_as_text_by_number_identity_and_code() {
    let book = Book::new();
    let text = book.run(&["label", "1"]);
    assert_eq!(code(&text), 0, "{}", err(&text));
    let text = out(&text);
    for said in [
        "mix          0001",
        "USE BY 2026-10-15",
        "CONTAINS ISOCYANATES",
        "signal word  DANGER",
        "EUH204",
        "folder 1, sheet GC-2",
        &book.code(),
    ] {
        assert!(text.contains(said), "{said} is not in\n{text}");
    }
    for named in [book.mix.to_string(), book.code(), book.code().to_lowercase()] {
        assert_eq!(out(&book.run(&["label", &named])), text, "{named}");
    }
    let json = json(&book.run(&["label", "1", "--json"]));
    assert_eq!(json["code"], book.code());
    assert_eq!((&json["isocyanates"], &json["state"]), (&true.into(), &"mixed".into()));
    let minutes = (json["use_by"].as_i64().unwrap() - BEGAN) / 60_000_000;
    assert!((120..140).contains(&minutes), "{minutes}");
    for (args, ends, says) in [
        (["label", "2"], 1, "there is no mix 2"),
        (["label", "two"], 2, "write its number"),
        (["label", "PB:M:00"], 2, "scan it again"),
    ] {
        let output = book.run(&args);
        assert_eq!(code(&output), ends, "{args:?}");
        assert!(err(&output).contains(says), "{args:?}: {}", err(&output));
    }
}

#[test]
fn the_code_alone_is_traced() {
    let book = Book::new();
    let by_number = book.run(&["trace", "mix", "1"]);
    assert!(out(&by_number).contains("PB-3140"), "{}{}", out(&by_number), err(&by_number));
    assert_eq!(out(&book.run(&["trace", &book.code()])), out(&by_number));
    assert_eq!(out(&book.run(&["trace", "mix", &book.code()])), out(&by_number));
    assert_eq!(code(&book.run(&["trace", "mix"])), 2);
    assert_eq!(code(&book.run(&["trace", &book.code(), "1"])), 2);
    let unknown = err(&book.run(&["trace", "tin", "1"]));
    assert!(unknown.contains("lot, mix, job"), "{unknown}");
}

#[test]
fn files_are_written_once() {
    let book = Book::new();
    let both = book.run(&["label", "1", "--svg", "a.svg", "--pdf", "a.pdf"]);
    assert_eq!(code(&both), 0, "{}", err(&both));
    let svg = fs::read_to_string(book.path("a.svg")).unwrap();
    let page = roxmltree::Document::parse(&svg).unwrap();
    assert!(page.descendants().filter_map(|node| node.text()).any(|text| text.contains("<b>")), "{svg}");
    assert!(fs::read(book.path("a.pdf")).unwrap().starts_with(b"%PDF-1."));
    let again = book.run(&["label", "1", "--svg", "a.svg"]);
    assert!(code(&again) == 1 && err(&again).contains("--force"), "{}", err(&again));
    assert_eq!(code(&book.run(&["label", "1", "--pdf", "a.pdf", "--force"])), 0);
    assert_eq!(code(&book.run(&["label", "1", "--pdf", "none/a.pdf"])), 1);
}

#[cfg(unix)]
#[test]
fn the_shops_own_program_prints_and_no_shell_does() {
    use std::os::unix::fs::PermissionsExt as _;
    let book = Book::new();
    fs::create_dir(book.path("files")).unwrap();
    let unset = book.run(&["label", "1", "--print"]);
    assert!(code(&unset) == 1 && err(&unset).contains("settings set label-print"), "{}", err(&unset));
    let script = "#!/bin/sh\nfor word in \"$@\"; do echo \"$word\"; done > told\ncp \"$3\" copy.pdf\n";
    fs::write(book.path("print it"), script).unwrap();
    fs::set_permissions(book.path("print it"), fs::Permissions::from_mode(0o700)).unwrap();
    let command = format!("'{}' -d 'the labels; touch injected' {{file}}", book.path("print it").display());
    let wrong = book.run(&["settings", "set", "label-print", "lp"]);
    assert!(code(&wrong) == 2 && err(&wrong).contains("{file}"), "{}", err(&wrong));
    assert_eq!(code(&book.run(&["settings", "set", "label-print", &command])), 0);
    let printed = book.run(&["label", "1", "--print"]);
    assert_eq!(code(&printed), 0, "{}", err(&printed));
    assert_eq!(out(&printed), "the label of mix 1 is printed\n");
    let told = fs::read_to_string(book.path("told")).unwrap();
    let words: Vec<&str> = told.lines().collect();
    assert_eq!(words[..2], ["-d", "the labels; touch injected"]);
    assert_eq!(words.len(), 3, "{told}");
    assert!(fs::read(book.path("copy.pdf")).unwrap().starts_with(b"%PDF-1."));
    assert_eq!(fs::read_dir(book.path("files")).unwrap().count(), 0, "the file is left behind");
    assert!(!book.path("injected").exists());
    fs::write(book.path("print it"), "#!/bin/sh\necho no paper >&2\nexit 4\n").unwrap();
    let failed = book.run(&["label", "1", "--print"]);
    assert_eq!((code(&failed), out(&failed)), (1, String::new()));
    assert!(err(&failed).contains("no paper") && err(&failed).contains("not printed"), "{}", err(&failed));
    assert_eq!(fs::read_dir(book.path("files")).unwrap().count(), 0);
}
