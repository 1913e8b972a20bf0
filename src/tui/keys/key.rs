//! A key as people write it: `Enter`, `n`, `Ctrl-C`.

use crate::tui::theme::Symbols;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// A key, with what is held beside it. Capitals do not count: a caps lock must not stop the work, and gloves
/// find no Shift.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Key {
    code: KeyCode,
    ctrl: bool,
    alt: bool,
}

impl Key {
    /// A key on its own.
    pub const fn plain(code: KeyCode) -> Self {
        Self { code, ctrl: false, alt: false }
    }

    /// A character on its own.
    pub const fn char(c: char) -> Self {
        Self::plain(KeyCode::Char(c.to_ascii_lowercase()))
    }

    /// A character with Ctrl held.
    pub const fn ctrl(c: char) -> Self {
        Self { code: KeyCode::Char(c.to_ascii_lowercase()), ctrl: true, alt: false }
    }

    /// The key of a terminal's event.
    pub fn of(event: &KeyEvent) -> Self {
        let code = match event.code {
            KeyCode::Char(c) => KeyCode::Char(c.to_lowercase().next().unwrap_or(c)),
            code => code,
        };
        Self {
            code,
            ctrl: event.modifiers.contains(KeyModifiers::CONTROL),
            alt: event.modifiers.contains(KeyModifiers::ALT),
        }
    }

    /// Reads `Enter`, `n`, `Ctrl-C`, `F1`, in whatever case.
    pub fn parse(text: &str) -> Option<Self> {
        let mut rest = text.trim();
        let (mut ctrl, mut alt) = (false, false);
        loop {
            let lower = rest.to_ascii_lowercase();
            let (held, length) = if lower.starts_with("ctrl-") {
                (&mut ctrl, 5)
            } else if lower.starts_with("alt-") {
                (&mut alt, 4)
            } else {
                break;
            };
            *held = true;
            rest = rest.get(length..)?;
        }
        Some(Self { code: code(rest)?, ctrl, alt })
    }

    /// The keys that have a name.
    pub(super) fn names() -> impl Iterator<Item = &'static str> {
        NAMED.iter().map(|(name, _)| *name)
    }

    /// Whether it would be typed as text.
    pub const fn is_text(self) -> bool {
        matches!(self.code, KeyCode::Char(_)) && !self.ctrl && !self.alt
    }

    /// The key as people write it; arrows as the signs on them.
    pub fn show(self, symbols: &Symbols) -> String {
        let [up, down, left, right] = symbols.arrows;
        let name = match self.code {
            KeyCode::Char(' ') => "Space".to_owned(),
            KeyCode::Char(c) if self.ctrl => c.to_uppercase().to_string(),
            KeyCode::Char(c) => c.to_string(),
            KeyCode::F(number) => format!("F{number}"),
            KeyCode::Up => up.to_owned(),
            KeyCode::Down => down.to_owned(),
            KeyCode::Left => left.to_owned(),
            KeyCode::Right => right.to_owned(),
            code => NAMED.iter().find(|(_, named)| *named == code).map_or("?", |(name, _)| name).to_owned(),
        };
        let ctrl = if self.ctrl { "Ctrl-" } else { "" };
        let alt = if self.alt { "Alt-" } else { "" };
        format!("{ctrl}{alt}{name}")
    }
}

const NAMED: [(&str, KeyCode); 16] = [
    ("Enter", KeyCode::Enter),
    ("Esc", KeyCode::Esc),
    ("Tab", KeyCode::Tab),
    ("Backspace", KeyCode::Backspace),
    ("Delete", KeyCode::Delete),
    ("Insert", KeyCode::Insert),
    ("Home", KeyCode::Home),
    ("End", KeyCode::End),
    ("PgUp", KeyCode::PageUp),
    ("PgDn", KeyCode::PageDown),
    ("Up", KeyCode::Up),
    ("Down", KeyCode::Down),
    ("Left", KeyCode::Left),
    ("Right", KeyCode::Right),
    ("Space", KeyCode::Char(' ')),
    ("Shift-Tab", KeyCode::BackTab),
];

fn code(name: &str) -> Option<KeyCode> {
    if let Some((_, code)) = NAMED.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)) {
        return Some(*code);
    }
    let mut letters = name.chars();
    if let (Some(only), None) = (letters.next(), letters.next()) {
        return Some(KeyCode::Char(only.to_lowercase().next().unwrap_or(only)));
    }
    let number = name.strip_prefix(['F', 'f'])?.parse().ok()?;
    (1..=24).contains(&number).then_some(KeyCode::F(number))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn read_and_shown() {
        for text in ["Enter", "n", "Ctrl-C", "F1", "?", "PgDn", "Space", "+", "-", "Alt-x", "Shift-Tab", "é"]
        {
            let key = Key::parse(text).unwrap();
            assert_eq!(key.show(Symbols::UNICODE), text);
        }
        assert_eq!(Key::parse("up").unwrap().show(Symbols::UNICODE), "↑");
        assert_eq!(Key::parse("up").unwrap().show(Symbols::ASCII), "Up");
        for text in ["", "Entre", "F0", "F99", "Ctrl-", "nn"] {
            assert_eq!(Key::parse(text), None, "{text}");
        }
    }

    #[test]
    fn capitals_do_not_count() {
        let shifted = KeyEvent::new(KeyCode::Char('W'), KeyModifiers::SHIFT);
        assert_eq!(Key::of(&shifted), Key::char('w'));
        assert_eq!(Key::parse("W"), Some(Key::char('w')));
        // Some layouts reach the sign with Shift, some without.
        assert_eq!(Key::of(&KeyEvent::new(KeyCode::Char('?'), KeyModifiers::SHIFT)), Key::char('?'));
    }
}
