//! Calendar files (RFC 5545) as the farm hands them out.

use icalendar::{Calendar, Property};

/// A calendar with nothing in it yet, made by the part of the program called `product`.
pub fn empty(product: &str) -> Calendar {
    let mut calendar = Calendar::empty();
    calendar.append_property(Property::new("VERSION", "2.0"));
    calendar.append_property(Property::new("PRODID", format!("-//Pinset//{product}//EN")));
    calendar.append_property(Property::new("CALSCALE", "GREGORIAN"));
    calendar
}
