use super::*;
use crate::barcode::Day;
use crate::book::check::check;
use crate::book::figures::TinRow;
use crate::book::testing::{by, grams, start};
use crate::book::{Account, Ids, Journal, Ledger, MixId, Opened, SqliteStore, Store, TinsOf};
use crate::catalogue::{ColourCode, Role, TonerCode};
use crate::mix::{Ending, Event, How, Phase, Session, TinMarks, Way};
use crate::units::{Grams, Money, Notation, Stamp, parse_decimal};
use proptest::prelude::*;
use rstest::rstest;

mod follow;
mod lots;
mod proposal;
mod unnamed;

/// A shop that writes whatever happens into its book.
struct Shop {
    store: SqliteStore,
    ids: Ids,
    at: Stamp,
    mixes: Vec<Journal>,
    /// What a program that has the book open knows of it.
    known: (Vec<Tin>, Vec<Recall>),
    followed: Unnamed,
    _folder: tempfile::TempDir,
}

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let Opened::ToWrite(store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap() else {
            panic!("nobody else has it")
        };
        let at = Stamp(1_750_000_000_000_000);
        Self {
            store,
            ids: Ids::counted(1),
            at,
            mixes: Vec::new(),
            known: Default::default(),
            followed: Unnamed::default(),
            _folder: folder,
        }
    }

    fn later(&mut self) -> Stamp {
        self.at.0 += 7_000_000_000;
        self.at
    }

    fn append(&mut self, envelope: &crate::book::Envelope) {
        self.store.append(envelope).unwrap();
        follow(&mut self.known.0, &mut self.known.1, envelope);
        self.followed.follow(envelope);
    }

    fn tell(&mut self, event: &StockEvent) {
        let at = self.later();
        let envelope = event.envelope(self.ids.event(at), at, &by()).unwrap();
        assert_eq!(StockEvent::read(&envelope).unwrap().as_ref(), Some(event));
        self.append(&envelope);
    }

    fn begin(&mut self) -> MixId {
        let at = self.later();
        let mix = self.ids.mix(at);
        let id = self.ids.event(at);
        let (journal, first) = Journal::begin(mix, &Event::Started(start()), id, at, &by()).unwrap();
        self.append(&first);
        self.mixes.push(journal);
        mix
    }

    fn session(&self) -> &Session {
        self.mixes.last().unwrap().session()
    }

    /// Whether the mix that was begun last took it.
    fn happened(&mut self, event: &Event) -> bool {
        let at = self.later();
        let id = self.ids.event(at);
        let Ok(envelope) = self.mixes.last_mut().unwrap().record(event, id, at, &by()) else { return false };
        self.append(&envelope);
        true
    }

    /// What was poured of a tin's toner without a tin's name and is not found yet.
    fn unnamed(&self, tin: &Tin) -> Grams {
        let tins = shelf(&self.store).unwrap();
        Unnamed::read(&self.store, &tins).unwrap().of(&tins, &tin.toner)
    }

    /// What of that can be missing in no other tin.
    fn only_in(&self, tin: &Tin) -> Grams {
        let tins = shelf(&self.store).unwrap();
        Unnamed::read(&self.store, &tins).unwrap().only_in(tin, &tins)
    }

    fn tin(&self, label: &str) -> Tin {
        tin(&self.store, label).unwrap().unwrap()
    }

    /// Fills the cup to the end, from tins named after their toner.
    fn fill(&mut self) {
        for toner in ["A", "B", "C", "D"] {
            let tin = format!("T-{toner}");
            assert!(self.happened(&Event::TinTaken { toner: TonerCode::new(toner), tin, marks: None }));
        }
        while let Some(goal) = self.session().goal() {
            let stop = self.session().limits().division.round(goal.stop);
            let event = self.session().take(stop, How::Scale).unwrap();
            assert!(self.happened(&event));
        }
        let done = self.session().finish().unwrap();
        assert!(self.happened(&done));
    }

    /// Says the mix was sprayed but for so many hundredths of it, which are kept.
    fn spray(&mut self, hundredths: i64, job: &str) {
        let left = self.session().holds().times(crate::units::Decimal::new(hundredths, 2));
        let ending = Ending {
            left,
            keep: true,
            use_by: Some("2026-12-31".into()),
            job: Some(job.into()),
            ..Ending::default()
        };
        let event = self.session().empty(ending, How::Scale).unwrap();
        assert!(self.happened(&event));
    }

    fn is_well(&mut self) {
        assert_eq!(check(&self.store).unwrap().faults, Vec::<String>::new());
        let kept = self.store.figures().unwrap();
        self.store.rebuild().unwrap();
        assert_eq!(self.store.figures().unwrap(), kept);
    }
}

fn receipt(label: &str, toner: &str, net: &str) -> Receipt {
    Receipt {
        tin: TinName { label: label.into(), toner: TonerCode::new(toner) },
        net: grams(net),
        empty: Some(grams("110.5")),
        size: Some("1 L".into()),
        lot: Some(format!("L-{toner}")),
        expires: Some("2026-12-31".into()),
        price: Some(Money::new(parse_decimal("38.50").unwrap())),
        item: None,
        supplier: Some("north".into()),
    }
}

fn row(label: &str, toner: &str) -> TinRow {
    TinRow::unsaid(label.into(), TonerCode::new(toner))
}

fn a_tin(holds: &str) -> Tin {
    Tin { empty: Some(grams("110.5")), ..Tin::new(row("24-1", "A"), grams(holds)) }
}

fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

#[rstest]
#[case(receive(&receipt("24-1", "A", "1000"), None), &["supplier:north A -1000000000", "tin:24-1 A 1000000000"])]
#[case(empty(&a_tin("12.5"), Grams::ZERO), &["tin:24-1 A -12500000", "difference:said to be empty A 12500000"])]
#[case(empty(&a_tin("-3"), Grams::ZERO), &["tin:24-1 A 3000000", "difference:said to be empty A -3000000"])]
#[case(empty(&a_tin("0"), Grams::ZERO), &[])]
#[case(discard(&a_tin("40"), " dried\u{7} up ", Grams::ZERO), &["tin:24-1 A -40000000", "waste:tin:dried up A 40000000"])]
#[case(
    discard(&a_tin("-3"), "dried up", grams("5")),
    &["tin:24-1 A 3000000", "difference:more was poured than was booked A -3000000"]
)]
// 600.5 g with a tin of 110.5 g are 490 g, and the book said 500.
#[case(
    count(&a_tin("500"), Some(grams("600.5")), None, Grams::ZERO, Some("spilt"), Grams::ZERO),
    &["tin:24-1 A -10000000", "difference:spilt A 10000000"]
)]
// More than the book said, judged by hand.
#[case(
    count(&a_tin("500"), None, None, grams("510"), None, grams("7")),
    &["tin:24-1 A 10000000", "difference: A -10000000"]
)]
#[case(count(&a_tin("490"), Some(grams("600.5")), None, Grams::ZERO, None, Grams::ZERO), &[])]
// Of the 10 g that it lacks 4 were poured without a tin's name: they go where that pour was booked from.
#[case(
    count(&a_tin("500"), Some(grams("600.5")), None, Grams::ZERO, Some("spilt"), grams("4")),
    &["tin:24-1 A -4000000", "tin?:A A 4000000", "tin:24-1 A -6000000", "difference:spilt A 6000000"]
)]
#[case(
    count(&a_tin("500"), Some(grams("600.5")), None, Grams::ZERO, None, grams("12")),
    &["tin:24-1 A -10000000", "tin?:A A 10000000"]
)]
#[case(
    empty(&a_tin("12.5"), grams("8")),
    &["tin:24-1 A -8000000", "tin?:A A 8000000", "tin:24-1 A -4500000", "difference:said to be empty A 4500000"]
)]
#[case(
    discard(&a_tin("40"), "dried up", grams("15")),
    &["tin:24-1 A -15000000", "tin?:A A 15000000", "tin:24-1 A -25000000", "waste:tin:dried up A 25000000"]
)]
#[case(recall("L1", None, "seedy"), &[])]
fn where_the_paint_goes(#[case] event: Result<StockEvent, StockRefusal>, #[case] expected: &[&str]) {
    let told: Vec<_> = event
        .unwrap()
        .postings()
        .unwrap()
        .iter()
        .map(|posting| format!("{} {} {}", posting.account, posting.toner, posting.micrograms))
        .collect();
    assert_eq!(told, expected);
}

#[rstest]
#[case(receive(&receipt(" ", "A", "1"), None), "say which tin it is")]
#[case(receive(&receipt("1", " ", "1"), None), "say which toner is in tin 1")]
#[case(receive(&receipt("1", "A", "0"), None), "tin 1: 0 g is no amount of paint")]
#[case(receive(&Receipt { empty: Some(grams("0")), ..receipt("1", "A", "1") }, None), "cannot weigh 0 g")]
#[case(
    receive(&Receipt { price: Some(Money::new(parse_decimal("-1").unwrap())), ..receipt("1", "A", "1") }, None),
    "below nothing"
)]
#[case(
    receive(&Receipt { expires: Some("31.12.2026".into()), ..receipt("1", "A", "1") }, None),
    "'31.12.2026' is no day; write it as 2026-12-31"
)]
#[case(
    receive(&receipt("1", "A", "1"), Some(&TinRow { received: Some(Stamp(1)), ..row("1", "A") })),
    "a label is used once"
)]
#[case(count(&a_tin("500"), Some(grams("100")), None, Grams::ZERO, None, Grams::ZERO), "empty it weighs 110.5 g")]
#[case(
    count(&Tin { empty: None, ..a_tin("500") }, Some(grams("100")), None, Grams::ZERO, None, Grams::ZERO),
    "is not known: say that too"
)]
#[case(count(&a_tin("500"), None, None, grams("-1"), None, Grams::ZERO), "no amount of paint")]
#[case(discard(&a_tin("500"), " ", Grams::ZERO), "say why")]
#[case(empty(&Tin { discarded: Some(Stamp(1)), ..a_tin("500") }, Grams::ZERO), "was thrown away")]
#[case(recall("", None, "seedy"), "which lot")]
#[case(recall("L1", None, ""), "say why")]
fn what_cannot_be_is_refused_in_a_sentence(
    #[case] event: Result<StockEvent, StockRefusal>,
    #[case] said: &str,
) {
    let refused = event.unwrap_err().to_string();
    assert!(refused.contains(said), "{refused}");
}

/// A tin that was poured from before its receipt may be received: the bench was quicker than the office.
#[test]
fn a_tin_that_was_only_seen_can_be_received() {
    assert!(receive(&receipt("1", "A", "1"), Some(&row("1", "A"))).is_ok());
}

#[test]
fn an_event_is_the_json_that_is_documented() {
    let text = r#"{"kind":"tin/received","label":"24-1","toner":"A","net":"1000","empty":"110.5","size":"1 L","lot":"L-A","expires":"2026-12-31","price":"38.50","supplier":"north"}"#;
    let event = receive(&receipt("24-1", "A", "1000"), None).unwrap();
    assert_eq!(serde_json::to_string(&event).unwrap(), text);
    let counted =
        count(&a_tin("500"), Some(grams("600.5")), None, Grams::ZERO, Some("spilt"), Grams::ZERO).unwrap();
    let text = r#"{"kind":"tin/counted","label":"24-1","toner":"A","gross":"600.5","empty":"110.5","found":"490.0","booked":"500","why":"spilt"}"#;
    assert_eq!(serde_json::to_string(&counted).unwrap(), text);
    let counted = count(&a_tin("500"), None, None, grams("490"), None, grams("4.5")).unwrap();
    let text =
        r#"{"kind":"tin/counted","label":"24-1","toner":"A","found":"490","booked":"500","unnamed":"4.5"}"#;
    assert_eq!(serde_json::to_string(&counted).unwrap(), text);
    let envelope = event.envelope(Ids::counted(1).event(Stamp(1)), Stamp(1), &by()).unwrap();
    let spoilt = |spoil: fn(&mut crate::book::Envelope)| {
        let mut bad = envelope.clone();
        spoil(&mut bad);
        StockEvent::read(&bad)
    };
    assert_eq!(spoilt(|_| {}), Ok(Some(event)));
    assert_eq!(spoilt(|bad| bad.kind = "mix/poured".into()), Ok(None));
    assert!(spoilt(|bad| bad.kind = "tin/opened".into()).unwrap_err().contains("is filed as"));
    assert!(spoilt(|bad| bad.body = "{}".into()).unwrap_err().contains("cannot be read"));
    assert!(spoilt(|bad| bad.postings[0].micrograms -= 1).unwrap_err().contains("other paint"));
}

#[test]
fn the_first_to_expire_is_taken_first() {
    let made =
        |label: &str, expires: Option<&str>, opened: Option<i64>, received: Option<i64>, holds: &str| Tin {
            expires: expires.map(day),
            opened: opened.map(Stamp),
            received: received.map(Stamp),
            lot: Some(format!("lot of {label}")),
            ..Tin::new(row(label, "A"), grams(holds))
        };
    let mut tins = vec![
        made("never received", None, None, None, "5"),
        made("no day", None, None, Some(1), "5"),
        made("newer", Some("2026-12-31"), None, Some(3), "5"),
        made("older", Some("2026-12-31"), None, Some(2), "5"),
        made("open", Some("2026-12-31"), Some(9), Some(4), "5"),
        made("sooner", Some("2026-12-01"), None, Some(5), "5"),
        made("last day", Some("2026-11-25"), None, Some(5), "5"),
        made("expired", Some("2026-11-24"), Some(1), Some(1), "5"),
        made("recalled", Some("2026-11-30"), Some(1), Some(1), "5"),
        made("used up by the book", Some("2026-11-30"), Some(1), Some(1), "-0.1"),
        Tin { emptied: Some(Stamp(1)), ..made("empty", Some("2026-12-01"), None, Some(1), "5") },
        Tin { discarded: Some(Stamp(1)), ..made("thrown away", Some("2026-12-01"), None, Some(1), "5") },
    ];
    tins.push(Tin { toner: TonerCode::new("B"), ..made("another", None, None, None, "5") });
    let lot = Recall { lot: "lot of recalled".into(), toner: None, why: "seedy".into(), at: Stamp(1) };
    let labels: Vec<_> = in_turn(&tins, &TonerCode::new("A"), &[lot], day("2026-11-25"))
        .iter()
        .map(|tin| tin.label.as_str())
        .collect();
    assert_eq!(
        labels,
        [
            "last day",
            "sooner",
            "open",
            "older",
            "newer",
            "no day",
            "never received",
            "used up by the book",
            "expired",
            "recalled",
        ]
    );
}

#[test]
fn what_is_said_before_a_pour() {
    let today = Today { day: day("2026-11-25"), began: Stamp(1_000) };
    let toner = TonerCode::new("A");
    let good = Tin {
        expires: Some(day("2026-11-25")),
        stirred: Some(Stamp(1_000)),
        lot: Some("L1".into()),
        ..a_tin("50")
    };
    let lot = |lot: &str, toner: Option<&str>| Recall {
        lot: lot.into(),
        toner: toner.map(TonerCode::new),
        why: "seedy".into(),
        at: Stamp(1),
    };
    let said = |tin: &Tin, recalls: &[Recall]| -> Vec<String> {
        cautions(tin, &toner, grams("50"), recalls, today)
            .iter()
            .map(|one| one.words(Notation::METRIC))
            .collect()
    };
    assert_eq!(said(&good, &[lot("L2", None), lot("L1", Some("B"))]), [""; 0]);
    let bad = |spoil: fn(&mut Tin)| {
        let mut tin = good.clone();
        spoil(&mut tin);
        said(&tin, &[]).join("; ")
    };
    assert_eq!(bad(|tin| tin.toner = TonerCode::new("B")), "this tin holds B, not A: take a tin of A");
    assert_eq!(
        bad(|tin| tin.discarded = Some(Stamp(1))),
        "by the book this tin was thrown away: look at its label"
    );
    assert_eq!(
        bad(|tin| tin.expires = Some(day("2026-11-24"))),
        "this tin was to be used until 2026-11-24: take another"
    );
    assert_eq!(bad(|tin| tin.emptied = Some(Stamp(1))), "this tin was said to be empty: look at its label");
    assert_eq!(
        bad(|tin| tin.holds = grams("49.96")),
        "by the book this tin holds no more than 50.0 g: have the next one at hand"
    );
    assert_eq!(
        bad(|tin| tin.holds = grams("-3")),
        "by the book nothing is left in this tin: weigh it when there is time"
    );
    assert_eq!(bad(|tin| tin.stirred = Some(Stamp(999))), "this tin was not stirred today: stir it first");
    assert_eq!(bad(|tin| tin.stirred = None), "this tin was not stirred today: stir it first");
    assert_eq!(said(&good, &[lot("L1", Some("A"))]), ["lot L1 was called back (seedy): do not use it"]);
    assert_eq!(said(&Tin { lot: None, ..good.clone() }, &[lot("L1", None)]), [""; 0]);
}

#[test]
fn a_tin_through_its_life() {
    let mut shop = Shop::new();
    shop.begin();
    shop.fill();
    // Poured from, never received: a tin all the same.
    let poured = shop.mixes[0].session().poured(0);
    assert_eq!((shop.tin("T-A").holds, shop.tin("T-A").received), (-poured, None));
    let known = shop.store.tins(TinsOf::Label("T-A")).unwrap();
    let came = receive(&receipt("T-A", "A", "1000"), known.first()).unwrap();
    shop.tell(&came);
    let held = shop.tin("T-A");
    assert_eq!(
        (held.holds, held.net, held.empty),
        (grams("1000") - poured, Some(grams("1000")), Some(grams("110.5")))
    );
    let known = shop.store.tins(TinsOf::Label("T-A")).unwrap();
    assert!(receive(&receipt("T-A", "A", "1000"), known.first()).is_err());
    let counted = count(&held, Some(grams("900")), None, Grams::ZERO, None, Grams::ZERO).unwrap();
    shop.tell(&counted);
    assert_eq!(shop.tin("T-A").holds, grams("789.5"));
    let thrown = discard(&shop.tin("T-A"), "dried up", Grams::ZERO).unwrap();
    shop.tell(&thrown);
    assert!(shop.tin("T-A").is_gone() && shop.tin("T-A").holds.is_zero());
    let labels: Vec<_> = shelf(&shop.store).unwrap().into_iter().map(|tin| tin.label).collect();
    assert_eq!(labels, ["T-A", "T-B", "T-C", "T-D"]);
    assert_eq!(tin(&shop.store, "T-X").unwrap(), None);
    let recalled = recall("L-A", None, "seedy").unwrap();
    shop.tell(&recalled);
    assert!(recalls(&shop.store).unwrap()[0].means(&shop.tin("T-A")));
    shop.is_well();
}

/// A mix is sprayed but for a fifth of it; half of that goes into the next, the rest is thrown away.
#[test]
fn a_leftover_through_its_life() {
    let mut shop = Shop::new();
    let old = shop.begin();
    shop.fill();
    let whole = shop.session().holds();
    shop.spray(20, "R-7");
    let (colour, layer) = (ColourCode::new("PB-0000"), Role::Ground);
    assert_eq!(leftovers_of(&shop.store, &colour, "standard", Role::Pearl).unwrap(), []);
    let [left] = &leftovers_of(&shop.store, &colour, "standard", layer).unwrap()[..] else { panic!("one") };
    assert_eq!(
        (left.of.mix, left.holds(), left.use_by),
        (old, whole.times(parse_decimal("0.2").unwrap()), Some(day("2026-12-31")))
    );
    assert_eq!(
        left.shares().iter().map(|(_, share)| *share).sum::<crate::units::Share>(),
        crate::units::Share::ONE
    );
    assert_eq!(
        (left.unfit(day("2026-12-31"), &[]), left.unfit(day("2027-01-01"), &[])),
        (None, Some(Unfit::Expired(day("2026-12-31"))))
    );
    let new = shop.begin();
    let half = left.holds().times(parse_decimal("0.5").unwrap()).to_book();
    let event = shop.session().take_leftover(&old.to_string(), &left.made_of, half, How::Scale).unwrap();
    assert!(shop.happened(&event));
    assert_eq!(shop.session().phase(), Phase::Weighing);
    shop.fill();
    shop.spray(0, "R-8");
    let [rest] = &leftovers(&shop.store).unwrap()[..] else { panic!("one") };
    assert_eq!(rest.holds(), left.holds() - half);
    let some = throw_leftover(rest, Some(grams("1")), "skin on it").unwrap();
    shop.tell(&some);
    assert_eq!(throw_leftover(rest, Some(grams("900")), "x"), Err(StockRefusal::MoreThanLeft(rest.holds())));
    let [rest] = &leftovers(&shop.store).unwrap()[..] else { panic!("one") };
    let all = throw_leftover(rest, None, "expired").unwrap();
    shop.tell(&all);
    assert_eq!(leftovers(&shop.store).unwrap(), []);
    shop.is_well();

    // What went into the second by way of the first is found from either end.
    let lot = receive(&receipt("T-B", "B", "1000"), None).unwrap();
    shop.tell(&lot);
    let trace = trace_lot(&shop.store, "L-B").unwrap();
    let uses: Vec<_> = trace.uses.iter().map(|used| (used.mix.head.number, used.from.clone())).collect();
    let tin = Account::Tin("T-B".into());
    assert_eq!(uses, [(1, tin.clone()), (2, tin), (2, Account::Leftover(old))]);
    assert_eq!((trace.jobs(), trace.lots()), (vec!["R-7", "R-8"], vec!["L-B"]));
    let from_leftover = event_part(&event, "B");
    assert_eq!(trace.uses[2].mass, from_leftover);
    let back = trace_mix(&shop.store, new).unwrap();
    assert!(back.uses.iter().any(|used| used.mix.mix == old) && back.lots() == ["L-B"]);
    let by_job = trace_job(&shop.store, "R-7").unwrap();
    assert_eq!(by_job.uses.len(), 4);
    assert!(by_job.uses.iter().all(|used| used.mix.mix == old));
    assert!(trace_lot(&shop.store, "L-X").unwrap_err().to_string().contains("no tin of lot L-X"));
    assert!(trace_job(&shop.store, "R-9").unwrap_err().to_string().contains("sprayed on R-9"));
}

fn event_part(event: &Event, toner: &str) -> Grams {
    let Event::LeftoverAdded(added) = event else { panic!("{event:?}") };
    added.parts.iter().find(|(code, _)| code.as_str() == toner).unwrap().1
}

/// The book takes any event that adds up; whether it says what it moved is found by the wing that knows it.
#[test]
fn an_event_that_moved_other_paint_than_it_says_is_found() {
    let mut shop = Shop::new();
    let came = receive(&receipt("24-1", "A", "1000"), None).unwrap();
    let at = shop.later();
    let mut envelope = came.envelope(shop.ids.event(at), at, &by()).unwrap();
    envelope.postings[0].micrograms += 1;
    envelope.postings[1].micrograms -= 1;
    shop.store.append(&envelope).unwrap();
    let found = faults(&shop.store).unwrap().join("; ");
    assert!(found.contains("(tin/received) moved other paint than it says"), "{found}");
}

/// A scanned tin whose receipt nobody wrote is found by its lot.
#[test]
fn a_lot_that_was_only_scanned_is_traced() {
    let mut shop = Shop::new();
    shop.begin();
    let marks = Some(TinMarks { lot: Some("S1".into()), ..TinMarks::default() });
    assert!(shop.happened(&Event::TinTaken { toner: TonerCode::new("A"), tin: "24-9".into(), marks }));
    let event = shop.session().take(grams("40"), How::Scale).unwrap();
    assert!(shop.happened(&event));
    let trace = trace_lot(&shop.store, "S1").unwrap();
    assert_eq!(
        (trace.uses.len(), trace.uses[0].mass, trace.tins[0].label.as_str()),
        (1, grams("40"), "24-9")
    );
}

/// What anybody in the shop may do next, from two numbers; what is refused does not happen.
fn step(shop: &mut Shop, what: u8, n: u16) {
    let toners = ["A", "B", "C", "D", "Z1"];
    let toner = toners[usize::from(n) % toners.len()];
    let label = format!("T-{}", n % 7);
    let mass = Grams::from_micrograms(i64::from(n) * 123_457 + 1);
    let named = tin(&shop.store, &label).unwrap();
    let told = match (what % 16, named) {
        (0, _) => {
            let known = shop.store.tins(TinsOf::Label(&label)).unwrap();
            let came = Receipt { net: mass, ..receipt(&label, toner, "1") };
            receive(&came, known.first()).ok()
        }
        (1, Some(tin)) => {
            let why = n.is_multiple_of(2).then_some("spilt");
            count(&tin, None, None, mass, why, shop.unnamed(&tin)).ok()
        }
        (2, Some(tin)) => empty(&tin, shop.unnamed(&tin)).ok(),
        (3, Some(tin)) => discard(&tin, "dried up", shop.only_in(&tin)).ok(),
        (4, Some(tin)) => {
            let name = TinName { label: tin.label, toner: tin.toner };
            Some(if n.is_multiple_of(2) { StockEvent::Stirred(name) } else { StockEvent::Opened(name) })
        }
        (15, Some(tin)) if n < 40 => recall(tin.lot.as_deref().unwrap_or_default(), None, "seedy").ok(),
        (5, _) if n < 60 => {
            let left = leftovers(&shop.store).unwrap();
            let left =
                left.first().filter(|left| left.unfit(day("2026-01-01"), &[]) != Some(Unfit::Doubtful));
            left.and_then(|left| throw_leftover(left, n.is_multiple_of(2).then_some(mass), "skin on it").ok())
        }
        _ => None,
    };
    if let Some(event) = told {
        shop.tell(&event);
        return;
    }
    if shop.mixes.is_empty() || what % 16 == 6 {
        shop.begin();
        return;
    }
    let session = shop.session();
    let event = match (session.phase(), what % 16) {
        (Phase::Over(_) | Phase::Fouled, _) => {
            let ways = session.ways();
            let usable: Vec<_> = ways.iter().filter(|choice| choice.way != Way::Restart).collect();
            session.steer(usable[usize::from(n) % usable.len()])
        }
        (Phase::Drawing, _) => session.take_drawn(session.draw_to().unwrap(), How::Scale),
        (Phase::Finished, 7..=12) if session.emptied().is_none() => session.empty(
            Ending {
                ready: n.is_multiple_of(3).then(|| session.holds() + mass),
                left: session.holds().times(crate::units::Decimal::new(i64::from(n % 100), 2)),
                keep: !n.is_multiple_of(4),
                reason: Some("no use for it".into()),
                job: n.is_multiple_of(2).then(|| format!("R-{}", n % 5)),
                ..Ending::default()
            },
            How::Scale,
        ),
        (_, 7 | 8) => {
            let left = leftovers(&shop.store).unwrap();
            let Some(left) = left.first().filter(|left| left.unfit(day("2026-01-01"), &[]).is_none()) else {
                return;
            };
            let mass = mass.times(crate::units::Decimal::new(1, 1)).min(left.holds());
            session.take_leftover(&left.of.mix.to_string(), &left.made_of, session.holds() + mass, How::Scale)
        }
        (_, 14) if n < 80 => Ok(Event::LeftoverDue {
            from: leftovers(&shop.store).unwrap().first().map(|left| left.of.mix.to_string()),
        }),
        (_, 9) => Ok(Event::TinTaken {
            toner: TonerCode::new(toner),
            tin: label,
            marks: Some(TinMarks { lot: Some(format!("L{n}")), ..TinMarks::default() }),
        }),
        (_, 10) => {
            let label = (!n.is_multiple_of(3)).then_some(label);
            session.rebook(usize::from(n) % 4, TonerCode::new(toner), label)
        }
        (_, 11) => {
            session.take_drawn(session.holds() - mass.times(crate::units::Decimal::new(1, 1)), How::Scale)
        }
        (_, 12) if n < 20 => session.abandon("spilt"),
        (_, 13) => {
            session.take_wrong(TonerCode::new(toner), Some(&label), session.holds() + mass, How::Typed)
        }
        _ => match session.goal() {
            Some(goal) => session.take(session.limits().division.round(goal.stop), How::Scale),
            None => session.finish(),
        },
    };
    if let Ok(event) = event {
        shop.happened(&event);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Tins, mixes, leftovers, in any order: nothing is lost and nothing made, every leftover is worth what was kept and
    /// not used, and the figures are what the journal comes to.
    #[test]
    fn every_gram_is_somewhere(seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..120)) {
        let mut shop = Shop::new();
        for (what, n) in seed {
            step(&mut shop, what, n);
        }
        let mut sums = std::collections::BTreeMap::<TonerCode, i64>::new();
        for balance in shop.store.balances().unwrap() {
            *sums.entry(balance.toner).or_default() += balance.micrograms;
        }
        prop_assert!(sums.values().all(|sum| *sum == 0), "{:?}", sums);
        // What came out of tins and leftovers is in a cup, or went where the mix's own flows say.
        for journal in &shop.mixes {
            let totals = shop.store.totals(crate::book::MixesOf::Mix(journal.mix())).unwrap().pop().unwrap();
            let flows = totals.flows;
            let in_cup: Grams = journal.in_cup().into_values().sum();
            let out = flows.drawn_off + flows.sprayed + flows.kept + flows.thrown + flows.abandoned + in_cup;
            prop_assert_eq!(flows.poured + flows.reused, out);
        }
        prop_assert_eq!(faults(&shop.store).unwrap(), Vec::<String>::new());
        shop.is_well();
    }
}
