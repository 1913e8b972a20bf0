//! From the state of the waste to what is drawn of it.

use super::app::App;
use super::keys::{Action, Context};
use super::screens::{Chrome, MixesOf, MixesView, OversView, WasteView};
use super::theme::Theme;
use super::view::input;
use super::waste::{Span, WastePage};
use super::waste_opened::{Of, OpenedRow};
use super::widgets::prompt::Input;
use crate::book::Mark;
use crate::report::waste::{MixCost, Row, Waste};

/// What the mixes are behind, as the figures have it now.
fn mixes_of<'a>(of: &Of, page: &'a WastePage, waste: Option<&'a Waste>) -> Option<MixesOf<'a>> {
    match of {
        Of::Row(key) => page.rows.iter().find(|row| row.key == *key).map(MixesOf::Row),
        Of::Marked(Mark::Over(toner)) => {
            waste?.overs.iter().find(|over| over.toner == *toner && over.over > 0).map(MixesOf::Over)
        }
        Of::Marked(Mark::PutRight) => {
            Some(&waste?.corrections).filter(|all| all.count > 0).map(MixesOf::PutRight)
        }
        Of::Marked(Mark::GivenUp) => {
            Some(&waste?.corrections).filter(|all| all.given_up > 0).map(MixesOf::GivenUp)
        }
    }
}

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
    let mixes: Vec<&MixCost> = page.opened.as_ref().map(OpenedRow::shown).unwrap_or_default();
    let opened = page.opened.as_ref().map(|opened| MixesView {
        of: mixes_of(&opened.of, page, waste.and_then(Result::ok)),
        mixes: &mixes,
        read: opened.mixes.len(),
        query: input(&opened.query),
        sort: opened.sort.words(&opened.of),
        is_more: opened.is_more,
        is_reading: opened.wanted.is_some(),
        failed: opened.failed.as_deref(),
        selected: opened.selected,
        mix: opened.mix.as_ref().map(|mix| mix.view(None)),
    });
    let key = |context, action| app.bindings.shown(context, action, theme.symbols).unwrap_or_default();
    let other_time = key(Context::Waste, Action::Period);
    let nothing = match page.span {
        Span::All => "the book has no mix yet: pick a colour and weigh one, and say what became of the cup after spraying; \
                      what was not sprayed stands here then"
            .to_owned(),
        span => format!("no mix was begun in {}: {other_time} turns to another time", span.words()),
    };
    let (went_over, overs_key) = (page.shown_overs(), key(Context::Waste, Action::WentOver));
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
        overs: page.overs_page.as_ref().map(|overs| OversView {
            rows: &went_over,
            query: input(&overs.query),
            sort: overs.sort.words(),
            selected: overs.selected,
        }),
        opened,
        overs_key: &overs_key,
        nothing: &nothing,
        again: &again,
        cups_key: &cups,
        seconds_east: app.settings.seconds_east,
        link_words: app.scale.word(),
        chrome,
    });
}
