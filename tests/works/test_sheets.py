"""Sheets: the same bytes for the same input, all signs of the trade, a complete title block."""

import hashlib
import subprocess
import sys
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from works.cautions import CAUTIONS, JUDGEMENT
from works.drawing import Axis, Curve, Panel, XYChart, draw
from works.sheets import (
    Column,
    Sheet,
    build,
    caution_named,
    facts,
    heading,
    new_page,
    note,
    paragraph,
    picture,
    signatures,
    space,
    state_text,
    subheading,
    table,
    together,
)
from works.sheets.faces import has_glyph
from works.states import GLYPHS, STATES

SHEET = Sheet(
    works="Tamebrook Pump Works",
    title="Status report",
    number="26-0412 / S3",
    about="Águas do Vale, order 4500-7781",
    revision="3",
    issued="2026-03-04 14:05, M. Quiroga",
)
SIGNS = "³ ² ° η ρ ν μ × − ≥ ≤ Ø ± ½ ″ ′ → ≈ Δ · – — “ ” • ⚠ ⌀"
LETTERS = {
    "Portuguese": "áâãàçéêíóôõúÁÂÃÀÇÉÊÍÓÔÕÚªº",
    "Estonian": "äõöüšžÄÕÖÜŠŽ",
    "Norwegian": "æøåÆØÅéèêóòôü",
    "Spanish": "áéíñóúü¿¡ÁÉÍÑÓÚÜ",
}


def story(rows: int = 3) -> list[object]:
    width = SHEET.text_width
    flows = (0.0, 100.0, 200.0)
    chart = XYChart(
        "t",
        "d",
        Axis("Flow", "m³/h"),
        (Panel(Axis("Head", "m"), (Curve("Ø 412 mm", flows, (60.0, 55.0, 45.0)),)),),
    )
    return [
        heading("Where the order stands"),
        subheading("Duty"),
        paragraph("Flow < 250 m³/h & head ≥ 48 m"),
        facts(
            [("Flow", "250 m³/h"), ("Head", "48.2 m"), ("Power", "45 kW")], width=width, abreast=2
        ),
        table(
            [Column("Operation", 3), Column("State"), Column("Hours", 1, numeric=True)],
            [(f"Operation {n}", state_text("late", "2 d late"), f"{n} h") for n in range(rows)],
            width=width,
            marked=[0],
        ),
        picture(draw(chart), width=width),
        space(),
        together(heading("Cautions"), caution_named("hydrostatic", width=width)),
        signatures(["Maker", "Customer"], width=width),
        note("Source: common practice."),
    ]


def read(content: bytes) -> PdfReader:
    return PdfReader(BytesIO(content))


def words(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in read(content).pages).split())


def test_equal_input_gives_equal_bytes() -> None:
    assert build(SHEET, story()) == build(replace(SHEET), story())
    assert build(SHEET, story()) != build(replace(SHEET, revision="4"), story())


def test_equal_input_gives_equal_bytes_in_another_process_too() -> None:
    code = (
        "import os; os.environ['DJANGO_SETTINGS_MODULE'] = 'config.settings';"
        "import django; django.setup(); import hashlib; from tests.works.test_sheets import *;"
        "print(hashlib.sha256(build(SHEET, story())).hexdigest())"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120
    )
    assert done.stdout.strip() == hashlib.sha256(build(SHEET, story())).hexdigest()


def test_the_title_block_stands_on_every_page_with_its_number() -> None:
    pages = read(build(SHEET, story(rows=120))).pages
    assert len(pages) >= 3
    for number, page in enumerate(pages, start=1):
        text = page.extract_text()
        assert f"Page {number} of {len(pages)}" in text
        for part in (SHEET.works, SHEET.title, SHEET.number, SHEET.about, "Revision 3"):
            assert part in text
        assert "Issued 2026-03-04 14:05, M. Quiroga" in text


def test_a_tables_heads_stand_again_on_each_page_it_runs_over() -> None:
    pages = [page.extract_text() for page in read(build(SHEET, story(rows=120))).pages]
    over = [text for text in pages if "Operation 5" in text or "Operation 11" in text]
    assert len(over) >= 2
    assert all("Hours" in text for text in over)


def test_the_caution_about_judgement_is_on_the_sheet_with_and_without_a_warning() -> None:
    assert JUDGEMENT in words(build(SHEET, [paragraph("x")]))
    warned = words(build(replace(SHEET, warning="Demonstration: invented data"), [paragraph("x")]))
    assert JUDGEMENT in warned
    assert "Demonstration: invented data" in warned


@pytest.mark.parametrize("key", CAUTIONS)
def test_a_caution_says_on_the_sheet_what_it_says_on_the_screen(key: str) -> None:
    text = words(build(SHEET, [caution_named(key, width=SHEET.text_width)]))
    assert CAUTIONS[key].title in text
    assert all(sentence in text for sentence in CAUTIONS[key].sentences)


@pytest.mark.parametrize("letters", [SIGNS, *LETTERS.values()], ids=["signs", *LETTERS])
def test_signs_and_letters_are_in_the_faces_and_come_out_of_the_sheet(letters: str) -> None:
    wanted = letters.replace(" ", "")
    assert [sign for sign in wanted if not has_glyph(sign)] == []
    text = words(build(replace(SHEET, about=letters), [heading(letters), paragraph(letters)]))
    assert text.replace(" ", "").count(wanted) == 3


def test_every_states_glyph_is_in_the_faces() -> None:
    assert {state.shape for state in STATES.values()} == GLYPHS.keys()
    assert [glyph for glyph in "".join(GLYPHS.values()) if not has_glyph(glyph)] == []
    assert len(set(GLYPHS.values())) == len(GLYPHS)


def test_all_faces_are_embedded() -> None:
    for page in read(build(SHEET, story())).pages:
        fonts = page["/Resources"]["/Font"]  # type: ignore[index]
        for font in (each.get_object() for each in fonts.values()):
            descriptor = font["/FontDescriptor"].get_object()
            assert "/FontFile2" in descriptor, font["/BaseFont"]


def test_what_looks_like_markup_is_written_as_it_is() -> None:
    text = words(build(SHEET, [paragraph("<b>&amp;</b>"), heading("a < b")]))
    assert "<b>&amp;</b>" in text
    assert "a < b" in text


def test_an_empty_table_says_so() -> None:
    shown = table([Column("A")], [], width=100, nothing="No holds are open.")
    assert "No holds are open." in words(build(SHEET, [shown]))


def test_a_heading_is_never_alone_at_the_foot_of_a_page() -> None:
    for rows in range(30, 60, 2):
        lead = table([Column("A")], [("x",)] * rows, width=200)
        pages = [
            page.extract_text()
            for page in read(build(SHEET, [lead, heading("Cautions"), paragraph("after")])).pages
        ]
        page = next(text for text in pages if "Cautions" in text)
        assert "after" in page


def test_a_heading_does_not_drag_a_long_table_to_the_next_page() -> None:
    long = table([Column("A")], [(f"row {n}",) for n in range(80)], width=200)
    first = read(build(SHEET, [paragraph("x"), heading("Rows"), long])).pages[0].extract_text()
    assert "row 0" in first


def test_a_wide_sheet_lies_on_its_side_and_a_part_can_begin_a_page() -> None:
    wide = replace(SHEET, wide=True)
    pages = read(build(wide, [paragraph("one"), new_page(), paragraph("two")])).pages
    assert len(pages) == 2
    box = pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (842, 595)  # A4, ISO 216, in pt


def test_the_file_says_what_it_is() -> None:
    reader = read(build(SHEET, [paragraph("x")]))
    assert reader.metadata is not None
    assert reader.metadata.title == "Status report 26-0412 / S3"
    assert reader.metadata.author == "Tamebrook Pump Works"
    assert reader.trailer["/Root"]["/Lang"] == "en-GB"  # type: ignore[index]


def test_a_long_name_is_made_to_fit_its_cell_not_cut() -> None:
    about = "Companhia das Águas e Saneamento do Grande Vale do Alto Ribatejo " * 3
    assert about.strip() in words(build(replace(SHEET, about=about.strip()), [paragraph("x")]))
