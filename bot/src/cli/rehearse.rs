//! `pinset rehearse`: the farm in a browser, until a signal stops it.

use super::serve::asked_to_stop;
use super::{RehearseOptions, start_logging};
use crate::config::Config;
use crate::rehearsal::{Opening, RehearsalPage, Set};
use anyhow::Context;
use scheduler::store::private;
use std::path::Path;

/// Where the configuration of a real farm lies unless said otherwise.
const OWN_CONFIG: &str = "pinset.toml";

pub(super) async fn run(options: RehearseOptions) -> anyhow::Result<()> {
    start_logging("warn");
    let opening = match options.copy_of {
        Some(url) => Opening::CopyOf(url),
        None if options.empty => Opening::Empty,
        None => Opening::Scenario,
    };
    let own = matches!(opening, Opening::CopyOf(_)).then(|| Path::new(OWN_CONFIG));
    let config = options.config.as_deref().or(own).map(Config::read).transpose()?;
    let temporary = tempfile::tempdir().context("no temporary folder can be made")?;
    let folder = options.folder.as_deref().unwrap_or(temporary.path());
    private::folder(folder).with_context(|| format!("the folder {} cannot be made", folder.display()))?;
    let set = Set::up(&opening, config, folder).await?;
    let claim_code = set.claim_code.clone();
    let page = RehearsalPage::open(set, options.port).await?;
    println!("The farm is open for rehearsal. Nobody outside this machine is reached.");
    println!("Open {} in a browser; Ctrl+C ends it.", page.url());
    if let Some(code) = claim_code {
        println!("Nobody keeps this farm yet. On the page, add a person and write:  /start {code}");
    }
    asked_to_stop().await;
    page.close().await
}
