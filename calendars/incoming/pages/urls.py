"""Addresses of the pages about calendars read for days away."""

from django.urls import path

from calendars.incoming.pages import views

urlpatterns = [
    path("calendars/incoming/", views.listing, name="incoming"),
    path("calendars/incoming/<int:pk>/", views.page, name="incoming-page"),
    path("calendars/incoming/<int:pk>/edit/", views.change, name="incoming-edit"),
    path("calendars/incoming/<int:pk>/switch/", views.switch, name="incoming-switch"),
    path("calendars/incoming/<int:pk>/again/", views.again, name="incoming-again"),
    path("calendars/incoming/<int:pk>/remove/", views.remove, name="incoming-remove"),
]
