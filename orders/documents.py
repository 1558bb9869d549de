"""The status report as a sheet: published dates only, nothing internal."""

import textwrap
from collections.abc import Sequence
from datetime import date

import numpy as np

from orders.queries.status import ItemStatus, Status, UnitLine
from selection.queries.choices import Sketch
from works import formats, sheets
from works.drawing import Axis, Curve, Panel, Spot, XYChart, draw
from works.sheets import Column, Sheet

HOUR = 3600.0
LINE = 72  # letters that a line of the title block holds
NEARLY_WHOLE = 0.05
NOTHING_YET = "Nothing is in work yet."


def status_report(
    status: Status, *, number: int, issued: str, is_demonstration: bool = False
) -> bytes:
    """Set the report.

    number : of the report within its order
    issued : when and by whom, in words
    """
    reference = status.customer_reference or status.project
    sheet = Sheet(
        works=status.works,
        title="Status report",
        number=f"{status.order} / {number}",
        about=_short(", ".join(filter(None, (status.customer, reference)))),
        issued=_short(issued),
        warning="Demonstration: invented data" if is_demonstration else "",
    )
    width = sheet.text_width
    story = [
        sheets.heading(f"Order {status.order}: where it stands on {status.as_of.isoformat()}"),
        sheets.facts(
            [
                ("Customer", status.customer),
                ("Your reference", status.customer_reference or "—"),
                ("Project", status.project or "—"),
                ("Delivery", status.delivery),
            ],
            width=width,
            abreast=2,
        ),
        sheets.space(),
        *(sheets.paragraph(sentence) for sentence in status.stands or (NOTHING_YET,)),
    ]
    for item in status.items:
        story += _item(item, width)
    story += [
        sheets.heading("Inspections to attend or release"),
        sheets.table(
            [
                Column("What", 3.6),
                Column("Units", 1.7),
                Column("Party", 1.1),
                Column("Part", 0.9),
                Column("Date", 1.5),
                Column("State", 1.4),
                Column("Notice, working days", 1.1, numeric=True),
            ],
            [
                (
                    line.what,
                    ", ".join(line.units),
                    line.party,
                    line.part,
                    _day(line.on),
                    line.state,
                    str(line.notice_days),
                )
                for line in status.attend
            ],
            width=width,
            nothing="None is outstanding.",
        ),
        sheets.heading("Open questions"),
        sheets.table(
            [Column("Number", 1), Column("Question", 5), Column("With", 2), Column("Since", 1.4)],
            [
                (line.number, line.question, line.with_whom, _day(line.since))
                for line in status.open
            ],
            width=width,
            nothing="Nothing waits for an answer.",
        ),
        sheets.heading("What changed since the last report"),
        sheets.table(
            [
                Column("Item", 0.6),
                Column("Milestone", 2),
                Column("Was", 1.3),
                Column("Now", 1.3),
                Column("Reason", 4),
            ],
            [
                (
                    str(line.item),
                    line.milestone.capitalize(),
                    _day(line.was),
                    _day(line.now),
                    line.reason,
                )
                for line in status.moved
            ],
            width=width,
            nothing="No published date moved.",
        ),
        sheets.note(
            "Contract: as agreed with the order. Published: the date we tell you, moved by a "
            "person and with a reason. Actual: reached. Days are those of the works' calendar."
        ),
        sheets.caution_named("judgement", width=width),
    ]
    return sheets.build(sheet, story)


def _item(item: ItemStatus, width: float) -> list[object]:
    story: list[object] = [
        sheets.heading(
            f"Item {item.number}: {item.quantity} × {item.what}"
            + (f", {item.tag}" if item.tag else "")
        )
    ]
    if item.facts:
        story.append(sheets.facts(item.facts, width=width, abreast=2))
    if item.sketch is not None:
        story.append(sheets.picture(draw(sketch_chart(item.sketch)), width=width * 0.62))
    story += [
        sheets.subheading("Milestones"),
        sheets.table(
            [
                Column("Milestone", 2.4),
                Column("Contract", 1.2),
                Column("Published", 1.2),
                Column("Actual", 1.2),
            ],
            [
                (
                    line.name.capitalize(),
                    _day(line.contract_on),
                    _day(line.published_on),
                    _day(line.actual_on),
                )
                for line in item.milestones
            ],
            width=width,
        ),
    ]
    if item.units:
        story += [
            sheets.subheading("Each unit's progress: operations finished of those in its route"),
            sheets.table(*_units(item.units), width=width),
        ]
    return story


def _units(units: tuple[UnitLine, ...]) -> tuple[list[Column], list[tuple[str, ...]]]:
    areas = list(dict.fromkeys(share.area for unit in units for share in unit.shares))
    columns = [
        Column("Serial number", 1.8),
        *(Column(area.capitalize(), max(1.2, len(area) / 8)) for area in areas),
    ]
    rows = []
    for unit in units:
        shares = {share.area: share for share in unit.shares}
        rows.append(
            (
                unit.serial,
                *(
                    f"{shares[area].done} of {shares[area].total}" if area in shares else "—"
                    for area in areas
                ),
            )
        )
    return columns, rows


def sketch_chart(sketch: Sketch) -> XYChart:
    """The small curve, in the units of a sheet: one pump, and the system as that pump meets it."""
    pumps = _abreast(sketch)
    flows = [flow / pumps for flow in sketch.system_flow_m3s]
    furthest = max(sketch.pump_flow_m3s) * 1.05
    heads = [
        head for flow, head in zip(flows, sketch.system_head_m, strict=True) if flow <= furthest
    ]
    system = "system" if pumps == 1 else f"system, {pumps} pumps running"
    return XYChart(
        title="Head against flow, one pump",
        description="One pump's head at the chosen diameter and speed, the system, and the duty.",
        x=Axis("Flow", "m³/h"),
        panels=(
            Panel(
                Axis("Head", "m"),
                curves=(
                    Curve("pump", _per_hour(sketch.pump_flow_m3s), sketch.pump_head_m, heavy=True),
                    Curve(system, _per_hour(flows[: len(heads)]), tuple(heads), 1),
                ),
                spots=(Spot("duty", sketch.duty_flow_m3s * HOUR, sketch.duty_head_m, series=2),),
            ),
        ),
        width=620,
        height=260,
    )


def _abreast(sketch: Sketch) -> int:
    """How many such pumps the system was chosen for: its flow at the duty's head over the duty's.

    One where that is no whole number, as for a duty off the system's curve.
    """
    flow = np.interp(sketch.duty_head_m, sketch.system_head_m, sketch.system_flow_m3s)
    share = float(flow) / sketch.duty_flow_m3s
    return round(share) if share >= 1 and abs(share - round(share)) < NEARLY_WHOLE else 1


def _per_hour(flows: Sequence[float]) -> tuple[float, ...]:
    return tuple(flow * HOUR for flow in flows)


def _short(text: str) -> str:
    """What fits a line of the title block; the whole of it stands in the report."""
    return textwrap.shorten(text, LINE, placeholder="…")


def _day(day: date | None) -> str:
    return formats.isodate(day) if day else formats.NOTHING
