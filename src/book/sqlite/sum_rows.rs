//! The sums of what mixes tell, as they are asked for.

use super::sums::{from_json, many, told};
use crate::book::mix_sums::{
    self, COLUMNS, ChoiceRow, FIRST_NUMBERS, ManyPours, MarkKey, MixSums, NUMBERS, Sum, SumKey, SumRow,
    UseRow, UseSum,
};
use crate::book::spans::{Hours, Span};
use crate::catalogue::TonerCode;
use crate::mix::Way;
use crate::units::Stamp;
use rusqlite::{Connection, Row};
use std::collections::BTreeSet;
use std::sync::LazyLock;

/// The sums of those spans, told apart, each key once.
pub(super) fn rows(
    connection: &Connection,
    apart: mix_sums::Apart,
    span: Span,
    hours: &Hours,
) -> rusqlite::Result<Vec<SumRow>> {
    // Those of all mixes have one key: to group them would cost more than to add them up.
    let sql = if apart == mix_sums::Apart::All { &ONE_ROW } else { &ROWS };
    let mut query = connection.prepare_cached(sql)?;
    let values = (span.word(), apart.word(), hours.start, hours.end);
    query
        .query_map(values, |row| Ok(SumRow { key: row.get(0)?, more: row.get(1)?, sum: sum(row, 2)? }))?
        .collect()
}

/// By the table's own key.
pub(super) static ROWS: LazyLock<String> = LazyLock::new(|| of_sums("key, more", "GROUP BY key, more"));

/// By the table's own key; no row where there are none.
pub(super) static ONE_ROW: LazyLock<String> =
    LazyLock::new(|| of_sums("min(key), min(more)", "HAVING count(*) > 0"));

fn of_sums(key: &str, rest: &str) -> String {
    let sums: Vec<String> = COLUMNS.iter().map(|name| format!("sum({name})")).collect();
    format!(
        "SELECT {key}, {} FROM mix_sums WHERE span = ?1 AND apart = ?2 AND first >= ?3 AND first < ?4 {rest}",
        sums.join(", ")
    )
}

/// By the table's own key. The last value has a bit for each time of the day.
pub(super) static EACH: LazyLock<String> = LazyLock::new(|| {
    let columns: Vec<&str> = COLUMNS.into_iter().take(FIRST_NUMBERS).collect();
    format!(
        "SELECT first, {} FROM mix_sums WHERE span = ?1 AND apart = 'all' AND first >= ?2 AND first < ?3
             AND (?4 >> ((first % 24 + 24) % 24)) & 1 ORDER BY first",
        columns.join(", ")
    )
});

/// How many mixes there were and what became of their paint, span by span; only those spans that begin at those times of the
/// day, or all if there are none.
pub(super) fn each(
    connection: &Connection,
    span: Span,
    hours: &Hours,
    of_day: &[u8],
) -> rusqlite::Result<Vec<(i64, Sum)>> {
    let bits = of_day.iter().filter(|hour| **hour < 24).fold(0_i64, |bits, hour| bits | (1_i64 << hour));
    let bits = if of_day.is_empty() { -1 } else { bits };
    let mut query = connection.prepare_cached(&EACH)?;
    query
        .query_map((span.word(), hours.start, hours.end, bits), |row| {
            Ok((row.get(0)?, first_of_sum(row, 1, FIRST_NUMBERS)?))
        })?
        .collect()
}

/// By the table's own key.
pub(super) const USES: &str = "
    SELECT key, more, toner, sum(poured), sum(reused) FROM use_sums
    WHERE span = ?1 AND apart = ?2 AND first >= ?3 AND first < ?4 GROUP BY key, more, toner";

/// What those mixes were poured from, told apart, each key and toner once.
pub(super) fn uses(
    connection: &Connection,
    apart: mix_sums::Apart,
    span: Span,
    hours: &Hours,
) -> rusqlite::Result<Vec<UseRow>> {
    let mut query = connection.prepare_cached(USES)?;
    let values = (span.word(), apart.word(), hours.start, hours.end);
    query
        .query_map(values, |row| {
            Ok(UseRow {
                key: row.get(0)?,
                more: row.get(1)?,
                toner: TonerCode::new(row.get::<_, String>(2)?),
                uses: UseSum { poured: row.get(3)?, reused: row.get(4)? },
            })
        })?
        .collect()
}

fn sum(row: &Row<'_>, from: usize) -> rusqlite::Result<Sum> {
    first_of_sum(row, from, NUMBERS)
}

/// So many of a sum's numbers, the others nothing.
fn first_of_sum(row: &Row<'_>, from: usize, many: usize) -> rusqlite::Result<Sum> {
    let mut numbers = [0_i64; NUMBERS];
    for (number, place) in numbers.iter_mut().take(many).zip(from..) {
        *number = row.get(place)?;
    }
    Ok(Sum::of(numbers))
}

/// By the table's own key.
pub(super) const POURS: &str = "
    SELECT toner, name, number, pours, over, above, worst FROM pour_sums
    WHERE span = ?1 AND first >= ?2 AND first < ?3";

/// Pours of those spans, a row a span and toner.
pub(super) fn pours(connection: &Connection, span: Span, hours: &Hours) -> rusqlite::Result<Vec<ManyPours>> {
    let mut query = connection.prepare_cached(POURS)?;
    let values = (span.word(), hours.start, hours.end);
    query.query_map(values, |row| many(row, 1, row.get_ref(0)?.as_str()?))?.collect()
}

/// By the table's own key.
pub(super) const CHOICES: &str = "
    SELECT way, choices FROM choice_sums WHERE span = ?1 AND first >= ?2 AND first < ?3";

/// Choices of those spans, a row a span and way.
pub(super) fn choices(
    connection: &Connection,
    span: Span,
    hours: &Hours,
) -> rusqlite::Result<Vec<ChoiceRow>> {
    let mut query = connection.prepare_cached(CHOICES)?;
    let values = (span.word(), hours.start, hours.end);
    query
        .query_map(values, |row| {
            let way: String = row.get(0)?;
            Ok(ChoiceRow { way: way_named(&way), choices: from_json(row, 1)? })
        })?
        .collect()
}

fn way_named(name: &str) -> Option<Way> {
    const ALL: [Way; 6] = [Way::Leave, Way::Smallest, Way::Exact, Way::Fit, Way::DrawOff, Way::Restart];
    ALL.into_iter().find(|way| way.name() == name)
}

/// All of them as they are kept; sums of nothing are left out.
pub(super) fn all(connection: &Connection) -> rusqlite::Result<MixSums> {
    let mut all = MixSums::default();
    let each = |sql: &str, take: &mut dyn FnMut(&Row<'_>) -> rusqlite::Result<()>| {
        let mut query = connection.prepare(sql)?;
        let mut rows = query.query([])?;
        while let Some(row) = rows.next()? {
            take(row)?;
        }
        Ok::<_, rusqlite::Error>(())
    };
    each("SELECT mix, told FROM mix_reads", &mut |row| {
        all.reads.insert(row.get(0)?, told(row, 1)?);
        Ok(())
    })?;
    let sql = format!("SELECT span, apart, first, key, more, {} FROM mix_sums", COLUMNS.join(", "));
    each(&sql, &mut |row| {
        let (Some(span), Some(apart)) = (span_named(row, 0)?, apart_named(row, 1)?) else { return Ok(()) };
        let key = SumKey { span, first: row.get(2)?, apart, key: row.get(3)?, more: row.get(4)? };
        let sum = sum(row, 5)?;
        if sum != Sum::default() {
            all.sums.insert(key, sum);
        }
        Ok(())
    })?;
    let sql = "SELECT span, apart, first, key, more, toner, poured, reused FROM use_sums";
    each(sql, &mut |row| {
        let (Some(span), Some(apart)) = (span_named(row, 0)?, apart_named(row, 1)?) else { return Ok(()) };
        let key = SumKey { span, first: row.get(2)?, apart, key: row.get(3)?, more: row.get(4)? };
        let uses = UseSum { poured: row.get(6)?, reused: row.get(7)? };
        if uses != UseSum::default() {
            all.uses.insert((key, row.get(5)?), uses);
        }
        Ok(())
    })?;
    each("SELECT span, first, toner, name, number, pours, over, above, worst FROM pour_sums", &mut |row| {
        let Some(span) = span_named(row, 0)? else { return Ok(()) };
        let toner: String = row.get(2)?;
        let many = many(row, 3, &toner)?;
        all.pours.insert((span, row.get(1)?, toner), many);
        Ok(())
    })?;
    each("SELECT span, first, way, choices FROM choice_sums", &mut |row| {
        let Some(span) = span_named(row, 0)? else { return Ok(()) };
        all.choices.insert((span, row.get(1)?, row.get(2)?), from_json(row, 3)?);
        Ok(())
    })?;
    Ok(all)
}

/// What went over in mixes, as it is kept.
pub(super) fn marks(connection: &Connection) -> rusqlite::Result<BTreeSet<MarkKey>> {
    let mut query = connection.prepare("SELECT mark, begun, number FROM mix_marks")?;
    query.query_map([], |row| Ok((row.get(0)?, Stamp(row.get(1)?), row.get(2)?)))?.collect()
}

fn span_named(row: &Row<'_>, place: usize) -> rusqlite::Result<Option<Span>> {
    let word = row.get_ref(place)?.as_str()?;
    Ok([Span::Hour, Span::Day, Span::Week, Span::Month].into_iter().find(|span| span.word() == word))
}

fn apart_named(row: &Row<'_>, place: usize) -> rusqlite::Result<Option<mix_sums::Apart>> {
    use mix_sums::Apart;
    let word = row.get_ref(place)?.as_str()?;
    let all = [Apart::All, Apart::Layer, Apart::Painter, Apart::Colour, Apart::Reason];
    Ok(all.into_iter().find(|apart| apart.word() == word))
}
