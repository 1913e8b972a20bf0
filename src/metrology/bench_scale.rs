//! A bench scale as its plate and the shop describe it, and what it is allowed.

use super::{AccuracyClass, Rules};
use crate::units::{Decimal, Division, Grams};
use thiserror::Error;

/// One bench scale.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BenchScale {
    /// What the shop calls it; the book finds its checks by this.
    pub name: String,
    /// The most it weighs, Max.
    pub max: Grams,
    /// The division d: the smallest step it shows.
    pub d: Division,
    /// The verification interval e. Limits are counted in it; d where the plate names none.
    pub e: Division,
    /// Its accuracy class, if the plate has one.
    pub class: Option<AccuracyClass>,
    /// Whose limits hold.
    pub rules: Rules,
    /// The shop's own limit, ±, at any load; more than nothing. The tighter of this and the class's holds.
    pub own_limit: Option<Grams>,
}

/// What does not fit together on a plate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum Misfit {
    /// The rules do not have that class.
    #[error("{} has no class {class}", rules.source())]
    NoSuchClass {
        /// The class.
        class: AccuracyClass,
        /// The rules.
        rules: Rules,
    },
    /// No scale of the class has that e.
    #[error("no scale of class {class} has a verification interval e of {e} g ({}, table 3)", rules.source())]
    Interval {
        /// The class.
        class: AccuracyClass,
        /// The interval.
        e: Division,
        /// The rules.
        rules: Rules,
    },
    /// Too few or too many intervals.
    #[error(
        "{max} g in steps of {e} g are {n} intervals: class {class} has {} ({}, table 3)",
        counted(*n_min, *n_max), rules.source()
    )]
    Count {
        /// The class.
        class: AccuracyClass,
        /// Max.
        max: Grams,
        /// The interval.
        e: Division,
        /// Max / e.
        n: Decimal,
        /// The fewest.
        n_min: u32,
        /// The most.
        n_max: Option<u32>,
        /// The rules.
        rules: Rules,
    },
    /// The interval is finer than the division, or more than ten of it.
    #[error(
        "e is {e} g and d is {d} g: e is d, or where there is an extra digit more than d and at most 10 d"
    )]
    Digit {
        /// The interval.
        e: Division,
        /// The division.
        d: Division,
    },
}

fn counted(n_min: u32, n_max: Option<u32>) -> String {
    match n_max {
        Some(most) => format!("from {n_min} to {most}"),
        None => format!("{n_min} or more"),
    }
}

impl BenchScale {
    /// How far a reading may be off at that load, ±: what its class allows in service, or the shop's own limit
    /// where that is tighter. None if neither says anything about that load.
    pub fn limit_at(&self, load: Grams) -> Option<Grams> {
        let by_class = self.class.and_then(|class| class.in_service(self.rules, self.e, load));
        match (by_class, self.own_limit) {
            (Some(class), Some(own)) => Some(class.min(own)),
            (class, own) => class.or(own),
        }
    }

    /// Whether the limit at that load is the shop's own and not its class's.
    pub fn is_own_limit_at(&self, load: Grams) -> bool {
        let by_class = self.class.and_then(|class| class.in_service(self.rules, self.e, load));
        self.own_limit.is_some_and(|own| by_class.is_none_or(|class| own < class))
    }

    /// How far the empty pan may be from zero, ±: half a division, so that a zero is shown.
    ///
    /// NIST Handbook 44 S.1.1.1: a digital zero stands within ½ d (from memory). OIML R 76-1:2006 4.5.2 has ¼ e,
    /// with an auxiliary digit ½ d (from memory); a quarter cannot be seen on a display of whole divisions.
    pub fn zero_limit(&self) -> Grams {
        self.d.grams().times(Decimal::new(5, 1))
    }

    /// The least load Min that its class has; none without a class.
    ///
    /// Counted in e; with an auxiliary digit in d (OIML R 76-1:2006, from memory).
    pub fn smallest_load(&self) -> Option<Grams> {
        let row = self.class?.row(self.rules, self.e)?;
        let step = if self.d.grams() < self.e.grams() { self.d } else { self.e };
        Some(step.grams().times(Decimal::from(row.min)))
    }

    /// What does not fit together on its plate; none if all does.
    pub fn misfit(&self) -> Option<Misfit> {
        let (d, e, rules) = (self.d, self.e, self.rules);
        if e.grams() < d.grams() || e.grams() > d.grams().times(Decimal::TEN) {
            return Some(Misfit::Digit { e, d });
        }
        let class = self.class?;
        if class.rows(rules).is_empty() {
            return Some(Misfit::NoSuchClass { class, rules });
        }
        let Some(row) = class.row(rules, e) else { return Some(Misfit::Interval { class, e, rules }) };
        let n = self.max.ratio_to(e.grams())?.normalize();
        let (n_min, n_max) = (row.n_min, row.n_max);
        let fits = n >= Decimal::from(n_min) && n_max.is_none_or(|most| n <= Decimal::from(most));
        (!fits).then_some(Misfit::Count { class, max: self.max, e, n, n_min, n_max, rules })
    }
}
