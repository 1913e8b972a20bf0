//! The mixes behind a sum, the latest first and so many at a time.

use super::ledger::{all, both, told_where};
use crate::book::mix_sums::Apart;
use crate::book::reading::MixRead;
use crate::book::spans::{Span, Times};
use crate::book::{Behind, Having, Mark, MixTotals};
use crate::units::Stamp;
use rusqlite::Connection;
use std::collections::BTreeMap;

/// Mixes, by when they were begun and their numbers.
type Mixes = BTreeMap<(Stamp, u32), (MixTotals, MixRead)>;

/// Reads them.
pub(super) fn read(
    connection: &Connection,
    of: &Behind,
    before: Option<(Stamp, u32)>,
    most: u32,
) -> rusqlite::Result<Vec<(MixTotals, MixRead)>> {
    let before = before.unwrap_or((Stamp(i64::MAX), u32::MAX));
    let page = Page { connection, before, most };
    let mut mixes = Mixes::new();
    let nothing = (String::new(), String::new());
    let (apart, kept_as) = match &of.having {
        None => (Apart::All, std::slice::from_ref(&nothing)),
        Some(Having::Sum(apart, kept_as)) => (*apart, kept_as.as_slice()),
        Some(Having::Mark(mark)) => {
            page.with_mark(&of.time, mark, &mut mixes)?;
            return Ok(last(mixes, most));
        }
    };
    // A mix can stand behind two of them: it is in the page once.
    for kept in kept_as {
        match apart {
            Apart::All => page.read(&of.time, ALL, kept, &mut mixes)?,
            Apart::Layer => page.read(&of.time, OF_LAYER, kept, &mut mixes)?,
            Apart::Painter => page.read(&of.time, OF_PAINTER, kept, &mut mixes)?,
            Apart::Colour => page.read(&of.time, OF_COLOUR, kept, &mut mixes)?,
            Apart::Reason => page.with_reason(&of.time, kept, &mut mixes)?,
        }
    }
    Ok(last(mixes, most))
}

fn last(mixes: Mixes, most: u32) -> Vec<(MixTotals, MixRead)> {
    mixes.into_values().rev().take(usize::try_from(most).unwrap_or(usize::MAX)).collect()
}

/// What mixes have in common, `?6` and `?7`; each is found by an index.
pub(super) const ALL: &str = "?6 = ?7";
pub(super) const OF_LAYER: &str = "ifnull(layer, '') = ?6 AND ?7 = ''";
pub(super) const OF_PAINTER: &str = "operator = ?6 AND ?7 = ''";
pub(super) const OF_COLOUR: &str = "ifnull(colour, '') = ?6 AND ifnull(variant, '') = ?7";
/// The same of a fate and why, as they stand in what a mix tells; of a day's mixes.
pub(super) const WITH_REASON: &str = "outcome IS NOT NULL AND instr(told, ?6) > 0 AND ?7 = ''";
pub(super) const OPEN_WITH_REASON: &str = "outcome IS NULL AND instr(told, ?6) > 0 AND ?7 = ''";

/// Those that have not ended are in no sum and have no mark: they are few, and read one by one.
pub(super) const OPEN: &str = "outcome IS NULL AND ?6 = ?7";

/// So many of the mixes of a time that have that mark, from there on back.
pub(super) const MARKED: &str = "
    number IN (SELECT number FROM mix_marks WHERE mark = ?6 AND begun >= ?1 AND begun < ?2 AND (begun < ?3 OR number < ?4)
        ORDER BY begun DESC, number DESC LIMIT ?5)";

/// So many of the mixes of a time, from there on back. There is one bound above, so that the index begins with the page.
pub(super) fn page_where(common: &str) -> String {
    told_where(&format!(
        "{common} AND begun >= ?1 AND begun < ?2 AND (begun < ?3 OR number < ?4)
         ORDER BY begun DESC, number DESC LIMIT ?5"
    ))
}

/// The days on which mixes were begun that have ended and have a reason in common, the last first.
pub(super) const DAYS: &str = "
    SELECT first FROM mix_sums
    WHERE span = 'day' AND apart = 'reason' AND first >= ?1 AND first < ?2 AND key = ?3 AND more = ?4 AND mixes > 0
    ORDER BY first DESC";

const HOUR: i64 = 3_600_000_000;
const DAY_HOURS: i64 = 24;

/// A page of mixes.
struct Page<'p> {
    connection: &'p Connection,
    before: (Stamp, u32),
    most: u32,
}

impl Page<'_> {
    /// Reads what is in the page of those that were begun in that time.
    fn read(
        &self,
        time: &Times,
        common: &str,
        (key, more): &(String, String),
        mixes: &mut Mixes,
    ) -> rusqlite::Result<()> {
        let (last, number) = self.before;
        let end = time.end.0.min(last.0.saturating_add(1));
        let values = (time.start.0, end, last.0, number, self.most, key, more);
        for (totals, read) in all(self.connection, &page_where(common), values, both)? {
            mixes.insert((totals.head.begun, totals.head.number), (totals, read));
        }
        Ok(())
    }

    /// Reads those with that mark.
    fn with_mark(&self, time: &Times, mark: &Mark, mixes: &mut Mixes) -> rusqlite::Result<()> {
        let (last, number) = self.before;
        let end = time.end.0.min(last.0.saturating_add(1));
        let values = (time.start.0, end, last.0, number, self.most, mark.word());
        for (totals, read) in all(self.connection, &told_where(MARKED), values, both)? {
            mixes.insert((totals.head.begun, totals.head.number), (totals, read));
        }
        let end = Stamp(end);
        let mut open = Mixes::new();
        let all_of_them = Page { most: u32::MAX, ..*self };
        all_of_them.read(&(time.start..end), OPEN, &(String::new(), String::new()), &mut open)?;
        mixes.extend(open.into_iter().filter(|(_, (_, read))| Mark::of(read).contains(mark)));
        Ok(())
    }

    /// Reads those with a reason in common. The sums say on which days there are any; the mixes of such a day are gone
    /// through, and the few that have not ended, which are in no sum.
    fn with_reason(
        &self,
        time: &Times,
        (fate, why): &(String, String),
        mixes: &mut Mixes,
    ) -> rusqlite::Result<()> {
        // It stands nowhere else in what a mix tells: inside of another text its quotes would be escaped.
        let both = serde_json::to_string(&(fate, why)).unwrap_or_default();
        let told = (format!("{},", both.trim_end_matches(']')), String::new());
        let time = time.start..time.end.min(Stamp(self.before.0.0.saturating_add(1)));
        self.read(&time, OPEN_WITH_REASON, &told, mixes)?;
        let from = Span::Day.first_hour(time.start);
        let days: Vec<i64> = all(
            self.connection,
            DAYS,
            (from, time.end.0.div_euclid(HOUR).saturating_add(1), fate, why),
            |row| row.get(0),
        )?;
        let most = usize::try_from(self.most).unwrap_or(usize::MAX);
        let mut ended = Mixes::new();
        for first in days {
            let begin = |hour: i64| Stamp(hour.saturating_mul(HOUR));
            let day = begin(first).max(time.start)..begin(first.saturating_add(DAY_HOURS)).min(time.end);
            self.read(&day, WITH_REASON, &told, &mut ended)?;
            if ended.len() >= most {
                break;
            }
        }
        mixes.append(&mut ended);
        Ok(())
    }
}
