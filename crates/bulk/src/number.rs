//! Numbers in and out, as bytes.

/// Powers of ten that a float holds exactly.
const TENS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// Reads a number as the standard library would; none for what is not one or not finite.
#[inline]
pub(crate) fn parse(text: &[u8]) -> Option<f64> {
    let mut digits: u64 = 0;
    let mut count = 0_usize;
    let mut after: Option<usize> = None;
    for b in text {
        match b {
            b'0'..=b'9' => {
                digits = digits * 10 + u64::from(b - b'0');
                count += 1;
                // Up to fifteen digits and their power of ten are exact, so one division rounds right.
                if count > 15 {
                    return by_library(text);
                }
            }
            b'.' if after.is_none() => after = Some(count),
            _ => return by_library(text),
        }
    }
    if count == 0 {
        return None;
    }
    let decimals = after.map_or(0, |at| count - at);
    Some(digits as f64 / TENS[decimals])
}

#[cold]
fn by_library(text: &[u8]) -> Option<f64> {
    // Words such as “inf” are numbers to the library and not to a lab.
    if !text
        .iter()
        .all(|b| matches!(b, b'0'..=b'9' | b'+' | b'-' | b'.' | b'e' | b'E'))
    {
        return None;
    }
    let value: f64 = std::str::from_utf8(text).ok()?.parse().ok()?;
    value.is_finite().then_some(value)
}

/// Writes an amount that is not negative, to one tenth; a whole one without a point.
#[inline]
pub(crate) fn push_tenth(out: &mut Vec<u8>, value: f64) {
    if !(0.0..1e14).contains(&value) {
        out.extend_from_slice(format!("{value:.1}").as_bytes());
        return;
    }
    let tenths = (value * 10.0 + 0.5) as u64;
    push_whole(out, tenths / 10);
    let last = (tenths % 10) as u8;
    if last > 0 {
        out.extend_from_slice(&[b'.', b'0' + last]);
    }
}

/// Writes a whole number.
#[inline]
pub(crate) fn push_whole(out: &mut Vec<u8>, mut value: u64) {
    let mut text = [0_u8; 20];
    let mut at = text.len();
    loop {
        at -= 1;
        text[at] = b'0' + (value % 10) as u8;
        value /= 10;
        if value == 0 {
            break;
        }
    }
    out.extend_from_slice(&text[at..]);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(50_000))]
        #[test]
        fn reads_as_the_library_does(text in r"[0-9]{0,12}\.?[0-9]{0,9}") {
            let library = text.parse::<f64>().ok();
            prop_assert_eq!(parse(text.as_bytes()).map(f64::to_bits), library.map(f64::to_bits));
        }

        #[test]
        fn writes_to_a_tenth(value in prop_oneof![0.0_f64..20.0, 0.0_f64..1e6, 0.0_f64..1e14]) {
            let mut out = Vec::new();
            push_tenth(&mut out, value);
            let back: f64 = std::str::from_utf8(&out).unwrap().parse().unwrap();
            prop_assert!((back - value).abs() <= 0.050_001 + value * 1e-15);
        }
    }

    #[test]
    fn odd_ones() {
        for (text, value) in [
            ("-1.5", Some(-1.5)),
            ("+2", Some(2.0)),
            ("1e2", Some(100.0)),
            (".5", Some(0.5)),
            ("5.", Some(5.0)),
            ("", None),
            (".", None),
            ("1.2.3", None),
            ("inf", None),
            ("nan", None),
            ("1e999", None),
            ("6,4", None),
            ("n/a", None),
        ] {
            assert_eq!(parse(text.as_bytes()), value, "{text}");
        }
        for (value, text) in [
            (0.0, "0"),
            (0.04, "0"),
            (0.05, "0.1"),
            (12.0, "12"),
            (3599.96, "3600"),
            (1e17, "100000000000000000.0"),
        ] {
            let mut out = Vec::new();
            push_tenth(&mut out, value);
            assert_eq!(std::str::from_utf8(&out).unwrap(), text);
        }
    }
}
