//! What the family would put on the wall at the end, as plain tables.

use super::report::Report;
use std::fmt::Write as _;

/// All tables.
pub fn write(report: &Report) -> String {
    let mut page = String::from("\n── The two weeks in tables (grams) ───────────────────────────────────────\n");
    let _ = writeln!(page, "\nExpected when orders closed     P10      P50      P90");
    for one in report.forecast.iter().filter(|one| one.p90_g > 0) {
        let (p10, p50, p90) = (one.p10_g, one.p50_g, one.p90_g);
        let _ = writeln!(page, "{}  {:<14} {p10:>8} {p50:>8} {p90:>8}", one.date, one.crop);
    }
    let _ = writeln!(page, "\nOrders                                            asked promised delivered");
    for one in &report.orders {
        let delivered = one.delivered_g.map_or_else(|| "-".to_owned(), |grams| grams.to_string());
        let (asked, promised) = (one.asked_g, one.promised_g);
        let _ =
            writeln!(page, "{}  {:<24} {:<10} {asked:>7} {promised:>8} {delivered:>9}", one.date, one.buyer, one.crop);
    }
    let _ = writeln!(page, "\nOffers");
    for one in &report.offers {
        let _ = writeln!(page, "{}  {} of {} g, {} g left", one.made_at, one.crop, one.grams, one.left_g);
        for taken in &one.taken {
            let _ = writeln!(page, "    {} took {} g", taken.buyer, taken.grams);
        }
    }
    let _ = writeln!(page, "\nDrops");
    for one in &report.drops {
        let handed = match (&one.handed_over_at, one.handed_over_g) {
            (Some(at), Some(grams)) => format!("{grams} g handed over {at}"),
            _ => "not handed over".to_owned(),
        };
        let _ = writeln!(page, "{}: {} g of {}, {handed}", one.partner, one.grams, one.crop);
    }
    page
}
