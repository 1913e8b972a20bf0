//! The identities of events and mixes, made before anything is written, so that the same thing written twice
//! is known to be the same.

use crate::units::Stamp;
use serde::{Deserialize, Serialize};
use std::fmt;
use uuid::Uuid;

macro_rules! id {
    ($(#[$meta:meta])* $name:ident) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(Uuid);

        impl $name {
            /// Reads it back from its text, 36 characters in lower case with hyphens.
            pub fn parse(text: &str) -> Option<Self> {
                let id = Self(Uuid::try_parse(text).ok()?);
                (id.to_string() == text).then_some(id)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(self.0.hyphenated().encode_lower(&mut Uuid::encode_buffer()))
            }
        }
    };
}

id!(
    /// An event's identity (a UUID of version 7, RFC 9562).
    EventId
);
id!(
    /// A mix's identity (a UUID of version 7, RFC 9562).
    MixId
);

id!(
    /// A job's identity (a UUID of version 7, RFC 9562).
    JobId
);

impl JobId {
    /// The subject of its events.
    pub const fn subject(self) -> MixId {
        MixId(self.0)
    }

    /// The job whose events have that subject.
    pub const fn of(subject: MixId) -> Self {
        Self(subject.0)
    }
}

impl EventId {
    /// The subject of an event that is about nothing but itself.
    pub const fn alone(self) -> MixId {
        MixId(self.0)
    }
}

/// Where identities come from. Lives in the shell: the core has no clock and no chance.
#[derive(Debug)]
pub struct Ids(Source);

#[derive(Debug)]
enum Source {
    Fresh,
    Counted { seed: u64, next: u64 },
}

impl Ids {
    /// Identities that no other program will make.
    pub const fn fresh() -> Self {
        Self(Source::Fresh)
    }

    /// The same identities every time, for tests and rehearsals that write into a new book each time.
    pub const fn counted(seed: u64) -> Self {
        Self(Source::Counted { seed, next: 0 })
    }

    /// An identity for an event.
    pub fn event(&mut self, at: Stamp) -> EventId {
        EventId(self.make(at))
    }

    /// An identity for a mix.
    pub fn mix(&mut self, at: Stamp) -> MixId {
        MixId(self.make(at))
    }

    /// An identity for a job.
    pub fn job(&mut self, at: Stamp) -> JobId {
        JobId(self.make(at))
    }

    fn make(&mut self, at: Stamp) -> Uuid {
        match &mut self.0 {
            Source::Fresh => Uuid::now_v7(),
            Source::Counted { seed, next } => {
                *next = next.wrapping_add(1);
                let mut chance = [0; 10];
                let (head, tail) = chance.split_at_mut(2);
                head.copy_from_slice(&[0, 0]);
                tail.copy_from_slice(&seed.rotate_left(32).wrapping_add(*next).to_be_bytes());
                let milliseconds = u64::try_from(at.0).unwrap_or(0) / 1000;
                uuid::Builder::from_unix_timestamp_millis(milliseconds, &chance).into_uuid()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn identities_are_of_version_7_and_read_back() {
        for mut ids in [Ids::fresh(), Ids::counted(7)] {
            let made: BTreeSet<_> = (0..100).map(|_| ids.event(Stamp(1_700_000_000_000_000))).collect();
            assert_eq!(made.len(), 100);
            for id in made {
                assert_eq!(id.0.get_version_num(), 7);
                assert_eq!(EventId::parse(&id.to_string()), Some(id));
            }
        }
        assert_eq!(Ids::counted(7).mix(Stamp(5)), Ids::counted(7).mix(Stamp(5)));
        assert_ne!(Ids::counted(7).mix(Stamp(5)), Ids::counted(8).mix(Stamp(5)));
        assert_eq!(EventId::parse("0190163D-8694-739B-AEA5-966C26F8AD91"), None, "one spelling only");
        assert_eq!(EventId::parse("no"), None);
    }
}
