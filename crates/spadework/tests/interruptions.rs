//! Five hundred interruptions while jobs are written down through the server: it is killed, connections
//! are cut before, within and after a request, entries are sent again. No entry that was acknowledged is
//! lost, none is there twice, and what was never acknowledged is there once it is sent again.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers stand outside the test functions

use farmbook::{Block, BlockKind, Book, Farm, Shape, new_mark};
use quantity::Area;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Shutdown, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

const INTERRUPTIONS: u32 = 500;
/// As many seconds at most for an answer.
const PATIENCE: Duration = Duration::from_secs(10);

/// Numbers that look like chance and are the same in every run (xorshift, Marsaglia 2003).
struct Chance(u64);

impl Chance {
    fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % most
    }
}

struct Server {
    child: Child,
    address: String,
}

impl Server {
    fn start(book: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_spadework"))
            .args(["--json", "serve", "--port", "0"])
            .arg(book)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        let said: serde_json::Value = serde_json::from_str(&line).unwrap();
        let address = said["address"].as_str().unwrap();
        let address = address.trim_start_matches("http://").trim_end_matches('/');
        Self {
            address: address.to_owned(),
            child,
        }
    }

    fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    fn request(&self, mark: &str, lb: u64) -> Vec<u8> {
        let body = format!(
            "answer=short&mark={mark}&block=North&material=feather_meal&amount={lb}+lb&day=2026-03-02&person=Ada"
        );
        format!(
            "POST /log HTTP/1.1\r\nHost: {}\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            self.address,
            body.len()
        )
        .into_bytes()
    }

    fn connect(&self) -> Option<TcpStream> {
        let stream = TcpStream::connect(&self.address).ok()?;
        stream.set_read_timeout(Some(PATIENCE)).ok()?;
        Some(stream)
    }

    /// Sends a whole request and says whether the book’s acknowledgement came back.
    fn send(&self, mark: &str, lb: u64) -> bool {
        let Some(mut stream) = self.connect() else {
            return false;
        };
        let mut answer = String::new();
        stream.write_all(&self.request(mark, lb)).is_ok()
            && stream.read_to_string(&mut answer).is_ok()
            && answer.starts_with("HTTP/1.1 200")
            && answer.contains("kept as entry")
    }
}

#[test]
fn five_hundred_interruptions_lose_nothing_and_double_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.book");
    let mut book = Book::create(&path, &Farm::new("Plover Bank", 2026)).unwrap();
    let ground = Shape::Stated {
        area: Area::acres(0.5),
    };
    book.add_block(&Block::new("North", BlockKind::Field, ground))
        .unwrap();
    drop(book);

    let mut chance = Chance(0x005E_ED0F_5EED);
    let mut server = Server::start(&path);
    // What the phone has written, and what it still holds.
    let mut written: BTreeMap<String, u64> = BTreeMap::new();
    let mut waiting: BTreeSet<String> = BTreeSet::new();
    let mut kinds = [0u32; 5];
    for n in 0..INTERRUPTIONS {
        let (mark, lb) = (new_mark(), 1 + chance.below(200));
        written.insert(mark.clone(), lb);
        waiting.insert(mark.clone());
        let kind = chance.below(5) as usize;
        kinds[kind] += 1;
        match kind {
            // Killed while the request is on its way or being written.
            0 => {
                let wait = chance.below(6_000);
                let acknowledged = std::thread::scope(|s| {
                    let sent = s.spawn(|| server.send(&mark, lb));
                    std::thread::sleep(Duration::from_micros(wait));
                    server_kill(&server);
                    sent.join().unwrap()
                });
                if acknowledged {
                    waiting.remove(&mark);
                }
                server.kill();
                server = Server::start(&path);
            }
            // The signal goes with half of the request sent.
            1 => {
                let request = server.request(&mark, lb);
                let part = chance.below(request.len() as u64) as usize;
                let mut stream = server.connect().unwrap();
                let _ = stream.write_all(&request[..part]);
                let _ = stream.shutdown(Shutdown::Both);
            }
            // It goes before the answer is read.
            2 => {
                let mut stream = server.connect().unwrap();
                let _ = stream.write_all(&server.request(&mark, lb));
                std::thread::sleep(Duration::from_micros(chance.below(3_000)));
                let _ = stream.shutdown(Shutdown::Both);
            }
            // Two windows send the same entry at once.
            3 => {
                let both = std::thread::scope(|s| {
                    let one = s.spawn(|| server.send(&mark, lb));
                    let two = s.spawn(|| server.send(&mark, lb));
                    one.join().unwrap() || two.join().unwrap()
                });
                if both {
                    waiting.remove(&mark);
                }
            }
            // The page is loaded again: all that waits is sent again, and something that does not.
            _ => {
                waiting.retain(|mark| !server.send(mark, written[mark]));
                let any = written.keys().nth(chance.below(u64::from(n) + 1) as usize);
                if let Some(mark) = any {
                    server.send(mark, written[mark]);
                }
            }
        }
        if n % 100 == 99 {
            whole(&path, &written, &waiting);
        }
    }
    waiting.retain(|mark| !server.send(mark, written[mark]));
    assert!(waiting.is_empty(), "all that waited was taken: {waiting:?}");
    server.kill();
    whole(&path, &written, &waiting);
    assert!(kinds.iter().all(|k| *k > 50), "{kinds:?}");
}

/// A kill from beside the thread that waits for the answer.
fn server_kill(server: &Server) {
    let id = server.child.id().to_string();
    Command::new("kill").args(["-9", &id]).status().unwrap();
}

/// Every acknowledged entry is in the book with its weight, none twice, and nothing that nobody wrote.
fn whole(path: &Path, written: &BTreeMap<String, u64>, waiting: &BTreeSet<String>) {
    let book = Book::open(path).unwrap();
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
    let mut seen = BTreeSet::new();
    for s in book.all_spreads().unwrap() {
        assert_eq!(s.weight.to_pounds(), written[&s.mark] as f64);
        assert!(seen.insert(s.mark.clone()), "{} stands twice", s.mark);
    }
    for mark in written.keys().filter(|m| !waiting.contains(*m)) {
        assert!(seen.contains(mark), "{mark} was acknowledged and is lost");
    }
}
