//! The calendar of work: RFC 5545, tables, text.

use icalendar::{Alarm, Calendar, Component, Event, EventLike, Property};

use super::ExportError;
use super::csv_files::{bytes, writer};
use crate::results::{WorkItem, WorkPlan};
use crate::units::{UnitSystem, significant, trimmed};

/// The plan as an iCalendar stream (RFC 5545): an event an item, each with a reminder and a stable UID. Times
/// are UTC where a zone was given, and floating otherwise.
#[must_use]
pub fn calendar_ics(plan: &WorkPlan) -> String {
    let mut calendar = Calendar::empty();
    calendar.append_property(Property::new("VERSION", "2.0"));
    calendar.append_property(Property::new("PRODID", "-//brinecast//work plan//EN"));
    calendar.append_property(Property::new("NAME", &plan.scenario));
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
        .append_property(Property::new("DURATION", format!("PT{}M", item.minutes)))
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
    out.write_record(["begins", "minutes", "kind", "what", "detail"])?;
    for item in &plan.items {
        out.write_record([&item.begins, &item.minutes.to_string(), &item.kind, &item.what, &item.detail])?;
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

/// The plan for a terminal: a line an item, then the shopping list.
#[must_use]
pub fn plan_text(plan: &WorkPlan, units: UnitSystem, width: usize) -> String {
    let fill = |text: &str, indent: &str| {
        textwrap::fill(text, textwrap::Options::new(width).subsequent_indent(indent).break_words(false)) + "\n"
    };
    let mut text = format!("{}: {} d from {}, {} time\n\n", plan.scenario, trimmed(plan.days, 0), plan.from, plan.zone);
    for item in &plan.items {
        let clock = item.begins.replace('T', " ");
        let clock = clock.get(..16).unwrap_or(&clock);
        let detail = if item.detail.is_empty() { String::new() } else { format!(": {}", item.detail) };
        text += &fill(&format!("{clock}  {}{detail}", item.what), "                  ");
    }
    let (litres, kg) = (units.shown("L"), units.shown("kg"));
    text += &format!(
        "\n{:<10}{:>9}{:>19}{:>14}{:>23}\n",
        "month",
        "changes",
        format!("salt water {}", litres.unit),
        format!("salt mix {}", kg.unit),
        format!("purified water {}", litres.unit)
    );
    for line in &plan.shopping {
        text += &format!(
            "{:<10}{:>9}{:>19}{:>14}{:>23}\n",
            line.month,
            line.changes,
            significant(litres.value(line.salt_water_l), 3),
            significant(kg.value(line.salt_mix_kg), 3),
            significant(litres.value(line.purified_l), 3)
        );
    }
    text += "\n";
    text += &super::studies::warnings_text(&plan.warnings);
    for caution in &plan.cautions {
        text += &fill(&format!("Caution: {caution}"), "  ");
    }
    text
}
