"""Addresses of this app's pages."""

from django.urls import path

from quality.views import desk, nonconformances, points, records, registers, visits

app_name = "quality"
urlpatterns = [
    path("", desk.desk, name="desk"),
    path("plans/<int:pk>/", desk.plan, name="plan"),
    path("plans/<int:plan_pk>/visits/new/", visits.new_visit, name="new_visit"),
    path("points/<int:pk>/", points.point, name="point"),
    path("points/<int:pk>/release/", points.release_point, name="release_point"),
    path("points/<int:pk>/at-risk/", points.pass_point, name="pass_point"),
    path("points/<int:point_pk>/measured/new/", records.new_measurement, name="new_measurement"),
    path("visits/", visits.visits, name="visits"),
    path("visits/<int:pk>/", visits.visit, name="visit"),
    path("visits/<int:pk>/notice/", visits.give_notice, name="give_notice"),
    path("visits/<int:pk>/agree/", visits.agree, name="agree_visit"),
    path("visits/<int:pk>/move/", visits.move, name="move_visit"),
    path("visits/<int:pk>/outcome/", visits.outcome, name="visit_outcome"),
    path(
        "operations/<int:operation_pk>/pressure-test/",
        records.new_pressure_test,
        name="new_pressure_test",
    ),
    path(
        "operations/<int:operation_pk>/performance-test/",
        records.new_performance_test,
        name="new_performance_test",
    ),
    path("operations/<int:operation_pk>/seal-test/", records.new_seal_test, name="new_seal_test"),
    path(
        "operations/<int:operation_pk>/nonconformance/",
        nonconformances.new_nonconformance,
        name="new_nonconformance",
    ),
    path("pressure-tests/<int:pk>/", records.pressure_test_page, name="pressure_test"),
    path("performance-tests/<int:pk>/", records.performance_test_page, name="performance_test"),
    path("seal-tests/<int:pk>/", records.seal_test_page, name="seal_test"),
    path("measured/<int:pk>/", records.measurement_page, name="measurement"),
    path("records/<str:kind>/<int:pk>/sign/", records.sign, name="sign"),
    path("records/<str:kind>/<int:pk>/sheet.pdf", records.sheet, name="sheet"),
    path("nonconformances/", nonconformances.nonconformances, name="nonconformances"),
    path("nonconformances/<int:pk>/", nonconformances.nonconformance, name="nonconformance"),
    path("nonconformances/<int:pk>/ask/", nonconformances.ask, name="ask_buyer"),
    path("nonconformances/<int:pk>/decide/", nonconformances.dispose, name="dispose"),
    path("nonconformances/<int:pk>/close/", nonconformances.close, name="close_nonconformance"),
    path("concessions/<int:pk>/answer/", nonconformances.answer, name="answer"),
    path("instruments/", registers.instruments, name="instruments"),
    path("instruments/new/", registers.new_instrument, name="new_instrument"),
    path("instruments/<int:pk>/", registers.instrument, name="instrument"),
    path(
        "instruments/<int:pk>/withdraw/", registers.withdraw_instrument, name="withdraw_instrument"
    ),
    path("certificates/", registers.certificates, name="certificates"),
    path("certificates/new/", registers.new_certificate, name="new_certificate"),
    path("certificates/<int:pk>/accept/", registers.accept_certificate, name="accept_certificate"),
]
