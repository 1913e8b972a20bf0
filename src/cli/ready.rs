//! What a layer is made ready to spray with, on the command line.

use super::{CliError, colour};
use crate::catalogue::{Catalogue, Product, TonerCode};
use crate::mix::{Additions, Recipe};

/// What it can be told of it.
#[derive(Debug, clap::Args)]
pub(super) struct Ready {
    /// Ready to spray with the layer's own product: hardener and thinner by its ratio, and the volume with them
    #[arg(long = "ready")]
    by_own: bool,
    /// Ready to spray with that product, by its code in products.toml
    #[arg(long, value_name = "CODE")]
    product: Option<String>,
    /// Which of the product's hardeners [default: its first]
    #[arg(long, value_name = "TONER")]
    hardener: Option<String>,
    /// Which of the product's thinners [default: its first]
    #[arg(long, value_name = "TONER")]
    thinner: Option<String>,
}

impl Ready {
    /// The product that was named.
    pub(super) fn named(&self) -> Option<&str> {
        self.product.as_deref()
    }

    /// The recipe made ready, if that was asked for. `named` is the colour and the variant as they were named.
    pub(super) fn of(
        &self,
        catalogue: &Catalogue,
        named: (&str, Option<&str>),
        recipe: Recipe,
    ) -> Result<Recipe, CliError> {
        let asked = self.by_own || self.product.is_some();
        if !asked {
            return match self.hardener.as_ref().or(self.thinner.as_ref()) {
                Some(_) => {
                    Err(CliError::wrong("a hardener or thinner goes in only with --ready or --product CODE"))
                }
                None => Ok(recipe),
            };
        }
        let product = self.product_of(catalogue, named, &recipe)?;
        let [hardener, thinner] =
            [&self.hardener, &self.thinner].map(|said| said.as_deref().map(|code| toner(catalogue, code)));
        let chosen = Additions { hardener: hardener.as_ref(), thinner: thinner.as_ref() };
        recipe.activated(catalogue, product, chosen).map_err(CliError::failed)
    }

    fn product_of<'a>(
        &self,
        catalogue: &'a Catalogue,
        (wanted, variant): (&str, Option<&str>),
        recipe: &Recipe,
    ) -> Result<&'a Product, CliError> {
        if let Some(code) = &self.product {
            return catalogue.product(code).ok_or_else(|| {
                let has: Vec<_> = catalogue.products.iter().map(|product| product.code.as_str()).collect();
                CliError::failed(format!("there is no product '{code}' in products.toml"))
                    .hint(format!("The products are: {}.", has.join(", ")))
            });
        }
        let colour = colour::colour(catalogue, wanted, variant)?;
        let layer = catalogue.layer_of(colour, recipe.role, None);
        let product = layer.and_then(|layer| catalogue.product_for(&layer));
        product.ok_or_else(|| {
            CliError::failed(format!("the shop has no product for the {}", recipe.role.name()))
                .hint("Write it into products.toml from its data sheet.")
        })
    }
}

/// The toner's code as the shop spells it.
fn toner(catalogue: &Catalogue, code: &str) -> TonerCode {
    catalogue.toner(code).map_or_else(|| TonerCode::new(code), |toner| toner.code.clone())
}
