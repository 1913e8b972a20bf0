//! Reading the book: rows become what they stand for.

use crate::book::{
    About, Account, Balance, Envelope, EventId, MixId, MixSummary, Outcome, Posting, StoreError,
};
use crate::catalogue::TonerCode;
use crate::units::Stamp;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use rusqlite::{Connection, OptionalExtension, Row};
use serde::Deserialize;
use std::path::Path;

macro_rules! as_text {
    ($name:ident) => {
        impl ToSql for $name {
            fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
                Ok(self.to_string().into())
            }
        }
        impl FromSql for $name {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
                $name::parse(value.as_str()?).ok_or(FromSqlError::InvalidType)
            }
        }
    };
}
as_text!(EventId);
as_text!(MixId);

const EVENT: &str = "SELECT position, id, at, bench, operator, subject, sequence, kind, body FROM events";

/// The event with that identity.
pub(super) fn event(connection: &Connection, id: EventId) -> rusqlite::Result<Option<Envelope>> {
    let mut query = connection.prepare_cached(&format!("{EVENT} WHERE id = ?1"))?;
    let Some((position, mut envelope)) = query.query_row([id], envelope).optional()? else { return Ok(None) };
    envelope.postings = postings(connection, position)?;
    Ok(Some(envelope))
}

/// The events of a mix, in their order.
pub(super) fn events(connection: &Connection, mix: MixId) -> rusqlite::Result<Vec<Envelope>> {
    let mut query = connection.prepare_cached(&format!("{EVENT} WHERE subject = ?1 ORDER BY sequence"))?;
    let found = query.query_map([mix], envelope)?.collect::<Result<_, _>>()?;
    whole(connection, found)
}

/// Every event of the book in the order they were written, one at a time.
pub(super) fn each<E>(
    connection: &Connection,
    mut take: impl FnMut(Envelope) -> Result<(), E>,
) -> rusqlite::Result<Result<(), E>> {
    let mut query = connection.prepare_cached(&format!("{EVENT} ORDER BY position"))?;
    let mut rows = query.query([])?;
    while let Some(row) = rows.next()? {
        let (position, mut envelope) = envelope(row)?;
        envelope.postings = postings(connection, position)?;
        if let Err(error) = take(envelope) {
            return Ok(Err(error));
        }
    }
    Ok(Ok(()))
}

/// The last events of a kind that name that scale, the newest first.
pub(super) fn of_scale(
    connection: &Connection,
    kind: &str,
    scale: &str,
    most: u32,
) -> rusqlite::Result<Vec<Envelope>> {
    let mut query = connection.prepare_cached(&format!("{EVENT} {OF_SCALE}"))?;
    let found = query.query_map((kind, scale, most), envelope)?.collect::<Result<_, _>>()?;
    whole(connection, found)
}

/// The words are those of the index, or it is not used.
pub(super) const OF_SCALE: &str = "
    WHERE kind = ?1 AND json_extract(body, '$.scale') = ?2 AND kind IN ('scale/checked', 'scale/repeatability')
    ORDER BY position DESC LIMIT ?3";

/// Every event of a scale, the oldest first.
pub(super) fn scale_events(connection: &Connection) -> rusqlite::Result<Vec<Envelope>> {
    let mut query =
        connection.prepare_cached(&format!("{EVENT} WHERE kind GLOB 'scale/*' ORDER BY position"))?;
    let found = query.query_map([], envelope)?.collect::<Result<_, _>>()?;
    whole(connection, found)
}

/// The events that call a lot back, the oldest first.
pub(super) fn recalls(connection: &Connection) -> rusqlite::Result<Vec<Envelope>> {
    let mut query = connection.prepare_cached(RECALLS)?;
    let found = query.query_map([], envelope)?.collect::<Result<_, _>>()?;
    whole(connection, found)
}

/// The words are those of the index.
pub(super) const RECALLS: &str = "
    SELECT position, id, at, bench, operator, subject, sequence, kind, body FROM events
    WHERE kind = 'lot/recalled' ORDER BY position";

/// Those events with their postings.
fn whole(connection: &Connection, found: Vec<(i64, Envelope)>) -> rusqlite::Result<Vec<Envelope>> {
    found
        .into_iter()
        .map(|(position, mut envelope)| {
            envelope.postings = postings(connection, position)?;
            Ok(envelope)
        })
        .collect()
}

/// An event's place in the file, and the event without its postings.
fn envelope(row: &Row<'_>) -> rusqlite::Result<(i64, Envelope)> {
    let envelope = Envelope {
        id: row.get(1)?,
        at: Stamp(row.get(2)?),
        bench: row.get(3)?,
        operator: row.get(4)?,
        subject: row.get(5)?,
        sequence: row.get(6)?,
        kind: row.get(7)?,
        body: row.get(8)?,
        postings: Vec::new(),
    };
    Ok((row.get(0)?, envelope))
}

fn postings(connection: &Connection, position: i64) -> rusqlite::Result<Vec<Posting>> {
    let sql = "SELECT account, toner, micrograms FROM postings WHERE event = ?1 ORDER BY place";
    let mut query = connection.prepare_cached(sql)?;
    let posting = |row: &Row<'_>| {
        Ok(Posting {
            account: Account::parse(row.get_ref(0)?.as_str()?),
            toner: TonerCode::new(row.get::<_, String>(1)?),
            micrograms: row.get(2)?,
        })
    };
    query.query_map([position], posting)?.collect()
}

const SUMMARY: &str = "
    SELECT first.subject, numbered.number, first.body, first.at, first.operator, last.at, last.kind,
           last.sequence + 1, ending.kind
    FROM (SELECT position, row_number() OVER (ORDER BY position) AS number
          FROM events WHERE kind = 'mix/started') AS numbered
    JOIN events AS first ON first.position = numbered.position
    JOIN events AS last ON last.subject = first.subject
        AND last.sequence = (SELECT max(sequence) FROM events WHERE subject = first.subject)
    LEFT JOIN events AS ending ON ending.subject = first.subject
        AND ending.kind IN ('mix/finished', 'mix/abandoned')";

/// Every mix, in the order they were begun.
pub(super) fn mixes(connection: &Connection) -> rusqlite::Result<Vec<MixSummary>> {
    let sql = format!("{SUMMARY} ORDER BY numbered.number");
    connection.prepare_cached(&sql)?.query_map([], summary)?.collect()
}

/// The mixes that have no ending, in the order they were begun.
pub(super) fn unfinished(connection: &Connection) -> rusqlite::Result<Vec<MixSummary>> {
    let sql = format!("{SUMMARY} WHERE ending.id IS NULL ORDER BY numbered.number");
    connection.prepare_cached(&sql)?.query_map([], summary)?.collect()
}

/// How many mixes were begun.
pub(super) fn begun(connection: &Connection) -> rusqlite::Result<u32> {
    let sql = "SELECT count(*) FROM events WHERE kind = 'mix/started'";
    connection.prepare_cached(sql)?.query_row([], |row| row.get(0))
}

fn summary(row: &Row<'_>) -> rusqlite::Result<MixSummary> {
    #[derive(Deserialize)]
    struct Begun {
        recipe: About,
    }
    let outcome = match row.get::<_, Option<String>>(8)?.as_deref() {
        None => Outcome::Unfinished,
        Some("mix/finished") => Outcome::Finished,
        Some(_) => Outcome::Abandoned,
    };
    Ok(MixSummary {
        mix: row.get(0)?,
        number: row.get(1)?,
        // A body that cannot be read must not hide the mix: `check` names it.
        about: serde_json::from_str::<Begun>(row.get_ref(2)?.as_str()?).ok().map(|begun| begun.recipe),
        begun: Stamp(row.get(3)?),
        operator: row.get(4)?,
        last: Stamp(row.get(5)?),
        last_kind: row.get(6)?,
        events: row.get(7)?,
        outcome,
    })
}

/// What each account holds of each toner, where that is not nothing.
pub(super) fn balances(connection: &Connection, kept: bool) -> rusqlite::Result<Vec<Balance>> {
    if kept {
        let sql =
            "SELECT account, toner, micrograms FROM balances WHERE micrograms <> 0 ORDER BY account, toner";
        return connection.prepare_cached(sql)?.query_map([], balance)?.collect();
    }
    let sql = "
        SELECT account, toner, sum(micrograms) FROM postings
        GROUP BY account, toner HAVING sum(micrograms) <> 0 ORDER BY account, toner";
    connection.prepare_cached(sql)?.query_map([], balance)?.collect()
}

/// What that account holds of each toner, where that is not nothing.
pub(super) fn balances_of(
    connection: &Connection,
    kept: bool,
    account: &Account,
) -> rusqlite::Result<Vec<Balance>> {
    if kept {
        let sql = "
            SELECT account, toner, micrograms FROM balances
            WHERE account = ?1 AND micrograms <> 0 ORDER BY toner";
        return connection.prepare_cached(sql)?.query_map([account.to_string()], balance)?.collect();
    }
    let sql = "
        SELECT account, toner, sum(micrograms) FROM postings WHERE account = ?1
        GROUP BY toner HAVING sum(micrograms) <> 0 ORDER BY toner";
    connection.prepare_cached(sql)?.query_map([account.to_string()], balance)?.collect()
}

pub(super) fn balance(row: &Row<'_>) -> rusqlite::Result<Balance> {
    Ok(Balance {
        account: Account::parse(row.get_ref(0)?.as_str()?),
        toner: TonerCode::new(row.get::<_, String>(1)?),
        micrograms: row.get(2)?,
    })
}

/// What SQLite finds wrong with the file, a line each.
pub(super) fn faults(connection: &Connection, path: &Path) -> Result<Vec<String>, StoreError> {
    let said = |error: rusqlite::Error| super::fault::words(path, &error);
    let mut lines = Vec::new();
    let mut query = connection.prepare("PRAGMA integrity_check").map_err(said)?;
    for line in query.query_map([], |row| row.get::<_, String>(0)).map_err(said)? {
        let line = line.map_err(said)?;
        if line != "ok" {
            lines.push(crate::units::clean(&line));
        }
    }
    let mut query = connection.prepare("PRAGMA foreign_key_check").map_err(said)?;
    let orphans = query.query_map([], |row| row.get::<_, String>(0)).map_err(said)?;
    for table in orphans {
        lines.push(format!("a row of {} belongs to no event", table.map_err(said)?));
    }
    Ok(lines)
}
