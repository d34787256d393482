"""Dates for a calendar, read by two libraries that did not write them."""

import re

import icalendar
import others

# What RFC 5545 and the contract ask of each event, and what must not be in it.
NEEDED = {"UID", "DTSTAMP", "DTSTART", "SUMMARY", "CLASS"}
WORDS = {"Farpoint: an appointment, sign in", "Farpoint: something is due, sign in"}


def read(folder):
    paths = sorted(folder.glob("*.ics"))
    faults, count = [], 0
    if len(paths) < 3:
        faults.append(f"{len(paths)} calendars: the tests wrote something else")
    beside = others.node(paths)
    for path in paths:
        raw = path.read_bytes()
        faults += [f"{path.name}: {fault}" for fault in of_text(raw)]
        calendar = icalendar.Calendar.from_ical(raw)
        if not {"PRODID", "VERSION"} <= set(calendar):
            faults.append(f"{path.name}: no PRODID or no VERSION")
        events = calendar.walk("VEVENT")
        count += len(events)
        if not events:
            faults.append(f"{path.name}: no date in it")
        for event in events:
            faults += [f"{path.name}: {fault}" for fault in event.errors]
            if not NEEDED <= set(event) or event["CLASS"] != "PRIVATE" or event.subcomponents:
                faults.append(f"{path.name}: an event of {sorted(event)}")
            if str(event["SUMMARY"]) not in WORDS:
                faults.append(f"{path.name}: an event says {event['SUMMARY']}")
        if len({str(event["UID"]) for event in events}) != len(events):
            faults.append(f"{path.name}: a name twice")
        found = beside[path].get("found")
        mine = [(str(e["UID"]), str(e.decoded("DTSTART")), str(e["SUMMARY"]), str(e["CLASS"])) for e in events]
        theirs = [(e["uid"], e["day"], e["words"], e["privacy"]) for e in found or []]
        if mine != theirs or not all(e["whole"] and e["parts"] == 0 for e in found or []):
            faults.append(f"{path.name}: icalendar reads {mine}, ical.js {beside[path]}")
    print(f"\n{count} dates of {len(paths)} calendars read by icalendar and by ical.js")
    return faults + broken(folder, paths[0])


def of_text(raw):
    """Lines end in CR LF and have 75 octets at most (RFC 5545, 3.1)."""
    faults = []
    if re.search(rb"(?<!\r)\n|\r(?!\n)", raw) or not raw.endswith(b"\r\n"):
        faults.append("a line that does not end in CR LF")
    if any(len(line) > 75 for line in raw.split(b"\r\n")):
        faults.append("a line longer than 75 octets")
    return faults


def broken(folder, whole):
    """A calendar cut off in the middle is refused by both."""
    path = folder / "cut" / "cut.ics"
    path.parent.mkdir(exist_ok=True)
    raw = whole.read_bytes()
    path.write_bytes(raw[: raw.index(b"END:VEVENT")])
    faults = others.refuses(path, "half a calendar")
    try:
        icalendar.Calendar.from_ical(path.read_bytes())
        faults.append("icalendar takes half a calendar")
    except ValueError:
        pass
    return faults
