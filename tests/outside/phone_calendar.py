"""Reads the product's file for phones with another library's reader and finds the same jobs in it.

Takes a folder with `calendar.json` and `calendar.ics`, and `moved.json` and `moved.ics` of the same
farm after a planting was moved and a material dropped from the plan.

- Every job with a day is one event: its mark, its day, its block and material, its words, its state.
- Nothing else is in the file, and every line keeps to the 75 octets of RFC 5545.
- A calendar that takes the second file in after the first holds each job once, at its newest day.
"""

import json
import sys
from datetime import date, timedelta
from pathlib import Path

from icalendar import Calendar


def read(folder, name):
    told = json.loads((folder / f"{name}.json").read_text())
    raw = (folder / f"{name}.ics").read_bytes()
    assert raw.endswith(b"END:VCALENDAR\r\n")
    for line in raw.split(b"\r\n"):
        assert len(line) <= 75 and b"\n" not in line and b"\r" not in line, line
    file = Calendar.from_ical(raw)
    assert not file.errors, file.errors
    events = {}
    for event in file.walk("VEVENT"):
        assert not event.errors, event.errors
        uid = str(event["UID"])
        assert uid not in events, f"{uid} stands twice"
        events[uid] = event
    return told, file, events


def listed(job):
    """The day under which a job stands: when to do it, else when it should have been done."""
    window = job["window"]
    return date.fromisoformat(job["on"] or (window["stop"] or window["latest"])["day"])


def compare(told, file, events):
    assert str(file["VERSION"]) == "2.0"
    assert told["farm"] in str(file["X-WR-CALNAME"])
    open_uids = set(events)
    for job in told["applications"]:
        uid = f"{job['key']}@{told['mark']}.spadework"
        if job["window"] is None:
            assert uid not in events, "no day can be told, and yet one stands there"
            continue
        event = events[uid]
        open_uids.discard(uid)
        day = listed(job)
        assert event["DTSTART"].dt == day, uid
        assert event["DTEND"].dt == day + timedelta(days=1), uid
        assert int(event["SEQUENCE"]) == told["revision"]
        assert event["DTSTAMP"].dt.date() == date.fromisoformat(told["today"])
        summary = str(event["SUMMARY"])
        assert summary.endswith(f"{job['material'].lower()} on {job['block']}"), summary
        assert str(event["LOCATION"]) == job["block"]
        words = str(event["DESCRIPTION"]).split("\n")
        assert words[0] == job["says"], words
        for way in job["ways"] + [c["text"] for c in job["conditions"]]:
            assert way in words, way
        assert str(event["STATUS"]) == ("CANCELLED" if job["state"] == "shut" else "CONFIRMED")
        assert str(event["TRANSP"]) == "TRANSPARENT"
    for job in told["dropped"]:
        uid = f"{job['key']}@{told['mark']}.spadework"
        assert str(events[uid]["STATUS"]) == "CANCELLED"
        open_uids.discard(uid)
    assert not open_uids, f"events that no job asks for: {open_uids}"


def main():
    folder = Path(sys.argv[1])
    first = read(folder, "calendar")
    second = read(folder, "moved")
    for told, file, events in (first, second):
        compare(told, file, events)
    states = {job["state"] for told, _, _ in (first, second) for job in told["applications"]}
    assert len(states) >= 4, f"too few states to tell: {states}"
    assert any("北の畑" in str(e["SUMMARY"]) for e in first[2].values())
    assert second[0]["dropped"] and not first[0]["dropped"]

    # What a phone does: the event of a known mark gives way to one with a higher number.
    phone = dict(first[2])
    moved = 0
    for uid, event in second[2].items():
        if uid in phone:
            assert int(event["SEQUENCE"]) > int(phone[uid]["SEQUENCE"])
            moved += event["DTSTART"].dt != phone[uid]["DTSTART"].dt
        phone[uid] = event
    assert set(phone) == set(first[2]), "the second file doubled a job"
    assert moved > 0, "no day moved"
    print(
        f"calendar: {len(first[2])} jobs read by another library as they are, "
        f"{len(states)} states; {moved} moved and {len(second[0]['dropped'])} cancelled in place"
    )


if __name__ == "__main__":
    main()
