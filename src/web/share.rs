//! The page for a phone on the same network: only where it is asked for, and only with the secret in the address.

use std::net::{IpAddr, Ipv4Addr, UdpSocket};

use brinecast::app::AppError;
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use rand::TryRng;

/// Letters and digits that are not taken for one another.
const LETTERS: &[u8; 32] = b"abcdefghijkmnpqrstuvwxyz23456789";
/// Signs of a secret: 5 bits each, 130 in all.
const SIGNS: usize = 26;
/// Name of the cookie that carries the secret after the first request.
const COOKIE: &str = "brinecast";

/// A page that is shared: its secret, and the address of this machine on the network.
pub(crate) struct Share {
    secret: String,
    host: Ipv4Addr,
}

impl Share {
    /// A new secret, and where this machine is found.
    pub(crate) fn new() -> Result<Self, AppError> {
        Ok(Self { secret: secret()?, host: own_address()? })
    }

    /// What the address carries.
    pub(crate) fn query(&self) -> String {
        format!("?key={}", self.secret)
    }

    /// This machine's address on the network.
    pub(super) fn host(&self) -> String {
        self.host.to_string()
    }

    /// Whether a request knows the secret, by its address or by its cookie.
    pub(super) fn knows(&self, query: Option<&str>, cookies: &str) -> Known {
        let same = |text: &str| {
            // As long for a wrong secret as for a right one.
            text.len() == self.secret.len()
                && text.bytes().zip(self.secret.bytes()).fold(0, |off, (a, b)| off | (a ^ b)) == 0
        };
        let given = query.into_iter().flat_map(|q| q.split('&')).filter_map(|pair| pair.strip_prefix("key="));
        let kept = cookies.split(';').filter_map(|c| c.trim().strip_prefix(COOKIE)?.strip_prefix('='));
        match (given.into_iter().any(same), kept.into_iter().any(same)) {
            (true, _) => Known::ByAddress,
            (false, true) => Known::ByCookie,
            (false, false) => Known::Not,
        }
    }

    /// The cookie that a browser is given.
    pub(super) fn cookie(&self) -> String {
        format!("{COOKIE}={}; HttpOnly; SameSite=Strict; Path=/", self.secret)
    }

    /// What is told where the page is opened: the address, the same to be read by a phone, and the risk.
    pub(crate) fn told(&self, port: u16, state: &str) -> String {
        let url = format!("http://{}:{port}/{}", self.host, self.query());
        // A file of one's own makes the address too long to be read by a phone.
        let whole = format!("{url}{state}");
        let coded = QrCode::new(whole.as_bytes()).ok().filter(|code| code.width() <= MOST_WIDE);
        let coded = coded.or_else(|| QrCode::new(url.as_bytes()).ok());
        // Dark on light, whatever the terminal's own colours are.
        let line = |line: &str| format!("\u{1b}[30;107m{line}\u{1b}[0m\n");
        let picture = coded.map_or(String::new(), |code| code.render::<Dense1x2>().build().lines().map(line).collect());
        format!(
            "{picture}The page is at {whole}\nOpen it on a phone in the same network, or let its camera read the square.\nWho has this address can turn the knobs of this page, and nothing else: no file of this machine is written.\nWhat is sent is not encrypted: use a network that you trust. Press Ctrl-C to end it.\n"
        )
    }
}

/// Modules across the widest square that fits a terminal of 80 columns.
const MOST_WIDE: usize = 69;

/// How a request knows the secret.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Known {
    ByAddress,
    ByCookie,
    Not,
}

/// Signs that nobody can guess: 5 bits each, from the system's own source.
fn secret() -> Result<String, AppError> {
    let mut bytes = [0; SIGNS];
    rand::rngs::SysRng
        .try_fill_bytes(&mut bytes)
        .map_err(|e| AppError::Usage(format!("--phone: this machine gives no chance for a secret: {e}")))?;
    Ok(bytes.iter().map(|b| char::from(LETTERS[usize::from(b % 32)])).collect())
}

/// The address that this machine would be reached at; nothing is sent to find it.
fn own_address() -> Result<Ipv4Addr, AppError> {
    let found = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).and_then(|socket| {
        // An address that documents use (RFC 5737): the system only picks the way to it.
        socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9))?;
        socket.local_addr()
    });
    match found.map(|address| address.ip()) {
        Ok(IpAddr::V4(address)) if !address.is_unspecified() => Ok(address),
        _ => Err(AppError::Usage(
            "--phone: this machine is on no network that a phone could reach it by\n  = help: join one, or leave --phone out".into(),
        )),
    }
}

#[cfg(test)]
mod tests {
    use std::net::Ipv4Addr;

    use super::{Known, Share, secret};

    #[test]
    fn the_secret_alone_opens() {
        let share = Share { secret: "abc234".into(), host: Ipv4Addr::LOCALHOST };
        assert_eq!(share.knows(Some("key=abc234"), ""), Known::ByAddress);
        assert_eq!(share.knows(Some("a=b&key=abc234"), ""), Known::ByAddress);
        assert_eq!(share.knows(None, "x=y; brinecast=abc234"), Known::ByCookie);
        for (query, cookies) in
            [(None, ""), (Some("key=abc23"), ""), (Some("key=abc2345"), ""), (Some("key="), "brinecast=")]
        {
            assert_eq!(share.knows(query, cookies), Known::Not, "{query:?} {cookies}");
        }
    }

    #[test]
    fn secrets_differ_and_are_long() {
        let (one, other) = (secret().unwrap(), secret().unwrap());
        assert!(one != other && one.len() == 26 && one.bytes().all(|b| super::LETTERS.contains(&b)));
    }
}
