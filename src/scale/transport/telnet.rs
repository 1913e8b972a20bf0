//! The telnet layer (RFC 854, RFC 855): data out of bytes, commands out of data, and the other way round. Pure,
//! of bounded memory, and blind to how the bytes are split on their way.

/// Interpret as command. The numbers are those of RFC 854.
pub(in crate::scale) const IAC: u8 = 0xFF;
const DONT: u8 = 0xFE;
const DO: u8 = 0xFD;
const WONT: u8 = 0xFC;
const WILL: u8 = 0xFB;
const SB: u8 = 0xFA;
const SE: u8 = 0xF0;

/// Eight bits both ways (RFC 856).
pub(in crate::scale) const BINARY: u8 = 0;
/// No "go ahead" after each turn (RFC 858).
pub(in crate::scale) const SUPPRESS_GO_AHEAD: u8 = 3;
/// Settings of the port at the far end (RFC 2217).
pub(in crate::scale) const COM_PORT: u8 = 44;

/// The longest subnegotiation that is kept, in bytes: a signature may be a line of text, settings are a few bytes.
/// Of a longer one the rest is let go.
const MOST: usize = 256;

/// What one side says of an option.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::scale) enum Verb {
    /// I will use it.
    Will,
    /// I will not.
    Wont,
    /// Use it.
    Do,
    /// Do not.
    Dont,
}

/// What a byte completes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::scale) enum Item {
    /// A byte of data.
    Data(u8),
    /// A word about an option.
    Option(Verb, u8),
    /// What one side has to say within an option, undoubled: first the option, then the rest.
    Sub(Vec<u8>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    Data,
    Command,
    Option(Verb),
    Sub,
    SubCommand,
}

/// The receiving half.
#[derive(Debug)]
pub(in crate::scale) struct Telnet {
    state: State,
    sub: Vec<u8>,
    /// Whether the other side sends text lines, where a lone CR comes as CR NUL (RFC 854), rather than eight bits.
    text: bool,
    after_cr: bool,
    commands: u64,
}

impl Telnet {
    /// A receiver of eight-bit data.
    pub(in crate::scale) const fn new() -> Self {
        Self { state: State::Data, sub: Vec::new(), text: false, after_cr: false, commands: 0 }
    }

    /// Whether the other side refused to send eight bits, so that CR NUL stands for CR.
    pub(in crate::scale) const fn set_text(&mut self, text: bool) {
        self.text = text;
    }

    /// How many commands came so far: none from a server that knows no telnet.
    pub(in crate::scale) const fn commands(&self) -> u64 {
        self.commands
    }

    /// Takes in a byte.
    pub(in crate::scale) fn take(&mut self, byte: u8) -> Option<Item> {
        match self.state {
            State::Data if byte == IAC => {
                self.state = State::Command;
                None
            }
            State::Data => self.data(byte),
            State::Command => self.command(byte),
            State::Option(verb) => {
                self.state = State::Data;
                self.commands = self.commands.saturating_add(1);
                Some(Item::Option(verb, byte))
            }
            State::Sub if byte == IAC => {
                self.state = State::SubCommand;
                None
            }
            State::Sub => {
                self.keep(byte);
                None
            }
            State::SubCommand if byte == IAC => {
                self.state = State::Sub;
                self.keep(IAC);
                None
            }
            State::SubCommand => {
                // IAC SE ends it. Any other command in its middle does too: its end was lost.
                let sub = std::mem::take(&mut self.sub);
                if byte == SE {
                    self.state = State::Data;
                    self.commands = self.commands.saturating_add(1);
                    (!sub.is_empty()).then_some(Item::Sub(sub))
                } else {
                    self.command(byte)
                }
            }
        }
    }

    fn data(&mut self, byte: u8) -> Option<Item> {
        let padding = self.text && self.after_cr && byte == 0;
        self.after_cr = byte == b'\r';
        (!padding).then_some(Item::Data(byte))
    }

    fn command(&mut self, byte: u8) -> Option<Item> {
        self.state = match byte {
            IAC => {
                self.state = State::Data;
                return self.data(IAC);
            }
            WILL => State::Option(Verb::Will),
            WONT => State::Option(Verb::Wont),
            DO => State::Option(Verb::Do),
            DONT => State::Option(Verb::Dont),
            SB => {
                self.sub.clear();
                State::Sub
            }
            // Go ahead, no operation, data mark and the like mean nothing to a scale.
            _ => {
                self.commands = self.commands.saturating_add(1);
                State::Data
            }
        };
        None
    }

    fn keep(&mut self, byte: u8) {
        if self.sub.len() < MOST {
            self.sub.push(byte);
        }
    }
}

/// Data as it goes over the wire: each FF doubled, and a lone CR followed by NUL where the other side wants text.
pub(in crate::scale) fn escape(data: &[u8], text: bool, out: &mut Vec<u8>) {
    for (place, &byte) in data.iter().enumerate() {
        out.push(byte);
        if byte == IAC {
            out.push(IAC);
        }
        if text && byte == b'\r' && data.get(place.saturating_add(1)) != Some(&b'\n') {
            out.push(0);
        }
    }
}

/// A word about an option.
pub(in crate::scale) const fn option(verb: Verb, option: u8) -> [u8; 3] {
    let verb = match verb {
        Verb::Will => WILL,
        Verb::Wont => WONT,
        Verb::Do => DO,
        Verb::Dont => DONT,
    };
    [IAC, verb, option]
}

/// Something said within an option: IAC SB, the bytes with each FF doubled, IAC SE.
pub(in crate::scale) fn sub(body: &[u8], out: &mut Vec<u8>) {
    out.extend([IAC, SB]);
    escape(body, false, out);
    out.extend([IAC, SE]);
}

/// Whether telnet commands about options stand in the bytes of what should be a raw connection: IAC, a verb, and an
/// option that is in use. A scale never sends such three bytes; on a line with the wrong parity nearly none.
pub(in crate::scale) fn speaks_telnet(head: &[u8]) -> bool {
    head.windows(3).any(|three| matches!(three, [IAC, WILL..=DONT, ..=49]))
        // The first two are enough where they are the first: nobody need wait for the third.
        || matches!(head, [IAC, WILL | DO | SB, ..])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn all(telnet: &mut Telnet, bytes: &[u8]) -> Vec<Item> {
        bytes.iter().filter_map(|&byte| telnet.take(byte)).collect()
    }

    fn data(items: &[Item]) -> Vec<u8> {
        let data = |item: &Item| if let Item::Data(byte) = item { Some(*byte) } else { None };
        items.iter().filter_map(data).collect()
    }

    /// RFC 854: the escape is doubled within data.
    #[test]
    fn ff_is_doubled_and_undoubled() {
        let mut wire = Vec::new();
        escape(&[0x41, 0xFF, 0xFF, 0x0D], false, &mut wire);
        assert_eq!(wire, [0x41, 0xFF, 0xFF, 0xFF, 0xFF, 0x0D]);
        assert_eq!(data(&all(&mut Telnet::new(), &wire)), [0x41, 0xFF, 0xFF, 0x0D]);
    }

    #[test]
    fn commands_are_taken_out_of_the_data() {
        let bytes =
            [b'1', 0xFF, 0xF1, b'2', 0xFF, 0xFB, 0x2C, b'.', 0xFF, 0xFA, 0x2C, 0x6A, 8, 0xFF, 0xF0, b'3'];
        let mut telnet = Telnet::new();
        let items = all(&mut telnet, &bytes);
        assert_eq!(data(&items), b"12.3");
        assert!(items.contains(&Item::Option(Verb::Will, COM_PORT)));
        assert!(items.contains(&Item::Sub(vec![0x2C, 0x6A, 8])));
        assert_eq!(telnet.commands(), 3);
    }

    #[test]
    fn what_was_said_within_an_option_is_undoubled_and_bounded() {
        let mut wire = Vec::new();
        sub(&[0x2C, 1, 0xFF, 0xFF, 0, 0], &mut wire);
        assert_eq!(all(&mut Telnet::new(), &wire), [Item::Sub(vec![0x2C, 1, 0xFF, 0xFF, 0, 0])]);
        let mut telnet = Telnet::new();
        all(&mut telnet, &[IAC, SB]);
        all(&mut telnet, &vec![0x20; 100_000]);
        assert!(telnet.sub.capacity() <= 2 * MOST);
        // Another command in its middle: its end was lost, and what follows is data again.
        assert_eq!(all(&mut telnet, &[IAC, WILL, 1, b'x']), [Item::Option(Verb::Will, 1), Item::Data(b'x')]);
    }

    /// RFC 854: a carriage return alone is sent as CR NUL where text is spoken; never in eight bits (RFC 856).
    #[test]
    fn a_lone_carriage_return_in_text_has_a_nul_behind_it() {
        let mut wire = Vec::new();
        escape(b"W\r\n\r", true, &mut wire);
        assert_eq!(wire, b"W\r\n\r\0");
        let mut telnet = Telnet::new();
        telnet.set_text(true);
        assert_eq!(data(&all(&mut telnet, &wire)), b"W\r\n\r");
        assert_eq!(data(&all(&mut Telnet::new(), b"\r\0")), b"\r\0");
    }

    #[test]
    fn telnet_is_known_in_the_first_bytes_whether_or_not_a_banner_stands_before_it() {
        for head in
            [&[0xFF, 0xFD][..], &[0xFF, 0xFB, 0x01], b"\r\nlogin\r\n\xFF\xFD\x18", &[0xFF, 0xFE, 0x01]]
        {
            assert!(speaks_telnet(head), "{head:?}");
        }
        for head in [&[0xFF][..], b"ST,+00012.3  g\r\n", &[0xFF, 0xFF, 0xFE], &[0xB3, 0xF8, 0xFF, 0xE7]] {
            assert!(!speaks_telnet(head), "{head:?}");
        }
    }

    proptest! {
        /// Any bytes, doubled, with commands strewn in between, in any portions: the bytes come back unchanged.
        #[test]
        fn any_bytes_come_back_unchanged(
            parts in prop::collection::vec((prop::collection::vec(any::<u8>(), 0..40), 0_u8..4), 0..20),
            cuts in prop::collection::vec(1_usize..17, 1..20),
        ) {
            let (mut wire, mut meant) = (Vec::new(), Vec::new());
            for (bytes, command) in &parts {
                escape(bytes, false, &mut wire);
                meant.extend_from_slice(bytes);
                match command {
                    1 => wire.extend(option(Verb::Wont, 0xFF)),
                    2 => sub(bytes, &mut wire),
                    3 => wire.extend([IAC, 0xF1]),
                    _ => {}
                }
            }
            let mut telnet = Telnet::new();
            let (mut rest, mut cuts, mut heard) = (&wire[..], cuts.into_iter().cycle(), Vec::new());
            while !rest.is_empty() {
                let (now, later) = rest.split_at(cuts.next().unwrap().min(rest.len()));
                heard.extend(all(&mut telnet, now));
                rest = later;
            }
            prop_assert_eq!(data(&heard), meant);
        }

        /// Whatever comes, it neither fails nor grows.
        #[test]
        fn noise_does_no_harm(bytes in prop::collection::vec(any::<u8>(), 0..4_000)) {
            let mut telnet = Telnet::new();
            let items = all(&mut telnet, &bytes);
            prop_assert!(items.len() <= bytes.len() && telnet.sub.len() <= MOST);
        }
    }
}
