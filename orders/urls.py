"""Addresses of this app's pages."""

from django.urls import path

from orders.views import customer

app_name = "orders"
urlpatterns = [
    path("c/<str:secret>/", customer.enter, name="customer_enter"),
    path("status/<int:pk>/", customer.page, name="customer_page"),
    path("status/<int:pk>/answers/<int:concession_id>/", customer.answer, name="customer_answer"),
    path("status/<int:pk>/papers/<int:revision_id>/", customer.paper, name="customer_paper"),
    path("status/<int:pk>/reports/<int:number>/", customer.report, name="customer_report"),
    path("orders/<str:number>/", customer.page, name="order"),
    path("customers/<int:pk>/", customer.page, name="customer"),
]
