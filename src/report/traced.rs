//! Where paint came from and went to, as a table and as a page.

use super::Shown;
use super::chart::{Bar, Chart};
use super::page::{Page, Section};
use super::table::{Cell, Column, Table};
use crate::book::Account;
use crate::book::figures::TinRow;
use crate::stock::{Trace, Use};
use crate::units::{Grams, Stamp};
use std::collections::BTreeMap;

/// More bars than these are not looked at: the table has them all.
const MOST_BARS: usize = 60;

/// How it is said in words when something was and where it came from: of a leftover the book has to be asked.
pub struct Words<'a> {
    /// When.
    pub when: &'a dyn Fn(Stamp) -> String,
    /// Whence.
    pub from: &'a dyn Fn(&Account) -> String,
}

const COLUMNS: [Column; 13] = [
    Column::new("mix", "mix"),
    Column::new("begun", "begun"),
    Column::wide("painter", "painter"),
    Column::new("colour", "colour"),
    Column::wide("variant", "variant"),
    Column::new("layer", "layer"),
    Column::new("job", "repair"),
    Column::new("toner", "toner"),
    Column::new("mass_g", "in it"),
    Column::new("from", "from"),
    Column::wide("tin", "tin"),
    Column::new("lot", "lot"),
    Column::wide("expires", "use until"),
];

fn said(text: Option<&String>) -> Cell {
    Cell::text(text.map_or("", String::as_str))
}

/// A line for each toner of each mix, with the lot of its tin; a tin of which nothing was used has a line of its own.
pub fn table(trace: &Trace, words: &Words<'_>) -> Table {
    let tins: BTreeMap<&str, &TinRow> = trace.tins.iter().map(|tin| (tin.label.as_str(), tin)).collect();
    let of_tin = |tin: Option<&TinRow>| {
        [
            said(tin.map(|tin| &tin.label)),
            said(tin.and_then(|tin| tin.lot.as_ref())),
            said(tin.and_then(|tin| tin.expires.as_ref())),
        ]
    };
    let mut idle = tins.clone();
    let mut rows: Vec<Vec<Cell>> = Vec::with_capacity(trace.uses.len());
    for Use { mix, toner, mass, from } in &trace.uses {
        let tin = match from {
            Account::Tin(label) => tins.get(label.as_str()).copied(),
            _ => None,
        };
        if let Some(tin) = tin {
            idle.remove(tin.label.as_str());
        }
        let [colour, variant, layer] = &mix.head.subject;
        let mut row = vec![
            Cell::Count(mix.head.number),
            Cell::text(&(words.when)(mix.head.begun)),
            Cell::text(&mix.head.operator),
            said(colour.as_ref()),
            said(variant.as_ref()),
            said(layer.as_ref()),
            said(mix.head.job.as_ref()),
            Cell::text(toner.as_str()),
            Cell::Mass(*mass),
            Cell::text(&(words.from)(from)),
        ];
        row.extend(of_tin(tin));
        rows.push(row);
    }
    for tin in idle.into_values() {
        let mut row = vec![Cell::text(""); 7];
        row.extend([Cell::text(tin.toner.as_str()), Cell::Mass(Grams::ZERO), Cell::text("")]);
        row.extend(of_tin(Some(tin)));
        rows.push(row);
    }
    Table {
        title: "What went into which mix, and out of which tin".to_owned(),
        columns: COLUMNS.to_vec(),
        rows,
        total: None,
        notes: Vec::new(),
    }
}

/// As a page: of a lot, a mix or a repair, as it is named.
pub fn page(of: &str, trace: &Trace, words: &Words<'_>, shown: Shown) -> Page {
    let mixes: BTreeMap<u32, Grams> = trace.uses.iter().fold(BTreeMap::new(), |mut sums, used| {
        *sums.entry(used.mix.head.number).or_default() += used.mass;
        sums
    });
    let toners: BTreeMap<&str, Grams> = trace.uses.iter().fold(BTreeMap::new(), |mut sums, used| {
        *sums.entry(used.toner.as_str()).or_default() += used.mass;
        sums
    });
    let with_unit = |mass: Grams| format!("{} {}", shown.mass(mass), shown.unit());
    let bar = |(label, mass): (String, Grams)| Bar { label, parts: vec![mass], figure: with_unit(mass) };
    let (title, bars): (_, Vec<Bar>) = if mixes.len() > 1 {
        let repair = |number: u32| {
            let job = trace.uses.iter().find(|used| used.mix.head.number == number);
            job.and_then(|used| used.mix.head.job.clone()).unwrap_or_default()
        };
        let label = |number: u32| format!("mix {number} {}", repair(number)).trim_end().to_owned();
        ("How much of it went into each mix", mixes.iter().map(|(n, mass)| bar((label(*n), *mass))).collect())
    } else {
        ("What went into it", toners.iter().map(|(code, mass)| bar(((*code).to_owned(), *mass))).collect())
    };
    let chart = Chart {
        title: title.to_owned(),
        parts: vec![("sprayed", "poured or used again")],
        bars: bars.into_iter().take(MOST_BARS).collect(),
    };
    let (jobs, lots) = (trace.jobs(), trace.lots());
    let named = |names: &[&str]| if names.is_empty() { "none".to_owned() } else { names.join(", ") };
    Page {
        title: format!("Trace of {of}"),
        days: "from the first pour to the last".to_owned(),
        tiles: vec![
            ("mixes", mixes.len().to_string()),
            ("tins", trace.tins.len().to_string()),
            ("lots", named(&lots)),
            ("repairs", named(&jobs)),
        ],
        sections: vec![Section { id: "uses", chart: Some(chart), table: table(trace, words) }],
        notes: vec![
            "What came by way of a leftover stands at both mixes: the one it was left of, and the one it went into."
                .to_owned(),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::figures::MixHead;
    use crate::book::{Ids, MixTotals};
    use crate::catalogue::TonerCode;

    fn g(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    fn tin(label: &str, lot: &str) -> TinRow {
        TinRow { lot: Some(lot.to_owned()), ..TinRow::unsaid(label.to_owned(), TonerCode::new("W10")) }
    }

    fn trace() -> Trace {
        let mut ids = Ids::counted(1);
        let mut mix = |number: u32, job: &str| MixTotals {
            mix: ids.mix(Stamp(1)),
            head: MixHead {
                number,
                begun: Stamp(1),
                operator: "Robin".to_owned(),
                subject: [Some("=PB-1".to_owned()), None, Some("ground".to_owned())],
                ended: None,
                emptied: None,
                use_by: None,
                job: Some(job.to_owned()),
            },
            flows: crate::book::Flows::default(),
            cost: crate::units::Money::default(),
            unpriced: Grams::ZERO,
        };
        let used = |mix: &MixTotals, from: Account, mass: &str| Use {
            mix: mix.clone(),
            toner: TonerCode::new("W10"),
            from,
            mass: g(mass),
        };
        let (one, other) = (mix(7, "26-118"), mix(9, "26-121"));
        let uses = vec![
            used(&one, Account::Tin("24-1".to_owned()), "120.25"),
            used(&one, Account::UnknownTin(TonerCode::new("W10")), "3"),
            used(&other, Account::Leftover(one.mix), "40"),
        ];
        Trace { tins: vec![tin("24-1", "L1"), tin("24-2", "L1")], uses }
    }

    const WORDS: Words<'_> = Words {
        when: &|_| "2026-11-26 09:00".to_owned(),
        from: &|account| account.to_string().split(':').next().unwrap_or_default().to_owned(),
    };

    /// Each toner of each mix with its tin and lot; the tin that nothing was poured from too; and nothing that a spreadsheet
    /// would run.
    #[test]
    fn as_csv() {
        let csv = table(&trace(), &WORDS).csv();
        let lines: Vec<&str> = csv.lines().collect();
        assert_eq!(
            lines,
            [
                "mix,begun,painter,colour,variant,layer,job,toner,mass_g,from,tin,lot,expires",
                "7,2026-11-26 09:00,Robin,'=PB-1,,ground,26-118,W10,120.250000,tin,24-1,L1,",
                "7,2026-11-26 09:00,Robin,'=PB-1,,ground,26-118,W10,3.000000,tin?,,,",
                "9,2026-11-26 09:00,Robin,'=PB-1,,ground,26-121,W10,40.000000,leftover,,,",
                ",,,,,,,W10,0.000000,,24-2,L1,",
            ]
        );
    }

    /// A weight is rounded half to even.
    #[test]
    fn as_a_page() {
        let page = page("lot L1", &trace(), &WORDS, Shown(crate::units::Notation::METRIC));
        let chart = page.sections[0].chart.as_ref().unwrap();
        let bars: Vec<_> = chart.bars.iter().map(|bar| (bar.label.as_str(), bar.figure.as_str())).collect();
        assert_eq!(bars, [("mix 7 26-118", "123.2 g"), ("mix 9 26-121", "40.0 g")]);
        let tiles: Vec<_> = page.tiles.iter().map(|(what, much)| (*what, much.as_str())).collect();
        assert_eq!(tiles, [("mixes", "2"), ("tins", "2"), ("lots", "L1"), ("repairs", "26-118, 26-121")]);
    }
}
