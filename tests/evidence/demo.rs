//! The demo's students: somebody who looks at the evidence can say which device
//! serves which task, and trace it to the entries.

use crate::demo::{filled, signed_in};

#[tokio::test]
async fn in_the_demo_the_matrix_says_which_device_serves_which_task() {
    let world = filled().await;
    let marisol = signed_in(&world, "marisol").await;
    let today = marisol.opens("/today").await.ok();
    let mut told = Vec::new();
    for name in ["Kwame Adeyinka-Voss", "Ifeoma Tamsin-Okafor", "Saoirse Lindqvist", "Mateus Oduya", "Jonah Farrow-Ito"]
    {
        let evidence = format!("{}/evidence", today.link(name));
        let page = marisol.opens(&evidence).await.ok().lacks("NaN");
        let seen = page.seen();
        if ["with the own", "with the lent"].iter().any(|with| {
            ["very likely (", "; likely", "unlikely ("].iter().any(|band| seen.contains(with) && seen.contains(band))
        }) {
            told.push(name);
        }
    }
    assert!(told.contains(&"Ifeoma Tamsin-Okafor") && told.contains(&"Jonah Farrow-Ito"), "{told:?}");
    // One of them in full: with and without in class, and what the device gives.
    let ifeoma = format!("{}/evidence", today.link("Ifeoma Tamsin-Okafor"));
    let page = marisol.opens(&ifeoma).await.ok();
    page.sees("In class, without a device: 8 of 10 words are read when the small letters are")
        .sees("finer detail (")
        .sees("of 6\u{d7} printed on it")
        .sees("better than without:")
        .sees("The entries behind it");
}

#[tokio::test]
async fn what_a_consent_keeps_back_is_left_out_and_named() {
    let world = filled().await;
    let (noor, marisol) = (signed_in(&world, "noor").await, signed_in(&world, "marisol").await);
    // Her family keeps to itself what is seen at home.
    let today = marisol.opens("/today").await.ok();
    let evidence = format!("{}/evidence", today.link("Saoirse Lindqvist"));
    let whole = marisol.opens(&evidence).await.ok().seen();
    assert!(!whole.contains("Not in these figures") && whole.contains("At home"), "{whole}");
    let clinic = noor.opens(&evidence).await.ok();
    clinic.sees("Not in these figures").sees("what is seen at home and in the community").lacks("At home");
}
