"""Builds ESPI files for tests; everything in them is invented."""

from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby

ATOM = "http://www.w3.org/2005/Atom"
ESPI = "http://naesb.org/espi"
EASTERN = {
    "dstEndRule": "B40E2000",
    "dstOffset": "3600",
    "dstStartRule": "360E2000",
    "tzOffset": "-18000",
}


def utc(text):
    return int(datetime.fromisoformat(text + "+00:00").timestamp())


@dataclass
class Meter:
    """One meter reading, its type, and blocks of start, duration, value, quality."""

    blocks: list
    point: int = 1
    number: int = 1
    type_fields: dict = field(default_factory=dict)
    updated: list = field(default_factory=list)

    def fields(self):
        usual = {
            "accumulationBehaviour": "4",
            "commodity": "1",
            "flowDirection": "1",
            "intervalLength": "3600",
            "kind": "12",
            "powerOfTenMultiplier": "0",
            "uom": "72",
        }
        merged = {**usual, **self.type_fields}
        return {name: text for name, text in merged.items() if text is not None}


@dataclass
class Feed:
    """A feed of usage points, meters and what else a test needs."""

    meters: list
    services: dict = field(default_factory=lambda: {1: "0"})
    local: dict | None = None
    prefix: str = ""
    linked: bool = True
    summary: dict | None = None
    extra: str = ""
    said: str = "invented for tests"

    def text(self, order=None):
        entries = list(self.entries())
        if order is not None:
            entries = [entries[place] for place in order]
        spaces = f' xmlns:{self.prefix}="{ESPI}"' if self.prefix else ""
        return (
            f'<?xml version="1.0" encoding="UTF-8"?>\n<feed xmlns="{ATOM}"{spaces}>\n'
            f"<title>{self.said}</title>\n" + "\n".join(entries) + "\n</feed>\n"
        )

    def entries(self):
        for point, kind in self.services.items():
            own = f"r/UsagePoint/{point}"
            related = [f"{own}/MeterReading"]
            related += ["r/LocalTimeParameters/1"] if self.local else []
            body = self.tag("ServiceCategory", self.tag("kind", kind))
            yield self.entry("UsagePoint", body, own, "r/UsagePoint", related)
        if self.local:
            body = "".join(self.tag(*pair) for pair in self.local.items())
            yield self.entry("LocalTimeParameters", body, "r/LocalTimeParameters/1", "")
        for place, meter in enumerate(self.meters, 1):
            yield from self.of_meter(meter, place)
        if self.summary:
            yield self.entry(
                "UsageSummary",
                self.nested(self.summary),
                "r/UsagePoint/1/UsageSummary/1",
                "r/UsagePoint/1/UsageSummary",
            )
        if self.extra:
            yield self.extra

    def of_meter(self, meter, place):
        own = f"r/UsagePoint/{meter.point}/MeterReading/{meter.number}"
        kind = f"r/ReadingType/{place}"
        related = [f"{own}/IntervalBlock", kind]
        up = f"r/UsagePoint/{meter.point}/MeterReading"
        if self.linked:
            yield self.entry("MeterReading", "", own, up, related)
        yield self.entry("ReadingType", self.nested(meter.fields()), kind, "")
        for number, block in enumerate(meter.blocks):
            updated = meter.updated[number] if meter.updated else ""
            yield self.entry(
                "IntervalBlock",
                self.block(block),
                f"{own}/IntervalBlock/{number}",
                f"{own}/IntervalBlock",
                updated=updated,
            )

    def block(self, readings):
        timed = [each for each in readings if each[0] is not None]
        start = timed[0][0] if timed else 0
        whole = sum(each[1] or 0 for each in readings)
        inner = self.nested({"interval": {"duration": whole, "start": start}})
        return inner + "\n" + "\n".join(self.reading(*each) for each in readings)

    def reading(self, start, duration, value, quality=None):
        inner = ""
        if quality is not None:
            inner += self.tag("ReadingQuality", self.tag("quality", quality))
        if start is not None:
            inner += self.nested({"timePeriod": {"duration": duration, "start": start}})
        return self.tag("IntervalReading", inner + self.tag("value", value))

    def entry(self, kind, body, own, up, related=(), updated=""):
        links = ""
        if self.linked:
            links += f'<link rel="self" href="{own}"/>'
            links += f'<link rel="up" href="{up}"/>' if up else ""
            links += "".join(f'<link rel="related" href="{each}"/>' for each in related)
        space = "" if self.prefix else f' xmlns="{ESPI}"'
        name = f"{self.prefix}:{kind}" if self.prefix else kind
        updated = f"<updated>{updated}</updated>" if updated else ""
        return (
            f"<entry><id>urn:uuid:1</id>{links}<content><{name}{space}>{body}</{name}>"
            f"</content>{updated}</entry>"
        )

    def nested(self, fields):
        return "".join(
            self.tag(name, self.nested(inner) if isinstance(inner, dict) else inner)
            for name, inner in fields.items()
        )

    def tag(self, name, inner):
        name = f"{self.prefix}:{name}" if self.prefix else name
        return f"<{name}>{inner}</{name}>"


def hours(start, values, *, duration=3600):
    """Readings that follow each other, in blocks of a UTC day."""
    readings = [
        (start + place * duration, duration, value)
        for place, value in enumerate(values)
    ]
    return [
        list(day) for _, day in groupby(readings, key=lambda each: each[0] // 86400)
    ]
