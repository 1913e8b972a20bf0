//! A layer without a formula at the bench: weighed out of its product's tin, for a job and without one.

use super::rig::{CUP, DWELL, Rig, g, settings};
use crate::book::figures::TinRow;
use crate::book::{Ids, JobId};
use crate::catalogue::{Catalogue, ColourCode, Finish, Role, TonerCode};
use crate::job::{Coat, JobEvent, JobJournal, LayerPlan, Opening};
use crate::mix::{Event, LinePart, Phase, Way};
use crate::stock::Tin;
use crate::tui::app::{FromBook, Screen};
use crate::units::{Millilitres, Stamp};

const NAME: &str = "26-131 tailgate";
/// The rig's clock: 2023-11-14.
const NOW: Stamp = Stamp(1_700_000_000_000_000);

/// A job in that colour with these layers, each asked for with 330 mL.
fn job(colour: &str, finish: Finish, roles: &[Role]) -> JobJournal {
    let asked = Millilitres::parse("330").ok();
    let opening = Opening {
        name: NAME.to_owned(),
        vehicle: None,
        colour: ColourCode::new(colour),
        variant: "standard".to_owned(),
        finish,
        panels: Vec::new(),
        layers: roles
            .iter()
            .map(|role| LayerPlan { asked, coats: Some(1), ..LayerPlan::of(*role) })
            .collect(),
    };
    let mut ids = Ids::counted(3);
    let at = Stamp(NOW.0 - 1_000_000);
    let (job, id) = (ids.job(at), ids.event(at));
    JobJournal::begin(job, &JobEvent::Opened(opening), id, at, &settings().by).unwrap().0
}

/// The invented shop with a tin of its clear, and that job.
fn with(job: JobJournal) -> (Rig, JobId) {
    let id = job.id();
    let row = TinRow {
        expires: Some("2024-12-31".into()),
        lot: Some("lot-clear".into()),
        net: Some("4880".into()),
        received: Some(Stamp(NOW.0 - 90 * 86_400_000_000)),
        stirred: Some(NOW),
        ..TinRow::unsaid("24-900".into(), TonerCode::new("V90"))
    };
    let tins = vec![Tin::new(row, g("4880"))];
    let book = FromBook { next_number: 412, jobs: vec![job], tins, ..FromBook::default() };
    let mut rig = Rig::opened_with(Catalogue { scale: None, ..Catalogue::demo() }, settings(), book);
    rig.live();
    (rig, id)
}

fn three_stages() -> (Rig, JobId) {
    with(job("PB-3140", Finish::ThreeStage, &[Role::Clear]))
}

/// The cup stands there, and the clear is due; Enter on the job's own screen has led there.
fn begun() -> Rig {
    let (mut rig, id) = three_stages();
    rig.app.open_job_page(id);
    rig.key("Enter");
    rig.says("how much · 26-131 tailgate");
    // 2 : 1 : 0.3 by volume.
    rig.says("330 mL ready to spray: 200 mL clear V90,");
    rig.says("100 mL hardener H60, 30 mL thinner T70");
    rig.says("CC-6: H60, T70");
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    assert_eq!(rig.kinds(), ["mix/started", "job/mix-joined"], "{}", rig.screen());
    assert_eq!(rig.toner(), "V90");
    rig
}

/// Of each toner, what was poured and out of which tin.
fn poured(rig: &Rig) -> Vec<(String, String, Option<String>)> {
    let pours = rig.events().into_iter().filter_map(|event| match event {
        Event::Poured(pour) => {
            Some((pour.toner.to_string(), (pour.after - pour.before).with_decimals(1), pour.tin))
        }
        _ => None,
    });
    pours.collect()
}

/// By hand: 200 mL at 0.976, 100 mL at 1.064 and 30 mL at 0.868 g/mL.
#[test]
fn a_clear_is_weighed_for_a_job_out_of_the_tin() {
    let mut rig = begun();
    let Event::Started(start) = &rig.events()[0] else { panic!("started") };
    assert_eq!((start.recipe.role, start.job.as_deref()), (Role::Clear, Some(NAME)));
    assert_eq!(start.version, None, "the colour's file says nothing of it");
    let parts: Vec<_> = start.recipe.lines().iter().map(|line| line.part).collect();
    assert_eq!(parts, [LinePart::Colour, LinePart::Hardener, LinePart::Thinner]);
    rig.says("take tin 24-900");
    rig.scan("V90 24-900");
    rig.stand_net(rig.stop(), DWELL);
    assert_eq!(rig.toner(), "H60");
    rig.says("isocyanates: air-fed breathing apparatus");
    rig.stand_net(rig.stop(), DWELL);
    rig.stand_net(rig.stop(), DWELL);
    assert_eq!(rig.phase(), Phase::Complete, "{}", rig.screen());
    let clear = ("V90".to_owned(), "195.2".to_owned(), Some("24-900".to_owned()));
    let added = [("H60", "106.4"), ("T70", "26.0")].map(|(toner, mass)| (toner.into(), mass.into(), None));
    assert_eq!(poured(&rig), [vec![clear], added.to_vec()].concat());
    rig.agrees_with_book();
    // The tin gave what was poured, and the job's pot life runs.
    let tin = rig.app.tins.iter().find(|tin| tin.label == "24-900").unwrap();
    assert_eq!(tin.holds, g("4684.8"));
    let mix = rig.sent[0].subject;
    let pot_life = rig.app.jobs[0].job().pot_life(mix).unwrap();
    assert_eq!(pot_life.minutes, 90);
    rig.key("Enter");
    rig.key("Enter");
    rig.says("clear");
    let job = rig.app.jobs[0].job();
    assert_eq!(
        job.mixes().map(|joined| (joined.layer, joined.for_cards)).collect::<Vec<_>>(),
        [(Role::Clear, false)]
    );
    let at = Stamp(NOW.0 + 900_000_000);
    let coat = Coat { layer: Role::Clear, coat: 1, at, flash_off: None };
    assert!(job.may(&JobEvent::CoatSprayed(coat), at).is_ok());
}

#[test]
fn a_clear_that_goes_over_is_made_more_or_drawn_off() {
    let mut rig = begun();
    rig.stand_net(g("205.2"), DWELL);
    assert_eq!(rig.phase(), Phase::Over(0));
    let ways: Vec<_> = rig.session().ways().into_iter().map(|choice| choice.way).collect();
    assert!(ways.contains(&Way::Exact) && ways.contains(&Way::DrawOff), "{ways:?}");
    let exact = rig.session().ways().into_iter().find(|choice| choice.way == Way::Exact).unwrap();
    // 205.2 · 106.4 / 195.2 and 205.2 · 26.04 / 195.2.
    let more: Vec<_> = exact.add.iter().map(|mass| mass.with_decimals(2)).collect();
    assert_eq!(more, ["0.00", "111.85", "27.37"]);
}

#[test]
fn without_a_job_it_stands_among_the_colours_layers() {
    let (mut rig, _) = three_stages();
    rig.type_text("gannet");
    rig.says("clear               from the tin");
    for _ in 0..4 {
        rig.key("Right");
    }
    rig.says("V90  clear");
    rig.says("100.00 %");
    rig.key("Enter");
    rig.says("CC-6: H60, T70");
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    assert_eq!((rig.kinds(), rig.toner()), (vec!["mix/started"], "V90".to_owned()));
    let Event::Started(start) = &rig.events()[0] else { panic!("started") };
    assert_eq!((start.recipe.role, start.job.as_deref()), (Role::Clear, None));

    // Once round, and a colour whose clear has a formula has it as before.
    let (mut rig, _) = three_stages();
    rig.type_text("gannet");
    for _ in 0..5 {
        rig.key("Right");
    }
    rig.key("Enter");
    rig.says("undercoat");
    rig.says_not("V90");
    let (mut rig, _) = three_stages();
    rig.type_text("bluethroat");
    rig.says("blender             from the tin");
    for _ in 0..3 {
        rig.key("Right");
    }
    rig.says("C95  clear binder");
}

/// Two stages: base and clear; a single stage: its base alone, which has its own gloss.
#[test]
fn the_other_finishes_are_mixed_to_their_last_layer() {
    let of = |colour: &str, finish, roles: &[Role], role| {
        let (mut rig, id) = with(job(colour, finish, roles));
        rig.app.mix_for_job(id, role, false);
        rig.tick(0);
        rig.key("Enter");
        rig.stand(CUP, DWELL);
        while rig.phase() == Phase::Weighing {
            rig.stand_net(rig.stop(), DWELL);
        }
        assert_eq!(rig.phase(), Phase::Complete, "{}", rig.screen());
        rig.agrees_with_book();
        let toners: Vec<_> = poured(&rig).into_iter().map(|(toner, ..)| toner).collect();
        (rig.session().recipe().readied.as_ref().unwrap().product.to_string(), toners)
    };
    let two = &[Role::Base, Role::Clear];
    let (product, toners) = of("PB-2219", Finish::TwoStage, two, Role::Clear);
    assert_eq!((product.as_str(), &toners[..]), ("CC-6", &["V90", "H60", "T70"].map(str::to_owned)[..]));
    let (product, toners) = of("PB-2219", Finish::TwoStage, two, Role::Base);
    assert_eq!((product.as_str(), toners.last().map(String::as_str)), ("BC-3", Some("T70")));
    let (product, toners) = of("PB-1121", Finish::SingleStage, &[Role::Base], Role::Base);
    assert_eq!(product, "SS-7");
    assert!(toners.ends_with(&["H60".to_owned(), "T70".to_owned()]), "{toners:?}");
}

/// Where neither a formula nor a tin is there, what to do about it is said.
#[test]
fn without_a_tin_it_is_said_where_it_goes() {
    let (mut rig, id) = three_stages();
    rig.app.catalogue.products.iter_mut().for_each(|product| product.tin = None);
    rig.app.mix_for_job(id, Role::Clear, false);
    rig.tick(0);
    assert!(!matches!(rig.app.screen, Screen::Amount(_)));
    let said = &rig.app.notice.as_ref().unwrap().text;
    assert!(said.contains("no formula for the clear") && said.contains("tin = "), "{said}");
    assert_eq!(rig.kinds(), [""; 0]);
}
