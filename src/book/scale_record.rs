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
    let tidy = |text: &mut String| *text = clean(text).trim().to_owned();
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
