//! An app over the invented shop, a clock that moves by 100 ms a reading, and a book that answers as it is told.

use crate::book::{BookEvent, By, Envelope, EventId, Ids, Journal, MixId};
use crate::catalogue::{Catalogue, Source};
use crate::mix::{Event, Phase, Session};
use crate::report::Period;
use crate::scale::shape::Ask;
use crate::scale::{Frame, Hand, LinkEvent, LinkState, Mode, Reading, Stability};
use crate::stock::StockEvent;
use crate::tui::app::{App, FromBook, Settings, Waiting};
use crate::tui::formula_writer::FormulaWork;
use crate::tui::keys::Key;
use crate::tui::known::Then;
use crate::tui::label_printer::Printing;
use crate::tui::lags::Lags;
use crate::tui::message::{Effect, Message, Now};
use crate::tui::preferences::Preferences;
use crate::tui::screens::picture;
use crate::tui::search::Where;
use crate::tui::sheet_writer::SheetAsked;
use crate::tui::sound::Sound;
use crate::tui::theme::Theme;
use crate::tui::view;
use crate::tui::waste::Span;
use crate::tui::waste_opened::WantedMixes;
use crate::units::{Division, Grams, MassUnit, Moment, Stamp, parse_decimal};
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{Event as TerminalEvent, KeyCode, KeyEvent, KeyModifiers};
use ratatui::layout::Rect;
use std::collections::BTreeMap;

pub(super) fn g(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// The 600 cup of the invented shop: it is the one that 350 mL are mixed in.
pub(super) const CUP: &str = "21.8";

/// A new weight is confirmed by the second reading and must then stand for 1.2 s: taken with the 14th.
pub(super) const DWELL: usize = 14;

/// What the book says to what it is sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Book {
    Saves,
    Withholds,
    Fails,
}

/// The app, and everything it sent.
#[derive(Debug)]
pub(super) struct Rig {
    pub(super) app: App,
    pub(super) now: u64,
    pub(super) book: Book,
    /// Every envelope sent to the book, in order; one sent again stands here again.
    pub(super) sent: Vec<Envelope>,
    /// How many of them went there in one piece each time.
    pub(super) together: Vec<usize>,
    /// The versions of formulas that were to be kept.
    pub(super) versions: Vec<Source>,
    pub(super) hands: Vec<Hand>,
    pub(super) asked: Vec<Ask>,
    pub(super) searches: Vec<Where>,
    pub(super) opens: Vec<Option<String>>,
    pub(super) wants_bytes: bool,
    pub(super) bells: usize,
    /// What was asked to be done with formulas.
    pub(super) works: Vec<FormulaWork>,
    /// The files of colours that were to be read, and what for.
    pub(super) reads: Vec<(String, Then)>,
    /// How often the shop's folder was to be looked through.
    pub(super) looks: usize,
    /// How often the shelf's figures were to be read.
    pub(super) shelf_reads: usize,
    /// The times of which the waste was to be read, with their days.
    pub(super) waste_reads: Vec<(Span, Period)>,
    /// The mixes behind a row that were to be read.
    pub(super) mix_reads: Vec<WantedMixes>,
    /// Mixes whose events were asked for.
    pub(super) event_reads: Vec<u32>,
    /// How often the closed jobs were to be read.
    pub(super) closed_reads: usize,
    /// The toners of which it was to be read what came and went.
    pub(super) move_reads: Vec<String>,
    /// The files, as they were typed, from which a delivery was to be read.
    pub(super) delivery_reads: Vec<String>,
    /// The labels that were to be printed.
    pub(super) prints: Vec<Printing>,
    /// The sheets that were to be written.
    pub(super) sheets: Vec<SheetAsked>,
    /// The mixes that were to be looked up.
    pub(super) finds: Vec<MixId>,
    pub(super) heard: Vec<Sound>,
    pub(super) lags: Option<Lags>,
    pub(super) quit: bool,
}

pub(super) fn settings() -> Settings {
    Settings {
        by: By { bench: "bench 1".to_owned(), operator: "operator".to_owned() },
        scale: "serial:/dev/ttyUSB0?shape=sma".parse().ok(),
        division: Some(Division::TENTH),
        capacity: Some(g("6200")),
        rehearsal: false,
        seed: 1,
        seconds_east: 0,
        preferences: Preferences::default(),
        remarks: Vec::new(),
        has_shop_folder: true,
    }
}

/// The same with the virtual bench for a scale.
pub(super) fn virtual_settings() -> Settings {
    Settings { scale: "virtual:".parse().ok(), ..settings() }
}

impl Rig {
    /// The app just opened, the scale live.
    pub(super) fn new() -> Self {
        let mut rig = Self::opened(settings(), FromBook { next_number: 412, ..FromBook::default() });
        rig.live();
        rig
    }

    /// The same without a scale.
    pub(super) fn without_scale() -> Self {
        let settings = Settings { scale: None, ..settings() };
        Self::opened(settings, FromBook { next_number: 412, ..FromBook::default() })
    }

    /// Without what the shop has laid down about its scale, so that nothing is overdue; and without its products, so that
    /// the colour is mixed alone.
    pub(super) fn opened(settings: Settings, book: FromBook) -> Self {
        let shop = Catalogue { scale: None, products: Vec::new(), ..Catalogue::demo() };
        Self::opened_with(shop, settings, book)
    }

    pub(super) fn opened_with(catalogue: Catalogue, settings: Settings, book: FromBook) -> Self {
        Self {
            app: App::new(catalogue, settings, book, Ids::counted(7)),
            now: 1_000,
            book: Book::Saves,
            sent: Vec::new(),
            together: Vec::new(),
            versions: Vec::new(),
            hands: Vec::new(),
            asked: Vec::new(),
            searches: Vec::new(),
            opens: Vec::new(),
            wants_bytes: false,
            bells: 0,
            works: Vec::new(),
            reads: Vec::new(),
            looks: 0,
            shelf_reads: 0,
            waste_reads: Vec::new(),
            mix_reads: Vec::new(),
            event_reads: Vec::new(),
            closed_reads: 0,
            move_reads: Vec::new(),
            delivery_reads: Vec::new(),
            prints: Vec::new(),
            sheets: Vec::new(),
            finds: Vec::new(),
            heard: Vec::new(),
            lags: None,
            quit: false,
        }
    }

    /// At the bench with the empty cup taken for the tare.
    pub(super) fn begun() -> Self {
        let mut rig = Self::new();
        rig.pick();
        rig.stand(CUP, DWELL);
        assert_eq!(rig.kinds(), ["mix/started"], "{}", rig.screen());
        rig
    }

    /// Picks the ground coat of Gannet White and says that 350 mL are wanted.
    pub(super) fn pick(&mut self) {
        self.type_text("gannet");
        self.key("Right");
        self.key("Enter");
        self.key("Enter");
    }

    /// The same, that key pressed before it begins.
    pub(super) fn pick_with(&mut self, key: &str) {
        self.type_text("gannet");
        self.key("Right");
        self.key("Enter");
        self.key(key);
        self.key("Enter");
    }

    /// The program opened again on what this one wrote.
    pub(super) fn reopened(&self, look_only: Option<&str>) -> Self {
        let waiting = self
            .kept()
            .into_iter()
            .filter(|journal| journal.session().is_unfinished())
            .map(|journal| Waiting { journal: Ok(journal), number: 412, when: "today".to_owned() })
            .collect();
        let look_only = look_only.map(str::to_owned);
        let leftovers = self.app.leftovers.clone();
        let book = FromBook { look_only, waiting, leftovers, next_number: 413, ..FromBook::default() };
        let mut rig = Self::opened(settings(), book);
        rig.app.ids = Ids::counted(8);
        rig.sent.clone_from(&self.sent);
        rig.live();
        rig
    }

    pub(super) fn now(&self) -> Now {
        let stamp = Stamp(1_700_000_000_000_000 + i64::try_from(self.now).unwrap() * 1_000);
        Now { moment: Moment(self.now), stamp }
    }

    /// Sends a message; the book answers at once if it does.
    pub(super) fn send(&mut self, message: Message) {
        let now = self.now();
        let mut answers = Vec::new();
        for effect in self.app.update(message, now) {
            match effect {
                Effect::Write(envelopes) => {
                    self.together.push(envelopes.len());
                    for envelope in envelopes {
                        match self.book {
                            Book::Saves => answers.push(BookEvent::Saved { id: envelope.id }),
                            Book::Withholds => {}
                            Book::Fails => {
                                let why = "the disk is full".to_owned();
                                answers.push(BookEvent::Failed { id: envelope.id, why });
                            }
                        }
                        self.sent.push(envelope);
                    }
                }
                Effect::KeepVersion(source) => self.versions.push(source),
                Effect::Hand(hand) => self.hands.push(hand),
                Effect::Search(place) => self.searches.push(place),
                Effect::Open(address) => self.opens.push(address.map(|address| address.to_string())),
                Effect::Ask(what) => self.asked.push(what),
                Effect::WantBytes(wanted) => self.wants_bytes = wanted,
                Effect::Sound(sound) => {
                    self.bells += 1;
                    self.heard.push(sound);
                }
                Effect::KeepLags(lags) => self.lags = Some(lags),
                Effect::Formula(work) => self.works.push(*work),
                Effect::ReadColour { file, then } => self.reads.push((file, then)),
                Effect::LookAtShop { .. } => self.looks += 1,
                Effect::ReadShelf(_) => self.shelf_reads += 1,
                Effect::ReadWaste { span, period } => self.waste_reads.push((span, period)),
                Effect::ReadMixes(wanted) => self.mix_reads.push(*wanted),
                Effect::ReadEvents(number) => self.event_reads.push(number),
                Effect::ReadClosedJobs => self.closed_reads += 1,
                Effect::ReadMoves(toner) => self.move_reads.push(toner.as_str().to_owned()),
                Effect::ReadDelivery(asked) => self.delivery_reads.push(asked.typed),
                Effect::PrintLabel(printing) => self.prints.push(printing),
                Effect::WriteSheet(asked) => self.sheets.push(asked),
                Effect::FindMix(mix) => self.finds.push(mix),
                Effect::Suspend | Effect::Mouse(_) => {}
                Effect::Quit(_) => self.quit = true,
            }
        }
        for answer in answers {
            self.send(Message::Book(answer));
        }
    }

    /// The book's word on one event, late.
    pub(super) fn saved(&mut self, id: EventId) {
        self.send(Message::Book(BookEvent::Saved { id }));
    }

    pub(super) fn state(&mut self, state: LinkState, why: &str) {
        self.send(Message::Scale(LinkEvent::State { state, why: why.to_owned() }));
    }

    pub(super) fn live(&mut self) {
        self.state(LinkState::Live, "");
    }

    /// A frame 100 ms after the last.
    pub(super) fn frame(&mut self, frame: Frame) {
        self.now += 100;
        let at = Moment(self.now);
        self.send(Message::Scale(LinkEvent::Reading(Reading::new(frame, at))));
    }

    /// So many readings of a load at rest.
    pub(super) fn stand(&mut self, gross: &str, readings: usize) {
        for _ in 0..readings {
            self.frame(stable(gross));
        }
    }

    /// The same with the empty cup's weight put on top.
    pub(super) fn stand_net(&mut self, net: Grams, readings: usize) {
        let gross = self.gross(net);
        self.stand(&gross, readings);
    }

    /// What the scale shows when the cup holds so much.
    pub(super) fn gross(&self, net: Grams) -> String {
        (self.session().tare() + net).shown(Division::TENTH)
    }

    pub(super) fn tick(&mut self, after_ms: u64) {
        self.now += after_ms;
        self.send(Message::Tick);
    }

    /// Presses a key, written as people write it.
    pub(super) fn key(&mut self, name: &str) {
        assert!(Key::parse(name).is_some(), "{name} is no key");
        let (name, modifiers) = match name.strip_prefix("Ctrl-") {
            Some(letter) => (letter, KeyModifiers::CONTROL),
            None => (name, KeyModifiers::NONE),
        };
        let code = match name {
            "Enter" => KeyCode::Enter,
            "Esc" => KeyCode::Esc,
            "Tab" => KeyCode::Tab,
            "Up" => KeyCode::Up,
            "Down" => KeyCode::Down,
            "Left" => KeyCode::Left,
            "Right" => KeyCode::Right,
            "Insert" => KeyCode::Insert,
            "Backspace" => KeyCode::Backspace,
            "F1" => KeyCode::F(1),
            "F2" => KeyCode::F(2),
            "F3" => KeyCode::F(3),
            "F5" => KeyCode::F(5),
            "F6" => KeyCode::F(6),
            "F8" => KeyCode::F(8),
            "F7" => KeyCode::F(7),
            "F9" => KeyCode::F(9),
            "F10" => KeyCode::F(10),
            "F12" => KeyCode::F(12),
            "Shift-Tab" => KeyCode::BackTab,
            letter => KeyCode::Char(letter.chars().next().unwrap().to_ascii_lowercase()),
        };
        self.now += 1;
        self.send(Message::Terminal(TerminalEvent::Key(KeyEvent::new(code, modifiers))));
        self.let_go();
    }

    /// A moment passes, so that what may have been a scanner's is a hand's.
    fn let_go(&mut self) {
        if self.app.burst.held().is_some() {
            self.tick(95);
        }
    }

    /// A scanner sends that, with Enter behind.
    pub(super) fn scan(&mut self, text: &str) {
        for letter in text.chars() {
            let (letter, held) =
                if letter == '\u{1d}' { ('5', KeyModifiers::CONTROL) } else { (letter, KeyModifiers::NONE) };
            self.now += 8;
            self.send(Message::Terminal(TerminalEvent::Key(KeyEvent::new(KeyCode::Char(letter), held))));
        }
        self.now += 8;
        self.send(Message::Terminal(TerminalEvent::Key(KeyEvent::new(KeyCode::Enter, KeyModifiers::NONE))));
    }

    pub(super) fn type_text(&mut self, text: &str) {
        for letter in text.chars() {
            let key = KeyEvent::new(KeyCode::Char(letter), KeyModifiers::NONE);
            self.send(Message::Terminal(TerminalEvent::Key(key)));
            self.let_go();
        }
    }

    /// Asks, types the answer, and takes it.
    pub(super) fn answer(&mut self, key: &str, text: &str) {
        self.key(key);
        self.type_text(text);
        self.key("Enter");
    }

    pub(super) fn session(&self) -> &Session {
        self.app.bench().expect("a mix at the bench").session()
    }

    pub(super) fn phase(&self) -> Phase {
        self.session().phase()
    }

    pub(super) fn stop(&self) -> Grams {
        self.session().shown_stop().expect("something to pour")
    }

    /// The code of the toner to pour now.
    pub(super) fn toner(&self) -> String {
        let line = self.session().current().expect("something to pour");
        self.session().recipe().lines()[line].toner.as_str().to_owned()
    }

    pub(super) fn kinds(&self) -> Vec<&str> {
        self.sent.iter().map(|envelope| envelope.kind.as_str()).collect()
    }

    pub(super) fn events(&self) -> Vec<Event> {
        self.of_mixes().map(|envelope| serde_json::from_str(&envelope.body).unwrap()).collect()
    }

    fn of_mixes(&self) -> impl Iterator<Item = &Envelope> {
        self.sent.iter().filter(|envelope| envelope.kind.starts_with("mix/"))
    }

    /// What was told of the stock.
    pub(super) fn told(&self) -> Vec<StockEvent> {
        self.sent.iter().filter_map(|envelope| StockEvent::read(envelope).unwrap()).collect()
    }

    pub(super) fn last(&self) -> Event {
        self.events().pop().expect("something written")
    }

    /// The mixes in the book as it would give them back, one sent twice kept once.
    pub(super) fn kept(&self) -> Vec<Journal> {
        let mut mixes: BTreeMap<MixId, Vec<Envelope>> = BTreeMap::new();
        for envelope in self.of_mixes() {
            let mix = mixes.entry(envelope.subject).or_default();
            match mix.iter().find(|kept| kept.id == envelope.id) {
                Some(kept) => assert_eq!(kept, envelope, "sent again otherwise"),
                None => mix.push(envelope.clone()),
            }
        }
        mixes.into_iter().map(|(mix, envelopes)| Journal::fold(mix, &envelopes).unwrap()).collect()
    }

    /// What is on the screen, as text.
    pub(super) fn screen(&self) -> String {
        picture(&self.drawn()).join("\n")
    }

    /// The same with its colours.
    pub(super) fn drawn(&self) -> Buffer {
        let area = Rect::new(0, 0, 80, 24);
        let mut buf = Buffer::empty(area);
        let theme = Theme { notation: self.app.notation(), ..Theme::default() };
        view::draw_in(&self.app, self.now(), area, &mut buf, &theme);
        buf
    }

    /// That the screen says so.
    #[track_caller]
    pub(super) fn says(&self, text: &str) {
        let screen = self.screen();
        assert!(screen.contains(text), "'{text}' is not on the screen:\n{screen}");
    }

    /// That it does not.
    #[track_caller]
    pub(super) fn says_not(&self, text: &str) {
        let screen = self.screen();
        assert!(!screen.contains(text), "'{text}' is on the screen:\n{screen}");
    }

    /// That the book and the screen tell of the same mix, and that nothing in the book comes from nowhere.
    #[track_caller]
    pub(super) fn agrees_with_book(&self) {
        for envelope in &self.sent {
            assert_eq!(envelope.flaw(), None, "{envelope:?}");
        }
        let kept = self.kept();
        for waiting in &self.app.waiting {
            let journal = waiting.journal.as_ref().unwrap();
            assert!(
                kept.contains(journal),
                "a mix that waits stands otherwise in the book: {:?}",
                self.kinds()
            );
        }
        let Some(bench) = self.app.bench() else { return };
        let same = |journal: &Journal| journal.session() == bench.session() && journal.next() == bench.next();
        assert!(kept.iter().any(same), "the book has it otherwise: {:?}\n{}", self.kinds(), self.screen());
    }
}

/// A load at rest, as a scale that shows gross says it.
pub(super) fn stable(gross: &str) -> Frame {
    Frame::weight(parse_decimal(gross).unwrap(), MassUnit::Gram, Stability::Stable, Mode::Gross)
}

/// A load that moves.
pub(super) fn moving(gross: &str) -> Frame {
    Frame { stability: Stability::Moving, ..stable(gross) }
}
