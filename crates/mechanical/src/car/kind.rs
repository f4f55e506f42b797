//! Kinds of cars, and the other closed lists of the car record.

use super::designation::Class;

model::words! {
    /// What kind of car it is, in the words a shipper orders it by.
    pub enum CarKind {
        Boxcar = "boxcar", "a house car for general freight";
        AutomobileCar = "automobile car", "a boxcar with wide doors";
        Reefer = "reefer", "a refrigerator car";
        Ventilator = "ventilator", "a boxcar with ventilated doors and ends, for fruit";
        Stock = "stock", "a car for livestock";
        Poultry = "poultry car", "a car of cages for live poultry";
        Gondola = "gondola", "an open car with sides";
        Hopper = "hopper", "an open car that empties through its floor";
        CoveredHopper = "covered hopper", "a hopper with a roof";
        OreCar = "ore car", "a short hopper or gondola for ore";
        CokeCar = "coke car", "a gondola or hopper with racks for coke";
        Flat = "flat", "a flat car";
        LogCar = "log car", "a flat or skeleton car for logs";
        PulpwoodCar = "pulpwood car", "a flat or open car with end racks for pulpwood";
        Well = "well car", "a car with a low floor for tall loads";
        TrailerFlat = "trailer flat", "a flat car for highway trailers";
        ContainerCar = "container car", "a car for containers";
        AutoRack = "auto rack", "a car with decks for automobiles";
        Tank = "tank", "a tank car";
        PickleCar = "vat car", "a car of wooden vats, for pickles or vinegar";
        Milk = "milk car", "a car for milk in cans or tanks, run in passenger trains";
        ExpressReefer = "express reefer", "a refrigerator car fit for passenger trains";
        ExpressBox = "express boxcar", "a boxcar fit for passenger trains";
        Caboose = "caboose", "the conductor's car at the rear of a freight train";
        Coach = "coach", "a passenger car with seats";
        Combine = "combine", "a passenger car with a baggage room";
        Baggage = "baggage car", "a car for baggage and express";
        Mail = "mail car", "a car in which mail is sorted or carried";
        Diner = "diner", "a car in which meals are served";
        Lounge = "lounge", "a passenger car for sitting at ease: parlor, club and observation cars";
        Sleeper = "sleeper", "a passenger car with berths";
        Business = "business car", "an officer's car";
        MotorCar = "motor car trailer", "an unpowered car that runs with a motor car";
        Work = "work car", "a car in the company's own service";
        Crane = "crane", "a wrecking or locomotive crane";
        Plow = "snowplow", "a snowplow, spreader or flanger";
        WaterCar = "water car", "a tank car that carries water for the company's engines";
        TestCar = "scale test car", "a short car of known weight that tests track scales";
    }
}

impl CarKind {
    /// The classes of mechanical designation that such a car may bear.
    pub(crate) const fn classes(self) -> &'static [Class] {
        use Class as C;
        match self {
            Self::Boxcar | Self::AutomobileCar => &[C::Box, C::Ventilator],
            Self::Reefer => &[C::Refrigerator],
            Self::Ventilator => &[C::Ventilator, C::Box],
            Self::Stock | Self::Poultry => &[C::Stock, C::Special],
            Self::Gondola | Self::OreCar => &[C::Gondola, C::Hopper],
            Self::Hopper | Self::CokeCar => &[C::Hopper, C::Gondola],
            // Covered hoppers began as a special class, LO.
            Self::CoveredHopper => &[C::Special, C::Hopper],
            Self::Flat | Self::LogCar | Self::PulpwoodCar | Self::Well => {
                &[C::Flat, C::Special, C::Gondola]
            }
            Self::TrailerFlat | Self::ContainerCar | Self::AutoRack => {
                &[C::Flat, C::Special, C::Gondola, C::Box]
            }
            Self::Tank | Self::PickleCar | Self::WaterCar => &[C::Tank, C::Special, C::Maintenance],
            Self::Milk | Self::ExpressReefer => &[C::Passenger, C::Refrigerator, C::Box, C::Tank],
            Self::ExpressBox => &[C::Passenger, C::Box],
            Self::Caboose => &[C::Caboose],
            Self::Coach
            | Self::Combine
            | Self::Baggage
            | Self::Mail
            | Self::Diner
            | Self::Lounge
            | Self::Sleeper
            | Self::MotorCar => &[C::Passenger],
            Self::Business => &[C::Passenger, C::Maintenance],
            // The company's own cars often keep the designation they were built under.
            Self::Work | Self::Crane | Self::Plow | Self::TestCar => &[
                C::Maintenance,
                C::Box,
                C::Ventilator,
                C::Refrigerator,
                C::Stock,
                C::Gondola,
                C::Hopper,
                C::Flat,
                C::Tank,
                C::Special,
                C::Caboose,
                C::Passenger,
            ],
        }
    }

    /// Whether freight shippers can order it.
    pub const fn carries_freight(self) -> bool {
        !matches!(
            self,
            Self::Caboose
                | Self::Coach
                | Self::Combine
                | Self::Baggage
                | Self::Mail
                | Self::Diner
                | Self::Lounge
                | Self::Sleeper
                | Self::Business
                | Self::MotorCar
                | Self::Work
                | Self::Crane
                | Self::Plow
                | Self::TestCar
        )
    }
}

model::words! {
    /// Whether a car or engine can be used.
    pub enum CarState {
        InService = "in service", "fit to run";
        BadOrder = "bad order", "on the railroad, but not to be moved in trains until mended";
        OnTheBench = "on the bench", "off the railroad for work";
        OffTheRailroad = "off the railroad", "stored or at home with its owner";
    }
}

impl CarState {
    /// Whether it stands on the railroad's track at all.
    pub const fn on_the_railroad(self) -> bool {
        matches!(self, Self::InService | Self::BadOrder)
    }
}

model::words! {
    /// What a car's underframe is made of.
    pub enum Underframe {
        Wood = "wood", "wooden sills, usually with truss rods";
        SteelCenterSill = "steel center sill", "wooden sills about a steel center sill";
        Steel = "steel", "all steel";
    }
}

model::words! {
    /// What a car's running board is made of.
    pub enum RunningBoard {
        Wood = "wood", "planks";
        Steel = "steel", "steel grating";
        None = "none", "no running board: built or rebuilt without one";
    }
}
