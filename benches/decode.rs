//! How fast each wire format is decoded, in bytes a second of a stream of whole frames as a bench sends them,
//! split at read's usual sizes. Beside it, in the same run, a bare look for line ends in the same bytes: what a
//! decoder can at best come near to.

use divan::counter::BytesCount;
use divan::{Bencher, black_box};
use pourbook::scale::shape::{ALL, Decoded, Described, Shape, by_name};
use pourbook::scale::{Chance, Frame, Mode, Stability, encode_nearest};
use pourbook::units::{Decimal, MassUnit};

fn main() {
    divan::main();
}

/// What is read at once, at most.
const READ: usize = 1024;
const FRAMES: i64 = 10_000;

/// A stream of frames: a pour that comes to rest again and again.
fn stream(shape: &dyn Shape) -> Vec<u8> {
    let mut chance = Chance::new(3);
    let mut tenths = 214;
    let mut bytes = Vec::new();
    for number in 0..FRAMES {
        let moving = number % 20 < 10;
        if moving {
            tenths = (tenths + 1 + i64::from(chance.next().to_le_bytes()[0])) % 60_000;
        }
        let frame = Frame::weight(
            Decimal::new(tenths, 1),
            MassUnit::Gram,
            if moving { Stability::Moving } else { Stability::Stable },
            Mode::Gross,
        );
        let frame = encode_nearest(&frame, shape);
        assert!(!frame.is_empty(), "{} cannot say it", shape.name());
        bytes.extend(frame);
    }
    bytes
}

fn names() -> impl Iterator<Item = &'static str> {
    ALL.iter().map(|shape| shape.name()).chain([DESCRIBED])
}

/// A format that is read by a description of it rather than by code of its own.
const DESCRIBED: &str = "described";

fn shape_named(name: &str) -> Option<&'static dyn Shape> {
    if name == DESCRIBED {
        let text = include_str!("../tests/described/header-comma-17.toml");
        return Described::parse("header-comma-17.toml", text).ok().map(|shape| shape as &dyn Shape);
    }
    by_name(name)
}

fn named(name: &str) -> Vec<u8> {
    shape_named(name).map(stream).unwrap_or_default()
}

#[divan::bench(args = names())]
fn decode(bencher: Bencher<'_, '_>, name: &str) {
    let bytes = named(name);
    let Some(shape) = shape_named(name) else { return };
    let mut decoder = shape.decoder();
    let mut out = Vec::new();
    decoder.push(&bytes, &mut out);
    let frames = out.iter().filter(|item| matches!(item, Decoded::Frame(_))).count();
    assert_eq!(i64::try_from(frames), Ok(FRAMES), "{name} does not read what it writes");
    bencher.counter(BytesCount::of_slice(&bytes)).bench_local(|| {
        let mut decoder = shape.decoder();
        let mut frames = 0;
        for read in black_box(&bytes).chunks(READ) {
            decoder.push(read, &mut out);
            frames += out.len();
            out.clear();
        }
        frames
    });
}

#[divan::bench(args = names())]
fn line_ends_only(bencher: Bencher<'_, '_>, name: &str) {
    let bytes = named(name);
    bencher
        .counter(BytesCount::of_slice(&bytes))
        .bench_local(|| black_box(&bytes).split(|byte| *byte == b'\r').map(<[u8]>::len).max());
}
