use super::*;
use crate::scale::ports::invented::{Invented, plugged};
use crate::scale::{Control, Manner, Spec, StandIn, shape};
use std::sync::mpsc::Receiver;

const PATIENCE: Duration = Duration::from_secs(30);

struct Heard {
    _link: Link,
    inbox: Receiver<LinkEvent>,
}

impl Heard {
    fn open(house: &Invented, address: &str) -> Self {
        let (outbox, inbox) = channel();
        let sink = move |event| drop(outbox.send(event));
        let machine = house.machine.clone();
        let address = address.parse().unwrap();
        let link = Link::open_on(machine, address, Clock::running(), Listening::default(), sink).unwrap();
        Self { _link: link, inbox }
    }

    /// Waits until it says that it stands so, for that reason.
    fn says(&self, wanted: LinkState, part: &str) {
        let mut heard = Vec::new();
        loop {
            match self.inbox.recv_timeout(PATIENCE) {
                Ok(LinkEvent::State { state, why }) if state == wanted && why.contains(part) => return,
                Ok(LinkEvent::State { state, why }) => heard.push((state, why)),
                Ok(_) => {}
                Err(error) => panic!("waited in vain for {wanted:?}, {part}: {error}; {heard:#?}"),
            }
        }
    }
}

fn scale(house: &Invented, name: &str) -> StandIn {
    let manner = Manner { shape: &shape::Sma, spec: Spec::default(), seed: 5, streams: true };
    StandIn::on_pty(&house.device(name), manner).unwrap()
}

const ADDRESS: &str = "serial:/dev/ttyUSB0?shape=sma";

#[test]
fn an_adapter_that_comes_back_under_another_name_is_found_again() {
    let house = Invented::new();
    let first = scale(&house, "ttyUSB0");
    house.plug("ttyUSB0", &plugged("1-1.2", Some("A1")));
    let heard = Heard::open(&house, ADDRESS);
    heard.says(LinkState::Live, "");
    first.control(Control::Unplug);
    house.unplug("ttyUSB0");
    heard.says(LinkState::Lost, "/dev/ttyUSB0 is gone");
    let _second = scale(&house, "ttyUSB1");
    house.plug("ttyUSB1", &plugged("1-1.4", Some("A1")));
    heard.says(LinkState::Live, "found again as /dev/ttyUSB1; it was /dev/ttyUSB0 before");
}

#[test]
fn another_adapter_under_the_old_name_is_never_read() {
    let house = Invented::new();
    let first = scale(&house, "ttyUSB0");
    house.plug("ttyUSB0", &plugged("1-1.2", Some("A1")));
    let heard = Heard::open(&house, ADDRESS);
    heard.says(LinkState::Live, "");
    first.control(Control::Unplug);
    house.unplug("ttyUSB0");
    heard.says(LinkState::Lost, "serial number A1) is not there");
    house.plug("ttyUSB0", &plugged("1-1.2", Some("B2")));
    let stranger = scale(&house, "ttyUSB0");
    heard.says(LinkState::Lost, "/dev/ttyUSB0 is another one now (USB 1a86:7523, serial number B2)");
    let second = scale(&house, "ttyUSB1");
    house.plug("ttyUSB1", &plugged("1-1.3", Some("A1")));
    heard.says(LinkState::Live, "found again as /dev/ttyUSB1");
    second.control(Control::Unplug);
    heard.says(LinkState::Lost, "check the cable");
    drop(stranger);
    let openings = loop {
        if let LinkEvent::Evidence(evidence) = heard.inbox.recv_timeout(PATIENCE).unwrap() {
            break evidence.openings;
        }
    };
    assert_eq!(openings, 2, "the stranger was opened");
}

#[test]
fn without_a_serial_number_only_the_old_socket_will_do() {
    let house = Invented::new();
    let first = scale(&house, "ttyUSB0");
    house.plug("ttyUSB0", &plugged("1-1.2", None));
    let heard = Heard::open(&house, ADDRESS);
    heard.says(LinkState::Live, "");
    first.control(Control::Unplug);
    house.unplug("ttyUSB0");
    heard.says(LinkState::Lost, "in socket 1-1.2) is not there");
    let elsewhere = scale(&house, "ttyUSB1");
    house.plug("ttyUSB1", &plugged("1-1.3", None));
    heard.says(LinkState::Lost, "one of its kind at /dev/ttyUSB1, but they have no serial numbers");
    drop(elsewhere);
    house.unplug("ttyUSB1");
    let _back = scale(&house, "ttyUSB5");
    house.plug("ttyUSB5", &plugged("1-1.2", None));
    heard.says(LinkState::Live, "found again as /dev/ttyUSB5");
}
