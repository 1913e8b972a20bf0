//! `pourbook waste`: what was mixed and not sprayed, why, and what it cost.

use super::figures::{self, Days, Form};
use super::places::Places;
use super::table::{self, Side};
use super::{CliError, out};
use crate::report::bars::bars;
use crate::report::reading::Fate;
use crate::report::waste::{By, Row, Waste, totals, waste};
use crate::report::{Bucket, Period, Shown, json, pages, tables};
use clap::ValueEnum;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    days: Days,
    /// What the figures are told apart by
    #[arg(long, value_enum, default_value = "week")]
    by: Apart,
    /// What each mix and each job cost, too; with --csv the mixes instead
    #[arg(long)]
    costs: bool,
    #[command(flatten)]
    form: Form,
    /// Write the page over a file that is there
    #[arg(long, requires = "html")]
    force: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Apart {
    /// The day a mix was begun
    Day,
    /// The week, from Monday, as ISO 8601 counts them
    Week,
    /// The month
    Month,
    /// The layer
    Layer,
    /// What became of the paint, and why
    Reason,
    /// Who began the mix
    Painter,
    /// The colour
    Colour,
}

impl Apart {
    const fn by(self) -> By {
        match self {
            Self::Day => By::Time(Bucket::Day),
            Self::Week => By::Time(Bucket::Week),
            Self::Month => By::Time(Bucket::Month),
            Self::Layer => By::Layer,
            Self::Reason => By::Reason,
            Self::Painter => By::Painter,
            Self::Colour => By::Colour,
        }
    }
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let period = args.days.period()?;
    let by = args.by.by();
    let book = figures::book(places)?;
    // One by one they are asked for only where they are shown.
    let each = args.costs || args.form.json || args.form.html.is_some();
    let told = book.at_once(|book| {
        if each { waste(book, &period, by, &mut figures::progress()) } else { totals(book, &period, by) }
    });
    let told = told.map_err(CliError::failed)?;
    if args.form.json {
        return out::json(&json::waste(&told, &period, by));
    }
    if args.form.csv {
        let table = match (args.costs, by) {
            (true, _) => tables::mix_costs(&told),
            (false, By::Reason) => tables::reasons(&told),
            (false, _) => tables::rows(&told, by),
        };
        return out::script(&table.csv());
    }
    let (shown, is_plain) = figures::looks(places)?;
    match &args.form.html {
        Some(path) => figures::write(path, &pages::waste(&told, &period, by, shown).html(shown), args.force),
        None => text(&told, &period, by, args.costs, shown, is_plain),
    }
}

fn text(
    told: &Waste,
    period: &Period,
    by: By,
    costs: bool,
    shown: Shown,
    is_plain: bool,
) -> Result<(), CliError> {
    out::line(format_args!("Waste, {} to {}", period.first(), period.last()))?;
    if told.total.mixes == 0 {
        return out::line("No mix was begun in these days.");
    }
    picture(told, by, shown, is_plain)?;
    if by != By::Reason {
        figures::print(&tables::rows(told, by), shown)?;
    }
    figures::print(&tables::reasons(told), shown)?;
    figures::print(&tables::overs(told), shown)?;
    if told.corrections.count > 0 || told.corrections.given_up > 0 {
        figures::print(&tables::corrections(told, shown), shown)?;
    }
    if costs {
        figures::print(&tables::jobs(told), shown)?;
        figures::print(&tables::mix_costs(told), shown)?;
    }
    out::line("")?;
    tables::about(told, shown).iter().try_for_each(out::line)
}

/// Sprayed, kept, in the cup, wasted: a bar a row, and what share of it was wasted; by reason, what share it is of all.
fn picture(told: &Waste, by: By, shown: Shown, is_plain: bool) -> Result<(), CliError> {
    let rows = &told.rows;
    let share = |row: &Row| match by {
        By::Reason => row.mixed.mass.share_of(told.total.mixed.mass),
        _ => row.wasted_share(),
    };
    let signs = if is_plain { ['#', '+', '.', 'x'] } else { ['█', '▒', '░', '▚'] };
    let parts: Vec<_> = rows
        .iter()
        .map(|row| {
            let [sprayed, kept, in_cup] =
                [Fate::Sprayed, Fate::Kept, Fate::InCup].map(|fate| row.of(fate).mass);
            [sprayed, kept, in_cup, row.wasted().mass]
        })
        .collect();
    let lines: Vec<Vec<String>> = rows
        .iter()
        .zip(bars(&parts, signs))
        .map(|(row, bar)| {
            let share = share(row).map_or_else(|| "-".to_owned(), |share| shown.percent(share));
            vec![row.key.clone(), share, bar]
        })
        .collect();
    let [sprayed, kept, in_cup, wasted] = signs;
    let says = if by == By::Reason { "wasted" } else { "wasted (and its share)" };
    out::line(format_args!("\n  {sprayed} sprayed  {kept} kept  {in_cup} in the cup  {wasted} {says}\n"))?;
    for line in table::lines(&[Side::Left, Side::Right], &lines) {
        out::line(format_args!("  {line}"))?;
    }
    Ok(())
}
