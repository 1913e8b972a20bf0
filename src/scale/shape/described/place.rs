//! Where in a line something stands: columns counted from 1, or the number of a field between separators.

use std::fmt;

/// From which column to which, both included; or one field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) first: usize,
    /// None where it goes on to the end of the line.
    pub(super) last: Option<usize>,
}

/// The longest line that can be described, in characters without its marks.
pub(super) const LONGEST: usize = 128;

impl Place {
    /// `3`, `3-10`, or `3-` to the end of the line.
    pub(super) fn parse(text: &str) -> Option<Self> {
        let number = |text: &str| {
            let all = text.bytes().all(|byte| byte.is_ascii_digit());
            text.parse().ok().filter(|column| all && (1..=LONGEST).contains(column))
        };
        let Some((first, last)) = text.split_once('-') else {
            return number(text).map(|column| Self { first: column, last: Some(column) });
        };
        let first = number(first)?;
        if last.is_empty() {
            return Some(Self { first, last: None });
        }
        number(last).filter(|last| first <= *last).map(|last| Self { first, last: Some(last) })
    }

    /// How many columns it has; none where it goes on to the end.
    pub(super) fn width(self) -> Option<usize> {
        Some(self.last? + 1 - self.first)
    }

    pub(super) fn overlaps(self, other: Self) -> bool {
        let before = |a: Self, b: Self| a.last.is_some_and(|last| last < b.first);
        !before(self, other) && !before(other, self)
    }

    /// What stands there; none if the line does not reach that far.
    pub(super) fn of(self, line: &[u8], separator: Option<u8>) -> Option<&[u8]> {
        match separator {
            None => line.get(self.first - 1..self.last.unwrap_or(line.len())),
            // However many blanks stand between two fields, they are one separator.
            Some(b' ') => {
                line.split(|byte| *byte == b' ').filter(|field| !field.is_empty()).nth(self.first - 1)
            }
            Some(separator) => line.split(|byte| *byte == separator).nth(self.first - 1),
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.last {
            Some(last) if last == self.first => write!(f, "{last}"),
            Some(last) => write!(f, "{}-{last}", self.first),
            None => write!(f, "{}-", self.first),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_from_one() {
        let of = |place: &str, line: &'static str| {
            Place::parse(place).unwrap().of(line.as_bytes(), None).map(|found| str::from_utf8(found).unwrap())
        };
        assert_eq!(of("1", "ST,+1.5"), Some("S"));
        assert_eq!(of("1-2", "ST,+1.5"), Some("ST"));
        assert_eq!(of("4-7", "ST,+1.5"), Some("+1.5"));
        assert_eq!(of("4-", "ST,+1.5"), Some("+1.5"));
        assert_eq!(of("8-", "ST,+1.5"), Some(""));
        assert_eq!(of("9-", "ST,+1.5"), None);
        assert_eq!(of("7-8", "ST,+1.5"), None);
    }

    #[test]
    fn fields_stand_between_separators() {
        let of = |place: usize, separator, line: &'static str| {
            let place = Place { first: place, last: Some(place) };
            place.of(line.as_bytes(), Some(separator)).map(|found| str::from_utf8(found).unwrap())
        };
        assert_eq!(of(1, b',', "ST, 1.5,g"), Some("ST"));
        assert_eq!(of(2, b',', "ST, 1.5,g"), Some(" 1.5"));
        assert_eq!(of(3, b',', "ST,,g"), Some("g"));
        assert_eq!(of(4, b',', "ST,,g"), None);
        assert_eq!(of(2, b' ', "  ST    1.5 g "), Some("1.5"));
        assert_eq!(of(4, b' ', "  ST    1.5 g "), None);
    }

    #[test]
    fn what_is_no_place_is_refused() {
        for text in ["", "0", "-", "-3", "5-4", "0-4", "129", "1-129", "+1", "1 - 2", "1-2-3", "g", "1,2"] {
            assert_eq!(Place::parse(text), None, "{text}");
        }
        for text in ["1", "3-10", "12-", "128"] {
            assert_eq!(Place::parse(text).unwrap().to_string(), text);
        }
    }

    #[test]
    fn places_that_share_a_column_overlap() {
        let overlap = |a: &str, b: &str| {
            let (a, b) = (Place::parse(a).unwrap(), Place::parse(b).unwrap());
            assert_eq!(a.overlaps(b), b.overlaps(a));
            a.overlaps(b)
        };
        assert!(overlap("1-3", "3") && overlap("2-", "9-12") && overlap("2-", "7-") && overlap("4", "1-9"));
        assert!(!overlap("1-3", "4") && !overlap("1-3", "4-") && !overlap("9", "10-12"));
    }
}
