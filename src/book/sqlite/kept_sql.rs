//! The tables of figures kept beside the journal, so that nothing has to be added up anew when it is asked for.
//!
//! They follow from the journal and say nothing of their own: the same statements fill them from a whole journal and take
//! in one event more, and what they come to is held against another reckoning by `check`. No row can be changed by hand:
//! each remembers the event it was last changed by, and takes nothing but the event that is written just now.

/// A text in an event's body; null if it is anything else.
macro_rules! text {
    ($path:literal) => {
        concat!("CASE json_type(body, '", $path, "') WHEN 'text' THEN json_extract(body, '", $path, "') END")
    };
}

/// Keeps a table from being written by hand: a row comes or changes with the event that was written last, once, by what
/// that event says.
macro_rules! guarded {
    ($table:expr, $key:expr, $later:expr, $said:expr) => {
        concat!(
            "
CREATE TRIGGER ",
            $table,
            "_come BEFORE INSERT ON ",
            $table,
            "
WHEN NEW.event IS NOT (SELECT max(position) FROM events) OR EXISTS (SELECT 1 FROM ",
            $table,
            " WHERE ",
            $key,
            ")
    OR NOT EXISTS (",
            $said,
            ")
BEGIN SELECT RAISE(ABORT, 'these figures follow from the journal: they are never written by hand'); END;
CREATE TRIGGER ",
            $table,
            "_change BEFORE UPDATE ON ",
            $table,
            "
WHEN NEW.event IS NOT (SELECT max(position) FROM events) OR NOT (",
            $later,
            ")
BEGIN SELECT RAISE(ABORT, 'these figures follow from the journal: they are never changed by hand'); END;
CREATE TRIGGER ",
            $table,
            "_remain BEFORE DELETE ON ",
            $table,
            "
BEGIN SELECT RAISE(ABORT, 'these figures follow from the journal: they are never deleted'); END;
"
        )
    };
}

pub(super) use guarded;
pub(super) use text;

/// The tables and what fills them: version 3.
pub(super) const V3: &str = concat!(
    "
CREATE TABLE balances (
    account TEXT NOT NULL,
    toner TEXT NOT NULL,
    micrograms INTEGER NOT NULL,
    event INTEGER NOT NULL, -- the posting counted last
    place INTEGER NOT NULL,
    PRIMARY KEY (account, toner)
) STRICT, WITHOUT ROWID;
CREATE INDEX balances_held ON balances (account, toner, micrograms) WHERE micrograms <> 0;

CREATE TABLE daily (
    day INTEGER NOT NULL, -- since 1970-01-01, of UTC: date(day * 86400, 'unixepoch')
    what TEXT NOT NULL, -- as in flows
    why TEXT NOT NULL,
    toner TEXT NOT NULL,
    micrograms INTEGER NOT NULL,
    event INTEGER NOT NULL,
    place INTEGER NOT NULL,
    PRIMARY KEY (day, what, why, toner)
) STRICT, WITHOUT ROWID;

CREATE TABLE mix_flows (
    mix TEXT NOT NULL,
    what TEXT NOT NULL, -- as in flows
    micrograms INTEGER NOT NULL,
    event INTEGER NOT NULL,
    place INTEGER NOT NULL,
    PRIMARY KEY (mix, what)
) STRICT, WITHOUT ROWID;

CREATE TABLE mix_heads (
    mix TEXT NOT NULL PRIMARY KEY,
    number INTEGER NOT NULL UNIQUE,
    begun INTEGER NOT NULL, -- microseconds, as events.at
    operator TEXT NOT NULL,
    colour TEXT,
    variant TEXT,
    layer TEXT,
    ended INTEGER,
    outcome TEXT, -- 'mix/finished' or 'mix/abandoned'
    emptied INTEGER,
    use_by TEXT,
    job TEXT,
    event INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX mix_heads_by_colour ON mix_heads (colour, variant, layer) WHERE emptied IS NOT NULL;
CREATE INDEX mix_heads_by_job ON mix_heads (job) WHERE job IS NOT NULL;
CREATE INDEX mix_heads_by_time ON mix_heads (begun);

CREATE TABLE mix_costs (
    mix TEXT NOT NULL PRIMARY KEY,
    millionths INTEGER NOT NULL, -- of the shop's currency
    unpriced INTEGER NOT NULL, -- micrograms of toners without a price
    event INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE tins (
    label TEXT NOT NULL PRIMARY KEY,
    toner TEXT NOT NULL,
    lot TEXT,
    expires TEXT,
    item TEXT,
    supplier TEXT,
    net TEXT, -- grams
    empty TEXT, -- grams
    received INTEGER, -- microseconds, as events.at; the last time for each of these
    opened INTEGER,
    stirred INTEGER,
    counted INTEGER,
    emptied INTEGER,
    discarded INTEGER,
    event INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX tins_by_lot ON tins (lot) WHERE lot IS NOT NULL;
CREATE INDEX tins_by_toner ON tins (toner);
CREATE INDEX recalls ON events (position) WHERE kind = 'lot/recalled';

-- What a posting means: so much was received, poured, used again, drawn off, sprayed, kept, abandoned, thrown away,
-- discarded with its tin, or found missing.
CREATE VIEW flows AS
SELECT event, place, mix, day, what, why, toner,
       CASE WHEN what IN ('poured', 'reused') THEN -micrograms ELSE micrograms END AS amount
FROM (
    SELECT p.event, p.place, p.toner, p.micrograms,
        CASE WHEN e.kind GLOB 'mix/*' THEN e.subject END AS mix,
        e.at / 86400000000 - (e.at % 86400000000 < 0) AS day,
        CASE
            WHEN p.account GLOB 'tin:*' OR p.account GLOB 'tin[?]:*' THEN
                CASE WHEN e.kind GLOB 'mix/*' THEN 'poured' WHEN e.kind = 'tin/received' THEN 'received' END
            WHEN p.account GLOB 'leftover:*' THEN
                CASE WHEN e.kind = 'mix/leftover-added' THEN 'reused' WHEN e.kind GLOB 'mix/*' THEN 'kept' END
            WHEN p.account GLOB 'car:*' THEN 'sprayed'
            WHEN p.account = 'waste:drawn-off' THEN 'drawn-off'
            WHEN p.account GLOB 'waste:abandoned:*' THEN 'abandoned'
            WHEN p.account GLOB 'waste:left:*' THEN 'thrown'
            WHEN p.account GLOB 'waste:tin:*' THEN 'discarded'
            WHEN p.account GLOB 'difference:*' THEN 'missing'
        END AS what,
        CASE
            WHEN p.account GLOB 'waste:abandoned:*' THEN substr(p.account, 17)
            WHEN p.account GLOB 'waste:left:*' THEN substr(p.account, 12)
            WHEN p.account GLOB 'waste:tin:*' THEN substr(p.account, 11)
            WHEN p.account GLOB 'difference:*' THEN substr(p.account, 12)
            ELSE ''
        END AS why
    FROM postings AS p JOIN events AS e ON e.position = p.event
)
WHERE what IS NOT NULL;

-- What an event says of a tin.
CREATE VIEW tin_facts AS
SELECT position, kind,
    CASE kind WHEN 'mix/tin-taken' THEN ", text!("$.tin"), " ELSE ", text!("$.label"), " END AS label,
    ", text!("$.toner"), " AS toner,
    CASE kind WHEN 'mix/tin-taken' THEN ", text!("$.marks.lot"), " ELSE ", text!("$.lot"), " END AS lot,
    CASE kind WHEN 'mix/tin-taken' THEN ", text!("$.marks.expires"), " ELSE ", text!("$.expires"), " END AS expires,
    CASE kind WHEN 'mix/tin-taken' THEN ", text!("$.marks.item"), " ELSE ", text!("$.item"), " END AS item,
    ", text!("$.supplier"), " AS supplier,
    ", text!("$.net"), " AS net,
    ", text!("$.empty"), " AS empty,
    CASE kind WHEN 'tin/received' THEN at END AS received,
    CASE kind WHEN 'tin/opened' THEN at END AS opened,
    CASE kind WHEN 'tin/stirred' THEN at END AS stirred,
    CASE kind WHEN 'tin/counted' THEN at END AS counted,
    CASE kind WHEN 'tin/emptied' THEN at END AS emptied,
    CASE kind WHEN 'tin/discarded' THEN at END AS discarded
FROM events
WHERE kind IN ('tin/received', 'tin/opened', 'tin/stirred', 'tin/counted', 'tin/emptied', 'tin/discarded')
   OR (kind = 'mix/tin-taken' AND json_type(body, '$.marks') = 'object');

-- A mix in one row: micrograms of each flow, nothing where there was none.
CREATE VIEW mix_totals AS
SELECT h.mix, h.number, h.begun, h.operator, h.colour, h.variant, h.layer, h.ended, h.outcome, h.emptied, h.use_by,
    h.job, f.poured, f.reused, f.drawn_off, f.sprayed, f.kept, f.thrown, f.abandoned,
    coalesce(c.millionths, 0) AS cost_millionths, coalesce(c.unpriced, 0) AS unpriced
FROM mix_heads AS h
LEFT JOIN mix_costs AS c ON c.mix = h.mix
JOIN (
    SELECT mix,
        (SELECT coalesce(sum(micrograms), 0) FROM mix_flows WHERE mix = x.mix AND what = 'poured') AS poured,
        (SELECT coalesce(sum(micrograms), 0) FROM mix_flows WHERE mix = x.mix AND what = 'reused') AS reused,
        (SELECT coalesce(sum(micrograms), 0) FROM mix_flows WHERE mix = x.mix AND what = 'drawn-off') AS drawn_off,
        (SELECT coalesce(sum(micrograms), 0) FROM mix_flows WHERE mix = x.mix AND what = 'sprayed') AS sprayed,
        (SELECT coalesce(sum(micrograms), 0) FROM mix_flows WHERE mix = x.mix AND what = 'kept') AS kept,
        (SELECT coalesce(sum(micrograms), 0) FROM mix_flows WHERE mix = x.mix AND what = 'thrown') AS thrown,
        (SELECT coalesce(sum(micrograms), 0) FROM mix_flows WHERE mix = x.mix AND what = 'abandoned') AS abandoned
    FROM mix_heads AS x
) AS f ON f.mix = h.mix;

-- Writing an event's position into this takes it in.
CREATE VIEW take_events AS SELECT position FROM events;
CREATE TRIGGER take_event INSTEAD OF INSERT ON take_events BEGIN
    INSERT INTO mix_heads (mix, number, begun, operator, colour, variant, layer, event)
    SELECT subject, (SELECT coalesce(max(number), 0) + 1 FROM mix_heads), at, operator,
        ", text!("$.recipe.colour"), ", ", text!("$.recipe.variant"), ", ", text!("$.recipe.role"), ", position
    FROM events AS e WHERE position = NEW.position AND kind = 'mix/started'
        AND NOT EXISTS (SELECT 1 FROM mix_heads WHERE mix = e.subject);
    UPDATE mix_heads SET ended = e.at, outcome = e.kind, event = e.position
    FROM (SELECT * FROM events WHERE position = NEW.position AND kind IN ('mix/finished', 'mix/abandoned')) AS e
    WHERE mix_heads.mix = e.subject;
    UPDATE mix_heads SET emptied = e.at, use_by = e.use_by, job = e.job, event = e.position
    FROM (SELECT position, at, subject, ", text!("$.use_by"), " AS use_by, ", text!("$.job"), " AS job
          FROM events WHERE position = NEW.position AND kind = 'mix/emptied') AS e
    WHERE mix_heads.mix = e.subject;
    SELECT RAISE(ABORT, 'a tin with this label was received before: a label is used once')
    FROM tin_facts AS f JOIN tins AS t ON t.label = f.label
    WHERE f.position = NEW.position AND f.received IS NOT NULL AND t.received IS NOT NULL;
    -- A receipt says what a tin is; what a bench saw of it fills what was not said.
    UPDATE tins SET
        toner = iif(f.received IS NULL, tins.toner, f.toner),
        lot = iif(f.received IS NULL, coalesce(tins.lot, f.lot), coalesce(f.lot, tins.lot)),
        expires = iif(f.received IS NULL, coalesce(tins.expires, f.expires), coalesce(f.expires, tins.expires)),
        item = iif(f.received IS NULL, coalesce(tins.item, f.item), coalesce(f.item, tins.item)),
        supplier = coalesce(tins.supplier, f.supplier),
        net = coalesce(tins.net, f.net),
        empty = coalesce(f.empty, tins.empty),
        received = coalesce(f.received, tins.received),
        opened = coalesce(f.opened, tins.opened),
        stirred = coalesce(f.stirred, tins.stirred),
        counted = coalesce(f.counted, tins.counted),
        emptied = coalesce(f.emptied, tins.emptied),
        discarded = coalesce(f.discarded, tins.discarded),
        event = f.position
    FROM (SELECT * FROM tin_facts WHERE position = NEW.position) AS f
    WHERE tins.label = f.label AND (tins.toner = f.toner OR f.received IS NOT NULL);
    INSERT INTO tins
    SELECT label, toner, lot, expires, item, supplier, net, empty, received, opened, stirred, counted, emptied,
        discarded, position
    FROM tin_facts AS f WHERE position = NEW.position AND label IS NOT NULL AND toner IS NOT NULL
        AND NOT EXISTS (SELECT 1 FROM tins WHERE label = f.label);
END;

-- The same for a posting.
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
    UPDATE mix_flows SET micrograms = mix_flows.micrograms + f.amount, event = f.event, place = f.place
    FROM (SELECT * FROM flows WHERE event = NEW.event AND place = NEW.place) AS f
    WHERE mix_flows.mix = f.mix AND mix_flows.what = f.what;
    INSERT INTO mix_flows SELECT mix, what, amount, event, place
    FROM flows AS f WHERE event = NEW.event AND place = NEW.place AND mix IS NOT NULL AND NOT EXISTS (
        SELECT 1 FROM mix_flows WHERE mix = f.mix AND what = f.what);
END;

INSERT INTO take_events SELECT position FROM events ORDER BY position;
INSERT INTO take_postings SELECT event, place FROM postings ORDER BY event, place;

CREATE TRIGGER events_counted AFTER INSERT ON events
BEGIN INSERT INTO take_events VALUES (NEW.position); END;
CREATE TRIGGER postings_counted AFTER INSERT ON postings
BEGIN INSERT INTO take_postings VALUES (NEW.event, NEW.place); END;
"
);

/// What is not done yet is found without looking through all that was: version 5.
pub(super) const V5: &str = "
CREATE INDEX mix_heads_open ON mix_heads (number) WHERE outcome IS NULL;
";

/// What keeps them from being written otherwise, once they are filled: version 4.
pub(super) const V4: &str = concat!(
    guarded!(
        "balances",
        "account = NEW.account AND toner = NEW.toner",
        "NEW.account IS OLD.account AND NEW.toner IS OLD.toner AND (NEW.event, NEW.place) > (OLD.event, OLD.place)
            AND EXISTS (SELECT 1 FROM postings WHERE event = NEW.event AND place = NEW.place AND account = NEW.account
                AND toner = NEW.toner AND micrograms = NEW.micrograms - OLD.micrograms)",
        "SELECT 1 FROM postings WHERE event = NEW.event AND place = NEW.place AND account = NEW.account
            AND toner = NEW.toner AND micrograms = NEW.micrograms"
    ),
    guarded!(
        "daily",
        "day = NEW.day AND what = NEW.what AND why = NEW.why AND toner = NEW.toner",
        "NEW.day IS OLD.day AND NEW.what IS OLD.what AND NEW.why IS OLD.why AND NEW.toner IS OLD.toner
            AND (NEW.event, NEW.place) > (OLD.event, OLD.place)
            AND EXISTS (SELECT 1 FROM flows WHERE event = NEW.event AND place = NEW.place AND day = NEW.day
                AND what = NEW.what AND why = NEW.why AND toner = NEW.toner
                AND amount = NEW.micrograms - OLD.micrograms)",
        "SELECT 1 FROM flows WHERE event = NEW.event AND place = NEW.place AND day = NEW.day AND what = NEW.what
            AND why = NEW.why AND toner = NEW.toner AND amount = NEW.micrograms"
    ),
    guarded!(
        "mix_flows",
        "mix = NEW.mix AND what = NEW.what",
        "NEW.mix IS OLD.mix AND NEW.what IS OLD.what AND (NEW.event, NEW.place) > (OLD.event, OLD.place)
            AND EXISTS (SELECT 1 FROM flows WHERE event = NEW.event AND place = NEW.place AND mix = NEW.mix
                AND what = NEW.what AND amount = NEW.micrograms - OLD.micrograms)",
        "SELECT 1 FROM flows WHERE event = NEW.event AND place = NEW.place AND mix = NEW.mix AND what = NEW.what
            AND amount = NEW.micrograms"
    ),
    guarded!(
        "mix_heads",
        "mix = NEW.mix",
        "NEW.mix IS OLD.mix AND NEW.number IS OLD.number AND NEW.event > OLD.event
            AND EXISTS (SELECT 1 FROM events WHERE position = NEW.event AND subject = NEW.mix
                AND kind IN ('mix/finished', 'mix/abandoned', 'mix/emptied'))",
        "SELECT 1 FROM events WHERE position = NEW.event AND subject = NEW.mix AND kind = 'mix/started'"
    ),
    guarded!(
        "mix_costs",
        "mix = NEW.mix",
        "NEW.mix IS OLD.mix AND NEW.event > OLD.event AND EXISTS (
            SELECT 1 FROM events WHERE position = NEW.event AND subject = NEW.mix AND kind GLOB 'mix/*')",
        "SELECT 1 FROM events WHERE position = NEW.event AND subject = NEW.mix AND kind GLOB 'mix/*'"
    ),
    guarded!(
        "tins",
        "label = NEW.label",
        "NEW.label IS OLD.label AND NEW.event > OLD.event AND EXISTS (
            SELECT 1 FROM tin_facts WHERE position = NEW.event AND label = NEW.label
                AND (toner = OLD.toner OR received IS NOT NULL))",
        "SELECT 1 FROM tin_facts WHERE position = NEW.event AND label = NEW.label AND toner = NEW.toner"
    ),
);

/// Takes all of it away again, so that it can be made anew.
pub(super) const WITHOUT_FIGURES: &str = "
DROP TRIGGER IF EXISTS events_counted;
DROP TRIGGER IF EXISTS postings_counted;
DROP VIEW IF EXISTS take_events;
DROP VIEW IF EXISTS take_postings;
DROP VIEW IF EXISTS mix_totals;
DROP VIEW IF EXISTS tin_facts;
DROP VIEW IF EXISTS flows;
DROP INDEX IF EXISTS recalls;
DROP TABLE IF EXISTS balances;
DROP TABLE IF EXISTS daily;
DROP TABLE IF EXISTS mix_flows;
DROP TABLE IF EXISTS mix_heads;
DROP TABLE IF EXISTS mix_costs;
DROP TABLE IF EXISTS tins;
";
