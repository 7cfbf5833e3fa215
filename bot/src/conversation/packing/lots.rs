//! Which lot fills which line: first expired, first out.

use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::Lot;
use scheduler::store::deliveries::Award;

/// Grams of a lot for a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draw<'a> {
    pub award: &'a Award,
    /// `None` for what no lot on the books can fill.
    pub lot: Option<&'a Lot>,
    pub grams: Grams,
}

/// Fills the lines that have not gone out, in their order, from the lots good on `day`, in theirs (first to expire
/// first). The draws of a line sum to its promise.
pub fn plan<'a>(awards: &'a [Award], lots: &'a [Lot], day: LocalDate) -> Vec<Draw<'a>> {
    let mut left: Vec<Grams> = lots.iter().map(|lot| lot.left).collect();
    let mut draws = Vec::new();
    for award in awards.iter().filter(|award| award.delivered.is_none()) {
        let mut missing = award.promised;
        for (lot, left) in lots.iter().zip(&mut left) {
            let is_good = lot.crop == award.crop && lot.ready_on <= day && day <= lot.keeps_until;
            let part = left.at_most(missing);
            if is_good && part.is_positive() {
                *left -= part;
                missing -= part;
                draws.push(Draw { award, lot: Some(lot), grams: part });
            }
        }
        if missing.is_positive() {
            draws.push(Draw { award, lot: None, grams: missing });
        }
    }
    draws
}

#[cfg(test)]
mod tests {
    use super::*;
    use scheduler::id::Id;
    use scheduler::store::deliveries::{Source, State};

    fn day(text: &str) -> LocalDate {
        text.parse().expect("a day")
    }

    fn award(id: i64, crop: &str, grams: i64) -> Award {
        Award {
            id: Id::new(id),
            buyer_id: Id::new(id),
            day: day("2026-06-04"),
            crop: crop.into(),
            source: Source::Once,
            asked: Grams::new(grams),
            promised: Grams::new(grams),
            delivered: None,
            state: State::Full,
        }
    }

    fn lot(id: i64, crop: &str, (ready_on, keeps_until): (&str, &str), grams: i64) -> Lot {
        Lot {
            id: Id::new(id),
            crop: crop.into(),
            flush_id: None,
            picked_on: day(ready_on),
            ready_on: day(ready_on),
            keeps_until: day(keeps_until),
            picked: Grams::new(grams),
            left: Grams::new(grams),
        }
    }

    #[test]
    fn the_first_to_expire_goes_out_first() {
        let awards = [award(1, "oyster", 1500), award(2, "oyster", 1000), award(3, "shiitake", 500)];
        let lots = [
            lot(1, "oyster", ("2026-05-30", "2026-06-03"), 900),
            lot(2, "oyster", ("2026-06-01", "2026-06-05"), 1000),
            lot(3, "oyster", ("2026-06-02", "2026-06-06"), 800),
            lot(4, "shiitake", ("2026-06-05", "2026-06-14"), 500),
        ];
        let draws = plan(&awards, &lots, day("2026-06-04"));
        let found: Vec<_> = draws
            .iter()
            .map(|draw| (draw.award.id.get(), draw.lot.map(|lot| lot.id.get()), draw.grams.get()))
            .collect();
        assert_eq!(
            found,
            [(1, Some(2), 1000), (1, Some(3), 500), (2, Some(3), 300), (2, None, 700), (3, None, 500)],
            "lot 1 is too old and lot 4 not cooled through"
        );
    }
}
