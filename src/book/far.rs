//! How far long work on a book is.

/// What is being done, how much of it is done, and of how much: nothing of nothing where nobody can count it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Far {
    /// What is being done, in a few words.
    pub at: &'static str,
    /// How much of it is done.
    pub done: u64,
    /// How much there is to do; none if that is not known.
    pub all: u64,
    /// Between which layouts, where a book of an older one is brought up.
    pub up: Option<Up>,
}

/// A book of an older layout is brought up to a newer one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Up {
    /// The layout it had.
    pub from: u32,
    /// The layout it gets.
    pub to: u32,
}

/// Hears how far it is.
pub type Tell<'a> = &'a mut dyn FnMut(Far);

impl Far {
    /// Something that nobody can count is begun.
    pub const fn begun(at: &'static str) -> Self {
        Self { at, done: 0, all: 0, up: None }
    }

    /// So many are done.
    pub(super) fn counted(at: &'static str, done: usize, all: usize) -> Self {
        let number = |count: usize| u64::try_from(count).unwrap_or(u64::MAX);
        Self { done: number(done), all: number(all), ..Self::begun(at) }
    }
}
