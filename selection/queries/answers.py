"""What the catalogue answers to a duty, as the desk shows it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from selection import charts
from selection.charts import TableRow
from selection.desk import Search, look
from selection.forms.duty import DutyForm
from selection.hydraulics.candidates import Candidate
from selection.hydraulics.checks import Finding, Verdict
from selection.models import Impeller
from works import formats, units
from works.drawing import XYChart
from works.units import Kind

RANKED, REJECTED = 12, 8


@dataclass(frozen=True)
class Row:
    """A candidate in the list.

    against, cautions : findings in words; `good` are the sentences of the others
    """

    name: str
    candidate: Candidate
    is_charted: bool
    against: tuple[Finding, ...]
    cautions: tuple[Finding, ...]
    good: tuple[str, ...]


@dataclass(frozen=True)
class Rejected:
    """A candidate that a check rules out."""

    name: str
    candidate: Candidate
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Answer:
    """The list, what was left out of it, and the chart of one.

    duty : as typed, and in the units of the page
    said : the answer in one sentence
    how : the order of the list and the system's origin
    drawing, table : of the candidate that is charted; None without a candidate
    rejected_count : of all, of which the nearest are listed
    """

    duty: str
    said: str
    how: str
    ranked: tuple[Row, ...]
    ranked_count: int
    rejected: tuple[Rejected, ...]
    rejected_count: int
    drawing: XYChart | None
    table: tuple[TableRow, ...]


def answer_to(form: DutyForm, *, charted: str = "", all_rejected: bool = False) -> Answer:
    """Ask the catalogue; in one query more than the search itself.

    form : valid
    charted : key of the candidate to chart; left out or gone, the first of the list
    all_rejected : list every rejected candidate, not the nearest only
    raises : HydraulicsError; EmptyCatalogue
    """
    searched = look(form.cleaned_data)
    found = searched.found
    ranked = found.ranked(RANKED)
    rejected = found.rejected(found.rejected_count if all_rejected else REJECTED)
    names = impeller_names([*ranked, *rejected])
    shown = next((each for each in ranked if each.key == charted), ranked[0] if ranked else None)
    return Answer(
        duty=duty_sentence(form),
        said=_said(searched, ranked, names),
        how=f"{found.ranking_sentence} System: {searched.duty.system.source}.",
        ranked=tuple(_row(names, each, is_charted=each is shown) for each in ranked),
        ranked_count=len(found),
        rejected=tuple(
            Rejected(names[each.impeller.key], each, tuple(why.sentence for why in each.killed_by))
            for each in rejected
        ),
        rejected_count=found.rejected_count,
        **_charted(searched, shown, names),
    )


def _charted(searched: Search, shown: Candidate | None, names: Mapping[str, str]) -> dict[str, Any]:
    if shown is None:
        return {"drawing": None, "table": ()}
    data = searched.chart(shown)
    lines = charts.lines_of(shown, data, searched.duty)
    return {
        "drawing": charts.drawing(lines, charts.title_of(names[shown.impeller.key], shown)),
        "table": charts.table(lines),
    }


def _row(names: Mapping[str, str], candidate: Candidate, *, is_charted: bool) -> Row:
    by_verdict: dict[Verdict, list[Finding]] = {verdict: [] for verdict in Verdict}
    for finding in candidate.findings:
        by_verdict[finding.verdict].append(finding)
    return Row(
        name=names[candidate.impeller.key],
        candidate=candidate,
        is_charted=is_charted,
        against=tuple(by_verdict[Verdict.AGAINST]),
        cautions=tuple(by_verdict[Verdict.CAUTION]),
        good=tuple(finding.sentence for finding in by_verdict[Verdict.GOOD]),
    )


def impeller_names(candidates: Iterable[Candidate]) -> dict[str, str]:
    """Casing and impeller as the catalogue calls them, by key, in one query."""
    keys = {int(candidate.impeller.key) for candidate in candidates}
    rows = Impeller.objects.filter(pk__in=keys).values_list("pk", "size__name", "name")
    return {str(pk): f"{size} {name}" for pk, size, name in rows}


def _said(searched: Search, ranked: tuple[Candidate, ...], names: Mapping[str, str]) -> str:
    found = searched.found
    if not ranked:
        return f"No candidate; {found.rejected_count} rejected."
    best = ranked[0]
    return (
        f"{len(found)} {'candidate' if len(found) == 1 else 'candidates'}, first "
        f"{names[best.impeller.key]} at {formats.percent(best.efficiency)}; "
        f"{found.rejected_count} rejected."
    )


def duty_sentence(form: DutyForm) -> str:
    """The duty as computed with, and as typed where that was in other units."""
    said = form.cleaned_data
    flow = _typed(form, "flow", Kind.FLOW, formats.flow(said["flow"]))
    head = _typed(form, "head", Kind.HEAD, formats.head(said["head"]))
    pumps = said["pumps"]
    running = "one pump" if pumps == 1 else f"{pumps} pumps in parallel, each"
    standby = f", {said['standby']} standing by" if said["standby"] else ""
    return f"{running} {flow} at {head}{standby}"


def _typed(form: DutyForm, name: str, kind: Kind, usual: str) -> str:
    figure, key = form[name].data
    unit = units.unit(kind, key)
    if unit == units.units(kind)[0]:
        return usual
    return f"{usual} ({figure.strip()}\N{NO-BREAK SPACE}{unit.label} as typed)"
