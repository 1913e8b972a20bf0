-- A book of layout 2, as the programs of its time made it: what they wrote, word for word.

CREATE TABLE schema (
    version INTEGER PRIMARY KEY,
    checksum TEXT NOT NULL,
    applied_at INTEGER NOT NULL
) STRICT;

CREATE TABLE events (
    position INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE CHECK (length(id) = 36),
    at INTEGER NOT NULL, -- microseconds since 1970-01-01T00:00:00Z
    bench TEXT NOT NULL,
    operator TEXT NOT NULL,
    subject TEXT NOT NULL CHECK (length(subject) = 36),
    sequence INTEGER NOT NULL CHECK (sequence >= 0),
    kind TEXT NOT NULL CHECK (kind <> ''),
    body TEXT NOT NULL CHECK (json_valid(body)),
    UNIQUE (subject, sequence)
) STRICT;

-- A mix's number is its place among these.
CREATE INDEX mix_starts ON events (position) WHERE kind = 'mix/started';
CREATE INDEX mix_endings ON events (subject) WHERE kind IN ('mix/finished', 'mix/abandoned');

CREATE TABLE postings (
    event INTEGER NOT NULL REFERENCES events (position),
    place INTEGER NOT NULL CHECK (place >= 0),
    account TEXT NOT NULL CHECK (account <> ''),
    toner TEXT NOT NULL CHECK (toner <> ''),
    micrograms INTEGER NOT NULL CHECK (micrograms <> 0),
    PRIMARY KEY (event, place)
) STRICT, WITHOUT ROWID;

CREATE INDEX postings_by_account ON postings (account, toner, micrograms);

CREATE TRIGGER events_follow BEFORE INSERT ON events
WHEN NEW.sequence <> (SELECT coalesce(max(sequence) + 1, 0) FROM events WHERE subject = NEW.subject)
BEGIN SELECT RAISE(ABORT, 'an event takes the next place of its mix'); END;
CREATE TRIGGER events_once BEFORE INSERT ON events
WHEN EXISTS (SELECT 1 FROM events WHERE id = NEW.id) OR EXISTS (SELECT 1 FROM events WHERE position = NEW.position)
BEGIN SELECT RAISE(ABORT, 'the book is only added to: this event is in it'); END;
CREATE TRIGGER events_stay BEFORE UPDATE ON events
BEGIN SELECT RAISE(ABORT, 'the book is only added to: events are never changed'); END;
CREATE TRIGGER events_remain BEFORE DELETE ON events
BEGIN SELECT RAISE(ABORT, 'the book is only added to: events are never deleted'); END;

CREATE TRIGGER postings_with_event BEFORE INSERT ON postings
WHEN NEW.event IS NOT (SELECT max(position) FROM events)
BEGIN SELECT RAISE(ABORT, 'postings are written with their event'); END;
CREATE TRIGGER postings_once BEFORE INSERT ON postings
WHEN EXISTS (SELECT 1 FROM postings WHERE event = NEW.event AND place = NEW.place)
BEGIN SELECT RAISE(ABORT, 'the book is only added to: this posting is in it'); END;
CREATE TRIGGER postings_stay BEFORE UPDATE ON postings
BEGIN SELECT RAISE(ABORT, 'the book is only added to: postings are never changed'); END;
CREATE TRIGGER postings_remain BEFORE DELETE ON postings
BEGIN SELECT RAISE(ABORT, 'the book is only added to: postings are never deleted'); END;

CREATE INDEX scale_events ON events (kind, json_extract(body, '$.scale'), position)
WHERE kind IN ('scale/checked', 'scale/repeatability');

INSERT INTO schema (version, checksum, applied_at) VALUES (1, '1585ebf39a7f4f4c', 1), (2, '5cf08d4b0e0e09ca', 1);
PRAGMA application_id = 1346527851; -- PBbk
PRAGMA user_version = 2;
