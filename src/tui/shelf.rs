//! The stores manager's shelf: what is typed to find a toner, how the toners are sorted, and the one that is opened.

use crate::catalogue::TonerCode;
use crate::report::shelf::{Move, Shelf, TonerShelf};
use tui_input::Input;

/// By what the toners are sorted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Sort {
    /// Their codes.
    #[default]
    Code,
    /// How full their tins are, the emptiest first.
    Level,
    /// For how long they last, the shortest first.
    Cover,
    /// Which expires first.
    Expiry,
}

impl Sort {
    /// In words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Code => "by code",
            Self::Level => "emptiest first",
            Self::Cover => "shortest first",
            Self::Expiry => "by expiry",
        }
    }

    /// The next one.
    const fn next(self) -> Self {
        match self {
            Self::Code => Self::Level,
            Self::Level => Self::Cover,
            Self::Cover => Self::Expiry,
            Self::Expiry => Self::Code,
        }
    }
}

/// A toner whose tins are looked at.
#[derive(Debug)]
pub(super) struct Opened {
    /// Which.
    pub(super) toner: TonerCode,
    /// What came and went; none while it is read, a sentence where it cannot be.
    pub(super) moves: Option<Result<Vec<Move>, String>>,
    /// The first of them on the screen.
    pub(super) scroll: usize,
    /// Which of its tins is marked.
    pub(super) tin: usize,
    /// Whether only what came into that tin and went out of it is shown.
    pub(super) of_tin: bool,
}

/// The shelf on the screen. Its figures are the program's, so that they are there at once the next time.
#[derive(Debug, Default)]
pub(super) struct ShelfPage {
    /// What was typed.
    pub(super) query: Input,
    /// By what it is sorted.
    pub(super) sort: Sort,
    /// Which of the rows is marked.
    pub(super) selected: usize,
    /// The toner whose tins are looked at.
    pub(super) opened: Option<Opened>,
}

impl ShelfPage {
    /// The places of the toners that have all words that were typed; where nothing was, those of which there is anything
    /// to say.
    pub(super) fn rows(&self, shelf: &Shelf) -> Vec<usize> {
        let typed = self.query.value().to_lowercase();
        let words: Vec<&str> = typed.split_whitespace().collect();
        let has = |toner: &TonerShelf| {
            if words.is_empty() {
                return toner.is_of_interest();
            }
            let labels = toner.tins.iter().map(|tin| tin.tin.label.as_str());
            let text: Vec<&str> = [toner.toner.as_str(), &toner.name].into_iter().chain(labels).collect();
            let text = text.join(" ").to_lowercase();
            words.iter().all(|word| text.contains(word))
        };
        let mut rows: Vec<(usize, &TonerShelf)> =
            shelf.toners.iter().enumerate().filter(|(_, toner)| has(toner)).collect();
        match self.sort {
            Sort::Code => {}
            Sort::Level => rows.sort_by_key(|(_, toner)| (toner.level.is_none(), toner.level)),
            Sort::Cover => rows.sort_by(|(_, one), (_, other)| {
                let days = |toner: &TonerShelf| toner.cover.unwrap_or(f64::INFINITY);
                days(one).total_cmp(&days(other))
            }),
            Sort::Expiry => rows.sort_by_key(|(_, toner)| (toner.expires().is_none(), toner.expires())),
        }
        rows.into_iter().map(|(at, _)| at).collect()
    }

    /// The next way to sort; the mark goes to the top.
    pub(super) fn sort_on(&mut self) {
        self.sort = self.sort.next();
        self.selected = 0;
    }
}
