//! Who uses the service: each person is a browser with an account behind it.
//!
//! `presses` opens a page, fills in its form as a browser would and sends it;
//! `submits` sends straight to an address, as somebody may who skips the page.
//! Every answer is held against the rules of `pages/rules.rs` on the way.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Method, Request, header};
use farpoint::access::{Actor, Role};
use farpoint::clock::fresh_uuid;
use farpoint::store::Audit;
use farpoint::store::account::{NewAccount, create_by_operator};
use tower::ServiceExt;

use super::page::Page;
use super::pages::rules;
use super::world::{ADDRESS, World};

/// Everybody's password.
pub(crate) const PASSWORD: &str = "a heron stands still";

/// The clinic of every clinician, unless a test says otherwise.
pub(crate) const CLINIC: &str = "Harbour Lane Low Vision";

/// Somebody at a browser.
#[derive(Clone)]
pub(crate) struct Person {
    pub(crate) name: String,
    pub(crate) sign_in: String,
    router: Router,
    cookies: Arc<Mutex<BTreeMap<String, String>>>,
    csrf: Arc<Mutex<String>>,
    actor: Option<Actor>,
}

impl World {
    pub(crate) async fn vision_teacher(&self) -> Person {
        self.person(Some(Role::VisionTeacher), |_| {}).await
    }

    pub(crate) async fn classroom_teacher(&self) -> Person {
        self.person(Some(Role::ClassroomTeacher), |_| {}).await
    }

    pub(crate) async fn parent(&self) -> Person {
        self.person(Some(Role::Parent), |_| {}).await
    }

    pub(crate) async fn clinician(&self) -> Person {
        self.clinician_of(CLINIC).await
    }

    pub(crate) async fn clinician_of(&self, clinic: &str) -> Person {
        self.person(Some(Role::Clinician), |new| new.clinic = Some(clinic.to_owned())).await
    }

    /// A records officer without a role.
    pub(crate) async fn steward(&self) -> Person {
        self.person(None, |new| new.steward = true).await
    }

    /// Somebody without an account.
    pub(crate) fn stranger(&self) -> Person {
        Person {
            name: "somebody".to_owned(),
            sign_in: String::new(),
            router: self.router(),
            cookies: Arc::default(),
            csrf: Arc::default(),
            actor: None,
        }
    }

    /// Setup: an account made by the operator; its person signs in by the page.
    pub(crate) async fn person(&self, role: Option<Role>, change: impl FnOnce(&mut NewAccount)) -> Person {
        let names: &[&str] = match role {
            Some(Role::VisionTeacher) => &["Ottoline Brask", "Perpetua Voss"],
            Some(Role::ClassroomTeacher) => &["Anselm Quigley", "Tamar Eide"],
            Some(Role::Parent) => &["Solveig Ashdown-Lal", "Ravindra Lal"],
            Some(Role::Clinician) => &["Ignatius Farrow", "Beatrix Onu"],
            None => &["Hildegard Pym", "Cosmo Trent"],
        };
        let number = self.next();
        let name = names[number % names.len()];
        let sign_in = format!("{}-{number}", name.split(' ').next().unwrap_or(name).to_lowercase());
        let mut new = NewAccount {
            role,
            steward: false,
            mobility: false,
            name: name.to_owned(),
            sign_in: sign_in.clone(),
            password_hash: self.app().passwords.hash(PASSWORD).await.expect("a hash"),
            clinic: None,
            credential: (role == Some(Role::Clinician)).then(|| "OD".to_owned()),
            licence: (role == Some(Role::Clinician)).then(|| "Invented licence 77".to_owned()),
            language: "en".to_owned(),
        };
        change(&mut new);
        let mut tx = self.store().tx().await.expect("a transaction");
        let account = create_by_operator(&mut tx, &new).await.expect("a name not in use");
        tx.commit(Audit::operator("create account").record(account)).await.expect("it is kept");
        let actor = Actor {
            account,
            name: new.name.clone(),
            role,
            steward: new.steward,
            mobility: new.mobility,
            clinic: new.clinic,
        };
        let person = Person { name: new.name, sign_in, actor: Some(actor), ..self.stranger() };
        person.signs_in().await;
        self.knows(&person);
        person
    }
}

impl Person {
    /// Who this is, for setup by the store.
    pub(crate) fn actor(&self) -> &Actor {
        self.actor.as_ref().expect("somebody with an account")
    }

    /// The same person at another browser, not signed in there.
    pub(crate) fn at_another_browser(&self) -> Self {
        Self { cookies: Arc::default(), csrf: Arc::default(), ..self.clone() }
    }

    /// Somebody who holds a copy of this browser's cookies.
    pub(crate) fn with_copied_cookies(&self) -> Self {
        let cookies = self.cookies.lock().expect("one thread").clone();
        let csrf = self.csrf.lock().expect("one thread").clone();
        Self { cookies: Arc::new(Mutex::new(cookies)), csrf: Arc::new(Mutex::new(csrf)), ..self.clone() }
    }

    /// The token that the last page carried, if one did.
    pub(crate) fn known_csrf(&self) -> Option<String> {
        Some(self.csrf.lock().expect("one thread").clone()).filter(|csrf| !csrf.is_empty())
    }

    /// The cookies of this browser as it sends them.
    pub(crate) fn cookie_line(&self) -> String {
        let cookies = self.cookies.lock().expect("one thread");
        cookies.iter().map(|(name, value)| format!("{name}={value}")).collect::<Vec<_>>().join("; ")
    }

    /// The same person with a copy of these cookies at a service built anew.
    pub(crate) fn through(&self, router: Router) -> Self {
        Self { router, ..self.with_copied_cookies() }
    }

    /// Signs in by the page, with the right password.
    pub(crate) async fn signs_in(&self) {
        self.cookies.lock().expect("one thread").clear();
        self.csrf.lock().expect("one thread").clear();
        let fields = [("sign_in", self.sign_in.as_str()), ("password", PASSWORD)];
        let to = self.presses("/sign-in", "Sign in", &fields).await.redirected_to();
        assert_eq!(to, "/today", "{} signs in", self.name);
    }

    /// Enters the password again, for acts that need it.
    pub(crate) async fn enters_password_again(&self) {
        let fields = [("reason", "a reason worth keeping"), ("password", PASSWORD)];
        self.presses("/confirm", "Go on", &fields).await.redirected_to();
    }

    /// Opens a page.
    pub(crate) async fn opens(&self, path: &str) -> Page {
        self.sends(Method::GET, path, &[], HeaderMap::new()).await
    }

    /// Goes where the answer points.
    pub(crate) async fn follows(&self, answer: &Page) -> Page {
        self.opens(&answer.redirected_to()).await
    }

    /// Opens a page, fills in the form that has this button, and presses it.
    /// What is not named keeps the value that the page shows.
    pub(crate) async fn presses(&self, path: &str, button: &str, fields: &[(&str, &str)]) -> Page {
        let page = self.opens(path).await.ok();
        self.presses_on(&page, button, fields).await
    }

    /// Fills in a form of a page opened before, which may be old by now.
    pub(crate) async fn presses_on(&self, page: &Page, button: &str, fields: &[(&str, &str)]) -> Page {
        let (action, pairs) = page.filled(button, fields);
        let pairs: Vec<(&str, &str)> = pairs.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        self.sends(Method::POST, &action, &pairs, HeaderMap::new()).await
    }

    /// Sends a form straight to an address, with the session's token and a
    /// fresh key, whatever page would have led there.
    pub(crate) async fn submits(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        let (csrf, key) = (self.csrf().await, fresh_uuid().to_string());
        let mut pairs = vec![("csrf", csrf.as_str())];
        if fields.iter().all(|(name, _)| *name != "key") {
            pairs.push(("key", &key));
        }
        pairs.extend(fields);
        self.sends(Method::POST, path, &pairs, HeaderMap::new()).await
    }

    /// Sends exactly these fields and these headers.
    pub(crate) async fn sends(
        &self,
        method: Method,
        path: &str,
        fields: &[(&str, &str)],
        mut headers: HeaderMap,
    ) -> Page {
        let mut body = Body::empty();
        if method == Method::POST {
            headers.insert(header::CONTENT_TYPE, "application/x-www-form-urlencoded".parse().expect("a media type"));
            body = Body::from(form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish());
        }
        self.sends_body(method, path, body, headers).await
    }

    /// Sends this body under these headers.
    pub(crate) async fn sends_body(&self, method: Method, path: &str, body: Body, mut headers: HeaderMap) -> Page {
        let line = self.cookie_line();
        if !line.is_empty() {
            headers.insert(header::COOKIE, line.parse().expect("a cookie"));
        }
        // Neither the host nor a fragment is part of what a browser asks for.
        let address = path.strip_prefix(ADDRESS).unwrap_or(path);
        let address = address.split('#').next().unwrap_or(address);
        let mut request = Request::builder().method(method.clone()).uri(address).body(body).expect("a request");
        request.headers_mut().extend(headers);
        let response = self.router.clone().oneshot(request).await.expect("the service always answers");
        self.keep_cookies(response.headers());
        let page = Page::read(format!("{} {method} {path}", self.name), address, response).await;
        if let Some(csrf) = page.csrf() {
            *self.csrf.lock().expect("one thread") = csrf;
        }
        rules::check(&page);
        page
    }

    fn keep_cookies(&self, headers: &HeaderMap) {
        let mut cookies = self.cookies.lock().expect("one thread");
        for value in headers.get_all(header::SET_COOKIE) {
            let line = value.to_str().expect("a cookie");
            let (pair, _) = line.split_once(';').unwrap_or((line, ""));
            let (name, value) = pair.split_once('=').expect("a cookie has a value");
            if line.contains("Max-Age=0") {
                cookies.remove(name);
            } else {
                cookies.insert(name.to_owned(), value.to_owned());
            }
        }
    }

    /// The token of this session's forms, from the last page or from Account.
    async fn csrf(&self) -> String {
        let known = self.csrf.lock().expect("one thread").clone();
        if !known.is_empty() || self.sign_in.is_empty() {
            return known;
        }
        self.opens("/account").await;
        self.csrf.lock().expect("one thread").clone()
    }
}
