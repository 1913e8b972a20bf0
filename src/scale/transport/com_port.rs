//! The client's half of RFC 2217, the telnet option that sets the serial port of a server on the network. Pure:
//! bytes and the time go in, bytes to send and the scale's own bytes come out.

use super::telnet::{self, BINARY, COM_PORT, Item, SUPPRESS_GO_AHEAD, Telnet, Verb};
use crate::scale::address::Flow;
use crate::scale::shape::UsualLine;
use crate::units::Moment;
use thiserror::Error;

// RFC 2217, from the client to the server; the answer's code is higher by a hundred.
pub(in crate::scale) const SET_BAUD_RATE: u8 = 1;
pub(in crate::scale) const SET_DATA_SIZE: u8 = 2;
pub(in crate::scale) const SET_PARITY: u8 = 3;
pub(in crate::scale) const SET_STOP_SIZE: u8 = 4;
pub(in crate::scale) const SET_CONTROL: u8 = 5;
pub(in crate::scale) const NOTIFY_LINE_STATE: u8 = 6;
pub(in crate::scale) const NOTIFY_MODEM_STATE: u8 = 7;
pub(in crate::scale) const SET_LINE_STATE_MASK: u8 = 10;
pub(in crate::scale) const SET_MODEM_STATE_MASK: u8 = 11;
pub(in crate::scale) const ANSWER: u8 = 100;

/// Framing error, parity error, overrun: the bits of NOTIFY-LINESTATE that are errors.
pub(in crate::scale) const LINE_ERRORS: u8 = 8 | 4 | 2;

/// For how long a server may take to agree to the option.
const AGREE_MS: u64 = 3_000;
/// After how long without an answer a setting is sent again, and after as long again given up.
const ANSWER_MS: u64 = 1_000;

/// What the port at the far end is to be set to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::scale) struct Wanted {
    pub(in crate::scale) line: UsualLine,
    pub(in crate::scale) flow: Flow,
    pub(in crate::scale) dtr: bool,
    pub(in crate::scale) rts: bool,
}

/// A setting that the server has to confirm.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::scale) enum Setting {
    /// Bits a second.
    Speed,
    /// Bits a byte.
    DataBits,
    /// 1 none, 2 odd, 3 even, 4 mark, 5 space.
    Parity,
    /// 1 one, 2 two, 3 one and a half.
    StopBits,
}

/// In the order that the RFC recommends: some are only possible after others.
const ORDER: [Setting; 4] = [Setting::Speed, Setting::DataBits, Setting::Parity, Setting::StopBits];

impl Setting {
    const fn code(self) -> u8 {
        match self {
            Self::Speed => SET_BAUD_RATE,
            Self::DataBits => SET_DATA_SIZE,
            Self::Parity => SET_PARITY,
            Self::StopBits => SET_STOP_SIZE,
        }
    }

    fn wanted(self, line: UsualLine) -> u32 {
        match self {
            Self::Speed => line.baud,
            Self::DataBits => line.data_bits.into(),
            Self::Parity => match line.parity {
                'O' => 2,
                'E' => 3,
                _ => 1,
            },
            Self::StopBits => line.stop_bits.into(),
        }
    }

    fn command(self, line: UsualLine) -> Vec<u8> {
        let value = self.wanted(line).to_be_bytes();
        // The speed has four bytes in network order, the others have one.
        let value = if self == Self::Speed { &value[..] } else { value.get(3..).unwrap_or_default() };
        [&[COM_PORT, self.code()], value].concat()
    }

    /// Whether an answer confirms that value, and what it says is in use. Some servers send more bytes than they
    /// should with the speed; one of the ends is the speed then.
    fn in_use(self, answer: &[u8], wanted: u32) -> Option<u32> {
        if self != Self::Speed {
            return answer.first().map(|&value| value.into());
        }
        let number = |bytes: &[u8; 4]| u32::from_be_bytes(*bytes);
        let last = answer.last_chunk::<4>().map(number);
        let first = answer.first_chunk::<4>().map(number);
        if last == Some(wanted) { last } else { first }
    }

    fn words(self, value: u32) -> String {
        match (self, value) {
            (Self::Speed, _) => format!("{value} baud"),
            (Self::DataBits, _) => format!("{value} data bits"),
            (Self::Parity, 1) => "no parity".to_owned(),
            (Self::Parity, 2) => "odd parity".to_owned(),
            (Self::Parity, 3) => "even parity".to_owned(),
            (Self::Parity, 4) => "mark parity".to_owned(),
            (Self::Parity, 5) => "space parity".to_owned(),
            (Self::Parity, _) => format!("parity number {value}"),
            (Self::StopBits, 1) => "1 stop bit".to_owned(),
            (Self::StopBits, 2) => "2 stop bits".to_owned(),
            (Self::StopBits, 3) => "1.5 stop bits".to_owned(),
            (Self::StopBits, _) => format!("stop bits number {value}"),
        }
    }

    const fn name(self) -> &'static str {
        match self {
            Self::Speed => "the speed",
            Self::DataBits => "the data bits",
            Self::Parity => "the parity",
            Self::StopBits => "the stop bits",
        }
    }
}

/// Why a server cannot be used so.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub(in crate::scale) enum Refusal {
    #[error(
        "it speaks telnet, but will not have its serial port set (no RFC 2217): set that port to raw TCP, its \
         speed and line at the server, and use tcp: instead of rfc2217:"
    )]
    NoComPort,
    #[error(
        "it passes bytes unchanged and knows no RFC 2217: use tcp: instead of rfc2217:, and set speed and line \
         at the server"
    )]
    Raw,
    #[error(
        "it takes the connection but does not answer to RFC 2217: is that the right port? If the server passes \
         bytes unchanged, use tcp: instead of rfc2217:"
    )]
    Silent,
    #[error(
        "it does not say whether it has set {0}, though asked twice: restart the server, or set speed and line \
         there and use tcp: with its port set to raw TCP"
    )]
    Unanswered(&'static str),
    #[error(
        "it uses {in_use} where {asked} was asked for, and every byte would be wrong: correct the address, or \
         the limits set at the server"
    )]
    Other { asked: String, in_use: String },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    /// The option is not agreed yet.
    Agreeing,
    /// That setting is to be confirmed.
    Setting { setting: Setting, again: bool },
    /// The port is as wanted.
    Ready,
}

/// One connection's negotiation, and its data after that.
#[derive(Debug)]
pub(in crate::scale) struct ComPort {
    telnet: Telnet,
    wanted: Wanted,
    phase: Phase,
    since: Moment,
    out: Vec<u8>,
    /// Whether bytes came that were no telnet.
    heard: bool,
    /// Whether the server wants text from us, rather than eight bits.
    text: bool,
    line_errors: u64,
}

impl ComPort {
    /// Begins; what it has to say first is there to be sent at once.
    pub(in crate::scale) fn new(wanted: Wanted, now: Moment) -> Self {
        let begin = [
            telnet::option(Verb::Will, BINARY),
            telnet::option(Verb::Do, BINARY),
            telnet::option(Verb::Will, SUPPRESS_GO_AHEAD),
            telnet::option(Verb::Do, SUPPRESS_GO_AHEAD),
            telnet::option(Verb::Will, COM_PORT),
        ];
        Self {
            telnet: Telnet::new(),
            wanted,
            phase: Phase::Agreeing,
            since: now,
            out: begin.concat(),
            heard: false,
            text: false,
            line_errors: 0,
        }
    }

    /// What is to be sent now.
    pub(in crate::scale) fn outgoing(&mut self) -> Vec<u8> {
        std::mem::take(&mut self.out)
    }

    /// Whether the port is as wanted, and its data counts.
    pub(in crate::scale) fn is_ready(&self) -> bool {
        self.phase == Phase::Ready
    }

    /// How many line errors the server told of.
    pub(in crate::scale) const fn line_errors(&self) -> u64 {
        self.line_errors
    }

    /// Data as it goes over the wire.
    pub(in crate::scale) fn wire(&self, data: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        telnet::escape(data, self.text, &mut out);
        out
    }

    /// Takes in what came; the scale's bytes are put behind `data`. What came before the port was set is let go: a
    /// banner, or bytes read at another speed.
    pub(in crate::scale) fn take_in(
        &mut self,
        bytes: &[u8],
        now: Moment,
        data: &mut Vec<u8>,
    ) -> Result<(), Refusal> {
        for &byte in bytes {
            match self.telnet.take(byte) {
                None => {}
                Some(Item::Data(byte)) if self.is_ready() => data.push(byte),
                Some(Item::Data(_)) => self.heard = true,
                Some(Item::Option(verb, option)) => self.option(verb, option, now)?,
                Some(Item::Sub(body)) => {
                    if let [COM_PORT, code, value @ ..] = body.as_slice() {
                        self.said(*code, value, now)?;
                    }
                }
            }
        }
        Ok(())
    }

    /// Looks at the clock: is an answer overdue?
    pub(in crate::scale) fn look(&mut self, now: Moment) -> Result<(), Refusal> {
        let waited = now.since(self.since);
        match self.phase {
            Phase::Agreeing if waited >= AGREE_MS => Err(match (self.telnet.commands(), self.heard) {
                (0, true) => Refusal::Raw,
                (0, false) => Refusal::Silent,
                _ => Refusal::NoComPort,
            }),
            Phase::Setting { setting, again: false } if waited >= ANSWER_MS => {
                self.set(setting, now);
                self.phase = Phase::Setting { setting, again: true };
                Ok(())
            }
            Phase::Setting { setting, again: true } if waited >= ANSWER_MS => {
                Err(Refusal::Unanswered(setting.name()))
            }
            _ => Ok(()),
        }
    }

    fn option(&mut self, verb: Verb, option: u8, now: Moment) -> Result<(), Refusal> {
        match (verb, option) {
            (Verb::Do, COM_PORT) => self.agreed(now),
            (Verb::Dont, COM_PORT) => return Err(Refusal::NoComPort),
            // It will tell of its port by itself, too.
            (Verb::Will, COM_PORT) => self.out.extend(telnet::option(Verb::Do, COM_PORT)),
            (Verb::Wont, BINARY) => self.telnet.set_text(true),
            (Verb::Dont, BINARY) => self.text = true,
            // These were asked for from this side: the answer needs none.
            (Verb::Will | Verb::Do, BINARY | SUPPRESS_GO_AHEAD) | (Verb::Wont | Verb::Dont, _) => {}
            (Verb::Will, _) => self.out.extend(telnet::option(Verb::Dont, option)),
            (Verb::Do, _) => self.out.extend(telnet::option(Verb::Wont, option)),
        }
        Ok(())
    }

    fn agreed(&mut self, now: Moment) {
        if self.phase == Phase::Agreeing {
            self.set(Setting::Speed, now);
        }
    }

    fn set(&mut self, setting: Setting, now: Moment) {
        telnet::sub(&setting.command(self.wanted.line), &mut self.out);
        self.phase = Phase::Setting { setting, again: false };
        self.since = now;
    }

    fn said(&mut self, code: u8, value: &[u8], now: Moment) -> Result<(), Refusal> {
        match code.checked_sub(ANSWER) {
            Some(NOTIFY_LINE_STATE) => {
                let errors = value.first().is_some_and(|state| state & LINE_ERRORS != 0);
                self.line_errors = self.line_errors.saturating_add(errors.into());
                Ok(())
            }
            Some(code) => self.confirmed(code, value, now),
            None => Ok(()),
        }
    }

    fn confirmed(&mut self, code: u8, value: &[u8], now: Moment) -> Result<(), Refusal> {
        // The answers to SET-CONTROL are not looked at: there are servers that answer them wrongly.
        let Phase::Setting { setting, .. } = self.phase else { return Ok(()) };
        if code != setting.code() {
            return Ok(());
        }
        let wanted = setting.wanted(self.wanted.line);
        match setting.in_use(value, wanted) {
            Some(in_use) if in_use == wanted => {}
            Some(in_use) => {
                return Err(Refusal::Other { asked: setting.words(wanted), in_use: setting.words(in_use) });
            }
            // An answer without a value says nothing: it is waited for.
            None => return Ok(()),
        }
        let next = ORDER.iter().skip_while(|one| **one != setting).nth(1);
        match next {
            Some(&next) => self.set(next, now),
            None => self.ready(),
        }
        Ok(())
    }

    /// Hand-shake lines, and what the server is to tell: errors of the line, and nothing of the modem's.
    fn ready(&mut self) {
        let Wanted { flow, dtr, rts, .. } = self.wanted;
        let control = |value| vec![COM_PORT, SET_CONTROL, value];
        let flow_value = match flow {
            Flow::None => 1,
            Flow::XonXoff => 2,
            Flow::RtsCts => 3,
        };
        let mut commands = vec![control(flow_value), control(if dtr { 8 } else { 9 })];
        // With RTS/CTS the port itself moves RTS.
        commands.extend((flow != Flow::RtsCts).then(|| control(if rts { 11 } else { 12 })));
        commands.push(vec![COM_PORT, SET_LINE_STATE_MASK, LINE_ERRORS]);
        commands.push(vec![COM_PORT, SET_MODEM_STATE_MASK, 0]);
        for command in commands {
            telnet::sub(&command, &mut self.out);
        }
        self.phase = Phase::Ready;
    }
}

#[cfg(test)]
mod tests;
