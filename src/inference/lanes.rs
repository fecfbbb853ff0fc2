//! Several independent numbers computed side by side.

use std::ops::Mul;

/// `L` numbers that go through the same arithmetic; the compiler turns the loops into vector code.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(8))]
pub(super) struct Lanes<const L: usize>(pub [f64; L]);

impl<const L: usize> Lanes<L> {
    pub const ZERO: Self = Lanes([0.0; L]);

    pub fn splat(x: f64) -> Self {
        Lanes([x; L])
    }

    #[inline(always)]
    pub fn add(&mut self, other: Self) {
        for i in 0..L {
            self.0[i] += other.0[i];
        }
    }
}

impl<const L: usize> Mul for Lanes<L> {
    type Output = Self;
    #[inline(always)]
    fn mul(mut self, other: Self) -> Self {
        for i in 0..L {
            self.0[i] *= other.0[i];
        }
        self
    }
}

impl<const L: usize> Mul<f64> for Lanes<L> {
    type Output = Self;
    #[inline(always)]
    fn mul(mut self, other: f64) -> Self {
        for i in 0..L {
            self.0[i] *= other;
        }
        self
    }
}
