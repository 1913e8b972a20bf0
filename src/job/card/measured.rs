//! What an instrument measured of the car and of a card, angle by angle.

use crate::job::Lab;
use crate::units::{Decimal, parse_decimal_with_comma};
use rust_decimal::prelude::ToPrimitive as _;
use serde::{Deserialize, Serialize};

/// The least and the most aspecular angle, in degrees. The light may come from 0° to 90°, and so may what is looked at, on
/// either side: seen from the gloss that is from -90° to 180°.
pub const MOST_ANGLE: (i16, i16) = (-90, 180);
/// L* outside of these is no reading, and neither is a* or b* beyond [`MOST_CHROMA`]: bounds of our own, far outside of what
/// is measured, so that a digit too many is found.
const MOST_LIGHTNESS: (Decimal, Decimal) =
    (Decimal::from_parts(5, 0, 0, true, 0), Decimal::from_parts(400, 0, 0, false, 0));
const MOST_CHROMA: Decimal = Decimal::from_parts(300, 0, 0, false, 0);

/// L*a*b* as the instrument showed it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Measured {
    /// L*.
    #[serde(rename = "L")]
    pub l: Decimal,
    /// a*.
    pub a: Decimal,
    /// b*.
    pub b: Decimal,
}

impl Measured {
    /// To reckon with.
    pub fn lab(self) -> Lab {
        let float = |number: Decimal| number.to_f64().unwrap_or(0.0);
        Lab { l: float(self.l), a: float(self.a), b: float(self.b) }
    }

    /// Whether it can be a reading.
    ///
    /// # Errors
    /// Which of its numbers is not, in words.
    pub fn sound(self) -> Result<(), String> {
        let (least, most) = MOST_LIGHTNESS;
        if self.l < least || self.l > most {
            return Err(format!("L* {} cannot be: 0 is black and 100 is white", self.l));
        }
        for (name, number) in [("a*", self.a), ("b*", self.b)] {
            if number.abs() > MOST_CHROMA {
                return Err(format!("{name} {number} cannot be: the strongest colours are below 150"));
            }
        }
        Ok(())
    }

    /// Whether its L* is between black and white. An effect near the gloss may be above.
    pub fn is_between_black_and_white(self) -> bool {
        self.l >= Decimal::ZERO && self.l <= Decimal::ONE_HUNDRED
    }
}

/// The car and a card at one angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct AtAngle {
    /// How far from the gloss, in degrees (aspecular); below zero behind it.
    pub angle: i16,
    /// The car.
    pub car: Measured,
    /// The card.
    pub card: Measured,
}

const EXPECTED: &str = "write it as \"45: car 61.2 -1.3 4.5 card 60.9 -1.2 4.6\": the angle, then L* a* b* of the car and of the card";

impl AtAngle {
    /// Reads `45: car 61.2 -1.3 4.5 card 60.9 -1.2 4.6`. A comma within a number is its decimal sign.
    ///
    /// # Errors
    /// What cannot be read or cannot be.
    pub fn parse(text: &str) -> Result<Self, String> {
        let (angle, rest) =
            text.split_once(':').ok_or_else(|| format!("'{}' has no angle: {EXPECTED}", text.trim()))?;
        let angle = parse_angle(angle)?;
        let words: Vec<&str> = rest.split_whitespace().collect();
        let [one, l1, a1, b1, two, l2, a2, b2] = words.as_slice() else {
            return Err(format!("'{}' is not two samples of three numbers: {EXPECTED}", rest.trim()));
        };
        let [first, second] = [parse_lab([l1, a1, b1])?, parse_lab([l2, a2, b2])?];
        match (one.to_lowercase().as_str(), two.to_lowercase().as_str()) {
            ("car", "card") => Ok(Self { angle, car: first, card: second }),
            ("card", "car") => Ok(Self { angle, car: second, card: first }),
            _ => Err(format!("'{one}' and '{two}' are not car and card: {EXPECTED}")),
        }
    }

    /// Reads what was typed in one line where it may be readings or words of one's own: several readings have a semicolon
    /// between them. None where it is no attempt at a reading: that begins with an angle and names car or card, or names both
    /// with at least three numbers.
    ///
    /// # Errors
    /// What cannot be read or cannot be.
    pub fn parse_line(text: &str) -> Option<Result<Vec<Self>, String>> {
        let lower = text.to_lowercase();
        let words: Vec<&str> = lower.split(|c: char| c.is_whitespace() || matches!(c, ':' | ';')).collect();
        let names = |word: &str| words.contains(&word);
        let numbers = words.iter().filter(|word| parse_number(word).is_ok()).count();
        let has_angle = text.split_once(':').is_some_and(|(angle, _)| parse_angle(angle).is_ok());
        let is_reading =
            has_angle && (names("car") || names("card")) || names("car") && names("card") && numbers >= 3;
        let parts = text.split(';').filter(|part| !part.trim().is_empty());
        is_reading.then(|| parts.map(Self::parse).collect())
    }

    /// Whether it can be.
    ///
    /// # Errors
    /// Why not, in words.
    pub fn sound(&self) -> Result<(), String> {
        let (least, most) = MOST_ANGLE;
        if !(least..=most).contains(&self.angle) {
            return Err(angle_words(self.angle));
        }
        let say = |who: &str, problem: &str| format!("{who} at {}°: {problem}", self.angle);
        self.car.sound().map_err(|problem| say("the car", &problem))?;
        self.card.sound().map_err(|problem| say("the card", &problem))
    }

    /// ΔE00 of card and car.
    pub fn difference(&self) -> f64 {
        self.car.lab().difference(self.card.lab())
    }
}

fn angle_words(angle: i16) -> String {
    let (least, most) = MOST_ANGLE;
    format!("an angle of {angle}° cannot be: {least}° to {most}° from the gloss was expected")
}

/// Reads an angle in whole degrees, with or without its sign: `45°`.
pub(super) fn parse_angle(text: &str) -> Result<i16, String> {
    let text = text.trim();
    let bare = text.trim_end_matches(['°', ' ']).replace('\u{2212}', "-");
    let angle: i16 = bare.parse().map_err(|_problem| {
        format!("'{text}' is no angle: whole degrees from the gloss were expected, as 45")
    })?;
    let (least, most) = MOST_ANGLE;
    if (least..=most).contains(&angle) { Ok(angle) } else { Err(angle_words(angle)) }
}

/// Reads one number of a colour.
pub(super) fn parse_number(text: &str) -> Result<Decimal, String> {
    parse_decimal_with_comma(&text.replace('\u{2212}', "-")).map_err(|problem| problem.to_string())
}

fn parse_lab([l, a, b]: [&str; 3]) -> Result<Measured, String> {
    let measured = Measured { l: parse_number(l)?, a: parse_number(a)?, b: parse_number(b)? };
    measured.sound()?;
    Ok(measured)
}
