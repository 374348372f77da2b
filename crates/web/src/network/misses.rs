//! Wrong passwords, counted, so that nobody can try them all.

use std::collections::HashMap;
use std::net::IpAddr;
use std::time::{Duration, Instant};

/// Wrong passwords that one device may give within the span.
const MOST: u32 = 5;
/// Wrong passwords that all devices together may give within it.
const MOST_OF_ALL: u32 = 60;
const SPAN: Duration = Duration::from_secs(15 * 60);

#[derive(Default)]
pub(crate) struct Misses {
    by: HashMap<IpAddr, (u32, Instant)>,
}

impl Misses {
    /// Minutes to wait before the next try; none where it may be now.
    pub(crate) fn wait(&mut self, of: IpAddr, now: Instant) -> Option<u64> {
        self.by
            .retain(|_, (_, first)| now.duration_since(*first) < SPAN);
        let all: u32 = self.by.values().map(|(n, _)| n).sum();
        let first = match self.by.get(&of) {
            Some((n, first)) if *n >= MOST => Some(*first),
            _ if all >= MOST_OF_ALL => self.by.values().map(|(_, first)| *first).min(),
            _ => None,
        }?;
        let left = SPAN.saturating_sub(now.duration_since(first));
        Some(left.as_secs().div_ceil(60).max(1))
    }

    pub(crate) fn note(&mut self, of: IpAddr, now: Instant) {
        self.by.entry(of).or_insert((0, now)).0 += 1;
    }

    pub(crate) fn forgive(&mut self, of: IpAddr) {
        self.by.remove(&of);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 1, 9));

    #[test]
    fn the_sixth_try_waits_and_a_right_one_forgives() {
        let (mut m, now) = (Misses::default(), Instant::now());
        for _ in 0..MOST {
            assert_eq!(m.wait(A, now), None);
            m.note(A, now);
        }
        assert_eq!(m.wait(A, now), Some(15));
        assert_eq!(m.wait(A, now + Duration::from_secs(14 * 60 + 30)), Some(1));
        let other = IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 1, 10));
        assert_eq!(m.wait(other, now), None);
        assert_eq!(m.wait(A, now + SPAN), None);
        m.note(A, now);
        m.forgive(A);
        assert!(m.by.is_empty());
    }

    #[test]
    fn many_devices_do_not_get_more_tries_than_all_may_have() {
        let (mut m, now) = (Misses::default(), Instant::now());
        let mut tried = 0;
        for i in 0..255 {
            let of = IpAddr::V4(std::net::Ipv4Addr::new(10, 0, 0, i));
            while m.wait(of, now).is_none() {
                m.note(of, now);
                tried += 1;
            }
        }
        assert_eq!(tried, MOST_OF_ALL);
    }
}
