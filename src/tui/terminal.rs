//! The terminal as ours for a while, and put back as it was, whatever happens.
//!
//! One [`Guard`] takes the terminal; its end gives it back, and so does a panic in any thread. Giving back is
//! done exactly once, prints nothing and never fails: the terminal may be gone by then.

use ratatui::Frame;
use ratatui::Terminal;
use ratatui::backend::{Backend, CrosstermBackend};
use ratatui::crossterm::cursor::{Hide, Show};
use ratatui::crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use ratatui::crossterm::style::{ResetColor, force_color_output};
use ratatui::crossterm::terminal::{
    BeginSynchronizedUpdate, EndSynchronizedUpdate, EnterAlternateScreen, LeaveAlternateScreen,
    disable_raw_mode, enable_raw_mode,
};
use ratatui::crossterm::{Command, QueueableCommand};
use std::io::{self, BufWriter, IsTerminal, Stdout, Write};
use std::mem::ManuallyDrop;
use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};
use thiserror::Error;

/// Whether the terminal is ours now.
static OURS: AtomicBool = AtomicBool::new(false);

/// Whether it is asked to tell of the mouse.
static MOUSE: AtomicBool = AtomicBool::new(false);

/// Buttons and the wheel, in the form that knows no largest column; not every movement, which nobody needs.
const MOUSE_ON: &str = "\x1b[?1000h\x1b[?1006h";
const MOUSE_OFF: &str = "\x1b[?1006l\x1b[?1000l";

/// Why the terminal cannot be had.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TerminalError {
    /// Standard input or output is a file or a pipe.
    #[error(
        "{0} is not a terminal, and the bench needs one: start it in a terminal window, or use a command such \
         as `pourbook targets`, which needs none"
    )]
    NotATerminal(&'static str),
    /// Another guard has it.
    #[error("the terminal is in use by this program already")]
    InUse,
    /// The terminal refused.
    #[error("the terminal could not be set up: {0}")]
    Io(#[from] io::Error),
}

type Screen = Terminal<CrosstermBackend<BufWriter<Stdout>>>;

/// The terminal in raw mode, on its other screen, the cursor hidden, pastes marked as such.
#[derive(Debug)]
pub struct Guard {
    // Dropping a `Terminal` shows the cursor and prints where that fails, which panics on a closed terminal.
    // The guard shows the cursor itself.
    terminal: ManuallyDrop<Screen>,
}

impl Guard {
    /// Takes the terminal.
    pub fn enter() -> Result<Self, TerminalError> {
        if !io::stdin().is_terminal() {
            return Err(TerminalError::NotATerminal("standard input"));
        }
        if !io::stdout().is_terminal() {
            return Err(TerminalError::NotATerminal("standard output"));
        }
        put_back_on_panic();
        // Under NO_COLOR crossterm would write empty colour commands, which also end bold and reversed. What
        // NO_COLOR asks for is done by the theme.
        force_color_output(true);
        take()?;
        let writer = BufWriter::with_capacity(32 * 1024, io::stdout());
        match Terminal::new(CrosstermBackend::new(writer)) {
            Ok(terminal) => Ok(Self { terminal: ManuallyDrop::new(terminal) }),
            Err(error) => {
                restore_now();
                Err(error.into())
            }
        }
    }

    /// Draws one frame, shown by the terminal all at once. Draws nothing once the terminal has been given back.
    pub fn draw(&mut self, view: impl FnOnce(&mut Frame<'_>)) -> io::Result<()> {
        // Held to the end of the frame: a panic in another thread puts the terminal back before or after a
        // frame, never within. The lock lets its own thread in again.
        let _held = io::stdout().lock();
        if !OURS.load(Ordering::SeqCst) {
            return Ok(());
        }
        self.terminal.backend_mut().queue(BeginSynchronizedUpdate)?;
        let drawn = self.terminal.draw(view).map(|_| ());
        self.terminal.backend_mut().queue(EndSynchronizedUpdate)?;
        Backend::flush(self.terminal.backend_mut())?;
        drawn
    }

    /// Whether the terminal has been given back: by a panic in some thread, if nobody else did.
    pub fn is_lost(&self) -> bool {
        !OURS.load(Ordering::SeqCst)
    }

    /// Rings the terminal's bell. Nothing once the terminal has been given back.
    pub fn bell(&mut self) -> io::Result<()> {
        let mut out = io::stdout().lock();
        if OURS.load(Ordering::SeqCst) {
            out.write_all(b"\x07")?;
            out.flush()?;
        }
        Ok(())
    }

    /// How large it is.
    pub fn area(&self) -> io::Result<ratatui::layout::Rect> {
        let size = self.terminal.size()?;
        Ok(ratatui::layout::Rect::new(0, 0, size.width, size.height))
    }

    /// Has the terminal tell of the mouse, or keep it to itself, so that its own way of copying works.
    pub fn heed_mouse(&mut self, on: bool) -> io::Result<()> {
        let mut out = io::stdout().lock();
        MOUSE.store(on, Ordering::SeqCst);
        if OURS.load(Ordering::SeqCst) {
            out.write_all(if on { MOUSE_ON } else { MOUSE_OFF }.as_bytes())?;
            out.flush()?;
        }
        Ok(())
    }

    /// Gives the terminal back for a while, before the program stops itself.
    pub fn suspend(&mut self) {
        restore_now();
    }

    /// Takes the terminal again; the next frame is drawn in full.
    pub fn resume(&mut self) -> Result<(), TerminalError> {
        match take() {
            Ok(()) | Err(TerminalError::InUse) => self.redraw().map_err(TerminalError::Io),
            Err(error) => Err(error),
        }
    }

    /// Forgets what is on the screen, so that the next frame is drawn in full.
    pub fn redraw(&mut self) -> io::Result<()> {
        let size = self.terminal.size()?;
        self.terminal.resize(size.into())
    }

    /// Gives the terminal back. May be called again and again.
    pub fn restore(&mut self) {
        restore_now();
    }
}

impl Drop for Guard {
    fn drop(&mut self) {
        restore_now();
    }
}

fn take() -> Result<(), TerminalError> {
    let mut out = io::stdout().lock();
    if OURS.swap(true, Ordering::SeqCst) {
        return Err(TerminalError::InUse);
    }
    let taken =
        enable_raw_mode().and_then(|()| out.write_all(enter_codes().as_bytes())).and_then(|()| out.flush());
    if let Err(error) = taken {
        restore_now();
        return Err(error.into());
    }
    Ok(())
}

/// Gives the terminal back as it was, if it is ours. Can be called from anywhere, also while panicking; never
/// fails, never prints.
pub fn restore_now() {
    let mut out = io::stdout().lock();
    if !OURS.swap(false, Ordering::SeqCst) {
        return;
    }
    // Every step is tried, whatever became of the one before; there is nobody left to tell.
    let _ = out.write_all(leave_codes().as_bytes());
    let _ = out.flush();
    let _ = disable_raw_mode();
}

/// Has every panic, in whichever thread, give the terminal back before its message is printed.
fn put_back_on_panic() {
    static DONE: Once = Once::new();
    DONE.call_once(|| {
        let print = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            restore_now();
            print(panic);
        }));
    });
}

fn enter_codes() -> String {
    let mut codes = String::new();
    add(&mut codes, &EnterAlternateScreen);
    add(&mut codes, &EnableBracketedPaste);
    add(&mut codes, &Hide);
    if MOUSE.load(Ordering::SeqCst) {
        codes.push_str(MOUSE_ON);
    }
    codes
}

fn leave_codes() -> String {
    let mut codes = String::new();
    // A panic may have come in the middle of a frame.
    add(&mut codes, &EndSynchronizedUpdate);
    add(&mut codes, &ResetColor);
    if MOUSE.load(Ordering::SeqCst) {
        codes.push_str(MOUSE_OFF);
    }
    add(&mut codes, &DisableBracketedPaste);
    add(&mut codes, &LeaveAlternateScreen);
    add(&mut codes, &Show);
    codes
}

fn add(codes: &mut String, command: &impl Command) {
    // Writing into a string cannot fail.
    let _ = command.write_ansi(codes);
}

#[cfg(test)]
mod tests;
