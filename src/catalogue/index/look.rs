//! Going through a shop's folder: only what has changed is read.

use super::records::{Record, Records, join};
use super::stored::{self, Rest, Toners};
use super::{Key, ShopIndex, catalogue};
use crate::catalogue::assemble::{Base, ShopFile, read_colour};
use crate::catalogue::code::fold;
use crate::catalogue::{Catalogue, Listing, folder};
use crate::units::Stamp;
use std::collections::HashSet;
use std::fs;
use std::path::PathBuf;

/// A shop as a look has found it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    /// The shop without its colours: toners, cups, scale, and what is wrong with any file.
    pub catalogue: Catalogue,
    /// The colours.
    pub listing: Listing,
    /// How many of the colours' files had to be read.
    pub read: usize,
}

/// What a look has to say while it goes on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Looking {
    /// So many of so many files that have to be read are read.
    Reading {
        /// How many are.
        read: usize,
        /// How many there are to read.
        of: usize,
    },
    /// What is there so far, where nothing was known before.
    SoFar(Box<Seen>),
}

/// Looks through a shop's folder, as often as wanted, and knows what it saw before.
#[derive(Clone, Debug)]
pub struct Looker {
    index: ShopIndex,
    /// What is known of each file, as it stands in the index: a third of the room it takes when unpacked. Empty if
    /// nothing is known.
    known: Vec<u8>,
    /// The files beside the colours as they were last told of; none if nothing was.
    told: Option<Base>,
}

/// How many files are read before the first are shown; then twice as many each time.
const FIRST_SHOWN: usize = 1_000;
/// How often it is said how many are read.
const SAID: usize = 250;

/// A file that has to be read, and what is known of it.
struct ToRead {
    path: String,
    file: PathBuf,
    key: Option<Key>,
    old: Option<Record>,
}

impl Looker {
    pub(super) fn new(index: ShopIndex) -> Self {
        Self { index, known: Vec::new(), told: None }
    }

    pub(super) fn knowing(index: ShopIndex, known: Vec<u8>, told: Base) -> Self {
        Self { index, known, told: Some(told) }
    }

    /// Looks, `now`; none if nothing has changed since the last time, or if it was to stop: `say` hears how it goes
    /// on and answers whether it shall. The index is written if it has changed; that it cannot be is no harm.
    pub fn look(&mut self, now: Stamp, say: &mut dyn FnMut(Looking) -> bool) -> Option<Seen> {
        let before = stored::rest(&self.known);
        let (mut to_write, mut differs) = (before.is_none(), before.is_none());
        let before = before.unwrap_or_default();
        let ShopIndex { shop, label, .. } = self.index.clone();
        if let Some(problem) = folder::missing(&shop, &label) {
            self.told = None;
            let catalogue = Catalogue { problems: vec![problem], ..Catalogue::default() };
            return Some(Seen { catalogue, listing: Listing::default(), read: 0 });
        }
        let beside = folder::beside_the_colours(&shop);
        let base = Base::read(&label, &beside);
        let files = match folder::colours(&shop) {
            Ok(files) => files,
            Err(error) => {
                // A drive that is away for a moment takes nothing of what is known with it.
                self.told = None;
                let mut seen = seen(&label, &base, &Records::new(), 0);
                seen.catalogue.problems.push(folder::unlistable(&label, &error));
                return Some(seen);
            }
        };

        let toners = toners(&base, &beside);
        let trust = Trust::of(&before, &toners, &label);
        let other = before.label != label || before.toners != toners;
        let (mut records, to_read, gone) = sorted_out(files, before.records, trust);
        differs |= gone || before.label != label;
        to_write |= gone || other;

        let of = to_read.len();
        let mut shown = if records.is_empty() { FIRST_SHOWN } else { usize::MAX };
        let colours = base.known();
        for (read, ToRead { path, file, key, old }) in to_read.into_iter().enumerate() {
            if read.checked_rem(SAID) == Some(0) && !say(Looking::Reading { read, of }) {
                return None;
            }
            if read == shown {
                shown = shown.saturating_mul(2);
                if !say(Looking::SoFar(Box::new(seen(&label, &base, &records, read)))) {
                    return None;
                }
            }
            let content = folder::read(&file, path.clone());
            let new = read_colour(&label, &content, &colours);
            let new = Record::of(new, key.filter(|key| key.is_settled(now)));
            to_write |= old.as_ref() != Some(&new);
            differs |= old
                .is_none_or(|old| (old.colour, old.problems) != (new.colour.clone(), new.problems.clone()));
            records.insert(path, new);
        }
        drop(colours);

        let rest = Rest { label, toners, records };
        if to_write {
            self.keep(&rest);
        }
        if !differs && self.told.as_ref() == Some(&base) {
            return None;
        }
        let seen = seen(&rest.label, &base, &rest.records, of);
        self.told = Some(base);
        Some(seen)
    }

    /// Keeps what is known for the next look, and for the next start.
    fn keep(&mut self, rest: &Rest) {
        self.known = stored::pack(rest).unwrap_or_default();
        let (listing, problems) = join(&rest.label, &rest.records);
        if let Some(bytes) = stored::write(&self.index.shop, &listing, &problems, &self.known)
            && let Err(error) = self.index.keep(&bytes)
        {
            tracing::debug!(%error, "the index of the shop is not kept");
        }
    }
}

/// Those of which is known what they say, those that have to be read, and whether some are gone.
fn sorted_out(
    files: Vec<(String, PathBuf)>,
    mut known: Records,
    trust: Trust,
) -> (Records, Vec<ToRead>, bool) {
    let (mut records, mut to_read) = (Records::new(), Vec::new());
    for (path, file) in files {
        let key = fs::metadata(&file).ok().map(|metadata| Key::of(&metadata));
        match known.remove(&path) {
            Some(record) if key.is_some() && record.key == key && trust.holds(&record) => {
                records.insert(path, record);
            }
            old => to_read.push(ToRead { path, file, key, old }),
        }
    }
    to_read.sort_by(|a, b| a.path.cmp(&b.path));
    (records, to_read, !known.is_empty())
}

/// The shop as these files make it; without toners there are no colours.
fn seen(label: &str, base: &Base, records: &Records, read: usize) -> Seen {
    let (mut listing, mut problems) = join(label, records);
    if let Some(problem) = base.without_toners(label, listing.len()) {
        problems.push(problem);
        listing = Listing::default();
    }
    Seen { catalogue: catalogue(base.clone(), problems), listing, read }
}

/// How far what is known of files that did not change can be trusted now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Trust {
    /// Nothing else has changed.
    All,
    /// The toners' or the products' file is another, but what was there is there: a colour that nothing was wrong with stays right.
    Good,
    /// A toner or a product has gone that any colour may name.
    Nothing,
}

impl Trust {
    fn of(before: &Rest, toners: &Toners, label: &str) -> Self {
        let gone = |before: &[String], now: &[String]| {
            let is_there: HashSet<&String> = now.iter().collect();
            before.iter().any(|code| !is_there.contains(code))
        };
        if before.toners.complete != toners.complete
            || gone(&before.toners.codes, &toners.codes)
            || gone(&before.toners.products, &toners.products)
        {
            Self::Nothing
        } else if before.toners == *toners && before.label == label {
            Self::All
        } else {
            Self::Good
        }
    }

    fn holds(self, record: &Record) -> bool {
        match self {
            Self::All => true,
            Self::Good => record.problems.is_empty(),
            Self::Nothing => false,
        }
    }
}

/// The toners and products that the colours are read with.
fn toners(base: &Base, beside: &[ShopFile]) -> Toners {
    let folded = |codes: Vec<&str>| {
        let mut codes: Vec<String> = codes.into_iter().map(fold).collect();
        codes.sort_unstable();
        codes
    };
    let sum = |is: fn(&ShopFile) -> bool| {
        beside.iter().find(|file| is(file)).map_or(0, |file| stored::sum(file.bytes()))
    };
    Toners {
        sum: sum(ShopFile::is_toners),
        products_sum: sum(ShopFile::is_products),
        complete: (base.complete, base.products_complete),
        codes: folded(base.toners.iter().map(|toner| toner.code.as_str()).collect()),
        products: folded(base.products.iter().map(|product| product.code.as_str()).collect()),
    }
}
