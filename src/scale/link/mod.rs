//! One worker thread for each scale: keeps the way to it open, decodes what comes, and says how it stands.
//!
//! Nothing is sent to a scale but harmless questions, until its owner asks for more.

mod request;
mod worker;

use super::shape::{Answer, Ask};
use super::{Address, Clock, Hand, Reading};
use std::sync::mpsc::{Sender, channel};
use std::thread::{Builder, JoinHandle};
use std::time::Duration;

/// How the link to a scale stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinkState {
    /// It cannot be opened.
    Absent,
    /// It is being opened.
    Opening,
    /// It is open, and nothing has been understood yet.
    Listening,
    /// Readings come in.
    Live,
    /// It is open, and readings have stopped coming.
    Stale,
    /// It was open and is gone.
    Lost,
}

/// What a link has counted since it was made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Evidence {
    /// Frames understood.
    pub frames: u64,
    /// Bytes that belonged to no frame.
    pub noise: u64,
    /// How often the way was opened.
    pub openings: u64,
    /// Answers that were no weight.
    pub answers: u64,
    /// Bytes that arrived with a wrong parity or a wrong stop bit, where the way can tell.
    pub line_errors: u64,
}

/// Something a link has to say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LinkEvent {
    /// It stands otherwise than before.
    State {
        /// How.
        state: LinkState,
        /// Why, in a sentence; empty where nothing is wrong.
        why: String,
    },
    /// A reading arrived.
    Reading(Reading),
    /// The owner's question was sent.
    Asked(Ask),
    /// An answer arrived that is no weight, or a weight whose state says how the owner's question went.
    Answer {
        /// What the owner had asked, if it answers that.
        to: Option<Ask>,
        /// The answer.
        answer: Answer,
    },
    /// The owner's question was not answered in time; it may have been done all the same.
    Unanswered(Ask),
    /// Bytes as they arrived, if they were asked for.
    Bytes(Vec<u8>),
    /// What was counted: once a second while something is counted, at the end, and whenever the way is lost.
    Evidence(Evidence),
    /// The worker has ended; nothing more will come.
    Ended {
        /// Why, in a sentence.
        why: String,
        /// Whether the worker failed, rather than come to an end.
        fault: bool,
    },
}

/// What the owner has to say to the worker.
enum Command {
    Ask(Ask),
    Bytes(bool),
    Hand(Hand),
    Truth(Sender<f64>),
    Stop,
}

/// For how long the virtual bench may take to tell the truth.
const TRUTH_WAIT: Duration = Duration::from_secs(5);

/// A scale at the far end of a worker thread. Dropping it ends the thread.
#[derive(Debug)]
pub struct Link {
    commands: Sender<Command>,
    thread: Option<JoinHandle<()>>,
}

/// How a link listens.
#[derive(Clone, Copy, Debug, Default)]
pub struct Listening {
    /// Whether the bytes are wanted as well as what they mean.
    pub bytes: bool,
}

impl Link {
    /// Starts a worker for that scale; whatever it has to say goes to `sink`, on the worker's thread.
    ///
    /// # Errors
    /// The system could not make a thread.
    pub fn open(
        address: Address,
        clock: Clock,
        listening: Listening,
        sink: impl FnMut(LinkEvent) + Send + 'static,
    ) -> std::io::Result<Self> {
        let (commands, inbox) = channel();
        let thread = Builder::new().name("scale".to_owned()).spawn(move || {
            worker::supervise(&address, &clock, listening, &inbox, sink);
        })?;
        Ok(Self { commands, thread: Some(thread) })
    }

    /// Asks something of the scale: a person's key. The answer comes as an event.
    pub fn ask(&self, what: Ask) {
        // A worker that is gone has already said so.
        let _ = self.commands.send(Command::Ask(what));
    }

    /// Whether the bytes are wanted from now on as well as what they mean.
    pub fn want_bytes(&self, wanted: bool) {
        let _ = self.commands.send(Command::Bytes(wanted));
    }

    /// Moves the hand at the virtual bench; nothing elsewhere.
    pub fn hand(&self, hand: Hand) {
        let _ = self.commands.send(Command::Hand(hand));
    }

    /// What is really in the cup of the virtual bench, in grams, for tests and rehearsals; none at a real scale,
    /// or if the worker has ended. Waits for the worker, a few hundredths of a second as a rule.
    pub fn in_cup(&self) -> Option<f64> {
        let (answer, inbox) = channel();
        self.commands.send(Command::Truth(answer)).ok()?;
        inbox.recv_timeout(TRUTH_WAIT).ok()
    }
}

impl Drop for Link {
    fn drop(&mut self) {
        let _ = self.commands.send(Command::Stop);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
