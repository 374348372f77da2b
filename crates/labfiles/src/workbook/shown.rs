//! What a person sees of a number in a cell: its format applied.
//!
//! The format codes are those of ECMA-376 part 1, 18.8.30 and 18.8.31. Left out on purpose: marks
//! between thousands (1,240 could be one and a bit), fractions and powers (the number is shown).

use super::plain::{self, Parts};

/// A format code, taken apart.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Format {
    sections: Vec<Section>,
}

#[derive(Debug, Clone, PartialEq, Default)]
struct Section {
    condition: Option<(Sign, f64)>,
    before: String,
    after: String,
    /// digits are shown; otherwise the words before alone
    number: bool,
    general: bool,
    /// a zero is shown as a digit
    zero: bool,
    least: usize,
    most: usize,
    percent: bool,
    thousands: i32,
    day: Option<Parts>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sign {
    Less,
    LessOrSame,
    More,
    MoreOrSame,
    Same,
    Other,
}

/// The code behind a number of the standard; those that differ between countries are dates.
pub(crate) fn built_in(id: usize) -> &'static str {
    match id {
        1 | 3 | 37 | 38 => "0",
        2 | 4 | 39 | 40 => "0.00",
        9 => "0%",
        10 => "0.00%",
        11 | 48 => "0.00E+00",
        14..=17 | 27..=31 | 34..=36 | 50..=58 => "yyyy-mm-dd",
        18..=21 | 32 | 33 | 45..=47 => "hh:mm:ss",
        22 => "yyyy-mm-dd hh:mm",
        _ => "General",
    }
}

impl Format {
    pub(crate) fn parse(code: &str) -> Self {
        if code.trim().is_empty() {
            return Self {
                sections: Vec::new(),
            };
        }
        let mut sections = vec![Section::default()];
        let mut reading = Reading::default();
        let mut chars = code.chars().take(400).peekable();
        while let Some(c) = chars.next() {
            if c == ';' {
                if let Some(section) = sections.last_mut() {
                    std::mem::take(&mut reading).end(section);
                }
                sections.push(Section::default());
                continue;
            }
            let Some(section) = sections.last_mut() else {
                break;
            };
            match c {
                '"' => {
                    let words: String = chars.by_ref().take_while(|c| *c != '"').collect();
                    section.word(&words);
                }
                '\\' => section.word(&chars.next().map(String::from).unwrap_or_default()),
                // A blank as wide as the next sign, and a sign repeated to fill the cell.
                '_' | '*' => {
                    chars.next();
                }
                '[' => {
                    let inside: String = chars.by_ref().take_while(|c| *c != ']').collect();
                    section.bracket(&inside, &mut reading);
                }
                '0' | '#' | '?' => {
                    section.number = true;
                    section.thousands = 0;
                    section.zero |= c == '0';
                    if reading.point {
                        section.most += 1;
                        if c == '0' {
                            section.least = section.most;
                        }
                    }
                }
                '.' => reading.point |= section.number || chars.peek() == Some(&'0'),
                // Commas after the last digit divide by a thousand each.
                ',' if section.number => section.thousands += 1,
                '%' => section.percent = true,
                'E' if matches!(chars.peek(), Some('+' | '-')) => {
                    section.general = true;
                    chars.next();
                }
                '/' if section.number => section.general = true,
                'G' | 'g' if code.to_ascii_lowercase().contains("general") => {
                    section.general = true;
                    section.number = true;
                    for _ in 0.."eneral".len() {
                        chars.next();
                    }
                }
                'y' | 'Y' | 'd' | 'D' => reading.date = true,
                'h' | 'H' | 's' | 'S' => reading.time = true,
                'm' | 'M' => reading.month = true,
                '@' => (section.general, section.number) = (true, true),
                'A' | 'P' => {}
                c => section.word(c.encode_utf8(&mut [0; 4])),
            }
        }
        if let Some(section) = sections.last_mut() {
            reading.end(section);
        }
        Self { sections }
    }

    /// The number as seen; empty where the format hides it.
    pub(crate) fn show(&self, value: f64, from_1904: bool) -> String {
        let Some(section) = self.section(value) else {
            return plain::number(value);
        };
        if let Some(parts) = section.day {
            return plain::day(value, parts, from_1904).unwrap_or_else(|| plain::number(value));
        }
        let sign = if value < 0.0 { "-" } else { "" };
        if !section.number {
            // A word stands for the number, such as “n.d.”; a percent sign stands for itself.
            return section.before.trim().to_owned();
        }
        let factor = if section.percent { 100.0 } else { 1.0 };
        let scaled = value.abs() * factor / 1_000f64.powi(section.thousands);
        let number = section.digits(scaled);
        let percent = if section.percent { "%" } else { "" };
        let before = section.before.trim_end();
        // The sign or the bracket of a negative number is put before it anyway.
        let before = if number.is_empty() {
            before
        } else {
            before.trim_end_matches(['-', '(', '+'])
        };
        let seen = format!("{before}{sign}{number}{percent}{}", section.after);
        seen.trim().to_owned()
    }

    fn section(&self, value: f64) -> Option<&Section> {
        let all = self.sections.as_slice();
        if all.iter().any(|s| s.condition.is_some()) {
            return all.iter().find(|s| {
                s.condition
                    .is_none_or(|(sign, than)| sign.holds(value, than))
            });
        }
        match all {
            [_, negative, ..] if value < 0.0 => Some(negative),
            [_, _, zero, ..] if value == 0.0 => Some(zero),
            [first, ..] => Some(first),
            [] => None,
        }
    }
}

impl Sign {
    fn holds(self, value: f64, than: f64) -> bool {
        match self {
            Self::Less => value < than,
            Self::LessOrSame => value <= than,
            Self::More => value > than,
            Self::MoreOrSame => value >= than,
            Self::Same => value == than,
            Self::Other => value != than,
        }
    }
}

impl Section {
    fn word(&mut self, words: &str) {
        // The other bracket of a negative number.
        if words == ")" {
            return;
        }
        if self.number {
            self.after.push_str(words);
        } else {
            self.before.push_str(words);
        }
    }

    fn bracket(&mut self, inside: &str, reading: &mut Reading) {
        let signs = [
            ("<=", Sign::LessOrSame),
            (">=", Sign::MoreOrSame),
            ("<>", Sign::Other),
            ("<", Sign::Less),
            (">", Sign::More),
            ("=", Sign::Same),
        ];
        for (mark, sign) in signs {
            if let Some(than) = inside.strip_prefix(mark) {
                self.condition = than.trim().parse().ok().map(|than| (sign, than));
                return;
            }
        }
        let elapsed = !inside.is_empty() && inside.chars().all(|c| "hHmMsS".contains(c));
        reading.time |= elapsed;
    }

    /// The digits of a number that is not negative.
    fn digits(&self, value: f64) -> String {
        let exact = plain::number(value);
        if self.general {
            return exact;
        }
        let mut seen = plain::fixed(value, self.most);
        while self.most > self.least
            && seen.contains('.')
            && seen.ends_with('0')
            && seen.len() - seen.find('.').unwrap_or(0) - 1 > self.least
        {
            seen.pop();
        }
        let seen = seen.trim_end_matches('.');
        if value == 0.0 && !self.zero {
            return String::new();
        }
        // A format that leaves less than two digits hides what the lab measured: 0.4 as 0.
        if significant(seen) < 2 && significant(&exact) > significant(seen) {
            return exact;
        }
        seen.to_owned()
    }
}

/// Digits from the first that is not zero.
fn significant(text: &str) -> usize {
    let digits: Vec<char> = text.chars().filter(char::is_ascii_digit).collect();
    digits.iter().skip_while(|c| **c == '0').count()
}

/// What a section's letters say so far.
#[derive(Debug, Default)]
struct Reading {
    point: bool,
    date: bool,
    time: bool,
    month: bool,
}

impl Reading {
    fn end(self, section: &mut Section) {
        section.day = match (self.date || (self.month && !self.time), self.time) {
            // `0 "dd"` is a number; letters of days beside digits are words.
            _ if section.number && !self.time => None,
            (true, true) => Some(Parts::Both),
            (true, false) => Some(Parts::Date),
            (false, true) => Some(Parts::Time),
            (false, false) => None,
        };
        if section.day.is_none() && !section.number && section.before.is_empty() {
            // A code of text (`@`), of nothing, or not understood.
            section.general |= self.month || self.date;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_format_shows_what_a_person_sees() {
        for (code, value, seen) in [
            ("General", 6.200000000000001, "6.2"),
            ("0.00", 6.2, "6.20"),
            ("0.0", 6.234, "6.2"),
            ("0", 0.4, "0.4"),
            ("0", 12.6, "13"),
            ("0.0##", 1.5, "1.5"),
            ("#,##0.0", 1240.25, "1240.3"),
            ("0%", 0.032, "3.2%"),
            ("0.0%", 0.032, "3.2%"),
            ("\"<\"0.0", 0.1, "<0.1"),
            ("[<0.1]\"<0.1\";0.00", 0.05, "<0.1"),
            ("[<0.1]\"<0.1\";0.00", 0.25, "0.25"),
            ("[Red][>=100]0;0.0", 6.25, "6.3"),
            ("0.0 \"ppm\"", 12.04, "12.0 ppm"),
            ("0\\ \"lb\"", 12.0, "12 lb"),
            ("0.0;-0.0;\"n.d.\"", 0.0, "n.d."),
            ("0.0;(0.0)", -1.5, "-1.5"),
            ("0.0;-0.0", -1.5, "-1.5"),
            ("0.0;\"-\"0.0", -1.5, "-1.5"),
            (
                "_(* #,##0.00_);_(* \\(#,##0.00\\);_(* \"-\"??_);_(@_)",
                0.0,
                "-",
            ),
            (
                "_(* #,##0.00_);_(* \\(#,##0.00\\);_(* \"-\"??_);_(@_)",
                7.5,
                "7.50",
            ),
            ("0,", 12_400.0, "12"),
            ("0.00E+00", 1234.5, "1234.5"),
            ("yyyy-mm-dd", 45_351.0, "2024-02-29"),
            ("m/d/yy", 45_351.0, "2024-02-29"),
            ("[$-409]d-mmm-yy;@", 45_351.0, "2024-02-29"),
            ("m/d/yy h:mm", 45_351.437_5, "2024-02-29 10:30"),
            ("h:mm AM/PM", 0.437_5, "10:30"),
            ("[h]:mm", 0.437_5, "10:30"),
            ("yyyy-mm-dd", -5.0, "-5"),
            ("@", 5.0, "5"),
            ("", 5.0, "5"),
            ("mm:ss.0", 0.000_694_444_444, "00:01"),
        ] {
            assert_eq!(Format::parse(code).show(value, false), seen, "{code}");
        }
    }

    #[test]
    fn built_in_formats_parse() {
        for id in 0..200 {
            let seen = Format::parse(built_in(id)).show(45_351.0, false);
            assert!(
                seen.starts_with(|c: char| c.is_ascii_digit()),
                "{id} {seen}"
            );
        }
    }
}
