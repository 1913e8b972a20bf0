//! What the first run says on the screen: from its state to what is drawn. Plain words, for somebody who has never
//! opened a terminal.

use super::first_run::{Choice, CountryOffered, FirstRun, Seen, ShopAnswer, Step};
use super::keys::{Action, Context};
use super::on_scale_search::Search;
use super::screens::{self, Chrome, FirstRow, FirstRunView, Note, View};
use super::theme::{Meaning, Theme};
use super::widgets::keyline::Keys;
use super::widgets::prompt::Input;
use crate::scale::ports::Port;
use crate::units::clean;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

impl FirstRun {
    /// Draws it.
    pub(super) fn draw(&self, area: Rect, buf: &mut Buffer, theme: &Theme) {
        self.view(|view| screens::draw(view, area, buf, theme));
    }

    /// Hands on what is to be drawn.
    pub(super) fn view(&self, see: impl FnOnce(&View<'_>)) {
        let available = self.available();
        let (rows, notes, so_far) = (self.rows(), self.notes(), self.so_far());
        let view = FirstRunView {
            which: Step::QUESTIONS.iter().position(|step| *step == self.step),
            question: self.question(),
            about: self.about(),
            label: self.label(),
            input: Input { text: self.typed.value(), cursor: self.typed.cursor() },
            rows: &rows,
            marked: self.marked,
            notes: &notes,
            so_far: &so_far,
            chrome: Chrome {
                banners: &[],
                hint: None,
                times: &[],
                keys: Keys {
                    bindings: &self.offered.bindings,
                    context: Context::FirstRun,
                    available: &available,
                },
                prompt: None,
                help: self.help,
            },
        };
        see(&View::FirstRun(view));
    }

    /// What can be done now, the most needed first.
    fn available(&self) -> Vec<Action> {
        if self.keeping || matches!(self.search, Some(Search::Running(_))) {
            return if self.keeping {
                vec![Action::Quit]
            } else {
                vec![Action::Back, Action::Skip, Action::Quit]
            };
        }
        let mut actions = vec![Action::Accept];
        if self.step != Step::End {
            actions.push(Action::Skip);
        }
        if !self.choices().is_empty() {
            actions.extend([Action::Up, Action::Down]);
        }
        if self.step != Step::Colours {
            actions.push(Action::Back);
        }
        actions.push(Action::Quit);
        if self.step != Step::End && self.search.is_none() {
            actions.extend([Action::EraseBack, Action::EraseAll]);
        }
        actions
    }

    const fn question(&self) -> &'static str {
        match self.step {
            Step::Colours => "Where are your colours?",
            Step::Scale => "Which scale do you weigh on?",
            Step::Painter => "Who is weighing?",
            Step::Country => "Which country are you in?",
            Step::End => "This is what you answered.",
        }
    }

    const fn about(&self) -> &'static str {
        match self.step {
            Step::Colours => {
                "Type the folder that holds your shop's files (toners.toml, cups.toml and the folder colours), as \
                 ~/shop. It is looked into before it is taken; nothing in it is changed. Or move down to another answer."
            }
            Step::Scale => {
                "Move down to the port it is plugged into: what the scale speaks is found out for you, and nothing is \
                 sent that would change it. Or type where it is, if you know."
            }
            Step::Painter => {
                "Your name stands beside each weight in the book, so that everybody knows who poured it."
            }
            Step::Country => {
                "Type its first letters. The country says how numbers are written and what is measured in what; each of \
                 that can be set otherwise later."
            }
            Step::End if self.keeping => "Every answer goes into the file, or none does.",
            Step::End => {
                "Nothing is written yet. Go back to change an answer. All of it can be changed later: `pourbook settings` \
                 shows how."
            }
        }
    }

    const fn label(&self) -> Option<&'static str> {
        Some(match self.step {
            Step::Colours => "folder",
            Step::Scale if self.search.is_some() => return None,
            Step::Scale => "port or address",
            Step::Painter => "name",
            Step::Country => "country",
            Step::End => return None,
        })
    }

    fn rows(&self) -> Vec<FirstRow> {
        self.choices().into_iter().map(|choice| self.row(choice)).collect()
    }

    fn row(&self, choice: Choice) -> FirstRow {
        let row = |words: &str, more: &str| FirstRow { words: clean(words), more: clean(more) };
        match choice {
            Choice::Invented => {
                row("the invented shop in the program", "nothing in it is real: to try things out")
            }
            Choice::Empty(folder) => {
                row("an empty shop, for you to fill", &format!("made in {}", folder.display()))
            }
            Choice::Port(Port { path, product, forbidden, .. }) => {
                let more = if forbidden.is_some() { "you may not open it: Enter says why" } else { "" };
                let product = product.unwrap_or_else(|| "a serial port".to_owned());
                row(&path, if more.is_empty() { &product } else { more })
            }
            Choice::AllPorts => row("find it", "looks at every port in turn, which takes a while"),
            Choice::NoScale => row("no scale", "weights are typed in"),
            Choice::Country(at) => self
                .offered
                .countries
                .get(at)
                .map(|country| row(&country.name, &country.follows))
                .unwrap_or_default(),
        }
    }

    fn notes(&self) -> Vec<Note> {
        let note = |text: &str, meaning| Note { text: clean(text), meaning };
        let mut notes: Vec<Note> = self.told.clone().into_iter().collect();
        match self.step {
            Step::Colours => {
                let look = self.look.as_ref().filter(|look| Some(&look.folder) == self.folder().as_ref());
                match look.map(|look| look.seen.as_ref()) {
                    Some(None) => notes.push(note("looking into it", Meaning::Moving)),
                    Some(Some(seen)) => notes.extend(found(seen)),
                    None => {}
                }
            }
            Step::Scale => {
                if let Some(search) = &self.search {
                    notes.extend(search.notes());
                    if matches!(search, Search::Found(_)) {
                        notes.push(note("Enter takes it; Esc goes back to the ports.", Meaning::Plain));
                    }
                } else if self.ports.is_none() {
                    notes.push(note("looking which ports there are", Meaning::Moving));
                } else if self.ports.as_ref().is_some_and(Vec::is_empty) {
                    let words = "No port is there. Is the scale's cable in? Leave the question open to go on without.";
                    notes.push(note(words, Meaning::Doubt));
                }
            }
            Step::End => notes.extend(self.what_is_written()),
            Step::Painter | Step::Country => {}
        }
        notes
    }

    /// The last page: each line that goes into the file.
    fn what_is_written(&self) -> Vec<Note> {
        let note = |text: String, meaning| Note { text: clean(&text), meaning };
        if self.keeping {
            return vec![note("writing it".to_owned(), Meaning::Moving)];
        }
        let changes = self.answers.changes();
        let mut notes = Vec::new();
        if changes.is_empty() {
            notes.push(note(
                "Nothing was answered, so nothing is written: you are asked again the next time.".to_owned(),
                Meaning::Plain,
            ));
        } else {
            notes.push(note(format!("Enter writes into {}:", self.offered.file.display()), Meaning::Plain));
            for change in &changes {
                if let Some(value) = &change.value {
                    notes.push(note(format!("{} = {value}", change.key), Meaning::Value));
                }
            }
        }
        match &self.answers.shop {
            Some(ShopAnswer::Empty(folder)) => notes.push(note(
                format!(
                    "and makes the empty shop in {}; no file that is there is touched.",
                    folder.display()
                ),
                Meaning::Plain,
            )),
            None => notes.push(note(
                "No shop was named: the invented one opens this time.".to_owned(),
                Meaning::Plain,
            )),
            Some(_) => {}
        }
        notes
    }

    /// Each question in a word, and what was answered to it.
    fn so_far(&self) -> Vec<(&'static str, Option<String>)> {
        let answers = &self.answers;
        let shop = answers.shop.as_ref().map(|shop| match shop {
            ShopAnswer::Folder(folder) => clean(&folder.display().to_string()),
            ShopAnswer::Invented => "the invented shop".to_owned(),
            ShopAnswer::Empty(folder) => format!("an empty shop in {}", clean(&folder.display().to_string())),
        });
        let country = answers.country.as_deref().map(|code| match self.country(code) {
            Some(country) => format!("{} ({})", country.name, country.follows),
            None => code.to_owned(),
        });
        vec![
            ("colours", shop),
            ("scale", answers.scale.as_ref().map(|scale| clean(&scale.to_string()))),
            ("painter", answers.painter.clone()),
            ("country", country),
        ]
    }

    fn country(&self, code: &str) -> Option<&CountryOffered> {
        self.offered.countries.iter().find(|country| country.code == code)
    }
}

/// What was found in a folder.
fn found(seen: &Seen) -> Vec<Note> {
    let count =
        |many: usize, one: &str| if many == 1 { format!("1 {one}") } else { format!("{many} {one}s") };
    let mistakes = match seen.mistakes {
        0 => "no mistakes".to_owned(),
        many => count(many, "mistake"),
    };
    let words =
        format!("found: {}, {}, {mistakes}", count(seen.colours, "colour"), count(seen.toners, "toner"));
    let usable = seen.colours > 0;
    let meaning = match (usable, seen.mistakes) {
        (true, 0) => Meaning::Right,
        _ => Meaning::Doubt,
    };
    let mut notes = vec![Note { text: words, meaning }];
    if let Some(first) = &seen.first {
        notes.push(Note { text: format!("the first: {first}"), meaning: Meaning::Muted });
    }
    let next = match (usable, seen.mistakes) {
        (true, 0) => "Enter takes it.",
        (true, _) => "Enter takes it; what is wrong is left out, and `pourbook check` names all of it.",
        (false, _) => {
            "There is no colour to weigh in it: type another folder, or move down to another answer."
        }
    };
    notes.push(Note { text: next.to_owned(), meaning: Meaning::Plain });
    notes
}
