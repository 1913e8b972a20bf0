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

impl Chrome<'_> {
    /// Draws what is about the screen's part and answers with the room that is left for that; none while the
    /// help covers it.
    pub(super) fn draw(&self, top: &Top<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) -> Option<Rect> {
        let rule = theme.style(Meaning::Rule);
        let signs = theme.symbols;
        top.draw(pen::rows(area, 0, 1), buf, theme);
        pen::repeat(buf, area, area.x, area.y.saturating_add(1), area.width, signs.rule, rule);

        let banners = u16::try_from(self.banners.len().min(BANNERS)).unwrap_or(0);
        banner::draw(self.banners, pen::rows(area, 2, banners), buf, theme);

        let bottom = pen::rows(area, area.height.saturating_sub(2), 1);
        pen::repeat(buf, bottom, bottom.x, bottom.y, bottom.width, signs.rule, rule);
        if let Some(hint) = self.hint.filter(|hint| !hint.is_empty()) {
            let hint = text::fit(hint, bottom.width.saturating_sub(8), signs.ellipsis);
            pen::put(
                buf,
                bottom,
                bottom.x.saturating_add(3),
                bottom.y,
                &format!(" {hint} "),
                theme.style(Meaning::Title),
            );
        }
        let body = Rect {
            y: area.y.saturating_add(2).saturating_add(banners),
            height: area.height.saturating_sub(4).saturating_sub(banners),
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
