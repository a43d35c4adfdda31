//! What does that terminal do? Designations of DIN 72552 for charging and starting, in our words.

/// Designation and meaning. The standard names terminals, not wires. `N` is not part of it but
/// met beside it; 50a to 50h from memory.
pub const TERMINALS: [(&str, &str); 41] = [
    ("15", "plus after the ignition switch"),
    ("15a", "after the ballast resistor, to coil and starter"),
    ("17", "heater-start switch, start"),
    ("19", "heater-start switch, preheat"),
    ("30", "battery plus, direct"),
    ("30a", "plus of the second battery where 12 and 24 V change over"),
    ("31", "battery minus or ground, direct"),
    ("31a", "return to the second battery's minus"),
    ("31b", "return through a switch or relay"),
    ("31c", "return to the first battery's minus"),
    ("44", "levels the regulators of machines that run side by side"),
    ("45", "starter's main current in; output of its relay"),
    ("45a", "first of two starters"),
    ("45b", "second of two starters"),
    ("48", "watches the start, on starter and repeat relay"),
    ("50", "starter control: pulls the solenoid in"),
    ("50a", "starter control from the battery changeover relay"),
    ("50b", "control of two starters through a sequencing relay"),
    ("50c", "sequencing relay, input for the first starter"),
    ("50d", "sequencing relay, input for the second starter"),
    ("50e", "start-blocking relay, input"),
    ("50f", "start-blocking relay, output"),
    ("50g", "start-repeat relay, input"),
    ("50h", "start-repeat relay, output"),
    ("51", "direct voltage at the rectifier"),
    ("51e", "as 51, with a choke for driving by day"),
    ("59", "alternating output, rectifier input"),
    ("59a", "charging winding, output"),
    ("61", "charge lamp"),
    ("64", "lamp supply from the machine"),
    ("B+", "battery plus at the machine"),
    ("B-", "battery minus at the machine"),
    ("D+", "plus of the exciter diodes: feeds regulator and lamp"),
    ("D-", "the machine's minus, the regulator's reference"),
    ("DF", "field winding at the regulator"),
    ("DF1", "first field winding"),
    ("DF2", "second field winding"),
    ("U", "first phase"),
    ("V", "second phase"),
    ("W", "third phase; alone, the tap for a rev counter"),
    ("N", "star point of the stator"),
];

/// Returns what the terminal `code` does, whatever its case.
pub fn meaning(code: &str) -> Option<&'static str> {
    let code = code.trim().replace('−', "-");
    TERMINALS
        .into_iter()
        .find(|(known, _)| known.eq_ignore_ascii_case(&code))
        .map(|(_, meaning)| meaning)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// DIN 72552 as carried by public tables, see `tests/reference`.
    #[test]
    fn every_designation_of_the_published_list_is_known_and_no_other() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/din72552.csv");
        let rows = csv::Reader::from_path(path).unwrap().into_records();
        let published: Vec<String> = rows.map(|row| row.unwrap()[0].to_owned()).collect();
        let ours: Vec<&str> = TERMINALS.iter().map(|(code, _)| *code).collect();
        assert_eq!(ours, published);
        assert_eq!(meaning(" d+ "), meaning("D+"));
        assert_eq!(meaning("X9"), None);
    }
}
