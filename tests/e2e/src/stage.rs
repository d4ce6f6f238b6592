//! The page under test in one of its two forms, in a browser of its own, and the steps that many checks share.

use crate::browser::{Browser, Programs};
use crate::proxy::Proxy;
use crate::serve::Server;
use anyhow::{Context, Result, ensure};
use base64::{Engine, engine::general_purpose::STANDARD};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::time::Duration;
use thirtyfour::prelude::*;

/// How the page is delivered.
#[derive(Clone, Copy, PartialEq)]
pub enum Form {
    /// `dist/limner.html`, opened from disk.
    OneFile,
    /// `dist/site/`, from a server on this machine.
    Site,
}

impl Form {
    /// As it is called in the report.
    pub fn name(self) -> &'static str {
        match self {
            Form::OneFile => "one file",
            Form::Site => "site",
        }
    }
}

/// One form of the page in its browser.
pub struct Stage {
    /// The browser.
    pub browser: Browser,
    /// Hears every request that the browser makes.
    pub proxy: Proxy,
    /// Which form it is.
    pub form: Form,
    /// Where the page is.
    pub url: String,
    /// A folder for files that checks make.
    pub scratch: PathBuf,
    /// For checks that start a browser of their own.
    pub programs: Programs,
}

/// A path in the repository.
pub fn repository(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(path)
}

/// How many maps the example has: one in each TIFF file of its folder.
///
/// # Errors
/// The folder cannot be read, or holds none.
pub fn maps_of_example() -> Result<usize> {
    let folder = repository("demo-data/tern-sound");
    let mut count = 0;
    for entry in std::fs::read_dir(&folder).with_context(|| format!("{} cannot be read", folder.display()))? {
        count += usize::from(entry?.path().extension().is_some_and(|end| end == "tif"));
    }
    ensure!(count > 0, "{} holds no maps", folder.display());
    Ok(count)
}

/// What is true of the example, as it was made.
///
/// # Errors
/// It cannot be read.
pub fn truth() -> Result<Value> {
    let bytes = std::fs::read(repository("demo-data/truth/truth.json"));
    Ok(serde_json::from_slice(&bytes.context("demo-data/truth/truth.json cannot be read")?)?)
}

/// The matrix, row by row, that takes a place of the example's photo to its place on the maps, as the example was made.
///
/// # Errors
/// [`truth`] fails, or holds none.
pub fn photo_to_grid() -> Result<[f64; 9]> {
    let rows: [[f64; 3]; 3] = serde_json::from_value(truth()?["photo_to_grid"].clone())?;
    rows.concat().try_into().ok().context("no matrix")
}

/// SHA-256 as hexadecimal text.
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Files in the form that `e2e.files` of the page takes.
///
/// # Errors
/// One cannot be read.
pub fn carried(paths: &[PathBuf]) -> Result<Value> {
    let mut list = Vec::new();
    for path in paths {
        let bytes = std::fs::read(path).with_context(|| format!("{} cannot be read", path.display()))?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        list.push(json!({"name": name, "base64": STANDARD.encode(bytes)}));
    }
    Ok(Value::Array(list))
}

impl Stage {
    /// Starts the browser and, for the site, its server.
    ///
    /// # Errors
    /// The page is not built, or the browser does not start.
    pub async fn set_up(programs: &Programs, form: Form) -> Result<Stage> {
        let (url, allowed) = match form {
            Form::OneFile => {
                let file = repository("dist/limner.html").canonicalize();
                let file = file.context("dist/limner.html is not there; `cargo xtask build` makes it")?;
                (format!("file://{}", file.display()), "127.0.0.1:0".to_string())
            }
            Form::Site => {
                let server = Server::bind(&repository("dist/site"), 0)?;
                let address = server.address()?;
                std::thread::spawn(move || server.run(|_| ()));
                let allowed = address.trim_start_matches("http://").to_string();
                (format!("{address}/"), allowed)
            }
        };
        let proxy = Proxy::start(&allowed)?;
        let name = form.name().replace(' ', "-");
        let browser = Browser::start(programs, &proxy, &name).await?;
        browser.forget_always().await?;
        Ok(Stage { browser, proxy, form, url, scratch: programs.scratch.clone(), programs: programs.clone() })
    }

    /// Opens the page anew. From here on every complaint and every request counts; the site's own loading does not.
    ///
    /// # Errors
    /// The page does not become ready.
    pub async fn fresh(&self) -> Result<()> {
        self.browser.web.goto("about:blank").await?;
        self.browser.web.get_log("browser").await?;
        self.proxy.clear();
        self.browser.open(&self.url).await?;
        if self.form == Form::Site {
            self.proxy.clear();
        }
        Ok(())
    }

    /// Nothing went wrong and nothing was asked of the network since [`Stage::fresh`].
    ///
    /// # Errors
    /// Something did.
    pub async fn is_clean(&self) -> Result<()> {
        let complaints = self.browser.complaints().await?;
        ensure!(complaints.is_empty(), "the page complains: {complaints:?}");
        let lines = self.proxy.lines();
        ensure!(lines.is_empty(), "the page made requests: {lines:?}");
        Ok(())
    }

    /// Runs the body of an async function in the page; see [`Browser::script`].
    ///
    /// # Errors
    /// As there.
    pub async fn script(&self, body: &str, args: Value) -> Result<Value> {
        self.browser.script(body, args).await
    }

    /// Opens the example by its call and waits until it has come.
    ///
    /// # Errors
    /// It does not come.
    pub async fn example(&self) -> Result<()> {
        let opened = self.script("return limner.open_demo()", json!([])).await?;
        let count = opened["maps"].as_array().map_or(0, Vec::len);
        let wanted = maps_of_example()?;
        ensure!(count == wanted, "the example has {wanted} maps, {count} came: {opened}");
        self.example_has_come().await
    }

    /// Opens some maps of the example, by what their file names say, and its photo: for checks that need no more, because all
    /// maps take some seconds.
    ///
    /// # Errors
    /// They do not come.
    pub async fn part_of_example(&self, names: &[&str]) -> Result<()> {
        let folder = repository("demo-data/tern-sound");
        let mut files: Vec<PathBuf> =
            names.iter().map(|name| folder.join(format!("tern_{name}.tif"))).collect();
        files.push(folder.join("photo.png"));
        self.script("await limner.open(e2e.files(args[0]))", json!([carried(&files)?])).await?;
        self.has_come(names.len()).await
    }

    /// Waits until the whole example has come, which was asked for.
    ///
    /// # Errors
    /// It does not come.
    pub async fn example_has_come(&self) -> Result<()> {
        self.has_come(maps_of_example()?).await
    }

    /// Waits until so many maps and a photo stand on the sheet, a picture in the view, and above it what the look through the
    /// stack found.
    async fn has_come(&self, maps: usize) -> Result<()> {
        let all = format!("document.querySelectorAll('.sheet-picture').length === {}", maps + 1);
        self.browser.wait(&all, 60).await.context("the example does not come")?;
        self.looked_through().await?;
        self.sees("\"map\"").await
    }

    /// Waits until the page has looked through the stack by itself and shows what it found, so that nothing on it moves any more.
    ///
    /// # Errors
    /// It does not.
    pub async fn looked_through(&self) -> Result<()> {
        self.browser.wait("e2e.session().e2e_actions.has('inspect')", 60).await.context("no look through")?;
        // calls are answered in their order
        self.script("await limner.inspect()", json!([])).await?;
        self.pause().await;
        Ok(())
    }

    /// Waits until the view shows a picture whose settings hold this text, and all small pictures in sight are drawn.
    ///
    /// # Errors
    /// It does not come.
    pub async fn sees(&self, text: &str) -> Result<()> {
        let shown =
            format!("document.querySelector('.view-canvas').dataset.shown?.includes({})", json!(text));
        self.browser.wait(&shown, 30).await?;
        self.browser.wait("e2e.sheet_is_drawn()", 30).await
    }

    /// Waits for the sentence of an answer and gives it.
    ///
    /// # Errors
    /// None comes.
    pub async fn answer(&self) -> Result<String> {
        let there = "document.querySelector('.answer')?.hidden === false && document.querySelector('.answer-sentence')?.textContent";
        let come = self.browser.wait(there, 30).await;
        come.with_context(|| "no answer came".to_string())?;
        let text =
            self.script("return document.querySelector('.answer-sentence').textContent", json!([])).await?;
        Ok(text.as_str().unwrap_or_default().to_string())
    }

    /// Clicks the first visible element of this selector.
    ///
    /// # Errors
    /// There is none, or something covers it.
    pub async fn click(&self, selector: &str) -> Result<()> {
        for element in self.browser.web.find_all(By::Css(selector)).await? {
            if element.is_displayed().await? {
                return element.click().await.with_context(|| format!("clicking {selector}"));
            }
        }
        anyhow::bail!("nothing visible is {selector}")
    }

    /// Chooses a question by its key, and its maps by their labels, with the mouse.
    ///
    /// # Errors
    /// One of them is not offered.
    pub async fn ask(&self, question: &str, settings: &[(&str, &str)]) -> Result<String> {
        self.browser.click(&self.label_of(question).await?).await?;
        for (setting, label) in settings {
            self.click(&format!("[data-setting='{setting}']")).await?;
            self.browser.wait("document.querySelector('.listbox') !== null", 5).await?;
            let path = format!("//*[@role='option'][.//span[@class='listbox-text' and .='{label}']]");
            let option = self.browser.web.find(By::XPath(&path)).await;
            option.with_context(|| format!("no choice {label}"))?.click().await?;
        }
        self.answer().await
    }

    /// The words of a question's button.
    ///
    /// # Errors
    /// There is no such question.
    pub async fn label_of(&self, question: &str) -> Result<String> {
        let find = "return (await limner.questions()).find(({ key }) => key === args[0])?.label ?? null";
        let label = self.script(find, json!([question])).await?;
        Ok(label.as_str().with_context(|| format!("there is no question {question}"))?.to_string())
    }

    /// Gives what is still on its way to the network time to leave.
    pub async fn pause(&self) {
        tokio::time::sleep(Duration::from_millis(400)).await;
    }
}
