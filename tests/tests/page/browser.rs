//! A browser without a screen, driven as the W3C WebDriver recommendation describes
//! (<https://www.w3.org/TR/webdriver2/>): one JSON request for each thing to do.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use serde_json::{Value, json};

/// Keys as WebDriver writes them.
pub(crate) const ENTER: &str = "\u{e007}";
pub(crate) const ESCAPE: &str = "\u{e00c}";
pub(crate) const RIGHT: &str = "\u{e014}";
pub(crate) const DOWN: &str = "\u{e015}";
pub(crate) const LEFT: &str = "\u{e012}";
pub(crate) const HOME: &str = "\u{e011}";

/// Chromium under its driver; both end with this value.
pub(crate) struct Browser {
    driver: Child,
    session: String,
    profile: PathBuf,
}

/// True when Chromium and its driver are there. In CI they must be; elsewhere it is said
/// that nothing is checked.
pub(crate) fn is_there() -> bool {
    let there = is_installed();
    if !there {
        assert!(
            std::env::var_os("CI").is_none(),
            "Chromium or chromedriver is missing: apt-get install chromium chromium-driver"
        );
        eprintln!("SKIPPED: Chromium or chromedriver is missing; nothing was checked");
    }
    there
}

fn is_installed() -> bool {
    ["chromium", "chromedriver"].iter().all(|program| {
        let asked = Command::new(program)
            .arg("--version")
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
        asked.is_ok_and(|status| status.success())
    })
}

impl Browser {
    /// Starts one with an empty profile in `directory`.
    pub(crate) fn start(directory: &Path) -> Self {
        let profile = directory.join("profile");
        std::fs::create_dir_all(&profile).expect("a directory for the profile");
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver starts");
        let port = port(&mut driver);
        let mut browser = Self {
            driver,
            session: format!("http://127.0.0.1:{port}/session"),
            profile,
        };
        let opened = browser.post("", &browser.capabilities());
        let id = opened["sessionId"].as_str().expect("a session");
        browser.session = format!("{}/{id}", browser.session);
        browser
    }

    fn capabilities(&self) -> Value {
        let profile = format!("--user-data-dir={}", self.profile.display());
        json!({"capabilities": {"alwaysMatch": {
            "browserName": "chrome",
            "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"},
            "goog:chromeOptions": {"binary": "/usr/bin/chromium", "args": [
                "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
                "--no-first-run", "--disable-background-networking",
                "--disable-component-update", "--disable-sync",
                "--window-size=1400,1000", profile,
            ]},
        }}})
    }

    fn post(&self, what: &str, body: &Value) -> Value {
        let agent: ureq::Agent = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .build()
            .into();
        let address = format!("{}{what}", self.session);
        let answer = agent.post(&address).send_json(body);
        let mut answer = answer.unwrap_or_else(|error| panic!("{address}: {error}"));
        let answer: Value = answer.body_mut().read_json().expect("an answer in JSON");
        let value = answer["value"].clone();
        assert!(value.get("error").is_none(), "{what} {body}: {value}");
        value
    }

    /// Opens a file.
    pub(crate) fn open(&self, file: &Path) {
        self.post(
            "/url",
            &json!({"url": format!("file://{}", file.display())}),
        );
    }

    /// Leaves the page the browser begins with, and what it logged of it.
    pub(crate) fn empty(&self) {
        self.post("/url", &json!({"url": "about:blank"}));
        self.log("browser");
        self.log("performance");
    }

    /// Runs a script in the page; what it returns.
    pub(crate) fn run(&self, script: &str) -> Value {
        self.post("/execute/sync", &json!({"script": script, "args": []}))
    }

    /// What a script returns, as text.
    pub(crate) fn text(&self, script: &str) -> String {
        let value = self.run(script);
        value
            .as_str()
            .map_or_else(|| value.to_string(), str::to_owned)
    }

    /// Presses and lets go of keys, one after the other, in what has the focus.
    pub(crate) fn press(&self, keys: &[&str]) {
        let actions: Vec<Value> = keys
            .iter()
            .flat_map(|key| {
                let action = |what: &str| json!({"type": what, "value": key});
                [action("keyDown"), action("keyUp")]
            })
            .collect();
        let source = json!({"type": "key", "id": "keys", "actions": actions});
        self.post("/actions", &json!({"actions": [source]}));
    }

    /// Gives a command of the browser's own protocol, for what WebDriver does not have.
    pub(crate) fn command(&self, command: &str, parameters: &Value) {
        self.post(
            "/goog/cdp/execute",
            &json!({"cmd": command, "params": parameters}),
        );
    }

    /// Prints the page; the beginning of the PDF, in base 64.
    pub(crate) fn print(&self) -> String {
        let pdf = self.post("/print", &json!({}));
        pdf.as_str().unwrap_or_default().chars().take(8).collect()
    }

    /// What is in one of the browser's logs since it was last asked for.
    pub(crate) fn log(&self, kind: &str) -> Vec<Value> {
        let log = self.post("/se/log", &json!({"type": kind}));
        log.as_array().cloned().unwrap_or_default()
    }
}

/// The port the driver says it listens at.
fn port(driver: &mut Child) -> u16 {
    let told = BufReader::new(driver.stdout.take().expect("its output"));
    told.lines()
        .map_while(Result::ok)
        .find_map(|line| {
            let after = line.split_once("started successfully on port ")?.1;
            after.trim_end_matches('.').parse().ok()
        })
        .expect("chromedriver says its port")
}

impl Drop for Browser {
    fn drop(&mut self) {
        // The session first, so that the browser ends too.
        let _ = ureq::delete(&self.session).call();
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
