//! `cargo run --release -p reading-bench`: how long reading and checking a railroad takes, by its
//! size, with the slope of the growth, and how many slips are pointed at.
#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::{fs, time::Instant};

use railroad::{Folder, load};
use rand::SeedableRng as _;

fn main() {
    println!(
        "| railroad | stations | cars | files, KB | diagnostics | best of 5, ms | peak memory so far, MB |"
    );
    println!("|---|---|---|---|---|---|---|");
    let mut points = Vec::new();
    let example = Folder::built_in("example").unwrap_or_default();
    measure("example", &example);
    for size in [1, 3, 10, 30, 100] {
        let folder = generator::railroad(size, 1);
        let seconds = measure(&format!("generated, {size}x"), &folder);
        points.push((f64::from(size), seconds));
    }
    // Least squares through the logarithms; the smallest sizes are left out, where starting costs count.
    let points: Vec<(f64, f64)> = points[1..].iter().map(|(n, t)| (n.ln(), t.ln())).collect();
    println!("\nlog-log slope from 3x to 100x: {:.2}", slope(&points));

    let mut random = rand_pcg::Pcg64::seed_from_u64(2026);
    let (mut pointed, runs) = (0, 1000);
    for _ in 0..runs {
        let (copy, fault) = generator::spoil(&example, &mut random);
        let loaded = load(&copy);
        pointed += usize::from(loaded.points_at(&fault.file, fault.line));
    }
    println!(
        "slips pointed at: {pointed} of {runs} spoilt copies of the example ({:.1} %)",
        100.0 * f64::from(u32::try_from(pointed).unwrap_or(u32::MAX)) / f64::from(runs)
    );
}

fn measure(name: &str, folder: &Folder) -> f64 {
    let bytes: usize = folder.iter().map(|(_, bytes)| bytes.len()).sum();
    let mut best = f64::INFINITY;
    let mut loaded = load(folder);
    for _ in 0..5 {
        let start = Instant::now();
        loaded = load(folder);
        best = best.min(start.elapsed().as_secs_f64());
    }
    println!(
        "| {name} | {} | {} | {} | {} | {:.2} | {} |",
        loaded.railroad.way.stations.len(),
        loaded.railroad.roster.cars.len(),
        bytes / 1024,
        loaded.diagnostics.len(),
        best * 1000.0,
        peak_memory_mb().map_or("?".into(), |mb| mb.to_string()),
    );
    best
}

fn slope(points: &[(f64, f64)]) -> f64 {
    let n = points.len() as f64;
    let (mx, my) = (
        points.iter().map(|p| p.0).sum::<f64>() / n,
        points.iter().map(|p| p.1).sum::<f64>() / n,
    );
    let up: f64 = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum();
    up / points.iter().map(|p| (p.0 - mx).powi(2)).sum::<f64>()
}

/// The process's peak resident memory, where the system tells it.
fn peak_memory_mb() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace()
        .nth(1)?
        .parse::<u64>()
        .ok()
        .map(|kb| kb / 1024)
}
