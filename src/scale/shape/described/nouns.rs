//! What stands in a line and where: the keys of a description that have a place.

use super::check::Claim;
use super::item::{At, Keys, Raw, Sheet};
use super::layout::{Mark, Sign, Steadiness, UnitPlace};
use super::load::Reader;
use super::number::{DECIMALS, Form};
use super::place::Place;
use super::problem::quoted;
use crate::units::MassUnit;

impl<'t> Reader<'t> {
    /// A place, and who has it.
    fn place(&mut self, sheet: &mut Sheet<'_>, key: &str, item: Raw<'_>) -> Option<Place> {
        let written = match item.value.as_integer() {
            Some(number) => number.to_string(),
            None => item.value.as_str().unwrap_or_default().trim().to_owned(),
        };
        let fields = self.separator.is_some();
        let place = Place::parse(&written).filter(|place| !fields || place.last == Some(place.first));
        match place {
            Some(at) => self.claims.push(Claim::new(key, at, item.offset)),
            None if fields => sheet.error(
                item.offset,
                format!("'{key}' is no place. With a 'separator' the number of a field is expected, counted from 1, like 3."),
            ),
            None => sheet.error(
                item.offset,
                format!("'{key}' is no place. Expected columns, counted from 1 behind the start mark, like \"3-10\", 3, or \"16-\" to the end."),
            ),
        }
        place
    }

    /// What is either a place alone or a part in braces with `at`.
    fn noun(
        &mut self,
        sheet: &mut Sheet<'t>,
        key: &str,
        known: &[&str],
    ) -> Option<(Place, Option<Keys<'t>>)> {
        let item = self.keys.get(key)?;
        if item.value.as_table_like().is_none() {
            return Some((self.place(sheet, key, item)?, None));
        }
        let keys = sheet.keys(key, item, known)?;
        let Some(at) = keys.get("at") else {
            sheet.error(
                item.offset,
                format!("'{key}' has no 'at'. Expected its place, like {{ at = \"3-10\" }}."),
            );
            return None;
        };
        Some((self.place(sheet, key, at)?, Some(keys)))
    }

    pub(super) fn value(&mut self, sheet: &mut Sheet<'t>) -> Option<(Place, Form)> {
        let (at, keys) = self.noun(sheet, "value", &["at", "align", "zeros", "decimals", "point"])?;
        let mut form = Form { left: false, zeros: false, point: b'.', decimals: None, unsigned: false };
        let Some(keys) = keys else { return Some((at, form)) };
        if let Some(item) = keys.get("align") {
            form.left = sheet.either("align", item, ["right", "left"])?;
        }
        form.zeros = keys.get("zeros").is_some_and(|item| sheet.yes("zeros", item));
        if let Some(item) = keys.get("decimals") {
            let decimals = sheet.number("decimals", item, 0..=i64::from(DECIMALS))?;
            form.decimals = u32::try_from(decimals).ok();
        }
        if let Some(item) = keys.get("point") {
            form.point = if sheet.either("point", item, [".", ","])? { b',' } else { b'.' };
            if form.decimals.is_some() {
                sheet.error(
                    item.offset,
                    "'decimals' says that no point is sent, and 'point' which one is. Leave one of them out.",
                );
            } else if self.separator == Some(form.point) {
                sheet.error(item.offset, "The comma cannot be both the decimal mark and the separator.");
            }
        }
        Some((at, form))
    }

    pub(super) fn sign(&mut self, sheet: &mut Sheet<'t>) -> Option<Sign> {
        let (at, keys) = self.noun(sheet, "sign", &["at", "minus", "plus"])?;
        let mut sign = Sign { at, minus: b"-".to_vec(), plus: b"+ ".to_vec() };
        if let Some(keys) = keys {
            let mut characters = |key: &str| -> Option<Vec<u8>> {
                let texts = sheet.texts(key, keys.get(key)?, "one character, or a list of such")?;
                let mut all = Vec::new();
                for At { value, offset } in texts {
                    match *value.as_bytes() {
                        [byte @ b' '..=b'~'] => all.push(byte),
                        _ => sheet
                            .error(offset, format!("'{key}' is {}. Expected one character.", quoted(&value))),
                    }
                }
                Some(all)
            };
            sign.minus = characters("minus").unwrap_or(sign.minus);
            sign.plus = characters("plus").unwrap_or(sign.plus);
            if sign.minus.iter().any(|byte| sign.plus.contains(byte)) {
                sheet.error(keys.offset, "The same character cannot mean both plus and minus.");
            }
        }
        if self.separator.is_none() && at.width() != Some(1) {
            let offset = self.keys.get("sign").map_or(0, |item| item.offset);
            sheet.error(offset, "A sign is one character. Expected one column, like sign = 1; a sign next to its digits belongs to 'value'.");
        }
        Some(sign)
    }

    pub(super) fn unit(&mut self, sheet: &mut Sheet<'t>) -> Option<UnitPlace> {
        let item = self.keys.get("unit")?;
        if let Some(text) = item.value.as_str().filter(|text| !text.starts_with(|c: char| c.is_ascii_digit()))
        {
            return symbol(sheet, text, item.offset, ", or its place, like \"12-14\"").map(UnitPlace::Fixed);
        }
        let (at, keys) = self.noun(sheet, "unit", &["at", "align"])?;
        let align = keys.and_then(|keys| keys.get("align"));
        let right = align.map_or(Some(false), |item| sheet.either("align", item, ["left", "right"]))?;
        Some(UnitPlace::At { at, right })
    }

    pub(super) fn words(&self, sheet: &mut Sheet<'t>) -> Vec<(String, MassUnit)> {
        let Some(item) = self.keys.get("units") else { return Vec::new() };
        let Some(keys) = sheet.keys("units", item, &[]) else { return Vec::new() };
        let mut words = Vec::new();
        for (word, item) in keys.all() {
            let good =
                !word.is_empty() && word.len() <= 7 && word.bytes().all(|byte| byte.is_ascii_graphic());
            if !good {
                let offset = keys.key_offset(word).unwrap_or(item.offset);
                sheet.error(
                    offset,
                    format!(
                        "{} is no word for a unit. Expected up to seven characters without a blank.",
                        quoted(word)
                    ),
                );
            }
            let Some(text) = sheet.text("units", item, "a unit, like { \"gr\" = \"g\" }") else { continue };
            words.extend(symbol(sheet, &text.value, text.offset, "").map(|unit| (word.to_owned(), unit)));
        }
        words
    }

    pub(super) fn steadiness(&mut self, sheet: &mut Sheet<'t>) -> Steadiness {
        let stable_item = self.keys.get("stable");
        let moving_item = self.keys.get("moving");
        if let Some(item) = stable_item.filter(|item| item.value.as_str() == Some("unit")) {
            if let Some(moving) = moving_item {
                sheet.error(
                    moving.offset,
                    "With stable = \"unit\" a missing unit means moving. Leave 'moving' out.",
                );
            }
            let fixed = self.keys.get("unit").and_then(|unit| unit.value.as_str());
            if fixed.is_some_and(|unit| !unit.starts_with(|c: char| c.is_ascii_digit())) {
                sheet.error(item.offset, "stable = \"unit\" needs a unit that comes and goes, and 'unit' says that it is always the same.");
            }
            return Steadiness::WhileUnit;
        }
        let stable = self.mark(sheet, "stable");
        let moving = self.mark(sheet, "moving");
        match (stable, moving, stable_item, moving_item) {
            (Some(stable), moving, ..) => Steadiness::Marks { stable, moving },
            (None, _, None, Some(item)) => {
                // Otherwise a damaged mark would count as standing still.
                sheet.error(item.offset, "There is 'moving', but no 'stable'. Expected what stands there while the scale stands still, like stable = { at = 18, is = \" \" }.");
                Steadiness::Unknown
            }
            _ => Steadiness::Unknown,
        }
    }

    pub(super) fn mark(&mut self, sheet: &mut Sheet<'t>, key: &'static str) -> Option<Mark> {
        let item = self.keys.get(key)?;
        if item.value.as_table_like().is_none() {
            let unit = if key == "stable" { ", or \"unit\"" } else { "" };
            sheet.error(
                item.offset,
                format!(
                    "'{key}' has no place. Expected where stands what, like {{ at = 1, is = \"S\" }}{unit}."
                ),
            );
            return None;
        }
        let (at, keys) = self.noun(sheet, key, &["at", "is"])?;
        let Some(is) = keys.and_then(|keys| keys.get("is")) else {
            sheet.error(
                item.offset,
                format!("'{key}' has no 'is'. Expected what stands there, like {{ at = 1, is = \"S\" }}."),
            );
            return None;
        };
        let words = sheet.texts(key, is, "what stands there; one blank, \" \", for nothing at all")?;
        for word in &words {
            if let Some(why) = self.never(at, &word.value) {
                sheet.error(word.offset, format!("'{key}' can never be {}: {why}", quoted(&word.value)));
            }
        }
        let claim = self.claims.last_mut()?;
        claim.is = words.iter().map(|word| (word.value.clone(), word.offset)).collect();
        Some(Mark { at, is: words.into_iter().map(|word| word.value.into_bytes()).collect() })
    }

    /// Why that text can never stand there.
    fn never(&self, at: Place, text: &str) -> Option<String> {
        let width = at.width().filter(|_| self.separator.is_none());
        if text.bytes().any(|byte| !matches!(byte, b' '..=b'~')) {
            return Some(
                "a line with what is no printable ASCII is refused. Expected printable characters."
                    .to_owned(),
            );
        }
        if let Some(width) = width.filter(|width| text.len() > *width) {
            return Some(format!("{at} has {width} characters, and it has {}.", text.len()));
        }
        let separator = self.separator?;
        if text.bytes().any(|byte| byte == separator) && text != " " {
            return Some("no field holds the separator.".to_owned());
        }
        (separator == b' ' && text.trim().is_empty())
            .then(|| "where blanks stand between fields, no field is blank.".to_owned())
    }

    pub(super) fn always(&mut self, sheet: &mut Sheet<'t>) -> Vec<(Place, Vec<u8>)> {
        let Some(item) = self.keys.get("always") else { return Vec::new() };
        let Some(keys) = sheet.keys("always", item, &[]) else { return Vec::new() };
        let mut always = Vec::new();
        for (key, item) in keys.all() {
            let offset = keys.key_offset(key).unwrap_or(item.offset);
            let place = Place::parse(key).filter(|place| {
                place.last.is_some() && (self.separator.is_none() || place.width() == Some(1))
            });
            let Some(at) = place else {
                sheet.error(offset, format!("{} is no place. Expected a place and what always stands there, like always = {{ 3 = \",\" }}.", quoted(key)));
                continue;
            };
            let Some(text) = sheet.text("always", item, "what always stands there") else { continue };
            let width = at.width().filter(|_| self.separator.is_none());
            if let Some(width) = width.filter(|width| *width != text.value.len()) {
                sheet.error(
                    text.offset,
                    format!(
                        "{} has {} characters, and {key} is {width} wide.",
                        quoted(&text.value),
                        text.value.len()
                    ),
                );
            } else if let Some(why) = self.never(at, &text.value) {
                sheet.error(text.offset, format!("This can never be {}: {why}", quoted(&text.value)));
            } else {
                let mut claim = Claim::new("always", at, offset);
                claim.is = vec![(text.value.clone(), text.offset)];
                self.claims.push(claim);
                always.push((at, text.value.into_bytes()));
            }
        }
        always
    }
}

/// A unit by its symbol.
fn symbol(sheet: &mut Sheet<'_>, text: &str, offset: usize, or: &str) -> Option<MassUnit> {
    // Exactly as written: `G` could be a word of the scale's for anything.
    let unit = MassUnit::ALL.into_iter().find(|unit| unit.symbol() == text);
    if unit.is_none() {
        // No nearest one is named: of `gram`, that would be the grain.
        let symbols = MassUnit::ALL.map(MassUnit::symbol).join(", ");
        sheet.error(offset, format!("{} is no unit. Expected one of {symbols}{or}.", quoted(text)));
    }
    unit
}
