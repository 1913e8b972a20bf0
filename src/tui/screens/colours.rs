//! Colours to pick from: type to find, best first while typing; the layers and a swatch beside.

use super::frame::{Chrome, Top};
use crate::catalogue::{Colour, Entry, Found, Layer, Listing, STANDARD, Toner, Word};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::list::{List, ListCell, ListRow};
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Input;
use crate::units::{Decimal, Grams};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Colours to pick from.
#[derive(Clone, Copy, Debug)]
pub struct ColoursView<'a> {
    /// The shop's toners.
    pub toners: &'a [Toner],
    /// The shop's colours.
    pub listing: &'a Listing,
    /// The layers of the marked colour that it has no formula of and that are mixed out of a tin.
    pub tins: &'a [Layer],
    /// The marked colour in full, if its file was read.
    pub full: Option<&'a Colour>,
    /// How many files of how many are read, while they are.
    pub reading: Option<(usize, usize)>,
    /// What is being typed.
    pub query: Input<'a>,
    /// What was found, best first.
    pub found: &'a [Found],
    /// Of each of it, whether it was mixed lately; all no where it is empty.
    pub recent: &'a [bool],
    /// How many there are in all.
    pub count: usize,
    /// Which of it is marked.
    pub selected: usize,
    /// Which of its layers is marked.
    pub layer: usize,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Columns of the card beside the list.
const CARD: u16 = 36;
/// The list no wider than its rows need, so that the card stands beside it.
const WIDEST_LIST: u16 = 60;

/// Rows of the card that are neither its swatch nor a layer nor a toner: the name, what it is, and three blank ones.
const SWATCH_BESIDE: u16 = 5;

/// Draws it.
pub fn draw(view: &ColoursView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let count = match (view.query.text.trim(), view.found.len()) {
        _ if view.reading.is_some() => {
            let (read, of) = view.reading.unwrap_or_default();
            format!("reading the shop's files: {read} of {of}")
        }
        ("", _) => format!("{} colours", view.count),
        (_, 1) => "1 found".to_owned(),
        (_, some) => format!("{some} found"),
    };
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let top = Top { title: "Colours", middle: &count, right: &scale, right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };

    let row = pen::rows(body, 1, 1);
    let x = pen::put(buf, row, row.x.saturating_add(3), row.y, "find  ", theme.style(Meaning::Muted));
    let room = row.right().saturating_sub(x.saturating_add(2));
    let input = Rect { x, width: room, ..row }.intersection(row);
    view.query.draw(input, buf, theme);
    if view.query.text.is_empty() {
        let words = "a code, a name, or words of it in any order";
        pen::put(buf, input, input.x.saturating_add(2), input.y, words, theme.style(Meaning::Muted));
    }

    let lower = pen::rows(body, 3, body.height.saturating_sub(3));
    let card = CARD.max(lower.width / 3).min(50);
    let list = pen::columns(lower, 0, lower.width.saturating_sub(card).saturating_sub(2).min(WIDEST_LIST));
    draw_list(view, list, buf, theme);
    let marked = view.found.get(view.selected).and_then(|found| view.listing.get(found.colour));
    if let Some(colour) = marked {
        let area = pen::columns(lower, list.width.saturating_add(2), card.saturating_sub(2));
        draw_card(view, &colour, area, buf, theme);
    }
}

fn draw_list(view: &ColoursView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    if view.found.is_empty() {
        let words = if view.reading.is_some() {
            "one moment"
        } else if view.listing.is_empty() {
            "the shop has no colours yet: add a file to its folder colours"
        } else {
            "no colour has all of these words"
        };
        let clip = Rect { x: area.x.saturating_add(3), ..area }.intersection(area);
        for (line, y) in text::wrap(words, clip.width.saturating_sub(3)).iter().zip(clip.top()..clip.bottom())
        {
            pen::put(buf, clip, clip.x, y, line, theme.style(Meaning::Muted));
        }
        return;
    }
    let rows: Vec<ListRow<'_>> = view
        .found
        .iter()
        .filter_map(|found| {
            let colour = view.listing.get(found.colour)?;
            let variant = match (colour.retired, colour.variant) {
                (Some(_), STANDARD) => "retired",
                (None, STANDARD) => "",
                (_, variant) => variant,
            };
            let cells = vec![
                ListCell::found(colour.code, &found.code),
                ListCell::found(colour.name, &found.name),
                ListCell::found(variant, if colour.variant == STANDARD { &[] } else { &found.variant }),
            ];
            Some(ListRow { swatch: Some(colour.swatch), cells })
        })
        .collect();
    List { rows: &rows, selected: Some(view.selected) }.draw(area, buf, theme);
}

/// The colour's own card: what it is, its layers, and the formula of the marked one.
fn draw_card(view: &ColoursView<'_>, colour: &Entry<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let signs = theme.symbols;
    let mut y = area.y;
    if colour.swatch.is_some() {
        let (sign, style) = theme.layer(colour.swatch, 0);
        // Where there is little room the formula has it.
        let longest = colour.layers.iter().map(|(_, count)| *count).max().unwrap_or_default();
        let rows =
            usize::from(SWATCH_BESIDE).saturating_add(colour.layers.len()).saturating_add(view.tins.len());
        let rows = rows.saturating_add(usize::try_from(longest).unwrap_or(usize::MAX));
        let room = usize::from(area.height).saturating_sub(rows).clamp(1, 3);
        for _ in 0..room {
            pen::repeat(buf, area, area.x, y, area.width.min(24), sign, style);
            y = y.saturating_add(1);
        }
        y = y.saturating_add(1);
    }
    let name = text::fit(colour.name, area.width, signs.ellipsis);
    pen::put(buf, area, area.x, y, &name, theme.style(Meaning::Title));
    y = y.saturating_add(1);
    let dot = signs.dot;
    let more = match (colour.retired, view.recent.get(view.selected)) {
        (Some((on, _)), _) => format!(" {dot} retired {on}"),
        (None, Some(true)) => format!(" {dot} lately"),
        _ => String::new(),
    };
    let about = format!("{} {dot} {}{more}", colour.finish.word(), colour.variant);
    let about = text::fit(&about, area.width, signs.ellipsis);
    pen::put(buf, area, area.x, y, &about, theme.style(Meaning::Muted));
    y = y.saturating_add(2);
    let toners = |count: &u32| match count {
        1 => "1 toner".to_owned(),
        many => format!("{many} toners"),
    };
    let own = colour.layers.iter().map(|(role, count)| (*role, toners(count)));
    let tins = view.tins.iter().map(|layer| (layer.role, "from the tin".to_owned()));
    for (at, (role, made_of)) in own.chain(tins).enumerate() {
        let marked = at == view.layer;
        if marked {
            pen::put(buf, area, area.x, y, signs.pointer, theme.style(Meaning::KeyHint));
        }
        let style = theme.style(if marked { Meaning::Title } else { Meaning::Plain });
        pen::put(buf, area, area.x.saturating_add(2), y, role.name(), style);
        pen::put_right(buf, area, area.right(), y, &made_of, theme.style(Meaning::Muted));
        y = y.saturating_add(1);
    }
    y = y.saturating_add(1);
    // The formula stands beneath once the file is read: it is there before the eye is.
    let own = view.full.and_then(|full| full.layers.get(view.layer));
    let tin = || view.tins.get(view.layer.checked_sub(colour.layers.len())?);
    if let Some(layer) = own.or_else(tin) {
        draw_formula(view, layer, pen::rows(area, y.saturating_sub(area.y), area.height), buf, theme);
    }
}

/// The toners of a layer with their shares of the mass.
fn draw_formula(view: &ColoursView<'_>, layer: &Layer, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let parts = |part: Decimal| Grams::new(part);
    let sum: Grams = layer.pours.iter().map(|pour| parts(pour.parts)).sum();
    for (pour, y) in layer.pours.iter().zip(area.top()..area.bottom()) {
        let toner = view.toners.iter().find(|toner| toner.code == pour.toner);
        let (sign, style) = theme.layer(toner.and_then(|toner| toner.swatch), 0);
        let x = if toner.is_some_and(|toner| toner.swatch.is_some()) {
            pen::repeat(buf, area, area.x, y, 1, sign, style);
            area.x.saturating_add(2)
        } else {
            area.x.saturating_add(2)
        };
        let share = theme.notation.percent(parts(pour.parts).share_of(sum).unwrap_or_default(), 2);
        let x = pen::put(buf, area, x, y, pour.toner.as_str(), theme.style(Meaning::Plain)).saturating_add(2);
        let room = area.right().saturating_sub(x).saturating_sub(text::width(&share)).saturating_sub(2);
        let name = text::fit(toner.map_or("", |toner| toner.name.as_str()), room, theme.symbols.ellipsis);
        pen::put(buf, area, x, y, &name, theme.style(Meaning::Plain));
        pen::put_right(buf, area, area.right(), y, &share, theme.style(Meaning::Plain));
    }
}
