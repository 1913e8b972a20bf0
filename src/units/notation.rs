//! How numbers are written for the person: which sign before the decimals, which units. What is stored never changes;
//! how what a person types is read is in `typed`.
//!
//! A number in a unit that is not the stored one has the decimals at which one step is still told from the next: the
//! largest power of ten that is not coarser than the step, in that unit. At 0.1 g, which is 0.0035 oz, these are
//! thousandths of an ounce; at 1 mL, which is 0.034 US fl oz, hundredths of a fluid ounce. Rounded half to even.

use super::{Area, Division, Grams, MassUnit, Millilitres, Money, Share, VolumeUnit, number, plain};
use rust_decimal::{Decimal, RoundingStrategy};

/// The sign before the decimals.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum DecimalSign {
    /// `12.5`
    #[default]
    Point,
    /// `12,5`
    Comma,
}

impl DecimalSign {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Point, Self::Comma];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// The unit in which a mass is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MassShown {
    /// Grams.
    #[default]
    Grams,
    /// Avoirdupois ounces.
    Ounces,
}

impl MassShown {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Grams, Self::Ounces];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Grams => "grams",
            Self::Ounces => "ounces",
        }
    }

    /// The unit itself.
    pub const fn unit(self) -> MassUnit {
        match self {
            Self::Grams => MassUnit::Gram,
            Self::Ounces => MassUnit::Ounce,
        }
    }
}

/// The measures in which a volume is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum VolumeShown {
    /// Millilitres.
    #[default]
    Millilitres,
    /// US fluid ounces.
    Us,
    /// Imperial fluid ounces.
    Imperial,
}

impl VolumeShown {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Millilitres, Self::Us, Self::Imperial];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Millilitres => "millilitres",
            Self::Us => "us",
            Self::Imperial => "imperial",
        }
    }

    /// The unit itself.
    pub const fn unit(self) -> VolumeUnit {
        match self {
            Self::Millilitres => VolumeUnit::Millilitre,
            Self::Us => VolumeUnit::UsFluidOunce,
            Self::Imperial => VolumeUnit::ImperialFluidOunce,
        }
    }

    /// Its symbol as people write it.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Millilitres => "mL",
            Self::Us => "US fl oz",
            Self::Imperial => "imp fl oz",
        }
    }
}

/// How numbers are written for the person.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Notation {
    /// The sign before the decimals.
    pub decimal: DecimalSign,
    /// The unit of a mass.
    pub mass: MassShown,
    /// The measures of a volume.
    pub volume: VolumeShown,
}

impl Notation {
    /// With a point, in grams and millilitres.
    pub const METRIC: Self =
        Self { decimal: DecimalSign::Point, mass: MassShown::Grams, volume: VolumeShown::Millilitres };

    /// The symbol of the unit of a mass.
    pub const fn mass_unit(self) -> &'static str {
        self.mass.unit().symbol()
    }

    /// The symbol of the unit of a volume.
    pub const fn volume_unit(self) -> &'static str {
        self.volume.symbol()
    }

    /// A mass as a scale of that division shows it, with its unit: `12.3 g`, `0.434 oz`.
    pub fn mass(self, mass: Grams, division: Division) -> String {
        format!("{} {}", self.weight(mass, division), self.mass_unit())
    }

    /// The number alone of [`Notation::mass`]. Read back and rounded to the division it is the same weight again.
    pub fn weight(self, mass: Grams, division: Division) -> String {
        match self.mass {
            MassShown::Grams => self.digits(&mass.shown(division)),
            // First to what the scale shows: a target is written as the reading that meets it.
            MassShown::Ounces => self.ounces(division.round(mass), division.grams()),
        }
    }

    /// The number alone of what a cup takes to go from one mass to another, so that numbers written one below the other
    /// add up to the last digit.
    pub fn step(self, from: Grams, to: Grams, division: Division) -> String {
        match self.mass {
            MassShown::Grams => self.weight(to - from, division),
            MassShown::Ounces => {
                let [from, to] =
                    [from, to].map(|mass| self.in_ounces(division.round(mass), division.grams()));
                let places = places(division.grams().decimal(), self.mass.unit().grams_each());
                self.fixed((Grams::new(to) - Grams::new(from)).decimal(), places)
            }
        }
    }

    /// The number alone of a deviation, with its sign: `+0.2`, `-0.3`, and `0.0` without one.
    pub fn signed(self, mass: Grams, division: Division) -> String {
        let text = self.weight(mass, division);
        if division.round(mass).is_positive() { format!("+{text}") } else { text }
    }

    /// The number alone of what was asked for: one decimal more than the scale shows, so that what it cannot resolve
    /// is seen.
    pub fn asked(self, mass: Grams, division: Division) -> String {
        self.weight_to(mass, division.decimals().saturating_add(1))
    }

    /// The number alone of a mass, to so many decimals of a gram or as finely in the unit that is shown.
    pub fn weight_to(self, mass: Grams, decimals: u32) -> String {
        match self.mass {
            MassShown::Grams => self.digits(&mass.with_decimals(decimals)),
            MassShown::Ounces => self.ounces(mass, Grams::new(one_at(decimals))),
        }
    }

    /// A mass as it was given, with its unit: all its decimals, or a decimal more finely in the unit that is shown, so
    /// that a division or a limit of a few of them is not rounded away.
    pub fn given_mass(self, mass: Grams) -> String {
        format!("{} {}", self.given_weight(mass), self.mass_unit())
    }

    /// The number alone of [`Notation::given_mass`].
    pub fn given_weight(self, mass: Grams) -> String {
        match self.mass {
            MassShown::Grams => self.number(mass.decimal()),
            MassShown::Ounces => {
                let decimals = mass.decimal().normalize().scale().saturating_add(1);
                self.without_zeros(&self.weight_to(mass, decimals))
            }
        }
    }

    /// A volume to so many decimals of a millilitre or as finely in the unit that is shown, with its unit.
    pub fn volume(self, volume: Millilitres, decimals: u32) -> String {
        format!("{} {}", self.volume_number(volume, decimals), self.volume_unit())
    }

    /// The number alone of [`Notation::volume`].
    pub fn volume_number(self, volume: Millilitres, decimals: u32) -> String {
        self.volume_rounded(volume, decimals, RoundingStrategy::MidpointNearestEven)
    }

    /// A volume that has to suffice, with its unit: never less than it is, to whole millilitres or as finely in the
    /// unit that is shown.
    pub fn volume_up(self, volume: Millilitres) -> String {
        format!("{} {}", self.volume_number_up(volume), self.volume_unit())
    }

    /// The number alone of [`Notation::volume_up`].
    pub fn volume_number_up(self, volume: Millilitres) -> String {
        self.volume_rounded(volume, 0, RoundingStrategy::ToPositiveInfinity)
    }

    /// A volume as it was given, with its unit: all its decimals, or as finely in the unit that is shown.
    pub fn given_volume(self, volume: Millilitres) -> String {
        format!("{} {}", self.given_volume_number(volume), self.volume_unit())
    }

    /// The number alone of [`Notation::given_volume`].
    pub fn given_volume_number(self, volume: Millilitres) -> String {
        let number = self.volume_number(volume, volume.decimal().normalize().scale());
        self.without_zeros(&number)
    }

    /// The symbol of the unit of an area: square feet beside US measures, else square metres.
    pub const fn area_unit(self) -> &'static str {
        match self.volume {
            VolumeShown::Us => "ft²",
            VolumeShown::Millilitres | VolumeShown::Imperial => "m²",
        }
    }

    /// An area with its unit: all its decimals of a square metre, or hundredths of a square foot.
    pub fn area(self, area: Area) -> String {
        format!("{} {}", self.area_number(area), self.area_unit())
    }

    /// The number alone of [`Notation::area`].
    pub fn area_number(self, area: Area) -> String {
        match self.volume {
            VolumeShown::Us => self.number(square_feet(area)),
            VolumeShown::Millilitres | VolumeShown::Imperial => self.number(area.decimal()),
        }
    }

    /// An area as it can be typed again without becoming another: in the unit that is shown if it is a plain number of
    /// those, else in square metres.
    pub fn typed_area(self, area: Area) -> String {
        let feet = square_feet(area);
        if self.volume == VolumeShown::Us && number::product(feet, SQUARE_FOOT) == area.decimal() {
            return format!("{} ft2", self.number(feet));
        }
        format!("{} m2", self.number(area.decimal()))
    }

    /// A volume as it can be typed again without becoming another: in the unit that is shown if it is a plain number
    /// of those, else in millilitres.
    pub fn typed_volume(self, volume: Millilitres) -> String {
        let shown = volume.decimal().checked_div(self.volume.unit().millilitres_each()).unwrap_or_default();
        let shown = shown.round_dp_with_strategy(2, RoundingStrategy::MidpointNearestEven);
        if self.volume != VolumeShown::Millilitres
            && Millilitres::from_unit(shown, self.volume.unit()) == volume
        {
            return format!("{} {}", self.number(shown), self.volume_unit());
        }
        format!("{} mL", self.number(volume.decimal()))
    }

    /// A bare number: all its decimals.
    pub fn number(self, number: Decimal) -> String {
        self.digits(&plain(number))
    }

    /// A number written with a point, its digits as they are, with the sign that is wanted.
    pub fn digits(self, number: &str) -> String {
        match self.decimal {
            DecimalSign::Point => number.to_owned(),
            DecimalSign::Comma => number.replace('.', ","),
        }
    }

    /// A share in percent with that many decimals: `1.6 %`.
    pub fn percent(self, share: Share, decimals: u32) -> String {
        self.digits(&share.percent(decimals))
    }

    /// A share in percent with its sign: `+1.6 %`.
    pub fn signed_percent(self, share: Share, decimals: u32) -> String {
        self.digits(&share.signed_percent(decimals))
    }

    /// An amount of money to its hundredths.
    pub fn money(self, money: Money) -> String {
        self.digits(&money.with_decimals(2))
    }

    /// A number without the zeros that say nothing.
    fn without_zeros(self, number: &str) -> String {
        let sign = match self.decimal {
            DecimalSign::Point => '.',
            DecimalSign::Comma => ',',
        };
        if number.contains(sign) {
            number.trim_end_matches('0').trim_end_matches(sign).to_owned()
        } else {
            number.to_owned()
        }
    }

    fn ounces(self, mass: Grams, step: Grams) -> String {
        self.fixed(self.in_ounces(mass, step), places(step.decimal(), self.mass.unit().grams_each()))
    }

    fn in_ounces(self, mass: Grams, step: Grams) -> Decimal {
        let each = self.mass.unit().grams_each();
        let number = mass.decimal().checked_div(each).unwrap_or_default();
        number.round_dp_with_strategy(places(step.decimal(), each), RoundingStrategy::MidpointNearestEven)
    }

    fn volume_rounded(self, volume: Millilitres, decimals: u32, strategy: RoundingStrategy) -> String {
        let each = self.volume.unit().millilitres_each();
        let number = volume.decimal().checked_div(each).unwrap_or_default();
        let places = places(one_at(decimals), each);
        self.fixed(number.round_dp_with_strategy(places, strategy), places)
    }

    /// A number of that many places, nothing without a sign.
    fn fixed(self, mut rounded: Decimal, places: u32) -> String {
        if rounded.is_zero() {
            rounded.set_sign_positive(true);
        }
        self.digits(&format!("{rounded:.*}", places as usize))
    }
}

/// A square foot in m²: 0.3048 m squared (the international foot is 0.3048 m by definition).
pub(super) const SQUARE_FOOT: Decimal = Decimal::from_parts(9_290_304, 0, 0, false, 8);

fn square_feet(area: Area) -> Decimal {
    let feet = area.decimal().checked_div(SQUARE_FOOT).unwrap_or_default();
    feet.round_dp_with_strategy(2, RoundingStrategy::MidpointNearestEven).normalize()
}

/// One at that decimal: 0.01 at the second.
fn one_at(decimal: u32) -> Decimal {
    Decimal::try_new(1, decimal).unwrap_or(Decimal::ONE)
}

/// How many decimals a number of a unit needs so that one step is told from the next, the unit being `each` of what
/// the step is in. At most twelve, as finely as numbers are read.
fn places(step: Decimal, each: Decimal) -> u32 {
    let is_fine = |places: &u32| number::product(each, one_at(*places)) <= step;
    (0..number::MOST_DECIMALS).find(is_fine).unwrap_or(number::MOST_DECIMALS)
}

#[cfg(test)]
mod tests;
