"""The addresses of orders."""

from django.urls import path

from farm.web.orders import customers, giving, holds, pickups, series, views, weeks, writing

urlpatterns = [
    path("orders/", views.listing, name="orders"),
    path("orders/weeks/", weeks.page, name="order-weeks"),
    path("orders/pickups/", pickups.page, name="order-pickups"),
    path("orders/new/", writing.new, name="order-new"),
    path("orders/<int:pk>/", views.page, name="order"),
    path("orders/<int:pk>/edit/", writing.edit, name="order-edit"),
    path("orders/<int:pk>/status/", writing.status, name="order-status"),
    path("orders/<int:pk>/cancel/", writing.cancel, name="order-cancel"),
    path("orders/<int:pk>/remove/", writing.remove, name="order-remove"),
    path("orders/lines/<int:pk>/give/", giving.give, name="order-give"),
    path("orders/given/<int:pk>/back/", giving.take_back, name="order-take-back"),
    path("orders/series/", series.listing, name="series"),
    path("orders/series/new/", series.new, name="series-new"),
    path("orders/series/<int:pk>/", series.page, name="series-page"),
    path("orders/series/<int:pk>/edit/", series.edit, name="series-edit"),
    path("orders/series/<int:pk>/end/", series.end, name="series-end"),
    path("orders/series/<int:pk>/remove/", series.remove, name="series-remove"),
    path("orders/holds/batch/<int:pk>/new/", holds.new, name="hold-new"),
    path("orders/holds/<int:pk>/edit/", holds.edit, name="hold-edit"),
    path("orders/holds/<int:pk>/remove/", holds.remove, name="hold-remove"),
    path("orders/customers/", customers.listing, name="customers"),
    path("orders/customers/forget/", customers.forget, name="customer-forget"),
]
