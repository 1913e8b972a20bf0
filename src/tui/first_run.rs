//! The first run: four questions, each of which may be left open, and what was answered so far. What a key does is in
//! `on_first_run`, what is said on the screen in `first_run_words`.

use super::keys::Bindings;
use super::on_scale_search::Search;
use super::screens::Note;
use super::search::Where;
use super::typed_path;
use crate::catalogue::{Catalogue, Severity};
use crate::scale::Address;
use crate::scale::ports::Port;
use crate::units::clean;
use std::path::{Path, PathBuf};
use tui_input::Input;

/// A country that can be chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountryOffered {
    /// Its code, as it is written into the settings.
    pub code: String,
    /// Its name.
    pub name: String,
    /// What follows from it, in words: `decimal comma, millilitres`.
    pub follows: String,
}

/// What must be known before anything is asked.
#[derive(Clone, Debug, Default)]
pub struct Offered {
    /// The folder where a shop is looked for as long as none is named: an empty one is begun there.
    pub usual_shop: PathBuf,
    /// The file the answers are written into.
    pub file: PathBuf,
    /// What `~/` stands for.
    pub home: Option<PathBuf>,
    /// What a path that does not begin with `/` is below.
    pub here: PathBuf,
    /// The countries, in order.
    pub countries: Vec<CountryOffered>,
    /// Which key does what.
    pub bindings: Bindings,
}

/// Where the colours are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ShopAnswer {
    /// In that folder.
    Folder(PathBuf),
    /// In the invented shop inside the program.
    Invented,
    /// Nowhere yet: an empty shop is to be made in that folder.
    Empty(PathBuf),
}

/// What was answered.
#[derive(Clone, Debug, Default)]
pub struct Answers {
    /// Where the colours are.
    pub shop: Option<ShopAnswer>,
    /// The scale.
    pub scale: Option<Address>,
    /// Who weighs.
    pub painter: Option<String>,
    /// The country's code.
    pub country: Option<String>,
}

/// A setting that an answer changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The setting's name.
    pub key: &'static str,
    /// What it is to be; none if it is to be taken out, since the answer says the opposite of it.
    pub value: Option<String>,
}

impl Answers {
    /// What the answers change in the settings, in the order of the questions. Nothing for a question left open.
    pub fn changes(&self) -> Vec<Change> {
        let set = |key, value: String| Change { key, value: Some(value) };
        let out = |key| Change { key, value: None };
        let mut changes = match &self.shop {
            None => Vec::new(),
            Some(ShopAnswer::Invented) => vec![out("shop"), set("demo-shop", "true".to_owned())],
            Some(ShopAnswer::Folder(folder) | ShopAnswer::Empty(folder)) => {
                vec![set("shop", folder.display().to_string()), out("demo-shop")]
            }
        };
        changes.extend(self.scale.as_ref().map(|scale| set("scale", scale.to_string())));
        changes.extend(self.painter.clone().map(|painter| set("painter", painter)));
        changes.extend(self.country.clone().map(|country| set("country", country)));
        changes
    }
}

/// What is in a folder that was looked into.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Seen {
    /// Colours that can be used.
    pub colours: usize,
    /// Toners.
    pub toners: usize,
    /// Mistakes in its files.
    pub mistakes: usize,
    /// The first of them, with its place.
    pub first: Option<String>,
}

impl Seen {
    /// Reads the folder. Takes as long as the disk does.
    pub(super) fn look(folder: &Path) -> Self {
        let catalogue = Catalogue::load(folder);
        let mistakes = || catalogue.problems.iter().filter(|problem| problem.severity == Severity::Error);
        Self {
            colours: catalogue.colours.len(),
            toners: catalogue.toners.len(),
            mistakes: mistakes().count(),
            first: mistakes().next().map(|problem| clean(&problem.to_string())),
        }
    }
}

/// What those who look at disks and ports for the first run have to say.
#[derive(Debug)]
pub enum FirstRunSaid {
    /// The ports that are there.
    Ports(Vec<Port>),
    /// What is in that folder.
    Looked(PathBuf, Seen),
    /// Whether the answers are written, or why not, in a sentence.
    Kept(Result<(), String>),
}

/// What the first run wants done outside.
#[derive(Clone, Debug)]
pub(super) enum Wish {
    /// List the ports.
    Ports,
    /// Look into that folder.
    Look(PathBuf),
    /// Search for a scale.
    Search(Where),
    /// End the search.
    StopSearch,
    /// Write what was answered.
    Keep(Box<Answers>),
    /// Let the bell be heard.
    Bell,
    /// Stop for a while.
    Suspend,
    /// Leave without anything written; the text is for the person.
    Leave(Option<String>),
    /// All is answered and written: on to the bench.
    Done,
}

/// The questions, in order, and the page behind them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Step {
    Colours,
    Scale,
    Painter,
    Country,
    End,
}

impl Step {
    pub(super) const QUESTIONS: [Self; 4] = [Self::Colours, Self::Scale, Self::Painter, Self::Country];

    pub(super) const fn next(self) -> Self {
        match self {
            Self::Colours => Self::Scale,
            Self::Scale => Self::Painter,
            Self::Painter => Self::Country,
            Self::Country | Self::End => Self::End,
        }
    }

    /// The one before; none before the first.
    pub(super) const fn before(self) -> Option<Self> {
        match self {
            Self::Colours => None,
            Self::Scale => Some(Self::Colours),
            Self::Painter => Some(Self::Scale),
            Self::Country => Some(Self::Painter),
            Self::End => Some(Self::Country),
        }
    }
}

/// What can be chosen below the line that is typed, on the question at hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Choice {
    /// The invented shop.
    Invented,
    /// An empty shop in that folder.
    Empty(PathBuf),
    /// Search on that port.
    Port(Port),
    /// Search on all ports.
    AllPorts,
    /// No scale.
    NoScale,
    /// The country at that place in the list.
    Country(usize),
}

/// What became of looking into a folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Look {
    /// The folder.
    pub(super) folder: PathBuf,
    /// What is in it; none while it is being looked into.
    pub(super) seen: Option<Seen>,
}

/// The first run.
#[derive(Debug)]
pub struct FirstRun {
    pub(super) offered: Offered,
    pub(super) answers: Answers,
    pub(super) step: Step,
    /// What is typed for the question at hand.
    pub(super) typed: Input,
    /// The choice that is marked; none while it is the typed line.
    pub(super) marked: Option<usize>,
    /// The ports; none until they are listed.
    pub(super) ports: Option<Vec<Port>>,
    pub(super) look: Option<Look>,
    pub(super) search: Option<Search>,
    /// Whether a search was stopped that has not said its last word yet.
    pub(super) unheard: bool,
    /// Where to search as soon as it has.
    pub(super) waiting_search: Option<Where>,
    /// What was wrong, or what to do.
    pub(super) told: Option<Note>,
    /// Whether the answers are on their way to the disk.
    pub(super) keeping: bool,
    /// The help's first line, while it is open.
    pub(super) help: Option<usize>,
    pub(super) wishes: Vec<Wish>,
}

impl FirstRun {
    /// The first question.
    pub fn new(offered: Offered) -> Self {
        Self {
            offered,
            answers: Answers::default(),
            step: Step::Colours,
            typed: Input::default(),
            marked: None,
            ports: None,
            look: None,
            search: None,
            unheard: false,
            waiting_search: None,
            told: None,
            keeping: false,
            help: None,
            wishes: Vec::new(),
        }
    }

    /// What was answered so far.
    pub const fn answers(&self) -> &Answers {
        &self.answers
    }

    /// What was typed, as it may be used.
    pub(super) fn text(&self) -> String {
        clean(self.typed.value()).trim().to_owned()
    }

    /// The folder that was typed, whole; none if nothing was.
    pub(super) fn folder(&self) -> Option<PathBuf> {
        let text = self.text();
        if text.is_empty() {
            return None;
        }
        let folder = typed_path::whole(Path::new(&text), self.offered.home.as_deref());
        Some(self.offered.here.join(folder))
    }

    /// What is in the typed folder, once it was looked into.
    pub(super) fn seen(&self) -> Option<&Seen> {
        let look = self.look.as_ref()?;
        (Some(&look.folder) == self.folder().as_ref()).then_some(look.seen.as_ref()).flatten()
    }

    /// What can be chosen now.
    pub(super) fn choices(&self) -> Vec<Choice> {
        match self.step {
            Step::Colours => {
                let folder = self.folder().unwrap_or_else(|| self.offered.usual_shop.clone());
                vec![Choice::Invented, Choice::Empty(folder)]
            }
            Step::Scale if self.search.is_some() => Vec::new(),
            Step::Scale => {
                let ports = self.ports.iter().flatten().cloned().map(Choice::Port);
                ports.chain([Choice::AllPorts, Choice::NoScale]).collect()
            }
            Step::Country => {
                let wanted = self.text().to_lowercase();
                let at = |word: fn(&str, &str) -> bool| {
                    let countries = self.offered.countries.iter().enumerate();
                    let wanted = wanted.clone();
                    countries.filter(move |(_, country)| word(&country.name.to_lowercase(), &wanted))
                };
                let by_code = self.offered.countries.iter().enumerate();
                let by_code = by_code.filter(|(_, country)| country.code.eq_ignore_ascii_case(&wanted));
                let begins = at(|name, wanted| name.starts_with(wanted));
                let holds = at(|name, wanted| name.contains(wanted));
                let mut found: Vec<usize> = Vec::new();
                for (place, _) in by_code.chain(begins).chain(holds) {
                    if !found.contains(&place) {
                        found.push(place);
                    }
                }
                found.into_iter().map(Choice::Country).collect()
            }
            Step::Painter | Step::End => Vec::new(),
        }
    }
}
