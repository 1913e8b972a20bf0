//! The scale's own screen: what it stands in front of, and what is being done with the scale.

use super::app::Screen;
use super::on_scale_search::Search;
use super::scale_check::Task;
use super::screens::Note;
use crate::scale::shape::Ask;

/// The state of the scale's screen.
#[derive(Debug)]
pub(super) struct ScalePage {
    /// What was on the screen before, to go back to.
    pub(super) before: Screen,
    /// What became of the last question to the scale.
    pub(super) told: Option<Note>,
    /// The last question that went out.
    pub(super) asked: Option<Ask>,
    /// What is being done with the scale.
    pub(super) task: Option<Task>,
    /// The search for what speaks on the line.
    pub(super) search: Option<Search>,
}

impl ScalePage {
    pub(super) const fn new(before: Screen) -> Self {
        Self { before, told: None, asked: None, task: None, search: None }
    }
}
