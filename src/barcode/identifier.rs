//! The application identifiers that matter at a mixing bench: how long their data is, and of what.
//!
//! GS1 General Specifications 17.1 (July 2017), section 3 "GS1 Application Identifiers in numerical order" and the table
//! of element strings with predefined length in section 7.8 (both from memory: only excerpts of the text were at hand).

/// What the data of an identifier is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Data {
    /// Just so many digits.
    Digits(usize),
    /// Up to so many digits.
    UpToDigits(usize),
    /// Up to so many characters of GS1's own set of 82.
    UpTo(usize),
}

/// How much of what comes after an identifier is its data; the identifier itself is given whole, as `01` or `3102`.
pub(super) fn data(identifier: &str) -> Option<Data> {
    Some(match identifier {
        "00" => Data::Digits(18),
        "01" | "02" => Data::Digits(14),
        "11" | "12" | "13" | "15" | "16" | "17" => Data::Digits(6),
        "20" => Data::Digits(2),
        "10" | "21" | "22" => Data::UpTo(20),
        "240" | "241" | "250" | "251" | "90" => Data::UpTo(30),
        "30" | "37" => Data::UpToDigits(8),
        "91" | "92" | "93" | "94" | "95" | "96" | "97" | "98" | "99" => Data::UpTo(90),
        measure if is_measure(measure) => Data::Digits(6),
        _ => return None,
    })
}

/// Identifiers of a measure, as `3102`: the last digit says how many decimals.
pub(super) fn is_measure(identifier: &str) -> bool {
    let bytes = identifier.as_bytes();
    matches!(bytes, [b'3', b'1'..=b'6', b'0'..=b'9', b'0'..=b'5'])
}

/// How long the identifier at the beginning of the text is, by its first two digits; none if no known one begins so.
pub(super) fn length(text: &str) -> Option<usize> {
    [2_usize, 3, 4].into_iter().find(|length| text.get(..*length).is_some_and(|start| data(start).is_some()))
}

/// Whether the character may stand in data that is not digits: GS1's set of 82 (section 7.11; from memory).
pub(super) fn is_of_82(letter: char) -> bool {
    letter.is_ascii_alphanumeric() || "!\"%&'()*+,-./:;<=>?_".contains(letter)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_are_82_characters() {
        assert_eq!((0_u8..=127).filter(|byte| is_of_82(char::from(*byte))).count(), 82);
    }

    #[test]
    fn known_by_their_first_digits() {
        assert_eq!(length("0109506000134352"), Some(2));
        assert_eq!(length("240ABC"), Some(3));
        assert_eq!(length("3102000125"), Some(4));
        assert_eq!((length("7003"), length("0"), length("é1")), (None, None, None));
    }
}
