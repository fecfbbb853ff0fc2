//! What kind of motor is wanted, and why it can't be had.

use indexmap::IndexMap;

use crate::knowledge::{Knowledge, nearest};
use crate::network::BeliefNet;

/// Which faults a motor is to have.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Wanted {
    /// As motors come: any number of faults, also none.
    #[default]
    AsTheyCome,
    /// These faults and no others, by their ids; an empty list is a healthy motor.
    Exactly(Vec<String>),
    /// This many faults.
    Count(usize),
}

/// A motor that is wanted. Everything that is left open is drawn as motors come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wish {
    /// Its faults.
    pub faults: Wanted,
    /// Ids of faults and of groups of faults: every fault of the motor is one of these. Empty: any fault may
    /// be there. Not for [`Wanted::Exactly`], which says it all.
    pub among: Vec<String>,
    /// Ids of faults and of groups of faults that the motor does not have, such as the group of what is
    /// wrong outside of the motor. Not for [`Wanted::Exactly`].
    pub without: Vec<String>,
    /// Its history: ids of factors, each with the id of its state.
    pub history: IndexMap<String, String>,
    /// Whether a motor with a fault has to show at least one complaint, as one does that comes in. A healthy
    /// motor need not.
    pub must_complain: bool,
}

impl Default for Wish {
    fn default() -> Self {
        Wish {
            faults: Wanted::AsTheyCome,
            among: Vec::new(),
            without: Vec::new(),
            history: IndexMap::new(),
            must_complain: true,
        }
    }
}

impl Wish {
    /// A motor without any fault.
    pub fn healthy() -> Wish {
        Wish { faults: Wanted::Exactly(Vec::new()), ..Wish::default() }
    }

    /// A motor with these faults and no others.
    pub fn exactly<S: Into<String>>(faults: impl IntoIterator<Item = S>) -> Wish {
        Wish { faults: Wanted::Exactly(faults.into_iter().map(Into::into).collect()), ..Wish::default() }
    }

    /// A motor with this many faults, whichever.
    pub fn count(count: usize) -> Wish {
        Wish { faults: Wanted::Count(count), ..Wish::default() }
    }
}

/// Why there is no such motor. The message says what would be right.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum WishError {
    /// No fault, or no fault and no group of faults, has this id.
    #[error("no {what} is called `{id}`{}", near(nearest.as_deref()))]
    UnknownId {
        /// What it should be.
        what: &'static str,
        /// The id.
        id: String,
        /// The nearest known one.
        nearest: Option<String>,
    },
    /// The wish contradicts itself, or the network gives such a motor no chance.
    #[error("there is no such motor: {0}")]
    Impossible(String),
    /// So rare that the tries ran out.
    #[error(
        "{tries} motors were drawn and none was as wished; ask for fewer faults, less history, or no complaint"
    )]
    TooRare {
        /// How many were drawn.
        tries: usize,
    },
}

fn near(nearest: Option<&str>) -> String {
    nearest.map_or(String::new(), |id| format!(" (did you mean `{id}`?)"))
}

/// A wish in places of the network.
#[derive(Debug, Clone)]
pub(super) struct Resolved {
    pub faults: Number,
    /// Which faults may be there.
    pub open: Vec<bool>,
    /// For each factor, the state it must have.
    pub history: Vec<Option<usize>>,
    pub must_complain: bool,
}

#[derive(Debug, Clone)]
pub(super) enum Number {
    Any,
    These(Vec<usize>),
    Count(usize),
}

impl Wish {
    pub(super) fn resolve(&self, knowledge: &Knowledge, net: &BeliefNet) -> Result<Resolved, WishError> {
        let mut open = vec![self.among.is_empty(); net.faults.len()];
        for id in &self.among {
            members(knowledge, net, id)?.into_iter().for_each(|j| open[j] = true);
        }
        for id in &self.without {
            members(knowledge, net, id)?.into_iter().for_each(|j| open[j] = false);
        }
        let faults = match &self.faults {
            Wanted::AsTheyCome => Number::Any,
            Wanted::Count(count) => Number::Count(*count),
            Wanted::Exactly(ids) => {
                let mut places = ids.iter().map(|id| fault(net, id)).collect::<Result<Vec<_>, _>>()?;
                places.sort_unstable();
                places.dedup();
                Number::These(places)
            }
        };
        let mut history = vec![None; net.factors.len()];
        for (id, state) in &self.history {
            let i = net.factors.iter().position(|f| f.id == *id).ok_or_else(|| {
                unknown("part of the history", id, net.factors.iter().map(|f| f.id.as_str()))
            })?;
            let states = &net.factors[i].states;
            let at = states.iter().position(|s| s == state).ok_or_else(|| {
                unknown("state of that part of the history", state, states.iter().map(String::as_str))
            })?;
            history[i] = Some(at);
        }
        Ok(Resolved { faults, open, history, must_complain: self.must_complain })
    }
}

fn unknown<'a>(what: &'static str, id: &str, known: impl IntoIterator<Item = &'a str>) -> WishError {
    WishError::UnknownId { what, id: id.to_owned(), nearest: nearest(id, known).map(str::to_owned) }
}

fn fault(net: &BeliefNet, id: &str) -> Result<usize, WishError> {
    (net.faults.iter().position(|f| f.id == id))
        .ok_or_else(|| unknown("fault", id, net.faults.iter().map(|f| f.id.as_str())))
}

/// The places of a fault, or of all faults of a group.
fn members(knowledge: &Knowledge, net: &BeliefNet, id: &str) -> Result<Vec<usize>, WishError> {
    let of_group = |j: &usize| knowledge.fault(&net.faults[*j].id).is_some_and(|f| f.group == id);
    let group: Vec<usize> = (0..net.faults.len()).filter(of_group).collect();
    if !group.is_empty() {
        return Ok(group);
    }
    match net.faults.iter().position(|f| f.id == id) {
        Some(j) => Ok(vec![j]),
        None => {
            let groups = knowledge.faults.iter().map(|f| f.group.as_str());
            let known = net.faults.iter().map(|f| f.id.as_str()).chain(groups);
            Err(unknown("fault or group of faults", id, known))
        }
    }
}
