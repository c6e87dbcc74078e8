use std::path::Path;

use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

use super::{Complaint, Layer, NAMED, Origin, Place, value};

/// A value as it stands in a file.
pub(super) struct Found<'a> {
    pub(super) value: &'a Spanned<DeValue<'a>>,
    /// Paths in the file start here.
    pub(super) folder: &'a Path,
}

/// Reads a file's text; what is wrong goes to `complaints`, in the order of the file, and the rest is taken all the same.
pub(super) fn layer(path: &Path, text: &str, complaints: &mut Vec<Complaint>) -> Layer {
    let (table, broken) = DeTable::parse_recoverable(text);
    let mut found = Vec::new();
    for error in &broken {
        let span = error.span().unwrap_or(0..0);
        found.push((
            span.start,
            Complaint { place: Place::in_file(path, text, span), message: error.message().to_owned(), help: None },
        ));
    }
    let mut layer = Layer::default();
    let folder = path.parent().unwrap_or(Path::new(""));
    // after a syntax error keys and values may be pieces of something else: complaints about them would mislead
    let entries = table.get_ref().iter().filter(|_| broken.is_empty());
    for (key, value) in entries {
        let name: &str = key.get_ref();
        let Place::File { line, .. } = Place::in_file(path, text, key.span()) else { continue };
        let origin = Origin::File { path: path.to_owned(), line };
        match layer.take_toml(name, &Found { value, folder }, origin) {
            Some(Ok(())) => {}
            Some(Err(at)) => found.push((at.span.start, Complaint::new(Place::in_file(path, text, at.span), at.wrong))),
            None => found.push((key.span().start, unknown(path, text, key.span(), name))),
        }
    }
    found.sort_by_key(|(start, _)| *start);
    complaints.extend(found.into_iter().map(|(_, complaint)| complaint));
    layer
}

fn unknown(path: &Path, text: &str, span: std::ops::Range<usize>, name: &str) -> Complaint {
    let help = match value::nearest(name, NAMED.iter().map(|named| named.name)) {
        Some(near) => format!("did you mean {near}?"),
        None => "tallyhob config show lists every setting".to_owned(),
    };
    Complaint {
        place: Place::in_file(path, text, span),
        message: format!("expected a setting, found unknown key {name}"),
        help: Some(help),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is wrong with a file of this text, as it is printed.
    fn check(text: &str) -> String {
        let mut complaints = Vec::new();
        layer(Path::new("/etc/t.toml"), text, &mut complaints);
        super::super::complaint::all(&complaints)
    }

    #[test]
    fn a_key_that_is_not_known_gets_the_nearest() {
        assert_eq!(
            check("quiet = true\nlangauge = \"en\"\n"),
            "/etc/t.toml:2:1: expected a setting, found unknown key langauge\n  2 | langauge = \"en\"\n    | ^^^^^^^^\n  help: did you mean language?"
        );
    }

    #[test]
    fn a_wrong_value_is_shown_at_its_column_with_what_is_allowed() {
        assert_eq!(
            check("units = \"kelvin\"\n"),
            "/etc/t.toml:1:9: expected celsius or fahrenheit, found \"kelvin\"\n  1 | units = \"kelvin\"\n    |         ^^^^^^^^"
        );
    }

    #[test]
    fn everything_wrong_comes_in_one_run_in_the_order_of_the_file() {
        let text = "units = 3\nlanes = [\"Oven\", 7]\nquiet = \"loud\"\n[probes]\ncore = \"../../etc\"\n";
        let places: Vec<_> =
            check(text).lines().filter(|line| line.starts_with("/etc")).map(|line| line[..16].to_owned()).collect();
        assert_eq!(places, ["/etc/t.toml:1:9:", "/etc/t.toml:2:18", "/etc/t.toml:3:9:", "/etc/t.toml:5:8:"]);
    }

    #[test]
    fn a_key_that_means_nothing_is_told_at_its_line() {
        let told = check("[keys]\nKEY_A = \"lane 1\"\nKEY_B = \"lane 7\"\n");
        assert!(told.starts_with("/etc/t.toml:3:9: expected the kernel's name of a key with lane 1"), "{told}");
        assert!(told.contains("found \"lane 7\""), "{told}");
        let told = check("sound_level = 0\n[leds]\n1 = [\"a\", \"b\"]\n");
        assert!(told.contains("/etc/t.toml:1:15: expected a step from 1 to 5, found 0"), "{told}");
        assert!(told.contains("/etc/t.toml:3:5: ") && told.contains("found 2 lights for lane 1"), "{told}");
    }

    #[test]
    fn broken_toml_is_placed_and_hides_the_rest() {
        let told = check("units = \nnonsense = 1\n");
        assert!(told.starts_with("/etc/t.toml:1:"), "{told}");
        assert!(!told.contains("nonsense = 1\n"), "{told}");
    }

    #[test]
    fn a_column_counts_characters_and_survives_carriage_returns() {
        let told = check("kitchen = \"Küche\"\r\nlanes = [\"Öfen\", 7]\r\n");
        assert!(told.contains("/etc/t.toml:2:18: "), "{told}");
        assert!(!told.contains('\r'), "{told:?}");
    }
}
