//! How the screens are coloured, theme by theme: a letter a cell, and below what each letter is in each theme.

use super::states::{drawn, each_view};
use crate::tui::theme::{Depth, Meaning, Palette, Theme};
use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier};
use std::fmt::Write as _;

/// Every theme that looks different: one colour looks the same whatever the terminal can show.
fn themes() -> Vec<(String, Theme)> {
    let mut all = Vec::new();
    for palette in Palette::ALL {
        for (depth, word) in [(Depth::Sixteen, "16"), (Depth::True, "true")] {
            if palette != Palette::Mono || depth == Depth::Sixteen {
                let theme = Theme { palette, depth, ..Theme::default() };
                all.push((format!("{} {word}", palette.name()), theme));
            }
        }
    }
    all
}

/// A style in words: ink, paper, what is done to the type.
fn said(fg: Color, bg: Color, modifier: Modifier) -> String {
    let mut words = Vec::new();
    for (flag, word) in [
        (Modifier::BOLD, "bold"),
        (Modifier::DIM, "dim"),
        (Modifier::UNDERLINED, "underlined"),
        (Modifier::REVERSED, "reversed"),
    ] {
        if modifier.contains(flag) {
            words.push(word.to_owned());
        }
    }
    if fg != Color::Reset {
        words.push(colour(fg));
    }
    if bg != Color::Reset {
        words.push(format!("on {}", colour(bg)));
    }
    if words.is_empty() { "plain".to_owned() } else { words.join(" ") }
}

fn colour(colour: Color) -> String {
    match colour {
        Color::Rgb(red, green, blue) => format!("#{red:02x}{green:02x}{blue:02x}"),
        named => format!("{named:?}").to_lowercase(),
    }
}

/// The map of one view: a letter for each look, and the looks.
fn map(buffers: &[(String, Buffer)]) -> String {
    const LETTERS: &str = ".abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
    let area = buffers.first().unwrap().1.area;
    let mut looks: Vec<Vec<String>> = Vec::new();
    let mut out = String::new();
    for y in area.top()..area.bottom() {
        for x in area.left()..area.right() {
            let look: Vec<String> = buffers
                .iter()
                .map(|(_, buf)| {
                    let cell = buf.cell((x, y)).unwrap();
                    said(cell.fg, cell.bg, cell.modifier)
                })
                .collect();
            let place = looks.iter().position(|known| *known == look).unwrap_or_else(|| {
                looks.push(look);
                looks.len() - 1
            });
            out.push(LETTERS.chars().nth(place).unwrap());
        }
        out.push('\n');
    }
    for (look, letter) in looks.iter().zip(LETTERS.chars()) {
        writeln!(out, "\n{letter}").unwrap();
        for ((name, _), words) in buffers.iter().zip(look) {
            writeln!(out, "  {name:<18} {words}").unwrap();
        }
    }
    out
}

/// The states that have something of every meaning between them.
const MAPPED: &[&str] =
    &["pouring", "over", "scale-lost", "colours-found", "amount-too-little", "unfinished"];

#[test]
fn the_looks_of_the_screens() {
    let mut mapped = 0;
    each_view(|name, view| {
        if MAPPED.contains(&name) {
            mapped += 1;
            let size = if name == "pouring" { (120, 36) } else { (80, 24) };
            let buffers: Vec<_> = themes()
                .into_iter()
                .map(|(name, theme)| (name, drawn(view, size.0, size.1, &theme)))
                .collect();
            insta::assert_snapshot!(format!("looks-{name}"), map(&buffers));
        }
    });
    assert_eq!(mapped, MAPPED.len());
}

/// Every meaning in every theme, as a table.
#[test]
fn the_looks_of_the_meanings() {
    let mut out = String::new();
    for meaning in Meaning::ALL {
        writeln!(out, "{meaning:?}").unwrap();
        for (name, theme) in themes() {
            let style = theme.style(meaning);
            let (fg, bg) = (style.fg.unwrap_or_default(), style.bg.unwrap_or_default());
            writeln!(out, "  {name:<18} {}", said(fg, bg, style.add_modifier)).unwrap();
        }
    }
    insta::assert_snapshot!("looks-of-the-meanings", out);
}

/// On every screen in every theme each cell looks like one of the meanings, or like a swatch: nothing is styled by
/// hand, so the table above is the whole of it.
#[test]
fn nothing_is_styled_but_by_what_it_means() {
    for (name, theme) in themes() {
        let known: Vec<(Option<Color>, Modifier)> = Meaning::ALL
            .iter()
            .map(|meaning| theme.style(*meaning))
            .map(|style| (style.fg.or(theme.base().fg), style.add_modifier))
            .collect();
        each_view(|state, view| {
            for cell in drawn(view, 80, 24, &theme).content() {
                let fg = Some(cell.fg).filter(|fg| *fg != Color::Reset);
                let ink_known = known.iter().any(|(ink, _)| *ink == fg) || fg == theme.base().fg;
                let is_swatch = theme.palette != Palette::Mono && !ink_known;
                let type_known = known.iter().any(|(_, type_)| {
                    type_.difference(Modifier::DIM) == cell.modifier.difference(Modifier::DIM)
                }) || cell.modifier.is_empty();
                assert!(type_known, "{name} {state}: {cell:?}");
                assert!(ink_known || is_swatch, "{name} {state}: {cell:?}");
            }
        });
    }
}

/// What each piece of text on a screen means, row by row, by the looks it has in all themes together; plain text is left
/// out, and a swatch is its colour.
fn meanings(view: &crate::tui::screens::View<'_>, (columns, rows): (u16, u16)) -> String {
    let themes = themes();
    let drawings: Vec<_> = themes.iter().map(|(_, theme)| drawn(view, columns, rows, theme)).collect();
    let looks = |x, y| -> Vec<(Color, Modifier)> {
        let cells = drawings.iter().map(|drawing| drawing.cell((x, y)).unwrap());
        cells.map(|cell| (cell.fg, cell.modifier)).collect()
    };
    let of_meaning = |meaning: Meaning| -> Vec<(Color, Modifier)> {
        let style = themes.iter().map(|(_, theme)| (theme.base(), theme.style(meaning)));
        style
            .map(|(base, style)| {
                (style.fg.or(base.fg).unwrap_or_default(), base.add_modifier | style.add_modifier)
            })
            .collect()
    };
    let known: Vec<_> =
        Meaning::ALL.iter().map(|meaning| (of_meaning(*meaning), format!("{meaning:?}"))).collect();
    let word = |look: &Vec<(Color, Modifier)>| {
        let meaning = known.iter().find(|(of, _)| of == look).map(|(_, name)| name.clone());
        meaning.unwrap_or_else(|| {
            let at = themes.iter().position(|(name, _)| name == "dark true").unwrap();
            look.get(at).map(|(fg, modifier)| said(*fg, Color::Reset, *modifier)).unwrap()
        })
    };
    let mut out = String::new();
    for y in 0..rows {
        let mut runs: Vec<(Vec<(Color, Modifier)>, String)> = Vec::new();
        for x in 0..columns {
            let (look, sign) = (looks(x, y), drawings[0].cell((x, y)).unwrap().symbol());
            match runs.last_mut() {
                Some((last, text)) if *last == look => text.push_str(sign),
                _ => runs.push((look, sign.to_owned())),
            }
        }
        for (look, text) in runs {
            let (word, text) = (word(&look), text.trim());
            // A rule is one sign many times.
            let text: String = if word == "Rule" { text.chars().take(1).collect() } else { text.to_owned() };
            if word != "Plain" && !text.is_empty() {
                writeln!(out, "{y:>4}  {word:<10} {text}").unwrap();
            }
        }
    }
    out
}

#[test]
fn what_each_text_of_each_state_means() {
    for size in [(80, 24), (120, 36)] {
        let mut out = String::new();
        each_view(|state, view| writeln!(out, "{state}\n{}", meanings(view, size)).unwrap());
        insta::assert_snapshot!(format!("meanings-{}x{}", size.0, size.1), out);
    }
}

/// Every state with the plain set of signs: all of it is ASCII, but for what people's own names have in them.
#[test]
fn each_state_in_plain_signs() {
    use crate::tui::theme::Symbols;
    let plain = Theme { symbols: Symbols::ASCII, ..Theme::default() };
    for (columns, rows) in [(80, 24), (120, 36)] {
        let mut out = String::new();
        each_view(|state, view| {
            let picture = super::picture(&drawn(view, columns, rows, &plain)).join("\n");
            assert!(picture.is_ascii(), "{state}:\n{picture}");
            writeln!(out, "{state}\n{picture}\n").unwrap();
        });
        insta::assert_snapshot!(format!("plain-{columns}x{rows}"), out);
    }
}
