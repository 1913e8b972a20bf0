//! How much, into which cup, in which order; and what cannot be weighed so, before the first pour.

use super::frame::{Chrome, Top};
use crate::catalogue::Cup;
use crate::mix::{Recipe, Targets};
use crate::stock::Leftover;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Input;
use crate::units::{DecimalSign, Division, Grams, Millilitres, Notation, VolumeShown};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// How much is to be mixed.
#[derive(Clone, Copy, Debug)]
pub struct AmountView<'a> {
    /// What.
    pub recipe: &'a Recipe,
    /// The volume being typed.
    pub input: Input<'a>,
    /// Why what was typed is no volume, in a sentence.
    pub error: Option<&'a str>,
    /// What the layer comes to in that volume, in the pour order; none while there is no volume.
    pub targets: Option<&'a Targets>,
    /// The least that can be weighed on this scale.
    pub smallest: Option<Grams>,
    /// Which toners are below it, as places in the recipe.
    pub too_small: &'a [usize],
    /// The least volume in which everything can be weighed.
    pub smallest_volume: Option<Millilitres>,
    /// The shop's cups.
    pub cups: &'a [Cup],
    /// Which is marked.
    pub cup: usize,
    /// Whether the order is the one that risks least, not the formula's own.
    pub least_risk: bool,
    /// What it is made ready with, in a few words; none where there is nothing to choose.
    pub ready: Option<&'a str>,
    /// What is to be known of the amount, in sentences.
    pub notes: &'a [String],
    /// The job that it is mixed for, if it is for one.
    pub job: Option<&'a str>,
    /// The leftovers of this layer that can be used.
    pub leftovers: &'a [Leftover],
    /// Which of them the mix begins with, if any.
    pub begins_with: Option<usize>,
    /// What the scale shows in.
    pub division: Division,
    /// The most the scale weighs, cup included.
    pub capacity: Option<Grams>,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Columns of what is asked, on the left.
struct Columns {
    brim_end: u16,
    tare_end: u16,
    width: u16,
}

impl Columns {
    /// Measures with a long name stand on top of their numbers, which takes more room.
    const fn of(notation: Notation) -> Self {
        match notation.volume {
            VolumeShown::Millilitres => Self { brim_end: 19, tare_end: 28, width: 31 },
            _ => Self { brim_end: 21, tare_end: 32, width: 35 },
        }
    }
}

/// How a volume can be typed.
fn how_to_type(notation: Notation) -> &'static str {
    match (notation.volume, notation.decimal) {
        (VolumeShown::Millilitres, DecimalSign::Point) => "as 350 mL, 0.5 L or 12 fl oz",
        (VolumeShown::Millilitres, DecimalSign::Comma) => "as 350 mL, 0,5 L or 12 fl oz",
        (VolumeShown::Us, DecimalSign::Point) => "as 12 (US fl oz), 1 qt or 350 mL",
        (VolumeShown::Us, DecimalSign::Comma) => "as 12 (US fl oz), 0,5 qt or 350 mL",
        (VolumeShown::Imperial, _) => "as 12 (imp fl oz), 1 pt or 350 mL",
    }
}

/// Draws it.
pub fn draw(view: &AmountView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let title = format!("{} {} {}", view.recipe.name, theme.symbols.dot, view.recipe.role.name());
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let middle = view.job.map(|job| format!("how much {} {job}", theme.symbols.dot));
    let middle = middle.as_deref().unwrap_or("how much");
    let top = Top { title: &title, middle, right: &scale, right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let body = pen::rows(body, 1, body.height);
    let left = Columns::of(theme.notation).width;
    draw_asked(view, pen::columns(body, 3, left), buf, theme);
    let right = pen::columns(body, left.saturating_add(6), body.width);
    let right = Rect { width: right.width.saturating_sub(2).min(64), ..right };
    draw_targets(view, right, buf, theme);
}

fn draw_asked(view: &AmountView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let muted = theme.style(Meaning::Muted);
    let row = pen::rows(area, 0, 1);
    let x = pen::put(buf, row, row.x, row.y, "volume  ", muted);
    view.input.draw(Rect { x, width: row.right().saturating_sub(x), ..row }.intersection(row), buf, theme);
    let how = how_to_type(theme.notation);
    let (words, meaning) = match view.error {
        Some(error) => (format!("{} {error}", theme.symbols.alert), Meaning::Error),
        None => (how.to_owned(), Meaning::Muted),
    };
    let ready = (view.error.is_none() && view.recipe.readied.is_some()).then_some("ready to spray,");
    let lines = ready.map(str::to_owned).into_iter().chain(text::wrap(&words, area.width));
    for (line, y) in lines.take(3).zip(area.y.saturating_add(1)..area.bottom()) {
        pen::put(buf, area, area.x, y, &line, theme.style(meaning));
    }
    let order = pen::rows(area, 5, 2);
    pen::put(buf, order, order.x, order.y, "order   ", muted);
    let words = if view.least_risk { "the one of least risk" } else { "the formula's own" };
    pen::put(buf, order, order.x.saturating_add(8), order.y, words, theme.style(Meaning::Value));
    let mut next = 6;
    if let Some(ready) = view.ready {
        let row = pen::rows(area, next, 1);
        let x = pen::put(buf, row, row.x, row.y, "ready   ", muted);
        let words = text::fit(ready, row.right().saturating_sub(x), theme.symbols.ellipsis);
        pen::put(buf, row, x, row.y, &words, theme.style(Meaning::Value));
        next += 1;
    }
    draw_leftover(view, pen::rows(area, next, 2), buf, theme);
    let first = if view.leftovers.is_empty() { next + 1 } else { next + 3 };
    draw_cups(view, pen::rows(area, first, area.height.saturating_sub(first)), buf, theme);
}

/// What the mix could begin with, or does.
fn draw_leftover(view: &AmountView<'_>, row: Rect, buf: &mut Buffer, theme: &Theme) {
    let Some(first) = view.leftovers.first() else { return };
    let x = pen::put(buf, row, row.x, row.y, "with    ", theme.style(Meaning::Muted));
    let chosen = view.begins_with.and_then(|at| view.leftovers.get(at));
    let leftover = chosen.unwrap_or(first);
    let mass = theme.notation.mass(leftover.holds(), view.division);
    let (words, meaning) = match chosen {
        Some(_) => (format!("{mass} of mix {:04}", leftover.of.head.number), Meaning::Value),
        None => (format!("no leftover ({mass})"), Meaning::Plain),
    };
    let words = text::fit(&words, row.right().saturating_sub(x), theme.symbols.ellipsis);
    pen::put(buf, row, x, row.y, &words, theme.style(meaning));
    if let Some(day) = leftover.use_by {
        let until = format!("use it by {day}");
        pen::put(buf, row, x, row.y.saturating_add(1), &until, theme.style(Meaning::Muted));
    }
}

fn draw_cups(view: &AmountView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let muted = theme.style(Meaning::Muted);
    let signs = theme.symbols;
    let (notation, columns) = (theme.notation, Columns::of(theme.notation));
    let (brim_end, tare_end) =
        (area.x.saturating_add(columns.brim_end), area.x.saturating_add(columns.tare_end));
    let metric = notation.volume == VolumeShown::Millilitres;
    let heading = if metric { "brim".to_owned() } else { format!("brim {}", notation.volume_unit()) };
    pen::put(buf, area, area.x.saturating_add(2), area.y, "cup", muted);
    pen::put_right(buf, area, brim_end, area.y, &heading, muted);
    pen::put_right(buf, area, tare_end, area.y, "weighs", muted);
    let room = usize::from(area.height.saturating_sub(1));
    let first = pen::first_row(view.cup, view.cups.len(), room);
    let rows = view.cups.iter().enumerate().skip(first).take(room);
    for ((at, cup), y) in rows.zip(area.y.saturating_add(1)..area.bottom()) {
        let marked = at == view.cup;
        let style = theme.style(if marked { Meaning::Title } else { Meaning::Plain });
        if marked {
            pen::put(buf, area, area.x, y, signs.pointer, theme.style(Meaning::KeyHint));
        }
        pen::put(buf, area, area.x.saturating_add(2), y, &text::fit(&cup.name, 10, signs.ellipsis), style);
        let brim = if metric { notation.given_volume(cup.brim) } else { notation.volume_number(cup.brim, 0) };
        pen::put_right(buf, area, brim_end, y, &brim, style);
        let tare = cup.tare.map_or_else(|| "?".to_owned(), |tare| notation.mass(tare, view.division));
        pen::put_right(buf, area, tare_end, y, &tare, style);
        if view.targets.is_some_and(|targets| targets.volume > cup.brim) {
            pen::put(buf, area, tare_end.saturating_add(2), y, signs.alert, theme.style(Meaning::Over));
        }
    }
}

/// What goes in, in pour order, and what the cup should read after each.
fn draw_targets(view: &AmountView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let Some(targets) = view.targets else {
        let words = "type how much to mix";
        pen::put(buf, area, area.x, area.y, words, theme.style(Meaning::Muted));
        return;
    };
    let muted = theme.style(Meaning::Muted);
    let plain = theme.style(Meaning::Plain);
    let warnings = warnings(view, targets, area.width, theme.notation);
    let count = u16::try_from(warnings.len()).unwrap_or(u16::MAX);
    let mut y = area.y;
    for (line, meaning) in &warnings {
        pen::put(buf, area, area.x, y, line, theme.style(*meaning));
        y = y.saturating_add(1);
    }
    if count > 0 {
        y = y.saturating_add(1);
    }
    let (target_end, reads_end) = (area.right().saturating_sub(11), area.right());
    pen::put(buf, area, area.x.saturating_add(2), y, "toner", muted);
    pen::put_right(buf, area, target_end, y, "target", muted);
    pen::put_right(buf, area, reads_end, y, "cup reads", muted);
    y = y.saturating_add(1);
    let last = area.bottom().saturating_sub(1);
    for target in &targets.pours {
        if y >= last {
            pen::put(buf, area, area.x.saturating_add(2), y, theme.symbols.ellipsis, muted);
            return;
        }
        let Some(line) = view.recipe.lines().get(target.line) else { continue };
        let small = view.too_small.contains(&target.line);
        let style = if small { theme.style(Meaning::Doubt) } else { plain };
        if small {
            pen::put(buf, area, area.x, y, theme.symbols.alert, style);
        }
        let x =
            pen::put(buf, area, area.x.saturating_add(2), y, line.toner.as_str(), style).saturating_add(2);
        let room = target_end.saturating_sub(9).saturating_sub(x);
        pen::put(buf, area, x, y, &text::fit(&line.name, room, theme.symbols.ellipsis), style);
        pen::put_right(buf, area, target_end, y, &theme.notation.asked(target.exact, view.division), style);
        let reads = theme.notation.weight(target.shown_cumulative, view.division);
        pen::put_right(buf, area, reads_end, y, &reads, style);
        y = y.saturating_add(1);
    }
    let total = format!(
        "{} for {}",
        theme.notation.mass(targets.shown_total(), view.division),
        theme.notation.volume(targets.volume, 0)
    );
    pen::put_right(buf, area, reads_end, y, &total, theme.style(Meaning::Value));
}

/// What stands against this amount in this cup on this scale, in sentences.
fn warnings(
    view: &AmountView<'_>,
    targets: &Targets,
    width: u16,
    notation: Notation,
) -> Vec<(String, Meaning)> {
    let mut sentences: Vec<(String, Meaning)> =
        view.notes.iter().map(|note| (note.clone(), Meaning::Plain)).collect();
    if let Some(cup) = view.cups.get(view.cup) {
        if targets.volume > cup.brim {
            sentences
                .push((format!("it does not fit into cup {}: choose a larger one", cup.name), Meaning::Over));
        }
        let gross = cup.tare.unwrap_or(Grams::ZERO) + targets.mass;
        if let Some(most) = view.capacity.filter(|most| gross > *most) {
            let (gross, most) = (notation.mass(gross, view.division), notation.mass(most, view.division));
            sentences.push((
                format!("with the cup it is {gross}, and the scale weighs {most} at most"),
                Meaning::Over,
            ));
        }
    }
    let code = |line: &usize| view.recipe.lines().get(*line).map(|line| line.toner.as_str());
    let codes: Vec<&str> = view.too_small.iter().filter_map(code).collect();
    if let (false, Some(smallest)) = (codes.is_empty(), view.smallest) {
        let least = notation.weight_to(smallest, view.division.decimals());
        let verb = if codes.len() == 1 { "is" } else { "are" };
        // Rounded up: at the volume that is named it must be true.
        let from = view.smallest_volume.map(|volume| notation.volume_up(volume));
        let from = from.map(|whole| format!("; from {whole} on everything can be weighed"));
        let sentence = format!(
            "{} {verb} below {least} {}, the least this scale weighs well{}",
            codes.join(", "),
            notation.mass_unit(),
            from.unwrap_or_default()
        );
        sentences.push((sentence, Meaning::Doubt));
    }
    let lines = |(sentence, meaning): (String, Meaning)| {
        text::wrap(&sentence, width).into_iter().map(move |line| (line, meaning))
    };
    sentences.into_iter().flat_map(lines).collect()
}
