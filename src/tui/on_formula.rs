//! What is done with formulas from the screen: changed, copied, added, retired, taken in and given out.

use super::app::{App, Screen};
use super::formula::{Doing, Formula};
use super::formula_writer::{Brought, FormulaDone, FormulaWork};
use super::importing::Importing;
use super::keys::Action;
use super::message::Effect;
use super::prompt::Asks;
use crate::catalogue::{Colour, Draft, named};
use crate::units::Notation;
use std::path::PathBuf;
use tui_input::InputRequest;

/// What can be done with formulas, as a menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Choice {
    Change,
    Copy,
    New,
    Retire,
    TakeIn,
    GiveOut,
}

impl Choice {
    pub(super) const ALL: [Self; 6] =
        [Self::Change, Self::Copy, Self::New, Self::Retire, Self::TakeIn, Self::GiveOut];

    /// What it does, and to which colour.
    pub(super) fn words(self, colour: Option<&Colour>) -> (String, String) {
        let what = colour.map_or_else(|| "no colour is marked".to_owned(), named);
        let retired = colour.is_some_and(|colour| colour.retired.is_some());
        match self {
            Self::Change => ("change it".to_owned(), what),
            Self::Copy => ("begin another with it".to_owned(), what),
            Self::New => ("add a colour".to_owned(), "from nothing".to_owned()),
            Self::Retire if retired => ("bring it back".to_owned(), what),
            Self::Retire => ("retire it".to_owned(), format!("{what}; it is kept, and no longer offered")),
            Self::TakeIn => ("take formulas in".to_owned(), "from a CSV file or a folder".to_owned()),
            Self::GiveOut => ("give all out".to_owned(), "into a CSV file".to_owned()),
        }
    }
}

impl App {
    /// The colour that is marked among those found.
    pub(super) fn marked_colour(&self) -> Option<&Colour> {
        match &self.screen {
            Screen::Colours(colours) => colours.colour(&self.catalogue).map(|(_, colour)| colour),
            _ => None,
        }
    }

    pub(super) fn open_formulas(&mut self) {
        self.ask(Asks::Formulas);
    }

    /// Does what was chosen from the menu; the question stays open where it cannot be done.
    pub(super) fn choose_formulas(&mut self, which: usize) -> Result<(), String> {
        let Some(choice) = Choice::ALL.get(which).copied() else { return Ok(()) };
        let marked = self.marked_colour().cloned();
        let layer = match &self.screen {
            Screen::Colours(colours) => colours.layer,
            _ => 0,
        };
        let writes = !matches!(choice, Choice::GiveOut);
        if writes && !self.settings.has_shop_folder {
            return Err(super::formula_writer::INVENTED.to_owned());
        }
        let need = || marked.clone().ok_or_else(|| "no colour is marked: find it first".to_owned());
        let (doing, draft) = match choice {
            Choice::Change => {
                let colour = need()?;
                let draft = Draft::of(&colour);
                (Doing::Change(Box::new(colour)), draft)
            }
            Choice::Copy => {
                let colour = need()?;
                (Doing::Copy(named(&colour)), Draft::copy(&colour))
            }
            Choice::New => (Doing::New, Draft::default()),
            Choice::Retire => {
                let colour = need()?;
                if colour.retired.is_some() {
                    let back = Colour { retired: None, ..colour.clone() };
                    self.write_formula(back, Some(colour));
                } else {
                    self.ask(Asks::RetireBecause);
                }
                return Ok(());
            }
            Choice::TakeIn => {
                self.ask(Asks::TakeInFrom);
                return Ok(());
            }
            Choice::GiveOut => {
                self.ask(Asks::GiveOutTo);
                return Ok(());
            }
        };
        let draft = as_typed(draft, self.notation());
        let formula = Formula::new(doing, draft, layer, &self.catalogue);
        self.screen = Screen::Formula(Box::new(formula));
        Ok(())
    }

    fn write_formula(&mut self, colour: Colour, was: Option<Colour>) {
        let work = FormulaWork::Write { colour: Box::new(colour), was: was.map(Box::new) };
        self.effects.push(Effect::Formula(Box::new(work)));
    }

    pub(super) fn answer_retire_because(&mut self, typed: &str) -> Result<(), String> {
        let Some(colour) = self.marked_colour().cloned() else { return Ok(()) };
        let mut draft = Draft::of(&colour);
        draft.retired = super::on_scan::day(self.now.stamp, self.settings.seconds_east);
        typed.clone_into(&mut draft.retired_because);
        let own = (colour.code.clone(), colour.variant.clone());
        let others =
            self.catalogue.colours.iter().filter(|one| (&one.code, &one.variant) != (&own.0, &own.1));
        let others = others.map(|one| (one.code.as_str(), one.variant.as_str()));
        let retired = draft.check(&self.catalogue.toners, others);
        let retired = retired.map_err(|faults| {
            let first = faults.first().map_or_else(String::new, crate::catalogue::Fault::sentence);
            format!("the formula cannot be written as it is: {first}")
        })?;
        self.write_formula(retired, Some(colour));
        Ok(())
    }

    pub(super) fn answer_take_in(&mut self, typed: &str) -> Result<(), String> {
        if typed.is_empty() {
            return Err("type the path of a CSV file or of a folder of formulas".to_owned());
        }
        self.effects.push(Effect::Formula(Box::new(FormulaWork::Read(PathBuf::from(typed)))));
        self.say("reading it");
        Ok(())
    }

    pub(super) fn answer_give_out(&mut self, typed: &str) -> Result<(), String> {
        if typed.is_empty() {
            return Err("type the path of a file that is not there yet, as formulas.csv".to_owned());
        }
        let work = FormulaWork::GiveOut(PathBuf::from(typed), self.catalogue.colours.clone());
        self.effects.push(Effect::Formula(Box::new(work)));
        Ok(())
    }

    /// What came of something that was done with formulas.
    pub(super) fn on_formula_done(&mut self, done: FormulaDone) {
        match done {
            FormulaDone::Written(Ok(colour)) => {
                let said = match &colour.retired {
                    Some(_) => {
                        format!("{} is retired and no longer offered; its formula is kept", named(&colour))
                    }
                    None => format!("{} is written; the version before it is kept", named(&colour)),
                };
                let code = colour.code.as_str().to_owned();
                self.take_in_colour(*colour);
                self.show_colours_of(&code);
                self.say(said);
            }
            FormulaDone::Written(Err(why)) => {
                if let Screen::Formula(formula) = &mut self.screen {
                    formula.is_writing = false;
                }
                self.complain(why);
            }
            FormulaDone::Read(path, Ok(brought)) => {
                self.notice = None;
                let importing = Importing::new(&path, brought, &self.catalogue, self.notation());
                self.screen = Screen::Import(Box::new(importing));
            }
            FormulaDone::Read(_, Err(why)) | FormulaDone::GivenOut(_, Err(why)) => self.complain(why),
            FormulaDone::TakenIn(colours, failed) => {
                let count = colours.len();
                for colour in colours {
                    self.take_in_colour(colour);
                }
                self.open_colours();
                let what = if count == 1 { "formula is" } else { "formulas are" };
                match failed.first() {
                    None => self.say(format!("{count} {what} taken in; versions they replace are kept")),
                    Some(first) => {
                        let more = failed.len();
                        self.complain(format!(
                            "{count} {what} taken in, {more} could not be written: {first}"
                        ));
                    }
                }
            }
            FormulaDone::GivenOut(path, Ok(count)) => {
                self.say(format!("{count} colours are in {}", path.display()));
            }
        }
    }

    /// The colour as it is in its file now, in place of what was known of it.
    fn take_in_colour(&mut self, colour: Colour) {
        let file = colour.source.as_ref().map(|source| source.file.clone());
        let same = |known: &&mut Colour| {
            let known_file = known.source.as_ref().map(|source| &source.file);
            file.as_ref().is_some_and(|file| known_file == Some(file))
        };
        match self.catalogue.colours.iter_mut().find(same) {
            Some(known) => *known = colour,
            None => self.catalogue.colours.push(colour),
        }
        self.finder.learn(&self.catalogue.colours);
    }

    /// The colours, those of that code found.
    fn show_colours_of(&mut self, code: &str) {
        if matches!(self.screen, Screen::Bench(_) | Screen::Amount(_)) {
            return;
        }
        self.open_colours();
        if let Screen::Colours(colours) = &mut self.screen {
            for letter in code.chars() {
                colours.edit(InputRequest::InsertChar(letter), &self.catalogue, &mut self.finder);
            }
        }
    }

    pub(super) fn act_on_formula(&mut self, action: Action) {
        let Screen::Formula(formula) = &mut self.screen else { return };
        let shop = &self.catalogue;
        if formula.is_writing {
            return self.say("it is being written: one moment");
        }
        match action {
            Action::Accept | Action::Next => formula.step(true, shop),
            Action::Previous => formula.step(false, shop),
            Action::Up => formula.rise(false),
            Action::Down => formula.rise(true),
            Action::NextLayer => formula.next_layer(shop),
            Action::AddRow => formula.add_row(shop),
            Action::RemoveRow => formula.remove_row(shop),
            Action::EraseBack => formula.edit(InputRequest::DeletePrevChar, shop),
            Action::EraseForward => formula.edit(InputRequest::DeleteNextChar, shop),
            Action::EraseAll => formula.edit(InputRequest::DeleteLine, shop),
            Action::CursorLeft if formula.turn(false, shop) => {}
            Action::CursorRight if formula.turn(true, shop) => {}
            Action::CursorLeft => formula.edit(InputRequest::GoToPrevChar, shop),
            Action::CursorRight => formula.edit(InputRequest::GoToNextChar, shop),
            Action::CursorStart => formula.edit(InputRequest::GoToStart, shop),
            Action::CursorEnd => formula.edit(InputRequest::GoToEnd, shop),
            Action::SaveFormula => self.save_formula(),
            Action::Back if formula.is_changed() => {
                self.ask(Asks::Sure(super::put_right::Sure::DropFormula));
            }
            Action::Back => self.open_colours(),
            _ => {}
        }
    }

    fn save_formula(&mut self) {
        let Screen::Formula(formula) = &mut self.screen else { return };
        let Some(colour) = formula.check(&self.catalogue) else {
            formula.go_to_fault();
            let first = formula.faults.first().map_or_else(String::new, crate::catalogue::Fault::sentence);
            return self.complain(format!("not saved yet: {first}"));
        };
        if !formula.is_changed() && matches!(formula.doing, Doing::Change(_)) {
            return self.say("nothing is changed, so there is nothing to save");
        }
        formula.is_writing = true;
        let was = match &formula.doing {
            Doing::Change(was) => Some((**was).clone()),
            Doing::New | Doing::Copy(_) => None,
        };
        self.write_formula(colour, was);
    }

    pub(super) fn act_on_import(&mut self, action: Action) {
        let Screen::Import(importing) = &mut self.screen else { return };
        let shop = &self.catalogue;
        match action {
            Action::Up => importing.step(false),
            Action::Down => importing.step(true),
            Action::PageUp => importing.scroll = importing.scroll.saturating_sub(5),
            Action::PageDown => importing.scroll = importing.scroll.saturating_add(5),
            Action::Next => importing.turn(true, shop),
            Action::Previous => importing.turn(false, shop),
            Action::RunningTotals => importing.toggle_totals(shop),
            Action::Back => self.open_colours(),
            Action::Accept | Action::WriteGood => {
                let wrong = importing.preview.wrong.len();
                let entries = importing.to_write();
                if wrong > 0 && action == Action::Accept {
                    return self.complain(format!(
                        "nothing is written while {wrong} cannot be read: put it right in the file, or w writes the rest"
                    ));
                }
                if entries.is_empty() {
                    return self.say("there is nothing to write: all of it is there already");
                }
                self.effects.push(Effect::Formula(Box::new(FormulaWork::TakeIn(entries))));
            }
            _ => {}
        }
    }
}

impl Brought {
    /// How it is called on the screen.
    pub(super) const fn is_table(&self) -> bool {
        matches!(self, Self::Table(_))
    }
}

/// A draft with its parts as the person would have typed them; their digits stay.
fn as_typed(mut draft: Draft, notation: Notation) -> Draft {
    for row in draft.layers.iter_mut().flat_map(|layer| &mut layer.rows) {
        row.parts = notation.digits(&row.parts);
    }
    draft
}
