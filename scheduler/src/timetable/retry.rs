//! When a job that failed is tried again. Rule: the pauses grow, after [`TRIES`] failures it is set aside, and what is set
//! aside is still tried a few times a day: what was wrong may have been mended.

/// Failures after which a job is set aside and the keepers are told.
pub const TRIES: i64 = 5;
/// Seconds to wait after the first failures.
const PAUSES: [i64; 4] = [10, 60, 5 * 60, 15 * 60];
/// Seconds between two tries of a job that is set aside.
const ASIDE_PAUSE: i64 = 6 * 3600;

/// What follows a failure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Next {
    pub pause_seconds: i64,
    /// It has failed so often that somebody has to look.
    pub is_aside: bool,
}

/// What follows the failure that makes `failures` of them, at least 1.
pub fn after(failures: i64) -> Next {
    let pause = usize::try_from(failures - 1).ok().and_then(|place| PAUSES.get(place)).copied();
    Next { pause_seconds: pause.unwrap_or(ASIDE_PAUSE), is_aside: failures >= TRIES }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pauses_grow_until_the_job_is_set_aside() {
        let next: Vec<Next> = (1..=6).map(after).collect();
        assert!(next.windows(2).all(|pair| pair[0].pause_seconds <= pair[1].pause_seconds), "{next:?}");
        assert_eq!(next.iter().position(|one| one.is_aside), Some(4));
        assert_eq!(next[5], Next { pause_seconds: 6 * 3600, is_aside: true });
    }
}
