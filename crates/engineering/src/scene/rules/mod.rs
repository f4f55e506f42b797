//! What can be wrong with a scene: each in a file of its own.

crate::check::rules! {
    scene_longer_than_life,
}
