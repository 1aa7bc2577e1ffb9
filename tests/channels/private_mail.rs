//! Mail over TLS by the real program: to a mail server whose certificate comes from an authority that the
//! machine trusts, and to no other. The authority is made for the test.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use client::Client;
use rcgen::{BasicConstraints, CertificateParams, IsCa, Issuer, KeyPair};
use rustls::ServerConfig;
use rustls::pki_types::{PrivateKeyDer, PrivatePkcs8KeyDer};
use tigstock_tests::postbox::Postbox;
use tigstock_tests::programs::{Home, Serving};
use tigstock_tests::told::tell_low;
use types::{NewMailAddress, Page};

/// How long may pass until what a test waits for is there; it fails the test, and paces nothing.
const PATIENCE: Duration = Duration::from_mins(1);
const GLANCE: Duration = Duration::from_millis(20);

/// An authority, as a file holds it, and what a mail server at `localhost` needs that it vouches for.
fn authority() -> (String, Arc<ServerConfig>) {
    let mut params = CertificateParams::default();
    params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    let key = KeyPair::generate().expect("a key");
    let pem = params.self_signed(&key).expect("a certificate").pem();
    let issuer = Issuer::new(params, key);
    let server = KeyPair::generate().expect("a key");
    let of_server = CertificateParams::new(vec!["localhost".to_owned()]).expect("a name");
    let certificate = of_server
        .signed_by(&server, &issuer)
        .expect("a certificate");
    let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(server.serialize_der()));
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .expect("versions of TLS")
        .with_no_client_auth()
        .with_single_cert(vec![certificate.der().clone()], key);
    (pem, Arc::new(config.expect("a certificate and its key")))
}

/// A service that sends mail to that server and trusts the authorities of that file.
fn serve(home: &Home, postbox: &Postbox, trusted: &Path) -> (Serving, Client) {
    let settings = format!(
        "smtp_host = \"localhost\"\nsmtp_port = {}\nsmtp_tls = \"tls\"\nmail_from = \"tigstock@shop.example\"\n",
        postbox.port
    );
    std::fs::write(home.path("work/settings.toml"), settings).expect("settings");
    let mut server = home.server();
    server
        .args(["serve", "--listen", "127.0.0.1:0", "--config"])
        .arg(home.path("work/settings.toml"))
        .env("SSL_CERT_FILE", trusted);
    let serving = Serving::start(&mut server);
    let owner = Client::new(&serving.url, Some(home.owners_key())).expect("a client");
    (serving, owner)
}

async fn told(owner: &Client) {
    let new = NewMailAddress {
        address: "owner@shop.example".to_owned(),
        ..NewMailAddress::default()
    };
    owner.create_mail_address(&new).await.expect("an address");
    tell_low(owner, "rod-1").await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mail_arrives_over_tls() {
    let (pem, config) = authority();
    let postbox = Postbox::private(config);
    let home = Home::new();
    let trusted = home.path("work/authority.pem");
    std::fs::write(&trusted, pem).expect("a file");
    let (serving, owner) = serve(&home, &postbox, &trusted);
    told(&owner).await;
    let arrives = async {
        while postbox.mails().is_empty() {
            tokio::time::sleep(GLANCE).await;
        }
    };
    let waited = tokio::time::timeout(PATIENCE, arrives).await;
    waited.expect("it arrives");
    let mails = postbox.mails();
    assert_eq!(mails.len(), 1);
    assert_eq!(mails[0].to, "owner@shop.example");
    assert!(mails[0].message.contains("Subject: Electrode"), "{mails:?}");
    assert!(serving.stop().0, "it ends well");
}

#[tokio::test(flavor = "multi_thread")]
async fn no_mail_goes_to_a_server_that_nobody_vouches_for() {
    let (_, config) = authority();
    let postbox = Postbox::private(config);
    let home = Home::new();
    let trusted = home.path("work/authority.pem");
    // Another authority, of the same name.
    std::fs::write(&trusted, authority().0).expect("a file");
    let (serving, owner) = serve(&home, &postbox, &trusted);
    told(&owner).await;
    let fails = async {
        loop {
            let page = owner.list_mail_addresses(&Page::default()).await;
            let sending = page.expect("addresses").mail_addresses.remove(0).sending;
            if sending.failing_since.is_some() {
                return sending.last_answer.unwrap_or_default();
            }
            tokio::time::sleep(GLANCE).await;
        }
    };
    let answer = tokio::time::timeout(PATIENCE, fails)
        .await
        .expect("it fails");
    assert!(answer.contains("certificate"), "{answer}");
    assert!(postbox.mails().is_empty());
    assert!(serving.stop().0, "it ends well");
}
