//! From the tree of a file to a draft. Nothing here complains: what does not read is left out, and the rules say why.

use quantities::{Range, Unit, parse};
use recipe_model::{Amount, Appliance, ApplianceKind, Caution, FoodClass, Hazard, Tolerance};

use crate::{
    draft::*,
    keys::{self, UNTIL},
    syntax::{Node, Table, Value},
};

/// The draft of a whole file.
pub(crate) fn recipe(root: &Table) -> DraftRecipe {
    let empty = Table { place: 0..0, entries: Vec::new() };
    let kitchen = root.get("kitchen").and_then(Node::as_table).unwrap_or(&empty);
    let record = root.get("record").and_then(Node::as_table).unwrap_or(&empty);
    DraftRecipe {
        schema: whole(root, "schema"),
        id: text(root, "id"),
        title: text(root, "title"),
        yields: text(root, "yield"),
        hazards: list(root, "hazards", Hazard::from_word),
        kitchen: DraftKitchen {
            ovens: small(kitchen, "ovens"),
            microwaves: small(kitchen, "microwaves"),
            microwave_power: value(kitchen, "microwave_power", |t| parse::power(t).ok().map(|w| w.value)),
            burners: small(kitchen, "burners"),
            cooks: small(kitchen, "cooks"),
            probes: small(kitchen, "probes"),
        },
        weighings: record
            .tables("weigh")
            .map(|t| DraftWeighing { what: text(t, "what"), after: text(t, "after") })
            .collect(),
        scores: record.tables("score").map(score).collect(),
        photos: texts(record, "photo"),
        programme: programme(root),
        variants: root
            .tables("variant")
            .map(|t| DraftVariant {
                spot: Spot(t.place.clone()),
                id: text(t, "id"),
                title: text(t, "title"),
                factor: text(t, "factor"),
                control: truth(t, "control"),
            })
            .collect(),
    }
}

fn programme(root: &Table) -> DraftProgramme {
    DraftProgramme {
        ingredients: root
            .tables("ingredient")
            .map(|t| DraftIngredient {
                id: text(t, "id"),
                name: text(t, "name"),
                amount: value(t, "amount", amount),
                tolerance: value(t, "tolerance", tolerance),
            })
            .collect(),
        stages: root.tables("stage").map(stage).collect(),
        dishes: root.tables("dish").map(|t| DraftDish { id: text(t, "id"), name: text(t, "name") }).collect(),
        landings: root
            .tables("landing")
            .map(|t| DraftLanding {
                spot: Spot(t.place.clone()),
                dishes: texts(t, "dishes"),
                within: span(t, "within"),
            })
            .collect(),
    }
}

fn score(t: &Table) -> DraftScore {
    DraftScore {
        spot: Spot(t.place.clone()),
        what: text(t, "what"),
        scale: counts(t, "scale"),
        words: t.get("words").map(|_| texts(t, "words")),
    }
}

fn stage(t: &Table) -> DraftStage {
    DraftStage {
        spot: Spot(t.place.clone()),
        id: text(t, "id"),
        name: text(t, "name"),
        appliance: value(t, "appliance", appliance),
        lane: text(t, "lane"),
        dish: text(t, "dish"),
        begin: t.tables("begin").filter_map(begin).collect(),
        steps: t.tables("step").map(step).collect(),
    }
}

fn step(t: &Table) -> DraftStep {
    DraftStep {
        spot: Spot(t.place.clone()),
        id: text(t, "id"),
        name: text(t, "name"),
        text: text(t, "do"),
        then: text(t, "then"),
        setting: t.get("setting").and_then(Node::as_table).and_then(setting),
        hands: truth(t, "hands"),
        until: t.get("until").and_then(Node::as_table).and_then(until),
        begin: t.tables("begin").filter_map(begin).collect(),
        every: t
            .tables("every")
            .map(|r| DraftRhythm {
                time: span(r, "time"),
                text: text(r, "do"),
                press: truth(r, "press").is_some_and(|at| at.value),
            })
            .collect(),
        half: text(t, "half"),
        timed: t.tables("at").map(|e| DraftTimed { time: span(e, "time"), text: text(e, "do") }).collect(),
        branches: t
            .tables("option")
            .map(|b| DraftBranch { id: text(b, "id"), text: text(b, "do"), when: text(b, "when") })
            .collect(),
        marks: t.tables("mark").map(|m| DraftMark { id: text(m, "id"), see: text(m, "see") }).collect(),
        food: value(t, "food", FoodClass::from_word),
        liquid: truth(t, "liquid"),
        hold: truth(t, "hold"),
        grace: span(t, "grace"),
        warn: value(t, "warn", |w| if w == "none" { Some(None) } else { parse::span(w).ok().map(|w| Some(w.value)) }),
        cautions: list(t, "cautions", Caution::from_word),
        uses: texts(t, "uses"),
    }
}

fn setting(t: &Table) -> Option<DraftSetting> {
    match keys::SETTING.kind(t)?.0 {
        "heat" => {
            Some(DraftSetting::Heat { at: temperature(t, "heat")?, fan: truth(t, "fan").is_some_and(|f| f.value) })
        }
        "power" => value(t, "power", |p| parse::power(p).ok().map(|w| w.value)).map(DraftSetting::Power),
        _ => text(t, "level").map(DraftSetting::Level),
    }
}

fn begin(t: &Table) -> Option<DraftBegin> {
    let (lead, _) = keys::BEGIN.kind(t)?;
    let hook = match lead {
        "after" => Hook::After,
        "with" => Hook::With,
        "on" => Hook::On,
        _ => Hook::Before,
    };
    Some(DraftBegin {
        hook,
        target: text(t, lead)?,
        wait: span(t, "wait"),
        lead: span(t, "lead"),
        within: span(t, "within"),
    })
}

fn until(t: &Table) -> Option<DraftUntil> {
    let end = match UNTIL.kind(t)?.0 {
        "time" => DraftEnd::Time(time(t)),
        "core" => DraftEnd::Core(Box::new(DraftCore {
            target: temperature(t, "core"),
            probe: text(t, "probe"),
            hold: span(t, "hold"),
            hysteresis: value(t, "hysteresis", |h| parse::temperature_step(h).ok().map(|w| w.value)),
            points: whole(t, "points"),
            in_rest: truth(t, "in_rest"),
            expect: spans(t, "expect"),
            fallback: t.get("else").and_then(Node::as_table).map(time),
        })),
        "cook" => DraftEnd::Cook { expect: spans(t, "cook") },
        "heat" => DraftEnd::Heat { at: temperature(t, "heat"), probe: text(t, "probe"), expect: spans(t, "expect") },
        "rest" => DraftEnd::Rest { planned: span(t, "rest"), least: span(t, "least"), probe: text(t, "probe") },
        "rounds" => DraftEnd::Rounds { count: counts(t, "rounds"), each: span(t, "each"), cue: text(t, "cue") },
        _ => DraftEnd::Cue { expect: spans(t, "expect"), looks: looks(t, "limit") },
    };
    Some(DraftUntil { spot: Spot(t.place.clone()), end })
}

fn time(t: &Table) -> DraftTime {
    DraftTime { expect: spans(t, "time"), looks: looks(t, "no_later_than") }
}

fn looks(t: &Table, last: &str) -> DraftLooks {
    DraftLooks {
        spot: Spot(t.place.clone()),
        cue: text(t, "cue"),
        first: span(t, "first_look"),
        every: span(t, "look_every"),
        no_later: span(t, last),
    }
}

/// `oven 2`.
pub(crate) fn appliance(word: &str) -> Option<Appliance> {
    let (kind, number) = word.split_once(' ').unwrap_or((word, "1"));
    let kind = ApplianceKind::ALL.into_iter().find(|k| k.word() == kind)?;
    let number = number.trim().parse().ok().filter(|n| (1..=9).contains(n))?;
    Some(Appliance { kind, number })
}

/// `900 g`, `250 ml`, `3 pieces`.
pub(crate) fn amount(text: &str) -> Option<Amount> {
    if let Ok(mass) = parse::mass(text) {
        return Some(Amount::Mass(mass.value));
    }
    if let Ok(volume) = parse::volume(text) {
        return Some(Amount::Volume(volume.value));
    }
    let (number, word) = text.trim().split_once(' ')?;
    let number: u32 = number.parse().ok()?;
    let word = word.trim();
    let is_word = word.chars().count() >= 3 && word.chars().all(|c| c.is_alphabetic() || c == ' ' || c == '-');
    // a unit among the words is a slip in a quantity, not a thing to count
    let has_unit = word.split(' ').any(|part| Unit::named(part).is_some());
    (is_word && !has_unit).then(|| Amount::Count(number, word.to_owned()))
}

/// `2 %`, `5 g`.
pub(crate) fn tolerance(text: &str) -> Option<Tolerance> {
    match parse::share(text) {
        Ok(share) => Some(Tolerance::Thousandths(share.value)),
        Err(_) => parse::mass(text).ok().map(|mass| Tolerance::Mass(mass.value)),
    }
}

/// `3-6` or `4`.
pub(crate) fn count_range(text: &str) -> Option<Range<u16>> {
    let mut ends = text.split(['-', '\u{2013}', '\u{2212}']).map(|end| end.trim().parse::<u16>());
    let low = ends.next()?.ok()?;
    let high = match ends.next() {
        Some(high) => high.ok()?,
        None => low,
    };
    if ends.next().is_some() { None } else { Range::new(low, high) }
}

fn value<T>(t: &Table, key: &str, read: impl Fn(&str) -> Option<T>) -> Option<At<T>> {
    let node = t.get(key)?;
    read(node.as_text()?).map(|value| At { value, place: node.place.clone() })
}

fn text(t: &Table, key: &str) -> Option<At<String>> {
    value(t, key, |text| (!text.trim().is_empty()).then(|| text.trim().to_owned()))
}

fn list<T>(t: &Table, key: &str, read: impl Fn(&str) -> Option<T>) -> Vec<At<T>> {
    let Some(Value::List(items)) = t.get(key).map(|node| &node.value) else { return Vec::new() };
    items.iter().filter_map(|item| Some(At { value: read(item.as_text()?)?, place: item.place.clone() })).collect()
}

fn texts(t: &Table, key: &str) -> Vec<At<String>> {
    list(t, key, |text| Some(text.trim().to_owned()))
}

fn whole(t: &Table, key: &str) -> Option<At<i64>> {
    let node = t.get(key)?;
    if let Value::Whole(Some(value)) = node.value { Some(At { value, place: node.place.clone() }) } else { None }
}

fn small(t: &Table, key: &str) -> Option<At<u8>> {
    let at = whole(t, key)?;
    u8::try_from(at.value).ok().map(|value| At { value, place: at.place })
}

fn truth(t: &Table, key: &str) -> Option<At<bool>> {
    let node = t.get(key)?;
    if let Value::Truth(value) = node.value { Some(At { value, place: node.place.clone() }) } else { None }
}

fn span(t: &Table, key: &str) -> Option<At<quantities::Span>> {
    value(t, key, |text| parse::span(text).ok().map(|w| w.value))
}

fn spans(t: &Table, key: &str) -> Option<At<Range<quantities::Span>>> {
    value(t, key, |text| parse::span_range(text).ok().map(|w| w.value))
}

fn temperature(t: &Table, key: &str) -> Option<At<quantities::Celsius>> {
    value(t, key, |text| parse::temperature(text).ok().map(|w| w.value))
}

fn counts(t: &Table, key: &str) -> Option<At<Range<u16>>> {
    value(t, key, count_range).or_else(|| {
        let at = whole(t, key)?;
        u16::try_from(at.value).ok().map(|n| At { value: Range::exactly(n), place: at.place })
    })
}
