"""Test sheets and certificates: a kept record on paper, as an inspector would sign it.

What stands here is what the page shows: the same read model, the same words. The same record gives
the same bytes. A verdict that rests on an unchecked value of a standard says so.
"""

from collections.abc import Callable
from typing import Any

from quality.charts import performance_chart
from quality.evidence import HYDROSTATIC, MEASURED, PERFORMANCE, SEAL
from quality.queries.records import RecordView
from quality.tables import (
    CORRECTED_HEADINGS,
    corrected_rows,
    instruments_as_used,
    judged_rows,
    read_table,
)
from works import formats, sheets
from works.drawing import draw
from works.models import Site
from works.sheets import Column, Sheet

Story = list[Any]

CAUTIONS = {HYDROSTATIC: "hydrostatic", PERFORMANCE: "test-bed", SEAL: "hydrostatic"}


def sheet_of(view: RecordView, site: Site) -> bytes:
    """The test sheet of a record as PDF."""
    record = view.record
    sheet = Sheet(
        works=site.name,
        title=view.title,
        number=f"{view.unit or view.route}, record {record.pk}",
        about=f"{view.route}, {view.operation.name}",
        issued=_issued(view, site),
        warning=_warning(view, site),
    )
    width = sheet.text_width
    story: Story = [
        sheets.facts(_heading_facts(view), width=width, abreast=2),
        sheets.space(),
        *_verdict(view, width),
        *BODIES[view.kind](view, width),
        *_instruments(view, width),
        *_rows(view, width),
    ]
    if view.kind in CAUTIONS:
        story += [sheets.space(), sheets.caution_named(CAUTIONS[view.kind], width=width)]
    story += [
        sheets.caution_named("release", width=width),
        sheets.signatures(
            ["Maker", "Customer", "Third party"] if view.kind != MEASURED else ["Maker"],
            width=width,
        ),
    ]
    return sheets.build(sheet, story)


def _issued(view: RecordView, site: Site) -> str:
    record = view.record
    if record.signed_at is None:
        return ""
    return f"{formats.instant(record.signed_at, site.zone)}, signed by {record.signed_by}"


def _warning(view: RecordView, site: Site) -> str:
    if view.replaced_by is not None:
        return f"Replaced by record {view.replaced_by.pk}"
    if not view.record.is_signed:
        return "Not signed"
    return "Demonstration: invented data" if site.is_demonstration else ""


def _heading_facts(view: RecordView) -> list[tuple[str, str]]:
    record = view.record
    pairs = [
        ("Serial number", str(view.unit) if view.unit else formats.NOTHING),
        ("Order and item", str(view.route)),
        ("Operation", view.operation.name),
        ("Tested on", formats.isodate(record.tested_on)),
        ("Entered by", str(record.entered_by or formats.NOTHING)),
        ("Record", f"{record.pk}, engine {record.engine_version}"),
    ]
    if record.replaces_id is not None:
        pairs.append(("Correction of", f"record {record.replaces_id}"))
    if note := view.inputs.get("note"):
        pairs.append(("Note", str(note)))
    return pairs


def _verdict(view: RecordView, width: float) -> Story:
    story: Story = [
        sheets.heading("Verdict"),
        sheets.facts(
            [("Result", sheets.state_text(view.state, view.word))], width=width, abreast=1
        ),
    ]
    story += [sheets.paragraph(reason) for reason in view.result["reasons"]]
    if todo := view.result.get("to_do"):
        story += [sheets.subheading("What follows"), *(sheets.paragraph(each) for each in todo)]
    for defect in view.defects:
        story.append(
            sheets.paragraph(f"Nonconformance {defect.number}, {defect.severity}: {defect.defect}")
        )
    return story


def _pressure(view: RecordView, width: float) -> Story:
    asked, record = view.inputs["asked"], view.inputs["record"]
    pairs = [
        ("Highest working pressure", formats.pressure(asked["working_pressure_max_pa"])),
        ("Test pressure", formats.pressure(view.result["required_pa"])),
        ("Rule", str(view.result["rule"])),
        ("Time asked", f"{view.result['required_s'] / 60:g} min"),
        ("Time held", f"{record['held_s'] / 60:g} min"),
        ("Water", formats.temperature(record["water_temperature_k"])),
    ]
    if record["chloride_mg_kg"] is not None:
        pairs.append(("Chloride in the water", f"{record['chloride_mg_kg']:g} mg/kg"))
    gauges = [
        (
            reading["gauge"]["tag"],
            f"{formats.number(float(reading['gauge']['highest']))} {reading['gauge']['unit']}",
            formats.pressure(reading["start_pa"]),
            formats.pressure(reading["end_pa"]),
        )
        for reading in record["gauges"]
    ]
    leaks = [
        (leak["place"], leak["where"], leak["kind"], "yes" if leak["remade"] else "no")
        for leak in record["leaks"]
    ]
    return [
        sheets.heading("Test"),
        sheets.facts(pairs, width=width, abreast=2),
        sheets.note(f"{view.result['required']} {view.result['doubt']}".strip()),
        sheets.subheading("Gauges"),
        sheets.table(
            [
                Column("Gauge"),
                Column("Range to", numeric=True),
                Column("At the start", numeric=True),
                Column("At the end", numeric=True),
            ],
            gauges,
            width=width,
        ),
        sheets.subheading("Leaks"),
        sheets.table(
            [
                Column("Place"),
                Column("Where", width=2),
                Column("How much"),
                Column("Remade before"),
            ],
            leaks,
            width=width,
            nothing="No leak was seen.",
        ),
    ]


def _performance(view: RecordView, width: float) -> Story:
    guarantee, result = view.inputs["guarantee"], view.result
    grade = f"{view.inputs['standard']}:{view.inputs['edition']} grade {view.inputs['grade']}"
    pairs = [
        ("Guaranteed flow", formats.flow(guarantee["flow_m3s"])),
        ("Guaranteed head", formats.head(guarantee["head_m"])),
        ("Rated speed", formats.speed(guarantee["speed_rpm"])),
        ("Density", formats.density(guarantee["density_kg_m3"])),
        ("Guaranteed efficiency", formats.percent(guarantee["efficiency"])),
        ("Guaranteed power", formats.power(guarantee["power_w"])),
        ("Judged by", str(result["tolerances"])),
        ("Grade agreed", grade),
        ("Tolerance cross", str(view.inputs["cross"])),
        ("Water on the bed", formats.density(view.inputs["set_up"]["density_kg_m3"], 1)),
    ]
    chart = performance_chart(
        title=f"Performance test of {view.record.tested_on}", guarantee=guarantee, result=result
    )
    return [
        sheets.heading("Guarantee"),
        sheets.facts(pairs, width=width, abreast=2),
        sheets.subheading("Judgement"),
        sheets.table(_JUDGED, judged_rows(result["quantities"]), width=width),
        sheets.picture(draw(chart), width=width),
        sheets.subheading("As read, and at rated speed"),
        _readings(view, width),
        *(sheets.note(remark["sentence"]) for remark in result["remarks"]),
    ]


_JUDGED = (
    Column("Quantity"),
    Column("Guaranteed", numeric=True),
    Column("Measured", numeric=True),
    Column("Deviation", numeric=True),
    Column("Limits", numeric=True),
    Column("Result", width=1.6),
)


def _readings(view: RecordView, width: float) -> Any:
    """Each reading in the order taken, with what it comes to at rated speed beside it."""
    headings, rows = read_table(view.inputs["readings"])
    rated = {row[0]: row[1:5] for row in corrected_rows(view.result["points"])}
    columns = [*headings, *(f"Rated: {heading}" for heading in CORRECTED_HEADINGS[1:5])]
    return sheets.table(
        [Column(heading, numeric=True) for heading in columns],
        [[*row, *rated[row[0]]] for row in rows],
        width=width,
    )


def _seal(view: RecordView, width: float) -> Story:
    record = view.inputs["record"]
    pairs = [
        ("Test pressure", formats.pressure(view.result["required_pa"])),
        ("Time asked", f"{view.result['required_s'] / 60:g} min"),
        ("Pressure at the start", formats.pressure(record["start_pa"])),
        ("Pressure at the end", formats.pressure(record["end_pa"])),
        ("Time held", f"{record['held_s'] / 60:g} min"),
        *(
            (f"Drops a minute, {side}", f"{drops:g}")
            for side, drops in record["drops_per_min"].items()
        ),
    ]
    return [
        sheets.heading("Test"),
        sheets.facts(pairs, width=width, abreast=2),
        sheets.note(str(view.result["required"])),
    ]


def _measured(view: RecordView, width: float) -> Story:
    rows = [
        (
            value["what"],
            formats.number(value["lowest"]),
            formats.number(value["highest"]),
            formats.number(value["measured"]),
            formats.number(value["uncertainty"]),
            value["unit"],
            value["instrument"],
            value["stand"],
        )
        for value in view.result["values"]
    ]
    return [
        sheets.heading("Values"),
        sheets.table(
            [
                Column("Characteristic", width=2),
                Column("Lowest", numeric=True),
                Column("Highest", numeric=True),
                Column("Measured", numeric=True),
                Column("Uncertainty", numeric=True),
                Column("Unit"),
                Column("Instrument"),
                Column("Stands", width=1.4),
            ],
            rows,
            width=width,
        ),
    ]


BODIES: dict[str, Callable[[RecordView, float], Story]] = {
    HYDROSTATIC: _pressure,
    PERFORMANCE: _performance,
    SEAL: _seal,
    MEASURED: _measured,
}


def _instruments(view: RecordView, width: float) -> Story:
    """As they were calibrated on the day, not as they are today."""
    used = instruments_as_used(view)
    rows = [
        (
            instrument["tag"],
            instrument["measures"],
            f"{formats.number(100 * instrument['uncertainty_share'])} %",
            instrument["certificate"] or formats.NOTHING,
            str(instrument["calibrated_on"]),
            str(instrument["due_on"]),
        )
        for instrument in used
    ]
    return [
        sheets.heading("Instruments"),
        sheets.table(
            [
                Column("Tag"),
                Column("Measures"),
                Column("Uncertainty of reading", numeric=True),
                Column("Certificate"),
                Column("Calibrated on"),
                Column("Due on"),
            ],
            rows,
            width=width,
        ),
    ]


def _rows(view: RecordView, width: float) -> Story:
    """The rows of standards that the verdict rests on, each with how sure it is."""
    story: Story = [sheets.heading("What the verdict rests on")]
    if view.result["unchecked"]:
        story.append(
            sheets.paragraph(
                f"{view.result['unchecked']} of these values have not been checked against the "
                "works' own copy of the standard; the verdict holds as far as they do."
            )
        )
    return story + [sheets.note(row["sentence"]) for row in view.result["rows"]]
