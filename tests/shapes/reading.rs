//! Captures are read as expected, however their bytes arrive and whatever stands between them.

use crate::captures::{CAPTURES, decode, frames, told};
use pourbook::scale::Condition;
use pourbook::scale::shape::{ALL, Answer, Decoded, Shape};
use pourbook::units::Decimal;
use proptest::prelude::*;
use proptest::sample::Index;

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

/// The lines of one format given to the decoder of every other: nothing comes out, or the very same.
#[test]
fn no_format_reads_anothers_weight_as_another_weight() {
    let mut read_alike = 0;
    for capture in CAPTURES.iter().filter(|capture| capture.name() != "damaged") {
        let own = frames(decode(capture.shape, [capture.bytes().as_slice()]));
        // The two siblings differ in what their bits mean and in nothing else: only the shop can tell them apart.
        let sibling = |other: &dyn Shape| {
            [other, capture.shape].iter().all(|shape| shape.name().starts_with("lf-etx-status"))
        };
        for other in ALL.iter().filter(|other| other.name() != capture.shape.name() && !sibling(**other)) {
            for frame in frames(decode(*other, [capture.bytes().as_slice()])) {
                let alike = own.iter().any(|own| {
                    (own.value, own.unit, &own.condition) == (frame.value, frame.unit, &frame.condition)
                        && own.stability == frame.stability
                });
                read_alike += 1;
                assert!(alike, "{} reads {} as {frame:?}", other.name(), capture.path.display());
            }
        }
    }
    // What two formats say alike, as that a weight cannot be had just now, shows that they were held together.
    assert!(read_alike > 0);
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

    /// Frames, pieces of frames, marks where none belong, lines that are too long, and noise: what is handed over at
    /// once, a read's edge anywhere in it, is read as byte by byte, where nothing is ever handed over whole.
    #[test]
    fn a_torn_line_is_read_the_same_at_once_and_byte_by_byte(
        scraps in prop::collection::vec(scraps(), 0..40),
        sizes in prop::collection::vec(0_usize..40, 1..10),
    ) {
        for shape in ALL {
            let bytes: Vec<u8> = scraps.iter().flat_map(|scrap| scrap.of(*shape)).collect();
            let bytewise = decode(*shape, bytes.chunks(1));
            prop_assert_eq!(&decode(*shape, [bytes.as_slice()]), &bytewise, "{} {:?}", shape.name(), bytes);
            let mut portions = Vec::new();
            let mut rest = bytes.as_slice();
            for size in sizes.iter().cycle().take(bytes.len()) {
                let (portion, after) = rest.split_at((*size).min(rest.len()));
                portions.push(portion);
                rest = after;
            }
            portions.push(rest);
            prop_assert_eq!(&decode(*shape, portions), &bytewise, "{} {:?}", shape.name(), bytes);
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
            // A format that learns how wide its frames are passes over the first of another width.
            let mut clean = decode(capture.shape, [capture.bytes().as_slice()]);
            dirty.retain(|decoded| !matches!(decoded, Decoded::Noise(_)));
            clean.retain(|decoded| !matches!(decoded, Decoded::Noise(_)));
            prop_assert_eq!(dirty, clean);
        }
    }
}

/// A part of a line on which things go wrong.
#[derive(Clone, Debug)]
enum Scrap {
    /// A piece of one of the format's captures.
    Piece(Index),
    /// From one place to another in such a piece.
    Torn(Index, Index, Index),
    /// Such a piece with one byte that is wrong.
    Wrong(Index, Index, u8),
    Noise(Vec<u8>),
}

fn scraps() -> impl Strategy<Value = Scrap> {
    let mark = prop::sample::select(b"\r\n\x01\x02\x03\x04\x06\x15 \x7f\x80".to_vec());
    let index = any::<Index>;
    prop_oneof![
        6 => index().prop_map(Scrap::Piece),
        2 => (index(), index(), index()).prop_map(|(piece, from, to)| Scrap::Torn(piece, from, to)),
        2 => (index(), index(), any::<u8>()).prop_map(|(piece, at, byte)| Scrap::Wrong(piece, at, byte)),
        3 => prop::collection::vec(mark, 1..4).prop_map(Scrap::Noise),
        1 => prop::collection::vec(any::<u8>(), 0..30).prop_map(Scrap::Noise),
        // Around the length of the longest frames.
        1 => (8_usize..110).prop_map(|length| Scrap::Noise(vec![b'0'; length])),
    ]
}

impl Scrap {
    fn of(&self, shape: &dyn Shape) -> Vec<u8> {
        let own = || CAPTURES.iter().filter(|capture| capture.shape.name() == shape.name());
        let pieces: Vec<&Vec<u8>> =
            own().flat_map(|capture| &capture.pieces).filter(|piece| !piece.is_empty()).collect();
        match self {
            Self::Piece(piece) => (*piece.get(&pieces)).clone(),
            Self::Torn(piece, a, b) => {
                let piece = piece.get(&pieces);
                let (a, b) = (a.index(piece.len() + 1), b.index(piece.len() + 1));
                piece[a.min(b)..a.max(b)].to_vec()
            }
            Self::Wrong(piece, at, byte) => {
                let mut piece = (*piece.get(&pieces)).clone();
                let at = at.index(piece.len());
                piece[at] = *byte;
                piece
            }
            Self::Noise(bytes) => bytes.clone(),
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
