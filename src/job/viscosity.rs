//! Efflux cups: what seconds in a named cup are in mm²/s, inside the range the cup is made for and nowhere else.
//!
//! Seconds without the cup's name say nothing: two cups of 4 mm differ by more than three times. Equations hold for
//! liquids whose viscosity does not change with stirring (Newtonian).

use crate::catalogue::Viscosity;
use crate::units::{Decimal, Notation};
use thiserror::Error;

/// How a cup's seconds become mm²/s.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Equation {
    /// `a·t − b/t`, both in hundredths and thousandths as written: a in thousandths, b in units.
    Curved(i64, i64),
    /// `a·(t − c)`, both in hundredths.
    Straight(i64, i64),
}

/// A cup with a hole, by standard and size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FlowCup {
    /// What it is called on a data sheet: `ISO 4 mm`.
    pub name: &'static str,
    /// The standard it is of.
    pub standard: &'static str,
    /// The fewest seconds at which its equation holds.
    pub least: u32,
    /// The most.
    pub most: u32,
    equation: Equation,
}

const fn cup(name: &'static str, standard: &'static str, range: (u32, u32), equation: Equation) -> FlowCup {
    FlowCup { name, standard, least: range.0, most: range.1, equation }
}

/// Every cup that is known here.
///
/// ISO 2431 and DIN 53211 by an open library of conversions (`flowcups` of `conversion_calculators`; second-hand), cups 1
/// and 2 of ASTM D1200 and all of ASTM D4212 by a maker of reference oils' page "Cups" (read), cups 3 to 5 of ASTM D1200
/// second-hand as the ISO ones. DIN 53211 was withdrawn in October 1996 and is still printed on data sheets.
const CUPS: [FlowCup; 15] = [
    cup("ISO 3 mm", "ISO 2431", (30, 100), Equation::Curved(443, 200)),
    cup("ISO 4 mm", "ISO 2431", (30, 100), Equation::Curved(1370, 200)),
    cup("ISO 5 mm", "ISO 2431", (30, 100), Equation::Curved(3280, 220)),
    cup("ISO 6 mm", "ISO 2431", (30, 100), Equation::Curved(6900, 570)),
    cup("DIN 4 mm", "DIN 53211, withdrawn 1996", (25, 150), Equation::Curved(4570, 452)),
    cup("Ford 1", "ASTM D1200", (55, 100), Equation::Straight(49, 3500)),
    cup("Ford 2", "ASTM D1200", (40, 100), Equation::Straight(144, 1800)),
    cup("Ford 3", "ASTM D1200", (20, 100), Equation::Straight(231, 658)),
    cup("Ford 4", "ASTM D1200", (20, 100), Equation::Straight(385, 449)),
    cup("Ford 5", "ASTM D1200", (20, 100), Equation::Straight(1210, 200)),
    cup("Zahn 1", "ASTM D4212", (35, 80), Equation::Straight(110, 2900)),
    cup("Zahn 2", "ASTM D4212", (20, 80), Equation::Straight(350, 1400)),
    cup("Zahn 3", "ASTM D4212", (20, 80), Equation::Straight(1170, 750)),
    cup("Zahn 4", "ASTM D4212", (20, 80), Equation::Straight(1480, 500)),
    cup("Zahn 5", "ASTM D4212", (20, 80), Equation::Straight(2300, 0)),
];

/// Why a cup's name or its seconds cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum FlowCupError {
    /// A name that more than one cup has.
    #[error("'{said}' could be {}: say which, they differ by more than three times", could_be.join(" or "))]
    Which {
        /// What was said.
        said: String,
        /// Which it could be.
        could_be: Vec<&'static str>,
    },
    /// A name that none has.
    #[error("no cup '{0}' is known here. Known are: {known}", known = names())]
    Unknown(String),
    /// Seconds at which the cup's equation does not hold.
    #[error("out of range: {name} is for {least} to {most} s")]
    OutOfRange {
        /// The cup.
        name: &'static str,
        /// The fewest seconds.
        least: u32,
        /// The most.
        most: u32,
    },
}

fn names() -> String {
    CUPS.map(|cup| cup.name).join(", ")
}

/// As it is compared: small letters and digits, and `mm` left out.
fn folded(text: &str) -> String {
    let letters: String = text.to_lowercase().chars().filter(|letter| letter.is_alphanumeric()).collect();
    letters.replace("mm", "").replace("2431", "").replace("53211", "").replace("cup", "")
}

impl FlowCup {
    /// Every cup that is known here.
    pub const fn all() -> &'static [Self] {
        &CUPS
    }

    /// The cup of that name: `ISO 4 mm`, `iso4`, `DIN 53211 4 mm`, `Ford 4`.
    ///
    /// # Errors
    /// None has it, or a size alone was given, which more than one has.
    pub fn named(text: &str) -> Result<Self, FlowCupError> {
        let wanted = folded(text);
        if let Some(found) = CUPS.iter().find(|cup| folded(cup.name) == wanted) {
            return Ok(*found);
        }
        let ends_so = |cup: &&Self| !wanted.is_empty() && folded(cup.name).ends_with(&wanted);
        let could_be: Vec<&str> = CUPS.iter().filter(ends_so).map(|cup| cup.name).collect();
        if could_be.is_empty() {
            return Err(FlowCupError::Unknown(text.to_owned()));
        }
        Err(FlowCupError::Which { said: text.to_owned(), could_be })
    }

    /// Kinematic viscosity in mm²/s (cSt) from seconds.
    ///
    /// # Errors
    /// The seconds are outside the range in which the equation holds.
    pub fn viscosity(self, seconds: Decimal) -> Result<Decimal, FlowCupError> {
        let out = FlowCupError::OutOfRange { name: self.name, least: self.least, most: self.most };
        if seconds < Decimal::from(self.least) || seconds > Decimal::from(self.most) {
            return Err(out);
        }
        let found = match self.equation {
            Equation::Curved(thousandths, over) => {
                let rise = Decimal::new(thousandths, 3).checked_mul(seconds);
                let fall = Decimal::from(over).checked_div(seconds);
                rise.zip(fall).and_then(|(rise, fall)| rise.checked_sub(fall))
            }
            Equation::Straight(hundredths, from) => seconds
                .checked_sub(Decimal::new(from, 2))
                .and_then(|above| above.checked_mul(Decimal::new(hundredths, 2))),
        };
        found.ok_or(out)
    }
}

impl FlowCup {
    /// The seconds that a liquid of that kinematic viscosity, in mm²/s, takes in this cup, to a tenth.
    ///
    /// # Errors
    /// They are outside the range in which the equation holds.
    pub fn seconds(self, viscosity: Decimal) -> Result<Decimal, FlowCupError> {
        let out = FlowCupError::OutOfRange { name: self.name, least: self.least, most: self.most };
        let (mut low, mut high) = (Decimal::from(self.least), Decimal::from(self.most));
        if viscosity < self.viscosity(low)? || viscosity > self.viscosity(high)? {
            return Err(out);
        }
        // Every cup's equation rises with the seconds: halved, until the ends are the same tenth.
        for _ in 0..24 {
            let middle = low.saturating_add(high).checked_div(Decimal::TWO).ok_or_else(|| out.clone())?;
            if self.viscosity(middle)? < viscosity {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(high.round_dp(1).normalize())
    }
}

/// How thin a product is to be, by its sheet and with the cup's name: `18 s DIN 4 mm`; and in the cup on the bench, where that
/// is another and both equations hold there: `18 s DIN 4 mm, 16 s Ford 4`. Where they do not, it says so: seconds of one cup are
/// no seconds of another.
pub fn thin_words(thin: &Viscosity, bench: Option<FlowCup>, notation: Notation) -> String {
    let said = format!("{} s {}", notation.number(thin.seconds), thin.cup);
    let Some(bench) = bench else { return said };
    let named = match FlowCup::named(&thin.cup) {
        Ok(named) if named == bench => return said,
        Ok(named) => named,
        Err(_) => return format!("{said} (no figure for {})", bench.name),
    };
    match named.viscosity(thin.seconds).and_then(|viscosity| bench.seconds(viscosity)) {
        Ok(seconds) => format!("{said}, {} s {}", notation.number(seconds.round()), bench.name),
        Err(FlowCupError::OutOfRange { name, least, most }) => {
            format!("{said} (no figure for {}: {name} is for {least} to {most} s)", bench.name)
        }
        Err(why) => format!("{said} (no figure for {}: {why})", bench.name),
    }
}

/// Seconds in a cup, as a data sheet gives them. The cup belongs to them: the seconds alone say nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seconds {
    /// Which cup.
    pub cup: FlowCup,
    /// From so many seconds.
    pub from: Decimal,
    /// To so many; the same where only one figure is given.
    pub to: Decimal,
}

impl Seconds {
    /// The seconds in mm²/s, each as far as it is inside the cup's range. Spray viscosities of 14 to 25 s are often below
    /// it: then the seconds are all that can be said.
    pub fn viscosity(&self) -> (Result<Decimal, FlowCupError>, Result<Decimal, FlowCupError>) {
        (self.cup.viscosity(self.from), self.cup.viscosity(self.to))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn of(name: &str, seconds: &str) -> Decimal {
        FlowCup::named(name).unwrap().viscosity(seconds.parse().unwrap()).unwrap()
    }

    /// Reference oils at 25 °C in a maker's table of cups ("Cups", read): the viscosity and the seconds are printed as
    /// whole numbers, so that a second more or less is left open.
    #[rstest]
    #[case("Ford 1", 70, 17)]
    #[case("Ford 2", 42, 34)]
    #[case("Ford 2", 64, 66)]
    #[case("Ford 3", 35, 66)]
    #[case("Ford 3", 58, 120)]
    #[case("Ford 4", 36, 120)]
    #[case("Ford 4", 64, 230)]
    #[case("Ford 5", 40, 460)]
    #[case("Zahn 1", 60, 34)]
    #[case("Zahn 2", 33, 66)]
    #[case("Zahn 2", 48, 120)]
    #[case("Zahn 3", 27, 230)]
    #[case("Zahn 4", 21, 230)]
    #[case("Zahn 3", 47, 460)]
    #[case("Zahn 4", 36, 460)]
    #[case("Zahn 5", 37, 850)]
    fn the_printed_pairs(#[case] name: &str, #[case] seconds: u32, #[case] expected: u32) {
        let cup = FlowCup::named(name).unwrap();
        let at = |seconds: u32| cup.viscosity(Decimal::from(seconds)).unwrap();
        let (low, high) = (at(seconds - 1), at(seconds + 1));
        let expected = Decimal::from(expected);
        assert!(low <= expected && expected <= high, "{name} {seconds} s: {low} to {high}, not {expected}");
    }

    /// Values to four decimals from an open library of conversions (`flowcups`; second-hand).
    #[rstest]
    #[case("ISO 3 mm", "57", "21.7422")]
    #[case("DIN 4 mm", "97", "438.6302")]
    #[case("Ford 4", "80", "290.7135")]
    fn exact_values(#[case] name: &str, #[case] seconds: &str, #[case] expected: &str) {
        assert_eq!(of(name, seconds).round_dp(4), expected.parse().unwrap());
    }

    #[test]
    fn nothing_is_said_outside_the_range() {
        for cup in FlowCup::all() {
            let (least, most) = (Decimal::from(cup.least), Decimal::from(cup.most));
            assert!(cup.viscosity(least).unwrap() > Decimal::ZERO, "{}", cup.name);
            assert!(cup.viscosity(most).unwrap() > cup.viscosity(least).unwrap(), "{}", cup.name);
            for outside in [least - Decimal::ONE, most + Decimal::ONE, Decimal::ZERO, -Decimal::ONE] {
                assert!(cup.viscosity(outside).is_err(), "{} {outside}", cup.name);
            }
        }
        let error = FlowCup::named("ISO 4 mm").unwrap().viscosity(Decimal::from(18)).unwrap_err();
        assert_eq!(error.to_string(), "out of range: ISO 4 mm is for 30 to 100 s");
    }

    #[test]
    fn a_size_alone_is_asked_about() {
        let error = FlowCup::named("4 mm").unwrap_err().to_string();
        assert!(error.contains("ISO 4 mm or DIN 4 mm"), "{error}");
        for (said, name) in [
            ("iso4", "ISO 4 mm"),
            ("ISO 2431 4 mm", "ISO 4 mm"),
            ("DIN 53211 4mm", "DIN 4 mm"),
            ("ford cup 4", "Ford 4"),
        ] {
            assert_eq!(FlowCup::named(said).unwrap().name, name, "{said}");
        }
        assert!(matches!(FlowCup::named("bucket"), Err(FlowCupError::Unknown(_))));
        assert!(matches!(FlowCup::named(""), Err(FlowCupError::Unknown(_))));
    }

    /// The same reference oils as above, from one cup into another: what is 66 and 230 mm²/s in the printed table takes these
    /// seconds in each, a second more or less.
    #[rstest]
    #[case("Ford 2", 64, "Ford 3", 35)]
    #[case("Ford 3", 35, "Zahn 2", 33)]
    #[case("Zahn 2", 48, "Ford 4", 36)]
    #[case("Ford 4", 64, "Zahn 3", 27)]
    fn from_one_cup_into_another(
        #[case] one: &str,
        #[case] seconds: u32,
        #[case] other: &str,
        #[case] there: u32,
    ) {
        let viscosity = of(one, &seconds.to_string());
        let found = FlowCup::named(other).unwrap().seconds(viscosity).unwrap();
        assert!(
            (found - Decimal::from(there)).abs() <= Decimal::ONE,
            "{one} {seconds}: {found}, not {there}"
        );
    }

    /// There and back in every cup; and nothing where a cup does not reach.
    #[test]
    fn seconds_are_the_reverse_of_viscosity() {
        for cup in FlowCup::all() {
            for seconds in [cup.least, cup.least.midpoint(cup.most), cup.most] {
                let seconds = Decimal::from(seconds);
                let found = cup.seconds(cup.viscosity(seconds).unwrap()).unwrap();
                assert!((found - seconds).abs() <= Decimal::new(1, 1), "{} {seconds}: {found}", cup.name);
            }
            let beyond = cup.viscosity(Decimal::from(cup.most)).unwrap() + Decimal::ONE;
            assert!(cup.seconds(beyond).is_err() && cup.seconds(Decimal::ZERO).is_err(), "{}", cup.name);
        }
    }

    /// By hand: 30 s in the DIN cup are 4.57 · 30 − 452 / 30 = 122.03 mm²/s; in Ford 4 122.03 / 3.85 + 4.49 = 36.19 s; the ISO cup
    /// of 4 mm takes 90.7 s (1.37 · 90.7 − 200 / 90.7 = 122.05).
    #[test]
    fn a_products_seconds_keep_their_cup_and_are_said_in_the_one_on_the_bench() {
        let said = |seconds: &str, cup: &str, bench: Option<&str>| {
            let thin = Viscosity { seconds: seconds.parse().unwrap(), cup: cup.into() };
            thin_words(&thin, bench.map(|name| FlowCup::named(name).unwrap()), Notation::METRIC)
        };
        assert_eq!(said("18.5", "DIN 4 mm", None), "18.5 s DIN 4 mm");
        assert_eq!(said("18", "DIN 53211 4 mm", Some("DIN 4 mm")), "18 s DIN 53211 4 mm");
        assert_eq!(said("30", "DIN 4 mm", Some("Ford 4")), "30 s DIN 4 mm, 36 s Ford 4");
        assert_eq!(said("30", "DIN 4 mm", Some("ISO 4 mm")), "30 s DIN 4 mm, 91 s ISO 4 mm");
        assert_eq!(
            said("18", "DIN 4 mm", Some("ISO 4 mm")),
            "18 s DIN 4 mm (no figure for ISO 4 mm: DIN 4 mm is for 25 to 150 s)"
        );
        assert_eq!(
            said("100", "DIN 4 mm", Some("ISO 4 mm")),
            "100 s DIN 4 mm (no figure for ISO 4 mm: ISO 4 mm is for 30 to 100 s)"
        );
        assert_eq!(said("18", "our old cup", Some("Ford 4")), "18 s our old cup (no figure for Ford 4)");
    }
}
