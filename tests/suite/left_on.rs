//! The page left on for hours: asked without end, it must not grow.
//!
//! `BRINECAST_SOAK=120 cargo test --test suite -- --ignored left_on --nocapture` for as many minutes.

use std::collections::VecDeque;
use std::fs;
use std::io::Write;
use std::net::TcpStream;
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

use rand::prelude::*;
use rand::rngs::ChaCha8Rng;
use serde_json::Value;

use super::http::{Server, fetch};

/// Between two requests: what is held is that it does not grow, and others want the machine too.
const PAUSE: Duration = Duration::from_millis(150);
/// Connections left half open at one time.
const HALF_OPEN: usize = 8;
/// Memory \[MB\] that the page may take.
const MOST_MB: f64 = 96.0;
/// By how much the mean of the last third may exceed that of the middle one.
const GROWTH: f64 = 1.1;

const TANKS: [&str; 8] = [
    "mixed-reef",
    "uncertain-reef",
    "nano-by-hand",
    "continuous-exchange",
    "dry-winter",
    "new-tank-cycling",
    "quarantine-tank",
    "heavy-fish-load",
];

/// A tank with some of its knobs put somewhere between their ends, and perhaps a fault.
fn state(rng: &mut ChaCha8Rng, answer: Option<&Value>) -> String {
    let mut state = form_urlencoded::Serializer::new(String::new());
    let Some(answer) = answer.filter(|_| rng.random_bool(0.9)) else {
        return state.append_pair("from", TANKS.choose(rng).unwrap()).finish();
    };
    state.append_pair("from", answer["from"].as_str().unwrap_or("mixed-reef"));
    let controls = answer["controls"].as_array().unwrap();
    for control in controls.sample(rng, 3) {
        let value = match control["range"].as_array() {
            Some(range) => {
                let [low, high] = [&range[0], &range[1]].map(|v| v.as_f64().unwrap());
                format!("{} {}", low + rng.random::<f64>() * (high - low), control["unit"].as_str().unwrap())
            }
            None => control["choices"].as_array().unwrap().choose(rng).unwrap()[0].as_str().unwrap().to_owned(),
        };
        state.append_pair(control["key"].as_str().unwrap(), &value);
    }
    if let Some(fault) = answer["faults"].as_array().and_then(|all| all.choose(rng)).filter(|_| rng.random_bool(0.3)) {
        state.append_pair(&format!("fault.{}", fault["key"].as_str().unwrap()), "30..37");
    }
    state.finish()
}

/// Memory \[MB\] of a process, as the system counts it.
fn memory_mb(process: u32) -> f64 {
    let status = fs::read_to_string(format!("/proc/{process}/status")).unwrap();
    let kilobytes = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap();
    kilobytes.trim().trim_end_matches(" kB").parse::<f64>().unwrap() / 1024.0
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

#[expect(clippy::print_stdout, reason = "figures for whoever runs it")]
#[test]
#[ignore = "takes as many minutes as BRINECAST_SOAK says"]
fn the_page_does_not_grow() {
    let minutes: f64 = std::env::var("BRINECAST_SOAK").map_or(1.0, |text| text.parse().unwrap());
    let server = Server::start();
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus/page");
    let senseless: Vec<String> = fs::read_dir(corpus)
        .unwrap()
        .map(|entry| String::from_utf8_lossy(&fs::read(entry.unwrap().path()).unwrap()).into_owned())
        .collect();
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    let (mut last, mut half_open) = (None, VecDeque::new());
    let (mut memory, mut asked, mut good) = (Vec::new(), 0, 0);
    let begin = Instant::now();
    while begin.elapsed().as_secs_f64() < 60.0 * minutes {
        let body = match rng.random_range(0..10) {
            0 => senseless.choose(&mut rng).unwrap().clone(),
            _ => format!("width={}\n{}", rng.random_range(0..2000), state(&mut rng, last.as_ref())),
        };
        let path = if rng.random_bool(0.02) { "/take/report.html" } else { "/answer" };
        let head = format!(
            "POST {path} HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncontent-length: {}\r\n\r\n",
            server.port,
            body.len()
        );
        asked += 1;
        match rng.random_range(0..20) {
            // Hung up on before it answers.
            0 => drop(TcpStream::connect(("127.0.0.1", server.port)).unwrap().write_all((head + &body).as_bytes())),
            // Left open with half a request.
            1 => {
                let mut stream = TcpStream::connect(("127.0.0.1", server.port)).unwrap();
                stream.write_all(&head.as_bytes()[..head.len() / 2]).unwrap();
                half_open.push_back(stream);
                if half_open.len() > HALF_OPEN {
                    half_open.pop_front();
                }
            }
            _ => {
                let answer = fetch(server.port, "POST", path, &[], &body);
                assert!([200, 400, 403, 408, 413, 422].contains(&answer.status), "{}: {body}", answer.status);
                if answer.status == 200 && path == "/answer" {
                    let json = answer.json();
                    good += 1;
                    last = json["controls"].is_array().then_some(json);
                }
            }
        }
        memory.push(memory_mb(server.process()));
        sleep(PAUSE);
    }
    let third = memory.len() / 3;
    let [early, middle, late] = [&memory[..third], &memory[third..2 * third], &memory[2 * third..]].map(mean);
    let most = memory.iter().copied().fold(0.0, f64::max);
    println!(
        "{minutes} min, {asked} requests, {good} answers: {early:.1}, {middle:.1}, {late:.1} MB in thirds, {most:.1} at most"
    );
    assert!(good > asked / 3, "{good} of {asked} were answered");
    assert!(most <= MOST_MB && late <= GROWTH * middle, "{early}, {middle}, {late}, {most} MB");
}
