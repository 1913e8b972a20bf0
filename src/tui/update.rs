//! `update(state, message) -> effects`: a plain function without any I/O.

use super::amount::Amount;
use super::app::{App, Asks, Prompt, Screen, Waiting};
use super::bench::{Bench, BenchError, Hands, Happened, Step};
use super::colours::Colours;
use super::keys::{Action, Context, Key};
use super::message::{Effect, Message, Now};
use crate::book::BookEvent;
use crate::catalogue::TonerCode;
use crate::mix::Phase;
use crate::scale::{Hand, LinkEvent, STEPS};
use crate::units::{Grams, clean, parse_decimal_with_comma, parse_mass};
use ratatui::crossterm::event::Event as TerminalEvent;

/// For how long a line of text stays, in milliseconds, unless a key comes first.
const NOTICE_MS: u64 = 6_000;

impl App {
    /// Takes in a message; answers with what is to be done outside.
    pub fn update(&mut self, message: Message, now: Now) -> Vec<Effect> {
        self.now = now;
        match message {
            Message::Terminal(TerminalEvent::Key(key)) => self.on_key(key),
            Message::Terminal(TerminalEvent::Paste(text)) => clean(&text).chars().for_each(|c| self.type_char(c)),
            Message::Terminal(_) => {}
            Message::Scale(event) => self.on_scale(&event),
            Message::Book(event) => self.on_book(&event),
            Message::Tick => self.on_tick(),
            Message::Quit => self.effects.push(Effect::Quit(None)),
            Message::Suspend => self.effects.push(Effect::Suspend),
            Message::WorkerLost(why) => self.effects.push(Effect::Quit(Some(why))),
        }
        std::mem::take(&mut self.effects)
    }

    /// When the state wants to be looked at again though nothing came; none if it can sleep.
    pub fn next_tick(&self) -> Option<u64> {
        if self.settings.rehearsal {
            Some(100)
        } else if self.scale.is_live() || self.notice.is_some() {
            Some(500)
        } else {
            None
        }
    }

    fn on_tick(&mut self) {
        self.scale.look(self.now.moment);
        if self.notice.as_ref().is_some_and(|notice| self.now.moment.since(notice.at) >= NOTICE_MS) {
            self.notice = None;
        }
        if self.settings.rehearsal {
            self.rehearse();
        }
    }

    fn on_scale(&mut self, event: &LinkEvent) {
        self.scale.take_in(event);
        match event {
            LinkEvent::Reading(_) => self.on_reading(),
            LinkEvent::Answer(crate::scale::shape::Answer::Refused(why)) => {
                self.complain(format!("the scale refuses: {why}"));
            }
            _ => {}
        }
    }

    fn on_reading(&mut self) {
        let steady = self.scale.steady_for(self.now.moment);
        match &self.screen {
            Screen::Amount(amount) if amount.awaiting_cup => {
                if let Some((weight, ms)) = steady
                    && ms >= super::bench::DWELL_MS
                    && weight.grams() > self.limits().division.grams()
                {
                    self.begin_mix(weight.grams());
                }
            }
            Screen::Bench(bench) if self.taking_up => {
                let as_booked = steady.is_some_and(|(weight, ms)| {
                    let off = weight.grams() - bench.session().tare() - bench.session().holds();
                    ms >= super::bench::DWELL_MS && off.abs() <= self.limits().division.grams()
                });
                if as_booked && self.look_only.is_none() {
                    self.go_on();
                }
            }
            Screen::Bench(_) if self.look_only.is_none() => {
                let hands_free = self.hands_free;
                self.at_bench(|bench, scale, hands| bench.on_reading(scale, hands_free, hands));
            }
            _ => {}
        }
    }

    fn on_book(&mut self, event: &BookEvent) {
        self.saving.answer(event);
        match event {
            BookEvent::Failed { why, .. } => {
                self.complain(format!("NOT SAVED: {why}. Press s to try again"));
                self.effects.push(Effect::Bell);
            }
            BookEvent::Ended { why } => self.effects.push(Effect::Quit(Some(why.clone()))),
            _ => {}
        }
    }

    /// Does something at the bench, and everything that follows from it.
    fn at_bench(
        &mut self,
        what: impl FnOnce(&mut Bench, &super::scale_watch::ScaleWatch, &mut Hands<'_>) -> Result<Step, BenchError>,
    ) {
        if let Some(why) = &self.look_only {
            self.complain(format!("nothing can be written: {why}"));
            return;
        }
        let Screen::Bench(bench) = &mut self.screen else { return };
        let mut hands = Hands { ids: &mut self.ids, by: &self.settings.by, now: self.now };
        match what(bench, &self.scale, &mut hands) {
            Ok(step) => self.follow(step),
            Err(error) => self.complain(error.to_string()),
        }
    }

    fn follow(&mut self, step: Step) {
        for envelope in step.envelopes {
            self.saving.sent(envelope.clone());
            self.effects.push(Effect::Write(Box::new(envelope)));
        }
        let Some(happened) = step.happened else { return };
        if !matches!(happened, Happened::Changed) {
            self.effects.push(Effect::Bell);
        }
        match happened {
            Happened::Over => self.notice = None,
            Happened::Complete => self.say("everything is in, and right: press Enter to end the mix"),
            Happened::Finished => self.say("the mix is done and in the book: press Enter for the next colour"),
            Happened::Abandoned(again) => {
                self.say("given up; what was in the cup is booked as waste");
                self.leave_bench();
                if again && let Some((colour, role, typed)) = self.last.clone() {
                    self.ask_amount(colour, role, typed);
                }
            }
            Happened::Aside => {
                self.say("put aside: F2 shows the mixes that wait");
                self.leave_bench();
            }
            Happened::Right | Happened::Part | Happened::Drawn | Happened::Changed => {}
        }
    }

    /// Leaves the bench for the colours; a mix that is not ended waits.
    fn leave_bench(&mut self) {
        let colours = Screen::Colours(Colours::all(&self.catalogue));
        let Screen::Bench(bench) = std::mem::replace(&mut self.screen, colours) else { return };
        self.taking_up = false;
        if bench.session().is_unfinished() {
            self.waiting.insert(0, waiting(*bench, &self.settings.by.operator));
        }
    }

    fn context(&self) -> Context {
        if self.help {
            return Context::Help;
        }
        if self.prompt.is_some() {
            return Context::Prompt;
        }
        match &self.screen {
            Screen::Waiting { .. } => Context::Waiting,
            Screen::Colours(_) => Context::Colours,
            Screen::Amount(_) => Context::Amount,
            Screen::Bench(_) if self.taking_up => Context::TakingUp,
            Screen::Bench(bench) => match bench.session().phase() {
                Phase::Over(_) | Phase::Fouled => Context::Options,
                Phase::Drawing => Context::Drawing,
                _ => Context::Bench,
            },
        }
    }

    fn on_key(&mut self, key: ratatui::crossterm::event::KeyEvent) {
        let context = self.context();
        match super::keys::Bindings::default().look_up(context, &key) {
            Key::Action(action) => {
                if !matches!(action, Action::Quit) {
                    self.asked_to_quit = false;
                }
                if self.notice.as_ref().is_some_and(|notice| self.now.moment > notice.at) {
                    self.notice = None;
                }
                self.act(action);
            }
            Key::Letter(letter) => self.type_char(letter),
            Key::Nothing => {}
        }
    }

    fn type_char(&mut self, letter: char) {
        if letter.is_control() {
            return;
        }
        if let Some(prompt) = &mut self.prompt {
            prompt.typed.push(letter);
            prompt.error = None;
            return;
        }
        match &mut self.screen {
            Screen::Colours(colours) => colours.type_char(letter, &self.catalogue),
            Screen::Amount(amount) if !amount.awaiting_cup => {
                amount.typed.push(letter);
                amount.fit_cup(&self.catalogue);
            }
            _ => {}
        }
    }

    /// Does what a key is bound to.
    pub(super) fn act(&mut self, action: Action) {
        match action {
            Action::Quit => self.quit(),
            Action::Suspend => self.effects.push(Effect::Suspend),
            Action::Help => self.help = !self.help,
            Action::SaveAgain => {
                let again = self.saving.again();
                self.effects.extend(again.into_iter().map(|envelope| Effect::Write(Box::new(envelope))));
            }
            Action::HandsFree => {
                self.hands_free = !self.hands_free;
                self.say(if self.hands_free { "hands-free is on" } else { "hands-free is off: take each pour with Enter" });
            }
            Action::TipMore | Action::TipLess | Action::Upright | Action::LiftCup | Action::NextFullTin | Action::DrawSome => {
                self.move_hand(action);
            }
            _ if self.help => self.help = false,
            _ if self.prompt.is_some() => self.act_in_prompt(action),
            _ => match &self.screen {
                Screen::Waiting { .. } => self.act_on_waiting(action),
                Screen::Colours(_) => self.act_on_colours(action),
                Screen::Amount(_) => self.act_on_amount(action),
                Screen::Bench(_) => self.act_at_bench(action),
            },
        }
    }

    fn quit(&mut self) {
        if !self.saving.all_saved() && !self.asked_to_quit {
            self.asked_to_quit = true;
            self.complain("not everything is saved yet: press it once more to leave all the same");
            return;
        }
        self.effects.push(Effect::Quit(None));
    }

    fn move_hand(&mut self, action: Action) {
        if !self.settings.virtual_bench {
            return;
        }
        let hand = match action {
            Action::TipMore => {
                self.tipped = self.tipped.saturating_add(1).min(STEPS);
                Hand::TipMore
            }
            Action::TipLess => {
                self.tipped = self.tipped.saturating_sub(1);
                Hand::TipLess
            }
            Action::Upright => {
                self.tipped = 0;
                Hand::Upright
            }
            Action::NextFullTin => {
                self.tipped = 0;
                Hand::NextTin
            }
            Action::DrawSome => Hand::DrawOff(self.to_draw()),
            _ => {
                self.cup_lifted = !self.cup_lifted;
                if self.cup_lifted { Hand::LiftCup } else { Hand::PutCup }
            }
        };
        self.effects.push(Effect::Hand(hand));
    }

    /// What the virtual hand takes out at one key: what is still to be taken out, or a spoonful.
    fn to_draw(&self) -> Grams {
        let still = self.bench().and_then(|bench| {
            let down_to = bench.session().draw_to()?;
            Some(bench.net(&self.scale)? - down_to)
        });
        let spoon = Grams::new(crate::units::Decimal::TWO);
        still.filter(|left| left.is_positive()).unwrap_or(spoon)
    }

    fn act_on_waiting(&mut self, action: Action) {
        let last = self.waiting.len().saturating_sub(1);
        let Screen::Waiting { selected } = &mut self.screen else { return };
        match action {
            Action::Up => *selected = selected.saturating_sub(1),
            Action::Down => *selected = selected.saturating_add(1).min(last),
            Action::Enter => {
                let index = *selected;
                self.take_up(index);
            }
            Action::Colours | Action::Escape => self.screen = Screen::Colours(Colours::all(&self.catalogue)),
            _ => {}
        }
    }

    /// Brings a mix that waits back to the bench.
    fn take_up(&mut self, index: usize) {
        let Some(entry) = self.waiting.get(index) else { return };
        match &entry.journal {
            Ok(journal) => {
                let bench = Bench::resume(journal.clone(), entry.number);
                self.remember(&bench);
                self.taking_up = true;
                self.screen = Screen::Bench(Box::new(bench));
                if self.look_only.is_none() {
                    self.waiting.remove(index);
                }
                if !self.scale.is_present() {
                    self.go_on();
                }
            }
            Err(why) => {
                let why = why.clone();
                self.complain(why);
            }
        }
    }

    /// What to begin again if this mix has to be.
    fn remember(&mut self, bench: &Bench) {
        let recipe = bench.session().recipe();
        let same = |colour: &crate::catalogue::Colour| colour.code == recipe.colour && colour.variant == recipe.variant;
        if let Some(index) = self.catalogue.colours.iter().position(same) {
            self.last = Some((index, recipe.role, format!("{} mL", bench.session().start().volume)));
        }
    }

    fn go_on(&mut self) {
        self.taking_up = false;
        self.at_bench(|bench, _, hands| bench.go_on(hands));
    }

    fn act_on_colours(&mut self, action: Action) {
        let Screen::Colours(colours) = &mut self.screen else { return };
        match action {
            Action::Up => colours.step(-1),
            Action::Down => colours.step(1),
            Action::PageUp => colours.step(-10),
            Action::PageDown => colours.step(10),
            Action::Right => colours.turn_layer(&self.catalogue, true),
            Action::Left => colours.turn_layer(&self.catalogue, false),
            Action::Backspace => {
                colours.rub_out(&self.catalogue);
            }
            Action::Escape => {
                colours.query.clear();
                colours.search(&self.catalogue);
            }
            Action::Waiting if !self.waiting.is_empty() => self.screen = Screen::Waiting { selected: 0 },
            Action::Waiting => self.say("no mix waits to be taken up"),
            Action::Enter => {
                let picked = colours.colour(&self.catalogue).map(|(index, _)| index).zip(colours.role(&self.catalogue));
                if let Some((index, role)) = picked {
                    let typed = self.last.clone().map_or_else(|| "350 mL".to_owned(), |(_, _, typed)| typed);
                    self.ask_amount(index, role, typed);
                }
            }
            _ => {}
        }
    }

    /// Picks a colour and a layer of it by their places.
    pub(super) fn pick(&mut self, colour: usize, layer: usize) {
        let role = self.catalogue.colours.get(colour).and_then(|colour| colour.layers.get(layer)).map(|l| l.role);
        if let Some(role) = role {
            let typed = self.last.clone().map_or_else(|| "350 mL".to_owned(), |(_, _, typed)| typed);
            self.ask_amount(colour, role, typed);
        }
    }

    fn ask_amount(&mut self, colour: usize, role: crate::catalogue::Role, typed: String) {
        match Amount::new(&self.catalogue, colour, role, typed.clone()) {
            Ok(amount) => {
                self.last = Some((colour, role, typed));
                self.screen = Screen::Amount(Box::new(amount));
            }
            Err(error) => self.complain(error.to_string()),
        }
    }

    fn act_on_amount(&mut self, action: Action) {
        let Screen::Amount(amount) = &mut self.screen else { return };
        match action {
            Action::Escape if amount.awaiting_cup => amount.awaiting_cup = false,
            Action::Escape => self.screen = Screen::Colours(Colours::all(&self.catalogue)),
            _ if amount.awaiting_cup && action != Action::Enter => {}
            Action::Backspace => {
                amount.typed.pop();
            }
            Action::Up => amount.turn_cup(&self.catalogue, false),
            Action::Down => amount.turn_cup(&self.catalogue, true),
            Action::Order => amount.least_risk = !amount.least_risk,
            Action::Enter => self.begin_or_await_cup(),
            _ => {}
        }
    }

    fn begin_or_await_cup(&mut self) {
        if let Some(why) = &self.look_only {
            let text = format!("nothing can be written, so no mix can begin: {why}");
            self.complain(text);
            return;
        }
        let limits = self.limits();
        let Screen::Amount(amount) = &mut self.screen else { return };
        if let Err(error) = amount.outlook(&self.catalogue, limits) {
            self.complain(error.to_string());
            return;
        }
        if !self.scale.is_present() {
            self.begin_mix(Grams::ZERO);
            return;
        }
        if !amount.awaiting_cup {
            amount.awaiting_cup = true;
            return;
        }
        // Asked a second time: take what stands on the scale, however little.
        match self.scale.weight() {
            Some(weight) => self.begin_mix(weight.grams()),
            None => {
                let why = self.scale.doubt().unwrap_or_else(|| "it has not stood still yet".to_owned());
                self.complain(format!("the empty cup cannot be weighed: {why}"));
            }
        }
    }

    fn begin_mix(&mut self, tare: Grams) {
        let limits = self.limits();
        let Screen::Amount(amount) = &self.screen else { return };
        let start = match amount.start(&self.catalogue, limits, tare) {
            Ok(start) => start,
            Err(error) => return self.complain(error.to_string()),
        };
        let typed = amount.typed.clone();
        if let Some(last) = &mut self.last {
            last.2 = typed;
        }
        let number = self.next_number;
        let mut hands = Hands { ids: &mut self.ids, by: &self.settings.by, now: self.now };
        match Bench::begin(start, number, &mut hands) {
            Ok((bench, step)) => {
                self.next_number = self.next_number.saturating_add(1);
                self.notice = None;
                self.screen = Screen::Bench(Box::new(bench));
                self.follow(step);
            }
            Err(error) => self.complain(error.to_string()),
        }
    }

    fn act_at_bench(&mut self, action: Action) {
        if self.taking_up {
            return self.act_while_taking_up(action);
        }
        let Screen::Bench(bench) = &mut self.screen else { return };
        let phase = bench.session().phase();
        match (phase, action) {
            (Phase::Finished | Phase::Abandoned, Action::Enter | Action::Take | Action::Escape | Action::SetAside) => {
                self.leave_bench();
            }
            (Phase::Over(_) | Phase::Fouled, Action::Up) => bench.select(false),
            (Phase::Over(_) | Phase::Fouled, Action::Down) => bench.select(true),
            (Phase::Over(_) | Phase::Fouled, Action::Enter | Action::Take) => {
                self.at_bench(|bench, _, hands| bench.choose(None, hands));
            }
            (Phase::Over(_) | Phase::Fouled, Action::Choose(number)) => {
                let which = usize::from(number).checked_sub(1);
                self.at_bench(|bench, _, hands| bench.choose(which, hands));
            }
            (_, Action::Take | Action::Enter) => {
                if self.scale.is_present() || phase == Phase::Complete {
                    self.at_bench(Bench::take);
                } else {
                    self.ask(Asks::Weight);
                }
            }
            (_, Action::NextTin) => self.ask(Asks::Tin),
            (_, Action::WrongToner) => self.ask(Asks::WrongToner),
            (_, Action::TypeWeight) => self.ask(Asks::Weight),
            (_, Action::JumpToToner) => self.ask(Asks::Toner),
            (_, Action::Abandon) => self.ask(Asks::Reason),
            (_, Action::Order) => self.at_bench(|bench, _, hands| bench.toggle_order(hands)),
            (_, Action::TakenOut) => self.at_bench(Bench::taken_out),
            (_, Action::SetAside | Action::Escape) => self.at_bench(|bench, _, hands| bench.set_aside(hands)),
            _ => {}
        }
    }

    fn act_while_taking_up(&mut self, action: Action) {
        if let (Some(why), Action::Enter | Action::Take | Action::NewZero) = (&self.look_only, action) {
            let text = format!("nothing can be written, so it can only be looked at: {why}");
            return self.complain(text);
        }
        match action {
            Action::Enter | Action::Take => self.go_on(),
            Action::NewZero => match self.scale.weight() {
                Some(weight) => {
                    self.taking_up = false;
                    self.at_bench(|bench, _, hands| bench.take_up(weight.grams(), hands));
                }
                None => {
                    let why = self.scale.doubt().unwrap_or_else(|| "it has not stood still yet".to_owned());
                    self.complain(format!("there is no steady weight: {why}"));
                }
            },
            Action::Escape | Action::SetAside => self.leave_bench(),
            _ => {}
        }
    }

    fn ask(&mut self, asks: Asks) {
        if let Some(why) = &self.look_only {
            let text = format!("nothing can be written: {why}");
            return self.complain(text);
        }
        self.prompt = Some(Prompt { asks, typed: String::new(), error: None });
    }

    fn act_in_prompt(&mut self, action: Action) {
        let Some(prompt) = &mut self.prompt else { return };
        match action {
            Action::Escape => self.prompt = None,
            Action::Backspace => {
                prompt.typed.pop();
            }
            Action::Enter => self.answer_prompt(),
            _ => {}
        }
    }

    /// Does what the prompt was for. What was typed stays there if it cannot be.
    fn answer_prompt(&mut self) {
        let Some(prompt) = self.prompt.take() else { return };
        let typed = clean(&prompt.typed).trim().to_owned();
        self.notice = None;
        let answered = match prompt.asks {
            Asks::Tin => {
                self.at_bench(|bench, scale, hands| bench.next_tin(&typed, scale, hands));
                Ok(())
            }
            Asks::Reason => {
                self.at_bench(|bench, _, hands| bench.abandon(&typed, hands));
                Ok(())
            }
            Asks::Weight => mass(&typed).map(|amount| {
                self.at_bench(|bench, _, hands| bench.take_typed(amount, hands));
            }),
            Asks::WrongToner => self.answer_wrong_toner(&typed),
            Asks::Toner => self.answer_toner(&typed),
        };
        let refused = self.notice.as_ref().filter(|notice| notice.is_error).map(|notice| notice.text.clone());
        if let Some(error) = answered.err().or(refused) {
            self.notice = None;
            self.prompt = Some(Prompt { error: Some(error), ..prompt });
        }
    }

    fn answer_toner(&mut self, typed: &str) -> Result<(), String> {
        let Some(bench) = self.bench() else { return Ok(()) };
        let lines = bench.session().recipe().lines();
        let line = lines.iter().position(|line| line.toner.as_str().eq_ignore_ascii_case(typed));
        let codes = || lines.iter().map(|line| line.toner.as_str()).collect::<Vec<_>>().join(", ");
        let line = line.ok_or_else(|| format!("'{typed}' is not in this formula: it has {}", codes()))?;
        self.at_bench(|bench, scale, hands| bench.turn_to(line, scale, hands));
        Ok(())
    }

    /// A toner's code, and the grams behind it where there is no scale.
    fn answer_wrong_toner(&mut self, typed: &str) -> Result<(), String> {
        let (code, grams) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        let toner = self.catalogue.toner(code).map(|toner| toner.code.clone()).ok_or_else(|| {
            format!("no toner has the code '{code}': it stands on the tin and in toners.toml")
        })?;
        let amount = if grams.trim().is_empty() { None } else { Some(mass(grams)?) };
        if amount.is_none() && !self.scale.is_present() {
            return Err(format!("there is no scale: type the grams too, like '{code} 12.5'"));
        }
        let toner: TonerCode = toner;
        self.at_bench(|bench, scale, hands| bench.wrong_toner(toner, amount, scale, hands));
        Ok(())
    }
}

/// A typed mass; a bare number is grams, since that is what is asked for.
fn mass(typed: &str) -> Result<Grams, String> {
    let bare = typed.trim().chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
    let grams = if bare {
        parse_decimal_with_comma(typed).map(Grams::new).map_err(|error| error.to_string())?
    } else {
        parse_mass(typed).map_err(|error| error.to_string())?
    };
    if grams.is_positive() { Ok(grams) } else { Err("nothing is no weight: type what went in, in grams".to_owned()) }
}

/// A mix at the bench as one that waits.
fn waiting(bench: Bench, operator: &str) -> Waiting {
    let recipe = bench.session().recipe();
    let title = format!("{} · {} · {} mL", recipe.name, recipe.role.name(), bench.session().start().volume);
    let number = bench.number();
    Waiting {
        journal: Ok(bench.into_journal()),
        number,
        title,
        begun: "today".to_owned(),
        operator: operator.to_owned(),
    }
}
