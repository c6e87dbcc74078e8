use super::{
    appliance::{ApplianceId, Surroundings, saturation_pa},
    conduction::{Conduction, Film, Shape},
    food::{Cue, FoodFacts, Form, Where},
};

/// A food in the kitchen; temperatures in °C.
#[derive(Clone, Debug)]
pub(super) struct Item {
    pub(super) place: ApplianceId,
    pub(super) covered: bool,
    pub(super) facts: FoodFacts,
    pub(super) grams: f64,
    doneness: f64,
    /// How much more or less than its share it takes of a microwave's field: a hot or a cold place.
    field_share: f64,
    body: Body,
    area_m2: f64,
    lost_g: f64,
    surface: f64,
}

#[derive(Clone, Debug)]
enum Body {
    Flat(Conduction),
    Round(Conduction),
    Stirred(f64),
}

impl Item {
    pub(super) fn new(facts: FoodFacts, form: Form, start_c: f64, place: ApplianceId, field_share: f64) -> Self {
        let cubic_m = facts.grams / 1000.0 / facts.material.density;
        let (body, area_m2) = match form {
            Form::Stirred => {
                // an open bowl about as wide as it is deep
                let side = libm::cbrt(cubic_m);
                (Body::Stirred(start_c), 5.0 * side * side)
            }
            Form::Piece(shape) => {
                let piece = Conduction::new(shape, facts.material, start_c);
                match shape {
                    Shape::Slab { thickness_mm } => (Body::Flat(piece), cubic_m / thickness_mm * 1e3),
                    Shape::Cylinder { radius_mm } => (Body::Round(piece), 2.0 * cubic_m / radius_mm * 1e3),
                    Shape::Sphere { radius_mm } => (Body::Round(piece), 3.0 * cubic_m / radius_mm * 1e3),
                }
            }
        };
        Self {
            place,
            covered: false,
            facts,
            grams: facts.grams,
            doneness: 0.0,
            field_share,
            body,
            area_m2,
            lost_g: 0.0,
            surface: start_c,
        }
    }

    /// Moves on by a step; `field_w` is this food's own part of a field. Gives the power that it took from its
    /// appliance's warmth.
    pub(super) fn step(&mut self, secs: f64, round: Surroundings, field_w: f64, boiling: f64) -> f64 {
        let (mut below, mut above) = (round.below, round.above);
        if self.covered {
            above.conductance *= 0.6;
        }
        let field_w = field_w * self.field_share;
        let evaporation = self.evaporation(above, round.vapour_pa);
        let area = self.area_m2;
        let (joules, lost_w) = match &mut self.body {
            Body::Stirred(temperature) => {
                // a third of the surface stands on something, a fifth is open above
                let (foot, open) = (0.35 * area, 0.2 * area);
                let through = |film: Film, area: f64| film.conductance * area * (film.round_c - *temperature);
                let taken = through(below, foot) + through(above, area - foot);
                let capacity = self.facts.grams / 1000.0 * self.facts.material.heat_capacity;
                let lost = evaporation.at(*temperature) * open;
                let hotter = *temperature + secs * (taken + field_w - lost) / capacity;
                let boiled_off = (hotter - boiling).max(0.0) * capacity / secs;
                *temperature = hotter.min(boiling);
                self.surface = *temperature;
                (taken * secs, lost + boiled_off)
            }
            Body::Flat(piece) => {
                let evaporates = evaporation.off_surface_of(piece, above);
                above.extra = -evaporates;
                let source = field_inside(piece, field_w, self.facts);
                let heat = piece.step(secs, below, above, source);
                let boiled_w = piece.boil(CRUST_M, boiling) / secs;
                self.surface = piece.surface_above(above);
                ((heat.below + heat.above) * area, (evaporates + boiled_w) * area)
            }
            Body::Round(piece) => {
                // a sixth of a round piece touches what it lies on
                let touch = 1.0 / 6.0;
                below.conductance *= touch;
                above.conductance *= 1.0 - touch;
                let conductance = below.conductance + above.conductance;
                let warmth = below.conductance * below.round_c + above.conductance * above.round_c;
                let mut film = Film { conductance, round_c: warmth / conductance, extra: 0.0 };
                let evaporates = evaporation.over(1.0 - touch).off_surface_of(piece, film);
                film.extra = -evaporates;
                let source = field_inside(piece, field_w, self.facts);
                let heat = piece.step(secs, film, film, source);
                let boiled_w = piece.boil(CRUST_M, boiling) / secs;
                self.surface = piece.surface_above(film);
                (heat.above * area, (evaporates + boiled_w) * area)
            }
        };
        self.lost_g += secs * lost_w / STEAM_J_PER_G;
        self.grams = (self.facts.grams - self.lost_g).max(0.1 * self.facts.grams);
        self.ripen(secs);
        joules / secs
    }

    pub(super) fn doneness(&self) -> f64 {
        self.doneness
    }

    pub(super) fn at(&self, place: Where) -> f64 {
        match (&self.body, place) {
            (Body::Stirred(temperature), _) => *temperature,
            (Body::Flat(piece) | Body::Round(piece), Where::Core) => piece.centre(),
            (Body::Flat(piece) | Body::Round(piece), Where::Mean) => piece.mean(),
            (Body::Flat(_) | Body::Round(_), Where::Surface) => self.surface,
        }
    }

    /// At a probe's tip, so far above or outside the centre.
    pub(super) fn at_mm(&self, offset_mm: f64) -> f64 {
        match &self.body {
            Body::Stirred(temperature) => *temperature,
            Body::Flat(piece) | Body::Round(piece) => piece.at_mm(offset_mm),
        }
    }

    pub(super) fn flip(&mut self) {
        match &mut self.body {
            Body::Stirred(_) => {}
            Body::Flat(piece) | Body::Round(piece) => piece.flip(),
        }
    }

    pub(super) fn stir(&mut self) {
        match &mut self.body {
            Body::Stirred(_) => {}
            Body::Flat(piece) | Body::Round(piece) => piece.even_out(),
        }
    }

    fn ripen(&mut self, secs: f64) {
        match self.facts.cue {
            Cue::Peak { at, from, done } => {
                let reached = (self.at(at) - from.degrees()) / (done - from).degrees();
                self.doneness = self.doneness.max(reached);
            }
            Cue::Rate { at, reference, z, time } => {
                // far above the reference the sign cannot come faster than a thousandfold
                let power = (self.at(at) - reference.degrees()) / z.degrees();
                self.doneness += secs / time.secs() * libm::exp10(power.min(3.0));
            }
        }
    }

    /// The drier the surface has become, the less evaporates.
    ///
    /// Mass and heat pass through air alike, so one film serves both (psychrometric constant 66 Pa/K, from memory).
    fn evaporation(&self, film: Film, vapour_pa: Option<f64>) -> Evaporation {
        let drier = libm::exp(-self.lost_g / self.area_m2 / DRY_AFTER_G_PER_M2);
        let cover = if self.covered { 0.2 } else { 1.0 };
        let strength = self.facts.wetness * drier * cover * film.conductance / 66.0;
        match vapour_pa {
            Some(vapour_pa) => Evaporation { strength, vapour_pa },
            None => Evaporation { strength: 0.0, vapour_pa: 0.0 },
        }
    }
}

/// How a surface loses heat to vapour.
#[derive(Clone, Copy)]
struct Evaporation {
    /// In W/m² for each Pa that the surface is above the air.
    strength: f64,
    vapour_pa: f64,
}

impl Evaporation {
    /// Where only this share of the surface is free.
    fn over(self, share: f64) -> Self {
        Self { strength: self.strength * share, ..self }
    }

    /// Heat it takes from a surface of this temperature, in W/m².
    fn at(self, surface_c: f64) -> f64 {
        self.strength * (saturation_pa(surface_c) - self.vapour_pa).max(0.0)
    }

    /// Heat it takes where the surface is in balance with what is round it and what is under it.
    ///
    /// The surface has no store of its own, so its temperature is found by halving: stepping would swing where cells are
    /// thick.
    fn off_surface_of(self, piece: &Conduction, film: Film) -> f64 {
        if self.strength == 0.0 {
            return 0.0;
        }
        let (inside_c, inner) = piece.under_surface();
        let surplus = |surface_c: f64| {
            film.conductance * (film.round_c - surface_c) + inner * (inside_c - surface_c) - self.at(surface_c)
        };
        let (mut low, mut high) = (-60.0, film.round_c.max(inside_c));
        for _ in 0..36 {
            let middle = 0.5 * (low + high);
            if surplus(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        self.at(0.5 * (low + high))
    }
}

/// The heat of a field inside a piece, in W/m³ by depth: it fades to a third in 15 mm (from memory, for wet food).
fn field_inside(piece: &Conduction, field_w: f64, facts: FoodFacts) -> impl Fn(f64) -> f64 + use<> {
    let fade = |depth_m: f64| libm::exp(-depth_m / 0.015);
    let cubic_m = facts.grams / 1000.0 / facts.material.density;
    let strength = if field_w > 0.0 { field_w / cubic_m / piece.mean_by_depth(fade) } else { 0.0 };
    move |depth_m| {
        if strength > 0.0 { strength * fade(depth_m) } else { 0.0 }
    }
}

/// Heat to turn one gram of water into steam, in J (from memory).
const STEAM_J_PER_G: f64 = 2260.0;
/// What lies deeper than this stays wet and cannot get hotter than boiling; our own choice.
const CRUST_M: f64 = 0.002;
const DRY_AFTER_G_PER_M2: f64 = 2000.0;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use quantities::{Celsius, CelsiusStep, Span};

    use super::*;
    use crate::kitchen::FoodKind;

    #[test]
    fn a_wet_surface_does_not_swing_however_thick_its_cells() {
        let facts = FoodFacts { wetness: 1.0, ..FoodKind::Gratin.facts() };
        let film = Film { conductance: 30.0, round_c: 230.0, extra: 0.0 };
        let round = Surroundings { below: film, above: film, vapour_pa: Some(1000.0), field_w: 0.0 };
        let place = ApplianceId::new("oven").unwrap();
        for thickness_mm in [2.0, 20.0, 300.0] {
            let form = Form::Piece(Shape::Slab { thickness_mm });
            let mut item = Item::new(facts, form, 20.0, place.clone(), 1.0);
            let mut before = item.at(Where::Surface);
            for second in 0..1200 {
                item.step(1.0, round, 0.0, 100.0);
                let surface = item.at(Where::Surface);
                assert!(surface > before - 0.01, "{thickness_mm} mm at {second} s: {before} to {surface}");
                before = surface;
            }
            assert!((40.0..231.0).contains(&before), "{thickness_mm} mm: {before}");
        }
    }

    #[test]
    fn wet_food_boils_inside_and_gets_hotter_only_in_its_crust() {
        let hot = Film { conductance: 250.0, round_c: 220.0, extra: 0.0 };
        let round = Surroundings { below: hot, above: hot, vapour_pa: Some(1000.0), field_w: 0.0 };
        let kind = FoodKind::FishFillet;
        let place = ApplianceId::new("burner").unwrap();
        let mut item = Item::new(kind.facts(), kind.form(180.0), 5.0, place, 1.0);
        for _ in 0..1200 {
            item.step(1.0, round, 0.0, 94.5);
        }
        assert!(item.at(Where::Surface) > 130.0);
        assert!((90.0..=94.5).contains(&item.at(Where::Core)), "{}", item.at(Where::Core));
        assert!(item.grams < 150.0, "{} g left of 180", item.grams);
    }

    #[test]
    fn heat_over_time_ripens_as_its_rule_says() {
        let cue = Cue::Rate {
            at: Where::Mean,
            reference: Celsius::whole(80),
            z: CelsiusStep::whole(10),
            time: Span::from_mins(10),
        };
        let facts = FoodFacts { cue, ..FoodKind::Sauce.facts() };
        let place = ApplianceId::new("bench").unwrap();
        for (celsius, secs) in [(80.0, 600.0), (90.0, 60.0), (70.0, 6000.0)] {
            let mut item = Item::new(facts, Form::Stirred, celsius, place.clone(), 1.0);
            item.ripen(secs);
            assert!((item.doneness() - 1.0).abs() < 1e-9, "{celsius} °C");
        }
    }
}
