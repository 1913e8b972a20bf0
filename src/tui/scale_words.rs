//! What is said of the scale: why it is lost, how its checks stand, and the notes on its own screen.

use super::app::App;
use super::scale_page::ScalePage;
use super::screens::Note;
use super::theme::Meaning;
use crate::metrology::{Day, Standing};
use crate::mix::weighable::smallest_weight;
use crate::scale::Place;
use crate::units::{Stamp, clean};

/// A port's name that is longer than that leaves no room for what is said of it.
const LONG_NAME: usize = 16;
/// How many characters of why the scale is lost fit into one line of the smallest screen.
const ONE_LINE: usize = 65;

impl App {
    /// Why no reading comes in, in full; none while they do, or where nobody knows.
    fn lost(&self) -> Option<String> {
        let lost = self.scale.is_present() && !self.scale.is_live();
        lost.then(|| self.scale.doubt()).flatten().filter(|why| !why.is_empty())
    }

    /// The same for one line of a small screen: the name of a port can be as long as the line, and what to do
    /// stands behind it.
    pub(super) fn lost_in_short(&self) -> Option<String> {
        let why = self.lost()?;
        let place = self.settings.scale.as_ref().map(|scale| &scale.place);
        Some(match place {
            Some(Place::Serial { path, .. }) if path.len() > LONG_NAME => why.replace(path, "the port"),
            _ => why,
        })
    }

    /// The whole of it, where the one line cannot have said it.
    pub(super) fn lost_at_length(&self) -> Option<String> {
        let short = self.lost_in_short()?;
        self.lost().filter(|why| *why != short || short.chars().count() > ONE_LINE)
    }

    fn standing(&self) -> Option<Standing> {
        let sheet = self.catalogue.scale.as_ref()?;
        Some(self.scale_record.standing(sheet.plan, self.now.stamp, self.settings.seconds_east))
    }

    /// What is amiss with the scale's checks, in a sentence; none if all is well, or nobody laid down any.
    pub(super) fn check_amiss(&self) -> Option<String> {
        // The virtual bench needs no weights, and a demo no reproach.
        if !self.scale.is_present() || self.settings.is_virtual_bench() {
            return None;
        }
        let standing = self.standing().filter(|standing| !standing.is_well())?;
        Some(match standing {
            // The keys have to be on a screen of 80 columns too.
            Standing::Failed { at } => {
                format!("checked {}, not right: have it seen to, then F2 and k", self.when(at))
            }
            _ => self.standing_in_words(standing, "F2, then k, checks it"),
        })
    }

    fn standing_in_words(&self, standing: Standing, key: &str) -> String {
        match standing {
            Standing::Never => format!("the book has no check of this scale: {key}"),
            Standing::Done { at } => format!("checked {}, and right", self.when(at)),
            Standing::Due { last } => {
                format!("last checked {}: a check is due today ({key})", self.when(last))
            }
            Standing::Overdue { last, .. } => format!("last checked {}: overdue. {key}", self.when(last)),
            Standing::Failed { at } => {
                format!("it was not right when checked {}: have it seen to, then {key}", self.when(at))
            }
        }
    }

    /// How long ago, in days: the book's times are on the wall's clock.
    fn when(&self, at: Stamp) -> String {
        let day = |stamp| Day::of(stamp, self.settings.seconds_east).0;
        match day(self.now.stamp).saturating_sub(day(at)) {
            0 => "today".to_owned(),
            1 => "yesterday".to_owned(),
            days if days < 0 => "on a day still to come".to_owned(),
            days => format!("{days} days ago"),
        }
    }

    /// Why no mix may be begun on this scale, if the shop wants it so.
    pub(super) fn scale_refused(&self) -> Option<String> {
        let plan = self.catalogue.scale.as_ref()?.plan;
        self.check_amiss()?;
        let standing = self.standing()?;
        // Why stands above it, at CHECK SCALE.
        let refused = "no mix is begun on a scale like that: F2, then k, checks it";
        (!plan.lets_weigh(standing)).then(|| refused.to_owned())
    }

    /// What is said on the scale's own screen: the step that is due, what became of the last one, and the record.
    pub(super) fn scale_notes(&self, page: &ScalePage) -> Vec<Note> {
        let plain = |text: String| Note { text, meaning: Meaning::Plain };
        let mut notes = Vec::new();
        if let Some(search) = &page.search {
            notes.extend(search.notes());
        } else if let Some(text) = self.lost_at_length() {
            notes.push(Note { text, meaning: Meaning::Doubt });
        }
        if let Some(task) = &page.task {
            notes.push(Note { text: task.says(self.notation()), meaning: Meaning::Title });
        }
        notes.extend(page.told.clone());
        // Of a remark with its place in the description only what it says.
        let remarks = self.settings.scale.iter().flat_map(|scale| scale.shape().remarks());
        let remarks = remarks.filter_map(|remark| remark.lines().last());
        notes.extend(remarks.map(|says| Note {
            text: clean(&format!("its format: {}", says.trim())),
            meaning: Meaning::Doubt,
        }));
        if !self.scale.is_present() && page.search.is_none() {
            notes.push(plain(
                "no scale was named; weights are typed. f searches the ports for one".to_owned(),
            ));
        }
        if let Some(standing) = self.standing().filter(|_| self.scale.is_present()) {
            let meaning = if standing.is_well() { Meaning::Right } else { Meaning::Doubt };
            notes.push(Note { text: self.standing_in_words(standing, "k checks it"), meaning });
        }
        if let Some(latest) = &self.scale_record.latest_check {
            let by = clean(&latest.by.operator);
            notes.push(plain(format!("{}, by {by}", latest.check.sentence(self.notation()))));
        }
        if let Some(measured) = &self.scale_record.repeatability {
            let (notation, division) = (self.notation(), measured.repeatability.division);
            let unit = notation.mass_unit();
            let least = smallest_weight(division, self.accuracy());
            let least = least.map_or_else(String::new, |least| {
                format!(": weighs from {} {unit} up, to 1 %", notation.weight_to(least, 1))
            });
            notes.push(plain(format!(
                "ten weighings {}, spread s {} {unit}{least}",
                self.when(measured.at),
                notation.weight_to(measured.repeatability.deviation, 3)
            )));
        }
        notes
    }
}
