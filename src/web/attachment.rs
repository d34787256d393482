//! Attached files, handed out as downloads.
//!
//! Which proof a file asks for follows from what it hangs on; it is the proof
//! that reads the parent, with its disclosure row. The file is never shown inside
//! a page of ours: it came from outside, so the browser is told to save it, to
//! run nothing in it and to take its kind from us.

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::error::{Error, Result};
use super::params::Record;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use crate::access::action::Read;
use crate::access::resource::{Consents, SafetyFlag, Transcription};
use crate::care::attachment::size_words;
use crate::care::ids::AttachmentId;
use crate::store::attachment::{self as stored, Attachment, ParentKind};

/// The one route of attachments.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/attachments/{record}", download)
}

/// The words of a link to a file: its name, kind and size.
pub fn link_words(file: &Attachment) -> String {
    format!("{} ({}, {})", file.name, file.kind.words(), size_words(file.bytes))
}

/// The address of a file.
pub fn href(visit: &Visit, file: &Attachment) -> String {
    visit.at(&format!("/attachments/{}", file.id))
}

async fn download(State(app): State<App>, visit: Visit, Record(id): Record<AttachmentId>) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let kind = stored::asks_for(&mut snapshot, visit.student(), id).await?;
    drop(snapshot);
    let file = match kind {
        ParentKind::Transcription => {
            let access = visit.open::<Transcription, Read>().await?;
            stored::of_transcription(&mut app.store.snapshot().await?, &access, id).await?
        }
        // The table gives a records officer consents and no attachments.
        ParentKind::Consent if visit.role().is_none() => return Err(Error::Hidden),
        ParentKind::Consent => {
            let access = visit.open::<Consents, Read>().await?;
            stored::of_consent(&mut app.store.snapshot().await?, &access, id).await?
        }
        ParentKind::Flag => {
            let access = visit.open::<SafetyFlag, Read>().await?;
            stored::of_flag(&mut app.store.snapshot().await?, &access, id).await?
        }
    };
    let bytes = file.content(&app.store).await?;
    Ok((
        [
            (header::CONTENT_TYPE, file.kind.media().to_owned()),
            (header::CONTENT_DISPOSITION, disposition(&file.name)),
            (header::CONTENT_SECURITY_POLICY, "sandbox; default-src 'none'; frame-ancestors 'none'".to_owned()),
            (header::CACHE_CONTROL, "no-store".to_owned()),
        ],
        bytes,
    )
        .into_response())
}

/// A download under this name; beside it the same without letters that old
/// browsers cannot read (RFC 6266, RFC 8187).
pub(super) fn disposition(name: &str) -> String {
    let plain: String = name
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_' | ' ') { c } else { '_' })
        .collect();
    let mut whole = String::new();
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'.' | b'-' | b'_') {
            whole.push(char::from(byte));
        } else {
            whole.push_str(&format!("%{byte:02X}"));
        }
    }
    format!("attachment; filename=\"{plain}\"; filename*=UTF-8''{whole}")
}

#[cfg(test)]
mod tests {
    use super::disposition;

    #[test]
    fn a_name_cannot_leave_its_header() {
        assert_eq!(
            disposition("Befund \"Möwe\".pdf"),
            "attachment; filename=\"Befund _M_we_.pdf\"; filename*=UTF-8''Befund%20%22M%C3%B6we%22.pdf"
        );
        assert!(!disposition("a\r\nSet-Cookie: b.pdf").contains(['\r', '\n']));
    }
}
