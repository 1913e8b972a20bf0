//! The two ways out: results to standard output, everything else to standard error; both without anything that
//! could move a cursor.

use super::CliError;
use serde::Serialize;
use std::fmt::Display;
use std::io::{self, Write as _};

/// Writes one result, of one line or several.
///
/// # Errors
/// Standard output is closed, which ends the command quietly, or cannot be written.
pub(super) fn line(text: impl Display) -> Result<(), CliError> {
    let mut stdout = io::stdout().lock();
    writeln!(stdout, "{}", clean(&text.to_string()))?;
    stdout.flush()?;
    Ok(())
}

/// Writes one result as JSON on one line.
pub(super) fn json(value: &impl Serialize) -> Result<(), CliError> {
    line(serde_json::to_string(value).map_err(CliError::failed)?)
}

/// Writes a script as it is: it is ours, and its tabs mean something.
pub(super) fn script(text: &str) -> Result<(), CliError> {
    let mut stdout = io::stdout().lock();
    stdout.write_all(text.as_bytes())?;
    stdout.flush()?;
    Ok(())
}

/// Says something on standard error. If nobody listens there, it is lost.
pub(super) fn note(text: impl Display) {
    let _ = writeln!(io::stderr().lock(), "{}", clean(&text.to_string()));
}

/// The text with each character replaced that could move the cursor, hide text or turn its direction.
fn clean(text: &str) -> String {
    let hides = |c: char| {
        c.is_control() && c != '\n'
            || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    text.chars().map(|c| if hides(c) { char::REPLACEMENT_CHARACTER } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::clean;

    #[test]
    fn nothing_moves_the_cursor_but_a_line_break() {
        assert_eq!(clean("a\u{1b}[2J\u{9b}b\r\n\u{202e}c"), "a\u{fffd}[2J\u{fffd}b\u{fffd}\n\u{fffd}c");
    }
}
