//! A description's text, read key by key.

use super::check::{self, Claim, Draft};
use super::item::{At, Keys, Raw, Sheet};
use super::layout::{Layout, Mark, Sign, Steadiness, UnitPlace};
use super::number::{DECIMALS, Form};
use super::place::{LONGEST, Place};
use super::problem::quoted;
use super::{Described, DescriptionError, Framed, notation};
use crate::scale::Condition;
use crate::scale::address::parse_frame;
use crate::scale::shape::{self, Ask, UsualLine};
use crate::units::MassUnit;
use std::sync::Arc;

/// Every key of a description, in the order in which they are best written.
const KEYS: [&str; 21] = [
    "name",
    "baud",
    "line",
    "start",
    "end",
    "length",
    "separator",
    "value",
    "sign",
    "unit",
    "units",
    "stable",
    "moving",
    "gross",
    "net",
    "overload",
    "underload",
    "not_ready",
    "always",
    "commands",
    "example",
];

const COMMANDS: [(&str, Ask); 8] = [
    ("poll", Ask::Now),
    ("poll_stable", Ask::WhenStable),
    ("repeat", Ask::Repeat),
    ("stop", Ask::Stop),
    ("zero", Ask::Zero),
    ("tare", Ask::Tare),
    ("clear_tare", Ask::ClearTare),
    ("next_unit", Ask::NextUnit),
];

/// Reads a description.
///
/// # Errors
/// Everything that is wrong with it.
pub(super) fn read(address: &str, file: &str, text: &str) -> Result<Described, DescriptionError> {
    let mut sheet = Sheet::new(file, text);
    let document = match toml_edit::Document::parse(text) {
        Ok(document) => document,
        Err(error) => {
            let offset = error.span().map_or(text.len(), |span| span.start);
            sheet.error(offset, format!("This cannot be read as TOML: {}.", error.message()));
            return Err(DescriptionError::Mistakes(sheet.into_problems()));
        }
    };
    let mut reader = Reader { keys: Keys::of_file(document.as_table()), separator: None, claims: Vec::new() };
    let described = reader.description(&mut sheet, file, text);
    match described {
        Some(described) if !sheet.has_errors() => {
            let remarks = sheet.into_problems().iter().map(ToString::to_string).collect();
            Ok(Described { remarks, address: address.to_owned(), ..described })
        }
        _ => Err(DescriptionError::Mistakes(sheet.into_problems())),
    }
}

struct Reader<'t> {
    keys: Keys<'t>,
    separator: Option<u8>,
    /// Who has which place.
    claims: Vec<Claim>,
}

impl<'t> Reader<'t> {
    fn description(&mut self, sheet: &mut Sheet<'t>, file: &str, text: &str) -> Option<Described> {
        self.keys.only(sheet, &KEYS);
        let name = self.name(sheet);
        let line = self.line(sheet);
        let start = self.mark_bytes(sheet, "start");
        let end = self.mark_bytes(sheet, "end");
        let lengths = self.lengths(sheet);
        self.separator = self.separator(sheet);
        let value = self.value(sheet);
        let sign = self.sign(sheet);
        let unit = self.unit(sheet);
        let words = self.words(sheet);
        let steadiness = self.steadiness(sheet);
        let gross = self.mark(sheet, "gross");
        let net = self.mark(sheet, "net");
        let instead = [
            ("overload", Condition::Over),
            ("underload", Condition::Under),
            ("not_ready", Condition::NotReady),
        ];
        let instead = instead
            .into_iter()
            .filter_map(|(key, condition)| Some((condition, self.mark(sheet, key)?)))
            .collect();
        let always = self.always(sheet);
        let commands = self.commands(sheet);
        let examples = self
            .keys
            .get("example")
            .and_then(|item| sheet.texts("example", item, "a line as the scale sends it, without its marks"));

        let value_at = self.keys.get("value").map_or(0, |item| item.offset);
        if value.is_none() && self.keys.get("value").is_none() {
            sheet.error(
                0,
                "There is no 'value'. Expected where in the line the number stands, like value = \"3-10\".",
            );
        }
        if unit.is_none() && self.keys.get("unit").is_none() {
            sheet.error(0, "There is no 'unit'. Expected its place, like unit = \"12-14\", or what it always is, like unit = \"g\".");
        }
        let draft = Draft {
            start: start.as_ref(),
            end: end.as_ref(),
            lengths: lengths.as_ref(),
            separator: self.separator,
            claims: &self.claims,
            commands: &commands,
        };
        check::check(sheet, self.keys, &draft);
        if self.keys.get("stable").is_none() && self.keys.get("moving").is_none() {
            sheet.warning(
                value_at,
                "Nothing says whether the scale stands still. Its weights count only after a second of equal readings; if the manual has a mark for it, add 'stable'.",
            );
        }
        let ((at, form), unit) = (value?, unit?);
        let layout = Layout {
            separator: self.separator,
            lengths: lengths.map(|lengths| lengths.value).unwrap_or_default(),
            value: (at, Form { unsigned: sign.is_some(), ..form }),
            sign,
            unit,
            words,
            steadiness,
            gross,
            net,
            instead,
            always,
        };
        check::examples(sheet, &layout, &examples.unwrap_or_default());
        Some(Described {
            looks_like: format!("the format that {file} describes"),
            name: name?,
            line,
            frame: Arc::new(Framed {
                start: start.map(|at| at.value).unwrap_or_default(),
                end: end.map(|at| at.value).unwrap_or_default(),
                layout,
            }),
            commands: commands.into_iter().map(|(_, ask, bytes)| (ask, bytes.value)).collect(),
            remarks: Vec::new(),
            address: String::new(),
            text: text.to_owned(),
        })
    }

    fn name(&self, sheet: &mut Sheet<'_>) -> Option<String> {
        const EXPECTED: &str = "small letters, digits and hyphens, like name = \"bench-scale\"";
        let Some(item) = self.keys.get("name") else {
            sheet.error(0, format!("There is no 'name'. Expected {EXPECTED}."));
            return None;
        };
        let At { value: name, offset } = sheet.text("name", item, EXPECTED)?;
        let plain = |byte: u8| matches!(byte, b'a'..=b'z' | b'0'..=b'9' | b'-');
        if !name.bytes().all(plain) || name.len() > 40 {
            sheet.error(offset, format!("{} is no name. Expected {EXPECTED}.", quoted(&name)));
            return None;
        }
        if shape::by_name(&name).is_some() || name == shape::Bytes::NAME {
            sheet.error(
                offset,
                format!("{} is the name of a format that is built in. Choose another.", quoted(&name)),
            );
            return None;
        }
        Some(name)
    }

    /// 9600 8N1 is what most scales are delivered with (common practice, no source).
    fn line(&self, sheet: &mut Sheet<'_>) -> UsualLine {
        let baud = self.keys.get("baud").and_then(|item| sheet.number("baud", item, 50..=4_000_000));
        let baud = baud.and_then(|baud| u32::try_from(baud).ok()).unwrap_or(9600);
        let usual = UsualLine { baud, data_bits: 8, parity: 'N', stop_bits: 1 };
        const EXPECTED: &str = "data bits, parity and stop bits, like \"8N1\" or \"7E1\"";
        let Some(item) = self.keys.get("line") else { return usual };
        let Some(At { value: text, offset }) = sheet.text("line", item, EXPECTED) else { return usual };
        parse_frame(&text, baud).unwrap_or_else(|| {
            sheet.error(offset, format!("{} is no line setting. Expected {EXPECTED}.", quoted(&text)));
            usual
        })
    }

    fn mark_bytes(&self, sheet: &mut Sheet<'_>, key: &str) -> Option<At<Vec<u8>>> {
        const EXPECTED: &str = "control characters, like \"CR LF\", \"ETX\" or \"0d 0a\"";
        let item = self.keys.get(key)?;
        let At { value: text, offset } = sheet.text(key, item, EXPECTED)?;
        match notation::mark(&text) {
            Ok(bytes) if bytes.is_empty() || bytes.len() > 8 => {
                sheet.error(offset, format!("'{key}' has {} characters. Expected {EXPECTED}.", bytes.len()));
            }
            Ok(bytes) => return Some(At { value: bytes, offset }),
            Err(why) => sheet.error(offset, why),
        }
        None
    }

    fn lengths(&self, sheet: &mut Sheet<'_>) -> Option<At<Vec<usize>>> {
        let item = self.keys.get("length")?;
        let most = i64::try_from(LONGEST).unwrap_or(i64::MAX);
        let length = |number: Option<i64>| number.and_then(|number| usize::try_from(number).ok());
        let mut lengths = Vec::new();
        if let Some(list) = item.value.as_array() {
            for value in list {
                let number = length(value.as_integer().filter(|number| (1..=most).contains(number)));
                let offset = value.span().map_or(item.offset, |span| span.start);
                if number.is_none() {
                    sheet.error(
                        offset,
                        format!(
                            "This is no length. Expected characters without the marks, from 1 to {LONGEST}."
                        ),
                    );
                }
                lengths.extend(number);
            }
        } else {
            lengths.extend(length(sheet.number("length", item, 1..=most)));
        }
        lengths.sort_unstable();
        lengths.dedup();
        (!lengths.is_empty()).then_some(At { value: lengths, offset: item.offset })
    }

    fn separator(&self, sheet: &mut Sheet<'_>) -> Option<u8> {
        const EXPECTED: &str = "one character that no number and no unit has, like \",\" or \"TAB\"";
        let item = self.keys.get("separator")?;
        let At { value: text, offset } = sheet.text("separator", item, EXPECTED)?;
        let byte = match *text.as_bytes() {
            [byte] => Some(byte),
            _ => notation::mark(&text)
                .ok()
                .filter(|bytes| bytes.len() == 1)
                .and_then(|bytes| bytes.first().copied()),
        };
        let good = |byte: &u8| {
            !byte.is_ascii_alphanumeric() && !matches!(byte, b'.' | b'+' | b'-') && byte.is_ascii()
        };
        let byte = byte.filter(good);
        if byte.is_none() {
            sheet.error(
                offset,
                format!("{} cannot stand between fields. Expected {EXPECTED}.", quoted(&text)),
            );
        }
        byte
    }

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

    fn value(&mut self, sheet: &mut Sheet<'t>) -> Option<(Place, Form)> {
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

    fn sign(&mut self, sheet: &mut Sheet<'t>) -> Option<Sign> {
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

    fn unit(&mut self, sheet: &mut Sheet<'t>) -> Option<UnitPlace> {
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

    fn words(&self, sheet: &mut Sheet<'t>) -> Vec<(String, MassUnit)> {
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

    fn steadiness(&mut self, sheet: &mut Sheet<'t>) -> Steadiness {
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

    fn mark(&mut self, sheet: &mut Sheet<'t>, key: &'static str) -> Option<Mark> {
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

    fn always(&mut self, sheet: &mut Sheet<'t>) -> Vec<(Place, Vec<u8>)> {
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

    fn commands(&self, sheet: &mut Sheet<'t>) -> Vec<(&'static str, Ask, At<Vec<u8>>)> {
        const EXPECTED: &str = "what is sent, like \"W<CR>\"";
        let Some(item) = self.keys.get("commands") else { return Vec::new() };
        let Some(keys) = sheet.keys("commands", item, &COMMANDS.map(|(key, _)| key)) else {
            return Vec::new();
        };
        let mut commands = Vec::new();
        for (key, ask) in COMMANDS {
            let Some(text) = keys.get(key).and_then(|item| sheet.text(key, item, EXPECTED)) else { continue };
            match notation::command(&text.value) {
                Ok(bytes) if bytes.len() > 60 => {
                    sheet.error(
                        text.offset,
                        format!("'{key}' has {} characters, more than any command.", bytes.len()),
                    );
                }
                Ok(bytes) => commands.push((key, ask, At { value: bytes, offset: text.offset })),
                Err(why) => sheet.error(text.offset, why),
            }
        }
        commands
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
