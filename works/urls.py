"""Addresses of the ground floor."""

from django.urls import path

from works import views

app_name = "works"
urlpatterns = [
    path("setup/", views.setup, name="setup"),
    path("setup/site/", views.site, name="site"),
    path("people/", views.people, name="people"),
    path("people/new/", views.new_person, name="new_person"),
    path("people/<int:pk>/", views.person, name="person"),
    path("people/<int:pk>/password/", views.give_password, name="give_password"),
    path("standards/", views.standards, name="standards"),
    path("standards/load/", views.load_standards, name="load_standards"),
    path("standards/<slug:table>/", views.standard, name="standard"),
    path("standards/check/<int:pk>/", views.check_standard, name="check_standard"),
    path("papers/<int:pk>/", views.revision, name="revision"),
    path("history/", views.events, name="events"),
    path("background/", views.background, name="background"),
    path("jobs/<int:pk>/", views.job, name="job"),
    path("jobs/<int:pk>/cancel/", views.cancel_job, name="cancel_job"),
    path("version/", views.version, name="version"),
]
