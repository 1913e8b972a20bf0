//! How much the layers want and how that comes about, and what was used of it in the end.

use super::words::{layer_of, said, said_mass, titled};
use super::{Block, Look, MixRow, Sheet};
use crate::catalogue::Role;
use crate::job::{Amount, Film, Need, Surface, Wanted};
use crate::units::{Area, Decimal, Millilitres, Notation, Share};

/// How much a layer wants.
#[derive(Clone, Debug, PartialEq)]
pub struct HowMuchRow {
    /// What it is reckoned to want.
    pub wanted: Wanted,
    /// Whether its area is its own, and not that of the panels.
    pub has_own_area: bool,
}

/// What was mixed of a layer for the car, and what was used of that.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UsedRow {
    /// Which layer.
    pub layer: Role,
    /// What was estimated before the first of its mixes, if that was written down.
    pub estimated: Option<Millilitres>,
    /// What was mixed, without what was drawn off.
    pub mixed: Amount,
    /// What of it was used; none until every cup of it is emptied.
    pub used: Option<Amount>,
}

impl UsedRow {
    /// What was left, kept or thrown away; none until every cup of it is emptied.
    fn left(&self) -> Option<Amount> {
        let used = self.used?;
        let volume = self.mixed.volume.zip(used.volume).map(|(mixed, used)| mixed - used);
        Some(Amount { mass: self.mixed.mass - used.mass, volume })
    }

    /// What was used against what was estimated.
    fn against(&self) -> Option<Share> {
        self.used?.volume?.ratio_to(self.estimated?).map(Share::new)
    }
}

impl Sheet {
    /// Takes a mix for the car into what was used of its layer; one that was given up is none.
    pub(super) fn add_used(&mut self, mix: &MixRow) {
        let Some(layer) = mix.layer.filter(|_| !mix.for_cards && !mix.is_given_up()) else { return };
        match self.used.iter_mut().find(|row| row.layer == layer) {
            Some(row) => {
                row.mixed = row.mixed.and(mix.whole);
                row.used = row.used.zip(mix.used).map(|(one, other)| one.and(other));
            }
            None => {
                self.used.push(UsedRow { layer, estimated: mix.estimate, mixed: mix.whole, used: mix.used });
            }
        }
    }

    pub(super) fn how_much_block(&self, look: &Look<'_>) -> Block {
        let notation = look.notation;
        let row = |row: &HowMuchRow| {
            let wanted = &row.wanted;
            let to_mix = wanted.to_mix.map(|to_mix| match wanted.asked {
                Some(asked) => notation.given_volume_number(asked),
                None => notation.volume_number_up(to_mix.wanted),
            });
            let estimate = wanted.estimate().map(|volume| notation.volume_number_up(volume));
            vec![
                layer_of(wanted.layer),
                how_words(row, notation),
                said(estimate.as_ref()),
                said(to_mix.as_ref()),
            ]
        };
        let mut notes: Vec<String> = self
            .how_much
            .iter()
            .map(|row| format!("{}: {}.", row.wanted.layer.name(), row.wanted.sentence(notation)))
            .collect();
        if self.how_much.iter().any(|row| row.wanted.advice.as_ref().is_some_and(|advice| advice.from > 0)) {
            notes.push("The shop's record is taken as it is now, without this job.".to_owned());
        }
        let unit = notation.volume_unit();
        Block {
            id: "how-much",
            title: "How much, ready to spray",
            columns: titled(
                &["layer", "how it comes about"],
                vec![format!("estimate, {unit}"), format!("to mix, {unit}")],
            ),
            rows: self.how_much.iter().map(row).collect(),
            notes,
        }
    }

    pub(super) fn used_block(&self, look: &Look<'_>) -> Block {
        let notation = look.notation;
        let volume =
            |volume: Option<Millilitres>| said(volume.map(|it| notation.volume_number(it, 0)).as_ref());
        let both = |amount: Option<Amount>| {
            [
                volume(amount.and_then(|it| it.volume)),
                amount.map_or_else(|| said(None), |it| said_mass(it.mass, look)),
            ]
        };
        let row = |row: &UsedRow| {
            let estimated = row.estimated.map(|volume| notation.volume_number_up(volume));
            let mut cells = vec![layer_of(row.layer), said(estimated.as_ref())];
            cells.extend(both(Some(row.mixed)));
            cells.extend(both(row.used));
            cells.extend(both(row.left()));
            cells.push(said(row.against().map(|share| notation.percent(share, 0)).as_ref()));
            cells
        };
        let (ml, g) = (notation.volume_unit(), notation.mass_unit());
        let titles = [
            format!("estimated, {ml}"),
            format!("mixed, {ml}"),
            format!("mixed, {g}"),
            format!("used, {ml}"),
            format!("used, {g}"),
            format!("left, {ml}"),
            format!("left, {g}"),
            "used of the estimate".to_owned(),
        ];
        let mut notes = vec![
            "Mixes for the car alone, ready to spray and without what was drawn off; estimated is what was written down before \
             the first of them."
                .to_owned(),
        ];
        if self.used.iter().any(|row| row.mixed.volume.is_none()) {
            notes.push(
                "Where no volume stands the colour was weighed alone: what was added to it is not in the book.".to_owned(),
            );
        }
        if self.used.iter().any(|row| row.used.is_none()) {
            notes.push("What was used is known once the cup is emptied.".to_owned());
        }
        Block {
            id: "used",
            title: "Used against estimated",
            columns: titled(&["layer"], titles.to_vec()),
            rows: self.used.iter().map(row).collect(),
            notes,
        }
    }
}

/// How an estimate comes about, or what is missing for it.
fn how_words(row: &HowMuchRow, notation: Notation) -> String {
    let wanted = &row.wanted;
    match (wanted.surface, wanted.film, wanted.need, &wanted.lacks) {
        (Some(surface), Some(film), Some(need), _) => {
            reckoned(surface, film, need, row.has_own_area, notation)
        }
        (.., Some(lack)) => format!("not known: {lack}"),
        _ => "not known".to_owned(),
    }
}

fn reckoned(surface: Surface, film: Film, need: Need, is_own: bool, notation: Notation) -> String {
    let area = |area: Decimal| notation.area(Area::new(area.round_dp(3).normalize()));
    let volume = |volume: Millilitres| notation.volume(volume, 1);
    let own = if is_own { " (its own area)" } else { "" };
    let coats = if film.coats == 1 { "1 coat".to_owned() } else { format!("{} coats", film.coats) };
    let mut said = format!(
        "{}{own}, {coats} of {} µm dry, {} solids, {} of them on the car: {}",
        area(surface.car),
        notation.number(film.dry_um),
        percent(film.solids, notation),
        percent(film.efficiency, notation),
        volume(need.car),
    );
    if need.cards.is_positive() {
        said.extend(["; cards, as ", &area(surface.cards), " of it: ", &volume(need.cards)]);
    }
    if need.behind.is_positive() {
        said.extend(["; gun and strainer: ", &notation.given_volume(need.behind)]);
    }
    said
}

/// Whole percents without a decimal, others with one.
fn percent(share: Share, notation: Notation) -> String {
    let is_whole = (share.decimal().saturating_mul(Decimal::ONE_HUNDRED)).fract().is_zero();
    notation.percent(share, u32::from(!is_whole))
}
