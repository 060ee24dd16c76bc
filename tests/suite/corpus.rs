//! The cases in `tests/corpus`, found by the coverage-guided search (`tests/fuzz`) and kept where they reach what others
//! do not: none panics, none takes longer than its budget of time or of memory. All cases are invented by the search.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use crate::http::{Server, fetch};
use crate::readers::{READERS, corpus};

/// Time that a case may take.
const TIME: Duration = Duration::from_secs(2);
/// Memory that all of this may take at its peak \[kB\].
const MEMORY_KB: u64 = 512 * 1024;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Run by the test below in a process of its own, so that the memory is that of the cases.
#[test]
#[expect(clippy::print_stdout, reason = "told to the test that started it")]
#[ignore = "run by no_case_takes_more_than_its_budget"]
fn every_case_here() {
    let mut count = 0;
    for (name, reader) in READERS {
        for path in corpus(root(), name) {
            let bytes = std::fs::read(&path).unwrap();
            let begin = Instant::now();
            reader(&bytes);
            let took = begin.elapsed();
            assert!(took < TIME, "{} took {took:?}", path.display());
            count += 1;
        }
    }
    println!("cases {count}");
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    if let Some(peak) = status.lines().find_map(|l| l.strip_prefix("VmHWM:")) {
        println!("peak {}", peak.trim().trim_end_matches(" kB"));
    }
}

#[test]
fn no_case_takes_more_than_its_budget() {
    let child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "corpus::every_case_here", "--ignored", "--nocapture"])
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&child.stdout).into_owned();
    assert!(child.status.success(), "{told}{}", String::from_utf8_lossy(&child.stderr));
    let number = |word: &str| told.lines().find_map(|l| l.strip_prefix(word)?.trim().parse::<u64>().ok());
    assert!(number("cases ").unwrap() > 100, "{told}");
    if let Some(peak) = number("peak ") {
        assert!(peak < MEMORY_KB, "{peak} kB");
    }
}

/// The bytes of connections, sent to a page that listens; whatever they are, it goes on answering.
#[test]
fn no_connection_ends_the_page() {
    let server = Server::start();
    for path in corpus(root(), "http") {
        let bytes = std::fs::read(&path).unwrap();
        // The cases were found on port 8000.
        let text =
            String::from_utf8(bytes.clone()).map(|t| t.replace(":8000", &format!(":{}", server.port)).into_bytes());
        let mut stream = TcpStream::connect(("127.0.0.1", server.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        // The server may end the connection before it has taken everything.
        let _ = stream.write_all(&text.unwrap_or(bytes));
        let _ = stream.shutdown(std::net::Shutdown::Write);
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        assert!(answer.is_empty() || answer.starts_with(b"HTTP/1."), "{}", path.display());
    }
    assert_eq!(fetch(server.port, "GET", "/", &[], "").status, 200);
}
