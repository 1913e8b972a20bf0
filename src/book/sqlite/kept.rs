//! The figures kept beside the journal: what a mix costs, which no statement can reckon exactly, and reading them all.

use super::found_sql::{V11, V12, WITHOUT_FOUND};
use super::job_sql::{JOBS, WITHOUT_JOBS};
use super::kept_sql::{V3, V4, V5, WITHOUT_FIGURES};
use super::sums_sql::{READS_BY_ROW, READS_GUARDED, V7, V8, V9, WITHOUT_SUMS};
use super::{Keeps, sum_rows, sums};
use crate::book::far::{Far, Tell};
use crate::book::figures::{Figures, JobRow, MixCost, MixHead, PriceRow, TinRow, cost_of, recipe_of};
use crate::book::{Envelope, JobId, MixId};
use crate::catalogue::TonerCode;
use crate::mix::Recipe;
use crate::units::Stamp;
use rusqlite::{Connection, OptionalExtension as _, Row, TransactionBehavior};

/// Takes in what an event of a mix costs; it stands at that position already.
pub(super) fn cost(connection: &Connection, position: i64, event: &Envelope) -> rusqlite::Result<()> {
    if !event.kind.starts_with("mix/") {
        return Ok(());
    }
    let recipe = if event.postings.is_empty() { None } else { recipe(connection, event.subject)? };
    add(connection, position, event.subject, cost_of(recipe.as_ref(), &event.postings))
}

/// What a mix is weighed from: of its first event that says so.
fn recipe(connection: &Connection, mix: MixId) -> rusqlite::Result<Option<Recipe>> {
    let sql = "SELECT body FROM events WHERE subject = ?1 AND kind = 'mix/started' ORDER BY sequence LIMIT 1";
    let body = connection.prepare_cached(sql)?.query_row([mix], |row| row.get::<_, String>(0)).optional()?;
    Ok(body.as_deref().and_then(recipe_of))
}

fn add(connection: &Connection, position: i64, mix: MixId, cost: MixCost) -> rusqlite::Result<()> {
    let sql = "
        UPDATE mix_costs SET millionths = millionths + ?3, unpriced = unpriced + ?4, event = ?2 WHERE mix = ?1";
    let values = (mix, position, cost.millionths, cost.unpriced);
    if connection.prepare_cached(sql)?.execute(values)? == 0 {
        let sql = "INSERT INTO mix_costs (mix, event, millionths, unpriced) VALUES (?1, ?2, ?3, ?4)";
        connection.prepare_cached(sql)?.execute(values)?;
    }
    Ok(())
}

/// Takes in what every mix of the journal costs, into the empty table; `tell` hears how far it is.
pub(super) fn costs_telling(connection: &Connection, tell: Tell<'_>) -> rusqlite::Result<()> {
    let mut far = Far { all: mixes(connection)?, ..Far::begun("mixes priced") };
    let sql = "SELECT subject, max(position) FROM events WHERE kind GLOB 'mix/*' GROUP BY subject";
    let mut query = connection.prepare(sql)?;
    let mixes = query.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    for mix in mixes {
        tell(far);
        far.done = far.done.saturating_add(1);
        let (mix, position) = mix?;
        let recipe = recipe(connection, mix)?;
        let mut whole = MixCost::default();
        for event in super::read::events(connection, mix)? {
            if event.kind.starts_with("mix/") {
                let cost = cost_of(recipe.as_ref(), &event.postings);
                whole.millionths = whole.millionths.saturating_add(cost.millionths);
                whole.unpriced = whole.unpriced.saturating_add(cost.unpriced);
            }
        }
        add(connection, position, mix, whole)?;
    }
    Ok(())
}

/// How many mixes there are.
pub(super) fn mixes(connection: &Connection) -> rusqlite::Result<u64> {
    let count: i64 = connection.query_row("SELECT count(*) FROM mix_heads", [], |row| row.get(0))?;
    Ok(count.unsigned_abs())
}

/// Makes all the figures anew from the journal.
pub(super) fn rebuild(connection: &mut Connection, tell: Tell<'_>) -> rusqlite::Result<()> {
    tell(Far::begun("the figures are taken away"));
    let step = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    step.execute_batch(WITHOUT_FOUND)?;
    step.execute_batch(WITHOUT_SUMS)?;
    step.execute_batch(WITHOUT_JOBS)?;
    step.execute_batch(WITHOUT_FIGURES)?;
    tell(Far::begun("days, tins, mixes and what each account holds are made anew"));
    step.execute_batch(V3)?;
    costs_telling(&step, tell)?;
    tell(Far::begun("jobs, weeks and months are made anew"));
    step.execute_batch(V4)?;
    step.execute_batch(V5)?;
    step.execute_batch(JOBS)?;
    step.execute_batch(V7)?;
    step.execute_batch(READS_BY_ROW)?;
    sums::fill_telling(&step, tell)?;
    step.execute_batch(V11)?;
    sums::fill_marks(&step, tell)?;
    tell(Far::begun("the indexes are made anew"));
    step.execute_batch(V8)?;
    step.execute_batch(V9)?;
    step.execute_batch(READS_GUARDED)?;
    step.execute_batch(V12)?;
    tell(Far::begun("the figures are written"));
    step.commit()
}

/// All the figures as they are kept; sums of nothing are left out. An older layout has no jobs, or no sums, and the flows of
/// its mixes in another place, or neither a day's uses in a row nor marks.
pub(super) fn figures(connection: &Connection, keeps: Keeps) -> rusqlite::Result<Figures> {
    let mut figures = Figures::default();
    let sums = |sql: &str, take: &mut dyn FnMut(&Row<'_>) -> rusqlite::Result<()>| {
        let mut query = connection.prepare(sql)?;
        let mut rows = query.query([])?;
        while let Some(row) = rows.next()? {
            take(row)?;
        }
        Ok::<_, rusqlite::Error>(())
    };
    sums("SELECT account, toner, micrograms FROM balances WHERE micrograms <> 0", &mut |row| {
        figures.balances.insert((row.get(0)?, row.get(1)?), row.get(2)?);
        Ok(())
    })?;
    sums("SELECT day, what, why, toner, micrograms FROM daily WHERE micrograms <> 0", &mut |row| {
        figures.daily.insert((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?), row.get(4)?);
        Ok(())
    })?;
    figures.is_without_found = !keeps.found();
    if keeps.found() {
        let sql = "SELECT day, toner, received, poured, reused, missing, discarded FROM day_uses";
        sums(sql, &mut |row| {
            let uses = [row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?, row.get(6)?];
            if uses != [0; 5] {
                figures.day_uses.insert((row.get(0)?, row.get(1)?), uses);
            }
            Ok(())
        })?;
    }
    if keeps.sums() {
        sums(
            "SELECT span, first, what, why, toner, micrograms FROM spans WHERE micrograms <> 0",
            &mut |row| {
                let key = (row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?);
                figures.spans.insert(key, row.get(5)?);
                Ok(())
            },
        )?;
        let sql = "SELECT mix, poured, reused, drawn_off, sprayed, kept, thrown, abandoned FROM mix_reads";
        sums(sql, &mut |row| {
            for (what, place) in FLOWS.iter().zip(1_usize..) {
                let micrograms: i64 = row.get(place)?;
                if micrograms != 0 {
                    figures.flows.insert((row.get(0)?, (*what).to_owned()), micrograms);
                }
            }
            Ok(())
        })?;
        sums("SELECT label, price, net FROM tin_prices", &mut |row| {
            figures.tin_prices.insert(row.get(0)?, PriceRow { price: row.get(1)?, net: row.get(2)? });
            Ok(())
        })?;
        figures.of_mixes = sum_rows::all(connection)?;
        if keeps.found() {
            figures.of_mixes.marks = sum_rows::marks(connection)?;
        }
    } else {
        figures.is_without_sums = true;
        sums("SELECT mix, what, micrograms FROM mix_flows WHERE micrograms <> 0", &mut |row| {
            figures.flows.insert((row.get(0)?, row.get(1)?), row.get(2)?);
            Ok(())
        })?;
    }
    sums(&format!("SELECT mix, {HEAD} FROM mix_heads"), &mut |row| {
        figures.mixes.insert(row.get(0)?, head(row, 1)?);
        Ok(())
    })?;
    sums("SELECT mix, millionths, unpriced FROM mix_costs", &mut |row| {
        figures.costs.insert(row.get(0)?, MixCost { millionths: row.get(1)?, unpriced: row.get(2)? });
        Ok(())
    })?;
    sums(TIN, &mut |row| {
        let tin = tin(row)?;
        figures.tins.insert(tin.label.clone(), tin);
        Ok(())
    })?;
    if keeps.jobs() {
        sums(JOB, &mut |row| {
            let job = job(row)?;
            figures.jobs.insert(job.job, job);
            Ok(())
        })?;
        sums("SELECT mix, job FROM mix_jobs", &mut |row| {
            figures.begun_for.insert(row.get(0)?, row.get(1)?);
            Ok(())
        })?;
    }
    Ok(figures)
}

/// What became of a mix's paint, in the order of the columns.
const FLOWS: [&str; 7] = ["poured", "reused", "drawn-off", "sprayed", "kept", "thrown", "abandoned"];

/// The columns of a mix's head.
pub(super) const HEAD: &str =
    "number, begun, operator, colour, variant, layer, ended, outcome, emptied, use_by, job";

/// A mix's head, its columns beginning at that place of the row.
pub(super) fn head(row: &Row<'_>, from: usize) -> rusqlite::Result<MixHead> {
    let at = |place: usize| from.saturating_add(place);
    let stamp = |place: usize| Ok::<_, rusqlite::Error>(row.get::<_, Option<i64>>(at(place))?.map(Stamp));
    Ok(MixHead {
        number: row.get(at(0))?,
        begun: Stamp(row.get(at(1))?),
        operator: row.get(at(2))?,
        subject: [row.get(at(3))?, row.get(at(4))?, row.get(at(5))?],
        ended: stamp(6)?.zip(row.get(at(7))?),
        emptied: stamp(8)?,
        use_by: row.get(at(9))?,
        job: row.get(at(10))?,
    })
}

/// The columns [`tin`] reads.
pub(super) const TIN: &str = "
    SELECT label, toner, lot, expires, item, supplier, net, empty, received, opened, stirred, counted, emptied,
           discarded
    FROM tins";

/// A tin; what [`TIN`] selects.
pub(super) fn tin(row: &Row<'_>) -> rusqlite::Result<TinRow> {
    let stamp = |place: usize| Ok::<_, rusqlite::Error>(row.get::<_, Option<i64>>(place)?.map(Stamp));
    Ok(TinRow {
        label: row.get(0)?,
        toner: TonerCode::new(row.get::<_, String>(1)?),
        lot: row.get(2)?,
        expires: row.get(3)?,
        item: row.get(4)?,
        supplier: row.get(5)?,
        net: row.get(6)?,
        empty: row.get(7)?,
        received: stamp(8)?,
        opened: stamp(9)?,
        stirred: stamp(10)?,
        counted: stamp(11)?,
        emptied: stamp(12)?,
        discarded: stamp(13)?,
    })
}

/// The columns [`job`] reads.
pub(super) const JOB: &str =
    "SELECT job, number, name, vehicle, colour, variant, operator, opened, last, closed FROM jobs";

/// A job; what [`JOB`] selects.
pub(super) fn job(row: &Row<'_>) -> rusqlite::Result<JobRow> {
    Ok(JobRow {
        job: JobId::of(row.get(0)?),
        number: row.get(1)?,
        name: row.get(2)?,
        vehicle: row.get(3)?,
        colour: row.get(4)?,
        variant: row.get(5)?,
        operator: row.get(6)?,
        opened: Stamp(row.get(7)?),
        last: Stamp(row.get(8)?),
        closed: row.get::<_, Option<i64>>(9)?.map(Stamp),
    })
}
