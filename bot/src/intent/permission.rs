//! Who may do what: the one place where a role is checked.

use super::Intent;
use scheduler::people::Role;

/// Whether somebody of this role may do this.
pub fn may(role: Role, intent: &Intent) -> bool {
    use crate::conversation::joining::Ask as Joining;
    match intent {
        Intent::Joining(ask) => match ask {
            Joining::Help
            | Joining::Language(_)
            | Joining::Units(_)
            | Joining::Hours(_)
            | Joining::Settings
            | Joining::UnknownCommand => true,
            Joining::UseCode(_) => true,
            Joining::Group => role.is_family(),
            Joining::People
            | Joining::Invite(_)
            | Joining::InviteBuyer(_)
            | Joining::InvitePartner(_)
            | Joining::NewBuyer => role == Role::Keeper,
            Joining::Remove { .. } => role == Role::Keeper,
        },
        Intent::Ordering(_) | Intent::Shortfall(_) => role == Role::Buyer,
        Intent::Growing(_) => matches!(role, Role::Keeper | Role::Grower),
        Intent::Packing(_) => role.is_family(),
        Intent::Surplus(ask) if ask.is_of_buyer() => role == Role::Buyer,
        Intent::Surplus(ask) if ask.is_of_family() => role.is_family(),
        Intent::Surplus(_) => role == Role::Keeper,
        Intent::Giving(ask) => ask.is_for(role),
        Intent::Views(_) => true,
    }
}
