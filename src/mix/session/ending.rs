//! What goes before a mix and what comes after: a leftover poured in, and the cup emptied once it is done.

use super::{BookedPour, Phase, Refusal, Session, State};
use crate::catalogue::TonerCode;
use crate::mix::leftover::less;
use crate::mix::{Emptied, Event, How, LeftoverAdded, Thinned, split};
use crate::units::Grams;

/// What a person says of the end of a mix.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ending {
    /// What the cup weighed ready to spray, its own weight taken off; none if neither thinner nor hardener was added.
    pub ready: Option<Grams>,
    /// What the cup weighs after spraying, its own weight taken off.
    pub left: Grams,
    /// Whether what is left is kept; else it is thrown away.
    pub keep: bool,
    /// Until when it may be used, as `2026-12-31`.
    pub use_by: Option<String>,
    /// Why it is thrown away.
    pub reason: Option<String>,
    /// What it was sprayed on.
    pub job: Option<String>,
}

impl Session {
    /// What became of the mix; none as long as the cup holds it.
    pub fn emptied(&self) -> Option<&Emptied> {
        self.emptied.as_ref()
    }

    /// Empties the cup of a mix that is done: what is missing was sprayed, what is left is kept or thrown away.
    ///
    /// Thinner and hardener went in with the mix and out with it, so that the mix's part of what is left is what its
    /// part was when it was ready to spray.
    pub fn empty(&self, ending: Ending, how: How) -> Result<Event, Refusal> {
        let before = self.holds();
        let reading = ending.left.to_book();
        let thinned = ending.ready.map(|ready| Thinned { ready: ready.to_book(), left: reading });
        let left = match thinned {
            Some(thinned) if thinned.ready < before || thinned.left > thinned.ready => {
                return Err(Refusal::MoreLeft);
            }
            Some(thinned) => before.times(thinned.left.ratio_to(thinned.ready).unwrap_or_default()).to_book(),
            None => reading,
        };
        let emptied = Emptied {
            before,
            left,
            how,
            kept: if ending.keep { left } else { Grams::ZERO },
            use_by: ending.use_by.filter(|_| ending.keep && left.is_positive()),
            reason: ending.reason.filter(|_| !ending.keep && left.is_positive()),
            job: ending.job,
            thinned,
        };
        match self.state {
            State::Finished => self.refuse_emptying(&emptied)?,
            State::Emptied | State::Abandoned => return Err(Refusal::Ended),
            State::Open | State::Drawing(_) | State::Aside => return Err(Refusal::NotDone),
        }
        Ok(Event::Emptied(emptied))
    }

    fn refuse_emptying(&self, emptied: &Emptied) -> Result<(), Refusal> {
        if emptied.before != self.holds() {
            return Err(Refusal::Gap);
        }
        if emptied.left > emptied.before {
            return Err(Refusal::MoreLeft);
        }
        if emptied.left.is_negative() {
            return Err(Refusal::TooMuchTaken);
        }
        if emptied.kept > emptied.left || emptied.kept.is_negative() {
            return Err(Refusal::MoreKept);
        }
        let unsaid = emptied.reason.as_deref().is_none_or(|reason| reason.trim().is_empty());
        if emptied.kept < emptied.left && unsaid {
            return Err(Refusal::NoWasteReason);
        }
        Ok(())
    }

    /// How what was in the cup splits when it is emptied so: sprayed, kept, thrown away, a toner each.
    pub fn fates(&self, emptied: &Emptied) -> [Vec<(TonerCode, Grams)>; 3] {
        let contents = self.contents();
        let sprayed = split(&contents, emptied.before - emptied.left);
        let left = less(&contents, &sprayed);
        let kept = split(&left, emptied.kept);
        let thrown = less(&left, &kept);
        [sprayed, kept, thrown]
    }

    /// Takes the cup as emptied. What it held stays to be looked at.
    pub(super) fn empty_by(&mut self, emptied: &Emptied) -> Result<(), Refusal> {
        self.refuse_emptying(emptied)?;
        let [sprayed, kept, thrown] = self.fates(emptied);
        self.take_from_pours(&sprayed, Some(|fate| &mut fate.sprayed));
        self.take_from_pours(&kept, Some(|fate| &mut fate.kept));
        self.take_from_pours(&thrown, Some(|fate| &mut fate.thrown));
        self.emptied = Some(emptied.clone());
        self.state = State::Emptied;
        Ok(())
    }

    /// Takes what was poured of a leftover made of those toners, the cup now reading so much. `from` is the identity of
    /// the mix that it is left of.
    ///
    /// None with the recipe's hardener in it: its pot life runs since that mix, and this one's would be counted from now.
    pub fn take_leftover(
        &self,
        from: &str,
        made_of: &[(TonerCode, Grams)],
        reading: Grams,
        how: How,
    ) -> Result<Event, Refusal> {
        match self.phase() {
            Phase::Weighing | Phase::Complete => {}
            Phase::Aside => return Err(Refusal::IsAside),
            Phase::Abandoned | Phase::Finished => return Err(Refusal::Ended),
            Phase::Over(_) | Phase::Fouled | Phase::Drawing => return Err(Refusal::ChooseFirst),
        }
        if made_of.iter().any(|(toner, _)| self.recipe().is_hardener(toner)) {
            return Err(Refusal::HardenerIn);
        }
        let (before, after) = (self.holds(), reading.to_book());
        let poured = after - before;
        if !poured.is_positive() {
            return Err(Refusal::NothingPoured);
        }
        if poured > made_of.iter().map(|(_, mass)| *mass).sum() {
            return Err(Refusal::PartsDiffer);
        }
        let parts = split(made_of, poured).into_iter().filter(|(_, mass)| !mass.is_zero()).collect();
        Ok(Event::LeftoverAdded(LeftoverAdded { from: from.to_owned(), parts, before, after, how }))
    }

    pub(super) fn add_leftover(&mut self, added: &LeftoverAdded) -> Result<(), Refusal> {
        if added.before != self.holds() {
            return Err(Refusal::Gap);
        }
        let poured = added.after - added.before;
        if !poured.is_positive() {
            return Err(Refusal::NothingPoured);
        }
        let all: Grams = added.parts.iter().map(|(_, mass)| *mass).sum();
        if all != poured || added.parts.iter().any(|(_, mass)| !mass.is_positive()) {
            return Err(Refusal::PartsDiffer);
        }
        self.leftover_due = None;
        if !self.reused.contains(&added.from) {
            self.reused.push(added.from.clone());
        }
        for (toner, mass) in &added.parts {
            self.fouled |= self.recipe().position(toner).is_none();
            self.shift(toner, *mass);
            self.added.push(BookedPour::new(toner.clone(), None, *mass));
        }
        self.settle_total();
        self.turn_on();
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{choose, grams, pour, three};
    use super::*;
    use crate::mix::Way;
    use rstest::rstest;

    /// 60, 30 and 10 g of three toners.
    fn done() -> Session {
        let mut mix = three();
        for stop in ["60", "90", "100"] {
            pour(&mut mix, stop);
        }
        let done = mix.finish().unwrap();
        mix.apply(&done).unwrap();
        mix
    }

    fn masses(parts: &[(TonerCode, Grams)]) -> Vec<String> {
        parts.iter().map(|(_, mass)| mass.to_string()).collect()
    }

    fn kept(left: &str) -> Ending {
        Ending { left: grams(left), keep: true, ..Ending::default() }
    }

    #[test]
    fn what_is_missing_was_sprayed_and_what_is_left_is_kept() {
        let mut mix = done();
        let event = mix.empty(kept("20"), How::Scale).unwrap();
        let Event::Emptied(emptied) = &event else { panic!("emptied") };
        let [sprayed, kept, thrown] = mix.fates(emptied).map(|parts| masses(&parts));
        assert_eq!(sprayed, ["48", "24", "8"]);
        assert_eq!(kept, ["12", "6", "2"]);
        assert_eq!(thrown, ["0", "0", "0"]);
        mix.apply(&event).unwrap();
        assert_eq!(
            (mix.phase(), mix.is_unfinished(), mix.emptied()),
            (Phase::Finished, false, Some(emptied))
        );
        assert_eq!((mix.pours()[0].left, mix.pours()[0].fate.sprayed), (Grams::ZERO, grams("48")));
        assert_eq!(mix.apply(&event), Err(Refusal::Ended));
    }

    /// 100 g of mix and 50 g of thinner; 30 g left of it are 20 g of mix.
    #[test]
    fn thinner_goes_out_as_it_went_in() {
        let mix = done();
        let ending = Ending {
            ready: Some(grams("150")),
            left: grams("30"),
            reason: Some("hardened".into()),
            ..Ending::default()
        };
        let Event::Emptied(emptied) = mix.empty(ending, How::Scale).unwrap() else { panic!("emptied") };
        assert_eq!((emptied.left, emptied.kept), (grams("20"), Grams::ZERO));
        assert_eq!(emptied.thinned, Some(Thinned { ready: grams("150"), left: grams("30") }));
    }

    #[rstest]
    #[case(Ending { left: grams("100.1"), keep: true, ..Ending::default() }, Refusal::MoreLeft)]
    #[case(Ending { left: grams("3"), ..Ending::default() }, Refusal::NoWasteReason)]
    #[case(Ending { left: grams("3"), reason: Some(" ".into()), ..Ending::default() }, Refusal::NoWasteReason)]
    #[case(Ending { left: grams("-0.1"), keep: true, ..Ending::default() }, Refusal::TooMuchTaken)]
    #[case(Ending { ready: Some(grams("90")), left: grams("3"), keep: true, ..Ending::default() }, Refusal::MoreLeft)]
    #[case(Ending { ready: Some(grams("150")), left: grams("151"), keep: true, ..Ending::default() }, Refusal::MoreLeft)]
    fn an_end_that_cannot_be_is_refused(#[case] ending: Ending, #[case] why: Refusal) {
        assert_eq!(done().empty(ending, How::Typed), Err(why));
    }

    #[test]
    fn only_a_mix_that_is_done_is_emptied() {
        let mut mix = three();
        pour(&mut mix, "60");
        assert_eq!(mix.empty(kept("3"), How::Scale), Err(Refusal::NotDone));
        let Event::Emptied(emptied) = done().empty(kept("0"), How::Scale).unwrap() else { panic!("emptied") };
        assert_eq!(mix.apply(&Event::Emptied(emptied)), Err(Refusal::NotDone));
        mix.apply(&mix.abandon("spilt").unwrap()).unwrap();
        assert_eq!(mix.empty(kept("3"), How::Scale), Err(Refusal::Ended));
    }

    /// The cup was emptied, and then the first pour was found to have been the third's tin.
    #[test]
    fn a_pour_is_put_right_wherever_its_paint_has_gone() {
        let mut mix = done();
        mix.apply(&mix.empty(kept("20"), How::Scale).unwrap()).unwrap();
        let third = mix.recipe().lines()[2].toner.clone();
        let event = mix.rebook(0, third, None).unwrap();
        mix.apply(&event).unwrap();
        assert_eq!((mix.poured(0), mix.poured(2)), (Grams::ZERO, grams("70")));
        assert_eq!(
            (mix.phase(), mix.pours()[0].in_mix(), mix.pours()[0].drawn()),
            (Phase::Finished, grams("60"), Grams::ZERO)
        );
    }

    /// 40 g of the same colour and a trace of what is not in the formula.
    #[test]
    fn a_leftover_is_the_start_of_a_mix() {
        let mut mix = three();
        let toners: Vec<_> = mix.recipe().lines().iter().map(|line| line.toner.clone()).collect();
        let made_of: Vec<_> = toners.iter().cloned().zip(["12", "6", "2"].map(grams)).collect();
        // Half of it.
        let event = mix.take_leftover("old", &made_of, grams("10"), How::Scale).unwrap();
        mix.apply(&event).unwrap();
        let held: Vec<_> = (0..3).map(|line| mix.poured(line)).collect();
        assert_eq!(held, [grams("6"), grams("3"), grams("1")]);
        assert_eq!(
            (mix.phase(), mix.pours().len(), mix.reused(), mix.goal().unwrap().missing),
            (Phase::Weighing, 0, &["old".to_owned()][..], grams("54"))
        );
        assert_eq!(mix.take_leftover("old", &made_of, grams("31"), How::Scale), Err(Refusal::PartsDiffer));
        assert_eq!(mix.take_leftover("old", &made_of, grams("10"), How::Scale), Err(Refusal::NothingPoured));
        // The correction goes on from it: 70 g of the first are too much of 100.
        pour(&mut mix, "74");
        assert_eq!(mix.phase(), Phase::Over(0));
        choose(&mut mix, Way::DrawOff);
        let stop = mix.draw_to().unwrap();
        mix.apply(&mix.take_drawn(stop, How::Scale).unwrap()).unwrap();
        assert_eq!(mix.phase(), Phase::Weighing);
        // What was drawn off came out of the leftover and of the pour alike.
        assert!(mix.pours()[0].drawn().is_positive() && mix.added[0].drawn().is_positive());
        let left: Grams = mix.pours.iter().chain(&mix.added).map(|pour| pour.left).sum();
        assert_eq!(left, mix.holds());
    }

    #[test]
    fn what_a_leftover_has_that_the_formula_has_not_is_foreign() {
        let mut mix = three();
        let made_of = [(TonerCode::new("Z9"), grams("5"))];
        mix.apply(&mix.take_leftover("old", &made_of, grams("5"), How::Scale).unwrap()).unwrap();
        assert_eq!((mix.phase(), mix.foreign()), (Phase::Fouled, &made_of[..]));
    }

    /// What a leftover is due for is known until it is in, or something else is, or it is said to be done without.
    #[test]
    fn a_leftover_is_due_until_it_is_in() {
        let due = |from: Option<&str>| Event::LeftoverDue { from: from.map(str::to_owned) };
        let mut session = three();
        session.apply(&due(Some("mix-1"))).unwrap();
        assert_eq!(session.leftover_due(), Some("mix-1"));
        let mut without = session.clone();
        without.apply(&due(None)).unwrap();
        assert_eq!(without.leftover_due(), None);
        let parts = [(session.recipe().lines()[0].toner.clone(), grams("5"))];
        let added = session.take_leftover("mix-1", &parts, grams("4"), How::Scale).unwrap();
        let mut with = session.clone();
        with.apply(&added).unwrap();
        assert_eq!(with.leftover_due(), None);
        // It is the start of a mix, and nothing else.
        assert_eq!(with.apply(&due(Some("mix-2"))), Err(Refusal::NotEmpty));
        let pour = session.take(grams("3"), How::Scale).unwrap();
        session.apply(&pour).unwrap();
        assert_eq!(session.leftover_due(), None);
    }
}
