//! Cut-off: the orders of a delivery day are closed, and everybody hears at once.

pub mod table;
pub mod warning;

use super::Desk;
use scheduler::farm::closing;
use scheduler::store;

/// Closes every delivery whose cut-off has passed and whose van has not left.
///
/// # Errors
/// Whatever the store fails with.
pub async fn close_due(desk: &mut Desk<'_>) -> store::Result<()> {
    let events = closing::close_due(&mut desk.farm()).await?;
    desk.happened(events);
    Ok(())
}
