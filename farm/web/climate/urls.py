"""Addresses of the climate."""

from django.urls import path

from farm.web.climate import views

urlpatterns = [
    path("settings/climate/", views.climate, name="climate"),
    path("settings/climate/months/", views.months, name="climate-months"),
    path("settings/climate/record/", views.record, name="climate-record"),
    path("settings/climate/choices/", views.choices, name="climate-choices"),
    path("settings/climate/forget/", views.forget, name="climate-forget"),
]
