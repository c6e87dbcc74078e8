use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "lead-too-long",
    severity: Error,
    title: "a lead is shorter than the step that it leads",
    why: "The step would have to start before the one that it hangs on.",
    bad: r#"[[stage]]
id = "bread"
appliance = "oven"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
[[stage]]
id = "pan"
appliance = "burner"
begin = { before = "bread.bake", lead = "20 min" }
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
begin = { before = "bread.bake", lead = "2 min" }
[[stage.step]]
id = "heat"
do = "Heat the pan."
until = { time = "3 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    for (_, begin) in programme.begins() {
        let (Some(lead), Some(on)) = (&begin.lead, programme.anchor(begin)) else { continue };
        let Some(expect) = programme.step(on).and_then(|step| step.expected()) else { continue };
        if lead.value > expect.low() {
            let message = format!(
                "expected a lead of at most {}, the usual time of `{}`, found {}",
                expect.low(),
                programme.name(on),
                lead.value
            );
            found.add(
                lead.place.clone(),
                message,
                format!("write a shorter lead, or begin = {{ with = \"{}\" }}", begin.target.value),
            );
        }
    }
}
