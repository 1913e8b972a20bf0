//! From the state of the jobs to what is drawn of them.

use super::app::App;
use super::job_asks::coats_words;
use super::jobs::{JobPage, JobsPage};
use super::keys::Action;
use super::message::Now;
use super::new_job::{about, plain_units};
use super::on_job::{coats_of, time_words};
use super::screens::{CardBox, Chrome, JobRow, JobView, JobsView, LayerRow};
use super::theme::Theme;
use super::ticking::left;
use super::view::input;
use crate::book::MixId;
use crate::catalogue::Role;
use crate::job::card::{Compared, Comparison};
use crate::job::{Card, Countdown, Counted, Job, Run, Standing, Step, Timer, area_words};
use crate::units::{Notation, Stamp};

/// Hands on the view of the list.
pub(super) fn with_jobs(
    app: &App,
    page: &JobsPage,
    now: Now,
    chrome: Chrome<'_>,
    see: impl FnOnce(JobsView<'_>),
) {
    let jobs: Vec<&Job> = app.job_rows(page).into_iter().map(crate::job::JobJournal::job).collect();
    let texts: Vec<[String; 2]> =
        jobs.iter().map(|job| [colour(app, job), next(app, job, now.stamp)]).collect();
    let rows: Vec<JobRow<'_>> = jobs
        .iter()
        .zip(&texts)
        .map(|(job, [colour, next])| JobRow {
            name: &job.name,
            vehicle: job.vehicle.as_deref().unwrap_or_default(),
            colour,
            next,
        })
        .collect();
    see(JobsView {
        rows: &rows,
        closed: page.closed,
        reading: app.jobs_at_work.reading,
        query: input(&page.query),
        selected: page.selected.min(rows.len().saturating_sub(1)),
        link_words: app.scale.word(),
        chrome,
    });
}

/// The colour's code, and its name if the shop has it.
fn colour(app: &App, job: &Job) -> String {
    let code = job.colour.as_str();
    let place = app.known.place_of(code, &job.variant);
    match place.and_then(|place| app.known.entry(place)) {
        Some(entry) => format!("{code} {}", entry.name),
        None => code.to_owned(),
    }
}

fn next(app: &App, job: &Job, now: Stamp) -> String {
    let notation = app.notation();
    app.next_of(job, now).words(now, |volume| notation.given_volume(volume))
}

/// Hands on the view of one job.
pub(super) fn with_job(
    app: &App,
    page: JobPage,
    now: Now,
    (chrome, theme): (Chrome<'_>, &Theme),
    see: impl FnOnce(JobView<'_>),
) {
    let Some(job) = app.job_of(page.job) else { return };
    let now = now.stamp;
    let standings: Vec<Standing<'_>> = job.standings().collect();
    let cells: Vec<[String; 6]> = standings.iter().map(|layer| cells(app, layer, now)).collect();
    let at = app.next_of(job, now).layer();
    let names: Vec<String> = standings.iter().map(layer_name).collect();
    let layers: Vec<LayerRow<'_>> = standings
        .iter()
        .zip(&cells)
        .zip(&names)
        .map(|((layer, cells), name)| LayerRow {
            name,
            cells: cells.each_ref().map(String::as_str),
            is_next: at == Some(layer.plan.role),
            is_done: layer.finished.is_some(),
        })
        .collect();
    let comparisons = job.comparisons();
    let compared = |card: &Card| {
        let mut all = comparisons.iter().flat_map(|(_, comparison)| &comparison.cards);
        all.find(|compared| compared.card == card.made.card)
    };
    let words: Vec<String> =
        job.cards().map(|card| card_words(card, compared(card), app.notation())).collect();
    let cards: Vec<CardBox<'_>> = job
        .cards()
        .zip(&words)
        .map(|(card, words)| CardBox {
            number: card.made.card,
            coats: card.made.coats,
            is_chosen: is_chosen(job, card),
            words,
        })
        .collect();
    let (next, colour) = (next(app, job, now), format!("{}, {}", colour(app, job), job.finish));
    let about = about(job.vehicle.as_deref(), &job.panels, app.notation());
    let said = [app.wanted_sentence(job, now), counted(job)];
    let sentence = said.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join("; ");
    let areas = plain_units(&area_words(job.plan(), app.notation()));
    let compared = compared_words(&comparisons, app.notation());
    let caution = app.booth_caution(job, now, (&chrome, theme));
    see(JobView {
        name: &job.name,
        colour: &colour,
        about: &about,
        areas: &areas,
        layers: &layers,
        sentence: &sentence,
        cards: &cards,
        compared: &compared,
        card: page.card.min(cards.len().saturating_sub(1)),
        note: job.notes().last().map_or("", |(_, text)| text.as_str()),
        caution: &caution,
        next: &next,
        link_words: app.scale.word(),
        chrome,
    });
}

/// By what the coats of a layer were counted, where no card shows them and it is not done.
fn counted(job: &Job) -> String {
    let open = job.standings().filter(|layer| layer.finished.is_none());
    let mut by = open.filter_map(|layer| match layer.counted {
        Counted::Planned | Counted::Card(_) => None,
        other => {
            Some(format!("{}: {}, {}", layer.plan.role.name(), coats_words(layer.wanted?), other.words()?))
        }
    });
    by.next().unwrap_or_default()
}

fn is_chosen(job: &Job, card: &Card) -> bool {
    let standing = job.standing(card.made.layer);
    let chosen = standing.and_then(|layer| layer.chosen).and_then(|chosen| chosen.card);
    chosen == Some(card.made.card)
}

/// What a layer is called, an undercoat with its shade.
fn layer_name(layer: &Standing<'_>) -> String {
    let name = layer.plan.role.name();
    layer.plan.shade.as_ref().map_or_else(|| name.to_owned(), |shade| format!("{name} {shade}"))
}

/// What comes out of comparing the cards, each layer by itself, named where there are several.
fn compared_words(comparisons: &[(Role, Comparison)], notation: Notation) -> String {
    let words = |(layer, comparison): &(Role, Comparison)| {
        let words = comparison.words(notation).join(" ");
        if comparisons.len() > 1 { format!("The {}: {words}", layer.name()) } else { words }
    };
    comparisons.iter().map(words).collect::<Vec<_>>().join(" ")
}

/// What is known of a card, in a line: what was measured first, each angle by itself.
fn card_words(card: &Card, compared: Option<&Compared>, notation: Notation) -> String {
    let made = &card.made;
    let mut words = format!("card {}: {} of the {}", made.card, coats_words(made.coats), made.layer.name());
    if let Some((compared, measured)) =
        compared.and_then(|all| all.measured_words(notation).map(|one| (all, one)))
    {
        words.push_str("; ΔE00 ");
        words.push_str(&measured);
        if let Some(worst) = compared.worst.filter(|_| compared.differences.len() > 1) {
            words.push_str(", worst ");
            words.push_str(&worst.words(notation));
        }
    }
    for said in card.said().into_iter().chain(card.sights.iter().map(|(_, sight)| sight.words())) {
        words.push_str("; ");
        words.push_str(&said);
    }
    words
}

/// What stands in the columns of a layer.
fn cells(app: &App, layer: &Standing<'_>, now: Stamp) -> [String; 6] {
    let running = |run: Option<&Run>| -> Option<Countdown> {
        run.filter(|run| run.is_running(now)).map(|run| run.countdown)
    };
    // A mix that is left in its cup goes on hardening, whether its layer is done or not.
    let is_mixed = layer.finished.is_none() || layer.mixes.iter().any(|mix| app.cup_at(*mix).is_some());
    let bake = match (layer.bake, layer.plan.bake) {
        (Some(run), _) if run.is_running(now) => format!("{} left", left(run.countdown, now)),
        (Some(_), _) if layer.is_baked() => "over".to_owned(),
        (_, Some(minutes)) if layer.is_to_bake() => format!("{minutes} min"),
        _ => "-".to_owned(),
    };
    [
        app.amount_words(layer),
        mixed(app, &layer.mixes),
        time_words(layer.activated.filter(|_| is_mixed), now),
        coats_of(layer.sprayed(), layer.wanted),
        time_words(running(layer.flash_off), now),
        bake,
    ]
}

/// The number of the mix of a layer as far as it is known here, else how many there are.
fn mixed(app: &App, mixes: &[MixId]) -> String {
    let [mix] = mixes else {
        return if mixes.is_empty() { "-".to_owned() } else { format!("{} mixes", mixes.len()) };
    };
    let at_bench = app.bench().filter(|bench| bench.journal().mix() == *mix).map(super::bench::Bench::number);
    let waits = app
        .waiting
        .iter()
        .chain(&app.cups)
        .find(|one| one.journal.as_ref().is_ok_and(|journal| journal.mix() == *mix));
    let number = at_bench.or(waits.map(|one| one.number));
    number.map_or_else(|| "mixed".to_owned(), |number| format!("mix {number:04}"))
}

impl App {
    /// Whether a layer's product has isocyanates in it, as far as the shop's files say.
    fn has_isocyanates(&self, layer: &Standing<'_>) -> bool {
        let reckoned = || {
            let wanted = self.jobs_at_work.wanted.iter().find(|wanted| wanted.layer == layer.plan.role);
            wanted.and_then(|wanted| wanted.product.as_deref())
        };
        let code = layer.plan.product.as_deref().or_else(reckoned);
        let product = code.and_then(|code| self.catalogue.product(code));
        product.is_some_and(|product| product.isocyanates == Some(true))
    }

    /// What is to be kept in the booth while isocyanates are sprayed, and after that until it is clear.
    fn booth_caution(&self, job: &Job, now: Stamp, (chrome, theme): (&Chrome<'_>, &Theme)) -> String {
        const SAYS: &str =
            "isocyanates: air-fed breathing apparatus; nobody in the booth without it until it is clear";
        if job.closed.is_some() {
            return String::new();
        }
        let hazardous: Vec<Standing<'_>> =
            job.standings().filter(|layer| self.has_isocyanates(layer)).collect();
        if let Step::Spray { layer, .. } = self.next_of(job, now)
            && hazardous.iter().any(|one| one.plan.role == layer)
        {
            return SAYS.to_owned();
        }
        let last = |layer: &Standing<'_>| {
            let more = layer.finished.is_none() && layer.wanted.is_none_or(|of| layer.sprayed() < of);
            layer.coats.last().map(|(_, at)| (*at, more))
        };
        let Some((at, more)) = hazardous.iter().filter_map(last).max() else { return String::new() };
        let clearing =
            job.time(Timer::Clearance).filter(|run| run.ended.is_none() && run.countdown.from >= at);
        match clearing {
            Some(run) if !run.is_running(now) => String::new(),
            None if !more => {
                let key = self.bindings.shown(chrome.keys.context, Action::Clearance, theme.symbols);
                let key = key.unwrap_or_default();
                format!("{SAYS}: {key} starts the time of its clearance")
            }
            _ => SAYS.to_owned(),
        }
    }

    /// How much to mix of a layer, ready to spray: what was asked for, or what it wants.
    fn amount_words(&self, layer: &Standing<'_>) -> String {
        let notation = self.notation();
        let wanted = self.jobs_at_work.wanted.iter().find(|wanted| wanted.layer == layer.plan.role);
        let wanted = wanted.and_then(|wanted| wanted.to_mix).map(|to_mix| to_mix.wanted);
        match (layer.plan.asked, wanted) {
            (Some(asked), _) => notation.given_volume(asked),
            (None, Some(wanted)) => notation.volume_up(wanted),
            (None, None) => "-".to_owned(),
        }
    }

    /// How much the layer that is next wants, as long as nothing of it is mixed.
    fn wanted_sentence(&self, job: &Job, now: Stamp) -> String {
        let next = job.next(now).layer().and_then(|role| job.standing(role));
        let next = next.filter(|layer| layer.mixes.is_empty() && layer.coats.is_empty());
        let wanted = next
            .and_then(|layer| self.jobs_at_work.wanted.iter().find(|wanted| wanted.layer == layer.plan.role));
        wanted.map_or_else(String::new, |wanted| wanted.sentence(self.notation()))
    }
}
