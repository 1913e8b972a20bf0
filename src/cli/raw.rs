//! Bytes of a format that nobody knows yet, in lines under a ruler of columns: what a description of it is
//! written from.

use super::{CliError, out};
use crate::scale::shape::described::shown;
use std::fmt::Write as _;

/// After so many lines the ruler comes again.
const RULER_EVERY: usize = 20;
/// A line without an end is shown in pieces.
const MOST: usize = 200;

/// Cuts what comes in into lines, wherever a control character that ends one stands.
#[derive(Debug, Default)]
pub(super) struct RawLines {
    held: Vec<u8>,
    shown: usize,
}

impl RawLines {
    /// Takes the next bytes and says the lines that they complete.
    pub(super) fn push(&mut self, bytes: &[u8]) -> Result<(), CliError> {
        for text in self.cut(bytes) {
            if self.shown.is_multiple_of(RULER_EVERY) {
                out::line(RULER)?;
            }
            self.shown = self.shown.saturating_add(1);
            out::line(text)?;
        }
        Ok(())
    }

    /// Says what is held though no end of a line has come.
    pub(super) fn flush(&mut self) -> Result<(), CliError> {
        if !self.held.is_empty() {
            out::line(told(&std::mem::take(&mut self.held)))?;
        }
        Ok(())
    }

    fn cut(&mut self, bytes: &[u8]) -> Vec<String> {
        let mut lines = Vec::new();
        for &byte in bytes {
            let ended = self.held.last().is_some_and(|last| is_end(*last));
            if ended && !is_end(byte) || self.held.len() >= MOST {
                lines.push(told(&std::mem::take(&mut self.held)));
            }
            self.held.push(byte);
            // CR alone may still be followed by LF.
            if is_end(byte) && byte != b'\r' {
                lines.push(told(&std::mem::take(&mut self.held)));
            }
        }
        lines
    }
}

const fn is_end(byte: u8) -> bool {
    matches!(byte, b'\r' | b'\n' | 0x03 | 0x04)
}

/// Columns from 1, over the first character behind the start mark.
const RULER: &str = "                 \
    1         2         3         4\n        \
    1234567890123456789012345678901234567890";

/// `  15 long: ST,+001234.5  g   ends with <CR><LF>`, columns under the ruler, and the bytes.
fn told(line: &[u8]) -> String {
    let control = |byte: &u8| byte.is_ascii_control();
    let start = line.iter().take_while(|byte| control(byte) && !is_end(**byte)).count();
    let end = line.iter().rev().take_while(|byte| control(byte)).count().min(line.len() - start);
    let (marks, rest) = line.split_at(start);
    let (text, ends) = rest.split_at(rest.len() - end);
    let letters: String =
        text.iter().map(|&byte| if matches!(byte, b' '..=b'~') { char::from(byte) } else { '?' }).collect();
    let mut says = format!("        {letters}\n        {} characters", text.len());
    if !marks.is_empty() {
        let _ = write!(says, ", begins with {}", shown(marks));
    }
    if !ends.is_empty() {
        let _ = write!(says, ", ends with {}", shown(ends));
    }
    let bytes: Vec<String> = line.iter().map(|byte| format!("{byte:02x}")).collect();
    format!("{says}: {}", bytes.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_cut_behind_their_end_however_the_bytes_come() {
        for piece in [1, 2, 5, 100] {
            let mut raw = RawLines::default();
            let bytes = b"ST,+1.5 g\r\nUS,+1.6 g\r\n\x02 12G\x03\x02 13G\x03";
            let lines: Vec<String> = bytes.chunks(piece).flat_map(|piece| raw.cut(piece)).collect();
            let firsts: Vec<&str> = lines.iter().map(|line| line.lines().next().unwrap()).collect();
            assert_eq!(firsts, ["        ST,+1.5 g", "        US,+1.6 g", "         12G", "         13G"]);
            assert_eq!(
                lines[0].lines().nth(1).unwrap(),
                "        9 characters, ends with <CR><LF>: 53 54 2c 2b 31 2e 35 20 67 0d 0a"
            );
            assert!(lines[2].contains("4 characters, begins with <STX>, ends with <ETX>:"), "{}", lines[2]);
        }
    }

    #[test]
    fn an_end_that_is_cr_alone_shows_with_the_next_line() {
        let mut raw = RawLines::default();
        assert!(raw.cut(b"1.5\r").is_empty());
        assert!(raw.cut(b"1.6\r")[0].contains("3 characters, ends with <CR>:"));
        assert!(told(b"\xb3\xf8\r").contains("        ??\n        2 characters, ends with <CR>: b3 f8 0d"));
        assert!(raw.cut(&[b'x'; 500]).len() >= 2 && raw.held.len() <= MOST);
    }

    #[test]
    fn the_ruler_stands_over_the_columns() {
        let lines: Vec<&str> = RULER.lines().collect();
        let text = told(b"123456789012\r\n");
        assert_eq!(lines[1].find("123456789012"), text.lines().next().unwrap().find("123456789012"));
        assert_eq!(lines[0].find('1'), lines[1].find('0'));
    }
}
