//! The name of a new colour's file: from its name, in letters that every system and every keyboard has.

use crate::catalogue::code::same;
use crate::catalogue::{Colour, STANDARD};

/// The longest name without its ending and number.
const MOST: usize = 60;

/// A name like `foehn-wall.toml`, or with a variant `foehn-wall-darker.toml`. Never one that `taken` knows: names are
/// asked for in small letters, and a number is added until one is free.
pub fn file_name(colour: &Colour, taken: impl Fn(&str) -> bool) -> String {
    let mut stem = slug(&colour.name);
    if stem.is_empty() {
        stem = slug(colour.code.as_str());
    }
    if stem.is_empty() {
        "colour".clone_into(&mut stem);
    }
    if !same(&colour.variant, STANDARD) {
        let variant = slug(&colour.variant);
        if !variant.is_empty() {
            stem = format!("{stem}-{variant}");
        }
    }
    stem.truncate(MOST);
    let stem = stem.trim_end_matches('-');
    let numbered = (2_u64..).map(|number| format!("{stem}-{number}.toml"));
    std::iter::once(format!("{stem}.toml")).chain(numbered).find(|name| !taken(name)).unwrap_or_default()
}

/// Small letters, digits and single hyphens.
fn slug(text: &str) -> String {
    let mut slug = String::new();
    for c in text.to_lowercase().chars() {
        let folded = match c {
            c if c.is_ascii_alphanumeric() => {
                slug.push(c);
                continue;
            }
            'ä' | 'æ' => "ae",
            'ö' | 'ø' | 'œ' => "oe",
            'ü' => "ue",
            'å' => "aa",
            'ß' => "ss",
            'þ' => "th",
            'à' | 'á' | 'â' | 'ã' | 'ā' | 'ă' | 'ą' => "a",
            'ç' | 'ć' | 'č' => "c",
            'ð' | 'ď' | 'đ' => "d",
            'è' | 'é' | 'ê' | 'ë' | 'ē' | 'ė' | 'ę' | 'ě' => "e",
            'ğ' => "g",
            'ì' | 'í' | 'î' | 'ï' | 'ī' | 'ı' => "i",
            'ł' => "l",
            'ñ' | 'ń' | 'ň' => "n",
            'ò' | 'ó' | 'ô' | 'õ' | 'ő' => "o",
            'ř' => "r",
            'ś' | 'ş' | 'š' | 'ș' => "s",
            'ť' | 'ț' => "t",
            'ù' | 'ú' | 'û' | 'ū' | 'ů' | 'ű' => "u",
            'ý' | 'ÿ' => "y",
            'ź' | 'ż' | 'ž' => "z",
            '\'' | '’' => "",
            _ if slug.is_empty() || slug.ends_with('-') => "",
            _ => "-",
        };
        slug.push_str(folded);
    }
    slug.trim_end_matches('-').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::{Catalogue, demo};

    #[test]
    fn the_names_of_the_invented_shop_are_made_so() {
        for colour in Catalogue::demo().colours {
            let name = file_name(&colour, |_| false);
            assert!(demo::FILES.iter().any(|(path, _)| *path == format!("colours/{name}")), "{name}");
        }
    }

    #[test]
    fn a_name_is_never_taken_twice_and_never_leaves_the_folder() {
        let mut colour = Catalogue::demo().colours.remove(0);
        let name = |colour: &Colour, taken: &[&str]| file_name(colour, |name| taken.contains(&name));
        colour.name = "../../Gros  Œuf d'été / №5".into();
        assert_eq!(name(&colour, &[]), "gros-oeuf-dete-5.toml");
        assert_eq!(
            name(&colour, &["gros-oeuf-dete-5.toml", "gros-oeuf-dete-5-2.toml"]),
            "gros-oeuf-dete-5-3.toml"
        );
        colour.name = "雪".into();
        assert_eq!(name(&colour, &[]), "pb-3171.toml");
        colour.name = "x".repeat(300);
        assert_eq!(name(&colour, &[]).len(), MOST + ".toml".len());
    }
}
