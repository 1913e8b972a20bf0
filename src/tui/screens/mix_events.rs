//! What happened to a mix: each event with its time, who did it, and where paint went by it.

use super::waste::say;
use crate::report::Shown;
use crate::report::waste::{Happened, Went};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::wall::{day, time};
use crate::tui::widgets::pen;
use crate::units::{Division, Grams};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// The events of a mix.
#[derive(Clone, Copy, Debug)]
pub struct EventsView<'a> {
    /// The mix's number.
    pub number: u32,
    /// How much of it is kept, where it is looked at for that.
    pub kept: Option<Grams>,
    /// What happened to it, or why that could not be read; none while it is being read.
    pub events: Option<Result<&'a [Happened], &'a str>>,
    /// The first that is shown.
    pub first: usize,
}

/// Where the columns begin: the time, what it was, where paint went, who did it; the last only where there is room.
const TIME: u16 = 3;
const WHAT: u16 = 13;
const WENT: u16 = 29;
const WHO: u16 = 14;

/// Draws them, by a clock on the wall that is so many seconds ahead of UTC.
pub(super) fn draw(opened: &EventsView<'_>, seconds_east: i32, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let clip = pen::columns(area, TIME, area.width.saturating_sub(TIME.saturating_add(1)));
    let begun = match opened.events {
        Some(Ok([first, ..])) => format!(", begun {}", day(first.at, seconds_east)),
        _ => String::new(),
    };
    let kept = opened.kept.map(|kept| theme.notation.mass(kept, Division::TENTH));
    let title = match kept {
        Some(kept) => format!("mix {:04}, of which {kept} are kept{begun}", opened.number),
        None => format!("what happened to mix {:04}{begun}", opened.number),
    };
    pen::put(buf, clip, clip.x, clip.y, &title, theme.style(Meaning::Title));
    let list = pen::rows(area, 2, area.height.saturating_sub(2));
    let events = match opened.events {
        Some(Ok(events)) => events,
        Some(Err(why)) => return say(&format!("{why}; go back and open it again"), list, buf, theme),
        None => return say("reading its events", list, buf, theme),
    };
    if events.is_empty() {
        return say("the book has no such mix any more", list, buf, theme);
    }
    let count = format!("{} events", events.len());
    if text::width(&title).saturating_add(text::width(&count)).saturating_add(2) < clip.width {
        pen::put_right(buf, clip, clip.right(), clip.y, &count, theme.style(Meaning::Muted));
    }
    let mut y = list.top();
    for event in events.iter().skip(opened.first) {
        for (place, words) in lines(event, Shown(theme.notation)).into_iter().enumerate() {
            if y >= list.bottom() {
                return;
            }
            let line = Rect { y, height: 1, ..list };
            draw_line(seconds_east, (event, place == 0), &words, line, buf, theme);
            y = y.saturating_add(1);
        }
    }
}

fn draw_line(
    seconds_east: i32,
    (event, is_first): (&Happened, bool),
    went: &str,
    line: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) {
    let has_room = line.width >= super::waste::WIDE;
    let end = line.right().saturating_sub(if has_room { WHO } else { 1 });
    let mut put = |x: u16, right: u16, words: &str, meaning: Meaning| {
        let clip =
            Rect { x: line.x.saturating_add(x), width: right.saturating_sub(x), ..line }.intersection(line);
        let words = text::fit(words, clip.width, theme.symbols.ellipsis);
        pen::put(buf, clip, clip.x, clip.y, &words, theme.style(meaning));
    };
    if is_first {
        put(TIME, WHAT, &time(event.at, seconds_east), Meaning::Muted);
        put(WHAT, WENT.saturating_sub(1), &event.what, Meaning::Plain);
        if has_room {
            put(end, line.right(), &event.by, Meaning::Muted);
        }
    }
    put(WENT, end, went, Meaning::Value);
}

/// A line for each place; one that is empty where no paint went anywhere.
fn lines(event: &Happened, shown: Shown) -> Vec<String> {
    let words = |one: &Went| {
        let toner = one.toner.as_ref().map_or_else(String::new, |toner| format!("{toner} "));
        format!("{toner}{} {} {}", shown.mass(one.mass.abs()), shown.unit(), one.place_words())
    };
    if event.went.is_empty() { vec![String::new()] } else { event.went.iter().map(words).collect() }
}
