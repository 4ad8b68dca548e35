"""The addresses of the import."""

from django.urls import path

from farm.web.imports import views

urlpatterns = [
    path("import/", views.import_page, name="import"),
    path("import/example/<slug:what>.csv", views.example, name="import-example"),
    path("import/present/<slug:what>.csv", views.present, name="import-present"),
]
