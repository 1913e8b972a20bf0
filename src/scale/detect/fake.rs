//! A port that is not there, with a speed and a parity: the virtual bench behind a serial line that is modelled bit
//! by bit, on a clock of its own. A pseudo terminal has neither, so it is here that a search is proven and measured.

use super::uart::{Receiver, Wire};
use super::{Byte, Probe, Refusal};
use crate::scale::shape::{Ask, Shape, UsualLine};
use crate::scale::virtual_bench::{Hand, Spec, VirtualBench};
use crate::units::{Grams, Moment};

const MS_NS: u64 = 1_000_000;
/// How often the model is moved on, in milliseconds.
const STEP_MS: u64 = 5;
/// How long a scale thinks before it answers, in milliseconds (as one maker's manual says of the SMA format).
const THINK_MS: u64 = 100;
/// How many bytes a scale keeps of what it does not understand.
const MOST_PENDING: usize = 64;
/// How long a port takes to be set.
const SET_MS: u64 = 10;

/// The scale at the far end.
#[derive(Clone, Debug)]
pub struct FakeScale {
    /// What it speaks; nothing is there where nothing is.
    pub shape: Option<&'static dyn Shape>,
    /// Its line settings.
    pub line: UsualLine,
    /// Whether it speaks by itself.
    pub streams: bool,
    /// Whether it listens to commands at all.
    pub listens: bool,
    /// Whether it takes bytes with a wrong parity or stop bit as they are.
    pub lax: bool,
    /// The bench behind it.
    pub spec: Spec,
    /// Where its chance begins.
    pub seed: u64,
}

impl FakeScale {
    /// A scale of that format at that setting, which sends by itself ten times a second and can be asked.
    pub fn new(shape: &'static dyn Shape, line: UsualLine) -> Self {
        Self {
            shape: Some(shape),
            line,
            streams: true,
            listens: true,
            lax: false,
            spec: Spec::default(),
            seed: 1,
        }
    }

    /// The same, speaking only when it is asked.
    #[must_use]
    pub fn polled(self) -> Self {
        Self { streams: false, ..self }
    }
}

/// A port with that scale.
#[derive(Debug)]
pub struct FakePort {
    scale: FakeScale,
    bench: VirtualBench,
    now: u64,
    next: u64,
    to_us: Wire,
    to_scale: Wire,
    our_ear: Receiver,
    its_ear: Receiver,
    pending: Vec<u8>,
    received: Vec<u8>,
    asked: Vec<Ask>,
    answers: Vec<(u64, Vec<u8>)>,
    /// What the port was set to before.
    pub before: Option<UsualLine>,
    /// Whether it tells damaged bytes from others. One that does not hands them on as they are.
    pub tells: bool,
    /// Whether a parity can be set; where not, it stays 8N1, as a pseudo terminal does.
    pub has_parity: bool,
}

impl FakePort {
    /// Plugs the scale in. It begins to speak at a time that its seed says.
    pub fn new(scale: FakeScale) -> Self {
        let mut bench = VirtualBench::new(scale.spec.clone(), scale.seed);
        // Something is being poured, so that the weight is not always the same.
        bench.hand(Hand::PourTo(Grams::from_micrograms(400_000_000)));
        let begins = scale.seed.wrapping_mul(37) % 100;
        Self {
            bench,
            now: 0,
            next: begins.saturating_mul(MS_NS),
            to_us: Wire::default(),
            to_scale: Wire::default(),
            our_ear: Receiver::new(scale.line, 0),
            its_ear: Receiver::new(scale.line, 0),
            pending: Vec::new(),
            received: Vec::new(),
            asked: Vec::new(),
            answers: Vec::new(),
            before: None,
            tells: true,
            has_parity: true,
            scale,
        }
    }

    /// What the scale took for a command, in order.
    pub fn asked(&self) -> &[Ask] {
        &self.asked
    }

    /// The bytes that the scale received.
    pub fn received(&self) -> &[u8] {
        &self.received
    }

    fn step(&mut self) {
        self.now = self.now.saturating_add(STEP_MS * MS_NS);
        self.bench.advance(STEP_MS);
        let Some(shape) = self.scale.shape else { return };
        self.hear(shape);
        let (due, later) = std::mem::take(&mut self.answers).into_iter().partition(|(at, _)| *at <= self.now);
        self.answers = later;
        let due: Vec<(u64, Vec<u8>)> = due;
        for (at, bytes) in due {
            self.to_us.send(&bytes, self.scale.line, at);
        }
        if self.now >= self.next {
            let every = 1_000_u64.checked_div(u64::from(self.scale.spec.rate_hz)).unwrap_or(100).max(1);
            self.next = self.next.saturating_add(every.saturating_mul(MS_NS));
            // A line that is slower than the scale leaves out what it has no time for.
            if self.scale.streams && self.to_us.free_at() <= self.now {
                let bytes = self.bench.bytes(shape);
                self.to_us.send(&bytes, self.scale.line, self.now);
            }
        }
    }

    fn hear(&mut self, shape: &'static dyn Shape) {
        let mut fresh = Vec::new();
        self.its_ear.take(&self.to_scale, self.now, &mut fresh);
        for (at, byte) in fresh {
            if byte.damaged && !self.scale.lax {
                continue;
            }
            self.received.push(byte.value);
            self.pending.push(byte.value);
            while self.scale.listens
                && let Some((ask, used)) = shape.understand(&self.pending)
            {
                self.pending.drain(..used.min(self.pending.len()));
                self.asked.push(ask);
                match ask {
                    Ask::Repeat => self.scale.streams = true,
                    Ask::Stop => self.scale.streams = false,
                    _ => {}
                }
                let answer = self.bench.answer(ask, shape);
                self.answers.push((at.saturating_add(THINK_MS * MS_NS), answer));
            }
            // A question is a few bytes; what is older than that is noise.
            let old = self.pending.len().saturating_sub(MOST_PENDING);
            self.pending.drain(..old);
        }
    }
}

impl Probe for FakePort {
    fn now(&self) -> Moment {
        Moment(self.now / MS_NS)
    }

    fn set_before(&self) -> Option<UsualLine> {
        self.before
    }

    fn set(&mut self, line: UsualLine) -> Result<UsualLine, Refusal> {
        for _ in 0..SET_MS / STEP_MS {
            self.step();
        }
        let plain = UsualLine { data_bits: 8, parity: 'N', stop_bits: 1, ..line };
        let line = if self.has_parity { line } else { plain };
        self.our_ear = Receiver::new(line, self.now);
        Ok(line)
    }

    fn read(&mut self, ms: u64, out: &mut Vec<Byte>) -> Result<(), Refusal> {
        let until = self.now.saturating_add(ms.saturating_mul(MS_NS));
        let mut came = Vec::new();
        while came.is_empty() && self.now < until {
            self.step();
            self.our_ear.take(&self.to_us, self.now, &mut came);
        }
        let second_ago = self.now.saturating_sub(1_000 * MS_NS);
        self.to_us.forget(second_ago);
        self.to_scale.forget(second_ago);
        out.extend(came.into_iter().map(|(_, byte)| Byte { damaged: byte.damaged && self.tells, ..byte }));
        Ok(())
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), Refusal> {
        self.to_scale.send(bytes, self.our_ear.line, self.now);
        Ok(())
    }

    fn tells_damage(&self) -> bool {
        self.tells
    }
}
