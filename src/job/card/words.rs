//! How the cards compare, in words for the painter who will spray the car.

use super::comparison::{ByEye, ByMeasure, Compared, Comparison, Count, Difference, NoCount};
use crate::units::{Decimal, Notation};

/// A difference as it is shown: to hundredths, always.
fn shown(de: Decimal, notation: Notation) -> String {
    notation.digits(&format!("{de:.2}"))
}

/// `card 2`, `cards 1 and 2`, `cards 1, 2 and 3`.
fn cards_words(cards: &[u32]) -> String {
    let numbers: Vec<String> = cards.iter().map(u32::to_string).collect();
    match numbers.split_last() {
        Some((last, [])) => format!("card {last}"),
        Some((last, before)) => format!("cards {} and {last}", before.join(", ")),
        None => "no card".to_owned(),
    }
}

fn coats_words(coats: u32) -> String {
    if coats == 1 { "1 coat".to_owned() } else { format!("{coats} coats") }
}

fn angles_words(angles: &[i16]) -> String {
    let angles: Vec<String> = angles.iter().map(|angle| format!("{angle}°")).collect();
    angles.join(", ")
}

/// A sentence begins with a capital.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

impl Difference {
    /// `0.84 at 45°`.
    pub fn words(self, notation: Notation) -> String {
        format!("{} at {}°", shown(self.de, notation), self.angle)
    }
}

impl Compared {
    /// What was measured: `15° 0.61, 45° 0.84`; none if nothing was.
    pub fn measured_words(&self, notation: Notation) -> Option<String> {
        let all: Vec<String> = self
            .differences
            .iter()
            .map(|difference| format!("{}° {}", difference.angle, shown(difference.de, notation)))
            .collect();
        (!all.is_empty()).then(|| all.join(", "))
    }

    /// What was seen: `face, sun: match; side tone, shade: a little darker`; none if nothing was.
    pub fn seen_words(&self) -> Option<String> {
        let all: Vec<String> = self.sights.iter().map(super::Sight::words).collect();
        (!all.is_empty()).then(|| all.join("; "))
    }
}

impl Count {
    /// The number alone: `2.4`, or `3`.
    pub fn number(&self) -> Decimal {
        Decimal::new(i64::from(self.tenths), 1).normalize()
    }

    /// What to do with it, in sentences.
    fn words(&self, notation: Notation) -> String {
        let whole = self.tenths.checked_div(10).unwrap_or_default();
        let next = whole.saturating_add(1);
        let (fewer, more) = self.coats;
        let worst = self.worst.words(notation);
        if let (Some(card), 0) = (self.card(), whole) {
            return format!(
                "No coat at all comes nearest, as on card {card} (ΔE00 {worst}, its worst angle): it is there to compare with, \
                 and not to be chosen. Look whether the car has this layer, and whether what lies below is right."
            );
        }
        if let Some(card) = self.card() {
            let mut words = format!(
                "About {}, as on card {card}: no count between neighbouring cards comes nearer (ΔE00 {worst}, its worst angle).",
                coats_words(whole)
            );
            if self.is_most {
                words.extend([format!(
                    " It is the most that was measured, and more may come nearer still: spray a card with {next}."
                )]);
            } else if self.is_fewest && whole > 1 {
                words.extend([format!(
                    " It is the least that was measured, and fewer may come nearer still: spray a card with {}.",
                    whole.saturating_sub(1)
                )]);
            }
            return words;
        }
        let about = notation.number(self.number());
        let doing = if whole == 0 {
            "spray 1 thinner than on the cards, and look".to_owned()
        } else if self.tenths.checked_rem(10) == Some(0) {
            format!("spray a card with {whole}, and look")
        } else {
            format!("spray {whole}, look, and put coat {next} on thinner if it wants more")
        };
        let mut words = format!(
            "Between {fewer} and {more} coats, about {about}, which is no promise: {doing}. Reckoned in a straight line \
             between cards {} and {} (ΔE00 {worst}, its worst angle).",
            self.cards.0, self.cards.1
        );
        if more.saturating_sub(fewer) > 1 {
            words.push_str(" These cards are more than one coat apart: one between them tells more.");
        }
        words
    }
}

impl NoCount {
    fn words(self) -> String {
        let why = match self {
            Self::NotMeasured => "no card was measured at every angle".to_owned(),
            Self::OneCount(coats) => format!("only cards with {} were measured", coats_words(coats)),
            Self::Unlike => {
                "neighbouring cards differ in what they stand on or in the gun, and not in their coats alone"
                    .to_owned()
            }
        };
        format!("No count of coats is reckoned between the cards: {why}.")
    }
}

impl Comparison {
    /// What comes out of it, a sentence or two each.
    pub fn words(&self, notation: Notation) -> Vec<String> {
        let mut words = Vec::new();
        if let Some(measured) = &self.measured {
            words.extend(self.measure_words(measured, notation));
            words.push(match &self.count {
                Ok(count) => count.words(notation),
                Err(none) => none.words(),
            });
        }
        if let Some(eye) = &self.eye {
            words.extend(self.eye_words(eye));
        }
        if let (Some(measured), Some(eye)) = (&self.measured, &self.eye)
            && !measured.best.is_empty()
            && !eye.best.is_empty()
            && !measured.best.iter().any(|card| eye.best.contains(card))
        {
            words.push("Instrument and eye do not agree: look again before a count is chosen. What is seen on the car decides.".to_owned());
        }
        words
    }

    fn of(&self, card: u32) -> Option<&Compared> {
        self.cards.iter().find(|compared| compared.card == card)
    }

    fn with_coats(&self, cards: &[u32]) -> String {
        match cards {
            [only] => {
                let coats =
                    self.of(*only).map_or_else(String::new, |card| format!(" ({})", coats_words(card.coats)));
                format!("card {only}{coats}")
            }
            several => cards_words(several),
        }
    }

    fn measure_words(&self, measured: &ByMeasure, notation: Notation) -> Vec<String> {
        let mut words = Vec::new();
        match measured.best.as_slice() {
            [] => words.push(
                "No card was measured at every angle: by measure they cannot be told apart.".to_owned(),
            ),
            [only] => {
                let worst = self.of(*only).and_then(|card| card.worst);
                let worst = worst.map_or_else(String::new, |worst| worst.words(notation));
                words.push(format!(
                    "By measure {} is nearest: ΔE00 {worst}, its worst angle.",
                    self.with_coats(&[*only])
                ));
            }
            several => {
                let worst = measured.worst.map_or_else(String::new, |de| shown(de, notation));
                words.push(format!(
                    "By measure {} are equally near: ΔE00 {worst} at the worst angle of each.",
                    cards_words(several)
                ));
            }
        }
        for card in measured.left_out.iter().filter_map(|card| self.of(*card)) {
            words.push(format!(
                "Card {} was not measured at {} and is left out: measure every card at every angle.",
                card.card,
                angles_words(&card.lacks)
            ));
        }
        words
    }

    fn eye_words(&self, eye: &ByEye) -> Vec<String> {
        let mut words = Vec::new();
        match eye.best.as_slice() {
            [] => words.push("By eye no card matches in any view.".to_owned()),
            [only] => {
                let worst = self.of(*only).and_then(|card| card.worst_sight.as_ref());
                let worst = worst.map_or_else(String::new, |sight| format!("; worst: {}", sight.words()));
                let best = self.with_coats(&[*only]);
                words.push(format!(
                    "By eye {best} matches most often: in {} of {} views{worst}.",
                    eye.matches, eye.views
                ));
            }
            several => {
                words.push(format!(
                    "By eye {} match equally often: in {} of {} views.",
                    cards_words(several),
                    eye.matches,
                    eye.views
                ));
                for card in several.iter().filter_map(|card| self.of(*card)) {
                    if let Some(sight) = &card.worst_sight {
                        words.push(format!("Worst of card {}: {}.", card.card, sight.words()));
                    }
                }
            }
        }
        if !eye.not_everywhere.is_empty() {
            let was = if eye.not_everywhere.len() == 1 { "was" } else { "were" };
            let cards = sentence(&cards_words(&eye.not_everywhere));
            words.push(format!("{cards} {was} not looked at in all of these views."));
        }
        words
    }
}
