//! The ways out of the program, in a real terminal: this test program starts itself again on a pseudo-terminal
//! and looks at what is left of it.

use super::*;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use rstest::rstest;
use std::io::Read;
use std::num::NonZeroU16;
use std::time::Duration;

const WAY: &str = "POURBOOK_TEST_WAY_OUT";
const MARK: &str = "POURBOOK_TEST_MARK";

/// What is run on the other side; does nothing in an ordinary test run.
#[test]
fn on_the_other_side() {
    let Ok(way) = std::env::var(WAY) else { return };
    let mut guard = Guard::enter().unwrap();
    guard.draw(|frame| frame.render_widget("on the screen", frame.area())).unwrap();
    match way.as_str() {
        "end" => drop(guard),
        "restored-twice" => {
            guard.restore();
            guard.restore();
            guard.draw(|frame| frame.render_widget("must not be seen", frame.area())).unwrap();
        }
        "panic" => panic!("out of paint"),
        "panic-while-drawing" => guard.draw(|_| panic!("out of paint")).unwrap(),
        "panic-in-a-worker" => {
            let worker = std::thread::Builder::new().spawn(|| panic!("out of paint")).unwrap();
            assert!(worker.join().is_err());
            guard.draw(|frame| frame.render_widget("must not be seen", frame.area())).unwrap();
        }
        "twice" => assert!(matches!(Guard::enter(), Err(TerminalError::InUse))),
        "stopped" => {
            guard.suspend();
            guard.resume().unwrap();
            guard.draw(|frame| frame.render_widget("back again", frame.area())).unwrap();
            // Left as it is for the one who looks: a killed program puts nothing back.
            std::fs::write(std::env::var(MARK).unwrap(), "resumed").unwrap();
            std::thread::park();
        }
        "closed" => {
            // The terminal is gone: drawing fails, and leaving does not.
            let hung_up = std::sync::Arc::new(AtomicBool::new(false));
            signal_hook::flag::register(signal_hook::consts::SIGHUP, hung_up.clone()).unwrap();
            std::fs::write(std::env::var(MARK).unwrap(), "ready").unwrap();
            while !hung_up.load(Ordering::SeqCst) {
                std::thread::sleep(LOOK_AGAIN);
            }
            assert!(guard.draw(|frame| frame.render_widget("for nobody", frame.area())).is_err());
            drop(guard);
            std::fs::write(std::env::var(MARK).unwrap(), "left in order").unwrap();
        }
        other => panic!("no such way: {other}"),
    }
}

/// How long to wait before looking again at what cannot be waited for.
const LOOK_AGAIN: Duration = Duration::from_millis(5);

fn parser() -> vt100::Parser {
    vt100::Parser::new(NonZeroU16::new(24).unwrap(), NonZeroU16::new(80).unwrap(), 0)
}

/// The program on a terminal of its own.
struct Other {
    master: Box<dyn MasterPty + Send>,
    child: Box<dyn Child + Send + Sync>,
    folder: tempfile::TempDir,
    /// Whether the line was echoed before the program had it.
    echoed_before: bool,
}

/// Whether what is typed is echoed by the terminal itself, as a shell leaves it.
fn echoes(master: &dyn MasterPty) -> bool {
    format!("{:?}", master.get_termios().unwrap().local_flags).contains("ICANON")
}

impl Other {
    fn start(way: &str) -> Self {
        let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
        command.args([
            "--exact",
            "tui::terminal::tests::on_the_other_side",
            "--nocapture",
            "--test-threads=1",
        ]);
        command.env(WAY, way);
        command.env(MARK, folder.path().join("mark"));
        command.env("RUST_BACKTRACE", "0");
        let echoed_before = echoes(&*pair.master);
        let child = pair.slave.spawn_command(command).unwrap();
        Self { master: pair.master, child, folder, echoed_before }
    }

    fn mark(&self) -> String {
        std::fs::read_to_string(self.folder.path().join("mark")).unwrap_or_default()
    }

    fn wait_for(&mut self, wanted: &str) {
        while self.mark() != wanted {
            assert!(self.child.try_wait().unwrap().is_none(), "ended before it was {wanted}");
            std::thread::sleep(LOOK_AGAIN);
        }
    }

    /// Reads to the end what the program wrote.
    fn screen(&mut self) -> vt100::Parser {
        let mut reader = self.master.try_clone_reader().unwrap();
        let mut screen = parser();
        let mut bytes = [0; 4096];
        // The end of a terminal is told by an error.
        while let Ok(count @ 1..) = reader.read(&mut bytes) {
            screen.process(bytes.get(..count).unwrap());
        }
        screen
    }
}

fn is_put_back(screen: &vt100::Parser) -> bool {
    let screen = screen.screen();
    !screen.alternate_screen() && !screen.hide_cursor() && !screen.bracketed_paste()
}

/// What the shell's side sees, and how the program ended.
fn go(way: &str) -> (vt100::Parser, bool) {
    let mut other = Other::start(way);
    let screen = other.screen();
    let status = other.child.wait().unwrap();
    (screen, status.success())
}

#[rstest]
#[case("end", true)]
#[case("restored-twice", true)]
#[case("twice", true)]
#[case("panic", false)]
#[case("panic-while-drawing", false)]
#[case("panic-in-a-worker", true)]
fn whatever_happens_the_terminal_is_put_back(#[case] way: &str, #[case] success: bool) {
    let (screen, succeeded) = go(way);
    let text = screen.screen().contents();
    assert!(is_put_back(&screen), "{way}: {text}");
    assert_eq!(succeeded, success, "{way}: {text}");
    // The test program's own words and the panic's are on the shell's screen, ours are gone.
    assert!(text.contains("running 1 test"), "{way}: {text}");
    assert!(!text.contains("on the screen") && !text.contains("must not be seen"), "{way}: {text}");
    assert_eq!(text.contains("out of paint"), way.starts_with("panic"), "{way}: {text}");
}

/// Raw mode too: what the line discipline was before is what it is afterwards.
#[test]
fn raw_mode_ends() {
    let mut other = Other::start("end");
    other.screen();
    let _ = other.child.wait().unwrap();
    assert!(other.echoed_before);
    assert!(echoes(&*other.master));
}

#[test]
fn taken_again_after_a_stop_and_drawn_in_full() {
    let mut other = Other::start("stopped");
    other.wait_for("resumed");
    other.child.kill().unwrap();
    let screen = other.screen();
    let _ = other.child.wait().unwrap();
    // Killed, it could put nothing back: it was on its own screen again.
    assert!(screen.screen().alternate_screen() && screen.screen().hide_cursor());
    assert_eq!(screen.screen().contents().trim_end(), "back again");
}

#[test]
fn a_closed_terminal_is_left_in_order() {
    let mut other = Other::start("closed");
    other.wait_for("ready");
    let Other { master, mut child, folder, .. } = other;
    drop(master);
    let _ = child.wait().unwrap();
    assert_eq!(std::fs::read_to_string(folder.path().join("mark")).unwrap(), "left in order");
}

#[test]
fn without_a_terminal_it_says_so() {
    // Under a test runner standard input may be a terminal, but never both.
    if io::stdin().is_terminal() && io::stdout().is_terminal() {
        return;
    }
    let error = Guard::enter().unwrap_err().to_string();
    assert!(error.contains("is not a terminal, and the bench needs one"), "{error}");
}
