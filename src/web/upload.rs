//! Forms that carry a file: the fields as [`super::form::Posted`] gives them, and
//! the file beside them.
//!
//! A form is opened with `.upload()`, has one `form.file(..)`, and goes to a
//! route added with `Routes::upload`, whose handler takes [`Uploaded`] last. The
//! body is read piece by piece: of a file that is too large the rest is read and
//! thrown away, so that the answer is the same page with what was typed and not
//! a broken connection. Nothing is stored here, and nothing that came in part is
//! given to anybody. Whether the content is one we keep is for
//! [`crate::care::attachment`].

use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::task::{Context as Waiting, Poll};
use std::time::Duration;

use axum::body::{Body, Bytes, to_bytes};
use axum::extract::multipart::Field;
use axum::extract::{FromRequest, Multipart, Request};
use axum::http::header;
use http_body::{Body as HttpBody, Frame, SizeHint};

use super::LARGEST_FORM;
use super::error::{Error, Result};
use super::form::{Doorkeeper, MOST_FIELDS, Posted, Sent};
use super::state::App;
use crate::care::attachment::{self, Checked, LARGEST, Refused};

/// How long the rest of a file that is too large is read to be thrown away.
const PATIENCE: Duration = Duration::from_secs(60);

/// Bytes that may be held without a field having been made of them: the heads of
/// the parts, and what lies between.
const SLACK: u64 = 256 * 1024;

/// A form with a file, whose keys were checked.
#[derive(Debug)]
pub struct Uploaded {
    /// The form without its file.
    pub posted: Posted,
    /// The file that was chosen, if one was.
    pub file: Option<Upload>,
}

/// A file as it arrived.
pub struct Upload {
    /// The name it came with, as sent.
    pub name: String,
    content: Content,
}

enum Content {
    Whole(Vec<u8>),
    TooLarge { bytes: u64, more: bool },
}

impl std::fmt::Debug for Upload {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Names of files name students.
        f.write_str("Upload(..)")
    }
}

impl Upload {
    /// The file, if it can be kept.
    ///
    /// # Errors
    /// [`Refused`], whose words go beside the file's field.
    pub fn check(self) -> std::result::Result<Checked, Refused> {
        match self.content {
            Content::Whole(bytes) => attachment::check(bytes, &self.name),
            Content::TooLarge { bytes, more } => Err(Refused::TooLarge { bytes, more }),
        }
    }
}

impl Upload {
    /// The file as text, if it is one and has no more bytes than these.
    ///
    /// # Errors
    /// [`NotText`].
    pub fn text(self, most: usize) -> std::result::Result<String, NotText> {
        match self.content {
            Content::Whole(bytes) if bytes.len() <= most => String::from_utf8(bytes).map_err(|_| NotText::Other),
            _ => Err(NotText::TooLarge),
        }
    }
}

/// Why a file is not read as text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotText {
    /// It has more bytes.
    TooLarge,
    /// It is no text, or in another encoding than UTF-8.
    Other,
}

impl FromRequest<App> for Uploaded {
    type Rejection = Error;

    async fn from_request(request: Request, state: &App) -> Result<Self> {
        let doorkeeper = Doorkeeper::of(&request);
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        if !kind.starts_with("multipart/form-data") {
            // A form that was sent without a file at all.
            let bytes = to_bytes(request.into_body(), LARGEST_FORM).await.map_err(|_| Error::TooLarge)?;
            let mut sent = Sent::default();
            for (name, value) in form_urlencoded::parse(&bytes).take(MOST_FIELDS) {
                sent.add(&name, &value);
            }
            return Ok(Self { posted: doorkeeper.admits(sent, state).await?, file: None });
        }
        let allowance = Arc::new(AtomicU64::new(SLACK));
        let request = request.map(|body| Body::new(Sparing { body, allowance: Arc::clone(&allowance), rest: false }));
        let mut parts = Multipart::from_request(request, state).await.map_err(|_| Error::Unreadable)?;
        let (mut sent, mut file) = (Sent::default(), None);
        let (mut fields, mut length) = (0, 0);
        while let Some(part) = parts.next_field().await.map_err(|_| Error::Unreadable)? {
            fields += 1;
            if fields > MOST_FIELDS {
                return Err(Error::TooLarge);
            }
            allowance.fetch_add(SLACK / 64, Ordering::Relaxed);
            let name = part.name().unwrap_or_default().to_owned();
            if part.file_name().is_some() {
                let found = file_of(part, &allowance).await?;
                // A field left alone arrives as a file without a name and without content.
                let left_alone =
                    found.name.is_empty() && matches!(&found.content, Content::Whole(bytes) if bytes.is_empty());
                let at_an_end = matches!(found.content, Content::TooLarge { more: true, .. });
                if file.is_none() && !left_alone {
                    file = Some(found);
                }
                if at_an_end {
                    // Whatever stands behind it is not waited for: fields come first, the file last.
                    break;
                }
            } else {
                let value = text_of(part, &allowance, LARGEST_FORM - length).await?;
                length += value.len();
                sent.add(&name, &value);
            }
        }
        Ok(Self { posted: doorkeeper.admits(sent, state).await?, file })
    }
}

/// Reads one field of text.
async fn text_of(mut part: Field<'_>, allowance: &AtomicU64, most: usize) -> Result<String> {
    let mut bytes = Vec::new();
    while let Some(piece) = part.chunk().await.map_err(|_| Error::Unreadable)? {
        allowance.fetch_add(piece.len() as u64, Ordering::Relaxed);
        if bytes.len() + piece.len() > most {
            return Err(Error::TooLarge);
        }
        bytes.extend_from_slice(&piece);
    }
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Reads the file, and no more of it than may be kept.
async fn file_of(mut part: Field<'_>, allowance: &AtomicU64) -> Result<Upload> {
    let name = part.file_name().unwrap_or_default().to_owned();
    let (mut held, mut bytes) = (Vec::new(), 0_u64);
    let mut until = None;
    loop {
        let piece = match until {
            None => part.chunk().await,
            Some(until) => match tokio::time::timeout_at(until, part.chunk()).await {
                Ok(piece) => piece,
                Err(_) => return Ok(Upload { name, content: Content::TooLarge { bytes, more: true } }),
            },
        };
        let Some(piece) = piece.map_err(|_| Error::Unreadable)? else { break };
        allowance.fetch_add(piece.len() as u64, Ordering::Relaxed);
        bytes += piece.len() as u64;
        if bytes <= LARGEST as u64 {
            held.extend_from_slice(&piece);
        } else {
            held = Vec::new();
            until.get_or_insert_with(|| tokio::time::Instant::now() + PATIENCE);
        }
    }
    let content = if bytes <= LARGEST as u64 { Content::Whole(held) } else { Content::TooLarge { bytes, more: false } };
    Ok(Upload { name, content })
}

/// A body that gives one piece and then rests for a turn.
///
/// The reader of parts takes in whatever is ready before it looks at it; on a fast
/// line that would be the whole file. It also looks for the end of a part's head
/// for as long as there is input; the allowance ends that.
struct Sparing {
    body: Body,
    allowance: Arc<AtomicU64>,
    rest: bool,
}

/// More came than any field was made of.
#[derive(Debug, thiserror::Error)]
#[error("the form has no end")]
struct Endless;

impl HttpBody for Sparing {
    type Data = Bytes;
    type Error = axum::BoxError;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        waiting: &mut Waiting<'_>,
    ) -> Poll<Option<std::result::Result<Frame<Bytes>, Self::Error>>> {
        if std::mem::take(&mut self.rest) {
            waiting.waker().wake_by_ref();
            return Poll::Pending;
        }
        let frame = match Pin::new(&mut self.body).poll_frame(waiting) {
            Poll::Ready(Some(frame)) => frame?,
            Poll::Ready(None) => return Poll::Ready(None),
            Poll::Pending => return Poll::Pending,
        };
        self.rest = true;
        let length = frame.data_ref().map_or(0, Bytes::len) as u64;
        let taken = self.allowance.fetch_update(Ordering::Relaxed, Ordering::Relaxed, |left| left.checked_sub(length));
        // One piece may be larger than the allowance, which it then uses up.
        if taken.is_err() && self.allowance.swap(0, Ordering::Relaxed) == 0 {
            return Poll::Ready(Some(Err(Box::new(Endless))));
        }
        Poll::Ready(Some(Ok(frame)))
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.body.size_hint()
    }
}
