"""The addresses of proposals. A proposal's code is its link within the farm."""

from django.urls import path

from farm.web.proposals import rules, views, writing

urlpatterns = [
    path("orders/propose/", writing.propose, name="propose"),
    path("orders/propose/<slug:proposal>/", views.page, name="proposal"),
    path("orders/propose/<slug:proposal>/adopt/", writing.adopt, name="proposal-adopt"),
    path("orders/propose/<slug:proposal>/drop/", writing.drop, name="proposal-drop"),
    path("orders/rules/", rules.page, name="ordering-rules"),
]
