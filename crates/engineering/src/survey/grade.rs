//! Grade points from measured heights.

/// The fewest grade points whose straight grades pass within about `scatter` of measured heights (each a
/// distance and a height, in order): a parting of the row by dynamic programming, as that of the plan.
/// Neighboring grades meet where their lines do, kept between the points that belong to them.
pub fn grade_points(heights: &[(f64, f64)], scatter: f64) -> Vec<(f64, f64)> {
    const EACH: f64 = 9.0;
    let count = heights.len();
    if count < 2 {
        return heights.to_vec();
    }
    // Cost of a straight grade through a run, and its line.
    let run = |first: usize, last: usize| {
        let points = &heights[first..=last];
        let n = points.len() as f64;
        let (mx, my) = points
            .iter()
            .fold((0.0, 0.0), |(x, y), p| (x + p.0 / n, y + p.1 / n));
        let (mut xx, mut xy) = (0.0, 0.0);
        for (x, y) in points {
            xx += (x - mx) * (x - mx);
            xy += (x - mx) * (y - my);
        }
        let slope = if xx > 0.0 { xy / xx } else { 0.0 };
        let off: f64 = points
            .iter()
            .map(|(x, y)| (y - my - slope * (x - mx)).powi(2))
            .sum();
        (off / (scatter * scatter) + EACH, slope, my - slope * mx)
    };
    let mut best = vec![f64::INFINITY; count + 1];
    let mut from = vec![0; count + 1];
    best[0] = 0.0;
    for last in 1..count {
        for first in 0..last {
            let total = best[first] + run(first, last).0;
            if total < best[last + 1] {
                best[last + 1] = total;
                from[last + 1] = first;
            }
        }
    }
    let mut lines = Vec::new();
    let mut at = count;
    while at > 0 {
        let first = from[at];
        let (_, slope, level) = run(first, at - 1);
        lines.push((first, at - 1, slope, level));
        at = first;
    }
    lines.reverse();
    let mut points = Vec::new();
    let height = |line: &(usize, usize, f64, f64), x: f64| line.3 + line.2 * x;
    points.push((heights[0].0, height(&lines[0], heights[0].0)));
    for pair in lines.windows(2) {
        let (low, high) = (heights[pair[0].1].0, heights[pair[1].0].0);
        let slope = pair[0].2 - pair[1].2;
        let meet = if slope.abs() > 1e-9 {
            (pair[1].3 - pair[0].3) / slope
        } else {
            0.5 * (low + high)
        };
        let margin = 2.0 * (high - low);
        let x = meet.clamp(low - margin, high + margin);
        points.push((x, 0.5 * (height(&pair[0], x) + height(&pair[1], x))));
    }
    let last = lines[lines.len() - 1];
    points.push((heights[count - 1].0, height(&last, heights[count - 1].0)));
    points
}
