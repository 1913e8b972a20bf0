//! Answers from the figures that are kept, and from the journal by its indexes.

#[cfg(test)]
mod tests;

use super::{SqliteStore, behind, kept, migrations, read, sum_rows, sums};
use crate::book::figures::{JobRow, TinRow, recipe_of};
use crate::book::mix_sums::{Apart, ChoiceRow, ManyPours, Sum, SumRow, UseRow};
use crate::book::reading::MixRead;
use crate::book::spans::{Hours, Span, Times};
use crate::book::{
    Account, Balance, Behind, Daily, Envelope, Flows, Having, JobId, JobMix, JobsOf, Ledger, Loose,
    LooseKind, MixId, MixTotals, MixesOf, Moved, StoreError, TinsOf, Told, USES, UsedRow,
};
use crate::catalogue::{Role, TonerCode};
use crate::units::{Decimal, Grams, Millilitres, Money, Stamp};
use rusqlite::{Connection, Params, Row};

impl SqliteStore {
    /// Asks the figures; an older layout that is only looked at has none.
    fn ask<T>(&self, question: impl FnOnce(&Connection) -> rusqlite::Result<T>) -> Result<T, StoreError> {
        if !self.keeps.figures() {
            return Err(self.older());
        }
        question(&self.connection).map_err(|e| self.said(&e))
    }

    /// The same of what is kept of jobs.
    fn ask_jobs<T>(
        &self,
        question: impl FnOnce(&Connection) -> rusqlite::Result<T>,
    ) -> Result<T, StoreError> {
        if self.keeps.jobs() { self.ask(question) } else { Err(self.older()) }
    }

    /// The same of the sums.
    fn ask_sums<T>(
        &self,
        question: impl FnOnce(&Connection) -> rusqlite::Result<T>,
    ) -> Result<T, StoreError> {
        if self.keeps.sums() { self.ask(question) } else { Err(self.older()) }
    }

    /// The same of a day's uses and of marks.
    fn ask_found<T>(
        &self,
        question: impl FnOnce(&Connection) -> rusqlite::Result<T>,
    ) -> Result<T, StoreError> {
        if self.keeps.found() { self.ask(question) } else { Err(self.older()) }
    }

    fn older(&self) -> StoreError {
        match migrations::version(&self.connection) {
            Ok(found) => StoreError::Older { path: self.path.clone(), found, known: migrations::latest() },
            Err(error) => self.said(&error),
        }
    }
}

pub(super) fn all<T>(
    connection: &Connection,
    sql: &str,
    values: impl Params,
    read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
) -> rusqlite::Result<Vec<T>> {
    connection.prepare_cached(sql)?.query_map(values, read)?.collect()
}

fn grams(row: &Row<'_>, place: usize) -> rusqlite::Result<Grams> {
    Ok(Grams::from_micrograms(row.get(place)?))
}

/// What a mix came to; what [`TOTALS`] selects.
fn totals(row: &Row<'_>) -> rusqlite::Result<MixTotals> {
    Ok(MixTotals {
        mix: row.get(0)?,
        flows: Flows {
            poured: grams(row, 1)?,
            reused: grams(row, 2)?,
            drawn_off: grams(row, 3)?,
            sprayed: grams(row, 4)?,
            kept: grams(row, 5)?,
            thrown: grams(row, 6)?,
            abandoned: grams(row, 7)?,
        },
        cost: Money::new(Decimal::new(row.get(8)?, 6)),
        unpriced: grams(row, 9)?,
        head: kept::head(row, 10)?,
    })
}

/// The columns [`totals`] reads, without what comes after.
fn totals_where(rest: &str) -> String {
    format!("{} ORDER BY number", totals_and("", rest))
}

/// The same and what each mix tells, in the last place; in no order.
pub(super) fn told_where(rest: &str) -> String {
    totals_and(", told", rest)
}

/// What [`told_where`] selects.
pub(super) fn both(row: &Row<'_>) -> rusqlite::Result<(MixTotals, MixRead)> {
    Ok((totals(row)?, sums::told(row, TOLD)?))
}

const TOLD: usize = 21;

fn totals_and(more: &str, rest: &str) -> String {
    let head = kept::HEAD;
    format!(
        "SELECT mix, poured, reused, drawn_off, sprayed, kept, thrown, abandoned, cost_millionths, unpriced, {head}{more}
         FROM mix_totals WHERE {rest}"
    )
}

const BEGUN: &str = "begun >= ?1 AND begun < ?2";

impl Told {
    fn rest(self) -> String {
        let more = match self {
            Self::All => "",
            Self::Ended => " AND outcome IS NOT NULL",
            Self::Open => " AND outcome IS NULL",
        };
        format!("{BEGUN}{more}")
    }
}

/// The mixes that are done and whose cups are not emptied, of an index that has no others.
const IN_CUPS: &str = "
    number IN (SELECT number FROM mix_heads WHERE outcome = 'mix/finished' AND emptied IS NULL AND begun >= ?1
        ORDER BY begun DESC LIMIT ?2)";

const MOVED_BY: &str = "
    SELECT e.subject, p.account, p.toner, sum(p.micrograms)
    FROM postings AS p JOIN events AS e ON e.position = p.event
    WHERE p.account = ?1 GROUP BY e.subject, p.toner HAVING sum(p.micrograms) <> 0 ORDER BY min(e.position), p.toner";

const MOVED_IN: &str = "
    SELECT e.subject, p.account, p.toner, sum(p.micrograms)
    FROM events AS e JOIN postings AS p ON p.event = e.position
    WHERE e.subject = ?1 AND e.kind GLOB 'mix/*'
    GROUP BY p.account, p.toner HAVING sum(p.micrograms) <> 0 ORDER BY min(e.position), min(p.place)";

/// Of the mixes of which something is told in that time; the last that is told of one that was done before may be that a pour
/// of it was put right.
const POURED: &str = "
    SELECT e.subject, p.account, p.toner, sum(p.micrograms)
    FROM mix_heads AS h
        LEFT JOIN mix_reads AS r ON r.mix = h.mix
        CROSS JOIN events AS e ON e.subject = h.mix
        CROSS JOIN postings AS p ON p.event = e.position
    WHERE h.begun < ?2
        AND (h.ended IS NULL OR h.ended >= ?1 OR (SELECT at FROM events WHERE position = r.event) >= ?1)
        AND e.at >= ?1 AND e.at < ?2 AND e.kind GLOB 'mix/*'
        AND (p.account GLOB 'tin:*' OR p.account GLOB 'tin[?]:*')
    GROUP BY +h.number, p.account, p.toner HAVING sum(p.micrograms) <> 0 ORDER BY +h.number, p.toner, p.account";

const HELD: &str = "
    SELECT account, toner, micrograms FROM balances
    WHERE account >= ?1 || ':' AND account < ?1 || ';' AND micrograms <> 0 ORDER BY account, toner";

/// Of each event from a place on, in the order of their places. What a mix moves is poured, or booked back; what a tin's own
/// event moves is found.
const LOOSE: &str = "
    SELECT e.at, e.subject, p.toner,
        CASE WHEN p.account < 'tin?:' THEN 'missing' WHEN e.kind GLOB 'mix/*' THEN 'poured' ELSE 'found' END,
        sum(p.micrograms)
    FROM events AS e CROSS JOIN postings AS p ON p.event = e.position
    WHERE e.position >= ?1 AND e.at >= ?2
        AND (p.account >= 'tin?:' AND p.account < 'tin?;' OR p.account >= 'difference:' AND p.account < 'difference;')
    GROUP BY e.position, p.toner, 4 ORDER BY e.position, p.toner";

/// The place of the first event that is not before that moment, found by halves: they stand nearly in order of time.
fn first_place(connection: &Connection, from: Stamp) -> rusqlite::Result<i64> {
    let mut at = connection
        .prepare_cached("SELECT position, at FROM events WHERE position >= ?1 ORDER BY position LIMIT 1")?;
    let last: i64 =
        connection.query_row("SELECT ifnull(max(position), 0) FROM events", [], |row| row.get(0))?;
    let (mut low, mut high) = (0_i64, last.saturating_add(1));
    while low < high {
        let middle = low.midpoint(high);
        let (place, moment): (i64, i64) = at.query_row([middle], |row| Ok((row.get(0)?, row.get(1)?)))?;
        if moment < from.0 {
            low = place.saturating_add(1);
        } else {
            high = middle;
        }
    }
    Ok(low)
}

fn loose(row: &Row<'_>) -> rusqlite::Result<Loose> {
    let mass = grams(row, 4)?;
    let (kind, mass) = match row.get_ref(3)?.as_str()? {
        "poured" => (LooseKind::Poured, -mass),
        "found" => (LooseKind::Found, mass),
        _ => (LooseKind::Missing, mass),
    };
    let (at, subject) = (Stamp(row.get(0)?), row.get(1)?);
    Ok(Loose { at, subject, toner: TonerCode::new(row.get::<_, String>(2)?), kind, mass })
}

/// The mixes that were begun for a job or sprayed on it.
const FOR: &str =
    "mix IN (SELECT mix FROM mix_heads WHERE job = ?1 UNION SELECT mix FROM mix_jobs WHERE job = ?1)";

const DAILY: &str = "
    SELECT day, what, why, toner, micrograms FROM daily
    WHERE day BETWEEN ?1 AND ?2 AND micrograms <> 0 ORDER BY day, what, why, toner";

const FIRST_BEGUN: &str = "SELECT min(begun) FROM mix_heads WHERE begun >= ?1 AND begun < ?2";

/// By the table's own key.
const USED: &str = "
    SELECT day, toner, received, poured, reused, missing, discarded FROM day_uses
    WHERE day BETWEEN ?1 AND ?2 ORDER BY day, toner";

const USED_BY_SPAN: &str = "
    SELECT first, toner, what, micrograms FROM spans
    WHERE span = ?1 AND first BETWEEN ?2 AND ?3 AND what IN ('received', 'poured', 'reused', 'missing', 'discarded')
        AND micrograms <> 0 ORDER BY first, what, why, toner";

fn daily(row: &Row<'_>) -> rusqlite::Result<Daily> {
    Ok(Daily {
        day: row.get(0)?,
        what: row.get(1)?,
        why: row.get(2)?,
        toner: TonerCode::new(row.get::<_, String>(3)?),
        mass: grams(row, 4)?,
    })
}

fn used(
    connection: &Connection,
    sql: &str,
    values: impl Params,
    uses: fn(&Row<'_>) -> rusqlite::Result<[i64; USES.len()]>,
    take: &mut dyn FnMut(UsedRow<'_>),
) -> rusqlite::Result<()> {
    let mut query = connection.prepare_cached(sql)?;
    let mut rows = query.query(values)?;
    while let Some(row) = rows.next()? {
        take(UsedRow { first: row.get(0)?, toner: row.get_ref(1)?.as_str()?, uses: uses(row)? });
    }
    Ok(())
}

/// Of what came into the tin's account the first.
const SIZE_OF: &str = "
    SELECT body ->> '$.size' FROM events
    WHERE kind = 'tin/received' AND position IN (SELECT event FROM postings WHERE account = ?1)
    ORDER BY position LIMIT 1";

/// What [`USED`] selects.
fn of_day(row: &Row<'_>) -> rusqlite::Result<[i64; USES.len()]> {
    Ok([row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?, row.get(6)?])
}

/// What [`USED_BY_SPAN`] selects.
fn of_span(row: &Row<'_>) -> rusqlite::Result<[i64; USES.len()]> {
    let (what, micrograms): (_, i64) = (row.get_ref(2)?.as_str()?, row.get(3)?);
    Ok(USES.map(|own| if own == what { micrograms } else { 0 }))
}

const READIED_WITH: &str = "SELECT body ->> '$.recipe.readied.product' FROM events
    WHERE subject = ?1 AND sequence = 0 AND kind = 'mix/started'";

const BEGUN_FOR: &str = "SELECT job FROM mix_jobs WHERE mix = ?1";

/// The mixes joined to the latest jobs as that layer of the car and not parted from it since: job, mix, what was estimated,
/// and the mix's beginning.
const JOB_MIXES: &str = "
    SELECT job, mix, estimate, (SELECT body FROM events WHERE subject = mix AND sequence = 0 AND kind = 'mix/started')
    FROM (
        SELECT j.job AS job, e.body ->> '$.mix' AS mix, e.body ->> '$.estimate' AS estimate
        FROM (SELECT job, number FROM jobs ORDER BY number DESC LIMIT 1000) AS j
        CROSS JOIN events AS e ON e.subject = j.job
        WHERE e.kind = 'job/mix-joined' AND e.body ->> '$.layer' = ?1 AND coalesce(e.body ->> '$.for_cards', 0) = 0
            AND NOT EXISTS (
                SELECT 1 FROM events AS p WHERE p.subject = e.subject AND p.sequence > e.sequence
                    AND p.kind IN ('job/mix-parted', 'job/mix-joined') AND p.body ->> '$.mix' = e.body ->> '$.mix')
        ORDER BY j.number DESC, e.sequence DESC LIMIT ?2
    )";

/// The columns of a job, of those jobs.
fn jobs_where(of: JobsOf<'_>) -> String {
    let rest = match of {
        JobsOf::All => "?1 = ''",
        JobsOf::Open => "?1 = '' AND closed IS NULL",
        JobsOf::ClosedSince(_) => {
            "number > (SELECT max(number) FROM jobs) - 1000 AND closed >= CAST(?1 AS INTEGER)"
        }
        JobsOf::Name(_) => "name = ?1",
        JobsOf::Job(_) => "job = ?1",
    };
    format!("{} WHERE {rest} ORDER BY number", kept::JOB)
}

fn moved(row: &Row<'_>) -> rusqlite::Result<Moved> {
    Ok(Moved {
        subject: row.get(0)?,
        account: Account::parse(row.get_ref(1)?.as_str()?),
        toner: TonerCode::new(row.get::<_, String>(2)?),
        mass: grams(row, 3)?,
    })
}

impl Ledger for SqliteStore {
    fn tins(&self, of: TinsOf<'_>) -> Result<Vec<TinRow>, StoreError> {
        let (rest, value) = match of {
            TinsOf::All => ("?1 = ''", ""),
            TinsOf::Label(label) => ("label = ?1", label),
            TinsOf::Toner(toner) => ("toner = ?1", toner.as_str()),
            TinsOf::Lot(lot) => ("lot = ?1", lot),
        };
        let sql = format!("{} WHERE {rest} ORDER BY label", kept::TIN);
        self.ask(|book| all(book, &sql, [value], kept::tin))
    }

    fn totals(&self, of: MixesOf<'_>) -> Result<Vec<MixTotals>, StoreError> {
        if let MixesOf::For(job) = of {
            return self.ask_jobs(|book| all(book, &totals_where(FOR), [job], totals));
        }
        self.ask(|book| match of {
            MixesOf::Mix(mix) => all(book, &totals_where("mix = ?1"), [mix], totals),
            MixesOf::Number(number) => all(book, &totals_where("number = ?1"), [number], totals),
            MixesOf::Job(job) | MixesOf::For(job) => all(book, &totals_where("job = ?1"), [job], totals),
            MixesOf::Emptied { colour, variant, layer } => {
                let rest = "colour = ?1 AND variant = ?2 AND layer = ?3 AND emptied IS NOT NULL";
                all(book, &totals_where(rest), (colour.as_str(), variant, layer.to_string()), totals)
            }
            MixesOf::Latest(most) => {
                let rest = "number > (SELECT max(number) FROM mix_heads) - ?1";
                all(book, &totals_where(rest), [most], totals)
            }
            MixesOf::InCups { from, most } => all(book, &totals_where(IN_CUPS), (from.0, most), totals),
            MixesOf::Begun { from, before } => all(book, &totals_where(BEGUN), (from.0, before.0), totals),
        })
    }

    fn jobs(&self, of: JobsOf<'_>) -> Result<Vec<JobRow>, StoreError> {
        let sql = jobs_where(of);
        let value = match of {
            JobsOf::All | JobsOf::Open => String::new(),
            JobsOf::Name(name) => name.to_owned(),
            JobsOf::Job(job) => job.to_string(),
            JobsOf::ClosedSince(at) => at.0.to_string(),
        };
        self.ask_jobs(|book| all(book, &sql, [value], kept::job))
    }

    fn begun_for(&self, mix: MixId) -> Result<Option<String>, StoreError> {
        self.ask_jobs(|book| Ok(all(book, BEGUN_FOR, [mix], |row| row.get(0))?.pop()))
    }

    fn readied_with(&self, mix: MixId) -> Result<Option<String>, StoreError> {
        self.ask(|book| Ok(all(book, READIED_WITH, [mix], |row| row.get(0))?.pop().flatten()))
    }

    fn job_mixes(&self, layer: Role, most: u32) -> Result<Vec<JobMix>, StoreError> {
        self.ask_jobs(|book| {
            let joined = all(book, JOB_MIXES, (layer.to_string(), most), |row| {
                let estimate: Option<String> = row.get(2)?;
                let begun: Option<String> = row.get(3)?;
                let estimate = estimate.and_then(|text| text.parse().ok()).map(Millilitres::new);
                let recipe = begun.as_deref().and_then(recipe_of);
                Ok((JobId::of(row.get(0)?), row.get::<_, MixId>(1)?, estimate, recipe))
            })?;
            let sql = totals_where("mix = ?1");
            let mut found = Vec::with_capacity(joined.len());
            for (job, mix, estimate, recipe) in joined {
                let totals = all(book, &sql, [mix], totals)?.pop();
                found.extend(totals.map(|totals| JobMix { job, estimate, recipe, totals }));
            }
            Ok(found)
        })
    }

    fn size_of(&self, label: &str) -> Result<Option<String>, StoreError> {
        let account = Account::Tin(label.to_owned()).to_string();
        self.ask(|book| Ok(all(book, SIZE_OF, [account], |row| row.get(0))?.pop().flatten()))
    }

    fn daily(&self, from: i64, to: i64) -> Result<Vec<Daily>, StoreError> {
        self.ask(|book| all(book, DAILY, (from, to), daily))
    }

    fn used(
        &self,
        span: Span,
        from: i64,
        to: i64,
        take: &mut dyn FnMut(UsedRow<'_>),
    ) -> Result<(), StoreError> {
        if matches!(span, Span::Hour | Span::Day) {
            return self.ask_found(|book| used(book, USED, (from, to), of_day, take));
        }
        // The last span that begins in these days may end after them.
        let after = span.first_day(to.saturating_add(1));
        let first = if span.first_day(from) == from { from } else { span.next_day(from) };
        let values = (span.word(), first, after.saturating_sub(1));
        self.ask_sums(|book| used(book, USED_BY_SPAN, values, of_span, take))
    }

    fn sums(&self, apart: Apart, span: Span, hours: &Hours) -> Result<Vec<SumRow>, StoreError> {
        self.ask_sums(|book| sum_rows::rows(book, apart, span, hours))
    }

    fn sum_of_each(&self, span: Span, hours: &Hours, of_day: &[u8]) -> Result<Vec<(i64, Sum)>, StoreError> {
        self.ask_sums(|book| sum_rows::each(book, span, hours, of_day))
    }

    fn first_begun(&self, time: &Times) -> Result<Option<Stamp>, StoreError> {
        let values = (time.start.0, time.end.0);
        self.ask(|book| {
            let first: Option<i64> = book.prepare_cached(FIRST_BEGUN)?.query_row(values, |row| row.get(0))?;
            Ok(first.map(Stamp))
        })
    }

    fn behind(
        &self,
        of: &Behind,
        before: Option<(Stamp, u32)>,
        most: u32,
    ) -> Result<Vec<(MixTotals, MixRead)>, StoreError> {
        if matches!(of.having, Some(Having::Mark(_))) {
            return self.ask_found(|book| behind::read(book, of, before, most));
        }
        self.ask_sums(|book| behind::read(book, of, before, most))
    }

    fn uses(&self, apart: Apart, span: Span, hours: &Hours) -> Result<Vec<UseRow>, StoreError> {
        self.ask_sums(|book| sum_rows::uses(book, apart, span, hours))
    }

    fn pours(&self, span: Span, hours: &Hours) -> Result<Vec<ManyPours>, StoreError> {
        self.ask_sums(|book| sum_rows::pours(book, span, hours))
    }

    fn choices(&self, span: Span, hours: &Hours) -> Result<Vec<ChoiceRow>, StoreError> {
        self.ask_sums(|book| sum_rows::choices(book, span, hours))
    }

    fn told(&self, of: Told, time: &Times) -> Result<Vec<(MixTotals, MixRead)>, StoreError> {
        let mut told =
            self.ask_sums(|book| all(book, &told_where(&of.rest()), (time.start.0, time.end.0), both))?;
        // Sorted here: the book would carry all that each mix tells about with it.
        told.sort_by_key(|(totals, _)| totals.head.number);
        Ok(told)
    }

    fn held(&self, kind: &str) -> Result<Vec<Balance>, StoreError> {
        self.ask(|book| all(book, HELD, [kind], read::balance))
    }

    fn loose(&self, from: Stamp) -> Result<Vec<Loose>, StoreError> {
        self.ask(|book| all(book, LOOSE, [first_place(book, from)?, from.0], loose))
    }

    fn moved_by(&self, account: &Account) -> Result<Vec<Moved>, StoreError> {
        self.ask(|book| all(book, MOVED_BY, [account.to_string()], moved))
    }

    fn moved_in(&self, mix: MixId) -> Result<Vec<Moved>, StoreError> {
        self.ask(|book| all(book, MOVED_IN, [mix], moved))
    }

    fn poured(&self, from: Stamp, before: Stamp) -> Result<Vec<Moved>, StoreError> {
        self.ask(|book| all(book, POURED, (from.0, before.0), moved))
    }

    fn recalls(&self) -> Result<Vec<Envelope>, StoreError> {
        self.ask(read::recalls)
    }
}
