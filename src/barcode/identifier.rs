//! The application identifiers that matter at a mixing bench: how long their data is, and of what.
//!
//! GS1 General Specifications, section 3, as GS1's own "GS1 Barcode Syntax Dictionary" (published by GS1 AISBL; read)
//! gives it for machines; the test below holds each entry against that.

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
    let [b'3', family, which, b'0'..=b'5'] = identifier.as_bytes() else { return false };
    match family {
        b'1' => matches!(which, b'0'..=b'6'),
        b'2' | b'4' | b'6' => which.is_ascii_digit(),
        b'3' | b'5' => matches!(which, b'0'..=b'7'),
        _ => false,
    }
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

    /// GS1 Barcode Syntax Dictionary (GS1 AISBL; read): identifiers, whether their length is predefined, so that no
    /// separator follows, what they are of (N digits, X the set of 82), and how many there may be. Those of the
    /// dictionary that no tin at a bench has are left out.
    const DICTIONARY: &[(&str, bool, char, usize)] = &[
        ("00", true, 'N', 18),
        ("01", true, 'N', 14),
        ("02", true, 'N', 14),
        ("10", false, 'X', 20),
        ("11", true, 'N', 6),
        ("12", true, 'N', 6),
        ("13", true, 'N', 6),
        ("15", true, 'N', 6),
        ("16", true, 'N', 6),
        ("17", true, 'N', 6),
        ("20", true, 'N', 2),
        ("21", false, 'X', 20),
        ("22", false, 'X', 20),
        ("240", false, 'X', 30),
        ("241", false, 'X', 30),
        ("250", false, 'X', 30),
        ("251", false, 'X', 30),
        ("30", false, 'N', 8),
        ("37", false, 'N', 8),
        ("90", false, 'X', 30),
        ("91", false, 'X', 90),
        ("99", false, 'X', 90),
    ];

    /// The same, of measures: the first three digits of the first and the last of each run; each has the fourth digits
    /// 0 to 5, is of predefined length, and of six digits.
    const MEASURES: &[(u32, u32)] = &[(310, 316), (320, 329), (330, 337), (340, 349), (350, 357), (360, 369)];

    #[test]
    fn each_is_as_gs1s_own_dictionary_has_it() {
        for (identifier, predefined, of, most) in DICTIONARY {
            let expected = match (predefined, of) {
                (true, 'N') => Data::Digits(*most),
                (false, 'N') => Data::UpToDigits(*most),
                _ => Data::UpTo(*most),
            };
            assert_eq!(data(identifier), Some(expected), "{identifier}");
        }
        for number in 3000..4000 {
            let known = MEASURES.iter().any(|(first, last)| (*first..=*last).contains(&(number / 10)));
            assert_eq!(is_measure(&number.to_string()), known && number % 10 <= 5, "{number}");
        }
        let known =
            (0..10_000).filter(|number| (0..=4).any(|width| data(&format!("{number:0width$}")).is_some()));
        let known: std::collections::BTreeSet<u32> =
            known.filter(|number| !(91..=99).contains(number)).collect();
        let listed = DICTIONARY.iter().map(|(identifier, ..)| identifier.parse::<u32>().unwrap());
        let listed = listed.filter(|number| !(91..=99).contains(number));
        let measures = (3000..4000).filter(|number: &u32| is_measure(&number.to_string()));
        assert_eq!(known, listed.chain(measures).collect(), "one is known that the list does not have");
    }
}
