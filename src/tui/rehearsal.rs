//! The demo that weighs by itself: a painter who does what the screen says, with an unsteady hand.

use super::app::{App, Screen};
use super::keys::Action;
use super::message::Effect;
use crate::catalogue::Role;
use crate::mix::Phase;
use crate::scale::{Chance, Hand};
use crate::units::{Grams, Moment};

/// What the painter of the rehearsal has done already.
#[derive(Clone, Debug)]
pub(super) struct Rehearsal {
    chance: Chance,
    /// The place in the mix's journal for which the hand has already moved.
    moved_for: Option<u32>,
    /// Since when nothing has changed, for a pace that can be watched.
    paused_since: Option<Moment>,
}

/// How long the painter looks at something new before going on, in milliseconds.
const LOOK_MS: u64 = 1_500;

/// What the painter does next.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Does {
    /// Presses a key.
    Press(Action),
    /// Moves the hand.
    Move(Hand),
    /// Picks that layer of the colour at that place.
    Pick(usize, Role),
}

impl Rehearsal {
    /// A painter of that seed.
    pub(super) const fn new(seed: u64) -> Self {
        Self { chance: Chance::new(seed), moved_for: None, paused_since: None }
    }

    /// Whether the painter has looked for long enough; begins to look if not yet.
    fn has_looked(&mut self, now: Moment) -> bool {
        let since = *self.paused_since.get_or_insert(now);
        let enough = now.since(since) >= LOOK_MS;
        if enough {
            self.paused_since = None;
        }
        enough
    }
}

impl App {
    /// Lets the painter of the rehearsal do the next thing.
    pub(super) fn rehearse(&mut self) {
        if let Some(does) = self.next_of_rehearsal() {
            match does {
                Does::Press(action) => self.act(action),
                Does::Move(hand) => self.effects.push(Effect::Hand(hand)),
                Does::Pick(colour, role) => self.pick(colour, role),
            }
        }
    }

    fn next_of_rehearsal(&mut self) -> Option<Does> {
        let now = self.now.moment;
        if self.scale_page.is_some() {
            // Somebody looks at the scale: it goes on when they have seen enough.
            return None;
        }
        match &self.screen {
            Screen::Formula(_)
            | Screen::Import(_)
            | Screen::Cups { .. }
            | Screen::Shelf(_)
            | Screen::Waste(_)
            | Screen::Stocktake(_)
            | Screen::Delivery(_)
            | Screen::Leftovers(_)
            | Screen::Jobs(_)
            | Screen::Job(_)
            | Screen::Emptying(_) => None,
            Screen::Unfinished { .. } => {
                self.rehearsal.has_looked(now).then_some(Does::Press(Action::Colours))
            }
            Screen::Colours(_) => {
                if !self.rehearsal.has_looked(now) {
                    return None;
                }
                let colours = self.known.listing.len();
                let pick = |chance: &mut Chance, of: usize| {
                    usize::try_from(chance.next() >> 33).unwrap_or(0).checked_rem(of).unwrap_or(0)
                };
                let place = pick(&mut self.rehearsal.chance, colours);
                let colour = self.known.listing.iter().position(|entry| entry.place == place)?;
                let layers = self.known.entry(colour)?.layers;
                let layer = pick(&mut self.rehearsal.chance, layers.len());
                self.rehearsal.moved_for = None;
                Some(Does::Pick(colour, layers.get(layer)?.0))
            }
            Screen::Amount(amount) => {
                let ready = !amount.awaiting_cup;
                (ready && self.rehearsal.has_looked(now)).then_some(Does::Press(Action::Accept))
            }
            Screen::Bench(bench) => {
                let (phase, next) = (bench.session().phase(), bench.next());
                let tare = bench.session().tare();
                let goal = bench.session().shown_stop();
                let draw = bench.session().draw_to().map(|down_to| bench.session().holds() - down_to);
                let moved = self.rehearsal.moved_for == Some(next);
                match phase {
                    Phase::Weighing if !moved && self.scale.weight().is_some() => {
                        self.rehearsal.moved_for = Some(next);
                        Some(Does::Move(Hand::PourTo(goal? + tare)))
                    }
                    Phase::Drawing if !moved => {
                        self.rehearsal.moved_for = Some(next);
                        Some(Does::Move(Hand::DrawOff(draw.unwrap_or(Grams::ZERO))))
                    }
                    Phase::Over(_) | Phase::Fouled => {
                        self.rehearsal.has_looked(now).then_some(Does::Press(Action::Accept))
                    }
                    Phase::Complete | Phase::Finished | Phase::Abandoned => {
                        self.rehearsal.has_looked(now).then_some(Does::Press(Action::Finish))
                    }
                    _ => None,
                }
            }
        }
    }
}
