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
    /// The worker failed; nothing more will be written.
    Ended {
        /// Why.
        why: String,
    },
}

/// A worker thread that writes the book. Dropping it waits until everything that was sent is dealt with.
#[derive(Debug)]
pub struct Keeper {
    queue: Option<Sender<Envelope>>,
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
        let thread = Builder::new().name("book".to_owned()).spawn(move || supervise(store, &inbox, sink))?;
        Ok(Self { queue: Some(queue), thread: Some(thread) })
    }

    /// Sends an event to be written. Nothing that is sent is dropped: it is answered as saved or as failed.
    pub fn append(&self, envelope: Envelope) {
        if let Some(queue) = &self.queue {
            // A worker that is gone has already said so.
            let _ = queue.send(envelope);
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

fn supervise(mut store: impl Store, inbox: &Receiver<Envelope>, mut sink: impl FnMut(BookEvent)) {
    let end = catch_unwind(AssertUnwindSafe(|| keep(&mut store, inbox, &mut sink)));
    if end.is_err() {
        let why =
            "the book's worker failed; this is a fault of the program. What was said to be saved is on disk";
        sink(BookEvent::Ended { why: why.to_owned() });
    }
}

fn keep(store: &mut impl Store, inbox: &Receiver<Envelope>, sink: &mut impl FnMut(BookEvent)) {
    while let Ok(envelope) = inbox.recv() {
        let id = envelope.id;
        sink(match store.append(&envelope) {
            Ok(_) => BookEvent::Saved { id },
            Err(error) => {
                tracing::error!(%id, %error, "an event was not written");
                BookEvent::Failed { id, why: error.to_string() }
            }
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::testing::{envelopes, whole};
    use crate::book::{Appended, Balance, Ids, MixId, MixSummary, StoreError};
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
                return Err(StoreError::DiskFull);
            }
            // As a real book does: what follows on something missing has no place.
            let next = u32::try_from(self.kept.len()).unwrap();
            if envelope.sequence != next {
                return Err(StoreError::OutOfPlace {
                    id: envelope.id,
                    expected: next,
                    found: envelope.sequence,
                });
            }
            self.kept.push(envelope.clone());
            Ok(Appended::New)
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
        fn faults(&self) -> Result<Vec<String>, StoreError> {
            Ok(Vec::new())
        }
    }

    fn start(fails_at: Option<usize>, panics_at: Option<usize>) -> (Keeper, mpsc::Receiver<BookEvent>) {
        let (sender, answers) = mpsc::channel();
        let store = Faulty { kept: Vec::new(), calls: 0, fails_at, panics_at };
        let keeper = Keeper::start(store, move |event| drop(sender.send(event))).unwrap();
        (keeper, answers)
    }

    const PATIENCE: Duration = Duration::from_secs(10);

    #[test]
    fn everything_sent_is_answered_in_order_before_it_ends() {
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        let (keeper, answers) = start(None, None);
        for envelope in &written {
            keeper.append(envelope.clone());
        }
        drop(keeper);
        let saved: Vec<_> = answers.iter().collect();
        assert_eq!(saved, written.iter().map(|e| BookEvent::Saved { id: e.id }).collect::<Vec<_>>());
    }

    #[test]
    fn whichever_write_fails_it_is_said_and_a_retry_goes_through() {
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        for n in 0..written.len() {
            let (keeper, answers) = start(Some(n), None);
            for envelope in &written {
                keeper.append(envelope.clone());
            }
            let said: Vec<_> = written.iter().map(|_| answers.recv_timeout(PATIENCE).unwrap()).collect();
            for (index, (event, envelope)) in said.iter().zip(&written).enumerate() {
                match event {
                    BookEvent::Saved { id } => assert!(*id == envelope.id && index < n),
                    BookEvent::Failed { id, why } => {
                        assert!(*id == envelope.id && index >= n);
                        assert!(index > n || why.contains("disk is full"), "{why}");
                    }
                    BookEvent::Ended { why } => panic!("{why}"),
                }
            }
            for envelope in &written[n..] {
                keeper.append(envelope.clone());
            }
            for envelope in &written[n..] {
                assert_eq!(answers.recv_timeout(PATIENCE).unwrap(), BookEvent::Saved { id: envelope.id });
            }
        }
    }

    #[test]
    fn a_worker_that_fails_is_no_silent_death() {
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        let (keeper, answers) = start(None, Some(1));
        for envelope in written.iter().take(3) {
            keeper.append(envelope.clone());
        }
        assert_eq!(answers.recv_timeout(PATIENCE).unwrap(), BookEvent::Saved { id: written[0].id });
        assert!(matches!(answers.recv_timeout(PATIENCE).unwrap(), BookEvent::Ended { .. }));
    }
}
