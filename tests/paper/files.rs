//! Small files of every kind, made byte by byte from their published layouts:
//! ISO 32000-1 (PDF), ITU-T T.81 (JPEG), ISO/IEC 15948 (PNG).

/// One empty page, with a cross-reference table that is in place.
pub(crate) fn pdf() -> Vec<u8> {
    let objects = [
        "1 0 obj\n<< /Type /Catalog /Pages 2 0 R >>\nendobj\n",
        "2 0 obj\n<< /Type /Pages /Kids [3 0 R] /Count 1 >>\nendobj\n",
        "3 0 obj\n<< /Type /Page /Parent 2 0 R /MediaBox [0 0 612 792] >>\nendobj\n",
    ];
    let mut text = String::from("%PDF-1.4\n");
    let mut places = Vec::new();
    for object in objects {
        places.push(text.len());
        text.push_str(object);
    }
    let table = text.len();
    text.push_str("xref\n0 4\n0000000000 65535 f \n");
    for place in places {
        text.push_str(&format!("{place:010} 00000 n \n"));
    }
    text.push_str(&format!("trailer\n<< /Size 4 /Root 1 0 R >>\nstartxref\n{table}\n%%EOF\n"));
    text.into_bytes()
}

/// A PDF of about so many bytes: the rest is a comment.
pub(crate) fn pdf_of(bytes: usize) -> Vec<u8> {
    let whole = String::from_utf8(pdf()).expect("text");
    let (head, rest) = whole.split_at("%PDF-1.4\n".len());
    let (body, end) = rest.split_at(rest.find("startxref").expect("an end"));
    let filling = "%".to_owned() + &"x".repeat(bytes.saturating_sub(whole.len() + 2)) + "\n";
    format!("{head}{body}{filling}{end}").into_bytes()
}

/// A JPEG that says it has this size; its picture is a few bytes that nobody decodes.
pub(crate) fn jpeg(width: u16, height: u16) -> Vec<u8> {
    let mut bytes = vec![0xff, 0xd8];
    segment(&mut bytes, 0xe0, b"JFIF\0\x01\x01\0\0\x01\0\x01\0\0");
    segment(&mut bytes, 0xdb, &[1; 65]);
    let [high, low] = height.to_be_bytes();
    let [wide, narrow] = width.to_be_bytes();
    segment(&mut bytes, 0xc0, &[8, high, low, wide, narrow, 1, 1, 0x11, 0]);
    segment(&mut bytes, 0xc4, &[0; 17]);
    segment(&mut bytes, 0xda, &[1, 1, 0, 0, 63, 0]);
    bytes.extend([0x12, 0xff, 0x00, 0x34, 0xff, 0xd9]);
    bytes
}

fn segment(bytes: &mut Vec<u8>, marker: u8, content: &[u8]) {
    bytes.extend([0xff, marker]);
    bytes.extend(u16::try_from(content.len() + 2).expect("a short segment").to_be_bytes());
    bytes.extend(content);
}

/// A PNG that says it has this size.
pub(crate) fn png(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut header = width.to_be_bytes().to_vec();
    header.extend(height.to_be_bytes());
    header.extend([8, 0, 0, 0, 0]);
    chunk(&mut bytes, b"IHDR", &header);
    // One black pixel: a stored block of zlib.
    chunk(&mut bytes, b"IDAT", &[0x78, 0x01, 0x01, 0x02, 0x00, 0xfd, 0xff, 0x00, 0x00, 0x00, 0x02, 0x00, 0x01]);
    chunk(&mut bytes, b"IEND", &[]);
    bytes
}

fn chunk(bytes: &mut Vec<u8>, name: &[u8; 4], content: &[u8]) {
    bytes.extend(u32::try_from(content.len()).expect("a short chunk").to_be_bytes());
    let named = [name.as_slice(), content].concat();
    bytes.extend(&named);
    bytes.extend(crc(&named).to_be_bytes());
}

/// The checksum of PNG, bit by bit. Source: ISO/IEC 15948, annex D.
fn crc(bytes: &[u8]) -> u32 {
    let step = |crc: u32| if crc & 1 == 1 { 0xedb8_8320 ^ (crc >> 1) } else { crc >> 1 };
    !bytes.iter().fold(u32::MAX, |crc, byte| (0..8).fold(crc ^ u32::from(*byte), |crc, _| step(crc)))
}
