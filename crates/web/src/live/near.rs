//! This machine on the networks it is on: its addresses, and a name by which it is found without a server
//! of names (multicast DNS, RFC 6762).

use std::net::IpAddr;

use mdns_sd::{ServiceDaemon, ServiceInfo};

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

/// A name that the network is told, for as long as this is kept.
pub struct Announced {
    daemon: ServiceDaemon,
}

impl std::fmt::Debug for Announced {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Announced")
    }
}

impl Drop for Announced {
    fn drop(&mut self) {
        let _ = self.daemon.shutdown();
    }
}

/// Tells the network that `NAME.local` is this machine, with an office at a port.
///
/// # Errors
/// What the system says: many networks do not carry such names, and nothing depends on it.
pub fn announce(name: &str, port: u16, at: &[IpAddr]) -> Result<Announced, String> {
    let words = |error: mdns_sd::Error| error.to_string();
    let daemon = ServiceDaemon::new().map_err(words)?;
    let service = ServiceInfo::new(
        "_http._tcp.local.",
        name,
        &format!("{name}.local."),
        at,
        port,
        None,
    )
    .map_err(words)?;
    daemon.register(service).map_err(words)?;
    Ok(Announced { daemon })
}
