//! `update(state, message) -> effects`: a plain function without any I/O. What a key does on each screen is in
//! the files `on_*.rs`.

use super::app::{App, Screen};
use super::bench::{Bench, BenchError, Happened, Step, Tools};
use super::colours::Colours;
use super::keys::{Action, Bindings, Context, Key};
use super::message::{Effect, Message, Now};
use super::prompt::Asks;
use super::scale_watch::ScaleWatch;
use super::sound::Sound;
use crate::book::{BookEvent, Envelope};
use crate::mix::Phase;
use crate::scale::{LinkEvent, LinkState};
use crate::units::clean;
use ratatui::crossterm::event::{Event as TerminalEvent, KeyEvent, KeyEventKind};

/// For how long a line of text stays, in milliseconds, unless a key comes first.
const NOTICE_MS: u64 = 8_000;

impl App {
    /// Takes in a message; answers with what is to be done outside.
    pub fn update(&mut self, message: Message, now: Now) -> Vec<Effect> {
        self.now = now;
        // A key may come in before the tick that would have told that a reading has grown old.
        self.scale.look(now.moment);
        self.catch_up_with_jobs();
        match message {
            Message::Terminal(event) if self.awaited.is_some() && !self.gives_up_waiting(&event) => {
                self.held.push((now, event));
            }
            Message::Terminal(event) => self.on_terminal(event),
            // The loop has taken the number off where it is the link's that is open now.
            Message::TerminalAt(..) | Message::Resized | Message::ScaleOf(..) | Message::FirstRun(_) => {}
            Message::Scale(event) => self.on_scale(&event),
            Message::Searching(said) => self.on_searching(said),
            Message::Book(event) => self.on_book(&event),
            Message::Tick => self.on_tick(),
            Message::Quit => self.effects.push(Effect::Quit(None)),
            Message::Suspend => self.effects.push(Effect::Suspend),
            Message::Clicked(actions) => {
                self.notice = None;
                for action in actions {
                    self.act(action);
                }
            }
            Message::Formula(done) => self.on_formula_done(done),
            Message::ShopSeen(seen) => self.on_shop_seen(*seen),
            Message::ShopLooked => self.known.reading = None,
            Message::ShopReading { read, of } => self.known.reading = Some((read, of)),
            Message::ColourRead { file, read, then } => {
                self.on_colour_read(&file, read.map(|read| *read), then);
            }
            Message::ShelfRead(read) => self.on_shelf_read(read.map(|read| *read)),
            Message::MovesRead { toner, read } => self.on_moves_read(&toner, read),
            Message::DeliveryRead { typed, read } => self.on_delivery_read(typed, read.map(|read| *read)),
            Message::WasteRead { span, period, read } => {
                self.on_waste_read(span, period, read.map(|read| *read));
            }
            Message::MixesRead { wanted, read } => self.on_mixes_read(&wanted, read),
            Message::EventsRead { number, read } => self.on_events_read(number, read),
            Message::ClosedJobsRead(read) => self.on_closed_jobs_read(read),
            Message::LabelPrinted(printed) => self.on_label_printed(printed),
            Message::SheetWritten(written) => self.on_sheet_written(written),
            Message::MixFound(found) => self.on_mix_found(found),
            Message::VersionNotKept(why) => self.complain(why),
            Message::WorkerLost(why) => self.effects.push(Effect::Quit(Some(why))),
        }
        self.want_card();
        self.heed_pot_life();
        self.heed_times();
        self.reckon_wanted();
        std::mem::take(&mut self.effects)
    }

    pub(super) fn on_terminal(&mut self, event: TerminalEvent) {
        match event {
            TerminalEvent::Key(key) if self.hear_scanner(&key) => {}
            TerminalEvent::Key(key) => self.on_plain_key(&key),
            TerminalEvent::Paste(text) => {
                clean(&text).chars().for_each(|letter| self.type_letter(letter));
            }
            _ => {}
        }
    }

    /// After how many milliseconds the state wants to be looked at though nothing came; none if it can sleep.
    pub fn next_tick(&self) -> Option<u64> {
        if self.burst.held().is_some() {
            // Until it is clear whether a scanner sends it.
            Some(20)
        } else if self.settings.rehearsal {
            Some(100)
        } else if self.scale.is_live() || self.notice.is_some() {
            Some(500)
        } else if self.shows_pot_life() || self.is_ticking() {
            Some(1_000)
        } else {
            None
        }
    }

    fn on_tick(&mut self) {
        self.release_held();
        if self.notice.as_ref().is_some_and(|notice| self.now.moment.since(notice.at) >= NOTICE_MS) {
            self.notice = None;
        }
        if self.settings.rehearsal {
            self.rehearse();
        }
    }

    fn on_scale(&mut self, event: &LinkEvent) {
        let was_live = self.scale.is_live();
        self.scale.take_in(event);
        self.scale.look(self.now.moment);
        self.scale_log.take_in(event, self.scale.live(), self.now.moment);
        self.on_scale_answer(event);
        self.look_for_tin();
        if let Screen::Bench(bench) = &mut self.screen
            && !self.scale.is_live()
        {
            bench.out_of_sight();
            bench.lose_sight_of_pour();
        }
        self.hear_scale(was_live);
        match event {
            LinkEvent::State { state: LinkState::Lost | LinkState::Stale, why } => {
                self.messages.keep(&clean(why), true, self.now.stamp);
            }
            LinkEvent::Reading(_) => self.on_reading(),
            LinkEvent::Ended { why, fault: true } => self.effects.push(Effect::Quit(Some(why.clone()))),
            LinkEvent::Ended { why, .. } => self.complain(format!("the scale is gone for good: {why}")),
            _ => {}
        }
    }

    fn on_reading(&mut self) {
        // While somebody looks at the scale nothing is taken behind it.
        if self.scale_page.is_some() {
            return self.look_for_scale_task();
        }
        match &self.screen {
            Screen::Amount(_) => self.cup_may_be_on(),
            Screen::Bench(_) if self.look_only.is_some() => {}
            Screen::Bench(_) if self.taking_up => self.cup_may_be_back(),
            Screen::Bench(_) => {
                let covered =
                    self.prompt.is_some() || self.messages_page.is_some() || self.wrong_tin.is_some();
                let hands_free = self.hands_free && !covered;
                self.at_bench(|bench, scale, tools| bench.on_reading(scale, hands_free, tools));
                self.heed_pour();
            }
            _ => {}
        }
    }

    fn on_book(&mut self, event: &BookEvent) {
        self.saving.answer(event);
        match event {
            BookEvent::Failed { why, .. } => {
                self.messages.keep(&format!("not saved: {why}"), true, self.now.stamp);
                self.effects.push(Effect::Sound(Sound::Lost));
            }
            BookEvent::Ended { why } => self.effects.push(Effect::Quit(Some(why.clone()))),
            BookEvent::Saved { id } => {
                self.stock_is_saved(*id);
                self.job_is_saved(*id);
            }
        }
    }

    /// Does something at the bench, and everything that follows from it.
    pub(super) fn at_bench(
        &mut self,
        what: impl FnOnce(&mut Bench, &ScaleWatch, &mut Tools<'_>) -> Result<Step, BenchError>,
    ) {
        if self.refuse_to_write() {
            return;
        }
        let Screen::Bench(bench) = &mut self.screen else { return };
        let mut tools =
            Tools { ids: &mut self.ids, by: &self.settings.by, now: self.now, written: Vec::new() };
        let outcome = what(bench, &self.scale, &mut tools);
        let written = tools.written;
        self.write(written);
        self.tell_job(None);
        match outcome {
            Ok(step) => self.follow(step),
            Err(error) => self.complain(error.sentence(self.notation())),
        }
    }

    /// Says so if nothing can be written.
    pub(super) fn refuse_to_write(&mut self) -> bool {
        let why = self.look_only.clone();
        if let Some(why) = &why {
            self.complain(format!("nothing can be written: {why}"));
        }
        why.is_some()
    }

    /// Onto the disk with it, one after another.
    pub(super) fn write(&mut self, envelopes: Vec<Envelope>) {
        for envelope in envelopes {
            self.write_together(vec![envelope]);
        }
    }

    /// Onto the disk with all of it, or with nothing.
    pub(super) fn write_together(&mut self, envelopes: Vec<Envelope>) {
        if envelopes.is_empty() {
            return;
        }
        for envelope in &envelopes {
            self.use_leftover(envelope);
            self.move_in_tins(envelope);
        }
        self.saving.sent(envelopes.clone());
        self.effects.push(Effect::Write(envelopes));
    }

    /// What follows from a step: into the ear, and onto the next screen.
    pub(super) fn follow(&mut self, step: Step) {
        let Some(happened) = step.happened else { return };
        let sound = match happened {
            Happened::Changed => None,
            Happened::Over | Happened::CupAsks => Some(Sound::Over),
            _ => Some(Sound::Right),
        };
        self.effects.extend(sound.map(Effect::Sound));
        match happened {
            Happened::Over | Happened::CupAsks => self.notice = None,
            Happened::Finished => self.say(match self.at_the_bench_for() {
                Some(_) => "the mix is done and in the book: Enter, and on with the job",
                None => "the mix is done and in the book: Enter for the next colour",
            }),
            Happened::Abandoned { again } => {
                self.say("given up; what was in the cup is booked as waste");
                self.leave_bench();
                if again {
                    self.mix_again();
                }
            }
            Happened::Aside => {
                self.leave_bench();
                self.say("put aside; it waits among the unfinished mixes");
            }
            Happened::CupBack { same } => {
                self.say(if same {
                    "the cup is back with the same weight: go on"
                } else {
                    "the cup is back"
                });
            }
            Happened::Right | Happened::Part | Happened::Drawn | Happened::Complete | Happened::Changed => {}
        }
    }

    /// What a key means now depends on what the person is doing.
    pub fn context(&self) -> Context {
        if self.help.is_some() { Context::Help } else { self.context_below_help() }
    }

    /// The same, as if the help were not open: what it is to explain.
    pub fn context_below_help(&self) -> Context {
        if self.messages_page.is_some() {
            return Context::Messages;
        }
        match self.prompt.as_ref().map(|prompt| prompt.asks) {
            Some(Asks::Sure(_)) => return Context::Confirm,
            Some(Asks::Formulas) => return Context::Formulas,
            Some(_) => return Context::Prompt,
            None => {}
        }
        if self.scale_page.is_some() {
            return Context::Scale;
        }
        match &self.screen {
            Screen::Unfinished { .. } => Context::Unfinished,
            Screen::Cups { .. } => Context::Cups,
            Screen::Shelf(page) if page.opened.is_some() => Context::Tins,
            Screen::Shelf(_) => Context::Shelf,
            Screen::Waste(_) => Context::Waste,
            Screen::Stocktake(_) => Context::Stocktake,
            Screen::Delivery(_) => Context::Delivery,
            Screen::Leftovers(_) => Context::Leftovers,
            Screen::Jobs(_) => Context::Jobs,
            Screen::Job(_) => Context::Job,
            Screen::Emptying(_) => Context::Emptying,
            Screen::Colours(_) => Context::Colours,
            Screen::Amount(_) => Context::Amount,
            Screen::Formula(_) => Context::Formula,
            Screen::Import(_) => Context::Import,
            Screen::Bench(_) if self.look_only.is_some() => Context::Look,
            Screen::Bench(_) if self.taking_up => Context::TakingUp,
            Screen::Bench(_) if self.wrong_tin.is_some() => Context::WrongTin,
            Screen::Bench(bench) if bench.question().is_some() => Context::CupBack,
            Screen::Bench(bench) if bench.waits_for_cup() => Context::CupOff,
            Screen::Bench(bench) => match bench.session().phase() {
                Phase::Weighing if bench.pour_in().is_some() => Context::PourIn,
                Phase::Weighing => Context::Bench,
                Phase::Over(_) | Phase::Fouled => Context::Ways,
                Phase::Drawing => Context::Drawing,
                Phase::Complete | Phase::Aside | Phase::Abandoned | Phase::Finished => Context::Complete,
            },
        }
    }

    pub(super) fn on_plain_key(&mut self, key: &KeyEvent) {
        let context = self.context();
        let is_switch = self.settings.preferences.foot_switch.is_some_and(|switch| switch == Key::of(key));
        if is_switch && key.kind == KeyEventKind::Press && !(context.is_typing() && Key::of(key).is_text()) {
            if let Some(action) = super::of_use::first_action(self) {
                self.act(action);
            }
            return;
        }
        if let Some(letter) = Bindings::typed(context, key) {
            return self.type_letter(letter);
        }
        if let Some(action) = self.bindings.find(context, key) {
            if self.notice.as_ref().is_some_and(|notice| self.now.moment > notice.at) {
                self.notice = None;
            }
            self.act(action);
        }
    }

    /// A letter where text is typed.
    fn type_letter(&mut self, letter: char) {
        if letter.is_control() {
            return;
        }
        if self.messages_page.is_some() {
            return;
        }
        if let Some(prompt) = &mut self.prompt {
            prompt.insert(letter);
            self.find_job_colours();
            return;
        }
        if self.scale_page.is_some() {
            return;
        }
        match &mut self.screen {
            Screen::Colours(colours) => {
                colours.edit(tui_input::InputRequest::InsertChar(letter), &mut self.known);
            }
            Screen::Amount(amount) => {
                amount.edit(tui_input::InputRequest::InsertChar(letter), &self.catalogue);
            }
            Screen::Shelf(page) => page.edit(tui_input::InputRequest::InsertChar(letter)),
            Screen::Waste(page) => {
                page.edit(tui_input::InputRequest::InsertChar(letter));
                self.read_on();
            }
            Screen::Leftovers(page) => page.edit(tui_input::InputRequest::InsertChar(letter)),
            Screen::Jobs(page) => page.edit(tui_input::InputRequest::InsertChar(letter)),
            Screen::Formula(formula) if !formula.is_writing => {
                let shop = super::formula::Shop { toners: &self.catalogue.toners, known: &self.known };
                formula.edit(tui_input::InputRequest::InsertChar(letter), shop);
            }
            _ => {}
        }
    }

    /// Does what a key is bound to.
    pub(super) fn act(&mut self, action: Action) {
        match action {
            Action::Quit => return self.quit(),
            Action::Suspend => return self.effects.push(Effect::Suspend),
            Action::Help => {
                self.help = Some(0);
                return;
            }
            Action::Mouse => {
                let heeded = !self.settings.preferences.mouse;
                self.settings.preferences.mouse = heeded;
                self.effects.push(Effect::Mouse(heeded));
                let on =
                    "the mouse is heeded: to copy text hold Shift while marking it, or turn it off again";
                let off = "the mouse is left to the terminal: text is marked and copied as usual";
                return self.say(if heeded { on } else { off });
            }
            Action::Seen if self.unseen_pot_lives().is_some() => return self.see_pot_lives(),
            Action::Messages if self.help.is_none() => {
                self.messages_page = Some(0);
                return;
            }
            Action::OpenScale if self.help.is_none() && self.prompt.is_none() => {
                return self.open_scale_page();
            }
            Action::SaveAgain => {
                let again = self.saving.again();
                self.effects.extend(again.into_iter().map(Effect::Write));
                return;
            }
            Action::PrintLabel
                if self.help.is_none() && self.messages_page.is_none() && self.prompt.is_none() =>
            {
                return self.print_label();
            }
            _ => self.asked_to_quit = false,
        }
        if let Some(line) = &mut self.help {
            match action {
                Action::Back => self.help = None,
                Action::Up => *line = line.saturating_sub(1),
                Action::Down => *line = line.saturating_add(1),
                Action::PageUp => *line = line.saturating_sub(10),
                Action::PageDown => *line = line.saturating_add(10),
                _ => {}
            }
        } else if let Some(line) = &mut self.messages_page {
            match action {
                Action::Back => self.messages_page = None,
                Action::Up => *line = line.saturating_sub(1),
                Action::Down => *line = line.saturating_add(1),
                Action::PageUp => *line = line.saturating_sub(10),
                Action::PageDown => *line = line.saturating_add(10),
                _ => {}
            }
        } else if self.prompt.is_some() {
            self.act_in_prompt(action);
        } else if self.scale_page.is_some() {
            self.act_on_scale_page(action);
        } else if self.context() == Context::WrongTin && !matches!(action, Action::Finish) {
            self.act_on_wrong_tin(action);
        } else if !self.move_hand(action) {
            match &self.screen {
                Screen::Unfinished { .. } => self.act_on_unfinished(action),
                Screen::Cups { .. } => self.act_on_cups(action),
                Screen::Shelf(_) => self.act_on_shelf(action),
                Screen::Waste(_) => self.act_on_waste(action),
                Screen::Stocktake(_) => self.act_in_stocktake(action),
                Screen::Delivery(_) => self.act_on_delivery(action),
                Screen::Leftovers(_) => self.act_on_leftovers(action),
                Screen::Jobs(_) => self.act_on_jobs(action),
                Screen::Job(_) => self.act_on_job(action),
                Screen::Emptying(_) => self.act_on_emptying(action),
                Screen::Colours(_) => self.act_on_colours(action),
                Screen::Amount(_) => self.act_on_amount(action),
                Screen::Formula(_) => self.act_on_formula(action),
                Screen::Import(_) => self.act_on_import(action),
                Screen::Bench(_) => self.act_at_bench(action),
            }
        }
    }

    fn quit(&mut self) {
        // What is on its way to the disk is waited for; what could not be written needs a second word.
        if self.saving.failure().is_some() && !self.asked_to_quit {
            self.asked_to_quit = true;
            self.complain("not everything is saved: press it once more to leave all the same");
            return;
        }
        self.effects.push(Effect::Quit(None));
    }

    /// Back to the colours, all of them.
    pub(super) fn open_colours(&mut self) {
        self.screen = Screen::Colours(Colours::all(&mut self.known));
    }
}
