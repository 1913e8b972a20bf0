//! From the state of the waste to what is drawn of it.

use super::app::App;
use super::keys::{Action, Context};
use super::screens::{Chrome, MixesView, WasteView};
use super::theme::Theme;
use super::waste::{Span, WastePage};
use super::widgets::prompt::Input;
use crate::report::reading::Fate;
use crate::report::waste::{MixCost, Row, Waste};
use crate::report::{Shown, tables};

/// Hands on the view of the waste.
pub(super) fn with_waste(
    app: &App,
    page: &WastePage,
    (chrome, theme): (Chrome<'_>, &Theme),
    see: impl FnOnce(WasteView<'_>),
) {
    let of = app.waste.of(page.span);
    let waste = of.map(|of| of.read.as_ref().map_err(String::as_str));
    let figures = waste.and_then(Result::ok);
    let rows: Vec<&Row> = page.shown();
    let mixes: Vec<&MixCost> = match (&page.opened, figures) {
        (Some(opened), Some(waste)) => opened.mixes.iter().filter_map(|at| waste.mixes.get(*at)).collect(),
        _ => Vec::new(),
    };
    let opened = page.opened.as_ref().map(|opened| MixesView {
        key: &opened.key,
        row: page.rows.iter().find(|row| row.key == opened.key),
        mixes: &mixes,
        selected: opened.selected,
    });
    let key = |context, action| app.bindings.shown(context, action, theme.symbols).unwrap_or_default();
    let other_time = key(Context::Waste, Action::Period);
    let nothing = match page.span {
        Span::All => "the book has no mix yet: pick a colour and weigh one, and say what became of the cup after spraying; \
                      what was not sprayed stands here then"
            .to_owned(),
        span => format!("no mix was begun in {}: {other_time} turns to another time", span.words()),
    };
    let again = format!("{} reads it again", key(Context::Waste, Action::ReadAgain));
    let notes = figures
        .map(|waste| notes(waste, &key(Context::Colours, Action::Cups), Shown(app.notation())))
        .unwrap_or_default();
    let query = Input { text: page.query.value(), cursor: page.query.visual_cursor() };
    see(WasteView {
        waste,
        is_reading: app.waste.is_reading(page.span),
        progress: app.waste.progress(page.span),
        span: page.span.words(),
        by: page.by(),
        rows: &rows,
        query,
        sort: page.sort.words(page.apart),
        selected: page.selected,
        opened,
        nothing: &nothing,
        again: &again,
        notes: &notes,
        seconds_east: app.settings.seconds_east,
        link_words: app.scale.word(),
        chrome,
    });
}

/// What has to be known of the figures, the most needed first.
pub(super) fn notes(waste: &Waste, cups_key: &str, shown: Shown) -> Vec<String> {
    let mass = |mass| format!("{} {}", shown.mass(mass), shown.unit());
    let mut notes = Vec::new();
    if waste.unreadable > 0 {
        notes.push(format!(
            "{} not to be read back wholly: `pourbook check` says more",
            tables::mixes(waste.unreadable)
        ));
    }
    if waste.priced.unpriced.is_positive() {
        notes.push(format!("{} have no price and cost nothing here", mass(waste.priced.unpriced)));
    }
    let in_cups = waste.total.of(Fate::InCup).mass;
    if in_cups.is_positive() {
        notes.push(format!(
            "of {} in cups nobody has said what became: {cups_key} on the colours",
            mass(in_cups)
        ));
    }
    if waste.total.of(Fate::Kept).mass.is_positive() {
        let kept = waste.of_kept;
        notes.push(format!(
            "of what was kept {} used again since, {} thrown away, {} still there",
            shown.mass(kept.used_again),
            shown.mass(kept.thrown),
            shown.mass(kept.still_there)
        ));
    }
    notes.push("of the mixes begun in this time; toners without thinner and hardener".to_owned());
    notes
}
