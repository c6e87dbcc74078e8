use quantities::{CelsiusStep, Mass, Power};

use super::{
    appliance::ApplianceId,
    food::{FoodKind, ItemId},
    plan::{
        KitchenPlan, PlannedAppliance, PlannedFood, PlannedProbe, boiling, burner_power, fridge, microwave_power,
        oven_power, room, swing, water_mass,
    },
    tip::Tip,
};
use crate::ProbeId;

impl KitchenPlan {
    /// The demonstration kitchen: two ovens, a microwave, a pan, a pot, a bath, and something to cook in each.
    pub fn tern_lane() -> Self {
        let appliance = |name: &str| ApplianceId::new(name).expect("the names below are well formed");
        let item = |name: &str| ItemId::new(name).expect("the names below are well formed");
        let food = |name: &str, kind| PlannedFood { kind: Some(kind), ..PlannedFood::named(item(name)) };
        let probe =
            |name: &str, tip| PlannedProbe::new(ProbeId::new(name).expect("the names below are well formed"), tip);
        let oven = |name, offset| PlannedAppliance::Oven {
            name: appliance(name),
            offset: CelsiusStep::whole(offset),
            swing: swing(),
            power: oven_power(),
        };
        Self {
            name: "Tern Lane Test Kitchen, simulated".to_owned(),
            room: room(),
            fridge: fridge(),
            boiling: boiling(),
            appliance: vec![
                oven("oven", -4),
                oven("oven 2", 6),
                PlannedAppliance::Microwave { name: appliance("microwave"), power: microwave_power() },
                PlannedAppliance::Pan { name: appliance("burner"), power: burner_power() },
                PlannedAppliance::Water { name: appliance("burner 2"), power: burner_power(), water: water_mass() },
                PlannedAppliance::Water {
                    name: appliance("bath"),
                    power: Power::whole(1500),
                    water: Mass::whole(9000),
                },
            ],
            food: vec![
                food("loin", FoodKind::PorkLoin),
                food("chicken 1", FoodKind::ChickenPiece),
                food("chicken 2", FoodKind::ChickenPiece),
                food("chicken 3", FoodKind::ChickenPiece),
                food("fillet", FoodKind::FishFillet),
                food("gratin", FoodKind::Gratin),
                food("custard", FoodKind::Custard),
                food("bread", FoodKind::Bread),
                food("potatoes", FoodKind::Potato),
                food("sauce", FoodKind::Sauce),
            ],
            probe: vec![
                probe("sim:core", Tip::In { item: item("loin"), offset_mm: 3.0 }),
                probe("sim:core 2", Tip::In { item: item("chicken 1"), offset_mm: 2.0 }),
                PlannedProbe {
                    quantum: CelsiusStep::from_degrees(0.25).unwrap_or(CelsiusStep::ZERO),
                    ..probe("sim:air", Tip::Air { appliance: appliance("oven") })
                },
            ],
            fault: Vec::new(),
        }
    }
}
