//! Are the repair options of a job those a rebuilder would lay side by side?

#![allow(clippy::unwrap_used, reason = "test code")]

use binwright_catalog::{Condition, Currency, Money, Quantity};
use binwright_quoting::{
    Advice, Candidate, Grade, Need, Reason, Take, Yardstick, YardstickKind, advise, covers, extras,
};
use rust_decimal::Decimal;

fn eur(amount: &str) -> Money {
    Money::parse(amount, Currency::EUR).unwrap()
}

fn need(role: &str, grade: Grade) -> Need {
    Need { role: role.to_owned(), pieces: 1, grade }
}

fn part(
    number: &str,
    roles: &[&str],
    price: &str,
    free: i32,
    days: u32,
    minutes: u32,
) -> Candidate {
    Candidate {
        part: number.to_owned(),
        words: number.to_owned(),
        roles: roles.iter().map(ToString::to_string).collect(),
        price: eur(price),
        condition: Some(Condition::New),
        free: Quantity::whole(free),
        days,
        minutes,
        remark: None,
    }
}

fn resolder(minutes: u32) -> Candidate {
    let work = part("", &["rectifier"], "0", 0, 0, minutes);
    Candidate { words: "resolder the stator leads".to_owned(), condition: None, ..work }
}

/// An invented shelf: a plate that must be ordered, an assembly in the bin, a regulator.
fn shelf() -> Vec<Candidate> {
    vec![
        part("PL-1", &["rectifier"], "40.00", 0, 3, 45),
        part("AS-1", &["rectifier", "regulator"], "95.00", 1, 9, 35),
        part("RG-1", &["regulator"], "30.00", 2, 9, 20),
        part("BR-1", &["brush-set"], "6.00", 5, 2, 20),
    ]
}

#[test]
fn plate_assembly_and_rework_stand_side_by_side_with_their_reasons() {
    let needs = [need("rectifier", Grade::Must), need("regulator", Grade::WhileInThere)];
    let mut shelf = shelf();
    shelf.push(resolder(25));
    let found = covers(&needs, &shelf, eur("60.00")).unwrap();
    assert!(found.missing.is_empty());
    let told: Vec<(&str, String)> = found
        .covers
        .iter()
        .map(|cover| (shelf[cover.takes[0].candidate].words.as_str(), cover.price.to_string()))
        .collect();
    // Resoldering alone is cheapest, soonest and replaces nothing: it beats both parts.
    assert_eq!(told, [("resolder the stator leads", "25.00 EUR".to_owned())]);
    assert!(found.covers[0].reasons.contains(&Reason::NoPart));
    // Where the post is burnt there is no rework: the plate is cheaper, the assembly is there today.
    let found = covers(&needs, &shelf[..4], eur("60.00")).unwrap();
    let [plate, assembly] = &found.covers[..] else { panic!("two covers") };
    assert_eq!((plate.price, plate.parts, plate.days), (eur("85.00"), eur("40.00"), 3));
    assert_eq!(plate.reasons, [Reason::LowestPrice, Reason::KeepsMost]);
    assert_eq!((assembly.price, assembly.days), (eur("130.00"), 0));
    assert_eq!(assembly.reasons, [Reason::SoonestReady]);
    assert_eq!(assembly.fills_as_well, ["regulator"]);
    assert_eq!(extras(&needs, &shelf, assembly), []);
    assert_eq!(extras(&needs, &shelf, plate), [Take { candidate: 2, pieces: 1 }]);
}

#[test]
fn one_assembly_beats_two_parts_when_it_is_cheaper() {
    let needs = [need("rectifier", Grade::Must), need("regulator", Grade::Must)];
    let found = covers(&needs, &shelf(), eur("60.00")).unwrap();
    let prices: Vec<Money> = found.covers.iter().map(|cover| cover.price).collect();
    assert_eq!(
        prices,
        [eur("130.00")],
        "40 + 45 and 30 + 20 against 95 + 35, and three days later"
    );
}

#[test]
fn pieces_decide_price_and_wait() {
    let needs = [Need { role: "brush-set".to_owned(), pieces: 6, grade: Grade::Must }];
    let cover = covers(&needs, &shelf(), eur("0")).unwrap().covers.remove(0);
    assert_eq!((cover.price, cover.days), (eur("36.00"), 2), "five are free, six are needed");
}

#[test]
fn a_role_nobody_fills_is_named_and_the_others_are_covered() {
    let needs = [need("rotor", Grade::Must), need("brush-set", Grade::Must)];
    let found = covers(&needs, &shelf(), eur("60.00")).unwrap();
    assert_eq!(found.missing, ["rotor"]);
    assert_eq!(found.covers[0].replaces, ["brush-set"]);
    assert!(covers(&[], &shelf(), eur("60.00")).unwrap().covers.is_empty());
}

#[test]
fn an_in_between_cover_says_what_the_money_buys() {
    let shelf = [
        part("slow", &["stator"], "100", 0, 20, 0),
        part("middle", &["stator"], "130", 0, 5, 0),
        part("quick", &["stator"], "150", 1, 0, 0),
    ];
    let found = covers(&[need("stator", Grade::Must)], &shelf, eur("60")).unwrap();
    let reasons: Vec<&[Reason]> = found.covers.iter().map(|cover| &cover.reasons[..]).collect();
    let between = Reason::Between { dearer: eur("30"), days_sooner: 15, more_kept: 0 };
    let all = [vec![Reason::LowestPrice], vec![between.clone()], vec![Reason::SoonestReady]];
    assert_eq!(reasons, all);
    assert_eq!(between.to_string(), "30.00 EUR dearer than the cheapest, but ready 15 days sooner");
}

#[test]
fn currencies_are_never_mixed_and_prices_never_below_nought() {
    let needs = [need("rectifier", Grade::Must)];
    let dollars = Money::parse("60", "USD".parse().unwrap()).unwrap();
    assert!(covers(&needs, &shelf(), dollars).is_err());
    let mut shelf = shelf();
    shelf[0].price = eur("-1.00");
    assert!(covers(&needs, &shelf, eur("60")).is_err());
}

#[test]
fn more_roles_than_can_be_weighed_are_refused() {
    let roles: Vec<String> = (0..80).map(|at| format!("role-{at}")).collect();
    let roles: Vec<&str> = roles.iter().map(String::as_str).collect();
    let all = part("ALL", &roles, "1", 1, 0, 0);
    let error = covers(&[need("role-0", Grade::Must)], &[all], eur("60")).unwrap_err();
    assert!(error.to_string().starts_with("more than 64 roles are in play"), "{error}");
}

/// The share of the exchange price is common practice, no source.
#[test]
fn a_dear_repair_is_told_against_an_exchange_unit() {
    let needs = [need("rectifier", Grade::Must)];
    let cover = covers(&needs, &shelf()[..1], eur("60.00")).unwrap().covers.remove(0);
    let exchange =
        Yardstick { kind: YardstickKind::Exchange, price: eur("110.00"), days: 1, minutes: 10 };
    let causes = ["find the loose lead".to_owned()];
    let limit = Decimal::from(65);
    let told = advise(&cover, &[exchange], eur("60.00"), limit, &causes).unwrap();
    let dear = Advice::Dear {
        kind: YardstickKind::Exchange,
        percent: Decimal::from(71),
        limit_percent: limit,
    };
    let sooner = Advice::Sooner { kind: YardstickKind::Exchange, days: 2 };
    assert_eq!(told, [dear, sooner, Advice::RootCause(causes[0].clone())], "85 of 120");
}
