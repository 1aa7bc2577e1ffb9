//! Requests by hand, for what the client would never send and for answers down to their bytes.

use reqwest::Method;
use reqwest::header::HeaderMap;
use serde::de::DeserializeOwned;
use serde_json::Value;
use types::{PROBLEM_MEDIA_TYPE, Problem, ProblemKind, Role};

use crate::TestServer;

/// A request that is being put together.
#[derive(Debug)]
pub struct Ask {
    request: reqwest::RequestBuilder,
}

/// An answer, read to its end.
#[derive(Clone, Debug)]
pub struct Heard {
    /// The HTTP status.
    pub status: u16,
    /// The headers.
    pub headers: HeaderMap,
    /// The body as it came.
    pub body: Vec<u8>,
}

impl TestServer {
    /// A request with the owner's key.
    pub fn ask(&self, method: &str, path: &str) -> Ask {
        self.ask_as(self.key(Role::Own), method, path)
    }

    /// A request with that secret.
    pub fn ask_as(&self, secret: &str, method: &str, path: &str) -> Ask {
        let Ask { request } = self.ask_without_key(method, path);
        Ask {
            request: request.bearer_auth(secret),
        }
    }

    /// A request without a key.
    pub fn ask_without_key(&self, method: &str, path: &str) -> Ask {
        let http = reqwest::Client::builder()
            .no_proxy()
            .tls_certs_only([])
            .redirect(reqwest::redirect::Policy::none())
            .build()
            .expect("a client");
        let method = Method::from_bytes(method.as_bytes()).expect("a method");
        Ask {
            request: http.request(method, format!("{}{path}", self.url)),
        }
    }
}

impl Ask {
    /// Adds a header.
    #[must_use]
    pub fn header(self, name: &str, value: &str) -> Self {
        Self {
            request: self.request.header(name, value),
        }
    }

    /// Adds an `Idempotency-Key`.
    #[must_use]
    pub fn once(self, key: &str) -> Self {
        self.header("Idempotency-Key", key)
    }

    /// Adds an `If-Match` with that version.
    #[must_use]
    pub fn if_match(self, version: i64) -> Self {
        self.header("If-Match", &format!("\"{version}\""))
    }

    /// Adds a body of JSON.
    #[must_use]
    pub fn json(self, body: &Value) -> Self {
        self.text("application/json", body.to_string())
    }

    /// Adds a body of any kind.
    #[must_use]
    pub fn text(self, media_type: &str, body: impl Into<reqwest::Body>) -> Self {
        Self {
            request: self.request.header("Content-Type", media_type).body(body),
        }
    }

    /// Sends it and reads the answer.
    pub async fn send(self) -> Heard {
        let response = self.request.send().await.expect("an answer");
        Heard {
            status: response.status().as_u16(),
            headers: response.headers().clone(),
            body: response.bytes().await.expect("a whole answer").to_vec(),
        }
    }
}

impl Heard {
    /// The body, read as JSON.
    pub fn read<T: DeserializeOwned>(&self) -> T {
        serde_json::from_slice(&self.body).unwrap_or_else(|error| {
            panic!("{}: {error}: {}", self.status, self.text());
        })
    }

    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// A header, or nothing.
    pub fn header(&self, name: &str) -> &str {
        let value = self.headers.get(name);
        value
            .and_then(|value| value.to_str().ok())
            .unwrap_or_default()
    }

    /// The problem, which must be of that kind and well formed in every respect.
    pub fn problem(&self, kind: ProblemKind) -> Problem {
        let problem: Problem = self.read();
        assert_eq!(problem.slug(), kind.slug(), "{problem:?}");
        assert_eq!(self.status, kind.status(), "{problem:?}");
        assert_eq!(problem.status, kind.status(), "{problem:?}");
        assert_eq!(problem.title, kind.title(), "{problem:?}");
        assert_eq!(
            problem.kind,
            format!("https://tigstock.example/problems#{}", kind.slug())
        );
        assert_eq!(self.header("Content-Type"), PROBLEM_MEDIA_TYPE);
        assert!(!problem.detail.trim().is_empty(), "{problem:?}");
        let id = problem.instance.strip_prefix("urn:uuid:");
        let id = id.and_then(|id| uuid::Uuid::parse_str(id).ok());
        assert!(id.is_some(), "{problem:?}");
        for told in &problem.violations {
            assert!(
                told.pointer.starts_with(['/', '?']) || told.pointer == "Idempotency-Key",
                "{problem:?}"
            );
            assert!(!told.detail.trim().is_empty(), "{problem:?}");
        }
        problem
    }
}
