//! The main loop: owns the state, draws it, and does what the update asks. It never waits for a disk, a wire or
//! a network; it sleeps until something comes, and draws at most sixty times a second.

use super::app::{App, FromBook, Settings};
use super::ground::Ground;
use super::lags::Lags;
use super::loudspeaker::Loudspeaker;
use super::message::{Effect, Message, Now};
use super::mouse;
use super::ringer::{Due, Ringer};
use super::search::Searcher;
use super::sheet_writer::SheetOf;
use super::shelf_reader::ShelfBook;
use super::shop_looker::{ShopFolder, ShopLooker};
use super::terminal::{Guard, TerminalError};
use super::theme::Theme;
use super::view;
use crate::book::{BookEvent, Ids, Keeper};
use crate::catalogue::{Catalogue, FormulaFolder};
use crate::scale::{Address, Clock, Link, LinkEvent, Listening};
use crate::units::Stamp;
use ratatui::crossterm::event::Event as TerminalEvent;
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP, SIGWINCH};
use signal_hook::iterator::Signals;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender};
use std::thread::Builder;
use std::time::{Duration, Instant};
use thiserror::Error;

/// All that the full screen is opened with.
pub struct Opening {
    /// The shop.
    pub catalogue: Catalogue,
    /// Where the shop's files are; none for the invented shop.
    pub shop: Option<FormulaFolder>,
    /// The colours of that folder as far as they are known; none where the catalogue has all of them in full.
    pub colours: Option<ShopFolder>,
    /// Where the shelf's figures come from.
    pub shelf: ShelfBook,
    /// Makes a job's sheet.
    pub sheet_of: SheetOf,
    /// Who, where and how.
    pub settings: Settings,
    /// What the book said when it was opened.
    pub from_book: FromBook,
    /// Starts the book's worker with a place for its answers; none if the book can only be looked at.
    pub keeper: Option<StartKeeper>,
    /// Where identities come from.
    pub ids: Ids,
    /// How it looks.
    pub theme: Theme,
    /// Where it is kept what was learned of the scales; none if it is not.
    pub lags: Option<PathBuf>,
}

/// Starts the book's worker.
pub type StartKeeper = Box<dyn FnOnce(Box<dyn Fn(BookEvent) + Send>) -> std::io::Result<Keeper>>;

/// Why the full screen could not be had, or ended.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum RunError {
    /// No terminal.
    #[error(transparent)]
    Terminal(#[from] TerminalError),
    /// The system.
    #[error("the system refuses what the program needs to run: {0}")]
    System(#[from] std::io::Error),
    /// A worker is gone.
    #[error("{0}")]
    Worker(String),
}

/// How many messages may wait. A scale that speaks faster than the screen can follow waits for it.
pub(super) const WAITING: usize = 1_024;
/// The least time between two drawings.
const FRAME: Duration = Duration::from_millis(16);
/// For how long the end waits for the book's last word.
const LAST_WORD: Duration = Duration::from_secs(5);

/// Opens the full screen and runs it to its end. The terminal is put back as it was, whatever happens.
pub fn run(opening: Opening) -> Result<(), RunError> {
    run_on(Ground::take()?, opening)
}

/// The same on a terminal that is taken already.
///
/// # Errors
/// As for [`run`](run()).
pub fn run_on(ground: Ground, opening: Opening) -> Result<(), RunError> {
    let Ground { mut guard, inbox, sender, clock } = ground;
    let keeper = match opening.keeper {
        Some(start) => {
            let sender = sender.clone();
            // The loop is gone only once it has ended; then nobody waits for the answer.
            Some(start(Box::new(move |event| {
                if matches!(event, BookEvent::Saved { .. }) {
                    fault("book");
                }
                drop(sender.send(Message::Book(event)));
            }))?)
        }
        None => None,
    };
    if opening.settings.preferences.mouse {
        guard.heed_mouse(true)?;
    }
    let link = match opening.settings.scale.clone() {
        Some(address) => Some(open_link(address, 0, &clock, &sender)?),
        None => None,
    };
    let ringer = {
        let preferences = &opening.settings.preferences;
        Ringer::new(preferences.sounds.clone(), preferences.quiet)
    };
    let mut app = App::new(opening.catalogue, opening.settings, opening.from_book, opening.ids);
    if let Some(path) = &opening.lags {
        app.know_lags(Lags::read(path));
    }
    let looker = match opening.colours {
        Some(ShopFolder { index, listing, looker }) => {
            app.know_folder(listing);
            Some(ShopLooker::start(index, looker, &sender)?)
        }
        None => None,
    };
    let mut shell = Shell {
        clock,
        inbox,
        sender,
        keeper,
        link,
        links: 0,
        searcher: None,
        theme: opening.theme,
        ringer,
        begun: Instant::now(),
        loudspeaker: Loudspeaker::default(),
        lags: opening.lags,
        shop: opening.shop,
        looker,
        shelf: opening.shelf,
        sheet_of: opening.sheet_of,
    };
    let ended = shell.run(&mut app, &mut guard);
    guard.restore();
    // Nobody receives any more: a worker that is about to send must not wait for it.
    drop(shell.inbox);
    drop(shell.searcher);
    drop(shell.link);
    drop(shell.keeper);
    ended
}

fn open_link(
    address: Address,
    number: u32,
    clock: &Clock,
    sender: &SyncSender<Message>,
) -> std::io::Result<Link> {
    let sender = sender.clone();
    Link::open(address, clock.clone(), Listening::default(), move |event| {
        if matches!(event, LinkEvent::Reading(_)) {
            fault("scale");
        }
        drop(sender.send(Message::ScaleOf(number, event)));
    })
}

/// Signals become messages like everything else.
pub(super) fn listen_to_signals(sender: &SyncSender<Message>) -> std::io::Result<()> {
    let mut signals = Signals::new([SIGINT, SIGTERM, SIGHUP, SIGTSTP, SIGCONT, SIGWINCH])?;
    worker("signals", sender, move |sender| {
        for signal in signals.forever() {
            let message = match signal {
                SIGTSTP => Message::Suspend,
                // Heard from the system itself: the terminal's library loses a change of size that comes together
                // with a key.
                SIGWINCH => Message::Resized,
                // Resumed: whoever was in front has left its own picture behind.
                SIGCONT => Message::Tick,
                _ => Message::Quit,
            };
            if sender.send(message).is_err() {
                return;
            }
        }
    })
}

pub(super) fn listen_to_terminal(sender: &SyncSender<Message>, clock: Clock) -> std::io::Result<()> {
    worker("terminal", sender, move |sender| {
        loop {
            let message = match ratatui::crossterm::event::read() {
                Ok(event) => Message::TerminalAt(clock.now(), event),
                // The terminal is gone: nobody is there to read an explanation.
                Err(_) => Message::Quit,
            };
            let last = matches!(message, Message::Quit);
            if sender.send(message).is_err() || last {
                return;
            }
        }
    })
}

/// Starts a worker whose own failure is a message too: the program never lives on without one of its parts.
pub(super) fn worker(
    name: &'static str,
    sender: &SyncSender<Message>,
    body: impl FnOnce(&SyncSender<Message>) + Send + 'static,
) -> std::io::Result<()> {
    let sender = sender.clone();
    Builder::new().name(name.to_owned()).spawn(move || {
        if catch_unwind(AssertUnwindSafe(|| body(&sender))).is_err() {
            let why = format!("the {name} worker failed; this is a fault of the program. Start it again");
            drop(sender.send(Message::WorkerLost(why)));
        }
    })?;
    Ok(())
}

/// Lets a part of the program fail where a test wants to see what follows. Only in builds for developers.
fn fault(place: &str) {
    let asked =
        cfg!(debug_assertions) && std::env::var_os("POURBOOK_FAULT").is_some_and(|wanted| wanted == place);
    assert!(!asked, "a fault that a test asked for");
}

struct Shell {
    clock: Clock,
    inbox: Receiver<Message>,
    sender: SyncSender<Message>,
    keeper: Option<Keeper>,
    link: Option<Link>,
    /// How many links were ended so far: the number of the one that is open.
    links: u32,
    searcher: Option<Searcher>,
    theme: Theme,
    ringer: Ringer,
    /// From when the ringer's time counts.
    begun: Instant,
    loudspeaker: Loudspeaker,
    /// Where it is kept what was learned of the scales.
    lags: Option<PathBuf>,
    shop: Option<FormulaFolder>,
    looker: Option<ShopLooker>,
    shelf: ShelfBook,
    sheet_of: SheetOf,
}

/// What ended the loop's sleep.
enum Woken {
    /// Something came.
    Message(Message),
    /// It is time to look at the clock.
    Tick,
    /// It is time to draw.
    Frame,
    /// It is time to ring a bell.
    Bell,
    /// Nobody is left to send anything.
    Nobody,
}

/// Whether the loop goes on.
enum Next {
    On,
    End(Option<String>),
}

impl Shell {
    /// Runs until the end. A terminal that is gone is an end like any other: nobody is there to be told.
    fn run(&mut self, app: &mut App, guard: &mut Guard) -> Result<(), RunError> {
        match self.run_on_terminal(app, guard) {
            Err(RunError::System(error)) => {
                tracing::warn!(%error, "the terminal is gone");
                self.wait_for_the_book(app);
                Ok(())
            }
            ended => ended,
        }
    }

    fn run_on_terminal(&mut self, app: &mut App, guard: &mut Guard) -> Result<(), RunError> {
        let mut drawn = Instant::now().checked_sub(FRAME).unwrap_or_else(Instant::now);
        let mut ticked = Instant::now();
        let mut dirty = true;
        loop {
            if dirty && drawn.elapsed() >= FRAME {
                let now = self.now();
                guard.draw(|frame| view::draw(app, now, frame, &self.theme))?;
                drawn = Instant::now();
                dirty = false;
                if guard.is_lost() {
                    // A thread has failed somewhere: its message is on the terminal, and nothing lives on behind it.
                    let why = "a part of the program failed; this is a fault of the program. Start it again";
                    return Err(RunError::Worker(why.to_owned()));
                }
            }
            let tick_at = app.next_tick().map(|ms| ticked + Duration::from_millis(ms));
            let frame_at = dirty.then(|| drawn + FRAME);
            if self.ringer.ring(self.elapsed_ms()) {
                guard.bell()?;
            }
            let bell_at = self.ringer.next_due().map(|ms| self.begun + Duration::from_millis(ms));
            let message = match self.wait(tick_at, frame_at, bell_at) {
                Woken::Message(Message::ScaleOf(number, _)) if number != self.links => continue,
                Woken::Message(Message::ScaleOf(_, event)) => Message::Scale(event),
                Woken::Message(message) => message,
                Woken::Frame | Woken::Bell => continue,
                Woken::Tick => {
                    ticked = Instant::now();
                    Message::Tick
                }
                Woken::Nobody => return Ok(()),
            };
            // A tick only matters where it changes something; readings and keys always do.
            dirty |= !matches!(message, Message::Tick) || app.next_tick().is_some();
            if matches!(message, Message::Resized) {
                // Smaller and back between two drawings looks unchanged, and the terminal has lost its content.
                guard.redraw()?;
            }
            if matches!(message, Message::Scale(LinkEvent::Reading(_))) {
                fault("main");
            }
            let (message, now) = match message {
                Message::TerminalAt(at, TerminalEvent::Mouse(event)) => {
                    let now = Now { moment: at, ..self.now() };
                    let area = guard.area()?;
                    (Message::Clicked(mouse::meaning(app, now, area, &self.theme, event)), now)
                }
                Message::TerminalAt(at, event) => {
                    (Message::Terminal(event), Now { moment: at, ..self.now() })
                }
                message => (message, self.now()),
            };
            let effects = app.update(message, now);
            for effect in effects {
                match self.perform(effect, guard)? {
                    Next::On => {}
                    Next::End(None) => {
                        self.wait_for_the_book(app);
                        return Ok(());
                    }
                    Next::End(Some(why)) => return Err(RunError::Worker(why)),
                }
            }
        }
    }

    /// Sleeps until something comes or is due. A tick that is due comes before what waits, or a scale that never
    /// pauses would keep the clock from being looked at.
    fn wait(&self, tick_at: Option<Instant>, frame_at: Option<Instant>, bell_at: Option<Instant>) -> Woken {
        let now = Instant::now();
        if tick_at.is_some_and(|at| at <= now) {
            return Woken::Tick;
        }
        let Some(due) = tick_at.into_iter().chain(frame_at).chain(bell_at).min() else {
            return self.inbox.recv().map_or(Woken::Nobody, Woken::Message);
        };
        match self.inbox.recv_timeout(due.saturating_duration_since(now)) {
            Ok(message) => Woken::Message(message),
            Err(RecvTimeoutError::Timeout) if Some(due) == tick_at => Woken::Tick,
            Err(RecvTimeoutError::Timeout) if Some(due) == bell_at => Woken::Bell,
            Err(RecvTimeoutError::Timeout) => Woken::Frame,
            Err(RecvTimeoutError::Disconnected) => Woken::Nobody,
        }
    }

    fn elapsed_ms(&self) -> u64 {
        u64::try_from(self.begun.elapsed().as_millis()).unwrap_or(u64::MAX)
    }

    fn now(&self) -> Now {
        let stamp = jiff::Timestamp::now().as_microsecond();
        Now { moment: self.clock.now(), stamp: Stamp(stamp) }
    }

    fn perform(&mut self, effect: Effect, guard: &mut Guard) -> Result<Next, RunError> {
        match effect {
            Effect::Write(envelopes) => {
                if let Some(keeper) = &self.keeper {
                    keeper.append_all(envelopes);
                }
            }
            Effect::Formula(work) => {
                let at = self.now().stamp;
                super::formula_writer::start(self.shop.clone(), *work, at, self.sender.clone())?;
            }
            Effect::ReadColour { file, then } => {
                if let Some(looker) = &self.looker {
                    looker.read(file, then)?;
                }
            }
            Effect::LookAtShop { at_once } => {
                if let Some(looker) = &self.looker {
                    looker.look(at_once);
                }
            }
            Effect::ReadShelf(asked) => {
                let index = self.looker.as_ref().map(|looker| looker.index().clone());
                self.shelf.read(asked, index, &self.sender)?;
            }
            Effect::ReadWaste { span, period } => {
                super::waste_reader::read(self.shelf.path.clone(), span, period, &self.sender)?;
            }
            Effect::ReadMixes(wanted) => {
                super::waste_reader::read_mixes(self.shelf.path.clone(), *wanted, &self.sender)?;
            }
            Effect::ReadEvents(number) => {
                super::waste_reader::read_events(self.shelf.path.clone(), number, &self.sender)?;
            }
            Effect::ReadClosedJobs => super::jobs_reader::read(self.shelf.path.clone(), &self.sender)?,
            Effect::PrintLabel(printing) => {
                let book = self.shelf.path.clone();
                super::label_printer::start(book, self.shop.clone(), printing, &self.sender)?;
            }
            Effect::WriteSheet(asked) => {
                let of = Arc::clone(&self.sheet_of);
                super::sheet_writer::start(of, &self.shelf.path, asked, &self.sender)?;
            }
            Effect::FindMix(mix) => {
                super::mix_finder::find(self.shelf.path.clone(), mix, &self.sender)?;
            }
            Effect::ReadMoves(toner) => self.shelf.read_moves(toner, &self.sender)?,
            Effect::ReadDelivery(asked) => {
                super::delivery_reader::read(&self.shelf.path, asked, &self.sender)?;
            }
            Effect::KeepVersion(source) => {
                if let Some(shop) = self.shop.clone() {
                    let at = self.now().stamp;
                    super::keep_version::start(shop, source, at, self.sender.clone())?;
                }
            }
            Effect::Hand(hand) => {
                if let Some(link) = &self.link {
                    link.hand(hand);
                }
            }
            Effect::Ask(what) => {
                if let Some(link) = &self.link {
                    link.ask(what);
                }
            }
            Effect::WantBytes(wanted) => {
                if let Some(link) = &self.link {
                    link.want_bytes(wanted);
                }
            }
            Effect::Search(place) => {
                self.links = self.links.saturating_add(1);
                self.searcher = Some(Searcher::start(place, self.link.take(), self.sender.clone())?);
            }
            Effect::Open(address) => self.open(address.map(|address| *address))?,
            Effect::Mouse(on) => guard.heed_mouse(on)?,
            Effect::Sound(sound) => {
                if let Some(Due(words)) = self.ringer.sound(sound, self.elapsed_ms()) {
                    self.loudspeaker.run(&words);
                }
                // The first bell does not wait for anything.
                if self.ringer.ring(self.elapsed_ms()) {
                    guard.bell()?;
                }
            }
            Effect::KeepLags(lags) => self.keep_lags(lags)?,
            Effect::Suspend => {
                guard.suspend();
                // The default handler stops the process; it goes on behind this line once it is continued.
                signal_hook::low_level::emulate_default_handler(SIGTSTP)?;
                guard.resume()?;
            }
            Effect::Quit(why) => return Ok(Next::End(why)),
        }
        Ok(Next::On)
    }

    /// Opens the scale there, in place of whatever was open or searched.
    fn open(&mut self, address: Option<Address>) -> std::io::Result<()> {
        self.searcher = None;
        self.links = self.links.saturating_add(1);
        if let Some(old) = self.link.take() {
            // Its worker may be about to say something: this loop must go on hearing while it ends.
            Builder::new().name("closing".to_owned()).spawn(move || drop(old))?;
        }
        let Some(address) = address else { return Ok(()) };
        let link = open_link(address, self.links, &self.clock, &self.sender)?;
        link.want_bytes(true);
        self.link = Some(link);
        Ok(())
    }

    /// Away from the loop: a disk may be slow.
    fn keep_lags(&self, lags: Lags) -> std::io::Result<()> {
        let Some(path) = self.lags.clone() else { return Ok(()) };
        Builder::new().name("lags".to_owned()).spawn(move || {
            if let Err(error) = lags.write(&path) {
                tracing::warn!(%error, path = %path.display(), "what was learned of the scale is not kept");
            }
        })?;
        Ok(())
    }

    /// What is on its way to the disk may still arrive there.
    fn wait_for_the_book(&self, app: &mut App) {
        let deadline = Instant::now() + LAST_WORD;
        while !app.all_saved() {
            let left = deadline.saturating_duration_since(Instant::now());
            match self.inbox.recv_timeout(left) {
                Ok(Message::Book(event)) => {
                    app.update(Message::Book(event), self.now());
                }
                Ok(_) => {}
                Err(_) => return,
            }
        }
    }
}
