//! Taking an event in: the only way a mix changes.

use super::{Phase, Refusal, Session, State, is_order};
use crate::catalogue::TonerCode;
use crate::mix::{Drawn, Event, Pour, Steer, Way};
use crate::units::{Decimal, Grams};

impl Session {
    /// Takes an event in. Nothing changes if it is refused.
    pub fn apply(&mut self, event: &Event) -> Result<(), Refusal> {
        self.refuse(event)?;
        match event {
            Event::Started(_) => return Err(Refusal::NotBegun),
            Event::Poured(pour) => self.pour(pour)?,
            Event::DrawnOff(drawn) => self.draw(drawn)?,
            Event::Steered(steer) => self.steer_by(steer)?,
            Event::Turned { toner } => {
                self.turned = Some(self.place(toner)?);
            }
            Event::Reordered { order } => {
                if !is_order(order, self.cup.items.len()) {
                    return Err(Refusal::BadOrder);
                }
                self.order.clone_from(order);
                self.turned = None;
            }
            Event::TinTaken { toner, tin, .. } => {
                let line = self.place(toner)?;
                if let Some(slot) = self.tins.get_mut(line) {
                    *slot = Some(tin.clone());
                }
            }
            Event::Rebooked(rebooked) => self.rebooked(rebooked)?,
            Event::SetAside => self.state = State::Aside,
            Event::TakenUp { tare } => {
                self.tare = *tare;
                self.state = State::Open;
            }
            Event::Abandoned { .. } => self.state = State::Abandoned,
            Event::Finished => self.state = State::Finished,
            Event::LeftoverDue { from } => self.leftover_due.clone_from(from),
            Event::LeftoverAdded(added) => self.add_leftover(added)?,
            Event::Emptied(emptied) => self.empty_by(emptied)?,
        }
        Ok(())
    }

    /// Whether the event can come now, by where the mix stands.
    fn refuse(&self, event: &Event) -> Result<(), Refusal> {
        match (self.state, event) {
            // What it was can still be said when it is done.
            (State::Finished | State::Emptied, Event::Rebooked(_))
            | (State::Finished, Event::Emptied(_))
            | (State::Aside, Event::TakenUp { .. } | Event::Abandoned { .. }) => Ok(()),
            (State::Abandoned | State::Finished | State::Emptied, _) => Err(Refusal::Ended),
            (State::Aside, _) => Err(Refusal::IsAside),
            (_, Event::Emptied(_)) => Err(Refusal::NotDone),
            (_, Event::Finished) if self.phase() != Phase::Complete => Err(Refusal::NotComplete),
            (_, Event::Abandoned { reason }) if reason.trim().is_empty() => Err(Refusal::NoReason),
            (_, Event::LeftoverDue { from: Some(_) }) if !self.holds().is_zero() => Err(Refusal::NotEmpty),
            (_, Event::TinTaken { tin, .. }) if tin.trim().is_empty() => Err(Refusal::NoTin),
            _ => Ok(()),
        }
    }

    fn place(&self, toner: &TonerCode) -> Result<usize, Refusal> {
        self.recipe().position(toner).ok_or_else(|| Refusal::NotInFormula(toner.clone()))
    }

    fn pour(&mut self, pour: &Pour) -> Result<(), Refusal> {
        if pour.before != self.holds() {
            return Err(Refusal::Gap);
        }
        let added = pour.after - pour.before;
        if !added.is_positive() {
            return Err(Refusal::NothingPoured);
        }
        let own = self.recipe().position(&pour.toner).is_some();
        self.leftover_due = None;
        self.shift(&pour.toner, added);
        if own {
            self.settle_total();
        } else {
            self.fouled = true;
        }
        self.book_pour(pour);
        self.turn_on();
        Ok(())
    }

    /// A toner turned to that has its least by now is turned to no more.
    pub(super) fn turn_on(&mut self) {
        if self.turned.is_some_and(|line| self.has_least(line)) {
            self.turned = None;
        }
    }

    fn draw(&mut self, drawn: &Drawn) -> Result<(), Refusal> {
        if drawn.before != self.holds() {
            return Err(Refusal::Gap);
        }
        let taken = drawn.before - drawn.after;
        if !taken.is_positive() {
            return Err(Refusal::NothingTaken);
        }
        if drawn.after.is_negative() {
            return Err(Refusal::TooMuchTaken);
        }
        let split = self.split(taken);
        self.take_from_pours(&split, None);
        let held = self.cup.items.iter_mut().map(|item| &mut item.poured);
        for (mass, (_, part)) in held.chain(self.foreign.iter_mut().map(|(_, mass)| mass)).zip(split) {
            *mass -= part;
        }
        if matches!(self.state, State::Drawing(_)) {
            self.state = State::Open;
        }
        self.settle_total();
        Ok(())
    }

    fn steer_by(&mut self, steer: &Steer) -> Result<(), Refusal> {
        if !matches!(self.phase(), Phase::Over(_) | Phase::Fouled) {
            return Err(Refusal::NothingOver);
        }
        let possible = steer.final_mass.is_positive()
            && steer.final_mass + steer.draw_off >= self.cup.poured()
            && steer.slack >= Decimal::ONE
            && steer.draw_off >= Grams::ZERO
            && steer.draw_off <= self.holds()
            && steer.way != Way::Restart;
        if !possible {
            return Err(Refusal::NotOpen);
        }
        self.fouled = false;
        self.steered = true;
        self.cup.slack = steer.slack;
        self.plan = steer.final_mass;
        self.total = steer.final_mass;
        self.turned = None;
        self.state = if steer.draw_off.is_positive() {
            State::Drawing(self.holds() - steer.draw_off)
        } else {
            State::Open
        };
        Ok(())
    }

    /// What the whole comes to after a pour that was right: the plan and what landed above it, as long as the
    /// mix is still right so; never an over, never asked about.
    pub(super) fn settle_total(&mut self) {
        if self.cup.over(self.total).is_some() {
            return;
        }
        if self.steered {
            self.total = self.cup.smallest_right(self.total);
            return;
        }
        let expected = (0..self.cup.items.len())
            .map(|line| {
                if self.has_least(line) {
                    self.poured(line)
                } else {
                    self.poured(line).max(self.target(line))
                }
            })
            .sum::<Grams>();
        self.total = self.cup.smallest_right(expected.to_book_up().max(self.plan));
    }
}
