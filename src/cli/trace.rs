//! `pourbook trace`: where the paint of a lot has gone, and where that of a mix or a repair came from.

use super::figures::{self, Form};
use super::places::Places;
use super::table::{self, Side};
use super::{CliError, amount, label, open, out, stores};
use crate::book::{Account, Ledger as _, MixesOf, SqliteStore, TinsOf};
use crate::job::label::{Payload, PayloadError};
use crate::report::traced;
use crate::stock::{Trace, TraceError, trace_job, trace_lot, trace_mix};
use crate::units::{Notation, clean};
use clap::ValueEnum;
use clap::builder::{EnumValueParser, PossibleValue, TypedValueParser};
use serde::Serialize;
use std::collections::hash_map::Entry;
use std::collections::{BTreeSet, HashMap};
use std::ffi::OsStr;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// What to follow; or the code on a mixed cup's label, alone
    #[arg(value_parser = Following)]
    what: Follow,
    /// Which: a lot as it stands on the tins, a mix's number or the code on its label, or a repair as it was named
    which: Option<String>,
    #[command(flatten)]
    form: Form,
    /// Write the page over a file that is there
    #[arg(long, requires = "html")]
    force: bool,
}

/// What is followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum What {
    /// A lot: its tins, every mix with some of it, every repair
    Lot,
    /// A mix: its tins and their lots
    Mix,
    /// A repair: its mixes, their tins and lots
    Job,
}

/// What is followed, or the label's code that says it.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Follow {
    /// One of those, which is named behind it.
    What(What),
    /// The mix that has that label.
    Label(String),
}

/// Reads it.
#[derive(Clone)]
struct Following;

impl TypedValueParser for Following {
    type Value = Follow;

    fn parse_ref(
        &self,
        command: &clap::Command,
        argument: Option<&clap::Arg>,
        value: &OsStr,
    ) -> Result<Follow, clap::Error> {
        if let Some(text) = value.to_str().filter(|text| Payload::parse(text) != Err(PayloadError::None)) {
            return Ok(Follow::Label(text.to_owned()));
        }
        EnumValueParser::<What>::new().parse_ref(command, argument, value).map(Follow::What)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(What::value_variants().iter().filter_map(ValueEnum::to_possible_value)))
    }
}

#[derive(Serialize)]
struct Json<'a> {
    lots: Vec<&'a str>,
    jobs: Vec<&'a str>,
    tins: Vec<JsonTin<'a>>,
    uses: Vec<JsonUse<'a>>,
}

#[derive(Serialize)]
struct JsonTin<'a> {
    label: &'a str,
    toner: &'a str,
    lot: Option<&'a str>,
    expires: Option<&'a str>,
}

#[derive(Serialize)]
struct JsonUse<'a> {
    mix: u32,
    mix_id: String,
    begun: i64,
    colour: Option<&'a str>,
    variant: Option<&'a str>,
    layer: Option<&'a str>,
    job: Option<&'a str>,
    toner: &'a str,
    mass_g: String,
    from: String,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let book = stores::to_look(places)?;
    let (what, which) = match (&args.what, &args.which) {
        (Follow::What(what), Some(which)) => (*what, which.trim()),
        (Follow::Label(code), None) => (What::Mix, code.trim()),
        (Follow::What(_), None) => {
            return Err(CliError::wrong("which one is not said")
                .hint("As `pourbook trace lot A7`, `trace mix 12`, `trace job 26-118`."));
        }
        (Follow::Label(_), Some(_)) => {
            return Err(CliError::wrong("the code on a label stands alone: nothing belongs behind it"));
        }
    };
    let trace = match what {
        What::Lot => match trace_lot(&book, which) {
            Err(unknown @ TraceError::Unknown(_)) => match lot_as_spelt(&book, which)? {
                Some(lot) => trace_lot(&book, &lot),
                None => Err(unknown),
            },
            traced => traced,
        },
        What::Job => match trace_job(&book, which) {
            // By how its name begins, as everywhere else.
            Err(unknown @ TraceError::Unknown(_)) => match super::job::find(&book, which) {
                Ok(job) => trace_job(&book, &job.name),
                Err(_) => Err(unknown),
            },
            traced => traced,
        },
        What::Mix => trace_mix(&book, label::find(&book, which)?.mix),
    }
    .map_err(CliError::failed)?;
    if args.form.json {
        return out::json(&json(&trace));
    }
    let mut whence = HashMap::new();
    for used in &trace.uses {
        if let Entry::Vacant(unknown) = whence.entry(used.from.clone()) {
            unknown.insert(from(&book, &used.from)?);
        }
    }
    let words = traced::Words {
        when: &open::when,
        from: &|account| whence.get(account).cloned().unwrap_or_default(),
    };
    if args.form.csv {
        return out::script(&traced::table(&trace, &words).csv());
    }
    let Some(path) = &args.form.html else {
        let notation = places.settled()?.settings.notation();
        return text(&trace, &words, notation).iter().try_for_each(out::line);
    };
    let of = match what {
        What::Lot => format!("lot {}", trace.lots().join(", ")),
        What::Mix => format!("mix {which}"),
        What::Job => format!("repair {}", trace.jobs().join(", ")),
    };
    let (shown, _) = figures::looks(places)?;
    figures::write(path, &traced::page(&clean(&of), &trace, &words, shown).html(shown), args.force)
}

/// A lot as the book spells it, where the capitals are others; none where there is no such lot, or more than one.
fn lot_as_spelt(book: &SqliteStore, typed: &str) -> Result<Option<String>, CliError> {
    let tins = book.tins(TinsOf::All).map_err(CliError::failed)?;
    let folded = typed.to_lowercase();
    let alike: BTreeSet<String> =
        tins.into_iter().filter_map(|tin| tin.lot).filter(|lot| lot.to_lowercase() == folded).collect();
    Ok(if alike.len() == 1 { alike.into_iter().next() } else { None })
}

fn json(trace: &Trace) -> Json<'_> {
    Json {
        lots: trace.lots(),
        jobs: trace.jobs(),
        tins: trace
            .tins
            .iter()
            .map(|tin| JsonTin {
                label: &tin.label,
                toner: tin.toner.as_str(),
                lot: tin.lot.as_deref(),
                expires: tin.expires.as_deref(),
            })
            .collect(),
        uses: trace
            .uses
            .iter()
            .map(|used| {
                let head = &used.mix.head;
                let [colour, variant, layer] = head.subject.each_ref().map(Option::as_deref);
                JsonUse {
                    mix: head.number,
                    mix_id: used.mix.mix.to_string(),
                    begun: head.begun.0,
                    colour,
                    variant,
                    layer,
                    job: head.job.as_deref(),
                    toner: used.toner.as_str(),
                    mass_g: amount::exact(used.mass),
                    from: used.from.to_string(),
                }
            })
            .collect(),
    }
}

fn text(trace: &Trace, words: &traced::Words<'_>, notation: Notation) -> Vec<String> {
    let said = |text: Option<&String>| text.cloned().unwrap_or_else(|| "–".to_owned());
    let mut tins = vec![["tin", "toner", "lot", "use until"].map(str::to_owned).to_vec()];
    tins.extend(trace.tins.iter().map(|tin| {
        vec![tin.label.clone(), tin.toner.to_string(), said(tin.lot.as_ref()), said(tin.expires.as_ref())]
    }));
    let heads = ["mix", "begun", "colour", "layer", "repair", "toner", notation.mass_word(), "from"];
    let mut uses = vec![heads.map(str::to_owned).to_vec()];
    for used in &trace.uses {
        let head = &used.mix.head;
        let [colour, _, layer] = &head.subject;
        uses.push(vec![
            head.number.to_string(),
            open::when(head.begun),
            said(colour.as_ref()),
            said(layer.as_ref()),
            said(head.job.as_ref()),
            used.toner.to_string(),
            notation.weight_to(used.mass, 2),
            (words.from)(&used.from),
        ]);
    }
    let mut lines = table::lines(&[Side::Left; 4], &tins);
    lines.push(String::new());
    let sides =
        [Side::Right, Side::Left, Side::Left, Side::Left, Side::Left, Side::Left, Side::Right, Side::Left];
    lines.extend(table::lines(&sides, &uses));
    lines
}

/// Where it came from, for a person.
fn from(book: &SqliteStore, account: &Account) -> Result<String, CliError> {
    Ok(match account {
        Account::Tin(label) => format!("tin {label}"),
        Account::UnknownTin(_) => "a tin without a label".to_owned(),
        Account::Leftover(mix) => match book.totals(MixesOf::Mix(*mix)).map_err(CliError::failed)?.pop() {
            Some(of) => format!("leftover of mix {}", of.head.number),
            None => "a leftover".to_owned(),
        },
        other => other.to_string(),
    })
}
