//! What the code on a label says: `PB:M:` and the mix's identity as 32 hexadecimal digits. Our own; capitals and digits
//! alone, so that a code stays small and a scanner's keys mean the same in most of its settings.

use crate::book::MixId;
use std::fmt;
use thiserror::Error;

/// What a code on a label means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Payload {
    /// That mix.
    Mix(MixId),
}

/// Why a text is no code of a label.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum PayloadError {
    /// It does not begin as one.
    #[error("it is no code of a label")]
    None,
    /// It begins as one, and cannot be.
    #[error(
        "it begins as the code of a label, PB:M:, and is not whole: scan it again, or type the mix's number"
    )]
    Broken,
}

/// So many digits has an identity.
const DIGITS: usize = 32;

impl Payload {
    /// Reads a code, in capitals or not. Where the colons belong any sign will do: a scanner that is set to another keyboard
    /// sends another one.
    pub fn parse(text: &str) -> Result<Self, PayloadError> {
        let mut letters = text.trim().chars();
        let begins = [Some('P'), Some('B'), None, Some('M'), None].into_iter().all(|wanted| {
            letters.next().is_some_and(|letter| match wanted {
                Some(wanted) => letter.eq_ignore_ascii_case(&wanted),
                None => !letter.is_ascii_alphanumeric() && !letter.is_whitespace(),
            })
        });
        if !begins {
            return Err(PayloadError::None);
        }
        let digits = letters.as_str().to_ascii_lowercase();
        if digits.len() != DIGITS || !digits.chars().all(|digit| digit.is_ascii_hexdigit()) {
            return Err(PayloadError::Broken);
        }
        let mut text = String::with_capacity(DIGITS.saturating_add(4));
        for (place, digit) in digits.chars().enumerate() {
            if matches!(place, 8 | 12 | 16 | 20) {
                text.push('-');
            }
            text.push(digit);
        }
        MixId::parse(&text).map(Self::Mix).ok_or(PayloadError::Broken)
    }
}

impl fmt::Display for Payload {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Mix(mix) = self;
        let digits: String = mix.to_string().chars().filter(|letter| *letter != '-').collect();
        write!(f, "PB:M:{}", digits.to_ascii_uppercase())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Ids;
    use crate::units::Stamp;
    use proptest::prelude::*;

    #[test]
    fn a_code_is_read_however_a_scanner_types_it() {
        let mix = MixId::parse("018c7e9a-3f10-7abc-8def-0123456789ab").unwrap();
        let text = Payload::Mix(mix).to_string();
        assert_eq!(text, "PB:M:018C7E9A3F107ABC8DEF0123456789AB");
        for typed in [
            text.clone(),
            format!(" {} ", text.to_lowercase()),
            // A German keyboard where an American one is meant.
            text.replace(':', "Ö"),
            text.replace(':', "-"),
        ] {
            assert_eq!(Payload::parse(&typed), Ok(Payload::Mix(mix)), "{typed}");
        }
        for other in ["", "PB", "PB-3140", "PB-M80 24-1", "PBXMX018C", "412", "(01)09506000134352", "PB M 12"]
        {
            let said = Payload::parse(other);
            assert!(said.is_err(), "{other}: {said:?}");
        }
        assert_eq!(Payload::parse("PB-3140"), Err(PayloadError::None));
        assert_eq!(Payload::parse("PB:M:018C7E"), Err(PayloadError::Broken));
        assert_eq!(Payload::parse(&text.replace('C', "G")), Err(PayloadError::Broken));
        assert_eq!(Payload::parse(&format!("{text}0")), Err(PayloadError::Broken));
    }

    proptest! {
        #[test]
        fn every_mix_is_read_back(seed: u64, at in 0_i64..4_000_000_000_000_000) {
            let mix = Ids::counted(seed).mix(Stamp(at));
            prop_assert_eq!(Payload::parse(&Payload::Mix(mix).to_string()), Ok(Payload::Mix(mix)));
        }

        #[test]
        fn any_text_is_judged(text in ".*") {
            let _ = Payload::parse(&text);
        }
    }
}
