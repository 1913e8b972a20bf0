//! `pourbook shelf`: what is on the shelf, how long it lasts, and what to order.

use super::figures::{self, Form};
use super::places::Places;
use super::prefer::Settled;
use super::shop::{OpenShop, now};
use super::table::{Side, lines};
use super::{CliError, open, out};
use crate::book::open_to_look;
use crate::report::Shown;
use crate::report::page::Page;
use crate::report::shelf::page::{self, Said};
use crate::report::shelf::words::{a_day_and_spread, lasts, ordered_in_full};
use crate::report::shelf::{self, Shelf, ShelfTin, Terms, TonerShelf, grams};
use crate::settings::Key;
use crate::tui::theme::Symbols;
use crate::tui::{read_shelf, today};
use crate::units::cell::csv_text;
use crate::units::{Division, Grams, Notation, Share};
use serde::Serialize;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Only this toner, with each of its tins
    toner: Option<String>,
    /// Only what is to be ordered, as a list that can be sent
    #[arg(long, conflicts_with = "toner")]
    order: bool,
    /// Over how many days before today use is counted
    #[arg(long, value_name = "N", default_value_t = 90, value_parser = clap::value_parser!(u16).range(7..=3650))]
    days: u16,
    #[command(flatten)]
    form: Form,
    /// Write the page over a file that is there
    #[arg(long, requires = "html")]
    force: bool,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let settled = places.settled()?;
    let shop = OpenShop::of(places)?;
    let path = places.book(places.is_demo())?;
    if !path.exists() {
        return Err(CliError::failed(format!("there is no book yet: {} is not there", path.display()))
            .hint("It is made with the first mix, or with the first tin that is received. Name yours with --book FILE."));
    }
    let store = open_to_look(&path).map_err(CliError::failed)?;
    let terms = terms(&settled, args.days);
    let now = now();
    let today = today(now, open::seconds_east(jiff::Timestamp::now()))
        .ok_or_else(|| CliError::failed("the clock shows no day of this calendar: set it"))?;
    let shelf =
        read_shelf(&store, &shop.catalogue, &settled.job(), (today, now), terms).map_err(CliError::failed)?;
    for note in &shelf.not_counted {
        out::note(format_args!("note: {note}"));
    }
    let write = |page: Page| {
        let path = args.form.html.as_deref()?;
        let shown = Shown(settled.settings.notation());
        Some(figures::write(path, &page.html(shown), args.force))
    };
    let (said, shown) = (said(&shelf, settled.settings.notation()), Shown(settled.settings.notation()));
    if args.order {
        let written = write(page::order(&shelf, said, shown));
        return written.unwrap_or_else(|| order(&shelf, args, settled.settings.notation()));
    }
    let Some(code) = &args.toner else {
        return write(page::all(&shelf, said, shown)).unwrap_or_else(|| all(&shelf, args, &settled));
    };
    match shelf.toner(code) {
        Some(toner) => {
            let written = write(page::one(toner, said, shown));
            written.unwrap_or_else(|| one(&shelf, toner, args, &settled))
        }
        None => Err(CliError::failed(format!("neither the shop nor the shelf has a toner '{code}'"))
            .hint("`pourbook shelf` lists them all.")),
    }
}

/// What a page of it says above and below.
fn said(shelf: &Shelf, notation: Notation) -> Said {
    Said { title: title(shelf), remarks: remarks(shelf, notation) }
}

/// By what it is ordered, as it is set.
pub(super) fn terms(settled: &Settled, days: u16) -> Terms {
    let usual = Terms::default();
    Terms {
        days,
        lead_days: settled.settings.days(Key::LeadDays).unwrap_or(usual.lead_days),
        service: settled.settings.share(Key::Service).unwrap_or(usual.service),
    }
}

/// How many cells a bar has.
const BAR: u16 = 10;

fn all(shelf: &Shelf, args: &Args, settled: &Settled) -> Result<(), CliError> {
    if args.form.json {
        return out::json(&JsonShelf::of(shelf, &shelf.toners));
    }
    if args.form.csv {
        return table_of_toners(shelf);
    }
    let (notation, symbols) = (settled.settings.notation(), symbols(settled));
    let unit = notation.mass_unit();
    let head = [
        "toner",
        "",
        "level",
        &format!("on shelf {unit}"),
        &format!("a day {unit}"),
        "lasts",
        "expires",
        "order",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for toner in shelf.toners.iter().filter(|toner| toner.is_of_interest()) {
        rows.push(vec![
            toner.toner.to_string(),
            toner.name.clone(),
            symbols.level(toner.level, BAR),
            notation.weight(toner.holds, Division::TENTH),
            a_day_and_spread(toner, notation),
            lasts(toner),
            toner.expires().unwrap_or_default(),
            toner.order.as_ref().map_or_else(String::new, |order| ordered_in_full(order, notation)),
        ]);
    }
    out::line(title(shelf))?;
    out::line("")?;
    let sides =
        [Side::Left, Side::Left, Side::Left, Side::Right, Side::Right, Side::Right, Side::Left, Side::Left];
    for line in lines(&sides, &rows) {
        out::line(line)?;
    }
    for line in remarks(shelf, notation) {
        out::line(line)?;
    }
    Ok(())
}

fn symbols(settled: &Settled) -> &'static Symbols {
    settled.theme(|name| std::env::var(name).ok()).symbols
}

/// What day it is, and by what the figures are reckoned.
fn title(shelf: &Shelf) -> String {
    let Terms { days, lead_days, service } = shelf.terms;
    format!(
        "Shelf on {}. Use of the last {days} days; an order takes {lead_days} days, and {} times in 100 a toner is to last \
         until then.",
        shelf.today.day,
        service.rounded(6).decimal().saturating_mul(100.into()).normalize()
    )
}

/// What has to be said of the figures.
fn remarks(shelf: &Shelf, notation: Notation) -> Vec<String> {
    let mut said = Vec::new();
    let others = shelf.toners.iter().filter(|toner| !toner.is_of_interest()).count();
    if others > 0 {
        let what = if others == 1 { "toner of the shop" } else { "toners of the shop" };
        said.push(format!("Of {others} more {what} there is no tin, and none was used."));
    }
    let to_weigh: Vec<&str> = shelf
        .toners
        .iter()
        .flat_map(|toner| &toner.tins)
        .filter(|tin| tin.state == shelf::TinState::Empty)
        .map(|tin| tin.tin.label.as_str())
        .collect();
    if !to_weigh.is_empty() {
        said.push(format!(
            "By the book nothing is left in tin {}: weigh what is there.",
            to_weigh.join(", ")
        ));
    }
    let unnamed = shelf.toners.iter().filter(|toner| toner.unnamed.is_positive());
    let unnamed: Vec<String> = unnamed
        .map(|toner| format!("{} {}", notation.mass(toner.unnamed, Division::TENTH), toner.toner))
        .collect();
    if !unnamed.is_empty() {
        said.push(format!(
            "Of tins not named, and taken off: {}. A count finds in which.",
            unnamed.join(", ")
        ));
    }
    if shelf.toners.iter().any(|toner| toner.used.a_day.is_none()) {
        said.push("Where no use a day stands, fewer than 7 days are in the book: too few to say.".to_owned());
    }
    if !said.is_empty() {
        said.insert(0, String::new());
    }
    said
}

fn one(shelf: &Shelf, toner: &TonerShelf, args: &Args, settled: &Settled) -> Result<(), CliError> {
    if args.form.json {
        return out::json(&JsonShelf::of(shelf, std::slice::from_ref(toner)));
    }
    if args.form.csv {
        return table_of_tins(toner);
    }
    let (notation, symbols) = (settled.settings.notation(), symbols(settled));
    let mass = |mass| notation.mass(mass, Division::TENTH);
    out::line(title(shelf))?;
    out::line("")?;
    out::line(format!("{} {}", toner.toner, toner.name).trim())?;
    let mut rows = vec![vec!["on the shelf".to_owned(), mass(toner.holds)]];
    if toner.unnamed.is_positive() {
        rows.push(vec!["taken off, poured of tins not named".to_owned(), mass(toner.unnamed)]);
    }
    if toner.needed.is_positive() {
        rows.push(vec!["needed by mixes that are not done".to_owned(), mass(toner.needed)]);
    }
    if toner.for_jobs.is_positive() {
        rows.push(vec!["needed by layers of open jobs".to_owned(), mass(toner.for_jobs)]);
    }
    rows.push(vec![format!("used in {} days", toner.used.days), mass(toner.used.total)]);
    if toner.used.a_day.is_some() {
        rows.push(vec![
            "used a day".to_owned(),
            format!("{} {}", a_day_and_spread(toner, notation), notation.mass_unit()),
        ]);
    }
    if toner.cover.is_some() {
        rows.push(vec!["lasts".to_owned(), lasts(toner)]);
    }
    if let Some(point) = toner.point {
        rows.push(vec!["time to order at".to_owned(), mass(grams(point.point))]);
    }
    if let Some(order) = &toner.order {
        rows.push(vec!["order now".to_owned(), ordered_in_full(order, notation)]);
    }
    for line in lines(&[Side::Left, Side::Left], &rows) {
        out::line(format!("  {line}"))?;
    }
    out::line("")?;
    if toner.tins.is_empty() {
        return out::line("no tin of it is on the shelf");
    }
    let unit = notation.mass_unit();
    let head = ["tin", "level", &format!("holds {unit}"), "state", "expires", "lot", "opened"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for ShelfTin { tin, state } in &toner.tins {
        rows.push(vec![
            tin.label.clone(),
            symbols.level(ShelfTin { tin: tin.clone(), state: *state }.level(), BAR),
            notation.weight(tin.holds, Division::TENTH),
            state.word().to_owned(),
            tin.expires.map(|day| day.to_string()).unwrap_or_default(),
            tin.lot.clone().unwrap_or_default(),
            tin.opened.map(open::when).unwrap_or_default(),
        ]);
    }
    for line in lines(&[Side::Left, Side::Left, Side::Right], &rows) {
        out::line(line)?;
    }
    Ok(())
}

/// What is to be ordered, to be sent.
fn order(shelf: &Shelf, args: &Args, notation: Notation) -> Result<(), CliError> {
    if args.form.json {
        let due: Vec<TonerShelf> = shelf.orders().map(|(toner, _)| toner.clone()).collect();
        return out::json(&JsonShelf::of(shelf, &due));
    }
    if args.form.csv {
        return csv(
            &[
                "toner",
                "name",
                "item",
                "supplier",
                "tins",
                "tin_g",
                "mass_g",
                "for_jobs_g",
                "whole_g",
                "size",
            ],
            shelf.orders().map(|(toner, order)| {
                vec![
                    csv_text(toner.toner.as_str()),
                    csv_text(&toner.name),
                    csv_text(order.item.as_deref().unwrap_or_default()),
                    csv_text(order.supplier.as_deref().unwrap_or_default()),
                    order.packs.map(|count| count.to_string()).unwrap_or_default(),
                    order.pack.map(exact).unwrap_or_default(),
                    exact(order.mass),
                    exact(toner.for_jobs),
                    exact(order.whole()),
                    csv_text(order.size.as_deref().unwrap_or_default()),
                ]
            }),
        );
    }
    let mut rows = Vec::new();
    for (toner, order) in shelf.orders() {
        let item = order.item.as_ref().map_or_else(String::new, |item| format!("item {item}"));
        let supplier = order.supplier.clone().unwrap_or_default();
        rows.push(vec![
            ordered_in_full(order, notation),
            toner.toner.to_string(),
            toner.name.clone(),
            item,
            supplier,
            for_jobs_words(toner, notation),
        ]);
    }
    if rows.is_empty() {
        out::note("nothing has to be ordered");
        return Ok(());
    }
    out::line(format!("Order of {}", shelf.today.day))?;
    for line in lines(&[Side::Right], &rows) {
        out::line(line)?;
    }
    out::note("What is on order already the book does not know: take it off.");
    Ok(())
}

/// How much of it open jobs still need, where they do.
fn for_jobs_words(toner: &TonerShelf, notation: Notation) -> String {
    let needed = toner.for_jobs;
    if needed.is_positive() {
        format!("{} for open jobs", notation.mass(needed, Division::TENTH))
    } else {
        String::new()
    }
}

fn csv(head: &[&str], rows: impl Iterator<Item = Vec<String>>) -> Result<(), CliError> {
    let mut text = format!("{}\r\n", head.join(","));
    for row in rows {
        text.push_str(&row.join(","));
        text.push_str("\r\n");
    }
    out::script(&text)
}

fn table_of_toners(shelf: &Shelf) -> Result<(), CliError> {
    let head = [
        "toner",
        "name",
        "tins",
        "holds_g",
        "level",
        "needed_g",
        "for_jobs_g",
        "used_g",
        "days",
        "a_day_g",
        "deviation_g",
        "lasts_days",
        "expires",
        "order_at_g",
        "order_tins",
        "order_g",
        "order_whole_g",
        "unnamed_g",
    ];
    csv(
        &head,
        shelf.toners.iter().map(|toner| {
            let order = toner.order.as_ref();
            vec![
                csv_text(toner.toner.as_str()),
                csv_text(&toner.name),
                toner.tins.len().to_string(),
                exact(toner.holds),
                share(toner.level).unwrap_or_default(),
                exact(toner.needed),
                exact(toner.for_jobs),
                exact(toner.used.total),
                toner.used.days.to_string(),
                toner.used.a_day.map(|demand| forecast(demand.mean)).unwrap_or_default(),
                toner.used.a_day.map(|demand| forecast(demand.deviation)).unwrap_or_default(),
                toner.cover.map(forecast).unwrap_or_default(),
                toner.expires().unwrap_or_default(),
                toner.point.map(|point| forecast(point.point)).unwrap_or_default(),
                order.and_then(|order| order.packs).map(|count| count.to_string()).unwrap_or_default(),
                order.map(|order| exact(order.mass)).unwrap_or_default(),
                order.map(|order| exact(order.whole())).unwrap_or_default(),
                exact(toner.unnamed),
            ]
        }),
    )
}

fn table_of_tins(toner: &TonerShelf) -> Result<(), CliError> {
    let head = ["toner", "tin", "holds_g", "net_g", "level", "state", "expires", "lot", "item", "opened"];
    csv(
        &head,
        toner.tins.iter().map(|on_shelf| {
            let ShelfTin { tin, state } = on_shelf;
            vec![
                csv_text(tin.toner.as_str()),
                csv_text(&tin.label),
                exact(tin.holds),
                tin.net.map(exact).unwrap_or_default(),
                share(on_shelf.level()).unwrap_or_default(),
                state.word().to_owned(),
                tin.expires.map(|day| day.to_string()).unwrap_or_default(),
                csv_text(tin.lot.as_deref().unwrap_or_default()),
                csv_text(tin.item.as_deref().unwrap_or_default()),
                tin.opened.map(open::when).unwrap_or_default(),
            ]
        }),
    )
}

fn exact(mass: Grams) -> String {
    mass.with_decimals(6)
}

fn share(share: Option<Share>) -> Option<String> {
    share.map(|share| share.rounded(6).decimal().normalize().to_string())
}

fn forecast(number: f64) -> String {
    format!("{number:.1}")
}

#[derive(Serialize)]
struct JsonShelf<'a> {
    day: String,
    use_days: u16,
    lead_days: u16,
    service: String,
    toners: Vec<JsonToner<'a>>,
}

#[derive(Serialize)]
struct JsonToner<'a> {
    toner: &'a str,
    name: &'a str,
    holds_g: String,
    unnamed_g: String,
    level: Option<String>,
    needed_g: String,
    for_jobs_g: String,
    used_g: String,
    used_days: i64,
    a_day_g: Option<String>,
    deviation_g: Option<String>,
    lasts_days: Option<String>,
    order_at_g: Option<String>,
    safety_g: Option<String>,
    order: Option<JsonOrder<'a>>,
    tins: Vec<JsonTin<'a>>,
}

#[derive(Serialize)]
struct JsonOrder<'a> {
    mass_g: String,
    whole_g: String,
    tins: Option<u64>,
    tin_g: Option<String>,
    size: Option<&'a str>,
    item: Option<&'a str>,
    supplier: Option<&'a str>,
}

#[derive(Serialize)]
struct JsonTin<'a> {
    tin: &'a str,
    state: &'static str,
    holds_g: String,
    net_g: Option<String>,
    level: Option<String>,
    lot: Option<&'a str>,
    expires: Option<String>,
    item: Option<&'a str>,
    opened: Option<String>,
}

impl<'a> JsonShelf<'a> {
    fn of(shelf: &Shelf, toners: &'a [TonerShelf]) -> Self {
        Self {
            day: shelf.today.day.to_string(),
            use_days: shelf.terms.days,
            lead_days: shelf.terms.lead_days,
            service: share(Some(shelf.terms.service)).unwrap_or_default(),
            toners: toners.iter().map(JsonToner::of).collect(),
        }
    }
}

impl<'a> JsonToner<'a> {
    fn of(toner: &'a TonerShelf) -> Self {
        Self {
            toner: toner.toner.as_str(),
            name: &toner.name,
            holds_g: exact(toner.holds),
            unnamed_g: exact(toner.unnamed),
            level: share(toner.level),
            needed_g: exact(toner.needed),
            for_jobs_g: exact(toner.for_jobs),
            used_g: exact(toner.used.total),
            used_days: toner.used.days,
            a_day_g: toner.used.a_day.map(|demand| forecast(demand.mean)),
            deviation_g: toner.used.a_day.map(|demand| forecast(demand.deviation)),
            lasts_days: toner.cover.map(forecast),
            order_at_g: toner.point.map(|point| forecast(point.point)),
            safety_g: toner.point.map(|point| forecast(point.safety)),
            order: toner.order.as_ref().map(|order| JsonOrder {
                mass_g: exact(order.mass),
                whole_g: exact(order.whole()),
                tins: order.packs,
                tin_g: order.pack.map(exact),
                size: order.size.as_deref(),
                item: order.item.as_deref(),
                supplier: order.supplier.as_deref(),
            }),
            tins: toner.tins.iter().map(JsonTin::of).collect(),
        }
    }
}

impl<'a> JsonTin<'a> {
    fn of(on_shelf: &'a ShelfTin) -> Self {
        let tin = &on_shelf.tin;
        Self {
            tin: &tin.label,
            state: on_shelf.state.word(),
            holds_g: exact(tin.holds),
            net_g: tin.net.map(exact),
            level: share(on_shelf.level()),
            lot: tin.lot.as_deref(),
            expires: tin.expires.map(|day| day.to_string()),
            item: tin.item.as_deref(),
            opened: tin.opened.map(open::when),
        }
    }
}
