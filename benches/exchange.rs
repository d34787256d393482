//! How long does a record of five years take to leave?
//!
//! An invented record of five school years: as FHIR, as tables, and as the whole
//! zip with its hashes. Prints the median of several rounds beside the budget;
//! nothing here fails for being slow, but for a record that is not what it says.

#[path = "../tests/exchange/sample.rs"]
mod sample;

use std::hint::black_box;
use std::time::Instant;

use farpoint::exchange::fhir::{self, Terms, check};
use farpoint::exchange::pack::{Packing, zip};
use farpoint::exchange::table::{Reader, Table};
use farpoint::exchange::tables;

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

const ROUNDS: usize = 9;

fn median_ms<T>(mut round: impl FnMut() -> Outcome<T>) -> Outcome<f64> {
    let mut times = Vec::with_capacity(ROUNDS);
    black_box(round()?);
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        black_box(round()?);
        times.push(begun.elapsed().as_secs_f64() * 1000.0);
    }
    times.sort_by(f64::total_cmp);
    Ok(times[ROUNDS / 2])
}

fn main() -> Outcome<()> {
    let record = sample::record(5);
    let terms = Terms { base: "https://farpoint.example".to_owned(), snomed: true };
    let now = "2026-11-26T12:00:00Z".parse()?;
    let bundle = fhir::collection(&record, &terms, now);
    let text = fhir::text(&bundle)?;
    if !check::faults(&serde_json::from_slice(&text)?).is_empty() {
        return Err("the bundle breaks a rule".into());
    }
    let rows: usize = tables::all(&record).iter().map(|table| table.rows.len()).sum();
    println!("{rows} rows, {} resources, {} kB of FHIR", bundle.entry.len(), text.len() / 1000);
    let fhir = median_ms(|| Ok(fhir::text(&fhir::collection(&record, &terms, now))?))?;
    println!("FHIR bundle of five years   {fhir:8.1} ms   (budget 50 ms)");
    let checked = median_ms(|| Ok(check::faults(&serde_json::from_slice(&text)?)))?;
    println!("held against our own rules  {checked:8.1} ms");
    let texts = Table { name: "texts", columns: &["schema"], rows: Vec::new() };
    let packing =
        Packing { record, texts, papers: Vec::new(), attached: Vec::new(), terms, reader: Reader::Spreadsheet, now };
    let packed = zip(&packing)?.len();
    let whole = median_ms(|| Ok(zip(&packing)?))?;
    println!("the whole zip               {whole:8.1} ms   (budget 1000 ms), {} kB", packed / 1000);
    Ok(())
}
