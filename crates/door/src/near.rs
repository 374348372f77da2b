//! The addresses of this computer on its own networks.

use std::net::{IpAddr, Ipv4Addr};

/// The ranges that networks at home and on farms use, and their prefixes: RFC 1918, RFC 3927 (given by
/// oneself), RFC 6598 (shared behind a carrier), and this computer (RFC 1122).
pub(crate) const NEAR: [(Ipv4Addr, u8); 6] = [
    (Ipv4Addr::new(10, 0, 0, 0), 8),
    (Ipv4Addr::new(172, 16, 0, 0), 12),
    (Ipv4Addr::new(192, 168, 0, 0), 16),
    (Ipv4Addr::new(169, 254, 0, 0), 16),
    (Ipv4Addr::new(100, 64, 0, 0), 10),
    (Ipv4Addr::new(127, 0, 0, 0), 8),
];

/// Whether an address lies on a network of one’s own, and not out on the internet.
pub fn is_near(address: IpAddr) -> bool {
    let IpAddr::V4(address) = address.to_canonical() else {
        return false;
    };
    NEAR.iter().any(|(range, prefix)| {
        let mask = u32::MAX << (32 - u32::from(*prefix));
        u32::from(address) & mask == u32::from(*range) & mask
    })
}

/// The addresses at which other devices of the network reach this computer, the usual kinds first.
pub fn addresses() -> Vec<Ipv4Addr> {
    let mut all: Vec<Ipv4Addr> = if_addrs::get_if_addrs()
        .unwrap_or_default()
        .into_iter()
        .filter(|i| !i.is_loopback() && is_near(i.ip()))
        .filter_map(|i| match i.ip() {
            IpAddr::V4(a) => Some(a),
            IpAddr::V6(_) => None,
        })
        .collect();
    let order = |a: &Ipv4Addr| match a.octets() {
        [192, 168, ..] => 0,
        [10, ..] => 1,
        [172, ..] => 2,
        _ => 3,
    };
    all.sort_by_key(|a| (order(a), *a));
    all.dedup();
    all
}

/// The name under which networks that announce names know this computer, such as `office.local`; none
/// where it has no name that fits.
pub fn host_name() -> Option<String> {
    let whole = gethostname::gethostname().into_string().ok()?;
    let name = whole.split('.').next()?.to_ascii_lowercase();
    let fits = !name.is_empty()
        && name.len() <= 63
        && name != "localhost"
        && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    fits.then(|| format!("{name}.local"))
}
