//! A serial server that passes bytes unchanged over TCP.

use super::{OpenError, READ_WAIT_MS, Transport, is_idle};
use std::io::{self, Read, Write};
use std::net::{TcpStream, ToSocketAddrs};
use std::time::Duration;

pub(super) struct TcpLine {
    stream: TcpStream,
    begun: bool,
}

/// How long a connection may take to come about. The worker cannot be ended meanwhile, so it is short: in a shop's
/// own network a server that is there answers in milliseconds.
const CONNECT: Duration = Duration::from_secs(2);

/// A peer that vanished without a word looks like a silent scale; after this long it is worth connecting anew.
const SILENCE_MS: u64 = 10_000;

impl TcpLine {
    pub(super) fn open(host: &str) -> Result<Self, OpenError> {
        let unreachable = |why: String| OpenError::Unreachable { host: host.to_owned(), why };
        let addresses = host.to_socket_addrs().map_err(|error| unreachable(error.to_string()))?;
        let mut why = "the name has no address".to_owned();
        for address in addresses {
            match TcpStream::connect_timeout(&address, CONNECT) {
                Ok(stream) => {
                    let ready = stream
                        .set_nodelay(true)
                        .and_then(|()| stream.set_read_timeout(Some(Duration::from_millis(READ_WAIT_MS))))
                        .and_then(|()| stream.set_write_timeout(Some(Duration::from_secs(1))));
                    ready.map_err(|error| unreachable(error.to_string()))?;
                    return Ok(Self { stream, begun: false });
                }
                Err(error) => why = error.to_string(),
            }
        }
        Err(unreachable(why))
    }
}

impl Transport for TcpLine {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        match self.stream.read(buffer) {
            Ok(0) => {
                Err(io::Error::new(io::ErrorKind::UnexpectedEof, "the serial server closed the connection"))
            }
            Ok(count) => {
                // IAC WILL or IAC DO as the first word: RFC 854 telnet, not raw bytes.
                if !self.begun && count >= 2 && matches!(buffer, [0xFF, 0xFB | 0xFD, ..]) {
                    let text = "this is a telnet server, not a raw one: set its port to raw TCP";
                    return Err(io::Error::new(io::ErrorKind::InvalidData, text));
                }
                self.begun = true;
                Ok(count)
            }
            Err(error) if is_idle(&error) => Ok(0),
            Err(error) => Err(error),
        }
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.stream.write_all(bytes)
    }

    fn remedy(&self) -> &'static str {
        "is the serial server on, and its network cable in?"
    }

    fn suspicious_silence_ms(&self) -> Option<u64> {
        Some(SILENCE_MS)
    }
}
