//! Every route of the service, recorded as it is added, so that a test can walk
//! them all.

use axum::Router;
use axum::handler::Handler;
use axum::{middleware, routing};

use super::access;
use super::state::App;

/// How a route is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// Reading.
    Get,
    /// Writing.
    Post,
}

/// A route as it was added.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Recorded {
    /// How it is asked.
    pub method: Method,
    /// Its path, with parameters in braces.
    pub path: &'static str,
    /// Whether it answers without sign-in.
    pub open: bool,
}

/// The router being built, and what was put into it.
#[derive(Default)]
pub struct Routes {
    open: Router<App>,
    closed: Router<App>,
    uploads: Router<App>,
    recorded: Vec<Recorded>,
}

impl Routes {
    /// Adds a page.
    #[must_use]
    pub fn get<H, T>(self, path: &'static str, handler: H) -> Self
    where
        H: Handler<T, App>,
        T: 'static,
    {
        self.add(Method::Get, path, false, routing::get(handler))
    }

    /// Adds a write.
    #[must_use]
    pub fn post<H, T>(self, path: &'static str, handler: H) -> Self
    where
        H: Handler<T, App>,
        T: 'static,
    {
        self.add(Method::Post, path, false, routing::post(handler))
    }

    /// Adds a write that carries a file; its handler takes `Uploaded`.
    #[must_use]
    pub fn upload<H, T>(mut self, path: &'static str, handler: H) -> Self
    where
        H: Handler<T, App>,
        T: 'static,
    {
        self.recorded.push(Recorded { method: Method::Post, path, open: false });
        self.uploads = self.uploads.route(path, routing::post(handler));
        self
    }

    /// Adds a page that answers without sign-in.
    #[must_use]
    pub fn open_get<H, T>(self, path: &'static str, handler: H) -> Self
    where
        H: Handler<T, App>,
        T: 'static,
    {
        self.add(Method::Get, path, true, routing::get(handler))
    }

    /// Adds a write that answers without sign-in.
    #[must_use]
    pub fn open_post(self, path: &'static str, route: routing::MethodRouter<App>) -> Self {
        self.add(Method::Post, path, true, route)
    }

    fn add(mut self, method: Method, path: &'static str, open: bool, route: routing::MethodRouter<App>) -> Self {
        self.recorded.push(Recorded { method, path, open });
        if open {
            self.open = self.open.route(path, route);
        } else {
            self.closed = self.closed.route(path, route);
        }
        self
    }

    /// What was added.
    pub fn recorded(&self) -> &[Recorded] {
        &self.recorded
    }

    /// The routers: whatever was not added as open needs somebody signed in.
    pub fn into_parts(self) -> Parts {
        let signed_in = || middleware::from_fn(access::signed_in);
        Parts {
            forms: self.closed.route_layer(signed_in()).merge(self.open),
            // Without a route there is nothing a layer could lie around.
            uploads: if self.uploads.has_routes() { self.uploads.route_layer(signed_in()) } else { self.uploads },
        }
    }
}

/// What was added, apart by what a request may carry.
pub struct Parts {
    /// Pages and forms.
    pub forms: Router<App>,
    /// Forms with a file.
    pub uploads: Router<App>,
}
