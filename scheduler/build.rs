//! Lists the migrations, so that they are built in. sqlx's `migrate!` does the same, but its macros compile both database
//! drivers, SQLite included, a second time for the compiler's own use.

use std::error::Error;
use std::fmt::Write as _;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=../migrations");
    let folder = Path::new(&std::env::var("CARGO_MANIFEST_DIR")?).join("../migrations").canonicalize()?;
    let mut list = String::from("[\n");
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        let Some(name) = path.file_name().and_then(|name| name.to_str()).and_then(|name| name.strip_suffix(".sql"))
        else {
            continue;
        };
        let (number, subject) = name.split_once('_').ok_or_else(|| format!("{name} is not NUMBER_SUBJECT.sql"))?;
        let number: i64 = number.parse()?;
        writeln!(list, "    ({number}, {:?}, include_str!({path:?})),", subject.replace('_', " "))?;
    }
    list.push(']');
    std::fs::write(Path::new(&std::env::var("OUT_DIR")?).join("migrations.rs"), list)?;
    Ok(())
}
