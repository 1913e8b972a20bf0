//! How much to mix by the shop's own record: what was used against what was estimated, mix after mix of the same layer.
//!
//! The ratios are taken in logarithms (twice as much is as far off as half as much) and as normal, with a weak prior that
//! the estimate is enough nine times in ten: that is what it is taken for while there is no record, so that a first mix of
//! which much was left makes the next one smaller, and not larger because little is known. The next one is then distributed as Student's t (the conjugate normal-inverse-gamma model of any
//! textbook on Bayesian statistics). The amount is its quantile at the critical fractile `short / (short + over)`: the
//! newsvendor rule. Forecasts are floats; what comes out is a suggestion that a person takes or not.

use crate::units::{Decimal, Millilitres};
use rust_decimal::prelude::{FromPrimitive as _, ToPrimitive as _};
use statrs::distribution::{ContinuousCDF as _, StudentsT};
use thiserror::Error;

/// How many mixes the prior's middle is worth: a shop's habit is that much less certain than one mix is of it.
const PRIOR_MIXES: f64 = 0.5;
/// How many degrees of freedom the prior's spread has.
const PRIOR_FREEDOM: f64 = 3.0;
/// The prior's spread of the logarithm from one job to the next: about a seventh more or less (common practice, no
/// source). With the middle's it makes a quarter for the first mix of a shop of which nothing is known.
const PRIOR_SPREAD: f64 = 0.15;
/// How often the estimate is enough by the prior alone (common practice, no source).
const PRIOR_ENOUGH: f64 = 0.9;

/// A layer that was mixed before, all volumes ready to spray.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Past {
    /// What was estimated to be needed.
    pub estimated: Millilitres,
    /// What was mixed.
    pub mixed: Millilitres,
    /// What was used: mixed, less what was left.
    pub used: Millilitres,
}

/// What a millilitre too few costs against one too many; only their ratio matters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Odds(f64);

/// Costs between which nobody can choose.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("a millilitre too few and one too many must both cost more than nothing")]
pub struct OddsError;

impl Odds {
    /// Nine times as bad to run short as to have some left: enough nine times in ten.
    pub const USUAL: Self = Self(0.9);

    /// From what a millilitre too few, and one too many, costs, in any one unit.
    ///
    /// # Errors
    /// One of them is not above nothing.
    pub fn of_costs(short: Decimal, over: Decimal) -> Result<Self, OddsError> {
        let (short, over) = (short.to_f64().unwrap_or(0.0), over.to_f64().unwrap_or(0.0));
        let fractile = short / (short + over);
        (short > 0.0 && over > 0.0 && fractile < 1.0).then_some(Self(fractile)).ok_or(OddsError)
    }

    /// The critical fractile, between nothing and one: in which share of all cases it is to be enough.
    pub const fn fractile(self) -> f64 {
        self.0
    }

    /// In how many of ten cases it is enough, rounded down so that no more is promised than holds.
    pub fn in_ten(self) -> u32 {
        (self.0 * 10.0 + 1e-9).floor().to_u32().unwrap_or(0).min(9)
    }
}

/// How much to mix.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// Ready to spray, in whole millilitres, rounded up; the estimate itself where nothing was mixed before.
    pub mix: Millilitres,
    /// From how many earlier mixes; nothing: it is the estimate alone.
    pub from: usize,
    /// In how many of ten cases it is enough; none where it is the estimate alone, of which nobody knows.
    pub in_ten: Option<u32>,
    /// What will more likely than not be used.
    pub likely: Millilitres,
    /// What was mixed last time, if that was about as large a job, and how much more that is than is advised now.
    pub last: Option<(Millilitres, Millilitres)>,
}

/// What is known of the logarithm of used against estimated.
struct Known {
    count: usize,
    location: f64,
    scale: f64,
    freedom: f64,
}

fn float(volume: Millilitres) -> f64 {
    volume.decimal().to_f64().unwrap_or(0.0)
}

/// Where the prior's middle lies, so that its own forecast of the next ratio is enough as often as it is to be.
fn prior_location() -> f64 {
    let scale = PRIOR_SPREAD * (1.0 + 1.0 / PRIOR_MIXES).sqrt();
    let above =
        StudentsT::new(0.0, 1.0, PRIOR_FREEDOM).map_or(0.0, |student| student.inverse_cdf(PRIOR_ENOUGH));
    -scale * above
}

fn known(past: &[Past]) -> Known {
    let of = |past: &Past| (float(past.used) / float(past.estimated)).ln();
    let logs: Vec<f64> = past.iter().map(of).filter(|log| log.is_finite()).collect();
    let count = logs.len();
    let n = u32::try_from(count).map_or(f64::MAX, f64::from);
    let mean = if count == 0 { 0.0 } else { logs.iter().sum::<f64>() / n };
    let squares: f64 = logs.iter().map(|log| (log - mean).powi(2)).sum();
    let weight = PRIOR_MIXES + n;
    let prior = prior_location();
    let location = (PRIOR_MIXES * prior + n * mean) / weight;
    let freedom = PRIOR_FREEDOM + n;
    let sum =
        PRIOR_FREEDOM * PRIOR_SPREAD.powi(2) + squares + PRIOR_MIXES * n / weight * (mean - prior).powi(2);
    let scale = (sum / freedom * (1.0 + 1.0 / weight)).sqrt();
    Known { count, location, scale, freedom }
}

/// Rounded up to whole millilitres; the estimate where a float went astray.
fn whole(volume: f64, estimate: Millilitres) -> Millilitres {
    Decimal::from_f64(volume.ceil()).filter(Decimal::is_sign_positive).map_or(estimate, Millilitres::new)
}

/// Whether two jobs are about as large, within a quarter by what they were estimated to need: how much one took says nothing
/// by itself of one that is larger or smaller.
fn is_alike(one: Millilitres, other: Millilitres) -> bool {
    let apart = if one > other { one - other } else { other - one };
    apart.times(Decimal::from(4)) <= other
}

/// How much to mix of a layer whose need is estimated, after what was mixed of that layer before, the latest last. A past
/// mix of which nothing was estimated or used says nothing and is passed over.
pub fn advice(estimate: Millilitres, past: &[Past], odds: Odds) -> Advice {
    let known = known(past);
    let quantile = |share: f64| {
        let student = StudentsT::new(0.0, 1.0, known.freedom).ok()?;
        Some(float(estimate) * (known.location + known.scale * student.inverse_cdf(share)).exp())
    };
    let found = quantile(odds.fractile()).zip(quantile(0.5)).filter(|_| known.count > 0);
    let (mix, likely, in_ten) = match found {
        Some((mix, likely)) => (whole(mix, estimate), whole(likely, estimate), Some(odds.in_ten())),
        None => (estimate, estimate, None),
    };
    let last = past.last().filter(|past| is_alike(past.estimated, estimate));
    let last = last.map(|past| (past.mixed, past.mixed - mix));
    Advice { mix, from: if in_ten.is_some() { known.count } else { 0 }, in_ten, likely, last }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;
    use statrs::distribution::Normal;

    fn ml(volume: i64) -> Millilitres {
        Millilitres::new(Decimal::from(volume))
    }

    fn past(estimated: i64, used: i64) -> Past {
        Past { estimated: ml(estimated), mixed: ml(used + 50), used: ml(used) }
    }

    /// NIST/SEMATECH e-Handbook of Statistical Methods, "Upper critical values of Student's t distribution" (as reprinted
    /// in a textbook's table 8; read): three decimals.
    #[rstest]
    #[case(1.0, [3.078, 6.314, 12.706, 31.821, 63.657])]
    #[case(2.0, [1.886, 2.920, 4.303, 6.965, 9.925])]
    #[case(4.0, [1.533, 2.132, 2.776, 3.747, 4.604])]
    #[case(5.0, [1.476, 2.015, 2.571, 3.365, 4.032])]
    #[case(10.0, [1.372, 1.812, 2.228, 2.764, 3.169])]
    #[case(30.0, [1.310, 1.697, 2.042, 2.457, 2.750])]
    #[case(100.0, [1.290, 1.660, 1.984, 2.364, 2.626])]
    fn students_quantiles_are_the_printed_ones(#[case] freedom: f64, #[case] row: [f64; 5]) {
        let student = StudentsT::new(0.0, 1.0, freedom).unwrap();
        for (above, expected) in [0.10, 0.05, 0.025, 0.01, 0.005].into_iter().zip(row) {
            let found = student.inverse_cdf(1.0 - above);
            assert!((found - expected).abs() <= 0.000_51, "{freedom} {above}: {found}, not {expected}");
        }
    }

    /// Textbook problems of the newsvendor: bought for 100, sold for 140, what is left for 90 (a page of problems on
    /// tutorsglobe.com; read): the ratio is 40 / (40 + 10). Bought for 10, sold for 15, what is left for 3 ("The
    /// newsvendor problem with normal demand", a chapter's section put on a web page; read): 5 / 12, below a half.
    #[test]
    fn the_critical_fractile_of_textbook_problems() {
        let ratio = |short: i64, over: i64| Odds::of_costs(short.into(), over.into()).unwrap().fractile();
        assert!((ratio(40, 10) - 0.8).abs() < 1e-12);
        assert!((ratio(5, 7) - 5.0 / 12.0).abs() < 1e-12);
        // With demand of 1000 and 200 about it, the printed table's z of 0.80 is 0.84: 1168 or, rounded up, 1169.
        let quantity = Normal::new(1000.0, 200.0).unwrap().inverse_cdf(ratio(40, 10));
        assert!((1168.0..1169.0).contains(&quantity), "{quantity}");
        for (short, over) in [(0, 1), (1, 0), (-1, 1), (1, -2)] {
            assert_eq!(Odds::of_costs(short.into(), over.into()), Err(OddsError), "{short} {over}");
        }
    }

    #[test]
    fn with_no_history_it_is_the_estimate() {
        for history in [vec![], vec![past(0, 100)], vec![past(100, 0)]] {
            let found = advice(ml(350), &history, Odds::USUAL);
            assert_eq!((found.mix, found.likely, found.from, found.in_ten), (ml(350), ml(350), 0, None));
        }
    }

    /// By hand for two mixes of which 0.8 and 1.25 times the estimate was used: the logarithms are ∓0.2231, their mean
    /// nothing. The prior's middle: t of 0.9 with 3 (the printed table) 1.638, times 0.15 · √3: −0.4256; with the two
    /// mixes −0.0851. Freedom 5; spread² (3 · 0.0225 + 2 · 0.0498 + 0.4 · 0.1811) / 5 · (1 + 1/2.5) = 0.0671; t of 0.9
    /// with 5 (the printed table) 1.476: exp(1.476 · 0.2590 − 0.0851) = 1.3461, and exp(−0.0851) = 0.9184.
    #[test]
    fn a_quantile_by_hand() {
        let found = advice(ml(1000), &[past(1000, 800), past(1000, 1250)], Odds::USUAL);
        assert!((ml(1345)..=ml(1348)).contains(&found.mix), "{found:?}");
        assert_eq!((found.likely, found.from, found.in_ten), (ml(919), 2, Some(9)));
    }

    /// Less is asked for after one mix of which a third was left, and more after one that took more than was thought.
    #[test]
    fn one_mix_moves_the_next_the_way_it_went() {
        let next = |used| advice(ml(1000), &[past(1000, used)], Odds::USUAL).mix;
        assert!(next(650) < ml(1000), "{}", next(650));
        assert!(next(1000) > ml(1000) && next(1000) < ml(1400), "{}", next(1000));
        assert!(next(500) < next(650) && next(650) < next(800), "{} {} {}", next(500), next(650), next(800));
    }

    #[test]
    fn what_last_time_would_leave_is_said() {
        let history: Vec<Past> =
            (0..30).map(|_| Past { estimated: ml(300), mixed: ml(400), used: ml(270) }).collect();
        let found = advice(ml(300), &history, Odds::USUAL);
        assert!(found.mix > ml(270) && found.mix < ml(310), "{found:?}");
        assert_eq!(found.last, Some((ml(400), ml(400) - found.mix)));
        // A quarter more or less is still about as much, and beyond it nothing is said of last time.
        let last = |estimate| advice(ml(estimate), &history, Odds::USUAL).last.is_some();
        assert_eq!([200, 239, 240, 400, 401].map(last), [false, false, true, true, false]);
    }

    proptest! {
        /// The more often it is to be enough, the more is mixed; and never less than what is likely from a half on.
        #[test]
        fn more_certain_is_more(
            history in prop::collection::vec((50_i64..2000, 50_i64..2000), 1..40),
            estimate in 20_i64..3000,
        ) {
            let history: Vec<Past> = history.into_iter().map(|(estimated, used)| past(estimated, used)).collect();
            let mut before = ml(0);
            for (short, over) in [(1, 1), (2, 1), (4, 1), (9, 1), (19, 1)] {
                let odds = Odds::of_costs(short.into(), over.into()).unwrap();
                let found = advice(ml(estimate), &history, odds);
                prop_assert!(found.mix >= before && found.mix >= found.likely, "{found:?}");
                before = found.mix;
            }
        }

        /// A shop that always uses the same share of the estimate is believed in the end, whatever the prior.
        #[test]
        fn the_record_wins_over_the_prior(percent in 40_i64..200) {
            let history: Vec<Past> = (0..400).map(|_| past(1000, percent * 10)).collect();
            let found = advice(ml(1000), &history, Odds::USUAL);
            let off = float(found.likely) / (10.0 * f64::from(i32::try_from(percent).unwrap()));
            prop_assert!((off - 1.0).abs() < 0.02, "{found:?}");
        }
    }
}
