//! What a person or the scale can do to a mix: each answers with the event that does it, or why not.

use super::{Phase, Refusal, Session};
use crate::catalogue::TonerCode;
use crate::mix::options::Choice;
use crate::mix::{Drawn, Event, How, Pour, Steer, Way};
use crate::units::Grams;

impl Session {
    /// Takes what was poured of the current toner, the cup now reading so much.
    ///
    /// A pour that is short is taken as one of several goes; one that is over is taken as it is.
    pub fn take(&self, reading: Grams, how: How) -> Result<Event, Refusal> {
        let line = self.goal().ok_or_else(|| self.why_not())?.line;
        let toner = self.recipe().lines().get(line).map(|line| line.toner.clone());
        self.poured_event(toner.ok_or(Refusal::NotComplete)?, self.tin(line), reading, how)
    }

    /// Takes what was poured, the cup now reading so much, as another toner than the one that was due.
    pub fn take_wrong(
        &self,
        toner: TonerCode,
        tin: Option<&str>,
        reading: Grams,
        how: How,
    ) -> Result<Event, Refusal> {
        if !matches!(self.phase(), Phase::Weighing | Phase::Complete) {
            return Err(self.why_not());
        }
        self.poured_event(toner, tin, reading, how)
    }

    fn poured_event(
        &self,
        toner: TonerCode,
        tin: Option<&str>,
        reading: Grams,
        how: How,
    ) -> Result<Event, Refusal> {
        let (before, after) = (self.holds(), reading.to_book());
        if after <= before {
            return Err(Refusal::NothingPoured);
        }
        Ok(Event::Poured(Pour { toner, tin: tin.map(str::to_owned), before, after, how }))
    }

    /// Takes what was drawn off, the cup now reading so much.
    pub fn take_drawn(&self, reading: Grams, how: How) -> Result<Event, Refusal> {
        if !self.is_unfinished() {
            return Err(Refusal::Ended);
        }
        let (before, after) = (self.holds(), reading.to_book());
        if after >= before {
            return Err(Refusal::NothingTaken);
        }
        if after.is_negative() {
            return Err(Refusal::TooMuchTaken);
        }
        Ok(Event::DrawnOff(Drawn { before, after, how }))
    }

    /// Goes the way that was chosen. Starting again is not a turn of this mix but its end: it is given up.
    pub fn steer(&self, choice: &Choice) -> Result<Event, Refusal> {
        if !matches!(self.phase(), Phase::Over(_) | Phase::Fouled) {
            return Err(Refusal::NothingOver);
        }
        if choice.way == Way::Restart {
            return Ok(Event::Abandoned { reason: "started again".to_owned() });
        }
        Ok(Event::Steered(Steer {
            way: choice.way,
            final_mass: choice.formula_mass.to_book_up(),
            slack: choice.slack,
            draw_off: choice.draw_off,
        }))
    }

    /// Turns to another toner.
    pub fn turn_to(&self, line: usize) -> Result<Event, Refusal> {
        if self.phase() != Phase::Weighing {
            return Err(self.why_not());
        }
        let toner = self.recipe().lines().get(line).map(|line| line.toner.clone());
        Ok(Event::Turned { toner: toner.ok_or(Refusal::BadOrder)? })
    }

    /// Puts the mix aside.
    pub fn set_aside(&self) -> Result<Event, Refusal> {
        match self.phase() {
            Phase::Abandoned | Phase::Finished => Err(Refusal::Ended),
            Phase::Aside => Err(Refusal::IsAside),
            _ => Ok(Event::SetAside),
        }
    }

    /// Takes the mix up again, the scale showing `tare` less than what the cup holds.
    pub fn take_up(&self, tare: Grams) -> Result<Event, Refusal> {
        if self.phase() == Phase::Aside { Ok(Event::TakenUp { tare }) } else { Err(Refusal::NotAside) }
    }

    /// Gives the mix up.
    pub fn abandon(&self, reason: &str) -> Result<Event, Refusal> {
        if !self.is_unfinished() {
            return Err(Refusal::Ended);
        }
        let reason = reason.trim();
        if reason.is_empty() {
            Err(Refusal::NoReason)
        } else {
            Ok(Event::Abandoned { reason: reason.to_owned() })
        }
    }

    /// Says that the mix is done.
    pub fn finish(&self) -> Result<Event, Refusal> {
        if self.phase() == Phase::Complete { Ok(Event::Finished) } else { Err(self.why_not()) }
    }

    fn why_not(&self) -> Refusal {
        match self.phase() {
            Phase::Over(_) | Phase::Fouled | Phase::Drawing => Refusal::ChooseFirst,
            Phase::Aside => Refusal::IsAside,
            Phase::Abandoned | Phase::Finished => Refusal::Ended,
            Phase::Weighing | Phase::Complete => Refusal::NotComplete,
        }
    }
}
