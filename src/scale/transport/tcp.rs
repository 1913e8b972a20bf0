//! A serial server that passes bytes unchanged over TCP.

use super::greeting::{self, Greeting};
use super::{OpenError, Pause, Transport, is_idle, socket};
use crate::scale::Clock;
use crate::units::Moment;
use std::io::{self, Read, Write};
use std::net::TcpStream;

pub(super) struct TcpLine {
    stream: TcpStream,
    greeting: Greeting,
    clock: Clock,
    opened: Moment,
}

/// A peer that vanished without a word looks like a silent scale; after this long it is worth connecting anew.
const SILENCE_MS: u64 = 10_000;

/// What comes in the first moment of a connection may be what the server kept from before it, and has no time of its
/// own any more: it is looked at as a greeting, and never read as a weight.
const KEPT_MS: u64 = 150;

impl TcpLine {
    pub(super) fn open(host: &str, clock: &Clock, pause: Pause<'_>) -> Result<Self, OpenError> {
        let stream = socket::connect(host, pause)?;
        Ok(Self { stream, greeting: Greeting::default(), clock: clock.clone(), opened: clock.now() })
    }
}

/// An error that says itself what is at the other end, and what to do.
pub(super) fn other_end(what: impl Into<String>) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, what.into())
}

impl Transport for TcpLine {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = match self.stream.read(buffer) {
            Ok(0) => {
                let why = self.greeting.farewell();
                return Err(if self.greeting.is_empty() || self.greeting.taken().is_some() {
                    other_end(why)
                } else {
                    io::Error::new(io::ErrorKind::UnexpectedEof, why)
                });
            }
            Ok(count) => count,
            Err(error) if is_idle(&error) => return Ok(0),
            Err(error) => return Err(error),
        };
        if self.greeting.take_in(buffer.get(..count).unwrap_or_default()) {
            if self.greeting.is_telnet() {
                return Err(other_end(
                    "this is a telnet server, not a raw one: set its port to raw TCP, or use rfc2217: instead of \
                     tcp: if it can be set that way",
                ));
            }
            if let Some(words) = self.greeting.taken() {
                return Err(other_end(greeting::taken(&words)));
            }
        }
        Ok(if self.clock.now().since(self.opened) < KEPT_MS { 0 } else { count })
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.stream.write_all(bytes)
    }

    fn greeting(&self) -> Option<String> {
        self.greeting.words()
    }

    fn remedy(&self) -> &'static str {
        "is the serial server on, and its network cable in?"
    }

    fn suspicious_silence_ms(&self) -> Option<u64> {
        Some(SILENCE_MS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::net::TcpListener;

    fn open(clock: &Clock) -> (TcpLine, TcpStream) {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let place = listener.local_addr().unwrap().to_string();
        let line = TcpLine::open(&place, clock, &mut |_| false).unwrap();
        (line, listener.accept().unwrap().0)
    }

    #[test]
    fn what_a_server_kept_from_before_is_let_go() {
        let clock = Clock::standing();
        let (mut line, mut server) = open(&clock);
        let mut buffer = [0_u8; 64];
        server.write_all(b"old, and older").unwrap();
        while line.greeting().is_none_or(|words| !words.contains("older")) {
            assert_eq!(line.read(&mut buffer).unwrap(), 0);
        }
        clock.advance(KEPT_MS);
        server.write_all(b"new").unwrap();
        let mut came = Vec::new();
        while came.len() < 3 {
            let count = line.read(&mut buffer).unwrap();
            came.extend_from_slice(&buffer[..count]);
        }
        assert_eq!(came, b"new");
    }

    #[test]
    fn it_is_looked_at_all_the_same() {
        let clock = Clock::standing();
        for (greeting, part) in [(&[0xFF, 0xFB, 0x01][..], "telnet"), (b"sorry, busy\r\n", "another program")]
        {
            let (mut line, mut server) = open(&clock);
            server.write_all(greeting).unwrap();
            let error = loop {
                if let Err(error) = line.read(&mut [0; 64]) {
                    break error;
                }
            };
            assert_eq!(error.kind(), io::ErrorKind::InvalidData);
            assert!(error.to_string().contains(part), "{error}");
        }
    }
}
