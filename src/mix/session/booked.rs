//! The pours as they are booked, and what to do about one that was booked to the wrong toner or tin: nothing is taken
//! back, a further event says what it was.

use super::{Refusal, Session, State};
use crate::catalogue::TonerCode;
use crate::mix::{Event, Pour, Rebooked, split};
use crate::units::{Decimal, Grams};

/// One pour as it is booked now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BookedPour {
    /// As which toner.
    pub toner: TonerCode,
    /// From which tin, if that was said.
    pub tin: Option<String>,
    /// How much was poured.
    pub poured: Grams,
    /// How much of it is still in the cup.
    pub left: Grams,
    /// What became of what was in the cup in the end; nothing before that.
    pub fate: Fate,
}

/// What became of a pour once its mix was done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Fate {
    /// So much of it was sprayed.
    pub sprayed: Grams,
    /// So much of it was kept.
    pub kept: Grams,
    /// So much of it was thrown away.
    pub thrown: Grams,
}

impl BookedPour {
    pub(super) fn new(toner: TonerCode, tin: Option<String>, poured: Grams) -> Self {
        Self { toner, tin, poured, left: poured, fate: Fate::default() }
    }

    /// How much of it the mix is made of: what is in the cup, or was in the end.
    pub fn in_mix(&self) -> Grams {
        self.left + self.fate.sprayed + self.fate.kept + self.fate.thrown
    }

    /// How much of it was drawn off to put the mix right.
    pub fn drawn(&self) -> Grams {
        self.poured - self.in_mix()
    }
}

impl Session {
    /// The pours so far, the first first, as they are booked now.
    pub fn pours(&self) -> &[BookedPour] {
        &self.pours
    }

    /// Which pour (its place among the pours, from 0) was the first of hardener, as they are booked now: the pot life
    /// begins with it. None where none was poured; [`activated_at`](crate::mix::activated_at) knows of leftovers too.
    pub fn first_hardener(&self) -> Option<usize> {
        self.pours.iter().position(|pour| self.recipe().is_hardener(&pour.toner))
    }

    /// Whether hardener is in the cup or was, poured or with a leftover.
    pub fn is_activated(&self) -> bool {
        self.pours.iter().chain(&self.added).any(|pour| self.recipe().is_hardener(&pour.toner))
    }

    /// Says what a pour (its place among the pours, from 0) was in truth: another toner, or the same from another tin.
    pub fn rebook(&self, pour: usize, toner: TonerCode, tin: Option<String>) -> Result<Event, Refusal> {
        let event = Rebooked { pour, toner, tin };
        self.refuse_rebooking(&event)?;
        Ok(Event::Rebooked(event))
    }

    fn refuse_rebooking(&self, event: &Rebooked) -> Result<&BookedPour, Refusal> {
        let booked = self.pours.get(event.pour).ok_or(Refusal::NoSuchPour)?;
        match self.state {
            State::Drawing(_) => Err(Refusal::DrawFirst),
            State::Aside => Err(Refusal::IsAside),
            State::Abandoned => Err(Refusal::Ended),
            State::Open | State::Finished | State::Emptied
                if booked.toner == event.toner && booked.tin == event.tin =>
            {
                Err(Refusal::SameAsBooked)
            }
            State::Open | State::Finished | State::Emptied => Ok(booked),
        }
    }

    pub(super) fn book_pour(&mut self, pour: &Pour) {
        let poured = pour.after - pour.before;
        self.pours.push(BookedPour::new(pour.toner.clone(), pour.tin.clone(), poured));
    }

    /// Takes what was taken out of each toner off its pours, each by its share, in whole micrograms that add up. It was
    /// drawn off, or, if a place is named, went there.
    pub(super) fn take_from_pours(
        &mut self,
        taken: &[(TonerCode, Grams)],
        to: Option<fn(&mut Fate) -> &mut Grams>,
    ) {
        for (toner, taken) in taken {
            let pours = || self.pours.iter().chain(&self.added).filter(|pour| pour.toner == *toner);
            let left: Vec<_> = pours().map(|pour| (toner.clone(), pour.left)).collect();
            let parts = split(&left, *taken);
            let pours = self.pours.iter_mut().chain(&mut self.added).filter(|pour| pour.toner == *toner);
            for (pour, (_, part)) in pours.zip(parts) {
                pour.left -= part;
                if let Some(place) = to {
                    *place(&mut pour.fate) += part;
                }
            }
        }
    }

    /// Books a pour as what it was. A choice that was made upon the wrong booking is asked for anew.
    pub(super) fn rebooked(&mut self, event: &Rebooked) -> Result<(), Refusal> {
        let booked = self.refuse_rebooking(event)?.clone();
        if booked.toner != event.toner {
            self.shift(&booked.toner, -booked.in_mix());
            self.shift(&event.toner, booked.in_mix());
            self.foreign.retain(|(_, mass)| !mass.is_zero());
            self.fouled = !self.foreign.is_empty();
            self.steered = false;
            self.cup.slack = Decimal::ONE;
            (self.plan, self.total) = (self.ordered, self.ordered);
            self.turned = None;
            self.settle_total();
        }
        if let (Some(line), Some(tin)) = (self.recipe().position(&event.toner), &event.tin)
            && let Some(slot) = self.tins.get_mut(line)
        {
            *slot = Some(tin.clone());
        }
        if let Some(pour) = self.pours.get_mut(event.pour) {
            pour.toner = event.toner.clone();
            pour.tin.clone_from(&event.tin);
        }
        Ok(())
    }

    /// So much more of a toner is in the cup, or, below nothing, less.
    pub(super) fn shift(&mut self, toner: &TonerCode, by: Grams) {
        let line = self.recipe().position(toner);
        if let Some(item) = line.and_then(|line| self.cup.items.get_mut(line)) {
            item.poured += by;
        } else if let Some((_, mass)) = self.foreign.iter_mut().find(|(foreign, _)| foreign == toner) {
            *mass += by;
        } else {
            self.foreign.push((toner.clone(), by));
        }
    }

    /// The mix as it would be if that were done; to be shown before it is.
    pub fn ahead(&self, event: &Event) -> Result<Self, Refusal> {
        let mut ahead = self.clone();
        ahead.apply(event)?;
        Ok(ahead)
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{choose, grams, pour, three};
    use super::*;
    use crate::mix::{How, Phase, RowState, Way};

    fn code(session: &Session, line: usize) -> TonerCode {
        session.recipe().lines()[line].toner.clone()
    }

    fn rebook(session: &mut Session, pour: usize, toner: &TonerCode, tin: Option<&str>) {
        let event = session.rebook(pour, toner.clone(), tin.map(str::to_owned)).unwrap();
        session.apply(&event).unwrap();
    }

    #[test]
    fn a_pour_of_the_wrong_toner_is_what_it_was() {
        let mut mix = three();
        pour(&mut mix, "60");
        pour(&mut mix, "89.8");
        // The second was the third's tin: it has 29.8 g of a toner that wants 10.
        let third = code(&mix, 2);
        let event = mix.rebook(1, third.clone(), Some("24-7".to_owned())).unwrap();
        assert_eq!(mix.ahead(&event).unwrap().phase(), Phase::Over(2));
        mix.apply(&event).unwrap();
        assert_eq!((mix.poured(1), mix.poured(2), mix.holds()), (Grams::ZERO, grams("29.8"), grams("89.8")));
        assert_eq!((mix.phase(), mix.tin(2)), (Phase::Over(2), Some("24-7")));
        assert_eq!(mix.pours()[1].toner, third);
        // And back: as if nothing had been.
        let second = code(&mix, 1);
        rebook(&mut mix, 1, &second, None);
        assert_eq!((mix.phase(), mix.current(), mix.total()), (Phase::Weighing, Some(2), grams("100")));
    }

    #[test]
    fn a_toner_that_does_not_belong_comes_and_goes() {
        let mut mix = three();
        pour(&mut mix, "60");
        rebook(&mut mix, 0, &TonerCode::new("Z9"), None);
        assert_eq!((mix.phase(), mix.foreign().len(), mix.poured(0)), (Phase::Fouled, 1, Grams::ZERO));
        let first = code(&mix, 0);
        rebook(&mut mix, 0, &first, None);
        assert_eq!((mix.phase(), mix.foreign(), mix.poured(0)), (Phase::Weighing, &[][..], grams("60")));
    }

    #[test]
    fn a_choice_made_upon_a_wrong_booking_is_asked_for_anew() {
        let mut mix = three();
        pour(&mut mix, "63");
        choose(&mut mix, Way::Exact);
        assert_eq!(mix.total(), grams("105"));
        pour(&mut mix, "94.5");
        let third = code(&mix, 2);
        rebook(&mut mix, 1, &third, None);
        assert!(matches!(mix.phase(), Phase::Over(_)));
        let second = code(&mix, 1);
        rebook(&mut mix, 1, &second, None);
        assert_eq!((mix.phase(), mix.ordered()), (Phase::Over(0), grams("100")));
    }

    #[test]
    fn only_what_is_still_in_the_cup_changes_its_toner() {
        let mut mix = three();
        pour(&mut mix, "60");
        pour(&mut mix, "90");
        let drawn = mix.take_drawn(grams("45"), How::Scale).unwrap();
        mix.apply(&drawn).unwrap();
        let left: Vec<_> = mix.pours().iter().map(|pour| (pour.poured, pour.left)).collect();
        assert_eq!(left, [(grams("60"), grams("30")), (grams("30"), grams("15"))]);
        let third = code(&mix, 2);
        rebook(&mut mix, 1, &third, None);
        assert_eq!((mix.poured(1), mix.poured(2)), (Grams::ZERO, grams("15")));
    }

    #[test]
    fn another_tin_of_the_same_toner_changes_no_gram() {
        let mut mix = three();
        pour(&mut mix, "60");
        let first = code(&mix, 0);
        rebook(&mut mix, 0, &first, Some("24-9"));
        assert_eq!((mix.phase(), mix.holds(), mix.tin(0)), (Phase::Weighing, grams("60"), Some("24-9")));
        assert!(matches!(mix.record()[0].state, RowState::Right(_)));
        let same = mix.rebook(0, first.clone(), Some("24-9".to_owned()));
        assert_eq!(same, Err(Refusal::SameAsBooked));
        assert_eq!(mix.rebook(7, first, None), Err(Refusal::NoSuchPour));
    }

    #[test]
    fn a_finished_mix_can_be_put_right_and_stays_finished() {
        let mut mix = three();
        for stop in ["60", "90", "100"] {
            pour(&mut mix, stop);
        }
        let done = mix.finish().unwrap();
        mix.apply(&done).unwrap();
        let first = code(&mix, 0);
        rebook(&mut mix, 0, &first, Some("24-9"));
        assert_eq!((mix.phase(), mix.pours()[0].tin.as_deref()), (Phase::Finished, Some("24-9")));
    }
}
