//! A delivery from a file before it is received: what is wrong with its table, and the tins that would come in.

use super::frame::{Chrome, Top};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use crate::units::{Division, Grams, Money};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::collections::BTreeSet;

/// A tin of it.
#[derive(Clone, Copy, Debug)]
pub struct ArrivingTin<'a> {
    /// Its label.
    pub label: &'a str,
    /// The toner's code and name.
    pub toner: &'a str,
    /// How much is in it.
    pub net: Grams,
    /// Its lot; empty where none is said.
    pub lot: &'a str,
    /// The last day on which it may be used; empty where none is said.
    pub expires: &'a str,
    /// What it cost.
    pub price: Option<Money>,
    /// Who sent it; empty where that is not said.
    pub supplier: &'a str,
}

/// A delivery.
#[derive(Clone, Copy, Debug)]
pub struct DeliveryView<'a> {
    /// The file's name.
    pub from: &'a str,
    /// The tins that can be received.
    pub tins: &'a [ArrivingTin<'a>],
    /// What is wrong, a sentence each. While there is any, nothing is received.
    pub wrong: &'a [String],
    /// The first line on the screen.
    pub scroll: usize,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// A line of what is gone through.
enum Line<'a> {
    /// Of what is wrong, and whether it begins there.
    Wrong(String, bool),
    /// A tin.
    Tin(&'a ArrivingTin<'a>),
}

/// Where the columns begin or, of numbers, end.
const LABEL: u16 = 3;
const TONER: u16 = 17;
const NET: u16 = 53;
const LOT: u16 = 55;
const EXPIRES: u16 = 67;
const PRICE: u16 = 88;
const SUPPLIER: u16 = 90;

/// Draws it.
pub fn draw(view: &DeliveryView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let title = format!("Delivery {} {}", theme.symbols.dot, view.from);
    let (right, meaning) = match view.wrong.len() {
        0 => ("nothing received yet".to_owned(), Meaning::Plain),
        1 => ("1 thing to put right".to_owned(), Meaning::Error),
        many => (format!("{many} things to put right"), Meaning::Error),
    };
    let top = Top { title: &title, middle: "", right: &right, right_meaning: meaning };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let room = body.width.saturating_sub(LABEL.saturating_add(2));
    let wrong = view.wrong.iter().flat_map(|why| {
        let lines = text::wrap(why, room).into_iter();
        lines.enumerate().map(|(at, line)| Line::Wrong(line, at == 0))
    });
    let lines: Vec<Line<'_>> = wrong.chain(view.tins.iter().map(Line::Tin)).collect();
    let rows = pen::rows(body, 2, body.height);
    let scroll = view.scroll.min(lines.len().saturating_sub(usize::from(rows.height)));
    let below = lines.len().saturating_sub(scroll.saturating_add(usize::from(rows.height)));
    draw_head(view, below, body, buf, theme);
    for (line, y) in lines.iter().skip(scroll).zip(rows.top()..rows.bottom()) {
        let row = Rect { y, height: 1, ..rows };
        match line {
            Line::Wrong(words, begins) => {
                if *begins {
                    let alert = theme.symbols.alert;
                    pen::put(buf, row, row.x.saturating_add(1), y, alert, theme.style(Meaning::Error));
                }
                pen::put(buf, row, row.x.saturating_add(LABEL), y, words, theme.style(Meaning::Plain));
            }
            Line::Tin(tin) => draw_tin(tin, row, buf, theme),
        }
    }
}

/// What it comes to, and what stands in the columns.
fn draw_head(view: &DeliveryView<'_>, below: usize, body: Rect, buf: &mut Buffer, theme: &Theme) {
    let muted = theme.style(Meaning::Muted);
    let count = |count: usize, one: &str, many: &str| {
        if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
    };
    let toners: BTreeSet<&str> = view.tins.iter().map(|tin| tin.toner).collect();
    let all: Grams = view.tins.iter().map(|tin| tin.net).sum();
    let tins = count(view.tins.len(), "tin", "tins");
    let words = match (view.tins.is_empty(), view.wrong.is_empty()) {
        (true, _) => "no tin in it can be received".to_owned(),
        (false, true) => {
            let (toners, all) =
                (count(toners.len(), "toner", "toners"), theme.notation.mass(all, Division::TENTH));
            format!("{tins} of {toners} would come in, {all} together")
        }
        (false, false) => format!("nothing is received as it is; right in it: {tins}"),
    };
    let left = body.x.saturating_add(LABEL);
    pen::put(buf, body, left, body.y, &words, theme.style(Meaning::Title));
    if below > 0 {
        let words =
            if below == 1 { "1 more line below".to_owned() } else { format!("{below} more lines below") };
        pen::put_right(buf, body, body.right().saturating_sub(1), body.y, &words, muted);
    }
    if view.tins.is_empty() {
        return;
    }
    let row = pen::rows(body, 1, 1);
    for (at, words) in [(LABEL, "label"), (TONER, "toner"), (LOT, "lot"), (EXPIRES, "expires")] {
        pen::put(buf, row, row.x.saturating_add(at), row.y, words, muted);
    }
    pen::put_right(buf, row, row.x.saturating_add(NET), row.y, "holds", muted);
    if has_wide_columns(row) {
        pen::put_right(buf, row, row.x.saturating_add(PRICE), row.y, "price", muted);
        pen::put(buf, row, row.x.saturating_add(SUPPLIER), row.y, "supplier", muted);
    }
}

/// Whether there is room for what it cost and who sent it.
const fn has_wide_columns(row: Rect) -> bool {
    row.width >= SUPPLIER + 12
}

fn draw_tin(tin: &ArrivingTin<'_>, row: Rect, buf: &mut Buffer, theme: &Theme) {
    let (plain, ellipsis) = (theme.style(Meaning::Plain), theme.symbols.ellipsis);
    let mut column = |at: u16, end: u16, words: &str| {
        let words = text::fit(words, end.saturating_sub(at).saturating_sub(1), ellipsis);
        pen::put(buf, row, row.x.saturating_add(at), row.y, &words, plain);
    };
    // The widest mass, with its unit, is a dozen cells.
    column(LABEL, TONER, tin.label);
    column(TONER, NET.saturating_sub(12), tin.toner);
    column(LOT, EXPIRES, tin.lot);
    column(EXPIRES, PRICE.saturating_sub(8), tin.expires);
    if has_wide_columns(row) {
        column(SUPPLIER, row.width, tin.supplier);
        let price = tin.price.map(|price| theme.notation.money(price)).unwrap_or_default();
        pen::put_right(buf, row, row.x.saturating_add(PRICE), row.y, &price, plain);
    }
    let net = theme.notation.mass(tin.net, Division::TENTH);
    pen::put_right(buf, row, row.x.saturating_add(NET), row.y, &net, theme.style(Meaning::Value));
}
