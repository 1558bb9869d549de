"""Colours hold the contrast that WCAG 2.2 asks for, in both themes; nothing is styled inline."""

import re
from pathlib import Path

import pytest
from django.conf import settings

from works.drawing.inks import ON_PAPER

CSS = Path(settings.BASE_DIR) / "static" / "css"
TEMPLATES = Path(settings.BASE_DIR) / "templates"
TOKENS = (CSS / "tokens.css").read_text()
SURFACES = ("paper", "paper-raised", "paper-sunk")
TEXTS = ("ink", "ink-soft", "accent", "good", "warn", "bad", "hold")
SERIES = tuple(f"series-{number}" for number in range(1, 6))


def block(selector: str) -> dict[str, str]:
    body = TOKENS.split(selector + " {", 1)[1].split("}", 1)[0]
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", body))


LIGHT = block(":root")
DARK = block(':root[data-theme="dark"]')
THEMES = {"light": LIGHT, "dark": DARK}


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_measure_agrees_with_known_pairs() -> None:
    # WCAG 2.2: black on white is 21:1; W3C's understanding pages: #767676 on white is 4.54:1
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("surface", SURFACES)
@pytest.mark.parametrize("text", TEXTS)
def test_text_stands_out_four_and_a_half_to_one(theme: str, surface: str, text: str) -> None:
    colours = THEMES[theme]
    assert contrast(colours[text], colours[surface]) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(
    ("text", "surface"),
    [
        ("ink", "warn-wash"),
        ("ink", "bad-wash"),
        ("ink", "accent-wash"),
        ("warn", "warn-wash"),
        ("bad", "bad-wash"),
        ("good", "good-wash"),
        ("hold", "hold-wash"),
        ("accent", "accent-wash"),
        ("accent-ink", "accent"),
    ],
)
def test_text_stands_out_on_washes_and_on_the_accent(theme: str, text: str, surface: str) -> None:
    colours = THEMES[theme]
    assert contrast(colours[text], colours[surface]) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("ink", ["rule-strong", "accent", *SERIES])
def test_lines_and_focus_stand_out_three_to_one(theme: str, ink: str) -> None:
    colours = THEMES[theme]
    for surface in SURFACES:
        assert contrast(colours[ink], colours[surface]) >= 3.0


def test_the_dark_theme_is_the_same_by_the_systems_wish_and_by_choice() -> None:
    assert block(':root:not([data-theme="light"])') == DARK
    assert DARK.keys() == LIGHT.keys()


def test_sheets_and_screens_use_the_same_inks() -> None:
    assert {ink.value: colour for ink, colour in ON_PAPER.items()} == {
        ink.value: LIGHT[ink.value] for ink in ON_PAPER
    }


def test_every_ink_has_its_class_in_the_style_sheet() -> None:
    sheet = (CSS / "drawing.css").read_text()
    for ink in ON_PAPER:
        assert f".s-{ink} {{\n  stroke: var(--{ink});" in sheet
        assert f".f-{ink} {{\n  fill: var(--{ink});" in sheet


def test_every_token_that_is_used_exists() -> None:
    everything = "".join(path.read_text() for path in sorted(CSS.glob("*.css")))
    used = set(re.findall(r"var\(--([\w-]+)", everything))
    defined = set(re.findall(r"--([\w-]+):", everything))
    assert used <= defined


@pytest.mark.parametrize(
    "path", sorted(TEMPLATES.rglob("*.html")), ids=lambda path: str(path.relative_to(TEMPLATES))
)
def test_a_template_styles_nothing_inline_and_carries_no_script(path: Path) -> None:
    text = path.read_text()
    assert not re.search(r"<[^>]*\sstyle\s*=", text), "the content policy refuses style attributes"
    assert "<style" not in text
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)
    assert not re.search(r"<[^>]*\son[a-z]+\s*=\s*[\"']", text), "no handlers in attributes"
    assert not re.search(r"\bhx-on\b|\bhx-vals=[\"']js:", text), "evaluation is switched off"
