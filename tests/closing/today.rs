//! From the first screen alone: the clinician of the demo decides on one student
//! and finalises for another, and how much there is to press and to type.

use farpoint::demo::PASSWORD;

use crate::demo::{filled, signed_in};
use crate::page::Page;
use crate::people::Person;

/// What a hand does on the way. Times of the keystroke-level model (Card, Moran
/// and Newell 1983, from memory): a key of an average typist 0.28 s, pointing
/// 1.1 s, making up one's mind 1.35 s; a page that comes up 1 s, common practice.
/// Reading the evidence is not in it.
#[derive(Default)]
struct Hand {
    pages: u32,
    fields: u32,
    keys: u32,
}

impl Hand {
    async fn opens(&mut self, person: &Person, path: &str) -> Page {
        self.pages += 1;
        person.opens(path).await.ok()
    }

    /// Fills in some fields, presses the button and sees the page that follows.
    async fn presses(&mut self, person: &Person, page: &Page, button: &str, fields: &[(&str, &str)]) -> Page {
        for (name, value) in fields {
            self.fields += 1;
            let chosen = matches!(*name, "choice");
            self.keys += if chosen { 0 } else { u32::try_from(value.chars().count()).expect("a short text") };
        }
        let answer = person.presses_on(page, button, fields).await;
        let to = answer.redirected_to();
        self.opens(person, &to).await
    }

    fn seconds(&self) -> f64 {
        let [pages, fields, keys] = [self.pages, self.fields, self.keys].map(f64::from);
        pages * (1.0 + 1.1 + 1.35) + fields * (1.1 + 1.35) + keys * 0.28
    }
}

/// The link of a student's row that leads to the review.
fn review_of(today: &Page, name: &str) -> String {
    let student = today.link(name);
    let wanted = format!("{student}/review");
    let found = today.links().into_iter().find(|(href, _)| *href == wanted);
    let (href, words) = found.unwrap_or_else(|| panic!("no review of {name} on Today"));
    assert_eq!(words, "Decide on the training summary");
    href
}

const REASON: &str = "The line is lost at its end; more practice, same device.";

#[tokio::test]
async fn the_clinician_decides_for_one_and_finalises_for_another_from_today_alone() {
    let world = filled().await;
    let noor = signed_in(&world, "noor").await;

    let mut hand = Hand::default();
    let today = hand.opens(&noor, "/today").await;
    let review = hand.opens(&noor, &review_of(&today, "Kwame Adeyinka-Voss")).await;
    let next = world.day(60);
    let fields = [("choice", "keep_going"), ("reason", REASON), ("next_on", &next), ("password", PASSWORD)];
    let after = hand.presses(&noor, &review, "Sign the decision", &fields).await;
    let after = after.sees("Keep going, near track").sees("No summary of this track waits for you.");
    assert!(after.stages().contains(&"Near: training on loan".to_owned()), "{:?}", after.stages());
    assert_eq!((hand.pages, hand.fields), (3, 4));
    assert!(hand.seconds() < 60.0, "{} s", hand.seconds());

    let mut hand = Hand::default();
    let today = hand.opens(&noor, "/today").await;
    let review = hand.opens(&noor, &review_of(&today, "Saoirse Lindqvist")).await;
    assert_eq!(review.value_of("finalised").as_deref(), Some("0"), "what is recommended is ticked");
    let fields = [("choice", "finalise"), ("reason", REASON), ("next_on", &next), ("password", PASSWORD)];
    let preview = hand.presses(&noor, &review, "Sign the decision", &fields).await;
    // Filled in from the decision and the evaluation: nothing is left to type, so it is
    // read as it will be signed.
    let draft = noor.opens(&preview.link("Change the draft")).await.ok();
    assert_eq!(draft.value_of("review_on"), Some(next.clone()));
    assert_eq!(draft.value_of("near_first_equivalent").as_deref(), Some("16"));
    let signed = hand.presses(&noor, &preview, "Sign the prescription", &[("password", PASSWORD)]).await;
    let signed = signed.sees("In force").sees("Licence:");
    assert!(signed.stages().contains(&"Near: prescribed, awaiting the device".to_owned()), "{:?}", signed.stages());
    assert_eq!((hand.pages, hand.fields), (4, 5));
    assert!(hand.seconds() < 60.0, "{} s", hand.seconds());

    // Those concerned are told where they look first.
    let marisol = signed_in(&world, "marisol").await;
    let today = marisol.opens("/today").await.ok();
    for name in ["Kwame Adeyinka-Voss", "Saoirse Lindqvist"] {
        let thread = format!("{}/thread", today.link(name));
        assert!(today.links().iter().any(|(href, words)| *href == thread && words.contains("new")), "{name}");
        marisol.opens(&thread).await.ok().sees("Decision made, near");
    }
}

#[tokio::test]
async fn the_review_says_which_device_serves_which_task_and_folds_the_counts() {
    let world = filled().await;
    let noor = signed_in(&world, "noor").await;
    let today = noor.opens("/today").await.ok();
    let review = noor.opens(&review_of(&today, "Kwame Adeyinka-Voss")).await.ok();
    let matrix = review.table("Print by device");
    assert!(matrix.heads.len() >= 3, "with and without a device: {matrix:?}");
    let cells = matrix.rows.concat().join(" | ");
    // Print of several sizes was seen with the magnifier and without, so both may be told.
    for told in ["likely", " right", "seen here: "] {
        assert!(cells.contains(told), "{told}: {cells}");
    }
    // The same tasks as counted when the summary was sent, behind a fold.
    let (before, folded) = review.source().split_once("<summary>Raw counts, device by task</summary>").expect("a fold");
    assert!(before.trim_end().ends_with("<details class=\"how\">") && folded.contains("id=\"t-Device-by-task\""));
    assert!(review.table("Device by task").rows.concat().join(" | ").contains(" right"), "counts");
    // Where the evidence has no table yet, the counts lie open.
    let other = noor.opens(&review_of(&today, "Saoirse Lindqvist")).await.ok();
    assert!(!other.source().contains("Raw counts, device by task"));
    other.sees("Device by task");
}
