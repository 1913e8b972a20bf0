//! The virtual bench at the far end of a real line: a pseudo terminal, a TCP port or an RFC 2217 server, speaking any
//! format. For tests of the whole program, and for people without a scale.

mod serial_server;

pub use serial_server::ServerFault;

use super::Clock;
use super::shape::{Ask, Shape, UsualLine};
use super::virtual_bench::{Hand, Spec, VirtualBench};
use serial_server::SerialServer;
use serialport::{SerialPort, TTYPort};
use std::io::{self, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::{Builder, JoinHandle};
use std::time::Duration;

/// Something to do to a stand-in from outside.
#[derive(Debug)]
pub enum Control {
    /// Move the hand.
    Hand(Hand),
    /// Take the line away, as pulling the plug does.
    Unplug,
    /// Bring it back.
    Replug,
    /// Say nothing, or speak again.
    Silent(bool),
    /// Send these bytes.
    Raw(Vec<u8>),
    /// Tell what is in the cup, in grams, and what was received so far.
    Truth(Sender<Truth>),
    /// End.
    Stop,
}

/// What a stand-in knows that the program cannot.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// What is in the cup, in grams, as the model has it.
    pub in_cup: f64,
    /// Everything that was sent to the scale, in order.
    pub received: Vec<u8>,
    /// What the port of an RFC 2217 server is set to; none elsewhere.
    pub line: Option<UsualLine>,
}

/// Where a stand-in is reached.
enum Line {
    Pty { link: PathBuf, master: Option<TTYPort> },
    Tcp { port: u16, listener: Option<TcpListener>, peer: Option<TcpStream>, server: Option<SerialServer> },
}

/// A scale that is not there, on a line that is.
#[derive(Debug)]
pub struct StandIn {
    control: Sender<Control>,
    thread: Option<JoinHandle<()>>,
    place: String,
}

/// How a stand-in behaves.
#[derive(Clone, Debug)]
pub struct Manner {
    /// What it speaks.
    pub shape: &'static dyn Shape,
    /// The bench behind it.
    pub spec: Spec,
    /// Where its chance begins.
    pub seed: u64,
    /// Whether it speaks by itself; otherwise only when asked.
    pub streams: bool,
}

impl StandIn {
    /// Serves at the end of a pseudo terminal, reached through the symbolic link `link`.
    pub fn on_pty(link: &Path, manner: Manner) -> io::Result<Self> {
        let mut line = Line::Pty { link: link.to_owned(), master: None };
        line.plug()?;
        Self::serve(line, link.display().to_string(), manner)
    }

    /// Serves at a TCP port of this machine; 0 lets the system choose one.
    pub fn on_tcp(port: u16, manner: Manner) -> io::Result<Self> {
        Self::on_network(port, None, manner)
    }

    /// Serves at a TCP port of this machine as an RFC 2217 server does, with those faults.
    pub fn on_rfc2217(port: u16, faults: Vec<ServerFault>, manner: Manner) -> io::Result<Self> {
        Self::on_network(port, Some(SerialServer::new(faults)), manner)
    }

    fn on_network(port: u16, server: Option<SerialServer>, manner: Manner) -> io::Result<Self> {
        let listener = listen(port)?;
        let place = listener.local_addr()?;
        let line = Line::Tcp { port: place.port(), listener: Some(listener), peer: None, server };
        Self::serve(line, place.to_string(), manner)
    }

    fn serve(line: Line, place: String, manner: Manner) -> io::Result<Self> {
        let (control, inbox) = channel();
        let thread = Builder::new()
            .name("stand-in".to_owned())
            .spawn(move || Server::new(line, manner).run(&inbox))?;
        Ok(Self { control, thread: Some(thread), place })
    }

    /// Where it is reached: the link's path, or host and port.
    pub fn place(&self) -> &str {
        &self.place
    }

    /// Does something to it.
    pub fn control(&self, what: Control) {
        // A stand-in that has ended has nothing to be told.
        let _ = self.control.send(what);
    }

    /// Moves the hand.
    pub fn hand(&self, hand: Hand) {
        self.control(Control::Hand(hand));
    }

    /// What it knows; none if it has ended.
    pub fn truth(&self) -> Option<Truth> {
        let (answer, inbox) = channel();
        self.control(Control::Truth(answer));
        inbox.recv_timeout(Duration::from_secs(5)).ok()
    }
}

impl Drop for StandIn {
    fn drop(&mut self) {
        self.control(Control::Stop);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn listen(port: u16) -> io::Result<TcpListener> {
    let listener = TcpListener::bind(("127.0.0.1", port))?;
    listener.set_nonblocking(true)?;
    Ok(listener)
}

impl Line {
    fn plug(&mut self) -> io::Result<()> {
        let (link, place) = match self {
            Self::Pty { link, master } => (link, master),
            Self::Tcp { listener: Some(_), .. } => return Ok(()),
            Self::Tcp { port, listener, .. } => {
                *listener = Some(listen(*port)?);
                return Ok(());
            }
        };
        let (master, slave) = TTYPort::pair().map_err(io::Error::other)?;
        // The pair would be inherited by every program started from here, and a plug pulled here would then still
        // be in over there. A copy is made to be closed on the way.
        let mut master = master.try_clone_native().map_err(io::Error::other)?;
        master.set_timeout(Duration::from_millis(1)).map_err(io::Error::other)?;
        let name = slave.name().ok_or_else(|| io::Error::other("the pseudo terminal has no name"))?;
        // The new link is put in place of the old in one step, so that nobody finds it missing half made.
        let fresh = link.with_extension("new");
        let _ = std::fs::remove_file(&fresh);
        std::os::unix::fs::symlink(name, &fresh)?;
        std::fs::rename(&fresh, &*link)?;
        // The near end is only opened to learn its name; holding it exclusively would keep the program out.
        drop(slave);
        *place = Some(master);
        Ok(())
    }

    fn unplug(&mut self) {
        match self {
            Self::Pty { link, master } => {
                let _ = std::fs::remove_file(link);
                *master = None;
            }
            Self::Tcp { listener, peer, .. } => (*listener, *peer) = (None, None),
        }
    }

    fn read(&mut self, buffer: &mut [u8]) -> usize {
        match self {
            Self::Pty { master: Some(master), .. } => master.read(buffer).unwrap_or(0),
            Self::Pty { .. } => 0,
            Self::Tcp { listener, peer, server, .. } => {
                if peer.is_none()
                    && let Some(Ok((stream, _))) = listener.as_ref().map(TcpListener::accept)
                {
                    let ready = stream.set_nonblocking(true).and_then(|()| stream.set_nodelay(true));
                    *peer = ready.is_ok().then_some(stream);
                    if let (Some(stream), Some(server)) = (peer.as_mut(), server.as_mut()) {
                        // One that is gone again is found out by the next read.
                        let _ = stream.write_all(&server.greet());
                    }
                }
                let count = match peer.as_mut().map(|peer| peer.read(buffer)) {
                    Some(Ok(count)) if count > 0 => count,
                    Some(Ok(_)) => {
                        *peer = None;
                        0
                    }
                    _ => 0,
                };
                let (Some(server), Some(stream)) = (server, peer.as_mut()) else { return count };
                let mut data = Vec::new();
                let answer = server.take_in(buffer.get(..count).unwrap_or_default(), &mut data);
                let _ = stream.write_all(&answer);
                for (slot, byte) in buffer.iter_mut().zip(&data) {
                    *slot = *byte;
                }
                data.len()
            }
        }
    }

    fn write(&mut self, bytes: &[u8]) {
        match self {
            // Nobody at the near end is no fault of a scale: it goes on speaking to itself.
            Self::Pty { master: Some(master), .. } => {
                let _ = master.write_all(bytes);
            }
            Self::Pty { .. } => {}
            Self::Tcp { peer, server, .. } => {
                let wire = server.as_ref().map_or_else(|| bytes.to_vec(), |server| server.wire(bytes));
                if peer.as_mut().is_some_and(|peer| peer.write_all(&wire).is_err()) {
                    *peer = None;
                }
            }
        }
    }

    fn setting(&self) -> Option<UsualLine> {
        match self {
            Self::Tcp { server: Some(server), .. } => Some(server.line()),
            _ => None,
        }
    }
}

struct Server {
    line: Line,
    manner: Manner,
    bench: VirtualBench,
    clock: Clock,
    received: Vec<u8>,
    pending: Vec<u8>,
    silent: bool,
    streams: bool,
}

/// How often the model is moved on and the line looked at, in milliseconds.
const STEP_MS: u64 = 5;

impl Server {
    fn new(line: Line, manner: Manner) -> Self {
        let bench = VirtualBench::new(manner.spec.clone(), manner.seed);
        let streams = manner.streams;
        Self {
            line,
            bench,
            clock: Clock::running(),
            received: Vec::new(),
            pending: Vec::new(),
            silent: false,
            streams,
            manner,
        }
    }

    fn run(&mut self, inbox: &Receiver<Control>) {
        let mut run_to = self.clock.now();
        let every = 1_000_u64.checked_div(u64::from(self.manner.spec.rate_hz)).unwrap_or(100).max(1);
        let mut next = run_to.plus(every);
        loop {
            match inbox.recv_timeout(Duration::from_millis(STEP_MS)) {
                Ok(Control::Stop) | Err(RecvTimeoutError::Disconnected) => break,
                Ok(control) => self.obey(control),
                Err(RecvTimeoutError::Timeout) => {}
            }
            let now = self.clock.now();
            self.bench.advance(now.since(run_to));
            run_to = now;
            self.answer();
            if now >= next {
                next = next.plus(every).max(now);
                if self.streams && !self.silent {
                    let bytes = self.bench.bytes(self.manner.shape);
                    self.line.write(&bytes);
                }
            }
        }
        self.line.unplug();
    }

    fn obey(&mut self, control: Control) {
        match control {
            Control::Hand(hand) => self.bench.hand(hand),
            Control::Unplug => self.line.unplug(),
            Control::Replug => {
                let _ = self.line.plug();
            }
            Control::Silent(silent) => self.silent = silent,
            Control::Raw(bytes) => self.line.write(&bytes),
            Control::Truth(answer) => {
                let (in_cup, line) = (self.bench.in_cup(), self.line.setting());
                let _ = answer.send(Truth { in_cup, received: self.received.clone(), line });
            }
            Control::Stop => {}
        }
    }

    /// Answers what was asked.
    fn answer(&mut self) {
        let mut buffer = [0_u8; 256];
        let count = self.line.read(&mut buffer);
        let fresh = buffer.get(..count).unwrap_or_default();
        self.received.extend_from_slice(fresh);
        self.pending.extend_from_slice(fresh);
        while let Some((ask, used)) = self.manner.shape.understand(&self.pending) {
            self.pending.drain(..used.min(self.pending.len()));
            match ask {
                Ask::Repeat => self.streams = true,
                Ask::Stop => self.streams = false,
                _ => {}
            }
            let bytes = self.bench.answer(ask, self.manner.shape);
            if !self.silent {
                self.line.write(&bytes);
            }
        }
        // A question is a few bytes; what has grown beyond that is noise.
        if self.pending.len() > 64 {
            self.pending.clear();
        }
    }
}
