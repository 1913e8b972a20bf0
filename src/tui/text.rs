//! Text on a grid of cells: cut and padded by the width it takes, and safe to put on a screen.

use crate::units::{clean, is_unprintable};
use std::borrow::Cow;
use unicode_width::UnicodeWidthStr;

/// The text as it may reach a screen. The last gate before the cells: text from outside is cleaned where it
/// comes in, and here once more, so that a forgotten place cannot do harm.
pub fn safe(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_unprintable) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(clean(text))
}

/// How many cells the text takes.
pub fn width(text: &str) -> u16 {
    u16::try_from(safe(text).width()).unwrap_or(u16::MAX)
}

/// The text in at most `room` cells; what is cut off is marked with `ellipsis`.
pub fn fit(text: &str, room: u16, ellipsis: &str) -> String {
    let text = safe(text);
    if width(&text) <= room {
        return text.into_owned();
    }
    let mark = if width(ellipsis) <= room { ellipsis } else { "" };
    let mut kept = head(&text, room.saturating_sub(width(mark))).trim_end().to_owned();
    kept.push_str(mark);
    kept
}

/// As much of the text's beginning as `room` cells take.
fn head(text: &str, room: u16) -> &str {
    // Widths are taken of whole prefixes: a sum over characters is wrong where several make one sign.
    let ends = text.char_indices().map(|(at, c)| at.saturating_add(c.len_utf8()));
    let last = ends
        .take_while(|&end| text.get(..end).is_some_and(|part| width(part) <= room))
        .last()
        .unwrap_or_default();
    text.get(..last).unwrap_or_default()
}

/// As much of the text's end as `room` cells take: what a person is typing is where the cursor is.
pub fn tail(text: &str, room: u16) -> &str {
    text.char_indices()
        .map(|(at, _)| at)
        .chain([text.len()])
        .filter_map(|at| text.get(at..))
        .find(|part| width(part) <= room)
        .unwrap_or_default()
}

/// The text in exactly `room` cells, blanks after it.
pub fn left(text: &str, room: u16, ellipsis: &str) -> String {
    let mut fitted = fit(text, room, ellipsis);
    let blanks = room.saturating_sub(width(&fitted));
    fitted.push_str(&" ".repeat(usize::from(blanks)));
    fitted
}

/// The text in exactly `room` cells, blanks before it.
pub fn right(text: &str, room: u16, ellipsis: &str) -> String {
    let fitted = fit(text, room, ellipsis);
    let blanks = room.saturating_sub(width(&fitted));
    format!("{}{fitted}", " ".repeat(usize::from(blanks)))
}

/// The text broken into lines of at most `room` cells, at blanks where it can be.
pub fn wrap(text: &str, room: u16) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in safe(text).split_whitespace() {
        let needed = width(&line).saturating_add(u16::from(!line.is_empty())).saturating_add(width(word));
        if needed > room && !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
        while width(&line) > room {
            let part = head(&line, room).to_owned();
            if part.is_empty() {
                return lines;
            }
            line.drain(..part.len());
            lines.push(part);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_could_move_the_cursor_never_reaches_a_cell() {
        assert_eq!(safe("a\tb\u{1b}[2Jc\u{202e}d\r\ne"), "a b[2Jcd e");
        assert_eq!(safe("Föhn é 雪"), "Föhn é 雪");
    }

    #[test]
    fn cut_and_padded_by_width() {
        assert_eq!(fit("titanium white", 14, "…"), "titanium white");
        assert_eq!(fit("titanium white", 10, "…"), "titanium…");
        assert_eq!(fit("titanium white", 5, "…"), "tita…");
        assert_eq!(fit("雪雪雪", 5, "…"), "雪雪…");
        assert_eq!(fit("雪雪雪", 4, "…"), "雪…");
        assert_eq!(left("雪", 4, "…"), "雪  ");
        assert_eq!(right("3.20", 6, "~"), "  3.20");
        assert_eq!(fit("abc", 0, "…"), "");
        assert_eq!(tail("typed so far", 6), "so far");
    }

    #[test]
    fn lines_break_at_blanks() {
        assert_eq!(wrap("the cup holds less", 8), ["the cup", "holds", "less"]);
        assert_eq!(wrap("abcdefgh ij", 4), ["abcd", "efgh", "ij"]);
        assert_eq!(wrap("雪", 1), Vec::<String>::new());
    }

    proptest! {
        #[test]
        fn never_wider_than_the_room(text in any::<String>(), room in 0_u16..40) {
            prop_assert!(width(&fit(&text, room, "…")) <= room);
            prop_assert_eq!(width(&left(&text, room, "…")), room);
            prop_assert_eq!(width(&right(&text, room, "…")), room);
            prop_assert!(wrap(&text, room).iter().all(|line| width(line) <= room));
        }
    }
}
