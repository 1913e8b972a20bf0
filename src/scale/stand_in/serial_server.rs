//! The server's half of RFC 2217 for a stand-in, with the faults that servers are known for.

use crate::scale::shape::UsualLine;
use crate::scale::transport::com_port::{
    ANSWER, LINE_ERRORS, NOTIFY_LINE_STATE, NOTIFY_MODEM_STATE, SET_BAUD_RATE, SET_CONTROL, SET_DATA_SIZE,
    SET_LINE_STATE_MASK, SET_MODEM_STATE_MASK, SET_PARITY, SET_STOP_SIZE,
};
use crate::scale::transport::telnet::{self, BINARY, COM_PORT, Item, SUPPRESS_GO_AHEAD, Telnet, Verb};

/// Something that a serial server does otherwise than it should.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ServerFault {
    /// It will not have its port set.
    RefusesComPort,
    /// It takes the connection and says nothing.
    NeverAnswers,
    /// It agrees to everything, and confirms nothing.
    NeverConfirms,
    /// It lets the first setting go unanswered.
    LosesTheFirst,
    /// It can only do this speed, and says so.
    OtherSpeed(u32),
    /// It sends more bytes with the speed than the four.
    LongSpeed,
    /// It answers SET-CONTROL with something else.
    WrongControl,
    /// It greets with a text.
    Banner(String),
    /// It tells the state of the modem with every frame, though told not to.
    ModemState,
    /// Its line has an error with every frame.
    LineErrors,
}

/// A serial server's port, for one connection after another.
#[derive(Debug)]
pub(super) struct SerialServer {
    faults: Vec<ServerFault>,
    telnet: Telnet,
    /// Settings that came, to lose the first.
    came: u64,
    line_state_mask: u8,
    /// What the port is set to.
    line: UsualLine,
}

impl SerialServer {
    pub(super) const fn new(faults: Vec<ServerFault>) -> Self {
        let line = UsualLine { baud: 1200, data_bits: 8, parity: 'N', stop_bits: 1 };
        Self { faults, telnet: Telnet::new(), came: 0, line_state_mask: 0, line }
    }

    fn has(&self, fault: &ServerFault) -> bool {
        self.faults.contains(fault)
    }

    /// What the port is set to.
    pub(super) const fn line(&self) -> UsualLine {
        self.line
    }

    /// A new connection: what it is greeted with.
    pub(super) fn greet(&mut self) -> Vec<u8> {
        self.telnet = Telnet::new();
        self.line_state_mask = 0;
        let banner = self.faults.iter().find_map(|fault| match fault {
            ServerFault::Banner(text) => Some(text.clone().into_bytes()),
            _ => None,
        });
        banner.unwrap_or_default()
    }

    /// Takes in what came: the data goes behind `data`, and the answer comes back.
    pub(super) fn take_in(&mut self, bytes: &[u8], data: &mut Vec<u8>) -> Vec<u8> {
        let mut answer = Vec::new();
        if self.has(&ServerFault::NeverAnswers) {
            return answer;
        }
        for &byte in bytes {
            match self.telnet.take(byte) {
                None => {}
                Some(Item::Data(byte)) => data.push(byte),
                Some(Item::Option(verb, option)) => self.option(verb, option, &mut answer),
                Some(Item::Sub(body)) => {
                    if let [COM_PORT, code, value @ ..] = body.as_slice() {
                        self.set(*code, value, &mut answer);
                    }
                }
            }
        }
        answer
    }

    fn option(&self, verb: Verb, option: u8, answer: &mut Vec<u8>) {
        let known = match option {
            COM_PORT => !self.has(&ServerFault::RefusesComPort),
            BINARY | SUPPRESS_GO_AHEAD => true,
            _ => false,
        };
        let verb = match (verb, known) {
            (Verb::Will, true) => Verb::Do,
            (Verb::Will, false) => Verb::Dont,
            (Verb::Do, true) => Verb::Will,
            (Verb::Do, false) => Verb::Wont,
            (Verb::Wont | Verb::Dont, _) => return,
        };
        answer.extend(telnet::option(verb, option));
    }

    fn set(&mut self, code: u8, value: &[u8], answer: &mut Vec<u8>) {
        self.came = self.came.saturating_add(1);
        let lost = self.came == 1 && self.has(&ServerFault::LosesTheFirst);
        if lost || self.has(&ServerFault::NeverConfirms) {
            return;
        }
        let mut in_use = value.to_vec();
        match (code, value) {
            (SET_BAUD_RATE, &[a, b, c, d]) => {
                let asked = u32::from_be_bytes([a, b, c, d]);
                let only = self.faults.iter().find_map(|fault| match fault {
                    ServerFault::OtherSpeed(speed) => Some(*speed),
                    _ => None,
                });
                self.line.baud = only.unwrap_or(asked);
                in_use = self.line.baud.to_be_bytes().to_vec();
                if self.has(&ServerFault::LongSpeed) {
                    in_use.extend([0, 8, 1]);
                }
            }
            (SET_DATA_SIZE, &[bits]) => self.line.data_bits = bits,
            (SET_PARITY, &[parity]) => {
                self.line.parity = match parity {
                    2 => 'O',
                    3 => 'E',
                    _ => 'N',
                };
            }
            (SET_STOP_SIZE, &[bits]) => self.line.stop_bits = bits,
            (SET_CONTROL, _) if self.has(&ServerFault::WrongControl) => in_use = vec![0, 0],
            (SET_LINE_STATE_MASK, &[mask]) => self.line_state_mask = mask,
            (SET_CONTROL | SET_MODEM_STATE_MASK, _) => {}
            _ => return,
        }
        in_use.splice(0..0, [COM_PORT, code.saturating_add(ANSWER)]);
        telnet::sub(&in_use, answer);
    }

    /// The scale's bytes as they go over the wire, and what is told beside them.
    pub(super) fn wire(&self, data: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        if self.has(&ServerFault::NeverAnswers) {
            return out;
        }
        let errors = LINE_ERRORS & 8 & self.line_state_mask;
        if errors != 0 && self.has(&ServerFault::LineErrors) {
            telnet::sub(&[COM_PORT, NOTIFY_LINE_STATE.saturating_add(ANSWER), errors], &mut out);
        }
        if self.has(&ServerFault::ModemState) {
            telnet::sub(&[COM_PORT, NOTIFY_MODEM_STATE.saturating_add(ANSWER), 0xB0], &mut out);
        }
        telnet::escape(data, false, &mut out);
        out
    }
}
