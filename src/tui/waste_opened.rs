//! A row of the waste that is opened, or a toner that went over: the mixes behind it, which are read from the book so many at a
//! time.

use super::opened_mix::OpenedMix;
use super::waste::Span;
use crate::book::{Behind, Mark};
use crate::report::Period;
use crate::report::waste::{By, MixCost, MixPage, Overview};
use crate::units::{Grams, Stamp};
use tui_input::{Input, InputRequest};

/// So many mixes are read at a time.
pub(super) const PAGE: u32 = 100;
/// So many where all of them are needed, to be found or sorted.
const MANY: u32 = 1_000;
/// More are asked for when so many are left below the mark.
const LEFT: usize = 30;

/// Mixes behind a row that are to be read from the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WantedMixes {
    /// The time, as the person chose it.
    pub(super) span: Span,
    /// Its days.
    pub(super) period: Period,
    /// Which.
    pub(super) of: Behind,
    /// Only those before: begun before that moment, or in it with a lower number.
    pub(super) before: Option<(Stamp, u32)>,
    /// How many at most.
    pub(super) most: u32,
}

/// Whose mixes are looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Of {
    /// Those of the row with that key.
    Row(String),
    /// Those in which that happened.
    Marked(Mark),
}

impl Of {
    /// Which mixes those are, told apart by that; none where there is nothing of the kind any more.
    pub(super) fn which(&self, by: By, told: &Overview) -> Option<Behind> {
        match self {
            Self::Row(key) => told.behind(by, key),
            Self::Marked(mark) => told.marked(mark.clone()),
        }
    }
}

/// By what the mixes are sorted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum MixSort {
    /// The latest first, as they are read.
    #[default]
    Latest,
    /// By how much the toner went over, how much putting them right saved, or how much was given up.
    Furthest,
    /// What was wasted.
    Wasted,
    /// What was mixed.
    Mixed,
}

impl MixSort {
    /// In words.
    pub(super) const fn words(self, of: &Of) -> &'static str {
        match (self, of) {
            (Self::Latest, _) => "the latest first",
            (Self::Furthest, Of::Marked(Mark::PutRight)) => "most saved first",
            (Self::Furthest, Of::Marked(Mark::GivenUp)) => "fullest cup first",
            (Self::Furthest, _) => "furthest over first",
            (Self::Wasted, _) => "most wasted first",
            (Self::Mixed, _) => "most mixed first",
        }
    }

    const fn next(self, of: &Of) -> Self {
        match (self, of) {
            (Self::Latest, Of::Marked(_)) => Self::Furthest,
            (Self::Latest | Self::Furthest, _) => Self::Wasted,
            (Self::Wasted, _) => Self::Mixed,
            (Self::Mixed, _) => Self::Latest,
        }
    }
}

/// The mixes that are looked at.
#[derive(Debug)]
pub(super) struct OpenedRow {
    /// Whose.
    pub(super) of: Of,
    /// Its mixes as far as they are read, the latest first.
    pub(super) mixes: Vec<MixCost>,
    /// Whether there are more.
    pub(super) is_more: bool,
    /// Those that are being read.
    pub(super) wanted: Option<WantedMixes>,
    /// Why they could not be read.
    pub(super) failed: Option<String>,
    /// What was typed.
    pub(super) query: Input,
    /// By what they are sorted.
    pub(super) sort: MixSort,
    /// Which of those that are shown is marked.
    pub(super) selected: usize,
    /// The one whose events are looked at.
    pub(super) mix: Option<OpenedMix>,
}

impl OpenedRow {
    /// Nothing is read of it yet.
    pub(super) fn new(of: Of, wanted: WantedMixes) -> Self {
        Self {
            of,
            mixes: Vec::new(),
            is_more: false,
            wanted: Some(wanted),
            failed: None,
            query: Input::default(),
            sort: MixSort::default(),
            selected: 0,
            mix: None,
        }
    }

    /// Those of which all the words are said that were typed, sorted.
    pub(super) fn shown(&self) -> Vec<&MixCost> {
        let typed = self.query.value().to_lowercase();
        let words: Vec<&str> = typed.split_whitespace().collect();
        let has = |mix: &&MixCost| {
            let said = if words.is_empty() { String::new() } else { said(mix).to_lowercase() };
            words.iter().all(|word| said.contains(word))
        };
        let mut mixes: Vec<&MixCost> = self.mixes.iter().filter(has).collect();
        match (self.sort, &self.of) {
            (MixSort::Latest, _) => {}
            (MixSort::Furthest, Of::Marked(mark)) => {
                mixes.sort_by_key(|mix| std::cmp::Reverse(how_far(mix, mark)));
            }
            (MixSort::Furthest | MixSort::Wasted, _) => {
                mixes.sort_by_key(|mix| std::cmp::Reverse(mix.wasted.mass));
            }
            (MixSort::Mixed, _) => mixes.sort_by_key(|mix| std::cmp::Reverse(mix.mixed.mass)),
        }
        mixes
    }

    /// The marked one.
    pub(super) fn marked(&self) -> Option<&MixCost> {
        self.shown().into_iter().nth(self.selected)
    }

    /// Whether the mixes that are read are too few: the mark comes near to the last of them, or what is asked for may stand
    /// in any of them. So many more at most.
    pub(super) fn lacks(&self) -> Option<u32> {
        if !self.is_more || self.wanted.is_some() {
            return None;
        }
        if self.sort != MixSort::Latest || !self.query.value().is_empty() {
            return Some(MANY);
        }
        (self.selected.saturating_add(LEFT) >= self.mixes.len()).then_some(PAGE)
    }

    /// The next way to sort; the mark goes to the top.
    pub(super) fn sort_on(&mut self) {
        self.sort = self.sort.next(&self.of);
        self.selected = 0;
    }

    /// Changes what is typed; nothing while a mix is opened.
    pub(super) fn edit(&mut self, request: InputRequest) {
        if self.mix.is_none() && self.query.handle(request).is_some_and(|change| change.value) {
            self.selected = 0;
        }
    }

    /// Takes in what was read; nothing if something else is wanted since.
    pub(super) fn take_in(&mut self, wanted: &WantedMixes, read: Result<MixPage, String>) {
        if self.wanted.as_ref() != Some(wanted) {
            return;
        }
        self.wanted = None;
        let page = match read {
            Ok(page) => page,
            Err(why) => {
                self.failed = Some(why);
                return;
            }
        };
        let marked = self.marked().map(|mix| mix.number);
        self.failed = None;
        self.is_more = page.is_more;
        if wanted.before.is_none() {
            self.mixes.clear();
        }
        self.mixes.extend(page.mixes);
        // The mark stays with its mix where others come in between.
        let shown = self.shown();
        let at = marked.and_then(|marked| shown.iter().position(|mix| mix.number == marked));
        self.selected = at.unwrap_or(self.selected.min(shown.len().saturating_sub(1)));
    }
}

/// All by which a mix is found: its number, the day it was begun, who began it, its colour and layer, the job, and why some of
/// it was lost.
fn said(mix: &MixCost) -> String {
    let why: Vec<String> = mix.reasons().into_iter().map(|(why, _)| why).collect();
    let why = why.join(" ");
    let number = format!("{:04}", mix.number);
    [&number, &mix.day, &mix.painter, &mix.colour, &mix.layer, &mix.job, &why].map(String::as_str).join(" ")
}

/// By how much that toner went over in the mix, how much less its ways out wasted than growing it, or how much was given up.
fn how_far(mix: &MixCost, mark: &Mark) -> Grams {
    match mark {
        Mark::Over(toner) => mix.overs.iter().filter(|own| own.toner == *toner).map(|own| own.by).sum(),
        Mark::PutRight => mix.saved_against_growing().unwrap_or_default(),
        Mark::GivenUp => mix.given_up_over.unwrap_or_default(),
    }
}
