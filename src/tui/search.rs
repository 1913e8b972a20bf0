//! What the search for a scale has to say, and the thread that does it: nothing else may have the port meanwhile.

use super::message::Message;
use crate::scale::detect::{self, Finding, Outcome, Plan, PortProbe};
use crate::scale::{Address, Link, ports};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::SyncSender;
use std::thread::Builder;

/// Where to search.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Where {
    /// On that port.
    Port(String),
    /// On all that can be opened, until something is found.
    AllPorts,
}

/// What a search has to say.
#[derive(Clone, Debug)]
pub enum Searching {
    /// What it does now, in words.
    Step(String),
    /// It found what speaks there.
    Found(Proposal),
    /// It ended without finding anything, and what to do, in a sentence.
    Nothing(String),
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Proposal {
    /// The address to use.
    pub address: Address,
    /// How sure that is, in a word.
    pub sure: String,
    /// Why, in a sentence or two.
    pub why: String,
    /// What else it could be and what would settle it, a sentence each.
    pub others: Vec<String>,
}

/// A search that is under way. Dropping it stops it.
#[derive(Debug)]
pub(super) struct Searcher {
    stop: Arc<AtomicBool>,
}

impl Searcher {
    /// Starts a search; what it has to say comes as messages. The link to the scale is ended first, on the search's
    /// own thread, since that takes a moment.
    pub(super) fn start(
        place: Where,
        link: Option<Link>,
        sender: SyncSender<Message>,
    ) -> std::io::Result<Self> {
        let stop = Arc::new(AtomicBool::new(false));
        let asked = Arc::clone(&stop);
        Builder::new().name("search".to_owned()).spawn(move || {
            drop(link);
            let say = |what| drop(sender.send(Message::Searching(what)));
            let stopped = || asked.load(Ordering::Relaxed);
            let end = catch_unwind(AssertUnwindSafe(|| search(&place, &say, &stopped)));
            let failed = "the search failed; this is a fault of the program. Set the address by hand";
            say(end.unwrap_or_else(|_| Searching::Nothing(failed.to_owned())));
        })?;
        Ok(Self { stop })
    }
}

impl Drop for Searcher {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
    }
}

fn search(place: &Where, say: &dyn Fn(Searching), stopped: &dyn Fn() -> bool) -> Searching {
    let paths = match place {
        Where::Port(path) => vec![path.clone()],
        Where::AllPorts => {
            let usable = ports::list(false).into_iter().filter(|port| port.forbidden.is_none());
            usable.map(|port| port.lasting.unwrap_or(port.path)).collect()
        }
    };
    let mut last =
        "there is no serial port that may be opened: plug the scale's adapter in; `pourbook ports` \
                    says which are there and why they may not be opened"
            .to_owned();
    for path in paths {
        let mut progress = |step: detect::Progress| say(Searching::Step(format!("{path}: {step}")));
        let finding = detect::run(&mut PortProbe::new(&path), &Plan::asking(), &mut progress, stopped);
        match outcome(&path, &finding) {
            Searching::Nothing(why) => last = why,
            found => return found,
        }
        if stopped() {
            break;
        }
    }
    Searching::Nothing(last)
}

fn outcome(path: &str, finding: &Finding) -> Searching {
    let settings = finding.settings;
    Searching::Nothing(match &finding.outcome {
        Outcome::Found(found) => {
            let other = |other: &detect::Other| {
                format!(
                    "could also be {} as {}. {}",
                    detect::told(other.line),
                    other.shape.name(),
                    other.settled_by
                )
            };
            let address = match found.address(path).parse() {
                Ok(address) => address,
                Err(error) => return Searching::Nothing(format!("what was found cannot be used: {error}")),
            };
            return Searching::Found(Proposal {
                address,
                sure: found.sure.to_string(),
                why: found.why.clone(),
                others: found.others.iter().map(other).collect(),
            });
        }
        Outcome::Silent => format!(
            "{path} says nothing and answers nothing at {settings} settings: is the scale on, and its cable in?"
        ),
        Outcome::NotUnderstood => format!(
            "{path} sends something that no format explains at {settings} settings: hardware-notes.md shows how to \
             describe it in ten minutes"
        ),
        Outcome::Stopped => "stopped before anything was found".to_owned(),
        Outcome::Gone(why) => why.clone(),
    })
}
