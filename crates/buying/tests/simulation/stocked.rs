//! What does a part's stock serve, month by month, when it is ordered up to a level?

/// What was asked, what was not there, and what lay on the shelf.
#[derive(Default)]
pub struct Served {
    asked: f64,
    short: f64,
    units: f64,
    money: f64,
}

impl Served {
    pub fn fill(&self) -> f64 {
        1.0 - self.short / self.asked
    }

    pub fn units(&self) -> f64 {
        self.units
    }

    pub fn money(&self) -> f64 {
        self.money
    }

    pub fn add(&mut self, other: &Self, unit_cost: f64) {
        self.asked += other.asked;
        self.short += other.short;
        self.units += other.units;
        self.money += other.units * unit_cost;
    }
}

/// Orders up to `levels[month]` at the start of each month; orders come `lead` months later, what is short is
/// owed. The first months, stocked by the first level, are not counted. Units are the mean at the months' ends.
pub fn serve(levels: &[u64], demand: &[f64], lead: usize) -> Served {
    let mut served = Served::default();
    let mut here = levels[0] as f64; // minus what is owed
    let mut coming = vec![0.0; levels.len() + lead + 1];
    let counted = levels.len() - 2;
    for (month, &level) in levels.iter().enumerate() {
        here += coming[month];
        let position = here + coming[month + 1..].iter().sum::<f64>();
        coming[month + lead] += (level as f64 - position).max(0.0);
        if lead == 0 {
            here += coming[month];
        }
        let sold = demand[month];
        if month >= 2 {
            served.asked += sold;
            served.short += (sold - here.max(0.0)).max(0.0);
            served.units += (here - sold).max(0.0) / counted as f64;
        }
        here -= sold;
    }
    served
}
