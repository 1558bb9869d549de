"""The status report as a sheet: published dates only, nothing internal."""

from datetime import date

from orders.queries.status import ItemStatus, Status, UnitLine
from selection.queries.choices import Sketch
from works import formats, sheets
from works.drawing import Axis, Curve, Panel, Spot, XYChart, draw
from works.sheets import Column, Sheet

HOUR = 3600.0


def status_report(
    status: Status, *, number: int, issued: str, is_demonstration: bool = False
) -> bytes:
    """Set the report.

    number : of the report within its order
    issued : when and by whom, in words
    """
    sheet = Sheet(
        works=status.works,
        title="Status report",
        number=f"{status.order} / {number}",
        about=f"{status.customer}, {status.customer_reference or status.project}",
        issued=issued,
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
        *(sheets.paragraph(sentence) for sentence in status.stands),
    ]
    for item in status.items:
        story += _item(item, width)
    story += [
        sheets.heading("Inspections to attend or release"),
        sheets.table(
            [
                Column("What", 4),
                Column("Party", 1.2),
                Column("Part", 1),
                Column("Date", 1.6),
                Column("State", 1.5),
                Column("Notice", 1.3),
            ],
            [
                (
                    line.what,
                    line.party,
                    line.part,
                    _day(line.on),
                    line.state,
                    f"{line.notice_days} working days",
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
                (str(line.item), line.milestone, _day(line.was), _day(line.now), line.reason)
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
                (line.name, _day(line.contract_on), _day(line.published_on), _day(line.actual_on))
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
    columns = [Column("Serial number", 1.8), *(Column(area, 1.1) for area in areas)]
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
    """The small curve, in the units of a sheet."""
    return XYChart(
        title="Head against flow, one pump",
        description="One pump's head at the chosen diameter and speed, the system, and the duty.",
        x=Axis("Flow", "m³/h"),
        panels=(
            Panel(
                Axis("Head", "m"),
                curves=(
                    Curve("pump", _per_hour(sketch.pump_flow_m3s), sketch.pump_head_m, heavy=True),
                    Curve("system", _per_hour(sketch.system_flow_m3s), sketch.system_head_m, 1),
                ),
                spots=(Spot("duty", sketch.duty_flow_m3s * HOUR, sketch.duty_head_m, series=2),),
            ),
        ),
        width=520,
        height=260,
    )


def _per_hour(flows: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(flow * HOUR for flow in flows)


def _day(day: date | None) -> str:
    return formats.isodate(day) if day else formats.NOTHING
