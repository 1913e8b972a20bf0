//! From the state of the waste to what is drawn of it.

use super::app::App;
use super::keys::{Action, Context};
use super::screens::{Chrome, EventsView, MixesView, WasteView};
use super::theme::Theme;
use super::waste::{Span, WastePage};
use super::widgets::prompt::Input;
use crate::report::waste::Row;

/// Hands on the view of the waste.
pub(super) fn with_waste(
    app: &App,
    page: &WastePage,
    (chrome, theme): (Chrome<'_>, &Theme),
    see: impl FnOnce(WasteView<'_>),
) {
    let of = app.waste.of(page.span);
    let waste = of.map(|of| of.read.as_ref().map(|told| &told.waste).map_err(String::as_str));
    let rows: Vec<&Row> = page.shown();
    let opened = page.opened.as_ref().map(|opened| MixesView {
        key: &opened.key,
        row: page.rows.iter().find(|row| row.key == opened.key),
        mixes: &opened.mixes,
        is_more: opened.is_more,
        is_reading: opened.wanted.is_some(),
        failed: opened.failed.as_deref(),
        selected: opened.selected,
        mix: opened.mix.as_ref().map(|mix| EventsView {
            number: mix.number,
            events: mix.read.as_ref().map(|read| read.as_deref().map_err(String::as_str)),
            first: mix.first,
        }),
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
    let cups = key(Context::Colours, Action::Cups);
    let query = Input { text: page.query.value(), cursor: page.query.visual_cursor() };
    see(WasteView {
        waste,
        is_reading: app.waste.is_reading(page.span),
        span: page.span.words(),
        by: page.by(),
        rows: &rows,
        query,
        sort: page.sort.words(page.apart),
        bars: page.sort.bars(),
        selected: page.selected,
        opened,
        nothing: &nothing,
        again: &again,
        cups_key: &cups,
        seconds_east: app.settings.seconds_east,
        link_words: app.scale.word(),
        chrome,
    });
}
