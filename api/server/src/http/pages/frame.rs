//! What is the same on every page: its head, its look, the way to the other pages, and the headers that keep
//! it to itself.

use std::sync::LazyLock;

use actix_web::HttpResponse;
use actix_web::http::{StatusCode, header};
use data_encoding::BASE64;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

/// For a phone held in a glove: one column, large targets, nothing told by colour.
const STYLE: &str = "
:root { color-scheme: light dark }
body { font: 1.25rem/1.5 sans-serif; max-width: 40rem; margin: 0 auto; padding: 0 1rem 2rem; overflow-wrap: anywhere }
a, summary, button, input, select { min-height: 3rem }
nav { display: flex; flex-wrap: wrap; gap: 0.5rem; padding: 0.5rem 0; border-bottom: 2px solid }
nav a, nav button, .way { display: inline-flex; align-items: center; padding: 0 0.75rem; border: 2px solid }
nav a[aria-current] { border-width: 4px; font-weight: bold }
h1 { font-size: 1.75rem; line-height: 1.2 }
ol, ul { padding: 0; list-style: none }
li { margin: 0 0 0.5rem }
summary, .card { border: 2px solid; padding: 0.5rem 0.75rem }
summary { min-height: 96px; box-sizing: border-box; cursor: pointer }
summary .when, .state { font-weight: bold }
details p { margin: 0.5rem 0.75rem }
button, input, select { font: inherit; padding: 0.5rem 0.75rem; border: 2px solid; box-sizing: border-box }
main button, .way { min-height: 96px; min-width: 96px }
nav button { min-height: 3rem; min-width: 0 }
input, select { max-width: 100% }
label { display: block; margin: 1rem 0 0.25rem }
:focus-visible { outline: 4px solid; outline-offset: 2px }
.out { position: absolute; left: -99rem }
.out:focus { position: static }
";

/// Nothing is loaded, nothing runs, no style but ours, and forms lead back here only.
static POLICY: LazyLock<String> = LazyLock::new(|| {
    let style = BASE64.encode(&Sha256::digest(STYLE.as_bytes()));
    format!(
        "default-src 'none'; style-src 'sha256-{style}'; form-action 'self'; frame-ancestors 'none'; \
         base-uri 'none'"
    )
});

/// The way to the other pages.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ways<'w> {
    /// The address of this page.
    pub(super) here: &'w str,
    /// The site that it is about.
    pub(super) site: Option<&'w str>,
    /// Whether one can sign out: in the demo nobody is signed in.
    pub(super) can_leave: bool,
}

/// A page.
#[derive(Debug)]
pub(super) struct Page<'p> {
    /// Its title and heading.
    pub(super) title: &'p str,
    /// The way to the other pages; none where nobody is signed in.
    pub(super) ways: Option<Ways<'p>>,
    /// What it says under its heading.
    pub(super) main: Markup,
    /// What of its address is told to where the reader goes next. A form tells where it comes from unless
    /// it says `no-referrer`.
    pub(super) referrer: &'static str,
}

/// The pages that are always one step away.
const WAYS: [(&str, &str); 3] = [
    ("/", "What next"),
    ("/next-job", "Next job"),
    ("/warnings", "Warnings"),
];

impl<'p> Page<'p> {
    /// A page that leads nowhere.
    pub(super) fn bare(title: &'p str, main: Markup) -> Self {
        Self {
            title,
            ways: None,
            main,
            referrer: "same-origin",
        }
    }

    /// A page among others.
    pub(super) fn among(ways: Ways<'p>, title: &'p str, main: Markup) -> Self {
        Self {
            ways: Some(ways),
            ..Self::bare(title, main)
        }
    }

    /// The page as an answer.
    pub(super) fn answer(&self, status: StatusCode) -> HttpResponse {
        HttpResponse::build(status)
            .insert_header((header::CONTENT_TYPE, "text/html; charset=utf-8"))
            .insert_header((header::CACHE_CONTROL, "no-store"))
            .insert_header((header::CONTENT_SECURITY_POLICY, POLICY.as_str()))
            .insert_header((header::REFERRER_POLICY, self.referrer))
            .body(self.markup().into_string())
    }

    fn markup(&self) -> Markup {
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="robots" content="noindex";
                    title { (self.title) " - tigstock" }
                    style { (PreEscaped(STYLE)) }
                }
                body {
                    @if let Some(ways) = &self.ways {
                        a class="out" href="#main" { "To what the page says" }
                        (ways.markup())
                    }
                    main id="main" {
                        h1 { (self.title) }
                        (self.main)
                    }
                }
            }
        }
    }
}

impl Ways<'_> {
    fn markup(&self) -> Markup {
        html! {
            nav aria-label="Pages" {
                @for (path, name) in WAYS {
                    @let is_here = path == self.here;
                    a href=(self.to(path)) aria-current=[is_here.then_some("page")] { (name) }
                }
                @if self.can_leave {
                    form method="post" action="/sign-out" { button type="submit" { "Sign out" } }
                }
            }
        }
    }

    /// An address that stays with the site of this page. Codes of sites need no escape in it.
    pub(super) fn to(&self, path: &str) -> String {
        match self.site {
            Some(site) if path.contains('?') => format!("{path}&site={site}"),
            Some(site) => format!("{path}?site={site}"),
            None => path.to_owned(),
        }
    }

    /// The same page about other sites, where there are several.
    pub(super) fn sites(&self, sites: &[String]) -> Markup {
        html! {
            @if sites.len() > 1 {
                p {
                    "Sites: "
                    @for site in sites {
                        @let is_here = self.site == Some(site);
                        a class="way" href={ (self.here) "?site=" (site) } aria-current=[is_here.then_some("true")] {
                            (site)
                        }
                        " "
                    }
                }
            }
        }
    }
}
