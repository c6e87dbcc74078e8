use quantities::{Celsius, Power, Span};
use serde::{Deserialize, Serialize};

use super::{
    Kitchen,
    appliance::{Appliance, ApplianceId, WaterHeat},
    food::ItemId,
    listed,
    tip::Tip,
};
use crate::ProbeId;

/// Something that a cook does in the kitchen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
pub enum Action {
    /// Sets an oven, or a bath, to a temperature.
    Set {
        /// Which one.
        appliance: ApplianceId,
        /// Its dial.
        to: Celsius,
        /// With the fan on; means nothing to a bath.
        #[serde(default)]
        fan: bool,
    },
    /// Turns the burner under a pan or a pot up or down.
    Level {
        /// Which one.
        appliance: ApplianceId,
        /// At most what it has.
        watts: Power,
    },
    /// Turns an appliance off.
    Off {
        /// Which one.
        appliance: ApplianceId,
    },
    /// Runs a microwave.
    Microwave {
        /// Which one.
        appliance: ApplianceId,
        /// At most what it has.
        watts: Power,
        /// It stops by itself.
        span: Span,
    },
    /// Opens or closes the door of an oven.
    Door {
        /// Which one.
        appliance: ApplianceId,
        /// Whether it is open from here on.
        open: bool,
    },
    /// Takes a food somewhere else; an oven's door stands open for 15 s for it.
    Move {
        /// What.
        item: ItemId,
        /// Where to.
        to: ApplianceId,
    },
    /// Turns a flat food over.
    Flip {
        /// What.
        item: ItemId,
    },
    /// Evens out the temperature of a food, as stirring or cutting up does.
    Stir {
        /// What.
        item: ItemId,
    },
    /// Covers or uncovers a food.
    Cover {
        /// What.
        item: ItemId,
        /// Whether it is covered from here on.
        on: bool,
    },
    /// Puts a probe somewhere else.
    Probe {
        /// Which one.
        probe: ProbeId,
        /// Where its tip goes.
        tip: Tip,
    },
}

/// Why something cannot be done in this kitchen.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotPossible {
    /// There is no such appliance.
    #[error("expected an appliance of this kitchen ({known}), found {found}")]
    NoAppliance {
        /// What was named.
        found: ApplianceId,
        /// What there is.
        known: String,
    },
    /// There is no such food.
    #[error("expected a food in this kitchen ({known}), found {found}")]
    NoItem {
        /// What was named.
        found: ItemId,
        /// What there is.
        known: String,
    },
    /// There is no such probe.
    #[error("expected a probe of this kitchen ({known}), found {found}")]
    NoProbe {
        /// What was named.
        found: ProbeId,
        /// What there is.
        known: String,
    },
    /// The appliance has no such control.
    #[error("{appliance} cannot do that: it needs {needs}")]
    WrongAppliance {
        /// Which one.
        appliance: ApplianceId,
        /// What could.
        needs: &'static str,
    },
}

impl Kitchen {
    /// Does something at once.
    pub fn act(&mut self, action: &Action) -> Result<(), NotPossible> {
        match action {
            Action::Set { appliance, to, fan } => match self.appliance(appliance)? {
                Appliance::Oven(oven) => {
                    oven.set = Some(to.degrees());
                    oven.fan = *fan;
                }
                Appliance::Water(water) => water.heat = WaterHeat::KeptAt(to.degrees()),
                Appliance::Microwave(_) | Appliance::Pan(_) | Appliance::Air { .. } => {
                    return wrong(appliance, "an oven or a bath");
                }
            },
            Action::Level { appliance, watts } => match self.appliance(appliance)? {
                Appliance::Pan(pan) => pan.watts = watts.units().min(pan.most_watts),
                Appliance::Water(water) => {
                    water.heat = WaterHeat::Watts(watts.units().min(water.most_watts));
                }
                Appliance::Oven(_) | Appliance::Microwave(_) | Appliance::Air { .. } => {
                    return wrong(appliance, "a pan or a pot");
                }
            },
            Action::Off { appliance } => match self.appliance(appliance)? {
                Appliance::Oven(oven) => oven.set = None,
                Appliance::Microwave(microwave) => microwave.watts = 0.0,
                Appliance::Pan(pan) => pan.watts = 0.0,
                Appliance::Water(water) => water.heat = WaterHeat::Watts(0.0),
                Appliance::Air { .. } => return wrong(appliance, "something that heats"),
            },
            Action::Microwave { appliance, watts, span } => {
                let until = self.now + *span;
                let Appliance::Microwave(microwave) = self.appliance(appliance)? else {
                    return wrong(appliance, "a microwave");
                };
                microwave.watts = watts.units().min(microwave.most_watts);
                microwave.until = until;
            }
            Action::Door { appliance, open } => {
                let Appliance::Oven(oven) = self.appliance(appliance)? else {
                    return wrong(appliance, "an oven");
                };
                oven.door_open = *open;
            }
            Action::Move { item, to } => {
                self.appliance(to)?;
                let from = self.item(item)?.place.clone();
                let now = self.now;
                for place in [&from, to] {
                    if let Some(Appliance::Oven(oven)) = self.appliances.get_mut(place) {
                        oven.open_for(now, DOOR_FOR_A_MOVE);
                    }
                }
                self.item(item)?.place = to.clone();
            }
            Action::Flip { item } => self.item(item)?.flip(),
            Action::Stir { item } => self.item(item)?.stir(),
            Action::Cover { item, on } => self.item(item)?.covered = *on,
            Action::Probe { probe, tip } => {
                match tip {
                    Tip::In { item, .. } => {
                        self.item(item)?;
                    }
                    Tip::Air { appliance } => {
                        self.appliance(appliance)?;
                    }
                }
                let Some(found) = self.probes.get_mut(probe) else {
                    return Err(NotPossible::NoProbe { found: probe.clone(), known: listed(&self.probes) });
                };
                found.tip = tip.clone();
            }
        }
        Ok(())
    }
}

const DOOR_FOR_A_MOVE: Span = Span::from_secs(15);

fn wrong(appliance: &ApplianceId, needs: &'static str) -> Result<(), NotPossible> {
    Err(NotPossible::WrongAppliance { appliance: appliance.clone(), needs })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use quantities::RunTime;

    use super::*;
    use crate::kitchen::KitchenPlan;

    fn appliance(name: &str) -> ApplianceId {
        ApplianceId::new(name).unwrap()
    }

    fn kitchen() -> Kitchen {
        KitchenPlan::tern_lane().build(5).unwrap()
    }

    #[test]
    fn a_burner_gives_no_more_than_it_has() {
        let heated = |watts| {
            let mut kitchen = kitchen();
            let watts = Power::whole(watts);
            kitchen.act(&Action::Level { appliance: appliance("burner"), watts }).unwrap();
            kitchen.advance(RunTime::from_millis(100_000));
            let views = kitchen.appliances().into_iter();
            views.map(|view| view.temperature).max().unwrap()
        };
        assert_eq!(heated(2000), heated(9000));
        assert!(heated(1000) < heated(2000));
    }

    #[test]
    fn moving_food_opens_the_oven_for_a_while() {
        let mut kitchen = kitchen();
        let to = Celsius::whole(180);
        kitchen.act(&Action::Set { appliance: appliance("oven"), to, fan: true }).unwrap();
        kitchen.advance(RunTime::from_millis(3_600_000));
        let air = |kitchen: &Kitchen| {
            let views = kitchen.appliances().into_iter();
            views.filter(|view| view.id == appliance("oven")).map(|view| view.temperature).max().unwrap()
        };
        let closed = air(&kitchen);
        let item = ItemId::new("loin").unwrap();
        kitchen.act(&Action::Move { item, to: appliance("oven") }).unwrap();
        kitchen.advance(RunTime::from_millis(3_615_000));
        assert!((closed - air(&kitchen)).degrees() > 40.0);
        kitchen.advance(RunTime::from_millis(3_900_000));
        assert!((closed - air(&kitchen)).degrees() < 15.0);
    }

    #[test]
    fn what_an_appliance_cannot_do_is_refused() {
        let mut kitchen = kitchen();
        let wrong = kitchen.act(&Action::Set { appliance: appliance("burner"), to: Celsius::whole(180), fan: false });
        assert_eq!(wrong.unwrap_err().to_string(), "burner cannot do that: it needs an oven or a bath");
        let missing = kitchen.act(&Action::Off { appliance: appliance("grill") });
        assert_eq!(
            missing.unwrap_err().to_string(),
            "expected an appliance of this kitchen (bath, bench, burner, burner 2, fridge, microwave, oven, oven 2), found grill"
        );
    }
}
