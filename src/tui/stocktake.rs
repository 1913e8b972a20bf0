//! A stocktake by weighing: the tins to count, the marked one of them on the scale, and what it would be booked as.

use super::scale_watch::ScaleWatch;
use crate::scale::Mode;
use crate::stock::{Count, StockEvent, StockRefusal, Tin, count};
use crate::units::{Decimal, Grams};

/// A tin of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct ToCount {
    /// The tin as it was when it was last looked at.
    pub(super) tin: Tin,
    /// What it weighs empty, as typed in this stocktake.
    pub(super) empty: Option<Grams>,
    /// What was found in it in this stocktake, and what the book said then.
    pub(super) done: Option<Count>,
}

impl ToCount {
    pub(super) fn of(tin: Tin) -> Self {
        Self { tin, empty: None, done: None }
    }

    /// What it weighs empty, as far as is known.
    pub(super) fn empty(&self) -> Option<Grams> {
        self.empty.or(self.tin.empty)
    }
}

/// The stocktake on the screen.
#[derive(Debug, Default)]
pub(super) struct Stocktake {
    /// The tins, by toner and label.
    pub(super) rows: Vec<ToCount>,
    /// Which of them is marked.
    pub(super) selected: usize,
    /// What was taken and waits for a word on why it differs.
    pub(super) taken: Option<StockEvent>,
    /// What the scale showed when the last tin was taken, until that tin is off it.
    pan: Option<Grams>,
}

/// Why a tin cannot be taken as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NotTaken {
    /// No tin is marked.
    NoTin,
    /// There is no scale: its content is typed.
    NoScale,
    /// There is no weight, in a sentence.
    NoWeight(String),
    /// The stock refuses it.
    Refused(StockRefusal),
}

impl Stocktake {
    /// A stocktake of the tins that are on the shelf, that one marked.
    pub(super) fn of(tins: &[Tin], label: Option<&str>) -> Self {
        let on_shelf = tins.iter().filter(|tin| !tin.is_gone());
        let mut rows: Vec<ToCount> = on_shelf.cloned().map(ToCount::of).collect();
        rows.sort_by(|one, other| {
            (&one.tin.toner, &one.tin.label).cmp(&(&other.tin.toner, &other.tin.label))
        });
        let mut new = Self { rows, ..Self::default() };
        if let Some(label) = label {
            new.mark(label);
        }
        new
    }

    /// The marked tin.
    pub(super) fn marked(&self) -> Option<&ToCount> {
        self.rows.get(self.selected)
    }

    pub(super) fn marked_mut(&mut self) -> Option<&mut ToCount> {
        self.rows.get_mut(self.selected)
    }

    /// Marks the tin with that label; false if it is not in the list.
    pub(super) fn mark(&mut self, label: &str) -> bool {
        let at = self.rows.iter().position(|row| row.tin.label.eq_ignore_ascii_case(label));
        self.selected = at.unwrap_or(self.selected);
        at.is_some()
    }

    /// A tin that the book never heard of, or thought gone, is counted all the same.
    pub(super) fn add(&mut self, tin: Tin) {
        self.rows.push(ToCount::of(tin));
        self.selected = self.rows.len().saturating_sub(1);
    }

    /// The tins as the book has them now.
    pub(super) fn know(&mut self, tins: &[Tin]) {
        for row in &mut self.rows {
            if let Some(tin) = tins.iter().find(|tin| tin.label == row.tin.label) {
                row.tin.clone_from(tin);
            }
        }
    }

    /// What is in the marked tin by the scale as it shows now, moving or not: for the eye.
    pub(super) fn live(&self, scale: &ScaleWatch) -> Option<Grams> {
        if self.is_still_on() || scale.mode() == Some(Mode::Net) {
            return None;
        }
        Some(scale.live()? - self.marked()?.empty()?)
    }

    /// Whether the tin that was taken last still stands on the scale.
    pub(super) fn is_still_on(&self) -> bool {
        self.pan.is_some()
    }

    /// The scale said something: once half of what was taken is off it, so is the tin; while it says nothing nobody knows.
    pub(super) fn look(&mut self, scale: &ScaleWatch) {
        if !scale.is_live() {
            self.pan = None;
        }
        let half = self.pan.map(|pan| pan.times(Decimal::new(5, 1)));
        if let (Some(half), Some(live)) = (half, scale.live())
            && live < half
        {
            self.pan = None;
        }
    }

    /// What the marked tin would be booked as, by the weight on the scale; so much of its toner was poured without a tin's name
    /// and is not found yet.
    pub(super) fn weigh(&self, scale: &ScaleWatch, unnamed: Grams) -> Result<(StockEvent, Grams), NotTaken> {
        let row = self.marked().ok_or(NotTaken::NoTin)?;
        if !scale.is_present() {
            return Err(NotTaken::NoScale);
        }
        let no_weight = |why: &str| NotTaken::NoWeight(why.to_owned());
        let weight = scale.weight().ok_or_else(|| {
            NotTaken::NoWeight(scale.doubt().unwrap_or_else(|| "wait for it to stand still".to_owned()))
        })?;
        if weight.mode() == Mode::Net {
            return Err(no_weight(
                "the scale shows net, and a tin is weighed with all it weighs: clear its tare",
            ));
        }
        if self.is_still_on() {
            return Err(no_weight("the tin before is still on the scale: take it off, then put this one on"));
        }
        if !weight.grams().is_positive() {
            return Err(no_weight("nothing stands on the scale: put the tin on it"));
        }
        let gross = weight.grams();
        let event = count(&row.tin, Some(gross), row.empty, Grams::ZERO, None, unnamed);
        Ok((event.map_err(NotTaken::Refused)?, gross))
    }

    /// The same, its content judged by hand.
    pub(super) fn judge(&self, found: Grams, unnamed: Grams) -> Result<StockEvent, NotTaken> {
        let row = self.marked().ok_or(NotTaken::NoTin)?;
        count(&row.tin, None, None, found, None, unnamed).map_err(NotTaken::Refused)
    }

    /// The weight was taken: the tin is to go off the scale before the next is taken.
    pub(super) fn has_taken(&mut self, gross: Grams) {
        self.pan = Some(gross);
    }

    /// It may stand there and be taken again: what was taken is not booked.
    pub(super) fn is_off(&mut self) {
        self.pan = None;
    }

    /// The count was told: on with the next tin that was not counted yet.
    pub(super) fn is_told(&mut self, count: &Count) {
        let own = |row: &&mut ToCount| row.tin.label == count.tin.label && row.tin.toner == count.tin.toner;
        if let Some(row) = self.rows.iter_mut().find(own) {
            row.done = Some(count.clone());
        }
        let after = self.rows.iter().enumerate().skip(self.selected.saturating_add(1));
        let before = self.rows.iter().enumerate().take(self.selected);
        let next = after.chain(before).find(|(_, row)| row.done.is_none()).map(|(at, _)| at);
        self.selected = next.unwrap_or(self.selected);
    }
}
