//! A pour that was booked to the wrong toner or tin: which it was, what it was in truth, and what follows from that.

use super::app::{App, Screen};
use super::bench::Bench;
use super::prompt::{Asks, Prompt};
use crate::catalogue::TonerCode;
use crate::mix::{Phase, RowState, Session};
use crate::units::Notation;

/// What is typed of a pour: another toner, another tin, or both.
struct WhatItWas {
    toner: TonerCode,
    tin: Option<String>,
}

impl App {
    /// Asks which pour is to be put right, the latest marked.
    pub(super) fn ask_which_pour(&mut self) {
        let Some(pours) = self.bench().map(|bench| bench.session().pours().len()) else { return };
        match pours {
            0 => self.say("nothing is booked yet that could be put right: pour first"),
            1 => self.ask(Asks::WhatItWas(0)),
            _ => self.ask(Asks::WhichPour),
        }
    }

    /// The pours to choose from, the latest first: number, toner, grams, tin.
    pub(super) fn pours_to_choose(&self) -> Vec<[String; 4]> {
        let Some(session) = self.bench().map(Bench::session) else { return Vec::new() };
        let (division, notation) = (session.limits().division, self.notation());
        let row = |(at, pour): (usize, &crate::mix::BookedPour)| {
            let line = session.recipe().position(&pour.toner);
            let line = line.and_then(|line| session.recipe().lines().get(line));
            let known = self.catalogue.toner(pour.toner.as_str());
            let name = line.map(|line| &line.name).or(known.map(|toner| &toner.name));
            [
                at.saturating_add(1).to_string(),
                format!("{} {}", pour.toner, name.map_or("not in this formula", String::as_str)),
                notation.mass(pour.poured, division),
                pour.tin.as_ref().map_or_else(|| "no tin said".to_owned(), |tin| format!("tin {tin}")),
            ]
        };
        session.pours().iter().enumerate().rev().map(row).collect()
    }

    /// Which pour was chosen: the one whose number was typed, or the marked one.
    pub(super) fn answer_which_pour(&mut self, typed: &str, marked: usize) -> Result<(), String> {
        let pours = self.bench().map_or(0, |bench| bench.session().pours().len());
        let pour = match typed {
            "" => pours.checked_sub(marked.saturating_add(1)),
            number => number.parse::<usize>().ok().and_then(|n| n.checked_sub(1)).filter(|n| *n < pours),
        };
        let pour =
            pour.ok_or_else(|| format!("'{typed}' is none of them: type a number from 1 to {pours}"))?;
        self.ask(Asks::WhatItWas(pour));
        Ok(())
    }

    /// The question what that pour was in truth.
    pub(super) fn what_it_was_question(&self, pour: usize) -> Option<String> {
        let session = self.bench()?.session();
        let booked = session.pours().get(pour)?;
        let tin = booked.tin.as_ref().map_or_else(String::new, |tin| format!(" from tin {tin}"));
        let poured = self.notation().mass(booked.poured, session.limits().division);
        Some(format!("{} {poured}{tin}: what was it?", booked.toner))
    }

    /// What follows if what is typed is taken; or how to type it.
    pub(super) fn what_follows(&self, pour: usize, typed: &str) -> String {
        const HOW: &str = "another toner as B15, with its tin as B15 24-007, or only the tin as tin 24-007";
        let Some(session) = self.bench().map(Bench::session) else { return String::new() };
        let ahead = self.what_it_was(session, pour, typed).and_then(|was| {
            let event = session.rebook(pour, was.toner, was.tin).map_err(|refusal| refusal.to_string())?;
            session.ahead(&event).map_err(|refusal| refusal.to_string())
        });
        match ahead {
            Ok(ahead) => follows(&ahead, self.notation()),
            Err(_) => HOW.to_owned(),
        }
    }

    /// Books that pour as what was typed.
    pub(super) fn answer_what_it_was(&mut self, pour: usize, typed: &str) -> Result<(), String> {
        let Some(session) = self.bench().map(Bench::session) else { return Ok(()) };
        let was = self.what_it_was(session, pour, typed)?;
        let said = format!("booked as {}", was.toner);
        let said = was.tin.as_ref().map_or(said.clone(), |tin| format!("{said} from tin {tin}"));
        self.at_bench(|bench, _, tools| bench.put_right(pour, was.toner, was.tin, tools));
        if self.notice.is_none() {
            self.say(said);
        }
        Ok(())
    }

    fn what_it_was(&self, session: &Session, pour: usize, typed: &str) -> Result<WhatItWas, String> {
        let booked = session.pours().get(pour).ok_or("that pour is not there any more")?;
        let (first, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        let rest = Some(rest.trim().to_owned()).filter(|rest| !rest.is_empty());
        if first.is_empty() {
            return Err("type the toner that it was, or tin and the tin's number".to_owned());
        }
        if first.eq_ignore_ascii_case("tin") {
            let tin = rest.ok_or("type the tin's number behind it, as tin 24-007")?;
            return Ok(WhatItWas { toner: booked.toner.clone(), tin: Some(tin) });
        }
        let known = self.catalogue.toner(first).map(|toner| toner.code.clone());
        let known = known.or_else(|| {
            let mut lines = session.recipe().lines().iter();
            lines.find(|line| line.toner.as_str().eq_ignore_ascii_case(first)).map(|line| line.toner.clone())
        });
        let toner = known.ok_or_else(|| {
            format!("no toner has the code '{first}': it stands on the tin and in toners.toml")
        })?;
        let of_mix = session.recipe().position(&toner).and_then(|line| session.tin(line));
        let tin = rest
            .or_else(|| if toner == booked.toner { booked.tin.clone() } else { of_mix.map(str::to_owned) });
        Ok(WhatItWas { toner, tin })
    }
}

/// Where a mix stands, in a sentence that begins with "then".
fn follows(ahead: &Session, notation: Notation) -> String {
    let division = ahead.limits().division;
    let toner = |line: usize| ahead.recipe().lines().get(line).map_or("", |line| line.toner.as_str());
    match ahead.phase() {
        Phase::Over(line) => {
            let off = ahead.record().into_iter().find(|row| row.line == line).map(|row| row.state);
            match off {
                Some(RowState::Over(off)) => {
                    format!("then {} is {} over", toner(line), notation.mass(off, division))
                }
                _ => format!("then {} is over", toner(line)),
            }
        }
        Phase::Fouled => "then something is in the cup that is not in the formula".to_owned(),
        Phase::Weighing => {
            let next = ahead.current().map(toner).unwrap_or_default();
            format!("then {next} is next")
        }
        Phase::Complete => "then everything is in".to_owned(),
        _ => "the mix stays as it is; only the book changes".to_owned(),
    }
}

impl Bench {
    /// Books a pour as what it was in truth.
    pub(super) fn put_right(
        &mut self,
        pour: usize,
        toner: TonerCode,
        tin: Option<String>,
        tools: &mut super::bench::Tools<'_>,
    ) -> Result<super::bench::Step, super::bench::BenchError> {
        let event = self.session().rebook(pour, toner, tin)?;
        self.record(&event, tools)
    }
}

/// What has to be answered with yes or no before it is done, because nothing brings it back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sure {
    /// Throwing away what is in the cup, by the way out with that number; the marked one if there is none.
    StartAgain(Option<usize>),
    /// Going the way out with that number, or the marked one, though the cup or the scale will not hold it.
    TooMuch(Option<usize>),
    /// Leaving a formula without what was changed in it.
    DropFormula,
    /// Telling the book what waits in `Stores`: a tin or a leftover gone for good, a lot called back.
    Stock,
    /// Closing the job on the screen.
    CloseJob,
}

impl App {
    /// Goes a way out; asks first where that throws the cup's content away.
    pub(super) fn go_way(&mut self, which: Option<usize>) {
        let Screen::Bench(bench) = &self.screen else { return };
        let choice = bench.ways().get(which.unwrap_or(bench.selected()));
        if choice.is_some_and(|choice| choice.way == crate::mix::Way::Restart) {
            return self.ask(Asks::Sure(Sure::StartAgain(which)));
        }
        if choice.is_some_and(|choice| !(choice.fits_cup && choice.fits_scale)) {
            return self.ask(Asks::Sure(Sure::TooMuch(which)));
        }
        self.at_bench(|bench, _, tools| bench.choose(which, tools));
    }

    /// What is asked, and what it costs.
    pub(super) fn sure_question(&self, sure: Sure) -> Option<(String, String)> {
        if sure == Sure::DropFormula {
            let words = ("leave without saving?", "what was changed in this formula is lost");
            return Some((words.0.to_owned(), words.1.to_owned()));
        }
        if sure == Sure::Stock {
            return self.pending_question();
        }
        if sure == Sure::CloseJob {
            return self.close_question();
        }
        let bench = self.bench()?;
        let session = bench.session();
        match sure {
            Sure::DropFormula | Sure::Stock | Sure::CloseJob => None,
            Sure::TooMuch(which) => {
                let choice = bench.ways().get(which.unwrap_or(bench.selected()))?;
                let vessel = &session.start().vessel;
                let what = if choice.fits_cup {
                    "it is more than the scale weighs: go on all the same?".to_owned()
                } else {
                    format!("it is more than the cup {} holds: go on all the same?", vessel.name)
                };
                Some((what, "have a larger cup at hand before it is full, or choose another way".to_owned()))
            }
            Sure::StartAgain(which) => {
                let choice = bench.ways().get(which.unwrap_or(bench.selected()))?;
                let notation = self.notation();
                let thrown = notation.mass(session.holds(), session.limits().division);
                let cost = choice
                    .extra_cost
                    .map_or_else(String::new, |cost| format!("that is {} of paint; ", notation.money(cost)));
                Some((
                    format!("throw {thrown} away and start again?"),
                    format!("{cost}nothing brings it back"),
                ))
            }
        }
    }

    /// It was answered with yes.
    pub(super) fn do_it(&mut self, sure: Sure) {
        match sure {
            Sure::StartAgain(which) | Sure::TooMuch(which) => {
                self.at_bench(|bench, _, tools| bench.choose(which, tools));
            }
            Sure::DropFormula => self.open_colours(),
            Sure::Stock => self.tell_pending(),
            Sure::CloseJob => self.close_job(),
        }
    }

    /// Yes or no, to what cannot be undone. A yes that comes before the question can have been read is none.
    pub(super) fn answer_sure(&mut self, sure: Sure, yes: bool) {
        let Some(prompt) = &mut self.prompt else { return };
        if yes && !prompt.was_seen(self.now.moment) {
            prompt.error = Some("read it first, then press it again".to_owned());
            return;
        }
        self.prompt = None;
        if yes {
            self.do_it(sure);
        } else {
            self.say("nothing was done");
        }
    }
}

impl Prompt {
    /// Moves the mark among what can be chosen.
    pub(super) fn step(&mut self, down: bool, count: usize) {
        let last = count.saturating_sub(1);
        self.selected =
            if down { self.selected.saturating_add(1).min(last) } else { self.selected.saturating_sub(1) };
        self.error = None;
    }
}
