//! Ways to a scale, one file each: all a link knows of them is bytes in and bytes out.

mod serial;
mod tape;
mod tcp;
mod virtual_line;

use super::address::{Address, Place};
use super::shape::Shape;
use super::{Clock, Hand};
use crate::units::Moment;
use std::io;
use thiserror::Error;

/// An open way to a scale.
pub(crate) trait Transport: Send {
    /// Waits a little for bytes and reads what there is; `Ok(0)` if nothing came. An error means that the way is
    /// gone.
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize>;

    /// Sends all of it.
    fn write(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// When the bytes just read arrived, where that is not now: a tape has its own time.
    fn arrived(&self) -> Option<Moment> {
        None
    }

    /// After how many milliseconds of silence it is worth opening anew; none where silence means nothing.
    fn suspicious_silence_ms(&self) -> Option<u64> {
        None
    }

    /// How many bytes came with a wrong parity or a wrong stop bit since it was opened, where the way can tell.
    fn errors(&mut self) -> u64 {
        0
    }

    /// Whether the end of it is an end, and nothing to open again.
    fn ends(&self) -> bool {
        false
    }

    /// What is spoken there, where the way says so itself: a tape may.
    fn shape(&self) -> Option<&'static dyn Shape> {
        None
    }

    /// What to do when it is gone, in a few words.
    fn remedy(&self) -> &'static str {
        "check the cable"
    }

    /// Moves the hand, if this is the virtual bench.
    fn hand(&mut self, _hand: Hand) {}

    /// What is really in the cup, in grams, if this is the virtual bench.
    fn in_cup(&self) -> Option<f64> {
        None
    }
}

/// Why a way to a scale cannot be opened: what happened and what to do now.
#[derive(Debug, Error)]
#[non_exhaustive]
pub(crate) enum OpenError {
    /// No such port.
    #[error("{0} is not there: is the scale's cable plugged in, and the adapter?")]
    Absent(String),
    /// Somebody else has it.
    #[error("another program holds {0}: close it, or stop the modem service that probes serial ports")]
    Busy(String),
    /// It may not be opened.
    #[error("{path} may not be opened by this user: {remedy}")]
    Forbidden {
        /// The device.
        path: String,
        /// What to do.
        remedy: String,
    },
    /// The other end does not answer or refuses.
    #[error("{host} does not answer: {why}. Is the serial server on, and the port right?")]
    Unreachable {
        /// Host and port.
        host: String,
        /// What the system says.
        why: String,
    },
    /// The file cannot be played.
    #[error("the tape cannot be played: {0}")]
    Tape(String),
    /// Anything else.
    #[error("{path} cannot be opened: {why}")]
    Other {
        /// The device.
        path: String,
        /// What the system says.
        why: String,
    },
}

impl OpenError {
    /// Whether trying again cannot help.
    pub(crate) const fn is_final(&self) -> bool {
        matches!(self, Self::Tape(_))
    }
}

/// Opens the way an address names.
pub(crate) fn open(address: &Address, clock: &Clock) -> Result<Box<dyn Transport>, OpenError> {
    Ok(match &address.place {
        Place::Serial { path, line, dtr, rts } => {
            let line = line.unwrap_or_else(|| address.shape().usual_line());
            Box::new(serial::SerialLine::open(path, line, *dtr, *rts)?)
        }
        Place::Tcp { host } => Box::new(tcp::TcpLine::open(host)?),
        Place::Tape { file, full_speed } => Box::new(tape::TapeLine::open(file, *full_speed, clock)?),
        Place::Virtual { seed, rate_hz } => {
            Box::new(virtual_line::VirtualLine::open(address, *seed, *rate_hz, clock))
        }
    })
}

/// For how long a read waits for bytes, in milliseconds: how soon a command to the link is looked at.
const READ_WAIT_MS: u64 = 50;

/// Whether an error of a read only says that nothing came.
fn is_idle(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::TimedOut | io::ErrorKind::WouldBlock | io::ErrorKind::Interrupted)
}
