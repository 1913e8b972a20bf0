//! One mix as it goes, and the book's side of it: what happens becomes envelopes, and envelopes become the
//! mix again. The session, the sequence and the postings go forward together here and nowhere else.

use super::{Envelope, EventId, MixId, NotWhole, Posting, postings};
use crate::catalogue::TonerCode;
use crate::mix::{Event, HardenerWatch, Phase, Refusal, Session};
use crate::units::{Grams, Stamp, clean};
use std::collections::BTreeMap;
use thiserror::Error;

/// What the kinds of the mix's events begin with in the book.
pub const MIX_KINDS: &str = "mix/";

/// What the kinds of a job's events begin with in the book.
pub const JOB_KINDS: &str = "job/";

/// Who did something, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct By {
    /// The bench.
    pub bench: String,
    /// The person.
    pub operator: String,
}

/// A mix and its place in the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Journal {
    mix: MixId,
    session: Session,
    next: u32,
    hardener: HardenerWatch<Stamp>,
}

/// Why an event cannot be written, or a mix not be read back.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum JournalError {
    /// The mix refuses the event.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// A mass the book cannot keep.
    #[error(transparent)]
    NotWhole(#[from] NotWhole),
    /// An event that cannot be put into words.
    #[error("the event cannot be written as JSON: {0}")]
    Unwritable(String),
    /// More events than can be counted.
    #[error("this mix has too many events: begin a new one")]
    TooMany,
    /// No event at all.
    #[error("there is no mix {0} in this book")]
    Unknown(MixId),
    /// An event of the book whose body cannot be read.
    #[error(
        "event {id} ({kind}) of the book cannot be read: {problem}. The mix it belongs to cannot be shown; \
         nothing in the book was changed"
    )]
    Body {
        /// Which event.
        id: EventId,
        /// Its kind.
        kind: String,
        /// What is wrong with it.
        problem: String,
    },
    /// A scale's event of the book whose body cannot be read.
    #[error(
        "event {id} ({kind}) of the book cannot be read: {problem}. Check the scale again; nothing in the book was changed"
    )]
    ScaleBody {
        /// Which event.
        id: EventId,
        /// Its kind.
        kind: String,
        /// What is wrong with it.
        problem: String,
    },
    /// An event of the book that does not follow on from those before it.
    #[error("event {id} ({kind}) of the book does not follow on from those before it: {refusal}")]
    Misfit {
        /// Which event.
        id: EventId,
        /// Its kind.
        kind: String,
        /// What the mix says to it.
        refusal: Refusal,
    },
    /// An event of the book that is out of its place.
    #[error("event {id} stands at place {found} of its mix and belongs at {expected}: events are missing")]
    OutOfPlace {
        /// Which event.
        id: EventId,
        /// Where it belongs.
        expected: u32,
        /// Where it stands.
        found: u32,
    },
}

impl Journal {
    /// A new mix and its first envelope. The event must be its start.
    pub fn begin(
        mix: MixId,
        event: &Event,
        id: EventId,
        at: Stamp,
        by: &By,
    ) -> Result<(Self, Envelope), JournalError> {
        let event = cleaned(event);
        let session = Session::fold([&event])?;
        let envelope = seal(mix, 0, &event, Vec::new(), id, at, by)?;
        Ok((Self { mix, session, next: 1, hardener: HardenerWatch::default() }, envelope))
    }

    /// Takes an event in and gives the envelope to write. Nothing changes if it is refused.
    ///
    /// Control characters are removed from what a person typed, in the mix as in the book.
    pub fn record(
        &mut self,
        event: &Event,
        id: EventId,
        at: Stamp,
        by: &By,
    ) -> Result<Envelope, JournalError> {
        let event = cleaned(event);
        let next = self.next.checked_add(1).ok_or(JournalError::TooMany)?;
        let moved = postings(&self.session, &event, self.mix)?;
        let envelope = seal(self.mix, self.next, &event, moved, id, at, by)?;
        self.session.apply(&event)?;
        let recipe = self.session.recipe();
        self.hardener.take_in(at, &event, |toner| recipe.is_hardener(toner));
        self.next = next;
        Ok(envelope)
    }

    /// The mix those envelopes made, in the order of their sequence. Events of other wings about the same mix
    /// count as places but do not touch it.
    pub fn fold(mix: MixId, envelopes: &[Envelope]) -> Result<Self, JournalError> {
        let mut session: Option<Session> = None;
        let mut next = 0_u32;
        let mut hardener = HardenerWatch::default();
        for envelope in envelopes {
            if envelope.sequence != next {
                return Err(JournalError::OutOfPlace {
                    id: envelope.id,
                    expected: next,
                    found: envelope.sequence,
                });
            }
            next = next.checked_add(1).ok_or(JournalError::TooMany)?;
            let Some(event) = event_of(envelope)? else { continue };
            let step = match &mut session {
                Some(session) => session.apply(&event),
                None => Session::fold([&event]).map(|begun| session = Some(begun)),
            };
            step.map_err(|refusal| JournalError::Misfit {
                id: envelope.id,
                kind: envelope.kind.clone(),
                refusal,
            })?;
            if let Some(session) = &session {
                hardener.take_in(envelope.at, &event, |toner| session.recipe().is_hardener(toner));
            }
        }
        let session = session.ok_or(JournalError::Unknown(mix))?;
        Ok(Self { mix, session, next, hardener })
    }

    /// The mix's identity.
    pub fn mix(&self) -> MixId {
        self.mix
    }

    /// The mix as it stands.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// The place the next event will have.
    pub fn next(&self) -> u32 {
        self.next
    }

    /// When the first hardener of the recipe went in, if any did: the pot life begins there.
    pub fn activated(&self) -> Option<Stamp> {
        self.hardener.began()
    }

    /// What the cup holds of each toner, by the mix: nothing once it is given up or the cup emptied.
    pub fn in_cup(&self) -> BTreeMap<TonerCode, Grams> {
        let mut held = BTreeMap::new();
        if self.session.phase() == Phase::Abandoned || self.session.emptied().is_some() {
            return held;
        }
        for (toner, mass) in self.session.contents() {
            if !mass.is_zero() {
                *held.entry(toner).or_insert(Grams::ZERO) += mass;
            }
        }
        held
    }
}

/// The mix's event in an envelope; none if it belongs to another wing.
fn event_of(envelope: &Envelope) -> Result<Option<Event>, JournalError> {
    let Some(kind) = envelope.kind.strip_prefix(MIX_KINDS) else { return Ok(None) };
    let unreadable = |problem| JournalError::Body { id: envelope.id, kind: envelope.kind.clone(), problem };
    let event: Event = serde_json::from_str(&envelope.body).map_err(|e| unreadable(e.to_string()))?;
    if event.kind() != kind {
        return Err(unreadable(format!("it is filed as {kind} and says it is {}", event.kind())));
    }
    Ok(Some(event))
}

fn cleaned(event: &Event) -> Event {
    let tidy = |text: &str| clean(text).trim().to_owned();
    let mut event = event.clone();
    match &mut event {
        Event::Started(start) => {
            start.job = start.job.as_deref().map(tidy).filter(|job| !job.is_empty());
        }
        Event::Poured(pour) => {
            pour.tin = pour.tin.as_deref().map(tidy).filter(|tin| !tin.is_empty());
        }
        Event::Rebooked(rebooked) => {
            rebooked.tin = rebooked.tin.as_deref().map(tidy).filter(|tin| !tin.is_empty());
        }
        Event::TinTaken { tin, marks, .. } => {
            *tin = tidy(tin);
            if let Some(marks) = marks {
                for text in [&mut marks.item, &mut marks.lot, &mut marks.expires] {
                    *text = text.as_deref().map(tidy).filter(|text| !text.is_empty());
                }
            }
        }
        Event::Abandoned { reason } => *reason = tidy(reason),
        Event::LeftoverDue { from } => {
            *from = from.as_deref().map(tidy).filter(|from| !from.is_empty());
        }
        Event::LeftoverAdded(added) => added.from = tidy(&added.from),
        Event::Emptied(emptied) => {
            for text in [&mut emptied.use_by, &mut emptied.reason, &mut emptied.job] {
                *text = text.as_deref().map(tidy).filter(|text| !text.is_empty());
            }
        }
        _ => {}
    }
    event
}

fn seal(
    subject: MixId,
    sequence: u32,
    event: &Event,
    postings: Vec<Posting>,
    id: EventId,
    at: Stamp,
    by: &By,
) -> Result<Envelope, JournalError> {
    Ok(Envelope {
        id,
        at,
        bench: clean(&by.bench),
        operator: clean(&by.operator),
        subject,
        sequence,
        kind: format!("{MIX_KINDS}{}", event.kind()),
        body: serde_json::to_string(event).map_err(|e| JournalError::Unwritable(e.to_string()))?,
        postings,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Ids;
    use crate::book::testing::{by, envelopes, muddle, start, whole};
    use crate::mix::How;
    use proptest::prelude::*;

    #[test]
    fn what_a_person_typed_is_cleaned_in_the_mix_as_in_the_book() {
        let mut ids = Ids::counted(3);
        let at = Stamp(1);
        let who = By { bench: "b\u{1b}[2J".into(), operator: "Ro\tbin\u{202e}".into() };
        let begun = Event::Started(crate::mix::Start { job: Some(" 26-118\u{1b}[2J\n".into()), ..start() });
        let (mut journal, first) = Journal::begin(ids.mix(at), &begun, ids.event(at), at, &who).unwrap();
        assert_eq!(journal.session().start().job.as_deref(), Some("26-118[2J"));
        assert!(first.body.ends_with("\"job\":\"26-118[2J\"}"), "{}", first.body);
        assert_eq!((first.bench.as_str(), first.operator.as_str()), ("b[2J", "Ro bin"));
        let toner = TonerCode::new("A");
        let taken = Event::TinTaken { toner: toner.clone(), tin: " 24\u{7}-1\r\n".into(), marks: None };
        let second = journal.record(&taken, ids.event(at), at, &who).unwrap();
        assert!(second.body.contains("\"24-1\""), "{}", second.body);
        assert_eq!(journal.session().tin(0), Some("24-1"));
        let nothing = Event::TinTaken { toner, tin: "\u{7}".into(), marks: None };
        assert_eq!(journal.record(&nothing, ids.event(at), at, &who), Err(Refusal::NoTin.into()));
        assert_eq!(journal.next(), 2);
    }

    #[test]
    fn a_refused_event_changes_nothing() {
        let mut ids = Ids::counted(3);
        let at = Stamp(1);
        let begun = Event::Started(start());
        let (mut journal, _) = Journal::begin(ids.mix(at), &begun, ids.event(at), at, &by()).unwrap();
        let before = journal.clone();
        assert_eq!(
            journal.record(&Event::Finished, ids.event(at), at, &by()),
            Err(Refusal::NotComplete.into())
        );
        let Event::Poured(mut pour) = journal.session().take("3".parse_grams(), How::Scale).unwrap() else {
            panic!("a pour")
        };
        pour.after = "3.0000001".parse_grams();
        assert!(matches!(
            journal.record(&Event::Poured(pour), ids.event(at), at, &by()),
            Err(JournalError::NotWhole(_))
        ));
        assert_eq!(journal, before);
    }

    trait ParseGrams {
        fn parse_grams(&self) -> Grams;
    }
    impl ParseGrams for str {
        fn parse_grams(&self) -> Grams {
            crate::book::testing::grams(self)
        }
    }

    /// A journal from before versions were kept has no word of them, and is the same text and the same mix still.
    #[test]
    fn a_mix_names_its_version_only_where_it_has_one() {
        let (mix, envelopes) = envelopes(&mut Ids::counted(3), &whole());
        assert!(!envelopes[0].body.contains("version"), "{}", envelopes[0].body);
        assert_eq!(Journal::fold(mix, &envelopes).unwrap().session().start().version, None);
        let mut named = envelopes;
        let Event::Started(mut start) = serde_json::from_str(&named[0].body).unwrap() else { panic!() };
        start.version = Some("ba7816bf8f01".to_owned());
        named[0].body = serde_json::to_string(&Event::Started(start)).unwrap();
        assert!(named[0].body.ends_with(",\"version\":\"ba7816bf8f01\"}"), "{}", named[0].body);
        let read = Journal::fold(mix, &named).unwrap();
        assert_eq!(read.session().start().version.as_deref(), Some("ba7816bf8f01"));
    }

    #[test]
    fn a_mix_that_cannot_be_read_back_says_which_event_is_to_blame() {
        let (mix, good) = envelopes(&mut Ids::counted(3), &whole());
        assert_eq!(Journal::fold(mix, &[]), Err(JournalError::Unknown(mix)));
        let spoilt = |spoil: fn(&mut Vec<Envelope>)| {
            let mut bad = good.clone();
            spoil(&mut bad);
            Journal::fold(mix, &bad).unwrap_err()
        };
        let id = good[1].id;
        let garbled = spoilt(|bad| bad[1].body = "{}".into());
        assert!(matches!(garbled, JournalError::Body { id: named, .. } if named == id));
        assert!(garbled.to_string().contains(&id.to_string()), "{garbled}");
        let misfiled = spoilt(|bad| bad[1].kind = "mix/finished".into());
        assert!(matches!(misfiled, JournalError::Body { id: named, .. } if named == id));
        let gap = spoilt(|bad| drop(bad.remove(1)));
        assert!(matches!(gap, JournalError::OutOfPlace { expected: 1, found: 2, .. }));
        let twice = spoilt(|bad| bad[1].body = bad[0].body.clone());
        assert!(matches!(twice, JournalError::Body { .. }));
        let restarted = spoilt(|bad| {
            bad[1].body = bad[0].body.clone();
            bad[1].kind = bad[0].kind.clone();
        });
        assert!(matches!(restarted, JournalError::Misfit { id: named, .. } if named == id));
    }

    #[test]
    fn events_of_other_wings_keep_their_place_and_do_not_touch_the_mix() {
        let (mix, mut envelopes) = envelopes(&mut Ids::counted(3), &whole());
        let plain = Journal::fold(mix, &envelopes).unwrap();
        let mut other = envelopes.last().unwrap().clone();
        other.kind = "job/sprayed".into();
        other.sequence += 1;
        other.body = "{}".into();
        envelopes.push(other);
        let folded = Journal::fold(mix, &envelopes).unwrap();
        assert_eq!(folded.session(), plain.session());
        assert_eq!(folded.next(), plain.next() + 1);
    }

    proptest! {
        #[test]
        fn a_journal_read_back_is_the_journal_that_was_written(
            seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..30),
        ) {
            let events = muddle(&seed);
            let (mix, envelopes) = envelopes(&mut Ids::counted(4), &events);
            let journal = Journal::fold(mix, &envelopes).unwrap();
            prop_assert_eq!(journal.session(), &Session::fold(&events).unwrap());
            prop_assert_eq!(usize::try_from(journal.next()).unwrap(), events.len());
            for envelope in &envelopes {
                prop_assert_eq!(envelope.flaw(), None);
            }
        }
    }
}
