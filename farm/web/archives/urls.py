"""Addresses of taking a farm along and of bringing one."""

from django.urls import path

from farm.web.archives import views

urlpatterns = [
    path("settings/archive/", views.archive, name="archive"),
    path("settings/archive/farm.zip", views.download, name="archive-download"),
    path("bring/", views.bring, name="bring-farm"),
]
