//! The one number and the words about it.

use super::{BenchView, CupPlace, question};
use crate::mix::{Advice, Judgement, Phase};
use crate::tui::keys::Action;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::digits::Big;
use crate::tui::widgets::pen;
use crate::units::{Decimal, Grams};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// What matters now.
pub(in crate::tui::screens) struct Figure {
    /// The number; empty where there is none to trust or none that matters.
    pub(in crate::tui::screens) number: String,
    /// What it is, or what there is instead.
    pub(in crate::tui::screens) words: String,
    /// What it means.
    pub(in crate::tui::screens) meaning: Meaning,
    /// More about it, in sentences.
    pub(in crate::tui::screens) lines: Vec<String>,
}

impl Figure {
    fn number(number: String, words: &str, meaning: Meaning) -> Self {
        Self { number, words: words.to_owned(), meaning, lines: Vec::new() }
    }

    fn words(words: &str, meaning: Meaning, lines: Vec<String>) -> Self {
        Self { number: String::new(), words: words.to_owned(), meaning, lines }
    }
}

/// A leftover goes in before the first toner.
fn pouring_in(view: &BenchView<'_>, theme: &Theme) -> Figure {
    let (notation, division) = (theme.notation, view.session.limits().division);
    let (number, there_is) = view.pour_in.unwrap_or_default();
    let poured = view.net.map_or(Grams::ZERO, |net| (net - view.session.holds()).max(Grams::ZERO));
    let keys = &view.chrome.keys;
    let key = |action| keys.bindings.shown(keys.context, action, theme.symbols).unwrap_or_default();
    Figure {
        lines: vec![
            format!("pour in what is left of mix {number:04}: {}", notation.mass(there_is, division)),
            format!(
                "then {} takes it; {} goes on without it",
                key(Action::Take),
                key(Action::WithoutLeftover)
            ),
        ],
        ..Figure::number(
            notation.weight(poured, division),
            &format!("{} of it in", notation.mass_unit()),
            Meaning::Short,
        )
    }
}

/// The number that matters now. A weight that cannot be trusted is never a number here.
pub(in crate::tui::screens) fn figure(view: &BenchView<'_>, theme: &Theme) -> Figure {
    let session = view.session;
    let division = session.limits().division;
    let notation = theme.notation;
    let unit = notation.mass_unit();
    let holds = notation.mass(session.holds(), division);
    let right = format!("{unit} {} right", theme.symbols.right);
    if let Some(question) = view.question {
        return question::figure(view, question, theme);
    }
    match session.phase() {
        Phase::Weighing | Phase::Drawing if view.is_lifted() => {
            Figure::words("the cup is off the scale", Meaning::Doubt, lifted(view, &holds, theme))
        }
        Phase::Weighing | Phase::Drawing if view.net.is_none() => {
            let mut lines: Vec<String> = view.doubt.map(str::to_owned).into_iter().collect();
            lines.push(format!("by the book the cup holds {holds}"));
            // A scale that stands still and is not believed is not called steady.
            let words =
                if view.steady { "no weight".to_owned() } else { format!("scale {}", view.link_words) };
            Figure::words(&words, Meaning::Lost, lines)
        }
        Phase::Weighing | Phase::Drawing if view.cup == CupPlace::Back => {
            let lines = vec![
                format!("it held {}", notation.mass(view.held, division)),
                "let it stand still to go on".to_owned(),
            ];
            Figure::words("the cup is compared", Meaning::Doubt, lines)
        }
        Phase::Weighing if view.pour_in.is_some() => pouring_in(view, theme),
        Phase::Weighing => match view.net.and_then(|net| session.judge(net)) {
            Some(Judgement::Short(to_go)) => {
                Figure::number(notation.weight(to_go, division), &format!("{unit} to go"), Meaning::Short)
            }
            Some(Judgement::Right(off)) => {
                Figure::number(notation.signed(off, division), &right, Meaning::Right)
            }
            Some(Judgement::Over(over)) => {
                Figure::number(notation.weight(over, division), &format!("{unit} over"), Meaning::Over)
            }
            Some(Judgement::Gone(gone)) => {
                Figure::number(notation.weight(gone, division), &format!("{unit} missing"), Meaning::Error)
            }
            None => Figure::words("", Meaning::Plain, Vec::new()),
        },
        Phase::Drawing => match (view.net, session.draw_to()) {
            (Some(net), Some(down_to)) if division.round(net - down_to).is_positive() => Figure::number(
                notation.weight(net - down_to, division),
                &format!("{unit} to take out"),
                Meaning::Short,
            ),
            (Some(net), Some(down_to)) if net < down_to - division.grams() => Figure::number(
                notation.weight(down_to - net, division),
                &format!("{unit} more than needed"),
                Meaning::Right,
            ),
            (Some(net), Some(down_to)) => {
                Figure::number(notation.signed(net - down_to, division), &right, Meaning::Right)
            }
            _ => Figure::words("", Meaning::Plain, Vec::new()),
        },
        Phase::Over(_) | Phase::Fouled => over(view, theme),
        Phase::Complete => {
            let volume = notation.volume(session.end_volume(), 0);
            Figure {
                lines: vec![format!("about {volume}; stir it, and say that it is done")],
                ..Figure::number(
                    notation.weight(session.holds(), division),
                    &format!("{unit} {} all in", theme.symbols.right),
                    Meaning::Right,
                )
            }
        }
        Phase::Aside => Figure::words(
            "put aside",
            Meaning::Title,
            vec![format!("the cup holds {holds}"), "put it on the scale to go on".to_owned()],
        ),
        Phase::Abandoned => Figure::words("given up", Meaning::Title, vec![format!("the cup held {holds}")]),
        Phase::Finished => {
            let volume = notation.volume(session.end_volume(), 0);
            Figure {
                lines: vec![format!("about {volume}")],
                ..Figure::number(
                    notation.weight(session.holds(), division),
                    &format!("{unit} {} done", theme.symbols.right),
                    Meaning::Right,
                )
            }
        }
    }
}

/// What there is to know while the cup is off the scale.
fn lifted(view: &BenchView<'_>, holds: &str, theme: &Theme) -> Vec<String> {
    let (division, notation) = (view.session.limits().division, theme.notation);
    let first = if view.held == view.session.holds() {
        format!("by the book it holds {holds}")
    } else {
        format!("it held {}, {holds} of it booked", notation.mass(view.held, division))
    };
    let mut lines = vec![first];
    if let CupPlace::Off { pan: Some(pan) } = view.cup {
        // More than a zero wanders is no zero.
        lines.push(if pan > division.grams().times(Decimal::TEN) {
            format!("{} of something else lie on the pan: take it off", notation.mass(pan, division))
        } else {
            let pan = notation.signed(pan, division);
            format!(
                "the empty pan is off by {pan} {}: wipe or zero it, or the cup is weighed with that",
                notation.mass_unit()
            )
        });
    } else {
        lines.push("put it back to go on".to_owned());
    }
    lines.extend(view.doubt.filter(|_| view.net.is_none()).map(str::to_owned));
    lines
}

/// How much is over of what.
fn over(view: &BenchView<'_>, theme: &Theme) -> Figure {
    let (notation, unit) = (theme.notation, theme.notation.mass_unit());
    let (session, division) = (view.session, view.session.limits().division);
    match session.phase() {
        Phase::Over(line) => {
            let off = over_by(view, line);
            Figure::number(notation.weight(off, division), &format!("{unit} over"), Meaning::Over)
        }
        Phase::Fouled => {
            let foreign: Grams = session.foreign().iter().map(|(_, mass)| *mass).sum();
            Figure::number(
                notation.weight(foreign, division),
                &format!("{unit} that do not belong"),
                Meaning::Over,
            )
        }
        _ => Figure::words("", Meaning::Plain, Vec::new()),
    }
}

fn over_by(view: &BenchView<'_>, line: usize) -> Grams {
    let session = view.session;
    let Some(item) = session.cup().items.get(line) else { return Grams::ZERO };
    item.poured - session.total() * item.share
}

/// What is over, as a big number.
pub(super) fn over_figure(view: &BenchView<'_>, theme: &Theme) -> Big {
    let figure = over(view, theme);
    Big { number: figure.number, words: figure.words, meaning: figure.meaning }
}

/// What is over and what would still be right, in a sentence.
pub(super) fn over_title(view: &BenchView<'_>, theme: &Theme) -> (String, Meaning) {
    let notation = theme.notation;
    let (session, division) = (view.session, view.session.limits().division);
    match session.phase() {
        Phase::Over(line) => {
            let code = code(view, line);
            let within =
                session.cup().items.get(line).map(|item| session.cup().tolerance(item, session.total()));
            let within = notation.weight_to(within.unwrap_or(Grams::ZERO), division.decimals());
            let off = notation.mass(over_by(view, line), division);
            (format!("{code} is {off} over (right is within {within})"), Meaning::Over)
        }
        Phase::Fouled => {
            let names: Vec<&str> = session.foreign().iter().map(|(toner, _)| toner.as_str()).collect();
            let share = notation.percent(session.foreign_share(), 1);
            (
                format!("{} is not in this formula: {share} of the finished mix", names.join(", ")),
                Meaning::Over,
            )
        }
        _ => {
            let now = match view.weight().and_then(|net| session.judge(net)) {
                Some(Judgement::Short(to_go)) => format!(": {} short", notation.mass(to_go, division)),
                Some(Judgement::Right(_)) => ": right".to_owned(),
                Some(Judgement::Over(over)) => format!(": {} over", notation.mass(over, division)),
                Some(Judgement::Gone(_)) | None => String::new(),
            };
            (format!("if the pour stopped here{now}"), Meaning::Title)
        }
    }
}

fn code<'a>(view: &BenchView<'a>, line: usize) -> &'a str {
    view.session.recipe().lines().get(line).map_or("", |line| line.toner.as_str())
}

/// The toner to pour, and which of how many.
pub(super) fn heading(view: &BenchView<'_>, row: Rect, buf: &mut Buffer, theme: &Theme) {
    let session = view.session;
    let title = theme.style(Meaning::Title);
    let Some(line) = session.current().filter(|_| session.phase() == Phase::Weighing) else {
        let words = match session.phase() {
            Phase::Drawing => "stir, then draw off",
            _ => "",
        };
        pen::put(buf, row, row.x, row.y, words, title);
        return;
    };
    let place = session.order().iter().position(|at| *at == line).map_or(0, |at| at.saturating_add(1));
    let pours = format!("pour {place} of {}", session.order().len());
    pen::put_right(buf, row, row.right(), row.y, &pours, theme.style(Meaning::Muted));
    let x = pen::put(buf, row, row.x, row.y, code(view, line), title);
    let name = session.recipe().lines().get(line).map_or("", |line| line.name.as_str());
    let room = row.right().saturating_sub(x.saturating_add(4).saturating_add(text::width(&pours)));
    let name = text::fit(name, room, theme.symbols.ellipsis);
    pen::put(buf, row, x.saturating_add(2), row.y, &name, title);
}

/// Words where there is no number.
pub(super) fn words(figure: &Figure, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let loud =
        if figure.meaning == Meaning::Lost { format!("  {}  ", figure.words) } else { figure.words.clone() };
    let loud = text::fit(&loud, area.width, theme.symbols.ellipsis);
    let y = area.y.saturating_add(u16::from(area.height > 3));
    pen::put(buf, area, area.x, y, &loud, theme.style(figure.meaning));
    let lines = figure.lines.iter().flat_map(|line| text::wrap(line, area.width));
    for (line, y) in lines.zip(y.saturating_add(2)..area.bottom()) {
        pen::put(buf, area, area.x, y, &line, theme.style(Meaning::Plain));
    }
}

/// The steps of a row of boxes that are full.
pub(super) fn steps(percent: u8, count: u16, theme: &Theme) -> String {
    let full = u16::from(percent.min(100)).saturating_mul(count).div_ceil(100);
    let signs = theme.symbols;
    (0..count).map(|at| if at < full { signs.step_full } else { signs.step_empty }).collect()
}

/// What is going on with the number: that the pour is about to be taken by itself, or with which key, or why not.
pub(super) fn going_on(view: &BenchView<'_>, figure: &Figure, row: Rect, buf: &mut Buffer, theme: &Theme) {
    if let Some(line) = figure.lines.first() {
        let line = text::fit(line, row.width, theme.symbols.ellipsis);
        pen::put(buf, row, row.x, row.y, &line, theme.style(Meaning::Plain));
        return;
    }
    let keys = &view.chrome.keys;
    let key = keys.bindings.shown(keys.context, Action::Take, theme.symbols);
    if view.creeps {
        let words = match (figure.meaning, key) {
            (Meaning::Right | Meaning::Over, Some(key)) => {
                format!("it creeps: let it drip out, or {key} takes it")
            }
            _ => "it creeps: is the tin still dripping?".to_owned(),
        };
        let words = text::fit(&words, row.width, theme.symbols.ellipsis);
        pen::put(buf, row, row.x, row.y, &words, theme.style(Meaning::Doubt));
        return;
    }
    if view.dwell.is_none() && told(view, figure, row, buf, theme) {
        return;
    }
    let Some(percent) = view.dwell.filter(|_| view.hands_free) else {
        let waits = view.steady && !view.hands_free && figure.meaning == Meaning::Right;
        if let (true, Some(key)) = (waits, key) {
            let words = format!("steady: {key} takes it");
            pen::put(buf, row, row.x, row.y, &words, theme.style(Meaning::Steady));
        }
        return;
    };
    let x = pen::put(buf, row, row.x, row.y, "steady, taking it  ", theme.style(Meaning::Steady));
    pen::put(buf, row, x, row.y, &steps(percent, 12, theme), theme.style(Meaning::Steady));
}

/// What the hand is told; false if it is told nothing.
fn told(view: &BenchView<'_>, figure: &Figure, row: Rect, buf: &mut Buffer, theme: &Theme) -> bool {
    if view.weight().is_none() || view.session.phase() != Phase::Weighing || figure.meaning == Meaning::Error
    {
        return false;
    }
    let division = view.session.limits().division;
    let signs = theme.symbols;
    let (words, meaning) = match (view.advice, view.ease_at) {
        (Some(Advice::Upright), _) => (format!("{} set it upright", signs.alert.repeat(2)), Meaning::Over),
        (Some(Advice::EaseOff), _) => (format!("{} ease off", signs.ease.repeat(2)), Meaning::Moving),
        (Some(Advice::PourOn), Some(at)) => (
            format!("pour on, ease off at {} {}", theme.notation.weight(at, division), signs.ease),
            Meaning::Plain,
        ),
        (Some(Advice::Drops), _) => ("a little: begin with drops".to_owned(), Meaning::Plain),
        (Some(Advice::PourOn) | None, _) => return false,
    };
    let words = text::fit(&words, row.width, signs.ellipsis);
    pen::put(buf, row, row.x, row.y, &words, theme.style(meaning));
    true
}

/// Where to stop, what the cup holds, from which tin.
pub(super) fn readings(view: &BenchView<'_>, row: Rect, buf: &mut Buffer, theme: &Theme) {
    let session = view.session;
    let (division, notation) = (session.limits().division, theme.notation);
    let stop = session.shown_stop().or_else(|| session.draw_to());
    let mut pieces: Vec<(&str, String)> = Vec::new();
    if let Some(stop) = stop {
        pieces.push(("stop at", notation.weight(stop, division)));
        pieces.push(match view.weight() {
            Some(net) => ("cup holds", notation.weight(net, division)),
            None => ("cup held", notation.weight(view.held, division)),
        });
    }
    let pouring = session.current().filter(|_| session.phase() == Phase::Weighing);
    if let Some(tin) = pouring.and_then(|line| session.tin(line)) {
        pieces.push(("tin", tin.to_owned()));
    } else if let Some(tin) = view.proposed {
        pieces.push(("take tin", tin.to_owned()));
    }
    let widths = pieces
        .iter()
        .map(|(name, value)| text::width(name).saturating_add(1).saturating_add(text::width(value)));
    let spare = row.width.saturating_sub(widths.sum());
    let gaps = u16::try_from(pieces.len().saturating_sub(1)).unwrap_or(0).max(1);
    let gap = (spare / gaps).clamp(2, 8);
    let mut x = row.x;
    for (name, value) in pieces {
        x = pen::put(buf, row, x, row.y, name, theme.style(Meaning::Plain)).saturating_add(1);
        x = pen::put(buf, row, x, row.y, &value, theme.style(Meaning::Value)).saturating_add(gap);
    }
}
