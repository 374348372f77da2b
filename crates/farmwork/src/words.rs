//! How amounts are written for a person.

use agronomy::soil::Analyte;
use quantity::{Area, Weight, plain};

/// `2,880 ft² (0.0661 acre, 268 m², 0.0268 ha)`
pub fn area(area: Area) -> String {
    format!(
        "{} ft² ({} acre, {} m², {} ha)",
        plain(area.to_square_feet(), 4),
        plain(area.to_acres(), 3),
        plain(area.si(), 3),
        plain(area.to_hectares(), 3)
    )
}

/// Pounds as a scale shows them: ounces below 2 lb, tenths below 20 lb, whole pounds above.
pub fn lb(lb: f64) -> String {
    if lb.abs() < 0.005 {
        "0 lb".to_owned()
    } else if lb.abs() < 2.0 {
        format!("{} oz", plain(lb * 16.0, 3))
    } else if lb.abs() < 20.0 {
        format!("{} lb", plain((lb * 10.0).round() / 10.0, 3))
    } else {
        format!("{} lb", plain(lb.round(), 4))
    }
}

/// A weight of the record, nothing rounded: `24 lb 8 oz`, `3.25 oz`, `600 lb`.
pub fn weighed(weight: Weight) -> String {
    let all = weight.to_hundredths_of_an_ounce();
    let (lb, rest) = (all.abs() / 1_600, all.abs() % 1_600);
    let sign = if all < 0 { "−" } else { "" };
    let ounces = format!("{} oz", plain(rest as f64 / 100.0, 4));
    match (lb, rest) {
        (lb, 0) => format!("{sign}{} lb", plain(lb as f64, 12)),
        (0, _) => format!("{sign}{ounces}"),
        (lb, _) => format!("{sign}{} lb {ounces}", plain(lb as f64, 12)),
    }
}

/// `2 bags of 50 lb and 14 lb`; none of a bag is `14 lb`.
pub fn bags(lb_needed: f64, bag_lb: Option<f64>) -> String {
    let Some(bag) = bag_lb.filter(|b| *b > 0.0) else {
        return lb(lb_needed);
    };
    let whole = ((lb_needed / bag) + 1e-9).floor();
    let rest = (lb_needed - whole * bag).max(0.0);
    if whole < 1.0 {
        return lb(lb_needed);
    }
    let bags = format!(
        "{} {} of {} lb",
        plain(whole, 4),
        if whole > 1.5 { "bags" } else { "bag" },
        plain(bag, 4)
    );
    if rest < 0.05 {
        bags
    } else {
        format!("{bags} and {}", lb(rest))
    }
}

/// A list in a sentence: `a, b and c`.
pub fn and(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// `a`, `a or b`, `a, b or c`.
pub fn or(parts: &[String]) -> String {
    match parts {
        [most @ .., last] if !most.is_empty() => format!("{} or {last}", most.join(", ")),
        _ => and(parts),
    }
}

/// A small count in words, a larger one in figures: `three`, `14`.
pub fn count(n: usize) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS
        .get(n)
        .map_or_else(|| plain(n as f64, 6), |word| (*word).to_owned())
}

/// The text with its first letter as a capital.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|c| c.to_uppercase().collect::<String>() + chars.as_str())
        .unwrap_or_default()
}

/// Buckets to the nearest quarter: `2½ buckets`, `¼ bucket`, `14 buckets`.
pub fn buckets(count: f64) -> String {
    if count >= 10.0 {
        return format!("{} buckets", plain(count.round(), 4));
    }
    let quarters = (count * 4.0).round();
    if quarters < 1.0 {
        return "less than ¼ bucket".to_owned();
    }
    let whole = (quarters / 4.0).trunc();
    let part = ["", "¼", "½", "¾"][(quarters as usize) % 4];
    let number = if whole > 0.0 {
        format!("{}{part}", plain(whole, 4))
    } else {
        part.to_owned()
    };
    let word = if quarters > 4.0 { "buckets" } else { "bucket" };
    format!("{number} {word}")
}

/// A measured value as a lab writes it: pH with a tenth, the rest with three figures.
pub fn measured(analyte: Analyte, value: f64) -> String {
    match analyte {
        Analyte::Ph | Analyte::PhSalt | Analyte::BufferPh => {
            let hundredths = (value * 100.0).round() / 100.0;
            if (hundredths * 10.0 - (hundredths * 10.0).round()).abs() < 1e-6 {
                format!("{hundredths:.1}")
            } else {
                format!("{hundredths:.2}")
            }
        }
        _ => plain(value, 3),
    }
}

/// A chance (0 to 1) as cases of ten: `3 of 10 cases`.
pub fn of_ten(chance: f64) -> String {
    match (chance * 10.0).round() {
        n if n < 1.0 => "fewer than 1 of 10 cases".to_owned(),
        n if n > 9.0 => "more than 9 of 10 cases".to_owned(),
        n => format!("{n:.0} of 10 cases"),
    }
}

/// Money without its currency: `2,304.00`.
pub fn cents(amount: f64) -> String {
    // The sum turns a negative zero into zero.
    let cents = (amount * 100.0).round() + 0.0;
    let whole = (cents / 100.0).trunc();
    let part = (cents - whole * 100.0).abs();
    format!("{}.{part:02}", plain(whole, 9))
}

/// Money with its currency: `USD 128.40`.
pub fn money(amount: f64, currency: &str) -> String {
    format!("{currency} {}", cents(amount))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_read_as_a_person_writes_them() {
        assert_eq!(lb(0.5), "8 oz");
        assert_eq!(lb(13.26), "13.3 lb");
        assert_eq!(lb(1_240.4), "1,240 lb");
        assert_eq!(weighed(Weight::pounds(24.5)), "24 lb 8 oz");
        assert_eq!(weighed(Weight::pounds(0.203_125)), "3.25 oz");
        assert_eq!(weighed(-Weight::pounds(1_200.0)), "−1,200 lb");
        assert_eq!(weighed(Weight::ZERO), "0 lb");
        assert_eq!(bags(114.0, Some(50.0)), "2 bags of 50 lb and 14 lb");
        assert_eq!(bags(100.0, Some(50.0)), "2 bags of 50 lb");
        assert_eq!(bags(14.0, Some(50.0)), "14 lb");
        assert_eq!(money(1_284.4, "USD"), "USD 1,284.40");
        assert_eq!(money(0.05, "USD"), "USD 0.05");
        assert_eq!(measured(Analyte::Ph, 6.0), "6.0");
        assert_eq!(measured(Analyte::Ph, 6.25), "6.25");
        assert_eq!(measured(Analyte::P, 48.0), "48");
        assert_eq!((count(3), count(14)), ("three".into(), "14".into()));
        assert_eq!(buckets(0.42), "½ bucket");
        assert_eq!(buckets(0.05), "less than ¼ bucket");
        assert_eq!(buckets(1.0), "1 bucket");
        assert_eq!(buckets(2.7), "2¾ buckets");
        assert_eq!(buckets(14.4), "14 buckets");
        assert_eq!(and(&["a".into(), "b".into(), "c".into()]), "a, b and c");
    }

    #[test]
    fn an_area_stands_in_four_units() {
        assert_eq!(
            area(Area::acres(1.0)),
            "43,560 ft² (1 acre, 4,047 m², 0.405 ha)"
        );
    }
}
