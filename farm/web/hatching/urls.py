"""The addresses of hatching."""

from django.urls import path

from farm.web.hatching import intakes, machines, rates, set_writing, sets, suppliers, views

urlpatterns = [
    path("hatching/", views.listing, name="hatching"),
    path("hatching/new/", set_writing.new, name="egg-set-new"),
    path("hatching/new/look/", set_writing.look, name="egg-set-look"),
    path("hatching/<int:pk>/", sets.page, name="egg-set"),
    path("hatching/<int:pk>/edit/", set_writing.edit, name="egg-set-edit"),
    path("hatching/<int:pk>/candle/", set_writing.candle, name="egg-set-candle"),
    path("hatching/<int:pk>/hatch/", set_writing.hatch, name="egg-set-hatch"),
    path("hatching/<int:pk>/cancel/", set_writing.cancel, name="egg-set-cancel"),
    path("hatching/<int:pk>/card/", sets.printed, name="egg-set-print"),
    path("hatching/machines/", machines.listing, name="machines"),
    path("hatching/machines/new/", machines.new, name="machine-new"),
    path("hatching/machines/<int:pk>/edit/", machines.edit, name="machine-edit"),
    path("hatching/machines/<int:pk>/remove/", machines.remove, name="machine-remove"),
    path("hatching/rates/", rates.page, name="hatch-rates"),
    path("hatching/intakes/", intakes.listing, name="intakes"),
    path("hatching/intakes/new/", intakes.new, name="intake-new"),
    path("hatching/intakes/<int:pk>/", intakes.page, name="intake"),
    path("hatching/intakes/<int:pk>/edit/", intakes.edit, name="intake-edit"),
    path("hatching/intakes/<int:pk>/arrive/", intakes.arrive, name="intake-arrive"),
    path("hatching/intakes/<int:pk>/cancel/", intakes.cancel, name="intake-cancel"),
    path("hatching/suppliers/", suppliers.listing, name="suppliers"),
    path("hatching/suppliers/new/", suppliers.new, name="supplier-new"),
    path("hatching/suppliers/<int:pk>/edit/", suppliers.edit, name="supplier-edit"),
    path("hatching/suppliers/<int:pk>/remove/", suppliers.remove, name="supplier-remove"),
]
