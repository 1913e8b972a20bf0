//! The tables of version 11: what was used of a toner on a day in one row, and the mixes in which something went over, by
//! what it was.

use super::kept_sql::guarded;
use super::sums_sql::telling;

/// The tables alone.
///
/// A day's row of `daily` follows from one reason, and the use of years by day is a quarter of a million of them; here each
/// toner has one row a day. What comes into `daily` comes into it, so that a posting is looked at no second time.
macro_rules! tables {
    () => {
        "
CREATE TABLE day_uses (
    day INTEGER NOT NULL, -- as in daily
    toner TEXT NOT NULL,
    received INTEGER NOT NULL, -- micrograms of each of these flows, for whatever reason
    poured INTEGER NOT NULL,
    reused INTEGER NOT NULL,
    missing INTEGER NOT NULL,
    discarded INTEGER NOT NULL,
    event INTEGER NOT NULL,
    place INTEGER NOT NULL,
    PRIMARY KEY (day, toner)
) STRICT, WITHOUT ROWID;

CREATE TABLE mix_marks (
    mark TEXT NOT NULL, -- 'over:' and the toner's code, 'put-right' or 'given-up'
    begun INTEGER NOT NULL, -- as in mix_heads
    number INTEGER NOT NULL,
    event INTEGER NOT NULL,
    PRIMARY KEY (mark, begun, number)
) STRICT, WITHOUT ROWID;
"
    };
}

/// What fills the days from those there are.
macro_rules! days {
    () => {
        "
INSERT INTO day_uses
SELECT day, toner, sum(iif(what = 'received', micrograms, 0)), sum(iif(what = 'poured', micrograms, 0)),
    sum(iif(what = 'reused', micrograms, 0)), sum(iif(what = 'missing', micrograms, 0)),
    sum(iif(what = 'discarded', micrograms, 0)), max(event), max(place)
FROM daily WHERE what IN ('received', 'poured', 'reused', 'missing', 'discarded') GROUP BY day, toner;
"
    };
}

/// What takes in one posting more, by way of its day.
macro_rules! taken {
    ($name:literal, $when:literal, $amount:literal) => {
        concat!(
            "
CREATE TRIGGER ",
            $name,
            " AFTER ",
            $when,
            " ON daily
WHEN NEW.what IN ('received', 'poured', 'reused', 'missing', 'discarded') BEGIN
    UPDATE day_uses SET
        received = received + iif(NEW.what = 'received', ",
            $amount,
            ", 0), poured = poured + iif(NEW.what = 'poured', ",
            $amount,
            ", 0),
        reused = reused + iif(NEW.what = 'reused', ",
            $amount,
            ", 0), missing = missing + iif(NEW.what = 'missing', ",
            $amount,
            ", 0),
        discarded = discarded + iif(NEW.what = 'discarded', ",
            $amount,
            ", 0), event = NEW.event, place = NEW.place
    WHERE day = NEW.day AND toner = NEW.toner;
    INSERT INTO day_uses
    SELECT NEW.day, NEW.toner, iif(NEW.what = 'received', ",
            $amount,
            ", 0), iif(NEW.what = 'poured', ",
            $amount,
            ", 0),
        iif(NEW.what = 'reused', ",
            $amount,
            ", 0), iif(NEW.what = 'missing', ",
            $amount,
            ", 0),
        iif(NEW.what = 'discarded', ",
            $amount,
            ", 0), NEW.event, NEW.place
    WHERE NOT EXISTS (SELECT 1 FROM day_uses WHERE day = NEW.day AND toner = NEW.toner);
END;
"
        )
    };
}

/// What keeps them from being written by hand.
macro_rules! guards {
    () => {
        concat!(
            guarded!(
                "day_uses",
                "day = NEW.day AND toner = NEW.toner",
                "NEW.day IS OLD.day AND NEW.toner IS OLD.toner AND (NEW.event, NEW.place) > (OLD.event, OLD.place)
        AND EXISTS (SELECT 1 FROM flows WHERE event = NEW.event AND place = NEW.place AND day = NEW.day
            AND toner = NEW.toner AND what IN ('received', 'poured', 'reused', 'missing', 'discarded')
            AND iif(what = 'received', amount, 0) = NEW.received - OLD.received
            AND iif(what = 'poured', amount, 0) = NEW.poured - OLD.poured
            AND iif(what = 'reused', amount, 0) = NEW.reused - OLD.reused
            AND iif(what = 'missing', amount, 0) = NEW.missing - OLD.missing
            AND iif(what = 'discarded', amount, 0) = NEW.discarded - OLD.discarded)",
                "SELECT 1 FROM flows WHERE event = NEW.event AND place = NEW.place AND day = NEW.day
            AND toner = NEW.toner AND what IN ('received', 'poured', 'reused', 'missing', 'discarded')
            AND iif(what = 'received', amount, 0) = NEW.received AND iif(what = 'poured', amount, 0) = NEW.poured
            AND iif(what = 'reused', amount, 0) = NEW.reused AND iif(what = 'missing', amount, 0) = NEW.missing
            AND iif(what = 'discarded', amount, 0) = NEW.discarded"
            ),
            guarded!(
                "mix_marks",
                "mark = NEW.mark AND begun = NEW.begun AND number = NEW.number",
                "0",
                concat!(
                    telling!(),
                    " AND EXISTS (SELECT 1 FROM mix_heads WHERE mix = e.subject AND number = NEW.number
                AND begun = NEW.begun AND outcome IS NOT NULL)"
                )
            )
        )
    };
}

/// The tables, the days, and what takes in one posting more; the marks are filled after: version 11.
pub(super) const V11: &str = concat!(
    tables!(),
    days!(),
    taken!("daily_used_first", "INSERT", "NEW.micrograms"),
    taken!("daily_used", "UPDATE", "(NEW.micrograms - OLD.micrograms)")
);

/// What guards them, once they are filled: version 12.
pub(super) const V12: &str = guards!();

/// Takes them away again, so that they can be made anew.
pub(super) const WITHOUT_FOUND: &str = "
DROP TRIGGER IF EXISTS daily_used_first;
DROP TRIGGER IF EXISTS daily_used;
DROP TABLE IF EXISTS day_uses;
DROP TABLE IF EXISTS mix_marks;
";
