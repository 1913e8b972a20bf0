//! A line of a described format, without its marks: read into a frame and written from one.

use super::number::Form;
use super::place::Place;
use crate::scale::shape::field;
use crate::scale::{Condition, Frame, Mode, Stability, UnitText};
use crate::units::MassUnit;
use std::fmt;

/// Where what stands, and what it means.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    /// What stands between fields; without one, places are columns.
    pub(super) separator: Option<u8>,
    /// The lengths a line may have, the shortest first; none for any.
    pub(super) lengths: Vec<usize>,
    pub(super) value: (Place, Form),
    pub(super) sign: Option<Sign>,
    pub(super) unit: UnitPlace,
    /// The scale's own words for units.
    pub(super) words: Vec<(String, MassUnit)>,
    pub(super) steadiness: Steadiness,
    pub(super) gross: Option<Mark>,
    pub(super) net: Option<Mark>,
    /// Marks under which the line carries no weight.
    pub(super) instead: Vec<(Condition, Mark)>,
    /// What must be there.
    pub(super) always: Vec<(Place, Vec<u8>)>,
}

/// A sign in a place of its own. The first of each is what is sent.
#[derive(Clone, Debug)]
pub(super) struct Sign {
    pub(super) at: Place,
    pub(super) minus: Vec<u8>,
    pub(super) plus: Vec<u8>,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum UnitPlace {
    Fixed(MassUnit),
    At { at: Place, right: bool },
}

#[derive(Clone, Debug)]
pub(super) enum Steadiness {
    /// Nothing tells.
    Unknown,
    /// The unit is there only while the scale stands still; the last one is kept.
    WhileUnit,
    /// Without a moving mark, whatever is not stable moves.
    Marks { stable: Mark, moving: Option<Mark> },
}

/// Words at a place. Blanks round them do not count.
#[derive(Clone, Debug)]
pub(super) struct Mark {
    pub(super) at: Place,
    pub(super) is: Vec<Vec<u8>>,
}

/// Why a line does not fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Misfit {
    Length(usize),
    Always(Place),
    Value(Place),
    Sign(Place),
    Unit(Place),
    Steadiness(Place),
    Mode(Place),
}

impl fmt::Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length(length) => write!(f, "it has {length} characters, and 'length' does not allow that"),
            Self::Always(at) => write!(f, "at {at} it has not what 'always' says"),
            Self::Value(at) => write!(f, "what stands at {at} is no number as 'value' describes it"),
            Self::Sign(at) => write!(f, "at {at} there is no sign"),
            Self::Unit(at) => write!(f, "what stands at {at} is no unit as 'unit' describes it"),
            Self::Steadiness(at) => write!(f, "at {at} it is neither 'stable' nor 'moving'"),
            Self::Mode(at) => write!(f, "at {at} it is neither 'gross' nor 'net'"),
        }
    }
}

impl Layout {
    /// What a line of printable characters says. `last_unit` is kept from line to line where the unit comes and
    /// goes.
    pub(super) fn read(&self, line: &[u8], last_unit: &mut field::Unit) -> Result<Frame, Misfit> {
        if !self.lengths.is_empty() && !self.lengths.contains(&line.len()) {
            return Err(Misfit::Length(line.len()));
        }
        if let Some((condition, mark)) = self.instead.iter().find(|(_, mark)| self.has(line, mark)) {
            // Such a line may be shorter, but what it has must be right.
            let wrong =
                self.always.iter().find(|(at, is)| self.of(line, *at).is_some_and(|found| found != is));
            if let Some((at, _)) = wrong {
                return Err(Misfit::Always(*at));
            }
            // A word that stands where the unit would is none.
            let over_unit = matches!(self.unit, UnitPlace::At { at, .. } if at.overlaps(mark.at));
            let unit = if over_unit { None } else { self.unit(line).ok() };
            let (unit, unit_text) = unit.unwrap_or((None, UnitText::EMPTY));
            let mode = self.mode(line).unwrap_or(Mode::Unknown);
            return Ok(Frame { unit, unit_text, mode, ..field::no_number(condition.clone()) });
        }
        let wrong = self.always.iter().find(|(at, is)| self.of(line, *at) != Some(is));
        if let Some((at, _)) = wrong {
            return Err(Misfit::Always(*at));
        }
        let (at, form) = self.value;
        let mut value = self.of(line, at).and_then(|found| form.read(found)).ok_or(Misfit::Value(at))?;
        if let Some(Sign { at, minus, plus }) = &self.sign {
            let sign = match self.of(line, *at) {
                Some([sign]) => *sign,
                // A field of its own that is left out counts as a blank one.
                Some([]) if self.separator.is_some() => b' ',
                _ => return Err(Misfit::Sign(*at)),
            };
            if minus.contains(&sign) {
                value.set_sign_negative(true);
            } else if !plus.contains(&sign) {
                return Err(Misfit::Sign(*at));
            }
        }
        let mode = self.mode(line)?;
        let unit = self.unit(line)?;
        let (stability, (unit, unit_text)) = match &self.steadiness {
            Steadiness::Unknown => (Stability::Unknown, unit),
            Steadiness::WhileUnit if unit.1.is_empty() => (Stability::Moving, *last_unit),
            Steadiness::WhileUnit => {
                *last_unit = unit;
                (Stability::Stable, unit)
            }
            Steadiness::Marks { stable, .. } if self.has(line, stable) => (Stability::Stable, unit),
            Steadiness::Marks { moving: Some(moving), .. } if !self.has(line, moving) => {
                return Err(Misfit::Steadiness(moving.at));
            }
            Steadiness::Marks { .. } => (Stability::Moving, unit),
        };
        Ok(Frame { value: Some(value), unit, unit_text, stability, mode, ..field::no_number(Condition::Ok) })
    }

    fn of<'l>(&self, line: &'l [u8], at: Place) -> Option<&'l [u8]> {
        at.of(line, self.separator)
    }

    fn has(&self, line: &[u8], mark: &Mark) -> bool {
        let found = self.of(line, mark.at).map(<[u8]>::trim_ascii);
        found.is_some_and(|found| mark.is.iter().any(|is| is.trim_ascii() == found))
    }

    /// Whether it says gross or net. Where both have a mark, one of them must be there.
    fn mode(&self, line: &[u8]) -> Result<Mode, Misfit> {
        let has = |mark: &Option<Mark>| mark.as_ref().is_some_and(|mark| self.has(line, mark));
        match (&self.gross, &self.net) {
            _ if has(&self.gross) => Ok(Mode::Gross),
            _ if has(&self.net) => Ok(Mode::Net),
            // A scale that says it at the steadiness's own place says it only while it stands still.
            (Some(gross), Some(_)) if !self.steadiness.is_at(gross.at) => Err(Misfit::Mode(gross.at)),
            _ => Ok(Mode::Unknown),
        }
    }

    fn unit(&self, line: &[u8]) -> Result<field::Unit, Misfit> {
        let (at, right) = match self.unit {
            UnitPlace::Fixed(unit) => return Ok((Some(unit), unit.symbol().into())),
            UnitPlace::At { at, right } => (at, right),
        };
        let found = self.of(line, at).ok_or(Misfit::Unit(at))?;
        let letters = found.trim_ascii();
        // A blank on the wrong side is damage, unless all of it is blank.
        let shifted = if right { found.ends_with(b" ") } else { found.starts_with(b" ") };
        if shifted && !letters.is_empty() && self.separator.is_none() {
            return Err(Misfit::Unit(at));
        }
        if let Some((word, unit)) = self.words.iter().find(|(word, _)| word.as_bytes() == letters) {
            return Ok((Some(*unit), UnitText::new(word.as_bytes())));
        }
        field::unit(letters).ok_or(Misfit::Unit(at))
    }

    /// The line that says that; none if the format has no way to say it.
    pub(super) fn write(&self, frame: &Frame) -> Option<Vec<u8>> {
        let line = self.lay(frame)?;
        // What is laid out is read again: marks may share places, and not all of it can always be said at once.
        let read = self.read(&line, &mut (None, UnitText::EMPTY)).ok()?;
        let steady = matches!(self.steadiness, Steadiness::Unknown);
        let moving_unit =
            matches!(self.steadiness, Steadiness::WhileUnit) && read.stability == Stability::Moving;
        let same = read.condition == frame.condition
            && (frame.mode == Mode::Unknown || read.mode == frame.mode)
            && (frame.condition != Condition::Ok
                || read.value == frame.value
                    && (steady || read.stability == frame.stability)
                    && (moving_unit || read.unit == frame.unit));
        same.then_some(line)
    }

    fn lay(&self, frame: &Frame) -> Option<Vec<u8>> {
        let mut canvas = Canvas { separator: self.separator, text: Vec::new(), fields: Vec::new() };
        for (at, is) in &self.always {
            canvas.put(*at, is)?;
        }
        match &self.steadiness {
            Steadiness::Marks { stable, moving } => match (frame.stability, moving) {
                (Stability::Stable, _) => canvas.put(stable.at, stable.word_for(self, frame))?,
                (Stability::Moving, Some(moving)) => canvas.put(moving.at, moving.is.first()?)?,
                (Stability::Moving, None) => canvas.put(stable.at, b"")?,
                (Stability::Unknown, _) if frame.condition == Condition::Ok => return None,
                (Stability::Unknown, _) => {}
            },
            Steadiness::WhileUnit
                if frame.stability == Stability::Unknown && frame.condition == Condition::Ok =>
            {
                return None;
            }
            Steadiness::WhileUnit | Steadiness::Unknown => {}
        }
        let mode = match frame.mode {
            Mode::Gross => self.gross.as_ref(),
            Mode::Net => self.net.as_ref(),
            Mode::Tare => return None,
            // Where one of them has to be there, it is said that all is shown that is on the pan.
            Mode::Unknown => self.gross.as_ref().filter(|_| self.net.is_some()),
        };
        if let Some(mark) = mode.filter(|mark| !self.steadiness.is_at(mark.at)) {
            canvas.put(mark.at, mark.is.first()?)?;
        }
        if let UnitPlace::At { at, right } = self.unit {
            let blank =
                matches!(self.steadiness, Steadiness::WhileUnit) && frame.stability == Stability::Moving;
            let letters = if blank { "" } else { self.letters(frame) };
            let fill = at.width().unwrap_or(0).saturating_sub(letters.len());
            let text = if right && self.separator.is_none() {
                format!("{:fill$}{letters}", "")
            } else {
                letters.to_owned()
            };
            canvas.put(at, text.as_bytes())?;
        }
        match frame.value.filter(|_| frame.condition == Condition::Ok) {
            Some(value) => self.lay_value(value, &mut canvas)?,
            None if frame.condition == Condition::Ok => return None,
            None => {}
        }
        for (condition, mark) in &self.instead {
            if *condition == frame.condition {
                canvas.put(mark.at, mark.is.first()?)?;
            }
        }
        canvas.into_line(&self.lengths, self.value.0)
    }

    fn lay_value(&self, value: crate::units::Decimal, canvas: &mut Canvas) -> Option<()> {
        let (at, form) = self.value;
        if let Some(Sign { at, minus, plus }) = &self.sign {
            let sign = if value.is_sign_negative() { minus.first() } else { plus.first() };
            canvas.put(*at, &[*sign?])?;
        }
        let width = if self.separator.is_some() { None } else { at.width() };
        canvas.put(at, &form.written(value, width)?)
    }

    /// The scale's own word for the frame's unit, where it has one.
    fn letters<'f>(&'f self, frame: &'f Frame) -> &'f str {
        let mut words = self.words.iter().filter(|(_, unit)| Some(*unit) == frame.unit).map(|(word, _)| word);
        let own = words.clone().find(|word| **word == *frame.unit_text).or_else(|| words.next());
        own.map_or_else(|| field::unit_letters(frame), String::as_str)
    }
}

impl Steadiness {
    /// Whether that is the place it is told at.
    fn is_at(&self, place: Place) -> bool {
        match self {
            Self::Marks { stable, moving } => {
                stable.at == place || moving.as_ref().is_some_and(|moving| moving.at == place)
            }
            Self::Unknown | Self::WhileUnit => false,
        }
    }
}

impl Mark {
    /// Which of its words is sent: where the same place tells gross from net, the one that says that too.
    fn word_for<'m>(&'m self, layout: &Layout, frame: &Frame) -> &'m [u8] {
        let mode = match frame.mode {
            Mode::Gross => layout.gross.as_ref(),
            Mode::Net => layout.net.as_ref(),
            Mode::Tare | Mode::Unknown => None,
        };
        let mode = mode.filter(|mode| mode.at == self.at);
        let both = self.is.iter().find(|word| mode.is_some_and(|mode| mode.is.contains(word)));
        both.or(self.is.first()).map(Vec::as_slice).unwrap_or_default()
    }
}

/// A line that is being laid out.
struct Canvas {
    separator: Option<u8>,
    text: Vec<u8>,
    fields: Vec<Vec<u8>>,
}

impl Canvas {
    /// Puts that at the left of that place, blanks behind it.
    fn put(&mut self, at: Place, text: &[u8]) -> Option<()> {
        if self.separator.is_some() {
            self.fields.resize(self.fields.len().max(at.first), Vec::new());
            *self.fields.get_mut(at.first - 1)? = text.to_vec();
            return Some(());
        }
        let width = at.width().unwrap_or(text.len());
        let end = at.first - 1 + width;
        if text.len() > width {
            return None;
        }
        self.text.resize(self.text.len().max(end), b' ');
        let place = self.text.get_mut(at.first - 1..end)?;
        place.fill(b' ');
        place.iter_mut().zip(text).for_each(|(slot, byte)| *slot = *byte);
        Some(())
    }

    /// The whole line, of the shortest length it may have.
    fn into_line(self, lengths: &[usize], value: Place) -> Option<Vec<u8>> {
        let Self { separator, mut text, mut fields } = self;
        if let Some(separator) = separator {
            // Between blanks an empty field would be none.
            let empty = if separator == b' ' { b"-".as_slice() } else { b"" };
            for field in fields.iter_mut().filter(|field| field.is_empty()) {
                *field = empty.to_vec();
            }
            text = fields.join(&separator);
        }
        let Some(length) = lengths.iter().find(|length| **length >= text.len()) else {
            return lengths.is_empty().then_some(text);
        };
        if let Some(separator) = separator {
            let fill = length - text.len();
            let field = fields.get_mut(value.first - 1)?;
            field.splice(0..0, std::iter::repeat_n(b' ', fill));
            return Some(fields.join(&separator));
        }
        text.resize(*length, b' ');
        Some(text)
    }
}
