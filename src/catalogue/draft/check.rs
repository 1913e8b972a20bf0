//! From a draft to a colour, or to everything that is wrong with it.

use super::{Draft, DraftLayer, Fault, Field};
use crate::catalogue::clean::printable;
use crate::catalogue::code::{fold, same};
use crate::catalogue::nearest::nearest;
use crate::catalogue::problem::quoted;
use crate::catalogue::retired::is_day;
use crate::catalogue::{
    Colour, ColourCode, Finish, Layer, Part, Retired, Role, Swatch, Toner, TonerCode, Word,
};
use crate::units::{Decimal, is_unprintable, parse_decimal_with_comma};

/// What was found so far.
struct Found(Vec<Fault>);

impl Found {
    fn fault(&mut self, field: Field, what: impl Into<String>, hint: impl Into<String>) {
        self.0.push(Fault { field, what: printable(&what.into()), hint: Some(hint.into()), instead: None });
    }

    /// A wrong word or code, with the nearest right one if there is one.
    fn unknown(&mut self, field: Field, what: &str, near: Option<&str>, otherwise: String) {
        let hint = near.map_or(otherwise, |near| format!("Did you mean '{near}'?"));
        let what = printable(what);
        self.0.push(Fault { field, what, hint: Some(hint), instead: near.map(str::to_owned) });
    }

    /// Text that can be printed, blanks round it removed; empty text is a fault where it is needed.
    fn text(&mut self, field: Field, noun: &str, typed: &str, needed: bool) -> Option<String> {
        let text = typed.trim();
        if text.chars().any(is_unprintable) {
            let what = format!("the {noun} holds a character that cannot be printed: {}", quoted(text));
            self.fault(field, what, "Write it again by hand; it may have been pasted along.");
            return None;
        }
        if text.is_empty() {
            if needed {
                self.fault(field, format!("the {noun} is empty"), "Write at least one character.");
            }
            return None;
        }
        Some(text.to_owned())
    }

    fn word<W: Word>(&mut self, field: Field, typed: &str) -> Option<W> {
        if let Some(word) = W::from_word(typed) {
            return Some(word);
        }
        let words: Vec<_> = W::ALL.iter().map(|one| one.word()).collect();
        let what = match typed.trim() {
            "" => format!("nothing is written where {} belongs", W::NOUN),
            text => format!("{} is not {}", quoted(text), W::NOUN),
        };
        let listed = format!("Write one of {}.", words.join(", "));
        self.unknown(field, &what, nearest(typed, words), listed);
        None
    }
}

impl Draft {
    /// The colour it describes, or everything that is wrong with it, in the order of its fields.
    ///
    /// `toners` are those of the shop; `others` the codes and variants of its other colours, without the one that is
    /// being changed.
    ///
    /// # Errors
    /// At least one fault.
    pub fn check<'a>(
        &self,
        toners: &[Toner],
        others: impl IntoIterator<Item = (&'a str, &'a str)>,
    ) -> Result<Colour, Vec<Fault>> {
        let mut found = Found(Vec::new());
        let code = found.text(Field::Code, "code", &self.code, true);
        let name = found.text(Field::Name, "name", &self.name, true);
        let variant = found.text(Field::Variant, "variant", self.variant(), true);
        if let (Some(code), Some(variant)) = (&code, &variant)
            && others.into_iter().any(|(other, shade)| same(other, code) && same(shade, variant))
        {
            let (code, variant) = (quoted(code), quoted(variant));
            let what = format!("there is a colour {code} with the variant {variant} already");
            let field = if self.variant.trim().is_empty() { Field::Code } else { Field::Variant };
            found.fault(field, what, "Give this one another code or variant, or change the other.");
        }
        let finish = found.word::<Finish>(Field::Finish, &self.finish);
        let swatch = self.swatch(&mut found);
        let retired = self.retired(&mut found);
        let layers = self.layers(&mut found, toners);
        let colour = (|| {
            Some(Colour {
                code: ColourCode::new(code?),
                name: name?,
                finish: finish?,
                variant: variant?,
                swatch,
                layers: layers?,
                retired,
                source: None,
            })
        })();
        match colour {
            Some(colour) if found.0.is_empty() => Ok(colour),
            _ => Err(found.0),
        }
    }

    fn swatch(&self, found: &mut Found) -> Option<Swatch> {
        if self.swatch.trim().is_empty() {
            return None;
        }
        let read = Swatch::parse(&self.swatch);
        if read.is_none() {
            let what = format!("{} is not a swatch", quoted(self.swatch.trim()));
            found.fault(Field::Swatch, what, "Write # and six hexadecimal digits, like #f2f1ec, or nothing.");
        }
        read
    }

    fn retired(&self, found: &mut Found) -> Option<Retired> {
        let on = self.retired.trim();
        let because = found.text(Field::RetiredBecause, "reason", &self.retired_because, false);
        if on.is_empty() {
            if because.is_some() {
                let what = "it is said why the colour is retired, but not since when";
                found.fault(Field::Retired, what, "Write the day, like 2026-11-25, or take the reason out.");
            }
        } else if !is_day(on) {
            let what = format!("{} is not a day", quoted(on));
            found.fault(Field::Retired, what, "Write year, month and day, like 2026-11-25.");
        }
        is_day(on).then(|| Retired { on: on.to_owned(), because })
    }

    fn layers(&self, found: &mut Found, toners: &[Toner]) -> Option<Vec<Layer>> {
        if self.layers.is_empty() {
            found.fault(Field::Layers, "this colour has no layers", "Add one, like base.");
            return None;
        }
        let mut roles: Vec<Role> = Vec::new();
        let mut layers = Vec::new();
        for (layer, draft) in self.layers.iter().enumerate() {
            let field = Field::Role { layer };
            let role = found.word::<Role>(field, &draft.role);
            if let Some(role) = role {
                if roles.contains(&role) {
                    let what = format!("this colour has two layers with the role '{role}'");
                    found.fault(field, what, "Take one of them out, or give it another role.");
                }
                roles.push(role);
            }
            let pours = draft.pours(found, layer, toners);
            if let (Some(role), Some(pours)) = (role, pours) {
                layers.push(Layer {
                    role,
                    pours,
                    product: draft.product.clone(),
                    shade: draft.shade.clone(),
                });
            }
        }
        (layers.len() == self.layers.len()).then_some(layers)
    }
}

impl DraftLayer {
    fn pours(&self, found: &mut Found, layer: usize, toners: &[Toner]) -> Option<Vec<Part>> {
        if self.rows.is_empty() {
            found.fault(
                Field::Rows { layer },
                "this layer has no toners",
                "Add at least one, or take the layer out.",
            );
            return None;
        }
        let mut seen: Vec<String> = Vec::new();
        let mut pours = Vec::new();
        for (row, draft) in self.rows.iter().enumerate() {
            let field = Field::Toner { layer, row };
            let toner = toner(found, field, &draft.toner, toners);
            if let Some(code) = &toner {
                let folded = fold(code.as_str());
                if let Some(first) = seen.iter().position(|earlier| *earlier == folded) {
                    let what = format!("{} is poured twice in this layer", quoted(code.as_str()));
                    found.fault(
                        field,
                        what,
                        format!("It stands in row {} too. Add the two together.", first + 1),
                    );
                }
                seen.push(folded);
            } else {
                // it keeps the rows' numbers right, and is the same as none
                seen.push(String::new());
            }
            let parts = parts(found, Field::Parts { layer, row }, &draft.parts);
            if let (Some(toner), Some(parts)) = (toner, parts) {
                pours.push(Part { toner, parts });
            }
        }
        (pours.len() == self.rows.len()).then_some(pours)
    }
}

/// The toner's code in its own spelling.
fn toner(found: &mut Found, field: Field, typed: &str, toners: &[Toner]) -> Option<TonerCode> {
    let text = found.text(field, "toner", typed, true)?;
    let folded = fold(&text);
    if let Some(toner) = toners.iter().find(|toner| fold(toner.code.as_str()) == folded) {
        return Some(toner.code.clone());
    }
    let near = nearest(&text, toners.iter().map(|toner| toner.code.as_str()));
    let what = format!("there is no toner with the code {}", quoted(&text));
    found.unknown(field, &what, near, "Add it to toners.toml, or correct the code here.".to_owned());
    None
}

/// Parts by mass, with the digits as they were typed.
fn parts(found: &mut Found, field: Field, typed: &str) -> Option<Decimal> {
    match parse_decimal_with_comma(typed) {
        Ok(parts) if parts > Decimal::ZERO => Some(parts),
        Ok(parts) => {
            found.fault(
                field,
                format!("the parts are {parts}"),
                "Write a number of parts by mass, more than zero.",
            );
            None
        }
        Err(error) => {
            let what = format!("the parts cannot be read: {}", crate::units::clean(&error.to_string()));
            found.fault(field, what, "Write a number of parts by mass, like 12.5 or 12,5.");
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::catalogue::draft::DraftRow;
    use rstest::rstest;

    fn demo() -> Catalogue {
        Catalogue::demo()
    }

    fn bluethroat() -> Draft {
        Draft::of(demo().colour("PB-3171").unwrap())
    }

    #[test]
    fn a_colour_as_a_draft_is_the_same_colour() {
        let demo = demo();
        for colour in &demo.colours {
            let checked = Draft::of(colour).check(&demo.toners, []).unwrap();
            assert!(checked.says_the_same(colour), "{}", colour.code);
        }
    }

    #[test]
    fn a_comma_is_a_decimal_point_and_the_digits_stay() {
        let mut draft = bluethroat();
        draft.layers[0].rows[0] = DraftRow { toner: " m85 ".into(), parts: "281,50".into() };
        let colour = draft.check(&demo().toners, []).unwrap();
        assert_eq!(colour.layers[0].pours[0].toner.as_str(), "M85");
        assert_eq!(colour.layers[0].pours[0].parts.to_string(), "281.50");
    }

    #[rstest]
    #[case(|d: &mut Draft| d.code.clear(), Field::Code, "empty", None)]
    #[case(|d: &mut Draft| d.name = "a\u{1b}[2J".into(), Field::Name, "cannot be printed", None)]
    #[case(|d: &mut Draft| d.variant = "\u{202e}".into(), Field::Variant, "cannot be printed", None)]
    #[case(|d: &mut Draft| d.finish = "three stage".into(), Field::Finish, "is not a finish", Some("three-stage"))]
    #[case(|d: &mut Draft| d.swatch = "red".into(), Field::Swatch, "is not a swatch", None)]
    #[case(|d: &mut Draft| d.retired = "2026-02-30".into(), Field::Retired, "is not a day", None)]
    #[case(|d: &mut Draft| d.retired_because = "no tins".into(), Field::Retired, "not since when", None)]
    #[case(|d: &mut Draft| d.layers.clear(), Field::Layers, "no layers", None)]
    #[case(|d: &mut Draft| d.layers[1].role = "grund".into(), Field::Role { layer: 1 }, "is not a role", Some("ground"))]
    #[case(|d: &mut Draft| d.layers[1].role = "clear".into(), Field::Role { layer: 3 }, "two layers", None)]
    #[case(|d: &mut Draft| d.layers[2].rows.clear(), Field::Rows { layer: 2 }, "no toners", None)]
    #[case(|d: &mut Draft| d.layers[1].rows[3].toner = "W1O".into(), Field::Toner { layer: 1, row: 3 }, "no toner", Some("W10"))]
    #[case(|d: &mut Draft| d.layers[1].rows[3].toner = "b15".into(), Field::Toner { layer: 1, row: 3 }, "twice", None)]
    #[case(|d: &mut Draft| d.layers[0].rows[1].parts = "1.000,5".into(), Field::Parts { layer: 0, row: 1 }, "cannot be read", None)]
    #[case(|d: &mut Draft| d.layers[0].rows[1].parts = "0".into(), Field::Parts { layer: 0, row: 1 }, "the parts are 0", None)]
    #[case(|d: &mut Draft| d.layers[0].rows[1].parts.clear(), Field::Parts { layer: 0, row: 1 }, "nothing is there", None)]
    fn a_mistake_is_named_at_its_field(
        #[case] change: fn(&mut Draft),
        #[case] field: Field,
        #[case] part: &str,
        #[case] instead: Option<&str>,
    ) {
        let mut draft = bluethroat();
        change(&mut draft);
        let faults = draft.check(&demo().toners, []).unwrap_err();
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert_eq!((faults[0].field, faults[0].instead.as_deref()), (field, instead));
        assert!(faults[0].sentence().contains(part), "{}", faults[0].sentence());
        assert!(!faults[0].sentence().chars().any(is_unprintable));
    }

    #[test]
    fn all_mistakes_are_named_at_once() {
        let nothing = Draft {
            layers: vec![DraftLayer {
                role: String::new(),
                rows: vec![DraftRow::default()],
                ..DraftLayer::default()
            }],
            ..Draft::default()
        };
        let faults = nothing.check(&demo().toners, []).unwrap_err();
        let fields: Vec<_> = faults.iter().map(|fault| fault.field).collect();
        let (layer, row) = (0, 0);
        let expected = [
            Field::Code,
            Field::Name,
            Field::Finish,
            Field::Role { layer },
            Field::Toner { layer, row },
            Field::Parts { layer, row },
        ];
        assert_eq!(fields, expected);
    }

    #[test]
    fn a_copy_needs_a_name_of_its_own() {
        let demo = demo();
        let colour = demo.colour("PB-3171").unwrap();
        let taken = || demo.colours.iter().map(|c| (c.code.as_str(), c.variant.as_str()));
        let mut copy = Draft::copy(colour);
        assert_eq!(copy.check(&demo.toners, taken()).unwrap_err()[0].field, Field::Code);
        copy.variant = "Standard ".into();
        assert_eq!(copy.check(&demo.toners, taken()).unwrap_err()[0].field, Field::Variant);
        copy.variant = "darker".into();
        assert_eq!(copy.check(&demo.toners, taken()).unwrap().variant, "darker");
    }
}
