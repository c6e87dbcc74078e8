//! A record: what is known of one curve, read leniently, because other programmes write other forms.

use std::collections::BTreeMap;

use doneness::{Appliance, Change, History, Job};
use quantities::{Celsius, RunTime};
use serde_json::Value;

/// When the food truly came to the target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Truth {
    /// After this many seconds.
    At(f64),
    /// Never: the record says null.
    Never,
    /// The record does not say.
    Unknown,
}

/// Where it cooked, as the tables sort it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    Oven,
    Pan,
    Microwave,
    /// For the estimator an oven whose air is as hot as the water.
    Bath,
}

impl Place {
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Oven => "oven",
            Self::Pan => "pan",
            Self::Microwave => "microwave",
            Self::Bath => "bath",
        }
    }

    pub(super) const fn appliance(self) -> Appliance {
        match self {
            Self::Oven | Self::Bath => Appliance::Oven,
            Self::Pan => Appliance::Pan,
            Self::Microwave => Appliance::Microwave,
        }
    }

    /// By the beginning of a name, as an appliance or a family bears it.
    fn named(name: &str) -> Option<Self> {
        const NAMES: [(&str, Place); 16] = [
            ("oven", Place::Oven),
            ("low_oven", Place::Oven),
            ("sear_oven", Place::Oven),
            ("air", Place::Oven),
            ("fan", Place::Oven),
            ("convection", Place::Oven),
            ("pan", Place::Pan),
            ("skillet", Place::Pan),
            ("griddle", Place::Pan),
            ("hob", Place::Pan),
            ("stove", Place::Pan),
            ("micro", Place::Microwave),
            ("mw", Place::Microwave),
            ("bath", Place::Bath),
            ("water", Place::Bath),
            ("sous", Place::Bath),
        ];
        let name = name.to_lowercase();
        NAMES.iter().find(|(start, _)| name.starts_with(start)).map(|(_, place)| *place)
    }
}

/// One record; what is not named here is not looked at.
#[derive(Clone, Debug)]
pub(super) struct Record {
    pub(super) id: String,
    pub(super) family: String,
    pub(super) place: Place,
    pub(super) target_c: f64,
    pub(super) truth: Truth,
    /// Other moments at which the true temperature of the tip is known, by time: seconds and °C.
    pub(super) known: Vec<(f64, f64)>,
    /// When it left the heat, if the curve goes on in the rest.
    pub(super) pulled: Option<f64>,
    /// The dial at the start.
    pub(super) dial: Option<f64>,
    /// What is told to the station, by its time.
    pub(super) told: Vec<(f64, Change)>,
    pub(super) pulls: Vec<Pull>,
    pub(super) foil: bool,
}

/// A copy of the food that was pulled, and where its core went.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pull {
    pub(super) at: f64,
    pub(super) peak: f64,
    pub(super) after: Option<f64>,
}

/// What was met and not used: what it was, and in which records.
pub(super) type Notes = BTreeMap<String, Vec<String>>;

/// Temperatures of food and dials that can be meant, °C.
const FOOD: core::ops::RangeInclusive<f64> = -60.0..=150.0;
const DIAL: core::ops::RangeInclusive<f64> = 30.0..=500.0;
const TIMES: [&str; 8] = ["t_s", "time_s", "at_s", "start_s", "t", "time", "at", "start"];
const DIALS: [&str; 10] =
    ["set_c", "dial_c", "oven_set", "oven_set_c", "to_c", "set", "dial", "to", "temp_c", "oven_c"];

impl Record {
    /// Reads a record. `name` is its id if it does not bear one.
    pub(super) fn read(value: &Value, name: Option<&str>, notes: &mut Notes) -> Result<Self, &'static str> {
        if !value.is_object() {
            return Err("is no object");
        }
        let id = text(&value["id"]).or_else(|| name.map(ToOwned::to_owned)).ok_or("has no id")?;
        let target_c = number(&value["target_c"])
            .filter(|target| FOOD.contains(target))
            .ok_or("has no target_c that can be meant")?;
        let mut note = |what: &str| notes.entry(what.to_owned()).or_default().push(id.clone());
        let truth = match value.get("t_target_s") {
            Some(Value::Null) => Truth::Never,
            given => match given.and_then(number) {
                Some(end) if end > 0.0 => Truth::At(end),
                Some(_) | None => {
                    note("t_target_s is not there or no time: neither times nor reaching are judged");
                    Truth::Unknown
                }
            },
        };
        let family = text(&value["family"]).unwrap_or_else(|| "unnamed".to_owned());
        let flips = list(&value["flips_s"], &mut || note("flips_s of an unknown form: not told"), |one| {
            number(one).or_else(|| number(one.get(0)?)).or_else(|| field(one, &TIMES))
        });
        let dialled = |one: &Value| {
            let pair = number(&one[0]).zip(number(&one[1])).or_else(|| field(one, &TIMES).zip(field(one, &DIALS)));
            pair.filter(|(at, to)| *at >= 0.0 && DIAL.contains(to))
        };
        let mut steps = list(&value["oven_steps"], &mut || note("oven_steps of an unknown form: not told"), dialled);
        let dial = match (number(&value["oven_set"]), number(&value["bath_set"])) {
            (Some(dial), _) | (None, Some(dial)) => Some(dial),
            (None, None) => {
                steps.extend(list(&value["oven_set"], &mut || note("oven_set of an unknown form: not told"), dialled));
                None
            }
        };
        let place = match text(&value["appliance"]) {
            Some(appliance) => Place::named(&appliance).unwrap_or_else(|| {
                note("an appliance that is not known: taken from the rest of the record");
                place(value, &family, dial.is_some(), &flips)
            }),
            None => place(value, &family, dial.is_some(), &flips),
        };
        let mut told: Vec<(f64, Change)> = flips.into_iter().map(|at| (at, Change::Turned)).collect();
        steps.sort_by(|a, b| a.0.total_cmp(&b.0));
        // a list of changes may begin with the dial of the start
        let dial = steps.iter().rfind(|(at, _)| *at <= 0.0).map(|(_, to)| *to).or(dial);
        let mut now = dial;
        for (at, to) in steps.into_iter().filter(|(at, _)| *at > 0.0) {
            if now.replace(to) != Some(to) {
                told.push((at, Change::Dial(to as f32)));
            }
        }
        told.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut pulls = list(&value["pulls"], &mut || note("pulls of an unknown form: not judged"), |one| {
            let (at, peak) = (number(&one["pull_t_s"])?, number(&one["peak_c"])?);
            Some(Pull { at, peak, after: number(&one["peak_after_s"]) })
        });
        pulls.sort_by(|a, b| a.at.total_cmp(&b.at));
        Ok(Self {
            family,
            place,
            target_c,
            truth,
            known: known(value, target_c, truth),
            pulled: number(&value["pull_in_trace_s"]),
            dial: dial.filter(|dial| DIAL.contains(dial)),
            told,
            pulls,
            foil: value["foil"].as_bool().or_else(|| number(&value["foil"]).map(|foil| foil > 0.0)).unwrap_or(false),
            id,
        })
    }

    pub(super) fn job(&self, history: Option<History>) -> Job {
        Job {
            appliance: self.place.appliance(),
            target: celsius(self.target_c),
            dial: self.dial.and_then(Celsius::from_degrees),
            history,
        }
    }

    /// The true temperature of the tip near the target, on straight lines between the moments at which it is known;
    /// the first and last lines go on.
    pub(super) fn tip(&self, t: f64) -> Option<f64> {
        let last = self.known.len().checked_sub(2)?;
        let i = self.known.iter().position(|(at, _)| *at >= t).unwrap_or(last + 1);
        let i = i.saturating_sub(1).min(last);
        let ((t0, c0), (t1, c1)) = (self.known[i], self.known[i + 1]);
        Some(c0 + (c1 - c0) * (t - t0) / (t1 - t0))
    }
}

/// Where it cooks, if no appliance is named.
fn place(value: &Value, family: &str, dial: bool, flips: &[f64]) -> Place {
    let electric = |key: &str| number(&value[key]).is_some();
    let named = Place::named(family);
    if electric("duty") || electric("power_w") || named == Some(Place::Microwave) {
        Place::Microwave
    } else if electric("bath_set") {
        Place::Bath
    } else if dial {
        // a dial is an oven's, whatever was done in a pan before
        named.filter(|named| *named == Place::Bath).unwrap_or(Place::Oven)
    } else {
        named.unwrap_or(if flips.is_empty() { Place::Oven } else { Place::Pan })
    }
}

/// The moments at which the tip's true temperature is known: the target, 10 and 5 °C below, and those of the pulls.
fn known(value: &Value, target: f64, truth: Truth) -> Vec<(f64, f64)> {
    let Truth::At(end) = truth else { return Vec::new() };
    let mut known = vec![(end, target)];
    for (key, below) in [("t_target_m10_s", 10.0), ("t_target_m5_s", 5.0)] {
        known.extend(number(&value[key]).map(|at| (at, target - below)));
    }
    for pull in value["pulls"].as_array().into_iter().flatten() {
        known.extend(number(&pull["pull_t_s"]).zip(number(&pull["pull_tip_c"])));
    }
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    // two moments of one second make a line of noise
    known.dedup_by(|b, a| b.0 - a.0 < 5.0);
    known
}

/// A number, also where it is written as text.
fn number(value: &Value) -> Option<f64> {
    let number = value.as_f64().or_else(|| value.as_str()?.trim().parse().ok());
    number.filter(|number| number.is_finite())
}

fn text(value: &Value) -> Option<String> {
    let text = value.as_str().map(ToOwned::to_owned).or_else(|| value.as_i64().map(|number| number.to_string()));
    text.filter(|text| !text.trim().is_empty())
}

fn field(value: &Value, keys: &[&str]) -> Option<f64> {
    keys.iter().find_map(|key| number(value.get(*key)?))
}

/// The members of a list, all or none; a single member may stand without the list. Null and nothing are an empty one.
fn list<T>(value: &Value, odd: &mut dyn FnMut(), read: impl Fn(&Value) -> Option<T>) -> Vec<T> {
    let read: Option<Vec<T>> = match value {
        Value::Null => Some(Vec::new()),
        Value::Array(members) => members.iter().map(&read).collect(),
        Value::Bool(_) | Value::Number(_) | Value::String(_) | Value::Object(_) => read(value).map(|one| vec![one]),
    };
    read.unwrap_or_else(|| {
        odd();
        Vec::new()
    })
}

pub(super) fn celsius(degrees: f64) -> Celsius {
    Celsius::from_degrees(degrees).unwrap_or(Celsius::ABSOLUTE_ZERO)
}

pub(super) fn moment(seconds: f64) -> RunTime {
    RunTime::from_millis((seconds * 1000.0) as u64)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn read(more: &str) -> (Record, Notes) {
        let text = format!("{{\"id\": \"A\", \"target_c\": 60.0, \"t_target_s\": 900{more}}}");
        let mut notes = Notes::new();
        let record = Record::read(&serde_json::from_str(&text).unwrap(), None, &mut notes).unwrap();
        (record, notes)
    }

    fn place(more: &str) -> Place {
        read(more).0.place
    }

    #[test]
    fn the_appliance_follows_from_what_is_named_or_set() {
        for (more, expected) in [
            ("", Place::Oven),
            (r#", "oven_set": 180.0, "flips_s": [60.0]"#, Place::Oven),
            (r#", "flips_s": [60.0]"#, Place::Pan),
            (r#", "duty": 0.5"#, Place::Microwave),
            (r#", "power_w": 700, "oven_set": null"#, Place::Microwave),
            (r#", "power_w": null, "duty": null"#, Place::Oven),
            (r#", "appliance": "pan", "oven_set": 200"#, Place::Pan),
            (r#", "appliance": "Microwave oven""#, Place::Microwave),
            (r#", "appliance": "kiln", "flips_s": [9]"#, Place::Pan),
            (r#", "family": "pan_flip""#, Place::Pan),
            (r#", "family": "mw_cyl""#, Place::Microwave),
            (r#", "family": "sear_oven", "flips_s": [60]"#, Place::Oven),
            (r#", "family": "many_flips", "flips_s": [60, 120, 180]"#, Place::Pan),
            (r#", "family": "bath", "bath_set": 58"#, Place::Bath),
            (r#", "family": "bone""#, Place::Oven),
        ] {
            assert_eq!(place(more), expected, "{more}");
        }
    }

    #[test]
    fn a_change_of_the_dial_is_told_in_each_form() {
        let expected = [(1200.0, Change::Dial(120.0)), (1800.0, Change::Dial(200.0))];
        for steps in [
            r#""oven_set": 160, "oven_steps": [[1200, 120], [1800, 200]]"#,
            r#""oven_set": 160, "oven_steps": [[0, 160], [1800, 200], [1200, 120]]"#,
            r#""oven_steps": [[0, 160], [1200, 120], [1800, 200]]"#,
            r#""oven_set": [[0, 160], [1200, 120], [1800, 200]]"#,
            r#""oven_set": "160", "oven_steps": [{"t_s": 1200, "set_c": 120}, {"t_s": 1800.0, "set_c": 200.0}]"#,
            r#""oven_set": 160, "oven_steps": [{"at": 1200, "dial": 120}, {"at": 1800, "dial": 200, "why": "browning"}]"#,
        ] {
            let (record, notes) = read(&format!(", {steps}"));
            assert_eq!((record.told.as_slice(), record.dial), (&expected[..], Some(160.0)), "{steps}");
            assert!(notes.is_empty(), "{notes:?}");
        }
    }

    #[test]
    fn an_unknown_form_is_not_told_and_is_noted() {
        for odd in [
            r#""oven_steps": {"later": 120}"#,
            r#""oven_steps": [[1200, "hot"]]"#,
            r#""oven_steps": [[1200, -20]]"#,
            r#""oven_steps": "down at half""#,
            r#""flips_s": [true]"#,
        ] {
            let (record, notes) = read(&format!(", \"oven_set\": 160, {odd}"));
            assert_eq!(record.told, [], "{odd}");
            assert_eq!(notes.values().next().map(Vec::len), Some(1), "{odd}");
        }
    }

    #[test]
    fn turns_come_between_changes_of_the_dial() {
        let (record, _) = read(r#", "oven_set": 160, "flips_s": [{"t_s": 90}, 300], "oven_steps": [[200, 120]]"#);
        assert_eq!(record.told, [(90.0, Change::Turned), (200.0, Change::Dial(120.0)), (300.0, Change::Turned)]);
    }

    #[test]
    fn null_is_never_and_nothing_is_unknown() {
        let read = |truth: &str| {
            let value = serde_json::from_str(&format!("{{\"id\": 7, \"target_c\": 60{truth}}}")).unwrap();
            Record::read(&value, None, &mut Notes::new()).unwrap()
        };
        assert_eq!(read(r#", "t_target_s": null"#).truth, Truth::Never);
        assert_eq!(read("").truth, Truth::Unknown);
        assert_eq!(read(r#", "t_target_s": {"low": 3}"#).truth, Truth::Unknown);
        assert_eq!((read("").id.as_str(), read("").family.as_str()), ("7", "unnamed"));
    }

    #[test]
    fn the_tip_is_followed_on_straight_lines_through_what_is_known() {
        let (record, _) = read(r#", "t_target_m10_s": 500, "t_target_m5_s": 700, "pulls": []"#);
        let tip = |t| record.tip(t).unwrap();
        assert_eq!((tip(600.0), tip(800.0), tip(940.0)), (52.5, 57.5, 61.0));
        assert_eq!(read("").0.tip(900.0), None);
    }
}
