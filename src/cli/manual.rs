//! `pourbook man` and `pourbook completions`: the manual page and the shells' completions, made from the program itself.

use super::{CliError, out};
use crate::settings::Key as Setting;
use crate::tui::keys::{Action, Bindings, Context};
use crate::tui::theme::Symbols;
use clap::Command;
use clap_complete::Shell;
use std::fmt::Write as _;

/// What the completions need to know.
#[derive(Debug, clap::Args)]
pub(super) struct Completions {
    /// The shell they are for
    shell: Shell,
}

/// Writes the manual page.
pub(super) fn man(command: Command) -> Result<(), CliError> {
    out::line(page(command)?.trim_end())
}

/// Writes the completions of a shell.
pub(super) fn completions(mut command: Command, args: &Completions) -> Result<(), CliError> {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut command, "pourbook", &mut text);
    let text = String::from_utf8(text).map_err(CliError::failed)?;
    // Tabs and the like are part of the script; it has nothing in it that came from outside.
    out::script(&text)
}

/// The manual page as roff.
fn page(command: Command) -> Result<String, CliError> {
    let commands: Vec<(String, String)> = command
        .get_subcommands()
        .map(|sub| (sub.get_name().to_owned(), sub.get_about().map(ToString::to_string).unwrap_or_default()))
        .collect();
    let man = clap_mangen::Man::new(command).section("1").manual("Pourbook");
    let mut roff = Vec::new();
    let mut part = |render: &dyn Fn(&mut dyn std::io::Write) -> std::io::Result<()>| render(&mut roff);
    part(&|out| man.render_title(out))?;
    part(&|out| man.render_name_section(out))?;
    part(&|out| man.render_synopsis_section(out))?;
    part(&|out| man.render_description_section(out))?;
    part(&|out| man.render_options_section(out))?;
    let mut page = String::from_utf8(roff).map_err(CliError::failed)?;
    page.push_str(".SH COMMANDS\n");
    for (name, about) in commands {
        item(&mut page, &format!("pourbook {name}"), &about);
    }
    keys(&mut page);
    page.push_str(".SH SETTINGS\nIn settings.toml in the configuration folder; \\fBpourbook settings\\fR prints what holds.\n");
    for key in Setting::ALL {
        item(&mut page, key.name(), &format!("{} {}.", key.help(), capital(&key.kind().expected())));
    }
    page.push_str(FILES);
    Ok(page)
}

fn keys(page: &mut String) {
    page.push_str(".SH KEYS\nAs long as the settings say nothing else.\n");
    let bindings = Bindings::default();
    for context in Context::ALL {
        let _ = writeln!(page, ".SS \"{} ({})\"", roff(context.heading()), context.name());
        for &action in Action::ALL {
            let keys: Vec<String> =
                bindings.own_keys(context, action).into_iter().map(|key| key.show(Symbols::ASCII)).collect();
            if !keys.is_empty() {
                item(page, &keys.join(", "), &format!("({}) {}", action.name(), action.sentence()));
            }
        }
    }
}

fn item(page: &mut String, what: &str, says: &str) {
    let _ = writeln!(page, ".TP\n\\fB{}\\fR\n{}", roff(what), roff(says));
}

/// Text that means nothing to roff: no line of it is taken for a command, no sign for an escape.
fn roff(text: &str) -> String {
    let text = text.replace('\\', "\\e").replace('-', "\\-").replace('\'', "\\(aq").replace('`', "\\(ga");
    text.lines()
        .map(|line| if line.starts_with(['.', '\'']) { format!("\\&{line}") } else { line.to_owned() })
        .collect::<Vec<_>>()
        .join("\n")
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

const FILES: &str = ".SH FILES\n\
.TP\n\\fB~/.config/pourbook/\\fR\nThe shop's files, and settings.toml.\n\
.TP\n\\fB~/.local/share/pourbook/book.sqlite\\fR\nThe book, readable by its owner alone.\n\
.TP\n\\fB~/.local/state/pourbook/\\fR\nThe log, only with POURBOOK_LOG.\n\
.SH ENVIRONMENT\n\
\\fBPOURBOOK_SHOP\\fR, \\fBPOURBOOK_BOOK\\fR, \\fBPOURBOOK_SCALE\\fR, \\fBPOURBOOK_SETTINGS\\fR stand for the options of\n\
these names; \\fBPOURBOOK_LOG\\fR=debug keeps a log; \\fBNO_COLOR\\fR takes all colour away.\n\
.SH \"EXIT STATUS\"\n0 when it is done, 1 when it could not be done, 2 when the command was wrong.\n\
.SH CAUTIONS\n\
The product\\(aqs data sheet comes first, then the local code and licensed practice. Hardeners of two\\-pack paints contain\n\
isocyanates; solvents and their vapour burn; ordinary scales, terminals and adapters are sources of ignition.\n";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Cli;
    use clap::{CommandFactory as _, ValueEnum as _};

    #[test]
    fn the_page_has_every_command_key_and_setting() {
        let page = page(Cli::command()).unwrap();
        for command in Cli::command().get_subcommands() {
            let name = roff(command.get_name());
            assert!(page.contains(&format!("\\fBpourbook {name}\\fR")), "{name}");
        }
        for context in Context::ALL {
            assert!(page.contains(&format!("({})", context.name())), "{}", context.name());
        }
        for action in Bindings::default().bound() {
            assert!(page.contains(&format!("({}) ", roff(action.name()))), "{}", action.name());
        }
        for key in Setting::ALL {
            assert!(page.contains(&format!("\\fB{}\\fR", roff(key.name()))), "{}", key.name());
        }
        assert!(
            page.lines().all(|line| !line.starts_with('\'')),
            "a line that roff would take for a command"
        );
    }

    #[test]
    fn what_roff_would_take_for_its_own_is_told_apart() {
        assert_eq!(roff(".x\n'y \\ a-b"), "\\&.x\n\\(aqy \\e a\\-b");
    }

    #[test]
    fn every_shell_has_its_completions() {
        for shell in Shell::value_variants() {
            let mut text = Vec::new();
            clap_complete::generate(*shell, &mut Cli::command(), "pourbook", &mut text);
            let text = String::from_utf8(text).unwrap();
            for command in Cli::command().get_subcommands() {
                assert!(text.contains(command.get_name()), "{shell} {}", command.get_name());
            }
        }
    }
}
