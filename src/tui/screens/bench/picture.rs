//! The cup and the close-up of a mix as it stands.

use super::BenchView;
use super::figure::steps;
use crate::catalogue::Swatch;
use crate::mix::{Judgement, Phase, Recipe};
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::closeup::Closeup;
use crate::tui::widgets::cup::{Cup, Layer, Mark};
use crate::units::{Decimal, Grams, Notation};

/// The picture of the whole mix.
pub(super) fn cup(view: &BenchView<'_>, notation: Notation) -> Cup {
    let session = view.session;
    let division = session.limits().division;
    let recipe = session.recipe();
    // Without a reading the picture is what the book knows.
    let net = view.weight().unwrap_or_else(|| session.holds());
    let extra = net - session.holds();
    let weighing = session.phase() == Phase::Weighing;
    // What is poured of a leftover is of no toner.
    let pouring = session.current().filter(|_| weighing && view.pour_in.is_none());
    let own = session.order().iter().map(|&line| {
        let live = if pouring == Some(line) { extra.max(Grams::ZERO) } else { Grams::ZERO };
        let swatch = recipe.lines().get(line).and_then(|line| line.swatch);
        Layer { mass: session.poured(line) + live, swatch }
    });
    let foreign = session.foreign().iter().map(|(_, mass)| Layer { mass: *mass, swatch: None });
    let leftover = view
        .pour_in
        .filter(|_| weighing)
        .map(|_| Layer { mass: extra.max(Grams::ZERO), swatch: stirred(recipe) });
    let mut layers: Vec<Layer> = own.chain(foreign).chain(leftover).collect();
    // While some is taken out everything in the cup goes down together.
    if extra.is_negative()
        && let Some(kept) = net.max(Grams::ZERO).ratio_to(session.holds())
    {
        for layer in &mut layers {
            layer.mass = layer.mass.times(kept);
        }
    }

    let brim = session.start().vessel.brim;
    let full = recipe.mass_for(brim);
    let mark = |at: Grams, name, label: String, meaning, line| Mark { at, name, label, meaning, line };
    let mut marks = Vec::new();
    if let Some(net) = view.weight() {
        let meaning = if view.steady { Meaning::Steady } else { Meaning::Moving };
        marks.push(mark(net, "now", notation.weight(net, division), meaning, false));
    }
    if let Some(stop) = session.shown_stop().or_else(|| session.draw_to()) {
        // Once it is right the two would only crowd each other.
        let reached =
            view.weight().is_some_and(|net| matches!(session.judge(net), Some(Judgement::Right(_))));
        if !reached {
            marks.push(mark(stop, "stop", notation.weight(stop, division), Meaning::Value, true));
        }
    }
    let end = session.end_mass();
    let ends_now = marks.iter().any(|mark| division.round(mark.at) == division.round(end));
    if !ends_now {
        marks.push(mark(end, "", format!("{} end", notation.weight(end, division)), Meaning::Muted, false));
    }
    marks.push(mark(full, "", format!("{} brim", notation.volume_number(brim, 0)), Meaning::Muted, false));
    Cup { layers, full, marks }
}

/// About what the stirred mix looks like, as a leftover of the same layer does: its toners' swatches by their shares. To
/// tell it from the toners, not to judge a match by. None where none of them has one.
fn stirred(recipe: &Recipe) -> Option<Swatch> {
    let (mut sums, mut all) = ([0_u64; 3], 0_u64);
    for (share, line) in recipe.shares().into_iter().zip(recipe.lines()) {
        let Some(swatch) = line.swatch else { continue };
        let millionths = share.decimal().saturating_mul(Decimal::new(1_000_000, 0));
        let part = u64::try_from(millionths.trunc().mantissa()).unwrap_or(0);
        all = all.saturating_add(part);
        for (sum, channel) in sums.iter_mut().zip([swatch.red, swatch.green, swatch.blue]) {
            *sum = sum.saturating_add(part.saturating_mul(u64::from(channel)));
        }
    }
    let [red, green, blue] =
        sums.map(|sum| u8::try_from(sum.checked_div(all).unwrap_or(0)).unwrap_or(u8::MAX));
    (all > 0).then_some(Swatch { red, green, blue })
}

/// The last stretch before the stop; none when nothing is poured or drawn off.
pub(super) fn closeup(view: &BenchView<'_>, theme: &Theme) -> Option<Closeup> {
    let session = view.session;
    let division = session.limits().division;
    let step = division.grams();
    let weight = view.weight();
    let moving = weight.is_some() && !view.steady;
    let landing_words = |at: Grams| format!("lands about {}", theme.notation.weight(at, division));
    if let Some(down_to) = session.draw_to() {
        return Some(Closeup {
            to_go: weight.map(|net| net - down_to),
            began: session.holds() - down_to,
            before: step.times(Decimal::new(5, 1)),
            past: step,
            landing: None,
            ease: None,
            division,
            moving,
            words: if moving { "drawing off".to_owned() } else { String::new() },
            landing_words: String::new(),
        });
    }
    let goal = session.goal()?;
    let landing = view.landing.filter(|_| weight.is_some());
    Some(Closeup {
        to_go: weight.map(|net| goal.stop - net),
        began: goal.missing,
        before: goal.stop - goal.low,
        past: goal.high - goal.stop,
        landing: landing.map(|at| goal.stop - at),
        ease: view.ease_at.filter(|_| weight.is_some()).map(|at| goal.stop - at),
        division,
        moving,
        words: match view.tip {
            Some(percent) => format!("tipped {}", steps(percent, 8, theme)),
            None if moving => "pouring".to_owned(),
            None => String::new(),
        },
        landing_words: landing.map(landing_words).unwrap_or_default(),
    })
}
