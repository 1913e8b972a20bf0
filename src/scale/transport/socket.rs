//! A connection to a serial server. Looking up its name and connecting wait for the network, so a thread of their own
//! does them, and whoever waits can be stopped meanwhile.

use super::{OpenError, Pause, READ_WAIT_MS};
use socket2::{SockRef, TcpKeepalive};
use std::io;
use std::net::{TcpStream, ToSocketAddrs};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread::Builder;
use std::time::Duration;

/// How long a connection to one address may take to come about.
const CONNECT: Duration = Duration::from_secs(5);
/// How long a write may wait for the other side to make room.
const WRITE: Duration = Duration::from_secs(1);
/// How often the connection is looked for meanwhile, in milliseconds.
const STEP_MS: u64 = 20;

/// A scale that says nothing looks like a server that is gone: after so long the system asks, and so often again.
const KEEP_ALIVE: Duration = Duration::from_secs(10);
const KEEP_ALIVE_AGAIN: Duration = Duration::from_secs(5);
const KEEP_ALIVE_TRIES: u32 = 3;

/// Connects to a host and port. `pause` is called again and again meanwhile; if it says so, it is given up.
pub(super) fn connect(host: &str, pause: Pause<'_>) -> Result<TcpStream, OpenError> {
    let unreachable = |why: String| OpenError::Unreachable { host: host.to_owned(), why };
    let (answer, inbox) = channel();
    let wanted = host.to_owned();
    // Whoever does not wait any more drops its end, and the connection is closed as it comes about.
    Builder::new()
        .name("connect".to_owned())
        .spawn(move || drop(answer.send(try_each(&wanted))))
        .map_err(|error| unreachable(error.to_string()))?;
    loop {
        match inbox.recv_timeout(Duration::from_millis(STEP_MS)) {
            Ok(stream) => {
                let stream = stream.map_err(|error| unreachable(error.to_string()))?;
                set_up(&stream).map_err(|error| unreachable(error.to_string()))?;
                return Ok(stream);
            }
            Err(RecvTimeoutError::Timeout) if pause(0) => return Err(OpenError::Stopped),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return Err(unreachable("connecting failed".to_owned())),
        }
    }
}

fn try_each(host: &str) -> io::Result<TcpStream> {
    let mut last = io::Error::new(io::ErrorKind::NotFound, "the name has no address");
    for address in host.to_socket_addrs()? {
        match TcpStream::connect_timeout(&address, CONNECT) {
            Ok(stream) => return Ok(stream),
            Err(error) => last = error,
        }
    }
    Err(last)
}

fn set_up(stream: &TcpStream) -> io::Result<()> {
    stream.set_nodelay(true)?;
    stream.set_read_timeout(Some(Duration::from_millis(READ_WAIT_MS)))?;
    stream.set_write_timeout(Some(WRITE))?;
    let keep_alive = TcpKeepalive::new()
        .with_time(KEEP_ALIVE)
        .with_interval(KEEP_ALIVE_AGAIN)
        .with_retries(KEEP_ALIVE_TRIES);
    SockRef::from(stream).set_tcp_keepalive(&keep_alive)?;
    // While something that was sent is not confirmed there is no keep-alive: a question to a server that is gone.
    #[cfg(target_os = "linux")]
    SockRef::from(stream).set_tcp_user_timeout(Some(KEEP_ALIVE.saturating_add(KEEP_ALIVE)))?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use socket2::{Domain, Socket, Type};
    use std::net::{Ipv4Addr, SocketAddr, TcpListener};

    #[test]
    fn small_packets_go_at_once_and_a_dead_server_is_noticed() {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let stream = connect(&listener.local_addr().unwrap().to_string(), &mut |_| false).unwrap();
        let socket = SockRef::from(&stream);
        assert!(stream.nodelay().unwrap() && socket.keepalive().unwrap());
        assert_eq!(socket.tcp_keepalive_time().unwrap(), KEEP_ALIVE);
        assert_eq!(socket.tcp_keepalive_interval().unwrap(), KEEP_ALIVE_AGAIN);
        assert_eq!(socket.tcp_keepalive_retries().unwrap(), KEEP_ALIVE_TRIES);
    }

    /// A listener whose queue is full does not answer at all, as a host that is off.
    #[test]
    fn whoever_waits_for_a_host_that_does_not_answer_can_be_stopped() {
        let socket = Socket::new(Domain::IPV4, Type::STREAM, None).unwrap();
        socket.bind(&SocketAddr::from((Ipv4Addr::LOCALHOST, 0)).into()).unwrap();
        socket.listen(0).unwrap();
        let place = socket.local_addr().unwrap().as_socket().unwrap();
        let short = Duration::from_millis(100);
        let queue: Vec<_> =
            std::iter::from_fn(|| TcpStream::connect_timeout(&place, short).ok()).take(64).collect();
        assert!(queue.len() < 64, "the queue has no end");
        let mut asked = 0;
        let result = connect(&place.to_string(), &mut |_| {
            asked += 1;
            asked == 3
        });
        assert!(matches!(result, Err(OpenError::Stopped)), "{result:?}");
    }

    #[test]
    fn nobody_there_is_told_with_the_place() {
        let place = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
        let why = connect(&place.to_string(), &mut |_| false).unwrap_err().to_string();
        assert!(why.contains("does not answer") && why.contains(&place.to_string()), "{why}");
    }
}
