//! The whole road: its folder read into one typed [`Railroad`], the checks that cross departments,
//! the handbook of its pages and diagnostics.
//!
//! Reading never fails: [`load`] gives what could be read and everything that is wrong with it.

pub mod books;
mod checks;
pub mod edit;
pub mod fit;
pub mod fixture;
pub mod folder;
pub mod handbook;
pub mod identity;
mod load;
pub mod rating;
mod rules;
mod stand;

pub use checks::{
    context::{Step, TrainWay, way_between, ways},
    shop,
};
pub use folder::{Folder, FolderError};
pub use identity::Identity;
pub use load::{Loaded, Railroad, load};
pub use model::diagnostic::Look;
pub use rules::{all_rules, find_rule};
pub use stand::stand;

/// The pages of a railroad folder, in the order of the handbook.
pub fn pages() -> Vec<&'static model::text::Page> {
    let mut pages = vec![&identity::PAGE];
    pages.extend(engineering::PAGES);
    pages.extend(mechanical::PAGES);
    pages.extend(traffic::PAGES);
    pages.extend(transportation::PAGES);
    pages
}
