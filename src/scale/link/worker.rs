//! The worker's loop: open, listen, decode, ask if need be, and open again when the way is gone.

use super::request::{PATIENCE_MS, Request};
use super::{Answer, Command, Evidence, LinkEvent, LinkState, Listening};
use crate::scale::address::Poll;
use crate::scale::ports::Machine;
use crate::scale::shape::{Ask, Bytes, Decoded, Decoder, Shape};
use crate::scale::transport::{OpenError, Opened, Opener, Pace, Transport};
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
/// How often what was counted is told.
const COUNTS_MS: u64 = 1_000;
/// A way that was open for so long does not refuse: it is opened again as soon as one that gave readings.
const WELL_OPEN_MS: u64 = 5_000;

/// Why the loop ends.
enum End {
    Stopped,
    Finished(String),
}

/// Runs the worker and turns even its own fault into an event, never into silence.
pub(super) fn supervise(
    address: &Address,
    clock: &Clock,
    machine: Machine,
    listening: Listening,
    inbox: &Receiver<Command>,
    mut sink: impl FnMut(LinkEvent) + Send,
) {
    let end = catch_unwind(AssertUnwindSafe(|| {
        Worker::new(address, clock, listening, inbox, &mut sink).run(machine)
    }));
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
    pace: Pace,
    state: Option<LinkState>,
    why: String,
    evidence: Evidence,
    /// What was counted when it was told last, and when.
    told: (Evidence, Moment),
}

/// What goes with one opening of the way, and ends with it.
struct Opening {
    line: Box<dyn Transport>,
    /// What there is to say about it even while it is live.
    note: String,
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
    /// Whether the scale has said that it is at it: the answer is still to come, and it may take its time.
    accepted: bool,
}

impl Opening {
    /// Whether a question is still to be answered, and may yet be.
    fn awaits_answer(&self, now: Moment, pace: Pace) -> bool {
        self.asked.is_some_and(|asked| {
            let patience = if asked.accepted { PATIENCE_MS } else { pace.answer };
            now.since(asked.at) < patience
        })
    }

    /// Whether the scale has said that it is at something, and not yet how that went.
    fn is_at_it(&self, now: Moment) -> bool {
        self.asked.is_some_and(|asked| asked.accepted && now.since(asked.at) < PATIENCE_MS)
    }

    /// Whether a weight is no answer to what was asked: where a scale answers in two steps, what changes it is
    /// answered with a word, and a weight that comes between says nothing.
    fn awaits_word(&self, now: Moment) -> bool {
        self.is_at_it(now) && self.request.is_some_and(|request| request.what.changes_the_scale())
    }

    /// The scale has said that it is at it. That can have come so late that the link has asked again already. Said
    /// twice it gives no more time.
    fn accept(&mut self, now: Moment) {
        let by_owner = self.request.is_some() || self.asked.is_some_and(|asked| asked.by_owner);
        let pending = by_owner || self.asked.is_some();
        if !pending || self.asked.is_some_and(|asked| asked.accepted) {
            return;
        }
        self.asked = Some(Asked { at: now, by_owner, accepted: true });
        self.request = self.request.map(|request| request.put_off(now));
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
            pace: Pace::of(&address.place),
            state: None,
            why: String::new(),
            evidence: Evidence::default(),
            told: (Evidence::default(), clock.now()),
        }
    }

    fn say(&mut self, state: LinkState, why: impl AsRef<str>) {
        let why = why.as_ref();
        if self.state != Some(state) || self.why != why {
            self.state = Some(state);
            why.clone_into(&mut self.why);
            (self.sink)(LinkEvent::State { state, why: why.to_owned() });
        }
    }

    fn run(&mut self, machine: Machine) -> End {
        let mut opener = Opener::new(self.address, self.clock, machine);
        let mut pause = self.pace.pause;
        let mut was_open = false;
        loop {
            if !was_open && self.state.is_none() {
                self.say(LinkState::Opening, format!("opening {}", self.address));
            }
            let end = match opener.open(&mut |pause_ms| self.wait(pause_ms)) {
                Ok(opened) => {
                    self.evidence.openings = self.evidence.openings.saturating_add(1);
                    let open = "the line is open; nothing has been understood yet";
                    let before = if opened.note.is_empty() { "" } else { "; " };
                    self.say(LinkState::Listening, format!("{}{before}{open}", opened.note));
                    let (frames, since) = (self.evidence.frames, self.clock.now());
                    let end = self.listen(opened);
                    (self.sink)(LinkEvent::Evidence(self.evidence));
                    was_open = true;
                    if self.evidence.frames > frames || self.clock.now().since(since) >= WELL_OPEN_MS {
                        pause = self.pace.pause;
                    }
                    end
                }
                Err(OpenError::Stopped) => return End::Stopped,
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
            pause = pause.saturating_mul(2).min(self.pace.longest_pause);
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
    fn listen(&mut self, opened: Opened) -> Option<End> {
        let Opened { line, note } = opened;
        let now = self.clock.now();
        let shape = self.address.shape.or(line.shape()).unwrap_or(self.address.shape());
        let mut opening = Opening {
            line,
            note,
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
        while !opening.awaits_answer(now, self.pace) {
            let Some(what) = opening.waiting.pop_front() else { break };
            if let Some(bytes) = opening.shape.ask(what) {
                opening.line.write(bytes)?;
                opening.asked = Some(Asked { at: now, by_owner: true, accepted: false });
                opening.request = Some(Request::new(what, now, opening.unit));
                (self.sink)(LinkEvent::Asked(what));
            } else {
                self.refuse(what, "nothing was sent, because this scale's format has no such command: use the key on the scale");
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
                    let word = opening.awaits_word(now);
                    match if word { opening.asked } else { opening.asked.take() } {
                        // A reading that nobody asked for: the scale speaks by itself, and need not be asked.
                        None => opening.polled = false,
                        Some(Asked { by_owner: false, .. }) => opening.polled = true,
                        // A person's key says nothing about where the other readings come from.
                        Some(_) => {}
                    }
                    opening.unit = frame.unit.or(opening.unit);
                    self.say(LinkState::Live, &opening.note);
                    let request = opening.request.filter(|_| !word);
                    let answer = request.and_then(|request| request.answered_by(&frame));
                    if let (Some(request), Some(answer)) = (opening.request, answer) {
                        opening.request = None;
                        (self.sink)(LinkEvent::Answer { to: Some(request.what), answer });
                    }
                    let noise_before = u32::try_from(std::mem::take(&mut opening.spoilt)).unwrap_or(u32::MAX);
                    (self.sink)(LinkEvent::Reading(Reading { frame, at, noise_before }));
                }
                Decoded::Answer(Answer::Accepted) => {
                    self.evidence.answers = self.evidence.answers.saturating_add(1);
                    opening.accept(now);
                    let to = opening.request.map(|request| request.what);
                    (self.sink)(LinkEvent::Answer { to, answer: Answer::Accepted });
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
            let at_it = opening.is_at_it(now);
            let still_silent =
                self.state == Some(LinkState::Stale) && now.since(opening.last_bytes) >= STALE_MS;
            if self.state == Some(LinkState::Live) || still_silent {
                self.say(LinkState::Stale, why_silent(opening, at_it));
            }
            if opening.last_frame.is_none() {
                let heard = opening.last_bytes > opening.opened;
                self.say(LinkState::Listening, why_not_understood(opening, heard));
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
        // What the owner wants asked goes first: a scale that leaves one question unanswered after another would keep
        // it waiting for ever otherwise.
        if opening.awaits_answer(now, self.pace) || now < opening.next_ask || !opening.waiting.is_empty() {
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
            opening.asked = Some(Asked { at: now, by_owner: false, accepted: false });
            opening.polled = true;
        }
        opening.next_ask = now.plus(every);
        Ok(())
    }
}

/// Why nothing comes any more.
fn why_silent(opening: &Opening, at_it: bool) -> &'static str {
    if at_it {
        "the scale is waiting for rest before it does what it was asked: keep bench and draught off the pan"
    } else if opening.shape.ask(Ask::Now).is_none() {
        "the scale has gone silent, and its format has no question: is it on, set to send all the time, and not overloaded? Is the cable in?"
    } else {
        "the scale has gone silent: is it on, and is the cable in?"
    }
}

/// Why nothing has been understood yet.
fn why_not_understood(opening: &Opening, heard: bool) -> String {
    let name = opening.shape.name();
    if heard && name == Bytes::NAME {
        "something comes in; with shape=none it is only shown, and never weighed".to_owned()
    } else if heard {
        let begins = opening.line.greeting();
        let begins = begins.map(|words| format!(", beginning with \u{201c}{words}\u{201d}"));
        let begins = begins.unwrap_or_default();
        format!("something comes in{begins}, but it is not {name}: check speed, line and shape")
    } else if name == Bytes::NAME {
        "the line is open and nothing comes; with shape=none nothing is asked: is the scale set to send?"
            .to_owned()
    } else if opening.shape.ask(Ask::Now).is_none() {
        format!(
            "the line is open, but the scale says nothing, and {name} has no question: set the scale to send all the time"
        )
    } else {
        "the line is open, but the scale says nothing: is it on, and set to send?".to_owned()
    }
}
