//! Tests of the file server, apart from it because the end-to-end tests compile the server too.

use crate::{place, serve::Server};
use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::{Arc, Mutex};

/// Starts a server over a fresh folder and returns its port and its log.
fn started(name: &str) -> (u16, Arc<Mutex<Vec<String>>>) {
    let root = place::target(&format!("test-serve-{name}"));
    fs::create_dir_all(root.join("site/inner")).unwrap();
    fs::write(root.join("secret.txt"), "secret").unwrap();
    fs::write(root.join("site/index.html"), "<p>hello").unwrap();
    fs::write(root.join("site/inner/a.js"), "a;").unwrap();
    let server = Server::bind(&root.join("site"), 0).unwrap();
    let port = server.address().unwrap().rsplit(':').next().unwrap().parse().unwrap();
    let log = Arc::new(Mutex::new(Vec::new()));
    let kept = Arc::clone(&log);
    std::thread::spawn(move || server.run(move |line| kept.lock().unwrap().push(line.to_string())));
    (port, log)
}

fn ask(port: u16, request: &str) -> String {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    write!(stream, "{request} HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n").unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    answer
}

#[test]
fn files_come_with_their_type_and_each_request_is_noted() {
    let (port, log) = started("types");
    let page = ask(port, "GET /");
    assert!(
        page.starts_with("HTTP/1.1 200 OK\r\n")
            && page.contains("Content-Type: text/html; charset=utf-8\r\n")
    );
    assert!(page.ends_with("\r\n\r\n<p>hello"), "{page}");
    let script = ask(port, "GET /inner/a.js?x=1");
    assert!(
        script.contains("Content-Type: text/javascript; charset=utf-8\r\n") && script.ends_with("\r\n\r\na;")
    );
    assert_eq!(*log.lock().unwrap(), ["GET / HTTP/1.1", "GET /inner/a.js?x=1 HTTP/1.1"]);
}

#[test]
fn head_gives_the_length_only_and_other_methods_are_refused() {
    let (port, _) = started("methods");
    let head = ask(port, "HEAD /index.html");
    assert!(head.contains("Content-Length: 8\r\n") && head.ends_with("\r\n\r\n"), "{head}");
    for method in ["POST", "PUT", "DELETE", "OPTIONS"] {
        assert!(ask(port, &format!("{method} /")).starts_with("HTTP/1.1 405 "));
    }
}

#[test]
fn nothing_outside_the_folder_and_no_listing() {
    let (port, _) = started("escape");
    for path in [
        "/../secret.txt",
        "/inner/../../secret.txt",
        "/%2e%2e/secret.txt",
        "/..%2fsecret.txt",
        "/..\\secret.txt",
        "//etc/passwd",
        "/inner",
        "/inner/",
        "/absent.js",
        "secret.txt",
    ] {
        let answer = ask(port, &format!("GET {path}"));
        assert!(answer.starts_with("HTTP/1.1 404 "), "{path}: {answer}");
        assert!(!answer.ends_with("secret"), "{path}");
    }
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_out_is_not_followed() {
    let (port, _) = started("link");
    let link = place::target("test-serve-link/site/out.txt");
    if !link.exists() {
        std::os::unix::fs::symlink(place::target("test-serve-link/secret.txt"), &link).unwrap();
    }
    assert!(ask(port, "GET /out.txt").starts_with("HTTP/1.1 404 "));
}

#[test]
fn a_taken_port_is_said_plainly() {
    let (port, _) = started("taken");
    let message = Server::bind(&place::target("test-serve-taken/site"), port).err().unwrap().to_string();
    assert!(message.contains(&format!("port {port} of 127.0.0.1 is taken")), "{message}");
}
