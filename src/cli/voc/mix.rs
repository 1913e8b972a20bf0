//! `pourbook voc MIX` or `JOB`: the solvent in mixes as they were really poured, against the limits as the coats of one job.

use super::of_job::{self, LeftOut};
use super::{Args, entries, exact_content, of_water, per_litre};
use crate::book::{Ledger as _, MixTotals, MixesOf, SqliteStore};
use crate::catalogue::{Catalogue, Product, Role, TonerCode, Word as _};
use crate::cli::places::Places;
use crate::cli::table::{self, Side};
use crate::cli::{CliError, amount, figures, open, out};
use crate::job::{
    AID, Basis, Caution, CautionFlags, Clues, CoatJudged, Component, Content, Doing, Ingredient, Job, Judged,
    Known, LimitTable, Limits, MadeWith, Mixed, Stage, StageMixed, Thinning, Verdict, VocSheet, cautions,
    in_the_end, judge_planned, made_with, mixed, of_averages, thinning,
};
use crate::report::Shown;
use crate::units::cell::csv_text;
use crate::units::{Density, Grams, Millilitres};
use serde_json::{Value, json};

/// A mix with what is known of it.
pub(super) struct Of<'a> {
    pub(super) totals: MixTotals,
    role: Option<Role>,
    pub(super) product: Option<&'a Product>,
    made: Option<MadeWith<'a>>,
    pub(super) ingredients: Vec<Ingredient>,
    mixed: Mixed,
    pub(super) coat: CoatJudged,
    /// Why it is not among what is judged; none if it is.
    pub(super) left_out: Option<LeftOut>,
    /// How much of the thinner that was named it may still take, or why that cannot be said.
    takes: Option<Result<Thinning, String>>,
}

impl Of<'_> {
    fn content(&self) -> Option<Content> {
        self.mixed.content()
    }
}

/// Runs it.
pub(super) fn run(
    places: &Places,
    catalogue: &Catalogue,
    book: &SqliteStore,
    limits: &Limits,
    args: &Args,
) -> Result<(), CliError> {
    let table = super::table(places, limits, args.table.as_deref())?;
    let shop = (catalogue, book, limits, table);
    let numbers: Option<Vec<u32>> = args.mixes.iter().map(|text| text.parse().ok()).collect();
    let named = args.categories.len();
    if named > 1 && numbers.as_ref().is_none_or(|numbers| numbers.len() != named) {
        let (of, how) = match &numbers {
            Some(numbers) => (format!("{} mixes", numbers.len()), "once for each in the same order"),
            None => ("a job".to_owned(), "by the numbers of its mixes, once for each"),
        };
        return Err(CliError::wrong(format!("{named} categories for {of}"))
            .hint(format!("Give --as once for all of them, or {how}.")));
    }
    if !args.categories.is_empty() && table.is_none() {
        return Err(CliError::wrong("a category says nothing without limits")
            .hint("Name them with --table, or set limits."));
    }
    let one_category = args.categories.first().filter(|_| named == 1).map(String::as_str);
    let (mut all, mut plan) = (Vec::new(), Vec::new());
    match (&numbers, args.mixes.as_slice()) {
        (Some(numbers), _) => {
            for (place, number) in numbers.iter().enumerate() {
                let category = args.categories.get(place).map(String::as_str).or(one_category);
                all.push(of(shop, *number, category)?);
            }
            tell_apart(&mut all);
        }
        (None, [name]) => (all, plan) = of_job::named(shop, name, one_category)?,
        (None, _) => {
            return Err(CliError::wrong("numbers of mixes were expected, or one job")
                .hint("A name of several words stands in quotes: pourbook voc \"26-118 tailgate\""));
        }
    }
    if let Some(code) = &args.thinner {
        let thinner = thinner(catalogue, limits, code)?;
        for one in &mut all {
            one.takes = Some(takes(one, &thinner, table));
        }
    }
    let coats: Vec<CoatJudged> =
        all.iter().filter(|one| one.left_out.is_none()).map(|one| one.coat.clone()).collect();
    let judged = table.map(|table| judge_planned(&coats, &plan, table)).unwrap_or_default();
    if args.json {
        let cautions: Vec<Value> =
            cautions(flags(catalogue, &all), Doing::Spraying).map(json_caution).collect();
        return out::json(&json!({
            "mixes": all.iter().map(json_mix).collect::<Vec<_>>(),
            "limits": table.map(|table| &table.id),
            "judged": judged.iter().map(json_judged).collect::<Vec<_>>(),
            "water_density": limits.water_density.to_string(),
            "cautions": cautions,
            "note": AID,
        }));
    }
    if args.csv {
        return out::script(&csv(&all));
    }
    let (shown, _) = figures::looks(places)?;
    for one in &all {
        text(catalogue, limits, one, shown)?;
    }
    said_of_limits(table, &judged, shown)?;
    out::line(format_args!("\n{}", of_water(limits, shown.0)))?;
    out::line(AID)?;
    said_of_cautions(flags(catalogue, &all), all.iter().filter_map(|one| one.product))
}

/// What mixes are looked at with: the shop, its book, its limits, and the table of them to judge by.
pub(super) type Shop<'a, 'b> = (&'a Catalogue, &'b SqliteStore, &'b Limits, Option<&'b LimitTable>);

/// The mix with that number.
fn of<'a>(shop: Shop<'a, '_>, number: u32, category: Option<&str>) -> Result<Of<'a>, CliError> {
    let totals = shop.1.totals(MixesOf::Number(number)).map_err(CliError::failed)?.pop();
    let totals = totals.ok_or_else(|| {
        CliError::failed(format!("there is no mix {number} in this book"))
            .hint("A whole number is a mix; a job is named as `pourbook job list` names it.")
    })?;
    let job = of_job::begun_for(shop.1, totals.mix)?;
    of_totals(shop, totals, job.as_ref(), category)
}

/// Mixes of one layer are one stage; where those that were named are of several colours, only of the same colour.
fn tell_apart(all: &mut [Of<'_>]) {
    let code = |one: &Of<'_>| one.totals.head.subject[0].clone();
    let first = all.first().map(code);
    if all.iter().all(|one| Some(code(one)) == first) {
        return;
    }
    for one in all {
        let code = code(one);
        one.coat.layer.push_str(&code.map_or_else(String::new, |code| format!(" of {code}")));
    }
}

/// What is known of that mix.
pub(super) fn of_totals<'a>(
    (catalogue, book, limits, table): Shop<'a, '_>,
    totals: MixTotals,
    job: Option<&Job>,
    category: Option<&str>,
) -> Result<Of<'a>, CliError> {
    let role = totals.head.subject[2].as_deref().and_then(Role::from_word);
    let moved = book.moved_in(totals.mix).map_err(CliError::failed)?;
    let in_it = in_the_end(&moved, totals.mix);
    let toners: Vec<TonerCode> = in_it.iter().map(|(toner, _)| toner.clone()).collect();
    let made = made(catalogue, book, &totals, job, &toners)?;
    let product = made.as_ref().and_then(|made| made.product);
    let ingredients: Vec<Ingredient> =
        in_it.iter().map(|(toner, mass)| entries::ingredient(catalogue, product, toner, *mass)).collect();
    let mixed = mixed(&ingredients, limits.water_density);
    let of_product =
        || table.and_then(|table| product.and_then(|product| product.categories.get(&table.id))).cloned();
    let why_not = || mixed.why_not().unwrap_or_default();
    let coat = CoatJudged {
        name: format!("mix {}", totals.head.number),
        layer: role.map_or("layer not known", Role::name).to_owned(),
        stage: role.map_or(Stage::Other, Stage::of),
        category: category.map(str::to_owned).or_else(of_product),
        content: mixed.content().ok_or_else(why_not),
    };
    Ok(Of { totals, role, product, made, ingredients, mixed, coat, left_out: None, takes: None })
}

/// With what a mix of these toners was made, as near as the book and the shop's files come to it.
pub(super) fn made<'a>(
    catalogue: &'a Catalogue,
    book: &SqliteStore,
    totals: &MixTotals,
    job: Option<&Job>,
    toners: &[TonerCode],
) -> Result<Option<MadeWith<'a>>, CliError> {
    let readied = book.readied_with(totals.mix).map_err(CliError::failed)?;
    let [colour, variant, role] = totals.head.subject.each_ref().map(Option::as_deref);
    let role = role.and_then(Role::from_word);
    let clues = Clues {
        colour: colour.map(|code| (code, variant)),
        role,
        readied: readied.as_deref(),
        by_job: job.zip(role).and_then(|(job, role)| of_job::product_named(job, totals.mix, role)),
        toners,
    };
    Ok(made_with(catalogue, &clues))
}

/// A litre of the toner that is to thin a mix.
fn thinner(catalogue: &Catalogue, limits: &Limits, code: &str) -> Result<Component, CliError> {
    let toner = catalogue
        .toner(code)
        .ok_or_else(|| CliError::failed(format!("there is no toner '{code}' in this shop")))?;
    let mass = toner.density.mass_of(Millilitres::new(1000.into()));
    let litre = entries::ingredient(catalogue, None, &toner.code, mass);
    litre.component(limits.water_density).map_err(|why| CliError::failed(format!("{code}: {why}")))
}

/// How much of it the mix may still take.
fn takes(one: &Of<'_>, thinner: &Component, table: Option<&LimitTable>) -> Result<Thinning, String> {
    let content = one.coat.content.as_ref().map_err(Clone::clone)?;
    let table = table.ok_or("no limits are set, and none named with --table")?;
    let category = one.coat.category.as_deref().ok_or("its category is not known: name it with --as")?;
    let row = table
        .row(category)
        .ok_or_else(|| format!("the table '{}' has no category '{category}'", table.id))?;
    thinning(&content.total, thinner, row.limit, row.basis)
        .ok_or_else(|| "these numbers cannot be reckoned with".to_owned())
}

/// What there is to be careful about in that mix.
pub(super) fn flags_of(catalogue: &Catalogue, one: &Of<'_>) -> CautionFlags {
    entries::flags(catalogue, one.product, &one.ingredients)
}

fn flags(catalogue: &Catalogue, all: &[Of<'_>]) -> CautionFlags {
    all.iter().fold(CautionFlags::default(), |flags, one| {
        let more = flags_of(catalogue, one);
        CautionFlags {
            isocyanates: flags.isocyanates || more.isocyanates,
            flammable: flags.flammable || more.flammable,
            target_hap: flags.target_hap || more.target_hap,
        }
    })
}

fn text(catalogue: &Catalogue, limits: &Limits, one: &Of<'_>, shown: Shown) -> Result<(), CliError> {
    let head = &one.totals.head;
    let colour = head.subject[0].as_deref().unwrap_or("–");
    let layer = one.role.map_or("", Role::name);
    out::line(format_args!("Mix {}: {colour} {layer}, begun {}", head.number, open::when(head.begun)))?;
    if let Some(made) = &one.made {
        let name = made.product.map_or("(not in the shop's files any more)", |product| product.name.as_str());
        let guessed = made.by.guessed().map_or_else(String::new, |how| format!(" ({how})"));
        out::line(format_args!("Product: {} {name}{guessed}", made.code))?;
    }
    let unit = shown.unit();
    let mut rows = vec![vec![
        "toner".to_owned(),
        "name".to_owned(),
        format!("in it {unit}"),
        "volume".to_owned(),
        format!("VOC {unit}"),
    ]];
    for part in &one.ingredients {
        let voc = part.component(limits.water_density).map(|component| shown.mass(component.voc()));
        let volume = part.density.map(|density: Density| density.volume_of(part.mass));
        rows.push(vec![
            part.code.clone(),
            catalogue.toner(&part.code).map_or("", |toner| toner.name.as_str()).to_owned(),
            shown.mass(part.mass),
            volume.map_or_else(|| "?".to_owned(), |volume| amount::plain_volume(volume, shown.0)),
            voc.unwrap_or_else(|_| "unknown".to_owned()),
        ]);
    }
    let sides = [Side::Left, Side::Left, Side::Right, Side::Right, Side::Right];
    for line in table::lines(&sides, &rows) {
        out::line(format_args!("  {line}"))?;
    }
    match one.content() {
        None => {
            out::line("  No figure, since what is not known of a toner is not nothing:")?;
            for lacking in &one.mixed.lacking {
                out::line(format_args!("  {}: {}", lacking.code, lacking.why))?;
            }
            if one.ingredients.is_empty() {
                out::line("  nothing is in it")?;
            }
        }
        Some(content) => {
            for basis in [Basis::Regulatory, Basis::Actual] {
                let figure = match content.figure(basis) {
                    Ok(figure) => per_litre(figure, shown.0),
                    Err(why) => format!("none: {why}"),
                };
                out::line(format_args!("  VOC, {}: {figure}", basis.says()))?;
            }
        }
    }
    if let Some(takes) = &one.takes {
        out::line(format_args!("  Thinner: {}", thinned(takes, shown)))?;
    }
    if let Some(left_out) = one.left_out {
        out::line(format_args!("  Not judged: {}", left_out.says()))?;
    }
    out::line("")
}

fn thinned(takes: &Result<Thinning, String>, shown: Shown) -> String {
    let volume = |volume: Millilitres| amount::plain_volume(volume, shown.0);
    match takes {
        Ok(Thinning::UpTo(most)) => format!("{} more of it at most, to stay within the limit", volume(*most)),
        Ok(Thinning::Any) => "any amount of it stays within the limit".to_owned(),
        Ok(Thinning::From(least)) => {
            format!("it is over the limit, and within with {} of it", volume(*least))
        }
        Ok(Thinning::Never) => "it is over the limit, and this thinner does not bring it within".to_owned(),
        Err(why) => format!("cannot say: {why}"),
    }
}

fn said_of_limits(table: Option<&LimitTable>, judged: &[Judged], shown: Shown) -> Result<(), CliError> {
    let Some(table) = table else {
        return out::line(
            "Against no limits: none are set. Name some with --table; `pourbook voc --limits` shows them.",
        );
    };
    out::line(format_args!("Against {} ({})", table.name, table.jurisdiction))?;
    out::line(format_args!("Compared {} with {}", table.checked, table.read_in))?;
    if let Some((day, known)) = table.valid_from {
        let known = if known == Known::Memory { " (from memory)" } else { "" };
        out::line(format_args!("Valid from {day}{known}"))?;
    }
    for one in judged {
        out::line(format_args!("  {}", one.sentence(shown.0)))?;
        if let Some(limit) = &one.limit {
            out::line(format_args!("    {}; known: {}", limit.basis.says(), limit.known.word()))?;
        }
        one.made_of(shown.0).iter().try_for_each(|words| out::line(format_args!("    {words}")))?;
    }
    table.note.iter().try_for_each(|note| out::line(format_args!("  {note}")))
}

fn said_of_cautions<'a>(
    flags: CautionFlags,
    products: impl Iterator<Item = &'a Product>,
) -> Result<(), CliError> {
    let mut seen = Vec::new();
    for product in products.filter(|product| !product.hazards.cautions.is_empty()) {
        if seen.contains(&&product.code) {
            continue;
        }
        seen.push(&product.code);
        out::line(format_args!("\n{} {}, as entered from its sheet:", product.code, product.name))?;
        product.hazards.cautions.iter().try_for_each(|says| out::line(format_args!("  {says}")))?;
    }
    let usual: Vec<&Caution> = cautions(flags, Doing::Spraying).collect();
    if usual.is_empty() {
        return out::line(
            "\nThe shop's files say nothing of isocyanates or fire: read the data sheets before you mix.",
        );
    }
    out::line("\nUsual cautions; the products' own data sheets go before them:")?;
    for caution in usual {
        out::line(format_args!("  {}", caution.says))?;
        // From memory there is no source to name.
        let source = if caution.known == Known::Memory { "" } else { caution.source };
        let colon = if source.is_empty() { "" } else { ": " };
        out::line(format_args!("    [{}{colon}{source}]", caution.known.word()))?;
    }
    Ok(())
}

const CSV_HEAD: &str = "mix,toner,mass_g,volume_ml,volatiles_g_per_l,water_g_per_l,exempt_g_per_l\r\n";

fn csv(all: &[Of<'_>]) -> String {
    let mut text = CSV_HEAD.to_owned();
    for one in all {
        for part in &one.ingredients {
            let sheet = |of: fn(&VocSheet) -> crate::job::PerLitre| {
                part.sheet.as_ref().map(|sheet| exact_content(of(sheet))).unwrap_or_default()
            };
            let volume = part.density.map(|density| amount::exact_volume(density.volume_of(part.mass)));
            let cells = [
                one.totals.head.number.to_string(),
                csv_text(&part.code),
                amount::exact(part.mass),
                volume.unwrap_or_default(),
                sheet(|sheet| sheet.volatiles),
                sheet(|sheet| sheet.water),
                sheet(|sheet| sheet.exempt),
            ];
            text.push_str(&cells.join(","));
            text.push_str("\r\n");
        }
    }
    text
}

fn json_mix(one: &Of<'_>) -> Value {
    let content = one.content();
    let figure = |basis| content.and_then(|content: Content| content.figure(basis).ok()).map(exact_content);
    let total = content.map(|content| content.total);
    let grams = |of: fn(&Component) -> Grams| total.as_ref().map(|total| amount::exact(of(total)));
    json!({
        "mix": one.totals.head.number,
        "mix_id": one.totals.mix.to_string(),
        "layer": one.role.map(Role::name),
        "left_out": one.left_out.map(LeftOut::says),
        "product": one.made.as_ref().map(|made| made.code.as_str()),
        "product_known_by": one.made.as_ref().map(|made| made.by.word()),
        "product_is_gone": one.made.as_ref().is_some_and(|made| made.product.is_none()),
        "category": one.coat.category,
        "mass_g": grams(|total| total.mass),
        "volume_ml": total.map(|total| amount::exact_volume(total.volume)),
        "voc_g": grams(Component::voc),
        "water_g": grams(|total| total.water),
        "exempt_g": grams(|total| total.exempt),
        "regulatory_g_per_l": figure(Basis::Regulatory),
        "actual_g_per_l": figure(Basis::Actual),
        "less_water_g_per_l": figure(Basis::LessWater),
        "with_water_g_per_l": figure(Basis::WithWater),
        "unknown": one.mixed.lacking.iter().map(|lacking| json!({
            "toner": lacking.code,
            "mass_g": amount::exact(lacking.mass),
            "why": lacking.why.to_string(),
        })).collect::<Vec<_>>(),
        "thinner": one.takes.as_ref().map(|takes| match takes {
            Ok(Thinning::UpTo(most)) => json!({ "up_to_ml": amount::exact_volume(*most) }),
            Ok(Thinning::From(least)) => json!({ "from_ml": amount::exact_volume(*least) }),
            Ok(Thinning::Any) => json!("any"),
            Ok(Thinning::Never) => json!("never"),
            Err(why) => json!({ "cannot_say": why }),
        }),
    })
}

fn json_judged(one: &Judged) -> Value {
    let (by, why) = match &one.verdict {
        Verdict::Within(by) | Verdict::Over(by) => (Some(exact_content(*by)), None),
        Verdict::CannotSay(why) | Verdict::NotComplete(why) => (None, Some(why)),
    };
    json!({
        "coats": one.coats,
        "verdict": one.verdict.word(),
        "by_g_per_l": by,
        "why": why,
        "figure_g_per_l": one.figure.map(exact_content),
        "limit_g_per_l": one.limit.as_ref().map(|limit| exact_content(limit.limit)),
        "category": one.limit.as_ref().map(|limit| &limit.id),
        "basis": one.limit.as_ref().map(|limit| limit.basis.word()),
        "known": one.limit.as_ref().map(|limit| limit.known.word()),
        "stages": one.stages.iter().map(json_stage).collect::<Vec<_>>(),
        "figure_by_averages_g_per_l": of_averages(&one.stages).map(exact_content),
    })
}

fn json_stage(stage: &StageMixed) -> Value {
    json!({
        "layer": stage.layer,
        "taken_g_per_l": exact_content(stage.taken()),
        "taken": if stage.mixes.len() > 1 { "the highest of its mixes" } else { "its only mix" },
        "average_g_per_l": stage.average().map(exact_content),
        "mixes": stage.mixes.iter().map(|mix| json!({
            "mix": mix.name,
            "figure_g_per_l": exact_content(mix.figure),
            "counted_ml": amount::exact_volume(mix.volume),
        })).collect::<Vec<_>>(),
    })
}

fn json_caution(caution: &Caution) -> Value {
    json!({
        "topic": caution.topic,
        "says": caution.says,
        "known": caution.known.word(),
        "source": caution.source,
    })
}
