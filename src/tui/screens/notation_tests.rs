//! Every screen in the person's own sign and units.

use super::states::{drawn, each_view};
use super::*;
use crate::tui::theme::Theme;
use crate::units::{DecimalSign, MassShown, Notation, VolumeShown};

/// Everything another way than it is stored.
const ALL_OTHER: Notation =
    Notation { decimal: DecimalSign::Comma, mass: MassShown::Ounces, volume: VolumeShown::Us };
const COMMA: Notation = Notation { decimal: DecimalSign::Comma, ..Notation::METRIC };
const US: Notation = Notation { decimal: DecimalSign::Point, ..ALL_OTHER };

fn in_notation(view: &View<'_>, (width, height): (u16, u16), notation: Notation) -> Vec<String> {
    picture(&drawn(view, width, height, &Theme { notation, ..Theme::default() }))
}

/// What in a line is not as it should be with a comma, in ounces and US measures.
fn left_over(line: &str) -> Vec<String> {
    let letters: Vec<char> = line.chars().collect();
    let points = letters.windows(3).filter(
        |three| matches!(three, [before, '.', after] if before.is_ascii_digit() && after.is_ascii_digit()),
    );
    let points = points.map(|three| three.iter().collect::<String>());
    let units = line.split(|c: char| !c.is_alphanumeric()).filter(|word| ["g", "mL", "grams"].contains(word));
    points.chain(units.map(str::to_owned)).collect()
}

/// What the views here were given as text, made where numbers are written already or typed or sent so; each with why.
const GIVEN: [&str; 19] = [
    // Typed by a person, and what was wrong with it.
    "'229,,8' is not a weight: type it as 229.8",
    "350 mL",
    // A job's amounts: its state writes them.
    "310 mL",
    "150 mL",
    "420 mL",
    // A setting of the scale, as it is written there.
    "unit=g",
    // The questions about what is booked, and the notes on the scale: sentences of the state, tested there.
    "62.7 g",
    "3.4 g",
    "48.8 g",
    "350.6 g",
    "14.41 of",
    "(500 g, M1): 500.0 g, right within 0.1 g",
    "0.048 g, weighs from 9.7 g",
    // What the scale sent, and what that means in its own words.
    "201.3g",
    "201.3 g",
    // Formulas as they are written: the state hands them on with the person's sign.
    "157.00",
    "810.00",
    "812.40",
    "12.4 or 12,4",
];

#[test]
fn no_screen_has_a_point_or_grams_left_where_neither_is_wanted() {
    let mut met = [false; GIVEN.len()];
    each_view(|name, view| {
        // What is said of an amount comes from the state as sentences: tested there.
        if matches!(view, View::Formula(_)) || name == "amount-ready" {
            return;
        }
        for size in [(80, 24), (120, 36), (40, 8)] {
            for line in in_notation(view, size, ALL_OTHER) {
                let mut rest = line.clone();
                for (given, met) in GIVEN.iter().zip(&mut met) {
                    *met |= rest.contains(given);
                    rest = rest.replace(given, "");
                }
                assert_eq!(left_over(&rest), [""; 0], "{name} at {size:?}: {line}");
            }
        }
    });
    let unmet: Vec<_> = GIVEN.iter().zip(met).filter(|(_, met)| !met).collect();
    assert!(unmet.is_empty(), "nothing says {unmet:?}");
}

/// Looked at line by line: a comma and grams, and a point with ounces and US measures.
#[test]
fn pictures_in_other_notations() {
    each_view(|name, view| {
        if !["pouring", "right", "amount-too-little", "over", "cup-back-with-less", "unfinished"]
            .contains(&name)
        {
            return;
        }
        for (word, notation) in [("comma", COMMA), ("us", US)] {
            for (size, of) in [("80x24", (80, 24)), ("120x36", (120, 36))] {
                let lines = in_notation(view, of, notation).join("\n");
                insta::assert_snapshot!(format!("{name}-in-{word}-{size}"), lines);
            }
        }
    });
}
