//! The full screen: what the arguments say about it, handed to the bench.

use super::places::{Places, Shop};
use super::{CliError, first_run, to_write};
use crate::book::{
    By, Ids, JobMix, JobsOf, Journal, Keeper, Ledger as _, MixId, MixesOf, Opened, ScaleRecord, SqliteStore,
    Store, StoreError,
};
use crate::catalogue::{Catalogue, FormulaFolder, Role, TonerCode, TonerKind, Word as _};
use crate::demo_past;
use crate::job::{Countdown, JobJournal, MOST_PAST, pot_life};
use crate::mix::{Phase, Session};
use crate::report::shelf::Terms;
use crate::scale::{Address, Place};
use crate::settings::Key;
use crate::stock::{self, FromTin, Leftover, Unnamed};
use crate::tui::{self, FromBook, Ground, Opening, Settings, ShelfBook, ShopFolder, StartKeeper, Waiting};
use crate::units::{Division, Grams, Stamp, clean};
use clap::Args;
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::path::Path;

/// How the bench is to be opened.
#[derive(Clone, Debug)]
struct OpenBench {
    /// The scale, where one was named.
    scale: Option<Address>,
    /// The invented shop on a virtual bench, its data in a place of its own.
    demo: bool,
    /// Whether the bench weighs by itself.
    hands_free: bool,
    /// Where the virtual bench's chance begins.
    seed: u64,
    /// Where the shop's files are; none for the invented shop.
    shop: Option<FormulaFolder>,
}

/// What `pourbook demo` can be told.
#[derive(Debug, Args)]
pub(super) struct Demo {
    /// Let the bench weigh by itself, overpours included
    #[arg(long)]
    hands_free: bool,
    /// Where chance begins: the same number, the same mix
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Begin with an empty book, and not with three invented months in it
    #[arg(long)]
    empty: bool,
}

/// `pourbook` alone.
pub(super) fn bare(places: &Places) -> Result<(), CliError> {
    if first_run::is_due(places)? {
        return first_run::run(places);
    }
    open_as_set(places, None)
}

/// What the first run opens once it is answered: as it is set now, the invented shop where no shop was named.
pub(super) fn after_first_run(places: &Places, ground: Ground) -> Result<(), CliError> {
    if matches!(places.shop()?, Shop::NoneYet(_)) {
        let scale = places.scale()?.unwrap_or_else(|| Address::virtual_bench(1));
        let bench = OpenBench { scale: Some(scale), demo: true, hands_free: false, seed: 1, shop: None };
        let (shop, book) = (Catalogue::demo(), places.book(true)?);
        if places.named_book().is_none() {
            fill_with_a_past(&book, &shop, 1)?;
        }
        return open(places, bench, (shop, None), &book, Some(ground));
    }
    open_as_set(places, Some(ground))
}

fn open_as_set(places: &Places, ground: Option<Ground>) -> Result<(), CliError> {
    let demo = places.is_demo();
    let bench = OpenBench { scale: places.scale()?, demo, hands_free: false, seed: 1, shop: shop(places)? };
    open(places, bench, places.shop_to_open(now())?, &places.book(demo)?, ground)
}

/// `pourbook demo`: the invented shop on a virtual bench, unless another shop, book or scale is named.
pub(super) fn demo(places: &Places, args: &Demo) -> Result<(), CliError> {
    let catalogue =
        if places.named_shop().is_some() { places.shop_to_open(now())? } else { (Catalogue::demo(), None) };
    let scale = places.named_scale()?.unwrap_or_else(|| Address::virtual_bench(args.seed));
    let shop = if places.named_shop().is_some() { shop(places)? } else { None };
    let bench =
        OpenBench { scale: Some(scale), demo: true, hands_free: args.hands_free, seed: args.seed, shop };
    let book = places.book(true)?;
    if !args.empty && bench.shop.is_none() && places.named_book().is_none() {
        fill_with_a_past(&book, &catalogue.0, args.seed)?;
    }
    open(places, bench, catalogue, &book, None)
}

/// How many days of it are invented.
const INVENTED_DAYS: i64 = 90;

/// Fills the demo's own book, where it is new, with the invented shop's last months. A book with anything in it stays as
/// it is.
fn fill_with_a_past(book: &Path, shop: &Catalogue, seed: u64) -> Result<(), CliError> {
    let now = jiff::Timestamp::now();
    let (east, now) = (i64::from(seconds_east(now)) * 1_000_000, Stamp(now.as_microsecond()));
    let morning = Stamp((now.0 + east).div_euclid(demo_past::DAY) * demo_past::DAY - east);
    let Opened::ToWrite(mut store) = to_write::opened(book, now).map_err(CliError::failed)? else {
        return Ok(());
    };
    if store.count().map_err(CliError::failed)? > 0 {
        return Ok(());
    }
    let told = demo_past::past(shop, INVENTED_DAYS, morning, now, Ids::fresh(), seed);
    let mut events = told.map_err(CliError::failed)?.into_iter();
    store.fill(|| Ok::<_, StoreError>(events.next())).map_err(CliError::failed)?;
    Ok(())
}

/// Where the shop's files are; none for the invented one.
fn shop(places: &Places) -> Result<Option<FormulaFolder>, CliError> {
    Ok(match places.shop()? {
        Shop::Named(folder) | Shop::Usual(folder) => Some(FormulaFolder::of(folder)),
        Shop::Demo | Shop::NoneYet(_) => None,
    })
}

/// Now, on the wall.
fn now() -> Stamp {
    Stamp(jiff::Timestamp::now().as_microsecond())
}

/// Opens the bench and comes back when it is left.
fn open(
    places: &Places,
    bench: OpenBench,
    (catalogue, colours): (Catalogue, Option<ShopFolder>),
    book: &Path,
    ground: Option<Ground>,
) -> Result<(), CliError> {
    tracing::debug!(?bench, "opening the bench");
    let settled = &places.settled()?;
    let sheets = places.for_screen(bench.shop.as_ref().map(FormulaFolder::folder), book);
    let variable = |name: &str| std::env::var(name).ok();
    let now = jiff::Timestamp::now();
    let opened = to_write::opened(book, Stamp(now.as_microsecond())).map_err(CliError::failed)?;
    let (store, look_only) = match opened {
        Opened::ToWrite(store) => (store, None),
        Opened::ToLook { store, why } => (store, Some(why)),
    };
    let leftovers = kept(stock::leftovers(&store)).map_err(CliError::failed)?;
    let waiting = waiting(&store, Stamp(now.as_microsecond())).map_err(CliError::failed)?;
    let cups = cups(&store, Stamp(now.as_microsecond())).map_err(CliError::failed)?;
    let tins = stock::shelf(&store).map_err(CliError::failed)?;
    let from_book = FromBook {
        reused: reused(&store, waiting.iter().chain(&cups)).map_err(CliError::failed)?,
        waiting,
        cups,
        pot_lives: pot_lives(&store, &catalogue, &leftovers).map_err(CliError::failed)?,
        leftovers,
        job_mixes: job_mixes(&store).map_err(CliError::failed)?,
        jobs: jobs(&store, Stamp(now.as_microsecond())).map_err(CliError::failed)?,
        next_number: store.next_number().map_err(CliError::failed)?,
        recent: recent(&store).map_err(CliError::failed)?,
        unnamed: Unnamed::read(&store, &tins).map_err(CliError::failed)?,
        tins,
        recalls: stock::recalls(&store).map_err(CliError::failed)?,
        look_only: look_only.clone(),
        scale_record: scale_record(&store, &catalogue).map_err(CliError::failed)?,
    };
    let keeper: Option<StartKeeper> = match look_only {
        None => Some(Box::new(move |sink| Keeper::start(store, sink))),
        Some(_) => None,
    };
    let virtual_bench = matches!(&bench.scale, Some(Address { place: Place::Virtual { .. }, .. }));
    let painter = settled.settings.get(Key::Painter).map(str::to_owned);
    let operator = if bench.demo { None } else { painter.or_else(|| variable("USER")) };
    let (division, capacity) = plate(bench.scale.as_ref(), &catalogue);
    let settings = Settings {
        by: By {
            bench: BENCH.to_owned(),
            operator: clean(&operator.unwrap_or_else(|| "painter".to_owned())),
        },
        scale: bench.scale,
        division,
        capacity,
        rehearsal: bench.hands_free && virtual_bench,
        seed: bench.seed,
        seconds_east: seconds_east(now),
        preferences: settled.preferences(),
        remarks: settled.problems(),
        has_shop_folder: bench.shop.is_some(),
    };
    let opening = Opening {
        catalogue,
        shop: bench.shop,
        colours,
        shelf: ShelfBook {
            path: book.to_owned(),
            terms: super::shelf::terms(settled, Terms::default().days),
        },
        sheet_of: super::job::sheets_for_screen(sheets),
        settings,
        from_book,
        keeper,
        ids: Ids::fresh(),
        theme: settled.theme(variable),
        lags: super::places::state_folder().map(|folder| folder.join("landing.json")),
    };
    match ground {
        Some(ground) => tui::run_on(ground, opening),
        None => tui::run(opening),
    }
    .map_err(CliError::failed)
}

/// The scale's division and the most it weighs: what its address says, else what the shop has written down of it.
fn plate(scale: Option<&Address>, catalogue: &Catalogue) -> (Option<Division>, Option<Grams>) {
    let Some(scale) = scale else { return (None, None) };
    let written = catalogue.scale.as_ref().map(|sheet| &sheet.scale);
    let division = scale.division.or(written.map(|written| written.d));
    let capacity = scale.capacity.or(written.map(|written| written.max));
    (division, capacity)
}

/// How many checks of the scale the bench knows of.
const RECENT_CHECKS: u32 = 30;

/// The bench's name in the book.
const BENCH: &str = "bench 1";

/// What the book says of the scale in the shop's files; where they have none, its ten weighings stand under the
/// bench's name.
pub(super) fn scale_record(store: &SqliteStore, catalogue: &Catalogue) -> Result<ScaleRecord, StoreError> {
    let name = catalogue.scale.as_ref().map_or(BENCH, |sheet| &sheet.scale.name);
    ScaleRecord::read(store, name, RECENT_CHECKS)
}

/// How far the clock on the wall is ahead of UTC.
pub(super) fn seconds_east(now: jiff::Timestamp) -> i32 {
    jiff::tz::TimeZone::system().to_offset(now).seconds()
}

/// How many colours are remembered as mixed lately, and in how many of the last mixes they are looked for.
const RECENT_COLOURS: usize = 50;
const RECENT_MIXES: u32 = 500;

/// The colours that were mixed last, code and variant, the latest first, each once.
fn recent(store: &SqliteStore) -> Result<Vec<(String, String)>, StoreError> {
    let mut recent: Vec<(String, String)> = Vec::new();
    for mix in kept(store.totals(MixesOf::Latest(RECENT_MIXES)))?.into_iter().rev() {
        let [Some(code), Some(variant), _] = mix.head.subject else { continue };
        let colour = (code, variant);
        if recent.len() < RECENT_COLOURS && !recent.contains(&colour) {
            recent.push(colour);
        }
    }
    Ok(recent)
}

/// What a book's kept figures say; nothing where one of an older layout is only looked at, which has none.
fn kept<T>(figures: Result<Vec<T>, StoreError>) -> Result<Vec<T>, StoreError> {
    match figures {
        Err(StoreError::Older { .. }) => Ok(Vec::new()),
        figures => figures,
    }
}

/// The mixes that wait to be taken up again, the latest first.
fn waiting(store: &SqliteStore, now: Stamp) -> Result<Vec<Waiting>, StoreError> {
    let mut waiting = Vec::new();
    for summary in store.unfinished()?.into_iter().rev() {
        let events = store.events(summary.mix)?;
        let journal = Journal::fold(summary.mix, &events).map_err(|error| error.to_string());
        waiting.push(Waiting { journal, number: summary.number, when: when_in_short(summary.last, now) });
    }
    Ok(waiting)
}

/// How long a cup is asked for: what is in it then is long hard.
const CUPS_FOR_DAYS: i64 = 30;

/// The mixes that are done and whose cups are not emptied, the latest first.
fn cups(store: &SqliteStore, now: Stamp) -> Result<Vec<Waiting>, StoreError> {
    let from = Stamp(now.0.saturating_sub(CUPS_FOR_DAYS.saturating_mul(86_400_000_000)));
    let mut cups = Vec::new();
    let most = u32::try_from(tui::CUPS_AT_MOST).unwrap_or(u32::MAX);
    for mix in kept(store.totals(MixesOf::InCups { from, most }))?.into_iter().rev() {
        let Some((ended, _)) = mix.head.ended else { continue };
        let events = store.events(mix.mix)?;
        let journal = Journal::fold(mix.mix, &events).map_err(|error| error.to_string());
        let done = journal.as_ref().is_ok_and(|journal| journal.session().phase() == Phase::Finished);
        if done {
            cups.push(Waiting { journal, number: mix.head.number, when: when_in_short(ended, now) });
        }
    }
    Ok(cups)
}

/// The jobs that are open, and those that were closed within a day: a bake or the booth's clearance does not end with the
/// job it is of. One whose events cannot be read is for `pourbook check` to say.
fn jobs(store: &SqliteStore, now: Stamp) -> Result<Vec<JobJournal>, StoreError> {
    let mut jobs = Vec::new();
    let just_closed = kept(store.jobs(JobsOf::ClosedSince(Stamp(now.0.saturating_sub(demo_past::DAY)))))?;
    for row in kept(store.jobs(JobsOf::Open))?.into_iter().chain(just_closed) {
        jobs.extend(JobJournal::fold(row.job, &store.events(row.job.subject())?).ok());
    }
    Ok(jobs)
}

/// The layers of jobs that were mixed before, the latest first of each: what the shop's own record is made of.
fn job_mixes(store: &SqliteStore) -> Result<HashMap<Role, Vec<JobMix>>, StoreError> {
    Role::ALL.iter().map(|role| Ok((*role, kept(store.job_mixes(*role, MOST_PAST))?))).collect()
}

/// The pot lives of those leftovers that have hardener in them, by the mixes they are of.
fn pot_lives(
    store: &SqliteStore,
    catalogue: &Catalogue,
    leftovers: &[Leftover],
) -> Result<HashMap<MixId, Countdown>, StoreError> {
    let is_hardener = |(toner, _): &(TonerCode, Grams)| {
        catalogue.toner(toner.as_str()).is_some_and(|toner| toner.kind == TonerKind::Hardener)
    };
    let mut pot_lives = HashMap::new();
    for leftover in leftovers.iter().filter(|leftover| leftover.made_of.iter().any(is_hardener)) {
        let mix = leftover.of.mix;
        let journal = Journal::fold(mix, &store.events(mix)?);
        pot_lives.extend(journal.ok().and_then(|journal| Some((mix, pot_life(&journal)?))));
    }
    Ok(pot_lives)
}

/// The tins of the leftovers that those mixes began with, by the mixes those are of: what is kept of one that began with a
/// leftover has their lots in it too.
fn reused<'a>(
    store: &SqliteStore,
    mixes: impl Iterator<Item = &'a Waiting>,
) -> Result<HashMap<MixId, Vec<FromTin>>, StoreError> {
    let sessions = mixes.filter_map(|mix| Some(mix.journal.as_ref().ok()?.session()));
    let mut tins = HashMap::new();
    for old in sessions.flat_map(Session::reused).filter_map(|old| MixId::parse(old)) {
        if let Entry::Vacant(unknown) = tins.entry(old) {
            unknown.insert(kept(stock::poured_from(store, old))?);
        }
    }
    Ok(tins)
}

/// A moment on the wall, as people here write it.
pub(super) fn when(stamp: Stamp) -> String {
    on_the_wall(stamp).map_or_else(String::new, |moment| moment.strftime("%Y-%m-%d %H:%M").to_string())
}

/// The same, short enough for its column on a screen of 80.
fn when_in_short(stamp: Stamp, now: Stamp) -> String {
    let (Some(moment), Some(now)) = (on_the_wall(stamp), on_the_wall(now)) else { return String::new() };
    let form = match (moment.date() == now.date(), moment.year() == now.year()) {
        (true, _) => "today %H:%M",
        (false, true) => "%d %b %H:%M",
        (false, false) => "%Y-%m-%d",
    };
    moment.strftime(form).to_string()
}

fn on_the_wall(stamp: Stamp) -> Option<jiff::ZonedDateTime> {
    let moment = jiff::Timestamp::from_microsecond(stamp.0).ok()?;
    Some(moment.to_zoned_datetime(jiff::tz::TimeZone::system()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Envelope;
    use crate::metrology::{Repeatability, ScaleEvent};

    #[test]
    fn the_address_counts_before_the_shops_sheet_and_that_before_nothing() {
        let demo = Catalogue::demo();
        let address = |text: &str| text.parse::<Address>().unwrap();
        let plate = |address: Option<&Address>, catalogue: &Catalogue| {
            let (division, capacity) = plate(address, catalogue);
            (division.map(|d| d.to_string()), capacity.map(|most| most.to_string()))
        };
        let text = |text: &str| Some(text.to_owned());
        let bare = address("serial:/dev/ttyUSB0?shape=sma");
        assert_eq!(plate(Some(&bare), &demo), (text("0.1"), text("7500")));
        let said = address("serial:/dev/ttyUSB0?shape=sma&division=0.01&capacity=3000");
        assert_eq!(plate(Some(&said), &demo), (text("0.01"), text("3000")));
        assert_eq!(plate(None, &demo), (None, None));
        assert_eq!(plate(Some(&bare), &Catalogue { scale: None, ..demo }), (None, None));
    }

    /// A shop without a sheet of its scale has its ten weighings all the same, the next time as well.
    #[test]
    fn ten_weighings_without_a_sheet_are_found_again() {
        let folder = tempfile::tempdir().unwrap();
        let Opened::ToWrite(mut store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap()
        else {
            panic!("a new book is there to be written");
        };
        let readings = vec![Grams::parse("200.0").unwrap(); 10];
        let measured = Repeatability::measure(BENCH, Division::TENTH, readings).unwrap();
        let by = By { bench: BENCH.to_owned(), operator: "painter".to_owned() };
        let event = ScaleEvent::Repeatability(measured.clone());
        let id = Ids::counted(1).event(Stamp(1));
        store.append(&Envelope::of_scale(&event, id, Stamp(1), &by).unwrap()).unwrap();
        let shop = Catalogue { scale: None, ..Catalogue::demo() };
        let record = scale_record(&store, &shop).unwrap();
        assert_eq!(record.repeatability.map(|found| found.repeatability), Some(measured));
        assert_eq!(scale_record(&store, &Catalogue::demo()).unwrap().repeatability, None);
    }

    #[test]
    fn a_time_in_a_narrow_column_is_whole() {
        let now = Stamp(1_740_988_800_000_000);
        let days = |days: i64| Stamp(now.0 - days * 86_400_000_000);
        assert!(when_in_short(now, now).starts_with("today "));
        assert_eq!(when_in_short(days(20), now).len(), "11 Feb 08:00".len());
        assert_eq!(when_in_short(days(400), now).len(), "2024-01-28".len());
    }
}
