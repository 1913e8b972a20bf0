//! `pourbook receive`: tins that came, one by one or as a table.

use super::places::Places;
use super::shop::OpenShop;
use super::stores::{Stores, Who};
use super::{CliError, amount, out};
use crate::book::{Ledger as _, TinsOf};
use crate::catalogue::TonerCode;
use crate::stock::{COLUMNS, Receipt, StockEvent, TinName, delivery, known_toner, receive};
use crate::units::{Grams, Money, parse_decimal_with_comma};
use serde::Serialize;
use std::path::PathBuf;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The tin's label: each is used once
    #[arg(required_unless_present = "csv", requires = "toner")]
    label: Option<String>,
    /// What is in it
    #[arg(requires = "net")]
    toner: Option<String>,
    /// How much, in grams
    #[arg(value_parser = amount::grams)]
    net: Option<Grams>,
    /// A table instead, a row a tin, with the columns label, toner, net and, as far as known, empty, size, lot, expires,
    /// price, item, supplier
    #[arg(long, value_name = "FILE", conflicts_with_all = ["label", "empty", "size", "lot", "expires", "price", "item", "supplier"])]
    csv: Option<PathBuf>,
    /// What it weighs empty, lid and all, in grams
    #[arg(long, value_name = "GRAMS", value_parser = amount::grams)]
    empty: Option<Grams>,
    /// What it is sold as: "1 L"
    #[arg(long)]
    size: Option<String>,
    /// Its lot
    #[arg(long)]
    lot: Option<String>,
    /// The last day on which it may be used: 2026-12-31
    #[arg(long, value_name = "DAY")]
    expires: Option<String>,
    /// What the tin cost
    #[arg(long, value_parser = money)]
    price: Option<Money>,
    /// The item's number
    #[arg(long)]
    item: Option<String>,
    /// Who sent it
    #[arg(long, value_name = "NAME")]
    supplier: Option<String>,
    #[command(flatten)]
    who: Who,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Json<'a> {
    received: Vec<&'a StockEvent>,
}

fn money(text: &str) -> Result<Money, String> {
    parse_decimal_with_comma(text).map(Money::new).map_err(|error| error.to_string())
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let shop = OpenShop::of(places)?;
    let table = args.csv.as_ref().map(|path| {
        std::fs::read(path).map_err(|error| {
            CliError::failed(format!("{} cannot be read: {error}", path.display()))
                .hint(format!("Name a CSV file whose first row has the columns {}.", COLUMNS.join(", ")))
        })
    });
    let table = table.transpose()?;
    let mut stores = Stores::open(places, &args.who)?;
    let events = match &table {
        Some(bytes) => {
            let tins = stores.book.tins(TinsOf::All).map_err(CliError::failed)?;
            let known = tins.into_iter().map(|tin| (tin.label.clone(), tin)).collect();
            delivery(bytes, &shop.catalogue, &known).map_err(|wrong| {
                let error =
                    CliError::failed("this delivery cannot be received as it is; nothing was written");
                wrong.into_iter().fold(error, CliError::hint)
            })?
        }
        None => vec![one(&shop, &stores, args)?],
    };
    stores.tell_all(&events).map_err(|error| match events.len() {
        0 | 1 => error,
        many => {
            error.hint(format!("Nothing was written: the {many} tins are received together or not at all."))
        }
    })?;
    if args.json {
        return out::json(&Json { received: events.iter().collect() });
    }
    let notation = places.settled()?.settings.notation();
    for event in &events {
        if let StockEvent::Received(receipt) = event {
            let TinName { label, toner } = &receipt.tin;
            let lot = receipt.lot.as_ref().map(|lot| format!(", lot {lot}")).unwrap_or_default();
            out::line(format_args!("tin {label}: {toner}, {}{lot}", notation.given_mass(receipt.net)))?;
        }
    }
    Ok(())
}

fn one(shop: &OpenShop, stores: &Stores, args: &Args) -> Result<StockEvent, CliError> {
    let label = args.label.clone().unwrap_or_default();
    let toner = known_toner(&shop.catalogue, args.toner.as_deref().unwrap_or_default());
    let receipt = Receipt {
        tin: TinName { label, toner: TonerCode::new(toner.map_err(CliError::failed)?) },
        net: args.net.unwrap_or(Grams::ZERO),
        empty: args.empty,
        size: args.size.clone(),
        lot: args.lot.clone(),
        expires: args.expires.clone(),
        price: args.price,
        item: args.item.clone(),
        supplier: args.supplier.clone(),
    };
    let known = stores.book.tins(TinsOf::Label(receipt.tin.label.trim())).map_err(CliError::failed)?;
    receive(&receipt, known.first()).map_err(CliError::failed)
}
