//! A bad wire for hours: what a scale sends, what comes of it, and what gets past settle. Seeded, so that the same
//! seed always gives the same; used by `cargo bench --bench noise` and by `tests/settle_noise.rs`.

use pourbook::scale::shape::{Decoded, Shape};
use pourbook::scale::{Chance, Frame, Mode, Reading, Rules, Settle, Stability, Weight, encode_nearest};
use pourbook::units::{Decimal, Division, Grams, MassUnit, Moment};
use std::collections::VecDeque;

/// Readings come ten times a second.
const EVERY_MS: u64 = 100;
/// How far back a weight may still be the truth: from that age on a reading counts for nothing.
const FRESH: usize = 10;
/// Readings of a pour, and of the rest after it.
const POUR: u64 = 10;
const REST: u64 = 20;
/// One more than a rest can take.
const TOOK: usize = 21;

/// What came of a format on the bad wire.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Came {
    /// Readings with any damage.
    pub(crate) damaged: u64,
    /// Frames with another number, or in another unit, than was sent in the second before.
    pub(crate) misread: u64,
    /// The same, not marked as moving: each would have been a wrong weight on its own.
    pub(crate) misread_stable: u64,
    /// Readings that settled a weight.
    pub(crate) weights: u64,
    /// Those of them that were not on the pan within the second before.
    pub(crate) wrong: u64,
    /// Rests in which a weight settled.
    pub(crate) settled_rests: u64,
    /// How many of them took so many readings from the first at rest to the first weight.
    pub(crate) took: [u64; TOOK],
}

impl Came {
    /// The half of all rests took no more readings to a weight.
    pub(crate) fn median_readings_to_weight(&self) -> usize {
        let mut rests = 0;
        let reaches = |count: &u64| {
            rests += count;
            rests * 2 >= self.settled_rests
        };
        self.took.iter().position(reaches).unwrap_or(0)
    }
}

/// Pours and rests without end: what the scale shows, in tenths of a gram, and whether it moves.
struct Pan {
    tenths: i64,
    step: u64,
}

impl Pan {
    /// A pour, then a rest, the last digit flickering in every third rest.
    fn next(&mut self, chance: &mut Chance) -> (i64, bool) {
        let moving = self.place() < POUR;
        if moving {
            self.tenths = (self.tenths + 1 + below(chance, 90)) % 60_000;
        }
        let rest = self.step / (POUR + REST);
        let flickers = !moving && rest.is_multiple_of(3) && chance.next().is_multiple_of(2);
        self.step += 1;
        (self.tenths + i64::from(flickers), moving)
    }

    /// Which reading of a pour and its rest comes next.
    const fn place(&self) -> u64 {
        self.step % (POUR + REST)
    }
}

fn below(chance: &mut Chance, limit: u64) -> i64 {
    i64::try_from(chance.next() % limit).unwrap_or(0)
}

/// The bytes in which a scale of that shape sends it, as near as the shape can say it.
pub(crate) fn encode(shape: &dyn Shape, tenths: i64, moving: bool) -> Vec<u8> {
    let frame = Frame::weight(
        Decimal::new(tenths, 1),
        MassUnit::Gram,
        if moving { Stability::Moving } else { Stability::Stable },
        Mode::Gross,
    );
    encode_nearest(&frame, shape)
}

/// The wire: of every byte each of eight bits is flipped, and the byte lost, doubled, or another put before it, one
/// time in so many each. No byte suffers twice.
pub(crate) struct Wire {
    chance: Chance,
    one_in: f64,
    /// Bytes until the next that suffers; none if none ever does.
    until: Option<u64>,
}

impl Wire {
    /// Bit errors at that rate; nothing is damaged at a rate of nothing.
    pub(crate) fn new(seed: u64, rate: f64) -> Self {
        let mut wire = Self { chance: Chance::new(seed), one_in: 1.0 - (1.0 - rate).powi(11), until: None };
        wire.until = wire.gap();
        wire
    }

    /// Bytes up to the next that suffers, spread as independent throws would have it.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a count, far below the limit"
    )]
    fn gap(&mut self) -> Option<u64> {
        let throw = 1.0 - self.chance.part();
        (self.one_in > 0.0).then(|| (throw.ln() / (1.0 - self.one_in).ln()) as u64)
    }

    /// What comes out at the far end.
    pub(crate) fn carry(&mut self, sent: &[u8], came: &mut Vec<u8>) {
        for &byte in sent {
            match self.until {
                Some(0) => {
                    self.damage(byte, came);
                    self.until = self.gap();
                }
                other => {
                    self.until = other.map(|left| left - 1);
                    came.push(byte);
                }
            }
        }
    }

    fn damage(&mut self, byte: u8, came: &mut Vec<u8>) {
        match self.chance.next() % 11 {
            8 => {}
            9 => came.extend([byte, byte]),
            10 => {
                // Printable more often than not, so that it can do harm.
                let digit = self.chance.next().is_multiple_of(2);
                came.extend([if digit { b'0' + byte % 10 } else { byte.rotate_left(3) }, byte]);
            }
            bit => came.push(byte ^ (1 << bit)),
        }
    }
}

fn is_one_of(mass: Grams, fresh: &VecDeque<i64>) -> bool {
    let near = |tenths: &i64| (mass - Grams::new(Decimal::new(*tenths, 1))).abs() <= Division::TENTH.grams();
    fresh.iter().rev().any(near)
}

/// Weighs so many readings of that format over a wire with bit errors at that rate. `wrong` is told each weight that
/// is none.
pub(crate) fn weigh(
    shape: &dyn Shape,
    rules: Rules,
    (readings, rate, seed): (u64, f64, u64),
    mut wrong: impl FnMut(u64, Weight),
) -> Came {
    let mut chance = Chance::new(seed);
    let mut wire = Wire::new(seed ^ 0x5EED, rate);
    let mut pan = Pan { tenths: 214, step: 0 };
    let mut decoder = shape.decoder();
    let mut settle = Settle::new(rules);
    let mut came = Came::default();
    let mut fresh = VecDeque::with_capacity(FRESH + 1);
    let (mut bytes, mut out) = (Vec::new(), Vec::new());
    let mut noise = 0_u32;
    let mut awaits = false;
    for number in 0..readings {
        let place = pan.place();
        awaits = place == POUR || awaits && place > POUR;
        let (tenths, moving) = pan.next(&mut chance);
        fresh.push_back(tenths);
        if fresh.len() > FRESH {
            fresh.pop_front();
        }
        let sent = encode(shape, tenths, moving);
        bytes.clear();
        wire.carry(&sent, &mut bytes);
        came.damaged += u64::from(bytes != sent);
        decoder.push(&bytes, &mut out);
        for item in out.drain(..) {
            let frame = match item {
                Decoded::Frame(frame) => frame,
                Decoded::Noise(count) => {
                    noise = noise.saturating_add(u32::try_from(count).unwrap_or(u32::MAX));
                    continue;
                }
                Decoded::Answer(_) => {
                    noise = noise.saturating_add(1);
                    continue;
                }
            };
            if frame.grams().is_some_and(|mass| !is_one_of(mass, &fresh)) {
                came.misread += 1;
                came.misread_stable += u64::from(frame.stability != Stability::Moving);
            }
            let at = Moment(EVERY_MS * (number + 1));
            let reading = Reading { noise_before: std::mem::take(&mut noise), ..Reading::new(frame, at) };
            let Some(weight) = settle.feed(&reading).weight else { continue };
            came.weights += 1;
            if std::mem::take(&mut awaits) {
                came.settled_rests += 1;
                let took = usize::try_from(place - POUR + 1).unwrap_or(TOOK);
                came.took[took.min(TOOK - 1)] += 1;
            }
            if !is_one_of(weight.grams(), &fresh) {
                came.wrong += 1;
                wrong(number, weight);
            }
        }
    }
    came
}
