//! What a format can say is read back as it was said.

use crate::captures::{decode, told};
use pourbook::scale::shape::{ALL, Decoded, by_name};
use pourbook::scale::{Condition, Frame, Mode, Stability};
use pourbook::units::{Decimal, MassUnit};
use proptest::prelude::*;

fn units() -> impl Strategy<Value = MassUnit> {
    prop::sample::select(MassUnit::ALL.to_vec())
}

fn numbers(most: i64, decimals: u32) -> impl Strategy<Value = Decimal> {
    (-most..=most, 0..=decimals).prop_map(|(number, decimals)| Decimal::new(number, decimals))
}

fn plain_frame(value: Decimal, unit: MassUnit, letters: &str, stability: Stability, mode: Mode) -> Frame {
    Frame {
        value: Some(value),
        unit: Some(unit),
        unit_text: letters.into(),
        stability,
        mode,
        centre_of_zero: None,
        condition: Condition::Ok,
        high_resolution: false,
    }
}

fn without_number(condition: Condition, mode: Mode) -> Frame {
    Frame {
        value: None,
        unit: None,
        unit_text: "".into(),
        stability: Stability::Unknown,
        mode,
        centre_of_zero: None,
        condition,
        high_resolution: false,
    }
}

fn stabilities() -> impl Strategy<Value = Stability> {
    prop_oneof![Just(Stability::Stable), Just(Stability::Moving)]
}

fn sma_frames() -> impl Strategy<Value = Frame> {
    let mode = prop::sample::select(vec![
        (Mode::Gross, false),
        (Mode::Net, false),
        (Mode::Tare, false),
        (Mode::Unknown, false),
        (Mode::Gross, true),
        (Mode::Net, true),
    ]);
    let condition = prop::sample::select(vec![
        Condition::Ok,
        Condition::Over,
        Condition::Under,
        Condition::ZeroError,
        Condition::TareError,
        Condition::NotReady,
    ]);
    (numbers(99_999_999, 6), units(), stabilities(), mode, condition, any::<bool>(), any::<bool>()).prop_map(
        |(value, unit, stability, (mode, high_resolution), condition, zero, pounds)| {
            let letters = match unit {
                MassUnit::Ounce if pounds => "l/o",
                MassUnit::Grain => "gn",
                unit => unit.symbol(),
            };
            // In pounds and ounces the field holds fewer digits.
            let value = if letters == "l/o" { value % Decimal::from(1600) } else { value };
            let value = if letters == "l/o" { value.round_dp(3) } else { value };
            let frame = plain_frame(value, unit, letters, stability, mode);
            let carries = matches!(condition, Condition::Ok | Condition::Over | Condition::Under);
            Frame {
                value: frame.value.filter(|_| carries),
                centre_of_zero: carries.then_some(zero && condition == Condition::Ok),
                condition,
                high_resolution,
                ..frame
            }
        },
    )
}

fn header_comma_frames() -> impl Strategy<Value = Frame> {
    let mode = prop::sample::select(vec![Mode::Unknown, Mode::Gross, Mode::Net]);
    let over = prop::sample::select(vec![Condition::Ok, Condition::Ok, Condition::Over, Condition::Under]);
    (numbers(999_999, 4), units(), stabilities(), mode, over, any::<bool>()).prop_map(
        |(value, unit, stability, mode, condition, bare)| {
            let letters = if unit == MassUnit::Grain { "GN" } else { unit.symbol() };
            let fits = mode == Mode::Unknown || letters.len() <= 2;
            let (unit, letters) = if fits { (unit, letters) } else { (MassUnit::Gram, "g") };
            let frame = plain_frame(value, unit, letters, stability, mode);
            match condition {
                Condition::Ok => frame,
                condition if bare => without_number(condition, mode),
                condition => {
                    Frame { unit: Some(unit), unit_text: letters.into(), ..without_number(condition, mode) }
                }
            }
        },
    )
}

fn sign_digits_unit_frames() -> impl Strategy<Value = Frame> {
    let mode = prop::sample::select(vec![Mode::Unknown, Mode::Gross, Mode::Net, Mode::Tare]);
    let words = prop::sample::select(vec![
        Condition::Over,
        Condition::Under,
        Condition::NotReady,
        Condition::Device("OFF".into()),
        Condition::Device("Err 101".into()),
    ]);
    prop_oneof![
        4 => (numbers(9_999_999, 6), units(), mode)
            .prop_map(|(value, unit, mode)| plain_frame(value, unit, unit.symbol(), Stability::Stable, mode)),
        1 => words.prop_map(|condition| without_number(condition, Mode::Unknown)),
    ]
}

fn command_reply_frames() -> impl Strategy<Value = Frame> {
    let states = prop::sample::select(vec![Condition::Over, Condition::Under, Condition::NotReady]);
    let kind = prop::sample::select(vec![
        (Stability::Stable, Mode::Unknown),
        (Stability::Moving, Mode::Unknown),
        (Stability::Stable, Mode::Tare),
    ]);
    prop_oneof![
        4 => (numbers(99_999_999, 6), units(), kind)
            .prop_map(|(value, unit, (stability, mode))| plain_frame(value, unit, unit.symbol(), stability, mode)),
        1 => states.prop_map(|condition| without_number(condition, Mode::Unknown)),
    ]
}

/// A frame with its number, or the same without one, as a format says it that has a word for that.
fn or_without(frame: Frame, states: &[Condition]) -> impl Strategy<Value = Frame> + use<> {
    let without = |frame: &Frame, condition: &Condition| Frame {
        value: None,
        centre_of_zero: None,
        condition: condition.clone(),
        ..frame.clone()
    };
    let mut all: Vec<Frame> = states.iter().map(|condition| without(&frame, condition)).collect();
    all.resize(all.len() * 4, frame);
    prop::sample::select(all)
}

fn stx_words_frames() -> impl Strategy<Value = Frame> {
    let mode = prop::sample::select(vec![Mode::Gross, Mode::Net]);
    let unit = units().prop_filter("a unit with a code", |unit| {
        !matches!(unit, MassUnit::Milligram | MassUnit::Grain | MassUnit::Carat)
    });
    (numbers(999_999, 5), unit, stabilities(), mode).prop_flat_map(|(value, unit, stability, mode)| {
        let expanded = Condition::Device("expanded display".into());
        let states = [Condition::Over, Condition::Under, Condition::ZeroError, expanded];
        or_without(plain_frame(value, unit, unit.symbol(), stability, mode), &states)
    })
}

/// The longer layout, at rest; what stands in a number's place says nothing else.
fn stx_text_frames() -> impl Strategy<Value = Frame> {
    let mode = prop::sample::select(vec![Mode::Gross, Mode::Net]);
    let states = vec![Condition::Over, Condition::Under, Condition::Device("error".into())];
    prop_oneof![
        4 => (numbers(999_999, 5), units(), mode, any::<bool>()).prop_map(|(value, unit, mode, zero)| Frame {
            centre_of_zero: Some(zero),
            ..plain_frame(value, unit, unit.symbol(), Stability::Stable, mode)
        }),
        1 => prop::sample::select(states).prop_map(|condition| without_number(condition, Mode::Unknown)),
    ]
}

/// Units of one letter or two.
fn short_units() -> impl Strategy<Value = MassUnit> {
    units().prop_filter("a short unit", |unit| unit.symbol().len() <= 2)
}

fn lf_etx_status_frames() -> impl Strategy<Value = Frame> {
    let mode = prop::sample::select(vec![Mode::Unknown, Mode::Gross, Mode::Net]);
    (numbers(999_999, 4), short_units(), stabilities(), mode, any::<bool>()).prop_flat_map(
        |(value, unit, stability, mode, zero)| {
            let frame = plain_frame(value, unit, unit.symbol(), stability, mode);
            let states = [Condition::Over, Condition::Under, Condition::ZeroError];
            let faults = ["RAM fault", "EEPROM fault", "ROM fault", "calibration fault"];
            let faults = faults.map(|fault| Condition::Device(fault.into()));
            let alone = Frame { unit: None, unit_text: "".into(), ..frame.clone() };
            let alone = or_without(alone, &[&[Condition::NotReady][..], &faults].concat())
                .prop_filter("without a number", |frame| frame.value.is_none());
            prop_oneof![
                4 => or_without(Frame { centre_of_zero: Some(zero), ..frame }, &states),
                1 => alone,
            ]
        },
    )
}

fn soh_block_frames() -> impl Strategy<Value = Frame> {
    (numbers(99_999, 4), short_units(), stabilities()).prop_flat_map(|(value, unit, stability)| {
        let frame = plain_frame(value, unit, unit.symbol(), stability, Mode::Unknown);
        or_without(frame, &[Condition::NotReady])
    })
}

fn cr_led_frames() -> impl Strategy<Value = Frame> {
    let mode = prop::sample::select(vec![Mode::Gross, Mode::Net]);
    (numbers(999_999, 5), short_units(), stabilities(), mode).prop_flat_map(
        |(value, unit, stability, mode)| {
            let frame = plain_frame(value, unit, unit.symbol(), stability, mode);
            or_without(frame, &[Condition::Over, Condition::NotReady]).prop_map(|frame| {
                let says = if frame.value.is_some() { frame.stability } else { Stability::Unknown };
                Frame { stability: says, ..frame }
            })
        },
    )
}

/// The frame comes back with every field the same, and every decimal (equal numbers may differ in those).
fn check_there_and_back(name: &str, sent: &[Frame]) -> Result<(), TestCaseError> {
    let shape = by_name(name).unwrap();
    let wire: Vec<Vec<u8>> = sent.iter().map(|frame| shape.encode(frame)).collect();
    prop_assert!(wire.iter().all(|bytes| !bytes.is_empty()), "{sent:?}");
    let back = decode(shape, wire.iter().map(Vec::as_slice));
    let sent: Vec<Decoded> = sent.iter().cloned().map(Decoded::Frame).collect();
    prop_assert_eq!(told(&back), told(&sent));
    prop_assert_eq!(back, sent);
    Ok(())
}

/// Whole pounds keep the decimals of their ounces.
#[test]
fn whole_pounds_keep_their_decimals() {
    for (whole, decimals) in [(1072, 1), (-1072, 3), (0, 2), (16, 0)] {
        let mut value = Decimal::from(whole);
        value.rescale(decimals);
        let frame = plain_frame(value, MassUnit::Ounce, "l/o", Stability::Stable, Mode::Gross);
        check_there_and_back("sma", &[Frame { centre_of_zero: Some(false), ..frame }]).unwrap();
    }
}

proptest! {
    #[test]
    fn sma_there_and_back(frames in prop::collection::vec(sma_frames(), 1..8)) {
        check_there_and_back("sma", &frames)?;
    }

    #[test]
    fn header_comma_there_and_back(frames in prop::collection::vec(header_comma_frames(), 1..8)) {
        check_there_and_back("header-comma", &frames)?;
    }

    /// Each followed by itself in movement, whose unit is the one said before.
    #[test]
    fn sign_digits_unit_there_and_back(frames in prop::collection::vec(sign_digits_unit_frames(), 1..8)) {
        let both = frames.iter().flat_map(|frame| {
            let moving = Frame { stability: Stability::Moving, ..frame.clone() };
            std::iter::once(frame.clone()).chain((frame.condition == Condition::Ok).then_some(moving))
        });
        check_there_and_back("sign-digits-unit", &both.collect::<Vec<_>>())?;
    }

    #[test]
    fn stx_words_there_and_back(frames in prop::collection::vec(stx_words_frames(), 1..8)) {
        check_there_and_back("stx-words", &frames)?;
    }

    /// Each followed by itself in movement, whose unit is the one said before.
    #[test]
    fn stx_text_there_and_back(frames in prop::collection::vec(stx_text_frames(), 1..8)) {
        let both = frames.iter().flat_map(|frame| {
            let moving = Frame { stability: Stability::Moving, ..frame.clone() };
            std::iter::once(frame.clone()).chain((frame.condition == Condition::Ok).then_some(moving))
        });
        check_there_and_back("stx-text", &both.collect::<Vec<_>>())?;
    }

    /// The shorter layout, without a unit; in movement it is gross or net as before.
    #[test]
    fn stx_text_without_a_unit_there_and_back(frames in prop::collection::vec(stx_text_frames(), 1..8)) {
        let both = frames.iter().flat_map(|frame| {
            let bare = Frame { unit: None, unit_text: "".into(), centre_of_zero: None, ..frame.clone() };
            let moving = Frame { stability: Stability::Moving, ..bare.clone() };
            std::iter::once(bare).chain((frame.condition == Condition::Ok).then_some(moving))
        });
        check_there_and_back("stx-text", &both.collect::<Vec<_>>())?;
    }

    #[test]
    fn lf_etx_status_there_and_back(frames in prop::collection::vec(lf_etx_status_frames(), 1..8)) {
        check_there_and_back("lf-etx-status", &frames)?;
        check_there_and_back("lf-etx-status-inverted", &frames)?;
    }

    #[test]
    fn soh_block_there_and_back(frames in prop::collection::vec(soh_block_frames(), 1..8)) {
        check_there_and_back("soh-block", &frames)?;
    }

    #[test]
    fn cr_led_there_and_back(frames in prop::collection::vec(cr_led_frames(), 1..8)) {
        check_there_and_back("cr-led", &frames)?;
    }

    #[test]
    fn command_reply_there_and_back(frames in prop::collection::vec(command_reply_frames(), 1..8)) {
        check_there_and_back("command-reply", &frames)?;
    }
}

#[test]
fn what_a_format_cannot_say_is_not_sent() {
    let long =
        plain_frame("12345678901.5".parse().unwrap(), MassUnit::Gram, "g", Stability::Stable, Mode::Unknown);
    let no_flag = Frame { stability: Stability::Unknown, value: Some(Decimal::ONE), ..long.clone() };
    let empty = Frame { value: None, ..long.clone() };
    for shape in ALL {
        for frame in [&long, &no_flag, &empty] {
            assert!(shape.encode(frame).is_empty(), "{} sent {frame:?}", shape.name());
        }
    }
}
