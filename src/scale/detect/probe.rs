//! What a search needs of a serial port: settings, bytes with their damage, questions, and the time.

use crate::scale::shape::UsualLine;
use crate::units::Moment;

/// A byte as the port has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Byte {
    /// Its data bits.
    pub value: u8,
    /// Whether its parity or its stop bit was wrong.
    pub damaged: bool,
}

/// Why a port does not do what it is told; each with a sentence for a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// It cannot be set like that. Another setting may do.
    Setting(String),
    /// It is not there, held by somebody else, or may not be opened.
    Gone(String),
}

/// A serial port that nobody else has open.
pub trait Probe: Send {
    /// The time, on a clock that only runs forward.
    fn now(&self) -> Moment;

    /// What the port was set to before anybody touched it, where that can be read.
    fn set_before(&self) -> Option<UsualLine>;

    /// Sets the line and drops what came before. Gives the setting that is then in force: a pseudo terminal has no
    /// parity, and some adapters have no seven data bits.
    fn set(&mut self, line: UsualLine) -> Result<UsualLine, Refusal>;

    /// Waits so many milliseconds at most, and appends what came.
    fn read(&mut self, ms: u64, out: &mut Vec<Byte>) -> Result<(), Refusal>;

    /// Sends a question.
    fn write(&mut self, bytes: &[u8]) -> Result<(), Refusal>;

    /// Whether it tells which bytes are damaged. Where it does not, a wrong parity is only seen in bit 7.
    fn tells_damage(&self) -> bool;
}
