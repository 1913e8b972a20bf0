//! The open standard of the Scale Manufacturers Association: SMA SCP-0499, "Standard Scale Serial
//! Communication Protocol", levels 1 and 2 (first edition 1999, modified 2005).
//!
//! A frame is LF, fixed fields, CR. The clause numbers below are the standard's.

use super::assembler::{Assembler, Layout};
use super::{Answer, Ask, Decoded, Decoder, Nameplate, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability};
use crate::units::{Decimal, Division, Grams, MassUnit};

const LF: u8 = b'\n';
const CR: u8 = b'\r';
const ESC: u8 = 0x1b;

/// The longest value of an about or information line (clause 5.5).
const LONGEST_VALUE: usize = 25;
/// The name under which the answer to the diagnostics command is told.
const DIAGNOSTICS: &str = "diagnostics";
const NO_FAULT: &str = "no fault found";
const NO_NUMBER: &[u8] = b"----------";

/// The open SMA standard.
#[derive(Clone, Copy, Debug)]
pub struct Sma;

impl Shape for Sma {
    fn name(&self) -> &'static str {
        "sma"
    }

    fn looks_like(&self) -> &'static str {
        "the open SMA standard: <LF> 1G      512.34g  <CR>"
    }

    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(Assembler::new(Fields))
    }

    fn ask(&self, what: Ask) -> Option<&[u8]> {
        Some(match what {
            Ask::Now => b"\nW\r",
            Ask::WhenStable => b"\nP\r",
            Ask::Repeat => b"\nR\r",
            Ask::Stop => b"\x1b",
            Ask::Zero => b"\nZ\r",
            Ask::Tare => b"\nT\r",
            Ask::About => b"\nA\r",
            Ask::AboutNext => b"\nB\r",
            Ask::Information => b"\nI\r",
            Ask::InformationNext => b"\nN\r",
            Ask::NextUnit => b"\nU\r",
            Ask::ClearTare => b"\nC\r",
        })
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        encode(frame).unwrap_or_default()
    }

    fn reply(&self, _to: Ask, answer: &Answer) -> Option<Vec<u8>> {
        let body = match answer {
            Answer::Unknown => "?".to_owned(),
            Answer::Damaged => "!".to_owned(),
            Answer::About(name, value) if name == DIAGNOSTICS => fault_letters(value)?,
            Answer::About(name, value) if value.len() <= LONGEST_VALUE => {
                format!("{}:{value}", field::left(name, 3)?)
            }
            // Zero and tare are answered with a weight, whose status says how it went (clauses 4.5, 4.6).
            Answer::About(..) | Answer::Accepted | Answer::Done | Answer::Refused(_) => return None,
        };
        Some(framed(&body))
    }

    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        (0..bytes.len()).find_map(|start| match bytes.get(start..)? {
            [ESC, ..] => Some((Ask::Stop, start + 1)),
            [LF, command, CR, ..] => Some((understood(*command)?, start + 3)),
            _ => None,
        })
    }

    /// Clause 5.6: `CAP:uuu:c..c:n:d` is the unit, the capacity, and a division of n × 10⁻ᵈ.
    fn nameplate(&self, answer: &Answer) -> Option<Nameplate> {
        match answer {
            Answer::About(name, value) if name == "CAP" => capacity(value),
            _ => None,
        }
    }
}

/// Both numbers are in the unit of the line; where that is not known, they say nothing.
fn capacity(value: &str) -> Option<Nameplate> {
    let mut parts = value.split(':');
    let (unit, most) = (parts.next()?, parts.next()?);
    let (step, decimals, end) = (parts.next()?, parts.next()?, parts.next());
    let unit = MassUnit::from_symbol(unit.replace('_', " ").trim())?;
    let step = field::digits(step.trim().as_bytes())?;
    let decimals: u32 = decimals.trim().parse().ok().filter(|decimals| *decimals <= 9)?;
    if end.is_some() || step.scale() != 0 {
        return None;
    }
    let step = Decimal::try_from_i128_with_scale(step.mantissa(), decimals).ok()?;
    let in_grams = |value| Some(Grams::from_unit(value, unit)).filter(|grams| grams.is_positive());
    let most = field::digits(most.trim().as_bytes())?;
    Some(Nameplate {
        unit: Some(unit),
        capacity: in_grams(most),
        division: in_grams(step).and_then(|grams| Division::new(grams.decimal())),
    })
}

const fn understood(command: u8) -> Option<Ask> {
    Some(match command {
        b'W' => Ask::Now,
        b'P' => Ask::WhenStable,
        b'R' => Ask::Repeat,
        b'Z' => Ask::Zero,
        b'T' => Ask::Tare,
        b'A' => Ask::About,
        b'B' => Ask::AboutNext,
        b'I' => Ask::Information,
        b'N' => Ask::InformationNext,
        b'U' => Ask::NextUnit,
        b'C' => Ask::ClearTare,
        _ => return None,
    })
}

fn framed(body: &str) -> Vec<u8> {
    [b"\n", body.as_bytes(), b"\r"].concat()
}

struct Fields;

impl Layout for Fields {
    const MOST: usize = 4 + LONGEST_VALUE;
    const START: Option<u8> = Some(LF);

    /// What kind of response it is follows from its length and from the colon that only a line about the scale
    /// has at its fourth place, where a weight has its motion flag.
    #[inline]
    fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
        match frame {
            b"?" => Some(Decoded::Answer(Answer::Unknown)),
            b"!" => Some(Decoded::Answer(Answer::Damaged)),
            [a, b, c, b':', value @ ..] => about([*a, *b, *c], value).map(Decoded::Answer),
            [memory, settings, calibration, maker] => {
                diagnostics([*memory, *settings, *calibration], *maker).map(Decoded::Answer)
            }
            [status, range, mode, motion, _custom, weight @ .., a, b, c] if weight.len() == 10 => {
                matches!(range, b'0'..=b'9' | b' ').then_some(())?;
                let unit = [*a, *b, *c].map(blank);
                standard(*status, *mode, *motion, weight, unit).map(Decoded::Frame)
            }
            _ => None,
        }
    }
}

/// Some scales send the blank of a printed example as the underscore it was printed as.
const fn blank(byte: u8) -> u8 {
    if byte == b'_' { b' ' } else { byte }
}

/// Clauses 5.5 and 5.6: a descriptor of three characters, a colon, a value that may be empty.
fn about(descriptor: [u8; 3], value: &[u8]) -> Option<Answer> {
    let descriptor = descriptor.map(blank);
    let name = descriptor.trim_ascii_end();
    let fits = !name.is_empty() && name.iter().all(u8::is_ascii_alphanumeric);
    fits.then(|| Answer::About(field::text(name), field::text(value.trim_ascii_end())))
}

/// What the diagnostics can find, by the letter that says so (clause 5.4).
const FAULTS: [(u8, &str); 3] = [
    (b'R', "memory fault (RAM or ROM)"),
    (b'E', "fault in the stored settings (EEPROM)"),
    (b'C', "calibration fault"),
];
const MAKER: &str = "maker's code ";

fn diagnostics(flags: [u8; 3], maker: u8) -> Option<Answer> {
    let mut found = Vec::new();
    for (flag, (letter, fault)) in flags.into_iter().zip(FAULTS) {
        match flag {
            b' ' | b'_' => {}
            _ if flag == letter => found.push(fault.to_owned()),
            _ => return None,
        }
    }
    if !matches!(maker, b' ' | b'_') {
        found.push(format!("{MAKER}{}", char::from(maker)));
    }
    if found.is_empty() {
        found.push(NO_FAULT.to_owned());
    }
    Some(Answer::About(DIAGNOSTICS.to_owned(), found.join(", ")))
}

/// The letters that [`diagnostics`] reads as that text.
fn fault_letters(text: &str) -> Option<String> {
    let mut letters = String::new();
    for (letter, fault) in FAULTS {
        letters.push(if text.contains(fault) { char::from(letter) } else { ' ' });
    }
    letters.push(text.split_once(MAKER).map_or(Some(' '), |(_, code)| code.chars().next())?);
    Some(letters)
}

/// Clause 5.1, the standard response.
///
/// Tolerated beyond it: status `e` (weight not being displayed) and `C` (calibrating) as "not ready"; a blank
/// range and mode; dashes under a blank status, which some send when a wait for stability runs out; a number
/// beside an error, which is dropped.
#[inline]
fn standard(status: u8, mode: u8, motion: u8, weight: &[u8], unit: [u8; 3]) -> Option<Frame> {
    let (mode, high_resolution) = match mode {
        b'G' => (Mode::Gross, false),
        b'N' => (Mode::Net, false),
        b'T' => (Mode::Tare, false),
        b'g' => (Mode::Gross, true),
        b'n' => (Mode::Net, true),
        b' ' => (Mode::Unknown, false),
        _ => return None,
    };
    let stability = match motion {
        b'M' => Stability::Moving,
        b' ' => Stability::Stable,
        _ => return None,
    };
    let (mut unit, unit_text) = field::unit(&unit)?;
    let in_pounds_and_ounces = is_pounds_and_ounces(unit_text.as_bytes());
    let value = if weight == NO_NUMBER {
        None
    } else if in_pounds_and_ounces {
        Some(pounds_and_ounces(weight)?)
    } else {
        Some(field::right_number(weight)?)
    };
    if in_pounds_and_ounces {
        unit = Some(MassUnit::Ounce);
    }
    let (condition, value, centre_of_zero) = match (status, value) {
        (b'Z', Some(value)) => (Condition::Ok, Some(value), Some(true)),
        (b' ', Some(value)) => (Condition::Ok, Some(value), Some(false)),
        (b'O', value) => (Condition::Over, value, Some(false)),
        (b'U', value) => (Condition::Under, value, Some(false)),
        (b'E' | b'I', _) => (Condition::ZeroError, None, None),
        (b'T', _) => (Condition::TareError, None, None),
        (b'e' | b'C', _) | (b' ', None) => (Condition::NotReady, None, None),
        _ => return None,
    };
    Some(Frame { value, unit, unit_text, stability, mode, centre_of_zero, condition, high_resolution })
}

const OUNCES_A_POUND: Decimal = Decimal::from_parts(16, 0, 0, false, 0);

const fn is_pounds_and_ounces(unit: &[u8]) -> bool {
    unit.eq_ignore_ascii_case(b"l/o")
}

/// `8:08.5` is 8 lb 8.5 oz, told as 136.5 oz. The ounces have two digits before the point and stay below 16.
fn pounds_and_ounces(weight: &[u8]) -> Option<Decimal> {
    let (sign, number) = match field::after_blanks(weight) {
        [sign @ (b'+' | b'-'), number @ ..] => (*sign, number),
        number => (b'+', number),
    };
    let colon = number.iter().position(|&byte| byte == b':')?;
    let (pounds, ounces) = number.split_at_checked(colon)?;
    let ounces = ounces.strip_prefix(b":")?;
    let whole = ounces.iter().take_while(|byte| byte.is_ascii_digit()).count();
    if whole != 2 || pounds.contains(&b'.') {
        return None;
    }
    let (pounds, ounces) = (field::digits(pounds)?, field::digits(ounces)?);
    if ounces >= OUNCES_A_POUND {
        return None;
    }
    let mut value = pounds.checked_mul(OUNCES_A_POUND)?.checked_add(ounces)?;
    // Adding nothing drops its decimals, and they tell the scale's resolution: `8:00.0` is 128.0 oz.
    value.rescale(ounces.scale());
    field::signed(sign, value)
}

fn in_pounds_and_ounces(value: Decimal) -> Option<String> {
    let ounces = value.abs();
    let pounds = ounces.checked_div(OUNCES_A_POUND)?.floor();
    let mut rest = ounces.checked_sub(pounds.checked_mul(OUNCES_A_POUND)?)?;
    rest.rescale(ounces.scale());
    let sign = if value.is_sign_negative() { "-" } else { "" };
    let rest = rest.to_string();
    let whole = rest.split('.').next()?.len();
    let zero = if whole < 2 { "0" } else { "" };
    Some(format!("{sign}{pounds}:{zero}{rest}"))
}

/// `None` for what the standard has no way to say.
fn encode(frame: &Frame) -> Option<Vec<u8>> {
    let status = match frame.condition {
        Condition::Ok if frame.centre_of_zero == Some(true) => 'Z',
        Condition::Ok | Condition::NotReady => ' ',
        Condition::Over => 'O',
        Condition::Under => 'U',
        Condition::ZeroError => 'E',
        Condition::TareError => 'T',
        Condition::Device(_) => return None,
    };
    let mode = match (frame.mode, frame.high_resolution) {
        (Mode::Gross, false) => 'G',
        (Mode::Net, false) => 'N',
        (Mode::Tare, false) => 'T',
        (Mode::Unknown, false) => ' ',
        (Mode::Gross, true) => 'g',
        (Mode::Net, true) => 'n',
        (Mode::Tare | Mode::Unknown, true) => return None,
    };
    let motion = match frame.stability {
        Stability::Moving => 'M',
        Stability::Stable => ' ',
        Stability::Unknown => return None,
    };
    let letters = match frame.unit {
        Some(MassUnit::Grain) if frame.unit_text.is_empty() => "gn",
        _ => field::unit_letters(frame),
    };
    let weight = match (frame.value, &frame.condition) {
        (Some(value), Condition::Ok | Condition::Over | Condition::Under) => {
            let number = if is_pounds_and_ounces(letters.as_bytes()) {
                in_pounds_and_ounces(value)?
            } else {
                value.to_string()
            };
            field::right(&number, 10)?
        }
        (None, Condition::Ok) => return None,
        _ => field::text(NO_NUMBER),
    };
    let unit = field::left(letters, 3)?;
    Some(framed(&format!("{status}1{mode}{motion} {weight}{unit}")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// SMA SCP-0499, clause 5.6: unit, capacity, count-by and decimals; 7500 g by 1 × 10⁻¹ is a division of 0.1 g.
    #[rstest]
    #[case("g  :7500:1:1", Some(("7500", "0.1")))]
    #[case("kg_:30:5:3", Some(("30000", "5")))]
    #[case("lb :15:2:3", Some(("6803.88555", "0.90718474")))]
    #[case("g  :6000:10:0", Some(("6000", "10")))]
    #[case("xyz:7500:1:1", None)]
    #[case("g  :7500:1", None)]
    #[case("g  :7500:1:1:1", None)]
    #[case("g  :7500:0.1:1", None)]
    #[case("", None)]
    fn the_capacity_line_is_read(#[case] value: &str, #[case] told: Option<(&str, &str)>) {
        let plate = Sma.nameplate(&Answer::About("CAP".to_owned(), value.to_owned()));
        let read = plate.map(|plate| {
            let capacity = plate.capacity.unwrap().decimal().normalize();
            (capacity.to_string(), plate.division.unwrap().to_string())
        });
        assert_eq!(read, told.map(|(most, step)| (most.to_owned(), step.to_owned())));
        assert_eq!(Sma.nameplate(&Answer::About("TYP".to_owned(), value.to_owned())), None);
    }
}
