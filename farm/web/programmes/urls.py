"""The addresses of programmes."""

from django.urls import path

from farm.web.programmes import editing, moving, views

urlpatterns = [
    path("settings/programmes/", views.programmes_page, name="programmes"),
    path("settings/programmes/batch/<int:pk>/", moving.move, name="batch-programme"),
    path("settings/programmes/<slug:key>/", views.programme, name="programme"),
    path("settings/programmes/<slug:key>/copy/", views.copy, name="programme-copy"),
    path("settings/programmes/<slug:key>/edit/", editing.edit, name="programme-edit"),
]
