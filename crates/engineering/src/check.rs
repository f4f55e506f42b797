//! What can be wrong with way and structures.

use model::{Diagnostics, units::Actual};

use crate::{Limits, Network, Profile, Way, ids::LineId, line, power, scene, station};

/// Makes a module of each rule, the list of them, and a function that runs their checks.
macro_rules! rules {
    ($($name:ident,)*) => {
        $(#[allow(missing_docs, reason = "each file says it at its head")] pub mod $name;)*

        /// All of them, by code.
        pub const RULES: &[&model::Rule] = &[$(&$name::RULE),*];

        /// Looks for all of them.
        pub(crate) fn check(check: &mut crate::check::Check<'_>) {
            $($name::check(check);)*
        }
    };
}
pub(crate) use rules;

/// The name that was probably meant. Of names as short as `s4` every other is a near miss, so only
/// their capitals are mended.
pub(crate) fn guess<'a>(
    written: &str,
    names: impl Iterator<Item = &'a str> + Clone,
) -> Option<&'a str> {
    let same = names
        .clone()
        .find(|name| name.eq_ignore_ascii_case(written));
    same.or_else(|| {
        (written.chars().count() > 2)
            .then(|| model::diagnostic::nearest(written, names))
            .flatten()
    })
}

/// What a check looks at, and where it reports.
pub(crate) struct Check<'a> {
    pub(crate) way: &'a Way,
    pub(crate) network: &'a Network,
    pub(crate) limits: &'a Limits,
    pub(crate) out: &'a mut Diagnostics,
    show: &'a dyn Fn(Actual) -> String,
}

impl Check<'_> {
    /// A length as the owner likes it.
    pub(crate) fn show(&self, length: Actual) -> String {
        (self.show)(length)
    }

    /// The profile of a line.
    pub(crate) fn profile(&self, line: LineId) -> Profile {
        Profile::new(self.way, self.network, line)
    }
}

impl Way {
    /// Looks for everything that can be wrong with way and structures. `network` is that of this way,
    /// and holds the limits; `show` prints a length as the owner likes it.
    pub fn check(&self, network: &Network, show: &dyn Fn(Actual) -> String, out: &mut Diagnostics) {
        let limits = network.limits();
        let mut check = Check {
            way: self,
            network,
            limits,
            out,
            show,
        };
        line::rules::check(&mut check);
        station::rules::check(&mut check);
        scene::rules::check(&mut check);
        power::rules::check(&mut check);
    }
}
