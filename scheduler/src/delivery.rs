//! Taking the crop to the buyers: which days, when the van leaves, when orders for a day close.

pub mod calendar;
