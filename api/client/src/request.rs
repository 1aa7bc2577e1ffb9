//! How a request is made and its answer read: addresses, the two headers that writes need, and the
//! three kinds of answer. Which operations there are is not known here.

use reqwest::header::IF_MATCH;
use reqwest::{Method, RequestBuilder, Response};
use serde::Serialize;
use serde::de::DeserializeOwned;
use types::Problem;

use crate::{Client, Error};

/// The header with which a caller names what must happen once.
pub(crate) const IDEMPOTENCY_KEY: &str = "Idempotency-Key";

// 202 Accepted: the only answer that is neither the one asked for nor a refusal.
const KEPT_ASIDE: u16 = 202;

// Enough of a strange answer to recognise who gave it.
const BODY_SHOWN: usize = 400;

impl Client {
    /// A request to the path made of `segments`, each of which is percent-encoded.
    pub(crate) fn request(
        &self,
        method: Method,
        segments: &[&str],
    ) -> Result<RequestBuilder, Error> {
        // An address drops such names, so the request would go to another resource.
        if let Some(name) = segments
            .iter()
            .find(|name| matches!(**name, "" | "." | ".."))
        {
            return Err(Error::Name((*name).to_owned()));
        }
        let mut url = self.base.clone();
        match url.path_segments_mut() {
            Ok(mut path) => path.pop_if_empty().extend(segments),
            Err(()) => return Err(Error::Name(segments.join("/"))),
        };
        Ok(self.http.request(method, url))
    }

    pub(crate) async fn get<T: DeserializeOwned>(&self, segments: &[&str]) -> Result<T, Error> {
        answer(self.request(Method::GET, segments)?).await
    }

    pub(crate) async fn get_with<T: DeserializeOwned>(
        &self,
        segments: &[&str],
        query: &impl Serialize,
    ) -> Result<T, Error> {
        answer(self.request(Method::GET, segments)?.query(query)).await
    }

    pub(crate) async fn create<T: DeserializeOwned>(
        &self,
        segments: &[&str],
        body: &impl Serialize,
    ) -> Result<T, Error> {
        answer(self.request(Method::POST, segments)?.json(body)).await
    }

    /// Posts without a body: what is to be done is in the path.
    pub(crate) async fn act<T: DeserializeOwned>(&self, segments: &[&str]) -> Result<T, Error> {
        answer(self.request(Method::POST, segments)?).await
    }

    pub(crate) async fn create_with<T: DeserializeOwned>(
        &self,
        segments: &[&str],
        query: &impl Serialize,
        body: &impl Serialize,
    ) -> Result<T, Error> {
        let request = self.request(Method::POST, segments)?.query(query);
        answer(request.json(body)).await
    }

    /// Posts what the service must do once however often it is sent.
    pub(crate) async fn record<T: DeserializeOwned>(
        &self,
        segments: &[&str],
        body: &impl Serialize,
        idempotency_key: &str,
    ) -> Result<T, Error> {
        let request = self
            .request(Method::POST, segments)?
            .header(IDEMPOTENCY_KEY, idempotency_key);
        answer(request.json(body)).await
    }

    pub(crate) async fn replace<T: DeserializeOwned>(
        &self,
        segments: &[&str],
        body: &impl Serialize,
        version: i64,
    ) -> Result<T, Error> {
        self.replace_with(segments, &(), body, version).await
    }

    pub(crate) async fn replace_with<T: DeserializeOwned>(
        &self,
        segments: &[&str],
        query: &impl Serialize,
        body: &impl Serialize,
        version: i64,
    ) -> Result<T, Error> {
        let request = self
            .request(Method::PUT, segments)?
            .query(query)
            .header(IF_MATCH, etag(version));
        answer(request.json(body)).await
    }

    pub(crate) async fn delete(&self, segments: &[&str], version: i64) -> Result<(), Error> {
        self.delete_with(segments, &(), version).await
    }

    pub(crate) async fn delete_with(
        &self,
        segments: &[&str],
        query: &impl Serialize,
        version: i64,
    ) -> Result<(), Error> {
        let request = self.request(Method::DELETE, segments)?.query(query);
        done(request.header(IF_MATCH, etag(version))).await
    }
}

fn etag(version: i64) -> String {
    format!("\"{version}\"")
}

/// Sends a request and reads the answer.
pub(crate) async fn answer<T: DeserializeOwned>(request: RequestBuilder) -> Result<T, Error> {
    let response = request.send().await?;
    if !response.status().is_success() {
        return Err(refusal(response).await?);
    }
    let status = response.status().as_u16();
    let body = response.bytes().await?;
    if status == KEPT_ASIDE {
        return Err(match serde_json::from_slice(&body) {
            Ok(aside) => Error::KeptAside(Box::new(aside)),
            Err(_) => unexpected(status, &body),
        });
    }
    serde_json::from_slice(&body).map_err(|_| unexpected(status, &body))
}

/// Sends a request whose answer is bytes, such as a picture.
pub(crate) async fn bytes(request: RequestBuilder) -> Result<Vec<u8>, Error> {
    let response = request.send().await?;
    if !response.status().is_success() {
        return Err(refusal(response).await?);
    }
    Ok(response.bytes().await?.to_vec())
}

/// Sends a request whose answer is text, such as a sheet.
pub(crate) async fn text(request: RequestBuilder) -> Result<String, Error> {
    let response = request.send().await?;
    if !response.status().is_success() {
        return Err(refusal(response).await?);
    }
    let status = response.status().as_u16();
    String::from_utf8(response.bytes().await?.to_vec())
        .map_err(|error| unexpected(status, error.as_bytes()))
}

/// Sends a request whose answer is read piece by piece.
pub(crate) async fn opened(request: RequestBuilder) -> Result<Response, Error> {
    let response = request.send().await?;
    if response.status().is_success() {
        Ok(response)
    } else {
        Err(refusal(response).await?)
    }
}

/// Sends a request that is answered by nothing.
pub(crate) async fn done(request: RequestBuilder) -> Result<(), Error> {
    let response = request.send().await?;
    if response.status().is_success() {
        Ok(())
    } else {
        Err(refusal(response).await?)
    }
}

/// The error that an unsuccessful answer tells.
async fn refusal(response: Response) -> Result<Error, Error> {
    let status = response.status().as_u16();
    let body = response.bytes().await?;
    // A reverse proxy or another service answers without a problem of ours.
    let problem = serde_json::from_slice::<Problem>(&body)
        .ok()
        .filter(|it| it.status == status);
    Ok(problem.map_or_else(
        || unexpected(status, &body),
        |it| Error::Problem(Box::new(it)),
    ))
}

fn unexpected(status: u16, body: &[u8]) -> Error {
    let body = String::from_utf8_lossy(body)
        .trim()
        .chars()
        .take(BODY_SHOWN)
        .collect();
    Error::Unexpected { status, body }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn url(base: &str, segments: &[&str]) -> Result<String, Error> {
        let client = Client::new(base, None).expect("the address is fine");
        let request = client.request(Method::GET, segments)?.build()?;
        Ok(request.url().to_string())
    }

    #[test]
    fn a_name_in_a_path_is_percent_encoded() {
        let url = url("http://bench", &["v1", "parts", "cup 7/8?#%"]).expect("it can be encoded");
        assert_eq!(url, "http://bench/v1/parts/cup%207%2F8%3F%23%25");
    }

    #[test]
    fn a_service_may_live_under_a_path() {
        for base in ["http://bench/tig", "http://bench/tig/"] {
            assert_eq!(
                url(base, &["v1", "parts"]).expect("it is fine"),
                "http://bench/tig/v1/parts"
            );
        }
    }

    #[test]
    fn a_name_that_an_address_would_drop_is_refused() {
        for name in ["", ".", ".."] {
            let error = url("http://bench", &["v1", "parts", name]).expect_err("it names nothing");
            assert!(matches!(error, Error::Name(_)), "{error}");
        }
    }
}
