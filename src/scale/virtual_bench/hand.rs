//! What a hand can do at the virtual bench.

use crate::units::Grams;

/// Something a hand does at the bench.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hand {
    /// Tip the tin one step further, up to [`super::STEPS`].
    TipMore,
    /// Tip it one step back.
    TipLess,
    /// Set it upright: it drips a little.
    Upright,
    /// Take the cup off the scale. Paint that is poured meanwhile is lost; the bench's own hand waits.
    LiftCup,
    /// Put it back.
    PutCup,
    /// Take the cup away and put an empty one on, and take up a full tin.
    FreshCup,
    /// Take a full tin, upright.
    NextTin,
    /// Stir, and take that much out of the cup, rounded up to the division, over two seconds or so; all of it, if
    /// it holds no more. One asked for before takes no more from then on.
    DrawOff(Grams),
    /// The bench's own hand: pour, in one go, until the scale would show about so much, and land a little above
    /// as hands do. It pours from a tin of its own that never runs empty, and not at all if there is that much
    /// already. How far it lands above hangs on the seed and on how many such pours there were, not on time.
    PourTo(Grams),
    /// The load is exactly that, at once: the cup with so much in it that it is, or, where the cup alone would
    /// be more, no cup and a bare weight (less than nothing: the pan is off). For tests.
    Load(Grams),
    /// Lean on the bench.
    Bump,
    /// The tin, while it is upright, drips so much a second from now on; nothing: no more than it does by itself.
    Drip(Grams),
    /// The floor shakes the pan by so much either way from now on; nothing: no more.
    Shake(Grams),
    /// A draught pushes the pan to and fro by about so much from now on; nothing: no more.
    Draught(Grams),
    /// Warmth carries the reading away by so much a minute from now on; nothing: no further.
    Drift(Grams),
    /// Whether the scale tracks its zero, as most do and this one does not unless it is asked.
    TrackZero(bool),
    /// The scale's zero key. Like a scale's it does nothing while the load moves or beyond 2 % of the capacity.
    Zero,
    /// The scale's tare key. It does nothing while the load moves.
    Tare,
}
