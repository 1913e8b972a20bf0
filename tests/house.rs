//! The repository held against the rules of its own house: what imports what, how long a file may be, floats,
//! paths, documents that say what is so. Each check is a function from texts to what is wrong with them, and is
//! shown to fail on a made-up text beside the check of the real one.

#![expect(clippy::unwrap_used, reason = "what helps a test fails as a test does")]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Each folder of `src/`, and what it may know besides itself.
const FLOORS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("metrology", &["units"]),
    ("barcode", &["units"]),
    ("catalogue", &["metrology", "barcode", "units"]),
    ("mix", &["catalogue", "units"]),
    ("scale", &["units"]),
    ("settings", &["catalogue", "scale", "units"]),
    ("book", &["mix", "catalogue", "metrology", "units"]),
    ("stock", &["book", "mix", "catalogue", "barcode", "units"]),
    ("job", &["stock", "book", "mix", "catalogue", "metrology", "units"]),
    ("report", &["stock", "book", "mix", "catalogue", "metrology", "units"]),
    ("demo_past", &["job", "stock", "book", "mix", "catalogue", "scale", "units"]),
    (
        "tui",
        &[
            "report",
            "job",
            "stock",
            "book",
            "mix",
            "catalogue",
            "metrology",
            "barcode",
            "settings",
            "scale",
            "units",
        ],
    ),
    (
        "cli",
        &[
            "demo_past",
            "tui",
            "report",
            "job",
            "stock",
            "book",
            "mix",
            "catalogue",
            "metrology",
            "barcode",
            "settings",
            "scale",
            "units",
        ],
    ),
];
/// Where no weight is ever a float.
const EXACT: &[&str] = &["units", "metrology", "mix", "book", "stock"];
/// A file that is longer is two files.
const MOST_LINES: usize = 700;
/// Folders at the top of somebody's machine.
const MACHINE: &[&str] = &["home", "root", "tmp", "work"];
const DOCUMENTS: &[&str] = &["README.md", "DEVELOPERS.md", "hardware-notes.md", "formulas-demo/README.md"];

/// A file by its path from the root of the repository, as `src/mix/order.rs`.
struct Page {
    path: String,
    text: String,
}

impl Page {
    fn new(path: &str, text: &str) -> Self {
        Self { path: path.to_owned(), text: text.to_owned() }
    }

    /// The folder of `src/` it stands in; none for `src/lib.rs`.
    fn floor(&self) -> Option<&str> {
        self.path.strip_prefix("src/")?.split_once('/').map(|(floor, _)| floor)
    }
}

fn is_rust(path: &str) -> bool {
    Path::new(path).extension().is_some_and(|extension| extension == "rs")
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn files(folder: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(folder)];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push(path.strip_prefix(root()).unwrap().to_str().unwrap().to_owned());
            }
        }
    }
    found.sort();
    found
}

fn page(path: &str) -> Page {
    Page::new(path, &fs::read_to_string(root().join(path)).unwrap())
}

fn sources() -> Vec<Page> {
    let pages: Vec<Page> = files("src").iter().filter(|path| is_rust(path)).map(|path| page(path)).collect();
    assert!(pages.len() > 50, "the source was not found");
    pages
}

fn documents() -> Vec<Page> {
    DOCUMENTS.iter().map(|path| page(path)).collect()
}

fn assert_none(wrong: &[String]) {
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

// ---- reading Rust, as far as these checks need it

/// The text with comments and the insides of literals blanked, letter for letter.
fn code(text: &str) -> Vec<char> {
    let letters: Vec<char> = text.chars().collect();
    let at = |place: usize| letters.get(place).copied().unwrap_or('\n');
    let mut out = letters.clone();
    let mut here = 0;
    while here < letters.len() {
        let begin = here;
        let quoted = match (at(here), at(here + 1)) {
            ('/', '/') => {
                while here < letters.len() && at(here) != '\n' {
                    here += 1;
                }
                true
            }
            ('/', '*') => {
                here += 2;
                while here < letters.len() && (at(here), at(here + 1)) != ('*', '/') {
                    here += 1;
                }
                here += 2;
                true
            }
            ('r', '"' | '#') if here == 0 || !is_word(at(here - 1)) || at(here - 1) == 'b' => {
                let hashes = (here + 1..letters.len()).take_while(|&place| at(place) == '#').count();
                here += 1 + hashes;
                let is_string = at(here) == '"';
                if is_string {
                    here += 1;
                    let ends = |here: usize| {
                        at(here) == '"' && (1..=hashes).all(|further| at(here + further) == '#')
                    };
                    while here < letters.len() && !ends(here) {
                        here += 1;
                    }
                    here += 1 + hashes;
                }
                is_string
            }
            ('"', _) => {
                here += 1;
                while here < letters.len() && at(here) != '"' {
                    here += if at(here) == '\\' { 2 } else { 1 };
                }
                here += 1;
                true
            }
            // A letter, not a lifetime.
            ('\'', next) if next == '\\' || at(here + 2) == '\'' => {
                here += if next == '\\' { 3 } else { 2 };
                while here < letters.len() && at(here) != '\'' {
                    here += 1;
                }
                here += 1;
                true
            }
            _ => {
                here += 1;
                false
            }
        };
        if quoted {
            let end = here.min(out.len());
            for letter in out.iter_mut().take(end).skip(begin).filter(|letter| **letter != '\n') {
                *letter = ' ';
            }
        }
    }
    out
}

fn is_word(letter: char) -> bool {
    letter.is_alphanumeric() || letter == '_'
}

/// The text without the items that are only there in tests, and the names of modules that are.
fn shipped(text: &str) -> (String, Vec<String>) {
    let masked = code(text);
    let mut out: Vec<char> = text.chars().collect();
    let mut modules = Vec::new();
    let mark: Vec<char> = "#[cfg(test)]".chars().collect();
    let mut here = 0;
    while here + mark.len() <= masked.len() {
        if !masked.iter().skip(here).take(mark.len()).eq(mark.iter()) {
            here += 1;
            continue;
        }
        let begin = here;
        here += mark.len();
        let mut depth = 0_i32;
        while let Some(&letter) = masked.get(here) {
            depth +=
                i32::from(matches!(letter, '(' | '[' | '{')) - i32::from(matches!(letter, ')' | ']' | '}'));
            here += 1;
            if depth == 0 && matches!(letter, ';' | '}') {
                break;
            }
        }
        let item: String = masked.iter().take(here).skip(begin + mark.len()).collect();
        let name = item.trim_end_matches(';').split_whitespace().collect::<Vec<_>>();
        if let [.., "mod", name] = *name {
            modules.push(name.to_owned());
        }
        for letter in out.iter_mut().take(here).skip(begin).filter(|letter| **letter != '\n') {
            *letter = ' ';
        }
    }
    (out.into_iter().collect(), modules)
}

/// The paths of the files that are only there in tests.
fn test_files(pages: &[Page]) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for page in pages {
        let path = page.path.trim_end_matches(".rs");
        let folder = path.strip_suffix("/mod").unwrap_or(path);
        for name in shipped(&page.text).1 {
            found.insert(format!("{folder}/{name}.rs"));
            found.insert(format!("{folder}/{name}/mod.rs"));
        }
    }
    found
}

/// What is named directly below the root by `crate::…`, and below whatever they reach by `super::…`.
fn named_below(start: &str, code: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for (place, _) in code.match_indices(start) {
        let before = code.get(..place).unwrap();
        if before.ends_with(|letter| is_word(letter) || letter == ':') {
            continue;
        }
        let mut rest = code.get(place + start.len()..).unwrap();
        while let Some(further) = rest.strip_prefix("super::") {
            rest = further;
        }
        let word = |text: &str| text.trim_start().chars().take_while(|&letter| is_word(letter)).collect();
        let Some(group) = rest.strip_prefix('{') else {
            found.push(word(rest));
            continue;
        };
        found.push(word(group));
        let mut depth = 1;
        for (place, letter) in group.char_indices() {
            match letter {
                '{' => depth += 1,
                '}' => depth -= 1,
                ',' if depth == 1 => found.push(word(group.get(place + 1..).unwrap())),
                _ => {}
            }
            if depth == 0 {
                break;
            }
        }
    }
    found.retain(|name| !name.is_empty());
    found
}

// ---- the checks

fn wrong_arrows(page: &Page) -> Vec<String> {
    let Some(floor) = page.floor() else { return Vec::new() };
    let Some((_, below)) = FLOORS.iter().find(|(name, _)| *name == floor) else {
        return vec![format!("{}: src/{floor} has no place in the house; give it one", page.path)];
    };
    let is_floor = |name: &String| FLOORS.iter().any(|(floor, _)| floor == name);
    let text: String = code(&page.text).into_iter().collect();
    let mut names = named_below("crate::", &text);
    names.extend(named_below("super::", &text).into_iter().filter(is_floor));
    let wrong = names.into_iter().filter(|name| name != floor && !below.contains(&name.as_str()));
    wrong.map(|name| format!("{}: {floor} may not know {name}", page.path)).collect()
}

fn without_a_top(page: &Page) -> Option<String> {
    let says = page.text.lines().next().is_some_and(|line| line.starts_with("//! ") && line.len() > 10);
    (!says).then(|| format!("{}: its first line should say, after //!, what it is for", page.path))
}

fn too_long(page: &Page) -> Option<String> {
    let lines = page.text.lines().count();
    (lines > MOST_LINES).then(|| format!("{}: {lines} lines: which two files is it?", page.path))
}

fn machine_paths(page: &Page) -> Vec<String> {
    let text = if is_rust(&page.path) { shipped(&page.text).0 } else { page.text.clone() };
    let mut wrong = Vec::new();
    for (number, line) in text.lines().enumerate() {
        for folder in MACHINE {
            let absolute = line.match_indices(&format!("/{folder}/")).any(|(place, _)| {
                let before = line.get(..place).unwrap();
                !before.ends_with(|letter: char| is_word(letter) || matches!(letter, '.' | '~' | '-'))
            });
            if absolute {
                wrong.push(format!("{}:{}: /{folder} is a place on one machine", page.path, number + 1));
            }
        }
    }
    wrong
}

fn floats(page: &Page) -> Vec<String> {
    let (text, _) = shipped(&page.text);
    let text: String = code(&text).into_iter().collect();
    let mut wrong = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let mut words = line.split(|letter| !is_word(letter));
        if words.any(|word| matches!(word, "f32" | "f64") || word.ends_with("_f32") || word.ends_with("_f64"))
        {
            wrong.push(format!("{}:{}: a float, where every weight is exact", page.path, number + 1));
        }
    }
    wrong
}

fn control_characters(page: &Page) -> Vec<String> {
    let lines = page.text.split('\n').enumerate();
    let bad = lines.filter(|(_, line)| line.contains(char::is_control));
    bad.map(|(number, _)| format!("{}:{}: a control character", page.path, number + 1)).collect()
}

fn unread_snapshots(paths: &[String]) -> Vec<String> {
    let left = |path: &&String| path.ends_with(".snap.new") || path.ends_with(".pending-snap");
    paths.iter().filter(left).map(|path| format!("{path}: read it, then accept it or not")).collect()
}

/// The lines of the first fenced block.
fn first_block(text: &str) -> Vec<&str> {
    let inside = text.lines().skip_while(|line| !line.starts_with("```")).skip(1);
    inside.take_while(|line| !line.starts_with("```")).collect()
}

fn readme_commands(text: &str) -> BTreeSet<String> {
    let name = |line: &str| Some(line.strip_prefix("| `pourbook ")?.split_once('`')?.0.to_owned());
    text.lines().filter_map(name).collect()
}

fn help_commands(help: &str) -> BTreeSet<String> {
    let listed =
        help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    let first = listed.filter_map(|line| line.strip_prefix("  ")).filter(|line| !line.starts_with(' '));
    first
        .filter_map(|line| line.split(' ').next())
        .filter(|name| *name != "help")
        .map(str::to_owned)
        .collect()
}

fn differing_commands(readme: &str, help: &str) -> Vec<String> {
    let (told, there) = (readme_commands(readme), help_commands(help));
    let missing = told.difference(&there).map(|name| format!("the README has {name}, the program has not"));
    missing.chain(there.difference(&told).map(|name| format!("the README does not tell of {name}"))).collect()
}

/// The places a document can be entered at, as the usual sites make them from its headings.
fn anchors(text: &str) -> BTreeSet<String> {
    let headings = text.lines().filter(|line| line.starts_with('#'));
    let slug = |line: &str| {
        let letters = line.trim_start_matches('#').trim().to_lowercase();
        let kept = letters.chars().filter(|&letter| is_word(letter) || matches!(letter, ' ' | '-'));
        kept.map(|letter| if letter == ' ' { '-' } else { letter }).collect()
    };
    headings.map(slug).collect()
}

/// The links of a document that lead nowhere; `read` gives the text of a file of the repository, if it is there.
fn dead_links(page: &Page, read: impl Fn(&str) -> Option<String>) -> Vec<String> {
    let targets = page.text.split("](").skip(1).filter_map(|rest| Some(rest.split_once(')')?.0));
    let is_dead = |target: &&str| {
        let (file, anchor) = target.split_once('#').unwrap_or((target, ""));
        let text = if file.is_empty() { Some(page.text.clone()) } else { read(file) };
        text.is_none_or(|text| !anchor.is_empty() && !anchors(&text).contains(anchor))
    };
    let local = targets.filter(|target| !target.contains("://"));
    local.filter(is_dead).map(|target| format!("{}: {target} leads nowhere", page.path)).collect()
}

fn addresses_that_are_none(text: &str) -> Vec<String> {
    let starts = ["serial:", "tcp:", "rfc2217:", "tape:", "virtual:"];
    let lines = text.lines().filter(|line| starts.iter().any(|start| line.starts_with(start)));
    let written = lines.filter_map(|line| line.split_whitespace().next());
    let parsed = written.map(|address| (address, address.parse::<pourbook::scale::Address>()));
    parsed.filter_map(|(address, read)| Some(format!("{address}: {}", read.err()?))).collect()
}

// ---- the repository

#[test]
fn arrows_point_down_only() {
    assert_none(&sources().iter().flat_map(wrong_arrows).collect::<Vec<_>>());
}

#[test]
fn every_module_says_what_it_is_for() {
    let pages = sources();
    let tests = test_files(&pages);
    let shipped = pages.iter().filter(|page| !tests.contains(&page.path));
    assert_none(&shipped.filter_map(without_a_top).collect::<Vec<_>>());
}

#[test]
fn no_file_is_two() {
    assert_none(&sources().iter().filter_map(too_long).collect::<Vec<_>>());
}

#[test]
fn no_path_of_a_machine() {
    let pages = sources();
    let tests = test_files(&pages);
    let mut wrong: Vec<String> =
        pages.iter().filter(|page| !tests.contains(&page.path)).flat_map(machine_paths).collect();
    wrong.extend(documents().iter().flat_map(machine_paths));
    wrong.extend(["Cargo.toml", "clippy.toml", ".ci/run"].iter().flat_map(|path| machine_paths(&page(path))));
    assert_none(&wrong);
}

#[test]
fn no_float_where_weights_are_exact() {
    let pages = sources();
    let tests = test_files(&pages);
    let exact = pages.iter().filter(|page| page.floor().is_some_and(|floor| EXACT.contains(&floor)));
    assert_none(&exact.filter(|page| !tests.contains(&page.path)).flat_map(floats).collect::<Vec<_>>());
}

#[test]
fn no_control_character_in_source_or_documents() {
    let mut pages = sources();
    pages.extend(documents());
    pages.extend(files("tests").iter().filter(|path| is_rust(path)).map(|path| page(path)));
    pages.extend(files("formulas-demo").iter().map(|path| page(path)));
    assert_none(&pages.iter().flat_map(control_characters).collect::<Vec<_>>());
}

#[test]
fn no_snapshot_waits_to_be_read() {
    assert_none(&unread_snapshots(&[files("src"), files("tests")].concat()));
}

#[test]
fn the_readme_opens_with_its_two_commands() {
    assert_eq!(first_block(&page("README.md").text), ["cargo run --release -- demo", "cargo test"]);
}

#[test]
fn the_readme_tells_of_every_command_and_no_other() {
    let help = std::process::Command::new(env!("CARGO_BIN_EXE_pourbook")).arg("--help").output().unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    assert!(help_commands(&help).len() > 1, "{help}");
    assert_none(&differing_commands(&page("README.md").text, &help));
}

#[test]
fn links_in_documents_lead_somewhere() {
    let read = |path: &str| {
        let path = root().join(path);
        if path.is_dir() { Some(String::new()) } else { fs::read_to_string(path).ok() }
    };
    let pages = documents();
    let here = pages.iter().filter(|page| !page.path.contains('/'));
    assert_none(&here.flat_map(|page| dead_links(page, read)).collect::<Vec<_>>());
}

#[test]
fn the_map_has_every_folder() {
    let map = page("DEVELOPERS.md").text;
    let folders: BTreeSet<String> =
        sources().iter().filter_map(|page| Some(page.floor()?.to_owned())).collect();
    assert!(folders.contains("units") && folders.contains("mix"));
    let missing = folders.into_iter().filter(|folder| !map.contains(&format!("| `src/{folder}/` |")));
    assert_none(
        &missing.map(|folder| format!("DEVELOPERS.md: src/{folder} is not on the map")).collect::<Vec<_>>(),
    );
}

#[test]
fn the_hardware_notes_have_every_format_at_its_usual_setting() {
    let notes = page("hardware-notes.md").text;
    for shape in pourbook::scale::shape::ALL {
        let line = shape.usual_line();
        let usual = format!("{} {}{}{}", line.baud, line.data_bits, line.parity, line.stop_bits);
        let row = notes.lines().find(|row| row.starts_with(&format!("| `{}` |", shape.name())));
        assert!(row.is_some_and(|row| row.contains(&usual)), "{} at {usual}: {row:?}", shape.name());
    }
    assert!(notes.lines().filter(|line| line.starts_with("serial:")).count() >= 3);
    assert_none(&addresses_that_are_none(&notes));
}

// ---- each check can fail

#[test]
fn an_arrow_that_points_up_is_seen() {
    let wrong = |path: &str, text: &str| wrong_arrows(&Page::new(path, text)).len();
    assert_eq!(wrong("src/mix/a.rs", "use crate::scale::Weight;"), 1);
    assert_eq!(wrong("src/mix/a.rs", "fn f() { crate::tui::run(); }"), 1);
    assert_eq!(wrong("src/mix/a.rs", "use crate::{units::Grams, book::{Posting, Store}, tui};"), 2);
    assert_eq!(wrong("src/mix/a.rs", "use super::super::book::Posting;"), 1);
    assert_eq!(wrong("src/mix/mod.rs", "use super::{book, units};"), 1);
    assert_eq!(wrong("src/scale/a.rs", "use crate::mix::Event;"), 1);
    assert_eq!(wrong("src/tui/a.rs", "use crate::cli::out;"), 1);
    assert_eq!(wrong("src/cellar/a.rs", ""), 1);
    let right = "// crate::book\nuse crate::{catalogue::Toner, mix::Event, units::{Grams, Share}}; use super::targets;";
    assert_eq!(wrong("src/mix/a.rs", right), 0);
    assert_eq!(wrong("src/mix/a.rs", "const A: &str = \"crate::book\"; $crate::units::x();"), 0);
    assert_eq!(wrong("src/lib.rs", "pub use crate::book::Store;"), 0);
}

#[test]
fn a_module_without_a_top_and_a_long_file_are_seen() {
    assert!(without_a_top(&Page::new("src/mix/a.rs", "use std::fmt;\n//! What it is for.")).is_some());
    assert!(without_a_top(&Page::new("src/mix/a.rs", "//!\n")).is_some());
    assert!(without_a_top(&Page::new("src/mix/a.rs", "//! What it is for.\n")).is_none());
    assert!(too_long(&Page::new("src/mix/a.rs", &"\n".repeat(MOST_LINES + 1))).is_some());
    assert!(too_long(&Page::new("src/mix/a.rs", &"\n".repeat(MOST_LINES))).is_none());
}

#[test]
fn a_path_of_a_machine_is_seen_outside_tests() {
    let wrong = |path: &str, text: &str| machine_paths(&Page::new(path, &text.replace('@', "/"))).len();
    assert_eq!(wrong("README.md", "in `@home@ann` and\n@tmp@x"), 2);
    assert_eq!(wrong("src/a.rs", "const A: &str = \"@root@x\";"), 1);
    assert_eq!(wrong("src/a.rs", "#[cfg(test)]\nmod tests {\n  const A: &str = \"@tmp@x\";\n}"), 0);
    assert_eq!(wrong("src/a.rs", "#[cfg(test)]\nmod tests { const A: char = '}'; }\n// @tmp@x"), 1);
    assert_eq!(wrong("README.md", "~@home@x and frame@work@x"), 0);
}

#[test]
fn a_float_is_seen_outside_tests() {
    let wrong = |text: &str| floats(&Page::new("src/mix/a.rs", text)).len();
    assert_eq!(wrong("fn f(x: f64) {}\nlet y = 1.0_f32;\nlet z = d.to_f64();"), 3);
    assert_eq!(wrong("// f64\n/* f64 */ const A: &str = r#\"f64\"#;"), 0);
    assert_eq!(wrong("#[cfg(test)]\nmod tests { fn f() { let x: f64; } }\n"), 0);
    assert_eq!(wrong("#[cfg(test)]\nfn f(a: [u8; 3]) -> f64 { 1.0 }\nfn g() -> f64 { 1.0 }"), 1);
    let parent = Page::new("src/mix/session/mod.rs", "mod record;\n#[cfg(test)]\npub(crate) mod trials;\n");
    let tests = test_files(&[parent]);
    assert!(tests.contains("src/mix/session/trials.rs") && !tests.contains("src/mix/session/record.rs"));
}

#[test]
fn a_control_character_and_an_unread_snapshot_are_seen() {
    assert_eq!(control_characters(&Page::new("a.rs", "a\n\tb\n\u{1b}[m\nc\r\n")).len(), 3);
    assert_eq!(control_characters(&Page::new("a.rs", "a\nb ▸ é\n")).len(), 0);
    let paths = ["tests/a.snap", "tests/b.snap.new", "tests/.c.pending-snap"].map(str::to_owned);
    assert_eq!(unread_snapshots(&paths).len(), 2);
}

#[test]
fn documents_that_say_what_is_not_so_are_seen() {
    assert_eq!(first_block("# A\n\n```sh\none\n```\n```\ntwo\n```\n"), ["one"]);
    let help = "Usage: x\n\nCommands:\n  demo   Open\n         wide\n  tape   Record\n  help   Help\n\nOptions:\n  -h\n";
    assert_eq!(differing_commands("| `pourbook demo` | open |\n| `pourbook tape` | record |", help).len(), 0);
    assert_eq!(differing_commands("| `pourbook demo` | open |\n| `pourbook sing` | no |", help).len(), 2);
    let page =
        Page::new("A.md", "# One & two\n[a](#one--two) [b](#three) [c](B.md#x) [d](C.md) [e](https://e.org)");
    let read = |path: &str| (path == "B.md").then(|| "## X\n".to_owned());
    assert_eq!(dead_links(&page, read), ["A.md: #three leads nowhere", "A.md: C.md leads nowhere"]);
    assert_eq!(addresses_that_are_none("tcp:192.0.2.7?shape=sma\nvirtual:?seed=7  the bench\n").len(), 1);
}

/// README's picture of the bench is what the program draws: the screen's own snapshot, line for line.
#[test]
fn the_picture_in_the_readme_is_the_programs_own() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read = |path: &str| std::fs::read_to_string(root.join(path)).unwrap();
    let readme = read("README.md");
    let picture =
        readme.split("<!-- bench -->").nth(1).and_then(|rest| rest.split("<!-- /bench -->").next()).unwrap();
    let snapshot = read("src/tui/screens/snapshots/pourbook__tui__screens__tests__pouring-80x24.snap");
    let drawn = snapshot.splitn(3, "---\n").nth(2).unwrap();
    assert_eq!(picture.trim().trim_matches('`').trim_matches('\n'), drawn.trim_end());
    assert!(drawn.contains("g to go"));
}
