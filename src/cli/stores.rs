//! What the stores manager's commands share: the book to write in, who writes, and writing it.

use super::places::Places;
use super::{CliError, to_write};
use crate::book::{By, Envelope, Ids, Opened, SqliteStore, Store as _, open_to_look};
use crate::job::{JobError, JobEvent, JobJournal, Warning};
use crate::settings::Key;
use crate::stock::StockEvent;
use crate::units::{Stamp, clean};

/// Who writes.
#[derive(Debug, clap::Args)]
pub(super) struct Who {
    /// Who says so [default: the setting painter, else your name on this machine]
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
}

/// Where the stores manager's events are said to be written.
const STORES: &str = "stores";
/// Where those of a job are that are not written at a bench.
const OFFICE: &str = "office";

/// A book to write in.
pub(super) struct Stores {
    pub(super) book: SqliteStore,
    by: By,
    ids: Ids,
}

fn now() -> Stamp {
    Stamp(jiff::Timestamp::now().as_microsecond())
}

impl Stores {
    /// Opens the book to write in it what happens to the stock.
    pub(super) fn open(places: &Places, who: &Who) -> Result<Self, CliError> {
        Self::open_at(places, who, STORES)
    }

    /// Opens the book to write in it what happens to jobs.
    pub(super) fn office(places: &Places, who: &Who) -> Result<Self, CliError> {
        Self::open_at(places, who, OFFICE)
    }

    fn open_at(places: &Places, who: &Who, at: &str) -> Result<Self, CliError> {
        let path = places.book(places.is_demo())?;
        let painter = places.settled()?.settings.get(Key::Painter).map(str::to_owned);
        let named = who.by.clone().or(painter).or_else(|| std::env::var("USER").ok());
        let operator = clean(named.as_deref().unwrap_or(at)).trim().to_owned();
        match to_write::opened(&path, now()).map_err(CliError::failed)? {
            Opened::ToWrite(book) => {
                Ok(Self { book, by: By { bench: at.to_owned(), operator }, ids: Ids::fresh() })
            }
            Opened::ToLook { why, .. } => {
                Err(CliError::failed(why)
                    .hint("Close the other Pourbook, then try again. Nothing was written."))
            }
        }
    }

    /// What happened as the book would keep it, said now.
    pub(super) fn seal(&mut self, event: &StockEvent) -> Result<Envelope, CliError> {
        let at = now();
        event.envelope(self.ids.event(at), at, &self.by).map_err(CliError::failed)
    }

    /// Writes what happened.
    pub(super) fn tell(&mut self, event: &StockEvent) -> Result<(), CliError> {
        let envelope = self.seal(event)?;
        self.book.append(&envelope).map(|_| ()).map_err(CliError::failed)
    }

    /// Writes what happened together: all of it, or nothing.
    pub(super) fn tell_all(&mut self, events: &[StockEvent]) -> Result<(), CliError> {
        let at = now();
        let envelopes: Result<Vec<_>, _> =
            events.iter().map(|event| event.envelope(self.ids.event(at), at, &self.by)).collect();
        self.book.append_all(&envelopes.map_err(CliError::failed)?).map_err(CliError::failed)
    }
}

/// Why something of a job is not written.
pub(super) enum Untold {
    /// The job does not take it.
    Job(JobError),
    /// The book cannot.
    Book(CliError),
}

impl From<JobError> for Untold {
    fn from(error: JobError) -> Self {
        Self::Job(error)
    }
}

impl Stores {
    /// The time now.
    pub(super) fn now() -> Stamp {
        now()
    }

    /// Opens a job, and writes that.
    pub(super) fn open_job(&mut self, event: &JobEvent) -> Result<JobJournal, Untold> {
        let at = now();
        let job = self.ids.job(at);
        let (journal, envelope) = JobJournal::begin(job, event, self.ids.event(at), at, &self.by)?;
        self.book.append(&envelope).map_err(|error| Untold::Book(CliError::failed(error)))?;
        Ok(journal)
    }

    /// Writes what happened to a job; what has to be said of it.
    pub(super) fn tell_job(
        &mut self,
        journal: &mut JobJournal,
        event: &JobEvent,
    ) -> Result<Vec<Warning>, Untold> {
        let at = now();
        let mut next = journal.clone();
        let (envelope, warnings) = next.record(event, self.ids.event(at), at, &self.by)?;
        self.book.append(&envelope).map_err(|error| Untold::Book(CliError::failed(error)))?;
        *journal = next;
        Ok(warnings)
    }
}

/// The book, to look at.
pub(super) fn to_look(places: &Places) -> Result<SqliteStore, CliError> {
    let path = places.book(places.is_demo())?;
    if !path.exists() {
        return Err(CliError::failed(format!("there is no book yet: {} is not there", path.display()))
            .hint("It is made with the first mix or the first delivery; --book FILE names another."));
    }
    open_to_look(&path).map_err(CliError::failed)
}
