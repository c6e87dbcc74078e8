use hardware::Probes as _;
use serde::Serialize;

use crate::{
    args::Probes,
    commands::Session,
    failure::{Failure, Outcome},
    output::{Out, Table},
    run::devices::all_probes,
};

#[derive(Serialize)]
struct Shown {
    id: String,
    name: Option<String>,
    kind: hardware::ProbeKind,
    reading_celsius: Option<quantities::Celsius>,
    no_reading: Option<quantities::NoReading>,
    place: String,
}

pub(super) fn run(args: &Probes, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let settings = &session.settings;
    let mut probes = all_probes(&settings.w1_root.value, &settings.hwmon_root.value);
    let mut shown = Vec::new();
    for info in probes.list() {
        let read = probes.read(&info.id);
        let id: String = info.id.into();
        let name = settings.probes.value.iter().find(|(_, device)| *device == id).map(|(name, _)| name.to_owned());
        shown.push(Shown {
            id,
            name,
            kind: info.kind,
            reading_celsius: read.reading.ok(),
            no_reading: read.reading.err(),
            place: read.place,
        });
    }
    if args.reads.json {
        out.json(&shown)?;
        return Ok(Outcome::Done);
    }
    if shown.is_empty() {
        out.note(format_args!(
            "no probe at {} or {}; tallyhob play makes one to try with",
            settings.w1_root.value.join("bus/w1/devices").display(),
            settings.hwmon_root.value.join("class/hwmon").display()
        ));
        return Ok(Outcome::Done);
    }
    let mut table = Table::new(["probe", "name", "reads", "from"]);
    for probe in &shown {
        let reads = match (probe.reading_celsius, probe.no_reading) {
            (Some(celsius), _) => format!("{:.2} °C", celsius.degrees()),
            (None, Some(why)) => format!("{why:?}").to_lowercase(),
            (None, None) => String::new(),
        };
        table.row([probe.id.clone(), probe.name.clone().unwrap_or_default(), reads, probe.place.clone()]);
    }
    out.table(&table)?;
    Ok(Outcome::Done)
}
