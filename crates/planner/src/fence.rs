//! Decisions that a branch of the search has taken: about the shed, and about what blocks use.

/// What is decided of a supplier's delivery.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) enum Truck {
    #[default]
    Open,
    /// Nothing is bought there.
    Off,
    /// It comes, and is paid for.
    Paid,
    /// It comes free, by the size of the order.
    Free,
}

/// What may still be bought and used: everything in an empty one.
#[derive(Debug, Clone, Default)]
pub(crate) struct Fence {
    /// By supplier.
    trucks: Vec<Truck>,
    /// Least and most count, by material and price.
    counts: Vec<((usize, usize), (f64, f64))>,
    /// Whether a material is used at all.
    opened: Vec<(usize, bool)>,
    /// Whether a pair is used.
    pub pairs: Vec<(usize, bool)>,
}

impl Fence {
    fn truck(&self, supplier: usize) -> Truck {
        self.trucks.get(supplier).copied().unwrap_or_default()
    }

    fn opened(&self, material: usize) -> Option<bool> {
        let found = self.opened.iter().find(|(m, _)| *m == material);
        found.map(|(_, open)| *open)
    }

    /// How often, least and most, the supplier comes in this way.
    pub fn comes(&self, supplier: usize, way: Truck) -> (f64, f64) {
        match self.truck(supplier) {
            Truck::Open => (0.0, 1.0),
            decided if decided == way => (1.0, 1.0),
            _ => (0.0, 0.0),
        }
    }

    /// Least and most count of a material at its price of this place, never more than `most`.
    pub fn count(&self, material: usize, tier: usize, most: f64) -> (f64, f64) {
        self.counts
            .iter()
            .filter(|(at, _)| *at == (material, tier))
            .fold((0.0, most), |(low, high), (_, (l, h))| {
                (l.max(low), h.min(high))
            })
    }

    /// Least and most of 0 and 1 for whether a material is used; what is held always is.
    pub fn used(&self, material: usize, held: bool) -> (f64, f64) {
        match (held, self.opened(material)) {
            (true, _) | (_, Some(true)) => (1.0, 1.0),
            (_, Some(false)) => (0.0, 0.0),
            (_, None) => (0.0, 1.0),
        }
    }

    fn with_truck(&self, supplier: usize, truck: Truck) -> Self {
        let mut fence = self.clone();
        if fence.trucks.len() <= supplier {
            fence.trucks.resize(supplier + 1, Truck::Open);
        }
        fence.trucks[supplier] = truck;
        fence
    }

    fn with_count(&self, at: (usize, usize), range: (f64, f64)) -> Self {
        let mut fence = self.clone();
        fence.counts.push((at, range));
        fence
    }

    fn with_opened(&self, material: usize, open: bool) -> Self {
        let mut fence = self.clone();
        fence.opened.push((material, open));
        fence
    }

    /// The same with a pair unused, and with it used, where so much of a mixture uses it.
    pub fn part_pair(&self, pair: usize, share: f64) -> Parting {
        let sides = [false, true].into_iter().map(|used| {
            let mut fence = self.clone();
            fence.pairs.push((pair, used));
            fence
        });
        Parting {
            of: Of::Pair(pair),
            money: 0.0,
            sides: sides.zip([share, 1.0 - share]).collect(),
        }
    }

    /// The ways to part what a relaxation leaves undecided, those on which most money seems to hang
    /// first, at most so many; none when everything is whole.
    pub fn parts(&self, seen: &Seen, most: usize) -> Vec<Parting> {
        let mut all = self.part_trucks(seen);
        all.extend(seen.tiers.iter().filter_map(|tier| self.part_tier(tier)));
        for (material, open) in &seen.opened {
            if *open > WHOLE && *open < 1.0 - WHOLE && self.opened(*material).is_none() {
                let price = seen
                    .tiers
                    .iter()
                    .filter(|t| t.material == *material)
                    .map(|t| t.price * t.count)
                    .sum::<f64>();
                all.push(Parting {
                    of: Of::Opened(*material),
                    money: 0.5 * open.min(1.0 - open) * price,
                    sides: vec![
                        (self.with_opened(*material, false), *open),
                        (self.with_opened(*material, true), 1.0 - open),
                    ],
                });
            }
        }
        all.sort_by(|a, b| b.money.total_cmp(&a.money));
        all.truncate(most);
        all
    }

    fn part_trucks(&self, seen: &Seen) -> Vec<Parting> {
        let part = |x: f64| (x - x.round()).abs() > WHOLE;
        let mut all = Vec::new();
        for truck in &seen.trucks {
            if self.truck(truck.supplier) != Truck::Open
                || !(part(truck.pays) || truck.free.is_some_and(part))
            {
                continue;
            }
            let comes = truck.pays + truck.free.unwrap_or_default();
            let with = |way| self.with_truck(truck.supplier, way);
            let mut sides = vec![
                (with(Truck::Off), comes.min(1.0)),
                (with(Truck::Paid), 1.0 - truck.pays),
            ];
            if let Some(free) = truck.free {
                sides.push((with(Truck::Free), 1.0 - free));
            }
            all.push(Parting {
                of: Of::Truck(truck.supplier),
                money: truck.delivery * (1.0 - truck.pays) * comes.clamp(0.2, 1.0),
                sides,
            });
        }
        all
    }

    fn part_tier(&self, tier: &SeenTier) -> Option<Parting> {
        let at = (tier.material, tier.tier);
        let from = f64::from(tier.from);
        if tier.count > WHOLE && tier.count < from - WHOLE {
            // Bought at a price that so few do not have.
            return Some(Parting {
                of: Of::Price(at.0, at.1),
                money: tier.price * tier.count.min(from - tier.count) * 0.5,
                sides: vec![
                    (self.with_count(at, (0.0, 0.0)), tier.count),
                    (
                        self.with_count(at, (from, f64::INFINITY)),
                        from - tier.count,
                    ),
                ],
            });
        }
        let above = tier.count.ceil() - tier.count;
        (above > WHOLE && 1.0 - above > WHOLE).then(|| Parting {
            of: Of::Count(at.0, at.1),
            money: tier.price * above.min(1.0 - above),
            sides: vec![
                (self.with_count(at, (0.0, tier.count.floor())), 1.0 - above),
                (
                    self.with_count(at, (tier.count.ceil(), f64::INFINITY)),
                    above,
                ),
            ],
        })
    }
}

/// What a parting decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Of {
    Truck(usize),
    /// Whether a price that asks for a least count is taken.
    Price(usize, usize),
    Count(usize, usize),
    Opened(usize),
    Pair(usize),
}

/// A way to part the plans of a branch.
#[derive(Debug, Clone)]
pub(crate) struct Parting {
    pub of: Of,
    /// That seems to hang on it.
    money: f64,
    /// The branches, with how far the relaxation is from each.
    pub sides: Vec<(Fence, f64)>,
}

/// How near to a whole number counts as whole.
const WHOLE: f64 = 1e-5;

/// What a relaxation makes of the shed.
#[derive(Debug, Clone, Default)]
pub(crate) struct Seen {
    pub trucks: Vec<SeenTruck>,
    pub tiers: Vec<SeenTier>,
    /// By material where that counts.
    pub opened: Vec<(usize, f64)>,
}

#[derive(Debug, Clone)]
pub(crate) struct SeenTruck {
    pub supplier: usize,
    pub pays: f64,
    pub free: Option<f64>,
    pub delivery: f64,
}

#[derive(Debug, Clone)]
pub(crate) struct SeenTier {
    pub material: usize,
    pub tier: usize,
    pub count: f64,
    pub from: u32,
    pub price: f64,
}
