//! What is left and where it goes, so that nothing good is thrown away.
//!
//! `count` says what is free, `keeping` for how long, `chances` which ways out there are, `placement` what each is worth
//! and until when, `answers` what the farm's own record says of buyers and the market, `offer` and
//! `claim` what is offered and taken, `asking` who is asked, `rule` what the farm wants done by itself, `partners` and `opening` who can take a gift and when, `last_call` until when
//! they can be asked, `drop` how a gift is brought, `standing` a regular one, `ledger` what became of it all. Rule throughout: promised stock is
//! never touched.

pub mod answers;
pub mod asking;
pub mod chances;
pub mod claim;
pub mod count;
pub mod drop;
pub mod keeping;
pub mod last_call;
pub mod ledger;
pub mod market;
pub mod offer;
pub mod opening;
pub mod partners;
pub mod placement;
pub mod rule;
pub mod standing;
pub mod uptake;
