//! What a file is, is read off its content; what is not whole is refused in words.

use farpoint::care::attachment::{Checked, FileKind, LARGEST, Other, Refused, check, size_words};
use proptest::prelude::*;

use super::files::{jpeg, pdf, pdf_of, png};

fn refused(bytes: Vec<u8>, name: &str) -> Refused {
    check(bytes, name).expect_err("it is no scan that can be kept")
}

#[test]
fn a_pdf_a_jpeg_and_a_png_are_known_by_their_content() {
    for (bytes, kind) in [(pdf(), FileKind::Pdf), (jpeg(2480, 3508), FileKind::Jpeg), (png(2480, 3508), FileKind::Png)]
    {
        let kept = check(bytes.clone(), "report").expect("a whole file");
        assert_eq!(kept.kind(), kind);
        assert_eq!(kept.bytes(), bytes);
    }
    // Some writers put a few bytes before the header, and blank lines behind the end.
    let odd = [b"\xef\xbb\xbf\n".to_vec(), pdf(), b"\r\n\r\n".to_vec()].concat();
    assert_eq!(check(odd, "report.pdf").expect("still a PDF").kind(), FileKind::Pdf);
    // Cameras put their own bytes behind the end of the picture.
    let camera = [jpeg(4000, 3000), vec![0; 500]].concat();
    assert_eq!(check(camera, "IMG_1.jpg").expect("still a picture").kind(), FileKind::Jpeg);
}

#[test]
fn the_name_decides_nothing() {
    assert_eq!(check(png(10, 10), "report.pdf").expect("a picture").kind(), FileKind::Png);
    for (bytes, other) in [
        (b"MZ\x90\0\x03\0\0\0 This program cannot be run %PDF-1.4 startxref 0 %%EOF".to_vec(), Other::Program),
        (b"\x7fELF\x02\x01\x01".to_vec(), Other::Program),
        (b"#!/bin/sh\necho %PDF-1.4\nstartxref\n0\n%%EOF".to_vec(), Other::Program),
        (b"PK\x03\x04 a document".to_vec(), Other::Document),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic".to_vec(), Other::PhonePhoto),
        (b"<html><script>alert(1)</script>".to_vec(), Other::Unknown),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>".to_vec(), Other::Unknown),
        (b"GIF89a".to_vec(), Other::Unknown),
        (b"just words".to_vec(), Other::Unknown),
    ] {
        assert_eq!(refused(bytes, "report.pdf"), Refused::OtherKind(other));
    }
    assert!(
        refused(b"MZ".to_vec(), "a.pdf").to_string().starts_with("This file is a program, whatever its name says.")
    );
}

#[test]
fn a_file_that_was_cut_short_is_refused_wherever_it_was_cut() {
    for (whole, kind) in [(pdf(), FileKind::Pdf), (jpeg(40, 30), FileKind::Jpeg), (png(40, 30), FileKind::Png)] {
        // Behind the last mark there is at most a line break.
        for length in 16..whole.len() - 1 {
            let cut = whole[..length].to_vec();
            assert_eq!(refused(cut, "report"), Refused::Broken(kind), "{kind:?} cut after {length} bytes");
        }
    }
    // The picture in the head of a photo has an end of its own, which is not the end.
    let mut photo = vec![0xff, 0xd8, 0xff, 0xe1, 0, 10];
    photo.extend([0xff, 0xd8, 1, 2, 3, 4, 0xff, 0xd9]);
    photo.extend(&jpeg(40, 30)[2..]);
    assert!(check(photo.clone(), "photo.jpg").is_ok());
    photo.truncate(photo.len() - 4);
    assert_eq!(refused(photo, "photo.jpg"), Refused::Broken(FileKind::Jpeg));
}

#[test]
fn a_png_with_a_changed_byte_is_refused() {
    let whole = png(40, 30);
    for place in 8..whole.len() {
        let mut changed = whole.clone();
        changed[place] ^= 1;
        assert!(check(changed, "report.png").is_err(), "byte {place}");
    }
}

#[test]
fn a_pdf_whose_table_lies_outside_of_it_is_refused() {
    let text = String::from_utf8(pdf()).expect("text");
    let (before, _) = text.split_at(text.find("startxref").expect("an end"));
    for place in ["999999", "-1", "", "99999999999999999999999"] {
        let bytes = format!("{before}startxref\n{place}\n%%EOF\n").into_bytes();
        assert_eq!(refused(bytes, "report.pdf"), Refused::Broken(FileKind::Pdf), "{place}");
    }
}

#[test]
fn a_picture_of_too_many_pixels_is_refused_with_its_size() {
    // 10,000 by 6,000 is the most: 60 million.
    assert!(check(png(10_000, 6_000), "a.png").is_ok());
    assert!(check(jpeg(10_000, 6_000), "a.jpg").is_ok());
    assert_eq!(refused(png(10_000, 6_001), "a.png"), Refused::TooManyPixels { width: 10_000, height: 6_001 });
    assert_eq!(refused(jpeg(65_535, 65_535), "a.jpg"), Refused::TooManyPixels { width: 65_535, height: 65_535 });
    assert_eq!(refused(png(u32::MAX, u32::MAX), "a.png"), Refused::TooManyPixels { width: u32::MAX, height: u32::MAX });
    assert!(refused(png(40_000, 30_000), "a.png").to_string().contains("40000 by 30000 pixels"));
    for none in [png(0, 30), png(40, 0)] {
        assert_eq!(refused(none, "a.png"), Refused::Broken(FileKind::Png));
    }
    assert_eq!(refused(jpeg(0, 30), "a.jpg"), Refused::Broken(FileKind::Jpeg));
}

#[test]
fn an_empty_file_and_one_that_is_too_large_are_told_apart() {
    assert_eq!(refused(Vec::new(), "report.pdf"), Refused::Empty);
    let most = pdf_of(LARGEST);
    assert_eq!(most.len(), LARGEST);
    assert!(check(most, "report.pdf").is_ok());
    let more = pdf_of(LARGEST + 1);
    assert_eq!(refused(more, "report.pdf"), Refused::TooLarge { bytes: LARGEST as u64 + 1, more: false });
    assert_eq!(
        Refused::TooLarge { bytes: 200 << 20, more: false }.to_string(),
        "The file is 200 MB. The largest that can be kept is 10 MB. Scan it in grey or at 150 dpi."
    );
}

#[test]
fn a_size_is_never_said_smaller_than_it_is() {
    for (bytes, words) in [
        (1, "1 kB"),
        (1_024, "1 kB"),
        (1_025, "2 kB"),
        (10 << 20, "10 MB"),
        ((10 << 20) + 1, "10.1 MB"),
        (3_355_443, "3.2 MB"),
        (209_715_201, "201 MB"),
    ] {
        assert_eq!(size_words(bytes), words);
    }
}

#[test]
fn a_name_is_kept_as_text_and_is_no_path() {
    let name = |given: &str| check(pdf(), given).map(|kept: Checked| kept.name().to_owned()).expect("a PDF");
    assert_eq!(name("Report of Wren, May.pdf"), "Report of Wren, May.pdf");
    assert_eq!(name("../../etc/passwd"), "passwd.pdf");
    assert_eq!(name("C:\\Scans\\report.PDF"), "report.pdf");
    assert_eq!(name("..."), "scan.pdf");
    assert_eq!(name(""), "scan.pdf");
    assert_eq!(name("a\r\nb\0.pdf"), "a b.pdf");
    // What would show as "reportexe.pdf" and be something else.
    assert_eq!(name("report\u{202e}fdp.exe"), "reportfdp.exe.pdf");
    assert_eq!(name("report.exe"), "report.exe.pdf");
    assert!(name(&"long ".repeat(100)).chars().count() <= 120);
    assert_eq!(check(jpeg(4, 4), "IMG.JPEG").expect("a picture").name(), "IMG.jpeg");
}

proptest! {
    #[test]
    fn no_bytes_make_the_check_fail(head in 0_usize..4, bytes in proptest::collection::vec(any::<u8>(), 0..600), name in ".*") {
        let starts: [&[u8]; 4] = [b"", b"%PDF-1.4\n", &[0xff, 0xd8, 0xff], b"\x89PNG\r\n\x1a\n"];
        let mut all = starts[head].to_vec();
        all.extend(bytes);
        if let Ok(kept) = check(all, &name) {
            prop_assert!(!kept.name().contains(['/', '\\', '\n', '\0']));
        }
    }
}
