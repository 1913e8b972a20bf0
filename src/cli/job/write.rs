//! The commands that write what happened to a job.

use super::amounts::Terms;
use super::show::next_step;
use super::{Common, Doing, Time, find, planned, read};
use crate::book::{JobsOf, Journal, Ledger as _, MixId, MixesOf, SqliteStore, Store as _};
use crate::catalogue::{Catalogue, Finish, Role, Word as _};
use crate::cli::places::Places;
use crate::cli::stores::{Stores, Untold};
use crate::cli::{CliError, colour, out};
use crate::job::{
    self, Activation, Amendment, Clock, Coat, JobError, JobEvent, JobJournal, Joined, Joining, LayerPlan,
    Opening, Refusal, Timer, Warning, filled,
};
use crate::units::Stamp;
use serde::Serialize;

const MINUTE: i64 = 60_000_000;

/// A job that is written in.
pub(super) struct Desk {
    stores: Stores,
    pub(super) journal: JobJournal,
    written: Vec<JobEvent>,
    warnings: Vec<Warning>,
}

#[derive(Serialize)]
struct Json<'a> {
    job: &'a str,
    job_id: String,
    written: &'a [JobEvent],
    warnings: Vec<String>,
    next: &'static str,
    next_layer: Option<Role>,
}

fn untold(error: Untold) -> CliError {
    match error {
        Untold::Book(error) => error,
        Untold::Job(error) => CliError::failed(error).hint("Nothing was written."),
    }
}

impl Desk {
    pub(super) fn open(places: &Places, name: &str, common: &Common) -> Result<Self, CliError> {
        let path = places.book(places.is_demo())?;
        if !path.exists() {
            // Nothing is made only to say that it is empty.
            return Err(CliError::failed(format!("there is no book yet: {} is not there", path.display()))
                .hint("pourbook job open NAME --colour COLOUR makes it; --book FILE names another."));
        }
        let stores = Stores::office(places, &common.who)?;
        let row = find(&stores.book, name)?;
        let journal = read(&stores.book, &row)?;
        Ok(Self { stores, journal, written: Vec::new(), warnings: Vec::new() })
    }

    pub(super) fn tell(&mut self, event: JobEvent) -> Result<(), CliError> {
        let warnings = self.stores.tell_job(&mut self.journal, &event).map_err(untold)?;
        self.warnings.extend(warnings);
        self.written.push(event);
        Ok(())
    }

    /// The same; where it is refused and can be overruled, that is written first, if a reason was given.
    fn tell_or_overrule(&mut self, event: JobEvent, reason: Option<&str>) -> Result<(), CliError> {
        // One after the other: the flash-off of a layer may hide the bake of another.
        loop {
            let Err(refusal) = self.journal.job().may(&event.cleaned(), Stores::now()) else {
                return self.tell(event);
            };
            if refusal.overruled("").is_none() {
                return self.tell(event);
            }
            self.overrule(&refusal, reason, "--overrule")?;
        }
    }

    /// Writes why something is done that is refused. Where it cannot be, or nobody said why, nothing is written.
    pub(super) fn overrule(
        &mut self,
        refusal: &Refusal,
        reason: Option<&str>,
        flag: &str,
    ) -> Result<(), CliError> {
        let refused = CliError::failed(JobError::from(refusal.clone())).hint("Nothing was written.");
        match (refusal.overruled(reason.unwrap_or_default()), reason) {
            (Some(overruled), Some(_)) => self.tell(overruled),
            (Some(_), None) => {
                Err(refused.hint(format!("To go on all the same, say why: {flag} \"REASON\".")))
            }
            (None, _) => Err(refused),
        }
    }

    /// Says what was done, what has to be said of it, and what comes next.
    pub(super) fn say(&self, places: &Places, common: &Common, done: &str) -> Result<(), CliError> {
        let job = self.journal.job();
        let now = Stores::now();
        let next = next_step(&self.stores.book, job, now);
        if common.json {
            return out::json(&Json {
                job: &job.name,
                job_id: self.journal.id().to_string(),
                written: &self.written,
                warnings: self.warnings.iter().map(|warning| warning.words()).collect(),
                next: next.word(),
                next_layer: next.layer(),
            });
        }
        for warning in &self.warnings {
            out::note(format_args!("note: {}", warning.words()));
        }
        let notation = places.settled()?.settings.notation();
        out::line(format_args!("{}: {done}", job.name))?;
        let next = next.words(now, |volume| notation.given_volume(volume));
        out::line(format_args!("next: {next}"))
    }

    /// The pot lives that run of mixes whose cups are not emptied, with the mixes' numbers.
    fn pot_lives(&self) -> Result<Vec<(Role, Clock, u32)>, CliError> {
        let (job, now) = (self.journal.job(), Stores::now());
        let mut lives = Vec::new();
        for joined in job.mixes() {
            let Some(time) = job.pot_life(joined.mix).filter(|time| time.is_running(now)) else { continue };
            let found = self.stores.book.totals(MixesOf::Mix(joined.mix)).map_err(CliError::failed)?;
            let in_cups = found.iter().filter(|totals| totals.head.emptied.is_none());
            lives.extend(in_cups.map(|totals| (joined.layer, time.at(now), totals.head.number)));
        }
        Ok(lives)
    }

    /// What happened to a mix.
    fn journal_of(&self, mix: MixId) -> Result<Journal, CliError> {
        let events = self.stores.book.events(mix).map_err(CliError::failed)?;
        Journal::fold(mix, &events).map_err(CliError::failed)
    }

    /// What the book has of a mix's colour, variant and layer, and when its cup was emptied.
    fn known_of(&self, number: u32) -> Result<([Option<String>; 3], Option<Stamp>), CliError> {
        let totals = self.stores.book.totals(MixesOf::Number(number)).map_err(CliError::failed)?.pop();
        Ok(totals.map(|totals| (totals.head.subject, totals.head.emptied)).unwrap_or_default())
    }

    /// The name of another open job that has that mix.
    fn job_of(&self, mix: MixId) -> Result<Option<String>, CliError> {
        for row in self.stores.book.jobs(JobsOf::Open).map_err(CliError::failed)? {
            // A job that cannot be read has no say in this one.
            let Some(journal) = read(&self.stores.book, &row).ok() else { continue };
            if row.job != self.journal.id() && journal.job().mixes().any(|joined| joined.mix == mix) {
                return Ok(Some(row.name));
            }
        }
        Ok(None)
    }

    /// A mix of the book by its number.
    pub(super) fn mix(&self, number: u32) -> Result<(MixId, Option<Role>), CliError> {
        mix(&self.stores.book, number)
    }
}

fn mix(book: &SqliteStore, number: u32) -> Result<(MixId, Option<Role>), CliError> {
    let totals = book.totals(MixesOf::Number(number)).map_err(CliError::failed)?.pop();
    let totals = totals.ok_or_else(|| CliError::failed(format!("there is no mix {number} in this book")))?;
    let [_, _, layer] = &totals.head.subject;
    Ok((totals.mix, layer.as_deref().and_then(Role::from_word)))
}

/// So many minutes before now.
fn ago(minutes: u32) -> Stamp {
    Stamp(Stores::now().0.saturating_sub(i64::from(minutes).saturating_mul(MINUTE)))
}

/// The layers of that colour from the panel outwards, and clear where it has any.
fn usual_layers(finish: Finish, roles: impl Iterator<Item = Role>) -> Vec<LayerPlan> {
    let mut roles: Vec<Role> = roles.filter(|role| !finish.excludes().contains(role)).collect();
    roles.extend(finish.needs());
    if !finish.excludes().contains(&Role::Clear) {
        roles.push(Role::Clear);
    }
    roles.sort_unstable();
    roles.dedup();
    roles.into_iter().map(LayerPlan::of).collect()
}

pub(super) fn open(places: &Places, args: &super::Open) -> Result<(), CliError> {
    let catalogue = places.catalogue()?;
    let found = colour::colour(&catalogue, &args.colour, args.variant.as_deref())?;
    let finish = args.finish.unwrap_or(found.finish);
    let usual = usual_layers(finish, found.layers.iter().map(|layer| layer.role));
    let body = known_body(&catalogue, args.painted.body.as_deref())?;
    let opening = Opening {
        name: args.name.clone(),
        vehicle: args.painted.vehicle.clone(),
        colour: found.code.clone(),
        variant: found.variant.clone(),
        finish,
        panels: args.painted.panel.clone(),
        layers: planned(usual, &args.painted.layer, &args.painted.without),
    };
    let (opening, lacks) = filled(&opening, &catalogue, body);
    let event = JobEvent::Opened(opening);
    let mut stores = Stores::office(places, &args.common.who)?;
    let journal = stores.open_job(&event).map_err(|error| match error {
        Untold::Book(error) if error.to_string().contains("a name is used once") => CliError::failed(
            format!("there was a job '{}' before: a name is used once", args.name.trim()),
        )
        .hint(
            "Nothing was written. Give it another name, or open the old one again: pourbook job reopen NAME.",
        ),
        error => untold(error),
    })?;
    let desk = Desk { stores, journal, written: vec![event], warnings: Vec::new() };
    for lack in lacks {
        out::note(format_args!("note: {lack}"));
    }
    let job = desk.journal.job();
    let layers: Vec<_> = job.plan().iter().map(|layer| layer.role.to_string()).collect();
    let name = format!("opened, {} {} ({}): {}", found.code, found.name, job.finish, layers.join(", "));
    desk.say(places, &args.common, &name)
}

/// The size of a body, if the shop's files have it.
fn known_body<'a>(catalogue: &Catalogue, body: Option<&'a str>) -> Result<Option<&'a str>, CliError> {
    let Some(body) = body else { return Ok(None) };
    let mut sizes: Vec<&str> = Vec::new();
    for (size, _) in catalogue.panels.iter().flat_map(|panel| &panel.bodies) {
        if !sizes.iter().any(|known| known.to_lowercase() == size.to_lowercase()) {
            sizes.push(size);
        }
    }
    if sizes.iter().any(|known| known.to_lowercase() == body.to_lowercase()) {
        return Ok(Some(body));
    }
    let error = CliError::failed(format!("panels.toml has no area for a body of the size '{body}'"));
    Err(if sizes.is_empty() {
        error.hint("It names no sizes: add bodies to its panels, or leave --body out.")
    } else {
        error.hint(format!("It has {}.", sizes.join(", ")))
    })
}

pub(super) fn amend(places: &Places, args: &super::Amend) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    let is_layers = !args.painted.layer.is_empty() || !args.painted.without.is_empty();
    if args.painted.vehicle.is_none() && args.painted.panel.is_empty() && !is_layers {
        return Err(CliError::wrong("say what is to change: --vehicle, --panel, --layer or --without"));
    }
    let plan = desk.journal.job().plan().to_vec();
    let mut panels = args.painted.panel.clone();
    // A shop that cannot be read has no areas to say; what was typed holds all the same.
    if let Some(catalogue) = places.catalogue().ok().filter(|_| !panels.is_empty()) {
        let body = known_body(&catalogue, args.painted.body.as_deref())?;
        for lack in job::panels(&mut panels, &catalogue, body) {
            out::note(format_args!("note: {lack}"));
        }
    }
    let amendment = Amendment {
        vehicle: args.painted.vehicle.clone(),
        panels: (!panels.is_empty()).then_some(panels),
        layers: is_layers.then(|| planned(plan, &args.painted.layer, &args.painted.without)),
    };
    desk.tell(JobEvent::Amended(amendment))?;
    desk.say(places, &args.common, "changed")
}

pub(super) fn mix_joined(places: &Places, args: &super::Mix) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    let (mix, begun_as) = desk.mix(args.number)?;
    let layer = args.layer.or(begun_as).ok_or_else(|| {
        CliError::failed(format!("what layer mix {} is cannot be read", args.number))
            .hint("Name it: --layer ROLE.")
    })?;
    // What is not known in the shop's files is not estimated; the mix is the job's all the same.
    let row = find(&desk.stores.book, &desk.journal.job().name)?;
    let terms = Terms::of(places).ok().filter(|_| !args.for_cards);
    let wanted = match terms {
        Some(terms) => terms.wanted(&desk.stores.book, (&row, desk.journal.job()), layer)?,
        None => None,
    };
    let estimate = wanted.and_then(|wanted| wanted.estimate());
    let joined = Joined { mix, layer, for_cards: args.for_cards, estimate };
    let (subject, emptied) = desk.known_of(args.number)?;
    let [colour, variant, _] = &subject;
    let other = desk.job_of(mix)?;
    let known = Joining {
        role: begun_as,
        colour: colour.as_deref(),
        variant: variant.as_deref(),
        emptied,
        of: other.as_deref(),
    };
    let refused = desk.journal.job().may_join(&joined, known).err();
    // What cannot be overruled for another cause is not begun with.
    let never = |refusal: &Refusal| refusal.overruled("").is_none();
    let event = JobEvent::MixJoined(joined);
    if let Some(refusal) = desk.journal.job().may(&event, Stores::now()).err().filter(never) {
        return Err(CliError::failed(JobError::from(refusal)).hint("Nothing was written."));
    }
    if let Some(refusal) = refused {
        desk.overrule(&refusal, args.overrule.as_deref(), "--overrule")?;
    }
    desk.tell_or_overrule(event, args.overrule.as_deref())?;
    let done = format!("mix {} is its {}", args.number, layer.name());
    desk.say(places, &args.common, &done)
}

pub(super) fn part(places: &Places, args: &super::Part) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    let (mix, _) = desk.mix(args.number)?;
    desk.tell(JobEvent::MixParted { mix, reason: args.reason.clone() })?;
    desk.say(places, &args.common, &format!("mix {} is not for it after all", args.number))
}

pub(super) fn activate(places: &Places, args: &super::Activate) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    let (mix, _) = desk.mix(args.number)?;
    let mixed = desk.journal_of(mix)?;
    let minutes = mixed.session().recipe().readied.as_ref().and_then(|readied| readied.pot_life);
    let pot_life = args.pot_life.or(minutes).ok_or_else(|| {
        CliError::failed(format!("how long mix {} can be sprayed is not in the book", args.number)).hint(
            "It was not made ready to spray with a product that has a pot life. Say it: --pot-life MINUTES, as the data sheet has it.",
        )
    })?;
    // Added by hand and not at the bench, it went in now.
    let since = args.ago.map(ago).or_else(|| mixed.activated()).unwrap_or_else(Stores::now);
    desk.tell(JobEvent::Activated(Activation { mix, since, pot_life }))?;
    let left = desk.journal.job().pot_life(mix).map(|time| time.at(Stores::now()).words());
    let done = format!("mix {} is activated, pot life {}", args.number, left.unwrap_or_default());
    desk.say(places, &args.common, &done)
}

pub(super) fn coat(places: &Places, args: &super::Coat) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    let layer = args.layer;
    if let Some(reason) = &args.take_back {
        let last = desk.journal.job().standing(layer).and_then(|layer| layer.coats.last().copied());
        let coat = last.map_or(0, |(coat, _)| coat);
        if coat == 0 {
            return Err(CliError::failed(format!("no coat of the {} was counted", layer.name()))
                .hint("Nothing was written."));
        }
        desk.tell(JobEvent::CoatTakenBack { layer, coat, reason: reason.clone() })?;
        let done = format!("coat {coat} of the {} is taken back", layer.name());
        return desk.say(places, &args.common, &done);
    }
    let (coat, flash_off) = desk
        .journal
        .job()
        .standing(layer)
        .map_or((1, None), |standing| (standing.next_coat(), standing.plan.flash_off));
    let sprayed = Coat { layer, coat, at: ago(args.ago), flash_off: args.flash_off.or(flash_off) };
    desk.tell_or_overrule(JobEvent::CoatSprayed(sprayed), args.overrule.as_deref())?;
    desk.say(places, &args.common, &format!("coat {coat} of the {} is on", layer.name()))
}

pub(super) fn timer(places: &Places, args: &super::Timer) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    let no_layer = || CliError::wrong("say of which layer: --layer ROLE");
    let timer = match args.time {
        Time::FlashOff => Timer::FlashOff { layer: args.layer.ok_or_else(no_layer)? },
        Time::BeforeNext => Timer::BeforeNext { layer: args.layer.ok_or_else(no_layer)? },
        Time::Bake => Timer::Bake { layer: args.layer.ok_or_else(no_layer)? },
        Time::Clearance => Timer::Clearance,
    };
    let event = match args.doing {
        Doing::Stop => {
            let stopped = JobEvent::TimerStopped { timer };
            let refused = desk.journal.job().may(&stopped, Stores::now()).err();
            match (refused.filter(|refusal| refusal.overruled("").is_some()), &args.reason) {
                (None, _) => stopped,
                (Some(_), Some(reason)) => JobEvent::TimerOverruled { timer, reason: reason.clone() },
                (Some(refusal), None) => return desk.overrule(&refusal, None, "--reason"),
            }
        }
        Doing::Overrule => {
            JobEvent::TimerOverruled { timer, reason: args.reason.clone().unwrap_or_default() }
        }
        Doing::Start => {
            let standing = args.layer.and_then(|layer| desk.journal.job().standing(layer));
            let usual = standing.and_then(|layer| match timer {
                Timer::FlashOff { .. } => layer.plan.flash_off,
                Timer::Bake { .. } => layer.plan.bake,
                Timer::BeforeNext { .. } => layer.plan.before_next,
                Timer::Clearance => None,
            });
            let minutes = args.minutes.or(usual).ok_or_else(|| {
                CliError::failed(format!("how long {} is was not said", timer.name())).hint(
                    "Say it: --minutes N, as the data sheet, or for the booth its own measured time, has it.",
                )
            })?;
            JobEvent::TimerStarted { timer, from: ago(args.ago), minutes }
        }
    };
    desk.tell(event)?;
    let time = desk.journal.job().time(timer);
    let done = match args.doing {
        Doing::Start => time.map_or_else(String::new, |run| run.countdown.at(Stores::now()).words()),
        Doing::Stop => "stopped".to_owned(),
        Doing::Overrule => "not waited for".to_owned(),
    };
    desk.say(places, &args.common, &format!("{}: {done}", timer.name()))
}

pub(super) fn finish(places: &Places, args: &super::LayerDone) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    let layer = args.layer;
    if args.undo {
        desk.tell(JobEvent::LayerReopened { layer })?;
        return desk.say(places, &args.common, &format!("the {} is not done after all", layer.name()));
    }
    desk.tell_or_overrule(JobEvent::LayerFinished { layer }, args.overrule.as_deref())?;
    desk.say(places, &args.common, &format!("the {} is done", layer.name()))
}

pub(super) fn note(places: &Places, args: &super::Note) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    desk.tell(JobEvent::Noted { text: args.text.clone() })?;
    desk.say(places, &args.common, "noted")
}

pub(super) fn close(places: &Places, args: &super::Named) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    for (layer, left, number) in desk.pot_lives()? {
        out::note(format_args!(
            "note: mix {number}, the {}, is in its cup: {} of its pot life",
            layer.name(),
            left.words()
        ));
    }
    desk.tell(JobEvent::Closed)?;
    desk.say(places, &args.common, "closed")
}

pub(super) fn reopen(places: &Places, args: &super::Named) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    desk.tell(JobEvent::Reopened)?;
    desk.say(places, &args.common, "open again")
}
