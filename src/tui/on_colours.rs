//! Picking a colour and asking how much of it.

use super::amount::Amount;
use super::app::{App, Screen};
use super::bench::{Bench, Tools};
use super::keys::Action;
use super::last::Last;
use super::message::Effect;
use crate::scale::Hand;
use crate::units::Grams;
use tui_input::InputRequest;

impl App {
    pub(super) fn act_on_colours(&mut self, action: Action) {
        let Screen::Colours(colours) = &mut self.screen else { return };
        match action {
            Action::Up => colours.step(-1),
            Action::Down => colours.step(1),
            Action::PageUp => colours.step(-10),
            Action::PageDown => colours.step(10),
            Action::Next => colours.turn_layer(&self.catalogue, true),
            Action::Previous => colours.turn_layer(&self.catalogue, false),
            Action::EraseBack => {
                colours.edit(InputRequest::DeletePrevChar, &self.catalogue, &mut self.finder);
            }
            Action::EraseAll | Action::Back => {
                colours.edit(InputRequest::DeleteLine, &self.catalogue, &mut self.finder);
            }
            Action::ShowRetired => {
                let show = !self.finder.shows_retired();
                self.finder.show_retired(show);
                colours.search(&self.catalogue, &mut self.finder);
                self.say(if show { "retired colours are shown too" } else { "retired colours are left out" });
            }
            Action::OpenFormulas => self.open_formulas(),
            Action::Unfinished if self.waiting.is_empty() => self.say("no mix waits to be taken up"),
            Action::Unfinished => self.screen = Screen::Unfinished { selected: 0 },
            Action::Accept => {
                let index = colours.colour(&self.catalogue).map(|(index, _)| index);
                if let Some((colour, role)) = index.zip(colours.role(&self.catalogue)) {
                    self.pick(colour, role);
                }
            }
            _ => {}
        }
    }

    /// Asks how much of that layer of that colour.
    pub(super) fn pick(&mut self, colour: usize, role: crate::catalogue::Role) {
        let retired = self.catalogue.colours.get(colour).and_then(|colour| colour.retired.clone());
        let usual = || self.notation().usual_volume();
        let typed = self.last.as_ref().map_or_else(usual, |last| last.typed.clone());
        self.ask_amount(Last { colour, role, typed });
        if let Some(retired) = retired {
            let because = retired.because.map_or_else(String::new, |because| format!(" ({because})"));
            self.complain(format!(
                "this colour is retired since {}{because}: is there a newer one?",
                retired.on
            ));
        }
    }

    pub(super) fn ask_amount(&mut self, what: Last) {
        match Amount::new(&self.catalogue, what.colour, what.role, &what.typed, self.notation()) {
            Ok(amount) => {
                self.last = Some(what);
                self.screen = Screen::Amount(Box::new(amount));
            }
            Err(error) => self.complain(error.to_string()),
        }
    }

    pub(super) fn act_on_amount(&mut self, action: Action) {
        let Screen::Amount(amount) = &mut self.screen else { return };
        let catalogue = &self.catalogue;
        match action {
            Action::Back if amount.awaiting_cup => amount.awaiting_cup = false,
            Action::Back => self.open_colours(),
            Action::Accept => self.begin_or_await_cup(),
            _ if amount.awaiting_cup => {}
            Action::EraseBack => amount.edit(InputRequest::DeletePrevChar, catalogue),
            Action::EraseForward => amount.edit(InputRequest::DeleteNextChar, catalogue),
            Action::EraseAll => amount.edit(InputRequest::DeleteLine, catalogue),
            Action::CursorLeft => amount.edit(InputRequest::GoToPrevChar, catalogue),
            Action::CursorRight => amount.edit(InputRequest::GoToNextChar, catalogue),
            Action::CursorStart => amount.edit(InputRequest::GoToStart, catalogue),
            Action::CursorEnd => amount.edit(InputRequest::GoToEnd, catalogue),
            Action::Up => amount.turn_cup(catalogue, false),
            Action::Down => amount.turn_cup(catalogue, true),
            Action::Order => amount.least_risk = !amount.least_risk,
            _ => {}
        }
    }

    fn begin_or_await_cup(&mut self) {
        if self.refuse_to_write() {
            return;
        }
        if let Some(why) = self.scale_refused() {
            return self.complain(why);
        }
        let (limits, accuracy) = (self.limits(), self.accuracy());
        let Screen::Amount(amount) = &mut self.screen else { return };
        if let Err(error) = amount.outlook(limits, accuracy) {
            self.complain(self.notation().told(&error));
        } else if !self.scale.is_present() {
            self.begin_mix(Grams::ZERO);
        } else if !amount.awaiting_cup {
            amount.awaiting_cup = true;
            if self.settings.is_virtual_bench() {
                self.hand.tipped = 0;
                self.hand.cup_lifted = false;
                self.effects.push(Effect::Hand(Hand::FreshCup));
            }
            self.cup_may_be_on();
        } else if let Some(weight) = self.scale.weight() {
            // Asked a second time: what stands on the scale is the cup, however little it weighs.
            self.begin_mix(weight.grams());
        } else {
            self.no_weight();
        }
    }

    /// Begins by itself once the empty cup stands on the scale.
    pub(super) fn cup_may_be_on(&mut self) {
        let Screen::Amount(amount) = &self.screen else { return };
        if !amount.awaiting_cup {
            return;
        }
        let Some((weight, ms)) = self.scale.steady_for() else { return };
        let expected = amount.cup_tare(&self.catalogue);
        if ms >= self.scale.taking().dwell_ms && is_cup(weight.grams(), expected, weight.division().grams()) {
            self.begin_mix(weight.grams());
        }
    }

    fn begin_mix(&mut self, tare: Grams) {
        let (limits, accuracy) = (self.limits(), self.accuracy());
        let Screen::Amount(amount) = &self.screen else { return };
        let source = amount.source(&self.catalogue).cloned();
        let start = match amount.start(&self.catalogue, limits, accuracy, tare) {
            Ok(start) => start,
            Err(error) => return self.complain(self.notation().told(&error)),
        };
        if let Some(last) = &mut self.last {
            amount.typed.value().clone_into(&mut last.typed);
        }
        let mut tools =
            Tools { ids: &mut self.ids, by: &self.settings.by, now: self.now, written: Vec::new() };
        let begun = Bench::begin(start, self.next_number, &self.scale, &mut tools);
        let written = tools.written;
        self.write(written);
        match begun {
            Ok((bench, step)) => {
                self.next_number = self.next_number.saturating_add(1);
                if let Some(last) = &self.last {
                    self.finder.mixed(last.colour);
                }
                self.notice = None;
                self.screen = Screen::Bench(Box::new(bench));
                self.effects.extend(source.map(Effect::KeepVersion));
                self.follow(step);
            }
            Err(error) => self.complain(error.to_string()),
        }
    }
}

/// Whether what stands on the scale can be taken for the empty cup without asking: about what the cup weighs
/// where that is on file (a lid or a strainer may add to it), else anything that is clearly there.
fn is_cup(weight: Grams, expected: Option<Grams>, division: Grams) -> bool {
    match expected {
        Some(tare) => {
            let half = tare.times(crate::units::Decimal::new(5, 1));
            weight >= half && weight <= tare + tare.max(half)
        }
        None => weight > division.times(crate::units::Decimal::TEN),
    }
}
