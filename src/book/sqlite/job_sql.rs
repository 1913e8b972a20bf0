//! The kept tables of the repairs: what jobs there are, and which mixes were begun for one. Like the other figures they
//! follow from the journal alone.

use super::kept_sql::{guarded, text};

/// The tables, what fills them, and what keeps them from being written otherwise: version 6.
///
/// What fills them looks at the events of jobs and at the beginnings of mixes only, so that a pour costs what it did.
pub(super) const JOBS: &str = concat!(
    "
CREATE TABLE jobs (
    job TEXT NOT NULL PRIMARY KEY,
    number INTEGER NOT NULL UNIQUE,
    name TEXT NOT NULL UNIQUE, -- used once, as a tin's label
    vehicle TEXT,
    colour TEXT,
    variant TEXT,
    operator TEXT NOT NULL, -- who opened it
    opened INTEGER NOT NULL, -- microseconds, as events.at
    last INTEGER NOT NULL,
    closed INTEGER,
    event INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX jobs_open ON jobs (number) WHERE closed IS NULL;

CREATE TABLE mix_jobs (
    mix TEXT NOT NULL PRIMARY KEY,
    job TEXT NOT NULL, -- the name of the job it was begun for
    event INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX mix_jobs_by_job ON mix_jobs (job);

-- What an event says of a job.
CREATE VIEW job_facts AS
SELECT position, subject, kind, at, operator,
    ",
    text!("$.name"),
    " AS name,
    ",
    text!("$.vehicle"),
    " AS vehicle,
    ",
    text!("$.colour"),
    " AS colour,
    ",
    text!("$.variant"),
    " AS variant
FROM events WHERE kind GLOB 'job/*';

-- Writing an event's position into this takes it in.
CREATE VIEW take_jobs AS SELECT position FROM events;
CREATE TRIGGER take_job INSTEAD OF INSERT ON take_jobs BEGIN
    UPDATE jobs SET
        vehicle = iif(f.kind = 'job/amended', coalesce(f.vehicle, jobs.vehicle), jobs.vehicle),
        last = max(jobs.last, f.at),
        closed = CASE f.kind WHEN 'job/closed' THEN coalesce(jobs.closed, f.at) WHEN 'job/reopened' THEN NULL
            ELSE jobs.closed END,
        event = f.position
    FROM (SELECT * FROM job_facts WHERE position = NEW.position) AS f
    WHERE jobs.job = f.subject;
    SELECT RAISE(ABORT, 'a job with this name was opened before: a name is used once')
    FROM job_facts AS f JOIN jobs AS j ON j.name = f.name
    WHERE f.position = NEW.position AND f.kind = 'job/opened' AND j.job <> f.subject;
    INSERT INTO jobs (job, number, name, vehicle, colour, variant, operator, opened, last, event)
    SELECT subject, (SELECT coalesce(max(number), 0) + 1 FROM jobs), name, vehicle, colour, variant, operator, at, at,
        position
    FROM job_facts AS f WHERE position = NEW.position AND kind = 'job/opened' AND name IS NOT NULL
        AND NOT EXISTS (SELECT 1 FROM jobs WHERE job = f.subject);
    INSERT INTO mix_jobs (mix, job, event)
    SELECT subject, ",
    text!("$.job"),
    ", position
    FROM events AS e WHERE position = NEW.position AND kind = 'mix/started' AND json_type(body, '$.job') = 'text'
        AND NOT EXISTS (SELECT 1 FROM mix_jobs WHERE mix = e.subject);
END;

INSERT INTO take_jobs SELECT position FROM events WHERE kind GLOB 'job/*' OR kind = 'mix/started' ORDER BY position;

CREATE TRIGGER jobs_counted AFTER INSERT ON events WHEN NEW.kind GLOB 'job/*' OR NEW.kind = 'mix/started'
BEGIN INSERT INTO take_jobs VALUES (NEW.position); END;
",
    guarded!(
        "jobs",
        "job = NEW.job OR name = NEW.name",
        "NEW.job IS OLD.job AND NEW.number IS OLD.number AND NEW.name IS OLD.name AND NEW.event > OLD.event
            AND EXISTS (SELECT 1 FROM job_facts WHERE position = NEW.event AND subject = NEW.job)",
        "SELECT 1 FROM job_facts WHERE position = NEW.event AND subject = NEW.job AND kind = 'job/opened'
            AND name = NEW.name"
    ),
    guarded!(
        "mix_jobs",
        "mix = NEW.mix",
        "0",
        "SELECT 1 FROM events WHERE position = NEW.event AND subject = NEW.mix AND kind = 'mix/started'
            AND json_extract(body, '$.job') = NEW.job"
    ),
);

/// Takes all of it away again, so that it can be made anew.
pub(super) const WITHOUT_JOBS: &str = "
DROP TRIGGER IF EXISTS jobs_counted;
DROP VIEW IF EXISTS take_jobs;
DROP VIEW IF EXISTS job_facts;
DROP TABLE IF EXISTS jobs;
DROP TABLE IF EXISTS mix_jobs;
";
