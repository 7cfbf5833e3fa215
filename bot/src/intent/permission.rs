//! Who may do what: the one place where a role is checked.

use super::Intent;
use scheduler::people::Role;

/// Whether somebody of this role may do this.
pub fn may(role: Role, intent: &Intent) -> bool {
    use crate::conversation::joining::Ask as Joining;
    use crate::conversation::packing::{Ask as Packing, Stage};
    use crate::conversation::typing::Ask as Typing;
    match intent {
        Intent::Joining(ask) => match ask {
            Joining::Help
            | Joining::Language(_)
            | Joining::Units(_)
            | Joining::Hours(_)
            | Joining::Settings
            | Joining::QuietHours
            | Joining::Quiet { .. }
            | Joining::NewAccount
            | Joining::LeaveFarm { .. }
            | Joining::UnknownCommand => true,
            Joining::UseCode(_) => true,
            Joining::WhenSilent(_) => role == Role::Buyer,
            Joining::Group
            | Joining::GroupGoesOn { .. }
            | Joining::GroupEnds { .. }
            | Joining::People
            | Joining::PeoplePage { .. }
            | Joining::Invite(_)
            | Joining::InviteBuyer(_)
            | Joining::InvitePartner(_)
            | Joining::Invitations { .. }
            | Joining::WithdrawInvitation { .. }
            | Joining::NewBuyer => role == Role::Keeper,
            Joining::Removable | Joining::RemovablePage { .. } | Joining::Remove { .. } => role == Role::Keeper,
        },
        Intent::Ordering(_) | Intent::Shortfall(_) => role == Role::Buyer,
        Intent::Growing(_) => matches!(role, Role::Keeper | Role::Grower),
        Intent::Packing(ask) => match ask {
            Packing::List
            | Packing::File { .. }
            | Packing::Packed { .. }
            | Packing::OtherWeights { stage: Stage::Packed, .. }
            | Packing::OtherWeightsOf { stage: Stage::Packed, .. }
            | Packing::OtherWeight { stage: Stage::Packed, .. }
            | Packing::Nothing { stage: Stage::Packed, .. } => role.is_family(),
            Packing::OtherWeights { stage: Stage::Delivered, .. }
            | Packing::OtherWeightsOf { stage: Stage::Delivered, .. }
            | Packing::OtherWeight { stage: Stage::Delivered, .. }
            | Packing::Nothing { stage: Stage::Delivered, .. }
            | Packing::Run
            | Packing::RunOf { .. }
            | Packing::DeliveredOn { .. }
            | Packing::Delivered { .. }
            | Packing::AllDelivered { .. }
            | Packing::Late { .. }
            | Packing::NobodyThere { .. }
            | Packing::Refused { .. } => matches!(role, Role::Keeper | Role::Driver),
        },
        Intent::Surplus(ask) if ask.is_of_buyer() => role == Role::Buyer,
        Intent::Surplus(ask) if ask.is_of_family() => role.is_family(),
        Intent::Surplus(_) => role == Role::Keeper,
        Intent::Giving(ask) => ask.is_for(role),
        Intent::Views(_) => role.is_family(),
        // What the text means is asked about when it is read.
        Intent::Typing(Typing::Say { .. }) => true,
        Intent::Typing(Typing::Meant { intent }) => may(role, intent),
        Intent::Crops(_) => role == Role::Keeper,
    }
}
