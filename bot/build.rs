//! Lists the files under `locales/`, so that adding a folder adds a language and nothing has to be registered by hand: Fluent
//! files for what is said, `words.toml` for what is read.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    // Read when it runs, not when it was compiled: a build folder may serve several checkouts.
    let package = env::var_os("CARGO_MANIFEST_DIR").ok_or_else(|| io::Error::other("cargo sets CARGO_MANIFEST_DIR"))?;
    let locales = Path::new(&package).join("../locales").canonicalize()?;
    println!("cargo::rerun-if-changed={}", locales.display());
    let mut table = String::from(
        "/// Tag, Fluent files by name, and words.\npub type Locale = (&'static str, &'static [(&'static str, &'static str)], &'static str);\n\
         pub static LOCALES: &[Locale] = &[\n",
    );
    for folder in sorted(&locales)?.iter().filter(|path| path.is_dir()) {
        println!("cargo::rerun-if-changed={}", folder.display());
        writeln!(table, "    ({:?}, &[", name_of(folder)).map_err(io::Error::other)?;
        for file in sorted(folder)?.iter().filter(|path| path.extension().is_some_and(|kind| kind == "ftl")) {
            println!("cargo::rerun-if-changed={}", file.display());
            writeln!(table, "        ({:?}, include_str!({:?})),", name_of(file), file).map_err(io::Error::other)?;
        }
        let words = folder.join("words.toml");
        println!("cargo::rerun-if-changed={}", words.display());
        writeln!(table, "    ], include_str!({words:?})),").map_err(io::Error::other)?;
    }
    table.push_str("];\n");
    let out = env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("cargo sets OUT_DIR"))?;
    fs::write(Path::new(&out).join("locales.rs"), table)
}

fn sorted(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut paths = fs::read_dir(folder)?.map(|entry| Ok(entry?.path())).collect::<io::Result<Vec<_>>>()?;
    paths.sort();
    Ok(paths)
}

fn name_of(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}
