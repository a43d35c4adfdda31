//! A shop of two branches that has worked for a while: something lies in every table of its store.

use binwright_catalog::{
    BillLine, Condition, Cross, CrossKind, Currency, Machine, Money, Quantity, Unit,
};
use binwright_store::{
    Arrival, Bin, BranchWay, CoreDebt, CountPlace, Counted, DemandMark, Hold, Keep, Landing,
    MonthDemand, Movement, NewLine, NewOrder, NewSheet, Offer, QuoteLine, QuoteReading, Receipt,
    Revision, Sending, Settled, Settling, Side, Store, StoreError, Supplier, Writer,
};
use jiff::civil::{Date, date};

use super::suite::support::{movement, plate};

pub const DAY: Date = date(2031, 3, 1);

pub fn eur(minor: i64) -> Money {
    Money { minor, currency: Currency::EUR }
}

/// What was given numbers while the shop worked.
#[derive(Debug, Clone, Copy)]
pub struct Worked {
    /// A hold that is open.
    pub hold: i64,
    /// A sheet of which one line is counted.
    pub sheet: i64,
    /// An old part of a customer's that is owed.
    pub debt: i64,
    /// An order of which some has come.
    pub order: i64,
    /// One of which nothing has come.
    pub sent: i64,
    /// One that is not sent.
    pub draft: i64,
    /// Stock on its way.
    pub transfer: i64,
    /// A sale.
    pub sale: i64,
}

/// Quotes: the first is open, the second a job that waits for what has come meanwhile, the third can be
/// issued, the fourth closed, the fifth is closed.
pub fn fill(store: &mut Store) -> Worked {
    catalogue(store);
    let mut ask = |act: &dyn Fn(&mut Writer<'_>) -> Result<i64, StoreError>| {
        store.write(Keep::Yes, act).unwrap()
    };
    ask(&|w| w.post_together(&[movement(0, 0, 20), movement(2, 0, 3), movement(3, 0, 2)]));
    let sale = ask(&|w| w.post_once("till 1", &[movement(0, 0, -1)]));
    let hold = ask(&|w| w.hold(&hold(), DAY));
    ask(&|w| w.hold(&self::hold(), DAY).and_then(|id| w.release(id, DAY)).map(|()| 0));
    let debt = ask(&|w| w.owe_core(&debt()));
    ask(&|w| w.settle_core(&settling(debt), movement(0, 0, 1).at, DAY).map(|_| 0));
    let sheet = ask(&|w| w.draw_sheet(&sheet(), &[place()]));
    ask(&|w| w.count(sheet, &counted()).map(|()| 0));
    let order = ask(&|w| w.draft_order(&order()));
    ask(&|w| w.send_order(order, DAY).map(|()| 0));
    ask(&|w| w.receive("note 1", &receipt(order)));
    let sent = ask(&|w| w.draft_order(&self::order()));
    ask(&|w| w.send_order(sent, DAY).map(|()| 0));
    let draft = ask(&|w| w.draft_order(&self::order()));
    ask(&|w| w.send("", &sending()).and_then(|seq| w.land("", &landing(seq))));
    let transfer = ask(&|w| w.send("", &sending()));
    ask(&|w| w.undo(sale, "Ann", movement(0, 0, 1).at, DAY));
    let sale = ask(&|w| w.post(&movement(0, 0, -1)));
    jobs(store);
    Worked { hold, sheet, debt, order, sent, draft, transfer, sale }
}

fn catalogue(store: &mut Store) {
    store
        .write(Keep::Yes, |w| -> Result<(), StoreError> {
            for part in 0..4 {
                w.put_part(&plate(part))?;
            }
            w.name_branch("", "South")?;
            w.put_branch("North")?;
            w.put_branch_way(&way(30))?;
            for (name, branch) in [("B0", "South"), ("B1", "North")] {
                let holds_most = (name == "B0").then(|| Quantity::whole(99));
                let (name, branch) = (name.into(), Some(branch.into()));
                w.put_bin(&Bin { name, branch, holds_most, ..Bin::default() })?;
            }
            w.put_cross(&contains())?;
            w.put_unit(&unit("AL 1"))?;
            w.put_bill_line(&bill_line("rectifier"))?;
            w.put_price("RP0000", "", "retail", eur(3_965))?;
            w.put_supplier(&supplier(4))?;
            w.put_offer(&offer(2))?;
            w.put_demand(&wanted("2031-01"))?;
            w.add_lost("RP0001", "2031-02", Quantity::whole(2))?;
            Ok(())
        })
        .unwrap();
}

fn jobs(store: &mut Store) {
    store
        .write(Keep::Yes, |w| -> Result<(), StoreError> {
            for part in [0, 1, 0, 0, 0] {
                w.quote_add("Berta", Machine::Alternator, "AL 1", &revision(part), &[reading()])?;
            }
            w.quote_revise("1", &revision(0), &[reading()])?;
            for job in ["2", "3", "4", "5"] {
                w.quote_accept(job, DAY)?;
            }
            for job in ["4", "5"] {
                w.quote_issue(job, "Ann", movement(0, 0, 1).at, DAY, DAY)?;
            }
            w.quote_close("5", &[reading()], &["diode-shorted".to_owned()], "")?;
            w.post(&movement(1, 0, 4))?;
            Ok(())
        })
        .unwrap();
}

pub fn way(minutes: u32) -> BranchWay {
    BranchWay { one: "South".into(), two: "North".into(), minutes, cost: eur(650) }
}

pub fn contains() -> Cross {
    Cross {
        from: "RP0002".into(),
        kind: CrossKind::Contains,
        to: "RP0000".into(),
        quantity: Quantity::whole(2),
        remark: "with spacer".into(),
    }
}

pub fn unit(number: &str) -> Unit {
    Unit {
        number: number.into(),
        machine: Machine::Alternator,
        description: "14 V".into(),
        maker: "Veldane".into(),
        volts: Some(12),
        amps: None,
    }
}

pub fn bill_line(role: &str) -> BillLine {
    BillLine {
        unit: "AL 1".into(),
        role: role.into(),
        part: "RP0000".into(),
        quantity: Quantity::ONE,
        remark: String::new(),
    }
}

pub fn supplier(lead_days: u32) -> Supplier {
    Supplier {
        name: "Tarnbrook".into(),
        address: "Quay 4".into(),
        rate: "1".parse().unwrap(),
        order_minimum: eur(0),
        freight: eur(600),
        freight_free_from: None,
        lead_days,
    }
}

pub fn offer(pack: i32) -> Offer {
    Offer {
        supplier: "Tarnbrook".into(),
        part: "RP0000".into(),
        number: "T-1".into(),
        pack: Quantity::whole(pack),
        minimum: Quantity::whole(2),
        lead_days: None,
        breaks: vec![(Quantity::ONE, eur(900)), (Quantity::whole(10), eur(800))],
    }
}

pub fn wanted(month: &str) -> MonthDemand {
    MonthDemand {
        number: "RP-0001".into(),
        month: month.into(),
        mark: DemandMark::Regular,
        quantity: Quantity::whole(3),
    }
}

pub fn hold() -> Hold {
    let Movement { part, bin, condition, .. } = movement(0, 0, 1);
    Hold { reference: "R-1".into(), part, bin, condition, quantity: Quantity::ONE, until: DAY }
}

pub fn debt() -> CoreDebt {
    CoreDebt {
        side: Side::Customer,
        party: "Berta".into(),
        item: "AL 1".into(),
        quantity: Quantity::whole(3),
        deposit: eur(3_000),
        reference: "S-1".into(),
        who: "Ann".into(),
        day: DAY,
        until: None,
    }
}

pub fn settling(debt: i64) -> Settling {
    Settling {
        debt,
        how: Settled::Kept,
        quantity: Quantity::ONE,
        reference: "S-1".into(),
        who: "Ann".into(),
        bin: None,
    }
}

pub fn sheet() -> NewSheet {
    NewSheet {
        what: "bin B0".into(),
        who: "Ann".into(),
        day: DAY,
        recount_above_permille: 1_000,
        second_above: eur(100_000),
    }
}

pub fn place() -> CountPlace {
    let Movement { part, bin, condition, .. } = movement(3, 0, 1);
    CountPlace { part, bin, aisle: String::new(), condition, picks: 0, counted_on: None }
}

pub fn counted() -> Counted {
    let Movement { part, bin, condition, who, .. } = movement(3, 0, 1);
    Counted { part, bin, condition, quantity: Quantity::ONE, who, at: None }
}

pub fn order() -> NewOrder {
    let line = NewLine {
        part: "RP0000".into(),
        number: "T-1".into(),
        quantity: Quantity::whole(10),
        each: eur(800),
        due: Some(date(2031, 3, 21)),
    };
    let (supplier, who) = ("Tarnbrook".into(), "Ann".into());
    NewOrder { supplier, freight: eur(600), who, day: DAY, branch: None, lines: vec![line] }
}

pub fn receipt(order: i64) -> Receipt {
    let Movement { bin, who, at, day, .. } = movement(0, 0, 1);
    let quantity = Quantity::whole(4);
    let arrivals = vec![Arrival { line: 1, substitute: None, bin, quantity, each: None }];
    Receipt { order, arrivals, note: "delivery note 77".into(), who, at, day }
}

pub fn sending() -> Sending {
    let Movement { part, condition, who, at, day, .. } = movement(0, 0, 1);
    Sending {
        part,
        condition,
        from: "B0".into(),
        to: "B1".into(),
        quantity: Quantity::whole(2),
        reference: "R-1".into(),
        note: String::new(),
        who,
        at,
        day,
    }
}

pub fn landing(transfer: i64) -> Landing {
    let Movement { who, at, day, .. } = movement(0, 0, 1);
    let (came, lost) = (Quantity::ONE, Quantity::ZERO);
    Landing { transfer, bin: None, came, lost, note: String::new(), who, at, day }
}

/// Two pieces of a part at 10.00 each.
pub fn revision(part: usize) -> Revision {
    let line = QuoteLine {
        class: "part".into(),
        words: format!("plate {part}"),
        part: Some((format!("RP{part:04}"), Condition::New)),
        quantity: Quantity::whole(2),
        each: Some(eur(1_000)),
        net: eur(2_000),
        tax: eur(380),
        tax_percent: "19".into(),
    };
    Revision {
        revision: 0,
        issued: DAY,
        valid_until: DAY,
        hold_until: DAY,
        cover: "1".into(),
        asked: "{}".into(),
        words: "{}".into(),
        total: eur(2_380),
        rounding: eur(0),
        net: eur(2_000),
        tax: eur(380),
        lines: vec![line],
        who: "Ann".into(),
        at: movement(0, 0, 1).at,
    }
}

pub fn reading() -> QuoteReading {
    QuoteReading { check: "ripple".into(), outcome: "low".into(), typed: "0.05V".into() }
}
