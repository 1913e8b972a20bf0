//! Text from outside, made fit for a screen, a log and the book.

/// Whether a character could move the cursor, hide text or turn its direction: control characters (Unicode
/// category Cc), line and paragraph separators, the byte-order mark and the explicit bidirectional controls
/// of UAX #9.
pub fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}'
        )
}

/// The text without its unprintable characters; a tab or the end of a line becomes a blank, so that words do
/// not run together.
pub fn clean(text: &str) -> String {
    let kept = |c| match c {
        '\t' | '\n' | '\u{2028}' | '\u{2029}' => Some(' '),
        c if is_unprintable(c) => None,
        c => Some(c),
    };
    text.chars().filter_map(kept).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_could_move_the_cursor_is_gone() {
        assert_eq!(clean("a\tb\u{1b}[2Jc\u{202e}d\r\ne"), "a b[2Jcd e");
        assert_eq!(clean("Föhn é 雪"), "Föhn é 雪");
    }

    proptest! {
        #[test]
        fn clean_text_stays_as_it_is(text in any::<String>()) {
            let once = clean(&text);
            prop_assert!(!once.chars().any(is_unprintable));
            prop_assert_eq!(clean(&once), once);
        }
    }
}
