//! The cases of the statistics against the functions that answer them.
//!
//! Results here are lists and figures by name, so they have a comparison of
//! their own: a tolerance holds for its key, for keys that begin with it, and
//! inside a list of figures for each.

use farpoint::vision::acuity::LogMar;
use farpoint::vision::skill::{Level, success_rate};
use farpoint::vision::stats::better::{Count, compare};
use farpoint::vision::stats::everyday::next::SoFar;
use farpoint::vision::stats::everyday::task::Task;
use farpoint::vision::stats::everyday::{
    Cell, Device, Guess, Observation, Posterior, Prior, Saw, everyday,
};
use farpoint::vision::stats::growth::{RateOnDay, autocorrelation, weekly_growth};
use farpoint::vision::stats::mastery::{Rule, chances};
use farpoint::vision::stats::observing::{
    Course, Overdispersion, Tally, Word, delivered, effective_sessions, field_demand, items_of_word, of_tally, of_word,
};
use farpoint::vision::stats::overlap::{Better, all_pairs};
use farpoint::vision::stats::rate::per_minute;
use farpoint::vision::stats::spotting::{Search, time_to_spot};
use farpoint::vision::stats::trend::{Point, kendall, theil_sen};
use farpoint::vision::units::{Fraction, Magnification, Metres, Seconds};
use serde_json::{Map, Value, json};

const FILES: [(&str, &str, usize); 4] = [
    ("14", include_str!("../reference/14-observation-model.json"), 32),
    ("15", include_str!("../reference/15-progress.json"), 21),
    ("16", include_str!("../reference/16-comparison.json"), 3),
    ("18", include_str!("../reference/18-next-size.json"), 2),
];

type Found = Result<Value, Box<dyn std::error::Error>>;

fn n(inputs: &Value, key: &str) -> f64 {
    inputs[key].as_f64().unwrap_or_else(|| panic!("{key} is no number in {inputs}"))
}

fn count(inputs: &Value, key: &str) -> u32 {
    u32::try_from(inputs[key].as_u64().unwrap_or_else(|| panic!("{key} is no count"))).expect("small")
}

fn list(inputs: &Value, key: &str) -> Vec<f64> {
    inputs[key].as_array().expect("a list").iter().map(|value| value.as_f64().expect("a number")).collect()
}

fn word(inputs: &Value) -> Word {
    match inputs["word"].as_str().expect("a word") {
        "none" => Word::None,
        "some" => Word::Some,
        "most" => Word::Most,
        "all" => Word::All,
        other => panic!("no such word: {other}"),
    }
}

fn observation(entry: &Value) -> Result<Observation, Box<dyn std::error::Error>> {
    let items = entry["n"].as_u64().map(|_| count(entry, "n"));
    let saw = match entry["kind"].as_str() {
        Some("tally") => Saw::Tally(Tally::new(count(entry, "k"), count(entry, "n"))?),
        _ => Saw::Word(word(entry), items),
    };
    let session = entry["sid"].as_u64().expect("a session");
    Ok(Observation::new(LogMar::new(n(entry, "x"))?, Guess::new(n(entry, "g"))?, session, saw)?)
}

fn observations(entries: &Value) -> Result<Vec<Observation>, Box<dyn std::error::Error>> {
    entries.as_array().expect("a list of entries").iter().map(observation).collect()
}

fn prior(mean: &Value, deviation: &Value) -> Result<Prior, Box<dyn std::error::Error>> {
    Ok(Prior::new(LogMar::new(mean.as_f64().expect("a mean"))?, deviation.as_f64().expect("a spread"))?)
}

const ONLY: Cell = Cell { device: 0, setting: 0 };

fn one_cell(inputs: &Value) -> Result<Posterior, Box<dyn std::error::Error>> {
    let settings = vec![observations(&inputs["observations"])?];
    Ok(everyday(&[Device { prior: prior(&inputs["prior"]["mean"], &inputs["prior"]["sd"])?, settings }])?)
}

fn points(xs: Vec<f64>, ys: Vec<f64>) -> Result<Vec<Point>, Box<dyn std::error::Error>> {
    Ok(xs.into_iter().zip(ys).map(|(x, y)| Point::new(x, y)).collect::<Result<_, _>>()?)
}

fn level(inputs: &Value) -> Level {
    if n(inputs, "level") > 0.92 { Level::NinetyFive } else { Level::Ninety }
}

fn answer(op: &str, inputs: &Value) -> Found {
    Ok(match op {
        "field_demand" => {
            let found = field_demand(Metres::new(n(inputs, "letter_height_m"))?, Metres::new(n(inputs, "distance_m"))?)?;
            json!({"logMAR": found.get()})
        }
        "tally_likelihood" => {
            let tally = Tally::new(count(inputs, "k"), count(inputs, "n"))?;
            let found = of_tally(tally, Fraction::new(n(inputs, "p"))?, Overdispersion::new(n(inputs, "rho"))?);
            json!({"pmf": found.chance, "robust_loglik": found.robust_log})
        }
        "word_likelihood" => {
            let items = inputs["n"].as_u64().map(|_| count(inputs, "n"));
            let rho = Overdispersion::new(n(inputs, "rho"))?;
            let found = of_word(word(inputs), items, Fraction::new(n(inputs, "p"))?, rho)?;
            let set: Vec<u32> = word(inputs).counts(items_of_word(items)).collect();
            json!({"set": set, "prob": found.chance, "robust_loglik": found.robust_log})
        }
        "effective_sessions" => json!({"S_eff": effective_sessions(&list(inputs, "items_per_session"))?}),
        "size_for_success" => {
            let course = Course {
                threshold: LogMar::new(n(inputs, "theta"))?,
                spread: n(inputs, "sigma"),
                lapse: Fraction::new(n(inputs, "lapse"))?,
                guess: Fraction::new(n(inputs, "guess"))?,
            };
            let found = course.size_for(Fraction::new(0.8)?)?;
            json!({"x80": found.map(LogMar::get), "reachable": found.is_some()})
        }
        "effective_magnification" => {
            let (without, with) = (LogMar::new(n(inputs, "theta_unaided"))?, LogMar::new(n(inputs, "theta_aided"))?);
            let found = delivered(without, with, Magnification::new(n(inputs, "nominal"))?)?;
            json!({"M_eff": found.effective.get(), "ratio": found.ratio, "log_efficiency": found.log_efficiency})
        }
        "everyday_acuity" | "next_day_success" => acuity(inputs)?,
        "suspect_entry" => {
            let found = one_cell(inputs)?;
            let slips = found.slips(ONLY)?;
            let moved = found.slip_if_moved(ONLY, slips.len() - 1, -1.0)?;
            json!({"r": slips, "r_last_shift_minus_1": moved, "theta_mean": found.threshold(ONLY)?.mean})
        }
        "everyday_acuity_by_setting" => by_setting(inputs)?,
        "next_practice_size" => {
            let guess = Guess::new(n(inputs, "guess"))?;
            let next = one_cell(inputs)?.next_size(ONLY, guess, Fraction::new(n(inputs, "target"))?, SoFar::default())?;
            json!({"x_next": next.map(|next| next.exact.get())})
        }
        "nap" | "nap_interval" => {
            let level = if op == "nap" { Level::Ninety } else { level(inputs) };
            let found = all_pairs(&list(inputs, "A"), &list(inputs, "B"), Better::Higher, level)?;
            let published = found.as_published;
            json!({"NAP": found.share, "SE": found.error, "lo": published.low, "hi": published.high})
        }
        "kendall_tau_b" => {
            let found = kendall(&points(list(inputs, "x"), list(inputs, "y"))?)?;
            json!({"S": found.score, "tau_b": found.tau_b, "p_two_sided": found.p_two_sided})
        }
        "theil_sen" => {
            let found = theil_sen(&points(list(inputs, "x"), list(inputs, "y"))?, level(inputs))?;
            let interval = found.interval;
            json!({"slope": found.slope, "intercept": found.intercept, "lo": interval.low, "hi": interval.high})
        }
        "weekly_growth" => {
            let rates: Vec<RateOnDay> = list(inputs, "days")
                .into_iter()
                .zip(list(inputs, "rate"))
                .map(|(day, rate)| RateOnDay::new(day, rate))
                .collect::<Result<_, _>>()?;
            let found = weekly_growth(&rates, Level::Ninety)?;
            json!({"x_per_week": found.per_week, "lo90": found.interval.low, "hi90": found.interval.high,
                "x_per_week_theil_sen": found.per_week_by_median})
        }
        "residual_autocorrelation" => {
            let found = autocorrelation(&list(inputs, "y"))?;
            json!({"r1": found.r1, "r1_plus_1_over_n": found.shifted})
        }
        "wilson_interval90" => {
            let found = success_rate(count(inputs, "k"), count(inputs, "n"), Level::Ninety)?;
            json!({"lo": found.low.get(), "hi": found.high.get()})
        }
        "rate_interval90" => {
            let time = Seconds::new(60.0 * n(inputs, "minutes"))?;
            let found = per_minute(count(inputs, "correct"), time, Level::Ninety)?;
            json!({"per_min": found.rate, "lo": found.interval.low, "hi": found.interval.high})
        }
        "mastery_rule" => {
            let rule = Rule {
                items: count(inputs, "items"),
                criterion: Fraction::new(n(inputs, "criterion"))?,
                running: count(inputs, "consecutive"),
                days: 1,
            };
            let alike = inputs["rho"].as_f64().map(Overdispersion::new).transpose()?;
            let found = chances(rule, Fraction::new(n(inputs, "true_rate"))?, alike, count(inputs, "sessions"))?;
            json!({"p_one_session": found.one_session, "p_mastered_by_N": found.within_sessions})
        }
        "time_to_spot" => {
            let found = list(inputs, "found");
            let searches: Vec<Search> = list(inputs, "seconds")
                .into_iter()
                .zip(found)
                .map(|(time, found)| Seconds::new(time).map(if found > 0.5 { Search::Found } else { Search::Stopped }))
                .collect::<Result<_, _>>()?;
            let found = time_to_spot(&searches, Seconds::new(n(inputs, "cap"))?, Level::Ninety)?;
            json!({"km_median": found.median.map(Seconds::get), "rmst": found.mean_to_cap.get()})
        }
        "probability_better" => {
            let first = Count::new(count(inputs, "k1"), count(inputs, "n1"))?;
            json!({"P_p1_gt_p2": compare(first, Count::new(count(inputs, "k2"), count(inputs, "n2"))?).first_higher})
        }
        _ => return Err(format!("no function answers {op}").into()),
    })
}

fn acuity(inputs: &Value) -> Found {
    let (posterior, query) = (one_cell(inputs)?, &inputs["query"]);
    let of = if query["next"].is_null() { query } else { &query["next"] };
    let (items, least) = (count(of, "n"), count(of, "k_min"));
    let wanted = Fraction::new(query["crit"].as_f64().unwrap_or(f64::from(least) / f64::from(items)))?;
    let task = Task { size: LogMar::new(n(query, "x"))?, guess: Guess::new(n(query, "guess"))?, items, wanted };
    let (threshold, success) = (posterior.threshold(ONLY)?, posterior.success(ONLY, task)?);
    assert_eq!(success.needed, least, "the cases ask for the share they name");
    Ok(json!({
        "theta_mean": threshold.mean, "theta_sd": threshold.deviation,
        "q05": threshold.interval.low, "q50": threshold.median.get(), "q95": threshold.interval.high,
        "p_rate80": success.usually, "p_next10_ge8": success.on_an_average_day, "p_next_day_ge8": success.on_a_day,
    }))
}

fn by_setting(inputs: &Value) -> Found {
    let priors = inputs["priors"].as_object().expect("priors");
    let cells = inputs["cells"].as_object().expect("cells");
    let device_of = |name: &str| name.split('/').next().unwrap_or(name).to_owned();
    let names: Vec<&String> = priors.keys().collect();
    let mut places: Vec<(String, Cell)> = Vec::new();
    let mut devices = Vec::new();
    for (device, name) in names.iter().enumerate() {
        let mut settings = Vec::new();
        for (cell, entries) in cells.iter().filter(|(cell, _)| device_of(cell) == **name) {
            places.push((cell.clone(), Cell { device, setting: settings.len() }));
            settings.push(observations(entries)?);
        }
        devices.push(Device { prior: prior(&priors[*name][0], &priors[*name][1])?, settings });
    }
    let posterior = everyday(&devices)?;
    let mut found = Map::new();
    for (name, cell) in &places {
        let threshold = posterior.threshold(*cell)?;
        found.insert(format!("theta_mean:{name}"), threshold.mean.into());
        found.insert(format!("theta_sd:{name}"), threshold.deviation.into());
    }
    for (device, name) in names.iter().enumerate() {
        let threshold = posterior.over_settings(device)?;
        found.insert(format!("mu_mean:{name}"), threshold.mean.into());
        found.insert(format!("mu_sd:{name}"), threshold.deviation.into());
    }
    let place = |name: &str| places.iter().find(|(known, _)| known == name).map(|(_, cell)| *cell);
    let device = |name: &str| names.iter().position(|known| *known == name).expect("a device");
    let mut contrasts = Vec::new();
    for pair in inputs["contrasts"].as_array().expect("pairs") {
        let (first, second) = (pair[0].as_str().expect("a name"), pair[1].as_str().expect("a name"));
        let apart = match (place(first), place(second)) {
            (Some(first), Some(second)) => posterior.difference_alone(first, second)?,
            _ => posterior.difference_over_settings(device(first), device(second))?,
        };
        let interval = apart.interval;
        let mut one = json!({"mean": apart.mean, "q05": interval.low, "q95": interval.high, "p_gt0": apart.first_larger});
        if let (Some(power), "u") = (inputs["nominal_power"][device_of(second)].as_f64(), device_of(first).as_str()) {
            one["p_delivers"] = apart.at_least((0.8 * power).log10()).into();
        }
        contrasts.push(one);
    }
    found.insert("contrasts".into(), contrasts.into());
    Ok(found.into())
}

/// The complaints about one figure, list or set of figures.
fn compare_with(wanted: &Value, got: &Value, tolerance: &Value, path: &str, wrong: &mut Vec<String>) {
    match (wanted, got) {
        (Value::Number(_), Value::Number(_)) => {
            let (wanted, got) = (wanted.as_f64().expect("a figure"), got.as_f64().expect("a figure"));
            let allowed = tolerance.as_f64().or_else(|| tolerance["abs"].as_f64()).expect("a tolerance");
            if (wanted - got).abs() > allowed {
                wrong.push(format!("{path}: {got}, expected {wanted}"));
            }
        }
        (Value::Array(wanted), Value::Array(got)) if wanted.len() == got.len() => {
            for (at, (wanted, got)) in wanted.iter().zip(got).enumerate() {
                compare_with(wanted, got, tolerance, &format!("{path}[{at}]"), wrong);
            }
        }
        (Value::Object(wanted), Value::Object(got)) => {
            for (key, wanted) in wanted {
                let of_key = tolerance.as_object().and_then(|all| {
                    all.get(key).or_else(|| all.iter().find(|(start, _)| key.starts_with(*start)).map(|(_, of)| of))
                });
                match got.get(key) {
                    None => wrong.push(format!("{path}{key}: not answered")),
                    Some(got) => compare_with(wanted, got, of_key.unwrap_or(tolerance), &format!("{path}{key}"), wrong),
                }
            }
        }
        _ if wanted == got => {}
        _ => wrong.push(format!("{path}: {got}, expected {wanted}")),
    }
}

#[test]
fn every_case_of_the_statistics_holds() {
    let mut wrong = Vec::new();
    for (topic, text, number) in FILES {
        let cases: Vec<Value> = serde_json::from_str(text).expect("reference files are JSON");
        assert_eq!(cases.len(), number, "cases of topic {topic}");
        for case in cases {
            assert!(case["source"].as_str().is_some_and(|source| !source.is_empty()), "{}", case["id"]);
            let mut found = Vec::new();
            match answer(case["op"].as_str().expect("an operation"), &case["inputs"]) {
                Ok(got) => compare_with(&case["expected"], &got, &case["tolerance"], "", &mut found),
                Err(refused) => found.push(format!("refused: {refused}")),
            }
            wrong.extend(found.into_iter().map(|what| format!("{} {what}", case["id"])));
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn a_wrong_figure_of_the_statistics_would_be_noticed() {
    let wrong = |wanted: Value, got: Value, tolerance: Value| {
        let mut found = Vec::new();
        compare_with(&wanted, &got, &tolerance, "", &mut found);
        found.len()
    };
    assert_eq!(wrong(json!({"lo": 1.0}), json!({"lo": 1.1}), json!({"abs": 0.05})), 1);
    assert_eq!(wrong(json!({"lo": 1.0}), json!({"hi": 1.0}), json!({"abs": 0.05})), 1);
    assert_eq!(wrong(json!({"theta:a": 1.0}), json!({"theta:a": 1.04}), json!({"theta": 0.03, "mu": 0.1})), 1);
    assert_eq!(wrong(json!({"r": [1.0, 2.0]}), json!({"r": [1.0]}), json!({"abs": 1.0})), 1);
    assert_eq!(wrong(json!({"r": [1.0, 2.0]}), json!({"r": [1.0, 2.1]}), json!({"r": 0.2})), 0);
    assert_eq!(wrong(json!({"km": null}), json!({"km": 3.0}), json!({"abs": 9.0})), 1);
}
