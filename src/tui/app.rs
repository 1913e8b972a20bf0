//! The whole state of the program on the screen. One loop owns it; everything else sends it messages.

use super::amount::Amount;
use super::bench::Bench;
use super::colours::Colours;
use super::cups::Emptying;
use super::for_job::JobAtBench;
use super::formula::Formula;
use super::importing::Importing;
use super::jobs::{JobPage, Jobs, JobsPage};
use super::keys::Bindings;
use super::known::{Known, Then};
use super::lags::Lags;
use super::last::Last;
use super::leftovers::LeftoversPage;
use super::message::{Effect, Now};
use super::messages::Messages;
use super::on_delivery::DeliveryPage;
use super::on_scan::WrongTin;
use super::preferences::Preferences;
use super::prompt::Prompt;
use super::saving::Saving;
use super::scale_log::ScaleLog;
use super::scale_page::ScalePage;
use super::scale_watch::ScaleWatch;
use super::shelf::ShelfPage;
use super::stocktake::Stocktake;
use super::stores::Stores;
use super::waste::{KnownWaste, WastePage};
use crate::barcode::Burst;
use crate::book::{By, Ids, JobMix, Journal, MixId, ScaleRecord};
use crate::catalogue::{Catalogue, Finder, Listing, Role};
use crate::job::{Countdown, JobJournal};
use crate::mix::weighable::Accuracy;
use crate::mix::{Lag, Limits};
use crate::report::shelf::Shelf;
use crate::scale::{Address, Place, Rules};
use crate::stock::{FromTin, Leftover, Recall, Tin, Unnamed};
use crate::units::{Division, Grams, Moment, clean};
use ratatui::crossterm::event::Event as TerminalEvent;
use std::collections::HashMap;

/// What the program was opened with.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Who and where.
    pub by: By,
    /// The scale, if there is one.
    pub scale: Option<Address>,
    /// The scale's division, where it is known.
    pub division: Option<Division>,
    /// The most the scale weighs, where it is known.
    pub capacity: Option<Grams>,
    /// Whether the program weighs by itself, to be watched.
    pub rehearsal: bool,
    /// Where chance begins for that.
    pub seed: u64,
    /// How far the clock on the wall is ahead of UTC, in seconds: a day at the bench begins by it.
    pub seconds_east: i32,
    /// How the bench behaves.
    pub preferences: Preferences,
    /// What is wrong with the settings, in sentences.
    pub remarks: Vec<String>,
    /// Whether the shop's formulas are in a folder, where they can be written.
    pub has_shop_folder: bool,
}

impl Settings {
    /// Whether the scale is the virtual bench, so that the keys that move the hand do something.
    pub(super) const fn is_virtual_bench(&self) -> bool {
        matches!(self.scale, Some(Address { place: Place::Virtual { .. }, .. }))
    }

    /// The scale's address as it is shown; empty if there is none.
    pub(super) fn place(&self) -> String {
        self.scale.as_ref().map(|scale| clean(&scale.to_string())).unwrap_or_default()
    }
}

/// A mix that waits to be taken up.
#[derive(Clone, Debug)]
pub struct Waiting {
    /// The mix, or why it cannot be read, in a sentence.
    pub journal: Result<Journal, String>,
    /// Its number in the book.
    pub number: u32,
    /// When something last happened to it, as a text.
    pub when: String,
}

/// What is on the screen.
#[derive(Debug)]
pub(super) enum Screen {
    /// Mixes that wait.
    Unfinished {
        /// Which is marked.
        selected: usize,
    },
    /// Cups that are to be emptied.
    Cups {
        /// Which is marked.
        selected: usize,
    },
    /// One of them came back from the booth.
    Emptying(Box<Emptying>),
    /// Picking a colour.
    Colours(Colours),
    /// How much of it.
    Amount(Box<Amount>),
    /// Writing a formula.
    Formula(Box<Formula>),
    /// Looking through formulas before they are taken in.
    Import(Box<Importing>),
    /// The stores manager's shelf.
    Shelf(Box<ShelfPage>),
    /// The owner's waste.
    Waste(Box<WastePage>),
    /// A stocktake by weighing.
    Stocktake(Box<Stocktake>),
    /// Looking through a delivery before it is received.
    Delivery(Box<DeliveryPage>),
    /// What is kept of earlier mixes.
    Leftovers(Box<LeftoversPage>),
    /// The repairs.
    Jobs(JobsPage),
    /// One of them.
    Job(JobPage),
    /// Weighing.
    Bench(Box<Bench>),
}

/// How the hand holds things at the virtual bench, as far as its keys tell.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct HeldHand {
    /// How far the tin is tipped.
    pub(super) tipped: u8,
    /// Whether the cup is off the scale.
    pub(super) cup_lifted: bool,
}

/// A line for the person, until the next key or long enough.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Notice {
    /// What is said.
    pub text: String,
    /// Whether something is wrong.
    pub is_error: bool,
    /// When it was said.
    pub at: Moment,
}

/// The state.
#[derive(Debug)]
pub struct App {
    /// The shop without its colours.
    pub(super) catalogue: Catalogue,
    pub(super) known: Known,
    /// Which colour's file is being read, and what for; and the keys that came meanwhile: they are for what comes then.
    pub(super) awaited: Option<(String, Then)>,
    pub(super) held: Vec<(Now, TerminalEvent)>,
    pub(super) settings: Settings,
    pub(super) scale: ScaleWatch,
    /// What was learned of this and other scales.
    pub(super) lags: Lags,
    /// What the scale said lately.
    pub(super) scale_log: ScaleLog,
    /// What the book says of the scale.
    pub(super) scale_record: ScaleRecord,
    pub(super) saving: Saving,
    pub(super) ids: Ids,
    pub(super) screen: Screen,
    /// The scale's own screen, while it stands in front of the other.
    pub(super) scale_page: Option<ScalePage>,
    pub(super) prompt: Option<Prompt>,
    /// The help's first line on the screen, while it is open.
    pub(super) help: Option<usize>,
    pub(super) bindings: Bindings,
    pub(super) hands_free: bool,
    /// Why nothing can be written, if that is so.
    pub(super) look_only: Option<String>,
    pub(super) waiting: Vec<Waiting>,
    /// The mixes that are done and whose cups are not emptied, the latest first.
    pub(super) cups: Vec<Waiting>,
    /// What is kept of earlier mixes.
    pub(super) leftovers: Vec<Leftover>,
    /// The tins of those that mixes here began with, used up or not.
    pub(super) reused: HashMap<MixId, Vec<FromTin>>,
    /// Every tin that the book knows, and what is in it now.
    pub(super) tins: Vec<Tin>,
    /// What was poured without a tin's name, and how much of it no count has found yet.
    pub(super) unnamed: Unnamed,
    /// The lots that were called back.
    pub(super) recalls: Vec<Recall>,
    /// On which day it was last said that a tin is to be stirred, by its label.
    pub(super) told_to_stir: HashMap<String, String>,
    /// The shelf's figures as they were last read, or why they could not be.
    pub(super) shelf: Option<Result<Shelf, String>>,
    /// What was read of the waste.
    pub(super) waste: KnownWaste,
    /// What the stores manager has under way.
    pub(super) stores: Stores,
    /// What some of them weighed ready to spray, by the mix's number.
    pub(super) ready: HashMap<u32, Grams>,
    /// The jobs that are open.
    pub(super) jobs: Vec<JobJournal>,
    /// What the book has of the layers of jobs that were mixed before, as it was opened.
    pub(super) job_mixes: HashMap<Role, Vec<JobMix>>,
    /// What is under way of the jobs on their own screens, and their times.
    pub(super) jobs_at_work: Box<Jobs>,
    /// What is under way between a job and the bench.
    pub(super) for_job: Box<JobAtBench>,
    /// The pot lives of what is kept of mixes with hardener in.
    pub(super) pot_lives: HashMap<MixId, Countdown>,
    pub(super) next_number: u32,
    pub(super) notice: Option<Notice>,
    /// What was said lately.
    pub(super) messages: Messages,
    /// The first line of them on the screen, while they are open.
    pub(super) messages_page: Option<usize>,
    /// Keys that may be a scanner's.
    pub(super) burst: Burst,
    /// The tin that was scanned and is not to be poured as it is.
    pub(super) wrong_tin: Option<WrongTin>,
    /// A mix is being taken up: the cup is to be put on, and compared with the book.
    pub(super) taking_up: bool,
    /// When it was said once that the cup stands on a scale that seems to be empty.
    pub(super) said_cup_is_on: Option<Moment>,
    /// What was mixed last, to begin it again and to ask for the same volume.
    pub(super) last: Option<Last>,
    /// How the hand holds things at the virtual bench.
    pub(super) hand: HeldHand,
    /// What the rehearsal has done already.
    pub(super) rehearsal: super::rehearsal::Rehearsal,
    /// Whether ending was asked for once while something was not on disk.
    pub(super) asked_to_quit: bool,
    pub(super) effects: Vec<Effect>,
    pub(super) now: Now,
}

/// What the book said when it was opened.
#[derive(Debug, Default)]
pub struct FromBook {
    /// Why nothing can be written, if that is so.
    pub look_only: Option<String>,
    /// The mixes that wait.
    pub waiting: Vec<Waiting>,
    /// The mixes that are done and whose cups are not emptied, the latest first.
    pub cups: Vec<Waiting>,
    /// What is kept of earlier mixes.
    pub leftovers: Vec<Leftover>,
    /// The tins of the leftovers that the mixes which wait, or are in cups, began with.
    pub reused: HashMap<MixId, Vec<FromTin>>,
    /// The jobs that are open.
    pub jobs: Vec<JobJournal>,
    /// The layers of jobs that were mixed before, the latest first of each.
    pub job_mixes: HashMap<Role, Vec<JobMix>>,
    /// The pot lives of what is kept of mixes with hardener in.
    pub pot_lives: HashMap<MixId, Countdown>,
    /// The number the next mix will have.
    pub next_number: u32,
    /// The colours that were mixed last, code and variant, the latest first.
    pub recent: Vec<(String, String)>,
    /// Every tin there ever was.
    pub tins: Vec<Tin>,
    /// What was poured without a tin's name.
    pub unnamed: Unnamed,
    /// The lots that were called back.
    pub recalls: Vec<Recall>,
    /// What it says of the scale in the shop's files; nothing where they have none.
    pub scale_record: ScaleRecord,
}

impl App {
    /// The state the program opens with: the mixes that wait if there are any, else the colours.
    pub fn new(mut catalogue: Catalogue, settings: Settings, book: FromBook, ids: Ids) -> Self {
        let rules = Rules { capacity: settings.capacity, division: settings.division, ..Rules::default() };
        catalogue.usual_tolerance = settings.preferences.tolerance;
        let mut known = Known::in_memory(std::mem::take(&mut catalogue.colours), book.recent);
        let screen = if book.waiting.is_empty() {
            Screen::Colours(Colours::all(&mut known))
        } else {
            Screen::Unfinished { selected: 0 }
        };
        Self {
            scale: ScaleWatch::new(rules, settings.scale.is_some())
                .with(&settings.preferences, Lag::default()),
            lags: Lags::default(),
            scale_log: ScaleLog::default(),
            scale_record: book.scale_record,
            saving: Saving::default(),
            ids,
            screen,
            scale_page: None,
            prompt: None,
            help: None,
            bindings: settings.preferences.bindings.clone(),
            hands_free: settings.preferences.hands_free,
            look_only: book.look_only,
            waiting: book.waiting,
            cups: book.cups,
            leftovers: book.leftovers,
            reused: book.reused,
            tins: book.tins,
            unnamed: book.unnamed,
            recalls: book.recalls,
            told_to_stir: HashMap::new(),
            shelf: None,
            waste: KnownWaste::default(),
            stores: Stores::default(),
            ready: HashMap::new(),
            jobs: book.jobs,
            job_mixes: book.job_mixes,
            jobs_at_work: Box::default(),
            for_job: Box::default(),
            pot_lives: book.pot_lives,
            next_number: book.next_number,
            notice: None,
            messages: Messages::default(),
            messages_page: None,
            burst: Burst::default(),
            wrong_tin: None,
            taking_up: false,
            said_cup_is_on: None,
            last: None,
            hand: HeldHand::default(),
            rehearsal: super::rehearsal::Rehearsal::new(settings.seed),
            asked_to_quit: false,
            effects: Vec::new(),
            now: Now::default(),
            catalogue,
            known,
            awaited: None,
            held: Vec::new(),
            settings,
        }
        .with_remarks()
    }

    /// The colours are those of a folder, each read when it is wanted; all that is listed of them.
    pub(super) fn know_folder(&mut self, listing: Listing) {
        let finder = Finder::new(&listing);
        self.known.learn(listing, finder);
        if let Screen::Colours(colours) = &mut self.screen {
            colours.search(&mut self.known);
        }
    }

    /// What is wrong with the settings is among the messages from the beginning.
    fn with_remarks(mut self) -> Self {
        for remark in &self.settings.remarks {
            self.messages.keep(&clean(remark), true, self.now.stamp);
        }
        self
    }

    /// What the scale can do, as far as it is known.
    pub(super) fn limits(&self) -> Limits {
        let seen = self.scale.weight().map(|weight| weight.division());
        Limits {
            division: self.settings.division.or(seen).unwrap_or(Division::TENTH),
            capacity: self.settings.capacity,
        }
    }

    /// What can be asked of the scale: one percent, and its repeatability where that was measured in the division it
    /// has now. Another division is another scale.
    pub(super) fn accuracy(&self) -> Accuracy {
        let division = self.limits().division;
        let measured = self.scale_record.repeatability.as_ref().map(|measured| &measured.repeatability);
        let repeatability =
            measured.filter(|measured| measured.division == division).map(|measured| measured.deviation);
        Accuracy { repeatability, ..Accuracy::default() }
    }

    /// The mix at the bench, if there is one.
    pub fn bench(&self) -> Option<&Bench> {
        match &self.screen {
            Screen::Bench(bench) => Some(bench),
            _ => None,
        }
    }

    /// Whether all that was said is on disk.
    pub fn all_saved(&self) -> bool {
        self.saving.all_saved()
    }

    pub(super) fn say(&mut self, text: impl Into<String>) {
        self.note(text.into(), false);
    }

    pub(super) fn complain(&mut self, text: impl Into<String>) {
        self.note(text.into(), true);
    }

    fn note(&mut self, text: String, is_error: bool) {
        self.messages.keep(&text, is_error, self.now.stamp);
        self.notice = Some(Notice { text, is_error, at: self.now.moment });
    }
}
