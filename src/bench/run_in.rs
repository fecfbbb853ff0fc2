//! Running-in: brush travel, bedding work, winding heat.
