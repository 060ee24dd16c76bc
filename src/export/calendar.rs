//! The calendar of work: RFC 5545, tables, text.

use super::ExportError;
use super::csv_files::{bytes, writer};
use crate::results::{WorkItem, WorkPlan};
use icalendar::{Alarm, Calendar, Component, Event, EventLike, Property};

/// The plan as an iCalendar stream (RFC 5545): an event an item, each with a reminder and a stable UID. Times
/// are UTC where a zone was given, and floating otherwise.
#[must_use]
pub fn calendar_ics(plan: &WorkPlan) -> String {
    let mut calendar = Calendar::empty();
    calendar.append_property(Property::new("VERSION", "2.0"));
    calendar.append_property(Property::new("PRODID", "-//brinecast//work plan//EN"));
    // The name by the standard, and as most calendars read it.
    for key in ["NAME", "X-WR-CALNAME"] {
        calendar.append_property(Property::new(key, format!("Water changes: {}", plan.scenario)));
    }
    for item in &plan.items {
        calendar.push(event(item, &plan.from));
    }
    calendar.done().to_string()
}

fn event(item: &WorkItem, from: &str) -> Event {
    let plain = |text: &str| text.replace(['-', ':'], "");
    let begins = item.begins_utc.as_ref().unwrap_or(&item.begins);
    let mut event = Event::new();
    event
        .uid(&item.uid)
        .summary(&item.what)
        .description(&item.detail)
        // The plan's first day, so that the same plan gives the same bytes.
        .append_property(Property::new("DTSTAMP", format!("{}T000000Z", plain(from))))
        .append_property(Property::new("DTSTART", plain(begins)))
        .append_property(Property::new("DURATION", format!("PT{}M", (item.minutes + 4) / 5 * 5)))
        .append_property(Property::new("CATEGORIES", &item.kind));
    let before = icalendar::Trigger::before_start(chrono::Duration::minutes(item.reminder_min));
    let mut alarm = Alarm::display(&item.what, before);
    // Of the event's name and day, not of chance and of the clock.
    alarm
        .append_property(Property::new("UID", format!("reminder-{}", item.uid)))
        .append_property(Property::new("DTSTAMP", format!("{}T000000Z", plain(from))));
    event.alarm(alarm);
    event.done()
}

/// A row an item.
pub fn plan_csv(plan: &WorkPlan) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record(["begins", "minutes", "kind", "what", "detail", "water_L", "salt_mix_kg", "salinity_psu"])?;
    for item in &plan.items {
        let words = [&item.begins, &item.minutes.to_string(), &item.kind, &item.what, &item.detail].map(Clone::clone);
        let number = |value: Option<f64>| value.map_or(String::new(), |v| v.to_string());
        let numbers = [item.water_l, item.salt_mix_kg, item.salinity_psu].map(number);
        out.write_record(words.into_iter().chain(numbers))?;
    }
    bytes(out)
}

/// A row a month.
pub fn shopping_csv(plan: &WorkPlan) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record(["month", "changes", "salt_water_L", "salt_mix_kg", "purified_water_L"])?;
    for line in &plan.shopping {
        let numbers = [line.salt_water_l, line.salt_mix_kg, line.purified_l].map(|n| n.to_string());
        out.write_record([line.month.clone(), line.changes.to_string()].into_iter().chain(numbers))?;
    }
    bytes(out)
}
