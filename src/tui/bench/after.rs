//! What comes after a mix is done: the cup comes back from the booth with what is left in it.

use super::{Bench, BenchError, Step, Tools};
use crate::mix::{Ending, How};
use crate::tui::scale_watch::ScaleWatch;
use crate::units::Grams;

impl Bench {
    /// What is left in the cup, by the scale. It is less than the book has on purpose, so it is not compared with it.
    ///
    /// # Errors
    /// There is no scale, or no weight of it to take.
    pub fn left(&self, scale: &ScaleWatch) -> Result<Grams, BenchError> {
        if !scale.is_present() {
            return Err(BenchError::TypeIt);
        }
        let weight = scale.weight().ok_or_else(|| {
            BenchError::NoWeight(scale.doubt().unwrap_or_else(|| "wait for it to stand still".into()))
        })?;
        let net = weight.grams() - self.session().tare();
        // A cup that was wiped, or a drop gone from the pan: nothing is left.
        let step = weight.division().grams();
        if net < -(step + step) {
            let why = "it is less than the empty cup weighed: is this the right cup, and is it on the scale?";
            return Err(BenchError::NoWeight(why.to_owned()));
        }
        Ok(net.max(Grams::ZERO))
    }

    /// Empties the cup: what is missing was sprayed, what is left is kept or thrown away.
    ///
    /// # Errors
    /// The mix or the book refuses.
    pub fn empty(&mut self, ending: Ending, how: How, tools: &mut Tools<'_>) -> Result<Step, BenchError> {
        let event = self.session().empty(ending, how)?;
        self.record(&event, tools)
    }
}
