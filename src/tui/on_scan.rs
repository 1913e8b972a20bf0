//! What a scan does: the right tin is taken, the wrong one is said before it is poured.

use super::app::{App, Screen};
use super::keys::{Action, Context};
use super::message::Effect;
use super::prompt::Asks;
use super::scanned::{Scanned, ScannedTin};
use super::sound::Sound;
use super::wall::day;
use crate::barcode::{Day, Heard};
use crate::mix::Phase;
use crate::stock::{Caution, Today};
use crate::units::Stamp;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use tui_input::InputRequest;

/// What ends data of variable length in a GS1 code; a terminal gives it on as Ctrl-5 or Ctrl-].
const SEPARATOR: char = '\u{1d}';

/// Said where a tin is asked for and a mixed cup's label is scanned.
pub(super) const NO_TIN: &str = "that is the label of a mixed cup, not of a tin";

/// What is wrong with a tin that was scanned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct WrongTin {
    /// The tin.
    pub(super) tin: ScannedTin,
    /// Why.
    pub(super) why: WhyWrong,
}

/// Why a tin is not to be poured as it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum WhyWrong {
    /// It is another toner of this formula, at that place of it.
    Other(usize),
    /// It is not in this formula.
    Foreign,
    /// It is the right one, and too old.
    Expired,
    /// The book speaks against it.
    Said(Caution),
}

impl App {
    /// Sees whether a key belongs to a scan. True if it is dealt with; what was held and is a hand's is done first.
    pub(super) fn hear_scanner(&mut self, key: &KeyEvent) -> bool {
        if key.kind == KeyEventKind::Release {
            return false;
        }
        let (context, now) = (self.context(), self.now.moment);
        if let Some(letter) = letter_of(key, self.burst.held().is_some()) {
            if context.is_typing() {
                // It is typed as it comes, and taken back if it was a scanner.
                let _ = self.burst.letter(letter, now);
                return letter == SEPARATOR;
            }
            if let Heard::Typed(letters) = self.burst.letter(letter, now) {
                self.press(letters);
            }
            return true;
        }
        let ends = matches!(key.code, KeyCode::Enter | KeyCode::Tab) && key.modifiers.is_empty();
        let heard = if ends { self.burst.end(now) } else { Some(Heard::Typed(self.burst.release())) };
        match heard {
            Some(Heard::Scan(text)) => self.on_scan(&text, context),
            Some(Heard::Typed(letters)) if !context.is_typing() => {
                self.press(letters);
                false
            }
            _ => false,
        }
    }

    /// What was held long enough was a hand's.
    pub(super) fn release_held(&mut self) {
        let letters = self.burst.release_if_due(self.now.moment);
        if !self.context().is_typing() {
            self.press(letters);
        }
    }

    /// Does what a hand's keys do, in their order.
    fn press(&mut self, letters: Vec<char>) {
        for letter in letters {
            let event = KeyEvent::new(KeyCode::Char(letter), KeyModifiers::NONE);
            self.on_plain_key(&event);
        }
    }

    /// Does what a scan is for here; false if it is none, so that the key that ended it is a key.
    fn on_scan(&mut self, text: &str, context: Context) -> bool {
        let scanned = Scanned::of(text, &self.catalogue, &self.known.listing, self.year());
        let asks = self.prompt.as_ref().map(|prompt| prompt.asks);
        match (context, asks) {
            (Context::Prompt, Some(Asks::Tin | Asks::WhatItWas(_) | Asks::WrongToner | Asks::CountTin)) => {
                self.answer_by_scan(&scanned, text);
                return true;
            }
            (Context::Prompt, Some(Asks::Receive(field))) => {
                return self.scan_into_form(field, &scanned, text);
            }
            (Context::Prompt, Some(Asks::CountNet | Asks::CountEmpty)) => {
                self.doubt_scan();
                return true;
            }
            // Whatever else is asked, a scanner types as well as a hand.
            (Context::Prompt | Context::Amount | Context::Formula | Context::FirstRun, _) => {
                let is_read = matches!(&scanned, Scanned::Tin(_) | Scanned::Mix(_));
                return is_read && context == Context::Amount && {
                    self.unscan(text);
                    self.tell_scanned(&scanned);
                    true
                };
            }
            (Context::Colours | Context::Waste | Context::Leftovers, _)
                if matches!(scanned, Scanned::Unknown(_) | Scanned::Wrong(_)) =>
            {
                return false;
            }
            // The code of a colour is what its leftovers are found by.
            (Context::Leftovers, _) if matches!(scanned, Scanned::Colour(_)) => return true,
            (Context::Leftovers, _) => {
                self.unscan(text);
                if matches!(scanned, Scanned::Mix(mix) if self.mark_leftover(mix)) {
                    return true;
                }
            }
            (Context::Colours | Context::Waste, _) => self.unscan(text),
            (Context::Shelf | Context::Tins, _) => {
                if !matches!(&scanned, Scanned::Tin(_) | Scanned::Mix(_)) {
                    return false;
                }
                if context == Context::Shelf {
                    self.unscan(text);
                }
                let Scanned::Tin(tin) = &scanned else {
                    self.tell_scanned(&scanned);
                    return true;
                };
                self.open_scanned(tin);
                return true;
            }
            (Context::Stocktake, _) => {
                if let Scanned::Tin(tin) = &scanned {
                    self.scan_tin_to_count(tin);
                    return true;
                }
            }
            _ => {}
        }
        let weighing =
            matches!(context, Context::Bench | Context::PourIn | Context::WrongTin | Context::CupOff);
        match (weighing, scanned) {
            (true, Scanned::Tin(tin)) => self.tin_at_bench(tin),
            (_, Scanned::Colour(at)) if context == Context::Colours => {
                let role = self.known.entry(at).and_then(|entry| entry.layers.first()).map(|(role, _)| *role);
                if let Some(role) = role {
                    self.pick(at, role);
                }
            }
            (_, scanned) => self.tell_scanned(&scanned),
        }
        true
    }

    /// What was typed by a scanner goes out of the line again.
    fn unscan(&mut self, text: &str) {
        let count = text.chars().filter(|letter| *letter != SEPARATOR).count();
        for _ in 0..count {
            match &mut self.screen {
                Screen::Colours(colours) => {
                    colours.edit(InputRequest::DeletePrevChar, &mut self.known);
                }
                Screen::Shelf(page) => page.edit(InputRequest::DeletePrevChar),
                Screen::Waste(page) => page.edit(InputRequest::DeletePrevChar),
                Screen::Leftovers(page) => page.edit(InputRequest::DeletePrevChar),
                Screen::Amount(amount) => amount.edit(InputRequest::DeletePrevChar, &self.catalogue),
                _ => {}
            }
        }
    }

    /// The answer to a question about a tin or a toner.
    fn answer_by_scan(&mut self, scanned: &Scanned, text: &str) {
        let Some(prompt) = &mut self.prompt else { return };
        let answer = match (scanned, prompt.asks) {
            (Scanned::Tin(tin), Asks::Tin) => tin.label.clone().unwrap_or_else(|| text.to_owned()),
            (Scanned::Tin(tin), Asks::WhatItWas(_) | Asks::CountTin) => {
                format!("{} {}", tin.toner, tin.label.as_deref().unwrap_or_default()).trim().to_owned()
            }
            (Scanned::Tin(tin), _) => tin.toner.clone(),
            (Scanned::Mix(_), _) => {
                prompt.error = Some(NO_TIN.to_owned());
                return;
            }
            (Scanned::Wrong(why), _) => {
                prompt.error = Some(why.clone());
                return;
            }
            _ => text.to_owned(),
        };
        prompt.input = tui_input::Input::new(crate::units::clean(&answer));
        self.act(Action::Accept);
    }

    /// Says what was scanned.
    fn tell_scanned(&mut self, scanned: &Scanned) {
        match scanned {
            Scanned::Tin(tin) => self.say(format!("that is {}", tin.words())),
            Scanned::Colour(at) => {
                let named = self.known.entry(*at).map(|entry| entry.named());
                self.say(format!("that is the colour {}", named.unwrap_or_default()));
            }
            Scanned::Mix(mix) => self.bring_up(*mix),
            Scanned::Unknown(text) => self.complain(format!(
                "no toner and no colour has the code {text}: add it as codes = [\"{text}\"] to its toner in toners.toml"
            )),
            Scanned::Wrong(why) => self.complain(why.clone()),
        }
    }

    /// A tin is scanned while a mix is weighed.
    pub(super) fn tin_at_bench(&mut self, tin: ScannedTin) {
        let Some(bench) = self.bench() else { return };
        if bench.pour_in().is_some() {
            return self.say(format!("that is {}; the leftover goes in first", tin.words()));
        }
        let session = bench.session();
        let lines = session.recipe().lines();
        let due = session.current().filter(|_| session.phase() == Phase::Weighing);
        let line = lines.iter().position(|line| line.toner.as_str().eq_ignore_ascii_case(&tin.toner));
        let why = match line {
            Some(line) if Some(line) == due => {
                let today = Day::parse(&self.today());
                let expired = today.is_some_and(|today| tin.is_expired(today)).then_some(WhyWrong::Expired);
                let said = tin.label.as_ref().and_then(|label| self.speaks_against(label));
                match (said, expired) {
                    (None | Some(Caution::Expired { .. }), Some(expired)) => Some(expired),
                    (said, _) => said.map(WhyWrong::Said),
                }
            }
            Some(line) => Some(WhyWrong::Other(line)),
            None => Some(WhyWrong::Foreign),
        };
        match why {
            None => self.take_scanned(&tin),
            Some(why) => {
                self.effects.push(Effect::Sound(Sound::WrongTin));
                self.messages.keep(&self.wrong_tin_words(&tin, &why), true, self.now.stamp);
                self.wrong_tin = Some(WrongTin { tin, why });
            }
        }
    }

    /// The tin is the one that is poured from now on.
    fn take_scanned(&mut self, tin: &ScannedTin) {
        self.wrong_tin = None;
        let said = tin.words();
        let Some(label) = tin.label.clone() else {
            // Nothing tells this tin from another: the right toner, and no more is known.
            self.effects.push(Effect::Sound(Sound::Right));
            return self.say(said);
        };
        let marks = tin.marks();
        let heed = self.heed_tin(&label);
        let same = self.bench().is_some_and(|bench| {
            let session = bench.session();
            session.current().and_then(|line| session.tin(line)) == Some(label.as_str())
        });
        if !same {
            self.at_bench(|bench, scale, tools| bench.next_tin(&label, marks, scale, tools));
        }
        if self.notice.as_ref().is_none_or(|notice| !notice.is_error) {
            self.effects.push(Effect::Sound(Sound::Right));
            self.say([vec![said], heed].concat().join("; "));
        }
    }

    /// What is wrong with it, in a sentence with what to do.
    pub(super) fn wrong_tin_words(&self, tin: &ScannedTin, why: &WhyWrong) -> String {
        let session = self.bench().map(super::bench::Bench::session);
        let due = session.and_then(|session| session.recipe().lines().get(session.current()?));
        let due = due.map_or_else(String::new, |line| format!("{} {}", line.toner, line.name));
        match why {
            WhyWrong::Other(_) => format!("that is {} {}; {due} is due", tin.toner, tin.name),
            WhyWrong::Foreign => {
                format!("that is {} {}, which is not in this formula; {due} is due", tin.toner, tin.name)
            }
            WhyWrong::Said(caution) => {
                let said = caution.words(self.notation());
                format!("tin {}: {said}", tin.label.as_deref().unwrap_or_default())
            }
            WhyWrong::Expired => {
                let until = tin.expires.map(|day| day.to_string()).unwrap_or_default();
                // Which lot it is of matters less than the day, and one line has no room for both.
                let tin = ScannedTin { lot: None, ..tin.clone() };
                format!("{} was to be used until {until}", tin.words())
            }
        }
    }

    /// Keys while a wrong tin is in the hand.
    pub(super) fn act_on_wrong_tin(&mut self, action: Action) {
        let Some(WrongTin { tin, why }) = self.wrong_tin.clone() else { return };
        match (action, why) {
            (Action::Accept, WhyWrong::Expired | WhyWrong::Said(_)) => self.take_scanned(&tin),
            (Action::Accept | Action::Back, _) => self.wrong_tin = None,
            (Action::JumpToToner, WhyWrong::Other(line)) => {
                self.wrong_tin = None;
                self.at_bench(|bench, scale, tools| bench.turn_to(line, scale, tools));
                // Whatever the jump led to: the tin is taken where its toner is due now.
                let due = self.bench().and_then(|bench| bench.session().current());
                if due == Some(line) {
                    self.tin_at_bench(tin);
                }
            }
            (Action::WrongToner, _) => {
                self.wrong_tin = None;
                self.ask(Asks::WrongToner);
                if let Some(prompt) = &mut self.prompt {
                    prompt.input = tui_input::Input::new(tin.toner);
                }
            }
            _ => {}
        }
    }

    /// Whether something was poured since the last that is booked: then a wrong tin may be in the cup already.
    pub(super) fn has_begun_to_pour(&self) -> bool {
        self.bench().is_some_and(|bench| {
            let floor = bench.session().limits().division.grams();
            bench.net(&self.scale).is_some_and(|net| net > bench.session().holds() + floor)
        })
    }

    /// The day on the wall.
    pub(super) fn today(&self) -> String {
        day(self.now.stamp, self.settings.seconds_east)
    }

    fn year(&self) -> u16 {
        self.today().get(..4).and_then(|year| year.parse().ok()).unwrap_or(2000)
    }
}

/// The day it is on the wall and when it began there; none where the clock shows no day of the calendar.
pub fn today(at: Stamp, seconds_east: i32) -> Option<Today> {
    let began = at.0.saturating_sub(at.0.saturating_add(i64::from(seconds_east) * 1_000_000).rem_euclid(DAY));
    Some(Today { day: Day::parse(&day(at, seconds_east))?, began: Stamp(began) })
}

/// A day has so many microseconds.
const DAY: i64 = 86_400_000_000;

/// The character a key types, if it is one that a scanner sends.
fn letter_of(key: &KeyEvent, holds: bool) -> Option<char> {
    let plain = key.modifiers.difference(KeyModifiers::SHIFT).is_empty();
    match key.code {
        KeyCode::Char(letter) if plain => Some(letter),
        KeyCode::Char('5' | ']') if holds && key.modifiers == KeyModifiers::CONTROL => Some(SEPARATOR),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_day_is_that_on_the_wall() {
        // 2023-11-14 22:13:20 UTC.
        let at = Stamp(1_700_000_000_000_000);
        assert_eq!(day(at, 0), "2023-11-14");
        assert_eq!(day(at, 7_200), "2023-11-15");
        let began = |seconds_east| today(at, seconds_east).map(|today| (today.day.to_string(), today.began));
        assert_eq!(began(0), Some(("2023-11-14".to_owned(), Stamp(1_699_920_000_000_000))));
        assert_eq!(began(7_200), Some(("2023-11-15".to_owned(), Stamp(1_699_999_200_000_000))));
    }

    #[test]
    fn the_separator_is_one_only_within_a_scan() {
        let key = KeyEvent::new(KeyCode::Char('5'), KeyModifiers::CONTROL);
        assert_eq!((letter_of(&key, false), letter_of(&key, true)), (None, Some(SEPARATOR)));
        let shifted = KeyEvent::new(KeyCode::Char('W'), KeyModifiers::SHIFT);
        assert_eq!(letter_of(&shifted, false), Some('W'));
    }
}
