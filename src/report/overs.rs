//! The toners that go over, and what putting them right has saved.

use super::reading::{Chosen, MixRead, Wasted};
use crate::catalogue::TonerCode;
use crate::mix::Way;
use crate::units::{Decimal, Grams, Money};
use std::collections::BTreeMap;

/// A toner, and how often it went over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Over {
    /// Its code.
    pub toner: TonerCode,
    /// Its name, as the formula had it last.
    pub name: String,
    /// How often it was poured where the formula asked for it.
    pub pours: u32,
    /// How often that was more than is right.
    pub over: u32,
    /// By how much above what was asked for, all of those together.
    pub by: Grams,
    /// The worst of them.
    pub worst: Grams,
}

impl Over {
    /// By how much on the average of those that went over; nothing if none did.
    pub fn mean(&self) -> Grams {
        let share = Decimal::ONE.checked_div(Decimal::from(self.over)).unwrap_or_default();
        self.by.times(share)
    }
}

/// A way out, and how often it was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Taken {
    /// Which.
    pub way: Way,
    /// How often.
    pub count: u32,
    /// The paint that it promised to waste.
    pub waste: Grams,
    /// What that cost, as far as the prices were known.
    pub cost: Money,
}

/// What was chosen held against another way, where that was open too.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Against {
    /// How often it was open.
    pub count: u32,
    /// What the other way would have wasted.
    pub waste: Grams,
    /// How much less was wasted by what was chosen; below nothing if it was more.
    pub saved: Grams,
    /// What that is worth, by the prices the mixes were begun with.
    pub saved_cost: Money,
    /// How often what it is worth is not known.
    pub unpriced: u32,
}

impl Against {
    fn take(&mut self, chosen: Wasted, other: Option<Wasted>) {
        let Some(other) = other else { return };
        self.count = self.count.saturating_add(1);
        self.waste += other.mass;
        self.saved += other.mass - chosen.mass;
        match (chosen.cost, other.cost) {
            (Some(own), Some(other)) => self.saved_cost += other - own,
            _ => self.unpriced = self.unpriced.saturating_add(1),
        }
    }
}

/// What was done when a pour went over. Masses and costs are what the ways out promised when one was chosen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Corrections {
    /// How often a way out was chosen.
    pub count: u32,
    /// Which ways.
    pub taken: Vec<Taken>,
    /// Held against making the least more that comes right.
    pub growing: Against,
    /// Held against starting again.
    pub restarting: Against,
    /// How often a mix was given up instead.
    pub given_up: u32,
    /// What was in those cups.
    pub given_up_mass: Grams,
}

/// The same while it is being added up.
#[derive(Debug, Default)]
pub(super) struct Overs {
    toners: BTreeMap<TonerCode, Over>,
    taken: BTreeMap<&'static str, Taken>,
    corrections: Corrections,
}

impl Overs {
    /// Takes a mix in.
    pub(super) fn take(&mut self, read: &MixRead) {
        for pour in &read.pours {
            let over = self.toners.entry(pour.toner.clone()).or_insert_with(|| Over {
                toner: pour.toner.clone(),
                name: String::new(),
                pours: 0,
                over: 0,
                by: Grams::ZERO,
                worst: Grams::ZERO,
            });
            over.name.clone_from(&pour.name);
            over.pours = over.pours.saturating_add(1);
            if let Some(by) = pour.over {
                over.over = over.over.saturating_add(1);
                over.by += by;
                over.worst = over.worst.max(by);
            }
        }
        for chosen in &read.chosen {
            self.choose(chosen);
        }
        if let Some(mass) = read.given_up_over {
            self.corrections.given_up = self.corrections.given_up.saturating_add(1);
            self.corrections.given_up_mass += mass;
        }
    }

    fn choose(&mut self, chosen: &Chosen) {
        let all = &mut self.corrections;
        all.count = all.count.saturating_add(1);
        all.growing.take(chosen.wasted, chosen.grown);
        all.restarting.take(chosen.wasted, chosen.restarted);
        let taken = self.taken.entry(chosen.way.name()).or_insert(Taken {
            way: chosen.way,
            count: 0,
            waste: Grams::ZERO,
            cost: Money::ZERO,
        });
        taken.count = taken.count.saturating_add(1);
        taken.waste += chosen.wasted.mass;
        taken.cost += chosen.wasted.cost.unwrap_or_default();
    }

    /// The toners, those that went over most often first, and what was done about it.
    pub(super) fn told(self) -> (Vec<Over>, Corrections) {
        let mut toners: Vec<Over> = self.toners.into_values().collect();
        toners.sort_by_key(|over| std::cmp::Reverse((over.over, over.by)));
        let mut taken: Vec<Taken> = self.taken.into_values().collect();
        taken.sort_by_key(|taken| std::cmp::Reverse(taken.count));
        (toners, Corrections { taken, ..self.corrections })
    }
}
