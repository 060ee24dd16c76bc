//! The page in a real browser: knobs, Back, reload, pin, upload, narrow window, keyboard alone.
//!
//! They need chromium and chromedriver, which `.ci/run` installs; `cargo test -- --ignored` runs them.

use brinecast::app::{load, run};

use super::http::Server;
use super::webdriver::{Browser, ENTER, LEFT, RIGHT, TAB, UP};

/// How many answers the page has shown.
const ANSWERED: &str = "Number(document.body.dataset.answered ?? 0)";

struct Page {
    server: Server,
    browser: Browser,
}

impl Page {
    fn open(state: &str) -> Self {
        let server = Server::start();
        let browser = Browser::start(1280, 900, false);
        browser.open(&format!("http://127.0.0.1:{}/{state}", server.port));
        let page = Self { server, browser };
        if state.is_empty() {
            page.browser.until("document.querySelector('#scenarios a')");
        } else {
            page.browser.until(&format!("{ANSWERED} > 0"));
        }
        page
    }

    /// Does something, and waits for the answer that it brings.
    fn answered(&self, act: impl FnOnce(&Browser)) {
        let before = self.browser.run(&format!("return {ANSWERED}")).as_i64().unwrap();
        act(&self.browser);
        self.browser.until(&format!("{ANSWERED} > {before} && !document.querySelector('#tank.waiting')"));
    }

    fn sentence(&self) -> String {
        self.browser.text("#sentence")
    }

    fn url(&self, state: &str) -> String {
        format!("http://127.0.0.1:{}/{state}", self.server.port)
    }
}

fn sentence(scenario: &str, sets: &[&str]) -> String {
    let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).collect();
    run(&load(scenario, &sets).unwrap()).unwrap().summary.answer
}

#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
fn a_tank_is_chosen_a_knob_turned_and_back_again() {
    let page = Page::open("");
    let browser = &page.browser;
    browser.shot("begin.png");
    page.answered(|b| b.click("#scenarios a"));
    assert_eq!(page.sentence(), sentence("mixed-reef", &[]));
    browser.shot("tank.png");

    // Typed, then Back, Forward's worth by the address, and reload.
    page.answered(|b| {
        b.run("document.getElementById('knob-waters-salt-water-salinity').value = ''");
        b.keys("#knob-waters-salt-water-salinity", &format!("36{ENTER}"));
    });
    let mixed = sentence("mixed-reef", &["waters.salt_water.salinity=36 psu"]);
    assert_eq!(page.sentence(), mixed);
    let address = browser.url();
    assert!(address.contains("waters.salt_water.salinity=36+psu"), "{address}");
    page.answered(Browser::back);
    assert_eq!(page.sentence(), sentence("mixed-reef", &[]));
    page.answered(|b| b.open(&address));
    assert_eq!(page.sentence(), mixed);
    browser.reload();
    browser.until(&format!("{ANSWERED} > 0"));
    assert_eq!(page.sentence(), mixed);
    assert_eq!(browser.run("return document.getElementById('knob-waters-salt-water-salinity').value"), "36");

    // Nothing is asked of any other machine, and the browser has nothing to complain about.
    let asked = browser.run("return performance.getEntriesByType('resource').map((e) => e.name)");
    let own = page.url("");
    assert!(asked.as_array().unwrap().iter().all(|u| u.as_str().unwrap().starts_with(&own)), "{asked}");
    assert_eq!(browser.mistakes(), Vec::<String>::new());
}

/// Each knob is turned by the keyboard, as a hand would; the page then shows what the library gives for its address.
#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
fn each_knob_changes_what_is_shown_to_what_the_library_gives() {
    let page = Page::open("#from=mixed-reef&run=90+d");
    let browser = &page.browser;
    browser.run("for (const d of document.querySelectorAll('#knobs details')) d.open = true");
    let ids = browser
        .run("return [...document.querySelectorAll('#knobs input[type=range], #knobs select')].map((e) => e.id)");
    let ids: Vec<String> = ids.as_array().unwrap().iter().map(|i| i.as_str().unwrap().to_owned()).collect();
    assert!(ids.len() > 20, "{ids:?}");
    for id in ids {
        page.answered(|b| b.open(&page.url("#from=mixed-reef&run=90+d")));
        browser.run("for (const d of document.querySelectorAll('#knobs details')) d.open = true");
        let slider = id.ends_with("-slider");
        let key = browser.run(&format!("return document.getElementById('{}').name", id.trim_end_matches("-slider")));
        let key = key.as_str().unwrap().to_owned();
        let selector = format!("#{id}");
        page.answered(|b| {
            if slider {
                b.keys(&selector, &RIGHT.repeat(3));
            } else {
                // The next choice, wherever it stands.
                b.run(&format!("const s = document.getElementById('{id}'); s.selectedIndex = (s.selectedIndex + 1) % s.options.length; s.dispatchEvent(new Event('change'))"));
            }
        });
        browser.until(&format!("decodeURIComponent(location.hash).includes('{key}=')"));
        let address = browser.url();
        let state = address.split_once('#').unwrap().1.to_owned();
        let json = super::http::fetch(page.server.port, "POST", "/answer", &[], &format!("width=420\n{state}")).json();
        browser.until(&format!("document.getElementById('sentence').textContent === {}", json["answer"]));
        // The settled nitrate as the table shows it, against the library by way of the command that the page gives.
        let sets: Vec<String> = json["command"]
            .as_str()
            .unwrap()
            .split(" --set '")
            .skip(1)
            .map(|s| s.trim_end_matches('\'').to_owned())
            .collect();
        let summary = run(&load("mixed-reef", &sets).unwrap()).unwrap().summary;
        assert_eq!(page.sentence(), summary.answer, "{key}");
        let shown = browser.run("return document.querySelector('#numbers tbody td').textContent");
        let lowest = summary.spans.iter().find(|s| s.key == "salinity").unwrap().lowest;
        let shown: f64 = shown.as_str().unwrap().parse().unwrap();
        assert!((shown - lowest).abs() <= 5e-4 * lowest.abs() + 1e-12, "{key}: {shown}, not {lowest}");
    }
    assert_eq!(browser.mistakes(), Vec::<String>::new());
}

#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
fn a_state_is_pinned_and_compared_and_faults_and_the_fan_are_switched() {
    let page = Page::open("#from=uncertain-reef");
    let browser = &page.browser;
    page.answered(|b| b.click("#pin"));
    page.answered(|b| b.keys("#knob-change-amount-slider", &RIGHT.repeat(20)));
    let heads =
        browser.run("return [...document.querySelectorAll('#numbers thead :is(th, td)')].map((e) => e.textContent)");
    assert_eq!(heads, serde_json::json!(["", "now", "pinned", "difference", "unit"]));
    browser.until("location.hash.includes('pin=')");
    browser.reload();
    browser.until(&format!("{ANSWERED} > 0"));
    browser.until("document.querySelectorAll('#numbers thead :is(th, td)').length === 5");
    browser.run("for (const d of document.querySelectorAll('#knobs details')) d.open = true");
    page.answered(|b| b.keys("#knob-uncertain", "yes"));
    assert!(browser.text("#chances").contains("Chance of leaving its band: salinity "), "{}", browser.text("#chances"));
    page.answered(|b| b.click("#fault-top-off-stuck-open"));
    browser.until("document.getElementById('fault-top-off-stuck-open-from')");
    assert!(browser.text("#warnings").contains("over the rim"), "{}", browser.text("#warnings"));
    browser.shot("pinned.png");
    page.answered(|b| b.click("#pin"));
    browser.until("document.querySelectorAll('#numbers thead :is(th, td)').length === 3");
    assert_eq!(browser.mistakes(), Vec::<String>::new());
}

#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
fn a_bad_file_is_told_and_a_good_one_is_shown() {
    let page = Page::open("");
    let browser = &page.browser;
    let folder = tempfile::tempdir().unwrap();
    let bad = folder.path().join("bad.toml");
    std::fs::write(&bad, "format = 1\n[tank]\nvolume = \"400 kg\"\n").unwrap();
    browser.upload("#file", &bad);
    browser.until("!document.getElementById('problem').hidden && !document.getElementById('begin').hidden");
    let problem = browser.text("#problem");
    assert!(problem.contains("your-file.toml:3:10") && problem.contains("400 kg"), "{problem}");
    browser.shot("bad-file.png");
    let good = folder.path().join("good.toml");
    std::fs::write(&good, "format = 1\ntitle = \"Tank of mine\"\n[tank]\nvolume = \"90 L\"\n").unwrap();
    page.answered(|b| b.upload("#file", &good));
    assert_eq!(browser.text("#title"), "Tank of mine");
    browser.until("location.hash.includes('packed=')");
    browser.reload();
    browser.until(&format!("{ANSWERED} > 0"));
    assert_eq!(browser.text("#title"), "Tank of mine", "its text is in the address");
}

#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
fn questions_are_answered_and_all_is_done_by_keyboard_alone() {
    let page = Page::open("");
    let browser = &page.browser;
    browser.run("document.body.focus()");
    let focused = |what: &str| browser.run("return document.activeElement.id") == what;
    let tab_to = |what: &str| {
        for _ in 0..200 {
            if focused(what) {
                return;
            }
            browser.press(TAB);
        }
        panic!("Tab never comes to {what}");
    };
    tab_to("ask-volume");
    browser.keys("#ask-volume", ENTER);
    browser.until(&format!("{ANSWERED} > 0"));
    assert!(browser.url().contains("ask.volume=300+L"), "{}", browser.url());
    tab_to("knob-change-amount-slider");
    page.answered(|b| b.press(&RIGHT.repeat(10)));
    assert!(focused("knob-change-amount-slider"), "the knob keeps the keyboard");
    let stands = browser.run("return document.getElementById('knob-change-amount').value");
    assert_eq!(stands, "15");

    // A value is read off a picture, and a place taken from the map, with the arrows.
    browser.run("document.querySelector('#figure-nitrate .drawn').focus()");
    browser.press(&RIGHT.repeat(50));
    let read = browser.text("#figure-nitrate output");
    assert!(read.contains("nitrate") && read.contains("mg/L"), "{read}");
    // Day 182 after 1 January 2026 is 2 July; the questions name no date, so the page counts from the scenario's own.
    let day: f64 = read.split("day ").nth(1).unwrap().split([')', ':']).next().unwrap().parse().unwrap();
    assert!((day - 182.5).abs() < 0.1, "{read}");
    browser.run("document.querySelector('#figure-map .drawn').focus()");
    // The first arrow stands at the plan in hand, 15 % every 7 d; the others go on from there.
    browser.press(&format!("{RIGHT}{RIGHT}{LEFT}{LEFT}{UP}{UP}"));
    let place = browser.text("#figure-map output");
    assert!(place.starts_with("10 % every 14 d"), "{place}");
    page.answered(|b| b.press(ENTER));
    assert_eq!(browser.run("return document.getElementById('knob-change-every').value"), "14");
    assert_eq!(browser.run("return document.getElementById('knob-change-amount').value"), "10");

    // What is there has a name for those who hear it.
    let nameless = browser.run(
        "return [...document.querySelectorAll('main input, main select, nav button, nav select')].filter((e) => !(e.labels?.length || e.ariaLabel || e.textContent)).map((e) => e.id)",
    );
    assert_eq!(nameless, serde_json::json!([]));
    assert_eq!(browser.mistakes(), Vec::<String>::new());
}

#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
fn the_page_fits_a_narrow_screen_and_the_dark() {
    let server = Server::start();
    let browser = Browser::start(1000, 800, true);
    browser.narrow(360, 740);
    for (name, state) in [("begin", ""), ("tank", "#from=mixed-reef&units=us")] {
        browser.open(&format!("http://127.0.0.1:{}/{state}", server.port));
        browser.reload();
        browser.until("document.querySelector('#scenarios a')");
        if !state.is_empty() {
            browser.until(&format!("{ANSWERED} > 0"));
            browser.run("for (const d of document.querySelectorAll('#knobs details')) d.open = true");
        }
        let width = browser.run("return document.documentElement.scrollWidth").as_i64().unwrap();
        assert!(width <= 360, "{name} is {width} px wide");
        assert_eq!(browser.run("return matchMedia('(prefers-color-scheme: dark)').matches"), true);
        // What a finger is to hit is 44 px high.
        assert_eq!(browser.run("return matchMedia('(pointer: coarse)').matches"), true);
        let low = browser.run(
            "return [...document.querySelectorAll('button, select, input:not([type=checkbox]):not([type=file]), summary, .button, .save, #scenarios a')]
                .filter((e) => e.checkVisibility() && e.getBoundingClientRect().height < 43.9)
                .map((e) => `${e.id || e.className || e.textContent}: ${e.getBoundingClientRect().height}`)",
        );
        assert_eq!(low, serde_json::json!([]), "{name}");
        browser.shot(&format!("narrow-{name}.png"));
        browser.run("scrollTo(0, 1200)");
        browser.shot(&format!("narrow-{name}-below.png"));
    }
    // While the knobs are turned, the answer with what to do stays in sight, at most 96 px high, and the first picture below it.
    let place = |of: &str, side: &str| {
        browser.run(&format!("return document.getElementById('{of}').getBoundingClientRect().{side}")).as_f64().unwrap()
    };
    assert!((-1.0..=1.0).contains(&place("strip", "top")), "{}", place("strip", "top"));
    assert!(place("strip", "height") <= 96.0 && place("strip", "height") > 40.0, "{}", place("strip", "height"));
    assert!((95.0..=97.0).contains(&place("figures", "top")), "{}", place("figures", "top"));
}

/// A mouse drags a knob for 1.5 s with real pointer moves, a move every 8 ms: the picture moves with it, and ends where the
/// hand lets go. The times are told, not judged: a test is no stop watch.
#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
#[allow(clippy::print_stderr, reason = "the times are for whoever runs it")]
fn the_picture_moves_while_a_knob_is_dragged() {
    // `BRINECAST_DRAG=all` takes every built-in tank.
    let usual = ["#from=mixed-reef", "#from=uncertain-reef&uncertain=yes", "#from=heavy-fish-load"];
    let states: Vec<String> = match std::env::var("BRINECAST_DRAG") {
        Ok(_) => brinecast::app::BUILT_IN.iter().map(|(name, _)| format!("#from={name}")).collect(),
        Err(_) => usual.iter().map(|s| (*s).to_owned()).collect(),
    };
    for state in &states {
        let page = Page::open(state);
        // Where no change is on a schedule, the first slider of the page.
        let id = page.browser.run(
            "return (document.getElementById('knob-change-amount-slider') ?? document.querySelector('input[type=range]')).id",
        );
        let id = id.as_str().unwrap().to_owned();
        page.browser.run(&format!("window.slider = document.getElementById('{id}')"));
        page.browser.run(
            "slider.scrollIntoView({ block: 'center' });
             window.drawn = []; window.turned = [];
             const figure = document.querySelector('#figure-salinity .drawn');
             slider.addEventListener('input', () => turned.push(performance.now()));
             new MutationObserver(() => drawn.push(performance.now())).observe(figure, { childList: true });",
        );
        // The thumb is taken where it stands.
        let thumb = page.browser.run("const s = slider; const w = s.clientWidth - 16; return Math.round(((s.value - s.min) / (s.max - s.min) - 0.5) * w)");
        let thumb = i32::try_from(thumb.as_i64().unwrap()).unwrap();
        // Towards the end that is farther off.
        let to = if thumb > 0 { thumb - 200 } else { thumb + 200 };
        page.answered(|b| b.drag(&format!("#{id}"), (thumb, 0), (to, 0), 1500));
        let numbers = |name: &str| -> Vec<f64> {
            let list = page.browser.run(&format!("return {name}"));
            list.as_array().unwrap().iter().map(|t| t.as_f64().unwrap()).collect()
        };
        let (drawn, turned) = (numbers("drawn"), numbers("turned"));
        assert!(turned.len() > 20, "the hand moved {} times", turned.len());
        assert!(drawn.len() > 10, "{state}: {} pictures in 1.5 s", drawn.len());
        // From each turn to the next picture.
        let mut waits: Vec<f64> = turned.iter().filter_map(|t| drawn.iter().find(|d| *d >= t).map(|d| d - t)).collect();
        waits.sort_by(f64::total_cmp);
        let span = (turned[turned.len() - 1] - turned[0]) / 1000.0;
        let during = drawn.iter().filter(|d| **d <= turned[turned.len() - 1]).count();
        eprintln!(
            "{state}, {id}: {:.0} pictures a second; knob to picture: median {:.0} ms, 95 % within {:.0} ms",
            during as f64 / span,
            waits[waits.len() / 2],
            waits[waits.len() * 95 / 100]
        );
        if id == "knob-change-amount-slider" {
            let typed = page.browser.run("return document.getElementById('knob-change-amount').value");
            assert!(
                page.browser.url().contains(&format!("change.amount={}", typed.as_str().unwrap())),
                "the hand let go"
            );
        }
    }
}

/// What to do is a button: a click sets the knobs, and the band is kept.
#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
fn advice_is_taken_with_a_click_and_a_place_of_the_map_by_a_drag() {
    let page = Page::open("#from=mixed-reef");
    assert!(page.sentence().starts_with("No."), "{}", page.sentence());
    page.answered(|b| b.click("#todo button"));
    assert!(page.sentence().starts_with("Yes"), "{}", page.sentence());
    assert!(page.url("").len() < page.browser.url().len() && page.browser.url().contains("salt_water.salinity=36.3"));
    page.answered(Browser::back);
    // The map opens on the band that is broken, and choosing is a drag.
    assert_eq!(page.browser.run("return document.getElementById('measure').value"), "settled.salinity.mean");
    page.browser.run("document.querySelector('#figure-map .drawn').scrollIntoView({ block: 'center' })");
    page.answered(|b| b.drag("#figure-map .drawn", (-60, 30), (60, -30), 600));
    let url = page.browser.url();
    assert!(url.contains("change.amount=") && url.contains("change.every="), "{url}");
    // A stretch of time that is drawn over is looked at alone, with dates; the button shows the whole run again.
    page.browser.run("document.querySelector('#figure-salinity .drawn').scrollIntoView({ block: 'center' })");
    page.answered(|b| b.drag("#figure-salinity .drawn", (-60, 0), (40, 0), 300));
    assert!(page.browser.url().contains("see="), "{}", page.browser.url());
    page.answered(|b| b.click("#figure-salinity figcaption button"));
    assert!(!page.browser.url().contains("see="), "{}", page.browser.url());
    assert_eq!(page.browser.mistakes(), Vec::<String>::new());
}

/// A fault that is on stands on the time axis, and is dragged to another time.
#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
fn a_fault_is_dragged_along_the_time_axis() {
    let page = Page::open("#from=mixed-reef&fault.top-off-stuck-shut=30..60");
    page.browser.run("document.querySelector('#figure-salinity .drawn').scrollIntoView({ block: 'center' })");
    page.answered(|b| b.drag("#figure-salinity .handle", (0, 0), (60, 0), 500));
    let url = page.browser.url();
    let span = url.split("fault.top-off-stuck-shut=").nth(1).unwrap().split('&').next().unwrap().to_owned();
    // Every picture has its numbers as a table: lines, the map, bars.
    page.browser.run("for (const d of document.querySelectorAll('.values')) d.open = true");
    page.browser
        .until("document.querySelectorAll('.values table').length === document.querySelectorAll('figure').length");
    // Of all faults, those with the words that are typed are left; what is on stays.
    page.browser.run("for (const d of document.querySelectorAll('#knobs details')) d.open = true");
    page.browser.keys("#fault-search", "siphon");
    let left = page.browser.run(
        "return [...document.querySelectorAll('.fault')].filter((f) => !f.hidden).map((f) => f.querySelector('input').id)",
    );
    assert_eq!(left, serde_json::json!(["fault-top-off-stuck-shut", "fault-siphon-back"]));
    let (from, to) = span.split_once("..").unwrap();
    let (from, to): (f64, f64) = (from.parse().unwrap(), to.parse().unwrap());
    assert!(from > 40.0 && (to - from - 30.0).abs() < 1e-9, "{span}");
    assert_eq!(page.browser.mistakes(), Vec::<String>::new());
}

/// The rules of accessibility that a machine can judge (WCAG 2.2 A and AA), by an engine of others that `.ci/run` fetches:
/// start, tank with a fault and the fan, report, card, round.
#[test]
#[ignore = "needs chromium, chromedriver and target/axe/axe.min.js: .ci/run installs them"]
fn nothing_stands_in_the_way_of_anybody() {
    let engine = concat!(env!("CARGO_MANIFEST_DIR"), "/target/axe/axe.min.js");
    let engine = std::fs::read_to_string(engine).expect("target/axe/axe.min.js: .ci/run fetches it");
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    for args in [
        &["run", "mixed-reef"][..],
        &["plan", "mixed-reef"],
        &["faults"],
        &["station", "service-round", "--members", "100"],
    ] {
        let output = super::cli::brinecast(folder.path(), &[args, &["--out", out.to_str().unwrap(), "-q"]].concat());
        assert!(output.status.success(), "{args:?}");
    }
    let server = Server::start();
    let mut wrong = Vec::new();
    for dark in [false, true] {
        let browser = Browser::start(1280, 900, dark);
        let page = |state: &str| format!("http://127.0.0.1:{}/{state}", server.port);
        let file = |name: &str| format!("file://{}", out.join(name).display());
        for (address, ready) in [
            (page(""), "!document.getElementById('example').hidden".to_owned()),
            (page("#from=mixed-reef&fault.top-off-stuck-shut=30..60&uncertain=yes"), format!("{ANSWERED} > 0")),
            (file("report.html"), "true".to_owned()),
            (file("card.html"), "true".to_owned()),
            (file("faults.html"), "true".to_owned()),
            (file("round.html"), "true".to_owned()),
        ] {
            browser.open(&address);
            browser.reload();
            browser.until(&ready);
            browser.run("for (const d of document.querySelectorAll('details')) d.open = true");
            browser.run(&engine);
            let found = browser.run_async(
                "axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] })
                    .then((r) => done(r.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.target.join(' ')).join(', ')}`)))
                    .catch((e) => done([String(e)]))",
            );
            let name = address.rsplit('/').next().unwrap_or_default().to_owned();
            wrong.extend(
                found
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|v| format!("{name} {}: {v}", if dark { "dark" } else { "light" })),
            );
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A page for a phone is opened by its address on the network: the secret opens it, leaves the address, and the page answers.
#[test]
#[ignore = "needs chromium and chromedriver: .ci/run installs them"]
fn a_page_for_a_phone_opens_by_its_address() {
    let folder = tempfile::tempdir().unwrap();
    let Some(shared) = super::http::share(folder.path()) else { return };
    let browser = Browser::start(1000, 800, false);
    browser.narrow(390, 844);
    browser.open(&format!("http://{}:{}/?key={}#from=mixed-reef", shared.host, shared.port, shared.secret));
    browser.until(&format!("{ANSWERED} > 0"));
    assert!(!browser.url().contains("key="), "{}", browser.url());
    browser.reload();
    browser.until(&format!("{ANSWERED} > 0"));
    assert_eq!(browser.text("#sentence"), sentence("mixed-reef", &[]));
    assert_eq!(browser.mistakes(), Vec::<String>::new());
}
