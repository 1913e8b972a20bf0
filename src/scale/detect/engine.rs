//! The search itself: listens, asks, follows what it hears, and gives what it found to the verdict.

use super::evidence::{Evidence, Heard};
use super::line::{LIKELY, framed, hears_as};
use super::plan::{BETWEEN_MS, Plan, SPOILER, is_harmless_to, question};
use super::verdict::{Case, ENOUGH, Finding, Outcome};
use super::{Byte, Probe, Progress, Refusal};
use crate::scale::shape::{Answer, Ask, Nameplate, UsualLine};
use std::collections::VecDeque;

/// For how long a read waits before the search looks round, in milliseconds.
const SLICE_MS: u64 = 50;
/// After so much silence an answer is complete, in milliseconds.
const QUIET_MS: u64 = 120;
/// For how long an answer is taken in at most: a scale that speaks by itself is never quiet.
const ANSWER_MOST_MS: u64 = 1_000;
/// So many settings in silence, and the line is silent: a receiver hears something at any speed.
const SILENT_SETTINGS: usize = 2;
/// After so many bytes it is worth looking whether a setting is ruled out.
const TELLING: u64 = 40;
/// So many lines about itself a scale may have.
const LINES_MOST: usize = 12;

/// What ends the wait for an answer: a weight, or a line about the scale.
const fn weights(evidence: &Evidence) -> u64 {
    evidence.readings
}

const fn lines(evidence: &Evidence) -> u64 {
    evidence.answers
}

/// Why a search ends before its time.
enum End {
    Stopped,
    Gone(String),
}

/// A search under way.
pub(super) struct Search<'a> {
    probe: &'a mut dyn Probe,
    plan: &'a Plan,
    progress: &'a mut dyn FnMut(Progress),
    stop: &'a dyn Fn() -> bool,
    /// The settings still to be tried.
    queue: VecDeque<UsualLine>,
    /// The settings in force that were tried in this round.
    tried: Vec<UsualLine>,
    case: Case,
    refused: Option<String>,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        probe: &'a mut dyn Probe,
        plan: &'a Plan,
        progress: &'a mut dyn FnMut(Progress),
        stop: &'a dyn Fn() -> bool,
    ) -> Self {
        let case = Case { tells_damage: probe.tells_damage(), ..Case::default() };
        Self { probe, plan, progress, stop, queue: VecDeque::new(), tried: Vec::new(), case, refused: None }
    }

    pub(super) fn run(mut self) -> Finding {
        let begun = self.probe.now();
        let ended = self.rounds().err();
        let ms = self.probe.now().since(begun);
        let mut finding = self.case.finding(ms);
        match ended {
            Some(End::Stopped) if finding.found().is_none() => finding.outcome = Outcome::Stopped,
            Some(End::Gone(why)) if finding.found().is_none() => finding.outcome = Outcome::Gone(why),
            _ => {}
        }
        finding
    }

    fn rounds(&mut self) -> Result<(), End> {
        self.begin_round();
        self.listen_round()?;
        if self.plan.ask && !self.case.is_settled() {
            let speaks = self.case.bytes > 0;
            self.begin_round();
            if speaks {
                // What speaks and is not understood at any setting is hardly understood when it is asked.
                let most = self.plan.first.len().saturating_add(LIKELY.len());
                self.queue.truncate(most);
            }
            self.ask_round()?;
        }
        if self.case.settings == 0
            && let Some(why) = self.refused.take()
        {
            return Err(End::Gone(why));
        }
        if self.plan.ask {
            self.read_nameplate()?;
        }
        Ok(())
    }

    fn begin_round(&mut self) {
        self.queue = self.plan.settings(self.probe.set_before()).into();
        self.tried.clear();
    }

    /// The next setting and what is in force then; none at the end of the round.
    fn next_setting(&mut self) -> Result<Option<UsualLine>, End> {
        while let Some(line) = self.queue.pop_front() {
            self.look_round()?;
            if self.was_tried(line) {
                continue;
            }
            let in_force = match self.set(line)? {
                Some(in_force) if !self.was_tried(in_force) => in_force,
                _ => continue,
            };
            self.tried.push(in_force);
            return Ok(Some(in_force));
        }
        Ok(None)
    }

    fn was_tried(&self, line: UsualLine) -> bool {
        self.tried.iter().any(|tried| hears_as(*tried, line))
    }

    /// Sets the line; none where the port cannot be set like that.
    fn set(&mut self, line: UsualLine) -> Result<Option<UsualLine>, End> {
        match self.probe.set(line) {
            Ok(in_force) => Ok(Some(in_force)),
            Err(Refusal::Setting(why)) => {
                self.refused = Some(why);
                Ok(None)
            }
            Err(Refusal::Gone(why)) => Err(End::Gone(why)),
        }
    }

    fn listen_round(&mut self) -> Result<(), End> {
        let mut silent = 0;
        while let Some(line) = self.next_setting()? {
            (self.progress)(Progress::Listening { line, left: self.queue.len() });
            let heard = self.listen(line)?;
            if heard.bytes == 0 {
                silent += 1;
            }
            // Without marks the damaged bytes may have been thrown away, and silence means less.
            let enough = if self.plan.ask { 1 } else { SILENT_SETTINGS };
            let is_silent = self.case.bytes == 0 && heard.bytes == 0 && silent >= enough;
            let settled = self.take_down(&heard);
            if settled || is_silent && self.probe.tells_damage() {
                break;
            }
            self.follow(&heard);
        }
        Ok(())
    }

    fn listen(&mut self, line: UsualLine) -> Result<Heard, End> {
        let mut heard = Heard::new(line, &self.plan.shapes, self.probe.tells_damage());
        let begun = self.probe.now();
        loop {
            let passed = self.probe.now().since(begun);
            let clean = heard.evidence().any(|evidence| evidence.is_clean() && evidence.readings > 0);
            let until = if clean { self.plan.listen_most_ms } else { self.plan.listen_ms };
            let best = heard.evidence().map(|evidence| evidence.readings).max().unwrap_or(0);
            if passed >= until || clean && best >= ENOUGH || heard.is_hinted() {
                return Ok(heard);
            }
            self.read((until - passed).min(SLICE_MS), &mut heard)?;
        }
    }

    /// Reads once; how many bytes came.
    fn read(&mut self, ms: u64, heard: &mut Heard) -> Result<usize, End> {
        self.look_round()?;
        let mut bytes: Vec<Byte> = Vec::new();
        match self.probe.read(ms, &mut bytes) {
            Ok(()) => {}
            Err(Refusal::Setting(why) | Refusal::Gone(why)) => return Err(End::Gone(why)),
        }
        heard.hear(&bytes);
        if !bytes.is_empty() {
            let best = heard.evidence().max_by_key(|evidence| evidence.readings);
            let best = best.map(|evidence| (evidence.shape, evidence.readings));
            (self.progress)(Progress::Heard { line: heard.line, bytes: heard.bytes, best });
        }
        Ok(bytes.len())
    }

    fn look_round(&self) -> Result<(), End> {
        if (self.stop)() { Err(End::Stopped) } else { Ok(()) }
    }

    /// Writes down what was heard; true where nothing more is to be found out.
    fn take_down(&mut self, heard: &Heard) -> bool {
        self.case.settings += 1;
        self.case.bytes = self.case.bytes.saturating_add(heard.bytes);
        self.case.evidence.extend(heard.evidence().cloned());
        if !self.probe.tells_damage() {
            self.doubt_parity(heard);
        }
        self.case.is_settled()
    }

    /// A port that does not tell damage hears an 8N1 line at 7E1 as well. At 8N1 it shows in bit 7, so that what was
    /// heard with parity is put aside until it was listened to without.
    fn doubt_parity(&mut self, heard: &Heard) {
        let plain = framed(heard.line.baud, 8, 'N');
        if heard.line.parity != 'N' && !self.was_tried(plain) && heard.evidence().next().is_some() {
            self.case.evidence.retain(|evidence| !hears_as(evidence.line, heard.line));
            self.tried.retain(|tried| !hears_as(*tried, heard.line));
            self.queue.push_front(heard.line);
            self.queue.push_front(plain);
        }
    }

    /// Puts first what would explain the bytes, and last what they rule out.
    fn follow(&mut self, heard: &Heard) {
        let hints = heard.hints();
        if hints.is_empty() {
            let without_parity = heard.line.data_bits == 8 && heard.line.parity == 'N';
            if without_parity && self.probe.tells_damage() && heard.bytes >= TELLING {
                let baud = heard.line.baud;
                self.queue.make_contiguous().sort_by_key(|line| line.baud == baud);
            }
        }
        for line in hints.into_iter().rev() {
            if !self.was_tried(line) {
                self.queue.push_front(line);
            }
        }
    }

    fn ask_round(&mut self) -> Result<(), End> {
        while let Some(line) = self.next_setting()? {
            (self.progress)(Progress::Asking { line, left: self.queue.len() });
            let mut heard = Heard::new(line, &self.plan.shapes, self.probe.tells_damage());
            self.send(SPOILER, &mut heard)?;
            for question in self.plan.questions(line) {
                let before = heard.bytes;
                self.ask(question, &mut heard, weights)?;
                let understood = |heard: &Heard| heard.evidence().any(|evidence| evidence.readings > 0);
                if heard.bytes > before && !understood(&heard) {
                    // Of a format with two widths the seldom one counts from its second line in a row on.
                    self.ask(question, &mut heard, weights)?;
                }
                if understood(&heard) {
                    self.ask_again(question, &mut heard)?;
                    break;
                }
                if heard.is_hinted() {
                    break;
                }
            }
            if self.take_down(&heard) {
                break;
            }
            self.follow(&heard);
        }
        Ok(())
    }

    /// Sends a question and takes in what comes until something is understood or the scale is quiet.
    fn ask(&mut self, question: &[u8], heard: &mut Heard, over: fn(&Evidence) -> u64) -> Result<(), End> {
        let understood = |heard: &Heard| heard.evidence().map(over).max().unwrap_or(0);
        let before = understood(heard);
        self.send(question, heard)?;
        // The question, and an answer of a line: some thirty bytes of eleven bits.
        let on_the_wire = 330_000_u64.checked_div(u64::from(heard.line.baud)).unwrap_or(0);
        let begun = self.probe.now();
        let mut last = None;
        loop {
            let now = self.probe.now();
            let waited = now.since(begun);
            let quiet = last.is_none_or(|last| now.since(last) >= QUIET_MS);
            let over = waited >= self.plan.answer_ms.saturating_add(on_the_wire) && quiet
                || waited >= ANSWER_MOST_MS;
            if over || understood(heard) > before {
                return Ok(());
            }
            if self.read(QUIET_MS / 6, heard)? > 0 {
                last = Some(self.probe.now());
            }
        }
    }

    /// Sends bytes, slowly enough that no receiver runs two of them together.
    fn send(&mut self, bytes: &[u8], heard: &mut Heard) -> Result<(), End> {
        self.look_round()?;
        self.case.asked = true;
        for byte in bytes {
            match self.probe.write(&[*byte]) {
                Ok(()) => {}
                Err(Refusal::Setting(why) | Refusal::Gone(why)) => return Err(End::Gone(why)),
            }
            let until = self.probe.now().plus(BETWEEN_MS);
            while self.probe.now() < until {
                self.read(until.since(self.probe.now()), heard)?;
            }
        }
        Ok(())
    }

    /// Asks the format that was understood in its own words until it is sure.
    fn ask_again(&mut self, first: &'static [u8], heard: &mut Heard) -> Result<(), End> {
        let best = heard
            .evidence()
            .max_by_key(|evidence| (evidence.readings, std::cmp::Reverse(evidence.left_over)));
        let Some(shape) = best.map(|evidence| evidence.shape) else { return Ok(()) };
        let own = question(shape);
        let readings = |heard: &Heard| heard.evidence().map(|evidence| evidence.readings).max().unwrap_or(0);
        let before = readings(heard);
        let mut answers_own = own == Some(first);
        if let Some(own) = own.filter(|_| !answers_own) {
            self.ask(own, heard, weights)?;
            answers_own = readings(heard) > before;
        }
        self.case.asked_back = Some((heard.line, shape, answers_own));
        let question = if answers_own { own.unwrap_or(first) } else { first };
        for _ in 0..ENOUGH.saturating_mul(2) {
            let before = readings(heard);
            if before >= ENOUGH {
                break;
            }
            self.ask(question, heard, weights)?;
            if readings(heard) == before {
                break;
            }
        }
        Ok(())
    }

    /// Has the scale tell of itself, where it is known what it speaks.
    fn read_nameplate(&mut self) -> Result<(), End> {
        let Some((line, shape)) = self.case.undoubted() else { return Ok(()) };
        let safe = |ask: Ask| {
            shape.ask(ask).filter(|bytes| !ask.changes_the_scale() && is_harmless_to(shape, bytes))
        };
        let (Some(first), next) = (safe(Ask::Information), safe(Ask::InformationNext)) else {
            return Ok(());
        };
        (self.progress)(Progress::Nameplate { shape });
        if self.set(line)?.is_none() {
            return Ok(());
        }
        let mut heard = Heard::new(line, &[shape], self.probe.tells_damage());
        self.ask(first, &mut heard, lines)?;
        let mut plate = Nameplate::default();
        let mut seen = 0;
        for _ in 0..LINES_MOST {
            let answers = heard.answers(shape);
            let Some(fresh) = answers.get(seen..).filter(|fresh| !fresh.is_empty()) else { break };
            seen = answers.len();
            fresh.iter().filter_map(|answer| shape.nameplate(answer)).for_each(|part| plate.add(part));
            let over = |answer: &Answer| !matches!(answer, Answer::About(name, _) if name != "END");
            match next {
                Some(next) if !fresh.iter().any(over) => self.ask(next, &mut heard, lines)?,
                _ => break,
            }
        }
        self.case.nameplate = (plate != Nameplate::default()).then_some(plate);
        Ok(())
    }
}
