//! What the virtual bench says of itself, line by line, as the SMA standard has it (SMA SCP-0499, clauses 4.13 to
//! 4.16). Every value is invented and says so.

use super::Spec;
use crate::scale::shape::{Answer, Ask};

/// Where it stands in each list; nothing is left to say behind the end.
#[derive(Clone, Debug, Default)]
pub(super) struct Plate {
    about: usize,
    information: usize,
}

impl Plate {
    /// The line asked for. The first line starts its list anew; behind the last one there is nothing known.
    pub(super) fn answer(&mut self, what: Ask, spec: &Spec) -> Answer {
        let (place, lines) = match what {
            Ask::About | Ask::AboutNext => (&mut self.about, about()),
            _ => (&mut self.information, information(spec)),
        };
        // A scroll that nothing came before begins behind the first line (clause 4.13).
        *place = if matches!(what, Ask::About | Ask::Information) { 0 } else { (*place).max(1) };
        let line = lines.get(*place);
        *place = place.saturating_add(1).min(lines.len());
        line.map_or(Answer::Unknown, |(name, value)| Answer::About((*name).to_owned(), value.clone()))
    }
}

const LEVEL: &str = "2/1.0";

fn about() -> Vec<(&'static str, String)> {
    let lines = [
        ("SMA", LEVEL),
        ("MFG", "invented"),
        ("MOD", "virtual bench"),
        ("REV", "not a real scale"),
        ("END", ""),
    ];
    lines.map(|(name, value)| (name, value.to_owned())).to_vec()
}

fn information(spec: &Spec) -> Vec<(&'static str, String)> {
    let division = spec.division.grams().decimal();
    let capacity = format!("g  :{}:{}:{}", spec.capacity, division.mantissa(), division.scale());
    // Of the commands of level 2, without I and N themselves.
    let lines = [("SMA", LEVEL), ("TYP", "S"), ("CAP", capacity.as_str()), ("CMD", "PRTUC"), ("END", "")];
    lines.map(|(name, value)| (name, value.to_owned())).to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(answer: &Answer) -> String {
        match answer {
            Answer::About(name, value) => format!("{name}:{value}"),
            other => format!("{other:?}"),
        }
    }

    /// SMA SCP-0499, clauses 4.13 to 4.16, 5.5 and 5.6: the first line, the others one by one, an end, then nothing.
    #[test]
    fn it_tells_of_itself_line_by_line() {
        let (mut plate, spec) = (Plate::default(), Spec::default());
        let mut ask = |what| said(&plate.answer(what, &spec));
        assert_eq!(ask(Ask::Information), "SMA:2/1.0");
        let next = |_| ask(Ask::InformationNext);
        let lines: Vec<String> = (0..5).map(next).collect();
        assert_eq!(lines, ["TYP:S", "CAP:g  :7500:1:1", "CMD:PRTUC", "END:", "Unknown"]);
        assert_eq!(ask(Ask::AboutNext), "MFG:invented");
        assert_eq!(ask(Ask::About), "SMA:2/1.0");
        let lines: Vec<String> = (0..5).map(|_| ask(Ask::AboutNext)).collect();
        assert_eq!(lines, ["MFG:invented", "MOD:virtual bench", "REV:not a real scale", "END:", "Unknown"]);
        assert_eq!(ask(Ask::Information), "SMA:2/1.0");
    }
}
