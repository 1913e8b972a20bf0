//! From what was answered of an amount to what is drawn of it.

use super::amount::{Amount, Outlook, up};
use super::app::App;
use super::keys::Action;
use super::make_ready::volumes;
use super::screens::{AmountView, Chrome};
use super::theme::Theme;
use super::view::input;
use crate::catalogue::TonerCode;
use crate::job::thin_words;
use crate::mix::{LinePart, weighable};
use crate::units::{Millilitres, Notation};

/// Hands on the view of asking how much.
pub(super) fn with_amount(
    app: &App,
    amount: &Amount,
    (chrome, theme): (Chrome<'_>, &Theme),
    see: impl FnOnce(AmountView<'_>),
) {
    let (limits, accuracy) = (app.limits(), app.accuracy());
    let outlook = amount.outlook(limits, accuracy);
    let error = outlook.as_ref().err().map(|error| app.notation().told(error));
    let outlook: Option<&Outlook> = outlook.as_ref().ok();
    let ready = ready_words(amount);
    let key = app.bindings.shown(chrome.keys.context, Action::OfferedAmount, theme.symbols);
    let notes = notes(app, amount, outlook, key.as_deref());
    see(AmountView {
        recipe: &amount.recipe,
        input: input(&amount.typed),
        error: error.as_deref(),
        targets: outlook.map(|outlook| &outlook.targets),
        smallest: weighable::smallest_weight(limits.division, accuracy),
        too_small: outlook.map_or(&[], |outlook| &outlook.too_small),
        smallest_volume: outlook.and_then(|outlook| outlook.smallest_volume),
        cups: &app.catalogue.cups,
        cup: amount.cup.unwrap_or(0),
        least_risk: amount.least_risk,
        ready: ready.as_deref(),
        notes: &notes,
        job: amount.job.as_ref().map(|job| job.name.as_str()),
        leftovers: &amount.leftovers,
        begins_with: amount.begins_with,
        division: limits.division,
        capacity: limits.capacity,
        link_words: app.scale.word(),
        chrome,
    });
}

/// What it is made ready with, in a few words; none where there is nothing to choose.
fn ready_words(amount: &Amount) -> Option<String> {
    let ready = amount.ready.as_ref()?;
    let product = ready.product.code.as_str();
    if !ready.on {
        return Some(format!("nothing ({product} can)"));
    }
    let added = [ready.hardener(), ready.thinner()];
    let codes: Vec<_> = added.into_iter().flatten().map(TonerCode::as_str).collect();
    Some(format!("{product}: {}", codes.join(", ")))
}

/// What is to be known of the amount, in sentences.
fn notes(app: &App, amount: &Amount, outlook: Option<&Outlook>, key: Option<&str>) -> Vec<String> {
    let notation = app.notation();
    let mut notes = Vec::new();
    if let Some(job) = &amount.job {
        let wanted = job.sentence.clone().unwrap_or_else(|| "the job does not say how much".to_owned());
        let alone = if job.for_cards { "for spray-out cards alone: " } else { "" };
        notes.push(format!("{alone}{wanted}"));
    }
    let product = amount.ready.as_ref().filter(|ready| ready.on).map(|ready| &ready.product);
    if let Some(outlook) = outlook {
        notes.extend(in_parts(amount, outlook.targets.volume, notation));
        notes.extend(left_over(app, amount, outlook, key));
    }
    let cup = app.settings.preferences.job.flow_cup;
    notes.extend(product.and_then(|product| product.at_the_gun(|thin| thin_words(thin, cup, notation))));
    notes
}

/// A volume ready to spray in its parts.
fn in_parts(amount: &Amount, ready: Millilitres, notation: Notation) -> Option<String> {
    let readied = amount.recipe.readied.as_ref()?;
    let colours = amount.recipe.lines().iter().filter(|line| line.part.is_colour()).count();
    let parts: Vec<_> = volumes(&amount.recipe, ready)
        .into_iter()
        .map(|(part, code, volume)| {
            let volume = notation.volume(volume, 0);
            match part {
                // What comes out of a tin is no colour, as a clear.
                LinePart::Colour if colours == 1 => format!("{volume} {} {code}", amount.recipe.role.name()),
                LinePart::Colour => format!("{volume} colour"),
                LinePart::Hardener => format!("{volume} hardener {code}"),
                LinePart::Thinner => format!("{volume} thinner {code}"),
            }
        })
        .collect();
    let has_hardener = amount.recipe.lines().iter().any(|line| line.part == LinePart::Hardener);
    let pot_life = match readied.pot_life {
        Some(minutes) => format!("; pot life {minutes} min from the hardener"),
        None if has_hardener => "; its pot life is not in products.toml".to_owned(),
        None => String::new(),
    };
    Some(format!("{} ready to spray: {}{pot_life}", notation.volume(ready, 0), parts.join(", ")))
}

/// What the least that can be weighed would leave over of what the job asks for, where it asks for less.
fn left_over(app: &App, amount: &Amount, outlook: &Outlook, key: Option<&str>) -> Option<String> {
    let wanted = up(amount.job.as_ref()?.wanted?);
    let least = amount.offers(app.limits(), app.accuracy()).into_iter().find(|offer| *offer > wanted)?;
    let notation = app.notation();
    let over = notation.volume(least - wanted, 0);
    Some(if outlook.targets.volume == least {
        format!("that is the least that can be weighed well: {over} over")
    } else {
        let takes = key.map(|key| format!(": {key} takes that")).unwrap_or_default();
        format!("{} could be weighed well, {over} over{takes}", notation.volume(least, 0))
    })
}
