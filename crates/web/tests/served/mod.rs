//! The pages over a book in a folder of its own, asked without a network.
#![allow(dead_code)] // each test file uses a part

use axum::Router;
use axum::body::Body;
use axum::http::{Request, Response, StatusCode, header};
use farmbook::{Book, Farm};
use http_body_util::BodyExt;
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tower::ServiceExt;

/// What stands on a page when something failed inside; no input may lead there.
const BROKEN: &str = "Something went wrong inside";

pub struct Served {
    router: Router,
    runtime: Runtime,
    _folder: TempDir,
}

pub struct Answer {
    pub status: StatusCode,
    pub headers: axum::http::HeaderMap,
    pub bytes: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    pub fn header(&self, name: &str) -> &str {
        self.headers
            .get(name)
            .and_then(|v| v.to_str().ok())
            .unwrap_or("")
    }

    /// Neither a failure of the program nor the page that covers one.
    pub fn is_sound(&self) -> bool {
        !self.status.is_server_error() && !self.text().contains(BROKEN)
    }

    /// A page for a person, with a heading and a sentence.
    pub fn is_page(&self) -> bool {
        self.header("content-type").starts_with("text/html") && self.text().contains("<h1>")
    }
}

impl Served {
    /// The pages over the book that `make` makes at a path.
    pub fn of(make: impl FnOnce(&std::path::Path) -> Book) -> Self {
        let folder = TempDir::new().unwrap();
        let book = make(&folder.path().join("farm.book"));
        Self {
            router: web::routes(web::App::new(book).network_port(0)),
            runtime: tokio::runtime::Builder::new_multi_thread()
                .worker_threads(1)
                .enable_all()
                .build()
                .unwrap(),
            _folder: folder,
        }
    }

    /// The pages on a port of this computer, as a browser reaches them.
    pub fn listen(&self) -> std::net::SocketAddr {
        let listener = self
            .runtime
            .block_on(tokio::net::TcpListener::bind("127.0.0.1:0"))
            .unwrap();
        let address = listener.local_addr().unwrap();
        let router = self.router.clone();
        self.runtime
            .spawn(async move { axum::serve(listener, router).await });
        address
    }

    pub fn empty() -> Self {
        Self::of(|path| Book::create(path, &Farm::new("Plover Bank", 2027)).unwrap())
    }

    pub fn demo() -> Self {
        Self::of(|path| farmwork::demo::create(path, 2027).unwrap())
    }

    /// The demo with its plan.
    pub fn planned() -> Self {
        let served = Self::demo();
        served.plan();
        served
    }

    /// Makes a plan and waits for it.
    pub fn plan(&self) {
        let made = self.post("/plan", &[]);
        assert_eq!(made.status, StatusCode::SEE_OTHER, "a plan is begun");
        self.settle();
    }

    /// Waits until no search is under way.
    pub fn settle(&self) {
        for _ in 0..600 {
            let answer = self.get("/wait");
            if answer.status != StatusCode::OK {
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(100));
        }
        panic!("the search does not end");
    }

    pub fn send(&self, request: Request<Body>) -> Answer {
        self.runtime.block_on(async {
            let response: Response<Body> = self.router.clone().oneshot(request).await.unwrap();
            let (parts, body) = response.into_parts();
            Answer {
                status: parts.status,
                headers: parts.headers,
                bytes: body.collect().await.unwrap().to_bytes().to_vec(),
            }
        })
    }

    pub fn get(&self, path: &str) -> Answer {
        self.send(request("GET", path).body(Body::empty()).unwrap())
    }

    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let owned: Vec<(String, String)> = fields
            .iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect();
        self.post_owned(path, &owned)
    }

    pub fn post_owned(&self, path: &str, fields: &[(String, String)]) -> Answer {
        self.send(
            request("POST", path)
                .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
                .body(Body::from(encoded(fields)))
                .unwrap(),
        )
    }

    /// Sends a file of outlines with the fields of its form.
    pub fn outlines(&self, bytes: &[u8], fields: &[(&str, &str)]) -> Answer {
        let mut body = Vec::new();
        for (key, value) in fields {
            body.extend_from_slice(
                format!(
                    "--edge-7f\r\nContent-Disposition: form-data; name=\"{key}\"\r\n\r\n{value}\r\n"
                )
                .as_bytes(),
            );
        }
        body.extend_from_slice(
            b"--edge-7f\r\nContent-Disposition: form-data; name=\"file\"; filename=\"farm.geojson\"\r\n\r\n",
        );
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n--edge-7f--\r\n");
        let kind = "multipart/form-data; boundary=edge-7f";
        let asked = request("POST", "/ground/diagram").header(header::CONTENT_TYPE, kind);
        self.send(asked.body(Body::from(body)).unwrap())
    }

    /// Sends the form of a delivery, without a paper.
    pub fn came(&self, fields: &[(&str, &str)]) -> Answer {
        let mut body = String::new();
        for (key, value) in fields {
            body.push_str(&format!(
                "--edge-7f\r\nContent-Disposition: form-data; name=\"{key}\"\r\n\r\n{value}\r\n"
            ));
        }
        body.push_str("--edge-7f--\r\n");
        let kind = "multipart/form-data; boundary=edge-7f";
        let asked = request("POST", "/stock").header(header::CONTENT_TYPE, kind);
        self.send(asked.body(Body::from(body)).unwrap())
    }

    /// Sends a file as the form of the Lab page does.
    pub fn load(&self, name: &str, bytes: &[u8]) -> Answer {
        let name: String = name
            .chars()
            .map(|c| match c {
                '"' => "%22".to_owned(),
                c if c.is_control() => String::new(),
                c => c.to_string(),
            })
            .collect();
        let mut body = format!(
            "--edge-7f\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\
             Content-Type: text/csv\r\n\r\n"
        )
        .into_bytes();
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n--edge-7f--\r\n");
        self.send(
            request("POST", "/lab")
                .header(
                    header::CONTENT_TYPE,
                    "multipart/form-data; boundary=edge-7f",
                )
                .body(Body::from(body))
                .unwrap(),
        )
    }
}

pub fn request(method: &str, path: &str) -> axum::http::request::Builder {
    Request::builder()
        .method(method)
        .uri(path)
        .header(header::HOST, "127.0.0.1:8737")
}

/// A form as a browser sends it.
pub fn encoded(fields: &[(String, String)]) -> String {
    let part = |text: &str| -> String {
        text.bytes()
            .map(|b| match b {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => char::from(b).to_string(),
                other => format!("%{other:02X}"),
            })
            .collect()
    };
    fields
        .iter()
        .map(|(k, v)| format!("{}={}", part(k), part(v)))
        .collect::<Vec<_>>()
        .join("&")
}
