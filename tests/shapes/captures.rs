//! The captures on disk, and what a decoder makes of bytes as text to compare.

use pourbook::scale::Frame;
use pourbook::scale::shape::{ALL, Decoded, Shape};
use pourbook::units::MassUnit;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

pub(crate) struct Capture {
    pub(crate) shape: &'static dyn Shape,
    pub(crate) path: PathBuf,
    /// The bytes of each line of the file: a frame each, in the main.
    pub(crate) pieces: Vec<Vec<u8>>,
}

impl Capture {
    pub(crate) fn bytes(&self) -> Vec<u8> {
        self.pieces.concat()
    }

    pub(crate) fn name(&self) -> String {
        self.path.file_stem().unwrap().to_string_lossy().into_owned()
    }
}

/// Every capture of every format, read once.
pub(crate) static CAPTURES: LazyLock<Vec<Capture>> = LazyLock::new(read_captures);

fn read_captures() -> Vec<Capture> {
    let mut captures = Vec::new();
    for shape in ALL {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/captures").join(shape.name());
        let files = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path());
        let mut paths: Vec<PathBuf> =
            files.filter(|path| path.extension().is_some_and(|e| e == "hex")).collect();
        paths.sort();
        assert!(paths.len() >= 3, "{} has too few captures", folder.display());
        for path in paths {
            let text = std::fs::read_to_string(&path).unwrap();
            assert!(text.starts_with("# "), "{} does not say where its bytes come from", path.display());
            let lines = text.lines().filter(|line| !line.starts_with('#'));
            let pieces = lines.map(|line| unhex(line.split('|').next().unwrap())).collect();
            captures.push(Capture { shape: *shape, path, pieces });
        }
    }
    captures
}

pub(crate) fn unhex(text: &str) -> Vec<u8> {
    text.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect()
}

/// What a decoder makes of the pieces, with neighbouring noise counted together: how much noise is told at a
/// time depends on how the bytes were split, what it adds up to does not.
pub(crate) fn decode<'a>(shape: &dyn Shape, pieces: impl IntoIterator<Item = &'a [u8]>) -> Vec<Decoded> {
    let mut decoder = shape.decoder();
    let mut out = Vec::new();
    for piece in pieces {
        decoder.push(piece, &mut out);
    }
    let mut joined: Vec<Decoded> = Vec::new();
    for decoded in out {
        match (joined.last_mut(), decoded) {
            (Some(Decoded::Noise(before)), Decoded::Noise(more)) => *before += more,
            (_, decoded) => joined.push(decoded),
        }
    }
    joined
}

pub(crate) fn frames(decoded: Vec<Decoded>) -> Vec<Frame> {
    let frame = |decoded| if let Decoded::Frame(frame) = decoded { Some(frame) } else { None };
    decoded.into_iter().filter_map(frame).collect()
}

/// One line a decoded thing, decimals exactly as they came.
pub(crate) fn told(decoded: &[Decoded]) -> String {
    let mut text = String::new();
    for decoded in decoded {
        match decoded {
            Decoded::Noise(bytes) => writeln!(text, "noise   {bytes}"),
            Decoded::Answer(answer) => writeln!(text, "answer  {answer:?}"),
            Decoded::Frame(frame) => writeln!(text, "frame   {}", frame_told(frame)),
        }
        .unwrap();
    }
    text
}

pub(crate) fn frame_told(frame: &Frame) -> String {
    let Frame { value, unit, unit_text, stability, mode, centre_of_zero, condition, high_resolution } = frame;
    let value = value.map_or("-".to_owned(), |value| value.to_string());
    let unit = unit.map_or("-", MassUnit::symbol);
    let zero = centre_of_zero.map_or("-", |zero| if zero { "yes" } else { "no" });
    let high = if *high_resolution { " high-resolution" } else { "" };
    format!("{value:>10} {unit:<3} {unit_text:?} {stability:?} {mode:?} zero:{zero} {condition:?}{high}")
}
