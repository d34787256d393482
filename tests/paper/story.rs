//! The way of a paper report, step by step, through pages.

use axum::body::Body;
use axum::http::{HeaderMap, Method, header};

use super::files::pdf;
use crate::lap::{DISTANCE, Team, Track};
use crate::page::Page;
use crate::people::{PASSWORD, Person};

/// What stands between the parts of a form in these tests.
pub(crate) const BOUNDARY: &str = "----a-line-no-file-holds";

/// The parts of a form as a browser sends them, up to the content of its file.
pub(crate) fn parts_before_file(pairs: &[(String, String)], name: &str) -> Vec<u8> {
    let mut body = String::new();
    for (field, value) in pairs {
        body.push_str(&format!("--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"{field}\"\r\n\r\n{value}\r\n"));
    }
    body.push_str(&format!(
        "--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\nContent-Type: application/pdf\r\n\r\n"
    ));
    body.into_bytes()
}

pub(crate) fn after_file() -> Vec<u8> {
    format!("\r\n--{BOUNDARY}--\r\n").into_bytes()
}

pub(crate) fn multipart() -> HeaderMap {
    let mut headers = HeaderMap::new();
    headers.insert(header::CONTENT_TYPE, format!("multipart/form-data; boundary={BOUNDARY}").parse().expect("a kind"));
    headers
}

impl Person {
    /// Opens a page, chooses this file in its form and presses the button.
    pub(crate) async fn uploads(&self, path: &str, button: &str, (name, bytes): (&str, &[u8])) -> Page {
        let (action, pairs) = self.upload_form(path, button).await;
        let body = [parts_before_file(&pairs, name), bytes.to_vec(), after_file()].concat();
        self.sends_body(Method::POST, &action, Body::from(body), multipart()).await
    }

    /// The address and the fields of a form with a file, its file left out.
    pub(crate) async fn upload_form(&self, path: &str, button: &str) -> (String, Vec<(String, String)>) {
        let page = self.opens(path).await.ok();
        let (action, mut pairs) = page.filled(button, &[]);
        pairs.retain(|(name, _)| name != "file");
        (action, pairs)
    }
}

/// The head of a low-vision report from elsewhere.
pub(crate) const HEAD: [(&str, &str); 4] = [
    ("report", "low_vision"),
    ("clinician", "Dr Anneliese Korb"),
    ("examined_on", "2026-08-10"),
    ("place", "Low vision service, Tarn Hill"),
];

impl Team {
    /// Begins a transcription; gives its address.
    pub(crate) async fn begins_report(&self, head: &[(&str, &str)]) -> String {
        let hub = self.teacher.presses(&self.at("/evaluations/paper/new"), "Begin", head).await.redirected_to();
        hub.strip_suffix("/edit").expect("the sections of the draft").to_owned()
    }

    pub(crate) async fn copies(&self, report: &str, section: &str, fields: &[(&str, &str)]) {
        let path = format!("{report}/edit/{section}");
        self.teacher.presses(&path, "Save and go on", fields).await.redirected_to();
    }

    pub(crate) async fn attaches(&self, report: &str) {
        let file = ("report.pdf", pdf());
        let page = self.teacher.uploads(&format!("{report}/file"), "Attach the file", (file.0, &file.1)).await;
        assert_eq!(page.redirected_to(), format!("{report}/edit"));
    }

    /// The answer for a track: this device, safe with limits.
    pub(crate) async fn copies_answer(&self, report: &str, track: &Track, change: &[(&str, &str)]) {
        let device: Vec<(String, &str)> =
            track.recommended().iter().map(|(part, value)| (format!("device_1_{part}"), *value)).collect();
        let mut fields = vec![("answer", "devices"), ("safe", "with_limits"), ("limits", "Sitting only")];
        fields.extend(device.iter().map(|(name, value)| (name.as_str(), *value)));
        for (name, value) in change {
            fields.retain(|(field, _)| field != name);
            fields.push((name, value));
        }
        self.copies(report, track.code, &fields).await;
    }

    /// A whole low-vision report with its file, not filed yet.
    pub(crate) async fn copies_report(&self, track: &Track) -> String {
        let report = self.begins_report(&HEAD).await;
        let row = [("eye", "right"), ("correction", "best_correction"), ("distance", "10 ft"), ("value", "10/120")];
        self.teacher.presses(&format!("{report}/edit/acuity"), "Add this row", &row).await.redirected_to();
        self.copies_answer(&report, track, &[]).await;
        let other = if track.code == "distance" { "near" } else { "distance" };
        self.copies(&report, other, &[("answer", "not_looked_at")]).await;
        self.attaches(&report).await;
        report
    }

    /// An ordinary eye report with its file, not filed yet.
    pub(crate) async fn copies_eye_report(&self) -> String {
        let report = self.begins_report(&[&[("report", "eye")], &HEAD[1..]].concat()).await;
        self.attaches(&report).await;
        report
    }

    /// A draft with one whole acuity and one stated in part.
    pub(crate) async fn begins_unfinished_report(&self) -> String {
        let report = self.begins_report(&HEAD).await;
        let row = [
            ("eye", "left"),
            ("correction", "habitual_glasses"),
            ("distance", "6 m"),
            ("value", "6/60"),
            ("note", "copied"),
        ];
        self.teacher.presses(&format!("{report}/edit/acuity"), "Add this row", &row).await.redirected_to();
        let stated = [("stated_value", "about 0.1"), ("stated_eye", "right")];
        self.teacher.presses(&format!("{report}/edit/acuity"), "Add it as stated", &stated).await.redirected_to();
        report
    }

    pub(crate) async fn files_report(&self, report: &str) {
        let to = self.teacher.presses(&format!("{report}/filing"), "File the report", &[]).await.redirected_to();
        assert_eq!(to, report);
    }

    pub(crate) async fn confirms(&self, report: &str) -> Page {
        let fields = [("password", PASSWORD)];
        self.clinician.presses(&format!("{report}/confirm"), "Confirm it as it is", &fields).await
    }

    /// A low-vision report for the distance track, filed.
    pub(crate) async fn has_report_filed(&self) -> String {
        let report = self.copies_report(&DISTANCE).await;
        self.files_report(&report).await;
        report
    }
}
