//! Numbers, dates and names as a page prints them.

use serde::Serialize;

/// Above this a number is no farm's any more; it is written in powers of ten to stay in its column.
const LARGEST_WRITTEN_OUT: f64 = 1e9;

/// [`quantity::plain`] that never runs out of its column.
pub(crate) fn plain(value: f64, significant: i32) -> String {
    if value.is_finite() && value.abs() >= LARGEST_WRITTEN_OUT {
        format!("{value:.2e}")
    } else {
        quantity::plain(value, significant)
    }
}

/// Ounces in an avoirdupois pound; exact by definition.
const OUNCES_PER_POUND: f64 = 16.0;
/// A run of letters longer than this may break anywhere, so that no name leaves its column.
const LONGEST_WORD: usize = 20;
const ZERO_WIDTH_SPACE: char = '\u{200b}';
/// A blank at which no line breaks.
pub(crate) const TIE: char = '\u{a0}';

/// Text as it can be printed: characters that steer rather than print become spaces, and a very
/// long word is given places to break.
pub(crate) fn text(raw: &str) -> String {
    let clean: String = raw
        .chars()
        .map(|c| if steers(c) { ' ' } else { c })
        .collect();
    let mut out = String::with_capacity(clean.len());
    for (i, word) in clean.split_whitespace().enumerate() {
        if i > 0 {
            out.push(' ');
        }
        let long = word.chars().count() > LONGEST_WORD;
        for (n, c) in word.chars().enumerate() {
            if long && n > 0 && n % 10 == 0 {
                out.push(ZERO_WIDTH_SPACE);
            }
            out.push(c);
        }
    }
    out
}

/// Control characters and the marks that turn the direction of writing.
fn steers(c: char) -> bool {
    c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// [`text`], cut so that it stays on one line of a footer.
pub(crate) fn short(raw: &str, longest: usize) -> String {
    let whole = text(raw);
    if whole.chars().count() <= longest {
        return whole;
    }
    let mut cut: String = whole.chars().take(longest.saturating_sub(1)).collect();
    cut.truncate(cut.trim_end().len());
    cut.push('…');
    cut
}

/// `text` with `ft2`, `m2` and the like set with the raised two.
pub(crate) fn area(raw: &str) -> String {
    text(raw).replace("ft2", "ft²").replace("m2", "m²")
}

/// A number with at most three figures below 100.
pub(crate) fn number(value: f64) -> String {
    plain(value, 3)
}

/// An amount to weigh on a farm scale: whole pounds from 50 lb, halves from 20, quarters from 5,
/// tenths from 1, and ounces below. The rounding stays within 5 %. Number and unit stay on one line.
pub(crate) fn weighed(lb: f64) -> String {
    if !lb.is_finite() {
        "–".to_owned()
    } else if lb <= 0.0 {
        format!("0{TIE}lb")
    } else if lb >= 50.0 {
        format!("{}{TIE}lb", plain(lb.round(), 3))
    } else if lb >= 20.0 {
        format!("{}{TIE}lb", in_parts(lb, 2.0))
    } else if lb >= 5.0 {
        format!("{}{TIE}lb", in_parts(lb, 4.0))
    } else if lb >= 1.0 {
        format!("{}{TIE}lb", plain((lb * 10.0).round() / 10.0, 2))
    } else {
        format!("{}{TIE}oz", plain(lb * OUNCES_PER_POUND, 2))
    }
}

/// Buckets in words: quarters up to four, halves up to ten, then whole ones.
pub(crate) fn buckets(count: f64) -> Option<String> {
    if !count.is_finite() || count <= 0.0 {
        return None;
    }
    Some(if count < 0.125 {
        "less than ¼".to_owned()
    } else if count < 4.0 {
        in_parts(count, 4.0)
    } else if count < 10.0 {
        in_parts(count, 2.0)
    } else {
        plain(count.round(), 3)
    })
}

/// `bucket` or `buckets` to go with what [`buckets`] wrote.
pub(crate) fn bucket_word(written: &str) -> &'static str {
    match written {
        "1" | "¼" | "½" | "¾" | "less than ¼" => "bucket",
        _ => "buckets",
    }
}

/// Rounds to the nearest of `parts` (2 or 4) to the whole and writes the fraction as one sign.
fn in_parts(value: f64, parts: f64) -> String {
    let rounded = (value * parts).round() / parts;
    let whole = rounded.trunc();
    let sign = match ((rounded - whole) * 4.0).round() as u8 {
        1 => "¼",
        2 => "½",
        3 => "¾",
        _ => "",
    };
    if whole == 0.0 && !sign.is_empty() {
        sign.to_owned()
    } else {
        format!("{}{sign}", plain(whole, 3))
    }
}

/// An amount in an account: whole from 10, else to the tenth, or to two figures where it is smaller.
pub(crate) fn account(value: f64) -> String {
    if value.abs() >= 10.0 {
        number(value.round())
    } else if value.abs() >= 1.0 || value.abs() < 0.0005 {
        number((value * 10.0).round() / 10.0)
    } else {
        plain(value, 2)
    }
}

/// An amount of money to the cent, e.g. `$1,234.50` or `CAD 12.00`.
pub(crate) fn money(amount: f64, currency: &str) -> String {
    if !amount.is_finite() {
        return "–".to_owned();
    }
    let cents = (amount.abs() * 100.0).round();
    let (whole, part) = ((cents / 100.0).trunc(), cents % 100.0);
    let sign = if amount < 0.0 && cents > 0.0 {
        "−"
    } else {
        ""
    };
    let currency = text(currency);
    let mark = match currency.as_str() {
        "USD" => "$".to_owned(),
        one if one.chars().count() <= 1 => one.to_owned(),
        code => format!("{code} "),
    };
    format!("{sign}{mark}{}.{part:02.0}", plain(whole, 3))
}

/// `2027-01-09` as `January 9, 2027`; anything that is not such a day is printed as it came.
pub(crate) fn day(iso: &str) -> String {
    iso.get(..10)
        .and_then(|d| d.parse::<jiff::civil::Date>().ok())
        .map_or_else(|| text(iso), |d| d.strftime("%B %-d, %Y").to_string())
}

/// A short name tied together so that it does not break at the end of a line.
pub(crate) fn tied(name: &str) -> String {
    let name = text(name);
    if name.chars().count() <= 24 {
        name.replace(' ', &TIE.to_string())
    } else {
        name
    }
}

/// `1 block`, `2 blocks`.
pub(crate) fn count(n: usize, one: &str, many: &str) -> String {
    format!("{} {}", plain(n as f64, 3), if n == 1 { one } else { many })
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// The foot of a page on which nothing stands.
#[derive(Serialize)]
pub(crate) struct NoFoot {
    block: String,
    farm: String,
    made: String,
}

impl NoFoot {
    pub fn of(farm: &str) -> Self {
        Self {
            block: String::new(),
            farm: text(farm),
            made: String::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(lb: f64) -> String {
        weighed(lb).replace(TIE, " ")
    }

    #[test]
    fn amounts_are_written_as_a_scale_reads() {
        assert_eq!(read(24.3), "24½ lb");
        assert_eq!(read(63.6), "64 lb");
        assert_eq!(read(1234.4), "1,234 lb");
        assert_eq!(read(5.47), "5½ lb");
        assert_eq!(read(7.25), "7¼ lb");
        assert_eq!(read(19.9), "20 lb");
        assert_eq!(read(1.26), "1.3 lb");
        assert_eq!(read(0.35), "5.6 oz");
        assert_eq!(read(0.0), "0 lb");
        assert_eq!(read(f64::NAN), "–");
    }

    #[test]
    fn no_amount_is_rounded_by_more_than_five_percent() {
        for i in 1..80_000 {
            let lb = f64::from(i) * 0.001;
            let written = read(lb)
                .replace(',', "")
                .replace('¼', ".25")
                .replace('½', ".5")
                .replace('¾', ".75");
            let (number, unit) = written.split_once(' ').expect("a number and its unit");
            let mut back: f64 = number.parse().expect("a number");
            if unit == "oz" {
                back /= OUNCES_PER_POUND;
            }
            assert!(
                (back - lb).abs() <= 0.0501 * lb,
                "{lb} was written {written}"
            );
        }
    }

    #[test]
    fn buckets_come_in_quarters() {
        assert_eq!(buckets(0.72).as_deref(), Some("¾"));
        assert_eq!(buckets(2.9).as_deref(), Some("3"));
        assert_eq!(buckets(0.05).as_deref(), Some("less than ¼"));
        assert_eq!(buckets(6.4).as_deref(), Some("6½"));
        assert_eq!(buckets(23.6).as_deref(), Some("24"));
        assert_eq!(buckets(0.0), None);
        assert_eq!(bucket_word("¾"), "bucket");
        assert_eq!(bucket_word("1½"), "buckets");
    }

    #[test]
    fn money_is_written_to_the_cent() {
        assert_eq!(money(1234.5, "USD"), "$1,234.50");
        assert_eq!(money(0.999, "$"), "$1.00");
        assert_eq!(money(12.0, "CAD"), "CAD 12.00");
        assert_eq!(money(-3.0, "€"), "−€3.00");
        assert_eq!(money(f64::INFINITY, "USD"), "–");
    }

    #[test]
    fn days_are_written_out() {
        assert_eq!(day("2027-01-09"), "January 9, 2027");
        assert_eq!(day("2027-01-09T08:00:00Z"), "January 9, 2027");
        assert_eq!(day("in January"), "in January");
        assert_eq!(day("2027-13-40"), "2027-13-40");
    }

    #[test]
    fn long_words_may_break_and_steering_marks_go() {
        assert_eq!(text("North\u{0}1\n\u{202e}x"), "North 1 x");
        assert_eq!(text("*_$ #eval"), "*_$ #eval");
        let broken = text(&"x".repeat(25));
        assert_eq!(broken.matches(ZERO_WIDTH_SPACE).count(), 2);
        assert_eq!(short("abcdef", 4), "abc…");
    }

    #[test]
    fn lists_read_as_speech() {
        let items: Vec<String> = ["a", "b", "c"].map(str::to_owned).to_vec();
        assert_eq!(list(&items), "a, b and c");
        assert_eq!(list(&items[..2]), "a and b");
        assert_eq!(list(&[]), "");
    }
}
