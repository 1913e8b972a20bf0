//! One of the readings of a card: what it was measured or seen from.

use super::measured::parse_angle;
use super::sight::{Light, View};
use crate::catalogue::Word as _;
use serde::{Deserialize, Serialize};

/// Which of a card's readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(tag = "reading", rename_all = "kebab-case")]
pub enum Reading {
    /// What was measured at an angle.
    Measured {
        /// How far from the gloss, in degrees.
        angle: i16,
    },
    /// What was seen from one side in one light.
    Seen {
        /// From where.
        view: View,
        /// In what light.
        light: Light,
    },
}

impl Reading {
    /// Reads `45`, or `face sun`, `side tone, booth light`.
    ///
    /// # Errors
    /// What was expected.
    pub fn parse(text: &str) -> Result<Self, String> {
        if text.trim().starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '\u{2212}')) {
            return parse_angle(text).map(|angle| Self::Measured { angle });
        }
        let text = text.to_lowercase().replace("side tone", "side-tone");
        let words = text.split(|c: char| c == ',' || c.is_whitespace());
        let (mut view, mut light) = (None, None);
        for word in words.filter(|word| !matches!(*word, "" | "light")) {
            match (View::from_word(word), Light::from_word(word)) {
                (Some(found), _) if view.is_none() => view = Some(found),
                (_, Some(found)) if light.is_none() => light = Some(found),
                _ => return Err(format!("'{word}': {EXPECTED}")),
            }
        }
        let both = view.zip(light).ok_or_else(|| format!("'{}': {EXPECTED}", text.trim()))?;
        Ok(Self::Seen { view: both.0, light: both.1 })
    }

    /// For a person: `45°`, `face, sun`.
    pub fn words(self) -> String {
        match self {
            Self::Measured { angle } => format!("{angle}°"),
            Self::Seen { view, light } => format!("{}, {}", view.name(), light.name()),
        }
    }
}

const EXPECTED: &str =
    "an angle was expected, as 45, or a view and a light, as \"face sun\" or \"side-tone booth\"";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_angle_or_a_view_and_a_light() {
        let words = |text| Reading::parse(text).map(Reading::words);
        assert_eq!(words("45"), Ok("45°".to_owned()));
        assert_eq!(words("\u{2212}15°"), Ok("-15°".to_owned()));
        assert_eq!(words("face sun"), Ok("face, sun".to_owned()));
        assert_eq!(words("Side tone, booth light"), Ok("side tone, booth light".to_owned()));
        for wrong in ["", "face", "sun", "face side-tone", "sun shade", "181", "4x", "face sun hot"] {
            assert!(words(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn it_is_plain_in_the_book() {
        let json = |reading: Reading| serde_json::to_string(&reading).unwrap();
        let (angle, sight) =
            (Reading::Measured { angle: -15 }, Reading::Seen { view: View::SideTone, light: Light::Booth });
        assert_eq!(json(angle), r#"{"reading":"measured","angle":-15}"#);
        assert_eq!(json(sight), r#"{"reading":"seen","view":"side-tone","light":"booth"}"#);
        for reading in [angle, sight] {
            assert_eq!(serde_json::from_str::<Reading>(&json(reading)).unwrap(), reading);
        }
    }
}
