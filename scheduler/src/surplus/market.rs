//! What comes back from the market. Rule: no more than went there; what did not come back was sold.

use crate::quantity::Grams;

/// A market return, judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Return {
    Accepted {
        sold: Grams,
        back: Grams,
    },
    /// More than went: a slip of the scale or of the pen, nothing is changed.
    HeavierThanLeft {
        left: Grams,
        back: Grams,
    },
    Negative,
}

/// Judges that of `left` grams of one crop `back` came home.
pub fn judge(left: Grams, back: Grams) -> Return {
    if back < Grams::ZERO {
        Return::Negative
    } else if back > left {
        Return::HeavierThanLeft { left, back }
    } else {
        Return::Accepted { sold: left.less(back), back }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_more_comes_back_than_left() {
        let left = Grams::new(4000);
        for (back, expected) in [
            (0, Return::Accepted { sold: left, back: Grams::ZERO }),
            (1814, Return::Accepted { sold: Grams::new(2186), back: Grams::new(1814) }),
            (4000, Return::Accepted { sold: Grams::ZERO, back: left }),
            (4001, Return::HeavierThanLeft { left, back: Grams::new(4001) }),
            (-1, Return::Negative),
        ] {
            assert_eq!(judge(left, Grams::new(back)), expected, "{back}");
        }
    }
}
