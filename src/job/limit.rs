//! What the law allows: tables of limits as dated data that a shop can edit, each row saying how well it is known.

use super::shop_file::{Entry, Said, Sheet};
use super::{Basis, PerLitre};
use crate::catalogue::Problem;
use crate::units::{Decimal, Density};
use jiff::civil::Date;

/// The tables that come inside the program, as the text of a `limits.toml`.
pub const LIMITS: &str = include_str!("limits.toml");

/// The file's name in a shop's folder.
pub const LIMITS_FILE: &str = "limits.toml";

/// How well something is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Known {
    /// Read in the law or standard itself, or in the source that is named beside it.
    Read,
    /// Read in a text that restates it.
    SecondHand,
    /// Nobody looked it up: to be shown with that word, and never as law.
    Memory,
    /// Written down by the shop.
    Shop,
}

impl Known {
    const WORDS: [(&'static str, Self); 4] = [
        ("read", Self::Read),
        ("second-hand", Self::SecondHand),
        ("from memory", Self::Memory),
        ("by the shop", Self::Shop),
    ];

    /// In files and on screens.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::SecondHand => "second-hand",
            Self::Memory => "from memory",
            Self::Shop => "by the shop",
        }
    }
}

/// Whether the coats of one system are judged together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Averages {
    /// Each coat alone.
    No,
    /// Base, midcoats and clear together, if there is a midcoat.
    MoreThanTwo,
    /// Base and clear together, with midcoats or without.
    TwoOrMore,
}

impl Averages {
    const WORDS: [(&'static str, Self); 3] = [
        ("no", Self::No),
        ("more than two stages", Self::MoreThanTwo),
        ("two stages or more", Self::TwoOrMore),
    ];

    /// In files and on screens.
    pub const fn word(self) -> &'static str {
        match self {
            Self::No => "no",
            Self::MoreThanTwo => "more than two stages",
            Self::TwoOrMore => "two stages or more",
        }
    }
}

/// The limit of a category.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limit {
    /// Its word in products' files, as `primer-sealer`.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What it may hold at most.
    pub limit: PerLitre,
    /// By which figure.
    pub basis: Basis,
    /// How well that is known.
    pub known: Known,
}

/// The limits of one law.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LimitTable {
    /// Its word in the settings and in products' files, as `eu`.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// Where it holds.
    pub jurisdiction: String,
    /// From when on, and how well that is known; none if that was not found out.
    pub valid_from: Option<(Date, Known)>,
    /// When somebody last compared it.
    pub checked: Date,
    /// With what.
    pub read_in: String,
    /// Whether coats are judged together.
    pub averages: Averages,
    /// The category of coats judged together; there if they are.
    pub together: Option<String>,
    /// What has to be said beside it.
    pub note: Option<String>,
    /// Its categories.
    pub rows: Vec<Limit>,
}

impl LimitTable {
    /// The row with that word.
    pub fn row(&self, id: &str) -> Option<&Limit> {
        self.rows.iter().find(|row| row.id.eq_ignore_ascii_case(id.trim()))
    }
}

/// All a file of limits says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limits {
    /// What a millilitre of water weighs: sources differ, so it is said with every figure.
    pub water_density: Density,
    /// Who says so.
    pub water_density_from: String,
    /// The tables.
    pub tables: Vec<LimitTable>,
}

impl Limits {
    /// The table with that word.
    pub fn table(&self, id: &str) -> Option<&LimitTable> {
        self.tables.iter().find(|table| table.id.eq_ignore_ascii_case(id.trim()))
    }
}

const FILE_KEYS: [&str; 3] = ["water_density", "water_density_from", "table"];
const TABLE_KEYS: [&str; 12] = [
    "id",
    "name",
    "jurisdiction",
    "valid_from",
    "valid_from_known",
    "checked",
    "read_in",
    "basis",
    "averages",
    "together",
    "note",
    "row",
];
const ROW_KEYS: [&str; 5] = ["id", "name", "limit", "basis", "known"];
const BASES: [(&str, Basis); 4] = [
    (Basis::Regulatory.word(), Basis::Regulatory),
    (Basis::Actual.word(), Basis::Actual),
    (Basis::LessWater.word(), Basis::LessWater),
    (Basis::WithWater.word(), Basis::WithWater),
];

/// Reads a `limits.toml`: what could be read, and what is wrong with the rest. A table with a mistake anywhere in it is left
/// out as a whole, since a limit that is missing from it could be the one that matters.
pub fn read_limits(file: &str, text: &str) -> (Limits, Vec<Problem>) {
    let mut sheet = Sheet::new(file, text);
    let water_density_from = "COMAR 26.11.19.02".to_owned();
    let mut limits = Limits { water_density: Density::WATER, water_density_from, tables: Vec::new() };
    if let Ok(document) = sheet.parse() {
        let entry = Entry::of_file(document.as_table(), "file of limits");
        // Each mistake is said; nothing depends on the file's own keys.
        let _ = entry.only(&mut sheet, &FILE_KEYS);
        let water = entry.number(&mut sheet, "water_density");
        let from = entry.text(&mut sheet, "water_density_from");
        if let Ok(Some(water)) = water {
            if let Some(density) = Density::new(water).filter(|_| plausible(water)) {
                limits.water_density = density;
                let from = from.ok().flatten();
                limits.water_density_from = from.unwrap_or_else(|| Known::Shop.word().to_owned());
            } else {
                let what = format!("water does not weigh {water} g/mL");
                sheet.wrong(entry.at("water_density"), &what, "grams per millilitre, about 1", "value");
            }
        }
        let tables = entry.tables(&mut sheet, "table", ("table", "table"));
        for table in tables.ok().flatten().unwrap_or_default() {
            let Ok(read) = read_table(&mut sheet, table) else { continue };
            if limits.table(&read.id).is_some() {
                let what = format!("there are two tables with the id '{}'", read.id);
                sheet.wrong(table.at("id"), &what, "another id", "table");
            } else {
                limits.tables.push(read);
            }
        }
    }
    (limits, sheet.into_problems())
}

/// Between ice and heavy water: anything else is another unit.
fn plausible(water: Decimal) -> bool {
    water >= Decimal::new(9, 1) && water <= Decimal::new(11, 1)
}

/// Reads every key before giving up on any, so that all mistakes are named.
fn read_table(sheet: &mut Sheet<'_>, entry: Entry<'_>) -> Result<LimitTable, Said> {
    let only = entry.only(sheet, &TABLE_KEYS);
    let [id, name, jurisdiction, read_in] = ["id", "name", "jurisdiction", "read_in"].map(|key| {
        let text = entry.text(sheet, key);
        entry.need(sheet, key, text)
    });
    let valid_from = entry.day(sheet, "valid_from");
    let valid_from_known = entry.word(sheet, "valid_from_known", &Known::WORDS);
    let checked = entry.day(sheet, "checked");
    let checked = entry.need(sheet, "checked", checked);
    let basis = entry.word(sheet, "basis", &BASES);
    let basis = entry.need(sheet, "basis", basis);
    let averages = entry.word(sheet, "averages", &Averages::WORDS);
    let together = entry.text(sheet, "together");
    let note = entry.text(sheet, "note");
    let rows = entry.tables(sheet, "row", ("row", "table"));
    let rows = entry.need(sheet, "row", rows);
    let rows: Result<Vec<Vec<Limit>>, Said> = rows.and_then(|rows| {
        // All of them are read before the first mistake counts.
        let read: Vec<_> = rows.into_iter().map(|row| read_row(sheet, row, basis)).collect();
        read.into_iter().map(|row| row.map(|row| vec![row])).collect()
    });
    only?;
    let averages = averages?.unwrap_or(Averages::No);
    let (valid_from_known, together) = (valid_from_known?.unwrap_or(Known::Shop), together?);
    let table = LimitTable {
        id: id?,
        name: name?,
        jurisdiction: jurisdiction?,
        valid_from: valid_from?.map(|day| (day, valid_from_known)),
        checked: checked?,
        read_in: read_in?,
        averages,
        together,
        note: note?,
        rows: rows?.into_iter().flatten().collect(),
    };
    if let Some((place, row)) = table.rows.iter().enumerate().find(|(place, row)| {
        table.rows.iter().take(*place).any(|before| before.id.eq_ignore_ascii_case(&row.id))
    }) {
        let what = format!(
            "there are two rows with the id '{}' (the second is number {})",
            row.id,
            place.saturating_add(1)
        );
        return Err(sheet.wrong(entry.offset, &what, "another id", "table"));
    }
    let row_together = table.together.as_deref().map(|id| table.row(id).is_some());
    if table.averages != Averages::No && row_together != Some(true) {
        let what =
            "'together' names no row, so that nobody knows the limit of coats that are judged together";
        return Err(sheet.wrong(entry.at("together"), what, "the id of one of the rows", "table"));
    }
    Ok(table)
}

fn read_row(sheet: &mut Sheet<'_>, entry: Entry<'_>, of_table: Result<Basis, Said>) -> Result<Limit, Said> {
    let only = entry.only(sheet, &ROW_KEYS);
    let [id, name] = ["id", "name"].map(|key| {
        let text = entry.text(sheet, key);
        entry.need(sheet, key, text)
    });
    let limit = entry.number(sheet, "limit");
    let limit = entry.need(sheet, "limit", limit);
    let basis = entry.word(sheet, "basis", &BASES);
    let known = entry.word(sheet, "known", &Known::WORDS);
    only?;
    let limit = limit?;
    // More than any organic liquid weighs; most likely another unit was meant.
    if limit > Decimal::from(2000_u32) || limit.is_zero() {
        let what = format!("a limit of {limit} g/L is none");
        return Err(sheet.wrong(entry.at("limit"), &what, "grams per litre, like \"420\"", "table"));
    }
    Ok(Limit {
        id: id?,
        name: name?,
        limit: PerLitre::new(limit),
        basis: match basis? {
            Some(basis) => basis,
            None => of_table?,
        },
        known: known?.unwrap_or(Known::Shop),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn usual() -> Limits {
        let (limits, problems) = read_limits(LIMITS_FILE, LIMITS);
        assert!(problems.is_empty(), "{problems:?}");
        limits
    }

    fn limit(table: &str, row: &str) -> String {
        usual().table(table).unwrap().row(row).unwrap().limit.decimal().to_string()
    }

    /// Virginia's table 4-48A (9VAC5-40-6990; read).
    #[rstest]
    #[case("pretreatment", "780")]
    #[case("primer-surfacer", "575")]
    #[case("primer-sealer", "550")]
    #[case("topcoat", "600")]
    #[case("two-stage", "600")]
    #[case("multi-stage", "625")]
    #[case("multi-coloured", "680")]
    #[case("specialty", "840")]
    fn virginia(#[case] row: &str, #[case] grams: &str) {
        assert_eq!(limit("us-virginia", row), grams);
    }

    /// Annex II B of Directive 2004/42/EC, which SI 2012/1715 has too (Northern Ireland's business service; read).
    #[rstest]
    #[case("preparatory", "850", Basis::WithWater)]
    #[case("pre-cleaner", "200", Basis::WithWater)]
    #[case("bodyfiller", "250", Basis::LessWater)]
    #[case("primer", "540", Basis::LessWater)]
    #[case("wash-primer", "780", Basis::LessWater)]
    #[case("topcoat", "420", Basis::LessWater)]
    #[case("special", "840", Basis::LessWater)]
    fn europe(#[case] row: &str, #[case] grams: &str, #[case] basis: Basis) {
        for table in ["eu", "uk"] {
            assert_eq!(limit(table, row), grams);
            assert_eq!(usual().table(table).unwrap().row(row).unwrap().basis, basis);
        }
    }

    /// SOR/2009-197, in a notice of the trade and a by-law (second-hand).
    #[rstest]
    #[case("primer-surfacer", "250")]
    #[case("primer-sealer", "340")]
    #[case("pretreatment", "660")]
    #[case("adhesion-promoter", "840")]
    #[case("colour", "420")]
    #[case("uniform-finish", "540")]
    #[case("truck-bed", "310")]
    #[case("temporary", "60")]
    #[case("underbody", "430")]
    #[case("single-stage", "420")]
    #[case("multi-coloured", "680")]
    #[case("clear", "250")]
    #[case("other", "250")]
    #[case("cleaner", "50")]
    fn canada(#[case] row: &str, #[case] grams: &str) {
        assert_eq!(limit("canada", row), grams);
    }

    #[test]
    fn what_was_not_read_is_said_to_be_from_memory() {
        let limits = usual();
        for table in ["us", "us-california"] {
            let table = limits.table(table).unwrap();
            assert!(table.rows.iter().all(|row| row.known == Known::Memory), "{}", table.id);
        }
        for table in ["eu", "uk", "canada"] {
            assert!(
                limits.table(table).unwrap().rows.iter().all(|row| row.known == Known::SecondHand),
                "{table}"
            );
        }
        let (_, known) = limits.table("eu").unwrap().valid_from.unwrap();
        assert_eq!(known, Known::Memory);
        assert_eq!(limits.water_density, Density::WATER);
        assert_eq!(limits.table("us").unwrap().averages, Averages::MoreThanTwo);
    }

    const ONE: &str = "[[table]]\nid = \"own\"\nname = \"permit 12\"\njurisdiction = \"here\"\nchecked = \"2026-11-01\"\n\
                       read_in = \"the permit\"\nbasis = \"actual\"\n";

    #[test]
    fn a_shops_own_table() {
        let text = format!(
            "water_density = 0.998\n{ONE}row = [{{ id = \"clear\", name = \"clear\", limit = 399.5 }}]"
        );
        let (limits, problems) = read_limits("limits.toml", &text);
        assert!(problems.is_empty(), "{problems:?}");
        assert_eq!(
            (limits.water_density.to_string(), limits.water_density_from.as_str()),
            ("0.998".to_owned(), "by the shop")
        );
        let table = limits.table("OWN").unwrap();
        assert_eq!((table.averages, table.valid_from, table.rows.len()), (Averages::No, None, 1));
        let row = table.row("Clear").unwrap();
        assert_eq!(
            (row.limit.decimal().to_string(), row.basis, row.known),
            ("399.5".to_owned(), Basis::Actual, Known::Shop)
        );
    }

    /// A mistake anywhere leaves its table out: what is missing from it could be the limit that matters.
    #[rstest]
    #[case("row = [{ id = \"a\", name = \"a\", limit = \"4,20\" }]", "8:40", "'limit' cannot be read")]
    #[case("row = [{ id = \"a\", name = \"a\", limit = \"4200\" }]", "8:40", "a limit of 4200 g/L is none")]
    #[case("row = [{ id = \"a\", name = \"a\" }]", "8:8", "this row has no 'limit'")]
    #[case(
        "row = [{ id = \"a\", name = \"a\", limit = 4, basis = \"dry\" }]",
        "8:51",
        "'dry' is not known here"
    )]
    #[case(
        "row = [{ id = \"a\", name = \"a\", limit = 4, know = \"read\" }]",
        "8:43",
        "did you mean 'known'"
    )]
    #[case(
        "row = [{ id = \"a\", name = \"a\", limit = 4 }, { id = \"A\", name = \"b\", limit = 4 }]",
        "1:1",
        "two rows"
    )]
    #[case(
        "averages = \"two stages or more\"\nrow = [{ id = \"a\", name = \"a\", limit = 4 }]",
        "1:1",
        "'together' names no row"
    )]
    #[case("note = 7\nrow = []", "8:8", "'note' is no text")]
    #[case("", "1:1", "this table has no 'row'")]
    #[case("row = 3", "8:7", "'row' is no list of tables")]
    #[case("row = [", "8:8", "cannot be read as TOML")]
    fn mistakes_have_their_place(#[case] rest: &str, #[case] place: &str, #[case] what: &str) {
        let (limits, problems) = read_limits("limits.toml", &format!("{ONE}{rest}"));
        assert_eq!(limits.tables, []);
        let said: Vec<String> = problems.iter().map(ToString::to_string).collect();
        assert_eq!(problems.len(), 1, "{said:?}");
        assert_eq!(problems[0].location(), format!("limits.toml:{place}"), "{said:?}");
        assert!(problems[0].what.contains(what), "{said:?}");
    }

    #[test]
    fn two_tables_of_one_name_and_heavy_water() {
        let table = format!("{ONE}row = [{{ id = \"a\", name = \"a\", limit = 4 }}]\n");
        let (limits, problems) = read_limits("x", &format!("water_density = 8.33\n{table}{table}"));
        assert_eq!(limits.tables.len(), 1);
        assert_eq!(limits.water_density, Density::WATER);
        let said: Vec<&str> = problems.iter().map(|problem| problem.what.as_str()).collect();
        assert_eq!(said, ["water does not weigh 8.33 g/mL", "there are two tables with the id 'own'"]);
    }
}
