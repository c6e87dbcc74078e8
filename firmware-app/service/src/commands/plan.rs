//! Plans a cook before it begins.

mod picture;
mod told;

use std::{
    collections::{BTreeMap, BTreeSet},
    fmt,
    io::Write,
    path::Path,
    sync::Arc,
};

use jiff::{ZonedDateTime, civil::Time};
use planner::{Lasts, Planning, Wish};
use quantities::{RunTime, Span};
use recipe_model::{Programme, Recipe, StepRef, VariantId};

use crate::{
    args::{Plan, TimeOfDay},
    clock::{Clock as _, SystemClock},
    commands::Session,
    drawn::{self, Timeline},
    failure::{Failure, Outcome},
    library::Library,
    output::{Destination, Out},
    planning::{self, KitchenCounts, Planned},
    run::{
        history,
        shelf::{self, ShelfError},
    },
};
use told::Told;

pub(super) fn run(args: &Plan, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let mut asked = Vec::new();
    for text in &args.recipes {
        match asked_for(text, session, out)? {
            Some(found) => asked.push(found),
            None => return Ok(Outcome::Finding),
        }
    }
    let clock = Clock::new(args.from, args.ready)?;
    let names = names(&asked);
    let wishes: Vec<Wish<'_>> = asked
        .iter()
        .zip(&names)
        .zip(0u64..)
        .map(|((asked, name), place)| Wish {
            name: name.clone(),
            programme: &asked.programme,
            wanted: clock.ready.map(|ready| ready + args.apart * place),
            window: args.window,
            standing: BTreeMap::new(),
            skipped: BTreeSet::new(),
            history: asked.known.clone(),
            heats_ovens: true,
        })
        .collect();
    let kitchen = KitchenCounts::of(&session.settings).kitchen(asked.iter().map(|asked| &asked.recipe.kitchen));
    let planning = Planning::of(RunTime::START, &kitchen, &wishes).map_err(Failure::usage)?;
    let how = planning::how(args.seed);
    let told = Told { asked: &asked, wishes: &wishes, planning: &planning, clock: &clock };
    let project = &planning.project;
    let clock_now = SystemClock::new();
    let began = clock_now.boot_ms();
    let mut go_on = || clock_now.boot_ms().saturating_sub(began) < LONGEST.millis();
    let found = match planning::plan(project, &how, args.runs, &mut go_on).map_err(Failure::usage)? {
        Planned::Plan(found) => found,
        Planned::None(reason) => {
            if args.reads.json {
                out.json(&told.json_none(&reason))?
            } else {
                told.no_plan(&reason, out)?
            }
            return Ok(Outcome::Finding);
        }
    };
    let late = found.plan.latest_landing_late() > Span::ZERO;
    let late = late.then(|| planning::late(project, &found.plan, &how));
    draw(args, &picture::of(&told, &found), out)?;
    let to_output = [&args.svg, &args.png].into_iter().flatten().any(|path| path.as_os_str() == "-");
    if args.reads.json {
        out.json(&told.json(&found, late.as_ref()))?;
    } else if !to_output {
        told.plan(&found, late.as_ref(), out)?;
    }
    Ok(if late.is_some() { Outcome::Finding } else { Outcome::Done })
}

/// Other ways to leave room are tried no longer than this.
const LONGEST: Span = Span::from_secs(10);

/// Writes the pictures that are asked for.
fn draw(args: &Plan, timeline: &Timeline, out: &mut Out) -> Result<(), Failure> {
    let mut write = |path: &Path, bytes: &[u8]| {
        let mut file = Destination::open(path, out.writer())?;
        file.write_all(bytes)?;
        file.finish()
    };
    let failed =
        |path: &Path, why: &dyn fmt::Display| Failure::Failed(format!("cannot write {}: {why}", path.display()).into());
    if let Some(path) = &args.svg {
        write(path, drawn::svg(timeline, drawn::WIDTH).as_bytes()).map_err(|why| failed(path, &why))?;
    }
    if let Some(path) = &args.png {
        let picture = drawn::png(timeline, drawn::WIDTH).map_err(|why| failed(path, &why))?;
        write(path, &picture).map_err(|why| failed(path, &why))?;
    }
    Ok(())
}

/// One recipe of the command line.
struct Asked {
    recipe: Arc<Recipe>,
    variant: VariantId,
    programme: Arc<Programme>,
    /// How long its steps took in earlier trials.
    known: BTreeMap<StepRef, Lasts>,
}

/// The recipe that a word names; none if its file was refused, which was said then.
fn asked_for(text: &str, session: &Session, out: &mut Out) -> Result<Option<Asked>, Failure> {
    let (name, variant) = match text.rsplit_once('@') {
        Some((name, variant)) if !name.is_empty() && !variant.contains(['/', '.']) => (name, Some(variant)),
        Some(_) | None => (text, None),
    };
    match shelf::find(name, &session.settings.recipe_dirs.value) {
        Ok(shelved) => {
            let (variant, programme) = shelved.variant(variant).map_err(Failure::usage)?;
            let library = Library::at(&session.settings.data_dir.value);
            let known = planning::lasts_of(&programme, &history::of(&library, &shelved.recipe, &programme));
            Ok(Some(Asked { recipe: shelved.recipe, variant, programme, known }))
        }
        Err(ShelfError::Refused { path, complaints, text, .. }) => {
            let name = path.display().to_string();
            let colour = out.colors_data();
            for complaint in &complaints {
                let source = recipe_parser::Source { name: &name, text: &text };
                out.line(recipe_parser::render(complaint, &source, colour))?;
            }
            Ok(None)
        }
        Err(why @ (ShelfError::NotFound { .. } | ShelfError::NoVariant { .. })) => Err(Failure::usage(why)),
        Err(why @ ShelfError::Unreadable { .. }) => Err(Failure::failed(why)),
    }
}

/// What tells the trials apart: nothing for one, else the recipe's id, with the variant's where the recipe comes twice.
fn names(asked: &[Asked]) -> Vec<String> {
    if asked.len() == 1 {
        return vec![String::new()];
    }
    let alike = |one: &Asked, other: &Asked| one.recipe.id == other.recipe.id && one.variant != other.variant;
    let mut names: Vec<String> = Vec::new();
    for (place, one) in asked.iter().enumerate() {
        let variants = asked.iter().any(|other| alike(one, other));
        let name = if variants { format!("{} {}", one.recipe.id, one.variant) } else { one.recipe.id.to_string() };
        let again = |other: &&Asked| other.recipe.id == one.recipe.id && other.variant == one.variant;
        let before = asked[..place].iter().filter(again).count();
        names.push(if before == 0 { name } else { format!("{name} {}", before + 1) });
    }
    names
}

/// The moments of a plan as times of day.
struct Clock {
    /// What the start of the plan is.
    from: ZonedDateTime,
    /// When the dishes are wanted.
    ready: Option<RunTime>,
}

impl Clock {
    fn new(from: Option<TimeOfDay>, ready: Option<TimeOfDay>) -> Result<Self, Failure> {
        let wall = SystemClock::new().stamp().wall.unwrap_or(0);
        let now = jiff::Timestamp::from_millisecond(wall).map_err(Failure::failed)?;
        let now = ZonedDateTime::new(now, jiff::tz::TimeZone::system());
        let whole = |time: TimeOfDay| {
            let minutes = time.since_midnight.whole_secs() / 60;
            Time::new((minutes / 60) as i8, (minutes % 60) as i8, 0, 0)
        };
        let from = match from {
            Some(time) => now.with().time(whole(time).map_err(Failure::failed)?).build().map_err(Failure::failed)?,
            None => now.round(jiff::Unit::Minute).map_err(Failure::failed)?,
        };
        let ready = match ready {
            Some(time) => {
                let same_day =
                    from.with().time(whole(time).map_err(Failure::failed)?).build().map_err(Failure::failed)?;
                let at = if same_day < from { same_day.tomorrow().map_err(Failure::failed)? } else { same_day };
                let ahead = at.timestamp().as_second() - from.timestamp().as_second();
                Some(RunTime::START + Span::from_secs(ahead.unsigned_abs()))
            }
            None => None,
        };
        Ok(Self { from, ready })
    }

    /// The time of day at which the plan starts.
    fn since_midnight(&self) -> Span {
        picture::since_midnight(self.from.hour(), self.from.minute(), self.from.second())
    }

    fn zoned(&self, at: RunTime) -> ZonedDateTime {
        let ahead = i64::try_from(at.millis()).unwrap_or(i64::MAX);
        self.from.checked_add(jiff::SignedDuration::from_millis(ahead)).unwrap_or_else(|_| self.from.clone())
    }

    /// `18:45`, with seconds where they are not zero.
    fn time(&self, at: RunTime) -> String {
        let zoned = self.zoned(at);
        let form = if zoned.second() == 0 { "%H:%M" } else { "%H:%M:%S" };
        zoned.strftime(form).to_string()
    }

    /// `18:45`, to the nearest minute.
    fn minute(&self, at: RunTime) -> String {
        self.zoned(at + Span::from_secs(30)).strftime("%H:%M").to_string()
    }

    /// RFC 3339 with the offset of this place.
    fn stamp(&self, at: RunTime) -> String {
        self.zoned(at).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
    }
}
