//! A terminal with the real program in it, that notes when what is waited for came.

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::sync::{Arc, Condvar, Mutex, MutexGuard};
use std::thread::Builder;
use std::time::{Duration, Instant};

/// How long anything may take before the benchmark gives up.
const PATIENCE: Duration = Duration::from_secs(20);

/// What was seen of the program so far.
struct Seen {
    parser: vt100::Parser,
    bytes: u64,
    wanted: Option<String>,
    came: Option<Instant>,
    ended: bool,
}

pub(crate) struct Terminal {
    writer: Box<dyn Write + Send>,
    child: Box<dyn Child + Send + Sync>,
    seen: Arc<(Mutex<Seen>, Condvar)>,
    _master: Box<dyn MasterPty + Send>,
}

impl Terminal {
    /// Starts the program in a terminal of that many columns and rows, and the moment just before that.
    pub(crate) fn start(args: &[&str], size: (u16, u16)) -> (Self, Instant) {
        Self::start_with(args, size, &[])
    }

    /// The same with those variables of the environment.
    pub(crate) fn start_with(
        args: &[&str],
        (columns, rows): (u16, u16),
        environment: &[(&str, &str)],
    ) -> (Self, Instant) {
        let size = PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 };
        let pty = native_pty_system().openpty(size).expect("a pseudo terminal");
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_pourbook"));
        command.args(args);
        command.env("TERM", "xterm-256color");
        command.env_remove("NO_COLOR");
        command.env_remove("POURBOOK_SCALE");
        for (name, value) in environment {
            command.env(name, value);
        }
        let mut reader = pty.master.try_clone_reader().expect("the near end can be read");
        let writer = pty.master.take_writer().expect("the near end can be written");
        let size = |n| NonZeroU16::new(n).expect("a size");
        let parser = vt100::Parser::new(size(rows), size(columns), 0);
        let seen = Seen { parser, bytes: 0, wanted: None, came: None, ended: false };
        let seen = Arc::new((Mutex::new(seen), Condvar::new()));
        let noted = Arc::clone(&seen);
        Builder::new()
            .name("terminal".into())
            .spawn(move || {
                let mut buffer = [0; 8_192];
                loop {
                    let count = reader.read(&mut buffer).unwrap_or(0);
                    // Before anything is made of the bytes: what the benchmark itself takes does not count.
                    let now = Instant::now();
                    let mut seen = noted.0.lock().expect("no thread fails");
                    seen.take_in(buffer.get(..count).unwrap_or_default(), now);
                    noted.1.notify_all();
                    if count == 0 {
                        return;
                    }
                }
            })
            .expect("a thread");
        let begun = Instant::now();
        let child = pty.slave.spawn_command(command).expect("the program starts");
        drop(pty.slave);
        (Self { writer, child, seen, _master: pty.master }, begun)
    }

    /// Types.
    pub(crate) fn send(&mut self, keys: &str) {
        self.writer.write_all(keys.as_bytes()).expect("the program can be typed to");
    }

    fn seen(&self) -> MutexGuard<'_, Seen> {
        self.seen.0.lock().expect("no thread fails")
    }

    /// What is on the screen.
    pub(crate) fn text(&self) -> String {
        self.seen().parser.screen().contents()
    }

    /// How many bytes the program has sent so far.
    pub(crate) fn bytes(&self) -> u64 {
        self.seen().bytes
    }

    /// The program's number in the system.
    pub(crate) fn process(&self) -> u32 {
        self.child.process_id().expect("it runs")
    }

    /// From now on, that text is looked for in every byte that comes. It is not on the screen yet.
    pub(crate) fn look_for(&self, text: &str) {
        let mut seen = self.seen();
        assert!(!seen.shows(text), "'{text}' is on the screen already");
        seen.came = None;
        seen.wanted = Some(text.to_owned());
    }

    /// When the bytes came that brought what is looked for.
    pub(crate) fn found(&self) -> Instant {
        let deadline = Instant::now() + PATIENCE;
        let mut seen = self.seen();
        loop {
            if let Some(came) = seen.came {
                return came;
            }
            let left = deadline.saturating_duration_since(Instant::now());
            assert!(!left.is_zero() && !seen.ended, "in vain:\n{}", seen.parser.screen().contents());
            seen = self.seen.1.wait_timeout(seen, left).expect("no thread fails").0;
        }
    }

    /// Waits until the screen is so.
    pub(crate) fn wait(&self, is_so: impl Fn(&str) -> bool) -> String {
        let deadline = Instant::now() + PATIENCE;
        loop {
            let text = self.text();
            if is_so(&text) {
                return text;
            }
            assert!(Instant::now() < deadline, "waited in vain; the screen shows:\n{text}");
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    /// Waits until that text is on the screen.
    pub(crate) fn wait_for(&self, text: &str) -> String {
        self.wait(|screen| screen.contains(text))
    }
}

impl Seen {
    fn take_in(&mut self, bytes: &[u8], now: Instant) {
        self.ended |= bytes.is_empty();
        self.bytes += bytes.len() as u64;
        self.parser.process(bytes);
        if let Some(wanted) =
            self.wanted.take_if(|wanted| self.parser.screen().contents().contains(&**wanted))
        {
            drop(wanted);
            self.came = Some(now);
        }
    }

    fn shows(&self, text: &str) -> bool {
        self.parser.screen().contents().contains(text)
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        // A mix may be half weighed: that is what the book is for.
        let _ = self.writer.write_all(b"\x03");
        let deadline = Instant::now() + Duration::from_secs(3);
        while Instant::now() < deadline {
            if matches!(self.child.try_wait(), Ok(Some(_))) {
                return;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
