//! Line settings: in which order they are tried, how they are written, and what one of them would have made of
//! the bits that another heard.

use super::Byte;
use crate::scale::shape::UsualLine;

const fn line(baud: u32, data_bits: u8, parity: char, stop_bits: u8) -> UsualLine {
    UsualLine { baud, data_bits, parity, stop_bits }
}

/// The settings of most scales, the likely ones first (worked out here, from the usual settings of the formats).
pub const LIKELY: [UsualLine; 7] = [
    line(9600, 8, 'N', 1),
    line(9600, 8, 'O', 1),
    line(2400, 7, 'E', 1),
    line(9600, 7, 'E', 1),
    line(1200, 7, 'O', 1),
    line(4800, 8, 'N', 1),
    line(19_200, 8, 'N', 1),
];

/// The usual speeds, those of scales first.
pub const SPEEDS: [u32; 8] = [9600, 2400, 4800, 1200, 19_200, 38_400, 57_600, 115_200];

/// The usual framings, as data bits and parity. A second stop bit is not heard, so that it makes no setting of its own.
pub const FRAMINGS: [(u8, char); 6] = [(8, 'N'), (7, 'E'), (8, 'O'), (7, 'O'), (8, 'E'), (7, 'N')];

/// Every usual setting: the likely ones, then each speed without parity, then the rest.
pub fn usual() -> Vec<UsualLine> {
    let mut all = LIKELY.to_vec();
    for (data_bits, parity) in FRAMINGS {
        for baud in SPEEDS {
            all.push(framed(baud, data_bits, parity));
        }
    }
    let mut once: Vec<UsualLine> = Vec::new();
    for line in all {
        if !once.contains(&line) {
            once.push(line);
        }
    }
    once
}

/// Seven bits without parity have two stop bits: fewer than ten bits a byte are not in use.
pub(super) const fn framed(baud: u32, data_bits: u8, parity: char) -> UsualLine {
    line(baud, data_bits, parity, if data_bits == 7 && parity == 'N' { 2 } else { 1 })
}

/// The setting for a person: `9600 8N1`.
pub fn told(line: UsualLine) -> String {
    let UsualLine { baud, data_bits, parity, stop_bits } = line;
    format!("{baud} {data_bits}{parity}{stop_bits}")
}

/// Whether two settings hear the same: a receiver looks at the first stop bit only.
pub fn hears_as(a: UsualLine, b: UsualLine) -> bool {
    let least = |line: UsualLine| framed(line.baud, line.data_bits, line.parity);
    least(a) == least(b)
}

/// The setting with the other number of stop bits, if there is such a one.
pub(super) fn other_stop(line: UsualLine) -> Option<UsualLine> {
    let other = UsualLine { stop_bits: if line.stop_bits == 1 { 2 } else { 1 }, ..line };
    (line.data_bits == 8 || line.parity != 'N').then_some(other)
}

/// The parity bit of that byte; none without parity.
const fn parity_bit(value: u8, parity: char) -> Option<bool> {
    let odd_ones = value.count_ones() % 2 == 1;
    match parity {
        'E' => Some(odd_ones),
        'O' => Some(!odd_ones),
        _ => None,
    }
}

/// What a receiver set to `right` would have made of a byte that one set to `heard` got, both at the same speed;
/// `None` where it would have been damaged, or where that cannot be known.
///
/// Seven data bits with parity and eight without are ten bits on the wire, so each shows what the other would see:
/// a 7E1 line heard at 8N1 has in bit 7 the even parity of the other seven, and an 8N1 line heard at 7E1 has its
/// bit 7 where the parity is looked for. The parity of an 8E1 or 8O1 line stands where 8N1 looks for the stop bit.
pub fn as_heard_at(right: UsualLine, heard: UsualLine, byte: Byte) -> Option<u8> {
    let Byte { value, damaged } = byte;
    // The eight bits after the start bit, and the ninth where it was looked at.
    let (eight, ninth) = match (heard.data_bits, parity_bit(value, heard.parity)) {
        (7, Some(parity)) => (value | u8::from(parity != damaged) << 7, None),
        (7, None) => (value | u8::from(!damaged) << 7, None),
        (_, Some(parity)) => (value, Some(parity != damaged)),
        (_, None) => (value, Some(!damaged)),
    };
    let seven = eight & 0x7f;
    let top = eight & 0x80 != 0;
    // Where eight bits and a stop bit were looked for, the stop bit has to be one.
    let stops = ninth != Some(false);
    match (right.data_bits, right.parity) {
        (7, 'N') => (stops && top).then_some(seven),
        (7, parity) => (stops && parity_bit(seven, parity) == Some(top)).then_some(seven),
        (_, 'N') => stops.then_some(eight),
        (_, parity) => (ninth.is_some() && ninth == parity_bit(eight, parity)).then_some(eight),
    }
}
