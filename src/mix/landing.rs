//! Where a pour will land if the tin is set upright now: the reading, and what the flow adds until the scale has
//! caught up and the last of the paint is out of the air. A forecast, drawn and never recorded.

use crate::units::{Decimal, Grams, Moment};

/// Over how much of the past the flow is looked at, in milliseconds.
const LOOK_BACK_MS: u64 = 600;
/// How far the reading lies behind the cup and the cup behind the tin, in milliseconds: a scale's filter and a
/// fall of a hand's breadth (common practice, no source).
const BEHIND_MS: u64 = 350;
/// Fewer readings than this say nothing about a flow.
const FEWEST: usize = 4;

/// Forecasts the reading at which a pour lands, from the last readings, oldest first. None without a flow of
/// at least a division a second.
///
/// The slope is the median of those of all pairs (Theil–Sen): a bump on the bench does not tip it.
pub fn landing(readings: &[(Moment, Grams)], division: Grams) -> Option<Grams> {
    let (latest_at, latest) = *readings.last()?;
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
    let flow = Grams::new(*slopes.get(middle)?);
    let per_second = flow.times(Decimal::ONE_THOUSAND);
    (per_second >= division).then(|| latest + flow.times(Decimal::from(BEHIND_MS)))
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
        assert_eq!(landing(&flow, grams("0.1")), Some(grams("9.5")));
    }

    #[test]
    fn a_bump_does_not_tip_it() {
        let flow = readings(&["0", "1", "2", "9", "4", "5", "6"]);
        assert_eq!(landing(&flow, grams("0.1")), Some(grams("9.5")));
    }

    #[test]
    fn what_stands_still_or_goes_out_lands_nowhere() {
        for still in [["5", "5", "5", "5", "5"], ["5", "4", "3", "2", "1"], ["5", "5", "5", "5", "5.1"]] {
            assert_eq!(landing(&readings(&still), grams("0.1")), None);
        }
        assert_eq!(landing(&readings(&["0", "1", "2"]), grams("0.1")), None);
        assert_eq!(landing(&[], grams("0.1")), None);
    }

    #[test]
    fn only_the_last_moments_count() {
        let mut old = readings(&["0", "50", "90", "100"]);
        old.extend(
            ["100", "100", "100", "100"].iter().zip(0..).map(|(v, n)| (Moment(2_000 + n * 100), grams(v))),
        );
        assert_eq!(landing(&old, grams("0.1")), None);
    }
}
