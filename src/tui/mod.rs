//! The full screen: state, update, view.
//!
//! [`App`] is the whole state; [`App::update`] takes a [`Message`] in and answers with [`Effect`]s; [`view`]
//! draws it; [`run`](run()) is the loop around them, the only part that touches the world.

mod amount;
mod app;
mod bench;
mod colours;
mod cups;
mod first_run;
mod first_run_words;
mod formula;
mod formula_view;
mod formula_writer;
mod ground;
mod importing;
mod keep_version;
pub mod keys;
mod known;
mod lags;
mod last;
mod loudspeaker;
mod message;
pub mod messages;
mod mouse;
mod of_use;
mod on_bench;
mod on_colours;
mod on_cup;
mod on_first_run;
mod on_formula;
mod on_landing;
mod on_scale_check;
mod on_scale_page;
mod on_scale_search;
mod on_scan;
mod on_unfinished;
mod preferences;
mod prompt;
mod prompt_view;
mod put_right;
mod rehearsal;
mod ringer;
mod run;
mod saving;
mod scale_check;
mod scale_log;
mod scale_page;
mod scale_watch;
mod scale_words;
mod scanned;
pub mod screens;
mod search;
mod shop_looker;
mod sound;
pub mod terminal;
#[cfg(test)]
mod tests;
pub mod text;
pub mod theme;
mod update;
pub mod view;
pub mod widgets;

pub use app::{App, FromBook, Settings, Waiting};
pub use cups::MOST as CUPS_AT_MOST;
pub use first_run::{Answers, Change, CountryOffered, FirstRun, FirstRunSaid, Offered, Seen, ShopAnswer};
pub use formula_writer::{Brought, FormulaDone, FormulaWork};
pub use ground::{Ground, KeepAnswers};
pub use known::Then;
pub use message::{Effect, Message, Now, ShopSeen};
pub use on_formula::Choice;
pub use on_scan::today;
pub use preferences::Preferences;
pub use run::{Opening, RunError, StartKeeper, run, run_on};
pub use search::{Proposal, Searching, Where};
pub use shop_looker::ShopFolder;
pub use sound::{Pattern, Sound, SoundError, Sounds, Voice};
