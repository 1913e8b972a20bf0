//! From what is asked to what is drawn of it.

use super::app::App;
use super::on_formula::Choice;
use super::prompt::{Asks, Prompt};
use super::view::input;
use super::widgets::list::{ListCell, ListRow};
use super::widgets::prompt::Prompt as PromptView;

/// What a prompt asks, as far as it has to be worked out.
pub(super) struct Asked {
    label: String,
    hint: String,
    choices: Vec<[String; 4]>,
}

impl Asked {
    pub(super) fn of(app: &App, prompt: &Prompt) -> Self {
        let plain = Self {
            label: prompt.asks.question(app.notation()),
            hint: prompt.asks.hint(app.scale.is_present(), app.notation()),
            choices: Vec::new(),
        };
        match prompt.asks {
            Asks::Formulas => Self {
                choices: Choice::ALL
                    .into_iter()
                    .zip(1..)
                    .map(|(choice, number)| {
                        let (what, which) =
                            choice.words(app.marked_colour().as_ref().map(|(_, entry)| entry));
                        [number.to_string(), what, String::new(), which]
                    })
                    .collect(),
                ..plain
            },
            Asks::WhichPour => Self { choices: app.pours_to_choose(), ..plain },
            Asks::WhatItWas(pour) => Self {
                label: app.what_it_was_question(pour).unwrap_or(plain.label),
                hint: app.what_follows(pour, prompt.input.value().trim()),
                ..plain
            },
            Asks::OfJob(asks) => Self {
                label: app.job_question(asks).unwrap_or(plain.label),
                hint: app.job_hint(asks).unwrap_or(plain.hint),
                choices: app.job_ask_rows(asks),
            },
            Asks::Receive(_) => Self { choices: app.form_rows(), ..plain },
            Asks::CountWhy => Self {
                label: app.why_question().unwrap_or(plain.label),
                hint: app.why_hint().unwrap_or(plain.hint),
                ..plain
            },
            Asks::Sure(sure) => {
                let (label, hint) = app.sure_question(sure).unwrap_or((plain.label, plain.hint));
                Self { label, hint, choices: Vec::new() }
            }
            Asks::MixAllTheSame => Self { hint: app.why_not_mixed().unwrap_or(plain.hint), ..plain },
            _ => plain,
        }
    }

    pub(super) fn rows(&self) -> impl Iterator<Item = ListRow<'_>> {
        self.choices.iter().map(|[number, toner, grams, tin]| ListRow {
            swatch: None,
            cells: vec![
                ListCell::number(number),
                ListCell::words(toner),
                ListCell::number(grams),
                ListCell::words(tin),
            ],
        })
    }
}

pub(super) fn prompt_view<'a>(
    prompt: &'a Prompt,
    asked: &'a Asked,
    rows: &'a [ListRow<'a>],
) -> PromptView<'a> {
    PromptView {
        label: &asked.label,
        input: (!matches!(prompt.asks, Asks::Sure(_) | Asks::Formulas)).then(|| input(&prompt.input)),
        hint: &asked.hint,
        error: prompt.error.as_deref(),
        choices: rows,
        selected: prompt.selected,
    }
}
