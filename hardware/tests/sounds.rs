//! What every sound is, measured on its samples: `cargo test -p hardware --test sounds -- --nocapture` prints the figures.
#![allow(clippy::unwrap_used, missing_docs)]

use std::fmt::Write as _;

use hardware::{
    Head, LaneKey, Level, SoundCue,
    sounder::{Segment, Wave, segments},
};
use realfft::RealFftPlanner;

/// The events, by what they are about, with the head that each begins with.
const EVENTS: [(&str, Head); 7] = [
    ("overdue, probe lost", Head::High),
    ("due, question, window", Head::Medium),
    ("soon, moved, was lost", Head::Low),
    ("key taken", Head::Taken),
    ("not possible", Head::NotPossible),
    ("undone", Head::Undone),
    ("saved", Head::Saved),
];
const ALERTS: [Head; 3] = [Head::High, Head::Medium, Head::Low];
/// Every pitch of an alert and of a count, with a cue that has it and the time from which on it has it, ms.
const PITCHES: [(u16, Head, usize); 4] =
    [(640, Head::Low, 0), (800, Head::Count, 0), (900, Head::Medium, 220), (960, Head::High, 0)];
/// Partials are counted up to here, Hz.
const TOP: f64 = 4000.0;

/// Strength by frequency, from nothing to half of the rate.
struct Spectrum {
    power: Vec<f64>,
    hertz_per_bin: f64,
}

impl Spectrum {
    fn of(samples: &[f64], rate: u32) -> Self {
        let length = samples.len().next_power_of_two().max(1 << 16);
        let mean = samples.iter().sum::<f64>() / samples.len() as f64;
        let mut windowed = vec![0.0; length];
        for (n, sample) in samples.iter().enumerate() {
            let turn = std::f64::consts::TAU * n as f64 / samples.len() as f64;
            windowed[n] = (sample - mean) * (1.0 - turn.cos()) / 2.0;
        }
        let transform = RealFftPlanner::<f64>::new().plan_fft_forward(length);
        let mut spectrum = transform.make_output_vec();
        transform.process(&mut windowed, &mut spectrum).unwrap();
        let power = spectrum.iter().map(realfft::num_complex::Complex::norm_sqr).collect();
        Self { power, hertz_per_bin: f64::from(rate) / length as f64 }
    }

    fn between(&self, from: f64, to: f64) -> f64 {
        let bins = (from / self.hertz_per_bin) as usize..=(to / self.hertz_per_bin) as usize;
        self.power[bins.start().to_owned()..=(*bins.end()).min(self.power.len() - 1)].iter().sum()
    }

    /// The share of power from 500 to 2500 Hz, in hundredths.
    fn in_band(&self) -> f64 {
        100.0 * self.between(500.0, 2500.0) / self.power.iter().sum::<f64>()
    }

    /// The peaks up to 4 kHz that lie within 15 dB of the strongest anywhere, as Hz and dB.
    fn peaks(&self) -> Vec<(f64, f64)> {
        let strongest = self.power.iter().copied().fold(0.0, f64::max);
        let mut peaks = Vec::new();
        for (n, three) in self.power.windows(3).enumerate() {
            let (hertz, level) = ((n + 1) as f64 * self.hertz_per_bin, 10.0 * (three[1] / strongest).log10());
            if three[1] > three[0] && three[1] >= three[2] && level >= -15.0 && hertz <= TOP {
                peaks.push((hertz, level));
            }
        }
        peaks
    }
}

fn render(wave: &Wave, cue: &SoundCue) -> Vec<f64> {
    wave.render(cue, Level::LOUDEST).into_iter().map(f64::from).collect()
}

/// The steady part of a tone that begins at `from` ms.
fn steady(samples: &[f64], rate: u32, from: usize) -> &[f64] {
    let at = |ms: usize| ms * rate as usize / 1000;
    &samples[at(from + 12)..at(from + 68)]
}

/// Times of the bursts in samples, as (start, end) in ms, found by their strength in stretches of 2 ms.
fn bursts(samples: &[f64], rate: u32) -> Vec<(usize, usize)> {
    let stretch = rate as usize / 500;
    let strengths: Vec<f64> =
        samples.chunks(stretch).map(|c| (c.iter().map(|s| s * s).sum::<f64>() / c.len() as f64).sqrt()).collect();
    let threshold = strengths.iter().copied().fold(0.0, f64::max) / 10.0;
    let mut found: Vec<(usize, usize)> = Vec::new();
    for (n, _) in strengths.iter().enumerate().filter(|(_, strength)| **strength > threshold) {
        let (from, to) = (2 * n, 2 * n + 2);
        match found.last_mut() {
            // two tones without a silence between them are one burst
            Some((_, end)) if from - *end < 20 => *end = to,
            _ => found.push((from, to)),
        }
    }
    found
}

/// How many bursts stand together, in groups with at least 300 ms of silence between them.
fn groups(bursts: &[(usize, usize)]) -> Vec<usize> {
    let mut groups: Vec<usize> = Vec::new();
    let mut last_end = None;
    for (from, to) in bursts {
        match (last_end, groups.last_mut()) {
            (Some(end), Some(count)) if from - end < 300 => *count += 1,
            _ => groups.push(1),
        }
        last_end = Some(*to);
    }
    groups
}

/// Pulses as an ideal output gives them, at a rate that is high enough to tell them.
fn pulses(segments: &[Segment], rate: u32) -> Vec<f64> {
    let mut samples = Vec::new();
    for segment in segments {
        let count = segment.length.millis() * u64::from(rate) / 1000;
        let hertz = f64::from(segment.hertz.unwrap_or(0));
        let duty = f64::from(segment.duty) / 1000.0;
        samples.extend((0..count).map(|n| {
            let turn = (n as f64 * hertz / f64::from(rate)).fract();
            if segment.hertz.is_some() && turn < duty { 1.0 } else { 0.0 }
        }));
    }
    samples
}

fn cues(head: Head) -> Vec<SoundCue> {
    let mut cues = vec![SoundCue::plain(head)];
    for one in LaneKey::ALL {
        cues.push(SoundCue::new(head, &[one]));
        cues.extend(LaneKey::ALL.into_iter().filter(|two| *two != one).map(|two| SoundCue::new(head, &[one, two])));
    }
    cues
}

#[test]
fn every_alert_tone_has_four_partials_within_fifteen_decibels() {
    let wave = Wave::new(Wave::RATE);
    for (hertz, head, from) in PITCHES {
        let samples = render(&wave, &SoundCue::new(head, &LaneKey::ALL[..1]));
        let spectrum = Spectrum::of(steady(&samples, wave.rate(), from), wave.rate());
        let peaks = spectrum.peaks();
        assert!(peaks.len() >= 4, "{hertz} Hz: {peaks:?}");
        for (n, (found, _)) in peaks.iter().enumerate().take(4) {
            let expected = f64::from(hertz) * (n + 1) as f64;
            assert!((found - expected).abs() < 8.0, "{hertz} Hz: partial {} at {found}", n + 1);
        }
        let in_band = spectrum.in_band();
        assert!(in_band >= 94.0, "{hertz} Hz: {in_band:.1} % from 500 to 2500 Hz");
    }
}

#[test]
fn a_half_duty_square_would_fail_that_check() {
    let wave = Wave::new(Wave::RATE).with_duty(500);
    for (hertz, head, from) in PITCHES {
        let samples = render(&wave, &SoundCue::new(head, &LaneKey::ALL[..1]));
        let peaks = Spectrum::of(steady(&samples, wave.rate(), from), wave.rate()).peaks();
        assert!(peaks.len() < 4, "{hertz} Hz: {peaks:?}");
    }
}

#[test]
fn the_pulses_of_a_piezo_pass_it_too_at_every_level() {
    let rate = 192_000;
    for level in (1..=5).map(|step| Level::try_from(step).unwrap()) {
        for (hertz, head, from) in PITCHES {
            let samples = pulses(&segments(&SoundCue::new(head, &LaneKey::ALL[..1]), level), rate);
            let peaks = Spectrum::of(steady(&samples, rate, from), rate).peaks();
            assert!(peaks.len() >= 4, "{hertz} Hz at level {level}: {peaks:?}");
        }
    }
}

#[test]
fn the_beeps_heard_are_the_number_of_the_lane() {
    let wave = Wave::new(Wave::RATE);
    for head in ALERTS {
        let bursts_of_head = if head == Head::High { 5 } else { 1 };
        for cue in cues(head) {
            let samples = render(&wave, &cue);
            let expected: Vec<usize> =
                std::iter::once(bursts_of_head).chain(cue.lanes().iter().map(|l| usize::from(l.number()))).collect();
            assert_eq!(groups(&bursts(&samples, wave.rate())), expected, "{cue}");
        }
    }
    // the check at the start has no head
    for lane in LaneKey::ALL {
        let samples = render(&wave, &SoundCue::new(Head::Count, &[lane]));
        assert_eq!(groups(&bursts(&samples, wave.rate())), [usize::from(lane.number())]);
    }
}

#[test]
fn no_pattern_lasts_longer_than_three_and_a_half_seconds() {
    let wave = Wave::new(Wave::RATE);
    for (_, head) in EVENTS {
        for cue in cues(head) {
            let seconds = wave.render(&cue, Level::LOUDEST).len() as f64 / f64::from(wave.rate());
            assert!(seconds <= 3.5, "{cue}: {seconds} s");
            let pulses: u64 = segments(&cue, Level::LOUDEST).iter().map(|segment| segment.length.millis()).sum();
            assert!(pulses <= 3500, "{cue}: {pulses} ms");
        }
    }
}

#[test]
fn no_partial_reaches_past_what_is_wanted() {
    // nothing folds back and edges do not click: almost nothing lies above the highest partial
    let wave = Wave::new(16_000);
    for head in ALERTS {
        let samples = render(&wave, &SoundCue::new(head, &LaneKey::ALL[3..]));
        let spectrum = Spectrum::of(&samples, wave.rate());
        let above = 100.0 * spectrum.between(4200.0, 8000.0) / spectrum.power.iter().sum::<f64>();
        assert!(above < 0.1, "{head:?}: {above} %");
    }
}

/// The figures; what must hold of them is asserted by the other tests.
#[test]
#[allow(clippy::print_stderr, reason = "shown on demand")]
fn table() {
    let wave = Wave::new(Wave::RATE);
    let mut out = String::new();
    writeln!(out, "\nevent                    lanes  length  bursts     500-2500 Hz").unwrap();
    for (event, head) in EVENTS {
        let lanes: &[&[LaneKey]] = if ALERTS.contains(&head) {
            &[&LaneKey::ALL[..1], &[LaneKey::ALL[3]], &[LaneKey::ALL[3], LaneKey::ALL[2]]]
        } else {
            &[&[]]
        };
        for lanes in lanes {
            let cue = SoundCue::new(head, lanes);
            let samples = render(&wave, &cue);
            let named: Vec<String> = lanes.iter().map(ToString::to_string).collect();
            let seconds = samples.len() as f64 / f64::from(wave.rate());
            let found = format!("{:?}", groups(&bursts(&samples, wave.rate())));
            let in_band = Spectrum::of(&samples, wave.rate()).in_band();
            writeln!(out, "{event:<24} {:<5} {seconds:>6.2} s  {found:<10} {in_band:>5.1} %", named.join(", "))
                .unwrap();
        }
    }
    writeln!(out, "\ntone    through  partials within 15 dB up to 4 kHz (dB)    500-2500 Hz").unwrap();
    for (hertz, head, from) in PITCHES {
        let cue = SoundCue::new(head, &LaneKey::ALL[..1]);
        let (rate, fine) = (wave.rate(), 192_000);
        let square = render(&wave.clone().with_duty(500), &cue);
        for (through, samples, rate) in [
            ("speaker", render(&wave, &cue), rate),
            ("piezo", pulses(&segments(&cue, Level::LOUDEST), fine), fine),
            ("square", square, rate),
        ] {
            let spectrum = Spectrum::of(steady(&samples, rate, from), rate);
            let peaks = spectrum.peaks();
            let levels: Vec<String> = peaks.iter().map(|(_, level)| format!("{level:.1}")).collect();
            let levels = format!("{} ({})", peaks.len(), levels.join(", "));
            writeln!(out, "{hertz} Hz  {through:<8} {levels:<44} {:>5.1} %", spectrum.in_band()).unwrap();
        }
    }
    eprintln!("{out}");
}
