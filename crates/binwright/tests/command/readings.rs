//! The bench's job: what do the readings say, what next, what is called for?

use serde_json::Value;

use crate::bench::{Bench, list, text};

const SHORTED: [&str; 5] =
    ["bench", "alternator", "charge-voltage=low", "ripple=high", "bplus-to-case=one"];

#[test]
fn readings_lead_to_findings_with_their_reasons_and_a_call() {
    let bench = Bench::with_samples();
    let found = bench.json(&SHORTED);
    let first = &found["findings"][0];
    assert_eq!(first["key"], "diode-shorted");
    let probability = first["probability"].as_f64().unwrap();
    assert!(probability > 0.7 && probability < 0.95, "{probability}");
    assert!(list(&first["speaks_for"]).iter().any(|reason| {
        reason["check"] == "bplus-to-case" && reason["factor"].as_f64().unwrap() > 5.0
    }));
    assert_eq!(found["calls"]["must"][0]["role"], "rectifier");
    assert!(found["next_checks"][0]["bits_per_minute"].as_f64().unwrap() > 0.0);

    let said = text(&bench.run(&SHORTED).stdout);
    for words in ["CAUTION", "local law", "for     x", "order  rectifier x 1", "next   B-"] {
        assert!(said.contains(words), "`{words}` is missing in\n{said}");
    }
}

/// IEC 60034-1's copper formula by hand: 2.6 ohm at 85 °C are 2.60 · 255 / 320 = 2.07 at 20 °C.
#[test]
fn a_warm_rotor_is_judged_as_if_it_were_cold() {
    let bench = Bench::with_samples();
    let outcome = |reading: &str| {
        let found = bench.json(&["bench", "alternator", reading]);
        let reading = &found["readings"][0];
        (reading["outcome"].clone(), reading["words"].as_str().unwrap().to_owned())
    };
    let (warm, words) = outcome("rotor-resistance=2.6ohm@85C of 2.1ohm");
    assert_eq!(warm, "normal");
    assert!(words.contains("2.07 ohm at 20 °C"), "{words}");
    assert_eq!(outcome("rotor-resistance=1.6ohm of 2.1ohm").0, "low");
    assert_eq!(outcome("rotor-resistance=OL").0, "open");
}

#[test]
fn the_call_to_stop_stands_in_words() {
    let bench = Bench::with_samples();
    let settled = [
        "bench",
        "alternator",
        "--loose",
        "B-24=clean",
        "B-18=ok",
        "B-22=high",
        "B-05=16.1V",
        "B-12=95%",
        "B-13=8mm",
    ];
    assert_eq!(bench.json(&settled)["stop"]["stop"], true);
    let said = text(&bench.run(&settled).stdout);
    assert!(said.contains("stop here: more checks cannot change what you would order"), "{said}");
    assert!(!text(&bench.run(&SHORTED).stdout).contains("stop here"), "not settled");
}

#[test]
fn a_loose_unit_leaves_the_vehicle_as_one_finding() {
    let bench = Bench::with_samples();
    let found = bench.json(&["bench", "starter", "--loose"]);
    assert!(list(&found["findings"]).iter().any(|finding| finding["key"] == "outside"));
    let levels = list(&found["next_checks"]).iter().map(|next| next["level"].clone());
    assert!(levels.into_iter().all(|level| level != "V"), "no check on the vehicle");
}

#[test]
fn a_unit_brings_machine_and_voltage() {
    let bench = Bench::with_samples();
    let found = bench.json(&["bench", "--unit", "AU-1112"]);
    assert_eq!((&found["machine"], &found["volts"]), (&"alternator".into(), &12.into()));
    let other = bench.run(&["bench", "starter", "--unit", "AU-1112"]);
    assert_eq!(other.status.code(), Some(1));
    assert!(text(&other.stderr).contains("AU-1112"));
    assert_eq!(bench.run(&["bench"]).status.code(), Some(1), "alternator or starter?");
}

#[test]
fn what_cannot_be_understood_is_named_with_what_would_be_right() {
    let bench = Bench::with_samples();
    let rows = [
        ("riple=high", "Did you mean `ripple`?"),
        ("ripple=loud", "The outcomes are"),
        ("rotor-resistance=2.6V", "ohm"),
        ("ripple", "bplus-to-case=one"),
    ];
    for (reading, hint) in rows {
        let done = bench.run(&["bench", "alternator", reading]);
        assert_eq!(done.status.code(), Some(1), "{reading}");
        assert!(text(&done.stderr).contains(hint), "{reading}: {}", text(&done.stderr));
    }
}

#[test]
fn checks_and_faults_are_listed_with_outcomes_and_cautions() {
    let bench = Bench::with_samples();
    assert_eq!(list(&bench.json(&["bench", "checks", "alternator"])).len(), 24);
    assert_eq!(list(&bench.json(&["bench", "faults", "starter"])).len(), 12);
    let said = text(&bench.run(&["bench", "checks", "alternator", "full-field"]).stdout);
    for words in ["CAUTION", "full-field=none", "local law", "DF: field winding"] {
        assert!(said.contains(words), "`{words}` is missing in\n{said}");
    }
}

#[test]
fn a_shops_own_faults_file_is_laid_over() {
    let bench = Bench::with_samples();
    let folder = bench.path("shop").join("faults");
    std::fs::create_dir(&folder).unwrap();
    let own = "machine = \"alternator\"\norder_at = 0.9\n";
    std::fs::write(folder.join("mine.toml"), own).unwrap();
    assert_eq!(bench.json(&SHORTED)["calls"]["must"][0]["ordered"], false);
    std::fs::write(folder.join("mine.toml"), "machine = \"alternator\"\n\nodrer_at = 0.9\n")
        .unwrap();
    let refused = text(&bench.run(&SHORTED).stderr);
    assert!(refused.contains("mine.toml, line 3"), "{refused}");
}

#[test]
fn a_batch_of_units_is_answered_line_by_line() {
    let bench = Bench::with_samples();
    let questions = "{\"id\":\"a\",\"machine\":\"alternator\",\"readings\":[\"B-06=high\"]}\n\
                     {\"id\":\"b\",\"unit\":\"no such\"}\n\
                     {\"id\":\"c\",\"machine\":\"starter\",\"loose\":true}\n";
    let done = bench.run(&["bench", "--batch", &bench.file("units.jsonl", questions)]);
    assert_eq!(done.status.code(), Some(1), "one line could not be answered");
    let said = text(&done.stdout);
    let lines: Vec<Value> = said.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines.len(), 3);
    assert_eq!((&lines[0]["id"], &lines[1]["id"]), (&"a".into(), &"b".into()));
    assert!(lines[1]["error"].as_str().unwrap().contains("no such"));
    assert_eq!(lines[2]["machine"], "starter");
}

#[test]
fn a_units_bill_turns_the_call_into_covers_with_bin_price_and_days() {
    let bench = Bench::with_samples();
    let found = bench.json(&[&SHORTED[..], &["--unit", "AU-1112"]].concat());
    let options = list(&found["repair"]["options"]);
    let parts: Vec<_> = options.iter().map(|o| &o["takes"][0]["part"]).collect();
    // RP-1107C sits in the bill, none in the bins; RP-1131C is two replacements on, and in a bin.
    let plate = options.iter().find(|o| o["takes"][0]["part"] == "RP-1131C");
    let plate = plate.unwrap_or_else(|| panic!("{parts:?}"));
    assert_eq!(plate["days"], 0);
    assert_eq!(plate["replaces"], serde_json::json!(["rectifier"]));
    let from = &plate["takes"][0]["from"][0]["bin"];
    assert!(from == "A2-04" || from == "A1-05", "{from}");
    assert_eq!(plate["minutes"], 45, "the bench minutes of the fault");
    assert!(list(&found["repair"]["missing"]).is_empty());
    let said = text(&bench.run(&[&SHORTED[..], &["--unit", "AU-1112"]].concat()).stdout);
    for words in ["cover 1", "from A", "mind:", "new parts only"] {
        assert!(said.contains(words), "`{words}` is missing in\n{said}");
    }
    let ordered = bench.json(&[&SHORTED[..], &["--unit", "AU-1110"]].concat());
    let plate = list(&ordered["repair"]["options"])
        .iter()
        .find(|option| option["takes"][0]["part"] == "RP-1107A")
        .unwrap();
    assert_eq!((&plate["takes"][0]["to_order"], &plate["days"]), (&1.0.into(), &3.into()));
    let other = text(&bench.run(&[&SHORTED[..], &["--unit", "AU-1110"]].concat()).stdout);
    assert!(other.contains("while in there: 1 x RG-1120A"), "{other}");
}

#[test]
fn an_assembly_fills_two_roles_and_is_weighed_against_the_parts() {
    let bench = Bench::with_samples();
    let line = [&SHORTED[..], &["--unit", "AU-1110", "--with", "regulator"]].concat();
    let repair = bench.json(&line)["repair"].clone();
    // Whole units stand beside the repairs to measure them by.
    let is_repair = |option: &&Value| option["name"].as_str().unwrap().parse::<u32>().is_ok();
    let repairs: Vec<Value> = list(&repair["options"]).iter().filter(is_repair).cloned().collect();
    let takes = |option: &Value| {
        let parts =
            list(&option["takes"]).iter().map(|take| take["part"].as_str().unwrap().to_owned());
        parts.collect::<Vec<_>>()
    };
    for option in &repairs {
        let roles: usize =
            list(&option["takes"]).iter().map(|take| list(&take["roles"]).len()).sum();
        assert!(roles >= 2, "both roles are filled: {:?}", takes(option));
    }
    let price = |option: &Value| {
        let total = option["total"]["amount"].as_str().unwrap();
        (
            total.parse::<f64>().unwrap(),
            option["days"].as_u64().unwrap(),
            list(&option["replaces"]).len(),
        )
    };
    // What is offered of new parts alone stands beside those that nothing beats.
    let beside = |option: &&Value| option["reasons"][0] != "new parts only";
    let all: Vec<_> = repairs.iter().filter(beside).map(price).collect();
    assert!(!all.is_empty());
    for (at, a) in all.iter().enumerate() {
        for (other, b) in all.iter().enumerate() {
            let beaten = b.0 <= a.0 && b.1 <= a.1 && b.2 <= a.2 && b != a;
            assert!(at == other || !beaten, "{a:?} is beaten by {b:?}");
        }
    }
}

#[test]
fn a_lifted_joint_is_resoldered_without_a_part() {
    let bench = Bench::with_samples();
    let line = [
        "bench",
        "alternator",
        "charge-voltage=low",
        "ripple=high",
        "bplus-to-case=two",
        "stator-joints=open",
        "--unit",
        "AU-1112",
    ];
    let found = bench.json(&line);
    let first = &found["repair"]["options"][0];
    assert_eq!(first["takes"][0]["part"], "");
    assert!(list(&first["replaces"]).is_empty());
    assert!(list(&first["reasons"]).iter().any(|reason| reason == "needs no part"));
    assert_eq!(first["parts"]["amount"], "0.00");
}

#[test]
fn without_a_unit_a_named_or_measured_part_stands_for_the_bill() {
    let bench = Bench::with_samples();
    let named = bench.json(&[&SHORTED[..], &["--part", "rectifier=RP-1107C"]].concat());
    assert_eq!(named["repair"]["options"][0]["takes"][0]["part"], "RP-1131C");
    let measures = "rectifier-plate phase_lugs=4 outline_od=112.1 mount_pitch=93.5 bplus_thread=M8";
    let measured = bench.json(&[&SHORTED[..], &["--fit", "rectifier", measures]].concat());
    let take = &measured["repair"]["options"][0]["takes"][0];
    assert!(take["remark"].as_str().unwrap().contains("by its measures with"), "{take}");
    let bare = bench.json(&SHORTED);
    assert_eq!(bare["repair"]["missing"], serde_json::json!(["rectifier"]));
}

#[test]
fn a_dear_repair_is_told_against_an_exchange_unit() {
    let bench = Bench::with_samples();
    let files = [
        ("parts.csv", "number,kind,description\nEX-1112,whole-unit,exchange alternator\n"),
        ("bills.csv", "unit,role,part,quantity\nAU-1112,exchange-unit,EX-1112,1\n"),
        (
            "prices.csv",
            "part,list,amount,currency\nEX-1112,counter,90.00,EUR\nEX-1112,core-deposit,35.00,EUR\n",
        ),
    ];
    for (name, content) in files {
        let done = bench.run(&["import", &bench.file(name, content)]);
        assert!(done.status.success(), "{}", text(&done.stderr));
    }
    let found = bench.json(&[&SHORTED[..], &["--unit", "AU-1112"]].concat());
    let options = list(&found["repair"]["options"]);
    let new = options.iter().find(|option| option["takes"][0]["condition"] == "new").unwrap();
    let advice = list(&new["advice"]);
    // 46.90 and 45 minutes at 60.00 are 91.90, of 90.00 and ten minutes, 100.00.
    let dear = "the repair comes to 92 % of an exchange unit";
    assert!(advice.iter().any(|a| a.as_str().unwrap().starts_with(dear)), "{advice:?}");
    let whole = options.iter().find(|option| option["name"] == "exchange").unwrap();
    // 90.00 + 35.00 deposit + the minimum charge for ten minutes' work, 20.00; nothing is taxed.
    assert_eq!(whole["total"]["amount"], "145.00");
}
