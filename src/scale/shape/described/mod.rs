//! A format that this program does not have, described in a few lines of TOML by somebody with the scale's
//! manual in hand. The keys are in `hardware-notes.md`.

mod check;
mod cut;
mod item;
mod layout;
mod load;
mod notation;
mod nouns;
mod number;
mod place;
mod problem;

pub use notation::shown;
pub use problem::Problem;

use super::{Ask, Decoder, Shape, UsualLine};
use crate::scale::Frame;
use layout::Layout;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use thiserror::Error;

/// A described format.
#[derive(Debug)]
pub struct Described {
    name: String,
    looks_like: String,
    line: UsualLine,
    frame: Arc<Framed>,
    commands: Vec<(Ask, Vec<u8>)>,
    /// What should be known of it, in the look of a problem.
    remarks: Vec<String>,
    /// As an address names it; empty where it was read from a tape.
    address: String,
    text: String,
}

/// What every decoder of a format needs of it.
#[derive(Debug)]
struct Framed {
    /// Empty where a line begins after the end of the last.
    start: Vec<u8>,
    /// Empty where the lines behind a start mark all have one length.
    end: Vec<u8>,
    layout: Layout,
}

/// Why a description cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum DescriptionError {
    /// The file cannot be read.
    #[error("the description of the format cannot be read: {}: {why}. A path that begins without / begins in the folder you are in", .path.display())]
    File {
        /// Which file.
        path: PathBuf,
        /// What the system says.
        why: String,
    },
    /// Mistakes, all of them.
    #[error("the description of a format has {}\n{}", counted(.0), listed(.0))]
    Mistakes(Vec<Problem>),
}

fn counted(problems: &[Problem]) -> String {
    match problems.iter().filter(|problem| !problem.is_warning).count() {
        1 => "a mistake".to_owned(),
        count => format!("{count} mistakes"),
    }
}

fn listed(problems: &[Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// Every description that was ever loaded.
///
/// A format is `&'static` everywhere, as the built-in ones are, so that a loaded one is leaked. A run of the
/// program loads one or two of a few hundred bytes, and the same text only once.
static LOADED: Mutex<Vec<&'static Described>> = Mutex::new(Vec::new());

impl Described {
    /// Whether what an address says as `shape=` is the file of a description rather than a name.
    pub fn is_file(name: &str) -> bool {
        Path::new(name).extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml"))
    }

    /// The format described in that file. The same file, unchanged, gives the same one again.
    ///
    /// # Errors
    /// It cannot be read, or has mistakes: all of them are named.
    pub fn load(path: &Path) -> Result<&'static Self, DescriptionError> {
        let text = std::fs::read_to_string(path)
            .map_err(|error| DescriptionError::File { path: path.to_owned(), why: error.to_string() })?;
        Self::parse(&path.display().to_string(), &text)
    }

    /// The format described in that text, which came from there.
    ///
    /// # Errors
    /// It has mistakes: all of them are named.
    pub fn parse(file: &str, text: &str) -> Result<&'static Self, DescriptionError> {
        Self::known_or(file, file, text)
    }

    /// The format described on a tape. No address can name it.
    ///
    /// # Errors
    /// It has mistakes: all of them are named.
    pub(crate) fn on_tape(text: &str) -> Result<&'static Self, DescriptionError> {
        Self::known_or("", "the tape's own description", text)
    }

    fn known_or(address: &str, file: &str, text: &str) -> Result<&'static Self, DescriptionError> {
        let mut loaded = LOADED.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = loaded.iter().find(|known| known.address == address && known.text == text) {
            return Ok(known);
        }
        let described: &'static Self = Box::leak(Box::new(load::read(address, file, text)?));
        loaded.push(described);
        Ok(described)
    }
}

impl Shape for Described {
    fn name(&self) -> &str {
        &self.name
    }

    fn looks_like(&self) -> &str {
        &self.looks_like
    }

    fn usual_line(&self) -> UsualLine {
        self.line
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(cut::Cutter::new(Arc::clone(&self.frame)))
    }

    fn ask(&self, what: Ask) -> Option<&[u8]> {
        self.commands.iter().find(|(ask, _)| *ask == what).map(|(_, bytes)| bytes.as_slice())
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        let Framed { start, end, layout } = &*self.frame;
        layout.write(frame).map(|line| [start, line.as_slice(), end].concat()).unwrap_or_default()
    }

    /// Of commands that begin alike the longest counts.
    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        (0..bytes.len()).find_map(|at| {
            let rest = bytes.get(at..)?;
            let begins = self.commands.iter().filter(|(_, command)| rest.starts_with(command));
            let (ask, command) = begins.max_by_key(|(_, command)| command.len())?;
            Some((*ask, at + command.len()))
        })
    }

    fn address(&self) -> &str {
        &self.address
    }

    /// The description itself, so that a tape can be played where the file is not.
    fn on_tape(&self) -> String {
        let lines = self.text.lines().map(|line| format!("{TAPE_LINE} {line}\n"));
        std::iter::once("# its format is described in the lines that begin with #|\n".to_owned())
            .chain(lines)
            .collect()
    }

    fn remarks(&self) -> &[String] {
        &self.remarks
    }
}

/// What a line of a tape begins with that is a line of a description.
pub(crate) const TAPE_LINE: &str = "#|";

#[cfg(test)]
mod tests;
