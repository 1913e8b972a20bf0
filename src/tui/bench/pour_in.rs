//! A leftover that is poured into the empty cup before the first toner.

use super::{Bench, BenchError, Step, Tools};
use crate::mix::How;
use crate::stock::Leftover;
use crate::units::{Decimal, Grams};

impl Bench {
    /// That leftover is poured in first.
    pub fn begin_with(&mut self, leftover: Leftover) {
        self.pour_in = Some(leftover);
    }

    /// The leftover that is to be poured in now.
    pub fn pour_in(&self) -> Option<&Leftover> {
        self.pour_in.as_ref()
    }

    /// Goes on without it.
    pub fn without_leftover(&mut self) {
        self.pour_in = None;
    }

    /// Takes what was poured of it, the cup now reading `net`.
    pub(super) fn take_leftover(
        &mut self,
        net: Grams,
        how: How,
        tools: &mut Tools<'_>,
    ) -> Result<Step, BenchError> {
        let Some(leftover) = self.pour_in.clone() else { return Ok(Step::default()) };
        let (from, all) = (leftover.of.mix.to_string(), leftover.holds());
        // Two weighings, then and now, differ by a division or two: no more can come of it than went in.
        let most = self.session().holds() + all;
        let spread = self.session().limits().division.grams().times(Decimal::new(3, 0));
        let net = if net > most && net - most <= spread { most } else { net };
        let event = self.session().take_leftover(&from, &leftover.made_of, net, how)?;
        let step = self.record(&event, tools)?;
        self.pour_in = None;
        Ok(step)
    }
}
