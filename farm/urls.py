"""Every address of the site begins here."""

from importlib.util import find_spec

from django.contrib import admin
from django.urls import include, path

from farm.web import health

urlpatterns = [
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("admin/", admin.site.urls),
    *[path("", include(name)) for name in ("calendars.urls", "farm.web.urls") if find_spec(name)],
]
