//! A choice that a shop's file, a command or an event spells with one fixed word.

/// One of a few things, each with its own word.
pub trait Word: Copy + 'static {
    /// What such a thing is called in a message: `a kind of toner`.
    const NOUN: &'static str;
    /// All of them, in the order people would list them.
    const ALL: &'static [Self];

    /// Its word.
    fn word(self) -> &'static str;

    /// The one with that word, in whatever case.
    fn from_word(text: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|one| one.word().eq_ignore_ascii_case(text.trim()))
    }
}

/// Writes an enum whose words are used in files, in events and on the command line alike.
macro_rules! words {
    ($(#[$meta:meta])* $name:ident is $noun:literal { $($(#[$variant_meta:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(
            Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
        )]
        pub enum $name {
            $($(#[$variant_meta])* #[serde(rename = $word)] $variant),+
        }

        impl $crate::catalogue::Word for $name {
            const NOUN: &'static str = $noun;
            const ALL: &'static [Self] = &[$(Self::$variant),+];
            fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad($crate::catalogue::Word::word(*self))
            }
        }
    };
}
pub(crate) use words;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::{Finish, Place, Role, TonerKind};

    fn same_word_everywhere<W: Word + PartialEq + std::fmt::Debug + serde::Serialize>() {
        for &one in W::ALL {
            assert_eq!(W::from_word(&one.word().to_uppercase()), Some(one));
            assert_eq!(serde_json::to_value(one).unwrap(), one.word());
        }
        assert_eq!(W::from_word("no such word"), None);
    }

    #[test]
    fn a_word_is_the_same_in_files_and_in_events() {
        same_word_everywhere::<TonerKind>();
        same_word_everywhere::<Place>();
        same_word_everywhere::<Role>();
        same_word_everywhere::<Finish>();
    }
}
