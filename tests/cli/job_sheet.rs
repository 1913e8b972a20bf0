//! The job sheet as a whole: its text as it is printed, and its page in a browser and on paper.

use crate::figures::{browser, complaints};
use crate::job_mixes::{ready, sprayed_of};
use crate::program::*;
use pourbook::catalogue::Role;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

const JOB: &str = "26-118 tailgate";

/// A shop of its own: the invented one, with a file of painters, limits, and a cup on the bench.
struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        copy(&demo_shop(), &folder.path().join("shop"));
        let painters = "[[painter]]\nname = \"robin\"\ntrained = \"2025-03-02\"\n";
        fs::write(folder.path().join("shop/painters.toml"), painters).unwrap();
        let settings = "limits = \"us\"\npainter = \"Robin\"\n[job]\nflow-cup = \"Ford 4\"\n";
        fs::write(folder.path().join("settings.toml"), settings).unwrap();
        Self { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, args: &[&str]) -> Output {
        let mut command = program();
        command.arg("--shop").arg(self.path("shop")).arg("--settings").arg(self.path("settings.toml"));
        command.arg("--book").arg(self.path("book.sqlite")).arg("job").args(args).output().unwrap()
    }

    fn does(&self, args: &[&str]) {
        told(&self.run(args));
    }
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let there = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &there);
        } else {
            fs::copy(entry.path(), there).unwrap();
        }
    }
}

/// A three-stage repair under way: cards, a choice, ground coat and pearl coat sprayed, the clear not mixed yet.
fn under_way() -> Shop {
    let shop = Shop::new();
    shop.does(&[
        "open",
        JOB,
        "--colour",
        "gannet",
        "--vehicle",
        "van, white",
        "--panel",
        "tailgate",
        "--layer",
        "ground, area=0.4 m2",
        "--layer",
        "pearl, asked=350 mL",
        "--without",
        "undercoat",
        "--without",
        "blender",
    ]);
    let gun = "tip=1.3 mm, pressure=2 bar";
    for coats in ["2", "3"] {
        shop.does(&["card", JOB, "--coats", coats, "--over", "G2", "--gun", gun]);
    }
    shop.does(&["compare", JOB, "1", "--view", "face", "--light", "sun", "--is", "a little lighter"]);
    shop.does(&["compare", JOB, "2", "--view", "face", "--light", "sun", "--is", "match"]);
    shop.does(&["compare", JOB, "1", "--measured", "45: car 50 0 0 card 52 0 0"]);
    shop.does(&["compare", JOB, "2", "--measured", "45: car 50 0 0 card 50.5 0 0"]);
    shop.does(&["choose", JOB, "--coats", "3", "--card", "2", "--by", "Kim"]);
    for (number, layer) in [("1", Role::Ground), ("2", Role::Pearl)] {
        sprayed_of(&shop.path("book.sqlite"), ready(layer), Some(JOB));
        shop.does(&["mix", JOB, number]);
    }
    shop.does(&["activate", JOB, "1"]);
    shop.does(&["coat", JOB, "ground", "--ago", "60"]);
    shop.does(&["coat", JOB, "ground", "--ago", "50"]);
    shop.does(&["timer", JOB, "start", "bake", "--layer", "ground", "--ago", "40"]);
    shop.does(&["finish", JOB, "ground"]);
    shop.does(&["coat", JOB, "pearl", "--ago", "20"]);
    shop.does(&["note", JOB, "a run on the edge"]);
    shop
}

/// With every day and time of the day as the same number of letters, since they are those of the test.
fn timeless(text: &str) -> String {
    let mut letters: Vec<char> = text.chars().collect();
    for (form, shown) in [("0000-00-00", "YYYY-MM-DD"), ("00:00", "hh:mm")] {
        let (form, shown): (Vec<char>, Vec<char>) = (form.chars().collect(), shown.chars().collect());
        for at in 0..letters.len().saturating_sub(form.len() - 1) {
            let is_it = letters[at..]
                .iter()
                .zip(&form)
                .all(|(letter, form)| if *form == '0' { letter.is_ascii_digit() } else { letter == form });
            if is_it {
                letters[at..at + form.len()].copy_from_slice(&shown);
            }
        }
    }
    letters.into_iter().collect()
}

/// The whole of it; and no line is wider than a terminal or a page of plain text.
#[test]
fn the_text_has_everything_and_no_line_is_too_wide() {
    let shop = under_way();
    let text = told(&shop.run(&["sheet", JOB]));
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{}: {line}", line.chars().count());
    }
    insta::assert_snapshot!("job_sheet", timeless(&text));
}

/// It is on one leaf of A4, both sides, when it is printed, in letters that can be read at a bench; no browser complains of it.
#[test]
fn a_browser_prints_it_on_one_leaf() {
    let Some(browser) = browser() else { return };
    let shop = under_way();
    let file = shop.path("sheet.html");
    shop.does(&["sheet", JOB, "--html", file.to_str().unwrap()]);
    let output = browser.look(&["--dump-dom"], &file);
    assert_eq!(complaints(&output), [""; 0]);
    for id in
        ["amounts", "how-much", "used", "ready", "products", "mixes", "cards", "compared", "voc", "painters"]
    {
        assert!(out(&output).contains(&format!("<section id=\"{id}\"")), "{id}");
    }
    let paper = shop.path("sheet.pdf");
    let print = format!("--print-to-pdf={}", paper.display());
    let output = browser.look(&[&print, "--no-pdf-header-footer"], &file);
    assert!(output.status.success(), "{}", err(&output));
    let bytes = fs::read(&paper).unwrap();
    let pdf = String::from_utf8_lossy(&bytes);
    let pages = |kind: &str| pdf.matches(kind).count();
    assert_eq!(pages("/Type /Page") - pages("/Type /Pages"), 2);
}
