//! What starting with a scope leads to, against numbers worked out by hand and against brute force.

use proptest::prelude::*;

use super::close;
use crate::plan::bets::{Bet, expected_costs};

fn bet(price: f64, success: f64, noticed: f64) -> Bet {
    Bet { price, success, noticed }
}

#[test]
fn starting_small_and_going_on_by_hand() {
    let bets = [bet(10.0, 0.6, 1.0), bet(50.0, 0.9, 0.5)];
    let costs = expected_costs(&bets, 200.0);
    // The surer one: 50, and a tenth of the motors comes back, noticed or not.
    assert!(close(costs[1], 50.0 + 0.1 * 200.0));
    // The small one: 10; of the 0.4 left, all noticed, a quarter comes back after the surer one.
    assert!(close(costs[0], 10.0 + 0.4 * (50.0 + 0.25 * 200.0)));
}

#[test]
fn what_is_not_noticed_comes_back() {
    let costs = expected_costs(&[bet(10.0, 0.6, 0.25), bet(50.0, 1.0, 1.0)], 200.0);
    assert!(close(costs[0], 10.0 + 0.4 * (0.25 * 50.0 + 0.75 * 200.0)));
    assert!(close(costs[1], 50.0));
    assert_eq!(expected_costs(&[bet(7.0, 0.0, 1.0)], 200.0), [207.0]);
    assert!(expected_costs(&[], 200.0).is_empty());
}

/// The least cost over every sequence that starts with `first` and goes on to any surer scopes, written
/// out motor by motor: the chance to get to each scope, times its price.
fn cheapest_sequence(bets: &[Bet], first: usize, come_back: f64) -> f64 {
    fn follow(bets: &[Bet], at: usize, reached: f64, left: f64, come_back: f64) -> f64 {
        let bet = &bets[at];
        let failed = reached * (1.0 - bet.success) / left;
        let paid = reached * bet.price + failed * (1.0 - bet.noticed) * come_back;
        let seen = failed * bet.noticed;
        let surer = (0..bets.len()).filter(|j| bets[*j].success > bet.success);
        let rest = surer.map(|j| follow(bets, j, seen, 1.0 - bet.success, come_back));
        paid + rest.fold(seen * come_back, f64::min)
    }
    follow(bets, first, 1.0, 1.0, come_back)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn nested_scopes_cost_what_the_best_of_all_sequences_costs(
        bets in prop::collection::vec((0.0..100.0f64, 0.0..=1.0f64, 0.0..=1.0f64), 1..7),
        come_back in 0.0..300.0f64,
    ) {
        let bets: Vec<Bet> = bets.into_iter().map(|(p, s, n)| bet(p, s, n)).collect();
        let costs = expected_costs(&bets, come_back);
        for (i, cost) in costs.iter().enumerate() {
            prop_assert!(close(*cost, cheapest_sequence(&bets, i, come_back)));
        }
    }

    /// Kadane & Simon, J. Amer. Stat. Assoc. 1977 (after Heckerman, Breese & Rommelse, CACM 38(3), 1995):
    /// actions of which one ends the trouble stand in the order of chance over cost.
    #[test]
    fn of_two_noticed_scopes_the_one_with_more_chance_for_its_price_comes_first(
        small in 0.01..0.99f64, price in 1.0..100.0f64, sure in 1.0..100.0f64,
    ) {
        let costs = expected_costs(&[bet(price, small, 1.0), bet(sure, 1.0, 1.0)], 1e9);
        let (ratio, other) = (small / price, 1.0 / sure);
        prop_assume!((ratio - other).abs() > 1e-9);
        prop_assert_eq!(costs[0] < costs[1], ratio > other);
    }
}
