//! The only place that knows HTTP: pages, forms, routes and the layers around
//! them. It translates between requests and the record; it holds no SQL, no
//! formula and no rule about who may do what.

pub mod access;
pub mod account;
pub mod amend;
pub mod assets;
pub mod attachment;
pub mod calculators;
pub mod card;
pub mod check;
pub mod confirm;
pub mod consents;
mod correct;
pub mod decisions;
pub mod device_fields;
pub mod devices;
mod discard;
pub mod error;
pub mod evaluation;
pub mod form;
pub mod guidance;
pub mod help;
pub mod history;
pub mod identity;
pub mod intake;
pub mod observation;
pub mod optics;
pub mod options;
pub mod outside;
pub mod overview;
pub mod page;
pub mod params;
pub mod part;
mod pdf;
pub mod people;
pub mod picture;
pub mod pool;
pub mod prescription;
pub mod progress;
pub mod review;
pub mod room;
pub mod routes;
pub mod safety;
pub mod service;
pub mod sign_in;
mod stale;
pub mod state;
pub mod steps;
pub mod steward;
pub mod student_words;
pub mod summaries;
pub mod summary_view;
pub mod task;
pub mod telling;
pub mod thread;
pub mod through;
pub mod today;
pub mod training;
pub mod upload;
pub mod visit;
pub mod words;

use std::time::Duration;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::TimeoutLayer;

use error::Error;
use routes::Routes;
use state::App;

/// The most bytes a form may hold.
const LARGEST_FORM: usize = 512 * 1024;

/// Pages run no script and load nothing but what this server serves.
const CONTENT_POLICY: &str = "default-src 'none'; style-src 'self'; img-src 'self' data:; script-src 'self'; \
     connect-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// The routes of each capability, in the order of the way round.
const CAPABILITIES: &[fn(Routes) -> Routes] = &[
    assets::routes,
    help::routes,
    account::routes,
    steward::routes,
    today::routes,
    calculators::routes,
    overview::routes,
    identity::routes,
    intake::routes,
    task::routes,
    options::routes,
    room::routes,
    people::routes,
    consents::routes,
    evaluation::routes,
    pool::routes,
    devices::routes,
    training::routes,
    summaries::routes,
    review::routes,
    decisions::routes,
    prescription::routes,
    history::routes,
    card::routes,
    observation::routes,
    thread::routes,
    through::routes,
    amend::routes,
    service::routes,
    safety::routes,
    attachment::routes,
];

/// Every route of the service, recorded as it was added.
pub fn routes(app: &App) -> Routes {
    let open = sign_in::routes(Routes::default(), app);
    CAPABILITIES.iter().fold(open, |routes, add| add(routes))
}

/// The whole service.
pub fn app(app: App) -> Router {
    let parts = routes(&app).into_parts();
    let forms = parts
        .forms
        .layer(RequestBodyLimitLayer::new(LARGEST_FORM))
        .layer(TimeoutLayer::with_status_code(StatusCode::REQUEST_TIMEOUT, Duration::from_secs(30)));
    // A form with a file limits itself, so that too large a file is answered beside
    // its field; a slow line may take a while over ten megabytes.
    let uploads = parts
        .uploads
        .layer(DefaultBodyLimit::disable())
        .layer(TimeoutLayer::with_status_code(StatusCode::REQUEST_TIMEOUT, Duration::from_secs(300)));
    forms
        .merge(uploads)
        .fallback(async || Error::Hidden)
        .method_not_allowed_fallback(async || Error::Hidden)
        // Who is signed in and what the site's settings are, once per request.
        .layer(middleware::from_fn_with_state(app.clone(), access::context))
        // A form from another site is refused before anything reads it.
        .layer(CsrfLayer::new())
        .layer(CatchPanicLayer::custom(|_panic| {
            use axum::response::IntoResponse;
            // What panicked may hold a record's text: only the fact is logged.
            Error::broken(&Panicked).into_response()
        }))
        .layer(CompressionLayer::new())
        // A download brings a stricter policy of its own.
        .layer(SetResponseHeaderLayer::if_not_present(
            header::CONTENT_SECURITY_POLICY,
            HeaderValue::from_static(CONTENT_POLICY),
        ))
        .layer(fixed(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(fixed(header::REFERRER_POLICY, "no-referrer"))
        .layer(fixed(header::X_FRAME_OPTIONS, "DENY"))
        .layer(fixed(HeaderName::from_static("permissions-policy"), "camera=(), microphone=(), geolocation=()"))
        .layer(fixed(HeaderName::from_static("cross-origin-opener-policy"), "same-origin"))
        .layer(fixed(HeaderName::from_static("strict-transport-security"), "max-age=31536000"))
        .with_state(app)
}

#[derive(Debug, thiserror::Error)]
#[error("a handler panicked")]
struct Panicked;

fn fixed(name: HeaderName, value: &'static str) -> SetResponseHeaderLayer<HeaderValue> {
    SetResponseHeaderLayer::overriding(name, HeaderValue::from_static(value))
}
