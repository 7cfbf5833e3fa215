//! Whole weeks through the local server, and checks against published values.
