//! What sounds and what is lit at which moment, and whether it was heard and seen.
//!
//! Nothing here holds up a run: a sounder or a lamp that fails is said once, tried again, and left to the other channels.

use std::collections::BTreeMap;

use hardware::{
    Head, LampState, Lamps, LaneKey, Level, Playing, SoundCue, Sounder, Sounding,
    sounder::{Speech, Spoken},
};
use quantities::{RunTime, Span};
use run_engine::{
    StageAt,
    view::{AlertState, AlertView, RunView},
};
use screens::Settings;
use trial::{AlertKind, AlertSlot, Priority};
use words::{Language, Text};

use super::channels::Channel;

/// Lamps that show what they should are looked for this often.
const LAMPS_EVERY: Span = Span::from_secs(5);

/// The sounder, the lamps and the voice, with what they were told.
#[derive(Default)]
pub struct Signals {
    playing: Playing,
    sounder: Option<Box<dyn Sounder>>,
    lamps: Option<Box<dyn Lamps>>,
    voice: Option<Voice>,
    /// What each lamp was set to; nothing if that failed.
    lit: [Option<LampState>; 4],
    lamps_looked: RunTime,
    level: Option<u8>,
    sound: Channel,
    light: Channel,
    /// What sounds, or sounded last, in words.
    last: String,
    /// The lanes with an alert that waits for a key.
    sounding: Vec<u8>,
    /// Times without a sounder at all pass as if one played.
    now: RunTime,
}

/// Speaks a few words after the count of an alert.
struct Voice {
    speech: Option<(Language, Speech)>,
    /// What was spoken, and how urgent it was then.
    spoken: BTreeMap<(StageAt, AlertSlot), (RunTime, Priority)>,
    /// What is to be spoken, and when.
    next: Option<(RunTime, String)>,
}

impl Signals {
    /// Signals through these; where there is no sounder, what would sound is only told in words.
    pub fn new(sounder: Option<Box<dyn Sounder>>, lamps: Option<Box<dyn Lamps>>, speaks: bool) -> Self {
        let voice = Voice { speech: None, spoken: BTreeMap::new(), next: None };
        Self { sounder, lamps, voice: speaks.then_some(voice), ..Self::default() }
    }

    /// Takes a sound that should be heard from now on.
    pub fn offer(&mut self, cue: &SoundCue, now: RunTime) {
        self.playing.offer(cue, now);
    }

    /// Makes sounder and lamps do what they should at this moment.
    pub fn step(&mut self, view: &RunView, lamps: [LampState; 4], settings: &Settings, now: RunTime) {
        self.now = now;
        self.sounds(view, settings);
        self.speak(view, settings);
        self.light(lamps, now);
    }

    /// What sounds, or sounded last, in words.
    pub fn last_sound(&self) -> &str {
        &self.last
    }

    /// How the sounder stands.
    pub fn sound_channel(&self) -> Channel {
        self.sound
    }

    /// How the lamps stand.
    pub fn lamp_channel(&self) -> Channel {
        self.light
    }

    /// When to step again, if nothing happens before.
    pub fn next_deadline(&self) -> Option<RunTime> {
        let voice = self.voice.as_ref().and_then(|voice| voice.next.as_ref()).map(|(at, _)| *at);
        let lamps = self.lamps.as_ref().map(|_| self.lamps_looked + LAMPS_EVERY);
        [self.playing.next_deadline(), voice, lamps].into_iter().flatten().min()
    }

    fn sounds(&mut self, view: &RunView, settings: &Settings) {
        if self.level != Some(settings.sound)
            && let (Some(sounder), Ok(level)) = (&mut self.sounder, Level::try_from(settings.sound))
        {
            sounder.set_level(level);
            self.level = Some(settings.sound);
        }
        // what was answered is not to be heard any more
        let waits =
            |lane: &u8| view.alerts.iter().any(|alert| alert.lane == *lane && alert.state == AlertState::Sounding);
        let sounding: Vec<u8> = (1..=4).filter(waits).collect();
        for lane in self.sounding.iter().filter(|lane| !sounding.contains(lane)) {
            if let Some(lane) = LaneKey::new(*lane) {
                self.playing.withdraw(lane);
            }
        }
        self.sounding = sounding;
        for sounding in self.playing.due(self.now) {
            self.make(sounding, view, settings);
        }
        let health = self.sounder.as_mut().map(|sounder| sounder.health());
        if let Some(health) = health {
            let (works, why) = (health.is_ok(), health.err().map(|why| why.to_string()));
            follow("the sounder", &mut self.sound, works, why.as_deref());
        }
    }

    fn make(&mut self, sounding: Sounding, view: &RunView, settings: &Settings) {
        match sounding {
            Sounding::Stop => {
                if let Some(sounder) = &mut self.sounder {
                    sounder.stop();
                }
                if let Some(voice) = &mut self.voice {
                    voice.stop();
                }
            }
            Sounding::Play(cue) => {
                tracing::debug!("sound: {cue}");
                self.last = cue.to_string();
                if let Some(voice) = self.voice.as_mut().filter(|_| settings.speech == Some(true)) {
                    voice.after(&cue, view, settings, self.now);
                }
                let Some(sounder) = &mut self.sounder else { return };
                if let Err(why) = sounder.play(&cue) {
                    follow("the sounder", &mut self.sound, false, Some(&why.reason));
                    self.playing.failed();
                }
            }
        }
    }

    fn speak(&mut self, view: &RunView, settings: &Settings) {
        let Some(voice) = &mut self.voice else { return };
        if settings.speech != Some(true) {
            voice.stop();
            return;
        }
        voice.forget_gone(view);
        voice.say_due(settings.language, self.now);
    }

    fn light(&mut self, wanted: [LampState; 4], now: RunTime) {
        let Some(lamps) = &mut self.lamps else { return };
        let look = now.since(self.lamps_looked) >= LAMPS_EVERY || self.light == Channel::NotSetUp;
        let changed = (0..4).any(|i| self.lit[i].is_some_and(|lit| lit != wanted[i]));
        if !look && !changed {
            return;
        }
        let mut fault = None;
        for (i, lane) in LaneKey::ALL.into_iter().enumerate() {
            // one that failed is tried again when all are looked for
            if !look && (self.lit[i].is_none() || self.lit[i] == Some(wanted[i])) {
                continue;
            }
            let done = lamps.set(lane, wanted[i]);
            self.lit[i] = done.is_ok().then_some(wanted[i]);
            fault = fault.or(done.err());
        }
        if look {
            self.lamps_looked = now;
        }
        let works = self.lit.iter().all(Option::is_some);
        follow("a lamp", &mut self.light, works, fault.map(|fault| fault.to_string()).as_deref());
    }
}

/// Says once that a channel went or came back.
fn follow(what: &str, known: &mut Channel, works: bool, why: Option<&str>) {
    let before = std::mem::replace(known, Channel::is(works));
    match (before, works) {
        (Channel::Lost, true) => tracing::info!("{what} is back"),
        (Channel::NotSetUp | Channel::Works, false) => {
            tracing::error!("{what} is lost: {}; the other signals go on", why.unwrap_or("no reason was given"));
        }
        (Channel::NotSetUp | Channel::Works, true) | (Channel::Lost, false) => {}
    }
}

impl Voice {
    /// Puts the words for an alert behind its count.
    fn after(&mut self, cue: &SoundCue, view: &RunView, settings: &Settings, now: RunTime) {
        let urgent = match cue.head() {
            Head::High | Head::Medium => true,
            Head::Low | Head::Count | Head::Taken | Head::NotPossible | Head::Undone | Head::Saved => false,
        };
        let of_cue = |alert: &&AlertView| {
            alert.state == AlertState::Sounding && cue.lanes().iter().any(|lane| lane.number() == alert.lane)
        };
        let new = |alert: &&AlertView| match self.spoken.get(&(alert.at, alert.slot)) {
            // again when it turns high
            Some((raised, priority)) => *raised != alert.raised || *priority > alert.priority,
            None => true,
        };
        let Some(alert) = view.alerts.iter().filter(of_cue).find(new).filter(|_| urgent) else { return };
        self.spoken.insert((alert.at, alert.slot), (alert.raised, alert.priority));
        self.stop();
        self.next = Some((now + cue.heard(), words_of(alert, view, settings)));
    }

    /// An alert that is gone is spoken anew if it comes again.
    fn forget_gone(&mut self, view: &RunView) {
        self.spoken.retain(|(at, slot), _| view.alerts.iter().any(|alert| (alert.at, alert.slot) == (*at, *slot)));
    }

    fn say_due(&mut self, language: Language, now: RunTime) {
        let Some((_, words)) = self.next.take_if(|(at, _)| *at <= now) else { return };
        if self.speech.as_ref().is_none_or(|(of, _)| *of != language) {
            self.speech = Some((language, Speech::new(language.code())));
        }
        let Some((_, speech)) = &mut self.speech else { return };
        match speech.say(&words) {
            Ok(Spoken::Begun) => tracing::debug!("spoken: {words}"),
            Ok(Spoken::Busy | Spoken::Missing) => {}
            Err(why) => tracing::warn!("{why}"),
        }
    }

    fn stop(&mut self) {
        self.next = None;
        if let Some((_, speech)) = &mut self.speech {
            speech.stop();
        }
    }
}

/// What is spoken for an alert: the lane's name and number, then the verb; at most four words.
pub fn words_of(alert: &AlertView, view: &RunView, settings: &Settings) -> String {
    let w = settings.language;
    let lane = usize::from(alert.lane.clamp(1, 4)) - 1;
    let named = [&view.lanes[lane].name, &settings.lanes[lane]].into_iter().find(|name| !name.is_empty());
    let number = [w.say_lane_1(), w.say_lane_2(), w.say_lane_3(), w.say_lane_4()][lane].clone();
    let verb = match alert.kind {
        AlertKind::ProbeLost | AlertKind::WasLost => w.say_probe_lost(),
        AlertKind::StillCooking => w.say_still_cooking(),
        AlertKind::Question | AlertKind::Window => w.say_look(),
        AlertKind::Ready => w.verb_start(),
        AlertKind::Overdue | AlertKind::Due | AlertKind::Inside | AlertKind::Soon | AlertKind::OnHold => {
            if alert.verb.is_empty() { w.say_due() } else { w.verb(&alert.verb) }
        }
    };
    // of a name with several words, and of a verb with several, what fits into four words
    let name = first_words(named.map_or("", |name| name.as_str()), 1);
    let verb = sentence(&first_words(verb.full(), MOST_WORDS - if name.is_empty() { 1 } else { 2 }));
    let spoken = |name: &str, number: &Text| w.say_call(name, number, &verb);
    let text = match name.as_str() {
        "" => spoken(&sentence(number.full()), &Text::none()).full().replace(" .", "."),
        name => spoken(name, &number).full().to_owned(),
    };
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Longer speech would run into the next sound.
const MOST_WORDS: usize = 4;

fn first_words(text: &str, count: usize) -> String {
    text.split_whitespace().take(count).collect::<Vec<_>>().join(" ")
}

/// `TAKE OUT` as it begins a sentence: capitals are spoken letter by letter by some voices.
fn sentence(text: &str) -> String {
    let low = text.trim_end_matches('?').to_lowercase();
    let mut letters = low.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use std::{cell::RefCell, rc::Rc};

    use hardware::{LampFault, RecordingLamps, RecordingSounder, SounderFault, sounder::SounderTrouble};
    use screens::gallery::views::{due, four_lanes, overdue, probe_lost, question, resume, three_alerts};
    use trial::Dark;

    use super::*;

    /// A device that the test can look at and break while it is in use.
    #[derive(Clone, Default)]
    struct Shared<T>(Rc<RefCell<T>>);

    impl Sounder for Shared<RecordingSounder> {
        fn play(&mut self, cue: &SoundCue) -> Result<(), SounderFault> {
            self.0.borrow_mut().play(cue)
        }
        fn stop(&mut self) {
            self.0.borrow_mut().stop();
        }
        fn set_level(&mut self, level: Level) {
            self.0.borrow_mut().set_level(level);
        }
        fn health(&mut self) -> Result<(), SounderTrouble> {
            self.0.borrow_mut().health()
        }
    }

    impl Lamps for Shared<RecordingLamps> {
        fn set(&mut self, lane: LaneKey, state: LampState) -> Result<(), LampFault> {
            self.0.borrow_mut().set(lane, state)
        }
    }

    struct Tried {
        signals: Signals,
        sounder: Shared<RecordingSounder>,
        lamps: Shared<RecordingLamps>,
    }

    fn tried() -> Tried {
        let (sounder, lamps) = (Shared::<RecordingSounder>::default(), Shared::<RecordingLamps>::default());
        let signals = Signals::new(Some(Box::new(sounder.clone())), Some(Box::new(lamps.clone())), false);
        Tried { signals, sounder, lamps }
    }

    fn at(ms: u64) -> RunTime {
        RunTime::from_millis(ms)
    }

    fn high(lane: usize) -> SoundCue {
        SoundCue::new(Head::High, &[LaneKey::ALL[lane - 1]])
    }

    const DARK: [LampState; 4] = [LampState::Off; 4];

    #[test]
    fn a_dead_sounder_is_told_and_the_lamps_go_on() {
        let mut it = tried();
        let settings = Settings::default();
        it.signals.step(&due(), DARK, &settings, at(0));
        assert_eq!(it.signals.sound_channel(), Channel::Works);
        it.sounder.0.borrow_mut().dead = true;
        it.signals.offer(&high(1), at(10));
        it.signals.step(&due(), [LampState::DUE, LampState::Off, LampState::Off, LampState::Off], &settings, at(10));
        assert_eq!(it.signals.sound_channel(), Channel::Lost);
        assert_eq!(it.sounder.0.borrow().played, []);
        assert_eq!(it.lamps.0.borrow().set.last(), Some(&(LaneKey::ALL[0], LampState::DUE)));
        // it comes back by itself, and the next sound is heard at once
        it.sounder.0.borrow_mut().dead = false;
        it.signals.offer(&high(1), at(4000));
        it.signals.step(&due(), DARK, &settings, at(4000));
        assert_eq!(it.signals.sound_channel(), Channel::Works);
        assert_eq!(it.sounder.0.borrow().played, [high(1)]);
    }

    #[test]
    fn a_dead_lamp_changes_nothing_for_the_other_lamps_and_the_sound() {
        let mut it = tried();
        let [one, two, ..] = LaneKey::ALL;
        it.lamps.0.borrow_mut().dead = vec![one];
        let lit = [LampState::DUE, LampState::RUNNING, LampState::Off, LampState::Off];
        it.signals.offer(&high(1), at(0));
        it.signals.step(&due(), lit, &Settings::default(), at(0));
        assert_eq!((it.signals.lamp_channel(), it.signals.sound_channel()), (Channel::Lost, Channel::Works));
        assert!(it.lamps.0.borrow().set.contains(&(two, LampState::RUNNING)));
        assert_eq!(it.sounder.0.borrow().played, [high(1)]);
        // it is tried again by itself
        it.lamps.0.borrow_mut().dead.clear();
        it.signals.step(&due(), lit, &Settings::default(), at(5_000));
        assert_eq!(it.signals.lamp_channel(), Channel::Works);
        assert!(it.lamps.0.borrow().set.contains(&(one, LampState::DUE)));
    }

    #[test]
    fn an_answered_alert_is_cut_off_and_the_level_is_taken_at_once() {
        let mut it = tried();
        it.signals.offer(&high(1), at(0));
        let settings = Settings { sound: 2, ..Settings::default() };
        it.signals.step(&due(), DARK, &settings, at(0));
        assert_eq!(it.sounder.0.borrow().level.step(), 2);
        it.signals.step(&four_lanes(), DARK, &settings, at(300));
        assert_eq!(it.sounder.0.borrow().stops, 1);
    }

    #[test]
    fn without_a_sounder_the_words_are_told_in_their_time() {
        let mut signals = Signals::new(None, None, false);
        signals.offer(&high(2), at(0));
        signals.step(&due(), DARK, &Settings::default(), at(0));
        assert_eq!(signals.last_sound(), "high x5, then 2 beeps");
        assert_eq!((signals.sound_channel(), signals.lamp_channel()), (Channel::NotSetUp, Channel::NotSetUp));
    }

    #[test]
    fn an_alert_is_spoken_in_at_most_four_words_of_each_language() {
        let said =
            |view: &RunView, language| words_of(&view.alerts[0], view, &Settings { language, ..Settings::default() });
        assert_eq!(said(&due(), Language::English), "Oven one. Take out.");
        assert_eq!(said(&due(), Language::German), "Oven eins. Entnehmen.");
        assert_eq!(said(&probe_lost(), Language::English), "Pan three. Probe lost.");
        assert_eq!(said(&question(), Language::English), "Pan three. Look.");
        let mut many = due();
        many.alerts[0].verb = "BASTE WITH ALL FAT".into();
        many.lanes[0].name = "Oven 2".into();
        let mut nameless = due();
        nameless.lanes[0].name.clear();
        for language in Language::ALL {
            for view in [&many, &nameless, &overdue(9), &three_alerts(), &resume(Dark::Known(Span::from_secs(9)))] {
                let text = said(view, language);
                assert!((2..=4).contains(&text.split_whitespace().count()), "{text:?}");
            }
        }
        assert_eq!(said(&nameless, Language::English), "One. Take out.");
    }

    #[test]
    fn an_alert_is_spoken_once_and_again_when_it_turns_high() {
        let settings = Settings { speech: Some(true), ..Settings::default() };
        let mut voice = Voice { speech: None, spoken: BTreeMap::new(), next: None };
        let medium = SoundCue::new(Head::Medium, &[LaneKey::ALL[0]]);
        voice.after(&medium, &due(), &settings, at(0));
        assert_eq!(voice.next, Some((at(0) + medium.heard(), "Oven one. Take out.".to_owned())));
        voice.next = None;
        voice.after(&medium, &due(), &settings, at(10_000));
        assert_eq!(voice.next, None);
        let late = RunView { alerts: vec![AlertView { priority: Priority::High, ..due().alerts[0].clone() }], ..due() };
        voice.after(&high(1), &late, &settings, at(60_000));
        assert!(voice.next.is_some());
        voice.next = None;
        voice.after(&SoundCue::plain(Head::Taken), &overdue(5), &settings, at(60_000));
        assert_eq!(voice.next, None);
    }
}
