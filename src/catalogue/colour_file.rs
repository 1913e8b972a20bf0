//! `colours/*.toml`: one colour a file.

use super::code::fold;
use super::colour::STANDARD;
use super::fields::{At, Fields, Reported, Tables};
use super::nearest::nearest;
use super::page::Page;
use super::problem::{Problem, quoted};
use super::retired;
use super::{
    Colour, ColourCode, Finish, Layer, Part, Product, ProductCode, Role, Toner, TonerCode, TonerKind,
};
use crate::units::Decimal;
use std::collections::HashMap;

/// The toners a formula may name.
pub(super) struct Known<'a> {
    /// By folded code.
    toners: HashMap<String, &'a Toner>,
    /// As [`super::toner_file::Toners::broken`].
    broken: &'a HashMap<String, String>,
    /// `false` if the toners' own file could not be read at all, so that no toner is known to be missing.
    complete: bool,
    /// The products a layer may name; none where they are not known, so that none is known to be missing.
    products: Option<KnownProducts<'a>>,
}

/// The products a layer may name.
#[derive(Clone, Copy)]
struct KnownProducts<'a> {
    products: &'a [Product],
    /// As [`super::product_file::Products::broken`].
    broken: &'a HashMap<String, String>,
}

impl<'a> Known<'a> {
    pub(super) fn new(toners: &'a [Toner], broken: &'a HashMap<String, String>, complete: bool) -> Self {
        let toners = toners.iter().map(|toner| (fold(toner.code.as_str()), toner)).collect();
        Self { toners, broken, complete, products: None }
    }

    /// The same, and the products a layer may name.
    pub(super) fn with_products(self, products: &'a [Product], broken: &'a HashMap<String, String>) -> Self {
        Self { products: Some(KnownProducts { products, broken }), ..self }
    }

    /// The toner's kind, if it is known.
    pub(super) fn kind(&self, code: &str) -> Option<TonerKind> {
        self.toners.get(&fold(code)).map(|toner| toner.kind)
    }

    /// The product's code in its own spelling. The formula holds without it, so that one that is not there is only
    /// warned of.
    fn product(&self, page: &mut Page<'_>, code: At<String>, role: Option<Role>) -> ProductCode {
        let Some(KnownProducts { products, broken }) = self.products else {
            return ProductCode::new(code.value);
        };
        let folded = fold(&code.value);
        if let Some(product) = products.iter().find(|product| fold(product.code.as_str()) == folded) {
            if let Some(role) = role.filter(|role| !product.is_for(*role)) {
                let what = format!("the product {} is not for a {}", quoted(&code.value), role.name());
                let hint = "Name another here, or add the role to its roles in products.toml.";
                page.report(page.warning(code.offset, what).hint(hint));
            }
            return product.code.clone();
        }
        let problem = if let Some(location) = broken.get(&folded) {
            let what = format!("the product {} is there, but left out itself", quoted(&code.value));
            page.warning(code.offset, what).hint(format!("Put it right first, at {location}."))
        } else {
            let what = format!("there is no product with the code {}", quoted(&code.value));
            let near = nearest(&code.value, products.iter().map(|product| product.code.as_str()));
            let near = near.and_then(|near| products.iter().find(|product| product.code.as_str() == near));
            page.warning(code.offset, what).expected("a code from products.toml").hint(match near {
                Some(near) => format!("Did you mean '{}' ({})?", near.code, near.name),
                None => "Add the product there, or correct the code here.".to_owned(),
            })
        };
        page.report(problem);
        ProductCode::new(code.value)
    }

    /// The code in the toner's own spelling.
    pub(super) fn toner(&self, page: &mut Page<'_>, code: &At<String>) -> Result<TonerCode, Reported> {
        let folded = fold(&code.value);
        if let Some(toner) = self.toners.get(&folded) {
            return Ok(toner.code.clone());
        }
        if !self.complete {
            return Ok(TonerCode::new(code.value.clone()));
        }
        let problem = if let Some(location) = self.broken.get(&folded) {
            page.error(
                code.offset,
                format!("the toner {} is there, but left out itself", quoted(&code.value)),
            )
            .hint(format!("Put it right first, at {location}."))
        } else {
            let problem =
                page.error(code.offset, format!("there is no toner with the code {}", quoted(&code.value)));
            // Sorted, so that of two equally near codes it is always the same one.
            let mut codes: Vec<_> = self.toners.values().map(|toner| toner.code.as_str()).collect();
            codes.sort_unstable();
            let near = nearest(&code.value, codes).and_then(|near| self.toners.get(&fold(near)));
            problem.expected("a code from toners.toml").hint(match near {
                Some(near) => format!("Did you mean '{}' ({})?", near.code, near.name),
                None => "Add the toner there, or correct the code here.".to_owned(),
            })
        };
        page.report(problem);
        Err(Reported)
    }
}

/// Reads the file; `None` if anything in it is wrong. With the colour comes the place of its code.
pub(super) fn read(page: &mut Page<'_>, known: &Known<'_>) -> Option<At<Colour>> {
    let document = page.parse()?;
    read_colour(page, Fields::of_file(document.as_table(), "colour"), known).ok()
}

/// The file's colour whatever toners there are; `None` if anything else in it is wrong.
pub(super) fn read_alone(text: &str) -> Option<Colour> {
    read_with("", text, &Known::new(&[], &HashMap::new(), false)).0
}

/// As [`read`], from a text of its own: the colour, and what is wrong.
pub(super) fn read_with(file: &str, text: &str, known: &Known<'_>) -> (Option<Colour>, Vec<Problem>) {
    let mut page = Page::new(file, text, "colour");
    let colour = read(&mut page, known).map(|at| at.value);
    (colour, page.into_problems())
}

fn read_colour(page: &mut Page<'_>, file: Fields<'_>, known: &Known<'_>) -> Result<At<Colour>, Reported> {
    let only = file
        .only(page, &["code", "name", "finish", "variant", "swatch", "retired", "retired-because", "layer"]);
    let code = file.need(page, "code", "code = \"PB-3140\"", Fields::text);
    let name = file.need(page, "name", "name = \"Gannet White\"", Fields::text);
    let finish = file.need(page, "finish", "finish = \"two-stage\"", Fields::word);
    let variant = file.text(page, "variant");
    let swatch = file.swatch(page, "swatch");
    let retired = retired::read(page, file);
    let layers = file.need(page, "layer", "[[layer]]", |file, page, key| file.tables(page, key, "layer"));
    let layers = layers.and_then(|list| read_layers(page, &list, known));
    if let (Ok(finish), Ok(layers)) = (&finish, &layers) {
        check_finish(page, finish, layers);
    }

    only?;
    let At { value: code, offset } = code?;
    let colour = Colour {
        code: ColourCode::new(code),
        name: name?.value,
        finish: finish?.value,
        variant: variant?.map_or_else(|| STANDARD.to_owned(), |at| at.value),
        swatch: swatch?.map(|at| at.value),
        layers: layers?.into_iter().map(|layer| layer.value).collect(),
        retired: retired?,
        source: Some(page.source()),
    };
    Ok(At { value: colour, offset })
}

/// The layers, each with the place of its role.
fn read_layers(
    page: &mut Page<'_>,
    list: &At<Tables<'_>>,
    known: &Known<'_>,
) -> Result<Vec<At<Layer>>, Reported> {
    let mut layers: Vec<At<Layer>> = Vec::new();
    let mut roles: Vec<At<Role>> = Vec::new();
    let mut result = if list.value.complete { Ok(()) } else { Err(Reported) };
    if list.value.tables.is_empty() && list.value.complete {
        page.report(page.error(list.offset, "this colour has no layers").hint("Add a [[layer]]."));
        result = Err(Reported);
    }
    for &table in &list.value.tables {
        let only = table.only(page, &["role", "product", "shade", "pours"]);
        let role = table.need(page, "role", "role = \"base\"", Fields::word::<Role>);
        let pours = table.need(
            page,
            "pours",
            "pours = [ { toner = \"W10\", parts = \"1\" } ]",
            |table, page, key| table.tables(page, key, "pour"),
        );
        let pours = pours.and_then(|list| read_pours(page, &list, known));
        let product = table
            .text(page, "product")
            .map(|at| at.map(|at| known.product(page, at, role.as_ref().ok().map(|role| role.value))));
        let shade = table.text(page, "shade").map(|at| at.map(|at| at.value));
        if let Ok(role) = role {
            if let Some(first) = roles.iter().find(|first| first.value == role.value) {
                let problem = page
                    .error(role.offset, format!("this colour has two layers with the role '{}'", role.value))
                    .hint(format!("The first is at {}. Take one of them out.", page.location(first.offset)));
                page.report(problem);
                result = Err(Reported);
            }
            roles.push(role);
        }
        match (only, role, pours, product, shade) {
            (Ok(()), Ok(role), Ok(pours), Ok(product), Ok(shade)) => {
                let layer = Layer { role: role.value, pours, product, shade };
                layers.push(At { value: layer, offset: role.offset });
            }
            _ => result = Err(Reported),
        }
    }
    result.map(|()| layers)
}

fn read_pours(page: &mut Page<'_>, list: &At<Tables<'_>>, known: &Known<'_>) -> Result<Vec<Part>, Reported> {
    let mut parts = Vec::new();
    let mut first_at: HashMap<String, usize> = HashMap::new();
    let mut result = if list.value.complete { Ok(()) } else { Err(Reported) };
    if list.value.tables.is_empty() && list.value.complete {
        let problem = page
            .error(list.offset, "this layer has no pours")
            .expected("at least one, like { toner = \"W10\", parts = \"1\" }");
        page.report(problem);
        result = Err(Reported);
    }
    for &table in &list.value.tables {
        let only = table.only(page, &["toner", "parts"]);
        let code = table.need(page, "toner", "toner = \"W10\"", Fields::text);
        let amount = table.need(page, "parts", "parts = \"3.15\"", parts_by_mass);
        let toner = code.and_then(|code| {
            let toner = known.toner(page, &code);
            let Some(&first) = first_at.get(&fold(&code.value)) else {
                first_at.insert(fold(&code.value), code.offset);
                return toner;
            };
            let problem = page
                .error(code.offset, format!("{} is poured twice in this layer", quoted(&code.value)))
                .hint(format!("The first is at {}. Add the two together.", page.location(first)));
            page.report(problem);
            Err(Reported)
        });
        match (only, toner, amount) {
            (Ok(()), Ok(toner), Ok(amount)) => parts.push(Part { toner, parts: amount.value }),
            _ => result = Err(Reported),
        }
    }
    result.map(|()| parts)
}

fn parts_by_mass(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Result<Option<At<Decimal>>, Reported> {
    table.positive(page, key, "parts by mass")
}

/// Warns of layers that the finish lacks or has no place for.
fn check_finish(page: &mut Page<'_>, finish: &At<Finish>, layers: &[At<Layer>]) {
    let At { value: finish, offset } = *finish;
    let roles: Vec<Role> = layers.iter().map(|layer| layer.value.role).collect();
    let hint = match Finish::fitting(&roles) {
        Some(other) => format!("Its layers are those of a {other} colour."),
        None => "Correct the finish or the layers.".to_owned(),
    };
    let missing = finish.needs().iter().filter(|role| !roles.contains(role));
    for role in missing {
        let what = format!("this {finish} colour has no {}", role.name());
        page.report(page.warning(offset, what).hint(&hint));
    }
    for layer in layers.iter().filter(|layer| finish.excludes().contains(&layer.value.role)) {
        let what = format!("a {finish} colour has no place for a layer with the role '{}'", layer.value.role);
        page.report(page.warning(layer.offset, what).hint(&hint));
    }
}
