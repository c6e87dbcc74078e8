use quantities::{RunTime, Span};
use serde::{Deserialize, Serialize};

use super::{Chance, food::ItemId};
use crate::{Key, KeyEvent, LaneKey};

/// Something that the station asks of the cook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prompt {
    /// The lane it is asked on.
    pub lane: LaneKey,
    /// What is asked.
    pub ask: Ask,
    /// Since when.
    pub since: RunTime,
}

/// What the station can ask.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// To start what is ready.
    Start,
    /// To silence an alert.
    Ok,
    /// To say that something is done.
    Done,
    /// To look at a food and answer yes, or not yet.
    Look {
        /// Which food.
        item: ItemId,
    },
    /// To turn or stir something, then press.
    Turn,
    /// To push the knob.
    Knob,
    /// Whether it is still cooking, after a power cut.
    StillOn,
}

/// How long something takes a cook.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wait {
    /// Mean.
    pub mean: Span,
    /// Standard deviation.
    pub sd: Span,
}

/// How a cook is: all figures are our own choice, for a simulation.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Habits {
    /// To press OK.
    pub ok: Wait,
    /// To start something that is ready.
    pub start: Wait,
    /// To take something out and say so.
    pub done: Wait,
    /// To go and look.
    pub look: Wait,
    /// To turn or stir.
    pub turn: Wait,
    /// To push the knob.
    pub knob: Wait,
    /// To see whether it is still cooking.
    pub still_on: Wait,
    /// How often, of a thousand asks, it is forgotten for a while.
    pub forgets: u16,
    /// How long it is forgotten then.
    pub forgotten_for: Wait,
    /// How often, of a thousand, another lane's key is pressed first.
    pub wrong_lane: u16,
    /// How often, of a thousand, the key is pressed twice.
    pub double_press: u16,
    /// How far a look is off, in thousandths of doneness.
    pub misjudges: u16,
}

impl Default for Habits {
    fn default() -> Self {
        Self {
            ok: wait(6, 4),
            start: wait(10, 6),
            done: wait(9, 5),
            look: wait(14, 8),
            turn: wait(12, 6),
            knob: wait(5, 3),
            still_on: wait(15, 10),
            forgets: 30,
            forgotten_for: wait(150, 60),
            wrong_lane: 20,
            double_press: 30,
            misjudges: 40,
        }
    }
}

impl Habits {
    /// A cook who makes no mistake and sees doneness as it is, with the usual delays.
    pub fn without_mistakes() -> Self {
        Self { forgets: 0, wrong_lane: 0, double_press: 0, misjudges: 0, ..Self::default() }
    }
}

/// A simulated cook.
///
/// The answer to a prompt comes from the seed and the prompt alone: asking twice gives the same answer.
#[derive(Clone, Debug)]
pub struct SimCook {
    seed: u64,
    habits: Habits,
}

impl SimCook {
    /// A cook with these habits.
    pub fn new(seed: u64, habits: Habits) -> Self {
        Self { seed, habits }
    }

    /// What the cook will press, in the order of time, if nothing else is asked on this lane before.
    ///
    /// `looks` says how done a food is when the cook is asked; a food that cannot be found is not yet done. Yes is the
    /// lane's key, not yet is the knob.
    pub fn answer(&self, prompt: &Prompt, looks: impl Fn(&ItemId) -> Option<f64>) -> Vec<(RunTime, KeyEvent)> {
        let about = format!("lane {} {}", prompt.lane, prompt.ask.word());
        let mut chance = Chance::new(self.seed, &about, prompt.since.millis());
        let habits = &self.habits;
        // all draws are made each time, so that one habit does not change another's luck
        let delay = draw(&mut chance, self.delay(&prompt.ask)).max(LEAST_DELAY);
        let forgotten = draw(&mut chance, habits.forgotten_for);
        let forgets = chance.happens(f64::from(habits.forgets) / 1000.0);
        let wrong_lane = chance.happens(f64::from(habits.wrong_lane) / 1000.0);
        let twice = chance.happens(f64::from(habits.double_press) / 1000.0);
        let misjudged = chance.normal() * f64::from(habits.misjudges) / 1000.0;
        let other_lane = LaneKey::ALL[(usize::from(prompt.lane.number()) + chance.up_to(3)) % 4];

        let key = match &prompt.ask {
            Ask::Start | Ask::Ok | Ask::Done | Ask::Turn | Ask::StillOn => Key::Lane(prompt.lane),
            Ask::Knob => Key::Knob,
            Ask::Look { item } => {
                let seen = looks(item).map_or(0.0, |doneness| doneness + misjudged);
                if seen >= 1.0 { Key::Lane(prompt.lane) } else { Key::Knob }
            }
        };
        let mut at = prompt.since + delay;
        if forgets {
            at = at + forgotten;
        }
        let mut events = Vec::new();
        if wrong_lane && key == Key::Lane(prompt.lane) {
            press(&mut events, at, Key::Lane(other_lane));
            at = at + Span::from_millis(2500);
        }
        press(&mut events, at, key);
        if twice {
            press(&mut events, at + Span::from_millis(320), key);
        }
        events
    }

    fn delay(&self, ask: &Ask) -> Wait {
        let habits = &self.habits;
        match ask {
            Ask::Start => habits.start,
            Ask::Ok => habits.ok,
            Ask::Done => habits.done,
            Ask::Look { .. } => habits.look,
            Ask::Turn => habits.turn,
            Ask::Knob => habits.knob,
            Ask::StillOn => habits.still_on,
        }
    }
}

impl Ask {
    fn word(&self) -> String {
        match self {
            Self::Start => "start".to_owned(),
            Self::Ok => "ok".to_owned(),
            Self::Done => "done".to_owned(),
            Self::Look { item } => format!("look {item}"),
            Self::Turn => "turn".to_owned(),
            Self::Knob => "knob".to_owned(),
            Self::StillOn => "still on".to_owned(),
        }
    }
}

/// A person needs this long at least to see a word and press; the panel takes no press in the first half second.
const LEAST_DELAY: Span = Span::from_millis(700);
const HELD_DOWN: Span = Span::from_millis(140);

fn wait(mean: u64, sd: u64) -> Wait {
    Wait { mean: Span::from_secs(mean), sd: Span::from_secs(sd) }
}

fn draw(chance: &mut Chance, wait: Wait) -> Span {
    if wait.mean.is_zero() {
        return Span::ZERO;
    }
    let secs = chance.wait(wait.mean.secs(), wait.sd.secs());
    Span::from_millis((secs * 1000.0) as u64)
}

fn press(events: &mut Vec<(RunTime, KeyEvent)>, at: RunTime, key: Key) {
    events.push((at, KeyEvent::Down(key)));
    events.push((at + HELD_DOWN, KeyEvent::Up(key)));
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const LANE: LaneKey = LaneKey::ALL[1];

    fn prompt(ask: Ask, second: u64) -> Prompt {
        Prompt { lane: LANE, ask, since: RunTime::from_millis(second * 1000) }
    }

    fn look() -> Ask {
        let item = ItemId::new("loin").unwrap();
        Ask::Look { item }
    }

    #[test]
    fn a_look_is_answered_by_how_done_the_food_is() {
        let cook = SimCook::new(3, Habits::without_mistakes());
        for (doneness, key) in
            [(Some(0.99), Key::Knob), (None, Key::Knob), (Some(1.0), Key::Lane(LANE)), (Some(1.6), Key::Lane(LANE))]
        {
            let events = cook.answer(&prompt(look(), 60), |_| doneness);
            let kinds: Vec<KeyEvent> = events.iter().map(|(_, event)| *event).collect();
            assert_eq!(kinds, [KeyEvent::Down(key), KeyEvent::Up(key)]);
        }
    }

    #[test]
    fn the_same_prompt_gets_the_same_answer_and_another_seed_another() {
        let answer = |seed| SimCook::new(seed, Habits::default()).answer(&prompt(Ask::Ok, 5), |_| None);
        assert_eq!(answer(1), answer(1));
        assert_ne!(answer(1), answer(2));
    }

    #[test]
    fn delays_have_their_mean_and_never_fall_into_the_blind_half_second() {
        let cook = SimCook::new(9, Habits::without_mistakes());
        let delays: Vec<f64> = (0..4000)
            .map(|n| prompt(Ask::Start, n * 60))
            .map(|prompt| cook.answer(&prompt, |_| None)[0].0.since(prompt.since).secs())
            .collect();
        let mean = delays.iter().sum::<f64>() / delays.len() as f64;
        assert!((mean - 10.0).abs() < 0.5, "{mean}");
        assert!(delays.iter().all(|delay| *delay > 0.5));
    }

    #[test]
    fn mistakes_come_as_often_as_the_habits_say() {
        let habits = Habits { forgets: 100, wrong_lane: 200, double_press: 300, ..Habits::default() };
        let cook = SimCook::new(21, habits);
        let (mut late, mut wrong, mut twice) = (0, 0, 0);
        for n in 0..4000 {
            let prompt = prompt(Ask::Done, n * 60);
            let events = cook.answer(&prompt, |_| None);
            assert!(events.is_sorted_by_key(|(at, _)| *at));
            let downs: Vec<Key> = events
                .iter()
                .filter_map(|(_, event)| match event {
                    KeyEvent::Down(key) => Some(*key),
                    KeyEvent::Up(_) | KeyEvent::Held(_) | KeyEvent::Turn(_) => None,
                })
                .collect();
            let right = downs.iter().filter(|key| **key == Key::Lane(LANE)).count();
            assert_eq!(downs.last(), Some(&Key::Lane(LANE)));
            late += u32::from(events[0].0.since(prompt.since) > Span::from_secs(60));
            wrong += u32::from(downs.len() > right);
            twice += u32::from(right == 2);
        }
        assert!((300..500).contains(&late), "{late} of 4000 forgotten");
        assert!((700..900).contains(&wrong), "{wrong} of 4000 on the wrong lane");
        assert!((1100..1300).contains(&twice), "{twice} of 4000 pressed twice");
    }
}
