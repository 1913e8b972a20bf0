//! Rows and layers put in, taken out and moved, each with the comments that stand by it.

use super::fresh::{inline_layer, layer as fresh_layer, part as fresh_part, quoted};
use super::layout::{LayerPlace, Layout};
use super::{Edits, Unwritable, layer_pairs, line_end, pairs};
use crate::catalogue::code::fold;
use crate::catalogue::{Colour, Layer, Part, Word};
use std::ops::Range;

/// The text with the rows of that layer in the colour's order; its values are right already.
pub(super) fn rows(text: &str, colour: &Colour, layer: usize) -> Result<String, Unwritable> {
    let layout = Layout::of(text)?;
    let Some(layer) = colour.layers.get(layer) else { return Ok(text.to_owned()) };
    // One that is not there comes with its rows.
    let Some(place) = layout.layers.iter().find(|place| place.role.says == layer.role.word()) else {
        return Ok(text.to_owned());
    };
    let toners: Vec<_> = layer.pours.iter().map(|part| fold(part.toner.as_str())).collect();
    if place.toners() == toners {
        return Ok(text.to_owned());
    }
    let order = pairs(&place.toners(), &toners);
    let mut edits = Edits::default();
    if let Some(list) = &place.list {
        let spans: Vec<_> = place.rows.iter().map(|row| row.span.clone()).collect();
        let new: Vec<_> = layer.pours.iter().map(fresh_part).collect();
        edits.replace(list.clone(), listed(text, list, &spans, &order, &new)?);
    } else {
        tables(text, &layout, place, layer, &order, &mut edits)?;
    }
    Ok(edits.apply(text))
}

fn tables(
    text: &str,
    layout: &Layout,
    place: &LayerPlace,
    layer: &Layer,
    order: &[Option<usize>],
    edits: &mut Edits,
) -> Result<(), Unwritable> {
    let starts: Vec<_> = place.rows.iter().map(|row| row.span.start).collect();
    let headings = layout.headings();
    let last = starts.last().copied().ok_or(Unwritable::Layout)?;
    let end = headings.iter().copied().find(|at| *at > last).map_or(text.len(), |at| with_comments(text, at));
    let end_of_line = line_end(text);
    let new = |part: &Part| {
        let (toner, parts) = (quoted(part.toner.as_str()), quoted(&part.parts.to_string()));
        format!("[[layer.pours]]{end_of_line}toner = {toner}{end_of_line}parts = {parts}{end_of_line}")
    };
    let new: Vec<_> = layer.pours.iter().map(new).collect();
    let (range, with) = sections(text, &starts, end, order, &new)?;
    edits.replace(range, with);
    Ok(())
}

/// The text with the colour's layers in its order; their rows are right already.
pub(super) fn layers(text: &str, colour: &Colour, before: &Colour) -> Result<String, Unwritable> {
    let layout = Layout::of(text)?;
    let roles: Vec<_> = colour.layers.iter().map(|layer| layer.role.word().to_owned()).collect();
    if layout.roles() == roles {
        return Ok(text.to_owned());
    }
    let order = layer_pairs(&layout.roles(), colour, before);
    let mut edits = Edits::default();
    if let Some(list) = &layout.list {
        let spans: Vec<_> = layout.layers.iter().map(|layer| layer.span.clone()).collect();
        let new: Vec<_> = colour.layers.iter().map(inline_layer).collect();
        edits.replace(list.clone(), listed(text, list, &spans, &order, &new)?);
    } else {
        let starts: Vec<_> = layout.layers.iter().map(|layer| layer.span.start).collect();
        let end = line_end(text);
        let new: Vec<_> = colour.layers.iter().map(|layer| fresh_layer(layer, end)).collect();
        let (range, with) = sections(text, &starts, text.len(), &order, &new)?;
        edits.replace(range, with);
    }
    Ok(edits.apply(text))
}

/// A list `[ .. ]` with its entries in another order. Of the new ones `new` has the text, in the new order.
fn listed(
    text: &str,
    list: &Range<usize>,
    spans: &[Range<usize>],
    order: &[Option<usize>],
    new: &[String],
) -> Result<String, Unwritable> {
    let piece = |range: Range<usize>| text.get(range).ok_or(Unwritable::Layout);
    let (first, last) = match spans {
        [first, .., last] => (first, last),
        [only] => (only, only),
        [] => return Err(Unwritable::Layout),
    };
    let mut gaps: Vec<&str> = vec![piece(list.start..first.start)?];
    for pair in spans.windows(2) {
        if let [one, next] = pair {
            gaps.push(piece(one.end..next.start)?);
        }
    }
    gaps.push(piece(last.end..list.end)?);
    if gaps.iter().all(|gap| gap.contains('\n')) {
        return one_a_line(text, list, spans, order, new);
    }
    if gaps.iter().any(|gap| gap.contains('#')) {
        return Err(Unwritable::Layout);
    }
    let between = if spans.len() > 1 { gaps.get(1).copied().unwrap_or(", ") } else { ", " };
    let mut entries = Vec::new();
    for (old, new) in order.iter().zip(new) {
        let old = old.and_then(|at| spans.get(at));
        entries.push(match old {
            Some(span) => piece(span.clone())?,
            None => new,
        });
    }
    let open = gaps.first().copied().unwrap_or("[");
    let close = gaps.last().copied().unwrap_or("]");
    Ok(format!("{open}{}{close}", entries.join(between)))
}

/// As [`listed`], where each entry has a line of its own: the line goes with it, and the comments above it.
fn one_a_line(
    text: &str,
    list: &Range<usize>,
    spans: &[Range<usize>],
    order: &[Option<usize>],
    new: &[String],
) -> Result<String, Unwritable> {
    let piece = |range: Range<usize>| text.get(range).ok_or(Unwritable::Layout);
    let end_of_line = |at: usize| {
        let after = piece(at..list.end)?;
        after.find('\n').map(|end| at + end + 1).ok_or(Unwritable::Layout)
    };
    let mut from = end_of_line(list.start)?;
    let head = piece(list.start..from)?;
    let mut lines: Vec<(&str, &str)> = Vec::new();
    for span in spans {
        let end = end_of_line(span.end)?;
        lines.push((piece(from..span.end)?, piece(span.end..end)?));
        from = end;
    }
    let first = spans.first().ok_or(Unwritable::Layout)?;
    let line_start = piece(0..first.start)?.rfind('\n').map_or(0, |end| end + 1);
    let indent = piece(line_start..first.start)?;
    let end = line_end(text);
    let mut arranged = head.to_owned();
    for (at, (old, new)) in order.iter().zip(new).enumerate() {
        match old.and_then(|old| lines.get(old)) {
            Some((entry, rest)) => {
                arranged.push_str(entry);
                let ends_the_list = at + 1 == order.len();
                if !rest.trim_start().starts_with(',') && !ends_the_list {
                    arranged.push(',');
                }
                arranged.push_str(rest);
            }
            None => arranged.extend([indent, new, ",", end]),
        }
    }
    arranged.push_str(piece(from..list.end)?);
    Ok(arranged)
}

/// Tables that each begin with a heading, in another order: where they stand, and what is to stand there.
fn sections(
    text: &str,
    starts: &[usize],
    end: usize,
    order: &[Option<usize>],
    new: &[String],
) -> Result<(Range<usize>, String), Unwritable> {
    if !starts.is_sorted() {
        return Err(Unwritable::Layout);
    }
    let mut bounds: Vec<_> = starts.iter().map(|at| with_comments(text, *at)).collect();
    let first = bounds.first().copied().ok_or(Unwritable::Layout)?;
    bounds.push(end);
    let old: Vec<&str> =
        bounds.windows(2).filter_map(|pair| text.get(*pair.first()?..*pair.last()?)).collect();
    let blank = old.first().is_some_and(|section| {
        old.len() == 1 || section.trim_end_matches([' ', '\t']).ends_with(&line_end(text).repeat(2))
    });
    let line_end = line_end(text);
    // Blank lines at the end stay at the end.
    let tail = old.last().map_or("", |section| section.get(section.trim_end().len()..).unwrap_or_default());
    let mut sections = Vec::new();
    for (old_at, new) in order.iter().zip(new) {
        let section = old_at.and_then(|at| old.get(at).copied()).unwrap_or(new);
        let middle = if blank { line_end.repeat(2) } else { line_end.to_owned() };
        // A section that stays between two others keeps the blank lines below it.
        let kept = old_at.filter(|at| at + 1 < old.len()).and(Some(section));
        let kept = kept.map(|section| section.get(section.trim_end().len()..).unwrap_or_default());
        sections.push((section.trim_end(), kept.map_or(middle, str::to_owned)));
    }
    let last = sections.len().saturating_sub(1);
    let mut arranged = String::new();
    for (at, (section, below)) in sections.iter().enumerate() {
        arranged.push_str(section);
        arranged.push_str(if at == last {
            if tail.is_empty() && end == text.len() { "" } else { tail }
        } else {
            below
        });
    }
    Ok((first..end, arranged))
}

/// The start of the line at `at`, or of the comments right above it.
fn with_comments(text: &str, at: usize) -> usize {
    let line_start =
        |at: usize| text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
    let mut start = line_start(at);
    while start > 0 {
        let above = line_start(start - 1);
        if !text.get(above..start).is_some_and(|line| line.trim_start().starts_with('#')) {
            break;
        }
        start = above;
    }
    start
}
