//! The page's server, asked as a browser asks it: its answers against the library's, and what it refuses.

use std::io::Write;
use std::net::TcpStream;
use std::thread;

use brinecast::app::{load, run};

use super::http::{Answer, Server, fetch, read_answer};

/// Asks with the width of a picture and the state.
fn ask(server: &Server, state: &str) -> Answer {
    fetch(server.port, "POST", "/answer", &[], &format!("width=600\n{state}"))
}

fn number_of(answer: &serde_json::Value, what: &str) -> f64 {
    let rows = answer["numbers"].as_array().unwrap();
    rows.iter().find(|r| r[0] == what).unwrap()[2].as_f64().unwrap()
}

#[test]
fn the_answer_is_that_of_the_library() {
    let server = Server::start();
    for (state, scenario, sets) in [
        ("from=mixed-reef", "mixed-reef", &[][..]),
        (
            "from=mixed-reef&change.amount=20+%25&change.every=14+d&waters.salt_water.salinity=36+psu",
            "mixed-reef",
            &["change.amount=20 %", "change.every=14 d", "waters.salt_water.salinity=36 psu"],
        ),
        ("from=nano-by-hand&top_off.by=none&kind=none", "nano-by-hand", &["top_off.by=none", "change=none"]),
        ("from=continuous-exchange&exchange.out=6+L%2Fd", "continuous-exchange", &["exchange.out=6 L/d"]),
    ] {
        let answer = ask(&server, state);
        assert_eq!(answer.status, 200, "{state}: {}", answer.text());
        let json = answer.json();
        let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).collect();
        let loaded = load(scenario, &sets).unwrap();
        let (library, view) = (run(&loaded).unwrap().summary, loaded.scenario.view());
        assert_eq!(json["answer"], library.answer, "{state}");
        assert_eq!(json["bands_kept"], library.bands_kept);
        for span in library.spans.iter().filter(|s| s.key != "volume") {
            for (name, value) in [("lowest", span.lowest), ("mean", span.mean), ("highest", span.highest)] {
                let shown = number_of(&json, &format!("{} {name}", span.key));
                let value = view.of(&span.key, &span.unit).value(value);
                assert!((shown - value).abs() <= 1e-12 * value.abs(), "{state}: {} {name}", span.key);
            }
        }
        for key in ["brinecast", "scenario", "basis", "warnings"] {
            assert!(!json[key].is_null(), "{key}");
        }
        for figure in json["figures"].as_array().unwrap() {
            let svg = figure["svg"].as_str().unwrap();
            roxmltree::Document::parse(svg).unwrap_or_else(|e| panic!("{}: {e}", figure["key"]));
        }
    }
}

/// Every knob is turned to both ends of its slider, and every choice chosen: all are answered.
#[test]
fn every_knob_can_be_turned_to_its_ends() {
    let server = Server::start();
    for base in [
        "from=uncertain-reef&uncertain=yes",
        "from=nano-by-hand",
        "from=continuous-exchange&units=us",
        "from=mixed-reef&evaporation_by=room",
        "from=questions",
    ] {
        let controls = ask(&server, base).json()["controls"].as_array().unwrap().clone();
        assert!(controls.len() > 12);
        for control in controls {
            let key = control["key"].as_str().unwrap();
            let values: Vec<String> = match control["range"].as_array() {
                Some(range) => {
                    range[..2].iter().map(|v| format!("{v} {}", control["unit"].as_str().unwrap())).collect()
                }
                None => {
                    control["choices"].as_array().unwrap().iter().map(|c| c[0].as_str().unwrap().to_owned()).collect()
                }
            };
            for value in values {
                let state = format!(
                    "{base}&{}",
                    form_urlencoded::Serializer::new(String::new()).append_pair(key, &value).finish()
                );
                let answer = ask(&server, &state);
                assert_eq!(answer.status, 200, "{state}: {}", answer.text());
                let json = answer.json();
                let now = json["controls"].as_array().unwrap().iter().find(|c| c["key"] == key).cloned();
                // A knob stands where it was put, unless the choice takes it away.
                if let Some(now) = now.filter(|c| !c["value"].is_null()) {
                    let stands = now["value"].as_str().unwrap();
                    let put = value.split(' ').next().unwrap();
                    match (stands.parse::<f64>(), put.parse::<f64>()) {
                        (Ok(a), Ok(b)) => assert!((a - b).abs() <= 1e-3 * b.abs(), "{key}: {stands}, not {put}"),
                        _ => assert_eq!(stands, put, "{key}"),
                    }
                }
            }
        }
    }
}

#[test]
fn every_fault_can_be_switched_on() {
    let server = Server::start();
    let faults = ask(&server, "from=mixed-reef").json()["faults"].as_array().unwrap().clone();
    assert!(faults.len() > 30);
    let clean = number_of(&ask(&server, "from=mixed-reef").json(), "salinity lowest");
    for fault in faults.iter().filter(|f| f["cannot"].is_null()) {
        let key = fault["key"].as_str().unwrap();
        let answer = ask(&server, &format!("from=mixed-reef&fault.{key}=30..37"));
        assert_eq!(answer.status, 200, "{key}: {}", answer.text());
        let json = answer.json();
        let now = json["faults"].as_array().unwrap().iter().find(|f| f["key"] == key).unwrap();
        assert_eq!(now["on"], serde_json::json!([30.0, 37.0]));
        if key == "top-off-stuck-open" {
            // 25 L of fresh water in 400 L of 35 psu: about 35·25/425 psu less, by the closed form of DESIGN section 5.
            assert!(number_of(&json, "salinity lowest") < clean - 0.4, "{key}");
        }
    }
}

#[test]
fn the_pinned_state_stands_beside_the_other() {
    let server = Server::start();
    let json = ask(&server, "from=mixed-reef&change.amount=30+%25\nfrom=mixed-reef").json();
    let alone = ask(&server, "from=mixed-reef").json();
    let row = |json: &serde_json::Value, k: usize| {
        let rows = json["numbers"].as_array().unwrap();
        rows.iter().find(|r| r[0] == "nitrate highest").unwrap()[k].as_f64()
    };
    assert_eq!(row(&json, 3), row(&alone, 2), "pinned");
    assert!(row(&json, 2) < row(&json, 3), "a larger change lowers the nitrate");
    let lines = json["figures"][0]["lines"].as_array().unwrap();
    assert_eq!([&lines[0][0], &lines[1][0]], ["now", "pinned"]);
    // In gallons both are, also what was pinned in litres.
    let gallons = ask(&server, "from=mixed-reef&units=us\nfrom=mixed-reef&units=metric").json();
    let level = gallons["figures"].as_array().unwrap().iter().find(|f| f["key"] == "level").unwrap();
    assert_eq!(level["lines"][0][1][0], level["lines"][1][1][0]);
}

#[test]
fn files_taken_are_those_that_the_command_writes() {
    let server = Server::start();
    let take = |name: &str, state: &str| {
        fetch(server.port, "POST", &format!("/take/{name}"), &[], &format!("width=0\n{state}"))
    };
    let state = "from=mixed-reef&change.amount=20+%25&run=90+d";
    let text = take("scenario.toml", state).text();
    let loaded = brinecast::app::load_text("taken.toml", &text, &[]).unwrap();
    let direct = load("mixed-reef", &["change.amount=20 %".into(), "run=90 d".into()]).unwrap();
    assert_eq!(run(&loaded).unwrap().summary.answer, run(&direct).unwrap().summary.answer);
    let summary: serde_json::Value = serde_json::from_str(&take("summary.json", state).text()).unwrap();
    assert_eq!(summary["answer"], run(&direct).unwrap().summary.answer);
    assert!(take("trace.csv", state).text().starts_with("time_d,event,volume_L,salinity_psu,"));
    assert!(take("plan.ics", state).text().starts_with("BEGIN:VCALENDAR\r\n"));
    assert!(take("report.html", state).text().starts_with("<!DOCTYPE html>"));
    assert_eq!(take("passwd", state).status, 422);
    assert_eq!(take("..%2FCargo.toml", state).status, 422);
}

#[test]
fn mistakes_are_told_with_their_place() {
    let server = Server::start();
    for (state, piece) in [
        ("from=mixed-ref", "there is no built-in scenario `mixed-ref`"),
        ("from=mixed-reef&change.amount=400+%25", "more than 0 and at most 95 %"),
        ("from=mixed-reef&chnge.amount=10+%25", "this page's knob:1:1"),
        ("from=mixed-reef&fault.stuck=1..2", "there is no fault `stuck`"),
        ("from=mixed-reef&fault.power-cut=9..2", "example: fault.power-cut=30..37"),
        ("from=mixed-reef&run=100+year", "at most 1100 d"),
        ("from=mixed-reef&change.every=1+min", "10 min or more"),
        ("from=mixed-reef&change.every=20+min&run=1000+d", "`brinecast run` takes more"),
        ("from=file", "open the file again"),
        ("from=file&text=format+%3D+1%0A%5Btank%5D%0Avolume+%3D+%22400+kg%22", "your-file.toml:3:10"),
        ("from=questions&ask.volume=lots", "ask.volume"),
        ("from=questions&ask.volume=-5+L", "is no tank"),
        ("from=questions&ask.shoe=4", "is no question"),
        ("from=mixed-reef&kind=sideways", "swap, continuous, none"),
        ("from=mixed-reef&batch.vessel=0+L", "not more than nothing"),
    ] {
        let answer = ask(&server, state);
        assert_eq!(answer.status, 422, "{state}: {}", answer.text());
        let text = answer.text();
        assert!(text.starts_with("error: ") && text.contains(piece), "{state}: {text}");
    }
    let answer = fetch(server.port, "POST", "/answer", &[], "from=mixed-reef");
    assert_eq!(answer.status, 400, "{}", answer.text());
}

#[test]
fn only_its_own_page_may_ask() {
    let server = Server::start();
    let port = server.port;
    let own = format!("localhost:{port}");
    assert_eq!(fetch(port, "GET", "/", &[("host", &own)], "").status, 200);
    for (name, value) in [
        ("host", "example.org"),
        ("host", "127.0.0.1:1"),
        ("origin", "http://example.org"),
        ("origin", "null"),
        ("origin", "https://127.0.0.1"),
    ] {
        for (method, path) in [("GET", "/"), ("GET", "/start"), ("POST", "/answer"), ("POST", "/take/trace.csv")] {
            let answer = fetch(port, method, path, &[(name, value)], "width=600\nfrom=mixed-reef");
            assert_eq!(answer.status, 403, "{name}: {value} {path}");
        }
    }
    let page = fetch(port, "GET", "/", &[], "");
    let policy = page.header("content-security-policy").unwrap();
    assert!(policy.contains("default-src 'self'") && policy.contains("frame-ancestors 'none'"));
    assert!(!page.text().contains("http://") && !page.text().contains("https://"), "the page asks nobody else");
}

/// A shared page opens to its secret alone, by its own names alone, and writes nothing.
#[test]
fn a_shared_page_opens_to_its_secret_alone() {
    let folder = tempfile::tempdir().unwrap();
    let Some(shared) = super::http::share(folder.path()) else { return };
    let (port, key) = (shared.port, format!("/?key={}", shared.secret));
    let named = format!("{}:{port}", shared.host);
    let ask = |path: &str, headers: &[(&str, &str)]| {
        let method = if path.starts_with("/answer") || path.starts_with("/take") { "POST" } else { "GET" };
        fetch(port, method, path, headers, "width=600\nfrom=mixed-reef")
    };
    let first = ask(&key, &[("host", &named)]);
    assert_eq!(first.status, 200);
    let cookie = first.header("set-cookie").unwrap().to_owned();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    let cookie = cookie.split(';').next().unwrap();
    assert_eq!(ask("/page.js", &[("host", &named), ("cookie", cookie)]).status, 200);
    assert_eq!(ask("/answer", &[("host", &named), ("cookie", cookie)]).status, 200);
    // Without the secret, with a wrong one, by another name, from another page: nothing.
    let wrong = format!("brinecast={}", "a".repeat(shared.secret.len()));
    let short = format!("/?key={}", &shared.secret[1..]);
    for path in ["/", "/start", "/page.js", "/answer", "/take/trace.csv", &short] {
        assert_eq!(ask(path, &[("host", &named)]).status, 403, "{path}");
        assert_eq!(ask(path, &[("host", &named), ("cookie", &wrong)]).status, 403, "{path}");
    }
    for foreign in ["example.org", "192.0.2.77:80"] {
        assert_eq!(ask("/answer", &[("host", foreign), ("cookie", cookie)]).status, 403, "{foreign}");
        let origin = format!("http://{foreign}");
        assert_eq!(ask("/answer", &[("host", &named), ("cookie", cookie), ("origin", &origin)]).status, 403);
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "a shared page writes no file");
}

/// What opened one page opens no other: a request that was heard and is sent again is worth nothing once the page has ended, nor at
/// another. At the same page it answers as before and leaves nothing behind. A secret is not found by trying its neighbours.
#[test]
fn a_request_sent_again_opens_no_other_page() {
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let Some(heard) = super::http::share(folders[0].path()) else { return };
    let ask = |shared: &super::http::Shared, path: &str, cookie: &str| {
        let named = format!("{}:{}", shared.host, shared.port);
        let method = if path.starts_with("/answer") { "POST" } else { "GET" };
        fetch(shared.port, method, path, &[("host", &named), ("cookie", cookie)], "width=600\nfrom=mixed-reef").status
    };
    let (cookie, address) = (format!("brinecast={}", heard.secret), format!("/?key={}", heard.secret));
    for _ in 0..3 {
        assert_eq!((ask(&heard, "/answer", &cookie), ask(&heard, &address, "")), (200, 200));
    }
    let letters: Vec<char> = heard.secret.chars().collect();
    for k in 0..letters.len() {
        let mut near = letters.clone();
        near[k] = if near[k] == 'a' { 'b' } else { 'a' };
        let near: String = near.iter().collect();
        assert_eq!(ask(&heard, "/answer", &format!("brinecast={near}")), 403, "{near}");
        assert_eq!(ask(&heard, &format!("/?key={near}"), ""), 403, "{near}");
    }
    let part: String = letters[..letters.len() - 1].iter().collect();
    for cookie in [part.as_str(), "", &heard.secret.to_uppercase(), &format!("{}x", heard.secret)] {
        assert_eq!(ask(&heard, "/answer", &format!("brinecast={cookie}")), 403, "{cookie}");
    }
    drop(heard);
    let other = super::http::share(folders[1].path()).expect("there was a network just now");
    assert_eq!((ask(&other, "/answer", &cookie), ask(&other, &address, "")), (403, 403));
    for folder in folders {
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "a shared page writes no file");
    }
}

#[test]
fn large_and_malformed_requests_are_refused_and_survived() {
    let server = Server::start();
    let large = format!("width=600\nfrom=file&text={}", "a".repeat(1 << 20));
    assert_eq!(fetch(server.port, "POST", "/answer", &[], &large).status, 413);
    assert_eq!(fetch(server.port, "GET", "/nothing", &[], "").status, 404);
    assert_eq!(fetch(server.port, "DELETE", "/answer", &[], "").status, 405);
    let raw: [&[u8]; 8] = [
        b"",
        b"\r\n\r\n",
        b"GET\r\n\r\n",
        b"GET / HTTP/9.9\r\n\r\n",
        b"POST /answer HTTP/1.1\r\nHost: x\r\nContent-Length: 99999999999999999999\r\n\r\n",
        b"POST /answer HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        &[0xff; 4096],
    ];
    for bytes in raw {
        let mut stream = TcpStream::connect(("127.0.0.1", server.port)).unwrap();
        stream.set_read_timeout(Some(std::time::Duration::from_secs(30))).unwrap();
        stream.write_all(bytes).unwrap();
        stream.shutdown(std::net::Shutdown::Write).unwrap();
        let _ = read_answer(&mut stream);
        assert_eq!(ask(&server, "from=mixed-reef").status, 200, "after {bytes:?}");
    }
    // A body of no UTF-8 is refused as such.
    let mut stream = TcpStream::connect(("127.0.0.1", server.port)).unwrap();
    let head = format!("POST /answer HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncontent-length: 4\r\n\r\n", server.port);
    stream.write_all(&[head.as_bytes(), &[0xff, 0xfe, 0xfd, 0xfc]].concat()).unwrap();
    assert_eq!(read_answer(&mut stream).unwrap().status, 400);
}

/// A head that stops, a body that stops and a body that trickles: each is left after ten seconds or so, while others are answered.
#[test]
fn nobody_holds_the_page_by_being_slow() {
    let server = Server::start();
    let begins = |text: String| {
        let mut stream = TcpStream::connect(("127.0.0.1", server.port)).unwrap();
        stream.set_read_timeout(Some(std::time::Duration::from_secs(60))).unwrap();
        stream.write_all(text.as_bytes()).unwrap();
        stream
    };
    let head = format!("POST /answer HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncontent-length: 1000\r\n", server.port);
    let slow = [begins(head.clone()), begins(head.clone() + "\r\nwidth=600\n"), begins(head + "\r\n")];
    let mut trickle = slow[2].try_clone().unwrap();
    let dripping = thread::spawn(move || {
        // A byte now and then does not keep it: ended by the server, or here at last.
        (0..60)
            .take_while(|_| {
                thread::sleep(std::time::Duration::from_millis(500));
                trickle.write_all(b"w").is_ok()
            })
            .count()
    });
    assert_eq!(fetch(server.port, "GET", "/", &[], "").status, 200);
    for mut stream in slow {
        // An answer that says so, or the end of the connection.
        if let Some(answer) = read_answer(&mut stream) {
            assert_eq!(answer.status, 408);
        }
    }
    // Half a minute of bytes would have been sixty.
    assert!(dripping.join().unwrap() < 60, "it was listened to to the end");
    assert_eq!(fetch(server.port, "GET", "/", &[], "").status, 200);
}

/// Who asks and asks and takes no answer is left too: what it sends later is refused by the system.
#[test]
fn nobody_holds_the_page_by_not_listening() {
    let server = Server::start();
    let mut deaf = TcpStream::connect(("127.0.0.1", server.port)).unwrap();
    deaf.set_write_timeout(Some(std::time::Duration::from_millis(500))).unwrap();
    let ask = format!("GET /page.js HTTP/1.1\r\nhost: 127.0.0.1:{}\r\n\r\n", server.port);
    // More answers than the system keeps between the two, so that the server has to wait for it.
    let _ = deaf.write_all(ask.repeat(3000).as_bytes());
    let left = |stream: &mut TcpStream| {
        let kinds = [std::io::ErrorKind::ConnectionReset, std::io::ErrorKind::BrokenPipe];
        stream.write_all(b"G").is_err_and(|e| kinds.contains(&e.kind()))
    };
    let begin = std::time::Instant::now();
    while !left(&mut deaf) {
        assert!(begin.elapsed().as_secs() < 30, "it is still waited for");
        thread::sleep(std::time::Duration::from_millis(200));
    }
    assert!(begin.elapsed().as_secs() >= 5, "it was left before its time");
    assert_eq!(fetch(server.port, "GET", "/", &[], "").status, 200);
}

#[test]
fn two_hundred_at_once_are_all_answered_alike() {
    let server = Server::start();
    let port = server.port;
    let state = "width=420\nfrom=mixed-reef&run=60+d";
    let first = fetch(port, "POST", "/answer", &[], state).text();
    let asked: Vec<_> = (0..200).map(|_| thread::spawn(move || fetch(port, "POST", "/answer", &[], state))).collect();
    for answer in asked {
        let answer = answer.join().unwrap();
        assert_eq!((answer.status, answer.text()), (200, first.clone()));
    }
}

/// The page writes no file, not for what is taken away either, and not when it is killed at work.
#[test]
fn a_kill_leaves_nothing_behind() {
    let mut server = Server::start();
    let body = "width=0\nfrom=uncertain-reef&run=1000+d";
    assert_eq!(fetch(server.port, "POST", "/take/report.html", &[], body).status, 200);
    let mut stream = TcpStream::connect(("127.0.0.1", server.port)).unwrap();
    let head = format!(
        "POST /take/report.html HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncontent-length: {}\r\n\r\n",
        server.port,
        body.len()
    );
    stream.write_all((head + body).as_bytes()).unwrap();
    thread::sleep(std::time::Duration::from_millis(30));
    server.kill();
    assert_eq!(std::fs::read_dir(server.folder.path()).unwrap().count(), 0);
}

/// What the page says to type runs in a shell, and nothing else does, whatever a state from elsewhere holds.
#[test]
#[cfg(unix)]
fn the_command_that_is_shown_can_be_pasted() {
    let server = Server::start();
    let state =
        "from=mixed-reef&run=60+d&title=it%27s+%24%28touch+pwned%29+%60touch+pwned%60+%22+%26+%3B&change.amount=20+%25";
    let json = ask(&server, state).json();
    let folder = tempfile::tempdir().unwrap();
    let program = env!("CARGO_BIN_EXE_brinecast");
    let command = json["command"].as_str().unwrap().replacen("brinecast", program, 1) + " --format json -q";
    let output = std::process::Command::new("sh").arg("-c").arg(command).current_dir(folder.path()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let summary: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(summary["answer"], json["answer"]);
    assert!(!folder.path().join("pwned").exists());
}

/// A file travels beside the state, once for both states, and its lines are counted as they are.
#[test]
fn a_file_travels_beside_the_state() {
    let server = Server::start();
    let text = format!("\n\nformat = 1\n# {}\n[tank]\nvolume = \"90 L\"\n", "ä".repeat(100_000));
    let body = format!("width=420\nfrom=file&change.amount=20+%25\nfrom=file\n{text}");
    let answer = fetch(server.port, "POST", "/answer", &[], &body);
    assert_eq!(answer.status, 200, "{}", answer.text());
    let wrong = "width=420\nfrom=file\n\n\n\nformat = 1\n[tank]\nvolume = \"90 kg\"\n";
    let told = fetch(server.port, "POST", "/answer", &[], wrong).text();
    assert!(told.contains("your-file.toml:5:10"), "{told}");
}

#[test]
fn a_busy_port_is_told() {
    let server = Server::start();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_brinecast"))
        .args(["explore", "--no-browser", "--port", &server.port.to_string()])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let text = String::from_utf8(output.stderr).unwrap();
    assert!(text.starts_with("error: port ") && text.contains("--port 0"), "{text}");
}

/// The address that the command opens leads to the scenario's file, whatever stands in it.
#[test]
fn a_file_of_ones_own_travels_in_the_address() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own & odd.toml");
    let text = "# ä & = % +\nformat = 1\ntitle = \"Own & odd\"\n[tank]\nvolume = \"90 L\"\n";
    std::fs::write(&path, text).unwrap();
    let address = brinecast::app::address_of(path.to_str().unwrap()).unwrap();
    let server = Server::start();
    let answer = ask(&server, address.strip_prefix('#').unwrap());
    assert_eq!(answer.json()["title"], "Own & odd", "{}", answer.text());
}
