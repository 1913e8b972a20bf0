//! The scale itself: what comes in and what it means, how steady it is, what was counted, how the link stood, and
//! when it was last held against a check weight.

use super::frame::{Chrome, Top};
use crate::scale::LinkState;
use crate::tui::scale_log::{Line, ScaleLog, ago};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use crate::tui::widgets::steadiness::Steadiness;
use crate::units::{Division, Grams, Moment};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A line for the person, and what it means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// What is said.
    pub text: String,
    /// What it means.
    pub meaning: Meaning,
}

/// The scale.
#[derive(Clone, Copy, Debug)]
pub struct ScaleView<'a> {
    /// Where it is, as an address; empty if there is none.
    pub place: &'a str,
    /// The number that may be drawn; none where it would mislead.
    pub live: Option<Grams>,
    /// Whether it is less a tare of the scale's own.
    pub net: bool,
    /// Whether it is a weight.
    pub steady: bool,
    /// Why it is none, in a sentence.
    pub doubt: Option<&'a str>,
    /// Its division.
    pub division: Division,
    /// The most it weighs, where that is known.
    pub capacity: Option<Grams>,
    /// How it is, in a word.
    pub link_words: &'a str,
    /// Readings a second.
    pub readings_per_second: Option<u8>,
    /// What it said lately.
    pub log: &'a ScaleLog,
    /// When it is looked at.
    pub now: Moment,
    /// What is being done with it, or when it was last checked.
    pub notes: &'a [Note],
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Where everything begins.
const LEFT: u16 = 3;
/// The least lines of what came in.
const LEAST_LINES: u16 = 3;

/// Draws it.
pub fn draw(view: &ScaleView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let rate = view.readings_per_second.map(|rate| format!("  {rate}/s")).unwrap_or_default();
    let right = format!("scale  {}{rate}", view.link_words);
    let right_meaning = if view.steady { Meaning::Steady } else { Meaning::Moving };
    let top = Top { title: "Scale", middle: "", right: &right, right_meaning };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let body = pen::columns(body, LEFT, body.width.saturating_sub(LEFT));
    let wrapped = wrapped_notes(view, body.width.saturating_sub(1));
    let notes = u16::try_from(wrapped.len()).unwrap_or(u16::MAX).min(body.height / 3);
    let place = text::fit(view.place, body.width, theme.symbols.ellipsis);
    pen::put(buf, body, body.x, body.y, &place, theme.style(Meaning::Muted));
    draw_number(view, pen::rows(body, 1, 3), buf, theme);
    draw_notes(&wrapped, pen::rows(body, 4, notes), buf, theme);
    let after = 4_u16.saturating_add(notes).saturating_add(u16::from(notes > 0));
    draw_plot(view, pen::rows(body, after, Steadiness::ROWS.saturating_add(1)), buf, theme);
    let after = after.saturating_add(Steadiness::ROWS).saturating_add(2);
    let rest = pen::rows(body, after, body.height.saturating_sub(after));
    // What was counted takes two rows with its heading, the history as many as are left from the lines.
    let history = view.log.changes().len().min(usize::from(rest.height / 4).max(1));
    let history = u16::try_from(history).unwrap_or(1);
    let lines = rest.height.saturating_sub(history.saturating_add(3)).max(LEAST_LINES.min(rest.height));
    draw_lines(view, pen::rows(rest, 0, lines), buf, theme);
    let below = pen::rows(rest, lines, rest.height.saturating_sub(lines));
    draw_counts(view, pen::rows(below, 1, 1), buf, theme);
    draw_history(view, pen::rows(below, 2, below.height.saturating_sub(2)), buf, theme);
}

fn draw_number(view: &ScaleView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let notation = theme.notation;
    let number = view.live.map_or_else(
        || "no weight".to_owned(),
        |mass| format!("{}{}", notation.mass(mass, view.division), if view.net { " net" } else { "" }),
    );
    let meaning = match (view.live, view.steady) {
        (None, _) => Meaning::Lost,
        (_, true) => Meaning::Steady,
        (_, false) => Meaning::Moving,
    };
    let most =
        view.capacity.map(|most| format!(", weighs up to {}", notation.given_mass(most))).unwrap_or_default();
    let x = pen::put(buf, area, area.x, area.y, &number, theme.style(meaning));
    let plate = format!("division {}{most}", notation.given_mass(view.division.grams()));
    pen::put(buf, area, x.saturating_add(3), area.y, &plate, theme.style(Meaning::Muted));
    let doubt = view.doubt.map(|doubt| text::wrap(doubt, area.width)).unwrap_or_default();
    for (line, y) in doubt.iter().zip(area.top().saturating_add(1)..area.bottom()) {
        pen::put(buf, area, area.x, y, line, theme.style(Meaning::Doubt));
    }
}

fn wrapped_notes(view: &ScaleView<'_>, room: u16) -> Vec<(String, Meaning)> {
    let lines = |note: &Note| {
        let meaning = note.meaning;
        text::wrap(&note.text, room).into_iter().map(move |line| (line, meaning))
    };
    view.notes.iter().flat_map(lines).collect()
}

fn draw_notes(notes: &[(String, Meaning)], area: Rect, buf: &mut Buffer, theme: &Theme) {
    for ((words, meaning), y) in notes.iter().zip(area.top()..area.bottom()) {
        pen::put(buf, area, area.x, y, words, theme.style(*meaning));
    }
}

fn draw_plot(view: &ScaleView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let heading = "how far apart the readings of a second are, in divisions; newest right";
    pen::put(buf, area, area.x, area.y, heading, theme.style(Meaning::Title));
    let spreads = view.log.spreads(view.now);
    Steadiness { spreads: &spreads, division: view.division }.draw(
        pen::rows(area, 1, area.height.saturating_sub(1)),
        buf,
        theme,
    );
}

/// Bytes that can be printed as they are, blanks as a dot, everything else as its number.
fn shown_bytes(bytes: &[u8], blank: &str) -> String {
    let mut shown = String::new();
    for byte in bytes {
        match byte {
            b' ' => shown.push_str(blank),
            b'!'..=b'~' => shown.push(char::from(*byte)),
            other => {
                shown.push('<');
                for half in [other >> 4, other & 15] {
                    shown.push(char::from_digit(u32::from(half), 16).unwrap_or('?'));
                }
                shown.push('>');
            }
        }
    }
    shown
}

fn draw_lines(view: &ScaleView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let signs = theme.symbols;
    let half = area.width / 2;
    let bytes_area = pen::columns(area, 0, half.saturating_sub(1));
    let means_area = pen::columns(area, half, area.width.saturating_sub(half));
    let title = theme.style(Meaning::Title);
    pen::put(buf, bytes_area, bytes_area.x, area.y, "what came in", title);
    pen::put(buf, means_area, means_area.x, area.y, "what it means", title);
    let room = usize::from(area.height.saturating_sub(1));
    let shown: Vec<&Line> = view.log.lines().rev().take(room).collect();
    for (line, y) in shown.into_iter().rev().zip(area.top().saturating_add(1)..area.bottom()) {
        let bytes = shown_bytes(&line.bytes, signs.waiting);
        let bytes = text::fit(&bytes, bytes_area.width, signs.ellipsis);
        pen::put(buf, bytes_area, bytes_area.x, y, &bytes, theme.style(Meaning::Muted));
        let means = text::fit(&line.means, means_area.width, signs.ellipsis);
        pen::put(buf, means_area, means_area.x, y, &means, theme.style(Meaning::Plain));
    }
}

fn draw_counts(view: &ScaleView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let counted = view.log.evidence();
    let clean = counted.noise == 0 && counted.line_errors == 0;
    let words = format!(
        "{} understood, {} bytes left over, {} damaged on the line, opened {}",
        counted.frames,
        counted.noise,
        counted.line_errors,
        if counted.openings == 1 { "once".to_owned() } else { format!("{} times", counted.openings) },
    );
    let words = text::fit(&words, area.width, theme.symbols.ellipsis);
    let meaning = if clean { Meaning::Plain } else { Meaning::Doubt };
    pen::put(buf, area, area.x, area.y, &words, theme.style(meaning));
}

fn draw_history(view: &ScaleView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    for (change, y) in view.log.changes().rev().zip(area.top()..area.bottom()) {
        // While it is being opened the reason says all there is.
        let state = if change.state == LinkState::Opening { "" } else { change.state.word() };
        let colon = if state.is_empty() || change.why.is_empty() { "" } else { ": " };
        let words = format!("{:>11}  {state}{colon}{}", ago(change.at, view.now), change.why);
        let words = text::fit(&words, area.width, theme.symbols.ellipsis);
        let meaning = match change.state {
            LinkState::Live => Meaning::Plain,
            LinkState::Lost | LinkState::Stale | LinkState::Absent => Meaning::Doubt,
            LinkState::Opening | LinkState::Listening => Meaning::Muted,
        };
        pen::put(buf, area, area.x, y, &words, theme.style(meaning));
    }
}

#[cfg(test)]
mod tests {
    use super::shown_bytes;

    #[test]
    fn bytes_are_shown_whole() {
        assert_eq!(shown_bytes(b"\n 1G 2.3g\r", "."), "<0a>.1G.2.3g<0d>");
        assert_eq!(shown_bytes(&[0x02, 0xff, 0x7f], "."), "<02><ff><7f>");
        assert_eq!(shown_bytes(b"", "."), "");
    }
}
