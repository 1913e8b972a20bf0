//! A serial server whose port is set over the network as RFC 2217 has it.

use super::com_port::{ComPort, Wanted};
use super::greeting::Greeting;
use super::tcp::other_end;
use super::{OpenError, Pause, Transport, is_idle, socket};
use crate::scale::Clock;
use std::io::{self, Read, Write};
use std::net::TcpStream;

pub(super) struct Rfc2217Line {
    stream: TcpStream,
    port: ComPort,
    clock: Clock,
    /// The scale's bytes that nobody has read yet.
    held: Vec<u8>,
}

/// As for a raw connection, but longer: a new connection moves the hand-shake lines, which some scales mind.
const SILENCE_MS: u64 = 60_000;

impl Rfc2217Line {
    /// Connects and has the port set; gives up if `pause` says so.
    pub(super) fn open(
        host: &str,
        wanted: Wanted,
        clock: &Clock,
        pause: Pause<'_>,
    ) -> Result<Self, OpenError> {
        let server = |why: String| OpenError::Server { host: host.to_owned(), why };
        let mut stream = socket::connect(host, pause)?;
        let mut port = ComPort::new(wanted, clock.now());
        let mut greeting = Greeting::default();
        let mut held = Vec::new();
        let mut buffer = [0_u8; 512];
        loop {
            stream.write_all(&port.outgoing()).map_err(|error| server(error.to_string()))?;
            if port.is_ready() {
                return Ok(Self { stream, port, clock: clock.clone(), held });
            }
            if pause(0) {
                return Err(OpenError::Stopped);
            }
            let count = match stream.read(&mut buffer) {
                Ok(0) => return Err(server(greeting.farewell())),
                Ok(count) => count,
                Err(error) if is_idle(&error) => 0,
                Err(error) => return Err(server(error.to_string())),
            };
            let bytes = buffer.get(..count).unwrap_or_default();
            greeting.take_in(bytes);
            let now = clock.now();
            port.take_in(bytes, now, &mut held)
                .and_then(|()| port.look(now))
                .map_err(|refusal| server(refusal.to_string()))?;
        }
    }
}

impl Transport for Rfc2217Line {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.held.is_empty() {
            let count = match self.stream.read(buffer) {
                Ok(0) => {
                    let what = "the serial server closed the connection";
                    return Err(io::Error::new(io::ErrorKind::UnexpectedEof, what));
                }
                Ok(count) => count,
                Err(error) if is_idle(&error) => return Ok(0),
                Err(error) => return Err(error),
            };
            let bytes = buffer.get(..count).unwrap_or_default();
            let taken = self.port.take_in(bytes, self.clock.now(), &mut self.held);
            taken
                .map_err(|refusal| other_end(format!("the serial server has changed its mind: {refusal}")))?;
            let answer = self.port.outgoing();
            if !answer.is_empty() {
                self.stream.write_all(&answer)?;
            }
        }
        let count = self.held.len().min(buffer.len());
        for (slot, byte) in buffer.iter_mut().zip(self.held.drain(..count)) {
            *slot = byte;
        }
        Ok(count)
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.stream.write_all(&self.port.wire(bytes))
    }

    fn errors(&mut self) -> u64 {
        self.port.line_errors()
    }

    fn remedy(&self) -> &'static str {
        "is the serial server on, and its network cable in?"
    }

    fn suspicious_silence_ms(&self) -> Option<u64> {
        Some(SILENCE_MS)
    }
}
