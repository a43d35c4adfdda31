//! Is every edit behind the program's back found?

use binwright_store::Trouble;

use super::super::ground::{LET_GO, meddle, open};
use super::support::{movement, post, shop};

fn check(dir: &std::path::Path) -> Vec<Trouble> {
    open(dir).unwrap().check("2031-03-01".parse().unwrap()).unwrap()
}

#[test]
fn a_changed_movement_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    for _ in 0..5 {
        post(&mut store, &movement(0, 0, 2)).unwrap();
    }
    drop(store);
    assert!(meddle(dir.path(), "UPDATE movement SET who = 'Bob' WHERE seq = 3").is_err());
    assert!(meddle(dir.path(), "DELETE FROM movement WHERE seq = 3").is_err());
    let change = "UPDATE movement SET who = 'Bob' WHERE seq = 3";
    meddle(dir.path(), &format!("{LET_GO}; {change}")).unwrap();
    let troubles = check(dir.path());
    assert_eq!(troubles.len(), 1);
    assert_eq!(troubles[0].since, Some(3));
}

#[test]
fn a_balance_unlike_its_movements_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 2, 1);
    for part in [0, 1, 1] {
        post(&mut store, &movement(part, 0, 2)).unwrap();
    }
    drop(store);
    meddle(dir.path(), "UPDATE balance SET on_hand = 9000 WHERE part_id = 2").unwrap();
    let troubles = check(dir.path());
    assert_eq!(troubles.len(), 1);
    let said = troubles[0].to_string();
    assert!(said.starts_with("balance of RP 0001 in B0 (new)"), "{said}");
    assert!(said.ends_with("since movement 3"), "{said}");
    assert!(troubles[0].what.contains("is 9000 thousandths, its movements make 4000"));
    assert_eq!(troubles[0].since, Some(3));
}
