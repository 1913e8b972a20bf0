//! Bars as SVG: lying, in parts, with their figures beside them.

use super::Shown;
use crate::units::{Decimal, Grams};
use maud::{Markup, html};
use rust_decimal::prelude::ToPrimitive as _;

/// One bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bar {
    /// What it is of.
    pub label: String,
    /// Its parts from the left; a part below nothing is not drawn.
    pub parts: Vec<Grams>,
    /// The figure at its end.
    pub figure: String,
}

/// Bars to one scale.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Chart {
    /// What it shows, for those who cannot see it.
    pub title: String,
    /// What the parts are: the class that paints one, and its word.
    pub parts: Vec<(&'static str, &'static str)>,
    /// The bars, the first on top.
    pub bars: Vec<Bar>,
}

/// Where bars begin, how long the longest can be, and how far apart they are; in the picture's own units.
const LEFT: i64 = 210;
const LONGEST: i64 = 400;
const ACROSS: i64 = 720;
const STEP: i64 = 24;
const THICK: i64 = 16;
const TOP: i64 = 8;
/// A longer label is cut.
const LABEL: usize = 27;

impl Chart {
    /// The picture; nothing where there is nothing to draw.
    pub fn drawn(&self, shown: Shown) -> Option<Markup> {
        let lengths = |bar: &Bar| -> Vec<Decimal> {
            bar.parts.iter().map(|mass| shown.measure(*mass).max(Decimal::ZERO)).collect()
        };
        let longest = self.bars.iter().map(|bar| sum(&lengths(bar))).max().filter(|most| !most.is_zero())?;
        let tick = tick(longest);
        let whole = sum(&[longest.checked_div(tick)?.ceil().checked_mul(tick)?]);
        let at = |value: Decimal| across(value, whole);
        let bottom = count(self.bars.len()).saturating_mul(STEP).saturating_add(TOP);
        let ticks = whole.checked_div(tick)?.to_i64()?;
        let used: Vec<_> = (0..self.parts.len())
            .filter(|part| self.bars.iter().any(|bar| bar.parts.get(*part).is_some_and(|p| p.is_positive())))
            .filter_map(|part| self.parts.get(part))
            .collect();
        Some(html! {
            figure {
                svg viewBox=(format!("0 0 {ACROSS} {}", bottom.saturating_add(24))) role="img" aria-label=(self.title) {
                    @for number in 0..=ticks {
                        @let value = tick.checked_mul(number.into()).unwrap_or_default();
                        @let x = Decimal::from(LEFT).saturating_add(at(value)).normalize().to_string();
                        line.grid x1=(x) x2=(x) y1="0" y2=(bottom) {}
                        text.tick x=(x) y=(bottom.saturating_add(16)) text-anchor="middle" {
                            (shown.number(value))
                            @if number == ticks { " " (shown.unit()) }
                        }
                    }
                    @for (place, bar) in self.bars.iter().enumerate() {
                        @let y = count(place).saturating_mul(STEP).saturating_add(TOP);
                        @let middle = y.saturating_add(THICK.saturating_sub(4));
                        text.label x=(LEFT.saturating_sub(8)) y=(middle) text-anchor="end" {
                            title { (bar.label) }
                            (cut(&bar.label))
                        }
                        @for part in placed(&lengths(bar), whole) {
                            @if let Some((class, word)) = self.parts.get(part.place) {
                                rect class=(format!("part {class}")) x=(part.x) y=(y) width=(part.width) height=(THICK) {
                                    title { (bar.label) ", " (word) ": " (shown.mass(part_of(bar, part.place))) " " (shown.unit()) }
                                }
                            }
                        }
                        text.figure
                            x=(Decimal::from(LEFT.saturating_add(6)).saturating_add(at(sum(&lengths(bar)))).normalize().to_string())
                            y=(middle) { (bar.figure) }
                    }
                }
                @if used.len() > 1 {
                    figcaption {
                        @for (class, word) in used {
                            span.key { svg.swatch viewBox="0 0 16 16" { rect class=(format!("part {class}")) width="16" height="16" {} } " " (word) }
                        }
                    }
                }
            }
        })
    }
}

fn part_of(bar: &Bar, place: usize) -> Grams {
    bar.parts.get(place).copied().unwrap_or_default()
}

/// A part as it is drawn.
struct Placed {
    place: usize,
    x: String,
    width: String,
}

fn placed(lengths: &[Decimal], whole: Decimal) -> Vec<Placed> {
    let mut upto = Decimal::ZERO;
    let mut all = Vec::new();
    for (place, length) in lengths.iter().enumerate() {
        let start = across(upto, whole);
        upto = upto.saturating_add(*length);
        let width = across(upto, whole).saturating_sub(start);
        if !width.is_zero() {
            let x = Decimal::from(LEFT).saturating_add(start).normalize().to_string();
            all.push(Placed { place, x, width: width.normalize().to_string() });
        }
    }
    all
}

fn sum(lengths: &[Decimal]) -> Decimal {
    lengths.iter().fold(Decimal::ZERO, |all, length| all.saturating_add(*length))
}

/// How far from the left a value is, to a hundredth of the picture's unit.
fn across(value: Decimal, whole: Decimal) -> Decimal {
    let part = value.checked_div(whole).unwrap_or_default();
    part.saturating_mul(Decimal::from(LONGEST)).round_dp(2)
}

/// The step between two lines of the scale: 1, 2 or 5 of a power of ten, so that there are five at most.
fn tick(longest: Decimal) -> Decimal {
    let mut power = Decimal::new(1, 4);
    for _ in 0..24 {
        for digit in [1, 2, 5] {
            let step = power.saturating_mul(Decimal::from(digit));
            if longest.checked_div(step).is_some_and(|steps| steps <= Decimal::from(5)) {
                return step;
            }
        }
        power = power.saturating_mul(Decimal::TEN);
    }
    longest
}

fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

fn cut(label: &str) -> String {
    if label.chars().count() <= LABEL {
        return label.to_owned();
    }
    let kept: String = label.chars().take(LABEL.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_has_round_steps() {
        for (longest, step) in [("7", "2"), ("5", "1"), ("5.01", "2"), ("0.03", "0.01"), ("123456", "50000")]
        {
            let parsed = |text: &str| Grams::parse(text).unwrap().decimal();
            assert_eq!(tick(parsed(longest)), parsed(step), "{longest}");
        }
    }

    #[test]
    fn nothing_is_no_picture() {
        let bar = |mass| Bar { label: "a".into(), parts: vec![mass], figure: String::new() };
        let chart =
            |mass| Chart { title: "t".into(), parts: vec![("sprayed", "sprayed")], bars: vec![bar(mass)] };
        assert!(chart(Grams::ZERO).drawn(Shown::default()).is_none());
        assert!(chart(Grams::parse("-3").unwrap()).drawn(Shown::default()).is_none());
        assert!(Chart::default().drawn(Shown::default()).is_none());
        assert!(chart(Grams::parse("3").unwrap()).drawn(Shown::default()).is_some());
    }

    /// Parts touch: each begins where the one before it ends.
    #[test]
    fn parts_stand_end_to_end() {
        let placed = placed(&[Decimal::ONE, Decimal::ZERO, Decimal::TWO], Decimal::from(4));
        let told: Vec<_> =
            placed.iter().map(|part| (part.place, part.x.as_str(), part.width.as_str())).collect();
        assert_eq!(told, [(0, "210", "100"), (2, "310", "200")]);
    }
}
