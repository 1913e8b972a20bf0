//! Accuracy classes of scales and what the law allows each: OIML R 76-1:2006 tables 3 and 6, NIST Handbook 44
//! scales code 2.20 tables 3, 6 and 8.

use crate::units::{Decimal, Division, Grams};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Whose limits hold. The shop's choice: the law of the place decides where weighing is regulated.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Rules {
    /// OIML R 76-1:2006, as most countries have it.
    #[default]
    #[serde(rename = "R 76")]
    R76,
    /// NIST Handbook 44, scales code 2.20, as the United States have it.
    #[serde(rename = "HB 44")]
    Hb44,
}

/// An accuracy class, as the plate of a verified scale shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum AccuracyClass {
    /// Special.
    #[serde(rename = "I")]
    I,
    /// High.
    #[serde(rename = "II")]
    Ii,
    /// Medium.
    #[serde(rename = "III")]
    Iii,
    /// For large scales; only Handbook 44 has it.
    #[serde(rename = "III L")]
    IiiL,
    /// Ordinary.
    #[serde(rename = "IIII")]
    Iiii,
}

/// A line of a table 3: what a scale of that class is like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClassRow {
    /// The least verification interval e.
    pub e_from: Grams,
    /// The largest e; none if there is no largest.
    pub e_to: Option<Grams>,
    /// The fewest intervals, n = Max / e.
    pub n_min: u32,
    /// The most intervals; none if there is no most.
    pub n_max: Option<u32>,
    /// The least load Min, in intervals: the law's in R 76, a recommendation in Handbook 44 (its table 8).
    pub min: u32,
}

/// A line of a table 6: up to which load, counted in intervals, how much is allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// The last load of the band, in intervals; none if it has no end.
    pub up_to: Option<u32>,
    /// What is allowed in service, ± intervals.
    pub in_service: u32,
}

impl Rules {
    /// Both, in the order people would list them.
    pub const ALL: [Self; 2] = [Self::R76, Self::Hb44];

    /// Its word in the shop's files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::R76 => "R 76",
            Self::Hb44 => "HB 44",
        }
    }

    /// What it is called in full.
    pub const fn source(self) -> &'static str {
        match self {
            Self::R76 => "OIML R 76-1:2006",
            Self::Hb44 => "NIST Handbook 44",
        }
    }
}

impl fmt::Display for Rules {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl fmt::Display for AccuracyClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// So many units of the given decimal place, in grams.
const fn grams(units: u32, decimals: u32) -> Grams {
    Grams::new(Decimal::from_parts(units, 0, 0, false, decimals))
}

const MILLIGRAM: Grams = grams(1, 3);
const FIFTY_MILLIGRAMS: Grams = grams(5, 2);
const TENTH: Grams = grams(1, 1);
const TWO_GRAMS: Grams = grams(2, 0);
const FIVE_GRAMS: Grams = grams(5, 0);
const TWO_KILOGRAMS: Grams = grams(2000, 0);

const fn row(e_from: Grams, e_to: Option<Grams>, n_min: u32, n_max: Option<u32>, min: u32) -> ClassRow {
    ClassRow { e_from, e_to, n_min, n_max, min }
}

const fn band(up_to: u32, in_service: u32) -> Band {
    Band { up_to: Some(up_to), in_service }
}

const fn beyond(in_service: u32) -> Band {
    Band { up_to: None, in_service }
}

impl AccuracyClass {
    /// All of them, the finest first.
    pub const ALL: [Self; 5] = [Self::I, Self::Ii, Self::Iii, Self::IiiL, Self::Iiii];

    /// What stands on the plate.
    pub const fn word(self) -> &'static str {
        match self {
            Self::I => "I",
            Self::Ii => "II",
            Self::Iii => "III",
            Self::IiiL => "III L",
            Self::Iiii => "IIII",
        }
    }

    /// What a scale of this class is like, by those rules; nothing where they do not have the class.
    ///
    /// OIML R 76-1:2006 table 3; NIST Handbook 44 table 3 (read second-hand; class III L from memory) with the
    /// recommended minimum loads of its table 8 (from memory).
    pub const fn rows(self, rules: Rules) -> &'static [ClassRow] {
        match (rules, self) {
            (_, Self::I) => const { &[row(MILLIGRAM, None, 50_000, None, 100)] },
            (_, Self::Ii) => {
                const {
                    &[
                        row(MILLIGRAM, Some(FIFTY_MILLIGRAMS), 100, Some(100_000), 20),
                        row(TENTH, None, 5_000, Some(100_000), 50),
                    ]
                }
            }
            (_, Self::Iii) => {
                const {
                    &[
                        row(TENTH, Some(TWO_GRAMS), 100, Some(10_000), 20),
                        row(FIVE_GRAMS, None, 500, Some(10_000), 20),
                    ]
                }
            }
            (Rules::R76, Self::IiiL) => &[],
            (Rules::Hb44, Self::IiiL) => const { &[row(TWO_KILOGRAMS, None, 2_000, Some(10_000), 50)] },
            (Rules::R76, Self::Iiii) => const { &[row(FIVE_GRAMS, None, 100, Some(1_000), 10)] },
            (Rules::Hb44, Self::Iiii) => const { &[row(FIVE_GRAMS, None, 100, Some(1_200), 10)] },
        }
    }

    /// The line of [`rows`](Self::rows) that a scale with that e falls under.
    pub fn row(self, rules: Rules, e: Division) -> Option<&'static ClassRow> {
        let e = e.grams();
        self.rows(rules).iter().find(|row| e >= row.e_from && row.e_to.is_none_or(|most| e <= most))
    }

    /// What is allowed in service, band by band; nothing where the rules do not have the class.
    ///
    /// OIML R 76-1:2006 table 6, doubled: in service twice as much is allowed as at verification. NIST Handbook
    /// 44 table 6, maintenance tolerances: class III above 2 000 read second-hand, the rest from memory. Class
    /// III L goes on in steps: see [`in_service`](Self::in_service).
    pub const fn bands(self, rules: Rules) -> &'static [Band] {
        match (rules, self) {
            (_, Self::I) => const { &[band(50_000, 1), band(200_000, 2), beyond(3)] },
            (Rules::R76, Self::Ii) => const { &[band(5_000, 1), band(20_000, 2), band(100_000, 3)] },
            (Rules::Hb44, Self::Ii) => const { &[band(5_000, 1), band(20_000, 2), beyond(3)] },
            (Rules::R76, Self::Iii) => const { &[band(500, 1), band(2_000, 2), band(10_000, 3)] },
            (Rules::Hb44, Self::Iii) => const { &[band(500, 1), band(2_000, 2), band(4_000, 3), beyond(5)] },
            (Rules::R76, Self::IiiL) => &[],
            (Rules::Hb44, Self::IiiL) => const { &[band(500, 1), band(1_000, 2)] },
            (Rules::R76, Self::Iiii) => const { &[band(50, 1), band(200, 2), band(1_000, 3)] },
            (Rules::Hb44, Self::Iiii) => const { &[band(50, 1), band(200, 2), band(400, 3), beyond(5)] },
        }
    }

    /// How far a reading may be off in service at that load, ±; counted in e. Handbook 44 counts in scale divisions,
    /// and where there is an auxiliary digit in the division before it, which is e (read second-hand). None where the rules do not have the class, or
    /// allow no such load for it.
    pub fn in_service(self, rules: Rules, e: Division, load: Grams) -> Option<Grams> {
        let intervals = load.abs().ratio_to(e.grams())?;
        let within = |band: &&Band| band.up_to.is_none_or(|last| intervals <= Decimal::from(last));
        let bands = self.bands(rules);
        let allowed = match bands.iter().find(within) {
            Some(band) => Decimal::from(band.in_service),
            // Class III L: 1 more for each further 500 intervals or a part of them.
            None if self == Self::IiiL => {
                let last = bands.last()?;
                let further = intervals.checked_sub(Decimal::from(last.up_to?))?;
                let steps = further.checked_div(Decimal::from(500))?.ceil();
                Decimal::from(last.in_service).checked_add(steps)?
            }
            None => return None,
        };
        Some(e.grams().times(allowed))
    }

    /// How far a reading may be off when the scale is verified, ±: half of [`in_service`](Self::in_service).
    pub fn at_verification(self, rules: Rules, e: Division, load: Grams) -> Option<Grams> {
        Some(self.in_service(rules, e, load)?.times(Decimal::new(5, 1)))
    }
}

#[cfg(test)]
mod tests;
