//! Hardener in the cup: what is to be minded before it goes in, and for how long the mix can be sprayed from then on.

use super::app::{App, Screen};
use super::bench::Bench;
use super::message::Effect;
use super::messages::time_of_day;
use super::sound::Sound;
use super::theme::Meaning;
use crate::book::Journal;
use crate::catalogue::Toner;
use crate::job::{CautionFlags, Clock, Countdown, Doing, cautions, pot_life};
use crate::mix::{LinePart, Phase};

/// So little of a pot life left is said as something to mind, in minutes (common practice, no source).
const SOON: u64 = 10;

impl App {
    /// What stands above the bench: until when the mix can be sprayed, or before the first hardener what to mind.
    pub(super) fn bench_note(&self, bench: &Bench) -> Option<(String, Meaning)> {
        let journal = bench.journal();
        if journal.session().emptied().is_some() || journal.session().phase() == Phase::Abandoned {
            return None;
        }
        if let Some(time) = pot_life(journal) {
            return Some(self.time_to_spray(time));
        }
        if journal.activated().is_some() {
            let words = "hardener is in: until when it can be sprayed stands on its data sheet";
            return Some((words.to_owned(), Meaning::Doubt));
        }
        self.caution(journal).map(|words| (words, Meaning::Doubt))
    }

    /// `sprayable until 14:20, 58 min left`.
    fn time_to_spray(&self, time: Countdown) -> (String, Meaning) {
        let until = self.clock_time(time);
        match time.at(self.now.stamp) {
            left @ Clock::Left(_) => {
                let meaning = if left.minutes() <= SOON { Meaning::Doubt } else { Meaning::Plain };
                (format!("sprayable until {until}, {}", left.words()), meaning)
            }
            over @ Clock::Over(_) => (
                format!("pot life {} (until {until}): do not spray it any more", over.words()),
                Meaning::Over,
            ),
        }
    }

    /// When it is over, on the wall: `14:20`.
    fn clock_time(&self, time: Countdown) -> String {
        let whole = time_of_day(time.until(), self.settings.seconds_east);
        whole.rsplit_once(':').map_or(whole.clone(), |(minutes, _)| minutes.to_owned())
    }

    /// The pot life of a mix in a few words: `58 min left`, `pot life over`.
    pub(super) fn pot_life_in_short(&self, journal: &Journal) -> Option<String> {
        Some(match pot_life(journal)?.at(self.now.stamp) {
            left @ Clock::Left(_) => format!("{} min left", left.minutes()),
            Clock::Over(_) => "pot life over".to_owned(),
        })
    }

    /// What is to be minded of the hardener that is due next, as its product's entry in the shop's files says: none before
    /// it is due, nor once some of it is in.
    fn caution(&self, journal: &Journal) -> Option<String> {
        let session = journal.session();
        let due = session.current().filter(|_| session.phase() == Phase::Weighing)?;
        let line = session.recipe().lines().get(due).filter(|line| line.part == LinePart::Hardener)?;
        let readied = session.recipe().readied.as_ref()?;
        let product = self.catalogue.product(readied.product.as_str());
        let toner = self.catalogue.toner(line.toner.as_str());
        let isocyanates = product
            .and_then(|product| product.isocyanates)
            .unwrap_or_else(|| toner.is_none_or(Toner::counts_as_isocyanate));
        let own = product.map(|product| product.hazards.cautions.join("; ")).filter(|own| !own.is_empty());
        match (own, isocyanates) {
            (Some(own), true) => Some(format!("isocyanates: {own}")),
            (Some(own), false) => Some(own),
            (None, true) => {
                let flags = CautionFlags { isocyanates: true, ..CautionFlags::default() };
                let says: Vec<_> = cautions(flags, Doing::Spraying).take(2).map(|one| one.says).collect();
                Some(says.join(". "))
            }
            (None, false) => None,
        }
    }

    /// Whether a pot life is on the screen, so that the clock has to be looked at.
    pub(super) fn shows_pot_life(&self) -> bool {
        match &self.screen {
            Screen::Bench(bench) => pot_life(bench.journal()).is_some(),
            Screen::Emptying(emptying) => pot_life(emptying.bench.journal()).is_some(),
            Screen::Cups { .. } => {
                let mut journals = self.cups.iter().filter_map(|cup| cup.journal.as_ref().ok());
                journals.any(|journal| pot_life(journal).is_some())
            }
            _ => false,
        }
    }

    /// Says once that the pot life of what is at the bench is over.
    pub(super) fn heed_pot_life(&mut self) {
        let Screen::Bench(bench) = &self.screen else { return };
        let journal = bench.journal();
        if self.for_job.said_over == Some(journal.mix()) || self.bench_note(bench).is_none() {
            return;
        }
        let is_over = pot_life(journal).is_some_and(|time| !time.is_running(self.now.stamp));
        if is_over {
            self.for_job.said_over = Some(journal.mix());
            self.effects.push(Effect::Sound(Sound::Over));
            self.complain("the pot life of this mix is over: what its data sheet says counts");
        }
    }
}
