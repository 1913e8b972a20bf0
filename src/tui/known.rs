//! The shop's colours as the screen knows them: each in a line, so that a hundred thousand are there at once, and in full
//! those that were looked at.

use crate::catalogue::{Colour, ColourCode, Entry, Finder, Found, Listing, Role};
use crate::units::Moment;
use std::collections::HashMap;
use std::sync::Arc;

/// What is done once a colour's file was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Then {
    /// Its card is shown, if it is still the marked one.
    Show,
    /// It is asked how much of that layer.
    Mix(Role),
    /// What was chosen is done with its formula.
    Formula(super::on_formula::Choice),
    /// The new job is opened with it.
    Job,
}

/// The colours.
#[derive(Debug, Default)]
pub(super) struct Known {
    /// All of them.
    pub(super) listing: Arc<Listing>,
    finder: Finder,
    /// Whether each colour has a file of its own that is read when the colour is wanted.
    is_folder: bool,
    /// Those that are here in full: all of a shop that lies in memory, of a folder those that were looked at.
    full: Vec<Colour>,
    /// Those mixed last, code and variant, the latest first.
    recent: Vec<(String, String)>,
    /// The file that was asked for last, to show its card.
    asked: Option<String>,
    /// How many files of how many are read, while they are.
    pub(super) reading: Option<(usize, usize)>,
    /// When the folder was asked to be looked through last.
    looked: Option<Moment>,
    /// The code to be looked for once the folder was looked through again.
    pub(super) show_next: Option<String>,
}

/// As many as are kept in full; more are forgotten and read again.
const KEPT: usize = 400;
/// How long it lasts until somebody else's new colour is looked for.
const LOOK_MS: u64 = 60_000;
/// As many as are remembered as mixed lately.
const RECENT: usize = 50;

impl Known {
    /// A shop that lies in memory.
    pub(super) fn in_memory(colours: Vec<Colour>, recent: Vec<(String, String)>) -> Self {
        let listing = Listing::of(&colours);
        let finder = Finder::new(&listing);
        let mut known = Self { listing: Arc::new(listing), finder, full: colours, recent, ..Self::default() };
        known.find_recent();
        known
    }

    /// The colours of a folder as they are now; what was set of finding stays.
    pub(super) fn learn(&mut self, listing: Listing, finder: Finder) {
        let shows_retired = self.finder.shows_retired();
        if !self.is_folder || self.full.len() > KEPT {
            self.full.clear();
        }
        self.is_folder = true;
        self.listing = Arc::new(listing);
        self.finder = finder;
        self.finder.show_retired(shows_retired);
        self.asked = None;
        self.find_recent();
    }

    /// The colour at that place of the listing.
    pub(super) fn entry(&self, at: usize) -> Option<Entry<'_>> {
        self.listing.get(at)
    }

    /// The same in full, as it was read last; none if it was not yet.
    pub(super) fn full(&self, at: usize) -> Option<&Colour> {
        let entry = self.listing.get(at)?;
        if !self.is_folder {
            return self.full.get(entry.place);
        }
        self.full.iter().find(|colour| file_of(colour) == Some(entry.file))
    }

    /// The colours of the folder in their lines; none of a shop that lies in memory.
    pub(super) fn folder(&self) -> Option<Arc<Listing>> {
        self.is_folder.then(|| Arc::clone(&self.listing))
    }

    /// Every colour in full, where the shop lies in memory; those that were looked at where it does not.
    pub(super) fn in_full(&self) -> &[Colour] {
        &self.full
    }

    /// A colour with that code that is here in full.
    #[cfg(test)]
    pub(super) fn colour(&self, code: &str) -> Option<&Colour> {
        self.full.iter().find(|colour| colour.code.as_str() == code)
    }

    /// Where the colour with that code and variant is in the listing.
    pub(super) fn place_of(&self, code: &str, variant: &str) -> Option<usize> {
        self.listing.position(code, variant)
    }

    /// Code and variant of each.
    pub(super) fn names(&self) -> impl Iterator<Item = (&str, &str)> {
        self.listing.iter().map(|entry| (entry.code, entry.variant))
    }

    /// A colour as its file has it now. Of a shop in memory it is listed too; a folder is looked through for that.
    pub(super) fn take_in(&mut self, colour: Colour) {
        let file = file_of(&colour).map(str::to_owned);
        let same = |known: &&mut Colour| file.is_some() && file_of(known) == file.as_deref();
        if let Some(known) = self.full.iter_mut().find(same) {
            *known = colour;
        } else {
            if self.is_folder && self.full.len() >= KEPT {
                self.full.clear();
            }
            self.full.push(colour);
        }
        if !self.is_folder {
            let shows_retired = self.finder.shows_retired();
            self.listing = Arc::new(Listing::of(&self.full));
            self.finder = Finder::new(&self.listing);
            self.finder.show_retired(shows_retired);
            self.find_recent();
        }
    }

    /// The file of the colour at that place, if its card is still to be asked for; it counts as asked for then.
    pub(super) fn ask_for(&mut self, at: usize) -> Option<String> {
        let file = self.listing.get(at).map(|entry| entry.file).filter(|file| !file.is_empty())?.to_owned();
        if self.asked.as_ref() == Some(&file) {
            return None;
        }
        self.asked = Some(file.clone());
        Some(file)
    }

    /// Whether the folder is to be looked through for what somebody else has written; it counts as looked through then.
    pub(super) fn is_look_due(&mut self, now: Moment) -> bool {
        if !self.is_folder {
            return false;
        }
        let due = now.since(*self.looked.get_or_insert(now)) >= LOOK_MS;
        if due {
            self.looked = Some(now);
        }
        due
    }

    /// The best that fit, at most `most` of them.
    pub(super) fn find(&mut self, query: &str, most: usize) -> Vec<Found> {
        self.finder.find(&self.listing, query, most)
    }

    /// How many colours could be found.
    pub(super) fn count(&self) -> usize {
        self.finder.count()
    }

    /// Whether retired ones are found too.
    pub(super) fn shows_retired(&self) -> bool {
        self.finder.shows_retired()
    }

    /// Whether they shall be.
    pub(super) fn show_retired(&mut self, show: bool) {
        self.finder.show_retired(show);
    }

    /// Whether the colour at that place is one of those mixed last.
    pub(super) fn is_recent(&self, at: usize) -> bool {
        self.finder.is_recent(at)
    }

    /// That colour was mixed just now.
    pub(super) fn mixed(&mut self, code: &ColourCode, variant: &str) {
        let name = (code.as_str().to_owned(), variant.to_owned());
        self.recent.retain(|other| *other != name);
        self.recent.insert(0, name);
        self.recent.truncate(RECENT);
        self.find_recent();
    }

    /// The finder knows them by their place.
    fn find_recent(&mut self) {
        let ranks: HashMap<(&str, &str), usize> = self
            .recent
            .iter()
            .zip(0..)
            .map(|((code, variant), rank)| ((&**code, &**variant), rank))
            .collect();
        let mut places: Vec<(usize, usize)> = Vec::new();
        if !ranks.is_empty() {
            for (at, entry) in self.listing.iter().enumerate() {
                places.extend(ranks.get(&(entry.code, entry.variant)).map(|rank| (*rank, at)));
            }
        }
        places.sort_unstable();
        self.finder.set_recent(places.into_iter().map(|(_, at)| at));
    }
}

fn file_of(colour: &Colour) -> Option<&str> {
    colour.source.as_ref().map(|source| source.file.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    fn names(known: &mut Known, query: &str) -> Vec<String> {
        let found = known.find(query, 100);
        found.into_iter().map(|one| known.entry(one.colour).unwrap().name.to_owned()).collect()
    }

    #[test]
    fn those_mixed_last_stay_first_when_the_folder_was_looked_through_again() {
        let colours = Catalogue::demo().colours;
        let last = colours.last().unwrap().clone();
        let mut known = Known::in_memory(colours.clone(), Vec::new());
        known.mixed(&last.code, &last.variant);
        assert_eq!(names(&mut known, "")[0], last.name);
        known.show_retired(true);
        let fewer = Listing::of(&colours[2..]);
        known.learn(fewer.clone(), Finder::new(&fewer));
        assert_eq!(names(&mut known, "")[0], last.name);
        assert!(
            known.shows_retired()
                && known.is_recent(known.place_of(last.code.as_str(), &last.variant).unwrap())
        );
    }

    #[test]
    fn a_colour_that_is_written_is_found_at_once_where_the_shop_lies_in_memory() {
        let mut known = Known::in_memory(Catalogue::demo().colours, Vec::new());
        let mut new = known.full(0).unwrap().clone();
        new.name = "Thistle Smoke".to_owned();
        new.source = None;
        known.take_in(new);
        assert_eq!(names(&mut known, "thistle"), ["Thistle Smoke"]);
        assert!(known.ask_for(0).is_none(), "there is no file to read");
    }
}
