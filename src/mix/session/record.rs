//! The record on the bench: a row a toner, in pour order.

use super::{Phase, Session};
use crate::units::Grams;

/// Where a toner stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowState {
    /// Not yet begun.
    Waiting,
    /// Being poured.
    Current,
    /// Some of it is in, and more is to come.
    Part,
    /// Within its tolerance; off by so much.
    Right(Grams),
    /// Above its tolerance by the plan as it stands; by so much above its exact amount.
    Over(Grams),
    /// Knowingly left off; by so much.
    Left(Grams),
}

/// One toner of the record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Row {
    /// Its place in the recipe.
    pub line: usize,
    /// What it is to come to by the plan as it stands.
    pub target: Grams,
    /// What the cup holds of it.
    pub in_cup: Grams,
    /// Where it stands.
    pub state: RowState,
}

impl Session {
    /// The record, in pour order.
    pub fn record(&self) -> Vec<Row> {
        let current = match self.phase() {
            Phase::Weighing => self.current(),
            _ => None,
        };
        let row = |&line: &usize| {
            let item = self.cup.items.get(line)?;
            let exact = self.total * item.share;
            let off = item.poured - exact;
            let plain = off.abs() <= (exact * item.tolerance).max(self.cup.floor);
            let state = if self.phase() == Phase::Over(line) {
                RowState::Over(off)
            } else if current == Some(line) {
                RowState::Current
            } else if item.poured.is_zero() {
                RowState::Waiting
            } else if !self.cup.has_least(item, self.total) {
                RowState::Part
            } else if plain {
                // Against what was asked for, which is what stands beside it.
                RowState::Right(item.poured - self.target(line))
            } else {
                RowState::Left(off)
            };
            Some(Row { line, target: self.target(line), in_cup: item.poured, state })
        };
        self.order.iter().filter_map(row).collect()
    }
}
