//! Numbers in and out, as bytes.

/// Powers of ten that a float holds exactly.
const TENS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// Reads a number of up to eight bytes that ends at `to`, digits with or without a point; none for
/// anything else, of which [`parse`] knows more.
///
/// All eight bytes are looked at together, for a step through digits costs the processor a wrong guess at
/// nearly every number. `text` must reach eight bytes before `to`.
#[inline]
pub(crate) fn short(text: &[u8], from: usize, to: usize) -> Option<f64> {
    const ONES: u64 = 0x0101_0101_0101_0101;
    const HIGH: u64 = 0x8080_8080_8080_8080;
    let len = to - from;
    if !(1..=8).contains(&len) {
        return None;
    }
    let eight: &[u8; 8] = text.get(to.checked_sub(8)?..to)?.first_chunk()?;
    // The first digit stands lowest; what stands before the number becomes noughts.
    let before = (8 - len) * 8;
    let keep = u64::MAX << before;
    let mut all = (u64::from_le_bytes(*eight) & keep) | ((ONES * 0x30) & !keep);
    let is_point = all ^ (ONES * 0x2e);
    let points = !(((is_point & !HIGH) + !HIGH) | is_point | !HIGH);
    let mut decimals = 0;
    if points != 0 {
        let at = points.trailing_zeros() as usize / 8;
        // The digits before the point move up into its place.
        let behind = u64::MAX.checked_shl((at as u32 + 1) * 8).unwrap_or(0);
        all = (all & behind) | ((all << 8) & !behind) | 0x30;
        decimals = 7 - at;
        if len == 1 {
            return None;
        }
    }
    let digits = all ^ (ONES * 0x30);
    // Each byte must be 0 to 9.
    if (digits | digits.wrapping_add(ONES * 0x76)) & HIGH != 0 {
        return None;
    }
    let pairs = (digits * 10 + (digits >> 8)) & 0x00ff_00ff_00ff_00ff;
    let fours = (pairs * 100 + (pairs >> 16)) & 0x0000_ffff_0000_ffff;
    let whole = (fours & 0xffff) * 10_000 + (fours >> 32);
    Some(whole as f64 / TENS[decimals])
}

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
        fn short_ones_as_well(
            text in prop_oneof![r"[0-9]{0,8}", r"[0-9]{0,5}\.[0-9]{0,4}", r"[0-9./:+-]{0,9}", "[0-9é]{0,4}"],
        ) {
            let longer = format!("12345678{text},9");
            let got = short(longer.as_bytes(), 8, 8 + text.len());
            let library = text.parse::<f64>().ok();
            let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
            if plain && text.len() <= 8 {
                prop_assert_eq!(got.map(f64::to_bits), library.map(f64::to_bits));
            } else {
                prop_assert_eq!(got, None);
            }
        }

        #[test]
        fn reads_as_the_library_does(text in r"[0-9]{0,12}\.?[0-9]{0,9}") {
            let library = text.parse::<f64>().ok();
            prop_assert_eq!(parse(text.as_bytes()).map(f64::to_bits), library.map(f64::to_bits));
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
    }
}
