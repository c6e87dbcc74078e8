use super::*;

#[test]
fn a_trial_closes_when_its_last_step_is_over_and_takes_corrections_after_it() {
    let mut run = Run::started(oven(fixed(mins(10))));
    run.act(600, Act::Done(stage(0)));
    assert!(run.view().trials[0].closed.is_some());
    assert_eq!(run.refused(601, Act::Done(stage(0))), Refusal::Closed);
    run.act(
        602,
        Act::Correct(TrialNo(0), 4, trial::Correction::At(RunTime::from_millis(590_000)), "pressed late".into()),
    );
    assert_eq!(
        run.refused(603, Act::Correct(TrialNo(0), 99, trial::Correction::DidNotHappen, "x".into())),
        Refusal::Unknown("entry 99".into())
    );
    assert_eq!(trial::record::TrialRecord::of(&run.entries).unwrap().corrections.len(), 1);
}

#[test]
fn giving_up_censors_what_ran_and_says_so() {
    let mut run = Run::started(oven(looked(mins(8), mins(12), mins(8), mins(1), "gold")));
    run.act(100, Act::GiveUp(TrialNo(0)));
    same(
        &run.told(&["step_ended", "stage_stopped", "trial_closed"]),
        "100 step_ended loin.roast stopped PT1M40S after(after(PT0S) reason(given_up))
         100 stage_stopped loin given_up
         100 trial_closed true",
    );
    run.check_replay();
}

#[test]
fn a_weighed_amount_outside_its_tolerance_is_marked() {
    let mut programme = programme(oven(fixed(mins(10))));
    programme.ingredients.push(recipe_model::Ingredient {
        id: recipe_model::IngredientId::new("flour"),
        name: "flour".into(),
        amount: recipe_model::Amount::Mass(quantities::Mass::whole(100)),
        tolerance: recipe_model::Tolerance::Thousandths(30),
    });
    let programme = Arc::new(programme);
    let mut run = Run {
        engine: Engine::new(Setup::default()),
        entries: vec![],
        sounds: vec![],
        programme: Arc::clone(&programme),
    };
    run.input(0, Input::Open(Box::new(open_trial("t", &programme)))).unwrap();
    let flour = recipe_model::IngredientId::new("flour");
    run.act(1, Act::Weigh(TrialNo(0), flour.clone(), 105_000));
    run.act(2, Act::Weigh(TrialNo(0), flour, 103_000));
    same(
        &run.told(&["weighed"]),
        "1 weighed flour 105000 false
         2 weighed flour 103000 true",
    );
}

#[test]
fn a_step_skipped_or_started_before_its_time_is_in_what_a_person_reads() {
    let mut stages = oven(fixed(mins(10)));
    let mut sauce = in_stage("sauce", ApplianceKind::Burner, vec![step("sauce.stir", fixed(mins(2)))]);
    sauce.begin = vec![after(place(0, 0))];
    stages.push(sauce);
    stages.push(in_stage("peas", ApplianceKind::Bench, vec![step("peas.shell", fixed(mins(2)))]));
    let mut run = Run::started(stages);
    run.act(60, Act::StartAnyway(stage(1)));
    run.act(61, Act::Skip(stage(2)));
    let record = trial::record::TrialRecord::of(&run.entries).unwrap();
    let notes: Vec<&str> = record.notes.iter().map(|(_, note)| note.as_str()).collect();
    assert_eq!(notes, ["sauce.stir started before what it waits for", "peas.shell skipped before it began"]);
}
