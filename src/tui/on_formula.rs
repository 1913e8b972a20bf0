//! What is done with formulas from the screen: changed, copied, added, retired, taken in and given out.

use super::app::{App, Screen};
use super::formula::{Doing, Formula, Shop};
use super::formula_writer::{Brought, FormulaDone, FormulaWork};
use super::importing::Importing;
use super::keys::Action;
use super::known::Then;
use super::message::Effect;
use super::prompt::Asks;
use crate::catalogue::{Colour, Draft, Entry, named};
use crate::units::Notation;
use std::path::PathBuf;
use tui_input::InputRequest;

/// What can be done with formulas, as a menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choice {
    /// Change it.
    Change,
    /// Begin another with it.
    Copy,
    /// Add one from nothing.
    New,
    /// Retire it, or bring it back.
    Retire,
    /// Take formulas in.
    TakeIn,
    /// Give all out.
    GiveOut,
}

impl Choice {
    pub(super) const ALL: [Self; 6] =
        [Self::Change, Self::Copy, Self::New, Self::Retire, Self::TakeIn, Self::GiveOut];

    /// What it does, and to which colour.
    pub(super) fn words(self, colour: Option<&Entry<'_>>) -> (String, String) {
        let what = colour.map_or_else(|| "no colour is marked".to_owned(), Entry::named);
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
    /// The colour that is marked on the screen of colours, and its place.
    pub(super) fn marked_colour(&self) -> Option<(usize, Entry<'_>)> {
        match &self.screen {
            Screen::Colours(colours) => colours.colour(&self.known),
            _ => None,
        }
    }

    pub(super) fn open_formulas(&mut self) {
        self.ask(Asks::Formulas);
    }

    /// Does what was chosen from the menu; the question stays open where it cannot be done.
    pub(super) fn choose_formulas(&mut self, which: usize) -> Result<(), String> {
        let Some(choice) = Choice::ALL.get(which).copied() else { return Ok(()) };
        let writes = !matches!(choice, Choice::GiveOut);
        if writes && !self.settings.has_shop_folder {
            return Err(super::formula_writer::INVENTED.to_owned());
        }
        match choice {
            Choice::Change | Choice::Copy | Choice::Retire => {
                let marked = self.marked_colour().map(|(place, _)| place);
                let place = marked.ok_or_else(|| "no colour is marked: find it first".to_owned())?;
                self.with_colour(place, Then::Formula(choice));
            }
            Choice::New => self.do_with_formula(choice, None),
            Choice::TakeIn => self.ask(Asks::TakeInFrom),
            Choice::GiveOut => self.ask(Asks::GiveOutTo),
        }
        Ok(())
    }

    /// Does what was chosen with that colour, as its file has it now; none for a new one.
    pub(super) fn do_with_formula(&mut self, choice: Choice, colour: Option<Colour>) {
        let (doing, draft) = match (choice, colour) {
            (Choice::Change, Some(colour)) => {
                let draft = Draft::of(&colour);
                (Doing::Change(Box::new(colour)), draft)
            }
            (Choice::Copy, Some(colour)) => (Doing::Copy(named(&colour)), Draft::copy(&colour)),
            (Choice::Retire, Some(colour)) if colour.retired.is_some() => {
                let back = Colour { retired: None, ..colour.clone() };
                return self.write_formula(back, Some(colour));
            }
            (Choice::Retire, Some(_)) => return self.ask(Asks::RetireBecause),
            _ => (Doing::New, Draft::default()),
        };
        let layer = match &self.screen {
            Screen::Colours(colours) => colours.layer,
            _ => 0,
        };
        let draft = as_typed(draft, self.notation());
        let formula = Formula::new(doing, draft, layer, self.shop());
        self.screen = Screen::Formula(Box::new(formula));
    }

    /// What a formula is held against while it is written.
    fn shop(&self) -> Shop<'_> {
        Shop { toners: &self.catalogue.toners, known: &self.known }
    }

    fn write_formula(&mut self, colour: Colour, was: Option<Colour>) {
        let work = FormulaWork::Write { colour: Box::new(colour), was: was.map(Box::new) };
        self.effects.push(Effect::Formula(Box::new(work)));
    }

    pub(super) fn answer_retire_because(&mut self, typed: &str) -> Result<(), String> {
        let marked = self.marked_colour().and_then(|(place, _)| self.known.full(place));
        let Some(colour) = marked.cloned() else { return Ok(()) };
        let mut draft = Draft::of(&colour);
        draft.retired = super::wall::day(self.now.stamp, self.settings.seconds_east);
        typed.clone_into(&mut draft.retired_because);
        let own = (colour.code.as_str(), colour.variant.as_str());
        let others = self.known.names().filter(|name| *name != own);
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
        let work = FormulaWork::GiveOut(PathBuf::from(typed), self.colours_in_memory());
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
                let listed = self.take_in_colour(*colour);
                self.show_colours_of(&code);
                if !listed {
                    self.known.show_next = Some(code);
                }
                self.say(said);
            }
            FormulaDone::Written(Err(why)) => {
                if let Screen::Formula(formula) = &mut self.screen {
                    formula.is_writing = false;
                }
                self.complain(why);
            }
            FormulaDone::Read(path, Ok((brought, shop))) => {
                self.notice = None;
                let importing = Importing::new(&path, brought, *shop, self.notation());
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

    /// The colours, if they are in no folder where whoever wants all of them reads them.
    fn colours_in_memory(&self) -> Vec<Colour> {
        if self.settings.has_shop_folder { Vec::new() } else { self.known.in_full().to_vec() }
    }

    /// A colour as its file has it now takes the place of what was known of it. Whether it is listed already: a folder
    /// is looked through for that.
    fn take_in_colour(&mut self, colour: Colour) -> bool {
        let name = (colour.code.clone(), colour.variant.clone());
        self.known.take_in(colour);
        self.effects.push(Effect::LookAtShop { at_once: true });
        self.known.place_of(name.0.as_str(), &name.1).is_some()
    }

    /// The colours, those of that code found.
    pub(super) fn show_colours_of(&mut self, code: &str) {
        if matches!(self.screen, Screen::Bench(_) | Screen::Amount(_)) {
            return;
        }
        self.open_colours();
        if let Screen::Colours(colours) = &mut self.screen {
            for letter in code.chars() {
                colours.edit(InputRequest::InsertChar(letter), &mut self.known);
            }
        }
    }

    pub(super) fn act_on_formula(&mut self, action: Action) {
        let shop = Shop { toners: &self.catalogue.toners, known: &self.known };
        let Screen::Formula(formula) = &mut self.screen else { return };
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
        let shop = Shop { toners: &self.catalogue.toners, known: &self.known };
        let Screen::Formula(formula) = &mut self.screen else { return };
        let Some(colour) = formula.check(shop) else {
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
        match action {
            Action::Up => importing.step(false),
            Action::Down => importing.step(true),
            Action::PageUp => importing.scroll = importing.scroll.saturating_sub(5),
            Action::PageDown => importing.scroll = importing.scroll.saturating_add(5),
            Action::Next => importing.turn(true),
            Action::Previous => importing.turn(false),
            Action::RunningTotals => importing.toggle_totals(),
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
