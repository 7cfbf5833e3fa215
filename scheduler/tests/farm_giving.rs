//! What is left, offered and given without a chat: the use cases of the farm on a database, as the chat and the timetable
//! call them.

use chrono::{NaiveTime, Weekday};
use proptest::prelude::*;
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::delivery::calendar::Calendar;
use scheduler::farm::giving::event::{Event as Giving, GiftEvent};
use scheduler::farm::giving::handing_over::{HandOver, hand_over, take_back};
use scheduler::farm::giving::{Outcome, answering, correcting, proposing};
use scheduler::farm::rules::{DeliveryDays, Rules};
use scheduler::farm::stock;
use scheduler::farm::surplus::event::Event as Surplus;
use scheduler::farm::surplus::offering::{self, Made, Terms};
use scheduler::farm::surplus::taking::{self, GivenBack, Taken};
use scheduler::farm::surplus::{claims, market, out};
use scheduler::farm::{Crops, Event, Farm};
use scheduler::id::Id;
use scheduler::people::{HourClock, Person, Role};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::cold_room::{self, Lot};
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::surplus::MarketHold;
use scheduler::store::{Store, Tx, audit, people, surplus};
use scheduler::surplus::drop::{Refused, State};
use scheduler::surplus::opening::Span;

/// Monday 1 June 2026, 08:00 in Chicago.
const NOW: UtcSeconds = UtcSeconds::new(1_780_318_800);
const PANTRY: Id = Id::new(21);
const TABLE: Id = Id::new(22);

fn day(text: &str) -> LocalDate {
    text.parse().expect("a date")
}

fn oyster(grams: i64) -> Vec<(String, Grams)> {
    vec![("oyster".to_owned(), Grams::new(grams))]
}

fn person(id: i64, role: Role) -> Person {
    Person {
        id: Id::new(id),
        chat_id: 1000 + id,
        name: "Ada".into(),
        role,
        language: "en".into(),
        units: UnitSystem::Metric,
        hour_clock: HourClock::TwentyFour,
        quiet: None,
        buyer_id: None,
        partner_id: None,
    }
}

fn food_bank(id: Id, name: &str, travel_minutes: i64) -> FoodBank {
    let hours = Span::new(9 * 60, 17 * 60).expect("a span");
    FoodBank {
        id,
        name: name.into(),
        address: "12 Quay Street".into(),
        travel_minutes,
        least: Grams::new(500),
        greatest: Grams::new(20_000),
        crops: Vec::new(),
        has_cold_store: true,
        need: 0,
        weekly: vec![(Weekday::Tue, hours), (Weekday::Wed, hours)],
        closed: Vec::new(),
        full: Vec::new(),
        last_drop_at: None,
    }
}

/// A farm with four kilograms of oyster that keep for nine days, two restaurants and two food banks with a contact each.
struct Ground {
    _folder: tempfile::TempDir,
    store: Store,
    calendar: Calendar,
    crops: Crops,
    rules: Rules,
    keeper: Person,
    /// Contacts of the nearer and of the farther food bank, and of the restaurants.
    contacts: [Person; 2],
    buyers: [Person; 2],
}

impl Ground {
    async fn new() -> Ground {
        let folder = tempfile::tempdir().expect("a folder");
        let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
        let store = Store::open(&url).await.expect("opens");
        let mut tx = store.begin().await.expect("begins");
        let keeper = person(1, Role::Keeper);
        people::join(&mut tx, &keeper, NOW).await.expect("joins");
        let mut contacts = [person(2, Role::Pantry), person(3, Role::Pantry)];
        let banks = [food_bank(PANTRY, "Merrow Community Pantry", 10), food_bank(TABLE, "Harbour Table", 40)];
        for (bank, contact) in banks.iter().zip(&mut contacts) {
            giving::put_food_bank(&mut tx, bank, NOW).await.expect("puts");
            contact.partner_id = Some(bank.id);
            people::join(&mut tx, contact, NOW).await.expect("joins");
        }
        let mut buyers = [person(4, Role::Buyer), person(5, Role::Buyer)];
        for (name, contact) in ["Night Heron Noodle Bar", "Copper Kettle Bistro"].into_iter().zip(&mut buyers) {
            contact.buyer_id = Some(people::add_buyer(&mut tx, name, NOW).await.expect("adds"));
            people::join(&mut tx, contact, NOW).await.expect("joins");
        }
        let lot = Lot {
            id: Id::new(30),
            crop: "oyster".into(),
            flush_id: None,
            picked_on: day("2026-05-30"),
            ready_on: day("2026-05-31"),
            keeps_until: day("2026-06-10"),
            picked: Grams::new(4000),
            left: Grams::new(4000),
        };
        cold_room::add_lot(&mut tx, &lot, NOW).await.expect("adds");
        tx.commit().await.expect("commits");
        let rules = Rules {
            delivery: DeliveryDays {
                weekdays: vec![Weekday::Thu],
                departs: NaiveTime::from_hms_opt(8, 0, 0).expect("a time"),
                closed: Vec::new(),
                extra: Vec::new(),
                cutoff_of: Default::default(),
                assumed_hours: 36,
            },
            timetable: Default::default(),
            promise: Default::default(),
            orders: Default::default(),
            offers: Default::default(),
            giving: Default::default(),
            market: Default::default(),
            drying: Default::default(),
        };
        let calendar = rules.calendar(chrono_tz::America::Chicago);
        let crops = Crops::configured(&[]).expect("built in");
        Ground { _folder: folder, store, calendar, crops, rules, keeper, contacts, buyers }
    }

    fn farm<'t>(&'t self, tx: &'t mut Tx, now: UtcSeconds) -> Farm<'t> {
        Farm { tx, now, calendar: &self.calendar, crops: &self.crops, rules: &self.rules }
    }
}

/// What happened to drops, with the food bank each was about.
fn gifts<'e>(events: impl IntoIterator<Item = &'e Giving>) -> Vec<(Id, GiftEvent)> {
    let gift = |event: &Giving| match event {
        Giving::Gift(gift, what) => Some((gift.bank.id, *what)),
        _ => None,
    };
    events.into_iter().filter_map(gift).collect()
}

#[tokio::test]
async fn a_drop_goes_from_one_food_bank_to_the_next_and_into_the_record() {
    let ground = Ground::new().await;
    let mut tx = ground.store.begin().await.expect("begins");
    let mut farm = ground.farm(&mut tx, NOW);
    let asked = GiftEvent::Proposed { has_contact: true };

    let (given, events) = proposing::give(&mut farm, "oyster").await.expect("gives").expect("something is free");
    assert_eq!((given, gifts(&events)), (Grams::new(4000), vec![(PANTRY, asked)]), "the nearer one is asked first");
    let drop = giving::coming_drops(farm.tx).await.expect("reads").remove(0);
    assert_eq!(stock::now(&mut farm).await.expect("counts").free_of("oyster"), Grams::ZERO, "it is spoken for");
    assert!(proposing::give(&mut farm, "oyster").await.expect("gives").is_none());

    // The other food bank has no say in it.
    let strange = answering::decline(&mut farm, &ground.contacts[1], drop.id).await.expect("declines");
    assert!(matches!(strange, Outcome::Unknown));
    let declined = answering::decline(&mut farm, &ground.contacts[0], drop.id).await.expect("declines");
    let Outcome::Done(_, events) = declined else { panic!("it was proposed") };
    assert_eq!(gifts(&events), [(PANTRY, GiftEvent::PassedOn), (TABLE, asked)]);
    let late = answering::agree(&mut farm, &ground.contacts[0], drop.id).await.expect("agrees");
    assert!(matches!(late, Outcome::NotNow(gift) if gift.drop.state() == State::Declined));

    let drop = giving::coming_drops(farm.tx).await.expect("reads").remove(0);
    assert_eq!((drop.partner_id, drop.weight()), (TABLE, Grams::new(4000)));
    let early = hand_over(&mut farm, &ground.keeper, (drop.id, Vec::new())).await.expect("hands over");
    assert!(matches!(early, HandOver::Refused(_, Refused::NotNow(State::Proposed))));
    let agreed = answering::agree(&mut farm, &ground.contacts[1], drop.id).await.expect("agrees");
    assert!(matches!(agreed, Outcome::Done(gift, _) if gift.drop.agreed_at == Some(NOW)));

    let too_much = hand_over(&mut farm, &ground.keeper, (drop.id, oyster(4001))).await.expect("hands over");
    assert!(matches!(too_much, HandOver::Refused(_, Refused::MoreThanAgreed { agreed }) if agreed == Grams::new(4000)));
    let done = hand_over(&mut farm, &ground.keeper, (drop.id, oyster(3500))).await.expect("hands over");
    assert!(matches!(done, HandOver::Done(gift, _) if gift.drop.handed() == Grams::new(3500)));
    assert_eq!(books(farm.tx).await, (3500, 500));
    let right = correcting::correct(&mut farm, &ground.keeper, (drop.id, oyster(3000))).await.expect("corrects");
    assert!(matches!(right, HandOver::Done(..)));
    assert_eq!(books(farm.tx).await, (3000, 1000));
    let more = correcting::correct(&mut farm, &ground.keeper, (drop.id, oyster(4500))).await.expect("corrects");
    assert!(matches!(more, HandOver::NotInColdRoom { grams, .. } if grams == Grams::new(1500)));
    let back = take_back(&mut farm, &ground.keeper, drop.id).await.expect("takes back");
    assert!(matches!(back, Outcome::Done(gift, _) if gift.drop.state() == State::Agreed));
    assert_eq!(books(farm.tx).await, (0, 4000));
}

/// What stands in the record as given, and what lies in the cold room, grams.
async fn books(tx: &mut Tx) -> (i64, i64) {
    let entries = giving::ledger(tx).await.expect("reads");
    let given: Grams = entries.iter().map(|entry| entry.grams).sum();
    let there: Grams = cold_room::lots(tx).await.expect("reads").iter().map(|lot| lot.left).sum();
    (given.get(), there.get())
}

#[tokio::test]
async fn an_offer_is_taken_given_back_and_its_rest_given() {
    let ground = Ground::new().await;
    let mut tx = ground.store.begin().await.expect("begins");
    let mut farm = ground.farm(&mut tx, NOW);
    let terms = Terms { open_minutes: 240, ..Terms::usual(&farm) };
    let made = offering::make(&mut farm, "oyster", &terms).await.expect("makes");
    let Made::Offered { offer, buyers: 2, .. } = made else { panic!("two restaurants are asked: {made:?}") };
    assert_eq!(offer.left, Grams::new(4000));

    let nobody = taking::take(&mut farm, &ground.keeper, (offer.id, Grams::new(500))).await.expect("takes");
    assert!(matches!(nobody, Taken::NotAsked));
    let [heron, kettle] = &ground.buyers;
    let first = taking::take(&mut farm, heron, (offer.id, Grams::new(3000))).await.expect("takes");
    let Taken::Granted { claim, is_less: false, .. } = first else { panic!("it is there: {first:?}") };
    let second = taking::take(&mut farm, kettle, (offer.id, Grams::new(3000))).await.expect("takes");
    assert!(matches!(second, Taken::Granted { claim, is_less: true, .. } if claim.grams == Grams::new(1000)));

    let strange = taking::give_back(&mut farm, kettle, claim.id).await.expect("gives back");
    assert!(matches!(strange, GivenBack::Unknown), "it is another's");
    let given_back = taking::give_back(&mut farm, heron, claim.id).await.expect("gives back");
    assert!(matches!(given_back, GivenBack::Done(..)));
    let again = taking::give_back(&mut farm, heron, claim.id).await.expect("gives back");
    assert!(matches!(again, GivenBack::Unknown), "once");

    let events = offering::end(&mut farm, offer.id).await.expect("ends");
    let ended = events.iter().find_map(|event| match event {
        Event::Surplus(Surplus::Ended { offer }) => Some((offer.taken(), offer.left)),
        _ => None,
    });
    assert_eq!(ended, Some((Grams::new(1000), Grams::new(3000))));
    let proposed = events.iter().filter_map(|event| match event {
        Event::Giving(event) => Some(event),
        _ => None,
    });
    assert_eq!(gifts(proposed), [(PANTRY, GiftEvent::Proposed { has_contact: true })]);
    let drop = giving::coming_drops(farm.tx).await.expect("reads").remove(0);
    assert_eq!(drop.weight(), Grams::new(3000), "what was taken is not given");
    assert_eq!(surplus::claims_waiting(farm.tx).await.expect("reads").len(), 1);
    assert!(offering::end(&mut farm, offer.id).await.expect("ends").is_empty(), "it ends once");
}

/// One thing that somebody does; what it is done to is counted off from what there is.
#[derive(Clone, Copy, Debug)]
enum Deed {
    Give,
    Agree(usize),
    Decline(usize),
    CallOff(usize),
    HandOver(usize, i64),
    CorrectDown(usize, i64),
    TakeBack(usize),
    Offer(i64),
    Take(usize, i64),
    GiveBack(usize),
    PickUp(usize),
    Collect(usize),
    StayUncollected(usize),
    End(usize),
    YieldToOrders(i64),
    KeepForMarket(i64),
    Dry(i64),
}

fn deed() -> impl Strategy<Value = Deed> {
    let (which, grams) = (0usize..6, -100i64..3000);
    let both = (which.clone(), grams.clone());
    prop_oneof![
        2 => Just(Deed::Give),
        3 => which.clone().prop_map(Deed::Agree),
        1 => which.clone().prop_map(Deed::Decline),
        1 => which.clone().prop_map(Deed::CallOff),
        3 => both.clone().prop_map(|(which, grams)| Deed::HandOver(which, grams)),
        1 => both.clone().prop_map(|(which, grams)| Deed::CorrectDown(which, grams)),
        1 => which.clone().prop_map(Deed::TakeBack),
        2 => grams.clone().prop_map(Deed::Offer),
        4 => both.prop_map(|(which, grams)| Deed::Take(which, grams)),
        2 => which.clone().prop_map(Deed::GiveBack),
        1 => which.clone().prop_map(Deed::PickUp),
        2 => which.clone().prop_map(Deed::Collect),
        1 => which.clone().prop_map(Deed::StayUncollected),
        1 => which.prop_map(Deed::End),
        1 => grams.clone().prop_map(Deed::YieldToOrders),
        1 => grams.clone().prop_map(Deed::KeepForMarket),
        1 => grams.prop_map(Deed::Dry),
    ]
}

/// What everything is done to.
struct All {
    drops: Vec<Id>,
    offers: Vec<Id>,
    claims: Vec<Id>,
}

impl All {
    async fn read(tx: &mut Tx) -> All {
        let drops = giving::drops(tx).await.expect("reads").iter().map(|drop| drop.id).collect();
        let offers: Vec<Id> = surplus::offers(tx).await.expect("reads").iter().map(|offer| offer.id).collect();
        let mut claims = Vec::new();
        for offer in &offers {
            claims.extend(surplus::claims_of(tx, *offer).await.expect("reads").iter().map(|claim| claim.id));
        }
        All { drops, offers, claims }
    }
}

/// One of them, counted from the newest; something that is not there when there is none.
fn nth(all: &[Id], which: usize) -> Id {
    all.iter().rev().nth(which % all.len().max(1)).copied().unwrap_or(Id::new(1))
}

async fn act(ground: &Ground, tx: &mut Tx, (deed, now): (Deed, UtcSeconds)) {
    let all = All::read(tx).await;
    let mut farm = ground.farm(tx, now);
    let (farm, keeper) = (&mut farm, &ground.keeper);
    let contact = |which: usize| &ground.contacts[which % 2];
    let buyer = |which: usize| &ground.buyers[which % 2];
    let drop = |which| nth(&all.drops, which);
    let claim = |which| nth(&all.claims, which);
    match deed {
        Deed::Give => drop_of(proposing::give(farm, "oyster").await),
        Deed::Agree(which) => drop_of(answering::agree(farm, contact(which / 2), drop(which)).await),
        Deed::Decline(which) => drop_of(answering::decline(farm, contact(which / 2), drop(which)).await),
        Deed::CallOff(which) => drop_of(answering::call_off(farm, keeper, drop(which)).await),
        Deed::HandOver(which, grams) => drop_of(hand_over(farm, keeper, (drop(which), oyster(grams))).await),
        Deed::CorrectDown(which, grams) => {
            let stands = giving::drop_by_id(farm.tx, drop(which)).await.expect("reads");
            let stands = stands.map_or(Grams::ZERO, |drop| drop.handed());
            let right = oyster(grams.clamp(0, stands.get().max(0)));
            drop_of(correcting::correct(farm, keeper, (drop(which), right)).await);
        }
        Deed::TakeBack(which) => drop_of(take_back(farm, keeper, drop(which)).await),
        Deed::Offer(grams) => {
            let terms = Terms { grams: Some(Grams::new(grams)), ..Terms::usual(farm) };
            drop_of(offering::make(farm, "oyster", &terms).await);
        }
        Deed::Take(which, grams) => {
            let taking = (nth(&all.offers, which / 2), Grams::new(grams));
            drop_of(taking::take(farm, buyer(which), taking).await);
        }
        Deed::GiveBack(which) => drop_of(taking::give_back(farm, buyer(which), claim(which / 2)).await),
        Deed::PickUp(which) => drop_of(claims::pick_up(farm, buyer(which), claim(which / 2)).await),
        Deed::Collect(which) => drop_of(claims::collected(farm, keeper, claim(which)).await),
        Deed::StayUncollected(which) => drop_of(claims::not_collected(farm, Some(keeper.id), claim(which)).await),
        Deed::End(which) => drop_of(offering::end(farm, nth(&all.offers, which)).await),
        Deed::YieldToOrders(grams) => {
            let needed = oyster(grams).into_iter().collect();
            drop_of(offering::yield_to(farm, &needed).await);
        }
        Deed::KeepForMarket(grams) => {
            let hold = MarketHold { day: day("2026-06-03"), crop: "oyster".into(), grams: Grams::new(grams) };
            drop_of(market::keep(farm, &hold).await);
        }
        Deed::Dry(grams) => drop_of(out::dry(farm, keeper, ("oyster", Grams::new(grams))).await),
    }
}

/// Whatever comes of it is fine, as long as the store did not fail.
fn drop_of<T>(done: scheduler::store::Result<T>) {
    done.expect("the store answers");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// Whatever is done in whatever order: the books of the cold room, the offers and the record agree to the gram, and no
    /// more is spoken for than is there.
    #[test]
    fn the_books_agree_whatever_is_done(deeds in prop::collection::vec(deed(), 1..40)) {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
        let wrong = runtime.block_on(async {
            let ground = Ground::new().await;
            let mut tx = ground.store.begin().await.expect("begins");
            let mut may_be_uncovered = false;
            for (minutes, deed) in (0..).zip(&deeds) {
                let now = NOW.plus_minutes(minutes);
                act(&ground, &mut tx, (*deed, now)).await;
                let faults = audit::faults(&mut tx).await.expect("reads");
                let uncovered = stock::now(&mut ground.farm(&mut tx, now)).await.expect("counts").uncovered;
                // What a short hand-over left may be used already when it is taken back.
                may_be_uncovered |= matches!(deed, Deed::TakeBack(_));
                if !faults.is_empty() || !(uncovered.is_empty() || may_be_uncovered) {
                    return Some(format!("after {deed:?}: {faults:?} {uncovered:?}"));
                }
            }
            None
        });
        prop_assert_eq!(wrong, None);
    }
}
