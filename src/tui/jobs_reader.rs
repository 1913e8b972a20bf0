//! The book's side of the closed jobs: reads them over a second connection that only looks, on a thread of its own.

use super::message::Message;
use super::run::worker;
use crate::book::{JobsOf, Ledger as _, SqliteStore, Store as _, StoreError, open_to_look};
use crate::job::JobJournal;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::SyncSender;

/// As many closed jobs as are read, the latest.
const MOST: usize = 200;

/// Reads the jobs that were closed last; what came of it is a message.
pub(super) fn read(path: PathBuf, sender: &SyncSender<Message>) -> io::Result<()> {
    worker("jobs", sender, move |sender| {
        drop(sender.send(Message::ClosedJobsRead(closed(&path))));
    })
}

/// The jobs that were closed last, the latest first. One whose events cannot be read is for `pourbook check` to say.
fn closed(path: &Path) -> Result<Vec<JobJournal>, String> {
    let read = |book: &SqliteStore| -> Result<Vec<JobJournal>, StoreError> {
        let mut rows: Vec<_> =
            book.jobs(JobsOf::All)?.into_iter().filter(|row| row.closed.is_some()).collect();
        rows.sort_by_key(|row| std::cmp::Reverse(row.closed));
        let mut jobs = Vec::new();
        for row in rows.iter().take(MOST) {
            jobs.extend(JobJournal::fold(row.job, &book.events(row.job.subject())?).ok());
        }
        Ok(jobs)
    };
    open_to_look(path).and_then(|book| read(&book)).map_err(|error| error.to_string())
}
