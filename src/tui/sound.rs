//! What is to be heard. A sound says something that the eye may miss; which it is, and whether any is, is set.
//!
//! A terminal's bell has one tone, so sounds differ by their beat: [`Pattern`]. Where there is a loudspeaker, a
//! command can make the sound instead: [`Voice`].

use std::fmt;
use thiserror::Error;

/// Something to be heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sound {
    /// A pour was taken and is right, or another step is done.
    Right,
    /// A pour is over, or something does not belong.
    Over,
    /// The scale is lost, or something is not saved.
    Lost,
    /// It is time to pour more slowly.
    EaseOff,
    /// The wrong tin is in the hand.
    WrongTin,
    /// Something else wants to be looked at.
    Attention,
    /// A time has ended: a flash-off, a bake, a pot life, the clearance of the booth.
    Timer,
}

impl Sound {
    /// All of them.
    pub const ALL: [Self; 7] =
        [Self::Right, Self::Over, Self::Lost, Self::EaseOff, Self::WrongTin, Self::Attention, Self::Timer];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Over => "over",
            Self::Lost => "lost",
            Self::EaseOff => "ease-off",
            Self::WrongTin => "wrong-tin",
            Self::Attention => "attention",
            Self::Timer => "timer",
        }
    }
}

impl Sound {
    /// The more urgent one is heard where two would be at once.
    pub const fn urgency(self) -> u8 {
        match self {
            Self::Lost => 6,
            Self::WrongTin => 5,
            Self::Over => 4,
            Self::EaseOff => 3,
            Self::Timer => 2,
            Self::Right => 1,
            Self::Attention => 0,
        }
    }

    const fn place(self) -> usize {
        match self {
            Self::Right => 0,
            Self::Over => 1,
            Self::Lost => 2,
            Self::EaseOff => 3,
            Self::WrongTin => 4,
            Self::Attention => 5,
            Self::Timer => 6,
        }
    }

    /// The beat it has unless another is set.
    const fn usual(self) -> &'static str {
        match self {
            Self::Right | Self::Attention => "x",
            Self::Over => "x x x",
            Self::Lost => "x----x",
            Self::EaseOff => "x x",
            Self::WrongTin => "x x x x",
            Self::Timer => "x--x--x",
        }
    }
}

/// How long a blank and a dash wait before the next bell, in milliseconds. Closer than that a terminal may make one
/// of two bells (common practice, no source).
const BLANK_MS: u64 = 150;
/// How many bells a sound has at most, and how long it is, in milliseconds.
const MOST_BELLS: usize = 8;
const LONGEST_MS: u64 = 3_000;

/// Why a sound cannot be made like that.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum SoundError {
    /// Another sign than it is written with.
    #[error("'{0}' is no beat: write x for a bell, and a blank or - to wait, as 'x x' or 'x--x'; or off")]
    NotABeat(String),
    /// Two bells without a wait between.
    #[error("'{0}' has two bells at once, which sound as one: put a blank between them, as 'x x'")]
    AtOnce(String),
    /// Too many, or too long.
    #[error("'{0}' is too long: at most {MOST_BELLS} bells within three seconds")]
    TooLong(String),
    /// A command without a program.
    #[error("the command for the sound names no program: write its name, then what it is told")]
    NoProgram,
    /// There is no sound of that name.
    #[error("there is no sound '{0}': it is one of right, over, lost, ease-off, wrong-tin, attention, timer")]
    NoSound(String),
}

/// A beat of bells: when each is rung, in milliseconds from the first.
///
/// Written with `x` for a bell and a blank or `-` for a wait of 150 ms: `x x x` are three quick ones, `x----x` two
/// slow ones.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    bells: Vec<u64>,
}

impl Pattern {
    /// Reads one.
    pub fn parse(text: &str) -> Result<Self, SoundError> {
        let shown = || crate::units::clean(text).chars().take(40).collect::<String>();
        let trimmed = text.trim();
        if trimmed.is_empty() || !trimmed.chars().all(|sign| matches!(sign, 'x' | 'X' | ' ' | '-')) {
            return Err(SoundError::NotABeat(shown()));
        }
        let (mut bells, mut at) = (Vec::new(), 0_u64);
        let mut before = false;
        for sign in trimmed.chars() {
            let bell = matches!(sign, 'x' | 'X');
            if bell && before {
                return Err(SoundError::AtOnce(shown()));
            }
            if bell {
                bells.push(at);
            } else {
                at = at.saturating_add(BLANK_MS);
            }
            before = bell;
        }
        match bells.first() {
            None => Err(SoundError::NotABeat(shown())),
            Some(first) if *first > 0 || bells.len() > MOST_BELLS || at > LONGEST_MS => {
                Err(if *first > 0 { SoundError::NotABeat(shown()) } else { SoundError::TooLong(shown()) })
            }
            Some(_) => Ok(Self { bells }),
        }
    }

    /// When each bell is rung, in milliseconds from the first.
    pub fn bells(&self) -> &[u64] {
        &self.bells
    }
}

/// As it is written.
impl fmt::Display for Pattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut at = 0;
        for bell in &self.bells {
            while at < *bell {
                f.write_str("-")?;
                at = at.saturating_add(BLANK_MS);
            }
            f.write_str("x")?;
        }
        Ok(())
    }
}

/// How a sound is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Voice {
    /// Not at all.
    Off,
    /// With the terminal's bell.
    Bells(Pattern),
    /// By a command: the program, then what it is told, as they stand; no shell reads them. Run apart, without a
    /// terminal, one at a time; what becomes of it is not asked.
    Command(Vec<String>),
}

impl Voice {
    /// Reads a beat, or `off`.
    pub fn parse(text: &str) -> Result<Self, SoundError> {
        if text.trim() == "off" { Ok(Self::Off) } else { Pattern::parse(text).map(Self::Bells) }
    }

    /// A command: the program's name or path, then what it is told.
    pub fn command(words: Vec<String>) -> Result<Self, SoundError> {
        if words.first().is_none_or(|program| program.trim().is_empty()) {
            return Err(SoundError::NoProgram);
        }
        Ok(Self::Command(words))
    }
}

/// How each sound is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sounds {
    voices: [Voice; 7],
}

impl Default for Sounds {
    fn default() -> Self {
        let usual = |sound: Sound| Voice::parse(sound.usual()).unwrap_or(Voice::Off);
        Self { voices: Sound::ALL.map(usual) }
    }
}

impl Sounds {
    /// How that one is made.
    pub fn voice(&self, sound: Sound) -> &Voice {
        self.voices.get(sound.place()).unwrap_or(&Voice::Off)
    }

    /// Sets how one is made.
    pub fn set(&mut self, sound: Sound, voice: Voice) {
        if let Some(place) = self.voices.get_mut(sound.place()) {
            *place = voice;
        }
    }

    /// Sets how the one of that name is made.
    pub fn set_named(&mut self, name: &str, voice: Voice) -> Result<(), SoundError> {
        let found = Sound::ALL.into_iter().find(|sound| sound.name() == name);
        let sound = found.ok_or_else(|| SoundError::NoSound(crate::units::clean(name)))?;
        self.set(sound, voice);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn a_beat_is_read_and_written() {
        for (text, bells) in [
            ("x", &[0][..]),
            (" x ", &[0]),
            ("x x", &[0, 150]),
            ("x x x", &[0, 150, 300]),
            ("x--x", &[0, 300]),
            ("X - x", &[0, 450]),
            ("x----x", &[0, 600]),
        ] {
            let pattern = Pattern::parse(text).unwrap();
            assert_eq!(pattern.bells(), bells, "{text}");
            assert_eq!(Pattern::parse(&pattern.to_string()), Ok(pattern), "{text}");
        }
    }

    #[test]
    fn what_is_no_beat_is_refused_with_what_to_do() {
        for (text, says) in [
            ("", "write x for a bell"),
            ("---", "write x for a bell"),
            ("-x", "write x for a bell"),
            ("y", "write x for a bell"),
            ("\x07", "write x for a bell"),
            ("xx", "put a blank between"),
            ("x x x x x x x x x", "at most 8 bells"),
            ("x---------------------x", "at most 8 bells"),
        ] {
            let error = Voice::parse(text).unwrap_err().to_string();
            assert!(error.contains(says), "{text}: {error}");
        }
        assert_eq!(Voice::parse("off"), Ok(Voice::Off));
        assert_eq!(Voice::command(vec![" ".to_owned()]), Err(SoundError::NoProgram));
        assert_eq!(Voice::command(Vec::new()), Err(SoundError::NoProgram));
        let mut sounds = Sounds::default();
        assert!(sounds.set_named("ease-of", Voice::Off).is_err());
        assert!(sounds.set_named("ease-off", Voice::Off).is_ok());
        assert_eq!(sounds.voice(Sound::EaseOff), &Voice::Off);
    }

    /// Right and attention alone are the same: one bell, look up.
    #[test]
    fn each_can_be_told_by_its_beat() {
        let sounds = Sounds::default();
        let beats: BTreeSet<String> = Sound::ALL
            .iter()
            .filter(|sound| **sound != Sound::Attention)
            .map(|sound| match sounds.voice(*sound) {
                Voice::Bells(pattern) => pattern.to_string(),
                other => panic!("{other:?}"),
            })
            .collect();
        assert_eq!(beats.len(), 6);
        for (place, sound) in Sound::ALL.iter().enumerate() {
            assert_eq!(sound.place(), place);
        }
    }
}
