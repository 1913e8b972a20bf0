//! The scale's own screen: what is being done with the scale.

use super::on_scale_search::Search;
use super::scale_check::Task;
use super::screens::Note;
use crate::scale::shape::Ask;

/// The state of the scale's screen.
#[derive(Debug, Default)]
pub(super) struct ScalePage {
    /// What became of the last question to the scale.
    pub(super) told: Option<Note>,
    /// The last question that went out.
    pub(super) asked: Option<Ask>,
    /// What is being done with the scale.
    pub(super) task: Option<Task>,
    /// The search for what speaks on the line.
    pub(super) search: Option<Search>,
}
