//! `pourbook formula`: formulas added, copied, changed and retired, shown, and what became of them.

mod history;
mod show;

use super::places::Places;
use super::shop::{OpenShop, now, today};
use super::{CliError, colour, out};
use crate::catalogue::{
    Catalogue, Colour, Draft, DraftLayer, DraftRow, Fault, Field, changes, edited, named,
};
use clap::Subcommand;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write a new formula
    Add(Add),
    /// Write a new formula that begins as another
    Copy(Copy),
    /// Change a formula; the version before is kept
    Change(Change),
    /// Say that a formula is no longer mixed; it is never deleted
    Retire(Retire),
    /// Show a formula, or a version of it that was kept
    #[command(disable_version_flag = true)]
    Show(show::Args),
    /// The versions of a formula, what changed in each, and how many mixes were weighed from it
    History(history::Args),
}

/// Which colour a command is about.
#[derive(Debug, clap::Args)]
struct Which {
    /// The colour: its code, or words of its name that fit one only
    colour: String,
    /// Which of the shades under the same code
    #[arg(long, value_name = "NAME")]
    variant: Option<String>,
}

impl Which {
    fn find<'a>(&self, catalogue: &'a Catalogue) -> Result<&'a Colour, CliError> {
        colour::colour(catalogue, &self.colour, self.variant.as_deref())
    }
}

/// The fields of a formula, as far as they are to be written.
#[derive(Debug, clap::Args)]
struct Fields {
    /// What people call it
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    /// single-stage, two-stage or three-stage
    #[arg(long, value_name = "WORD")]
    finish: Option<String>,
    /// What it looks like, roughly: #f2f1ec
    #[arg(long, value_name = "COLOUR")]
    swatch: Option<String>,
    /// A toner put in at the end of a layer: ground/W10=812.4; a layer that is not there is put in too
    #[arg(long, value_name = "LAYER/TONER=PARTS")]
    add: Vec<String>,
}

#[derive(Debug, clap::Args)]
struct Add {
    /// The colour's code
    #[arg(long, value_name = "CODE")]
    code: String,
    /// Which of the shades under the same code [default: standard]
    #[arg(long, value_name = "NAME")]
    variant: Option<String>,
    #[command(flatten)]
    fields: Fields,
}

#[derive(Debug, clap::Args)]
struct Copy {
    #[command(flatten)]
    which: Which,
    /// The copy's code [default: the same]
    #[arg(long, value_name = "CODE")]
    to_code: Option<String>,
    /// The copy's variant
    #[arg(long, value_name = "NAME")]
    to_variant: Option<String>,
    /// The copy's name [default: the same]
    #[arg(long, value_name = "TEXT")]
    to_name: Option<String>,
}

#[derive(Debug, clap::Args)]
struct Change {
    #[command(flatten)]
    which: Which,
    #[command(flatten)]
    fields: Fields,
    /// Other parts of a toner: ground/W10=812.4
    #[arg(long, value_name = "LAYER/TONER=PARTS")]
    set: Vec<String>,
    /// A toner, or a whole layer, taken out: ground/W10, or ground
    #[arg(long, value_name = "LAYER[/TONER]")]
    remove: Vec<String>,
}

#[derive(Debug, clap::Args)]
struct Retire {
    #[command(flatten)]
    which: Which,
    /// Why
    #[arg(long, value_name = "TEXT")]
    because: Option<String>,
    /// Since which day: 2026-11-25 [default: today]
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
    /// It is mixed again
    #[arg(long, conflicts_with_all = ["because", "on"])]
    undo: bool,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let shop = OpenShop::of(places)?;
    match &args.command {
        Command::Add(add) => write_new(&shop, &add.draft()?),
        Command::Copy(copy) => write_new(&shop, &copy.draft(&shop.catalogue)?),
        Command::Change(change) => {
            shop.to_write()?;
            let colour = change.which.find(&shop.catalogue)?;
            rewrite(&shop, colour, &change.draft(colour)?)
        }
        Command::Retire(retire) => {
            shop.to_write()?;
            let colour = retire.which.find(&shop.catalogue)?;
            rewrite(&shop, colour, &retire.draft(colour))
        }
        Command::Show(args) => show::run(&shop, args),
        Command::History(args) => history::run(places, &shop, args),
    }
}

impl Add {
    fn draft(&self) -> Result<Draft, CliError> {
        let mut draft = Draft { code: self.code.clone(), ..Draft::default() };
        draft.variant = self.variant.clone().unwrap_or_default();
        self.fields.put_into(&mut draft)?;
        Ok(draft)
    }
}

impl Copy {
    fn draft(&self, catalogue: &Catalogue) -> Result<Draft, CliError> {
        let mut draft = Draft::copy(self.which.find(catalogue)?);
        for (field, given) in [
            (&mut draft.code, &self.to_code),
            (&mut draft.variant, &self.to_variant),
            (&mut draft.name, &self.to_name),
        ] {
            if let Some(given) = given {
                field.clone_from(given);
            }
        }
        Ok(draft)
    }
}

impl Change {
    fn draft(&self, colour: &Colour) -> Result<Draft, CliError> {
        let mut draft = Draft::of(colour);
        for told in &self.remove {
            remove(&mut draft, told)?;
        }
        for told in &self.set {
            let (role, toner, parts) = row(told)?;
            let layer = layer(&mut draft, role)?;
            let at = place(layer, role, toner)?;
            if let Some(row) = layer.rows.get_mut(at) {
                parts.clone_into(&mut row.parts);
            }
        }
        self.fields.put_into(&mut draft)?;
        draft.layers.retain(|layer| !layer.rows.is_empty());
        Ok(draft)
    }
}

impl Retire {
    fn draft(&self, colour: &Colour) -> Draft {
        let mut draft = Draft::of(colour);
        if self.undo {
            draft.retired.clear();
            draft.retired_because.clear();
            return draft;
        }
        draft.retired = self.on.clone().unwrap_or_else(today);
        draft.retired_because = self.because.clone().unwrap_or_default();
        draft
    }
}

impl Fields {
    fn put_into(&self, draft: &mut Draft) -> Result<(), CliError> {
        for (field, given) in [
            (&mut draft.name, &self.name),
            (&mut draft.finish, &self.finish),
            (&mut draft.swatch, &self.swatch),
        ] {
            if let Some(given) = given {
                field.clone_from(given);
            }
        }
        for told in &self.add {
            let (role, toner, parts) = row(told)?;
            let row = DraftRow { toner: toner.to_owned(), parts: parts.to_owned() };
            match draft.layers.iter_mut().find(|layer| is_called(&layer.role, role)) {
                Some(layer) => layer.rows.push(row),
                None => draft.layers.push(DraftLayer {
                    role: role.to_owned(),
                    rows: vec![row],
                    ..DraftLayer::default()
                }),
            }
        }
        Ok(())
    }
}

fn is_called(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

/// `ground/W10=812.4`.
fn row(told: &str) -> Result<(&str, &str, &str), CliError> {
    let split = told.split_once('/').and_then(|(role, rest)| Some((role, rest.rsplit_once('=')?)));
    let (role, (toner, parts)) = split.ok_or_else(|| {
        CliError::wrong(format!("'{told}' is not a layer, a toner and its parts"))
            .hint("Write it like ground/W10=812.4.")
    })?;
    Ok((role.trim(), toner.trim(), parts.trim()))
}

fn layer<'d>(draft: &'d mut Draft, role: &str) -> Result<&'d mut DraftLayer, CliError> {
    let has: Vec<_> = draft.layers.iter().map(|layer| layer.role.clone()).collect();
    draft.layers.iter_mut().find(|layer| is_called(&layer.role, role)).ok_or_else(|| {
        CliError::failed(format!("the colour has no layer '{role}'"))
            .hint(format!("Its layers are: {}.", has.join(", ")))
    })
}

fn place(layer: &DraftLayer, role: &str, toner: &str) -> Result<usize, CliError> {
    let has: Vec<_> = layer.rows.iter().map(|row| row.toner.as_str()).collect();
    has.iter().position(|code| is_called(code, toner)).ok_or_else(|| {
        CliError::failed(format!("the {role} has no toner '{toner}'"))
            .hint(format!("Its toners are: {}.", has.join(", ")))
            .hint("A new one is put in with --add.")
    })
}

fn remove(draft: &mut Draft, told: &str) -> Result<(), CliError> {
    let (role, toner) = told.split_once('/').map_or((told, None), |(role, toner)| (role, Some(toner)));
    let layer = layer(draft, role)?;
    match toner {
        Some(toner) => {
            let at = place(layer, role, toner)?;
            layer.rows.remove(at);
        }
        None => layer.rows.clear(),
    }
    Ok(())
}

/// The draft checked; `own` is the colour it changes, if it does.
fn checked(shop: &OpenShop, draft: &Draft, own: Option<&Colour>) -> Result<Colour, CliError> {
    let others =
        shop.catalogue.colours.iter().filter(|colour| !own.is_some_and(|own| std::ptr::eq(own, *colour)));
    let others = others.map(|colour| (colour.code.as_str(), colour.variant.as_str()));
    draft.check(&shop.catalogue.toners, others).map_err(|faults| {
        let mut error = CliError::failed("the formula cannot be written so; nothing was changed");
        for fault in &faults {
            error = error.hint(format!("{}{}", spot(draft, fault), fault.sentence()));
        }
        error
    })
}

/// Where in the formula: `ground, row 3: `.
fn spot(draft: &Draft, fault: &Fault) -> String {
    let role = |layer: usize| draft.layers.get(layer).map_or("", |layer| layer.role.as_str());
    match fault.field {
        Field::Toner { layer, row } | Field::Parts { layer, row } => {
            format!("{}, row {}: ", role(layer), row.saturating_add(1))
        }
        Field::Rows { layer } => format!("{}: ", role(layer)),
        _ => String::new(),
    }
}

fn write_new(shop: &OpenShop, draft: &Draft) -> Result<(), CliError> {
    let folder = shop.to_write()?;
    let colour = checked(shop, draft, None)?;
    let file = folder.add(&colour).map_err(CliError::failed)?;
    out::line(format_args!("{} is written: {}, version {}", named(&colour), file.name, file.version))
}

fn rewrite(shop: &OpenShop, before: &Colour, draft: &Draft) -> Result<(), CliError> {
    let folder = shop.to_write()?;
    let colour = checked(shop, draft, Some(before))?;
    let told = changes(before, &colour);
    if told.is_empty() {
        return out::line(format_args!("{} is so already; nothing was written", named(before)));
    }
    let file = shop.file(before)?;
    if before.source.as_ref().is_some_and(|source| source.version != file.version) {
        return Err(CliError::failed(format!("{} was changed by somebody else just now", file.name))
            .hint("Look at it with `pourbook formula show`, and make your change again."));
    }
    let text = edited(&file.text, &colour).map_err(CliError::failed)?;
    let after = folder.change(&file, &text, now()).map_err(CliError::failed)?;
    for line in told {
        out::line(line)?;
    }
    out::line(format_args!(
        "{} is changed: {}, version {}; {} is kept",
        named(&colour),
        after.name,
        after.version,
        file.version
    ))
}
