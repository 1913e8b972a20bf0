//! The README's pictures: the program's own screens, drawn from its own buffer and kept up to date by this test.

use super::states::{drawn, each_view};
use super::svg::svg;
use crate::tui::theme::{Depth, Palette, Theme};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// The file, the state of the screen, the palette, and what is to be seen, for those who cannot.
const PICTURES: &[(&str, &str, Palette, &str)] = &[
    ("bench", "pouring", Palette::Dark, "The bench: white is being poured, 27.4 grams to go"),
    ("over", "over", Palette::Dark, "A pour went over: the ways out side by side"),
    ("colours", "colours-found", Palette::Dark, "Finding a colour by typing a part of its name"),
    ("amount", "amount-too-little", Palette::Dark, "How much: toners that cannot be weighed are named"),
    ("scale", "scale", Palette::Dark, "The scale itself: what comes in and how steady it is"),
    ("bench-light", "pouring", Palette::Light, "The bench in black on white"),
    ("bench-high-contrast", "over", Palette::HighContrast, "A pour that is over, in high contrast"),
    ("bench-blue-orange", "over", Palette::BlueOrange, "The same in blue and orange"),
    ("bench-mono", "over", Palette::Mono, "The same in one colour"),
];

/// The pictures are what the screens draw now. `POURBOOK_REBUILD=1` draws them anew: look at each.
#[test]
fn the_pictures_are_the_screens() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pictures");
    let readme = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    let mut seen = BTreeSet::new();
    each_view(|state, view| {
        for (file, _, palette, title) in PICTURES.iter().filter(|(_, wanted, ..)| *wanted == state) {
            let theme = Theme { palette: *palette, depth: Depth::True, ..Theme::default() };
            let picture = svg(&drawn(view, 80, 24, &theme), &theme, title);
            let path = folder.join(format!("{file}.svg"));
            if std::env::var_os("POURBOOK_REBUILD").is_some() {
                fs::write(&path, &picture).unwrap();
            }
            let kept = fs::read_to_string(&path).unwrap_or_default();
            assert!(
                kept == picture,
                "{file}.svg is not what the screen draws: POURBOOK_REBUILD=1 draws it anew"
            );
            assert!(
                readme.contains(&format!("(tests/pictures/{file}.svg)")),
                "{file}.svg is not in the README"
            );
            seen.insert(*file);
        }
    });
    assert_eq!(seen.len(), PICTURES.len(), "{seen:?}");
    let there = fs::read_dir(&folder).unwrap().count();
    assert_eq!(there, PICTURES.len(), "a picture that nothing draws");
}

/// A theme changes the colours and never a letter: what is read in one is read in all.
#[test]
fn every_palette_says_the_same() {
    each_view(|state, view| {
        let signs = |palette| {
            let theme = Theme { palette, ..Theme::default() };
            super::picture(&drawn(view, 120, 36, &theme))
        };
        let plain = signs(Palette::Mono);
        assert!(Palette::ALL.into_iter().all(|palette| signs(palette) == plain), "{state}");
    });
}
