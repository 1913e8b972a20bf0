//! `pourbook check`: is everything well, and if not, what to do.

use super::hear::Ear;
use super::places::{Places, Shop, no_shop};
use super::progress::Ticking;
use super::stop::Stop;
use super::{CliError, daily, open, out};
use crate::book::check::check_telling;
use crate::book::far::Far;
use crate::book::{ScaleRecord, SqliteStore, open_to_look};
use crate::catalogue::{Catalogue, Severity};
use crate::job;
use crate::scale::ports;
use crate::scale::{Address, LinkEvent, Listening, Rules, Settle};
use crate::stock;
use crate::units::{Notation, Stamp};
use ratatui::crossterm::terminal;
use serde::Serialize;
use std::io::IsTerminal as _;
use std::path::PathBuf;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// First make the figures that are kept beside the book's journal anew from the journal
    #[arg(long)]
    rebuild: bool,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

/// How one thing is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum State {
    /// As it should be.
    Well,
    /// Worth knowing, and nothing is wrong.
    Note,
    /// Something has to be done.
    Wrong,
}

#[derive(Debug, Serialize)]
struct Finding {
    check: &'static str,
    state: State,
    says: String,
}

#[derive(Serialize)]
struct Json {
    well: bool,
    checks: Vec<Finding>,
}

/// What is wrong with the settings; that nothing is, where there are any.
fn settings(places: &Places) -> Result<Vec<Finding>, CliError> {
    let settled = places.settled()?;
    let problems = settled.problems();
    if problems.is_empty() && settled.exists {
        return Ok(vec![Finding::new("settings", State::Well, settled.path.display().to_string())]);
    }
    Ok(problems.into_iter().map(|problem| Finding::new("settings", State::Wrong, problem)).collect())
}

/// For how long the scale is listened to, in milliseconds.
const LISTEN_MS: u64 = 3_000;

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    // What another program reads is in grams, with a point.
    let notation = if args.json { Notation::METRIC } else { places.settled()?.settings.notation() };
    let scale = places.scale()?;
    let catalogue = read_shop(places)?;
    let mut checks = files(&catalogue);
    checks.extend(settings(places)?);
    if args.rebuild {
        checks.push(rebuild(places)?);
    }
    checks.push(book(places)?);
    let remarks = scale.iter().flat_map(|scale| scale.shape().remarks());
    checks.extend(remarks.map(|remark| Finding::new("scale", State::Note, remark)));
    checks.extend(daily_check(places, catalogue.ok().map(|(shop, _)| shop), notation)?);
    checks.push(match &scale {
        Some(scale) => weigh(scale, notation)?,
        None => {
            Finding::new("scale", State::Note, "none was named: name it with --scale to have it listened to")
        }
    });
    checks.extend(serial_ports(scale.is_some()));
    checks.extend(screen());
    let well = checks.iter().all(|finding| finding.state != State::Wrong);
    if args.json {
        out::json(&Json { well, checks })?;
    } else {
        for finding in &checks {
            out::line(finding.text())?;
        }
    }
    if well { Ok(()) } else { Err(CliError::said()) }
}

impl Finding {
    fn new(check: &'static str, state: State, says: impl Into<String>) -> Self {
        Self { check, state, says: says.into() }
    }

    fn text(&self) -> String {
        let state = match self.state {
            State::Well => "well",
            State::Note => "note",
            State::Wrong => "WRONG",
        };
        let mut lines = self.says.lines();
        let mut text = format!("{state:<5}  {:<8}  {}", self.check, lines.next().unwrap_or_default());
        for line in lines {
            text.push_str("\n                 ");
            text.push_str(line);
        }
        text
    }
}

/// The shop, and what it is called; or the folder where there is none yet.
fn read_shop(places: &Places) -> Result<Result<(Catalogue, String), PathBuf>, CliError> {
    Ok(match places.shop()? {
        Shop::NoneYet(folder) => Err(folder),
        Shop::Demo => Ok((Catalogue::demo(), "the invented shop".to_owned())),
        Shop::Named(folder) | Shop::Usual(folder) => {
            Ok((Catalogue::load(&folder), folder.display().to_string()))
        }
    })
}

fn files(shop: &Result<(Catalogue, String), PathBuf>) -> Vec<Finding> {
    let (catalogue, label) = match shop {
        Ok(shop) => shop,
        Err(folder) => {
            let says = format!(
                "{}. Name yours with --shop DIR, or try the invented one with --demo-shop",
                no_shop(folder)
            );
            return vec![Finding::new("files", State::Wrong, says)];
        }
    };
    let mut found: Vec<Finding> = catalogue
        .problems
        .iter()
        .map(|problem| {
            let state = if problem.severity == Severity::Error { State::Wrong } else { State::Note };
            Finding::new("files", state, problem.to_string())
        })
        .collect();
    let state = if catalogue.colours.is_empty() { State::Wrong } else { State::Well };
    let says = format!(
        "{label}: {} colours, {} toners, {} cups can be used",
        catalogue.colours.len(),
        catalogue.toners.len(),
        catalogue.cups.len()
    );
    found.insert(0, Finding::new("files", state, says));
    found
}

/// How the scale in the shop's files stands by its checks in the book.
fn daily_check(
    places: &Places,
    shop: Option<Catalogue>,
    notation: Notation,
) -> Result<Vec<Finding>, CliError> {
    let Some(catalogue) = shop else { return Ok(Vec::new()) };
    let Some(sheet) = &catalogue.scale else {
        let says = "no scale.toml with a scale that can be read: write one to have the scale's check kept";
        return Ok(vec![Finding::new("daily", State::Note, says)]);
    };
    let path = places.book(places.is_demo())?;
    // What is wrong with the book was said above.
    let record = match path.exists().then(|| open_to_look(&path)) {
        None => ScaleRecord::default(),
        Some(Ok(store)) => match open::scale_record(&store, &catalogue) {
            Ok(record) => record,
            Err(error) => return Ok(vec![Finding::new("daily", State::Wrong, error.to_string())]),
        },
        Some(Err(_)) => {
            let says = "the book cannot be opened, so nobody knows whether the scale was checked";
            return Ok(vec![Finding::new("daily", State::Note, says)]);
        }
    };
    let now = jiff::Timestamp::now();
    let standing =
        daily::standing(sheet, &record, Stamp(now.as_microsecond()), open::seconds_east(now), notation);
    let told = [standing, daily::weights(sheet, notation)].into_iter();
    let told = told.chain(daily::repeatability(&record, notation).map(|says| (State::Well, says)));
    Ok(told.map(|(state, says)| Finding::new("daily", state, says)).collect())
}

/// Makes the book's figures anew; the journal itself is only read.
fn rebuild(places: &Places) -> Result<Finding, CliError> {
    let path = places.book(places.is_demo())?;
    if !path.exists() {
        return Ok(Finding::new(
            "figures",
            State::Note,
            "there is no book yet, so there was nothing to make anew",
        ));
    }
    let now = Stamp(jiff::Timestamp::now().as_microsecond());
    let line = Ticking::new();
    line.tell(Far::begun("the book is opened"));
    let made = SqliteStore::open_telling(&path, now, &mut |far| line.tell(far))
        .and_then(|opened| opened.into_parts().0.rebuild_telling(&mut |far| line.tell(far)));
    drop(line);
    Ok(match made {
        Ok(()) => Finding::new("figures", State::Well, "made anew from the journal"),
        Err(error) => Finding::new("figures", State::Wrong, error.to_string()),
    })
}

/// Looks through the book; it is never made or changed by that.
fn book(places: &Places) -> Result<Finding, CliError> {
    let path = places.book(places.is_demo())?;
    if !path.exists() {
        let says = format!("{} is not there yet: it is made with the first mix", path.display());
        return Ok(Finding::new("book", State::Note, says));
    }
    let line = Ticking::new();
    line.tell(Far::begun("the book is opened"));
    let looked = open_to_look(&path).and_then(|store| {
        let mut report = check_telling(&store, &mut |far| line.tell(far))?;
        line.tell(Far::begun("the events of tins are looked through"));
        report.faults.extend(stock::faults(&store)?);
        line.tell(Far::begun("the events of jobs are looked through"));
        report.faults.extend(job::faults(&store)?);
        Ok(report)
    });
    drop(line);
    Ok(match looked {
        Err(error) => Finding::new("book", State::Wrong, error.to_string()),
        Ok(report) if report.faults.is_empty() => {
            let says = format!(
                "{}: {} mixes, {} events, every gram accounted for",
                path.display(),
                report.mixes,
                report.events
            );
            Finding::new("book", State::Well, says)
        }
        Ok(report) => {
            Finding::new("book", State::Wrong, format!("{}:\n{}", path.display(), report.faults.join("\n")))
        }
    })
}

/// Listens to the scale and says what it hears.
fn weigh(address: &Address, notation: Notation) -> Result<Finding, CliError> {
    let stop = Stop::on_signals()?;
    let rules = Rules { capacity: address.capacity, division: address.division, ..Rules::default() };
    let mut settle = Settle::new(rules);
    let ear = Ear::open(address.clone(), Listening::default(), Some(LISTEN_MS))?;
    let mut readings = 0_u32;
    let mut last = None;
    let mut why = "nothing came from it".to_owned();
    while let Some((_, event)) = ear.next(Some(&stop)) {
        match event {
            LinkEvent::Reading(reading) => {
                readings = readings.saturating_add(1);
                let verdict = settle.feed(&reading);
                let settled = verdict.weight.is_some();
                last = Some((reading, verdict));
                if settled {
                    break;
                }
            }
            LinkEvent::State { why: said, .. } if !said.is_empty() => why = said,
            LinkEvent::Ended { why: said, .. } if readings == 0 => why = said,
            _ => {}
        }
    }
    let Some((reading, verdict)) = last else {
        return Ok(Finding::new("scale", State::Wrong, format!("{address}: {why}")));
    };
    Ok(match (verdict.weight, verdict.doubt) {
        (Some(weight), _) => Finding::new(
            "scale",
            State::Well,
            format!("{address}: speaks, and stands at {}", notation.mass(weight.grams(), weight.division())),
        ),
        (None, doubt) => Finding::new(
            "scale",
            State::Note,
            format!(
                "{address}: speaks ({}), but no weight settled. {}",
                reading.frame.to_string().trim_start(),
                doubt.map(|doubt| doubt.sentence(notation)).unwrap_or_default()
            ),
        ),
    })
}

/// Whether this user may open the serial ports. With a scale that was named, what became of it has been said
/// already, and the other ports are only worth a note.
fn serial_ports(scale_named: bool) -> Vec<Finding> {
    let ports = ports::list(false);
    if ports.is_empty() {
        return vec![Finding::new("ports", State::Note, "there is no serial port on this machine")];
    }
    let finding = |port: ports::Port| match port.forbidden {
        Some(why) => {
            let state = if scale_named { State::Note } else { State::Wrong };
            Finding::new("ports", state, format!("{} may not be opened: {why}", port.path))
        }
        None => Finding::new("ports", State::Well, format!("{} may be opened", port.path)),
    };
    ports.into_iter().map(finding).collect()
}

/// The terminal that the bench would open on.
fn screen() -> Vec<Finding> {
    let variable = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
    let mut found = Vec::new();
    if std::io::stdout().is_terminal() {
        let (state, says) = match terminal::size() {
            Ok((columns, rows)) if columns >= 80 && rows >= 24 => {
                (State::Well, format!("{columns} columns, {rows} rows"))
            }
            Ok((columns, rows)) => (
                State::Note,
                format!("{columns} columns, {rows} rows: the bench needs 80 and 24 to show everything"),
            ),
            Err(error) => (State::Note, format!("its size is not known: {error}")),
        };
        found.push(Finding::new("terminal", state, says));
    } else {
        found.push(Finding::new("terminal", State::Note, "the results do not go to a terminal"));
    }
    let colours = match (variable("NO_COLOR"), variable("COLORTERM")) {
        (Some(_), _) => "NO_COLOR is set: no colours are used".to_owned(),
        (None, Some(depth)) => format!("COLORTERM is {depth}"),
        (None, None) => "COLORTERM is not set: the terminal's own few colours are used".to_owned(),
    };
    found.push(Finding::new("terminal", State::Well, colours));
    // The first of these that is set decides, as POSIX.1 orders them (from memory).
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(variable);
    let is_utf8 = |name: &str| name.to_lowercase().replace('-', "").contains("utf8");
    found.push(match locale {
        Some(name) if is_utf8(&name) => {
            Finding::new("terminal", State::Well, format!("the locale {name} is UTF-8"))
        }
        other => {
            let name = other.unwrap_or_else(|| "none".to_owned());
            let says = format!("the locale ({name}) does not say UTF-8: lines and bars may come out garbled");
            Finding::new("terminal", State::Note, says)
        }
    });
    found
}
