//! Text into lines of a given width, in letters of a given size: at blanks where it can be, within a word that is longer than
//! a line.

use super::latin;

/// Marks that there is more.
const MORE: char = '…';

/// Letters of a size, in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Letters {
    /// The size, in points.
    pub(super) size: f32,
    /// Whether they are bold.
    pub(super) bold: bool,
}

impl Letters {
    /// How wide a text is in them, in points, or a little less.
    pub(super) fn width(self, text: &str) -> f32 {
        let wide: u32 = text
            .chars()
            .map(|letter| u32::from(latin::width(letter, self.bold)))
            .fold(0, u32::saturating_add);
        // No label has a text so long that a float would not count it.
        #[expect(clippy::cast_precision_loss, reason = "drawn, not reckoned with")]
        let wide = wide as f32;
        wide * self.size / 1_000.0
    }

    /// The text in lines that are no wider than that; at least one line for each word, none for no text.
    pub(super) fn wrap(self, text: &str, room: f32) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if self.width(&longer) <= room {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            // A word that is longer than a line is cut where the line is full.
            for letter in word.chars() {
                line.push(letter);
                if self.width(&line) > room && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, letter.to_string()));
                }
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// The same in so many lines at most; that there was more is marked at the end of the last.
    pub(super) fn wrap_most(self, text: &str, room: f32, most: usize) -> Vec<String> {
        let mut lines = self.wrap(text, room);
        if lines.len() <= most {
            return lines;
        }
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            while self.width(last) + self.width(&MORE.to_string()) > room && last.pop().is_some() {}
            *last = format!("{}{MORE}", last.trim_end());
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SMALL: Letters = Letters { size: 6.0, bold: false };

    #[test]
    fn it_breaks_at_blanks_and_in_words_that_are_too_long() {
        assert_eq!(SMALL.wrap("a bb ccc", 9.5), ["a", "bb", "ccc"]);
        assert_eq!(SMALL.wrap("", 8.0), Vec::<String>::new());
        let long = SMALL.wrap(&"W".repeat(20), 30.0);
        assert_eq!(long.iter().map(String::len).collect::<Vec<_>>(), [5, 5, 5, 5]);
        assert_eq!(SMALL.wrap_most("one two three", 20.0, 2), ["one", "two…"]);
    }

    proptest! {
        /// No letter is lost, none is moved, and no line is wider than its room unless a single letter is.
        #[test]
        fn all_of_it_is_there(text in "\\PC{0,200}", room in 5_u8..200, bold: bool) {
            let letters = Letters { size: 6.0, bold };
            let room = f32::from(room);
            let lines = letters.wrap(&text, room);
            let bare = |text: &str| text.split_whitespace().collect::<String>();
            prop_assert_eq!(bare(&lines.concat()), bare(&text));
            for line in &lines {
                prop_assert!(letters.width(line) <= room || line.chars().count() == 1, "{}", line);
            }
            let few = letters.wrap_most(&text, room, 2);
            prop_assert!(few.len() <= 2);
        }
    }
}
