//! Finding a colour by what a person types: a few letters of its code, name, variant or finish, in any order.

use super::{Catalogue, Word, code::fold};
use nucleo_matcher::pattern::{Atom, AtomKind, CaseMatching, Normalization};
use nucleo_matcher::{Config, Matcher, Utf32Str};
use std::cmp::Reverse;
use std::ops::Range;

/// A colour that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Its place in [`Catalogue::colours`], or in the [`Listing`](super::Listing) that was looked through.
    pub colour: usize,
    /// How well it fits, more is better; only to be held against others of the same query.
    pub score: u32,
    /// The bytes of its code that were matched, in order and apart from each other.
    pub code: Vec<Range<usize>>,
    /// The bytes of its name that were matched.
    pub name: Vec<Range<usize>>,
    /// The bytes of its variant that were matched.
    pub variant: Vec<Range<usize>>,
    /// The bytes of its finish's word that were matched.
    pub finish: Vec<Range<usize>>,
}

/// What a word that is all of a field, or its beginning, is worth beyond the letters; what it is worth that code
/// and name say more about a colour than variant and finish.
const WHOLE: u32 = 60;
const START: u32 = 20;
const TELLING: u32 = 10;

/// The colours that have every word of the query somewhere, best first, at most `most` of them.
///
/// A word is found where its letters stand in that order in one field, whole stretches before scattered ones;
/// capitals do not count, nor do accents that were not typed. Colours that fit equally well come in order of name, as all do when
/// nothing has been typed.
///
/// The plain way, each colour looked at anew; [`Finder`](super::Finder) does the same faster.
pub fn find(catalogue: &Catalogue, query: &str, most: usize) -> Vec<Found> {
    let words = words_of(query);
    let mut matcher = Ranking::matcher();

    let mut ranked: Vec<_> = catalogue
        .colours
        .iter()
        .enumerate()
        .filter_map(|(index, colour)| {
            let texts = [colour.code.as_str(), &colour.name, &colour.variant, colour.finish.word()];
            let found = fit(index, texts, &words, &mut matcher)?;
            let order = (fold(&colour.name), fold(colour.code.as_str()), fold(&colour.variant));
            Some((Reverse(found.score), order, found))
        })
        .collect();
    ranked.sort_by(|a, b| (&a.0, &a.1).cmp(&(&b.0, &b.1)));
    ranked.into_iter().take(most).map(|(_, _, found)| found).collect()
}

/// The words of a query, as they are looked for.
pub(super) fn words_of(query: &str) -> Vec<Atom> {
    query
        .split_whitespace()
        .map(|word| Atom::new(word, CaseMatching::Ignore, Normalization::Smart, AtomKind::Fuzzy, false))
        .filter(|atom| !atom.needle_text().is_empty())
        .collect()
}

/// What a word in a field is worth.
pub(super) struct Ranking;

impl Ranking {
    /// A matcher for whole words and beginnings.
    pub(super) fn matcher() -> Matcher {
        let mut config = Config::DEFAULT;
        config.prefer_prefix = true;
        Matcher::new(config)
    }

    /// What a field is worth beyond its letters: code, name, variant, finish.
    const fn worth(field: usize) -> u32 {
        if field < 2 { TELLING } else { 0 }
    }

    /// What the word is worth in that field's text; none if it is not in it.
    pub(super) fn score(word: &Atom, text: Utf32Str<'_>, field: usize, matcher: &mut Matcher) -> Option<u32> {
        // Only a text that begins with the word can have been matched at its beginning as a whole, and only then it
        // matters where the letters are.
        if !begins(text, word) {
            return Some(u32::from(word.score(text, matcher)?) + Self::worth(field));
        }
        let mut places = Vec::new();
        let score = u32::from(word.indices(text, matcher, &mut places)?) + Self::worth(field);
        Some(score + bonus(&mut places, text.len()))
    }
}

/// A letter in every form in which the matcher may take it: as it is, small, without its accent, both.
pub(super) fn forms(letter: char) -> [char; 4] {
    use nucleo_matcher::chars::{normalize, to_lower_case};
    let plain = normalize(letter);
    [letter, to_lower_case(letter), plain, to_lower_case(plain)]
}

/// Whether the text begins with the word, or may.
fn begins(text: Utf32Str<'_>, word: &Atom) -> bool {
    let mut letters = text.chars();
    word.needle_text()
        .chars()
        .all(|wanted| letters.next().is_some_and(|letter| forms(letter).contains(&wanted)))
}

/// What it is worth that the letters are the beginning of the text, or all of it.
fn bonus(places: &mut Vec<u32>, length: usize) -> u32 {
    places.sort_unstable();
    places.dedup();
    let starts = places.iter().zip(0_u32..).all(|(&place, at)| place == at);
    match (starts, places.len() == length) {
        (true, true) => WHOLE,
        (true, false) => START,
        (false, _) => 0,
    }
}

/// How a colour with that code, name, variant and finish fits all the words, if it does.
pub(super) fn fit(index: usize, texts: [&str; 4], words: &[Atom], matcher: &mut Matcher) -> Option<Found> {
    let [code, name, variant, finish] = texts;
    let mut fields =
        [Field::new(code, TELLING), Field::new(name, TELLING), Field::new(variant, 0), Field::new(finish, 0)];
    let mut score = 0_u32;
    for word in words {
        let mut best: Option<(u32, usize, Vec<u32>)> = None;
        for (at, field) in fields.iter().enumerate() {
            let Some((field_score, places)) = field.fit(word, matcher) else { continue };
            if best.as_ref().is_none_or(|(best_score, ..)| field_score > *best_score) {
                best = Some((field_score, at, places));
            }
        }
        let (word_score, at, places) = best?;
        score = score.saturating_add(word_score);
        if let Some(field) = fields.get_mut(at) {
            field.places.extend(places);
        }
    }
    let [code, name, variant, finish] = fields.map(Field::ranges);
    Some(Found { colour: index, score, code, name, variant, finish })
}

/// One text of a colour, prepared for matching.
struct Field<'t> {
    text: &'t str,
    /// The letters, and the byte each starts at.
    letters: Vec<char>,
    starts: Vec<usize>,
    worth: u32,
    /// Which letters have been matched so far.
    places: Vec<u32>,
}

impl<'t> Field<'t> {
    fn new(text: &'t str, worth: u32) -> Self {
        let (starts, letters) = plain(text).unzip();
        Self { text, letters, starts, worth, places: Vec::new() }
    }

    /// The score of one word in this field and the letters it matched.
    fn fit(&self, word: &Atom, matcher: &mut Matcher) -> Option<(u32, Vec<u32>)> {
        // The matcher wants text that is all ASCII as bytes.
        let ascii: Option<Vec<u8>> =
            self.letters.iter().map(|&c| u8::try_from(c).ok().filter(u8::is_ascii)).collect();
        let haystack = match &ascii {
            Some(bytes) => Utf32Str::Ascii(bytes),
            None => Utf32Str::Unicode(&self.letters),
        };
        let mut places = Vec::new();
        let score = u32::from(word.indices(haystack, matcher, &mut places)?) + self.worth;
        let score = score + bonus(&mut places, self.letters.len());
        Some((score, places))
    }

    /// The matched letters as ranges of bytes, neighbours joined.
    fn ranges(mut self) -> Vec<Range<usize>> {
        self.places.sort_unstable();
        self.places.dedup();
        let mut ranges: Vec<Range<usize>> = Vec::new();
        for place in self.places {
            let place = place as usize;
            let Some(&start) = self.starts.get(place) else { continue };
            let end = self.starts.get(place.saturating_add(1)).copied().unwrap_or(self.text.len());
            match ranges.last_mut() {
                Some(last) if last.end == start => last.end = end,
                _ => ranges.push(start..end),
            }
        }
        ranges
    }
}

/// The letters of a text, each with the byte it starts at. A combining accent belongs to the letter before it;
/// accents that are one with their letter are the matcher's to see through.
fn plain(text: &str) -> impl Iterator<Item = (usize, char)> {
    text.char_indices().filter(|&(_, c)| !matches!(c, '\u{300}'..='\u{36f}'))
}
