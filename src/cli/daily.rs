//! The scale's daily check, as `pourbook check` tells of it.

use super::check::State;
use super::open::when;
use crate::book::{ScaleCheck, ScaleRecord};
use crate::catalogue::ScaleSheet;
use crate::metrology::{Standing, WhenOverdue};
use crate::units::{Notation, Stamp};

/// How the scale stands. A failed check is wrong; one that is not there or overdue is wrong where the bench
/// refuses to weigh without, and else worth knowing.
pub(super) fn standing(
    sheet: &ScaleSheet,
    record: &ScaleRecord,
    now: Stamp,
    seconds_east: i32,
    notation: Notation,
) -> (State, String) {
    let name = &sheet.scale.name;
    let missing = match sheet.plan.when_overdue {
        WhenOverdue::Say => State::Note,
        WhenOverdue::Refuse => State::Wrong,
    };
    let last = record.latest_check.as_ref();
    let came_to = last.map(|last| format!(", {}", told(last, notation))).unwrap_or_default();
    let standing = record.standing(sheet.plan, now, seconds_east);
    let (weight, mut says) = match standing {
        Standing::Never if record.unreadable.is_empty() => {
            (missing, format!("'{name}' was never checked: F2, then k at the bench checks it with a weight"))
        }
        Standing::Never => (State::Wrong, format!("'{name}': the last check cannot be read; check it again")),
        Standing::Done { at } => (State::Well, format!("'{name}': checked {}{came_to}", when(at))),
        Standing::Due { last } => {
            (State::Note, format!("'{name}': a check is due today; the last was {}{came_to}", when(last)))
        }
        Standing::Overdue { last, .. } => {
            (missing, format!("'{name}': a check is overdue; the last was {}{came_to}", when(last)))
        }
        Standing::Failed { at } => (
            State::Wrong,
            format!(
                "'{name}': the check of {} FAILED{came_to}. Adjust the scale as its manual says, and check it again",
                when(at)
            ),
        ),
    };
    if missing == State::Wrong && !standing.is_well() {
        says.push_str("\nUntil then the bench begins no mix: when_overdue is \"refuse\" in scale.toml");
    }
    (weight, says)
}

fn told(check: &ScaleCheck, notation: Notation) -> String {
    let who = &check.by.operator;
    let by = if who.is_empty() { String::new() } else { format!(" (by {who})") };
    format!("{}{by}", check.check.sentence(notation))
}

/// Which of the shop's weights will do.
pub(super) fn weights(sheet: &ScaleSheet, notation: Notation) -> (State, String) {
    match sheet.check_weight() {
        Ok((weight, limit)) => {
            let says = format!(
                "check with '{}' ({}, class {}): ±{} allowed",
                weight.id,
                notation.given_mass(weight.nominal),
                weight.class,
                notation.given_mass(limit)
            );
            (State::Well, says)
        }
        Err(none) => (State::Note, format!("no check weight is good enough\n{none}")),
    }
}

/// How well the scale repeats itself, where that was measured.
pub(super) fn repeatability(record: &ScaleRecord, notation: Notation) -> Option<String> {
    let measured = record.repeatability.as_ref()?;
    let (s, n) =
        (notation.given_mass(measured.repeatability.deviation), measured.repeatability.readings.len());
    Some(format!("repeatability s = {s} from {n} weighings, {}", when(measured.at)))
}
