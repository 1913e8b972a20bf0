//! The scale's end of a serial line. The benchmark writes to it itself, so that it knows when.

use pourbook::scale::{Frame, Mode, Stability, shape};
use pourbook::units::{Decimal, MassUnit};
use serialport::{SerialPort, TTYPort};
use std::io::{Read, Write};
use std::path::Path;
use std::sync::mpsc::{Receiver, channel};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread::Builder;
use std::time::{Duration, Instant};

/// The shape spoken.
pub(crate) const SHAPE: &str = "sma";

/// The bytes of a frame with that many tenths of a gram.
pub(crate) fn frame(tenths: i64, stability: Stability) -> Vec<u8> {
    let frame = Frame::weight(Decimal::new(tenths, 1), MassUnit::Gram, stability, Mode::Gross);
    let bytes = shape::by_name(SHAPE).expect("it is there").encode(&frame);
    assert!(!bytes.is_empty(), "the number fits");
    bytes
}

/// What the scale says next, and how often.
pub(crate) struct Saying {
    pub(crate) tenths: i64,
    /// How many tenths more each time.
    pub(crate) step: i64,
    pub(crate) stability: Stability,
    /// None: nothing by itself.
    pub(crate) every: Option<Duration>,
    /// How often it has spoken by itself.
    pub(crate) said: u32,
    master: TTYPort,
}

#[derive(Clone)]
pub(crate) struct Wire(Arc<Mutex<Saying>>);

impl Wire {
    /// A line whose far end is reached through that link. Its thread ends with the benchmark.
    pub(crate) fn new(link: &Path) -> Self {
        let (mut master, slave) = TTYPort::pair().expect("a pseudo terminal");
        master.set_timeout(Duration::from_secs(5)).expect("it can be set");
        std::os::unix::fs::symlink(slave.name().expect("it has a name"), link).expect("a link");
        // The far end is the program's alone.
        drop(slave);
        let saying =
            Saying { tenths: 0, step: 0, stability: Stability::Stable, every: None, said: 0, master };
        let wire = Self(Arc::new(Mutex::new(saying)));
        let speaker = wire.clone();
        Builder::new().name("scale".into()).spawn(move || speaker.speak()).expect("a thread");
        wire
    }

    pub(crate) fn saying(&self) -> MutexGuard<'_, Saying> {
        self.0.lock().expect("no thread fails")
    }

    /// Writes these bytes now; the moment just before.
    pub(crate) fn write(&self, bytes: &[u8]) -> Instant {
        let mut saying = self.saying();
        let begun = Instant::now();
        saying.master.write_all(bytes).expect("the line takes it");
        begun
    }

    fn speak(&self) {
        let mut next = Instant::now();
        loop {
            let every = {
                let mut saying = self.saying();
                if saying.every.is_some() {
                    let bytes = frame(saying.tenths, saying.stability);
                    // Nobody at the far end is no fault of a scale.
                    let _ = saying.master.write_all(&bytes);
                    saying.tenths += saying.step;
                    saying.said += 1;
                }
                saying.every.unwrap_or(Duration::from_millis(5))
            };
            next = (next + every).max(Instant::now());
            std::thread::sleep(next.saturating_duration_since(Instant::now()));
        }
    }
}

/// The same bytes through a pseudo terminal with nothing but a read at its other end.
pub(crate) struct Bare {
    master: TTYPort,
    came: Receiver<(Instant, usize)>,
}

impl Bare {
    pub(crate) fn new() -> Self {
        let (mut master, mut slave) = TTYPort::pair().expect("a pseudo terminal");
        master.set_timeout(Duration::from_secs(5)).expect("it can be set");
        slave.set_timeout(Duration::from_hours(1)).expect("it can be set");
        let (sender, came) = channel();
        Builder::new()
            .name("bare".into())
            .spawn(move || {
                let mut buffer = [0; 1024];
                while let Ok(count) = slave.read(&mut buffer) {
                    if sender.send((Instant::now(), count)).is_err() {
                        return;
                    }
                }
            })
            .expect("a thread");
        Self { master, came }
    }

    /// From just before the write until the read has the last byte.
    pub(crate) fn time(&mut self, bytes: &[u8]) -> Duration {
        let begun = Instant::now();
        self.master.write_all(bytes).expect("the line takes it");
        let mut left = bytes.len();
        loop {
            let (at, count) = self.came.recv_timeout(Duration::from_secs(5)).expect("it arrives");
            left = left.saturating_sub(count);
            if left == 0 {
                return at.saturating_duration_since(begun);
            }
        }
    }
}
