//! A page's server, started for a test, and the least of a client to ask it.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// `brinecast explore`, running until it is dropped.
pub(crate) struct Server {
    pub(crate) port: u16,
    /// The empty folder that it runs in.
    pub(crate) folder: tempfile::TempDir,
    running: Running,
}

/// A program that ends when it is dropped, whatever ends the test.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Server {
    /// Starts it on a free port.
    pub(crate) fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (running, port) = explore(folder.path(), &["explore"]);
        Self { port, folder, running }
    }

    /// The number by which the system knows it.
    pub(crate) fn process(&self) -> u32 {
        self.running.0.id()
    }

    /// Ends it as the machine would, without a word.
    pub(crate) fn kill(&mut self) {
        self.running.0.kill().unwrap();
        self.running.0.wait().unwrap();
    }
}

/// Starts the page's command on a free port, without a browser; gives the line that tells where the page is.
fn start(folder: &Path, args: &[&str]) -> (Running, String) {
    let child = Command::new(env!("CARGO_BIN_EXE_brinecast"))
        .args(args)
        .args(["--no-browser", "--port", "0"])
        .current_dir(folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut running = Running(child);
    let lines = BufReader::new(running.0.stdout.as_mut().unwrap()).lines();
    let told = lines.map_while(Result::ok).find(|line| line.starts_with("The page is at"));
    let line = told.unwrap_or_else(|| {
        let mut why = String::new();
        running.0.stderr.take().unwrap().read_to_string(&mut why).unwrap();
        why
    });
    (running, line)
}

/// The same with its port.
fn explore(folder: &Path, args: &[&str]) -> (Running, u16) {
    let (running, line) = start(folder, args);
    let port = line.split("://").nth(1).and_then(|l| l.split([':', '/']).nth(1)).and_then(|p| p.parse().ok());
    (running, port.unwrap_or_else(|| panic!("{args:?}: no port in `{line}`")))
}

/// `brinecast explore --phone`: the running program, its port, its host and its secret.
pub(crate) struct Shared {
    _running: Running,
    pub(crate) port: u16,
    pub(crate) host: String,
    pub(crate) secret: String,
}

/// Starts a page for a phone; nothing where this machine is on no network, which it must say.
pub(crate) fn share(folder: &Path) -> Option<Shared> {
    let (running, line) = start(folder, &["explore", "--phone"]);
    if line.contains("is on no network") {
        return None;
    }
    let parts = || {
        let (host, rest) = line.split("://").nth(1)?.split_once(':')?;
        let (port, secret) = rest.split_once("/?key=")?;
        Some((host.to_owned(), port.parse().ok()?, secret.trim().to_owned()))
    };
    let (host, port, secret) = parts().unwrap_or_else(|| panic!("no address in `{line}`"));
    Some(Shared { _running: running, port, host, secret })
}

/// Runs an example of the page's command: it says where the page is, and the page answers.
pub(crate) fn opens(folder: &Path, args: &[&str]) {
    let (_running, port) = explore(folder, args);
    // A page for a phone opens to its secret alone.
    let expected = if args.contains(&"--phone") { 403 } else { 200 };
    assert_eq!(fetch(port, "GET", "/", &[], "").status, expected, "{args:?}");
}

/// A server's answer.
pub(crate) struct Answer {
    pub(crate) status: u16,
    headers: Vec<(String, String)>,
    body: Vec<u8>,
}

impl Answer {
    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(n, _)| n == name).map(|(_, v)| v.as_str())
    }

    pub(crate) fn text(&self) -> String {
        String::from_utf8(self.body.clone()).unwrap()
    }

    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.text()))
    }
}

/// Sends one request; `host` is the server's own unless `headers` name another.
pub(crate) fn fetch(port: u16, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
    let mut head = format!("{method} {path} HTTP/1.1\r\ncontent-length: {}\r\nconnection: close\r\n", body.len());
    if headers.iter().all(|(n, _)| *n != "host") {
        head += &format!("host: 127.0.0.1:{port}\r\n");
    }
    for (name, value) in headers {
        head += &format!("{name}: {value}\r\n");
    }
    // A server that refuses a long body answers before it has taken all of it.
    let _ = stream.write_all((head + "\r\n" + body).as_bytes());
    read_answer(&mut stream).expect("an answer")
}

/// Reads one answer; nothing where the server says nothing.
pub(crate) fn read_answer(stream: &mut TcpStream) -> Option<Answer> {
    let mut reader = BufReader::new(stream);
    let mut line = String::new();
    reader.read_line(&mut line).ok()?;
    let status = line.split(' ').nth(1)?.parse().ok()?;
    let mut headers = Vec::new();
    loop {
        let mut line = String::new();
        reader.read_line(&mut line).ok()?;
        match line.trim_end().split_once(':') {
            Some((name, value)) => headers.push((name.to_ascii_lowercase(), value.trim().to_owned())),
            None => break,
        }
    }
    let length = headers.iter().find(|(n, _)| n == "content-length").and_then(|(_, v)| v.parse().ok()).unwrap_or(0);
    let mut body = vec![0; length];
    reader.read_exact(&mut body).ok()?;
    Some(Answer { status, headers, body })
}
