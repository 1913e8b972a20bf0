//! The record: what was asked, what went in, whether it is saved. A row a toner, in pour order.

use super::pen;
use crate::mix::{Judgement, LinePart, Phase, Row, RowState, Session};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::units::{Division, Grams, Notation};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Whether what went in is on disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SavedState {
    /// It is.
    Saved,
    /// The book has not answered yet.
    Saving,
    /// The book could not.
    NotSaved,
}

impl SavedState {
    /// The words on the screen.
    pub const fn words(self, ellipsis: &str) -> (&'static str, Meaning) {
        match self {
            Self::Saved => ("saved", Meaning::Saved),
            Self::Saving if ellipsis.len() == 1 => ("saving", Meaning::Saving),
            Self::Saving => ("saving…", Meaning::Saving),
            Self::NotSaved => ("NOT SAVED", Meaning::Unsaved),
        }
    }
}

/// The record of a mix.
#[derive(Clone, Copy, Debug)]
pub struct Record<'a> {
    /// The mix.
    pub session: &'a Session,
    /// What the cup holds by the scale, its own weight taken off, or by the book where the mix is only looked
    /// at; none if there is no weight to trust.
    pub net: Option<Grams>,
    /// By place in the recipe: whether the last that happened to the toner is saved; none if nothing did.
    pub saved: &'a [Option<SavedState>],
}

/// One line to draw.
struct Entry {
    mark: &'static str,
    code: String,
    name: String,
    target: String,
    in_cup: String,
    words: String,
    meaning: Meaning,
    tin: String,
    saved: Option<SavedState>,
}

/// The columns of a width: where each begins or ends.
struct Columns {
    name: u16,
    name_width: u16,
    target_end: u16,
    cup_end: u16,
    words: u16,
    tin: u16,
    saved: u16,
}

impl Columns {
    const CODE: u16 = 3;

    const fn of(area: Rect, code_width: u16) -> Self {
        // The name takes what the figures leave, up to what a name needs; where there is more room than that the
        // figures stand wider apart.
        let [target, cup, gap, said, tin, saved] =
            if area.width < 104 { [8, 9, 2, 14, 10, 9] } else { [12, 12, 4, 20, 14, 10] };
        let figures = target + cup + gap + said + tin + saved;
        let name = area.x.saturating_add(Self::CODE).saturating_add(code_width).saturating_add(2);
        let spare = area.width.saturating_sub(Self::CODE + code_width + 2 + figures);
        let name_width = if spare > 34 { 34 } else { spare };
        let target_end = name.saturating_add(name_width).saturating_add(target);
        let cup_end = target_end.saturating_add(cup);
        let words = cup_end.saturating_add(gap);
        let tin_at = words.saturating_add(said);
        Self { name, name_width, target_end, cup_end, words, tin: tin_at, saved: tin_at.saturating_add(tin) }
    }
}

impl Record<'_> {
    /// How many rows it would like, its heading included.
    pub fn rows(&self) -> u16 {
        let count = self.session.recipe().lines().len().saturating_add(self.session.foreign().len());
        u16::try_from(count).unwrap_or(u16::MAX).saturating_add(1)
    }

    /// Draws it; where there are more rows than room, those about the toner being poured.
    pub fn draw(&self, area: Rect, buf: &mut Buffer, theme: &Theme) {
        if area.height == 0 {
            return;
        }
        let entries = self.entries(theme);
        let current = entries.iter().position(|(current, _)| *current).unwrap_or_else(|| self.last_poured());
        let room = usize::from(area.height.saturating_sub(1));
        let first = pen::first_row(current, entries.len(), room);
        let code_width = entries.iter().map(|(_, entry)| text::width(&entry.code)).max().unwrap_or(0).min(10);
        let columns = Columns::of(area, code_width);
        let (above, below) = (first, entries.len().saturating_sub(first.saturating_add(room)));
        heading(pen::rows(area, 0, 1), &columns, (above, below), buf, theme);
        for ((_, entry), at) in entries.iter().skip(first).zip(1_u16..area.height) {
            entry.draw(pen::rows(area, at, 1), &columns, buf, theme);
        }
    }

    /// The last row in pour order of which anything is in the cup.
    fn last_poured(&self) -> usize {
        self.session.record().iter().rposition(|row| row.in_cup.is_positive()).unwrap_or(0)
    }

    /// Each line, and whether it is the one to keep in view.
    fn entries(&self, theme: &Theme) -> Vec<(bool, Entry)> {
        let own = self.session.record().into_iter().map(|row| {
            let in_view = matches!(row.state, RowState::Current | RowState::Over(_));
            (in_view, self.entry(&row, theme))
        });
        let foreign = self.session.foreign().iter().map(|(toner, mass)| {
            let division = self.session.limits().division;
            let entry = Entry {
                mark: theme.symbols.foreign,
                code: toner.as_str().to_owned(),
                name: "not in this formula".to_owned(),
                target: String::new(),
                in_cup: theme.notation.weight(*mass, division),
                words: theme.notation.percent(self.session.foreign_share(), 1) + " of all",
                meaning: Meaning::Over,
                tin: String::new(),
                saved: None,
            };
            (false, entry)
        });
        own.chain(foreign).collect()
    }

    fn entry(&self, row: &Row, theme: &Theme) -> Entry {
        let (division, notation) = (self.session.limits().division, theme.notation);
        let line = self.session.recipe().lines().get(row.line);
        let live = match (row.state, self.net) {
            (RowState::Current, Some(net)) => (net - self.session.holds()).max(Grams::ZERO),
            _ => Grams::ZERO,
        };
        let in_cup = row.in_cup + live;
        let (mark, words, meaning) = self.state(row, theme);
        Entry {
            mark,
            code: line.map(|line| line.toner.as_str().to_owned()).unwrap_or_default(),
            name: line.map(|line| line.name.clone()).unwrap_or_default(),
            target: notation.asked(row.target, division),
            in_cup: if in_cup.is_positive() { notation.weight(in_cup, division) } else { String::new() },
            words,
            meaning,
            tin: self.session.tin(row.line).unwrap_or_default().to_owned(),
            saved: self.saved.get(row.line).copied().flatten(),
        }
    }

    fn state(&self, row: &Row, theme: &Theme) -> (&'static str, String, Meaning) {
        let (signs, notation, division) = (theme.symbols, theme.notation, self.session.limits().division);
        match row.state {
            RowState::Waiting => (signs.waiting, self.then(row).to_owned(), Meaning::Plain),
            RowState::Current => {
                let (words, meaning) = self.current(notation);
                (signs.pointer, words, meaning)
            }
            RowState::Part => {
                let missing = row.target - row.in_cup;
                (signs.part, format!("{} to go", notation.weight(missing, division)), Meaning::Short)
            }
            RowState::Right(off) => (signs.right, right(off, division, notation), Meaning::Right),
            RowState::Over(off) => {
                (signs.alert, format!("{} over", notation.weight(off, division)), Meaning::Over)
            }
            // It is being put right.
            RowState::Left(off) if self.session.phase() == Phase::Drawing => {
                (signs.alert, format!("{} over", notation.weight(off, division)), Meaning::Over)
            }
            RowState::Left(off) => {
                let share = off.share_of(row.in_cup - off).unwrap_or_default();
                (signs.left_off, format!("left {}", notation.signed_percent(share, 1)), Meaning::Doubt)
            }
        }
    }

    /// What a row that waits is for, where it is not of the colour.
    fn then(&self, row: &Row) -> &'static str {
        match self.session.recipe().lines().get(row.line).map(|line| line.part) {
            Some(LinePart::Hardener) => "then hardener",
            Some(LinePart::Thinner) => "then thinner",
            Some(LinePart::Colour) | None => "",
        }
    }

    /// What the reading means for the toner being poured.
    fn current(&self, notation: Notation) -> (String, Meaning) {
        let division = self.session.limits().division;
        match self.net.and_then(|net| self.session.judge(net)) {
            Some(Judgement::Short(to_go)) => {
                (format!("{} to go", notation.weight(to_go, division)), Meaning::Short)
            }
            Some(Judgement::Right(off)) => (right(off, division, notation), Meaning::Right),
            Some(Judgement::Over(over)) => {
                (format!("{} over", notation.weight(over, division)), Meaning::Over)
            }
            Some(Judgement::Gone(gone)) => {
                (format!("{} missing", notation.weight(gone, division)), Meaning::Error)
            }
            None => ("no weight".to_owned(), Meaning::Doubt),
        }
    }
}

fn right(off: Grams, division: Division, notation: Notation) -> String {
    if division.round(off).is_zero() {
        "right".to_owned()
    } else {
        format!("right {}", notation.signed(off, division))
    }
}

fn heading(row: Rect, columns: &Columns, (above, below): (usize, usize), buf: &mut Buffer, theme: &Theme) {
    let style = theme.style(Meaning::Muted);
    pen::put(buf, row, row.x.saturating_add(Columns::CODE), row.y, "toner", style);
    pen::put_right(buf, row, columns.target_end, row.y, "target", style);
    pen::put_right(buf, row, columns.cup_end, row.y, "in cup", style);
    pen::put(buf, row, columns.tin, row.y, "tin", style);
    let hidden = match (above, below) {
        (0, 0) => return,
        (above, 0) => format!("{above} above"),
        (0, below) => format!("{below} below"),
        (above, below) => format!("{above} above, {below} below"),
    };
    pen::put(buf, row, columns.words, row.y, &hidden, style);
}

impl Entry {
    fn draw(&self, row: Rect, columns: &Columns, buf: &mut Buffer, theme: &Theme) {
        let signs = theme.symbols;
        let plain = theme.style(Meaning::Plain);
        let state = theme.style(self.meaning);
        let current = self.mark == signs.pointer;
        let name = if current { theme.style(Meaning::Title) } else { plain };
        let y = row.y;
        pen::put(buf, row, row.x.saturating_add(1), y, self.mark, state);
        let code_room = columns.name.saturating_sub(row.x.saturating_add(Columns::CODE + 2));
        let code = text::fit(&self.code, code_room, signs.ellipsis);
        pen::put(buf, row, row.x.saturating_add(Columns::CODE), y, &code, name);
        let words = text::fit(&self.name, columns.name_width, signs.ellipsis);
        pen::put(buf, row, columns.name, y, &words, name);
        pen::put_right(buf, row, columns.target_end, y, &self.target, plain);
        pen::put_right(buf, row, columns.cup_end, y, &self.in_cup, theme.style(Meaning::Value));
        pen::put(buf, row, columns.words, y, &self.words, state);
        let tin = text::fit(&self.tin, columns.saved.saturating_sub(columns.tin + 1), signs.ellipsis);
        pen::put(buf, row, columns.tin, y, &tin, plain);
        if let Some(saved) = self.saved {
            let (words, meaning) = saved.words(signs.ellipsis);
            pen::put(buf, row, columns.saved, y, words, theme.style(meaning));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::screens::fixture;

    fn rows(record: &Record<'_>, width: u16, height: u16) -> Vec<String> {
        let mut buf = Buffer::empty(Rect::new(0, 0, width, height));
        record.draw(buf.area, &mut buf, &Theme::default());
        crate::tui::screens::picture(&buf)
    }

    #[test]
    fn every_state_has_its_sign_and_its_words() {
        let session = fixture::half_poured();
        let saved = fixture::saved(&session);
        let record = Record { session: &session, net: Some(fixture::g("319.2")), saved: &saved };
        let drawn = rows(&record, 80, 7);
        assert_eq!(
            drawn,
            [
                "   toner                      target   in cup                tin",
                " ✓ K05  carbon black            3.49      3.4  right -0.1    23-118    saved",
                " ✓ Y41  yellow oxide           62.53     62.7  right +0.2    24-007    saved",
                " ▸ W10  titanium white        280.51    253.1  27.4 to go    24-031",
                " · B15  phthalo blue           13.91",
                " · R20  red oxide              34.59",
                " · M80  colour binder          77.50",
            ]
        );
        let over = fixture::over();
        let record = Record { session: &over, net: None, saved: &saved };
        assert!(rows(&record, 80, 7)[3].contains(" ! W10") && rows(&record, 80, 7)[3].contains("3.9 over"));
        let fouled = fixture::fouled();
        let record = Record { session: &fouled, net: None, saved: &saved };
        assert_eq!(rows(&record, 80, 8)[7], " × G33  not in this formula               2.1  0.4 % of all");
    }

    #[test]
    fn saved_is_said_in_words() {
        let session = fixture::half_poured();
        let saved = [Some(SavedState::Saving), Some(SavedState::NotSaved), None, None, None, None];
        let drawn = rows(&Record { session: &session, net: None, saved: &saved }, 80, 7);
        assert!(drawn[1].ends_with("  saving…") && drawn[2].ends_with("  NOT SAVED"), "{drawn:?}");
        assert!(drawn[3].contains("no weight"));
    }

    /// The toner being poured is in view, and what is out of view is said.
    #[test]
    fn scrolls_with_the_pour() {
        let mut session = fixture::half_poured();
        fixture::pour(&mut session, "346.6");
        let record = Record { session: &session, net: None, saved: &[] };
        let drawn = rows(&record, 80, 4);
        assert!(drawn[0].contains("2 above, 1 below"), "{drawn:?}");
        assert!(drawn[2].starts_with(" ▸ B15"), "{drawn:?}");
    }
}
