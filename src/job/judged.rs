//! The coats of a job against the limits of a table: within, over, or not to be said, and by how much.

use super::stage::{HIGHEST, Stage, StageMix, StageMixed, grams, of_stages, sum_words};
use super::{Averages, Content, Known, Limit, LimitTable, PerLitre};
use crate::units::Notation;
use rust_decimal::RoundingStrategy;
use std::collections::BTreeSet;

/// What stands beside every judgement.
pub const AID: &str =
    "An aid, not a ruling: data sheets, local codes, your permit and licensed practice decide.";

/// A coat of a job: one mix of a layer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CoatJudged {
    /// What it is called.
    pub name: String,
    /// What the layer is called that it is a mix of: two with the same are one stage that was mixed twice. Empty where
    /// that is not said.
    pub layer: String,
    /// Which stage it is.
    pub stage: Stage,
    /// Its category by that table, as the product's file has it.
    pub category: Option<String>,
    /// What is in it; or why that is not known.
    pub content: Result<Content, String>,
}

impl CoatJudged {
    /// What it is called, with its layer: `mix 2 (ground coat)`.
    pub fn called(&self) -> String {
        if self.layer.is_empty() { self.name.clone() } else { format!("{} ({})", self.name, self.layer) }
    }
}

/// How a coat, or several together, stand against their limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// At the limit or below it, by so much.
    Within(PerLitre),
    /// Above it, by so much.
    Over(PerLitre),
    /// That cannot be said, and why.
    CannotSay(String),
    /// Not before the rest is mixed, with which it is judged: what is missing, in words.
    NotComplete(String),
}

impl Verdict {
    /// In a word.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Within(_) => "within",
            Self::Over(_) => "over",
            Self::CannotSay(_) => "cannot say",
            Self::NotComplete(_) => "not complete",
        }
    }
}

/// A judgement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    /// Of which coats: several if they are judged together.
    pub coats: Vec<String>,
    /// What they hold, by the limit's figure; together, if they are several.
    pub figure: Option<PerLitre>,
    /// The stages that were judged together, from the base coat outwards, if what they hold is known.
    pub stages: Vec<StageMixed>,
    /// The limit; none if no category of the table is known for it.
    pub limit: Option<Limit>,
    /// How they stand.
    pub verdict: Verdict,
}

impl Judged {
    /// In words.
    pub fn sentence(&self, notation: Notation) -> String {
        let grams = |content: PerLitre| grams(content, notation);
        let coats = self.coats.join(", ");
        let coats = if self.coats.len() > 1 { format!("{coats} together") } else { coats };
        let limit = self.limit.as_ref().map(|limit| {
            let known = if limit.known == Known::Memory { ", FROM MEMORY and not looked up" } else { "" };
            format!("{} for '{}'{known}", grams(limit.limit), limit.name)
        });
        match (&self.verdict, limit, self.figure) {
            (Verdict::CannotSay(why), Some(limit), _) => {
                format!("{coats}: cannot say: {why} (limit {limit})")
            }
            (Verdict::CannotSay(why), None, _) => format!("{coats}: cannot say: {why}"),
            (Verdict::NotComplete(why), limit, _) => {
                let limit = limit.map_or_else(String::new, |limit| format!(" (limit {limit})"));
                format!("{coats}: not complete: {why}{limit}")
            }
            (verdict @ (Verdict::Within(by) | Verdict::Over(by)), limit, figure) => format!(
                "{coats}: {} by {}: {} against {}",
                verdict.word(),
                grams(*by),
                grams(figure.unwrap_or_default()),
                limit.unwrap_or_default()
            ),
        }
    }
}

impl Judged {
    /// What the stages that were judged together hold and how the figure was made of them, a sentence each; nothing where
    /// a coat was judged alone.
    pub fn made_of(&self, notation: Notation) -> Vec<String> {
        let stage = |stage: &StageMixed| format!("{}: {}", stage.layer, stage.words(notation));
        let mut words: Vec<String> = self.stages.iter().map(stage).collect();
        words.extend(sum_words(&self.stages, notation));
        if self.stages.iter().any(|stage| stage.mixes.len() > 1) {
            words.push(HIGHEST.to_owned());
        }
        words
    }
}

/// A layer that a job is to have.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planned {
    /// What it is called, as [`CoatJudged::layer`] is.
    pub layer: String,
    /// Which stage it is.
    pub stage: Stage,
}

/// The layers of that stage, each once, however often it was mixed.
fn layers(coats: &[CoatJudged], missing: &[&Planned], stage: Stage) -> usize {
    let mixed = coats.iter().filter(|coat| coat.stage == stage).map(|coat| coat.layer.as_str());
    let missing = missing.iter().filter(|layer| layer.stage == stage).map(|layer| layer.layer.as_str());
    mixed.chain(missing).collect::<BTreeSet<_>>().len()
}

/// What of a plan is not mixed, in words: `the pearl coat and the clear are not mixed`.
fn not_mixed(missing: &[&Planned]) -> String {
    let names: Vec<String> = missing.iter().map(|layer| format!("the {}", layer.layer)).collect();
    let are = if names.len() > 1 { "are" } else { "is" };
    format!("{} {are} not mixed", names.join(" and "))
}

/// Judges each coat by its category, and where the table averages, base, midcoats and clear together: a stage that was
/// mixed more than once by the highest of its mixes. Where it does not average, each mix has to keep to the limit.
pub fn judge(coats: &[CoatJudged], table: &LimitTable) -> Vec<Judged> {
    judge_planned(coats, &[], table)
}

/// The same of a job's coats where not all that is planned may be mixed yet: what the table averages is judged only once all
/// of the planned stages are there, since a stage alone would be held to a limit that is not meant for it.
pub fn judge_planned(coats: &[CoatJudged], plan: &[Planned], table: &LimitTable) -> Vec<Judged> {
    let is_mixed = |layer: &Planned| coats.iter().any(|coat| coat.layer == layer.layer);
    let missing: Vec<&Planned> =
        plan.iter().filter(|layer| layer.stage != Stage::Other && !is_mixed(layer)).collect();
    let count = |stage: Stage| layers(coats, &missing, stage);
    let (bases, mids, clears) = (count(Stage::Base), count(Stage::Mid), count(Stage::Clear));
    let wanted = match table.averages {
        Averages::No => false,
        Averages::MoreThanTwo => mids > 0,
        Averages::TwoOrMore => mids > 0 || bases > 0 && clears > 0,
    };
    let limit = table.together.as_deref().and_then(|id| table.row(id));
    let Some(limit) = limit.filter(|_| wanted) else {
        return coats.iter().map(|coat| alone(coat, table)).collect();
    };
    let system: Vec<&CoatJudged> = coats.iter().filter(|coat| coat.stage != Stage::Other).collect();
    let mut judged = Vec::new();
    if !system.is_empty() {
        judged.push(together(&system, limit, bases == 1 && clears == 1, &missing));
    }
    judged.extend(coats.iter().filter(|coat| coat.stage == Stage::Other).map(|coat| alone(coat, table)));
    judged
}

fn alone(coat: &CoatJudged, table: &LimitTable) -> Judged {
    let limit = coat.category.as_deref().map(|id| table.row(id).ok_or(id));
    let (limit, why) = match limit {
        Some(Ok(limit)) => (Some(limit.clone()), String::new()),
        Some(Err(id)) => (None, format!("the table '{}' has no category '{id}'", table.id)),
        None => (None, format!("no category of the table '{}' is written down for it", table.id)),
    };
    let coats = vec![coat.called()];
    let Some(limit) = limit else {
        let (figure, stages, verdict) = (None, Vec::new(), Verdict::CannotSay(why));
        return Judged { coats, figure, stages, limit: None, verdict };
    };
    let figure = figure(coat, &limit);
    judged(coats, figure, limit)
}

fn figure(coat: &CoatJudged, limit: &Limit) -> Result<PerLitre, String> {
    let content = coat.content.as_ref().map_err(|why| format!("{}: {why}", coat.called()))?;
    content.figure(limit.basis).map_err(|why| format!("{}: {why}", coat.called()))
}

fn judged(coats: Vec<String>, figure: Result<PerLitre, String>, limit: Limit) -> Judged {
    let verdict = match &figure {
        Err(why) => Verdict::CannotSay(why.clone()),
        Ok(figure) => {
            // What division leaves in the last of 28 digits makes no mix unlawful.
            let rounded = figure.decimal().round_dp_with_strategy(9, RoundingStrategy::MidpointAwayFromZero);
            let above = PerLitre::new(rounded).above(limit.limit);
            if above > PerLitre::ZERO {
                Verdict::Over(above)
            } else {
                Verdict::Within(limit.limit.above(PerLitre::new(rounded)))
            }
        }
    };
    Judged { coats, figure: figure.ok(), stages: Vec::new(), limit: Some(limit), verdict }
}

/// The stages of a topcoat with the mixes of each.
fn staged(system: &[&CoatJudged], limit: &Limit) -> Result<Vec<StageMixed>, String> {
    let mut stages: Vec<StageMixed> = Vec::new();
    for coat in system {
        let figure = figure(coat, limit)?;
        let volume = coat.content.as_ref().map_err(Clone::clone)?.total.counted(limit.basis).1;
        let mix = StageMix { name: coat.name.clone(), figure, volume };
        match stages.iter_mut().find(|stage| (stage.stage, &stage.layer) == (coat.stage, &coat.layer)) {
            Some(stage) => stage.mixes.push(mix),
            None => {
                stages.push(StageMixed { layer: coat.layer.clone(), stage: coat.stage, mixes: vec![mix] });
            }
        }
    }
    stages.sort_by_key(|stage| stage.stage);
    Ok(stages)
}

fn together(system: &[&CoatJudged], limit: &Limit, is_clear: bool, missing: &[&Planned]) -> Judged {
    let coats: Vec<String> = system.iter().map(|coat| coat.called()).collect();
    if !missing.is_empty() {
        let verdict = Verdict::NotComplete(not_mixed(missing));
        return Judged { coats, figure: None, stages: Vec::new(), limit: Some(limit.clone()), verdict };
    }
    if !is_clear {
        let why = "a base coat and a clear coat, one layer of each, are needed to judge stages together";
        return judged(coats, Err(why.to_owned()), limit.clone());
    }
    let stages = staged(system, limit);
    let figure = stages.as_ref().map_err(Clone::clone).and_then(|stages| {
        of_stages(stages).ok_or_else(|| "these numbers are too large to reckon with".to_owned())
    });
    Judged { stages: stages.unwrap_or_default(), ..judged(coats, figure, limit.clone()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Component, LIMITS, read_limits};
    use crate::units::{Decimal, DecimalSign, Grams, Millilitres};
    use rstest::rstest;

    fn number(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    fn coat(name: &str, stage: Stage, category: &str, voc: &str) -> CoatJudged {
        let litre = Component {
            mass: Grams::new(number("1200")),
            volume: Millilitres::new(number("1000")),
            volatiles: Grams::new(number(voc)),
            ..Component::default()
        };
        let category = Some(category.to_owned()).filter(|category| !category.is_empty());
        CoatJudged {
            name: name.to_owned(),
            layer: String::new(),
            stage,
            category,
            content: Content::of([litre]).map_err(|e| e.to_string()),
        }
    }

    fn three(base: &str, mids: &[&str], clear: &str) -> Vec<CoatJudged> {
        let mut coats = vec![coat("ground", Stage::Base, "topcoat", base)];
        // Each a layer of its own.
        let mid = |(place, mid): (usize, &&str)| CoatJudged {
            layer: format!("pearl {place}"),
            ..coat("pearl", Stage::Mid, "topcoat", mid)
        };
        coats.extend(mids.iter().enumerate().map(mid));
        coats.push(coat("clear", Stage::Clear, "topcoat", clear));
        coats
    }

    fn of(table: &str, coats: &[CoatJudged]) -> Vec<Judged> {
        let (limits, problems) = read_limits("limits.toml", LIMITS);
        assert!(problems.is_empty(), "{problems:?}");
        judge(coats, limits.table(table).unwrap())
    }

    /// Made up and reckoned by hand; the limit of 630 is that of table 1 of 40 CFR 59 subpart B (from memory).
    #[rstest]
    #[case("720", &["700"], "480", Verdict::Within(PerLitre::new(Decimal::from(35))))]
    #[case("690", &["710", "650"], "500", Verdict::Within(PerLitre::new(Decimal::from(20))))]
    #[case("780", &["760"], "520", Verdict::Over(PerLitre::new(Decimal::from(15))))]
    fn more_than_two_stages_are_judged_together(
        #[case] base: &str,
        #[case] mids: &[&str],
        #[case] clear: &str,
        #[case] verdict: Verdict,
    ) {
        let judged = of("us", &three(base, mids, clear));
        assert_eq!(judged.len(), 1);
        assert_eq!(judged[0].verdict, verdict);
        assert_eq!(judged[0].coats.len(), mids.len() + 2);
    }

    /// Two stages each alone, since the federal rule averages more than two; and each alone in Europe.
    /// A ground coat of 690 g/L alone is over 630; with the pearl and the clear it is within: it is not judged before them.
    #[test]
    fn what_is_averaged_is_judged_when_all_that_is_planned_is_mixed() {
        let (limits, _) = read_limits("limits.toml", LIMITS);
        let us = limits.table("us").unwrap();
        let plan = [("ground coat", Stage::Base), ("pearl coat", Stage::Mid), ("clear", Stage::Clear)]
            .map(|(layer, stage)| Planned { layer: layer.to_owned(), stage });
        let mixed = |(name, stage, voc): (&str, Stage, &str)| CoatJudged {
            layer: name.to_owned(),
            ..coat(name, stage, "topcoat", voc)
        };
        let ground = mixed(("ground coat", Stage::Base, "690"));
        let pearl = mixed(("pearl coat", Stage::Mid, "700"));
        let clear = mixed(("clear", Stage::Clear, "480"));
        let says = |coats: &[CoatJudged]| judge_planned(coats, &plan, us).remove(0).verdict;
        let lacks = |what: &str| Verdict::NotComplete(what.to_owned());
        let alone = judge(std::slice::from_ref(&ground), us).remove(0);
        assert!(matches!(alone.verdict, Verdict::Over(_)), "{alone:?}");
        let ground_alone = says(std::slice::from_ref(&ground));
        assert_eq!(ground_alone, lacks("the pearl coat and the clear are not mixed"));
        let no_pearl = [ground.clone(), clear.clone()];
        assert_eq!(says(&no_pearl), lacks("the pearl coat is not mixed"));
        let sentence = judge_planned(&no_pearl, &plan, us).remove(0).sentence(Notation::default());
        assert!(
            sentence.contains("together: not complete: the pearl coat is not mixed (limit 630"),
            "{sentence}"
        );
        // (690 + 700 + 2 · 480) / 4 = 587.5, 42.5 below 630.
        let all = [ground.clone(), clear.clone(), pearl];
        assert_eq!(says(&all), Verdict::Within(PerLitre::new(number("42.5"))));
        // Where the pearl is left out of the plan there are two stages, and each is judged alone.
        let two: Vec<Planned> = plan.iter().filter(|layer| layer.stage != Stage::Mid).cloned().collect();
        assert_eq!(judge_planned(&no_pearl, &two, us).len(), 2);
        // A table that does not average needs nothing else.
        let eu = judge_planned(std::slice::from_ref(&ground), &plan, limits.table("eu").unwrap());
        assert!(matches!(eu[0].verdict, Verdict::Over(_)), "{eu:?}");
    }

    #[test]
    fn elsewhere_each_alone() {
        let words = |table: &str, coats: &[CoatJudged]| -> Vec<&str> {
            of(table, coats).iter().map(|judged| judged.verdict.word()).collect()
        };
        assert_eq!(words("us", &three("720", &[], "480")), ["over", "within"]);
        assert_eq!(words("eu", &three("420", &["421"], "300")), ["within", "over", "within"]);
    }

    #[test]
    fn where_two_stages_are_averaged_too() {
        let (limits, _) =
            read_limits("limits.toml", &LIMITS.replace("\"more than two stages\"", "\"two stages or more\""));
        let judged = judge(&three("720", &[], "480"), limits.table("us").unwrap());
        // (720 + 2 · 480) / 3 = 560, as Kern's rule 410.4A has it; here against the row for coats judged together.
        assert_eq!(judged.len(), 1);
        assert_eq!(judged[0].figure, Some(PerLitre::new(number("560"))));
    }

    /// The pearl mixed twice is one midcoat, by its higher mix: (720 + 710 + 2·480)/4 = 597.5; as two midcoats it would be
    /// (720 + 650 + 710 + 2·480)/5 = 608. Each of a litre, they average 680: (720 + 680 + 960)/4 = 590.
    #[test]
    fn a_layer_mixed_twice_is_one_stage() {
        let mut coats = three("720", &["650", "710"], "480");
        coats[1].layer = coats[2].layer.clone();
        let us = of("us", &coats);
        assert_eq!(us.len(), 1);
        assert_eq!(us[0].figure, Some(PerLitre::new(number("597.5"))));
        assert_eq!(us[0].verdict, Verdict::Within(PerLitre::new(number("32.5"))));
        let stages: Vec<_> = us[0].stages.iter().map(|stage| (stage.stage, stage.mixes.len())).collect();
        assert_eq!(stages, [(Stage::Base, 1), (Stage::Mid, 2), (Stage::Clear, 1)]);
        assert_eq!(super::super::of_averages(&us[0].stages), Some(PerLitre::new(number("590"))));

        // Twice the base coat and twice the clear are one layer of each, whatever comes first.
        coats.reverse();
        coats.push(coat("ground", Stage::Base, "topcoat", "780"));
        coats.push(coat("clear", Stage::Clear, "topcoat", "500"));
        // (780 + 710 + 2·500)/4
        assert_eq!(of("us", &coats)[0].figure, Some(PerLitre::new(number("622.5"))));
        // What is not known of one mix is not known of the stage.
        let made_of = of("us", &coats)[0].made_of(Notation::METRIC);
        assert_eq!(made_of.len(), 5);
        assert_eq!(
            made_of[3],
            "(780 + 710 + 2 × 500) / 4 = 622.5 g/L; with the averages of the mixes 602.5 g/L"
        );
        assert_eq!(made_of[4], HIGHEST);
        coats[1].content = Err("not known of T1".to_owned());
        let judged = of("us", &coats);
        assert_eq!(judged[0].verdict, Verdict::CannotSay("pearl (pearl 1): not known of T1".to_owned()));
        assert_eq!(judged[0].stages, []);
        // Two base coats that are two layers are no such topcoat.
        coats.push(CoatJudged { layer: "base".into(), ..coat("base", Stage::Base, "topcoat", "400") });
        assert!(
            matches!(&of("us", &coats)[0].verdict, Verdict::CannotSay(why) if why.contains("one layer of each"))
        );
        // Without averages each mix is held against the limit.
        assert_eq!(of("eu", &coats).len(), coats.len());
    }

    #[test]
    fn what_cannot_be_said_is_not_said() {
        let mut coats = three("720", &["700"], "480");
        coats[1].content = Err("not known of T1".to_owned());
        let judged = of("us", &coats);
        assert_eq!(judged[0].verdict, Verdict::CannotSay("pearl (pearl 0): not known of T1".to_owned()));
        assert_eq!(judged[0].figure, None);

        let without_clear = &three("720", &["700"], "480")[..2];
        let says = of("us", without_clear)[0].sentence(Notation::METRIC);
        assert!(
            says.starts_with("ground, pearl (pearl 0) together: cannot say: a base coat and a clear coat"),
            "{says}"
        );

        let nowhere =
            [coat("filler", Stage::Other, "", "100"), coat("filler", Stage::Other, "primers", "100")];
        let says: Vec<String> =
            of("eu", &nowhere).iter().map(|judged| judged.sentence(Notation::METRIC)).collect();
        assert_eq!(says[0], "filler: cannot say: no category of the table 'eu' is written down for it");
        assert_eq!(says[1], "filler: cannot say: the table 'eu' has no category 'primers'");
    }

    #[test]
    fn in_words_by_how_much_and_how_well_it_is_known() {
        let notation = Notation { decimal: DecimalSign::Comma, ..Notation::METRIC };
        let judged = of("eu", &[coat("clear", Stage::Clear, "topcoat", "431.25")]);
        assert_eq!(
            judged[0].sentence(notation),
            "clear: over by 11,3 g/L: 431,3 g/L against 420 g/L for 'topcoat (d)'"
        );
        let judged = of("us-california", &[coat("clear", Stage::Clear, "clear", "250")]);
        assert_eq!(
            judged[0].sentence(Notation::METRIC),
            "clear: within by 0 g/L: 250 g/L against 250 g/L for 'clear coating', FROM MEMORY and not looked up"
        );
    }

    /// Water: Europe's preparatory products have it in, the rest have not (Northern Ireland's business service; read).
    #[test]
    fn each_row_by_its_own_figure() {
        let half_water = Component {
            mass: Grams::new(number("1000")),
            volume: Millilitres::new(number("1000")),
            volatiles: Grams::new(number("750")),
            water: Grams::new(number("500")),
            water_volume: Millilitres::new(number("500")),
            ..Component::default()
        };
        let with = |category: &str| CoatJudged {
            content: Ok(Content::of([half_water]).unwrap()),
            ..coat("x", Stage::Other, category, "0")
        };
        let figures: Vec<_> = of("eu", &[with("preparatory"), with("primer")])
            .iter()
            .map(|judged| judged.figure.unwrap())
            .collect();
        assert_eq!(figures, [PerLitre::new(number("250")), PerLitre::new(number("500"))]);
    }
}
