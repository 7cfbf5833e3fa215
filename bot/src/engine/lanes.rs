//! In which order updates that came together are taken.
//!
//! Rule: what happened in one chat is taken as it came. Chats of people who have joined go first and in turn, one update of
//! each, so that nobody waits for somebody else's flood; what is left of a long lane is taken in one transaction. Strangers
//! come last, all in one transaction: their first answers are cheap, and many of them are no reason to wait.

use crate::incoming::Incoming;
use scheduler::planted::{self, Bug};
use std::collections::{BTreeMap, VecDeque};

/// Updates of a chat that are taken in turn with those of others, each in a transaction of its own.
const IN_TURN: usize = 3;

/// An update as it came in.
#[derive(Clone, Debug)]
pub struct Arrival {
    pub update_id: i64,
    /// `None` for one that means nothing here.
    pub incoming: Option<Incoming>,
}

impl From<Incoming> for Arrival {
    fn from(incoming: Incoming) -> Arrival {
        Arrival { update_id: incoming.update_id, incoming: Some(incoming) }
    }
}

/// What is taken in one transaction.
#[derive(Clone, Debug)]
pub enum Work {
    One(Incoming),
    /// Several; should they fail, each is taken by itself.
    Together(Vec<Arrival>),
}

/// The order in which these are taken; `is_member` says whose chat somebody's is who has joined, or the family's group.
pub fn order(arrivals: Vec<Arrival>, is_member: impl Fn(i64) -> bool) -> VecDeque<Work> {
    let (mut members, mut others): (Vec<Incoming>, Vec<Arrival>) = Default::default();
    for arrival in arrivals {
        match arrival.incoming {
            Some(incoming) if is_member(incoming.chat_id) => members.push(incoming),
            incoming => others.push(Arrival { update_id: arrival.update_id, incoming }),
        }
    }
    let mut works = in_turn(members);
    if !others.is_empty() {
        match planted::is_on(Bug::StrangersFirst) {
            true => works.push_front(Work::Together(others)),
            false => works.push_back(Work::Together(others)),
        }
    }
    works
}

fn in_turn(members: Vec<Incoming>) -> VecDeque<Work> {
    let mut seen: BTreeMap<i64, usize> = BTreeMap::new();
    let mut rounds: [Vec<Incoming>; IN_TURN] = Default::default();
    let mut rests: Vec<(i64, Vec<Arrival>)> = Vec::new();
    for incoming in members {
        let chat_id = incoming.chat_id;
        let place = seen.entry(chat_id).or_default();
        match rounds.get_mut(*place) {
            Some(round) => round.push(incoming),
            None => match rests.iter_mut().find(|(other, _)| *other == chat_id) {
                Some((_, rest)) => rest.push(incoming.into()),
                None => rests.push((chat_id, vec![incoming.into()])),
            },
        }
        *place += 1;
    }
    let singles = rounds.into_iter().flatten().map(Work::One);
    singles.chain(rests.into_iter().map(|(_, rest)| Work::Together(rest))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::incoming::{Account, What};

    fn said(update_id: i64, chat_id: i64) -> Arrival {
        let account = Account { chat_id, first_name: "Sam".into(), language_code: None };
        Incoming { update_id, chat_id, account, what: What::Said("hello".into()) }.into()
    }

    /// The numbers of the updates, those of one transaction in one list.
    fn numbers(works: &VecDeque<Work>) -> Vec<Vec<i64>> {
        let of = |work: &Work| match work {
            Work::One(incoming) => vec![incoming.update_id],
            Work::Together(arrivals) => arrivals.iter().map(|one| one.update_id).collect(),
        };
        works.iter().map(of).collect()
    }

    #[test]
    fn members_go_in_turn_and_strangers_together_at_the_end() {
        let mut arrivals: Vec<Arrival> = vec![said(1, 901), Arrival { update_id: 2, incoming: None }];
        // One account floods, another asks once, and strangers are all around.
        arrivals.extend((3..9).map(|number| said(number, 20)));
        arrivals.extend([said(9, 902), said(10, 30), said(11, 30), said(12, 901)]);
        let works = order(arrivals, |chat_id| chat_id < 900);
        assert_eq!(numbers(&works), [vec![3], vec![10], vec![4], vec![11], vec![5], vec![6, 7, 8], vec![1, 2, 9, 12]]);
    }

    proptest::proptest! {
        /// Nothing is lost or doubled, and what happened in one chat stays as it came.
        #[test]
        fn each_chat_keeps_its_order(chats in proptest::collection::vec(0..6_i64, 0..120)) {
            let arrivals: Vec<Arrival> = (1..).zip(&chats).map(|(number, chat_id)| said(number, *chat_id)).collect();
            let taken: Vec<i64> = numbers(&order(arrivals, |chat_id| chat_id < 3)).concat();
            let chat_of = |number: i64| chats[usize::try_from(number - 1).expect("a number")];
            let mut sorted = taken.clone();
            sorted.sort_unstable();
            proptest::prop_assert!(sorted.into_iter().eq(1..=i64::try_from(chats.len()).expect("few")));
            for chat_id in 0..6 {
                let of_chat: Vec<i64> = taken.iter().copied().filter(|number| chat_of(*number) == chat_id).collect();
                proptest::prop_assert!(of_chat.is_sorted(), "{chat_id}: {of_chat:?}");
            }
        }
    }
}
