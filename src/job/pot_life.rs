//! Until when a mix can be sprayed, from its own events: what the job is told follows from these, and can be told again.

use super::Countdown;
use crate::book::Journal;

/// The pot life of a mix that was made ready to spray, from its first hardener on, as long as its product's sheet said when
/// it was begun; none where no hardener is in, or the sheet does not say how long.
pub fn pot_life(journal: &Journal) -> Option<Countdown> {
    let minutes = journal.session().recipe().readied.as_ref()?.pot_life?;
    Some(Countdown::new(journal.activated()?, minutes))
}
