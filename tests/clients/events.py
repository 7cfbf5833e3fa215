"""Reads an iCalendar file from standard input with the icalendar library and prints its events as JSON."""

import json
import sys

from icalendar import Calendar

calendar = Calendar.from_ical(sys.stdin.buffer.read())
events = []
for event in calendar.walk("VEVENT"):
    if event.errors:
        raise SystemExit(f"{event.get('UID')}: {event.errors}")
    events.append(
        {
            "uid": str(event["UID"]),
            "start": event.decoded("DTSTART").isoformat(),
            "end": event.decoded("DTEND").isoformat() if "DTEND" in event else None,
            "location": str(event.get("LOCATION", "")),
            "stamp": event.decoded("DTSTAMP").isoformat(),
            "summary": str(event["SUMMARY"]),
            "description": str(event.get("DESCRIPTION", "")),
        }
    )
print(json.dumps({"version": str(calendar["VERSION"]), "product": str(calendar["PRODID"]), "events": events}))
