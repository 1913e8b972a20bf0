//! Letters that a PDF's built-in fonts have, and how wide each is.
//!
//! The encoding is `WinAnsiEncoding` (PDF 32000-1, Annex D). Widths are those of Helvetica and Helvetica Bold in thousandths
//! of the size (Adobe's Core 14 font metrics, as the reportlab package 4 has them); of a letter with a sign on it that of the
//! widest letter of its kind, which never makes a line longer than it was reckoned.

use unicode_width::UnicodeWidthChar;

/// Stands for what cannot be shown.
pub(super) const INSTEAD: char = '?';

/// From the blank to the tilde.
const REGULAR: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556,
    556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278,
    500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469,
    556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500,
    278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];
const BOLD: [u16; 95] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556,
    556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667, 611, 778, 722, 278,
    556, 722, 611, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584,
    556, 333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611, 611, 611, 389, 556,
    333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584,
];

/// What stands between 0x80 and 0x9F; a blank where nothing does.
const BETWEEN: [char; 32] = [
    '€', ' ', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', ' ', 'Ž', ' ', ' ', '‘', '’', '“', '”',
    '•', '–', '—', '˜', '™', 'š', '›', 'œ', ' ', 'ž', 'Ÿ',
];

/// The letter's byte; none if the fonts do not have it.
pub(super) fn byte(letter: char) -> Option<u8> {
    match letter {
        ' '..='~' | '\u{a1}'..='\u{ac}' | '\u{ae}'..='\u{ff}' => u8::try_from(u32::from(letter)).ok(),
        // A blank that does not break, and a hyphen that is only shown at a line's end.
        '\u{a0}' => Some(b' '),
        _ => {
            let place = BETWEEN.iter().position(|other| *other == letter)?;
            u8::try_from(place).ok()?.checked_add(0x80)
        }
    }
}

/// The text with [`INSTEAD`] for each letter that the fonts do not have, and how many they were.
pub(super) fn shown(text: &str) -> (String, usize) {
    let mut missing = 0_usize;
    let shown = text.chars().map(|letter| {
        if byte(letter).is_some() {
            return letter;
        }
        missing = missing.saturating_add(1);
        INSTEAD
    });
    (shown.collect(), missing)
}

/// How wide a letter is at most, in thousandths of the size.
pub(super) fn width(letter: char, bold: bool) -> u16 {
    let table = if bold { &BOLD } else { &REGULAR };
    let place = u32::from(letter).checked_sub(0x20).and_then(|place| usize::try_from(place).ok());
    if let Some(width) = place.and_then(|place| table.get(place)) {
        return *width;
    }
    match letter {
        'Æ' | 'Œ' | '…' | '—' | '‰' | '™' => 1_000,
        'æ' | 'œ' => 944,
        'À'..='Þ' | 'Š' | 'Ž' | 'Ÿ' => 778,
        'ß'..='ÿ' | 'š' | 'ž' => 611,
        '\u{a0}' => 278,
        '\u{a1}'..='\u{bf}' => 834,
        // What another font brings: a cell is taken for the widest of its kind.
        other => match other.width() {
            Some(0) => 0,
            Some(1) => 834,
            _ => 1_100,
        },
    }
}
