//! Do sheets and letters say all they were given?

use binwright_catalog::{Condition, Currency, Money, Quantity};
use binwright_print::{
    Choice, Core, CoreReceipt, CountSheet, Letterhead, Logo, OrderLine, Pages, Paper, PickList,
    PrintError, PurchaseOrder, Quote, Setting, ShelfLine, Ticket, TicketCheck, TicketFinding,
    core_receipt, count_sheet, order, pick_list, quote, ticket,
};
use jiff::civil::date;

use crate::render;

const LOGO: &[u8] = include_bytes!("logo.png");

fn setting() -> Setting {
    let shop = Letterhead {
        name: "Halvorn & Veit, rotating machines".to_owned(),
        address: vec!["Mole Street 4".to_owned(), "Eastharbour".to_owned()],
        logo: Some(Logo::read(LOGO.to_vec()).unwrap()),
        small_print: vec!["Goods stay ours until paid for.".to_owned()],
    };
    Setting { shop, ..Setting::new(Paper::A4, date(2031, 3, 14)) }
}

fn money(text: &str) -> Money {
    let euro: Currency = "EUR".parse().unwrap();
    Money::parse(text, euro).unwrap()
}

fn shelf(at: usize) -> ShelfLine {
    ShelfLine {
        bin: format!("A-{at:03}"),
        number: format!("HV-{:05}", 31_000 + at * 7),
        description: "brush set, 6.3 × 8.1 × 17 mm".to_owned(),
        condition: Condition::New,
        quantity: Some(Quantity::whole(at as i32 % 9 + 1)),
    }
}

fn text_of(pages: &Pages) -> String {
    let text = render::text(&pages.pdf().unwrap());
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn says(pages: &Pages, all: &[&str]) {
    let text = text_of(pages);
    for words in all {
        assert!(text.contains(words), "`{words}` in {text}");
    }
}

#[test]
fn count_sheets_and_pick_lists_name_every_line_on_every_sheet() {
    needs_poppler!();
    let lines: Vec<ShelfLine> = (0..300).map(shelf).collect();
    let count = CountSheet { name: "spring".to_owned(), lines: lines.clone() };
    let pages = count_sheet(&count, &setting()).unwrap();
    let text = text_of(&pages);
    assert!(lines.iter().all(|line| text.contains(&line.number) && text.contains(&line.bin)));
    assert_eq!(text.matches("bin number what condition booked counted").count(), pages.count());
    assert!(text.contains(&format!("sheet 2 of {}", pages.count())));

    let mut blind = count;
    blind.lines.iter_mut().for_each(|line| line.quantity = None);
    let blind = text_of(&count_sheet(&blind, &setting()).unwrap());
    assert!(
        text.contains("17 mm new 9") && !blind.contains("17 mm new 9"),
        "what is booked is hidden"
    );

    let list = PickList { reference: "J-77".to_owned(), lines: lines[..3].to_vec() };
    says(&pick_list(&list, &setting()).unwrap(), &["Pick list J-77", "HV-31014", "take taken"]);
}

#[test]
fn a_ticket_opens_with_its_cautions() {
    needs_poppler!();
    let job = Ticket {
        job: "J-77".to_owned(),
        customer: "Orla Fenn".to_owned(),
        unit: "HV-AL-90".to_owned(),
        complaint: "does not charge".to_owned(),
        findings: vec![TicketFinding {
            name: "open diode".to_owned(),
            probability: 0.734,
            why: "ripple 1.9 V speaks for it".to_owned(),
        }],
        checks_left: vec![TicketCheck {
            name: "stator to frame".to_owned(),
            how: "ohmmeter, phase to core".to_owned(),
            cautions: vec!["Unplug the bench supply first.".to_owned()],
        }],
        cautions: vec!["The rotor is hot after a load test.".to_owned()],
        parts: vec![shelf(4)],
        work: vec!["turn the slip rings".to_owned()],
    };
    let pages = ticket(&job, &setting()).unwrap();
    says(
        &pages,
        &[
            "! The rotor is hot after a load test.",
            "Local codes",
            "73.4 % open diode ripple 1.9 V speaks for it",
            "Unplug the bench supply first.",
            "HV-31028",
            "turn the slip rings",
        ],
    );
    let text = text_of(&pages);
    assert!(text.find("The rotor is hot").unwrap() < text.find("open diode").unwrap());
    // What is not certain is never printed as certain.
    for (probability, printed) in [(0.9996, ">99.9 %"), (1.0, "100.0 %"), (0.0004, "<0.1 %")] {
        let mut job = job.clone();
        job.findings[0].probability = probability;
        says(&ticket(&job, &setting()).unwrap(), &[&format!("{printed} open diode")]);
    }
    assert_eq!(ticket(&Ticket::default(), &setting()).unwrap_err(), PrintError::Nothing);
}

#[test]
fn a_quote_sets_its_options_side_by_side() {
    needs_poppler!();
    let option = |name: &str, [plate, net, tax, total]: [&str; 4], deposit: Option<Money>| Choice {
        name: name.to_owned(),
        ready: "2031-03-17".to_owned(),
        lines: vec![
            ("rectifier plate".to_owned(), money(plate)),
            ("labour, 75 min".to_owned(), money("90.00")),
        ],
        core_deposit: deposit,
        net: money(net),
        taxes: vec![("tax 20 % on parts".to_owned(), money(tax))],
        total: money(total),
    };
    let made = Quote {
        number: "Q-501/2".to_owned(),
        customer: "Orla Fenn".to_owned(),
        unit: "HV-AL-90".to_owned(),
        valid_until: date(2031, 4, 13),
        options: vec![
            option("A new plate", ["60.00", "150.00", "12.00", "162.00"], None),
            option("B used plate", ["38.50", "153.50", "7.70", "161.20"], Some(money("25.00"))),
        ],
        notes: vec!["A loose B+ lead kills the new plate as well.".to_owned()],
    };
    let pages = quote(&made, &setting()).unwrap();
    says(
        &pages,
        &[
            "Quote Q-501/2",
            "Valid until: 2031-04-13",
            "rectifier plate 60.00 EUR 38.50 EUR",
            "core deposit 25.00 EUR",
            "A loose B+ lead kills the new plate as well.",
            "tax 20 % on parts 12.00 EUR 7.70 EUR",
            "to pay 162.00 EUR 161.20 EUR",
            "Goods stay ours until paid for.",
            "Halvorn & Veit",
        ],
    );
    assert!(pages.svg()[0].contains("data:image/png;base64,iVBORw0KGgo"));
    let gray = &render::pages(&pages.pdf().unwrap(), 72)[0];
    // The logo stands at the right end of the head: 45 × 18 mm of black and light squares.
    let ink: f64 = (0..40).map(|at| gray.ink_at_mm([160.0 + f64::from(at), 15.0])).sum();
    assert!(ink > 10.0, "{ink}");
}

#[test]
fn an_order_and_a_receipt_for_cores_say_all_lines() {
    needs_poppler!();
    let line = OrderLine {
        supplier_number: "KR 88.1".to_owned(),
        number: "HV-2103".to_owned(),
        description: "rectifier plate".to_owned(),
        quantity: Quantity::whole(12),
        each: Some(money("41.20")),
        amount: Some(money("494.40")),
        due: "2031-03-21".to_owned(),
    };
    let made = PurchaseOrder {
        number: "P-19".to_owned(),
        supplier: vec!["Korvane Parts".to_owned(), "Westquay 1".to_owned()],
        deliver_to: Vec::new(),
        lines: vec![line],
        total: Some(money("494.40")),
        remark: "no part deliveries".to_owned(),
    };
    says(
        &order(&made, &setting()).unwrap(),
        &[
            "Order P-19",
            "Korvane Parts, Westquay 1",
            "KR 88.1 HV-2103 rectifier plate 12 41.20",
            "total 494.40 EUR",
        ],
    );
    let core = Core {
        number: "HV-AL-90".to_owned(),
        description: "alternator".to_owned(),
        quantity: Quantity::whole(2),
        state: "one frame cracked".to_owned(),
        deposit: None,
    };
    let receipt = CoreReceipt {
        number: "C-8".to_owned(),
        customer: "Orla Fenn".to_owned(),
        cores: vec![core],
        total: None,
    };
    says(
        &core_receipt(&receipt, &setting()).unwrap(),
        &[
            "Receipt for cores and deposit C-8",
            "HV-AL-90 alternator 2 one frame cracked to be settled",
            "cores taken in by",
        ],
    );
}

#[test]
fn a_picture_that_breaks_off_is_refused_in_words() {
    let mut setting = setting();
    setting.shop.logo = Some(Logo::read(LOGO[..60].to_vec()).unwrap());
    let list = PickList { reference: "J-1".to_owned(), lines: vec![shelf(1)] };
    let error = pick_list(&list, &setting).unwrap().pdf().unwrap_err();
    assert_eq!(error.to_string(), "the logo cannot be used: the file is damaged");
}
