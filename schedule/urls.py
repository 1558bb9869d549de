"""Addresses of this app's pages."""

from django.urls import path

from schedule.views import buying, calendars, desk, floor, pieces, routes, setup

app_name = "schedule"
urlpatterns = [
    path("", desk.desk, name="desk"),
    path("work-lists/", floor.lists, name="work_lists"),
    path("work-lists/<str:code>/", floor.one_list, name="work_list"),
    path("report/", floor.report, name="report"),
    path("operations/<int:pk>/", floor.operation, name="operation"),
    path("reports/<int:pk>/correct/", floor.correct, name="correct"),
    path("holds/<int:pk>/at-risk/", floor.at_risk, name="at_risk"),
    path("holds/<int:pk>/expected/", floor.expect, name="expect"),
    path("routes/<int:pk>/", routes.route, name="route"),
    path("routes/<int:pk>/<slug:deed>/", routes.deed, name="route_deed"),
    path("units/<int:pk>/ship-by/", routes.unit_due, name="unit_due"),
    path("units/<int:pk>/card.pdf", routes.card, name="route_card"),
    path("units/<int:pk>/pair/", pieces.pair, name="pair"),
    path("buying/", buying.bought_outs, name="bought_outs"),
    path("buying/<int:pk>/order/", buying.order, name="order_part"),
    path("buying/<int:pk>/promise/", buying.promise, name="promise"),
    path("buying/<int:pk>/arrive/", buying.arrive, name="arrive"),
    path("pieces/", pieces.pieces, name="pieces"),
    path("pieces/new/", pieces.pour, name="pour"),
    path("pieces/<int:pk>/", pieces.piece, name="piece"),
    path("pieces/<int:pk>/take/", pieces.take, name="take"),
    path("pieces/<int:pk>/swap/", pieces.swap, name="swap"),
    path("pieces/<int:pk>/scrap/", pieces.scrap, name="scrap"),
    path("calendars/", calendars.calendars, name="calendars"),
    path("calendars/new/", calendars.new_calendar, name="new_calendar"),
    path("calendars/<int:pk>/", calendars.calendar, name="calendar"),
    path("calendars/<int:pk>/<slug:deed>/", calendars.calendar_deed, name="calendar_deed"),
    path("calendar-days/<int:pk>/take-away/", calendars.take_day_away, name="take_day_away"),
    path("work-centres/", setup.work_centres, name="work_centres"),
    path("work-centres/new/", setup.new_work_centre, name="new_work_centre"),
    path("work-centres/usual/", setup.standard_work_centres, name="standard_work_centres"),
    path("work-centres/<str:code>/", setup.work_centre, name="work_centre"),
    path("lanes/", setup.lanes, name="lanes"),
    path("lanes/new/", setup.new_lane, name="new_lane"),
    path("lanes/<int:pk>/", setup.lane, name="lane"),
    path("templates/", setup.templates, name="templates"),
    path("templates/usual/", setup.standard_templates, name="standard_templates"),
    path("templates/new/", setup.new_template, name="new_template"),
    path("templates/<int:pk>/", setup.template, name="template"),
    path("templates/<int:pk>/<str:code>/", setup.template_row, name="template_row"),
]
