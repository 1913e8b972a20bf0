//! Ways to a scale, one file each: all a link knows of them is bytes in and bytes out.

pub(super) mod com_port;
mod greeting;
mod rfc2217;
mod serial;
mod socket;
mod tape;
mod tcp;
pub(super) mod telnet;
mod virtual_line;

use super::address::{Address, Place};
use super::ports::{Adapter, Machine, Whereabouts};
use super::shape::Shape;
use super::{Clock, Hand};
use crate::units::Moment;
use com_port::Wanted;
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

    /// The first words that came, where they are none of a scale's: a server may greet.
    fn greeting(&self) -> Option<String> {
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
    #[error("{0} is not there: are the cable and the adapter plugged in?")]
    Absent(String),
    /// Somebody else has it.
    #[error(
        "another program holds {path}{}: close it; if the port was plugged in just now, wait half a minute, as a \
         modem service may be looking at it", in_brackets(.holder.as_deref())
    )]
    Busy {
        /// The device.
        path: String,
        /// Who, as far as that is known.
        holder: Option<String>,
    },
    /// The system uses it for something else.
    #[error("{path} is busy with something else: {why}")]
    Occupied {
        /// The device.
        path: String,
        /// With what, and what to do.
        why: String,
    },
    /// It is there, and is something else.
    #[error("{path} is no serial port but {what}: `pourbook ports` shows the serial ports there are")]
    NotAPort {
        /// What was to be opened.
        path: String,
        /// What it is.
        what: &'static str,
    },
    /// The adapter that was there is gone, and nobody can tell whether another one is it.
    #[error("the scale's adapter ({adapter}) is not there: {why}")]
    OtherAdapter {
        /// Who is missing.
        adapter: String,
        /// What is there instead, and what to do.
        why: String,
    },
    /// It is there, and cannot be used.
    #[error("the serial server {host} cannot be used so: {why}")]
    Server {
        /// Host and port.
        host: String,
        /// Why, and what to do.
        why: String,
    },
    /// Opening was given up, because nobody wants it any more.
    #[error("opening was given up")]
    Stopped,
    /// It may not be opened.
    #[error("{path} may not be opened by this user: {remedy}")]
    Forbidden {
        /// The device.
        path: String,
        /// What to do.
        remedy: String,
    },
    /// The other end does not answer or refuses.
    #[error("{host} does not answer: is the serial server on, and the port right? ({why})")]
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

fn in_brackets(text: Option<&str>) -> String {
    text.map(|text| format!(" ({text})")).unwrap_or_default()
}

/// Waits so many milliseconds; true if whoever waits should give up.
pub(crate) type Pause<'a> = &'a mut dyn FnMut(u64) -> bool;

/// How long the way to a scale may take for this and that, in milliseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Pace {
    /// The pause before the way is opened again, at first.
    pub(crate) pause: u64,
    /// The longest pause, after many tries in vain.
    pub(crate) longest_pause: u64,
    /// How long an answer may take.
    pub(crate) answer: u64,
}

impl Pace {
    /// Looking for a port that is not there costs next to nothing; a server is not to be stormed.
    pub(crate) const fn of(place: &Place) -> Self {
        match place {
            Place::Tcp { .. } | Place::Rfc2217 { .. } => {
                Self { pause: 1_000, longest_pause: 30_000, answer: 1_000 }
            }
            _ => Self { pause: 100, longest_pause: 500, answer: 500 },
        }
    }
}

/// Opens the way an address names, again and again if need be, and remembers who was at its end.
pub(crate) struct Opener<'a> {
    address: &'a Address,
    clock: &'a Clock,
    machine: Machine,
    known: Option<Adapter>,
}

/// An open way, and what there is to say about it.
pub(crate) struct Opened {
    /// The way.
    pub(crate) line: Box<dyn Transport>,
    /// That it is not where the address says, in a sentence; empty where it is.
    pub(crate) note: String,
}

impl<'a> Opener<'a> {
    pub(crate) const fn new(address: &'a Address, clock: &'a Clock, machine: Machine) -> Self {
        Self { address, clock, machine, known: None }
    }

    /// Opens it. `pause` is called meanwhile, wherever that takes long; if it says so, opening is given up.
    pub(crate) fn open(&mut self, pause: Pause<'_>) -> Result<Opened, OpenError> {
        let Self { address, clock, .. } = *self;
        let usual = || address.shape().usual_line();
        let line: Box<dyn Transport> = match &address.place {
            Place::Serial { path, line, flow, dtr, rts } => {
                let wanted = Wanted { line: line.unwrap_or_else(usual), flow: *flow, dtr: *dtr, rts: *rts };
                return self.serial(path, wanted);
            }
            Place::Rfc2217 { host, line, flow, dtr, rts } => {
                let wanted = Wanted { line: line.unwrap_or_else(usual), flow: *flow, dtr: *dtr, rts: *rts };
                Box::new(rfc2217::Rfc2217Line::open(host, wanted, clock, pause)?)
            }
            Place::Tcp { host } => Box::new(tcp::TcpLine::open(host, clock, pause)?),
            Place::Tape { file, full_speed } => Box::new(tape::TapeLine::open(file, *full_speed, clock)?),
            Place::Virtual { seed, rate_hz } => {
                Box::new(virtual_line::VirtualLine::open(address, *seed, *rate_hz, clock))
            }
        };
        Ok(Opened { line, note: String::new() })
    }

    /// Opens a serial port, at the name that its adapter has now. Another adapter at the old name is not even opened:
    /// that alone can reset what hangs on it.
    fn serial(&mut self, path: &str, wanted: Wanted) -> Result<Opened, OpenError> {
        let now_at = match &self.known {
            Some(known) => self.find(path, known)?,
            None => path.to_owned(),
        };
        let line = serial::SerialLine::open(&self.machine, &now_at, wanted)?;
        // While it is open the name is its own.
        let here = self.machine.adapter(&now_at);
        match (&self.known, here) {
            (Some(known), Some(here)) if *known != here && self.find(path, known)? != now_at => {
                return Err(OpenError::Absent(path.to_owned()));
            }
            (_, Some(here)) => self.known = Some(here),
            (_, None) => {}
        }
        let moved = now_at != path;
        let note =
            moved.then(|| format!("the scale's adapter was found again as {now_at}; it was {path} before"));
        Ok(Opened { line: Box::new(line), note: note.unwrap_or_default() })
    }

    fn find(&self, path: &str, known: &Adapter) -> Result<String, OpenError> {
        let other = |why| OpenError::OtherAdapter { adapter: known.to_string(), why };
        match self.machine.whereabouts(known) {
            Whereabouts::At(path) => Ok(path),
            Whereabouts::Several(paths) => Err(other(format!(
                "{} all say that they are it, none of them in its old socket; plug it in where it was, or name \
                 its port in the address",
                paths.join(" and ")
            ))),
            Whereabouts::Gone { alike: Some(alike) } if !known.has_serial() => Err(other(format!(
                "there is one of its kind at {alike}, but they have no serial numbers to tell them apart; plug it \
                 into the socket where it was, or name that port in the address"
            ))),
            Whereabouts::Gone { .. } => Err(match self.machine.adapter(path) {
                Some(there) => {
                    other(format!("{path} is another one now ({there}), and is not read; plug it in again"))
                }
                None => other(format!("{path} is gone; is the cable plugged in, and the adapter?")),
            }),
        }
    }
}

/// For how long a read waits for bytes, in milliseconds: how soon a command to the link is looked at.
const READ_WAIT_MS: u64 = 50;

/// Whether an error of a read only says that nothing came.
fn is_idle(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::TimedOut | io::ErrorKind::WouldBlock | io::ErrorKind::Interrupted)
}
