"""The inspection pages in Chromium: nothing for axe to find, and forms without any script."""

from django.urls import reverse

from quality.acceptance.hydrostatic import Leak, Place
from quality.models import Nonconformance, PressureTest
from tests.factories import quality as q


def signed_in(open_page, person, **options):
    """A page of somebody signed in by the form, as people do it."""
    person.set_password("a-long-enough-password")
    person.save(update_fields=["password"])
    page = open_page(**options)
    page.goto(reverse("login"))
    page.locator("input[name=username]").fill(person.username)
    page.locator("input[name=password]").fill("a-long-enough-password")
    page.locator("form:has(input[name=password]) button[type=submit]").click()
    page.wait_for_url(lambda url: "login" not in url)
    return page


def test_axe_finds_nothing_on_the_inspection_pages(open_page, axe):
    plan = q.plan(units=2)
    q.cast(plan)
    test = q.signed(q.passed_pressure_test(plan), "hydrostatic")
    q.passed_pressure_test(plan, unit=2, leaks=[Leak(place=Place.BODY, where="rib")])
    performance = q.performance_test(plan)
    page = signed_in(open_page, q.inspector())
    hydro, bed = q.operation(plan, "ASM-HYDRO").pk, q.operation(plan, "TST-PERFORM").pk
    addresses = [
        reverse("quality:desk"),
        reverse("quality:visits"),
        reverse("quality:nonconformances"),
        reverse("quality:instruments"),
        reverse("quality:certificates"),
        reverse("quality:new_instrument"),
        reverse("quality:new_visit", args=[plan.pk]),
        plan.get_absolute_url(),
        q.point(plan, "HYDRO").get_absolute_url(),
        q.point(plan, "CLEARANCES").get_absolute_url(),
        reverse("quality:new_measurement", args=[q.point(plan, "CLEARANCES").pk]),
        reverse("quality:new_pressure_test", args=[hydro]),
        reverse("quality:new_performance_test", args=[bed]),
        reverse("quality:new_nonconformance", args=[hydro]),
        test.get_absolute_url(),
        performance.get_absolute_url(),
        Nonconformance.objects.get().get_absolute_url(),
    ]
    for address in addresses:
        answer = page.goto(address)
        assert answer.status == 200, address
        axe(page)


def test_a_pressure_test_is_entered_without_any_script(open_page):
    plan = q.plan()
    first, second = q.gauges()
    page = signed_in(open_page, q.inspector(), java_script_enabled=False)
    operation = q.operation(plan, "ASM-HYDRO")
    page.goto(reverse("quality:new_pressure_test", args=[operation.pk]))
    page.locator("#id_gauge_1").select_option(str(first.pk))
    page.locator("#id_gauge_2").select_option(str(second.pk))
    for name in ("gauge_1_start", "gauge_1_end", "gauge_2_start", "gauge_2_end"):
        page.locator(f"input[name={name}]").fill("13,6")
    page.locator("input[name=held]").fill("abc")
    page.get_by_role("button", name="Keep and judge").click()
    assert "is no figure that can be read" in page.content()
    assert page.locator("input[name=gauge_1_start]").input_value() == "13,6"
    page.locator("input[name=held]").fill("30")
    page.get_by_role("button", name="Keep and judge").click()
    assert PressureTest.objects.get().verdict == "pass"
    assert "Passed" in page.content()
