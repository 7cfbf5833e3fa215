//! How much is promised and how a shortage is shared, as the farm configured it: through the local server, against values
//! reckoned apart.

use pinset::conversation::Desk;
use pinset_tests::book::{add_lot, assert_reads, awards, buyer_id, every_thursday, in_pounds, move_to, order};
use pinset_tests::farm::{Farm, HERON, KETTLE, SALTMARSH, joined_with};
use scheduler::clock::LocalDate;
use scheduler::farm::expected;
use scheduler::quantity::Grams;
use scheduler::store::deliveries;

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

/// What each of these restaurants is promised on a day.
async fn promised(farm: &Farm, buyers: &[&str], on: LocalDate) -> anyhow::Result<Vec<i64>> {
    let awards = awards(farm, on).await?;
    let mut sums = Vec::new();
    for name in buyers {
        let id = buyer_id(farm, name).await?;
        sums.push(awards.iter().filter(|award| award.buyer_id == id).map(|award| award.promised.get()).sum());
    }
    Ok(sums)
}

/// What a farm with both crops on its shelves promises when more of both is asked for than will come.
struct Outcome {
    /// By restaurant and crop.
    promised: Vec<(String, i64)>,
    /// As recorded.
    holds: f64,
    /// The same, counted here on the forecast's own draws.
    counted: f64,
    table: String,
}

/// Orders close six days before the van leaves, so that both harvests are still uncertain.
const FRIDAY: (&str, &str) = ("cutoff = \"2 days before at 18:00\"", "cutoff = \"0 18 * * FRI\"");

async fn both_crops_short(changes: &[(&str, &str)]) -> anyhow::Result<Outcome> {
    let farm = joined_with(changes).await?;
    let stage = &farm.stage;
    for (crop, units, weight, room) in [("oyster", "24", "6 lb", "warm room"), ("shiitake", "70", "2 lb", "cool room")]
    {
        stage.say(farm.chidi, "/batch").await?;
        stage.press_first(farm.chidi, crop).await?;
        for answer in [units, weight, room] {
            stage.say(farm.chidi, answer).await?;
        }
    }
    stage.say(farm.chidi, "opened 24 bags").await?;
    stage.say(farm.chidi, "soaked 70 blocks").await?;
    let thursday = day("2026-06-18");
    for buyer in [HERON, KETTLE, SALTMARSH] {
        for crop in ["oyster", "shiitake"] {
            order(&farm, buyer, (crop, 50_000), thursday).await?;
        }
    }
    // Both flushes have begun to give; how much more is the question.
    move_to(&farm, "2026-06-12 12:00:00").await?;
    for picked in ["picked 4 lb oyster", "picked 5 lb shiitake"] {
        stage.say(farm.chidi, picked).await?;
    }
    move_to(&farm, "2026-06-12 18:01:00").await?;
    let awards = awards(&farm, thursday).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let holds = deliveries::chance_on(&mut tx, thursday).await?.expect("a chance is recorded");
    let mut desk = Desk::new(tx, stage.now(), &stage.engine.house, None);
    let supplies = expected::supplies_on(&mut desk.farm(), &[thursday]).await?;
    let of = |crop: &str| -> f32 {
        let of_crop = awards.iter().filter(|award| award.crop == crop);
        of_crop.map(|award| award.promised.get()).sum::<i64>() as f32
    };
    let draws = supplies[0].draws_g.len();
    let is_kept = |draw: &usize| supplies.iter().all(|supply| supply.draws_g[*draw] >= of(supply.crop.as_str()));
    let counted = (0..draws).filter(is_kept).count() as f64 / draws as f64;
    drop(desk);
    let promised =
        awards.iter().map(|award| (format!("{} {}", award.buyer_id, award.crop), award.promised.get())).collect();
    let table = stage.last(farm.ada).text;
    farm.stage.close().await;
    Ok(Outcome { promised, holds, counted, table })
}

#[tokio::test]
async fn both_crops_are_promised_together_and_the_family_reads_the_chance() -> anyhow::Result<()> {
    let usual = both_crops_short(&[FRIDAY]).await?;
    assert!((0.8..0.9).contains(&usual.holds), "{}", usual.holds);
    // Whole grams of each day's pick are less than the sum by a few grams at most.
    assert!((usual.holds - usual.counted).abs() <= 0.005, "{} for {}", usual.holds, usual.counted);
    assert_reads(&usual.table, &[&format!("keep all of it: {:.0}%", usual.holds * 100.0)]);
    let sum = |outcome: &Outcome| outcome.promised.iter().map(|(_, grams)| grams).sum::<i64>();
    assert!(sum(&usual) > 5000, "{:?}", usual.promised);
    let again = both_crops_short(&[FRIDAY]).await?;
    assert_eq!(
        again.promised.iter().map(|one| one.1).collect::<Vec<_>>(),
        usual.promised.iter().map(|one| one.1).collect::<Vec<_>>()
    );

    // Letting down nine times as dear as a leftover: nine weeks of ten (the newsvendor's critical ratio, 900 / 1000).
    let dear = "level = 0.5\nlet_down_cents_per_kg = 900\nleft_over_cents_per_kg = 100";
    let careful = both_crops_short(&[FRIDAY, ("level = 0.8", dear)]).await?;
    assert!((0.9..0.97).contains(&careful.holds), "{}", careful.holds);
    assert!(sum(&careful) < sum(&usual), "{} for {}", sum(&careful), sum(&usual));
    Ok(())
}

/// Claims as 1 : 2 : 3 and a third of them there: 50, 75, 75 of 100, 200, 300 by the contested-garment rule (Aumann & Maschler,
/// J. Econ. Theory 36, 1985, table of the three widows at an estate of 200), 33 1/3, 66 2/3, 100 by proportion, 66 2/3 each by
/// equal awards. In packs of 250 g the parts of packs go by largest remainder.
#[tokio::test]
async fn a_shortage_is_shared_by_the_rule_the_farm_chose() -> anyhow::Result<()> {
    let thursday = day("2026-06-04");
    for (rule, expected, why) in [
        ("contested_garment", vec![500, 750, 750], "Up to half an order everybody gets the same amount"),
        ("proportional", vec![250, 750, 1000], "the same part of their order"),
        ("equal_awards", vec![500, 750, 750], "everybody short gets the same amount"),
    ] {
        let rule_line = format!("\nsharing = \"{rule}\"");
        let farm = joined_with(&[("\nsharing = \"equal_awards\"", &rule_line)]).await?;
        add_lot(&farm, ("shiitake", 2000), day("2026-06-01")).await?;
        for (buyer, grams) in [(HERON, 1000), (KETTLE, 2000), (SALTMARSH, 3000)] {
            order(&farm, buyer, ("shiitake", grams), thursday).await?;
        }
        move_to(&farm, "2026-06-02 18:01:00").await?;
        let mut found = promised(&farm, &[HERON, KETTLE, SALTMARSH], thursday).await?;
        if rule == "equal_awards" {
            // Two of three equals get the last two packs; whose turn it is depends on the week.
            found.sort_unstable();
        }
        assert_eq!(found, expected, "{rule}");
        assert_reads(&farm.stage.last(farm.saltmarsh).text, &[why, "asked for 13 lb 4 oz"]);
        farm.stage.close().await;
    }
    Ok(())
}

/// One week a restaurant gets half of its order, the other all of it. In the next both ask for the same: the one that was cut
/// counts one and a half times where the farm lets it, so 2500 g are 1000 and 1500, else 1250 each. Over both weeks the
/// first got 1500 of 4500 g and the other 2500 of 6000 g.
#[tokio::test]
async fn last_weeks_cut_weighs_in_and_the_family_reads_how_each_is_served() -> anyhow::Result<()> {
    for (carry, expected, rates) in [("true", [1000, 1500], ["33%", "42%"]), ("false", [1250, 1250], ["39%", "38%"])] {
        let carry_line = format!("carry_last_cut = {carry}");
        let farm = joined_with(&[("carry_last_cut = false", &carry_line)]).await?;
        let (first, second) = (day("2026-06-04"), day("2026-06-11"));
        assert_reads(&farm.stage.say(farm.chidi, "/record").await?[0].text, &["No delivery has been closed yet"]);
        add_lot(&farm, ("shiitake", 1500), day("2026-06-01")).await?;
        order(&farm, HERON, ("shiitake", 500), first).await?;
        order(&farm, KETTLE, ("shiitake", 2000), first).await?;
        move_to(&farm, "2026-06-08 09:00:00").await?;
        assert_eq!(promised(&farm, &[HERON, KETTLE], first).await?, [500, 1000]);
        add_lot(&farm, ("shiitake", 2500), day("2026-06-08")).await?;
        for buyer in [HERON, KETTLE] {
            order(&farm, buyer, ("shiitake", 4000), second).await?;
        }
        move_to(&farm, "2026-06-09 18:01:00").await?;
        assert_eq!(promised(&farm, &[HERON, KETTLE], second).await?, expected, "carry_last_cut = {carry}");

        let record = farm.stage.say(farm.chidi, "/record").await?[0].text.clone();
        let given = |grams| in_pounds(Grams::new(grams));
        assert_reads(
            &record,
            &[
                "Thursday, June 11: who got what",
                &format!("{HERON} ({}): shiitake 8 lb 13 oz: promised {}", rates[0], given(expected[0])),
                &format!("{KETTLE} ({}): shiitake 8 lb 13 oz: promised {}", rates[1], given(expected[1])),
            ],
        );
        farm.stage.press(farm.chidi, "Thu, Jun 4").await?;
        assert_reads(
            &farm.stage.last(farm.chidi).text,
            &[
                "Thursday, June 4: who got what",
                &format!("{HERON} (100%): shiitake 1 lb 2 oz: promised 1 lb 2 oz"),
                &format!("{KETTLE} (50%): shiitake 4 lb 7 oz: promised 2 lb 3 oz → no answer, 2 lb 3 oz kept"),
            ],
        );
        assert_reads(&farm.stage.say(farm.heron, "/record").await?[0].text, &["not yours"]);
        farm.stage.close().await;
    }
    Ok(())
}

/// 4000 g for 10 000 g asked, 3000 g of another crop nobody asked for, and blocks that can be soaked for the deliveries in two
/// weeks and later, not for the nearer ones.
#[tokio::test]
async fn an_early_warning_says_which_delivery_by_how_much_and_what_would_help() -> anyhow::Result<()> {
    let farm = joined_with(&[]).await?;
    let stage = &farm.stage;
    stage.say(farm.chidi, "/batch").await?;
    stage.press_first(farm.chidi, "shiitake").await?;
    for answer in ["70", "2 lb", "cool room"] {
        stage.say(farm.chidi, answer).await?;
    }
    add_lot(&farm, ("shiitake", 4000), day("2026-06-01")).await?;
    add_lot(&farm, ("oyster", 3000), day("2026-06-01")).await?;
    for buyer in [HERON, KETTLE] {
        every_thursday(&farm, buyer, ("shiitake", 2000)).await?;
    }
    order(&farm, SALTMARSH, ("shiitake", 6000), day("2026-06-04")).await?;
    move_to(&farm, "2026-06-02 07:01:00").await?;
    let warning = stage.read(farm.ada.0);
    let (_, nearest) =
        warning.split_once("Thursday, June 4: more is asked for").expect("a warning of the next delivery");
    let (nearest, later) = nearest.split_once("Thursday, June 11").expect("a warning of the one after");
    assert_reads(
        nearest,
        &[
            "asked 22 lb 1 oz, likely 8 lb 13 oz, short by 13 lb 4 oz",
            "Swap: 6 lb 10 oz oyster",
            "nobody orders more than 2 lb 12 oz",
        ],
    );
    assert!(!nearest.contains("Start more"), "too late for the nearest: {nearest}");
    let (_, in_two_weeks) = later.split_once("Thursday, June 18").expect("a warning of the third");
    assert_reads(in_two_weeks, &["short by 8 lb 13 oz", "Start more: soak ", "at the latest"]);
    let told = stage.server.chat(farm.ada.0).len();
    move_to(&farm, "2026-06-02 12:05:00").await?;
    assert_eq!(stage.server.chat(farm.ada.0).len(), told, "once for each news");
    // An order that makes it worse is told within a quarter of an hour.
    stage.say(farm.saltmarsh, "25 lb oyster for Thursday").await?;
    stage.press_first(farm.saltmarsh, "Yes").await?;
    move_to(&farm, "2026-06-02 12:15:00").await?;
    let worse = stage.last(farm.ada).text;
    assert_reads(&worse, &["Thursday, June 4", "oyster: asked 25 lb, likely 6 lb 10 oz, short by 18 lb 6 oz"]);
    assert!(!worse.contains("shiitake"), "that was told: {worse}");
    farm.stage.close().await;
    Ok(())
}
