//! The thread that owns the book: takes what is to be written, in order, and says when it is on disk.

use super::{Envelope, EventId, Store};
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::{Builder, JoinHandle};

/// What the book has to say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BookEvent {
    /// That event is on disk.
    Saved {
        /// Which.
        id: EventId,
    },
    /// That event is not, and why, in a sentence. It can be sent again as it is.
    Failed {
        /// Which.
        id: EventId,
        /// Why.
        why: String,
    },
    /// The worker failed; nothing more will be written, and what is still sent fails.
    Ended {
        /// Why.
        why: String,
    },
}

/// A worker thread that writes the book. Dropping it waits until everything that was sent is dealt with.
#[derive(Debug)]
pub struct Keeper {
    queue: Option<Sender<Vec<Envelope>>>,
    thread: Option<JoinHandle<()>>,
}

impl Keeper {
    /// Starts a worker for that book; what it has to say goes to `sink`, on the worker's thread.
    ///
    /// # Errors
    /// The system could not make a thread.
    pub fn start(
        store: impl Store + 'static,
        sink: impl FnMut(BookEvent) + Send + 'static,
    ) -> io::Result<Self> {
        let (queue, inbox) = channel();
        let thread = Builder::new().name("book".to_owned()).spawn(move || keep(store, &inbox, sink))?;
        Ok(Self { queue: Some(queue), thread: Some(thread) })
    }

    /// Sends an event to be written. Nothing that is sent is dropped: it is answered as saved or as failed.
    pub fn append(&self, envelope: Envelope) {
        self.append_all(vec![envelope]);
    }

    /// The same for several that are written together: each is answered, all as saved or all as failed.
    pub fn append_all(&self, envelopes: Vec<Envelope>) {
        if let Some(queue) = &self.queue {
            // It takes envelopes for as long as this lives, whatever happened to the store.
            if queue.send(envelopes).is_err() {
                tracing::error!("the book's worker is gone");
            }
        }
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        // The closed queue is the sign to end, once it is empty.
        self.queue = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// Writes what comes, and answers for each. A panic is answered too: the store may be in any state then, so it
/// is not written to again, and all that still comes has failed.
fn keep(mut store: impl Store, inbox: &Receiver<Vec<Envelope>>, mut sink: impl FnMut(BookEvent)) {
    // Whoever listens may fail in doing so; what was sent is written all the same.
    let mut tell = |event| {
        if catch_unwind(AssertUnwindSafe(|| sink(event))).is_err() {
            tracing::error!("whoever listens to the book failed");
        }
    };
    let mut broken: Option<String> = None;
    for envelopes in inbox {
        let mut of_each = |said: &dyn Fn(EventId) -> BookEvent| {
            for envelope in &envelopes {
                tell(said(envelope.id));
            }
        };
        if let Some(why) = &broken {
            of_each(&|id| BookEvent::Failed { id, why: why.clone() });
            continue;
        }
        let write = || match envelopes.as_slice() {
            [envelope] => store.append(envelope).map(drop),
            several => store.append_all(several),
        };
        match catch_unwind(AssertUnwindSafe(write)) {
            Ok(Ok(())) => of_each(&|id| BookEvent::Saved { id }),
            Ok(Err(error)) => {
                let ids = envelopes.iter().map(|envelope| envelope.id.to_string()).collect::<Vec<_>>();
                tracing::error!(?ids, %error, "events were not written");
                of_each(&|id| BookEvent::Failed { id, why: error.to_string() });
            }
            Err(_) => {
                let why = "the book's worker failed; this is a fault of the program. What was said to be saved is \
                           on disk: close the program and open it again";
                tracing::error!("the book's worker failed");
                broken = Some(why.to_owned());
                of_each(&|id| BookEvent::Failed { id, why: why.to_owned() });
                tell(BookEvent::Ended { why: why.to_owned() });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::figures::Figures;
    use crate::book::testing::{envelopes, whole};
    use crate::book::{Appended, Balance, Ids, MixId, MixSummary, SqliteStore, StoreError, open_to_look};
    use crate::units::Stamp;
    use std::sync::mpsc;
    use std::time::Duration;

    /// A store that fails, or panics, at one of its calls.
    struct Faulty {
        kept: Vec<Envelope>,
        calls: usize,
        fails_at: Option<usize>,
        panics_at: Option<usize>,
    }

    impl Store for Faulty {
        fn append(&mut self, envelope: &Envelope) -> Result<Appended, StoreError> {
            let call = self.calls;
            self.calls += 1;
            assert!(self.panics_at != Some(call), "told to");
            if self.fails_at == Some(call) {
                return Err(full());
            }
            // As a real book does: what follows on something missing has no place.
            let next = u32::try_from(self.kept.len()).unwrap();
            if envelope.sequence != next {
                return Err(StoreError::OutOfPlace {
                    id: envelope.id,
                    subject: envelope.subject,
                    expected: next,
                    found: envelope.sequence,
                });
            }
            self.kept.push(envelope.clone());
            Ok(Appended::New)
        }
        fn append_all(&mut self, envelopes: &[Envelope]) -> Result<(), StoreError> {
            let before = self.kept.len();
            let written = envelopes.iter().try_for_each(|envelope| self.append(envelope).map(drop));
            if written.is_err() {
                self.kept.truncate(before);
            }
            written
        }
        fn events(&self, _: MixId) -> Result<Vec<Envelope>, StoreError> {
            Ok(self.kept.clone())
        }
        fn mixes(&self) -> Result<Vec<MixSummary>, StoreError> {
            Ok(Vec::new())
        }
        fn balances(&self) -> Result<Vec<Balance>, StoreError> {
            Ok(Vec::new())
        }
        fn of_scale(&self, _: &str, _: &str, _: u32) -> Result<Vec<Envelope>, StoreError> {
            Ok(Vec::new())
        }
        fn scale_events(&self) -> Result<Vec<Envelope>, StoreError> {
            Ok(Vec::new())
        }
        fn each(&self, take: &mut dyn FnMut(&Envelope)) -> Result<(), StoreError> {
            self.kept.iter().for_each(take);
            Ok(())
        }
        fn figures(&self) -> Result<Option<Figures>, StoreError> {
            Ok(None)
        }
        fn count(&self) -> Result<u64, StoreError> {
            Ok(self.kept.len() as u64)
        }
        fn faults(&self) -> Result<Vec<String>, StoreError> {
            Ok(Vec::new())
        }
    }

    fn full() -> StoreError {
        StoreError::DiskFull { path: "book".into() }
    }

    fn start(fails_at: Option<usize>, panics_at: Option<usize>) -> (Keeper, mpsc::Receiver<BookEvent>) {
        let (sender, answers) = mpsc::channel();
        let store = Faulty { kept: Vec::new(), calls: 0, fails_at, panics_at };
        let keeper = Keeper::start(store, move |event| drop(sender.send(event))).unwrap();
        (keeper, answers)
    }

    fn send(keeper: &Keeper, envelopes: &[Envelope]) {
        for envelope in envelopes {
            keeper.append(envelope.clone());
        }
    }

    const PATIENCE: Duration = Duration::from_secs(10);

    #[test]
    fn everything_sent_is_answered_in_order_before_it_ends() {
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        let (keeper, answers) = start(None, None);
        send(&keeper, &written);
        drop(keeper);
        let saved: Vec<_> = answers.iter().collect();
        assert_eq!(saved, written.iter().map(|e| BookEvent::Saved { id: e.id }).collect::<Vec<_>>());
    }

    #[test]
    fn whichever_write_fails_it_is_said_and_a_retry_goes_through() {
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        for n in 0..written.len() {
            let (keeper, answers) = start(Some(n), None);
            send(&keeper, &written);
            let said: Vec<_> = written.iter().map(|_| answers.recv_timeout(PATIENCE).unwrap()).collect();
            for (index, (event, envelope)) in said.iter().zip(&written).enumerate() {
                match event {
                    BookEvent::Saved { id } => assert!(*id == envelope.id && index < n),
                    BookEvent::Failed { id, why } => {
                        assert!(*id == envelope.id && index >= n);
                        assert!(index > n || why.contains("is full"), "{why}");
                    }
                    BookEvent::Ended { why } => panic!("{why}"),
                }
            }
            send(&keeper, &written[n..]);
            for envelope in &written[n..] {
                assert_eq!(answers.recv_timeout(PATIENCE).unwrap(), BookEvent::Saved { id: envelope.id });
            }
        }
    }

    /// What is sent together is on disk together or not at all, wherever in it something goes wrong.
    #[test]
    fn what_is_sent_together_is_saved_or_fails_together_and_a_retry_goes_through() {
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        for n in 0..written.len() {
            let (keeper, answers) = start(Some(n), None);
            keeper.append_all(written.clone());
            keeper.append_all(written.clone());
            drop(keeper);
            let said: Vec<_> = answers.iter().collect();
            let (first, second) = said.split_at(written.len());
            for (event, envelope) in first.iter().zip(&written) {
                assert!(
                    matches!(event, BookEvent::Failed { id, why } if *id == envelope.id && why.contains("is full"))
                );
            }
            assert_eq!(second, written.iter().map(|e| BookEvent::Saved { id: e.id }).collect::<Vec<_>>());
        }
        let (keeper, answers) = start(None, Some(1));
        keeper.append_all(written[..3].to_vec());
        keeper.append_all(written[..1].to_vec());
        drop(keeper);
        let said: Vec<_> = answers.iter().collect();
        assert!(said[..3].iter().all(|event| matches!(event, BookEvent::Failed { .. })), "{said:?}");
        assert!(matches!(said[3], BookEvent::Ended { .. }) && matches!(said[4], BookEvent::Failed { .. }));
        assert_eq!(said.len(), 5);
    }

    #[test]
    fn a_worker_that_fails_is_no_silent_death_and_leaves_nothing_unanswered() {
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        let (keeper, answers) = start(None, Some(1));
        send(&keeper, &written[..4]);
        drop(keeper);
        let said: Vec<_> = answers.iter().collect();
        assert_eq!(said[0], BookEvent::Saved { id: written[0].id });
        assert!(matches!(said[1], BookEvent::Failed { id, .. } if id == written[1].id));
        assert!(matches!(said[2], BookEvent::Ended { .. }));
        assert!(matches!(said[3], BookEvent::Failed { id, .. } if id == written[2].id));
        assert!(matches!(said[4], BookEvent::Failed { id, .. } if id == written[3].id));
        assert_eq!(said.len(), 5);
    }

    /// The answer that an event failed may be wrong: it got onto the disk, and the word of it was lost. Sent
    /// again, it is there once.
    #[test]
    fn a_write_whose_answer_was_lost_is_there_once_after_a_retry() {
        struct Forgetful(SqliteStore, usize);
        impl Store for Forgetful {
            fn append(&mut self, envelope: &Envelope) -> Result<Appended, StoreError> {
                let appended = self.0.append(envelope);
                self.1 += 1;
                if self.1 == 2 { Err(full()) } else { appended }
            }
            fn append_all(&mut self, envelopes: &[Envelope]) -> Result<(), StoreError> {
                self.0.append_all(envelopes)
            }
            fn events(&self, mix: MixId) -> Result<Vec<Envelope>, StoreError> {
                self.0.events(mix)
            }
            fn mixes(&self) -> Result<Vec<MixSummary>, StoreError> {
                self.0.mixes()
            }
            fn balances(&self) -> Result<Vec<Balance>, StoreError> {
                self.0.balances()
            }
            fn of_scale(&self, kind: &str, scale: &str, most: u32) -> Result<Vec<Envelope>, StoreError> {
                self.0.of_scale(kind, scale, most)
            }
            fn scale_events(&self) -> Result<Vec<Envelope>, StoreError> {
                self.0.scale_events()
            }
            fn each(&self, take: &mut dyn FnMut(&Envelope)) -> Result<(), StoreError> {
                self.0.each(take)
            }
            fn figures(&self) -> Result<Option<Figures>, StoreError> {
                self.0.figures()
            }
            fn count(&self) -> Result<u64, StoreError> {
                self.0.count()
            }
            fn faults(&self) -> Result<Vec<String>, StoreError> {
                self.0.faults()
            }
        }
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("book");
        let (mix, written) = envelopes(&mut Ids::counted(1), &whole());
        let store = SqliteStore::open(&path, Stamp(1)).unwrap().into_parts().0;
        let (sender, answers) = mpsc::channel();
        let keeper = Keeper::start(Forgetful(store, 0), move |event| drop(sender.send(event))).unwrap();
        send(&keeper, &written);
        keeper.append(written[1].clone());
        drop(keeper);
        let said: Vec<_> = answers.iter().collect();
        assert!(matches!(&said[1], BookEvent::Failed { id, .. } if *id == written[1].id));
        assert_eq!(said.last(), Some(&BookEvent::Saved { id: written[1].id }));
        assert_eq!(open_to_look(&path).unwrap().events(mix).unwrap(), written);
    }

    #[test]
    fn a_listener_that_panics_does_not_stop_the_book() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("book");
        let (mix, written) = envelopes(&mut Ids::counted(1), &whole());
        let store = SqliteStore::open(&path, Stamp(1)).unwrap().into_parts().0;
        let keeper = Keeper::start(store, |_| panic!("deaf")).unwrap();
        send(&keeper, &written);
        drop(keeper);
        assert_eq!(open_to_look(&path).unwrap().events(mix).unwrap(), written);
    }
}
