//! A cup that came back from the booth: what was mixed, what is left in it, and so what was sprayed.

use super::frame::{Chrome, Top};
use crate::mix::{LinePart, Session};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::digits::Big;
use crate::tui::widgets::pen;
use crate::units::{Division, Grams};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A cup that is to be emptied.
#[derive(Clone, Copy, Debug)]
pub struct EmptyingView<'a> {
    /// The mix, which is done.
    pub session: &'a Session,
    /// Its number in the book.
    pub number: u32,
    /// When it was done, as people say it.
    pub when: &'a str,
    /// What is left in the cup, as far as is known: by the scale or by hand.
    pub left: Option<Grams>,
    /// Whether that was typed.
    pub is_typed: bool,
    /// Whether it is a weight that can be taken.
    pub steady: bool,
    /// Why there is none, in a sentence.
    pub doubt: Option<&'a str>,
    /// What it weighed ready to spray, if thinner or hardener was added.
    pub ready: Option<Grams>,
    /// How much of its pot life is left, or that it is over; none where it has none.
    pub pot_life: Option<&'a str>,
    /// What it was sprayed on, if that was said.
    pub job: Option<&'a str>,
    /// The scale's division.
    pub division: Division,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Where everything begins, and where what belongs to a word stands.
const LEFT: u16 = 3;
const BESIDE: u16 = 16;

/// Draws it.
pub fn draw(view: &EmptyingView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let recipe = view.session.recipe();
    let title = format!("{} {} {}", recipe.name, theme.symbols.dot, recipe.role.name());
    let middle = format!("mix {:04} {} after spraying", view.number, theme.symbols.dot);
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let right_meaning = if view.steady { Meaning::Steady } else { Meaning::Plain };
    let top = Top { title: &title, middle: &middle, right: &scale, right_meaning };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let body = pen::columns(pen::rows(body, 1, body.height), LEFT, body.width.saturating_sub(LEFT));
    let said = said(view);
    if let Some(left) = view.left {
        figure(view, left, theme).draw(pen::rows(body, 0, 6), buf, theme);
    }
    let mut y = if view.left.is_some() { 7 } else { 1 };
    for line in text::wrap(&said, body.width.saturating_sub(2)) {
        pen::put(buf, body, body.x, body.y.saturating_add(y), &line, theme.style(Meaning::Doubt));
        y = y.saturating_add(1);
    }
    y = y.max(if view.left.is_some() { 8 } else { 2 }).saturating_add(1);
    for (word, value) in facts(view, theme) {
        let row = pen::rows(body, y, 1);
        pen::put(buf, row, row.x, row.y, word, theme.style(Meaning::Muted));
        let x = row.x.saturating_add(BESIDE);
        let value = text::fit(&value, row.right().saturating_sub(x), theme.symbols.ellipsis);
        pen::put(buf, row, x, row.y, &value, theme.style(Meaning::Value));
        y = y.saturating_add(1);
    }
}

/// The number.
fn figure(view: &EmptyingView<'_>, left: Grams, theme: &Theme) -> Big {
    let number = theme.notation.weight(left, view.division);
    let how = if view.is_typed { ", typed" } else { "" };
    let meaning = if view.steady || view.is_typed { Meaning::Steady } else { Meaning::Moving };
    Big { number, words: format!("{} left{how}", theme.notation.mass_unit()), meaning }
}

/// What is to be said about it.
fn said(view: &EmptyingView<'_>) -> String {
    let most = view.ready.unwrap_or(view.session.holds());
    let recipe = view.session.recipe();
    let has_hardener = recipe.lines().iter().any(|line| line.part == LinePart::Hardener);
    match (view.doubt, view.left) {
        (Some(doubt), _) => doubt.to_owned(),
        (None, Some(left)) if left > most && recipe.readied.is_some() => {
            "It is more than was mixed, thinner and hardener with it: is this the right cup?".to_owned()
        }
        (None, Some(left)) if left > most => {
            "It is more than was mixed: thinner or hardener is in it. Note it as it is ready to spray, then spray."
                .to_owned()
        }
        (None, None) => "Put the cup back on the scale with what is left in it, or type it.".to_owned(),
        // The data sheet says when: pot life.
        (None, Some(left)) if (view.ready.is_some() || has_hardener) && left.is_positive() => {
            "With hardener in it it sets in the cup: past its pot life it can only be thrown away.".to_owned()
        }
        _ => String::new(),
    }
}

/// Whether it was made ready to spray at the bench, so that its weight is that of everything in it.
fn recipe_is_ready(view: &EmptyingView<'_>) -> bool {
    view.session.recipe().lines().iter().any(|line| !line.part.is_colour())
}

/// What is known, a word and its value each.
fn facts(view: &EmptyingView<'_>, theme: &Theme) -> Vec<(&'static str, String)> {
    let notation = theme.notation;
    let weight = |mass| notation.mass(mass, view.division);
    let mixed = view.session.holds();
    let dot = theme.symbols.dot;
    let mut facts = vec![("mixed", format!("{} {dot} {}", weight(mixed), view.when))];
    if let Some(ready) = view.ready {
        facts.push(("ready to spray", format!("{} with thinner and hardener", weight(ready))));
    }
    let most = view.ready.unwrap_or(mixed);
    if let Some(left) = view.left.filter(|left| *left <= most) {
        // With thinner in it the mix's own part of what was sprayed is the same share.
        let sprayed = mixed - mixed.times(left.ratio_to(most).unwrap_or_default());
        let share = sprayed.share_of(mixed).unwrap_or_default();
        facts.push(("sprayed", format!("{} {dot} {}", weight(sprayed), notation.percent(share, 0))));
    }
    if recipe_is_ready(view) {
        facts.push(("ready to spray", "thinner and hardener were weighed with it".to_owned()));
    }
    facts.extend(view.pot_life.map(|words| ("pot life", words.to_owned())));
    facts.push(("on", view.job.unwrap_or("no job said").to_owned()));
    facts
}
