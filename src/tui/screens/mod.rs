//! The screens: each a plain struct of what to show, and a function that draws it. Nothing here decides
//! anything; what can be done now comes in with the view.

pub mod amount;
pub mod bench;
pub mod colours;
#[cfg(test)]
mod cup_tests;
pub mod delivery;
#[cfg(test)]
mod delivery_tests;
pub mod emptying;
pub mod first_run;
#[cfg(test)]
mod first_run_tests;
#[cfg(test)]
pub(crate) mod fixture;
pub mod formula;
#[cfg(test)]
mod formula_tests;
mod frame;
pub mod import;
pub mod job;
#[cfg(test)]
mod job_tests;
pub mod jobs;
pub mod leftovers;
pub mod messages;
pub mod mix_events;
#[cfg(test)]
mod notation_tests;
#[cfg(test)]
mod pictures;
#[cfg(test)]
mod ready_tests;
#[cfg(test)]
mod said_tests;
pub mod scale;
#[cfg(test)]
mod scale_tests;
pub mod shelf;
#[cfg(test)]
pub(crate) mod shelf_tests;
pub mod small;
#[cfg(test)]
mod states;
pub mod stocktake;
#[cfg(test)]
mod stores_tests;
#[cfg(test)]
mod styles_tests;
#[cfg(test)]
mod svg;
#[cfg(test)]
mod tests;
pub mod unfinished;
pub mod waste;
mod waste_mixes;
pub mod waste_overs;
mod waste_panel;
#[cfg(test)]
pub(crate) mod waste_tests;

pub use amount::AmountView;
pub use bench::{BenchView, CupPlace};
pub use colours::ColoursView;
pub use delivery::{ArrivingTin, DeliveryView};
pub use emptying::EmptyingView;
pub use first_run::{FirstRow, FirstRunView};
pub use formula::FormulaView;
pub use frame::Chrome;
pub use import::ImportView;
pub use job::{CardBox, JobView, LayerRow};
pub use jobs::{JobRow, JobsView};
pub use leftovers::{LeftoverPart, LeftoverRow, LeftoversView};
pub use messages::MessagesView;
pub use mix_events::EventsView;
pub use scale::{Note, ScaleView};
pub use shelf::{OpenedView, ShelfView};
pub use stocktake::{CountRow, Found, StocktakeView};
pub use unfinished::{ListOf, UnfinishedRow, UnfinishedView};
pub use waste::{Bars, MixesOf, MixesView, WasteView};
pub use waste_overs::{GIVEN_UP, OversView, PUT_RIGHT};

use super::theme::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// The least columns a screen is laid out for.
pub const LEAST_WIDTH: u16 = 80;
/// The least rows.
pub const LEAST_HEIGHT: u16 = 24;

/// What is on the screen.
#[derive(Clone, Debug)]
pub enum View<'a> {
    /// A mix on the scale.
    Bench(BenchView<'a>),
    /// Colours to pick from.
    Colours(ColoursView<'a>),
    /// How much, into which cup.
    Amount(AmountView<'a>),
    /// Mixes to take up again.
    Unfinished(UnfinishedView<'a>),
    /// A cup that came back from the booth.
    Emptying(EmptyingView<'a>),
    /// The stores manager's shelf.
    Shelf(ShelfView<'a>),
    /// The owner's waste.
    Waste(WasteView<'a>),
    /// A stocktake.
    Stocktake(StocktakeView<'a>),
    /// A delivery before it is received.
    Delivery(DeliveryView<'a>),
    /// What is kept of earlier mixes.
    Leftovers(LeftoversView<'a>),
    /// The repairs.
    Jobs(JobsView<'a>),
    /// One of them.
    Job(JobView<'a>),
    /// The scale itself.
    Scale(ScaleView<'a>),
    /// What was said lately.
    Messages(MessagesView<'a>),
    /// A formula being written.
    Formula(FormulaView<'a>),
    /// Formulas about to be taken in.
    Import(ImportView<'a>),
    /// A question of the first run.
    FirstRun(FirstRunView<'a>),
}

impl<'a> View<'a> {
    /// What is about the screen's own part.
    pub const fn chrome(&self) -> &Chrome<'a> {
        match self {
            Self::Bench(view) => &view.chrome,
            Self::Colours(view) => &view.chrome,
            Self::Amount(view) => &view.chrome,
            Self::Unfinished(view) => &view.chrome,
            Self::Emptying(view) => &view.chrome,
            Self::Shelf(view) => &view.chrome,
            Self::Waste(view) => &view.chrome,
            Self::Stocktake(view) => &view.chrome,
            Self::Delivery(view) => &view.chrome,
            Self::Leftovers(view) => &view.chrome,
            Self::Jobs(view) => &view.chrome,
            Self::Job(view) => &view.chrome,
            Self::Scale(view) => &view.chrome,
            Self::Messages(view) => &view.chrome,
            Self::Formula(view) => &view.chrome,
            Self::Import(view) => &view.chrome,
            Self::FirstRun(view) => &view.chrome,
        }
    }
}

/// Draws the view over the whole area, or what matters of it where there is too little room. Safe at any size.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let area = area.intersection(buf.area);
    buf.set_style(area, theme.base());
    if area.width < LEAST_WIDTH || area.height < LEAST_HEIGHT {
        small::draw(view, area, buf, theme);
        return;
    }
    match view {
        View::Bench(bench) => bench::draw(bench, area, buf, theme),
        View::Colours(colours) => colours::draw(colours, area, buf, theme),
        View::Amount(amount) => amount::draw(amount, area, buf, theme),
        View::Unfinished(unfinished) => unfinished::draw(unfinished, area, buf, theme),
        View::Emptying(cup) => emptying::draw(cup, area, buf, theme),
        View::Shelf(shelf) => shelf::draw(shelf, area, buf, theme),
        View::Waste(waste) => waste::draw(waste, area, buf, theme),
        View::Stocktake(stocktake) => stocktake::draw(stocktake, area, buf, theme),
        View::Delivery(delivery) => delivery::draw(delivery, area, buf, theme),
        View::Leftovers(leftovers) => leftovers::draw(leftovers, area, buf, theme),
        View::Jobs(jobs) => jobs::draw(jobs, area, buf, theme),
        View::Job(job) => job::draw(job, area, buf, theme),
        View::Scale(scale) => scale::draw(scale, area, buf, theme),
        View::Messages(messages) => messages::draw(messages, area, buf, theme),
        View::Formula(formula) => formula::draw(formula, area, buf, theme),
        View::Import(import) => import::draw(import, area, buf, theme),
        View::FirstRun(first) => first_run::draw(first, area, buf, theme),
    }
}

/// The buffer as lines of text, blanks at the ends cut off.
#[cfg(test)]
pub(crate) fn picture(buf: &Buffer) -> Vec<String> {
    use ratatui::buffer::CellWidth;
    (buf.area.top()..buf.area.bottom())
        .map(|y| {
            let mut line = String::new();
            let mut hidden = 0;
            for x in buf.area.left()..buf.area.right() {
                if hidden > 0 {
                    hidden -= 1;
                    continue;
                }
                let symbol = buf.cell((x, y)).unwrap().symbol();
                hidden = symbol.cell_width().saturating_sub(1);
                line.push_str(symbol);
            }
            line.trim_end().to_owned()
        })
        .collect()
}
