//! The bench: the cup, the one big number, the close-up and the record; the ways out when a pour is over.

mod figure;
mod picture;
mod question;

use super::frame::{Chrome, Top};
use crate::mix::{Advice, Choice, Phase, Session};
use crate::tui::bench::Question;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::digits::Big;
use crate::tui::widgets::options::Options;
use crate::tui::widgets::pen;
use crate::tui::widgets::record::{Record, SavedState};
use crate::units::Grams;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Where the cup is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CupPlace {
    /// On the scale.
    On,
    /// Off it.
    Off {
        /// What the empty pan reads beyond what it should, if it does.
        pan: Option<Grams>,
    },
    /// Back, and not compared yet with what it weighed before.
    Back,
}

/// A mix on the scale.
#[derive(Clone, Debug)]
#[expect(clippy::struct_excessive_bools, reason = "each is a thing of its own that is shown or not")]
pub struct BenchView<'a> {
    /// The mix.
    pub session: &'a Session,
    /// Its number in the book.
    pub mix_number: Option<u32>,
    /// What the cup holds by the scale, its own weight taken off. None if there is no number to trust: then
    /// none is shown.
    pub net: Option<Grams>,
    /// Whether the weight stands still.
    pub steady: bool,
    /// Whether it goes the same way step by step all the same, as under a tin that drips.
    pub creeps: bool,
    /// Why there is no number, or none to take yet, in a sentence.
    pub doubt: Option<&'a str>,
    /// What stands above it all: until when it can be sprayed, or what is to be minded of the hardener that is due.
    pub note: Option<(&'a str, Meaning)>,
    /// What is to be minded of the tin that is to be taken, or why there is none.
    pub tin_note: Option<&'a str>,
    /// How the scale is, in a word: `steady`, `moving`, `lost`.
    pub link_words: &'a str,
    /// How many readings come in a second.
    pub readings_per_second: Option<u8>,
    /// Where the cup is.
    pub cup: CupPlace,
    /// What the cup held by the scale when it was last on it, its own weight taken off.
    pub held: Grams,
    /// What is asked about a cup that came back with another weight, if anything is.
    pub question: Option<&'a Question>,
    /// The tin that is to be used up first, while none was said for the toner that is due.
    pub proposed: Option<&'a str>,
    /// By place in the recipe: whether the last that happened to the toner is saved; none if nothing did.
    pub saved: &'a [Option<SavedState>],
    /// The ways out, the most sparing first; with the cup as it is now.
    pub ways: &'a [Choice],
    /// Which of them is marked.
    pub selected: usize,
    /// Whether the ways out are looked at while the toner is still being poured.
    pub peek: bool,
    /// Whether a steady right pour is taken without a key.
    pub hands_free: bool,
    /// How far the hands-free taking has come, in percent; none while nothing is about to be taken.
    pub dwell: Option<u8>,
    /// The leftover that is to be poured in first: the number of its mix, and how much there is of it.
    pub pour_in: Option<(u32, Grams)>,
    /// What the cup is going to read when the tin is set upright now.
    pub landing: Option<Grams>,
    /// What the hand is told.
    pub advice: Option<Advice>,
    /// What the cup reads where easing off begins, the flow as it is.
    pub ease_at: Option<Grams>,
    /// How far the tin is tipped at the virtual bench, in percent; none with a real scale.
    pub tip: Option<u8>,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

impl BenchView<'_> {
    /// What the cup holds by the scale. None also while the cup is off the scale, or back and not compared yet: then
    /// the reading says nothing about what it holds.
    fn weight(&self) -> Option<Grams> {
        self.net.filter(|_| !self.is_lifted() && self.cup == CupPlace::On)
    }

    /// Whether the cup is off the scale.
    fn is_lifted(&self) -> bool {
        matches!(self.cup, CupPlace::Off { .. })
            || self.net.is_some_and(|net| self.session.is_without_cup(net))
    }
}

/// Columns of the cup with its marks: beside the digits, and where there is more room.
const CUP_NARROW: u16 = 31;
const CUP_WIDE: u16 = 37;
/// From here on the ways out have room beside the cup.
const WIDE: u16 = 112;
/// The rows the upper half needs: a name, a gap, five rows of digits, a line, a gap, the bar and its words.
const UPPER: u16 = 12;

/// The most rows of the note above.
const NOTE_ROWS: usize = 2;

/// Draws it.
pub fn draw(view: &BenchView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let top = top_line(view, theme);
    let top = Top { title: &top.0, middle: &top.1, right: &top.2, right_meaning: top.3 };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let notes = [view.note, view.tin_note.map(|words| (words, Meaning::Doubt))];
    let body = notes.into_iter().flatten().fold(body, |body, note| draw_note(note, body, buf, theme));
    // What is poured of a leftover is of no toner yet.
    let net = if view.pour_in.is_some() { Some(view.session.holds()) } else { view.weight() };
    let record = Record { session: view.session, net, saved: view.saved };
    // The record has what it wants as long as the upper half has what it needs; never less than four rows.
    let spare = body.height.saturating_sub(UPPER);
    let roomy = u16::from(body.height > UPPER.saturating_add(record.rows()).saturating_add(2));
    let rows = record.rows().min(spare.max(5)).min(body.height);
    let upper = pen::rows(body, 0, body.height.saturating_sub(rows).saturating_sub(roomy));
    let lower = pen::rows(body, body.height.saturating_sub(rows), rows);
    draw_upper(view, upper, buf, theme);
    record.draw(lower, buf, theme);
}

/// Draws a note, in two rows at most, and answers with the room below it.
fn draw_note((words, meaning): (&str, Meaning), body: Rect, buf: &mut Buffer, theme: &Theme) -> Rect {
    let mut lines = text::wrap(words, body.width.saturating_sub(4));
    if lines.len() > NOTE_ROWS {
        lines.truncate(NOTE_ROWS);
        if let Some(last) = lines.last_mut() {
            last.push_str(theme.symbols.ellipsis);
        }
    }
    let sign = if matches!(meaning, Meaning::Plain) { theme.symbols.dot } else { theme.symbols.alert };
    pen::put(buf, body, body.x.saturating_add(1), body.y, sign, theme.style(meaning));
    let mut rows = 0_u16;
    for line in &lines {
        let y = body.y.saturating_add(rows);
        pen::put(buf, body, body.x.saturating_add(3), y, line, theme.style(meaning));
        rows = rows.saturating_add(1);
    }
    pen::rows(body, rows, body.height.saturating_sub(rows))
}

fn draw_upper(view: &BenchView<'_>, upper: Rect, buf: &mut Buffer, theme: &Theme) {
    let choosing = view.peek || matches!(view.session.phase(), Phase::Over(_) | Phase::Fouled);
    if upper.width < WIDE
        && let Some(question) = view.question
    {
        question::draw(view, question, upper, buf, theme);
        return;
    }
    if choosing && upper.width < WIDE {
        draw_ways(view, upper, buf, theme);
        return;
    }
    let cup_width = if upper.width < WIDE { CUP_NARROW } else { CUP_WIDE };
    picture::cup(view, theme.notation).draw(pen::columns(upper, 1, cup_width), buf, theme);
    let side = pen::columns(upper, cup_width.saturating_add(2), upper.width);
    let side = Rect { width: side.width.saturating_sub(1), ..side };
    if let Some(question) = view.question {
        question::draw(view, question, side, buf, theme);
    } else if choosing {
        draw_ways(view, side, buf, theme);
    } else {
        draw_pouring(view, side, buf, theme);
    }
}

/// The title and its right part, the mix's number and volume, the scale and what that means.
fn top_line(view: &BenchView<'_>, theme: &Theme) -> (String, String, String, Meaning) {
    let recipe = view.session.recipe();
    let dot = theme.symbols.dot;
    let title = format!("{} {dot} {}", recipe.name, recipe.role.name());
    let volume = theme.notation.volume(view.session.start().volume, 0);
    let mix = view.mix_number.map(|number| format!("mix {number:04} {dot} ")).unwrap_or_default();
    // The exception is said, the normal way is not.
    let by_key = if view.hands_free { String::new() } else { format!(" {dot} by key") };
    let middle = format!("{mix}{volume}{by_key}");
    let rate = view.readings_per_second.map(|rate| format!("  {rate}/s")).unwrap_or_default();
    let meaning = match (view.net, view.steady && !view.creeps) {
        (None, _) => Meaning::Doubt,
        (Some(_), true) => Meaning::Steady,
        (Some(_), false) => Meaning::Moving,
    };
    (title, middle, format!("scale  {}{rate}", view.link_words), meaning)
}

/// The toner, the big number, the readings and the close-up.
fn draw_pouring(view: &BenchView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let figure = figure::figure(view, theme);
    let big = Big { number: figure.number.clone(), words: figure.words.clone(), meaning: figure.meaning };
    // What is over and above the least is put between the parts.
    let large = big.rows(area.width, area.height.saturating_sub(9));
    let digits = large.max(5);
    let needed = digits.saturating_add(7);
    let free = area.height.saturating_sub(needed);
    let (gap, thick) = (free / 4, if free >= 6 { 2 } else { 1 });
    let mut y = free.saturating_sub(gap.saturating_mul(3)).saturating_sub(thick - 1) / 2;

    if view.pour_in.is_some() {
        pen::put(
            buf,
            area,
            area.x,
            area.y.saturating_add(y),
            "a leftover first",
            theme.style(Meaning::Title),
        );
    } else {
        figure::heading(view, pen::rows(area, y, 1), buf, theme);
    }
    y = y.saturating_add(2).saturating_add(gap);
    // The row below the digits is for their words where those do not fit beside, else for what is going on.
    let room = pen::rows(area, y, digits.saturating_add(1));
    if figure.number.is_empty() {
        figure::words(&figure, room, buf, theme);
    } else {
        let below = pen::rows(area, y.saturating_add(digits), 1);
        let free = big.draw(room, buf, theme);
        if free {
            figure::going_on(view, &figure, below, buf, theme);
        }
    }
    y = y.saturating_add(digits);
    y = y.saturating_add(1).saturating_add(gap);
    if view.pour_in.is_some() {
        let row = pen::rows(area, y, 1);
        if let Some(line) = figure.lines.get(1) {
            pen::put(
                buf,
                row,
                row.x,
                row.y,
                &text::fit(line, row.width, theme.symbols.ellipsis),
                theme.style(Meaning::Plain),
            );
        }
        return;
    }
    figure::readings(view, pen::rows(area, y, 1), buf, theme);
    y = y.saturating_add(2).saturating_add(gap);
    if let Some(closeup) = picture::closeup(view, theme) {
        closeup.draw(pen::rows(area, y, thick.saturating_add(1)), buf, theme);
    }
}

/// What is over, large where there is room, and the ways out.
fn draw_ways(view: &BenchView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let options =
        Options { session: view.session, ways: view.ways, selected: (!view.peek).then_some(view.selected) };
    let (title, meaning) = figure::over_title(view, theme);
    let title = text::fit(&title, area.width.saturating_sub(4), theme.symbols.ellipsis);
    let left = pen::columns(area, 3, area.width);
    let big = figure::over_figure(view, theme);
    let spare = area.height.saturating_sub(options.rows()).saturating_sub(4);
    let rows = if big.number.is_empty() { 0 } else { big.rows(left.width, spare.min(5)) };
    let mut y = u16::from(area.height > options.rows().saturating_add(2));
    if rows == 5 {
        big.draw(pen::rows(left, y, rows), buf, theme);
        y = y.saturating_add(rows).saturating_add(1);
    }
    pen::put(buf, left, left.x, left.y.saturating_add(y), &title, theme.style(meaning));
    y = y.saturating_add(2);
    options.draw(pen::rows(area, y, area.height.saturating_sub(y)), buf, theme);
}

/// The least one must know at the bench, a line each, the most important first.
pub(super) fn small_lines(view: &BenchView<'_>, theme: &Theme) -> Vec<(String, Meaning)> {
    let session = view.session;
    let figure = figure::figure(view, theme);
    let mut lines = vec![(format!("{} {}", figure.number, figure.words).trim().to_owned(), figure.meaning)];
    lines.extend(view.note.map(|(words, meaning)| (words.to_owned(), meaning)));
    lines.extend(view.tin_note.map(|words| (words.to_owned(), Meaning::Doubt)));
    // Where there is no number the reason comes before anything else.
    lines.extend(figure.lines.into_iter().map(|line| (line, Meaning::Plain)));
    if matches!(session.phase(), Phase::Over(_) | Phase::Fouled) {
        lines.push(figure::over_title(view, theme));
    }
    if let Some(down_to) = session.draw_to() {
        lines.push((
            format!("draw off to {}", theme.notation.weight(down_to, session.limits().division)),
            Meaning::Plain,
        ));
    }
    if let (Some(goal), Some(stop)) = (session.goal(), session.shown_stop()) {
        let line = session.recipe().lines().get(goal.line);
        let toner = line.map(|line| format!("{} {}", line.toner, line.name)).unwrap_or_default();
        lines.push((toner, Meaning::Title));
        lines.push((
            format!("stop at {}", theme.notation.weight(stop, session.limits().division)),
            Meaning::Plain,
        ));
    }
    lines
}
