//! The cup that is lifted in the middle of a mix and put back: the same weight goes on, another waits for a word.
//! What that word books are the mix's own events, so nothing of it is lost if the program is.

use super::cup_watch::{Cause, Place, Seen, Sight};
use super::{Bench, BenchError, Happened, Step, Tools};
use crate::mix::{How, Phase, Refusal};
use crate::scale::Weight;
use crate::tui::scale_watch::ScaleWatch;
use crate::units::{Grams, Moment};

/// Keys that come sooner than that after the question, in milliseconds, were meant for what stood there before
/// (common practice, no source).
const LOOK_MS: u64 = 600;

/// What can have happened to a cup that came back with another weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// It is out of the cup: on the stick, spilt, or taken.
    TakenOut,
    /// More of the toner that is due was poured.
    Poured,
    /// Another toner was poured.
    OtherToner,
    /// The scale's zero has moved, and the cup holds what it did.
    ZeroMoved,
    /// It is not the cup that stands there.
    NotTheCup,
}

/// What is to be said about a cup that came back with another weight.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// What the scale shows above what it should; below nothing where something is gone.
    pub off: Grams,
    /// What the cup held before, and holds again when everything is as it was.
    pub held: Grams,
    /// What of that is poured of the toner that is due and not booked yet.
    pub unbooked: Option<Grams>,
    /// Whether the cup was lifted, or the scale not heard.
    pub cause: Cause,
    /// Whether the empty pan was off by just that.
    pub pan_says_so: bool,
    /// What it can be, the likeliest first.
    pub answers: Vec<Answer>,
    /// Which is marked.
    pub marked: usize,
    /// Since when it is asked.
    pub since: Moment,
}

impl Question {
    /// Whether it has been on the screen for long enough that a key is an answer to it.
    pub const fn was_seen(&self, now: Moment) -> bool {
        now.since(self.since) >= LOOK_MS
    }
}

impl Bench {
    /// Where the cup is.
    pub fn cup_place(&self) -> Place {
        self.cup.place()
    }

    /// Whether the cup is off the scale, or back and not compared yet, so that no reading is a weight of the mix.
    pub fn is_cup_away(&self) -> bool {
        self.cup.place() != Place::On
    }

    /// Whether nothing goes on before the lifted cup is put back.
    pub fn waits_for_cup(&self) -> bool {
        matches!(self.session().phase(), Phase::Weighing | Phase::Drawing)
            && matches!(self.cup.place(), Place::Off(_) | Place::Back(Cause::Lifted))
    }

    /// What the cup held by the scale when it was last seen, its own weight taken off: what the book says, and what
    /// was poured of the toner that is due and stood still.
    pub fn held(&self) -> Grams {
        let holds = self.session().holds();
        let stood = self.cup.stood().filter(|_| self.session().phase() == Phase::Weighing);
        let stood = stood.map(|gross| gross - self.session().tare());
        stood.filter(|net| *net > holds + self.floor()).unwrap_or(holds)
    }

    /// Whether the empty cup stands where the scale has its zero, as after it was zeroed or tared with the cup on it:
    /// what drips in there may be swallowed, see [`Weight::may_be_tracked`].
    pub fn stands_at_zero(&self, scale: &ScaleWatch) -> bool {
        let session = self.session();
        let is_empty = session.holds().is_zero() && session.foreign().is_empty();
        let pours = session.phase() == Phase::Weighing && !self.is_cup_away();
        is_empty && pours && scale.weight().is_some_and(|weight| weight.may_be_tracked())
    }

    /// What the empty pan reads beyond what it should, if that is more than a division.
    pub fn pan_is_off(&self) -> Option<Grams> {
        let should = self.session().tare() - self.session().start().vessel.tare;
        self.cup.pan().map(|pan| pan - should).filter(|off| off.abs() > self.floor())
    }

    /// What is asked about the cup, if anything is.
    pub fn question(&self) -> Option<Question> {
        let (asked, Place::Back(cause)) = (self.cup.asked()?, self.cup.place()) else { return None };
        let (net, held) = (asked.gross - self.session().tare(), self.held());
        let off = net - held;
        let pan_says_so = self.pan_is_off().is_some_and(|pan| (pan - off).abs() <= self.floor());
        let answers = self.answers(net, held, pan_says_so);
        let marked = self.marked.min(answers.len().checked_sub(1)?);
        let unbooked = (held != self.session().holds()).then(|| held - self.session().holds());
        Some(Question { off, held, unbooked, cause, pan_says_so, answers, marked, since: asked.since })
    }

    /// What can have happened, as far as the mix can take it now.
    fn answers(&self, net: Grams, held: Grams, pan_says_so: bool) -> Vec<Answer> {
        let mut answers = Vec::new();
        if pan_says_so {
            answers.push(Answer::ZeroMoved);
        }
        if net < held {
            // Far less is something else on the pan as a rule.
            if net + net < held {
                answers.push(Answer::NotTheCup);
            }
            if net >= Grams::ZERO {
                answers.push(Answer::TakenOut);
            }
        } else {
            match self.session().phase() {
                Phase::Weighing if self.pour_in().is_some() => answers.push(Answer::Poured),
                Phase::Weighing => answers.extend([Answer::Poured, Answer::OtherToner]),
                // A way out comes first: nothing can be poured before.
                Phase::Over(_) | Phase::Fouled => return Vec::new(),
                _ => {}
            }
        }
        // Not where the empty pan, as it was just seen, would pass for the cup then: nobody could see it lifted any more.
        let off = net - held;
        let tells_cup = |pan: Grams| self.session().is_without_cup(pan - self.session().tare() - off);
        if !pan_says_so && self.cup.pan().is_none_or(tells_cup) {
            answers.push(Answer::ZeroMoved);
        }
        answers
    }

    /// Moves the mark.
    pub fn mark(&mut self, down: bool) {
        if let Some(question) = self.question() {
            let last = question.answers.len().saturating_sub(1);
            let marked = question.marked;
            self.marked = if down { marked.saturating_add(1).min(last) } else { marked.saturating_sub(1) };
        }
    }

    /// The scale is not heard any more: what the cup weighs after is compared with what it weighed before.
    pub fn out_of_sight(&mut self) {
        if self.is_watched() {
            self.cup.out_of_sight();
        }
    }

    /// Once everything is in, what leaves the cup is being used, and no loss of the mix.
    fn is_watched(&self) -> bool {
        matches!(self.session().phase(), Phase::Weighing | Phase::Over(_) | Phase::Fouled | Phase::Drawing)
    }

    pub(super) fn floor(&self) -> Grams {
        self.session().limits().division.grams()
    }

    /// After each reading: whether the cup went, or came back, and with which weight.
    pub(super) fn watch_cup(&mut self, scale: &ScaleWatch, now: Moment) -> Step {
        if !self.is_watched() {
            return Step::default();
        }
        if self.other_mode(scale).is_some() {
            self.cup.out_of_sight();
            return Step::default();
        }
        let tare = self.session().tare();
        let without =
            scale.live().map_or(scale.is_under(), |gross| self.session().is_without_cup(gross - tare));
        let seen = self.cup.see(&Sight {
            without,
            moving: scale.is_moving(),
            live: scale.live(),
            weight: scale.steady_for().map(|(weight, ms)| (weight.grams(), weight.at(), ms)),
            wanted: tare + self.held(),
            floor: self.floor(),
            dwell_ms: scale.taking().dwell_ms,
            drawing: self.session().phase() == Phase::Drawing,
            now,
        });
        let happened = seen.map(|seen| match seen {
            Seen::Same => {
                // A division more than the book says, since rounding had it so, is no pour.
                if self.held() == self.session().holds() {
                    self.settled_before = scale.weight().map(|weight| weight.grams() - tare);
                }
                Happened::CupBack { same: true }
            }
            Seen::Less => Happened::CupBack { same: false },
            Seen::Other => {
                self.marked = 0;
                Happened::CupAsks
            }
        });
        Step { happened }
    }

    /// Why the reading is no weight of the mix, if the cup was away.
    pub(super) fn not_compared(&self) -> Result<(), BenchError> {
        let why = match self.cup.place() {
            Place::On => return Ok(()),
            Place::Back(_) if self.cup.asked().is_some() => return Ok(()),
            Place::Off(_) => "the cup is off the scale: put it back first",
            Place::Back(_) => "the cup is compared with what it held: wait for it to stand still",
        };
        Err(BenchError::Cup(why))
    }

    /// Books what was poured of the toner that is due and stood still before the cup was lifted, if there is any.
    pub(super) fn book_before(&mut self, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        if self.held() == self.session().holds() {
            return Ok(Step::default());
        }
        let event = self.reads(self.held(), How::Scale)?;
        self.record(&event, tools)
    }

    /// Goes on with an answer to the question: the marked one, or the one with that number (from 0). Which toner
    /// it was if it was another has to be asked first: see [`Bench::wrong_toner`].
    pub fn answer(
        &mut self,
        answer: Answer,
        scale: &ScaleWatch,
        tools: &mut Tools<'_>,
    ) -> Result<Step, BenchError> {
        match answer {
            Answer::NotTheCup => {
                self.cup.put_off();
                Ok(Step::default())
            }
            Answer::ZeroMoved => {
                let weight = scale.weight();
                let weight =
                    weight.ok_or_else(|| BenchError::NoWeight("wait for it to stand still".into()))?;
                self.zero_moved(weight, tools)
            }
            Answer::TakenOut => {
                let net = self.settled(scale)?;
                let mut step = self.book_before(tools)?;
                step.add(self.taken_down_to(net, tools)?);
                self.cup.on();
                Ok(step)
            }
            Answer::Poured => {
                let net = self.settled(scale)?;
                let event = self.reads(net, How::Scale)?;
                let step = self.record(&event, tools)?;
                self.cup.on();
                Ok(step)
            }
            Answer::OtherToner => Err(Refusal::ChooseFirst.into()),
        }
    }

    fn taken_down_to(&mut self, net: Grams, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let event = self.session().take_drawn(net, How::Scale)?;
        self.record(&event, tools)
    }

    /// The cup stands on the scale as it was, and the scale shows so much: its zero has moved. No gram is booked
    /// but those that were poured before.
    pub fn zero_moved(&mut self, on_scale: Weight, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let mut step = self.book_before(tools)?;
        step.add(self.take_up(on_scale, tools)?);
        Ok(step)
    }
}
