//! What the owner asked of a scale that changes it, and how its answer is known where that is a weight.

use crate::scale::shape::{Answer, Ask};
use crate::scale::{Condition, Frame, Mode, Stability};
use crate::units::{MassUnit, Moment};

/// For how long a scale may wait for rest before it answers (common practice, no source): its own limit is set at
/// the scale.
const PATIENCE_MS: u64 = 5_000;

/// A question of the owner's that waits for its answer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Request {
    pub(super) what: Ask,
    sent: Moment,
    /// The unit in which the scale weighed before it was asked.
    unit: Option<MassUnit>,
}

impl Request {
    pub(super) const fn new(what: Ask, sent: Moment, unit: Option<MassUnit>) -> Self {
        Self { what, sent, unit }
    }

    /// Whether no answer is to be expected any more.
    pub(super) const fn is_overdue(self, now: Moment) -> bool {
        now.since(self.sent) >= PATIENCE_MS
    }

    /// What a weight says of it; none if it says nothing. A scale that sends all the time goes on sending, so that
    /// the next weight need not be the answer: only one that shows what was asked for counts as done.
    pub(super) fn answered_by(self, frame: &Frame) -> Option<Answer> {
        let refused = |why: &str| Some(Answer::Refused(why.to_owned()));
        let ok = frame.condition == Condition::Ok && frame.stability != Stability::Moving;
        let zero = frame.value.is_some_and(|value| value.is_zero());
        match (self.what, &frame.condition) {
            (Ask::Zero, Condition::ZeroError) => refused(
                "the load moves, or is too far from zero: empty the pan, wait until it stands still, and try again",
            ),
            (Ask::Tare | Ask::ClearTare, Condition::TareError) => refused(
                "the load moves, or is not more than nothing: wait until it stands still, and try again",
            ),
            (Ask::Zero, _) if ok && zero && frame.mode != Mode::Net => Some(Answer::Done),
            (Ask::Tare, _) if ok && zero && matches!(frame.mode, Mode::Net | Mode::Unknown) => {
                Some(Answer::Done)
            }
            (Ask::ClearTare, _) if ok && frame.mode == Mode::Gross => Some(Answer::Done),
            (Ask::NextUnit, _) if frame.unit.is_some() && frame.unit != self.unit => Some(Answer::Done),
            (Ask::Now | Ask::WhenStable | Ask::Repeat | Ask::Stop, _) => Some(Answer::Done),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::UnitText;
    use crate::units::Decimal;

    fn frame(tenths: i64, mode: Mode, condition: Condition) -> Frame {
        Frame {
            value: Some(Decimal::new(tenths, 1)),
            unit: Some(MassUnit::Gram),
            unit_text: UnitText::from("g"),
            stability: Stability::Stable,
            mode,
            centre_of_zero: None,
            condition,
            high_resolution: false,
        }
    }

    #[test]
    fn only_a_weight_that_shows_it_says_that_it_is_done() {
        let asked = |what| Request::new(what, Moment(0), Some(MassUnit::Gram));
        let done = Some(Answer::Done);
        assert_eq!(asked(Ask::Zero).answered_by(&frame(0, Mode::Gross, Condition::Ok)), done);
        assert_eq!(asked(Ask::Zero).answered_by(&frame(3, Mode::Gross, Condition::Ok)), None);
        assert_eq!(asked(Ask::Zero).answered_by(&frame(0, Mode::Net, Condition::Ok)), None);
        let moving = Frame { stability: Stability::Moving, ..frame(0, Mode::Gross, Condition::Ok) };
        assert_eq!(asked(Ask::Zero).answered_by(&moving), None);
        assert_eq!(asked(Ask::Tare).answered_by(&frame(0, Mode::Net, Condition::Ok)), done);
        assert_eq!(asked(Ask::Tare).answered_by(&frame(0, Mode::Gross, Condition::Ok)), None);
        assert_eq!(asked(Ask::ClearTare).answered_by(&frame(214, Mode::Gross, Condition::Ok)), done);
        assert_eq!(asked(Ask::ClearTare).answered_by(&frame(214, Mode::Net, Condition::Ok)), None);
        assert_eq!(asked(Ask::NextUnit).answered_by(&frame(0, Mode::Gross, Condition::Ok)), None);
        let pounds = Frame { unit: Some(MassUnit::Pound), ..frame(0, Mode::Gross, Condition::Ok) };
        assert_eq!(asked(Ask::NextUnit).answered_by(&pounds), done);
    }

    #[test]
    fn a_refusal_is_told_with_what_to_do() {
        let refused = |what, condition| match Request::new(what, Moment(0), None).answered_by(&frame(
            0,
            Mode::Gross,
            condition,
        )) {
            Some(Answer::Refused(why)) => why,
            other => format!("{other:?}"),
        };
        assert!(refused(Ask::Zero, Condition::ZeroError).contains("empty the pan"));
        assert!(refused(Ask::Tare, Condition::TareError).contains("wait until it stands still"));
        assert_eq!(refused(Ask::Tare, Condition::ZeroError), "None");
    }

    #[test]
    fn it_waits_as_long_as_a_scale_may() {
        let asked = Request::new(Ask::Zero, Moment(100), None);
        assert!(!asked.is_overdue(Moment(5_099)) && asked.is_overdue(Moment(5_100)));
    }
}
