use alloc::{format, string::String};
use core::ops::Range;

use crate::{Fault, Kind, ReadError, Unit};

/// Walks over a text and takes numbers, units and dashes from its front.
pub(crate) struct Scan<'t> {
    text: &'t str,
    at: usize,
    kind: Kind,
    /// Whether a difference of temperatures is read.
    pub(crate) step: bool,
}

/// A number with its unit, in the base unit of its kind.
#[derive(Clone)]
pub(crate) struct Part {
    pub(crate) number: f64,
    pub(crate) unit: Option<Unit>,
    pub(crate) at: Range<usize>,
}

impl<'t> Scan<'t> {
    pub(crate) fn new(text: &'t str, kind: Kind) -> Self {
        Self { text, at: 0, kind, step: false }
    }

    pub(crate) fn text(&self) -> &'t str {
        self.text
    }

    pub(crate) fn kind(&self) -> Kind {
        self.kind
    }

    pub(crate) fn at(&self) -> usize {
        self.at
    }

    pub(crate) fn rest(&self) -> &'t str {
        &self.text[self.at..]
    }

    pub(crate) fn spaces(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start_matches(is_space).len();
    }

    pub(crate) fn is_at_end(&mut self) -> bool {
        self.spaces();
        self.rest().is_empty()
    }

    /// Takes this text if it comes next, letters large or small.
    pub(crate) fn take(&mut self, word: &str) -> bool {
        let found = self.rest().get(..word.len()).is_some_and(|next| next.eq_ignore_ascii_case(word));
        if found {
            self.at += word.len();
        }
        found
    }

    /// Takes what stands between the ends of a range.
    pub(crate) fn dash(&mut self) -> bool {
        self.spaces();
        let rest = self.rest();
        if let Some(dash) = rest.chars().next().filter(|c| is_dash(*c)) {
            self.at += dash.len_utf8();
            return true;
        }
        rest.get(2..).is_some_and(|after| after.starts_with(is_space)) && self.take("to")
    }

    /// One number and its unit, if it has one.
    pub(crate) fn part(&mut self) -> Result<Part, ReadError> {
        self.spaces();
        let start = self.at;
        let sign = self.rest().chars().next().filter(|c| is_dash(*c));
        let negative = sign.is_some();
        self.at += sign.map_or(0, char::len_utf8);
        self.spaces();
        let number = self.number(start)?;
        self.clock(start)?;
        let before_unit = self.at;
        self.spaces();
        let unit = self.unit()?;
        if unit.is_none() {
            self.at = before_unit;
        }
        if negative && (self.kind != Kind::Temperature || unit == Some(Unit::GasMark)) {
            let what = self.kind.words();
            return Err(self.error(Fault::Negative, start..self.at, format!("write {what} of zero or more")));
        }
        Ok(Part { number: if negative { -number } else { number }, unit, at: start..self.at })
    }

    /// Digits, a decimal point or comma, a fraction.
    fn number(&mut self, start: usize) -> Result<f64, ReadError> {
        let whole = self.digits();
        let mut value = None;
        if !whole.is_empty() {
            let mut digits = String::from(whole);
            let rest = self.rest();
            let point = rest.starts_with(['.', ',']) && rest.as_bytes().get(1).is_some_and(u8::is_ascii_digit);
            if point {
                let comma = rest.starts_with(',');
                self.at += 1;
                let decimals = self.digits();
                if comma && decimals.len() == 3 && !whole.trim_start_matches('0').is_empty() {
                    let help = format!(
                        "write {whole}{decimals} without the comma, or {whole}.{decimals} with a decimal point"
                    );
                    return Err(self.error(Fault::Thousands, start..self.at, help));
                }
                digits.push('.');
                digits.push_str(decimals);
            }
            let parsed = digits.parse().unwrap_or(f64::INFINITY);
            value = Some(parsed);
            if !point {
                if let Some(quotient) = self.quotient(parsed) {
                    return Ok(quotient);
                }
                // a mixed number: `1 1/2`
                let back = self.at;
                self.spaces();
                let numerator = self.digits();
                match numerator.parse().ok().and_then(|n: f64| self.quotient(n)) {
                    Some(part) if self.at > back => return Ok(parsed + part),
                    _ => self.at = back,
                }
            }
        }
        let back = self.at;
        self.spaces();
        match self.rest().chars().next().and_then(|c| vulgar(c).map(|part| (c, part))) {
            Some((sign, part)) => {
                self.at += sign.len_utf8();
                Ok(value.unwrap_or(0.0) + part)
            }
            None => {
                self.at = back;
                value.ok_or_else(|| {
                    // a sign that is no letter is named too: an empty place would say nothing
                    let sign = self.rest().chars().next().map_or(0, char::len_utf8);
                    let end = self.word_end(self.at).max(self.at + sign);
                    let fault = if self.rest().is_empty() && start == self.at { Fault::Empty } else { Fault::NoNumber };
                    self.error(fault, start..end, self.example())
                })
            }
        }
    }

    fn digits(&mut self) -> &'t str {
        let rest = self.rest();
        let length = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        self.at += length;
        &rest[..length]
    }

    /// `/4` after a number.
    fn quotient(&mut self, above: f64) -> Option<f64> {
        let back = self.at;
        if self.take("/")
            && let Some(below) = self.digits().parse::<f64>().ok().filter(|below| *below > 0.0)
        {
            return Some(above / below);
        }
        self.at = back;
        None
    }

    /// Refuses `12:30`.
    fn clock(&mut self, start: usize) -> Result<(), ReadError> {
        let Some(after) = self.rest().strip_prefix(':') else {
            return Ok(());
        };
        if !after.starts_with(|c: char| c.is_ascii_digit()) {
            return Ok(());
        }
        let first = self.text[start..self.at].trim();
        let second: String = after.chars().take_while(char::is_ascii_digit).collect();
        let end = self.at + 1 + second.len();
        let help = format!("write {first} min {second} s or {first} h {second} min");
        Err(self.error(Fault::ClockTime, start..end, help))
    }

    /// The unit that comes next: the longest name of up to three words.
    fn unit(&mut self) -> Result<Option<Unit>, ReadError> {
        let mut ends = [self.at; 3];
        let mut words = 0;
        let mut at = self.at;
        while words < ends.len() {
            let end = self.word_end(at);
            if end == at {
                break;
            }
            ends[words] = end;
            words += 1;
            let rest = &self.text[end..];
            at = end + (rest.len() - rest.trim_start_matches(is_space).len());
        }
        if words == 0 {
            return Ok(None);
        }
        for end in ends[..words].iter().rev() {
            let name: String = self.text[self.at..*end]
                .split(is_space)
                .filter(|w| !w.is_empty())
                .collect::<alloc::vec::Vec<_>>()
                .join(" ")
                .to_lowercase();
            if let Some(unit) = Unit::named(&name) {
                if unit.kind() != self.kind {
                    return Err(self.error(Fault::WrongKind { found: unit.kind() }, self.at..*end, self.example()));
                }
                self.at = *end;
                return Ok(Some(unit));
            }
            if self.step && name == "k" {
                self.at = *end;
                return Ok(Some(Unit::Celsius));
            }
        }
        let first = &self.text[self.at..ends[0]];
        if self.kind != Kind::Share && matches!(first.to_ascii_lowercase().as_str(), "to" | "and") {
            return Ok(None);
        }
        let two = self.text[self.at..ends[1.min(words - 1)]].to_ascii_lowercase();
        let (fault, end, help) = match (self.kind, first, two.as_str()) {
            (Kind::Volume, _, "fl oz") => {
                (Fault::Ambiguous, ends[1], String::from("write US fl oz (29.57 ml) or imp fl oz (28.41 ml)"))
            }
            (Kind::Time, "m" | "M", _) => (Fault::Ambiguous, ends[0], String::from("write min for minutes")),
            (Kind::Temperature, "°" | "deg" | "degrees", _) => {
                (Fault::Ambiguous, ends[0], String::from("write °C or °F"))
            }
            _ => (Fault::UnknownUnit, ends[0], self.example()),
        };
        Err(self.error(fault, self.at..end, help))
    }

    /// Where the word that starts at `at` ends.
    fn word_end(&self, at: usize) -> usize {
        let rest = &self.text[at..];
        let letters = |c: char| c.is_alphabetic() || matches!(c, '°' | 'º' | '%' | '℃' | '℉');
        let length = rest.len() - rest.trim_start_matches(letters).len();
        at + length
    }

    pub(crate) fn error(&self, fault: Fault, at: Range<usize>, help: String) -> ReadError {
        let found = self.text[at.clone()].trim();
        // a hostile text must not fill the report
        let short = found.char_indices().nth(60).map_or(found, |(end, _)| &found[..end]);
        let cut = if short.len() < found.len() { "…" } else { "" };
        ReadError { fault, expected: self.expected(), found: format!("{short}{cut}"), at, help }
    }

    fn expected(&self) -> &'static str {
        if self.step { "a temperature difference" } else { self.kind.words() }
    }

    pub(crate) fn example(&self) -> String {
        String::from(match self.kind {
            Kind::Time => "write it like 90 s, 12 min 30 s or 1 h 15 min",
            Kind::Temperature if self.step => "write it like 0.5 °C or 1 °F",
            Kind::Temperature => "write it like 74 °C, 165 °F or gas 4",
            Kind::Mass => "write it like 900 g, 1.2 kg or 8 oz",
            Kind::Volume => "write it like 250 ml, 2 tbsp or 1 US cup",
            Kind::Power => "write it like 700 W",
            Kind::Share => "write it like 3 %",
        })
    }
}

/// Spaces of every width, also those that keep a number and its unit on one line.
pub(crate) fn is_space(c: char) -> bool {
    c.is_whitespace() || matches!(c, '\u{2060}' | '\u{feff}')
}

fn is_dash(c: char) -> bool {
    matches!(c, '-' | '\u{2010}'..='\u{2015}' | '\u{2212}')
}

fn vulgar(c: char) -> Option<f64> {
    Some(match c {
        '½' => 1.0 / 2.0,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '¼' => 1.0 / 4.0,
        '¾' => 3.0 / 4.0,
        '⅛' => 1.0 / 8.0,
        '⅜' => 3.0 / 8.0,
        '⅝' => 5.0 / 8.0,
        '⅞' => 7.0 / 8.0,
        _ => return None,
    })
}
