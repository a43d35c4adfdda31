//! Which branch's surplus covers which other's shortage, where moving costs less than buying?
//!
//! What all branches together are to have of a part is shared out by what each used: a branch that used
//! nothing needs nothing, and all it has is surplus. Whole pieces, largest remainder first. A trip carries
//! everything that is suggested between two branches, so its cost is set against all of that.

use binwright_catalog::Money;

/// One part at all branches.
#[derive(Debug, Clone, PartialEq)]
pub struct PartAcross {
    /// How many all branches together are to have.
    pub level: u32,
    /// What one costs to buy.
    pub each: Money,
    /// By branch.
    pub at: Vec<AtBranch>,
}

/// One part at one branch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AtBranch {
    /// Free there, or on its way there.
    pub have: u32,
    /// Used there over the time that is looked back on.
    pub used: u32,
}

/// The way from one branch to another, branches by their place in [`PartAcross::at`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Way {
    /// The one.
    pub one: usize,
    /// The other.
    pub two: usize,
    /// How long a trip takes.
    pub minutes: u32,
    /// What a trip costs.
    pub cost: Money,
}

/// What is suggested to be sent on one trip.
#[derive(Debug, Clone, PartialEq)]
pub struct Trip {
    /// From where.
    pub from: usize,
    /// To where.
    pub to: usize,
    /// The way.
    pub way: Way,
    /// What buying all of it would cost, an order line each beside the price.
    pub buying: Money,
    /// What is sent.
    pub loads: Vec<Load>,
}

/// What is suggested to be sent of one part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Load {
    /// The part, by its place in the question.
    pub part: usize,
    /// How many.
    pub pieces: u32,
    /// What the sender is to have, and has.
    pub sender: (u32, u32),
    /// What the receiver is to have, and has.
    pub receiver: (u32, u32),
    /// What buying them would cost, with an order line.
    pub buying: Money,
}

/// Suggests the trips that cost less than buying what they carry, the one that saves most first. An order
/// line costs `order_line`; it, the ways' costs and all prices are in one currency.
pub fn trips(parts: &[PartAcross], ways: &[Way], order_line: Money) -> Vec<Trip> {
    let mut nearest: Vec<&Way> = ways.iter().collect();
    nearest.sort_by_key(|way| (way.cost.minor, way.minutes));
    let mut trips: Vec<Trip> = Vec::new();
    for (nth, part) in parts.iter().enumerate() {
        let levels = shared(part);
        let mut have: Vec<u32> = part.at.iter().map(|at| at.have).collect();
        for way in &nearest {
            for (from, to) in [(way.one, way.two), (way.two, way.one)] {
                let pieces = have[from]
                    .saturating_sub(levels[from])
                    .min(levels[to].saturating_sub(have[to]));
                if pieces == 0 {
                    continue;
                }
                let price = part.each.minor.saturating_mul(pieces.into());
                let buying = Money { minor: price.saturating_add(order_line.minor), ..order_line };
                let (sender, receiver) = ((levels[from], have[from]), (levels[to], have[to]));
                let load = Load { part: nth, pieces, sender, receiver, buying };
                have[from] -= pieces;
                have[to] += pieces;
                let known = trips.iter_mut().find(|trip| (trip.from, trip.to) == (from, to));
                match known {
                    Some(trip) => trip.add(load),
                    None => {
                        trips.push(Trip { from, to, way: **way, buying, loads: vec![load] });
                    }
                }
            }
        }
    }
    trips.retain(|trip| trip.way.cost.minor < trip.buying.minor);
    trips.sort_by_key(|trip| trip.way.cost.minor.saturating_sub(trip.buying.minor));
    trips
}

impl Trip {
    fn add(&mut self, load: Load) {
        self.buying.minor = self.buying.minor.saturating_add(load.buying.minor);
        self.loads.push(load);
    }

    /// Why, in one sentence of figures: why so many of this load, and why it is sent at all. `from` and
    /// `to` are the branches' names, `lead_days` how long bought pieces would take.
    pub fn why(&self, load: &Load, from: &str, to: &str, lead_days: u32) -> String {
        let ((keeps, has), (needs, lacks)) = (load.sender, load.receiver);
        let Way { minutes, cost, .. } = self.way;
        let shared = match self.loads.len() {
            1 => String::new(),
            many => format!(" for all {many} parts on it"),
        };
        format!(
            "{to} has {lacks} of {needs} by its use, {from} has {has} and needs {keeps}: the trip costs \
             {cost}{shared} and {minutes} min, buying {} would cost {} and {lead_days} days",
            load.pieces, load.buying
        )
    }
}

/// What each branch is to have: the level by what was used there.
fn shared(part: &PartAcross) -> Vec<u32> {
    let used: u64 = part.at.iter().map(|at| u64::from(at.used)).sum();
    if used == 0 {
        return part.at.iter().map(|at| at.have).collect();
    }
    let level = u64::from(part.level);
    let whole = |at: &AtBranch| level * u64::from(at.used) / used;
    let mut levels: Vec<u64> = part.at.iter().map(whole).collect();
    let left = level - levels.iter().sum::<u64>();
    let mut by_rest: Vec<usize> = (0..part.at.len()).collect();
    by_rest.sort_by_key(|&nth| std::cmp::Reverse(level * u64::from(part.at[nth].used) % used));
    // Fewer pieces are left than there are branches that used any.
    for nth in by_rest.into_iter().take(usize::try_from(left).unwrap_or(0)) {
        levels[nth] += 1;
    }
    levels.into_iter().map(|level| u32::try_from(level).unwrap_or(u32::MAX)).collect()
}

#[cfg(test)]
mod tests {
    use binwright_catalog::Currency;

    use super::*;

    fn eur(minor: i64) -> Money {
        Money { minor, currency: Currency::EUR }
    }

    fn part(level: u32, each: i64, at: &[(u32, u32)]) -> PartAcross {
        let at = at.iter().map(|&(have, used)| AtBranch { have, used }).collect();
        PartAcross { level, each: eur(each), at }
    }

    const fn way(one: usize, two: usize, minutes: u32, minor: i64) -> Way {
        Way { one, two, minutes, cost: Money { minor, currency: Currency::EUR } }
    }

    /// Twelve are to lie there. South (0) has eleven and used three, North (1) has one and used nine: by use
    /// South is to have 12 x 3/12 = 3 and North 9. Eight are too many here and too few there. To buy eight
    /// at 12.00 costs 96.00 and an order line 5.00; the trip costs 6.50.
    #[test]
    fn a_surplus_goes_where_it_is_used() {
        let trips = trips(&[part(12, 1200, &[(11, 3), (1, 9)])], &[way(0, 1, 35, 650)], eur(500));
        let [trip] = &trips[..] else { panic!("{trips:?}") };
        let [load] = trip.loads[..] else { panic!("{trip:?}") };
        assert_eq!((trip.from, trip.to, load.pieces, trip.buying), (0, 1, 8, eur(10_100)));
        assert_eq!(
            trip.why(&load, "South", "North", 9),
            "North has 1 of 9 by its use, South has 11 and needs 3: the trip costs 6.50 EUR and 35 min, \
             buying 8 would cost 101.00 EUR and 9 days"
        );
    }

    /// Two at 0.40 with an order line of 5.00 are 5.80: less than the trip. Two such parts are 11.60.
    #[test]
    fn a_trip_is_made_when_all_it_carries_costs_more_to_buy() {
        let washers = part(2, 40, &[(2, 0), (0, 7)]);
        let suggest = |parts: &[PartAcross]| trips(parts, &[way(0, 1, 35, 650)], eur(500));
        assert_eq!(suggest(std::slice::from_ref(&washers)), []);
        let both = suggest(&[washers.clone(), washers]);
        assert_eq!((both.len(), both[0].loads.len(), both[0].buying), (1, 2, eur(1160)));
        let why = both[0].why(&both[0].loads[0], "South", "North", 9);
        assert!(why.contains("6.50 EUR for all 2 parts on it and 35 min"), "{why}");
    }

    #[test]
    fn what_comes_from_near_is_not_fetched_from_far() {
        let parts = [part(3, 900, &[(0, 5), (3, 0), (3, 0)])];
        let trips = trips(&parts, &[way(0, 1, 90, 1800), way(0, 2, 20, 400)], eur(0));
        assert_eq!(trips.len(), 1);
        assert_eq!((trips[0].from, trips[0].to, trips[0].loads[0].pieces), (2, 0, 3));
    }

    #[test]
    fn nothing_is_sent_where_nobody_used_any_or_no_way_is_known() {
        let unused = part(4, 900, &[(4, 0), (0, 0)]);
        assert_eq!(trips(&[unused], &[way(0, 1, 1, 0)], eur(0)), []);
        assert_eq!(trips(&[part(4, 900, &[(4, 0), (0, 4)])], &[], eur(0)), []);
    }

    /// Five by use 1 : 1 : 1 is 2, 2, 1: no piece is lost or made.
    #[test]
    fn levels_share_out_every_piece() {
        let levels = shared(&part(5, 1, &[(0, 1), (0, 1), (0, 1)]));
        assert_eq!(levels, [2, 2, 1]);
    }
}
