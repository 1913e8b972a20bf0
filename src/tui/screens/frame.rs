//! What every screen has about its own part: the top line, the banners, the hint, the question, the keys.

use crate::tui::keys::{Action, Context};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::banner::{self, Banner};
use crate::tui::widgets::help;
use crate::tui::widgets::keyline::Keys;
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Prompt;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// What is about a screen's own part.
#[derive(Clone, Copy, Debug)]
pub struct Chrome<'a> {
    /// What must be known on every screen.
    pub banners: &'a [Banner<'a>],
    /// What just happened, or what to do next, in a sentence.
    pub hint: Option<&'a str>,
    /// The times that run, the most urgent first.
    pub times: &'a [String],
    /// The keys that work now.
    pub keys: Keys<'a>,
    /// What is asked, if anything.
    pub prompt: Option<Prompt<'a>>,
    /// The help's first line on the screen, if the help is open.
    pub help: Option<usize>,
}

/// The top line.
pub(super) struct Top<'t> {
    /// What is on the screen.
    pub(super) title: &'t str,
    /// Which of it.
    pub(super) middle: &'t str,
    /// How the scale is.
    pub(super) right: &'t str,
    /// What that means.
    pub(super) right_meaning: Meaning,
}

/// The most banners shown at once.
const BANNERS: usize = 3;
/// The most rows of a hint.
const HINT_ROWS: usize = 3;

impl Chrome<'_> {
    /// Draws what is about the screen's part and answers with the room that is left for that; none while the
    /// help covers it.
    pub(super) fn draw(&self, top: &Top<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) -> Option<Rect> {
        let rule = theme.style(Meaning::Rule);
        let signs = theme.symbols;
        top.draw(pen::rows(area, 0, 1), buf, theme);
        pen::repeat(buf, area, area.x, area.y.saturating_add(1), area.width, signs.rule, rule);

        draw_times(self.times, pen::rows(area, 1, 1), buf, theme);

        let banners = u16::try_from(self.banners.len().min(BANNERS)).unwrap_or(0);
        banner::draw(self.banners, pen::rows(area, 2, banners), buf, theme);

        let hint = self.hint.map(|hint| hint_lines(hint, area, signs.ellipsis)).unwrap_or_default();
        // What does not fit on the rule stands below it.
        let more = u16::try_from(hint.len().saturating_sub(1)).unwrap_or(0);
        let bottom = area.height.saturating_sub(2).saturating_sub(more);
        let bottom = pen::rows(area, bottom, more.saturating_add(1));
        pen::repeat(buf, bottom, bottom.x, bottom.y, bottom.width, signs.rule, rule);
        for (line, y) in hint.iter().zip(bottom.top()..bottom.bottom()) {
            let x = bottom.x.saturating_add(3);
            pen::put(buf, bottom, x, y, &format!(" {line} "), theme.style(Meaning::Title));
        }
        let body = Rect {
            y: area.y.saturating_add(2).saturating_add(banners),
            height: area.height.saturating_sub(4).saturating_sub(banners).saturating_sub(more),
            ..area
        };
        let keys = pen::rows(area, area.height.saturating_sub(1), 1);
        if let Some(scroll) = self.help {
            help::draw(&self.keys, scroll, body, buf, theme);
            let available = [Action::Back, Action::Up, Action::Down];
            Keys { context: Context::Help, available: &available, ..self.keys }.draw(keys, buf, theme);
            return None;
        }
        self.keys.draw(keys, buf, theme);
        let Some(prompt) = &self.prompt else { return Some(body) };
        let rows = prompt.rows().min(body.height);
        prompt.draw(pen::rows(body, body.height.saturating_sub(rows), rows), buf, theme);
        Some(pen::rows(body, 0, body.height.saturating_sub(rows)))
    }
}

/// The times that run, on the rule below the top line: the first always, others as far as there is room, and how many more
/// there are: none of them runs unseen.
fn draw_times(times: &[String], row: Rect, buf: &mut Buffer, theme: &Theme) {
    let end = row.right().saturating_sub(3);
    let mut x = row.x.saturating_add(3);
    let style = theme.style(Meaning::Value);
    for (place, time) in times.iter().enumerate() {
        let words = format!(" {time} ");
        let more = |shown: usize| match times.len().saturating_sub(shown) {
            0 => String::new(),
            more => format!(" +{more} "),
        };
        let after = match text::width(&more(place.saturating_add(1))) {
            0 => 0,
            tail => tail.saturating_add(1),
        };
        let room = end.saturating_sub(x);
        if place > 0 && text::width(&words).saturating_add(after) > room {
            pen::put(buf, row, x, row.y, &more(place), style);
            return;
        }
        let words = text::fit(&words, room.saturating_sub(after), theme.symbols.ellipsis);
        x = pen::put(buf, row, x, row.y, &words, style).saturating_add(1);
    }
}

/// The hint in as many lines as it needs, a few at most.
fn hint_lines(hint: &str, area: Rect, ellipsis: &str) -> Vec<String> {
    let room = area.width.saturating_sub(8);
    let mut lines = text::wrap(hint, room);
    if lines.len() > HINT_ROWS {
        let rest = lines.split_off(HINT_ROWS.saturating_sub(1)).join(" ");
        lines.push(text::fit(&rest, room, ellipsis));
    }
    lines
}

impl Top<'_> {
    fn draw(&self, row: Rect, buf: &mut Buffer, theme: &Theme) {
        let ellipsis = theme.symbols.ellipsis;
        let right = text::fit(self.right, row.width / 3, ellipsis);
        let end = row.right().saturating_sub(1);
        pen::put_right(buf, row, end, row.y, &right, theme.style(self.right_meaning));
        let room = row.width.saturating_sub(text::width(&right)).saturating_sub(4);
        let middle = text::fit(self.middle, room / 2, ellipsis);
        let title =
            text::fit(self.title, room.saturating_sub(text::width(&middle)).saturating_sub(2), ellipsis);
        let x = pen::put(buf, row, row.x.saturating_add(1), row.y, &title, theme.style(Meaning::Title));
        // In the middle of the line, but never into what stands on either side.
        let centred = row.x.saturating_add((row.width.saturating_sub(text::width(&middle))) / 2);
        let last =
            end.saturating_sub(text::width(&right)).saturating_sub(2).saturating_sub(text::width(&middle));
        let at = centred.max(x.saturating_add(2)).min(last.max(x.saturating_add(2)));
        pen::put(buf, row, at, row.y, &middle, theme.style(Meaning::Plain));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_hint_is_wrapped_and_only_a_very_long_one_is_cut() {
        let area = Rect::new(0, 0, 80, 24);
        let lines = |hint: &str| hint_lines(hint, area, "…");
        assert_eq!(lines(""), Vec::<String>::new());
        assert_eq!(lines(&"a".repeat(72)), ["a".repeat(72)]);
        let words = "word ".repeat(30);
        assert_eq!((lines(&words).len(), lines(&words).join(" ")), (3, words.trim().to_owned()));
        let cut = lines(&"word ".repeat(50));
        assert_eq!(cut.len(), 3);
        assert!(cut[2].ends_with('…'), "{cut:?}");
        assert!(cut.iter().all(|line| text::width(line) <= 72), "{cut:?}");
    }
}
