//! Wire formats, one file each, named by shape. A new one is a file here, an entry in [`ALL`], and its
//! captures under `tests/captures/`.

use super::Frame;

/// What a decoder made of the bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Decoded {
    /// A weight, or word that there is none just now.
    Frame(Frame),
    /// An answer to something that was asked, which is not a weight.
    Answer(Answer),
    /// That many bytes that belong to no frame.
    Noise(usize),
}

/// An answer that is not a weight. Texts are printable.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Done, as asked.
    Done,
    /// Refused, with why in words.
    Refused(String),
    /// The scale does not know that command.
    Unknown,
    /// The scale says that it received our command damaged.
    Damaged,
    /// A line about the scale itself: a name and a value.
    About(String, String),
}

/// Something to ask of a scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Ask {
    /// The weight, now.
    Now,
    /// The weight, once it is stable.
    WhenStable,
    /// Weights without end.
    Repeat,
    /// End the weights without end.
    Stop,
    /// Set zero. Only ever on a person's key: see [`Ask::changes_the_scale`].
    Zero,
    /// Tare. Only ever on a person's key.
    Tare,
    /// Who are you, first line.
    About,
    /// Who are you, next line.
    AboutNext,
}

impl Ask {
    /// Whether the scale weighs differently afterwards. Such a thing is never sent while only looking.
    pub const fn changes_the_scale(self) -> bool {
        matches!(self, Self::Zero | Self::Tare)
    }
}

/// The usual line settings of a format, where the shop has set none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UsualLine {
    /// Bits a second.
    pub baud: u32,
    /// Data bits, 7 or 8.
    pub data_bits: u8,
    /// `N`, `E` or `O`.
    pub parity: char,
    /// Stop bits, 1 or 2.
    pub stop_bits: u8,
}

/// A wire format.
pub trait Shape: Sync + std::fmt::Debug {
    /// Its name in an address, as `sma`.
    fn name(&self) -> &'static str;
    /// What it looks like, in a line for a person.
    fn looks_like(&self) -> &'static str;
    /// Its usual line settings.
    fn usual_line(&self) -> UsualLine;
    /// A new decoder, at the ground state.
    fn decoder(&self) -> Box<dyn Decoder>;
    /// The bytes that ask for it; none where the format has no such command.
    fn ask(&self, what: Ask) -> Option<&'static [u8]>;
    /// The bytes a scale would send for that frame: for the virtual bench, and to prove the decoder.
    fn encode(&self, frame: &Frame) -> Vec<u8>;
    /// What a virtual scale of this shape understands in those bytes, and how many of them it used up.
    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)>;
}

/// A state machine from bytes to frames. Bytes may come split or merged anywhere; on anything unexpected it
/// goes back to the ground state and waits for the next frame. It never allocates without bound.
pub trait Decoder: Send {
    /// Takes the next bytes and appends what they complete.
    fn push(&mut self, bytes: &[u8], out: &mut Vec<Decoded>);
}
