//! Reading a book that was written out, line by line, and holding each against its check.

use super::line::{End, hex, opened};
use super::{ExchangeError, FORMAT, LONGEST_LINE, Totals, VERSION};
use crate::book::{Envelope, StoreError};
use sha2::{Digest as _, Sha256};
use std::io::{BufRead, Read as _};

/// Reads the lines of one book. What it has given is only known to be the whole book once it has given nothing more.
#[derive(Debug)]
pub struct Reader<R> {
    source: R,
    line: u64,
    buffer: Vec<u8>,
    whole: Sha256,
    totals: Totals,
    ended: bool,
}

impl<R: BufRead> Reader<R> {
    /// Reads the first line.
    pub fn begin(source: R) -> Result<Self, ExchangeError> {
        let mut reader = Self {
            source,
            line: 0,
            buffer: Vec::new(),
            whole: Sha256::new(),
            totals: Totals::default(),
            ended: false,
        };
        reader.fetch().map_err(|error| match error {
            ExchangeError::Damaged { .. } | ExchangeError::CutOff { .. } if !reader.names_itself() => {
                ExchangeError::NotOne
            }
            error => error,
        })?;
        if !reader.names_itself() {
            return Err(ExchangeError::NotOne);
        }
        let Some(book) = opened(&reader.buffer, 1)?.book else { return Err(ExchangeError::NotOne) };
        if book.version > VERSION {
            return Err(ExchangeError::Newer { found: book.version });
        }
        if book.format != FORMAT || book.version == 0 {
            return Err(ExchangeError::NotOne);
        }
        reader.whole.update(&reader.buffer);
        Ok(reader)
    }

    /// The next event; none if that was all, and all of it was as it was written.
    pub fn next_event(&mut self) -> Result<Option<Envelope>, ExchangeError> {
        if self.ended {
            return Ok(None);
        }
        self.fetch()?;
        let line = opened(&self.buffer, self.line)?;
        match (line.event, line.end, line.book) {
            (Some(event), None, None) => {
                let envelope = event.envelope().map_err(|problem| self.damaged(problem))?;
                if let Some(flaw) = envelope.flaw() {
                    let problem = StoreError::Flawed { id: envelope.id, flaw };
                    return Err(ExchangeError::Refused { line: self.line, problem });
                }
                self.whole.update(&self.buffer);
                let postings = u64::try_from(envelope.postings.len()).unwrap_or(u64::MAX);
                self.totals.events = self.totals.events.saturating_add(1);
                self.totals.postings = self.totals.postings.saturating_add(postings);
                Ok(Some(envelope))
            }
            (None, Some(end), None) => self.finish(&end).map(|()| None),
            _ => Err(self.damaged("it is neither an event nor the end".to_owned())),
        }
    }

    /// The line it came to, from 1.
    pub const fn line(&self) -> u64 {
        self.line
    }

    /// What there was so far.
    pub const fn totals(&self) -> Totals {
        self.totals
    }

    fn damaged(&self, problem: String) -> ExchangeError {
        ExchangeError::Damaged { line: self.line, problem }
    }

    fn finish(&mut self, end: &End) -> Result<(), ExchangeError> {
        let Totals { events, postings, .. } = self.totals;
        if (end.events, end.postings) != (events, postings) {
            let told = format!(
                "it tells of {} events and {} postings, and {events} and {postings} came before it",
                end.events, end.postings
            );
            return Err(self.damaged(told));
        }
        if end.sha256 != hex(&self.whole.clone().finalize()) {
            return Err(self.damaged("the lines before it are not those that were written".to_owned()));
        }
        if !self.source.fill_buf()?.is_empty() {
            self.line = self.line.saturating_add(1);
            return Err(self.damaged("there is more after the end".to_owned()));
        }
        self.ended = true;
        Ok(())
    }

    /// Whether what was read looks like the first line, damaged or not.
    fn names_itself(&self) -> bool {
        let name = FORMAT.as_bytes();
        self.buffer.starts_with(b"{\"line\":1,")
            || self.buffer.windows(name.len()).take(100).any(|part| part == name)
    }

    /// Takes the next line into the buffer, with its end.
    fn fetch(&mut self) -> Result<(), ExchangeError> {
        self.line = self.line.saturating_add(1);
        self.buffer.clear();
        let most = u64::try_from(LONGEST_LINE).unwrap_or(u64::MAX);
        let read = (&mut self.source).take(most).read_until(b'\n', &mut self.buffer)?;
        if self.buffer.last() == Some(&b'\n') {
            return Ok(());
        }
        if read == LONGEST_LINE {
            return Err(self.damaged("it has no end".to_owned()));
        }
        Err(ExchangeError::CutOff { line: self.line })
    }
}
