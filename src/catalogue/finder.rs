//! Finding among very many colours at each keystroke: the same as [`find`](super::find()) in the same order, with all that
//! does not depend on the query done before.
//!
//! A colour is left out by the letters it has not got before any matching is done; what a longer query finds is looked for
//! among what the shorter one found; and where letters were matched is worked out only for the rows that are shown.

use super::find::{Ranking, fit, forms, words_of};
use super::{Found, Listing};
use nucleo_matcher::pattern::Atom;
use nucleo_matcher::{Matcher, Utf32Str};
use std::cmp::Reverse;
use std::thread;

/// The fields of a colour that are looked at: code, name, variant, finish.
const FIELDS: usize = 4;
/// From so many colours on the work is shared between the machine's cores.
const SHARED_FROM: usize = 20_000;

/// One text in the arena.
#[derive(Clone, Copy, Debug, Default)]
struct Piece {
    start: u32,
    length: u32,
    /// Whether it is in the arena of letters beyond ASCII.
    wide: bool,
}

/// A colour as it is looked at.
#[derive(Clone, Copy, Debug)]
struct Entry {
    fields: [Piece; FIELDS],
    /// A bit for each letter it has somewhere.
    letters: u64,
    /// Whether it is retired.
    retired: bool,
}

/// The colours, prepared.
#[derive(Clone, Debug, Default)]
pub struct Finder {
    ascii: Vec<u8>,
    wide: Vec<char>,
    entries: Vec<Entry>,
    /// Those mixed last, the latest first.
    recent: Vec<u32>,
    /// Whether retired ones are found too.
    with_retired: bool,
    /// What was asked last, and all that was found.
    last: Option<(String, Vec<u32>)>,
}

/// How one colour fits, to be sorted: the best first, the latest of equals, then by name, which is the listing's order.
type Rank = (Reverse<u32>, u32, u32);

impl Finder {
    /// Prepares the colours.
    pub fn new(listing: &Listing) -> Self {
        let mut finder = Self { entries: Vec::with_capacity(listing.len()), ..Self::default() };
        for colour in listing.iter() {
            let texts = colour.texts();
            let letters = texts.iter().fold(0, |bits, text| bits | letters_of(text));
            let fields = texts.map(|text| finder.keep(text));
            finder.entries.push(Entry { fields, letters, retired: colour.retired.is_some() });
        }
        finder
    }

    /// That colour was mixed just now.
    pub fn mixed(&mut self, colour: usize) {
        let others = std::mem::take(&mut self.recent);
        self.set_recent([colour].into_iter().chain(others.into_iter().map(|at| at as usize)));
    }

    /// The colours that were mixed last, the latest first: they come first where nothing is typed, and of colours that
    /// fit equally well.
    pub fn set_recent(&mut self, recent: impl IntoIterator<Item = usize>) {
        self.recent.clear();
        for at in recent.into_iter().filter_map(|at| u32::try_from(at).ok()) {
            if !self.recent.contains(&at) {
                self.recent.push(at);
            }
        }
        self.last = None;
    }

    /// Whether that colour is one of those mixed last.
    pub fn is_recent(&self, colour: usize) -> bool {
        u32::try_from(colour).is_ok_and(|colour| self.recent.contains(&colour))
    }

    /// Whether retired colours are found too.
    pub fn show_retired(&mut self, show: bool) {
        self.with_retired = show;
        self.last = None;
    }

    /// Whether they are.
    pub fn shows_retired(&self) -> bool {
        self.with_retired
    }

    /// Takes a text in, accents that combine left out as in [`find`](super::find()).
    fn keep(&mut self, text: &str) -> Piece {
        let letters = || text.chars().filter(|letter| !matches!(letter, '\u{300}'..='\u{36f}'));
        let size = |length: usize| u32::try_from(length).unwrap_or(u32::MAX);
        if text.is_ascii() {
            let piece = Piece { start: size(self.ascii.len()), length: size(text.len()), wide: false };
            self.ascii.extend_from_slice(text.as_bytes());
            return piece;
        }
        let start = size(self.wide.len());
        self.wide.extend(letters());
        Piece { start, length: size(self.wide.len()).saturating_sub(start), wide: true }
    }

    fn text(&self, piece: Piece) -> Utf32Str<'_> {
        let (from, to) = (piece.start as usize, (piece.start.saturating_add(piece.length)) as usize);
        if piece.wide {
            Utf32Str::Unicode(self.wide.get(from..to).unwrap_or_default())
        } else {
            Utf32Str::Ascii(self.ascii.get(from..to).unwrap_or_default())
        }
    }

    /// How many colours could be found.
    pub fn count(&self) -> usize {
        self.entries.iter().filter(|entry| self.with_retired || !entry.retired).count()
    }

    /// The colours that have every word of the query somewhere, best first, at most `most` of them. The listing is the one
    /// it was prepared from.
    pub fn find(&mut self, listing: &Listing, query: &str, most: usize) -> Vec<Found> {
        let words = words_of(query);
        let mut matcher = Ranking::matcher();
        let places: Vec<u32> = if words.is_empty() {
            self.last = None;
            self.unasked(most)
        } else {
            let (best, all) = self.best(query, &words, most);
            self.last = Some((query.to_owned(), all));
            best
        };
        let found = |at: u32| {
            let at = at as usize;
            fit(at, listing.get(at)?.texts(), &words, &mut matcher)
        };
        places.into_iter().filter_map(found).collect()
    }

    fn all(&self) -> impl Iterator<Item = u32> + use<> {
        0..u32::try_from(self.entries.len()).unwrap_or(u32::MAX)
    }

    /// What comes where nothing is typed: those mixed last, then the rest by name.
    fn unasked(&self, most: usize) -> Vec<u32> {
        let seen = |at: &u32| {
            self.entries.get(*at as usize).is_some_and(|entry| self.with_retired || !entry.retired)
        };
        let recent = self.recent.iter().copied();
        let others = self.all().filter(|at| !self.recent.contains(at));
        recent.chain(others).filter(seen).take(most).collect()
    }

    /// The best, and all that fit.
    fn best(&self, query: &str, words: &[Atom], most: usize) -> (Vec<u32>, Vec<u32>) {
        let wanted: Vec<u64> = words.iter().map(needle_letters).collect();
        // More letters never find what fewer did not.
        let before = self.last.as_ref().filter(|(asked, _)| query.starts_with(asked.as_str()));
        let all: Vec<u32>;
        let candidates: &[u32] = if let Some((_, found)) = before {
            found
        } else {
            all = self.all().collect();
            &all
        };
        let cores = thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let mut ranked: Vec<Rank> = if candidates.len() < SHARED_FROM || cores == 1 {
            self.ranks(candidates, words, &wanted)
        } else {
            let share = candidates.len().div_ceil(cores).max(1);
            thread::scope(|scope| {
                let parts: Vec<_> = candidates
                    .chunks(share)
                    .map(|part| scope.spawn(|| self.ranks(part, words, &wanted)))
                    .collect();
                // A part that failed would take colours away unseen: it is done again here, and fails where it is seen.
                let parts = parts.into_iter().zip(candidates.chunks(share));
                parts
                    .flat_map(|(part, of)| part.join().unwrap_or_else(|_| self.ranks(of, words, &wanted)))
                    .collect()
            })
        };
        let all = ranked.iter().map(|(.., at)| *at).collect();
        if ranked.len() > most && most > 0 {
            ranked.select_nth_unstable(most.saturating_sub(1));
            ranked.truncate(most);
        }
        ranked.truncate(most);
        ranked.sort_unstable();
        (ranked.into_iter().map(|(.., at)| at).collect(), all)
    }

    fn ranks(&self, candidates: &[u32], words: &[Atom], wanted: &[u64]) -> Vec<Rank> {
        let mut matcher = Ranking::matcher();
        let mut ranked = Vec::new();
        for &at in candidates {
            let Some(entry) = self.entries.get(at as usize) else { continue };
            let has_all = wanted.iter().all(|letters| letters & !entry.letters == 0);
            if !has_all || (entry.retired && !self.with_retired) {
                continue;
            }
            if let Some(score) = self.score(entry, words, &mut matcher) {
                let recent = self.recent.iter().position(|recent| *recent == at);
                let recent = recent.and_then(|place| u32::try_from(place).ok()).unwrap_or(u32::MAX);
                ranked.push((Reverse(score), recent, at));
            }
        }
        ranked
    }

    /// The sum of what each word is worth in the field it fits best; none unless each fits somewhere.
    fn score(&self, entry: &Entry, words: &[Atom], matcher: &mut Matcher) -> Option<u32> {
        let mut sum = 0_u32;
        for word in words {
            let best = entry
                .fields
                .iter()
                .enumerate()
                .filter_map(|(field, piece)| Ranking::score(word, self.text(*piece), field, matcher))
                .max()?;
            sum = sum.saturating_add(best);
        }
        Some(sum)
    }
}

/// A bit for each letter of a text, in every form in which the matcher may take it.
fn letters_of(text: &str) -> u64 {
    text.chars().flat_map(forms).fold(0, |bits, letter| bits | bit(letter))
}

fn needle_letters(word: &Atom) -> u64 {
    word.needle_text().chars().fold(0, |bits, letter| bits | bit(letter))
}

/// The bit of a letter: one each for small Latin letters and digits, the others share the rest.
fn bit(letter: char) -> u64 {
    let at = match letter {
        'a'..='z' => u32::from(letter).saturating_sub(u32::from('a')),
        '0'..='9' => u32::from(letter).saturating_sub(u32::from('0')).saturating_add(26),
        other => u32::from(other).wrapping_rem(28).saturating_add(36),
    };
    1_u64.wrapping_shl(at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::{Catalogue, Colour, ColourCode, Finish, Retired, Word as _, find};
    use proptest::prelude::*;
    use std::sync::LazyLock;

    fn colour(code: &str, name: &str, variant: &str) -> Colour {
        static LIKE: LazyLock<Colour> = LazyLock::new(|| Catalogue::demo().colours.remove(0));
        let like = LIKE.clone();
        Colour { code: ColourCode::new(code), name: name.to_owned(), variant: variant.to_owned(), ..like }
    }

    fn names(finder: &mut Finder, colours: &Listing, query: &str) -> Vec<String> {
        let name = |found: Found| colours.get(found.colour).unwrap().name.to_owned();
        finder.find(colours, query, 9).into_iter().map(name).collect()
    }

    #[test]
    fn those_mixed_last_come_first_and_retired_ones_only_if_asked() {
        let mut colours =
            vec![colour("1", "Anvil", "a"), colour("2", "Birch", "a"), colour("3", "Cedar", "a")];
        colours[2].retired = Some(Retired { on: "2026-01-01".to_owned(), because: None });
        let colours = Listing::of(&colours);
        let mut finder = Finder::new(&colours);
        assert_eq!(names(&mut finder, &colours, ""), ["Anvil", "Birch"]);
        finder.set_recent([1, 2, 1]);
        assert_eq!(names(&mut finder, &colours, ""), ["Birch", "Anvil"]);
        assert!(names(&mut finder, &colours, "cedar").is_empty());
        finder.show_retired(true);
        assert_eq!(names(&mut finder, &colours, ""), ["Birch", "Cedar", "Anvil"]);
        assert_eq!(names(&mut finder, &colours, "ceda"), ["Cedar"]);
        assert_eq!((finder.count(), finder.is_recent(1), finder.is_recent(0)), (3, true, false));
        // Of equals the one mixed later; one that fits better comes first all the same.
        let twins =
            Listing::of(&[colour("7", "Moss", "a"), colour("7", "Moss", "b"), colour("77", "Mossy", "c")]);
        let mut finder = Finder::new(&twins);
        finder.set_recent([2, 1]);
        let found: Vec<usize> = finder.find(&twins, "moss", 9).iter().map(|found| found.colour).collect();
        assert_eq!(found, [1, 0, 2]);
    }

    fn texts() -> impl Strategy<Value = Vec<Colour>> {
        let word = || {
            prop_oneof![
                4 => "[a-cé]{0,5}",
                2 => "(Gr[üu]n|Ä?rger|white|Wet|PB-31|31)( (pearl|fine|\u{301}x))?",
                1 => "\\PC{0,6}",
            ]
        };
        prop::collection::vec((word(), word(), word(), 0..3_usize), 0..40).prop_map(|rows| {
            rows.into_iter()
                .map(|(code, name, variant, finish)| {
                    let finish = Finish::ALL[finish];
                    Colour { finish, ..colour(&code, &name, &variant) }
                })
                .collect()
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

        /// The same colours, scores, letters and order as the plain way, letter by letter and in one go.
        #[test]
        fn the_same_as_the_plain_way(
            colours in texts(),
            query in prop_oneof![3 => "[a-cé ]{0,8}", 1 => "(grun|ürg|white 31|pb fine| s)", 1 => "\\PC{0,6}"],
            most in 1_usize..50,
        ) {
            let catalogue = Catalogue { colours, ..Catalogue::default() };
            let plain = find(&catalogue, &query, most);
            let listing = Listing::of(&catalogue.colours);
            let mut finder = Finder::new(&listing);
            let of_shop = |found: Vec<Found>| -> Vec<Found> {
                let place = |at: usize| listing.get(at).unwrap().place;
                found.into_iter().map(|one| Found { colour: place(one.colour), ..one }).collect()
            };
            prop_assert_eq!(&of_shop(finder.find(&listing, &query, most)), &plain);
            let mut typed = String::new();
            for letter in query.chars() {
                typed.push(letter);
                let found = finder.find(&listing, &typed, most);
                prop_assert_eq!(of_shop(found), find(&catalogue, &typed, most), "{}", typed);
            }
        }
    }
}
