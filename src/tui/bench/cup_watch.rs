//! Whether the cup is on the scale: what the readings tell of a cup that is lifted and put back. Knows weights and
//! times, and nothing of the mix.

use crate::units::{Grams, Moment};

/// For how long a weight must stand before it is one to compare with later, in milliseconds: longer than a hand is
/// still on its way to the cup, shorter than a look at the screen (common practice, no source).
const STOOD_MS: u64 = 500;
/// A bump on the bench throws the reading about for less than that, in milliseconds (common practice, no source).
const BUMP_MS: u64 = 300;

/// Why the cup has to be compared with what it weighed before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// It was off the scale.
    Lifted,
    /// The scale was not heard, or could not be understood.
    Unseen,
}

/// Where the cup is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// On the scale.
    On,
    /// Off it; the empty pan reads so much, once it stands still.
    Off(Option<Grams>),
    /// Back, or to be seen again, and not compared yet.
    Back(Cause),
}

/// What a reading made of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Seen {
    /// The cup is back, and weighs what it did.
    Same,
    /// It is back, and weighs less as it was meant to.
    Less,
    /// It is back and weighs something else.
    Other,
}

/// What one reading says.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sight {
    /// Whether it is less than a cup can be.
    pub(super) without: bool,
    /// Whether the load moves.
    pub(super) moving: bool,
    /// What the scale shows, moving or not, if it can be trusted.
    pub(super) live: Option<Grams>,
    /// The settled weight, when its reading came, and for how many milliseconds it has stood.
    pub(super) weight: Option<(Grams, Moment, u64)>,
    /// What the cup is to weigh, itself included.
    pub(super) wanted: Grams,
    /// How far two weights of the same may be apart.
    pub(super) floor: Grams,
    /// For how long another weight must stand before it is asked about, in milliseconds.
    pub(super) dwell_ms: u64,
    /// Whether something is being taken out.
    pub(super) drawing: bool,
    /// When.
    pub(super) now: Moment,
}

/// A weight that is another than before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Asked {
    /// What the scale shows.
    pub(super) gross: Grams,
    /// Since when it is asked what to do about it.
    pub(super) since: Moment,
}

#[derive(Clone, Copy, Debug)]
struct Away {
    cause: Cause,
    without: bool,
    /// What the pan read without the cup.
    pan: Option<Grams>,
    /// What stands there since it came back, and since when.
    back: Option<(Grams, Moment)>,
    asked: Option<Asked>,
    /// What was said not to be the cup.
    put_off: Option<Grams>,
}

/// Follows the cup.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct CupWatch {
    /// The last weight that stood with the cup on the scale, since the last event.
    stood: Option<Grams>,
    away: Option<Away>,
    /// Readings without the cup that are not enough yet: since when, and how many.
    without: Option<(Moment, u32)>,
}

impl Away {
    const fn new(cause: Cause) -> Self {
        Self {
            cause,
            without: matches!(cause, Cause::Lifted),
            pan: None,
            back: None,
            asked: None,
            put_off: None,
        }
    }
}

impl CupWatch {
    /// The last weight that stood with the cup on the scale, unless something was booked since.
    pub(super) const fn stood(&self) -> Option<Grams> {
        self.stood
    }

    /// Something was booked: the book says what the cup weighs.
    pub(super) const fn booked(&mut self) {
        self.stood = None;
    }

    /// A person said what is with the cup: it is on the scale.
    pub(super) const fn on(&mut self) {
        (self.away, self.without) = (None, None);
    }

    /// The scale is not heard any more, or not to be understood.
    pub(super) const fn out_of_sight(&mut self) {
        let pan = match self.away {
            Some(away) => away.pan,
            None => None,
        };
        self.away = Some(Away { pan, ..Away::new(Cause::Unseen) });
        self.without = None;
    }

    /// Where the cup is.
    pub(super) const fn place(&self) -> Place {
        match self.away {
            None => Place::On,
            // What stands there instead of the cup was said not to be it.
            Some(Away { without: true, pan, .. } | Away { put_off: Some(_), pan, .. }) => Place::Off(pan),
            Some(Away { cause, .. }) => Place::Back(cause),
        }
    }

    /// What the empty pan read while the cup was off.
    pub(super) fn pan(&self) -> Option<Grams> {
        self.away?.pan
    }

    /// The other weight that the cup came back with.
    pub(super) fn asked(&self) -> Option<Asked> {
        self.away?.asked
    }

    /// What stands there is not the cup: it is not asked about again.
    pub(super) fn put_off(&mut self) {
        if let Some(away) = &mut self.away {
            away.put_off = away.asked.take().map(|asked| asked.gross);
        }
    }

    /// Takes a reading in.
    pub(super) fn see(&mut self, sight: &Sight) -> Option<Seen> {
        if sight.without {
            self.see_without(sight);
            return None;
        }
        self.without = None;
        let near = |one: Grams, other: Grams| (one - other).abs() <= sight.floor;
        let Some(away) = &mut self.away else {
            let stood = sight.weight.filter(|(_, _, ms)| *ms >= STOOD_MS);
            self.stood = stood.map(|(gross, _, _)| gross).or(self.stood);
            return None;
        };
        away.without = false;
        // Once it moves on an answer would be about another weight.
        if away.back.is_some_and(|(gross, _)| sight.live.is_none_or(|live| !near(live, gross))) {
            (away.back, away.asked) = (None, None);
        }
        let (gross, at, _) = sight.weight?;
        let off = gross - sight.wanted;
        let drawn = sight.drawing && off.is_negative();
        if drawn || near(gross, sight.wanted) {
            self.away = None;
            return Some(if drawn && !near(gross, sight.wanted) { Seen::Less } else { Seen::Same });
        }
        if away.put_off.is_some_and(|put_off| near(put_off, gross)) {
            return None;
        }
        away.put_off = None;
        let (_, since) = *away.back.get_or_insert((gross, at));
        if at.since(since) < sight.dwell_ms {
            return None;
        }
        let before = away.asked.replace(Asked { gross, since: sight.now });
        if let (Some(before), Some(asked)) = (before, &mut away.asked) {
            asked.since = before.since;
            return None;
        }
        Some(Seen::Other)
    }

    fn see_without(&mut self, sight: &Sight) {
        let pan = sight.weight.map(|(gross, _, _)| gross);
        if let Some(away) = self.away {
            self.away = Some(Away { pan: pan.or(away.pan), ..Away::new(Cause::Lifted) });
            return;
        }
        let (since, count) = self.without.unwrap_or((sight.now, 0));
        let count = count.saturating_add(1);
        self.without = Some((since, count));
        // One reading is a digit lost on the wire, and a few that move are a bump.
        if count >= 2 && (!sight.moving || sight.now.since(since) >= BUMP_MS) {
            self.without = None;
            self.away = Some(Away { pan, ..Away::new(Cause::Lifted) });
        }
    }
}
