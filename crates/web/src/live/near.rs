//! The addresses of this machine on the networks it is on.

use std::net::IpAddr;

/// Addresses by which others on the network reach this machine, the likeliest first.
pub fn addresses() -> Vec<IpAddr> {
    let mut found: Vec<IpAddr> = if_addrs::get_if_addrs()
        .unwrap_or_default()
        .into_iter()
        .filter(|one| !one.is_loopback())
        .map(|one| one.ip())
        .filter(|ip| match ip {
            IpAddr::V4(ip) => !ip.is_link_local() && !ip.is_unspecified(),
            // Phones on a club's network have the old kind of address; the new kind is long to type.
            IpAddr::V6(_) => false,
        })
        .collect();
    found.sort_by_key(|ip| match ip {
        IpAddr::V4(ip) => (!ip.is_private(), ip.octets()),
        IpAddr::V6(_) => (true, [0; 4]),
    });
    found.dedup();
    found
}
