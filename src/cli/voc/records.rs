//! `pourbook voc --records`: what a US area source keeps, as `painters.toml` has it.

use super::text_of;
use crate::cli::places::Places;
use crate::cli::table::{self, Side};
use crate::cli::{CliError, out};
use crate::job::{AID, Known, PAINTERS_FILE, Record, RecordStanding, Records, read_records};
use crate::units::cell::csv_text;
use jiff::tz::TimeZone;
use serde_json::{Value, json};

/// What such a file looks like, shown where there is none yet.
const EXAMPLE: &str = r#"# painters.toml
other_guns = "no"            # a gun with a cup of 3.0 fl oz or more that is not HVLP, electrostatic, airless or air-assisted airless
stripper = "no"              # with methylene chloride: no, up to a ton a year, more than a ton a year

[[painter]]
name = "Robin"
hired = "2026-01-12"
trained = "2026-03-02"       # the first training
# refreshed = "2031-02-20"   # the latest refresher
# left = "2032-01-31"

[[document]]
kind = "filter"              # filter, gun, notification, stripper, stripper-plan
name = "booth 1, the maker's letter"
dated = "2026-01-20""#;

/// Runs it.
pub(super) fn run(places: &Places, as_json: bool, as_csv: bool) -> Result<(), CliError> {
    let Some(text) = text_of(places, PAINTERS_FILE)? else {
        return Err(CliError::failed(format!("there is no {PAINTERS_FILE} in the shop's folder yet"))
            .hint(format!("Write one like this:\n\n{EXAMPLE}\n")));
    };
    let (records, problems) = read_records(PAINTERS_FILE, &text);
    super::say(&problems);
    let today = jiff::Timestamp::now().to_zoned_datetime(TimeZone::system()).date();
    let list = records.list(today);
    if as_json {
        let records: Vec<Value> = list.iter().map(json_of).collect();
        return out::json(&json!({ "today": today.to_string(), "records": records, "note": AID }));
    }
    if as_csv {
        let mut text = "record,standing,dated,until,says,asked_by,known\r\n".to_owned();
        for record in &list {
            let (dated, until, says) = parts(&record.standing);
            let cells = [
                record.what.as_str(),
                record.standing.word(),
                dated.as_str(),
                until.as_str(),
                says,
                record.asked_by,
                record.known.word(),
            ];
            text.push_str(&cells.map(csv_text).join(","));
            text.push_str("\r\n");
        }
        return out::script(&text);
    }
    out::line(format_args!("Records of 40 CFR part 63 subpart HHHHHH, on {today}\n"))?;
    let rows: Vec<Vec<String>> =
        list.iter().map(|record| vec![record.standing.word().to_owned(), sentence(record)]).collect();
    table::lines(&[Side::Left, Side::Left], &rows).iter().try_for_each(out::line)?;
    let open = list.iter().filter(|record| record.standing.wants_doing()).count();
    out::line(format_args!(
        "\n{open} of {} want something done. Keep each record for five years (from memory).",
        list.len()
    ))?;
    out::line("A training holds five years, a new painter is trained within 180 days: both from memory.")?;
    out::line(AID)
}

/// The shop's records, if it keeps any.
///
/// # Errors
/// They cannot be read.
pub(in crate::cli) fn kept(places: &Places) -> Result<Option<Records>, CliError> {
    Ok(text_of(places, PAINTERS_FILE)?.map(|text| read_records(PAINTERS_FILE, &text).0))
}

/// How a training stands, in words: `there, of 2026-03-02, until 2031-03-02`.
pub(in crate::cli) fn training(standing: Option<&RecordStanding>) -> String {
    let Some(standing) = standing else { return format!("not on file in {PAINTERS_FILE}") };
    let (dated, until, says) = parts(standing);
    let mut text = vec![standing.word().to_owned()];
    if !dated.is_empty() {
        text.push(format!("of {dated}"));
    }
    if !until.is_empty() {
        let word = if matches!(standing, RecordStanding::There { .. }) { "until" } else { "by" };
        text.push(format!("{word} {until}"));
    }
    if !says.is_empty() {
        text.push(says.to_owned());
    }
    text.join(", ")
}

/// Of which day, until when, and what else there is to say.
fn parts(standing: &RecordStanding) -> (String, String, &'static str) {
    let none = String::new;
    match standing {
        RecordStanding::There { dated, until } => {
            (dated.to_string(), until.map(|until| until.to_string()).unwrap_or_default(), "")
        }
        RecordStanding::Due(by) | RecordStanding::Overdue(by) => (none(), by.to_string(), ""),
        RecordStanding::Missing => (none(), none(), ""),
        RecordStanding::Ask(says) | RecordStanding::NotNeeded(says) => (none(), none(), says),
    }
}

fn sentence(record: &Record) -> String {
    let (dated, until, says) = parts(&record.standing);
    let mut text = vec![format!("{} [{}]", record.what, record.asked_by)];
    if !dated.is_empty() {
        text.push(format!("of {dated}"));
    }
    if !until.is_empty() {
        let word = if matches!(record.standing, RecordStanding::There { .. }) { "until" } else { "by" };
        let known = if record.known == Known::Memory { " (the time is from memory)" } else { "" };
        text.push(format!("{word} {until}{known}"));
    }
    if !says.is_empty() {
        text.push(says.to_owned());
    }
    text.join(", ")
}

fn json_of(record: &Record) -> Value {
    let (dated, until, says) = parts(&record.standing);
    let some = |text: String| (!text.is_empty()).then_some(text);
    json!({
        "record": record.what,
        "standing": record.standing.word().to_lowercase(),
        "dated": some(dated),
        "until": some(until),
        "says": some(says.to_owned()),
        "asked_by": record.asked_by,
        "known": record.known.word(),
    })
}
