//! What was heard at one setting, and what every format made of it.

use super::Byte;
use super::line::{FRAMINGS, as_heard_at, framed, hears_as};
use crate::scale::Frame;
use crate::scale::shape::{Answer, Decoded, Decoder, Shape, UsualLine};
use crate::units::MassUnit;

/// What one format made of the bytes at one setting.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// The setting in force.
    pub line: UsualLine,
    /// The format.
    pub shape: &'static dyn Shape,
    /// Weights that were understood.
    pub readings: u64,
    /// Other answers that were understood.
    pub answers: u64,
    /// Bytes that belonged to nothing, once something had been understood.
    pub left_over: u64,
    /// Bytes before anything was understood: the rest of a frame that had begun before.
    pub before: u64,
    /// Bytes whose parity or stop bit was wrong, once something had been understood: a byte that had begun before
    /// the port was listened to is always damaged.
    pub damaged: u64,
    /// Bytes in all.
    pub bytes: u64,
    /// Readings whose decimals or unit are not those of the reading before.
    pub at_odds: u64,
    /// The last reading with a number.
    pub last: Option<Frame>,
}

/// So much may come before the first whole frame: no frame of any format is longer (worked out here).
const LONGEST: u64 = 100;

impl Evidence {
    const fn none(line: UsualLine, shape: &'static dyn Shape) -> Self {
        Self {
            line,
            shape,
            readings: 0,
            answers: 0,
            left_over: 0,
            before: 0,
            damaged: 0,
            bytes: 0,
            at_odds: 0,
            last: None,
        }
    }

    /// What was understood, weights or not.
    pub const fn understood(&self) -> u64 {
        self.readings.saturating_add(self.answers)
    }

    /// Whether nothing speaks against it.
    pub const fn is_clean(&self) -> bool {
        self.understood() > 0
            && self.left_over == 0
            && self.damaged == 0
            && self.at_odds == 0
            && self.before <= LONGEST
    }

    /// Whether it explains what came: nearly all of it.
    pub const fn explains(&self) -> bool {
        let against = self.left_over.saturating_add(self.damaged);
        self.understood() > 0 && against.saturating_mul(10) <= self.bytes
    }

    fn take(&mut self, item: Decoded) {
        match item {
            Decoded::Frame(frame) => {
                self.readings = self.readings.saturating_add(1);
                self.compare(frame);
            }
            Decoded::Answer(_) => self.answers = self.answers.saturating_add(1),
            Decoded::Noise(count) => {
                let place = if self.understood() > 0 { &mut self.left_over } else { &mut self.before };
                *place = place.saturating_add(count as u64);
            }
        }
    }

    fn compare(&mut self, frame: Frame) {
        let Some(value) = frame.value else { return };
        let units = |a: Option<MassUnit>, b: Option<MassUnit>| a.is_none() || b.is_none() || a == b;
        if let Some((last, before)) = self.last.as_ref().and_then(|last| Some((last, last.value?)))
            && (before.scale() != value.scale() || !units(last.unit, frame.unit))
        {
            self.at_odds = self.at_odds.saturating_add(1);
        }
        self.last = Some(frame);
    }
}

/// One format's decoder and what it made of the bytes.
struct Listener {
    decoder: Box<dyn Decoder>,
    evidence: Evidence,
    answers: Vec<Answer>,
}

/// So many answers are kept: a scale has some ten lines about itself.
const ANSWERS: usize = 64;

impl Listener {
    fn new(line: UsualLine, shape: &'static dyn Shape) -> Self {
        Self { decoder: shape.decoder(), evidence: Evidence::none(line, shape), answers: Vec::new() }
    }

    /// A byte that is not there is one that no format has.
    fn hear(&mut self, bytes: &[Option<u8>]) {
        self.evidence.bytes = self.evidence.bytes.saturating_add(bytes.len() as u64);
        let mut decoded = Vec::new();
        for byte in bytes {
            if byte.is_none() && self.evidence.understood() > 0 {
                self.evidence.damaged = self.evidence.damaged.saturating_add(1);
            }
            self.decoder.push(&[byte.unwrap_or(0)], &mut decoded);
            for item in decoded.drain(..) {
                self.take(item);
            }
        }
    }

    fn take(&mut self, item: Decoded) {
        if let Decoded::Answer(answer) = &item
            && self.answers.len() < ANSWERS
        {
            self.answers.push(answer.clone());
        }
        self.evidence.take(item);
    }
}

/// Everything that was heard at one setting: all formats listen to the same bytes at once, and besides as if the line
/// were set otherwise at the same speed.
pub(super) struct Heard {
    pub(super) line: UsualLine,
    pub(super) bytes: u64,
    pub(super) damaged: u64,
    listeners: Vec<Listener>,
    /// The other framings of that speed, each with its listeners.
    hints: Vec<(UsualLine, Vec<Listener>)>,
}

impl Heard {
    /// `tells_damage`: see [`super::Probe::tells_damage`]. Without it only what eight bits show is to be relied on.
    pub(super) fn new(line: UsualLine, shapes: &[&'static dyn Shape], tells_damage: bool) -> Self {
        let all = |line| shapes.iter().map(|shape| Listener::new(line, *shape)).collect();
        let others = FRAMINGS.into_iter().map(|(data_bits, parity)| framed(line.baud, data_bits, parity));
        let shown = |other: &UsualLine| tells_damage || line.data_bits == 8 && other.data_bits == 7;
        let hints = others.filter(|other| !hears_as(*other, line) && shown(other));
        Self {
            line,
            bytes: 0,
            damaged: 0,
            listeners: all(line),
            hints: hints.map(|other| (other, all(other))).collect(),
        }
    }

    pub(super) fn hear(&mut self, bytes: &[Byte]) {
        if bytes.is_empty() {
            return;
        }
        self.bytes = self.bytes.saturating_add(bytes.len() as u64);
        self.damaged = self.damaged.saturating_add(bytes.iter().filter(|byte| byte.damaged).count() as u64);
        let plain: Vec<Option<u8>> = bytes.iter().map(|byte| (!byte.damaged).then_some(byte.value)).collect();
        for listener in &mut self.listeners {
            listener.hear(&plain);
        }
        let line = self.line;
        for (other, listeners) in &mut self.hints {
            let other: Vec<Option<u8>> = bytes.iter().map(|byte| as_heard_at(*other, line, *byte)).collect();
            for listener in listeners {
                listener.hear(&other);
            }
        }
    }

    /// What each format made of it, where it understood something.
    pub(super) fn evidence(&self) -> impl Iterator<Item = &Evidence> {
        self.listeners.iter().map(|listener| &listener.evidence).filter(|evidence| evidence.understood() > 0)
    }

    /// The answers of that format, in order.
    pub(super) fn answers(&self, shape: &'static dyn Shape) -> &[Answer] {
        let own = self.listeners.iter().find(|listener| listener.evidence.shape.name() == shape.name());
        own.map(|listener| listener.answers.as_slice()).unwrap_or_default()
    }

    /// The settings that would have explained what came, those that explain most first. Where this one explains it
    /// itself there is none.
    pub(super) fn hints(&self) -> Vec<UsualLine> {
        if self.evidence().any(Evidence::is_clean) {
            return Vec::new();
        }
        let most = |listeners: &Vec<Listener>| {
            let explaining = listeners.iter().filter(|listener| listener.evidence.explains());
            explaining.map(|listener| listener.evidence.understood()).max().unwrap_or(0)
        };
        let mut hints: Vec<(u64, UsualLine)> =
            self.hints.iter().map(|(line, listeners)| (most(listeners), *line)).collect();
        hints.retain(|(understood, _)| *understood > 0);
        hints.sort_by_key(|(understood, _)| std::cmp::Reverse(*understood));
        hints.into_iter().map(|(_, line)| line).collect()
    }

    /// Whether another setting is sure enough not to listen here any longer.
    pub(super) fn is_hinted(&self) -> bool {
        let sure = |listener: &Listener| listener.evidence.is_clean() && listener.evidence.understood() >= 2;
        self.evidence().next().is_none() && self.hints.iter().any(|(_, listeners)| listeners.iter().any(sure))
    }
}
