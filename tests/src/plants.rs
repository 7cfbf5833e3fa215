//! Faults that are planted into a sound database, each as SQL: what a damaged file, a careless tool or an old program may leave
//! behind. In a statement `{now}` stands for the present, UTC seconds, and `{today}` for the farm's day.

mod farm;
mod running;
mod shape;

/// Which kind of database a fault can be planted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum In {
    Both,
    Sqlite,
    Postgres,
}

/// A planted fault.
#[derive(Clone, Copy, Debug)]
pub struct Plant {
    pub name: &'static str,
    pub statements: &'static [&'static str],
    /// What the check must say.
    pub found: &'static str,
    pub is_in: In,
    /// Rules (table, name) that PostgreSQL would refuse it by; SQLite is told to look away.
    pub against: &'static [(&'static str, &'static str)],
    /// Whether `check --mend` mends it.
    pub is_mended: bool,
}

impl Plant {
    const fn against(self, against: &'static [(&'static str, &'static str)]) -> Plant {
        Plant { against, ..self }
    }

    const fn mended(self) -> Plant {
        Plant { is_mended: true, ..self }
    }

    const fn only_in(self, is_in: In) -> Plant {
        Plant { is_in, ..self }
    }
}

const fn plant(name: &'static str, statements: &'static [&'static str], found: &'static str) -> Plant {
    Plant { name, statements, found, is_in: In::Both, against: &[], is_mended: false }
}

/// Every planted fault.
pub fn all() -> impl Iterator<Item = &'static Plant> {
    farm::ALL.iter().chain(running::ALL).chain(shape::ALL)
}
