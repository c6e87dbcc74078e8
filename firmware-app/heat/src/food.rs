//! What food is made of, and how it conducts and stores heat at each temperature.
//!
//! Conductivity, density and heat capacity of the parts are the polynomials of Choi and Okos (1986), as given in the
//! ASHRAE chapter on thermal properties of foods; their coefficients here are from memory, marked so in the source table.
//! Ice is made by the freezing-point depression of the water that is not bound; boiling takes up heat at 100 °C.

/// Shares of mass of the parts of a food; they sum to one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Makeup {
    /// Water, frozen or not.
    pub water: f64,
    /// Protein.
    pub protein: f64,
    /// Fat.
    pub fat: f64,
    /// Starch, sugar and fibre.
    pub carbohydrate: f64,
    /// Minerals.
    pub ash: f64,
    /// Share of the volume that is gas, as in dough.
    pub gas: f64,
}

/// Polynomials of one part: conductivity in W/mK, density in kg/m³, heat capacity in J/kgK, each by powers of °C.
struct Part {
    k: [f64; 3],
    rho: [f64; 3],
    cp: [f64; 3],
}

const WATER: Part = Part {
    k: [0.57109, 0.0017625, -6.7036e-06],
    rho: [997.18, 0.0031439, -0.0037574],
    cp: [4128.9, -0.090864, 0.0054731],
};
const PROTEIN: Part =
    Part { k: [0.17881, 0.0011958, -2.7178e-06], rho: [1329.9, -0.5184, 0.0], cp: [2008.2, 1.2089, -0.0013129] };
const FAT: Part =
    Part { k: [0.18071, -0.00027604, -1.7749e-07], rho: [925.59, -0.41757, 0.0], cp: [1984.2, 1.4733, -0.0048008] };
const CARBOHYDRATE: Part =
    Part { k: [0.20141, 0.0013874, -4.3312e-06], rho: [1599.1, -0.31046, 0.0], cp: [1548.8, 1.9625, -0.0059399] };
const ASH: Part =
    Part { k: [0.32962, 0.0014011, -2.9069e-06], rho: [2423.8, -0.28063, 0.0], cp: [1092.6, 1.8896, -0.0036817] };
const ICE: Part = Part { k: [2.2196, -0.0062489, 0.00010154], rho: [916.89, -0.13071, 0.0], cp: [2062.3, 6.0769, 0.0] };

const fn at(c: &[f64; 3], t: f64) -> f64 {
    c[0] + t * (c[1] + t * c[2])
}

/// Heat of melting of ice, J/kg (handbook value, from memory).
const MELTING: f64 = 333_600.0;
/// Heat of boiling of water, J/kg (handbook value, from memory).
const BOILING: f64 = 2_257_000.0;
/// Water that never freezes, as a share of the protein's mass (common in food engineering texts, from memory).
const BOUND: f64 = 0.4;
/// Where food begins to freeze, °C (meat: about -1, from memory).
const FREEZES: f64 = -1.0;

/// Temperatures of the table, °C.
const COLDEST: f64 = -40.0;
const STEP: f64 = 0.25;
const ROWS: usize = 1041;

/// Conductivity and stored heat of one food at every temperature from -40 to 220 °C.
#[derive(Clone, Debug)]
pub struct Food {
    /// W/mK.
    k: Vec<f64>,
    /// Heat above -40 °C, J/m³, rising.
    heat: Vec<f64>,
}

impl Food {
    /// Tabulates a food.
    pub fn new(makeup: &Makeup) -> Self {
        Self::tabulate(|t| makeup.conductivity(t), |t| makeup.heat_capacity(t))
    }

    /// A body whose properties do not change with temperature; for checks against exact series.
    pub fn constant(conductivity: f64, volumetric_capacity: f64) -> Self {
        Self::tabulate(|_| conductivity, |_| volumetric_capacity)
    }

    fn tabulate(k: impl Fn(f64) -> f64, capacity: impl Fn(f64) -> f64) -> Self {
        let mut heat = Vec::with_capacity(ROWS);
        let mut sum = 0.0;
        let row = |i: usize| COLDEST + STEP * i as f64;
        for i in 0..ROWS {
            heat.push(sum);
            // ten parts of the row, since latent heat changes fast inside one
            for part in 0..10 {
                sum += capacity(row(i) + STEP * (f64::from(part) + 0.5) / 10.0) * STEP / 10.0;
            }
        }
        Self { k: (0..ROWS).map(|i| k(row(i))).collect(), heat }
    }

    /// Conductivity at a temperature, W/mK.
    pub fn conductivity(&self, t: f64) -> f64 {
        let (i, part) = place(t);
        self.k[i] + (self.k[i + 1] - self.k[i]) * part
    }

    /// Heat stored above -40 °C at a temperature, J/m³.
    pub fn heat(&self, t: f64) -> f64 {
        let (i, part) = place(t);
        self.heat[i] + (self.heat[i + 1] - self.heat[i]) * part
    }

    /// Heat capacity at a temperature, J/m³K.
    pub fn capacity(&self, t: f64) -> f64 {
        let (i, _) = place(t);
        (self.heat[i + 1] - self.heat[i]) / STEP
    }

    /// The temperature at which this much heat is stored; `near` is a guess.
    pub fn temperature(&self, heat: f64, near: f64) -> f64 {
        let (mut i, _) = place(near);
        while i > 0 && self.heat[i] > heat {
            i -= 1;
        }
        while i + 2 < ROWS && self.heat[i + 1] < heat {
            i += 1;
        }
        COLDEST + STEP * (i as f64 + (heat - self.heat[i]) / (self.heat[i + 1] - self.heat[i]))
    }
}

fn place(t: f64) -> (usize, f64) {
    let rows = ((t - COLDEST) / STEP).clamp(0.0, (ROWS - 2) as f64 + 0.999);
    let i = rows as usize;
    (i, rows - i as f64)
}

impl Makeup {
    /// Frozen water as a share of the whole mass.
    fn ice(&self, t: f64) -> f64 {
        let free = (self.water - BOUND * self.protein).max(0.0);
        if t < FREEZES { free * (1.0 - FREEZES / t) } else { 0.0 }
    }

    /// Share of mass of each part at a temperature.
    fn parts(&self, t: f64) -> [(&'static Part, f64); 6] {
        let ice = self.ice(t);
        [
            (&WATER, self.water - ice),
            (&ICE, ice),
            (&PROTEIN, self.protein),
            (&FAT, self.fat),
            (&CARBOHYDRATE, self.carbohydrate),
            (&ASH, self.ash),
        ]
    }

    /// Density without gas at 20 °C, kg/m³; the volume is taken as constant.
    pub fn density(&self) -> f64 {
        (1.0 - self.gas) / self.parts(20.0).iter().map(|(part, share)| share / at(&part.rho, 20.0)).sum::<f64>()
    }

    /// Parts side by side by their volumes; gas by Maxwell's rule for closed pores.
    fn conductivity(&self, t: f64) -> f64 {
        let parts = self.parts(t.clamp(-40.0, 150.0));
        let volume: f64 = parts.iter().map(|(part, share)| share / at(&part.rho, t.clamp(-40.0, 150.0))).sum();
        let solid: f64 = parts
            .iter()
            .map(|(part, share)| {
                let t = t.clamp(-40.0, 150.0);
                share / at(&part.rho, t) / volume * at(&part.k, t)
            })
            .sum();
        solid * (1.0 - self.gas) / (1.0 + 0.5 * self.gas)
    }

    /// J/m³K, with melting and boiling in it.
    fn heat_capacity(&self, t: f64) -> f64 {
        let clamped = t.clamp(-40.0, 150.0);
        let sensible: f64 = self.parts(clamped).iter().map(|(part, share)| share * at(&part.cp, clamped)).sum();
        let free = (self.water - BOUND * self.protein).max(0.0);
        let melting = if t < FREEZES { -free * FREEZES / (t * t) * MELTING } else { 0.0 };
        // all water boils off within half a degree round 100
        let boiling = if (t - 100.0).abs() < 0.25 { self.water * BOILING / 0.5 } else { 0.0 };
        self.density() * (sensible + melting + boiling)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEAN: Makeup = Makeup { water: 0.74, protein: 0.21, fat: 0.04, carbohydrate: 0.0, ash: 0.01, gas: 0.0 };

    // choi_okos.csv: Choi and Okos (1986) as in the ASHRAE chapter, every coefficient from memory
    #[test]
    fn the_coefficients_are_those_of_the_table() {
        let mut rows = 0;
        for row in csv::Reader::from_reader(include_bytes!("../tests/data/choi_okos.csv").as_slice()).records() {
            let row = row.expect("a row of the table");
            let part = match &row[0] {
                "w" => WATER,
                "p" => PROTEIN,
                "f" => FAT,
                "c" => CARBOHYDRATE,
                "a" => ASH,
                "i" => ICE,
                other => panic!("no part of food: {other}"),
            };
            let here = match &row[1] {
                "k" => part.k,
                "rho" => part.rho,
                "cp" => part.cp,
                other => panic!("no property: {other}"),
            };
            let table = [2, 3, 4].map(|i| row[i].parse::<f64>().expect("a coefficient"));
            assert_eq!(here, table, "{row:?}");
            assert!(row[6].ends_with("from memory"), "{row:?}");
            rows += 1;
        }
        assert_eq!(rows, 18);
    }

    // handbook values of water, from memory: 0.598 W/mK, 998.2 kg/m³, 4182 J/kgK at 20 °C; of ice 2.2 W/mK, 917, 2.06e3 at 0
    #[test]
    fn water_and_ice_are_those_of_the_handbooks() {
        let near = |found: f64, handbook: f64, share: f64| {
            assert!((found / handbook - 1.0).abs() < share, "{found}, handbook {handbook}");
        };
        near(at(&WATER.k, 20.0), 0.598, 0.02);
        near(at(&WATER.rho, 20.0), 998.2, 0.005);
        near(at(&WATER.cp, 20.0), 4182.0, 0.015);
        near(at(&ICE.k, 0.0), 2.2, 0.02);
        near(at(&ICE.rho, 0.0), 917.0, 0.005);
        near(at(&ICE.cp, 0.0), 2060.0, 0.01);
    }

    #[test]
    fn lean_meat_has_the_diffusivity_of_the_handbooks() {
        let food = Food::new(&LEAN);
        let alpha = food.conductivity(20.0) / food.capacity(20.0);
        // 1.2 to 1.4e-7 m²/s is usual for meat; from memory
        assert!((1.15e-7..1.45e-7).contains(&alpha), "{alpha}");
    }

    #[test]
    fn thawing_takes_up_the_heat_of_the_ice() {
        let food = Food::new(&LEAN);
        let taken = food.heat(0.0) - food.heat(-20.0);
        let sensible = 1050.0 * 2200.0 * 20.0;
        let latent = LEAN.density() * LEAN.ice(-20.0) * MELTING;
        assert!((taken - latent - sensible).abs() < 0.15 * taken, "{taken} against {latent} + {sensible}");
    }

    #[test]
    fn stored_heat_and_temperature_are_each_others_inverse() {
        let food = Food::new(&LEAN);
        for t in [-30.0, -1.1, -0.3, 4.0, 55.5, 99.9, 100.1, 140.0] {
            let back = food.temperature(food.heat(t), 20.0);
            assert!((back - t).abs() < 1e-6, "{t} came back as {back}");
        }
    }
}
