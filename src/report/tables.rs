//! The figures as tables, with the sentences that say what they are of.

use super::Shown;
use super::overs::Against;
use super::reading::{Amount, Fate, Priced};
use super::table::{Cell, Column, Table};
use super::use_of::{Used, Uses};
use super::waste::{By, Row, Waste};
use crate::mix::Way;
use crate::units::Grams;

/// A way out, in words.
pub const fn way(way: Way) -> &'static str {
    match way {
        Way::Leave => "left as it was",
        Way::Smallest => "made more: the least that comes right",
        Way::Exact => "made more: exactly right",
        Way::Fit => "the best that fits",
        Way::DrawOff => "drew some off",
        Way::Restart => "started again",
    }
}

/// What became of paint, a row for each of what it is told apart by.
pub fn rows(waste: &Waste, by: By) -> Table {
    let columns = vec![
        Column::new("key", by.word()),
        Column::new("mixes", "mixes"),
        Column::new("mixed_g", "mixed"),
        Column::new("sprayed_g", "sprayed"),
        Column::new("kept_g", "kept"),
        Column::new("in_cup_g", "in the cup"),
        Column::wide("drawn_off_g", "drawn off"),
        Column::wide("thrown_g", "thrown away"),
        Column::wide("abandoned_g", "given up"),
        Column::new("wasted_g", "wasted"),
        Column::new("wasted_share", "of mixed"),
        Column::new("wasted_cost", "its cost"),
        Column::wide("mixed_cost", "cost of all"),
    ];
    let cells = |row: &Row| {
        let mut cells = vec![Cell::text(&row.key), Cell::Count(row.mixes), Cell::Mass(row.mixed.mass)];
        cells.extend(Fate::ALL.into_iter().map(|fate| Cell::Mass(row.of(fate).mass)));
        let Amount { mass, cost } = row.wasted();
        cells.extend([Cell::Mass(mass), Cell::Share(row.wasted_share()), Cell::Money(cost)]);
        cells.push(Cell::Money(row.mixed.cost));
        cells
    };
    Table {
        title: format!("By {}", by.word()),
        columns,
        rows: waste.rows.iter().map(cells).collect(),
        total: Some(cells(&waste.total)),
        notes: Vec::new(),
    }
}

/// What became of it and why, a row each.
pub fn reasons(waste: &Waste) -> Table {
    let all = waste.total.mixed;
    let cells = |key: &str, mixes: u32, amount: Amount| {
        vec![
            Cell::text(key),
            Cell::Count(mixes),
            Cell::Mass(amount.mass),
            Cell::Share(amount.mass.share_of(all.mass)),
            Cell::Money(amount.cost),
        ]
    };
    Table {
        title: "What became of it".to_owned(),
        columns: vec![
            Column::new("reason", "what, and why"),
            Column::new("mixes", "mixes"),
            Column::new("mass_g", "mass"),
            Column::new("share", "of mixed"),
            Column::new("cost", "cost"),
        ],
        rows: waste.reasons.iter().map(|row| cells(&row.key, row.mixes, row.mixed)).collect(),
        total: Some(cells("mixed", waste.total.mixes, all)),
        notes: Vec::new(),
    }
}

/// The toners that went over at least once.
pub fn overs(waste: &Waste) -> Table {
    let over = waste.overs.iter().filter(|over| over.over > 0);
    let cells = |over: &super::overs::Over| {
        let of = Grams::new(over.pours.into());
        vec![
            Cell::text(over.toner.as_str()),
            Cell::text(&over.name),
            Cell::Count(over.pours),
            Cell::Count(over.over),
            Cell::Share(Grams::new(over.over.into()).share_of(of)),
            Cell::Mass(over.mean()),
            Cell::Mass(over.worst),
        ]
    };
    Table {
        title: "Toners that went over".to_owned(),
        columns: vec![
            Column::new("toner", "toner"),
            Column::new("name", "name"),
            Column::new("pours", "pours"),
            Column::new("over", "over"),
            Column::new("over_share", "of pours"),
            Column::new("mean_over_g", "on average by"),
            Column::new("worst_over_g", "at worst by"),
        ],
        rows: over.map(cells).collect(),
        total: None,
        notes: vec![
            "Over is above what was asked for and still right, as a pour was booked at the time.".to_owned(),
        ],
    }
}

/// What was done when a pour went over, and what that saved.
pub fn corrections(waste: &Waste, shown: Shown) -> Table {
    let all = &waste.corrections;
    let rows = all.taken.iter().map(|taken| {
        vec![
            Cell::text(way(taken.way)),
            Cell::Count(taken.count),
            Cell::Mass(taken.waste),
            Cell::Money(taken.cost),
        ]
    });
    let mut notes = Vec::new();
    if all.count > 0 {
        notes.push(
            "This is what the ways out promised when one was chosen, by the prices the mixes were begun with.".to_owned(),
        );
    }
    notes.extend(against(all.growing, "making the least more that comes right", shown));
    notes.extend(against(all.restarting, "starting again", shown));
    if all.given_up > 0 {
        notes.push(format!(
            "{} given up while a pour was over or wrong, with {} {} in the cup.",
            mixes(all.given_up),
            shown.mass(all.given_up_mass),
            shown.unit()
        ));
    }
    Table {
        title: "What was done about it".to_owned(),
        columns: vec![
            Column::new("way", "what was done"),
            Column::new("times", "times"),
            Column::new("waste_g", "waste"),
            Column::new("cost", "cost"),
        ],
        rows: rows.collect(),
        total: None,
        notes,
    }
}

/// How many mixes were, as a sentence begins.
pub(crate) fn mixes(count: u32) -> String {
    if count == 1 { "1 mix was".to_owned() } else { format!("{count} mixes were") }
}

fn against(against: Against, other: &str, shown: Shown) -> Option<String> {
    if against.count == 0 {
        return None;
    }
    let times = if against.count == 1 { "once".to_owned() } else { format!("{} times", against.count) };
    let how = if against.saved.is_negative() { "more" } else { "less" };
    let worth = if against.unpriced == against.count {
        String::new()
    } else {
        format!(", worth {}", shown.money(against.saved_cost.abs()))
    };
    Some(format!(
        "Held against {other}, which was open {times}: {} {} {how} wasted{worth}.",
        shown.mass(against.saved.abs()),
        shown.unit(),
    ))
}

/// What the mixes of each job cost.
pub fn jobs(waste: &Waste) -> Table {
    let rows = waste.jobs.iter().map(|job| {
        vec![
            Cell::text(&job.job),
            Cell::Count(job.mixes),
            Cell::Mass(job.mixed.mass),
            Cell::Mass(job.sprayed.mass),
            Cell::Money(job.mixed.cost),
            Cell::Money(job.sprayed.cost),
        ]
    });
    Table {
        title: "What jobs cost".to_owned(),
        columns: vec![
            Column::new("job", "job"),
            Column::new("mixes", "mixes"),
            Column::new("mixed_g", "mixed"),
            Column::new("sprayed_g", "sprayed"),
            Column::new("mixed_cost", "cost of all"),
            Column::new("sprayed_cost", "of what was sprayed"),
        ],
        rows: rows.collect(),
        total: None,
        notes: Vec::new(),
    }
}

/// What each mix cost.
pub fn mix_costs(waste: &Waste) -> Table {
    let rows = waste.mixes.iter().map(|mix| {
        vec![
            Cell::text(&format!("{:04}", mix.number)),
            Cell::text(&mix.day),
            Cell::text(&mix.colour),
            Cell::text(&mix.layer),
            Cell::text(&mix.painter),
            Cell::text(&mix.job),
            Cell::Mass(mix.mixed.mass),
            Cell::Mass(mix.wasted.mass),
            Cell::Money(mix.mixed.cost),
            Cell::Money(mix.wasted.cost),
            Cell::Money(mix.from_tins),
            Cell::Money(mix.as_begun),
            Cell::Mass(mix.priced.by_tin),
            Cell::Mass(mix.priced.by_formula),
            Cell::Mass(mix.priced.unpriced),
        ]
    });
    Table {
        title: "What mixes cost".to_owned(),
        columns: vec![
            Column::new("mix", "mix"),
            Column::new("day", "day"),
            Column::new("colour", "colour"),
            Column::new("layer", "layer"),
            Column::wide("painter", "painter"),
            Column::new("job", "job"),
            Column::new("mixed_g", "mixed"),
            Column::new("wasted_g", "wasted"),
            Column::new("mixed_cost", "cost"),
            Column::wide("wasted_cost", "of what was wasted"),
            Column::wide("from_tins_cost", "out of tins"),
            Column::wide("as_begun_cost", "by the prices it was begun with"),
            Column::wide("by_tin_g", "priced by its tin"),
            Column::wide("by_formula_g", "priced by its formula"),
            Column::wide("unpriced_g", "without a price"),
        ],
        rows: rows.collect(),
        total: None,
        notes: Vec::new(),
    }
}

/// What the figures are of, in sentences.
pub fn about(waste: &Waste, shown: Shown) -> Vec<String> {
    let unit = shown.unit();
    let mut notes = vec![format!(
        "Masses are in {unit}, with thinner and hardener where they were weighed with the mix. They are of the mixes begun in \
         these days, whatever has become of them since."
    )];
    if waste.reused.is_positive() {
        notes.push(format!(
            "{} {unit} of what was mixed came out of leftovers, and were mixed once before.",
            shown.mass(waste.reused)
        ));
    }
    if waste.total.of(Fate::Kept).mass.is_positive() {
        let kept = waste.of_kept;
        notes.push(format!(
            "Of what was kept {} {unit} were used again since, {} thrown away, and {} are still there.",
            shown.mass(kept.used_again),
            shown.mass(kept.thrown),
            shown.mass(kept.still_there)
        ));
    }
    notes.push(priced(waste.priced, shown));
    if waste.unreadable > 0 {
        notes.push(format!(
            "{} not to be read back wholly: masses are counted, pours that went over and what was done about them are not. \
             `pourbook check` says more.",
            mixes(waste.unreadable)
        ));
    }
    notes
}

fn priced(priced: Priced, shown: Shown) -> String {
    let unit = shown.unit();
    let rest = if priced.unpriced.is_zero() {
        String::new()
    } else {
        format!("; {} {unit} have no price and cost nothing here", shown.mass(priced.unpriced))
    };
    format!(
        "Costs are in the shop's currency: {} {unit} by the price of the tin they came from, {} by the prices the mixes \
         were begun with{rest}.",
        shown.mass(priced.by_tin),
        shown.mass(priced.by_formula)
    )
}

fn uses(uses: &Uses) -> Vec<Cell> {
    [uses.received, uses.poured, uses.reused, uses.missing, uses.discarded].map(Cell::Mass).to_vec()
}

const USES: [Column; 5] = [
    Column::new("received_g", "received"),
    Column::new("poured_g", "poured"),
    Column::new("reused_g", "out of leftovers"),
    Column::new("missing_g", "found missing"),
    Column::new("discarded_g", "discarded"),
];

/// What was used of each toner. `name` gives a toner's name, if it is known.
pub fn by_toner(used: &Used, name: &dyn Fn(&str) -> Option<String>) -> Table {
    let rows = used.all.toners.iter().map(|(toner, own)| {
        let mut cells =
            vec![Cell::text(toner.as_str()), Cell::text(&name(toner.as_str()).unwrap_or_default())];
        cells.extend(uses(own));
        cells
    });
    let mut total = vec![Cell::text("all"), Cell::text("")];
    total.extend(uses(&used.all.total));
    Table {
        title: "By toner".to_owned(),
        columns: [Column::new("toner", "toner"), Column::new("name", "name")]
            .into_iter()
            .chain(USES)
            .collect(),
        rows: rows.collect(),
        total: Some(total),
        notes: Vec::new(),
    }
}

/// What was used by each week, painter, …; all toners together.
pub fn by_key(used: &Used, by: By) -> Table {
    let cells = |key: &str, own: &Uses| {
        let mut cells = vec![Cell::text(key)];
        cells.extend(uses(own));
        cells
    };
    Table {
        title: format!("By {}", by.word()),
        columns: std::iter::once(Column::new("key", by.word())).chain(USES).collect(),
        rows: used.rows.iter().map(|row| cells(&row.key, &row.total)).collect(),
        total: Some(cells("all", &used.all.total)),
        notes: Vec::new(),
    }
}

/// The same with each toner apart, for files.
pub fn by_key_and_toner(used: &Used, by: By) -> Table {
    let rows = used.rows.iter().flat_map(|row| {
        row.toners.iter().map(|(toner, own)| {
            let mut cells = vec![Cell::text(&row.key), Cell::text(toner.as_str())];
            cells.extend(uses(own));
            cells
        })
    });
    Table {
        title: format!("By {} and toner", by.word()),
        columns: [Column::new("key", by.word()), Column::new("toner", "toner")]
            .into_iter()
            .chain(USES)
            .collect(),
        rows: rows.collect(),
        total: None,
        notes: Vec::new(),
    }
}

/// What the use is of, in sentences.
pub fn about_use(used: &Used, shown: Shown) -> Vec<String> {
    let of = if used.of_mixes {
        "They are what went into the mixes begun in these days; tins that came, were counted or discarded are about no mix."
    } else {
        "The days are those of UTC, by which the book keeps these sums."
    };
    vec![format!("Masses are in {}. {of}", shown.unit())]
}
