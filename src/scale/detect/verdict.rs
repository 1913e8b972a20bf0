//! What the evidence comes to: what speaks on the port, how sure that is, why, and what else it could be.

use super::evidence::Evidence;
use super::line::{framed, hears_as, other_stop, told};
use crate::scale::shape::{Nameplate, Shape, UsualLine};
use std::fmt;

/// From so many readings on it is no accident (common practice, no source).
pub(super) const ENOUGH: u64 = 5;
/// So many bytes that fit are no accident either, however short the frames.
const ENOUGH_BYTES: u64 = 40;

/// How sure it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sure {
    /// Something else explains what came as well, or too little came.
    Unsure,
    /// Nothing else fits, and something is missing for certainty; why says what.
    Likely,
    /// Nothing else fits, and nothing is left over.
    Certain,
}

impl fmt::Display for Sure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Unsure => "unsure",
            Self::Likely => "likely",
            Self::Certain => "certain",
        })
    }
}

/// Something else that explains what came.
#[derive(Clone, Debug)]
pub struct Other {
    /// Its setting.
    pub line: UsualLine,
    /// Its format.
    pub shape: &'static dyn Shape,
    /// Whether the one proposed reads the same weights from such a line: then it does no harm.
    pub reads_the_same: bool,
    /// What would settle it, in a sentence.
    pub settled_by: String,
}

/// What speaks on the port.
#[derive(Clone, Debug)]
pub struct Found {
    /// The setting.
    pub line: UsualLine,
    /// The format.
    pub shape: &'static dyn Shape,
    /// How sure that is.
    pub sure: Sure,
    /// Why, in a sentence or two.
    pub why: String,
    /// What else it could be, what it most likely is first.
    pub others: Vec<Other>,
    /// Whether it spoke by itself.
    pub by_itself: bool,
    /// What the scale says of itself, where it was asked and can tell.
    pub nameplate: Option<Nameplate>,
}

impl Found {
    /// The address to use for the port with that path.
    pub fn address(&self, path: &str) -> String {
        let UsualLine { baud, data_bits, parity, stop_bits } = self.line;
        let shape = self.shape.address();
        let address = format!("serial:{path}?baud={baud}&line={data_bits}{parity}{stop_bits}&shape={shape}");
        let plate = self.nameplate.unwrap_or_default();
        let division = plate.division.map(|division| format!("&division={division}"));
        let capacity = plate.capacity.map(|capacity| format!("&capacity={capacity}"));
        [Some(address), division, capacity].into_iter().flatten().collect()
    }
}

/// What came of a search.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// Something speaks there that is understood.
    Found(Box<Found>),
    /// Nothing came at all.
    Silent,
    /// Something came that no format explains at any setting.
    NotUnderstood,
    /// The search was stopped before it found anything.
    Stopped,
    /// The port cannot be used, and why.
    Gone(String),
}

/// The end of a search.
#[derive(Clone, Debug)]
pub struct Finding {
    /// What came of it.
    pub outcome: Outcome,
    /// How many settings were listened to or asked at.
    pub settings: usize,
    /// How many bytes came, over all of them.
    pub bytes: u64,
    /// Whether anything was sent.
    pub asked: bool,
    /// How long it took, in milliseconds.
    pub ms: u64,
    /// What each format understood at each setting, the strongest first.
    pub evidence: Vec<Evidence>,
}

impl Finding {
    /// What was found, if anything was.
    pub fn found(&self) -> Option<&Found> {
        match &self.outcome {
            Outcome::Found(found) => Some(found),
            _ => None,
        }
    }
}

/// The evidence as it is gathered.
#[derive(Default)]
pub(super) struct Case {
    pub(super) tells_damage: bool,
    pub(super) settings: usize,
    pub(super) bytes: u64,
    pub(super) asked: bool,
    pub(super) evidence: Vec<Evidence>,
    /// What was understood when it was asked, and whether it answers its own format's question.
    pub(super) asked_back: Option<(UsualLine, &'static dyn Shape, bool)>,
    pub(super) nameplate: Option<Nameplate>,
}

/// Evidence by its strength, and where equals stand, by what is more usual.
fn strength(evidence: &Evidence) -> (bool, bool, u64, bool, u64) {
    (
        evidence.explains(),
        evidence.is_clean(),
        evidence.readings,
        hears_as(evidence.shape.usual_line(), evidence.line),
        evidence.answers,
    )
}

impl Case {
    /// The strongest evidence first; where equals stand, in the order of the formats.
    fn by_strength(&self) -> Vec<&Evidence> {
        let mut all: Vec<&Evidence> = self.evidence.iter().collect();
        all.sort_by_key(|evidence| std::cmp::Reverse(strength(evidence)));
        let mut once: Vec<&Evidence> = Vec::new();
        for evidence in all {
            if !once.iter().any(|other| is_same(other, evidence)) {
                once.push(evidence);
            }
        }
        once
    }

    /// Whether further settings cannot tell more.
    pub(super) fn is_settled(&self) -> bool {
        let enough = |best: &&Evidence| {
            best.is_clean() && best.readings >= 2 || best.explains() && best.readings >= ENOUGH
        };
        self.by_strength().first().is_some_and(enough)
    }

    /// The setting and the format, where nothing else explains what came.
    pub(super) fn undoubted(&self) -> Option<(UsualLine, &'static dyn Shape)> {
        let all = self.by_strength();
        let best = all.first().filter(|best| best.explains() && best.readings > 0)?;
        rivals(best, &all).is_empty().then_some((best.line, best.shape))
    }

    pub(super) fn finding(&self, ms: u64) -> Finding {
        let all = self.by_strength();
        let outcome = match all.first() {
            Some(best) => Outcome::Found(Box::new(self.found(best, &all))),
            None if self.bytes == 0 => Outcome::Silent,
            None => Outcome::NotUnderstood,
        };
        let evidence = all.into_iter().cloned().collect();
        Finding { outcome, settings: self.settings, bytes: self.bytes, asked: self.asked, ms, evidence }
    }

    fn found(&self, best: &Evidence, all: &[&Evidence]) -> Found {
        let rivals = rivals(best, all);
        let asked_back = self
            .asked_back
            .filter(|(line, shape, _)| hears_as(*line, best.line) && shape.name() == best.shape.name());
        let deaf = asked_back.is_some_and(|(_, _, answers)| !answers);
        let fits = best.bytes.saturating_sub(best.left_over).saturating_sub(best.before);
        let few = best.readings < ENOUGH || fits < ENOUGH_BYTES;
        let sure = if !rivals.is_empty() || best.readings < 2 || !best.explains() {
            Sure::Unsure
        } else if few || deaf || !best.is_clean() || !self.tells_damage {
            Sure::Likely
        } else {
            Sure::Certain
        };
        let mut others: Vec<Other> = rivals.iter().map(|rival| rival_of(best, rival)).collect();
        others.extend(self.unheard(best));
        Found {
            line: best.line,
            shape: best.shape,
            sure,
            why: self.why(best, &rivals, few, deaf),
            others,
            by_itself: asked_back.is_none(),
            nameplate: self.nameplate,
        }
    }

    /// Settings that could not have been told from this one on this port.
    fn unheard(&self, best: &Evidence) -> Vec<Other> {
        let line = best.line;
        let other = |line, settled_by: &str| Other {
            line,
            shape: best.shape,
            reads_the_same: true,
            settled_by: settled_by.to_owned(),
        };
        let mut others = Vec::new();
        if !self.tells_damage && line.data_bits == 8 && line.parity == 'N' {
            let by = "The scale's menu, or another adapter, would settle it: this port does not tell which bytes \
                      came with a wrong parity.";
            others.extend(['E', 'O'].map(|parity| other(framed(line.baud, 8, parity), by)));
        }
        let by =
            "Only the scale's menu would settle it: a second stop bit is not heard. Both are read the same.";
        others.extend(other_stop(line).map(|line| other(line, by)));
        others
    }

    fn why(&self, best: &Evidence, rivals: &[&Evidence], few: bool, deaf: bool) -> String {
        let Evidence { readings, answers, left_over, damaged, at_odds, .. } = best;
        let shape = best.shape.name();
        let came = match (*readings, *answers) {
            (0, answers) => format!("{} but no weight", counted(answers, "answer")),
            (readings, _) => counted(readings, "reading"),
        };
        let damage = if *damaged > 0 { format!(" and {damaged} damaged") } else { String::new() };
        let fits = if rivals.is_empty() { "no other format fits" } else { "something else fits as well" };
        let (line, left_over) = (told(best.line), counted(*left_over, "byte"));
        let mut why = vec![format!("{came} at {line} as {shape}, {left_over} left over{damage}; {fits}.")];
        let mut add = |so: bool, sentence: &str| why.extend(so.then(|| sentence.to_owned()));
        add(few && *readings > 0, "Too few came to be certain.");
        let odd = counted(*at_odds, "reading");
        add(*at_odds > 0, &format!("{odd} not in the decimals or the unit of the one before."));
        let deaf_is = "It does not answer its own format's question, so it should be set to send by itself.";
        add(deaf, deaf_is);
        add(!self.tells_damage, "This port does not tell which bytes are damaged.");
        why.join(" ")
    }
}

fn is_same(a: &Evidence, b: &Evidence) -> bool {
    hears_as(a.line, b.line) && a.shape.name() == b.shape.name()
}

/// What explains as much, or nearly: half the readings, so that one that missed a few is still named.
fn rivals<'a>(best: &Evidence, all: &[&'a Evidence]) -> Vec<&'a Evidence> {
    let near = |other: &Evidence| {
        other.explains()
            && other.readings.saturating_mul(2) >= best.readings
            && other.readings.min(1) == best.readings.min(1)
    };
    all.iter().copied().filter(|other| !is_same(best, other) && near(other)).collect()
}

fn rival_of(best: &Evidence, rival: &Evidence) -> Other {
    let value = |evidence: &Evidence| evidence.last.as_ref().and_then(super::super::Frame::grams);
    let reads_the_same = value(best).is_some() && value(best) == value(rival);
    let settled_by = if !reads_the_same {
        "Put something of a known weight on the pan: the one that reads what the display shows is right."
    } else if best.last.as_ref().map(|frame| frame.stability)
        == rival.last.as_ref().map(|frame| frame.stability)
    {
        "Both read the same. Pour a little, and let it come to rest: the one that says moving while the display \
         moves is right."
    } else {
        "Both read the same weight, and one says that it moves: the one that agrees with the display is right."
    };
    Other { line: rival.line, shape: rival.shape, reads_the_same, settled_by: settled_by.to_owned() }
}

/// `1 reading`, `12 readings`.
fn counted(count: u64, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}
