//! What the columns of a table mean: guessed from their headings, or as somebody says.

use super::super::code::same;
use super::super::word::words;
use super::super::{Toner, Word, nearest::nearest};

words! {
    /// What a column can hold.
    Meaning is "a meaning of a column" {
        /// The colour's code.
        Code = "code",
        /// The colour's name.
        Name = "name",
        /// Its variant.
        Variant = "variant",
        /// Its finish.
        Finish = "finish",
        /// How it looks.
        Swatch = "swatch",
        /// Since when it is retired.
        Retired = "retired",
        /// Why.
        RetiredBecause = "retired-because",
        /// The layer's role.
        Layer = "layer",
        /// The toner's code.
        Toner = "toner",
        /// The parts by mass.
        Parts = "parts",
    }
}

impl Meaning {
    /// Headings that mean it, in small letters without marks.
    const fn headings(self) -> &'static [&'static str] {
        match self {
            Self::Code => &[
                "code",
                "colour code",
                "color code",
                "paint code",
                "formula code",
                "formula",
                "colour",
                "color",
            ],
            Self::Name => {
                &["name", "colour name", "color name", "formula name", "description", "colour", "color"]
            }
            Self::Variant => &["variant", "shade", "alternate"],
            Self::Finish => &["finish", "type", "system"],
            Self::Swatch => &["swatch", "rgb", "hex"],
            Self::Retired => &["retired", "retired on", "discontinued"],
            Self::RetiredBecause => &["retired because", "reason", "why"],
            Self::Layer => &["layer", "coat", "role", "stage"],
            Self::Toner => {
                &["toner", "toner code", "tinter", "tint", "component", "ingredient", "basecolour", "item"]
            }
            Self::Parts => &[
                "parts",
                "parts by mass",
                "parts by weight",
                "part",
                "g",
                "gram",
                "grams",
                "weight",
                "mass",
                "amount",
                "quantity",
                "qty",
                "cumulative",
                "running total",
            ],
        }
    }
}

/// What one column is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Column {
    /// A field of its own.
    Field(Meaning),
    /// The parts of that toner: a table with a row a layer.
    PartsOf(String),
    /// Nothing that is read.
    Unused,
}

/// The columns of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Columns {
    /// One for each heading.
    pub columns: Vec<Column>,
    /// Whether the heading of the parts says that they are running totals.
    pub headed_cumulative: bool,
    /// Whether the heading of the parts says that they are parts, and so each its own.
    pub headed_parts: bool,
}

impl Columns {
    /// Guesses, but for what somebody said: pairs of a meaning's word and a column's number, from 1, or heading.
    ///
    /// # Errors
    /// Everything that was said and cannot be, and what must be there and is not: sentences.
    pub fn of(header: &[String], toners: &[Toner], said: &[(String, String)]) -> Result<Self, Vec<String>> {
        let mut columns = vec![Column::Unused; header.len()];
        let mut wrong = Vec::new();
        let mut fixed: Vec<Meaning> = Vec::new();
        for (meaning, column) in said {
            match (Meaning::from_word(meaning), place(header, column)) {
                (Some(meaning), Some(at)) => {
                    if let Some(column) = columns.get_mut(at) {
                        *column = Column::Field(meaning);
                    }
                    fixed.push(meaning);
                }
                (meaning_read, at) => {
                    if meaning_read.is_none() {
                        let all: Vec<_> = Meaning::ALL.iter().map(|one| one.word()).collect();
                        wrong.push(unknown("what a column can be", meaning, &all));
                    }
                    if at.is_none() {
                        let all: Vec<_> = header.iter().map(String::as_str).collect();
                        wrong.push(unknown("the number or heading of a column", column, &all));
                    }
                }
            }
        }
        for &meaning in Meaning::ALL.iter().filter(|meaning| !fixed.contains(meaning)) {
            let fits = |words: &'static str| {
                header
                    .iter()
                    .zip(&columns)
                    .position(|(heading, column)| *column == Column::Unused && loose(heading) == words)
            };
            if let Some(at) = meaning.headings().iter().find_map(|words| fits(words))
                && let Some(column) = columns.get_mut(at)
            {
                *column = Column::Field(meaning);
            }
        }
        // A toner's code over a column, and no column of toners: a row a layer.
        if !columns.contains(&Column::Field(Meaning::Toner)) {
            for (heading, column) in header.iter().zip(&mut columns) {
                let toner = toners.iter().find(|toner| same(toner.code.as_str(), heading));
                if let (Column::Unused, Some(toner)) = (&*column, toner) {
                    *column = Column::PartsOf(toner.code.as_str().to_owned());
                }
            }
        }
        let parts = columns.iter().position(|column| *column == Column::Field(Meaning::Parts));
        let heading =
            parts.and_then(|at| header.get(at)).map(|heading| heading.to_lowercase()).unwrap_or_default();
        let headed_cumulative = ["cumul", "running", "total"].iter().any(|word| heading.contains(word));
        let columns = Self { columns, headed_cumulative, headed_parts: heading.contains("part") };
        for meaning in columns.missing() {
            let headings: Vec<_> = header.iter().map(|heading| format!("'{heading}'")).collect();
            wrong.push(format!(
                "No column is headed like a {meaning}. Say which it is, like --column {meaning}=3 or --column {meaning}=HEADING; the headings are {}.",
                headings.join(", ")
            ));
        }
        if wrong.is_empty() { Ok(columns) } else { Err(wrong) }
    }

    /// Which column has that meaning.
    pub fn of_meaning(&self, meaning: Meaning) -> Option<usize> {
        self.columns.iter().position(|column| *column == Column::Field(meaning))
    }

    /// Whether each row is a layer, with a column a toner.
    pub fn is_wide(&self) -> bool {
        self.columns.iter().any(|column| matches!(column, Column::PartsOf(_)))
    }

    fn missing(&self) -> Vec<Meaning> {
        let mut needed = vec![Meaning::Code];
        if !self.is_wide() {
            needed.extend([Meaning::Toner, Meaning::Parts]);
        }
        needed.retain(|meaning| self.of_meaning(*meaning).is_none());
        needed
    }
}

fn unknown(noun: &str, said: &str, all: &[&str]) -> String {
    let hint = match nearest(said, all.iter().copied()) {
        Some(near) => format!("Did you mean '{near}'?"),
        None => format!("It can be {}.", all.join(", ")),
    };
    format!("'{}' is not {noun}. {hint}", crate::units::clean(said))
}

/// The column of that number or heading.
fn place(header: &[String], said: &str) -> Option<usize> {
    let number = said.trim().parse::<usize>().ok().and_then(|number| number.checked_sub(1));
    number
        .filter(|at| *at < header.len())
        .or_else(|| header.iter().position(|heading| loose(heading) == loose(said)))
}

/// A heading in small letters, without a unit in brackets, marks as blanks: `Parts (by_mass) [g]` is `parts`.
fn loose(heading: &str) -> String {
    let bare = heading.split(['(', '[']).next().filter(|bare| !bare.trim().is_empty()).unwrap_or(heading);
    let letters = bare.to_lowercase().replace(|c: char| !c.is_alphanumeric(), " ");
    let words: Vec<_> = letters.split_whitespace().collect();
    match words.as_slice() {
        // `g cumulative`, `amount g`: the unit says nothing more
        [first, rest @ ..] if *first == "g" && !rest.is_empty() => rest.join(" "),
        [rest @ .., last] if *last == "g" && !rest.is_empty() => rest.join(" "),
        words => words.join(" "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    fn of(header: &str, said: &[(&str, &str)]) -> Result<Columns, Vec<String>> {
        let header: Vec<_> = header.split(',').map(str::to_owned).collect();
        let said: Vec<_> = said.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
        Columns::of(&header, &Catalogue::demo().toners, &said)
    }

    fn words(columns: &Columns) -> Vec<String> {
        let word = |column: &Column| match column {
            Column::Field(meaning) => meaning.to_string(),
            Column::PartsOf(toner) => format!("={toner}"),
            Column::Unused => String::new(),
        };
        columns.columns.iter().map(word).collect()
    }

    #[test]
    fn headings_are_understood_by_their_words() {
        let columns = of("Paint code,Tinter,Weight (g),Color-Name,price", &[]).unwrap();
        assert_eq!(words(&columns), ["code", "toner", "parts", "name", ""]);
        let columns = of("FORMULA,Component,g cumulative", &[]).unwrap();
        assert_eq!(words(&columns), ["code", "toner", "parts"]);
        assert!(columns.headed_cumulative && !columns.headed_parts);
        let columns = of("code,layer,w10,K05,X99", &[]).unwrap();
        assert_eq!(words(&columns), ["code", "layer", "=W10", "=K05", ""]);
        assert!(columns.is_wide());
    }

    #[test]
    fn what_is_said_goes_before_what_is_guessed() {
        let columns = of("a,toner,g,amount", &[("code", "1"), ("parts", "Amount")]).unwrap();
        assert_eq!(words(&columns), ["code", "toner", "", "parts"]);
    }

    #[test]
    fn all_that_is_wrong_is_said_at_once() {
        let wrong = of("a,toner,x", &[("cod", "1"), ("parts", "9")]).unwrap_err();
        assert_eq!(wrong.len(), 4, "{wrong:?}");
        assert!(wrong[0].contains("Did you mean 'code'?"));
        assert!(wrong[1].contains("'9' is not the number or heading"));
        assert!(wrong[2].contains("--column code=3"));
    }
}
