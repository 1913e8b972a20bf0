//! A recorded byte stream as a text file: what a scale sent and when, to play back or to put into a report.
//!
//! `shape NAME` says what the scale speaks, or lines that begin with `#|` hold the description of a format that is
//! not built in. Other lines that begin with `#` are remarks; every other line is the milliseconds since the start
//! and the bytes in hexadecimal.

use super::shape::described::{Described, DescriptionError, TAPE_LINE};
use super::shape::{self, Shape};
use std::fmt::Write as _;
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Bytes that arrived together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chunk {
    /// Milliseconds since the recording began.
    pub at_ms: u64,
    /// What arrived.
    pub bytes: Vec<u8>,
}

/// A whole recording.
#[derive(Clone, Debug, Default)]
pub struct Tape {
    /// What the scale speaks, if the tape says so.
    pub shape: Option<&'static dyn Shape>,
    /// The bytes, in order of time.
    pub chunks: Vec<Chunk>,
}

/// Why a tape cannot be read.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TapeError {
    /// The file cannot be read.
    #[error("{0}: {1}", .path.display(), .error)]
    File {
        /// Which file.
        path: PathBuf,
        /// What the system says.
        error: io::Error,
    },
    /// A line that is none.
    #[error("line {line} of the tape: {what}")]
    Line {
        /// Counted from 1.
        line: usize,
        /// What is wrong with it.
        what: String,
    },
    /// The description of its format is damaged.
    #[error("its lines that begin with #|: {0}")]
    Description(#[from] DescriptionError),
}

impl Tape {
    /// Reads a tape from its file.
    pub fn load(path: &Path) -> Result<Self, TapeError> {
        let text = std::fs::read_to_string(path)
            .map_err(|error| TapeError::File { path: path.to_owned(), error })?;
        Self::parse(&text)
    }

    /// Reads a tape from its text.
    pub fn parse(text: &str) -> Result<Self, TapeError> {
        let mut tape = Self::default();
        let mut description = String::new();
        for (index, line) in text.lines().enumerate() {
            let number = index.saturating_add(1);
            let wrong = |what: String| TapeError::Line { line: number, what };
            if let Some(text) = line.strip_prefix(TAPE_LINE) {
                description.push_str(text.strip_prefix(' ').unwrap_or(text));
                description.push('\n');
                continue;
            }
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
            if first == "shape" {
                let name = rest.trim();
                let known = shape::by_name(name);
                tape.shape = Some(known.ok_or_else(|| wrong(format!("'{name}' is no shape known here")))?);
                continue;
            }
            let at_ms =
                first.parse().ok().ok_or_else(|| wrong(format!("'{first}' is no number of milliseconds")))?;
            if tape.chunks.last().is_some_and(|last| last.at_ms > at_ms) {
                return Err(wrong("it is earlier than the line before".to_owned()));
            }
            let bytes = rest
                .split_whitespace()
                .map(|pair| {
                    let good = pair.len() == 2 && pair.bytes().all(|byte| byte.is_ascii_hexdigit());
                    let value = good.then(|| u8::from_str_radix(pair, 16).ok()).flatten();
                    value.ok_or_else(|| wrong(format!("'{pair}' is not a byte in two hexadecimal digits")))
                })
                .collect::<Result<Vec<u8>, _>>()?;
            tape.chunks.push(Chunk { at_ms, bytes });
        }
        if !description.is_empty() {
            tape.shape = Some(Described::on_tape(&description)?);
        }
        Ok(tape)
    }

    /// The tape's text.
    pub fn text(&self) -> String {
        let mut text = header(self.shape);
        for chunk in &self.chunks {
            text.push_str(&line(chunk));
        }
        text
    }
}

/// The first lines of a tape.
pub fn header(shape: Option<&'static dyn Shape>) -> String {
    let mut text = "# bytes of a scale: milliseconds since the start, then what arrived\n".to_owned();
    if let Some(shape) = shape {
        text.push_str(&shape.on_tape());
    }
    text
}

/// One line of a tape.
pub fn line(chunk: &Chunk) -> String {
    let mut text = chunk.at_ms.to_string();
    for byte in &chunk.bytes {
        let _ = write!(text, " {byte:02x}");
    }
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn errors_name_the_line() {
        for (text, part) in [
            ("shape sma\n12 0a\n5 0d", "line 3 of the tape: it is earlier"),
            ("x 0a", "line 1 of the tape: 'x' is no number"),
            ("# remark\n1 0g", "line 2 of the tape: '0g' is not a byte"),
            ("1 +a", "'+a' is not a byte"),
            ("shape none", "no shape known here"),
        ] {
            let message = Tape::parse(text).unwrap_err().to_string();
            assert!(message.contains(part), "{message}");
        }
    }

    proptest! {
        #[test]
        fn what_is_recorded_is_played(raw in prop::collection::vec((0_u64..1000, prop::collection::vec(any::<u8>(), 0..30)), 0..20)) {
            let mut at = 0;
            let chunks: Vec<_> = raw.into_iter().map(|(gap, bytes)| { at += gap; Chunk { at_ms: at, bytes } }).collect();
            let tape = Tape { shape: Some(&shape::Sma), chunks: chunks.clone() };
            let read = Tape::parse(&tape.text()).unwrap();
            prop_assert_eq!(read.chunks, chunks);
            prop_assert_eq!(read.shape.unwrap().name(), "sma");
        }

        #[test]
        fn no_text_is_a_panic(text in ".{0,80}") {
            let _ = Tape::parse(&text);
        }
    }
}
