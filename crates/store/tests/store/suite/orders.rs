//! Does an order know what has come of it, and does the ledger agree?

use binwright_catalog::{Currency, Money, Quantity};
use binwright_store::{
    Arrival, Keep, Movement, NewLine, NewOrder, Offer, OrderState, Put, Receipt, Rest, Store,
    StoreError, Supplier,
};
use jiff::civil::Date;

use super::support::{Done, is_sound, movement, on_hand, post, shop};

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

fn usd(minor: i64) -> Money {
    Money { minor, currency: "USD".parse().unwrap() }
}

fn overseas() -> Supplier {
    Supplier {
        name: "Orlund Overseas".into(),
        address: "Quay 4".into(),
        rate: "0.875".parse().unwrap(),
        order_minimum: usd(5_000),
        freight: usd(1_800),
        freight_free_from: Some(usd(40_000)),
        lead_days: 20,
    }
}

fn offer(part: usize, breaks: &[(i32, i64)]) -> Offer {
    Offer {
        supplier: "orlund-overseas".into(),
        part: format!("RP{part:04}"),
        number: format!("OO-{part}"),
        pack: Quantity::whole(2),
        minimum: Quantity::whole(4),
        lead_days: None,
        breaks: breaks.iter().map(|&(from, each)| (Quantity::whole(from), usd(each))).collect(),
    }
}

fn line(part: usize, pieces: i32, each: i64) -> NewLine {
    NewLine {
        part: format!("RP {part:04}"),
        number: format!("OO-{part}"),
        quantity: Quantity::whole(pieces),
        each: usd(each),
        due: Some(day("2031-03-21")),
    }
}

/// A shop of three parts and two bins with an order of 10 of part 0 and 4 of part 1, sent on 1 March.
fn with_order(dir: &std::path::Path) -> (Store, i64) {
    let mut store = shop(dir, 3, 2);
    let order = NewOrder {
        supplier: "Orlund Overseas".into(),
        freight: usd(1_800),
        who: "Ann".into(),
        day: day("2031-02-28"),
        branch: None,
        lines: vec![line(0, 10, 400), line(1, 4, 1_000)],
    };
    let drafted = store.write(Keep::Yes, |w| -> Result<i64, StoreError> {
        w.put_supplier(&overseas())?;
        w.draft_order(&order)
    });
    let id = drafted.unwrap();
    write(&mut store, |w| w.send_order(id, day("2031-03-01"))).unwrap();
    (store, id)
}

fn write<T>(
    store: &mut Store,
    act: impl FnMut(&mut binwright_store::Writer<'_>) -> Result<T, StoreError>,
) -> Result<T, StoreError> {
    store.write(Keep::Yes, act)
}

fn arrival(line: u32, pieces: i32) -> Arrival {
    Arrival {
        line,
        substitute: None,
        bin: "B0".into(),
        quantity: Quantity::whole(pieces),
        each: None,
    }
}

fn receipt(order: i64, on: &str, arrivals: Vec<Arrival>) -> Receipt {
    Receipt {
        order,
        arrivals,
        note: "delivery note 77".into(),
        who: "Ben".into(),
        at: format!("{on}T10:00:00Z").parse().unwrap(),
        day: day(on),
    }
}

fn receive(
    store: &mut Store,
    order: i64,
    on: &str,
    arrivals: Vec<Arrival>,
) -> Result<i64, StoreError> {
    let receipt = receipt(order, on, arrivals);
    write(store, |w| w.receive("", &receipt))
}

fn state(store: &Store, order: i64) -> OrderState {
    store.order(order).unwrap().state
}

/// Pieces received, outstanding and over of every line.
fn pieces(store: &Store, order: i64) -> Vec<(i64, i64, i64)> {
    let whole = |quantity: Quantity| quantity.thousandths() / 1000;
    let lines = store.order(order).unwrap().lines;
    lines.iter().map(|l| (whole(l.received), whole(l.outstanding()), whole(l.over()))).collect()
}

/// Pieces still to come of a part.
fn under_way(store: &Store, part: usize) -> i64 {
    let id = store.parts_by_number(&format!("RP{part:04}")).unwrap()[0];
    let all = store.under_way().unwrap();
    let of_part = all.iter().filter(|u| u.part_id == id);
    of_part.map(|under_way| under_way.quantity.thousandths() / 1000).sum()
}

#[test]
fn an_order_comes_in_parts_and_what_is_under_way_shrinks_with_it() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    assert_eq!((state(&store, order), under_way(&store, 0)), (OrderState::Sent, 10));
    write(&mut store, |w| w.acknowledge_order(order, "AB 1")).unwrap();
    assert_eq!(state(&store, order), OrderState::Acknowledged);
    receive(&mut store, order, "2031-03-11", vec![arrival(1, 6), arrival(2, 4)]).unwrap();
    assert_eq!(state(&store, order), OrderState::PartReceived);
    assert_eq!(pieces(&store, order), [(6, 4, 0), (4, 0, 0)]);
    assert_eq!((under_way(&store, 0), under_way(&store, 1)), (4, 0));
    assert_eq!((on_hand(&store, 0, 0), on_hand(&store, 1, 0)), (6, 4));
    receive(&mut store, order, "2031-04-02", vec![arrival(1, 4)]).unwrap();
    assert_eq!((state(&store, order), under_way(&store, 0)), (OrderState::Received, 0));
    let order = store.order(order).unwrap();
    assert_eq!((order.theirs.as_str(), order.name().as_str()), ("AB 1", "O-1"));
    is_sound(&store);
}

/// 10 at 4.00 USD and 4 at 10.00 USD, at 0.875: 35.00 and 35.00 EUR. The freight of 18.00 USD is
/// 15.75 EUR: 7.88 for the first half of the goods, half to even, and what is left for the other.
#[test]
fn goods_are_worth_their_price_at_the_rate_of_the_order() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    let dearer = Supplier { rate: "0.9".parse().unwrap(), ..overseas() };
    write(&mut store, |w| w.put_supplier(&dearer)).unwrap();
    let invoiced = Arrival { each: Some(usd(800)), ..arrival(2, 1) };
    receive(&mut store, order, "2031-03-11", vec![arrival(1, 10), arrival(2, 3), invoiced])
        .unwrap();
    let lines = store.value_on(day("2031-03-11")).unwrap();
    let worth: Vec<i64> = lines.iter().map(|line| line.value.minor).collect();
    assert_eq!(worth, [3_500 + 788, 3 * 875 + 700 + 787]);
    let euros = Money { minor: 1, currency: Currency::EUR };
    let wrong = Arrival { each: Some(euros), ..arrival(1, 1) };
    let refused = receive(&mut store, order, "2031-03-12", vec![wrong]);
    assert!(matches!(refused, Err(StoreError::Terms { .. })), "{refused:?}");
}

/// By hand, in cents: goods of 40.00 and 40.00 USD, freight 15.75 EUR. 7 of the first 10 take
/// 1575 x 28 / 80 = 551.25. One more would take 1024 x 4 / 52 = 78.77, and is undone. The other two never
/// come, so the second line takes all the rest.
#[test]
fn freight_lies_in_what_the_goods_cost_to_the_last_cent() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    let euros = Money { minor: 200, currency: Currency::EUR };
    let bought = Movement { unit_cost: Some(euros), ..movement(0, 0, 3) };
    post(&mut store, &bought).unwrap();
    let worth = |store: &Store| -> Vec<i64> {
        let lines = store.value_on(day("2031-06-30")).unwrap();
        lines.iter().map(|line| line.value.minor).collect()
    };
    receive(&mut store, order, "2031-03-11", vec![arrival(1, 7)]).unwrap();
    assert_eq!(worth(&store), [600 + 7 * 350 + 551]);
    let slip = receive(&mut store, order, "2031-03-12", vec![arrival(1, 1)]).unwrap();
    assert_eq!(worth(&store), [600 + 8 * 350 + 551 + 79]);
    write(&mut store, |w| w.undo(slip, "Ben", movement(0, 0, 1).at, day("2031-03-12"))).unwrap();
    assert_eq!(worth(&store), [600 + 7 * 350 + 551]);
    write(&mut store, |w| w.settle_line(order, 1, Rest::Short, None, "no longer made")).unwrap();
    let came = receipt(order, "2031-03-20", vec![arrival(2, 3), arrival(2, 2)]);
    for _ in 0..2 {
        write(&mut store, |w| w.receive("note 9", &came)).unwrap();
        assert_eq!(worth(&store), [600 + 7 * 350 + 551, 5 * 875 + 1_024], "one over bears none");
    }
    // A piece of the first now costs (6.00 + 24.50 + 5.51) / 10 = 3.601.
    post(&mut store, &movement(0, 0, -1)).unwrap();
    assert_eq!(worth(&store)[0], 3_601 - 360);
    let freight: i64 = store.arrived(order).unwrap().iter().map(|came| came.freight.minor).sum();
    assert_eq!(freight, 1_575);
    is_sound(&store);
}

#[test]
fn what_falls_short_closes_the_line_and_what_is_back_ordered_keeps_it_open() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    receive(&mut store, order, "2031-03-11", vec![arrival(1, 7), arrival(2, 1)]).unwrap();
    let later = Some(day("2031-05-02"));
    write(&mut store, |w| -> Done {
        w.settle_line(order, 1, Rest::Short, None, "no longer made")?;
        w.settle_line(order, 2, Rest::BackOrdered, later, "")
    })
    .unwrap();
    assert_eq!(pieces(&store, order), [(7, 0, 0), (1, 3, 0)]);
    assert_eq!((under_way(&store, 0), under_way(&store, 1)), (0, 3));
    assert_eq!(store.under_way().unwrap()[0].due, later);
    assert_eq!(state(&store, order), OrderState::PartReceived);
    receive(&mut store, order, "2031-05-01", vec![arrival(2, 3)]).unwrap();
    assert_eq!(state(&store, order), OrderState::Received);
    assert_eq!(store.order(order).unwrap().lines[0].note, "no longer made");
    let none = write(&mut store, |w| w.settle_line(order, 3, Rest::Due, None, ""));
    assert!(matches!(none, Err(StoreError::NoSuchLine { line: 3, .. })), "{none:?}");
}

#[test]
fn more_than_was_ordered_comes_in_and_is_shown_as_over() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    receive(&mut store, order, "2031-03-11", vec![arrival(1, 12), arrival(2, 4)]).unwrap();
    assert_eq!(pieces(&store, order), [(12, 0, 2), (4, 0, 0)]);
    assert_eq!((state(&store, order), on_hand(&store, 0, 0)), (OrderState::Received, 12));
    receive(&mut store, order, "2031-03-12", vec![arrival(2, 1)]).unwrap();
    assert_eq!(pieces(&store, order)[1], (5, 0, 1));
}

#[test]
fn a_substitute_fills_the_line_and_lies_in_the_bin_as_itself() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    let other = Arrival { substitute: Some("zx-2".into()), ..arrival(1, 10) };
    receive(&mut store, order, "2031-03-11", vec![other]).unwrap();
    assert_eq!(pieces(&store, order)[0], (10, 0, 0));
    assert_eq!((on_hand(&store, 0, 0), on_hand(&store, 2, 0)), (0, 10));
    let arrived = store.arrived(order).unwrap();
    assert_eq!((arrived[0].line, arrived[0].part.as_str()), (1, "RP 0002"));
}

#[test]
fn an_order_is_called_off_only_while_nothing_has_come() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    let seq = receive(&mut store, order, "2031-03-11", vec![arrival(1, 1)]).unwrap();
    let refused = write(&mut store, |w| w.cancel_order(order)).unwrap_err();
    assert_eq!(refused.to_string(), "order 1 is part received");
    // The receipt was of another order: it is undone, and nothing has come after all.
    let back = movement(0, 0, 1);
    write(&mut store, |w| w.undo(seq, "Ben", back.at, day("2031-03-12"))).unwrap();
    assert_eq!((pieces(&store, order)[0], under_way(&store, 0)), ((0, 10, 0), 10));
    write(&mut store, |w| w.cancel_order(order)).unwrap();
    assert_eq!((state(&store, order), under_way(&store, 0)), (OrderState::Cancelled, 0));
    let late = receive(&mut store, order, "2031-03-13", vec![arrival(1, 1)]).unwrap_err();
    assert_eq!(late.to_string(), "order 1 is cancelled");
    let again = write(&mut store, |w| w.send_order(order, day("2031-03-13"))).unwrap_err();
    assert!(matches!(again, StoreError::OrderIs { state: "cancelled", .. }), "{again}");
}

#[test]
fn nothing_comes_of_a_draft() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, _) = with_order(dir.path());
    let new = NewOrder {
        supplier: "orlund overseas".into(),
        freight: usd(0),
        who: "Ann".into(),
        day: day("2031-03-01"),
        branch: None,
        lines: vec![line(2, 5, 100)],
    };
    let draft = write(&mut store, |w| w.draft_order(&new)).unwrap();
    assert_eq!((state(&store, draft), under_way(&store, 2)), (OrderState::Draft, 0));
    let refused = receive(&mut store, draft, "2031-03-11", vec![arrival(1, 1)]).unwrap_err();
    assert_eq!(refused.to_string(), "order 2 is draft");
    for (wrong, says) in [
        (NewOrder { lines: vec![], ..new.clone() }, "a quantity of nothing"),
        (
            NewOrder { lines: vec![line(9, 1, 1)], ..new.clone() },
            "no part has the number `RP 0009`",
        ),
        (NewOrder { supplier: "Nobody".into(), ..new }, "there is no supplier `Nobody`"),
    ] {
        let refused = write(&mut store, |w| w.draft_order(&wrong)).unwrap_err();
        assert_eq!(refused.to_string(), says);
    }
    let newest: Vec<i64> = store.orders(9).unwrap().iter().map(|order| order.id).collect();
    assert_eq!(newest, [draft, 1], "what was refused left nothing behind");
}

/// Sent on 1 March; 6 come on the 11th, 4 on 2 April: 10 and 32 days. What is undone teaches nothing.
#[test]
fn the_lead_time_is_learnt_from_what_came() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    receive(&mut store, order, "2031-03-11", vec![arrival(1, 6)]).unwrap();
    let slip = receive(&mut store, order, "2031-03-12", vec![arrival(1, 4)]).unwrap();
    let at = movement(0, 0, 1).at;
    write(&mut store, |w| w.undo(slip, "Ben", at, day("2031-03-12"))).unwrap();
    receive(&mut store, order, "2031-04-02", vec![arrival(1, 4)]).unwrap();
    let seen = |until| -> Vec<(u32, i64)> {
        let all = store.lead_times(day(until)).unwrap();
        assert!(all.iter().all(|seen| seen.supplier == "Orlund Overseas"));
        all.iter().map(|seen| (seen.days(), seen.quantity.thousandths() / 1000)).collect()
    };
    assert_eq!(seen("2031-04-01"), [(10, 6)]);
    assert_eq!(seen("2031-04-02"), [(10, 6), (32, 4)]);
}

#[test]
fn the_same_receipt_sent_twice_comes_in_once() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    let came = receipt(order, "2031-03-11", vec![arrival(2, 1), arrival(1, 6)]);
    let first = write(&mut store, |w| w.receive("scan-1", &came)).unwrap();
    let again = write(&mut store, |w| w.receive("scan-1", &came)).unwrap();
    assert_eq!((first, pieces(&store, order)), (again, vec![(6, 4, 0), (1, 3, 0)]));
    assert_eq!(on_hand(&store, 0, 0), 6);
    let other = receipt(order, "2031-03-11", vec![arrival(2, 2), arrival(1, 6)]);
    let refused = write(&mut store, |w| w.receive("scan-1", &other));
    assert!(matches!(refused, Err(StoreError::KeyTaken { .. })), "{refused:?}");
    assert_eq!(pieces(&store, order), [(6, 4, 0), (1, 3, 0)]);
    is_sound(&store);
}

#[test]
fn a_receipt_with_one_bad_line_takes_nothing_in() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, order) = with_order(dir.path());
    let nowhere = Arrival { bin: "B9".into(), ..arrival(2, 1) };
    for bad in [nowhere, arrival(2, 0), arrival(2, -1), arrival(7, 1)] {
        let refused = write(&mut store, |w| {
            // The caller goes on after the refusal and keeps the rest of its transaction.
            let came = receipt(order, "2031-03-11", vec![arrival(1, 6), bad.clone()]);
            Ok(w.receive("", &came).is_err())
        });
        assert!(refused.unwrap(), "{bad:?}");
    }
    assert_eq!((on_hand(&store, 0, 0), state(&store, order)), (0, OrderState::Sent));
    is_sound(&store);
}

#[test]
fn offers_are_put_row_by_row_and_read_back_whole() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, _) = with_order(dir.path());
    let put = |store: &mut Store, offer: &Offer| write(store, |w| w.put_offer(offer)).unwrap();
    assert_eq!(put(&mut store, &offer(0, &[(1, 400)])), Put::Added);
    assert_eq!(put(&mut store, &offer(0, &[(20, 350)])), Put::Added);
    assert_eq!(put(&mut store, &offer(0, &[(20, 350)])), Put::Unchanged);
    assert_eq!(put(&mut store, &Offer { lead_days: Some(9), ..offer(0, &[]) }), Put::Changed);
    let id = store.parts_by_number("RP0000").unwrap()[0];
    let whole = Offer {
        supplier: "Orlund Overseas".into(),
        part: "RP 0000".into(),
        lead_days: Some(9),
        ..offer(0, &[(1, 400), (20, 350)])
    };
    assert_eq!(store.offers(id).unwrap(), [whole]);
    assert_eq!(store.suppliers().unwrap(), [overseas()]);
    assert_eq!(write(&mut store, |w| w.put_supplier(&overseas())).unwrap(), Put::Unchanged);
    assert_eq!(write(&mut store, |w| w.drop_offers("Orlund Overseas")).unwrap(), 1);
    assert_eq!(store.offers(id).unwrap(), []);
}

#[test]
fn terms_that_make_no_sense_are_refused() {
    let dir = tempfile::tempdir().unwrap();
    let (mut store, _) = with_order(dir.path());
    let euro = Money { minor: 1, currency: Currency::EUR };
    let offers = [
        (Offer { pack: Quantity::ZERO, ..offer(0, &[]) }, "the pack is not above nought"),
        (offer(0, &[(1, -1)]), "a quantity or price is below nought"),
        (
            Offer { breaks: vec![(Quantity::ONE, euro)], ..offer(0, &[]) },
            "a price is not in the supplier's currency",
        ),
    ];
    for (wrong, says) in offers {
        let refused = write(&mut store, |w| w.put_offer(&wrong)).unwrap_err();
        assert_eq!(refused.to_string(), format!("`RP0000`: {says}"));
    }
    let suppliers = [
        (Supplier { rate: "0".parse().unwrap(), ..overseas() }, "the rate is not above nought"),
        (Supplier { freight: euro, ..overseas() }, "the amounts are in more than one currency"),
        (Supplier { freight: usd(-1), ..overseas() }, "an amount is below nought"),
    ];
    for (wrong, says) in suppliers {
        let refused = write(&mut store, |w| w.put_supplier(&wrong)).unwrap_err();
        assert_eq!(refused.to_string(), format!("`Orlund Overseas`: {says}"));
    }
}

/// 20 come on the 1st; 3 and 2 are sold on the 2nd, one of them comes back on the 4th; 5 sold on the
/// 3rd are undone on the 5th: until then they were sold.
#[test]
fn what_was_used_is_told_day_by_day_as_it_was_known() {
    use binwright_store::{Movement, Reason};
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 2);
    let on = |text: &str, quantity: i32, reason: Reason| Movement {
        day: day(text),
        reason,
        ..movement(0, 0, quantity)
    };
    post(&mut store, &on("2031-03-01", 20, Reason::Receive)).unwrap();
    post(&mut store, &on("2031-03-02", -3, Reason::Sale)).unwrap();
    post(&mut store, &on("2031-03-02", -2, Reason::Issue)).unwrap();
    let undone = post(&mut store, &on("2031-03-03", -5, Reason::Sale)).unwrap();
    post(&mut store, &on("2031-03-04", 1, Reason::ReturnIn)).unwrap();
    post(&mut store, &on("2031-03-04", -1, Reason::Scrap)).unwrap();
    let at = movement(0, 0, 1).at;
    write(&mut store, |w| w.undo(undone, "Ann", at, day("2031-03-05"))).unwrap();
    let used = |until: &str| {
        let mut all = Vec::new();
        let taken: Done = store.each_used(day(until), None, |used| {
            all.push((used.day.day(), used.quantity.thousandths() / 1000));
            Ok(())
        });
        taken.unwrap();
        all
    };
    assert_eq!(used("2031-03-01"), []);
    assert_eq!(used("2031-03-04"), [(2, 5), (3, 5), (4, -1)]);
    assert_eq!(used("2031-03-05"), [(2, 5), (4, -1)]);
}
