//! The toners that go over, and what putting them right has saved.

pub use crate::book::mix_sums::Against;

use crate::book::MixTotals;
use crate::book::mix_sums::{ChoiceRow, Choices, ManyPours, choices_of};
use crate::book::reading::MixRead;
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
    toners: BTreeMap<TonerCode, ManyPours>,
    taken: BTreeMap<&'static str, (Option<Way>, Choices)>,
}

impl Overs {
    /// Takes a mix in.
    pub(super) fn take(&mut self, totals: &MixTotals, read: &MixRead) {
        for pours in &read.pours {
            self.take_pours(ManyPours::of_mix(totals.head.number, pours));
        }
        for (_, (way, choices)) in choices_of(read) {
            self.take_choices(&ChoiceRow { way, choices });
        }
    }

    /// Takes a toner's pours in, of several mixes.
    pub(super) fn take_pours(&mut self, pours: ManyPours) {
        match self.toners.get_mut(&pours.pours.toner) {
            Some(many) => many.add(&pours),
            None => {
                self.toners.insert(pours.pours.toner.clone(), pours);
            }
        }
    }

    /// Takes in what was chosen in several mixes.
    pub(super) fn take_choices(&mut self, row: &ChoiceRow) {
        let (way, choices) = self.taken.entry(row.way.map_or("", Way::name)).or_default();
        *way = row.way;
        choices.add(&row.choices);
    }

    /// The toners, those that went over most often first, and what was done about it.
    pub(super) fn told(self) -> (Vec<Over>, Corrections) {
        let over = |many: ManyPours| {
            let pours = many.pours;
            Over {
                toner: pours.toner,
                name: pours.name,
                pours: pours.pours,
                over: pours.over,
                by: pours.by,
                worst: pours.worst,
            }
        };
        let mut toners: Vec<Over> = self.toners.into_values().map(over).collect();
        toners.sort_by_key(|over| std::cmp::Reverse((over.over, over.by)));
        let (mut all, mut corrections) = (Choices::default(), Corrections::default());
        for (_, (way, choices)) in self.taken {
            let Some(way) = way else {
                (corrections.given_up, corrections.given_up_mass) = (choices.count, choices.waste);
                continue;
            };
            all.add(&choices);
            let Choices { count, waste, cost, .. } = choices;
            corrections.taken.push(Taken { way, count, waste, cost });
        }
        corrections.taken.sort_by_key(|taken| std::cmp::Reverse(taken.count));
        (corrections.count, corrections.growing, corrections.restarting) =
            (all.count, all.growing, all.restarting);
        (toners, corrections)
    }
}
