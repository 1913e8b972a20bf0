//! A description's text, read key by key.

use super::check::{self, Claim, Draft};
use super::item::{At, Keys, Sheet};
use super::layout::Layout;
use super::number::Form;
use super::place::LONGEST;
use super::problem::quoted;
use super::{Described, DescriptionError, Framed, notation};
use crate::scale::Condition;
use crate::scale::address::parse_frame;
use crate::scale::shape::{self, Ask, UsualLine};
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

pub(super) struct Reader<'t> {
    pub(super) keys: Keys<'t>,
    pub(super) separator: Option<u8>,
    /// Who has which place.
    pub(super) claims: Vec<Claim>,
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
        // Under another mistake an example would only be a second one.
        if !sheet.has_errors() {
            check::examples(sheet, &layout, &examples.unwrap_or_default());
        }
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
        const EXPECTED: &str = "data bits, parity and stop bits, like \"8N1\" or \"7E1\"";
        let baud = self.keys.get("baud").and_then(|item| sheet.number("baud", item, 50..=4_000_000));
        let baud = baud.and_then(|baud| u32::try_from(baud).ok()).unwrap_or(9600);
        let usual = UsualLine { baud, data_bits: 8, parity: 'N', stop_bits: 1 };
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
