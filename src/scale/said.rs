//! What a scale says, in words for a person.

use super::shape::{Answer, Ask};
use super::{Condition, Frame, LinkState, Mode, Stability};
use std::fmt;

impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Done => f.write_str("done"),
            Self::Refused(why) => write!(f, "refused: {why}"),
            Self::Unknown => f.write_str("the scale does not know that command"),
            Self::Damaged => f.write_str("the scale says that the command arrived damaged"),
            Self::About(name, value) => write!(f, "{name} {value}"),
        }
    }
}

/// What was asked, as it follows "asked the scale".
impl fmt::Display for Ask {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Now => "for its weight",
            Self::WhenStable => "for its weight once it is steady",
            Self::Repeat => "to send without end",
            Self::Stop => "to stop sending",
            Self::Zero => "to set zero",
            Self::Tare => "to tare",
            Self::NextUnit => "for its next unit",
            Self::ClearTare => "to forget its tare",
            Self::About | Self::AboutNext => "who it is",
            Self::Information | Self::InformationNext => "what it can weigh",
        })
    }
}

impl LinkState {
    /// The state in a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Absent => "absent",
            Self::Opening => "opening",
            Self::Listening => "listening",
            Self::Live => "live",
            Self::Stale => "silent",
            Self::Lost => "lost",
        }
    }
}

impl Frame {
    /// The words beside the number: `steady, net`, `too heavy for the scale`.
    pub fn words(&self) -> String {
        let stability = match self.stability {
            _ if self.condition != Condition::Ok => "",
            Stability::Stable => "steady",
            Stability::Moving => "moving",
            Stability::Unknown => "",
        };
        let mode = match self.mode {
            Mode::Net => "net",
            Mode::Tare => "the scale's own tare",
            Mode::Gross | Mode::Unknown => "",
        };
        let condition = match &self.condition {
            Condition::Ok => "",
            Condition::Over => "too heavy for the scale",
            Condition::Under => "too light for the scale",
            Condition::ZeroError => "cannot find its zero",
            Condition::TareError => "cannot tare",
            Condition::NotReady => "not ready",
            Condition::Device(fault) => return words(&[stability, mode, &format!("fault: {fault}")]),
        };
        words(&[stability, mode, condition])
    }
}

fn words(all: &[&str]) -> String {
    all.iter().filter(|word| !word.is_empty()).copied().collect::<Vec<_>>().join(", ")
}

/// `     201.3 g   steady`.
impl fmt::Display for Frame {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = self.value.map(|value| value.to_string()).unwrap_or_default();
        let unit = self.unit.map_or(self.unit_text.as_str(), |unit| unit.symbol());
        let words = self.words();
        let line = format!("{number:>10} {unit:<3} {words}");
        f.write_str(line.trim_end())
    }
}

#[cfg(test)]
mod tests {
    use super::super::UnitText;
    use super::*;
    use crate::units::{MassUnit, parse_decimal};

    #[test]
    fn a_frame_is_a_line() {
        let frame = Frame {
            value: parse_decimal("-201.30").ok(),
            unit: Some(MassUnit::Gram),
            unit_text: UnitText::from("G"),
            stability: Stability::Stable,
            mode: Mode::Net,
            centre_of_zero: None,
            condition: Condition::Ok,
            high_resolution: false,
        };
        assert_eq!(frame.to_string(), "   -201.30 g   steady, net");
        let fault = Frame {
            value: None,
            unit: None,
            unit_text: UnitText::EMPTY,
            stability: Stability::Unknown,
            mode: Mode::Unknown,
            condition: Condition::Device("Err 54".to_owned()),
            ..frame
        };
        assert_eq!(fault.to_string(), "               fault: Err 54");
    }
}
