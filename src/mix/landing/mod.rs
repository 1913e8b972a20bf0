//! Where a pour will land if the hand begins to set the tin upright now, and when to say so. A forecast, drawn and
//! never recorded.
//!
//! The model: `m_final = reading + flow * behind`. What the reading lies behind the hand is one time, whatever it is
//! made of: the scale's filter, the fall, what still runs off while the tin comes up, the last drops. A word that is
//! to be heeded must come earlier by the hand's own reaction: `m_final = reading + flow * (behind + reaction)`. That is
//! what a [`Lesson`] is of: from the word to what the scale showed at the end. The tail of drops is a longer time in a
//! dribble than in a stream; learned apart for the two, more pours went over (`cargo bench --bench landing`), so there
//! is one time for a scale, and how far pours differ in it: the [`Lag`].

mod approach;
mod lag;

pub use approach::{Advice, Approach, Seen};
pub use lag::{Lag, Lesson};

use crate::units::{Decimal, Grams, Moment};

/// Over how much of the past the flow is looked at, in milliseconds.
const LOOK_BACK_MS: u64 = 600;
/// Fewer readings than this say nothing about a flow.
const FEWEST: usize = 4;

/// The flow in grams a second, from the last readings, oldest first. None where it is less than a division a second.
///
/// The slope is the median of those of all pairs (Theil–Sen): a bump on the bench does not tip it.
pub fn flow(readings: &[(Moment, Grams)], division: Grams) -> Option<Grams> {
    let (latest_at, _) = *readings.last()?;
    let recent: Vec<_> =
        readings.iter().filter(|(at, _)| latest_at.since(*at) <= LOOK_BACK_MS).copied().collect();
    if recent.len() < FEWEST {
        return None;
    }
    let mut slopes: Vec<Decimal> = Vec::new();
    for (index, (at, mass)) in recent.iter().enumerate() {
        for (later_at, later) in recent.iter().skip(index.saturating_add(1)) {
            let span = Decimal::from(later_at.since(*at));
            slopes.extend((*later - *mass).decimal().checked_div(span));
        }
    }
    slopes.sort_unstable();
    let middle = slopes.len().checked_div(2)?;
    let per_second = Grams::new(*slopes.get(middle)?).times(Decimal::ONE_THOUSAND);
    (per_second >= division).then_some(per_second)
}

/// What a flow in grams a second brings in so many milliseconds.
fn brings(flow: Grams, milliseconds: u64) -> Grams {
    flow.times(Decimal::from(milliseconds)).times(Decimal::new(1, 3))
}

/// Forecasts the reading at which a pour lands, from the last readings, oldest first. None without a flow of
/// at least a division a second.
pub fn landing(readings: &[(Moment, Grams)], division: Grams, lag: &Lag) -> Option<Grams> {
    let (_, latest) = *readings.last()?;
    flow(readings, division).map(|flow| latest + brings(flow, lag.behind_ms()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grams(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    fn readings(values: &[&str]) -> Vec<(Moment, Grams)> {
        values.iter().zip(0..).map(|(value, n)| (Moment(n * 100), grams(value))).collect()
    }

    #[test]
    fn a_steady_flow_lands_as_far_ahead_as_the_reading_is_behind() {
        // 10 g/s, 0.35 s behind.
        let flow = readings(&["0", "1", "2", "3", "4", "5", "6"]);
        assert_eq!(landing(&flow, grams("0.1"), &Lag::default()), Some(grams("9.5")));
    }

    #[test]
    fn a_bump_does_not_tip_it() {
        let flow = readings(&["0", "1", "2", "9", "4", "5", "6"]);
        assert_eq!(landing(&flow, grams("0.1"), &Lag::default()), Some(grams("9.5")));
    }

    #[test]
    fn what_stands_still_or_goes_out_lands_nowhere() {
        for still in [["5", "5", "5", "5", "5"], ["5", "4", "3", "2", "1"], ["5", "5", "5", "5", "5.1"]] {
            assert_eq!(landing(&readings(&still), grams("0.1"), &Lag::default()), None);
        }
        assert_eq!(landing(&readings(&["0", "1", "2"]), grams("0.1"), &Lag::default()), None);
        assert_eq!(landing(&[], grams("0.1"), &Lag::default()), None);
    }

    #[test]
    fn only_the_last_moments_count() {
        let mut old = readings(&["0", "50", "90", "100"]);
        old.extend(
            ["100", "100", "100", "100"].iter().zip(0..).map(|(v, n)| (Moment(2_000 + n * 100), grams(v))),
        );
        assert_eq!(landing(&old, grams("0.1"), &Lag::default()), None);
    }
}
