//! What the full screen stands on: the terminal, the channel everything comes in by, and those who send into it. The
//! first run and the bench have it one after the other; a key pressed between them is not lost.

use super::first_run::{Answers, FirstRun, FirstRunSaid, Seen, Wish};
use super::message::Message;
use super::run::{self, RunError};
use super::search::Searcher;
use super::terminal::Guard;
use super::theme::Theme;
use crate::scale::{Clock, ports};
use signal_hook::consts::SIGTSTP;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, TryRecvError, sync_channel};

/// Writes what was answered, or says in a sentence why that cannot be. Called on a thread of its own.
pub type KeepAnswers = Arc<dyn Fn(&Answers) -> Result<(), String> + Send + Sync>;

/// The terminal, taken, and all that is heard.
pub struct Ground {
    pub(super) guard: Guard,
    pub(super) inbox: Receiver<Message>,
    pub(super) sender: SyncSender<Message>,
    pub(super) clock: Clock,
}

impl Ground {
    /// Takes the terminal. It is put back as it was when this is gone.
    ///
    /// # Errors
    /// There is none, or the system refuses.
    pub fn take() -> Result<Self, RunError> {
        let (sender, inbox) = sync_channel(run::WAITING);
        let guard = Guard::enter()?;
        run::listen_to_signals(&sender)?;
        let clock = Clock::running();
        run::listen_to_terminal(&sender, clock.clone())?;
        Ok(Self { guard, inbox, sender, clock })
    }

    /// Asks the four questions; none if the person left, and then nothing is written.
    ///
    /// # Errors
    /// The terminal is gone, or a worker is.
    pub fn first_run(
        &mut self,
        mut first: FirstRun,
        keep: &KeepAnswers,
        theme: &Theme,
    ) -> Result<Option<Answers>, RunError> {
        let mut searcher: Option<Searcher> = None;
        loop {
            self.guard.draw(|frame| first.draw(frame.area(), frame.buffer_mut(), theme))?;
            if self.guard.is_lost() {
                let why = "a part of the program failed; this is a fault of the program. Start it again";
                return Err(RunError::Worker(why.to_owned()));
            }
            let Ok(mut message) = self.inbox.recv() else { return Ok(None) };
            // All that waits is taken in before it is drawn again.
            loop {
                if matches!(message, Message::Resized) {
                    self.guard.redraw()?;
                }
                if let Message::TerminalAt(_, event) = message {
                    message = Message::Terminal(event);
                }
                for wish in first.update(message) {
                    match wish {
                        Wish::Leave(None) => return Ok(None),
                        Wish::Leave(Some(why)) => return Err(RunError::Worker(why)),
                        Wish::Done => return Ok(Some(first.answers().clone())),
                        Wish::Search(place) => {
                            drop(searcher.replace(Searcher::start(place, None, self.sender.clone())?));
                        }
                        Wish::StopSearch => drop(searcher.take()),
                        Wish::Bell => self.guard.bell()?,
                        Wish::Suspend => {
                            self.guard.suspend();
                            signal_hook::low_level::emulate_default_handler(SIGTSTP)?;
                            self.guard.resume()?;
                        }
                        Wish::Ports => self.on_a_thread(|| FirstRunSaid::Ports(ports::list(false)))?,
                        Wish::Look(folder) => self.on_a_thread(move || {
                            let seen = Seen::look(&folder);
                            FirstRunSaid::Looked(folder, seen)
                        })?,
                        Wish::Keep(answers) => {
                            let keep = Arc::clone(keep);
                            self.on_a_thread(move || FirstRunSaid::Kept(keep(&answers)))?;
                        }
                    }
                }
                message = match self.inbox.try_recv() {
                    Ok(next) => next,
                    Err(TryRecvError::Empty) => break,
                    Err(TryRecvError::Disconnected) => return Ok(None),
                };
            }
        }
    }

    /// The loop never waits for a disk: whoever looks at one says so by a message.
    fn on_a_thread(&self, look: impl FnOnce() -> FirstRunSaid + Send + 'static) -> std::io::Result<()> {
        run::worker("first-run", &self.sender, move |sender| {
            drop(sender.send(Message::FirstRun(look())));
        })
    }
}
