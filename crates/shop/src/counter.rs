//! The counter's desk: which part is this, which number is meant, what is known of it, where does
//! it lie?

use binwright_catalog::{CrossKind, Domain, Kind, Value, standard};
use binwright_fit::{self as fit, Observation, Verdict};
use binwright_index::How;

use crate::answer::{
    Candidate, Compared, CrossTo, FarOff, FitAnswer, Found, Hit, InRole, NextMeasure, PartCard,
    PointsMatched, Price, Supply, UnitCard, UnitRole, free,
};
use crate::settings::Settings;
use crate::{Asked, Shop, ShopError};

/// The least probability that is still worth a line when several kinds are weighed.
const WORTH_A_LINE: f64 = 1e-6;

/// What one number names.
#[derive(Debug, Clone, PartialEq)]
pub enum Card {
    /// Parts: one, or several that share the number.
    Parts(Vec<PartCard>),
    /// A unit.
    Unit(UnitCard),
}

impl Shop {
    /// Says which parts a removed one may be.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the question cannot be read or the shop fails.
    pub fn fit(&mut self, asked: &Asked, limit: usize) -> Result<FitAnswer, ShopError> {
        let keys: Vec<String> =
            asked.kinds(&self.kinds)?.into_iter().map(|kind| kind.key.clone()).collect();
        let mut weighed = Vec::with_capacity(keys.len());
        for key in keys {
            let model = self.model(&key)?;
            let query = asked.query(model.kind())?;
            if model.table().is_empty() && asked.kind.is_none() {
                continue;
            }
            let answer = model.fit(&query, limit)?;
            // Before anything was measured, a kind is as likely as it has parts.
            let ln_weight = answer.ln_evidence + (model.table().len().max(1) as f64).ln();
            weighed.push((key, query, answer, ln_weight));
        }
        let most = weighed.iter().map(|w| w.3).fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = weighed.iter().map(|w| (w.3 - most).exp()).sum();
        let mut none = if weighed.is_empty() { 1.0 } else { 0.0 };
        let mut ranked: Vec<(f64, usize, usize)> = Vec::new();
        for (at, (_, _, answer, ln_weight)) in weighed.iter().enumerate() {
            let share = (ln_weight - most).exp() / total;
            none += share * answer.none;
            for (place, candidate) in answer.candidates.iter().enumerate() {
                ranked.push((share * candidate.probability, at, place));
            }
        }
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
        ranked.truncate(limit);
        if weighed.len() > 1 {
            ranked.retain(|(probability, ..)| *probability > WORTH_A_LINE);
        }
        let mut candidates = Vec::with_capacity(ranked.len());
        for (probability, at, place) in &ranked {
            let (key, query, answer, _) = &weighed[*at];
            let found = &answer.candidates[*place];
            candidates.push(self.candidate(key, query, found, *probability)?);
        }
        let lead = ranked.first().map_or(0, |(_, at, _)| *at);
        let (next, far) = match weighed.get(lead) {
            Some((key, query, answer, _)) => {
                let model = self.model(key)?;
                (named_next(model.kind(), &model.next(query, answer)), far_off(model, query))
            }
            None => (Vec::new(), Vec::new()),
        };
        let kinds = weighed.into_iter().map(|(key, ..)| key).collect();
        let (id, stock_as_of) = (asked.id.clone(), self.stock_age());
        Ok(FitAnswer { id, kinds, none, candidates, far, next, stock_as_of })
    }

    fn candidate(
        &mut self,
        key: &str,
        query: &fit::Query,
        found: &fit::Candidate,
        probability: f64,
    ) -> Result<Candidate, ShopError> {
        let lent: Vec<Option<u64>> = {
            let table = self.model(key)?.table();
            let by = |row: u32| table.parts[row as usize];
            found.measures.iter().map(|deviation| deviation.lent_from.map(by)).collect()
        };
        let first = self.part(found.parts[0])?;
        let kind = self.kinds.get(key).ok_or_else(|| ShopError::unknown_kind(key, &self.kinds))?;
        let mut measures = Vec::with_capacity(found.measures.len());
        for (deviation, lent) in found.measures.iter().zip(lent) {
            let lender = lent.map(|id| self.part(id)).transpose()?;
            measures.push(compared(kind, query, deviation, &first, lender.as_ref()));
        }
        let also = found.parts[1..]
            .iter()
            .map(|id| self.part(*id).map(|part| part.house))
            .collect::<Result<_, _>>()?;
        Ok(Candidate {
            also,
            probability,
            kind: key.to_owned(),
            wrong_hand: found.wrong_hand,
            layout_rms_mm: found.registration.as_ref().map(|motion| motion.rms_mm),
            layout_points: points_matched(query, found),
            measures,
            supply: self.supply(found.parts[0])?,
            number: first.house,
            description: first.description,
            maker: first.maker,
        })
    }

    /// Finds the parts that `text` may mean: a number however worn or mistyped, or words; of the
    /// three sizes of a bearing (`17x40x12`), the bearings that have them.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when store or index fails.
    pub fn find(&mut self, text: &str, limit: usize) -> Result<Found, ShopError> {
        let standard = standard::explain(text);
        let mut hits = Vec::new();
        if let Some(sizes) = standard::bearing::parse_sizes_mm(&text.trim().to_lowercase()) {
            hits = self.bearings_of(sizes, limit)?;
        }
        for hit in self.index.find(text, limit)? {
            let part = self.part(hit.part)?;
            hits.push(Hit {
                matched: if hit.how == How::Words { String::new() } else { hit.number },
                how: how_words(hit.how),
                distance: hit.cost,
                kind: part.kind,
                description: part.description,
                maker: part.maker,
                supply: self.supply(hit.part)?,
                number: part.house,
            });
        }
        hits.truncate(limit);
        let unit = self.store.unit(text.trim())?;
        let unit = unit.map(|unit| format!("{} {}, {}", unit.number, unit.description, unit.maker));
        Ok(Found { standard, unit, hits, stock_as_of: self.stock_age() })
    }

    /// The bearings whose bore, outside diameter and width are these, within reading.
    fn bearings_of(&mut self, sizes_mm: [f64; 3], limit: usize) -> Result<Vec<Hit>, ShopError> {
        let pairs = ["bore", "od", "width"].iter().zip(sizes_mm);
        let measures = pairs.map(|(key, mm)| (String::from(*key), mm.into())).collect();
        let kind = Some("bearing".to_owned());
        let asked = Asked { kind, measures, ..Asked::default() };
        let fits = |found: &Candidate| found.measures.iter().all(|m| m.verdict == Verdict::Inside);
        let answer = self.fit(&asked, limit)?;
        let hit = |found: Candidate| Hit {
            matched: String::new(),
            how: "bore, diameter and width",
            distance: 0.0,
            number: found.number,
            kind: found.kind,
            description: found.description,
            maker: found.maker,
            supply: found.supply,
        };
        Ok(answer.candidates.into_iter().filter(fits).map(hit).collect())
    }

    /// Everything about what bears `number` exactly: parts, or a unit.
    ///
    /// # Errors
    ///
    /// [`ShopError::NoSuchNumber`] when nothing does.
    pub fn card(&self, number: &str) -> Result<Card, ShopError> {
        let ids = self.store.parts_by_number(number)?;
        if !ids.is_empty() {
            let cards = ids.into_iter().map(|id| self.part_card(id)).collect::<Result<_, _>>()?;
            return Ok(Card::Parts(cards));
        }
        let unit = self
            .store
            .unit(number)?
            .ok_or_else(|| ShopError::NoSuchNumber { found: number.to_owned() })?;
        let mut bill = Vec::new();
        for row in self.store.bill(number)? {
            bill.push(InRole {
                description: self.part(row.part_id)?.description,
                free: free(&self.store.stock(row.part_id, self.today)?),
                role: row.line.role,
                part: row.line.part,
                quantity: row.line.quantity,
                remark: row.line.remark,
            });
        }
        Ok(Card::Unit(UnitCard {
            stock_as_of: self.stock_age(),
            number: unit.number,
            machine: unit.machine,
            description: unit.description,
            maker: unit.maker,
            volts: unit.volts,
            amps: unit.amps,
            bill,
        }))
    }

    pub(crate) fn part_card(&self, id: u64) -> Result<PartCard, ShopError> {
        let part = self.part(id)?;
        let measures = self.kinds.get(&part.kind).map_or_else(Vec::new, |kind| {
            kind.measures
                .iter()
                .filter_map(|measure| {
                    let value = part.measures.get(&measure.key)?;
                    let unit = if measure.unit == "1" { "" } else { &measure.unit };
                    Some((measure.label.clone(), format!("{value} {unit}").trim_end().to_owned()))
                })
                .collect()
        });
        Ok(PartCard {
            measures,
            layout: part.layout.as_ref().map(ToString::to_string),
            numbers: part.numbers.into_iter().map(|known| (known.text, known.user)).collect(),
            supply: self.supply(id)?,
            number: part.house,
            kind: part.kind,
            description: part.description,
            maker: part.maker,
            stock_as_of: self.stock_age(),
        })
    }

    /// The part that the index or a relation names; it is in the store, since parts never leave.
    pub(crate) fn part(&self, id: u64) -> Result<binwright_catalog::Part, ShopError> {
        let found = self.store.part(id)?;
        Ok(found.ok_or_else(|| ShopError::NoSuchNumber { found: format!("part {id}") })?.part)
    }

    /// Where the part with `id` lies, what it costs, what it crosses to and where it sits.
    fn supply(&self, id: u64) -> Result<Supply, ShopError> {
        let prices = self.store.prices(id)?;
        // A mistake in the settings must not keep a part from being found.
        let settings = Settings::of(self.store.dir());
        let sold_by = settings.map(|settings| settings.quoting.price_list).ok();
        let units = self.store.units_with(id)?;
        Ok(Supply {
            stock: self.in_bins(self.stock_here_first(id)?),
            prices: prices
                .into_iter()
                .map(|(list, price)| Price { sells: sold_by.as_ref() == Some(&list), list, price })
                .collect(),
            crosses: self.crosses(id)?,
            units: units
                .into_iter()
                .map(|(unit, role)| UnitRole {
                    unit: unit.number,
                    description: unit.description,
                    role,
                })
                .collect(),
        })
    }

    /// The relations of the part with `id`; of a chain of replacements the end, with the way.
    fn crosses(&self, id: u64) -> Result<Vec<CrossTo>, ShopError> {
        let mut crosses = Vec::new();
        for line in self.store.crosses_of(id)? {
            let forward = line.from_id == id;
            let mut other = if forward { line.to_id } else { line.from_id };
            let mut by_way_of = Vec::new();
            if line.cross.kind == CrossKind::Replaces && !forward {
                let chain = self.store.replacements(other)?;
                for step in &chain[..chain.len() - 1] {
                    by_way_of.push(self.part(*step)?.house);
                }
                other = *chain.last().unwrap_or(&other);
            }
            let stock = self.stock_here_first(other)?;
            crosses.push(CrossTo {
                kind: line.cross.kind,
                forward,
                number: self.part(other)?.house,
                by_way_of,
                quantity: line.cross.quantity,
                remark: line.cross.remark,
                free: free(&stock),
                stock: self.in_bins(stock),
            });
        }
        Ok(crosses)
    }
}

fn how_words(how: How) -> &'static str {
    match how {
        How::Exact => "same number",
        How::LeadingZeros => "same but for leading zeros",
        How::LookAlike => "look-alike characters",
        How::Worn => "what is legible agrees",
        How::Fragment => "a piece of it",
        How::Words => "words of the description",
        How::Typo => "mistyped",
    }
}

fn named_next(kind: &Kind, ranked: &[fit::Next]) -> Vec<NextMeasure> {
    let named = |next: &fit::Next| {
        let (measure, label, how) = match next.what {
            Observation::Measure(place) => {
                let measure = &kind.measures[place];
                (&measure.key[..], &measure.label[..], &measure.how[..])
            }
            Observation::Layout => {
                ("layout", "Layout", kind.layout.as_ref().map_or("", |taking| &taking.how))
            }
        };
        NextMeasure {
            measure: measure.to_owned(),
            label: label.to_owned(),
            gain_bits: next.gain_bits,
            minutes: next.minutes,
            how: how.to_owned(),
        }
    };
    ranked.iter().map(named).collect()
}

/// The readings beyond twice the most, or below half the least, that the kind's card allows or one
/// of its parts has (common practice, no source); of angles and words none.
fn far_off(model: &fit::Model, query: &fit::Query) -> Vec<FarOff> {
    let kind = model.kind();
    let far = |(place, value): &(usize, Value)| {
        let measure = &kind.measures[*place];
        let sized = matches!(measure.domain, Domain::Length | Domain::Number | Domain::Count);
        let taken = value.number().filter(|_| sized)?;
        let had = model.table().columns[*place].iter().filter(|had| had.is_finite());
        let [low, high] = had.fold(
            measure.range.unwrap_or([f64::INFINITY, f64::NEG_INFINITY]),
            |[low, high], had| [low.min(*had), high.max(*had)],
        );
        let far = taken > high + high.abs() || taken < low - low.abs() / 2.0;
        (far && low <= high).then(|| FarOff {
            measure: measure.key.clone(),
            label: measure.label.clone(),
            kind: kind.label.clone(),
            unit: measure.unit.clone(),
            taken: value.to_string(),
            low,
            high,
        })
    };
    query.measured.iter().filter_map(far).collect()
}

fn points_matched(query: &fit::Query, found: &fit::Candidate) -> Option<PointsMatched> {
    let points = query.layout.as_ref()?.points();
    let pairs = &found.registration.as_ref()?.pairs;
    let lonely = |at: &usize| pairs.iter().all(|pair| pair.measured != *at);
    let name = |at: usize| match &points[at].designation {
        Some(designation) => format!("{} {designation}", points[at].role.word()),
        None => format!("{} at {},{}", points[at].role.word(), points[at].x_mm, points[at].y_mm),
    };
    Some(PointsMatched {
        matched: pairs.len(),
        taken: points.len(),
        unmatched: (0..points.len()).filter(lonely).map(name).collect(),
    })
}

fn compared(
    kind: &Kind,
    query: &fit::Query,
    deviation: &fit::Deviation,
    part: &binwright_catalog::Part,
    lender: Option<&binwright_catalog::Part>,
) -> Compared {
    let measure = &kind.measures[deviation.measure];
    let taken = query.measured.iter().find(|(place, _)| *place == deviation.measure);
    let known: Option<&Value> = lender.unwrap_or(part).measures.get(&measure.key);
    Compared {
        measure: measure.key.clone(),
        label: measure.label.clone(),
        unit: measure.unit.clone(),
        taken: taken.map(|(_, value)| value.to_string()).unwrap_or_default(),
        nominal: known.map(ToString::to_string),
        lent_by: lender.map(|lender| lender.house.clone()),
        deviation: deviation.deviation,
        verdict: deviation.verdict,
    }
}
