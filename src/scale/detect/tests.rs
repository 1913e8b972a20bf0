use super::fake::{FakePort, FakeScale};
use super::line::{framed, told};
use super::*;
use crate::scale::shape::{ALL, Ask, by_name};
use std::cell::Cell;

fn search(port: &mut FakePort, plan: &Plan) -> Finding {
    run(port, plan, &mut |_| {}, &|| false)
}

fn line(text: &str) -> UsualLine {
    usual().into_iter().find(|line| told(*line) == text).unwrap()
}

fn sma(line: UsualLine) -> FakeScale {
    FakeScale::new(by_name("sma").unwrap(), line)
}

#[test]
fn every_usual_setting_is_tried_once_and_the_current_one_first() {
    let settings = Plan::listening().from(line("4800 7E1")).settings(Some(line("1200 8N1")));
    let told: Vec<String> = settings.iter().map(|line| told(*line)).collect();
    assert_eq!(told[..4], ["4800 7E1", "1200 8N1", "9600 8N1", "9600 8O1"]);
    for (index, line) in settings.iter().enumerate() {
        assert!(!settings[..index].iter().any(|other| hears_as(*other, *line)), "{line:?}");
    }
    assert!(settings.len() >= SPEEDS.len() * FRAMINGS.len());
    // The order of the likely ones, where nothing is known: 9600 8N1, 9600 8O1, 2400 7E1, ...
    assert_eq!(Plan::listening().settings(None)[..7], LIKELY);
}

#[test]
fn a_scale_that_speaks_by_itself_is_found_and_nothing_is_sent() {
    let mut port = FakePort::new(sma(line("9600 8N1")));
    let finding = search(&mut port, &Plan::listening());
    let found = finding.found().unwrap();
    assert_eq!((found.shape.name(), told(found.line)), ("sma", "9600 8N1".to_owned()));
    assert_eq!(found.sure, Sure::Certain, "{found:?}");
    assert_eq!(found.why, "5 readings at 9600 8N1 as sma, 0 bytes left over; no other format fits.");
    assert!(found.by_itself && !finding.asked && port.received().is_empty());
    // A second stop bit is not heard, and that is told.
    let others: Vec<String> = found.others.iter().map(|other| told(other.line)).collect();
    assert_eq!(others, ["9600 8N2"]);
    assert!(found.others[0].reads_the_same && found.others[0].settled_by.contains("menu"));
    assert_eq!(found.address("/dev/ttyUSB0"), "serial:/dev/ttyUSB0?baud=9600&line=8N1&shape=sma");
    assert!(found.address("/dev/ttyUSB0").parse::<crate::scale::Address>().is_ok());
    assert!(finding.ms < 1_500, "{}", finding.ms);
}

/// What 8N1 hears of a 7E1 line has even parity in bit 7: that setting is next, not the next in the list.
#[test]
fn parity_heard_in_bit_seven_leads_to_the_setting_at_once() {
    for text in ["9600 7E1", "9600 7O1", "9600 7N2", "9600 8E1", "9600 8O1"] {
        let mut port = FakePort::new(sma(line(text)));
        let mut settings = Vec::new();
        let mut progress = |step: Progress| {
            if let Progress::Listening { line, .. } = step {
                settings.push(told(line));
            }
        };
        let finding = run(&mut port, &Plan::listening(), &mut progress, &|| false);
        assert_eq!(settings, ["9600 8N1", text]);
        assert_eq!(finding.found().unwrap().sure, Sure::Certain, "{text} {finding:?}");
    }
    // And the other way round: 8N1 heard at 7E1.
    let mut port = FakePort::new(sma(line("9600 8N1")));
    port.before = Some(line("9600 7E1"));
    let finding = search(&mut port, &Plan::listening());
    assert_eq!((finding.settings, told(finding.found().unwrap().line)), (2, "9600 8N1".to_owned()));
}

#[test]
fn a_scale_that_waits_to_be_asked_is_asked_and_tells_its_capacity() {
    let mut port = FakePort::new(sma(line("2400 7E1")).polled());
    assert!(matches!(search(&mut port, &Plan::listening()).outcome, Outcome::Silent));
    let finding = search(&mut port, &Plan::asking());
    let found = finding.found().unwrap();
    assert_eq!(told(found.line), "2400 7E1");
    assert!(finding.asked && !found.by_itself && found.sure == Sure::Certain, "{found:?}");
    assert_eq!(
        found.address("/dev/ttyS1"),
        "serial:/dev/ttyS1?baud=2400&line=7E1&shape=sma&division=0.1&capacity=7500"
    );
    let harmless = [Ask::Now, Ask::Information, Ask::InformationNext, Ask::Stop];
    assert!(port.asked().iter().all(|ask| harmless.contains(ask)), "{:?}", port.asked());
}

#[test]
fn a_port_without_a_scale_is_silent_and_one_with_noise_is_not_understood() {
    let nobody = FakeScale { shape: None, ..sma(line("9600 8N1")) };
    let finding = search(&mut FakePort::new(nobody.clone()), &Plan::listening());
    assert!(matches!(finding.outcome, Outcome::Silent) && finding.bytes == 0 && finding.ms < 4_000);
    let finding = search(&mut FakePort::new(nobody), &Plan::asking());
    assert!(
        matches!(finding.outcome, Outcome::Silent) && finding.asked && finding.ms < 200_000,
        "{}",
        finding.ms
    );
    // 300 bits a second is no usual setting.
    let strange = UsualLine { baud: 300, ..line("9600 8N1") };
    let finding = search(&mut FakePort::new(sma(strange)), &Plan::listening());
    assert!(matches!(finding.outcome, Outcome::NotUnderstood) && finding.bytes > 0, "{finding:?}");
}

#[test]
fn a_search_can_be_stopped_and_a_stopped_one_says_so() {
    let steps = Cell::new(0);
    let stop = || {
        steps.set(steps.get() + 1);
        steps.get() > 10
    };
    let mut port = FakePort::new(sma(line("9600 8N1")).polled());
    let finding = run(&mut port, &Plan::asking(), &mut |_| {}, &stop);
    assert!(matches!(finding.outcome, Outcome::Stopped) && finding.ms < 1_500, "{finding:?}");
}

/// A port that does not tell damage hears 8N1 at 7E1 as well, and 8E1 at 8N1: neither is called certain.
#[test]
fn a_port_that_hides_damage_is_never_certain_and_names_what_it_cannot_tell() {
    for text in ["9600 8N1", "9600 7E1", "9600 7O1", "9600 7N2", "9600 8E1", "9600 8O1"] {
        for before in ["9600 7E1", "9600 8N1", "9600 7O1"] {
            let mut port = FakePort::new(sma(line(text)));
            port.before = Some(line(before));
            port.tells = false;
            let finding = search(&mut port, &Plan::listening());
            let found = finding.found().unwrap();
            assert_ne!(found.sure, Sure::Certain);
            let named: Vec<String> = std::iter::once(found.line)
                .chain(found.others.iter().map(|other| other.line))
                .map(told)
                .collect();
            assert!(named.contains(&text.to_owned()), "{text} after {before}: {named:?}");
            // Seven bits are always told from eight.
            assert_eq!(found.line.data_bits, line(text).data_bits, "{text} after {before}: {named:?}");
        }
    }
}

#[test]
fn a_port_without_parity_is_tried_once_a_speed() {
    let mut port = FakePort::new(sma(line("9600 8N1")).polled());
    port.has_parity = false;
    let finding = search(&mut port, &Plan::asking());
    assert_eq!(told(finding.found().unwrap().line), "9600 8N1");
    let mut port = FakePort::new(FakeScale { shape: None, ..sma(line("9600 8N1")) });
    port.has_parity = false;
    assert_eq!(search(&mut port, &Plan::asking()).settings, SPEEDS.len() + 1);
}

/// Rule 10. No format takes a question that any other is asked for something that changes the scale: not alone, not
/// behind any other, and not all in a row.
#[test]
fn no_question_changes_any_scale() {
    let plan = Plan::asking();
    let questions = plan.questions(LIKELY[0]);
    assert!(questions.len() >= 4, "{questions:?}");
    for shape in ALL {
        for first in &questions {
            assert!(is_harmless_to(*shape, first), "{} {first:?}", shape.name());
            for second in &questions {
                let both = [*first, *second].concat();
                assert!(is_harmless_to(*shape, &both), "{} {both:?}", shape.name());
            }
        }
        for line in plan.settings(None) {
            let row = [&[plan::SPOILER][..], &plan.questions(line)].concat().concat();
            assert!(is_harmless_to(*shape, &row), "{} at {line:?}", shape.name());
        }
        // What asks for the plate is only sent to the format it is of, but may go wrong as well.
        for ask in [Ask::About, Ask::AboutNext, Ask::Information, Ask::InformationNext] {
            assert!(!ask.changes_the_scale());
            assert!(
                shape.ask(ask).is_none_or(|bytes| is_harmless_to(*shape, bytes)),
                "{} {ask:?}",
                shape.name()
            );
        }
    }
}

/// Nor garbled by a line that is set otherwise; a scale that takes damaged bytes all the same is looked at where its
/// format usually is.
#[test]
fn no_question_garbled_by_the_line_changes_any_scale() {
    let settings = Plan::asking().settings(None);
    for sent in &settings {
        let questions = Plan::asking().questions(*sent);
        assert!(!questions.is_empty(), "{}", told(*sent));
        for heard in &settings {
            let row: Vec<Vec<Byte>> = std::iter::once(&plan::SPOILER)
                .chain(&questions)
                .map(|question| uart::garbled(question, *sent, *heard, plan::BETWEEN_MS))
                .collect();
            for lax in [false, true] {
                let bytes: Vec<u8> =
                    row.iter().flatten().filter(|byte| lax || !byte.damaged).map(|byte| byte.value).collect();
                let usual = |shape: &&&dyn Shape| !lax || hears_as(shape.usual_line(), *heard);
                for shape in ALL.iter().filter(usual) {
                    assert!(
                        is_harmless_to(*shape, &bytes),
                        "{} sent at {}, {} at {}: {bytes:02x?}",
                        shape.name(),
                        told(*sent),
                        if lax { "taken damaged" } else { "heard" },
                        told(*heard)
                    );
                }
            }
        }
    }
}

/// What a scale made of the questions at one setting is no command with those of any other behind it.
#[test]
fn questions_at_one_setting_after_another_change_no_scale() {
    let mut settings = LIKELY.to_vec();
    settings.extend(ALL.iter().map(|shape| shape.usual_line()).filter(|line| !LIKELY.contains(line)));
    settings.dedup();
    let sent_at = |sent: UsualLine, heard: UsualLine| -> Vec<u8> {
        let all = std::iter::once(plan::SPOILER).chain(Plan::asking().questions(sent));
        let bytes = all.flat_map(|question| uart::garbled(question, sent, heard, plan::BETWEEN_MS));
        bytes.filter(|byte| !byte.damaged).map(|byte| byte.value).collect()
    };
    for heard in &settings {
        let row: Vec<u8> = settings.iter().flat_map(|sent| sent_at(*sent, *heard)).collect();
        assert!(row.len() > 20, "{}", told(*heard));
        for shape in ALL {
            let mut rest = row.as_slice();
            while let Some((ask, used)) = shape.understand(rest) {
                assert!(!ask.changes_the_scale(), "{} at {}: {ask:?}", shape.name(), told(*heard));
                rest = rest.get(used.max(1)..).unwrap_or_default();
            }
        }
    }
}

#[test]
fn what_could_be_taken_for_a_command_is_no_question() {
    for bytes in [
        &b"\nZ\r"[..],
        b"T\r\n",
        b"\x1bU\r\n",
        b"\x1bT",
        b"SIR\r\n",
        b"R\r\n",
        b"C\r\n",
        b"@\r\n",
        b"\nC\r",
        b"t",
    ] {
        assert!(!is_harmless(bytes), "{bytes:?}");
    }
    for bytes in [&b"\nW\r"[..], b"Q\r\n", b"SI\r\n", b"\x1bP\r\n", b"W\r"] {
        assert!(is_harmless(bytes), "{bytes:?}");
    }
    assert!(!is_harmless_to(by_name("command-reply").unwrap(), b"\nSI\r\nZ\r\n"));
    assert!(is_harmless_however_heard(b"SI\r\n", line("9600 8N1")));
    // Seven bits with parity hear eight without, but for those bytes whose bit 7 is not their parity.
    assert!(!is_harmless_however_heard(b"Z\r\n", line("9600 8N1")));
}

#[test]
fn a_setting_that_no_port_has_is_passed_over_and_a_port_that_is_gone_is_said_to_be() {
    struct Fussy(FakePort, bool);
    impl Probe for Fussy {
        fn now(&self) -> crate::units::Moment {
            self.0.now()
        }
        fn set_before(&self) -> Option<UsualLine> {
            None
        }
        fn set(&mut self, line: UsualLine) -> Result<UsualLine, Refusal> {
            if self.1 {
                return Err(Refusal::Gone("it is not there".to_owned()));
            }
            if line.baud == 9600 {
                Err(Refusal::Setting("no such speed".to_owned()))
            } else {
                self.0.set(line)
            }
        }
        fn read(&mut self, ms: u64, out: &mut Vec<Byte>) -> Result<(), Refusal> {
            self.0.read(ms, out)
        }
        fn write(&mut self, bytes: &[u8]) -> Result<(), Refusal> {
            self.0.write(bytes)
        }
        fn tells_damage(&self) -> bool {
            true
        }
    }
    let port = FakePort::new(sma(framed(4800, 7, 'E')));
    let finding = run(&mut Fussy(port, false), &Plan::listening(), &mut |_| {}, &|| false);
    assert_eq!(told(finding.found().unwrap().line), "4800 7E1");
    let port = FakePort::new(sma(framed(4800, 7, 'E')));
    let finding = run(&mut Fussy(port, true), &Plan::listening(), &mut |_| {}, &|| false);
    assert!(matches!(finding.outcome, Outcome::Gone(why) if why == "it is not there"));
}

/// Every format at the likely settings and at its own, speaking by itself and when asked; benches/detect.rs does it for
/// all settings and says how long it takes.
#[test]
fn every_format_is_found_or_named_and_nothing_wrong_is_certain() {
    for shape in ALL {
        for at in LIKELY.into_iter().chain([shape.usual_line()]) {
            for streams in [true, false] {
                if !streams && question(*shape).is_none() {
                    continue;
                }
                let scale = FakeScale { streams, seed: u64::from(at.baud), ..FakeScale::new(*shape, at) };
                let mut port = FakePort::new(scale);
                let finding = search(&mut port, &Plan::asking());
                let place = format!("{} at {}, {streams}", shape.name(), told(at));
                let found = finding.found().unwrap_or_else(|| panic!("{place}: {finding:?}"));
                let is_it = |line, other: &dyn Shape| hears_as(line, at) && other.name() == shape.name();
                let right = is_it(found.line, found.shape);
                assert!(right || found.sure == Sure::Unsure, "{place}: {found:?}");
                let named = found.others.iter().any(|other| is_it(other.line, other.shape));
                assert!(right || named, "{place}: {found:?}");
                assert!(
                    !port.asked().iter().any(|ask| ask.changes_the_scale()),
                    "{place}: {:?}",
                    port.asked()
                );
            }
        }
    }
}
