//! The records a shop of the US rule for area sources keeps (40 CFR part 63 subpart HHHHHH, "6H"): which are there, which are
//! missing, which fall due.
//!
//! Which records: 63.11177 (read, in a text dated 2024-12-26). The years and days are from memory, and said to be.

use super::Known;
use super::shop_file::{Entry, Said, Sheet};
use crate::catalogue::Problem;
use jiff::Span;
use jiff::civil::Date;

/// The file's name in a shop's folder.
pub const PAINTERS_FILE: &str = "painters.toml";

/// So many days before it is due a training is said to be.
pub const DUE_DAYS: i32 = 90;
/// A training holds so many years (63.11173(g); from memory).
const TRAINING_YEARS: i16 = 5;
/// A new painter is trained within so many days (63.11173(g); from memory).
const NEW_DAYS: i32 = 180;

/// How a record stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RecordStanding {
    /// It is there, of that day, and holds until then, if it ends.
    There {
        /// Of which day it is.
        dated: Date,
        /// Until when it holds.
        until: Option<Date>,
    },
    /// It is there, and has to be renewed by then, which is soon; or it is not there, and has to be by then.
    Due(Date),
    /// It had to be there by then.
    Overdue(Date),
    /// It is not there.
    Missing,
    /// Whether it is needed depends on what the shop has not said: a question.
    Ask(&'static str),
    /// It is not needed, and why.
    NotNeeded(&'static str),
}

impl RecordStanding {
    /// Whether somebody has to do something.
    pub const fn wants_doing(&self) -> bool {
        matches!(self, Self::Due(_) | Self::Overdue(_) | Self::Missing | Self::Ask(_))
    }

    /// In a word.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::There { .. } => "there",
            Self::Due(_) => "due",
            Self::Overdue(_) => "OVERDUE",
            Self::Missing => "MISSING",
            Self::Ask(_) => "say",
            Self::NotNeeded(_) => "not needed",
        }
    }
}

/// One line of the checklist.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record {
    /// What it is.
    pub what: String,
    /// How it stands.
    pub standing: RecordStanding,
    /// Where the rule asks for it.
    pub asked_by: &'static str,
    /// How well its days and years are known.
    pub known: Known,
}

/// What `painters.toml` says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Records {
    painters: Vec<Painter>,
    papers: Vec<Paper>,
    /// Whether there are guns of which it has to be proved what they are.
    other_guns: Option<bool>,
    stripper: Stripper,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Painter {
    name: String,
    hired: Option<Date>,
    trained: Option<Date>,
    refreshed: Option<Date>,
    left: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Paper {
    kind: Kind,
    name: String,
    dated: Date,
}

/// Whether paint strippers with methylene chloride are used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Stripper {
    #[default]
    NotSaid,
    No,
    UpToATon,
    MoreThanATon,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Filter,
    Gun,
    Notification,
    Stripper,
    StripperPlan,
}

const KINDS: [(&str, Kind); 5] = [
    ("filter", Kind::Filter),
    ("gun", Kind::Gun),
    ("notification", Kind::Notification),
    ("stripper", Kind::Stripper),
    ("stripper-plan", Kind::StripperPlan),
];
const STRIPPERS: [(&str, Stripper); 3] = [
    ("no", Stripper::No),
    ("up to a ton a year", Stripper::UpToATon),
    ("more than a ton a year", Stripper::MoreThanATon),
];
const YES_NO: [(&str, bool); 2] = [("yes", true), ("no", false)];

/// Reads a `painters.toml`: what could be read, and what is wrong with the rest.
pub fn read_records(file: &str, text: &str) -> (Records, Vec<Problem>) {
    let mut sheet = Sheet::new(file, text);
    let mut records = Records::default();
    if let Ok(document) = sheet.parse() {
        let entry = Entry::of_file(document.as_table(), "file of painters");
        // Each mistake is said; what is right counts all the same.
        let _ = entry.only(&mut sheet, &["other_guns", "stripper", "painter", "document"]);
        records.other_guns = entry.word(&mut sheet, "other_guns", &YES_NO).unwrap_or(None);
        records.stripper = entry.word(&mut sheet, "stripper", &STRIPPERS).ok().flatten().unwrap_or_default();
        let painters = entry.tables(&mut sheet, "painter", ("painter", "painter"));
        for painter in painters.ok().flatten().unwrap_or_default() {
            records.painters.extend(read_painter(&mut sheet, painter));
        }
        let papers = entry.tables(&mut sheet, "document", ("document", "document"));
        for paper in papers.ok().flatten().unwrap_or_default() {
            records.papers.extend(read_paper(&mut sheet, paper));
        }
    }
    (records, sheet.into_problems())
}

fn read_painter(sheet: &mut Sheet<'_>, entry: Entry<'_>) -> Result<Painter, Said> {
    let only = entry.only(sheet, &["name", "hired", "trained", "refreshed", "left"]);
    let name = entry.text(sheet, "name");
    let name = entry.need(sheet, "name", name);
    let [hired, trained, refreshed, left] =
        ["hired", "trained", "refreshed", "left"].map(|key| entry.day(sheet, key));
    only?;
    let painter = Painter {
        name: name?,
        hired: hired?,
        trained: trained?,
        refreshed: refreshed?,
        left: left?.is_some(),
    };
    if painter.refreshed.is_some_and(|refreshed| painter.trained.is_none_or(|first| first > refreshed)) {
        let what = "'refreshed' comes without 'trained', or before it";
        return Err(sheet.wrong(
            entry.at("refreshed"),
            what,
            "first the training, then its refresher",
            "painter",
        ));
    }
    Ok(painter)
}

fn read_paper(sheet: &mut Sheet<'_>, entry: Entry<'_>) -> Result<Paper, Said> {
    let only = entry.only(sheet, &["kind", "name", "dated"]);
    let kind = entry.word(sheet, "kind", &KINDS);
    let kind = entry.need(sheet, "kind", kind);
    let name = entry.text(sheet, "name");
    let name = entry.need(sheet, "name", name);
    let dated = entry.day(sheet, "dated");
    let dated = entry.need(sheet, "dated", dated);
    only?;
    Ok(Paper { kind: kind?, name: name?, dated: dated? })
}

impl Records {
    /// How the training of that painter stands on that day; none where no such painter is on file.
    pub fn training_of(&self, name: &str, today: Date) -> Option<RecordStanding> {
        let folded = name.trim().to_lowercase();
        let painter = self.painters.iter().find(|painter| painter.name.trim().to_lowercase() == folded);
        painter.map(|painter| painter.standing(today))
    }

    /// The checklist as it stands on that day.
    pub fn list(&self, today: Date) -> Vec<Record> {
        let mut list: Vec<Record> = self
            .painters
            .iter()
            .filter(|painter| !painter.left)
            .map(|painter| Record {
                what: format!("training of {}, with its certificate", painter.name),
                standing: painter.standing(today),
                asked_by: "40 CFR 63.11177(a)",
                known: Known::Memory,
            })
            .collect();
        if list.is_empty() {
            list.push(Record {
                what: "training of each painter, with its certificate".to_owned(),
                standing: RecordStanding::Missing,
                asked_by: "40 CFR 63.11177(a)",
                known: Known::Read,
            });
        }
        self.papers_of(
            Kind::Filter,
            "filter efficiency, from the filter's maker",
            "40 CFR 63.11177(b)",
            None,
            &mut list,
        );
        let guns = match self.other_guns {
            Some(true) => None,
            Some(false) => Some(RecordStanding::NotNeeded(
                "every gun with a cup of 3.0 fl oz or more is HVLP, electrostatic, airless or air-assisted airless",
            )),
            None => Some(RecordStanding::Ask(
                "is there a gun with a cup of 3.0 fl oz (89 cc) or more that is neither HVLP, electrostatic, airless nor air-assisted airless? Write other_guns = \"yes\" or \"no\"",
            )),
        };
        self.papers_of(
            Kind::Gun,
            "proof that a gun transfers as much as HVLP",
            "40 CFR 63.11177(c)",
            guns,
            &mut list,
        );
        self.papers_of(
            Kind::Notification,
            "copies of notifications and reports",
            "40 CFR 63.11177(d)",
            None,
            &mut list,
        );
        let none = RecordStanding::NotNeeded("no stripper with methylene chloride is used");
        let ask = RecordStanding::Ask(
            "is a paint stripper with methylene chloride used? Write stripper = \"no\", \"up to a ton a year\" or \"more than a ton a year\"",
        );
        let (used, plan) = match self.stripper {
            Stripper::NotSaid => (Some(ask.clone()), Some(ask)),
            Stripper::No => (Some(none.clone()), Some(none)),
            Stripper::UpToATon => (None, Some(RecordStanding::NotNeeded("up to a ton a year is used"))),
            Stripper::MoreThanATon => (None, None),
        };
        self.papers_of(
            Kind::Stripper,
            "records of strippers with methylene chloride",
            "40 CFR 63.11177(e)",
            used,
            &mut list,
        );
        self.papers_of(
            Kind::StripperPlan,
            "plan to use less methylene chloride",
            "40 CFR 63.11177(f)",
            plan,
            &mut list,
        );
        list
    }

    /// The documents of a kind; or, if there are none, that they are missing or why they are not.
    fn papers_of(
        &self,
        kind: Kind,
        what: &str,
        asked_by: &'static str,
        otherwise: Option<RecordStanding>,
        list: &mut Vec<Record>,
    ) {
        let mut is_there = false;
        for paper in self.papers.iter().filter(|paper| paper.kind == kind) {
            is_there = true;
            list.push(Record {
                what: format!("{what}: {}", paper.name),
                standing: RecordStanding::There { dated: paper.dated, until: None },
                asked_by,
                known: Known::Read,
            });
        }
        if !is_there {
            let standing = otherwise.unwrap_or(RecordStanding::Missing);
            list.push(Record { what: what.to_owned(), standing, asked_by, known: Known::Read });
        }
    }
}

/// That many years later; the same day where the calendar ends.
fn later(day: Date, span: Span) -> Date {
    day.checked_add(span).unwrap_or(day)
}

impl Painter {
    fn standing(&self, today: Date) -> RecordStanding {
        let Some(last) = self.refreshed.or(self.trained) else {
            let by = self.hired.map(|hired| later(hired, Span::new().days(NEW_DAYS)));
            return match by {
                Some(by) if by < today => RecordStanding::Overdue(by),
                Some(by) => RecordStanding::Due(by),
                None => RecordStanding::Missing,
            };
        };
        if last > today {
            return RecordStanding::Ask("its training is of a day that is still to come: look at the date");
        }
        let until = later(last, Span::new().years(TRAINING_YEARS));
        if until < today {
            RecordStanding::Overdue(until)
        } else if until <= later(today, Span::new().days(DUE_DAYS)) {
            RecordStanding::Due(until)
        } else {
            RecordStanding::There { dated: last, until: Some(until) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use rstest::rstest;

    fn read(text: &str) -> Records {
        let (records, problems) = read_records("painters.toml", text);
        assert!(problems.is_empty(), "{problems:?}");
        records
    }

    fn first(text: &str, today: Date) -> RecordStanding {
        read(text).list(today).remove(0).standing
    }

    /// Five years, and 180 days for a new painter: 63.11173(g), from memory.
    #[rstest]
    #[case("trained = \"2022-03-01\"", RecordStanding::There { dated: date(2022, 3, 1), until: Some(date(2027, 3, 1)) })]
    #[case("trained = \"2022-02-24\"", RecordStanding::Due(date(2027, 2, 24)))]
    #[case("trained = \"2021-11-26\"", RecordStanding::Due(date(2026, 11, 26)))]
    #[case("trained = \"2021-11-25\"", RecordStanding::Overdue(date(2026, 11, 25)))]
    #[case("trained = \"2016-05-02\"\nrefreshed = 2024-02-29", RecordStanding::There { dated: date(2024, 2, 29), until: Some(date(2029, 2, 28)) })]
    #[case("hired = \"2026-09-01\"", RecordStanding::Due(date(2027, 2, 28)))]
    #[case("hired = \"2026-01-01\"", RecordStanding::Overdue(date(2026, 6, 30)))]
    #[case(
        "trained = \"2026-11-27\"",
        RecordStanding::Ask("its training is of a day that is still to come: look at the date")
    )]
    #[case("", RecordStanding::Missing)]
    fn a_training_holds_five_years(#[case] text: &str, #[case] standing: RecordStanding) {
        let text = format!("[[painter]]\nname = \"K.\"\n{text}");
        assert_eq!(first(&text, date(2026, 11, 26)), standing);
    }

    #[test]
    fn what_is_missing_and_what_has_to_be_said() {
        let today = date(2026, 11, 26);
        let words = |text: &str| -> Vec<&str> {
            read(text).list(today).iter().map(|record| record.standing.word()).collect()
        };
        assert_eq!(words(""), ["MISSING", "MISSING", "say", "MISSING", "say", "say"]);
        let text = "other_guns = \"no\"\nstripper = \"up to a ton a year\"\n\
                    [[painter]]\nname = \"K.\"\ntrained = \"2025-01-01\"\n\
                    [[painter]]\nname = \"gone\"\ntrained = \"2001-01-01\"\nleft = \"2003-01-01\"\n\
                    [[document]]\nkind = \"filter\"\nname = \"booth 1\"\ndated = \"2025-02-01\"\n\
                    [[document]]\nkind = \"notification\"\nname = \"initial\"\ndated = \"2025-02-01\"\n";
        assert_eq!(words(text), ["there", "there", "not needed", "there", "MISSING", "not needed"]);
        assert_eq!(words("stripper = \"more than a ton a year\"")[4..], ["MISSING", "MISSING"]);
        assert_eq!(words("other_guns = \"yes\"")[2], "MISSING");
        let list = read(text).list(today);
        assert!(list[4].standing.wants_doing() && !list[0].standing.wants_doing());
    }

    #[test]
    fn mistakes_have_their_place() {
        let text = "[[painter]]\nname = \"K.\"\ntrained = \"2025-13-01\"\n\n[[painter]]\nname = \"L.\"\nrefreshed = \"2025-01-01\"\n\
                    [[document]]\nkind = \"filtre\"\nname = \"x\"\ndated = \"2025-01-01\"\nwhen = 1\n";
        let (records, problems) = read_records("painters.toml", text);
        let places: Vec<String> = problems.iter().map(Problem::location).collect();
        let expected =
            ["painters.toml:3:11", "painters.toml:7:13", "painters.toml:9:8", "painters.toml:12:1"];
        assert_eq!(places, expected);
        assert_eq!(records, Records::default());
    }
}
