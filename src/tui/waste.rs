//! The owner's waste on the screen: over which time, told apart by what, in which order, what is typed to find a row, and
//! the row whose mixes are looked at, which are read only then and so many at a time.

use super::waste_opened::{Of, OpenedRow, PAGE, WantedMixes};
use super::went_over::OversPage;
use crate::book::Mark;
use crate::report::overs::{Corrections, Over};
use crate::report::waste::{By, Overview, Row};
use crate::report::{Bucket, Period};
use crate::tui::screens::Bars;
use crate::units::Stamp;
use tui_input::Input;

/// Over which time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Span {
    /// 30 days, today the last.
    Days30,
    /// 90 days.
    #[default]
    Days90,
    /// A year.
    Year,
    /// From the first mix on.
    All,
}

impl Span {
    /// In words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Days30 => "the last 30 days",
            Self::Days90 => "the last 90 days",
            Self::Year => "the last year",
            Self::All => "all mixes",
        }
    }

    /// What the time is told apart by.
    pub(super) const fn bucket(self) -> Bucket {
        match self {
            Self::All => Bucket::Month,
            Self::Days30 | Self::Days90 | Self::Year => Bucket::Week,
        }
    }

    /// The next one.
    const fn next(self) -> Self {
        match self {
            Self::Days30 => Self::Days90,
            Self::Days90 => Self::Year,
            Self::Year => Self::All,
            Self::All => Self::Days30,
        }
    }

    /// Its days; none where the clock shows no day of this calendar.
    pub(super) fn period(self, now: Stamp, seconds_east: i32) -> Option<Period> {
        let last = match self {
            Self::Days30 => "30d",
            Self::Days90 => "90d",
            Self::Year => "1y",
            // Nobody has a book so old.
            Self::All => "99y",
        };
        let zone = jiff::tz::Offset::from_seconds(seconds_east).ok()?.to_time_zone();
        Period::new(None, None, last.parse().ok(), now, zone).ok()
    }
}

/// What the rows are told apart by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Apart {
    /// Weeks; months, where it is of all mixes.
    #[default]
    Time,
    Layer,
    Reason,
    Painter,
    Colour,
}

impl Apart {
    const ALL: [Self; 5] = [Self::Time, Self::Layer, Self::Reason, Self::Painter, Self::Colour];

    /// Over that time.
    pub(super) const fn by(self, span: Span) -> By {
        match self {
            Self::Time => By::Time(span.bucket()),
            Self::Layer => By::Layer,
            Self::Reason => By::Reason,
            Self::Painter => By::Painter,
            Self::Colour => By::Colour,
        }
    }

    /// The one so many steps on.
    fn turned(self, steps: usize) -> Self {
        let at = Self::ALL.iter().position(|one| *one == self).unwrap_or(0);
        Self::ALL.into_iter().cycle().nth(at.saturating_add(steps)).unwrap_or_default()
    }

    /// What is asked first of it.
    const fn usual_sort(self) -> Sort {
        match self {
            Self::Time | Self::Reason => Sort::Own,
            Self::Layer | Self::Painter | Self::Colour => Sort::Wasted,
        }
    }
}

/// By what the rows are sorted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Sort {
    /// As they come: the latest time, what became of the paint, names.
    #[default]
    Own,
    /// What was wasted, the most first.
    Wasted,
    /// The share of that.
    Share,
    /// What that cost.
    Cost,
    /// What was mixed.
    Mixed,
}

impl Sort {
    /// In words.
    pub(super) const fn words(self, apart: Apart) -> &'static str {
        match (self, apart) {
            (Self::Own, Apart::Time) => "the latest first",
            (Self::Own, Apart::Reason) => "as it ends",
            (Self::Own, _) => "by name",
            (Self::Wasted, _) => "most wasted first",
            (Self::Share, _) => "largest share first",
            (Self::Cost, _) => "dearest waste first",
            (Self::Mixed, _) => "most mixed first",
        }
    }

    /// What the bars are of then.
    pub(super) const fn bars(self) -> Bars {
        match self {
            Self::Own | Self::Mixed => Bars::Parts,
            Self::Wasted => Bars::Wasted,
            Self::Share => Bars::Shares,
            Self::Cost => Bars::Cost,
        }
    }

    /// The next one that makes sense: of what became of the paint a row is wasted wholly or not at all.
    const fn next(self, apart: Apart) -> Self {
        match (self, apart) {
            (Self::Own, _) => Self::Wasted,
            (Self::Wasted, Apart::Reason) | (Self::Share, _) => Self::Cost,
            (Self::Wasted, _) => Self::Share,
            (Self::Cost, _) => Self::Mixed,
            (Self::Mixed, _) => Self::Own,
        }
    }
}

/// What was read of a time.
#[derive(Debug)]
pub(super) struct WasteOf {
    pub(super) span: Span,
    pub(super) period: Period,
    /// The figures, or why they could not be read.
    pub(super) read: Result<Overview, String>,
}

/// What is known of the waste, so that it is there at once the next time.
#[derive(Debug, Default)]
pub(super) struct KnownWaste {
    /// What was read, each time once.
    pub(super) read: Vec<WasteOf>,
    /// What is being read.
    pub(super) reading: Vec<Span>,
    /// The time that was looked at last.
    pub(super) last: Span,
}

impl KnownWaste {
    /// What was read of that time.
    pub(super) fn of(&self, span: Span) -> Option<&WasteOf> {
        self.read.iter().find(|one| one.span == span)
    }

    /// The figures of that time.
    pub(super) fn figures(&self, span: Span) -> Option<(&Period, &Overview)> {
        let of = self.of(span)?;
        Some((&of.period, of.read.as_ref().ok()?))
    }

    pub(super) fn is_reading(&self, span: Span) -> bool {
        self.reading.contains(&span)
    }
}

/// The waste on the screen.
#[derive(Debug, Default)]
pub(super) struct WastePage {
    /// What was typed.
    pub(super) query: Input,
    pub(super) span: Span,
    pub(super) apart: Apart,
    pub(super) sort: Sort,
    /// All rows, in their own order.
    pub(super) rows: Vec<Row>,
    /// Which of those that are shown is marked.
    pub(super) selected: usize,
    /// The toners that were poured, and what was done where one went over.
    pub(super) overs: Vec<Over>,
    pub(super) corrections: Corrections,
    /// The page of those, while it is open.
    pub(super) overs_page: Option<OversPage>,
    /// The row whose mixes are looked at.
    pub(super) opened: Option<OpenedRow>,
}

impl WastePage {
    pub(super) const fn by(&self) -> By {
        self.apart.by(self.span)
    }

    /// The rows that have all words that were typed, sorted.
    pub(super) fn shown(&self) -> Vec<&Row> {
        let typed = self.query.value().to_lowercase();
        let has = |row: &&Row| typed.split_whitespace().all(|word| row.key.to_lowercase().contains(word));
        let mut rows: Vec<&Row> = self.rows.iter().filter(has).collect();
        match self.sort {
            Sort::Own if self.apart == Apart::Time => rows.reverse(),
            Sort::Own => {}
            Sort::Wasted => rows.sort_by_key(|row| std::cmp::Reverse(row.wasted().mass)),
            Sort::Share => rows.sort_by_key(|row| std::cmp::Reverse(row.wasted_share())),
            Sort::Cost => rows.sort_by_key(|row| std::cmp::Reverse(row.wasted().cost)),
            Sort::Mixed => rows.sort_by_key(|row| std::cmp::Reverse(row.mixed.mass)),
        }
        rows
    }

    /// The row that is marked.
    pub(super) fn marked(&self) -> Option<&Row> {
        self.shown().into_iter().nth(self.selected)
    }

    /// The next way to sort; the mark goes to the top.
    pub(super) fn sort_on(&mut self) {
        self.sort = self.sort.next(self.apart);
        self.selected = 0;
    }

    /// Told apart by the next, or the one before. What was typed was for the rows that were there.
    pub(super) fn turn(&mut self, forward: bool) {
        self.apart = self.apart.turned(if forward { 1 } else { Apart::ALL.len().saturating_sub(1) });
        self.sort = self.apart.usual_sort();
        self.query = Input::default();
        self.selected = 0;
    }

    /// The next time.
    pub(super) fn span_on(&mut self) {
        self.span = self.span.next();
        self.selected = 0;
        if let Some(page) = &mut self.overs_page {
            page.selected = 0;
        }
    }

    /// Tells the figures apart anew. The mark stays with its row, and the row that is opened is opened: its mixes are to be
    /// read anew then.
    pub(super) fn take_in(&mut self, figures: Option<(&Period, &Overview)>) -> Option<WantedMixes> {
        let (marked, over) = (self.marked().map(|row| row.key.clone()), self.marked_over());
        let by = self.by();
        self.rows = figures.map(|(_, told)| told.rows_by(by).to_vec()).unwrap_or_default();
        self.overs = figures.map(|(_, told)| told.waste.overs.clone()).unwrap_or_default();
        self.corrections = figures.map(|(_, told)| told.waste.corrections.clone()).unwrap_or_default();
        if let Some(marked) = marked {
            self.selected = self.shown().iter().position(|row| row.key == marked).unwrap_or(0);
        }
        let at = over.and_then(|over| self.shown_overs().iter().position(|own| *own == over));
        if let Some(page) = &mut self.overs_page {
            page.selected = at.unwrap_or(0);
        }
        let (opened, (period, told)) = (self.opened.as_mut()?, figures?);
        // As many as were read before, so that the mark stays where it is.
        let most = u32::try_from(opened.mixes.len()).unwrap_or(u32::MAX).max(PAGE);
        let (span, period) = (self.span, period.clone());
        opened.wanted =
            opened.of.which(by, told).map(|of| WantedMixes { span, period, of, before: None, most });
        if opened.wanted.is_none() {
            opened.mixes.clear();
        }
        opened.wanted.clone()
    }

    /// Opens the marked row, if there is a mix in it, or the marked toner that went over; its mixes are to be read then.
    pub(super) fn open(&mut self, figures: Option<(&Period, &Overview)>) -> Option<WantedMixes> {
        let (period, told) = figures?;
        let of = match &self.overs_page {
            Some(_) => Of::Marked(self.marked_over()?),
            None => Of::Row(self.marked().filter(|row| row.mixes > 0)?.key.clone()),
        };
        let (span, period, which) = (self.span, period.clone(), of.which(self.by(), told)?);
        let wanted = WantedMixes { span, period, of: which, before: None, most: PAGE };
        self.opened = Some(OpenedRow::new(of, wanted.clone()));
        Some(wanted)
    }

    /// The rows of the page of what went over, if that is open.
    pub(super) fn shown_overs(&self) -> Vec<Mark> {
        let page = self.overs_page.as_ref();
        page.map(|page| page.rows(&self.overs, &self.corrections)).unwrap_or_default()
    }

    /// The marked one of them.
    pub(super) fn marked_over(&self) -> Option<Mark> {
        self.shown_overs().into_iter().nth(self.overs_page.as_ref()?.selected)
    }

    /// Whether any pour went over or something was done about one.
    pub(super) fn has_overs(&self) -> bool {
        let done = &self.corrections;
        done.count > 0 || done.given_up > 0 || self.overs.iter().any(|over| over.over > 0)
    }

    /// The mixes to be read next, where those that are read are too few and there are more.
    pub(super) fn next_mixes(&mut self, figures: Option<(&Period, &Overview)>) -> Option<WantedMixes> {
        let by = self.by();
        let (opened, (period, told)) = (self.opened.as_mut()?, figures?);
        let most = opened.lacks()?;
        let last = opened.mixes.last()?;
        let before = Some((last.begun, last.number));
        let of = opened.of.which(by, told)?;
        let wanted = WantedMixes { span: self.span, period: period.clone(), of, before, most };
        opened.wanted = Some(wanted.clone());
        Some(wanted)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_times_end_today_and_follow_one_another() {
        // 2026-11-26, 23:30 in UTC: an hour further east it is the 27th.
        let now = Stamp(1_795_735_800_000_000);
        let days = |span: Span, east| {
            let period = span.period(now, east).unwrap();
            (period.first().to_string(), period.last().to_string())
        };
        assert_eq!(days(Span::Days30, 0), ("2026-10-28".into(), "2026-11-26".into()));
        assert_eq!(days(Span::Days90, 3_600), ("2026-08-30".into(), "2026-11-27".into()));
        assert_eq!(days(Span::Year, 0), ("2025-11-27".into(), "2026-11-26".into()));
        assert_eq!(days(Span::All, 0), ("1927-11-27".into(), "2026-11-26".into()));
        assert_eq!(Span::Days90.period(Stamp(i64::MAX), 0), None);
        let mut seen = vec![Span::Days30];
        while seen.len() < 5 {
            seen.extend(seen.last().map(|span| span.next()));
        }
        assert_eq!(seen, [Span::Days30, Span::Days90, Span::Year, Span::All, Span::Days30]);
    }
}
