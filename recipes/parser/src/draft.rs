//! A recipe as far as it could be read: what is missing or wrong is left out, and every value knows its place.

use quantities::{Celsius, CelsiusStep, Power, Range, Span};
use recipe_model::{Amount, Appliance, Caution, FoodClass, Hazard, Tolerance};

use crate::syntax::Place;

/// A value with its place in the file. Two are equal when their values are.
#[derive(Clone, Debug)]
pub(crate) struct At<T> {
    pub(crate) value: T,
    pub(crate) place: Place,
}

impl<T: PartialEq> PartialEq for At<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

/// A place of which two are always equal, so that drafts compare by meaning.
#[derive(Clone, Debug, Default)]
pub(crate) struct Spot(pub(crate) Place);

impl PartialEq for Spot {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

type Maybe<T> = Option<At<T>>;

#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct DraftRecipe {
    pub(crate) schema: Maybe<i64>,
    pub(crate) id: Maybe<String>,
    pub(crate) title: Maybe<String>,
    pub(crate) yields: Maybe<String>,
    pub(crate) hazards: Vec<At<Hazard>>,
    pub(crate) kitchen: DraftKitchen,
    pub(crate) weighings: Vec<DraftWeighing>,
    pub(crate) scores: Vec<DraftScore>,
    pub(crate) photos: Vec<At<String>>,
    pub(crate) programme: DraftProgramme,
    pub(crate) variants: Vec<DraftVariant>,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct DraftKitchen {
    pub(crate) ovens: Maybe<u8>,
    pub(crate) microwaves: Maybe<u8>,
    pub(crate) microwave_power: Maybe<Power>,
    pub(crate) burners: Maybe<u8>,
    pub(crate) cooks: Maybe<u8>,
    pub(crate) probes: Maybe<u8>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftWeighing {
    pub(crate) what: Maybe<String>,
    pub(crate) after: Maybe<String>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftScore {
    pub(crate) spot: Spot,
    pub(crate) what: Maybe<String>,
    pub(crate) scale: Maybe<Range<u16>>,
    pub(crate) words: Option<Vec<At<String>>>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftVariant {
    pub(crate) spot: Spot,
    pub(crate) id: Maybe<String>,
    pub(crate) title: Maybe<String>,
    pub(crate) factor: Maybe<String>,
    pub(crate) control: Maybe<bool>,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct DraftProgramme {
    pub(crate) ingredients: Vec<DraftIngredient>,
    pub(crate) stages: Vec<DraftStage>,
    pub(crate) dishes: Vec<DraftDish>,
    pub(crate) landings: Vec<DraftLanding>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftIngredient {
    pub(crate) id: Maybe<String>,
    pub(crate) name: Maybe<String>,
    pub(crate) amount: Maybe<Amount>,
    pub(crate) tolerance: Maybe<Tolerance>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftDish {
    pub(crate) id: Maybe<String>,
    pub(crate) name: Maybe<String>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftLanding {
    pub(crate) spot: Spot,
    pub(crate) dishes: Vec<At<String>>,
    pub(crate) within: Maybe<Span>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftStage {
    pub(crate) spot: Spot,
    pub(crate) id: Maybe<String>,
    pub(crate) name: Maybe<String>,
    pub(crate) appliance: Maybe<Appliance>,
    pub(crate) lane: Maybe<String>,
    pub(crate) dish: Maybe<String>,
    pub(crate) begin: Vec<DraftBegin>,
    pub(crate) steps: Vec<DraftStep>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftStep {
    pub(crate) spot: Spot,
    pub(crate) id: Maybe<String>,
    pub(crate) name: Maybe<String>,
    pub(crate) text: Maybe<String>,
    pub(crate) then: Maybe<String>,
    pub(crate) setting: Option<DraftSetting>,
    pub(crate) hands: Maybe<bool>,
    pub(crate) until: Option<DraftUntil>,
    pub(crate) begin: Vec<DraftBegin>,
    pub(crate) every: Vec<DraftRhythm>,
    pub(crate) half: Maybe<String>,
    pub(crate) timed: Vec<DraftTimed>,
    pub(crate) branches: Vec<DraftBranch>,
    pub(crate) marks: Vec<DraftMark>,
    pub(crate) food: Maybe<FoodClass>,
    pub(crate) liquid: Maybe<bool>,
    pub(crate) hold: Maybe<bool>,
    pub(crate) grace: Maybe<Span>,
    pub(crate) warn: Maybe<Option<Span>>,
    pub(crate) cautions: Vec<At<Caution>>,
    pub(crate) uses: Vec<At<String>>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum DraftSetting {
    Heat { at: At<Celsius>, fan: bool },
    Power(At<Power>),
    Level(At<String>),
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftRhythm {
    pub(crate) time: Maybe<Span>,
    pub(crate) text: Maybe<String>,
    pub(crate) press: bool,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftTimed {
    pub(crate) time: Maybe<Span>,
    pub(crate) text: Maybe<String>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftBranch {
    pub(crate) id: Maybe<String>,
    pub(crate) text: Maybe<String>,
    pub(crate) when: Maybe<String>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftMark {
    pub(crate) id: Maybe<String>,
    pub(crate) see: Maybe<String>,
}

/// What a beginning hangs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hook {
    After,
    With,
    On,
    Before,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftBegin {
    pub(crate) hook: Hook,
    pub(crate) target: At<String>,
    pub(crate) wait: Maybe<Span>,
    pub(crate) lead: Maybe<Span>,
    pub(crate) within: Maybe<Span>,
}

/// How a step ends, told by the leading key.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftUntil {
    pub(crate) spot: Spot,
    pub(crate) end: DraftEnd,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum DraftEnd {
    Time(DraftTime),
    Core(Box<DraftCore>),
    Cue { expect: Maybe<Range<Span>>, looks: DraftLooks },
    Cook { expect: Maybe<Range<Span>> },
    Heat { at: Maybe<Celsius>, probe: Maybe<String>, expect: Maybe<Range<Span>> },
    Rest { planned: Maybe<Span>, least: Maybe<Span>, probe: Maybe<String> },
    Rounds { count: Maybe<Range<u16>>, each: Maybe<Span>, cue: Maybe<String> },
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftTime {
    pub(crate) expect: Maybe<Range<Span>>,
    pub(crate) looks: DraftLooks,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftCore {
    pub(crate) target: Maybe<Celsius>,
    pub(crate) probe: Maybe<String>,
    pub(crate) hold: Maybe<Span>,
    pub(crate) hysteresis: Maybe<CelsiusStep>,
    pub(crate) points: Maybe<i64>,
    pub(crate) in_rest: Maybe<bool>,
    pub(crate) expect: Maybe<Range<Span>>,
    pub(crate) fallback: Option<DraftTime>,
}

/// Looks as written; the last moment is `no_later_than` or `limit`.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DraftLooks {
    pub(crate) spot: Spot,
    pub(crate) cue: Maybe<String>,
    pub(crate) first: Maybe<Span>,
    pub(crate) every: Maybe<Span>,
    pub(crate) no_later: Maybe<Span>,
}

/// The default hold of a core target.
pub(crate) const HOLD: Span = Span::from_secs(10);

impl DraftLooks {
    /// First look, interval and last moment, with what is left out taken from the expected time.
    pub(crate) fn window(&self, expect: Range<Span>) -> recipe_model::Window {
        let or = |written: &Maybe<Span>, usual: Span| written.as_ref().map_or(usual, |at| at.value);
        recipe_model::Window {
            first: or(&self.first, expect.low()),
            every: or(&self.every, usual_interval(expect)),
            no_later: or(&self.no_later, expect.high()),
        }
    }

    pub(crate) fn says_when(&self) -> bool {
        self.first.is_some() || self.every.is_some() || self.no_later.is_some()
    }
}

/// 10 % of the middle of the expected time, at least 30 s.
pub(crate) fn usual_interval(expect: Range<Span>) -> Span {
    expect.middle().thousandths(100).max(Span::from_secs(30))
}

impl DraftEnd {
    /// The time that a plan counts on.
    pub(crate) fn expected(&self) -> Option<Range<Span>> {
        let value = |expect: &Maybe<Range<Span>>| expect.as_ref().map(|at| at.value);
        match self {
            Self::Time(time) => value(&time.expect),
            Self::Core(core) => value(&core.expect),
            Self::Cue { expect, .. } | Self::Cook { expect } | Self::Heat { expect, .. } => value(expect),
            Self::Rest { planned, .. } => planned.as_ref().map(|at| Range::exactly(at.value)),
            Self::Rounds { count, each, .. } => {
                let (count, each) = (count.as_ref()?.value, each.as_ref()?.value);
                Range::new(each * u64::from(count.low()), each * u64::from(count.high()))
            }
        }
    }

    /// Every set of looks in it, with the time it belongs to.
    pub(crate) fn looks(&self) -> Option<(&DraftLooks, Range<Span>)> {
        match self {
            Self::Time(time) => time.looks.cue.as_ref().and(Some((&time.looks, time.expect.as_ref()?.value))),
            Self::Core(core) => {
                let time = core.fallback.as_ref()?;
                time.looks.cue.as_ref().and(Some((&time.looks, time.expect.as_ref()?.value)))
            }
            Self::Cue { expect, looks } => Some((looks, expect.as_ref()?.value)),
            Self::Cook { .. } | Self::Heat { .. } | Self::Rest { .. } | Self::Rounds { .. } => None,
        }
    }

    /// The sign that ends it.
    pub(crate) fn cue(&self) -> Option<&At<String>> {
        match self {
            Self::Time(time) => time.looks.cue.as_ref(),
            Self::Core(core) => core.fallback.as_ref()?.looks.cue.as_ref(),
            Self::Cue { looks, .. } => looks.cue.as_ref(),
            Self::Rounds { cue, .. } => cue.as_ref(),
            Self::Cook { .. } | Self::Heat { .. } | Self::Rest { .. } => None,
        }
    }

    /// The probe that it reads.
    pub(crate) fn probe(&self) -> Option<&At<String>> {
        match self {
            Self::Core(core) => core.probe.as_ref(),
            Self::Heat { probe, .. } | Self::Rest { probe, .. } => probe.as_ref(),
            Self::Time(_) | Self::Cue { .. } | Self::Cook { .. } | Self::Rounds { .. } => None,
        }
    }
}

impl DraftCore {
    /// Whether the target may be reached off the heat, in the rest that follows.
    pub(crate) fn is_left_to_rest(&self) -> bool {
        self.in_rest.as_ref().is_some_and(|at| at.value)
    }
}

impl DraftStep {
    pub(crate) fn end(&self) -> Option<&DraftEnd> {
        self.until.as_ref().map(|until| &until.end)
    }

    pub(crate) fn expected(&self) -> Option<Range<Span>> {
        self.end()?.expected()
    }

    /// Where a complaint about the whole step points: its id, else its header.
    pub(crate) fn place(&self) -> Place {
        self.id.as_ref().map_or_else(|| self.spot.0.clone(), |id| id.place.clone())
    }

    /// Its core target, if it ends by one.
    pub(crate) fn core(&self) -> Option<&DraftCore> {
        match self.end()? {
            DraftEnd::Core(core) => Some(core),
            DraftEnd::Time(_)
            | DraftEnd::Cue { .. }
            | DraftEnd::Cook { .. }
            | DraftEnd::Heat { .. }
            | DraftEnd::Rest { .. }
            | DraftEnd::Rounds { .. } => None,
        }
    }
}

impl DraftStage {
    /// What the panel calls the food.
    pub(crate) fn label(&self) -> Option<&At<String>> {
        self.name.as_ref().or(self.id.as_ref())
    }

    pub(crate) fn heats(&self) -> bool {
        self.appliance.as_ref().is_some_and(|at| at.value.kind.heats())
    }

    /// Where a complaint about the whole stage points.
    pub(crate) fn place(&self) -> Place {
        self.id.as_ref().map_or_else(|| self.spot.0.clone(), |id| id.place.clone())
    }
}

impl DraftKitchen {
    /// How many of a kind of appliance there are; nothing where that is not counted.
    pub(crate) fn count(&self, kind: recipe_model::ApplianceKind) -> Option<u8> {
        use recipe_model::ApplianceKind;
        let count = |written: &Maybe<u8>| written.as_ref().map_or(0, |at| at.value);
        match kind {
            ApplianceKind::Oven => Some(count(&self.ovens)),
            ApplianceKind::Microwave => Some(count(&self.microwaves)),
            ApplianceKind::Burner => Some(count(&self.burners)),
            ApplianceKind::Bench | ApplianceKind::Fridge => None,
        }
    }
}
