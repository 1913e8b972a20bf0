//! What was said lately, the newest first.

use super::frame::{Chrome, Top};
use crate::tui::messages::{Messages, Said, time_of_day};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// What was said lately.
#[derive(Clone, Copy, Debug)]
pub struct MessagesView<'a> {
    /// The sentences.
    pub messages: &'a Messages,
    /// The first line on the screen.
    pub scroll: usize,
    /// How far the clock on the wall is ahead of UTC, in seconds.
    pub seconds_east: i32,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Where the sentences begin.
const COLUMN: u16 = 14;

/// Draws it.
pub fn draw(view: &MessagesView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let middle = match view.messages.all().len() {
        0 => "nothing was said yet".to_owned(),
        1 => "the only one".to_owned(),
        some => format!("the last {some}, newest first"),
    };
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let top = Top { title: "Messages", middle: &middle, right: &scale, right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let body = pen::rows(body, 1, body.height.saturating_sub(1));
    let room = body.width.saturating_sub(COLUMN.saturating_add(2));
    let mut lines: Vec<(Option<&Said>, String, bool)> = Vec::new();
    for said in view.messages.all() {
        let times = if said.times > 1 { format!(" ({} times)", said.times) } else { String::new() };
        for (at, line) in text::wrap(&format!("{}{times}", said.text), room).into_iter().enumerate() {
            lines.push(((at == 0).then_some(said), line, said.is_error));
        }
    }
    let height = usize::from(body.height);
    let scroll = view.scroll.min(lines.len().saturating_sub(height));
    for ((said, line, is_error), y) in lines.iter().skip(scroll).zip(body.top()..body.bottom()) {
        let row = Rect { y, height: 1, ..body };
        if let Some(said) = said {
            let time = time_of_day(said.at, view.seconds_east);
            pen::put(buf, row, row.x.saturating_add(1), y, &time, theme.style(Meaning::Muted));
            let sign = if *is_error { theme.symbols.alert } else { theme.symbols.waiting };
            let meaning = if *is_error { Meaning::Error } else { Meaning::Muted };
            pen::put(buf, row, row.x.saturating_add(11), y, sign, theme.style(meaning));
        }
        let meaning = if *is_error { Meaning::Value } else { Meaning::Plain };
        pen::put(buf, row, row.x.saturating_add(COLUMN), y, line, theme.style(meaning));
    }
}
