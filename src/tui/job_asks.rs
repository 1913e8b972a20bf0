//! What is asked of a job, a line at a time.

use super::app::{App, Screen};
use super::jobs::{CardDraft, carded};
use super::new_job::JobField;
use super::prompt::Asks;
use crate::book::JobId;
use crate::catalogue::{Role, Word as _};
use crate::job::card::{AtAngle, Gun, Light, Sight, View};
use crate::job::{CardChosen, CardCompared, CardMade, Job, JobEvent, MOST_COATS, Refusal, Step, Timer};
use crate::units::Stamp;
use tui_input::Input;

/// A line of the form of a card.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum CardField {
    /// With how many coats.
    Coats,
    /// Over what.
    Over,
    /// With which gun.
    Gun,
}

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum JobAsks {
    /// A line of the form of a new job.
    New(JobField),
    /// A line of what is painted, to be put right.
    Amend(JobField),
    /// A line of the form of a card.
    Card(CardField),
    /// What is seen of the marked card beside the car.
    Seen,
    /// Which card matches.
    Choose,
    /// How many coats the car gets without a card.
    Coats,
    /// Why so many coats without a card.
    WhyWithoutCard(u32),
    /// Why a time is not waited for.
    WhyNotWaited,
    /// How long it takes until the booth is clear.
    Clearance,
    /// Something worth noting.
    Note,
    /// What is wrong with the last coat.
    WrongCoat,
    /// Why the last coat was counted.
    WhyTakenBack,
    /// Why something is done that was refused.
    WhyAllTheSame,
}

impl CardField {
    const ALL: [Self; 3] = [Self::Coats, Self::Over, Self::Gun];

    const fn place(self) -> usize {
        match self {
            Self::Coats => 0,
            Self::Over => 1,
            Self::Gun => 2,
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Coats => "coats",
            Self::Over => "over",
            Self::Gun => "gun",
        }
    }

    fn beside(self, down: bool) -> Option<Self> {
        let at = if down { self.place().checked_add(1) } else { self.place().checked_sub(1) };
        Self::ALL.get(at?).copied()
    }
}

impl CardDraft {
    fn get(&self, field: CardField) -> &str {
        self.typed.get(field.place()).map_or("", String::as_str)
    }

    fn set(&mut self, field: CardField, text: &str) {
        if let Some(line) = self.typed.get_mut(field.place()) {
            text.clone_into(line);
        }
    }

    /// Over what, if that was said.
    fn over(&self) -> Option<String> {
        Some(self.get(CardField::Over)).filter(|text| !text.is_empty()).map(str::to_owned)
    }

    /// How the gun was set up, as far as it was said thing by thing; what was said otherwise is a note.
    fn gun(&self) -> Result<(Option<Gun>, Option<String>), String> {
        Ok(match self.get(CardField::Gun) {
            "" => (None, None),
            text if text.contains('=') => (Some(Gun::parse(text)?), None),
            text => (None, Some(format!("gun {text}"))),
        })
    }
}

impl JobAsks {
    /// The question.
    pub(super) const fn question(self) -> &'static str {
        match self {
            Self::New(field) | Self::Amend(field) => field.question(),
            Self::Card(CardField::Coats) => "a card: with how many coats?",
            Self::Card(CardField::Over) => "over what?",
            Self::Card(CardField::Gun) => "with which gun set-up?",
            Self::Seen => "what is seen of it beside the car?",
            Self::Choose => "which card matches the car?",
            Self::Coats => "how many coats does the car get?",
            Self::WhyWithoutCard(_) => "why without a card?",
            Self::WhyNotWaited => "why is it not waited for?",
            Self::Clearance => "how many minutes until the booth is clear?",
            Self::Note => "what is to be noted?",
            Self::WrongCoat => "what is wrong with the last coat?",
            Self::WhyTakenBack => "why was the last coat counted?",
            Self::WhyAllTheSame => "why all the same?",
        }
    }

    /// What helps to answer it.
    pub(super) const fn hint(self) -> &'static str {
        match self {
            Self::New(field) | Self::Amend(field) => field.hint(),
            Self::Card(CardField::Coats) => {
                "of the pearl coat, over the ground coat to hiding; 0: the ground coat alone"
            }
            Self::Card(CardField::Over) => "the undercoat's shade and the ground coat; Enter alone: not said",
            Self::Card(CardField::Gun) => {
                "tip=1.3 mm, pressure=2 bar, fan=, distance=, as on the car. Enter notes the card"
            }
            Self::Seen => "face sun: match; or 45: car 61.2 -1.3 4.5 card 60.9 -1.2 4.6; or your own words",
            Self::Choose => "its number; or '3 coats', for a count that lies between two cards",
            Self::Coats => "from 1 to 20; it is asked why without a card",
            Self::WhyWithoutCard(_) | Self::WhyNotWaited | Self::WhyAllTheSame | Self::Note => {
                "a word or two; it stands on the job's sheet"
            }
            Self::Clearance => {
                "as it was measured for this booth; nobody goes in without air-fed breathing apparatus"
            }
            Self::WrongCoat => "a run, too dry, …: it stays counted, and the note stands beside it",
            Self::WhyTakenBack => {
                "pressed twice, the wrong job, …: it counts no more, and its flash-off ends"
            }
        }
    }
}

impl App {
    /// The job that is opened on the screen.
    pub(super) fn opened_job(&self) -> Option<(JobId, &Job)> {
        let Screen::Job(page) = &self.screen else { return None };
        Some((page.job, self.job_of(page.job)?))
    }

    /// Asks that, with a text to begin with.
    pub(super) fn ask_of_job(&mut self, asks: JobAsks, typed: String) {
        self.ask(Asks::OfJob(asks));
        if let Some(prompt) = &mut self.prompt {
            prompt.input = Input::new(typed);
        }
    }

    /// Asks for the first line of a card that was made: one coat more than the last, over the same and with the same gun.
    pub(super) fn ask_card(&mut self) {
        let Some((id, job)) = self.opened_job() else { return };
        let Some(layer) = carded(job) else {
            return self.say("no layer of this job is matched by spray-out cards");
        };
        let coats = job.cards().filter(|card| card.made.layer == layer).map(|card| card.made.coats).max();
        let next = coats.unwrap_or(0).saturating_add(1).to_string();
        if self.jobs_at_work.card.job != Some(id) {
            let typed = [String::new(), over_of(job), String::new()];
            self.jobs_at_work.card = CardDraft { job: Some(id), typed };
        }
        self.jobs_at_work.card.set(CardField::Coats, &next);
        self.ask_card_field(CardField::Coats);
    }

    fn ask_card_field(&mut self, field: CardField) {
        let typed = self.jobs_at_work.card.get(field).to_owned();
        self.ask_of_job(JobAsks::Card(field), typed);
        if let Some(prompt) = &mut self.prompt {
            prompt.selected = field.place();
        }
    }

    /// The rows beneath what is asked of a job.
    pub(super) fn job_ask_rows(&self, asks: JobAsks) -> Vec<[String; 4]> {
        match asks {
            JobAsks::New(field) => self.job_form_rows(field),
            JobAsks::Amend(field) => self.amended_rows(field),
            JobAsks::Card(field) => {
                let typed = |one: CardField| match &self.prompt {
                    Some(prompt) if one == field => prompt.input.value(),
                    _ => self.jobs_at_work.card.get(one),
                };
                let row = |one: CardField| {
                    [String::new(), one.word().to_owned(), String::new(), typed(one).to_owned()]
                };
                CardField::ALL.into_iter().map(row).collect()
            }
            _ => Vec::new(),
        }
    }

    /// What helps to answer it, where that depends on the job.
    pub(super) fn job_hint(&self, asks: JobAsks) -> Option<String> {
        let (_, job) = self.opened_job()?;
        if asks == JobAsks::WhyAllTheSame {
            return self.jobs_at_work.refused.as_ref().map(|(_, _, refusal)| refusal.to_string());
        }
        let Step::Wait { timer, countdown } = job.next(self.now.stamp) else { return None };
        let left = countdown.at(self.now.stamp).words();
        (asks == JobAsks::WhyNotWaited).then(|| format!("{}, {left}; {}", timer.name(), asks.hint()))
    }

    /// What is asked, where that depends on the job.
    pub(super) fn job_question(&self, asks: JobAsks) -> Option<String> {
        match asks {
            JobAsks::Seen => {
                self.marked_card().map(|card| format!("card {card}: what is seen beside the car?"))
            }
            JobAsks::WhyTakenBack => {
                let (coat, layer) = last_coat(self.opened_job()?.1)?;
                Some(format!("coat {coat} of the {}: why was it counted?", layer.name()))
            }
            _ => None,
        }
    }

    /// The number of the marked card.
    pub(super) fn marked_card(&self) -> Option<u32> {
        let Screen::Job(page) = &self.screen else { return None };
        let (_, job) = self.opened_job()?;
        job.cards().nth(page.card).map(|card| card.made.card)
    }

    /// Up and down while something of a job is asked.
    pub(super) fn step_job_ask(&mut self, asks: JobAsks, down: bool) {
        match asks {
            JobAsks::New(field) => self.step_job_field(field, down),
            JobAsks::Amend(field) => self.step_amended(field, down),
            JobAsks::Card(field) => {
                let typed = self.prompt.as_ref().map_or("", |prompt| prompt.input.value()).trim().to_owned();
                self.jobs_at_work.card.set(field, &crate::units::clean(&typed));
                if let Some(next) = field.beside(down) {
                    self.ask_card_field(next);
                }
            }
            _ => {}
        }
    }

    /// Whether there is something to move among with the arrows while that is asked.
    pub(super) fn has_lines(&self, asks: Asks) -> bool {
        match asks {
            Asks::OfJob(JobAsks::New(JobField::Colour)) => {
                self.jobs_at_work.form.as_ref().is_some_and(|form| form.found.len() > 1)
            }
            Asks::OfJob(JobAsks::New(_) | JobAsks::Amend(_) | JobAsks::Card(_)) => true,
            _ => false,
        }
    }

    /// Does what was asked for of a job.
    pub(super) fn answer_job_ask(&mut self, asks: JobAsks, typed: &str, marked: usize) -> Result<(), String> {
        match asks {
            JobAsks::New(field) => return self.answer_job_field(field, typed, marked),
            JobAsks::Amend(field) => return self.answer_amended(field, typed),
            _ => {}
        }
        let Some((id, job)) = self.opened_job() else { return Ok(()) };
        let carded = carded(job);
        let now = self.now.stamp;
        match (asks, carded) {
            (JobAsks::Card(field), Some(_)) => {
                if field == CardField::Coats {
                    card_coats(typed)?;
                }
                self.jobs_at_work.card.set(field, typed);
                self.jobs_at_work.card.gun()?;
                match field.beside(true) {
                    Some(next) => self.ask_card_field(next),
                    None => self.note_card(id)?,
                }
                Ok(())
            }
            (JobAsks::Seen, _) => {
                let Some(card) = self.marked_card() else { return Ok(()) };
                let event = JobEvent::CardCompared(compared(card, typed)?);
                self.tell_of_job(id, event, &format!("card {card} was compared"))
            }
            (JobAsks::Choose, Some(layer)) => {
                let (event, words) = chosen(job, layer, typed)?;
                if let Some(final_word) = job.may(&event, now).err().filter(|one| one.overruled("").is_none())
                {
                    return Err(final_word.to_string());
                }
                self.tell_or_ask(id, event, &words);
                Ok(())
            }
            (JobAsks::Coats, Some(_)) => {
                let coats = coats(typed)?;
                self.ask_of_job(JobAsks::WhyWithoutCard(coats), String::new());
                Ok(())
            }
            (JobAsks::WhyWithoutCard(coats), Some(layer)) => {
                let overruled = JobEvent::CardOverruled { layer, reason: typed.to_owned() };
                self.write_job(id, overruled)?;
                let event = JobEvent::CardChosen(CardChosen::of(layer, coats));
                let words = format!("the car gets {} without a card: {typed}", coats_words(coats));
                self.tell_of_job(id, event, &words)
            }
            (JobAsks::WhyNotWaited, _) => {
                let Step::Wait { timer, .. } = job.next(now) else {
                    // It ended while the reason was typed.
                    self.say("it is over by now: nothing had to be written");
                    return Ok(());
                };
                let event = JobEvent::TimerOverruled { timer, reason: typed.to_owned() };
                self.tell_of_job(id, event, &format!("{} is not waited for: {typed}", timer.name()))
            }
            (JobAsks::Clearance, _) => {
                let minutes = typed.parse::<u32>().map_err(|_unread| {
                    format!("'{typed}' is no number of minutes: type digits, as the booth's own time has it")
                })?;
                let event = JobEvent::TimerStarted { timer: Timer::Clearance, from: now, minutes };
                self.tell_of_job(id, event, &format!("the booth is clear in {minutes} min"))
            }
            (JobAsks::Note, _) => {
                let event = JobEvent::Noted { text: typed.to_owned() };
                self.tell_of_job(id, event, "noted")
            }
            (JobAsks::WhyAllTheSame, _) => self.do_all_the_same(id, typed),
            (JobAsks::WhyTakenBack, _) => {
                let Some((coat, layer)) = last_coat(job) else { return Ok(()) };
                let event = JobEvent::CoatTakenBack { layer, coat, reason: typed.to_owned() };
                self.tell_of_job(id, event, &format!("coat {coat} of the {} is taken back", layer.name()))
            }
            (JobAsks::WrongCoat, _) if typed.is_empty() => Err(Refusal::Empty.to_string()),
            (JobAsks::WrongCoat, _) => {
                let Some((coat, layer)) = last_coat(job) else { return Ok(()) };
                let text = format!("coat {coat} of the {}: {typed}", layer.name());
                self.tell_of_job(id, JobEvent::Noted { text: text.clone() }, &format!("noted, {text}"))
            }
            _ => Ok(()),
        }
    }

    /// Writes that; where it is refused and a reason would do, that is asked for.
    pub(super) fn tell_or_ask(&mut self, id: JobId, event: JobEvent, words: &str) {
        let refused = self.job_of(id).and_then(|job| job.may(&event, self.now.stamp).err());
        match refused.filter(|refusal| refusal.overruled("").is_some()) {
            Some(refusal) => {
                self.jobs_at_work.refused = Some((event, words.to_owned(), refusal));
                self.ask_of_job(JobAsks::WhyAllTheSame, String::new());
            }
            None => self.tell_or_say(id, event, words),
        }
    }

    /// Writes for that reason what was refused: one refusal after the other, as they hide each other.
    fn do_all_the_same(&mut self, id: JobId, reason: &str) -> Result<(), String> {
        let Some((event, words, _)) = self.jobs_at_work.refused.clone() else { return Ok(()) };
        while let Some(refusal) = self.job_of(id).and_then(|job| job.may(&event, self.now.stamp).err()) {
            let overruled = refusal.overruled(reason).ok_or_else(|| refusal.to_string())?;
            self.write_job(id, overruled)?;
        }
        self.jobs_at_work.refused = None;
        self.tell_of_job(id, event, &words)
    }

    /// The card is in the book, with the mix it was sprayed of if one was made for cards.
    fn note_card(&mut self, id: JobId) -> Result<(), String> {
        let Some(job) = self.job_of(id) else { return Ok(()) };
        let Some(layer) = carded(job) else { return Ok(()) };
        let coats = card_coats(self.jobs_at_work.card.get(CardField::Coats))?;
        let (card, over) = (job.next_card(), self.jobs_at_work.card.over());
        let (gun, note) = self.jobs_at_work.card.gun()?;
        let mix = job.mixes().filter(|one| one.layer == layer && one.for_cards).last().map(|one| one.mix);
        let event = JobEvent::CardMade(CardMade { over, gun, note, mix, ..CardMade::of(card, layer, coats) });
        let words = format!("card {card}: {} of the {}", coats_words(coats), layer.name());
        self.tell_of_job(id, event, &words)?;
        let cards = self.job_of(id).map_or(0, |job| job.cards().count());
        if let Screen::Job(page) = &mut self.screen {
            page.card = cards.saturating_sub(1);
        }
        Ok(())
    }

    /// Writes what happened to a job, and says it once it is on disk, with what has to be said of it.
    pub(super) fn tell_of_job(&mut self, job: JobId, event: JobEvent, words: &str) -> Result<(), String> {
        let warnings = self.write_job(job, event)?;
        let said = std::iter::once(words.to_owned()).chain(warnings.iter().map(|warning| warning.words()));
        self.when_saved(said.collect::<Vec<_>>().join("; "));
        Ok(())
    }
}

/// The choice of a card by its number, or of a count by itself, `3 coats`, with what is said of it.
fn chosen(job: &Job, layer: Role, typed: &str) -> Result<(JobEvent, String), String> {
    let typed = typed.trim();
    let counted = typed.strip_suffix("coats").or_else(|| typed.strip_suffix("coat"));
    let choice = if let Some(count) = counted {
        job.choice(layer, coats(count)?, None)
    } else {
        let number = typed.parse::<u32>().ok().and_then(|number| job.card(number));
        let card = number
            .ok_or_else(|| format!("'{typed}' is no card of this job: type its number, or '3 coats'"))?;
        CardChosen { card: Some(card.made.card), ..CardChosen::of(layer, card.made.coats) }
    };
    let by = match (choice.card, choice.between) {
        (Some(number), _) => format!("card {number} is chosen: "),
        (None, Some((one, other))) => format!("between cards {one} and {other}: "),
        (None, None) => String::new(),
    };
    let words = format!("{by}the car gets {}", coats_words(choice.coats));
    Ok((JobEvent::CardChosen(choice), words))
}

/// What a card of that job lies over: as its last card does, or else as the car is built up, `G2, ground coat`.
fn over_of(job: &Job) -> String {
    if let Some(over) = job.cards().last().and_then(|card| card.made.over.clone()) {
        return over;
    }
    let shade =
        job.plan().iter().find(|plan| plan.role == Role::Undercoat).and_then(|plan| plan.shade.clone());
    let ground =
        job.plan().iter().find(|plan| plan.role == Role::Ground).map(|plan| plan.role.name().to_owned());
    shade.into_iter().chain(ground).collect::<Vec<_>>().join(", ")
}

/// The coat that was sprayed last, and of which layer.
pub(super) fn last_coat(job: &Job) -> Option<(u32, crate::catalogue::Role)> {
    let last = |layer: crate::job::Standing<'_>| {
        let (coat, at) = *layer.coats.last()?;
        Some((at, coat, layer.plan.role))
    };
    let latest: Option<(Stamp, u32, _)> = job.standings().filter_map(last).max_by_key(|(at, ..)| *at);
    latest.map(|(_, coat, layer)| (coat, layer))
}

/// What was seen: `side-tone shade: a little darker` can be compared with what is seen of other cards, other words are kept as
/// they are. Readings of an instrument are read as the command line reads them, and what is meant as one and is none is
/// refused: kept as words nothing would be reckoned of it.
fn compared(card: u32, typed: &str) -> Result<CardCompared, String> {
    if let Some(measured) = AtAngle::parse_line(typed) {
        return Ok(CardCompared { measured: measured?, ..CardCompared::of(card) });
    }
    let (place, said) = typed.split_once(':').unwrap_or(("", typed));
    let mut view = None;
    let mut light = None;
    for word in place.split(|c: char| c == ',' || c.is_whitespace()) {
        view = View::from_word(word).or(view);
        light = Light::from_word(word).or(light);
    }
    Ok(match view.zip(light) {
        Some((view, light)) => {
            CardCompared { sights: vec![Sight::parse(view, light, said)?], ..CardCompared::of(card) }
        }
        None => CardCompared::seen(card, typed),
    })
}

/// How many coats the car gets.
fn coats(typed: &str) -> Result<u32, String> {
    coats_from(1, typed, &Refusal::NoCoats)
}

/// How many a card has.
fn card_coats(typed: &str) -> Result<u32, String> {
    coats_from(0, typed, &Refusal::NoCardCoats)
}

fn coats_from(least: u32, typed: &str, otherwise: &Refusal) -> Result<u32, String> {
    let coats = typed.trim().parse::<u32>().ok().filter(|coats| (least..=MOST_COATS).contains(coats));
    coats.ok_or_else(|| otherwise.to_string())
}

/// `1 coat`, `3 coats`.
pub(super) fn coats_words(coats: u32) -> String {
    if coats == 1 { "1 coat".to_owned() } else { format!("{coats} coats") }
}
