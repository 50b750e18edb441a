"""iCalendar events (RFC 5545) as appointments on the firm's wall clock; an event that repeats is one row."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from dateutil.rrule import rrulestr
from icalendar import Timezone, vDuration
from icalendar.timezone.windows_to_olson import WINDOWS_TO_OLSON

from coatround.intake.cells import point
from coatround.intake.contentlines import Property, logical_lines, parse_line
from coatround.intake.errors import Unreadable
from coatround.intake.found import Appointment

DAYS_BACK = 3 * 366
DAYS_AHEAD = 366
MOST_DATES = 2_000
_EARLIEST_YEAR = 1900

Zones = dict[str, tzinfo]


class _Wrong(Exception):
    """An event that cannot be read; the message is the reason."""


@dataclass(frozen=True)
class Event:
    """One row: an event with its changed dates, or the reason why it is refused. `number` counts from 1."""

    number: int
    lines: tuple[str, ...]
    summary: str = ""
    location: str = ""
    text: str = ""
    point: tuple[float, float] | None = None
    emails: tuple[str, ...] = ()
    dates: tuple[Appointment, ...] = ()
    notes: tuple[str, ...] = ()
    fault: str = ""


@dataclass(frozen=True)
class Diary:
    """All events, the time zones written out as they came, and what was not an event."""

    events: tuple[Event, ...]
    zone_lines: tuple[str, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class _Block:
    lines: tuple[str, ...]
    properties: tuple[Property, ...]
    fault: str

    def first(self, name: str) -> Property | None:
        return next((one for one in self.properties if one.name == name), None)

    def words(self, name: str) -> str:
        return "\n".join(one.text.strip() for one in self.properties if one.name == name and one.text.strip())

    @property
    def uid(self) -> str:
        return self.words("UID")


def read_ical(data: bytes, zone: ZoneInfo, today: date) -> Diary:
    """Read events from three years back to a year ahead; raises Unreadable where the file holds none."""
    blocks, zone_blocks, others = _parted(logical_lines(data))
    if not blocks:
        raise Unreadable(
            "The file holds no event. Expected appointments that begin with BEGIN:VEVENT: export them again."
        )
    zones = _zones(zone_blocks)
    changed: dict[str, list[_Block]] = {}
    masters = {block.uid for block in blocks if block.uid and not block.first("RECURRENCE-ID")}
    rows: list[_Block] = []
    for block in blocks:
        if block.first("RECURRENCE-ID") and block.uid in masters and not block.fault:
            changed.setdefault(block.uid, []).append(block)
        else:
            rows.append(block)
    events = []
    for number, block in enumerate(rows, 1):
        overrides = changed.pop(block.uid, []) if not block.first("RECURRENCE-ID") else []
        events.append(_event(number, block, overrides, zones, zone, today))
    remarks = tuple(f"Parts that are no events were not read: {count} {name}." for name, count in others.items())
    return Diary(tuple(events), tuple(line for block in zone_blocks for line in block), remarks)


def _parted(lines: Sequence[str]) -> tuple[list[_Block], list[tuple[str, ...]], dict[str, int]]:
    """Events, time zones, and a count of the other parts."""
    blocks: list[_Block] = []
    zones: list[tuple[str, ...]] = []
    others: dict[str, int] = {}
    kind = ""
    held: list[str] = []
    for line in lines:
        mark = line.strip().upper()
        if mark == "BEGIN:VEVENT" and kind:
            blocks += [_block(held, _NO_END)] if kind == "VEVENT" else []
            kind, held = "VEVENT", [line]
        elif not kind and mark.startswith("BEGIN:") and mark != "BEGIN:VCALENDAR":
            kind, held = mark[6:], [line]
        elif kind:
            held.append(line)
            if mark == f"END:{kind}":
                if kind == "VEVENT":
                    blocks.append(_block(held, ""))
                elif kind == "VTIMEZONE":
                    zones.append(tuple(held))
                else:
                    others[kind] = others.get(kind, 0) + 1
                kind, held = "", []
    if kind == "VEVENT":
        blocks.append(_block(held, _NO_END))
    return blocks, zones, others


_NO_END = (
    "the event has no END:VEVENT, so part of it may be missing. Add what is missing and that line, or export it again."
)


def _block(lines: Sequence[str], fault: str) -> _Block:
    properties, depth = [], 0
    for line in lines:
        one = parse_line(line)
        if one is None:
            continue
        depth += (one.name == "BEGIN") - (one.name == "END")
        if depth <= 1 and one.name not in ("BEGIN", "END"):
            properties.append(one)
    return _Block(tuple(lines), tuple(properties), fault)


def _zones(blocks: Sequence[Sequence[str]]) -> Zones:
    zones: Zones = {}
    for lines in blocks:
        name = next((one.text for line in lines if (one := parse_line(line)) and one.name == "TZID"), "")
        try:
            zones[name] = _named_zone(name) or _written_zone(lines)
        except Exception:  # noqa: S112  a broken zone only matters to the events that name it: they are refused
            continue
    return zones


def _written_zone(lines: Sequence[str]) -> tzinfo:
    zone = Timezone.from_ical("\r\n".join(lines))
    if not isinstance(zone, Timezone):
        raise TypeError("not a VTIMEZONE")
    made: tzinfo = zone.to_tz(lookup_tzid=False)
    return made


def _named_zone(name: str) -> tzinfo | None:
    for candidate in (name, WINDOWS_TO_OLSON.get(name, ""), "/".join(name.split("/")[-2:])):
        try:
            if candidate:
                return ZoneInfo(candidate)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            continue
    return None


def _event(number: int, block: _Block, overrides: Sequence[_Block], zones: Zones, zone: ZoneInfo, today: date) -> Event:
    lines = block.lines + tuple(line for one in overrides for line in one.lines)
    bare = Event(number, lines, " ".join(block.words("SUMMARY").split()), " ".join(block.words("LOCATION").split()))
    try:
        if block.fault:
            raise _Wrong(block.fault)
        if block.words("STATUS").upper() == "CANCELLED":
            raise _Wrong("this appointment was called off, so it is left out. Nothing to do unless that is wrong.")
        dates, notes = _dates(block, overrides, zones, zone, today)
        if not bare.summary and not bare.location:
            raise _Wrong("the event has no summary and no location: expected a name or an address. Add one.")
        mails = [one.text[7:] for one in block.properties if one.text.lower().startswith("mailto:")]
        text = "\n".join(filter(None, (block.words("DESCRIPTION"), block.words("CONTACT"))))
        return replace(bare, text=text, point=point(block.words("GEO")), emails=tuple(mails), dates=dates, notes=notes)
    except _Wrong as wrong:
        return replace(bare, fault=str(wrong))


def _dates(
    block: _Block, overrides: Sequence[_Block], zones: Zones, zone: ZoneInfo, today: date
) -> tuple[tuple[Appointment, ...], tuple[str, ...]]:
    start = _instant(block, "DTSTART", zones)
    minutes = _minutes(block, start, zones)
    first, last = today - timedelta(days=DAYS_BACK), today + timedelta(days=DAYS_AHEAD)
    starts = {_key(one): one for one in _starts(block, start, zones, last)}
    notes: list[str] = []
    moved: list[Appointment] = []
    for override in overrides:
        try:
            starts.pop(_key(_instant(override, "RECURRENCE-ID", zones)), None)
            if override.words("STATUS").upper() == "CANCELLED":
                continue
            begins = _instant(override, "DTSTART", zones)
            moved.append(_appointment(begins, _minutes(override, begins, zones), override, zone))
        except _Wrong as wrong:
            notes.append(f"a changed date of '{block.words('SUMMARY')}' was not read: {wrong}")
    found = [_appointment(one, minutes, block, zone) for one in starts.values()] + moved
    kept = sorted({one for one in found if first <= one.date <= last}, key=lambda one: (one.date, one.start or time(0)))
    if not kept and found:
        raise _Wrong(f"its dates lie outside {first} to {last}, so it says nothing about the round now.")
    if not kept:
        raise _Wrong("it has no date left: every one was taken out or called off.")
    return tuple(kept[-MOST_DATES:]), tuple(notes)


def _key(instant: date | datetime) -> str:
    if isinstance(instant, datetime):
        return instant.astimezone(UTC).isoformat() if instant.tzinfo else instant.isoformat()
    return instant.isoformat()


def _appointment(instant: date | datetime, minutes: int | None, block: _Block, zone: ZoneInfo) -> Appointment:
    summary, location = (" ".join(block.words(name).split()) for name in ("SUMMARY", "LOCATION"))
    if not isinstance(instant, datetime):
        return Appointment(instant, None, None, summary, location)
    try:
        local = instant.astimezone(zone) if instant.tzinfo else instant
    except (OverflowError, ValueError) as error:
        raise _Wrong(f"its date {instant:%Y-%m-%d} cannot be placed on the clock.") from error
    return Appointment(local.date(), local.time().replace(second=0, microsecond=0), minutes, summary, location)


def _instant(block: _Block, name: str, zones: Zones) -> date | datetime:
    one = block.first(name)
    if one is None or not one.value.strip():
        raise _Wrong(f"the event has no {name}: expected a date and time. Add one.")
    return _parsed(one.value.strip(), one, name, zones)


def _parsed(value: str, one: Property, name: str, zones: Zones) -> date | datetime:
    found = re.fullmatch(r"(\d{4})-?(\d\d)-?(\d\d)(?:[T ](\d\d):?(\d\d)(?::?(\d\d))?(?:\.\d+)?(Z)?)?", value)
    wrong = _Wrong(f"{name} '{value[:40]}' is no date: expected one such as 20250328T093000. Mend it.")
    if not found or int(found[1]) < _EARLIEST_YEAR:
        raise wrong
    try:
        if not found[4]:
            return date(int(found[1]), int(found[2]), int(found[3]))
        clock = (int(found[4]), int(found[5]), min(59, int(found[6] or 0)))
        plain = datetime(int(found[1]), int(found[2]), int(found[3]), *clock, tzinfo=UTC if found[7] else None)
    except ValueError as error:
        raise wrong from error
    zone_name = one.params.get("TZID", "")
    if found[7] or not zone_name:
        return plain
    zone = zones.get(zone_name) or _named_zone(zone_name)
    if zone is None:
        raise _Wrong(f"the time zone '{zone_name}' is not known and the file does not describe it. Export it again.")
    return plain.replace(tzinfo=zone)


def _minutes(block: _Block, start: date | datetime, zones: Zones) -> int | None:
    if not isinstance(start, datetime):
        return None
    seconds = 0.0
    if block.first("DTEND"):
        end = _instant(block, "DTEND", zones)
        if isinstance(end, datetime) and bool(end.tzinfo) == bool(start.tzinfo):
            seconds = (end - start).total_seconds()
    elif length := block.words("DURATION"):
        try:
            seconds = vDuration.from_ical(length).total_seconds()  # type: ignore[no-untyped-call]
        except (ValueError, TypeError, OverflowError, AttributeError) as error:
            raise _Wrong(f"DURATION '{length[:40]}' is no length: expected one such as PT1H30M. Mend it.") from error
    minutes = round(seconds / 60)
    return minutes if 0 < minutes < 24 * 60 else None


def _starts(block: _Block, start: date | datetime, zones: Zones, last: date) -> list[date | datetime]:
    """Every date of an event up to `last`, worked out on the wall clock of the event's own zone."""
    found = [start, *_listed(block, "RDATE", zones)]
    for rule in (one for one in block.properties if one.name == "RRULE"):
        found += _repeats(rule.value.strip(), start, last)
    out = {_key(one) for one in _listed(block, "EXDATE", zones)}
    return [one for one in found if _key(one) not in out]


def _listed(block: _Block, name: str, zones: Zones) -> Iterator[date | datetime]:
    for one in block.properties:
        if one.name == name:
            for value in one.value.split(","):
                if value.strip():
                    yield _parsed(value.strip().partition("/")[0], one, name, zones)


def _repeats(rule: str, start: date | datetime, last: date) -> list[date | datetime]:
    parts = dict(part.upper().split("=", 1) for part in rule.split(";") if "=" in part)
    wrong = _Wrong(f"the rule '{rule[:80]}' cannot be read: expected one such as FREQ=WEEKLY;INTERVAL=6. Mend it.")
    if parts.get("FREQ") not in ("DAILY", "WEEKLY", "MONTHLY", "YEARLY"):
        raise wrong
    if any(key.startswith(("BYHOUR", "BYMINUTE", "BYSECOND")) for key in parts):
        raise _Wrong(f"the rule '{rule[:80]}' repeats within a day. Expected a round; mend it or leave it out.")
    if any(re.search(r"\d{10}", parts.get(key, "")) for key in ("BYMONTH", "BYMONTHDAY")):
        raise wrong
    if _never_comes(parts):
        raise _Wrong(f"the rule '{rule[:80]}' is too unusual for a round, or never comes true. Put in dates instead.")
    if not re.fullmatch(r"\d{1,9}", parts.get("INTERVAL", "1")) or int(parts.get("INTERVAL", "1")) < 1:
        raise wrong
    plain = datetime.combine(start, time(0)) if not isinstance(start, datetime) else start.replace(tzinfo=None)
    count, until = parts.pop("COUNT", ""), parts.pop("UNTIL", "")
    end = datetime.combine(last + timedelta(days=2), time(0))
    try:
        if until:
            end = min(end, _until(until, start))
        whole = ";".join(f"{key}={value}" for key, value in parts.items())
        days = list(rrulestr(f"{whole};UNTIL={end:%Y%m%dT%H%M%S}", dtstart=plain, ignoretz=True))
        days = days[: int(count)] if count else days
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, OverflowError, ZeroDivisionError) as error:
        raise wrong from error
    if not isinstance(start, datetime):
        return [day.date() for day in days]
    return [day.replace(tzinfo=start.tzinfo) for day in days]


_LONGEST_MONTHS = {2: 29, 4: 30, 6: 30, 9: 30, 11: 30}


def _never_comes(parts: Mapping[str, str]) -> bool:
    """Rules that would be searched for to the end of the calendar, or that no diary of a round needs."""
    if {"BYWEEKNO", "BYYEARDAY", "BYEASTER"} & set(parts):
        return True
    if "BYSETPOS" in parts and parts["FREQ"] not in ("MONTHLY", "YEARLY"):
        return True
    months = [int(one) for one in parts.get("BYMONTH", "").split(",") if one.isdecimal()]
    days = [abs(int(one)) for one in parts.get("BYMONTHDAY", "").split(",") if re.fullmatch(r"[+-]?\d+", one)]
    longest = max((_LONGEST_MONTHS.get(month, 31) for month in months), default=31)
    return bool(days) and min(days) > longest


def _until(text: str, start: date | datetime) -> datetime:
    found = re.fullmatch(r"(\d{8})(?:T(\d{6})(Z)?)?", text)
    if not found:
        raise ValueError(text)
    if not found[2]:
        return datetime.strptime(found[1], "%Y%m%d").replace(hour=23, minute=59)  # noqa: DTZ007  wall clock
    end = datetime.strptime(found[1] + found[2], "%Y%m%d%H%M%S")  # noqa: DTZ007  wall clock
    if found[3] and isinstance(start, datetime) and start.tzinfo:
        return end.replace(tzinfo=UTC).astimezone(start.tzinfo).replace(tzinfo=None)
    return end
