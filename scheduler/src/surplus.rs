//! What is left and where it goes, so that nothing good is thrown away.
//!
//! `count` says what is free, `keeping` for how long, `placement` what each way out is worth and until when, `offers`
//! who is asked, `partners` and `opening` who can take a gift and when, `drop` how a gift is brought, `standing` a regular one, `ledger` what
//! became of it all. Rule throughout: promised stock is never touched.

pub mod count;
pub mod drop;
pub mod keeping;
pub mod ledger;
pub mod market;
pub mod offers;
pub mod opening;
pub mod partners;
pub mod placement;
pub mod standing;
pub mod uptake;
