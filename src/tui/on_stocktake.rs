//! Keys and scans in a stocktake, and what the scale says there.

use super::app::{App, Screen};
use super::keys::Action;
use super::message::Effect;
use super::on_unfinished::step;
use super::prompt::Asks;
use super::scanned::ScannedTin;
use super::sound::Sound;
use super::stocktake::{NotTaken, Stocktake};
use crate::book::figures::TinRow;
use crate::catalogue::TonerCode;
use crate::stock::{Count, StockEvent, StockRefusal, Tin, is_small};
use crate::units::{Grams, clean};

impl App {
    /// Opens the stocktake, that tin marked.
    pub(super) fn open_stocktake(&mut self, label: Option<&str>) {
        if !self.refuse_to_write() {
            self.screen = Screen::Stocktake(Box::new(Stocktake::of(&self.tins, label)));
        }
    }

    fn stocktake(&mut self) -> Option<&mut Stocktake> {
        match &mut self.screen {
            Screen::Stocktake(stocktake) => Some(stocktake),
            _ => None,
        }
    }

    /// A reading came in.
    pub(super) fn look_for_tin(&mut self) {
        if let Screen::Stocktake(stocktake) = &mut self.screen {
            stocktake.look(&self.scale);
        }
    }

    pub(super) fn act_in_stocktake(&mut self, action: Action) {
        let Screen::Stocktake(stocktake) = &mut self.screen else { return };
        if step(&mut stocktake.selected, action, stocktake.rows.len()) {
            return;
        }
        match action {
            Action::Back => self.open_shelf(),
            Action::FindTin => self.ask(Asks::CountTin),
            Action::TypeWeight if stocktake.marked().is_some() => self.ask(Asks::CountNet),
            Action::TypeEmpty if stocktake.marked().is_some() => self.ask(Asks::CountEmpty),
            Action::Accept => self.weigh_tin(),
            _ => {}
        }
    }

    /// How much of the marked tin's toner was poured without a tin's name and is not found yet.
    pub(super) fn unnamed_of_marked(&self) -> Grams {
        let Screen::Stocktake(stocktake) = &self.screen else { return Grams::ZERO };
        stocktake.marked().map_or(Grams::ZERO, |row| self.unnamed.of(&self.tins, &row.tin.toner))
    }

    /// Takes what stands on the scale for the marked tin.
    fn weigh_tin(&mut self) {
        let unnamed = self.unnamed_of_marked();
        let Screen::Stocktake(stocktake) = &mut self.screen else { return };
        match stocktake.weigh(&self.scale, unnamed) {
            Ok((event, gross)) => {
                stocktake.has_taken(gross);
                self.take_count(event);
            }
            Err(NotTaken::NoScale) => self.ask(Asks::CountNet),
            Err(NotTaken::Refused(StockRefusal::EmptyUnknown(_))) => self.ask(Asks::CountEmpty),
            Err(why) => {
                let why = self.why_not_taken(&why);
                self.complain(why);
            }
        }
    }

    fn why_not_taken(&self, why: &NotTaken) -> String {
        match why {
            NotTaken::NoTin => "say which tin it is first: scan it, or type its label".to_owned(),
            NotTaken::NoScale => "there is no scale: type what is in it".to_owned(),
            NotTaken::NoWeight(why) => format!("there is no weight to take: {}", clean(why)),
            NotTaken::Refused(refusal) => self.refusal(refusal),
        }
    }

    /// What was found is booked; where much is missing that nobody poured, or there is much more, it is asked why first.
    fn take_count(&mut self, event: StockEvent) {
        let StockEvent::Counted(count) = &event else { return };
        let (label, missing) = (count.tin.label.clone(), count.missing());
        let Some(stocktake) = self.stocktake() else { return };
        let small =
            stocktake.marked().is_some_and(|row| row.tin.label == label && is_small(&row.tin, missing));
        if small {
            self.tell_count(&event);
        } else {
            stocktake.taken = Some(event);
            self.effects.push(Effect::Sound(Sound::Over));
            self.ask(Asks::CountWhy);
        }
    }

    fn tell_count(&mut self, event: &StockEvent) {
        let StockEvent::Counted(count) = event else { return };
        let words = format!("tin {}: {}", count.tin.label, self.found_words(count));
        if let Err(why) = self.tell_stock(std::slice::from_ref(event), words) {
            return self.complain(why);
        }
        let (count, tins) = (count.clone(), self.tins.clone());
        if let Some(stocktake) = self.stocktake() {
            stocktake.is_told(&count);
            stocktake.know(&tins);
        }
    }

    /// What was found, what of it was poured without a tin's name, and how far the rest is from what the book said.
    pub(super) fn found_words(&self, count: &Count) -> String {
        let missing = count.missing();
        let found = self.stock_mass(count.found);
        let unnamed = count.unnamed.map(|mass| format!(", {} poured unnamed", self.stock_mass(mass)));
        let is_named = unnamed.is_none();
        let unnamed = unnamed.unwrap_or_default();
        if missing.is_positive() {
            format!("{found} found{unnamed}, {} missing", self.stock_mass(missing))
        } else if missing.is_negative() {
            format!("{found} found, {} more than booked", self.stock_mass(missing.abs()))
        } else if is_named {
            format!("{found} found, as booked")
        } else {
            format!("{found} found{unnamed}")
        }
    }

    /// What is said beside the question, where some of what the tin lacks needs no answer.
    pub(super) fn why_hint(&self) -> Option<String> {
        let Screen::Stocktake(stocktake) = &self.screen else { return None };
        let Some(StockEvent::Counted(count)) = &stocktake.taken else { return None };
        let [lacks, unnamed] = [count.booked - count.found, count.unnamed?].map(|mass| self.stock_mass(mass));
        Some(format!("of {lacks}, {unnamed} were poured without a tin's name. Enter alone if nobody knows"))
    }

    /// What it is asked about, with the figures: what is missing, or more than booked.
    pub(super) fn why_question(&self) -> Option<String> {
        let Screen::Stocktake(stocktake) = &self.screen else { return None };
        let Some(StockEvent::Counted(count)) = &stocktake.taken else { return None };
        let missing = count.missing();
        let words = if count.unnamed.is_some() && missing.is_positive() {
            format!("{} found, {} missing", self.stock_mass(count.found), self.stock_mass(missing))
        } else {
            self.found_words(count)
        };
        Some(format!("tin {}: {words}. Why?", count.tin.label))
    }

    /// Why it differs; nothing if nobody knows.
    pub(super) fn answer_count_why(&mut self, typed: &str) -> Result<(), String> {
        if let Some(why) = &self.look_only {
            return Err(format!("nothing can be written: {why}"));
        }
        let Some(stocktake) = self.stocktake() else { return Ok(()) };
        if let Some(StockEvent::Counted(count)) = stocktake.taken.take() {
            let why = Some(typed.to_owned()).filter(|why| !why.is_empty());
            self.tell_count(&StockEvent::Counted(Count { why, ..count }));
        }
        Ok(())
    }

    /// What was taken is not booked: the tin is to be weighed again.
    pub(super) fn drop_count(&mut self) {
        if let Some(stocktake) = self.stocktake()
            && stocktake.taken.take().is_some()
        {
            stocktake.is_off();
            self.say("not booked: look at the tin and weigh it again");
        }
    }

    /// What is in the marked tin, judged by hand; nothing may be in it.
    pub(super) fn answer_count_net(&mut self, typed: &str) -> Result<(), String> {
        let found = if typed.trim() == "0" { Grams::ZERO } else { self.mass(typed)? };
        let unnamed = self.unnamed_of_marked();
        let Some(stocktake) = self.stocktake() else { return Ok(()) };
        match stocktake.judge(found, unnamed) {
            Ok(event) => {
                self.take_count(event);
                Ok(())
            }
            Err(why) => Err(self.why_not_taken(&why)),
        }
    }

    /// What the marked tin weighs empty. If a tin stands on the scale that waited for it, it is taken with the next key.
    pub(super) fn answer_count_empty(&mut self, typed: &str) -> Result<(), String> {
        let empty = self.mass(typed)?;
        if let Some(row) = self.stocktake().and_then(Stocktake::marked_mut) {
            row.empty = Some(empty);
        }
        Ok(())
    }

    /// The tin with that label; or a toner's code and a label for one that the book does not know.
    pub(super) fn answer_count_tin(&mut self, typed: &str) -> Result<(), String> {
        let (code, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        let toner = self.catalogue.toner(code).map(|toner| toner.code.clone());
        match (typed, toner) {
            ("", _) => Err("type the tin's label".to_owned()),
            (label, _) if self.mark_tin(label) => Ok(()),
            (_, Some(toner)) if !rest.trim().is_empty() => {
                self.count_tin(rest.trim(), &toner);
                Ok(())
            }
            (label, _) => Err(format!(
                "the book knows nothing of a tin {label}: look at its label, or type its toner before it, as W10 {label}"
            )),
        }
    }

    fn mark_tin(&mut self, label: &str) -> bool {
        self.stocktake().is_some_and(|stocktake| stocktake.mark(label))
    }

    /// That tin is the next to be counted, known to the book or not.
    fn count_tin(&mut self, label: &str, toner: &TonerCode) {
        if self.mark_tin(label) {
            return;
        }
        let known = self.tins.iter().find(|tin| tin.label == label).cloned();
        let new = || Tin::new(TinRow::unsaid(label.to_owned(), toner.clone()), Grams::ZERO);
        let tin = known.unwrap_or_else(new);
        if let Some(stocktake) = self.stocktake() {
            stocktake.add(tin);
        }
    }

    /// A tin was scanned.
    pub(super) fn scan_tin_to_count(&mut self, tin: &ScannedTin) {
        let Some(label) = tin.label.clone() else {
            return self.complain(format!("that is {}; its code says no label: type it", tin.words()));
        };
        self.count_tin(&label, &TonerCode::new(&tin.toner));
        let Some(marked) = self.stocktake().and_then(|stocktake| stocktake.marked().cloned()) else { return };
        if marked.tin.toner.as_str().eq_ignore_ascii_case(&tin.toner) {
            self.effects.push(Effect::Sound(Sound::Right));
            self.say(tin.words());
        } else {
            self.effects.push(Effect::Sound(Sound::WrongTin));
            self.complain(format!(
                "by the book tin {label} holds {}, not {}: look at its label",
                marked.tin.toner, tin.toner
            ));
        }
    }
}
