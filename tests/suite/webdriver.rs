//! A real browser, driven through the `WebDriver` standard (W3C): the few commands that the tests need.

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::http::fetch;

/// The name under which `WebDriver` hands over an element.
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";
/// Keys that have no letter, as `WebDriver` codes them.
pub(crate) const TAB: &str = "\u{e004}";
pub(crate) const ENTER: &str = "\u{e007}";
pub(crate) const LEFT: &str = "\u{e012}";
pub(crate) const RIGHT: &str = "\u{e014}";
pub(crate) const UP: &str = "\u{e013}";

/// A headless browser with an empty profile; it and its driver end when it is dropped.
pub(crate) struct Browser {
    driver: Child,
    port: u16,
    session: String,
    _profile: tempfile::TempDir,
}

fn free_port() -> u16 {
    std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

impl Browser {
    /// Starts `chromedriver` from the path, and a window of this size.
    pub(crate) fn start(width: u32, height: u32, dark: bool) -> Self {
        let port = free_port();
        let driver = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver is on the path: .ci/run installs it");
        let patience = Instant::now() + Duration::from_secs(20);
        while std::net::TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(Instant::now() < patience, "chromedriver does not answer");
            sleep(Duration::from_millis(50));
        }
        let profile = tempfile::tempdir().unwrap();
        let mut args = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ]
        .map(str::to_owned)
        .to_vec();
        args.push(format!("--user-data-dir={}", profile.path().display()));
        args.push(format!("--window-size={width},{height}"));
        if dark {
            args.push("--force-dark-mode".into());
        }
        // A script that looks the whole page over may have to wait for a busy machine.
        let wanted = json!({ "capabilities": { "alwaysMatch": { "timeouts": { "script": 120_000 },
            "goog:chromeOptions": { "args": args }, "goog:loggingPrefs": { "browser": "ALL" }
        } } });
        let mut browser = Self { driver, port, session: String::new(), _profile: profile };
        let made = browser.call("POST", "/session", &wanted);
        made["sessionId"].as_str().unwrap().clone_into(&mut browser.session);
        browser
    }

    fn call(&self, method: &str, path: &str, body: &Value) -> Value {
        let body = if method == "GET" { String::new() } else { body.to_string() };
        let answer = fetch(self.port, method, path, &[("content-type", "application/json")], &body);
        let json = answer.json();
        assert!(answer.status == 200, "{path} {body}: {json}");
        json["value"].clone()
    }

    fn own(&self, method: &str, path: &str, body: &Value) -> Value {
        self.call(method, &format!("/session/{}{path}", self.session), body)
    }

    pub(crate) fn open(&self, url: &str) {
        self.own("POST", "/url", &json!({ "url": url }));
    }

    pub(crate) fn url(&self) -> String {
        self.own("GET", "/url", &Value::Null).as_str().unwrap().to_owned()
    }

    pub(crate) fn back(&self) {
        self.own("POST", "/back", &json!({}));
    }

    pub(crate) fn reload(&self) {
        self.own("POST", "/refresh", &json!({}));
    }

    /// Size of what is seen, set through the device's metrics: a window has a least width of its own.
    pub(crate) fn narrow(&self, width: u32, height: u32) {
        let params = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": true });
        let command = |cmd: &str, params: Value| {
            self.own("POST", "/goog/cdp/execute", &json!({ "cmd": cmd, "params": params }));
        };
        command("Emulation.setDeviceMetricsOverride", params);
        // And a finger instead of a mouse.
        command("Emulation.setTouchEmulationEnabled", json!({ "enabled": true }));
    }

    /// The page on paper so wide and so high \[cm\], as PDF.
    pub(crate) fn print(&self, width: f64, height: f64) -> Vec<u8> {
        use base64::Engine as _;
        // A page that is still being drawn is not printed ("Printing failed").
        self.run_async(
            "document.fonts.ready.then(() => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))",
        );
        let page = json!({ "width": width, "height": height });
        let made = self.own("POST", "/print", &json!({ "page": page, "background": true, "shrinkToFit": false }));
        base64::engine::general_purpose::STANDARD.decode(made.as_str().unwrap()).unwrap()
    }

    /// Drags with the mouse, in pixels from the middle of an element, for so many milliseconds.
    pub(crate) fn drag(&self, selector: &str, from: (i32, i32), to: (i32, i32), milliseconds: i32) {
        let element = self.element(selector);
        let origin = json!({ ELEMENT: element });
        let place = |(x, y): (i32, i32), duration: i32| json!({ "type": "pointerMove", "duration": duration, "x": x, "y": y, "origin": origin });
        let steps = (milliseconds / 8).max(4);
        let mut actions = vec![place(from, 0), json!({ "type": "pointerDown", "button": 0 })];
        // From the middle of the element where it stood when each move is made: the element stays where it is.
        let begin = self.run(&format!(
            "const box = document.querySelector('{selector}').getBoundingClientRect(); return [box.left + box.width / 2, box.top + box.height / 2]"
        ));
        let middle = |k: usize| begin[k].as_f64().unwrap();
        for k in 1..=steps {
            let share = f64::from(k) / f64::from(steps);
            let at = |a: i32, b: i32, k: usize| (middle(k) + f64::from(a) + share * f64::from(b - a)).round();
            let (x, y) = (at(from.0, to.0, 0), at(from.1, to.1, 1));
            actions.push(json!({ "type": "pointerMove", "duration": 8, "x": x, "y": y, "origin": "viewport" }));
        }
        actions.push(json!({ "type": "pointerUp", "button": 0 }));
        self.own(
            "POST",
            "/actions",
            &json!({ "actions": [{ "type": "pointer", "id": "mouse", "parameters": { "pointerType": "mouse" }, "actions": actions }] }),
        );
    }

    /// What a function body returns.
    pub(crate) fn run(&self, script: &str) -> Value {
        self.own("POST", "/execute/sync", &json!({ "script": script, "args": [] }))
    }

    /// What a function body hands to its last argument, called `done`.
    pub(crate) fn run_async(&self, script: &str) -> Value {
        let script = format!("const done = arguments[arguments.length - 1]; {script}");
        self.own("POST", "/execute/async", &json!({ "script": script, "args": [] }))
    }

    fn element(&self, selector: &str) -> String {
        let found = self.own("POST", "/element", &json!({ "using": "css selector", "value": selector }));
        found[ELEMENT].as_str().unwrap().to_owned()
    }

    pub(crate) fn click(&self, selector: &str) {
        let element = self.element(selector);
        self.own("POST", &format!("/element/{element}/click"), &json!({}));
    }

    /// Types into an element, as a hand does.
    pub(crate) fn keys(&self, selector: &str, keys: &str) {
        let element = self.element(selector);
        self.own("POST", &format!("/element/{element}/value"), &json!({ "text": keys }));
    }

    /// Types into whatever has the keyboard.
    pub(crate) fn press(&self, keys: &str) {
        let steps: Vec<Value> = keys
            .chars()
            .flat_map(|c| [json!({ "type": "keyDown", "value": c }), json!({ "type": "keyUp", "value": c })])
            .collect();
        self.own("POST", "/actions", &json!({ "actions": [{ "type": "key", "id": "keys", "actions": steps }] }));
    }

    pub(crate) fn upload(&self, selector: &str, path: &Path) {
        self.keys(selector, path.to_str().unwrap());
    }

    pub(crate) fn text(&self, selector: &str) -> String {
        self.run(&format!("return document.querySelector({}).textContent", json!(selector)))
            .as_str()
            .unwrap()
            .to_owned()
    }

    /// Waits until a script's value is true.
    pub(crate) fn until(&self, what: &str) {
        let patience = Instant::now() + Duration::from_secs(30);
        while self.run(&format!("return Boolean({what})")) != Value::Bool(true) {
            assert!(Instant::now() < patience, "never: {what}; {}", self.text("#problem"));
            sleep(Duration::from_millis(20));
        }
    }

    /// Mistakes that the browser has seen on the page.
    pub(crate) fn mistakes(&self) -> Vec<String> {
        let log = self.own("POST", "/se/log", &json!({ "type": "browser" }));
        let severe = log.as_array().unwrap().iter().filter(|e| e["level"] == "SEVERE");
        severe.map(|e| e["message"].as_str().unwrap_or("").to_owned()).collect()
    }

    /// A picture of the window, where `BRINECAST_SHOTS` names a folder for it.
    pub(crate) fn shot(&self, name: &str) {
        use base64::Engine as _;
        let Ok(folder) = std::env::var("BRINECAST_SHOTS") else { return };
        let png = self.own("GET", "/screenshot", &Value::Null);
        let bytes = base64::engine::general_purpose::STANDARD.decode(png.as_str().unwrap()).unwrap();
        std::fs::write(Path::new(&folder).join(name), bytes).unwrap();
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.session.is_empty() {
            let path = format!("/session/{}", self.session);
            let _ = std::panic::catch_unwind(|| fetch(self.port, "DELETE", &path, &[], ""));
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
