"""Every address of the site begins here."""

from django.contrib import admin
from django.urls import include, path

from farm.web import health

urlpatterns = [
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("admin/", admin.site.urls),
    path("", include("calendars.urls")),
    path("", include("farm.web.urls")),
]
