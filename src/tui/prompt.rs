//! A line of text that is asked for at the bench.

use super::app::App;
use super::job_asks::JobAsks;
use super::keys::Action;
use super::on_formula::Choice;
use super::put_right::Sure;
use super::receiving::Field;
use crate::units::{Grams, Moment, Notation, clean};
use tui_input::{Input, InputRequest};

/// What a prompt asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Asks {
    /// The label of the next tin.
    Tin,
    /// Which toner really went in.
    WrongToner,
    /// What went in, in the unit that is shown.
    Weight,
    /// Which toner to turn to.
    Toner,
    /// Why the mix is given up.
    Reason,
    /// What is left in a cup, in grams.
    LeftWeight,
    /// Until when what is left may be used.
    UseBy,
    /// Why what is left is thrown away.
    WhyThrown,
    /// On which repair it was sprayed.
    Job,
    /// Which pour is to be put right.
    WhichPour,
    /// What that pour was in truth.
    WhatItWas(usize),
    /// Whether to do what nothing brings back.
    Sure(Sure),
    /// What is to be done with formulas.
    Formulas,
    /// Why a colour is retired.
    RetireBecause,
    /// Where formulas are to be taken in from.
    TakeInFrom,
    /// Where they are to be given out to.
    GiveOutTo,
    /// A line of the form of a tin that came.
    Receive(Field),
    /// Which file a delivery is in.
    Delivery,
    /// Which tin is counted next.
    CountTin,
    /// What is in the marked tin, judged by hand.
    CountNet,
    /// What the marked tin weighs empty.
    CountEmpty,
    /// Why what was found differs from the book.
    CountWhy,
    /// Why the marked tin is thrown away.
    WhyDiscarded,
    /// Why the lot of the marked tin is called back.
    WhyRecalled,
    /// Why the marked leftover is thrown away.
    WhyLeftoverThrown,
    /// Something of a job.
    OfJob(JobAsks),
    /// Why a layer of a job is mixed though it should not be yet.
    MixAllTheSame,
}

impl Asks {
    /// The question.
    pub(super) fn question(self, notation: Notation) -> String {
        let question = match self {
            Self::Tin => "which tin now?",
            Self::WrongToner => "which toner went in?",
            Self::Weight => return format!("how many {}?", notation.mass_word()),
            Self::Toner => "which toner now?",
            Self::Reason => "why is it given up?",
            Self::LeftWeight => "how much is left?",
            Self::UseBy => "keep it until when?",
            Self::WhyThrown | Self::WhyLeftoverThrown => "why is it thrown away?",
            Self::Job => "sprayed on what?",
            Self::WhichPour => "which pour was it?",
            Self::WhatItWas(_) => "what was it?",
            Self::Sure(_) => "do it?",
            Self::Formulas => "formulas",
            Self::RetireBecause => "why is it retired?",
            Self::TakeInFrom => "take formulas in from where?",
            Self::GiveOutTo => "into which file?",
            Self::Receive(field) => field.question(),
            Self::Delivery => "which file is the delivery in?",
            Self::CountTin => "which tin?",
            Self::CountNet => return format!("how many {} are in it?", notation.mass_word()),
            Self::CountEmpty => "what does it weigh empty?",
            Self::CountWhy => "why does it differ?",
            Self::WhyDiscarded => "why is this tin thrown away?",
            Self::WhyRecalled => "why is its lot called back?",
            Self::OfJob(asks) => asks.question(),
            Self::MixAllTheSame => "why is it mixed all the same?",
        };
        question.to_owned()
    }

    /// What helps to answer it.
    pub(super) fn hint(self, has_scale: bool, notation: Notation) -> String {
        let (unit, example) = (notation.mass_word(), notation.example());
        let hint = match self {
            Self::Tin => "the number on its label; what came from the old tin is booked to it first",
            Self::WrongToner if has_scale => "its code as on the tin; the cup must stand still on the scale",
            Self::WrongToner => {
                return format!("its code as on the tin, then the {unit}, like K05 {example}");
            }
            Self::Weight => return format!("what went in, or was taken out, as {example}"),
            Self::Toner => "its code, or its row in the list; what was poured of this one is booked first",
            Self::Reason => "a word or two; what is in the cup is booked as waste",
            Self::LeftWeight => "what the cup holds now without the cup itself, as 12.5",
            Self::UseBy => {
                "so many days, as 14, or a day, as 2026-12-31; the data sheet says how long. Enter alone: not said"
            }
            Self::WhyThrown => "a word or two: too much mixed, pot life over, wrong colour, …",
            Self::Job => "the repair's own number or name",
            Self::WhichPour => "mark it, or type its number; the book says then what it was in truth",
            Self::WhatItWas(_) => "its code as on the tin",
            Self::Sure(_) => "",
            Self::Formulas => "every version of a formula is kept",
            Self::RetireBecause => "a word or two, or nothing; it can be brought back",
            Self::TakeInFrom => {
                "a CSV file or a folder of formulas; nothing is written before you have seen it"
            }
            Self::GiveOutTo => "a CSV file that is not there yet, as formulas.csv",
            Self::Receive(field) => return field.hint(notation),
            Self::Delivery => "a CSV file, a row a tin; nothing is received before you have seen it",
            Self::CountTin => "the number on its label; its toner before it if the book does not know it",
            Self::CountNet => {
                return format!("judged by hand, without the tin, as {example}; 0 if nothing is in it");
            }
            Self::CountEmpty => {
                return format!("with its lid, in {unit}, as on the tin or by one like it: {example}");
            }
            Self::CountWhy => "a word or two; Enter alone if nobody knows. Esc does not book it",
            Self::WhyDiscarded => "a word or two: dried up, seedy, too old, …; it is asked once more then",
            Self::WhyRecalled => "a word or two, as its maker says; it is asked once more then",
            Self::OfJob(asks) => asks.hint(),
            Self::WhyLeftoverThrown => "a word or two: skin on it, too old, no use for it, …",
            Self::MixAllTheSame => "a word or two, which the job keeps",
        };
        hint.to_owned()
    }
}

/// A line that is being typed.
#[derive(Clone, Debug)]
pub(super) struct Prompt {
    /// What for.
    pub asks: Asks,
    /// What was typed.
    pub input: Input,
    /// What was wrong with it; it is still there.
    pub error: Option<String>,
    /// Which of the choices is marked, where there are any.
    pub selected: usize,
    /// Since when it is asked.
    since: Moment,
}

/// Keys that come sooner than that after a question, in milliseconds, were meant for what stood there before (common
/// practice, no source).
pub(super) const LOOK_MS: u64 = 600;

impl Prompt {
    fn new(asks: Asks, since: Moment) -> Self {
        Self { asks, input: Input::default(), error: None, selected: 0, since }
    }

    /// Whether it has been on the screen for long enough that a key is an answer to it.
    pub(super) const fn was_seen(&self, now: Moment) -> bool {
        now.since(self.since) >= LOOK_MS
    }

    /// Types a letter.
    pub(super) fn insert(&mut self, letter: char) {
        self.edit(InputRequest::InsertChar(letter));
    }

    fn edit(&mut self, request: InputRequest) {
        self.input.handle(request);
        self.error = None;
    }
}

impl App {
    pub(super) fn ask(&mut self, asks: Asks) {
        // Formulas are not in the book: another program that has it is no reason.
        let of_formulas =
            matches!(asks, Asks::Formulas | Asks::RetireBecause | Asks::TakeInFrom | Asks::GiveOutTo);
        if of_formulas || asks == Asks::Sure(Sure::DropFormula) || !self.refuse_to_write() {
            self.prompt = Some(Prompt::new(asks, self.now.moment));
        }
    }

    pub(super) fn act_in_prompt(&mut self, action: Action) {
        if self.prompt.as_ref().is_some_and(|prompt| prompt.asks == Asks::Formulas) {
            return self.act_in_menu(action);
        }
        let count = self.pours_to_choose().len();
        let Some(prompt) = &mut self.prompt else { return };
        if let Asks::Sure(sure) = prompt.asks {
            return match action {
                Action::Accept => self.answer_sure(sure, true),
                Action::Refuse => self.answer_sure(sure, false),
                _ => {}
            };
        }
        match action {
            Action::Up | Action::Down if prompt.asks == Asks::WhichPour => {
                prompt.step(action == Action::Down, count);
            }
            Action::Up | Action::Down => {
                let down = action == Action::Down;
                match prompt.asks {
                    Asks::Receive(field) => self.step_field(field, down),
                    Asks::OfJob(asks) => self.step_job_ask(asks, down),
                    _ => {}
                }
            }
            Action::Back => match prompt.asks {
                Asks::Receive(field) => self.leave_form(field),
                Asks::OfJob(JobAsks::New(field)) => self.leave_job_form(field),
                asks => {
                    self.prompt = None;
                    if asks == Asks::CountWhy {
                        self.drop_count();
                    }
                }
            },
            Action::Accept => self.answer_prompt(),
            Action::EraseBack | Action::EraseForward | Action::EraseAll => {
                prompt.edit(match action {
                    Action::EraseBack => InputRequest::DeletePrevChar,
                    Action::EraseForward => InputRequest::DeleteNextChar,
                    _ => InputRequest::DeleteLine,
                });
                self.find_job_colours();
            }
            Action::CursorLeft => prompt.edit(InputRequest::GoToPrevChar),
            Action::CursorRight => prompt.edit(InputRequest::GoToNextChar),
            Action::CursorStart => prompt.edit(InputRequest::GoToStart),
            Action::CursorEnd => prompt.edit(InputRequest::GoToEnd),
            _ => {}
        }
    }

    /// Does what the prompt was for. What was typed stays there if it cannot be done.
    fn answer_prompt(&mut self) {
        let Some(prompt) = self.prompt.take() else { return };
        let typed = clean(prompt.input.value()).trim().to_owned();
        self.notice = None;
        let answered = match prompt.asks {
            Asks::Tin if self.is_doubtful_tin(&typed) => {
                if let Some(tin) = self.typed_tin(&typed) {
                    self.tin_at_bench(tin);
                }
                Ok(())
            }
            Asks::Tin => {
                let heed = self.heed_tin(&typed);
                self.at_bench(|bench, scale, tools| bench.next_tin(&typed, None, scale, tools));
                let refused = self.notice.as_ref().is_some_and(|notice| notice.is_error);
                if !heed.is_empty() && !refused {
                    self.say(format!("tin {typed}: {}", heed.join("; ")));
                }
                Ok(())
            }
            Asks::Reason => {
                self.at_bench(|bench, _, tools| bench.abandon(&typed, tools));
                Ok(())
            }
            Asks::Weight => self.mass(&typed).map(|amount| {
                self.at_bench(|bench, _, tools| bench.take_typed(amount, tools));
            }),
            Asks::LeftWeight => self.answer_left_weight(&typed),
            Asks::UseBy => self.answer_use_by(&typed),
            Asks::WhyThrown => self.answer_why_thrown(&typed),
            Asks::Job => {
                self.answer_job(&typed);
                Ok(())
            }
            Asks::WrongToner => self.answer_wrong_toner(&typed),
            Asks::Toner => self.answer_toner(&typed),
            Asks::WhichPour => self.answer_which_pour(&typed, prompt.selected),
            Asks::WhatItWas(pour) => self.answer_what_it_was(pour, &typed),
            Asks::Sure(_) | Asks::Formulas => Ok(()),
            Asks::RetireBecause => self.answer_retire_because(&typed),
            Asks::TakeInFrom => self.answer_take_in(&typed),
            Asks::GiveOutTo => self.answer_give_out(&typed),
            Asks::Receive(field) => self.answer_field(field, &typed),
            Asks::Delivery => self.answer_delivery(&typed),
            Asks::CountTin => self.answer_count_tin(&typed),
            Asks::CountNet => self.answer_count_net(&typed),
            Asks::CountEmpty => self.answer_count_empty(&typed),
            Asks::CountWhy => self.answer_count_why(&typed),
            Asks::WhyDiscarded => self.answer_why_discarded(&typed),
            Asks::WhyRecalled => self.answer_why_recalled(&typed),
            Asks::WhyLeftoverThrown => self.answer_why_leftover_thrown(&typed),
            Asks::OfJob(asks) => self.answer_job_ask(asks, &typed, prompt.selected),
            Asks::MixAllTheSame => self.answer_mix_all_the_same(&typed),
        };
        let refused = self.notice.as_ref().filter(|notice| notice.is_error).map(|notice| notice.text.clone());
        if let Some(error) = answered.err().or(refused) {
            self.notice = None;
            self.prompt = Some(Prompt { error: Some(error), ..prompt });
        }
    }

    /// Keys in the menu of what can be done with formulas.
    fn act_in_menu(&mut self, action: Action) {
        let Some(prompt) = &mut self.prompt else { return };
        match action {
            Action::Up | Action::Down => prompt.step(action == Action::Down, Choice::ALL.len()),
            Action::Back => self.prompt = None,
            _ => {
                let chosen = if action == Action::Accept { Some(prompt.selected) } else { action.choice() };
                let (Some(which), Some(prompt)) = (chosen, self.prompt.take()) else { return };
                if let Err(why) = self.choose_formulas(which) {
                    self.prompt = Some(Prompt { error: Some(why), selected: which, ..prompt });
                }
            }
        }
    }

    fn answer_toner(&mut self, typed: &str) -> Result<(), String> {
        let Some(bench) = self.bench() else { return Ok(()) };
        let lines = bench.session().recipe().lines();
        let by_code = lines.iter().position(|line| line.toner.as_str().eq_ignore_ascii_case(typed));
        // A keypad has no letters: the row in the record will do.
        let row = typed.parse::<usize>().ok().and_then(|row| row.checked_sub(1));
        let line = by_code.or_else(|| bench.session().order().get(row?).copied());
        let codes = || lines.iter().map(|line| line.toner.as_str()).collect::<Vec<_>>().join(", ");
        let line = line.ok_or_else(|| format!("'{typed}' is not in this formula: it has {}", codes()))?;
        self.at_bench(|bench, scale, tools| bench.turn_to(line, scale, tools));
        Ok(())
    }

    /// A toner's code, and the grams behind it where there is no scale.
    fn answer_wrong_toner(&mut self, typed: &str) -> Result<(), String> {
        let (code, grams) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        let known = self.catalogue.toner(code).map(|toner| toner.code.clone());
        let toner = known.ok_or_else(|| {
            format!("no toner has the code '{code}': it stands on the tin and in toners.toml")
        })?;
        let amount = if grams.trim().is_empty() { None } else { Some(self.mass(grams)?) };
        if amount.is_none() && !self.scale.is_present() {
            let (unit, example) = (self.notation().mass_word(), self.notation().example());
            return Err(format!("there is no scale: type the {unit} too, like '{code} {example}'"));
        }
        self.at_bench(|bench, scale, tools| bench.wrong_toner(toner, amount, scale, tools));
        Ok(())
    }

    /// A typed mass; a bare number is in the unit that is asked for.
    pub(super) fn mass(&self, typed: &str) -> Result<Grams, String> {
        let notation = self.notation();
        let mass = notation.read_mass(typed).map_err(|error| notation.told(&error))?;
        if mass.is_positive() {
            Ok(mass)
        } else {
            Err(format!("that is nothing: type the {}, more than zero", notation.mass_word()))
        }
    }
}
