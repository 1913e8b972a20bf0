//! How far apart two colours are: CIEDE2000 in CIELAB.
//!
//! ISO/CIE 11664-6; Sharma, Wu and Dalal (2005), Color Research and Application 30(1), 21–30. Floats: a difference is
//! reckoned anew from what was measured, and is never recorded.

/// The seventh power of 25, which the chroma is held against.
const CHROMA_7: f64 = 6_103_515_625.0;
/// Two hues are opposite up to this many degrees. The last bit of an arc tangent, which differs between machines, would
/// else decide on which side of the circle the mean of two exactly opposite hues lies (pair 14 of the published ones).
const OPPOSITE: f64 = 180.0 + 1e-9;

/// A colour in CIELAB.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lab {
    /// L*: 0 is black, 100 is white; an effect colour near the gloss may be above.
    pub l: f64,
    /// a*: red above zero, green below.
    pub a: f64,
    /// b*: yellow above zero, blue below.
    pub b: f64,
}

impl Lab {
    /// The colour that far on the straight way to the other: 0 is this one, 1 the other.
    #[must_use]
    pub fn towards(self, other: Self, part: f64) -> Self {
        // Exact at both ends, whatever the numbers.
        let between = |from: f64, to: f64| from * (1.0 - part) + to * part;
        Self { l: between(self.l, other.l), a: between(self.a, other.a), b: between(self.b, other.b) }
    }

    /// ΔE00: the CIEDE2000 difference, with all three parametric factors 1. The same from either side.
    pub fn difference(self, other: Self) -> f64 {
        let grey = 0.5 * (1.0 - saturation(f64::midpoint(self.chroma(), other.chroma())));
        let (one, two) = (Polar::of(self, grey), Polar::of(other, grey));
        let lightness = two.l - one.l;
        let chroma = two.chroma - one.chroma;
        let (hue, mean_hue) = hues(one, two);
        let hue = 2.0 * (one.chroma * two.chroma).sqrt() * (hue / 2.0).to_radians().sin();

        let mean_chroma = f64::midpoint(one.chroma, two.chroma);
        let from_middle = (f64::midpoint(one.l, two.l) - 50.0).powi(2);
        let cosine = |degrees: f64| degrees.to_radians().cos();
        let hue_weight = 1.0 - 0.17 * cosine(mean_hue - 30.0)
            + 0.24 * cosine(2.0 * mean_hue)
            + 0.32 * cosine(3.0 * mean_hue + 6.0)
            - 0.20 * cosine(4.0 * mean_hue - 63.0);
        let lightness = lightness / (1.0 + 0.015 * from_middle / (20.0 + from_middle).sqrt());
        let chroma = chroma / (1.0 + 0.045 * mean_chroma);
        let hue = hue / (1.0 + 0.015 * mean_chroma * hue_weight);
        let turn = 30.0 * (-((mean_hue - 275.0) / 25.0).powi(2)).exp();
        let rotation = -(2.0 * turn).to_radians().sin() * 2.0 * saturation(mean_chroma);
        let square = lightness * lightness + chroma * chroma + hue * hue + rotation * chroma * hue;
        // It is never below nothing but by rounding.
        square.max(0.0).sqrt()
    }

    fn chroma(self) -> f64 {
        self.a.hypot(self.b)
    }
}

/// The colour by lightness, chroma and hue (in degrees from 0 to 360), its a* stretched near the greys.
#[derive(Clone, Copy)]
struct Polar {
    l: f64,
    chroma: f64,
    hue: f64,
}

impl Polar {
    fn of(lab: Lab, grey: f64) -> Self {
        let a = (1.0 + grey) * lab.a;
        let hue = lab.b.atan2(a).to_degrees();
        Self { l: lab.l, chroma: a.hypot(lab.b), hue: if hue < 0.0 { hue + 360.0 } else { hue } }
    }

    fn is_grey(self) -> bool {
        self.chroma <= 0.0
    }
}

/// The difference of the hues, from -180 to 180, and their mean, in degrees. A grey has no hue: the other's counts.
fn hues(one: Polar, two: Polar) -> (f64, f64) {
    let (apart, sum) = (two.hue - one.hue, one.hue + two.hue);
    if one.is_grey() || two.is_grey() {
        return (0.0, sum);
    }
    if apart.abs() <= OPPOSITE {
        return (apart, sum / 2.0);
    }
    let apart = if apart > 0.0 { apart - 360.0 } else { apart + 360.0 };
    (apart, if sum < 360.0 { f64::midpoint(sum, 360.0) } else { (sum - 360.0) / 2.0 })
}

/// √(C⁷ / (C⁷ + 25⁷)): nothing for a grey, 1 for a strong colour.
fn saturation(chroma: f64) -> f64 {
    let seventh = chroma.powi(7);
    (seventh / (seventh + CHROMA_7)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use palette::color_difference::Ciede2000 as _;
    use proptest::prelude::*;

    const PAIRS: &str =
        include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/colour/ciede2000-pairs.csv"));

    /// Each pair's number, its two colours and their difference.
    fn pairs() -> Vec<(u32, Lab, Lab, f64)> {
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(PAIRS.as_bytes());
        let read = |record: csv::StringRecord| {
            let number = |at: usize| record[at].parse::<f64>().unwrap();
            let lab = |at: usize| Lab { l: number(at), a: number(at + 1), b: number(at + 2) };
            (record[0].parse().unwrap(), lab(1), lab(4), number(7))
        };
        reader.records().map(|record| read(record.unwrap())).collect()
    }

    /// Sharma, Wu and Dalal (2005), table 1: all 34, to the four decimals they are given with.
    ///
    /// 9 to 15 are ill-conditioned: the hues of such a pair lie almost opposite, and the mean hue jumps to the other side
    /// of the circle between 10 and 11 and between 14 and 15. Those of 14 lie exactly opposite: without [`OPPOSITE`] the
    /// last bit of the arc tangent decides between 4.8045 and 4.7461, and some libraries therefore leave it out.
    #[test]
    fn the_published_pairs() {
        let pairs = pairs();
        assert_eq!(pairs.len(), 34);
        for (number, one, two, expected) in pairs {
            for (one, two) in [(one, two), (two, one)] {
                let found = one.difference(two);
                assert!((found - expected).abs() < 5.0e-5, "pair {number}: {found} and not {expected}");
            }
        }
    }

    /// What the jump between pairs 10 and 11 costs: a thousandth of b*, and four hundredths of a difference.
    #[test]
    fn the_mean_hue_jumps_where_hues_are_opposite() {
        let at = |b| Lab { l: 50.0, a: 2.49, b: -0.001 }.difference(Lab { l: 50.0, a: -2.49, b });
        assert!((at(0.001) - 7.1792).abs() < 5.0e-5 && (at(0.001_000_001) - 7.2195).abs() < 5.0e-5);
    }

    fn lab() -> impl Strategy<Value = Lab> {
        (0.0..130.0, -120.0..120.0, -120.0..120.0).prop_map(|(l, a, b)| Lab { l, a, b })
    }

    fn near() -> impl Strategy<Value = (Lab, Lab)> {
        (lab(), -3.0..3.0, -3.0..3.0, -3.0..3.0)
            .prop_map(|(one, l, a, b)| (one, Lab { l: one.l + l, a: one.a + a, b: one.b + b }))
    }

    proptest! {
        /// The crate palette's own CIEDE2000 on any two colours, far apart and as near as a card is to a car.
        ///
        /// Where two hues are more than half a circle apart and their sum is 360° or more, palette 0.7.7 takes their mean
        /// as 360° to 540°, where the paper has 0° to 180°. All but the turn of the blue region is periodic, and that is
        /// then 30·exp(-(85/25)²) = 0.0003° at most instead of nothing: some hundred-thousandths of a difference.
        #[test]
        fn another_library_finds_the_same((one, two) in prop_oneof![(lab(), lab()), near()]) {
            let other = |lab: Lab| palette::Lab::<palette::white_point::D65, f64>::new(lab.l, lab.a, lab.b);
            let expected = other(one).difference(other(two));
            let found = one.difference(two);
            let grey = 0.5 * (1.0 - saturation(f64::midpoint(one.chroma(), two.chroma())));
            let [h1, h2] = [one, two].map(|lab| Polar::of(lab, grey).hue);
            let is_turned = (h1 - h2).abs() > 180.0 && h1 + h2 >= 360.0;
            let most = if is_turned { 2e-5 } else { 1e-9 };
            prop_assert!((found - expected).abs() < most * (1.0 + expected), "{found} and not {expected}");
        }

        #[test]
        fn it_is_the_same_from_either_side((one, two) in prop_oneof![(lab(), lab()), near()], part in 0.0..1.0_f64) {
            prop_assert!((one.difference(two) - two.difference(one)).abs() < 1e-9);
            prop_assert!(one.difference(one) <= 0.0);
            let there = one.towards(two, part);
            let back = two.towards(one, 1.0 - part);
            prop_assert!((there.l - back.l).abs() + (there.a - back.a).abs() + (there.b - back.b).abs() < 1e-9);
            prop_assert_eq!((one.towards(two, 0.0), one.towards(two, 1.0)), (one, two));
        }
    }
}
