//! The product a mix was made with: as the mix itself says, or as near to it as its job, its toners and the shop's files come.

use crate::catalogue::{Catalogue, Product, Role, TonerCode};

/// From where it is known with what a mix was made. All but the mix itself may have changed since.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum KnownBy {
    /// The mix: it was made ready to spray with it.
    Mix,
    /// The plan of its job.
    Job,
    /// The layer's formula in the shop's files names it.
    Formula,
    /// What is in the mix came out of its tin.
    Tin,
    /// The formula names none: it is the first that the shop's files have for such layers.
    Usual,
    /// There is no formula either: it is the first for such layers, whatever colour it was.
    First,
}

impl KnownBy {
    /// How it was guessed, for a reader; none where the mix says it.
    pub const fn guessed(self) -> Option<&'static str> {
        match self {
            Self::Mix => None,
            Self::Job => Some("the mix does not say; its job names it"),
            Self::Formula => Some("the mix does not say; today's formula names it"),
            Self::Tin => Some("the mix does not say; its tin was poured"),
            Self::Usual => {
                Some("guessed: neither mix nor formula says; today it is the first for such layers")
            }
            Self::First => Some("guessed: the mix does not say; today it is the first for such layers"),
        }
    }

    /// In a word, for a program.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mix => "mix",
            Self::Job => "job",
            Self::Formula => "formula",
            Self::Tin => "tin",
            Self::Usual => "usual",
            Self::First => "first",
        }
    }
}

/// What is known of a mix that tells with what it was made.
#[derive(Clone, Copy, Debug, Default)]
pub struct Clues<'a> {
    /// The colour's code and its variant.
    pub colour: Option<(&'a str, Option<&'a str>)>,
    /// The layer.
    pub role: Option<Role>,
    /// The product it was made ready to spray with, by its code.
    pub readied: Option<&'a str>,
    /// The product that its job names for this layer, by its code.
    pub by_job: Option<&'a str>,
    /// What is in it.
    pub toners: &'a [TonerCode],
}

/// The product a mix was made with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MadeWith<'c> {
    /// Its code.
    pub code: String,
    /// What the shop's files say of it; none where they do not have it any more.
    pub product: Option<&'c Product>,
    /// From where it is known.
    pub by: KnownBy,
}

/// With what a mix was made: what it was made ready with, else what its job names, else the formula; of a layer without a
/// formula the product whose tin was poured; else the first product for such layers. None where there is none of these.
pub fn made_with<'c>(catalogue: &'c Catalogue, clues: &Clues<'_>) -> Option<MadeWith<'c>> {
    let named = |code: &str, by| MadeWith { code: code.to_owned(), product: catalogue.product(code), by };
    if let Some(code) = clues.readied {
        return Some(named(code, KnownBy::Mix));
    }
    if let Some(code) = clues.by_job {
        return Some(named(code, KnownBy::Job));
    }
    let role = clues.role?;
    let colour = clues.colour.and_then(|(code, variant)| match variant {
        Some(variant) => catalogue.colour_variant(code, variant),
        None => catalogue.colour(code),
    });
    let formula = colour.and_then(|colour| colour.layer(role));
    if let Some(code) = formula.and_then(|layer| layer.product.as_ref()) {
        return Some(named(code.as_str(), KnownBy::Formula));
    }
    let mut fitting = catalogue.products.iter().filter(|product| product.is_for(role));
    let found = |product: &'c Product, by| {
        Some(MadeWith { code: product.code.to_string(), product: Some(product), by })
    };
    if formula.is_some() {
        return found(fitting.next()?, KnownBy::Usual);
    }
    let poured = |product: &&Product| product.tin.as_ref().is_some_and(|tin| clues.toners.contains(tin));
    match fitting.clone().find(poured) {
        Some(product) => found(product, KnownBy::Tin),
        None => found(fitting.next()?, KnownBy::First),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::ProductCode;

    /// The demo shop with a second clear from another tin, and a clear that stands before both.
    fn shop() -> Catalogue {
        let mut shop = Catalogue::demo();
        let clear = shop.product("CC-6").unwrap().clone();
        let other = |code: &str, tin: Option<&str>| Product {
            code: ProductCode::new(code),
            tin: tin.map(TonerCode::new),
            ..clear.clone()
        };
        shop.products.push(other("CC-9", Some("V92")));
        shop.products.insert(0, other("CC-0", None));
        shop
    }

    #[test]
    fn what_the_mix_says_goes_before_what_the_files_say_today() {
        let shop = shop();
        let tin = [TonerCode::new("V92")];
        let all = Clues {
            colour: Some(("PB-3140", None)),
            role: Some(Role::Clear),
            readied: Some("CC-6"),
            by_job: Some("CC-9"),
            toners: &tin,
        };
        let of = |clues: Clues<'_>| {
            let made = made_with(&shop, &clues).unwrap();
            assert_eq!(made.product.map(|product| product.code.to_string()), Some(made.code.clone()));
            (made.code, made.by)
        };
        let code = str::to_owned;
        assert_eq!(of(all), (code("CC-6"), KnownBy::Mix));
        let unready = Clues { readied: None, ..all };
        assert_eq!(of(Clues { by_job: Some("CC-6"), ..unready }), (code("CC-6"), KnownBy::Job));
        let alone = Clues { by_job: None, ..unready };
        assert_eq!(of(alone), (code("CC-9"), KnownBy::Tin), "not the first clear of the files");
        assert_eq!(of(Clues { toners: &[], ..alone }), (code("CC-0"), KnownBy::First));
        // A colour with a formula of its clear that names no product.
        let own = Clues { colour: Some(("PB-3171", None)), toners: &[], ..alone };
        let formula = shop.colour("PB-3171").unwrap().layer(Role::Clear).unwrap();
        let expected = match &formula.product {
            Some(product) => (product.to_string(), KnownBy::Formula),
            None => (code("CC-0"), KnownBy::Usual),
        };
        assert_eq!(of(own), expected);
    }

    #[test]
    fn a_product_that_is_gone_is_named_and_no_other_is_taken_for_it() {
        let shop = shop();
        let clues = Clues { role: Some(Role::Clear), readied: Some("GONE-1"), ..Clues::default() };
        let made = made_with(&shop, &clues).unwrap();
        assert_eq!((made.code.as_str(), made.product, made.by), ("GONE-1", None, KnownBy::Mix));
        assert_eq!(made_with(&shop, &Clues::default()), None, "not even the layer is known");
    }

    #[test]
    fn only_the_mix_itself_is_no_guess() {
        use KnownBy::{First, Formula, Job, Mix, Tin, Usual};
        let guessed: Vec<KnownBy> =
            [Mix, Job, Formula, Tin, Usual, First].into_iter().filter(|by| by.guessed().is_some()).collect();
        assert_eq!(guessed, [Job, Formula, Tin, Usual, First]);
    }
}
