//! `pourbook use`: what was received, poured, found missing and discarded.

use super::figures::{self, Days, Form};
use super::places::{Places, Shop};
use super::table::{self, Side};
use super::{CliError, out};
use crate::catalogue::index::ShopIndex;
use crate::catalogue::{Catalogue, TonerCode};
use crate::report::bars::bars;
use crate::report::use_of::{Used, Uses, used};
use crate::report::waste::By;
use crate::report::{Bucket, Period, Shown, json, pages, tables};
use crate::units::clean;
use clap::ValueEnum;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    days: Days,
    /// What the figures are told apart by
    #[arg(long, value_enum, default_value = "toner")]
    by: Apart,
    /// Only that toner, by its code
    #[arg(long, value_name = "CODE")]
    toner: Option<String>,
    #[command(flatten)]
    form: Form,
    /// Write the page over a file that is there
    #[arg(long, requires = "html")]
    force: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Apart {
    /// The toner
    Toner,
    /// The day
    Day,
    /// The week, from Monday, as ISO 8601 counts them
    Week,
    /// The month
    Month,
    /// The layer it was mixed for
    Layer,
    /// Who began the mix
    Painter,
    /// The colour it was mixed for
    Colour,
}

impl Apart {
    const fn by(self) -> Option<By> {
        match self {
            Self::Toner => None,
            Self::Day => Some(By::Time(Bucket::Day)),
            Self::Week => Some(By::Time(Bucket::Week)),
            Self::Month => Some(By::Time(Bucket::Month)),
            Self::Layer => Some(By::Layer),
            Self::Painter => Some(By::Painter),
            Self::Colour => Some(By::Colour),
        }
    }
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let period = args.days.period()?;
    let by = args.by.by();
    let book = figures::book(places)?;
    let shop = shop(places);
    // In the shop's own spelling; a toner that is gone from its files may be in the book all the same.
    let known = |code: &str| shop.as_ref().and_then(|shop| shop.toner(code)).map(|toner| toner.code.clone());
    let named = args.toner.as_deref().map(str::trim);
    let toner = named.map(|code| known(code).unwrap_or_else(|| TonerCode::new(code)));
    let told = book.at_once(|book| used(book, &period, by, toner.as_ref())).map_err(CliError::failed)?;
    if let Some(code) = named.filter(|code| told.all.toners.is_empty() && known(code).is_none()) {
        let error = format!("toner '{}' is neither in the shop's toners nor in the book's days", clean(code));
        return Err(CliError::failed(error).hint("`pourbook shelf` names the toners."));
    }
    if args.form.json {
        return out::json(&json::used(&told, &period, by));
    }
    let name = |code: &str| {
        let toner = shop.as_ref()?.toner(code)?;
        Some(clean(&toner.name))
    };
    if args.form.csv {
        let table = match by {
            None => tables::by_toner(&told, &name),
            Some(by) => tables::by_key_and_toner(&told, by),
        };
        return out::script(&table.csv());
    }
    let (shown, is_plain) = figures::looks(places)?;
    match &args.form.html {
        Some(path) => {
            figures::write(path, &pages::used(&told, &period, by, &name, shown).html(shown), args.force)
        }
        None => text(&told, &period, by, &name, shown, is_plain),
    }
}

/// The shop, for its toners' names; the figures do without.
fn shop(places: &Places) -> Option<Catalogue> {
    match places.shop().ok()? {
        Shop::Demo => Some(Catalogue::demo()),
        Shop::Named(folder) | Shop::Usual(folder) => Some(ShopIndex::new(&folder, None).without_colours()),
        Shop::NoneYet(_) => None,
    }
}

fn text(
    told: &Used,
    period: &Period,
    by: Option<By>,
    name: &dyn Fn(&str) -> Option<String>,
    shown: Shown,
    is_plain: bool,
) -> Result<(), CliError> {
    out::line(format_args!("Use of toners, {} to {}", period.first(), period.last()))?;
    if told.all.toners.is_empty() {
        return out::line("Nothing was received, poured, found missing or discarded in these days.");
    }
    match by {
        None => {
            let rows: Vec<_> = told.all.toners.iter().map(|(toner, uses)| (toner.as_str(), *uses)).collect();
            picture(&rows, shown, is_plain)?;
        }
        Some(by) => {
            let rows: Vec<_> = told.rows.iter().map(|row| (row.key.as_str(), row.total)).collect();
            picture(&rows, shown, is_plain)?;
            figures::print(&tables::by_key(told, by), shown)?;
        }
    }
    figures::print(&tables::by_toner(told, name), shown)?;
    out::line("")?;
    tables::about_use(told, shown).iter().try_for_each(out::line)
}

/// Poured out of tins and out of leftovers: a bar a row.
fn picture(rows: &[(&str, Uses)], shown: Shown, is_plain: bool) -> Result<(), CliError> {
    let signs = if is_plain { ['#', '+'] } else { ['█', '▒'] };
    let parts: Vec<_> = rows.iter().map(|(_, uses)| [uses.poured, uses.reused]).collect();
    let lines: Vec<Vec<String>> = rows
        .iter()
        .zip(bars(&parts, signs))
        .map(|((key, uses), bar)| vec![(*key).to_owned(), shown.mass(uses.poured + uses.reused), bar])
        .collect();
    let [tins, leftovers] = signs;
    out::line(format_args!("\n  {tins} poured out of tins  {leftovers} out of leftovers\n"))?;
    for line in table::lines(&[Side::Left, Side::Right], &lines) {
        out::line(format_args!("  {line}"))?;
    }
    Ok(())
}
