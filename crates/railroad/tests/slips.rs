//! The kinds of slips people make are found, and pointed at.

use railroad::{Folder, load};
use rand::SeedableRng as _;

#[test]
fn of_200_spoilt_copies_of_the_example_nearly_all_are_pointed_at() {
    let folder = Folder::built_in("example").unwrap();
    let mut random = rand_pcg::Pcg64::seed_from_u64(1941);
    let mut pointed = 0;
    let mut missed = Vec::new();
    for _ in 0..200 {
        let (copy, fault) = generator::spoil(&folder, &mut random);
        let loaded = load(&copy);
        let at_it = loaded.points_at(&fault.file, fault.line);
        pointed += usize::from(at_it);
        if !at_it {
            let source = loaded
                .sources
                .get(loaded.sources.find(&fault.file).unwrap());
            let line = &source.text[source.line_range(fault.line)];
            missed.push(format!(
                "{}:{} {}\n    {line}",
                fault.file, fault.line, fault.what
            ));
        }
    }
    assert!(
        pointed >= 190,
        "{pointed} of 200; missed:\n{}",
        missed.join("\n")
    );
}

#[test]
fn generated_railroads_are_clean_and_read_alike_twice() {
    let folder = generator::railroad(2, 7);
    assert_eq!(folder, generator::railroad(2, 7));
    let loaded = load(&folder);
    let errors = loaded.report(model::diagnostic::Look::Plain);
    assert_eq!(loaded.count(model::Severity::Error), 0, "{errors}");
    assert_eq!(errors, load(&folder).report(model::diagnostic::Look::Plain));
}
