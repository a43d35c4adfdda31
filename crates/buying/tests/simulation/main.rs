//! Is the service asked for reached, and with how little stock? Seeded invented shops.
//!
//! Every part is forecast each month from what was known, ordered up to its level, and served from what
//! has come; the yardsticks are ordered for in the same way. Figures are printed (`--nocapture`).

mod invented;
mod stocked;

use binwright_buying::pooled::Series;
use binwright_buying::{LeadDemand, Method, Need, Outlook, Target};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use invented::{Part, shop};
use stocked::{Served, serve};

/// Months known before the first order, months ordered in.
const KNOWN: usize = 48;
const SERVED: usize = 18;
/// Lead plus review time.
const COVER: usize = 2;

/// Demand over [`COVER`] months of every part, as forecast after each of so many months.
type Forecasts = Vec<Vec<LeadDemand>>;

fn histories(parts: &[Part], known: usize) -> Vec<&[f64]> {
    parts.iter().map(|part| &part.months[part.starts.min(known)..known]).collect()
}

fn pooled(parts: &[Part]) -> Forecasts {
    (KNOWN..KNOWN + SERVED)
        .map(|known| {
            let series: Vec<Series<'_>> = histories(parts, known)
                .into_iter()
                .map(|months| Series { months, family: 0, expected: None })
                .collect();
            Outlook::of(&series, &vec![COVER as f64; parts.len()]).demands
        })
        .collect()
}

/// Each part by its own history alone.
fn alone(parts: &[Part], mut forecast: impl FnMut(&[f64]) -> LeadDemand) -> Forecasts {
    (KNOWN..KNOWN + SERVED)
        .map(|known| histories(parts, known).into_iter().map(&mut forecast).collect())
        .collect()
}

fn poisson_on_the_mean(months: &[f64]) -> LeadDemand {
    let mean = months.iter().sum::<f64>() / months.len().max(1) as f64;
    LeadDemand::poisson(mean * COVER as f64)
}

fn sba_negative_binomial(months: &[f64]) -> LeadDemand {
    Method::Sba.alone(months, COVER as f64).expect("it needs no other part")
}

/// Sums of months drawn from the history.
fn bootstrap(months: &[f64], chance: &mut ChaCha8Rng) -> LeadDemand {
    if months.is_empty() {
        return LeadDemand::poisson(0.0);
    }
    let mut draw = || months[chance.random_range(0..months.len())] as u32;
    let sums: Vec<u32> = (0..400).map(|_| (0..COVER).map(|_| draw()).sum()).collect();
    LeadDemand::empirical(&sums)
}

fn served(parts: &[Part], forecasts: &Forecasts, target: Target) -> Served {
    let levels_of = |demands: &Vec<LeadDemand>| {
        let need = |(part, demand): (&Part, _)| Need {
            demand,
            unit_cost: part.unit_cost,
            review_share: 1.0 / COVER as f64,
        };
        target.levels(&parts.iter().zip(demands).map(need).collect::<Vec<_>>())
    };
    let months: Vec<Vec<u64>> = forecasts.iter().map(levels_of).collect();
    let mut all = Served::default();
    for (at, part) in parts.iter().enumerate() {
        let levels: Vec<u64> = months.iter().map(|levels| levels[at]).collect();
        all.add(&serve(&levels, &part.months[KNOWN..], COVER - 1), part.unit_cost);
    }
    all
}

/// Stock (units, money) at which a fill is reached, between the services asked for; `None` when none reaches it.
fn stock_at(frontier: &[Served], fill: f64) -> Option<(f64, f64)> {
    let above = frontier.iter().position(|point| point.fill() >= fill)?;
    let (low, high) = (&frontier[above.saturating_sub(1)], &frontier[above]);
    let share = ((fill - low.fill()) / (high.fill() - low.fill()).max(1e-9)).clamp(0.0, 1.0);
    let between = |a: f64, b: f64| a + share * (b - a);
    Some((between(low.units(), high.units()), between(low.money(), high.money())))
}

/// Stock and fill at many shares asked for.
fn frontier(parts: &[Part], forecasts: &Forecasts, target: fn(f64) -> Target) -> Vec<Served> {
    let asked = [
        0.4, 0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.93, 0.95, 0.97, 0.98, 0.99, 0.995, 0.998,
        0.9999,
    ];
    asked.map(|share| served(parts, forecasts, target(share))).into()
}

/// The mean over parts and months of what was promised and what came.
#[derive(Default)]
struct Kept {
    looks: f64,
    /// Chance that the stock lasts, as said; above what was asked, for stock is whole.
    promised: f64,
    /// Share of times it lasted.
    lasted: f64,
    /// Share of times demand was below the quantile, its last count shared out by chance.
    came_true: f64,
}

fn kept(parts: &[Part], forecasts: &Forecasts, service: f64) -> Kept {
    let mut kept = Kept::default();
    for (known, demands) in (KNOWN..).zip(forecasts) {
        let there: Vec<(&Part, &LeadDemand)> =
            parts.iter().zip(demands).filter(|(part, _)| part.starts <= known).collect();
        let need = |&(part, demand): &(&Part, _)| Need {
            demand,
            unit_cost: part.unit_cost,
            review_share: 1.0 / COVER as f64,
        };
        let needs: Vec<Need<'_>> = there.iter().map(need).collect();
        let levels = Target::CycleService(service).levels(&needs);
        for (&(part, demand), level) in there.iter().zip(levels) {
            let sold = part.months[known..known + COVER].iter().sum::<f64>() as u64;
            let below = sold.checked_sub(1).map_or(0.0, |less| demand.at_most(less));
            let share = (service - below) / (demand.at_most(sold) - below).max(1e-12);
            kept.looks += 1.0;
            kept.promised += demand.at_most(level);
            kept.lasted += f64::from(u8::from(sold <= level));
            kept.came_true += share.clamp(0.0, 1.0);
        }
    }
    let share = |sum: f64| sum / kept.looks;
    let (promised, lasted) = (share(kept.promised), share(kept.lasted));
    Kept { promised, lasted, came_true: share(kept.came_true), ..kept }
}

/// The two ways the world may be: rates that stay, and rates that wander.
const WORLDS: [(&str, f64); 2] = [("steady", 0.0), ("wandering", 0.4)];

#[test]
fn service_promised_is_reached_and_its_chances_come_true() {
    for (world, wander) in WORLDS {
        let parts = shop(3, 600, wander);
        let forecasts = pooled(&parts);
        for service in [0.8, 0.9, 0.95, 0.98] {
            let Kept { looks, promised, lasted, came_true } = kept(&parts, &forecasts, service);
            println!(
                "{world}, asked {service:.2}: promised {promised:.4}, lasted {lasted:.4}, \
                 quantile came true {came_true:.4} ({looks} looks)"
            );
            assert!((lasted - promised).abs() <= 0.02, "promised {promised}, lasted {lasted}");
            assert!((lasted - service).abs() <= 0.02, "asked {service}, lasted {lasted}");
            assert!((came_true - service).abs() <= 0.01, "asked {service}: {came_true}");
        }
    }
}

#[test]
fn at_equal_fill_there_is_less_stock_than_by_the_textbook() {
    let mut chance = ChaCha8Rng::seed_from_u64(5);
    for (world, wander) in WORLDS {
        let parts = shop(1, 600, wander);
        let forecasts = pooled(&parts);
        let rivals = [
            ("poisson on the mean", alone(&parts, poisson_on_the_mean)),
            ("sba, negative binomial", alone(&parts, sba_negative_binomial)),
            ("bootstrap", alone(&parts, |months| bootstrap(months, &mut chance))),
        ];
        let adida = alone(&parts, |months| {
            Method::Adida.alone(months, COVER as f64).expect("it needs no other part")
        });
        let adida = frontier(&parts, &adida, Target::CycleService);
        let ours = frontier(&parts, &forecasts, Target::CycleService);
        let by_value = frontier(&parts, &forecasts, Target::Value);
        let equal_fill = frontier(&parts, &forecasts, Target::Fill);
        let rivals =
            rivals.map(|(name, theirs)| (name, frontier(&parts, &theirs, Target::CycleService)));
        for fill in [0.85, 0.90, 0.95] {
            let (units, money) = stock_at(&ours, fill).expect("it is reached");
            println!("{world}, fill {fill}: {units:.0} units, {money:.0} in money");
            let show = |name: &str, stock: Option<(f64, f64)>| match stock {
                None => println!("  {name:<24} never reaches it"),
                Some((theirs, their_money)) => println!(
                    "  {name:<24} {:+.1} % units, {:+.1} % money",
                    100.0 * (theirs / units - 1.0),
                    100.0 * (their_money / money - 1.0)
                ),
            };
            let spread_by_value = stock_at(&by_value, fill);
            show("ours, by value", spread_by_value);
            show("ours, equal fill", stock_at(&equal_fill, fill));
            assert!(spread_by_value.expect("it is reached").1 < money, "by value costs less");
            show("adida, not a yardstick", stock_at(&adida, fill));
            for (name, theirs) in &rivals {
                let stock = stock_at(theirs, fill);
                show(name, stock);
                assert!(stock.is_none_or(|(theirs, _)| units < theirs), "{name} at {fill}");
            }
        }
    }
}

#[test]
fn the_fill_asked_for_is_reached() {
    for (world, wander) in WORLDS {
        let parts = shop(4, 600, wander);
        let forecasts = pooled(&parts);
        for asked in [0.90, 0.95] {
            for (name, target) in
                [("by part", Target::Fill(asked)), ("by value", Target::Value(asked))]
            {
                let fill = served(&parts, &forecasts, target).fill();
                println!("{world}, {name}: fill asked {asked:.2}, reached {fill:.4}");
                assert!((fill - asked).abs() <= 0.04, "{name}: asked {asked}, reached {fill}");
            }
        }
    }
}

/// The pool is the default for the stock it saves at equal fill, above. On the replay of one invented
/// shop it is not first: smoothing of blocks loses two hundredths less. Both figures are in the log.
#[test]
fn the_table_of_past_losses_has_the_pool_near_the_least_and_ahead_of_croston() {
    let parts = shop(5, 600, 0.4);
    let series: Vec<Series<'_>> = histories(&parts, KNOWN + SERVED)
        .into_iter()
        .map(|months| Series { months, family: 0, expected: None })
        .collect();
    let past = Outlook::of(&series, &vec![COVER as f64; parts.len()]).past;
    past.iter().for_each(|one| println!("{:<26} {:.4}", one.method.word(), one.loss));
    let loss = |method: Method| past.iter().find(|one| one.method == method).map(|one| one.loss);
    let pooled = past
        .iter()
        .filter(|one| matches!(one.method, Method::Pooled(_)))
        .map(|one| one.loss)
        .fold(f64::INFINITY, f64::min);
    let least = past.iter().map(|one| one.loss).fold(f64::INFINITY, f64::min);
    assert!(pooled <= least * 1.03, "pooled {pooled}, least {least}");
    for rival in [Method::Croston, Method::Sba] {
        assert!(Some(pooled) < loss(rival), "{}", rival.word());
    }
}

/// Of 30 parts that sold about four a month each, and stop for good: a year later they are not stocked.
#[test]
fn demand_that_ended_takes_the_stock_with_it() {
    for (world, wander) in WORLDS {
        let mut parts = shop(7, 600, wander);
        parts.iter_mut().step_by(20).for_each(|part| part.months[KNOWN - 12..].fill(0.0));
        let rate_and_level = |months_since: usize| {
            let series: Vec<Series<'_>> = histories(&parts, KNOWN - 12 + months_since)
                .into_iter()
                .map(|months| Series { months, family: 0, expected: None })
                .collect();
            let found = Outlook::of(&series, &vec![COVER as f64; parts.len()]);
            let rate: f64 = found.forecasts.iter().step_by(20).map(|one| one.rate).sum();
            let ended = found.demands.iter().step_by(20);
            let level: u64 = ended.map(|demand| demand.level_for_cycle_service(0.95)).sum();
            println!(
                "{world}, {months_since} months after the last sale: {rate:.1} a month, level {level}"
            );
            (rate, level)
        };
        let [(before, stocked), (half, _), (after, left)] = [0, 6, 12].map(rate_and_level);
        assert!(half < 0.5 * before, "{half} of {before}");
        assert!(
            after < 0.05 * before && left * 20 < stocked,
            "{after} of {before}, {left} of {stocked}"
        );
    }
}

/// The ways parts go, by their place in ten.
const WAYS: [&str; 10] =
    ["smooth", "erratic", "slow", "slow", "slow", "lumpy", "lumpy", "dying", "rising", "newborn"];

/// What was forecast of the parts at a place in ten over what they then sold, over several shops. A rate is shrunk
/// toward what is usual where little is known, so parts picked by the way they go cannot all come out at one.
fn forecast_over_sold(seeds: std::ops::Range<u64>, wander: f64) -> [f64; 10] {
    let mut sums = [[0.0; 2]; 10];
    for seed in seeds {
        let parts = shop(seed, 600, wander);
        for (known, demands) in (KNOWN..).zip(pooled(&parts)) {
            for (nth, (part, demand)) in parts.iter().zip(demands).enumerate() {
                if part.starts + 6 <= known {
                    let sum = &mut sums[nth % 10];
                    sum[0] += demand.mean();
                    sum[1] += part.months[known..known + COVER].iter().sum::<f64>();
                }
            }
        }
    }
    sums.map(|[forecast, sold]| forecast / sold)
}

/// A dying part sells 4 % less every month, to a fourteenth in the end; a rising one 2 % more. Without a look at the
/// dates of their sales they are forecast at 2.4 to 2.9 times, and at two thirds of, what came.
#[test]
fn what_slowly_dies_or_rises_is_told_from_what_stays() {
    for (world, wander) in WORLDS {
        let off = forecast_over_sold(21..23, wander);
        for (way, off) in WAYS.iter().zip(off) {
            println!("{world}, {way}: forecast {off:.3} times what came");
        }
        let [.., dying, rising, _] = off;
        assert!(dying < 2.1, "{world}: {dying}");
        assert!(rising > 0.67, "{world}: {rising}");
        for (way, off) in WAYS.iter().zip(off).take(7) {
            assert!((0.85..1.2).contains(&off), "{world}, {way}: {off}");
        }
    }
}
