//! Which line, station, track: numbers that are valid within one [`Way`](crate::Way).

macro_rules! id {
    ($(#[$meta:meta])* $name:ident) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);

        impl $name {
            /// The number as an index.
            pub fn index(self) -> usize {
                self.0 as usize
            }

            #[allow(dead_code, reason = "not every kind is numbered from outside its list")]
            pub(crate) fn at(index: usize) -> Self {
                Self(u32::try_from(index).expect("fewer than 2^32 things in a railroad"))
            }
        }
    };
}

id! {
    /// A line of a railroad.
    LineId
}
id! {
    /// A station of a railroad.
    StationId
}
id! {
    /// A track within its station.
    TrackId
}
id! {
    /// A switch within its station.
    SwitchId
}
id! {
    /// A crossing within its station.
    CrossingId
}
id! {
    /// A turntable within its station.
    TurntableId
}
id! {
    /// A joint within its station.
    JointId
}
id! {
    /// A station end within its station.
    EndId
}
id! {
    /// A scene of a railroad.
    SceneId
}
id! {
    /// A power district of a railroad.
    DistrictId
}

/// A track of the railroad.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TrackRef {
    /// Its station.
    pub station: StationId,
    /// The track there.
    pub track: TrackId,
}

/// A district of open line: which line, and which of its districts, in the order written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct OpenRef {
    /// The line.
    pub line: LineId,
    /// Index into [`Line::open`](crate::line::Line::open).
    pub open: u32,
}
