//! Why a command did not do what it was asked, and what to do now.

use super::out;
use std::error::Error;
use std::fmt;
use std::io;
use std::process::ExitCode;

/// What kind of failure it is: it decides how the program ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// It could not be done: 1.
    Failed,
    /// The command was wrong: 2.
    Wrong,
    /// It was found out and said in the results that something is not well: 1, and nothing more to say.
    Said,
    /// Nobody reads the results any more: the end, and no failure.
    Closed,
}

/// A command's failure: of what kind, why, and hints what to do now.
#[derive(Debug)]
pub struct CliError {
    kind: Kind,
    source: Box<dyn Error + Send + Sync>,
    hints: Vec<String>,
}

impl CliError {
    fn new(kind: Kind, source: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self { kind, source: source.into(), hints: Vec::new() }
    }

    /// It could not be done.
    pub fn failed(source: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self::new(Kind::Failed, source)
    }

    /// The command was wrong.
    pub(super) fn wrong(source: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self::new(Kind::Wrong, source)
    }

    /// The results already say that something is not well.
    pub(super) fn said() -> Self {
        Self::new(Kind::Said, "something is not well")
    }

    /// The same with one more thing to do now: a sentence.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }

    /// Says it on standard error, and how the program ends.
    pub(super) fn report(&self) -> ExitCode {
        match self.kind {
            Kind::Closed => return ExitCode::SUCCESS,
            Kind::Said => return ExitCode::FAILURE,
            Kind::Failed | Kind::Wrong => {}
        }
        out::note(format_args!("pourbook: {self}"));
        for hint in &self.hints {
            out::note(format_args!("  {hint}"));
        }
        if self.kind == Kind::Wrong { ExitCode::from(2) } else { ExitCode::FAILURE }
    }
}

impl fmt::Display for CliError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.source.fmt(f)
    }
}

impl Error for CliError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        self.source.source()
    }
}

impl From<io::Error> for CliError {
    fn from(error: io::Error) -> Self {
        let kind = if error.kind() == io::ErrorKind::BrokenPipe { Kind::Closed } else { Kind::Failed };
        Self::new(kind, error)
    }
}
