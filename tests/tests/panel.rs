//! What a cook sets and starts at the panel of the real program, by its keys.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{fs, path::Path, time::Duration};

use station_tests::{
    data,
    facts::{entries_of, facts_in, first},
    station::{Station, output_of},
};
use trial::Fact;

const SOON: Duration = Duration::from_secs(20);

/// A station without recipes: its list begins with the settings.
fn serve(home: &Path) -> Station {
    Station::start(home, ["serve", "--sim", "--keys", "-", "--verbose"])
}

/// The value and the origin of a setting.
fn setting(home: &Path, name: &str) -> (String, String) {
    let shown: serde_json::Value = serde_json::from_str(&output_of(home, ["config", "show", "--json"])).unwrap();
    let rows = shown["settings"].as_array().unwrap().clone();
    let row = rows.into_iter().find(|row| row["name"] == name).unwrap();
    (row["value"].to_string(), row["origin"]["from"].as_str().unwrap().to_owned())
}

#[test]
fn what_is_set_on_the_panel_is_known_after_a_restart_and_a_damaged_file_is_put_aside() {
    let home = tempfile::tempdir().unwrap();
    let home = home.path();
    assert_eq!(setting(home, "sound_level"), ("4".to_owned(), "default".to_owned()));
    let mut station = serve(home);
    station.wait_for("sound: count, then 1 beep", SOON);
    // the self test left, the settings opened, the first of them one louder, the third in the other unit
    station.press("kk+k+k++k+k");
    station.wait_for("sound: medium", SOON);
    std::thread::sleep(Duration::from_millis(500));
    let said = station.terminate(SOON);
    assert!(said.ended_with(0), "{}", said.errors());
    assert_eq!(setting(home, "sound_level"), ("5".to_owned(), "panel".to_owned()));
    assert_eq!(setting(home, "units"), ("\"fahrenheit\"".to_owned(), "panel".to_owned()));

    let file = home.join("data/panel.toml");
    let half = fs::read_to_string(&file).unwrap().replace("v = 1", "v =");
    fs::write(&file, &half).unwrap();
    let station = serve(home);
    station.wait_for("the damaged file lies at ", SOON);
    station.wait_for("sound: count, then 1 beep", SOON);
    let said = station.terminate(SOON);
    assert!(said.ended_with(0), "{}", said.errors());
    assert_eq!(fs::read_to_string(home.join("data/panel.toml.damaged")).unwrap(), half);
    assert_eq!(setting(home, "sound_level"), ("4".to_owned(), "default".to_owned()));
}

#[test]
fn a_trial_that_starts_with_its_check_open_says_so_in_english() {
    let home = tempfile::tempdir().unwrap();
    let home = home.path();
    fs::create_dir_all(home.join("data/recipes")).unwrap();
    fs::copy(data("held-loaf.toml"), home.join("data/recipes/held-loaf.toml")).unwrap();
    fs::write(home.join("data/panel.toml"), "v = 1\nlanguage = \"de\"\n").unwrap();
    let mut station = serve(home);
    station.wait_for("sound: count, then 1 beep", SOON);
    // the self test left, the recipe chosen, the first line ticked, started
    station.press("kkk1");
    station.wait_for("Loaf for the clock (base)", SOON);
    let said = station.terminate(SOON);
    assert!(said.ended_with(0), "{}", said.errors());
    let entries = entries_of(&facts_in(&output_of(home, ["export"])));
    let opened = first(&entries, |fact| matches!(fact, Fact::TrialOpened(_))).unwrap();
    let Fact::TrialOpened(info) = &opened.fact else { unreachable!("it was looked for") };
    assert!(info.left_open.iter().any(|line| line.starts_with("Probe core: ")), "{:?}", info.left_open);
    assert!(info.left_open.iter().all(|line| !line.contains("Zutaten")), "{:?}", info.left_open);
}
