//! Taking the crop to the buyers: which days, when the van leaves, when orders for a day close, and what becomes of each line.

pub mod award;
pub mod calendar;
