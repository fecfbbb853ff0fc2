//! Against plain enumeration, and by hand.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::*;

const MM: f64 = 1e-3;

fn shims(of: &[(f64, usize)]) -> Vec<Shims> {
    of.iter().map(|(mm, pieces)| Shims { thickness: mm * MM, pieces: *pieces }).collect()
}

fn goal(play: f64, tolerance: f64, centre: f64) -> Goal {
    Goal { play: play * MM, play_tolerance: tolerance * MM, offset: 0.0, offset_tolerance: centre * MM }
}

fn the_drawer() -> Vec<Shims> {
    shims(&[(0.1, 4), (0.2, 4), (0.5, 2)])
}

fn near(got: f64, mm: f64) {
    assert!((got - mm * MM).abs() < 1e-9, "{} mm not {mm} mm", got / MM);
}

#[test]
fn the_room_is_can_less_armature_less_shims() {
    let depths = Depths { can: 33.40 * MM, stack: 31.80 * MM, deviation: 0.02 * MM };
    let r = room(Some(depths), None, Some(&shims(&[(0.5, 2), (0.1, 1)])), 0.005 * MM).unwrap();
    near(r.room.value, 1.6);
    near(r.room.deviation, 0.02 * 2f64.sqrt());
    let play = r.play.unwrap();
    near(play.value, 0.5);
    near(play.deviation, (2.0 * 0.02f64.powi(2) + 3.0 * 0.005f64.powi(2)).sqrt());
}

#[test]
fn a_measured_play_with_the_shims_found_gives_the_room_too() {
    let found = shims(&[(0.5, 2), (0.1, 1)]);
    let r = room(None, Some((0.48 * MM, 0.01 * MM)), Some(&found), 0.005 * MM).unwrap();
    near(r.room.value, 1.58);
    near(r.play.unwrap().value, 0.48);
    // Both ways: the surer one counts more.
    let depths = Depths { can: 33.40 * MM, stack: 31.80 * MM, deviation: 0.02 * MM };
    let both = room(Some(depths), Some((0.48 * MM, 0.01 * MM)), Some(&found), 0.005 * MM).unwrap();
    assert!(
        both.room.value > 1.58 * MM && both.room.value < 1.59 * MM && both.room.deviation < r.room.deviation
    );
}

#[test]
fn depths_that_cannot_be_are_said() {
    let said = |e: Result<Room, EndPlayError>| e.unwrap_err().to_string();
    let depths =
        |can: f64, stack: f64| Some(Depths { can: can * MM, stack: stack * MM, deviation: 0.02 * MM });
    assert!(said(room(depths(31.0, 31.8), None, None, 0.0)).contains("only 31.00 mm deep"));
    assert!(said(room(None, Some((0.2 * MM, 0.0)), None, 0.0)).contains("room for shims is not known"));
    assert!(said(room(depths(0.0, 31.8), None, None, 0.0)).contains("the can depth must be above zero"));
    assert!(said(room(depths(f64::NAN, 31.8), None, None, 0.0)).contains("no possible length"));
    assert!(
        said(room(depths(33.0, 31.8), Some((0.6 * MM, 0.01 * MM)), Some(&shims(&[(0.2, 1)])), 0.0))
            .contains("leave 1.00 mm of play, and 0.60 mm was measured")
    );
    // Shims thicker than the room: it binds, which is a finding and no error.
    let tight = room(depths(33.0, 31.8), None, Some(&shims(&[(0.5, 3)])), 0.0).unwrap();
    near(tight.play.unwrap().value, -0.3);
}

#[test]
fn the_wanted_play_with_the_core_centred_in_the_fewest_pieces() {
    // 1.6 mm of room, 0.2 mm wanted: 1.4 mm of shims, 0.7 mm each side, 0.5 + 0.2 twice.
    let p = plan(1.6 * MM, &the_drawer(), goal(0.2, 0.02, 0.05), Place::Unknown, None, 10).unwrap();
    assert_eq!((p.reach, p.best.len()), (Reach::All, 1));
    let best = &p.best[0];
    near(best.play, 0.2);
    near(best.offset, 0.0);
    assert_eq!((best.bell, best.can, best.pieces, best.ties), (700, 700, 4, 1));
    assert_eq!(best.sets[0], Arrangement { bell: vec![(500, 1), (200, 1)], can: vec![(500, 1), (200, 1)] });
}

#[test]
fn the_mirrored_set_is_a_tie() {
    // 1.3 mm of room: 1.1 mm of shims, 0.6 and 0.5 mm either way round.
    let p = plan(1.3 * MM, &the_drawer(), goal(0.2, 0.02, 0.1), Place::Unknown, None, 10).unwrap();
    let sides: Vec<_> = p.best.iter().map(|s| (s.bell, s.can, s.pieces)).collect();
    assert_eq!(sides, [(500, 600, 3), (600, 500, 3)]);
    near(p.best[0].offset, -0.05);
    near(p.best[1].offset, 0.05);
}

#[test]
fn fewer_pieces_and_a_better_centre_are_offered_beside_it() {
    // 0.7 mm of shims: 0.5 and 0.2 (0.15 mm off) with two pieces, 0.4 and 0.3 (0.05 mm off) with four.
    let p = plan(0.9 * MM, &the_drawer(), goal(0.2, 0.02, 0.1), Place::Unknown, None, 10).unwrap();
    assert_eq!((p.best[0].pieces, p.best.len()), (4, 2));
    assert_eq!(p.fewer.as_ref().map(|s| (s.bell, s.can, s.pieces)), Some((200, 500, 2)));
    assert_eq!(p.closer, None);
    let p = plan(0.9 * MM, &the_drawer(), goal(0.2, 0.02, 0.2), Place::Unknown, None, 10).unwrap();
    assert_eq!((p.best[0].pieces, p.best.len()), (2, 2));
    assert_eq!(p.closer.as_ref().map(|s| s.pieces), Some(4));
}

#[test]
fn the_core_is_centred_by_what_was_found_or_measured() {
    // Found: 0.9 mm at the bell, 0.5 mm at the can, core 0.2 mm too far to the can. Equal stacks centre it.
    let found = Place::Found { bell: 0.9 * MM, can: 0.5 * MM, offset: 0.2 * MM };
    let p = plan(1.6 * MM, &the_drawer(), goal(0.2, 0.02, 0.05), found, None, 10).unwrap();
    assert_eq!((p.best[0].bell, p.best[0].can), (700, 700));
    // Magnets' middle 17.0 mm from the bell's bearing face, core's middle 16.0 mm from the shoulder: with
    // 1.0 mm at the bell and 0.2 mm of play the core's middle swings round 17.1 mm.
    let measured = Place::Measured { magnets: 17.0 * MM, core: 16.0 * MM };
    let p = plan(1.6 * MM, &the_drawer(), goal(0.2, 0.02, 0.05), measured, None, 10).unwrap();
    assert_eq!((p.best[0].bell, p.best[0].can), (900, 500));
    near(p.best[0].offset, 0.0);
    // Wanted 0.1 mm towards the can.
    let wanted = Goal { offset: 0.1 * MM, ..goal(0.2, 0.02, 0.02) };
    let p = plan(1.6 * MM, &the_drawer(), wanted, measured, None, 10).unwrap();
    assert_eq!((p.best[0].bell, p.best[0].can), (1000, 400));
    near(p.best[0].offset, 0.0);
}

#[test]
fn the_brush_stays_on_its_track() {
    // As found 0.7 and 0.7 mm. To move the armature towards the can, the brush needs bare commutator on the
    // bell's side. Core wanted 0.3 mm towards the can; there are only 0.25 mm, of which half the play, 0.1
    // mm, is used up: 0.15 mm is the most.
    let found = Place::Found { bell: 0.7 * MM, can: 0.7 * MM, offset: 0.0 };
    let wanted = Goal { offset: 0.3 * MM, ..goal(0.2, 0.02, 0.2) };
    let track = Some(Track { bell: 0.25 * MM, can: 2.0 * MM, found_bell: 0.7 * MM, found_can: 0.7 * MM });
    let p = plan(1.6 * MM, &the_drawer(), wanted, found, track, 10).unwrap();
    assert_eq!(p.reach, Reach::All);
    for s in &p.best {
        let moved = (s.bell as f64 - s.can as f64) / 2.0 * 1e-6;
        assert!(moved + s.play / 2.0 <= 0.25 * MM + 1e-12 && s.overrun == 0.0, "{s:?}");
    }
    let none = Some(Track { bell: 0.05 * MM, can: 0.05 * MM, found_bell: 0.7 * MM, found_can: 0.7 * MM });
    let p = plan(1.6 * MM, &the_drawer(), wanted, found, none, 10).unwrap();
    assert_eq!(p.reach, Reach::OffTrack);
    near(p.best[0].overrun, 0.05);
    // Where the core stands now with the stacks as found, and with others.
    near(offset(1.6 * MM, wanted, found, 0.7 * MM, 0.7 * MM).unwrap(), -0.3);
    near(offset(1.6 * MM, wanted, found, 0.9 * MM, 0.5 * MM).unwrap(), -0.1);
}

#[test]
fn out_of_reach_gives_the_nearest() {
    // 4.0 mm of room, and all shims together are 2.2 mm.
    let p = plan(4.0 * MM, &the_drawer(), goal(0.2, 0.05, 0.1), Place::Unknown, None, 10).unwrap();
    assert_eq!((p.reach, p.best[0].pieces), (Reach::OutOfReach, 10));
    near(p.best[0].play, 1.8);
    // 0.1 mm of room: no shim leaves any play.
    let p = plan(0.1 * MM, &the_drawer(), goal(0.2, 0.05, 0.1), Place::Unknown, None, 10).unwrap();
    assert_eq!((p.reach, p.best[0].pieces, p.best[0].ties), (Reach::OutOfReach, 0, 1));
    near(p.best[0].play, 0.1);
    let p = plan(0.1 * MM, &[], goal(0.1, 0.05, 0.1), Place::Unknown, None, 10).unwrap();
    assert_eq!(p.reach, Reach::All);
}

#[test]
fn too_much_is_said_and_not_tried() {
    let g = goal(0.2, 0.05, 0.1);
    let try_it =
        |room: f64, drawer: &[(f64, usize)]| plan(room * MM, &shims(drawer), g, Place::Unknown, None, 10);
    assert!(matches!(try_it(9.0, &[(0.01, 400)]), Err(EndPlayError::TooManyPieces { pieces: 400, .. })));
    let odd: Vec<(f64, usize)> = (0..24).map(|i| (0.301 + 0.012 * f64::from(i), 10)).collect();
    assert!(
        matches!(try_it(9.9, &odd), Err(EndPlayError::TooFine { step: 1, .. })),
        "{:?}",
        try_it(9.9, &odd).map(|p| p.reach)
    );
    assert!(matches!(try_it(1.0, &[(0.0, 4)]), Err(EndPlayError::BadShim { .. })));
    assert!(matches!(try_it(1.0, &[(f64::NAN, 4)]), Err(EndPlayError::BadShim { .. })));
    assert!(matches!(try_it(1.0, &[(-0.1, 4)]), Err(EndPlayError::BadShim { .. })));
    assert!(try_it(-1.0, &[(0.1, 4)]).is_err());
    assert!(try_it(f64::INFINITY, &[(0.1, 4)]).is_err());
    // More than fit count as what fits.
    assert!(try_it(1.0, &[(0.1, usize::MAX), (0.1, usize::MAX)]).is_ok());
}

#[test]
fn a_full_drawer_is_searched_at_once() {
    // Twelve sizes of ten pieces each in steps of 0.01 mm, 2.4 mm of room: below 1 ms when optimised. The bound
    // leaves room for a build with checks and a busy machine.
    let full: Vec<(f64, usize)> = (0..12).map(|i| (0.05 + 0.03 * f64::from(i), 10)).collect();
    let start = std::time::Instant::now();
    let p = plan(2.43 * MM, &shims(&full), goal(0.2, 0.03, 0.05), Place::Unknown, None, 20).unwrap();
    assert!(start.elapsed() < std::time::Duration::from_millis(500), "{:?}", start.elapsed());
    assert_eq!(p.reach, Reach::All);
}

/// All sets by plain enumeration: (pieces on the bell's side, on the can's side) of each kind.
fn all_sets(drawer: &[(usize, usize)]) -> Vec<Vec<(usize, usize)>> {
    let mut out = vec![vec![]];
    for (_, n) in drawer {
        let ways = (0..=*n).flat_map(|b| (0..=n - b).map(move |c| (b, c)));
        out = ways.flat_map(|w| out.iter().map(move |s: &Vec<_>| [s.clone(), vec![w]].concat())).collect();
    }
    out
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// The best and all its ties are what plain enumeration finds, ranked by an independent statement of
    /// what is best in floating point.
    #[test]
    fn nothing_better_is_missed(
        drawer in prop::collection::btree_map(1usize..9, 1usize..4, 0..4),
        room in 1usize..40, wanted in 1usize..12, tolerance in 0usize..3, centre in 0usize..4,
        found in prop::option::of((0usize..10, 0usize..10, -4i32..4)),
        track in prop::option::of((0usize..8, 0usize..8)),
    ) {
        // Tenths of a millimetre.
        let unit = 0.1 * MM;
        let drawer: Vec<(usize, usize)> = drawer.into_iter().collect();
        let stock: Vec<Shims> =
            drawer.iter().map(|(t, n)| Shims { thickness: *t as f64 * unit, pieces: *n }).collect();
        let place = found.map_or(Place::Unknown, |(bell, can, offset)| Place::Found {
            bell: bell as f64 * unit, can: can as f64 * unit, offset: f64::from(offset) * unit,
        });
        let track = track.filter(|_| found.is_some());
        let (found_bell, found_can) = found.map_or((0.0, 0.0), |(b, c, _)| (b as f64 * unit, c as f64 * unit));
        let limits = track
            .map(|(bell, can)| Track { bell: bell as f64 * unit, can: can as f64 * unit, found_bell, found_can });
        let wish = Goal {
            play: wanted as f64 * unit, play_tolerance: tolerance as f64 * unit,
            offset: 0.0, offset_tolerance: centre as f64 * unit,
        };
        let got = plan(room as f64 * unit, &stock, wish, place, limits, usize::MAX).unwrap();

        // Where the armature's middle lies between the bearing faces tells the core's place directly.
        let middle = |bell: f64, can: f64| { let (low, high) = (bell, room as f64 - can); (low + high) / 2.0 };
        let (found_middle, found_offset) = found.map_or((room as f64 / 2.0, 0.0), |(b, c, o)| {
            (middle(b as f64, c as f64), f64::from(o))
        });
        let mut best: Option<[f64; 6]> = None;
        let mut winners = BTreeSet::new();
        for set in all_sets(&drawer) {
            let sum = |side: fn(&(usize, usize)) -> usize| -> f64 {
                set.iter().zip(&drawer).map(|(s, (t, _))| (side(s) * t) as f64).sum()
            };
            let (bell, can) = (sum(|s| s.0), sum(|s| s.1));
            let play = room as f64 - bell - can;
            if play <= 0.0 { continue; }
            let moved = middle(bell, can) - found_middle;
            let over = track.map_or(0.0, |(b, c)| {
                (moved + play / 2.0 - b as f64).max(-moved + play / 2.0 - c as f64).max(0.0)
            });
            let offset = (found_offset + moved).abs();
            let pieces: usize = set.iter().map(|(b, c)| b + c).sum();
            let off = (play - wanted as f64).abs();
            let rank = [
                (off - tolerance as f64).max(0.0), over, (offset - centre as f64).max(0.0),
                pieces as f64, offset, off,
            ];
            if best.is_none_or(|b| rank < b) { best = Some(rank); winners.clear(); }
            if best == Some(rank) { winners.insert(set.clone()); }
        }
        let best = best.unwrap();
        let reach = match best {
            [p, ..] if p > 0.0 => Reach::OutOfReach,
            [_, o, ..] if o > 0.0 => Reach::OffTrack,
            [_, _, c, ..] if c > 0.0 => Reach::OffCentre,
            _ => Reach::All,
        };
        prop_assert_eq!(got.reach, reach);
        let mut listed = BTreeSet::new();
        for s in &got.best {
            prop_assert_eq!(s.ties, s.sets.len() as u64);
            prop_assert!((s.offset.abs() / unit - best[4]).abs() < 1e-6);
            prop_assert!((s.overrun / unit - best[1]).abs() < 1e-6);
            for a in &s.sets {
                let side = |side: &[(usize, usize)], t: usize| {
                    side.iter().filter(|(um, _)| *um == t * 100).map(|(_, n)| *n).sum::<usize>()
                };
                let set: Vec<(usize, usize)> =
                    drawer.iter().map(|(t, _)| (side(&a.bell, *t), side(&a.can, *t))).collect();
                prop_assert!(listed.insert(set), "listed twice");
            }
        }
        prop_assert_eq!(listed, winners);
    }

    /// Counting without listing gives the same number.
    #[test]
    fn ties_are_counted_as_they_are_listed(drawer in prop::collection::btree_map(1usize..7, 1usize..6, 1..5), room in 4usize..30) {
        let stock: Vec<Shims> =
            drawer.iter().map(|(t, n)| Shims { thickness: *t as f64 * 0.1 * MM, pieces: *n }).collect();
        let run = |most| plan(room as f64 * 0.1 * MM, &stock, goal(0.2, 0.05, 0.1), Place::Unknown, None, most).unwrap();
        let (all, one) = (run(usize::MAX), run(1));
        for (a, o) in all.best.iter().zip(&one.best) {
            prop_assert_eq!((a.ties, &a.sets[..1]), (o.ties, &o.sets[..]));
        }
    }

    #[test]
    fn no_lengths_panic(
        can in any::<f64>(), stack in any::<f64>(), d in any::<f64>(), play in prop::option::of(any::<f64>()),
        t in any::<f64>(), n in any::<usize>(), want in any::<f64>(), tol in any::<f64>(), o in any::<f64>(),
    ) {
        let found = [Shims { thickness: t, pieces: n }];
        let _ = room(Some(Depths { can, stack, deviation: d }), play.map(|p| (p, d)), Some(&found), d);
        let goal = Goal { play: want, play_tolerance: tol, offset: o, offset_tolerance: tol };
        let place = Place::Found { bell: t, can: o, offset: o };
        let _ = plan(can, &found, goal, place, Some(Track { bell: t, can: stack, found_bell: o, found_can: d }), 3);
    }
}
