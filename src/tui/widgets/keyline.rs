//! The bottom line: every key that does something now, in words.

use super::pen;
use crate::tui::keys::{Action, Bindings, Context, Hint};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// The keys that work now.
#[derive(Clone, Copy, Debug)]
pub struct Keys<'a> {
    /// Which key does what.
    pub bindings: &'a Bindings,
    /// What the person is doing.
    pub context: Context,
    /// What can be done now, the most needed first.
    pub available: &'a [Action],
}

impl Keys<'_> {
    /// Draws the line. Where it is too narrow the least needed keys go, help and what leaves never do.
    pub fn draw(&self, row: Rect, buf: &mut Buffer, theme: &Theme) {
        let (hints, gap) = self.fitting(row.width, theme);
        let mut x = row.x.saturating_add(1);
        for hint in hints {
            x = pen::put(buf, row, x, row.y, &hint.keys, theme.style(Meaning::KeyHint));
            x = pen::put(buf, row, x.saturating_add(1), row.y, hint.label, theme.style(Meaning::Plain));
            x = x.saturating_add(gap);
        }
    }

    /// Where each of them is drawn: the first column, the one behind the last, and what it does.
    pub fn places(&self, row: Rect, theme: &Theme) -> Vec<(u16, u16, Action)> {
        let (hints, gap) = self.fitting(row.width, theme);
        let mut x = row.x.saturating_add(1);
        let mut places = Vec::new();
        for hint in hints {
            let end = x
                .saturating_add(text::width(&hint.keys))
                .saturating_add(1)
                .saturating_add(text::width(hint.label));
            places.push((x, end, hint.action));
            x = end.saturating_add(gap);
        }
        places
    }

    /// The keys that fit, and the blanks between two of them.
    fn fitting(&self, width: u16, theme: &Theme) -> (Vec<Hint>, u16) {
        let mut actions: Vec<Action> = self.available.to_vec();
        // Help comes last, and is there even where nobody thought of it.
        actions.retain(|action| *action != Action::Help);
        actions.push(Action::Help);
        let mut hints = self.bindings.hints(self.context, &actions, theme.symbols);
        let fits = |hints: &[Hint], gap: u16| {
            let one = |hint: &Hint| {
                text::width(&hint.keys).saturating_add(1).saturating_add(text::width(hint.label))
            };
            let sum = hints.iter().fold(1_u16, |sum, hint| sum.saturating_add(one(hint)).saturating_add(gap));
            sum.saturating_sub(gap) <= width
        };
        while !fits(&hints, 2) {
            let keep = |hint: &Hint| matches!(hint.action, Action::Help | Action::SetAside | Action::Back);
            let least = hints.iter().rposition(|hint| !keep(hint)).or_else(|| hints.len().checked_sub(2));
            let Some(least) = least else { break };
            hints.remove(least);
        }
        let gap = if fits(&hints, 3) { 3 } else { 2 };
        (hints, gap)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(width: u16, available: &[Action]) -> String {
        let bindings = Bindings::default();
        let keys = Keys { bindings: &bindings, context: Context::Bench, available };
        let mut buf = Buffer::empty(Rect::new(0, 0, width, 1));
        keys.draw(buf.area, &mut buf, &Theme::default());
        crate::tui::screens::picture(&buf).remove(0)
    }

    #[test]
    fn the_least_needed_go_first_and_help_stays() {
        let available = [Action::Take, Action::NextTin, Action::WrongToner, Action::SetAside, Action::Order];
        assert_eq!(
            line(80, &available),
            " Enter take it   n next tin   w wrong toner   Esc put aside   r order   ? help"
        );
        assert_eq!(line(65, &available), " Enter take it  n next tin  w wrong toner  Esc put aside  ? help");
        assert_eq!(line(60, &available), " Enter take it   n next tin   Esc put aside   ? help");
        assert_eq!(line(20, &available), " ? help");
        assert_eq!(line(10, &available), " ? help");
        assert_eq!(line(3, &[]), " ?");
    }
}
