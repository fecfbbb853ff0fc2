//! Exact posteriors from network and evidence.
#![allow(missing_docs)]
use crate::network::{BeliefNet, Evidence};
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Question {
    Factor(usize),
    Observation(usize),
}
#[derive(Debug, Default)]
pub struct Limits;
#[derive(Debug)]
pub struct InferenceError;
pub struct Engine;
pub struct Posterior {
    pub log10_evidence: f64,
    pub faults: Vec<f64>,
    pub factors: Vec<Vec<f64>>,
    pub healthy: f64,
}
pub struct Prediction {
    pub probabilities: Vec<f64>,
    pub given: Vec<Vec<f64>>,
}
impl Engine {
    pub fn compile(_: &BeliefNet, _: &Evidence, _: &Limits) -> Result<Engine, InferenceError> {
        Err(InferenceError)
    }
    pub fn posterior(&self) -> &Posterior {
        panic!()
    }
    pub fn predict_all(&self, _: &[Question]) -> Vec<Prediction> {
        vec![]
    }
    pub fn chance_cleared(&self, _: &[Vec<f64>]) -> Vec<f64> {
        vec![]
    }
    pub fn chance_cleared_given(&self, _: Question, _: &[Vec<f64>]) -> Vec<Vec<f64>> {
        vec![]
    }
}
