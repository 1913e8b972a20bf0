//! Figures as a table, before it is known what shows it: a terminal, a spreadsheet or a page.

use super::Shown;
use crate::units::cell::csv_text;
use crate::units::{Grams, Money, Share, clean};

/// What stands in one place of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// How many.
    Count(u32),
    /// A mass.
    Mass(Grams),
    /// An amount of money.
    Money(Money),
    /// A share; none where there is nothing that it could be of.
    Share(Option<Share>),
}

impl Cell {
    /// Words, whatever was in them.
    pub fn text(text: &str) -> Self {
        Self::Text(clean(text))
    }

    /// As a person reads it.
    pub fn shown(&self, shown: Shown) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Count(count) => count.to_string(),
            Self::Mass(mass) => shown.mass(*mass),
            Self::Money(money) => shown.money(*money),
            Self::Share(share) => share.map_or_else(|| "-".to_owned(), |share| shown.percent(share)),
        }
    }

    /// As a program reads it: grams and the currency to the book's last decimal, with a point; a share as a fraction.
    pub fn plain(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Count(count) => count.to_string(),
            Self::Mass(mass) => mass.with_decimals(6),
            Self::Money(money) => money.with_decimals(6),
            Self::Share(share) => share.map(|share| share.rounded(6).to_string()).unwrap_or_default(),
        }
    }

    /// As a cell of a CSV file.
    fn csv(&self) -> String {
        match self {
            Self::Text(text) => csv_text(text),
            number => number.plain(),
        }
    }

    /// Whether it says nothing: no mass, no money, no word.
    pub fn is_zero(&self) -> bool {
        match self {
            Self::Mass(mass) => mass.is_zero(),
            Self::Money(money) => money.is_zero(),
            Self::Count(count) => *count == 0,
            Self::Text(text) => text.is_empty(),
            Self::Share(share) => share.is_none(),
        }
    }
}

/// A column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name in files, with the unit.
    pub name: &'static str,
    /// What stands above it.
    pub title: &'static str,
    /// Whether a terminal has room for it.
    pub is_brief: bool,
}

impl Column {
    /// A column that is shown everywhere.
    pub const fn new(name: &'static str, title: &'static str) -> Self {
        Self { name, title, is_brief: true }
    }

    /// A column of files and pages only.
    pub const fn wide(name: &'static str, title: &'static str) -> Self {
        Self { name, title, is_brief: false }
    }
}

/// A table.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// What it is of.
    pub title: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, each as long as the columns are many.
    pub rows: Vec<Vec<Cell>>,
    /// All rows together.
    pub total: Option<Vec<Cell>>,
    /// What has to be said below it, a sentence each.
    pub notes: Vec<String>,
}

impl Table {
    /// As CSV (RFC 4180), the names of the columns first; without the total, so that who adds up does not count twice.
    pub fn csv(&self) -> String {
        let mut text = String::new();
        let names = self.columns.iter().map(|column| column.name.to_owned()).collect();
        for row in
            std::iter::once(names).chain(self.rows.iter().map(|row| row.iter().map(Cell::csv).collect()))
        {
            let row: Vec<String> = row;
            text.push_str(&row.join(","));
            text.push_str("\r\n");
        }
        text
    }

    /// Whether there is something in a column.
    pub fn says(&self, place: usize) -> bool {
        self.rows.iter().chain(&self.total).filter_map(|row| row.get(place)).any(|cell| !cell.is_zero())
    }

    /// The places of the columns that a terminal shows: those with room, in which there is something.
    pub fn brief(&self) -> Vec<usize> {
        let columns = self.columns.iter().enumerate();
        columns
            .filter(|(place, column)| column.is_brief && self.says(*place))
            .map(|(place, _)| place)
            .collect()
    }

    /// Whether the cells of a column are masses.
    pub fn is_mass(&self, place: usize) -> bool {
        self.rows.iter().chain(&self.total).any(|row| matches!(row.get(place), Some(Cell::Mass(_))))
    }

    /// Whether the cells of a column are words.
    pub fn is_words(&self, place: usize) -> bool {
        self.rows.iter().chain(&self.total).any(|row| matches!(row.get(place), Some(Cell::Text(_))))
    }
}
