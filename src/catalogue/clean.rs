//! Text from a file, made fit to be shown with a mark under a column.

use crate::units::is_unprintable;

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
