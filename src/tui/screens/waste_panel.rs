//! The figures beside the bars: of the marked row and of all, which toners went over, and what putting them right has saved.

use crate::report::Shown;
use crate::report::overs::{Against, Over};
use crate::report::reading::Fate;
use crate::report::waste::{Row, Waste};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use crate::units::Share;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// The cells of a number.
const NUMBER: u16 = 10;
/// The most toners that are told.
const TONERS: u16 = 8;

/// A figure of a row: how it is called, what it means, and how it is written.
type Figure<'f> = (&'f str, Meaning, Box<dyn Fn(&Row) -> String + 'f>);

/// Draws them; beside the toners that went over stands the key that opens them.
pub(super) fn draw(
    waste: &Waste,
    (marked, overs_key): (Option<&Row>, &str),
    area: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) {
    let area = pen::columns(area, 1, area.width.saturating_sub(2));
    let used = draw_figures(waste, marked, area, buf, theme);
    let rest = pen::rows(area, used, area.height);
    // Where there is room for it, a blank line parts them.
    let gap = u16::from(rest.height > 12);
    let over: Vec<&Over> = waste.overs.iter().filter(|over| over.over > 0).collect();
    let told = u16::try_from(over.len()).unwrap_or(u16::MAX).min(TONERS);
    let told = told.min(rest.height.saturating_sub(4).saturating_sub(gap.saturating_mul(2)));
    let rest = pen::rows(rest, gap, rest.height);
    let overs = pen::rows(rest, 0, told.saturating_add(1));
    let done = &waste.corrections;
    draw_overs(&over, (overs_key, done.count > 0 || done.given_up > 0), overs, buf, theme);
    let rest = pen::rows(
        rest,
        told.max(u16::from(over.is_empty())).saturating_add(1).saturating_add(gap),
        rest.height,
    );
    draw_corrections(waste, rest, buf, theme);
}

/// Each figure of the marked row and of all; answers how many rows that took.
fn draw_figures(waste: &Waste, marked: Option<&Row>, area: Rect, buf: &mut Buffer, theme: &Theme) -> u16 {
    let shown = Shown(theme.notation);
    let mass = |fate: Fate| move |row: &Row| shown.mass(row.of(fate).mass);
    let percent = |share: Option<Share>| share.map_or_else(|| "-".to_owned(), |share| shown.percent(share));
    let figures: [Figure<'_>; 12] = [
        ("mixes", Meaning::Plain, Box::new(|row| row.mixes.to_string())),
        ("mixed", Meaning::Plain, Box::new(|row| shown.mass(row.mixed.mass))),
        ("sprayed", Meaning::Plain, Box::new(mass(Fate::Sprayed))),
        ("kept", Meaning::Plain, Box::new(mass(Fate::Kept))),
        ("in the cup", Meaning::Plain, Box::new(mass(Fate::InCup))),
        ("drawn off", Meaning::Plain, Box::new(mass(Fate::DrawnOff))),
        ("thrown away", Meaning::Plain, Box::new(mass(Fate::Thrown))),
        ("given up", Meaning::Plain, Box::new(mass(Fate::Abandoned))),
        (
            "not sprayed",
            Meaning::Title,
            Box::new(move |row| percent(row.not_sprayed().share_of(row.mixed.mass))),
        ),
        ("wasted", Meaning::Over, Box::new(move |row| percent(row.wasted_share()))),
        ("its cost", Meaning::Over, Box::new(|row| shown.money(row.wasted().cost))),
        ("cost of all", Meaning::Plain, Box::new(|row| shown.money(row.mixed.cost))),
    ];
    let muted = theme.style(Meaning::Muted);
    let head = pen::rows(area, 0, 1);
    let unit = format!("in {}", shown.unit());
    pen::put(buf, head, head.x, head.y, &unit, muted);
    let (middle, end) = (area.right().saturating_sub(NUMBER).saturating_sub(1), area.right());
    pen::put_right(buf, head, end, head.y, "all", muted);
    if let Some(row) = marked {
        let room = middle.saturating_sub(head.x).saturating_sub(text::width(&unit)).saturating_sub(2);
        let key = text::fit(&row.key, room, theme.symbols.ellipsis);
        pen::put_right(buf, head, middle, head.y, &key, theme.style(Meaning::Title));
    }
    for ((words, meaning, figure), y) in figures.iter().zip(area.y.saturating_add(1)..area.bottom()) {
        let style = theme.style(*meaning);
        pen::put(buf, area, area.x, y, words, theme.style(Meaning::Muted));
        if let Some(row) = marked {
            pen::put_right(buf, area, middle, y, &figure(row), style);
        }
        pen::put_right(buf, area, end, y, &figure(&waste.total), style);
    }
    u16::try_from(figures.len()).unwrap_or(u16::MAX).saturating_add(1)
}

fn draw_overs(over: &[&Over], (key, is_done): (&str, bool), area: Rect, buf: &mut Buffer, theme: &Theme) {
    let shown = Shown(theme.notation);
    let (of, by) = (area.right().saturating_sub(9), area.right());
    let x = pen::put(buf, area, area.x, area.y, "most often over", theme.style(Meaning::Title));
    let room = of.saturating_sub(text::width("pours")).saturating_sub(x.saturating_add(1));
    if (is_done || !over.is_empty()) && text::width(key) < room {
        pen::put(buf, area, x.saturating_add(1), area.y, key, theme.style(Meaning::KeyHint));
    }
    if over.is_empty() {
        let none = pen::rows(area, 1, 1);
        let area = if none.height == 0 { area } else { none };
        pen::put_right(buf, area, by, area.y, "no pour", theme.style(Meaning::Plain));
        return;
    }
    pen::put_right(buf, area, of, area.y, "pours", theme.style(Meaning::Muted));
    pen::put_right(buf, area, by, area.y, "mean by", theme.style(Meaning::Muted));
    for (over, y) in over.iter().zip(area.y.saturating_add(1)..area.bottom()) {
        let pours = format!("{} of {}", over.over, over.pours);
        let room = of.saturating_sub(area.x).saturating_sub(text::width(&pours)).saturating_sub(1);
        let name = text::fit(&format!("{} {}", over.toner, over.name), room, theme.symbols.ellipsis);
        pen::put(buf, area, area.x, y, &name, theme.style(Meaning::Plain));
        pen::put_right(buf, area, of, y, &pours, theme.style(Meaning::Plain));
        pen::put_right(buf, area, by, y, &shown.mass(over.mean()), theme.style(Meaning::Plain));
    }
}

fn draw_corrections(waste: &Waste, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let shown = Shown(theme.notation);
    let all = &waste.corrections;
    let end = area.right();
    let plain = theme.style(Meaning::Plain);
    let title = match all.count {
        0 => "no pour was put right".to_owned(),
        1 => "1 correction saved, against".to_owned(),
        many => format!("{many} corrections saved, against"),
    };
    pen::put(buf, area, area.x, area.y, &title, theme.style(Meaning::Title));
    if all.count == 0 {
        return;
    }
    let rows = [("growing it", all.growing), ("a new start", all.restarting)];
    for ((words, against), y) in rows.into_iter().zip(area.y.saturating_add(1)..area.bottom()) {
        pen::put(buf, area, area.x, y, words, theme.style(Meaning::Muted));
        pen::put_right(
            buf,
            area,
            end.saturating_sub(NUMBER).saturating_sub(1),
            y,
            &shown.mass(against.saved),
            plain,
        );
        pen::put_right(buf, area, end, y, &worth(against, shown), plain);
    }
}

fn worth(against: Against, shown: Shown) -> String {
    if against.unpriced == against.count { "-".to_owned() } else { shown.money(against.saved_cost) }
}
