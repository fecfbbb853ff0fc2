//! Scopes of work as bets: what starting with one of them costs in the end.

/// A scope as a bet: what its work costs, and how surely it cures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bet {
    /// Labour and parts.
    pub price: f64,
    /// Chance that it cures.
    pub success: f64,
    /// Chance that the shop notices when it has not.
    pub noticed: f64,
}

/// What starting with each of some scopes is expected to cost, to a cured motor or a come-back, when
/// everything after it is done for the best.
///
/// When a scope does not cure and the shop notices, a surer scope may be done on top; when it does not
/// notice, the motor comes back. Surer scopes are taken to cure all that the ones before would have cured,
/// as nested scopes do; for such scopes the figures are exact, however many follow one another (compare
/// Heckerman, Breese & Rommelse 1995 on repair sequences).
pub fn expected_costs(bets: &[Bet], come_back: f64) -> Vec<f64> {
    let mut surest_first: Vec<usize> = (0..bets.len()).collect();
    surest_first.sort_by(|a, b| bets[*b].success.total_cmp(&bets[*a].success));
    // For each scope, what follows when it has not cured and the shop has noticed.
    let mut next = vec![come_back; bets.len()];
    // What doing `bet` costs where `left` is the chance that the trouble had before it.
    let cost = |bet: &Bet, next: f64, left: f64| {
        let failed = (1.0 - bet.success) / left;
        bet.price + failed * (bet.noticed * next + (1.0 - bet.noticed) * come_back)
    };
    for (place, &i) in surest_first.iter().enumerate() {
        let left = 1.0 - bets[i].success;
        let surer = surest_first[..place].iter().filter(|j| bets[**j].success > bets[i].success);
        next[i] = surer.map(|j| cost(&bets[*j], next[*j], left)).fold(come_back, f64::min);
    }
    bets.iter().zip(next).map(|(bet, next)| cost(bet, next, 1.0)).collect()
}
