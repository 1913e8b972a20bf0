//! What the themes promise: told apart without colour, read on their ground, told apart by every eye.

use super::*;

fn environment<'a>(pairs: &'a [(&'a str, &'a str)]) -> impl Fn(&str) -> Option<String> + 'a {
    |name| pairs.iter().find(|(key, _)| *key == name).map(|(_, value)| (*value).to_owned())
}

#[test]
fn the_environment_chooses() {
    let theme = Theme::from_environment(
        environment(&[("NO_COLOR", "1"), ("COLORTERM", "truecolor"), ("LANG", "en_GB.UTF-8")]),
        Some(Palette::HighContrast),
    );
    assert_eq!(theme, Theme { palette: Palette::Mono, depth: Depth::True, ..Theme::default() });
    // Empty is not set, by no-color.org.
    let theme = Theme::from_environment(environment(&[("NO_COLOR", "")]), None);
    assert_eq!(theme.palette, Palette::Dark);
    assert_eq!(theme.symbols, Symbols::ASCII);
    let locale = [("LC_ALL", "C"), ("LANG", "de_DE.utf8")];
    assert_eq!(Theme::from_environment(environment(&locale), None).symbols, Symbols::ASCII);
}

#[test]
fn one_colour_is_no_colour() {
    for depth in [Depth::Sixteen, Depth::True] {
        let theme = Theme { palette: Palette::Mono, depth, ..Theme::default() };
        let swatch = theme.swatch(Swatch::parse("#123456"));
        let styles = Meaning::ALL.map(|meaning| theme.style(meaning));
        for style in styles.into_iter().chain([theme.base(), swatch]) {
            assert_eq!((style.fg, style.bg), (None, None));
        }
    }
}

/// What must be told apart at a glance is told apart by more than colour.
#[test]
fn every_palette_has_the_same_weight_of_type() {
    for meaning in Meaning::ALL {
        let weight = |palette| {
            let theme = Theme { palette, ..Theme::default() };
            theme.style(meaning).add_modifier.difference(Modifier::DIM)
        };
        assert!(Palette::ALL.into_iter().all(|palette| weight(palette) == weight(Palette::Mono)));
    }
}

#[test]
fn neighbours_have_different_textures() {
    for symbols in [Symbols::UNICODE, Symbols::ASCII] {
        let theme = Theme { symbols, ..Theme::default() };
        for layer in 0..40 {
            assert_ne!(theme.layer(None, layer).0, theme.layer(None, layer + 1).0);
        }
    }
}

#[test]
fn swatches_in_sixteen_colours() {
    for (swatch, colour) in [
        ("#000000", Color::DarkGray),
        ("#f2f1ec", Color::Gray),
        ("#ffffff", Color::White),
        ("#c01010", Color::Red),
        ("#1020d0", Color::Blue),
    ] {
        assert_eq!(
            shade::nearest_of_sixteen(Swatch::parse(swatch).unwrap(), Palette::Dark),
            colour,
            "{swatch}"
        );
    }
}

#[test]
fn names_go_both_ways() {
    for palette in Palette::ALL {
        assert_eq!(Palette::from_name(palette.name()), Some(palette));
    }
    assert_eq!(Palette::from_name("pink"), None);
}

/// What a terminal shows for a colour: as it says itself, or as a common terminal's sixteen are.
fn rgb(colour: Color) -> [f64; 3] {
    let (red, green, blue) = match colour {
        Color::Rgb(red, green, blue) => (red, green, blue),
        Color::Black => (0, 0, 0),
        named => shade::SIXTEEN.iter().find(|(colour, _)| *colour == named).unwrap().1,
    };
    [red, green, blue].map(|channel| f64::from(channel) / 255.0)
}

/// Linear light of an sRGB channel, as IEC 61966-2-1 has it.
fn linear(channel: f64) -> f64 {
    if channel <= 0.04045 { channel / 12.92 } else { ((channel + 0.055) / 1.055).powf(2.4) }
}

/// Relative luminance and contrast ratio as in WCAG 2.1, "contrast ratio" (W3C).
fn contrast(a: Color, b: Color) -> f64 {
    let luminance = |colour: Color| {
        let [red, green, blue] = rgb(colour).map(linear);
        0.2126 * red + 0.7152 * green + 0.0722 * blue
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn the_contrast_is_the_standards() {
    assert!((contrast(Color::Rgb(255, 255, 255), Color::Black) - 21.0).abs() < 1e-9);
    // The grey that just passes level AA on white, as often quoted: #767676 at 4.54.
    assert!((contrast(Color::Rgb(0x76, 0x76, 0x76), Color::Rgb(255, 255, 255)) - 4.54).abs() < 0.005);
}

/// WCAG 2.1: 4.5 to 1 for text (1.4.3, level AA), 7 to 1 enhanced (1.4.6, level AAA). The sixteen colours are each
/// user's own, so for them this holds on a common terminal's. `Dark` has to do on either ground and is left out.
#[test]
fn text_can_be_read_on_its_ground() {
    for (palette, depth, least) in [
        (Palette::Light, Depth::Sixteen, 4.5),
        (Palette::Light, Depth::True, 7.0),
        (Palette::HighContrast, Depth::Sixteen, 4.5),
        (Palette::HighContrast, Depth::True, 7.0),
        (Palette::BlueOrange, Depth::Sixteen, 4.5),
        (Palette::BlueOrange, Depth::True, 4.5),
    ] {
        let theme = Theme { palette, depth, ..Theme::default() };
        let paper = theme.base().bg.unwrap_or(Color::Black);
        for meaning in Meaning::ALL {
            let ink = theme.style(meaning).fg.or(theme.base().fg).unwrap_or(Color::White);
            let contrast = contrast(ink, paper);
            assert!(contrast >= least, "{palette:?} {depth:?} {meaning:?}: {contrast:.2}");
        }
    }
}

/// How a colour looks without the long, the middle or the short cones: Machado, Oliveira and Fernandes, "A
/// Physiologically-based Model for Simulation of Color Vision Deficiency" (2009), severity 1, in linear light.
const WITHOUT: [[[f64; 3]; 3]; 3] = [
    [
        [0.152_286, 1.052_583, -0.204_868],
        [0.114_503, 0.786_281, 0.099_216],
        [-0.003_882, -0.048_116, 1.051_998],
    ],
    [
        [0.367_322, 0.860_646, -0.227_968],
        [0.280_085, 0.672_501, 0.047_413],
        [-0.011_820, 0.042_940, 0.968_881],
    ],
    [
        [1.255_528, -0.076_749, -0.178_779],
        [-0.078_411, 0.930_809, 0.147_602],
        [0.004_733, 0.691_367, 0.303_900],
    ],
];

/// CIE 1976 L*a*b* of linear sRGB light (CIE 15, the matrix of IEC 61966-2-1, white D65).
fn lab(light: [f64; 3]) -> [f64; 3] {
    let [red, green, blue] = light.map(|channel| channel.clamp(0.0, 1.0));
    let x = (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.9505;
    let y = 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    let z = (0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.089;
    let f = |t: f64| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 };
    [116.0 * f(y) - 16.0, 500.0 * (f(x) - f(y)), 200.0 * (f(y) - f(z))]
}

/// The least CIE 1976 colour difference of two colours to an eye of any kind.
fn least_difference(a: Color, b: Color) -> f64 {
    let difference = |matrix: &[[f64; 3]; 3]| {
        let seen = |colour: Color| {
            let light = rgb(colour).map(linear);
            let row = |row: &[f64; 3]| row.iter().zip(light).map(|(weight, channel)| weight * channel).sum();
            lab([row(&matrix[0]), row(&matrix[1]), row(&matrix[2])])
        };
        seen(a).into_iter().zip(seen(b)).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    };
    let whole = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    WITHOUT.iter().chain([&whole]).map(difference).fold(f64::INFINITY, f64::min)
}

/// Right and over, steady and lost are told apart by every eye in the palette that says so; red and green are not.
#[test]
fn blue_and_orange_are_told_apart_by_every_eye() {
    for depth in [Depth::Sixteen, Depth::True] {
        let inks = Palette::BlueOrange.inks(depth).unwrap();
        for (one, other) in [(inks.good, inks.bad), (inks.good, inks.alert), (inks.busy, inks.bad)] {
            let difference = least_difference(one, other);
            assert!(difference > 30.0, "{depth:?} {one:?} {other:?}: {difference:.1}");
        }
    }
    // The check can fail: red and green of the same lightness are one to an eye without the middle cones.
    assert!(least_difference(Color::Rgb(160, 80, 0), Color::Rgb(95, 115, 0)) < 15.0);
}
