//! What a key can do as things are, so that the bottom line names no other.

use super::app::{App, Screen};
use super::keys::{Action, Context};
use super::make_ready::MakeReady;
use super::on_scan::WhyWrong;
use super::prompt::Asks;
use crate::mix::Judgement;
use tui_input::Input;

/// From so many messages on they may not all be on the screen.
const FILLS_A_SCREEN: usize = 8;

/// The first thing on the bottom line: what a foot switch does.
pub(super) fn first_action(app: &App) -> Option<Action> {
    let context = app.context();
    if matches!(context, Context::Help | Context::Confirm) {
        // The first thing there is yes; a foot is not to say that.
        return Some(if context == Context::Help { Action::Back } else { Action::Refuse });
    }
    available(app, context).into_iter().next()
}

/// The actions that do something now, the most needed first.
pub(super) fn available(app: &App, context: Context) -> Vec<Action> {
    let hand = [
        Action::TipMore,
        Action::TipLess,
        Action::Upright,
        Action::SpoonOut,
        Action::LiftCup,
        Action::FullTin,
    ];
    let of_a_scale = [
        Action::CheckScale,
        Action::TenWeighings,
        Action::SetZero,
        Action::Tare,
        Action::ClearTare,
        Action::NextUnit,
    ];
    let ways = match &app.screen {
        Screen::Bench(bench) => {
            bench.question().map_or(bench.ways().len(), |question| question.answers.len())
        }
        _ => 0,
    };
    let gone = app.bench().is_some_and(|bench| {
        let net = bench.net(&app.scale);
        let gone = |net| matches!(bench.session().judge(net), Some(Judgement::Gone(_)));
        net.is_some_and(gone) && !bench.is_cup_away()
    });
    let has_pours = app.bench().is_some_and(|bench| !bench.session().pours().is_empty());
    let mut actions = app.bindings.actions(context);
    // At the virtual bench the hand's own keys are what a beginner looks for: right behind the first.
    actions.sort_by_key(|action| match action {
        Action::Take | Action::Accept | Action::Finish => 0,
        other if context == Context::CupBack && other.choice().is_some() => 0,
        // A warning that stays is to be got rid of without looking for the key.
        Action::Seen => 1,
        other if hand.contains(other) => 1,
        _ => 2,
    });
    actions
        .into_iter()
        .filter(|action| app.settings.is_virtual_bench() || !hand.contains(action))
        .filter(|action| action.choice().is_none_or(|which| which < ways))
        .filter(|action| *action != Action::SaveAgain || app.saving.failure().is_some())
        .filter(|action| *action != Action::TakenOut || gone)
        .filter(|action| *action != Action::PutRight || has_pours)
        .filter(|action| {
            let other = app.wrong_tin.as_ref().is_some_and(|wrong| matches!(wrong.why, WhyWrong::Other(_)));
            context != Context::WrongTin
                || (*action != Action::JumpToToner || other)
                    && (*action != Action::WrongToner || app.has_begun_to_pour())
        })
        .filter(|action| {
            *action != Action::Accept || context != Context::Scale || app.has_scale_task() || app.has_found()
        })
        .filter(|action| {
            !app.is_searching()
                || matches!(
                    action,
                    Action::Accept | Action::Back | Action::Help | Action::Quit | Action::Suspend
                )
        })
        .filter(|action| app.scale.is_present() || !of_a_scale.contains(action))
        .filter(|action| *action != Action::OpenScale || context != Context::Scale)
        .filter(|action| {
            !matches!(action, Action::Up | Action::Down) || context != Context::Scale || app.has_scale_task()
        })
        .filter(|action| *action != Action::Take || context != Context::CupOff)
        .filter(|action| *action != Action::Unfinished || !app.waiting.is_empty())
        .filter(|action| app.is_of_use(*action, context))
        .collect()
}

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
                Context::Tins if matches!(action, Action::Up | Action::Down) => self.opened_tins().len() > 1,
                Context::Tins => self.rows() >= Some(FILLS_A_SCREEN),
                Context::Messages => self.messages.all().len() >= FILLS_A_SCREEN,
                Context::Prompt => {
                    let asks = self.prompt.as_ref().map(|prompt| prompt.asks);
                    asks == Some(Asks::WhichPour) && self.pours_to_choose().len() > 1
                        || matches!(asks, Some(Asks::Receive(_)))
                        || asks.is_some_and(|asks| self.has_lines(asks))
                }
                _ => self.rows().is_none_or(|rows| rows > 1),
            },
            Action::Accept
            | Action::Sort
            | Action::Previous
            | Action::Next
            | Action::Period
            | Action::WentOver
            | Action::ReadAgain
                if context == Context::Waste =>
            {
                self.is_of_use_on_waste(action)
            }
            Action::Accept | Action::Sort | Action::ThrowLeftover | Action::ThrowExpired
                if context == Context::Leftovers =>
            {
                self.is_of_use_on_leftovers(action)
            }
            Action::Accept | Action::Sort if context == Context::Shelf => self.rows() != Some(0),
            Action::Accept if context == Context::Jobs => self.rows() != Some(0),
            Action::Accept if context == Context::Delivery => {
                matches!(&self.screen, Screen::Delivery(page) if page.delivery.wrong.is_empty())
            }
            Action::TakeProposed => self.proposed_tin().is_some(),
            Action::Seen => self.unseen_pot_lives().is_some(),
            _ if context == Context::Job => {
                self.is_of_use_on_job(action) && self.is_of_use(action, Context::Everywhere)
            }
            Action::OfTin => !self.opened_tins().is_empty(),
            Action::TinOpened => self.marked_tin().is_some_and(|tin| tin.opened.is_none()),
            Action::TinStirred | Action::TinEmptied | Action::DiscardTin => self.marked_tin().is_some(),
            Action::RecallLot => self.can_be_recalled(),
            Action::StirRack => self.to_stir().0 > 0,
            Action::Leftovers => !self.leftovers.is_empty(),
            Action::Accept | Action::TypeWeight | Action::TypeEmpty if context == Context::Stocktake => {
                self.rows() != Some(0)
            }
            Action::Previous | Action::Next | Action::Accept if context == Context::Colours => {
                self.rows() != Some(0)
            }
            Action::Back if context == Context::Colours => self.has_typed(),
            Action::Cups => !self.cups.is_empty(),
            Action::Ready => {
                !matches!(&self.screen, Screen::Emptying(cup) if cup.bench.session().recipe().readied.is_some())
            }
            Action::Accept if context == Context::Emptying => !self.has_set(),
            Action::WithLeftover => {
                matches!(&self.screen, Screen::Amount(amount) if !amount.leftovers.is_empty() && !amount.awaiting_cup)
            }
            Action::MakeReady | Action::Thinner | Action::OfferedAmount => self.is_of_use_for_amount(action),
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

    fn is_of_use_for_amount(&self, action: Action) -> bool {
        let Screen::Amount(amount) = &self.screen else { return false };
        let ready = amount.ready.as_ref();
        !amount.awaiting_cup
            && match action {
                Action::MakeReady => ready.is_some(),
                Action::Thinner => ready.is_some_and(MakeReady::has_thinners),
                _ => {
                    let volume = amount.volume().ok();
                    let offers = amount.offers(self.limits(), self.accuracy());
                    offers.into_iter().any(|offer| Some(offer) != volume)
                }
            }
    }

    /// What is being typed into, if anything is.
    fn field(&self, context: Context) -> Option<&Input> {
        match (context, &self.screen) {
            (Context::Prompt, _) => self.prompt.as_ref().map(|prompt| &prompt.input),
            (Context::Colours, Screen::Colours(colours)) => Some(&colours.query),
            (Context::Shelf, Screen::Shelf(page)) if page.opened.is_none() => Some(&page.query),
            (Context::Waste, Screen::Waste(page)) => page.field(),
            (Context::Leftovers, Screen::Leftovers(page)) if page.opened.is_none() => Some(&page.query),
            (Context::Jobs, Screen::Jobs(page)) => Some(&page.query),
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
            Screen::Waste(page) => Some(page.count()),
            Screen::Stocktake(stocktake) => Some(stocktake.rows.len()),
            Screen::Delivery(page) => Some(page.lines()),
            Screen::Leftovers(page) => Some(self.count_on_leftovers(page)),
            Screen::Jobs(page) => Some(self.job_rows(page).len()),
            _ => None,
        }
    }
}
