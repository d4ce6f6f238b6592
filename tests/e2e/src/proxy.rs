//! A proxy that listens: it notes every request line, passes on what goes to one allowed address, and answers
//! all else with 502.
//!
//! Lists kept by the browser miss requests made in workers; a proxy that the browser must use misses nothing.

use anyhow::Result;
use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// A running proxy.
pub struct Proxy {
    /// `127.0.0.1:` and its port.
    pub address: String,
    lines: Arc<Mutex<Vec<String>>>,
}

impl Proxy {
    /// Starts one. `allowed` is the address of the site under test.
    ///
    /// # Errors
    /// No port is free.
    pub fn start(allowed: &str) -> Result<Proxy> {
        let listener = TcpListener::bind("127.0.0.1:0")?;
        let address = listener.local_addr()?.to_string();
        let lines = Arc::new(Mutex::new(Vec::new()));
        let (log, allowed) = (Arc::clone(&lines), allowed.to_string());
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let (log, allowed) = (Arc::clone(&log), allowed.clone());
                // a connection that breaks off has been noted by then
                std::thread::spawn(move || drop(handle(stream, &allowed, &log)));
            }
        });
        Ok(Proxy { address, lines })
    }

    /// Request lines so far, without those that the browser makes for itself at start.
    pub fn lines(&self) -> Vec<String> {
        let lines = self.lines.lock().unwrap_or_else(PoisonError::into_inner);
        lines.iter().filter(|line| !is_browsers_own(line)).cloned().collect()
    }

    /// Forgets what was noted.
    pub fn clear(&self) {
        self.lines.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }
}

/// Hosts that Chromium asks on its own account, whatever page is open.
const BROWSERS_OWN: [&str; 10] = [
    "accounts.google.com",
    "clients2.google.com",
    "optimizationguide-pa.googleapis.com",
    "content-autofill.googleapis.com",
    "update.googleapis.com",
    "redirector.gvt1.com",
    "edgedl.me.gvt1.com",
    "safebrowsing.googleapis.com",
    "safebrowsingohttpgateway.googleapis.com",
    "www.google.com",
];

fn is_browsers_own(line: &str) -> bool {
    let target = line.split(' ').nth(1).unwrap_or_default();
    let host = target.split("://").last().unwrap_or_default().split(['/', ':']).next().unwrap_or_default();
    BROWSERS_OWN.contains(&host)
}

fn handle(mut client: TcpStream, allowed: &str, log: &Mutex<Vec<String>>) -> Result<()> {
    client.set_read_timeout(Some(Duration::from_secs(10)))?;
    let mut head = Vec::new();
    let mut buffer = [0; 4096];
    while !head.windows(4).any(|end| end == b"\r\n\r\n") && head.len() < 64 * 1024 {
        let count = client.read(&mut buffer)?;
        if count == 0 {
            break;
        }
        head.extend_from_slice(&buffer[..count]);
    }
    let text = String::from_utf8_lossy(&head).into_owned();
    let line = text.lines().next().unwrap_or("(empty)").to_string();
    log.lock().unwrap_or_else(PoisonError::into_inner).push(line.clone());
    let Some(path) =
        line.strip_prefix("GET ").and_then(|rest| rest.strip_prefix(&format!("http://{allowed}")))
    else {
        client.write_all(b"HTTP/1.1 502 Bad Gateway\r\nContent-Length: 0\r\nConnection: close\r\n\r\n")?;
        return Ok(());
    };
    let mut site = TcpStream::connect(allowed)?;
    // In one piece: who answers before all of it was read may close with a reset, and the answer would be lost.
    site.write_all(format!("GET {path}\r\nHost: {allowed}\r\nConnection: close\r\n\r\n").as_bytes())?;
    std::io::copy(&mut site, &mut client)?;
    client.shutdown(Shutdown::Both)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{Proxy, is_browsers_own};
    use std::io::{Read, Write};
    use std::net::{TcpListener, TcpStream};

    #[test]
    fn only_whole_host_names_are_the_browsers_own() {
        assert!(is_browsers_own("CONNECT accounts.google.com:443 HTTP/1.1"));
        assert!(is_browsers_own("CONNECT redirector.gvt1.com:443 HTTP/1.1"));
        assert!(is_browsers_own("GET http://clients2.google.com/x HTTP/1.1"));
        assert!(!is_browsers_own("CONNECT canary.invalid:443 HTTP/1.1"));
        assert!(!is_browsers_own("GET http://canary.invalid/accounts.google.com HTTP/1.1"));
        assert!(!is_browsers_own("CONNECT accounts.google.com.canary.invalid:443 HTTP/1.1"));
    }

    #[test]
    fn all_is_noted_and_only_the_allowed_address_is_reached() {
        let site = TcpListener::bind("127.0.0.1:0").unwrap();
        let allowed = site.local_addr().unwrap().to_string();
        let proxy = Proxy::start(&allowed).unwrap();
        std::thread::spawn(move || {
            let (mut stream, _) = site.accept().unwrap();
            let count = stream.read(&mut [0; 1000]).unwrap();
            assert!(count > 0);
            stream.write_all(b"HTTP/1.1 200 OK\r\n\r\nhello").unwrap();
        });
        let ask = |line: &str| {
            let mut stream = TcpStream::connect(&proxy.address).unwrap();
            write!(stream, "{line} HTTP/1.1\r\nHost: x\r\n\r\n").unwrap();
            let mut answer = String::new();
            stream.read_to_string(&mut answer).unwrap();
            answer
        };
        assert!(ask(&format!("GET http://{allowed}/a")).ends_with("hello"));
        assert!(ask("GET http://canary.invalid/").starts_with("HTTP/1.1 502"));
        assert!(ask("CONNECT canary.invalid:443").starts_with("HTTP/1.1 502"));
        assert_eq!(proxy.lines().len(), 3);
        proxy.clear();
        assert!(proxy.lines().is_empty());
    }
}
