//! The cup came back with another weight: how much is gone or came, and what it can have been.

use super::BenchView;
use super::figure::Figure;
use crate::tui::bench::{Answer, Cause, Question};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::digits::Big;
use crate::tui::widgets::pen;
use crate::units::Grams;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// How much is gone or came, and the answers in words with their keys.
pub(super) fn figure(view: &BenchView<'_>, question: &Question, theme: &Theme) -> Figure {
    let keyed =
        question.answers.iter().zip(1..).map(|(answer, key)| format!("{key} {}", short(view, *answer)));
    let notation = theme.notation;
    let way = if question.off.is_negative() { "gone" } else { "more" };
    Figure {
        number: notation.weight(question.off.abs(), view.session.limits().division),
        words: format!("{} {way}", notation.mass_unit()),
        meaning: Meaning::Error,
        lines: keyed.collect(),
    }
}

/// An answer in few words.
const fn short(view: &BenchView<'_>, answer: Answer) -> &'static str {
    match answer {
        Answer::Poured if view.pour_in.is_some() => "poured meanwhile: more of the leftover",
        Answer::TakenOut => "out of the cup: on the stick, spilt, taken",
        Answer::Poured => "poured meanwhile: more of this toner",
        Answer::OtherToner => "poured meanwhile: another toner",
        Answer::ZeroMoved => "the scale's zero has moved",
        Answer::NotTheCup => "something else stands on the pan",
    }
}

/// What it does.
fn does(view: &BenchView<'_>, question: &Question, answer: Answer) -> String {
    match answer {
        Answer::TakenOut => "booked as taken out".to_owned(),
        Answer::Poured if view.pour_in.is_some() => "booked as the leftover".to_owned(),
        Answer::Poured => {
            let line = view.session.current().and_then(|line| view.session.recipe().lines().get(line));
            line.map_or_else(String::new, |line| format!("booked as {}", line.toner))
        }
        Answer::OtherToner => "asks which".to_owned(),
        Answer::ZeroMoved if question.pan_says_so => "as the empty pan showed; no gram is booked".to_owned(),
        Answer::ZeroMoved => "no gram is booked".to_owned(),
        Answer::NotTheCup => "take it off".to_owned(),
    }
}

fn shown(view: &BenchView<'_>, mass: Grams, theme: &Theme) -> String {
    theme.notation.mass(mass, view.session.limits().division)
}

/// What is asked, in a sentence.
fn title(view: &BenchView<'_>, question: &Question, theme: &Theme) -> String {
    let off = shown(view, question.off.abs(), theme);
    match (question.off.is_negative(), question.cause) {
        (true, Cause::Lifted) => format!("{off} are gone since the cup was lifted: which way?"),
        (true, Cause::Unseen) => format!("{off} are gone since the scale was last heard: which way?"),
        (false, Cause::Lifted) => format!("{off} more than when the cup was lifted: from where?"),
        (false, Cause::Unseen) => format!("{off} more than when the scale was last heard: from where?"),
    }
}

/// What else helps, in sentences.
fn below(view: &BenchView<'_>, question: &Question, theme: &Theme) -> Vec<String> {
    let held = shown(view, question.held, theme);
    let what = if question.off.is_negative() {
        "wipe the pan and the cup and put it back"
    } else {
        "take off what lies or hangs there"
    };
    let mut lines = vec![format!("or {what}: at {held} it goes on by itself")];
    if let Some(unbooked) = question.unbooked.filter(|_| !question.answers.contains(&Answer::Poured)) {
        let unbooked = shown(view, unbooked, theme);
        lines.push(format!("{unbooked} were poured before that and are booked first"));
    }
    lines
}

/// Draws it.
pub(super) fn draw(view: &BenchView<'_>, question: &Question, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let area = pen::columns(area, 1, area.width.saturating_sub(2));
    let left = pen::columns(area, 2, area.width);
    let figure = figure(view, question, theme);
    let big = Big { number: figure.number, words: figure.words, meaning: figure.meaning };
    let below: Vec<String> =
        below(view, question, theme).iter().flat_map(|line| text::wrap(line, left.width)).collect();
    let count = |lines: usize| u16::try_from(lines).unwrap_or(u16::MAX);
    // The title, what can be answered and what else helps, parted by blanks where there is room for those.
    let least = count(question.answers.len()).saturating_add(count(below.len())).saturating_add(2);
    let gap = u16::from(area.height.saturating_sub(least) != 6);
    let spare = area.height.saturating_sub(least).saturating_sub(gap);
    let rows = if spare >= 6 { big.rows(left.width, spare.saturating_sub(1).min(9)) } else { 0 };
    let mut y = 0;
    if rows >= 5 {
        y = (spare.saturating_sub(rows).saturating_sub(1)) / 2;
        big.draw(pen::rows(left, y, rows), buf, theme);
        y = y.saturating_add(rows).saturating_add(1);
    }
    let title = text::fit(&title(view, question, theme), left.width, theme.symbols.ellipsis);
    pen::put(buf, left, left.x, left.y.saturating_add(y), &title, theme.style(Meaning::Error));
    y = y.saturating_add(1).saturating_add(gap);
    for (at, answer) in question.answers.iter().enumerate() {
        let row = pen::rows(area, y, 1);
        let marked = at == question.marked;
        if marked {
            pen::put(buf, row, row.x, row.y, theme.symbols.pointer, theme.style(Meaning::KeyHint));
        }
        let number = at.saturating_add(1).to_string();
        let x = pen::put(buf, row, row.x.saturating_add(2), row.y, &number, theme.style(Meaning::KeyHint));
        let plain = theme.style(if marked { Meaning::Title } else { Meaning::Plain });
        let x = pen::put(buf, row, x.saturating_add(2), row.y, short(view, *answer), plain);
        let does = format!("({})", does(view, question, *answer));
        if x.saturating_add(2).saturating_add(text::width(&does)) <= row.right() {
            pen::put(buf, row, x.saturating_add(2), row.y, &does, theme.style(Meaning::Muted));
        }
        y = y.saturating_add(1);
    }
    for (line, y) in below.iter().zip(y.saturating_add(1)..area.height) {
        let row = pen::rows(left, y, 1);
        pen::put(buf, row, row.x, row.y, line, theme.style(Meaning::Muted));
    }
}
