//! A real terminal for the real program: a pseudo terminal with a screen model behind it. Everything waits for
//! what should be on the screen; nothing sleeps and hopes.

#![allow(unreachable_pub, dead_code, reason = "each test file uses its own part of the harness")]

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

/// How long anything may take before a test gives up; a loaded machine is slow, not wrong.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// A terminal with the program in it.
pub struct Terminal {
    master: Box<dyn MasterPty + Send>,
    writer: Box<dyn Write + Send>,
    pub child: Box<dyn Child + Send + Sync>,
    shared: Arc<(Mutex<Screen>, Condvar)>,
}

struct Screen {
    parser: vt100::Parser,
    raw: Vec<u8>,
    ended: bool,
}

impl Terminal {
    /// Starts the program with those arguments in a terminal of that many columns and rows.
    pub fn start(args: &[&str], size: (u16, u16), env: &[(&str, &str)]) -> Self {
        Self::start_other(Path::new(env!("CARGO_BIN_EXE_pourbook")), args, size, env)
    }

    /// The same with another program.
    pub fn start_other(program: &Path, args: &[&str], size: (u16, u16), env: &[(&str, &str)]) -> Self {
        let (columns, rows) = size;
        let pty = native_pty_system()
            .openpty(PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 })
            .unwrap();
        let mut command = CommandBuilder::new(program);
        command.args(args);
        command.env("TERM", "xterm-256color");
        command.env_remove("NO_COLOR");
        command.env_remove("POURBOOK_SCALE");
        for (key, value) in env {
            command.env(key, value);
        }
        let child = pty.slave.spawn_command(command).unwrap();
        drop(pty.slave);
        let mut reader = pty.master.try_clone_reader().unwrap();
        let writer = pty.master.take_writer().unwrap();
        let size = |n| NonZeroU16::new(n).unwrap();
        let parser = vt100::Parser::new(size(rows), size(columns), 0);
        let shared = Arc::new((Mutex::new(Screen { parser, raw: Vec::new(), ended: false }), Condvar::new()));
        let screen = Arc::clone(&shared);
        std::thread::Builder::new()
            .name("terminal".into())
            .spawn(move || {
                let mut buffer = [0; 4096];
                loop {
                    let count = reader.read(&mut buffer).unwrap_or(0);
                    let mut guard = screen.0.lock().unwrap();
                    if count == 0 {
                        guard.ended = true;
                        screen.1.notify_all();
                        return;
                    }
                    guard.parser.process(&buffer[..count]);
                    guard.raw.extend_from_slice(&buffer[..count]);
                    screen.1.notify_all();
                }
            })
            .unwrap();
        Self { master: pty.master, writer, child, shared }
    }

    /// Types.
    pub fn send(&mut self, keys: &str) {
        self.writer.write_all(keys.as_bytes()).unwrap();
        self.writer.flush().unwrap();
    }

    /// Another size.
    pub fn resize(&self, columns: u16, rows: u16) {
        self.shared
            .0
            .lock()
            .unwrap()
            .parser
            .screen_mut()
            .set_size(NonZeroU16::new(rows).unwrap(), NonZeroU16::new(columns).unwrap());
        self.master.resize(PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 }).unwrap();
    }

    /// What is on the screen.
    pub fn text(&self) -> String {
        self.shared.0.lock().unwrap().parser.screen().contents()
    }

    /// Everything the program ever wrote.
    pub fn raw(&self) -> Vec<u8> {
        self.shared.0.lock().unwrap().raw.clone()
    }

    /// Whether the alternate screen is on, and whether the cursor is hidden.
    pub fn modes(&self) -> (bool, bool) {
        let guard = self.shared.0.lock().unwrap();
        let screen = guard.parser.screen();
        (screen.alternate_screen(), screen.hide_cursor())
    }

    /// Whether pastes are marked.
    pub fn bracketed_paste(&self) -> bool {
        self.shared.0.lock().unwrap().parser.screen().bracketed_paste()
    }

    /// Whether the line is edited and echoed by the system, as a shell leaves it: raw mode is off.
    pub fn is_cooked(&self) -> bool {
        // The master's settings are those of the terminal (termios(3)).
        let modes = self.master.get_termios().unwrap().local_flags;
        format!("{modes:?}").contains("ICANON")
    }

    /// Waits until the terminal fulfils something.
    pub fn wait_until(&self, what: &str, is_so: impl Fn(&Self) -> bool) {
        let deadline = Instant::now() + PATIENCE;
        while !is_so(self) {
            assert!(
                Instant::now() < deadline,
                "waited in vain for {what}; the screen shows:\n{}",
                self.text()
            );
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Waits until the screen fulfils something.
    pub fn wait(&self, what: &str, is_so: impl Fn(&str) -> bool) -> String {
        let deadline = Instant::now() + PATIENCE;
        let mut guard = self.shared.0.lock().unwrap();
        loop {
            let text = guard.parser.screen().contents();
            if is_so(&text) {
                return text;
            }
            let left = deadline.saturating_duration_since(Instant::now());
            assert!(!left.is_zero(), "waited in vain for {what}; the screen shows:\n{text}");
            assert!(!guard.ended, "the program ended while waiting for {what}; the screen shows:\n{text}");
            guard = self.shared.1.wait_timeout(guard, left.min(Duration::from_millis(200))).unwrap().0;
        }
    }

    /// Waits until that text is on the screen.
    pub fn wait_for(&self, text: &str) -> String {
        self.wait(text, |screen| screen.contains(text))
    }

    /// Waits until the program has ended; its exit code.
    pub fn wait_end(&mut self) -> u32 {
        let deadline = Instant::now() + PATIENCE;
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                // What it wrote last may still be on its way.
                let mut guard = self.shared.0.lock().unwrap();
                while !guard.ended && Instant::now() < deadline {
                    guard = self.shared.1.wait_timeout(guard, Duration::from_millis(50)).unwrap().0;
                }
                return status.exit_code();
            }
            assert!(Instant::now() < deadline, "the program did not end; the screen shows:\n{}", self.text());
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Sends it a signal by name.
    pub fn signal(&self, name: &str) {
        let id = self.child.process_id().unwrap().to_string();
        let status = std::process::Command::new("kill").args(["-s", name, &id]).status().unwrap();
        assert!(status.success());
    }
}

/// Starts the program in a terminal, waits until that text was sent to it, and closes the terminal under it; the
/// program's exit code.
pub fn close_under(args: &[&str], text: &str) -> u32 {
    let pty =
        native_pty_system().openpty(PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 }).unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_pourbook"));
    command.args(args);
    command.env("TERM", "xterm-256color");
    let mut child = pty.slave.spawn_command(command).unwrap();
    drop(pty.slave);
    let mut reader = pty.master.try_clone_reader().unwrap();
    let mut seen = Vec::new();
    let mut buffer = [0; 4096];
    while !String::from_utf8_lossy(&seen).contains(text) {
        let count = reader.read(&mut buffer).unwrap();
        assert!(count > 0, "the program ended early");
        seen.extend_from_slice(&buffer[..count]);
    }
    drop(reader);
    drop(pty.master);
    let deadline = Instant::now() + PATIENCE;
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return status.exit_code();
        }
        assert!(Instant::now() < deadline, "the program lives on behind a closed window");
        std::thread::sleep(Duration::from_millis(10));
    }
}

/// A copy of the demo shop in that folder: whoever weighs from a shop writes its versions into it. Its products have no
/// ratios, so that the colour is weighed alone.
pub fn demo_shop(folder: &Path) -> String {
    let shop = ready_shop(folder);
    let products = Path::new(&shop).join("products.toml");
    let text = std::fs::read_to_string(&products).unwrap();
    let mut tables = text.split("[product.ratio]");
    let mut without = tables.next().unwrap().to_owned();
    for table in tables {
        // Up to the empty line behind it.
        without.push_str(table.split_once("\n\n").unwrap().1);
    }
    std::fs::write(products, without).unwrap();
    shop
}

/// The same with its ratios: a layer is weighed ready to spray.
pub fn ready_shop(folder: &Path) -> String {
    let shop = folder.join("shop");
    std::fs::create_dir_all(shop.join("colours")).unwrap();
    for (path, text) in pourbook::catalogue::demo::FILES {
        std::fs::write(shop.join(path), text).unwrap();
    }
    shop.display().to_string()
}
