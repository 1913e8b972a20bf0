//! What a click or the wheel means, by what is drawn where it happened: a key on the bottom line, or a row of a list.
//!
//! The frame is drawn once more, out of sight, and looked at: what is clicked is what is seen, and no layout is known here.

use super::app::App;
use super::keys::{Action, Context};
use super::message::Now;
use super::theme::Theme;
use super::view;
use super::widgets::keyline::Keys;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{MouseButton, MouseEvent, MouseEventKind};
use ratatui::layout::Rect;

/// The most rows one click moves the mark.
const FAR: u16 = 60;

/// The actions that a mouse's event stands for, in their order; none if it means nothing there.
pub(super) fn meaning(app: &App, now: Now, area: Rect, theme: &Theme, event: MouseEvent) -> Vec<Action> {
    let context = app.context();
    let bound = app.bindings.actions(context);
    let if_bound = |action: Action| if bound.contains(&action) { vec![action] } else { Vec::new() };
    match event.kind {
        MouseEventKind::ScrollUp => if_bound(Action::Up),
        MouseEventKind::ScrollDown => if_bound(Action::Down),
        MouseEventKind::Down(MouseButton::Left) => {
            let mut buf = Buffer::empty(area);
            view::draw_in(app, now, area, &mut buf, theme);
            if event.row.saturating_add(1) == area.bottom() {
                return on_bottom_line(app, context, event.column, area, theme);
            }
            if !bound.contains(&Action::Down) || !bound.contains(&Action::Accept) {
                return Vec::new();
            }
            row(&buf, event.column, event.row, theme)
        }
        _ => Vec::new(),
    }
}

/// The key that was clicked.
fn on_bottom_line(app: &App, context: Context, column: u16, area: Rect, theme: &Theme) -> Vec<Action> {
    let available = super::of_use::available(app, context);
    let keys = Keys { bindings: &app.bindings, context, available: &available };
    let row = Rect { y: area.bottom().saturating_sub(1), height: 1, ..area };
    let hit = keys.places(row, theme).into_iter().find(|(from, to, _)| (*from..*to).contains(&column));
    hit.map(|(.., action)| action).into_iter().collect()
}

/// From the marked row to the one that was clicked; the marked one itself is taken.
fn row(buf: &Buffer, column: u16, y: u16, theme: &Theme) -> Vec<Action> {
    let sign = theme.symbols.pointer;
    let is_mark = |x: u16, y: u16| buf.cell((x, y)).is_some_and(|cell| cell.symbol() == sign);
    let blank = |x: u16, y: u16| buf.cell((x, y)).is_none_or(|cell| cell.symbol().trim().is_empty());
    // A row is marked at its left end, with a blank before it; a sign within a line is no mark.
    let marks = (buf.area.top()..buf.area.bottom())
        .flat_map(|y| (buf.area.left()..buf.area.right()).map(move |x| (x, y)))
        .filter(|&(x, y)| is_mark(x, y) && (x == 0 || (0..x).all(|before| blank(before, y) || x > 20)));
    let nearest =
        marks.filter(|(x, _)| *x <= column).min_by_key(|&(x, marked)| (marked.abs_diff(y), column - x));
    let Some((x, marked)) = nearest else { return Vec::new() };
    // Between the two, and where it was clicked, there must be rows.
    let (first, last) = (marked.min(y), marked.max(y));
    let text = |y: u16| (x.saturating_add(2)..x.saturating_add(24)).any(|x| !blank(x, y));
    if marked.abs_diff(y) > FAR || !(first..=last).all(text) {
        return Vec::new();
    }
    match marked.abs_diff(y) {
        0 => vec![Action::Accept],
        steps => vec![if y > marked { Action::Down } else { Action::Up }; usize::from(steps)],
    }
}
