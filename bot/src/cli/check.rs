//! `pinset check`: what is wrong with the configuration or the database, and how to mend it.

use super::FarmOptions;
use crate::cli::serve::open;
use scheduler::store::outbox;

pub(super) async fn run(options: FarmOptions) -> anyhow::Result<()> {
    let (house, store) = open(&options).await?;
    println!("configuration: {} in {}, good", house.config.farm.name, house.zone());
    let mut tx = store.begin_reading().await?;
    for (chat_id, reason, at) in outbox::set_aside_list(&mut tx, 20).await? {
        println!("message set aside at {at} for chat {chat_id}: {reason}");
    }
    println!("database: good");
    drop(tx);
    store.close().await;
    Ok(())
}
