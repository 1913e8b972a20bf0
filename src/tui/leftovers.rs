//! What is kept of earlier mixes, as it is looked through: what is typed to find one, how they are sorted, and the one
//! whose mix's events are looked at.

use super::opened_mix::OpenedMix;
use crate::stock::Leftover;
use tui_input::{Input, InputRequest};

/// By what they are sorted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Sort {
    /// The last day on which one may be used; those of which none was said last.
    #[default]
    UseBy,
    /// When it was kept.
    Age,
    /// How much there is.
    Mass,
    /// The colour, then the layer.
    Colour,
}

impl Sort {
    /// In words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::UseBy => "to be used up first",
            Self::Age => "oldest first",
            Self::Mass => "most first",
            Self::Colour => "by colour",
        }
    }

    /// The next one.
    const fn next(self) -> Self {
        match self {
            Self::UseBy => Self::Age,
            Self::Age => Self::Mass,
            Self::Mass => Self::Colour,
            Self::Colour => Self::UseBy,
        }
    }
}

/// The leftovers on the screen.
#[derive(Debug, Default)]
pub(super) struct LeftoversPage {
    /// What was typed.
    pub(super) query: Input,
    /// By what they are sorted.
    pub(super) sort: Sort,
    /// Which of those that are shown is marked.
    pub(super) selected: usize,
    /// The mix that the opened one is of.
    pub(super) opened: Option<OpenedMix>,
}

impl LeftoversPage {
    /// The places of the leftovers of which all the words are said that were typed, sorted.
    pub(super) fn rows(&self, leftovers: &[Leftover], said: impl Fn(&Leftover) -> String) -> Vec<usize> {
        let typed = self.query.value().to_lowercase();
        let words: Vec<&str> = typed.split_whitespace().collect();
        let has = |leftover: &Leftover| {
            let said = if words.is_empty() { String::new() } else { said(leftover).to_lowercase() };
            words.iter().all(|word| said.contains(word))
        };
        let mut rows: Vec<(usize, &Leftover)> =
            leftovers.iter().enumerate().filter(|(_, leftover)| has(leftover)).collect();
        rows.sort_by_key(|(_, one)| one.of.head.number);
        match self.sort {
            Sort::UseBy => rows.sort_by_key(|(_, one)| (one.use_by.is_none(), one.use_by)),
            Sort::Age => rows.sort_by_key(|(_, one)| (one.kept.is_none(), one.kept)),
            Sort::Mass => rows.sort_by_key(|(_, one)| std::cmp::Reverse(one.holds())),
            Sort::Colour => {
                rows.sort_by(|(_, one), (_, other)| one.of.head.subject.cmp(&other.of.head.subject));
            }
        }
        rows.into_iter().map(|(at, _)| at).collect()
    }

    /// The next way to sort; the mark goes to the top.
    pub(super) fn sort_on(&mut self) {
        self.sort = self.sort.next();
        self.selected = 0;
    }

    /// Changes what is typed; nothing while one is opened.
    pub(super) fn edit(&mut self, request: InputRequest) {
        if self.opened.is_none() && self.query.handle(request).is_some_and(|change| change.value) {
            self.selected = 0;
        }
    }
}
