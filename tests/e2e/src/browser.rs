//! Chromium under its driver: a new empty profile, the listening proxy, console kept, workers within reach.

use crate::proxy::Proxy;
use anyhow::{Context, Result, bail, ensure};
use base64::{Engine, engine::general_purpose::STANDARD};
use serde_json::{Value, json};
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use thirtyfour::prelude::*;

/// Where the programs are.
#[derive(Clone)]
pub struct Programs {
    /// Chromium itself.
    pub chromium: PathBuf,
    /// Its driver.
    pub driver: PathBuf,
    /// A folder for profiles and logs, emptied at start.
    pub scratch: PathBuf,
}

/// A browser with one page. The driver process ends with it.
pub struct Browser {
    /// The client of the driver.
    pub web: WebDriver,
    driver: Process,
    profile: PathBuf,
}

/// Ended by its own id when dropped.
struct Process(Child);

impl Drop for Process {
    fn drop(&mut self) {
        // it may have ended by itself
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// What runs before any script of a page.
const BEFORE_PAGE: &str = include_str!("before_page.js");
/// Runs before it where nothing is to be kept from one page to the next.
const FORGET: &str = include_str!("forget.js");

impl Browser {
    /// Starts driver and browser.
    ///
    /// # Errors
    /// One of them does not start within 20 seconds.
    pub async fn start(programs: &Programs, proxy: &Proxy, name: &str) -> Result<Browser> {
        let profile = programs.scratch.join(format!("profile-{name}"));
        let log = std::fs::File::create(programs.scratch.join(format!("driver-{name}.log")))?;
        let port = TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
        let driver = Command::new(&programs.driver)
            .arg(format!("--port={port}"))
            .stdin(Stdio::null())
            .stdout(log.try_clone()?)
            .stderr(log)
            .spawn()
            .with_context(|| format!("{} cannot be started", programs.driver.display()))?;
        let driver = Process(driver);
        let start = Instant::now();
        while !is_listening(port) {
            ensure!(start.elapsed() < Duration::from_secs(20), "the driver does not listen");
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        let arguments = [
            "--headless=new",
            "--no-sandbox",
            "--disable-dev-shm-usage",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--window-size=1280,800",
            &format!("--user-data-dir={}", profile.display()),
        ];
        let capabilities = json!({
            "browserName": "chrome",
            "goog:loggingPrefs": {"browser": "ALL"},
            "goog:chromeOptions": {"binary": programs.chromium, "args": arguments},
            // without the last entry, requests to this machine would pass the proxy by
            "proxy": {"proxyType": "manual", "httpProxy": proxy.address, "sslProxy": proxy.address,
                      "noProxy": ["<-loopback>"]},
        });
        let Value::Object(capabilities) = capabilities else { bail!("capabilities are not an object") };
        let session = WebDriver::new(format!("http://127.0.0.1:{port}"), Capabilities::from(capabilities));
        let limit = Duration::from_secs(20);
        let web =
            tokio::time::timeout(limit, session).await.context("the browser did not start in time")??;
        web.set_script_timeout(Duration::from_secs(120)).await?;
        let browser = Browser { web, driver, profile };
        browser.command("Page.addScriptToEvaluateOnNewDocument", json!({"source": BEFORE_PAGE})).await?;
        Ok(browser)
    }

    /// From now on every page begins with nothing kept in the browser.
    ///
    /// # Errors
    /// The browser refuses it.
    pub async fn forget_always(&self) -> Result<()> {
        self.command("Page.addScriptToEvaluateOnNewDocument", json!({"source": FORGET})).await?;
        Ok(())
    }

    /// The browser's own process, of which all others are children.
    ///
    /// # Errors
    /// It is not there.
    pub fn process(&self) -> Result<u32> {
        let ours = |words: &[String]| !words.iter().any(|word| word.starts_with("--type="));
        self.processes()?.into_iter().find(|(_, words)| ours(words)).map(|(id, _)| id).context("no browser")
    }

    /// Processes of this profile, with their arguments; the driver is not among them.
    fn processes(&self) -> Result<Vec<(u32, Vec<String>)>> {
        let profile = format!("--user-data-dir={}", self.profile.display());
        let mut found = Vec::new();
        for entry in std::fs::read_dir("/proc").context("/proc cannot be read")? {
            let Some(id) = entry?.file_name().to_str().and_then(|name| name.parse::<u32>().ok()) else {
                continue;
            };
            // a process may end meanwhile
            let Ok(bytes) = std::fs::read(format!("/proc/{id}/cmdline")) else { continue };
            let text = String::from_utf8_lossy(&bytes);
            let words: Vec<String> =
                text.split('\0').flat_map(|part| part.split(' ')).map(String::from).collect();
            if words.contains(&profile) {
                found.push((id, words));
            }
        }
        Ok(found)
    }

    /// Waits until the browser, which was killed, is gone with all of its processes, and ends the driver.
    ///
    /// # Errors
    /// A process stays.
    pub async fn is_gone(self) -> Result<()> {
        let start = Instant::now();
        while !self.processes()?.is_empty() {
            ensure!(start.elapsed() < Duration::from_secs(20), "processes of the browser stay");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        Ok(())
    }

    /// A command of the browser's own debugging protocol.
    ///
    /// # Errors
    /// The browser refuses it.
    pub async fn command(&self, method: &str, parameters: Value) -> Result<Value> {
        self.web.cdp().send_raw(method, parameters).await.with_context(|| method.to_string())
    }

    /// Goes to an address and waits until the page says that it is ready. Returns the seconds that took.
    ///
    /// # Errors
    /// The page says "broken", or nothing for 30 seconds.
    pub async fn open(&self, url: &str) -> Result<f64> {
        let start = Instant::now();
        self.web.goto(url).await?;
        self.wait("document.documentElement.dataset.state !== 'starting'", 30)
            .await
            .context("the page does not start")?;
        let state = self.script("return document.documentElement.dataset.state", json!([])).await?;
        ensure!(state == "ready", "the page is {state}: {}", self.text().await?);
        Ok(start.elapsed().as_secs_f64())
    }

    /// Runs the body of an async function in the page, with `args`. A thrown problem becomes an error with its code.
    ///
    /// # Errors
    /// The script throws, or takes over two minutes.
    pub async fn script(&self, body: &str, args: Value) -> Result<Value> {
        let Value::Array(list) = args else { bail!("the arguments are not a list") };
        let source = format!(
            "const args = [...arguments];
             return (async () => {{ {body} }})().then((ok) => ({{ ok: ok === undefined ? null : ok }}), (e) => ({{
                thrown: e && e.code ? `${{e.code}}: ${{e.message}} ${{e.detail}}` : String(e && e.stack || e) }}));"
        );
        let answer = self.web.execute(source, list).await?.json().clone();
        if let Some(thrown) = answer.get("thrown") {
            bail!("the page threw {thrown}");
        }
        Ok(answer["ok"].clone())
    }

    /// As [`Browser::script`], for a script that returns a typed array or a buffer: its bytes.
    ///
    /// # Errors
    /// As [`Browser::script`].
    pub async fn bytes(&self, body: &str, args: Value) -> Result<Vec<u8>> {
        let source = format!(
            "const array = await (async () => {{ {body} }})();
             const bytes = new Uint8Array(array.buffer, array.byteOffset, array.byteLength);
             let text = '';
             for (let at = 0; at < bytes.length; at += 30000) text += String.fromCharCode(...bytes.subarray(at, at + 30000));
             return btoa(text);"
        );
        let text = self.script(&source, args).await?;
        Ok(STANDARD.decode(text.as_str().context("no text came back")?)?)
    }

    /// Waits until an expression is true in the page.
    ///
    /// # Errors
    /// It stays false.
    pub async fn wait(&self, condition: &str, seconds: u64) -> Result<()> {
        let start = Instant::now();
        while self.script(&format!("return Boolean({condition})"), json!([])).await? != json!(true) {
            ensure!(
                start.elapsed() < Duration::from_secs(seconds),
                "`{condition}` stays false for {seconds} s"
            );
            tokio::time::sleep(Duration::from_millis(25)).await;
        }
        Ok(())
    }

    /// All that can be read on the page.
    ///
    /// # Errors
    /// The browser is gone.
    pub async fn text(&self) -> Result<String> {
        let text = self.script("return document.body.innerText", json!([])).await?;
        Ok(text.as_str().unwrap_or_default().to_string())
    }

    /// Clicks the button that reads so, as a person would.
    ///
    /// # Errors
    /// There is none, or something covers it.
    pub async fn click(&self, label: &str) -> Result<()> {
        let path = format!(
            "//*[self::button or @role='button' or @role='tab' or @role='radio' or @role='option']\
                            [normalize-space(.)={label:?}]"
        );
        for element in self.web.find_all(By::XPath(path)).await? {
            if element.is_displayed().await? {
                return element.click().await.with_context(|| format!("clicking {label:?}"));
            }
        }
        bail!("no visible button reads {label:?}; the page reads: {}", self.text().await?)
    }

    /// Presses keys where the focus is.
    ///
    /// # Errors
    /// The browser is gone.
    pub async fn press(&self, keys: impl Into<TypingData>) -> Result<()> {
        Ok(self.web.action_chain().send_keys(keys).perform().await?)
    }

    /// Everything that went wrong on the page since it was opened: console errors and warnings, exceptions, violations
    /// of the policy.
    ///
    /// # Errors
    /// The browser is gone.
    pub async fn complaints(&self) -> Result<Vec<String>> {
        let mut list = Vec::new();
        for entry in self.web.get_log("browser").await? {
            if ["SEVERE", "WARNING"].contains(&entry.level.as_str()) {
                list.push(format!("console {}: {}", entry.level, entry.message));
            }
        }
        let kept = self.script("return [...e2e.violations, ...e2e.errors]", json!([])).await?;
        let kept = kept.as_array().cloned().unwrap_or_default();
        list.extend(kept.iter().map(|entry| format!("page: {entry}")));
        Ok(list)
    }

    /// Sets size and colour scheme.
    ///
    /// # Errors
    /// The browser refuses it.
    pub async fn appear(&self, width: u32, height: u32, scheme: &str) -> Result<()> {
        let size = json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false});
        self.command("Emulation.setDeviceMetricsOverride", size).await?;
        let media = json!({"features": [{"name": "prefers-color-scheme", "value": scheme}]});
        self.command("Emulation.setEmulatedMedia", media).await?;
        Ok(())
    }

    /// What is seen, as a PNG file.
    ///
    /// # Errors
    /// The file cannot be written.
    pub async fn screenshot(&self, file: &Path) -> Result<Vec<u8>> {
        let png = self.web.screenshot_as_png().await?;
        std::fs::write(file, &png).with_context(|| format!("{} cannot be written", file.display()))?;
        Ok(png)
    }

    /// Memory of the driver and of every process below it in MB, what they share counted once (Linux: `Pss`).
    ///
    /// # Errors
    /// The system does not tell it.
    pub fn memory_mb(&self) -> Result<u64> {
        let mut family = vec![self.driver.0.id()];
        let mut parents = Vec::new();
        for entry in std::fs::read_dir("/proc").context("/proc cannot be read")? {
            let Some(id) = entry?.file_name().to_str().and_then(|name| name.parse::<u32>().ok()) else {
                continue;
            };
            // a process may end meanwhile
            let Ok(stat) = std::fs::read_to_string(format!("/proc/{id}/stat")) else { continue };
            let parent =
                stat.rsplit(')').next().and_then(|rest| rest.split_whitespace().nth(1)?.parse().ok());
            parents.push((id, parent.unwrap_or(0)));
        }
        let mut at = 0;
        while let Some(&above) = family.get(at) {
            family.extend(parents.iter().filter(|(_, parent)| *parent == above).map(|(id, _)| *id));
            at += 1;
        }
        let mut kilobytes = 0;
        for id in family {
            let Ok(text) = std::fs::read_to_string(format!("/proc/{id}/smaps_rollup")) else { continue };
            let line = text.lines().find_map(|line| line.strip_prefix("Pss:"));
            kilobytes +=
                line.and_then(|line| line.split_whitespace().next()?.parse::<u64>().ok()).unwrap_or(0);
        }
        ensure!(kilobytes > 0, "the system does not tell the memory of the browser");
        Ok(kilobytes * 1024 / 1_000_000)
    }

    /// Ends the session.
    ///
    /// # Errors
    /// The driver does not answer.
    pub async fn quit(self) -> Result<()> {
        Ok(self.web.quit().await?)
    }
}

fn is_listening(port: u16) -> bool {
    let ask = || -> std::io::Result<bool> {
        let mut stream = TcpStream::connect(("127.0.0.1", port))?;
        stream.set_read_timeout(Some(Duration::from_secs(2)))?;
        write!(stream, "GET /status HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n")?;
        // not to the end: the driver keeps the connection open
        let mut answer = [0; 12];
        stream.read_exact(&mut answer)?;
        Ok(answer == *b"HTTP/1.1 200")
    };
    ask().unwrap_or(false)
}
