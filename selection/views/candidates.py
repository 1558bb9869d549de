"""One candidate with its metals, flanges and sealing: looked at, changed, frozen."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from selection import charts
from selection.actions import choices as deeds
from selection.configuration import Rotation, Sealing
from selection.desk import Search, cleaned_inputs, look, service_of
from selection.errors import DutyIncomplete
from selection.forms.outfit import OutfitForm
from selection.hydraulics.candidates import Candidate
from selection.hydraulics.checks import Finding, Verdict
from selection.hydraulics.duty import Duty
from selection.hydraulics.errors import HydraulicsError
from selection.materials.choice import MaterialChoice
from selection.materials.errors import MaterialsError
from selection.materials.sealing import PACKING_PLANS, SealNeeds
from selection.materials.service import Service
from selection.models import Impeller, PumpSize, Study
from selection.outfit import Outfit, material_data, outfit, wanted_choice
from selection.reasons import PICKED, joined
from selection.views.studies import HtmxRequest, number_of
from works.drawing import draw, svg
from works.errors import Refusal
from works.middleware import tell
from works.people import Group, may
from works.requests import signed_in


@dataclass(frozen=True)
class Open:
    """A warning as the page asks for its reason: names of its two entries, and what stands there.

    The names follow the rule, so that a reason stays when other warnings come and go.
    """

    warning: Mapping[str, Any]
    picked_name: str
    words_name: str
    picked: str
    words: str


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def candidate(request: HtmxRequest, pk: int, key: str) -> HttpResponse:
    """One candidate; a POST checks the set that was picked, or freezes it."""
    study = get_object_or_404(Study, pk=pk)
    try:
        cleaned = cleaned_inputs(study)
        searched = look(cleaned)
    except (DutyIncomplete, HydraulicsError) as error:
        refused = {"sentence": str(error), "back": study.get_absolute_url()}
        return render(request, "works/refused.html", refused, status=422)
    found = searched.candidate(key)
    impeller = get_object_or_404(
        Impeller.objects.select_related("size__pattern", "pattern"), pk=int(found.impeller.key)
    )
    bench = Bench(found, searched.duty, service_of(cleaned), impeller.size)
    form = _form(request.POST if request.method == "POST" else None)
    fitted, trouble = _fitted(form, bench)
    opens = _opens(request.POST, deeds.warnings_of(found, fitted) if fitted else [])
    status = 422 if trouble or form.errors else 200
    if "freeze" in request.POST and status == 200:
        try:
            choice = deeds.freeze_choice(
                study_id=study.pk,
                version=number_of(request.POST.get("version")),
                candidate_key=key,
                picked=form.cleaned_data,
                needs=form.needs(),
                rotation=Rotation(form.cleaned_data["rotation"]),
                motor_special=form.cleaned_data["motor_special"],
                reasons={row.warning["rule"]: joined(row.picked, row.words) for row in opens},
                by=signed_in(request),
                at=timezone.now(),
            )
        except (Refusal, MaterialsError) as error:
            trouble, status = str(error), getattr(error, "status", 422)
        else:
            tell(request, f"Choice {choice.number} is frozen.")
            return redirect(choice)
    context: dict[str, Any] = {
        "study": study,
        "candidate": found,
        "impeller": impeller,
        "form": form,
        "fitted": fitted,
        "opens": opens,
        "elsewhere": _elsewhere(request.POST, opens),
        "pick_list": PICKED,
        "trouble": trouble,
        "may_freeze": may(signed_in(request), Group.APPLICATION_ENGINEER),
        "tried": "freeze" in request.POST,
    }
    if request.htmx:
        return render(request, "selection/_set.html", context, status=200 if status == 200 else 422)
    if fitted and fitted.suggestion:
        context["suggestion"] = fitted.suggestion
    context |= _chart(searched, found, impeller) | by_weight(found)
    return render(request, "selection/candidate.html", context, status=status)


@dataclass(frozen=True)
class Bench:
    """What a set of metals, flanges and sealing is tried on."""

    candidate: Candidate
    duty: Duty
    service: Service
    size: PumpSize

    def fit(self, needs: SealNeeds, wanted: MaterialChoice | None) -> Outfit:
        return outfit(self.candidate, self.duty, self.service, self.size, needs, wanted)


def _fitted(form: OutfitForm, bench: Bench) -> tuple[Outfit | None, str]:
    """The set as picked, or as the works would offer it, which then stands in the form."""
    trouble = ""
    try:
        if form.is_bound and form.is_valid():
            return bench.fit(form.needs(), wanted_choice(form.cleaned_data, bench.size)), ""
    except (MaterialsError, Refusal) as error:
        trouble = str(error)
    try:
        offered = bench.fit(SealNeeds(), None)
    except (MaterialsError, Refusal) as error:
        return None, trouble or str(error)
    if offered.choice:
        form.offer(offered.choice)
    return offered, trouble


def _form(data: QueryDict | None) -> OutfitForm:
    rows = material_data()
    plans = {
        Sealing.PACKING: PACKING_PLANS,
        Sealing.MECHANICAL_SEAL: tuple(row.text("plan") for row in rows.seal_plans),
    }
    return OutfitForm(data, data_rows=rows, plans=plans)


def _opens(posted: QueryDict, warnings: Iterable[Mapping[str, Any]]) -> list[Open]:
    return [
        Open(
            warning=warning,
            picked_name=(picked := f"picked:{warning['rule']}"),
            words_name=(words := f"words:{warning['rule']}"),
            picked=posted.get(picked, ""),
            words=posted.get(words, ""),
        )
        for warning in warnings
    ]


def _elsewhere(posted: QueryDict, opens: Iterable[Open]) -> list[tuple[str, str]]:
    """Reasons typed for warnings that this set does not raise; another may again."""
    asked = {name for row in opens for name in (row.picked_name, row.words_name)}
    return [
        (name, str(said))
        for name, said in posted.items()
        if name.startswith(("picked:", "words:")) and name not in asked and said
    ]


def by_weight(found: Candidate) -> dict[str, list[Finding]]:
    """What speaks against the candidate, worst first, and what is in order."""
    raised = [finding for finding in found.findings if finding.verdict is not Verdict.GOOD]
    return {
        "raised": sorted(raised, key=lambda finding: -int(finding.verdict)),
        "in_order": [finding for finding in found.findings if finding.verdict is Verdict.GOOD],
    }


def _chart(searched: Search, found: Candidate, impeller: Impeller) -> dict[str, Any]:
    lines = charts.lines_of(found, searched.chart(found), searched.duty)
    title = charts.title_of(str(impeller), found)
    return {"chart": svg(draw(charts.drawing(lines, title))), "rows": charts.table(lines)}
