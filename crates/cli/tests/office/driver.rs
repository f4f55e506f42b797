//! A real Chromium driven over its own protocol, the office it looks at, and the audit of what it shows.

use std::{
    io::{BufRead as _, BufReader, Read as _, Write as _},
    net::TcpStream,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    sync::OnceLock,
    time::Duration,
};

use fantoccini::{
    Client, ClientBuilder, Locator,
    actions::{InputSource as _, KeyAction, KeyActions},
};
use serde_json::{Value, json};

/// A program in the search path.
fn program(names: &[&str]) -> Option<PathBuf> {
    let paths = std::env::var_os("PATH")?;
    std::env::split_paths(&paths)
        .flat_map(|folder| names.iter().map(move |name| folder.join(name)))
        .find(|path| path.is_file())
}

/// An office on a port of its own, for as long as the test lasts.
pub struct Open {
    pub folder: tempfile::TempDir,
    pub address: String,
    sawby: Child,
}

impl Drop for Open {
    fn drop(&mut self) {
        let _ = self.sawby.kill();
        let _ = self.sawby.wait();
    }
}

/// Opens the office of a railroad that comes with the program, after `change` was done to its files.
pub fn open(kind: &[&str], change: impl FnOnce(&Path)) -> Open {
    let folder = tempfile::tempdir().unwrap();
    let road = folder.path().join("road");
    let sawby = || Command::new(env!("CARGO_BIN_EXE_sawby"));
    let made = sawby().arg("new").args(kind).arg(&road).output().unwrap();
    assert!(made.status.success());
    change(&road);
    let mut sawby = sawby()
        .args(["serve", "--port", "0"])
        .arg(&road)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let said = BufReader::new(sawby.stdout.take().unwrap())
        .lines()
        .next()
        .unwrap()
        .unwrap();
    let address = said
        .split_whitespace()
        .last()
        .unwrap()
        .trim_end_matches('/')
        .to_owned();
    Open {
        folder,
        address,
        sawby,
    }
}

impl Open {
    /// A file of the railroad as it is on disk.
    pub fn file(&self, path: &str) -> String {
        std::fs::read_to_string(self.path(path)).unwrap()
    }

    /// Where a file of the railroad is.
    pub fn path(&self, path: &str) -> PathBuf {
        self.folder.path().join("road").join(path)
    }
}

/// A window.
pub struct Window {
    pub client: Client,
    driver: Child,
    port: u16,
    session: String,
    _profile: tempfile::TempDir,
}

/// Also a test that fails leaves no browser behind.
impl Drop for Window {
    fn drop(&mut self) {
        if let Ok(mut stream) = TcpStream::connect(("127.0.0.1", self.port)) {
            let _ = write!(
                stream,
                "DELETE /session/{} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
                self.session
            );
            // Its answer comes when the browser is gone; the connection may stay open after it.
            let _ = stream.set_read_timeout(Some(Duration::from_secs(10)));
            let _ = stream.read(&mut [0; 64]);
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

/// How large the window is.
#[derive(Clone, Copy, PartialEq)]
pub enum Size {
    Desk,
    Phone,
}

/// Whether there is a browser to look with; a word of why where there is none.
pub fn chromium_is_here() -> bool {
    let here = program(&["chromedriver"]).is_some() && program(CHROMIUM).is_some();
    if !here {
        println!("skipped: no chromium and chromedriver here (`cargo xtask test` installs them)");
    }
    here
}

const CHROMIUM: &[&str] = &["chromium", "chromium-browser", "google-chrome"];

impl Window {
    /// A new window.
    pub async fn new(size: Size) -> Self {
        let driver = program(&["chromedriver"]).expect("chromedriver");
        let chromium = program(CHROMIUM).expect("chromium");
        let profile = tempfile::tempdir().unwrap();
        let mut driver = Command::new(driver)
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        let port = lines
            .by_ref()
            .map_while(Result::ok)
            .find_map(|line| {
                let (_, rest) = line.split_once("successfully on port ")?;
                rest.trim_end_matches('.').parse::<u16>().ok()
            })
            .expect("chromedriver says its port");
        std::thread::spawn(move || lines.for_each(drop));
        let args = json!([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--window-size=1280,960",
            "--disable-dev-shm-usage",
            format!("--user-data-dir={}", profile.path().display()),
        ]);
        let mut options = json!({ "args": args, "binary": chromium });
        if size == Size::Phone {
            options["mobileEmulation"] = json!({
                "deviceMetrics": { "width": 360, "height": 740, "pixelRatio": 2.0, "touch": true },
            });
        }
        let mut capabilities = serde_json::Map::new();
        capabilities.insert("goog:chromeOptions".into(), options);
        let client = ClientBuilder::new(hyper_util::client::legacy::connect::HttpConnector::new())
            .capabilities(capabilities)
            .connect(&format!("http://127.0.0.1:{port}"))
            .await
            .expect("a window");
        let session = client.session_id().await.unwrap().unwrap_or_default();
        Self {
            client,
            driver,
            port,
            session,
            _profile: profile,
        }
    }

    /// As if it had just been opened: nothing typed, no light chosen.
    pub async fn fresh(&self) {
        // A form with something in it would ask whether to leave it.
        self.script("document.querySelectorAll('form.edit').forEach((form) => form.setAttribute('data-sending', ''))")
            .await;
        self.client.delete_all_cookies().await.unwrap();
        self.look_at("about:blank").await;
    }

    /// Opens a page by its whole address.
    pub async fn look_at(&self, address: &str) {
        self.client.goto(address).await.unwrap();
    }

    /// What a piece of script gives.
    pub async fn script(&self, script: &str) -> Value {
        self.client.execute(script, Vec::new()).await.unwrap()
    }

    /// Waits until a piece of script gives true.
    pub async fn until(&self, what: &str) {
        for _ in 0..200 {
            if self.script(&format!("return Boolean({what})")).await == Value::Bool(true) {
                return;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        let text = self.script("return document.body.innerText").await;
        panic!("never came true: {what}\n{text}");
    }

    /// Presses the first element that fits.
    pub async fn press(&self, css: &str) {
        self.client
            .find(Locator::Css(css))
            .await
            .unwrap_or_else(|error| panic!("{css}: {error}"))
            .click()
            .await
            .unwrap_or_else(|error| panic!("{css}: {error}"));
    }

    /// Presses keys, whatever has the focus.
    pub async fn keys(&self, keys: &str) {
        let actions = keys
            .chars()
            .fold(KeyActions::new("keys".into()), |keys, value| {
                keys.then(KeyAction::Down { value })
                    .then(KeyAction::Up { value })
            });
        self.client.perform_actions(actions).await.unwrap();
    }

    /// Types into a field, in place of what is there.
    pub async fn fill(&self, css: &str, text: &str) {
        let field = self.client.find(Locator::Css(css)).await.unwrap();
        field.clear().await.unwrap();
        field.send_keys(text).await.unwrap();
    }

    /// The text of the page.
    pub async fn text(&self) -> String {
        let text = self.script("return document.body.innerText").await;
        text.as_str().unwrap_or_default().to_owned()
    }

    /// Keeps a picture of the whole page among the build's own files.
    pub async fn picture(&self, name: &str) {
        let folder = pictures();
        std::fs::create_dir_all(&folder).unwrap();
        let png = self.client.screenshot().await.unwrap();
        std::fs::write(folder.join(format!("{name}.png")), png).unwrap();
    }
}

/// Where pictures are kept: `target/office-pictures`.
pub fn pictures() -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR"))
        .parent()
        .unwrap()
        .join("office-pictures")
}

/// The auditing script of axe-core 4, fetched from its registry once and kept with the build's files.
/// Nothing, with a word of why, where it cannot be had.
pub fn auditor() -> Option<&'static str> {
    static SOURCE: OnceLock<Option<String>> = OnceLock::new();
    SOURCE
        .get_or_init(|| {
            let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("axe-core");
            let script = folder.join("package/axe.min.js");
            if !script.is_file() {
                std::fs::create_dir_all(&folder).ok()?;
                let packed = Command::new(program(&["npm"])?)
                    .args(["pack", "--silent", "axe-core@4.14"])
                    .current_dir(&folder)
                    .output()
                    .ok()?;
                let name = String::from_utf8_lossy(&packed.stdout).trim().to_owned();
                let unpacked = Command::new("tar")
                    .args(["xzf", name.lines().last()?, "package/axe.min.js"])
                    .current_dir(&folder)
                    .status();
                unpacked.ok().filter(std::process::ExitStatus::success)?;
            }
            std::fs::read_to_string(script).ok()
        })
        .as_deref()
        .or_else(|| {
            println!("skipped: the audit, for axe-core could not be had from npm");
            None
        })
}

/// What the audit finds against the page that is shown: WCAG 2.2 A and AA, and best practice.
/// `rules` are those to hold it to; all of them if none.
pub async fn audit(window: &Window, source: &str, rules: Option<&str>) -> Vec<String> {
    if window.script("return typeof axe").await != "object" {
        window.client.execute(source, Vec::new()).await.unwrap();
    }
    let only = rules.map_or(String::new(), |rules| {
        format!(", runOnly: {{ type: 'rule', values: {rules} }}")
    });
    let found = window
        .client
        .execute_async(
            &format!("const done = arguments[arguments.length - 1];
             axe.run(document, {{ resultTypes: ['violations']{only} }}).then((found) => done(found.violations.map((one) =>
               `${{one.id}}: ${{one.help}}: ${{one.nodes.slice(0, 3).map((node) => node.target.join(' ') + ' ' + (node.any[0]?.message ?? '')).join(' | ')}}`)));"),
            Vec::new(),
        )
        .await
        .unwrap();
    found
        .as_array()
        .unwrap()
        .iter()
        .map(|line| line.as_str().unwrap_or_default().to_owned())
        .collect()
}

impl Window {
    /// A command of Chromium's own protocol, such as slowing it down.
    pub fn command(&self, command: &str, parameters: &Value) {
        let body = json!({ "cmd": command, "params": parameters }).to_string();
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        write!(
            stream,
            "POST /session/{}/goog/cdp/execute HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            self.session,
            body.len()
        )
        .unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(10)))
            .unwrap();
        let mut answer = [0; 32];
        let read = stream.read(&mut answer).unwrap();
        let answer = String::from_utf8_lossy(&answer[..read]);
        assert!(answer.starts_with("HTTP/1.1 200"), "{command}: {answer}");
    }
}
