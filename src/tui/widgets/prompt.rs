//! A line of text to type, or a question to answer, with the choices to pick from if there are any.

use super::list::{List, ListRow};
use super::pen;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Modifier;

/// A line being typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Input<'a> {
    /// What was typed so far.
    pub text: &'a str,
    /// How many characters stand before the cursor.
    pub cursor: usize,
}

impl Input<'_> {
    /// Draws the text with its cursor in one row. Where it is too long, the part about the cursor.
    pub fn draw(&self, row: Rect, buf: &mut Buffer, theme: &Theme) {
        let at = self.text.char_indices().nth(self.cursor).map_or(self.text.len(), |(at, _)| at);
        let (before, after) = self.text.split_at_checked(at).unwrap_or((self.text, ""));
        let mut letters = after.chars();
        let under = letters.next().map_or_else(|| " ".to_owned(), String::from);
        let room = row.width.saturating_sub(text::width(&under).max(1));
        let style = theme.style(Meaning::Value);
        let x = pen::put(buf, row, row.x, row.y, text::tail(before, room), style);
        let under = if text::width(&under) == 0 { " ".to_owned() } else { under };
        let x = pen::put(buf, row, x, row.y, &under, style.add_modifier(Modifier::REVERSED));
        pen::put(buf, row, x, row.y, letters.as_str(), style);
    }
}

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Prompt<'a> {
    /// What is asked for: `weight`, or the whole question.
    pub label: &'a str,
    /// The line being typed; none for a question answered by a key.
    pub input: Option<Input<'a>>,
    /// What helps to answer it.
    pub hint: &'a str,
    /// Why what was typed cannot be, in a sentence.
    pub error: Option<&'a str>,
    /// What can be picked, if anything.
    pub choices: &'a [ListRow<'a>],
    /// Which of them is marked.
    pub selected: usize,
}

/// The most choices shown at once.
const CHOICES: u16 = 7;

impl Prompt<'_> {
    /// How many rows it would like.
    pub fn rows(&self) -> u16 {
        let choices = u16::try_from(self.choices.len()).unwrap_or(CHOICES).min(CHOICES);
        3_u16.saturating_add(choices)
    }

    /// Draws it: a line across, the question, the hint or the error, and the choices.
    pub fn draw(&self, area: Rect, buf: &mut Buffer, theme: &Theme) {
        pen::wipe(buf, area, theme.base());
        let signs = theme.symbols;
        pen::repeat(buf, area, area.x, area.y, area.width, signs.rule, theme.style(Meaning::Rule));
        let row = pen::rows(area, 1, 1);
        let left = row.x.saturating_add(1);
        let label = text::fit(self.label, row.width.saturating_sub(2), signs.ellipsis);
        let x = pen::put(buf, row, left, row.y, &label, theme.style(Meaning::Title));
        if let Some(input) = self.input {
            let start = x.saturating_add(2);
            let room = row.right().saturating_sub(start.saturating_add(1));
            input.draw(Rect { x: start.min(row.right()), width: room, ..row }.intersection(row), buf, theme);
        }
        let (words, meaning) = match self.error {
            Some(error) => (format!("{} {error}", signs.alert), Meaning::Error),
            None => (self.hint.to_owned(), Meaning::Muted),
        };
        let row = pen::rows(area, 2, 1);
        let words = text::fit(&words, row.width.saturating_sub(2), signs.ellipsis);
        pen::put(buf, row, left, row.y, &words, theme.style(meaning));
        let list = List { rows: self.choices, selected: Some(self.selected) };
        list.draw(pen::rows(area, 3, area.height.saturating_sub(3)), buf, theme);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn prompt(text: &str, cursor: usize) -> Prompt<'_> {
        Prompt {
            label: "weight in the cup",
            input: Some(Input { text, cursor }),
            hint: "in grams, as 27.4",
            error: None,
            choices: &[],
            selected: 0,
        }
    }

    fn draw(prompt: &Prompt<'_>, width: u16) -> Buffer {
        let mut buf = Buffer::empty(Rect::new(0, 0, width, prompt.rows()));
        prompt.draw(buf.area, &mut buf, &Theme::default());
        buf
    }

    #[test]
    fn a_line_its_cursor_and_its_hint() {
        let buf = draw(&prompt("27.4", 2), 34);
        let rows = crate::tui::screens::picture(&buf);
        assert_eq!(rows[1], " weight in the cup  27.4");
        assert_eq!(rows[2], " in grams, as 27.4");
        let reversed: Vec<u16> =
            (0..34).filter(|&x| buf.cell((x, 1)).unwrap().modifier.contains(Modifier::REVERSED)).collect();
        assert_eq!(reversed, [22]);
    }

    #[test]
    fn the_cursor_stays_in_view() {
        let buf = draw(&prompt("0123456789012345", 16), 30);
        assert_eq!(crate::tui::screens::picture(&buf)[1], " weight in the cup  89012345");
        assert!(buf.cell((28, 1)).unwrap().modifier.contains(Modifier::REVERSED));
        let buf = draw(&prompt("雪雪雪雪雪雪雪雪", 99), 30);
        assert!(crate::tui::screens::picture(&buf)[1].ends_with("雪"));
    }

    #[test]
    fn an_error_takes_the_place_of_the_hint() {
        let wrong = Prompt { error: Some("'2,,7' is not a weight: type it as 27.4"), ..prompt("2,,7", 4) };
        let rows = crate::tui::screens::picture(&draw(&wrong, 44));
        assert_eq!(rows[2], " ! '2,,7' is not a weight: type it as 27.4");
    }
}
