//! Whether a key does something as things are, so that the bottom line names no other.

use super::app::{App, Screen};
use super::keys::{Action, Context};
use super::prompt::Asks;
use tui_input::Input;

/// From so many messages on they may not all be on the screen.
const FILLS_A_SCREEN: usize = 8;

impl App {
    /// Whether that action does something here and now, as far as editing, moving about and looking elsewhere goes.
    pub(super) fn is_of_use(&self, action: Action, context: Context) -> bool {
        match action {
            Action::EraseBack
            | Action::EraseForward
            | Action::EraseAll
            | Action::CursorLeft
            | Action::CursorRight
            | Action::CursorStart
            | Action::CursorEnd => self.can_be_edited(action, context),
            Action::Up | Action::Down | Action::PageUp | Action::PageDown => match context {
                Context::Shelf if self.has_opened_toner() => self.rows() >= Some(FILLS_A_SCREEN),
                Context::Messages => self.messages.all().len() >= FILLS_A_SCREEN,
                Context::Prompt => {
                    let which = self.prompt.as_ref().is_some_and(|prompt| prompt.asks == Asks::WhichPour);
                    which && self.pours_to_choose().len() > 1
                }
                _ => self.rows().is_none_or(|rows| rows > 1),
            },
            Action::Accept | Action::Sort if context == Context::Shelf => {
                !self.has_opened_toner() && self.rows() != Some(0)
            }
            Action::Previous | Action::Next | Action::Accept if context == Context::Colours => {
                self.rows() != Some(0)
            }
            Action::Back if context == Context::Colours => self.has_typed(),
            Action::Cups => !self.cups.is_empty(),
            Action::WithLeftover => {
                matches!(&self.screen, Screen::Amount(amount) if !amount.leftovers.is_empty() && !amount.awaiting_cup)
            }
            Action::RemoveRow => matches!(&self.screen, Screen::Formula(formula) if formula.row().is_some()),
            Action::Order if context == Context::Amount => self.rows() != Some(0),
            Action::Messages => !matches!(context, Context::Help | Context::Messages),
            Action::OpenScale => {
                self.prompt.is_none()
                    && !matches!(context, Context::Help | Context::Messages | Context::Prompt)
            }
            _ => true,
        }
    }

    /// What is being typed into, if anything is.
    fn field(&self, context: Context) -> Option<&Input> {
        match (context, &self.screen) {
            (Context::Prompt, _) => self.prompt.as_ref().map(|prompt| &prompt.input),
            (Context::Colours, Screen::Colours(colours)) => Some(&colours.query),
            (Context::Shelf, Screen::Shelf(page)) if page.opened.is_none() => Some(&page.query),
            (Context::Amount, Screen::Amount(amount)) if !amount.awaiting_cup => Some(&amount.typed),
            (Context::Formula, Screen::Formula(formula)) => Some(&formula.input),
            _ => None,
        }
    }

    fn can_be_edited(&self, action: Action, context: Context) -> bool {
        let turns = match &self.screen {
            // What is one of a few words is turned through with the same keys.
            Screen::Formula(formula) => context == Context::Formula && !formula.words().is_empty(),
            _ => false,
        };
        let moves = matches!(action, Action::CursorLeft | Action::CursorRight);
        (moves && turns) || self.field(context).is_some_and(|field| !field.value().is_empty())
    }

    fn has_opened_toner(&self) -> bool {
        matches!(&self.screen, Screen::Shelf(page) if page.opened.is_some())
    }

    fn has_typed(&self) -> bool {
        matches!(&self.screen, Screen::Colours(colours) if !colours.query.value().is_empty())
    }

    /// How many rows there are to go through on the screen, where that can be none or one; nothing to choose where the cup
    /// is awaited.
    fn rows(&self) -> Option<usize> {
        match &self.screen {
            _ if self.prompt.is_some() || self.scale_page.is_some() => None,
            Screen::Colours(colours) => Some(colours.found.len()),
            Screen::Amount(amount) if amount.awaiting_cup => Some(0),
            Screen::Unfinished { .. } => Some(self.waiting.len()),
            Screen::Cups { .. } => Some(self.cups.len()),
            Screen::Shelf(page) => Some(self.shelf_rows(page)),
            _ => None,
        }
    }
}
