//! What an eye saw of a card against the car: from where, in what light, and how the card differs.

use crate::catalogue::{Word, words};
use serde::{Deserialize, Serialize};

words! {
    /// From where.
    View is "a view" {
        /// Straight on.
        Face = "face",
        /// Flat along the panel: the flop.
        SideTone = "side-tone",
    }
}

words! {
    /// In what light.
    Light is "a light" {
        /// In the sun.
        Sun = "sun",
        /// In daylight out of the sun.
        Shade = "shade",
        /// In the lamps of the booth or the mixing room.
        Booth = "booth",
    }
}

words! {
    /// What the card is against the car.
    SightWord is "a word for a colour" {
        /// The same.
        Match = "match",
        /// Lighter than the car.
        Lighter = "lighter",
        /// Darker.
        Darker = "darker",
        /// Redder.
        Redder = "redder",
        /// Greener.
        Greener = "greener",
        /// Yellower.
        Yellower = "yellower",
        /// Bluer.
        Bluer = "bluer",
        /// Stronger in colour.
        Cleaner = "cleaner",
        /// Greyer.
        Greyer = "greyer",
        /// Its effect is coarser.
        Coarser = "coarser",
        /// Its effect is finer.
        Finer = "finer",
    }
}

words! {
    /// How much.
    How is "a measure" {
        /// A little.
        ALittle = "a-little",
        /// Plainly.
        Plainly = "plainly",
        /// Much.
        Much = "much",
    }
}

/// What cannot both be.
const CONTRARY: [(SightWord, SightWord); 5] = [
    (SightWord::Lighter, SightWord::Darker),
    (SightWord::Redder, SightWord::Greener),
    (SightWord::Yellower, SightWord::Bluer),
    (SightWord::Cleaner, SightWord::Greyer),
    (SightWord::Coarser, SightWord::Finer),
];

impl View {
    /// For a person: `side tone`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Face => "face",
            Self::SideTone => "side tone",
        }
    }
}

impl Light {
    /// For a person: `booth light`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sun => "sun",
            Self::Shade => "shade",
            Self::Booth => "booth light",
        }
    }
}

/// One thing that was seen: `a little lighter`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Seen {
    /// What.
    pub what: SightWord,
    /// How much of it.
    #[serde(default = "plainly", skip_serializing_if = "is_plain")]
    pub how: How,
}

const fn plainly() -> How {
    How::Plainly
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for it")]
fn is_plain(how: &How) -> bool {
    *how == How::Plainly
}

impl Seen {
    fn parse(text: &str) -> Result<Self, String> {
        let lower = text.trim().to_lowercase();
        let found = [("a little ", How::ALittle), ("slightly ", How::ALittle), ("much ", How::Much)]
            .iter()
            .find_map(|(before, how)| Some((lower.strip_prefix(before)?, *how)));
        let (word, how) = found.unwrap_or((&lower, How::Plainly));
        let what = match word.trim() {
            "matches" | "a match" => Some(SightWord::Match),
            word => SightWord::from_word(word),
        };
        let what = what.ok_or_else(|| {
            let all: Vec<_> = SightWord::ALL.iter().map(|word| word.word()).collect();
            format!(
                "'{}' is not known: one of {} was expected, with \"a little\" or \"much\" before it if it is",
                text.trim(),
                all.join(", ")
            )
        })?;
        Ok(Self { what, how })
    }

    /// For a person: `a little lighter`.
    pub fn words(self) -> String {
        match self.how {
            How::ALittle => format!("a little {}", self.what),
            How::Plainly => self.what.to_string(),
            How::Much => format!("much {}", self.what),
        }
    }
}

/// How a card looked against the car from one side in one light.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sight {
    /// From where.
    pub view: View,
    /// In what light.
    pub light: Light,
    /// What was seen: a match alone, or how the card differs.
    pub is: Vec<Seen>,
}

impl Sight {
    /// Reads what was seen: `match`, or `a little lighter, coarser`.
    ///
    /// # Errors
    /// A word that is not known, or words that cannot both be.
    pub fn parse(view: View, light: Light, text: &str) -> Result<Self, String> {
        let is = text.split(',').map(Seen::parse).collect::<Result<Vec<_>, _>>()?;
        let sight = Self { view, light, is };
        sight.sound()?;
        Ok(sight)
    }

    /// Whether it can be.
    ///
    /// # Errors
    /// Nothing is said, a match is said beside a difference or in part, or two words cannot both be.
    pub fn sound(&self) -> Result<(), String> {
        let has = |word| self.is.iter().any(|seen| seen.what == word);
        if self.is.is_empty() {
            return Err("say what was seen: match, or how the card differs".to_owned());
        }
        if has(SightWord::Match) && (self.is.len() > 1 || !self.is_match()) {
            return Err("a match is a match, and stands alone".to_owned());
        }
        for (place, seen) in self.is.iter().enumerate() {
            if self.is.iter().skip(place.saturating_add(1)).any(|other| other.what == seen.what) {
                return Err(format!("{} is said twice", seen.what));
            }
        }
        match CONTRARY.iter().find(|(one, two)| has(*one) && has(*two)) {
            Some((one, two)) => {
                Err(format!("a card cannot be {one} and {two} from the same side in the same light"))
            }
            None => Ok(()),
        }
    }

    /// Whether the card matches the car there.
    pub fn is_match(&self) -> bool {
        matches!(self.is.as_slice(), [Seen { what: SightWord::Match, how: How::Plainly }])
    }

    /// How far off it is there, to tell the worst: by the strongest word, then by how many there are.
    pub(super) fn off(&self) -> (Option<How>, usize) {
        let off = self.is.iter().filter(|seen| seen.what != SightWord::Match);
        (off.clone().map(|seen| seen.how).max(), off.count())
    }

    /// For a person: `side tone, shade: a little darker`.
    pub fn words(&self) -> String {
        format!("{}, {}: {}", self.view.name(), self.light.name(), self.seen_words())
    }

    /// What was seen alone: `a little darker, coarser`.
    pub fn seen_words(&self) -> String {
        let is: Vec<String> = self.is.iter().map(|seen| seen.words()).collect();
        is.join(", ")
    }
}
