//! The index of a shop's colours: whatever happens to the folder, a look through it gives what reading every file
//! gives, and no harm to the index is a harm to the shop.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on says so and stops"
)]

use pourbook::catalogue::index::{FreshError, Looking, ShopIndex};
use pourbook::catalogue::{Catalogue, Listing, Problem};
use pourbook::units::Stamp;
use proptest::prelude::*;
use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};

/// Long after everything that a test writes: every file is settled.
const LATER: Stamp = Stamp(40_000_000_000_000_000);
/// Long before: no file is, and all are read each time.
const EARLIER: Stamp = Stamp(1);

const TONERS: &str = "[[toner]]\ncode = \"W10\"\nname = \"titanium white\"\nkind = \"solid\"\ndensity = \"1.482\"\n\
                      [[toner]]\ncode = \"K05\"\nname = \"carbon black\"\nkind = \"solid\"\ndensity = \"1.021\"\n";
const MORE_TONERS: &str =
    "[[toner]]\ncode = \"Y41\"\nname = \"yellow oxide\"\nkind = \"solid\"\ndensity = \"1.604\"\n";

fn colour(code: &str, name: &str, toner: &str) -> String {
    format!(
        "code = \"{code}\"\nname = \"{name}\"\nfinish = \"two-stage\"\n[[layer]]\nrole = \"base\"\n\
         pours = [{{ toner = \"W10\", parts = \"3.15\" }}, {{ toner = \"{toner}\", parts = \"1\" }}]\n"
    )
}

struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir_all(folder.path().join("shop/colours")).unwrap();
        let shop = Self { folder };
        shop.write("toners.toml", TONERS);
        shop.write("colours/a.toml", &colour("PB-1", "Gannet White", "K05"));
        shop.write("colours/b.toml", &colour("PB-2", "Coal Tit", "K05"));
        shop
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("shop")
    }

    fn cache(&self) -> PathBuf {
        self.folder.path().join("cache/pourbook")
    }

    fn index(&self) -> ShopIndex {
        ShopIndex::new(&self.path(), Some(&self.cache()))
    }

    fn write(&self, path: &str, text: &str) {
        fs::write(self.path().join(path), text).unwrap();
    }

    /// As [`Catalogue::load`] has it.
    fn truth(&self) -> (Vec<String>, Vec<Problem>) {
        let mut shop = Catalogue::load(&self.path());
        let colours = shown(&Listing::of(&shop.colours));
        shop.colours.clear();
        (colours, shop.problems)
    }
}

/// A listing without what a shop in memory does not know.
fn shown(listing: &Listing) -> Vec<String> {
    listing
        .iter()
        .map(|entry| format!("{:?} {:?} {:?}", entry.texts(), entry.layers, entry.retired))
        .collect()
}

/// As a look has it that knows only what the last one wrote down.
fn looked(shop: &Shop, now: Stamp) -> (Vec<String>, Vec<Problem>, usize) {
    let index = shop.index();
    let (mut looker, before) = match index.open() {
        Some(at_once) => (at_once.looker, Some((at_once.listing, at_once.catalogue))),
        None => (index.looker(), None),
    };
    if let Some(seen) = looker.look(now, &mut |_| true) {
        return (shown(&seen.listing), seen.catalogue.problems, seen.read);
    }
    let (listing, catalogue) = before.expect("nothing new only where something was known");
    (shown(&listing), catalogue.problems, 0)
}

#[test]
fn only_what_changed_is_read() {
    let shop = Shop::new();
    assert!(shop.index().open().is_none());
    assert_eq!(looked(&shop, LATER).2, 2);
    assert_eq!(looked(&shop, LATER).2, 0);
    shop.write("colours/b.toml", &colour("PB-2", "Marsh Tit", "K05"));
    let (colours, problems, read) = looked(&shop, LATER);
    assert_eq!((read, problems), (1, shop.truth().1));
    assert_eq!(colours, shop.truth().0);
    assert!(colours[1].contains("Marsh Tit"), "{colours:?}");
    // Nothing was told apart by its time alone: as long, and as old as before.
    let old = fs::metadata(shop.path().join("colours/b.toml")).unwrap().modified().unwrap();
    shop.write("colours/b.toml", &colour("PB-2", "Crest Tit", "K05"));
    fs::File::options()
        .write(true)
        .open(shop.path().join("colours/b.toml"))
        .unwrap()
        .set_modified(old)
        .unwrap();
    assert_eq!(looked(&shop, LATER).2, 1);
    fs::remove_file(shop.path().join("colours/b.toml")).unwrap();
    assert_eq!(looked(&shop, LATER).0.len(), 1);
}

#[test]
fn a_file_written_a_moment_ago_is_read_again() {
    let shop = Shop::new();
    assert_eq!(looked(&shop, EARLIER).2, 2);
    let mut looker = shop.index().open().unwrap().looker;
    let mut read = 0;
    let mut count = |step| {
        if let Looking::Reading { of, .. } = step {
            read = of;
        }
        true
    };
    assert_eq!(looker.look(EARLIER, &mut count), None, "there is nothing new in them");
    assert_eq!(looker.look(LATER, &mut count), None);
    assert_eq!(read, 2, "they are read all the same: a second change may not show");
    read = 0;
    let mut looker = shop.index().open().unwrap().looker;
    let mut count = |_| {
        read += 1;
        true
    };
    assert_eq!(looker.look(LATER, &mut count), None);
    assert_eq!(read, 0, "once they are settled they are known again");
}

#[test]
fn a_toner_that_comes_or_goes_changes_what_is_wrong_with_the_colours() {
    let shop = Shop::new();
    shop.write("colours/c.toml", &colour("PB-3", "Yellow Wagtail", "Y41"));
    assert_eq!(looked(&shop, LATER).0.len(), 2);
    shop.write("toners.toml", &format!("{TONERS}{MORE_TONERS}"));
    let (colours, problems, read) = looked(&shop, LATER);
    assert_eq!((&colours, &problems), (&shop.truth().0, &shop.truth().1));
    assert_eq!((colours.len(), read), (3, 1), "only the colour with a mistake is read");
    shop.write("toners.toml", &TONERS.replace("K05", "K06"));
    let (colours, problems, read) = looked(&shop, LATER);
    assert_eq!((&colours, &problems), (&shop.truth().0, &shop.truth().1));
    assert_eq!((colours.len(), read), (0, 3), "any colour may have named it");
    fs::remove_file(shop.path().join("toners.toml")).unwrap();
    let at_once = shop.index().open().unwrap();
    assert!(
        at_once.listing.is_empty() && at_once.catalogue.has_errors(),
        "without toners there are no colours"
    );
    let (colours, problems, _) = looked(&shop, LATER);
    assert_eq!((colours, problems), shop.truth());
}

#[test]
fn a_formula_is_read_from_its_file_whatever_the_index_says() {
    let shop = Shop::new();
    looked(&shop, LATER);
    let index = shop.index();
    shop.write("colours/a.toml", &colour("PB-1", "Gannet White", "K05").replace("3.15", "7.125"));
    let fresh = index.colour("a.toml").unwrap();
    assert_eq!(fresh.colour.layers[0].pours[0].parts.to_string(), "7.125");
    assert_eq!(fresh.toners.len(), 2);
    shop.write("colours/a.toml", &colour("PB-1", "Gannet White", "K99"));
    let wrong = index.colour("a.toml").unwrap_err().to_string();
    assert!(
        wrong.starts_with("colours/a.toml:6:") && wrong.contains("no toner with the code 'K99'"),
        "{wrong}"
    );
    fs::remove_file(shop.path().join("colours/a.toml")).unwrap();
    let gone = index.colour("a.toml").unwrap_err();
    assert_eq!(gone, FreshError::Gone { file: "colours/a.toml".to_owned() });
    fs::remove_file(shop.path().join("toners.toml")).unwrap();
    assert!(index.colour("b.toml").unwrap_err().to_string().starts_with("toners.toml: "));
}

#[test]
fn the_index_is_its_owners_alone_and_not_in_the_shop() {
    let shop = Shop::new();
    looked(&shop, LATER);
    let file = shop.index().file().unwrap().to_owned();
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    assert_eq!(fs::read_dir(shop.cache()).unwrap().count(), 1, "nothing is left beside it");
    assert_eq!(fs::read_dir(shop.path()).unwrap().count(), 2);
    let text = fs::read(&file).unwrap();
    let first = String::from_utf8_lossy(text.split(|byte| *byte == b'\n').next().unwrap()).into_owned();
    assert!(first.ends_with(&shop.path().canonicalize().unwrap().display().to_string()), "{first}");
    // Named another way it is the same shop.
    let other = ShopIndex::new(&shop.path().join("colours/.."), Some(&shop.cache()));
    assert_eq!(other.file(), Some(&*file));
    assert!(other.open().is_some());
}

#[test]
fn an_index_that_is_damaged_or_cannot_be_written_does_no_harm() {
    let shop = Shop::new();
    looked(&shop, LATER);
    let file = shop.index().file().unwrap().to_owned();
    let whole = fs::read(&file).unwrap();
    for damaged in [&[][..], b"pourbook", &whole[..whole.len() / 2], &[&whole[..], b"x"].concat()] {
        fs::write(&file, damaged).unwrap();
        assert!(shop.index().open().is_none());
        assert_eq!(looked(&shop, LATER).2, 2);
        assert_eq!(fs::read(&file).unwrap().len(), whole.len());
    }
    // Where the cache folder should be there is a file.
    let nowhere = ShopIndex::new(&shop.path(), Some(&file.join("below")));
    let seen = nowhere.looker().look(LATER, &mut |_| true).unwrap();
    assert_eq!(shown(&seen.listing), shop.truth().0);
    let without = ShopIndex::new(&shop.path(), None);
    assert_eq!(without.looker().look(LATER, &mut |_| true).unwrap().listing, seen.listing);
}

#[test]
fn a_long_look_says_how_far_it_is_and_shows_what_is_there() {
    let shop = Shop::new();
    for number in 0..2_500 {
        shop.write(&format!("colours/n{number}.toml"), &colour(&format!("N-{number}"), "Sand", "K05"));
    }
    let (mut said, mut shown) = (Vec::new(), Vec::new());
    let seen = shop.index().looker().look(LATER, &mut |step| {
        match step {
            Looking::Reading { read, of } => said.push((read, of)),
            Looking::SoFar(seen) => shown.push(seen.listing.len()),
        }
        true
    });
    assert_eq!(seen.unwrap().listing.len(), 2_502);
    assert_eq!((said[0], said.last().unwrap().0), ((0, 2_502), 2_500));
    assert_eq!(shown, [1_000, 2_000]);
    // Told to stop, it stops, and has spoilt nothing.
    fs::remove_file(shop.index().file().unwrap()).unwrap();
    let mut looker = shop.index().looker();
    assert_eq!(looker.look(LATER, &mut |step| matches!(step, Looking::Reading { read: 0, .. })), None);
    assert_eq!(looker.look(LATER, &mut |_| true).unwrap().listing.len(), 2_502);
}

/// Something that happens to the shop's folder.
#[derive(Clone, Debug)]
enum Happens {
    Write(u8, String),
    Remove(u8),
    Rename(u8, u8),
    Toners(Option<String>),
    Unreadable(u8),
    ColoursGone,
}

fn happens() -> impl Strategy<Value = Happens> {
    let code = prop::sample::select(vec!["PB-1", "pb-1", "PB-2", "PB-3"]);
    let toner = prop::sample::select(vec!["K05", "k05", "W10", "Y41", "Z99"]);
    let good = (code, "[a-cA-C]{1,3}", toner).prop_map(|(code, name, toner)| colour(code, &name, toner));
    let text = prop_oneof![
        6 => good.clone(),
        1 => good.clone().prop_map(|text| text.replace("two-stage", "three-stage")),
        1 => good.prop_map(|text| format!("retired = \"2026-11-25\"\n{text}")),
        1 => "[a-z =\"\\[\\]\n]{0,20}",
    ];
    let toners = prop::sample::select(vec![
        Some(TONERS.to_owned()),
        Some(format!("{TONERS}{MORE_TONERS}")),
        Some(TONERS.replace("1.482", "1.5")),
        Some(TONERS.replace("K05", "k05")),
        Some(TONERS.replace("1.021", "none")),
        Some("[[toner".to_owned()),
        None,
    ]);
    prop_oneof![
        8 => (0_u8..5, text).prop_map(|(at, text)| Happens::Write(at, text)),
        2 => (0_u8..5).prop_map(Happens::Remove),
        1 => (0_u8..5, 0_u8..5).prop_map(|(from, to)| Happens::Rename(from, to)),
        4 => toners.prop_map(Happens::Toners),
        1 => (0_u8..5).prop_map(Happens::Unreadable),
        1 => Just(Happens::ColoursGone),
    ]
}

fn happen(shop: &Path, what: Happens) {
    let file = |at: u8| shop.join(format!("colours/{at}.toml"));
    // What is not there cannot be taken away: then nothing happens.
    match what {
        Happens::Write(at, text) => {
            fs::create_dir_all(shop.join("colours")).unwrap();
            let _ = fs::remove_dir(file(at));
            fs::write(file(at), text).unwrap();
        }
        Happens::Remove(at) => drop(fs::remove_file(file(at))),
        Happens::Rename(from, to) => drop(fs::rename(file(from), file(to))),
        Happens::Toners(Some(text)) => fs::write(shop.join("toners.toml"), text).unwrap(),
        Happens::Toners(None) => drop(fs::remove_file(shop.join("toners.toml"))),
        Happens::Unreadable(at) => {
            let _ = fs::remove_file(file(at));
            drop(fs::create_dir(file(at)));
        }
        Happens::ColoursGone => drop(fs::remove_dir_all(shop.join("colours"))),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// The colours and everything that is wrong with them, after whatever happened, each time from what was written
    /// down before.
    #[test]
    fn a_look_gives_what_reading_everything_gives(
        rounds in prop::collection::vec((prop::collection::vec(happens(), 1..5), any::<bool>()), 1..6)
    ) {
        let shop = Shop::new();
        looked(&shop, LATER);
        let mut open = shop.index().open().unwrap().looker;
        let mut last = None;
        for (round, settled) in rounds {
            for what in round {
                happen(&shop.path(), what);
            }
            let now = if settled { LATER } else { EARLIER };
            let (colours, problems, _) = looked(&shop, now);
            prop_assert_eq!(&(colours, problems), &shop.truth());
            // The same for a program that stays open.
            if let Some(seen) = open.look(now, &mut |_| true) {
                last = Some((shown(&seen.listing), seen.catalogue.problems));
            }
            if let Some(last) = &last {
                prop_assert_eq!(last, &shop.truth());
            }
        }
    }
}
