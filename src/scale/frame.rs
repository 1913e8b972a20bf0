//! What a scale said, the same for every wire format. The states follow the open information model for
//! scales (OPC 40200): stable, centre of zero, overload, underload, gross or net.

use super::UnitText;
use crate::units::{Decimal, Grams, MassUnit, Moment};

/// Whether the load was at rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stability {
    /// The scale says so.
    Stable,
    /// The scale says it moves.
    Moving,
    /// The format has no flag: only several equal readings can tell.
    Unknown,
}

/// What the number is a weight of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// All that is on the pan.
    Gross,
    /// Less the scale's own tare.
    Net,
    /// The scale's own tare.
    Tare,
    /// The format does not say.
    Unknown,
}

/// Whether the number is a weight at all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Condition {
    /// It is.
    Ok,
    /// More than the scale can weigh.
    Over,
    /// Less than the scale can weigh; usually the pan is off.
    Under,
    /// The scale could not find or set its zero.
    ZeroError,
    /// The scale could not tare.
    TareError,
    /// The scale understood, but cannot weigh just now (settling, adjusting, warming up).
    NotReady,
    /// The scale reports a fault of its own; the text is printable and short.
    Device(String),
}

/// One frame as decoded from the wire. The value keeps the decimals exactly as sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Frame {
    /// The number as sent, sign included; none where the scale sent no number.
    pub value: Option<Decimal>,
    /// The unit as sent; none if blank or unknown.
    pub unit: Option<MassUnit>,
    /// The unit's letters as sent, printable, trimmed; for telling a person what an unknown unit was.
    pub unit_text: UnitText,
    /// Whether the load was at rest.
    pub stability: Stability,
    /// What the number is a weight of.
    pub mode: Mode,
    /// Whether the scale says it stands at zero; none where the format does not say.
    pub centre_of_zero: Option<bool>,
    /// Whether the number is a weight at all.
    pub condition: Condition,
    /// Whether the number has a digit more than the scale's own display (a high-resolution answer).
    pub high_resolution: bool,
}

impl Frame {
    /// A weight as a scale says it that has nothing else to say.
    pub fn weight(value: Decimal, unit: MassUnit, stability: Stability, mode: Mode) -> Self {
        Self {
            value: Some(value),
            unit: Some(unit),
            unit_text: unit.symbol().into(),
            stability,
            mode,
            centre_of_zero: None,
            condition: Condition::Ok,
            high_resolution: false,
        }
    }

    /// The number in grams, if there is a number and a known unit.
    pub fn grams(&self) -> Option<Grams> {
        Some(Grams::from_unit(self.value?, self.unit?))
    }
}

/// A frame, when its last byte arrived, and what came before it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// What was said.
    pub frame: Frame,
    /// When the last byte of it arrived.
    pub at: Moment,
    /// Signs of damage on the line since the reading before: bytes that belonged to no frame or came with a wrong
    /// parity, answers to nothing that was asked.
    pub noise_before: u32,
}

impl Reading {
    /// A reading before which nothing was amiss.
    pub const fn new(frame: Frame, at: Moment) -> Self {
        Self { frame, at, noise_before: 0 }
    }
}
