"""The registers: instruments and material certificates."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quality.actions import certificates as certificate_deeds
from quality.actions import instruments as instrument_deeds
from quality.forms.registers import AgainForm, CertificateForm, InstrumentForm, WithdrawForm
from quality.models import Instrument, MaterialCertificate
from quality.queries.certificates import certificates_missing
from quality.views.answers import attempt, status_of
from works.middleware import tell
from works.requests import signed_in

SOON_DAYS = 30


@require_GET
def instruments(request: HttpRequest) -> HttpResponse:
    """The register, those due first."""
    today = timezone.localdate()
    rows = [
        {
            "instrument": instrument,
            "days_left": (instrument.due_on - today).days,
            "state": _state(instrument, (instrument.due_on - today).days),
        }
        for instrument in Instrument.objects.order_by("withdrawn", "due_on", "tag")
    ]
    return render(request, "quality/instruments.html", {"rows": rows})


def _state(instrument: Instrument, days_left: int) -> str:
    if instrument.withdrawn:
        return "cancelled"
    if days_left < 0:
        return "overdue"
    return "due" if days_left <= SOON_DAYS else "on-time"


@require_http_methods(["GET", "POST"])
def new_instrument(request: HttpRequest) -> HttpResponse:
    form = InstrumentForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = attempt(
            form,
            lambda: instrument_deeds.add_instrument(
                by=signed_in(request), at=timezone.now(), **form.cleaned_data
            ),
        )
        if made is not None:
            tell(request, f"{made.tag} is in the register, in date until {made.due_on}.")
            return redirect("quality:instruments")
    context = {"form": form, "title": "New instrument"}
    return render(request, "quality/form.html", context, status=status_of(form))


@require_http_methods(["GET", "POST"])
def instrument(request: HttpRequest, pk: int) -> HttpResponse:
    """One instrument with its calibrations; POST enters the next one."""
    found = get_object_or_404(Instrument, pk=pk)
    form = AgainForm(
        request.POST or None, initial={"uncertainty_percent": f"{found.uncertainty_percent:g}"}
    )
    if request.method == "POST" and form.is_valid():
        made = attempt(
            form,
            lambda: instrument_deeds.calibrate(
                instrument_id=pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
            ),
        )
        if made is not None:
            tell(request, f"{made.tag} is in date until {made.due_on}.")
            return redirect("quality:instrument", pk=pk)
    return _instrument_page(request, found, form, WithdrawForm())


@require_POST
def withdraw_instrument(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Instrument, pk=pk)
    form = WithdrawForm(request.POST)
    if form.is_valid():
        made = attempt(
            form,
            lambda: instrument_deeds.withdraw_instrument(
                instrument_id=pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
            ),
        )
        if made is not None:
            tell(request, f"{made.tag} is out of use.")
            return redirect("quality:instruments")
    return _instrument_page(request, found, AgainForm(), form)


def _instrument_page(
    request: HttpRequest, found: Instrument, form: AgainForm, withdraw: WithdrawForm
) -> HttpResponse:
    context = {
        "instrument": found,
        "days_left": (found.due_on - timezone.localdate()).days,
        "calibrations": found.calibrations.select_related("by"),
        "form": form,
        "withdraw": withdraw,
    }
    status = status_of(form, withdraw)
    return render(request, "quality/instrument.html", context, status=status)


@require_GET
def certificates(request: HttpRequest) -> HttpResponse:
    """Material certificates by heat, and heats in work that have none."""
    context = {
        "certificates": MaterialCertificate.objects.select_related("accepted_by", "paper"),
        "missing": certificates_missing(),
    }
    return render(request, "quality/certificates.html", context)


@require_http_methods(["GET", "POST"])
def new_certificate(request: HttpRequest) -> HttpResponse:
    initial = {name: request.GET.get(name, "") for name in ("heat", "metal")}
    form = CertificateForm(
        request.POST or None, initial={**initial, "received_on": timezone.localdate()}
    )
    if request.method == "POST" and form.is_valid():
        made = attempt(
            form,
            lambda: certificate_deeds.receive_certificate(
                by=signed_in(request), at=timezone.now(), **form.cleaned_data
            ),
        )
        if made is not None:
            tell(request, f"The certificate of heat {made.heat} is received: read and accept it.")
            return redirect("quality:certificates")
    context = {"form": form, "title": "Certificate received"}
    return render(request, "quality/form.html", context, status=status_of(form))


@require_POST
def accept_certificate(request: HttpRequest, pk: int) -> HttpResponse:
    made = certificate_deeds.accept_certificate(
        certificate_id=pk, by=signed_in(request), at=timezone.now()
    )
    tell(request, f"The certificate of heat {made.heat} is accepted.")
    return redirect("quality:certificates")
