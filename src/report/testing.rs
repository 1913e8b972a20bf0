//! Books to test the figures with. Everything in them is invented.

use super::Period;
use crate::book::testing::{alone, start};
use crate::book::{By, Ids, Journal, Opened, SqliteStore, Store};
use crate::catalogue::TonerCode;
use crate::mix::{Ending, Event, How, Phase, Session, Way};
use crate::units::{Grams, Stamp};
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// A shop that writes what happens into its book.
pub(super) struct Shop {
    pub(super) store: SqliteStore,
    pub(super) ids: Ids,
    pub(super) at: Stamp,
    mix: Option<Journal>,
    who: By,
    _folder: tempfile::TempDir,
}

impl Shop {
    pub(super) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let Opened::ToWrite(store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap() else {
            panic!("nobody else has it")
        };
        let who = By { bench: "bench 1".into(), operator: "Robin".into() };
        Self { store, ids: Ids::counted(1), at: Stamp(0), mix: None, who, _folder: folder }
    }

    /// Noon of that day in UTC.
    pub(super) fn on(&mut self, day: Date) -> &mut Self {
        let noon = day.at(12, 0, 0, 0).to_zoned_datetime(TimeZone::UTC).unwrap();
        self.at = Stamp(noon.timestamp().as_microsecond());
        self
    }

    /// A tin came.
    pub(super) fn receive(&mut self, label: &str, toner: &str, net: &str, price: Option<&str>) {
        let price = price.map(|price| format!(",\"price\":\"{price}\"")).unwrap_or_default();
        let body = format!("{{\"label\":\"{label}\",\"toner\":\"{toner}\",\"net\":\"{net}\"{price}}}");
        let micrograms = Grams::parse(net).unwrap().micrograms().unwrap();
        let tin = format!("tin:{label}");
        self.tell(
            "tin/received",
            &body,
            &[("supplier:north", toner, -micrograms), (&tin, toner, micrograms)],
        );
    }

    /// An event about no mix.
    pub(super) fn tell(&mut self, kind: &str, body: &str, postings: &[(&str, &str, i64)]) {
        self.at.0 += 1_000_000;
        let event = alone(&mut self.ids, self.at, kind, body, postings);
        self.store.append(&event).unwrap();
    }

    /// That painter begins a mix of 150 mL.
    pub(super) fn begin(&mut self, painter: &str) -> &mut Self {
        self.who.operator = painter.to_owned();
        self.at.0 += 1_000_000;
        let mix = self.ids.mix(self.at);
        let id = self.ids.event(self.at);
        let (journal, first) = Journal::begin(mix, &Event::Started(start()), id, self.at, &self.who).unwrap();
        self.store.append(&first).unwrap();
        self.mix = Some(journal);
        self
    }

    pub(super) fn session(&self) -> &Session {
        self.mix.as_ref().unwrap().session()
    }

    pub(super) fn mix(&self) -> &Journal {
        self.mix.as_ref().unwrap()
    }

    pub(super) fn happened(&mut self, event: &Event) -> &mut Self {
        self.at.0 += 1_000_000;
        let id = self.ids.event(self.at);
        let envelope = self.mix.as_mut().unwrap().record(event, id, self.at, &self.who).unwrap();
        self.store.append(&envelope).unwrap();
        self
    }

    /// The toner that is due is poured from that tin until the cup holds so much.
    pub(super) fn pour(&mut self, tin: Option<&str>, reading: &str) -> &mut Self {
        if let Some(tin) = tin {
            let line = self.session().goal().unwrap().line;
            let toner = self.session().recipe().lines()[line].toner.clone();
            self.happened(&Event::TinTaken { toner, tin: tin.to_owned(), marks: None });
        }
        let event = self.session().take(Grams::parse(reading).unwrap(), How::Scale).unwrap();
        self.happened(&event)
    }

    /// Another toner is poured until the cup holds so much.
    pub(super) fn pour_wrong(&mut self, toner: &str, reading: &str) -> &mut Self {
        let reading = Grams::parse(reading).unwrap();
        let event = self.session().take_wrong(TonerCode::new(toner), None, reading, How::Scale).unwrap();
        self.happened(&event)
    }

    /// That way out is taken, what it says is drawn off.
    pub(super) fn choose(&mut self, way: Way) -> &mut Self {
        let choice = self.session().every_way().into_iter().find(|choice| choice.way == way).unwrap();
        let event = self.session().steer(&choice).unwrap();
        self.happened(&event);
        if let Some(stop) = self.session().draw_to() {
            let event = self.session().take_drawn(stop, How::Scale).unwrap();
            self.happened(&event);
        }
        self
    }

    /// The rest is poured to the nearest tenth, and the mix is done.
    pub(super) fn fill(&mut self) -> &mut Self {
        while let Some(goal) = self.session().goal() {
            let stop = self.session().limits().division.round(goal.stop);
            let event = self.session().take(stop, How::Scale).unwrap();
            self.happened(&event);
        }
        assert_eq!(self.session().phase(), Phase::Complete);
        let event = self.session().finish().unwrap();
        self.happened(&event)
    }

    /// Sprayed until so much is left, and that kept, or thrown away for a reason.
    pub(super) fn spray(&mut self, left: &str, reason: Option<&str>, job: Option<&str>) -> &mut Self {
        let ending = Ending {
            left: Grams::parse(left).unwrap(),
            keep: reason.is_none(),
            reason: reason.map(str::to_owned),
            job: job.map(str::to_owned),
            ..Ending::default()
        };
        let event = self.session().empty(ending, How::Scale).unwrap();
        self.happened(&event)
    }

    pub(super) fn abandon(&mut self, reason: &str) -> &mut Self {
        let event = self.session().abandon(reason).unwrap();
        self.happened(&event)
    }
}

/// October 2026 in UTC.
pub(super) fn october() -> Period {
    let day = |day| Date::new(2026, 10, day).unwrap();
    Period::new(Some(day(1)), Some(day(31)), None, Stamp(0), TimeZone::UTC).unwrap()
}

/// The book of an invented October. Two tins of A: 24-1 at 20 for 1000 g, 24-2 without a price.
///
/// - 5 October, Robin: B goes over by about 3.9 g, some is drawn off; half of it sprayed on R-7, the rest thrown away.
/// - 6 October, Kim: done and kept to the last gram but 100.
/// - 13 October, Kim: what was kept is the start of another; still in its cup.
/// - 14 October, <Robin & "Co">: given up after the wrong toner.
/// - 15 October: what is left of what was kept is thrown away.
pub(super) fn invented() -> Shop {
    let day = |day| Date::new(2026, 10, day).unwrap();
    let mut shop = Shop::new();
    shop.on(day(2)).receive("24-1", "A", "1000", Some("20"));
    shop.receive("24-2", "A", "1000", None);
    shop.on(day(5)).begin("Robin").pour(Some("24-1"), "116").pour(None, "176").choose(Way::DrawOff).fill();
    let half = shop.session().holds().times(crate::units::Decimal::new(5, 1)).to_book();
    shop.spray(&half.to_string(), Some("too <much> & \"old\""), Some("R-7"));
    shop.on(day(6)).begin("Kim").pour(Some("24-2"), "116").fill().spray("80", None, Some("R-8"));
    let leftover = shop.mix().mix().to_string();
    let made_of: Vec<_> = shop
        .store
        .balances_of(&crate::book::Account::leftover(&leftover))
        .unwrap()
        .into_iter()
        .map(|balance| (balance.toner, Grams::from_micrograms(balance.micrograms)))
        .collect();
    shop.on(day(13)).begin("Kim");
    let event =
        shop.session().take_leftover(&leftover, &made_of, Grams::parse("50").unwrap(), How::Scale).unwrap();
    shop.happened(&event);
    shop.on(day(14)).begin("<Robin & \"Co\">").pour(Some("24-1"), "100").pour_wrong("Z", "105");
    shop.abandon("=1+1");
    let rest: Vec<(String, i64)> = shop
        .store
        .balances_of(&crate::book::Account::leftover(&leftover))
        .unwrap()
        .into_iter()
        .map(|balance| (balance.toner.as_str().to_owned(), balance.micrograms))
        .collect();
    let account = format!("leftover:{leftover}");
    let postings: Vec<(&str, &str, i64)> = rest
        .iter()
        .flat_map(|(toner, mass)| {
            [(account.as_str(), toner.as_str(), -mass), ("waste:left:old", toner, *mass)]
        })
        .collect();
    shop.on(day(15)).tell("leftover/thrown", "{}", &postings);
    shop.tell("tin/counted", "{}", &[("tin:24-1", "A", -2_500_000), ("difference:spilt", "A", 2_500_000)]);
    shop
}
