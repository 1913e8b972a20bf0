//! What a search does: the settings in order, for how long it listens, and what it may ask.

use super::line::{hears_as, usual};
use super::uart::garbled;
use crate::scale::shape::{self, Ask, Shape, UsualLine};

/// How to search a port.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The formats to listen for.
    pub shapes: Vec<&'static dyn Shape>,
    /// The settings to try first, as that of an address; after them comes what the port is set to, then the usual ones.
    pub first: Vec<UsualLine>,
    /// For how long each setting is listened to, in milliseconds.
    pub listen_ms: u64,
    /// For how long a setting is listened to at most, where readings come but slowly.
    pub listen_most_ms: u64,
    /// Whether to ask what does not speak by itself.
    pub ask: bool,
    /// How long an answer may take, without its time on the wire.
    pub answer_ms: u64,
}

impl Plan {
    /// Only listens; nothing is sent.
    pub fn listening() -> Self {
        Self {
            shapes: shape::ALL.to_vec(),
            first: Vec::new(),
            listen_ms: 1_500,
            listen_most_ms: 6_000,
            ask: false,
            answer_ms: 300,
        }
    }

    /// Listens, then asks the harmless questions.
    pub fn asking() -> Self {
        Self { ask: true, ..Self::listening() }
    }

    /// The same, but this setting before all others.
    #[must_use]
    pub fn from(mut self, line: UsualLine) -> Self {
        self.first.push(line);
        self
    }

    /// The settings in the order in which they are tried, each once.
    pub fn settings(&self, set_before: Option<UsualLine>) -> Vec<UsualLine> {
        let of_shapes = self.shapes.iter().map(|shape| shape.usual_line());
        let likely = super::line::LIKELY.into_iter().chain(of_shapes).chain(usual());
        let mut settings: Vec<UsualLine> = Vec::new();
        for line in self.first.iter().copied().chain(set_before).chain(likely) {
            if !settings.iter().any(|other| hears_as(*other, line)) {
                settings.push(line);
            }
        }
        settings
    }

    /// The questions to ask at that setting, each once: those of the formats that usually have it first. What could
    /// be taken for a command that changes the scale, by any format, is left out; so is what a scale with another
    /// usual setting would hear as one.
    pub fn questions(&self, line: UsualLine) -> Vec<&'static [u8]> {
        let mut shapes = self.shapes.clone();
        shapes.sort_by_key(|shape| !hears_as(shape.usual_line(), line));
        let mut questions: Vec<&'static [u8]> = Vec::new();
        for shape in shapes {
            if let Some(question) = question(shape)
                && !questions.contains(&question)
                && is_harmless_however_heard(question, line)
            {
                questions.push(question);
            }
        }
        // What ends no line would stand in front of the next question, and be one with it.
        questions.sort_by_key(|question| !question.ends_with(b"\r") && !question.ends_with(b"\n"));
        questions
    }
}

/// The time between the bytes of a question, in milliseconds: longer than a byte takes at any usual speed. A receiver
/// that is set otherwise cannot then run two bytes together to something that nobody sent.
pub(super) const BETWEEN_MS: u64 = 20;

/// What is sent first at each setting: it belongs to no command, and spoils whatever a scale made of the questions at
/// the setting before. Without it a letter that a scale misheard there could be ended here, and be one.
pub(super) const SPOILER: &[u8] = b"?";

/// The harmless question for a weight that this format has; none where it has none, or none that is harmless to every
/// other format too.
pub fn question(shape: &'static dyn Shape) -> Option<&'static [u8]> {
    let asks = [Ask::Now, Ask::WhenStable].into_iter().filter(|ask| !ask.changes_the_scale());
    asks.filter_map(|ask| shape.ask(ask)).find(|bytes| is_harmless(bytes))
}

/// The letters that zero, tare, change the unit or forget the tare in one format or another, with or without an end
/// of line (from memory for most). `R` reads one kind of scale and zeroes another.
const NEVER: &[u8] = b"ZTUCRztucr@";

/// Whether no format takes those bytes, or a part of them, for something that changes the scale or makes it send
/// without end.
pub fn is_harmless(question: &[u8]) -> bool {
    let lettered = question.iter().any(|byte| NEVER.contains(byte));
    !lettered && shape::ALL.iter().all(|shape| is_harmless_to(*shape, question))
}

/// Whether that holds as well for what scales at the other usual settings hear of the question when it is sent at this
/// one. Damaged bytes are not taken by a scale; one that takes them all the same is thought of only at the setting its
/// format usually has: nothing at all could be asked otherwise, as a single letter is a command in some formats.
pub fn is_harmless_however_heard(question: &[u8], sent: UsualLine) -> bool {
    let heard_at = |heard: UsualLine, lax: bool| -> Vec<u8> {
        let bytes = garbled(question, sent, heard, BETWEEN_MS).into_iter();
        bytes.filter(|byte| lax || !byte.damaged).map(|byte| byte.value).collect()
    };
    let others = usual().into_iter().filter(|heard| !hears_as(*heard, sent));
    let whole: Vec<Vec<u8>> = others.map(|heard| heard_at(heard, false)).collect();
    shape::ALL.iter().all(|shape| {
        whole.iter().all(|bytes| is_harmless_among(*shape, bytes))
            && is_harmless_among(*shape, &heard_at(shape.usual_line(), true))
    })
}

/// Whether it stays harmless where the question before ended in what begins a command, or what comes next ends one:
/// behind [`SPOILER`], which comes first at the next setting. What follows at this one is in the tests, all in a row.
fn is_harmless_among(shape: &dyn Shape, bytes: &[u8]) -> bool {
    let before: [&[u8]; 3] = [b"", b"\n", b"\x1b"];
    let after: [&[u8]; 3] = [b"", b"?\r", b"?\n"];
    before
        .into_iter()
        .all(|before| after.into_iter().all(|after| is_harmless_to(shape, &[before, bytes, after].concat())))
}

/// Whether a scale of that format takes nothing in those bytes, wherever it begins to listen, for such a thing.
pub fn is_harmless_to(shape: &dyn Shape, bytes: &[u8]) -> bool {
    (0..bytes.len()).all(|start| {
        let mut rest = bytes.get(start..).unwrap_or_default();
        while let Some((ask, used)) = shape.understand(rest) {
            if ask.changes_the_scale() || ask == Ask::Repeat {
                return false;
            }
            rest = rest.get(used.max(1)..).unwrap_or_default();
        }
        true
    })
}
