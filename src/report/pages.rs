//! What stands on the page of waste and on that of use.

use super::chart::{Bar, Chart};
use super::page::{Page, Section};
use super::reading::Fate;
use super::table::Table;
use super::use_of::{Used, Uses};
use super::waste::{By, Row, Waste};
use super::{Period, Shown, tables};
use crate::units::{Grams, Share};

/// More bars than these are not looked at: the table has them all.
const MOST_BARS: usize = 60;

fn days(period: &Period) -> String {
    format!("{} to {}", period.first(), period.last())
}

fn with_unit(mass: Grams, shown: Shown) -> String {
    format!("{} {}", shown.mass(mass), shown.unit())
}

fn of(share: Option<Share>, shown: Shown) -> String {
    share.map_or_else(|| "-".to_owned(), |share| shown.percent(share))
}

const fn class(fate: Fate) -> &'static str {
    match fate {
        Fate::Sprayed => "sprayed",
        Fate::Kept => "kept",
        Fate::InCup => "cup",
        Fate::DrawnOff => "drawn",
        Fate::Thrown => "thrown",
        Fate::Abandoned => "given",
    }
}

fn fates(title: &str, rows: &[Row], figure: impl Fn(&Row) -> String) -> Chart {
    let bars = rows.iter().take(MOST_BARS).map(|row| Bar {
        label: row.key.clone(),
        parts: Fate::ALL.into_iter().map(|fate| row.of(fate).mass).collect(),
        figure: figure(row),
    });
    Chart {
        title: title.to_owned(),
        parts: Fate::ALL.into_iter().map(|fate| (class(fate), fate.word())).collect(),
        bars: bars.collect(),
    }
}

/// The page of waste.
pub fn waste(waste: &Waste, period: &Period, by: By, shown: Shown) -> Page {
    let total = &waste.total;
    let lost = total.wasted();
    let sprayed = total.of(Fate::Sprayed).mass;
    let mut sections = Vec::new();
    if by != By::Reason {
        let title = format!("Paint mixed by {}, and what became of it", by.word());
        let figure = |row: &Row| {
            row.wasted_share().map(|share| format!("{} wasted", shown.percent(share))).unwrap_or_default()
        };
        let chart = fates(&title, &waste.rows, figure);
        sections.push(Section { id: "rows", chart: Some(chart), table: tables::rows(waste, by) });
    }
    let figure = |row: &Row| of(row.mixed.mass.share_of(total.mixed.mass), shown);
    let chart = fates("What became of the paint, and why", &waste.reasons, figure);
    sections.push(Section { id: "reasons", chart: Some(chart), table: tables::reasons(waste) });
    let over = waste.overs.iter().filter(|over| over.over > 0).take(MOST_BARS);
    let chart = Chart {
        title: "By how much toners went over, all pours together".to_owned(),
        parts: vec![("drawn", "poured too much")],
        bars: over
            .map(|over| Bar {
                label: format!("{} {}", over.toner, over.name).trim().to_owned(),
                parts: vec![over.by],
                figure: format!("{} of {} pours", over.over, over.pours),
            })
            .collect(),
    };
    let overs = tables::overs(waste);
    sections.push(Section { id: "overs", chart: Some(chart), table: overs });
    sections.push(Section { id: "corrections", chart: None, table: tables::corrections(waste, shown) });
    if !waste.jobs.is_empty() {
        sections.push(Section { id: "jobs", chart: None, table: tables::jobs(waste) });
    }
    Page {
        title: "Waste".to_owned(),
        days: days(period),
        tiles: vec![
            ("mixed", with_unit(total.mixed.mass, shown)),
            (
                "sprayed",
                format!("{} · {}", with_unit(sprayed, shown), of(sprayed.share_of(total.mixed.mass), shown)),
            ),
            ("wasted", format!("{} · {}", with_unit(lost.mass, shown), of(total.wasted_share(), shown))),
            ("cost of what was wasted", shown.money(lost.cost)),
        ],
        sections,
        notes: tables::about(waste, shown),
    }
}

fn poured(title: &str, bars: Vec<(String, Uses)>, shown: Shown) -> Chart {
    let bar = |(label, uses): (String, Uses)| Bar {
        label,
        parts: vec![uses.poured, uses.reused],
        figure: with_unit(uses.poured + uses.reused, shown),
    };
    Chart {
        title: title.to_owned(),
        parts: vec![("sprayed", "poured out of tins"), ("kept", "out of leftovers")],
        bars: bars.into_iter().take(MOST_BARS).map(bar).collect(),
    }
}

/// The page of use.
pub fn used(
    used: &Used,
    period: &Period,
    by: Option<By>,
    name: &dyn Fn(&str) -> Option<String>,
    shown: Shown,
) -> Page {
    let mut sections = Vec::new();
    if let Some(by) = by {
        let bars = used.rows.iter().map(|row| (row.key.clone(), row.total)).collect();
        let chart = poured(&format!("What was poured by {}", by.word()), bars, shown);
        sections.push(Section { id: "rows", chart: Some(chart), table: tables::by_key(used, by) });
    }
    let mut toners: Vec<(String, Uses)> = used
        .all
        .toners
        .iter()
        .map(|(toner, uses)| {
            let name = name(toner.as_str()).unwrap_or_default();
            (format!("{toner} {name}").trim().to_owned(), *uses)
        })
        .collect();
    toners.retain(|(_, uses)| !(uses.poured + uses.reused).is_zero());
    toners.sort_by_key(|(_, uses)| std::cmp::Reverse(uses.poured + uses.reused));
    let chart = poured("What was poured of each toner", toners, shown);
    let table: Table = tables::by_toner(used, name);
    sections.push(Section { id: "toners", chart: Some(chart), table });
    let all = used.all.total;
    let mut tiles = vec![("poured", with_unit(all.poured, shown))];
    if used.of_mixes {
        tiles.push(("out of leftovers", with_unit(all.reused, shown)));
    } else {
        tiles.insert(0, ("received", with_unit(all.received, shown)));
        tiles.push(("found missing", with_unit(all.missing, shown)));
        tiles.push(("discarded", with_unit(all.discarded, shown)));
    }
    Page {
        title: "Use of toners".to_owned(),
        days: days(period),
        tiles,
        sections,
        notes: tables::about_use(used, shown),
    }
}
