//! One simulated cook from the start to a core near boiling, with pulls and rests on the way.

use doneness::{Appliance, Change};

use crate::{
    body::{Body, Shape},
    food::Food,
    kitchen::{Kitchen, Place},
    line::Metric,
};

/// Something that happens at its time in a cook.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// The food is turned over.
    Turn,
    /// The oven's dial is set.
    Set(f64),
    /// The pan's level is set.
    Level(f64),
    /// The oven door is opened so long that this share of its heat is lost.
    Door(f64),
    /// A lid or foil is put on or taken off.
    Cover(bool),
    /// The food leaves one place for another.
    Move(Place),
}

/// A cook to be simulated.
#[derive(Clone, Debug)]
pub struct Cook {
    /// Where the station thinks it cooks.
    pub appliance: Appliance,
    /// The oven's dial at the start, if it cooks in one.
    pub setting: Option<f64>,
    /// What the food is made of.
    pub food: Food,
    /// The piece.
    pub body: Body,
    /// Its outline, for the heat of a microwave.
    pub shape: Shape,
    /// Where the tip is: shares across and along.
    pub tip: (f64, f64),
    /// The appliances.
    pub kitchen: Kitchen,
    /// What happens, by its time in seconds, and whether the cook says so to the station.
    pub events: Vec<(f64, Event, bool)>,
    /// The probe went in after this many seconds; the record begins there.
    pub probed: f64,
    /// Given up after this, seconds.
    pub longest: f64,
    /// Core temperatures at which a copy of the food is pulled and rested, rising.
    pub pulls: Vec<f64>,
}

/// A rest after a pull.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rested {
    /// When it was pulled, seconds.
    pub at: f64,
    /// The tip then, °C.
    pub tip: f64,
    /// The highest the tip came, °C.
    pub peak: f64,
    /// How long after the pull, seconds.
    pub after: f64,
    /// Foil over it.
    pub tented: bool,
}

/// What a cook did.
#[derive(Clone, Debug)]
pub struct Cooked {
    /// Where the station thinks it cooked.
    pub appliance: Appliance,
    /// The dial at the start.
    pub setting: Option<f64>,
    /// Moments, seconds.
    pub t: Vec<f64>,
    /// The food at the tip, °C.
    pub tip: Vec<f64>,
    /// The air beside it, °C.
    pub air: Vec<f64>,
    /// What the station was told.
    pub told: Vec<(f64, Change)>,
    /// Rests of copies that were pulled.
    pub rests: Vec<Rested>,
    /// Whether it was stopped because time was up.
    pub given_up: bool,
}

/// A core that will not be followed further, °C.
const BOILS: f64 = 98.7;

impl Cook {
    /// Runs to its end.
    pub fn run(mut self) -> Cooked {
        let mut out = Cooked {
            appliance: self.appliance,
            setting: self.setting,
            t: Vec::with_capacity(1500),
            tip: Vec::with_capacity(1500),
            air: Vec::with_capacity(1500),
            told: Vec::new(),
            rests: Vec::new(),
            given_up: false,
        };
        let mut t = -self.probed;
        for (at, ..) in &mut self.events {
            *at -= self.probed;
        }
        let mut next_event = 0;
        let mut next_pull = 0;
        loop {
            while let Some((at, event, told)) = self.events.get(next_event).copied()
                && at <= t
            {
                if told
                    && t >= 0.0
                    && let Some(change) = self.declared(event)
                {
                    out.told.push((t, change));
                }
                self.happen(event);
                next_event += 1;
            }
            let tip = self.body.at(self.tip.0, self.tip.1);
            let over = tip > BOILS || t > self.longest;
            if t >= 0.0 || over {
                // one that was over before its probe went in has two moments all the same
                if t < 0.0 {
                    out.t.push(t - 1.0);
                    out.tip.push(tip);
                    out.air.push(self.kitchen.air());
                }
                out.t.push(t);
                out.tip.push(tip);
                out.air.push(self.kitchen.air());
            }
            if tip > BOILS {
                return out;
            }
            if t > self.longest || (next_event == self.events.len() && out.stands_still()) {
                out.given_up = true;
                return out;
            }
            while self.pulls.get(next_pull).is_some_and(|pull| tip >= *pull) {
                if next_pull + 1 >= self.pulls.len() || self.pulls[next_pull + 1] > tip {
                    out.rests.push(self.clone().rest(t, tip));
                }
                next_pull += 1;
            }
            let coarsest = match self.kitchen.place {
                Place::Microwave => 1.0,
                Place::Pan | Place::Between => 2.0,
                Place::Oven | Place::Board => 10.0,
            };
            let dt = (0.004 * t).clamp(1.0, coarsest);
            let mut dt = match self.events.get(next_event) {
                Some((at, ..)) if *at < t + dt => (*at - t).max(0.05),
                Some(_) | None => dt,
            };
            if t < 0.0 {
                dt = dt.min(-t);
            }
            self.advance(t, dt);
            t += dt;
        }
    }

    fn advance(&mut self, t: f64, dt: f64) {
        let (outer, lower) = self.body.skin();
        let around = self.kitchen.around(outer, lower);
        let radiates = self.kitchen.radiates(t);
        self.kitchen.step(t, dt, lower);
        if radiates {
            let field = Field::new(&self.kitchen, &self.shape);
            self.body.step(&self.food, dt, &around, Some(&|depth| field.at(depth)));
        } else {
            self.body.step(&self.food, dt, &around, None);
        }
    }

    fn happen(&mut self, event: Event) {
        match event {
            Event::Turn => self.body.turn(),
            Event::Set(to) => self.kitchen.oven.set = to,
            Event::Level(to) => self.kitchen.pan.level = to,
            Event::Door(share) => self.kitchen.oven.open(share),
            Event::Cover(on) => self.kitchen.meeting.covered = on,
            Event::Move(to) => {
                if to == Place::Oven {
                    self.kitchen.oven.open(0.4);
                }
                self.kitchen.place = to;
            }
        }
    }

    fn declared(&self, event: Event) -> Option<Change> {
        match event {
            Event::Turn => Some(Change::Turned),
            Event::Set(to) => Some(Change::Dial(to as f32)),
            Event::Level(_) | Event::Cover(_) => Some(Change::Other),
            Event::Move(Place::Between | Place::Board) | Event::Door(_) => None,
            Event::Move(Place::Oven | Place::Pan | Place::Microwave) => Some(Change::Other),
        }
    }

    /// Rests from now until the tip has passed its peak.
    fn rest(mut self, at: f64, tip: f64) -> Rested {
        self.kitchen.place = Place::Board;
        let mut best = Rested { at, tip, peak: tip, after: 0.0, tented: self.kitchen.meeting.tented };
        let mut t: f64 = 0.0;
        while t < 7200.0 {
            let dt = (0.02 * t).clamp(1.0, 15.0);
            self.advance(0.0, dt);
            t += dt;
            let now = self.body.at(self.tip.0, self.tip.1);
            if now > best.peak {
                best.peak = now;
                best.after = t;
            }
            if now < best.peak - 0.3 || (t > 300.0 && t > 2.5 * best.after + 120.0) {
                break;
            }
        }
        best
    }
}

/// How a microwave's heat lies in the food.
struct Field {
    power: f64,
    depth: f64,
    whole: f64,
    metric: Metric,
    gather: f64,
    scale: f64,
}

impl Field {
    fn new(kitchen: &Kitchen, shape: &Shape) -> Self {
        let microwave = &kitchen.microwave;
        let (metric, whole) = match *shape {
            Shape::Even { metric, to, .. } => (metric, to),
            Shape::Flat { thickness } => (Metric::Flat, thickness),
            Shape::Short { metric, across, .. } => (metric, across),
        };
        let mut field = Self {
            power: microwave.power,
            depth: microwave.depth,
            whole,
            metric,
            gather: microwave.gather,
            scale: 1.0,
        };
        // mean over the volume, by forty rings
        let (mut sum, mut volume) = (0.0, 0.0);
        for i in 0..40 {
            let r = whole * (f64::from(i) + 0.5) / 40.0;
            let weight = match metric {
                Metric::Flat => 1.0,
                Metric::Round => r,
                Metric::Ball => r * r,
            };
            sum += weight * field.raw(whole - r);
            volume += weight;
        }
        field.scale = volume / sum;
        field
    }

    fn raw(&self, depth: f64) -> f64 {
        let fall = libm::exp(-depth / self.depth) + libm::exp(-(2.0 * self.whole - depth) / self.depth);
        let r = (self.whole - depth) / self.whole;
        let gathered = match self.metric {
            Metric::Flat => 1.0,
            Metric::Round | Metric::Ball => 1.0 + self.gather * (1.0 / (0.2 + r) - 0.83),
        };
        fall * gathered
    }

    fn at(&self, depth: f64) -> f64 {
        self.power * self.scale * self.raw(depth)
    }
}

impl Cooked {
    /// Whether the tip has risen by less than a quarter of a degree in the last quarter of the time; a thawing core
    /// stands still and then goes on.
    fn stands_still(&self) -> bool {
        let (Some(t), Some(tip)) = (self.t.last(), self.tip.last()) else { return false };
        if *t < 900.0 || *tip < 5.0 {
            return false;
        }
        let before = self.t.partition_point(|then| *then < 0.75 * t);
        self.tip[before] > 5.0 && tip - self.tip[before] < 0.25
    }

    /// When the tip first was at a temperature, seconds, by a line between moments.
    pub fn reaches(&self, target: f64) -> Option<f64> {
        let i = self.tip.iter().position(|tip| *tip >= target)?;
        if i == 0 {
            return Some(self.t[0]);
        }
        let (a, b) = (self.tip[i - 1], self.tip[i]);
        Some(self.t[i - 1] + (self.t[i] - self.t[i - 1]) * (target - a) / (b - a))
    }

    /// The tip at a moment; `from` is the place of an earlier moment and is moved on.
    pub fn tip_at(&self, t: f64, from: &mut usize) -> f64 {
        self.between(&self.tip, t, from)
    }

    /// The air at a moment, in the same way.
    pub fn air_at(&self, t: f64, from: &mut usize) -> f64 {
        self.between(&self.air, t, from)
    }

    /// The last moment, seconds.
    pub fn end(&self) -> f64 {
        self.t.last().copied().unwrap_or(0.0)
    }

    fn between(&self, list: &[f64], t: f64, from: &mut usize) -> f64 {
        let last = self.t.len() - 1;
        while *from + 1 < last && self.t[*from + 1] < t {
            *from += 1;
        }
        let (a, b) = (self.t[*from], self.t[(*from + 1).min(last)]);
        let share = if b > a { ((t - a) / (b - a)).clamp(0.0, 1.0) } else { 1.0 };
        list[*from] + (list[(*from + 1).min(last)] - list[*from]) * share
    }
}
