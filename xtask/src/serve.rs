//! A small file server for one folder on the loopback address. The end-to-end tests use this very file.

use anyhow::{Context, Result, ensure};
use std::fs;
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// Longest request head that is read.
const HEAD_LIMIT: u64 = 16 * 1024;

/// A server bound to its port.
pub struct Server {
    listener: TcpListener,
    root: PathBuf,
}

impl Server {
    /// Binds to a port of 127.0.0.1; 0 takes a free one.
    ///
    /// # Errors
    /// The folder is not there, or the port is taken (the message says what to do).
    pub fn bind(root: &Path, port: u16) -> Result<Server> {
        let root = root.canonicalize().with_context(|| format!("{} is not there", root.display()))?;
        let listener = TcpListener::bind(("127.0.0.1", port)).with_context(|| {
            format!(
                "port {port} of 127.0.0.1 is taken, perhaps by an earlier `cargo xtask run`. Stop that one: the port \
                 is fixed, because what the browser keeps belongs to it"
            )
        })?;
        Ok(Server { listener, root })
    }

    /// `http://127.0.0.1:` and the port.
    ///
    /// # Errors
    /// The system does not tell the port.
    pub fn address(&self) -> Result<String> {
        Ok(format!("http://{}", self.listener.local_addr()?))
    }

    /// Answers until the process ends. `on_request` gets each request line.
    pub fn run(self, on_request: impl Fn(&str) + Send + Sync + 'static) {
        let (root, on_request) = (Arc::new(self.root), Arc::new(on_request));
        for stream in self.listener.incoming().flatten() {
            let (root, on_request) = (Arc::clone(&root), Arc::clone(&on_request));
            std::thread::spawn(move || {
                // a browser that hangs up in the middle is nobody's fault
                let _ = answer(&stream, &root, &*on_request);
            });
        }
    }
}

fn answer(mut stream: &TcpStream, root: &Path, on_request: &dyn Fn(&str)) -> Result<()> {
    stream.set_read_timeout(Some(Duration::from_secs(10)))?;
    let mut head = Vec::new();
    let mut reader = stream.take(HEAD_LIMIT);
    let mut buffer = [0; 1024];
    while !head.windows(4).any(|end| end == b"\r\n\r\n") {
        let count = reader.read(&mut buffer)?;
        if count == 0 {
            break;
        }
        head.extend_from_slice(&buffer[..count]);
    }
    let text = String::from_utf8_lossy(&head);
    let line = text.lines().next().unwrap_or_default();
    if line.is_empty() {
        return Ok(()); // a connection opened ahead of need and not used
    }
    on_request(line);
    let mut words = line.split(' ');
    let (method, path) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
    let is_head = method == "HEAD";
    let (status, kind, body) = if method != "GET" && !is_head {
        ("405 Method Not Allowed", "text/plain; charset=utf-8", b"only GET and HEAD\n".to_vec())
    } else {
        match find(root, path).and_then(|file| Ok((content_type(&file), fs::read(file)?))) {
            Ok((kind, body)) => ("200 OK", kind, body),
            Err(_) => ("404 Not Found", "text/plain; charset=utf-8", b"not here\n".to_vec()),
        }
    };
    write!(
        stream,
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nCache-Control: no-cache\r\n\
         X-Content-Type-Options: nosniff\r\nAllow: GET, HEAD\r\nConnection: close\r\n\r\n",
        body.len()
    )?;
    if !is_head {
        stream.write_all(&body)?;
    }
    Ok(())
}

/// The file that a request path means. Never one outside the folder, never a folder.
fn find(root: &Path, target: &str) -> Result<PathBuf> {
    let path = target.split(['?', '#']).next().unwrap_or_default();
    let path = path.strip_prefix('/').context("not a path")?;
    // our own names need no escapes, so none are understood
    ensure!(!path.contains(['%', '\\', '\0', ':']), "not a plain path");
    let name = if path.is_empty() { "index.html" } else { path };
    let plain = Path::new(name).components().all(|part| matches!(part, Component::Normal(_)));
    ensure!(plain, "not a plain path");
    let file = root.join(name).canonicalize()?;
    ensure!(file.starts_with(root) && file.is_file(), "not a file of this folder");
    Ok(file)
}

fn content_type(file: &Path) -> &'static str {
    match file.extension().and_then(|ending| ending.to_str()) {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("json") => "application/json",
        Some("wasm") => "application/wasm",
        Some("png") => "image/png",
        Some("svg") => "image/svg+xml",
        Some("txt") => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
