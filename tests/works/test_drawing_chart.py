"""Charts: the figures can be read back from the drawing, and from the sheet the same ones."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from io import BytesIO
from itertools import pairwise

import pytest
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from works.drawing import (
    Axis,
    Band,
    Curve,
    Level,
    Panel,
    Spot,
    Upright,
    XYChart,
    draw,
    svg,
)
from works.drawing.pdf import draw as draw_on_sheet
from works.drawing.plot import NothingToDraw
from works.sheets.faces import BOLD, PLAIN, register

FLOWS = (0.0, 100.0, 200.0, 300.0)
HEADS = (62.0, 60.0, 54.0, 44.0)
HEAD_PANEL = Panel(
    Axis("Head", "m", from_zero=False),
    curves=(
        Curve("Ø 412 mm", FLOWS, HEADS, series=0, heavy=True),
        Curve("System", (0.0, 100.0, 150.0), (22.0, 26.0, 31.0), series=2),
    ),
    bands=(Band("", FLOWS, tuple(h - 2 for h in HEADS), tuple(h + 2 for h in HEADS)),),
    spots=(Spot("Duty <1>", 200.0, 54.0, series=1, error_x=9.0, error_y=1.5),),
    share=2,
)
POWER_PANEL = Panel(
    Axis("Power", "kW"),
    curves=(Curve("Shaft power", FLOWS, (25.0, 32.0, 41.0, 50.0), series=3),),
    levels=(Level("Motor 55 kW", 55.0, limit=True),),
)
CHART = XYChart(
    "Pump curve & duty",
    "Head 54 m at 200 m³/h.",
    Axis("Flow", "m³/h"),
    (HEAD_PANEL, POWER_PANEL),
    uprights=(Upright("End of range", 280.0, limit=True),),
)


def places(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([-\d.]+) ([-\d.]+)", path)]


def shown_words(root: ET.Element) -> list[ET.Element]:
    """Words that stand on the drawing before anything is pointed at."""
    slips = [g for g in root.iter("g") if g.get("class") == "callout"]
    hidden = {id(word) for slip in slips for word in slip.iter("text")}
    return [word for word in root.iter("text") if id(word) not in hidden]


def number(text: str) -> float:
    return float(text.replace("−", "-"))


def is_figure(text: str | None) -> bool:
    return bool(text and re.fullmatch(r"−?[\d.]+", text))


@pytest.fixture(scope="module")
def root() -> ET.Element:
    return ET.fromstring(svg(draw(CHART)))


def test_a_curves_figures_can_be_read_back_against_the_ticks(root: ET.Element) -> None:
    foot = {
        number(t.text or ""): float(t.attrib["x"])
        for t in root.iter("text")
        if is_figure(t.text) and t.get("text-anchor") == "middle"
    }
    side = [t for t in root.iter("text") if is_figure(t.text) and t.get("text-anchor") == "end"]
    head = {number(t.text or ""): float(t.attrib["y"]) - 4.2 for t in side if number(t.text or "0")}
    head = {value: y for value, y in head.items() if y < 290}
    heavy = next(p for p in root.iter("path") if p.get("stroke-width") == "2.6")
    (x_low, x_high), (y_low, y_high) = (min(foot), max(foot)), (min(head), max(head))
    for (x, y), flow, meant in zip(places(heavy.attrib["d"]), FLOWS, HEADS, strict=True):
        read_flow = x_low + (x - foot[x_low]) / (foot[x_high] - foot[x_low]) * (x_high - x_low)
        read_head = y_low + (y - head[y_low]) / (head[y_high] - head[y_low]) * (y_high - y_low)
        assert read_flow == pytest.approx(flow, abs=0.05)
        assert read_head == pytest.approx(meant, abs=0.05)


def test_the_drawing_is_sound_xml_without_styles_and_with_escaped_words(root: ET.Element) -> None:
    text = svg(draw(CHART))
    assert "style=" not in text
    assert "Duty &lt;1&gt;" in text
    assert root.attrib["aria-label"] == "Pump curve & duty Head 54 m at 200 m³/h."


def test_a_named_point_can_be_focused_and_says_its_figures(root: ET.Element) -> None:
    assert root.attrib["role"] == "group"
    spots = [g for g in root.iter("g") if g.get("tabindex") == "0"]
    assert len(spots) == 1
    says = spots[0].attrib["aria-label"]
    assert says == "Duty <1>: Head 54.0 m at Flow 200 m³/h"
    assert spots[0].findtext("title") == says
    slip = spots[0].find("g")
    assert slip is not None
    assert says in "".join(slip.itertext())


def test_a_chart_without_points_is_one_image_to_assistive_technology() -> None:
    bare = replace(CHART, panels=(POWER_PANEL,))
    assert ET.fromstring(svg(draw(bare))).attrib["role"] == "img"


def test_places_along_a_curve_answer_the_pointer_with_their_figures(root: ET.Element) -> None:
    sentences = {title.text for title in root.iter("title")}
    assert "Ø 412 mm: Head 44.0 m at Flow 300 m³/h" in sentences
    assert "Shaft power: Power 50.0 kW at Flow 300 m³/h" in sentences


def test_callouts_stay_inside_the_drawing(root: ET.Element) -> None:
    slips = [g for g in root.iter("g") if g.get("class") == "callout"]
    assert slips
    for slip in slips:
        paper = slip.find("path")
        assert paper is not None
        for x, y in places(paper.attrib["d"]):
            assert 0 <= x <= CHART.width
            assert 0 <= y <= CHART.height


def test_series_differ_by_dash_before_they_differ_by_colour(root: ET.Element) -> None:
    dashes = {
        p.attrib["class"]: p.get("stroke-dasharray")
        for p in root.iter("path")
        if p.get("class", "").startswith("s-series") and p.get("fill") == "none"
    }
    assert dashes["s-series-1"] is None
    assert len({dashes["s-series-3"], dashes["s-series-4"], None}) == 3


def test_names_at_the_edge_do_not_cover_each_other() -> None:
    curves = tuple(Curve(f"Ø {d}", FLOWS, tuple(h + d / 1e4 for h in HEADS), d) for d in range(5))
    picture = ET.fromstring(
        svg(draw(replace(CHART, panels=(replace(POWER_PANEL, curves=curves),))))
    )
    heights = sorted(
        float(t.attrib["y"]) for t in shown_words(picture) if re.match("Ø|Motor", t.text or "")
    )
    assert len(heights) == 6
    assert all(b - a > 12 for a, b in pairwise(heights))


def test_a_curve_that_ends_early_is_named_at_its_own_end(root: ET.Element) -> None:
    name = next(t for t in root.iter("text") if t.text == "System")
    curve = next(p for p in root.iter("path") if p.get("class") == "s-series-3")
    end = places(curve.attrib["d"])[-1]
    assert 0 < float(name.attrib["x"]) - end[0] < 10


def test_the_sheet_carries_the_same_words_and_figures_as_the_screen(root: ET.Element) -> None:
    register()
    paper = BytesIO()
    canvas = Canvas(paper, invariant=1, initialFontName=PLAIN)
    draw_on_sheet(draw(CHART), canvas, 40, 300, 500, face=PLAIN, bold=BOLD)
    canvas.save()
    printed = PdfReader(BytesIO(paper.getvalue())).pages[0].extract_text().split("\n")
    shown = [word.text or "" for word in shown_words(root)]
    assert len(shown) > 20
    assert sorted(filter(None, printed)) == sorted(shown)


def test_a_chart_without_figures_is_refused_by_the_name_of_its_axis() -> None:
    empty = XYChart("t", "d", Axis("Flow", "m³/h"), (Panel(Axis("Head", "m")),))
    with pytest.raises(NothingToDraw, match=r"Flow \[m³/h\]"):
        draw(empty)


def test_equal_models_give_equal_drawings() -> None:
    assert svg(draw(CHART)) == svg(draw(replace(CHART)))
