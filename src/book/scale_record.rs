//! What is known of a scale: its checks and its repeatability, written into the book and read back from it.

use super::{By, Envelope, EventId, JournalError, Store, StoreError};
use crate::metrology::{Check, CheckPlan, Repeatability, ScaleEvent, Standing};
use crate::units::{Grams, Stamp, clean};

/// What the kinds of a scale's events begin with in the book.
pub const SCALE_KINDS: &str = "scale/";
/// The kind of a check.
pub(super) const CHECKED: &str = "scale/checked";
/// The kind of a measured repeatability.
pub(super) const REPEATABILITY: &str = "scale/repeatability";

/// A check as the book has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScaleCheck {
    /// Its identity.
    pub id: EventId,
    /// When.
    pub at: Stamp,
    /// Who, and at which bench.
    pub by: By,
    /// What was read, and against what.
    pub check: Check,
}

/// A repeatability as the book has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScaleRepeatability {
    /// Its identity.
    pub id: EventId,
    /// When.
    pub at: Stamp,
    /// Who, and at which bench.
    pub by: By,
    /// What was read, and its spread.
    pub repeatability: Repeatability,
}

/// What the book says of one scale.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ScaleRecord {
    /// The last check; none if there is none, or if it cannot be read. An older one never stands in for it.
    pub latest_check: Option<ScaleCheck>,
    /// The last repeatability; none as for the check.
    pub repeatability: Option<ScaleRepeatability>,
    /// The last checks, the newest first, the latest among them.
    pub recent: Vec<ScaleCheck>,
    /// What could not be read, a sentence each.
    pub unreadable: Vec<String>,
}

impl ScaleRecord {
    /// What the book says of the scale with that name, with its last `most` checks, at least the last one.
    pub fn read(store: &dyn Store, scale: &str, most: u32) -> Result<Self, StoreError> {
        let mut record = Self::default();
        for (place, envelope) in store.of_scale(CHECKED, scale, most.max(1))?.into_iter().enumerate() {
            match scale_event_of(&envelope) {
                Ok(Some(ScaleEvent::Checked(check))) => {
                    let Envelope { id, at, bench, operator, .. } = envelope;
                    let check = ScaleCheck { id, at, by: By { bench, operator }, check };
                    if place == 0 {
                        record.latest_check = Some(check.clone());
                    }
                    record.recent.push(check);
                }
                Ok(_) => {}
                Err(error) => record.unreadable.push(error.to_string()),
            }
        }
        for envelope in store.of_scale(REPEATABILITY, scale, 1)? {
            match scale_event_of(&envelope) {
                Ok(Some(ScaleEvent::Repeatability(repeatability))) => {
                    let Envelope { id, at, bench, operator, .. } = envelope;
                    let by = By { bench, operator };
                    record.repeatability = Some(ScaleRepeatability { id, at, by, repeatability });
                }
                Ok(_) => {}
                Err(error) => record.unreadable.push(error.to_string()),
            }
        }
        Ok(record)
    }

    /// Takes in an event that goes into the book now, so that it need not be read anew. One of another kind than
    /// a scale's changes nothing.
    pub fn take(&mut self, envelope: &Envelope, most: usize) -> Result<(), JournalError> {
        let (id, at) = (envelope.id, envelope.at);
        let by = By { bench: envelope.bench.clone(), operator: envelope.operator.clone() };
        match scale_event_of(envelope)? {
            Some(ScaleEvent::Checked(check)) => {
                let check = ScaleCheck { id, at, by, check };
                self.latest_check = Some(check.clone());
                self.recent.insert(0, check);
                self.recent.truncate(most.max(1));
            }
            Some(ScaleEvent::Repeatability(repeatability)) => {
                self.repeatability = Some(ScaleRepeatability { id, at, by, repeatability });
            }
            None => {}
        }
        Ok(())
    }

    /// How the scale stands `now`, where the clock on the wall is so many seconds ahead of UTC.
    pub fn standing(&self, plan: CheckPlan, now: Stamp, seconds_east: i32) -> Standing {
        let latest = self.latest_check.as_ref().map(|latest| (latest.at, latest.check.passed()));
        plan.standing(latest, now, seconds_east)
    }

    /// The standard deviation that was measured, for `mix::weighable::Accuracy`. It is not yet held against its
    /// floor there.
    pub fn deviation(&self) -> Option<Grams> {
        self.repeatability.as_ref().map(|measured| measured.repeatability.deviation)
    }
}

impl Envelope {
    /// A scale's event as the book keeps it. It stands alone: it is its own subject, at place 0, so that nobody
    /// has to count. Control characters are removed from the names in it.
    pub fn of_scale(event: &ScaleEvent, id: EventId, at: Stamp, by: &By) -> Result<Self, JournalError> {
        let event = cleaned(event);
        Ok(Self {
            id,
            at,
            bench: clean(&by.bench),
            operator: clean(&by.operator),
            subject: id.alone(),
            sequence: 0,
            kind: format!("{SCALE_KINDS}{}", event.kind()),
            body: serde_json::to_string(&event).map_err(|e| JournalError::Unwritable(e.to_string()))?,
            postings: Vec::new(),
        })
    }
}

/// The scale's event in an envelope; none if it belongs to another wing.
pub(super) fn scale_event_of(envelope: &Envelope) -> Result<Option<ScaleEvent>, JournalError> {
    let Some(kind) = envelope.kind.strip_prefix(SCALE_KINDS) else { return Ok(None) };
    let unreadable =
        |problem| JournalError::ScaleBody { id: envelope.id, kind: envelope.kind.clone(), problem };
    let event: ScaleEvent = serde_json::from_str(&envelope.body).map_err(|e| unreadable(e.to_string()))?;
    if event.kind() != kind {
        return Err(unreadable(format!("it is filed as {kind} and says it is {}", event.kind())));
    }
    Ok(Some(event))
}

fn cleaned(event: &ScaleEvent) -> ScaleEvent {
    let tidy = |text: &mut String| clean(text).trim().clone_into(text);
    let mut event = event.clone();
    match &mut event {
        ScaleEvent::Checked(check) => {
            tidy(&mut check.scale);
            tidy(&mut check.weight.id);
        }
        ScaleEvent::Repeatability(repeatability) => tidy(&mut repeatability.scale),
    }
    event
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::check::check;
    use crate::book::testing::{by, envelopes, grams, whole};
    use crate::book::{Appended, Ids, Opened, SqliteStore, open_to_look};
    use crate::metrology::{AccuracyClass, BenchScale, CheckWeight, Every, Rules, WeightClass, WhenOverdue};
    use crate::units::Division;

    const DAY: i64 = 86_400_000_000;

    fn scale(name: &str) -> BenchScale {
        BenchScale {
            name: name.into(),
            max: grams("7500"),
            d: Division::TENTH,
            e: Division::TENTH,
            class: Some(AccuracyClass::Ii),
            rules: Rules::R76,
            own_limit: None,
        }
    }

    fn checked(name: &str, reading: &str) -> ScaleEvent {
        let weight =
            CheckWeight { id: "500".into(), nominal: grams("500"), class: WeightClass::M1, value: None };
        let check = Check::new(&scale(name), &weight, grams("0.0"), grams(reading)).unwrap();
        ScaleEvent::Checked(check)
    }

    fn repeated(name: &str, last: &str) -> ScaleEvent {
        let mut readings = vec![grams("200.0"); 9];
        readings.push(grams(last));
        ScaleEvent::Repeatability(Repeatability::measure(name, Division::TENTH, readings).unwrap())
    }

    fn book() -> (tempfile::TempDir, SqliteStore) {
        let folder = tempfile::tempdir().unwrap();
        let Opened::ToWrite(store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap() else {
            panic!("nobody else has it")
        };
        (folder, store)
    }

    fn written(store: &mut SqliteStore, ids: &mut Ids, event: &ScaleEvent, day: i64) -> Envelope {
        let at = Stamp(1_750_000_000_000_000 + day * DAY);
        let envelope = Envelope::of_scale(event, ids.event(at), at, &by()).unwrap();
        assert_eq!(store.append(&envelope).unwrap(), Appended::New);
        envelope
    }

    #[test]
    fn the_latest_of_each_scale_is_found_among_mixes_and_other_scales() {
        let (folder, mut store) = book();
        let mut ids = Ids::counted(1);
        assert_eq!(ScaleRecord::read(&store, "bench", 5).unwrap(), ScaleRecord::default());
        for day in 0..8 {
            let reading = if day == 7 { "500.2" } else { "500.1" };
            written(&mut store, &mut ids, &checked("bench", reading), day);
            written(&mut store, &mut ids, &checked("other's", "500.0"), day);
            let (_, mix) = envelopes(&mut ids, &whole());
            assert!(mix.iter().all(|envelope| store.append(envelope).is_ok()));
        }
        written(&mut store, &mut ids, &repeated("bench", "200.0"), 8);
        let last = written(&mut store, &mut ids, &repeated("bench", "200.1"), 9);

        let record = ScaleRecord::read(&store, "bench", 5).unwrap();
        let latest = record.latest_check.as_ref().unwrap();
        assert_eq!((latest.check.reading, &latest.by), (grams("500.2"), &by()));
        assert!(!latest.check.passed());
        assert_eq!(record.recent.len(), 5);
        assert!(record.recent.is_sorted_by(|newer, older| newer.at > older.at));
        assert_eq!(record.recent.first(), Some(latest));
        let repeatability = record.repeatability.as_ref().unwrap();
        assert_eq!((repeatability.id, record.deviation()), (last.id, Some(grams("0.031623"))));
        assert_eq!(record.unreadable, Vec::<String>::new());
        let other = ScaleRecord::read(&store, "other's", 0).unwrap();
        assert_eq!((other.recent.len(), other.repeatability), (1, None));
        assert!(other.latest_check.unwrap().check.passed());

        let report = check(&store).unwrap();
        assert_eq!(report.faults, Vec::<String>::new());
        assert_eq!(report.events as u64, store.count().unwrap());
        // And the same to one who only looks.
        let looked = open_to_look(&folder.path().join("book")).unwrap();
        assert_eq!(ScaleRecord::read(&looked, "bench", 5).unwrap(), record);
    }

    #[test]
    fn what_is_taken_in_is_what_would_be_read() {
        let (_folder, mut store) = book();
        let mut ids = Ids::counted(1);
        let mut record = ScaleRecord::default();
        let events = ["500.0", "500.3", "499.9", "500.1"].map(|reading| checked("bench", reading));
        for (day, event) in (0..).zip(events.iter().chain([&repeated("bench", "200.1")])) {
            let envelope = written(&mut store, &mut ids, event, day);
            record.take(&envelope, 3).unwrap();
            assert_eq!(ScaleRecord::read(&store, "bench", 3).unwrap(), record);
        }
        let (_, mix) = envelopes(&mut ids, &whole());
        let before = record.clone();
        record.take(&mix[0], 3).unwrap();
        assert_eq!(record, before, "a mix is no matter of the scale's");
    }

    /// Seven readings of 200.0 and three of 200.1 on a scale of 0.1 g: s = 0.0483 g, so that the least to weigh is
    /// 96.6 g at 0.1 % and 9.66 g at 1 %; ten equal ones count as 0.41 d, 82 g and 8.2 g. Worked by hand from USP
    /// 41's form.
    #[test]
    fn ten_weighings_give_the_smallest_weight() {
        use crate::mix::weighable::{Accuracy, smallest_weight};
        use crate::units::Share;
        let smallest = |readings: Vec<Grams>, limit: &str| {
            let measured = Repeatability::measure("bench", Division::TENTH, readings).unwrap();
            let (id, at) = (Ids::counted(1).event(Stamp(1)), Stamp(1));
            let envelope = Envelope::of_scale(&ScaleEvent::Repeatability(measured), id, at, &by()).unwrap();
            let mut record = ScaleRecord::default();
            record.take(&envelope, 1).unwrap();
            let limit = Share::parse_percent(limit).unwrap();
            let accuracy = Accuracy { limit, repeatability: record.deviation() };
            smallest_weight(Division::TENTH, accuracy).unwrap()
        };
        let mut spread = vec![grams("200.0"); 7];
        spread.extend([grams("200.1"); 3]);
        assert_eq!(smallest(spread.clone(), "0.1 %").with_decimals(1), "96.6");
        assert_eq!(smallest(spread, "1 %").with_decimals(2), "9.66");
        let equal = vec![grams("200.0"); 10];
        assert_eq!(smallest(equal.clone(), "0.1 %"), grams("82"));
        assert_eq!(smallest(equal, "1 %"), grams("8.2"));
    }

    #[test]
    fn a_failed_check_stands_until_one_passes() {
        let mut ids = Ids::counted(1);
        let mut record = ScaleRecord::default();
        let plan = CheckPlan { every: Every::Days(7), when_overdue: WhenOverdue::Refuse };
        let at = |day: i64| Stamp(1_750_000_000_000_000 + day * DAY);
        assert_eq!(record.standing(plan, at(0), 0), Standing::Never);
        for (day, reading, well) in [(0, "500.2", false), (1, "499.8", false), (2, "500.1", true)] {
            let event = checked("bench", reading);
            record.take(&Envelope::of_scale(&event, ids.event(at(day)), at(day), &by()).unwrap(), 9).unwrap();
            let expected =
                if well { Standing::Done { at: at(day) } } else { Standing::Failed { at: at(day) } };
            assert_eq!(record.standing(plan, at(day), 0), expected);
            assert_eq!(plan.lets_weigh(record.standing(plan, at(day + 6), 0)), well);
        }
        assert!(!plan.lets_weigh(record.standing(plan, at(10), 0)), "overdue");
    }

    #[test]
    fn a_latest_check_that_cannot_be_read_is_not_replaced_by_an_older_one() {
        let (_folder, mut store) = book();
        let mut ids = Ids::counted(1);
        written(&mut store, &mut ids, &checked("bench", "500.0"), 0);
        let at = Stamp(1_750_000_000_000_000 + DAY);
        let mut newer = Envelope::of_scale(&checked("bench", "500.9"), ids.event(at), at, &by()).unwrap();
        newer.body = "{\"kind\":\"checked\",\"scale\":\"bench\",\"reading\":\"heavy\"}".into();
        store.append(&newer).unwrap();
        let record = ScaleRecord::read(&store, "bench", 5).unwrap();
        assert_eq!((record.latest_check, record.recent.len()), (None, 1));
        assert!(record.unreadable[0].contains("Check the scale again"), "{:?}", record.unreadable);
        let faults = check(&store).unwrap().faults;
        assert!(faults.len() == 1 && faults[0].contains("(scale/checked)"), "{faults:?}");
    }

    #[test]
    fn bodies_that_cannot_be_so_are_faults() {
        let (_folder, mut store) = book();
        let mut ids = Ids::counted(1);
        let at = Stamp(1_750_000_000_000_000);
        let mut append = |event: &ScaleEvent, from: &str, to: &str| {
            let mut envelope = Envelope::of_scale(event, ids.event(at), at, &by()).unwrap();
            assert!(envelope.body.contains(from), "{}", envelope.body);
            envelope.body = envelope.body.replace(from, to);
            store.append(&envelope).unwrap();
        };
        append(&checked("bench", "500.0"), "\"limit\":\"0.1\"", "\"limit\":\"0.07\"");
        append(&checked("bench", "500.0"), "\"nominal\":\"500\"", "\"nominal\":\"510\"");
        append(&checked("bench", "500.0"), "\"zero_limit\":\"0.05\"", "\"zero_limit\":\"0\"");
        append(&checked("bench", "500.0"), "\"value\":null", "\"value\":\"490\"");
        append(&checked("bench", "500.0"), "\"kind\":\"checked\"", "\"kind\":\"repeatability\"");
        append(&repeated("bench", "200.1"), "\"200.1\"", "\"200.2\"");
        let faults = check(&store).unwrap().faults;
        let expected = [
            "its weight is not good enough for its limit",
            "there is no weight of that nominal value",
            "its empty pan may not be off by anything",
            "its weight is not of the class it is said to be",
            "cannot be read",
            "its standard deviation is not that of its weighings",
        ];
        assert_eq!(faults.len(), expected.len(), "{faults:#?}");
        for (fault, expected) in faults.iter().zip(expected) {
            assert!(fault.contains(expected), "{fault}");
        }
    }

    #[test]
    fn names_are_cleaned_and_masses_stand_as_they_were_read() {
        let mut ids = Ids::counted(1);
        let at = Stamp(1);
        let event = checked("be\u{1b}[2Jnch", "500.0");
        let envelope = Envelope::of_scale(&event, ids.event(at), at, &by()).unwrap();
        assert_eq!(envelope.flaw(), None);
        assert_eq!((envelope.subject, envelope.sequence), (envelope.id.alone(), 0));
        assert_eq!(envelope.kind, "scale/checked");
        assert_eq!(
            envelope.body,
            r#"{"kind":"checked","scale":"be[2Jnch","weight":{"id":"500","nominal":"500","class":"M1","value":null},"limit":"0.1","zero_limit":"0.05","zero":"0.0","reading":"500.0"}"#
        );
    }
}
