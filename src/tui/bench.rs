//! The bench: one mix on the scale. Turns what the scale says and what a person does into events of the mix.

mod after;
mod cup;
mod cup_watch;
mod pour;
mod pour_in;
mod step;

pub(super) use cup::{Answer, Question};
pub(super) use cup_watch::{Cause, Place};
pub(super) use step::{BenchError, Happened, Step, Tools};

use super::saving::Saved;
use super::scale_watch::ScaleWatch;
use crate::book::{EventId, Journal, MixId};
use crate::catalogue::TonerCode;
use crate::mix::weighable::Accuracy;
use crate::mix::{
    Choice, Event, How, Judgement, Phase, Refusal, Session, Start, TinMarks, Way, order, weighable,
};
use crate::scale::{Mode, Weight};
use crate::stock::Leftover;
use crate::units::{Decimal, Grams, Share};

/// A mix at the bench.
#[derive(Debug)]
pub struct Bench {
    journal: Journal,
    number: u32,
    /// The last event that touched each toner, by its place in the recipe.
    last_event: Vec<Option<EventId>>,
    /// The ways out, while one must be chosen.
    ways: Vec<Choice>,
    selected: usize,
    /// A weight that was settled before the last event counts for no further one: the reading must be new.
    settled_before: Option<Grams>,
    /// Whether the scale showed gross or net when the cup was weighed; none until it is known. A tare weighed in
    /// one cannot be taken off a weight in the other.
    mode: Option<Mode>,
    /// Where the cup is.
    cup: cup_watch::CupWatch,
    /// Which answer is marked where the cup came back with another weight.
    marked: usize,
    /// The pour that is under way.
    pour: pour::PourWatch,
    /// The leftover that is to be poured in before the first toner.
    pour_in: Option<Leftover>,
    /// Whether the ways out are shown while the pour is still under way.
    pub peek: bool,
}

impl Bench {
    /// Begins a mix.
    pub fn begin(
        start: Start,
        number: u32,
        scale: &ScaleWatch,
        tools: &mut Tools<'_>,
    ) -> Result<(Self, Step), BenchError> {
        let mix = tools.ids.mix(tools.now.stamp);
        let id = tools.ids.event(tools.now.stamp);
        let (journal, envelope) = Journal::begin(mix, &Event::Started(start), id, tools.now.stamp, tools.by)?;
        tools.written.push(envelope);
        let step = Step { happened: Some(Happened::Changed) };
        Ok((Self { mode: scale.mode(), ..Self::resume(journal, number) }, step))
    }

    /// Goes on with a mix as the book has it.
    pub fn resume(journal: Journal, number: u32) -> Self {
        let lines = journal.session().recipe().lines().len();
        let ways = journal.session().ways();
        Self {
            journal,
            number,
            last_event: vec![None; lines],
            ways,
            selected: 0,
            settled_before: None,
            mode: None,
            cup: cup_watch::CupWatch::default(),
            marked: 0,
            pour: pour::PourWatch::default(),
            pour_in: None,
            peek: false,
        }
    }

    /// The mix.
    pub fn session(&self) -> &Session {
        self.journal.session()
    }

    /// Its identity.
    pub fn mix(&self) -> MixId {
        self.journal.mix()
    }

    /// Its number in the book.
    pub fn number(&self) -> u32 {
        self.number
    }

    /// The place in its journal that the next event will have.
    pub fn next(&self) -> u32 {
        self.journal.next()
    }

    /// The mix and its place in the book.
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    /// The mix and its place in the book, for when it leaves the bench.
    pub fn into_journal(self) -> Journal {
        self.journal
    }

    /// The ways out, most sparing first, while one must be chosen.
    pub fn ways(&self) -> &[Choice] {
        &self.ways
    }

    /// Which of them is marked.
    pub fn selected(&self) -> usize {
        self.selected
    }

    /// Moves the mark.
    pub fn select(&mut self, down: bool) {
        let last = self.ways.len().saturating_sub(1);
        self.selected =
            if down { self.selected.saturating_add(1).min(last) } else { self.selected.saturating_sub(1) };
    }

    /// Whether the last that happened to that toner is on disk.
    pub fn saved(&self, line: usize, state: impl Fn(EventId) -> Saved) -> Saved {
        self.last_event.get(line).copied().flatten().map_or(Saved::Yes, state)
    }

    /// What the cup holds by the scale, its own weight taken off; none when there is no number to trust.
    pub fn net(&self, scale: &ScaleWatch) -> Option<Grams> {
        if self.other_mode(scale).is_some() {
            return None;
        }
        scale.live().map(|gross| gross - self.session().tare())
    }

    /// Why the scale's number cannot be compared with the cup's own weight, if that is so.
    pub fn other_mode(&self, scale: &ScaleWatch) -> Option<&'static str> {
        let (was, is) = (self.mode?, scale.mode()?);
        (was != is).then_some(match is {
            Mode::Net => "The scale shows net and the cup was weighed otherwise: clear its tare.",
            Mode::Gross => "The scale shows gross and the cup was weighed otherwise: set it back.",
            _ => "The scale no longer says gross or net as when the cup was weighed: set it back.",
        })
    }

    /// The settled weight of what the cup holds.
    fn settled(&self, scale: &ScaleWatch) -> Result<Grams, BenchError> {
        if !scale.is_present() {
            return Err(BenchError::TypeIt);
        }
        if let Some(why) = self.other_mode(scale) {
            return Err(BenchError::NoWeight(why.to_owned()));
        }
        let net = scale.weight().map(|weight| weight.grams() - self.session().tare()).ok_or_else(|| {
            BenchError::NoWeight(scale.doubt().unwrap_or_else(|| "wait for it to stand still".into()))
        })?;
        self.not_compared().map(|()| net)
    }

    /// For how many milliseconds what is about to be taken has stood still; none while nothing is.
    pub fn dwell(&self, scale: &ScaleWatch) -> Option<u64> {
        // How much of a leftover goes in is the painter's to say.
        if self.other_mode(scale).is_some() || self.is_cup_away() || self.pour_in.is_some() {
            return None;
        }
        let (weight, steady) = scale.steady_for()?;
        let net = weight.grams() - self.session().tare();
        self.would_take(net, scale.taking().within).then_some(steady.min(scale.taking().dwell_ms))
    }

    /// Whether a weight that stands still is one to take without a key.
    fn would_take(&self, net: Grams, within: Share) -> bool {
        let session = self.session();
        if self.settled_before == Some(net) || net < Grams::ZERO {
            return false;
        }
        match session.phase() {
            Phase::Weighing => {
                net > session.holds()
                    && match session.judge(net) {
                        Some(Judgement::Right(_)) => session.is_within(net, within),
                        judgement => matches!(judgement, Some(Judgement::Over(_))),
                    }
            }
            Phase::Drawing => {
                let half = session.limits().division.grams().times(Decimal::new(5, 1));
                // Far less than should be left is something else on the pan, as the cup that is drawn off into: a
                // key takes it all the same.
                session.draw_to().is_some_and(|down_to| net <= down_to + half && net + net >= down_to)
            }
            _ => false,
        }
    }

    /// After each reading: takes a pour that stands still and is right, or over, when hands-free is on.
    pub fn on_reading(
        &mut self,
        scale: &ScaleWatch,
        hands_free: bool,
        tools: &mut Tools<'_>,
    ) -> Result<Step, BenchError> {
        self.mode = self.mode.or_else(|| Some(scale.weight()?.mode()));
        let cup = self.watch_cup(scale, tools.now.moment);
        self.follow_pour(scale, tools.now.moment);
        if cup.happened.is_some() {
            return Ok(cup);
        }
        match self.dwell(scale) {
            Some(steady) if hands_free && steady >= scale.taking().dwell_ms => self.take(scale, tools),
            _ => Ok(Step::default()),
        }
    }

    /// Takes what the cup holds now: a pour, or what was drawn off.
    pub fn take(&mut self, scale: &ScaleWatch, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let event = self.reads(self.settled(scale)?, How::Scale)?;
        self.record(&event, tools)
    }

    /// Takes a typed amount: what went in of the current toner, or what was taken out while drawing off.
    pub fn take_typed(&mut self, amount: Grams, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let holds = self.session().holds();
        let event = if self.session().phase() == Phase::Drawing {
            self.reads(holds - amount, How::Typed)?
        } else {
            self.fits_cup(amount)?;
            self.reads(holds + amount, How::Typed)?
        };
        self.record(&event, tools)
    }

    /// What it means that the cup holds so much now: some of a leftover came in, some was drawn off, or the toner that is
    /// due was poured.
    fn reads(&self, net: Grams, how: How) -> Result<Event, Refusal> {
        match (self.session().phase(), &self.pour_in) {
            (Phase::Drawing, _) => self.session().take_drawn(net, how),
            (_, Some(leftover)) => self.leftover_in(leftover, net, how),
            (_, None) => self.session().take(net, how),
        }
    }

    /// Whether so much more can be in the cup at all: a slip in typing could not be taken back. Twice the brim, as
    /// a toner may be twice as dense as the mix.
    fn fits_cup(&self, amount: Grams) -> Result<(), BenchError> {
        let session = self.session();
        let volume = session.recipe().volume_at(session.holds() + amount);
        if volume <= session.start().vessel.brim.times(Decimal::TWO) {
            Ok(())
        } else {
            Err(BenchError::TooMuch(amount))
        }
    }

    /// Says that what was poured was another toner; typed grams where there is no scale.
    pub fn wrong_toner(
        &mut self,
        toner: TonerCode,
        typed: Option<Grams>,
        scale: &ScaleWatch,
        tools: &mut Tools<'_>,
    ) -> Result<Step, BenchError> {
        let (reading, how) = match typed {
            Some(amount) => {
                self.fits_cup(amount)?;
                (self.session().holds() + amount, How::Typed)
            }
            None => (self.settled(scale)?, How::Scale),
        };
        // What was poured before the cup was lifted is the toner that was due.
        let by_scale = how == How::Scale && self.is_cup_away();
        let mut step = if by_scale { self.book_before(tools)? } else { Step::default() };
        let event = self.session().take_wrong(toner, None, reading, how)?;
        step.add(self.record(&event, tools)?);
        if by_scale {
            self.cup.on();
        }
        Ok(step)
    }

    /// Takes another tin of the current toner; what came from the old one is booked to it first.
    pub fn next_tin(
        &mut self,
        tin: &str,
        marks: Option<TinMarks>,
        scale: &ScaleWatch,
        tools: &mut Tools<'_>,
    ) -> Result<Step, BenchError> {
        let Some(line) = self.session().current() else { return Err(Refusal::NotComplete.into()) };
        let toner = self.toner_at(line)?;
        let mut step = self.book_part(scale, tools)?;
        step.add(self.record(&Event::TinTaken { toner, tin: tin.to_owned(), marks }, tools)?);
        Ok(step)
    }

    /// Says which tin the current toner is poured from, also what is in the cup of it and not booked yet: no tin was said
    /// before.
    pub fn name_tin(&mut self, tin: &str, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let Some(line) = self.session().current() else { return Err(Refusal::NotComplete.into()) };
        let toner = self.toner_at(line)?;
        self.record(&Event::TinTaken { toner, tin: tin.to_owned(), marks: None }, tools)
    }

    /// Turns to another toner; what was poured of this one is booked first.
    pub fn turn_to(
        &mut self,
        line: usize,
        scale: &ScaleWatch,
        tools: &mut Tools<'_>,
    ) -> Result<Step, BenchError> {
        let mut step = self.book_part(scale, tools)?;
        if step.happened.is_some() && self.session().phase() != Phase::Weighing {
            // What was booked went over, or was the last: that comes first.
            return Ok(step);
        }
        let event = self.session().turn_to(line)?;
        step.add(self.record(&event, tools)?);
        Ok(step)
    }

    /// Books what has been poured so far as one of several goes, if anything has.
    fn book_part(&mut self, scale: &ScaleWatch, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let session = self.session();
        let floor = session.limits().division.grams();
        let poured = self.net(scale).is_some_and(|net| net >= session.holds() + floor);
        if self.is_cup_away() && (poured || self.held() != session.holds()) {
            return Err(BenchError::Cup(
                "what was poured is not booked yet: put the cup back on the scale first",
            ));
        }
        if poured && session.phase() == Phase::Weighing {
            self.take(scale, tools)
        } else {
            Ok(Step::default())
        }
    }

    /// Goes the way that is marked, or the one with that number (from 0).
    pub fn choose(&mut self, which: Option<usize>, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let choice = self.ways.get(which.unwrap_or(self.selected)).cloned().ok_or(Refusal::NotOpen)?;
        let event = self.session().steer(&choice)?;
        let mut step = self.record(&event, tools)?;
        if choice.way == Way::Restart {
            step.happened = Some(Happened::Abandoned { again: true });
        }
        Ok(step)
    }

    /// Changes between the formula's own order and the one that risks least.
    pub fn toggle_order(&mut self, accuracy: Accuracy, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let session = self.session();
        let own = order::formula_order(session.recipe());
        let order = if session.order() == own { least_risk(session, accuracy) } else { own };
        self.record(&Event::Reordered { order }, tools)
    }

    /// Puts the mix aside.
    ///
    /// What was poured of a toner and not taken yet is booked first, if it stands still; what still moves is found
    /// when the cup is put back, as more than the book says.
    pub fn set_aside(&mut self, scale: &ScaleWatch, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        if scale.weight().is_some() && !self.is_cup_away() {
            self.book_part(scale, tools)?;
        }
        let event = self.session().set_aside()?;
        let mut step = self.record(&event, tools)?;
        step.happened = Some(Happened::Aside);
        Ok(step)
    }

    /// Takes the mix up with the cup on the scale reading so much, as the book has it: what the scale
    /// shows beyond that becomes the tare. For a scale that was switched off in between.
    pub fn take_up(&mut self, on_scale: Weight, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let mut step = Step::default();
        if self.session().phase() != Phase::Aside {
            let event = self.session().set_aside()?;
            step.add(self.record(&event, tools)?);
        }
        let event = self.session().take_up(on_scale.grams() - self.session().holds())?;
        step.add(self.record(&event, tools)?);
        self.mode = Some(on_scale.mode());
        self.cup.on();
        Ok(step)
    }

    /// Takes the mix up where it was put aside, the scale's zero unchanged.
    pub fn go_on(&mut self, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        self.cup.on();
        if self.session().phase() != Phase::Aside {
            return Ok(Step::default());
        }
        let event = self.session().take_up(self.session().tare())?;
        self.record(&event, tools)
    }

    /// Books that some of the mix was taken out without being asked for, the cup standing still on the scale.
    pub fn taken_out(&mut self, scale: &ScaleWatch, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let net = self.settled(scale)?;
        let event = self.session().take_drawn(net, How::Scale)?;
        self.record(&event, tools)
    }

    /// Gives the mix up.
    pub fn abandon(&mut self, reason: &str, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let event = self.session().abandon(reason)?;
        let mut step = self.record(&event, tools)?;
        step.happened = Some(Happened::Abandoned { again: false });
        Ok(step)
    }

    /// Says that the mix is done.
    pub fn finish(&mut self, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let event = self.session().finish()?;
        let mut step = self.record(&event, tools)?;
        step.happened = Some(Happened::Finished);
        Ok(step)
    }

    fn toner_at(&self, line: usize) -> Result<TonerCode, Refusal> {
        self.session().recipe().lines().get(line).map(|line| line.toner.clone()).ok_or(Refusal::BadOrder)
    }

    /// The one place where an event changes the mix: into the session and into an envelope at once.
    pub(super) fn record(&mut self, event: &Event, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let id = tools.ids.event(tools.now.stamp);
        let envelope = self.journal.record(event, id, tools.now.stamp, tools.by)?;
        if let Event::Poured(pour) = event
            && let Some(slot) =
                self.session().recipe().position(&pour.toner).and_then(|line| self.last_event.get_mut(line))
        {
            *slot = Some(id);
        }
        if let Event::Rebooked(was) = event {
            let line = self.session().recipe().position(&was.toner);
            if let Some(slot) = line.and_then(|line| self.last_event.get_mut(line)) {
                *slot = Some(id);
            }
        }
        let session = self.journal.session();
        self.ways = session.ways();
        self.selected = 0;
        self.peek = false;
        self.pour.next();
        if matches!(event, Event::LeftoverAdded(_)) {
            self.pour_in = None;
        }
        if matches!(event, Event::Poured(_) | Event::DrawnOff(_) | Event::TakenUp { .. }) {
            self.cup.booked();
        }
        if session.phase() == Phase::Complete {
            self.cup.on();
        }
        let booked = matches!(event, Event::Poured(_) | Event::DrawnOff(_) | Event::Rebooked(_));
        self.settled_before = booked.then(|| session.holds());
        let happened = match (event, session.phase()) {
            (Event::Poured(_) | Event::Rebooked(_), Phase::Over(_) | Phase::Fouled) => Happened::Over,
            (Event::Poured(_) | Event::DrawnOff(_), Phase::Complete) => Happened::Complete,
            (Event::Poured(pour), _) => {
                let line = session.recipe().position(&pour.toner);
                if line.is_some() && session.current() == line { Happened::Part } else { Happened::Right }
            }
            (Event::DrawnOff(_), _) => Happened::Drawn,
            _ => Happened::Changed,
        };
        tools.written.push(envelope);
        Ok(Step { happened: Some(happened) })
    }
}

/// The order that risks least for a mix, on its own scale.
fn least_risk(session: &Session, accuracy: Accuracy) -> Vec<usize> {
    let limits = session.limits();
    let smallest = weighable::smallest_weight(limits.division, accuracy);
    order::least_risk(session.recipe(), session.ordered(), limits.division, smallest)
}
