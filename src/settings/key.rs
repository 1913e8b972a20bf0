//! Everything that can be set: a name, a kind, a default and a sentence each.

use super::country::LIMITS;
use super::kind::Kind;

macro_rules! settings {
    ($($variant:ident = $name:literal, $kind:expr, $default:expr, $environment:expr, $help:literal;)+) => {
        /// Something that can be set.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Key {
            $(#[doc = concat!("`", $name, "`")] $variant),+
        }

        impl Key {
            /// All of them, as they are listed.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The name, as `hands-free.dwell`: in the file a table and a key.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),+ }
            }

            /// What kind of value it has.
            pub const fn kind(self) -> Kind {
                match self { $(Self::$variant => $kind),+ }
            }

            /// What holds where nothing was said; none if nothing does.
            pub const fn default(self) -> Option<&'static str> {
                match self { $(Self::$variant => $default),+ }
            }

            /// The environment variable that stands for it.
            pub const fn environment(self) -> Option<&'static str> {
                match self { $(Self::$variant => $environment),+ }
            }

            /// What it does, in a sentence.
            pub const fn help(self) -> &'static str {
                match self { $(Self::$variant => $help),+ }
            }
        }
    };
}

const PALETTES: &[&str] = &["dark", "light", "high-contrast", "blue-orange", "mono"];
/// The efflux cups that are known; `job::FlowCup` knows what their seconds are.
const FLOW_CUPS: &[&str] = &[
    "ISO 3 mm", "ISO 4 mm", "ISO 5 mm", "ISO 6 mm", "DIN 4 mm", "Ford 1", "Ford 2", "Ford 3", "Ford 4",
    "Ford 5", "Zahn 1", "Zahn 2", "Zahn 3", "Zahn 4", "Zahn 5",
];

settings! {
    Shop = "shop", Kind::Path, None, Some("POURBOOK_SHOP"),
        "The folder with toners.toml, cups.toml and colours.";
    DemoShop = "demo-shop", Kind::Switch, Some("false"), None,
        "Whether the invented shop inside the program is used instead of a folder.";
    Book = "book", Kind::Path, None, Some("POURBOOK_BOOK"), "The book, in which every gram is.";
    Scale = "scale", Kind::Address, None, Some("POURBOOK_SCALE"), "The scale's address.";
    Painter = "painter", Kind::Text, None, None, "Who weighs: the name that stands on each event in the book.";
    Country = "country", Kind::Country, None, None,
        "The country, which settles the decimal sign, the measures and the limits where nothing else is said.";
    Limits = "limits", Kind::Choice(LIMITS), Some("none"), None, "Whose limits of solvents apply.";
    Decimal = "decimal", Kind::Choice(&["point", "comma"]), Some("point"), None, "The sign before the decimals.";
    Mass = "mass", Kind::Choice(&["grams", "ounces"]), Some("grams"), None, "The unit in which masses are shown.";
    Volume = "volume", Kind::Choice(&["millilitres", "us", "imperial"]), Some("millilitres"), None,
        "The measures in which volumes are shown and typed.";
    Theme = "theme", Kind::Choice(PALETTES), Some("dark"), None, "The colours of the screen; NO_COLOR wins over it.";
    Symbols = "symbols", Kind::Choice(&["auto", "unicode", "ascii"]), Some("auto"), None,
        "The signs the screen is drawn with; auto goes by the locale.";
    Colours = "colours", Kind::Choice(&["auto", "16", "true"]), Some("auto"), None,
        "How many colours the terminal shows; auto goes by COLORTERM.";
    Mouse = "mouse", Kind::Switch, Some("false"), None,
        "Whether the mouse is heeded; while it is, text is copied with Shift held in most terminals.";
    FootSwitch = "foot-switch", Kind::Text, None, None,
        "A key that does the first thing on the bottom line everywhere, as F13.";
    Tolerance = "tolerance", Kind::Percent, Some("1 %"), None,
        "How far from its target a pour may be and still be right, for toners of which toners.toml says nothing.";
    LeadDays = "order.lead-days", Kind::Days(1, 365), Some("7"), None,
        "How many days an order of toner takes to come.";
    Service = "order.service", Kind::Service, Some("95 %"), None,
        "How often a toner is to last until its order has come.";
    JobTransfer = "job.transfer", Kind::Percent, Some("60 %"), None,
        "Which share of the paint's solids stays on what is sprayed, for products of which products.toml says nothing.";
    JobInGun = "job.in-gun", Kind::Volume, Some("40 mL"), None, "How much paint stays in gun and strainer.";
    JobCard = "job.card", Kind::Area, Some("0.03 m2"), None, "How large a spray-out card is.";
    JobCards = "job.cards", Kind::Number(0, 9), Some("4"), None,
        "How many spray-out cards a job gets, with one coat, two, and so on; they are counted in until a card is chosen.";
    JobShort = "job.short-costs", Kind::Number(1, 999), Some("9"), None,
        "How many times as much it costs to be short of a millilitre as to have one left; with 9 a mix is to be enough nine times in ten.";
    FlowCup = "job.flow-cup", Kind::Choice(FLOW_CUPS), None, None,
        "The cup on the bench that viscosities are measured with; a product's seconds are said in it too where both cups' equations hold.";
    LabelPrint = "label-print", Kind::FileCommand, None, None,
        "The program that prints a mixed cup's label, a PDF of 62 by 100 mm that stands where it says {file}; no shell is asked.";
    HandsFree = "hands-free.on", Kind::Switch, Some("true"), None,
        "Whether a steady right pour is taken without a key when the bench opens.";
    Dwell = "hands-free.dwell", Kind::Milliseconds(300, 10_000), Some("1200"), None,
        "For how many milliseconds a weight must stand still before it is taken without a key.";
    TakeWithin = "hands-free.take-within", Kind::Percent, Some("100 %"), None,
        "Within which part of its tolerance a pour is taken without a key.";
    Quiet = "sounds.quiet", Kind::Switch, Some("false"), None, "Whether nothing is to be heard.";
    SoundCommand = "sounds.command", Kind::Text, None, None,
        "A program to be run for a sound instead of the bell; the sound's name is added to what it is told.";
    SoundRight = "sounds.right", Kind::Pattern, Some("x"), None, "What is heard when a pour is right.";
    SoundOver = "sounds.over", Kind::Pattern, Some("x x x"), None, "What is heard when a pour is over.";
    SoundLost = "sounds.lost", Kind::Pattern, Some("x----x"), None, "What is heard when the scale is lost.";
    SoundEaseOff = "sounds.ease-off", Kind::Pattern, Some("x x"), None,
        "What is heard when it is time to pour more slowly.";
    SoundWrongTin = "sounds.wrong-tin", Kind::Pattern, Some("x x x x"), None,
        "What is heard when the wrong tin was scanned.";
    SoundAttention = "sounds.attention", Kind::Pattern, Some("x"), None,
        "What is heard when something else wants to be looked at.";
    SoundTimer = "sounds.timer", Kind::Pattern, Some("x--x--x"), None,
        "What is heard when a time of a repair has ended: flash-off, bake, pot life, clearance.";
}

impl Key {
    /// The setting of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|key| key.name() == name)
    }

    /// The table and the key in it that the name means in the file.
    pub fn path(self) -> (Option<&'static str>, &'static str) {
        match self.name().split_once('.') {
            Some((table, key)) => (Some(table), key),
            None => (None, self.name()),
        }
    }

    /// Whether it can be settled by the country.
    pub(super) fn usual(self, country: &super::Country) -> Option<&'static str> {
        match self {
            Self::Decimal => Some(country.decimal.name()),
            Self::Volume => Some(country.volume.name()),
            Self::Limits => Some(country.limits),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fmt::Write as _;

    /// The README's settings are these. `POURBOOK_REBUILD=1` writes them anew.
    #[test]
    fn the_readme_has_the_settings_as_they_are() {
        let mut table = "| setting | what it does | can be | unless set |\n|---|---|---|---|\n".to_owned();
        for key in Key::ALL {
            let default = key.default().map_or_else(|| "-".to_owned(), |default| format!("`{default}`"));
            let can = key.kind().expected();
            let _ = writeln!(table, "| `{}` | {} | {can} | {default} |", key.name(), key.help());
        }
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
        crate::units::testing::block(&path, "settings", &table);
    }

    #[test]
    fn each_default_is_of_its_kind_and_each_name_its_own() {
        for (at, key) in Key::ALL.iter().enumerate() {
            if let Some(default) = key.default() {
                assert_eq!(key.kind().check(default), Ok(()), "{}", key.name());
            }
            assert_eq!(Key::from_name(key.name()), Some(*key));
            assert!(key.help().ends_with('.'), "{}", key.name());
            assert!(Key::ALL.iter().skip(at + 1).all(|other| other.name() != key.name()));
        }
    }
}
