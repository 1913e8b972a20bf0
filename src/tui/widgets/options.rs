//! The ways out, side by side, the most sparing first.

use super::pen;
use crate::mix::{Choice, Session, Way};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::units::{Grams, Notation, VolumeShown};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// The table of ways out.
#[derive(Clone, Copy, Debug)]
pub struct Options<'a> {
    /// The mix they are for.
    pub session: &'a Session,
    /// The ways, in the order they are numbered.
    pub ways: &'a [Choice],
    /// Which is marked; none where nothing can be chosen yet.
    pub selected: Option<usize>,
}

/// One line to draw.
struct Entry {
    words: String,
    add: String,
    waste: String,
    cost: String,
    ends: String,
    worst: String,
    meaning: Meaning,
}

impl Options<'_> {
    /// How many rows it would like: its heading, the ways, and what the marked one means toner by toner.
    pub fn rows(&self) -> u16 {
        u16::try_from(self.ways.len()).unwrap_or(u16::MAX).saturating_add(3)
    }

    /// Draws it.
    pub fn draw(&self, area: Rect, buf: &mut Buffer, theme: &Theme) {
        let entries: Vec<Entry> = self.ways.iter().map(|way| self.entry(way, theme.notation)).collect();
        let ends = ends_heading(theme.notation);
        let columns = Columns::of(area, &entries, ends);
        columns.heading(pen::rows(area, 0, 1), ends, buf, theme);
        let detail = u16::from(area.height >= self.rows()).saturating_mul(2);
        let room = usize::from(area.height.saturating_sub(1).saturating_sub(detail));
        let first = pen::first_row(self.selected.unwrap_or(0), entries.len(), room);
        for ((at, entry), y) in entries.iter().enumerate().skip(first).take(room).zip(1_u16..) {
            let row = pen::rows(area, y, 1);
            columns.entry(row, at, self.selected == Some(at), entry, buf, theme);
        }
        let marked = self.selected.and_then(|at| self.ways.get(at));
        if let (Some(way), true) = (marked, detail > 0) {
            let row = pen::rows(area, area.height.saturating_sub(1).min(self.rows().saturating_sub(1)), 1);
            let words = text::fit(
                &self.detail(way, theme.notation),
                row.width.saturating_sub(4),
                theme.symbols.ellipsis,
            );
            pen::put(buf, row, row.x.saturating_add(3), row.y, &words, theme.style(Meaning::Muted));
        }
    }

    fn entry(&self, way: &Choice, notation: Notation) -> Entry {
        let division = self.session.limits().division;
        let grams = |mass: Grams| notation.mass(mass, division);
        let or_dash = |mass: Grams| if mass.is_positive() { grams(mass) } else { "-".to_owned() };
        // Measures with a long name say it once, on top of their column.
        let (volume, ends) = match notation.volume {
            VolumeShown::Millilitres => {
                let volume = notation.volume(way.final_volume, 0);
                (format!(": {volume}"), volume)
            }
            _ => (String::new(), notation.volume_number(way.final_volume, 0)),
        };
        let words = match way.way {
            Way::DrawOff => format!("draw off {}, then go on", grams(way.draw_off)),
            Way::Smallest => format!("make more{volume}"),
            Way::Exact => format!("make exactly right{volume}"),
            Way::Fit => format!("the nearest that fits{volume}"),
            Way::Leave => "leave it".to_owned(),
            Way::Restart => "start again".to_owned(),
        };
        let add = match way.way {
            Way::Leave | Way::DrawOff => "-".to_owned(),
            Way::Restart => "all of it".to_owned(),
            Way::Smallest | Way::Exact | Way::Fit => or_dash(way.extra_mass),
        };
        let left = way.way == Way::Leave;
        let (worst, meaning) = self.worst(way, notation);
        Entry {
            words,
            add,
            waste: if left { "-".to_owned() } else { or_dash(way.waste) },
            cost: match way.extra_cost {
                Some(cost) if !left => notation.money(cost),
                Some(_) => "-".to_owned(),
                None => "?".to_owned(),
            },
            ends,
            worst,
            meaning,
        }
    }

    /// What is wrong with it, or the toner furthest off, or that it comes right.
    fn worst(&self, way: &Choice, notation: Notation) -> (String, Meaning) {
        if !way.fits_cup {
            return ("too full".to_owned(), Meaning::Over);
        }
        if !way.fits_scale {
            return ("too heavy".to_owned(), Meaning::Over);
        }
        if way.right {
            return ("right".to_owned(), Meaning::Right);
        }
        let off = way.worst.map(|worst| {
            let code = self.session.recipe().lines().get(worst.line).map(|line| line.toner.as_str());
            format!("{} {}", code.unwrap_or_default(), notation.signed_percent(worst.deviation, 1))
        });
        // Where something is in the cup that does not belong, that is the worst of it.
        match self.session.foreign() {
            [] => (off.unwrap_or_default(), Meaning::Doubt),
            [(toner, _), ..] => (
                format!("{} {}", toner.as_str(), notation.percent(self.session.foreign_share(), 1)),
                Meaning::Doubt,
            ),
        }
    }

    /// What to add of which toner that is in the cup already, and what is still to come anyway.
    fn detail(&self, way: &Choice, notation: Notation) -> String {
        let division = self.session.limits().division;
        if way.way == Way::Restart {
            return "throws away what is in the cup".to_owned();
        }
        let lines = self.session.recipe().lines().iter().zip(&way.add).enumerate();
        let (mut more, mut rest) = (Vec::new(), Vec::new());
        for (at, (line, add)) in lines.filter(|(_, (_, add))| division.round(**add).is_positive()) {
            let words = format!("{} {}", line.toner.as_str(), notation.asked(*add, division));
            if self.session.poured(at).is_positive() { more.push(words) } else { rest.push(words) }
        }
        let said = |what: &str, words: &[String]| match words {
            [] => None,
            words => Some(format!("{what} {}", words.join(", "))),
        };
        let parts: Vec<String> =
            [said("more of", &more), said("then", &rest)].into_iter().flatten().collect();
        if parts.is_empty() { "nothing more to pour".to_owned() } else { parts.join("; ") }
    }
}

/// What stands on top of the volumes.
const fn ends_heading(notation: Notation) -> &'static str {
    match notation.volume {
        VolumeShown::Millilitres => "ends at",
        _ => notation.volume_unit(),
    }
}

/// Where the columns end; the words take what the figures leave.
struct Columns {
    words: u16,
    words_width: u16,
    add: u16,
    waste: u16,
    cost: u16,
    ends: u16,
    worst: u16,
}

impl Columns {
    fn of(area: Rect, entries: &[Entry], ends_heading: &str) -> Self {
        let widest = |of: fn(&Entry) -> &str, heading: u16| {
            entries.iter().map(|entry| text::width(of(entry))).max().unwrap_or(0).max(heading)
        };
        let add = widest(|e| &e.add, 3);
        let waste = widest(|e| &e.waste, 5);
        let cost = widest(|e| &e.cost, 4);
        let ends = widest(|e| &e.ends, text::width(ends_heading));
        let worst = widest(|e| &e.worst, 5);
        let wanted = widest(|e| &e.words, 10);
        // Three blanks between columns where there is room, else two, else one.
        let figures = |gap: u16| 6 + add + waste + cost + ends + worst + 5 * gap;
        let gap = [5, 4, 3, 2].into_iter().find(|&gap| figures(gap) + wanted <= area.width).unwrap_or(1);
        let words_width = wanted.min(area.width.saturating_sub(figures(gap)));
        let words = area.x.saturating_add(6);
        let after = |end: u16, width: u16| end.saturating_add(gap).saturating_add(width);
        let add = after(words.saturating_add(words_width), add);
        let waste = after(add, waste);
        let cost = after(waste, cost);
        let ends = after(cost, ends);
        let worst = after(ends, worst);
        Self { words, words_width, add, waste, cost, ends, worst }
    }

    fn heading(&self, row: Rect, ends: &str, buf: &mut Buffer, theme: &Theme) {
        let style = theme.style(Meaning::Muted);
        pen::put(buf, row, self.words, row.y, "what to do", style);
        for (end, words) in [
            (self.add, "add"),
            (self.waste, "waste"),
            (self.cost, "cost"),
            (self.ends, ends),
            (self.worst, "worst"),
        ] {
            pen::put_right(buf, row, end, row.y, words, style);
        }
    }

    fn entry(&self, row: Rect, at: usize, selected: bool, entry: &Entry, buf: &mut Buffer, theme: &Theme) {
        let plain = theme.style(if selected { Meaning::Title } else { Meaning::Plain });
        let y = row.y;
        if selected {
            let pointer = theme.symbols.pointer;
            pen::put(buf, row, row.x.saturating_add(1), y, pointer, theme.style(Meaning::KeyHint));
        }
        let number = at.saturating_add(1).to_string();
        pen::put(buf, row, row.x.saturating_add(3), y, &number, theme.style(Meaning::KeyHint));
        let words = text::fit(&entry.words, self.words_width, theme.symbols.ellipsis);
        pen::put(buf, row, self.words, y, &words, plain);
        pen::put_right(buf, row, self.add, y, &entry.add, plain);
        pen::put_right(buf, row, self.waste, y, &entry.waste, plain);
        pen::put_right(buf, row, self.cost, y, &entry.cost, plain);
        pen::put_right(buf, row, self.ends, y, &entry.ends, plain);
        pen::put_right(buf, row, self.worst, y, &entry.worst, theme.style(entry.meaning));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::screens::fixture;

    #[test]
    fn the_ways_out_of_an_overpour() {
        let session = fixture::over();
        let ways = session.ways();
        let options = Options { session: &session, ways: &ways, selected: Some(1) };
        let mut buf = Buffer::empty(Rect::new(0, 0, 80, 9));
        options.draw(buf.area, &mut buf, &Theme::default());
        assert_eq!(
            crate::tui::screens::picture(&buf),
            [
                "      what to do                         add     waste    cost   ends at   worst",
                "   1  draw off 2.9 g, then go on           -     2.9 g    0.12    350 mL   right",
                " ▸ 2  make more: 352 mL                3.8 g     3.8 g    0.15    352 mL   right",
                "   3  leave it                             -         -       -    353 mL   right",
                "   4  make exactly right: 355 mL       6.7 g     6.7 g    0.31    355 mL   right",
                "   5  start again                  all of it   350.6 g   14.41    350 mL   right",
                "",
                "   then B15 13.89, R20 34.52, M80 77.35",
                "",
            ]
        );
    }

    #[test]
    fn what_does_not_fit_is_said() {
        let mut session = fixture::begun();
        fixture::pour(&mut session, "9.0");
        let ways = session.ways();
        let options = Options { session: &session, ways: &ways, selected: Some(0) };
        let words: Vec<String> = ways.iter().map(|way| options.entry(way, Notation::METRIC).worst).collect();
        assert!(words.contains(&"too full".to_owned()), "{words:?}");
        let all = options.entry(ways.last().unwrap(), Notation::METRIC);
        assert_eq!((all.words.as_str(), all.add.as_str()), ("start again", "all of it"));
    }
}
