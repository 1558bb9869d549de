"""Addresses of the selection desk and the catalogue."""

from django.urls import path

from selection.views import candidates, catalogue, choices, patterns, studies

app_name = "selection"
urlpatterns = [
    path("", studies.studies, name="studies"),
    path("new/", studies.new_study, name="new_study"),
    path("<int:pk>/", studies.study, name="study"),
    path("<int:pk>/copy/", studies.copy, name="copy"),
    path("<int:pk>/candidates/<str:key>/", candidates.candidate, name="candidate"),
    path("choices/<int:pk>/", choices.choice, name="choice"),
    path("catalogue/", catalogue.catalogue, name="catalogue"),
    path("catalogue/casings/new/", catalogue.new_size, name="new_size"),
    path("catalogue/casings/<int:pk>/", catalogue.size, name="size"),
    path("catalogue/casings/<int:pk>/change/", catalogue.change_size, name="change_size"),
    path("catalogue/impellers/new/", catalogue.new_impeller, name="new_impeller"),
    path("catalogue/impellers/<int:pk>/", catalogue.impeller, name="impeller"),
    path("catalogue/impellers/<int:pk>/change/", catalogue.change_impeller, name="change_impeller"),
    path("catalogue/curves/<int:pk>/withdraw/", catalogue.withdraw_curve, name="withdraw_curve"),
    path("catalogue/curves/<int:pk>/use/", catalogue.bring_curve_back, name="bring_curve_back"),
    path("catalogue/metals/", catalogue.metals, name="metals"),
    path("patterns/", patterns.patterns, name="patterns"),
    path("patterns/new/", patterns.new_pattern, name="new_pattern"),
    path("patterns/<int:pk>/", patterns.pattern, name="pattern"),
]
