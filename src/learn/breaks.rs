//! Where the residuals of a fit leave zero for good.

/// For each kind of residual (time, name, deviations) the time at which a cumulative sum on either side signals: slack
/// 0.5 and limit 5, about 465 readings between false alarms (Lucas & Crosier 1982, Technometrics 24:199-205).
pub(super) fn breaks(residuals: &[(f64, String, f64)]) -> Vec<(String, f64)> {
    const SLACK: f64 = 0.5;
    const LIMIT: f64 = 5.0;
    let mut sums: Vec<(String, f64, f64, Option<f64>)> = Vec::new();
    for (time, name, z) in residuals {
        let at = sums.iter().position(|s| s.0 == *name).unwrap_or_else(|| {
            sums.push((name.clone(), 0.0, 0.0, None));
            sums.len() - 1
        });
        let (_, up, down, signal) = &mut sums[at];
        *up = (*up + z - SLACK).max(0.0);
        *down = (*down - z - SLACK).max(0.0);
        if up.max(*down) > LIMIT {
            signal.get_or_insert(*time);
        }
    }
    sums.into_iter().filter_map(|(name, _, _, signal)| Some((name, signal?))).collect()
}
