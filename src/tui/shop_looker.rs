//! The disk's side of the shop: looks through its folder on a thread of its own, and reads single colours, so that the
//! loop never waits.

use super::known::Then;
use super::message::{Message, ShopSeen};
use super::run::worker;
use crate::catalogue::index::{Looker, Looking, Seen, ShopIndex};
use crate::catalogue::{Finder, Listing};
use crate::units::Stamp;
use std::io;
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel};
use std::thread::Builder;
use std::time::{Duration, Instant};

/// A shop's folder as it was found when the program began.
#[derive(Clone, Debug)]
pub struct ShopFolder {
    /// Its index.
    pub index: ShopIndex,
    /// Every colour that is known so far, in a line.
    pub listing: Listing,
    /// Sees what has changed since.
    pub looker: Looker,
}

/// Why the folder is looked through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Why {
    /// Something was written: it is to be seen at once.
    Changed,
    /// Somebody else may have written: now and then is enough.
    Due,
}

/// The worker that looks, while it is there.
#[derive(Debug)]
pub(super) struct ShopLooker {
    index: ShopIndex,
    asks: Sender<Why>,
    sender: SyncSender<Message>,
}

/// A look that nobody waits for never takes more than one part in this of the worker's time.
const REST: u32 = 20;

/// From so many files that have to be read on it is said how far it has come.
const SAID_FROM: usize = 1_000;

impl ShopLooker {
    /// Starts looking, a first time at once.
    pub(super) fn start(index: ShopIndex, looker: Looker, sender: &SyncSender<Message>) -> io::Result<Self> {
        let (asks, inbox) = channel();
        worker("shop", sender, move |sender| look(looker, &inbox, sender))?;
        Ok(Self { index, asks, sender: sender.clone() })
    }

    /// The folder's index.
    pub(super) const fn index(&self) -> &ShopIndex {
        &self.index
    }

    /// Has it look again.
    pub(super) fn look(&self, at_once: bool) {
        let why = if at_once { Why::Changed } else { Why::Due };
        // A worker that is gone has said so itself.
        let _ = self.asks.send(why);
    }

    /// Reads a colour; what came of it is a message.
    pub(super) fn read(&self, file: String, then: Then) -> io::Result<()> {
        let (index, sender) = (self.index.clone(), self.sender.clone());
        Builder::new().name("colour".to_owned()).spawn(move || {
            let read = index.colour(&file).map(Box::new).map_err(|error| error.to_string());
            drop(sender.send(Message::ColourRead { file, read, then }));
        })?;
        Ok(())
    }
}

fn look(mut looker: Looker, asks: &Receiver<Why>, sender: &SyncSender<Message>) {
    let seen = |seen: Seen| {
        let finder = Finder::new(&seen.listing);
        let seen = ShopSeen { catalogue: seen.catalogue, listing: seen.listing, finder };
        sender.send(Message::ShopSeen(Box::new(seen))).is_ok()
    };
    loop {
        let begun = Instant::now();
        let now = Stamp(jiff::Timestamp::now().as_microsecond());
        let mut says = |said| match said {
            // What is over before it can be read is not said.
            Looking::Reading { of, .. } if of < SAID_FROM => true,
            Looking::Reading { read, of } => sender.send(Message::ShopReading { read, of }).is_ok(),
            Looking::SoFar(so_far) => seen(*so_far),
        };
        if let Some(all) = looker.look(now, &mut says)
            && !seen(all)
        {
            return;
        }
        if sender.send(Message::ShopLooked).is_err() {
            return;
        }
        let rest_until = Instant::now() + begun.elapsed().saturating_mul(REST).max(Duration::from_secs(1));
        loop {
            let Ok(why) = asks.recv() else { return };
            // What was asked meanwhile is seen by the same look.
            let at_once = asks.try_iter().chain([why]).any(|why| why == Why::Changed);
            if at_once || Instant::now() >= rest_until {
                break;
            }
        }
    }
}
