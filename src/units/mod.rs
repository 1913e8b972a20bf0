//! Ground floor: quantities as exact decimals, each in its own type, so that grams cannot be taken for
//! millilitres nor a share for a percentage. Depends on nothing else in the house.

// Tests hold exact results against floats and loop over small numbers; the code itself never does.
#![cfg_attr(not(test), deny(clippy::float_arithmetic, clippy::arithmetic_side_effects))]

mod area;
pub mod cell;
mod division;
mod grams;
mod mass_unit;
mod millilitres;
mod money;
mod notation;
mod number;
mod share;
#[cfg(test)]
pub(crate) mod testing;
mod text;
mod time;
mod typed;
mod volume_unit;

pub use area::Area;
pub use division::Division;
pub use grams::Grams;
pub use mass_unit::MassUnit;
pub use millilitres::{Density, Millilitres};
pub use money::{Money, PricePerLitre};
pub use notation::{DecimalSign, MassShown, Notation, VolumeShown};
pub(crate) use number::{LIMIT, MOST_DECIMALS};
pub use number::{NumberError, parse_decimal, parse_decimal_with_comma, plain};
pub use rust_decimal::Decimal;
pub use share::Share;
pub use text::{clean, is_unprintable};
pub use time::{Moment, Stamp};
pub use typed::{TypedError, parse_area, parse_mass, parse_volume};
pub use volume_unit::VolumeUnit;

/// Implements what every bounded quantity shares: order, zero, and sums that cannot wrap.
///
/// A quantity is at most [`number::LIMIT`] in size when it comes in, and a mix adds up a few hundred of them,
/// so the checked operations below cannot fail in use. If one ever did, the result stays at the edge of the
/// decimal's range, far outside anything a scale or a cup accepts, instead of bringing the bench down.
macro_rules! quantity {
    ($name:ident) => {
        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(rust_decimal::Decimal::ZERO);

            /// The bare number.
            pub const fn decimal(self) -> rust_decimal::Decimal {
                self.0
            }

            /// Whether it is exactly nothing.
            pub fn is_zero(self) -> bool {
                self.0.is_zero()
            }

            /// Whether it is below nothing.
            pub fn is_negative(self) -> bool {
                self.0.is_sign_negative() && !self.0.is_zero()
            }

            /// Whether it is above nothing.
            pub fn is_positive(self) -> bool {
                self.0.is_sign_positive() && !self.0.is_zero()
            }

            /// The size without the sign.
            #[must_use]
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// This quantity scaled by a bare factor, as `1.5` times as much.
            #[must_use]
            pub fn times(self, factor: rust_decimal::Decimal) -> Self {
                Self($crate::units::number::product(self.0, factor))
            }

            /// How many times `other` goes into this; nothing if `other` is zero.
            pub fn ratio_to(self, other: Self) -> Option<rust_decimal::Decimal> {
                self.0.checked_div(other.0)
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self($crate::units::number::sum(self.0, other.0))
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self($crate::units::number::sum(self.0, $crate::units::number::negated(other.0)))
            }
        }

        impl std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self($crate::units::number::negated(self.0))
            }
        }

        impl std::ops::AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                *self = *self + other;
            }
        }

        impl std::ops::SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                *self = *self - other;
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                items.fold(Self::ZERO, |total, item| total + item)
            }
        }
    };
}
pub(crate) use quantity;
