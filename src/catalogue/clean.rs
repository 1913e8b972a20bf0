//! Text from a file, made fit for a screen.

/// Whether a character could move the cursor, hide text or turn its direction: control characters (Unicode
/// category Cc), line and paragraph separators, the byte-order mark and the explicit bidirectional controls
/// of UAX #9.
pub(super) fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// The text with each unprintable character replaced by one that can be seen; a tab becomes one blank.
/// As many characters come out as went in, so that columns stay right.
pub(super) fn printable(text: &str) -> String {
    let visible = |c| match c {
        '\t' => ' ',
        c if is_unprintable(c) => char::REPLACEMENT_CHARACTER,
        c => c,
    };
    text.chars().map(visible).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_could_move_the_cursor_is_replaced() {
        assert_eq!(printable("a\tb\u{1b}[2Jc\u{202e}d\r\n"), "a b\u{fffd}[2Jc\u{fffd}d\u{fffd}\u{fffd}");
        assert_eq!(printable("Föhn é 雪"), "Föhn é 雪");
    }
}
