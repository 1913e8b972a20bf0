//! The keys as a person has them: the defaults, changed by the lines of the settings. All mistakes at once; a line with
//! one is left out and the others hold.

use super::{Action, Binding, Bindings, Context, Key};
use crate::catalogue::{Problem, nearest};
use crate::settings::KeyLine;
use crate::tui::theme::Symbols;
use std::fmt::Write as _;

/// A line that was understood.
struct Wanted<'l> {
    context: Context,
    action: Action,
    keys: Vec<Key>,
    line: &'l KeyLine,
}

/// Without a key for these nobody gets on, or away.
const NEEDED: &[Action] = &[
    Action::Accept,
    Action::Refuse,
    Action::Back,
    Action::Take,
    Action::Finish,
    Action::SetAside,
    Action::Help,
    Action::Quit,
];

impl Bindings {
    /// The defaults with those lines, and what is wrong with the lines that were left out. The order of the lines does
    /// not matter: two actions can change their keys with each other.
    pub fn with(lines: &[KeyLine]) -> (Self, Vec<Problem>) {
        let mut problems = Vec::new();
        let mut wanted: Vec<Wanted<'_>> =
            lines.iter().filter_map(|line| understood(line, &mut problems)).collect();
        while let Some((at, problem)) = first_wrong(&wanted) {
            problems.push(problem);
            wanted.remove(at);
        }
        problems.sort_by_key(|problem| problem.spot.as_ref().map(|spot| (spot.line, spot.column)));
        (table(&wanted), problems)
    }
}

/// What a line means, or what is wrong with its words.
fn understood<'l>(line: &'l KeyLine, problems: &mut Vec<Problem>) -> Option<Wanted<'l>> {
    let wrong = |what: String| Problem::error(&line.file, Some(line.spot.clone()), what);
    let before = problems.len();
    let context = Context::from_name(&line.context);
    if context.is_none() {
        let names = Context::ALL.into_iter().map(Context::name);
        let problem = wrong(format!("there is no screen '{}'", line.context));
        problems.push(problem.did_you_mean(nearest(&line.context, names)));
    }
    let action = Action::from_name(&line.action);
    if action.is_none() {
        let names = Action::ALL.iter().map(|action| action.name());
        let problem = wrong(format!("there is no action '{}'", line.action));
        problems.push(problem.did_you_mean(nearest(&line.action, names)));
    }
    let mut keys = Vec::new();
    for name in &line.keys {
        match Key::parse(name) {
            Some(key) if context.is_some_and(Context::is_typing) && key.is_text() => {
                let what = format!("the key {name} is typed as text in '{}'", line.context);
                problems.push(wrong(what).hint("Choose one with Ctrl, or a function key."));
            }
            Some(key) => keys.push(key),
            None => {
                let problem = wrong(format!("there is no key '{name}'"));
                let problem = problem.expected("a key as Enter, n, Ctrl-N, Alt-x, F5 or PgDn");
                problems.push(problem.did_you_mean(nearest(name, Key::names())));
            }
        }
    }
    let (context, action) = (context?, action?);
    if problems.len() == before && keys.is_empty() && NEEDED.contains(&action) {
        let what = format!("without a key for '{}' nobody gets on in '{}'", action.name(), context.name());
        problems.push(wrong(what).hint("Give it another key instead of none."));
    }
    (problems.len() == before).then_some(Wanted { context, action, keys, line })
}

/// All bindings, those of the lines in place of the defaults.
fn table(wanted: &[Wanted<'_>]) -> Bindings {
    let mut bindings = Bindings::default();
    for one in wanted {
        let same = |binding: &Binding| binding.context == one.context && binding.action == one.action;
        let at = bindings.table.iter().position(same).unwrap_or(bindings.table.len());
        bindings.table.retain(|binding| !same(binding));
        let new = one.keys.iter().map(|&key| Binding { context: one.context, action: one.action, key });
        let at = at.min(bindings.table.len());
        bindings.table.splice(at..at, new);
    }
    bindings
}

/// The first line whose key does something else there, the later of two lines, and what is to be said about it.
fn first_wrong(wanted: &[Wanted<'_>]) -> Option<(usize, Problem)> {
    let (one, other) = table(wanted).conflicts().into_iter().next()?;
    let line_of = |binding: &Binding| {
        wanted.iter().rposition(|line| line.context == binding.context && line.action == binding.action)
    };
    let (one_at, other_at) = (line_of(&one), line_of(&other));
    let (at, mine, theirs) = match (one_at, other_at) {
        (Some(a), Some(b)) if a >= b => (a, one, other),
        (_, Some(b)) => (b, other, one),
        (Some(a), None) => (a, one, other),
        // The defaults have no conflict among themselves: a test says so.
        (None, None) => return None,
    };
    let line = wanted.get(at)?.line;
    let place = line_of(&theirs).and_then(|at| wanted.get(at)).map_or_else(
        || "by default".to_owned(),
        |other| format!("by {} line {}", other.line.file, other.line.spot.line),
    );
    let what = format!(
        "the key {} is to be '{}' in '{}', and is '{}' there {place}",
        mine.key.show(Symbols::ASCII),
        mine.action.name(),
        mine.context.name(),
        theirs.action.name(),
    );
    let hint = format!(
        "Choose another key for one of the two: '{}' or '{}'.",
        mine.action.name(),
        theirs.action.name()
    );
    Some((at, Problem::error(&line.file, Some(line.spot.clone()), what).hint(hint)))
}

/// Every action with its keys, in those contexts, as tables in Markdown.
pub fn as_table(bindings: &Bindings, contexts: &[Context]) -> String {
    let mut out = String::new();
    for &context in contexts {
        let mut rows = String::new();
        for &action in Action::ALL {
            let own: Vec<String> = bindings
                .table
                .iter()
                .filter(|binding| binding.context == context && binding.action == action)
                .map(|binding| format!("`{}`", binding.key.show(Symbols::ASCII)))
                .collect();
            if !own.is_empty() {
                let name = action.name();
                let _ = writeln!(rows, "| {} | `{name}` | {} |", own.join(" "), action.sentence());
            }
        }
        if !rows.is_empty() {
            let _ = write!(
                out,
                "**{}** (`{}`)\n\n| key | action | |\n|---|---|---|\n{rows}\n",
                context.heading(),
                context.name()
            );
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::FileSettings;
    use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

    fn read(text: &str) -> (Bindings, Vec<String>) {
        let file = FileSettings::read("settings.toml", text);
        assert_eq!(file.problems, []);
        let (bindings, problems) = Bindings::with(&file.keys);
        (bindings, problems.iter().map(|p| format!("{} {}", p.location(), p.sentence())).collect())
    }

    fn does(bindings: &Bindings, context: Context, key: KeyCode) -> Option<Action> {
        bindings.find(context, &KeyEvent::new(key, KeyModifiers::NONE))
    }

    #[test]
    fn a_line_changes_a_key_and_two_can_change_with_each_other() {
        let (bindings, problems) = read("[keys.bench]\nnext-tin = \"w\"\nwrong-toner = [\"n\", \"F7\"]\n");
        assert_eq!(problems, [""; 0]);
        assert_eq!(does(&bindings, Context::Bench, KeyCode::Char('w')), Some(Action::NextTin));
        assert_eq!(does(&bindings, Context::Bench, KeyCode::Char('n')), Some(Action::WrongToner));
        assert_eq!(does(&bindings, Context::Bench, KeyCode::F(7)), Some(Action::WrongToner));
        assert_eq!(bindings.conflicts(), []);
    }

    #[test]
    fn a_conflict_names_both() {
        let (bindings, problems) = read("[keys.bench]\nnext-tin = \"w\"\n");
        assert_eq!(
            problems,
            [
                "settings.toml:2:12 the key w is to be 'next-tin' in 'bench', and is 'wrong-toner' there by default. \
              Choose another key for one of the two: 'next-tin' or 'wrong-toner'."
            ]
        );
        assert_eq!(bindings, Bindings::default());
        let (_, problems) = read("[keys.bench]\nnext-tin = \"F7\"\nwrong-toner = \"F7\"\n");
        assert_eq!(problems.len(), 1);
        assert!(problems[0].starts_with("settings.toml:3:15"), "{}", problems[0]);
        assert!(problems[0].contains("'next-tin' there by settings.toml line 2"), "{}", problems[0]);
    }

    #[test]
    fn every_mistake_at_once_each_with_the_nearest_right_word() {
        let (bindings, problems) = read(
            "[keys.bnech]\ntake = \"Enter\"\n[keys.bench]\nnext-tn = \"n\"\ntake = []\n[keys.colours]\nunfinished = \"u\"\n\
             [keys.everywhere]\nhelp = \"Entre\"\n",
        );
        assert_eq!(problems.len(), 5, "{problems:#?}");
        for (problem, said) in problems.iter().zip([
            "Did you mean 'bench'?",
            "Did you mean 'next-tin'?",
            "without a key for 'take' nobody gets on",
            "typed as text in 'colours'",
            "Did you mean 'Enter'?",
        ]) {
            assert!(problem.contains(said), "{problem}");
        }
        assert_eq!(bindings, Bindings::default());
    }

    /// The README's keys are these. `POURBOOK_REBUILD=1` writes them anew.
    #[test]
    fn the_readme_has_the_keys_as_they_are() {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
        let contexts = [Context::Bench, Context::Ways, Context::Colours, Context::Everywhere];
        crate::units::testing::block(&path, "keys", &as_table(&Bindings::default(), &contexts));
    }

    #[test]
    fn the_table_has_every_action_that_has_a_key() {
        let bindings = Bindings::default();
        let table = as_table(&bindings, &Context::ALL);
        for binding in &bindings.table {
            assert!(table.contains(&format!("`{}`", binding.action.name())), "{:?}", binding.action);
        }
    }
}
