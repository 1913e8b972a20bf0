//! Captures are read as expected, however their bytes arrive and whatever stands between them.

use crate::captures::{CAPTURES, decode, told};
use pourbook::scale::Condition;
use pourbook::scale::shape::{ALL, Answer, Decoded, Shape};
use pourbook::units::Decimal;
use proptest::prelude::*;

#[test]
fn captures_are_read_as_expected() {
    for capture in CAPTURES.iter() {
        let read = told(&decode(capture.shape, [capture.bytes().as_slice()]));
        let expected = capture.path.with_extension("expected");
        if std::env::var_os("POURBOOK_REBUILD").is_some() {
            std::fs::write(&expected, &read).unwrap();
        }
        let expected = std::fs::read_to_string(&expected).unwrap();
        assert_eq!(read, expected, "{} is read otherwise than expected", capture.path.display());
    }
}

/// The captures called `damaged` hold at most a few whole frames, marked so; nothing else may come out of them.
#[test]
fn what_does_not_fit_its_layout_is_never_half_a_number() {
    for capture in CAPTURES.iter().filter(|capture| capture.name() == "damaged") {
        let text = std::fs::read_to_string(&capture.path).unwrap();
        let whole = text.lines().filter(|line| line.ends_with("   whole")).count();
        let decoded = decode(capture.shape, [capture.bytes().as_slice()]);
        let read = decoded.iter().filter(|decoded| !matches!(decoded, Decoded::Noise(_))).count();
        assert!(whole > 0 && read == whole, "{}: {}", capture.path.display(), told(&decoded));
    }
}

#[test]
fn bytes_may_come_split_anywhere() {
    for capture in CAPTURES.iter() {
        let bytes = capture.bytes();
        let whole = decode(capture.shape, [bytes.as_slice()]);
        for at in 0..=bytes.len() {
            let (before, after) = bytes.split_at(at);
            assert_eq!(decode(capture.shape, [before, after]), whole, "{} at {at}", capture.path.display());
        }
        assert_eq!(decode(capture.shape, bytes.chunks(1)), whole, "{}", capture.path.display());
    }
}

proptest! {
    #[test]
    fn bytes_may_come_in_any_portions(sizes in prop::collection::vec(0_usize..50, 1..20)) {
        for capture in CAPTURES.iter() {
            let bytes = capture.bytes();
            let mut pieces = Vec::new();
            let mut rest = bytes.as_slice();
            for size in sizes.iter().cycle().take(1000) {
                let (piece, after) = rest.split_at((*size).min(rest.len()));
                pieces.push(piece);
                rest = after;
            }
            pieces.push(rest);
            prop_assert_eq!(decode(capture.shape, pieces), decode(capture.shape, [bytes.as_slice()]));
        }
    }

    /// Between lines, any bytes that make no line themselves, once they are ended. In formats with a start mark
    /// they need no end.
    #[test]
    fn garbage_before_and_between_frames_costs_no_frame(garbage in prop::collection::vec(any::<u8>(), 0..60)) {
        for capture in CAPTURES.iter().filter(|capture| capture.name() != "damaged") {
            let mut garbage = garbage.clone();
            garbage.extend(end_of_garbage(capture.shape));
            let alone = decode(capture.shape, [garbage.as_slice()]);
            prop_assume!(alone.iter().all(|decoded| matches!(decoded, Decoded::Noise(_))));
            let mut dirty = Vec::new();
            let mut decoder = capture.shape.decoder();
            for piece in &capture.pieces {
                decoder.push(&garbage, &mut dirty);
                decoder.push(piece, &mut dirty);
            }
            dirty.retain(|decoded| !matches!(decoded, Decoded::Noise(_)));
            prop_assert_eq!(dirty, decode(capture.shape, [capture.bytes().as_slice()]));
        }
    }
}

/// What ends whatever stood before a frame.
fn end_of_garbage(shape: &dyn Shape) -> Option<u8> {
    match shape.name() {
        "sma" | "stx-words" | "stx-text" | "soh-block" | "cr-led" => None,
        // Behind a CR the LF that begins a frame would begin a second line.
        "lf-etx-status" | "lf-etx-status-inverted" => Some(0x03),
        _ => Some(b'\r'),
    }
}

fn check_possible(shape: &dyn Shape, bytes: &[u8]) -> Result<(), TestCaseError> {
    let printable = |text: &str| text.chars().all(|letter| (' '..='~').contains(&letter));
    let mut noise = 0;
    for decoded in decode(shape, [bytes]) {
        match decoded {
            Decoded::Noise(bytes) => noise += bytes,
            Decoded::Answer(Answer::About(name, value)) => {
                prop_assert!(printable(&name) && printable(&value) && value.len() <= 100);
            }
            Decoded::Answer(_) => {}
            Decoded::Frame(frame) => {
                let carries = matches!(frame.condition, Condition::Ok | Condition::Over | Condition::Under);
                prop_assert!(frame.value.is_none() || carries, "{frame:?}");
                prop_assert!(frame.value.is_some() || frame.condition != Condition::Ok, "{frame:?}");
                if let Some(value) = frame.value {
                    prop_assert!(
                        value.abs() < Decimal::from(1_000_000_000) && value.scale() <= 9,
                        "{frame:?}"
                    );
                }
                prop_assert!(printable(&frame.unit_text) && frame.unit_text.len() <= 5, "{frame:?}");
                if let Condition::Device(said) = &frame.condition {
                    prop_assert!(printable(said) && said.len() <= 20);
                }
            }
        }
    }
    prop_assert!(noise <= bytes.len());
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn random_bytes_are_no_panic_and_no_impossible_frame(
        bytes in prop_oneof![
            prop::collection::vec(any::<u8>(), 0..400),
            "[ \\n\\r+\\-.,:0-9STGNUDQOLZEgknlbo_M\\[\\]]{0,400}".prop_map(String::into_bytes),
            "[ \\x01-\\x06\\n\\r\\-.?0-9GNMSUOZegkptx^_]{0,400}".prop_map(String::into_bytes),
        ],
    ) {
        for shape in ALL {
            check_possible(*shape, &bytes)?;
            let _ = shape.understand(&bytes);
        }
    }
}

proptest! {
    #[test]
    fn damaged_captures_are_no_panic_and_no_impossible_frame(
        hits in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..30),
    ) {
        for capture in CAPTURES.iter() {
            let mut bytes = capture.bytes();
            for (at, byte) in &hits {
                *at.get_mut(&mut bytes) = *byte;
            }
            check_possible(capture.shape, &bytes)?;
        }
    }
}
