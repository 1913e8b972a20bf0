//! The worker's loop: open, listen, decode, ask if need be, and open again when the way is gone.

use super::request::Request;
use super::{Answer, Command, Evidence, LinkEvent, LinkState, Listening};
use crate::scale::address::Poll;
use crate::scale::shape::{Ask, Bytes, Decoded, Decoder, Shape};
use crate::scale::transport::{self, Transport};
use crate::scale::{Address, Clock, Frame, Reading, Stability, UnitText};
use crate::units::{MassUnit, Moment};
use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::time::Duration;

/// From this long without a reading on, nothing on the screen counts any more: told within a second.
const STALE_MS: u64 = 900;
/// For how long only to listen before a scale is asked, in milliseconds.
const LISTEN_MS: u64 = 500;
/// For how long an answer may take.
const ANSWER_MS: u64 = 500;
/// How often what was counted is told.
const COUNTS_MS: u64 = 1_000;
/// The pause before the way is opened again, at first and at most.
const PAUSE_MS: u64 = 100;
const PAUSE_MOST_MS: u64 = 2_000;

/// Why the loop ends.
enum End {
    Stopped,
    Finished(String),
}

/// Runs the worker and turns even its own fault into an event, never into silence.
pub(super) fn supervise(
    address: &Address,
    clock: &Clock,
    listening: Listening,
    inbox: &Receiver<Command>,
    mut sink: impl FnMut(LinkEvent) + Send,
) {
    let end =
        catch_unwind(AssertUnwindSafe(|| Worker::new(address, clock, listening, inbox, &mut sink).run()));
    let fault = end.is_err();
    let why = match end {
        Ok(End::Stopped) => "it was asked to end".to_owned(),
        Ok(End::Finished(why)) => why,
        Err(_) => "the scale's worker failed; this is a fault of the program. Start it again".to_owned(),
    };
    sink(LinkEvent::Ended { why, fault });
}

struct Worker<'a> {
    address: &'a Address,
    clock: &'a Clock,
    listening: Listening,
    inbox: &'a Receiver<Command>,
    sink: &'a mut dyn FnMut(LinkEvent),
    state: Option<LinkState>,
    why: String,
    evidence: Evidence,
    /// What was counted when it was told last, and when.
    told: (Evidence, Moment),
}

/// What goes with one opening of the way, and ends with it.
struct Opening {
    line: Box<dyn Transport>,
    shape: &'static dyn Shape,
    decoder: Box<dyn Decoder>,
    opened: Moment,
    last_bytes: Moment,
    last_frame: Option<Moment>,
    /// The last question, if it is not answered yet.
    asked: Option<Asked>,
    next_ask: Moment,
    /// Whether the readings come because they were asked for.
    polled: bool,
    /// What the owner wants asked, once the question before it is answered.
    waiting: VecDeque<Ask>,
    /// What the owner asked and waits for.
    request: Option<Request>,
    /// The unit of the last reading that had one.
    unit: Option<MassUnit>,
    /// Errors of the line that were counted already.
    line_errors: u64,
    /// Whether the scale says its unit, once that is known.
    says_unit: Option<bool>,
    /// Signs of damage since the last reading.
    spoilt: u64,
}

/// A question that was sent.
#[derive(Clone, Copy)]
struct Asked {
    at: Moment,
    /// Whether the owner asked, rather than the link because nothing came.
    by_owner: bool,
}

impl Opening {
    /// Whether a question is still to be answered, and may yet be.
    fn awaits_answer(&self, now: Moment) -> bool {
        self.asked.is_some_and(|asked| now.since(asked.at) < ANSWER_MS)
    }

    /// Gives a number the unit that the address says it has, if the scale never says one. A blank unit can also
    /// mean that the load moves, so that only a number at rest shows that there is none; and a scale that has said a
    /// unit once is believed, not the address.
    fn put_unit(&mut self, frame: &mut Frame, unit: Option<MassUnit>) {
        if !frame.unit_text.is_empty() {
            self.says_unit = Some(true);
        } else if frame.value.is_some() && frame.stability != Stability::Moving {
            self.says_unit.get_or_insert(false);
        }
        if let Some(unit) = unit.filter(|_| self.says_unit == Some(false) && frame.value.is_some()) {
            frame.unit = Some(unit);
            frame.unit_text = UnitText::from(unit.symbol());
        }
    }
}

impl<'a> Worker<'a> {
    fn new(
        address: &'a Address,
        clock: &'a Clock,
        listening: Listening,
        inbox: &'a Receiver<Command>,
        sink: &'a mut dyn FnMut(LinkEvent),
    ) -> Self {
        Self {
            address,
            clock,
            listening,
            inbox,
            sink,
            state: None,
            why: String::new(),
            evidence: Evidence::default(),
            told: (Evidence::default(), clock.now()),
        }
    }

    fn say(&mut self, state: LinkState, why: impl Into<String>) {
        let why = why.into();
        if self.state != Some(state) || self.why != why {
            self.state = Some(state);
            self.why.clone_from(&why);
            (self.sink)(LinkEvent::State { state, why });
        }
    }

    fn run(&mut self) -> End {
        let mut pause = PAUSE_MS;
        let mut was_open = false;
        loop {
            if !was_open && self.state.is_none() {
                self.say(LinkState::Opening, format!("opening {}", self.address));
            }
            let end = match transport::open(self.address, self.clock) {
                Ok(line) => {
                    self.evidence.openings = self.evidence.openings.saturating_add(1);
                    self.say(LinkState::Listening, "the line is open; nothing has been understood yet");
                    let frames = self.evidence.frames;
                    let end = self.listen(line);
                    (self.sink)(LinkEvent::Evidence(self.evidence));
                    was_open = true;
                    if self.evidence.frames > frames {
                        pause = PAUSE_MS;
                    }
                    end
                }
                Err(error) if error.is_final() => return End::Finished(error.to_string()),
                Err(error) => {
                    // Once it was open, a way that is not there any more is lost, not absent.
                    let state = if was_open { LinkState::Lost } else { LinkState::Absent };
                    self.say(state, error.to_string());
                    None
                }
            };
            if let Some(end) = end {
                return end;
            }
            if self.wait(pause) {
                return End::Stopped;
            }
            pause = pause.saturating_mul(2).min(PAUSE_MOST_MS);
        }
    }

    /// Waits before the next try; true if the owner wants the end.
    fn wait(&mut self, pause_ms: u64) -> bool {
        let until = self.clock.now().plus(pause_ms);
        loop {
            let left = until.since(self.clock.now());
            match self.inbox.recv_timeout(Duration::from_millis(left)) {
                Ok(Command::Stop) | Err(RecvTimeoutError::Disconnected) => return true,
                // What was asked of a scale that is not there is not asked of the one that comes back.
                Ok(Command::Bytes(wanted)) => self.listening.bytes = wanted,
                Ok(Command::Ask(what)) => {
                    self.refuse(what, "nothing was sent, because the scale is not there");
                }
                Ok(_) => {}
                Err(RecvTimeoutError::Timeout) => return false,
            }
        }
    }

    /// Listens until the way is gone; an end if there is nothing to open again.
    fn listen(&mut self, line: Box<dyn Transport>) -> Option<End> {
        let now = self.clock.now();
        let shape = self.address.shape.or(line.shape()).unwrap_or(self.address.shape());
        let mut opening = Opening {
            line,
            shape,
            decoder: shape.decoder(),
            opened: now,
            last_bytes: now,
            last_frame: None,
            asked: None,
            next_ask: now.plus(LISTEN_MS),
            polled: false,
            waiting: VecDeque::new(),
            request: None,
            unit: None,
            line_errors: 0,
            says_unit: None,
            spoilt: 0,
        };
        let mut buffer = [0_u8; 1024];
        let mut decoded = Vec::new();
        loop {
            match self.commands(&mut opening) {
                Ok(false) => {}
                Ok(true) => return Some(End::Stopped),
                Err(error) => return self.gone(&opening, &error),
            }
            match opening.line.read(&mut buffer) {
                Ok(0) => {}
                Ok(count) => {
                    self.take_in(&mut opening, buffer.get(..count).unwrap_or_default(), &mut decoded);
                }
                Err(error) => return self.gone(&opening, &error),
            }
            if let Err(error) = self.look(&mut opening) {
                return self.gone(&opening, &error);
            }
        }
    }

    fn gone(&mut self, opening: &Opening, error: &std::io::Error) -> Option<End> {
        if opening.line.ends() {
            return Some(End::Finished(error.to_string()));
        }
        // What comes in shows that something else is at the other end: the error says what, and what to do.
        let why = if error.kind() == std::io::ErrorKind::InvalidData {
            error.to_string()
        } else {
            format!("the line to the scale is gone ({error}): {}", opening.line.remedy())
        };
        self.say(LinkState::Lost, why);
        None
    }

    /// What the owner wants; true if it is the end.
    fn commands(&mut self, opening: &mut Opening) -> std::io::Result<bool> {
        loop {
            match self.inbox.try_recv() {
                Ok(Command::Ask(what)) => opening.waiting.push_back(what),
                Ok(Command::Bytes(wanted)) => self.listening.bytes = wanted,
                Ok(Command::Hand(hand)) => opening.line.hand(hand),
                // Whoever asked and does not wait any more needs no answer.
                Ok(Command::Truth(answer)) => drop(opening.line.in_cup().map(|mass| answer.send(mass))),
                Ok(Command::Stop) | Err(TryRecvError::Disconnected) => return Ok(true),
                Err(TryRecvError::Empty) => break,
            }
        }
        self.send_waiting(opening)?;
        Ok(false)
    }

    /// Sends what the owner wants asked, one question at a time: two at once, and nobody could tell whose answer
    /// it is.
    fn send_waiting(&mut self, opening: &mut Opening) -> std::io::Result<()> {
        let now = self.clock.now();
        while !opening.awaits_answer(now) {
            let Some(what) = opening.waiting.pop_front() else { break };
            if let Some(bytes) = opening.shape.ask(what) {
                opening.line.write(bytes)?;
                opening.asked = Some(Asked { at: now, by_owner: true });
                opening.request = Some(Request::new(what, now, opening.unit));
                (self.sink)(LinkEvent::Asked(what));
            } else {
                self.refuse(what, "this scale's format has no such command: use the key on the scale");
            }
        }
        Ok(())
    }

    fn refuse(&mut self, what: Ask, why: &str) {
        (self.sink)(LinkEvent::Answer { to: Some(what), answer: Answer::Refused(why.to_owned()) });
    }

    fn take_in(&mut self, opening: &mut Opening, bytes: &[u8], decoded: &mut Vec<Decoded>) {
        let now = self.clock.now();
        let at = opening.line.arrived().unwrap_or(now);
        opening.last_bytes = now;
        if self.listening.bytes {
            (self.sink)(LinkEvent::Bytes(bytes.to_vec()));
        }
        self.count_line_errors(opening);
        opening.decoder.push(bytes, decoded);
        for item in decoded.drain(..) {
            match item {
                Decoded::Frame(mut frame) => {
                    opening.put_unit(&mut frame, self.address.unit);
                    self.evidence.frames = self.evidence.frames.saturating_add(1);
                    opening.last_frame = Some(now);
                    match opening.asked.take() {
                        // A reading that nobody asked for: the scale speaks by itself, and need not be asked.
                        None => opening.polled = false,
                        Some(Asked { by_owner: false, .. }) => opening.polled = true,
                        // A person's key says nothing about where the other readings come from.
                        Some(_) => {}
                    }
                    opening.unit = frame.unit.or(opening.unit);
                    self.say(LinkState::Live, "");
                    let answer = opening.request.and_then(|request| request.answered_by(&frame));
                    if let (Some(request), Some(answer)) = (opening.request, answer) {
                        opening.request = None;
                        (self.sink)(LinkEvent::Answer { to: Some(request.what), answer });
                    }
                    let noise_before = u32::try_from(std::mem::take(&mut opening.spoilt)).unwrap_or(u32::MAX);
                    (self.sink)(LinkEvent::Reading(Reading { frame, at, noise_before }));
                }
                Decoded::Answer(answer) => {
                    // An answer to nothing that was asked is a frame that was damaged into one.
                    opening.spoilt += u64::from(opening.asked.is_none() && opening.request.is_none());
                    opening.asked = None;
                    self.evidence.answers = self.evidence.answers.saturating_add(1);
                    let to = opening.request.take().map(|request| request.what);
                    (self.sink)(LinkEvent::Answer { to, answer });
                }
                Decoded::Noise(count) => {
                    self.evidence.noise = self.evidence.noise.saturating_add(count as u64);
                    opening.spoilt = opening.spoilt.saturating_add(count as u64);
                }
            }
        }
    }

    /// Looks at the clock: is the line silent, and is a question due?
    fn look(&mut self, opening: &mut Opening) -> std::io::Result<()> {
        let now = self.clock.now();
        if let Some(request) = opening.request.filter(|request| request.is_overdue(now)) {
            opening.request = None;
            (self.sink)(LinkEvent::Unanswered(request.what));
        }
        self.tell_counts(opening, now);
        let quiet = now.since(opening.last_frame.unwrap_or(opening.opened));
        if quiet >= self.stale_after_ms(opening) && opening.line.arrived().is_none() {
            if self.state == Some(LinkState::Live) {
                self.say(LinkState::Stale, "the scale has gone silent: is it on, and is the cable in?");
            }
            if opening.last_frame.is_none() {
                let heard = opening.last_bytes > opening.opened;
                self.say(
                    LinkState::Listening,
                    if heard && opening.shape.name() == Bytes::NAME {
                        "something comes in; with shape=none it is only shown, and never weighed".to_owned()
                    } else if heard {
                        format!(
                            "something comes in, but it is not {}: check speed, line and shape",
                            opening.shape.name()
                        )
                    } else {
                        "the line is open, but the scale says nothing: is it on, and set to send?".to_owned()
                    },
                );
            }
        }
        if opening.line.suspicious_silence_ms().is_some_and(|limit| now.since(opening.last_bytes) >= limit) {
            return Err(std::io::Error::new(std::io::ErrorKind::TimedOut, "nothing came for a long time"));
        }
        self.poll(opening, now)
    }

    fn count_line_errors(&mut self, opening: &mut Opening) {
        let errors = opening.line.errors();
        let fresh = errors.saturating_sub(opening.line_errors);
        opening.line_errors = errors;
        opening.spoilt = opening.spoilt.saturating_add(fresh);
        self.evidence.line_errors = self.evidence.line_errors.saturating_add(fresh);
    }

    /// Tells what was counted, if it is time and something was.
    fn tell_counts(&mut self, opening: &mut Opening, now: Moment) {
        self.count_line_errors(opening);
        let (told, at) = self.told;
        if now.since(at) >= COUNTS_MS && told != self.evidence {
            self.told = (self.evidence, now);
            (self.sink)(LinkEvent::Evidence(self.evidence));
        }
    }

    /// For how long nothing may come: longer only where the shop wants the scale asked that seldom.
    fn stale_after_ms(&self, opening: &Opening) -> u64 {
        match self.address.poll {
            Poll::WhenSilent(every) if opening.polled => every.saturating_mul(3).max(STALE_MS),
            _ => STALE_MS,
        }
    }

    /// Asks a silent scale for its weight: never twice at once, and never one that speaks by itself.
    fn poll(&mut self, opening: &mut Opening, now: Moment) -> std::io::Result<()> {
        let Poll::WhenSilent(every) = self.address.poll else { return Ok(()) };
        if opening.awaits_answer(now) || now < opening.next_ask {
            return Ok(());
        }
        // Readings that came without a question: it speaks by itself.
        let spoke = opening.last_frame.is_some_and(|frame| now.since(frame) < LISTEN_MS);
        if spoke && !opening.polled {
            opening.next_ask = now.plus(LISTEN_MS);
            return Ok(());
        }
        if let Some(question) = opening.shape.ask(Ask::Now) {
            opening.line.write(question)?;
            opening.asked = Some(Asked { at: now, by_owner: false });
            opening.polled = true;
        }
        opening.next_ask = now.plus(every);
        Ok(())
    }
}
