//! From answers to weights for the network.

use std::collections::HashMap;

use indexmap::IndexMap;

use super::{Answer, kinds};
use crate::bench::spread;
use crate::knowledge::{Band, Derive, Knowledge, Motor, Observation, Reading, Side, Spread};
use crate::network::{BeliefNet, Evidence};

/// Something about an answer that the person should know.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Id of the answer.
    pub id: String,
    /// What is the matter and what can be done, in plain sentences.
    pub text: String,
}

/// The weights of an observation's states that follow from a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct BandWeights {
    /// Id of the observation.
    pub observation: String,
    /// A likelihood weight for each of its states, normal first; they sum to 1.
    pub weights: Vec<f64>,
}

/// Turns answers into evidence, in the order in which they were given.
///
/// A state becomes 1 for itself and 0 for the others. A reading becomes soft weights for each observation
/// that it bands. Unknown is no evidence. Where two answers speak of the same observation, the later one
/// counts. Warnings name what was left out or overruled, in the order of the answers.
pub fn evidence(
    knowledge: &Knowledge,
    net: &BeliefNet,
    motor: Option<&Motor>,
    answers: &IndexMap<String, Answer>,
) -> (Evidence, Vec<Warning>) {
    let mut builder = Builder {
        factors: net.factors.iter().enumerate().map(|(i, f)| (&*f.id, i)).collect(),
        observations: net.observations.iter().enumerate().map(|(i, o)| (&*o.id, i)).collect(),
        net,
        evidence: Evidence::none(net),
        given_by: HashMap::new(),
        warnings: Vec::new(),
    };
    for (id, answer) in answers {
        match answer {
            Answer::Unknown => {}
            Answer::State(index) => builder.state(id, *index),
            Answer::Reading { value, deviation, .. } => match knowledge.reading(id) {
                Some(reading) => match bands(knowledge, motor, reading, *value, *deviation) {
                    Ok(all) => all.into_iter().for_each(|b| builder.observe(id, &b.observation, b.weights)),
                    Err(text) => builder.warn(id, text),
                },
                None => builder.warn(id, format!("The knowledge has no reading `{id}`. It is left out.")),
            },
        }
    }
    (builder.evidence, builder.warnings)
}

/// The weights that a reading of `value` (in the base unit of its kind) gives to the states of each
/// observation that it bands; `deviation` is one standard deviation where it is known better than the
/// reading's own.
///
/// # Errors
///
/// Plain sentences, when the motor's nominal value is needed and is not known, or the bands of the
/// knowledge make no sense.
pub fn bands(
    knowledge: &Knowledge,
    motor: Option<&Motor>,
    reading: &Reading,
    value: f64,
    deviation: Option<f64>,
) -> Result<Vec<BandWeights>, String> {
    let usual = match reading.uncertainty {
        Spread::Relative(fraction) => (fraction * value).abs(),
        Spread::Absolute(deviation) => deviation,
    };
    let deviation = deviation.unwrap_or(usual);
    let (value, deviation) = match &reading.derive {
        Derive::Value => (value, deviation),
        Derive::Difference(key) => (value - nominal(motor, reading, key)?, deviation),
        Derive::Ratio(key) => {
            let nominal = nominal(motor, reading, key)?;
            if nominal <= 0.0 {
                return Err(left_out(reading, &format!("the motor's `{key}` is not above zero")));
            }
            (value / nominal, deviation / nominal)
        }
    };
    let one = |band: &Band| {
        let observation = knowledge.observation(&band.observation);
        observation.and_then(|o| weigh(o, band, value, deviation)).ok_or_else(|| {
            left_out(reading, &format!("its bands for `{}` in the knowledge make no sense", band.observation))
        })
    };
    reading.bands.iter().map(one).collect()
}

/// The nominal value of a motor, in the base unit of the reading's kind.
fn nominal(motor: Option<&Motor>, reading: &Reading, key: &str) -> Result<f64, String> {
    let Some(motor) = motor else {
        let why = format!("it is set against the motor's `{key}` and no motor is named");
        return Err(left_out(reading, &why) + " Name the motor, or answer what was seen.");
    };
    let Some(text) = motor.nominal.get(key) else {
        let why =
            format!("it is set against the motor's `{key}`, which the data of `{}` lack", called(motor));
        return Err(left_out(reading, &why) + " Add it to the motor's data, or answer what was seen.");
    };
    kinds::read(reading.kind, text)
        .map_err(|e| left_out(reading, &format!("the `{key}` of `{}` can't be read: {e}", called(motor))))
}

/// A motor that only the case describes has no id.
fn called(motor: &Motor) -> &str {
    if motor.id.is_empty() { &motor.name } else { &motor.id }
}

fn left_out(reading: &Reading, why: &str) -> String {
    format!("The reading `{}` is left out: {why}.", reading.id)
}

/// Spreads a value over the states of one observation; none if the band does not fit the observation.
fn weigh(observation: &Observation, band: &Band, value: f64, deviation: f64) -> Option<BandWeights> {
    // From the normal state outwards the edges rise or fall; the spread wants them rising. On the falling
    // side everything is mirrored.
    let sign = match band.side {
        Side::Above => 1.0,
        Side::Below => -1.0,
    };
    let edges: Vec<f64> = band.edges.iter().map(|(_, edge)| sign * edge).collect();
    let shares = spread::spread(sign * value, deviation, &edges).ok()?;
    let mut weights = vec![0.0; observation.states.len()];
    let states = std::iter::once(0).chain(band.edges.iter().map(|(state, _)| *state));
    for (state, share) in states.zip(shares) {
        *weights.get_mut(state)? += share;
    }
    Some(BandWeights { observation: observation.id.clone(), weights })
}

struct Builder<'a> {
    net: &'a BeliefNet,
    factors: HashMap<&'a str, usize>,
    observations: HashMap<&'a str, usize>,
    evidence: Evidence,
    /// For each observation with evidence, the id of the answer that it came from.
    given_by: HashMap<usize, String>,
    warnings: Vec<Warning>,
}

impl Builder<'_> {
    fn warn(&mut self, id: &str, text: String) {
        self.warnings.push(Warning { id: id.to_owned(), text });
    }

    fn state(&mut self, id: &str, index: usize) {
        let one_hot = |count: usize| {
            (index < count).then(|| (0..count).map(|i| f64::from(u8::from(i == index))).collect())
        };
        let factor = self.factors.get(id).copied();
        let states = match (factor, self.observations.get(id)) {
            (Some(i), _) => self.net.factors[i].states.len(),
            (None, Some(i)) => self.net.observations[*i].states.len(),
            (None, None) => 0,
        };
        match (one_hot(states), factor) {
            (Some(weights), Some(i)) => self.evidence.factors[i] = Some(weights),
            (Some(weights), None) => self.observe(id, id, weights),
            (None, _) => {
                self.warn(id, format!("The answer to `{id}` does not fit the network. It is left out."))
            }
        }
    }

    fn observe(&mut self, id: &str, observation: &str, weights: Vec<f64>) {
        let Some(&i) = self.observations.get(observation) else {
            self.warn(id, format!("`{observation}` is not in the network. It is left out."));
            return;
        };
        if let Some(earlier) = self.given_by.insert(i, id.to_owned()) {
            self.warn(id, format!("`{observation}` is known twice, from `{earlier}` and from `{id}`. The later answer, `{id}`, counts."));
        }
        self.evidence.observations[i] = Some(weights);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::case::sample::knowledge;
    use crate::network::{FactorModel, ObservationModel};

    fn net(k: &Knowledge) -> BeliefNet {
        BeliefNet {
            factors: k
                .factors
                .iter()
                .map(|f| FactorModel {
                    id: f.id.clone(),
                    states: f.states.iter().map(|s| s.id.clone()).collect(),
                    prior: f.states.iter().map(|s| s.prior).collect(),
                })
                .collect(),
            faults: Vec::new(),
            observations: k
                .observations
                .iter()
                .map(|o| ObservationModel {
                    id: o.id.clone(),
                    states: o.states.iter().map(|s| s.id.clone()).collect(),
                    leak: o.states.iter().map(|s| s.leak).collect(),
                    causes: Vec::new(),
                })
                .collect(),
        }
    }

    fn given(pairs: &[&str], motor: bool) -> (Vec<(String, Vec<f64>)>, Vec<Warning>) {
        let k = knowledge();
        let net = net(&k);
        let answers = pairs.iter().map(|p| Answer::read_pair(&k, p).unwrap()).collect();
        let (e, warnings) = evidence(&k, &net, k.motors.first().filter(|_| motor), &answers);
        let factors = net.factors.iter().map(|f| &f.id).zip(e.factors);
        let observations = net.observations.iter().map(|o| &o.id).zip(e.observations);
        let all = factors.chain(observations).filter_map(|(id, w)| Some((id.clone(), w?))).collect();
        (all, warnings)
    }

    #[test]
    fn states_are_one_hot_and_unknown_is_nothing() {
        let (e, w) = given(&["water-exposure=splashed", "power-loss=severe", "clicking=unknown"], true);
        assert_eq!(
            e,
            [
                ("water-exposure".to_owned(), vec![0.0, 1.0, 0.0]),
                ("power-loss".to_owned(), vec![0.0, 0.0, 1.0]),
            ]
        );
        assert_eq!(w, []);
    }

    #[test]
    fn two_sided_reading_bands_two_observations() {
        let (e, w) = given(&["no-load-current=3.6 A"], true);
        assert_eq!(w, []);
        assert_eq!(e[0].0, "no-load-current-high");
        // 3.6 A over 2.0 A is 1.8 with a deviation of 0.09; the edges are 4.4 deviations away.
        assert!(e[0].1[1] > 0.9999 && e[0].1[0] < 1e-4 && e[0].1[2] < 1e-4, "{e:?}");
        assert_eq!(e[1], ("no-load-current-low".to_owned(), vec![1.0, 0.0, 0.0]));
    }

    #[test]
    fn reading_near_an_edge_is_soft() {
        // 5.1 mm with a deviation of 0.1 mm is one deviation above the lower edge and nine below the upper.
        let (e, _) = given(&["brush-length=5.1 mm"], false);
        assert!((e[0].1[2] - 0.158_655).abs() < 1e-5, "{e:?}");
        assert!((e[0].1[1] - 0.841_345).abs() < 1e-5, "{e:?}");
        assert_eq!(e[0].1[0], 0.0);
    }

    #[test]
    fn worst_band_lies_furthest_out() {
        for (text, want) in [("9 mm", 0), ("5.5 mm", 1), ("2 mm", 2)] {
            let (e, _) = given(&[&format!("brush-length={text}")], false);
            assert_eq!(e[0].1[want], 1.0, "{text}: {e:?}");
        }
        let (e, _) = given(&["no-load-current=9 A"], true);
        assert_eq!(e[0].1[2], 1.0, "{e:?}");
        let (e, _) = given(&["no-load-current=0 A"], true);
        assert_eq!(e[1].1, [0.0, 0.0, 1.0], "{e:?}");
    }

    #[test]
    fn difference_is_taken_from_the_motor() {
        let mut k = knowledge();
        k.motors[0].nominal.insert("commutator-minimum".into(), "6.86 mm".into());
        let reading = k.reading("commutator-diameter").unwrap();
        let b = bands(&k, k.motors.first(), reading, 0.00696, None).unwrap();
        assert_eq!(b[0].weights, [0.0, 1.0, 0.0]);
        let b = bands(&k, k.motors.first(), reading, 0.00680, None).unwrap();
        assert_eq!(b[0].weights[2], 1.0 - b[0].weights[1]);
        assert!(b[0].weights[2] > 0.999_99);
    }

    #[test]
    fn missing_nominal_data_is_a_warning() {
        let (e, w) = given(&["no-load-current=3.6 A"], false);
        assert!(e.is_empty());
        assert_eq!(w, [Warning {
            id: "no-load-current".into(),
            text: "The reading `no-load-current` is left out: it is set against the motor's `no-load-current` and no \
                   motor is named. Name the motor, or answer what was seen."
                .into()
        }]);
        let (e, w) = given(&["commutator-diameter=7.3 mm", "brush-length=7 mm"], true);
        assert_eq!(e.len(), 1, "the other answers still count");
        assert!(w[0].text.contains("`commutator-minimum`, which the data of `heron-540-3` lack"), "{w:?}");
        let mut k = knowledge();
        k.motors[0].nominal.insert("no-load-current".into(), "0 A".into());
        let text = bands(&k, k.motors.first(), k.reading("no-load-current").unwrap(), 2.0, None).unwrap_err();
        assert!(text.contains("not above zero"), "{text}");
        k.motors[0].nominal.insert("no-load-current".into(), "2 V".into());
        let text = bands(&k, k.motors.first(), k.reading("no-load-current").unwrap(), 2.0, None).unwrap_err();
        assert!(text.contains("can't be read: `2 V` is a voltage"), "{text}");
    }

    #[test]
    fn the_later_of_two_answers_counts() {
        let (e, w) = given(&["no-load-current-high=no", "no-load-current=9 A"], true);
        assert_eq!(e[0], ("no-load-current-high".to_owned(), vec![0.0, 0.0, 1.0]));
        assert_eq!((w.len(), &*w[0].id), (1, "no-load-current"));
        assert!(w[0].text.contains("known twice"));
        let (e, w) = given(&["no-load-current=9 A", "no-load-current-high=no"], true);
        assert_eq!(e[0], ("no-load-current-high".to_owned(), vec![1.0, 0.0, 0.0]));
        assert_eq!(&*w[0].id, "no-load-current-high");
        let (e, w) = given(&["no-load-current=9 A", "no-load-current-high=unknown"], true);
        assert_eq!((e[0].1[2], w.len()), (1.0, 0), "unknown overrules nothing");
    }

    #[test]
    fn answers_outside_the_network_are_left_out_with_a_warning() {
        let k = knowledge();
        let answers = [
            ("power-loss".to_owned(), Answer::State(1)),
            ("nothing".to_owned(), Answer::Reading { text: "1 A".into(), value: 1.0, deviation: None }),
        ];
        let (e, w) = evidence(&k, &BeliefNet::default(), None, &answers.into_iter().collect());
        assert_eq!(e, Evidence::default());
        assert_eq!(w.len(), 2);
        let answers = [("power-loss".to_owned(), Answer::State(7))];
        let (e, w) = evidence(&k, &net(&k), None, &answers.into_iter().collect());
        assert!(e.observations.iter().all(Option::is_none) && w.len() == 1);
    }
}
