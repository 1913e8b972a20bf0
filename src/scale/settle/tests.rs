use super::*;
use crate::scale::{Condition, Frame};
use proptest::prelude::*;
use rstest::rstest;

mod hostile;

fn frame(value: &str) -> Frame {
    Frame::weight(value.parse().unwrap(), MassUnit::Gram, Stability::Stable, Mode::Gross)
}

fn moving(value: &str) -> Frame {
    Frame { stability: Stability::Moving, ..frame(value) }
}

fn unflagged(value: &str) -> Frame {
    Frame { stability: Stability::Unknown, ..frame(value) }
}

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

struct Bench {
    settle: Settle,
    now: u64,
}

impl Bench {
    fn new(rules: Rules) -> Self {
        Self { settle: Settle::new(rules), now: 0 }
    }

    /// The next reading, a tenth of a second later.
    fn says(&mut self, frame: Frame) -> Verdict {
        self.says_after(100, frame)
    }

    fn says_after(&mut self, milliseconds: u64, frame: Frame) -> Verdict {
        self.now += milliseconds;
        self.settle.feed(&Reading::new(frame, Moment(self.now)))
    }

    fn weight(&mut self, frame: Frame) -> Option<String> {
        self.says(frame).weight.map(|weight| weight.grams().decimal().to_string())
    }
}

fn bench() -> Bench {
    Bench::new(Rules::default())
}

/// A bench whose last reading was confirmed.
fn settled() -> Bench {
    let mut bench = bench();
    bench.says(frame("12.3"));
    assert!(bench.says(frame("12.3")).weight.is_some());
    bench
}

#[test]
fn a_weight_needs_the_same_stable_reading_twice() {
    let mut bench = bench();
    assert_eq!(bench.settle.look(Moment(0)).doubt, Some(Doubt::Silent));
    let first = bench.says(frame("12.30"));
    assert_eq!(
        (first.weight, first.doubt, first.live),
        (None, Some(Doubt::NotConfirmed), Some(grams("12.3")))
    );
    let second = bench.says(frame("12.30"));
    let weight = second.weight.unwrap();
    assert_eq!(second.doubt, None);
    assert_eq!((weight.grams(), weight.at(), weight.mode()), (grams("12.30"), Moment(200), Mode::Gross));
    assert_eq!((weight.division(), weight.decimals()), (Division::parse("0.01").unwrap(), 2));
}

#[test]
fn a_flicker_between_two_divisions_settles_on_a_value_said_twice() {
    let mut bench = bench();
    assert_eq!(bench.weight(frame("12.3")), None);
    assert_eq!(bench.weight(frame("12.4")), None);
    assert_eq!(bench.weight(frame("12.3")).as_deref(), Some("12.3"));
    assert_eq!(bench.weight(frame("12.4")).as_deref(), Some("12.4"));
    // Three different values are drift.
    assert_eq!(bench.weight(frame("12.5")), None);
}

#[test]
fn one_wrong_reading_among_right_ones_is_never_taken() {
    let mut bench = settled();
    let wrong = bench.says(frame("52.3"));
    assert_eq!((wrong.weight, wrong.doubt), (None, Some(Doubt::Jump)));
    // What jumped and came back was damaged, and a line that damages is believed one reading later.
    assert_eq!(bench.weight(frame("12.3")), None);
    assert_eq!(bench.says(frame("12.3")).doubt, Some(Doubt::Damaged));
    assert_eq!(bench.weight(frame("12.3")).as_deref(), Some("12.3"));
    // A division off is not a jump, and not a confirmation either.
    assert_eq!(bench.says(frame("12.2")).doubt, Some(Doubt::NotConfirmed));
    assert_eq!(bench.weight(frame("12.3")).as_deref(), Some("12.3"));
}

#[test]
fn movement_shows_but_never_counts_and_breaks_what_was_settled() {
    let mut bench = settled();
    let verdict = bench.says(moving("12.3"));
    assert_eq!(
        (verdict.weight, verdict.doubt, verdict.live),
        (None, Some(Doubt::Moving), Some(grams("12.3")))
    );
    assert_eq!(bench.says(frame("12.3")).doubt, Some(Doubt::NotConfirmed));
    assert!(bench.says(frame("12.3")).weight.is_some());
}

#[test]
fn a_blank_unit_while_moving_is_movement() {
    let blank = |stability| Frame { unit: None, unit_text: "".into(), stability, ..frame("12.3") };
    assert_eq!(bench().says(blank(Stability::Moving)).doubt, Some(Doubt::Moving));
    assert_eq!(bench().says(blank(Stability::Stable)).doubt, Some(Doubt::NoUnit));
}

#[rstest]
#[case(Condition::Over, Doubt::Over)]
#[case(Condition::Under, Doubt::Under)]
#[case(Condition::ZeroError, Doubt::ZeroError)]
#[case(Condition::TareError, Doubt::TareError)]
#[case(Condition::NotReady, Doubt::NotReady)]
#[case(Condition::Device("Err 101".into()), Doubt::Device("Err 101".into()))]
fn a_condition_is_told_and_breaks_what_was_settled(#[case] condition: Condition, #[case] doubt: Doubt) {
    let mut bench = settled();
    let verdict = bench.says(Frame { condition, ..frame("12.3") });
    assert_eq!((verdict.live, verdict.weight, verdict.doubt), (None, None, Some(doubt)));
    assert_eq!(bench.weight(frame("12.3")), None);
    assert!(bench.weight(frame("12.3")).is_some());
}

#[test]
fn a_frame_without_a_number_is_no_weight() {
    let mut bench = settled();
    for _ in 0..3 {
        assert_eq!(bench.says(Frame { value: None, ..frame("0") }).doubt, Some(Doubt::NotReady));
    }
}

#[test]
fn an_unknown_unit_is_no_weight_however_often_it_is_said() {
    let mut bench = settled();
    for _ in 0..5 {
        let verdict = bench.says(Frame { unit: None, unit_text: "pcs".into(), ..frame("12") });
        assert_eq!((verdict.live, verdict.weight), (None, None));
        assert_eq!(verdict.doubt, Some(Doubt::UnknownUnit("pcs".into())));
    }
}

#[test]
fn a_change_of_unit_is_told_and_begins_anew() {
    let kilograms = |value| Frame { unit: Some(MassUnit::Kilogram), unit_text: "kg".into(), ..frame(value) };
    let mut bench = settled();
    for _ in 0..2 {
        let verdict = bench.says(kilograms("12.3"));
        assert_eq!((verdict.live, verdict.weight), (None, None));
        assert_eq!(verdict.doubt, Some(Doubt::UnitChanged(MassUnit::Kilogram)));
    }
    let verdict = bench.says(kilograms("12.3"));
    assert_eq!(verdict.weight.map(|weight| weight.grams()), Some(grams("12300")));
    assert_eq!(verdict.weight.map(|weight| weight.division()), Division::parse("100").ok());
    assert_eq!(bench.says(frame("12.3")).doubt, Some(Doubt::UnitChanged(MassUnit::Gram)));
}

#[test]
fn net_is_no_error_but_has_to_stay() {
    let net = |value| Frame { mode: Mode::Net, ..frame(value) };
    let mut bench = bench();
    bench.says(net("5.0"));
    let verdict = bench.says(net("5.0"));
    assert_eq!((verdict.weight.unwrap().mode(), verdict.mode), (Mode::Net, Mode::Net));
    let verdict = bench.says(frame("5.0"));
    assert_eq!((verdict.live, verdict.weight), (None, None));
    assert_eq!(verdict.doubt, Some(Doubt::ModeChanged(Mode::Gross)));
    // Gross and net do not confirm each other, whatever they say.
    for _ in 0..4 {
        assert_eq!(bench.weight(net("5.0")), None);
        assert_eq!(bench.weight(frame("5.0")), None);
    }
}

#[test]
fn the_scales_own_tare_is_never_a_weight() {
    let mut bench = settled();
    for _ in 0..5 {
        let verdict = bench.says(Frame { mode: Mode::Tare, ..frame("86.1") });
        assert_eq!((verdict.live, verdict.weight, verdict.doubt), (None, None, Some(Doubt::ShowsTare)));
    }
}

#[test]
fn high_resolution_and_displayed_weights_do_not_confirm_each_other() {
    let high = |value| Frame { high_resolution: true, ..frame(value) };
    let mut bench = settled();
    for _ in 0..4 {
        assert_eq!(bench.says(high("12.30")).doubt, Some(Doubt::ResolutionChanged));
        assert_eq!(bench.says(frame("12.3")).doubt, Some(Doubt::ResolutionChanged));
    }
    // Three after a change, and one more for a line on which it went to and fro.
    for _ in 0..3 {
        assert!(bench.says(high("12.30")).weight.is_none());
    }
    assert!(bench.says(high("12.30")).weight.is_some());
}

#[test]
fn other_decimals_begin_anew() {
    let mut bench = settled();
    assert_eq!(bench.weight(frame("12.30")), None);
    assert_eq!(bench.weight(frame("12.30")).as_deref(), Some("12.30"));
}

#[test]
fn beyond_the_capacity_is_out_of_range_either_way() {
    let capacity = grams("6000");
    let mut bench = Bench::new(Rules { capacity: Some(capacity), ..Rules::default() });
    for value in ["6000.1", "-6000.1"] {
        for _ in 0..3 {
            let verdict = bench.says(frame(value));
            assert_eq!((verdict.live, verdict.weight), (None, None));
            assert_eq!(verdict.doubt, Some(Doubt::OutOfRange(capacity)));
        }
    }
    bench.says(frame("6000.0"));
    assert!(bench.says(frame("6000.0")).weight.is_some());
}

#[test]
fn a_reading_is_stale_from_a_second_on() {
    let mut bench = settled();
    let now = Moment(bench.now);
    assert!(bench.settle.look(now.plus(999)).weight.is_some());
    let verdict = bench.settle.look(now.plus(1000));
    assert_eq!((verdict.live, verdict.weight, verdict.doubt), (None, None, Some(Doubt::Stale)));
    // A reading after a silence is not confirmed by one before it.
    assert_eq!(bench.says_after(1000, frame("12.3")).doubt, Some(Doubt::NotConfirmed));
    assert!(bench.says_after(999, frame("12.3")).weight.is_some());
}

#[test]
fn the_same_moment_confirms_nothing() {
    let mut bench = bench();
    bench.says(frame("12.3"));
    for _ in 0..5 {
        assert_eq!(bench.says_after(0, frame("12.3")).doubt, Some(Doubt::NotConfirmed));
    }
    // Different words at the same moment: neither confirms the other, nor an older one.
    for value in ["12.4", "12.3", "12.4", "12.3"] {
        assert!(bench.says_after(0, frame(value)).weight.is_none());
    }
    // Nor does one that no scale could have sent so soon.
    assert!(bench.says_after(39, frame("12.3")).weight.is_none());
    assert!(bench.says_after(1, frame("12.3")).weight.is_some());
}

#[test]
fn a_moment_that_goes_back_confirms_nothing() {
    let mut bench = settled();
    let late = Reading::new(frame("12.3"), Moment(bench.now - 150));
    for _ in 0..3 {
        let verdict = bench.settle.feed(&late);
        assert_eq!((verdict.live, verdict.weight, verdict.doubt), (None, None, Some(Doubt::OutOfOrder)));
    }
    assert_eq!(bench.weight(frame("12.3")), None);
    assert!(bench.weight(frame("12.3")).is_some());
}

#[test]
fn nothing_counts_across_a_lost_link() {
    let mut bench = settled();
    bench.settle.reset();
    assert_eq!(bench.settle.look(Moment(bench.now)).doubt, Some(Doubt::Silent));
    assert_eq!(bench.weight(frame("12.3")), None);
    assert!(bench.weight(frame("12.3")).is_some());
}

#[test]
fn without_a_flag_a_second_and_four_readings_have_to_agree() {
    // Often enough, not long enough.
    let mut bench = bench();
    for _ in 0..10 {
        assert_eq!(bench.says(unflagged("12.3")).doubt, Some(Doubt::NotSteady));
    }
    assert!(bench.says(unflagged("12.3")).weight.is_some());
    // Long enough, not often enough.
    let mut bench = self::bench();
    for _ in 0..3 {
        assert_eq!(bench.says_after(900, unflagged("12.3")).doubt, Some(Doubt::NotSteady));
    }
    assert!(bench.says_after(900, unflagged("12.3")).weight.is_some());
}

#[test]
fn without_a_flag_two_adjacent_values_are_rest_and_three_are_not() {
    let mut two = bench();
    let mut three = bench();
    for turn in 0..40 {
        let adjacent = if turn % 2 == 0 { "12.3" } else { "12.4" };
        let weight = two.weight(unflagged(adjacent));
        assert_eq!(weight.is_some(), turn >= 10, "{turn}");
        let drifting = ["12.3", "12.4", "12.5"][turn % 3];
        assert_eq!(three.weight(unflagged(drifting)), None, "{turn}");
    }
}

#[test]
fn the_shops_division_decides_what_is_adjacent() {
    let five = Division::parse("5").unwrap();
    let mut known = Bench::new(Rules { division: Some(five), ..Rules::default() });
    let mut derived = bench();
    for value in ["100", "105"] {
        assert_eq!((known.weight(frame(value)), derived.weight(frame(value))), (None, None));
    }
    assert_eq!(known.says(frame("100")).weight.map(|weight| weight.division()), Some(five));
    assert_eq!(derived.weight(frame("100")), None);
}

#[test]
fn every_doubt_is_a_sentence_that_says_what_to_do() {
    let doubts = [
        Doubt::Silent,
        Doubt::Moving,
        Doubt::NotSteady,
        Doubt::NotConfirmed,
        Doubt::Jump,
        Doubt::Stale,
        Doubt::OutOfOrder,
        Doubt::Over,
        Doubt::Under,
        Doubt::OutOfRange(grams("6000")),
        Doubt::ZeroError,
        Doubt::TareError,
        Doubt::NotReady,
        Doubt::Device("Err 101".into()),
        Doubt::NoUnit,
        Doubt::UnknownUnit("pcs".into()),
        Doubt::UnitChanged(MassUnit::Ounce),
        Doubt::ModeChanged(Mode::Net),
        Doubt::ModeChanged(Mode::Gross),
        Doubt::ModeChanged(Mode::Unknown),
        Doubt::ShowsTare,
        Doubt::ResolutionChanged,
        Doubt::Damaged,
        Doubt::Creeps,
    ];
    let sentences: Vec<String> = doubts.iter().map(ToString::to_string).collect();
    for sentence in &sentences {
        let (what, now) = sentence.split_once(": ").unwrap();
        assert!(what.starts_with(char::is_uppercase) && now.ends_with('.'), "{sentence}");
    }
    let distinct: std::collections::BTreeSet<_> = sentences.iter().collect();
    assert_eq!(distinct.len(), sentences.len());
    assert!(
        sentences[13].contains("Err 101") && sentences[15].contains("pcs") && sentences[16].contains("oz")
    );
}

/// A load that swings over two divisions is not at rest because one of its readings came too soon to be counted.
#[test]
fn what_came_too_soon_still_has_to_fit() {
    let mut settle = Settle::new(Rules::default());
    let told = [
        (10_000, "10.0"),
        (10_400, "10.0"),
        (10_800, "12.4"),
        (10_900, "12.3"),
        (11_200, "12.5"),
        (11_600, "12.4"),
    ];
    let verdicts = told.map(|(at, value)| {
        let frame = Frame { stability: Stability::Stable, ..frame(value) };
        settle.feed(&Reading::new(frame, Moment(at)))
    });
    assert!(verdicts[1].weight.is_some());
    assert!(verdicts[2..].iter().all(|verdict| verdict.weight.is_none()), "{verdicts:?}");
    let again =
        settle.feed(&Reading::new(Frame { stability: Stability::Stable, ..frame("12.4") }, Moment(12_000)));
    assert_eq!(again.weight.map(|weight| weight.grams()), Some(grams("12.4")));
}

/// What a scale may say next, time included: mostly small steps of few values, so that runs do occur.
fn readings() -> impl Strategy<Value = Vec<(i64, Frame)>> {
    let value = prop_oneof![Just("12.3"), Just("12.4"), Just("12.5"), Just("12.30"), Just("-40.0")];
    let stability = prop_oneof![3 => Just(Stability::Stable), 1 => Just(Stability::Moving), 1 => Just(Stability::Unknown)];
    let mode = prop_oneof![8 => Just(Mode::Gross), 1 => Just(Mode::Net), 1 => Just(Mode::Tare)];
    let condition =
        prop_oneof![12 => Just(Condition::Ok), 1 => Just(Condition::Over), 1 => Just(Condition::ZeroError)];
    let unit =
        prop_oneof![8 => Just(Some(MassUnit::Gram)), 1 => Just(Some(MassUnit::Ounce)), 1 => Just(None)];
    let step = prop_oneof![6 => 50_i64..300, 1 => Just(0), 1 => -200_i64..0, 1 => 900_i64..1100];
    let reading = (step, value, stability, mode, condition, unit, prop::bool::weighted(0.1)).prop_map(
        |(step, value, stability, mode, condition, unit, high_resolution)| {
            (step, Frame { unit, stability, mode, condition, high_resolution, ..frame(value) })
        },
    );
    prop::collection::vec(reading, 0..60)
}

/// The longest run of readings up to the last that may confirm it: in order, without a gap, told in the same
/// manner, and all within one division.
fn run_up_to_last(history: &[Reading], division: Grams) -> &[Reading] {
    let manner = |frame: &Frame| {
        (
            frame.unit,
            frame.mode,
            frame.high_resolution,
            frame.stability,
            frame.value.map(|value| value.scale()),
        )
    };
    let last = history.last().unwrap();
    let mut start = history.len();
    let (mut least, mut most) = (last.frame.grams().unwrap(), last.frame.grams().unwrap());
    for (index, reading) in history.iter().enumerate().rev() {
        let Some(value) = reading.frame.grams() else { break };
        (least, most) = (least.min(value), most.max(value));
        let latest = history[..index].iter().map(|earlier| earlier.at).max().unwrap_or_default();
        let no_gap = history.get(index + 1).is_none_or(|next| next.at.since(reading.at) < 1000);
        let told_alike = manner(&reading.frame) == manner(&last.frame);
        let fits = reading.frame.condition == Condition::Ok && told_alike && most - least <= division;
        if !fits || !no_gap || reading.at < latest {
            break;
        }
        start = index;
    }
    &history[start..]
}

proptest! {
    /// The rule of the house, held against a plain reading of it that looks back over the whole history.
    #[test]
    fn no_weight_without_all_that_a_weight_needs(steps in readings()) {
        let mut settle = Settle::new(Rules::default());
        let mut now = 10_000_i64;
        let mut history: Vec<Reading> = Vec::new();
        for (step, frame) in steps {
            now += step;
            let reading = Reading::new(frame, Moment(u64::try_from(now).unwrap()));
            let verdict = settle.feed(&reading);
            prop_assert_eq!(verdict.weight.is_none(), verdict.doubt.is_some());
            history.push(reading.clone());
            let Some(weight) = verdict.weight else { continue };
            prop_assert_eq!(verdict.live, Some(weight.grams()));
            prop_assert!(reading.frame.mode != Mode::Tare && reading.frame.stability != Stability::Moving);
            let run = run_up_to_last(&history, weight.division().grams());
            // One that came too soon to count leaves the weight as it was, and is no more than a division from it.
            let off = reading.frame.grams().unwrap() - weight.grams();
            prop_assert!(weight.at() == reading.at && off == Grams::ZERO || off.abs() <= weight.division().grams());
            let counted = run.iter().rposition(|said| said.at == weight.at() && said.frame.grams() == Some(weight.grams()));
            prop_assert!(counted.is_some(), "{:?} from {:?}", weight, history);
            let run = &run[..=counted.unwrap()];
            let said = run.iter().filter(|said| said.frame.grams() == Some(weight.grams()));
            let apart = said.map(|said| weight.at().since(said.at)).max().unwrap();
            prop_assert!(apart >= 40, "{:?} from {:?}", weight, history);
            if reading.frame.stability == Stability::Unknown {
                prop_assert!(run.len() >= 4 && weight.at().since(run[0].at) >= 1000);
            }
        }
    }
}
