//! From what is settled to how the bench behaves and looks.

use crate::catalogue::Problem;
use crate::job::{FlowCup, Odds, Usual};
use crate::settings::{FileSettings, Key, Settings};
use crate::tui::keys::{Bindings, Key as Keystroke};
use crate::tui::theme::{Depth, Palette, Symbols, Theme};
use crate::tui::{Preferences, Sound, Sounds, Voice};
use crate::units::{Decimal, Share};
use std::path::PathBuf;

/// The settings as they were read and settled.
#[derive(Clone, Debug)]
pub(super) struct Settled {
    /// Where the file is.
    pub(super) path: PathBuf,
    /// Whether it is there.
    pub(super) exists: bool,
    /// What it says.
    pub(super) file: FileSettings,
    /// What holds.
    pub(super) settings: Settings,
}

impl Settled {
    /// The keys as they are set, and what is wrong with what is set about them.
    pub(super) fn bindings(&self) -> (Bindings, Vec<Problem>) {
        Bindings::with(&self.file.keys)
    }

    /// All that is wrong with the settings, in sentences with their places.
    pub(super) fn problems(&self) -> Vec<String> {
        let file = self.file.problems.iter().cloned().chain(self.bindings().1);
        let file =
            file.map(|problem| format!("{}: {}", problem.location(), problem.sentence())).collect::<Vec<_>>();
        let foot = self.settings.get(Key::FootSwitch).filter(|name| Keystroke::parse(name).is_none());
        let foot = foot.map(|name| format!("foot-switch: there is no key '{name}'. Expected a key as F13."));
        file.into_iter().chain(self.settings.wrong.iter().cloned()).chain(foot).collect()
    }

    /// How the bench behaves.
    pub(super) fn preferences(&self) -> Preferences {
        let settings = &self.settings;
        let plain = Preferences::default();
        Preferences {
            hands_free: settings.is_on(Key::HandsFree),
            dwell_ms: settings.milliseconds(Key::Dwell).unwrap_or(plain.dwell_ms),
            tolerance: settings.share(Key::Tolerance),
            take_within: settings.share(Key::TakeWithin).unwrap_or(Share::ONE),
            job: self.job(),
            quiet: settings.is_on(Key::Quiet),
            sounds: sounds(settings),
            mouse: settings.is_on(Key::Mouse),
            notation: settings.notation(),
            bindings: self.bindings().0,
            label_print: settings.label_print(),
            foot_switch: settings.get(Key::FootSwitch).and_then(Keystroke::parse),
        }
    }

    /// What the shop sets for all its jobs.
    pub(super) fn job(&self) -> Usual {
        let (settings, plain) = (&self.settings, Usual::default());
        let short = settings.number(Key::JobShort);
        let odds = short.and_then(|short| Odds::of_costs(Decimal::from(short), Decimal::ONE).ok());
        Usual {
            efficiency: settings.share(Key::JobTransfer).unwrap_or(plain.efficiency),
            behind: settings.volume(Key::JobInGun).unwrap_or(plain.behind),
            card: settings.area(Key::JobCard).unwrap_or(plain.card),
            cards: settings.number(Key::JobCards).unwrap_or(plain.cards),
            odds: odds.unwrap_or(plain.odds),
            flow_cup: settings.get(Key::FlowCup).and_then(|name| FlowCup::named(name).ok()),
        }
    }

    /// How it looks: what is set, and where nothing is, what the terminal says of itself.
    pub(super) fn theme(&self, variable: impl Fn(&str) -> Option<String>) -> Theme {
        let chosen = self.settings.get(Key::Theme).and_then(Palette::from_name);
        let mut theme = Theme::from_environment(variable, chosen);
        match self.settings.get(Key::Symbols) {
            Some("unicode") => theme.symbols = Symbols::UNICODE,
            Some("ascii") => theme.symbols = Symbols::ASCII,
            _ => {}
        }
        match self.settings.get(Key::Colours) {
            Some("16") => theme.depth = Depth::Sixteen,
            Some("true") => theme.depth = Depth::True,
            _ => {}
        }
        theme.notation = self.settings.notation();
        theme
    }
}

/// What is heard for what.
fn sounds(settings: &Settings) -> Sounds {
    const HEARD: [Key; 7] = [
        Key::SoundRight,
        Key::SoundOver,
        Key::SoundLost,
        Key::SoundEaseOff,
        Key::SoundWrongTin,
        Key::SoundAttention,
        Key::SoundTimer,
    ];
    let command: Option<Vec<String>> =
        settings.get(Key::SoundCommand).map(|line| line.split_whitespace().map(str::to_owned).collect());
    let mut sounds = Sounds::default();
    for (key, sound) in HEARD.into_iter().zip(Sound::ALL) {
        let Some(Ok(voice)) = settings.get(key).map(Voice::parse) else { continue };
        let told = command.clone().map(|words| words.into_iter().chain([sound.name().to_owned()]).collect());
        let told = told.and_then(|words| Voice::command(words).ok()).filter(|_| voice != Voice::Off);
        sounds.set(sound, told.unwrap_or(voice));
    }
    sounds
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Kind;
    use crate::units::DecimalSign;

    fn settled(text: &str) -> Settled {
        let file = FileSettings::read("settings.toml", text);
        let settings = Settings::settle(&[], |_| None, &file, "settings.toml");
        Settled { path: PathBuf::new(), exists: true, file, settings }
    }

    /// The cups that can be set are those that are known.
    #[test]
    fn every_cup_that_is_known_can_be_the_one_on_the_bench() {
        assert_eq!(settled("").job().flow_cup, None);
        for cup in FlowCup::all() {
            let set = settled(&format!("[job]\nflow-cup = \"{}\"\n", cup.name));
            assert_eq!((set.problems(), set.job().flow_cup), (Vec::new(), Some(*cup)));
        }
        let Kind::Choice(names) = Key::FlowCup.kind() else { panic!("it is chosen") };
        assert_eq!(names.len(), FlowCup::all().len());
    }

    /// What holds where nothing is set is what the jobs take as usual, and what is set goes before it.
    #[test]
    fn what_jobs_are_reckoned_with() {
        assert_eq!(settled("").job(), Usual::default());
        let set = settled(
            "[job]\ntransfer = \"65 %\"\nin-gun = \"25 mL\"\ncard = \"0.02 m2\"\ncards = 3\nshort-costs = 4\n",
        );
        assert_eq!(set.problems(), [""; 0]);
        let job = set.job();
        assert_eq!((job.efficiency, job.cards), (Share::from_percent(65.into()), 3));
        assert_eq!((job.behind.to_string(), job.card.to_string()), ("25".into(), "0.02".into()));
        assert!((job.odds.fractile() - 0.8).abs() < 1e-12);
    }

    #[test]
    fn what_is_set_is_how_it_behaves_and_looks() {
        let it = settled(
            "theme = \"light\"\nsymbols = \"ascii\"\ncolours = \"true\"\ncountry = \"de\"\nmouse = true\nfoot-switch = \"F13\"\n\
             [hands-free]\non = false\ndwell = 2000\ntake-within = \"50 %\"\n[sounds]\nquiet = true\n",
        );
        assert_eq!(it.problems(), [""; 0]);
        let prefers = it.preferences();
        assert!(!prefers.hands_free && prefers.quiet && prefers.mouse);
        assert_eq!((prefers.dwell_ms, prefers.take_within), (2_000, Share::from_percent(50.into())));
        assert_eq!(prefers.foot_switch, Keystroke::parse("F13"));
        let theme = it.theme(|_| None);
        assert_eq!(
            (theme.palette, theme.depth, theme.symbols),
            (Palette::Light, Depth::True, Symbols::ASCII)
        );
        assert_eq!(theme.notation.decimal, DecimalSign::Comma);
        // Nothing that is set brings colour back where none is wanted.
        let theme = it.theme(|name| (name == "NO_COLOR").then(|| "1".to_owned()));
        assert_eq!(theme.palette, Palette::Mono);
    }

    #[test]
    fn what_is_heard_is_as_set_and_the_defaults_are_the_benchs_own() {
        assert_eq!(settled("").preferences().sounds, Sounds::default());
        let it = settled("[sounds]\ncommand = \"beep -q\"\nover = \"x-x\"\nright = \"off\"\n")
            .preferences()
            .sounds;
        assert_eq!(it.voice(Sound::Right), &Voice::Off);
        let words = ["beep", "-q", "over"].map(str::to_owned).to_vec();
        assert_eq!(it.voice(Sound::Over), &Voice::Command(words));
        for beat in ["x", "x x x", "x----x", "off", "x x x x x x x x"] {
            assert_eq!(Key::SoundOver.kind().check(beat), Ok(()), "{beat}");
            assert!(Voice::parse(beat).is_ok(), "{beat}");
        }
        for beat in ["xx", "y", "x x x x x x x x x", "x--------------------x", ""] {
            assert!(Key::SoundOver.kind().check(beat).is_err(), "{beat}");
        }
    }

    /// The settings name just the palettes that there are.
    #[test]
    fn every_palette_can_be_set() {
        for palette in Palette::ALL {
            assert_eq!(Key::Theme.kind().check(palette.name()), Ok(()), "{}", palette.name());
        }
        assert!(
            Key::Theme
                .kind()
                .expected()
                .split([' ', ','])
                .filter(|w| Palette::from_name(w).is_some())
                .count()
                == 5
        );
    }

    #[test]
    fn every_mistake_is_said() {
        let it = settled("them = 1\nfoot-switch = \"pedal\"\n[keys.bench]\ntake = \"w\"\n");
        let problems = it.problems();
        assert_eq!(problems.len(), 3, "{problems:#?}");
        assert!(problems[0].contains("'theme'") && problems[1].contains("'wrong-toner'"), "{problems:#?}");
        assert_eq!(it.preferences().foot_switch, None);
    }
}
