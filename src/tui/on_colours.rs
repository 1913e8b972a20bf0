//! Picking a colour and asking how much of it.

use super::amount::{Amount, up};
use super::app::{App, Screen};
use super::bench::{Bench, Tools};
use super::keys::Action;
use super::known::Then;
use super::last::Last;
use super::message::{Effect, ShopSeen};
use crate::barcode::Day;
use crate::catalogue::index::Fresh;
use crate::catalogue::{Catalogue, Colour, Role, TonerKind, Word as _};
use crate::job::Clock;
use crate::mix::{Session, weighable};
use crate::scale::{Hand, Weight};
use crate::stock::Leftover;
use crate::units::{Decimal, Grams};
use ratatui::crossterm::event::{Event as TerminalEvent, KeyCode, KeyModifiers};
use tui_input::{Input, InputRequest};

/// As many divisions a cup that is put back may weigh more or less (common practice, no source).
const SAME_CUP: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

impl App {
    pub(super) fn act_on_colours(&mut self, action: Action) {
        let Screen::Colours(colours) = &mut self.screen else { return };
        match action {
            Action::Up => colours.step(-1),
            Action::Down => colours.step(1),
            Action::PageUp => colours.step(-10),
            Action::PageDown => colours.step(10),
            Action::Next => colours.turn_layer(&self.known, &self.catalogue, true),
            Action::Previous => colours.turn_layer(&self.known, &self.catalogue, false),
            Action::EraseBack => {
                colours.edit(InputRequest::DeletePrevChar, &mut self.known);
            }
            Action::EraseAll | Action::Back => {
                colours.edit(InputRequest::DeleteLine, &mut self.known);
            }
            Action::ShowRetired => {
                let show = !self.known.shows_retired();
                self.known.show_retired(show);
                colours.search(&mut self.known);
                self.say(if show { "retired colours are shown too" } else { "retired colours are left out" });
            }
            Action::OpenFormulas => self.open_formulas(),
            Action::OpenShelf => self.open_shelf(),
            Action::OpenWaste => self.open_waste(),
            Action::OpenJobs => self.open_jobs(),
            Action::Cups if self.cups.is_empty() => self.say("no cup waits to be emptied"),
            Action::Cups => self.screen = Screen::Cups { selected: 0 },
            Action::Unfinished if self.waiting.is_empty() => self.say("no mix waits to be taken up"),
            Action::Unfinished => self.screen = Screen::Unfinished { selected: 0 },
            Action::Accept => {
                let place = colours.colour(&self.known).map(|(place, _)| place);
                if let Some((place, role)) = place.zip(colours.role(&self.known, &self.catalogue)) {
                    self.for_job.asked = None;
                    self.pick(place, role);
                }
            }
            _ => {}
        }
    }

    /// Asks how much of that layer of the colour at that place of the listing.
    pub(super) fn pick(&mut self, place: usize, role: Role) {
        self.with_colour(place, Then::Mix(role));
    }

    /// Does that with the colour as its file has it now.
    pub(super) fn with_colour(&mut self, place: usize, then: Then) {
        let Some(entry) = self.known.entry(place) else { return };
        if !entry.file.is_empty() {
            let file = entry.file.to_owned();
            self.awaited = Some((file.clone(), then));
            return self.effects.push(Effect::ReadColour { file, then });
        }
        if let Some(colour) = self.known.full(place).cloned() {
            self.go_on_with(colour, then);
        }
    }

    /// A colour's file was read.
    pub(super) fn on_colour_read(&mut self, file: &str, read: Result<Fresh, String>, then: Then) {
        let is_awaited = self.awaited.as_ref().is_some_and(|(of, what)| of == file && *what == then);
        if then != Then::Show && !is_awaited {
            // Nobody waits for it any more.
            return;
        }
        self.do_when_read(read, then);
        self.colour_of_job_was_read(file);
        if then != Then::Show {
            self.awaited = None;
            let now = self.now;
            for (at, event) in std::mem::take(&mut self.held) {
                self.now = at;
                if self.awaited.is_some() {
                    self.held.push((at, event));
                } else {
                    self.on_terminal(event);
                }
            }
            self.now = now;
        }
    }

    /// Whether that key ends the wait for a colour's file: a disk may be away for long.
    pub(super) fn gives_up_waiting(&mut self, event: &TerminalEvent) -> bool {
        let TerminalEvent::Key(key) = event else { return false };
        let control = key.modifiers.contains(KeyModifiers::CONTROL);
        let gives_up = key.code == KeyCode::Esc || (control && key.code == KeyCode::Char('c'));
        if gives_up {
            self.awaited = None;
            self.held.clear();
            self.for_job.asked = None;
        }
        gives_up
    }

    fn do_when_read(&mut self, read: Result<Fresh, String>, then: Then) {
        match read {
            Ok(Fresh { colour, toners }) => {
                self.catalogue.toners = toners;
                self.known.take_in(colour.clone());
                self.go_on_with(colour, then);
            }
            // A card that cannot be shown is no news: the list is looked through again, and what is wrong stands there.
            Err(_) if then == Then::Show => self.effects.push(Effect::LookAtShop { at_once: true }),
            Err(why) => {
                self.effects.push(Effect::LookAtShop { at_once: true });
                self.complain(why);
            }
        }
    }

    fn go_on_with(&mut self, colour: Colour, then: Then) {
        match then {
            // Somebody may have gone elsewhere while the file was read.
            Then::Mix(_) if self.for_job.asked.is_some() => {
                if let Then::Mix(role) = then {
                    self.ask_amount(&colour, role);
                }
            }
            Then::Mix(_) | Then::Formula(_) if !matches!(self.screen, Screen::Colours(_)) => {}
            Then::Show => {}
            Then::Job => self.open_job_of(&colour),
            Then::Mix(role) => self.ask_amount(&colour, role),
            Then::Formula(choice) => self.do_with_formula(choice, Some(colour)),
        }
    }

    /// Has the marked colour's card read where it is not here, and the folder looked through now and then.
    pub(super) fn want_card(&mut self) {
        let Screen::Colours(colours) = &self.screen else { return };
        if self.known.is_look_due(self.now.moment) {
            self.effects.push(Effect::LookAtShop { at_once: false });
        }
        let Some(found) = colours.found.get(colours.selected) else { return };
        if let Some(file) = self.known.ask_for(found.colour) {
            self.effects.push(Effect::ReadColour { file, then: Then::Show });
        }
    }

    /// The shop's folder was looked through.
    pub(super) fn on_shop_seen(&mut self, seen: ShopSeen) {
        let ShopSeen { catalogue, listing, finder } = seen;
        let marked = match &self.screen {
            Screen::Colours(colours) => colours
                .colour(&self.known)
                .map(|(_, entry)| (entry.code.to_owned(), entry.variant.to_owned())),
            _ => None,
        };
        let cup = match &self.screen {
            Screen::Amount(amount) => {
                amount.cup.and_then(|at| self.catalogue.cups.get(at)).map(|cup| cup.name.clone())
            }
            _ => None,
        };
        self.catalogue = Catalogue { usual_tolerance: self.settings.preferences.tolerance, ..catalogue };
        self.known.learn(listing, finder);
        match &mut self.screen {
            Screen::Colours(colours) => colours.search_again(marked, &mut self.known),
            // Cups are known by their place.
            Screen::Amount(amount) => {
                amount.cup = self.catalogue.cups.iter().position(|one| Some(&one.name) == cup.as_ref());
                if amount.cup.is_none() {
                    amount.fit_cup(&self.catalogue);
                }
            }
            _ => {}
        }
        if let Some(code) = self.known.show_next.take() {
            self.show_colours_of(&code);
        }
    }

    /// The leftovers of that layer of that colour that can be the start of a mix today. One with hardener in it cannot,
    /// whether its pot life is over or runs: it sets in the cup, and takes what is poured upon it along.
    fn leftovers_of(&self, colour: &Colour, role: Role) -> Vec<Leftover> {
        let Some(today) = Day::parse(&self.today()) else { return Vec::new() };
        let mut fit: Vec<Leftover> = self
            .leftovers
            .iter()
            .filter(|one| {
                is_of(one, colour, role)
                    && one.unfit(today, &self.recalls).is_none()
                    && !self.has_hardener(one)
            })
            .cloned()
            .collect();
        fit.sort_by_key(|one| (one.use_by.is_none(), one.use_by, one.of.head.number));
        fit
    }

    /// Whether there is hardener in it that was weighed with the mix.
    pub(super) fn has_hardener(&self, leftover: &Leftover) -> bool {
        leftover.made_of.iter().any(|(toner, _)| {
            self.catalogue.toner(toner.as_str()).is_some_and(|toner| toner.kind == TonerKind::Hardener)
        })
    }

    /// The layer of that colour, once more.
    pub(super) fn mix_again(&mut self) {
        let Some(last) = &self.last else { return };
        let role = last.role;
        self.for_job.asked.clone_from(&last.job);
        match self.known.place_of(last.code.as_str(), &last.variant) {
            Some(place) => self.pick(place, role),
            None => self.complain("the shop has this colour no more: find another"),
        }
    }

    /// Asks how much of that layer of that colour.
    fn ask_amount(&mut self, colour: &Colour, role: Role) {
        let job = self.for_job.asked.take().map(|asked| self.with_wanted(asked, colour));
        let wanted =
            job.as_ref().and_then(|job| job.wanted).map(|wanted| self.notation().typed_volume(up(wanted)));
        let typed = wanted.unwrap_or_else(|| {
            self.last.as_ref().map_or_else(|| self.notation().usual_volume(), |last| last.typed.clone())
        });
        match Amount::new(
            &self.catalogue,
            colour,
            role,
            (&typed, job.clone()),
            self.notation(),
            self.leftovers_of(colour, role),
        ) {
            Ok(mut amount) => {
                // Of cards of which nothing is known, as little as can be weighed, and not as much as for the last car.
                let unknown = job.as_ref().is_some_and(|job| job.for_cards && job.wanted.is_none());
                let least = weighable::smallest_weight(self.limits().division, self.accuracy());
                if let Some(least) = least.filter(|_| unknown) {
                    let least = up(weighable::smallest_volume(&amount.recipe, least));
                    amount.typed = Input::new(self.notation().typed_volume(least));
                }
                let (code, variant) = (colour.code.clone(), colour.variant.clone());
                self.last = Some(Last { code, variant, role, typed, job });
                self.screen = Screen::Amount(Box::new(amount));
            }
            Err(error) => return self.complain(error.to_string()),
        }
        self.warn_of_hardened(colour, role);
        self.warn_of_recalled(colour, role);
        if let Some(retired) = &colour.retired {
            let because =
                retired.because.as_ref().map_or_else(String::new, |because| format!(" ({because})"));
            self.complain(format!(
                "this colour is retired since {}{because}: is there a newer one?",
                retired.on
            ));
        }
    }

    /// Says that there is a leftover of this layer that cannot be its start, since hardener is in it.
    fn warn_of_hardened(&mut self, colour: &Colour, role: Role) {
        let hardened = self.leftovers.iter().find(|one| is_of(one, colour, role) && self.has_hardener(one));
        let Some(leftover) = hardened else { return };
        let mass = self.notation().mass(leftover.holds(), self.limits().division);
        let number = leftover.of.head.number;
        let end = match self.pot_lives.get(&leftover.of.mix).map(|time| time.at(self.now.stamp)) {
            Some(Clock::Over(_)) => "its pot life is over: throw it away",
            _ => "it can be sprayed within its pot life, and is no start of another mix",
        };
        self.say(format!("{mass} are left of mix {number:04} with hardener in: {end}"));
    }

    /// Says that there is a leftover of this layer that may not be used, since a lot that is in it was called back.
    fn warn_of_recalled(&mut self, colour: &Colour, role: Role) {
        let mut own = self.leftovers.iter().filter(|one| is_of(one, colour, role));
        let recalled = |one: &Leftover| {
            let (recall, tin) = one.called_back(&self.recalls)?;
            let mass = self.notation().mass(one.holds(), self.limits().division);
            let (number, toner) = (one.of.head.number, &tin.toner);
            Some(format!(
                "{mass} are left of mix {number:04}, and lot {} of {toner} in it was called back: throw it away",
                recall.lot
            ))
        };
        if let Some(words) = own.find_map(recalled) {
            self.complain(words);
        }
    }

    pub(super) fn act_on_amount(&mut self, action: Action) {
        let Screen::Amount(amount) = &mut self.screen else { return };
        let catalogue = &self.catalogue;
        match action {
            Action::Back if amount.awaiting_cup => amount.awaiting_cup = false,
            Action::Back => {
                let job = amount.job.as_ref().map(|job| job.name.clone());
                self.open_colours();
                self.back_to_job(job.as_deref());
            }
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
            Action::WithLeftover => amount.turn_leftover(),
            Action::MakeReady | Action::Thinner => {
                if let Err(error) = amount.turn_ready(action == Action::Thinner, catalogue) {
                    self.complain(error.to_string());
                }
            }
            Action::OfferedAmount => {
                let (limits, accuracy) = (self.limits(), self.accuracy());
                let Screen::Amount(amount) = &mut self.screen else { return };
                amount.turn_offer(limits, accuracy, &self.catalogue);
            }
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
            // Asked a second time: what stands on the scale is the cup, however little it weighs. If it weighs what
            // another mix's does, it is to be said once more.
            let full = self.full_cup(weight);
            let Screen::Amount(amount) = &mut self.screen else { return };
            if let Some(number) = full.filter(|number| amount.said_full != Some(*number)) {
                amount.said_full = Some(number);
                self.complain(format!(
                    "that weighs as the cup of mix {number:04} does, with what is in it: put an empty one there"
                ));
            } else {
                self.begin_mix(weight.grams());
            }
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
        if ms >= self.scale.taking().dwell_ms
            && is_cup(weight.grams(), expected, weight.division().grams())
            && self.full_cup(weight).is_none()
        {
            self.begin_mix(weight.grams());
        }
    }

    /// The number of the mix whose cup, with everything in it, seems to stand on the scale: it was not taken off when the
    /// mix was done or put aside, and its weight would become the tare of the next.
    fn full_cup(&self, weight: Weight) -> Option<u32> {
        let near = weight.division().grams().times(SAME_CUP);
        let all = self.cups.iter().chain(&self.waiting);
        let mut full = all.filter_map(|cup| Some((cup.number, cup.journal.as_ref().ok()?.session())));
        let stands_there = |session: &Session| {
            session.holds() > near && (session.tare() + session.holds() - weight.grams()).abs() <= near
        };
        full.find(|(_, session)| stands_there(session)).map(|(number, _)| number)
    }

    fn begin_mix(&mut self, tare: Grams) {
        let (limits, accuracy) = (self.limits(), self.accuracy());
        let Screen::Amount(amount) = &self.screen else { return };
        let (source, leftover) = (amount.source.clone(), amount.leftover().cloned());
        let job = amount.job.clone();
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
        let begun = begun.and_then(|(mut bench, step)| {
            if let Some(leftover) = leftover {
                bench.begin_with(leftover, &mut tools)?;
            }
            Ok((bench, step))
        });
        let written = tools.written;
        self.write(written);
        match begun {
            Ok((bench, step)) => {
                self.next_number = self.next_number.saturating_add(1);
                if let Some(last) = &self.last {
                    self.known.mixed(&last.code, &last.variant);
                }
                self.notice = None;
                self.screen = Screen::Bench(Box::new(bench));
                self.effects.extend(source.map(Effect::KeepVersion));
                self.follow(step);
                self.tell_job(job.as_ref());
            }
            Err(error) => self.complain(error.to_string()),
        }
    }
}

/// Whether it is left of that layer of that colour.
fn is_of(leftover: &Leftover, colour: &Colour, role: Role) -> bool {
    let [code, variant, layer] = &leftover.of.head.subject;
    code.as_deref() == Some(colour.code.as_str())
        && variant.as_deref() == Some(colour.variant.as_str())
        && layer.as_deref() == Some(role.word())
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
