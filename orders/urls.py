"""Addresses of this app's pages."""

from django.urls import path

from orders.views import board, changes, customer, customers, enquiries, lists, order

app_name = "orders"
urlpatterns = [
    path("", board.board_page, name="board"),
    path("wall/", board.wall, name="wall"),
    path("orders/", lists.orders, name="orders"),
    path("orders/<str:number>/", order.order, name="order"),
    path("orders/<str:number>/reports/", order.reports, name="order_reports"),
    path("orders/<str:number>/link/", order.new_link, name="new_link"),
    path("orders/<str:number>/<slug:key>/", order.deed, name="order_deed"),
    path("enquiries/", lists.enquiries_page, name="enquiries"),
    path("enquiries/new/", enquiries.new_enquiry, name="new_enquiry"),
    path("enquiries/<str:number>/", enquiries.enquiry, name="enquiry"),
    path("enquiries/<str:number>/items/", enquiries.add_item, name="add_item"),
    path("enquiries/<str:number>/take/", enquiries.take, name="take_order"),
    path("enquiries/<str:number>/decline/", enquiries.decline, name="decline"),
    path("items/<int:pk>/", enquiries.change_item, name="change_item"),
    path("items/<int:pk>/remove/", enquiries.remove_item, name="remove_item"),
    path("items/<int:pk>/choices/<int:choice_pk>/take/", enquiries.take_choice, name="take_choice"),
    path("items/<int:pk>/changes/new/", changes.new_change, name="new_change"),
    path("changes/<int:pk>/", changes.change, name="change"),
    path("changes/<int:pk>/accept/", changes.accept, name="accept_change"),
    path("changes/<int:pk>/refuse/", changes.refuse, name="refuse_change"),
    path("customers/", customers.customers, name="customers"),
    path("customers/new/", customers.new_customer, name="new_customer"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/contacts/", customers.new_contact, name="new_contact"),
    path("contacts/<int:pk>/", customers.contact, name="contact"),
    path("alerts/", lists.alerts_page, name="alerts"),
    path("alerts/<int:pk>/acknowledge/", lists.acknowledge, name="acknowledge"),
    path("c/<str:secret>/", customer.enter, name="customer_enter"),
    path("status/<int:pk>/", customer.page, name="customer_page"),
    path("status/<int:pk>/answers/<int:concession_id>/", customer.answer, name="customer_answer"),
    path("status/<int:pk>/papers/<int:revision_id>/", customer.paper, name="customer_paper"),
    path("status/<int:pk>/reports/<int:number>/", customer.report, name="customer_report"),
]
