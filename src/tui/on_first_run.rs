//! What the keys do in the first run, and what is done with what comes in. Without I/O, like the bench's own update.

use super::first_run::{Choice, FirstRun, FirstRunSaid, Look, ShopAnswer, Step, Wish};
use super::keys::{Action, Bindings, Context};
use super::message::Message;
use super::on_scale_search::Search;
use super::screens::Note;
use super::search::{Searching, Where};
use super::theme::Meaning;
use crate::scale::Address;
use crate::units::clean;
use ratatui::crossterm::event::{Event as TerminalEvent, KeyEvent};
use tui_input::InputRequest;

/// How far a page goes.
const PAGE: usize = 10;

impl FirstRun {
    /// Takes in a message; answers with what is to be done outside.
    pub(super) fn update(&mut self, message: Message) -> Vec<Wish> {
        match message {
            Message::Terminal(TerminalEvent::Key(key)) => self.on_key(&key),
            Message::Terminal(TerminalEvent::Paste(text)) if self.help.is_none() => {
                clean(&text).chars().for_each(|letter| self.type_letter(letter));
            }
            Message::FirstRun(said) => self.on_said(said),
            Message::Searching(said) => self.on_searching(said),
            Message::Quit => self.wishes.push(Wish::Leave(None)),
            Message::Suspend => self.wishes.push(Wish::Suspend),
            Message::WorkerLost(why) => self.wishes.push(Wish::Leave(Some(why))),
            // There is no scale and no book yet.
            _ => {}
        }
        std::mem::take(&mut self.wishes)
    }

    pub(super) const fn context(&self) -> Context {
        if self.help.is_some() { Context::Help } else { Context::FirstRun }
    }

    fn on_key(&mut self, key: &KeyEvent) {
        let context = self.context();
        if let Some(letter) = Bindings::typed(context, key) {
            return self.type_letter(letter);
        }
        let Some(action) = self.offered.bindings.find(context, key) else { return };
        match (action, self.help) {
            (Action::Quit, _) => self.wishes.push(Wish::Leave(None)),
            (Action::Suspend, _) => self.wishes.push(Wish::Suspend),
            (Action::Help, None) => self.help = Some(0),
            (Action::Back, Some(_)) => self.help = None,
            (Action::Up, Some(at)) => self.help = Some(at.saturating_sub(1)),
            (Action::PageUp, Some(at)) => self.help = Some(at.saturating_sub(PAGE)),
            (Action::Down, Some(at)) => self.help = Some(at.saturating_add(1)),
            (Action::PageDown, Some(at)) => self.help = Some(at.saturating_add(PAGE)),
            (_, Some(_)) => {}
            // What is on its way to the disk is waited for.
            _ if self.keeping => {}
            (Action::Accept, None) => self.accept(),
            (Action::Skip, None) => self.skip(),
            (Action::Back, None) => self.back(),
            (Action::Up, None) => self.step_mark(false),
            (Action::Down, None) => self.step_mark(true),
            (other, None) => {
                if let Some(request) = edit(other) {
                    self.edit(request);
                }
            }
        }
    }

    fn type_letter(&mut self, letter: char) {
        self.edit(InputRequest::InsertChar(letter));
    }

    /// Changes what is typed: what was marked or said of it before counts no more.
    fn edit(&mut self, request: InputRequest) {
        if self.step == Step::End || self.search.is_some() || self.keeping {
            return;
        }
        let before = self.typed.value().to_owned();
        self.typed.handle(request);
        if self.typed.value() == before {
            return;
        }
        self.told = None;
        let finds = self.step == Step::Country && !self.text().is_empty() && !self.choices().is_empty();
        self.marked = finds.then_some(0);
    }

    /// Moves the mark: the line that is typed stands above the choices.
    fn step_mark(&mut self, down: bool) {
        let count = self.choices().len();
        self.marked = match (self.marked, down) {
            (None, true) => (count > 0).then_some(0),
            (None, false) => None,
            (Some(at), true) => Some(at.saturating_add(1).min(count.saturating_sub(1))),
            (Some(at), false) => at.checked_sub(1),
        };
        self.told = None;
    }

    fn tell(&mut self, text: impl Into<String>, meaning: Meaning) {
        self.told = Some(Note { text: clean(&text.into()), meaning });
    }

    fn go(&mut self, step: Step) {
        self.stop_search();
        self.step = step;
        self.typed = tui_input::Input::new(self.typed_before(step));
        self.marked = None;
        self.told = None;
        if step == Step::Scale && self.ports.is_none() {
            self.wishes.push(Wish::Ports);
        }
    }

    /// What was answered in text to that question, to be changed or kept with one key.
    fn typed_before(&self, step: Step) -> String {
        let answers = &self.answers;
        match step {
            Step::Colours => match &answers.shop {
                Some(ShopAnswer::Folder(folder)) => folder.display().to_string(),
                _ => String::new(),
            },
            Step::Scale => answers.scale.as_ref().map(ToString::to_string).unwrap_or_default(),
            Step::Painter => answers.painter.clone().unwrap_or_default(),
            Step::Country | Step::End => String::new(),
        }
    }

    /// Leaves the question at hand open.
    fn skip(&mut self) {
        match self.step {
            Step::Colours => self.answers.shop = None,
            Step::Scale => self.answers.scale = None,
            Step::Painter => self.answers.painter = None,
            Step::Country => self.answers.country = None,
            Step::End => return,
        }
        self.go(self.step.next());
    }

    fn back(&mut self) {
        if self.stop_search() {
            return self.tell("the search was stopped", Meaning::Plain);
        }
        match self.step.before() {
            Some(step) => self.go(step),
            None => self.tell("this is the first question", Meaning::Plain),
        }
    }

    fn accept(&mut self) {
        if let Some(Search::Found(found)) = &self.search {
            self.answers.scale = Some(found.address.clone());
            // It has ended by itself.
            self.search = None;
            return self.go(Step::Scale.next());
        }
        if self.search.is_some() {
            return;
        }
        let marked = self.marked.and_then(|at| self.choices().into_iter().nth(at));
        match (marked, self.step) {
            (Some(choice), _) => self.choose(choice),
            (None, Step::Colours) => self.take_folder(),
            (None, Step::Scale) => self.take_address(),
            (None, Step::Painter) => {
                let name = self.text();
                if name.is_empty() {
                    return self.tell("type a name, or leave the question open", Meaning::Doubt);
                }
                self.answers.painter = Some(name);
                self.go(Step::Painter.next());
            }
            (None, Step::Country) => {
                // Answered before and looked at again: it stays.
                if self.answers.country.is_some() && self.text().is_empty() {
                    return self.go(Step::End);
                }
                self.tell(
                    "no country is marked: type its first letters, or leave the question open",
                    Meaning::Doubt,
                );
            }
            (None, Step::End) => self.finish(),
        }
    }

    fn choose(&mut self, choice: Choice) {
        match choice {
            Choice::Invented => self.answers.shop = Some(ShopAnswer::Invented),
            Choice::Empty(folder) => self.answers.shop = Some(ShopAnswer::Empty(folder)),
            Choice::Port(port) => {
                return match port.forbidden {
                    Some(why) => self.tell(why, Meaning::Doubt),
                    None => self.begin_search(Where::Port(port.lasting.unwrap_or(port.path))),
                };
            }
            Choice::AllPorts => return self.begin_search(Where::AllPorts),
            Choice::NoScale => self.answers.scale = None,
            Choice::Country(at) => {
                self.answers.country = self.offered.countries.get(at).map(|country| country.code.clone());
            }
        }
        self.go(self.step.next());
    }

    /// The folder that was typed: looked into first, and taken once it is seen to hold colours.
    fn take_folder(&mut self) {
        let Some(folder) = self.folder() else {
            // Answered before by a choice, and looked at again: it stays.
            if self.answers.shop.is_some() {
                return self.go(Step::Scale);
            }
            return self.tell("type a folder, or move down to one of the two below", Meaning::Doubt);
        };
        match self.seen() {
            Some(seen) if seen.colours > 0 => {
                self.answers.shop = Some(ShopAnswer::Folder(folder));
                self.go(Step::Scale);
            }
            _ => {
                self.look = Some(Look { folder: folder.clone(), seen: None });
                self.told = None;
                self.wishes.push(Wish::Look(folder));
            }
        }
    }

    /// What was typed for the scale: a port is searched, an address is taken.
    fn take_address(&mut self) {
        let text = self.text();
        if text.is_empty() {
            return self.tell("type where it is, or move down to one of those below", Meaning::Doubt);
        }
        if text.starts_with('/') {
            return self.begin_search(Where::Port(text));
        }
        match text.parse::<Address>() {
            Ok(address) => {
                self.answers.scale = Some(address);
                self.go(Step::Scale.next());
            }
            Err(error) => self.tell(error.to_string(), Meaning::Doubt),
        }
    }

    fn begin_search(&mut self, place: Where) {
        self.told = None;
        self.marked = None;
        self.search = Some(Search::Running("searching".to_owned()));
        if self.unheard {
            self.waiting_search = Some(place);
        } else {
            self.wishes.push(Wish::Search(place));
        }
    }

    /// Ends the search; false if there is none. One that is under way still has its last word to say: until then it may
    /// have the port, and what comes is its.
    fn stop_search(&mut self) -> bool {
        let Some(search) = self.search.take() else { return false };
        if matches!(search, Search::Running(_)) && self.waiting_search.take().is_none() {
            self.unheard = true;
            self.wishes.push(Wish::StopSearch);
        }
        true
    }

    fn on_searching(&mut self, said: Searching) {
        if self.unheard {
            if !matches!(said, Searching::Step(_)) {
                self.unheard = false;
                self.wishes.extend(self.waiting_search.take().map(Wish::Search));
            }
            return;
        }
        if !matches!(self.search, Some(Search::Running(_))) {
            return;
        }
        match said {
            Searching::Step(text) => self.search = Some(Search::Running(clean(&text))),
            Searching::Found(proposal) => {
                self.search = Some(Search::Found(proposal));
                self.wishes.push(Wish::Bell);
            }
            Searching::Nothing(why) => {
                self.search = None;
                self.tell(why, Meaning::Doubt);
                self.wishes.push(Wish::Bell);
                // What is plugged in may have changed meanwhile.
                self.wishes.push(Wish::Ports);
            }
        }
    }

    fn on_said(&mut self, said: FirstRunSaid) {
        match said {
            FirstRunSaid::Ports(ports) => {
                // The mark stays on what it was on, though ports come or go above it.
                let marked = self.marked.and_then(|at| self.choices().into_iter().nth(at));
                self.ports = Some(ports);
                if self.step == Step::Scale {
                    self.marked = marked.and_then(|was| self.choices().iter().position(|is| *is == was));
                }
            }
            FirstRunSaid::Looked(folder, seen) => {
                if let Some(look) = self.look.as_mut().filter(|look| look.folder == folder) {
                    look.seen = Some(seen);
                }
            }
            FirstRunSaid::Kept(Ok(())) => self.wishes.push(Wish::Done),
            FirstRunSaid::Kept(Err(why)) => {
                self.keeping = false;
                self.tell(why, Meaning::Error);
            }
        }
    }

    /// Writes what was answered; where nothing was, nothing is written.
    fn finish(&mut self) {
        if self.answers.changes().is_empty() {
            return self.wishes.push(Wish::Done);
        }
        self.keeping = true;
        self.told = None;
        self.wishes.push(Wish::Keep(Box::new(self.answers.clone())));
    }
}

const fn edit(action: Action) -> Option<InputRequest> {
    Some(match action {
        Action::EraseBack => InputRequest::DeletePrevChar,
        Action::EraseForward => InputRequest::DeleteNextChar,
        Action::EraseAll => InputRequest::DeleteLine,
        Action::CursorLeft => InputRequest::GoToPrevChar,
        Action::CursorRight => InputRequest::GoToNextChar,
        Action::CursorStart => InputRequest::GoToStart,
        Action::CursorEnd => InputRequest::GoToEnd,
        _ => return None,
    })
}
