//! The version of a formula that is being weighed, put aside on a thread of its own: neither the bench nor the mix
//! waits for it.

use super::message::Message;
use crate::catalogue::{FormulaFolder, Source};
use crate::units::Stamp;
use std::sync::mpsc::SyncSender;
use std::thread::Builder;

/// Keeps it if it is not kept yet. That it could not be kept is a message, and the mix goes on: its recipe is in the
/// book as a whole.
pub(super) fn start(
    shop: FormulaFolder,
    source: Source,
    at: Stamp,
    sender: SyncSender<Message>,
) -> std::io::Result<()> {
    Builder::new().name("versions".to_owned()).spawn(move || {
        if let Err(error) = shop.keep(&source.file, &source.version, at) {
            tracing::warn!(%error, file = source.file, "the version of a formula was not kept");
            let why = format!("The mix goes on, but its formula's version was not kept: {error}.");
            drop(sender.send(Message::VersionNotKept(why)));
        }
    })?;
    Ok(())
}
