//! What passes between a surface of the food and what it faces.
//!
//! Convection, radiation of a grey surface, contact with metal, and evaporation by the analogy of heat and mass
//! transfer (Chilton and Colburn): a wet surface stays near the wet-bulb temperature, and as it dries a layer of
//! growing resistance hides the water.

/// What a surface faces at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facing {
    /// Air, °C.
    pub air: f64,
    /// By convection, W/m²K.
    pub h: f64,
    /// Walls that radiate, °C.
    pub walls: f64,
    /// Of surface and walls together; nought under foil.
    pub emissivity: f64,
    /// Pressure of the water vapour in the air, Pa.
    pub vapour: f64,
    /// How freely water evaporates: 1 in the open, 0 where it is sealed.
    pub open: f64,
    /// Metal in contact: its temperature in °C and the conductance in W/m²K.
    pub metal: Option<(f64, f64)>,
}

impl Facing {
    /// Nothing passes.
    pub const NOTHING: Self =
        Self { air: 0.0, h: 0.0, walls: 0.0, emissivity: 0.0, vapour: 0.0, open: 0.0, metal: None };

    /// A fluid alone, for checks against exact series.
    pub fn fluid(temperature: f64, h: f64) -> Self {
        Self { air: temperature, h, walls: temperature, ..Self::NOTHING }
    }
}

/// One surface of the food and how much water it has lost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// Water it can lose before it dries, kg/m².
    wet: f64,
    /// Water lost beyond that which doubles the resistance, kg/m².
    crust: f64,
    /// How freely water passes while it is wet: 1 for a cut face, less through skin, fat or pastry.
    passes: f64,
    /// Water lost so far, kg/m².
    lost: f64,
    /// The last face temperature, °C.
    face: f64,
}

/// Heat into a cell and how it falls as the cell warms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Flux {
    /// W/m² at the cell's temperature.
    pub(crate) q: f64,
    /// W/m²K, not positive.
    pub(crate) slope: f64,
}

/// Stefan and Boltzmann, W/m²K⁴.
const SIGMA: f64 = 5.670_374e-8;
/// Heat of evaporation at kitchen temperatures, J/kg (from memory).
const EVAPORATION: f64 = 2_350_000.0;
/// K/Pa: 0.622 times the heat of evaporation over (heat capacity of air, pressure, Lewis number to two thirds).
const PSYCHROMETRIC: f64 = 0.622 * EVAPORATION / (1007.0 * 101_325.0 * 0.91);

/// Saturation pressure of water, Pa, by Magnus's formula with the constants of Alduchov and Eskridge (from memory).
pub fn saturation(t: f64) -> f64 {
    610.94 * libm::exp(17.625 * t / (t + 243.04))
}

impl Surface {
    /// A surface that can lose `wet` kg/m² before it dries and then slows by a layer of scale `crust` kg/m².
    pub fn new(wet: f64, crust: f64, face: f64) -> Self {
        Self { wet, crust, passes: 1.0, lost: 0.0, face }
    }

    /// The same under a skin that lets this share of the water pass.
    pub fn under(self, passes: f64) -> Self {
        Self { passes, ..self }
    }

    /// The temperature of the face, °C.
    pub fn face(&self) -> f64 {
        self.face
    }

    fn wetness(&self) -> f64 {
        self.passes * if self.lost <= self.wet { 1.0 } else { self.crust / (self.crust + self.lost - self.wet) }
    }

    /// Heat through the face at a face temperature, with its slope.
    fn through(&self, facing: &Facing, ts: f64) -> (f64, f64) {
        let kelvin = ts + 273.15;
        let walls = facing.walls + 273.15;
        let mut q = facing.h * (facing.air - ts);
        let mut slope = -facing.h;
        if facing.emissivity > 0.0 {
            let (w2, k2) = (walls * walls, kelvin * kelvin);
            q += facing.emissivity * SIGMA * (w2 * w2 - k2 * k2);
            slope -= 4.0 * facing.emissivity * SIGMA * k2 * kelvin;
        }
        if facing.open > 0.0 {
            let rate = facing.open * self.wetness() * facing.h * PSYCHROMETRIC;
            let full = saturation(ts.min(140.0));
            q -= rate * (full - facing.vapour);
            slope -= rate * full * 17.625 * 243.04 / ((ts + 243.04) * (ts + 243.04));
        }
        if let Some((metal, conductance)) = facing.metal {
            q += conductance * (metal - ts);
            slope -= conductance;
        }
        (q, slope)
    }

    /// Finds the face temperature for a cell at `cell` °C behind a conductance, by Newton's steps from the last one.
    pub(crate) fn flux(&mut self, facing: &Facing, cell: f64, conductance: f64) -> Flux {
        let mut face = self.face;
        let mut slope = 0.0;
        for _ in 0..8 {
            let (q, s) = self.through(facing, face);
            slope = s;
            let step = (q + conductance * (cell - face)) / (conductance - s);
            face += step.clamp(-40.0, 40.0);
            if step.abs() < 1e-3 {
                break;
            }
        }
        self.face = face;
        Flux { q: conductance * (face - cell), slope: slope * conductance / (conductance - slope) }
    }

    /// Counts the water lost over a time in seconds; dew counts back.
    pub(crate) fn dry(&mut self, facing: &Facing, seconds: f64) {
        if facing.open > 0.0 {
            let rate = facing.open * self.wetness() * facing.h * PSYCHROMETRIC / EVAPORATION;
            self.lost += rate * (saturation(self.face.min(140.0)) - facing.vapour) * seconds;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wet_surface_stands_at_the_wet_bulb_and_a_dry_one_does_not() {
        let facing = Facing { open: 1.0, vapour: 2000.0, ..Facing::fluid(180.0, 20.0) };
        let mut wet = Surface::new(10.0, 0.5, 20.0);
        for _ in 0..20 {
            wet.flux(&facing, wet.face(), 0.01);
        }
        // psychrometric chart: about 47 °C wet bulb for 180 °C air with 2 kPa of vapour (computed with the same constants)
        assert!((44.0..50.0).contains(&wet.face()), "{}", wet.face());
        let mut dry = Surface::new(0.0, 0.01, 20.0);
        dry.lost = 5.0;
        for _ in 0..20 {
            dry.flux(&facing, dry.face(), 0.01);
        }
        assert!(dry.face() > 90.0, "{}", dry.face());
    }
}
