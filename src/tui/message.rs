//! What comes into the main loop, and what it sends out. Everything goes through one channel each way.

use super::delivery_reader::DeliveryAsked;
use super::first_run::FirstRunSaid;
use super::formula_writer::{FormulaDone, FormulaWork};
use super::keys::Action;
use super::known::Then;
use super::label_printer::Printing;
use super::lags::Lags;
use super::mix_finder::FoundMix;
use super::search::{Searching, Where};
use super::sheet_writer::SheetAsked;
use super::shelf_reader::ShelfAsked;
use super::sound::Sound;
use super::waste::Span;
use super::waste_opened::WantedMixes;
use crate::book::{BookEvent, Envelope, MixId};
use crate::catalogue::index::Fresh;
use crate::catalogue::{Catalogue, Finder, Listing, Source, TonerCode};
use crate::job::JobJournal;
use crate::report::Period;
use crate::report::shelf::{Move, Shelf};
use crate::report::waste::{Happened, MixPage, Overview};
use crate::scale::shape::Ask;
use crate::scale::{Address, Hand, LinkEvent};
use crate::stock::Delivery;
use crate::units::{Moment, Stamp};
use ratatui::crossterm::event::Event as TerminalEvent;
use std::path::PathBuf;

/// Something that happened outside the main loop.
#[derive(Debug)]
pub enum Message {
    /// A key or a paste.
    Terminal(TerminalEvent),
    /// The same as [`Message::Terminal`], with when it came: what waited in between does not count.
    TerminalAt(Moment, TerminalEvent),
    /// What the mouse was clicked at.
    Clicked(Vec<Action>),
    /// The terminal has another size, or had one for a moment.
    Resized,
    /// The scale's worker said something.
    Scale(LinkEvent),
    /// The book's worker said something.
    Book(BookEvent),
    /// The search for a scale said something.
    Searching(Searching),
    /// The same as [`Message::Scale`], with the number of the link that said it: one that was ended since says nothing
    /// any more.
    ScaleOf(u32, LinkEvent),
    /// What came of something that was done with formulas.
    Formula(FormulaDone),
    /// Somebody who looked at a disk or a port for the first run said something.
    FirstRun(FirstRunSaid),
    /// The shop's folder was looked through and something is different from what was known; more may come.
    ShopSeen(Box<ShopSeen>),
    /// So many of so many files of the shop are read.
    ShopReading {
        /// How many are.
        read: usize,
        /// How many have to be.
        of: usize,
    },
    /// The look through the shop's folder has ended.
    ShopLooked,
    /// A colour's file was read, or why it could not be, in a sentence.
    ColourRead {
        /// The file's name inside `colours/`.
        file: String,
        /// What was read.
        read: Result<Box<Fresh>, String>,
        /// What it was read for.
        then: Then,
    },
    /// The shelf's figures were read, or why they could not be, in a sentence.
    ShelfRead(Result<Box<Shelf>, String>),
    /// What came and went of a toner was read.
    MovesRead {
        /// The toner.
        toner: TonerCode,
        /// What, the latest first; or why it could not be read, in a sentence.
        read: Result<Vec<Move>, String>,
    },
    /// A delivery was read from its file.
    DeliveryRead {
        /// The file's path, as it was typed.
        typed: String,
        /// What is in it; or why it could not be read, in a sentence.
        read: Result<Box<Delivery>, String>,
    },
    /// The waste of a time was read.
    WasteRead {
        /// The time.
        span: Span,
        /// Its days.
        period: Period,
        /// The figures, or why they could not be read, in a sentence.
        read: Result<Box<Overview>, String>,
    },
    /// Mixes behind a row of the waste were read.
    MixesRead {
        /// Which.
        wanted: Box<WantedMixes>,
        /// The mixes, or why they could not be read, in a sentence.
        read: Result<MixPage, String>,
    },
    /// What happened to a mix was read.
    EventsRead {
        /// To which, by its number.
        number: u32,
        /// Its events in order, or why they could not be read, in a sentence.
        read: Result<Vec<Happened>, String>,
    },
    /// The closed jobs were read, the latest first, or why they could not be, in a sentence.
    ClosedJobsRead(Result<Vec<JobJournal>, String>),
    /// A label was printed: the mix's number and how many letters could not be shown; or why not, in a sentence.
    LabelPrinted(Result<(u32, usize), String>),
    /// A job's sheet was written: the page's file; or why not, in a sentence.
    SheetWritten(Result<PathBuf, String>),
    /// A mix whose label was scanned was looked up; none if the book has no such mix, or why it could not be, in a sentence.
    MixFound(Result<Option<Box<FoundMix>>, String>),
    /// Time went by while something on the screen depends on it.
    Tick,
    /// The system asks the program to end.
    Quit,
    /// The system asks the program to stop for a while.
    Suspend,
    /// The version of a formula that is being weighed could not be kept; the text says why.
    VersionNotKept(String),
    /// A worker is gone that the program cannot do without; the text says which and why.
    WorkerLost(String),
}

/// The shop as its folder is now.
#[derive(Clone, Debug)]
pub struct ShopSeen {
    /// The shop without its colours.
    pub catalogue: Catalogue,
    /// Every colour in a line.
    pub listing: Listing,
    /// The same prepared for finding.
    pub finder: Finder,
}

/// When a message came in, on both clocks. The state machine has none of its own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Now {
    /// On the clock that only runs forward.
    pub moment: Moment,
    /// On the wall.
    pub stamp: Stamp,
}

/// Something the main loop is to do outside.
#[derive(Clone, Debug)]
pub enum Effect {
    /// Write these into the book: all of them, or none.
    Write(Vec<Envelope>),
    /// Keep this version of a formula, from which a mix was begun.
    KeepVersion(Source),
    /// Move the hand at the virtual bench.
    Hand(Hand),
    /// Ask the scale: on a person's key.
    Ask(Ask),
    /// Whether the scale's bytes are wanted as well as what they mean.
    WantBytes(bool),
    /// Search for a scale; the link to the one there is ends.
    Search(Where),
    /// End the search if there is one, and open the scale at that address; none for no scale.
    Open(Option<Box<Address>>),
    /// Do something with the shop's formulas.
    Formula(Box<FormulaWork>),
    /// Read the colour in that file of the shop's folder.
    ReadColour {
        /// The file's name inside `colours/`.
        file: String,
        /// What it is read for.
        then: Then,
    },
    /// Look through the shop's folder again, if it has one.
    LookAtShop {
        /// Whether something was written that is to be seen at once.
        at_once: bool,
    },
    /// Read the shelf's figures from the book.
    ReadShelf(ShelfAsked),
    /// Read what came and went of a toner.
    ReadMoves(TonerCode),
    /// Read a delivery from its file.
    ReadDelivery(DeliveryAsked),
    /// Read the waste of a time from the book.
    ReadWaste {
        /// The time.
        span: Span,
        /// Its days.
        period: Period,
    },
    /// Read mixes behind a row of the waste from the book.
    ReadMixes(Box<WantedMixes>),
    /// Read what happened to the mix with that number.
    ReadEvents(u32),
    /// Read the closed jobs from the book.
    ReadClosedJobs,
    /// Print the label of a mix.
    PrintLabel(Printing),
    /// Write the sheet of a job.
    WriteSheet(SheetAsked),
    /// Look a mix up in the book.
    FindMix(MixId),
    /// Whether the mouse is to be heeded.
    Mouse(bool),
    /// Let something be heard.
    Sound(Sound),
    /// Keep what was learned of the scales, for the next start.
    KeepLags(Lags),
    /// Stop for a while, as the shell's job control wants it.
    Suspend,
    /// End the program; the text, if any, is for the person once the terminal is back.
    Quit(Option<String>),
}
