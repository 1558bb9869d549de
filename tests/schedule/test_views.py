"""Pages: shown, asked by a stranger, sent wrongly, sent rightly."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from schedule.models import (
    BoughtOut,
    Calendar,
    Lane,
    Operation,
    Piece,
    Progress,
    Route,
    RouteTemplate,
    WorkCentre,
)
from tests.factories.schedule import (
    GateFactory,
    LaneFactory,
    PatternFactory,
    PieceFactory,
    SiteFactory,
    grown,
    person,
    small_works,
    step,
)
from works.people import Group

pytestmark = pytest.mark.django_db


@pytest.fixture
def planner(client: Client) -> Client:
    """A planner's browser."""
    client.force_login(person(Group.PLANNER, Group.BUYER, Group.QUALITY_ENGINEER))
    return client


def fresh(**fields: Any) -> Route:
    """A route grown a week ago, due in twenty weeks, so that pages look as on a real day."""
    now = timezone.now()
    due = (now + timedelta(weeks=20)).date()
    return grown(at=now - timedelta(days=7), due_on=due, **fields)


def stamp(minutes_ago: int = 5) -> str:
    """What a browser sends for a moment some minutes ago."""
    at = timezone.localtime(timezone.now() - timedelta(minutes=minutes_ago))
    return at.strftime("%Y-%m-%dT%H:%M")


def pages() -> dict[str, str]:
    """Every page of the app, by what it shows."""
    route = fresh(quantity=2)
    operation = step(route, "MCH-I-TURN")
    GateFactory.create(operation=operation, reason="Dimensions checked")
    report = Progress.objects.create(
        operation=step(route, "DSP-PACK"),
        deed="start",
        stated_at=timezone.now(),
        reported_at=timezone.now(),
    )
    part = BoughtOut.objects.get(operation__route=route)
    taken = PieceFactory.create(
        state=Piece.State.TAKEN, unit=route.units.get(number=1), pattern_revision="A"
    )
    PieceFactory.create(pattern=taken.pattern)
    calendar = Calendar.objects.get()
    lane = LaneFactory.create()
    template = RouteTemplate.objects.get()
    unit = route.units.get(number=1)
    named: dict[str, list[Any]] = {
        "desk": [],
        "work_lists": [],
        "work_list": ["LATHE"],
        "operation": [operation.pk],
        "correct": [report.pk],
        "at_risk": [operation.gates.get().pk],
        "expect": [operation.gates.get().pk],
        "route": [route.pk],
        "unit_due": [unit.pk],
        "route_card": [unit.pk],
        "pair": [unit.pk],
        "bought_outs": [],
        "order_part": [part.pk],
        "promise": [part.pk],
        "arrive": [part.pk],
        "pieces": [],
        "pour": [],
        "piece": [taken.pk],
        "take": [taken.pk],
        "swap": [taken.pk],
        "scrap": [taken.pk],
        "calendars": [],
        "new_calendar": [],
        "calendar": [calendar.pk],
        "work_centres": [],
        "new_work_centre": [],
        "standard_work_centres": [],
        "work_centre": ["LATHE"],
        "lanes": [],
        "new_lane": [],
        "lane": [lane.pk],
        "templates": [],
        "new_template": [],
        "template": [template.pk],
        "template_row": [template.pk, "MCH-I-TURN"],
    }
    addresses = {name: reverse(f"schedule:{name}", args=args) for name, args in named.items()}
    for deed in (
        "release",
        "hold",
        "resume",
        "cancel",
        "due",
        "weight",
        "serials",
        "drawing",
        "ship",
    ):
        addresses[f"route {deed}"] = reverse("schedule:route_deed", args=[route.pk, deed])
    for deed in ("overtime", "close", "holidays", "week"):
        addresses[f"calendar {deed}"] = reverse("schedule:calendar_deed", args=[calendar.pk, deed])
    addresses["report"] = f"{reverse('schedule:report')}?deed=start&operation={operation.pk}"
    return addresses


def test_every_page_is_shown(planner: Client) -> None:
    wrong = {}
    for name, address in pages().items():
        response = planner.get(address)
        if response.status_code != 200:
            wrong[name] = response.status_code
    assert wrong == {}


def test_an_empty_works_shows_its_pages_too(planner: Client) -> None:
    SiteFactory.create()
    for name in ("desk", "work_lists", "bought_outs", "pieces", "calendars", "work_centres"):
        assert planner.get(reverse(f"schedule:{name}")).status_code == 200
    for name in ("lanes", "templates", "new_calendar", "new_lane"):
        assert planner.get(reverse(f"schedule:{name}")).status_code == 200


def test_a_stranger_is_sent_to_sign_in(client: Client) -> None:
    for name, address in pages().items():
        response = client.get(address)
        assert response.status_code == 302, name
        assert response["Location"].startswith(reverse("login")), name


def test_a_viewer_may_look_but_not_report(client: Client) -> None:
    route = fresh()
    client.force_login(person(Group.VIEWER))
    operation = step(route, "ENG-REVIEW")
    assert client.get(operation.get_absolute_url()).status_code == 200
    sent = {"deed": "start", "operation": operation.pk, "stated_at": stamp(), "key": "k1"}
    response = client.post(reverse("schedule:report"), {**sent, "worker": "", "note": ""})
    assert response.status_code == 403
    assert "may not report on Order review" in response.content.decode()
    assert not Progress.objects.exists()


def test_the_work_list_takes_a_start_of_two_operations_in_one_go(planner: Client) -> None:
    route = fresh(quantity=2)
    pours = [step(route, "FDY-I-POUR", unit).pk for unit in (1, 2)]
    sent = {
        "deed": "start",
        "operation": pours,
        "stated_at": stamp(),
        "key": "list-1",
        "next": reverse("schedule:work_list", args=["FOUNDRY"]),
        "worker": "",
        "note": "",
    }
    response = planner.post(reverse("schedule:report"), sent, follow=True)
    assert response.redirect_chain == [(sent["next"], 302)]
    assert "2 operations: start at" in response.content.decode()
    assert "Marked: out of order" in response.content.decode()
    assert Operation.objects.filter(pk__in=pours, state="started").count() == 2


def test_the_same_form_sent_twice_is_one_report(planner: Client) -> None:
    operation = step(fresh(), "ENG-REVIEW")
    sent = {"deed": "start", "operation": operation.pk, "stated_at": stamp(), "key": "twice"}
    for _ in range(2):
        planner.post(reverse("schedule:report"), {**sent, "worker": "", "note": ""})
    assert Progress.objects.count() == 1


def test_a_start_that_confirms_something_asks_for_it_without_scolding(planner: Client) -> None:
    operation = step(fresh(), "FDY-I-MOULD")
    sent = {"deed": "start", "operation": operation.pk, "stated_at": stamp(17), "key": "k"}
    response = planner.post(reverse("schedule:report"), sent)
    page = response.content.decode()
    assert response.status_code == 200
    assert "Number and revision on the pattern" in page
    assert "Nothing is reported yet" not in page
    assert f'value="{sent["stated_at"]}"' in page
    assert "P-IMPELLER" not in page  # the right answer is not given away


def test_a_mismatch_keeps_what_was_typed(planner: Client) -> None:
    operation = step(fresh(), "FDY-I-MOULD")
    sent = {
        "deed": "start",
        "operation": operation.pk,
        "stated_at": stamp(),
        "key": "k",
        f"confirm-{operation.pk}-pattern": "P-IMPELLER rev A",
        "worker": "Rui Faria",
        "note": "from the rack",
    }
    response = planner.post(reverse("schedule:report"), sent)
    page = response.content.decode()
    assert response.status_code == 409
    assert "pattern is P-IMPELLER rev A, ordered is P-IMPELLER rev B" in page
    for typed in ("P-IMPELLER rev A", "Rui Faria", "from the rack"):
        assert f'value="{typed}"' in page
    sent[f"confirm-{operation.pk}-pattern"] = "p-impeller b"
    assert planner.post(reverse("schedule:report"), sent).status_code == 302


def test_a_stop_asks_for_its_reason_and_refuses_none(planner: Client) -> None:
    operation = step(fresh(), "ENG-REVIEW")
    start = {"deed": "start", "operation": operation.pk, "stated_at": stamp(30), "key": "a"}
    planner.post(reverse("schedule:report"), {**start, "worker": "", "note": ""})
    stop = {"deed": "stop", "operation": operation.pk, "stated_at": stamp(), "key": "b"}
    assert "Choose the reason" in planner.post(reverse("schedule:report"), stop).content.decode()
    response = planner.post(reverse("schedule:report"), {**stop, "reason": ""})
    assert response.status_code == 422
    planner.post(reverse("schedule:report"), {**stop, "reason": "power cut", "remaining_h": "2.5"})
    operation.refresh_from_db()
    assert (operation.state, operation.remaining_minutes) == ("stopped", 150)


def test_a_finish_of_what_was_not_started_asks_when_it_began(planner: Client) -> None:
    operation = step(fresh(), "ENG-REVIEW")
    sent = {"deed": "finish", "operation": operation.pk, "stated_at": stamp(), "key": "a"}
    assert "Begun at" in planner.post(reverse("schedule:report"), sent).content.decode()
    backwards = {**sent, "started_at": stamp(0)}
    response = planner.post(reverse("schedule:report"), backwards)
    assert response.status_code == 422
    assert "It began after it ended" in response.content.decode()
    assert (
        planner.post(reverse("schedule:report"), {**sent, "started_at": stamp(60)}).status_code
        == 302
    )
    operation.refresh_from_db()
    assert operation.state == "finished"


def test_a_report_of_the_future_is_refused_on_the_page(planner: Client) -> None:
    operation = step(fresh(), "ENG-REVIEW")
    sent = {"deed": "start", "operation": operation.pk, "stated_at": stamp(-60), "key": "a"}
    response = planner.post(reverse("schedule:report"), {**sent, "worker": "", "note": ""})
    assert response.status_code == 422
    assert "give a time past" in response.content.decode()


def test_a_time_that_is_none_is_refused_with_an_example(planner: Client) -> None:
    operation = step(fresh(), "ENG-REVIEW")
    sent = {"deed": "start", "operation": operation.pk, "stated_at": "yesterday", "key": "a"}
    response = planner.post(reverse("schedule:report"), sent)
    assert response.status_code == 422
    assert "such as 2026-03-04 14:05" in response.content.decode()
    assert "yesterday" in response.content.decode()


def test_a_start_past_a_gate_is_refused_on_the_page(planner: Client) -> None:
    operation = step(fresh(), "ENG-REVIEW")
    GateFactory.create(operation=operation, reason="Data frozen")
    sent = {"deed": "start", "operation": operation.pk, "stated_at": stamp(), "key": "a"}
    response = planner.post(reverse("schedule:report"), sent)
    assert response.status_code == 409
    assert "held by Data frozen" in response.content.decode()


def test_a_report_on_nothing_says_so(planner: Client) -> None:
    fresh()
    response = planner.post(reverse("schedule:report"), {"deed": "start"}, follow=True)
    assert "tick at least one operation" in response.content.decode()


def test_next_leads_to_no_other_site(planner: Client) -> None:
    operation = step(fresh(), "ENG-REVIEW")
    sent = {
        "deed": "start",
        "operation": operation.pk,
        "stated_at": stamp(),
        "key": "a",
        "next": "https://elsewhere.example/",
        "worker": "",
        "note": "",
    }
    response = planner.post(reverse("schedule:report"), sent)
    assert response["Location"] == reverse("schedule:work_list", args=["DRAWING"])


def test_the_route_page_says_first_that_work_should_have_begun(planner: Client) -> None:
    now = timezone.now()
    route = grown(at=now - timedelta(days=60), due_on=(now + timedelta(days=8)).date())
    page = planner.get(reverse("schedule:route", args=[route.pk])).content.decode()
    assert "Work on this order should have begun on" in page
    assert "order review is the first that is late." in page


def test_proceeding_at_risk_needs_scope_and_limit(planner: Client) -> None:
    operation = step(fresh(), "ENG-REVIEW")
    gate = GateFactory.create(operation=operation)
    address = reverse("schedule:at_risk", args=[gate.pk])
    response = planner.post(address, {"scope": "turning only", "limit": ""})
    assert response.status_code == 422
    assert 'value="turning only"' in response.content.decode()
    planner.post(address, {"scope": "turning only", "limit": "until Friday"})
    gate.refresh_from_db()
    assert gate.at_risk_scope == "turning only"


def test_a_report_is_corrected_from_its_page(planner: Client) -> None:
    operation = step(fresh(), "ENG-REVIEW")
    start = {"deed": "start", "operation": operation.pk, "stated_at": stamp(30), "key": "a"}
    planner.post(reverse("schedule:report"), {**start, "worker": "", "note": ""})
    old = Progress.objects.get()
    planner.post(reverse("schedule:correct", args=[old.pk]), {"stated_at": stamp(90), "note": ""})
    operation.refresh_from_db()
    assert operation.reports.count() == 2
    page = planner.get(operation.get_absolute_url()).content.decode()
    assert f"corrects report {old.pk}" in page


def test_a_part_is_ordered_promised_and_booked_in(planner: Client) -> None:
    route = fresh()
    part = BoughtOut.objects.get(operation__route=route)
    today = timezone.localdate()
    order = {"supplier": "Selado Lda", "ordered_on": today.isoformat()}
    assert planner.post(reverse("schedule:order_part", args=[part.pk]), order).status_code == 302
    later = (today + timedelta(days=30)).isoformat()
    promise = reverse("schedule:promise", args=[part.pk])
    assert planner.post(promise, {"promised_on": later}).status_code == 302
    response = planner.post(
        promise, {"promised_on": (today + timedelta(days=60)).isoformat(), "reason": ""}
    )
    assert response.status_code == 422
    arrive = reverse("schedule:arrive", args=[part.pk])
    assert planner.post(arrive, {"arrived_on": later}).status_code == 422
    assert planner.post(arrive, {"arrived_on": today.isoformat()}).status_code == 302
    part.refresh_from_db()
    assert part.operation.state == "finished"


def test_an_empty_works_is_set_up_from_the_screens(planner: Client) -> None:
    SiteFactory.create()
    week = {"days_1": ["0", "1", "2", "3", "4"], "starts_1": "08:00", "ends_1": "16:30"}
    address = reverse("schedule:new_calendar")
    planner.post(address, {"name": "Day shift", "keeps_public_holidays": "on", **week})
    calendar = Calendar.objects.get()
    assert calendar.days.filter(kind="public holiday").count() > 20
    planner.post(reverse("schedule:standard_work_centres"), {"calendar": calendar.pk})
    assert WorkCentre.objects.count() > 20
    planner.post(reverse("schedule:standard_templates"))
    assert set(RouteTemplate.objects.values_list("name", flat=True)) == {
        "pump",
        "spares impeller",
        "spares shaft",
    }
    lane = {
        "name": "Road to Talinn",
        "mode": "road",
        "destination": "Talinn",
        "country": "ee",
        "door_to_port_days": 0,
        "cut_off_days": 0,
        "voyage_days": 6,
        "customs_days": 0,
        "haulage_days": 0,
    }
    planner.post(reverse("schedule:new_lane"), lane)
    assert Lane.objects.get().country == "EE"


def test_a_sea_lane_without_sailings_is_refused_in_words(planner: Client) -> None:
    lane = {
        "name": "Sea to nowhere",
        "mode": "sea",
        "destination": "Walvis Bay",
        "country": "NA",
        "door_to_port_days": 1,
        "cut_off_days": 2,
        "voyage_days": 24,
        "customs_days": 5,
        "haulage_days": 2,
    }
    response = planner.post(reverse("schedule:new_lane"), lane)
    assert response.status_code == 422
    assert "no sailing is known" in response.content.decode()


def test_a_calendar_is_changed_from_its_pages(planner: Client) -> None:
    small_works()
    calendar = Calendar.objects.get()
    version = calendar.version

    def deed(name: str) -> str:
        return reverse("schedule:calendar_deed", args=[calendar.pk, name])

    today = timezone.localdate()
    overtime = {"on": today.isoformat(), "starts": "18:00", "ends": "20:00"}
    assert planner.post(deed("overtime"), overtime).status_code == 302
    backwards = {"kind": "shutdown", "first": "2026-08-10", "last": "2026-08-01"}
    response = planner.post(deed("close"), backwards)
    assert response.status_code == 422
    assert "The last day is before the first" in response.content.decode()
    august = {"kind": "shutdown", "first": "2026-08-10", "last": "2026-08-21"}
    assert planner.post(deed("close"), august).status_code == 302
    years = {"first_year": 2026, "last_year": 2026}
    assert planner.post(deed("holidays"), years).status_code == 302
    week = {"days_1": ["0", "1"], "starts_1": "06:00", "ends_1": "14:00"}
    assert planner.post(deed("week"), week).status_code == 302
    half = {"days_1": ["0"], "starts_1": "06:00", "ends_1": ""}
    assert planner.post(deed("week"), half).status_code == 422
    calendar.refresh_from_db()
    assert calendar.version > version + 3
    assert calendar.shifts.count() == 2
    day = calendar.days.filter(kind="shutdown").first()
    assert day is not None
    planner.post(reverse("schedule:take_day_away", args=[day.pk]))
    assert calendar.days.filter(kind="shutdown").count() == 11


def test_a_template_row_is_edited_and_a_ring_refused(planner: Client) -> None:
    template = small_works()
    address = reverse("schedule:template_row", args=[template.pk, "FDY-I-POUR"])
    sent = {"name": "Pouring", "work_centre": "FOUNDRY", "length": "1.5", "after": "FDY-I-MOULD"}
    assert planner.post(address, sent).status_code == 302
    assert template.rows.get(code="FDY-I-POUR").row["minutes"] == 90
    response = planner.post(address, {**sent, "after": "DSP-PACK"})
    assert response.status_code == 422
    assert "ring" in response.content.decode()
    response = planner.post(address, {**sent, "after": "after lunch"})
    assert response.status_code == 422
    assert template.rows.get(code="FDY-I-POUR").row["after"][0]["code"] == "FDY-I-MOULD"


def test_a_casting_is_registered_taken_and_scrapped_from_the_screens(planner: Client) -> None:
    route = fresh()
    PatternFactory.create(number="P-IMPELLER")
    unit = route.units.get()
    sent = {
        "mark": "C-1",
        "part": "impeller",
        "pattern": "P-IMPELLER",
        "metal": "CC491K",
        "heat": "H-77",
        "poured_on": timezone.localdate().isoformat(),
        "unit": "",
        "rotation": "",
    }
    assert planner.post(reverse("schedule:pour"), sent).status_code == 302
    piece = Piece.objects.get()
    take = reverse("schedule:take", args=[piece.pk])
    assert planner.post(take, {"unit": unit.pk}).status_code == 302
    scrap = reverse("schedule:scrap", args=[piece.pk])
    assert planner.post(scrap, {"reason": "", "instead": "recast"}).status_code == 422
    assert planner.post(scrap, {"reason": "cold shut", "instead": "recast"}).status_code == 302
    piece.refresh_from_db()
    assert piece.state == "scrapped"


def test_the_route_card_is_a_pdf(planner: Client) -> None:
    route = fresh()
    response = planner.get(reverse("schedule:route_card", args=[route.units.get().pk]))
    assert response["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF")


def test_the_planner_holds_and_resumes_a_route(planner: Client) -> None:
    route = fresh()

    def deed(name: str) -> str:
        return reverse("schedule:route_deed", args=[route.pk, name])

    assert planner.post(deed("hold"), {"reason": ""}).status_code == 422
    assert planner.post(deed("hold"), {"reason": "not paid"}).status_code == 302
    page = planner.get(reverse("schedule:route", args=[route.pk])).content.decode()
    assert "This route is on hold." in page
    assert planner.post(deed("resume"), {"reason": ""}).status_code == 302
    past = {"due_on": "2020-01-01", "reason": "typo"}
    response = planner.post(deed("due"), past)
    assert response.status_code == 422
    assert "it must be a day from" in response.content.decode()
    assert 'value="2020-01-01"' in response.content.decode()
    assert planner.get(deed("explode")).status_code == 404


def test_a_work_list_asks_the_database_as_often_for_many_rows_as_for_few(
    planner: Client, django_assert_max_num_queries: Any
) -> None:
    small_works()
    for _ in range(3):
        fresh(quantity=3)
    with django_assert_max_num_queries(16):
        planner.get(reverse("schedule:work_list", args=["FLOOR"]))
    with django_assert_max_num_queries(14):
        planner.get(reverse("schedule:desk"))
