//! A sheet of paper as a scanner would hand it over: one page with a few lines.
//!
//! Source of the layout: ISO 32000-1. The letters are one of the fonts that every
//! reader of such files has, so nothing is embedded.

/// A page of US Letter with these lines, as a PDF.
pub(super) fn pdf(lines: &[&str]) -> Vec<u8> {
    let text: String = lines.iter().map(|line| format!("({}) Tj T*\n", escaped(line))).collect();
    let content = format!("BT /F1 14 Tf 20 TL 72 720 Td\n{text}ET\n");
    let objects = [
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        "<< /Type /Pages /Kids [3 0 R] /Count 1 >>".to_owned(),
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 612 792] /Contents 4 0 R \
         /Resources << /Font << /F1 5 0 R >> >> >>"
            .to_owned(),
        format!("<< /Length {} >>\nstream\n{content}endstream", content.len()),
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>".to_owned(),
    ];
    let mut file = String::from("%PDF-1.4\n");
    let mut table = String::from("0000000000 65535 f \n");
    for (number, object) in objects.iter().enumerate() {
        table.push_str(&format!("{:010} 00000 n \n", file.len()));
        file.push_str(&format!("{} 0 obj\n{object}\nendobj\n", number + 1));
    }
    let (size, at) = (objects.len() + 1, file.len());
    file.push_str(&format!("xref\n0 {size}\n{table}trailer\n<< /Size {size} /Root 1 0 R >>\nstartxref\n{at}\n%%EOF\n"));
    file.into_bytes()
}

/// Brackets and the backslash mean something in a string of a PDF.
fn escaped(line: &str) -> String {
    line.chars().flat_map(|c| matches!(c, '(' | ')' | '\\').then_some('\\').into_iter().chain([c])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::care::attachment;

    #[test]
    fn a_sheet_is_taken_for_what_it_is_and_its_table_points_at_its_objects() {
        let sheet = pdf(&["Acuity (right): 10/125", "a \\ b"]);
        let text = String::from_utf8(sheet.clone()).expect("ASCII");
        assert!(text.contains("(Acuity \\(right\\): 10/125) Tj") && text.contains("(a \\\\ b) Tj"));
        let at: usize =
            text.split("startxref\n").nth(1).and_then(|rest| rest.lines().next()?.parse().ok()).expect("a place");
        assert!(text[at..].starts_with("xref"));
        let third =
            text.lines().find(|line| line.ends_with("00000 n ")).and_then(|line| line[..10].parse::<usize>().ok());
        assert!(text[third.expect("a first object")..].starts_with("1 0 obj"));
        assert!(attachment::check(sheet.clone(), "sheet.pdf").is_ok());
    }
}
