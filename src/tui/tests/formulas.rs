//! Formulas from the screen: changed, copied, added, retired, taken in, given out; the files are real.

use super::rig::{Rig, settings};
use crate::catalogue::index::{Looker, Seen, ShopIndex};
use crate::catalogue::{Catalogue, Finder, FormulaFolder, demo};
use crate::tui::app::{FromBook, Screen, Settings};
use crate::tui::formula_writer::done;
use crate::tui::message::{Message, ShopSeen};
use crate::units::Stamp;
use std::fs;
use std::path::PathBuf;

/// The demo's shop as a folder, and the app with it: it knows the colours by the index, and what it asks of the disk is
/// done when the test says so.
struct Shop {
    folder: tempfile::TempDir,
    rig: Rig,
    looker: Looker,
}

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in demo::FILES {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
        let mut looker = ShopIndex::new(folder.path(), None).looker();
        let seen = looker.look(Stamp(0), &mut |_| true).unwrap();
        let catalogue = Catalogue { scale: None, ..seen.catalogue };
        let mut rig =
            Rig::opened_with(catalogue, settings(), FromBook { next_number: 412, ..FromBook::default() });
        rig.app.know_folder(seen.listing);
        rig.send(Message::Tick);
        let mut shop = Self { folder, rig, looker };
        shop.work();
        shop
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Does what was asked of the disk, and tells the app.
    fn work(&mut self) {
        let shop = FormulaFolder::of(self.folder.path());
        let index = ShopIndex::new(self.folder.path(), None);
        loop {
            let works = std::mem::take(&mut self.rig.works);
            let reads = std::mem::take(&mut self.rig.reads);
            let looks = std::mem::take(&mut self.rig.looks);
            if works.is_empty() && reads.is_empty() && looks == 0 {
                return;
            }
            for work in works {
                let at = self.rig.now().stamp;
                self.rig.send(Message::Formula(done(Some(&shop), work, at)));
            }
            for (file, then) in reads {
                let read = index.colour(&file).map(Box::new).map_err(|error| error.to_string());
                self.rig.send(Message::ColourRead { file, read, then });
            }
            if looks > 0
                && let Some(Seen { catalogue, listing, .. }) =
                    self.looker.look(self.rig.now().stamp, &mut |_| true)
            {
                let finder = Finder::new(&listing);
                self.rig.send(Message::ShopSeen(Box::new(ShopSeen { catalogue, listing, finder })));
            }
        }
    }

    fn text(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    fn menu(&mut self, which: &str) {
        self.rig.key("F5");
        self.rig.says("every version of a formula is kept");
        self.rig.key(which);
        if which <= "4" {
            self.work();
        }
    }
}

#[test]
fn one_number_is_changed_and_one_line_of_the_file() {
    let mut shop = Shop::new();
    let before = shop.text("colours/gannet-white.toml");
    shop.rig.type_text("gannet");
    shop.rig.key("Right");
    shop.menu("1");
    shop.rig.says("Change · PB-3140 Gannet White");
    shop.rig.says("nothing changed");
    // The second toner of the ground coat, as the layer was marked.
    shop.rig.key("Down");
    shop.rig.says("812.40");
    shop.rig.key("Ctrl-u");
    shop.rig.type_text("81o,5");
    shop.rig.says("1 thing to put right");
    shop.rig.key("F10");
    shop.rig.says("not saved yet");
    assert!(shop.rig.works.is_empty());
    shop.rig.key("Ctrl-u");
    shop.rig.type_text("810,50");
    shop.rig.says("not saved yet");
    shop.rig.key("F10");
    shop.work();
    shop.rig.says("the version before it is kept");
    shop.rig.says("PB-3140");
    let after = shop.text("colours/gannet-white.toml");
    let changed: Vec<_> = before.lines().zip(after.lines()).filter(|(old, new)| old != new).collect();
    assert_eq!(changed.len(), 1, "{changed:?}");
    assert!(changed[0].1.contains("810.50"), "{changed:?}");
    let kept: Vec<_> = fs::read_dir(shop.path("versions/gannet-white")).unwrap().collect();
    assert_eq!(kept.len(), 1);
    assert_eq!(fs::read_to_string(kept[0].as_ref().unwrap().path()).unwrap(), before);
    // What is mixed now is the new formula.
    let colour = shop.rig.app.known.colour("PB-3140").unwrap();
    assert_eq!(colour.layers[1].pours[1].parts.to_string(), "810.50");
}

#[test]
fn a_colour_is_added_from_nothing_and_another_begun_with_it() {
    let mut shop = Shop::new();
    let files = fs::read_dir(shop.path("colours")).unwrap().count();
    shop.menu("3");
    shop.rig.says("New colour");
    for text in ["X-77", "Otter Brown"] {
        shop.rig.type_text(text);
        shop.rig.key("Enter");
    }
    shop.rig.key("Enter");
    // The finish is turned to rather than typed.
    shop.rig.key("Right");
    for _ in 0..3 {
        shop.rig.key("Enter");
    }
    for text in ["M80", "100", "K05", "3.5"] {
        shop.rig.type_text(text);
        shop.rig.key("Enter");
    }
    shop.rig.says("colour binder");
    shop.rig.says("96.62 %");
    // The row that came by itself is empty: out with it.
    shop.rig.key("Ctrl-d");
    shop.rig.key("F10");
    shop.work();
    shop.rig.says("X-77 Otter Brown is written");
    assert_eq!(fs::read_dir(shop.path("colours")).unwrap().count(), files + 1);
    shop.menu("2");
    shop.rig.says("Begun with · X-77 Otter Brown");
    shop.rig.key("F10");
    shop.rig.says("not saved yet");
    shop.rig.type_text("darker");
    shop.rig.key("F10");
    shop.work();
    assert_eq!(shop.rig.app.known.names().filter(|(code, _)| *code == "X-77").count(), 2);
    let loaded = Catalogue::load(shop.folder.path());
    assert_eq!((loaded.variants("X-77").count(), loaded.has_errors()), (2, false));
}

#[test]
fn what_was_changed_is_not_lost_by_a_key() {
    let mut shop = Shop::new();
    shop.rig.type_text("gannet");
    shop.menu("1");
    shop.rig.type_text("1");
    shop.rig.key("Esc");
    shop.rig.says("leave without saving?");
    shop.rig.key("Enter");
    shop.rig.says("Change · PB-3140");
    shop.rig.key("Esc");
    shop.rig.tick(700);
    shop.rig.key("y");
    shop.rig.says("find");
    assert!(shop.rig.works.is_empty());
}

#[test]
fn a_colour_is_retired_with_a_reason_and_brought_back() {
    let mut shop = Shop::new();
    let before = shop.text("colours/gannet-white.toml");
    shop.rig.type_text("gannet");
    shop.menu("4");
    shop.rig.says("why is it retired?");
    shop.rig.type_text("the plant repaints");
    shop.rig.key("Enter");
    shop.work();
    shop.rig.says("is retired");
    let text = shop.text("colours/gannet-white.toml");
    assert!(text.contains("retired = \"2023-11-14\"") && text.contains("the plant repaints"), "{text}");
    let retired = shop.rig.app.known.colour("PB-3140").unwrap().clone();
    assert!(retired.retired.is_some());
    // Nothing else of the file is touched, there and back.
    let back = crate::tui::formula_writer::FormulaWork::Write {
        colour: Box::new(crate::catalogue::Colour { retired: None, ..retired.clone() }),
        was: Some(Box::new(retired)),
    };
    shop.rig.works.push(back);
    shop.work();
    assert_eq!(shop.text("colours/gannet-white.toml"), before);
}

#[test]
fn a_table_is_looked_through_put_right_and_taken_in() {
    let mut shop = Shop::new();
    let table = "Colour;Name;Finish;Coat;Tinter;Grams\n\
                 X-1;Otter;single-stage;base;M80;100\nX-1;Otter;single-stage;base;K05;3,5\n\
                 X-2;Heron;single-stage;base;M8O;100\nX-2;Heron;single-stage;base;K05;7,,5\n";
    fs::write(shop.path("old book.csv"), table).unwrap();
    shop.menu("5");
    let path = shop.path("old book.csv").display().to_string();
    shop.rig.type_text(&path);
    shop.rig.key("Enter");
    shop.work();
    shop.rig.says("Import · old book.csv");
    shop.rig.says("what will happen: 1 new, 0 changed, 0 the same, 2 wrong");
    shop.rig.says("M80");
    shop.rig.key("Enter");
    shop.rig.says("nothing is written while 2 cannot be read");
    assert!(shop.rig.works.is_empty());
    // A column that is taken for something else, and back.
    shop.rig.key("Down");
    shop.rig.key("Right");
    shop.rig.key("Left");
    shop.rig.says("what will happen: 1 new");
    shop.rig.key("w");
    shop.work();
    shop.rig.says("1 formula is taken in");
    assert!(shop.rig.app.known.colour("X-1").is_some() && shop.rig.app.known.colour("X-2").is_none());
    shop.menu("5");
    shop.rig.type_text("no/such/file");
    shop.rig.key("Enter");
    shop.work();
    shop.rig.says("cannot be read");
}

#[test]
fn all_are_given_out_and_the_invented_shop_is_left_alone() {
    let mut shop = Shop::new();
    shop.menu("6");
    let path = shop.path("out.csv").display().to_string();
    shop.rig.type_text(&path);
    shop.rig.key("Enter");
    shop.work();
    shop.rig.says("colours are in");
    assert!(fs::read_to_string(path).unwrap().contains("Gannet White"));

    let settings = Settings { has_shop_folder: false, ..settings() };
    let mut rig = Rig::opened(settings, FromBook::default());
    rig.key("F5");
    rig.key("1");
    rig.says("the invented shop is inside the program");
    rig.key("Esc");
    assert!(rig.works.is_empty() && rig.app.prompt.is_none());
}

/// The index may be older than the file: what is weighed is what the file says when it is picked, and a colour that was
/// taken away is said.
#[test]
fn a_formula_is_read_anew_when_it_is_picked() {
    let mut shop = Shop::new();
    shop.rig.type_text("gannet");
    shop.work();
    let before = shop.text("colours/gannet-white.toml");
    fs::write(shop.path("colours/gannet-white.toml"), before.replace("724.50", "800.00")).unwrap();
    shop.rig.key("Enter");
    assert!(matches!(shop.rig.app.screen, Screen::Colours(_)), "not before the file is read");
    shop.work();
    let Screen::Amount(amount) = &shop.rig.app.screen else { panic!("{:?}", shop.rig.app.screen) };
    let parts: Vec<String> = amount.recipe.lines().iter().map(|line| line.parts.to_string()).collect();
    shop.rig.key("Esc");
    fs::write(shop.path("colours/gannet-white.toml"), &before).unwrap();
    shop.rig.type_text("gannet");
    shop.rig.key("Enter");
    shop.work();
    let Screen::Amount(amount) = &shop.rig.app.screen else { panic!("{:?}", shop.rig.app.screen) };
    let again: Vec<String> = amount.recipe.lines().iter().map(|line| line.parts.to_string()).collect();
    assert_ne!(parts, again);
    shop.rig.key("Esc");
    fs::remove_file(shop.path("colours/gannet-white.toml")).unwrap();
    shop.rig.type_text("gannet");
    shop.rig.key("Enter");
    shop.work();
    assert!(matches!(shop.rig.app.screen, Screen::Colours(_)));
    shop.rig.says("is not there any more");
    shop.rig.says("no colour has all of these words");
}

/// Who types ahead types for what comes: the list is not searched for a volume. Esc goes on without the disk.
#[test]
fn keys_that_come_while_the_file_is_read_are_for_what_comes() {
    let mut shop = Shop::new();
    shop.rig.type_text("gannet");
    shop.work();
    shop.rig.key("Enter");
    shop.rig.key("Ctrl-u");
    shop.rig.type_text("275 mL");
    shop.work();
    shop.rig.says("for 275 mL");
    shop.rig.key("Esc");
    shop.rig.type_text("gannet");
    shop.rig.key("Enter");
    shop.rig.key("7");
    shop.rig.key("Esc");
    shop.work();
    assert!(matches!(shop.rig.app.screen, Screen::Colours(_)));
    assert!(shop.rig.app.held.is_empty());
}

/// A disk that answers late answers for the colour that was asked for, not for the one that is wanted now.
#[test]
fn an_answer_that_comes_late_is_none_for_another_colour() {
    let mut shop = Shop::new();
    shop.rig.type_text("gannet");
    shop.work();
    shop.rig.key("Enter");
    let late = std::mem::take(&mut shop.rig.reads);
    shop.rig.key("Esc");
    shop.rig.key("Ctrl-u");
    shop.rig.type_text("ptarmigan");
    shop.rig.key("Enter");
    shop.rig.reads.splice(0..0, late);
    shop.work();
    let Screen::Amount(amount) = &shop.rig.app.screen else { panic!("{}", shop.rig.screen()) };
    assert_eq!(amount.recipe.name, "Ptarmigan");
}

/// A colour that somebody else writes into the folder is there within a minute of looking at the list, and what is
/// marked stays marked.
#[test]
fn what_somebody_else_writes_is_found_after_a_while() {
    let mut shop = Shop::new();
    shop.rig.key("Down");
    shop.work();
    let marked = shop.rig.app.marked_colour().unwrap().1.named();
    let text =
        shop.text("colours/gannet-white.toml").replace("PB-3140", "A-1").replace("Gannet White", "Aardvark");
    fs::write(shop.path("colours/aardvark.toml"), text).unwrap();
    shop.rig.send(Message::Tick);
    assert_eq!(shop.rig.looks, 0);
    shop.rig.now += 60_000;
    shop.rig.send(Message::Tick);
    assert_eq!(shop.rig.looks, 1);
    shop.work();
    shop.rig.says("Aardvark");
    assert_eq!(shop.rig.app.marked_colour().unwrap().1.named(), marked);
}
