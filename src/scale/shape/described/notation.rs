//! How bytes are written in a description, and shown where somebody is writing one: `CR LF`, `W<CR>`, `<ESC>P`.

use super::problem::{did_you_mean, nearest, quoted};

/// The control characters by the names that ASCII gives them (RFC 20, from memory). FF is left out: as a word it would be
/// two hexadecimal digits as well.
const NAMES: [(&str, u8); 34] = [
    ("NUL", 0x00),
    ("SOH", 0x01),
    ("STX", 0x02),
    ("ETX", 0x03),
    ("EOT", 0x04),
    ("ENQ", 0x05),
    ("ACK", 0x06),
    ("BEL", 0x07),
    ("BS", 0x08),
    ("HT", 0x09),
    ("LF", 0x0a),
    ("VT", 0x0b),
    ("CR", 0x0d),
    ("SO", 0x0e),
    ("SI", 0x0f),
    ("DLE", 0x10),
    ("DC1", 0x11),
    ("DC2", 0x12),
    ("DC3", 0x13),
    ("DC4", 0x14),
    ("NAK", 0x15),
    ("SYN", 0x16),
    ("ETB", 0x17),
    ("CAN", 0x18),
    ("EM", 0x19),
    ("SUB", 0x1a),
    ("ESC", 0x1b),
    ("FS", 0x1c),
    ("GS", 0x1d),
    ("RS", 0x1e),
    ("US", 0x1f),
    ("SP", 0x20),
    ("DEL", 0x7f),
    ("TAB", 0x09),
];

/// A byte by its name or its two hexadecimal digits.
fn code(word: &str) -> Result<u8, String> {
    if let Some((_, byte)) = NAMES.iter().find(|(name, _)| name.eq_ignore_ascii_case(word)) {
        return Ok(*byte);
    }
    let is_hex = word.len() == 2 && word.bytes().all(|byte| byte.is_ascii_hexdigit());
    let hex = is_hex.then(|| u8::from_str_radix(word, 16).ok()).flatten();
    hex.ok_or_else(|| {
        let near = nearest(word, ["cr", "lf", "stx", "etx", "esc", "soh", "eot"]).map(str::to_uppercase);
        let near = did_you_mean(near.as_deref());
        format!(
            "{} is no control character. Expected a name, as CR, LF, STX or ETX, or two hexadecimal digits, as 0d.{near}",
            quoted(word)
        )
    })
}

/// The bytes of a start or end mark: names and hexadecimal pairs with blanks between them, or as in a command.
pub(super) fn mark(text: &str) -> Result<Vec<u8>, String> {
    if text.contains('<') {
        return command(text);
    }
    let byte = |word: &str| match *word.as_bytes() {
        [byte] if byte.is_ascii_punctuation() => Ok(byte),
        _ => code(word),
    };
    text.split_whitespace().map(byte).collect()
}

/// The bytes of a command: text as it stands, control characters in angle brackets.
pub(super) fn command(text: &str) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    let mut rest = text;
    while let Some((plain, after)) = rest.split_once('<') {
        push_plain(plain, &mut bytes)?;
        let (words, after) = after.split_once('>').ok_or_else(|| {
            format!("The bracket in {} is not closed. Write <CR>, and <3c> for a < itself.", quoted(text))
        })?;
        for word in words.split_whitespace() {
            bytes.push(code(word)?);
        }
        rest = after;
    }
    push_plain(rest, &mut bytes)?;
    Ok(bytes)
}

fn push_plain(text: &str, bytes: &mut Vec<u8>) -> Result<(), String> {
    if let Some(letter) = text.chars().find(|letter| !matches!(letter, ' '..='~')) {
        let letter = letter.escape_unicode();
        return Err(format!(
            "{letter} is no printable ASCII. Write control characters in angle brackets, as <CR>, others as <b0>."
        ));
    }
    bytes.extend_from_slice(text.as_bytes());
    Ok(())
}

/// Bytes as a command in a description is written.
pub fn shown(bytes: &[u8]) -> String {
    let mut text = String::new();
    for &byte in bytes {
        match NAMES.iter().find(|(_, code)| *code == byte) {
            _ if matches!(byte, b' '..=b'~') && byte != b'<' => text.push(char::from(byte)),
            Some((name, _)) => text.extend(["<", name, ">"]),
            None => text.extend(["<", &format!("{byte:02x}"), ">"]),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn marks_are_names_or_hex() {
        assert_eq!(mark("CR LF").unwrap(), b"\r\n");
        assert_eq!(mark("cr lf").unwrap(), b"\r\n");
        assert_eq!(mark("0d 0A").unwrap(), b"\r\n");
        assert_eq!(mark("<CR><LF>").unwrap(), b"\r\n");
        assert_eq!(mark("ETX").unwrap(), [3]);
        assert_eq!(mark("; CR").unwrap(), b";\r");
        assert_eq!(mark("ff").unwrap(), [0xff]);
        assert!(mark("CRLF").unwrap_err().contains("Did you mean 'CR'?"));
        assert!(mark("0x0d").is_err() && mark("d").is_err());
    }

    #[test]
    fn commands_are_text_with_control_characters_in_brackets() {
        assert_eq!(command("W<CR>").unwrap(), b"W\r");
        assert_eq!(command("<ESC>P").unwrap(), b"\x1bP");
        assert_eq!(command("<1b 50 0d>").unwrap(), b"\x1bP\r");
        assert_eq!(command("S I<cr><lf>").unwrap(), b"S I\r\n");
        assert_eq!(command("<3c>").unwrap(), b"<");
        assert!(command("W<CR").unwrap_err().contains("not closed"));
        assert!(command("W\r").unwrap_err().contains("angle brackets"));
        assert!(command("W<ENTER>").unwrap_err().contains("'ENTER' is no control character"));
    }

    proptest! {
        #[test]
        fn what_is_shown_can_be_written(bytes in prop::collection::vec(any::<u8>(), 0..20)) {
            prop_assert_eq!(command(&shown(&bytes)).unwrap(), bytes);
        }
    }
}
