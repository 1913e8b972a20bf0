//! The first bytes of a connection to a serial server: telnet, a banner, or the refusal of a second client. None of it
//! is from the scale.

use super::telnet;

/// How much of the beginning is looked at, in bytes: a few lines.
const MOST: usize = 256;
/// The longest quotation, in letters.
const QUOTE: usize = 80;

/// What a server with one place says to whoever comes second (common practice, no source).
const TAKEN: &[&str] = &["in use", "busy", "already connected", "already open"];

/// What came first on a connection.
#[derive(Debug, Default)]
pub(super) struct Greeting(Vec<u8>);

impl Greeting {
    /// Takes in what came; false once the beginning is over.
    pub(super) fn take_in(&mut self, bytes: &[u8]) -> bool {
        let room = MOST.saturating_sub(self.0.len());
        self.0.extend(bytes.iter().take(room));
        room > 0
    }

    /// Whether nothing came at all.
    pub(super) const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether it is telnet, however its bytes were split.
    pub(super) fn is_telnet(&self) -> bool {
        telnet::speaks_telnet(&self.0)
    }

    /// The first words in it, printable and short: a piece of text with four letters in a row. Readings have none, as
    /// a rule.
    pub(super) fn words(&self) -> Option<String> {
        let mut lines = self.0.split(|byte| !matches!(byte, b' '..=b'~'));
        let has_word = |line: &&[u8]| line.windows(4).any(|four| four.iter().all(u8::is_ascii_alphabetic));
        let line = lines.find(has_word).map(String::from_utf8_lossy)?;
        Some(line.trim().chars().take(QUOTE).collect())
    }

    /// The words that say that somebody else is connected.
    pub(super) fn taken(&self) -> Option<String> {
        let text = String::from_utf8_lossy(&self.0).to_lowercase();
        TAKEN.iter().any(|words| text.contains(words)).then(|| self.words()).flatten()
    }

    /// Why a server that has closed the connection may have done so.
    pub(super) fn farewell(&self) -> String {
        if let Some(words) = self.taken() {
            return taken(&words);
        }
        match self.words() {
            Some(words) => format!("the serial server closed the connection; it had said \u{201c}{words}\u{201d}"),
            None if self.is_empty() => {
                "the serial server closed the connection before it said anything; most serve one program at a \
                 time: is another one connected?"
                    .to_owned()
            }
            None => "the serial server closed the connection".to_owned(),
        }
    }
}

/// That somebody else is connected, in a sentence.
pub(super) fn taken(words: &str) -> String {
    format!(
        "another program is connected to the serial server, which says \u{201c}{words}\u{201d}: close it, or \
         allow more than one at the server"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn greeting(bytes: &[u8]) -> Greeting {
        let mut greeting = Greeting::default();
        for byte in bytes {
            greeting.take_in(&[*byte]);
        }
        greeting
    }

    #[test]
    fn a_second_client_is_told_that_there_is_a_first() {
        let refusal = greeting(b"\x1b[2JPort is in use\r\n");
        assert_eq!(refusal.taken().as_deref(), Some("[2JPort is in use"));
        assert!(refusal.farewell().contains("another program is connected"), "{}", refusal.farewell());
        assert!(!refusal.farewell().contains(char::is_control));
        assert!(greeting(b"").farewell().contains("is another one connected?"));
        assert!(greeting(b"Good bye\r\n").farewell().contains("\u{201c}Good bye\u{201d}"));
    }

    #[test]
    fn a_banner_is_quoted_and_is_no_refusal() {
        let banner =
            greeting(b"\r\nserial line 3, 9600n81\r\nauthorised users only; access is denied to others\r\n");
        assert_eq!((banner.taken(), banner.words().as_deref()), (None, Some("serial line 3, 9600n81")));
        for frame in
            [&b"ST,+00012.3  g\r\n"[..], b"\n  G      21.4g  \r", b"S S      21.40 g\r\n", b"\xFF\xFE\x00"]
        {
            assert_eq!(greeting(frame).words(), None);
            assert_eq!(greeting(frame).farewell(), "the serial server closed the connection");
        }
    }

    #[test]
    fn only_the_beginning_is_looked_at() {
        let mut greeting = greeting(&[b'.'; MOST]);
        assert!(!greeting.take_in(b"port is in use"));
        assert_eq!(greeting.taken(), None);
    }
}
