//! Running times against published figures and plain arithmetic.

use model::units::{Actual, Speed};
use planning::running::{Assumed, steady};
use railroad::{Folder, load};

/// A model train at scale speed over real track, and what the fast clock makes of it: 10 real feet at 30
/// scale mph in HO take 120 r / 528 = 19.795 s; 40 feet take 79.18 s, which at 4:1 are 5.28 minutes.
/// Arithmetic from the definition of scale speed; NMRA S-1.2 gives HO as 1:87.1.
#[test]
fn feet_at_scale_speed_by_the_fast_clock() {
    let railroad = load(&Folder::built_in("example").unwrap()).railroad;
    let real = Assumed {
        clock: 1.0,
        allowance: 0.0,
        observed: Vec::new(),
    };
    let thirty = Speed::from_mph(30.0);
    // Up to the next second.
    assert_eq!(
        steady(&railroad, &real, Actual::from_feet(10.0), thirty),
        20
    );
    assert_eq!(
        steady(&railroad, &real, Actual::from_feet(40.0), thirty),
        80
    );
    let fast = Assumed { clock: 4.0, ..real };
    let seconds = steady(&railroad, &fast, Actual::from_feet(40.0), thirty);
    assert_eq!(seconds, 317);
    assert!((seconds as f64 / 60.0 - 5.28).abs() < 0.01);
}
