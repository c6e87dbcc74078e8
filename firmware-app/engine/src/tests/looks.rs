use super::*;
use trial::{EarlyReason, Verdict};

/// First look at 8 min, each minute, no later than 12 min.
fn window() -> Vec<Stage> {
    oven(looked(mins(8), mins(12), mins(8), mins(1), "rim is gold"))
}

#[test]
fn looks_are_called_at_first_look_and_at_the_interval_until_no_later_than() {
    let mut run = Run::started(window());
    for s in [480, 540, 600, 660] {
        run.act(s, Act::Look(stage(0), Verdict::NotYet));
    }
    run.to(721);
    same(
        &run.told(&["alert_raised", "step_due"]),
        "0 alert_raised loin step ready medium
         480 alert_raised loin step window medium
         540 alert_raised loin step window medium
         600 alert_raised loin step window medium
         660 alert_raised loin step window medium
         720 step_due loin.roast
         720 alert_raised loin step due medium",
    );
}

#[test]
fn not_yet_not_yet_done_leaves_the_interval_from_the_last_not_yet() {
    let mut run = Run::started(window());
    run.act(480, Act::Look(stage(0), Verdict::NotYet));
    run.act(540, Act::Look(stage(0), Verdict::NotYet));
    run.act(600, Act::Look(stage(0), Verdict::Done));
    same(&run.told(&["step_ended"]), "600 step_ended loin.roast look_done PT10M between(after(PT9M) by(PT10M))");
}

#[test]
fn done_at_the_first_look_is_left_censored() {
    let mut run = Run::started(window());
    run.act(490, Act::Done(stage(0)));
    same(&run.told(&["step_ended"]), "490 step_ended loin.roast look_done PT8M10S before(by(PT8M10S))");
}

#[test]
fn over_after_a_not_yet_is_an_interval_too() {
    let mut run = Run::started(window());
    run.act(480, Act::Look(stage(0), Verdict::NotYet));
    run.act(545, Act::Look(stage(0), Verdict::Over));
    same(&run.told(&["step_ended"]), "545 step_ended loin.roast look_over PT9M5S between(after(PT8M) by(PT9M5S))");
}

#[test]
fn pulled_early_is_right_censored_at_the_last_not_yet_with_its_reason() {
    let mut run = Run::started(window());
    run.act(480, Act::Look(stage(0), Verdict::NotYet));
    run.act(500, Act::Pull(stage(0), EarlyReason::OtherDish));
    same(&run.told(&["step_ended"]), "500 step_ended loin.roast press PT8M20S after(after(PT8M) reason(other_dish))");
}

#[test]
fn not_yet_when_due_asks_again_as_due_and_never_ends_the_step() {
    let mut run = Run::started(window());
    run.to(720);
    run.act(725, Act::Look(stage(0), Verdict::NotYet));
    run.to(790);
    assert_eq!(run.facts(|f| matches!(f, Fact::StepEnded { .. })), 0);
    same(
        &run.told(&["alert_raised"]).lines().skip(2).collect::<Vec<_>>().join("\n"),
        "720 alert_raised loin step due medium
         785 alert_raised loin step due medium",
    );
}

#[test]
fn an_open_step_calls_at_first_look_and_limit_and_stays_open() {
    let window = Window { first: secs(90), every: secs(600), no_later: secs(240) };
    let until = Until::Cue { expect: Range::exactly(secs(120)), looks: Looks { cue: "it clings?".into(), window } };
    let mut run = Run::started(oven(until));
    run.to(2000);
    assert_eq!(run.facts(|f| matches!(f, Fact::StepEnded { .. })), 0);
    same(
        &run.told(&["alert_raised"]),
        "0 alert_raised loin step ready medium
         90 alert_raised loin step question medium
         240 alert_raised loin step due medium
         300 alert_raised loin step overdue high",
    );
}

#[test]
fn rounds_are_timed_one_by_one_and_make_one_interval() {
    let until = Until::Rounds { count: Range::new(2, 4).unwrap(), each: mins(4), cue: "tender with a bite".into() };
    let mut run = Run::started(oven(until));
    run.act(245, Act::Look(stage(0), Verdict::NotYet));
    run.act(490, Act::Look(stage(0), Verdict::Done));
    same(
        &run.told(&["round_ended", "step_ended"]),
        "245 round_ended loin.roast 1 PT4M5S
         490 round_ended loin.roast 2 PT4M5S
         490 step_ended loin.roast look_done PT8M10S between(after(PT4M5S) by(PT8M10S))",
    );
}

#[test]
fn a_fixed_time_says_nothing_about_doneness() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(605, Act::Done(stage(0)));
    same(&run.told(&["step_ended"]), "605 step_ended loin.roast press PT10M5S timed");
}
