//! Carbon brushes: wear, remaining hours, spring pressure.
