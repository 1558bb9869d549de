"""The report of figures says what was measured and whether it reaches its goal."""

import math

import pytest

from bench.__main__ import chosen, discover, run
from bench.figures import FIGURES, Figure, Goal, figure


def measured(value: float, *, goal: str, long: bool = False, name: str = "a-figure") -> Figure:
    return Figure(name=name, unit="s", goal=goal, long=long, measure=lambda: value)


@pytest.mark.parametrize(
    ("goal", "value", "holds"),
    [
        ("≥ 200", 200.0, True),
        ("≥ 200", 199.9, False),
        ("≤ 0.55", 0.55, True),
        ("≤ 0.55", 0.56, False),
        ("< 60", 60.0, False),
        ("= 0", 0.0, True),
        ("≤ 5,893,261", 5_893_262.0, False),
        ("≤ 1e-9", 1e-10, True),
        ("≤ 5", math.nan, False),
    ],
)
def test_a_goal_is_a_sign_and_a_number(goal: str, value: float, holds: bool) -> None:
    assert Goal.read(goal).holds(value) is holds


@pytest.mark.parametrize("text", ["", "200", "about 5", "≥ many", "≥ 5 s"])
def test_a_goal_that_cannot_be_read_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="sign"):
        Goal.read(text)


def test_a_line_holds_name_value_unit_goal_and_verdict(capsys: pytest.CaptureFixture[str]) -> None:
    code = run([measured(3.25, goal="< 5"), measured(7.0, goal="< 5"), measured(1.0, goal="")])
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert lines[0] == ["a-figure", "3.25", "s", "<", "5", "holds"]
    assert lines[1] == ["a-figure", "7", "s", "<", "5", "short"]
    assert lines[2] == ["a-figure", "1", "s", "stated"]
    assert lines[3][:8] == ["3", "figures:", "1", "holds,", "1", "short,", "1", "stated;"]
    assert code == 0


def test_a_measurement_that_breaks_off_is_told_and_the_rest_still_measured(
    capsys: pytest.CaptureFixture[str],
) -> None:
    def broken() -> float:
        raise RuntimeError("no water in the sump")

    figures = [Figure("broken", "s", "< 5", False, broken), measured(1.0, goal="< 5")]
    assert run(figures) == 1
    out = capsys.readouterr().out
    assert "failed: RuntimeError('no water in the sump')" in out
    assert "holds" in out


def test_long_figures_wait_for_full_or_for_their_name() -> None:
    figures = {
        "short-one": measured(1.0, goal="", name="short-one"),
        "long-one": measured(1.0, goal="", name="long-one", long=True),
    }
    assert [f.name for f in chosen(figures, only="", full=False)] == ["short-one"]
    assert [f.name for f in chosen(figures, only="", full=True)] == ["short-one", "long-one"]
    assert [f.name for f in chosen(figures, only="long-*", full=False)] == ["long-one"]


@pytest.mark.parametrize("name", ["start-again", "Two Words"])
def test_a_name_is_typed_easily_and_taken_once(name: str) -> None:
    discover()
    assert "start-again" in FIGURES
    with pytest.raises(ValueError, match="figure"):
        figure(name)(lambda: 1.0)
