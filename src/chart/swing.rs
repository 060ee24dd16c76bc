//! A line that swings every day, told by its days: at the scale of months it would be a smear.

/// The lower and the upper edge of a shaded area.
pub type Fan = (Vec<(f64, f64)>, Vec<(f64, f64)>);

/// Share of what the days' means run through above which a day's swing is worth a shade of its own.
const SEEN: f64 = 0.2;
/// Days below which the swings can be seen one by one.
const FEWEST_DAYS: f64 = 45.0;

/// The lowest to the highest and the mean of each day, where a line over many days turns at least once a day, and not by
/// a trifle.
#[must_use]
pub fn by_day(points: &[(f64, f64)]) -> Option<(Fan, Vec<(f64, f64)>)> {
    let (first, last) = (points.first()?.0, points.last()?.0);
    let days = last - first;
    if days < FEWEST_DAYS || f64::from(turns(points)) < 1.5 * days {
        return None;
    }
    let mut fan: Fan = (Vec::new(), Vec::new());
    let mut middle = Vec::new();
    let mut begin = 0;
    let mut day = first.floor();
    while begin + 1 < points.len() {
        let end = begin + points[begin..].partition_point(|p| p.0 < day + 1.0);
        // The day's last row is the next day's first.
        let of = &points[begin..=end.min(points.len() - 1)];
        if let (Some(mean), true) = (mean(of), of.len() > 1) {
            let (low, high) = of.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), p| (a.min(p.1), b.max(p.1)));
            let at = (day + 0.5).min(last);
            fan.0.push((at, low));
            fan.1.push((at, high));
            middle.push((at, mean));
        }
        begin = end;
        day += 1.0;
    }
    let mut swings: Vec<f64> = fan.0.iter().zip(&fan.1).map(|(low, high)| high.1 - low.1).collect();
    swings.sort_by(f64::total_cmp);
    let usual = swings.get(swings.len() / 2)?;
    let run = middle.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), p| (a.min(p.1), b.max(p.1)));
    (*usual >= SEEN * (run.1 - run.0)).then_some((fan, middle))
}

/// How often a line turns between up and down.
fn turns(points: &[(f64, f64)]) -> u32 {
    let (mut turns, mut before) = (0, 0.0);
    for pair in points.windows(2) {
        let step = pair[1].1 - pair[0].1;
        if step != 0.0 {
            if step * before < 0.0 {
                turns += 1;
            }
            before = step;
        }
    }
    turns
}

/// Mean over time by the trapezoid rule.
fn mean(points: &[(f64, f64)]) -> Option<f64> {
    let span = points.last()?.0 - points.first()?.0;
    let area: f64 = points.windows(2).map(|p| 0.5 * (p[0].1 + p[1].1) * (p[1].0 - p[0].0)).sum();
    (span > 0.0).then(|| area / span)
}

#[cfg(test)]
mod tests {
    use super::by_day;

    #[test]
    fn a_daily_wave_becomes_its_edges_and_its_mean() {
        let wave: Vec<(f64, f64)> = (0..=2400)
            .map(|i| f64::from(i) / 24.0)
            .map(|t| (t, 8.0 + 0.1 * (std::f64::consts::TAU * t).sin()))
            .collect();
        let ((low, high), mean) = by_day(&wave).expect("it turns twice a day");
        assert_eq!((low.len(), high.len(), mean.len()), (100, 100, 100));
        for k in 0..100 {
            assert!((low[k].1 - 7.9).abs() < 1e-9 && (high[k].1 - 8.1).abs() < 1e-9 && (mean[k].1 - 8.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_weekly_saw_stays_a_line() {
        let saw: Vec<(f64, f64)> = (0..=365).map(|d| (f64::from(d), f64::from(d % 7))).collect();
        assert!(by_day(&saw).is_none());
    }
}
