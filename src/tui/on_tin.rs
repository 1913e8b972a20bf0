//! What the book says of a tin before it is poured from, and which tin it would take.

use super::app::{App, Screen};
use super::bench::Bench;
use super::on_scan::today;
use super::scanned::ScannedTin;
use crate::book::Envelope;
use crate::mix::Phase;
use crate::report::shelf::Shelf;
use crate::stock::{Caution, Proposal, Tin, cautions, follow, know_lots, proposal};
use crate::units::{Division, Grams};

/// Of so many tins that may not be poured it is said why; a line has no room for more.
const BARRED_SAID: usize = 2;

impl App {
    fn known_tin(&self, label: &str) -> Option<&Tin> {
        self.tins.iter().find(|tin| tin.label == label)
    }

    /// What has to be said of the tin with that label before the toner that is due is poured from it, the gravest first;
    /// nothing of one that the book does not know.
    fn cautions_of(&self, label: &str) -> Vec<Caution> {
        let of = || {
            let session = self.bench().map(Bench::session)?;
            let due = session.recipe().lines().get(session.current()?)?;
            let need = session.goal().map_or(Grams::ZERO, |goal| goal.missing);
            let today = today(self.now.stamp, self.settings.seconds_east)?;
            Some(cautions(self.known_tin(label)?, &due.toner, need, &self.recalls, today))
        };
        of().unwrap_or_default()
    }

    /// Why a tin is not to be poured from as it is; none where nothing speaks against it.
    pub(super) fn speaks_against(&self, label: &str) -> Option<Caution> {
        let grave = |caution: &Caution| !matches!(caution, Caution::TooLittle { .. } | Caution::NotStirred);
        self.cautions_of(label).into_iter().find(grave)
    }

    /// Whether a tin that was typed is one to be asked about first.
    pub(super) fn is_doubtful_tin(&self, label: &str) -> bool {
        self.speaks_against(label).is_some()
    }

    /// What is to be done with a tin that can be poured from, each in a few words; that it is to be stirred once a day.
    pub(super) fn heed_tin(&mut self, label: &str) -> Vec<String> {
        let notation = self.notation();
        let mut said = Vec::new();
        for caution in self.cautions_of(label) {
            match caution {
                Caution::TooLittle { holds } if holds.is_positive() => said.push(format!(
                    "by the book it holds no more than {}: have the next one at hand",
                    notation.mass(holds, Division::TENTH)
                )),
                Caution::TooLittle { .. } => {
                    said.push("by the book nothing is left in it: weigh it when there is time".to_owned());
                }
                Caution::NotStirred => {
                    let day = self.today();
                    if self.told_to_stir.get(label) != Some(&day) {
                        said.push("not stirred today: stir it first".to_owned());
                        self.told_to_stir.insert(label.to_owned(), day);
                    }
                }
                _ => {}
            }
        }
        said
    }

    /// The tin with that label as the book knows it, as if it had been scanned; one that the book does not know holds what
    /// is due.
    pub(super) fn typed_tin(&self, label: &str) -> Option<ScannedTin> {
        let session = self.bench().map(Bench::session)?;
        let due = session.recipe().lines().get(session.current()?)?;
        let known = self.known_tin(label);
        let toner = known.map_or(&due.toner, |tin| &tin.toner);
        let name = self.catalogue.toner(toner.as_str()).map_or(String::new(), |toner| toner.name.clone());
        Some(ScannedTin {
            toner: toner.as_str().to_owned(),
            name,
            label: Some(label.to_owned()),
            lot: known.and_then(|tin| tin.lot.clone()),
            item: known.and_then(|tin| tin.item.clone()),
            expires: known.and_then(|tin| tin.expires),
        })
    }

    /// Which tin is to be taken, while none was said for the toner that is due; none where none is asked for.
    pub(super) fn proposal(&self) -> Option<Proposal<'_>> {
        let bench = self.bench().filter(|bench| bench.pour_in().is_none())?;
        let session = bench.session();
        let line = session.current().filter(|_| session.phase() == Phase::Weighing)?;
        if session.tin(line).is_some() {
            return None;
        }
        let toner = &session.recipe().lines().get(line)?.toner;
        let today = today(self.now.stamp, self.settings.seconds_east)?;
        Some(proposal(&self.tins, toner, &self.recalls, today.day))
    }

    /// The tin that is to be used up first, while none was said for the toner that is due.
    pub(super) fn proposed_tin(&self) -> Option<&str> {
        match self.proposal()? {
            Proposal::Take(tin) => Some(&tin.label),
            _ => None,
        }
    }

    /// What is to be minded of the tin that is to be taken, or why there is none; nothing where all is well. That it is to be
    /// stirred is said until the tin is named and that was said of it.
    pub(super) fn tin_note(&self) -> Option<String> {
        let session = self.bench().map(Bench::session)?;
        let due = &session.recipe().lines().get(session.current()?)?.toner;
        match self.proposal()? {
            Proposal::Unknown => None,
            Proposal::NothingLeft => Some(format!(
                "by the book no tin of {due} holds anything: weigh one, or book in the tin you take"
            )),
            Proposal::Barred(tins) => {
                let why = |(tin, why): &(&Tin, Caution)| match why {
                    Caution::Expired { on } => format!("{} was to be used until {on}", tin.label),
                    _ => format!("{} was called back", tin.label),
                };
                let first: Vec<String> = tins.iter().take(BARRED_SAID).map(why).collect();
                let more = match tins.len().saturating_sub(BARRED_SAID) {
                    0 => String::new(),
                    more => format!(", and {more} more"),
                };
                Some(format!("no tin of {due} may be poured: {}{more}", first.join(", ")))
            }
            Proposal::Take(tin) => {
                let (missing, notation) = (session.goal()?.missing, self.notation());
                let mass = |mass| notation.mass(mass, Division::TENTH);
                let was_told = self.told_to_stir.get(&tin.label) == Some(&self.today());
                let mind = |caution| match caution {
                    Caution::TooLittle { holds } => {
                        Some(format!("holds about {}, {} are to go", mass(holds), mass(missing)))
                    }
                    Caution::NotStirred if !was_told => Some("not stirred today: stir it first".to_owned()),
                    _ => None,
                };
                let said: Vec<String> = self.cautions_of(&tin.label).into_iter().filter_map(mind).collect();
                (!said.is_empty()).then(|| format!("tin {}: {}", tin.label, said.join("; ")))
            }
        }
    }

    /// The tin that is proposed is the one that is poured from: also what was poured and is not booked yet.
    pub(super) fn take_proposed(&mut self) {
        let Some(label) = self.proposed_tin().map(str::to_owned) else { return };
        let heed = self.heed_tin(&label);
        self.at_bench(|bench, _, tools| bench.name_tin(&label, tools));
        if self.notice.as_ref().is_none_or(|notice| !notice.is_error) {
            let taken = format!("tin {label} is taken");
            self.say([vec![taken], heed].concat().join("; "));
        }
    }

    /// What was written is known of the tins at once: what was poured from them, and what was said of them.
    pub(super) fn move_in_tins(&mut self, envelope: &Envelope) {
        follow(&mut self.tins, &mut self.recalls, envelope);
        self.unnamed.follow(envelope);
        if matches!(envelope.kind.as_str(), "tin/received" | "mix/tin-taken") {
            self.know_lots();
        }
        self.outdate_shelf();
    }

    /// The lots of tins that were poured from before anybody said them are known of what is left of those mixes too.
    fn know_lots(&mut self) {
        let left = self.leftovers.iter_mut().flat_map(|leftover| &mut leftover.tins);
        know_lots(left.chain(self.reused.values_mut().flatten()), &self.tins);
    }

    /// Tins and recalls as the book has them, another program's too.
    pub(super) fn know_tins(&mut self, shelf: &Shelf) {
        let on_shelf = shelf.toners.iter().flat_map(|toner| &toner.tins).map(|seen| &seen.tin);
        for seen in on_shelf.chain(&shelf.gone) {
            match self.tins.iter_mut().find(|tin| tin.label == seen.label) {
                Some(tin) => tin.clone_from(seen),
                None => self.tins.push(seen.clone()),
            }
        }
        self.recalls.clone_from(&shelf.recalls);
        self.know_lots();
        if let Screen::Stocktake(stocktake) = &mut self.screen {
            stocktake.know(&self.tins);
        }
    }
}
