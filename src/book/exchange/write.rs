//! Writing a book out, line by line.

use super::line::{Book, End, Line, hex, sealed};
use super::{ExchangeError, FORMAT, LONGEST_LINE, Totals, VERSION};
use crate::book::Envelope;
use crate::units::Stamp;
use sha2::{Digest as _, Sha256};
use std::io::Write;

/// Writes the lines of one book.
#[derive(Debug)]
pub struct Writer<W> {
    sink: W,
    line: u64,
    whole: Sha256,
    totals: Totals,
}

impl<W: Write> Writer<W> {
    /// Writes the first line: a book of that layout, exported at that time.
    pub fn begin(sink: W, layout: u32, at: Stamp) -> Result<Self, ExchangeError> {
        let exported =
            jiff::Timestamp::from_microsecond(at.0).map(|time| time.to_string()).unwrap_or_default();
        let book = Book { format: FORMAT.to_owned(), version: VERSION, layout, exported };
        let mut writer = Self { sink, line: 0, whole: Sha256::new(), totals: Totals::default() };
        writer.write(Line { book: Some(book), ..Line::default() }, || FORMAT.to_owned())?;
        Ok(writer)
    }

    /// Writes an event.
    pub fn event(&mut self, envelope: &Envelope) -> Result<(), ExchangeError> {
        let line = Line { event: Some(envelope.into()), ..Line::default() };
        self.write(line, || envelope.id.to_string())?;
        let postings = u64::try_from(envelope.postings.len()).unwrap_or(u64::MAX);
        self.totals.events = self.totals.events.saturating_add(1);
        self.totals.postings = self.totals.postings.saturating_add(postings);
        self.totals.flawed = self.totals.flawed.saturating_add(u64::from(envelope.flaw().is_some()));
        Ok(())
    }

    /// Writes the last line, and gives back where it all went.
    pub fn end(mut self) -> Result<(Totals, W), ExchangeError> {
        let sha256 = hex(&self.whole.clone().finalize());
        let end = End { events: self.totals.events, postings: self.totals.postings, sha256 };
        self.write(Line { end: Some(end), ..Line::default() }, || FORMAT.to_owned())?;
        self.sink.flush()?;
        Ok((self.totals, self.sink))
    }

    fn write(&mut self, mut line: Line, which: impl Fn() -> String) -> Result<(), ExchangeError> {
        self.line = self.line.saturating_add(1);
        line.number = self.line;
        let text = sealed(&line).map_err(std::io::Error::other)?;
        if text.len() > LONGEST_LINE {
            return Err(ExchangeError::TooLong { event: which() });
        }
        self.whole.update(text.as_bytes());
        self.sink.write_all(text.as_bytes())?;
        Ok(())
    }
}
