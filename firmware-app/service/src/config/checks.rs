//! The setting that tells what is known of the kitchen's equipment: offsets, powers, and when they were measured.
//!
//! An oven's offset is for the record alone. A probe's (`name = "probe core"`) corrects its readings: `offset` is how much it
//! reads too high, the same at every temperature; `uncertainty` is one standard deviation of that, 0.25 °C if nothing is
//! said. It counts until the probe's device was checked on the panel, on a later day than `checked` or with no day here; and
//! if `device` is named, for that device only.

use quantities::{CelsiusStep, parse};
use recipe_model::ApplianceKind;
use serde_json::Value as Json;
use toml::{Spanned, de::DeValue};
use trial::Equipment;

use super::value::{Value, Wrong, WrongAt, kind_of, nearest, wrong};
use crate::run::probe_check::MOST_OFF;

/// What is known of each piece of equipment, by the name that recipes use.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Checks(pub Vec<Equipment>);

const KEYS: [&str; 7] = ["name", "device", "offset", "uncertainty", "power", "checked", "note"];

impl Value for Checks {
    const EXPECTED: &'static str =
        "a list of tables such as { name = \"oven\", offset = \"-3 °C\", checked = \"2026-11-02\" }";

    fn from_text(text: &str) -> Result<Self, Wrong> {
        let whole = format!("checks = {text}");
        let table = toml::de::DeTable::parse(&whole).map_err(|error| wrong::<Self>(error.message()))?;
        match table.get_ref().get("checks") {
            Some(value) => Self::from_toml(value).map_err(|at| at.wrong),
            None => Err(wrong::<Self>(text)),
        }
    }

    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let list = value.get_ref().as_array().ok_or_else(|| at(value, wrong::<Self>(kind_of(value))))?;
        list.iter().map(one).collect::<Result<_, _>>().map(Self)
    }

    fn shown(&self) -> Json {
        serde_json::to_value(&self.0).unwrap_or(Json::Null)
    }
}

fn one(value: &Spanned<DeValue<'_>>) -> Result<Equipment, WrongAt> {
    let table = value.get_ref().as_table().ok_or_else(|| at(value, wrong::<Checks>(kind_of(value))))?;
    let mut equipment = Equipment::default();
    for (key, field) in table.iter() {
        let text =
            field.get_ref().as_str().ok_or_else(|| at(field, expected("a text with its unit", kind_of(field))))?;
        let step = || {
            parse::temperature_step(text)
                .map(|read| read.value)
                .map_err(|_| at(field, expected("a difference such as \"-3 °C\"", text)))
        };
        match key.get_ref().as_ref() {
            "name" => equipment.name = text.into(),
            "device" => equipment.device = Some(text.into()),
            "offset" => equipment.offset_celsius = Some(step()?),
            "uncertainty" => equipment.uncertainty_celsius = Some(step()?),
            "power" => {
                let power = parse::power(text).map_err(|_| at(field, expected("a power such as \"700 W\"", text)))?;
                equipment.power_watts = Some(power.value);
            }
            "checked" => {
                let day: jiff::civil::Date =
                    text.parse().map_err(|_| at(field, expected("a day such as \"2026-11-02\"", text)))?;
                equipment.checked = Some(day.to_string());
            }
            "note" => equipment.note = Some(text.into()),
            other => {
                let help = nearest(other, KEYS.into_iter()).map(|near| format!("did you mean {near}?"));
                let wrong = Wrong {
                    expected: "one of name, device, offset, uncertainty, power, checked, note",
                    found: other.into(),
                    help,
                };
                return Err(WrongAt { wrong, span: key.span() });
            }
        }
    }
    let far = equipment.offset_celsius.is_some_and(|offset| offset.abs() > MOST_OFF);
    if far && equipment.name.starts_with("probe ") {
        let found = format!("{} °C", equipment.offset_celsius.map_or(0.0, CelsiusStep::degrees));
        return Err(at(value, expected("a probe that is at most 3 °C off, or another probe", &found)));
    }
    if equipment.name.is_empty() {
        return Err(at(value, expected("a name such as \"oven\"", "none")));
    }
    // a name that no recipe uses would be passed over in silence
    let kind = equipment.name.split(' ').next().unwrap_or_default();
    if kind != "probe" && !ApplianceKind::ALL.iter().any(|known| known.word() == kind) {
        let help = Some(format!("a probe is named with that word before it: \"probe {}\"", equipment.name));
        let expected = "the name of an appliance or a probe, such as \"oven\", \"burner 2\" or \"probe core\"";
        return Err(at(value, Wrong { expected, found: equipment.name, help }));
    }
    Ok(equipment)
}

fn at(value: &Spanned<DeValue<'_>>, wrong: Wrong) -> WrongAt {
    WrongAt { wrong, span: value.span() }
}

fn expected(expected: &'static str, found: &str) -> Wrong {
    Wrong { expected, found: found.into(), help: None }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn offsets_and_powers_are_read_with_their_units() {
        let checks = Checks::from_text(
            r#"[{ name = "oven", offset = "-3 °C", uncertainty = "0,5 °C", checked = "2026-11-02" }, { name = "microwave", power = "690 W" }]"#,
        )
        .unwrap();
        assert_eq!(checks.0[0].offset_celsius.unwrap().degrees(), -3.0);
        assert_eq!(checks.0[0].uncertainty_celsius.unwrap().degrees(), 0.5);
        assert_eq!(checks.0[1].power_watts.unwrap().units(), 690.0);
        assert!(Checks::from_text(r#"[{ name = "oven", offset = "-12 °C" }]"#).is_ok(), "ovens may be far off");
    }

    #[test]
    fn a_number_without_a_unit_and_a_wrong_key_are_refused() {
        for (text, found) in [
            (r#"[{ name = "oven", offset = "-3" }]"#, "-3"),
            (r#"[{ name = "oven", ofset = "-3 °C" }]"#, "ofset"),
            (r#"[{ name = "oven", checked = "2nd of May" }]"#, "2nd of May"),
            (r#"[{ offset = "1 °C" }]"#, "none"),
            (r#"[{ name = "probe core", offset = "3.5 °C" }]"#, "3.5 °C"),
        ] {
            assert_eq!(Checks::from_text(text).unwrap_err().found, found, "{text}");
        }
    }
}
