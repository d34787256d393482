//! The picture tells what the words tell, to scale, and stays on its paper.

use scraper::ElementRef;

use super::{lent, sits};
use crate::page::{Page, css};
use crate::world::World;

fn number(element: ElementRef<'_>, name: &str) -> f64 {
    let text = element.attr(name).unwrap_or_else(|| panic!("{name} of {}", element.html()));
    text.parse().unwrap_or_else(|_| panic!("{name} is {text}"))
}

/// The ellipses of one class: centre and half width.
fn ovals(page: &Page, class: &str) -> Vec<(f64, f64)> {
    let html = page.html();
    let picked = css(&format!("figure.picture svg > ellipse.{class}"));
    html.select(&picked).map(|oval| (number(oval, "cx"), number(oval, "rx"))).collect()
}

#[tokio::test]
async fn rings_numbers_and_letters_are_to_scale() {
    let world = World::new().await;
    let (team, address) = lent(&world).await;
    let page = team.teacher.opens(&address).await.ok();
    // A board of 3 m on 344 of 360 units: 114.67 units a metre.
    let a_metre = (360.0 - 16.0) / 3.0;
    let (first, others) = (ovals(&page, "accent"), ovals(&page, "hair"));
    assert_eq!((first.len(), others.len()), (2, 4), "the first look, the enlarged one, and four more");
    // The looks of the table: 85.3 cm at the edges, 81.8 cm in the middle.
    assert!((first[0].1 * 2.0 - 0.8532 * a_metre).abs() < 0.2, "{first:?}");
    assert!((first[0].0 - 8.0 - 0.8532 / 2.0 * a_metre).abs() < 0.2, "{first:?}");
    assert!((others[1].1 * 2.0 - 0.8185 * a_metre).abs() < 0.2 && (others[1].0 - 180.0).abs() < 0.2, "{others:?}");
    let html = page.html();
    let numbers: Vec<String> = html
        .select(&css("figure.picture svg > text"))
        .map(|text| text.text().collect::<String>())
        .filter(|text| text.len() == 1)
        .collect();
    assert_eq!(numbers, ["1", "2", "3", "4", "5"]);
    // The letters: a grid of 12 units stands for 3.5 cm.
    let scales: Vec<f64> = html
        .select(&css("figure.picture use"))
        .filter_map(|word| word.attr("transform")?.split_once("scale(")?.1.strip_suffix(')')?.parse().ok())
        .collect();
    let (smallest, largest) = scales.iter().fold((f64::MAX, 0.0_f64), |(low, high), at| (low.min(*at), high.max(*at)));
    assert!((smallest * 12.0 - 0.035 * a_metre).abs() < 0.01, "{smallest}");
    // Enlarged, 81.85 cm are 240 units high at the most.
    assert!((largest * 12.0 - 0.035 * 240.0 / 0.8185).abs() < 0.01, "{largest}");
}

#[tokio::test]
async fn everything_stays_on_the_paper_from_every_seat() {
    let world = World::new().await;
    let (team, _) = lent(&world).await;
    let seats: [(&str, &[(&str, &str)]); 4] = [
        ("Narrow", &[("distance", "9 m"), ("board_width", "1 m")]),
        ("Wide", &[("distance", "2.2 m"), ("board_width", "9 m")]),
        ("Left", &[("distance", "3 m"), ("aside", "3 m"), ("side", "left"), ("board_width", "2.4 m")]),
        ("Right", &[("distance", "3 m"), ("aside", "3 m"), ("side", "right"), ("board_width", "2.4 m")]),
    ];
    for (room, seat) in seats {
        let address = sits(&team, room, seat, &[]).await;
        let page = team.teacher.opens(&address).await.ok();
        let html = page.html();
        let svg = html.select(&css("figure.picture svg")).next().unwrap_or_else(|| panic!("{room}: no picture"));
        let size: Vec<f64> = svg.attr("viewBox").unwrap().split(' ').map(|part| part.parse().unwrap()).collect();
        // A class in the definitions is not seen from where a word is used, and
        // strokes without one are filled to blots.
        let words: Vec<_> = svg.select(&css("use")).collect();
        assert!(words.iter().all(|word| word.attr("class") == Some("ink")), "{room}: a word is not drawn in strokes");
        for oval in svg.select(&css("ellipse")) {
            let (x, y) = (number(oval, "cx"), number(oval, "cy"));
            let (across, up) = (number(oval, "rx"), number(oval, "ry"));
            assert!(x - across >= 0.0 && x + across <= size[2], "{room}: {}", oval.html());
            assert!(y - up >= 0.0 && y + up <= size[3], "{room}: {}", oval.html());
        }
        for text in svg.select(&css("text")) {
            let (x, y) = (number(text, "x"), number(text, "y"));
            assert!(x >= 0.0 && x <= size[2] && y >= 12.0 && y <= size[3] - 4.0, "{room}: {}", text.html());
        }
    }
}
