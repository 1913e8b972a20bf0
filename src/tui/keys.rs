//! Keys as data: which key does what where. The bottom line and the help are made from the same table that
//! finds the action, so they cannot say anything else.

mod action;
mod key;

pub use action::{Action, Context};
pub use key::Key;

use super::theme::Symbols;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind};
use thiserror::Error;

/// One key for one action in one context.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Binding {
    /// Where.
    pub context: Context,
    /// What it does.
    pub action: Action,
    /// The key.
    pub key: Key,
}

/// Every key that does something.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bindings {
    table: Vec<Binding>,
}

/// A key and what it does, to be shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hint {
    /// The key, or several with one word between them: `↑↓`, `1-4`.
    pub keys: String,
    /// A word or two.
    pub label: &'static str,
    /// A sentence.
    pub sentence: &'static str,
    /// What it does.
    pub action: Action,
}

/// Why a key cannot be bound so.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum BindingError {
    /// It does something else there.
    #[error("key {key} is already '{other}' in '{context}': choose another key for '{action}'")]
    Taken {
        /// The key.
        key: String,
        /// Where.
        context: &'static str,
        /// What it does already.
        other: &'static str,
        /// What it was to do.
        action: &'static str,
    },
    /// It is text there.
    #[error("key {key} is typed as text in '{context}': choose one with Ctrl, or a function key")]
    Text {
        /// The key.
        key: String,
        /// Where.
        context: &'static str,
    },
}

/// The defaults, the most needed first. No key needs `AltGr` on any common layout; at the bench every action
/// but a few has a key on the numeric keypad, to be found with one gloved hand.
const DEFAULTS: &[(Context, Action, &[Key])] = {
    use Action as A;
    use Context as C;
    const ENTER: Key = Key::plain(KeyCode::Enter);
    const ESC: Key = Key::plain(KeyCode::Esc);
    const TAB: Key = Key::plain(KeyCode::Tab);
    const UP: Key = Key::plain(KeyCode::Up);
    const DOWN: Key = Key::plain(KeyCode::Down);
    const LEFT: Key = Key::plain(KeyCode::Left);
    const RIGHT: Key = Key::plain(KeyCode::Right);
    const PAGE_UP: Key = Key::plain(KeyCode::PageUp);
    const PAGE_DOWN: Key = Key::plain(KeyCode::PageDown);
    const F1: Key = Key::plain(KeyCode::F(1));
    const fn c(c: char) -> Key {
        Key::char(c)
    }
    &[
        (C::Bench, A::Take, &[ENTER]),
        (C::Bench, A::NextTin, &[c('n'), c('+')]),
        (C::Bench, A::WrongToner, &[c('w'), c('-')]),
        (C::Bench, A::TypeWeight, &[c('m'), c('*')]),
        (C::Bench, A::HandsFree, &[c('h'), c('0')]),
        (C::Bench, A::Ways, &[c('o'), c('/')]),
        (C::Bench, A::SetAside, &[ESC]),
        (C::Bench, A::TipMore, &[RIGHT]),
        (C::Bench, A::TipLess, &[LEFT]),
        (C::Bench, A::Upright, &[DOWN, c('u')]),
        (C::Bench, A::LiftCup, &[c('c')]),
        (C::Bench, A::SpoonOut, &[c('s')]),
        (C::Bench, A::FullTin, &[c('t')]),
        (C::Bench, A::JumpToToner, &[c('j')]),
        (C::Bench, A::Order, &[c('r')]),
        (C::Bench, A::TakenOut, &[c('d')]),
        (C::Bench, A::Abandon, &[c('x')]),
        (C::Ways, A::Accept, &[ENTER]),
        (C::Ways, A::Choose1, &[c('1')]),
        (C::Ways, A::Choose2, &[c('2')]),
        (C::Ways, A::Choose3, &[c('3')]),
        (C::Ways, A::Choose4, &[c('4')]),
        (C::Ways, A::Choose5, &[c('5')]),
        (C::Ways, A::Choose6, &[c('6')]),
        (C::Ways, A::Up, &[UP]),
        (C::Ways, A::Down, &[DOWN]),
        (C::Ways, A::TakenOut, &[c('d')]),
        (C::Ways, A::SetAside, &[ESC]),
        (C::Ways, A::TipMore, &[RIGHT]),
        (C::Ways, A::TipLess, &[LEFT]),
        (C::Ways, A::Upright, &[c('u')]),
        (C::Ways, A::LiftCup, &[c('c')]),
        (C::Ways, A::SpoonOut, &[c('s')]),
        (C::Ways, A::Abandon, &[c('x')]),
        (C::Drawing, A::Take, &[ENTER]),
        (C::Drawing, A::TypeWeight, &[c('m'), c('*')]),
        (C::Drawing, A::HandsFree, &[c('h'), c('0')]),
        (C::Drawing, A::SetAside, &[ESC]),
        (C::Drawing, A::SpoonOut, &[c('s'), RIGHT]),
        (C::Drawing, A::Upright, &[DOWN, c('u')]),
        (C::Drawing, A::LiftCup, &[c('c')]),
        (C::Drawing, A::Abandon, &[c('x')]),
        (C::Complete, A::Finish, &[ENTER]),
        (C::Complete, A::WrongToner, &[c('w'), c('-')]),
        (C::Complete, A::TakenOut, &[c('d')]),
        (C::Complete, A::SetAside, &[ESC]),
        (C::Complete, A::Upright, &[DOWN, c('u')]),
        (C::Complete, A::LiftCup, &[c('c')]),
        (C::Complete, A::SpoonOut, &[c('s')]),
        (C::Complete, A::Abandon, &[c('x')]),
        (C::Colours, A::Accept, &[ENTER]),
        (C::Colours, A::Up, &[UP]),
        (C::Colours, A::Down, &[DOWN]),
        (C::Colours, A::Previous, &[LEFT]),
        (C::Colours, A::Next, &[RIGHT]),
        (C::Colours, A::Back, &[ESC]),
        (C::Colours, A::Unfinished, &[Key::ctrl('o')]),
        (C::Colours, A::PageUp, &[PAGE_UP]),
        (C::Colours, A::PageDown, &[PAGE_DOWN]),
        (C::Colours, A::EraseBack, &[Key::plain(KeyCode::Backspace)]),
        (C::Colours, A::EraseAll, &[Key::ctrl('u')]),
        (C::Amount, A::Accept, &[ENTER]),
        (C::Amount, A::Up, &[UP]),
        (C::Amount, A::Down, &[DOWN]),
        (C::Amount, A::Order, &[TAB]),
        (C::Amount, A::Back, &[ESC]),
        (C::Amount, A::EraseBack, &[Key::plain(KeyCode::Backspace)]),
        (C::Amount, A::EraseForward, &[Key::plain(KeyCode::Delete)]),
        (C::Amount, A::EraseAll, &[Key::ctrl('u')]),
        (C::Amount, A::CursorLeft, &[LEFT]),
        (C::Amount, A::CursorRight, &[RIGHT]),
        (C::Amount, A::CursorStart, &[Key::plain(KeyCode::Home)]),
        (C::Amount, A::CursorEnd, &[Key::plain(KeyCode::End)]),
        (C::Unfinished, A::Accept, &[ENTER]),
        (C::Unfinished, A::Up, &[UP]),
        (C::Unfinished, A::Down, &[DOWN]),
        (C::Unfinished, A::Abandon, &[c('x')]),
        (C::Unfinished, A::Colours, &[c('n'), c('+')]),
        (C::Unfinished, A::Back, &[ESC]),
        (C::Unfinished, A::PageUp, &[PAGE_UP]),
        (C::Unfinished, A::PageDown, &[PAGE_DOWN]),
        (C::TakingUp, A::Accept, &[ENTER]),
        (C::TakingUp, A::NewZero, &[c('z')]),
        (C::TakingUp, A::Abandon, &[c('x')]),
        (C::TakingUp, A::Back, &[ESC]),
        // It takes nothing there, and says why.
        (C::CupOff, A::Take, &[ENTER]),
        (C::CupOff, A::TypeWeight, &[c('m'), c('*')]),
        (C::CupOff, A::NewZero, &[c('z'), c('/')]),
        (C::CupOff, A::NextTin, &[c('n'), c('+')]),
        (C::CupOff, A::HandsFree, &[c('h'), c('0')]),
        (C::CupOff, A::SetAside, &[ESC]),
        (C::CupOff, A::TipLess, &[LEFT]),
        (C::CupOff, A::Upright, &[DOWN, c('u')]),
        (C::CupOff, A::LiftCup, &[c('c')]),
        (C::CupOff, A::SpoonOut, &[c('s')]),
        (C::CupOff, A::FullTin, &[c('t')]),
        (C::CupOff, A::Abandon, &[c('x')]),
        (C::CupBack, A::Accept, &[ENTER]),
        (C::CupBack, A::Choose1, &[c('1')]),
        (C::CupBack, A::Choose2, &[c('2')]),
        (C::CupBack, A::Choose3, &[c('3')]),
        (C::CupBack, A::Choose4, &[c('4')]),
        (C::CupBack, A::Up, &[UP]),
        (C::CupBack, A::Down, &[DOWN]),
        (C::CupBack, A::SetAside, &[ESC]),
        (C::CupBack, A::LiftCup, &[c('c')]),
        (C::CupBack, A::Upright, &[c('u')]),
        (C::CupBack, A::SpoonOut, &[c('s')]),
        (C::CupBack, A::Abandon, &[c('x')]),
        (C::Prompt, A::Accept, &[ENTER]),
        (C::Prompt, A::Back, &[ESC]),
        (C::Prompt, A::Up, &[UP]),
        (C::Prompt, A::Down, &[DOWN]),
        (C::Prompt, A::EraseBack, &[Key::plain(KeyCode::Backspace)]),
        (C::Prompt, A::EraseForward, &[Key::plain(KeyCode::Delete)]),
        (C::Prompt, A::EraseAll, &[Key::ctrl('u')]),
        (C::Prompt, A::CursorLeft, &[LEFT]),
        (C::Prompt, A::CursorRight, &[RIGHT]),
        (C::Prompt, A::CursorStart, &[Key::plain(KeyCode::Home)]),
        (C::Prompt, A::CursorEnd, &[Key::plain(KeyCode::End)]),
        (C::Confirm, A::Accept, &[ENTER, c('y')]),
        (C::Confirm, A::Refuse, &[ESC, c('n')]),
        (C::Help, A::Back, &[ESC, ENTER, c('?'), F1]),
        (C::Help, A::Up, &[UP]),
        (C::Help, A::Down, &[DOWN]),
        (C::Help, A::PageUp, &[PAGE_UP]),
        (C::Help, A::PageDown, &[PAGE_DOWN]),
        (C::Look, A::Colours, &[c('n')]),
        (C::Look, A::Unfinished, &[c('l')]),
        (C::Look, A::Up, &[UP]),
        (C::Look, A::Down, &[DOWN]),
        (C::Look, A::Back, &[ESC]),
        (C::Scale, A::Accept, &[ENTER]),
        (C::Scale, A::CheckScale, &[c('k')]),
        (C::Scale, A::TenWeighings, &[c('r')]),
        (C::Scale, A::FindScale, &[c('f')]),
        (C::Scale, A::SetZero, &[c('z')]),
        (C::Scale, A::Tare, &[c('t')]),
        (C::Scale, A::ClearTare, &[c('c')]),
        (C::Scale, A::NextUnit, &[c('u')]),
        (C::Scale, A::Up, &[UP]),
        (C::Scale, A::Down, &[DOWN]),
        (C::Scale, A::Back, &[ESC]),
        (C::FirstRun, A::Accept, &[ENTER]),
        (C::FirstRun, A::Skip, &[TAB]),
        (C::FirstRun, A::Up, &[UP]),
        (C::FirstRun, A::Down, &[DOWN]),
        (C::FirstRun, A::Back, &[ESC]),
        (C::FirstRun, A::EraseBack, &[Key::plain(KeyCode::Backspace)]),
        (C::FirstRun, A::EraseForward, &[Key::plain(KeyCode::Delete)]),
        (C::FirstRun, A::EraseAll, &[Key::ctrl('u')]),
        (C::FirstRun, A::CursorLeft, &[LEFT]),
        (C::FirstRun, A::CursorRight, &[RIGHT]),
        (C::FirstRun, A::CursorStart, &[Key::plain(KeyCode::Home)]),
        (C::FirstRun, A::CursorEnd, &[Key::plain(KeyCode::End)]),
        (C::Everywhere, A::Help, &[c('?'), F1]),
        (C::Everywhere, A::OpenScale, &[Key::plain(KeyCode::F(2))]),
        (C::Everywhere, A::SaveAgain, &[Key::ctrl('s')]),
        (C::Everywhere, A::Suspend, &[Key::ctrl('z')]),
        (C::Everywhere, A::Quit, &[Key::ctrl('c'), Key::ctrl('q')]),
    ]
};

impl Default for Bindings {
    fn default() -> Self {
        let one = |&(context, action, keys): &(Context, Action, &'static [Key])| {
            keys.iter().map(move |&key| Binding { context, action, key })
        };
        Self { table: DEFAULTS.iter().flat_map(one).collect() }
    }
}

impl Bindings {
    /// What a terminal's key event does here, if anything.
    ///
    /// The one place where releases and unwanted repeats are dropped. Where text is typed, a character without
    /// Ctrl or Alt is text and never an action.
    pub fn find(&self, context: Context, event: &KeyEvent) -> Option<Action> {
        if event.kind == KeyEventKind::Release {
            return None;
        }
        let key = Key::of(event);
        if context.is_typing() && key.is_text() {
            return None;
        }
        let here = |wanted: Context| {
            self.table.iter().find(|binding| binding.context == wanted && binding.key == key)
        };
        let action = here(context).or_else(|| here(Context::Everywhere))?.action;
        (event.kind == KeyEventKind::Press || action.repeats()).then_some(action)
    }

    /// The character the event types, where text is typed.
    pub fn typed(context: Context, event: &KeyEvent) -> Option<char> {
        let wanted = context.is_typing() && event.kind != KeyEventKind::Release;
        match event.code {
            KeyCode::Char(c) if wanted && Key::of(event).is_text() => Some(c),
            _ => None,
        }
    }

    /// Every action that has a key here, the most needed first, with those that work everywhere last.
    pub fn actions(&self, context: Context) -> Vec<Action> {
        let mut actions = Vec::new();
        for wanted in [context, Context::Everywhere] {
            for binding in self.table.iter().filter(|binding| binding.context == wanted) {
                if !actions.contains(&binding.action) && self.key(context, binding.action).is_some() {
                    actions.push(binding.action);
                }
            }
        }
        actions
    }

    /// The keys of an action here, the one to show first. A key that does something else here is left out, as
    /// is one that would be typed as text.
    pub fn keys(&self, context: Context, action: Action) -> Vec<Key> {
        let free = |binding: &&Binding| {
            let shadowed = context != Context::Everywhere
                && binding.context == Context::Everywhere
                && self.table.iter().any(|other| other.context == context && other.key == binding.key);
            let text = context.is_typing() && binding.key.is_text();
            !(shadowed || text)
        };
        let own = |wanted: Context| {
            self.table
                .iter()
                .filter(move |binding| binding.context == wanted && binding.action == action)
                .filter(free)
                .map(|binding| binding.key)
        };
        let mut keys: Vec<Key> = own(context).collect();
        if context != Context::Everywhere {
            keys.extend(own(Context::Everywhere));
        }
        keys
    }

    fn key(&self, context: Context, action: Action) -> Option<Key> {
        self.keys(context, action).first().copied()
    }

    /// The first key of an action here, as people write it; for sentences such as "press m".
    pub fn shown(&self, context: Context, action: Action, symbols: &Symbols) -> Option<String> {
        Some(self.key(context, action)?.show(symbols))
    }

    /// What the bottom line says: of the actions that can be done now those that have a key, in that order.
    /// Neighbours with the same word share one entry.
    pub fn hints(&self, context: Context, available: &[Action], symbols: &Symbols) -> Vec<Hint> {
        let mut hints: Vec<Hint> = Vec::new();
        for &action in available {
            let Some(key) = self.key(context, action) else { continue };
            let (label, shown) = (action.label(context), key.show(symbols));
            match hints.last_mut() {
                Some(last) if last.label == label && last.action != action => {
                    last.keys = joined(&last.keys, &shown);
                }
                _ => hints.push(Hint { keys: shown, label, sentence: action.sentence(), action }),
            }
        }
        hints
    }

    /// What the help says: each action with all its keys and its sentence.
    pub fn sentences(&self, context: Context, available: &[Action], symbols: &Symbols) -> Vec<Hint> {
        let hint = |&action: &Action| {
            let keys: Vec<String> =
                self.keys(context, action).into_iter().map(|key| key.show(symbols)).collect();
            let keys = (!keys.is_empty()).then(|| keys.join(" "))?;
            Some(Hint { keys, label: action.label(context), sentence: action.sentence(), action })
        };
        available.iter().filter_map(hint).collect()
    }

    /// Gives an action other keys here. Nothing changes if one of them cannot be had.
    pub fn rebind(&mut self, context: Context, action: Action, keys: &[Key]) -> Result<(), BindingError> {
        for &key in keys {
            let shown = || key.show(Symbols::ASCII);
            if context.is_typing() && key.is_text() {
                return Err(BindingError::Text { key: shown(), context: context.name() });
            }
            let other = self
                .table
                .iter()
                .find(|other| other.context == context && other.key == key && other.action != action);
            if let Some(other) = other {
                return Err(BindingError::Taken {
                    key: shown(),
                    context: context.name(),
                    other: other.action.name(),
                    action: action.name(),
                });
            }
        }
        let same = |binding: &Binding| binding.context == context && binding.action == action;
        let at = self.table.iter().position(same).unwrap_or(self.table.len());
        self.table.retain(|binding| !same(binding));
        let new = keys.iter().map(|&key| Binding { context, action, key });
        self.table.splice(at..at, new);
        Ok(())
    }

    /// The pairs of bindings that want the same key in the same context.
    pub fn conflicts(&self) -> Vec<(Binding, Binding)> {
        let mut found = Vec::new();
        for (at, one) in self.table.iter().enumerate() {
            for other in self.table.iter().skip(at.saturating_add(1)) {
                if one.context == other.context && one.key == other.key {
                    found.push((*one, *other));
                }
            }
        }
        found
    }
}

/// Two keys with one word: a range of digits as `1-4`, signs side by side, words apart.
fn joined(first: &str, second: &str) -> String {
    let single = |text: &str| text.chars().count() == 1;
    let start = first.split('-').next().unwrap_or(first);
    match (start.parse::<u8>(), second.parse::<u8>()) {
        (Ok(_), Ok(_)) => format!("{start}-{second}"),
        _ if single(first) && single(second) => format!("{first}{second}"),
        _ => format!("{first}/{second}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::crossterm::event::KeyModifiers;

    fn press(text: &str) -> KeyEvent {
        kind(text, KeyEventKind::Press)
    }

    fn kind(text: &str, kind: KeyEventKind) -> KeyEvent {
        let (code, modifiers) = match text {
            "Enter" => (KeyCode::Enter, KeyModifiers::NONE),
            "Esc" => (KeyCode::Esc, KeyModifiers::NONE),
            "Right" => (KeyCode::Right, KeyModifiers::NONE),
            "F1" => (KeyCode::F(1), KeyModifiers::NONE),
            "Ctrl-C" => (KeyCode::Char('c'), KeyModifiers::CONTROL),
            other => (KeyCode::Char(other.chars().next().unwrap()), KeyModifiers::NONE),
        };
        KeyEvent::new_with_kind(code, modifiers, kind)
    }

    #[test]
    fn names_go_both_ways_and_are_kebab_case() {
        for &action in Action::ALL {
            assert_eq!(Action::from_name(action.name()), Some(action));
            assert!(action.name().bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-'));
            assert!(action.sentence().ends_with('.'), "{}", action.name());
        }
        for context in Context::ALL {
            assert_eq!(Context::from_name(context.name()), Some(context));
        }
        assert_eq!(Action::from_name("take-it-all"), None);
    }

    #[test]
    fn no_key_does_two_things_in_one_place() {
        assert_eq!(Bindings::default().conflicts(), []);
    }

    #[test]
    fn a_conflict_is_found() {
        let mut bindings = Bindings::default();
        let taken = Binding { context: Context::Bench, action: Action::Order, key: Key::char('n') };
        bindings.table.push(taken);
        assert_eq!(bindings.conflicts().len(), 1);
    }

    #[test]
    fn every_action_has_a_key_somewhere_and_typing_keeps_its_letters() {
        let bindings = Bindings::default();
        for &action in Action::ALL {
            let reachable = Context::ALL.into_iter().any(|context| bindings.key(context, action).is_some());
            assert!(reachable, "{}", action.name());
        }
        for binding in &bindings.table {
            assert!(!(binding.context.is_typing() && binding.key.is_text()), "{binding:?}");
        }
    }

    /// Help, suspending and quitting are to be had everywhere.
    #[test]
    fn there_is_a_way_out_of_every_context() {
        let bindings = Bindings::default();
        for context in Context::ALL {
            for action in [Action::Quit, Action::Suspend] {
                assert!(bindings.key(context, action).is_some(), "{} in {}", action.name(), context.name());
            }
            assert!(context == Context::Help || bindings.key(context, Action::Help).is_some());
        }
    }

    #[test]
    fn the_same_key_does_what_the_place_wants() {
        let bindings = Bindings::default();
        assert_eq!(bindings.find(Context::Bench, &press("Enter")), Some(Action::Take));
        assert_eq!(bindings.find(Context::Ways, &press("Enter")), Some(Action::Accept));
        assert_eq!(bindings.find(Context::Complete, &press("Enter")), Some(Action::Finish));
        assert_eq!(bindings.find(Context::Bench, &press("Ctrl-C")), Some(Action::Quit));
        assert_eq!(bindings.find(Context::Ways, &press("3")), Some(Action::Choose3));
        assert_eq!(Action::Choose3.choice(), Some(2));
        assert_eq!(bindings.find(Context::Bench, &press("c")), Some(Action::LiftCup));
        assert_eq!(bindings.find(Context::Bench, &press("§")), None);
    }

    #[test]
    fn releases_and_unwanted_repeats_are_dropped() {
        let bindings = Bindings::default();
        let find = |text, wanted| bindings.find(Context::Bench, &kind(text, wanted));
        assert_eq!(find("Enter", KeyEventKind::Release), None);
        assert_eq!(find("Enter", KeyEventKind::Repeat), None);
        assert_eq!(find("Right", KeyEventKind::Repeat), Some(Action::TipMore));
    }

    #[test]
    fn letters_are_text_where_text_is_typed() {
        let bindings = Bindings::default();
        assert_eq!(bindings.find(Context::Colours, &press("?")), None);
        assert_eq!(Bindings::typed(Context::Colours, &press("?")), Some('?'));
        assert_eq!(Bindings::typed(Context::Bench, &press("w")), None);
        assert_eq!(Bindings::typed(Context::Prompt, &press("Ctrl-C")), None);
        assert_eq!(bindings.find(Context::Colours, &press("F1")), Some(Action::Help));
        let shown = |context| bindings.shown(context, Action::Help, Symbols::ASCII).unwrap();
        assert_eq!((shown(Context::Bench).as_str(), shown(Context::Colours).as_str()), ("?", "F1"));
    }

    #[test]
    fn hints_come_from_the_bindings() {
        let mut bindings = Bindings::default();
        let actions = [Action::Take, Action::TipMore, Action::TipLess, Action::NextTin, Action::Finish];
        let hints = |bindings: &Bindings| -> Vec<(String, &str)> {
            let hints = bindings.hints(Context::Bench, &actions, Symbols::UNICODE);
            hints.into_iter().map(|hint| (hint.keys, hint.label)).collect()
        };
        let wanted = [("Enter", "take it"), ("→←", "tip"), ("n", "next tin")];
        assert_eq!(hints(&bindings), wanted.map(|(keys, label)| (keys.to_owned(), label)));
        bindings.rebind(Context::Bench, Action::NextTin, &[Key::parse("F5").unwrap()]).unwrap();
        assert_eq!(hints(&bindings)[2].0, "F5");
        assert_eq!(bindings.find(Context::Bench, &press("n")), None);

        let ways = [Action::Choose1, Action::Choose2, Action::Choose3];
        assert_eq!(bindings.hints(Context::Ways, &ways, Symbols::UNICODE)[0].keys, "1-3");
    }

    #[test]
    fn a_key_that_is_taken_is_refused_and_nothing_changes() {
        let mut bindings = Bindings::default();
        let error = bindings.rebind(Context::Bench, Action::Order, &[Key::char('q'), Key::char('n')]);
        assert_eq!(
            error.unwrap_err().to_string(),
            "key n is already 'next-tin' in 'bench': choose another key for 'order'"
        );
        assert!(bindings.rebind(Context::Prompt, Action::Back, &[Key::char('q')]).is_err());
        assert_eq!(bindings, Bindings::default());
    }
}
