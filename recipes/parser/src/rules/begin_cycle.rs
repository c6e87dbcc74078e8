use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "begin-cycle",
    severity: Error,
    title: "no steps wait for each other in a circle",
    why: "None of them would ever start.",
    bad: r#"[[stage]]
id = "bread"
appliance = "oven"
begin = { after = "pan.heat" }
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
[[stage]]
id = "pan"
appliance = "burner"
begin = { before = "bread.bake", lead = "3 min" }
[[stage.step]]
id = "heat"
do = "Heat the pan."
until = { time = "3 min" }"#,
    good: r#"[[stage]]
id = "bread"
appliance = "oven"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
[[stage]]
id = "pan"
appliance = "burner"
begin = { before = "bread.bake", lead = "3 min" }
[[stage.step]]
id = "heat"
do = "Heat the pan."
until = { time = "3 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    for cycle in &checked.plan.cycles {
        // the file order inside a stage is no fault: point at a beginning that was written
        let written = cycle.iter().find_map(|at| {
            programme
                .begins()
                .find(|(of, begin)| of == at && programme.anchor(begin).is_some_and(|on| cycle.contains(&on)))
        });
        let Some((_, begin)) = written else { continue };
        let mut chain: Vec<String> = cycle.iter().map(|at| programme.name(*at)).collect();
        chain.extend(chain.first().cloned());
        let message = format!("expected steps that do not wait for each other, found {}", chain.join(" -> "));
        found.add(
            begin.target.place.clone(),
            message,
            "let one of them begin with something else; `->` reads as `waits for`",
        );
    }
}
