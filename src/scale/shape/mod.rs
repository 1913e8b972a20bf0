//! Wire formats, one file each, named by shape. A new one is a file here, an entry in [`ALL`], and its
//! captures under `tests/captures/`.

mod assembler;
mod bytes;
mod command_reply;
mod control_frames;
mod cr_led;
pub mod described;
mod field;
mod header_comma;
mod letters_prefix;
mod lf_etx_status;
mod nameplate;
mod sign_digits_unit;
mod sma;
mod soh_block;
mod stx_text;
mod stx_words;
mod trailing_question;
mod trailing_status;
mod two_step_reply;

pub use bytes::Bytes;
pub use command_reply::CommandReply;
pub use cr_led::CrLed;
pub use described::Described;
pub use header_comma::HeaderComma;
pub use letters_prefix::LettersPrefix;
pub use lf_etx_status::LfEtxStatus;
pub use nameplate::Nameplate;
pub use sign_digits_unit::SignDigitsUnit;
pub use sma::Sma;
pub use soh_block::SohBlock;
pub use stx_text::StxText;
pub use stx_words::StxWords;
pub use trailing_question::TrailingQuestion;
pub use trailing_status::TrailingStatus;
pub use two_step_reply::TwoStepReply;

use super::Frame;

/// Every wire format.
pub const ALL: &[&dyn Shape] = &[
    &Sma,
    &HeaderComma,
    &SignDigitsUnit,
    &CommandReply,
    &StxWords,
    &StxText,
    &LfEtxStatus::PLAIN,
    &LfEtxStatus::INVERTED,
    &SohBlock,
    &CrLed,
    &TrailingStatus,
    &TrailingQuestion,
    &TwoStepReply,
    &LettersPrefix,
];

/// The format of that name.
pub fn by_name(name: &str) -> Option<&'static dyn Shape> {
    ALL.iter().copied().find(|shape| shape.name() == name)
}

/// The name that was probably meant by one that does not exist.
pub fn nearest_name(typed: &str) -> Option<&'static str> {
    let typed = typed.trim().to_ascii_lowercase().replace(['_', ' '], "-");
    let closeness = |name: &str| strsim::jaro_winkler(name, &typed);
    let names = ALL.iter().map(|shape| shape.name());
    let nearest = names.max_by(|a, b| closeness(a).total_cmp(&closeness(b)))?;
    (closeness(nearest) >= 0.75).then_some(nearest)
}

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
    /// Understood and begun: what comes of it is told in another answer, and nothing may be asked before that.
    Accepted,
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
    /// The next unit. Only ever on a person's key.
    NextUnit,
    /// Forget the tare. Only ever on a person's key.
    ClearTare,
    /// Who are you, first line.
    About,
    /// Who are you, next line.
    AboutNext,
    /// What can you do, first line: capacity, unit, division.
    Information,
    /// What can you do, next line.
    InformationNext,
}

impl Ask {
    /// Whether the scale weighs differently afterwards. Such a thing is never sent while only looking.
    pub const fn changes_the_scale(self) -> bool {
        matches!(self, Self::Zero | Self::Tare | Self::ClearTare | Self::NextUnit)
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

impl UsualLine {
    /// 9600 8N1, the most common.
    pub const COMMON: Self = Self { baud: 9600, data_bits: 8, parity: 'N', stop_bits: 1 };
}

/// A wire format.
pub trait Shape: Sync + std::fmt::Debug {
    /// Its name in an address, as `sma`.
    fn name(&self) -> &str;
    /// What it looks like, in a line for a person.
    fn looks_like(&self) -> &str;
    /// Its usual line settings.
    fn usual_line(&self) -> UsualLine;
    /// A new decoder, at the ground state.
    fn decoder(&self) -> Box<dyn Decoder>;
    /// The bytes that ask for it; none where the format has no such command.
    fn ask(&self, what: Ask) -> Option<&[u8]>;
    /// The bytes a scale would send for that frame: for the virtual bench, and to prove the decoder. None at
    /// all where the format has no way to say it, as a number too long for its field.
    fn encode(&self, frame: &Frame) -> Vec<u8>;
    /// The bytes a scale would send as that answer to what it was asked; none where the format has no such
    /// answer, as where zero and tare are answered with a weight.
    fn reply(&self, _to: Ask, _answer: &Answer) -> Option<Vec<u8>> {
        None
    }
    /// What a virtual scale of this shape understands in those bytes, and how many of them it used up: the
    /// first whole command that can be told as an [`Ask`], and all before it. None while there is no such one.
    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)>;
    /// What that answer says of the scale's unit, capacity and division; none where it says nothing of them.
    fn nameplate(&self, _answer: &Answer) -> Option<Nameplate> {
        None
    }
    /// What names it in an address: its name, or the file that describes it.
    fn address(&self) -> &str {
        self.name()
    }
    /// The lines at the top of a tape from which the tape's reader knows the format.
    fn on_tape(&self) -> String {
        format!("shape {}\n", self.name())
    }
    /// What whoever uses it should know, in lines for a person.
    fn remarks(&self) -> &[String] {
        &[]
    }
}

/// A state machine from bytes to frames. Bytes may come split or merged anywhere; on anything unexpected it
/// goes back to the ground state and waits for the next frame. It never allocates without bound.
pub trait Decoder: Send {
    /// Takes the next bytes and appends what they complete.
    fn push(&mut self, bytes: &[u8], out: &mut Vec<Decoded>);
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[test]
    fn every_shape_is_found_by_its_own_name_only() {
        for shape in ALL {
            assert_eq!(by_name(shape.name()).unwrap().name(), shape.name());
        }
        assert!(by_name("SMA").is_none() && by_name("").is_none());
    }

    #[rstest]
    #[case("SMA", Some("sma"))]
    #[case("smaa", Some("sma"))]
    #[case("header_comma", Some("header-comma"))]
    #[case("hedder-coma", Some("header-comma"))]
    #[case("sign-digit-unit", Some("sign-digits-unit"))]
    #[case("comand reply", Some("command-reply"))]
    #[case("xyzzy", None)]
    #[case("", None)]
    fn a_mistyped_name_is_put_right(#[case] typed: &str, #[case] meant: Option<&str>) {
        assert_eq!(nearest_name(typed), meant);
    }
}
