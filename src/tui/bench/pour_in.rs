//! A leftover that is poured into the empty cup before the first toner.

use super::{Bench, BenchError, Step, Tools};
use crate::mix::{Event, How, Refusal};
use crate::stock::Leftover;
use crate::tui::scale_watch::ScaleWatch;
use crate::units::{Decimal, Grams};

impl Bench {
    /// That leftover is poured in first. The book is told, so that a mix that is cut off knows what came in meanwhile.
    pub fn begin_with(&mut self, leftover: Leftover, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let step = self.record(&Event::LeftoverDue { from: Some(leftover.of.mix.to_string()) }, tools)?;
        self.pour_in = Some(leftover);
        Ok(step)
    }

    /// Finds the leftover that was to be poured in when the mix was left; false if it is not among those any more.
    pub fn find_leftover(&mut self, kept: &[Leftover]) -> bool {
        let Some(due) = self.session().leftover_due() else { return true };
        self.pour_in = kept.iter().find(|leftover| leftover.of.mix.to_string() == due).cloned();
        self.pour_in.is_some()
    }

    /// The leftover that is to be poured in now.
    pub fn pour_in(&self) -> Option<&Leftover> {
        self.pour_in.as_ref()
    }

    /// Goes on without it.
    ///
    /// # Errors
    /// Some of it is in the cup: it would be booked as a toner.
    pub fn without_leftover(
        &mut self,
        scale: &ScaleWatch,
        tools: &mut Tools<'_>,
    ) -> Result<Step, BenchError> {
        let more = self.net(scale).is_some_and(|net| net > self.session().holds() + self.floor());
        if more || self.is_cup_away() {
            return Err(BenchError::Cup(
                "some of the leftover is in the cup: take it, or pour it back and put the cup on the scale",
            ));
        }
        let step = self.record(&Event::LeftoverDue { from: None }, tools)?;
        self.pour_in = None;
        Ok(step)
    }

    /// What was poured of it, the cup now reading `net`.
    pub(super) fn leftover_in(&self, leftover: &Leftover, net: Grams, how: How) -> Result<Event, Refusal> {
        // Two weighings, then and now, differ by a division or two: no more can come of it than went in.
        let most = self.session().holds() + leftover.holds();
        let spread = self.floor().times(Decimal::new(3, 0));
        let net = if net > most && net - most <= spread { most } else { net };
        self.session().take_leftover(&leftover.of.mix.to_string(), &leftover.made_of, net, how)
    }
}
