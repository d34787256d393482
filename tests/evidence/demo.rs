//! The demo's students: somebody who looks at the evidence can say which device
//! serves which task, and trace it to the entries.

use crate::demo::{filled, signed_in};
use crate::page::css;

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
    assert!(told.contains(&"Ifeoma Tamsin-Okafor") && told.contains(&"Kwame Adeyinka-Voss"), "{told:?}");
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

#[tokio::test]
async fn each_figure_leads_to_exactly_the_entries_behind_it() {
    let world = filled().await;
    let marisol = signed_in(&world, "marisol").await;
    let today = marisol.opens("/today").await.ok();
    let student = today.link("Ifeoma Tamsin-Okafor");
    let page = marisol.opens(&format!("{student}/evidence")).await.ok();
    let links = page.links();
    let traced: Vec<_> = links.iter().filter(|(to, _)| to.contains("/evidence/entries?")).collect();
    for part in ["setting=classroom", "setting=training", "setting=all", "task=", "skill=spotting", "felt=yes", "left="]
    {
        assert!(traced.iter().any(|(to, _)| to.contains(part)), "no figure leads to {part}");
    }
    let number = |text: &str| text.split_whitespace().find_map(|word| word.parse::<usize>().ok());
    for (to, words) in traced {
        let behind = marisol.opens(to).await.ok();
        let html = behind.html();
        let lines = html.select(&css("ol.entries > li")).count();
        assert!(lines > 0, "nothing stands behind {words}: {to}");
        if words.ends_with("items in class") || words.ends_with("items") || to.contains("left=") {
            // "8 entries, 8 sessions, 64 items in class"; "It took help: 15".
            assert_eq!(Some(lines), number(words), "{words}: {to}");
        }
        if let Some(counts) = words.strip_prefix("seen here: ") {
            // "seen here: 16 of 32" is the sum of what the entries say.
            let seen = behind.seen();
            let said: Vec<&str> = seen.split(" right at ").collect();
            let sum = said[..said.len() - 1].iter().fold((0, 0), |sum, before| {
                let mut last = before.rsplit(' ').take(3);
                let mut next = || last.next().expect("right of tried").to_owned();
                let (tried, _, right) = (next(), next(), next());
                (sum.0 + right.parse::<usize>().expect("a count"), sum.1 + tried.parse::<usize>().expect("a count"))
            });
            assert_eq!(counts, format!("{} of {}", sum.0, sum.1), "{to}");
        }
    }
    // A mark of the training leads to its session.
    let sessions = links.iter().filter(|(to, _)| to.starts_with(&format!("{student}/training/"))).count();
    assert!(sessions >= 10, "{sessions}");
    // An address that no figure has shows nothing, and says no more than that.
    let none =
        marisol.opens(&format!("{student}/evidence/entries?track=distance&device=none&skill=copying")).await.ok();
    none.sees("None of these entries is open to you.");
}

#[tokio::test]
async fn two_examinations_of_the_demo_can_be_compared_and_the_near_track_has_findings() {
    let world = filled().await;
    let noor = signed_in(&world, "noor").await;
    let today = noor.opens("/today").await.ok();
    let jonah = today.link("Jonah Farrow-Ito");
    for place in ["/evaluations", "/review/distance"] {
        let page = noor.opens(&format!("{jonah}{place}")).await.ok();
        // 10/50 on paper and 10/60 in the clinic: 0.70 and 0.78 logMAR, 0.08 apart.
        page.sees("The last two examinations")
            .sees("+0.08 (worse)")
            .sees("No more than two tests differ by")
            .lacks("No row of the newest examination");
    }
    let kwame = today.link("Kwame Adeyinka-Voss");
    let page = noor.opens(&format!("{kwame}/evidence")).await.ok();
    let matrix = page.table("Print by device");
    let told = matrix.rows.iter().flatten().filter(|cell| !cell.contains("not enough yet") && cell.contains(" right"));
    assert!(told.count() >= 2, "{matrix:?}");
}
