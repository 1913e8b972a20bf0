//! A CSV file of readings, of the car and of one or more cards: columns `sample`, `angle`, `L`, `a`, `b`, a row each for a
//! sample at an angle.

use super::measured::{AtAngle, Measured, parse_angle, parse_number};
use crate::catalogue::import::{Sheet, SheetRow};
use crate::units::Decimal;
use std::collections::BTreeMap;
use thiserror::Error;

/// What is wrong with a file of readings.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum TableError {
    /// It cannot be read at all.
    #[error("{0}")]
    File(String),
    /// A row as a whole.
    #[error("line {line}: {problem}")]
    Row {
        /// Which line, from 1.
        line: u64,
        /// What is wrong.
        problem: String,
    },
    /// One cell of it.
    #[error("line {line}, column {column}: {problem}")]
    Cell {
        /// Which line, from 1.
        line: u64,
        /// The column's name.
        column: &'static str,
        /// What is wrong.
        problem: String,
    },
}

/// The readings of one card.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CardReadings {
    /// Its number.
    pub card: u32,
    /// The first line of the file it stands in, from 1.
    pub line: u64,
    /// What was measured of it and of the car, by angle.
    pub measured: Vec<AtAngle>,
}

/// The readings of a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// The cards, by their numbers.
    pub cards: Vec<CardReadings>,
    /// Angles at which the car was measured and no card.
    pub unused: Vec<i16>,
}

const COLUMNS: [&str; 5] = ["sample", "angle", "L", "a", "b"];

/// What was measured: the car, or a card by its number.
type Sample = Option<u32>;

/// Reads the file's bytes. Cells may be divided by commas, semicolons or tabs; other columns are passed over.
///
/// # Errors
/// All that is wrong with it, by line and column.
pub fn read_table(bytes: &[u8]) -> Result<Table, Vec<TableError>> {
    let sheet = Sheet::read(bytes).map_err(|problem| vec![TableError::File(problem)])?;
    let place = |name: &str| sheet.header.iter().position(|title| title.trim().eq_ignore_ascii_case(name));
    let mut places = [0; COLUMNS.len()];
    for (name, found) in COLUMNS.iter().zip(&mut places) {
        let Some(place) = place(name) else {
            return Err(vec![TableError::File(format!(
                "there is no column '{name}': the first row has to name the columns {}",
                COLUMNS.join(", ")
            ))]);
        };
        *found = place;
    }
    let mut wrong = Vec::new();
    let mut read: BTreeMap<(Sample, i16), (u64, Measured)> = BTreeMap::new();
    for row in &sheet.rows {
        match read_row(row, places) {
            Ok((sample, angle, measured)) => {
                if let Some((first, _)) = read.get(&(sample, angle)) {
                    let problem = format!("{} at {angle}° stands in line {first} already", name(sample));
                    wrong.push(TableError::Row { line: row.line, problem });
                } else {
                    read.insert((sample, angle), (row.line, measured));
                }
            }
            Err(error) => wrong.push(error),
        }
    }
    let mut table = Table::default();
    let mut is_used = BTreeMap::new();
    for ((sample, angle), (line, measured)) in &read {
        let Some(card) = sample else {
            is_used.entry(*angle).or_insert(false);
            continue;
        };
        let Some((_, car)) = read.get(&(None, *angle)) else {
            let problem =
                format!("the car was not measured at {angle}°: there is nothing to hold card {card} against");
            wrong.push(TableError::Row { line: *line, problem });
            continue;
        };
        is_used.insert(*angle, true);
        let at = AtAngle { angle: *angle, car: *car, card: *measured };
        match table.cards.last_mut().filter(|readings| readings.card == *card) {
            Some(readings) => {
                readings.line = readings.line.min(*line);
                readings.measured.push(at);
            }
            None => table.cards.push(CardReadings { card: *card, line: *line, measured: vec![at] }),
        }
    }
    if wrong.is_empty() && table.cards.is_empty() {
        wrong.push(TableError::File(
            "no card was measured: a row with the card's number as its sample was expected".to_owned(),
        ));
    }
    table.unused = is_used.into_iter().filter(|(_, is_used)| !is_used).map(|(angle, _)| angle).collect();
    if wrong.is_empty() { Ok(table) } else { Err(wrong) }
}

fn name(sample: Sample) -> String {
    sample.map_or_else(|| "the car".to_owned(), |card| format!("card {card}"))
}

fn read_row(row: &SheetRow, places: [usize; 5]) -> Result<(Sample, i16, Measured), TableError> {
    let [sample, angle, l, a, b] = COLUMNS;
    let [at_sample, at_angle, at_l, at_a, at_b] = places;
    let text = |place: usize| row.cells.get(place).map_or("", |cell| cell.trim());
    let wrong = |column, problem| TableError::Cell { line: row.line, column, problem };
    let sample = read_sample(text(at_sample)).map_err(|problem| wrong(sample, problem))?;
    let angle = parse_angle(text(at_angle)).map_err(|problem| wrong(angle, problem))?;
    let number = |column, place: usize| parse_number(text(place)).map_err(|problem| wrong(column, problem));
    let measured = Measured { l: number(l, at_l)?, a: number(a, at_a)?, b: number(b, at_b)? };
    // Each number alone, so that it is the right one that is named.
    let zero = Measured { l: Decimal::ZERO, a: Decimal::ZERO, b: Decimal::ZERO };
    for (column, one) in [
        (l, Measured { l: measured.l, ..zero }),
        (a, Measured { a: measured.a, ..zero }),
        (b, Measured { b: measured.b, ..zero }),
    ] {
        one.sound().map_err(|problem| wrong(column, problem))?;
    }
    Ok((sample, angle, measured))
}

fn read_sample(text: &str) -> Result<Sample, String> {
    let lower = text.to_lowercase();
    if lower == "car" {
        return Ok(None);
    }
    let number = lower.strip_prefix("card").unwrap_or(&lower).trim().parse().ok().filter(|card| *card > 0);
    number.map(Some).ok_or_else(|| format!("'{text}' is neither car nor the number of a card"))
}
