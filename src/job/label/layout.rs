//! Where everything stands on the label: words and black bars at their places, from which both pictures are drawn.
//!
//! The label is 62 mm wide and 100 mm high, a size that many label printers take (common practice, no source). What names the
//! mix, its time, and the words for what hurts always fit; the statements below them shrink, and what is still too much gives
//! way to a line that says so.

use super::fit::Letters;
use super::qr::{Modules, QUIET};
use super::text::{
    FOOT, NO_PICTOGRAMS, PICTOGRAMS, flammable_words, isocyanates_words, sds_words, signal_words,
};
use super::{Entered, Label, When, latin};

/// Width and height in millimetres.
pub(super) const MILLIMETRES: (u16, u16) = (62, 100);
/// The same in points, of which an inch of 25.4 mm has 72.
pub(super) const WIDTH: f32 = 175.75;
pub(super) const HEIGHT: f32 = 283.46;

const MARGIN: f32 = 6.0;
/// How large a square of the code is: 0.67 mm, which a scanner in the hand reads with ease (common practice, no source).
const SQUARE: f32 = 1.9;
/// From one line to the next, in sizes of its letters.
const LEADING: f32 = 1.18;
/// The sizes that the statements are tried in, in points; the last is the smallest that a sound eye reads at arm's length
/// (common practice, no source).
const SIZES: [f32; 5] = [7.5, 7.0, 6.5, 6.0, 5.5];
/// Said where not all of it fits.
const TOO_MUCH: &str = "MORE THAN FITS HERE: read the safety data sheet";
/// Said where letters are missing.
const MISSING: &str = "? stands for a letter that this print cannot show.";

/// Something on the label. Places are points from the upper left corner.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Item {
    /// A line of words, from the left end of its base line.
    Words {
        /// From the left.
        x: f32,
        /// From above.
        y: f32,
        /// In which letters.
        letters: Letters,
        /// What it says.
        text: String,
        /// Whether it is white, on a bar.
        white: bool,
    },
    /// A black bar.
    Bar {
        /// Its left edge.
        x: f32,
        /// Its upper edge.
        y: f32,
        /// How wide.
        width: f32,
        /// How high.
        height: f32,
    },
}

/// All that is on a label.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Sheet {
    /// What is drawn, in this order.
    pub(super) items: Vec<Item>,
    /// How many letters could not be shown.
    pub(super) missing: usize,
}

/// Which letters there are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Alphabet {
    /// Whatever the one who shows it has.
    Any,
    /// Those of a PDF's built-in fonts.
    Latin,
}

struct Flow {
    items: Vec<Item>,
    y: f32,
    left: f32,
    room: f32,
    alphabet: Alphabet,
    missing: usize,
}

const fn plain(size: f32) -> Letters {
    Letters { size, bold: false }
}

const fn bold(size: f32) -> Letters {
    Letters { size, bold: true }
}

impl Flow {
    fn shown(&mut self, text: &str) -> String {
        match self.alphabet {
            Alphabet::Any => text.to_owned(),
            Alphabet::Latin => {
                let (shown, missing) = latin::shown(text);
                self.missing = self.missing.saturating_add(missing);
                shown
            }
        }
    }

    /// Words in so many lines at most.
    fn put(&mut self, letters: Letters, text: &str, most: usize) {
        let text = self.shown(text);
        for line in letters.wrap_most(&text, self.room, most) {
            self.line(letters, line);
        }
    }

    fn line(&mut self, letters: Letters, text: String) {
        self.y += letters.size * LEADING;
        let base = self.y - letters.size * (LEADING - 0.92);
        self.items.push(Item::Words { x: self.left, y: base, letters, text, white: false });
    }

    /// White words on a black bar.
    fn alarm(&mut self, letters: Letters, text: &str) {
        let text = self.shown(text);
        for text in letters.wrap(&text, self.room - 4.0) {
            let height = letters.size * 1.3;
            self.y += 1.5;
            self.items.push(Item::Bar { x: self.left, y: self.y, width: self.room, height });
            let y = self.y + letters.size * 1.0;
            self.items.push(Item::Words { x: self.left + 2.0, y, letters, text, white: true });
            self.y += height;
        }
    }
}

/// Lays the label out.
pub(super) fn lay_out(label: &Label, when: When<'_>, alphabet: Alphabet) -> Sheet {
    let mut flow =
        Flow { items: Vec::new(), y: MARGIN, left: MARGIN, room: WIDTH - 2.0 * MARGIN, alphabet, missing: 0 };
    head(&mut flow, label);
    times(&mut flow, label, when);
    hazards(&mut flow, label);
    below(&mut flow, label);
    Sheet { items: flow.items, missing: flow.missing }
}

/// Which mix it is, with the code beside it.
fn head(flow: &mut Flow, label: &Label) {
    let code = Modules::of(label.payload());
    let side = f32::from(code.size()) * SQUARE;
    let quiet = f32::from(QUIET) * SQUARE;
    let left = WIDTH - quiet - side;
    for (y, x, long) in code.strips() {
        flow.items.push(Item::Bar {
            x: left + f32::from(x) * SQUARE,
            y: quiet + f32::from(y) * SQUARE,
            width: f32::from(long) * SQUARE,
            height: SQUARE,
        });
    }
    let whole = std::mem::replace(&mut flow.room, left - quiet - MARGIN);
    flow.put(plain(7.0), "mix", 1);
    flow.put(bold(20.0), &format!("{:04}", label.number), 1);
    flow.put(bold(9.0), &label.name, 2);
    flow.put(plain(7.0), &format!("{}, {}", label.colour, label.variant), 2);
    flow.room = whole;
    flow.y = flow.y.max(quiet * 2.0 + side - 2.0);
    flow.put(bold(11.0), label.layer.name(), 1);
}

fn times(flow: &mut Flow, label: &Label, when: When<'_>) {
    flow.put(plain(7.0), &label.product_words(), 2);
    flow.put(plain(7.0), &label.state_words(when), 2);
    flow.put(plain(7.0), &format!("by {}", label.painter_words()), 1);
    flow.y += 1.5;
    flow.put(bold(9.5), &label.use_by_words(when), 2);
}

/// The words for what hurts.
fn hazards(flow: &mut Flow, label: &Label) {
    match label.isocyanates {
        Entered::Yes => flow.alarm(bold(10.0), &isocyanates_words(label.isocyanates).to_uppercase()),
        entered => flow.put(bold(7.0), isocyanates_words(entered), 1),
    }
    let flammable = flammable_words(label.flammable);
    match label.signal {
        Some(_) => {
            flow.put(bold(12.0), signal_words(label.signal), 1);
            flow.put(bold(7.0), flammable, 1);
        }
        None => flow.put(bold(7.0), &format!("{}; {flammable}", signal_words(None)), 2),
    }
}

/// The statements in what room there is, and the data sheet below them.
fn below(flow: &mut Flow, label: &Label) {
    let foot = {
        let mut foot = Flow { items: Vec::new(), y: 0.0, missing: 0, ..*flow };
        foot.put(bold(6.5), &sds_words(label), 2);
        foot.put(plain(5.0), FOOT, 3);
        foot
    };
    // A line more for what is said of letters that are missing.
    let end = HEIGHT - MARGIN - foot.y - 5.0 * LEADING;
    let room = end - flow.y;
    let mut texts: Vec<String> = Vec::new();
    let pictograms: Vec<String> = label.pictograms.iter().map(|code| pictogram(code)).collect();
    texts.push(if pictograms.is_empty() { NO_PICTOGRAMS.to_owned() } else { pictograms.join(", ") });
    texts.extend(label.statements_words());
    texts.extend(label.cautions_words());
    let texts: Vec<String> = texts.iter().map(|text| flow.shown(text)).collect();
    let lines = |letters: Letters| -> Vec<String> {
        texts.iter().flat_map(|text| letters.wrap(text, flow.room)).collect()
    };
    let smallest = SIZES.iter().copied().fold(f32::MAX, f32::min);
    #[expect(clippy::cast_precision_loss, reason = "drawn, not reckoned with")]
    let high = |count: usize, size: f32| count as f32 * size * LEADING;
    let fits = SIZES.into_iter().find(|size| high(lines(plain(*size)).len(), *size) <= room);
    let letters = plain(fits.unwrap_or(smallest));
    let mut lines = lines(letters);
    if fits.is_none() {
        // The line that says so stands in the place of the last that would fit.
        while high(lines.len().saturating_add(1), letters.size) + 2.0 > room && lines.pop().is_some() {}
    }
    for line in lines {
        flow.line(letters, line);
    }
    if fits.is_none() {
        flow.put(bold(letters.size), TOO_MUCH, 1);
    }
    let at = HEIGHT - MARGIN - foot.y;
    flow.missing = flow.missing.saturating_add(foot.missing);
    flow.items.extend(foot.items.into_iter().map(|item| match item {
        Item::Words { x, y, letters, text, white } => Item::Words { x, y: y + at, letters, text, white },
        bar @ Item::Bar { .. } => bar,
    }));
    if flow.missing > 0 {
        flow.y = at - 5.0 * LEADING;
        flow.line(plain(5.0), MISSING.to_owned());
    }
}

/// A pictogram by its code and what it shows, as far as it is known here.
pub(super) fn pictogram(code: &str) -> String {
    let shows = PICTOGRAMS.iter().find(|(of, _)| of.eq_ignore_ascii_case(code));
    shows.map_or_else(|| code.to_owned(), |(of, shows)| format!("{of} {shows}"))
}
