#![allow(clippy::unwrap_used)]
use super::*;

fn at(minute: u64) -> RunTime {
    RunTime::START + Span::from_mins(minute)
}

/// A bar by minutes: start, end, how much shorter and longer it may be, latest start.
pub(super) fn bar(step: usize, name: &str, kind: BarKind, start: u64, end: u64) -> Bar {
    Bar {
        step,
        name: name.into(),
        dish: None,
        kind,
        standing: BarStanding::Open,
        start: at(start),
        end: at(end),
        ends: None,
        latest: None,
        critical: false,
    }
}

impl Bar {
    fn unsure(self, shorter: u64, longer: u64) -> Self {
        let ends = (self.end.earlier(Span::from_mins(shorter)), self.end + Span::from_mins(longer));
        Self { ends: Some(ends), ..self }
    }

    fn latest(self, minute: u64) -> Self {
        Self { latest: Some(at(minute)), ..self }
    }

    fn critical(self) -> Self {
        Self { critical: true, ..self }
    }

    fn of(self, dish: usize) -> Self {
        Self { dish: Some(dish), ..self }
    }

    fn is(self, standing: BarStanding) -> Self {
        Self { standing, ..self }
    }
}

fn row(label: &str, detail: &str, bars: Vec<Bar>) -> Row {
    Row { label: label.into(), detail: detail.into(), bars }
}

fn landing(name: &str, minute: u64, likely: Option<(u64, u64)>, wanted: Option<u64>) -> LandingMark {
    let likely = likely.map(|(low, high)| (at(low), at(high)));
    LandingMark { name: name.into(), at: at(minute), likely, wanted: wanted.map(at) }
}

/// Two steps and nothing else.
pub(super) fn two_steps() -> Timeline {
    Timeline {
        title: "Baked apples".into(),
        rows: vec![
            row("hands", "", vec![bar(0, "core apples", BarKind::Hands, 0, 12).latest(3)]),
            row("oven", "190 °C", vec![bar(1, "bake", BarKind::Cooks, 12, 52).unsure(6, 9).latest(15)]),
        ],
        landings: vec![landing("apples", 52, None, None)],
        ..Timeline::default()
    }
}

/// Two dishes, twelve steps, under way.
pub(super) fn twelve_steps() -> Timeline {
    use BarKind::{Cooks, Hands, SetsUp, Waits};
    let connect = |from, to, why: &str| Connector { from, to, why: why.into() };
    Timeline {
        title: "Thighs and pilaf, Tern Lane Test Kitchen".into(),
        clock: Some(Span::from_mins(17 * 60 + 5)),
        now: Some(at(31)),
        dishes: vec!["thighs".into(), "pilaf".into()],
        rows: vec![
            row(
                "oven",
                "220 °C",
                vec![
                    bar(0, "heat to 220 °C", SetsUp, 6, 24).is(BarStanding::Ended),
                    bar(1, "thighs roast", Cooks, 24, 66).of(0).unsure(6, 10).critical().is(BarStanding::Running),
                    bar(2, "skin crisps", Cooks, 66, 74).of(0).unsure(2, 3).critical(),
                ],
            ),
            row(
                "burner 1",
                "left front",
                vec![
                    bar(3, "toast rice", Cooks, 50, 54).of(1).latest(52),
                    bar(4, "pilaf simmers", Cooks, 54, 72).of(1).unsure(2, 3).latest(56),
                ],
            ),
            row("burner 2", "", vec![bar(5, "stock heats", Cooks, 40, 50).of(1).unsure(2, 4).latest(42)]),
            row(
                "hands",
                "one cook",
                vec![
                    bar(6, "season thighs", Hands, 10, 18).of(0).is(BarStanding::Ended),
                    bar(7, "chop onion", Hands, 26, 32).of(1).latest(38),
                    bar(8, "measure stock and spices", Hands, 32, 36).of(1).latest(44),
                    bar(3, "toast rice", Hands, 50, 54).of(1).latest(52),
                    bar(9, "baste", Hands, 66, 68).of(0).critical(),
                    bar(10, "dress", Hands, 80, 84).of(0).critical(),
                ],
            ),
            row(
                "bench",
                "",
                vec![
                    bar(11, "thighs rest", Waits, 74, 80).of(0).critical(),
                    bar(12, "pilaf stands", Waits, 72, 82).of(1).latest(74),
                ],
            ),
        ],
        landings: vec![landing("thighs and pilaf", 84, Some((80, 91)), Some(85))],
        links: vec![
            connect((0, 1), (0, 2), "thighs roast then skin crisps"),
            connect((0, 2), (4, 0), "skin crisps then thighs rest"),
            connect((4, 0), (3, 5), "thighs rest then dress"),
        ],
    }
}

/// Forty steps of four dishes in two hours.
pub(super) fn forty_steps() -> Timeline {
    use BarKind::{Cooks, Hands, SetsUp, Waits};
    let names = [
        "rinse lentils",
        "dice shallots",
        "peel ginger",
        "trim beans",
        "mix dough",
        "knead",
        "shape rolls",
        "grate cheese",
        "whisk dressing",
        "zest lemons",
        "toast seeds",
        "chop parsley",
        "slice leeks",
        "brown leeks",
        "deglaze",
        "season",
        "turn rolls",
        "blanch beans",
        "shock beans",
        "toss salad",
        "taste lentils",
        "warm plates",
        "reduce sauce",
        "plate",
    ];
    let mut hands = Vec::new();
    let mut start = 0;
    for (index, name) in names.iter().enumerate() {
        let lasts = [3, 4, 2, 5, 6, 8, 5, 3][index % 8];
        let new = bar(index, name, Hands, start, start + lasts).of(index % 4);
        let last = index + 1 == names.len();
        hands.push(if last || index % 5 == 4 {
            new.critical()
        } else {
            new.latest(start + [4, 12, 2, 30, 0][index % 5])
        });
        start += lasts + u64::from(index % 3 == 2);
    }
    let end = start;
    let mut step = names.len();
    let mut next = |name: &str, kind, from, to| {
        step += 1;
        bar(step - 1, name, kind, from, to)
    };
    let oven = vec![
        next("heat to 230 °C", SetsUp, 14, 34).critical(),
        next("rolls bake", Cooks, 40, 58).of(1).unsure(2, 4).critical(),
        next("to 160 °C", SetsUp, 58, 66).latest(60),
        next("gratin bakes", Cooks, 66, 96).of(2).unsure(5, 8).latest(68),
        next("custards bake", Cooks, 70, 98).of(3).unsure(3, 6).latest(71),
    ];
    let first = vec![
        next("lentils simmer", Cooks, 4, 40).of(0).unsure(6, 8).latest(20),
        next("beans boil", Cooks, 76, 80).of(2).latest(82),
        next("sauce reduces", Cooks, 84, 99).of(0).unsure(4, 5).critical(),
    ];
    let second = vec![
        next("seeds toast", Cooks, 42, 46).of(1).latest(64),
        next("leeks sweat", Cooks, 52, 72).of(2).unsure(3, 6).latest(56),
    ];
    let third = vec![next("water comes to the boil", Cooks, 62, 76).of(2).unsure(2, 2).latest(68)];
    let bench = vec![
        next("dough proves under a cloth in the warm corner by the window until doubled", Waits, 28, 38)
            .of(1)
            .critical(),
        next("lentils stand", Waits, 40, 70).of(0).latest(60),
        next("rolls cool", Waits, 58, 88).of(1).latest(68),
        next("gratin rests", Waits, 96, 104).of(2).latest(98),
    ];
    let fridge = vec![next("dressing chills", Waits, 34, 94).of(3).latest(40)];
    Timeline {
        title: "Four dishes for the tasting table".into(),
        clock: Some(Span::from_mins(9 * 60 + 40)),
        now: None,
        dishes: ["lentils", "seeded rolls", "leek gratin", "custards and salad"].map(String::from).into(),
        rows: vec![
            row("oven", "230, then 160 °C", oven),
            row("burner left front", "", first),
            row("burner left back", "", second),
            row("burner right", "", third),
            row("hands", "two cooks", hands),
            row("bench", "", bench),
            row("fridge", "4 °C", fridge),
        ],
        landings: vec![
            landing("lentils and rolls", 100, Some((97, 106)), Some(100)),
            landing("gratin", 104, Some((101, 112)), None),
            landing("custards and salad", end, Some((end - 3, end + 5)), None),
        ],
        links: vec![
            Connector { from: (0, 1), to: (4, 14), why: "hands".into() },
            Connector { from: (0, 0), to: (0, 1), why: "oven".into() },
        ],
    }
}

/// Two trials of one recipe within three hours, 90 minutes apart.
pub(super) fn two_trials() -> Timeline {
    use BarKind::{Cooks, Hands, SetsUp, Waits};
    let mut timeline = Timeline {
        title: "Salmon cured one hour against two hours".into(),
        clock: Some(Span::from_mins(13 * 60)),
        now: Some(at(0)),
        dishes: vec!["1 h cure".into(), "2 h cure".into()],
        rows: vec![
            row(
                "oven",
                "120 °C",
                vec![
                    bar(20, "heat to 120 °C", SetsUp, 68, 80).latest(70),
                    bar(21, "heat again", SetsUp, 150, 152).latest(152),
                ],
            ),
            row("microwave", "900 W", vec![]),
            row("hands", "", vec![]),
            row("fridge", "", vec![]),
            row("bench", "", vec![]),
        ],
        landings: vec![
            landing("1 h cure", 112, Some((109, 118)), Some(112)),
            landing("2 h cure", 184, Some((181, 190)), Some(184)),
        ],
        links: vec![],
    };
    for (dish, shift, cure) in [(0usize, 0u64, 60u64), (1, 12, 120)] {
        let base = dish * 6;
        let cured = shift + 10 + cure;
        timeline.rows[2].bars.push(bar(base, "salt fillets", Hands, shift, shift + 10).of(dish).critical());
        timeline.rows[3].bars.push(bar(base + 1, "cure", Waits, shift + 10, cured).of(dish).critical());
        timeline.rows[2].bars.push(bar(base + 2, "rinse and dry", Hands, cured, cured + 8).of(dish).critical());
        let bake = cured + 10;
        timeline.rows[0]
            .bars
            .push(bar(base + 3, "fillets bake", Cooks, bake, bake + 26).of(dish).unsure(3, 6).critical());
        timeline.rows[1]
            .bars
            .push(bar(base + 4, "potatoes", Cooks, bake + 10, bake + 19).of(dish).unsure(1, 2).latest(bake + 13));
        timeline.rows[4].bars.push(bar(base + 5, "fillets rest", Waits, bake + 26, bake + 30).of(dish).critical());
    }
    timeline
}

fn examples() -> [(&'static str, Timeline); 4] {
    [("two", two_steps()), ("twelve", twelve_steps()), ("forty", forty_steps()), ("trials", two_trials())]
}

fn golden(name: &str, found: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, found));
}

#[test]
fn pictures_are_as_they_were_accepted() {
    golden("two.svg", &svg(&two_steps(), WIDTH));
    golden("twelve.svg", &svg(&twelve_steps(), WIDTH));
    golden("twelve-narrow.svg", &svg(&twelve_steps(), 800));
}

#[test]
fn texts_are_as_they_were_accepted() {
    for (name, timeline) in examples() {
        golden(&format!("{name}.txt"), &text(&timeline, 80));
    }
}

/// The texts of a picture with the room they take.
fn texts(scene: &scene::Scene) -> impl Iterator<Item = (scene::Area, &str)> {
    scene.parts.iter().filter_map(|part| {
        let scene::Shape::Text { at, text, size, .. } = &part.shape else { return None };
        Some((scene::letters(*at, text, *size), text.as_str()))
    })
}

#[test]
fn png_is_as_large_as_the_svg_says_and_bars_have_their_dishs_colour() {
    let timeline = twelve_steps();
    let scene = layout::scene(&timeline, WIDTH);
    let bytes = png(&timeline, WIDTH).unwrap();
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let frame = reader.next_frame(&mut pixels).unwrap();
    assert_eq!((frame.width as i32, frame.height as i32), (scene.width, scene.height));
    assert!(svg(&timeline, WIDTH).contains(&format!("viewBox=\"0 0 {} {}\"", scene.width, scene.height)));
    // right of its name and above its strip a bar has nothing but its tint
    let name = |text: &str| {
        let found = texts(&scene).find(|(_, found)| *found == text);
        let found = found.map(|(area, _)| area);
        found.unwrap()
    };
    for (text, dish) in [("B pilaf simmers", 1), ("B pilaf stands", 1), ("A skin crisps", 0)] {
        let letters = name(text);
        let at = ((letters.y + 8) * scene.width + letters.right() + 3) as usize * 3;
        let colour::Colour(red, green, blue) = colour::Colour::of_dish(Some(dish)).tint();
        assert_eq!(pixels[at..at + 3], [red, green, blue], "{text}");
    }
}

#[test]
fn same_step_in_two_lanes_is_one_line_in_the_table_and_one_number() {
    let found = text(&twelve_steps(), 80);
    assert_eq!(found.matches("B toast rice").count(), 1, "{found}");
    assert!(found.contains("burner 1, hands"), "{found}");
    assert!(found.contains("7===8===") && found.contains("7###.."), "{found}");
}

#[test]
fn long_name_is_shortened_in_the_picture_and_whole_in_tooltip_and_table() {
    let long = "dough proves under a cloth in the warm corner by the window until doubled";
    let picture = svg(&forty_steps(), WIDTH);
    assert!(picture.contains("B dough proves under a cloth in th…</text>"));
    assert!(picture.contains(&format!("<title>B {long}: 10:08 to 10:18, critical</title>")));
    let words: Vec<String> = text(&forty_steps(), 80).split_whitespace().map(str::to_owned).collect();
    assert!(long.split(' ').all(|word| words.iter().any(|found| found == word)));
}

#[test]
fn signs_of_xml_in_names_stay_text() {
    let mut timeline = two_steps();
    timeline.title = "Salt & \"pepper\" <b>\u{7}".into();
    timeline.rows[0].bars[0].name = "a<b & c".into();
    let picture = svg(&timeline, WIDTH);
    assert!(picture.contains("Salt &amp; &quot;pepper&quot; &lt;b&gt;</title>"), "{picture}");
    assert!(picture.contains(">a&lt;b &amp; c</text>"));
    // nothing is a tag but what is meant
    let mut open = Vec::new();
    for tag in picture.split('<').skip(1) {
        let name = tag.split([' ', '>', '/', '\n']).next().unwrap();
        let inside = tag.split('>').next().unwrap();
        if let Some(closed) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), closed.split('>').next());
        } else if !inside.ends_with('/') {
            open.push(name);
        }
    }
    assert_eq!(open, Vec::<&str>::new());
}

#[test]
fn nothing_to_draw_is_a_small_picture_and_a_few_lines() {
    let empty = Timeline::default();
    assert!(svg(&empty, 0).starts_with("<svg"));
    assert!(!png(&empty, 0).unwrap().is_empty());
    assert!(text(&empty, 0).lines().count() <= 5);
    // a dish that nobody named, an arrow from nowhere
    let mut odd = two_steps();
    odd.rows[0].bars[0].dish = Some(9);
    odd.links = vec![Connector { from: (7, 7), to: (0, 0), why: String::new() }];
    assert!(svg(&odd, WIDTH).contains(">core apples</text>"));
}

#[test]
fn twenty_seventh_dish_has_two_letters() {
    let timeline = Timeline { dishes: vec![String::new(); 60], ..Timeline::default() };
    let letters: Vec<String> = [0, 25, 26, 51, 52].into_iter().filter_map(|dish| timeline.letter(Some(dish))).collect();
    assert_eq!(letters, ["A", "Z", "AA", "AZ", "BA"]);
    assert_eq!(timeline.letter(Some(60)), None);
}

mod random {
    use super::*;
    use proptest::prelude::*;

    fn words() -> impl Strategy<Value = String> {
        "[a-zäöüß°éщ0-9 ,.WMil]{0,40}"
    }

    prop_compose! {
        fn bars()(
            name in words(), dish in prop::option::of(0usize..6), kind in 0usize..4, standing in 0usize..3,
            start in 0u64..9_000, lasts in 0u64..5_000, shorter in 0u64..900, longer in prop::option::of(0u64..1_500),
            slack in prop::option::of(0u64..4_000), critical: bool, step in 0usize..60,
        ) -> Bar {
            let secs = |secs| RunTime::START + Span::from_secs(secs);
            Bar {
                step, name, dish, critical,
                kind: BarKind::ALL[kind],
                standing: [BarStanding::Open, BarStanding::Running, BarStanding::Ended][standing],
                start: secs(start),
                end: secs(start + lasts),
                ends: longer.map(|longer| (secs((start + lasts).saturating_sub(shorter)), secs(start + lasts + longer))),
                latest: slack.map(|slack| secs(start + slack)),
            }
        }
    }

    prop_compose! {
        fn timelines()(
            title in words(), clock in prop::option::of(0u64..86_400), now in prop::option::of(0u64..12_000),
            dishes in prop::collection::vec(words(), 0..6),
            rows in prop::collection::vec((words(), words(), prop::collection::vec(bars(), 0..14)), 0..7),
            landings in prop::collection::vec(
                (words(), 0u64..14_000, prop::option::of((0u64..600, 0u64..900)), prop::option::of(0u64..14_000)), 0..5),
            links in prop::collection::vec(((0usize..7, 0usize..14), (0usize..7, 0usize..14)), 0..6),
        ) -> Timeline {
            let secs = |secs| RunTime::START + Span::from_secs(secs);
            Timeline {
                title, dishes,
                clock: clock.map(Span::from_secs),
                now: now.map(secs),
                rows: rows.into_iter().map(|(label, detail, bars)| Row { label, detail, bars }).collect(),
                landings: landings.into_iter().map(|(name, at, likely, wanted)| LandingMark {
                    name,
                    at: secs(at),
                    likely: likely.map(|(low, high)| (secs(at.saturating_sub(low)), secs(at + high))),
                    wanted: wanted.map(secs),
                }).collect(),
                links: links.into_iter().map(|(from, to)| Connector { from, to, why: "hands".into() }).collect(),
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn no_two_texts_meet_and_all_lie_in_the_picture(timeline in timelines(), width in 0u32..2_600) {
            let scene = layout::scene(&timeline, width);
            let texts: Vec<(scene::Area, &str)> = texts(&scene).collect();
            for (at, (area, text)) in texts.iter().enumerate() {
                let inside = area.x >= 0 && area.y >= 0 && area.right() <= scene.width && area.bottom() <= scene.height;
                prop_assert!(inside, "{text:?} at {area:?} in {} x {}", scene.width, scene.height);
                for (other, beside) in &texts[..at] {
                    prop_assert!(!area.meets(*other), "{text:?} at {area:?} on {beside:?} at {other:?}");
                }
            }
        }

        #[test]
        fn no_name_lies_on_another_bar_of_its_row(timeline in timelines(), width in 640u32..2_600) {
            let boxes = layout::boxes(&timeline, width);
            for (at, (row, one, name)) in boxes.iter().enumerate() {
                for (other_at, (other_row, other, _)) in boxes.iter().enumerate() {
                    if at != other_at && row == other_row {
                        prop_assert!(!one.meets(*other), "bars {one:?} and {other:?}");
                        prop_assert!(!name.meets(*other), "name {name:?} on bar {other:?}");
                    }
                }
            }
        }

        #[test]
        fn text_keeps_to_its_width_and_has_every_step(timeline in timelines(), width in 0usize..140) {
            let text = text(&timeline, width);
            for line in text.lines() {
                prop_assert!(line.chars().count() <= width.max(48), "{line:?}");
                prop_assert_eq!(line, line.trim_end());
            }
            let mut steps: Vec<usize> = timeline.bars().map(|bar| bar.step).collect();
            steps.sort_unstable();
            steps.dedup();
            for number in 1..=steps.len() {
                let starts = |line: &str| line.split(' ').next() == Some(&number.to_string());
                prop_assert!(text.lines().any(starts), "step {number} is missing in\n{text}");
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(30))]

        #[test]
        fn every_picture_can_be_drawn(timeline in timelines(), width in 0u32..1_200) {
            prop_assert!(png(&timeline, width).is_ok());
            prop_assert!(svg(&timeline, width).ends_with("</svg>\n"));
        }
    }
}
