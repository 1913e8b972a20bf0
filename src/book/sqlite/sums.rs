//! What mixes tell, kept beside the journal: each mix is read as it goes, and once it has ended it is in the sums.

use super::{kept, read};
use crate::book::far::{Far, Tell};
use crate::book::figures::{MixHead, PriceRow, received};
use crate::book::mix_sums::{
    COLUMNS, Choices, ManyPours, MarkKey, MixSums, NUMBERS, Sum, SumKey, UseKey, UseSum, marks_of, no_pours,
    sums_of, uses_of,
};
use crate::book::reading::{Fate, MixRead, MixReader, OfKept, TinPrice};
use crate::book::spans::Span;
use crate::book::{Account, Envelope, MixId, Posting};
use crate::units::Grams;
use rusqlite::types::Type;
use rusqlite::{Connection, OptionalExtension as _, Row, params_from_iter};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::LazyLock;

/// The mixes that are being read and the tins they are poured from, so that one more event of a mix does not mean to read
/// it all again.
#[derive(Debug, Default)]
pub(super) struct Readers {
    mixes: HashMap<MixId, Reading>,
    prices: HashMap<String, Option<TinPrice>>,
}

/// A mix as it is after its event before `next`.
#[derive(Clone, Debug, Default)]
struct Reading {
    next: u32,
    reader: MixReader,
    /// What became of what was kept of it; none where that has to be asked.
    of_kept: Option<OfKept>,
}

/// So many mixes are under way at once in the largest of shops; what is more is read again.
const MOST: usize = 64;
/// Of so many tins the price is remembered.
const MOST_TINS: usize = 4_096;

impl Readers {
    /// Forgets what was read: what was written with it was not kept.
    pub(super) fn clear(&mut self) {
        self.mixes.clear();
        self.prices.clear();
    }

    /// What a tin cost.
    fn price_of(&mut self, connection: &Connection, label: &str) -> rusqlite::Result<Option<TinPrice>> {
        if let Some(known) = self.prices.get(label) {
            return Ok(*known);
        }
        if self.prices.len() >= MOST_TINS {
            self.prices.clear();
        }
        let price = price_of(connection, label)?;
        self.prices.insert(label.to_owned(), price);
        Ok(price)
    }

    /// The mix as it is after that event, which is in the book already.
    fn after(&mut self, connection: &Connection, event: &Envelope) -> rusqlite::Result<Reading> {
        let known = self.mixes.remove(&event.subject).filter(|known| known.next == event.sequence);
        let mut reading = match known {
            Some(known) => known,
            None if event.sequence == 0 => Reading::default(),
            None => return Reading::of(connection, event.subject, event.sequence),
        };
        reading.next = event.sequence.saturating_add(1);
        reading.reader.take(event);
        if event.postings.iter().any(|posting| matches!(&posting.account, Account::Leftover(_))) {
            reading.of_kept = None;
        }
        Ok(reading)
    }

    /// A mix as it is, of which something was not its own doing.
    fn as_it_is(&mut self, connection: &Connection, mix: MixId) -> rusqlite::Result<Reading> {
        // One that is kept is not behind: each event of the mix came by here.
        if let Some(reading) = self.mixes.remove(&mix) {
            return Ok(Reading { of_kept: None, ..reading });
        }
        let sql = "SELECT coalesce(max(sequence), 0) FROM events WHERE subject = ?1";
        let last = connection.prepare_cached(sql)?.query_row([mix], |row| row.get(0))?;
        Reading::of(connection, mix, last)
    }

    /// Keeps a mix for its next event.
    fn keep(&mut self, mix: MixId, reading: Reading) {
        if self.mixes.len() >= MOST {
            self.mixes.clear();
        }
        self.mixes.insert(mix, reading);
    }
}

impl Reading {
    /// A mix as it is after that event, read from the journal.
    fn of(connection: &Connection, mix: MixId, last: u32) -> rusqlite::Result<Self> {
        let next = last.saturating_add(1);
        Ok(Self { next, reader: from_journal(connection, mix)?, of_kept: None })
    }
}

fn from_journal(connection: &Connection, mix: MixId) -> rusqlite::Result<MixReader> {
    let mut reader = MixReader::default();
    for event in read::events(connection, mix)? {
        reader.take(&event);
    }
    Ok(reader)
}

/// Takes in what an event changes of what mixes tell; it stands at that position already.
pub(super) fn take(
    connection: &Connection,
    readers: &mut Readers,
    position: i64,
    event: &Envelope,
) -> rusqlite::Result<()> {
    let is_of_mix = event.kind.starts_with("mix/");
    let mut changes = Changes::default();
    let mut others = BTreeSet::new();
    if let Some(label) = received(event)
        && note_price(connection, label, TinPrice::of_receipt(&event.body), position)?
    {
        readers.prices.remove(label);
        others = poured_from(connection, label)?;
    }
    let leftover = |posting: &Posting| match &posting.account {
        Account::Leftover(mix) if *mix != event.subject || !is_of_mix => Some(*mix),
        _ => None,
    };
    if is_of_mix {
        let reading = readers.after(connection, event)?;
        refresh(connection, readers, position, event.subject, reading, &mut changes)?;
    } else {
        // An event of another wing in a mix's journal tells nothing, and is counted all the same.
        readers.mixes.remove(&event.subject);
    }
    others.extend(event.postings.iter().filter_map(leftover));
    for mix in others {
        let reading = readers.as_it_is(connection, mix)?;
        refresh(connection, readers, position, mix, reading, &mut changes)?;
    }
    changes.write(connection, position)
}

/// Keeps what a tin cost, of its first receipt; whether there is a price by it.
fn note_price(
    connection: &Connection,
    label: &str,
    price: Option<TinPrice>,
    position: i64,
) -> rusqlite::Result<bool> {
    let known = "SELECT EXISTS (SELECT 1 FROM tin_prices WHERE label = ?1)";
    if connection.prepare_cached(known)?.query_row([label], |row| row.get(0))? {
        return Ok(false);
    }
    let row = PriceRow::of(price);
    let sql = "INSERT INTO tin_prices (label, price, net, event) VALUES (?1, ?2, ?3, ?4)";
    connection.prepare_cached(sql)?.execute((label, &row.price, &row.net, position))?;
    Ok(price.is_some())
}

/// What a tin cost.
fn price_of(connection: &Connection, label: &str) -> rusqlite::Result<Option<TinPrice>> {
    let sql = "SELECT price, net FROM tin_prices WHERE label = ?1 AND price IS NOT NULL";
    connection.prepare_cached(sql)?.query_row([label], |row| price(row, 0)).optional()
}

fn price(row: &Row<'_>, from: usize) -> rusqlite::Result<TinPrice> {
    let net = from.saturating_add(1);
    Ok(TinPrice { price: crate::units::Money::new(decimal(row, from)?), net: Grams::new(decimal(row, net)?) })
}

fn decimal(row: &Row<'_>, place: usize) -> rusqlite::Result<crate::units::Decimal> {
    let text = row.get_ref(place)?.as_str()?;
    crate::units::Decimal::from_str_exact(text)
        .map_err(|error| rusqlite::Error::FromSqlConversionFailure(place, Type::Text, Box::new(error)))
}

/// The mixes that poured from a tin: those before its receipt, which are few.
fn poured_from(connection: &Connection, label: &str) -> rusqlite::Result<BTreeSet<MixId>> {
    let sql = "
        SELECT DISTINCT e.subject FROM postings AS p JOIN events AS e ON e.position = p.event
        WHERE p.account = ?1 AND e.kind GLOB 'mix/*'";
    let account = Account::Tin(label.to_owned()).to_string();
    connection.prepare_cached(sql)?.query_map([account], |row| row.get(0))?.collect()
}

/// What became of what was kept of a mix: what went out of it went into another mix, or, by an event that is about no mix,
/// to waste.
pub(super) const OF_KEPT: &str = "
    SELECT coalesce(sum(p.micrograms), 0),
        coalesce(sum(iif(e.subject <> ?2 AND h.mix IS NOT NULL, p.micrograms, 0)), 0),
        coalesce(sum(iif(e.subject <> ?2 AND h.mix IS NULL, p.micrograms, 0)), 0)
    FROM postings AS p JOIN events AS e ON e.position = p.event LEFT JOIN mix_heads AS h ON h.mix = e.subject
    WHERE p.account = ?1";

fn of_kept(connection: &Connection, mix: MixId) -> rusqlite::Result<OfKept> {
    let values = (Account::Leftover(mix).to_string(), mix);
    connection.prepare_cached(OF_KEPT)?.query_row(values, |row| {
        let grams = |place| Ok::<_, rusqlite::Error>(Grams::from_micrograms(row.get(place)?));
        Ok(OfKept { still_there: grams(0)?, used_again: -grams(1)?, thrown: -grams(2)? })
    })
}

/// What an event changes of the sums.
#[derive(Debug, Default)]
struct Changes {
    sums: BTreeMap<SumKey, Sum>,
    uses: BTreeMap<UseKey, UseSum>,
    ended: Vec<(MixHead, MixRead)>,
}

/// Reads a mix's row anew, and notes what that changes of the sums; nothing where no mix was begun.
fn refresh(
    connection: &Connection,
    readers: &mut Readers,
    position: i64,
    mix: MixId,
    mut reading: Reading,
    changes: &mut Changes,
) -> rusqlite::Result<()> {
    let sql = "SELECT outcome IS NOT NULL FROM mix_heads WHERE mix = ?1";
    let ended: Option<bool> =
        connection.prepare_cached(sql)?.query_row([mix], |row| row.get(0)).optional()?;
    let Some(is_summed) = ended else { return Ok(()) };
    let mut told = reading.reader.read(&mut |label| readers.price_of(connection, label))?;
    told.of_kept = match reading.of_kept {
        Some(known) => known,
        None => of_kept(connection, mix)?,
    };
    reading.of_kept = Some(told.of_kept);
    readers.keep(mix, reading);
    let before = if is_summed { summed(connection, mix)? } else { None };
    write_read(connection, position, mix, &told, is_summed)?;
    let head = if is_summed { head(connection, mix)? } else { None };
    if let Some(head) = head {
        for (key, sum) in before.iter().flat_map(|before| sums_of(&head, before)) {
            changes.sums.entry(key).or_default().add(&sum, -1);
        }
        for (key, sum) in sums_of(&head, &told) {
            changes.sums.entry(key).or_default().add(&sum, 1);
        }
        for (key, uses) in before.iter().flat_map(|before| uses_of(&head, before)) {
            changes.uses.entry(key).or_default().add(&uses, -1);
        }
        for (key, uses) in uses_of(&head, &told) {
            changes.uses.entry(key).or_default().add(&uses, 1);
        }
        if before.is_none() {
            changes.ended.push((head, told));
        }
    }
    Ok(())
}

fn head(connection: &Connection, mix: MixId) -> rusqlite::Result<Option<MixHead>> {
    let sql = "
        SELECT number, begun, operator, colour, variant, layer, ended, outcome, emptied, use_by, job
        FROM mix_heads WHERE mix = ?1";
    connection.prepare_cached(sql)?.query_row([mix], |row| kept::head(row, 0)).optional()
}

/// What a mix told when it was put into the sums, or since.
fn summed(connection: &Connection, mix: MixId) -> rusqlite::Result<Option<MixRead>> {
    let sql = "SELECT told FROM mix_reads WHERE mix = ?1 AND is_summed = 1";
    connection.prepare_cached(sql)?.query_row([mix], |row| told(row, 0)).optional()
}

/// What a mix tells, as the book has it.
pub(super) fn told(row: &Row<'_>, place: usize) -> rusqlite::Result<MixRead> {
    from_json(row, place)
}

pub(super) fn from_json<T: serde::de::DeserializeOwned>(row: &Row<'_>, place: usize) -> rusqlite::Result<T> {
    serde_json::from_str(row.get_ref(place)?.as_str()?)
        .map_err(|error| rusqlite::Error::FromSqlConversionFailure(place, Type::Text, Box::new(error)))
}

fn to_json(value: &impl serde::Serialize) -> rusqlite::Result<String> {
    serde_json::to_string(value).map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))
}

fn write_read(
    connection: &Connection,
    position: i64,
    mix: MixId,
    told: &MixRead,
    is_summed: bool,
) -> rusqlite::Result<()> {
    let micrograms = |mass: Grams| mass.micrograms().unwrap_or(i64::MAX);
    let of = |fate| micrograms(told.of(fate).mass);
    let values = (
        mix,
        micrograms(told.poured),
        micrograms(told.reused),
        of(Fate::DrawnOff),
        of(Fate::Sprayed),
        of(Fate::Kept),
        of(Fate::Thrown),
        of(Fate::Abandoned),
        to_json(told)?,
        is_summed,
        position,
    );
    let sql = "
        UPDATE mix_reads SET poured = ?2, reused = ?3, drawn_off = ?4, sprayed = ?5, kept = ?6, thrown = ?7,
            abandoned = ?8, told = ?9, is_summed = ?10, event = ?11
        WHERE mix = ?1";
    if connection.prepare_cached(sql)?.execute(values.clone())? == 0 {
        let sql = "
            INSERT INTO mix_reads (mix, poured, reused, drawn_off, sprayed, kept, thrown, abandoned, told, is_summed,
                event) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)";
        connection.prepare_cached(sql)?.execute(values)?;
    }
    Ok(())
}

impl Changes {
    fn write(self, connection: &Connection, position: i64) -> rusqlite::Result<()> {
        for (key, change) in self.sums.iter().filter(|(_, change)| **change != Sum::default()) {
            add_sum(connection, position, key, change)?;
        }
        for (key, change) in self.uses.iter().filter(|(_, change)| **change != UseSum::default()) {
            add_uses(connection, position, key, *change)?;
        }
        let mut more = MixSums::default();
        for (head, told) in &self.ended {
            more.add_ended(head, told);
        }
        write_marks(connection, position, &more.marks)?;
        for ((span, first, toner), pours) in more.pours {
            let sql = "SELECT name, number, pours, over, above, worst FROM pour_sums
                       WHERE span = ?1 AND first = ?2 AND toner = ?3";
            let found = |row: &Row<'_>| many(row, 0, &toner);
            let kept =
                connection.prepare_cached(sql)?.query_row((span.word(), first, &toner), found).optional()?;
            let sum = kept.map(|mut kept| {
                kept.add(&pours);
                kept
            });
            write_pours(connection, position, (span, first, &toner), sum.as_ref(), &pours)?;
        }
        for ((span, first, way), choices) in more.choices {
            let key = (span.word(), first, &way);
            let sql = "SELECT choices FROM choice_sums WHERE span = ?1 AND first = ?2 AND way = ?3";
            let kept: Option<Choices> =
                connection.prepare_cached(sql)?.query_row(key, |row| from_json(row, 0)).optional()?;
            let is_new = kept.is_none();
            let mut sum = kept.unwrap_or_default();
            sum.add(&choices);
            let sql = if is_new {
                "INSERT INTO choice_sums (span, first, way, choices, event) VALUES (?1, ?2, ?3, ?4, ?5)"
            } else {
                "UPDATE choice_sums SET choices = ?4, event = ?5 WHERE span = ?1 AND first = ?2 AND way = ?3"
            };
            connection.prepare_cached(sql)?.execute((key.0, key.1, key.2, to_json(&sum)?, position))?;
        }
        Ok(())
    }
}

fn write_marks(connection: &Connection, position: i64, marks: &BTreeSet<MarkKey>) -> rusqlite::Result<()> {
    let sql = "INSERT INTO mix_marks (mark, begun, number, event) VALUES (?1, ?2, ?3, ?4)";
    let mut insert = connection.prepare_cached(sql)?;
    for (mark, begun, number) in marks {
        insert.execute((mark, begun.0, number, position))?;
    }
    Ok(())
}

/// Takes in the marks of every mix that has ended, into the empty table.
pub(super) fn fill_marks(connection: &Connection) -> rusqlite::Result<()> {
    let last: i64 =
        connection.query_row("SELECT coalesce(max(position), 0) FROM events", [], |row| row.get(0))?;
    let sql = format!(
        "SELECT {}, r.told FROM mix_reads AS r JOIN mix_heads AS h ON h.mix = r.mix
         WHERE r.is_summed = 1 ORDER BY h.begun, h.number",
        kept::HEAD
    );
    let mut query = connection.prepare(&sql)?;
    let mut rows = query.query([])?;
    while let Some(row) = rows.next()? {
        let marks = marks_of(&kept::head(row, 0)?, &told(row, 11)?).collect();
        write_marks(connection, last, &marks)?;
    }
    Ok(())
}

pub(super) fn many(row: &Row<'_>, from: usize, toner: &str) -> rusqlite::Result<ManyPours> {
    let at = |place: usize| from.saturating_add(place);
    let mut pours = no_pours(toner, row.get(at(0))?);
    (pours.pours, pours.over) = (row.get(at(2))?, row.get(at(3))?);
    (pours.by, pours.worst) = (Grams::new(decimal(row, at(4))?), Grams::new(decimal(row, at(5))?));
    Ok(ManyPours { number: row.get(at(1))?, pours })
}

/// Writes a toner's pours: the sum in the place of what is kept, or, where nothing is, what is new.
fn write_pours(
    connection: &Connection,
    position: i64,
    (span, first, toner): (Span, i64, &str),
    sum: Option<&ManyPours>,
    new: &ManyPours,
) -> rusqlite::Result<()> {
    let sql = if sum.is_some() {
        "UPDATE pour_sums SET name = ?4, number = ?5, pours = ?6, over = ?7, above = ?8, worst = ?9, event = ?10
         WHERE span = ?1 AND first = ?2 AND toner = ?3"
    } else {
        "INSERT INTO pour_sums (span, first, toner, name, number, pours, over, above, worst, event)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)"
    };
    let ManyPours { number, pours } = sum.unwrap_or(new);
    let text = |mass: Grams| mass.decimal().normalize().to_string();
    let values = (
        span.word(),
        first,
        toner,
        &pours.name,
        number,
        pours.pours,
        pours.over,
        text(pours.by),
        text(pours.worst),
        position,
    );
    connection.prepare_cached(sql)?.execute(values)?;
    Ok(())
}

fn add_sum(connection: &Connection, position: i64, key: &SumKey, change: &Sum) -> rusqlite::Result<()> {
    use rusqlite::types::Value;
    let texts = |text: &str| Value::Text(text.to_owned());
    let mut values = vec![
        texts(key.span.word()),
        texts(key.apart.word()),
        Value::Integer(key.first),
        texts(&key.key),
        texts(&key.more),
        Value::Integer(position),
    ];
    values.extend(change.numbers().map(Value::Integer));
    if connection.prepare_cached(&ADD)?.execute(params_from_iter(&values))? == 0 {
        connection.prepare_cached(&PUT)?.execute(params_from_iter(&values))?;
    }
    Ok(())
}

/// Adds to a sum. The values' places are those of [`PUT`].
static ADD: LazyLock<String> = LazyLock::new(|| {
    let updates: Vec<String> =
        COLUMNS.iter().zip(7_usize..).map(|(name, place)| format!("{name} = {name} + ?{place}")).collect();
    format!(
        "UPDATE mix_sums SET {}, event = ?6 WHERE span = ?1 AND apart = ?2 AND first = ?3 AND key = ?4 AND more = ?5",
        updates.join(", ")
    )
});

/// Begins a sum.
static PUT: LazyLock<String> = LazyLock::new(|| {
    let places: Vec<String> = (1..=NUMBERS.saturating_add(6)).map(|place| format!("?{place}")).collect();
    format!(
        "INSERT INTO mix_sums (span, apart, first, key, more, event, {}) VALUES ({})",
        COLUMNS.join(", "),
        places.join(", ")
    )
});

fn add_uses(
    connection: &Connection,
    position: i64,
    (key, toner): &UseKey,
    change: UseSum,
) -> rusqlite::Result<()> {
    let values = (
        key.span.word(),
        key.apart.word(),
        key.first,
        &key.key,
        &key.more,
        toner,
        change.poured,
        change.reused,
        position,
    );
    let sql = "
        UPDATE use_sums SET poured = poured + ?7, reused = reused + ?8, event = ?9
        WHERE span = ?1 AND apart = ?2 AND first = ?3 AND key = ?4 AND more = ?5 AND toner = ?6";
    if connection.prepare_cached(sql)?.execute(values)? == 0 {
        let sql = "
            INSERT INTO use_sums (span, apart, first, key, more, toner, poured, reused, event)
            VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)";
        connection.prepare_cached(sql)?.execute(values)?;
    }
    Ok(())
}

/// Takes in every mix of the journal, into the empty tables.
pub(super) fn fill(connection: &Connection) -> rusqlite::Result<()> {
    fill_telling(connection, &mut |_| ())
}

/// The same; `tell` hears how far it is.
pub(super) fn fill_telling(connection: &Connection, tell: Tell<'_>) -> rusqlite::Result<()> {
    let mut far = Far { all: kept::mixes(connection)?, ..Far::begun("mixes read anew") };
    let last: i64 =
        connection.query_row("SELECT coalesce(max(position), 0) FROM events", [], |row| row.get(0))?;
    let mut receipts = connection
        .prepare("SELECT position, subject FROM events WHERE kind = 'tin/received' ORDER BY position")?;
    let mut receipts = receipts.query([])?;
    while let Some(row) = receipts.next()? {
        let (position, subject): (i64, MixId) = (row.get(0)?, row.get(1)?);
        for event in read::events(connection, subject)? {
            if let Some(label) = received(&event) {
                note_price(connection, label, TinPrice::of_receipt(&event.body), position)?;
            }
        }
    }
    let mut mixes = connection.prepare("SELECT mix FROM mix_heads ORDER BY number")?;
    let mut mixes = mixes.query([])?;
    let mut all = MixSums::default();
    while let Some(row) = mixes.next()? {
        tell(far);
        far.done = far.done.saturating_add(1);
        let mix: MixId = row.get(0)?;
        let Some(head) = head(connection, mix)? else { continue };
        let mut told = from_journal(connection, mix)?.read(&mut |label| price_of(connection, label))?;
        told.of_kept = of_kept(connection, mix)?;
        write_read(connection, last, mix, &told, head.ended.is_some())?;
        if head.ended.is_some() {
            all.add_ended(&head, &told);
        }
    }
    for (key, sum) in &all.sums {
        add_sum(connection, last, key, sum)?;
    }
    for (key, uses) in &all.uses {
        add_uses(connection, last, key, *uses)?;
    }
    for ((span, first, toner), pours) in &all.pours {
        write_pours(connection, last, (*span, *first, toner), None, pours)?;
    }
    let sql = "INSERT INTO choice_sums (span, first, way, choices, event) VALUES (?1, ?2, ?3, ?4, ?5)";
    for ((span, first, way), choices) in &all.choices {
        connection.prepare_cached(sql)?.execute((span.word(), first, way, to_json(choices)?, last))?;
    }
    Ok(())
}
