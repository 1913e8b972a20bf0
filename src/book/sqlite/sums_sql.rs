//! The tables of sums: weeks and months of postings, and what mixes came to by the time they were begun in.
//!
//! What a mix tells is more than a statement can reckon, so [`super::sums`] fills those of mixes; the weeks and months are
//! filled by statements, as the days are.

use super::kept_sql::guarded;

/// The tables, and what takes in a posting from now on: version 7.
pub(super) const V7: &str = "
-- The days of `daily`, a week (from Monday) or a month together.
CREATE TABLE spans (
    span TEXT NOT NULL, -- 'week' or 'month'
    first INTEGER NOT NULL, -- its first day, as in daily; a day outside of the years 0 to 9999 stands alone
    what TEXT NOT NULL,
    why TEXT NOT NULL,
    toner TEXT NOT NULL,
    micrograms INTEGER NOT NULL,
    event INTEGER NOT NULL,
    place INTEGER NOT NULL,
    PRIMARY KEY (span, first, what, why, toner)
) STRICT, WITHOUT ROWID;

-- What each mix tells, and in one row what became of its paint.
CREATE TABLE mix_reads (
    mix TEXT NOT NULL PRIMARY KEY,
    poured INTEGER NOT NULL, -- micrograms
    reused INTEGER NOT NULL,
    drawn_off INTEGER NOT NULL,
    sprayed INTEGER NOT NULL,
    kept INTEGER NOT NULL,
    thrown INTEGER NOT NULL,
    abandoned INTEGER NOT NULL,
    told TEXT NOT NULL,
    is_summed INTEGER NOT NULL, -- 1 from when it is done or given up: it is in the sums then
    event INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX mix_heads_open_by_time ON mix_heads (begun) WHERE outcome IS NULL;

-- What a tin cost, by the receipt it came with.
CREATE TABLE tin_prices (
    label TEXT NOT NULL PRIMARY KEY,
    price TEXT, -- of the whole tin, in the shop's currency; null if the receipt says none
    net TEXT, -- grams
    event INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- What the mixes that were begun in a span and have ended came to: micrograms, and millionths of the shop's currency.
CREATE TABLE mix_sums (
    span TEXT NOT NULL, -- 'hour', 'day' or 'month', of UTC
    apart TEXT NOT NULL, -- 'all', 'layer', 'painter', 'colour' or 'reason'
    first INTEGER NOT NULL, -- its first hour since 1970-01-01: datetime(first * 3600, 'unixepoch')
    key TEXT NOT NULL, -- the layer, the painter, the colour's code, the fate
    more TEXT NOT NULL, -- the variant, the reason
    mixes INTEGER NOT NULL,
    sprayed INTEGER NOT NULL, sprayed_cost INTEGER NOT NULL,
    kept INTEGER NOT NULL, kept_cost INTEGER NOT NULL,
    in_cup INTEGER NOT NULL, in_cup_cost INTEGER NOT NULL,
    drawn_off INTEGER NOT NULL, drawn_off_cost INTEGER NOT NULL,
    thrown INTEGER NOT NULL, thrown_cost INTEGER NOT NULL,
    abandoned INTEGER NOT NULL, abandoned_cost INTEGER NOT NULL,
    by_tin INTEGER NOT NULL, by_formula INTEGER NOT NULL, unpriced INTEGER NOT NULL,
    reused INTEGER NOT NULL,
    kept_used_again INTEGER NOT NULL, kept_thrown INTEGER NOT NULL, kept_still_there INTEGER NOT NULL,
    unreadable INTEGER NOT NULL,
    event INTEGER NOT NULL,
    PRIMARY KEY (span, apart, first, key, more)
) STRICT, WITHOUT ROWID;

-- What those mixes were poured from, by layer, painter and colour.
CREATE TABLE use_sums (
    span TEXT NOT NULL,
    apart TEXT NOT NULL,
    first INTEGER NOT NULL,
    key TEXT NOT NULL,
    more TEXT NOT NULL,
    toner TEXT NOT NULL,
    poured INTEGER NOT NULL, -- micrograms, out of tins
    reused INTEGER NOT NULL, -- out of leftovers
    event INTEGER NOT NULL,
    PRIMARY KEY (span, apart, first, key, more, toner)
) STRICT, WITHOUT ROWID;

-- How often a toner was poured in those mixes, and how often that was more than is right.
CREATE TABLE pour_sums (
    span TEXT NOT NULL,
    first INTEGER NOT NULL,
    toner TEXT NOT NULL,
    name TEXT NOT NULL, -- as the formula of the last of those mixes has it
    number INTEGER NOT NULL, -- of that mix
    pours INTEGER NOT NULL,
    over INTEGER NOT NULL,
    above TEXT NOT NULL, -- grams, a decimal
    worst TEXT NOT NULL,
    event INTEGER NOT NULL,
    PRIMARY KEY (span, first, toner)
) STRICT, WITHOUT ROWID;

-- What was chosen in those mixes when something had gone wrong.
CREATE TABLE choice_sums (
    span TEXT NOT NULL,
    first INTEGER NOT NULL,
    way TEXT NOT NULL, -- nothing: the mix was given up
    choices TEXT NOT NULL CHECK (json_valid(choices)),
    event INTEGER NOT NULL,
    PRIMARY KEY (span, first, way)
) STRICT, WITHOUT ROWID;

DROP VIEW mix_totals;
CREATE VIEW mix_totals AS
SELECT h.mix, h.number, h.begun, h.operator, h.colour, h.variant, h.layer, h.ended, h.outcome, h.emptied, h.use_by,
    h.job, coalesce(r.poured, 0) AS poured, coalesce(r.reused, 0) AS reused, coalesce(r.drawn_off, 0) AS drawn_off,
    coalesce(r.sprayed, 0) AS sprayed, coalesce(r.kept, 0) AS kept, coalesce(r.thrown, 0) AS thrown,
    coalesce(r.abandoned, 0) AS abandoned,
    coalesce(c.millionths, 0) AS cost_millionths, coalesce(c.unpriced, 0) AS unpriced, r.told AS told
FROM mix_heads AS h
LEFT JOIN mix_reads AS r ON r.mix = h.mix
LEFT JOIN mix_costs AS c ON c.mix = h.mix;

DROP TRIGGER postings_counted;
DROP VIEW take_postings;
DROP TABLE mix_flows;

CREATE VIEW week_flows AS
SELECT event, place, 'week' AS span,
    CASE WHEN day BETWEEN -719528 AND 2932896 THEN day - ((day + 3) % 7 + 7) % 7 ELSE day END AS first,
    what, why, toner, amount
FROM flows;
CREATE VIEW month_flows AS
SELECT event, place, 'month' AS span,
    CASE WHEN day BETWEEN -719528 AND 2932896
        THEN unixepoch(day * 86400, 'unixepoch', 'start of month') / 86400 ELSE day END AS first,
    what, why, toner, amount
FROM flows;
CREATE VIEW span_flows AS SELECT * FROM week_flows UNION ALL SELECT * FROM month_flows;

CREATE VIEW take_postings AS SELECT event, place FROM postings;
CREATE TRIGGER take_posting INSTEAD OF INSERT ON take_postings BEGIN
    UPDATE balances SET micrograms = balances.micrograms + p.micrograms, event = p.event, place = p.place
    FROM (SELECT * FROM postings WHERE event = NEW.event AND place = NEW.place) AS p
    WHERE balances.account = p.account AND balances.toner = p.toner;
    INSERT INTO balances SELECT account, toner, micrograms, event, place
    FROM postings AS p WHERE event = NEW.event AND place = NEW.place
        AND NOT EXISTS (SELECT 1 FROM balances WHERE account = p.account AND toner = p.toner);
    UPDATE daily SET micrograms = daily.micrograms + f.amount, event = f.event, place = f.place
    FROM (SELECT * FROM flows WHERE event = NEW.event AND place = NEW.place) AS f
    WHERE daily.day = f.day AND daily.what = f.what AND daily.why = f.why AND daily.toner = f.toner;
    INSERT INTO daily SELECT day, what, why, toner, amount, event, place
    FROM flows AS f WHERE event = NEW.event AND place = NEW.place AND NOT EXISTS (
        SELECT 1 FROM daily WHERE day = f.day AND what = f.what AND why = f.why AND toner = f.toner);
    UPDATE spans SET micrograms = spans.micrograms + f.amount, event = f.event, place = f.place
    FROM (SELECT * FROM week_flows WHERE event = NEW.event AND place = NEW.place) AS f
    WHERE spans.span = f.span AND spans.first = f.first AND spans.what = f.what AND spans.why = f.why
        AND spans.toner = f.toner;
    INSERT INTO spans SELECT span, first, what, why, toner, amount, event, place
    FROM week_flows AS f WHERE event = NEW.event AND place = NEW.place AND NOT EXISTS (
        SELECT 1 FROM spans WHERE span = f.span AND first = f.first AND what = f.what AND why = f.why
            AND toner = f.toner);
    UPDATE spans SET micrograms = spans.micrograms + f.amount, event = f.event, place = f.place
    FROM (SELECT * FROM month_flows WHERE event = NEW.event AND place = NEW.place) AS f
    WHERE spans.span = f.span AND spans.first = f.first AND spans.what = f.what AND spans.why = f.why
        AND spans.toner = f.toner;
    INSERT INTO spans SELECT span, first, what, why, toner, amount, event, place
    FROM month_flows AS f WHERE event = NEW.event AND place = NEW.place AND NOT EXISTS (
        SELECT 1 FROM spans WHERE span = f.span AND first = f.first AND what = f.what AND why = f.why
            AND toner = f.toner);
END;

-- The days there are, put together.
INSERT INTO spans
SELECT s.span,
    CASE WHEN d.day NOT BETWEEN -719528 AND 2932896 THEN d.day
        WHEN s.span = 'week' THEN d.day - ((d.day + 3) % 7 + 7) % 7
        ELSE unixepoch(d.day * 86400, 'unixepoch', 'start of month') / 86400 END AS first,
    d.what, d.why, d.toner, sum(d.micrograms), max(d.event), max(d.place)
FROM daily AS d CROSS JOIN (SELECT 'week' AS span UNION ALL SELECT 'month') AS s
GROUP BY 1, 2, 3, 4, 5;

CREATE TRIGGER postings_counted AFTER INSERT ON postings
BEGIN INSERT INTO take_postings VALUES (NEW.event, NEW.place); END;
";

/// Events that can change what a mix told: its own, a tin's receipt, and what moves a leftover.
macro_rules! telling {
    () => {
        "SELECT 1 FROM events AS e WHERE e.position = NEW.event AND (e.kind GLOB 'mix/*' OR e.kind = 'tin/received'
            OR EXISTS (SELECT 1 FROM postings WHERE event = e.position AND account GLOB 'leftover:*'))"
    };
}

/// What keeps them from being written otherwise, once they are filled: version 8.
pub(super) const V8: &str = concat!(
    guarded!(
        "spans",
        "span = NEW.span AND first = NEW.first AND what = NEW.what AND why = NEW.why AND toner = NEW.toner",
        "NEW.span IS OLD.span AND NEW.first IS OLD.first AND NEW.what IS OLD.what AND NEW.why IS OLD.why
            AND NEW.toner IS OLD.toner AND (NEW.event, NEW.place) > (OLD.event, OLD.place)
            AND EXISTS (SELECT 1 FROM span_flows WHERE event = NEW.event AND place = NEW.place AND span = NEW.span
                AND first = NEW.first AND what = NEW.what AND why = NEW.why AND toner = NEW.toner
                AND amount = NEW.micrograms - OLD.micrograms)",
        "SELECT 1 FROM span_flows WHERE event = NEW.event AND place = NEW.place AND span = NEW.span
            AND first = NEW.first AND what = NEW.what AND why = NEW.why AND toner = NEW.toner
            AND amount = NEW.micrograms"
    ),
    guarded!(
        "mix_reads",
        "mix = NEW.mix",
        concat!(
            "NEW.mix IS OLD.mix AND NEW.is_summed >= OLD.is_summed AND NEW.event > OLD.event AND EXISTS (",
            telling!(),
            " AND (e.subject = NEW.mix OR e.kind = 'tin/received' OR EXISTS (
                SELECT 1 FROM postings WHERE event = e.position AND account = 'leftover:' || NEW.mix)))"
        ),
        concat!(telling!(), " AND e.subject = NEW.mix")
    ),
    guarded!(
        "tin_prices",
        "label = NEW.label",
        "0",
        "SELECT 1 FROM events AS e JOIN postings AS p ON p.event = e.position WHERE e.position = NEW.event
            AND e.kind = 'tin/received' AND p.account = 'tin:' || NEW.label AND p.micrograms > 0"
    ),
    guarded!(
        "mix_sums",
        "span = NEW.span AND apart = NEW.apart AND first = NEW.first AND key = NEW.key AND more = NEW.more",
        concat!(
            "NEW.span IS OLD.span AND NEW.apart IS OLD.apart AND NEW.first IS OLD.first AND NEW.key IS OLD.key
                AND NEW.more IS OLD.more AND NEW.event > OLD.event AND EXISTS (",
            telling!(),
            ")"
        ),
        telling!()
    ),
    guarded!(
        "use_sums",
        "span = NEW.span AND apart = NEW.apart AND first = NEW.first AND key = NEW.key AND more = NEW.more
            AND toner = NEW.toner",
        concat!(
            "NEW.span IS OLD.span AND NEW.apart IS OLD.apart AND NEW.first IS OLD.first AND NEW.key IS OLD.key
                AND NEW.more IS OLD.more AND NEW.toner IS OLD.toner AND NEW.event > OLD.event AND EXISTS (",
            telling!(),
            ")"
        ),
        telling!()
    ),
    guarded!(
        "pour_sums",
        "span = NEW.span AND first = NEW.first AND toner = NEW.toner",
        concat!(
            "NEW.span IS OLD.span AND NEW.first IS OLD.first AND NEW.toner IS OLD.toner AND NEW.pours > OLD.pours
                AND NEW.event > OLD.event AND EXISTS (",
            telling!(),
            ")"
        ),
        telling!()
    ),
    guarded!(
        "choice_sums",
        "span = NEW.span AND first = NEW.first AND way = NEW.way",
        concat!(
            "NEW.span IS OLD.span AND NEW.first IS OLD.first AND NEW.way IS OLD.way AND NEW.event > OLD.event
                AND EXISTS (",
            telling!(),
            ")"
        ),
        telling!()
    ),
);

/// The mixes behind a sum are found without looking through the others, and so are those whose cups wait: version 9.
pub(super) const V9: &str = "
CREATE INDEX mix_heads_by_layer ON mix_heads (ifnull(layer, ''), begun);
CREATE INDEX mix_heads_by_painter ON mix_heads (operator, begun);
CREATE INDEX mix_heads_by_subject ON mix_heads (ifnull(colour, ''), ifnull(variant, ''), begun);
CREATE INDEX mix_heads_in_cups ON mix_heads (begun) WHERE outcome = 'mix/finished' AND emptied IS NULL;
";

/// What mixes tell as a table by number of its row, with an index of mixes: version 10, its table.
///
/// As a table by its key (`WITHOUT ROWID`), each step of finding a mix read all that some other mix tells: some four rows
/// were on a page inside the tree, and what was longer than a quarter of a page was fetched from pages of its own, with
/// every pour.
macro_rules! reads_by_row {
    () => {
        "
DROP VIEW mix_totals;
DROP TRIGGER IF EXISTS mix_reads_come;
DROP TRIGGER IF EXISTS mix_reads_change;
DROP TRIGGER IF EXISTS mix_reads_remain;
ALTER TABLE mix_reads RENAME TO mix_reads_before;
CREATE TABLE mix_reads (
    mix TEXT NOT NULL PRIMARY KEY,
    poured INTEGER NOT NULL, -- micrograms
    reused INTEGER NOT NULL,
    drawn_off INTEGER NOT NULL,
    sprayed INTEGER NOT NULL,
    kept INTEGER NOT NULL,
    thrown INTEGER NOT NULL,
    abandoned INTEGER NOT NULL,
    told TEXT NOT NULL,
    is_summed INTEGER NOT NULL, -- 1 from when it is done or given up: it is in the sums then
    event INTEGER NOT NULL
) STRICT;
INSERT INTO mix_reads
SELECT mix, poured, reused, drawn_off, sprayed, kept, thrown, abandoned, told, is_summed, event
FROM mix_reads_before ORDER BY mix;
DROP TABLE mix_reads_before;
CREATE VIEW mix_totals AS
SELECT h.mix, h.number, h.begun, h.operator, h.colour, h.variant, h.layer, h.ended, h.outcome, h.emptied, h.use_by,
    h.job, coalesce(r.poured, 0) AS poured, coalesce(r.reused, 0) AS reused, coalesce(r.drawn_off, 0) AS drawn_off,
    coalesce(r.sprayed, 0) AS sprayed, coalesce(r.kept, 0) AS kept, coalesce(r.thrown, 0) AS thrown,
    coalesce(r.abandoned, 0) AS abandoned,
    coalesce(c.millionths, 0) AS cost_millionths, coalesce(c.unpriced, 0) AS unpriced, r.told AS told
FROM mix_heads AS h
LEFT JOIN mix_reads AS r ON r.mix = h.mix
LEFT JOIN mix_costs AS c ON c.mix = h.mix;
"
    };
}

/// What keeps that table from being written by hand, in the place of what did so before.
macro_rules! reads_guarded {
    () => {
        concat!(
            "
DROP TRIGGER IF EXISTS mix_reads_come;
DROP TRIGGER IF EXISTS mix_reads_change;
DROP TRIGGER IF EXISTS mix_reads_remain;
",
            guarded!(
                "mix_reads",
                "mix = NEW.mix OR rowid = NEW.rowid",
                concat!(
                    "NEW.mix IS OLD.mix AND NEW.rowid IS OLD.rowid AND NEW.is_summed >= OLD.is_summed
        AND NEW.event > OLD.event AND EXISTS (",
                    telling!(),
                    " AND (e.subject = NEW.mix OR e.kind = 'tin/received' OR EXISTS (
                SELECT 1 FROM postings WHERE event = e.position AND account = 'leftover:' || NEW.mix)))"
                ),
                concat!(telling!(), " AND e.subject = NEW.mix")
            )
        )
    };
}

pub(super) use telling;

/// Both of it: version 10.
pub(super) const V10: &str = concat!(reads_by_row!(), reads_guarded!());

/// The table alone, for what is to be filled yet.
pub(super) const READS_BY_ROW: &str = reads_by_row!();

/// What guards it, once it is filled.
pub(super) const READS_GUARDED: &str = reads_guarded!();

/// Takes all of it away again, so that it can be made anew.
pub(super) const WITHOUT_SUMS: &str = "
DROP INDEX IF EXISTS mix_heads_open_by_time;
DROP INDEX IF EXISTS mix_heads_by_layer;
DROP INDEX IF EXISTS mix_heads_by_painter;
DROP INDEX IF EXISTS mix_heads_by_subject;
DROP INDEX IF EXISTS mix_heads_in_cups;
DROP VIEW IF EXISTS span_flows;
DROP VIEW IF EXISTS week_flows;
DROP VIEW IF EXISTS month_flows;
DROP TABLE IF EXISTS spans;
DROP TABLE IF EXISTS mix_reads;
DROP TABLE IF EXISTS tin_prices;
DROP TABLE IF EXISTS mix_sums;
DROP TABLE IF EXISTS use_sums;
DROP TABLE IF EXISTS pour_sums;
DROP TABLE IF EXISTS choice_sums;
";
