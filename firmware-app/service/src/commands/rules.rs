use serde::Serialize;

use crate::{
    args::Rules,
    commands::Session,
    failure::{Failure, Outcome},
    output::{Out, Table},
};

#[derive(Serialize)]
struct Shown {
    rule: &'static str,
    severity: recipe_parser::Severity,
    title: &'static str,
    why: &'static str,
    bad: &'static str,
    good: &'static str,
}

pub(super) fn run(args: &Rules, _session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let all = recipe_parser::rules::RULES;
    let wanted: Vec<_> = all.iter().filter(|rule| args.rule.as_ref().is_none_or(|asked| asked == rule.code)).collect();
    if wanted.is_empty() {
        let asked = args.rule.as_deref().unwrap_or_default();
        let near = all
            .iter()
            .max_by(|a, b| strsim::jaro_winkler(a.code, asked).total_cmp(&strsim::jaro_winkler(b.code, asked)));
        let near = near.map_or_else(String::new, |rule| format!("; did you mean {}?", rule.code));
        return Err(Failure::usage(format!("expected a rule, found {asked}{near}")));
    }
    if args.reads.json {
        let shown: Vec<Shown> = wanted
            .iter()
            .map(|rule| Shown {
                rule: rule.code,
                severity: rule.severity,
                title: rule.title,
                why: rule.why,
                bad: rule.bad,
                good: rule.good,
            })
            .collect();
        out.json(&shown)?;
    } else if args.rule.is_some() {
        let rule = wanted[0];
        out.line(format_args!("{} ({})\n{}\n\n{}\n", rule.code, rule.severity, rule.title, rule.why))?;
        out.line(format_args!("instead of\n\n{}\n\nwrite\n\n{}", indented(rule.bad), indented(rule.good)))?;
    } else {
        let mut table = Table::new(["rule", "weight", "what it asks"]);
        for rule in wanted {
            table.row([rule.code.into(), rule.severity.to_string(), rule.title.into()]);
        }
        out.table(&table)?;
    }
    Ok(Outcome::Done)
}

fn indented(text: &str) -> String {
    text.trim_matches('\n').lines().map(|line| format!("    {line}\n")).collect::<String>().trim_end().to_owned()
}
